//! Sorted values, ranks and ties.

/// The values in ascending order.
pub(super) fn sorted(values: &[f64]) -> Vec<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    // −0 and 0 are one value.
    for value in &mut sorted {
        *value += 0.0;
    }
    sorted
}

/// The sizes of the groups of equal values, of sorted input.
pub(super) fn tie_sizes(sorted: &[f64]) -> Vec<usize> {
    sorted.chunk_by(|a, b| a == b).map(<[f64]>::len).collect()
}

/// Ranks from 1, equal values sharing the mean of theirs, in the order of the input.
pub(super) fn midranks(values: &[f64]) -> Vec<f64> {
    let mut places: Vec<(f64, usize)> = values.iter().map(|value| value + 0.0).zip(0..).collect();
    places.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut ranks = vec![0.0; values.len()];
    let mut n_before = 0_usize;
    for group in places.chunk_by(|a, b| a.0 == b.0) {
        let rank = n_before as f64 + group.len().saturating_add(1) as f64 / 2.0;
        for (_, place) in group {
            if let Some(slot) = ranks.get_mut(*place) {
                *slot = rank;
            }
        }
        n_before = n_before.saturating_add(group.len());
    }
    ranks
}

/// The middle of sorted values: the mean of the two middle ones if their number is even; nothing if there is none.
pub(super) fn middle(sorted: &[f64]) -> Option<f64> {
    let n = sorted.len();
    let upper = *sorted.get(n / 2)?;
    if n % 2 == 1 {
        return Some(upper);
    }
    let lower = *sorted.get((n / 2).checked_sub(1)?)?;
    Some(lower / 2.0 + upper / 2.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_values_share_their_ranks() {
        // By hand: 10 is first; the two 20s share 2 and 3; 30 is fourth.
        assert_eq!(midranks(&[20.0, 10.0, 30.0, 20.0]), [2.5, 1.0, 4.0, 2.5]);
        assert_eq!(midranks(&[0.0, -0.0]), [1.5, 1.5]);
        assert_eq!(tie_sizes(&sorted(&[2.0, 1.0, 2.0, -0.0, 0.0])), [2, 1, 2]);
    }

    #[test]
    fn middle_of_none_is_nothing() {
        assert_eq!(middle(&[]), None);
        assert_eq!(middle(&[1.0]), Some(1.0));
        assert_eq!(middle(&[1.0, 2.0]), Some(1.5));
    }
}
