//! Did the control grow, as it must?

use crate::diagnose::Span;
use crate::judge::bi_test::{Control, find_controls};
use crate::judge::case::{Case, role};
use crate::judge::decision::Evidence;
use crate::judge::publication::MMWR_2003;
use crate::judge::rulebook::{Effect, Finding, Known, Rule, RuleId, Source, Verdict};
use crate::reconcile::history::EntryIx;
use crate::record::entry::{BiGrowth, BiRole};

/// Did the control grow, as it must?
pub static RULE: Rule = Rule {
    id: RuleId("bi-control-no-growth"),
    question: "Did the control grow, as it must?",
    sources: &[Source::Published {
        title: MMWR_2003,
        year: Some(2003),
        section: "VI.F.6: biological indicator and control from same lot number; that a control without growth makes the test invalid follows from its purpose",
        known: Known::Seen,
    }],
    effect: Effect::Hold,
    floor: Some(Effect::Hold),
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let mut dead: Vec<(EntryIx, Span)> = Vec::new();
    let mut grew = Vec::new();
    for (_, control) in find_controls(case) {
        match control {
            Control::NoGrowth(ix) => {
                dead.extend(case.index.entry(*ix).map(|known| (*ix, known.entry.span)))
            }
            Control::Grew(ix) => grew.extend(case.index.entry(*ix).map(|known| known.entry.span)),
            _ => {}
        }
    }
    // A dead control speaks against the test even when the test itself is no longer in the log.
    let own = case.bis().iter().filter(|vial| {
        role(vial.says) == Some(BiRole::Control)
            && matches!(&vial.says.growth, Some(growth) if growth.value == BiGrowth::NoGrowth)
    });
    dead.extend(own.map(|vial| (vial.ix, vial.span())));
    dead.sort_unstable();
    dead.dedup();
    let findings: Vec<Finding> = dead
        .into_iter()
        .map(|(_, span)| {
            Finding::new(
                "the control of the biological indicator did not grow, so that the test proves nothing",
                Evidence::at(span, "the control as read"),
                "find out why (lot, storage, incubator), and run another biological indicator with a control that grows",
            )
        })
        .collect();
    if findings.is_empty() && grew.is_empty() {
        return Verdict::NotAsked;
    }
    Verdict::found_or_met(findings, || {
        Evidence::at_all(grew, "the control grew, as it must")
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn dead_control_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "read 2026-03-13 08:45, result growth",
                "read 2026-03-13 08:45, result no growth",
            )],
        );
    }

    #[test]
    fn growing_control_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
