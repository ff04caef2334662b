//! Does the log say of every set whether it holds an implant?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::MMWR_2003;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};

/// Does the log say of every set whether it holds an implant?
pub static RULE: Rule = Rule {
    id: RuleId("implant-not-stated"),
    question: "Does the log say of every set whether it holds an implant?",
    sources: &[Source::seen(
        MMWR_2003,
        2003,
        "VI.F.7: a BI for every load that contains an implantable device",
    )],
    effect: Effect::Note,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let findings = case
        .contents()
        .iter()
        .filter(|content| content.says.implant.is_none())
        .map(|content| {
            Finding::new(
                "the log does not say whether a set holds an implant",
                Evidence::at(content.span(), "no `implant yes` or `implant no`"),
                "write it into the log",
            )
        })
        .collect();
    Verdict::found_or_not_asked(findings)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn set_without_the_word_is_found() {
        assert_found(&RULE, PLASMA, &[(", implant no", "")]);
    }

    #[test]
    fn set_with_the_word_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
