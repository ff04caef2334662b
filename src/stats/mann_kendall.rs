//! Mann–Kendall test for a monotone trend, with ties, in O(n log n).
//!
//! H. B. Mann, *Econometrica* 13 (1945); M. G. Kendall, *Rank Correlation Methods* (1975), chapters 4 and 5: variance
//! with ties, exact distribution without. S is counted by merge sort (W. R. Knight, *JASA* 61, 1966).
//!
//! S = Σ_{i<j} sign(xⱼ − xᵢ); Var S = [n(n−1)(2n+5) − Σ t(t−1)(2t+5)] / 18 over groups of t equal values;
//! z = (S ∓ 1) / √Var S, towards 0. The values are taken to be independent; where neighbours are alike, use
//! [`super::serial_correlation`].

use super::inversions::count_inversions;
use super::normal::normal_two_sided;
use super::order::{sorted, tie_sizes};
use super::reason::{Reason, require};

/// Up to so many values without ties, the p is exact.
const EXACT_UP_TO: usize = 50;

/// The result of the test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MannKendall {
    /// How many values.
    pub n: usize,
    /// Rising pairs less falling pairs.
    pub s: f64,
    /// The variance of S without a trend.
    pub variance: f64,
    /// S over its standard deviation, moved by 1 towards 0.
    pub z: f64,
    /// Two-sided p by the normal distribution.
    pub p_normal: f64,
    /// Two-sided p by counting all orders: without ties and up to 50 values.
    pub p_exact: Option<f64>,
    /// S over the number of pairs (Kendall's tau a).
    pub tau_a: f64,
    /// S over the number of pairs that are not ties (Kendall's tau b, against time).
    pub tau_b: f64,
}

impl MannKendall {
    /// The exact p where there is one, otherwise the normal one.
    pub fn p(&self) -> f64 {
        self.p_exact.unwrap_or(self.p_normal)
    }

    /// z and the two-sided p when the variance is so many times larger, such as for neighbours that are alike.
    ///
    /// # Errors
    /// [`Reason::OutOfRange`] unless the factor is positive.
    pub fn with_variance_factor(&self, factor: f64) -> Result<(f64, f64), Reason> {
        super::reason::require_positive(factor, "variance factor")?;
        let z = continuity_z(self.s, self.variance * factor);
        Ok((z, normal_two_sided(z)))
    }
}

fn continuity_z(s: f64, variance: f64) -> f64 {
    if s == 0.0 {
        0.0
    } else {
        (s - s.signum()) / variance.sqrt()
    }
}

/// The test of values in order of time.
///
/// # Errors
/// [`Reason::TooFew`] below three values, [`Reason::NotFinite`], [`Reason::NoSpread`] if all are equal.
pub fn mann_kendall(values: &[f64]) -> Result<MannKendall, Reason> {
    require(values, 3)?;
    let n = values.len();
    let ties = tie_sizes(&sorted(values));
    if ties.len() == 1 {
        return Err(Reason::NoSpread);
    }
    let pairs = |n: usize| n as f64 * (n as f64 - 1.0) / 2.0;
    let n_pairs = pairs(n);
    let n_tied: f64 = ties.iter().map(|size| pairs(*size)).sum();
    let n_falling = count_inversions(&mut values.to_vec(), 0.0) as f64;
    let s = n_pairs - n_tied - 2.0 * n_falling;
    let variance = tied_variance(n, &ties);
    let z = continuity_z(s, variance);
    let p_exact =
        (ties.len() == n && n <= EXACT_UP_TO).then(|| exact_two_sided(n, n_pairs, s.abs()));
    Ok(MannKendall {
        n,
        s,
        variance,
        z,
        p_normal: normal_two_sided(z),
        p_exact,
        tau_a: s / n_pairs,
        tau_b: s / (n_pairs * (n_pairs - n_tied)).sqrt(),
    })
}

/// The variance of S with groups of equal values of these sizes.
pub(super) fn tied_variance(n: usize, ties: &[usize]) -> f64 {
    let term = |n: usize| n as f64 * (n as f64 - 1.0) * (2.0 * n as f64 + 5.0);
    (term(n) - ties.iter().map(|size| term(*size)).sum::<f64>()) / 18.0
}

/// The share of all orders of n values with |S| at least this large: S = pairs − 2 inversions, and the number of orders
/// with k inversions follows from that for n − 1 values by where the last is put (Knuth, volume 3, 5.1.1).
#[expect(
    clippy::arithmetic_side_effects,
    reason = "the exact test is of few values: as many shares as they have pairs"
)]
fn exact_two_sided(n: usize, n_pairs: f64, s: f64) -> f64 {
    let mut shares = vec![1.0];
    for size in 2..=n {
        let mut next = vec![0.0; shares.len() + size - 1];
        for (k, share) in shares.iter().enumerate() {
            for slot in next.iter_mut().skip(k).take(size) {
                *slot += share / size as f64;
            }
        }
        shares = next;
    }
    let most = (n_pairs - s) / 2.0;
    let tail: f64 = shares.iter().take(most as usize + 1).sum();
    (2.0 * tail).min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn bad_input_has_a_reason() {
        assert!(mann_kendall(&[]).is_err());
        assert!(mann_kendall(&[1.0, 2.0]).is_err());
        assert_eq!(mann_kendall(&[1.0; 5]), Err(Reason::NoSpread));
        assert!(mann_kendall(&[1.0, f64::NEG_INFINITY, 2.0]).is_err());
    }

    #[test]
    fn four_rising_values_have_one_order_in_twenty_four() {
        // Kendall (1975), appendix table 1: n = 4, S = 6: one-sided 0.042 = 1/24.
        let test = mann_kendall(&[1.0, 2.0, 3.0, 4.0]).unwrap();
        assert!((test.p() - 2.0 / 24.0).abs() < 1e-15);
        assert_eq!(mann_kendall(&[2.0, 1.0, 4.0, 3.0]).unwrap().s, 2.0);
    }

    proptest! {
        #![proptest_config(ProptestConfig {
            cases: 128,
            failure_persistence: None,
            rng_seed: proptest::test_runner::RngSeed::Fixed(5),
            ..ProptestConfig::default()
        })]

        #[test]
        fn s_is_the_sum_over_every_pair(values in proptest::collection::vec(-4..4_i32, 3..60)) {
            let values: Vec<f64> = values.into_iter().map(f64::from).collect();
            let mut s = 0.0;
            for i in 0..values.len() {
                for j in i + 1..values.len() {
                    s += (values[j] - values[i]).partial_cmp(&0.0).unwrap() as i32 as f64;
                }
            }
            match mann_kendall(&values) {
                Ok(test) => prop_assert_eq!(test.s, s),
                Err(reason) => prop_assert_eq!(reason, Reason::NoSpread),
            }
        }
    }

    #[test]
    fn p_is_exact_up_to_fifty_values_without_ties() {
        let rising = |n: u32| -> Vec<f64> { (0..n).map(f64::from).collect() };
        assert!(mann_kendall(&rising(50)).unwrap().p_exact.is_some());
        assert_eq!(mann_kendall(&rising(51)).unwrap().p_exact, None);
        assert_eq!(mann_kendall(&[1.0, 2.0, 2.0, 3.0]).unwrap().p_exact, None);
    }

    #[test]
    fn small_tests_are_those_worked_out_by_hand() {
        // 1, 2, 2, 3: five of six pairs rise, one is a tie; 18 Var = 4·3·13 − 2·1·9 = 138.
        let test = mann_kendall(&[1.0, 2.0, 2.0, 3.0]).unwrap();
        assert_eq!((test.n, test.s), (4, 5.0));
        assert!((test.variance - 138.0 / 18.0).abs() < 1e-12);
        assert!((test.z - 4.0 / (138.0_f64 / 18.0).sqrt()).abs() < 1e-12);
        assert!((test.tau_a - 5.0 / 6.0).abs() < 1e-15);
        assert!((test.tau_b - 5.0 / 30.0_f64.sqrt()).abs() < 1e-15);
        // Four times the variance halves z; falling values have its negative.
        let (z, p) = test.with_variance_factor(4.0).unwrap();
        assert!((z - test.z / 2.0).abs() < 1e-15);
        assert!(p > test.p_normal);
        let falling = mann_kendall(&[3.0, 2.0, 2.0, 1.0]).unwrap();
        assert_eq!((falling.s, falling.z), (-5.0, -test.z));
        assert!(test.with_variance_factor(0.0).is_err());
        // Orders of three values by inversions: 1, 2, 2, 1. |S| ≥ 1 has all of them, |S| ≥ 3 one at each end.
        assert_eq!(mann_kendall(&[1.0, 3.0, 2.0]).unwrap().p(), 1.0);
        assert!((mann_kendall(&[1.0, 2.0, 3.0]).unwrap().p() - 1.0 / 3.0).abs() < 1e-15);
        // Of four: 1, 3, 5, 6, 5, 3, 1; S = 2 is two inversions: 2 (1 + 3 + 5) / 24.
        let p = mann_kendall(&[1.0, 4.0, 2.0, 3.0]).unwrap().p();
        assert!((p - 18.0 / 24.0).abs() < 1e-15);
        // S = 0 is no trend.
        let level = mann_kendall(&[2.0, 4.0, 1.0, 3.0]).unwrap();
        assert_eq!((level.s, level.z, level.p_normal), (0.0, 0.0, 1.0));
    }
}
