//! Was the last air-removal test before the load passed?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::CDC_2008;
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};
use crate::record::cycle::{Outcome, Process, Purpose};

/// Was the last air-removal test before the load passed?
pub static RULE: Rule = Rule {
    id: RuleId("air-removal-test-not-passed"),
    question: "Was the last air-removal test before the load passed?",
    sources: &[Source::memory(
        CDC_2008,
        2008,
        "Bowie-Dick test: a unit that fails is not used until it passes",
    )],
    effect: Effect::Reject,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let (Some(_), Some(Process::Steam)) = (case.last(), case.process()) else {
        return Verdict::NotAsked;
    };
    let Some(test) = case.unit_tests(Purpose::AirRemovalTest).next() else {
        return Verdict::NotAsked;
    };
    match &test.cycle.outcome {
        Some(outcome) if outcome.value == Outcome::Passed => Verdict::Met(Evidence::at(
            outcome.span,
            "the unit's last air-removal test was passed",
        )),
        outcome => Verdict::found(
            "the unit's last air-removal test before the load was not passed",
            Evidence::at(
                outcome
                    .as_ref()
                    .map_or(test.cycle.opening, |outcome| outcome.span),
                "the air-removal test",
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
                "ended: 07:05:00\noutcome: passed",
                "ended: 07:05:00\noutcome: failed",
            )],
        );
    }

    #[test]
    fn passed_test_is_silent() {
        assert_silent(&RULE, STEAM, &[]);
    }
}
