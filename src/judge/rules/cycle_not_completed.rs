//! Did the unit print that the cycle was completed?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::{CDC_DENTAL, MMWR_2003};
use crate::judge::rulebook::{Effect, Known, Rule, RuleId, Source, Verdict};
use crate::record::cycle::Outcome;

/// Did the unit print that the cycle was completed?
pub static RULE: Rule = Rule {
    id: RuleId("cycle-not-completed"),
    question: "Did the unit print that the cycle was completed?",
    sources: &[
        Source::Published {
            title: CDC_DENTAL,
            year: None,
            section: "do not use packages if the physical record shows that time, temperature or pressure was not met",
            known: Known::Seen,
        },
        Source::seen(
            MMWR_2003,
            2003,
            "sterilization monitoring: mechanical indicators",
        ),
    ],
    effect: Effect::Reject,
    floor: Some(Effect::Reject),
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let Some(outcome) = case.last().and_then(|known| known.cycle.outcome.as_ref()) else {
        return Verdict::NotAsked;
    };
    let seen = match &outcome.value {
        Outcome::Completed => {
            return Verdict::Met(Evidence::at(
                outcome.span,
                "the unit printed that the cycle was completed",
            ));
        }
        Outcome::Aborted { stage, cause } => {
            let stage = stage
                .as_ref()
                .map(|stage| format!(" in the stage {}", stage.word()));
            let cause = cause.as_ref().map(|cause| format!(": {}", cause.said()));
            format!(
                "the cycle was aborted{}{}",
                stage.unwrap_or_default(),
                cause.unwrap_or_default()
            )
        }
        Outcome::Rejected { cause } => {
            let cause = cause.as_ref().map(|cause| format!(": {}", cause.said()));
            format!(
                "the unit refused the load before its exposure{}",
                cause.unwrap_or_default()
            )
        }
        Outcome::Passed | Outcome::Failed => {
            "the printed outcome is that of a test, not that of a load".to_owned()
        }
    };
    Verdict::found(
        seen,
        Evidence::at(outcome.span, "the outcome as printed"),
        "follow the unit's instructions for use, remove the cause and process the load again",
    )
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, STEAM, assert_found, assert_silent};

    #[test]
    fn aborted_cycle_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "outcome: completed",
                "outcome: aborted, stage evacuate, cause moisture",
            )],
        );
    }

    #[test]
    fn refused_load_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "outcome: completed",
                "outcome: rejected, cause sterilant-expired",
            )],
        );
    }

    #[test]
    fn outcome_of_a_test_is_no_completion() {
        assert_found(
            &RULE,
            STEAM,
            &[(
                "readings 9\noutcome: completed",
                "readings 9\noutcome: passed",
            )],
        );
    }

    #[test]
    fn completed_cycle_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
