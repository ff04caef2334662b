//! Was the implant let go only after its biological indicator was read?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::MMWR_2003;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};

/// Was the implant let go only after its biological indicator was read?
pub static RULE: Rule = Rule {
    id: RuleId("implant-left-before-bi-read"),
    question: "Was the implant let go only after its biological indicator was read?",
    sources: &[Source::seen(
        MMWR_2003,
        2003,
        "VI.F.7: quarantined until the results",
    )],
    effect: Effect::Note,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let implants = case.contents().iter().any(|content| {
        content
            .says
            .implant
            .as_ref()
            .is_some_and(|implant| implant.value)
    });
    if !implants {
        return Verdict::NotAsked;
    }
    let read = case
        .bi_tests()
        .iter()
        .filter(|test| test.says.growth.is_some())
        .filter_map(|test| {
            test.says
                .read
                .as_ref()
                .map(|at| at.value.local)
                .or(test.written())
        })
        .min();
    let findings = case
        .releases()
        .iter()
        .filter(|release| match (release.written(), read) {
            (Some(released), Some(read)) => released < read,
            (_, None) => true,
            (None, Some(_)) => false,
        })
        .map(|release| {
            Finding::new(
                "a person let the implant go before its biological indicator was read",
                Evidence::at(release.span(), "the release as written"),
                "tell the infection preventionist; follow local policy on emergency release",
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
    fn early_release_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[
                ("implant no", "implant yes"),
                ("2026-03-13 09:00 release", "2026-03-12 09:00 release"),
            ],
        );
    }

    #[test]
    fn release_after_the_reading_is_silent() {
        assert_silent(&RULE, PLASMA, &[("implant no", "implant yes")]);
    }
}
