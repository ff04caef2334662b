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
    use crate::judge::judge_history;
    use crate::judge::policy::{PolicyBook, Preset};
    use crate::judge::trial::{LATE, PLASMA, assert_found, assert_silent, history};
    use chrono::NaiveDate;
    use std::collections::BTreeMap;

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

    // Clocks in London went forward on 29 March 2026 (IANA time zone database). A unit left on winter time prints an hour
    // less from then on, until someone sets it: the loads of those days are found, and none before or after.
    #[test]
    fn loads_of_days_on_which_the_clock_was_an_hour_off_are_found() {
        let first = NaiveDate::from_ymd_opt(2026, 3, 25).unwrap();
        let minutes_late = [-5, -6, -4, -5, 55, 54, 56, 55, 54, -5, -6, -5];
        let mut text = String::new();
        let mut log = "loadbook log 1\nzone: Europe/London\n".to_owned();
        for (day, late) in (0_u32..).zip(minutes_late) {
            let printed = (first + chrono::Days::new(day.into())).and_hms_opt(8, 0, 0);
            let printed = printed.unwrap();
            let written = printed + chrono::TimeDelta::minutes(late);
            let number = 100 + day;
            text += &format!(
                "loadbook printout 1\nunit: PL-1\nzone: Europe/London\nprocess: plasma\ncounter: {number}\n\
                 load: P1-{number}\nstarted: {printed}\nended: 08:40:00\noutcome: completed\nend\n"
            );
            let written = written.format("%Y-%m-%d %H:%M");
            log += &format!("{written} load: P1-{number}, unit PL-1, counter {number}, by HB\n");
        }
        let history = history(&(text + &log));
        let book = PolicyBook::of_preset(Preset::Cdc2008);
        let judged = judge_history(&history, &book, None).loads;
        let found: BTreeMap<&str, &str> = judged
            .iter()
            .flat_map(|one| {
                let number = history.loads[one.load.0].number.as_str();
                let hits = one.hits.iter().filter(|hit| hit.rule == RULE.id);
                hits.map(move |hit| (number, &*hit.seen))
            })
            .collect();
        let off: Vec<&str> = found.keys().copied().collect();
        assert_eq!(off, ["P1-104", "P1-105", "P1-106", "P1-107", "P1-108"]);
        // The median of 55, 54, 56, 55 and 54 minutes.
        assert!(
            found.values().all(|seen| seen.contains("55 min")),
            "{found:?}"
        );
    }
}
