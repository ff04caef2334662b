//! Was the concentration of ethylene oxide within the published range?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::CDC_2008;
use crate::judge::rulebook::{Effect, Parameter, Rule, RuleId, Source, Verdict};
use crate::judge::stages::{place_of, stages_named};
use crate::record::cycle::{Measured, Process, StageName};

/// Was the concentration of ethylene oxide within the published range?
pub static RULE: Rule = Rule {
    id: RuleId("eo-concentration-outside-range"),
    question: "Was the concentration of ethylene oxide within the published range?",
    sources: &[Source::seen(
        CDC_2008,
        2008,
        "ethylene oxide: 450-1200 mg/L, 37-63 C, 40-80 % relative humidity, 1-6 h (ranges seen via a secondary page)",
    )],
    effect: Effect::Reject,
    floor: None,
    parameters: &[LEAST, MOST],
    evaluate,
};

/// The lowest concentration.
const LEAST: Parameter = Parameter::number(
    "least",
    "mg/L",
    450.0,
    (1.0, 5000.0),
    "the lowest concentration",
    Source::seen(
        CDC_2008,
        2008,
        "ethylene oxide: 450-1200 mg/L, 37-63 C, 40-80 % relative humidity, 1-6 h (ranges seen via a secondary page)",
    ),
);
/// The highest concentration.
const MOST: Parameter = Parameter::number(
    "most",
    "mg/L",
    1200.0,
    (1.0, 5000.0),
    "the highest concentration",
    Source::seen(
        CDC_2008,
        2008,
        "ethylene oxide: 450-1200 mg/L, 37-63 C, 40-80 % relative humidity, 1-6 h (ranges seen via a secondary page)",
    ),
);

fn evaluate(case: &Case<'_>) -> Verdict {
    let (Some(known), Some(Process::Eo)) = (case.completed(), case.process()) else {
        return Verdict::NotAsked;
    };
    let cycle = &known.cycle;
    let (least, most) = (case.number(&RULE, &LEAST), case.number(&RULE, &MOST));
    let mut outside = Vec::new();
    let mut kept = Vec::new();
    for (_, stage) in stages_named(cycle, &StageName::Expose) {
        for reading in &stage.readings {
            let Measured::Concentration(value) = reading.measured else {
                continue;
            };
            let value = value.milligrams_per_litre();
            if (least - 1e-9..=most + 1e-9).contains(&value) {
                kept.push(stage.span);
            } else {
                outside.push((stage.span, reading.line, value));
            }
        }
    }
    kept.dedup();
    match outside.first() {
        None if kept.is_empty() => Verdict::NotAsked,
        None => Verdict::Met(Evidence::at_all(
            kept,
            format!("every concentration of the exposure lies in {least} to {most} mg/L"),
        )),
        Some((span, _, value)) => Verdict::found(
            format!(
                "a concentration of {value:.1} mg/L was read in the exposure; the range is {least} to {most} mg/L"
            ),
            Evidence::at(*span, "the exposure and the readings outside the range")
                .with_readings(outside.iter().map(|(_, line, _)| place_of(cycle, *line))),
            "have the unit looked at; let aeration end, and process the load again",
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{EO, assert_found, assert_silent};

    #[test]
    fn concentration_below_range_is_found() {
        assert_found(
            &RULE,
            EO,
            &[("concentration 670 mg/L", "concentration 449 mg/L")],
        );
    }

    #[test]
    fn lowest_concentration_is_silent() {
        assert_silent(
            &RULE,
            EO,
            &[("concentration 670 mg/L", "concentration 450 mg/L")],
        );
    }

    #[test]
    fn highest_is_silent_and_above_is_found() {
        assert_silent(
            &RULE,
            EO,
            &[("concentration 670 mg/L", "concentration 1200 mg/L")],
        );
        assert_found(
            &RULE,
            EO,
            &[("concentration 670 mg/L", "concentration 1201 mg/L")],
        );
    }
}
