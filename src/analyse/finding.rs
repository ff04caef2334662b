//! A finding: something unusual, how sure, on which evidence, what else explains it and what to check next.
//!
//! Plain data; it knows nothing of screens and of how it was found. Read [`Finding`] first.

use super::catalogue::FindingKind;
use super::phrase::Phrase;
use crate::diagnose::Span;
use chrono::NaiveDate;
use serde::Serialize;

/// What a finding is about. What does not apply is `None`.
#[derive(Debug, Clone, Default, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Subject {
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
    /// What the cases have in common, in few words: a set, a shift, a person, a packaging.
    pub factor: Option<Phrase>,
}

/// How large an effect is, with what chance leaves open.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Effect {
    /// What is measured, such as `times as often`.
    pub measure: &'static str,
    /// The estimate.
    pub estimate: f64,
    /// The lower end of the interval; it may be minus infinity where the data leave that end open.
    pub low: f64,
    /// The upper end of the interval; it may be infinity where the data leave that end open.
    pub high: f64,
    /// The level of the interval, such as 0.9.
    pub level: f64,
    /// The same in a sentence, with the counts it comes from.
    pub said: Phrase,
}

/// How sure a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Surety {
    /// The probability of at least this much by chance alone, for this one comparison.
    pub p: f64,
    /// The same after Benjamini and Hochberg's correction for all comparisons of its question.
    pub p_adjusted: f64,
    /// How many comparisons its question made.
    pub n_comparisons: usize,
    /// The share of false findings that is accepted among those of its question.
    pub accepted: f64,
}

/// One record that a finding rests on.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Evidence {
    /// Its day, if known.
    pub day: Option<NaiveDate>,
    /// What is to be seen there.
    pub said: Phrase,
    /// Where it stands.
    pub span: Span,
}

/// When something is going to meet its limit if it goes on as it did.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Forecast {
    /// The most likely day.
    pub day: NaiveDate,
    /// The earliest day of the interval.
    pub earliest: NaiveDate,
    /// The latest day of the interval; `None` where the data leave that end open.
    pub latest: Option<NaiveDate>,
    /// The level of the interval.
    pub level: f64,
    /// What the limit is.
    pub limit: Phrase,
    /// The program that it is made for, where there are several.
    pub program: Option<String>,
}

/// How a number changed from cycle to cycle, as it is drawn over time.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Course {
    /// By the same share each day: the logarithm of the factor.
    Multiplies {
        /// The first day of it.
        from: NaiveDate,
        /// The last day that was seen.
        to: NaiveDate,
        /// The logarithm of the factor of a day.
        per_day: f64,
    },
    /// By the same amount each day, in the unit of the newest printout.
    Adds {
        /// The first day of it.
        from: NaiveDate,
        /// The last day that was seen.
        to: NaiveDate,
        /// The amount of a day.
        per_day: f64,
    },
    /// At once.
    Jumps {
        /// The first day after it.
        on: NaiveDate,
    },
}

/// Whether a finding bears on a lot, a unit, or can't be told apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Attribution {
    /// The failures follow the lot from unit to unit.
    Lot,
    /// The failures follow the unit from lot to lot.
    Unit,
    /// The records can't tell.
    Undecided,
}

/// Something unusual.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Finding {
    /// Its kind: question, method and what to check next stand in the catalogue.
    pub kind: FindingKind,
    /// What it is about.
    pub subject: Subject,
    /// The matter: of several findings of one matter the surest leads and the others stand in its `also`.
    pub matter: String,
    /// One sentence or two.
    pub said: Phrase,
    /// The effect; `None` for a fact that needs no statistics, such as a biological indicator that grew.
    pub effect: Option<Effect>,
    /// How sure; `None` for a fact.
    pub surety: Option<Surety>,
    /// When a limit is going to be met.
    pub forecast: Option<Forecast>,
    /// How the number changed, for a drawing of it.
    pub course: Option<Course>,
    /// Lot or unit, where that is the question.
    pub attribution: Option<Attribution>,
    /// Further things that were seen of the same matter.
    pub also: Vec<Phrase>,
    /// What else explains it.
    pub else_explains: Vec<Phrase>,
    /// What to check next.
    pub next: Vec<Phrase>,
    /// The records it rests on, in order of time; at most [`Finding::MOST_EVIDENCE`], see [`Finding::n_evidence`].
    pub evidence: Vec<Evidence>,
    /// How many records it rests on.
    pub n_evidence: usize,
}

impl Finding {
    /// The most records that a finding lists: more don't help a reader, and `n_evidence` says how many there are.
    pub const MOST_EVIDENCE: usize = 40;

    /// A finding with nothing but a sentence.
    pub fn new(kind: FindingKind, subject: Subject, said: Phrase) -> Self {
        Finding {
            kind,
            matter: format!("{kind:?} {subject:?}"),
            subject,
            said,
            effect: None,
            surety: None,
            forecast: None,
            course: None,
            attribution: None,
            also: Vec::new(),
            else_explains: Vec::new(),
            next: (1..=kind.next().len())
                .map(|n| Phrase::of(format!("finding-{}-next-{n}", kind.id())))
                .collect(),
            evidence: Vec::new(),
            n_evidence: 0,
        }
    }

    /// The same, as a part of this matter.
    #[must_use]
    pub fn of_matter(mut self, matter: impl Into<String>) -> Self {
        self.matter = matter.into();
        self
    }

    /// The same, resting on these records.
    #[must_use]
    pub fn resting_on(mut self, mut evidence: Vec<Evidence>) -> Self {
        evidence.sort();
        self.n_evidence = evidence.len();
        // Of a long list the newest are of most use.
        let n_left_out = evidence.len().saturating_sub(Self::MOST_EVIDENCE);
        self.evidence = evidence.split_off(n_left_out);
        self
    }
}
