//! What a run of the simulation did, counted while it ran: the truth that a review of its records is held against.
//!
//! Knows nothing of how it is shown; `answer` does that. Lists are cut at a length, so that a run of any size is told in
//! bounded memory; counts are always whole. Read [`Truth`] first.

use super::calendar::is_weekend;
use crate::record::cycle::{Cycle, Outcome};
use crate::record::entry::{BiRole, CiEndpoint, CiPosition, Entry, EntryBody};
use chrono::{NaiveDate, NaiveDateTime, TimeDelta};
use std::collections::BTreeMap;

/// How many rows a list keeps.
const N_LISTED: usize = 400;

/// Rows of which the first are kept and all are counted.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Listed {
    /// The first rows.
    pub rows: Vec<String>,
    /// How many there were.
    pub n: usize,
}

impl Listed {
    /// Adds a row.
    pub fn push(&mut self, row: String) {
        self.n += 1;
        if self.rows.len() < N_LISTED {
            self.rows.push(row);
        }
    }
}

/// A slip of the hand in the log.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Slip {
    /// Two digits of a load number swapped.
    Transposed,
    /// The letter O for a zero in a load number.
    LetterO,
    /// An entry that was never written.
    Missing,
    /// Entries written a day late.
    Late,
    /// A keyword misspelt, so that the line can't be read.
    Misspelt,
}

impl Slip {
    /// In plain words.
    pub fn said(self) -> &'static str {
        match self {
            Slip::Transposed => "two digits swapped",
            Slip::LetterO => "O for 0",
            Slip::Missing => "entry missing",
            Slip::Late => "written late",
            Slip::Misspelt => "keyword misspelt",
        }
    }
}

/// A count and how many of it were so.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Share {
    /// Of how many.
    pub of: usize,
    /// How many.
    pub n: usize,
}

impl Share {
    /// Counts one more.
    pub fn count(&mut self, is_so: bool) {
        self.of += 1;
        self.n += usize::from(is_so);
    }
}

/// A sum of numbers and their count.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Mean {
    /// The sum.
    pub sum: f64,
    /// The count.
    pub n: usize,
}

impl Mean {
    /// Adds a number.
    pub fn add(&mut self, number: f64) {
        self.sum += number;
        self.n += 1;
    }

    /// The mean, or 0 of nothing.
    pub fn mean(self) -> f64 {
        if self.n == 0 {
            0.0
        } else {
            self.sum / self.n as f64
        }
    }
}

/// The printouts of a unit for a purpose that ended in an outcome.
pub type CycleKey = (String, &'static str, &'static str);

/// What a run did.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Truth {
    /// Cycles whose printout is in the files, each once, by unit, purpose and outcome.
    pub n_cycles: BTreeMap<CycleKey, usize>,
    /// Aborted cycles whose printout is in the files, by unit, stage and cause.
    pub aborts: BTreeMap<(String, String, String), usize>,
    /// Rejected loads whose printout is in the files, by unit and cause.
    pub rejections: BTreeMap<(String, String), usize>,
    /// Cycles that ran and whose printout is missing.
    pub missing_printouts: Listed,
    /// Cycles whose printout is in the files twice.
    pub reprints: Listed,
    /// Slips of the hand, by kind.
    pub slips: BTreeMap<Slip, Listed>,
    /// Plasma loads at the General by what is in them and when they ran, and how many aborted for moisture; printed or
    /// not.
    pub moisture: BTreeMap<(&'static str, &'static str), Share>,
    /// Seconds of evacuation of completed cycles of PL-2, by week.
    pub pump_down: BTreeMap<u32, Mean>,
    /// Pascal per minute in the leak tests of ST-2, by week.
    pub leak: BTreeMap<u32, Mean>,
    /// Internal CIs by lot and unit, and how many did not reach the endpoint.
    pub cis: BTreeMap<(String, String), Share>,
    /// BI test vials read, by whether they were due on a weekend; how many were read more than 30 hours after they had
    /// been put to incubation.
    pub bi_reads: BTreeMap<&'static str, Share>,
    /// Loads whose BI is not read yet on the last day.
    pub bi_pending: Listed,
    /// Loads that no one signed.
    pub unsigned: Listed,
    /// Cycles of PL-1 from the last negative BI before the growth to the next negative one.
    pub recall_scope: Listed,
    /// What was planted on single days: by trouble, the rows that tell of it.
    pub planted: BTreeMap<&'static str, Listed>,
    /// Loads with an implant.
    pub n_implant_loads: usize,
    /// Entries that the logs hold.
    pub n_entries: usize,
}

impl Truth {
    /// Counts a cycle whose printout is in the files.
    pub fn printed(&mut self, cycle: &Cycle) {
        let unit = cycle
            .unit
            .as_ref()
            .map_or(String::new(), |unit| unit.value.0.clone());
        let Some(outcome) = cycle.outcome.as_ref().map(|outcome| &outcome.value) else {
            return;
        };
        let word = match outcome {
            Outcome::Completed => "completed",
            Outcome::Aborted { .. } => "aborted",
            Outcome::Rejected { .. } => "rejected",
            Outcome::Passed => "passed",
            Outcome::Failed => "failed",
        };
        let key = (unit.clone(), cycle.purpose.word(), word);
        *self.n_cycles.entry(key).or_default() += 1;
        match outcome {
            Outcome::Aborted { stage, cause } => {
                let stage = stage.as_ref().map_or("", |stage| stage.word()).to_owned();
                let cause = cause.as_ref().map_or("", |cause| cause.word()).to_owned();
                *self.aborts.entry((unit, stage, cause)).or_default() += 1;
            }
            Outcome::Rejected { cause } => {
                let cause = cause.as_ref().map_or("", |cause| cause.word()).to_owned();
                *self.rejections.entry((unit, cause)).or_default() += 1;
            }
            _ => {}
        }
    }

    /// Counts an entry about a load of a unit, that is in the log.
    pub fn logged(&mut self, entry: &Entry, unit: &str) {
        match &entry.body {
            EntryBody::Ci(ci) => {
                let lot = ci.lot.as_ref().and_then(|lot| lot.value.lot.as_ref());
                let position = ci.position.as_ref().map(|position| position.value);
                if let (Some(lot), Some(CiPosition::Internal)) = (lot, position) {
                    let endpoint = ci.endpoint.as_ref().map(|endpoint| endpoint.value);
                    let key = (lot.0.clone(), unit.to_owned());
                    let share = self.cis.entry(key).or_default();
                    share.count(endpoint != Some(CiEndpoint::Reached));
                }
            }
            EntryBody::Bi(bi) => {
                let role = bi.role.as_ref().map(|role| role.value);
                if let (Some(BiRole::Test), Some(incubated), Some(read)) =
                    (role, &bi.incubated, &bi.read)
                {
                    let (incubated, read) = (incubated.value.local, read.value.local);
                    let due = incubated + TimeDelta::hours(24);
                    let day = if is_weekend(due.date()) {
                        "weekend"
                    } else {
                        "weekday"
                    };
                    let share = self.bi_reads.entry(day).or_default();
                    share.count(read - incubated > TimeDelta::hours(30));
                }
            }
            _ => {}
        }
    }

    /// Notes a slip of the hand.
    pub fn slip(&mut self, slip: Slip, load: String, at: Option<NaiveDateTime>, said: String) {
        let date = at.map_or(String::new(), |at| day_text(at.date()));
        self.slips
            .entry(slip)
            .or_default()
            .push(format!("{date} {load}: {said}"));
    }

    /// Notes what a planted trouble did.
    pub fn plant(&mut self, trouble: &'static str, row: String) {
        self.planted.entry(trouble).or_default().push(row);
    }

    /// How many printouts the files hold, each cycle once.
    pub fn n_printouts(&self) -> usize {
        self.n_cycles.values().sum()
    }
}

/// A date as the answer sheet has it.
pub fn day_text(date: NaiveDate) -> String {
    date.format("%Y-%m-%d").to_string()
}
