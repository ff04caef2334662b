//! Do the unit's clock and the clock of the log agree?

use crate::judge::case::Case;
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};
use crate::judge::stages::say_seconds;

/// Do the unit's clock and the clock of the log agree?
pub static RULE: Rule = Rule {
    id: RuleId("clocks-disagree"),
    question: "Do the unit's clock and the clock of the log agree?",
    sources: &[Source::CommonPractice],
    effect: Effect::Hold,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let Some(unit) = case.unit() else {
        return Verdict::NotAsked;
    };
    let stepped = unit
        .clock_steps
        .iter()
        .find(|step| (step.from..=step.to).contains(&case.ix));
    let seconds = match (unit.clock, stepped) {
        (_, Some(step)) => step.median_seconds,
        (Some(clock), None) if clock.conflict => clock.median_seconds,
        _ => return Verdict::NotAsked,
    };
    Verdict::found(
        format!(
            "the clock of {} is off from the log's by about {}",
            unit.name,
            say_seconds(seconds.abs())
        ),
        case.place("a load of this unit"),
        "set the unit's clock, and settle which of the two times is right",
    )
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{LATE, PLASMA, assert_found, assert_silent};

    #[test]
    fn agreeing_clocks_are_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }

    #[test]
    fn clock_three_hours_off_is_found() {
        assert_found(
            &RULE,
            LATE,
            &[
                ("07:35 load:", "10:35 load:"),
                ("07:36 content:", "10:36 content:"),
                ("08:25 ci:", "11:25 ci:"),
                ("08:31 ci:", "11:31 ci:"),
                ("\n08:40 bi:", "\n11:40 bi:"),
                ("\n08:41 bi:", "\n11:41 bi:"),
            ],
        );
    }
}
