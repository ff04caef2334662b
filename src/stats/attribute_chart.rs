//! Charts of counts: p (fraction of n), u (events per n) and c (events), with n that may vary.
//!
//! W. A. Shewhart, *Economic Control of Quality of Manufactured Product* (1931); NIST/SEMATECH e-Handbook 6.3.3.1 and
//! 6.3.3.2. Centre: all events over all n. Limits: centre ± 3 √(centre (1 − centre) / nᵢ) for p, centre ± 3 √(centre / nᵢ)
//! for u; c is u with nᵢ = 1. They are kept within what a rate can be. For few events the limits are rough: use the exact
//! tests of [`super::proportion_test`] and [`super::count_test`] beside them.

use super::reason::Reason;

/// Which chart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AttributeChart {
    /// Each of n either has the attribute or not.
    P,
    /// Events per n; one may have several.
    U,
}

/// A count with what it was counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CountOf {
    /// Events.
    pub n_events: u64,
    /// Of how many, such as cycles.
    pub n: u64,
}

/// One point of the chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AttributePoint {
    /// Events per one.
    pub rate: f64,
    /// The lower limit, at least 0.
    pub lower: f64,
    /// The upper limit; at most 1 on a p chart.
    pub upper: f64,
}

impl AttributePoint {
    /// Whether the rate is outside; a rate exactly on a limit is not.
    pub fn is_outside(self) -> bool {
        self.rate < self.lower || self.rate > self.upper
    }

    /// Whether the rate is outside or exactly on a limit, but for the limits 0 and, on a p chart, 1.
    pub fn is_on_or_outside(self) -> bool {
        (self.lower > 0.0 && self.rate <= self.lower) || self.rate >= self.upper
    }
}

/// The chart.
#[derive(Debug, Clone, PartialEq)]
pub struct AttributeLimits {
    /// All events over all n.
    pub centre: f64,
    /// A point for each count.
    pub points: Vec<AttributePoint>,
}

/// The p or u chart of counts in order of time.
///
/// # Errors
/// [`Reason::TooFew`] if there is none, [`Reason::OutOfRange`] for an n of 0 or, on a p chart, more events than n.
pub fn attribute_chart(
    counts: &[CountOf],
    chart: AttributeChart,
) -> Result<AttributeLimits, Reason> {
    if counts.is_empty() {
        return Err(Reason::TooFew {
            needed: 1,
            given: 0,
        });
    }
    let is_count =
        |count: &CountOf| count.n > 0 && (chart == AttributeChart::U || count.n_events <= count.n);
    if !counts.iter().all(is_count) {
        return Err(Reason::OutOfRange { argument: "counts" });
    }
    let n_events: f64 = counts.iter().map(|count| count.n_events as f64).sum();
    let n: f64 = counts.iter().map(|count| count.n as f64).sum();
    let centre = n_events / n;
    let point = |count: &CountOf| {
        let (variance, most) = match chart {
            AttributeChart::P => (centre * (1.0 - centre), 1.0),
            AttributeChart::U => (centre, f64::INFINITY),
        };
        let half = 3.0 * (variance / count.n as f64).sqrt();
        AttributePoint {
            rate: count.n_events as f64 / count.n as f64,
            lower: (centre - half).max(0.0),
            upper: (centre + half).min(most),
        }
    };
    Ok(AttributeLimits {
        centre,
        points: counts.iter().map(point).collect(),
    })
}

/// The c chart of counts in order of time, each from the same amount.
///
/// # Errors
/// [`Reason::TooFew`] if there is none.
pub fn count_chart(counts: &[u64]) -> Result<AttributeLimits, Reason> {
    let counts: Vec<CountOf> = counts
        .iter()
        .map(|count| CountOf {
            n_events: *count,
            n: 1,
        })
        .collect();
    attribute_chart(&counts, AttributeChart::U)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_events_at_all_put_nothing_outside() {
        let chart = count_chart(&[0, 0, 0]).unwrap();
        assert_eq!(chart.centre, 0.0);
        assert!(!chart.points.iter().any(|point| point.is_outside()));
    }

    #[test]
    fn bad_counts_have_a_reason() {
        assert!(count_chart(&[]).is_err());
        let of = |n_events, n| attribute_chart(&[CountOf { n_events, n }], AttributeChart::P);
        assert!(of(0, 0).is_err());
        assert!(of(2, 1).is_err());
        assert!(of(1, 1).is_ok());
    }

    #[test]
    fn rate_on_a_limit_is_on_it_and_not_outside() {
        let with = |lower, rate, upper| {
            let point = AttributePoint { rate, lower, upper };
            (point.is_outside(), point.is_on_or_outside())
        };
        assert_eq!(with(0.1, 0.2, 0.3), (false, false));
        assert_eq!(with(0.1, 0.1, 0.3), (false, true));
        assert_eq!(with(0.1, 0.3, 0.3), (false, true));
        assert_eq!(with(0.1, 0.09, 0.3), (true, true));
        assert_eq!(with(0.1, 0.31, 0.3), (true, true));
        // Nothing is below none.
        assert_eq!(with(0.0, 0.0, 0.3), (false, false));
    }

    #[test]
    fn limits_are_three_deviations_off_and_no_rate_that_can_not_be() {
        let of = |n_events, n| CountOf { n_events, n };
        // By hand: 10 of 100; 3 √(0.1 · 0.9 / 36) = 0.15 and 3 √(0.1 · 0.9 / 64) = 0.1125.
        let chart = attribute_chart(&[of(4, 36), of(6, 64)], AttributeChart::P).unwrap();
        assert!((chart.centre - 0.1).abs() < 1e-15);
        assert_eq!(chart.points[0].lower, 0.0);
        assert!((chart.points[0].upper - 0.25).abs() < 1e-15);
        assert!((chart.points[1].upper - 0.2125).abs() < 1e-15);
        // 180 of 200: 0.9 + 3 √(0.09 / 4) = 1.35 is no share; 0.9 − 3 √(0.09 / 196).
        let chart = attribute_chart(&[of(4, 4), of(176, 196)], AttributeChart::P).unwrap();
        assert_eq!(chart.points[0].upper, 1.0);
        assert!((chart.points[1].lower - (0.9 - 0.9 / 14.0)).abs() < 1e-15);
        // Events may be more than one each: 8 in 2, then 1 in 1; 3 ± 3 √(3 / 2) and 3 ± 3 √3.
        let chart = attribute_chart(&[of(8, 2), of(1, 1)], AttributeChart::U).unwrap();
        assert!((chart.points[0].upper - (3.0 + 3.0 * 1.5_f64.sqrt())).abs() < 1e-14);
        assert!((chart.points[1].upper - (3.0 + 3.0 * 3.0_f64.sqrt())).abs() < 1e-14);
        assert!(attribute_chart(&[of(1, 0)], AttributeChart::U).is_err());
    }
}
