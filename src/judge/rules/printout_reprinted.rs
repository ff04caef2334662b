//! Was the cycle printed more than once?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::decision::ReadingPlace;
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};

/// Was the cycle printed more than once?
pub static RULE: Rule = Rule {
    id: RuleId("printout-reprinted"),
    question: "Was the cycle printed more than once?",
    sources: &[Source::CommonPractice],
    effect: Effect::Note,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let Some(known) = case.last() else {
        return Verdict::NotAsked;
    };
    if known.reprints.is_empty() {
        return Verdict::NotAsked;
    }
    let evidence = Evidence::at(known.cycle.opening, "this printout counts").with_readings(
        known.reprints.iter().map(|lines| ReadingPlace {
            file: lines.file,
            line: lines.first(),
        }),
    );
    Verdict::found(
        format!(
            "the cycle was printed {} times; one printout counts",
            known.reprints.len().saturating_add(1)
        ),
        evidence,
        "nothing need be done",
    )
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, TWICE, assert_found, assert_silent};

    #[test]
    fn cycle_printed_once_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }

    #[test]
    fn cycle_printed_twice_is_found() {
        assert_found(&RULE, TWICE, &[]);
    }
}
