//! Was no lot used after the log says that it was finished?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};
use crate::judge::used_lot::find_used_lots;

/// Was no lot used after the log says that it was finished?
pub static RULE: Rule = Rule {
    id: RuleId("lot-used-after-finished"),
    question: "Was no lot used after the log says that it was finished?",
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
        let Some(when) = used.when else {
            continue;
        };
        match used.finished_before(case, when) {
            Some((finished, span)) => findings.push(Finding::new(
                format!(
                    "{} was finished on {} and used on {}",
                    used.name(),
                    finished.format("%Y-%m-%d %H:%M"),
                    when.format("%Y-%m-%d %H:%M")
                ),
                Evidence::at_all([used.span, span], "the lot as used, and as finished"),
                "correct the entry that is wrong: which lot was used is not proven",
            )),
            None => fine.push(used.span),
        }
    }
    if findings.is_empty() && fine.is_empty() {
        return Verdict::NotAsked;
    }
    Verdict::found_or_met(findings, || {
        Evidence::at_all(fine, "no lot was used after it was finished")
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn finished_lot_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "07:35 load:",
                "07:10 lot: sterilant, lot K4471, action finished, by HB\n07:35 load:",
            )],
        );
    }

    #[test]
    fn lot_finished_later_is_silent() {
        assert_silent(
            &RULE,
            PLASMA,
            &[(
                "08:25 ci:",
                "08:24 lot: sterilant, lot K4471, action finished, by HB\n08:25 ci:",
            )],
        );
    }

    #[test]
    fn lot_opened_again_is_silent() {
        assert_silent(
            &RULE,
            PLASMA,
            &[(
                "07:35 load:",
                "07:10 lot: sterilant, lot K4471, action finished, by HB\n07:12 lot: sterilant, lot K4471, action opened, by HB\n07:35 load:",
            )],
        );
    }
}
