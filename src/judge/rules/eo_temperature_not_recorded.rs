//! Does the printout give the temperature of the ethylene-oxide exposure?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::CDC_2008;
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};
use crate::judge::stages::stages_named;
use crate::record::cycle::{Process, QuantityKind, StageName};

/// Does the printout give the temperature of the ethylene-oxide exposure?
pub static RULE: Rule = Rule {
    id: RuleId("eo-temperature-not-recorded"),
    question: "Does the printout give the temperature of the ethylene-oxide exposure?",
    sources: &[Source::seen(
        CDC_2008,
        2008,
        "ethylene oxide: four parameters (via a secondary page)",
    )],
    effect: Effect::Hold,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let (Some(known), Some(Process::Eo)) = (case.completed(), case.process()) else {
        return Verdict::NotAsked;
    };
    let exposures: Vec<_> = stages_named(&known.cycle, &StageName::Expose).collect();
    let recorded = exposures
        .iter()
        .flat_map(|(_, stage)| &stage.readings)
        .any(|reading| reading.measured.kind() == QuantityKind::Temperature);
    if recorded {
        return Verdict::NotAsked;
    }
    let span = exposures
        .first()
        .map_or(known.cycle.opening, |(_, stage)| stage.span);
    Verdict::found(
        "the exposure has no reading of temperature",
        Evidence::at(span, "the exposure as printed"),
        "find the readings on the original strip",
    )
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{EO, assert_found, assert_silent};

    #[test]
    fn exposure_without_temperature_is_found() {
        assert_found(
            &RULE,
            EO,
            &[
                (
                    "limit temperature 37 C min, limit temperature 63 C max, ",
                    "",
                ),
                ("temperature 55.0 C, concentration 690", "concentration 690"),
                ("temperature 55.1 C, ", ""),
            ],
        );
    }

    #[test]
    fn recorded_temperature_is_silent() {
        assert_silent(&RULE, EO, &[]);
    }
}
