//! What many findings say alike: how many times as often. Knows nothing of what they are about.

use super::finding::Effect;
use super::phrase::{Arg, Phrase, Real, number};
use super::strata::{Counts, Likelihood};

/// The level of every interval of a finding.
pub const LEVEL: f64 = 0.90;

/// How many times as often the exposed fail, with the interval; `among` names with what they are compared.
pub fn times_as_often(counts: Counts, likelihood: &Likelihood, among: Phrase) -> Effect {
    let (low, estimate, high) = likelihood.ratio(LEVEL);
    let said = Phrase::of("effect-times")
        .and("own", Arg::Share(counts.exposed_failures, counts.exposed))
        .and("others", Arg::Share(counts.other_failures, counts.others))
        .and("among", among)
        .and("ratio", Arg::Ratio(Real(estimate)))
        .and("low", Arg::Ratio(Real(low)))
        .and("high", Arg::Ratio(Real(high)))
        .and("level", number(100.0 * LEVEL, 0));
    Effect {
        measure: "times as often",
        estimate,
        low,
        high,
        level: LEVEL,
        said,
    }
}
