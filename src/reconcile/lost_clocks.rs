//! Lost clocks: starts that can't be believed, because the unit's clock had lost its setting.
//!
//! Knows one unit's starts and counters only. A date from before such records were kept is never believed. A later date
//! is not believed when it stands far before the cycles that come before and after it by counter. Read
//! [`find_lost_clocks`] first.

use std::collections::BTreeSet;

/// The last year that a clock without its setting starts from; no records of these formats are that old. Common
/// practice, no source: clocks start from 1970, 1980 or 2000.
pub(super) const LAST_EPOCH_YEAR: i32 = 2000;

/// How long before its neighbours by counter a cycle must stand for its date to be doubted. Common practice, no source.
pub(super) const LOST_BEFORE_SECONDS: i64 = 30 * 86_400;

/// How long before the last cycle by counter another must stand for its date to be doubted when none comes after it.
const LOST_BEFORE_LAST_SECONDS: i64 = 365 * 86_400;

/// A count that begins at or below this number is taken for one that began anew.
const NEW_COUNT: u32 = 10;

/// What is looked at of one cycle.
#[derive(Debug, Clone, Copy)]
pub(super) struct Start {
    /// The start on the unit's clock, in seconds.
    pub seconds: i64,
    /// Its year.
    pub year: i32,
    /// The counter.
    pub counter: Option<u32>,
}

/// For each start of one unit, sorted by time: whether its clock was lost.
pub(super) fn find_lost_clocks(starts: &[Start]) -> Vec<bool> {
    let mut lost: Vec<bool> = starts
        .iter()
        .map(|start| start.year <= LAST_EPOCH_YEAR)
        .collect();
    let believed: Vec<(usize, Start)> = starts
        .iter()
        .enumerate()
        .filter(|(_, start)| start.year > LAST_EPOCH_YEAR)
        .map(|(ix, start)| (ix, *start))
        .collect();
    // Runs of cycles with pauses of more than 30 days between them, the last first. A run is lost when a pause-free
    // stretch of a later run has a hole that its counters fit.
    let mut later = Later::default();
    let runs: Vec<&[(usize, Start)]> = believed
        .chunk_by(|(_, a), (_, b)| b.seconds.saturating_sub(a.seconds) <= LOST_BEFORE_SECONDS)
        .collect();
    for run in runs.into_iter().rev() {
        if later.has_room_for(run) {
            for (ix, _) in run {
                if let Some(flag) = lost.get_mut(*ix) {
                    *flag = true;
                }
            }
        } else {
            later.add(run);
        }
    }
    lost
}

/// The believed cycles with counters that are later than the run in question.
#[derive(Default)]
struct Later {
    /// Counter and place in `order`.
    by_counter: BTreeSet<(u32, usize)>,
    /// Counters and seconds from the latest to the earliest.
    order: Vec<(u32, i64)>,
}

impl Later {
    fn add(&mut self, run: &[(usize, Start)]) {
        for (_, start) in run.iter().rev() {
            if let Some(counter) = start.counter {
                self.by_counter.insert((counter, self.order.len()));
                self.order.push((counter, start.seconds));
            }
        }
    }

    fn has_room_for(&self, run: &[(usize, Start)]) -> bool {
        let counters = || run.iter().filter_map(|(_, start)| start.counter);
        let (Some(low), Some(high)) = (counters().min(), counters().max()) else {
            return false;
        };
        let Some((_, last_start)) = run.last() else {
            return false;
        };
        if self
            .by_counter
            .range((low, 0)..=(high, usize::MAX))
            .next()
            .is_some()
        {
            return false;
        }
        let Some(&(below, below_at)) = self.by_counter.range(..(low, 0)).next_back() else {
            return false;
        };
        let after = self.by_counter.range((high, usize::MAX)..).next();
        let seconds_of = |at: usize| self.order.get(at).map(|(_, seconds)| *seconds);
        let Some(below_seconds) = seconds_of(below_at) else {
            return false;
        };
        match after {
            Some(&(above, above_at)) => {
                // The two neighbours by counter also follow one another in time, and the hole between them is about as
                // large as the run.
                let n_hole = above.saturating_sub(below).saturating_sub(1) as usize;
                below_at == above_at.saturating_add(1)
                    && seconds_of(above_at).is_some_and(|above| {
                        above.saturating_sub(below_seconds) <= LOST_BEFORE_SECONDS
                    })
                    && n_hole <= run.len().saturating_mul(3).saturating_add(10)
            }
            None => {
                // Nothing comes after by counter: the run would follow the very last cycle. A count that began anew
                // explains the same, so the later cycles must not begin with a small number.
                let begins_anew = self
                    .order
                    .last()
                    .is_some_and(|(first, _)| *first <= NEW_COUNT);
                below_at == 0
                    && low.saturating_sub(below) <= 3
                    && !begins_anew
                    && below_seconds.saturating_sub(last_start.seconds) > LOST_BEFORE_LAST_SECONDS
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reconcile::case::local;
    use chrono::Datelike;

    fn lost(starts: &[(&str, u32)]) -> Vec<bool> {
        let mut starts: Vec<Start> = starts
            .iter()
            .map(|(at, counter)| Start {
                seconds: local(at).and_utc().timestamp(),
                year: local(at).year(),
                counter: (*counter > 0).then_some(*counter),
            })
            .collect();
        starts.sort_by_key(|start| start.seconds);
        find_lost_clocks(&starts)
    }

    #[test]
    fn date_of_an_empty_clock_is_not_believed() {
        assert_eq!(
            lost(&[("1970-01-01 00:10", 0), ("2026-03-12 07:00", 5)]),
            [true, false]
        );
        assert_eq!(
            lost(&[("2000-01-01 00:10", 9), ("2001-01-01 07:00", 5)]),
            [true, false]
        );
    }

    #[test]
    fn date_far_before_both_neighbours_by_counter_is_not_believed() {
        assert_eq!(
            lost(&[
                ("2026-03-12 07:00", 100),
                ("2020-01-01 00:05", 101),
                ("2020-01-01 01:15", 102),
                ("2026-03-12 11:00", 103),
            ]),
            [true, true, false, false]
        );
    }

    #[test]
    fn date_29_days_before_its_neighbours_is_believed() {
        assert_eq!(
            lost(&[
                ("2026-03-12 07:00", 100),
                ("2026-02-11 07:05", 101),
                ("2026-03-12 11:00", 102),
            ]),
            [false; 3]
        );
    }

    #[test]
    fn last_cycle_with_a_date_of_years_ago_is_not_believed() {
        assert_eq!(
            lost(&[
                ("2026-03-12 07:00", 100),
                ("2026-03-12 09:00", 101),
                ("2012-01-01 00:05", 102),
            ]),
            [true, false, false]
        );
    }

    #[test]
    fn count_that_began_anew_in_a_later_month_leaves_dates_alone() {
        // The same counter comes again later, so the earlier one is of an older count.
        assert_eq!(
            lost(&[
                ("2025-01-12 07:00", 41),
                ("2026-03-12 07:00", 40),
                ("2026-03-12 08:00", 41),
                ("2026-03-12 09:00", 42),
            ]),
            [false; 4]
        );
        assert_eq!(
            lost(&[
                ("2025-01-12 07:00", 41),
                ("2025-01-12 09:00", 42),
                ("2026-03-12 07:00", 1),
                ("2026-03-12 09:00", 2),
                ("2026-05-13 09:00", 44),
            ]),
            [false; 5]
        );
    }

    #[test]
    fn pause_of_months_is_no_lost_clock() {
        assert_eq!(
            lost(&[
                ("2025-01-12 07:00", 41),
                ("2026-03-12 07:00", 42),
                ("2026-03-12 09:00", 43),
            ]),
            [false; 3]
        );
    }

    #[test]
    fn year_of_an_empty_clock_ends_a_run() {
        // Days before the other, which is judged by its own counter alone.
        assert_eq!(
            lost(&[
                ("2000-12-31 10:00", 500),
                ("2001-01-01 00:05", 101),
                ("2026-03-12 07:00", 100),
                ("2026-03-12 11:00", 102),
            ]),
            [true, true, false, false]
        );
    }

    #[test]
    fn neighbours_by_counter_must_follow_one_another_within_a_month() {
        let between = |neighbours: [(&str, u32); 3]| {
            let mut starts = vec![("2020-01-01 00:05", 102)];
            starts.extend(neighbours);
            lost(&starts)[0]
        };
        assert!(between([
            ("2026-03-12 07:00", 100),
            ("2026-03-12 08:00", 101),
            ("2026-03-12 11:00", 103),
        ]));
        // Another cycle stands between the two.
        assert!(!between([
            ("2026-03-12 07:00", 101),
            ("2026-03-12 08:00", 200),
            ("2026-03-12 11:00", 103),
        ]));
        // Thirty days apart, and a minute more.
        assert!(between([
            ("2026-01-01 07:00", 100),
            ("2026-01-01 08:00", 101),
            ("2026-01-31 08:00", 103),
        ]));
        assert!(!between([
            ("2026-01-01 07:00", 100),
            ("2026-01-01 08:00", 101),
            ("2026-01-31 08:01", 103),
        ]));
    }

    #[test]
    fn hole_must_be_about_as_large_as_the_run() {
        // One cycle fits a hole of 3 + 10 numbers.
        let with_above = |above| {
            lost(&[
                ("2020-01-01 00:05", 107),
                ("2026-03-12 07:00", 100),
                ("2026-03-12 11:00", above),
            ])[0]
        };
        assert!(with_above(114));
        assert!(!with_above(115));
    }

    #[test]
    fn last_cycle_by_counter_is_doubted_by_a_year_three_numbers_and_no_new_count() {
        let last = |at: &str, counter: u32, before: [(&str, u32); 2]| {
            let mut starts = vec![(at, counter)];
            starts.extend(before);
            lost(&starts)[0]
        };
        let at = "2012-01-01 00:05";
        let two = [("2026-03-12 07:00", 100), ("2026-03-12 09:00", 101)];
        assert!(last(at, 104, two));
        assert!(!last(at, 105, two));
        // A year is 365 days.
        assert!(!last("2025-09-01 09:00", 102, two));
        assert!(!last("2025-03-12 09:00", 102, two));
        assert!(last("2025-03-12 08:59", 102, two));
        // The one before it by counter must be the last one by time.
        assert!(!last(
            at,
            102,
            [("2026-03-12 09:00", 101), ("2026-03-12 11:00", 50)]
        ));
        // A count that began with a number up to ten may have begun anew.
        assert!(!last(
            at,
            12,
            [("2026-03-12 07:00", 10), ("2026-03-12 09:00", 11)]
        ));
        assert!(last(
            at,
            13,
            [("2026-03-12 07:00", 11), ("2026-03-12 09:00", 12)]
        ));
    }
}
