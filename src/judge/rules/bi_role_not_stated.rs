//! Does the log say of every biological indicator whether it is test or control?

use crate::judge::case::{Case, role};
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};

/// Does the log say of every biological indicator whether it is test or control?
pub static RULE: Rule = Rule {
    id: RuleId("bi-role-not-stated"),
    question: "Does the log say of every biological indicator whether it is test or control?",
    sources: &[Source::CommonPractice],
    effect: Effect::Hold,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let findings = case
        .bis()
        .iter()
        .filter(|vial| role(vial.says).is_none())
        .map(|vial| {
            Finding::new(
                "the log does not say whether a biological indicator is test or control",
                Evidence::at(vial.span(), "the indicator as written"),
                "write `role test` or `role control` into the log",
            )
        })
        .collect();
    Verdict::found_or_not_asked(findings)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn vial_without_a_role_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "2026-03-13 08:45 bi: P1-0312-01, role test, lot",
                "2026-03-13 08:45 bi: P1-0312-01, lot",
            )],
        );
    }

    #[test]
    fn vials_with_roles_are_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
