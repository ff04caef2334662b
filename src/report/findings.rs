//! What is unusual, as rows: each finding with its places, and how many comparisons stand behind all of them.
//!
//! Nothing is computed here but places and counts. Read [`write_findings`] first.

use super::place::Place;
use super::scope::Scope;
use crate::analyse::Analysis;
use crate::analyse::catalogue::FindingKind;
use crate::analyse::finding::{Attribution, Effect, Finding, Forecast, Subject, Surety};
use crate::diagnose::LineResolver;
use serde::Serialize;

/// A record that a finding rests on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct EvidenceRow {
    /// Its day.
    pub day: Option<String>,
    /// What is to be seen there.
    pub said: String,
    /// Where it stands.
    pub place: Place,
}

/// A finding.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FindingRow {
    /// Its kind.
    pub kind: FindingKind,
    /// What it is about, in a few words.
    pub about: &'static str,
    /// What it is about, by name.
    pub subject: Subject,
    /// Its names in one line: unit, program, stage, lot, what the cases have in common.
    pub named: String,
    /// One sentence.
    pub said: String,
    /// The effect.
    pub effect: Option<Effect>,
    /// How sure.
    pub surety: Option<Surety>,
    /// When a limit is going to be met.
    pub forecast: Option<Forecast>,
    /// Lot or unit.
    pub attribution: Option<Attribution>,
    /// Further things seen of the same matter.
    pub also: Vec<String>,
    /// What else explains it.
    pub else_explains: Vec<String>,
    /// What to check next.
    pub next: Vec<String>,
    /// The question.
    pub question: &'static str,
    /// The method, with its publication.
    pub method: &'static str,
    /// What it can't tell.
    pub cannot_tell: &'static str,
    /// The records it rests on.
    pub evidence: Vec<EvidenceRow>,
    /// How many records it rests on.
    pub n_evidence: usize,
}

/// What is unusual.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Findings {
    /// The findings, worst harm first.
    pub findings: Vec<FindingRow>,
    /// The comparisons that were made, of all questions together.
    pub n_comparisons: usize,
    /// The questions that were asked.
    pub n_questions: usize,
}

impl Findings {
    /// Whether there is anything unusual.
    pub fn is_empty(&self) -> bool {
        self.findings.is_empty()
    }
}

/// Makes the rows of an analysis. Findings about units, programs or days outside the scope are left out; the comparisons
/// were made over all records, for a unit's own past and its sisters are needed for them.
pub fn write_findings(analysis: &Analysis, scope: &Scope, lines: &dyn LineResolver) -> Findings {
    Findings {
        findings: analysis
            .findings
            .iter()
            .filter(|finding| is_in(finding, scope))
            .map(|finding| row_of(finding, lines))
            .collect(),
        n_comparisons: analysis.n_comparisons,
        n_questions: analysis
            .asked
            .iter()
            .filter(|asked| asked.n_comparisons > 0)
            .count(),
    }
}

fn is_in(finding: &Finding, scope: &Scope) -> bool {
    let unit = finding.subject.unit.as_deref();
    let program = finding.subject.program.as_deref();
    (unit.is_none() || scope.has_unit(unit))
        && (program.is_none() || scope.has_program(program))
        && finding
            .evidence
            .iter()
            .any(|evidence| scope.has_day(evidence.day))
}

/// The row of one finding.
pub fn row_of(finding: &Finding, lines: &dyn LineResolver) -> FindingRow {
    let kind = finding.kind;
    FindingRow {
        kind,
        about: kind.about(),
        subject: finding.subject.clone(),
        named: name(&finding.subject),
        said: finding.said.clone(),
        effect: finding.effect.clone(),
        surety: finding.surety,
        forecast: finding.forecast.clone(),
        attribution: finding.attribution,
        also: finding.also.clone(),
        else_explains: finding.else_explains.clone(),
        next: finding.next.clone(),
        question: kind.question(),
        method: kind.method(),
        cannot_tell: kind.cannot_tell(),
        evidence: finding
            .evidence
            .iter()
            .map(|evidence| EvidenceRow {
                day: evidence.day.map(|day| day.to_string()),
                said: evidence.said.clone(),
                place: Place::of(&evidence.span, lines),
            })
            .collect(),
        n_evidence: finding.n_evidence,
    }
}

/// The names of a subject in one short line: what tells it from the other findings of its kind, and no more.
fn name(subject: &Subject) -> String {
    let lot = subject.lot.as_ref().map(|lot| format!("lot {lot}"));
    let factor = subject.factor.as_ref().map(|factor| {
        factor
            .strip_prefix("loads with ")
            .unwrap_or(factor)
            .to_owned()
    });
    let parts = match (&subject.unit, factor) {
        (None, Some(factor)) => vec![Some(factor), lot],
        _ => vec![
            subject.unit.clone(),
            subject.stage.clone(),
            lot,
            subject.cause.clone(),
        ],
    };
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}
