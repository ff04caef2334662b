//! Does the printout give an outcome?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};

/// Does the printout give an outcome?
pub static RULE: Rule = Rule {
    id: RuleId("outcome-not-printed"),
    question: "Does the printout give an outcome?",
    sources: &[Source::CommonPractice],
    effect: Effect::Hold,
    floor: Some(Effect::Hold),
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let Some(known) = case.last() else {
        return Verdict::NotAsked;
    };
    if let Some(outcome) = &known.cycle.outcome {
        return Verdict::Met(Evidence::at(outcome.span, "the outcome as printed"));
    }
    Verdict::found(
        "the printout gives no outcome",
        Evidence::at(known.cycle.opening, "this printout has no `outcome`"),
        "find the rest of the strip, or print the cycle again from the unit's memory",
    )
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn strip_without_an_outcome_is_found() {
        assert_found(&RULE, PLASMA, &[("outcome: completed\n", "")]);
    }

    #[test]
    fn printed_outcome_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
