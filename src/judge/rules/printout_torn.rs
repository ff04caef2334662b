//! Is the printout whole, from its opening to its closing line?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};

/// Is the printout whole, from its opening to its closing line?
pub static RULE: Rule = Rule {
    id: RuleId("printout-torn"),
    question: "Is the printout whole, from its opening to its closing line?",
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
    let cycle = &known.cycle;
    if cycle.closed {
        return Verdict::Met(Evidence::at(
            cycle.opening,
            "the printout has its closing line",
        ));
    }
    Verdict::found(
        "the printout is torn: its closing line is missing",
        Evidence::at(cycle.opening, "this printout has no `end`"),
        "find the rest of the strip, or print the cycle again from the unit's memory",
    )
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn strip_without_its_end_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[("outcome: completed\nend\n", "outcome: completed\n")],
        );
    }

    #[test]
    fn whole_strip_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
