//! Aborted cycles: of a unit against its own past and its sisters, by cause, in clusters, and what they gather on.
//!
//! Only cycles that ran with a load count; rejected ones never began. Read [`find_aborts`] first.

use super::Asking;
use super::catalogue::FindingKind;
use super::cluster::{Cluster, find_cluster};
use super::factor::{Asked, FEWEST_FAILURES, Factored, ask_factors};
use super::finding::{Evidence, Finding, Subject};
use super::frame::{CycleRow, Ending, Frame, rows_by};
use super::phrase::{Arg, Joining, Phrase, list, term};
use super::question::Question;
use super::strata::{Exposure, Strata, Uses};
use super::words::times_as_often;
use crate::measure::count::Counting;
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
        let mut causes: BTreeMap<&str, Vec<&CycleRow>> = BTreeMap::new();
        for row in rows.iter().filter(|row| is_aborted(row)) {
            causes.entry(row.cause.as_str()).or_default().push(row);
        }
        if by_unit.len() > 1 {
            ask_units(&by_unit, &causes, &mut units);
        }
        let factored = Factored::of(&rows);
        for (cause, aborts) in &causes {
            if aborts.len() < FEWEST_FAILURES {
                continue;
            }
            let failed = |row: &CycleRow| is_aborted(row) && row.cause == *cause;
            let asked = Asked {
                kind: FindingKind::AbortFactor,
                happened: "abort-factor",
            };
            ask_factors(&factored, &failed, cause, asked, &mut factors);
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

/// Cycles by their unit, each in the order in which they are given.
pub fn by_unit<'r>(rows: &[&'r CycleRow]) -> BTreeMap<&'r str, Vec<&'r CycleRow>> {
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
        let said = Phrase::of("abort-rise-said")
            .and("unit", unit)
            .and("own", Arg::Share(total.exposed_failures, total.exposed))
            .and("before", Arg::Share(n_own, before.len() as u32));
        let subject = Subject {
            unit: Some(unit.to_owned()),
            ..Subject::default()
        };
        let mut finding = Finding::new(FindingKind::AbortRise, subject, said)
            .of_matter(format!("aborts of {unit}"));
        finding.effect = likelihood.as_ref().map(|likelihood| {
            let among = if is_like_sisters {
                "among-before-and-sisters"
            } else {
                "among-before"
            };
            times_as_often(total, likelihood, Phrase::of(among))
        });
        finding.also.push(say_causes(last));
        finding.else_explains.push(Phrase::of("abort-rise-else"));
        finding.resting_on(evidence_of(
            last.iter().copied().filter(|row| is_aborted(row)),
        ))
    });
}

fn say_causes(rows: &[&CycleRow]) -> Phrase {
    let mut causes: BTreeMap<&str, usize> = BTreeMap::new();
    for row in rows.iter().filter(|row| is_aborted(row)) {
        causes.entry(&row.cause).or_default().add_one();
    }
    let mut causes: Vec<(usize, &str)> = causes.into_iter().map(|(cause, n)| (n, cause)).collect();
    causes.sort_by(|a, b| b.0.cmp(&a.0).then_with(|| a.1.cmp(b.1)));
    let causes = causes.iter().map(|(n, cause)| {
        let counted = Phrase::of("phrase-counted").and("name", cause_named(cause));
        counted.and("n", *n).into()
    });
    Phrase::of("causes-printed").and("causes", list(Joining::Comma, causes))
}

/// A cause that was printed, by its name in each language.
pub fn cause_named(cause: &str) -> Arg {
    term("cause", Cause::from_word(cause).word())
}

/// Evidence of cycles that were aborted or rejected.
pub fn evidence_of<'r>(rows: impl Iterator<Item = &'r CycleRow>) -> Vec<Evidence> {
    rows.map(|row| {
        let key = match row.ending {
            Ending::Rejected => "evidence-rejected",
            _ if row.stage.is_empty() => "evidence-aborted",
            _ => "evidence-aborted-in",
        };
        let said = Phrase::of(key)
            .and("record", &row.name)
            .and("cause", cause_named(&row.cause))
            .and("stage", term("stage", &row.stage));
        Evidence {
            day: row.day(),
            said,
            span: row.span,
        }
    })
    .collect()
}

/// The aborts for all causes or one.
struct Aborts<'r> {
    cause: Option<&'r str>,
    failed: Uses<'r>,
}

impl Aborts<'_> {
    /// Whether they bear on the service of the unit.
    fn bear_on_unit(&self) -> bool {
        self.cause.is_some_and(|cause| !lies_with_the_load(cause))
    }
}

fn uses_of<'r>(rows: impl IntoIterator<Item = &'r CycleRow>) -> Uses<'r> {
    let rows = rows.into_iter();
    rows.map(|row| (row.unit.as_str(), row.program.as_str()))
        .collect()
}

/// Each unit against its sisters, for all causes and for each that is not rare.
fn ask_units<'r>(
    by_unit: &BTreeMap<&'r str, Vec<&'r CycleRow>>,
    causes: &BTreeMap<&'r str, Vec<&'r CycleRow>>,
    question: &mut Question,
) {
    let all_causes = Aborts {
        cause: None,
        failed: uses_of(causes.values().flatten().copied()),
    };
    let not_rare = causes.iter().filter(|(_, rows)| rows.len() >= 3);
    let of_each = not_rare.map(|(cause, rows)| Aborts {
        cause: Some(*cause),
        failed: uses_of(rows.iter().copied()),
    });
    let asked: Vec<Aborts<'_>> = std::iter::once(all_causes).chain(of_each).collect();
    let n_bearing = asked.iter().filter(|aborts| aborts.bear_on_unit()).count();
    // What is worth comparing of each unit; of the rest it is enough to know how many there are.
    let mut of_units: BTreeMap<&str, Vec<&Aborts<'_>>> = BTreeMap::new();
    for aborts in &asked {
        for (unit, n) in aborts.failed.n_by_member() {
            if n >= FEWEST_ABORTS {
                of_units.entry(unit).or_default().push(aborts);
            }
        }
    }
    let uses = uses_of(by_unit.values().flatten().copied());
    for (unit, own) in by_unit {
        let of_unit = of_units.get(unit).map_or(&[][..], Vec::as_slice);
        for aborts in of_unit {
            ask_unit(unit, own, &uses, aborts, question);
        }
        let n_own = of_unit.iter().filter(|aborts| aborts.bear_on_unit());
        question.count_certain(
            asked.len().saturating_sub(of_unit.len()),
            unit,
            n_bearing.saturating_sub(n_own.count()),
        );
    }
}

/// A unit against its sisters, for all causes or one.
fn ask_unit<'r>(
    unit: &str,
    own: &[&CycleRow],
    uses: &Uses<'r>,
    aborts: &Aborts<'r>,
    question: &mut Question,
) {
    let Aborts { cause, failed } = aborts;
    let total = uses.total_against_others(failed, unit);
    let likelihood = uses.against_others(failed, unit).likelihood();
    let p = likelihood
        .as_ref()
        .map_or(1.0, |likelihood| likelihood.p_more());
    if aborts.bear_on_unit() {
        question.bear_on(unit, p);
    }
    question.compare(p, || {
        let said = match cause {
            Some(cause) => Phrase::of("abort-unit-cause-said").and("cause", cause_named(cause)),
            None => Phrase::of("abort-unit-said"),
        };
        let said = said
            .and("unit", unit)
            .and("own", Arg::Share(total.exposed_failures, total.exposed))
            .and("others", Arg::Share(total.other_failures, total.others));
        let subject = Subject {
            unit: Some(unit.to_owned()),
            cause: cause.map(str::to_owned),
            ..Subject::default()
        };
        let mut finding = Finding::new(FindingKind::AbortUnit, subject, said)
            .of_matter(format!("aborts of {unit}"));
        finding.effect = likelihood
            .as_ref()
            .map(|likelihood| times_as_often(total, likelihood, Phrase::of("among-sisters")));
        let programs: BTreeSet<&str> = own.iter().map(|row| row.program.as_str()).collect();
        finding
            .else_explains
            .push(Phrase::of("abort-unit-else").and("programs", programs.len()));
        finding.resting_on(evidence_of(own.iter().copied().filter(|row| {
            is_aborted(row) && cause.is_none_or(|cause| row.cause == cause)
        })))
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
        let day = |row: Option<&&CycleRow>| row.and_then(|row| row.day());
        let said = Phrase::of("abort-cluster-said")
            .and("unit", unit)
            .and("n", n_events)
            .and("within", Phrase::of("n-cycles").and("n", n_cycles))
            .and("first", day(rows.first()))
            .and("last", day(rows.last()))
            .and("all", failed.iter().filter(|failed| **failed).count())
            .and("cycles", own.len());
        let subject = Subject {
            unit: Some(unit.to_owned()),
            ..Subject::default()
        };
        let mut finding = Finding::new(FindingKind::AbortCluster, subject, said)
            .of_matter(format!("aborts of {unit}"));
        finding.also.push(say_causes(rows));
        finding.else_explains.push(Phrase::of("abort-cluster-else"));
        finding.resting_on(evidence_of(
            rows.iter().copied().filter(|row| is_aborted(row)),
        ))
    });
}
