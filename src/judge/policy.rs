//! A policy: which rules count, what they do, with which parameters, and how often biological indicators are due.
//!
//! A policy is a TOML file that begins from a preset; the presets are files of the same kind, embedded. Knows nothing of
//! loads. Read [`Policy`] first, then [`PolicyBook`]; [`read`] turns text into them.

pub mod read;

use super::rulebook::{DefaultValue, Effect, Parameter, RuleId, Value};
use crate::record::cycle::Process;
use chrono::NaiveDate;
use serde::Serialize;
use std::collections::BTreeMap;

/// The index of a policy in [`PolicyBook::policies`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct PolicyIx(pub usize);

/// A policy that comes with loadbook and cites published guidance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Preset {
    /// The CDC's guideline of 2008.
    Cdc2008,
    /// Stricter: a biological indicator in every load.
    EveryLoad,
}

/// How often a biological indicator is due.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum BiFrequency {
    /// Not at all.
    Never,
    /// Once in seven days.
    Weekly,
    /// On every day on which the unit runs.
    Daily,
    /// In every load.
    EveryLoad,
}

/// What a schedule is kept for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum BiPer {
    /// Each unit.
    Unit,
    /// Each program of each unit.
    Program,
}

/// When a biological indicator is due, and when its result counts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BiSchedule {
    /// How often.
    pub frequency: BiFrequency,
    /// For what.
    pub per: BiPer,
    /// The least incubation, in hours, before no growth counts.
    pub min_incubation_hours: f64,
    /// The longest incubation, in hours, after which a reading does not count.
    pub max_incubation_hours: f64,
    /// Programs that have a frequency of their own.
    pub programs: BTreeMap<String, BiFrequency>,
}

/// What a policy makes of a rule.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Setting {
    /// What the rule does. `None` when it is switched off.
    pub effect: Option<Effect>,
    /// Parameters that differ from the rule's own.
    pub parameters: BTreeMap<&'static str, Value>,
}

/// Something in which a policy departs from its preset.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Deviation {
    /// What: `rules.lot-unknown.effect`.
    pub key: String,
    /// As the preset has it.
    pub preset: String,
    /// As the policy has it.
    pub policy: String,
}

/// A policy.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Policy {
    /// Its name.
    pub name: String,
    /// The preset that it begins from.
    pub preset: Preset,
    /// Where it comes from, for people: the guidance that a preset cites, or what the file says.
    pub basis: Vec<String>,
    /// The first day on which it is in force.
    pub from: Option<NaiveDate>,
    /// The first day on which it is no longer in force.
    pub to: Option<NaiveDate>,
    /// What it makes of each rule; every rule of the rule book is here.
    pub rules: BTreeMap<RuleId, Setting>,
    /// When biological indicators are due, by process.
    pub bi: BTreeMap<Process, BiSchedule>,
    /// In what it departs from its preset.
    pub deviations: Vec<Deviation>,
}

impl Preset {
    /// Every preset.
    pub const ALL: &'static [Preset] = &[Preset::Cdc2008, Preset::EveryLoad];

    /// Its name in policies and arguments.
    pub fn word(self) -> &'static str {
        match self {
            Preset::Cdc2008 => "cdc-2008",
            Preset::EveryLoad => "every-load",
        }
    }

    /// The preset with this name.
    pub fn from_word(word: &str) -> Option<Self> {
        Preset::ALL
            .iter()
            .copied()
            .find(|preset| preset.word() == word)
    }

    /// Its file.
    pub fn text(self) -> &'static str {
        match self {
            Preset::Cdc2008 => include_str!("presets/cdc-2008.toml"),
            Preset::EveryLoad => include_str!("presets/every-load.toml"),
        }
    }
}

impl BiFrequency {
    /// Every frequency, the rarest first.
    pub const ALL: &'static [BiFrequency] = &[
        BiFrequency::Never,
        BiFrequency::Weekly,
        BiFrequency::Daily,
        BiFrequency::EveryLoad,
    ];

    /// The word in policies.
    pub fn word(self) -> &'static str {
        match self {
            BiFrequency::Never => "never",
            BiFrequency::Weekly => "weekly",
            BiFrequency::Daily => "daily",
            BiFrequency::EveryLoad => "every-load",
        }
    }
}

impl BiPer {
    /// Both.
    pub const ALL: &'static [BiPer] = &[BiPer::Unit, BiPer::Program];

    /// The word in policies.
    pub fn word(self) -> &'static str {
        match self {
            BiPer::Unit => "unit",
            BiPer::Program => "program",
        }
    }
}

impl Policy {
    /// What it makes of a rule. `None` when the rule is switched off.
    pub fn effect(&self, rule: RuleId) -> Option<Effect> {
        self.rules.get(&rule)?.effect
    }

    /// The value that it gives a rule's parameter itself. `None` when the parameter keeps its own.
    pub fn own_value(&self, rule: RuleId, parameter: &Parameter) -> Option<&Value> {
        self.rules.get(&rule)?.parameters.get(parameter.name)
    }

    /// The value that a rule's parameter has under it.
    pub fn value(&self, rule: RuleId, parameter: &Parameter) -> Value {
        let own = self.own_value(rule, parameter);
        own.cloned().unwrap_or_else(|| parameter.default.value())
    }

    /// The words that a rule's parameter has under it; none for a number.
    pub fn words(&self, rule: RuleId, parameter: &Parameter) -> Vec<&str> {
        match (self.own_value(rule, parameter), parameter.default) {
            (Some(Value::Words(words)), _) => words.iter().map(String::as_str).collect(),
            (_, DefaultValue::Words { value, .. }) => value.to_vec(),
            _ => Vec::new(),
        }
    }
}

/// The policies of a department, one after the other in time.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PolicyBook {
    /// In order of time, without gap or overlap.
    pub policies: Vec<Policy>,
}
