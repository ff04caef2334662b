//! When a person let the load go, did the records support it?

use crate::judge::case::Case;
use crate::judge::decision::Decision;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};

/// When a person let the load go, did the records support it?
pub static RULE: Rule = Rule {
    id: RuleId("released-before-evidence"),
    question: "When a person let the load go, did the records support it?",
    sources: &[Source::CommonPractice],
    effect: Effect::Note,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let mut findings = Vec::new();
    for release in case.releases() {
        let Some(at) = release.written() else {
            continue;
        };
        // The decision as it stood just before that minute.
        let before = case.decision_before(at);
        if let Some(step) = before
            && step.decision != Decision::Release
        {
            let rules: Vec<&str> = step.rules.iter().map(|rule| rule.0).collect();
            findings.push(Finding::new(
                format!(
                    "a person let the load go while the records said {}: {}",
                    step.decision,
                    rules.join(", ")
                ),
                Evidence::at(release.span(), "the release as written"),
                "find out why it was let go then",
            ));
        }
    }
    Verdict::found_or_not_asked(findings)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn release_before_the_reading_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[("2026-03-13 09:00 release", "2026-03-12 09:00 release")],
        );
    }

    #[test]
    fn release_after_the_reading_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
