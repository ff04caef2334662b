//! Pairs that stand in the wrong order, found while merging.
//!
//! D. E. Knuth, *The Art of Computer Programming*, volume 3 (1973), 5.1.1 and 5.2.4: merge sort passes over every
//! inversion once and can count them in O(n log n).

/// The number of pairs i < j with values[i] > values[j] + `margin`, for a margin of at least 0. Consumes the order.
pub(super) fn count_inversions(values: &mut [f64], margin: f64) -> u64 {
    let mut buffer = values.to_vec();
    count_in(values, &mut buffer, margin)
}

fn count_in(values: &mut [f64], buffer: &mut [f64], margin: f64) -> u64 {
    let n = values.len();
    if n < 2 {
        return 0;
    }
    let (left, right) = values.split_at_mut(n / 2);
    let (left_buffer, right_buffer) = buffer.split_at_mut(n / 2);
    let mut count = count_in(left, left_buffer, margin) + count_in(right, right_buffer, margin);
    // Both halves are sorted now: what exceeds the right value by more than the margin is an end of the left half.
    let mut n_kept = 0;
    for low in right.iter() {
        while left.get(n_kept).is_some_and(|high| *high <= low + margin) {
            n_kept += 1;
        }
        count += (left.len() - n_kept) as u64;
    }
    merge(left, right, buffer, |a, b| a <= b);
    values.copy_from_slice(buffer);
    count
}

fn merge<T: Copy>(left: &[T], right: &[T], into: &mut [T], in_order: impl Fn(T, T) -> bool) {
    let (mut lefts, mut rights) = (left.iter().peekable(), right.iter().peekable());
    for slot in into {
        let from_left = match (lefts.peek(), rights.peek()) {
            (Some(a), Some(b)) => in_order(**a, **b),
            (Some(_), None) => true,
            _ => false,
        };
        if let Some(next) = if from_left {
            lefts.next()
        } else {
            rights.next()
        } {
            *slot = *next;
        }
    }
}

/// The number of inversions of a permutation.
pub(super) fn count_permutation_inversions(ranks: &[u32]) -> u64 {
    let mut sink = |_: &[(u32, u32)], _: (u32, u32)| {};
    visit_inversions(ranks, &mut sink)
}

/// Merge-sorts pairs of (rank, place); before each element of a right half is merged, `visit` gets the elements of the
/// left half that exceed it, which are its inversions there. Returns how many inversions there were.
pub(super) fn visit_inversions(
    ranks: &[u32],
    visit: &mut impl FnMut(&[(u32, u32)], (u32, u32)),
) -> u64 {
    let mut values: Vec<(u32, u32)> = ranks.iter().copied().zip(0..).collect();
    let mut buffer = values.clone();
    visit_in(&mut values, &mut buffer, visit)
}

fn visit_in(
    values: &mut [(u32, u32)],
    buffer: &mut [(u32, u32)],
    visit: &mut impl FnMut(&[(u32, u32)], (u32, u32)),
) -> u64 {
    let n = values.len();
    if n < 2 {
        return 0;
    }
    let (left, right) = values.split_at_mut(n / 2);
    let (left_buffer, right_buffer) = buffer.split_at_mut(n / 2);
    let mut count = visit_in(left, left_buffer, visit) + visit_in(right, right_buffer, visit);
    let mut n_kept = 0;
    for low in right.iter() {
        while left.get(n_kept).is_some_and(|high| high.0 <= low.0) {
            n_kept += 1;
        }
        let (_, exceeding) = left.split_at(n_kept);
        count += exceeding.len() as u64;
        if !exceeding.is_empty() {
            visit(exceeding, *low);
        }
    }
    merge(left, right, buffer, |a, b| a.0 <= b.0);
    values.copy_from_slice(buffer);
    count
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn n_by_looking_at_every_pair(values: &[f64], margin: f64) -> u64 {
        let mut n = 0;
        for (i, a) in values.iter().enumerate() {
            n += values[i + 1..].iter().filter(|b| *a > **b + margin).count() as u64;
        }
        n
    }

    proptest! {
        #![proptest_config(ProptestConfig {
            cases: 128,
            failure_persistence: None,
            rng_seed: proptest::test_runner::RngSeed::Fixed(5),
            ..ProptestConfig::default()
        })]

        #[test]
        fn every_pair_is_counted_once(
            values in proptest::collection::vec(-5..5_i32, 0..40),
            margin in 0..3_u8,
        ) {
            let values: Vec<f64> = values.into_iter().map(f64::from).collect();
            let margin = f64::from(margin);
            let expected = n_by_looking_at_every_pair(&values, margin);
            prop_assert_eq!(count_inversions(&mut values.clone(), margin), expected);
        }

        #[test]
        fn every_inversion_is_visited_once(values in proptest::collection::vec(0..50_u32, 0..40)) {
            let mut seen = Vec::new();
            let n = visit_inversions(&values, &mut |left, right| {
                seen.extend(left.iter().map(|high| (high.1, right.1)));
            });
            prop_assert_eq!(n, seen.len() as u64);
            seen.sort_unstable();
            let mut expected = Vec::new();
            for i in 0..values.len() {
                for j in i + 1..values.len() {
                    if values[i] > values[j] {
                        expected.push((i as u32, j as u32));
                    }
                }
            }
            prop_assert_eq!(seen, expected);
        }
    }
}
