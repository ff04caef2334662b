//! Is there an internal chemical indicator with a result for every set?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::CDC_DENTAL;
use crate::judge::rulebook::{Effect, Finding, Known, Rule, RuleId, Source, Verdict};
use crate::record::entry::CiPosition;

/// Is there an internal chemical indicator with a result for every set?
pub static RULE: Rule = Rule {
    id: RuleId("ci-internal-missing"),
    question: "Is there an internal chemical indicator with a result for every set?",
    sources: &[Source::Published {
        title: CDC_DENTAL,
        year: None,
        section: "an internal indicator should be used inside every package",
        known: Known::Seen,
    }],
    effect: Effect::Hold,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let internal: Vec<_> = case
        .cis()
        .iter()
        .filter(|ci| ci.says.endpoint.is_some())
        .filter(|ci| matches!(&ci.says.position, Some(position) if position.value == CiPosition::Internal))
        .collect();
    if internal.is_empty() {
        return Verdict::found(
            "there is no result of an internal chemical indicator",
            case.place("no internal CI for the load"),
            "read the internal indicators and write them into the log",
        );
    }
    // An indicator that names no set may be any one's; then only their number can be compared.
    let of_set = |set: &str| {
        internal.iter().any(|ci| {
            ci.says
                .set
                .as_ref()
                .is_some_and(|named| named.value.eq_ignore_ascii_case(set))
        })
    };
    let mut n_unnamed = internal.iter().filter(|ci| ci.says.set.is_none()).count();
    let mut findings = Vec::new();
    for content in case.contents() {
        let Some(set) = &content.says.set else {
            continue;
        };
        if of_set(&set.value) {
            continue;
        }
        if n_unnamed > 0 {
            n_unnamed = n_unnamed.saturating_sub(1);
            continue;
        }
        findings.push(Finding::new(
            format!(
                "there is no result of an internal chemical indicator for {}",
                set.value
            ),
            Evidence::at(set.span, "the set as listed"),
            "read the internal indicator of the set and write it into the log",
        ));
    }
    Verdict::found_or_met(findings, || {
        Evidence::at_all(
            internal.iter().map(|ci| ci.span()),
            "the internal chemical indicators",
        )
    })
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
            &[("position internal, type 4", "position test-pack, type 4")],
        );
    }

    #[test]
    fn set_without_one_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "08:25 ci:",
                "07:37 content: P1-0312-01, set Light lead 2, items 1, packages 1, packaging pouch, lot W310, implant no\n08:25 ci:",
            )],
        );
    }

    #[test]
    fn indicator_without_a_set_may_be_any_sets() {
        assert_silent(
            &RULE,
            PLASMA,
            &[("type 4, set ENT scope 4, lot", "type 4, lot")],
        );
    }
}
