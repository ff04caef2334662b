//! Did every stage end within its printed limit?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};
use crate::judge::stages::{say_seconds, seconds_of};
use crate::record::cycle::{Bound, LimitValue};

/// Did every stage end within its printed limit?
pub static RULE: Rule = Rule {
    id: RuleId("stage-too-long"),
    question: "Did every stage end within its printed limit?",
    sources: &[Source::CommonPractice],
    effect: Effect::Hold,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let Some(known) = case.completed() else {
        return Verdict::NotAsked;
    };
    let cycle = &known.cycle;
    let mut findings = Vec::new();
    let mut kept = Vec::new();
    for (at, stage) in cycle.stages.iter().enumerate() {
        for limit in stage
            .limits
            .iter()
            .filter(|limit| limit.bound == Bound::Max)
        {
            let (LimitValue::Duration(limit), Some(seconds)) = (limit.value, seconds_of(cycle, at))
            else {
                continue;
            };
            let lasted = f64::from(seconds);
            if lasted > limit.seconds() {
                findings.push(Finding::new(
                    format!(
                        "the stage {} lasted {}, longer than its limit of {}",
                        stage.name.word(),
                        say_seconds(lasted),
                        say_seconds(limit.seconds())
                    ),
                    Evidence::at(stage.span, "the stage and its limit as printed"),
                    "find out why the unit printed a completed cycle, and have it looked at",
                ));
            } else {
                kept.push(stage.span);
            }
        }
    }
    if findings.is_empty() && kept.is_empty() {
        return Verdict::NotAsked;
    }
    Verdict::found_or_met(findings, || {
        Evidence::at_all(kept, "no stage was longer than its limit")
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn evacuation_over_its_limit_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[("limit duration 20 min max", "limit duration 8 min max")],
        );
    }

    #[test]
    fn evacuation_within_its_limit_is_silent() {
        assert_silent(
            &RULE,
            PLASMA,
            &[("limit duration 20 min max", "limit duration 9 min max")],
        );
    }
}
