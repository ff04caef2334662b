//! Did the unit's clock run evenly through the cycle?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};

/// Did the unit's clock run evenly through the cycle?
pub static RULE: Rule = Rule {
    id: RuleId("clock-changed-in-cycle"),
    question: "Did the unit's clock run evenly through the cycle?",
    sources: &[Source::CommonPractice],
    effect: Effect::Hold,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let Some(known) = case.last() else {
        return Verdict::NotAsked;
    };
    let (Some(printed), Some(real)) = (&known.cycle.ended, known.seconds()) else {
        return Verdict::NotAsked;
    };
    let lag = i64::from(printed.value.0)
        .saturating_sub(real)
        .saturating_abs();
    let backwards = known
        .cycle
        .stages
        .iter()
        .zip(known.cycle.stages.iter().skip(1))
        .find(|(before, after)| after.began < before.began);
    if lag <= 60 && backwards.is_none() {
        return Verdict::NotAsked;
    }
    let at = backwards.map_or(printed.span, |(_, after)| after.span);
    Verdict::found(
        "the unit's clock was changed while the cycle ran, so that the lengths of its stages are not proven",
        Evidence::at(at, "a time that does not follow on the one before it"),
        "work out the length of each stage from the unit's memory or an independent record",
    )
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn even_clock_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }

    #[test]
    fn hour_skipped_in_spring_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[
                (
                    "started: 2026-03-12 07:41:20",
                    "started: 2026-03-29 00:41:20",
                ),
                (
                    "stage: evacuate, at 07:41:30",
                    "stage: evacuate, at 00:41:30",
                ),
                ("07:42:30 pressure", "00:42:30 pressure"),
                ("07:49:30 pressure", "00:49:30 pressure"),
                ("stage: inject, at 07:50:10", "stage: inject, at 00:50:10"),
                ("07:51:10 pressure", "00:51:10 pressure"),
                ("stage: diffuse, at 07:56:10", "stage: diffuse, at 00:56:10"),
                ("08:02:10 pressure", "02:02:10 pressure"),
                ("stage: plasma, at 08:04:10", "stage: plasma, at 02:04:10"),
                ("08:05:10 pressure", "02:05:10 pressure"),
                ("stage: vent, at 08:12:10", "stage: vent, at 02:12:10"),
                ("08:20:10 pressure", "02:20:10 pressure"),
                ("ended: 08:22:05", "ended: 02:22:05"),
                ("total: 00:40:45, readings 6\n", ""),
                ("date: 2026-03-12", "date: 2026-03-29"),
            ],
        );
    }
}
