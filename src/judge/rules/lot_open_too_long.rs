//! Was no lot used longer after its opening than the policy allows?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Finding, Parameter, Rule, RuleId, Source, Verdict};
use crate::judge::used_lot::find_used_lots;
use crate::record::consumable::ConsumableKind;

/// Was no lot used longer after its opening than the policy allows?
pub static RULE: Rule = Rule {
    id: RuleId("lot-open-too-long"),
    question: "Was no lot used longer after its opening than the policy allows?",
    sources: &[Source::CommonPractice],
    effect: Effect::Hold,
    floor: None,
    parameters: &[STERILANT, CI, BI],
    evaluate,
};

/// How long a supply of sterilant may be open; 0 for as long as its expiry allows.
const STERILANT: Parameter = Parameter::number(
    "sterilant-days",
    "days",
    0.0,
    (0.0, 3650.0),
    "how long a supply of sterilant may be open; 0 for as long as its expiry allows",
    Source::CommonPractice,
);
/// How long a box of chemical indicators may be open; 0 for as long as its expiry allows.
const CI: Parameter = Parameter::number(
    "ci-days",
    "days",
    0.0,
    (0.0, 3650.0),
    "how long a box of chemical indicators may be open; 0 for as long as its expiry allows",
    Source::CommonPractice,
);
/// How long a box of biological indicators may be open; 0 for as long as its expiry allows.
const BI: Parameter = Parameter::number(
    "bi-days",
    "days",
    0.0,
    (0.0, 3650.0),
    "how long a box of biological indicators may be open; 0 for as long as its expiry allows",
    Source::CommonPractice,
);

fn evaluate(case: &Case<'_>) -> Verdict {
    let mut findings = Vec::new();
    let mut fine = Vec::new();
    for used in find_used_lots(case) {
        let days = match used.kind {
            ConsumableKind::Sterilant => case.number(&RULE, &STERILANT),
            ConsumableKind::Ci => case.number(&RULE, &CI),
            ConsumableKind::Bi => case.number(&RULE, &BI),
            ConsumableKind::Packaging | ConsumableKind::Other => 0.0,
        };
        let (true, Some(when)) = (days > 0.0, used.when) else {
            continue;
        };
        let Some((opened, span)) = used.last_opened(case, when) else {
            continue;
        };
        let open = when.date().signed_duration_since(opened.date()).num_days();
        if open as f64 > days {
            findings.push(Finding::new(
                format!(
                    "{} had been open for {open} days, and the policy allows {days}",
                    used.name()
                ),
                Evidence::at_all([used.span, span], "the lot as used, and as opened"),
                "what this lot shows does not count; open a new one",
            ));
        } else {
            fine.push(used.span);
        }
    }
    if findings.is_empty() && fine.is_empty() {
        return Verdict::NotAsked;
    }
    Verdict::found_or_met(findings, || {
        Evidence::at_all(fine, "no lot had been open too long")
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found_under, assert_silent, assert_silent_under};

    #[test]
    fn policy_without_a_limit_is_silent() {
        assert_silent(
            &RULE,
            PLASMA,
            &[("07:00 lot: sterilant", "2026-01-01 07:00 lot: sterilant")],
        );
    }

    #[test]
    fn eleven_days_of_ten_are_found() {
        assert_found_under(
            &RULE,
            PLASMA,
            &[("07:00 lot: sterilant", "2026-03-01 07:00 lot: sterilant")],
            "[rules.lot-open-too-long]\nsterilant-days = 10",
        );
    }

    #[test]
    fn ten_days_of_ten_are_silent() {
        assert_silent_under(
            &RULE,
            PLASMA,
            &[("07:00 lot: sterilant", "2026-03-02 07:00 lot: sterilant")],
            "[rules.lot-open-too-long]\nsterilant-days = 10",
        );
    }
}
