//! Could every chemical indicator be read?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};
use crate::record::entry::CiEndpoint;

/// Could every chemical indicator be read?
pub static RULE: Rule = Rule {
    id: RuleId("ci-unreadable"),
    question: "Could every chemical indicator be read?",
    sources: &[Source::CommonPractice],
    effect: Effect::Hold,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let unreadable = case.cis().iter().filter(|ci| match &ci.says.endpoint {
        Some(endpoint) => endpoint.value == CiEndpoint::Unreadable,
        None => true,
    });
    let findings = unreadable.map(|ci| {
        let seen = match ci.says.endpoint {
            Some(_) => "a chemical indicator could not be read",
            None => "a chemical indicator has no result in the log",
        };
        Finding::new(
            seen,
            Evidence::at(ci.span(), "the indicator as written"),
            "have a second person look at the indicator; if it stays unread, do not use the package",
        )
    });
    Verdict::found_or_not_asked(findings.collect())
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn unreadable_indicator_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "lot C2240, expiry 2027-01-31, endpoint reached",
                "lot C2240, expiry 2027-01-31, endpoint unreadable",
            )],
        );
    }

    #[test]
    fn indicator_without_a_result_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "lot C2240, expiry 2027-01-31, endpoint reached",
                "lot C2240, expiry 2027-01-31",
            )],
        );
    }

    #[test]
    fn read_indicators_are_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
