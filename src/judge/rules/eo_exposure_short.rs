//! Was the load exposed to ethylene oxide for at least the published time?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::CDC_2008;
use crate::judge::rulebook::{Effect, Parameter, Rule, RuleId, Source, Verdict};
use crate::judge::stages::{say_seconds, seconds_of, stages_named};
use crate::record::cycle::{Process, StageName};

/// Was the load exposed to ethylene oxide for at least the published time?
pub static RULE: Rule = Rule {
    id: RuleId("eo-exposure-short"),
    question: "Was the load exposed to ethylene oxide for at least the published time?",
    sources: &[Source::seen(CDC_2008, 2008, "Table 1: 1 to 6 hours")],
    effect: Effect::Reject,
    floor: None,
    parameters: &[HOURS],
    evaluate,
};

/// The shortest exposure.
const HOURS: Parameter = Parameter::number(
    "hours",
    "h",
    1.0,
    (0.1, 24.0),
    "the shortest exposure",
    Source::seen(CDC_2008, 2008, "Table 1: 1 to 6 hours"),
);

fn evaluate(case: &Case<'_>) -> Verdict {
    let (Some(known), Some(Process::Eo)) = (case.completed(), case.process()) else {
        return Verdict::NotAsked;
    };
    let cycle = &known.cycle;
    let least = case.number(&RULE, &HOURS) * 3_600.0;
    let longest = stages_named(cycle, &StageName::Expose)
        .filter_map(|(at, stage)| Some((seconds_of(cycle, at)?, stage.span)))
        .max_by_key(|(seconds, _)| *seconds);
    match longest {
        None => Verdict::found(
            "the length of the exposure can't be told",
            Evidence::at(cycle.opening, "no exposure with an end"),
            "find the end of the exposure on the original strip",
        ),
        Some((seconds, span)) if f64::from(seconds) >= least => Verdict::Met(Evidence::at(
            span,
            format!("exposed for {}", say_seconds(f64::from(seconds))),
        )),
        Some((seconds, span)) => Verdict::found(
            format!(
                "the exposure lasted {}, less than {}",
                say_seconds(f64::from(seconds)),
                say_seconds(least)
            ),
            Evidence::at(span, "the exposure as printed"),
            "have the unit looked at; let aeration end, and process the load again",
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{EO, assert_found, assert_silent};

    #[test]
    fn exposure_of_fifty_nine_minutes_is_found() {
        assert_found(
            &RULE,
            EO,
            &[
                (", limit duration 120 min min\n09:30", "\n09:30"),
                ("10:30:00 pressure", "09:50:00 pressure"),
                ("stage: exhaust, at 11:01:00", "stage: exhaust, at 10:00:59"),
            ],
        );
    }

    #[test]
    fn exposure_of_an_hour_is_silent() {
        assert_silent(
            &RULE,
            EO,
            &[
                (", limit duration 120 min min\n09:30", "\n09:30"),
                ("10:30:00 pressure", "09:50:00 pressure"),
                ("stage: exhaust, at 11:01:00", "stage: exhaust, at 10:01:00"),
            ],
        );
    }
}
