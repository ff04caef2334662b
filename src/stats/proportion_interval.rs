//! Intervals for a proportion.
//!
//! E. B. Wilson, *JASA* 22 (1927); C. J. Clopper and E. S. Pearson, *Biometrika* 26 (1934); R. G. Newcombe, *Statistics in
//! Medicine* 17 (1998), which compares them; L. D. Brown, T. T. Cai, A. DasGupta, *Statistical Science* 16 (2001).

use super::beta::{beta_lower, beta_quantile};
use super::interval::{Confidence, Interval};
use super::reason::Reason;
use super::root::find_root;

/// Which interval.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ProportionMethod {
    /// Wilson's score interval: near its confidence on the average, good for display.
    Wilson,
    /// Wilson's with continuity correction.
    WilsonContinuity,
    /// Clopper and Pearson's: never covers less than its confidence.
    ClopperPearson,
    /// Clopper and Pearson's with half of the observed count's probability.
    MidP,
    /// Equal tails of the posterior with Jeffreys' prior, Beta(½, ½), without special ends at 0 and n.
    Jeffreys,
}

/// The interval of the probability behind `n_events` in `n` trials.
///
/// # Errors
/// [`Reason::TooFew`] without trials; [`Reason::OutOfRange`] for more events than trials; [`Reason::TooLarge`] beyond 2⁵²
/// trials; [`Reason::NotSettled`] if a search fails.
pub fn proportion_interval(
    n_events: u64,
    n: u64,
    method: ProportionMethod,
    confidence: Confidence,
) -> Result<Interval, Reason> {
    if n == 0 {
        return Err(Reason::TooFew {
            needed: 1,
            given: 0,
        });
    }
    if n_events > n {
        return Err(Reason::OutOfRange { argument: "counts" });
    }
    if n > 1 << 52 {
        return Err(Reason::TooLarge { argument: "counts" });
    }
    let (k, size) = (n_events as f64, n as f64);
    let interval = match method {
        ProportionMethod::Wilson => wilson(k, size, confidence),
        ProportionMethod::WilsonContinuity => wilson_continuity(k, size, confidence),
        ProportionMethod::ClopperPearson => Interval {
            low: match n_events {
                0 => 0.0,
                _ => beta_quantile(k, size - k + 1.0, confidence.tail())?,
            },
            high: if n_events == n {
                1.0
            } else {
                // From the other end, where the small tail keeps its digits.
                1.0 - beta_quantile(size - k, k + 1.0, confidence.tail())?
            },
        },
        ProportionMethod::MidP => mid_p(n_events, n, confidence)?,
        ProportionMethod::Jeffreys => Interval {
            low: beta_quantile(k + 0.5, size - k + 0.5, confidence.tail())?,
            high: 1.0 - beta_quantile(size - k + 0.5, k + 0.5, confidence.tail())?,
        },
    };
    Ok(interval)
}

fn wilson(k: f64, n: f64, confidence: Confidence) -> Interval {
    let z = confidence.z();
    let centre = (k + z * z / 2.0) / (n + z * z);
    let half = z / (n + z * z) * (k * (n - k) / n + z * z / 4.0).sqrt();
    Interval {
        low: if k == 0.0 { 0.0 } else { centre - half },
        high: if k == n { 1.0 } else { centre + half },
    }
}

fn wilson_continuity(k: f64, n: f64, confidence: Confidence) -> Interval {
    let z = confidence.z();
    let p = k / n;
    let half = |shift: f64| {
        let inner = z * z - 1.0 / n + 4.0 * n * p * (1.0 - p) + shift * (4.0 * p - 2.0);
        z * inner.max(0.0).sqrt() + 1.0
    };
    let (centre, scale) = (2.0 * n * p + z * z, 2.0 * (n + z * z));
    Interval {
        low: if k == 0.0 {
            0.0
        } else {
            ((centre - half(1.0)) / scale).max(0.0)
        },
        high: if k == n {
            1.0
        } else {
            ((centre + half(-1.0)) / scale).min(1.0)
        },
    }
}

/// The probabilities for which the mid-p of the count, P(more) + ½ P(as many), is the tail.
fn mid_p(n_events: u64, n: u64, confidence: Confidence) -> Result<Interval, Reason> {
    let (k, size) = (n_events as f64, n as f64);
    // P(X ≥ k) is I_p(k, n − k + 1), and P(X > k) the same one further.
    let at_least = |count: f64, p: f64| {
        if count == 0.0 {
            1.0
        } else if count > size {
            0.0
        } else {
            beta_lower(count, size - count + 1.0, p)
        }
    };
    let middle = |p: f64| (at_least(k, p) + at_least(k + 1.0, p)) / 2.0;
    let ends = |target: f64| {
        let from_log = find_root(|log| middle(log.exp()) - target, -740.0, 0.0);
        from_log.map(f64::exp).ok_or(Reason::NotSettled)
    };
    let low = if n_events == 0 {
        0.0
    } else {
        ends(confidence.tail())?
    };
    let high = if n_events == n {
        1.0
    } else {
        ends(1.0 - confidence.tail())?
    };
    Ok(Interval { low, high })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::proportion_test::proportion_test;

    const METHODS: [ProportionMethod; 5] = [
        ProportionMethod::Wilson,
        ProportionMethod::WilsonContinuity,
        ProportionMethod::ClopperPearson,
        ProportionMethod::MidP,
        ProportionMethod::Jeffreys,
    ];

    #[test]
    fn every_method_answers_every_count() {
        for method in METHODS {
            for (k, n) in [
                (0, 1),
                (1, 1),
                (0, 1_000_000),
                (1_000_000, 1_000_000),
                (7, 60),
            ] {
                let interval = proportion_interval(k, n, method, Confidence::P99).unwrap();
                let share = k as f64 / n as f64;
                assert!(0.0 <= interval.low && interval.high <= 1.0);
                assert!(
                    interval.contains(share) || method == ProportionMethod::Jeffreys,
                    "{method:?} {k}/{n} {interval:?}"
                );
            }
            assert!(proportion_interval(0, 0, method, Confidence::P95).is_err());
            assert!(proportion_interval(2, 1, method, Confidence::P95).is_err());
            assert!(proportion_interval(1, u64::MAX, method, Confidence::P95).is_err());
        }
    }

    #[test]
    fn mid_p_of_its_own_ends_is_what_is_left_out() {
        // Definition: at either end the doubled mid-p is 5 %; the two are worked out in different ways.
        let ends = proportion_interval(7, 60, ProportionMethod::MidP, Confidence::P95).unwrap();
        for end in [ends.low, ends.high] {
            assert!((proportion_test(7, 60, end).unwrap().mid.doubled - 0.05).abs() < 1e-10);
        }
    }

    #[test]
    fn ends_at_none_and_all_are_those_of_the_formulas() {
        let of = |k, n, method| proportion_interval(k, n, method, Confidence::P95).unwrap();
        let z = 1.959_963_984_540_054_f64;
        // Wilson, 0 of n: up to z² / (n + z²). Clopper and Pearson: 1 − 0.025^(1/n). Mid-p: half of (1 − p)^n is 2.5 %.
        let near = |found: f64, expected: f64| {
            assert!((found - expected).abs() < 1e-12, "{found} {expected}")
        };
        for (method, end) in [
            (ProportionMethod::Wilson, z * z / (10.0 + z * z)),
            (ProportionMethod::ClopperPearson, 1.0 - 0.025_f64.powf(0.1)),
            (ProportionMethod::MidP, 1.0 - 0.05_f64.powf(0.1)),
        ] {
            let none = of(0, 10, method);
            assert_eq!(none.low, 0.0);
            near(none.high, end);
            let all = of(10, 10, method);
            assert_eq!(all.high, 1.0);
            near(all.low, 1.0 - end);
        }
        // With continuity correction, 5 of 10: (10 + z² ± (z √(z² − 1/10 + 10 ∓ 0 …) + 1)) / (2 (10 + z²)).
        let half = z * (z * z - 0.1 + 10.0).sqrt() + 1.0;
        let middle = of(5, 10, ProportionMethod::WilsonContinuity);
        near(middle.low, (10.0 + z * z - half) / (2.0 * (10.0 + z * z)));
        near(middle.high, (10.0 + z * z + half) / (2.0 * (10.0 + z * z)));
        let none = of(0, 10, ProportionMethod::WilsonContinuity);
        // R. G. Newcombe's formula at 0: (z² + z √(z² + 2 − 1/n) + 1) / (2 (n + z²)).
        let high = (z * z + z * (z * z + 2.0 - 0.1).sqrt() + 1.0) / (2.0 * (10.0 + z * z));
        assert_eq!(none.low, 0.0);
        near(none.high, high);
        near(
            of(10, 10, ProportionMethod::WilsonContinuity).low,
            1.0 - high,
        );
        // One of one: no share beyond 1.
        assert!(of(1, 2, ProportionMethod::WilsonContinuity).high <= 1.0);
    }

    #[test]
    fn counts_are_bound_as_told() {
        let of = |k, n| proportion_interval(k, n, ProportionMethod::Wilson, Confidence::P95);
        assert_eq!(
            of(0, 0),
            Err(Reason::TooFew {
                needed: 1,
                given: 0
            })
        );
        let argument = "counts";
        assert_eq!(of(2, 1), Err(Reason::OutOfRange { argument }));
        assert!(of(1, 1 << 52).is_ok());
        assert_eq!(of(1, (1 << 52) + 1), Err(Reason::TooLarge { argument }));
    }
}
