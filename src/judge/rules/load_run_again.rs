//! Was the load run before under the same number?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};

/// Was the load run before under the same number?
pub static RULE: Rule = Rule {
    id: RuleId("load-run-again"),
    question: "Was the load run before under the same number?",
    sources: &[Source::CommonPractice],
    effect: Effect::Note,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let Some((_, earlier)) = case.cycles.split_last() else {
        return Verdict::NotAsked;
    };
    if earlier.is_empty() {
        return Verdict::NotAsked;
    }
    let spans = earlier.iter().map(|(_, known)| {
        let outcome = known.cycle.outcome.as_ref();
        outcome.map_or(known.cycle.opening, |outcome| outcome.span)
    });
    Verdict::found(
        format!(
            "the load was run {} times; it is judged as it last went",
            case.cycles.len()
        ),
        Evidence::at_all(spans, "an earlier cycle of the load"),
        "nothing need be done for this; the cause of a failed cycle belongs in the log",
    )
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn load_run_once_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }

    #[test]
    fn earlier_cycle_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "loadbook printout 1\nunit: PL-1\nserial",
                "loadbook printout 1\nunit: PL-1\nprocess: plasma\ncounter: 1041\nload: P1-0312-01\nstarted: 2026-03-12 07:10:00\nended: 07:12:00\noutcome: aborted\nend\nloadbook printout 1\nunit: PL-1\nserial",
            )],
        );
    }
}
