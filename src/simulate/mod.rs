//! Practice records: what an invented department prints and writes in some weeks or years, with troubles planted in it.
//!
//! For teaching, for trying a review on records whose truth is known, and for sizing. Everything follows from a seed;
//! nothing here knows the clock or the file system: what is made goes to a [`RecordSink`], day by day, so that a run of
//! any length fits in memory. None of it is a real hospital's. Read [`write_practice`] first, then `department` for the
//! units, `trouble` for what is planted, and `answer` for the sheet that tells it.

// Nothing is read here, so that plain sums may stand.
#![expect(
    clippy::arithmetic_side_effects,
    reason = "every number is made here, from a plan that `cli::simulate` holds to the years 1970 to 2095, 60 000 days and 100 000 cycles a day: moments stay within the calendar, what is counted of a unit or a day far below 2^31, and tallies over all have 64 bits"
)]

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
use std::collections::BTreeMap;
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

/// Records that are kept in memory: the bytes of each file by its name, for tests and measurements.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct InMemory(pub BTreeMap<String, Vec<u8>>);

impl RecordSink for InMemory {
    fn append(&mut self, file: &str, bytes: &[u8]) -> io::Result<()> {
        self.0
            .entry(file.to_owned())
            .or_default()
            .extend_from_slice(bytes);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::answer::write_answer_sheet;
    use super::truth::Slip;
    use super::*;
    use crate::measure::quantity::STANDARD_ATMOSPHERE;
    use crate::parse::{Records, Strictness, read_bytes};
    use crate::record::cause::Cause;
    use crate::record::cycle::{Cycle, Measured, Outcome, Process, Purpose, Stage, StageName};
    use crate::record::entry::{BiRole, Entry, EntryBody};
    use std::collections::{BTreeMap, BTreeSet};
    use std::fs;
    use std::ops::RangeInclusive;
    use std::path::Path;
    use std::sync::LazyLock;

    /// The command that made the committed samples, as it stands in their answer sheet.
    const SAMPLES_COMMAND: &str = "loadbook simulate --seed 2026 --from 2026-01-05 --days 91 \
         --out samples/fennmarsh --answer samples/answer-sheet.md";

    struct Made {
        files: BTreeMap<String, Vec<u8>>,
        truth: Truth,
        /// Each printout, printed twice or not.
        cycles: Vec<Cycle>,
        entries: Vec<Entry>,
        n_unread: usize,
        codes: BTreeSet<&'static str>,
    }

    fn make(plan: &Plan) -> Made {
        let mut memory = InMemory::default();
        let truth = write_practice(plan, &mut memory).unwrap();
        let mut made = Made {
            files: memory.0,
            truth,
            cycles: Vec::new(),
            entries: Vec::new(),
            n_unread: 0,
            codes: BTreeSet::new(),
        };
        for bytes in made.files.values() {
            let Records {
                cycles,
                entries,
                unread,
                diagnostics,
                ..
            } = read_bytes(bytes, Strictness::Infer);
            made.cycles.extend(cycles);
            made.entries.extend(entries);
            made.n_unread += unread.len();
            made.codes.extend(diagnostics.iter().map(|d| d.code.id()));
        }
        made
    }

    static SAMPLES: LazyLock<Made> = LazyLock::new(|| make(&Plan::of_samples()));

    fn cycles_of(
        process: Process,
        purpose: Purpose,
        outcome: Outcome,
    ) -> impl Iterator<Item = &'static Cycle> {
        SAMPLES.cycles.iter().filter(move |cycle| {
            cycle.process.as_ref().unwrap().value == process
                && cycle.purpose == purpose
                && cycle.outcome.as_ref().unwrap().value == outcome
        })
    }

    fn stages<'c>(cycle: &'c Cycle, name: &StageName) -> impl Iterator<Item = &'c Stage> {
        cycle.stages.iter().filter(move |stage| stage.name == *name)
    }

    fn celsius(stage: &Stage) -> Vec<f64> {
        let of = |measured: &Measured| match measured {
            Measured::Temperature(temperature) => Some(temperature.celsius()),
            _ => None,
        };
        stage
            .readings
            .iter()
            .filter_map(|r| of(&r.measured))
            .collect()
    }

    fn pascal(stage: &Stage) -> Vec<f64> {
        let of = |measured: &Measured| match measured {
            Measured::Pressure(pressure) => Some(pressure.absolute(STANDARD_ATMOSPHERE).pascal()),
            _ => None,
        };
        stage
            .readings
            .iter()
            .filter_map(|r| of(&r.measured))
            .collect()
    }

    fn minutes(cycle: &Cycle) -> f64 {
        f64::from(cycle.ended.as_ref().unwrap().value.0) / 60.0
    }

    /// From the first stage of a name to the one after it.
    fn stage_minutes(cycle: &Cycle, name: &StageName) -> f64 {
        let ix = cycle.stages.iter().position(|s| s.name == *name).unwrap();
        let next = cycle.stages[ix + 1].began.0;
        f64::from(next - cycle.stages[ix].began.0) / 60.0
    }

    fn assert_within(values: &[f64], range: RangeInclusive<f64>, cycle: &Cycle) {
        assert!(!values.is_empty());
        for value in values {
            let counter = cycle.counter.as_ref().unwrap().value;
            let unit = &cycle.unit.as_ref().unwrap().value;
            assert!(range.contains(value), "{unit} {counter}: {value}");
        }
    }

    #[test]
    fn the_committed_samples_are_what_the_generator_makes() {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples");
        let mut folders = vec![root.join("fennmarsh")];
        let mut committed = BTreeMap::new();
        while let Some(folder) = folders.pop() {
            for entry in fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                if path.is_dir() {
                    folders.push(path);
                } else {
                    let name = path.strip_prefix(root.join("fennmarsh")).unwrap();
                    let name = name.to_str().unwrap().replace('\\', "/");
                    committed.insert(name, fs::read(path).unwrap());
                }
            }
        }
        assert_eq!(
            committed.keys().collect::<Vec<_>>(),
            SAMPLES.files.keys().collect::<Vec<_>>()
        );
        for (name, bytes) in &SAMPLES.files {
            assert!(
                committed[name] == *bytes,
                "{name} has drifted; make it again"
            );
        }
        let mut sheet = Vec::new();
        let plan = Plan::of_samples();
        write_answer_sheet(&plan, &SAMPLES.truth, SAMPLES_COMMAND, &mut sheet).unwrap();
        let committed = fs::read_to_string(root.join("answer-sheet.md")).unwrap();
        assert_eq!(String::from_utf8(sheet).unwrap(), committed);
    }

    #[test]
    fn the_samples_are_as_large_as_was_asked_for() {
        let n_bytes: usize = SAMPLES.files.values().map(Vec::len).sum();
        assert!(n_bytes < 8_000_000, "{n_bytes}");
        assert!(SAMPLES.truth.n_printouts() >= 1_500);
        assert_eq!(
            SAMPLES
                .truth
                .n_cycles
                .keys()
                .map(|key| &key.0)
                .collect::<BTreeSet<_>>()
                .len(),
            6
        );
    }

    #[test]
    fn the_answer_sheet_counts_what_the_files_hold() {
        let mut n_cycles: BTreeMap<(String, &str, &str), usize> = BTreeMap::new();
        let mut seen = BTreeSet::new();
        for cycle in &SAMPLES.cycles {
            let unit = cycle.unit.as_ref().unwrap().value.0.clone();
            let started = cycle.started.as_ref().unwrap().value.local;
            if seen.insert((unit.clone(), started)) {
                let outcome = match cycle.outcome.as_ref().unwrap().value {
                    Outcome::Completed => "completed",
                    Outcome::Aborted { .. } => "aborted",
                    Outcome::Rejected { .. } => "rejected",
                    Outcome::Passed => "passed",
                    Outcome::Failed => "failed",
                };
                *n_cycles
                    .entry((unit, cycle.purpose.word(), outcome))
                    .or_default() += 1;
            }
        }
        assert_eq!(n_cycles, SAMPLES.truth.n_cycles);
        assert_eq!(
            SAMPLES.cycles.len(),
            SAMPLES.truth.n_printouts() + SAMPLES.truth.reprints.n
        );
        let n_misspelt = SAMPLES.truth.slips[&Slip::Misspelt].n;
        assert_eq!(SAMPLES.n_unread, n_misspelt);
        assert_eq!(SAMPLES.entries.len() + n_misspelt, SAMPLES.truth.n_entries);
        // Nothing else is worth saying of the files but cycles over midnight.
        assert_eq!(SAMPLES.codes, BTreeSet::from(["midnight-passed"]));
    }

    #[test]
    fn plasma_cycles_last_28_to_75_minutes_below_50_degrees() {
        // CDC, Guideline for Disinfection and Sterilization in Healthcare Facilities, 2008 (update May 2019), Table 6:
        // "Cycle time is 28-75 minutes", "process temperature <50 C" (SEEN via copy); 37 C as the lower end, 6 mg/L and
        // inject-diffuse-plasma twice: the same guideline, section on gas plasma (from memory).
        use StageName::{Diffuse, Evacuate, Inject, Plasma, Vent};
        let mut n = 0;
        for cycle in cycles_of(Process::Plasma, Purpose::Load, Outcome::Completed) {
            n += 1;
            assert_within(&[minutes(cycle)], 28.0..=75.0, cycle);
            let names: Vec<_> = cycle
                .stages
                .iter()
                .map(|stage| stage.name.clone())
                .collect();
            let course = [
                Evacuate, Inject, Diffuse, Plasma, Inject, Diffuse, Plasma, Vent,
            ];
            assert_eq!(names, course);
            for stage in &cycle.stages {
                assert_within(&celsius(stage), 37.0..=50.0, cycle);
            }
            for stage in stages(cycle, &Inject) {
                let Some(Measured::Concentration(last)) =
                    stage.readings.last().map(|reading| reading.measured)
                else {
                    panic!("an injection ends with the concentration");
                };
                assert_within(&[last.milligrams_per_litre()], 5.0..=7.0, cycle);
            }
        }
        assert!(n > 800, "{n}");
    }

    #[test]
    fn a_damp_load_does_not_reach_the_set_pressure_in_time() {
        // Common practice, and CDC 2008, section on low-temperature sterilization (from memory): with moisture the
        // vacuum is not achieved and the cycle aborts.
        let outcome = Outcome::Aborted {
            stage: Some(StageName::Evacuate),
            cause: Some(Cause::Moisture),
        };
        let mut n = 0;
        for cycle in cycles_of(Process::Plasma, Purpose::Load, outcome) {
            n += 1;
            let evacuate = stages(cycle, &StageName::Evacuate).next().unwrap();
            let least = pascal(evacuate).into_iter().fold(f64::INFINITY, f64::min);
            assert!(least > 100.0, "{least}");
            assert_within(
                &[stage_minutes(cycle, &StageName::Evacuate)],
                20.0..=20.5,
                cycle,
            );
            assert_eq!(cycle.alarms().next().unwrap().1, &Cause::Moisture);
            assert_eq!(stages(cycle, &StageName::Inject).count(), 0);
        }
        assert!(n > 10, "{n}");
    }

    #[test]
    fn steam_exposures_hold_their_pair_in_saturated_steam() {
        // Pairs 121 C 15 min and 134 C 3 min: Medical Research Council, Central Sterilising Club handbook, Table 10.2
        // (SEEN); 132 C 4 min: CDC 2008, Table 7 (SEEN). Bands of 3 K, and 2 K between measured and pressure-derived
        // temperature: EN 285 (from memory). Absolute pressures of saturated steam in kPa: CALC from IAPWS
        // R7-97(2012) region 4 in shared/reference/standards.md, section 2.
        const SATURATED: [(f64, f64); 9] = [
            (115.0, 169.18),
            (121.0, 205.04),
            (124.0, 225.17),
            (126.0, 239.46),
            (129.0, 262.27),
            (132.0, 286.82),
            (134.0, 304.20),
            (135.0, 313.20),
            (137.0, 331.85),
        ];
        let by_pressure = |kilopascal: f64| {
            let ix = SATURATED
                .partition_point(|(_, p)| *p < kilopascal)
                .clamp(1, 8);
            let ((t0, p0), (t1, p1)) = (SATURATED[ix - 1], SATURATED[ix]);
            t0 + (t1 - t0) * (kilopascal - p0) / (p1 - p0)
        };
        let mut n_by_band: BTreeMap<u32, usize> = BTreeMap::new();
        for cycle in cycles_of(Process::Steam, Purpose::Load, Outcome::Completed) {
            let program = cycle.program.as_ref().unwrap().value.as_str();
            let (band, least) = match program {
                "plastics 121" => (121.0, 15.0),
                "wrapped 132" => (132.0, 4.0),
                _ => (134.0, 3.0),
            };
            *n_by_band.entry(band as u32).or_default() += 1;
            assert_within(&[minutes(cycle)], 59.0..=120.0, cycle);
            let expose = stages(cycle, &StageName::Expose).next().unwrap();
            let held = stage_minutes(cycle, &StageName::Expose);
            assert_within(&[held], least..=least + 2.0, cycle);
            // Printed in Fahrenheit with one decimal, a temperature is rounded by 0.03 K.
            assert_within(&celsius(expose), band - 0.03..=band + 3.03, cycle);
            for (pascal, celsius) in pascal(expose).iter().zip(celsius(expose)) {
                let apart = by_pressure(pascal / 1e3) - celsius;
                assert_within(&[apart], -2.0..=2.0, cycle);
            }
        }
        assert_eq!(n_by_band.len(), 3);
    }

    #[test]
    fn leak_tests_rise_by_what_they_print() {
        // EN 285 by way of HTM 01-05: at most 1.3 mbar/min over 10 minutes (SEEN, secondary); 70 mbar at most at the
        // start and 5 minutes to settle (from memory).
        for cycle in cycles_of(Process::Steam, Purpose::LeakTest, Outcome::Passed) {
            let rate = cycle.leak.as_ref().unwrap().value.rate.pascal_per_minute();
            assert_within(&[rate], 0.0..=130.0, cycle);
            let settle = stages(cycle, &StageName::Settle).next().unwrap();
            let hold = stages(cycle, &StageName::Hold).next().unwrap();
            let start = *pascal(settle).last().unwrap();
            assert_within(&[start], 0.0..=7_000.0, cycle);
            assert_within(
                &[stage_minutes(cycle, &StageName::Settle)],
                5.0..=5.0,
                cycle,
            );
            let rise = pascal(hold).last().unwrap() - start;
            assert_within(
                &[stage_minutes(cycle, &StageName::Hold)],
                10.0..=10.0,
                cycle,
            );
            // Rounded to 0.1 kPa the two pressures may be off by 100 Pa together.
            assert_within(&[rise / 10.0 - rate], -11.0..=11.0, cycle);
        }
    }

    #[test]
    fn ethylene_oxide_stays_within_its_four_parameters() {
        // CDC 2008, section on ethylene oxide: 450-1200 mg/L, 37-63 C, 40-80 % relative humidity, 1-6 h (SEEN via
        // secondary page); Table 1: aeration 8-12 h at 50-60 C (SEEN). The two aerations that are cut short are planted.
        let mut n_short = 0;
        for cycle in SAMPLES.cycles.iter().filter(|cycle| {
            cycle.process.as_ref().unwrap().value == Process::Eo
                && stages(cycle, &StageName::Expose).next().is_some()
        }) {
            let expose = stages(cycle, &StageName::Expose).next().unwrap();
            assert_within(&celsius(expose), 37.0..=63.0, cycle);
            for reading in &expose.readings {
                match reading.measured {
                    Measured::Concentration(value) => {
                        assert_within(&[value.milligrams_per_litre()], 450.0..=1_200.0, cycle);
                    }
                    Measured::Humidity(value) => {
                        assert_within(&[value.percent()], 40.0..=80.0, cycle);
                    }
                    _ => {}
                }
            }
            let hours = stage_minutes(cycle, &StageName::Expose) / 60.0;
            assert_within(&[hours], 1.0..=6.0, cycle);
            let aerate = stages(cycle, &StageName::Aerate).next().unwrap();
            assert_within(&celsius(aerate), 50.0..=60.0, cycle);
            let hours = stage_minutes(cycle, &StageName::Aerate) / 60.0;
            if hours < 8.0 {
                n_short += 1;
            } else {
                assert_within(&[hours], 8.0..=12.0, cycle);
            }
        }
        assert_eq!(n_short, 2);
    }

    #[test]
    fn implants_and_ethylene_oxide_loads_have_a_bi_and_its_control() {
        // Every load with an implant: CDC, MMWR 52(RR-17), 2003, VI.F.7 (SEEN); every load of ethylene oxide: AAMI ST41
        // (from memory); a control of the same lot: MMWR 52(RR-17), VI.F.6 (SEEN).
        let mut roles: BTreeMap<&str, BTreeMap<BiRole, &str>> = BTreeMap::new();
        let mut with_implant = BTreeSet::new();
        for entry in &SAMPLES.entries {
            let Some(load) = entry.load.as_ref().map(|load| load.value.as_str()) else {
                continue;
            };
            match &entry.body {
                EntryBody::Bi(bi) => {
                    let lot = bi
                        .lot
                        .as_ref()
                        .unwrap()
                        .value
                        .lot
                        .as_ref()
                        .unwrap()
                        .as_str();
                    roles
                        .entry(load)
                        .or_default()
                        .insert(bi.role.as_ref().unwrap().value, lot);
                }
                EntryBody::Content(content) if content.implant.as_ref().unwrap().value => {
                    with_implant.insert(load);
                }
                _ => {}
            }
        }
        let mut n = 0;
        for cycle in SAMPLES.cycles.iter().filter(|cycle| {
            cycle.purpose == Purpose::Load
                && cycle.outcome.as_ref().unwrap().value == Outcome::Completed
        }) {
            let load = cycle.load.as_ref().unwrap().value.as_str();
            let is_eo = cycle.process.as_ref().unwrap().value == Process::Eo;
            if is_eo || with_implant.contains(load) {
                let lots: Vec<_> = roles[load].values().collect();
                assert!(lots.len() == 2 && lots[0] == lots[1], "{load}");
                n += 1;
            }
        }
        assert!(n > 100, "{n}");
    }

    #[test]
    fn another_seed_makes_other_records_and_no_troubles_make_none() {
        let plan = Plan {
            seed: 7,
            n_days: 10,
            troubles: Troubles::None,
            ..Plan::of_samples()
        };
        let made = make(&plan);
        assert!(made.truth.planted.is_empty());
        let first = "printouts/PL-1/2026-01.txt";
        assert_ne!(
            made.files[first].get(..400),
            SAMPLES.files[first].get(..400)
        );
    }

    #[test]
    fn a_larger_department_has_more_units_and_about_as_many_cycles_as_asked_for() {
        let plan = Plan {
            n_days: 14,
            n_cycles_per_day: Some(100),
            files: PrintoutFiles::PerDay,
            ..Plan::of_samples()
        };
        let made = make(&plan);
        let per_day = made.truth.n_printouts() as f64 / 14.0;
        assert!((90.0..110.0).contains(&per_day), "{per_day}");
        let units: BTreeSet<_> = made.truth.n_cycles.keys().map(|key| &key.0).collect();
        assert_eq!(units.len(), 30);
        assert!(made.files.contains_key("printouts/PL-13/2026-01-06.txt"));
        // No two cycles share a load number, but those of a load that was rejected and run again.
        let (mut cycles, mut loads) = (BTreeSet::new(), BTreeSet::new());
        for cycle in &made.cycles {
            if let Some(load) = &cycle.load
                && cycle.outcome.as_ref().unwrap().value == Outcome::Completed
            {
                let unit = &cycle.unit.as_ref().unwrap().value;
                cycles.insert((unit, cycle.counter.as_ref().unwrap().value));
                loads.insert(&load.value);
            }
        }
        assert_eq!(cycles.len(), loads.len());
    }
}
