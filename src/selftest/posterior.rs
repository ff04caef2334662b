//! Posterior probabilities that one share is larger than another, or so many times as large.

use super::case::{Cases, Within};
use super::reference::References;
use crate::judge::rulebook::Known;
use crate::stats::interval::Confidence;
use crate::stats::posterior::{Prior, Trials, probability_of_ratio, rate_posterior};

/// Runs the cases.
pub fn run(references: &References, cases: &mut Cases) {
    let data = references.rows("stats/12_beta_binomial.csv");
    for row in data.iter() {
        let text = |column: &str| row.text(column).unwrap_or("?");
        let name = format!(
            "{} of {} against {} of {}, {} prior",
            text("k_lot"),
            text("n_lot"),
            text("k_rest"),
            text("n_rest"),
            text("prior")
        );
        let source = "scipy 1.17.1, quadrature over Beta densities";
        cases.add(name, source, Known::Calculated, |case| {
            let trials = |k: &str, n: &str| {
                Some(Trials {
                    n_events: row.count(k)?,
                    n: row.count(n)?,
                })
            };
            let lot = trials("k_lot", "n_lot")?;
            let rest = trials("k_rest", "n_rest")?;
            let prior = match row.text("prior")? {
                "uniform" => Prior::Uniform,
                "jeffreys" => Prior::Jeffreys,
                _ => return None,
            };
            // The stored quadrature is good to 1e-6 where Jeffreys' prior has an infinite end: without events.
            let within = match prior == Prior::Uniform || rest.n_events > 0 {
                true => Within::of(1e-9),
                false => Within::of(1.1e-6),
            };
            for (factor, column) in [
                (1.0, "p_lot_gt_rest"),
                (2.0, "p_lot_gt_2x_rest"),
                (3.0, "p_lot_gt_3x_rest"),
            ] {
                let p = probability_of_ratio(lot, rest, factor, prior);
                let p = case.answer(column, p)?;
                case.near(column, p, row.number(column), within);
            }
            let posterior = rate_posterior(lot, prior, Confidence::P95);
            let posterior = case.answer("posterior", posterior)?;
            let mean = row.number("lot_mean");
            case.near("lot_mean", posterior.mean, mean, Within::CLOSED_FORM);
            let interval = posterior.interval;
            for (found, column) in [(interval.low, "lot_q025"), (interval.high, "lot_q975")] {
                case.near(column, found, row.number(column), Within::SEARCHED);
            }
            Some(())
        });
    }
    let source = "mpmath 1.4.1 with 25 digits";
    let name = "0 of 10 against 0 of 200, Jeffreys prior";
    cases.add(name, source, Known::Calculated, |case| {
        // The stored quadrature of this case, 0.8583338, is 1.0e-6 too large.
        let trials = |n| Trials { n_events: 0, n };
        let p = probability_of_ratio(trials(10), trials(200), 1.0, Prior::Jeffreys);
        let p = case.answer("probability", p)?;
        let expected = 0.858_332_776_795_709_3;
        case.near("probability", p, expected, Within::of(1e-10));
        Some(())
    });
}
