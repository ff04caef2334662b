//! Has the steam unit had a leak test as often as the policy asks?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::{EN_285, HTM_01_01};
use crate::judge::rulebook::{Effect, Parameter, Rule, RuleId, Source, Verdict};
use crate::reconcile::history::KnownCycle;
use crate::record::cycle::{Process, Purpose};

/// Has the steam unit had a leak test as often as the policy asks?
pub static RULE: Rule = Rule {
    id: RuleId("leak-test-missing"),
    question: "Has the steam unit had a leak test as often as the policy asks?",
    sources: &[
        Source::memory(HTM_01_01, 2016, "part C: leak test"),
        Source::memory(EN_285, 2015, "vacuum leak test"),
    ],
    effect: Effect::Hold,
    floor: None,
    parameters: &[DAYS],
    evaluate,
};

/// Within how many days before the load, its own counted, a leak test is due.
const DAYS: Parameter = Parameter::number(
    "days",
    "days",
    7.0,
    (1.0, 400.0),
    "within how many days before the load, its own counted, a leak test is due",
    Source::memory(HTM_01_01, 2016, "part C: weekly"),
);

fn evaluate(case: &Case<'_>) -> Verdict {
    let (Some(_), Some(Process::Steam)) = (case.last(), case.process()) else {
        return Verdict::NotAsked;
    };
    let days = case.number(&RULE, &DAYS);
    let newest = case.unit_tests(Purpose::LeakTest).next();
    let recent =
        newest.filter(|test| days_before(case, test).is_some_and(|before| (before as f64) < days));
    match recent {
        Some(test) => Verdict::Met(Evidence::at(
            test.cycle.opening,
            "the unit's last leak test before the load",
        )),
        None => Verdict::found(
            format!("there is no leak test of the unit within {days} days before the load"),
            case.place("a load of this unit"),
            "find the printout of the leak test, or have the unit tested",
        ),
    }
}

/// The days from a test to the load: 0 on the same day.
fn days_before(case: &Case<'_>, test: &KnownCycle) -> Option<i64> {
    let (load, test) = (case.began()?, test.began.as_ref()?);
    let tested = test.value.local.date();
    Some(load.date().signed_duration_since(tested).num_days())
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, STEAM, assert_found, assert_silent};

    #[test]
    fn unit_without_a_leak_test_is_found() {
        assert_found(
            &RULE,
            STEAM,
            &[
                ("purpose: leak-test", "purpose: warm-up"),
                ("leak: 0.52 mbar/min, limit 1.3 mbar/min\n", ""),
                (
                    "ended: 06:31:00\noutcome: passed",
                    "ended: 06:31:00\noutcome: completed",
                ),
            ],
        );
    }

    #[test]
    fn leak_test_of_six_days_before_is_silent() {
        assert_silent(
            &RULE,
            STEAM,
            &[(
                "started: 2026-03-12 06:10:00",
                "started: 2026-03-06 06:10:00",
            )],
        );
    }

    #[test]
    fn leak_test_of_seven_days_before_is_found() {
        assert_found(
            &RULE,
            STEAM,
            &[(
                "started: 2026-03-12 06:10:00",
                "started: 2026-03-05 06:10:00",
            )],
        );
    }

    #[test]
    fn plasma_unit_is_not_asked() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
