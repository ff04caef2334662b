//! Is there a reading for every limit that is printed, and in every exposure?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};
use crate::record::cycle::{LimitValue, QuantityKind, StageName};

/// Is there a reading for every limit that is printed, and in every exposure?
pub static RULE: Rule = Rule {
    id: RuleId("stage-reading-missing"),
    question: "Is there a reading for every limit that is printed, and in every exposure?",
    sources: &[Source::CommonPractice],
    effect: Effect::Hold,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let Some(known) = case.completed() else {
        return Verdict::NotAsked;
    };
    let mut findings = Vec::new();
    for stage in &known.cycle.stages {
        let missing = stage.limits.iter().filter_map(|limit| match limit.value {
            LimitValue::Measured(value) => Some(value.kind()),
            LimitValue::Duration(_) => None,
        });
        let mut missing: Vec<QuantityKind> = missing
            .filter(|kind| {
                stage
                    .readings
                    .iter()
                    .all(|reading| reading.measured.kind() != *kind)
            })
            .collect();
        missing.sort_unstable();
        missing.dedup();
        let exposes = matches!(
            stage.name,
            StageName::Expose | StageName::Diffuse | StageName::Plasma | StageName::Inject
        );
        if missing.is_empty() && exposes && stage.readings.is_empty() {
            findings.push(Finding::new(
                format!("the stage {} has no readings", stage.name.word()),
                Evidence::at(stage.span, "no reading stands below this line"),
                "find the rest of the strip, or print the cycle again from the unit's memory",
            ));
        }
        for kind in missing {
            findings.push(Finding::new(
                format!(
                    "the stage {} has a limit for {} and no reading of it",
                    stage.name.word(),
                    kind.word()
                ),
                Evidence::at(stage.span, "the limit as printed"),
                "find the reading on the original strip",
            ));
        }
    }
    Verdict::found_or_not_asked(findings)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn limit_without_a_reading_is_found() {
        assert_found(&RULE, PLASMA, &[(", power 402 W", "")]);
    }

    #[test]
    fn exposure_without_readings_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[
                (
                    "07:51:10 pressure 812.0 Pa, temperature 46.0 C, concentration 6.1 mg/L\n",
                    "",
                ),
                ("readings 6", "readings 5"),
            ],
        );
    }

    #[test]
    fn readings_in_every_stage_are_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
