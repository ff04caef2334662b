//! The incomplete gamma function, from `statrs`, without its panics, and its inverse.
//!
//! Definition: NIST Digital Library of Mathematical Functions, 8.2.4. P(a, x) is the probability that a gamma variable
//! of shape `a` and scale 1 is at most `x`; Q = 1 − P. The chi-square distribution with ν degrees of freedom has
//! upper tail Q(ν/2, x/2); a Poisson variable of mean `m` is at most `k` with probability Q(k + 1, m).
//!
//! The quantile is found here: `statrs` stops its search at 3 to 4 digits (its issue 200).

use super::reason::Reason;
use super::root::find_root;
use statrs::function::gamma::{checked_gamma_lr, checked_gamma_ur, ln_gamma};

/// `statrs` takes an x below about 1e-15 for 0.
const SMALL: f64 = 1e-14;

/// P(a, x) for a > 0; 0 for x ≤ 0, NaN for NaN.
pub fn gamma_lower(a: f64, x: f64) -> f64 {
    if x.is_nan() || a.is_nan() {
        f64::NAN
    } else if x <= 0.0 {
        0.0
    } else if x.is_infinite() {
        1.0
    } else if x < SMALL && a > 0.0 {
        lower_of_small(a, x)
    } else {
        checked_gamma_lr(a, x).unwrap_or(f64::NAN)
    }
}

/// P(a, x) of a small x by the first term of its series (NIST Digital Library of Mathematical Functions, 8.7.1): the next
/// is less than x of it.
fn lower_of_small(a: f64, x: f64) -> f64 {
    (a * x.ln() - ln_gamma(a + 1.0)).exp()
}

/// Q(a, x) = 1 − P(a, x) for a > 0, without losing a small tail.
pub fn gamma_upper(a: f64, x: f64) -> f64 {
    if x.is_nan() || a.is_nan() {
        f64::NAN
    } else if x <= 0.0 {
        1.0
    } else if x.is_infinite() {
        0.0
    } else if x < SMALL && a > 0.0 {
        1.0 - lower_of_small(a, x)
    } else {
        checked_gamma_ur(a, x).unwrap_or(f64::NAN)
    }
}

/// The upper tail of the chi-square distribution with this many degrees of freedom.
pub fn chi_square_upper(chi_square: f64, degrees_of_freedom: f64) -> f64 {
    gamma_upper(degrees_of_freedom / 2.0, chi_square / 2.0)
}

/// The x with P(a, x) = `probability`.
///
/// # Errors
/// [`Reason::OutOfRange`] unless a > 0 and 0 < probability < 1; [`Reason::NotSettled`] if the search fails.
pub fn gamma_quantile(a: f64, probability: f64) -> Result<f64, Reason> {
    solve(a, probability, |x| gamma_lower(a, x) - probability)
}

/// The x with Q(a, x) = `probability`: precise where the upper tail is small.
///
/// # Errors
/// As [`gamma_quantile`].
pub fn gamma_quantile_upper(a: f64, probability: f64) -> Result<f64, Reason> {
    solve(a, probability, |x| probability - gamma_upper(a, x))
}

fn solve(a: f64, probability: f64, f: impl Fn(f64) -> f64) -> Result<f64, Reason> {
    if !(a > 0.0 && a.is_finite()) {
        return Err(Reason::OutOfRange { argument: "shape" });
    }
    if !(probability > 0.0 && probability < 1.0) {
        return Err(Reason::OutOfRange {
            argument: "probability",
        });
    }
    // In the logarithm, because a quantile of a small shape can be tiny; above, a Chernoff bound for tails to 1e-300.
    let high = (a + 40.0 * a.sqrt() + 1500.0).ln();
    find_root(|log| f(log.exp()), -700.0, high)
        .map(f64::exp)
        .ok_or(Reason::NotSettled)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantile_that_statrs_misses_is_met() {
        // statrs issue 200: shape 3, rate 0.5, the 0.997796914589247 quantile is 20.5567 in two other systems.
        let x = gamma_quantile(3.0, 0.997_796_914_589_247).unwrap() / 0.5;
        assert!((x - 20.5567).abs() < 1e-8, "{x}");
    }

    #[test]
    fn exponential_tail_is_exact() {
        // Q(1, x) = e^−x.
        assert!((gamma_upper(1.0, 3.0) / (-3.0_f64).exp() - 1.0).abs() < 1e-14);
        let x = gamma_quantile_upper(1.0, 0.05).unwrap();
        assert!((x - 20.0_f64.ln()).abs() < 1e-13);
    }

    #[test]
    fn bad_arguments_are_refused() {
        assert!(gamma_quantile(0.0, 0.5).is_err());
        assert!(gamma_quantile(1.0, 0.0).is_err());
        assert!(gamma_quantile(f64::NAN, 0.5).is_err());
        assert!(gamma_upper(-1.0, 1.0).is_nan());
    }

    #[test]
    fn ends_are_certain_and_what_is_no_number_stays_none() {
        assert_eq!(gamma_lower(2.0, 0.0), 0.0);
        assert_eq!(gamma_lower(2.0, -1.0), 0.0);
        assert_eq!(gamma_lower(2.0, f64::INFINITY), 1.0);
        assert_eq!(gamma_upper(2.0, 0.0), 1.0);
        assert_eq!(gamma_upper(2.0, -1.0), 1.0);
        assert_eq!(gamma_upper(2.0, f64::INFINITY), 0.0);
        for (a, x) in [
            (f64::NAN, 1.0),
            (f64::NAN, -1.0),
            (f64::NAN, f64::INFINITY),
            (1.0, f64::NAN),
        ] {
            assert!(
                gamma_lower(a, x).is_nan() && gamma_upper(a, x).is_nan(),
                "{a} {x}"
            );
        }
        // Two degrees of freedom are e^(−x/2).
        assert!((chi_square_upper(6.0, 2.0) / (-3.0_f64).exp() - 1.0).abs() < 1e-14);
        let out_of = |argument| Err(Reason::OutOfRange { argument });
        for probability in [0.0, 1.0, -0.1, 1.1] {
            assert_eq!(gamma_quantile(1.0, probability), out_of("probability"));
            assert_eq!(
                gamma_quantile_upper(1.0, probability),
                out_of("probability")
            );
        }
        assert_eq!(gamma_quantile(f64::INFINITY, 0.5), out_of("shape"));
        assert_eq!(gamma_quantile(-1.0, 0.5), out_of("shape"));
    }

    #[test]
    fn quantiles_of_large_shapes_and_tiny_tails_are_met() {
        // scipy 1.17.1, gammainccinv and gammaincinv (C).
        for (found, expected) in [
            (gamma_quantile_upper(1e6, 1e-9), 1_006_009.469_733_439_6),
            (gamma_quantile(1e6, 1e-9), 994_013.846_149_581_6),
            (gamma_quantile_upper(2.0, 1e-300), 697.324_211_379_352_6),
        ] {
            let found = found.unwrap();
            assert!((found / expected - 1.0).abs() < 1e-9, "{found} {expected}");
        }
        // Q(1, x) = e^−x to the smallest; P(½, x) ≈ 2 √(x/π) where that is tiny.
        let far = gamma_quantile_upper(1.0, 1e-300).unwrap();
        assert!((far / (300.0 * 10.0_f64.ln()) - 1.0).abs() < 1e-13);
        let near = gamma_quantile(0.5, 1e-100).unwrap();
        assert!(
            (near / (std::f64::consts::PI / 4.0 * 1e-200) - 1.0).abs() < 1e-10,
            "{near:e}"
        );
    }

    #[test]
    fn tails_of_tiny_numbers_are_not_taken_for_those_of_zero() {
        // P(1, x) = 1 − e^−x ≈ x; P(½, x) = erf √x ≈ 2 √(x/π) (NIST Digital Library of Mathematical Functions, 7.6.1 and
        // 8.4.1), on both sides of where statrs stops.
        for x in [1e-300, 1e-17, 9.9e-15, 1.1e-14, 1e-12] {
            let close = |found: f64, expected: f64| (found / expected - 1.0).abs() < 1e-11;
            let erf = 2.0 * (x / std::f64::consts::PI).sqrt();
            assert!(close(gamma_lower(1.0, x), x), "{x:e}");
            assert!(close(gamma_lower(0.5, x), erf), "{x:e}");
            assert!((gamma_upper(0.5, x) - (1.0 - erf)).abs() < 1e-15, "{x:e}");
            // Three: x³ / 6.
            assert!(
                x < 1e-100 || close(gamma_lower(3.0, x), x * x * x / 6.0),
                "{x:e}"
            );
        }
        assert!(gamma_lower(0.0, 1e-20).is_nan() && gamma_upper(-1.0, 1e-20).is_nan());
    }
}
