//! Has the biological indicator that the policy asks for been read?

use crate::judge::bi_test::{Nothing, Standing, find_own_tests, is_asked_for, name_vial};
use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::MMWR_2003;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};

/// Has the biological indicator that the policy asks for been read?
pub static RULE: Rule = Rule {
    id: RuleId("bi-not-read"),
    question: "Has the biological indicator that the policy asks for been read?",
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
    let Some(why) = is_asked_for(case) else {
        return Verdict::NotAsked;
    };
    let tests = find_own_tests(case);
    let read: Vec<_> = tests
        .iter()
        .filter(|(test, _)| test.says.growth.is_some())
        .map(|(test, _)| test.span())
        .collect();
    let waiting: Vec<Finding> = tests
        .iter()
        .filter(|(test, _)| test.says.growth.is_none())
        .map(|(test, standing)| {
            let overdue = *standing == Standing::Proves(Nothing::NeverRead);
            let late = if overdue {
                ", and the longest incubation has passed"
            } else {
                ""
            };
            Finding::new(
                format!("the {} is not read{late}; {why}", name_vial(test.says)),
                Evidence::at(test.span(), "put to incubation"),
                "read the biological indicator when its incubation ends, with its control",
            )
        })
        .collect();
    if waiting.is_empty() && read.is_empty() {
        return Verdict::NotAsked;
    }
    Verdict::found_or_met(waiting, || {
        Evidence::at_all(read, "the biological indicator was read")
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn vial_in_incubation_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "2026-03-13 08:45 bi: P1-0312-01, role test",
                "2026-03-13 08:45 bi: P1-0312-02, role test",
            )],
        );
    }

    #[test]
    fn read_vial_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
