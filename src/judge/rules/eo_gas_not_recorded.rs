//! Does the printout give concentration and humidity of the exposure?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::CDC_2008;
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};
use crate::judge::stages::stages_named;
use crate::record::cycle::{Process, QuantityKind, StageName};

/// Does the printout give concentration and humidity of the exposure?
pub static RULE: Rule = Rule {
    id: RuleId("eo-gas-not-recorded"),
    question: "Does the printout give concentration and humidity of the exposure?",
    sources: &[Source::seen(
        CDC_2008,
        2008,
        "monitoring: gas concentration and humidity cannot be monitored in healthcare EO units (via copy)",
    )],
    effect: Effect::Note,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let (Some(known), Some(Process::Eo)) = (case.completed(), case.process()) else {
        return Verdict::NotAsked;
    };
    let exposures: Vec<_> = stages_named(&known.cycle, &StageName::Expose).collect();
    let missing: Vec<&str> = [QuantityKind::Concentration, QuantityKind::Humidity]
        .into_iter()
        .filter(|kind| {
            let readings = exposures.iter().flat_map(|(_, stage)| &stage.readings);
            readings
                .into_iter()
                .all(|reading| reading.measured.kind() != *kind)
        })
        .map(QuantityKind::word)
        .collect();
    if missing.is_empty() {
        return Verdict::NotAsked;
    }
    let span = exposures
        .first()
        .map_or(known.cycle.opening, |(_, stage)| stage.span);
    Verdict::found(
        format!(
            "the printout does not show {} of the exposure, as is usual for such units",
            missing.join(" and ")
        ),
        Evidence::at(span, "the exposure as printed"),
        "rely on the biological indicator of the load",
    )
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{EO, assert_found, assert_silent};

    #[test]
    fn exposure_without_humidity_is_found() {
        assert_found(
            &RULE,
            EO,
            &[(", humidity 55 %", ""), (", humidity 54 %", "")],
        );
    }

    #[test]
    fn recorded_gas_is_silent() {
        assert_silent(&RULE, EO, &[]);
    }
}
