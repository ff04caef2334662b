//! Is it known by which process the load went?

use crate::judge::case::Case;
use crate::judge::publication::ST79;
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};

/// Is it known by which process the load went?
pub static RULE: Rule = Rule {
    id: RuleId("process-not-known"),
    question: "Is it known by which process the load went?",
    sources: &[Source::memory(
        ST79,
        2017,
        "records of each load: sterilizer",
    )],
    effect: Effect::Hold,
    floor: Some(Effect::Hold),
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    if case.process().is_some() {
        return Verdict::NotAsked;
    }
    Verdict::found(
        "no record says by which process the load went",
        case.place("no process is printed"),
        "write the process on the strip and in the file",
    )
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn strip_without_a_process_is_found() {
        assert_found(&RULE, PLASMA, &[("process: plasma\n", "")]);
    }

    #[test]
    fn printed_process_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
