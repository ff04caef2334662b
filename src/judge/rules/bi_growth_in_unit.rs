//! Does the load lie outside the span that another load's growing indicator puts in doubt?

use crate::judge::bi_test::name_vial;
use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::growth_scope::{find_growth_around, holds_implant, load_of};
use crate::judge::publication::CDC_2008;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};
use crate::record::cycle::Process;

/// Does the load lie outside the span that another load's growing indicator puts in doubt?
pub static RULE: Rule = Rule {
    id: RuleId("bi-growth-in-unit"),
    question: "Does the load lie outside the span that another load's growing indicator puts in doubt?",
    sources: &[
        Source::seen(
            CDC_2008,
            2008,
            "recommendations on biological indicators: not steam, from the last negative to the next satisfactory indicator (via copy)",
        ),
        Source::seen(CDC_2008, 2008, "Table 12: steam, implants at once"),
    ],
    effect: Effect::Reject,
    floor: Some(Effect::Hold),
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let Some(process) = case.process() else {
        return Verdict::NotAsked;
    };
    if process == Process::Steam && !holds_implant(case) {
        return Verdict::NotAsked;
    }
    let findings = find_growth_around(case)
        .into_iter()
        .map(|test| {
            Finding::new(
                format!(
                    "the {} of load {} in the same unit grew, and no satisfactory indicator lies between that load and this one",
                    name_vial(test.says),
                    load_of(&test)
                ),
                Evidence::at(test.span(), "the reading as written"),
                "this load lies in the scope of recall: get it back if it has left, and process it again",
            )
        })
        .collect();
    Verdict::found_or_not_asked(findings)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_silent};

    #[test]
    fn unit_without_growth_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
