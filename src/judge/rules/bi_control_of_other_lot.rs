//! Is the control of the same lot as the biological indicator?

use crate::judge::bi_test::{Control, find_controls, has_no_growth, is_asked_for, name_vial};
use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::MMWR_2003;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};

/// Is the control of the same lot as the biological indicator?
pub static RULE: Rule = Rule {
    id: RuleId("bi-control-of-other-lot"),
    question: "Is the control of the same lot as the biological indicator?",
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
            Control::OtherLot(ix) if asked => Some(Finding::new(
                format!(
                    "the control that goes with the {} is of another lot",
                    name_vial(test.says)
                ),
                Evidence::at_all(
                    [test.span()]
                        .into_iter()
                        .chain(case.index.entry(*ix).map(|known| known.entry.span)),
                    "the two lots are not the same",
                ),
                "find a control of the same lot of that day, with its result",
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
    fn control_of_another_lot_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[
                (
                    "08:41 bi: P1-0312-01, role control, lot B771",
                    "08:41 bi: P1-0312-01, role control, lot B540",
                ),
                (
                    "2026-03-13 08:46 bi: P1-0312-01, role control, lot B771",
                    "2026-03-13 08:46 bi: P1-0312-01, role control, lot B540",
                ),
            ],
        );
    }

    #[test]
    fn control_of_the_same_lot_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
