//! Was the air-removal test of the day made before the load?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::CDC_2008;
use crate::judge::rulebook::{Effect, Parameter, Rule, RuleId, Source, Verdict};
use crate::record::cycle::{Process, Purpose};

/// Was the air-removal test of the day made before the load?
pub static RULE: Rule = Rule {
    id: RuleId("air-removal-test-missing"),
    question: "Was the air-removal test of the day made before the load?",
    sources: &[Source::seen(
        CDC_2008,
        2008,
        "Bowie-Dick test: daily in an empty dynamic-air-removal sterilizer",
    )],
    effect: Effect::Hold,
    floor: None,
    parameters: &[PROGRAMS],
    evaluate,
};

/// Programs that remove air by gravity and need no such test.
const PROGRAMS: Parameter = Parameter::words(
    "programs-without",
    &[],
    check_program,
    "programs that remove air by gravity and need no such test",
    Source::seen(CDC_2008, 2008, "prevacuum only"),
);

fn evaluate(case: &Case<'_>) -> Verdict {
    let (Some(_), Some(Process::Steam), Some(began)) = (case.last(), case.process(), case.began())
    else {
        return Verdict::NotAsked;
    };
    let without = case.words(&RULE, &PROGRAMS);
    if case
        .program()
        .is_some_and(|program| without.iter().any(|one| one.eq_ignore_ascii_case(program)))
    {
        return Verdict::NotAsked;
    }
    let newest = case.unit_tests(Purpose::AirRemovalTest).next();
    let of_day = newest.filter(|test| {
        test.began
            .as_ref()
            .is_some_and(|at| at.value.local.date() == began.date())
    });
    match of_day {
        Some(test) => Verdict::Met(Evidence::at(
            test.cycle.opening,
            "the unit's air-removal test of the day",
        )),
        None => Verdict::found(
            "there is no air-removal test of the unit that day before the load",
            case.place("a load of this unit"),
            "find the printout of the day's air-removal test, or have the unit tested before its loads are used",
        ),
    }
}

fn check_program(word: &str) -> Result<(), String> {
    match word.trim().is_empty() {
        true => Err("a program has a name".to_owned()),
        false => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, STEAM, assert_found, assert_silent};

    #[test]
    fn test_of_the_day_before_is_found() {
        assert_found(
            &RULE,
            STEAM,
            &[(
                "started: 2026-03-12 06:40:00",
                "started: 2026-03-11 06:40:00",
            )],
        );
    }

    #[test]
    fn test_of_the_day_is_silent() {
        assert_silent(&RULE, STEAM, &[]);
    }

    #[test]
    fn plasma_unit_is_not_asked() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
