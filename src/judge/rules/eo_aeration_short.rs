//! Was the load aerated for the published time at the published temperature?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::CDC_2008;
use crate::judge::rulebook::{Effect, Parameter, Rule, RuleId, Source, Verdict};
use crate::judge::stages::{samples_of, say_seconds, seconds_of, stages_named};
use crate::record::cycle::{Process, StageName};

/// Was the load aerated for the published time at the published temperature?
pub static RULE: Rule = Rule {
    id: RuleId("eo-aeration-short"),
    question: "Was the load aerated for the published time at the published temperature?",
    sources: &[Source::seen(
        CDC_2008,
        2008,
        "Table 1: aeration 8-12 hours at 50-60 C",
    )],
    effect: Effect::Hold,
    floor: None,
    parameters: &[HOURS, CELSIUS],
    evaluate,
};

/// The shortest aeration.
const HOURS: Parameter = Parameter::number(
    "hours",
    "h",
    8.0,
    (0.5, 200.0),
    "the shortest aeration",
    Source::seen(CDC_2008, 2008, "Table 1: 8-12 hours"),
);
/// The temperature that aeration must have.
const CELSIUS: Parameter = Parameter::number(
    "celsius",
    "C",
    50.0,
    (10.0, 80.0),
    "the temperature that aeration must have",
    Source::seen(CDC_2008, 2008, "Table 1: 50-60 C"),
);

fn evaluate(case: &Case<'_>) -> Verdict {
    let (Some(known), Some(Process::Eo)) = (case.completed(), case.process()) else {
        return Verdict::NotAsked;
    };
    let cycle = &known.cycle;
    let hours = case.number(&RULE, &HOURS);
    let celsius = case.number(&RULE, &CELSIUS);
    let mut warm = 0.0;
    let mut spans = Vec::new();
    for (at, stage) in stages_named(cycle, &StageName::Aerate) {
        spans.push(stage.span);
        let temperatures: Vec<f64> = samples_of(cycle, stage)
            .iter()
            .filter_map(|sample| sample.celsius)
            .collect();
        if !temperatures.is_empty() && temperatures.iter().all(|read| *read >= celsius - 1e-6) {
            warm += f64::from(seconds_of(cycle, at).unwrap_or(0));
        }
    }
    if warm >= hours * 3_600.0 {
        return Verdict::Met(Evidence::at_all(
            spans,
            format!("aerated for {} at {celsius} C or more", say_seconds(warm)),
        ));
    }
    let seen = if spans.is_empty() {
        "the printout shows no aeration".to_owned()
    } else {
        format!(
            "the printout shows {} of aeration at {celsius} C or more, less than {hours} h",
            say_seconds(warm)
        )
    };
    spans.push(cycle.opening);
    Verdict::found(
        seen,
        Evidence::at_all(spans, "the aeration as printed"),
        "let aeration end before anyone handles the load, by the instructions for use, and keep its record",
    )
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{EO, assert_found, assert_silent};

    #[test]
    fn aeration_under_eight_hours_is_found() {
        assert_found(
            &RULE,
            EO,
            &[
                (", limit duration 480 min min", ""),
                ("stage: vent, at 19:31:00", "stage: vent, at 19:30:59"),
            ],
        );
    }

    #[test]
    fn aeration_of_eight_hours_is_silent() {
        assert_silent(&RULE, EO, &[]);
    }

    #[test]
    fn cool_aeration_is_found() {
        assert_found(
            &RULE,
            EO,
            &[
                (
                    "limit temperature 50 C min, limit duration 480",
                    "limit duration 480",
                ),
                ("temperature 55.2 C", "temperature 49.0 C"),
            ],
        );
    }
}
