//! Has the biological indicator that went with the implant been read, and did it count?

use crate::judge::bi_test::{Standing, find_own_tests};
use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::MMWR_2003;
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};

/// Has the biological indicator that went with the implant been read, and did it count?
pub static RULE: Rule = Rule {
    id: RuleId("implant-bi-not-read"),
    question: "Has the biological indicator that went with the implant been read, and did it count?",
    sources: &[Source::seen(
        MMWR_2003,
        2003,
        "VI.F.7: quarantined until the results",
    )],
    effect: Effect::Quarantine,
    floor: Some(Effect::Quarantine),
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
    let tests = find_own_tests(case);
    if implants.is_empty() || tests.is_empty() {
        return Verdict::NotAsked;
    }
    let satisfactory = tests
        .iter()
        .find(|(_, standing)| *standing == Standing::Satisfactory);
    match satisfactory {
        Some((test, _)) => Verdict::Met(Evidence::at(
            test.span(),
            "the biological indicator with the implant did not grow",
        )),
        None => Verdict::found(
            "the load holds an implant, and its biological indicator gives no satisfactory result yet",
            Evidence::at_all(implants, "the implant as listed"),
            "keep the implant until its biological indicator and the control are read",
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn implant_before_the_reading_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[
                ("implant no", "implant yes"),
                (
                    "2026-03-13 08:45 bi: P1-0312-01, role test",
                    "2026-03-13 08:45 bi: X-1, role test",
                ),
            ],
        );
    }

    #[test]
    fn implant_after_the_reading_is_silent() {
        assert_silent(&RULE, PLASMA, &[("implant no", "implant yes")]);
    }
}
