//! Was there a control for the biological indicator?

use crate::judge::bi_test::{Control, find_controls, has_no_growth, is_asked_for, name_vial};
use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::MMWR_2003;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};

/// Was there a control for the biological indicator?
pub static RULE: Rule = Rule {
    id: RuleId("bi-control-missing"),
    question: "Was there a control for the biological indicator?",
    sources: &[Source::seen(
        MMWR_2003,
        2003,
        "VI.F.6: biological indicator and control from the same lot number",
    )],
    effect: Effect::Hold,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let asked = is_asked_for(case).is_some();
    let findings = find_controls(case)
        .iter()
        .filter(|(test, _)| has_no_growth(test))
        .filter_map(|(test, control)| match control {
            Control::Missing if asked => Some(Finding::new(
                format!("the {} has no control", name_vial(test.says)),
                Evidence::at(
                    test.span(),
                    "no growth counts only with a control that grew",
                ),
                "find the control of the same lot of that day, with its result",
            )),
            _ => None,
        });
    Verdict::found_or_not_asked(findings.collect())
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn test_without_control_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[
                (
                    "08:41 bi: P1-0312-01, role control, lot B771, expiry 2026-12-31, incubated 2026-03-12 08:40, by HB\n",
                    "",
                ),
                (
                    "2026-03-13 08:46 bi: P1-0312-01, role control, lot B771, expiry 2026-12-31, incubated 2026-03-12 08:40, read 2026-03-13 08:45, result growth, by MK\n",
                    "",
                ),
            ],
        );
    }

    #[test]
    fn test_with_control_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }

    #[test]
    fn control_of_another_load_that_day_is_silent() {
        assert_silent(
            &RULE,
            PLASMA,
            &[
                (
                    "08:41 bi: P1-0312-01, role control",
                    "08:41 bi: P1-0312-02, role control",
                ),
                (
                    "2026-03-13 08:46 bi: P1-0312-01, role control",
                    "2026-03-13 08:46 bi: P1-0312-02, role control",
                ),
            ],
        );
    }
}
