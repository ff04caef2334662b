//! Comparison of two Poisson rates.
//!
//! J. Przyborowski and H. Wilenski, *Biometrika* 31 (1940): given both counts together, the first is binomial with
//! probability t₁ / (t₁ + t₂) if the rates are equal; interval of the ratio through Clopper and Pearson's.
//! K. Krishnamoorthy and J. Thomson, *J. Statistical Planning and Inference* 119 (2004): the E-test, which doesn't
//! condition and has more power.

use super::interval::{Confidence, Interval};
use super::proportion_interval::{ProportionMethod, proportion_interval};
use super::proportion_test::{ExactTest, proportion_test};
use super::reason::{Reason, finite, require_positive};

/// A count and what it was counted in, in any unit that both of a pair share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rate {
    /// Events.
    pub n_events: u64,
    /// Time, cycles or the like; greater than 0.
    pub exposure: f64,
}

/// The comparison of a first rate with a second.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RateComparison {
    /// First rate over second; infinite if the second count is 0.
    pub ratio: f64,
    /// The interval of the ratio; its upper end is infinite if the second count is 0.
    pub interval: Interval,
    /// The conditional test. `greater` is the p that the first rate is larger.
    pub test: ExactTest,
}

/// The conditional comparison.
///
/// # Errors
/// [`Reason::OutOfRange`] unless both exposures are positive; [`Reason::NoInformation`] without events;
/// [`Reason::TooLarge`] beyond four million events.
pub fn compare_rates(
    first: Rate,
    second: Rate,
    confidence: Confidence,
) -> Result<RateComparison, Reason> {
    let n = require_rates(first, second)?;
    let share = finite(first.exposure / (first.exposure + second.exposure))?;
    let shares = proportion_interval(
        first.n_events,
        n,
        ProportionMethod::ClopperPearson,
        confidence,
    )?;
    let exposures = finite(second.exposure / first.exposure)?;
    let ratio_of = |share: f64| {
        if share >= 1.0 {
            f64::INFINITY
        } else {
            share / (1.0 - share) * exposures
        }
    };
    let ratio = match (first.n_events, second.n_events) {
        (_, 0) => f64::INFINITY,
        (k1, k2) => (k1 as f64 / first.exposure) / (k2 as f64 / second.exposure),
    };
    Ok(RateComparison {
        ratio,
        interval: Interval {
            low: ratio_of(shares.low),
            high: ratio_of(shares.high),
        },
        test: proportion_test(first.n_events, n, share)?,
    })
}

fn require_rates(first: Rate, second: Rate) -> Result<u64, Reason> {
    require_positive(first.exposure, "exposure")?;
    require_positive(second.exposure, "exposure")?;
    match first.n_events.checked_add(second.n_events) {
        Some(0) => Err(Reason::NoInformation),
        Some(n) if n <= 4_000_000 => Ok(n),
        _ => Err(Reason::TooLarge { argument: "counts" }),
    }
}

/// The two-sided p of the E-test that the two rates are equal.
///
/// Both counts are Poisson with the pooled rate; pairs of counts whose standardised difference is as large as the observed
/// one are summed.
///
/// # Errors
/// As [`compare_rates`]; [`Reason::TooLarge`] beyond 20 000 events, as it takes the product of both ranges.
pub fn e_test(first: Rate, second: Rate) -> Result<f64, Reason> {
    let n = require_rates(first, second)?;
    if n > 20_000 {
        return Err(Reason::TooLarge { argument: "counts" });
    }
    let (t1, t2) = (first.exposure, second.exposure);
    let pooled = n as f64 / (t1 + t2);
    let statistic = |k1: f64, k2: f64| {
        let spread = (k1 / t1 / t1 + k2 / t2 / t2).sqrt();
        if spread == 0.0 {
            0.0
        } else {
            ((k1 / t1 - k2 / t2) / spread).abs()
        }
    };
    let observed = statistic(first.n_events as f64, second.n_events as f64);
    // The difference of equal rates is rounding alone.
    let limit = observed * (1.0 - 1e-12);
    if limit <= 1e-12 {
        return Ok(1.0);
    }
    let firsts = super::discrete::Discrete::poisson(finite(pooled * t1)?, 0)?;
    let seconds = super::discrete::Discrete::poisson(finite(pooled * t2)?, 0)?;
    let p: f64 = firsts
        .shares()
        .iter()
        .enumerate()
        .filter(|(_, share)| **share > 1e-18)
        .map(|(k1, share)| {
            let extreme: f64 = seconds
                .shares()
                .iter()
                .enumerate()
                .filter(|(k2, share)| **share > 1e-18 && statistic(k1 as f64, *k2 as f64) >= limit)
                .map(|(_, share)| share)
                .sum();
            share * extreme
        })
        .sum();
    Ok(p.min(1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bad_input_has_a_reason() {
        let rate = |n_events, exposure| Rate { n_events, exposure };
        for (first, second) in [
            (rate(0, 1.0), rate(0, 1.0)),
            (rate(1, 0.0), rate(1, 1.0)),
            (rate(1, 1.0), rate(1, f64::NAN)),
            (rate(u64::MAX, 1.0), rate(1, 1.0)),
        ] {
            assert!(compare_rates(first, second, Confidence::P95).is_err());
            assert!(e_test(first, second).is_err());
        }
        assert!(e_test(rate(30_000, 1.0), rate(1, 1.0)).is_err());
        assert!(compare_rates(rate(1, 1e-300), rate(1, 1e300), Confidence::P95).is_err());
    }

    #[test]
    fn equal_rates_are_not_different() {
        let rate = Rate {
            n_events: 4,
            exposure: 10.0,
        };
        assert_eq!(e_test(rate, rate), Ok(1.0));
        let comparison = compare_rates(rate, rate, Confidence::P95).unwrap();
        assert_eq!(comparison.ratio, 1.0);
    }

    #[test]
    fn ratio_and_its_ends_are_those_of_the_shares() {
        let rate = |n_events, exposure| Rate { n_events, exposure };
        // 2 of 2 events in the first, half of the time: Clopper and Pearson's low end of 2 of 2 is √0.025, a share s of the
        // counts is a ratio of s / (1 − s) · 2 / 1.
        let all = compare_rates(rate(2, 1.0), rate(0, 2.0), Confidence::P95).unwrap();
        assert_eq!(
            (all.ratio, all.interval.high),
            (f64::INFINITY, f64::INFINITY)
        );
        let share = 0.025_f64.sqrt();
        assert!((all.interval.low / (share / (1.0 - share) * 2.0) - 1.0).abs() < 1e-9);
        // Both in the first third of the time by a chance of 1/9.
        assert!((all.test.exact.greater - 1.0 / 9.0).abs() < 1e-15);
        let none = compare_rates(rate(0, 1.0), rate(2, 2.0), Confidence::P95).unwrap();
        assert_eq!((none.ratio, none.interval.low), (0.0, 0.0));
        let share = 1.0 - 0.025_f64.sqrt();
        assert!((none.interval.high / (share / (1.0 - share) * 2.0) - 1.0).abs() < 1e-9);
        let twice = compare_rates(rate(4, 2.0), rate(3, 3.0), Confidence::P95).unwrap();
        assert!((twice.ratio - 2.0).abs() < 1e-15);
    }

    #[test]
    fn e_test_sums_every_pair_as_extreme() {
        // One event against none in equal times: the pooled rate is ½ each, and every pair but equal counts has a statistic
        // of |a − b| / √(a + b) ≥ 1, except those of a difference of less than √(a + b): by enumeration to 40 in Python (C).
        let rate = |n_events, exposure| Rate { n_events, exposure };
        let p = e_test(rate(1, 1.0), rate(0, 1.0)).unwrap();
        let poisson =
            |k: i32| (-0.5_f64).exp() * 0.5_f64.powi(k) / (1..=k).map(f64::from).product::<f64>();
        let mut expected = 0.0;
        for a in 0..25 {
            for b in 0..25 {
                if (a - b) * (a - b) >= a + b && a + b > 0 {
                    expected += poisson(a) * poisson(b);
                }
            }
        }
        assert!((p - expected).abs() < 1e-12, "{p} {expected}");
        // Twenty thousand events are the most; the first rate is in a millionth of the time.
        let too_large = Err(Reason::TooLarge { argument: "counts" });
        assert!(e_test(rate(0, 1e-6), rate(20_000, 1.0)).is_ok());
        assert_eq!(e_test(rate(0, 1e-6), rate(20_001, 1.0)), too_large);
    }
}
