//! Pettitt's test for one change of level, by ranks.
//!
//! A. N. Pettitt, *Applied Statistics* 28 (1979): K = max |U_t|, U_t = 2 Σ_{i≤t} rᵢ − t (n + 1); p ≈ 2 exp(−6 K² / (n³ + n²)),
//! at most 1, good for small p. It names a place even where nothing changed: go by the p.

use super::order::midranks;
use super::reason::{Reason, require};

/// The result of the test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pettitt {
    /// U where it is largest in size; negative if the later values are larger.
    pub u: f64,
    /// How many values stand before the change.
    pub n_before: usize,
    /// Two-sided p, approximate.
    pub p: f64,
}

/// The test of values in order of time. Of equally good places the first is taken.
///
/// # Errors
/// [`Reason::TooFew`] below two values, [`Reason::NotFinite`], [`Reason::NoSpread`] if all are equal.
pub fn pettitt_test(values: &[f64]) -> Result<Pettitt, Reason> {
    require(values, 2)?;
    let n = values.len() as f64;
    let ranks = midranks(values);
    let mut sum = 0.0;
    let mut best = (0.0_f64, 0);
    for (n_before, rank) in (1..values.len()).zip(&ranks) {
        sum += rank;
        let u = 2.0 * sum - n_before as f64 * (n + 1.0);
        if u.abs() > best.0.abs() {
            best = (u, n_before);
        }
    }
    let (u, n_before) = best;
    if n_before == 0 {
        return Err(Reason::NoSpread);
    }
    let p = 2.0 * (-6.0 * u * u / (n * n * n + n * n)).exp();
    Ok(Pettitt {
        u,
        n_before,
        p: p.min(1.0),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bad_input_has_a_reason() {
        assert!(pettitt_test(&[]).is_err());
        assert_eq!(pettitt_test(&[3.0; 9]), Err(Reason::NoSpread));
        assert!(pettitt_test(&[1.0, f64::NAN]).is_err());
    }

    #[test]
    fn first_of_equally_good_places_is_taken() {
        // Ranks 1, 4, 2.5, 2.5: U is −3, 0, 0. Ranks 1.5, 3.5, 1.5, 3.5: U is −2, 0, −2.
        let test = pettitt_test(&[1.0, 3.0, 2.0, 2.0]).unwrap();
        assert_eq!((test.u, test.n_before, test.p), (-3.0, 1, 1.0));
        let test = pettitt_test(&[1.0, 2.0, 1.0, 2.0]).unwrap();
        assert_eq!((test.u, test.n_before), (-2.0, 1));
        // Falling: ranks 7 to 1, U is 6, 10, 12, 12, 10, 6; 2 e^(−6 · 144 / 392).
        let test = pettitt_test(&[7.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0]).unwrap();
        assert_eq!((test.u, test.n_before), (12.0, 3));
        assert!((test.p - 2.0 * (-864.0_f64 / 392.0).exp()).abs() < 1e-15);
    }
}
