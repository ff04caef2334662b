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
            EntryBody::Bi(bi) => Some(bi),
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
