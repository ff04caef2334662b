//! Pairs that stand in the wrong order, found while merging.
//!
//! D. E. Knuth, *The Art of Computer Programming*, volume 3 (1973), 5.1.1 and 5.2.4: merge sort passes over every
//! inversion once and can count them in O(n log n).

/// Up to so many values, every pair is looked at.
const FEW: usize = 16;

/// The number of pairs i < j with values[i] > values[j] + `margin`, for a margin of at least 0. Consumes the order.
pub(super) fn count_inversions(values: &mut [f64], margin: f64) -> u64 {
    let mut buffer = values.to_vec();
    count_in(values, &mut buffer, &|high, low| high > low + margin)
}

/// The number of inversions of a permutation.
pub(super) fn count_permutation_inversions(ranks: &[u32]) -> u64 {
    let (mut values, mut buffer) = (ranks.to_vec(), ranks.to_vec());
    count_in(&mut values, &mut buffer, &|high, low| high > low)
}

/// Sorts, and counts the pairs of which the one that stands before exceeds the other.
#[expect(
    clippy::arithmetic_side_effects,
    reason = "pairs of values in memory: of n values less than n^2 / 2, and n is below 2^32"
)]
fn count_in<T: Copy + PartialOrd>(
    values: &mut [T],
    buffer: &mut [T],
    exceeds: &impl Fn(T, T) -> bool,
) -> u64 {
    let n = values.len();
    if n <= FEW {
        return count_few(values, exceeds);
    }
    let (left, right) = values.split_at_mut(n / 2);
    let (left_buffer, right_buffer) = buffer.split_at_mut(n / 2);
    let mut count = count_in(left, left_buffer, exceeds) + count_in(right, right_buffer, exceeds);
    // Both halves are sorted now: what exceeds a value of the right half is an end of the left half.
    let mut exceeding: &[T] = left;
    for low in right.iter() {
        while let [first, rest @ ..] = exceeding
            && !exceeds(*first, *low)
        {
            exceeding = rest;
        }
        count += exceeding.len() as u64;
    }
    merge(left, right, buffer, |a, b| a <= b);
    values.copy_from_slice(buffer);
    count
}

#[expect(
    clippy::arithmetic_side_effects,
    reason = "a few values have few pairs, and no more stand before a value than its place says"
)]
fn count_few<T: Copy + PartialOrd>(values: &mut [T], exceeds: &impl Fn(T, T) -> bool) -> u64 {
    let mut count = 0_u32;
    for at in 1..values.len() {
        let (before, from) = values.split_at_mut(at);
        let Some(own) = from.first().copied() else {
            break;
        };
        // Those before it are sorted already, which changes nothing in how many of them exceed it.
        count += before
            .iter()
            .map(|other| u32::from(exceeds(*other, own)))
            .sum::<u32>();
        let place = before
            .iter()
            .rev()
            .take_while(|other| **other > own)
            .count();
        if let Some(moved) = values.get_mut(at - place..=at) {
            moved.rotate_right(1);
        }
    }
    u64::from(count)
}

fn merge<T: Copy>(left: &[T], right: &[T], into: &mut [T], in_order: impl Fn(T, T) -> bool) {
    let (mut left, mut right) = (left, right);
    for slot in into {
        *slot = match (left, right) {
            ([a, rest @ ..], []) => {
                left = rest;
                *a
            }
            ([a, rest @ ..], [b, ..]) if in_order(*a, *b) => {
                left = rest;
                *a
            }
            (_, [b, rest @ ..]) => {
                right = rest;
                *b
            }
            ([], []) => return,
        };
    }
}

/// Merge-sorts pairs of (rank, place); before each element of a right half is merged, `visit` gets the elements of the
/// left half that exceed it, which are its inversions there.
pub(super) fn visit_inversions(ranks: &[u32], visit: &mut impl FnMut(&[(u32, u32)], (u32, u32))) {
    let mut values: Vec<(u32, u32)> = ranks.iter().copied().zip(0..).collect();
    let mut buffer = values.clone();
    visit_in(&mut values, &mut buffer, visit);
}

fn visit_in(
    values: &mut [(u32, u32)],
    buffer: &mut [(u32, u32)],
    visit: &mut impl FnMut(&[(u32, u32)], (u32, u32)),
) {
    match values {
        [] | [_] => return,
        [left, right] => {
            if left.0 > right.0 {
                visit(std::slice::from_ref(left), *right);
                std::mem::swap(left, right);
            }
            return;
        }
        _ => {}
    }
    let n = values.len();
    let (left, right) = values.split_at_mut(n / 2);
    let (left_buffer, right_buffer) = buffer.split_at_mut(n / 2);
    visit_in(left, left_buffer, visit);
    visit_in(right, right_buffer, visit);
    let mut exceeding: &[(u32, u32)] = left;
    for low in right.iter() {
        while let [first, rest @ ..] = exceeding
            && first.0 <= low.0
        {
            exceeding = rest;
        }
        if exceeding.is_empty() {
            break;
        }
        visit(exceeding, *low);
    }
    merge(left, right, buffer, |a, b| a.0 <= b.0);
    values.copy_from_slice(buffer);
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
            values in proptest::collection::vec(-5..5_i32, 0..90),
            margin in 0..3_u8,
        ) {
            let values: Vec<f64> = values.into_iter().map(f64::from).collect();
            let margin = f64::from(margin);
            let expected = n_by_looking_at_every_pair(&values, margin);
            prop_assert_eq!(count_inversions(&mut values.clone(), margin), expected);
        }

        #[test]
        fn every_inversion_is_visited_once(values in proptest::collection::vec(0..50_u32, 0..90)) {
            let mut seen = Vec::new();
            visit_inversions(&values, &mut |left, right| {
                seen.extend(left.iter().map(|high| (high.1, right.1)));
            });
            prop_assert_eq!(count_permutation_inversions(&values), seen.len() as u64);
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
