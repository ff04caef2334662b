//! The rule book: what a rule is, and the one table of all of them.
//!
//! A rule asks one question of one load. It knows nothing of other rules, nor of what its answer leads to. Read
//! [`Rule`] first, then [`RULES`].

use super::case::Case;
use super::decision::Evidence;
use super::rules;
use serde::{Serialize, Serializer};
use std::borrow::Cow;

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
        /// The year. `None` for a page without one.
        year: Option<u16>,
        /// The section, clause or table.
        section: &'static str,
        /// How it is known.
        known: Known,
    },
    /// Common practice, no source.
    CommonPractice,
}

impl Source {
    /// A publication of which the wording was read.
    pub const fn seen(title: &'static str, year: u16, section: &'static str) -> Self {
        Source::Published {
            title,
            year: Some(year),
            section,
            known: Known::Seen,
        }
    }

    /// A publication from memory.
    pub const fn memory(title: &'static str, year: u16, section: &'static str) -> Self {
        Source::Published {
            title,
            year: Some(year),
            section,
            known: Known::Memory,
        }
    }
}

impl std::fmt::Display for Source {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Source::Published {
                title,
                year,
                section,
                known,
            } => {
                f.write_str(title)?;
                if let Some(year) = year {
                    write!(f, " ({year})")?;
                }
                write!(f, ", {section} [{}]", known.said())
            }
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

impl std::fmt::Display for Value {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Value::Number(number) => write!(f, "{number}"),
            Value::Words(words) => f.write_str(&words.join(", ")),
        }
    }
}

/// The value that a parameter has where no policy says otherwise.
#[derive(Debug, Clone, Copy)]
pub enum DefaultValue {
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

impl DefaultValue {
    /// The value.
    pub fn value(&self) -> Value {
        match self {
            DefaultValue::Number { value, .. } => Value::Number(*value),
            DefaultValue::Words { value, .. } => {
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
    pub default: DefaultValue,
    /// Where that value comes from.
    pub source: Source,
}

/// What a rule saw that speaks against a load, or that is lacking.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// What was seen, as a sentence.
    pub seen: Cow<'static, str>,
    /// The lines that show it.
    pub evidence: Vec<Evidence>,
    /// What would answer it, as a sentence.
    pub remedy: Cow<'static, str>,
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

impl Parameter {
    /// A number.
    pub const fn number(
        name: &'static str,
        unit: &'static str,
        value: f64,
        range: (f64, f64),
        meaning: &'static str,
        source: Source,
    ) -> Self {
        Parameter {
            name,
            meaning,
            unit,
            default: DefaultValue::Number {
                value,
                least: range.0,
                greatest: range.1,
            },
            source,
        }
    }

    /// A list of words.
    pub const fn words(
        name: &'static str,
        value: &'static [&'static str],
        check: fn(&str) -> Result<(), String>,
        meaning: &'static str,
        source: Source,
    ) -> Self {
        Parameter {
            name,
            meaning,
            unit: "",
            default: DefaultValue::Words { value, check },
            source,
        }
    }
}

impl Finding {
    /// A finding with one piece of evidence.
    pub fn new(
        seen: impl Into<Cow<'static, str>>,
        evidence: Evidence,
        remedy: impl Into<Cow<'static, str>>,
    ) -> Self {
        Finding {
            seen: seen.into(),
            evidence: vec![evidence],
            remedy: remedy.into(),
        }
    }
}

impl Verdict {
    /// Something was found, if anything; else met.
    pub fn found_or_met(findings: Vec<Finding>, met: impl FnOnce() -> Evidence) -> Self {
        if findings.is_empty() {
            Verdict::Met(met())
        } else {
            Verdict::Found(findings)
        }
    }

    /// Something was found, if anything; else the question does not arise.
    pub fn found_or_not_asked(findings: Vec<Finding>) -> Self {
        if findings.is_empty() {
            Verdict::NotAsked
        } else {
            Verdict::Found(findings)
        }
    }

    /// One thing was found.
    pub fn found(
        seen: impl Into<Cow<'static, str>>,
        evidence: Evidence,
        remedy: impl Into<Cow<'static, str>>,
    ) -> Self {
        Verdict::Found(vec![Finding::new(seen, evidence, remedy)])
    }
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
pub static RULES: &[&Rule] = &[
    &rules::policy_none_in_force::RULE,
    &rules::printout_missing::RULE,
    &rules::printout_torn::RULE,
    &rules::printout_checksum_wrong::RULE,
    &rules::printout_totals_differ::RULE,
    &rules::printout_lines_unread::RULE,
    &rules::printout_reprinted::RULE,
    &rules::outcome_not_printed::RULE,
    &rules::cycle_not_completed::RULE,
    &rules::process_not_known::RULE,
    &rules::cycle_time_unknown::RULE,
    &rules::clock_changed_in_cycle::RULE,
    &rules::clocks_disagree::RULE,
    &rules::load_number_on_two_units::RULE,
    &rules::load_run_again::RULE,
    &rules::load_not_in_log::RULE,
    &rules::log_contradicts_printout::RULE,
    &rules::load_number_near_miss::RULE,
    &rules::stage_missing::RULE,
    &rules::stage_length_unknown::RULE,
    &rules::stage_too_short::RULE,
    &rules::stage_too_long::RULE,
    &rules::reading_outside_band::RULE,
    &rules::stage_reading_missing::RULE,
    &rules::alarm_in_completed_cycle::RULE,
    &rules::steam_temperature_outside_band::RULE,
    &rules::steam_holding_time_short::RULE,
    &rules::steam_not_saturated::RULE,
    &rules::steam_f0_low::RULE,
    &rules::leak_test_missing::RULE,
    &rules::leak_test_not_passed::RULE,
    &rules::leak_rate_above_limit::RULE,
    &rules::air_removal_test_missing::RULE,
    &rules::air_removal_test_not_passed::RULE,
    &rules::plasma_temperature_high::RULE,
    &rules::plasma_cycle_length_unusual::RULE,
    &rules::contents_unfit_for_plasma::RULE,
    &rules::eo_concentration_outside_range::RULE,
    &rules::eo_temperature_outside_range::RULE,
    &rules::eo_humidity_outside_range::RULE,
    &rules::eo_exposure_short::RULE,
    &rules::eo_exposure_long::RULE,
    &rules::eo_temperature_not_recorded::RULE,
    &rules::eo_gas_not_recorded::RULE,
    &rules::eo_aeration_short::RULE,
    &rules::contents_not_listed::RULE,
    &rules::implant_not_stated::RULE,
    &rules::ci_endpoint_not_reached::RULE,
    &rules::ci_unreadable::RULE,
    &rules::ci_external_missing::RULE,
    &rules::ci_internal_missing::RULE,
    &rules::ci_type_not_accepted::RULE,
    &rules::ci_type_not_stated::RULE,
    &rules::bi_growth::RULE,
    &rules::bi_growth_in_unit::RULE,
    &rules::steam_bi_growth_in_unit::RULE,
    &rules::bi_not_read::RULE,
    &rules::bi_overdue::RULE,
    &rules::bi_read_too_early::RULE,
    &rules::bi_read_too_late::RULE,
    &rules::bi_incubation_unknown::RULE,
    &rules::bi_control_missing::RULE,
    &rules::bi_control_of_other_lot::RULE,
    &rules::bi_control_not_read::RULE,
    &rules::bi_control_no_growth::RULE,
    &rules::bi_role_not_stated::RULE,
    &rules::bi_schedule_not_kept::RULE,
    &rules::implant_without_bi::RULE,
    &rules::implant_bi_not_read::RULE,
    &rules::implant_left_before_bi_read::RULE,
    &rules::lot_expired::RULE,
    &rules::lot_used_before_opened::RULE,
    &rules::lot_used_after_finished::RULE,
    &rules::lot_past_its_uses::RULE,
    &rules::lot_open_too_long::RULE,
    &rules::lot_opening_not_logged::RULE,
    &rules::lot_not_stated::RULE,
    &rules::held_by_person::RULE,
    &rules::recalled_by_person::RULE,
    &rules::not_signed::RULE,
    &rules::released_before_evidence::RULE,
];

/// The rule with this id.
pub fn find_rule(id: &str) -> Option<&'static Rule> {
    RULES.iter().copied().find(|rule| rule.id.0 == id)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_those_of_the_design() {
        // The effects and their order as design.md and the documentation of policies have them.
        let words = ["note", "quarantine", "hold", "reject"];
        for (effect, word) in Effect::ALL.iter().zip(words) {
            assert_eq!(effect.word(), word);
            assert_eq!(effect.to_string(), word);
            assert_eq!(Effect::from_word(word), Some(*effect));
        }
        assert!(Effect::ALL.is_sorted());
        assert_eq!(Effect::from_word("off"), None);
        // Columns of a table need words of the same width.
        assert_eq!(format!("{:>6}|", Effect::Hold), "  hold|");
        assert_eq!(format!("{:12}|", RuleId("not-signed")), "not-signed  |");
    }

    #[test]
    fn source_says_how_it_is_known() {
        let seen = Source::seen("A guideline", 2008, "Table 6");
        assert_eq!(seen.to_string(), "A guideline (2008), Table 6 [seen]");
        let memory = Source::memory("A standard", 2014, "clause 4");
        assert_eq!(
            memory.to_string(),
            "A standard (2014), clause 4 [from memory]"
        );
        let page = Source::Published {
            title: "A page",
            year: None,
            section: "its table",
            known: Known::Calculated,
        };
        assert_eq!(page.to_string(), "A page, its table [calculated]");
        assert_eq!(
            Source::CommonPractice.to_string(),
            "common practice, no source"
        );
    }

    #[test]
    fn values_are_said_as_a_policy_would_write_them() {
        assert_eq!(Value::Number(1.5).to_string(), "1.5");
        assert_eq!(Value::Number(30.0).to_string(), "30");
        let words = DefaultValue::Words {
            value: &["1", "3"],
            check: |_| Ok(()),
        };
        assert_eq!(words.value().to_string(), "1, 3");
        let number = DefaultValue::Number {
            value: 8.0,
            least: 0.0,
            greatest: 10.0,
        };
        assert_eq!(number.value(), Value::Number(8.0));
    }

    #[test]
    fn verdict_without_findings_is_met_or_not_asked() {
        let evidence = || Evidence::absent("looked for");
        let finding = || Finding::new("seen", evidence(), "do this");
        assert_eq!(
            Verdict::found_or_met(Vec::new(), evidence),
            Verdict::Met(evidence())
        );
        assert_eq!(
            Verdict::found_or_met(vec![finding()], evidence),
            Verdict::Found(vec![finding()])
        );
        assert_eq!(Verdict::found_or_not_asked(Vec::new()), Verdict::NotAsked);
        assert_eq!(
            Verdict::found_or_not_asked(vec![finding()]),
            Verdict::Found(vec![finding()])
        );
        assert_eq!(
            Verdict::found("seen", evidence(), "do this"),
            Verdict::Found(vec![finding()])
        );
    }

    #[test]
    fn rules_are_found_by_their_id_and_shown_by_it() {
        for rule in RULES {
            assert_eq!(find_rule(rule.id.0).unwrap().id, rule.id);
        }
        assert!(find_rule("no-such-rule").is_none());
        let rule = find_rule("bi-growth").unwrap();
        assert_eq!(format!("{rule:?}"), "Rule(RuleId(\"bi-growth\"))");
    }

    #[test]
    fn parameters_take_the_words_that_make_sense_and_no_others() {
        for (rule, parameter, taken, refused) in [
            (
                "bi-growth-in-unit",
                "scope",
                &["unit", "program"][..],
                &["", "Unit", "load"][..],
            ),
            (
                "bi-growth-in-unit",
                "last-negative",
                &["outside", "inside"],
                &["", "both"],
            ),
            // A band has a lower and an upper end below 200 °C; a pair has a band and a time.
            (
                "steam-temperature-outside-band",
                "bands",
                &["134-137", "121-124.5"],
                &["137-134", "134", "134-200", "134-134", "0-10"],
            ),
            (
                "steam-holding-time-short",
                "pairs",
                &["134-137 C 3 min"],
                &["134-137", "134-137 C 0 min", "134-137 C 3"],
            ),
            (
                "contents-unfit-for-plasma",
                "words",
                &["linen", "non-linen", "5"],
                &["", "two words", "a/b"],
            ),
            (
                "steam-f0-low",
                "reference",
                &["usp", "ph-eur"],
                &["", "USP"],
            ),
            (
                "ci-type-not-accepted",
                "external",
                &["1", "6"],
                &["0", "7", "", "type 1"],
            ),
            (
                "stage-missing",
                "plasma",
                &["evacuate", "vent"],
                &["", "warmish"],
            ),
            (
                "air-removal-test-missing",
                "programs-without",
                &["gravity 121"],
                &["", "  "],
            ),
        ] {
            let rule = find_rule(rule).unwrap();
            let of_name = rule.parameters.iter().find(|one| one.name == parameter);
            let of_name = of_name.unwrap_or_else(|| panic!("{}: {parameter}", rule.id));
            let DefaultValue::Words { check, value } = of_name.default else {
                panic!("{parameter} is a number");
            };
            for word in taken.iter().chain(value) {
                assert_eq!(check(word), Ok(()), "{parameter}: {word:?}");
            }
            for word in refused {
                // What is wrong is said.
                assert!(check(word).unwrap_err().len() > 10, "{parameter}: {word:?}");
            }
        }
    }
}
