//! For tests: complete loads as text, edited, read by the real parser and judged.
//!
//! Each base is a load that lacks nothing under the preset `cdc-2008`; a test takes away or changes the one thing that
//! its rule is about.

use super::decision::{Evidence, Judgement, Judgements};
use super::judge_history;
use super::policy::{PolicyBook, Preset};
use super::rulebook::Rule;
use crate::parse::{Strictness, UnreadLines, read_bytes};
use crate::reconcile::history::History;
use crate::reconcile::{Site, join_history};
use chrono::NaiveDateTime;

/// A plasma load.
pub const PLASMA: &str = include_str!("../../tests/decisions/bases/plasma.txt");
/// A steam load, with the leak test and the air-removal test of its day.
pub const STEAM: &str = include_str!("../../tests/decisions/bases/steam.txt");
/// An ethylene-oxide load.
pub const EO: &str = include_str!("../../tests/decisions/bases/eo.txt");

/// A plasma load whose cycle was printed twice.
pub const TWICE: &str = concat!(
    include_str!("../../tests/decisions/bases/plasma.txt"),
    include_str!("../../tests/decisions/bases/plasma_printout.txt"),
);

/// A plasma load after four others of its unit whose printed times are three hours before those of the log.
pub const LATE: &str = concat!(
    include_str!("../../tests/decisions/bases/plasma.txt"),
    include_str!("../../tests/decisions/bases/late_clock.txt"),
);

/// An edit: this text, which must be there, becomes that one.
pub type Edit<'a> = (&'a str, &'a str);

/// A base with edits. The text of an edit must be there; its first occurrence is changed.
pub fn edited(base: &str, edits: &[Edit<'_>]) -> String {
    let mut text = base.to_owned();
    for (from, to) in edits {
        assert!(text.contains(from), "the base has no {from:?}");
        text = text.replacen(from, to, 1);
    }
    text
}

/// A log of the unit PL-1: loads with their number, when they began, and a word for each of their vials. `well` has not
/// grown, `grew` has, `put` has no result yet, `control` is a control that grew. All are of the lot B1, put to incubation
/// when the load began, and read twenty-five hours later.
pub fn unit_log(loads: &[(&str, &str, &str)]) -> String {
    let mut text = "loadbook log 1\nzone: Europe/London\n".to_owned();
    for (number, began, vials) in loads {
        text += &format!("{began} load: {number}, unit PL-1, program standard, by HB\n");
        let at = moment(began);
        let read = (at + chrono::TimeDelta::hours(25)).format("%Y-%m-%d %H:%M");
        for vial in vials.split_whitespace() {
            let (role, result) = match vial {
                "well" => ("test", "no growth"),
                "grew" => ("test", "growth"),
                "control" => ("control", "growth"),
                "put" => {
                    text +=
                        &format!("{began} bi: {number}, role test, lot B1, incubated {began}\n");
                    continue;
                }
                other => panic!("{other}"),
            };
            text += &format!(
                "{read} bi: {number}, role {role}, lot B1, incubated {began}, read {read}, result {result}\n"
            );
        }
    }
    text
}

/// A moment, as in `2026-03-12 08:00`.
pub fn moment(text: &str) -> NaiveDateTime {
    NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M").unwrap()
}

/// The history of a text.
pub fn history(text: &str) -> History {
    let records = read_bytes(text.as_bytes(), Strictness::Infer);
    // An edit that can't be read would leave its test without a meaning; one case is about such a line.
    let rubbish =
        |line: &UnreadLines| text.lines().nth(line.lines.first() as usize - 1) == Some("rubbish");
    assert!(records.unread.iter().all(rubbish), "{:?}", records.unread);
    join_history(records.cycles, records.entries, Site::default()).0
}

/// The judgement of the load with the base's number.
pub fn judge(text: &str, book: &PolicyBook, as_of: Option<NaiveDateTime>) -> Judgement {
    let history = history(text);
    let judgements = judge_history(&history, book, as_of);
    subject(&history, judgements)
}

fn subject(history: &History, judgements: Judgements) -> Judgement {
    let load = |one: &Judgement| &history.loads[one.load.0];
    let is_subject = |one: &&Judgement| load(one).number.0.ends_with("-0312-01");
    let subjects: Vec<_> = judgements.loads.iter().filter(is_subject).collect();
    // An edit may leave entries behind that are too far away in time to be of the printed load.
    let printed = subjects.iter().find(|one| !load(one).cycles.is_empty());
    (*printed.or(subjects.first()).unwrap()).clone()
}

fn finds(rule: &Rule, base: &str, edits: &[Edit<'_>], book: &PolicyBook) -> bool {
    let judgement = judge(&edited(base, edits), book, None);
    judgement.hits.iter().any(|hit| hit.rule == rule.id)
}

fn preset() -> PolicyBook {
    PolicyBook::of_preset(Preset::Cdc2008)
}

fn site(toml: &str) -> PolicyBook {
    let text = format!("preset = \"cdc-2008\"\n{toml}\n");
    PolicyBook::read_policies(&[("site.toml", &text)]).unwrap()
}

/// The rule finds something in the edited base.
#[track_caller]
pub fn assert_found(rule: &Rule, base: &str, edits: &[Edit<'_>]) {
    let found = finds(rule, base, edits, &preset());
    assert!(found, "{} found nothing", rule.id);
}

/// The rule finds nothing in the edited base.
#[track_caller]
pub fn assert_silent(rule: &Rule, base: &str, edits: &[Edit<'_>]) {
    let found = finds(rule, base, edits, &preset());
    assert!(!found, "{} found something", rule.id);
}

/// The rule finds something under a policy of `cdc-2008` with these lines.
#[track_caller]
pub fn assert_found_under(rule: &Rule, base: &str, edits: &[Edit<'_>], toml: &str) {
    let found = finds(rule, base, edits, &site(toml));
    assert!(found, "{} found nothing", rule.id);
}

/// The rule finds nothing under a policy of `cdc-2008` with these lines.
#[track_caller]
pub fn assert_silent_under(rule: &Rule, base: &str, edits: &[Edit<'_>], toml: &str) {
    let found = finds(rule, base, edits, &site(toml));
    assert!(!found, "{} found something", rule.id);
}

/// What a rule answers of the load under a policy of `cdc-2008` with these lines: `found` or `met`, the words, and the
/// lines that prove it, in the order in which they are cited. Nothing when the rule was not asked.
pub fn answers(rule: &str, base: &str, edits: &[Edit<'_>], toml: &str) -> Vec<Answer> {
    let text = edited(base, edits);
    let lines: Vec<&str> = text.lines().collect();
    let cited = |evidence: &[Evidence]| -> Vec<String> {
        let places = evidence.iter().flat_map(|one| {
            let spans = one.spans.iter().map(|span| span.line);
            spans.chain(one.readings.iter().map(|reading| reading.line))
        });
        let line = |at: u32| lines[at as usize - 1].to_owned();
        places.map(line).collect()
    };
    let judgement = judge(&text, &site(toml), None);
    let hits = judgement.hits.iter().filter(|hit| hit.rule.0 == rule);
    let met = judgement.met.iter().filter(|met| met.rule.0 == rule);
    hits.map(|hit| Answer {
        how: "found",
        words: hit.seen.to_string(),
        lines: cited(&hit.evidence),
    })
    .chain(met.map(|met| Answer {
        how: "met",
        words: met.evidence.words.to_string(),
        lines: cited(std::slice::from_ref(&met.evidence)),
    }))
    .collect()
}

/// One answer of a rule.
#[derive(Debug)]
pub struct Answer {
    /// `found` or `met`.
    pub how: &'static str,
    /// What was seen.
    pub words: String,
    /// The lines that prove it.
    pub lines: Vec<String>,
}
