//! Records → one history: cycles tied to loads, indicators and contents; gaps, reprints and clock conflicts named.
//!
//! Knows nothing of policy, statistics, source files or formats. Nothing is joined on a guess: a near miss is proposed,
//! and whatever is inferred carries its reason. Read [`history::History`] first, then [`join_history`].

#[cfg(test)]
mod case;
mod chronology;
pub mod clocks;
mod counters;
mod courses;
mod entries;
mod first_of_day;
pub mod history;
mod lacking;
mod loads;
mod lost_clocks;
pub mod moments;
pub mod near_miss;
mod neighbours;
mod reprints;
mod said;
mod spikes;
mod units;
mod vials;

use crate::diagnose::Diagnostic;
use crate::diagnose::codes::Code;
use crate::parallel::Threads;
use crate::record::cycle::Cycle;
use crate::record::entry::{Entry, EntryBody};
use crate::record::name::UnitName;
use chrono_tz::Tz;
use chronology::{LogView, arrange_unit};
use history::{CounterReset, CycleIx, EntryIx, History, KnownCycle, KnownEntry, MissingPrintouts};
use reprints::Kept;
use std::collections::{BTreeMap, BTreeSet};
use units::UnitNames;

/// What the site is known to be, beyond its records.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Site {
    /// The zone of clocks for which the records name none.
    pub zone: Option<Tz>,
}

/// Joins records into one history.
///
/// The order in which cycles and entries come does not matter: the result is sorted by unit and time, then by place in
/// the input. What was noticed on the way comes back beside it, sorted by place in the input.
pub fn join_history(
    cycles: Vec<Cycle>,
    entries: Vec<Entry>,
    site: Site,
) -> (History, Vec<Diagnostic>) {
    join_history_on(cycles, entries, site, Threads::ONE)
}

/// The same, on so many threads.
pub fn join_history_on(
    cycles: Vec<Cycle>,
    entries: Vec<Entry>,
    site: Site,
    threads: Threads,
) -> (History, Vec<Diagnostic>) {
    let mut diagnostics = Vec::new();
    diagnostics.extend(zone_unknown(&cycles, &entries, site));

    // What one step says stands apart from what the other does, and all of it is put in order at the end.
    let ((kept, said), (entries, said_of_entries)) = threads.both(
        || reprints::keep_once(cycles),
        || saying(|said| entries::arrange_entries(entries, site, said)),
    );
    diagnostics.extend(said);
    diagnostics.extend(said_of_entries);

    let mut names = UnitNames::default();
    let mut by_unit: BTreeMap<Option<UnitName>, Vec<Kept>> = BTreeMap::new();
    for one in kept {
        let unit = one.cycle.unit.as_ref().map(|unit| unit.value.clone());
        if let Some(unit) = &unit {
            names.add(unit);
        }
        by_unit.entry(unit).or_default().push(one);
    }
    let services = units::find_services(&entries, &names);
    let mut history = History::default();
    arrange_units(
        by_unit,
        &services,
        &entries,
        site,
        &mut history,
        &mut diagnostics,
    );
    first_of_day::mark_first_of_day(&mut history.cycles);

    let cycles = &history.cycles;
    let (((), said), (mut loads, said_of_loads)) = threads.both(
        || {
            saying(|said| {
                neighbours::find_unlike(cycles, said);
                courses::find_other_courses(cycles, said);
                spikes::find_spikes(cycles, said);
            })
        },
        || saying(|said| loads::join_loads(cycles, &entries, said)),
    );
    diagnostics.extend(said);
    diagnostics.extend(said_of_loads);
    loads::point_to_loads(&loads, &mut history.cycles);
    let controls = lacking::Controls::among(&entries);
    let lacks = threads.map_in_order(loads.len(), |at| {
        let load = loads.get(at);
        load.map(|load| lacking::find_lacking(load, &history.cycles, &entries, &controls))
    });
    for (load, lacks) in loads.iter_mut().zip(lacks) {
        load.lacking = lacks.unwrap_or_default();
    }

    let cycles = &history.cycles;
    let ((near_misses, said), (clocks, said_of_clocks)) = threads.both(
        || saying(|said| near_miss::find_near_misses(&loads, cycles, &entries, said)),
        || saying(|said| clocks::judge_clocks(&loads, cycles, &entries, site, said)),
    );
    history.near_misses = near_misses;
    diagnostics.extend(said);
    say_once(&history, &mut diagnostics);
    diagnostics.extend(said_of_clocks);
    history.units = units::gather_units(&history.cycles, &loads, services, clocks, &names);
    history.loads = loads;
    history.entries = entries;
    diagnostics.sort();
    (history, diagnostics)
}

/// What a step makes, and what it says.
fn saying<T>(step: impl FnOnce(&mut Vec<Diagnostic>) -> T) -> (T, Vec<Diagnostic>) {
    let mut said = Vec::new();
    let made = step(&mut said);
    (made, said)
}

/// A near miss says already that its load has no printout.
fn say_once(history: &History, diagnostics: &mut Vec<Diagnostic>) {
    let near: BTreeSet<_> = history.near_misses.iter().map(|near| near.span).collect();
    diagnostics.retain(|diagnostic| {
        diagnostic.code != Code::LoadWithoutPrintout
            || diagnostic.primary.is_none_or(|span| !near.contains(&span))
    });
}

/// One note for all local times whose zone no one gives.
fn zone_unknown(cycles: &[Cycle], entries: &[Entry], site: Site) -> Option<Diagnostic> {
    if site.zone.is_some() {
        return None;
    }
    let of_cycles = cycles
        .iter()
        .filter_map(|cycle| Some((cycle.started.as_ref()?, cycle.zone.is_some())));
    let of_entries = entries
        .iter()
        .filter_map(|entry| Some((entry.written.as_ref()?, entry.zone.is_some())));
    let n_without = of_cycles
        .chain(of_entries)
        .filter(|(stamp, has_zone)| !has_zone && stamp.value.instant().is_none())
        .count();
    (n_without > 0).then(|| {
        Diagnostic::general(
            Code::ZoneUnknown,
            format!("{n_without} times have no time zone, so they are compared as they stand"),
        )
    })
}

/// Puts the cycles of every unit in order and says what their counters tell.
fn arrange_units(
    by_unit: BTreeMap<Option<UnitName>, Vec<Kept>>,
    services: &BTreeMap<UnitName, Vec<EntryIx>>,
    entries: &[KnownEntry],
    site: Site,
    history: &mut History,
    diagnostics: &mut Vec<Diagnostic>,
) {
    let mut starts: BTreeMap<&str, Vec<&KnownEntry>> = BTreeMap::new();
    for known in entries {
        if let (EntryBody::Load(_), Some(load)) = (&known.entry.body, &known.entry.load) {
            starts.entry(load.value.as_str()).or_default().push(known);
        }
    }
    // Cycles are large, and there are many: they are not moved once more for each unit.
    history
        .cycles
        .reserve_exact(by_unit.values().map(Vec::len).sum());
    for (unit, kept) in by_unit {
        // Those without a time tell nothing of what they lie between.
        let own: Vec<(EntryIx, &KnownEntry)> = unit
            .as_ref()
            .and_then(|unit| services.get(unit))
            .into_iter()
            .flatten()
            .filter_map(|ix| Some((*ix, entries.get(ix.0)?)))
            .filter(|(_, known)| known.written.is_some())
            .collect();
        let known: Vec<&KnownEntry> = own.iter().map(|(_, known)| *known).collect();
        let log = LogView {
            starts: &starts,
            services: &known,
        };
        let arranged = arrange_unit(unit.as_ref(), kept, site, log, diagnostics);
        let first = history.cycles.len();
        let cycle = |at: usize| CycleIx(first.saturating_add(at));
        history.cycles.extend(arranged.cycles);
        let Some(unit) = unit else { continue };
        for gap in arranged.gaps {
            let missing = MissingPrintouts {
                unit: unit.clone(),
                first: gap.first,
                last: gap.last,
                after: cycle(gap.after),
                before: cycle(gap.before),
                n_without_counter: gap.n_without_counter,
            };
            diagnostics.extend(say_missing(&missing, &history.cycles));
            history.missing.push(missing);
        }
        for one in arranged.breaks {
            let service = one.service.and_then(|nr| own.get(nr));
            let reset = CounterReset {
                unit: unit.clone(),
                after: cycle(one.after),
                before: cycle(one.before),
                service: service.map(|(ix, _)| *ix),
                reason: one.reason,
            };
            let service = service.map(|(_, known)| *known);
            diagnostics.extend(say_reset(&reset, service, &history.cycles));
            history.counter_resets.push(reset);
        }
    }
}

fn say_missing(missing: &MissingPrintouts, cycles: &[KnownCycle]) -> Option<Diagnostic> {
    let unit = &missing.unit;
    let before = cycles.get(missing.before.0)?;
    let after = cycles.get(missing.after.0)?;
    let run = if missing.first == missing.last {
        format!("{unit} cycle {} has no printout", missing.first)
    } else {
        format!(
            "{unit} cycles {} to {} have no printouts",
            missing.first, missing.last
        )
    };
    let known = match missing.n_without_counter {
        0 => String::new(),
        1 => "; one of them may be the cycle without a usable counter that lies between".to_owned(),
        n => format!("; {n} of them may be the cycles without a usable counter that lie between"),
    };
    let span = before.cycle.counter.as_ref()?.span;
    let mut diagnostic = Diagnostic::at(Code::PrintoutMissing, span, format!("{run}{known}"))
        .caption("the next printout that is there");
    if let Some(counter) = &after.cycle.counter {
        diagnostic = diagnostic.label(counter.span, "the last one before");
    }
    Some(diagnostic)
}

fn say_reset(
    reset: &CounterReset,
    service: Option<&KnownEntry>,
    cycles: &[KnownCycle],
) -> Option<Diagnostic> {
    let before = cycles.get(reset.before.0)?;
    let after = cycles.get(reset.after.0)?;
    let span = before.cycle.counter.as_ref()?.span;
    let mut diagnostic = Diagnostic::at(
        Code::CounterReset,
        span,
        format!("{}: {}", reset.unit, reset.reason),
    )
    .caption("a new count");
    if let Some(counter) = &after.cycle.counter {
        diagnostic = diagnostic.label(counter.span, "the old count");
    }
    if let Some(service) = service {
        diagnostic = diagnostic
            .label(service.entry.span, "the service")
            .help("nothing, if service set the counter");
    }
    Some(diagnostic)
}

#[cfg(test)]
mod tests {
    use super::case::{bi, ci, cycle, london, release, service, start, with};
    use super::*;
    use crate::record::cycle::Purpose;
    use crate::record::entry::{BiGrowth, BiRole, CiPosition};
    use proptest::prelude::*;

    #[test]
    fn nothing_makes_nothing() {
        let (history, diagnostics) = join_history(Vec::new(), Vec::new(), Site::default());
        assert_eq!(history, History::default());
        assert!(diagnostics.is_empty());
    }

    #[test]
    fn tests_and_warm_ups_share_the_counter_with_loads() {
        let cycles = vec![
            cycle(1, "ST-1", 10, "2026-03-12 06:00")
                .purpose(Purpose::WarmUp)
                .done(),
            cycle(20, "ST-1", 11, "2026-03-12 07:00")
                .purpose(Purpose::LeakTest)
                .done(),
            cycle(40, "ST-1", 12, "2026-03-12 08:00").load("S-1").done(),
            cycle(60, "ST-1", 15, "2026-03-12 12:00").load("S-2").done(),
        ];
        let (history, diagnostics) = join_history(cycles, Vec::new(), london());
        assert_eq!(history.missing.len(), 1);
        let missing = &history.missing[0];
        assert_eq!(
            (missing.first, missing.last, missing.n_missing()),
            (13, 14, 2)
        );
        assert_eq!((missing.after, missing.before), (CycleIx(2), CycleIx(3)));
        let said = with(&diagnostics, Code::PrintoutMissing);
        assert_eq!(said[0].headline, "ST-1 cycles 13 to 14 have no printouts");
    }

    #[test]
    fn service_between_two_counts_is_named() {
        let cycles = vec![
            cycle(1, "PL-1", 1041, "2026-03-12 08:00").done(),
            cycle(20, "PL-1", 1, "2026-03-13 08:00").done(),
            cycle(40, "PL-1", 2, "2026-03-13 09:00").done(),
        ];
        let entries = vec![
            service(1, "2026-03-12 11:00", "PL-2").done(),
            service(2, "2026-03-12 12:00", "pl-1").done(),
        ];
        let (history, diagnostics) = join_history(cycles, entries, london());
        assert_eq!(history.counter_resets.len(), 1);
        let reset = &history.counter_resets[0];
        assert_eq!((reset.after, reset.before), (CycleIx(0), CycleIx(1)));
        assert_eq!(reset.service, Some(EntryIx(1)));
        assert!(history.missing.is_empty());
        assert_eq!(with(&diagnostics, Code::CounterReset).len(), 1);
    }

    /// The blocks of a specification that are marked with this word.
    fn examples(specification: &str, word: &str) -> String {
        let fence = format!("```{word}\n");
        specification
            .split(&fence)
            .skip(1)
            .filter_map(|rest| rest.split("```").next())
            .collect()
    }

    /// The answers are read by hand from grammars/cycle-printout.md and grammars/indicator-log.md.
    #[test]
    fn examples_of_the_two_formats_make_one_history() {
        let text = examples(include_str!("../../grammars/cycle-printout.md"), "printout")
            + &examples(include_str!("../../grammars/indicator-log.md"), "log");
        let records = crate::parse::read_bytes(text.as_bytes(), crate::parse::Strictness::Infer);
        let (history, diagnostics) = join_history(records.cycles, records.entries, Site::default());
        let units: Vec<_> = history.units.iter().map(|u| u.name.as_str()).collect();
        assert_eq!(units, ["PL-1", "ST-1"]);
        assert_eq!(history.loads.len(), 1);
        let load = &history.loads[0];
        assert_eq!(load.number.as_str(), "P1-0312-01");
        assert_eq!(load.lacking, []);
        assert_eq!((load.bis.len(), load.superseded_bis.len()), (2, 2));
        // 07:41:20 to 08:22:05; the first CI was read at 08:25.
        assert_eq!(history.cycles[load.cycles[0].0].seconds(), Some(2_445));
        let clock = history.units[0].clock.unwrap();
        assert_eq!((clock.median_seconds, clock.n_loads), (175.0, 1));
        assert_eq!(history.units[0].services.len(), 1);
        // The leak test names no zone.
        let codes: Vec<_> = diagnostics.iter().map(|d| d.code).collect();
        assert_eq!(codes, [Code::ZoneUnknown]);
    }

    const UNITS: [&str; 3] = ["PL-1", "pl-1", "ST-2"];
    const TIMES: [&str; 8] = [
        "2026-03-12 08:00",
        "2026-03-12 09:30",
        "2026-03-13 08:00",
        "2026-03-29 01:30",
        "2026-10-25 01:10",
        "2026-10-25 01:40",
        "2000-01-01 00:05",
        "",
    ];
    const LOADS: [&str; 5] = ["A-1", "A-l", "A-2", "A-21", ""];

    fn any_cycle() -> impl Strategy<Value = CycleSeed> {
        (
            0..UNITS.len(),
            0u32..9,
            0..TIMES.len(),
            0..LOADS.len(),
            any::<(bool, bool)>(),
        )
    }
    type CycleSeed = (usize, u32, usize, usize, (bool, bool));

    fn made_cycle(line: u32, seed: &CycleSeed) -> Cycle {
        let (unit, counter, time, load, (torn, other_reading)) = *seed;
        let mut case = cycle(line, UNITS[unit], counter, TIMES[time]);
        if !LOADS[load].is_empty() {
            case = case.load(LOADS[load]);
        }
        if counter == 0 {
            case = case.no_counter();
        }
        case = case.reading(60, if other_reading { 45.0 } else { 46.0 });
        if torn {
            case = case.torn();
        }
        case.done()
    }

    type EntrySeed = (u8, usize, usize, usize, Option<u32>);
    fn any_entry() -> impl Strategy<Value = EntrySeed> {
        let counter = proptest::option::of(0u32..9);
        (
            0u8..6,
            0..UNITS.len(),
            0..TIMES.len(),
            0..LOADS.len(),
            counter,
        )
    }

    fn made_entry(line: u32, seed: &EntrySeed) -> Entry {
        let (kind, unit, time, load, counter) = *seed;
        let (at, load) = (TIMES[time], LOADS[load]);
        match kind {
            0 | 1 => {
                let mut case = start(line, at, load);
                if let Some(counter) = counter {
                    case = case.unit(UNITS[unit]).counter(counter);
                }
                case.done()
            }
            2 => ci(line, at, load, CiPosition::External).done(),
            3 => {
                let growth = counter.map(|_| BiGrowth::NoGrowth);
                bi(line, at, load, BiRole::Test, "B771", TIMES[0], growth).done()
            }
            4 => release(line, at, load).done(),
            _ => service(line, at, UNITS[unit]).done(),
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        /// The ends of the calendar, of counters and of elapsed times.
        #[test]
        fn extreme_values_never_panic(
            seeds in proptest::collection::vec((0usize..6, 0usize..4, 0usize..6, 0usize..5), 0..12),
            with_zone in any::<bool>(),
        ) {
            use chrono::{NaiveDateTime, TimeDelta};
            let times = [
                NaiveDateTime::MIN,
                NaiveDateTime::MIN + TimeDelta::hours(3),
                NaiveDateTime::MAX,
                NaiveDateTime::MAX - TimeDelta::hours(3),
                super::case::local("2026-03-12 08:00"),
                super::case::local("0000-01-01 00:00"),
            ];
            let counters = [0, 1, u32::MAX - 1, u32::MAX];
            let elapsed = [i32::MIN, -1, 0, 7_200, 1_000_000, i32::MAX];
            let offsets = [None, Some(86_399), Some(-86_399), Some(i32::MIN), Some(0)];
            let mut cycles = Vec::new();
            let mut entries = Vec::new();
            for (line, (time, counter, lasted, offset)) in (1u32..).zip(seeds) {
                let mut one = cycle(20 * line, "PL-1", counters[counter], "2026-03-12 08:00")
                    .load("A-1")
                    .ended(elapsed[lasted])
                    .done();
                let started = one.started.as_mut().unwrap();
                started.value.local = times[time];
                started.value.offset_seconds = offsets[offset];
                cycles.push(one);
                let mut one = start(line, "2026-03-12 08:00", "A-1").counter(counters[counter]).done();
                let written = one.written.as_mut().unwrap();
                written.value.local = times[lasted];
                written.value.offset_seconds = offsets[offset];
                entries.push(one);
                entries.push(bi(100 + line, "2026-03-12 08:00", "A-1", BiRole::Test, "B", "2026-03-12 08:00", None).done());
            }
            let site = if with_zone { london() } else { Site::default() };
            let _ = join_history(cycles, entries, site);
        }

        #[test]
        fn order_of_the_input_does_not_matter(
            cycles in proptest::collection::vec(any_cycle(), 0..14),
            entries in proptest::collection::vec(any_entry(), 0..14),
            keys in proptest::collection::vec(any::<u32>(), 28),
            with_zone in any::<bool>(),
        ) {
            let cycles: Vec<Cycle> = (0u32..).zip(&cycles).map(|(n, s)| made_cycle(20 * n + 1, s)).collect();
            let entries: Vec<Entry> = (1u32..).zip(&entries).map(|(n, s)| made_entry(n, s)).collect();
            let n_lines: u64 = cycles.iter().map(|c| c.lines.n_lines()).sum();
            let (n_cycles, n_entries) = (cycles.len(), entries.len());
            let mut shuffled: Vec<_> = keys.iter().zip(cycles.clone()).collect();
            shuffled.sort_by_key(|(key, _)| **key);
            let other_cycles: Vec<Cycle> = shuffled.into_iter().map(|(_, c)| c).collect();
            let mut shuffled: Vec<_> = keys.iter().rev().zip(entries.clone()).collect();
            shuffled.sort_by_key(|(key, _)| **key);
            let other_entries: Vec<Entry> = shuffled.into_iter().map(|(_, e)| e).collect();

            let site = if with_zone { london() } else { Site::default() };
            let (history, diagnostics) = join_history(cycles, entries, site);
            let (other, other_diagnostics) = join_history(other_cycles, other_entries, site);
            prop_assert_eq!(&history, &other);
            prop_assert_eq!(diagnostics, other_diagnostics);

            // Nothing is lost or held twice: cycles with their reprints, lines, entries, loads.
            let n_reprints: usize = history.cycles.iter().map(|k| k.reprints.len()).sum();
            prop_assert_eq!(history.cycles.len() + n_reprints, n_cycles);
            let n_kept: u64 = history.cycles.iter().map(|k| {
                k.cycle.lines.n_lines() + k.reprints.iter().map(|l| l.n_lines()).sum::<u64>()
            }).sum();
            prop_assert_eq!(n_kept, n_lines);
            prop_assert_eq!(history.entries.len(), n_entries);
            let mut in_loads: Vec<usize> = history.loads.iter().flat_map(|load| load.cycles.iter().map(|ix| ix.0)).collect();
            in_loads.sort_unstable();
            let with_load: Vec<usize> = history.cycles.iter().enumerate().filter(|(_, k)| k.cycle.load.is_some()).map(|(ix, _)| ix).collect();
            prop_assert_eq!(in_loads, with_load);
            let n_about_loads = history.entries.iter().filter(|k| k.entry.load.is_some()).count();
            prop_assert_eq!(history.loads.iter().map(|load| load.n_entries()).sum::<usize>(), n_about_loads);
            for (nr, load) in history.loads.iter().enumerate() {
                for ix in &load.cycles {
                    prop_assert_eq!(history.cycles[ix.0].load, Some(history::LoadIx(nr)));
                }
            }
            for missing in &history.missing {
                prop_assert!(missing.first <= missing.last && missing.n_missing() > 0);
            }
        }
    }

    #[test]
    fn times_without_zone_and_offset_are_counted() {
        let with_offset = |mut one: Cycle| {
            one.started.as_mut().unwrap().value.offset_seconds = Some(0);
            one
        };
        let cycles = vec![
            cycle(1, "PL-1", 1, "2026-03-12 08:00")
                .zone(chrono_tz::Tz::Europe__London)
                .done(),
            with_offset(cycle(20, "PL-1", 2, "2026-03-12 09:00").done()),
            cycle(40, "PL-1", 3, "2026-03-12 10:00").done(),
        ];
        let entries = vec![
            start(1, "2026-03-12 10:00", "A-1").done(),
            start(2, "", "A-1").done(),
        ];
        let headline = |cycles: Vec<Cycle>, entries: Vec<Entry>, site| {
            let (_, said) = join_history(cycles, entries, site);
            let said = with(&said, Code::ZoneUnknown);
            said.first().map(|said| said.headline.clone())
        };
        assert_eq!(
            headline(cycles.clone(), entries.clone(), Site::default()).unwrap(),
            "2 times have no time zone, so they are compared as they stand"
        );
        assert_eq!(headline(cycles.clone(), entries, london()), None);
        let zoned = cycles[..2].to_vec();
        assert_eq!(headline(zoned, Vec::new(), Site::default()), None);
    }

    #[test]
    fn missing_printouts_are_said_with_the_cycles_that_may_be_among_them() {
        let headline = |last: u32, without_counter: &[&str]| {
            let mut cycles = vec![
                cycle(1, "ST-1", 12, "2026-03-12 08:00").done(),
                cycle(20, "ST-1", last, "2026-03-12 20:00").done(),
            ];
            for (line, at) in (3..).zip(without_counter) {
                cycles.push(cycle(20 * line, "ST-1", 0, at).no_counter().done());
            }
            let (_, said) = join_history(cycles, Vec::new(), london());
            let said = with(&said, Code::PrintoutMissing);
            assert_eq!(said[0].labels.len(), 1);
            said[0].headline.clone()
        };
        assert_eq!(headline(14, &[]), "ST-1 cycle 13 has no printout");
        assert_eq!(
            headline(16, &["2026-03-12 10:00"]),
            "ST-1 cycles 13 to 15 have no printouts; one of them may be the cycle without a usable counter that lies between"
        );
        assert_eq!(
            headline(17, &["2026-03-12 10:00", "2026-03-12 12:00"]),
            "ST-1 cycles 13 to 16 have no printouts; 2 of them may be the cycles without a usable counter that lie between"
        );
    }
}
