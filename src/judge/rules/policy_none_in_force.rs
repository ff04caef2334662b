//! Is a policy in force on the day of the load?

use crate::judge::case::{Case, InForce};
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};

/// Is a policy in force on the day of the load?
pub static RULE: Rule = Rule {
    id: RuleId("policy-none-in-force"),
    question: "Is a policy in force on the day of the load?",
    sources: &[Source::CommonPractice],
    effect: Effect::Hold,
    floor: Some(Effect::Hold),
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    match case.in_force {
        InForce::Yes => Verdict::NotAsked,
        InForce::No => Verdict::found(
            "no policy is in force on the day of the load",
            case.place("the load's day lies outside every policy's period"),
            "give a policy whose period holds the day of the load",
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found_under, assert_silent_under};

    #[test]
    fn day_before_the_policy_is_found() {
        assert_found_under(&RULE, PLASMA, &[], "from = 2026-03-13");
    }

    #[test]
    fn first_day_of_the_policy_is_silent() {
        assert_silent_under(&RULE, PLASMA, &[], "from = 2026-03-12");
    }
}
