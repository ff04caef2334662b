//! The standard normal distribution.
//!
//! The tail is taken from the incomplete gamma function, Φ(−z) = Q(1/2, z²/2) / 2 (NIST Digital Library of Mathematical
//! Functions, 7.11.2): the complementary error function of `statrs` 0.18 is right to about 1e-10 only, its incomplete
//! gamma function to 1e-14.

use super::gamma::gamma_upper;
use statrs::function::erf::erfc_inv;

/// The 0.75 quantile of the standard normal distribution: the median absolute deviation of a normal distribution is this
/// part of its standard deviation.
pub const UPPER_QUARTILE: f64 = 0.674_489_750_196_081_7;

/// The probability of a value above `z`.
pub fn normal_upper(z: f64) -> f64 {
    if z.is_nan() {
        return f64::NAN;
    }
    let tail = gamma_upper(0.5, z * z / 2.0) / 2.0;
    if z >= 0.0 { tail } else { 1.0 - tail }
}

/// The probability of a value at least as far from 0 as `z`.
pub fn normal_two_sided(z: f64) -> f64 {
    gamma_upper(0.5, z * z / 2.0)
}

/// The value with this probability below it; infinite at 0 and 1, and NaN outside.
pub fn normal_quantile(probability: f64) -> f64 {
    if !(0.0..=1.0).contains(&probability) {
        return f64::NAN;
    }
    if probability == 0.5 {
        return 0.0;
    }
    -std::f64::consts::SQRT_2 * erfc_inv(2.0 * probability)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tails_and_quantiles_are_those_of_tables() {
        // NIST/SEMATECH e-Handbook 1.3.6.7.1: Φ(1.96) = 0.97500 (from memory, 5 places); the long digits by scipy 1.17.1.
        assert!((normal_upper(1.96) - 0.024_997_895_148_220_435).abs() < 1e-15);
        assert!((normal_upper(-3.0) - 0.998_650_101_968_369_9).abs() < 1e-15);
        assert!((normal_upper(10.0) / 7.619_853_024_160_527e-24 - 1.0).abs() < 1e-12);
        assert!((normal_quantile(0.975) - 1.959_963_984_540_054).abs() < 1e-14);
        assert!((normal_quantile(0.75) - UPPER_QUARTILE).abs() < 1e-15);
        assert!((normal_quantile(1e-10) + 6.361_340_902_404_056).abs() < 1e-13);
    }

    #[test]
    fn ends_do_not_panic() {
        assert_eq!(normal_upper(f64::INFINITY), 0.0);
        assert_eq!(normal_upper(f64::NEG_INFINITY), 1.0);
        assert!(normal_upper(f64::NAN).is_nan());
        assert_eq!(normal_quantile(0.0), f64::NEG_INFINITY);
        assert_eq!(normal_quantile(1.0), f64::INFINITY);
        assert!(normal_quantile(1.5).is_nan());
    }

    #[test]
    fn both_sides_are_alike_and_the_middle_is_half() {
        assert_eq!(normal_upper(0.0), 0.5);
        assert_eq!(normal_two_sided(0.0), 1.0);
        assert!((normal_two_sided(1.96) - 2.0 * 0.024_997_895_148_220_435).abs() < 1e-15);
        assert_eq!(normal_two_sided(-1.96), normal_two_sided(1.96));
        assert_eq!(normal_quantile(0.5), 0.0);
        assert!((normal_quantile(0.025) + 1.959_963_984_540_054).abs() < 1e-14);
        assert!(normal_quantile(-0.1).is_nan() && normal_quantile(f64::NAN).is_nan());
    }
}
