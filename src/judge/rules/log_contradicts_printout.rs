//! Does the log give the same unit, counter and program as the printout?

use crate::diagnose::Span;
use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};
use crate::reconcile::history::KnownCycle;

/// Does the log give the same unit, counter and program as the printout?
pub static RULE: Rule = Rule {
    id: RuleId("log-contradicts-printout"),
    question: "Does the log give the same unit, counter and program as the printout?",
    sources: &[Source::CommonPractice],
    effect: Effect::Hold,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let mut findings = Vec::new();
    let mut compared = None;
    for start in case.starts() {
        let counter = start.says.counter.as_ref();
        let run = case.cycles.iter().find(|(_, known)| {
            matches!((&known.cycle.counter, counter), (Some(a), Some(b)) if a.value == b.value)
        });
        // The run that an entry means: the one with its counter, else the only one.
        let known = match (run, case.cycles.as_slice()) {
            (Some((_, known)), _) => known,
            (None, [(_, known)]) if !is_named_by_another(case, known) => known,
            _ => continue,
        };
        let mut differ = |what: &str,
                          log: Option<(String, Span)>,
                          strip: Option<(String, Span)>| {
            let (Some(log), Some(strip)) = (log, strip) else {
                return;
            };
            compared = Some(strip.1);
            if !log.0.eq_ignore_ascii_case(&strip.0) {
                findings.push(Finding::new(
                    format!("the log gives {what} {} and the printout {}", log.0, strip.0),
                    Evidence::at_all([log.1, strip.1], "the two do not agree"),
                    "find out which is right and correct the other: evidence of the wrong cycle proves nothing",
                ));
            }
        };
        let cycle = &known.cycle;
        let unit = start.known.entry.unit.as_ref();
        differ(
            "unit",
            unit.map(|one| (one.value.to_string(), one.span)),
            cycle
                .unit
                .as_ref()
                .map(|one| (one.value.to_string(), one.span)),
        );
        differ(
            "counter",
            counter.map(|one| (one.value.to_string(), one.span)),
            cycle
                .counter
                .as_ref()
                .map(|one| (one.value.to_string(), one.span)),
        );
        let program = start.says.program.as_ref();
        differ(
            "program",
            program.map(|one| (one.value.to_string(), one.span)),
            cycle
                .program
                .as_ref()
                .map(|one| (one.value.to_string(), one.span)),
        );
    }
    match compared {
        _ if !findings.is_empty() => Verdict::Found(findings),
        Some(span) => Verdict::Met(Evidence::at(span, "log and printout name the same cycle")),
        None => Verdict::NotAsked,
    }
}

/// Whether an entry gives the counter of this cycle; then another entry with another counter means another run.
fn is_named_by_another(case: &Case<'_>, known: &KnownCycle) -> bool {
    case.starts().iter().any(|start| {
        matches!((&start.says.counter, &known.cycle.counter), (Some(a), Some(b)) if a.value == b.value)
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn other_counter_in_the_log_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[("unit PL-1, counter 1042", "unit PL-1, counter 1024")],
        );
    }

    #[test]
    fn other_program_in_the_log_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "counter 1042, program standard",
                "counter 1042, program lumen",
            )],
        );
    }

    #[test]
    fn agreeing_entry_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
