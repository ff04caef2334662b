//! Did every reading keep the limits that were printed for its stage?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::CDC_DENTAL;
use crate::judge::rulebook::{Effect, Finding, Known, Rule, RuleId, Source, Verdict};
use crate::judge::stages::{place_of, say_measured};
use crate::record::cycle::{Bound, LimitValue, Measured, StageName};

/// Did every reading keep the limits that were printed for its stage?
pub static RULE: Rule = Rule {
    id: RuleId("reading-outside-band"),
    question: "Did every reading keep the limits that were printed for its stage?",
    sources: &[Source::Published {
        title: CDC_DENTAL,
        year: None,
        section: "do not use packages if the physical record shows that time, temperature or pressure was not met",
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
    for stage in &cycle.stages {
        for limit in &stage.limits {
            let LimitValue::Measured(value) = limit.value else {
                continue;
            };
            let mut readings = stage
                .readings
                .iter()
                .filter(|reading| reading.measured.kind() == value.kind());
            // A stage that works towards its limit must have reached it at its end; one that holds it, all the time.
            let checked: Vec<_> = if works_towards(&stage.name) {
                readings.next_back().into_iter().collect()
            } else {
                readings.collect()
            };
            let outside: Vec<_> = checked
                .iter()
                .filter(|reading| !keeps(&reading.measured, limit.bound, &value))
                .collect();
            let bound = match limit.bound {
                Bound::Min => "at least",
                Bound::Max => "at most",
            };
            match outside.first() {
                None if checked.is_empty() => {}
                None => kept.push(stage.span),
                Some(first) => findings.push(Finding::new(
                    format!(
                        "in the stage {} {} was read, and its limit is {bound} {}, although the unit printed that the cycle was completed",
                        stage.name.word(),
                        say_measured(&first.measured),
                        say_measured(&value)
                    ),
                    Evidence::at(stage.span, "the limit as printed, and the readings outside it")
                        .with_readings(outside.iter().map(|reading| place_of(cycle, reading.line))),
                    "have the unit looked at and process the load again",
                )),
            }
        }
    }
    if findings.is_empty() && kept.is_empty() {
        return Verdict::NotAsked;
    }
    Verdict::found_or_met(findings, || {
        Evidence::at_all(kept, "every reading kept the printed limits")
    })
}

/// Whether a stage works towards its limits and meets them at its end.
fn works_towards(name: &StageName) -> bool {
    matches!(
        name,
        StageName::Warm
            | StageName::Evacuate
            | StageName::Inject
            | StageName::Condition
            | StageName::Exhaust
            | StageName::Dry
            | StageName::Settle
            | StageName::Vent
    )
}

/// Whether a reading keeps a limit of the same quantity. Equal is kept, to the last digit that a printer has.
fn keeps(reading: &Measured, bound: Bound, limit: &Measured) -> bool {
    let (read, limit) = match (reading, limit) {
        // Two gauge pressures, or two absolute ones, can be compared; one of each can't without the ambient pressure.
        (Measured::Pressure(a), Measured::Pressure(b)) if a.datum() != b.datum() => return true,
        (Measured::Pressure(a), Measured::Pressure(b)) => (a.pascal(), b.pascal()),
        (Measured::Temperature(a), Measured::Temperature(b)) => (a.celsius(), b.celsius()),
        (Measured::Concentration(a), Measured::Concentration(b)) => {
            (a.milligrams_per_litre(), b.milligrams_per_litre())
        }
        (Measured::Humidity(a), Measured::Humidity(b)) => (a.percent(), b.percent()),
        (Measured::Power(a), Measured::Power(b)) => (a.watts(), b.watts()),
        (Measured::Conductivity(a), Measured::Conductivity(b)) => (
            a.microsiemens_per_centimetre(),
            b.microsiemens_per_centimetre(),
        ),
        _ => return true,
    };
    let slack = limit.abs().max(1.0) * 1e-9;
    match bound {
        Bound::Min => read >= limit - slack,
        Bound::Max => read <= limit + slack,
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, STEAM, assert_found, assert_silent};

    #[test]
    fn plasma_below_its_power_is_found() {
        assert_found(&RULE, PLASMA, &[("power 402 W", "power 349 W")]);
    }

    #[test]
    fn plasma_at_its_power_is_silent() {
        assert_silent(&RULE, PLASMA, &[("power 402 W", "power 350 W")]);
    }

    #[test]
    fn set_pressure_must_be_reached_only_at_the_end() {
        assert_found(&RULE, PLASMA, &[("pressure 51.2 Pa", "pressure 53.5 Pa")]);
        assert_silent(&RULE, PLASMA, &[]);
    }

    #[test]
    fn one_reading_above_the_band_is_found() {
        assert_found(
            &RULE,
            STEAM,
            &[(
                "07:53:15 pressure 3.1300 bar, temperature 135.0 C",
                "07:53:15 pressure 3.1300 bar, temperature 137.2 C",
            )],
        );
    }
}
