//! Is it known when the cycle began?
//!
//! A time that was inferred with a reason counts as not known: what depends on days (schedules, expiry) would rest on it.

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::ST79;
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};

/// Is it known when the cycle began?
pub static RULE: Rule = Rule {
    id: RuleId("cycle-time-unknown"),
    question: "Is it known when the cycle began?",
    sources: &[Source::memory(
        ST79,
        2017,
        "records of each load: date and time",
    )],
    effect: Effect::Hold,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let Some(known) = case.last() else {
        return Verdict::NotAsked;
    };
    if let Some(began) = &known.began {
        return match &began.reason {
            None => Verdict::NotAsked,
            Some(reason) => Verdict::found(
                format!("the time at which the cycle began is inferred: {reason}"),
                Evidence::at(
                    known.cycle.opening,
                    "this printout's own time is not relied on",
                ),
                "set the unit's clock, and write the right time on the strip",
            ),
        };
    }
    Verdict::found(
        "it is not known when the cycle began",
        Evidence::at(
            known.cycle.opening,
            "this printout has no time that can be believed",
        ),
        "write the time on the strip and in the file",
    )
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn strip_without_a_start_is_found() {
        assert_found(&RULE, PLASMA, &[("started: 2026-03-12 07:41:20\n", "")]);
    }

    #[test]
    fn dated_strip_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
