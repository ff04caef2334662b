//! Has the control been read?

use crate::judge::bi_test::{Control, find_controls, has_no_growth, is_asked_for, name_vial};
use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::MMWR_2003;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};

/// Has the control been read?
pub static RULE: Rule = Rule {
    id: RuleId("bi-control-not-read"),
    question: "Has the control been read?",
    sources: &[Source::seen(
        MMWR_2003,
        2003,
        "VI.F.6: biological indicator and control from the same lot number",
    )],
    effect: Effect::Quarantine,
    floor: Some(Effect::Quarantine),
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let asked = is_asked_for(case).is_some();
    let findings = find_controls(case)
        .iter()
        .filter(|(test, _)| has_no_growth(test))
        .filter_map(|(test, control)| match control {
            Control::Pending(ix) if asked => Some(Finding::new(
                format!("the control of the {} is not read", name_vial(test.says)),
                Evidence::at_all(
                    [test.span()]
                        .into_iter()
                        .chain(case.index.entry(*ix).map(|known| known.entry.span)),
                    "no growth counts only with a control that grew",
                ),
                "read the control",
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
    fn control_in_incubation_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "2026-03-13 08:46 bi: P1-0312-01, role control, lot B771, expiry 2026-12-31, incubated 2026-03-12 08:40, read 2026-03-13 08:45, result growth, by MK\n",
                "",
            )],
        );
    }

    #[test]
    fn read_control_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
