//! Is there another load number that may be a slip for this one?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};

/// Is there another load number that may be a slip for this one?
pub static RULE: Rule = Rule {
    id: RuleId("load-number-near-miss"),
    question: "Is there another load number that may be a slip for this one?",
    sources: &[Source::CommonPractice],
    effect: Effect::Note,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let near = case.index.near_misses.get(&case.ix);
    let findings = near.into_iter().flatten().map(|near| {
        let other = if near.in_log == case.ix {
            near.on_strip
        } else {
            near.in_log
        };
        let number = case.index.load(other).map(|load| load.number.to_string());
        Finding::new(
            format!(
                "load {} may be the same load: {}",
                number.unwrap_or_default(),
                near.slip
            ),
            Evidence::at(near.span, "the number as it stands in the log"),
            "compare both with the load record; if it is a slip, correct it in the log",
        )
    });
    Verdict::found_or_not_asked(findings.collect())
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn load_with_one_number_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }

    #[test]
    fn number_with_o_for_zero_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[
                ("07:35 load: P1-0312-01", "07:35 load: P1-O312-01"),
                ("07:36 content: P1-0312-01", "07:36 content: P1-O312-01"),
            ],
        );
    }
}
