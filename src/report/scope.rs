//! Which part of the history a report speaks of.
//!
//! Narrowing comes after joining, so that leaving out a unit or a month makes no gap in what is left.

use crate::reconcile::history::{History, KnownCycle, KnownEntry, Load};
use crate::record::cycle::Purpose;
use crate::record::entry::EntryBody;
use crate::record::name::LoadNumber;
use chrono::NaiveDate;
use serde::Serialize;
use std::collections::BTreeSet;

/// Days, units and programs; an empty list and a missing day mean all.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Scope {
    /// The first day.
    pub from: Option<NaiveDate>,
    /// The last day.
    pub to: Option<NaiveDate>,
    /// The units.
    pub units: Vec<String>,
    /// The programs.
    pub programs: Vec<String>,
}

impl Scope {
    /// Whether nothing is left out.
    pub fn is_everything(&self) -> bool {
        *self == Scope::default()
    }

    /// Whether a day is in it. What has no date is in it: leaving it out would hide it from every report.
    pub fn has_day(&self, day: Option<NaiveDate>) -> bool {
        day.is_none_or(|day| {
            self.from.is_none_or(|from| from <= day) && self.to.is_none_or(|to| day <= to)
        })
    }

    /// Whether a unit is in it.
    pub fn has_unit(&self, unit: Option<&str>) -> bool {
        has_name(&self.units, unit)
    }

    /// Whether a program is in it.
    pub fn has_program(&self, program: Option<&str>) -> bool {
        has_name(&self.programs, program)
    }

    /// Whether a cycle is in it.
    pub fn has_cycle(&self, known: &KnownCycle) -> bool {
        self.has_day(known.began.as_ref().map(|began| began.value.local.date()))
            && self.has_unit(known.cycle.unit.as_ref().map(|unit| unit.value.as_str()))
            && self.has_program(
                known
                    .cycle
                    .program
                    .as_ref()
                    .map(|program| program.value.as_str()),
            )
    }

    /// Whether a load is in it: one of its cycles, or, without any, what the log says of it.
    pub fn has_load(&self, load: &Load, history: &History) -> bool {
        if !load.cycles.is_empty() {
            return load
                .cycles
                .iter()
                .filter_map(|ix| history.cycles.get(ix.0))
                .any(|known| self.has_cycle(known));
        }
        let program = load
            .starts
            .iter()
            .filter_map(|ix| history.entries.get(ix.0))
            .find_map(|known| match &known.entry.body {
                EntryBody::Load(start) => {
                    start.program.as_ref().map(|program| program.value.as_str())
                }
                _ => None,
            });
        self.has_day(load.first.map(|moment| moment.local.date()))
            && self.has_unit(load.unit.as_ref().map(|unit| unit.as_str()))
            && self.has_program(program)
    }

    /// The numbers of the loads that are in it.
    pub fn load_numbers<'a>(&self, history: &'a History) -> BTreeSet<&'a LoadNumber> {
        history
            .loads
            .iter()
            .filter(|load| self.has_load(load, history))
            .map(|load| &load.number)
            .collect()
    }

    /// Whether an entry is in it: by its load, where it names one, else by its own date and unit.
    pub fn has_entry(&self, known: &KnownEntry, loads: &BTreeSet<&LoadNumber>) -> bool {
        if let Some(number) = &known.entry.load {
            return loads.contains(&number.value);
        }
        self.programs.is_empty()
            && self.has_unit(known.entry.unit.as_ref().map(|unit| unit.value.as_str()))
            && self.has_day(known.written.map(|written| written.local.date()))
    }

    /// What it is narrowed to, in words; nothing if it is everything.
    pub fn said(&self) -> Option<String> {
        let mut parts = Vec::new();
        if let Some(from) = self.from {
            parts.push(format!("from {from}"));
        }
        if let Some(to) = self.to {
            parts.push(format!("to {to}"));
        }
        if !self.units.is_empty() {
            parts.push(format!("unit {}", self.units.join(", ")));
        }
        if !self.programs.is_empty() {
            parts.push(format!("program {}", self.programs.join(", ")));
        }
        (!parts.is_empty()).then(|| parts.join(", "))
    }

    /// The names asked for that the history does not have, each with what it is and the names that it does have.
    pub fn unknown_names(&self, history: &History) -> Vec<UnknownName> {
        let units: Vec<String> = history
            .units
            .iter()
            .map(|unit| unit.name.0.clone())
            .collect();
        let mut programs: Vec<String> = history
            .cycles
            .iter()
            .filter_map(|known| {
                known
                    .cycle
                    .program
                    .as_ref()
                    .map(|program| program.value.0.clone())
            })
            .chain(history.entries.iter().filter_map(|known| {
                match &known.entry.body {
                    EntryBody::Load(start) => start
                        .program
                        .as_ref()
                        .map(|program| program.value.0.clone()),
                    _ => None,
                }
            }))
            .collect();
        programs.sort_unstable();
        programs.dedup();
        let unknown = |what, asked: &[String], known: &[String]| -> Vec<UnknownName> {
            asked
                .iter()
                .filter(|name| !known.iter().any(|known| known.eq_ignore_ascii_case(name)))
                .map(|name| UnknownName {
                    what,
                    name: name.clone(),
                    known: known.to_vec(),
                })
                .collect()
        };
        let mut all = unknown("unit", &self.units, &units);
        all.extend(unknown("program", &self.programs, &programs));
        all
    }
}

/// A name that was asked for and that no record has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnknownName {
    /// What it is the name of.
    pub what: &'static str,
    /// The name.
    pub name: String,
    /// The names that records have.
    pub known: Vec<String>,
}

fn has_name(names: &[String], name: Option<&str>) -> bool {
    names.is_empty()
        || name.is_some_and(|name| names.iter().any(|asked| asked.eq_ignore_ascii_case(name)))
}

/// Whether a cycle was run for a load, not as a test or warm-up.
pub fn is_load_cycle(known: &KnownCycle) -> bool {
    known.cycle.purpose == Purpose::Load
}
