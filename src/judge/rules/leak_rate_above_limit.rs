//! Is the rise of pressure in the last leak test within the limit?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::{EN_285, HTM_01_05};
use crate::judge::rulebook::{Effect, Parameter, Rule, RuleId, Source, Verdict};
use crate::record::cycle::{Process, Purpose};

/// Is the rise of pressure in the last leak test within the limit?
pub static RULE: Rule = Rule {
    id: RuleId("leak-rate-above-limit"),
    question: "Is the rise of pressure in the last leak test within the limit?",
    sources: &[
        Source::seen(
            EN_285,
            2015,
            "vacuum leak test: 1.3 mbar/min, in several texts citing it",
        ),
        Source::seen(
            HTM_01_05,
            2013,
            "leak test: 1.3 mbar/min, in texts citing it",
        ),
    ],
    effect: Effect::Reject,
    floor: None,
    parameters: &[LIMIT],
    evaluate,
};

/// The greatest rise of pressure; 1 mmHg/min in the US is 1.333 mbar/min.
const LIMIT: Parameter = Parameter::number(
    "mbar-per-min",
    "mbar/min",
    1.3,
    (0.01, 10.0),
    "the greatest rise of pressure; 1 mmHg/min in the US is 1.333 mbar/min",
    Source::seen(EN_285, 2015, "vacuum leak test, in several texts citing it"),
);

fn evaluate(case: &Case<'_>) -> Verdict {
    let (Some(_), Some(Process::Steam)) = (case.last(), case.process()) else {
        return Verdict::NotAsked;
    };
    let newest = case.unit_tests(Purpose::LeakTest).next();
    let Some(leak) = newest.and_then(|test| test.cycle.leak.as_ref()) else {
        return Verdict::NotAsked;
    };
    let limit = case.number(&RULE, &LIMIT);
    let rate = leak.value.rate.pascal_per_minute() / 100.0;
    // Compared to the digits that a printer has.
    if rate <= limit + 1e-6 {
        return Verdict::Met(Evidence::at(
            leak.span,
            format!("{rate:.2} mbar/min, at most {limit}"),
        ));
    }
    Verdict::found(
        format!("the last leak test rose by {rate:.2} mbar/min, and the limit is {limit}"),
        Evidence::at(leak.span, "the rise as printed"),
        "repair and test the unit, and process the load again",
    )
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{STEAM, assert_found, assert_silent};

    #[test]
    fn rate_above_one_point_three_is_found() {
        assert_found(
            &RULE,
            STEAM,
            &[("leak: 0.52 mbar/min", "leak: 1.31 mbar/min")],
        );
    }

    #[test]
    fn rate_of_one_point_three_is_silent() {
        assert_silent(
            &RULE,
            STEAM,
            &[("leak: 0.52 mbar/min", "leak: 1.3 mbar/min")],
        );
    }

    #[test]
    fn limit_of_the_us_is_above_that_of_europe() {
        assert_found(
            &RULE,
            STEAM,
            &[("leak: 0.52 mbar/min", "leak: 1.0 Torr/min")],
        );
    }
}
