//! What is unusual, as rows: each finding with its places, and how many comparisons stand behind all of them.
//!
//! Nothing is computed here but places and counts. A row has the English words of a finding, as the terminal and data give
//! them, and the finding itself for whoever draws it in another language. Read [`write_findings`] first.

use super::lang::Texts;
use super::place::Place;
use super::scope::Scope;
use crate::analyse::Analysis;
use crate::analyse::catalogue::FindingKind;
use crate::analyse::finding::{Attribution, Finding, Subject, Surety};
use crate::diagnose::LineResolver;
use chrono::NaiveDate;
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

/// What a finding is about, by name.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct SubjectRow {
    /// The unit.
    pub unit: Option<String>,
    /// The program.
    pub program: Option<String>,
    /// The stage, in the word of the printouts.
    pub stage: Option<String>,
    /// The lot.
    pub lot: Option<String>,
    /// The cause that was printed, in the word of the printouts.
    pub cause: Option<String>,
    /// What the cases have in common, in few words.
    pub factor: Option<String>,
}

/// How large an effect is.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EffectRow {
    /// What is measured, such as `times as often`.
    pub measure: &'static str,
    /// The estimate.
    pub estimate: f64,
    /// The lower end of the interval.
    pub low: f64,
    /// The upper end of the interval.
    pub high: f64,
    /// The level of the interval, such as 0.9.
    pub level: f64,
    /// The same in a sentence.
    pub said: String,
}

/// When a limit is going to be met.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ForecastRow {
    /// The most likely day.
    pub day: NaiveDate,
    /// The earliest day of the interval.
    pub earliest: NaiveDate,
    /// The latest day of the interval; `None` where the data leave that end open.
    pub latest: Option<NaiveDate>,
    /// The level of the interval.
    pub level: f64,
    /// What the limit is, in words.
    pub limit: String,
}

/// A finding.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FindingRow {
    /// Its kind.
    pub kind: FindingKind,
    /// What it is about, in a few words.
    pub about: &'static str,
    /// What it is about, by name.
    pub subject: SubjectRow,
    /// Its names in one line: unit, program, stage, lot, what the cases have in common.
    pub named: String,
    /// One sentence.
    pub said: String,
    /// The effect.
    pub effect: Option<EffectRow>,
    /// How sure.
    pub surety: Option<Surety>,
    /// When a limit is going to be met.
    pub forecast: Option<ForecastRow>,
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
    /// The finding as it was found: its evidence stands in the same order as the rows above.
    #[serde(skip)]
    pub finding: Finding,
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
    let texts = Texts::plain();
    Findings {
        findings: analysis
            .findings
            .iter()
            .filter(|finding| is_in(finding, scope))
            .map(|finding| row_of(finding, &texts, lines))
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

/// The row of one finding, in the words of these texts.
pub fn row_of(finding: &Finding, texts: &Texts, lines: &dyn LineResolver) -> FindingRow {
    let kind = finding.kind;
    let say_all = |phrases: &[crate::analyse::phrase::Phrase]| -> Vec<String> {
        phrases.iter().map(|phrase| texts.phrase(phrase)).collect()
    };
    FindingRow {
        kind,
        about: kind.about(),
        subject: subject_of(&finding.subject, texts),
        named: name(&finding.subject, texts, &str::to_owned),
        said: texts.phrase(&finding.said),
        effect: finding.effect.as_ref().map(|effect| EffectRow {
            measure: effect.measure,
            estimate: effect.estimate,
            low: effect.low,
            high: effect.high,
            level: effect.level,
            said: texts.phrase(&effect.said),
        }),
        surety: finding.surety,
        forecast: finding.forecast.as_ref().map(|forecast| ForecastRow {
            day: forecast.day,
            earliest: forecast.earliest,
            latest: forecast.latest,
            level: forecast.level,
            limit: texts.phrase(&forecast.limit),
        }),
        attribution: finding.attribution,
        also: say_all(&finding.also),
        else_explains: say_all(&finding.else_explains),
        next: say_all(&finding.next),
        question: kind.question(),
        method: kind.method(),
        cannot_tell: kind.cannot_tell(),
        evidence: finding
            .evidence
            .iter()
            .map(|evidence| EvidenceRow {
                day: evidence.day.map(|day| day.to_string()),
                said: texts.phrase(&evidence.said),
                place: Place::of(&evidence.span, lines),
            })
            .collect(),
        n_evidence: finding.n_evidence,
        finding: finding.clone(),
    }
}

fn subject_of(subject: &Subject, texts: &Texts) -> SubjectRow {
    SubjectRow {
        unit: subject.unit.clone(),
        program: subject.program.clone(),
        stage: subject.stage.clone(),
        lot: subject.lot.clone(),
        cause: subject.cause.clone(),
        factor: subject.factor.as_ref().map(|factor| texts.phrase(factor)),
    }
}

/// The names of a subject in one short line: what tells it from the other findings of its kind, and no more; `say_cause`
/// gives a printed cause its words.
pub fn name(subject: &Subject, texts: &Texts, say_cause: &dyn Fn(&str) -> String) -> String {
    let lot = subject
        .lot
        .as_ref()
        .map(|lot| texts.with("subject-lot", &[("lot", lot.as_str().into())]));
    let parts = match (&subject.unit, &subject.factor) {
        (None, Some(factor)) => vec![Some(texts.phrase(factor)), lot],
        _ => vec![
            subject.unit.clone(),
            subject
                .stage
                .as_ref()
                .map(|stage| texts.name("stage", stage)),
            lot,
            subject.cause.as_deref().map(say_cause),
        ],
    };
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}
