//! Has no one recalled the load?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};
use crate::record::entry::EntryBody;

/// Has no one recalled the load?
pub static RULE: Rule = Rule {
    id: RuleId("recalled-by-person"),
    question: "Has no one recalled the load?",
    sources: &[Source::CommonPractice],
    effect: Effect::Reject,
    floor: Some(Effect::Hold),
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let recall = case
        .decisions()
        .iter()
        .rfind(|one| matches!(one.says, EntryBody::Recall));
    match recall {
        Some(one) => Verdict::found(
            "a person recalled the load, or a part of it",
            Evidence::at(one.span(), "the entry as written"),
            "get the packages back and process them again",
        ),
        None => Verdict::NotAsked,
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn recall_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "2026-03-13 09:00 release: P1-0312-01, by MK",
                "2026-03-13 09:00 release: P1-0312-01, by MK\n2026-03-13 10:00 recall: P1-0312-01, by MK",
            )],
        );
    }

    #[test]
    fn release_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
