//! Scan statistic: whether events cluster in time more than chance would have it.
//!
//! J. I. Naus, *JASA* 60 (1965); J. Glaz, J. Naus, S. Wallenstein, *Scan Statistics* (2001). The statistic of a window is the
//! most events in any closed window of that length; without clustering the events lie evenly at random over the period.
//! Its p by Monte Carlo, (1 + as extreme) / (1 + replicates): B. Phipson and G. K. Smyth, *Statistical Applications in Genetics
//! and Molecular Biology* 9 (2010). When several windows are tried, each replicate is tried with all of them and judged by
//! its smallest p (P. H. Westfall and S. S. Young, *Resampling-Based Multiple Testing*, 1993).

use super::chance::Chance;
use super::order::sorted;
use super::reason::{Reason, require, require_finite, require_positive};

/// Events and the period they were seen in, in one unit of time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ScanPeriod<'a> {
    /// When the events were, in any order.
    pub events: &'a [f64],
    /// The begin of the period.
    pub start: f64,
    /// Its end.
    pub end: f64,
}

/// How p-values are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MonteCarlo {
    /// How many replicates: the smallest p is one over one more than this.
    pub n_replicates: u32,
    /// The seed; the same seed gives the same p.
    pub seed: u64,
}

/// The fullest window of one length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FullestWindow {
    /// The length.
    pub length: f64,
    /// The most events in a window of it.
    pub n_events: usize,
    /// When the first such window begins, which is at an event.
    pub start: f64,
    /// The p of this length alone.
    pub p: f64,
}

/// The result of a scan.
#[derive(Debug, Clone, PartialEq)]
pub struct Scan {
    /// Each length in the order given.
    pub windows: Vec<FullestWindow>,
    /// The place in `windows` of the smallest p, the first of equal ones.
    pub best: usize,
    /// The p of the best, allowing for how many lengths were tried.
    pub p: f64,
}

/// Scans a period with windows of some lengths.
///
/// # Errors
/// [`Reason::TooFew`] below two events or without a length; [`Reason::NotFinite`]; [`Reason::OutOfRange`] for a period that
/// doesn't contain the events, a length that isn't positive, or no replicates; [`Reason::TooLarge`] if events times
/// replicates times lengths exceed 2 · 10⁹.
pub fn scan(
    period: ScanPeriod<'_>,
    lengths: &[f64],
    monte_carlo: MonteCarlo,
) -> Result<Scan, Reason> {
    require(period.events, 2)?;
    require(lengths, 1)?;
    require_finite(&[period.start, period.end])?;
    for length in lengths {
        require_positive(*length, "length of the window")?;
    }
    let duration = period.end - period.start;
    require_positive(duration, "period")?;
    let events = sorted(period.events);
    let is_within = events
        .iter()
        .all(|event| period.start <= *event && *event <= period.end);
    if !is_within {
        return Err(Reason::OutOfRange { argument: "events" });
    }
    let n_replicates = monte_carlo.n_replicates as usize;
    if n_replicates == 0 {
        return Err(Reason::OutOfRange {
            argument: "replicates",
        });
    }
    let work = events
        .len()
        .saturating_mul(n_replicates)
        .saturating_mul(lengths.len());
    if work > 2_000_000_000 {
        return Err(Reason::TooLarge {
            argument: "events and replicates",
        });
    }
    let observed: Vec<(usize, f64)> = lengths
        .iter()
        .map(|length| fullest(&events, *length))
        .collect();
    let mut chance = Chance::of(monte_carlo.seed);
    let mut drawn = vec![0.0; events.len()];
    // counts[w][r]: the fullest window of length w in replicate r.
    let mut counts: Vec<Vec<usize>> = lengths
        .iter()
        .map(|_| Vec::with_capacity(n_replicates))
        .collect();
    for _ in 0..n_replicates {
        for event in &mut drawn {
            *event = chance.share() * duration;
        }
        drawn.sort_by(f64::total_cmp);
        for (counts, length) in counts.iter_mut().zip(lengths) {
            counts.push(fullest(&drawn, *length).0);
        }
    }
    let as_many_or_more: Vec<Vec<usize>> = counts
        .iter()
        .map(|counts| at_least(counts, events.len()))
        .collect();
    let n_of = |window: usize, n_events: usize| {
        as_many_or_more
            .get(window)
            .and_then(|table| table.get(n_events).copied())
            .unwrap_or(0)
    };
    let size = n_replicates.saturating_add(1) as f64;
    let windows: Vec<FullestWindow> = observed
        .iter()
        .zip(lengths)
        .enumerate()
        .map(|(window, ((n_events, start), length))| FullestWindow {
            length: *length,
            n_events: *n_events,
            start: *start,
            p: n_of(window, *n_events).saturating_add(1) as f64 / size,
        })
        .collect();
    let rarity = |count_of: &dyn Fn(usize) -> usize| {
        (0..lengths.len())
            .map(|window| n_of(window, count_of(window)))
            .min()
            .unwrap_or(n_replicates)
    };
    let observed_rarity = rarity(&|window| observed.get(window).map_or(0, |(n, _)| *n));
    // A replicate is among those it is compared with, the observation is not: one less, so that both count the others.
    let n_as_rare = (0..n_replicates)
        .filter(|replicate| {
            let count_of = |window: usize| {
                counts
                    .get(window)
                    .and_then(|counts| counts.get(*replicate).copied())
                    .unwrap_or(0)
            };
            rarity(&count_of) <= observed_rarity.saturating_add(1)
        })
        .count();
    let best = (0..windows.len())
        .min_by_key(|window| n_of(*window, observed.get(*window).map_or(0, |(n, _)| *n)))
        .unwrap_or(0);
    let p = n_as_rare.saturating_add(1) as f64 / size;
    let least = windows.get(best).map_or(1.0, |window| window.p);
    Ok(Scan {
        windows,
        best,
        p: p.clamp(least, 1.0),
    })
}

/// The most events in a closed window of this length over sorted events, and the first event that begins such a window.
#[expect(
    clippy::arithmetic_side_effects,
    reason = "`end` is behind the event that begins the window, which is in it"
)]
fn fullest(events: &[f64], length: f64) -> (usize, f64) {
    let mut best = (0, 0.0);
    let mut end = 0;
    for (at, start) in events.iter().enumerate() {
        while events
            .get(end)
            .is_some_and(|event| *event <= start + length)
        {
            end += 1;
        }
        if end - at > best.0 {
            best = (end - at, *start);
        }
    }
    best
}

/// For each number up to `most`, how many of the counts are as large or larger.
#[expect(
    clippy::arithmetic_side_effects,
    reason = "no more counts than replicates, and `most` is a number of events in memory"
)]
fn at_least(counts: &[usize], most: usize) -> Vec<usize> {
    let mut table = vec![0; most + 2];
    for count in counts {
        if let Some(slot) = table.get_mut(*count) {
            *slot += 1;
        }
    }
    let mut sum = 0;
    for slot in table.iter_mut().rev() {
        sum += *slot;
        *slot = sum;
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;

    const MONTE_CARLO: MonteCarlo = MonteCarlo {
        n_replicates: 999,
        seed: 7,
    };

    fn of(events: &[f64], lengths: &[f64]) -> Result<Scan, Reason> {
        let period = ScanPeriod {
            events,
            start: 0.0,
            end: 10.0,
        };
        scan(period, lengths, MONTE_CARLO)
    }

    #[test]
    fn two_events_within_a_window_have_the_chance_of_geometry() {
        // Two points on a line of length T lie within w of each other with probability 1 − (1 − w/T)².
        let result = of(&[4.0, 4.5], &[1.0]).unwrap();
        assert_eq!(result.windows[0].n_events, 2);
        assert!((result.windows[0].p - 0.19).abs() < 4.0 * (0.19_f64 * 0.81 / 999.0).sqrt());
    }

    #[test]
    fn one_length_has_one_p_and_more_lengths_a_larger_one() {
        let events = [1.0, 5.0, 5.1, 5.2, 9.0];
        let one = of(&events, &[0.5]).unwrap();
        assert_eq!(one.p, one.windows[0].p);
        let three = of(&events, &[0.5, 1.0, 2.0]).unwrap();
        assert!(three.p >= three.windows[three.best].p);
        assert_eq!(three.windows[0], one.windows[0]);
    }

    #[test]
    fn bad_input_has_a_reason() {
        assert!(of(&[], &[1.0]).is_err());
        assert!(of(&[1.0, 2.0], &[]).is_err());
        assert!(of(&[1.0, 2.0], &[0.0]).is_err());
        assert!(of(&[1.0, 20.0], &[1.0]).is_err());
        assert!(of(&[1.0, f64::NAN], &[1.0]).is_err());
    }

    #[test]
    fn fullest_window_is_closed_and_the_first_of_equal_ones() {
        assert_eq!(fullest(&[1.0, 2.0, 5.0, 6.0], 1.5), (2, 1.0));
        assert_eq!(fullest(&[1.0, 2.0, 5.0, 6.0], 1.0), (2, 1.0));
        assert_eq!(fullest(&[1.0, 2.0, 5.0, 6.0], 0.9), (1, 1.0));
        assert_eq!(fullest(&[1.0, 2.0, 5.0, 6.0], 4.0), (3, 1.0));
        assert_eq!(fullest(&[0.0, 2.0, 5.0, 5.5, 6.0], 1.0), (3, 5.0));
        assert_eq!(fullest(&[], 1.0), (0, 0.0));
        assert_eq!(at_least(&[1, 1, 3], 4), [3, 3, 1, 1, 0, 0]);
    }

    #[test]
    fn events_may_lie_on_the_ends_of_the_period_and_not_beyond() {
        assert!(of(&[0.0, 10.0], &[1.0]).is_ok());
        let argument = "events";
        let outside = Err(Reason::OutOfRange { argument });
        assert_eq!(of(&[-0.1, 5.0], &[1.0]), outside);
        assert_eq!(of(&[5.0, 10.1], &[1.0]), outside);
        let period = ScanPeriod {
            events: &[5.0, 5.0],
            start: 5.0,
            end: 5.0,
        };
        assert!(scan(period, &[1.0], MONTE_CARLO).is_err());
        let none = MonteCarlo {
            n_replicates: 0,
            seed: 1,
        };
        let period = ScanPeriod {
            events: &[1.0, 2.0],
            start: 0.0,
            end: 10.0,
        };
        let argument = "replicates";
        assert_eq!(
            scan(period, &[1.0], none),
            Err(Reason::OutOfRange { argument })
        );
        let many = MonteCarlo {
            n_replicates: u32::MAX,
            seed: 1,
        };
        let argument = "events and replicates";
        assert_eq!(
            scan(period, &[1.0], many),
            Err(Reason::TooLarge { argument })
        );
    }

    #[test]
    fn window_that_holds_every_event_has_p_1_and_the_rarest_length_is_the_best() {
        // Every replicate has all of its events within the whole period, and none has five within a hundredth of it but by
        // a chance of 5 / 10⁸ (J. I. Naus: of n points in a window w all lie with n wⁿ⁻¹ − (n − 1) wⁿ).
        let events = [4.0, 4.01, 4.02, 4.03, 4.04];
        let result = of(&events, &[10.0, 0.1, 5.0]).unwrap();
        assert_eq!(result.windows[0].p, 1.0);
        assert_eq!(result.windows[1].p, 1.0 / 1000.0);
        assert_eq!((result.best, result.p), (1, 1.0 / 1000.0));
        assert_eq!(result.windows[1].start, 4.0);
        // All five within the half: 5 / 16 − 4 / 32 = 3/16.
        let p = result.windows[2].p;
        assert!((p - 0.1875).abs() < 4.0 * (0.1875_f64 * 0.8125 / 999.0).sqrt());
    }
}
