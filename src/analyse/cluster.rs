//! Events that come together: a scan over the order of cycles, so that busy days don't count.
//!
//! Every window from one event to a later one is compared with the rest by the likelihood ratio of two rates
//! (Kulldorff, Communications in Statistics - Theory and Methods 26, 1997, 1481-1496, Bernoulli model); the p is the
//! share of random orders of the same events whose best window is at least as extreme, stopped early where it is plainly
//! large (Besag and Clifford, Biometrika 78, 1991, 301-304). The random orders come from a fixed seed. Knows no
//! sterilizers. Read [`find_cluster`] first.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// The fewest events that a cluster is looked for among.
const FEWEST_EVENTS: usize = 3;
/// The most events of a window: more is no cluster but a level.
const MOST_IN_WINDOW: usize = 40;
/// Random orders at most.
const MOST_ORDERS: usize = 4_999;
/// Windows compared at most, so that a long history takes no longer than a short one.
const MOST_STEPS: usize = 40_000_000;
/// As many random orders at least as extreme are enough to see that the p is large.
const ENOUGH_EXTREME: usize = 25;

/// The most extreme window.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cluster {
    /// The probability of a window at least as extreme by chance alone.
    pub p: f64,
    /// The first cycle of the window, counted from 0.
    pub first: usize,
    /// The last cycle of the window.
    pub last: usize,
    /// Events in it.
    pub n_events: usize,
    /// Cycles in it.
    pub n_cycles: usize,
}

/// Finds the most extreme window; `None` where there are too few events to ask, or nothing but events.
#[expect(
    clippy::arithmetic_side_effects,
    reason = "orders are counted to MOST_ORDERS, there are events to divide by, and the last of a window stands behind its first"
)]
pub fn find_cluster(happened: &[bool]) -> Option<Cluster> {
    let n = happened.len();
    let events: Vec<usize> = (0..n)
        .filter(|at| happened.get(*at) == Some(&true))
        .collect();
    if events.len() < FEWEST_EVENTS || events.len() >= n {
        return None;
    }
    let (seen, from, to) = best_window(&events, n);
    let (first, last) = (*events.get(from)?, *events.get(to)?);
    let mut orders = Orders::new(n, events.len());
    let (mut n_extreme, mut n_orders) = (0, 0);
    let n_orders_at_most = (MOST_STEPS / (events.len() * MOST_IN_WINDOW)).clamp(199, MOST_ORDERS);
    let extreme = Extreme::of(seen - 1e-9, events.len(), n);
    while n_orders < n_orders_at_most && n_extreme < ENOUGH_EXTREME {
        n_orders += 1;
        if extreme.is_reached(orders.next()) {
            n_extreme += 1;
        }
    }
    let p = if n_extreme >= ENOUGH_EXTREME {
        n_extreme as f64 / n_orders as f64
    } else {
        (n_extreme + 1) as f64 / (n_orders + 1) as f64
    };
    Some(Cluster {
        p,
        first,
        last,
        n_events: to - from + 1,
        n_cycles: last - first + 1,
    })
}

/// The largest likelihood ratio of a window, and its first and last event.
#[expect(
    clippy::arithmetic_side_effects,
    reason = "events are in order, each a place below n, so that differences are not negative and counts are at most n"
)]
fn best_window(events: &[usize], n: usize) -> (f64, usize, usize) {
    let mut best = (0.0, 0, 0);
    for (from, first) in events.iter().enumerate() {
        for (to, last) in events
            .iter()
            .enumerate()
            .skip(from + 1)
            .take(MOST_IN_WINDOW)
        {
            let inside = (to - from + 1) as f64;
            // A window begins and ends with an event; the cycles up to its neighbours are not in it.
            let ratio = likelihood_ratio(
                inside,
                (last - first + 1) as f64,
                events.len() as f64,
                n as f64,
            );
            if ratio > best.0 {
                best = (ratio, from, to);
            }
        }
    }
    best
}

/// Which windows are at least as extreme as a given ratio.
///
/// The ratio of a window with so many events falls as the window grows, to 0 where its rate is no longer the higher; so
/// one greatest length for each number of events says the same as the ratio of every window, without a logarithm for
/// each.
struct Extreme {
    /// Whether the ratio is one that even no window at all reaches.
    always: bool,
    /// The greatest length with two events, with three and so on; 0 where none is extreme.
    longest: Vec<usize>,
}

impl Extreme {
    #[expect(
        clippy::arithmetic_side_effects,
        reason = "a window has two events at least, and at most n cycles"
    )]
    fn of(ratio: f64, n_events: usize, n: usize) -> Self {
        let most = n_events.min(MOST_IN_WINDOW + 1);
        let longest = (2..=most)
            .map(|inside| {
                let reaches = |window: usize| {
                    likelihood_ratio(inside as f64, window as f64, n_events as f64, n as f64)
                        >= ratio
                };
                // The events of a window are cycles of it.
                let (mut reached, mut beyond) = (inside - 1, n + 1);
                while beyond - reached > 1 {
                    let middle = usize::midpoint(reached, beyond);
                    if reaches(middle) {
                        reached = middle;
                    } else {
                        beyond = middle;
                    }
                }
                if reached < inside { 0 } else { reached }
            })
            .collect();
        Extreme {
            always: ratio <= 0.0,
            longest,
        }
    }

    /// Whether any window of these events is one of them.
    #[expect(
        clippy::arithmetic_side_effects,
        reason = "events are in order, so that a later one less an earlier one is not negative"
    )]
    fn is_reached(&self, events: &[usize]) -> bool {
        self.always
            || events.iter().enumerate().any(|(from, first)| {
                events
                    .iter()
                    .skip(from + 1)
                    .zip(&self.longest)
                    .any(|(last, longest)| last - first < *longest)
            })
    }
}

/// The logarithm of the likelihood ratio of two rates against one, 0 where the window's rate is not the higher.
fn likelihood_ratio(inside: f64, window: f64, events: f64, n: f64) -> f64 {
    if inside / window <= events / n {
        return 0.0;
    }
    let log_likelihood = |k: f64, m: f64| {
        let term = |x: f64| if x > 0.0 { x * (x / m).ln() } else { 0.0 };
        if m > 0.0 { term(k) + term(m - k) } else { 0.0 }
    };
    log_likelihood(inside, window) + log_likelihood(events - inside, n - window)
        - log_likelihood(events, n)
}

/// Random orders of so many events among so many cycles.
struct Orders {
    chance: ChaCha8Rng,
    n: usize,
    n_events: usize,
    taken: Vec<bool>,
    events: Vec<usize>,
}

impl Orders {
    fn new(n: usize, n_events: usize) -> Self {
        let mut key = *b"................loadbook cluster";
        for (place, byte) in key.iter_mut().zip(
            (n as u64)
                .to_le_bytes()
                .into_iter()
                .chain((n_events as u64).to_le_bytes()),
        ) {
            *place = byte;
        }
        Orders {
            chance: ChaCha8Rng::from_seed(key),
            n,
            n_events,
            taken: vec![false; n],
            events: Vec::new(),
        }
    }

    /// The places of the events in the next order, sorted (Floyd's sampling: Bentley and Floyd, Communications of the ACM
    /// 30, 1987, 754-757).
    #[expect(
        clippy::arithmetic_side_effects,
        reason = "there are fewer events than cycles, and 2^64 times a count of 2^64 fits 128 bits"
    )]
    fn next(&mut self) -> &[usize] {
        for event in self.events.drain(..) {
            if let Some(taken) = self.taken.get_mut(event) {
                *taken = false;
            }
        }
        for top in self.n - self.n_events..self.n {
            let pick = ((u128::from(self.chance.next_u64()) * (top as u128 + 1)) >> 64) as usize;
            let at = if self.taken.get(pick) == Some(&true) {
                top
            } else {
                pick
            };
            if let Some(taken) = self.taken.get_mut(at) {
                *taken = true;
            }
            self.events.push(at);
        }
        self.events.sort_unstable();
        &self.events
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn five_events_in_a_row_of_two_hundred_are_a_cluster() {
        let mut happened = vec![false; 200];
        happened[90..95].fill(true);
        let cluster = find_cluster(&happened).unwrap();
        assert_eq!((cluster.first, cluster.last, cluster.n_events), (90, 94, 5));
        // All five next to each other: 196 places of C(200,5) = 2 535 650 040 (by counting), so none of the orders.
        assert!(cluster.p <= 1.0 / 5_000.0 + 1e-12);
    }

    #[test]
    fn lengths_tell_extreme_windows_as_their_ratios_do() {
        // Kulldorff's ratio of every window, in orders of many sizes, against the lengths that stand for it.
        for (n, n_events) in [(6, 3), (40, 3), (61, 12), (200, 50), (400, 90), (90, 88)] {
            let mut orders = Orders::new(n, n_events);
            let seen: Vec<f64> = (0..20).map(|_| best_window(orders.next(), n).0).collect();
            for ratio in seen.into_iter().map(|ratio| ratio - 1e-9) {
                let extreme = Extreme::of(ratio, n_events, n);
                let mut orders = Orders::new(n, n_events);
                for _ in 0..60 {
                    let events = orders.next();
                    let expected = best_window(events, n).0 >= ratio;
                    assert_eq!(extreme.is_reached(events), expected, "{n} {events:?}");
                }
            }
        }
    }

    #[test]
    fn evenly_spread_events_are_no_cluster() {
        let happened: Vec<bool> = (0..200).map(|at| at % 20 == 3).collect();
        assert!(find_cluster(&happened).unwrap().p > 0.5);
        assert!(find_cluster(&[true, false, true]).is_none());
        assert!(find_cluster(&[]).is_none());
    }
}
