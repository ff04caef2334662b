//! The rule book: what a rule is, and the one table of all of them.
//!
//! A rule asks one question of one load. It knows nothing of other rules, nor of what its answer leads to. Read
//! [`Rule`] first, then [`RULES`].

use super::case::Case;
use super::decision::Evidence;
use serde::{Serialize, Serializer};

/// The id of a rule: what was seen, in words that read well after "held: ".
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RuleId(pub &'static str);

impl std::fmt::Display for RuleId {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.0)
    }
}

impl Serialize for RuleId {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.0)
    }
}

/// What a rule does with a load when it finds something, in order of seriousness.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Effect {
    /// It is said, and changes nothing.
    Note,
    /// The load waits for a result that is on its way.
    Quarantine,
    /// The load is held until a person finds the record or settles the contradiction.
    Hold,
    /// The load is rejected.
    Reject,
}

impl Effect {
    /// Every effect, the least serious first.
    pub const ALL: &'static [Effect] = &[
        Effect::Note,
        Effect::Quarantine,
        Effect::Hold,
        Effect::Reject,
    ];

    /// The word in policies and reports.
    pub fn word(self) -> &'static str {
        match self {
            Effect::Note => "note",
            Effect::Quarantine => "quarantine",
            Effect::Hold => "hold",
            Effect::Reject => "reject",
        }
    }

    /// The effect with this word.
    pub fn from_word(word: &str) -> Option<Self> {
        Effect::ALL
            .iter()
            .copied()
            .find(|effect| effect.word() == word)
    }
}

impl std::fmt::Display for Effect {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.word())
    }
}

/// How a value of a source is known to this project.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Known {
    /// Its wording was read.
    Seen,
    /// It was calculated, reproducibly.
    Calculated,
    /// From memory: check the source before quoting it.
    Memory,
}

impl Known {
    /// In plain words.
    pub fn said(self) -> &'static str {
        match self {
            Known::Seen => "seen",
            Known::Calculated => "calculated",
            Known::Memory => "from memory",
        }
    }
}

/// Where a rule comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Source {
    /// A publication.
    Published {
        /// Its title.
        title: &'static str,
        /// The year.
        year: u16,
        /// The section, clause or table.
        section: &'static str,
        /// How it is known.
        known: Known,
    },
    /// Common practice, no source.
    CommonPractice,
}

impl std::fmt::Display for Source {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Source::Published {
                title,
                year,
                section,
                known,
            } => write!(f, "{title} ({year}), {section} [{}]", known.said()),
            Source::CommonPractice => f.write_str("common practice, no source"),
        }
    }
}

/// A parameter's value.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Value {
    /// A number, in the parameter's unit.
    Number(f64),
    /// Words.
    Words(Vec<String>),
}

/// The value that a parameter has where no policy says otherwise.
#[derive(Debug, Clone, Copy)]
pub enum Default {
    /// A number, and the least and the greatest that make sense.
    Number {
        /// The value.
        value: f64,
        /// The least that a policy may give.
        least: f64,
        /// The greatest that a policy may give.
        greatest: f64,
    },
    /// Words.
    Words {
        /// The words.
        value: &'static [&'static str],
        /// Says what is wrong with a word that a policy gives, if anything.
        check: fn(&str) -> Result<(), String>,
    },
}

impl Default {
    /// The value.
    pub fn value(&self) -> Value {
        match self {
            Default::Number { value, .. } => Value::Number(*value),
            Default::Words { value, .. } => {
                Value::Words(value.iter().map(|word| (*word).to_owned()).collect())
            }
        }
    }
}

/// A number or list that a policy may set.
#[derive(Debug, Clone, Copy)]
pub struct Parameter {
    /// Its name in policies.
    pub name: &'static str,
    /// What it is.
    pub meaning: &'static str,
    /// The unit of a number; empty where there is none.
    pub unit: &'static str,
    /// Its value where no policy says otherwise.
    pub default: Default,
    /// Where that value comes from.
    pub source: Source,
}

/// What a rule saw that speaks against a load, or that is lacking.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// What was seen, as a sentence.
    pub seen: String,
    /// The lines that show it.
    pub evidence: Vec<Evidence>,
    /// What would answer it, as a sentence.
    pub remedy: String,
}

/// The answer of a rule.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    /// The question does not arise for this load.
    NotAsked,
    /// Answered in favour of the load.
    Met(Evidence),
    /// Something was found.
    Found(Vec<Finding>),
}

/// One rule.
pub struct Rule {
    /// Its id.
    pub id: RuleId,
    /// The question that it asks.
    pub question: &'static str,
    /// Where it comes from.
    pub sources: &'static [Source],
    /// What it does when it finds something, unless the policy says otherwise.
    pub effect: Effect,
    /// The least that a policy may make of it. `None` when a policy may switch it off.
    pub floor: Option<Effect>,
    /// What a policy may set.
    pub parameters: &'static [Parameter],
    /// Answers the question for a load.
    pub evaluate: fn(&Case<'_>) -> Verdict,
}

impl std::fmt::Debug for Rule {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_tuple("Rule").field(&self.id).finish()
    }
}

/// Every rule, in the order in which a person would ask: printout, stages, process, log, indicators, lots, people.
pub static RULES: &[&Rule] = &[];

/// The rule with this id.
pub fn find_rule(id: &str) -> Option<&'static Rule> {
    RULES.iter().copied().find(|rule| rule.id.0 == id)
}
