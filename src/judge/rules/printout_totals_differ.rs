//! Do the printout's own totals agree with its lines?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Finding, Rule, RuleId, Source, Verdict};

/// Do the printout's own totals agree with its lines?
pub static RULE: Rule = Rule {
    id: RuleId("printout-totals-differ"),
    question: "Do the printout's own totals agree with its lines?",
    sources: &[Source::CommonPractice],
    effect: Effect::Hold,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let Some(known) = case.last() else {
        return Verdict::NotAsked;
    };
    let cycle = &known.cycle;
    let Some(total) = &cycle.total else {
        return Verdict::NotAsked;
    };
    let mut findings = Vec::new();
    let mut say = |seen: String| {
        findings.push(Finding::new(
            seen,
            Evidence::at(total.span, "the printout's total"),
            "compare the printout with the original strip: a line was lost, added or changed",
        ));
    };
    if let Some(printed) = total.value.n_reading_lines
        && printed != cycle.n_reading_lines
    {
        say(format!(
            "the printout should hold {printed} lines of readings and holds {}",
            cycle.n_reading_lines
        ));
    }
    if let Some(ended) = &cycle.ended
        && i64::from(ended.value.0) != i64::from(total.value.seconds)
    {
        say("the printed length of the cycle is not the time from its start to its end".to_owned());
    }
    Verdict::found_or_met(findings, || {
        Evidence::at(total.span, "the total agrees with the lines")
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn lost_reading_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "07:51:10 pressure 812.0 Pa, temperature 46.0 C, concentration 6.1 mg/L\n",
                "",
            )],
        );
    }

    #[test]
    fn agreeing_total_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }

    #[test]
    fn wrong_length_is_found() {
        assert_found(&RULE, PLASMA, &[("total: 00:40:45", "total: 00:41:45")]);
    }
}
