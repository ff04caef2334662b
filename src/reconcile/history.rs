//! The history: cycles, loads and entries, tied together by index.
//!
//! Cycles and entries lie in two sorted lists; everything else points into them, so that nothing is held twice.

use crate::diagnose::Span;
use crate::record::Inferred;
use crate::record::cycle::{Cycle, Process};
use crate::record::entry::Entry;
use crate::record::line_set::LineSet;
use crate::record::name::{LoadNumber, UnitName};
use chrono::{DateTime, Utc};
use serde::Serialize;

/// The index of a cycle in [`History::cycles`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct CycleIx(pub usize);

/// The index of an entry in [`History::entries`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct EntryIx(pub usize);

/// The index of a load in [`History::loads`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct LoadIx(pub usize);

/// Everything that the records tell, tied together.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct History {
    /// Every cycle once, sorted by unit, then start, then place in the input. A cycle whose start is not known stands
    /// where its counter puts it, or after all others of its unit.
    pub cycles: Vec<KnownCycle>,
    /// Every entry, sorted by time, then place in the input; those without a time come last.
    pub entries: Vec<KnownEntry>,
    /// Every load that a printout or the log names, sorted by first time, then number.
    pub loads: Vec<Load>,
    /// Every unit, sorted by name.
    pub units: Vec<Unit>,
    /// Runs of cycle counters without a printout, sorted by unit and counter.
    pub missing: Vec<MissingPrintouts>,
    /// Places where a unit's cycle counter began again.
    pub counter_resets: Vec<CounterReset>,
    /// Load numbers that may be slips of one another; proposed, not joined.
    pub near_misses: Vec<NearMiss>,
}

/// A cycle with what other records add to it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KnownCycle {
    /// What its printout says.
    pub cycle: Cycle,
    /// When it began. `None` when the printout has no date, or one that can't be believed and nothing tells better.
    pub began: Option<Inferred<Moment>>,
    /// When it ended. Over a clock change this is the real end, see [`KnownCycle::seconds`].
    pub ended: Option<Moment>,
    /// The lines of further printouts of the same cycle.
    pub reprints: Vec<LineSet>,
    /// The load that it processed.
    pub load: Option<LoadIx>,
    /// The first cycle of its unit that day, warm-ups and tests not counted.
    pub first_of_day: bool,
    /// The unit's clock had lost its setting, so that the printed date is not believed.
    pub clock_lost: bool,
}

/// A moment: on the local clock of its zone, and in UTC where zone or offset is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct Moment {
    /// On the local clock.
    pub local: chrono::NaiveDateTime,
    /// In UTC.
    pub utc: Option<DateTime<Utc>>,
}

/// An entry with what other records add to it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KnownEntry {
    /// What the log says.
    pub entry: Entry,
    /// When it was written.
    pub written: Option<Moment>,
}

/// A load and everything that is known of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Load {
    /// Its number.
    pub number: LoadNumber,
    /// Its unit: as printed, else as the log has it.
    pub unit: Option<UnitName>,
    /// The first moment that any record gives for it.
    pub first: Option<Moment>,
    /// Its cycles in order: more than one when the load was run again under its number.
    pub cycles: Vec<CycleIx>,
    /// Entries about it, in order, by kind.
    pub starts: Vec<EntryIx>,
    /// Its contents.
    pub contents: Vec<EntryIx>,
    /// Its chemical indicators.
    pub cis: Vec<EntryIx>,
    /// Its biological indicators, each vial once with its latest entry.
    pub bis: Vec<EntryIx>,
    /// Earlier entries of biological indicators that a later one completes.
    pub superseded_bis: Vec<EntryIx>,
    /// What people decided: release, hold and recall entries, in order.
    pub decisions: Vec<EntryIx>,
    /// Remarks that name it.
    pub remarks: Vec<EntryIx>,
    /// What its records lack, by fact alone and under no policy.
    pub lacking: Vec<Lack>,
}

impl Load {
    /// Every entry of the log about the load, kind by kind.
    pub fn entries(&self) -> impl Iterator<Item = EntryIx> {
        [
            &self.starts,
            &self.contents,
            &self.cis,
            &self.bis,
            &self.superseded_bis,
            &self.decisions,
            &self.remarks,
        ]
        .into_iter()
        .flatten()
        .copied()
    }
}

impl Load {
    /// How many entries of the log are about it, earlier ones of biological indicators included.
    pub fn n_entries(&self) -> usize {
        [
            &self.starts,
            &self.contents,
            &self.cis,
            &self.bis,
            &self.superseded_bis,
            &self.decisions,
            &self.remarks,
        ]
        .iter()
        .map(|list| list.len())
        .sum()
    }
}

/// Something that a load's records lack.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Lack {
    /// There is no printout.
    NoPrintout,
    /// The printout is torn, so that the outcome is not proven.
    TornPrintout,
    /// The printout gives no outcome.
    NoOutcome,
    /// The log says nothing of the load.
    NoLog,
    /// No result of an external chemical indicator.
    NoExternalCi,
    /// No result of an internal chemical indicator.
    NoInternalCi,
    /// A biological indicator was put to incubation and has no result.
    BiNotRead,
    /// A biological indicator was read and its control has no result.
    BiControlNotRead,
    /// No one signed release or hold.
    NotSigned,
}

impl Lack {
    /// What is lacking, in plain words.
    pub fn said(self) -> &'static str {
        match self {
            Lack::NoPrintout => "no printout",
            Lack::TornPrintout => "printout torn",
            Lack::NoOutcome => "no outcome printed",
            Lack::NoLog => "nothing in the log",
            Lack::NoExternalCi => "no external CI",
            Lack::NoInternalCi => "no internal CI",
            Lack::BiNotRead => "BI not read",
            Lack::BiControlNotRead => "BI control not read",
            Lack::NotSigned => "not signed",
        }
    }
}

/// One sterilizer and what is known of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Unit {
    /// Its name.
    pub name: UnitName,
    /// Its process, if printed.
    pub process: Option<Process>,
    /// Its serial numbers as printed, in order of appearance.
    pub serials: Vec<String>,
    /// Its software versions as printed, with the moment each first appears.
    pub software: Vec<(String, Option<Moment>)>,
    /// Its cycles in order.
    pub cycles: Vec<CycleIx>,
    /// Service entries in order.
    pub services: Vec<EntryIx>,
    /// How its clock stands against the log's, if a load tells.
    pub clock: Option<ClockOffset>,
    /// Runs of loads in which its clock was off by about an hour while it was right in others, in order.
    pub clock_steps: Vec<ClockStep>,
}

/// How far a unit's clock is from the clock of the log.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ClockOffset {
    /// Median of (time in the log − time on the unit) over the loads compared, in seconds. People write after the fact,
    /// so a few minutes are usual.
    pub median_seconds: f64,
    /// Median absolute deviation from it, in seconds.
    pub mad_seconds: f64,
    /// The number of loads compared.
    pub n_loads: usize,
    /// Whether it is more than people's habits explain.
    pub conflict: bool,
    /// By how many seconds a day (time in the log − time on the unit) grows, if enough loads over enough days tell:
    /// above 0 the unit's clock is slow, below 0 it is fast. Loads of [`Unit::clock_steps`] don't count.
    pub drift_seconds_per_day: Option<f64>,
}

/// A run of a unit's loads in which its clock was about an hour off, as when no one changed it to summer time.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClockStep {
    /// The first load of the run.
    pub from: LoadIx,
    /// The last load of the run.
    pub to: LoadIx,
    /// The number of loads of the run that were compared.
    pub n_loads: usize,
    /// Median of (time in the log − time on the unit) over the run, in seconds.
    pub median_seconds: f64,
    /// The day of the clock change at which the run began, if there was one.
    pub clock_change: Option<chrono::NaiveDate>,
}

/// A run of cycle counters without a printout.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MissingPrintouts {
    /// The unit.
    pub unit: UnitName,
    /// The first missing counter.
    pub first: u32,
    /// The last missing counter.
    pub last: u32,
    /// The cycle before the gap.
    pub after: CycleIx,
    /// The cycle after the gap.
    pub before: CycleIx,
    /// How many cycles without a usable counter lie between the two: so many of the run are not missing, and which ones
    /// can't be told. Always less than the length of the run.
    pub n_without_counter: u32,
}

impl MissingPrintouts {
    /// How many printouts are missing.
    pub fn n_missing(&self) -> u32 {
        self.last
            .saturating_sub(self.first)
            .saturating_add(1)
            .saturating_sub(self.n_without_counter)
    }
}

/// A place where a unit's counter began again, or went on from another number after an exchange.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CounterReset {
    /// The unit.
    pub unit: UnitName,
    /// The last cycle of the old count.
    pub after: CycleIx,
    /// The first cycle of the new count.
    pub before: CycleIx,
    /// A service entry between the two, if the log has one.
    pub service: Option<EntryIx>,
    /// Why it is taken for a new count and not for missing printouts, as a sentence.
    pub reason: String,
}

/// Two load numbers that may be the same load.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NearMiss {
    /// The load that only the log knows.
    pub in_log: LoadIx,
    /// The load that has a printout and lacks what the other has.
    pub on_strip: LoadIx,
    /// The slip that would explain it: `two digits swapped`, `O for 0` …
    pub slip: String,
    /// Where the number stands in the log.
    pub span: Span,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_entry_of_a_load_is_listed_and_counted() {
        let load = Load {
            number: LoadNumber("A-1".to_owned()),
            unit: None,
            first: None,
            cycles: vec![CycleIx(90)],
            starts: vec![EntryIx(0)],
            contents: vec![EntryIx(1), EntryIx(2)],
            cis: vec![EntryIx(3)],
            bis: vec![EntryIx(4)],
            superseded_bis: vec![EntryIx(5)],
            decisions: vec![EntryIx(6)],
            remarks: vec![EntryIx(7)],
            lacking: Vec::new(),
        };
        let all: Vec<usize> = load.entries().map(|ix| ix.0).collect();
        assert_eq!(all, [0, 1, 2, 3, 4, 5, 6, 7]);
        assert_eq!(load.n_entries(), 8);
    }

    #[test]
    fn what_is_lacking_is_said_in_words_of_its_own() {
        for (lack, said) in [
            (Lack::NoPrintout, "no printout"),
            (Lack::TornPrintout, "printout torn"),
            (Lack::NoOutcome, "no outcome printed"),
            (Lack::NoLog, "nothing in the log"),
            (Lack::NoExternalCi, "no external CI"),
            (Lack::NoInternalCi, "no internal CI"),
            (Lack::BiNotRead, "BI not read"),
            (Lack::BiControlNotRead, "BI control not read"),
            (Lack::NotSigned, "not signed"),
        ] {
            assert_eq!(lack.said(), said);
        }
    }

    #[test]
    fn cycles_without_a_counter_are_taken_off_what_is_missing() {
        let missing = |first, last, n_without_counter| {
            let missing = MissingPrintouts {
                unit: UnitName("PL-1".to_owned()),
                first,
                last,
                after: CycleIx(0),
                before: CycleIx(1),
                n_without_counter,
            };
            missing.n_missing()
        };
        assert_eq!(missing(13, 13, 0), 1);
        assert_eq!(missing(13, 17, 2), 3);
    }
}
