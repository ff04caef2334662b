//! Does the load lie outside the span that another load's growing indicator puts in doubt?

use crate::judge::bi_test::name_vial;
use crate::judge::case::{Case, Seen};
use crate::judge::growth_scope::{find_growth_around, holds_implant, load_of};
use crate::judge::publication::CDC_2008;
use crate::judge::recall::{LAST_NEGATIVE, SCOPE_OF};
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};
use crate::record::cycle::Process;
use crate::record::entry::BiResult;

/// Does the load lie outside the span that another load's growing indicator puts in doubt?
pub static RULE: Rule = Rule {
    id: RuleId("bi-growth-in-unit"),
    question: "Does the load lie outside the span that another load's growing indicator puts in doubt?",
    sources: &[
        Source::seen(
            CDC_2008,
            2008,
            "recommendations on biological indicators: not steam, from the last negative to the next satisfactory indicator (via copy)",
        ),
        Source::seen(CDC_2008, 2008, "Table 12: steam, implants at once"),
    ],
    effect: Effect::Reject,
    floor: Some(Effect::Hold),
    parameters: &[SCOPE_OF, LAST_NEGATIVE],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let Some(process) = case.process() else {
        return Verdict::NotAsked;
    };
    if process == Process::Steam && !holds_implant(case) {
        return Verdict::NotAsked;
    }
    let say = |test: &Seen<'_, BiResult>| {
        format!(
            "the {} of load {} in the same unit grew, and no satisfactory indicator lies between that load and this one",
            name_vial(test.says),
            load_of(test)
        )
    };
    let remedy =
        "this load lies in the scope of recall: get it back if it has left, and process it again";
    let findings = find_growth_around(case).find(case, say, remedy);
    Verdict::found_or_not_asked(findings)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn load_after_growth_without_an_indicator_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[
                (
                    "loadbook printout 1\nunit: PL-1\nserial",
                    "loadbook printout 1\nunit: PL-1\nprocess: plasma\ncounter: 1041\nload: P1-0311-07\nstarted: 2026-03-11 16:10:00\nended: 16:52:00\noutcome: completed\nend\nloadbook printout 1\nunit: PL-1\nserial",
                ),
                (
                    "07:00 lot: sterilant",
                    "2026-03-11 17:00 bi: P1-0311-07, role test, lot B771, incubated 2026-03-11 17:00, read 2026-03-12 17:10, result growth\n07:00 lot: sterilant",
                ),
                ("08:40 bi: P1-0312-01", "08:40 bi: X-1"),
                ("08:41 bi: P1-0312-01", "08:41 bi: X-1"),
                ("08:45 bi: P1-0312-01", "08:45 bi: X-1"),
                ("08:46 bi: P1-0312-01", "08:46 bi: X-1"),
            ],
        );
    }

    #[test]
    fn load_after_growth_with_a_satisfactory_indicator_is_silent() {
        assert_silent(
            &RULE,
            PLASMA,
            &[
                (
                    "loadbook printout 1\nunit: PL-1\nserial",
                    "loadbook printout 1\nunit: PL-1\nprocess: plasma\ncounter: 1041\nload: P1-0311-07\nstarted: 2026-03-11 16:10:00\nended: 16:52:00\noutcome: completed\nend\nloadbook printout 1\nunit: PL-1\nserial",
                ),
                (
                    "07:00 lot: sterilant",
                    "2026-03-11 17:00 bi: P1-0311-07, role test, lot B771, incubated 2026-03-11 17:00, read 2026-03-12 17:10, result growth\n07:00 lot: sterilant",
                ),
            ],
        );
    }

    #[test]
    fn load_after_no_growth_is_silent() {
        assert_silent(
            &RULE,
            PLASMA,
            &[
                (
                    "loadbook printout 1\nunit: PL-1\nserial",
                    "loadbook printout 1\nunit: PL-1\nprocess: plasma\ncounter: 1041\nload: P1-0311-07\nstarted: 2026-03-11 16:10:00\nended: 16:52:00\noutcome: completed\nend\nloadbook printout 1\nunit: PL-1\nserial",
                ),
                (
                    "07:00 lot: sterilant",
                    "2026-03-11 17:00 bi: P1-0311-07, role test, lot B771, incubated 2026-03-11 17:00, read 2026-03-12 17:10, result no growth\n07:00 lot: sterilant",
                ),
                ("08:40 bi: P1-0312-01", "08:40 bi: X-1"),
                ("08:41 bi: P1-0312-01", "08:41 bi: X-1"),
                ("08:45 bi: P1-0312-01", "08:45 bi: X-1"),
                ("08:46 bi: P1-0312-01", "08:46 bi: X-1"),
            ],
        );
    }
}
