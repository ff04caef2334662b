//! Load rejections: causes that come together in time or on a unit, what they gather on, and sets that fail again.
//!
//! All cycles with a load count, for a rejection comes before any of them begins. Read [`find_rejections`] first.

use super::Asking;
use super::aborts::{by_unit, cause_named, evidence_of, lies_with_the_load};
use super::catalogue::FindingKind;
use super::cluster::{Cluster, find_cluster};
use super::factor::{Asked, Factored, ask_factors};
use super::finding::{Finding, Subject};
use super::frame::{CycleRow, Ending, Frame, rows_by};
use super::phrase::{Arg, Joining, Phrase, list};
use super::question::Question;
use super::strata::{Counts, Exposure, Likelihood, Strata};
use super::words::times_as_often;
use crate::measure::count::Counting;
use crate::record::cycle::Purpose;
use polars::prelude::PolarsResult;
use std::collections::BTreeMap;

/// The fewest rejections of a cause that are worth asking about.
const FEWEST_REJECTIONS: usize = 3;
/// Within how many days a set that fails again counts as a repeat.
const REPEAT_DAYS: f64 = 7.0;

/// Asks all questions about rejections.
///
/// # Errors
/// Those of the table library.
pub fn find_rejections(frame: &Frame, asking: &mut Asking) -> PolarsResult<()> {
    let mut clusters = Question::of(FindingKind::RejectionCluster);
    let mut factors = Question::of(FindingKind::RejectionFactor);
    let mut repeats = Question::of(FindingKind::SetRepeats);
    for (key, rows) in rows_by(&frame.cycle_table, &["process", "purpose"])? {
        if key.get(1).map(String::as_str) != Some(Purpose::Load.word()) {
            continue;
        }
        let mut rows: Vec<&CycleRow> = rows
            .iter()
            .filter_map(|row| frame.cycles.get(*row))
            .filter(|row| row.ending != Ending::Unknown)
            .collect();
        rows.sort_by_key(|row| (row.began, row.cycle));
        let mut causes: BTreeMap<&str, u32> = BTreeMap::new();
        for row in rows.iter().filter(|row| row.ending == Ending::Rejected) {
            causes.entry(row.cause.as_str()).or_default().add_one();
        }
        let by_unit = by_unit(&rows);
        let factored = Factored::of(&rows);
        for (cause, n) in &causes {
            if (*n as usize) < FEWEST_REJECTIONS {
                continue;
            }
            ask_gathering(&by_unit, cause, (*n, rows.len() as u32), &mut clusters);
            let failed = |row: &CycleRow| is_for(row, cause);
            let asked = Asked {
                kind: FindingKind::RejectionFactor,
                happened: "rejection-factor",
            };
            ask_factors(&factored, &failed, cause, asked, &mut factors);
        }
        ask_repeats(&rows, &mut repeats);
    }
    asking.take(FindingKind::RejectionCluster, clusters.answer());
    asking.take(FindingKind::RejectionFactor, factors.answer());
    asking.take(FindingKind::SetRepeats, repeats.answer());
    Ok(())
}

/// Whether a cause comes together in time in a unit, or more often in it than in its sisters: one comparison for each
/// unit, the smaller p of the two doubled, for they speak of the same rejections.
fn ask_gathering(
    by_unit: &BTreeMap<&str, Vec<&CycleRow>>,
    cause: &str,
    n_all: (u32, u32),
    question: &mut Question,
) {
    for (unit, own) in by_unit {
        let gathering = Gathering::of(own, cause, n_all);
        let p_in_time = gathering.cluster.map_or(1.0, |cluster| cluster.p);
        let p_in_unit = match &gathering.likelihood {
            Some(likelihood) if gathering.total.exposed_failures as usize >= FEWEST_REJECTIONS => {
                likelihood.p_more()
            }
            _ => 1.0,
        };
        let p = (2.0 * p_in_time.min(p_in_unit)).min(1.0);
        if !lies_with_the_load(cause) {
            question.bear_on(unit, p);
        }
        question.compare(p, || gathering.say(unit, cause, p_in_time <= p_in_unit));
    }
}

/// The rejections of one unit for one cause.
struct Gathering<'r> {
    own: &'r [&'r CycleRow],
    cluster: Option<Cluster>,
    total: Counts,
    likelihood: Option<Likelihood>,
}

impl<'r> Gathering<'r> {
    /// Of a unit's cycles, beside the rejections for the cause and the cycles of all units.
    fn of(own: &'r [&'r CycleRow], cause: &str, n_all: (u32, u32)) -> Self {
        let events: Vec<bool> = own.iter().map(|row| is_for(row, cause)).collect();
        let n_failed = events.iter().filter(|failed| **failed).count() as u32;
        let total = Counts::among((n_failed, own.len() as u32), n_all);
        Gathering {
            own,
            cluster: find_cluster(&events),
            total,
            // Rejections come before a program matters.
            likelihood: Strata::from_iter([((), total)]).likelihood(),
        }
    }

    fn say(&self, unit: &str, cause: &str, in_time: bool) -> Finding {
        let total = self.total;
        let against_sisters = Phrase::of("rejection-unit-said")
            .and("unit", unit)
            .and("cause", cause_named(cause))
            .and("own", Arg::Share(total.exposed_failures, total.exposed))
            .and("others", Arg::Share(total.other_failures, total.others));
        let window = self
            .cluster
            .filter(|_| in_time)
            .and_then(|cluster| Some((cluster, self.own.get(cluster.first..=cluster.last)?)));
        let said = match window {
            Some((cluster, window)) => {
                let day = |row: Option<&&CycleRow>| row.and_then(|row| row.day());
                Phrase::of("rejection-cluster-said")
                    .and("unit", unit)
                    .and("cause", cause_named(cause))
                    .and("n", cluster.n_events)
                    .and("of", cluster.n_cycles)
                    .and("first", day(window.first()))
                    .and("last", day(window.last()))
                    .and(
                        "otherwise",
                        (total.exposed_failures as usize).saturating_sub(cluster.n_events),
                    )
                    .and("cycles", self.own.len().saturating_sub(cluster.n_cycles))
            }
            None => against_sisters.clone(),
        };
        let subject = Subject {
            unit: Some(unit.to_owned()),
            cause: Some(cause.to_owned()),
            ..Subject::default()
        };
        let mut finding = Finding::new(FindingKind::RejectionCluster, subject, said);
        if window.is_some() && total.others > 0 {
            finding.also.push(against_sisters);
        }
        if total.others > 0 {
            finding.effect = self
                .likelihood
                .as_ref()
                .map(|likelihood| times_as_often(total, likelihood, Phrase::of("among-sisters")));
        }
        finding
            .else_explains
            .push(Phrase::of("rejection-cluster-else"));
        let rows = window.map_or(self.own, |(_, window)| window);
        finding.resting_on(evidence_of(
            rows.iter().copied().filter(|row| is_for(row, cause)),
        ))
    }
}

fn is_for(row: &CycleRow, cause: &str) -> bool {
    row.ending == Ending::Rejected && row.cause == cause
}

/// Whether sets fail again within days of a failure more often than sets fail otherwise.
fn ask_repeats(rows: &[&CycleRow], question: &mut Question) {
    let fails = |row: &CycleRow| matches!(row.ending, Ending::Aborted | Ending::Rejected);
    let mut last_failure: BTreeMap<&str, f64> = BTreeMap::new();
    let mut strata = Strata::new();
    let mut again: Vec<(&CycleRow, &str)> = Vec::new();
    for row in rows {
        let Some(at) = row.days() else { continue };
        for set in &row.sets {
            let soon = last_failure
                .get(set.as_str())
                .is_some_and(|before| at - before <= REPEAT_DAYS);
            strata.count(row.unit.as_str(), Exposure::of(soon), fails(row));
            if soon && fails(row) {
                again.push((row, set));
            }
        }
        for set in row.sets.iter().filter(|_| fails(row)) {
            last_failure.insert(set, at);
        }
    }
    let total = strata.total();
    let likelihood = strata.likelihood();
    if total.exposed == 0 {
        return;
    }
    let p = match &likelihood {
        Some(likelihood) if again.len() >= FEWEST_REJECTIONS => likelihood.p_more(),
        _ => 1.0,
    };
    question.compare(p, || {
        let mut by_set: BTreeMap<&str, usize> = BTreeMap::new();
        for (_, set) in &again {
            by_set.entry(set).or_default().add_one();
        }
        let mut sets: Vec<(usize, &str)> = by_set.into_iter().map(|(set, n)| (n, set)).collect();
        sets.sort_by(|a, b| b.0.cmp(&a.0).then_with(|| a.1.cmp(b.1)));
        let said = Phrase::of("set-repeats-said")
            .and("own", Arg::Share(total.exposed_failures, total.exposed))
            .and("others", Arg::Share(total.other_failures, total.others));
        let mut finding = Finding::new(FindingKind::SetRepeats, Subject::default(), said)
            .of_matter("set repeats");
        finding.effect = likelihood
            .as_ref()
            .map(|likelihood| times_as_often(total, likelihood, Phrase::of("among-otherwise")));
        let most = sets.iter().take(3).map(|(n, set)| {
            let counted = Phrase::of("phrase-counted").and("name", *set);
            counted.and("n", *n).into()
        });
        finding
            .also
            .push(Phrase::of("set-repeats-most").and("sets", list(Joining::Comma, most)));
        finding.else_explains.push(Phrase::of("set-repeats-else"));
        finding.resting_on(evidence_of(again.iter().map(|(row, _)| *row)))
    });
}
