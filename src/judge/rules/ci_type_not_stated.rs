//! Does the log give position and type of every chemical indicator?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::ISO_11140_1;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};

/// Does the log give position and type of every chemical indicator?
pub static RULE: Rule = Rule {
    id: RuleId("ci-type-not-stated"),
    question: "Does the log give position and type of every chemical indicator?",
    sources: &[Source::seen(ISO_11140_1, 2014, "types 1 to 6")],
    effect: Effect::Note,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let findings = case
        .cis()
        .iter()
        .filter(|ci| ci.says.ci_type.is_none() || ci.says.position.is_none())
        .map(|ci| {
            Finding::new(
                "the log does not give position and type of a chemical indicator",
                Evidence::at(ci.span(), "the indicator as written"),
                "write both into the log",
            )
        })
        .collect();
    Verdict::found_or_not_asked(findings)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn indicator_without_a_type_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[("position internal, type 4, set", "position internal, set")],
        );
    }

    #[test]
    fn typed_indicators_are_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
