//! Whether two samples differ in mean, without assuming equal spread.
//!
//! B. L. Welch, *Biometrika* 34 (1947), with F. E. Satterthwaite's degrees of freedom (*Biometrics Bulletin* 2, 1946).

use super::interval::{Confidence, Interval};
use super::reason::{Reason, finite};
use super::student::{student_quantile_upper, student_two_sided};
use super::summary::{mean, variance};

/// The result of the test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Welch {
    /// First mean less second, in the values' unit.
    pub difference: f64,
    /// Its interval.
    pub interval: Interval,
    /// The difference over its standard error.
    pub t: f64,
    /// Two-sided p.
    pub p: f64,
    /// Degrees of freedom.
    pub degrees_of_freedom: f64,
}

/// The test of two samples.
///
/// # Errors
/// [`Reason::TooFew`] below two values in either, [`Reason::NotFinite`], [`Reason::NoSpread`] if neither varies,
/// [`Reason::TooLarge`] on overflow.
pub fn welch_test(first: &[f64], second: &[f64], confidence: Confidence) -> Result<Welch, Reason> {
    let (n1, n2) = (first.len() as f64, second.len() as f64);
    let (v1, v2) = (variance(first)? / n1, variance(second)? / n2);
    let error = (v1 + v2).sqrt();
    if error == 0.0 {
        return Err(Reason::NoSpread);
    }
    let difference = finite(mean(first)? - mean(second)?)?;
    // As parts of the sum, so that squares of small variances don't vanish.
    let (part1, part2) = (v1 / (v1 + v2), v2 / (v1 + v2));
    let degrees_of_freedom =
        finite(1.0 / (part1 * part1 / (n1 - 1.0) + part2 * part2 / (n2 - 1.0)))?;
    let t = finite(difference / error)?;
    let reach = student_quantile_upper(confidence.tail(), degrees_of_freedom)? * error;
    Ok(Welch {
        difference,
        interval: Interval {
            low: difference - reach,
            high: difference + reach,
        },
        t,
        p: student_two_sided(t, degrees_of_freedom),
        degrees_of_freedom,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bad_input_has_a_reason() {
        let of = |a: &[f64], b: &[f64]| welch_test(a, b, Confidence::P95);
        assert!(of(&[1.0], &[1.0, 2.0]).is_err());
        assert_eq!(of(&[1.0, 1.0], &[2.0, 2.0]), Err(Reason::NoSpread));
        assert!(of(&[1.0, f64::NAN], &[2.0, 3.0]).is_err());
        assert!(of(&[1e300, -1e300], &[2.0, 3.0]).is_err());
    }

    #[test]
    fn two_small_samples_are_compared_by_hand() {
        // Means 3 and 7, variances 4 and 16, of 3 and of 4 values: v 4/3 and 4, t = −4 / √(16/3) = −√3, and
        // (16/3)² / ((4/3)²/2 + 4²/3) = (256/9) / (56/9) = 32/7 degrees of freedom.
        let second = [7.0 - 24.0_f64.sqrt(), 7.0, 7.0, 7.0 + 24.0_f64.sqrt()];
        let test = welch_test(&[1.0, 3.0, 5.0], &second, Confidence::P95).unwrap();
        assert!((test.difference + 4.0).abs() < 1e-12);
        assert!((test.t + 3.0_f64.sqrt()).abs() < 1e-12);
        assert!((test.degrees_of_freedom - 32.0 / 7.0).abs() < 1e-12);
        assert!((test.interval.low + test.interval.high + 8.0).abs() < 1e-12);
        let reach = student_quantile_upper(0.025, 32.0 / 7.0).unwrap() * (16.0_f64 / 3.0).sqrt();
        assert!((test.interval.width() / 2.0 - reach).abs() < 1e-9);
    }
}
