//! What it costs to say that a stretch of values has one level.
//!
//! Squares about the mean: the cost of normal noise (C. Truong, L. Oudre, N. Vayatis, *Signal Processing* 167, 2020, section
//! 4.2: c_L2). Distances to the median: that of Laplace's noise, on which a value far out weighs by its distance and not by
//! its square (their c_L1; J. Bai, *J. Econometrics* 67, 1995). Squares of ranks: only the order counts. The median of any
//! stretch comes from a wavelet matrix (F. Claude, G. Navarro, A. Ordóñez, *Information Systems* 47, 2015) in O(log n).

use super::order::{midranks, sorted};
use super::reason::{Reason, finite, require};

/// Which cost.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cost {
    /// Sum of squares about the stretch's mean.
    Squares,
    /// Sum of distances to the stretch's median.
    Distances,
    /// Sum of squares of the values' ranks in the whole series about their mean in the stretch.
    RankSquares,
}

/// The cost of any stretch of a series, ready to be asked.
pub(super) enum SegmentCost {
    Squares(Sums),
    Distances(WaveletMatrix),
}

impl SegmentCost {
    /// For values in order of time.
    pub(super) fn of(values: &[f64], cost: Cost) -> Result<Self, Reason> {
        require(values, 0)?;
        if u32::try_from(values.len()).is_err() {
            return Err(Reason::TooLarge { argument: "values" });
        }
        Ok(match cost {
            Cost::Squares => SegmentCost::Squares(Sums::of(values)?),
            Cost::RankSquares => SegmentCost::Squares(Sums::of(&midranks(values))?),
            Cost::Distances => SegmentCost::Distances(WaveletMatrix::of(values)?),
        })
    }

    /// The cost of the values from `start` to before `end`.
    pub(super) fn between(&self, start: usize, end: usize) -> f64 {
        match self {
            SegmentCost::Squares(sums) => sums.squares(start, end),
            SegmentCost::Distances(matrix) => matrix.distances(start, end),
        }
    }
}

/// Sums from the begin, of values less a middle one so that they keep their digits.
pub(super) struct Sums {
    values: Vec<f64>,
    squares: Vec<f64>,
}

impl Sums {
    fn of(values: &[f64]) -> Result<Self, Reason> {
        let ordered = sorted(values);
        let centre = ordered.get(ordered.len() / 2).copied().unwrap_or(0.0);
        let (mut sum, mut square) = (0.0, 0.0);
        let mut sums = Sums {
            values: vec![0.0],
            squares: vec![0.0],
        };
        for value in values {
            sum += value - centre;
            square += (value - centre) * (value - centre);
            sums.values.push(finite(sum)?);
            sums.squares.push(finite(square)?);
        }
        Ok(sums)
    }

    #[expect(
        clippy::arithmetic_side_effects,
        reason = "a part ends behind its start"
    )]
    fn squares(&self, start: usize, end: usize) -> f64 {
        let difference = |sums: &[f64]| match (sums.get(start), sums.get(end)) {
            (Some(before), Some(after)) => after - before,
            _ => 0.0,
        };
        let sum = difference(&self.values);
        (difference(&self.squares) - sum * sum / (end - start) as f64).max(0.0)
    }
}

/// The ranks of the values bit by bit, each bit's level sorted by the bits above it, with sums of the values.
pub(super) struct WaveletMatrix {
    levels: Vec<Level>,
    /// Sums of the values in the order below the last level.
    leaves: Vec<f64>,
}

struct Level {
    /// How many of the first so many have the bit unset.
    n_zeros: Vec<u32>,
    /// Sums of the values in this level's order.
    sums: Vec<f64>,
}

impl WaveletMatrix {
    #[expect(
        clippy::arithmetic_side_effects,
        reason = "no number has more leading zeros than bits, and there are less than 2^32 values"
    )]
    fn of(values: &[f64]) -> Result<Self, Reason> {
        let ordered = sorted(values);
        let centre = ordered.get(ordered.len() / 2).copied().unwrap_or(0.0);
        // Each value has its own rank; the order among equal ones doesn't matter.
        let mut places: Vec<(f64, u32)> = values.iter().copied().zip(0..).collect();
        places.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut ranks = vec![(0_u32, 0.0); values.len()];
        for (rank, (value, place)) in (0..).zip(&places) {
            if let Some(slot) = ranks.get_mut(*place as usize) {
                *slot = (rank, value - centre);
            }
        }
        let n_bits = usize::BITS - values.len().leading_zeros();
        let mut levels = Vec::new();
        for bit in (0..n_bits).rev() {
            let is_zero = |rank: u32| rank >> bit & 1 == 0;
            let mut n = 0;
            let mut n_zeros = vec![0];
            for (rank, _) in &ranks {
                n += u32::from(is_zero(*rank));
                n_zeros.push(n);
            }
            levels.push(Level {
                n_zeros,
                sums: sums_of(&ranks)?,
            });
            // Stable, so that stretches stay stretches.
            ranks.sort_by_key(|(rank, _)| !is_zero(*rank));
        }
        Ok(WaveletMatrix {
            levels,
            leaves: sums_of(&ranks)?,
        })
    }

    #[expect(
        clippy::arithmetic_side_effects,
        reason = "a part ends behind its start"
    )]
    fn distances(&self, start: usize, end: usize) -> f64 {
        let n = end - start;
        let total = self
            .levels
            .first()
            .map_or(0.0, |level| between(&level.sums, start, end));
        // The upper half less the lower half; the middle value of an odd number has distance 0.
        let lower = self.sum_of_smallest(start, end, n / 2);
        let upper = total - self.sum_of_smallest(start, end, n - n / 2);
        (upper - lower).max(0.0)
    }

    /// The sum of the `n` smallest values from `start` to before `end`.
    #[expect(
        clippy::arithmetic_side_effects,
        reason = "a stretch has its ones behind its zeros, both within the values of which there are less than 2^32"
    )]
    fn sum_of_smallest(&self, start: usize, end: usize, n: usize) -> f64 {
        let (mut start, mut end, mut n) = (start, end, n);
        let mut sum = 0.0;
        for (at, level) in self.levels.iter().enumerate() {
            let zeros = |place: usize| level.n_zeros.get(place).map_or(0, |n| *n as usize);
            let (zeros_start, zeros_end) = (zeros(start), zeros(end));
            let n_zeros = zeros_end - zeros_start;
            if n <= n_zeros {
                (start, end) = (zeros_start, zeros_end);
            } else {
                let next = self
                    .levels
                    .get(at + 1)
                    .map_or(&self.leaves, |next| &next.sums);
                sum += between(next, zeros_start, zeros_end);
                n -= n_zeros;
                let all_zeros = level.n_zeros.last().map_or(0, |n| *n as usize);
                start = all_zeros + (start - zeros_start);
                end = all_zeros + (end - zeros_end);
            }
        }
        sum + between(&self.leaves, start, (start + n).min(end))
    }
}

fn sums_of(ranks: &[(u32, f64)]) -> Result<Vec<f64>, Reason> {
    let mut sum = 0.0;
    let mut sums = vec![0.0];
    for (_, value) in ranks {
        sum += value;
        sums.push(finite(sum)?);
    }
    Ok(sums)
}

fn between(sums: &[f64], start: usize, end: usize) -> f64 {
    match (sums.get(start), sums.get(end)) {
        (Some(before), Some(after)) => after - before,
        _ => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig {
            cases: 96,
            failure_persistence: None,
            rng_seed: proptest::test_runner::RngSeed::Fixed(5),
            ..ProptestConfig::default()
        })]

        #[test]
        fn costs_are_those_of_their_definitions(
            values in proptest::collection::vec(-40..40_i32, 1..50),
            ends in (0..50_usize, 1..50_usize),
        ) {
            let values: Vec<f64> = values.into_iter().map(|v| f64::from(v) / 8.0).collect();
            let start = ends.0 % values.len();
            let end = (start + ends.1).min(values.len());
            let stretch = &values[start..end];
            let mut ordered = stretch.to_vec();
            ordered.sort_by(f64::total_cmp);
            let median = ordered[ordered.len() / 2];
            let distances: f64 = stretch.iter().map(|v| (v - median).abs()).sum();
            let mean = stretch.iter().sum::<f64>() / stretch.len() as f64;
            let squares: f64 = stretch.iter().map(|v| (v - mean).powi(2)).sum();
            let found = SegmentCost::of(&values, Cost::Distances).unwrap().between(start, end);
            prop_assert!((found - distances).abs() < 1e-10, "{found} {distances}");
            let found = SegmentCost::of(&values, Cost::Squares).unwrap().between(start, end);
            prop_assert!((found - squares).abs() < 1e-10);
        }
    }
}
