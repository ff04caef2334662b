//! Units ranked for service: all evidence that bears on a unit, combined by one published method.
//!
//! For each unit and question, the smallest p of the comparisons that bear on the unit, times their number (Bonferroni),
//! enters the weighted harmonic mean p: Σ w / Σ (w / p) (Wilson, PNAS 116, 2019, 1195-1200). It stays about valid where
//! the questions are not independent, as here, where one worn pump shows in several of them, and questions that say
//! nothing neither help nor hurt. The weights are the catalogue's `bears_on_unit`. A biological indicator that grew is a
//! fact without a p; it enters as 0.001, so that the unit stands before all that chance can do in a thousand tries. Aborts
//! for causes that lie with loads don't enter. Read [`rank_units`] first.

use super::catalogue::FindingKind;
use super::finding::Finding;
use super::question::Answer;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// As what a biological indicator that grew enters.
const P_OF_GROWTH: f64 = 0.001;
/// Smaller probabilities count as this one.
const LEAST: f64 = 1e-300;

/// What one question says of a unit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Part {
    /// The question.
    pub kind: FindingKind,
    /// Its p for the unit, after Bonferroni.
    pub p: f64,
    /// Its weight.
    pub weight: f64,
}

/// A unit in the order of need for service.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct UnitRank {
    /// The unit.
    pub unit: String,
    /// The combined p: the smaller, the surer that something is wrong with the unit.
    pub p: f64,
    /// What it is combined from, surest first.
    pub parts: Vec<Part>,
    /// The findings that bear on it, as indices into the findings of the analysis, worst first.
    pub findings: Vec<usize>,
}

/// Ranks the units, those most in need of service first.
pub fn rank_units<'u>(
    units: impl Iterator<Item = &'u str>,
    answers: &[(FindingKind, Answer)],
    growth: &BTreeMap<&str, usize>,
    findings: &[Finding],
) -> Vec<UnitRank> {
    let names: BTreeSet<&str> = units.collect();
    let mut ranks: Vec<UnitRank> = names
        .into_iter()
        .map(|unit| {
            let mut parts: Vec<Part> = answers
                .iter()
                .filter_map(|(kind, answer)| {
                    let p = *answer.by_unit.get(unit)?;
                    let weight = kind.bears_on_unit();
                    (weight > 0.0).then_some(Part {
                        kind: *kind,
                        p,
                        weight,
                    })
                })
                .collect();
            if growth.contains_key(unit) {
                let kind = FindingKind::BiGrowth;
                parts.push(Part {
                    kind,
                    p: P_OF_GROWTH,
                    weight: kind.bears_on_unit(),
                });
            }
            parts.sort_by(|a, b| a.p.total_cmp(&b.p).then(a.kind.cmp(&b.kind)));
            let own = (0..)
                .zip(findings)
                .filter(|(_, finding)| {
                    finding.subject.unit.as_deref() == Some(unit)
                        && finding.kind.bears_on_unit() > 0.0
                })
                .map(|(at, _)| at)
                .collect();
            UnitRank {
                unit: unit.to_owned(),
                p: combine(&parts),
                parts,
                findings: own,
            }
        })
        .collect();
    ranks.sort_by(|a, b| a.p.total_cmp(&b.p).then_with(|| a.unit.cmp(&b.unit)));
    ranks
}

/// The weighted harmonic mean of the p values; 1 of none.
fn combine(parts: &[Part]) -> f64 {
    let weights: f64 = parts.iter().map(|part| part.weight).sum();
    if weights <= 0.0 {
        return 1.0;
    }
    let sum: f64 = parts
        .iter()
        .map(|part| part.weight / part.p.clamp(LEAST, 1.0))
        .sum();
    (weights / sum).min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn part(p: f64, weight: f64) -> Part {
        Part {
            kind: FindingKind::StageDrift,
            p,
            weight,
        }
    }

    #[test]
    fn combination_is_the_harmonic_mean() {
        // The harmonic mean of 1/2 and 1/4 is 1/3, and weighted 1 to 3 it is 4/(2 + 12) (by hand).
        assert!((combine(&[part(0.5, 1.0), part(0.25, 1.0)]) - 1.0 / 3.0).abs() < 1e-12);
        assert!((combine(&[part(0.5, 1.0), part(0.25, 3.0)]) - 2.0 / 7.0).abs() < 1e-12);
        assert!((combine(&[part(0.03, 0.7)]) - 0.03).abs() < 1e-12);
        assert!((combine(&[]) - 1.0).abs() < 1e-12);
        assert!(combine(&[part(0.0, 1.0), part(1.0, 1.0)]) < 1e-200);
    }
}
