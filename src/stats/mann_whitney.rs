//! Whether one sample tends to be larger than another, by ranks.
//!
//! H. B. Mann and D. R. Whitney, *Annals of Mathematical Statistics* 18 (1947): U counts pairs in which the second sample's
//! value is larger, ties half. Exact without ties for small samples, by their recurrence; otherwise normal, with the
//! variance corrected for ties and a continuity correction of ½.

use super::normal::normal_two_sided;
use super::order::{midranks, sorted, tie_sizes};
use super::reason::{Reason, require};

/// Up to this product of both sizes, and without ties, the p is exact.
const EXACT_UP_TO: usize = 2500;

/// The result of the test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MannWhitney {
    /// Pairs in which the second sample's value is larger, ties half.
    pub u: f64,
    /// U over all pairs: the chance that a value of the second sample is the larger one.
    pub share: f64,
    /// Two-sided p by the normal distribution; 1 if all values are equal.
    pub p_normal: f64,
    /// Two-sided p by counting all arrangements: without ties and for small samples.
    pub p_exact: Option<f64>,
}

impl MannWhitney {
    /// The exact p where there is one, otherwise the normal one.
    pub fn p(&self) -> f64 {
        self.p_exact.unwrap_or(self.p_normal)
    }
}

/// The test of two samples.
///
/// # Errors
/// [`Reason::TooFew`] if either is empty, [`Reason::NotFinite`].
pub fn mann_whitney(first: &[f64], second: &[f64]) -> Result<MannWhitney, Reason> {
    require(first, 1)?;
    require(second, 1)?;
    let pooled = [first, second].concat();
    let ranks = midranks(&pooled);
    let (n1, n2) = (first.len() as f64, second.len() as f64);
    let n = n1 + n2;
    let rank_sum: f64 = ranks.iter().skip(first.len()).sum();
    let u = rank_sum - n2 * (n2 + 1.0) / 2.0;
    let ties = tie_sizes(&sorted(&pooled));
    let tied: f64 = ties
        .iter()
        .map(|size| (*size as f64).powi(3) - *size as f64)
        .sum();
    let variance = n1 * n2 / 12.0 * ((n + 1.0) - tied / (n * (n - 1.0)));
    let distance = ((u - n1 * n2 / 2.0).abs() - 0.5).max(0.0);
    let p_normal = if variance > 0.0 {
        normal_two_sided(distance / variance.sqrt())
    } else {
        1.0
    };
    let is_exact =
        ties.len() == pooled.len() && first.len().saturating_mul(second.len()) <= EXACT_UP_TO;
    Ok(MannWhitney {
        u,
        share: u / (n1 * n2),
        p_normal,
        p_exact: is_exact.then(|| exact_two_sided(first.len(), second.len(), u)),
    })
}

/// Twice the share of arrangements with a U as far from its middle. `shares[j][u]` is the share of arrangements of i and j
/// values with this U; the largest value belongs to one sample or the other.
#[expect(
    clippy::arithmetic_side_effects,
    reason = "the product of the sizes is at most EXACT_UP_TO"
)]
fn exact_two_sided(n1: usize, n2: usize, u: f64) -> f64 {
    let most = n1 * n2;
    let mut shares = vec![vec![1.0]; n2 + 1];
    for i in 1..=n1 {
        let mut before: Vec<f64> = vec![1.0];
        for j in 1..=n2 {
            let without_first = shares.get(j).cloned().unwrap_or_default();
            let mut next = vec![0.0; i * j + 1];
            let (first_part, second_part) = (i as f64 / (i + j) as f64, j as f64 / (i + j) as f64);
            // The largest is of the first sample: U as for i − 1 and j. Of the second: i more than for i and j − 1.
            for (slot, share) in next.iter_mut().zip(&without_first) {
                *slot += first_part * share;
            }
            for (slot, share) in next.iter_mut().skip(i).zip(&before) {
                *slot += second_part * share;
            }
            if let Some(slot) = shares.get_mut(j) {
                slot.clone_from(&next);
            }
            before = next;
        }
    }
    let near = u.min(most as f64 - u) as usize;
    let tail: f64 = shares
        .last()
        .map_or(1.0, |last| last.iter().take(near + 1).sum());
    (2.0 * tail).min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_above_three_is_one_arrangement_in_twenty() {
        // 6! / (3! 3!) = 20 arrangements; the most extreme on both sides are 2.
        let test = mann_whitney(&[1.0, 2.0, 3.0], &[4.0, 5.0, 6.0]).unwrap();
        assert_eq!(test.u, 9.0);
        assert!((test.p() - 0.1).abs() < 1e-15);
    }

    #[test]
    fn equal_values_and_bad_input_do_not_panic() {
        assert_eq!(mann_whitney(&[1.0; 3], &[1.0; 4]).unwrap().p(), 1.0);
        assert!(mann_whitney(&[], &[1.0]).is_err());
        assert!(mann_whitney(&[f64::NAN], &[1.0]).is_err());
    }

    #[test]
    fn exact_tails_are_those_of_the_gaussian_binomial() {
        // Of the 35 arrangements of 3 and 4 values with U = 0, 1 … 12 there are 1 1 2 3 4 4 5 4 4 3 2 1 1: the coefficients
        // of [7 choose 3] in q (G. E. Andrews, The Theory of Partitions, 1976, chapter 3; from memory).
        let ways = [1, 1, 2, 3, 4, 4, 5, 4, 4, 3, 2, 1, 1];
        for u in 0..=12_usize {
            let near = u.min(12 - u);
            let tail: u32 = ways[..=near].iter().sum();
            let expected = (2.0 * f64::from(tail) / 35.0).min(1.0);
            for (n1, n2) in [(3, 4), (4, 3)] {
                let found = exact_two_sided(n1, n2, u as f64);
                assert!((found - expected).abs() < 1e-14, "{n1} {n2} {u}: {found}");
            }
        }
    }

    #[test]
    fn samples_with_and_without_ties_are_those_of_the_library() {
        // scipy 1.17.1, mannwhitneyu of the second sample against the first (C).
        let first = [1.0, 2.0, 3.5, 5.0, 8.0, 9.5, 12.0];
        let test = mann_whitney(&first, &[2.5, 4.0, 6.0, 7.0, 10.2]).unwrap();
        assert_eq!(test.u, 19.0);
        assert!((test.share - 19.0 / 35.0).abs() < 1e-15);
        assert!((test.p_exact.unwrap() - 0.876_262_626_262_626_3).abs() < 1e-13);
        assert!((test.p_normal - 0.870_991_194_797_463_3).abs() < 1e-13);
        let test =
            mann_whitney(&[1.0, 2.0, 2.0, 3.0, 5.0], &[2.0, 3.0, 3.0, 4.0, 6.0, 7.0]).unwrap();
        assert_eq!((test.u, test.p_exact), (23.0, None));
        assert!((test.p() - 0.163_045_055_854_237_34).abs() < 1e-13);
    }

    #[test]
    fn p_is_exact_up_to_a_product_of_2500() {
        let numbers = |from: u32, n: u32| -> Vec<f64> { (from..from + n).map(f64::from).collect() };
        let is_exact = |n1, n2| {
            let test = mann_whitney(&numbers(0, n1), &numbers(1000, n2)).unwrap();
            test.p_exact.is_some()
        };
        assert!(is_exact(50, 50));
        assert!(!is_exact(50, 51));
        assert!(!is_exact(2501, 1));
    }
}
