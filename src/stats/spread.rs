//! How far values spread, whatever a few of them do; and which stand apart.
//!
//! Median absolute deviation: F. R. Hampel, *JASA* 69 (1974). Modified z-score: B. Iglewicz and D. C. Hoaglin, *How to
//! Detect and Handle Outliers* (ASQC, 1993): 0.6745 (x − median) / MAD, apart beyond 3.5. Spread of noise around steps:
//! the median step between neighbours, which a few changes of level leave alone.

use super::location::{median, quantile};
use super::normal::UPPER_QUARTILE;
use super::order::{middle, sorted};
use super::reason::{Reason, finite, require};

/// The limit of the modified z-score beyond which Iglewicz and Hoaglin call a value apart.
pub const MODIFIED_Z_LIMIT: f64 = 3.5;

/// The median of the distances to the median, in the values' unit.
///
/// # Errors
/// [`Reason::TooFew`] if there is none, [`Reason::NotFinite`], [`Reason::TooLarge`] on overflow.
pub fn median_absolute_deviation(values: &[f64]) -> Result<f64, Reason> {
    let centre = median(values)?;
    let distances: Vec<f64> = values.iter().map(|value| (value - centre).abs()).collect();
    finite(middle(&sorted(&distances)).unwrap_or(0.0))
}

/// The same over Φ⁻¹(0.75), which is the standard deviation of normal values.
///
/// # Errors
/// As [`median_absolute_deviation`].
pub fn normal_consistent_deviation(values: &[f64]) -> Result<f64, Reason> {
    finite(median_absolute_deviation(values)? / UPPER_QUARTILE)
}

/// Upper less lower quartile, in the values' unit.
///
/// # Errors
/// As [`median_absolute_deviation`].
pub fn interquartile_range(values: &[f64]) -> Result<f64, Reason> {
    finite(quantile(values, 0.75)? - quantile(values, 0.25)?)
}

/// The standard deviation of the noise in values in order of time, from the median step between neighbours.
///
/// # Errors
/// [`Reason::TooFew`] below two values, [`Reason::NotFinite`], [`Reason::TooLarge`] on overflow.
pub fn noise_deviation(values: &[f64]) -> Result<f64, Reason> {
    require(values, 2)?;
    let pairs = values.iter().zip(values.iter().skip(1));
    let steps: Vec<f64> = pairs
        .map(|(before, after)| (after - before).abs())
        .collect();
    let step = middle(&sorted(&steps)).unwrap_or(0.0);
    finite(step / (std::f64::consts::SQRT_2 * UPPER_QUARTILE))
}

/// The modified z-score of each value.
///
/// # Errors
/// As [`median_absolute_deviation`]; [`Reason::NoSpread`] if half of the values or more are equal, because the score
/// divides by the deviation, which is then 0.
pub fn modified_z(values: &[f64]) -> Result<Vec<f64>, Reason> {
    let centre = median(values)?;
    let deviation = median_absolute_deviation(values)?;
    if deviation == 0.0 {
        return Err(Reason::NoSpread);
    }
    values
        .iter()
        .map(|value| finite((value - centre) * UPPER_QUARTILE / deviation))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bad_input_has_a_reason() {
        assert!(median_absolute_deviation(&[]).is_err());
        assert!(median_absolute_deviation(&[f64::MAX, f64::MIN, f64::MIN, f64::MIN]).is_ok());
        assert!(noise_deviation(&[1.0]).is_err());
        assert_eq!(modified_z(&[2.0, 2.0, 2.0, 9.0]), Err(Reason::NoSpread));
        assert!(modified_z(&[f64::INFINITY]).is_err());
        assert_eq!(interquartile_range(&[4.0]), Ok(0.0));
    }

    #[test]
    fn spreads_are_those_worked_out_by_hand() {
        // 1, 2, 4, 8, 100: median 4, distances 3, 2, 0, 4, 96 with the median 3; steps 1, 2, 4, 92 with the median 3.
        let values = [1.0, 2.0, 4.0, 8.0, 100.0];
        let near = |found: Result<f64, Reason>, expected: f64| {
            assert!((found.unwrap() / expected - 1.0).abs() < 1e-12);
        };
        near(median_absolute_deviation(&values), 3.0);
        near(
            normal_consistent_deviation(&values),
            3.0 / 0.674_489_750_196_081_7,
        );
        near(
            noise_deviation(&values),
            3.0 / (2.0_f64.sqrt() * 0.674_489_750_196_081_7),
        );
        near(interquartile_range(&values), 6.0);
        let z = modified_z(&values).unwrap();
        near(Ok(z[4]), 96.0 / 3.0 * 0.674_489_750_196_081_7);
        near(Ok(z[0]), -0.674_489_750_196_081_7);
        assert_eq!(z[2], 0.0);
    }
}
