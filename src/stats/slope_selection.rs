//! The slopes of all pairs of points in order of size, without making them all.
//!
//! M. B. Dillencourt, D. M. Mount, N. S. Netanyahu, "A randomized algorithm for slope selection", *Int. J. of Computational
//! Geometry & Applications* 2 (1992); J. Matoušek, *Information Processing Letters* 39 (1991). For a slope v, sort the
//! points by y − v t: each pair whose slope is below v stands in the opposite order to that of time. So slopes between two
//! values are the inversions between two orders, which merge sort counts, and samples without bias, in O(n log n); a few
//! rounds narrow the range to O(n) slopes, which are then sorted. The sampling has a fixed seed and decides only the
//! time taken: the slope returned is that of a pair of points, and its rank is right to the rounding of y − v t.

use super::chance::Chance;
use super::inversions::{count_inversions, count_permutation_inversions, visit_inversions};

/// Up to so many points, every slope is made.
const FEW: usize = 64;

/// How many slopes are drawn in one round at most.
const MOST_DRAWN: u64 = 4096;

/// Rounds before the search takes what is left as equal; 3 or 4 are used.
const MOST_ROUNDS: usize = 64;

/// Points in order of time, ready to be asked for slopes of a rank.
pub(super) struct Slopes {
    /// (t, y), ascending in t, and in y where t is equal.
    points: Vec<(f64, f64)>,
    n_slopes: u64,
    /// All slopes in order, where there are few.
    every: Option<Vec<f64>>,
    scale: (f64, f64),
    /// The places of the points, the latest first; those of one time in order.
    latest_first: Vec<u32>,
}

/// What a search ends with.
enum Found {
    /// The slope.
    One(f64),
    /// The slopes of a range, in no order, and how many of them are before the one that was searched for.
    Among(Vec<f64>, usize),
}

impl Slopes {
    /// From finite times and values of equal length, at most 2³² − 1 of them.
    #[expect(
        clippy::arithmetic_side_effects,
        reason = "n (n - 1) of at most 2^32 - 1 points is below 2^64, and the pairs of one time are among all"
    )]
    pub(super) fn of(times: &[f64], values: &[f64]) -> Self {
        let mut points: Vec<(f64, f64)> =
            times.iter().copied().zip(values.iter().copied()).collect();
        points.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let pairs = |n: usize| (n as u64) * (n as u64).saturating_sub(1) / 2;
        let n_tied: u64 = points
            .chunk_by(|a, b| a.0 == b.0)
            .map(|group| pairs(group.len()))
            .sum();
        let n_slopes = pairs(points.len()) - n_tied;
        let every = (points.len() <= FEW).then(|| {
            let mut slopes = Vec::new();
            let mut rest = points.as_slice();
            while let [first, later @ ..] = rest {
                slopes.extend(later.iter().filter_map(|second| slope(*first, *second)));
                rest = later;
            }
            slopes.sort_by(f64::total_cmp);
            slopes
        });
        let largest = |part: fn(&(f64, f64)) -> f64| {
            points
                .iter()
                .map(|point| part(point).abs())
                .fold(0.0, f64::max)
        };
        let scale = (largest(|point| point.0), largest(|point| point.1));
        let mut latest_first: Vec<u32> = (0..).take(points.len()).collect();
        let time = |place: &u32| points.get(*place as usize).map_or(0.0, |point| point.0);
        latest_first.sort_by(|a, b| time(b).total_cmp(&time(a)));
        Slopes {
            points,
            n_slopes,
            every,
            scale,
            latest_first,
        }
    }

    /// How many pairs have different times.
    pub(super) fn n_slopes(&self) -> u64 {
        self.n_slopes
    }

    /// How many slopes are below zero.
    pub(super) fn n_below_zero(&self) -> u64 {
        self.count_below(0.0, 0.0).0
    }

    /// How many slopes are above zero.
    pub(super) fn n_above_zero(&self) -> u64 {
        self.count_above(0.0, 0.0)
    }

    /// The slope with `rank` slopes before it; nothing if there are not so many.
    pub(super) fn at(&self, rank: u64) -> Option<f64> {
        if rank >= self.n_slopes {
            return None;
        }
        match &self.every {
            Some(every) => every.get(usize::try_from(rank).ok()?).copied(),
            None => match self.search(rank)? {
                Found::One(slope) => Some(slope),
                Found::Among(slopes, place) => pick(slopes, place).map(|(slope, _)| slope),
            },
        }
    }

    /// The slope with `rank` slopes before it, and the one before that: one search finds both, unless a range ends there.
    pub(super) fn pair_up_to(&self, rank: u64) -> Option<(f64, f64)> {
        let before = rank.checked_sub(1)?;
        if self.every.is_none()
            && rank < self.n_slopes
            && let Found::Among(slopes, place) = self.search(rank)?
        {
            let (slope, lower) = pick(slopes, place)?;
            let largest_lower = lower.into_iter().max_by(f64::total_cmp);
            return Some((largest_lower.or_else(|| self.at(before))?, slope));
        }
        Some((self.at(before)?, self.at(rank)?))
    }

    #[expect(
        clippy::arithmetic_side_effects,
        reason = "four times at most 2^32 - 1 points, and one draw at least"
    )]
    fn search(&self, rank: u64) -> Option<Found> {
        let mut chance = Chance::of(rank);
        let (mut low, mut high) = (None, None);
        // Below every slope the order is that of time, above every slope the opposite.
        let mut low_order: Vec<u32> = (0..).take(self.points.len()).collect();
        let mut n_before = 0;
        let mut place_in_high = places_in(&self.latest_first);
        let few = 4 * self.points.len() as u64;
        for _ in 0..MOST_ROUNDS {
            let ranks: Vec<u32> = low_order
                .iter()
                .filter_map(|point| place_in_high.get(*point as usize).copied())
                .collect();
            let n_between = match (low, high) {
                (None, None) => self.n_slopes,
                _ => count_permutation_inversions(&ranks),
            };
            let in_range = rank.saturating_sub(n_before);
            if n_between == 0 || rank < n_before || in_range >= n_between {
                let slope = match (low, high) {
                    (Some(slope), _) if rank < n_before || n_between == 0 => slope,
                    (_, Some(slope)) | (Some(slope), _) => slope,
                    (None, None) => return None,
                };
                return Some(Found::One(slope));
            }
            if n_between <= few {
                let slopes = self.every_between(&ranks, &low_order);
                return Some(Found::Among(slopes, usize::try_from(in_range).ok()?));
            }
            let n_drawn = few.min(MOST_DRAWN);
            let mut drawn = self.draw_between(&ranks, &low_order, n_between, n_drawn, &mut chance);
            drawn.sort_unstable_by(f64::total_cmp);
            let centre = in_range as f64 / n_between as f64 * n_drawn as f64;
            let margin = 1.5 * (n_drawn as f64).sqrt();
            let mut new_low = None;
            for place in [centre - margin, centre + margin] {
                let place = place.clamp(0.0, (n_drawn - 1) as f64) as usize;
                let pivot = *drawn.get(place)?;
                match self.compare(rank, pivot) {
                    std::cmp::Ordering::Equal => return Some(Found::One(pivot)),
                    std::cmp::Ordering::Less => {
                        high = Some(pivot);
                        place_in_high = places_in(&self.order(pivot, Side::Below));
                        break;
                    }
                    std::cmp::Ordering::Greater => new_low = Some(pivot),
                }
            }
            if let Some(pivot) = new_low {
                low = new_low;
                low_order = self.order(pivot, Side::AtMost);
                // The points are in order of time, so the inversions of the lower order are the slopes up to the lower
                // end.
                n_before = count_permutation_inversions(&low_order);
            }
        }
        low.or(high).map(Found::One)
    }

    /// Where the slope of a rank stands against `v`; equal if, to the rounding of y − v t, some slope equal to `v` has
    /// that rank.
    #[expect(
        clippy::arithmetic_side_effects,
        reason = "no more than all slopes are taken off, and pairs of at most 2^32 - 1 points are below 2^63"
    )]
    fn compare(&self, rank: u64, v: f64) -> std::cmp::Ordering {
        let margin = 4.0 * f64::EPSILON * (self.scale.1 + v.abs() * self.scale.0);
        let (n_below, heights) = self.count_below(v, margin);
        if rank < n_below {
            return std::cmp::Ordering::Less;
        }
        // Few pairs are neither below nor above: where they can't make up for the difference, those above need no counting.
        let few = self.points.len() as u64;
        let n_level = count_level(&heights, 2.0 * margin, few);
        if n_level.is_some_and(|n_level| rank >= n_below + n_level) {
            return std::cmp::Ordering::Greater;
        }
        let n_above = self.count_above(v, margin);
        if rank >= self.n_slopes - n_above.min(self.n_slopes) {
            std::cmp::Ordering::Greater
        } else {
            std::cmp::Ordering::Equal
        }
    }

    /// How many slopes are below `v`, of pairs whose y − v t differ by more than the margin; and these heights in order.
    fn count_below(&self, v: f64, margin: f64) -> (u64, Vec<f64>) {
        let mut heights: Vec<f64> = self.points.iter().map(|(t, y)| y - v * t).collect();
        (count_inversions(&mut heights, margin), heights)
    }

    /// How many are above it: counted the other way round, points of one time turned so that they don't count.
    fn count_above(&self, v: f64, margin: f64) -> u64 {
        let mut heights: Vec<f64> = self
            .points
            .chunk_by(|a, b| a.0 == b.0)
            .flat_map(|group| group.iter().rev())
            .map(|(t, y)| v * t - y)
            .collect();
        count_inversions(&mut heights, margin)
    }

    /// The points sorted by y − v t for an end of the range. A pair whose slope is the end itself belongs outside the range
    /// on either side: points of one height stand as they would above the end, or as they would below it.
    fn order(&self, v: f64, side: Side) -> Vec<u32> {
        let sort_key = |place: u32, tie: u32| {
            let (t, y) = self.points.get(place as usize).copied().unwrap_or_default();
            // Height, tie and place in one number, which sorts several times faster than three.
            (u128::from(ascending_bits(y - v * t)) << 64)
                | (u128::from(tie) << 32)
                | u128::from(place)
        };
        let mut keys: Vec<u128> = match side {
            Side::AtMost => self
                .latest_first
                .iter()
                .zip(0..)
                .map(|(place, tie)| sort_key(*place, tie))
                .collect(),
            Side::Below => (0..)
                .take(self.points.len())
                .map(|place| sort_key(place, place))
                .collect(),
        };
        keys.sort_unstable();
        keys.into_iter().map(|key| key as u32).collect()
    }

    fn slope_of(&self, order: &[u32], one: u32, other: u32) -> Option<f64> {
        let point = |place: u32| {
            let index = *order.get(place as usize)?;
            self.points.get(index as usize).copied()
        };
        slope(point(one)?, point(other)?)
    }

    fn every_between(&self, ranks: &[u32], low_order: &[u32]) -> Vec<f64> {
        let mut slopes = Vec::new();
        visit_inversions(ranks, &mut |exceeding, (_, place)| {
            slopes.extend(
                exceeding
                    .iter()
                    .filter_map(|(_, other)| self.slope_of(low_order, *other, place)),
            );
        });
        slopes
    }

    /// So many slopes of the range, each drawn with equal chance, with replacement.
    #[expect(
        clippy::arithmetic_side_effects,
        reason = "what is counted are pairs of at most 2^32 - 1 points, and a target is not before those counted"
    )]
    fn draw_between(
        &self,
        ranks: &[u32],
        low_order: &[u32],
        n_between: u64,
        n_drawn: u64,
        chance: &mut Chance,
    ) -> Vec<f64> {
        let mut targets: Vec<u64> = (0..n_drawn).map(|_| chance.below(n_between)).collect();
        targets.sort_unstable();
        let mut next = targets.into_iter().peekable();
        let mut n_before = 0_u64;
        let mut slopes = Vec::new();
        visit_inversions(ranks, &mut |exceeding, (_, place)| {
            let n_here = exceeding.len() as u64;
            while let Some(target) = next.next_if(|target| *target < n_before + n_here) {
                let other = exceeding.get((target - n_before) as usize);
                slopes.extend(other.and_then(|(_, other)| self.slope_of(low_order, *other, place)));
            }
            n_before += n_here;
        });
        slopes
    }
}

/// How many pairs of values, which are in order, lie no further apart than a margin; nothing if more than so many do.
#[expect(
    clippy::arithmetic_side_effects,
    reason = "no more than what was asked for was counted before a value, and no more than all others are level with it"
)]
fn count_level(ordered: &[f64], margin: f64, most: u64) -> Option<u64> {
    let mut n = 0;
    let mut rest = ordered;
    while let [first, after @ ..] = rest {
        n += after
            .iter()
            .take_while(|value| *value - first <= margin)
            .count() as u64;
        if n > most {
            return None;
        }
        rest = after;
    }
    Some(n)
}

/// Which slopes an order counts as passed: those up to the end, or those below it.
#[derive(Clone, Copy)]
enum Side {
    AtMost,
    Below,
}

/// Of slopes in no order, the one with so many before it, and those.
fn pick(mut slopes: Vec<f64>, place: usize) -> Option<(f64, Vec<f64>)> {
    if place >= slopes.len() {
        return None;
    }
    let slope = *slopes.select_nth_unstable_by(place, f64::total_cmp).1;
    slopes.truncate(place);
    Some((slope, slopes))
}

/// The place of each point in an order.
fn places_in(order: &[u32]) -> Vec<u32> {
    let mut places = vec![0; order.len()];
    for (place, point) in (0..).zip(order) {
        if let Some(slot) = places.get_mut(*point as usize) {
            *slot = place;
        }
    }
    places
}

/// Bits that sort as whole numbers as [`f64::total_cmp`] sorts the values.
fn ascending_bits(value: f64) -> u64 {
    let bits = value.to_bits();
    match bits >> 63 {
        0 => bits | 1 << 63,
        _ => !bits,
    }
}

/// The slope of two points; nothing if their times are equal.
fn slope(one: (f64, f64), other: (f64, f64)) -> Option<f64> {
    let step = other.0 - one.0;
    (step != 0.0).then(|| (other.1 - one.1) / step)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn every_slope(times: &[f64], values: &[f64]) -> Vec<f64> {
        let mut slopes = Vec::new();
        for i in 0..times.len() {
            for j in i + 1..times.len() {
                if times[i] != times[j] {
                    slopes.push((values[j] - values[i]) / (times[j] - times[i]));
                }
            }
        }
        slopes.sort_by(f64::total_cmp);
        slopes
    }

    #[test]
    fn level_pairs_are_counted_each_once() {
        let ordered = [1.0, 1.0, 1.5, 3.0, 3.5, 3.6];
        for (margin, n) in [(0.0, 1), (0.1, 1), (0.2, 2), (0.5, 5), (0.7, 6), (9.0, 15)] {
            assert_eq!(count_level(&ordered, margin, 15), Some(n), "{margin}");
            let fewer = count_level(&ordered, margin, n - 1);
            assert_eq!(fewer, None, "{margin}");
        }
        assert_eq!(count_level(&[], 1.0, 0), Some(0));
    }

    fn check_ranks(times: &[f64], values: &[f64], tolerance: f64) {
        let expected = every_slope(times, values);
        let slopes = Slopes::of(times, values);
        assert_eq!(slopes.n_slopes(), expected.len() as u64);
        let n = expected.len();
        for rank in [0, n / 40, n / 3, n / 2, n - n / 5, n.saturating_sub(1)] {
            let found = slopes.at(rank as u64);
            match expected.get(rank) {
                Some(slope) => {
                    let found = found.unwrap();
                    assert!(
                        (found - slope).abs() <= tolerance * slope.abs().max(1.0),
                        "rank {rank} of {n}: {found} for {slope}"
                    );
                }
                None => assert_eq!(found, None),
            }
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig {
            cases: 96,
            failure_persistence: None,
            rng_seed: proptest::test_runner::RngSeed::Fixed(5),
            ..ProptestConfig::default()
        })]

        #[test]
        fn every_rank_is_that_of_all_slopes_sorted(
            values in proptest::collection::vec(-1e3..1e3_f64, 2..200),
        ) {
            let times: Vec<f64> = (0..values.len()).map(|t| t as f64).collect();
            check_ranks(&times, &values, 1e-11);
        }

        #[test]
        fn whole_minutes_and_shared_times_are_ranked(
            points in proptest::collection::vec((0..60_u32, 0..5_u32), 2..200),
        ) {
            // Thirds can't be written in binary, so equal slopes differ by rounding.
            let times: Vec<f64> = points.iter().map(|(t, _)| f64::from(*t) / 3.0).collect();
            let values: Vec<f64> = points.iter().map(|(_, y)| f64::from(*y) / 10.0).collect();
            check_ranks(&times, &values, 1e-11);
        }
    }

    #[test]
    fn many_points_with_ties_are_ranked_after_several_rounds() {
        let mut chance = Chance::of(9);
        let times: Vec<f64> = (0..900).map(|t| f64::from(t) * 1.1).collect();
        let smooth: Vec<f64> = times.iter().map(|t| t / 7.0 + chance.share()).collect();
        check_ranks(&times, &smooth, 1e-11);
        let minutes: Vec<f64> = times.iter().map(|_| chance.below(4) as f64).collect();
        check_ranks(&times, &minutes, 1e-11);
    }

    #[test]
    fn points_of_one_time_have_no_slope() {
        let slopes = Slopes::of(&[1.0; 40], &[2.0; 40]);
        assert_eq!((slopes.n_slopes(), slopes.at(0)), (0, None));
    }

    #[test]
    fn one_straight_line_has_one_slope() {
        let times: Vec<f64> = (0..3000).map(f64::from).collect();
        let values: Vec<f64> = times.iter().map(|t| 0.1 * t).collect();
        let slopes = Slopes::of(&times, &values);
        let median = slopes.at(slopes.n_slopes() / 2).unwrap();
        assert!((median - 0.1).abs() < 1e-12);
    }

    #[test]
    fn slope_and_the_one_before_it_are_found_together() {
        let mut chance = Chance::of(4);
        for n in [2_u32, 9, 40, 64, 65, 66, 150, 400] {
            let times: Vec<f64> = (0..n).map(f64::from).collect();
            for n_values in [3, 1_000_000] {
                let values: Vec<f64> = times
                    .iter()
                    .map(|_| chance.below(n_values) as f64)
                    .collect();
                let expected = every_slope(&times, &values);
                let slopes = Slopes::of(&times, &values);
                let last = expected.len() - 1;
                for rank in [1, 2, last / 3, last / 2, last.saturating_sub(1), last] {
                    let Some(before) = rank.checked_sub(1).filter(|_| rank <= last) else {
                        continue;
                    };
                    let (lower, upper) = slopes.pair_up_to(rank as u64).unwrap();
                    assert!((lower - expected[before]).abs() < 1e-9, "{n} {rank}");
                    assert!((upper - expected[rank]).abs() < 1e-9, "{n} {rank}");
                }
                assert_eq!(slopes.pair_up_to(0), None);
                assert_eq!(slopes.pair_up_to(last as u64 + 1), None);
                assert_eq!(slopes.at(last as u64 + 1), None);
            }
        }
    }

    #[test]
    fn values_sort_by_their_bits_as_by_their_size() {
        let ascending = [
            f64::NEG_INFINITY,
            -2.0,
            -1.0,
            -5e-324,
            -0.0,
            0.0,
            5e-324,
            1.0,
            2.0,
            f64::INFINITY,
        ];
        assert!(ascending.map(ascending_bits).is_sorted_by(|a, b| a < b));
        assert_eq!(
            pick(vec![5.0, 1.0, 4.0], 1).map(|(slope, _)| slope),
            Some(4.0)
        );
        assert_eq!(pick(vec![5.0, 1.0, 4.0], 3), None);
        assert_eq!(places_in(&[2, 0, 1]), [1, 2, 0]);
    }
}
