//! Does a steam load lie outside the span that another load's growing indicator puts in doubt?

use crate::judge::bi_test::name_vial;
use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::growth_scope::{find_growth_around, holds_implant, load_of};
use crate::judge::publication::{CDC_2008, MMWR_2003};
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};
use crate::record::cycle::Process;

/// Does a steam load lie outside the span that another load's growing indicator puts in doubt?
pub static RULE: Rule = Rule {
    id: RuleId("steam-bi-growth-in-unit"),
    question: "Does a steam load lie outside the span that another load's growing indicator puts in doubt?",
    sources: &[
        Source::seen(
            CDC_2008,
            2008,
            "Table 12, step 2: a single positive without other fault, repeat in three consecutive cycles",
        ),
        Source::seen(
            MMWR_2003,
            2003,
            "the more conservative approach recalls at once",
        ),
    ],
    effect: Effect::Note,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    if case.process() != Some(Process::Steam) || holds_implant(case) {
        return Verdict::NotAsked;
    }
    let findings = find_growth_around(case)
        .into_iter()
        .map(|test| {
            Finding::new(
                format!("the {} of load {} in the same steam unit grew", name_vial(test.says), load_of(&test)),
                Evidence::at(test.span(), "the reading as written"),
                "repeat the indicator in three consecutive cycles; if one grows, recall from the last negative one on",
            )
        })
        .collect();
    Verdict::found_or_not_asked(findings)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{STEAM, assert_silent};

    #[test]
    fn unit_without_growth_is_silent() {
        assert_silent(&RULE, STEAM, &[]);
    }
}
