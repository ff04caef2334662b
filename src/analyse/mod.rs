//! History → findings: what is unusual, how sure, on which evidence, what else explains it, what to check next.
//!
//! Each question of the [`catalogue`] makes all its comparisons and counts them; what stands after Benjamini and
//! Hochberg's correction within the question becomes a finding, so that on an average at most a tenth of a question's
//! findings are false. How often that holds on simulated departments stands in `benches/CALIBRATION.md`. Findings of one
//! matter (a stage of a unit, a lot) are put together, the surest leading, and sorted by harm. Knows no screens and no
//! policy. Read [`find_findings`] first, then [`finding::Finding`].

mod aborts;
pub mod across_sites;
mod alongside;
pub mod catalogue;
mod cluster;
pub mod contrast;
mod curves;
mod durations;
mod factor;
pub mod finding;
pub mod frame;
mod indicators;
mod leak;
mod lots;
pub mod pareto;
pub mod phrase;
pub mod question;
pub mod rank;
mod records;
mod rejections;
mod series;
mod strata;
mod words;

use crate::measure::count::Counting;
use crate::parallel::Threads;
use crate::reconcile::history::History;
use catalogue::FindingKind;
use finding::Finding;
use pareto::{ParetoRow, count_causes};
use polars::prelude::PolarsResult;
use question::Answer;
use rank::{UnitRank, rank_units};
use std::collections::BTreeMap;

/// The tables could not be made. Records can't cause it; it speaks of a fault of loadbook.
#[derive(Debug, thiserror::Error)]
#[error("the tables of the analysis could not be made: {0}")]
pub struct TableFault(#[from] polars::error::PolarsError);

/// How many comparisons a question made and how many findings came of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Asked {
    /// The question.
    pub kind: FindingKind,
    /// Its comparisons.
    pub n_comparisons: usize,
    /// Its findings, before those of one matter are put together.
    pub n_findings: usize,
}

/// What was found.
#[derive(Debug, Clone, Default, PartialEq, serde::Serialize)]
pub struct Analysis {
    /// The findings, worst harm first.
    pub findings: Vec<Finding>,
    /// Every question with the number of its comparisons.
    pub asked: Vec<Asked>,
    /// The comparisons of all questions together.
    pub n_comparisons: usize,
    /// The units, those most in need of service first.
    pub ranking: Vec<UnitRank>,
    /// Causes of aborts and rejections, the commonest first.
    pub causes: Vec<ParetoRow>,
}

/// The answers as they come.
#[derive(Debug, Default)]
struct Asking {
    answers: Vec<(FindingKind, Answer)>,
}

impl Asking {
    fn take(&mut self, kind: FindingKind, answer: Answer) {
        self.answers.push((kind, answer));
    }
}

fn ask(question: impl Fn(&mut Asking) -> PolarsResult<()>) -> Result<Asking, TableFault> {
    let mut asking = Asking::default();
    question(&mut asking)?;
    Ok(asking)
}

/// Finds what is unusual in a history.
///
/// # Errors
/// None that records can cause.
pub fn find_findings(history: &History) -> Result<Analysis, TableFault> {
    find_findings_on(history, Threads::available())
}

/// Finds as [`find_findings`] does, on so many threads.
///
/// # Errors
/// As there.
pub fn find_findings_on(history: &History, threads: Threads) -> Result<Analysis, TableFault> {
    let frame = frame::make_frame(history)?;
    let mut asking = Asking::default();
    for asked in threads.run_in_order(&[
        &|| {
            ask(|asking| {
                indicators::find_indicator_facts(history, &frame, asking);
                Ok(())
            })
        },
        &|| {
            ask(|asking| {
                durations::find_short_stages(&frame, asking);
                Ok(())
            })
        },
        &|| ask(|asking| lots::find_lots(&frame, asking)),
        &|| ask(|asking| aborts::find_aborts(&frame, asking)),
        &|| {
            ask(|asking| {
                leak::find_leaks(history, &frame, asking);
                Ok(())
            })
        },
        &|| ask(|asking| durations::find_drifts(history, &frame, threads, asking)),
        &|| {
            ask(|asking| {
                curves::find_curves(history, &frame, threads, asking);
                Ok(())
            })
        },
        &|| ask(|asking| rejections::find_rejections(&frame, asking)),
        &|| {
            ask(|asking| {
                records::find_record_trouble(history, &frame, asking);
                Ok(())
            })
        },
    ]) {
        asking.answers.append(&mut asked?.answers);
    }

    let asked: Vec<Asked> = asking
        .answers
        .iter()
        .map(|(kind, answer)| Asked {
            kind: *kind,
            n_comparisons: answer.n_comparisons,
            n_findings: answer.findings.len(),
        })
        .collect();
    let growth = indicators::count_growth(&frame);
    let units = || {
        frame
            .cycles
            .iter()
            .map(|row| row.unit.as_str())
            .filter(|unit| *unit != frame::UNKNOWN)
    };
    let found = asking
        .answers
        .iter()
        .flat_map(|(_, answer)| answer.findings.iter().cloned());
    let findings = put_together(found.collect());
    let ranking = rank_units(units(), &asking.answers, &growth, &findings);
    Ok(Analysis {
        n_comparisons: asked.iter().map(|asked| asked.n_comparisons).sum(),
        asked,
        ranking,
        causes: count_causes(&frame)?,
        findings,
    })
}

/// Puts findings of one matter together and sorts by harm, then surety, then words.
fn put_together(found: Vec<Finding>) -> Vec<Finding> {
    let mut matters: BTreeMap<String, Vec<Finding>> = BTreeMap::new();
    for finding in found {
        matters
            .entry(finding.matter.clone())
            .or_default()
            .push(finding);
    }
    let p_of = |finding: &Finding| finding.surety.map_or(0.0, |surety| surety.p);
    let mut findings: Vec<Finding> = matters
        .into_values()
        .filter_map(|mut of_matter| {
            // A stage's length leads over its readings: it has a limit that can be met.
            of_matter.sort_by(|a, b| {
                let follows = |finding: &Finding| finding.kind == FindingKind::CurveDrift;
                follows(a)
                    .cmp(&follows(b))
                    .then_with(|| p_of(a).total_cmp(&p_of(b)))
                    .then_with(|| a.kind.cmp(&b.kind))
                    .then_with(|| a.said.cmp(&b.said))
            });
            let mut of_matter = of_matter.into_iter();
            let mut leads = of_matter.next()?;
            for other in of_matter {
                leads.kind = leads.kind.min(other.kind);
                leads.also.push(other.said);
                if other.surety.is_none() {
                    leads.n_evidence.add_many(other.n_evidence);
                    leads.evidence.extend(other.evidence);
                }
            }
            leads.evidence.sort();
            leads.evidence.dedup();
            Some(leads)
        })
        .collect();
    findings.sort_by(|a, b| {
        a.kind
            .cmp(&b.kind)
            .then_with(|| p_of(a).total_cmp(&p_of(b)))
            .then_with(|| a.said.cmp(&b.said))
    });
    findings
}
