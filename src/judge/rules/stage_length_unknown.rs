//! Can the length of every stage that has a printed limit be told?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};
use crate::judge::stages::seconds_of;
use crate::record::cycle::LimitValue;

/// Can the length of every stage that has a printed limit be told?
pub static RULE: Rule = Rule {
    id: RuleId("stage-length-unknown"),
    question: "Can the length of every stage that has a printed limit be told?",
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
    let unknown = cycle.stages.iter().enumerate().filter(|(at, stage)| {
        let limited = stage
            .limits
            .iter()
            .any(|limit| matches!(limit.value, LimitValue::Duration(_)));
        limited && seconds_of(cycle, *at).is_none()
    });
    let findings = unknown.map(|(_, stage)| {
        Finding::new(
            format!(
                "the length of the stage {} can't be told",
                stage.name.word()
            ),
            Evidence::at(
                stage.span,
                "its end is not printed, or lies before its beginning",
            ),
            "find the end of the stage on the original strip",
        )
    });
    Verdict::found_or_not_asked(findings.collect())
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn last_stage_without_an_end_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[
                (
                    "stage: vent, at 08:12:10",
                    "stage: vent, at 08:12:10, limit duration 2 min min",
                ),
                ("ended: 08:22:05\ntotal: 00:40:45, readings 6\n", ""),
            ],
        );
    }

    #[test]
    fn unlimited_last_stage_is_silent() {
        assert_silent(
            &RULE,
            PLASMA,
            &[("ended: 08:22:05\ntotal: 00:40:45, readings 6\n", "")],
        );
    }
}
