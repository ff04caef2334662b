//! Is a cycle that was printed as completed free of alarms?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};

/// Is a cycle that was printed as completed free of alarms?
pub static RULE: Rule = Rule {
    id: RuleId("alarm-in-completed-cycle"),
    question: "Is a cycle that was printed as completed free of alarms?",
    sources: &[Source::CommonPractice],
    effect: Effect::Hold,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let Some(known) = case.completed() else {
        return Verdict::NotAsked;
    };
    let findings: Vec<Finding> = known
        .cycle
        .alarms()
        .map(|(event, cause)| {
            Finding::new(
                format!("the unit gave an alarm ({}) and printed that the cycle was completed", cause.said()),
                Evidence::at(event.span, "the alarm as printed"),
                "find out what the alarm means by the unit's instructions for use, and write it in the log",
            )
        })
        .collect();
    Verdict::found_or_met(findings, || {
        Evidence::at(known.cycle.opening, "the printout has no alarm")
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn alarm_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "stage: plasma",
                "alarm: 08:03:00, temperature-low\nstage: plasma",
            )],
        );
    }

    #[test]
    fn event_is_silent() {
        assert_silent(
            &RULE,
            PLASMA,
            &[(
                "stage: plasma",
                "event: 08:03:00, door locked\nstage: plasma",
            )],
        );
    }
}
