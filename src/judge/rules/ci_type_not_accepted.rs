//! Is every chemical indicator of a type that the policy accepts where it was?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::ISO_11140_1;
use crate::judge::rulebook::{Effect, Finding, Parameter, Rule, RuleId, Source, Verdict};
use crate::record::entry::CiPosition;

/// Is every chemical indicator of a type that the policy accepts where it was?
pub static RULE: Rule = Rule {
    id: RuleId("ci-type-not-accepted"),
    question: "Is every chemical indicator of a type that the policy accepts where it was?",
    sources: &[
        Source::seen(ISO_11140_1, 2014, "types 1 to 6"),
        Source::CommonPractice,
    ],
    effect: Effect::Hold,
    floor: None,
    parameters: &[EXTERNAL, INTERNAL, TEST_PACK],
    evaluate,
};

/// Types that count outside a package.
const EXTERNAL: Parameter = Parameter::words(
    "external",
    &["1", "3", "4", "5", "6"],
    check_type,
    "types that count outside a package",
    Source::seen(
        ISO_11140_1,
        2014,
        "type 1 for the outside of every package; types have no hierarchy",
    ),
);
/// Types that count inside a package.
const INTERNAL: Parameter = Parameter::words(
    "internal",
    &["3", "4", "5", "6"],
    check_type,
    "types that count inside a package",
    Source::CommonPractice,
);
/// Types that count in a test pack.
const TEST_PACK: Parameter = Parameter::words(
    "test-pack",
    &["2", "3", "4", "5", "6"],
    check_type,
    "types that count in a test pack",
    Source::CommonPractice,
);

fn evaluate(case: &Case<'_>) -> Verdict {
    let accepted = [
        (CiPosition::External, case.words(&RULE, &EXTERNAL)),
        (CiPosition::Internal, case.words(&RULE, &INTERNAL)),
        (CiPosition::TestPack, case.words(&RULE, &TEST_PACK)),
    ];
    let mut findings = Vec::new();
    for ci in case.cis() {
        let (Some(position), Some(ci_type)) = (&ci.says.position, &ci.says.ci_type) else {
            continue;
        };
        let types = accepted.iter().find(|(at, _)| *at == position.value);
        if types.is_some_and(|(_, types)| types.contains(&ci_type.value.to_string().as_str())) {
            continue;
        }
        findings.push(Finding::new(
            format!("a CI of type {} was {}, where the policy does not accept it", ci_type.value, position.value.word()),
            Evidence::at(ci_type.span, "the type as written"),
            "find an indicator of an accepted type with the load, or correct the log if the type is a slip",
        ));
    }
    Verdict::found_or_not_asked(findings)
}

fn check_type(word: &str) -> Result<(), String> {
    match word {
        "1" | "2" | "3" | "4" | "5" | "6" => Ok(()),
        _ => Err(format!(
            "`{word}` is not a type of ISO 11140-1, \"1\" to \"6\""
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, STEAM, assert_found, assert_silent};

    #[test]
    fn process_indicator_inside_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[("position internal, type 4", "position internal, type 1")],
        );
    }

    #[test]
    fn accepted_types_are_silent() {
        assert_silent(&RULE, PLASMA, &[]);
        assert_silent(&RULE, STEAM, &[]);
    }
}
