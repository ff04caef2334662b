//! Text → policies, with errors that name line and column.
//!
//! Every key is checked against the rule book, so that a slip of the hand can't leave a rule without effect. Read
//! [`PolicyBook::read_policies`] first, then [`read_policy`].

use super::{BiFrequency, BiPer, BiSchedule, Deviation, Policy, PolicyBook, Preset, Setting};
use crate::judge::rulebook::{DefaultValue, Effect, RULES, Rule, Value, find_rule};
use crate::record::cycle::Process;
use chrono::NaiveDate;
use serde::Serialize;
use std::collections::BTreeMap;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeString, DeTable, DeValue};

/// Why a policy can't be used.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, thiserror::Error)]
#[error("{file}:{line}:{column}: {message}")]
pub struct PolicyError {
    /// The file's name as it was given.
    pub file: String,
    /// The line, counted from 1.
    pub line: usize,
    /// The column, counted from 1 in characters.
    pub column: usize,
    /// What is wrong.
    pub message: String,
    /// What to do, as a clause without a full stop.
    pub help: String,
}

impl PolicyBook {
    /// The book that has one preset, in force at all times.
    pub fn of_preset(preset: Preset) -> Self {
        PolicyBook {
            policies: vec![preset.policy()],
        }
    }

    /// Reads policy files, each given by name and text, and puts them in order of time.
    ///
    /// # Errors
    /// Everything that is wrong with any of them, sorted by file and place; and periods that overlap or leave days
    /// between them without a policy.
    pub fn read_policies(files: &[(&str, &str)]) -> Result<Self, Vec<PolicyError>> {
        let mut policies = Vec::new();
        let mut errors = Vec::new();
        for (name, text) in files {
            match read_policy(name, text) {
                Ok(policy) => policies.push((*name, policy)),
                Err(more) => errors.extend(more),
            }
        }
        if files.is_empty() {
            errors.push(PolicyError {
                file: String::new(),
                line: 1,
                column: 1,
                message: "no policy is given".to_owned(),
                help: "name a policy file or a preset".to_owned(),
            });
        }
        if errors.is_empty() {
            policies.sort_by_key(|(_, policy)| (policy.from, policy.to));
            errors.extend(find_gaps(&policies));
        }
        if errors.is_empty() {
            let policies = policies.into_iter().map(|(_, policy)| policy).collect();
            return Ok(PolicyBook { policies });
        }
        errors.sort();
        Err(errors)
    }
}

/// Periods that don't meet: each policy must end on the day on which the next begins.
fn find_gaps(policies: &[(&str, Policy)]) -> Vec<PolicyError> {
    let mut errors = Vec::new();
    for (before, after) in policies.iter().zip(policies.iter().skip(1)) {
        let (message, help) = match (before.1.to, after.1.from) {
            (Some(to), Some(from)) if to == from => continue,
            (Some(to), Some(from)) if to < from => (
                format!(
                    "no policy is in force from {to}, where {} ends, to {from}, where this one begins",
                    before.0
                ),
                "let `from` be the day of the other's `to`",
            ),
            (Some(to), Some(from)) => (
                format!(
                    "this policy begins on {from}, and {} ends only on {to}",
                    before.0
                ),
                "let `from` be the day of the other's `to`",
            ),
            (None, _) => (
                format!("{} has no end, and this policy comes after it", before.0),
                "give the other one a `to`",
            ),
            (_, None) => (
                format!("this policy has no beginning, and neither has {}", before.0),
                "give this one a `from`",
            ),
        };
        errors.push(PolicyError {
            file: after.0.to_owned(),
            line: 1,
            column: 1,
            message,
            help: help.to_owned(),
        });
    }
    errors
}

impl Preset {
    /// The preset as a policy.
    pub fn policy(self) -> Policy {
        let mut base = bare_policy(self);
        let mut reader = Reader::new(self.word(), self.text());
        reader.apply(&mut base, Role::Preset);
        // A test holds that the embedded files have no errors.
        base
    }
}

/// What every rule does by its own account, and biological indicators in every load.
fn bare_policy(preset: Preset) -> Policy {
    let rules = RULES
        .iter()
        .map(|rule| {
            let setting = Setting {
                effect: Some(rule.effect),
                parameters: BTreeMap::new(),
            };
            (rule.id, setting)
        })
        .collect();
    let bi = Process::ALL
        .iter()
        .map(|process| {
            let schedule = BiSchedule {
                frequency: BiFrequency::EveryLoad,
                per: BiPer::Unit,
                min_incubation_hours: 24.0,
                max_incubation_hours: 168.0,
                programs: BTreeMap::new(),
            };
            (*process, schedule)
        })
        .collect();
    Policy {
        name: preset.word().to_owned(),
        preset,
        basis: Vec::new(),
        from: None,
        to: None,
        rules,
        bi,
        deviations: Vec::new(),
    }
}

/// Reads one policy file.
///
/// # Errors
/// Everything that is wrong with it, by place.
pub fn read_policy(name: &str, text: &str) -> Result<Policy, Vec<PolicyError>> {
    let mut reader = Reader::new(name, text);
    if !reader.errors.is_empty() {
        // What was understood of a file that is not TOML would only bring more errors about nothing.
        return Err(reader.errors);
    }
    let preset = reader.preset();
    let given = preset.policy();
    let mut policy = given.clone();
    policy.basis.clear();
    reader.apply(&mut policy, Role::Site);
    if policy.basis.is_empty() {
        policy.basis.clone_from(&given.basis);
    }
    policy.deviations = find_deviations(&given, &policy);
    if reader.errors.is_empty() {
        Ok(policy)
    } else {
        reader.errors.sort();
        Err(reader.errors)
    }
}

/// Whose file it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Role {
    Preset,
    Site,
}

type Table<'t> = DeTable<'t>;
type Key<'t> = Spanned<DeString<'t>>;
type Item<'t> = Spanned<DeValue<'t>>;

struct Reader<'t> {
    file: &'t str,
    text: &'t str,
    table: Table<'t>,
    errors: Vec<PolicyError>,
}

impl<'t> Reader<'t> {
    fn new(file: &'t str, text: &'t str) -> Self {
        let (table, faults) = DeTable::parse_recoverable(text);
        let mut reader = Reader {
            file,
            text,
            table: table.into_inner(),
            errors: Vec::new(),
        };
        for fault in faults {
            let span = fault.span().unwrap_or(0..0);
            reader.err(
                span,
                fault.message(),
                "see the example in the documentation",
            );
        }
        reader
    }

    fn err(&mut self, span: Range<usize>, message: impl Into<String>, help: impl Into<String>) {
        let before = self.text.get(..span.start).unwrap_or(self.text);
        let line_start = before.rfind('\n').map_or(0, |at| at.saturating_add(1));
        let error = PolicyError {
            file: self.file.to_owned(),
            line: before.matches('\n').count().saturating_add(1),
            column: before
                .get(line_start..)
                .map_or(0, |line| line.chars().count())
                .saturating_add(1),
            message: message.into(),
            help: help.into(),
        };
        if !self.errors.contains(&error) {
            self.errors.push(error);
        }
    }

    /// The preset that the file begins from.
    fn preset(&mut self) -> Preset {
        let names = Preset::ALL.iter().map(|preset| preset.word());
        let names = names.collect::<Vec<_>>().join("` or `");
        let Some(item) = self.table.get("preset").cloned() else {
            self.err(
                0..0,
                "the policy names no preset",
                format!("add `preset = \"…\"` with `{names}`"),
            );
            return Preset::Cdc2008;
        };
        let preset = item.get_ref().as_str().and_then(Preset::from_word);
        preset.unwrap_or_else(|| {
            self.err(
                item.span(),
                "there is no such preset",
                format!("use `{names}`"),
            );
            Preset::Cdc2008
        })
    }

    fn apply(&mut self, policy: &mut Policy, role: Role) {
        let table = self.table.clone();
        for (key, item) in &table {
            match key.get_ref().as_ref() {
                "name" => {
                    if let Some(name) = self.text_of(key, item) {
                        policy.name = name;
                    }
                }
                "preset" if role == Role::Site => {}
                "basis" => policy.basis = self.texts_of(key, item).unwrap_or_default(),
                "from" if role == Role::Site => policy.from = self.day_of(key, item),
                "to" if role == Role::Site => policy.to = self.day_of(key, item),
                "rules" => self.apply_rules(policy, item),
                "bi" => self.apply_bi(policy, item),
                _ => self.unknown(
                    key,
                    &["name", "preset", "basis", "from", "to", "rules", "bi"],
                ),
            }
        }
        if let (Some(from), Some(to)) = (policy.from, policy.to)
            && to <= from
        {
            let span = table.get("to").map_or(0..0, Spanned::span);
            self.err(
                span,
                format!("the policy ends on {to}, which is not after {from}"),
                "`to` is the first day on which the policy is no longer in force",
            );
        }
    }

    fn apply_rules(&mut self, policy: &mut Policy, item: &Item<'t>) {
        let Some(table) = self.table_of("rules", item) else {
            return;
        };
        for (key, item) in &table {
            let Some(rule) = find_rule(key.get_ref()) else {
                let ids: Vec<&str> = RULES.iter().map(|rule| rule.id.0).collect();
                self.unknown(key, &ids);
                continue;
            };
            let mut setting = match policy.rules.remove(&rule.id) {
                Some(setting) => setting,
                None => continue,
            };
            match item.get_ref() {
                DeValue::String(word) => self.apply_effect(rule, &mut setting, item, word),
                DeValue::Table(table) => {
                    for (key, item) in table {
                        self.apply_setting(rule, &mut setting, key, item);
                    }
                }
                _ => self.err(
                    item.span(),
                    format!("`{}` needs an effect or a table", rule.id),
                    "write `off`, `note`, `quarantine`, `hold` or `reject`, or a table with `effect` and parameters",
                ),
            }
            policy.rules.insert(rule.id, setting);
        }
    }

    fn apply_setting(
        &mut self,
        rule: &'static Rule,
        setting: &mut Setting,
        key: &Key<'t>,
        item: &Item<'t>,
    ) {
        let name = key.get_ref().as_ref();
        if name == "effect" {
            match item.get_ref().as_str() {
                Some(word) => self.apply_effect(rule, setting, item, word),
                None => self.err(
                    item.span(),
                    "an effect is a word in quotation marks",
                    "write `off`, `note`, `quarantine`, `hold` or `reject`",
                ),
            }
            return;
        }
        let Some(parameter) = rule.parameters.iter().find(|one| one.name == name) else {
            let mut names = vec!["effect"];
            names.extend(rule.parameters.iter().map(|one| one.name));
            self.unknown(key, &names);
            return;
        };
        let value = match parameter.default {
            DefaultValue::Number {
                least, greatest, ..
            } => match self.number_of(key, item) {
                Some(number) if (least..=greatest).contains(&number) => Value::Number(number),
                Some(_) => {
                    self.err(
                        item.span(),
                        format!(
                            "`{name}` lies outside {least} to {greatest} {}",
                            parameter.unit
                        ),
                        parameter.meaning,
                    );
                    return;
                }
                None => return,
            },
            DefaultValue::Words { check, .. } => match self.texts_of(key, item) {
                Some(words) => {
                    for word in &words {
                        if let Err(why) = check(word) {
                            self.err(item.span(), why, parameter.meaning);
                            return;
                        }
                    }
                    Value::Words(words)
                }
                None => return,
            },
        };
        setting.parameters.insert(parameter.name, value);
    }

    fn apply_effect(
        &mut self,
        rule: &'static Rule,
        setting: &mut Setting,
        item: &Item<'t>,
        word: &str,
    ) {
        let effect = match (word, Effect::from_word(word)) {
            ("off", _) => None,
            (_, Some(effect)) => Some(effect),
            _ => {
                self.err(
                    item.span(),
                    format!("`{}` has no effect of that name", rule.id),
                    "write `off`, `note`, `quarantine`, `hold` or `reject`",
                );
                return;
            }
        };
        if let Some(floor) = rule.floor
            && effect < Some(floor)
        {
            self.err(
                item.span(),
                format!("`{}` can't be less than `{floor}`", rule.id),
                "without it a load could count as released whose evidence is lacking; make it stricter or leave it",
            );
            return;
        }
        setting.effect = effect;
    }

    fn apply_bi(&mut self, policy: &mut Policy, item: &Item<'t>) {
        let Some(table) = self.table_of("bi", item) else {
            return;
        };
        let words: Vec<&str> = Process::ALL.iter().map(|process| process.word()).collect();
        for (key, item) in &table {
            let process = Process::ALL
                .iter()
                .find(|process| process.word() == key.get_ref().as_ref());
            let Some(process) = process else {
                self.unknown(key, &words);
                continue;
            };
            let Some(mut schedule) = policy.bi.get(process).cloned() else {
                continue;
            };
            if let Some(table) = self.table_of(process.word(), item) {
                for (key, item) in &table {
                    self.apply_schedule(&mut schedule, key, item);
                }
                if schedule.max_incubation_hours < schedule.min_incubation_hours {
                    self.err(
                        item.span(),
                        "the longest incubation is shorter than the least",
                        "check `min-incubation-hours` and `max-incubation-hours`",
                    );
                }
            }
            policy.bi.insert(*process, schedule);
        }
    }

    fn apply_schedule(&mut self, schedule: &mut BiSchedule, key: &Key<'t>, item: &Item<'t>) {
        match key.get_ref().as_ref() {
            "frequency" => {
                if let Some(frequency) = self.frequency_of(item) {
                    schedule.frequency = frequency;
                }
            }
            "per" => {
                let word = item.get_ref().as_str();
                let per = BiPer::ALL.iter().find(|per| Some(per.word()) == word);
                match per {
                    Some(per) => schedule.per = *per,
                    None => self.err(
                        item.span(),
                        "a schedule is kept per `unit` or per `program`",
                        "write one of the two",
                    ),
                }
            }
            "min-incubation-hours" => {
                if let Some(hours) = self.hours_of(key, item) {
                    schedule.min_incubation_hours = hours;
                }
            }
            "max-incubation-hours" => {
                if let Some(hours) = self.hours_of(key, item) {
                    schedule.max_incubation_hours = hours;
                }
            }
            "programs" => {
                let Some(table) = self.table_of("programs", item) else {
                    return;
                };
                for (key, item) in &table {
                    if let Some(frequency) = self.frequency_of(item) {
                        schedule
                            .programs
                            .insert(key.get_ref().to_string(), frequency);
                    }
                }
            }
            _ => self.unknown(
                key,
                &[
                    "frequency",
                    "per",
                    "min-incubation-hours",
                    "max-incubation-hours",
                    "programs",
                ],
            ),
        }
    }

    fn frequency_of(&mut self, item: &Item<'t>) -> Option<BiFrequency> {
        let word = item.get_ref().as_str();
        let frequency = BiFrequency::ALL
            .iter()
            .copied()
            .find(|frequency| Some(frequency.word()) == word);
        if frequency.is_none() {
            self.err(
                item.span(),
                "there is no such frequency",
                "write `never`, `weekly`, `daily` or `every-load`",
            );
        }
        frequency
    }

    fn hours_of(&mut self, key: &Key<'t>, item: &Item<'t>) -> Option<f64> {
        let hours = self.number_of(key, item)?;
        // A month is longer than any incubation; rapid readouts take minutes.
        if (0.0..=744.0).contains(&hours) {
            return Some(hours);
        }
        self.err(
            item.span(),
            "hours of incubation are 0 to 744",
            "check the number",
        );
        None
    }

    fn table_of(&mut self, name: &str, item: &Item<'t>) -> Option<Table<'t>> {
        let table = item.get_ref().as_table().cloned();
        if table.is_none() {
            self.err(
                item.span(),
                format!("`{name}` is a table"),
                format!("write `[{name}]` on a line of its own"),
            );
        }
        table
    }

    fn text_of(&mut self, key: &Key<'t>, item: &Item<'t>) -> Option<String> {
        let text = item.get_ref().as_str().map(str::to_owned);
        if text.is_none() {
            self.err(
                item.span(),
                format!("`{}` is a text", key.get_ref()),
                "put it in quotation marks",
            );
        }
        text
    }

    fn texts_of(&mut self, key: &Key<'t>, item: &Item<'t>) -> Option<Vec<String>> {
        let texts: Option<Vec<String>> = item.get_ref().as_array().and_then(|array| {
            array
                .iter()
                .map(|item| item.get_ref().as_str().map(str::to_owned))
                .collect()
        });
        if texts.is_none() {
            self.err(
                item.span(),
                format!("`{}` is a list of texts", key.get_ref()),
                "write [\"…\", \"…\"]",
            );
        }
        texts
    }

    fn number_of(&mut self, key: &Key<'t>, item: &Item<'t>) -> Option<f64> {
        let number = match item.get_ref() {
            DeValue::Integer(integer) if integer.radix() == 10 => integer.as_str().parse().ok(),
            DeValue::Float(float) => float.as_str().parse::<f64>().ok(),
            _ => None,
        };
        let number = number.filter(|number| number.is_finite());
        if number.is_none() {
            self.err(
                item.span(),
                format!("`{}` is a number", key.get_ref()),
                "write it without quotation marks, with a point for decimals",
            );
        }
        number
    }

    fn day_of(&mut self, key: &Key<'t>, item: &Item<'t>) -> Option<NaiveDate> {
        let text = match item.get_ref() {
            DeValue::Datetime(at) => at.to_string(),
            DeValue::String(text) => text.to_string(),
            _ => String::new(),
        };
        let day = NaiveDate::parse_from_str(&text, "%Y-%m-%d").ok();
        if day.is_none() {
            self.err(
                item.span(),
                format!("`{}` is not a day of the calendar", key.get_ref()),
                "write it as 2026-01-31",
            );
        }
        day
    }

    fn unknown(&mut self, key: &Key<'t>, known: &[&str]) {
        let name = key.get_ref().as_ref();
        let near = known
            .iter()
            .map(|word| (strsim::damerau_levenshtein(name, word), *word))
            .min()
            .filter(|(distance, _)| *distance <= 3);
        let help = match near {
            Some((_, word)) => format!("did you mean `{word}`?"),
            None if known.len() <= 8 => format!("the keys here are `{}`", known.join("`, `")),
            None => "`loadbook policy` prints every rule".to_owned(),
        };
        self.err(key.span(), format!("there is no `{name}` here"), help);
    }
}

/// In what a policy departs from its preset, in the order of its keys.
fn find_deviations(preset: &Policy, policy: &Policy) -> Vec<Deviation> {
    let mut found = Vec::new();
    let mut compare = |key: String, ours: String, theirs: String| {
        if ours != theirs {
            found.push(Deviation {
                key,
                preset: theirs,
                policy: ours,
            });
        }
    };
    for process in Process::ALL {
        let (Some(ours), Some(theirs)) = (policy.bi.get(process), preset.bi.get(process)) else {
            continue;
        };
        let key = |name: &str| format!("bi.{}.{name}", process.word());
        compare(
            key("frequency"),
            ours.frequency.word().to_owned(),
            theirs.frequency.word().to_owned(),
        );
        compare(
            key("per"),
            ours.per.word().to_owned(),
            theirs.per.word().to_owned(),
        );
        compare(
            key("min-incubation-hours"),
            ours.min_incubation_hours.to_string(),
            theirs.min_incubation_hours.to_string(),
        );
        compare(
            key("max-incubation-hours"),
            ours.max_incubation_hours.to_string(),
            theirs.max_incubation_hours.to_string(),
        );
        for name in ours.programs.keys().chain(theirs.programs.keys()) {
            let of = |schedule: &BiSchedule| {
                let own = schedule.programs.get(name);
                own.map_or("as the process", |frequency| frequency.word())
                    .to_owned()
            };
            compare(key(&format!("programs.{name}")), of(ours), of(theirs));
        }
    }
    for rule in RULES {
        let effect = |policy: &Policy| {
            let effect = policy.effect(rule.id);
            effect.map_or("off", Effect::word).to_owned()
        };
        compare(
            format!("rules.{}.effect", rule.id),
            effect(policy),
            effect(preset),
        );
        for parameter in rule.parameters {
            let value = |policy: &Policy| policy.value(rule.id, parameter).to_string();
            compare(
                format!("rules.{}.{}", rule.id, parameter.name),
                value(policy),
                value(preset),
            );
        }
    }
    found.dedup();
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn errors(text: &str) -> Vec<String> {
        let errors = read_policy("site.toml", text).expect_err(text);
        errors.iter().map(ToString::to_string).collect()
    }

    fn policy(text: &str) -> Policy {
        read_policy("site.toml", text).unwrap_or_else(|errors| panic!("{errors:?}"))
    }

    #[test]
    fn embedded_presets_have_no_errors() {
        for preset in Preset::ALL {
            let mut reader = Reader::new(preset.word(), preset.text());
            reader.apply(&mut bare_policy(*preset), Role::Preset);
            assert_eq!(reader.errors, [], "{preset:?}");
            let policy = preset.policy();
            assert!(!policy.basis.is_empty(), "{preset:?} cites its guidance");
            assert!(policy.deviations.is_empty());
            assert_eq!(policy.rules.len(), RULES.len());
        }
    }

    #[test]
    fn presets_keep_what_their_guidance_says() {
        // CDC 2008: at least weekly (seen); ethylene oxide every load (from memory).
        let cdc = Preset::Cdc2008.policy();
        assert_eq!(cdc.bi[&Process::Steam].frequency, BiFrequency::Weekly);
        assert_eq!(cdc.bi[&Process::Eo].frequency, BiFrequency::EveryLoad);
        let strict = Preset::EveryLoad.policy();
        for process in Process::ALL {
            assert_eq!(strict.bi[process].frequency, BiFrequency::EveryLoad);
        }
        // The stricter preset is nowhere weaker.
        for rule in RULES {
            assert!(strict.effect(rule.id) >= cdc.effect(rule.id), "{}", rule.id);
        }
    }

    #[test]
    fn bare_policy_is_its_preset() {
        let ours = policy("preset = \"cdc-2008\"\nname = \"Fennmarsh\"\n");
        assert_eq!(ours.name, "Fennmarsh");
        assert_eq!(ours.rules, Preset::Cdc2008.policy().rules);
        assert!(ours.deviations.is_empty());
    }

    #[test]
    fn deviations_are_listed_with_both_values() {
        let ours = policy(
            "preset = \"cdc-2008\"\n[rules]\nlot-expired = \"reject\"\n\
             [rules.leak-rate-above-limit]\nmbar-per-min = 1.333\n\
             [bi.plasma]\nfrequency = \"daily\"\nprograms = { lumen = \"every-load\" }\n",
        );
        let said: Vec<String> = ours
            .deviations
            .iter()
            .map(|one| format!("{}: {} -> {}", one.key, one.preset, one.policy))
            .collect();
        assert_eq!(
            said,
            [
                "bi.plasma.frequency: weekly -> daily",
                "bi.plasma.programs.lumen: as the process -> every-load",
                "rules.leak-rate-above-limit.mbar-per-min: 1.3 -> 1.333",
                "rules.lot-expired.effect: hold -> reject",
            ]
        );
    }

    #[test]
    fn errors_name_line_and_column() {
        assert_eq!(
            errors("preset = \"cdc-2008\"\n[rules]\nlot-expird = \"hold\"\n"),
            ["site.toml:3:1: there is no `lot-expird` here"]
        );
        assert_eq!(
            errors("preset = \"cdc-2008\"\n[rules]\nlot-expired = \"maybe\"\n"),
            ["site.toml:3:15: `lot-expired` has no effect of that name"]
        );
        assert_eq!(
            errors(
                "preset = \"cdc-2008\"\n[rules.leak-rate-above-limit]\nmbar-per-min = \"1.3\"\n"
            ),
            ["site.toml:3:16: `mbar-per-min` is a number"]
        );
        assert_eq!(
            errors("preset = \"cdc-2008\"\nfrom = 2026-02-30\n").len(),
            1,
            "there is no 30 February"
        );
        assert_eq!(
            errors("preset = \"weekly\"\n"),
            ["site.toml:1:10: there is no such preset"]
        );
        assert_eq!(
            errors("name = \"x\"\n"),
            ["site.toml:1:1: the policy names no preset"]
        );
        assert!(errors("preset = \"cdc-2008\"\n[rules\n")[0].starts_with("site.toml:2:"));
        assert_eq!(
            errors("preset = \"cdc-2008\"\nfrom = 2026-02-01\nto = 2026-02-01\n"),
            ["site.toml:3:6: the policy ends on 2026-02-01, which is not after 2026-02-01"]
        );
    }

    /// What is wrong, with what to do.
    fn faults(text: &str) -> Vec<(String, String)> {
        let errors = read_policy("site.toml", text).expect_err(text);
        let of = |one: PolicyError| (one.to_string(), one.help);
        errors.into_iter().map(of).collect()
    }

    #[test]
    fn each_error_says_where_it_is_and_what_to_do() {
        let effects = "write `off`, `note`, `quarantine`, `hold` or `reject`";
        for (lines, said, help) in [
            (
                "nam = \"x\"",
                "2:1: there is no `nam` here",
                "did you mean `name`?",
            ),
            // Three letters are changed at most: `nane` is one, `elsewhere` none of them.
            (
                "elsewhere = 1",
                "2:1: there is no `elsewhere` here",
                "the keys here are `name`, `preset`, `basis`, `from`, `to`, `rules`, `bi`",
            ),
            (
                "name = 3",
                "2:8: `name` is a text",
                "put it in quotation marks",
            ),
            (
                "basis = \"x\"",
                "2:9: `basis` is a list of texts",
                "write [\"…\", \"…\"]",
            ),
            (
                "basis = [\"x\", 1]",
                "2:9: `basis` is a list of texts",
                "write [\"…\", \"…\"]",
            ),
            (
                "from = 1",
                "2:8: `from` is not a day of the calendar",
                "write it as 2026-01-31",
            ),
            (
                "rules = 1",
                "2:9: `rules` is a table",
                "write `[rules]` on a line of its own",
            ),
            (
                "bi = 1",
                "2:6: `bi` is a table",
                "write `[bi]` on a line of its own",
            ),
            (
                "[rules]\nlot-expird = \"hold\"",
                "3:1: there is no `lot-expird` here",
                "did you mean `lot-expired`?",
            ),
            (
                "[rules]\nsomething-quite-different = \"hold\"",
                "3:1: there is no `something-quite-different` here",
                "`loadbook policy` prints every rule",
            ),
            (
                "[rules]\nlot-expired = 1",
                "3:15: `lot-expired` needs an effect or a table",
                &format!("{effects}, or a table with `effect` and parameters"),
            ),
            (
                "[rules.lot-expired]\neffect = 1",
                "3:10: an effect is a word in quotation marks",
                effects,
            ),
            (
                "[rules.lot-expired]\neffect = \"maybe\"",
                "3:10: `lot-expired` has no effect of that name",
                effects,
            ),
            (
                "[rules]\nbi-growth = \"off\"",
                "3:13: `bi-growth` can't be less than `reject`",
                "without it a load could count as released whose evidence is lacking; make it stricter or leave it",
            ),
            (
                "[rules.leak-rate-above-limit]\nmbar = 1",
                "3:1: there is no `mbar` here",
                "the keys here are `effect`, `mbar-per-min`",
            ),
            (
                "[rules.leak-rate-above-limit]\nmbar-per-min = 0x1",
                "3:16: `mbar-per-min` is a number",
                "write it without quotation marks, with a point for decimals",
            ),
            (
                "[rules.leak-rate-above-limit]\nmbar-per-min = inf",
                "3:16: `mbar-per-min` is a number",
                "write it without quotation marks, with a point for decimals",
            ),
            (
                "[rules.steam-f0-low]\nminutes = -0.1",
                "3:11: `minutes` lies outside 0 to 1000 min",
                "the least F0 of the exposure",
            ),
            (
                "[rules.steam-f0-low]\nminutes = 1000.1",
                "3:11: `minutes` lies outside 0 to 1000 min",
                "the least F0 of the exposure",
            ),
            (
                "[rules.steam-f0-low]\nreference = [\"nist\"]",
                "3:13: `nist` is neither `usp` nor `ph-eur`",
                "the reference temperature of F0: usp (121.1 C) or ph-eur (121.0 C)",
            ),
            (
                "[bi.dry-heat]\nper = \"unit\"",
                "2:5: there is no `dry-heat` here",
                "the keys here are `plasma`, `steam`, `eo`",
            ),
            (
                "[bi]\nsteam = 1",
                "3:9: `steam` is a table",
                "write `[steam]` on a line of its own",
            ),
            (
                "[bi.steam]\nper = \"load\"",
                "3:7: a schedule is kept per `unit` or per `program`",
                "write one of the two",
            ),
            (
                "[bi.steam]\nfrequency = \"monthly\"",
                "3:13: there is no such frequency",
                "write `never`, `weekly`, `daily` or `every-load`",
            ),
            (
                "[bi.steam]\nprograms = 1",
                "3:12: `programs` is a table",
                "write `[programs]` on a line of its own",
            ),
            (
                "[bi.steam]\nprograms = { a = \"b\" }",
                "3:18: there is no such frequency",
                "write `never`, `weekly`, `daily` or `every-load`",
            ),
            (
                "[bi.steam]\nfrequenzy = \"daily\"",
                "3:1: there is no `frequenzy` here",
                "did you mean `frequency`?",
            ),
            (
                "[bi.steam]\nmin-incubation-hours = 744.5",
                "3:24: hours of incubation are 0 to 744",
                "check the number",
            ),
            (
                "[bi.steam]\nmin-incubation-hours = -1",
                "3:24: hours of incubation are 0 to 744",
                "check the number",
            ),
        ] {
            let text = format!("preset = \"cdc-2008\"\n{lines}\n");
            assert_eq!(
                faults(&text),
                [(format!("site.toml:{said}"), help.to_owned())],
                "{lines}"
            );
        }
        assert_eq!(
            faults("preset = 1\n"),
            [(
                "site.toml:1:10: there is no such preset".to_owned(),
                "use `cdc-2008` or `every-load`".to_owned()
            )]
        );
        assert_eq!(
            faults(""),
            [(
                "site.toml:1:1: the policy names no preset".to_owned(),
                "add `preset = \"…\"` with `cdc-2008` or `every-load`".to_owned()
            )]
        );
        // The longest incubation may be the least one, and no shorter.
        let hours = |least: &str, longest: &str| {
            format!(
                "preset = \"cdc-2008\"\n[bi.eo]\nmin-incubation-hours = {least}\nmax-incubation-hours = {longest}\n"
            )
        };
        assert!(read_policy("x", &hours("48", "48")).is_ok());
        assert!(read_policy("x", &hours("0", "744")).is_ok());
        let said = faults(&hours("48", "47.5"));
        assert_eq!(said.len(), 1);
        assert!(
            said[0]
                .0
                .ends_with("the longest incubation is shorter than the least"),
            "{said:?}"
        );
    }

    #[test]
    fn columns_are_counted_in_characters_and_each_error_is_told_once() {
        // `{ ö = "x" }`: the word stands at the thirteenth character after `programs = `, one letter of two bytes before it.
        let text = "preset = \"cdc-2008\"\n[bi.steam]\nprograms = { \"ö\" = \"x\" }\n";
        assert_eq!(errors(text), ["site.toml:3:20: there is no such frequency"]);
        // Errors stand by place, also where the keys of a table are read in another order.
        let text =
            "preset = \"cdc-2008\"\n[rules]\nzebra-stripes-on-it = 1\nanother-kind-of-rule = 1\n";
        let said = errors(text);
        assert!(said[0].starts_with("site.toml:3:1") && said[1].starts_with("site.toml:4:1"));
    }

    #[test]
    fn everything_that_a_policy_may_say_is_taken() {
        let ours = policy(
            "preset = \"cdc-2008\"\nname = \"Fennmarsh\"\nbasis = [\"minutes of the board\"]\nfrom = 2026-01-01\nto = \"2026-06-30\"\n\
             [rules]\nlot-expired = \"off\"\n[rules.steam-f0-low]\neffect = \"note\"\nminutes = 12\nreference = [\"ph-eur\"]\n\
             [bi.steam]\nper = \"program\"\nmin-incubation-hours = 0.5\nmax-incubation-hours = 72\n",
        );
        assert_eq!(ours.basis, ["minutes of the board"]);
        assert_eq!(ours.from, NaiveDate::from_ymd_opt(2026, 1, 1));
        assert_eq!(ours.to, NaiveDate::from_ymd_opt(2026, 6, 30));
        let rule = |id: &str| find_rule(id).unwrap();
        assert_eq!(ours.effect(rule("lot-expired").id), None);
        assert_eq!(ours.effect(rule("steam-f0-low").id), Some(Effect::Note));
        let f0 = &ours.rules[&rule("steam-f0-low").id].parameters;
        assert_eq!(f0["minutes"], Value::Number(12.0));
        assert_eq!(f0["reference"], Value::Words(vec!["ph-eur".to_owned()]));
        let steam = &ours.bi[&Process::Steam];
        assert_eq!(steam.per, BiPer::Program);
        assert_eq!(steam.min_incubation_hours, 0.5);
        assert_eq!(steam.max_incubation_hours, 72.0);
        // A policy that gives no basis of its own keeps that of its preset.
        let bare = policy("preset = \"cdc-2008\"\n");
        assert_eq!(bare.basis, Preset::Cdc2008.policy().basis);
    }

    #[test]
    fn rules_without_which_nothing_is_proven_stay_on() {
        for rule in RULES.iter().filter(|rule| rule.floor.is_some()) {
            let text = format!("preset = \"cdc-2008\"\n[rules]\n{} = \"off\"\n", rule.id);
            assert_eq!(errors(&text).len(), 1, "{}", rule.id);
        }
        for id in ["printout-missing", "cycle-not-completed", "bi-growth"] {
            assert!(find_rule(id).unwrap().floor >= Some(Effect::Hold), "{id}");
        }
    }

    #[test]
    fn any_bytes_give_a_policy_or_errors() {
        for text in [
            "\0",
            "[",
            "a=",
            "\u{feff}preset=1",
            "[[rules]]",
            "rules = 3",
            "bi = []",
        ] {
            assert!(read_policy("x", text).is_err(), "{text:?}");
        }
    }

    fn dated(from: &str, to: &str) -> String {
        let line = |key: &str, day: &str| match day {
            "" => String::new(),
            day => format!("{key} = {day}\n"),
        };
        format!(
            "preset = \"cdc-2008\"\n{}{}",
            line("from", from),
            line("to", to)
        )
    }

    #[test]
    fn periods_must_meet() {
        for (first, second, fits) in [
            (("", "2026-01-01"), ("2026-01-01", ""), true),
            (("", "2026-01-01"), ("2026-01-02", ""), false),
            (("", "2026-01-02"), ("2026-01-01", ""), false),
            (("", ""), ("2026-01-01", ""), false),
            (
                ("2025-01-01", "2026-01-01"),
                ("2026-01-01", "2027-01-01"),
                true,
            ),
            (
                ("2025-01-01", "2026-01-01"),
                ("2025-06-01", "2025-09-01"),
                false,
            ),
            (("2025-01-01", ""), ("2025-01-01", ""), false),
        ] {
            let texts = [dated(first.0, first.1), dated(second.0, second.1)];
            let book = PolicyBook::read_policies(&[("a.toml", &texts[0]), ("b.toml", &texts[1])]);
            assert_eq!(book.is_ok(), fits, "{first:?} {second:?} {book:?}");
            // The order in which the files are named does not matter.
            let turned = PolicyBook::read_policies(&[("b.toml", &texts[1]), ("a.toml", &texts[0])]);
            assert_eq!(turned.is_ok(), fits);
        }
        assert!(PolicyBook::read_policies(&[]).is_err());
    }

    #[test]
    fn periods_that_do_not_meet_are_told_with_their_days() {
        let said = |first: (&str, &str), second: (&str, &str)| {
            let texts = [dated(first.0, first.1), dated(second.0, second.1)];
            let book = PolicyBook::read_policies(&[("a.toml", &texts[0]), ("b.toml", &texts[1])]);
            let errors = book.unwrap_err();
            let of = |one: &PolicyError| (one.to_string(), one.help.clone());
            errors.iter().map(of).collect::<Vec<_>>()
        };
        let meet = "let `from` be the day of the other's `to`";
        for (first, second, message, help) in [
            (
                ("", "2026-01-01"),
                ("2026-01-02", ""),
                "no policy is in force from 2026-01-01, where a.toml ends, to 2026-01-02, where this one begins",
                meet,
            ),
            (
                ("", "2026-01-02"),
                ("2026-01-01", ""),
                "this policy begins on 2026-01-01, and a.toml ends only on 2026-01-02",
                meet,
            ),
            (
                ("", ""),
                ("2026-01-01", ""),
                "a.toml has no end, and this policy comes after it",
                "give the other one a `to`",
            ),
            (
                ("", "2026-01-01"),
                ("", "2026-02-01"),
                "this policy has no beginning, and neither has a.toml",
                "give this one a `from`",
            ),
        ] {
            assert_eq!(
                said(first, second),
                [(format!("b.toml:1:1: {message}"), help.to_owned())]
            );
        }
        let none = PolicyBook::read_policies(&[]).unwrap_err();
        assert_eq!(none.len(), 1);
        assert_eq!(none[0].message, "no policy is given");
    }

    #[test]
    fn preset_has_no_days_and_begins_from_no_other() {
        for (line, key) in [
            ("from = 2026-01-01", "from"),
            ("to = 2026-01-01", "to"),
            ("preset = \"cdc-2008\"", "preset"),
        ] {
            let mut reader = Reader::new("own", line);
            reader.apply(&mut bare_policy(Preset::Cdc2008), Role::Preset);
            let said: Vec<_> = reader.errors.iter().map(ToString::to_string).collect();
            assert_eq!(said, [format!("own:1:1: there is no `{key}` here")]);
        }
    }

    #[test]
    fn rule_may_be_set_to_its_floor() {
        for rule in RULES.iter().filter(|rule| rule.floor.is_some()) {
            let floor = rule.floor.unwrap();
            let text = format!(
                "preset = \"cdc-2008\"\n[rules]\n{} = \"{floor}\"\n",
                rule.id
            );
            assert_eq!(policy(&text).effect(rule.id), Some(floor));
        }
    }
}
