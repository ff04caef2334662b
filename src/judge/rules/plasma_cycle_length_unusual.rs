//! Did the peroxide cycle last as long as such cycles do?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::CDC_2008;
use crate::judge::rulebook::{Effect, Parameter, Rule, RuleId, Source, Verdict};
use crate::record::cycle::Process;

/// Did the peroxide cycle last as long as such cycles do?
pub static RULE: Rule = Rule {
    id: RuleId("plasma-cycle-length-unusual"),
    question: "Did the peroxide cycle last as long as such cycles do?",
    sources: &[Source::seen(
        CDC_2008,
        2008,
        "Table 6: cycle time 28 to 75 minutes, varies with model (via copy)",
    )],
    effect: Effect::Note,
    floor: None,
    parameters: &[LEAST, MOST],
    evaluate,
};

/// The shortest cycle.
const LEAST: Parameter = Parameter::number(
    "least-minutes",
    "min",
    28.0,
    (1.0, 600.0),
    "the shortest cycle",
    Source::seen(CDC_2008, 2008, "Table 6 (via copy)"),
);
/// The longest cycle.
const MOST: Parameter = Parameter::number(
    "most-minutes",
    "min",
    75.0,
    (1.0, 600.0),
    "the longest cycle",
    Source::seen(CDC_2008, 2008, "Table 6 (via copy)"),
);

fn evaluate(case: &Case<'_>) -> Verdict {
    let (Some(known), Some(Process::Plasma)) = (case.completed(), case.process()) else {
        return Verdict::NotAsked;
    };
    let (Some(ended), Some(seconds)) = (&known.cycle.ended, known.seconds()) else {
        return Verdict::NotAsked;
    };
    let minutes = seconds as f64 / 60.0;
    let (least, most) = (case.number(&RULE, &LEAST), case.number(&RULE, &MOST));
    if (least..=most).contains(&minutes) {
        return Verdict::Met(Evidence::at(
            ended.span,
            format!("the cycle lasted {minutes:.0} min"),
        ));
    }
    Verdict::found(
        format!("the cycle lasted {minutes:.0} min; such cycles last {least} to {most} min"),
        Evidence::at(ended.span, "the end as printed"),
        "compare with the unit's instructions for use",
    )
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn cycle_of_twenty_minutes_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[
                (
                    "started: 2026-03-12 07:41:20",
                    "started: 2026-03-12 05:41:20",
                ),
                ("total: 00:40:45, readings 6\n", ""),
            ],
        );
    }

    #[test]
    fn cycle_of_forty_minutes_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
