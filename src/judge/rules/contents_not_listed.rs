//! Does the log list what was in the load?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::ST79;
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};

/// Does the log list what was in the load?
pub static RULE: Rule = Rule {
    id: RuleId("contents-not-listed"),
    question: "Does the log list what was in the load?",
    sources: &[Source::seen(
        ST79,
        2017,
        "records of each load: contents (via a study guide)",
    )],
    effect: Effect::Hold,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let contents = case.contents();
    if contents.is_empty() {
        return Verdict::found(
            "the log does not list what was in the load",
            case.place("no `content` entry for the load"),
            "write the contents into the log, with what holds an implant",
        );
    }
    Verdict::Met(Evidence::at_all(
        contents.iter().map(|content| content.span()),
        "the contents as listed",
    ))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn load_without_contents_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[("07:36 content: P1-0312-01", "07:36 content: P1-0311-09")],
        );
    }

    #[test]
    fn listed_load_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
