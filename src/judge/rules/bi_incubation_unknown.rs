//! Does the log say when the biological indicator was put to incubation and read?

use crate::judge::bi_test::{Timing, find_timing, is_asked_for};
use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};
use crate::record::entry::BiGrowth;

/// Does the log say when the biological indicator was put to incubation and read?
pub static RULE: Rule = Rule {
    id: RuleId("bi-incubation-unknown"),
    question: "Does the log say when the biological indicator was put to incubation and read?",
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
    let Some(schedule) = case.schedule() else {
        return Verdict::NotAsked;
    };
    let findings = case
        .bi_tests()
        .iter()
        .filter(
            |test| matches!(&test.says.growth, Some(growth) if growth.value == BiGrowth::NoGrowth),
        )
        .filter(|test| find_timing(schedule, test) == Timing::Unknown)
        .map(|test| {
            Finding::new(
                "no growth was read, and the log does not say how long the indicator was incubated",
                Evidence::at(test.span(), "the reading as written"),
                "write into the log when it was put to incubation and when it was read",
            )
        });
    Verdict::found_or_not_asked(findings.collect())
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn reading_without_its_times_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "read 2026-03-13 08:45, result no growth",
                "result no growth",
            )],
        );
    }

    #[test]
    fn timed_reading_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
