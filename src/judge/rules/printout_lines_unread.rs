//! Could every line within the printout be read?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};

/// Could every line within the printout be read?
pub static RULE: Rule = Rule {
    id: RuleId("printout-lines-unread"),
    question: "Could every line within the printout be read?",
    sources: &[Source::CommonPractice],
    effect: Effect::Hold,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let Some(known) = case.last() else {
        return Verdict::NotAsked;
    };
    let cycle = &known.cycle;
    if cycle.n_unread_lines == 0 {
        return Verdict::Met(Evidence::at(
            cycle.opening,
            "every line of the printout was read",
        ));
    }
    Verdict::found(
        format!(
            "{} lines within the printout could not be read",
            cycle.n_unread_lines
        ),
        Evidence::at(
            cycle.opening,
            "this printout holds lines that were not read",
        ),
        "read those lines from the original strip and correct the file",
    )
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn rubbish_within_the_strip_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[("stage: plasma", "rubbish\nstage: plasma")],
        );
    }

    #[test]
    fn readable_strip_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
