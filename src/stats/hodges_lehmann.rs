//! Hodges and Lehmann's estimates: the median of all means of two values, and of all differences of two samples.
//!
//! J. L. Hodges and E. L. Lehmann, *Annals of Mathematical Statistics* 34 (1963). The median is found without making all
//! pairs, by weighted medians of rows: D. B. Johnson and T. Mizoguchi, *SIAM J. Computing* 7 (1978); with binary searches in
//! rows, O(n log² n). Exact: each candidate is a pair's own sum.

use super::order::sorted;
use super::reason::{Reason, finite, require};

/// The median of the means of all pairs, each value paired with itself too.
///
/// # Errors
/// [`Reason::TooFew`] if there is none, [`Reason::NotFinite`], [`Reason::TooLarge`] on overflow.
pub fn hodges_lehmann(values: &[f64]) -> Result<f64, Reason> {
    require(values, 1)?;
    let sorted = sorted(values);
    let rows: Vec<Row> = (0..sorted.len())
        .map(|at| Row {
            shift: sorted.get(at).copied().unwrap_or(0.0),
            from: at,
        })
        .collect();
    Ok(middle_of_rows(&rows, &sorted)? / 2.0)
}

/// The median of all differences of a value of the second sample less one of the first: how far the second is shifted.
///
/// # Errors
/// As [`hodges_lehmann`], for either sample.
pub fn hodges_lehmann_shift(first: &[f64], second: &[f64]) -> Result<f64, Reason> {
    require(first, 1)?;
    require(second, 1)?;
    let rows: Vec<Row> = first
        .iter()
        .map(|value| Row {
            shift: -value,
            from: 0,
        })
        .collect();
    middle_of_rows(&rows, &sorted(second))
}

/// The sums of one number with the sorted values from a place on: ascending.
#[derive(Clone, Copy)]
struct Row {
    shift: f64,
    from: usize,
}

impl Row {
    fn at(self, sorted: &[f64], column: usize) -> f64 {
        sorted
            .get(column)
            .map_or(f64::NAN, |value| value + self.shift)
    }

    /// The first column whose sum is not below (or, with `OrEqual`, above) the candidate.
    fn split(self, sorted: &[f64], candidate: f64, kind: Split) -> usize {
        let tail = sorted.get(self.from..).unwrap_or_default();
        let n = tail.partition_point(|value| match kind {
            Split::Below => value + self.shift < candidate,
            Split::AtMost => value + self.shift <= candidate,
        });
        self.from.saturating_add(n)
    }
}

#[derive(Clone, Copy)]
enum Split {
    Below,
    AtMost,
}

#[expect(
    clippy::arithmetic_side_effects,
    reason = "a row begins at one of the sorted values, and an even number of sums that is not 0 has a half of 1 at least"
)]
fn middle_of_rows(rows: &[Row], sorted: &[f64]) -> Result<f64, Reason> {
    let n: u64 = rows
        .iter()
        .map(|row| (sorted.len() - row.from) as u64)
        .sum();
    let upper = select(rows, sorted, n / 2)?;
    if n % 2 == 1 {
        return finite(upper);
    }
    let lower = select(rows, sorted, n / 2 - 1)?;
    finite(lower / 2.0 + upper / 2.0)
}

/// The median of the rows' middles, each weighing as much as its row has candidates: at least a quarter of all candidates
/// lie on either side of it. Nothing if no row has any.
fn middle_candidate(rows: &[Row], sorted: &[f64], ranges: &[(usize, usize)]) -> Option<f64> {
    let mut middles: Vec<(f64, usize)> = rows
        .iter()
        .zip(ranges)
        .filter(|(_, (low, high))| low < high)
        .map(|(row, (low, high))| {
            (
                row.at(sorted, low.midpoint(*high)),
                high.saturating_sub(*low),
            )
        })
        .collect();
    middles.sort_by(|a, b| a.0.total_cmp(&b.0));
    let weight: usize = middles.iter().map(|(_, weight)| weight).sum();
    let mut passed = 0_usize;
    let middle = middles.iter().find(|(_, weight_here)| {
        passed = passed.saturating_add(*weight_here);
        passed.saturating_mul(2) >= weight
    });
    middle.map(|(value, _)| *value)
}

/// The sum with `rank` sums before it.
#[expect(
    clippy::arithmetic_side_effects,
    reason = "a split is not before its row"
)]
fn select(rows: &[Row], sorted: &[f64], rank: u64) -> Result<f64, Reason> {
    // Of each row the columns that are still candidates.
    let mut ranges: Vec<(usize, usize)> = rows.iter().map(|row| (row.from, sorted.len())).collect();
    loop {
        let pivot = finite(middle_candidate(rows, sorted, &ranges).ok_or(Reason::NotSettled)?)?;
        let splits = |kind: Split| -> Vec<usize> {
            rows.iter()
                .map(|row| row.split(sorted, pivot, kind))
                .collect()
        };
        let count = |splits: &[usize]| -> u64 {
            splits
                .iter()
                .zip(rows)
                .map(|(split, row)| (split - row.from) as u64)
                .sum()
        };
        let (below, at_most) = (splits(Split::Below), splits(Split::AtMost));
        if rank < count(&below) {
            for ((_, high), split) in ranges.iter_mut().zip(below) {
                *high = split.min(*high);
            }
        } else if rank >= count(&at_most) {
            for ((low, _), split) in ranges.iter_mut().zip(at_most) {
                *low = split.max(*low);
            }
        } else {
            return Ok(pivot);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn middle_of_all(mut all: Vec<f64>) -> f64 {
        all.sort_by(f64::total_cmp);
        let n = all.len();
        if n % 2 == 1 {
            all[n / 2]
        } else {
            all[n / 2 - 1] / 2.0 + all[n / 2] / 2.0
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig {
            cases: 128,
            failure_persistence: None,
            rng_seed: proptest::test_runner::RngSeed::Fixed(5),
            ..ProptestConfig::default()
        })]

        #[test]
        fn median_of_pairs_is_that_of_all_pairs(
            values in proptest::collection::vec(-20..20_i32, 1..60),
            others in proptest::collection::vec(-1e3..1e3_f64, 1..60),
        ) {
            let values: Vec<f64> = values.into_iter().map(|v| f64::from(v) / 10.0).collect();
            for sample in [&values, &others] {
                let mut means = Vec::new();
                for i in 0..sample.len() {
                    for j in i..sample.len() {
                        means.push((sample[i] + sample[j]) / 2.0);
                    }
                }
                prop_assert_eq!(hodges_lehmann(sample), Ok(middle_of_all(means)));
            }
            let mut differences = Vec::new();
            for a in &values {
                differences.extend(others.iter().map(|b| b - a));
            }
            prop_assert_eq!(
                hodges_lehmann_shift(&values, &others),
                Ok(middle_of_all(differences))
            );
        }
    }

    #[test]
    fn bad_input_has_a_reason() {
        assert!(hodges_lehmann(&[]).is_err());
        assert!(hodges_lehmann(&[f64::NAN]).is_err());
        assert!(hodges_lehmann(&[f64::MAX, f64::MAX]).is_err());
        assert!(hodges_lehmann_shift(&[1.0], &[]).is_err());
        assert_eq!(hodges_lehmann(&[5.0; 100]), Ok(5.0));
    }

    #[test]
    fn candidates_are_parted_by_the_weighted_middle() {
        let sorted = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0];
        let rows = [0.0, 10.0, 20.0].map(|shift| Row { shift, from: 0 });
        let middle = |ranges: [(usize, usize); 3]| middle_candidate(&rows, &sorted, &ranges);
        // Middles 1, 15 and 25 of 1, 1 and 5 candidates; then 1, 16 and 25 of 1, 3 and 3.
        assert_eq!(middle([(0, 1), (4, 5), (2, 7)]), Some(25.0));
        assert_eq!(middle([(0, 1), (4, 7), (3, 6)]), Some(16.0));
        // Half of the weight is enough: 4 of 8.
        assert_eq!(middle([(0, 4), (0, 1), (0, 3)]), Some(3.0));
        assert_eq!(middle([(0, 3), (0, 2), (0, 3)]), Some(12.0));
        // Rows without candidates do not count.
        assert_eq!(middle([(3, 3), (5, 6), (2, 2)]), Some(16.0));
        assert_eq!(middle([(3, 3), (5, 5), (2, 2)]), None);
    }

    #[test]
    fn means_of_pairs_of_a_few_values_are_counted_by_hand() {
        // 1, 2, 3, 6 with the means 1, 1.5, 2, 2, 2.5, 3, 3.5, 4, 4.5, 6: between 2.5 and 3.
        assert_eq!(hodges_lehmann(&[3.0, 1.0, 6.0, 2.0]), Ok(2.75));
        // 5 − 1, 5 − 2, 7 − 1, 7 − 2, 9 − 1, 9 − 2: between 5 and 6.
        assert_eq!(hodges_lehmann_shift(&[1.0, 2.0], &[9.0, 5.0, 7.0]), Ok(5.5));
    }
}
