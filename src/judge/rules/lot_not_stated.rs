//! Does the record give the lot of everything that was used?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::ST79;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};
use crate::judge::used_lot::find_used_lots;

/// Does the record give the lot of everything that was used?
pub static RULE: Rule = Rule {
    id: RuleId("lot-not-stated"),
    question: "Does the record give the lot of everything that was used?",
    sources: &[Source::seen(
        ST79,
        2017,
        "records of each load: BI lot number (A4:2020, via a study guide)",
    )],
    effect: Effect::Note,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let mut findings = Vec::new();
    let mut fine = Vec::new();
    for used in find_used_lots(case) {
        if used.lot.is_some() {
            fine.push(used.span);
        } else {
            findings.push(Finding::new(
                format!("the lot of {} is not given", used.kind_word()),
                Evidence::at(used.span, "as written"),
                "write the lot into the log",
            ));
        }
    }
    if findings.is_empty() && fine.is_empty() {
        return Verdict::NotAsked;
    }
    Verdict::found_or_met(findings, || Evidence::at_all(fine, "every lot is given"))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn indicator_without_a_lot_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "type 4, set ENT scope 4, lot C2240, expiry 2027-01-31,",
                "type 4, set ENT scope 4,",
            )],
        );
    }

    #[test]
    fn lots_are_given() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
