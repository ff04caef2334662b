//! The records as they stood at a moment, and how long what is found among them holds.
//!
//! Whoever looks for a record through a [`Sight`] leaves a trace of what had not come yet, so that the answer is known to
//! hold until it comes. Knows nothing of loads' cases, rules or decisions. Read [`Sight::had_come`] first.

use super::bi_test::hours_between;
use super::case::{Index, Seen, lot_number, role};
use super::holds::Holds;
use crate::reconcile::history::{EntryIx, Load};
use crate::record::entry::{BiResult, EntryBody};
use chrono::{NaiveDateTime, TimeDelta};
use std::cell::Cell;

/// The records as they stood at a moment.
pub struct Sight<'a> {
    /// Where to find them.
    pub index: &'a Index<'a>,
    /// Records that came later than this are not seen. `None`: all are.
    cutoff: Option<NaiveDateTime>,
    /// How long all holds that was asked since an answer was begun.
    holds: Cell<Holds>,
}

impl<'a> Sight<'a> {
    /// The records as they stood at a moment; `None`: all of them.
    pub fn at(index: &'a Index<'a>, cutoff: Option<NaiveDateTime>) -> Self {
        Sight {
            index,
            cutoff,
            holds: Cell::new(Holds::ForEver),
        }
    }

    /// Records that came later than this are not seen. `None`: all are.
    pub fn cutoff(&self) -> Option<NaiveDateTime> {
        self.cutoff
    }

    /// The same records as they stood at another moment.
    pub fn go_on_to(&mut self, cutoff: Option<NaiveDateTime>) {
        self.cutoff = cutoff;
    }

    /// Something that is found out, and how long it holds.
    pub fn note_holds<T>(&self, find: impl FnOnce() -> T) -> (T, Holds) {
        let outside = self.holds.replace(Holds::ForEver);
        let found = find();
        (found, self.holds.replace(outside))
    }

    /// What is being answered holds no longer than this.
    pub fn hold(&self, holds: Holds) {
        self.holds.set(self.holds.get().min(holds));
    }

    /// Whether a moment lies before the cutoff; what has no moment always counts.
    pub fn had_come(&self, moment: Option<NaiveDateTime>) -> bool {
        match (moment, self.cutoff) {
            (Some(moment), Some(cutoff)) if moment > cutoff => {
                self.hold(Holds::Before(moment));
                false
            }
            _ => true,
        }
    }

    /// Whether more than so many hours have passed between a moment and the latest that is known: the cutoff, else the
    /// newest record.
    pub fn has_passed(&self, since: NaiveDateTime, hours: f64) -> bool {
        let Some(latest) = self.latest_moment() else {
            return false;
        };
        let passed = hours_between(since, latest) > hours;
        if !passed {
            // A second early, as the hours need not be whole seconds; a number beyond all dates holds for now.
            let end = TimeDelta::try_seconds(((hours * 3_600.0) as i64).saturating_sub(1))
                .and_then(|length| since.checked_add_signed(length));
            self.hold(end.map_or(Holds::Now, Holds::Before));
        }
        passed
    }

    /// The latest moment that is known: the cutoff, else the newest record.
    pub fn latest_moment(&self) -> Option<NaiveDateTime> {
        self.cutoff.or(self.index.newest)
    }

    /// Those of some entries that had come and say what is wanted.
    pub fn entries<T>(
        &self,
        list: &[EntryIx],
        says: impl Fn(&'a EntryBody) -> Option<&'a T>,
    ) -> Vec<Seen<'a, T>> {
        list.iter()
            .filter_map(|ix| {
                let known = self.index.entry(*ix)?;
                let says = says(&known.entry.body)?;
                self.had_come(known.written.map(|moment| moment.local))
                    .then_some(Seen {
                        ix: *ix,
                        known,
                        says,
                    })
            })
            .collect()
    }

    /// The vials of a load, each once, as far as they were known.
    pub fn bis_of(&self, load: &Load) -> Vec<Seen<'a, BiResult>> {
        let says = |body: &'a EntryBody| match body {
            EntryBody::Bi(bi) => Some(&**bi),
            _ => None,
        };
        let mut latest = self.entries(&load.bis, says);
        if latest.len() == load.bis.len() {
            return latest;
        }
        // Some readings had not come yet: their vials are known by the entry of incubation alone.
        let mut open = self.entries(&load.superseded_bis, says);
        for read in &latest {
            if read.says.growth.is_some()
                && let Some(at) = open.iter().position(|put| completes(read.says, put.says))
            {
                open.remove(at);
            }
        }
        latest.append(&mut open);
        latest.sort_by_key(|bi| bi.ix);
        latest
    }
}

/// Whether a reading may be of the vial that an earlier entry put to incubation: nothing that both say differs. The
/// same question is asked by `reconcile`, which has all entries; here some have not come yet.
fn completes(read: &BiResult, put: &BiResult) -> bool {
    fn agree<T: PartialEq>(a: Option<T>, b: Option<T>) -> bool {
        !matches!((a, b), (Some(a), Some(b)) if a != b)
    }
    let incubated = |bi: &BiResult| bi.incubated.as_ref().map(|at| at.value);
    agree(role(read), role(put))
        && agree(lot_number(read), lot_number(put))
        && agree(incubated(read), incubated(put))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::trial::{history, moment, unit_log};

    #[test]
    fn what_has_not_come_yet_says_until_when_the_answer_holds() {
        let history = history(&unit_log(&[("AA-LOAD", "2026-03-12 08:00", "well")]));
        let index = Index::of(&history);
        let sight = Sight::at(&index, Some(moment("2026-03-12 09:00")));
        assert_eq!(sight.cutoff(), Some(moment("2026-03-12 09:00")));
        for (at, come) in [
            ("2026-03-12 08:59", true),
            ("2026-03-12 09:00", true),
            ("2026-03-12 09:01", false),
        ] {
            let (had, holds) = sight.note_holds(|| sight.had_come(Some(moment(at))));
            assert_eq!(had, come, "{at}");
            let expected = match come {
                true => Holds::ForEver,
                false => Holds::Before(moment(at)),
            };
            assert_eq!(holds, expected, "{at}");
        }
        assert!(sight.had_come(None));
        // What was asked within an answer does not shorten what was asked around it, and several are as short as the first.
        let ((), holds) = sight.note_holds(|| {
            let (_, inner) = sight.note_holds(|| sight.had_come(Some(moment("2026-03-12 10:00"))));
            assert_eq!(inner, Holds::Before(moment("2026-03-12 10:00")));
            sight.had_come(Some(moment("2026-03-12 12:00")));
            sight.had_come(Some(moment("2026-03-12 11:00")));
        });
        assert_eq!(holds, Holds::Before(moment("2026-03-12 11:00")));
        // Without a cutoff everything has come.
        let all = Sight::at(&index, None);
        assert!(all.had_come(Some(NaiveDateTime::MAX)));
        assert_eq!(all.latest_moment(), Some(moment("2026-03-13 09:00")));
    }

    #[test]
    fn hours_have_passed_when_they_are_over_and_hold_until_a_second_before_their_end() {
        let history = history(&unit_log(&[("AA-LOAD", "2026-03-12 08:00", "well")]));
        let index = Index::of(&history);
        let sight = Sight::at(&index, Some(moment("2026-03-12 10:00")));
        for (since, hours, passed, holds) in [
            ("2026-03-12 07:59", 2.0, true, Holds::ForEver),
            // Exactly two hours are not more than two hours.
            (
                "2026-03-12 08:00",
                2.0,
                false,
                Holds::Before(moment("2026-03-12 10:00") - TimeDelta::seconds(1)),
            ),
            (
                "2026-03-12 09:00",
                2.5,
                false,
                Holds::Before(moment("2026-03-12 11:30") - TimeDelta::seconds(1)),
            ),
            ("2026-03-12 09:00", 1e300, false, Holds::Now),
        ] {
            let asked = sight.note_holds(|| sight.has_passed(moment(since), hours));
            assert_eq!(asked, (passed, holds), "{since} {hours}");
        }
    }

    #[test]
    fn vial_is_known_by_its_incubation_until_it_is_read() {
        let bi = |at: &str, role: &str, lot: &str, incubated: &str, result: &str| {
            format!("{at} bi: AA-LOAD, role {role}, lot {lot}, incubated {incubated}{result}\n")
        };
        let (put, later) = ("2026-03-12 08:00", "2026-03-12 09:00");
        let read = ", read 2026-03-13 09:00, result no growth";
        let text = format!(
            "loadbook log 1\nzone: Europe/London\n{}{}{}{}{}{}",
            bi("2026-03-12 08:00", "test", "B1", put, ""),
            bi("2026-03-12 08:01", "control", "B1", put, ""),
            bi("2026-03-12 08:02", "test", "B2", put, ""),
            bi("2026-03-12 09:00", "test", "B1", later, ""),
            bi("2026-03-13 09:00", "test", "B1", later, read),
            bi("2026-03-13 10:00", "test", "B1", put, read),
        );
        let history = history(&text);
        let index = Index::of(&history);
        // The entries of the vials that are seen, by the line of the log.
        let seen = |at: &str| -> Vec<u32> {
            let sight = Sight::at(&index, Some(moment(at)));
            let bis = sight.bis_of(&history.loads[0]);
            let mut lines: Vec<u32> = bis.iter().map(|bi| bi.span().line).collect();
            lines.sort_unstable();
            lines
        };
        assert_eq!(seen("2026-03-12 08:01"), [3, 4]);
        assert_eq!(seen("2026-03-12 12:00"), [3, 4, 5, 6]);
        // The reading on line 7 is of the vial of nine o'clock, and that on line 8 of the first.
        assert_eq!(seen("2026-03-13 09:30"), [3, 4, 5, 7]);
        assert_eq!(seen("2026-03-13 10:00"), [4, 5, 7, 8]);
    }
}
