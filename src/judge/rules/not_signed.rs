//! Has a person signed release or hold?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::ST79;
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};
use crate::record::entry::EntryBody;

/// Has a person signed release or hold?
pub static RULE: Rule = Rule {
    id: RuleId("not-signed"),
    question: "Has a person signed release or hold?",
    sources: &[Source::memory(
        ST79,
        2017,
        "records of each load: who released it",
    )],
    effect: Effect::Note,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let signed = case
        .decisions()
        .iter()
        .rfind(|one| matches!(one.says, EntryBody::Hold | EntryBody::Release));
    match signed {
        Some(one) => Verdict::Met(Evidence::at(one.span(), "a person signed")),
        None => Verdict::found(
            "no one signed release or hold",
            case.place("no `release` or `hold` entry for the load"),
            "the person who lets the load go writes it into the log",
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn unsigned_load_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "2026-03-13 09:00 release: P1-0312-01, by MK",
                "2026-03-13 09:00 remark: no one signs",
            )],
        );
    }

    #[test]
    fn signed_load_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
