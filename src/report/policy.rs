//! The policies that loads are judged by, as a value: in short for every report, and in full with each rule.
//!
//! Read [`PolicyNote::of_book`] for the former and [`write_policy_report`] for the latter.

use crate::judge::policy::{Deviation, Policy, PolicyBook, PolicyIx};
use crate::judge::rulebook::{Effect, RULES, RuleId};
use serde::Serialize;
use std::collections::BTreeSet;

/// A policy in short: its name, when it holds, and in what it departs from its preset.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PolicyNote {
    /// Its name.
    pub name: String,
    /// The preset that it begins from.
    pub preset: &'static str,
    /// The first day on which it is in force.
    pub from: Option<String>,
    /// The first day on which it is no longer in force.
    pub to: Option<String>,
    /// In what it departs from its preset.
    pub deviations: Vec<Deviation>,
}

impl PolicyNote {
    /// The note of a policy.
    pub fn of(policy: &Policy) -> Self {
        PolicyNote {
            name: policy.name.clone(),
            preset: policy.preset.word(),
            from: policy.from.map(|day| day.to_string()),
            to: policy.to.map(|day| day.to_string()),
            deviations: policy.deviations.clone(),
        }
    }

    /// The notes of the policies that were used, in order of time; all of them when none was.
    pub fn of_book(book: &PolicyBook, used: &BTreeSet<PolicyIx>) -> Vec<Self> {
        book.policies
            .iter()
            .enumerate()
            .filter(|(at, _)| used.is_empty() || used.contains(&PolicyIx(*at)))
            .map(|(_, policy)| PolicyNote::of(policy))
            .collect()
    }
}

/// Policies in full.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PolicyReport {
    /// The version of these fields.
    pub format: u32,
    /// The policies, in order of time.
    pub policies: Vec<PolicyRow>,
}

/// A policy in full.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PolicyRow {
    /// The same in short.
    #[serde(flatten)]
    pub note: PolicyNote,
    /// Where it comes from.
    pub basis: Vec<String>,
    /// When biological indicators are due, by process.
    pub schedules: Vec<ScheduleRow>,
    /// Its rules, in the order of the rule book.
    pub rules: Vec<RuleRow>,
}

/// When biological indicators are due in a process.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ScheduleRow {
    /// The process.
    pub process: &'static str,
    /// How often.
    pub frequency: &'static str,
    /// For what.
    pub per: &'static str,
    /// The least incubation, in hours.
    pub min_incubation_hours: f64,
    /// The longest incubation, in hours.
    pub max_incubation_hours: f64,
    /// Programs with a frequency of their own.
    pub programs: Vec<(String, &'static str)>,
}

/// A rule as a policy has it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RuleRow {
    /// Its id.
    pub rule: RuleId,
    /// The question that it asks.
    pub question: &'static str,
    /// What it does when it finds something. `None` when it is switched off.
    pub effect: Option<Effect>,
    /// What it does by itself.
    pub own_effect: Effect,
    /// The least that a policy may make of it; `None` when it may be switched off.
    pub floor: Option<Effect>,
    /// Its parameters.
    pub parameters: Vec<ParameterRow>,
    /// Where it comes from, and how that is known.
    pub sources: Vec<String>,
}

/// A parameter as a policy has it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ParameterRow {
    /// Its name.
    pub name: &'static str,
    /// What it is.
    pub meaning: &'static str,
    /// Its value, with its unit.
    pub value: String,
    /// The value that it has by itself.
    pub own_value: String,
    /// Where that comes from, and how it is known.
    pub source: String,
}

/// Makes the report on policies.
pub fn write_policy_report(book: &PolicyBook) -> PolicyReport {
    PolicyReport {
        format: 1,
        policies: book.policies.iter().map(policy_row).collect(),
    }
}

fn policy_row(policy: &Policy) -> PolicyRow {
    PolicyRow {
        note: PolicyNote::of(policy),
        basis: policy.basis.clone(),
        schedules: policy
            .bi
            .iter()
            .map(|(process, schedule)| ScheduleRow {
                process: process.word(),
                frequency: schedule.frequency.word(),
                per: schedule.per.word(),
                min_incubation_hours: schedule.min_incubation_hours,
                max_incubation_hours: schedule.max_incubation_hours,
                programs: schedule
                    .programs
                    .iter()
                    .map(|(program, frequency)| (program.clone(), frequency.word()))
                    .collect(),
            })
            .collect(),
        rules: RULES
            .iter()
            .map(|rule| RuleRow {
                rule: rule.id,
                question: rule.question,
                effect: policy.effect(rule.id),
                own_effect: rule.effect,
                floor: rule.floor,
                parameters: rule
                    .parameters
                    .iter()
                    .map(|parameter| {
                        let with_unit = |value: String| {
                            if parameter.unit.is_empty() {
                                value
                            } else {
                                format!("{value} {}", parameter.unit)
                            }
                        };
                        ParameterRow {
                            name: parameter.name,
                            meaning: parameter.meaning,
                            value: with_unit(policy.value(rule.id, parameter).to_string()),
                            own_value: with_unit(parameter.default.value().to_string()),
                            source: parameter.source.to_string(),
                        }
                    })
                    .collect(),
                sources: rule.sources.iter().map(ToString::to_string).collect(),
            })
            .collect(),
    }
}
