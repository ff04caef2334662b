//! Is there an external chemical indicator with a result?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::{CDC_DENTAL, ISO_11140_1};
use crate::judge::rulebook::{Effect, Known, Rule, RuleId, Source, Verdict};
use crate::record::entry::CiPosition;

/// Is there an external chemical indicator with a result?
pub static RULE: Rule = Rule {
    id: RuleId("ci-external-missing"),
    question: "Is there an external chemical indicator with a result?",
    sources: &[
        Source::Published {
            title: CDC_DENTAL,
            year: None,
            section: "external indicator where the internal one is not visible",
            known: Known::Seen,
        },
        Source::seen(ISO_11140_1, 2014, "type 1: outside every package"),
    ],
    effect: Effect::Hold,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let external: Vec<_> = case
        .cis()
        .iter()
        .filter(|ci| ci.says.endpoint.is_some())
        .filter(|ci| matches!(&ci.says.position, Some(position) if position.value == CiPosition::External))
        .map(|ci| ci.span())
        .collect();
    if external.is_empty() {
        return Verdict::found(
            "there is no result of an external chemical indicator",
            case.place("no external CI for the load"),
            "read the external indicators and write them into the log",
        );
    }
    Verdict::Met(Evidence::at_all(
        external,
        "the external chemical indicator",
    ))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn load_without_one_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[("position external, type 1", "position test-pack, type 1")],
        );
    }

    #[test]
    fn external_indicator_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
