//! Exact Poisson test of a count against what is expected.
//!
//! Tails of the Poisson distribution (F. Garwood, *Biometrika* 28, 1936); two-sided by minimum likelihood as in R's
//! `poisson.test`.

use super::discrete::Discrete;
use super::proportion_test::ExactTest;
use super::reason::Reason;

/// The test of a count against an expected count. `greater` is the p that more are to be expected.
///
/// # Errors
/// [`Reason::OutOfRange`] unless the expected count is positive; [`Reason::TooLarge`] beyond about a million.
pub fn count_test(count: u64, expected: f64) -> Result<ExactTest, Reason> {
    let chance = Discrete::poisson(expected, count)?;
    Ok(ExactTest {
        exact: chance.exact(count),
        mid: chance.mid(count),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tails_are_those_of_the_incomplete_gamma_function() {
        // NIST Digital Library of Mathematical Functions, 8.4.10: P(X ≥ k) = P(k, m); a different way to the same number.
        for (k, m) in [(28_u64, 16.0), (3, 0.4), (100, 60.0)] {
            let test = count_test(k, m).unwrap();
            let tail = crate::stats::gamma::gamma_lower(k as f64, m);
            assert!((test.exact.greater / tail - 1.0).abs() < 1e-11);
        }
    }

    #[test]
    fn bad_input_has_a_reason() {
        assert!(count_test(1, 0.0).is_err());
        assert!(count_test(1, f64::NAN).is_err());
        assert!(count_test(u64::MAX, 1.0).is_err());
    }
}
