//! Is there a biological indicator in the load that holds an implant?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::MMWR_2003;
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};

/// Is there a biological indicator in the load that holds an implant?
pub static RULE: Rule = Rule {
    id: RuleId("implant-without-bi"),
    question: "Is there a biological indicator in the load that holds an implant?",
    sources: &[Source::seen(
        MMWR_2003,
        2003,
        "VI.F.7: for every load that contains an implantable device",
    )],
    effect: Effect::Hold,
    floor: Some(Effect::Hold),
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let implants: Vec<_> = case
        .contents()
        .iter()
        .filter(|content| {
            content
                .says
                .implant
                .as_ref()
                .is_some_and(|implant| implant.value)
        })
        .map(|content| content.span())
        .collect();
    if implants.is_empty() {
        return Verdict::NotAsked;
    }
    let tests: Vec<_> = case.bi_tests().iter().map(|test| test.span()).collect();
    if tests.is_empty() {
        return Verdict::found(
            "the load holds an implant and no biological indicator",
            Evidence::at_all(implants, "the implant as listed"),
            "hold the load; without a biological indicator of its own it has to be processed again with one",
        );
    }
    Verdict::Met(Evidence::at_all(
        tests,
        "a biological indicator went with the implant",
    ))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn implant_without_one_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[
                ("implant no", "implant yes"),
                ("08:40 bi: P1-0312-01", "08:40 bi: X-1"),
                ("08:41 bi: P1-0312-01", "08:41 bi: X-1"),
                ("08:45 bi: P1-0312-01", "08:45 bi: X-1"),
                ("08:46 bi: P1-0312-01", "08:46 bi: X-1"),
            ],
        );
    }

    #[test]
    fn implant_with_one_is_silent() {
        assert_silent(&RULE, PLASMA, &[("implant no", "implant yes")]);
    }
}
