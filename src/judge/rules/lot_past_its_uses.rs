//! Was no supply used more often than it has uses?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};
use crate::judge::used_lot::find_used_lots;

/// Was no supply used more often than it has uses?
pub static RULE: Rule = Rule {
    id: RuleId("lot-past-its-uses"),
    question: "Was no supply used more often than it has uses?",
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
        let Some(count) = used.use_count else {
            continue;
        };
        if count.n > count.of {
            findings.push(Finding::new(
                format!("{} was used for the {}th of {} times", used.name(), count.n, count.of),
                Evidence::at(used.span, "the use as printed"),
                "compare with the supply's instructions for use; the cycle may have had too little sterilant",
            ));
        } else {
            fine.push(used.span);
        }
    }
    if findings.is_empty() && fine.is_empty() {
        return Verdict::NotAsked;
    }
    Verdict::found_or_met(findings, || {
        Evidence::at_all(fine, "no supply was past its uses")
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn eleventh_of_ten_is_found() {
        assert_found(&RULE, PLASMA, &[("use 3 of 10", "use 11 of 10")]);
    }

    #[test]
    fn tenth_of_ten_is_silent() {
        assert_silent(&RULE, PLASMA, &[("use 3 of 10", "use 10 of 10")]);
    }
}
