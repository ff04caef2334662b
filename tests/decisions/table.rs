//! The decision table: every case of `cases/`, read by the real parser, joined and judged.

use loadbook::judge::rulebook::{Known, RULES};
use loadbook::selftest::case::Cases;
use loadbook::selftest::decisions::{check, judge};
use loadbook::selftest::reference::References;
use loadbook::selftest::written_case::{self, WrittenCase};
use std::collections::BTreeSet;

/// Every case of every file.
fn read_cases(references: &References) -> Vec<WrittenCase> {
    references
        .names()
        .filter_map(|name| name.strip_prefix("decisions/cases/")?.strip_suffix(".txt"))
        .flat_map(|file| written_case::read_cases(references, file).unwrap())
        .collect()
}

/// Those that rest on common practice or on the policy of the case; the others are cases of `selftest`.
#[test]
fn every_case_without_a_publication_has_the_decision_worked_out_by_hand() {
    let references = References::embedded();
    let written = read_cases(&references);
    assert!(written.len() >= 150, "{} cases", written.len());
    let mut cases = Cases::default();
    for case in &written {
        assert!(!case.source.is_empty(), "{} names no source", case.place);
        if case.known().is_none() {
            let name = format!("{} {}", case.place, case.name);
            // How it is known is not told here.
            cases.add(name, case.source.as_str(), Known::Calculated, |run| {
                check(run, case, &references)
            });
        }
    }
    let wrong: Vec<_> = cases.run.iter().filter(|case| !case.passes()).collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn names_of_cases_are_their_own() {
    let cases = read_cases(&References::embedded());
    let names: BTreeSet<(&str, &str)> = cases
        .iter()
        .map(|case| (case.place.split(':').next().unwrap(), case.name.as_str()))
        .collect();
    assert_eq!(names.len(), cases.len());
}

#[test]
fn every_rule_stands_in_a_case() {
    let cases = read_cases(&References::embedded());
    let named: BTreeSet<&str> = cases
        .iter()
        .flat_map(|case| [case.words("rules"), case.words("also")].concat())
        .collect();
    let without: Vec<&str> = RULES
        .iter()
        .map(|rule| rule.id.0)
        .filter(|id| !named.contains(id))
        .collect();
    // The time at which a cycle began is inferred in too many ways for one text; its unit test has a case.
    assert_eq!(without, ["cycle-time-unknown"]);
}

#[test]
fn every_judgement_says_why_and_what_would_change_it() {
    let references = References::embedded();
    for case in read_cases(&references) {
        let judgement = judge(&case, &references).unwrap();
        assert!(!judgement.would_change.is_empty(), "{}", case.place);
        let last = judgement.history.last().unwrap();
        assert_eq!(last.decision, judgement.decision, "{}", case.place);
        for hit in &judgement.hits {
            assert!(
                !hit.seen.is_empty() && !hit.remedy.is_empty(),
                "{}",
                case.place
            );
            assert!(!hit.evidence.is_empty(), "{} {}", case.place, hit.rule);
        }
        for sentence in &judgement.would_change {
            assert!(sentence.ends_with('.'), "{}: {sentence}", case.place);
        }
    }
}
