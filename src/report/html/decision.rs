//! What the records support, drawn: decisions and the rules that make them, recall scopes, policies.
//!
//! Rules are told by a phrase of their own in each language; what a rule saw in a load, an English sentence of `judge`, is
//! shown beside it in English alone. Read [`draw_decisions`] first.

use super::Sheet;
use crate::judge::decision::Decision;
use crate::judge::rulebook::{Effect, RuleId};
use crate::report::lang::{Language, Texts};
use crate::report::policy::PolicyNote;
use crate::report::reason::ReasonRow;
use crate::report::recall::{RecallReport, SheetLoad, SheetRow, Where};
use crate::report::release::{DecisionCount, ReleaseReport, ReleaseRow, RuleCount};
use crate::report::show::DecisionView;
use maud::{Markup, html};
use std::collections::BTreeMap;

/// What a rule found, in a few words.
pub fn say_rule(texts: &Texts, rule: RuleId) -> String {
    texts.name("rule", rule.0)
}

/// What rules found, each once.
fn say_rules(texts: &Texts, rules: impl Iterator<Item = RuleId>) -> String {
    let mut said: Vec<String> = Vec::new();
    for rule in rules {
        let words = say_rule(texts, rule);
        if !said.contains(&words) {
            said.push(words);
        }
    }
    said.join("; ")
}

/// A decision.
pub fn say_decision(texts: &Texts, decision: Decision) -> String {
    texts.name("decision", decision.word())
}

fn say_effect(texts: &Texts, effect: Effect) -> String {
    texts.name("effect", effect.word())
}

/// The id of the loads behind a decision, and behind a rule.
fn decision_id(decision: Decision) -> String {
    format!("decided-{}", decision.word())
}

fn rule_id(rule: RuleId) -> String {
    format!("rule-{}", rule.0)
}

/// Decisions and the rules that make them, each count with its loads.
pub fn draw_decisions(sheet: &Sheet<'_>, release: &ReleaseReport) -> Markup {
    let texts = sheet.texts;
    html! {
        p { (texts.say("decisions-about")) " " (say_policies(sheet, &release.policies)) }
        (draw_counts(sheet, &release.counts))
        (draw_rules(sheet, release, &release.rules, "rules-caption"))
        @if !release.notes.is_empty() { (draw_rules(sheet, release, &release.notes, "notes-caption")) }
    }
}

fn draw_counts(sheet: &Sheet<'_>, counts: &[DecisionCount]) -> Markup {
    let texts = sheet.texts;
    let n = |count: usize| texts.count(count as u64);
    html! {
        div class="wide" {
            table {
                caption { (texts.say("decisions-caption")) }
                thead {
                    tr {
                        th scope="col" { (texts.say("decisions-support")) }
                        th scope="col" class="num" { (texts.say("word-loads")) }
                        th scope="col" class="num" { (texts.say("state-released")) }
                        th scope="col" class="num" { (texts.say("state-open")) }
                        th scope="col" class="num" { (texts.say("state-settled")) }
                    }
                }
                tbody {
                    @for count in counts.iter().filter(|count| count.n_loads > 0) {
                        tr class=[(count.decision != Decision::Release && count.n_released > 0).then_some("live")] {
                            th scope="row" {
                                (say_decision(texts, count.decision))
                                span class="sub" { (texts.name("decision-means", count.decision.word())) }
                            }
                            td class="num" { a href={ "#" (decision_id(count.decision)) } { (n(count.n_loads)) } }
                            td class="num" { (n(count.n_released)) }
                            td class="num" { (n(count.n_open)) }
                            td class="num" { (n(count.n_settled)) }
                        }
                    }
                }
            }
        }
    }
}

fn draw_rules(
    sheet: &Sheet<'_>,
    release: &ReleaseReport,
    rules: &[RuleCount],
    caption: &str,
) -> Markup {
    let texts = sheet.texts;
    html! {
        div class="wide" {
            table {
                caption { (texts.say(caption)) }
                thead {
                    tr {
                        th scope="col" { (texts.say("rules-rule")) }
                        th scope="col" { (texts.say("rules-effect")) }
                        th scope="col" class="num" { (texts.say("word-loads")) }
                        th scope="col" class="num" { (texts.say("state-released")) }
                        th scope="col" class="num" { (texts.say("state-open")) }
                        th scope="col" { (texts.say("rules-which")) }
                    }
                }
                tbody {
                    @for rule in rules {
                        tr id=(rule_id(rule.rule)) {
                            th scope="row" { (say_rule(texts, rule.rule)) }
                            td { (say_effect(texts, rule.effect)) }
                            td class="num" { (texts.count(rule.n_loads as u64)) }
                            td class="num" { (texts.count(rule.n_released as u64)) }
                            td class="num" { (texts.count(rule.n_open as u64)) }
                            td class="dense" { (draw_loads_of(sheet, release, rule.rule)) }
                        }
                    }
                }
            }
        }
    }
}

/// The loads that a rule speaks of, each a link to what shows it.
fn draw_loads_of(sheet: &Sheet<'_>, release: &ReleaseReport, rule: RuleId) -> Markup {
    let of = |row: &ReleaseRow| -> Option<Option<crate::report::place::Place>> {
        let reason = row
            .reasons
            .iter()
            .chain(&row.notes)
            .find(|reason| reason.rule == rule)?;
        Some(reason.places().next().or(row.place.as_ref()).cloned())
    };
    // Long lists stand in the appendix of loads; what needs a person comes first in the rows.
    const MOST: usize = 24;
    let found: Vec<_> = release
        .rows
        .iter()
        .filter_map(|row| Some((row, of(row)?)))
        .collect();
    let n_more = found.len().saturating_sub(MOST);
    html! {
        @for (row, place) in found.iter().take(MOST) {
            @match place {
                Some(place) => (sheet.cited.link_said(place, &row.load)),
                None => (row.load),
            }
            " "
        }
        @if n_more > 0 {
            a href="#loads" { (sheet.texts.with("more", &[("n", n_more.into())])) }
        }
    }
}

/// Every load by decision, with file and line: the rows behind the counts.
pub fn draw_loads(sheet: &Sheet<'_>, release: &ReleaseReport) -> Markup {
    let texts = sheet.texts;
    let mut by_decision: BTreeMap<Decision, BTreeMap<&str, Vec<&ReleaseRow>>> = BTreeMap::new();
    for row in &release.rows {
        let file = row.place.as_ref().map_or("", |place| place.file.as_str());
        by_decision
            .entry(row.decision)
            .or_default()
            .entry(file)
            .or_default()
            .push(row);
    }
    html! {
        p { (texts.say("loads-about")) }
        @for (decision, files) in by_decision.iter().rev() {
            @let n: usize = files.values().map(Vec::len).sum();
            div class="index" id=(decision_id(*decision)) {
                h3 { (say_decision(texts, *decision)) ": " (texts.count(n as u64)) }
                p {
                    @for (file, rows) in files {
                        span class="file" { (sheet.cited.short_name(file)) ": " }
                        @for row in rows {
                            span class="c" {
                                (row.load)
                                @if let Some(place) = &row.place { span class="l" { ":" (place.line) } }
                            }
                            @if *decision != Decision::Release {
                                span class="l" {
                                    " ("
                                    (say_rules(texts, row.reasons.iter().map(|reason| reason.rule)))
                                    ")"
                                }
                            }
                            " "
                        }
                    }
                }
            }
        }
    }
}

/// Which policies the loads were judged by.
pub fn say_policies(sheet: &Sheet<'_>, policies: &[PolicyNote]) -> String {
    let texts = sheet.texts;
    let names: Vec<&str> = policies.iter().map(|policy| policy.name.as_str()).collect();
    let n: usize = policies.iter().map(|policy| policy.deviations.len()).sum();
    texts.with(
        "policy-said",
        &[("names", names.join(", ").into()), ("n", n.into())],
    )
}

/// The policies and in what they depart from their presets.
pub fn draw_policies(sheet: &Sheet<'_>, policies: &[PolicyNote]) -> Markup {
    let texts = sheet.texts;
    html! {
        p { (say_policies(sheet, policies)) }
        @for policy in policies.iter().filter(|policy| !policy.deviations.is_empty()) {
            div class="wide" tabindex="0" role="group" aria-label=(policy.name) {
                table {
                    caption { (policy.name) }
                    thead {
                        tr {
                            th scope="col" { (texts.say("policy-key")) }
                            th scope="col" { (texts.with("policy-preset", &[("preset", policy.preset.into())])) }
                            th scope="col" { (texts.say("policy-here")) }
                        }
                    }
                    tbody {
                        @for deviation in &policy.deviations {
                            tr {
                                th scope="row" { code { (deviation.key) } }
                                td { (deviation.preset) }
                                td { (deviation.policy) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The recall scopes: how much is to be got back, where it is, and the loads.
pub fn draw_recalls(sheet: &Sheet<'_>, recall: &RecallReport) -> Markup {
    let texts = sheet.texts;
    html! {
        @if recall.sheets.is_empty() { p { (texts.say("recall-none")) } }
        @for (n, scope) in recall.sheets.iter().enumerate() {
            @let totals = &scope.totals;
            h3 id={ "recall-" (n) } {
                (texts.with("recall-title", &[
                    ("unit", scope.unit.as_deref().unwrap_or("?").into()),
                    ("loads", scope.growths.iter().filter_map(|growth| growth.load.as_deref()).collect::<Vec<_>>().join(", ").into()),
                ]))
            }
            p {
                (texts.with("recall-totals", &[
                    ("loads", totals.n_loads.into()),
                    ("sets", totals.n_sets.into()),
                    ("packages", totals.n_packages.into()),
                    ("left", totals.n_packages_left.into()),
                    ("called", totals.n_packages_called_back.into()),
                    ("here", totals.n_packages_here.into()),
                ]))
                " "
                @if scope.open { strong { (texts.say("recall-open")) } }
                @if totals.n_cycles_missing > 0 {
                    " " strong { (texts.with("recall-missing", &[("n", totals.n_cycles_missing.into())])) }
                }
            }
            p class="note" {
                (texts.say("recall-bounds")) " " (sheet.cited.links(scope.growths.iter().map(|growth| &growth.place).chain(&scope.scope_places)))
            }
            div class="wide" {
                table {
                    caption { (texts.say("recall-caption")) }
                    thead {
                        tr {
                            th scope="col" { (texts.say("word-load")) }
                            th scope="col" { (texts.say("case-when")) }
                            th scope="col" { (texts.say("recall-whereabouts")) }
                            th scope="col" class="num" { (texts.say("recall-sets")) }
                            th scope="col" { (texts.say("recall-went")) }
                            th scope="col" { (texts.say("case-where")) }
                        }
                    }
                    tbody {
                        @for row in &scope.rows {
                            @match row {
                                SheetRow::Load(load) => (draw_recalled(sheet, load)),
                                SheetRow::Missing { n_missing, place, .. } => {
                                    tr class="live" {
                                        th scope="row" colspan="5" { (texts.with("recall-missing", &[("n", (*n_missing).into())])) }
                                        td { @if let Some(place) = place { (sheet.cited.link(place)) } }
                                    }
                                },
                            }
                        }
                    }
                }
            }
        }
    }
}

fn draw_recalled(sheet: &Sheet<'_>, load: &SheetLoad) -> Markup {
    let texts = sheet.texts;
    let went: std::collections::BTreeSet<&str> = load
        .sets
        .iter()
        .filter_map(|set| set.to.as_deref())
        .collect();
    html! {
        tr class=[load.grew.then_some("live")] {
            th scope="row" {
                (load.load.as_deref().unwrap_or("?"))
                @if let Some(cycle) = &load.cycle { span class="sub" { (cycle) } }
            }
            td class="nowrap" { (load.began.as_deref().map_or_else(|| "–".to_owned(), |at| texts.stamp(at))) }
            td {
                @if load.grew { strong { (texts.say("recall-grew")) } " " }
                @if load.not_counted.is_some() { (texts.say("recall-not-counted")) } @else {
                    (texts.say(match load.whereabouts {
                        Where::Left => "recall-left",
                        Where::CalledBack => "recall-called",
                        Where::Here => "recall-here",
                    }))
                }
            }
            td class="num" { (texts.count(load.sets.len() as u64)) }
            td { (went.into_iter().collect::<Vec<_>>().join(", ")) }
            td { @if let Some(place) = &load.place { (sheet.cited.link(place)) } }
        }
    }
}

/// What the records of one load support, and why.
pub fn draw_decision(sheet: &Sheet<'_>, load: &str, view: &DecisionView) -> Markup {
    let texts = sheet.texts;
    html! {
        p {
            strong { (load) ": " (say_decision(texts, view.decision)) } ". "
            (texts.name("decision-means", view.decision.word())) " "
            (say_policies(sheet, std::slice::from_ref(&view.policy)))
        }
        (draw_reasons(sheet, &view.because, "because-caption"))
        (draw_reasons(sheet, &view.besides, "besides-caption"))
        @if view.history.len() > 1 {
            table {
                caption { (texts.say("steps-caption")) }
                thead {
                    tr {
                        th scope="col" { (texts.say("steps-since")) }
                        th scope="col" { (texts.say("decisions-support")) }
                        th scope="col" { (texts.say("steps-rules")) }
                    }
                }
                tbody {
                    @for step in &view.history {
                        tr {
                            td class="nowrap" { (step.since.as_deref().map_or_else(|| "–".to_owned(), |at| texts.stamp(at))) }
                            th scope="row" { (say_decision(texts, step.decision)) }
                            td {
                                (say_rules(texts, step.rules.iter().copied()))
                            }
                        }
                    }
                }
            }
        }
    }
}

fn draw_reasons(sheet: &Sheet<'_>, reasons: &[ReasonRow], caption: &str) -> Markup {
    let texts = sheet.texts;
    let in_english = texts.language() == Language::English;
    html! {
        @if !reasons.is_empty() {
            div class="wide" {
                table {
                    caption { (texts.say(caption)) }
                    thead {
                        tr {
                            th scope="col" { (texts.say("rules-rule")) }
                            th scope="col" { (texts.say("rules-effect")) }
                            th scope="col" { (texts.say("rules-source")) }
                            th scope="col" { (texts.say("case-where")) }
                        }
                    }
                    tbody {
                        @for reason in reasons {
                            tr {
                                th scope="row" {
                                    (say_rule(texts, reason.rule))
                                    @if in_english { span class="sub" { (reason.seen) } span class="sub" { (reason.remedy) } }
                                }
                                td { (say_effect(texts, reason.effect)) }
                                td class="dense" { @for source in &reason.sources { cite lang="en" { (source) } br; } }
                                td { (sheet.cited.links(reason.places())) }
                            }
                        }
                    }
                }
            }
        }
    }
}
