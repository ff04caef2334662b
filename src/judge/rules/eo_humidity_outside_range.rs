//! Was the humidity of the ethylene-oxide exposure within the published range?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::CDC_2008;
use crate::judge::rulebook::{Effect, Parameter, Rule, RuleId, Source, Verdict};
use crate::judge::stages::{place_of, stages_named};
use crate::record::cycle::{Measured, Process, StageName};

/// Was the humidity of the ethylene-oxide exposure within the published range?
pub static RULE: Rule = Rule {
    id: RuleId("eo-humidity-outside-range"),
    question: "Was the humidity of the ethylene-oxide exposure within the published range?",
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

/// The lowest relative humidity.
const LEAST: Parameter = Parameter::number(
    "least",
    "%",
    40.0,
    (0.0, 100.0),
    "the lowest relative humidity",
    Source::seen(
        CDC_2008,
        2008,
        "ethylene oxide: 450-1200 mg/L, 37-63 C, 40-80 % relative humidity, 1-6 h (ranges seen via a secondary page)",
    ),
);
/// The highest relative humidity.
const MOST: Parameter = Parameter::number(
    "most",
    "%",
    80.0,
    (0.0, 100.0),
    "the highest relative humidity",
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
            let Measured::Humidity(value) = reading.measured else {
                continue;
            };
            let value = value.percent();
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
            format!("every relative humidity of the exposure lies in {least} to {most} %"),
        )),
        Some((span, _, value)) => Verdict::found(
            format!(
                "a relative humidity of {value:.1} % was read in the exposure; the range is {least} to {most} %"
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
    fn dry_exposure_is_found() {
        assert_found(&RULE, EO, &[("humidity 54 %", "humidity 39 %")]);
    }

    #[test]
    fn lowest_humidity_is_silent() {
        assert_silent(&RULE, EO, &[("humidity 54 %", "humidity 40 %")]);
    }
}
