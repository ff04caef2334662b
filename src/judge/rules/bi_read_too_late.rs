//! Was no growth read before the longest incubation had passed?

use crate::judge::bi_test::{Timing, find_timing, is_asked_for};
use crate::judge::case::{Case, Seen};
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};
use crate::record::entry::{BiGrowth, BiResult};

/// Was no growth read before the longest incubation had passed?
pub static RULE: Rule = Rule {
    id: RuleId("bi-read-too-late"),
    question: "Was no growth read before the longest incubation had passed?",
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
    let most = schedule.max_incubation_hours;
    let findings = case.bi_tests().iter().filter_map(|test| match find_timing(schedule, test) {
        Timing::TooLate(hours) if has_no_growth(test) => Some(Finding::new(
            format!("no growth was read after {hours:.1} h of incubation, and the longest is {most} h"),
            Evidence::at(test.span(), "the reading as written"),
            "the test proves nothing any more: another biological indicator has to",
        )),
        _ => None,
    });
    Verdict::found_or_not_asked(findings.collect())
}

fn has_no_growth(test: &Seen<'_, BiResult>) -> bool {
    matches!(&test.says.growth, Some(growth) if growth.value == BiGrowth::NoGrowth)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn reading_after_a_week_and_a_minute_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "incubated 2026-03-12 08:40, read 2026-03-13 08:45, result no",
                "incubated 2026-03-12 08:40, read 2026-03-19 08:41, result no",
            )],
        );
    }

    #[test]
    fn reading_after_a_week_is_silent() {
        assert_silent(
            &RULE,
            PLASMA,
            &[(
                "incubated 2026-03-12 08:40, read 2026-03-13 08:45, result no",
                "incubated 2026-03-12 08:40, read 2026-03-19 08:40, result no",
            )],
        );
    }
}
