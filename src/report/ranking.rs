//! Units ranked for service, as rows: the combined evidence and what it is combined from.
//!
//! The method is that of [`crate::analyse::rank`]. Read [`write_ranking`] first.

use super::findings::{FindingRow, row_of};
use super::lang::Texts;
use super::scope::Scope;
use crate::analyse::Analysis;
use crate::analyse::catalogue::FindingKind;
use crate::diagnose::LineResolver;
use serde::Serialize;

/// A unit, as it is ranked.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RankRow {
    /// Its place, counted from 1.
    pub rank: usize,
    /// The unit.
    pub unit: String,
    /// How strong the evidence is, in words.
    pub evidence: &'static str,
    /// The combined p.
    pub p: f64,
    /// What it is combined from, surest first.
    pub parts: Vec<PartRow>,
    /// What was found of the unit, worst first.
    pub findings: Vec<FindingRow>,
}

/// What one question says of a unit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PartRow {
    /// The question.
    pub kind: FindingKind,
    /// The same in a few words.
    pub about: &'static str,
    /// Its p for the unit.
    pub p: f64,
    /// Its weight.
    pub weight: f64,
}

/// The units in the order of need for service.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Ranking {
    /// The units.
    pub units: Vec<RankRow>,
    /// The comparisons that were made, of all questions together.
    pub n_comparisons: usize,
}

/// How the ranking is made, in words for whoever reads it.
pub const METHOD: &str = "For each unit and question the smallest p of what bears on the unit, times the number of such \
    comparisons (Bonferroni), is combined over the questions by the harmonic mean p (Wilson, PNAS 116, 2019), weighted by \
    how much the question bears on the unit itself. A BI that grew enters as p 0.001. Aborts for causes that lie with loads \
    (moisture, contact, stopped by hand) don't enter. The order says where to look first, not what is broken; the device's service instructions decide what is done.";

/// Makes the rows.
pub fn write_ranking(analysis: &Analysis, scope: &Scope, lines: &dyn LineResolver) -> Ranking {
    let texts = Texts::plain();
    let units = analysis
        .ranking
        .iter()
        .filter(|rank| scope.has_unit(Some(&rank.unit)))
        .enumerate()
        .map(|(at, rank)| RankRow {
            rank: at.saturating_add(1),
            unit: rank.unit.clone(),
            evidence: strength(rank.p),
            p: rank.p,
            parts: rank
                .parts
                .iter()
                .map(|part| PartRow {
                    kind: part.kind,
                    about: part.kind.about(),
                    p: part.p,
                    weight: part.weight,
                })
                .collect(),
            findings: rank
                .findings
                .iter()
                .filter_map(|at| analysis.findings.get(*at))
                .map(|finding| row_of(finding, &texts, lines))
                .collect(),
        })
        .collect();
    Ranking {
        units,
        n_comparisons: analysis.n_comparisons,
    }
}

/// How strong evidence with this p is, in words. The steps are common practice, no source.
fn strength(p: f64) -> &'static str {
    match p {
        _ if p < 0.001 => "strong",
        _ if p < 0.01 => "clear",
        _ if p < 0.05 => "some",
        _ => "none beyond chance",
    }
}
