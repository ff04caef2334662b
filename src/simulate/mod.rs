//! Practice records: what an invented department prints and writes in some weeks or years, with troubles planted in it.
//!
//! For teaching, for trying a review on records whose truth is known, and for sizing. Everything follows from a seed;
//! nothing here knows the clock or the file system: what is made goes to a [`RecordSink`], day by day, so that a run of
//! any length fits in memory. None of it is a real hospital's. Read [`write_practice`] first, then `department` for the
//! units, `trouble` for what is planted, and `answer` for the sheet that tells it.

pub mod answer;
pub mod calendar;
pub mod chance;
pub mod contents;
pub mod day;
pub mod department;
pub mod ending;
pub mod eo;
pub mod logbook;
pub mod lots;
pub mod plasma;
pub mod saturation;
pub mod steam;
pub mod strip;
pub mod trouble;
pub mod truth;

use chrono::{Days, NaiveDate};
use std::io;
use trouble::Troubles;
use truth::Truth;

/// How many printouts share a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PrintoutFiles {
    /// Those of a unit and a month.
    PerMonth,
    /// Those of a unit and a day.
    PerDay,
}

/// What is to be made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Plan {
    /// The seed: the same plan and seed make the same bytes.
    pub seed: u64,
    /// The first day.
    pub from: NaiveDate,
    /// How many days.
    pub n_days: u32,
    /// About how many cycles a day, on an average over the week; `None` for those of the department as it is.
    pub n_cycles_per_day: Option<u32>,
    /// How many printouts share a file.
    pub files: PrintoutFiles,
    /// Whether troubles are planted.
    pub troubles: Troubles,
}

impl Plan {
    /// The plan of the samples that come with loadbook: three months over the change to summer time.
    pub fn of_samples() -> Self {
        Plan {
            seed: 2026,
            from: NaiveDate::from_ymd_opt(2026, 1, 5).unwrap_or(NaiveDate::MIN),
            n_days: 91,
            n_cycles_per_day: None,
            files: PrintoutFiles::PerMonth,
            troubles: Troubles::Planted,
        }
    }

    /// The date of a day, counted from 0.
    pub fn date(&self, day: u32) -> NaiveDate {
        self.from
            .checked_add_days(Days::new(day.into()))
            .unwrap_or(NaiveDate::MAX)
    }
}

/// Takes what is made, piece by piece.
pub trait RecordSink {
    /// Adds bytes to the end of a file, which begins empty. Its name is relative and has `/` between its parts.
    ///
    /// # Errors
    /// Those of wherever the bytes go.
    fn append(&mut self, file: &str, bytes: &[u8]) -> io::Result<()>;
}

/// Makes the records of a plan and says what was done.
///
/// # Errors
/// Those of the sink.
pub fn write_practice(plan: &Plan, sink: &mut impl RecordSink) -> io::Result<Truth> {
    let mut run = day::Run::new(*plan);
    for day in 0..plan.n_days {
        run.run_day(day, sink)?;
    }
    Ok(run.finish())
}
