//! Was every lot used on or before its last day?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Finding, Known, Rule, RuleId, Source, Verdict};
use crate::judge::used_lot::find_used_lots;

/// Was every lot used on or before its last day?
pub static RULE: Rule = Rule {
    id: RuleId("lot-expired"),
    question: "Was every lot used on or before its last day?",
    sources: &[
        Source::Published {
            title: "District of Columbia rule 25-G310",
            year: None,
            section: "indicator expiry checked before each use",
            known: Known::Seen,
        },
        Source::CommonPractice,
    ],
    effect: Effect::Hold,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let mut findings = Vec::new();
    let mut fine = Vec::new();
    for used in find_used_lots(case) {
        let (Some(expiry), Some(day)) = (used.expiry(case), used.when.map(|at| at.date())) else {
            continue;
        };
        if day > expiry {
            findings.push(Finding::new(
                format!("{} expired on {expiry} and was used on {day}", used.name()),
                Evidence::at(used.span, "the lot as written"),
                "find out whether the log's date is right; if it is, what this lot shows does not count",
            ));
        } else {
            fine.push(used.span);
        }
    }
    if findings.is_empty() && fine.is_empty() {
        return Verdict::NotAsked;
    }
    Verdict::found_or_met(findings, || {
        Evidence::at_all(fine, "no lot was past its last day")
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn lot_a_day_past_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "consumable: sterilant, lot K4471, expiry 2026-09-30",
                "consumable: sterilant, lot K4471, expiry 2026-03-11",
            )],
        );
    }

    #[test]
    fn lot_on_its_last_day_is_silent() {
        assert_silent(
            &RULE,
            PLASMA,
            &[(
                "consumable: sterilant, lot K4471, expiry 2026-09-30",
                "consumable: sterilant, lot K4471, expiry 2026-03-12",
            )],
        );
    }

    #[test]
    fn expired_indicator_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "lot B771, expiry 2026-12-31, incubated 2026-03-12 08:40, read 2026-03-13 08:45, result no",
                "lot B771, expiry 2026-02-28, incubated 2026-03-12 08:40, read 2026-03-13 08:45, result no",
            )],
        );
    }
}
