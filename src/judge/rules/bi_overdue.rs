//! Was the biological indicator read while it could be?

use crate::judge::bi_test::{Nothing, Standing, find_own_tests, is_asked_for, name_vial};
use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};

/// Was the biological indicator read while it could be?
pub static RULE: Rule = Rule {
    id: RuleId("bi-overdue"),
    question: "Was the biological indicator read while it could be?",
    sources: &[Source::CommonPractice],
    effect: Effect::Hold,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    if is_asked_for(case).is_none() {
        return Verdict::NotAsked;
    }
    let findings = find_own_tests(case)
        .iter()
        .filter(|(_, standing)| *standing == Standing::Proves(Nothing::NeverRead))
        .map(|(test, _)| {
            Finding::new(
                format!(
                    "the {} was not read within its longest incubation",
                    name_vial(test.says)
                ),
                Evidence::at(test.span(), "put to incubation"),
                "find the reading; if there is none, the test proves nothing and another has to",
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
    fn read_vial_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }

    #[test]
    fn vial_forgotten_for_weeks_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[
                (
                    "2026-03-13 08:45 bi: P1-0312-01, role test",
                    "2026-03-13 08:45 bi: P1-0312-02, role test",
                ),
                (
                    "2026-03-13 09:00 release: P1-0312-01, by MK",
                    "2026-04-13 09:00 remark: four weeks on",
                ),
            ],
        );
    }
}
