//! Aborted cycles: of a unit against its own past and its sisters, by cause, in clusters, and what they gather on.
//!
//! Only cycles that ran with a load count; rejected ones never began. Read [`find_aborts`] first.

use super::Asking;
use super::catalogue::FindingKind;
use super::cluster::{Cluster, find_cluster};
use super::factor::{Asked, ask_factors};
use super::finding::{Evidence, Finding, Subject};
use super::frame::{CycleRow, Ending, Frame, rows_by};
use super::question::Question;
use super::strata::{Exposure, Strata};
use super::words::{count, share, times_as_often};
use crate::record::cause::Cause;
use crate::record::cycle::Purpose;
use polars::prelude::PolarsResult;
use std::collections::{BTreeMap, BTreeSet};

/// The number of last cycles that is compared with all before.
const N_LAST: usize = 200;
/// The fewest earlier cycles that a rise is measured from: with fewer, a doubled rate of some per cent would be missed more
/// often than found.
const FEWEST_BEFORE: usize = 200;
/// The fewest aborts that are called a rise.
const FEWEST_ABORTS: u32 = 4;
/// The two-sided p above which a unit counts as having been like its sisters. Were it larger, the comparison with the own
/// past alone would be chosen just where that past is low by chance.
const LIKE_SISTERS: f64 = 0.05;

/// Causes that lie with the load or with people, and so don't speak for service of the unit.
pub fn lies_with_the_load(cause: &str) -> bool {
    matches!(
        Cause::from_word(cause),
        Cause::Moisture
            | Cause::PackageContact
            | Cause::OperatorStopped
            | Cause::SterilantEmpty
            | Cause::SterilantExpired
            | Cause::DoorOpen
    )
}

/// Asks all questions about aborts.
///
/// # Errors
/// Those of the table library.
pub fn find_aborts(frame: &Frame, asking: &mut Asking) -> PolarsResult<()> {
    let mut rises = Question::of(FindingKind::AbortRise);
    let mut units = Question::of(FindingKind::AbortUnit);
    let mut factors = Question::of(FindingKind::AbortFactor);
    let mut clusters = Question::of(FindingKind::AbortCluster);
    for (_, rows) in cycles_that_ran(frame)? {
        let by_unit = by_unit(&rows);
        for (unit, own) in &by_unit {
            ask_rise(unit, own, &by_unit, &mut rises);
            ask_clusters(unit, own, &mut clusters);
        }
        let mut causes: BTreeMap<&str, usize> = BTreeMap::new();
        for row in rows.iter().filter(|row| row.ending == Ending::Aborted) {
            *causes.entry(row.cause.as_str()).or_default() += 1;
        }
        if by_unit.len() > 1 {
            for unit in by_unit.keys() {
                ask_unit(unit, &rows, None, &mut units);
                for (cause, _) in causes.iter().filter(|(_, n)| **n >= 3) {
                    ask_unit(unit, &rows, Some(cause), &mut units);
                }
            }
        }
        for cause in causes.keys() {
            let failed = |row: &CycleRow| row.ending == Ending::Aborted && row.cause == *cause;
            let asked = Asked {
                kind: FindingKind::AbortFactor,
                happened: "aborted",
            };
            ask_factors(&rows, &failed, cause, asked, &mut factors);
        }
    }
    asking.take(FindingKind::AbortRise, rises.answer());
    asking.take(FindingKind::AbortUnit, units.answer());
    asking.take(FindingKind::AbortFactor, factors.answer());
    asking.take(FindingKind::AbortCluster, clusters.answer());
    Ok(())
}

/// The cycles that ran with a load, by process, each in order of time.
fn cycles_that_ran(frame: &Frame) -> PolarsResult<Vec<(String, Vec<&CycleRow>)>> {
    let groups = rows_by(&frame.cycle_table, &["process", "purpose"])?;
    let mut ran = Vec::new();
    for (key, rows) in groups {
        if key.get(1).map(String::as_str) != Some(Purpose::Load.word()) {
            continue;
        }
        let mut rows: Vec<&CycleRow> = rows
            .iter()
            .filter_map(|row| frame.cycles.get(*row))
            .filter(|row| row.ran_with_load())
            .collect();
        rows.sort_by_key(|row| (row.began, row.cycle));
        ran.push((key.into_iter().next().unwrap_or_default(), rows));
    }
    Ok(ran)
}

fn by_unit<'r>(rows: &[&'r CycleRow]) -> BTreeMap<&'r str, Vec<&'r CycleRow>> {
    let mut by_unit: BTreeMap<&str, Vec<&CycleRow>> = BTreeMap::new();
    for row in rows {
        by_unit.entry(&row.unit).or_default().push(row);
    }
    by_unit
}

fn is_aborted(row: &CycleRow) -> bool {
    row.ending == Ending::Aborted
}

/// The last cycles of a unit against all before, and against its sisters if it was like them.
fn ask_rise(
    unit: &str,
    own: &[&CycleRow],
    all: &BTreeMap<&str, Vec<&CycleRow>>,
    question: &mut Question,
) {
    let Some(n_before) = own
        .len()
        .checked_sub(N_LAST)
        .filter(|n| *n >= FEWEST_BEFORE)
    else {
        return;
    };
    let (before, last) = own.split_at(n_before);
    let sisters: Vec<&CycleRow> = all
        .iter()
        .filter(|(name, _)| **name != unit)
        .flat_map(|(_, rows)| rows.iter().copied())
        .collect();
    let mut likeness = Strata::new();
    for (rows, exposure) in [(before, Exposure::Exposed), (&sisters, Exposure::Other)] {
        for row in rows {
            likeness.count(row.program.as_str(), exposure, is_aborted(row));
        }
    }
    let is_like_sisters = likeness.likelihood().is_some_and(|likelihood| {
        let p = likelihood.p_more();
        p.min(1.0 - p) * 2.0 > LIKE_SISTERS
    });
    let mut strata = Strata::new();
    for row in last {
        strata.count(row.program.as_str(), Exposure::Exposed, is_aborted(row));
    }
    for row in before {
        strata.count(row.program.as_str(), Exposure::Other, is_aborted(row));
    }
    if is_like_sisters {
        for row in &sisters {
            strata.count(row.program.as_str(), Exposure::Other, is_aborted(row));
        }
    }
    let total = strata.total();
    let likelihood = strata.likelihood();
    let p = match &likelihood {
        Some(likelihood) if total.exposed_failures >= FEWEST_ABORTS => likelihood.p_more(),
        _ => 1.0,
    };
    question.bear_on(unit, p);
    question.compare(p, || {
            let n_own = before.iter().filter(|row| is_aborted(row)).count() as u32;
            let said = format!(
                "{unit} aborted {} of its last cycles, against {} before.",
                share(total.exposed_failures, total.exposed),
                share(n_own, before.len() as u32),
            );
            let subject = Subject { unit: Some(unit.to_owned()), ..Subject::default() };
            let mut finding = Finding::new(FindingKind::AbortRise, subject, said)
                .of_matter(format!("aborts of {unit}"));
            finding.effect = likelihood.as_ref().map(|likelihood| {
                let other = if is_like_sisters {
                    "before and in the sister units, which it was like"
                } else {
                    "before"
                };
                times_as_often(total, likelihood, other)
            });
            finding.also.push(say_causes(last));
            finding.else_explains.push(
                "Other loads, people or supplies than before; a change of what is counted, such as an operator who stops \
                 cycles early."
                    .to_owned(),
            );
            finding.resting_on(evidence_of(last.iter().copied().filter(|row| is_aborted(row))))
        });
}

fn say_causes(rows: &[&CycleRow]) -> String {
    let mut causes: BTreeMap<String, usize> = BTreeMap::new();
    for row in rows.iter().filter(|row| is_aborted(row)) {
        let said = Cause::from_word(&row.cause).said().to_owned();
        *causes.entry(said).or_default() += 1;
    }
    let mut causes: Vec<(usize, String)> =
        causes.into_iter().map(|(cause, n)| (n, cause)).collect();
    causes.sort_by(|a, b| b.0.cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
    let said: Vec<String> = causes
        .iter()
        .map(|(n, cause)| format!("{cause} {n}"))
        .collect();
    format!("Causes printed: {}.", said.join(", "))
}

/// Evidence of cycles that were aborted or rejected.
pub fn evidence_of<'r>(rows: impl Iterator<Item = &'r CycleRow>) -> Vec<Evidence> {
    rows.map(|row| {
        let happened = match row.ending {
            Ending::Rejected => "rejected".to_owned(),
            _ if row.stage.is_empty() => "aborted".to_owned(),
            _ => format!("aborted in {}", row.stage),
        };
        let cause = Cause::from_word(&row.cause);
        Evidence {
            day: row.day(),
            said: format!("{} {happened}: {}", row.name, cause.said()),
            span: row.span,
        }
    })
    .collect()
}

/// A unit against its sisters, for all causes or one.
fn ask_unit(unit: &str, rows: &[&CycleRow], cause: Option<&str>, question: &mut Question) {
    let failed = |row: &CycleRow| is_aborted(row) && cause.is_none_or(|cause| row.cause == cause);
    let mut strata = Strata::new();
    for row in rows {
        strata.count(
            row.program.as_str(),
            Exposure::of(row.unit == unit),
            failed(row),
        );
    }
    let total = strata.total();
    let likelihood = strata.likelihood();
    let p = match &likelihood {
        Some(likelihood) if total.exposed_failures >= FEWEST_ABORTS => likelihood.p_more(),
        _ => 1.0,
    };
    if cause.is_some_and(|cause| !lies_with_the_load(cause)) {
        question.bear_on(unit, p);
    }
    question.compare(p, || {
        let why = cause.map_or(String::new(), |cause| {
            format!(" for {}", Cause::from_word(cause).said())
        });
        let said = format!(
            "{unit} aborts{why} more often than its sister units in the same programs: {} against {}.",
            share(total.exposed_failures, total.exposed),
            share(total.other_failures, total.others),
        );
        let subject = Subject {
            unit: Some(unit.to_owned()),
            cause: cause.map(str::to_owned),
            ..Subject::default()
        };
        let mut finding =
            Finding::new(FindingKind::AbortUnit, subject, said).of_matter(format!("aborts of {unit}"));
        finding.effect = likelihood
            .as_ref()
            .map(|likelihood| times_as_often(total, likelihood, "in its sister units"));
        let programs: BTreeSet<&str> = rows
            .iter()
            .filter(|row| row.unit == unit)
            .map(|row| row.program.as_str())
            .collect();
        finding.else_explains.push(format!(
            "Other loads than in the sister units; {} allowed for.",
            if programs.len() > 1 { "programs are" } else { "the one program is" }
        ));
        finding.resting_on(evidence_of(
            rows.iter().copied().filter(|row| row.unit == unit && failed(row)),
        ))
    });
}

/// Clusters of a unit's aborts among its cycles.
fn ask_clusters(unit: &str, own: &[&CycleRow], question: &mut Question) {
    let failed: Vec<bool> = own.iter().map(|row| is_aborted(row)).collect();
    let Some(Cluster {
        p,
        first,
        last,
        n_events,
        n_cycles,
    }) = find_cluster(&failed)
    else {
        // Too few to come together, and counted all the same: which units are asked must not hang on what they did.
        question.count(1.0);
        return;
    };
    question.compare(p, || {
        let rows = own.get(first..=last).unwrap_or_default();
        let day = |row: Option<&&CycleRow>| {
            row.and_then(|row| row.day()).map_or("?".to_owned(), |day| day.to_string())
        };
        let said = format!(
            "{unit} aborted {n_events} times within {} between {} and {}, of {} in all its {} cycles.",
            count(n_cycles, "cycle", "cycles"),
            day(rows.first()),
            day(rows.last()),
            failed.iter().filter(|failed| **failed).count(),
            own.len(),
        );
        let subject = Subject { unit: Some(unit.to_owned()), ..Subject::default() };
        let mut finding =
            Finding::new(FindingKind::AbortCluster, subject, said).of_matter(format!("aborts of {unit}"));
        finding.also.push(say_causes(rows));
        finding
            .else_explains
            .push("The same load run again and again before its fault was found.".to_owned());
        finding.resting_on(evidence_of(rows.iter().copied().filter(|row| is_aborted(row))))
    });
}
