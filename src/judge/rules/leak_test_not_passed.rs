//! Was the last leak test before the load passed?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::{EN_285, HTM_01_01};
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};
use crate::record::cycle::{Outcome, Process, Purpose};

/// Was the last leak test before the load passed?
pub static RULE: Rule = Rule {
    id: RuleId("leak-test-not-passed"),
    question: "Was the last leak test before the load passed?",
    sources: &[
        Source::memory(HTM_01_01, 2016, "part C: leak test"),
        Source::memory(EN_285, 2015, "vacuum leak test"),
    ],
    effect: Effect::Reject,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let (Some(_), Some(Process::Steam)) = (case.last(), case.process()) else {
        return Verdict::NotAsked;
    };
    let Some(test) = case.unit_tests(Purpose::LeakTest).next() else {
        return Verdict::NotAsked;
    };
    match &test.cycle.outcome {
        Some(outcome) if outcome.value == Outcome::Passed => Verdict::Met(Evidence::at(
            outcome.span,
            "the unit's last leak test was passed",
        )),
        outcome => Verdict::found(
            "the unit's last leak test before the load was not passed",
            Evidence::at(
                outcome
                    .as_ref()
                    .map_or(test.cycle.opening, |outcome| outcome.span),
                "the leak test",
            ),
            "repair and test the unit, and process the load again",
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{STEAM, assert_found, assert_silent};

    #[test]
    fn failed_test_is_found() {
        assert_found(
            &RULE,
            STEAM,
            &[(
                "ended: 06:31:00\noutcome: passed",
                "ended: 06:31:00\noutcome: failed",
            )],
        );
    }

    #[test]
    fn test_that_gives_no_outcome_is_found() {
        assert_found(
            &RULE,
            STEAM,
            &[("ended: 06:31:00\noutcome: passed", "ended: 06:31:00")],
        );
    }

    #[test]
    fn passed_test_is_silent() {
        assert_silent(&RULE, STEAM, &[]);
    }
}
