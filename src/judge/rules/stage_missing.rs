//! Does the printout show every stage that the process has, in order?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::CDC_2008;
use crate::judge::rulebook::{Effect, Finding, Parameter, Rule, RuleId, Source, Verdict};
use crate::record::cycle::{Process, StageName};

/// Does the printout show every stage that the process has, in order?
pub static RULE: Rule = Rule {
    id: RuleId("stage-missing"),
    question: "Does the printout show every stage that the process has, in order?",
    sources: &[
        Source::seen(
            CDC_2008,
            2008,
            "hydrogen peroxide gas plasma: order of stages",
        ),
        Source::CommonPractice,
    ],
    effect: Effect::Hold,
    floor: None,
    parameters: &[PLASMA, STEAM, EO],
    evaluate,
};

/// The stages of a peroxide gas-plasma cycle, in order.
const PLASMA: Parameter = Parameter::words(
    "plasma",
    &["evacuate", "inject", "diffuse", "plasma"],
    check_stage,
    "the stages of a peroxide gas-plasma cycle, in order",
    Source::seen(CDC_2008, 2008, "hydrogen peroxide gas plasma"),
);
/// The stages of a steam cycle, in order.
const STEAM: Parameter = Parameter::words(
    "steam",
    &["expose"],
    check_stage,
    "the stages of a steam cycle, in order",
    Source::CommonPractice,
);
/// The stages of an ethylene-oxide cycle, in order.
const EO: Parameter = Parameter::words(
    "eo",
    &["inject", "expose", "aerate"],
    check_stage,
    "the stages of an ethylene-oxide cycle, in order",
    Source::seen(CDC_2008, 2008, "Table 1"),
);

fn evaluate(case: &Case<'_>) -> Verdict {
    let (Some(known), Some(process)) = (case.completed(), case.process()) else {
        return Verdict::NotAsked;
    };
    let asked = match process {
        Process::Plasma => case.words(&RULE, &PLASMA),
        Process::Steam => case.words(&RULE, &STEAM),
        Process::Eo => case.words(&RULE, &EO),
    };
    let cycle = &known.cycle;
    let mut from = 0;
    let mut spans = Vec::new();
    let mut findings = Vec::new();
    for word in &asked {
        let name = StageName::from_word(word);
        let later = cycle.stages.iter().enumerate().skip(from);
        let Some((at, stage)) = later.into_iter().find(|(_, stage)| stage.name == name) else {
            let out_of_order = cycle.stages.iter().find(|stage| stage.name == name);
            let (seen, span) = match out_of_order {
                Some(stage) => (format!("the stage {word} is out of its order"), stage.span),
                None => (format!("the printout has no stage {word}"), cycle.opening),
            };
            findings.push(Finding::new(
                seen,
                Evidence::at(span, "a completed cycle has all its stages"),
                "find the rest of the strip, or print the cycle again from the unit's memory",
            ));
            continue;
        };
        from = at;
        spans.push(stage.span);
    }
    Verdict::found_or_met(findings, || {
        Evidence::at_all(spans, "every stage is there, in order")
    })
}

fn check_stage(word: &str) -> Result<(), String> {
    match StageName::from_word(word) {
        StageName::Other(_) => Err(format!("there is no stage `{word}`")),
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{EO, PLASMA, STEAM, assert_found, assert_silent};

    #[test]
    fn strip_without_plasma_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[("stage: plasma, at 08:04:10, limit power 350 W min\n", "")],
        );
    }

    #[test]
    fn plasma_before_diffusion_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[
                ("stage: diffuse", "stage: plasma"),
                ("stage: plasma, at 08:04:10", "stage: diffuse, at 08:04:10"),
            ],
        );
    }

    #[test]
    fn whole_cycles_are_silent() {
        assert_silent(&RULE, PLASMA, &[]);
        assert_silent(&RULE, STEAM, &[]);
        assert_silent(&RULE, EO, &[]);
    }
}
