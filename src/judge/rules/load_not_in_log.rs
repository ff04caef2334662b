//! Does the log say anything of the load?

use crate::judge::case::Case;
use crate::judge::publication::ST79;
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};

/// Does the log say anything of the load?
pub static RULE: Rule = Rule {
    id: RuleId("load-not-in-log"),
    question: "Does the log say anything of the load?",
    sources: &[Source::memory(
        ST79,
        2017,
        "records of each load: contents, operator, indicator results",
    )],
    effect: Effect::Hold,
    floor: Some(Effect::Hold),
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    if case.n_entries() > 0 {
        return Verdict::NotAsked;
    }
    Verdict::found(
        "the log says nothing of the load",
        case.place("a printout of which the log knows nothing"),
        "find the page of the log, or correct the load number",
    )
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{EO, PLASMA, assert_silent};

    #[test]
    fn logged_load_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
        assert_silent(&RULE, EO, &[]);
    }
}
