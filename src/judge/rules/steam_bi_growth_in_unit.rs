//! Does a steam load lie outside the span that another load's growing indicator puts in doubt?

use crate::judge::bi_test::name_vial;
use crate::judge::case::{Case, Seen};
use crate::judge::growth_scope::{find_growth_around, holds_implant, load_of};
use crate::judge::publication::{CDC_2008, MMWR_2003};
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};
use crate::record::cycle::Process;
use crate::record::entry::BiResult;

/// Does a steam load lie outside the span that another load's growing indicator puts in doubt?
pub static RULE: Rule = Rule {
    id: RuleId("steam-bi-growth-in-unit"),
    question: "Does a steam load lie outside the span that another load's growing indicator puts in doubt?",
    sources: &[
        Source::seen(
            CDC_2008,
            2008,
            "Table 12, step 2: a single positive without other fault, repeat in three consecutive cycles",
        ),
        Source::seen(
            MMWR_2003,
            2003,
            "the more conservative approach recalls at once",
        ),
    ],
    effect: Effect::Note,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    if case.process() != Some(Process::Steam) || holds_implant(case) {
        return Verdict::NotAsked;
    }
    let say = |test: &Seen<'_, BiResult>| {
        format!(
            "the {} of load {} in the same steam unit grew",
            name_vial(test.says),
            load_of(test)
        )
    };
    let remedy = "repeat the indicator in three consecutive cycles; if one grows, recall from the last negative one on";
    let findings = find_growth_around(case).find(case, say, remedy);
    Verdict::found_or_not_asked(findings)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{STEAM, assert_found, assert_silent};

    #[test]
    fn load_after_growth_is_found() {
        assert_found(
            &RULE,
            STEAM,
            &[
                (
                    "loadbook printout 1\nunit: ST-1\nserial",
                    "loadbook printout 1\nunit: ST-1\nprocess: steam\ncounter: 5119\nload: S1-0311-07\nstarted: 2026-03-11 16:10:00\nended: 16:52:00\noutcome: completed\nend\nloadbook printout 1\nunit: ST-1\nserial",
                ),
                (
                    "06:00 lot: bi",
                    "2026-03-11 17:00 bi: S1-0311-07, role test, lot B771, incubated 2026-03-11 17:00, read 2026-03-12 17:10, result growth\n06:00 lot: bi",
                ),
                ("08:40 bi: S1-0312-01", "08:40 bi: X-1"),
                ("08:41 bi: S1-0312-01", "08:41 bi: X-1"),
                ("08:45 bi: S1-0312-01", "08:45 bi: X-1"),
                ("08:46 bi: S1-0312-01", "08:46 bi: X-1"),
            ],
        );
    }

    #[test]
    fn load_after_growth_with_a_satisfactory_indicator_is_silent() {
        assert_silent(
            &RULE,
            STEAM,
            &[
                (
                    "loadbook printout 1\nunit: ST-1\nserial",
                    "loadbook printout 1\nunit: ST-1\nprocess: steam\ncounter: 5119\nload: S1-0311-07\nstarted: 2026-03-11 16:10:00\nended: 16:52:00\noutcome: completed\nend\nloadbook printout 1\nunit: ST-1\nserial",
                ),
                (
                    "06:00 lot: bi",
                    "2026-03-11 17:00 bi: S1-0311-07, role test, lot B771, incubated 2026-03-11 17:00, read 2026-03-12 17:10, result growth\n06:00 lot: bi",
                ),
            ],
        );
    }
}
