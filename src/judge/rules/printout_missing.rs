//! Is there a printout of the cycle, and of every run that the log names?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::{CDC_DENTAL, ST79};
use crate::judge::rulebook::{Effect, Finding, Known, Rule, RuleId, Source, Verdict};

/// Is there a printout of the cycle, and of every run that the log names?
pub static RULE: Rule = Rule {
    id: RuleId("printout-missing"),
    question: "Is there a printout of the cycle, and of every run that the log names?",
    sources: &[
        Source::Published {
            title: CDC_DENTAL,
            year: None,
            section: "each load has its physical record read",
            known: Known::Seen,
        },
        Source::memory(ST79, 2017, "records of each load"),
    ],
    effect: Effect::Hold,
    floor: Some(Effect::Hold),
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    if case.cycles.is_empty() {
        return Verdict::found(
            format!("there is no printout of load {}", case.load.number),
            case.place("no printout names this load"),
            "find the printout of the load's cycle, or print it again from the unit's memory",
        );
    }
    let findings: Vec<Finding> = case
        .starts()
        .iter()
        .filter_map(|start| {
            let counter = start.says.counter.as_ref()?;
            // A counter that the printout contradicts is the question of log-contradicts-printout.
            let is_run_again = case.starts().len() > 1;
            let printed = case.cycles.iter().any(|(_, known)| {
                known
                    .cycle
                    .counter
                    .as_ref()
                    .is_some_and(|printed| printed.value == counter.value)
            });
            (is_run_again && !printed).then(|| {
                Finding::new(
                    format!("there is no printout of cycle {}", counter.value),
                    Evidence::at(start.span(), "the log names this run of the load"),
                    format!("find the printout of cycle {}", counter.value),
                )
            })
        })
        .collect();
    Verdict::found_or_met(findings, || {
        let openings = case.cycles.iter().map(|(_, known)| known.cycle.opening);
        Evidence::at_all(openings, "the printout of the cycle")
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn load_known_from_the_log_alone_is_found() {
        assert_found(&RULE, PLASMA, &[("load: P1-0312-01\noperator", "operator")]);
    }

    #[test]
    fn printed_load_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }

    #[test]
    fn second_run_in_the_log_needs_its_own_printout() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "08:25 ci:",
                "08:24 load: P1-0312-01, unit PL-1, counter 1043, program standard, by HB\n08:25 ci:",
            )],
        );
    }
}
