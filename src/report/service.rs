//! One unit after another for the people who service it, as a value: lengths of stages, leak tests, alarms, and how the
//! cycles since the last service compare with those before. Facts and counts only. Read [`write_service`] first.

use super::lengths::{
    FoundCourse, LengthSeries, Measure, UnitMoment, list_lengths, list_moments, median,
};
use super::naming::CycleRow;
use super::place::Place;
use super::review::{ClockRow, Reviewed, outcome_word};
use super::scope::is_load_cycle;
use crate::measure::count::Counting;
use crate::reconcile::history::KnownCycle;
use crate::record::cycle::{Outcome, Process, Purpose};
use chrono::NaiveDateTime;
use serde::Serialize;
use std::collections::BTreeMap;

/// So many cycles at least stand on each side of a comparison.
const LEAST_COMPARED: usize = 8;

/// The report.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Service {
    /// The units in order of their names.
    pub units: Vec<UnitSheet>,
}

/// What is known of a unit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct UnitSheet {
    /// Its name.
    pub unit: String,
    /// Its process.
    pub process: Option<Process>,
    /// Its serial numbers as printed.
    pub serials: Vec<String>,
    /// Its software versions as printed.
    pub software: Vec<String>,
    /// Cycles with a load.
    pub n_cycles: u64,
    /// Of these, aborted ones by stage and cause, the most frequent first.
    pub endings: Vec<EndingRow>,
    /// The lengths of its stages.
    pub stages: Vec<LengthSeries>,
    /// Its leak tests in order.
    pub leaks: Vec<LeakRow>,
    /// What was found of its leak rate.
    pub leak_found: Vec<FoundCourse>,
    /// Its alarms by cause, the most frequent first.
    pub alarms: Vec<AlarmRow>,
    /// What happened to it.
    pub moments: Vec<UnitMoment>,
    /// How stages since the last service compare with those before.
    pub since_service: Option<SinceService>,
    /// How its clock stands against the log's.
    pub clock: Option<ClockRow>,
}

/// Cycles that ended in one way.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct EndingRow {
    /// Aborted or rejected.
    pub outcome: &'static str,
    /// The stage.
    pub stage: Option<String>,
    /// The cause, in a word.
    pub cause: Option<String>,
    /// The cycles.
    pub cycles: Vec<CycleRow>,
}

/// A leak test.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LeakRow {
    /// When it began.
    pub began: NaiveDateTime,
    /// The rise of pressure in the unit it was printed in.
    pub rate: f64,
    /// The limit in that unit.
    pub limit: Option<f64>,
    /// The unit of both.
    pub unit: &'static str,
    /// The result printed, in a word.
    pub outcome: &'static str,
    /// The cycle.
    pub cycle: CycleRow,
}

/// Alarms of one cause.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AlarmRow {
    /// The cause, in a word.
    pub cause: String,
    /// How many in each month, as `2026-03`.
    pub by_month: BTreeMap<String, u64>,
    /// Where each stands, with its cycle.
    pub alarms: Vec<(String, Place)>,
}

/// Stages before and since the last service.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SinceService {
    /// The service.
    pub service: UnitMoment,
    /// Its stages.
    pub rows: Vec<ComparedRow>,
}

/// One stage of one program before and since.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ComparedRow {
    /// The program.
    pub program: Option<String>,
    /// The stage.
    pub stage: Option<String>,
    /// Cycles before.
    pub n_before: usize,
    /// The middle length before, in seconds.
    pub before: f64,
    /// Cycles since.
    pub n_since: usize,
    /// The middle length since, in seconds.
    pub since: f64,
}

/// Makes the report; `clocks` are those of the review.
pub fn write_service(reviewed: &Reviewed<'_>, clocks: &[ClockRow]) -> Service {
    let stages = list_lengths(reviewed, Measure::EachStage);
    let units = reviewed
        .history
        .units
        .iter()
        .filter(|unit| reviewed.scope.has_unit(Some(unit.name.as_str())))
        .map(|unit| {
            let cycles: Vec<&KnownCycle> = unit
                .cycles
                .iter()
                .filter_map(|ix| reviewed.history.cycles.get(ix.0))
                .filter(|known| reviewed.scope.has_cycle(known))
                .collect();
            let stages: Vec<LengthSeries> = stages
                .iter()
                .filter(|series| series.unit == unit.name.0)
                .cloned()
                .collect();
            let moments = list_moments(reviewed, unit.name.as_str());
            UnitSheet {
                unit: unit.name.0.clone(),
                process: unit.process,
                serials: unit.serials.clone(),
                software: unit
                    .software
                    .iter()
                    .map(|(version, _)| version.clone())
                    .collect(),
                n_cycles: cycles.iter().filter(|known| is_load_cycle(known)).count() as u64,
                endings: count_endings(reviewed, &cycles),
                leaks: list_leaks(reviewed, &cycles),
                leak_found: Vec::new(),
                alarms: count_alarms(reviewed, &cycles),
                since_service: compare(&stages, &moments),
                stages,
                moments,
                clock: clocks
                    .iter()
                    .find(|clock| clock.unit == unit.name.0)
                    .cloned(),
            }
        })
        .filter(|sheet| sheet.n_cycles > 0 || !sheet.leaks.is_empty())
        .collect();
    Service { units }
}

fn count_endings(reviewed: &Reviewed<'_>, cycles: &[&KnownCycle]) -> Vec<EndingRow> {
    let mut rows: BTreeMap<(&'static str, Option<String>, Option<String>), EndingRow> =
        BTreeMap::new();
    for known in cycles.iter().filter(|known| is_load_cycle(known)) {
        let (stage, cause) = match known.cycle.outcome.as_ref().map(|outcome| &outcome.value) {
            Some(Outcome::Aborted { stage, cause }) => (stage.as_ref(), cause.as_ref()),
            Some(Outcome::Rejected { cause }) => (None, cause.as_ref()),
            _ => continue,
        };
        let key = (
            outcome_word(known),
            stage.map(|stage| stage.word().to_owned()),
            cause.map(|cause| cause.word().to_owned()),
        );
        rows.entry(key.clone())
            .or_insert_with(|| EndingRow {
                outcome: key.0,
                stage: key.1,
                cause: key.2,
                cycles: Vec::new(),
            })
            .cycles
            .push(CycleRow::of(known, reviewed.lines));
    }
    let mut rows: Vec<EndingRow> = rows.into_values().collect();
    rows.sort_by_key(|row| std::cmp::Reverse(row.cycles.len()));
    rows
}

fn list_leaks(reviewed: &Reviewed<'_>, cycles: &[&KnownCycle]) -> Vec<LeakRow> {
    cycles
        .iter()
        .filter(|known| known.cycle.purpose == Purpose::LeakTest)
        .filter_map(|known| {
            let leak = known.cycle.leak.as_ref()?.value;
            let unit = leak.rate.printed_unit();
            Some(LeakRow {
                began: known.began.as_ref()?.value.local,
                rate: leak.rate.printed_number(),
                // A limit in another unit than its rate is left to its line.
                limit: leak
                    .limit
                    .filter(|limit| limit.printed_unit() == unit)
                    .map(|limit| limit.printed_number()),
                unit: unit.symbol(),
                outcome: outcome_word(known),
                cycle: CycleRow::of(known, reviewed.lines),
            })
        })
        .collect()
}

fn count_alarms(reviewed: &Reviewed<'_>, cycles: &[&KnownCycle]) -> Vec<AlarmRow> {
    let mut rows: BTreeMap<String, AlarmRow> = BTreeMap::new();
    for known in cycles {
        let month = known
            .began
            .as_ref()
            .map(|began| began.value.local.format("%Y-%m").to_string());
        for (event, cause) in known.cycle.alarms() {
            let row = rows
                .entry(cause.word().to_owned())
                .or_insert_with(|| AlarmRow {
                    cause: cause.word().to_owned(),
                    by_month: BTreeMap::new(),
                    alarms: Vec::new(),
                });
            if let Some(month) = &month {
                row.by_month.entry(month.clone()).or_default().add_one();
            }
            row.alarms.push((
                super::naming::cycle_name(&known.cycle),
                Place::of(&event.span, reviewed.lines),
            ));
        }
    }
    let mut rows: Vec<AlarmRow> = rows.into_values().collect();
    rows.sort_by_key(|row| std::cmp::Reverse(row.alarms.len()));
    rows
}

/// Compares the stages before and since the last service that has enough cycles on both sides of it.
fn compare(stages: &[LengthSeries], moments: &[UnitMoment]) -> Option<SinceService> {
    let services = moments
        .iter()
        .filter(|moment| moment.what == super::lengths::UnitMomentKind::Service);
    services.rev().find_map(|service| {
        let rows: Vec<ComparedRow> = stages
            .iter()
            .filter_map(|series| {
                let side = |is_side: fn(NaiveDateTime, NaiveDateTime) -> bool| -> Vec<f64> {
                    series
                        .lengths
                        .iter()
                        .filter(|length| is_side(length.began, service.at))
                        .map(|length| length.seconds)
                        .collect()
                };
                let before = side(|began, service| began < service);
                let since = side(|began, service| began >= service);
                if before.len() < LEAST_COMPARED || since.len() < LEAST_COMPARED {
                    return None;
                }
                Some(ComparedRow {
                    program: series.program.clone(),
                    stage: series.stage.clone(),
                    n_before: before.len(),
                    before: median(before)?,
                    n_since: since.len(),
                    since: median(since)?,
                })
            })
            .collect();
        (!rows.is_empty()).then(|| SinceService {
            service: service.clone(),
            rows,
        })
    })
}
