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
    if case.is_in_log() {
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
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn logged_load_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }

    #[test]
    fn load_of_a_strip_alone_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[
                ("07:35 load: P1-0312-01", "07:35 load: Q"),
                ("07:36 content: P1-0312-01", "07:36 content: Q"),
                ("08:25 ci: P1-0312-01", "08:25 ci: Q"),
                ("08:31 ci: P1-0312-01", "08:31 ci: Q"),
                ("08:40 bi: P1-0312-01", "08:40 bi: Q"),
                ("08:41 bi: P1-0312-01", "08:41 bi: Q"),
                ("08:45 bi: P1-0312-01", "08:45 bi: Q"),
                ("08:46 bi: P1-0312-01", "08:46 bi: Q"),
                ("09:00 release: P1-0312-01", "09:00 release: Q"),
            ],
        );
    }
}
