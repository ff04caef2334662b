//! Was no lot used before the log says that it was opened?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};
use crate::judge::used_lot::{find_used_lots, has_openings_before};

/// Was no lot used before the log says that it was opened?
pub static RULE: Rule = Rule {
    id: RuleId("lot-used-before-opened"),
    question: "Was no lot used before the log says that it was opened?",
    sources: &[Source::CommonPractice],
    effect: Effect::Hold,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let mut findings = Vec::new();
    let mut fine = Vec::new();
    for used in find_used_lots(case) {
        let (Some((opened, span)), Some(when)) = (used.first_opened(case), used.when) else {
            continue;
        };
        // A lot comes in several packs: one that was opened before the log began to say so is not in it.
        if when < opened && has_openings_before(case, used.kind, when) {
            findings.push(Finding::new(
                format!(
                    "{} was used on {} and opened only on {}",
                    used.name(),
                    when.format("%Y-%m-%d %H:%M"),
                    opened.format("%Y-%m-%d %H:%M")
                ),
                Evidence::at_all([used.span, span], "the lot as used, and as opened"),
                "correct the entry that is wrong: which lot was used is not proven",
            ));
        } else {
            fine.push(used.span);
        }
    }
    if findings.is_empty() && fine.is_empty() {
        return Verdict::NotAsked;
    }
    Verdict::found_or_met(findings, || {
        Evidence::at_all(fine, "every lot was opened before it was used")
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn lot_opened_after_its_use_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "07:00 lot: sterilant",
                "2026-03-01 07:00 lot: sterilant, lot K4470, action opened, by HB\n2026-03-13 07:00 lot: sterilant",
            )],
        );
    }

    #[test]
    fn log_that_began_later_is_silent() {
        assert_silent(
            &RULE,
            PLASMA,
            &[("07:00 lot: sterilant", "2026-03-13 07:00 lot: sterilant")],
        );
    }

    #[test]
    fn lot_opened_before_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
