//! Is the lethality of the exposure (F0) at least what the policy asks?
//!
//! F0 is for moist heat alone: no other process is asked. Only the exposure counts, so that heating up adds nothing.

use crate::diagnose::Span;
use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Known, Parameter, Rule, RuleId, Source, Verdict};
use crate::judge::stages::{samples_of, seconds_of, stages_named};
use crate::measure::lethality::{Between, F0Reference, Lethality, lethality};
use crate::record::cycle::{Process, StageName};

/// Is the lethality of the exposure (F0) at least what the policy asks?
pub static RULE: Rule = Rule {
    id: RuleId("steam-f0-low"),
    question: "Is the lethality of the exposure (F0) at least what the policy asks?",
    sources: &[
        Source::Published {
            title: "Ph. Eur. 5.1.5, Application of the F0 concept to steam sterilisation of aqueous preparations",
            year: None,
            section: "F0 not less than 8 min",
            known: Known::Memory,
        },
        Source::Published {
            title: "USP <1229.2>, Steam Sterilization by Direct Contact",
            year: None,
            section: "F0, reference 121.1 C",
            known: Known::Seen,
        },
    ],
    effect: Effect::Reject,
    floor: None,
    parameters: &[MINUTES, REFERENCE],
    evaluate,
};

/// The least F0 of the exposure.
const MINUTES: Parameter = Parameter::number(
    "minutes",
    "min",
    8.0,
    (0.0, 1000.0),
    "the least F0 of the exposure",
    Source::Published {
        title: "Ph. Eur. 5.1.5",
        year: None,
        section: "F0 not less than 8 min",
        known: Known::Memory,
    },
);
/// The reference temperature of F0: usp (121.1 C) or ph-eur (121.0 C).
const REFERENCE: Parameter = Parameter::words(
    "reference",
    &["usp"],
    check_reference,
    "the reference temperature of F0: usp (121.1 C) or ph-eur (121.0 C)",
    Source::Published {
        title: "USP <1229.2>; Ph. Eur. 5.1.5",
        year: None,
        section: "reference temperature",
        known: Known::Seen,
    },
);

fn evaluate(case: &Case<'_>) -> Verdict {
    let (Some(known), Some(Process::Steam)) = (case.completed(), case.process()) else {
        return Verdict::NotAsked;
    };
    let cycle = &known.cycle;
    let least = case.number(&RULE, &MINUTES);
    let reference = if case.words(&RULE, &REFERENCE).contains(&"ph-eur") {
        F0Reference::PhEur
    } else {
        F0Reference::Usp
    };
    let mut best: Option<(Lethality, Span)> = None;
    for (at, stage) in stages_named(cycle, &StageName::Expose) {
        let mut readings: Vec<(f64, f64)> = samples_of(cycle, stage)
            .into_iter()
            .filter_map(|sample| Some((f64::from(sample.at.0) / 60.0, sample.celsius?)))
            .collect();
        // The first and last reading stand for the ends of the stage, which the unit itself printed.
        if let (Some(first), Some(last), Some(seconds)) = (
            readings.first().copied(),
            readings.last().copied(),
            seconds_of(cycle, at),
        ) {
            let began = f64::from(stage.began.0) / 60.0;
            readings.insert(0, (began, first.1));
            readings.push((began + f64::from(seconds) / 60.0, last.1));
        }
        let reached = lethality(&readings, reference, Between::StraightTemperature);
        if best
            .as_ref()
            .is_none_or(|(before, _)| reached.minutes > before.minutes)
        {
            best = Some((reached, stage.span));
        }
    }
    let Some((reached, span)) = best else {
        return Verdict::NotAsked;
    };
    if reached.minutes >= least {
        return Verdict::Met(Evidence::at(span, format!("the exposure gives {reached}")));
    }
    Verdict::found(
        format!("the exposure gives {reached}, less than the {least} min that the policy asks"),
        Evidence::at(span, "the exposure"),
        "have the unit looked at and process the load again",
    )
}

fn check_reference(word: &str) -> Result<(), String> {
    match word {
        "usp" | "ph-eur" => Ok(()),
        _ => Err(format!("`{word}` is neither `usp` nor `ph-eur`")),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, STEAM, assert_found, assert_silent};

    #[test]
    fn exposure_at_hundred_and_eleven_is_found() {
        assert_found(
            &RULE,
            STEAM,
            &[
                (
                    "limit temperature 134 C min, limit temperature 137 C max, ",
                    "",
                ),
                (
                    "temperature 134.3 C\n07:53:15 pressure 3.1300 bar, temperature 135.0 C\n07:54:15 pressure 3.1400 bar, temperature 135.1 C\n07:55:15 pressure 3.1400 bar, temperature 135.2 C",
                    "temperature 111.0 C\n07:55:15 pressure 3.1400 bar, temperature 111.0 C",
                ),
            ],
        );
    }

    #[test]
    fn exposure_at_hundred_and_thirty_four_is_silent() {
        assert_silent(&RULE, STEAM, &[]);
    }

    #[test]
    fn peroxide_has_no_f0() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
