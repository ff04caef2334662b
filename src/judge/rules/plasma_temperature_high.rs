//! Did the peroxide cycle stay below the temperature that its process has?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::CDC_2008;
use crate::judge::rulebook::{Effect, Parameter, Rule, RuleId, Source, Verdict};
use crate::judge::stages::place_of;
use crate::record::cycle::{Measured, Process};

/// Did the peroxide cycle stay below the temperature that its process has?
pub static RULE: Rule = Rule {
    id: RuleId("plasma-temperature-high"),
    question: "Did the peroxide cycle stay below the temperature that its process has?",
    sources: &[Source::seen(
        CDC_2008,
        2008,
        "Table 6: process temperature below 50 C (via copy)",
    )],
    effect: Effect::Hold,
    floor: None,
    parameters: &[CELSIUS],
    evaluate,
};

/// The temperature below which the process stays; units differ, see their instructions for use.
const CELSIUS: Parameter = Parameter::number(
    "celsius",
    "C",
    50.0,
    (30.0, 70.0),
    "the temperature below which the process stays; units differ, see their instructions for use",
    Source::seen(CDC_2008, 2008, "Table 6 (via copy)"),
);

fn evaluate(case: &Case<'_>) -> Verdict {
    let (Some(known), Some(Process::Plasma)) = (case.completed(), case.process()) else {
        return Verdict::NotAsked;
    };
    let cycle = &known.cycle;
    let limit = case.number(&RULE, &CELSIUS);
    let readings = cycle.stages.iter().flat_map(|stage| &stage.readings);
    let temperatures = readings.filter_map(|reading| match reading.measured {
        Measured::Temperature(value) => Some((reading, value.celsius())),
        _ => None,
    });
    let (hot, cool): (Vec<_>, Vec<_>) = temperatures.partition(|(_, celsius)| *celsius >= limit);
    match hot.first() {
        None if cool.is_empty() => Verdict::NotAsked,
        None => Verdict::Met(Evidence::at(
            cycle.opening,
            format!("every temperature is below {limit} C"),
        )),
        Some((_, celsius)) => Verdict::found(
            format!("{celsius:.1} C was read; the process stays below {limit} C"),
            Evidence::at(cycle.opening, "the printout")
                .with_readings(hot.iter().map(|(reading, _)| place_of(cycle, reading.line))),
            "compare with the unit's instructions for use, and have its sensors looked at",
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn fifty_degrees_are_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[("temperature 47.0 C", "temperature 50.0 C")],
        );
    }

    #[test]
    fn just_below_fifty_is_silent() {
        assert_silent(
            &RULE,
            PLASMA,
            &[("temperature 47.0 C", "temperature 49.9 C")],
        );
    }
}
