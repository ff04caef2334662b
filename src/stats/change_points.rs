//! Changes of level: the best splits, and how many the values support.
//!
//! A. J. Scott and M. Knott, *Biometrics* 30 (1974): binary segmentation. I. E. Auger and C. E. Lawrence, *Bulletin of
//! Mathematical Biology* 51 (1989): the best so many changes. R. Killick, P. Fearnhead, I. A. Eckley, *JASA* 107 (2012): PELT,
//! the best number of changes at a penalty each, found exactly. With [`Cost::Distances`] a value far out weighs little;
//! [`super::robust_changes`] bounds its weight altogether.
//!
//! A change is given by how many values stand before it. Read [`pelt`] first; [`best_changes`] and [`binary_changes`]
//! always give as many changes as they are asked for, whether or not anything changed.

use super::reason::{Reason, require, require_positive};
use super::segment_cost::{Cost, SegmentCost};

/// The best split into two.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BestSplit {
    /// How many values stand before the change.
    pub n_before: usize,
    /// The cost of both parts.
    pub cost_split: f64,
    /// The cost of the whole.
    pub cost_whole: f64,
}

/// The split into two parts, each of at least `min_size` values, that costs least; the first of equally good ones.
///
/// # Errors
/// [`Reason::TooFew`] if two such parts don't fit, [`Reason::OutOfRange`] for a size of 0, [`Reason::NotFinite`],
/// [`Reason::TooLarge`] on overflow.
pub fn best_split(values: &[f64], cost: Cost, min_size: usize) -> Result<BestSplit, Reason> {
    require_parts(values, min_size, 2)?;
    let n = values.len();
    let costs = SegmentCost::of(values, cost)?;
    let (n_before, cost_split) = split_between(&costs, 0, n, min_size).ok_or(Reason::TooFew {
        needed: min_size.saturating_mul(2),
        given: n,
    })?;
    Ok(BestSplit {
        n_before,
        cost_split,
        cost_whole: costs.between(0, n),
    })
}

fn require_parts(values: &[f64], min_size: usize, n_parts: usize) -> Result<(), Reason> {
    if min_size == 0 {
        return Err(Reason::OutOfRange {
            argument: "smallest size of a part",
        });
    }
    require(values, min_size.saturating_mul(n_parts))
}

fn split_between(
    costs: &SegmentCost,
    start: usize,
    end: usize,
    min_size: usize,
) -> Option<(usize, f64)> {
    let last = end.checked_sub(min_size)?;
    let mut best: Option<(usize, f64)> = None;
    for at in start.checked_add(min_size)?..=last {
        let cost = costs.between(start, at) + costs.between(at, end);
        if best.is_none_or(|(_, least)| cost < least) {
            best = Some((at, cost));
        }
    }
    best
}

/// So many changes, each the best split of one of the parts that the earlier ones made: fast, not always the best set.
///
/// # Errors
/// As [`best_split`]; [`Reason::TooFew`] if no part is left that can be split.
pub fn binary_changes(
    values: &[f64],
    cost: Cost,
    min_size: usize,
    n_changes: usize,
) -> Result<Vec<usize>, Reason> {
    require_parts(values, min_size, 1)?;
    let n = values.len();
    let costs = SegmentCost::of(values, cost)?;
    let mut changes: Vec<usize> = Vec::new();
    for _ in 0..n_changes {
        let mut bounds = vec![0];
        bounds.extend(&changes);
        bounds.push(n);
        let mut best: Option<(usize, f64)> = None;
        for part in bounds.windows(2) {
            let [start, end] = part else { continue };
            let Some((at, cost_split)) = split_between(&costs, *start, *end, min_size) else {
                continue;
            };
            let gain = costs.between(*start, *end) - cost_split;
            if best.is_none_or(|(_, most)| gain > most) {
                best = Some((at, gain));
            }
        }
        let (at, _) = best.ok_or(Reason::TooFew {
            needed: min_size.saturating_mul(n_changes.saturating_add(1)),
            given: n,
        })?;
        changes.push(at);
        changes.sort_unstable();
    }
    Ok(changes)
}

/// The set of so many changes that costs least of all, with its cost. Takes the square of the number of values.
///
/// # Errors
/// As [`best_split`]; [`Reason::TooLarge`] beyond 20 000 values.
#[expect(
    clippy::arithmetic_side_effects,
    reason = "so many parts fit the values, as was required above, and an end is at least one part long"
)]
pub fn best_changes(
    values: &[f64],
    cost: Cost,
    min_size: usize,
    n_changes: usize,
) -> Result<(Vec<usize>, f64), Reason> {
    require_parts(values, min_size, n_changes.saturating_add(1))?;
    let n = values.len();
    if n > 20_000 {
        return Err(Reason::TooLarge { argument: "values" });
    }
    let costs = SegmentCost::of(values, cost)?;
    // least[end]: the cost of the best parts up to `end`, of so many as are built yet.
    let mut least: Vec<f64> = (0..=n)
        .map(|end| {
            if end >= min_size {
                costs.between(0, end)
            } else {
                f64::INFINITY
            }
        })
        .collect();
    let mut starts: Vec<Vec<usize>> = Vec::new();
    for n_before in 1..=n_changes {
        let mut next = vec![f64::INFINITY; n + 1];
        let mut start_of = vec![0; n + 1];
        let first_end = min_size * (n_before + 1);
        let slots = next.iter_mut().zip(start_of.iter_mut()).enumerate();
        for (end, (slot, start_slot)) in slots.skip(first_end) {
            for (start, before) in least.iter().enumerate().take(end - min_size + 1) {
                if before.is_finite() {
                    let cost = before + costs.between(start, end);
                    if cost < *slot {
                        (*slot, *start_slot) = (cost, start);
                    }
                }
            }
        }
        least = next;
        starts.push(start_of);
    }
    let total = least.last().copied().unwrap_or(f64::INFINITY);
    let mut changes = Vec::new();
    let mut end = n;
    for start_of in starts.iter().rev() {
        end = start_of.get(end).copied().unwrap_or(0);
        changes.push(end);
    }
    changes.reverse();
    Ok((changes, total))
}

/// The changes that cost least when each change costs `penalty` more, every part having at least `min_size` values.
///
/// For normal noise of standard deviation σ and [`Cost::Squares`], a penalty of 2 σ² ln n is the one of Schwarz's
/// criterion, 3 σ² ln n more cautious. The same holds for [`Cost::RankSquares`] with σ² = (n² − 1) / 12 at most, and for
/// [`Cost::Distances`] with b ln n, where b is the mean distance to the level.
///
/// # Errors
/// [`Reason::TooFew`] below `min_size` values, [`Reason::OutOfRange`] for a size of 0 or a penalty that isn't positive,
/// [`Reason::NotFinite`], [`Reason::TooLarge`] on overflow.
#[expect(
    clippy::arithmetic_side_effects,
    reason = "an end is at least `min_size`, and at most the number of values"
)]
pub fn pelt(
    values: &[f64],
    cost: Cost,
    min_size: usize,
    penalty: f64,
) -> Result<Vec<usize>, Reason> {
    require_parts(values, min_size, 1)?;
    require_positive(penalty, "penalty")?;
    let n = values.len();
    let costs = SegmentCost::of(values, cost)?;
    let mut least = vec![f64::INFINITY; n + 1];
    let mut start_of = vec![0_usize; n + 1];
    if let Some(slot) = least.first_mut() {
        *slot = -penalty;
    }
    // Starts that may still begin the last part, each with the end from which on it can't any more.
    let mut starts: Vec<(usize, usize)> = Vec::new();
    for end in min_size..=n {
        let newest = end - min_size;
        if least.get(newest).is_some_and(|cost| cost.is_finite()) {
            starts.push((newest, usize::MAX));
        }
        let before = |start: usize| least.get(start).copied().unwrap_or(f64::INFINITY);
        let costs_here: Vec<f64> = starts
            .iter()
            .map(|(start, _)| before(*start) + costs.between(*start, end))
            .collect();
        let mut best = (f64::INFINITY, 0);
        for ((start, _), cost) in starts.iter().zip(&costs_here) {
            if cost + penalty < best.0 {
                best = (cost + penalty, *start);
            }
        }
        // A start that is beaten here by a part ending here is beaten wherever a further part can follow.
        for ((_, until), cost) in starts.iter_mut().zip(&costs_here) {
            if *cost > best.0 {
                *until = (*until).min(end.saturating_add(min_size));
            }
        }
        starts.retain(|(_, until)| *until > end + 1);
        if let (Some(slot), Some(start_slot)) = (least.get_mut(end), start_of.get_mut(end)) {
            (*slot, *start_slot) = best;
        }
    }
    let mut changes = Vec::new();
    let mut end = n;
    while let Some(start) = start_of.get(end).copied().filter(|start| *start > 0) {
        changes.push(start);
        end = start;
    }
    changes.reverse();
    Ok(changes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The least penalised cost by trying every set of changes through plain dynamic programming, without pruning.
    fn least_cost(values: &[f64], cost: Cost, min_size: usize, penalty: f64) -> f64 {
        (0..values.len() / min_size)
            .map(|n_changes| {
                let (_, cost) = best_changes(values, cost, min_size, n_changes).unwrap();
                cost + penalty * n_changes as f64
            })
            .fold(f64::INFINITY, f64::min)
    }

    fn cost_of(values: &[f64], cost: Cost, changes: &[usize]) -> f64 {
        let costs = SegmentCost::of(values, cost).unwrap();
        let mut bounds = vec![0];
        bounds.extend(changes);
        bounds.push(values.len());
        bounds
            .windows(2)
            .map(|part| costs.between(part[0], part[1]))
            .sum()
    }

    proptest! {
        #![proptest_config(ProptestConfig {
            cases: 64,
            failure_persistence: None,
            rng_seed: proptest::test_runner::RngSeed::Fixed(5),
            ..ProptestConfig::default()
        })]

        #[test]
        fn pruning_loses_nothing(
            values in proptest::collection::vec(-9..9_i32, 6..40),
            min_size in 1..4_usize,
            penalty in 0.5..60.0_f64,
        ) {
            let values: Vec<f64> = values.into_iter().map(f64::from).collect();
            for cost in [Cost::Squares, Cost::Distances, Cost::RankSquares] {
                let changes = pelt(&values, cost, min_size, penalty).unwrap();
                let found = cost_of(&values, cost, &changes) + penalty * changes.len() as f64;
                let least = least_cost(&values, cost, min_size, penalty);
                prop_assert!((found - least).abs() < 1e-8 * least.max(1.0), "{cost:?} {found} {least}");
                let mut bounds = vec![0];
                bounds.extend(&changes);
                bounds.push(values.len());
                prop_assert!(bounds.windows(2).all(|part| part[1] - part[0] >= min_size));
            }
        }
    }

    #[test]
    fn values_far_out_are_a_change_for_squares_and_not_for_ranks() {
        let mut values: Vec<f64> = (0..60).map(|t| f64::from(t % 3)).collect();
        values[30] = 60.0;
        values[31] = 60.0;
        assert!(!pelt(&values, Cost::Squares, 2, 8.0).unwrap().is_empty());
        assert!(
            pelt(&values, Cost::RankSquares, 2, 2.0 * 300.0 * 4.1)
                .unwrap()
                .is_empty()
        );
    }

    #[test]
    fn bad_input_has_a_reason() {
        for cost in [Cost::Squares, Cost::Distances, Cost::RankSquares] {
            assert!(pelt(&[], cost, 1, 1.0).is_err());
            assert!(pelt(&[1.0], cost, 0, 1.0).is_err());
            assert!(pelt(&[1.0], cost, 1, 0.0).is_err());
            assert_eq!(pelt(&[1.0], cost, 1, 1.0), Ok(Vec::new()));
            assert_eq!(pelt(&[4.0; 50], cost, 2, 1.0), Ok(Vec::new()));
            assert!(pelt(&[1.0, f64::NAN], cost, 1, 1.0).is_err());
            assert!(best_split(&[1.0, 2.0, 3.0], cost, 2).is_err());
            assert!(best_split(&[1.0, 2.0], cost, usize::MAX).is_err());
            assert!(best_changes(&[1.0, 2.0], cost, 1, 2).is_err());
            assert!(binary_changes(&[1.0, 2.0], cost, 1, 2).is_err());
        }
        assert!(pelt(&[f64::MAX, f64::MIN], Cost::Squares, 1, 1.0).is_err());
    }

    #[test]
    fn changes_of_a_short_series_are_those_worked_out_by_hand() {
        // Squares about the means: 0, 0, 0 | 6, 6, 6 | 1, 1, 1.
        let values = [0.0, 0.0, 0.0, 6.0, 6.0, 6.0, 1.0, 1.0, 1.0];
        // In two: 3 and 6 after it, of mean 3.5 and squares 37.5; or 6 of mean 3 and squares 54, and 3.
        let split = best_split(&values, Cost::Squares, 1).unwrap();
        assert_eq!(split.n_before, 3);
        assert!((split.cost_split - 37.5).abs() < 1e-12);
        // The whole: mean 7/3, squares 108 + 3 − 9 · 49/9.
        assert!((split.cost_whole - 62.0).abs() < 1e-12);
        assert_eq!(
            best_changes(&values, Cost::Squares, 1, 2),
            Ok((vec![3, 6], 0.0))
        );
        assert_eq!(
            best_changes(&values, Cost::Squares, 3, 2),
            Ok((vec![3, 6], 0.0))
        );
        assert_eq!(binary_changes(&values, Cost::Squares, 1, 2), Ok(vec![3, 6]));
        // Two changes cost 2 penalties, one a penalty and 37.5, none 62.
        for (penalty, changes) in [
            (37.0, vec![]),
            (30.0, vec![3, 6]),
            (1.0, vec![3, 6]),
            (0.001, vec![3, 6]),
        ] {
            assert_eq!(pelt(&values, Cost::Squares, 1, penalty), Ok(changes));
        }
        assert_eq!(pelt(&values, Cost::Squares, 3, 1.0), Ok(vec![3, 6]));
        // Parts of four at least: after 4 or 5, with squares 27 + 30 or 43.2 + 18.75.
        let split = best_split(&values, Cost::Squares, 4).unwrap();
        assert_eq!(split.n_before, 4);
        assert_eq!(pelt(&values, Cost::Squares, 5, 0.001), Ok(vec![]));
    }

    #[test]
    fn first_of_equally_good_splits_is_taken_and_the_gain_decides_on_halving() {
        // After 1 or after 2 the rest costs 0.5.
        let split = best_split(&[0.0, 1.0, 0.0], Cost::Squares, 1).unwrap();
        assert_eq!(split.n_before, 1);
        // The step of 9 is larger than that of 2; then the part with the step of 2 gains more than the level one.
        let values = [0.0, 0.0, 2.0, 2.0, 11.0, 11.0, 11.0];
        assert_eq!(binary_changes(&values, Cost::Squares, 1, 1), Ok(vec![4]));
        assert_eq!(binary_changes(&values, Cost::Squares, 1, 2), Ok(vec![2, 4]));
        assert_eq!(
            binary_changes(&values, Cost::Squares, 4, 1),
            Err(Reason::TooFew {
                needed: 8,
                given: 7
            })
        );
    }

    #[test]
    fn best_set_is_sought_among_twenty_thousand_values_at_most() {
        let values = vec![0.0; 20_001];
        assert_eq!(
            best_changes(&values, Cost::Squares, 1, 0),
            Err(Reason::TooLarge { argument: "values" })
        );
        let (changes, cost) = best_changes(&values[1..], Cost::Squares, 1, 0).unwrap();
        assert_eq!((changes, cost), (vec![], 0.0));
    }
}
