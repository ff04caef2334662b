//! Individuals and moving-range chart.
//!
//! NIST/SEMATECH, *e-Handbook of Statistical Methods*, 6.3.2.2 "Individuals control charts"; ASTM E2587, table 1 for the
//! constants d2 = 1.128 and D4 = 3.267 of samples of two. Limits: x̄ ± 3 R̄/d2; the moving range's upper limit is D4 R̄.

use super::normal::UPPER_QUARTILE;
use super::order::{middle, sorted};
use super::reason::{Reason, finite, require};
use super::summary::mean;

/// Which divisor turns a moving range into a standard deviation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RangeConstants {
    /// d2 = 1.128 and D4 = 3.267, rounded as in published tables.
    Table,
    /// d2 = 2/√π and D4 = 1 + 3 d3/d2 with d3 = √(2 − 4/π), to all digits.
    Exact,
    /// The median moving range over √2 Φ⁻¹(0.75): a few large steps don't widen the limits. The moving range's limit is
    /// that of `Exact` for the same standard deviation.
    Median,
}

/// The chart of a series of single values.
#[derive(Debug, Clone, PartialEq)]
pub struct IndividualsChart {
    /// The centre line: the mean, in the values' unit.
    pub centre: f64,
    /// The mean, or with [`RangeConstants::Median`] the median, of the moving ranges.
    pub moving_range: f64,
    /// The standard deviation that the moving ranges imply; 0 if neighbours are always equal.
    pub sigma: f64,
    /// The lower control limit, centre − 3 sigma.
    pub lower: f64,
    /// The upper control limit, centre + 3 sigma.
    pub upper: f64,
    /// The upper control limit of the moving ranges.
    pub range_upper: f64,
    /// The places, from 0, of the values outside the limits.
    pub outside: Vec<usize>,
    /// The places, from 0, of the values whose step from the one before exceeds the moving range's limit.
    pub range_outside: Vec<usize>,
}

/// The chart of the values in order of time.
///
/// # Errors
/// [`Reason::TooFew`] below two values, [`Reason::NotFinite`], [`Reason::TooLarge`] on overflow.
pub fn individuals_chart(
    values: &[f64],
    constants: RangeConstants,
) -> Result<IndividualsChart, Reason> {
    require(values, 2)?;
    let pairs = values.iter().zip(values.iter().skip(1));
    let ranges: Vec<f64> = pairs
        .map(|(before, after)| (after - before).abs())
        .collect();
    let centre = mean(values)?;
    let mean_range = mean(&ranges)?;
    let d2 = 2.0 / std::f64::consts::PI.sqrt();
    let d3 = (2.0 - 4.0 / std::f64::consts::PI).sqrt();
    let (moving_range, sigma, range_upper) = match constants {
        RangeConstants::Table => (mean_range, mean_range / 1.128, 3.267 * mean_range),
        RangeConstants::Exact => (
            mean_range,
            mean_range / d2,
            (1.0 + 3.0 * d3 / d2) * mean_range,
        ),
        RangeConstants::Median => {
            let median = middle(&sorted(&ranges)).unwrap_or(0.0);
            let sigma = median / (std::f64::consts::SQRT_2 * UPPER_QUARTILE);
            (median, sigma, (d2 + 3.0 * d3) * sigma)
        }
    };
    let (lower, upper) = (finite(centre - 3.0 * sigma)?, finite(centre + 3.0 * sigma)?);
    let outside = |value: &f64| *value < lower || *value > upper;
    Ok(IndividualsChart {
        centre,
        moving_range,
        sigma,
        lower,
        upper,
        range_upper: finite(range_upper)?,
        outside: places(values, outside, 0),
        range_outside: places(&ranges, |range| *range > range_upper, 1),
    })
}

fn places(values: &[f64], is_meant: impl Fn(&f64) -> bool, shift: usize) -> Vec<usize> {
    (shift..)
        .zip(values)
        .filter(|(_, value)| is_meant(value))
        .map(|(at, _)| at)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn constant_values_have_closed_limits_and_nothing_outside() {
        let chart = individuals_chart(&[5.0; 4], RangeConstants::Exact).unwrap();
        assert_eq!((chart.lower, chart.upper), (5.0, 5.0));
        assert!(chart.outside.is_empty() && chart.range_outside.is_empty());
    }

    #[test]
    fn bad_input_has_a_reason() {
        for constants in [
            RangeConstants::Table,
            RangeConstants::Exact,
            RangeConstants::Median,
        ] {
            assert!(individuals_chart(&[], constants).is_err());
            assert!(individuals_chart(&[1.0, f64::INFINITY], constants).is_err());
            assert!(individuals_chart(&[f64::MAX, f64::MIN], constants).is_err());
        }
    }

    #[test]
    fn value_on_a_limit_is_not_outside_and_a_range_is_that_to_its_second_value() {
        // Ranges 0, 0, 0, 0, 0, 0, 0, 0, 9: their mean is 1, the centre 0.9, sigma 1/1.128, the limits 0.9 ± 2.66.
        let mut values = [0.0; 10];
        values[9] = 9.0;
        let chart = individuals_chart(&values, RangeConstants::Table).unwrap();
        assert!((chart.moving_range - 1.0).abs() < 1e-15);
        assert!((chart.upper - (0.9 + 3.0 / 1.128)).abs() < 1e-12);
        assert!((chart.range_upper - 3.267).abs() < 1e-12);
        assert_eq!((chart.outside, chart.range_outside), (vec![9], vec![9]));
        // Without spread the limits are the value itself.
        values[9] = 0.0;
        let chart = individuals_chart(&values, RangeConstants::Median).unwrap();
        assert!(chart.outside.is_empty() && chart.range_outside.is_empty());
        // The median range of 0, 2, 2, 0: neighbours 2, 0, 2 with the median 2; 2 / (√2 · 0.67449) = 2.0967.
        let chart = individuals_chart(&[0.0, 2.0, 2.0, 0.0], RangeConstants::Median).unwrap();
        assert!((chart.sigma - 2.096_7).abs() < 5e-5);
        // 1 + 3 d₃/d₂ = 3.267 and d₂ = 1.128 times sigma: ASTM E2587, table 1.
        assert!((chart.range_upper / (3.267 * 1.128 * chart.sigma) - 1.0).abs() < 1e-3);
    }
}
