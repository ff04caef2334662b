//! The clock within a printout: times of day without a date → seconds since the start.

use crate::diagnose::codes::Code;
use chrono::NaiveDate;

const DAY: i64 = 86_400;
const HOUR: i64 = 3_600;
/// The hours of the night in which clocks are changed anywhere (the IANA time zone database has changes between
/// midnight and 4 o'clock for all zones in use; from memory).
const CHANGES_END: i64 = 4 * HOUR;
/// A cycle longer than this is a date gone wrong, not a cycle.
const LONGEST_CYCLE: i64 = 30 * DAY;

/// A time as written: of day, and with a date or without.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WrittenTime {
    /// The date, if written.
    pub date: Option<NaiveDate>,
    /// Seconds since midnight.
    pub second_of_day: u32,
}

/// Why a time is not where its bare figures put it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClockNote {
    /// It passed midnight.
    MidnightPassed,
    /// It was set back an hour.
    SteppedBack,
    /// It went back with no reason to be found.
    WentBack,
}

impl ClockNote {
    /// The code under which it is reported.
    pub fn code(self) -> Code {
        match self {
            ClockNote::MidnightPassed => Code::MidnightPassed,
            ClockNote::SteppedBack => Code::ClockSteppedBack,
            ClockNote::WentBack => Code::ClockWentBack,
        }
    }
}

/// Follows a printout's clock through midnight and the change from summer time.
#[derive(Debug, Clone, Default)]
pub struct CycleClock {
    /// The date of second 0, if known.
    base: Option<NaiveDate>,
    /// The second that counts as the start.
    origin: Option<i64>,
    /// Seconds to add to a time of day: whole days, and an hour after a step back.
    shift: i64,
    /// The latest time so far.
    last: Option<i64>,
}

impl CycleClock {
    /// By how many seconds times that were placed before the start was known must be moved, if this is the start. The
    /// clock itself is not moved: [`CycleClock::start`] does that once the line is accepted.
    pub fn find_move(&self, date: NaiveDate, second_of_day: u32) -> i64 {
        let start = self.second_of(date, second_of_day);
        self.origin.map_or(0, |origin| origin.saturating_sub(start))
    }

    /// Sets the start.
    pub fn start(&mut self, date: NaiveDate, second_of_day: u32) {
        let start = self.second_of(date, second_of_day);
        self.base.get_or_insert(date);
        self.origin = Some(start);
        self.last = Some(self.last.map_or(start, |last| last.max(start)));
    }

    /// A moment as a second, counted from the beginning of the first day if that is known, else of its own.
    fn second_of(&self, date: NaiveDate, second_of_day: u32) -> i64 {
        let days = self
            .base
            .map_or(0, |base| date.signed_duration_since(base).num_days());
        days.saturating_mul(DAY)
            .saturating_add(i64::from(second_of_day))
    }

    /// The seconds since the start at which a time lies, and a note if that needed thought. `None` for a time that lies
    /// more than thirty days from the start.
    ///
    /// The clock itself is not moved: [`CycleClock::advance`] does that once the line is accepted.
    pub fn place(&self, written: WrittenTime) -> Option<(i64, Option<ClockNote>)> {
        let of_day = i64::from(written.second_of_day);
        let origin = self.origin.unwrap_or(of_day);
        if let Some(date) = written.date {
            let days = self
                .base
                .map_or(0, |base| date.signed_duration_since(base).num_days());
            let at = days.saturating_mul(DAY).saturating_add(of_day);
            let note = self
                .last
                .filter(|&last| at < last)
                .map(|_| ClockNote::WentBack);
            return within(at.saturating_sub(origin)).map(|at| (at, note));
        }
        let bare = self.shift.saturating_add(of_day);
        let (at, note) = match self.last {
            Some(last) if bare < last => {
                let back = last.saturating_sub(bare);
                if back > DAY / 2 {
                    (bare.saturating_add(DAY), Some(ClockNote::MidnightPassed))
                } else if (45 * 60..=HOUR).contains(&back) && of_day < CHANGES_END {
                    (bare.saturating_add(HOUR), Some(ClockNote::SteppedBack))
                } else {
                    (bare, Some(ClockNote::WentBack))
                }
            }
            _ => (bare, None),
        };
        within(at.saturating_sub(origin)).map(|at| (at, note))
    }

    /// Moves the clock to a time that was placed.
    pub fn advance(&mut self, written: WrittenTime, placed: i64, note: Option<ClockNote>) {
        let origin = *self.origin.get_or_insert(i64::from(written.second_of_day));
        if self.base.is_none() {
            self.base = written.date;
        }
        let at = origin.saturating_add(placed);
        // After a time that went back for no reason the clock goes on from the latest one.
        if note != Some(ClockNote::WentBack) {
            self.last = Some(at);
            self.shift = at.saturating_sub(i64::from(written.second_of_day));
        }
    }
}

/// Seconds since the start, if they can be those of a cycle: no more than thirty days.
pub fn within(elapsed: i64) -> Option<i64> {
    (-LONGEST_CYCLE..=LONGEST_CYCLE)
        .contains(&elapsed)
        .then_some(elapsed)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn placed(start: &str, times: &[&str]) -> Vec<(i64, Option<ClockNote>)> {
        let read = |text: &str| crate::parse::token::time(text.as_bytes()).unwrap().1;
        let mut clock = CycleClock::default();
        clock.start(NaiveDate::from_ymd_opt(2026, 10, 24).unwrap(), read(start));
        times
            .iter()
            .map(|text| {
                let written = WrittenTime {
                    date: None,
                    second_of_day: read(text),
                };
                let (at, note) = clock.place(written).unwrap();
                clock.advance(written, at, note);
                (at, note)
            })
            .collect()
    }

    #[test]
    fn a_cycle_over_midnight_goes_on_counting() {
        assert_eq!(
            placed("23:50:00", &["23:59:00", "00:01:00", "00:10:00"]),
            [
                (540, None),
                (660, Some(ClockNote::MidnightPassed)),
                (1200, None)
            ]
        );
    }

    #[test]
    fn the_change_from_summer_time_loses_no_hour() {
        // Clocks in Fennmarsh go from 02:00 back to 01:00 in the night to 25 October 2026.
        assert_eq!(
            placed("23:50:00", &["01:55:00", "01:05:00", "01:59:00"]),
            [
                (7500, Some(ClockNote::MidnightPassed)),
                (8100, Some(ClockNote::SteppedBack)),
                (11_340, None)
            ]
        );
    }

    #[test]
    fn a_slip_in_one_time_does_not_move_the_others() {
        assert_eq!(
            placed("08:00:00", &["08:10:00", "08:01:00", "08:12:00"]),
            [(600, None), (60, Some(ClockNote::WentBack)), (720, None)]
        );
    }

    #[test]
    fn step_back_is_told_by_its_length_and_its_hour() {
        use ClockNote::{MidnightPassed, SteppedBack, WentBack};
        for (before, after, at, note) in [
            // Three quarters of an hour to an hour, before four o'clock in the morning.
            (
                "02:59:59",
                "02:14:59",
                3_600 + 2 * 3_600 + 14 * 60 + 59,
                Some(SteppedBack),
            ),
            ("02:59:59", "02:15:00", 2 * 3_600 + 15 * 60, Some(WentBack)),
            (
                "02:59:59",
                "01:59:59",
                3_600 + 3_600 + 59 * 60 + 59,
                Some(SteppedBack),
            ),
            ("02:59:59", "01:59:58", 3_600 + 59 * 60 + 58, Some(WentBack)),
            (
                "04:30:00",
                "03:59:59",
                3 * 3_600 + 59 * 60 + 59,
                Some(WentBack),
            ),
            (
                "04:59:00",
                "03:59:59",
                3_600 + 3 * 3_600 + 59 * 60 + 59,
                Some(SteppedBack),
            ),
            ("05:00:00", "04:00:00", 4 * 3_600, Some(WentBack)),
            // More than half a day back is the next day.
            ("23:00:00", "11:00:00", 11 * 3_600, Some(WentBack)),
            (
                "23:00:00",
                "10:59:59",
                86_400 + 10 * 3_600 + 59 * 60 + 59,
                Some(MidnightPassed),
            ),
            ("08:00:00", "08:00:00", 8 * 3_600, None),
        ] {
            let placed = placed("00:00:00", &[before, after]);
            assert_eq!(placed[1], (at, note), "{before} {after}");
        }
    }

    #[test]
    fn date_that_is_written_places_a_time_within_thirty_days() {
        let day = |day| NaiveDate::from_ymd_opt(2026, 10, day).unwrap();
        let mut clock = CycleClock::default();
        clock.start(day(10), 8 * 3_600);
        let place = |clock: &CycleClock, date, second_of_day| {
            clock.place(WrittenTime {
                date: Some(date),
                second_of_day,
            })
        };
        assert_eq!(place(&clock, day(10), 8 * 3_600), Some((0, None)));
        assert_eq!(place(&clock, day(11), 8 * 3_600), Some((86_400, None)));
        assert_eq!(
            place(&clock, day(10), 8 * 3_600 - 1),
            Some((-1, Some(ClockNote::WentBack)))
        );
        let later = NaiveDate::from_ymd_opt(2026, 11, 9).unwrap();
        assert_eq!(place(&clock, later, 8 * 3_600), Some((30 * 86_400, None)));
        assert_eq!(place(&clock, later, 8 * 3_600 + 1), None);
        // How far what was placed before the start is to be moved when the start is known.
        let mut clock = CycleClock::default();
        assert_eq!(clock.find_move(day(10), 100), 0);
        clock.start(day(10), 8 * 3_600);
        assert_eq!(clock.find_move(day(10), 8 * 3_600 - 60), 60);
        for (note, code) in [
            (ClockNote::MidnightPassed, Code::MidnightPassed),
            (ClockNote::SteppedBack, Code::ClockSteppedBack),
            (ClockNote::WentBack, Code::ClockWentBack),
        ] {
            assert_eq!(note.code(), code);
        }
    }
}
