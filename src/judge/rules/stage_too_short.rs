//! Did every stage last as long as its printed limit asks?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::CDC_DENTAL;
use crate::judge::rulebook::{Effect, Finding, Known, Rule, RuleId, Source, Verdict};
use crate::judge::stages::{say_seconds, seconds_of};
use crate::record::cycle::{Bound, LimitValue};

/// Did every stage last as long as its printed limit asks?
pub static RULE: Rule = Rule {
    id: RuleId("stage-too-short"),
    question: "Did every stage last as long as its printed limit asks?",
    sources: &[Source::Published {
        title: CDC_DENTAL,
        year: None,
        section: "do not use packages if the physical record shows that time was not met",
        known: Known::Seen,
    }],
    effect: Effect::Reject,
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
            .filter(|limit| limit.bound == Bound::Min)
        {
            let (LimitValue::Duration(limit), Some(seconds)) = (limit.value, seconds_of(cycle, at))
            else {
                continue;
            };
            let lasted = f64::from(seconds);
            if lasted < limit.seconds() {
                findings.push(Finding::new(
                    format!(
                        "the stage {} lasted {}, shorter than its limit of {}",
                        stage.name.word(),
                        say_seconds(lasted),
                        say_seconds(limit.seconds())
                    ),
                    Evidence::at(stage.span, "the stage and its limit as printed"),
                    "have the unit looked at and process the load again",
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
        Evidence::at_all(kept, "no stage was shorter than its limit")
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn diffusion_of_five_minutes_fifty_nine_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[
                ("stage: plasma, at 08:04:10", "stage: plasma, at 08:02:09"),
                ("08:02:10 pressure", "08:02:08 pressure"),
            ],
        );
    }

    #[test]
    fn diffusion_of_six_minutes_is_silent() {
        assert_silent(
            &RULE,
            PLASMA,
            &[
                ("stage: plasma, at 08:04:10", "stage: plasma, at 08:02:10"),
                ("08:02:10 pressure", "08:02:08 pressure"),
            ],
        );
    }
}
