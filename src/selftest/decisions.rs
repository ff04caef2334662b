//! Decisions: cases with answers worked out by hand from published clauses, read, joined and judged.

use super::case::{Case, Cases};
use super::reference::References;
use super::written_case::{WrittenCase, read_cases};
use crate::judge::decision::{Judgement, RuleHit};
use crate::judge::judge_history;
use crate::judge::policy::PolicyBook;
use crate::judge::rulebook::Known;
use crate::parse::{Strictness, read_bytes};
use crate::reconcile::{Site, join_history};
use chrono::NaiveDateTime;
use std::collections::BTreeSet;

/// Runs those cases of a file whose answers rest on something outside the project.
pub fn run(file: &str, references: &References, cases: &mut Cases) {
    match read_cases(references, file) {
        Ok(written) => {
            for one in &written {
                if let Some(known) = one.known() {
                    cases.add(one.name.as_str(), one.source.as_str(), known, |case| {
                        check(case, one, references)
                    });
                }
            }
        }
        Err(why) => cases.add(file, "the cases' own file", Known::Seen, |case| {
            case.answer("cases", Err::<(), _>(why))
        }),
    }
}

/// Compares a case's judgement with the answer written beside it.
pub fn check(case: &mut Case, written: &WrittenCase, references: &References) -> Option<()> {
    let judged = judge(written, references);
    let judgement = case.answer("judgement", judged)?;
    let decision = judgement.decision.to_string();
    case.same("decision", decision.as_str(), written.value("decision")?);
    let rules = ids(judgement.deciding());
    case.same("rules that decide", rules, written.words("rules"));
    let all = ids(&judgement.hits);
    for id in written.words("also") {
        case.holds(format!("{id} found something"), all.contains(&id));
    }
    let steps: Vec<&str> = written.values("step").collect();
    if !steps.is_empty() {
        let mut history = judgement.history.clone();
        history.dedup_by_key(|step| step.decision);
        let found: Option<Vec<String>> = history
            .iter()
            .map(|step| {
                let since = step.since?.format("%Y-%m-%d %H:%M:%S");
                Some(format!("{since} {}", step.decision))
            })
            .collect();
        case.same("steps", found?.join("; "), steps.join("; "));
    }
    Some(())
}

/// The load that a case is about, judged.
///
/// # Errors
/// What does not fit in the case, in a sentence.
pub fn judge(written: &WrittenCase, references: &References) -> Result<Judgement, String> {
    let error = |what: String| format!("{}: {what}", written.place);
    let text = written.text(references)?;
    let records = read_bytes(text.as_bytes(), Strictness::Infer);
    let n_unread = written.value("unread").unwrap_or("0");
    if records.unread.len().to_string() != n_unread {
        return Err(error(format!("unread: {:?}", records.unread)));
    }
    let (history, _) = join_history(records.cycles, records.entries, Site::default());
    let policies = written.policies();
    let files: Vec<(&str, &str)> = policies
        .iter()
        .map(|(name, text)| (name.as_str(), text.as_str()))
        .collect();
    let book = PolicyBook::read_policies(&files).map_err(|why| error(format!("{why:?}")))?;
    let as_of = match written.value("as-of") {
        None => None,
        Some(text) => Some(
            NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M")
                .map_err(|why| error(why.to_string()))?,
        ),
    };
    let judgements = judge_history(&history, &book, as_of).loads.into_iter();
    // A number on two units makes two loads of it; the case is about the one of the base, which comes last.
    let mut of_base = judgements.filter(|one| {
        let load = history.loads.get(one.load.0);
        load.is_some_and(|load| load.number.0.ends_with("1-0312-01"))
    });
    of_base
        .next_back()
        .ok_or_else(|| error("its load was not judged".to_owned()))
}

fn ids<'h>(hits: impl IntoIterator<Item = &'h RuleHit>) -> Vec<&'static str> {
    let ids: BTreeSet<&'static str> = hits.into_iter().map(|hit| hit.rule.0).collect();
    ids.into_iter().collect()
}
