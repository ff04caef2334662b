//! Was no growth read only after the least incubation?

use crate::judge::bi_test::{Timing, find_timing, has_no_growth, is_asked_for};
use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};

/// Was no growth read only after the least incubation?
pub static RULE: Rule = Rule {
    id: RuleId("bi-read-too-early"),
    question: "Was no growth read only after the least incubation?",
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
    let least = schedule.min_incubation_hours;
    let findings = case.bi_tests().iter().filter_map(|test| match find_timing(schedule, test) {
        Timing::TooEarly(hours) if has_no_growth(test) => Some(Finding::new(
            format!("no growth was read after {hours:.1} h of incubation, and the least is {least} h"),
            Evidence::at(test.span(), "the reading as written"),
            "incubate the indicator to its time by its instructions for use, and read it again",
        )),
        _ => None,
    });
    Verdict::found_or_not_asked(findings.collect())
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn reading_a_minute_early_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "incubated 2026-03-12 08:40, read 2026-03-13 08:45, result no",
                "incubated 2026-03-12 08:40, read 2026-03-13 08:39, result no",
            )],
        );
    }

    #[test]
    fn reading_on_the_hour_is_silent() {
        assert_silent(
            &RULE,
            PLASMA,
            &[(
                "incubated 2026-03-12 08:40, read 2026-03-13 08:45, result no",
                "incubated 2026-03-12 08:40, read 2026-03-13 08:40, result no",
            )],
        );
    }
}
