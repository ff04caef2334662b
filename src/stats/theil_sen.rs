//! Theil–Sen slope with a confidence interval, in O(n log n).
//!
//! H. Theil, *Proc. Koninklijke Nederlandse Akademie van Wetenschappen* 53 (1950); P. K. Sen, *JASA* 63 (1968): the
//! median of the slopes of all pairs, and the slopes at ranks (N ∓ z √Var S) / 2 of the N pairs as interval, with the
//! variance of Mann–Kendall's S corrected for ties, the ranks rounded as in scipy's `theilslopes`.

use super::interval::{Confidence, Interval};
use super::mann_kendall::tied_variance;
use super::order::{middle, sorted, tie_sizes};
use super::reason::{Reason, finite, require_pairs, require_positive};
use super::slope_selection::Slopes;

/// A line through points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TheilSen {
    /// Change of the value per unit of time.
    pub slope: f64,
    /// The slopes that the points don't contradict.
    pub interval: Interval,
    /// The value at time 0: median value − slope × median time.
    pub intercept: f64,
}

/// The line through values at times, in any order.
///
/// # Errors
/// [`Reason::TooFew`] below two points, [`Reason::Unpaired`], [`Reason::NotFinite`], [`Reason::NoSpread`] if all times are
/// equal, [`Reason::TooLarge`] on overflow or beyond 2³² − 1 points.
pub fn theil_sen(
    times: &[f64],
    values: &[f64],
    confidence: Confidence,
) -> Result<TheilSen, Reason> {
    theil_sen_with_variance_factor(times, values, confidence, 1.0)
}

/// The same with the variance of S so many times larger, for neighbours that are alike (see
/// [`super::serial_correlation`]).
///
/// # Errors
/// As [`theil_sen`]; [`Reason::OutOfRange`] unless the factor is positive.
pub fn theil_sen_with_variance_factor(
    times: &[f64],
    values: &[f64],
    confidence: Confidence,
    factor: f64,
) -> Result<TheilSen, Reason> {
    require_pairs(times, values, 2)?;
    require_positive(factor, "variance factor")?;
    let slopes = slopes_of(times, values)?;
    let at = |rank: u64| finite(slopes.at(rank).ok_or(Reason::NotSettled)?);
    let slope = median_of(&slopes)?;
    let (times, values) = (sorted(times), sorted(values));
    let (low_rank, high_rank) = interval_ranks(&slopes, (&times, &values), confidence, factor);
    let median = |sorted: &[f64]| middle(sorted).unwrap_or(0.0);
    Ok(TheilSen {
        slope,
        interval: Interval {
            low: at(low_rank)?,
            high: at(high_rank)?,
        },
        intercept: finite(median(&values) - slope * median(&times))?,
    })
}

/// The slope alone, at half the work: the ends of the interval are not looked for.
///
/// # Errors
/// As [`theil_sen`].
pub fn theil_sen_slope(times: &[f64], values: &[f64]) -> Result<f64, Reason> {
    require_pairs(times, values, 2)?;
    median_of(&slopes_of(times, values)?)
}

/// The slope alone, if its interval leaves out zero; nothing if zero is within it.
///
/// The ends of the interval are not looked for: how many of the slopes lie below zero and above it tells on which side of
/// zero the slopes at its ranks are.
///
/// # Errors
/// As [`theil_sen`].
pub fn theil_sen_slope_beyond_zero(
    times: &[f64],
    values: &[f64],
    confidence: Confidence,
) -> Result<Option<f64>, Reason> {
    require_pairs(times, values, 2)?;
    let slopes = slopes_of(times, values)?;
    let ordered = (&*sorted(times), &*sorted(values));
    let (low_rank, high_rank) = interval_ranks(&slopes, ordered, confidence, 1.0);
    let n_up_to_zero = slopes.n_slopes().saturating_sub(slopes.n_above_zero());
    if low_rank < n_up_to_zero && slopes.n_below_zero() <= high_rank {
        return Ok(None);
    }
    median_of(&slopes).map(Some)
}

/// How many slopes lie before those at the ends of the interval, from times and values in order of size.
fn interval_ranks(
    slopes: &Slopes,
    (times, values): (&[f64], &[f64]),
    confidence: Confidence,
    factor: f64,
) -> (u64, u64) {
    let mut ties = tie_sizes(times);
    ties.extend(tie_sizes(values));
    let n_slopes = slopes.n_slopes();
    let deviation = (tied_variance(times.len(), &ties) * factor).max(0.0).sqrt();
    let (n, reach) = (n_slopes as f64, confidence.z() * deviation);
    let low = ((n - reach) / 2.0).round_ties_even().max(1.0) - 1.0;
    let high = ((n + reach) / 2.0)
        .round_ties_even()
        .min(n_slopes.saturating_sub(1) as f64);
    (low as u64, high as u64)
}

fn slopes_of(times: &[f64], values: &[f64]) -> Result<Slopes, Reason> {
    if u32::try_from(times.len()).is_err() {
        return Err(Reason::TooLarge { argument: "points" });
    }
    require_moderate(times, values)?;
    let slopes = Slopes::of(times, values);
    if slopes.n_slopes() == 0 {
        return Err(Reason::NoSpread);
    }
    Ok(slopes)
}

fn median_of(slopes: &Slopes) -> Result<f64, Reason> {
    let n = slopes.n_slopes();
    if n % 2 == 1 {
        return finite(slopes.at(n / 2).ok_or(Reason::NotSettled)?);
    }
    let (lower, upper) = slopes.pair_up_to(n / 2).ok_or(Reason::NotSettled)?;
    finite(finite(lower)? / 2.0 + finite(upper)? / 2.0)
}

/// No slope is so steep that a slope times a time overflows, which would spoil the order of the points.
fn require_moderate(times: &[f64], values: &[f64]) -> Result<(), Reason> {
    const MOST: f64 = 1e140;
    let ordered = sorted(times);
    let gaps = ordered.iter().zip(ordered.iter().skip(1));
    let least_gap = gaps
        .map(|(before, after)| after - before)
        .filter(|gap| *gap > 0.0)
        .fold(f64::INFINITY, f64::min);
    let largest = |values: &[f64]| values.iter().map(|value| value.abs()).fold(0.0, f64::max);
    let (time, value) = (largest(times), largest(values));
    if time <= MOST && value <= MOST && value <= MOST * least_gap {
        Ok(())
    } else {
        Err(Reason::TooLarge {
            argument: "the size of the values",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn constant_values_have_slope_zero() {
        let line = theil_sen(&[0.0, 1.0, 2.0], &[5.0; 3], Confidence::P95).unwrap();
        assert_eq!((line.slope, line.intercept), (0.0, 5.0));
        assert_eq!(theil_sen_slope(&[0.0, 1.0, 2.0], &[5.0; 3]), Ok(0.0));
        // Slopes 1, 2, 3 of the pairs 0-1, 0-2, 1-2, and with a fourth point six of them, sorted 1, 2, 3, 3, 4, 5 (by hand).
        assert_eq!(theil_sen_slope(&[0.0, 1.0, 2.0], &[0.0, 1.0, 4.0]), Ok(2.0));
        let fourth = theil_sen_slope(&[0.0, 1.0, 2.0, 3.0], &[0.0, 1.0, 4.0, 9.0]);
        assert_eq!(fourth, Ok(3.0));
    }

    #[test]
    fn bad_input_has_a_reason() {
        let of = |t: &[f64], y: &[f64]| theil_sen(t, y, Confidence::P95);
        assert!(of(&[], &[]).is_err());
        assert!(of(&[1.0], &[1.0]).is_err());
        assert_eq!(
            of(&[1.0, 2.0], &[1.0]),
            Err(Reason::Unpaired { left: 2, right: 1 })
        );
        assert_eq!(of(&[1.0, 1.0], &[1.0, 2.0]), Err(Reason::NoSpread));
        assert!(of(&[0.0, f64::NAN], &[1.0, 2.0]).is_err());
        assert!(of(&[0.0, 1.0], &[f64::MIN, f64::MAX]).is_err());
        assert!(of(&[0.0, 1e-320], &[0.0, 1.0]).is_err());
    }

    #[test]
    fn size_of_values_is_bound_where_slopes_would_overflow() {
        let of = |t: &[f64], y: &[f64]| theil_sen_slope(t, y).is_ok();
        assert!(of(&[0.0, 1e140], &[0.0, 1.0]) && !of(&[0.0, 1.1e140], &[0.0, 1.0]));
        assert!(of(&[0.0, 1.0], &[0.0, 1e140]) && !of(&[0.0, 1.0], &[0.0, 1.1e140]));
        assert!(of(&[0.0, 1.0], &[-1e140, 0.0]) && !of(&[0.0, 1.0], &[-1.1e140, 0.0]));
        // The least gap decides, not that of equal times.
        assert!(of(&[0.0, 0.5, 9.0], &[0.0, 5e139, 0.0]));
        assert!(!of(&[0.0, 0.5, 9.0], &[0.0, 6e139, 0.0]));
        // Times 0, 0, 1: the slopes 4 and 2.
        assert_eq!(theil_sen_slope(&[0.0, 0.0, 1.0], &[0.0, 2.0, 4.0]), Ok(3.0));
    }

    /// Held against the interval, whose ends scipy's `theilslopes` gives (`interval_is_that_of_the_library…` and
    /// `tests/stats`).
    #[test]
    fn slope_is_given_where_zero_is_outside_its_interval() {
        let mut next = 7_u64;
        let mut chance = move || {
            next = next.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            (next >> 33) as f64 / f64::from(1_u32 << 31)
        };
        let (mut n_given, mut n_not) = (0, 0);
        for case in 0..400 {
            // Many equal times and values, and both few points and many.
            let n = if case % 2 == 0 { 20 } else { 150 };
            let slope = f64::from(case % 7 - 3) * 0.05;
            let times: Vec<f64> = (0..n).map(|_| (chance() * 12.0).round()).collect();
            let values: Vec<f64> = times
                .iter()
                .map(|t| ((slope * t + chance()) * 4.0).round())
                .collect();
            let confidence = Confidence::P99;
            let Ok(line) = theil_sen(&times, &values, confidence) else {
                continue;
            };
            let is_beyond = line.interval.low > 0.0 || line.interval.high < 0.0;
            let given = theil_sen_slope_beyond_zero(&times, &values, confidence);
            assert_eq!(given, Ok(is_beyond.then_some(line.slope)), "{case}");
            n_given += i32::from(is_beyond);
            n_not += i32::from(!is_beyond);
        }
        assert!(n_given > 50 && n_not > 50, "{n_given} {n_not}");
        assert!(theil_sen_slope_beyond_zero(&[1.0, 1.0], &[1.0, 2.0], Confidence::P99).is_err());
    }

    #[test]
    fn interval_is_that_of_the_library_and_widens_with_the_variance() {
        // scipy 1.17.1, theilslopes at 0.95 (C): 0.85 to 2.25, and the intercept 3.3 − 0.98 · 3.
        let times = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 7.0];
        let values = [0.0, 1.2, 1.9, 3.3, 9.0, 5.1, 6.8];
        let line = theil_sen(&times, &values, Confidence::P95).unwrap();
        let near = |found: f64, expected: f64| assert!((found - expected).abs() < 1e-12, "{found}");
        near(line.slope, 0.98);
        near(line.interval.low, 0.85);
        near(line.interval.high, 2.25);
        near(line.intercept, 0.36);
        let factor =
            |factor| theil_sen_with_variance_factor(&times, &values, Confidence::P95, factor);
        // Beyond all 21 slopes the interval is from the least, −3.9 of the pair (4, 9), (5, 5.1), to the greatest, 5.7 of
        // (3, 3.3), (4, 9).
        let all = factor(100.0).unwrap();
        near(all.interval.low, -3.9);
        near(all.interval.high, 5.7);
        near(all.slope, 0.98);
        assert!(factor(0.0).is_err());
    }
}
