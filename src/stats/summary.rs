//! Mean, standard deviation and autocorrelation, in two passes.
//!
//! T. F. Chan, G. H. Golub, R. J. LeVeque, "Algorithms for computing the sample variance", *The American Statistician*
//! 37 (1983): the corrected two-pass algorithm, here with compensated sums (A. Neumaier, *ZAMM* 54, 1974).
//! Autocorrelation as in G. E. P. Box and G. M. Jenkins, *Time Series Analysis* (1976), equation 2.1.12, and in the
//! Statistical Reference Datasets of NIST: the lagged products about the overall mean over the sum of squares.

use super::reason::{Reason, finite, require};

/// A sum that carries the rounding error of each addition along.
pub(super) fn sum(values: impl IntoIterator<Item = f64>) -> f64 {
    let (mut sum, mut lost) = (0.0_f64, 0.0_f64);
    for value in values {
        let next = sum + value;
        lost += if sum.abs() >= value.abs() {
            (sum - next) + value
        } else {
            (value - next) + sum
        };
        sum = next;
    }
    // An infinite sum makes the correction a NaN, which would hide it.
    if lost.is_finite() { sum + lost } else { sum }
}

/// The arithmetic mean.
///
/// # Errors
/// [`Reason::TooFew`] if there is none, [`Reason::NotFinite`], [`Reason::TooLarge`] on overflow.
pub fn mean(values: &[f64]) -> Result<f64, Reason> {
    require(values, 1)?;
    finite(raw_mean(values))
}

/// The mean of values that are known to be finite and there.
fn raw_mean(values: &[f64]) -> f64 {
    let n = values.len() as f64;
    let first = sum(values.iter().copied()) / n;
    // A second pass takes away what the division rounded.
    first + sum(values.iter().map(|value| value - first)) / n
}

/// The sum of squared deviations from the mean.
fn squares(values: &[f64], mean: f64) -> f64 {
    let n = values.len() as f64;
    let deviations = sum(values.iter().map(|value| value - mean));
    let squares = sum(values.iter().map(|value| (value - mean) * (value - mean)));
    squares - deviations * deviations / n
}

/// The variance with n − 1 in the denominator, in the square of the values' unit.
///
/// # Errors
/// [`Reason::TooFew`] below two values, [`Reason::NotFinite`], [`Reason::TooLarge`] on overflow.
pub fn variance(values: &[f64]) -> Result<f64, Reason> {
    require(values, 2)?;
    let mean = finite(raw_mean(values))?;
    finite(squares(values, mean).max(0.0) / values.len().saturating_sub(1) as f64)
}

/// The standard deviation with n − 1 in the denominator, in the values' unit.
///
/// # Errors
/// As [`variance`].
pub fn standard_deviation(values: &[f64]) -> Result<f64, Reason> {
    variance(values).map(f64::sqrt)
}

/// The autocorrelation at a lag: Σ (xᵢ − x̄)(xᵢ₊ₗ − x̄) / Σ (xᵢ − x̄)².
///
/// # Errors
/// [`Reason::TooFew`] unless there are more values than the lag and at least two, [`Reason::NoSpread`] if all are equal,
/// [`Reason::NotFinite`], [`Reason::TooLarge`] on overflow.
pub fn autocorrelation(values: &[f64], lag: usize) -> Result<f64, Reason> {
    require(values, lag.saturating_add(1).max(2))?;
    let mean = finite(raw_mean(values))?;
    let total = finite(sum(values
        .iter()
        .map(|value| (value - mean) * (value - mean))))?;
    if total == 0.0 {
        return Err(Reason::NoSpread);
    }
    let later = values.iter().skip(lag);
    let products = values
        .iter()
        .zip(later)
        .map(|(a, b)| (a - mean) * (b - mean));
    finite(sum(products) / total)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn empty_constant_and_endless_input_has_a_reason() {
        assert_eq!(
            mean(&[]),
            Err(Reason::TooFew {
                needed: 1,
                given: 0
            })
        );
        assert_eq!(mean(&[1.0, f64::NAN]), Err(Reason::NotFinite { at: 1 }));
        assert_eq!(standard_deviation(&[2.0, 2.0]), Ok(0.0));
        assert_eq!(autocorrelation(&[2.0, 2.0], 1), Err(Reason::NoSpread));
        assert!(mean(&[f64::MAX, f64::MAX]).is_err());
        assert!(autocorrelation(&[1.0, 2.0], usize::MAX).is_err());
    }

    #[test]
    fn sums_keep_what_each_addition_loses() {
        // A. Neumaier's own example of where W. Kahan's sum fails, from memory: 2.
        assert_eq!(sum([1.0, 1e100, 1.0, -1e100]), 2.0);
        assert_eq!(sum([1e100, 1.0, -1e100, 1.0]), 2.0);
        assert_eq!(sum([-1e100, 1.0, 1e100, 1.0]), 2.0);
        assert_eq!(sum([f64::MAX, f64::MAX]), f64::INFINITY);
        assert_eq!(sum([]), 0.0);
    }

    #[test]
    fn moments_of_a_few_values_are_those_worked_out_by_hand() {
        // 1, 2, 6: mean 3, squares 4 + 1 + 9; lagged products 2 − 3 and −6.
        let values = [1.0, 2.0, 6.0];
        assert_eq!((mean(&values), variance(&values)), (Ok(3.0), Ok(7.0)));
        assert_eq!(standard_deviation(&values), Ok(7.0_f64.sqrt()));
        assert_eq!(autocorrelation(&values, 0), Ok(1.0));
        assert!((autocorrelation(&values, 1).unwrap() + 1.0 / 14.0).abs() < 1e-15);
        assert!((autocorrelation(&values, 2).unwrap() + 6.0 / 14.0).abs() < 1e-15);
        let too_few = |needed, given| Err(Reason::TooFew { needed, given });
        assert_eq!(autocorrelation(&values, 3), too_few(4, 3));
        assert_eq!(autocorrelation(&[1.0], 0), too_few(2, 1));
        assert_eq!(variance(&[1.0]), too_few(2, 1));
    }
}
