//! Do printed temperature and pressure agree with saturated steam?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::{EN_285, HTM_01_01};
use crate::judge::rulebook::{Effect, Finding, Known, Parameter, Rule, RuleId, Source, Verdict};
use crate::judge::stages::{Ambient, Sample, place_of, samples_of, stages_named};
use crate::measure::steam::saturation_celsius;
use crate::record::cycle::{Process, StageName};

/// Do printed temperature and pressure agree with saturated steam?
pub static RULE: Rule = Rule {
    id: RuleId("steam-not-saturated"),
    question: "Do printed temperature and pressure agree with saturated steam?",
    sources: &[
        Source::memory(
            EN_285,
            2015,
            "measured and theoretical temperature within 2 K in the holding time",
        ),
        Source::memory(HTM_01_01, 2016, "part C"),
        Source::Published {
            title: "IAPWS R7-97(2012), Revised Release on the IAPWS Industrial Formulation 1997",
            year: Some(2012),
            section: "region 4, equation 31",
            known: Known::Calculated,
        },
    ],
    effect: Effect::Hold,
    floor: None,
    parameters: &[KELVIN],
    evaluate,
};

/// How far the temperature may be from that of saturated steam at the printed pressure.
const KELVIN: Parameter = Parameter::number(
    "kelvin",
    "K",
    2.0,
    (0.0, 20.0),
    "how far the temperature may be from that of saturated steam at the printed pressure",
    Source::memory(EN_285, 2015, "holding time: 2 K"),
);

fn evaluate(case: &Case<'_>) -> Verdict {
    let (Some(known), Some(Process::Steam)) = (case.completed(), case.process()) else {
        return Verdict::NotAsked;
    };
    let cycle = &known.cycle;
    let most = case.number(&RULE, &KELVIN);
    let mut findings = Vec::new();
    let mut kept = Vec::new();
    let mut assumed = false;
    for (_, stage) in stages_named(cycle, &StageName::Expose) {
        let mut off: Vec<(Sample, f64, f64)> = Vec::new();
        let mut n_compared = 0_usize;
        for sample in samples_of(cycle, stage) {
            let (Some(celsius), Some(pressure)) = (sample.celsius, sample.pressure) else {
                continue;
            };
            n_compared = n_compared.saturating_add(1);
            assumed |= sample.ambient == Ambient::Assumed;
            // A pressure for which there is no saturated steam at all is as far off as can be.
            let saturated = saturation_celsius(pressure).unwrap_or(f64::NEG_INFINITY);
            if (celsius - saturated).abs() > most + 1e-6 {
                off.push((sample, celsius, saturated));
            }
        }
        match off.first() {
            None if n_compared == 0 => findings.push(Finding::new(
                "the exposure has no line with both temperature and pressure, so that saturated steam is not shown",
                Evidence::at(stage.span, "the readings of the exposure"),
                "find the readings on the original strip",
            )),
            None => kept.push(stage.span),
            Some((_, celsius, saturated)) => {
                let meaning = if celsius < saturated {
                    "air may be present, or a sensor is wrong"
                } else {
                    "the steam may be superheated, or a sensor is wrong"
                };
                let belongs = if saturated.is_finite() {
                    format!("saturated steam at the pressure printed with it has {saturated:.1} C")
                } else {
                    "no saturated steam has the pressure printed with it".to_owned()
                };
                findings.push(Finding::new(
                    format!("{celsius:.1} C was read, and {belongs}: {meaning}"),
                    Evidence::at(stage.span, "the exposure and the lines that do not agree")
                        .with_readings(off.iter().map(|(sample, _, _)| place_of(cycle, sample.line))),
                    "have the unit's sensors and air removal looked at before the load is used",
                ));
            }
        }
    }
    if findings.is_empty() && kept.is_empty() {
        return Verdict::NotAsked;
    }
    let ambient = if assumed {
        ", taking the standard atmosphere for gauge pressures, as no ambient pressure is printed"
    } else {
        ""
    };
    Verdict::found_or_met(findings, || {
        Evidence::at_all(
            kept,
            format!("temperature and pressure agree with saturated steam within {most} K{ambient}"),
        )
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{STEAM, assert_found, assert_silent};

    #[test]
    fn steam_more_than_two_kelvin_off_is_found() {
        assert_found(
            &RULE,
            STEAM,
            &[(
                "07:54:15 pressure 3.1400 bar, temperature 135.1 C",
                "07:54:15 pressure 2.9000 bar, temperature 134.6 C",
            )],
        );
    }

    #[test]
    fn steam_less_than_two_kelvin_off_is_silent() {
        assert_silent(
            &RULE,
            STEAM,
            &[(
                "07:54:15 pressure 3.1400 bar, temperature 135.1 C",
                "07:54:15 pressure 3.0000 bar, temperature 135.1 C",
            )],
        );
    }

    #[test]
    fn exposure_without_pressure_is_found() {
        assert_found(
            &RULE,
            STEAM,
            &[
                ("07:52:15 pressure 3.0650 bar, temp", "07:52:15 temp"),
                ("07:53:15 pressure 3.1300 bar, temp", "07:53:15 temp"),
                ("07:54:15 pressure 3.1400 bar, temp", "07:54:15 temp"),
                ("07:55:15 pressure 3.1400 bar, temp", "07:55:15 temp"),
            ],
        );
    }
}
