//! Did every chemical indicator reach its endpoint?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::{CDC_DENTAL, MMWR_2003};
use crate::judge::rulebook::{Effect, Finding, Known, Rule, RuleId, Source, Verdict};
use crate::record::entry::CiEndpoint;

/// Did every chemical indicator reach its endpoint?
pub static RULE: Rule = Rule {
    id: RuleId("ci-endpoint-not-reached"),
    question: "Did every chemical indicator reach its endpoint?",
    sources: &[
        Source::Published {
            title: CDC_DENTAL,
            year: None,
            section: "if the appropriate colour change did not occur, do not use the instruments",
            known: Known::Seen,
        },
        Source::seen(
            MMWR_2003,
            2003,
            "sterilization monitoring: chemical indicators",
        ),
    ],
    effect: Effect::Reject,
    floor: Some(Effect::Hold),
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let mut findings = Vec::new();
    let mut reached = Vec::new();
    for ci in case.cis() {
        match &ci.says.endpoint {
            Some(endpoint) if endpoint.value == CiEndpoint::NotReached => {
                let position = ci
                    .says
                    .position
                    .as_ref()
                    .map_or("chemical", |position| position.value.word());
                let set = ci
                    .says
                    .set
                    .as_ref()
                    .map(|set| format!(" with {}", set.value));
                findings.push(Finding::new(
                    format!("the {position} indicator{} did not reach its endpoint", set.unwrap_or_default()),
                    Evidence::at(ci.span(), "the indicator as read"),
                    "do not use the package; look at the whole load, find the cause and process the load again",
                ));
            }
            Some(endpoint) if endpoint.value == CiEndpoint::Reached => reached.push(ci.span()),
            _ => {}
        }
    }
    if findings.is_empty() && reached.is_empty() {
        return Verdict::NotAsked;
    }
    Verdict::found_or_met(findings, || {
        Evidence::at_all(reached, "every chemical indicator reached its endpoint")
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn indicator_that_did_not_reach_it_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "lot C2240, expiry 2027-01-31, endpoint reached",
                "lot C2240, expiry 2027-01-31, endpoint not reached",
            )],
        );
    }

    #[test]
    fn reached_endpoints_are_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
