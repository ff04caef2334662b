//! Was the exposure to ethylene oxide within the published time?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::CDC_2008;
use crate::judge::rulebook::{Effect, Finding, Parameter, Rule, RuleId, Source, Verdict};
use crate::judge::stages::{say_seconds, seconds_of, stages_named};
use crate::record::cycle::{Process, StageName};

/// Was the exposure to ethylene oxide within the published time?
pub static RULE: Rule = Rule {
    id: RuleId("eo-exposure-long"),
    question: "Was the exposure to ethylene oxide within the published time?",
    sources: &[Source::seen(CDC_2008, 2008, "Table 1: 1 to 6 hours")],
    effect: Effect::Note,
    floor: None,
    parameters: &[HOURS],
    evaluate,
};

/// The longest exposure.
const HOURS: Parameter = Parameter::number(
    "hours",
    "h",
    6.0,
    (0.1, 48.0),
    "the longest exposure",
    Source::seen(CDC_2008, 2008, "Table 1: 1 to 6 hours"),
);

fn evaluate(case: &Case<'_>) -> Verdict {
    let (Some(known), Some(Process::Eo)) = (case.completed(), case.process()) else {
        return Verdict::NotAsked;
    };
    let cycle = &known.cycle;
    let most = case.number(&RULE, &HOURS) * 3_600.0;
    let findings = stages_named(cycle, &StageName::Expose)
        .filter_map(|(at, stage)| Some((f64::from(seconds_of(cycle, at)?), stage.span)))
        .filter(|(seconds, _)| *seconds > most)
        .map(|(seconds, span)| {
            Finding::new(
                format!(
                    "the exposure lasted {}, more than {}",
                    say_seconds(seconds),
                    say_seconds(most)
                ),
                Evidence::at(span, "the exposure as printed"),
                "compare with the unit's instructions for use; more gas may be left in the load",
            )
        });
    Verdict::found_or_not_asked(findings.collect())
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{EO, assert_found, assert_silent};

    #[test]
    fn exposure_of_two_hours_is_silent() {
        assert_silent(&RULE, EO, &[]);
    }

    #[test]
    fn exposure_over_six_hours_is_found() {
        assert_found(
            &RULE,
            EO,
            &[
                ("stage: exhaust, at 11:01:00", "stage: exhaust, at 15:02:00"),
                ("11:25:00 pressure", "15:25:00 pressure"),
                ("stage: aerate, at 11:31:00", "stage: aerate, at 15:31:00"),
                ("15:00:00 pressure 88", "16:00:00 pressure 88"),
            ],
        );
    }
}
