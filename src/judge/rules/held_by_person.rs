//! Has no one held the load back since it was last let go?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};
use crate::record::entry::EntryBody;

/// Has no one held the load back since it was last let go?
pub static RULE: Rule = Rule {
    id: RuleId("held-by-person"),
    question: "Has no one held the load back since it was last let go?",
    sources: &[Source::CommonPractice],
    effect: Effect::Hold,
    floor: Some(Effect::Hold),
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let last = case
        .decisions()
        .iter()
        .rfind(|one| matches!(one.says, EntryBody::Hold | EntryBody::Release));
    match last {
        Some(one) if matches!(one.says, EntryBody::Hold) => Verdict::found(
            "a person holds the load back",
            Evidence::at(one.span(), "the entry as written"),
            "whoever holds it, or the person in charge, settles why and writes the release into the log",
        ),
        _ => Verdict::NotAsked,
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn hold_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[("2026-03-13 09:00 release", "2026-03-13 09:00 hold")],
        );
    }

    #[test]
    fn release_after_a_hold_is_silent() {
        assert_silent(
            &RULE,
            PLASMA,
            &[("08:25 ci:", "08:24 hold: P1-0312-01, by HB\n08:25 ci:")],
        );
    }
}
