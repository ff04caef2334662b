//! Does the log know when every lot was opened?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};
use crate::judge::used_lot::find_used_lots;

/// Does the log know when every lot was opened?
pub static RULE: Rule = Rule {
    id: RuleId("lot-opening-not-logged"),
    question: "Does the log know when every lot was opened?",
    sources: &[Source::CommonPractice],
    effect: Effect::Note,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let mut findings = Vec::new();
    let mut fine = Vec::new();
    for used in find_used_lots(case) {
        if used.lot.is_none() {
            continue;
        }
        match used.first_opened(case) {
            Some(_) => fine.push(used.span),
            None => findings.push(Finding::new(
                format!("the log has no opening of {}", used.name()),
                Evidence::at(used.span, "the lot as written"),
                "write into the log when the lot was opened, or correct the lot",
            )),
        }
    }
    if findings.is_empty() && fine.is_empty() {
        return Verdict::NotAsked;
    }
    Verdict::found_or_met(findings, || {
        Evidence::at_all(fine, "the log has the opening of every lot")
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn unknown_lot_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[("07:00 lot: bi, lot B771", "07:00 lot: bi, lot B999")],
        );
    }

    #[test]
    fn opened_lots_are_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
