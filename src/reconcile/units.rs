//! Units: every sterilizer that a printout, or the log on its own, names.
//!
//! Knows finished cycles, entries and loads. The log's name of a unit counts as the printed one where only capitals
//! differ. Read [`UnitNames`] first, then [`gather_units`].

use super::clocks::Judged;
use super::history::{CycleIx, EntryIx, KnownCycle, KnownEntry, Load, Unit};
use crate::record::entry::EntryBody;
use crate::record::name::UnitName;
use std::collections::BTreeMap;

/// The names that printouts give to units.
#[derive(Debug, Default)]
pub(super) struct UnitNames {
    by_small: BTreeMap<String, UnitName>,
}

impl UnitNames {
    /// Takes a printed name. Of names that differ in capitals only, the first in order stands for the log's.
    pub(super) fn add(&mut self, name: &UnitName) {
        let known = self
            .by_small
            .entry(name.in_small_letters())
            .or_insert_with(|| name.clone());
        if name < known {
            *known = name.clone();
        }
    }

    /// The printed name of a unit that the log names; the log's own where no printout has it.
    pub(super) fn printed(&self, written: &UnitName) -> UnitName {
        self.by_small
            .get(&written.in_small_letters())
            .unwrap_or(written)
            .clone()
    }
}

/// The service entries of each unit, in order.
pub(super) fn find_services(
    entries: &[KnownEntry],
    names: &UnitNames,
) -> BTreeMap<UnitName, Vec<EntryIx>> {
    let mut services: BTreeMap<UnitName, Vec<EntryIx>> = BTreeMap::new();
    for (ix, known) in entries.iter().enumerate() {
        if let (EntryBody::Service, Some(unit)) = (&known.entry.body, &known.entry.unit) {
            services
                .entry(names.printed(&unit.value))
                .or_default()
                .push(EntryIx(ix));
        }
    }
    services
}

/// Every unit, sorted by name. A unit without printouts is one that was serviced or that loads without a printout went
/// into.
pub(super) fn gather_units(
    cycles: &[KnownCycle],
    loads: &[Load],
    services: BTreeMap<UnitName, Vec<EntryIx>>,
    mut clocks: BTreeMap<UnitName, Judged>,
    names: &UnitNames,
) -> Vec<Unit> {
    let mut units: BTreeMap<UnitName, Unit> = BTreeMap::new();
    let empty = |name: &UnitName| Unit {
        name: name.clone(),
        process: None,
        serials: Vec::new(),
        software: Vec::new(),
        cycles: Vec::new(),
        services: Vec::new(),
        clock: None,
        clock_steps: Vec::new(),
    };
    for (ix, known) in cycles.iter().enumerate() {
        let cycle = &known.cycle;
        let Some(name) = cycle.unit.as_ref().map(|unit| &unit.value) else {
            continue;
        };
        let unit = units.entry(name.clone()).or_insert_with(|| empty(name));
        unit.cycles.push(CycleIx(ix));
        unit.process = unit
            .process
            .or(cycle.process.as_ref().map(|process| process.value));
        if let Some(serial) = &cycle.serial
            && !unit.serials.contains(&serial.value)
        {
            unit.serials.push(serial.value.clone());
        }
        if let Some(software) = &cycle.software
            && !unit
                .software
                .iter()
                .any(|(known, _)| *known == software.value)
        {
            let began = known.began.as_ref().map(|began| began.value);
            unit.software.push((software.value.clone(), began));
        }
    }
    for load in loads.iter().filter(|load| load.cycles.is_empty()) {
        if let Some(name) = load.unit.as_ref().map(|unit| names.printed(unit)) {
            units.entry(name.clone()).or_insert_with(|| empty(&name));
        }
    }
    for (name, list) in services {
        let unit = units.entry(name.clone()).or_insert_with(|| empty(&name));
        unit.services = list;
    }
    for (name, unit) in &mut units {
        if let Some(judged) = clocks.remove(name) {
            unit.clock = judged.offset;
            unit.clock_steps = judged.steps;
        }
    }
    units.into_values().collect()
}

#[cfg(test)]
mod tests {
    use super::UnitNames;
    use crate::reconcile::case::{cycle, london, service, start};
    use crate::reconcile::join_history;
    use crate::record::cycle::Process;
    use crate::record::name::UnitName;

    #[test]
    fn unit_gathers_what_its_printouts_say_and_its_services() {
        let cycles = vec![
            cycle(1, "PL-1", 1, "2026-03-12 08:00")
                .serial("20417")
                .software("4.2")
                .done(),
            cycle(20, "PL-1", 2, "2026-03-13 08:00")
                .serial("20417")
                .software("4.3")
                .done(),
        ];
        let entries = vec![
            service(1, "2026-03-12 12:00", "pl-1").done(),
            start(2, "2026-03-12 12:00", "B-1").unit("EO-1").done(),
        ];
        let (history, _) = join_history(cycles, entries, london());
        let names: Vec<_> = history.units.iter().map(|u| u.name.as_str()).collect();
        assert_eq!(names, ["EO-1", "PL-1"]);
        let unit = &history.units[1];
        assert_eq!(unit.serials, ["20417"]);
        let software: Vec<_> = unit.software.iter().map(|(s, _)| s.as_str()).collect();
        assert_eq!(software, ["4.2", "4.3"]);
        assert_eq!((unit.cycles.len(), unit.services.len()), (2, 1));
    }

    #[test]
    fn logs_name_is_the_first_of_the_printed_ones_that_differ_in_capitals() {
        let name = |text: &str| UnitName(text.to_owned());
        for printed in [["pl-1", "PL-1"], ["PL-1", "pl-1"]] {
            let mut names = UnitNames::default();
            for text in printed {
                names.add(&name(text));
            }
            // Capitals come before small letters in ASCII.
            assert_eq!(names.printed(&name("Pl-1")), name("PL-1"));
            assert_eq!(names.printed(&name("st-1")), name("st-1"));
        }
    }

    #[test]
    fn process_is_the_first_printed_and_the_clock_is_that_of_the_unit() {
        let cycles = vec![
            cycle(1, "PL-1", 1, "2026-03-12 08:00").load("A-1").done(),
            cycle(20, "PL-2", 1, "2026-03-12 08:00").load("A-2").done(),
        ];
        let entries = vec![
            start(1, "2026-03-12 08:10", "A-1").done(),
            start(2, "2026-03-12 08:20", "A-2").done(),
        ];
        let (history, _) = join_history(cycles, entries, london());
        let clocks: Vec<_> = history
            .units
            .iter()
            .map(|unit| {
                (
                    unit.name.as_str(),
                    unit.process,
                    unit.clock.unwrap().median_seconds,
                )
            })
            .collect();
        assert_eq!(
            clocks,
            [
                ("PL-1", Some(Process::Plasma), 600.0),
                ("PL-2", Some(Process::Plasma), 1_200.0)
            ]
        );
    }
}
