//! What a rule said of a load, as rows: in sentences, each with the file and line that prove it.

use super::place::Place;
use crate::diagnose::LineResolver;
use crate::judge::decision::{Evidence, RuleHit, RuleMet};
use crate::judge::rulebook::{Effect, RuleId, find_rule};
use serde::Serialize;

/// Something that was seen, and where.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct EvidenceRow {
    /// In words.
    pub words: String,
    /// Where it stands. Empty for what is nowhere in the records.
    pub places: Vec<Place>,
}

impl EvidenceRow {
    /// The row of a piece of evidence.
    pub fn of(evidence: &Evidence, lines: &dyn LineResolver) -> Self {
        let spans = evidence.spans.iter().map(|span| Place::of(span, lines));
        let readings = evidence.readings.iter().map(|reading| Place {
            file: lines.file_name(reading.file).to_owned(),
            line: reading.line,
        });
        let mut places: Vec<Place> = Vec::new();
        for place in spans.chain(readings) {
            if !places.contains(&place) {
                places.push(place);
            }
        }
        EvidenceRow {
            words: evidence.words.to_string(),
            places,
        }
    }
}

/// A rule that found something.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ReasonRow {
    /// The rule.
    pub rule: RuleId,
    /// What it does under the policy.
    pub effect: Effect,
    /// What was seen.
    pub seen: String,
    /// The lines that show it.
    pub evidence: Vec<EvidenceRow>,
    /// What would answer it.
    pub remedy: String,
    /// Where the rule comes from, and how that is known.
    pub sources: Vec<String>,
}

impl ReasonRow {
    /// The row of a rule that found something.
    pub fn of(hit: &RuleHit, lines: &dyn LineResolver) -> Self {
        ReasonRow {
            rule: hit.rule,
            effect: hit.effect,
            seen: hit.seen.to_string(),
            evidence: hit
                .evidence
                .iter()
                .map(|evidence| EvidenceRow::of(evidence, lines))
                .collect(),
            remedy: hit.remedy.to_string(),
            sources: sources_of(hit.rule),
        }
    }

    /// Every place that shows it, in order.
    pub fn places(&self) -> impl Iterator<Item = &Place> {
        self.evidence.iter().flat_map(|evidence| &evidence.places)
    }
}

/// A rule whose question was answered in favour of the load.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct MetRow {
    /// The rule.
    pub rule: RuleId,
    /// The question.
    pub question: &'static str,
    /// What shows it.
    pub evidence: EvidenceRow,
}

impl MetRow {
    /// The row of a rule that was met.
    pub fn of(met: &RuleMet, lines: &dyn LineResolver) -> Self {
        MetRow {
            rule: met.rule,
            question: find_rule(met.rule.0).map_or("", |rule| rule.question),
            evidence: EvidenceRow::of(&met.evidence, lines),
        }
    }
}

/// Where a rule comes from.
pub fn sources_of(rule: RuleId) -> Vec<String> {
    find_rule(rule.0)
        .map(|rule| rule.sources.iter().map(ToString::to_string).collect())
        .unwrap_or_default()
}
