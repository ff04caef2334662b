//! Did no biological indicator of the load grow?

use crate::judge::bi_test::name_vial;
use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::{CDC_2008, MMWR_2003};
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};
use crate::record::entry::BiGrowth;

/// Did no biological indicator of the load grow?
pub static RULE: Rule = Rule {
    id: RuleId("bi-growth"),
    question: "Did no biological indicator of the load grow?",
    sources: &[
        Source::seen(
            CDC_2008,
            2008,
            "recommendations on biological indicators (via copy)",
        ),
        Source::seen(MMWR_2003, 2003, "positive spore test"),
    ],
    effect: Effect::Reject,
    floor: Some(Effect::Reject),
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let mut findings = Vec::new();
    let mut clear = Vec::new();
    for test in case.bi_tests() {
        let Some(growth) = &test.says.growth else {
            continue;
        };
        match growth.value {
            BiGrowth::NoGrowth => clear.push(test.span()),
            BiGrowth::Growth => findings.push(Finding::new(
                format!("the {} grew", name_vial(test.says)),
                Evidence::at(test.span(), "the reading as written"),
                "take the unit out of service, find what else is in the scope of recall, and process the load again",
            )),
        }
    }
    if findings.is_empty() && clear.is_empty() {
        return Verdict::NotAsked;
    }
    Verdict::found_or_met(findings, || {
        Evidence::at_all(clear, "the biological indicator did not grow")
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn growth_is_found() {
        assert_found(&RULE, PLASMA, &[("result no growth", "result growth")]);
    }

    #[test]
    fn no_growth_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }

    #[test]
    fn growing_control_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
