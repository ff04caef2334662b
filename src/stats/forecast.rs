//! A straight line through values in time, what it foresees, and when it meets a limit.
//!
//! Least squares: N. R. Draper and H. Smith, *Applied Regression Analysis* (1998), chapters 1 and 3 (prediction interval,
//! and by inverting it the time at which a level is met, E. C. Fieller, *JRSS B* 16, 1954).
//! Robust: the Theil–Sen slope ([`super::theil_sen`]) with a standard error from its interval; the level at the mean time by
//! Hodges and Lehmann's estimate of the rests, whose variance is π/3 of the mean's for normal rests (E. L. Lehmann,
//! *Nonparametrics*, 1975); the spread of the rests by the median absolute deviation, with n / (n − 2) for the two parameters
//! fitted. Its intervals are approximate; a test holds their coverage on normal and on soiled noise.
//!
//! The rests are taken to be independent. Where neighbours are alike, widen the line with [`TrendLine::widened`].

use super::hodges_lehmann::hodges_lehmann;
use super::interval::{Confidence, Interval};
use super::normal::normal_quantile;
use super::reason::{Reason, finite, require_pairs, require_positive};
use super::spread::normal_consistent_deviation;
use super::student::student_quantile_upper;
use super::summary::{mean, sum};
use super::theil_sen::theil_sen;

/// A line with what is known of its error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrendLine {
    /// The mean of the times, where the level stands.
    pub centre: f64,
    /// The line's value at the centre.
    pub level: f64,
    /// Change of the value per unit of time.
    pub slope: f64,
    /// The variance of the level.
    pub level_variance: f64,
    /// The variance of the slope.
    pub slope_variance: f64,
    /// The variance of a single value about the line.
    pub noise_variance: f64,
    /// Degrees of freedom of the noise variance.
    pub degrees_of_freedom: f64,
}

/// A value with its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Foreseen {
    /// The line's value.
    pub value: f64,
    /// The interval asked for.
    pub interval: Interval,
}

/// What an interval is to cover.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Covering {
    /// The line itself: where the values are on the average.
    Line,
    /// The next single value, with its noise.
    NextValue,
}

/// What values should keep to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Limit {
    /// They should stay below this and may rise to it.
    AtMost(f64),
    /// They should stay above this and may fall to it.
    AtLeast(f64),
}

/// An interval that reaches less far than this part of the way to the limit is a point to within rounding.
const SAME_HEIGHT: f64 = 1e-12;

/// When a line meets a limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meeting {
    /// When the line itself meets it; nothing if it goes away from it or stays level.
    pub at: Option<f64>,
    /// The earliest time that the confidence allows; nothing if it never does.
    pub earliest: Option<f64>,
    /// The latest time that it allows; nothing if it may never be met.
    pub latest: Option<f64>,
}

/// The least-squares line.
///
/// # Errors
/// [`Reason::TooFew`] below three points, [`Reason::Unpaired`], [`Reason::NotFinite`], [`Reason::NoSpread`] if all times are
/// equal, [`Reason::TooLarge`] on overflow.
pub fn least_squares_line(times: &[f64], values: &[f64]) -> Result<TrendLine, Reason> {
    require_pairs(times, values, 3)?;
    let (centre, level) = (mean(times)?, mean(values)?);
    let spread = spread_of(times, centre)?;
    let products = times
        .iter()
        .zip(values)
        .map(|(t, y)| (t - centre) * (y - level));
    let slope = finite(sum(products) / spread)?;
    let rests = times
        .iter()
        .zip(values)
        .map(|(t, y)| y - level - slope * (t - centre));
    let n = times.len() as f64;
    let noise_variance = finite(sum(rests.map(|rest| rest * rest)) / (n - 2.0))?;
    Ok(TrendLine {
        centre,
        level,
        slope,
        level_variance: noise_variance / n,
        slope_variance: finite(noise_variance / spread)?,
        noise_variance,
        degrees_of_freedom: n - 2.0,
    })
}

/// The robust line.
///
/// # Errors
/// [`Reason::TooFew`] below five points; otherwise as [`least_squares_line`].
pub fn robust_line(times: &[f64], values: &[f64]) -> Result<TrendLine, Reason> {
    require_pairs(times, values, 5)?;
    let centre = mean(times)?;
    let spread = spread_of(times, centre)?;
    let line = theil_sen(times, values, Confidence::P95)?;
    let rests: Vec<f64> = times
        .iter()
        .zip(values)
        .map(|(t, y)| y - line.slope * (t - centre))
        .collect();
    let level = hodges_lehmann(&rests)?;
    let n = times.len() as f64;
    let deviation = normal_consistent_deviation(&rests)?;
    let noise_variance = finite(deviation * deviation * n / (n - 2.0))?;
    let half = line.interval.width() / 2.0;
    let slope_error = half / normal_quantile(0.975);
    // The interval's ends are slopes of pairs; many ties can make it a point, though the noise says otherwise.
    let least = if half > 0.0 {
        0.0
    } else {
        noise_variance / spread
    };
    Ok(TrendLine {
        centre,
        level,
        slope: line.slope,
        level_variance: std::f64::consts::PI / 3.0 * noise_variance / n,
        slope_variance: finite((slope_error * slope_error).max(least))?,
        noise_variance,
        degrees_of_freedom: n - 2.0,
    })
}

fn spread_of(times: &[f64], centre: f64) -> Result<f64, Reason> {
    let spread = finite(sum(times.iter().map(|t| (t - centre) * (t - centre))))?;
    if spread > 0.0 {
        Ok(spread)
    } else {
        Err(Reason::NoSpread)
    }
}

impl TrendLine {
    /// The same line with the variances of level and slope so many times larger, for neighbours that are alike (see
    /// [`super::serial_correlation`]).
    ///
    /// # Errors
    /// [`Reason::OutOfRange`] unless the factor is positive.
    pub fn widened(self, factor: f64) -> Result<TrendLine, Reason> {
        require_positive(factor, "variance factor")?;
        Ok(TrendLine {
            level_variance: self.level_variance * factor,
            slope_variance: self.slope_variance * factor,
            ..self
        })
    }

    /// The line's value at a time.
    fn at(&self, time: f64) -> f64 {
        self.level + self.slope * (time - self.centre)
    }

    /// Half the width of the interval at a time.
    fn reach(&self, time: f64, quantile: f64, covering: Covering) -> f64 {
        let distance = time - self.centre;
        let noise = match covering {
            Covering::Line => 0.0,
            Covering::NextValue => self.noise_variance,
        };
        quantile * (self.level_variance + distance * distance * self.slope_variance + noise).sqrt()
    }

    /// The value foreseen at a time.
    ///
    /// # Errors
    /// [`Reason::OutOfRange`] for a time that is no number, [`Reason::TooLarge`] on overflow, [`Reason::NotSettled`].
    pub fn foresee(
        &self,
        time: f64,
        confidence: Confidence,
        covering: Covering,
    ) -> Result<Foreseen, Reason> {
        if !time.is_finite() {
            return Err(Reason::OutOfRange { argument: "time" });
        }
        let quantile = student_quantile_upper(confidence.tail(), self.degrees_of_freedom)?;
        let value = finite(self.at(time))?;
        let reach = finite(self.reach(time, quantile, covering))?;
        Ok(Foreseen {
            value,
            interval: Interval {
                low: value - reach,
                high: value + reach,
            },
        })
    }

    /// When, from `from` on, the line meets a limit. The interval is where the limit lies within the
    /// line's interval of [`TrendLine::foresee`]: for [`Covering::Line`] it covers the time at which the average meets
    /// the limit, for [`Covering::NextValue`] the times at which single values do.
    ///
    /// A time is not before `from`: what has been met already is met at `from`.
    ///
    /// # Errors
    /// [`Reason::OutOfRange`] for numbers that aren't finite, [`Reason::NotSettled`].
    pub fn meeting(
        &self,
        limit: Limit,
        from: f64,
        confidence: Confidence,
        covering: Covering,
    ) -> Result<Meeting, Reason> {
        let (Limit::AtMost(number) | Limit::AtLeast(number)) = limit;
        if !(number.is_finite() && from.is_finite()) {
            return Err(Reason::OutOfRange { argument: "limit" });
        }
        let quantile = student_quantile_upper(confidence.tail(), self.degrees_of_freedom)?;
        // Seen so that the limit lies above.
        let seen = |value: f64| match limit {
            Limit::AtMost(_) => value,
            Limit::AtLeast(_) => -value,
        };
        let slope = seen(self.slope);
        let height = seen(number - self.level);
        let at = if seen(self.at(from)) >= seen(number) {
            Some(from)
        } else {
            (slope > 0.0).then(|| (self.centre + height / slope).max(from))
        };
        let at = at.filter(|time| time.is_finite());
        // Without scatter both edges are the line itself, and rounding would lose one of them or both.
        let is_exact =
            |time: f64| self.reach(time, quantile, covering) <= height.abs() * SAME_HEIGHT;
        let (earliest, latest) = if at.is_some_and(is_exact) {
            (at, at)
        } else {
            self.crossings(slope, height, quantile, covering, from)
        };
        Ok(Meeting {
            at,
            earliest,
            latest,
        })
    }

    /// The first times from `from` on at which the upper and the lower edge of the interval reach the height: where
    /// (height − slope d)² = quantile² (v₀ + d² v₁), with d the time since the centre.
    fn crossings(
        &self,
        slope: f64,
        height: f64,
        quantile: f64,
        covering: Covering,
        from: f64,
    ) -> (Option<f64>, Option<f64>) {
        let noise = match covering {
            Covering::Line => 0.0,
            Covering::NextValue => self.noise_variance,
        };
        let q = quantile * quantile;
        let square = slope * slope - q * self.slope_variance;
        let linear = -2.0 * slope * height;
        let constant = height * height - q * (self.level_variance + noise);
        let start = from - self.centre;
        let reach =
            |d: f64| (q * (self.level_variance + noise + d * d * self.slope_variance)).sqrt();
        let roots = quadratic_roots(square, linear, constant);
        // The edge that a root belongs to: the upper edge reaches the height before the line does.
        let is_upper = |d: &f64| slope * d <= height;
        let first = |wanted: &dyn Fn(&f64) -> bool| {
            roots
                .iter()
                .copied()
                .filter(|d| *d > start && d.is_finite() && wanted(d))
                .min_by(f64::total_cmp)
        };
        let earliest = if slope * start + reach(start) >= height {
            Some(start)
        } else {
            first(&is_upper)
        };
        let latest = if slope * start - reach(start) >= height {
            Some(start)
        } else {
            first(&|d| !is_upper(d))
        };
        let time = |d: f64| self.centre + d;
        (earliest.map(time), latest.map(time))
    }
}

/// The real roots of a quadratic, without cancellation.
fn quadratic_roots(square: f64, linear: f64, constant: f64) -> Vec<f64> {
    if square == 0.0 {
        return if linear == 0.0 {
            Vec::new()
        } else {
            vec![-constant / linear]
        };
    }
    let inner = linear * linear - 4.0 * square * constant;
    if inner.is_nan() || inner < 0.0 {
        return Vec::new();
    }
    let far = -(linear + inner.sqrt().copysign(linear)) / 2.0;
    if far == 0.0 {
        vec![0.0]
    } else {
        vec![far / square, constant / far]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::chance::Chance;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig {
            cases: 60,
            failure_persistence: None,
            rng_seed: proptest::test_runner::RngSeed::Fixed(5),
            ..ProptestConfig::default()
        })]

        #[test]
        fn meeting_is_what_walking_along_the_interval_finds(
            slope in -1.0..1.0_f64,
            errors in (0.01..2.0_f64, 0.0..0.2_f64, 0.01..2.0_f64),
            limit in -20.0..20.0_f64,
            is_upper in any::<bool>(),
        ) {
            let line = TrendLine {
                centre: 3.0,
                level: 1.0,
                slope,
                level_variance: errors.0,
                slope_variance: errors.1 * errors.1,
                noise_variance: errors.2,
                degrees_of_freedom: 12.0,
            };
            let (side, kept) = match is_upper {
                true => (1.0, Limit::AtMost(limit)),
                false => (-1.0, Limit::AtLeast(limit)),
            };
            for covering in [Covering::Line, Covering::NextValue] {
                let meeting = line.meeting(kept, 5.0, Confidence::P90, covering).unwrap();
                let edges = |time: f64| {
                    let seen = line.foresee(time, Confidence::P90, covering).unwrap().interval;
                    let (a, b) = (seen.low * side, seen.high * side);
                    (a.min(b), a.max(b))
                };
                let walk = |is_met: &dyn Fn((f64, f64)) -> bool| {
                    (0..1600).map(|step| 5.0 + f64::from(step) * 0.25).find(|time| is_met(edges(*time)))
                };
                let (mut found, mut walked) = (Vec::new(), Vec::new());
                for (time, walk) in [
                    (meeting.earliest, walk(&|(_, high)| high >= limit * side)),
                    (meeting.latest, walk(&|(low, _)| low >= limit * side)),
                ] {
                    // Beyond the walk is as good as never; so is a touch that it steps over.
                    found.push(time.filter(|time| *time < 400.0));
                    walked.push(walk);
                }
                for (found, walked) in found.iter().zip(&walked) {
                    match (found, walked) {
                        (Some(a), Some(b)) => prop_assert!((a - b).abs() < 0.251, "{a} {b}"),
                        (None, None) => {}
                        other => prop_assert!(false, "{other:?} {meeting:?}"),
                    }
                }
            }
        }
    }

    /// Normal noise by the sum of twelve shares, good to beyond three standard deviations.
    fn noise(chance: &mut Chance) -> f64 {
        (0..12).map(|_| chance.share()).sum::<f64>() - 6.0
    }

    type Fit = fn(&[f64], &[f64]) -> Result<TrendLine, Reason>;

    #[test]
    fn textbook_line_is_met() {
        // By hand: y = 1, 3, 2, 5 at 0..3 has slope 1.1 and level 2.75; rests −0.1, 0.8, −1.3, 0.6, their squares 2.7.
        let line = least_squares_line(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 2.0, 5.0]).unwrap();
        assert!((line.slope - 1.1).abs() < 1e-14);
        assert!((line.level - 2.75).abs() < 1e-14);
        assert!((line.noise_variance - 1.35).abs() < 1e-13);
        assert!((line.slope_variance - 0.27).abs() < 1e-13);
        // t(0.05; 2) = 2.920 (table): at 4 the next value is 5.5 ± 2.920 √(1.35 (1 + 1/4 + 6.25/5)).
        let next = line
            .foresee(4.0, Confidence::P90, Covering::NextValue)
            .unwrap();
        assert!((next.value - 5.5).abs() < 1e-13);
        assert!((next.interval.high - 5.5 - 2.920 * 3.375_f64.sqrt()).abs() < 1e-3);
    }

    #[test]
    fn meeting_is_where_the_intervals_edge_meets_the_limit() {
        let times: Vec<f64> = (0..40).map(f64::from).collect();
        let mut chance = Chance::of(3);
        let values: Vec<f64> = times.iter().map(|t| 0.2 * t + noise(&mut chance)).collect();
        for fit in [least_squares_line as Fit, robust_line as Fit] {
            let line = fit(&times, &values).unwrap();
            for covering in [Covering::Line, Covering::NextValue] {
                let meeting = line
                    .meeting(Limit::AtMost(14.0), 39.0, Confidence::P90, covering)
                    .unwrap();
                let earliest = meeting.earliest.unwrap();
                let latest = meeting.latest.unwrap();
                assert!(earliest <= meeting.at.unwrap() && meeting.at.unwrap() <= latest);
                let edge = |time| {
                    let seen = line.foresee(time, Confidence::P90, covering).unwrap();
                    seen.interval
                };
                assert!((edge(earliest).high - 14.0).abs() < 1e-8);
                assert!((edge(latest).low - 14.0).abs() < 1e-8);
            }
        }
    }

    #[test]
    fn falling_line_meets_a_limit_below_and_never_one_above() {
        let times: Vec<f64> = (0..30).map(f64::from).collect();
        let values: Vec<f64> = times
            .iter()
            .map(|t| 10.0 - 0.1 * t + (t * 7.0 % 3.0) / 50.0)
            .collect();
        let line = least_squares_line(&times, &values).unwrap();
        let below = line
            .meeting(Limit::AtLeast(5.0), 29.0, Confidence::P90, Covering::Line)
            .unwrap();
        assert!((below.at.unwrap() - 50.0).abs() < 1.0);
        assert!(below.earliest.unwrap() < 50.5 && below.latest.unwrap() > 49.5);
        let above = line
            .meeting(Limit::AtMost(20.0), 29.0, Confidence::P90, Covering::Line)
            .unwrap();
        assert_eq!((above.at, above.earliest, above.latest), (None, None, None));
        // Met long ago: now.
        let met = line
            .meeting(Limit::AtLeast(7.2), 29.0, Confidence::P90, Covering::Line)
            .unwrap();
        assert_eq!((met.at, met.earliest), (Some(29.0), Some(29.0)));
    }

    #[test]
    fn line_that_may_be_level_may_never_meet_its_limit() {
        let times: Vec<f64> = (0..10).map(f64::from).collect();
        let mut chance = Chance::of(11);
        let values: Vec<f64> = times.iter().map(|_| noise(&mut chance)).collect();
        let line = least_squares_line(&times, &values).unwrap();
        let meeting = line
            .meeting(Limit::AtMost(50.0), 9.0, Confidence::P90, Covering::Line)
            .unwrap();
        assert_eq!(meeting.latest, None);
    }

    /// How often 90 % intervals cover: (the meeting of the true line, the next value).
    fn coverage(fit: Fit, n_soiled: u64, seed: u64) -> (f64, f64) {
        let n_trials = 400;
        let mut chance = Chance::of(seed);
        let times: Vec<f64> = (0..40).map(f64::from).collect();
        let (mut n_meeting, mut n_next) = (0, 0);
        for _ in 0..n_trials {
            let mut draw = |t: f64| 10.0 + 0.15 * t + noise(&mut chance);
            let mut values: Vec<f64> = times.iter().map(|t| draw(*t)).collect();
            let next = draw(50.0);
            for _ in 0..n_soiled {
                let at = chance.below(40) as usize;
                values[at] += 15.0;
            }
            let line = fit(&times, &values).unwrap();
            // 10 + 0.15 t = 19 at t = 60.
            let meeting = line
                .meeting(Limit::AtMost(19.0), 39.0, Confidence::P90, Covering::Line)
                .unwrap();
            let is_covered = meeting.earliest.is_some_and(|time| time <= 60.0)
                && meeting.latest.is_none_or(|time| time >= 60.0);
            n_meeting += u32::from(is_covered);
            let seen = line
                .foresee(50.0, Confidence::P90, Covering::NextValue)
                .unwrap();
            n_next += u32::from(seen.interval.contains(next));
        }
        let share = |n: u32| f64::from(n) / f64::from(n_trials);
        (share(n_meeting), share(n_next))
    }

    #[test]
    fn nine_of_ten_intervals_cover() {
        // 400 trials at 90 % vary by ± 4.5 % (three standard errors).
        let (meeting, next) = coverage(least_squares_line, 0, 1);
        assert!((0.855..=0.945).contains(&meeting), "{meeting}");
        assert!((0.855..=0.945).contains(&next), "{next}");
        for (n_soiled, seed) in [(0, 2), (3, 3)] {
            let (meeting, next) = coverage(robust_line, n_soiled, seed);
            assert!((0.85..=0.95).contains(&meeting), "{n_soiled} {meeting}");
            assert!((0.85..=0.96).contains(&next), "{n_soiled} {next}");
        }
    }

    #[test]
    fn bad_input_has_a_reason() {
        for fit in [least_squares_line as Fit, robust_line as Fit] {
            assert!(fit(&[], &[]).is_err());
            assert!(fit(&[1.0; 6], &[1.0; 6]).is_err());
            assert!(fit(&[f64::NAN; 6], &[1.0; 6]).is_err());
            assert!(fit(&[0.0; 6], &[1.0; 5]).is_err());
            let times: Vec<f64> = (0..8).map(f64::from).collect();
            let level = fit(&times, &[3.0; 8]).unwrap();
            assert_eq!((level.slope, level.noise_variance), (0.0, 0.0));
            let seen = level
                .foresee(9.0, Confidence::P90, Covering::NextValue)
                .unwrap();
            assert_eq!(seen.interval.width(), 0.0);
            let meeting = level
                .meeting(Limit::AtMost(4.0), 8.0, Confidence::P90, Covering::Line)
                .unwrap();
            assert_eq!((meeting.at, meeting.earliest), (None, None));
            assert!(
                level
                    .foresee(f64::NAN, Confidence::P90, Covering::Line)
                    .is_err()
            );
            assert!(
                level
                    .meeting(
                        Limit::AtMost(f64::NAN),
                        0.0,
                        Confidence::P90,
                        Covering::Line
                    )
                    .is_err()
            );
            assert!(level.widened(0.0).is_err());
        }
    }

    fn roots(square: f64, linear: f64, constant: f64) -> Vec<f64> {
        let mut roots = quadratic_roots(square, linear, constant);
        roots.sort_by(f64::total_cmp);
        roots
    }

    #[test]
    fn roots_of_quadratics_are_those_of_the_schoolbook() {
        assert_eq!(roots(1.0, -3.0, 2.0), [1.0, 2.0]);
        assert_eq!(roots(2.0, 2.0, -12.0), [-3.0, 2.0]);
        assert_eq!(roots(-1.0, 0.0, 4.0), [-2.0, 2.0]);
        assert_eq!(roots(1.0, -2.0, 1.0), [1.0, 1.0]);
        assert_eq!(roots(1.0, 0.0, 0.0), [0.0]);
        assert_eq!(roots(1.0, -5.0, 0.0), [0.0, 5.0]);
        assert_eq!(roots(0.0, 2.0, -6.0), [3.0]);
        assert!(roots(0.0, 0.0, 5.0).is_empty());
        assert!(roots(1.0, 0.0, 1.0).is_empty());
        assert!(roots(f64::NAN, 1.0, 1.0).is_empty());
        // x² − 10⁸ x + 1: the small root would lose all its digits in 10⁸ − √(10¹⁶ − 4).
        let apart = roots(1.0, -1e8, 1.0);
        assert!((apart[0] / 1e-8 - 1.0).abs() < 1e-15 && (apart[1] / 1e8 - 1.0).abs() < 1e-15);
        let apart = roots(1.0, 1e8, 1.0);
        assert!((apart[1] / -1e-8 - 1.0).abs() < 1e-15);
    }

    /// A line through 1 at the time 3, known exactly but for what is given.
    fn exact_line(slope: f64) -> TrendLine {
        TrendLine {
            centre: 3.0,
            level: 1.0,
            slope,
            level_variance: 0.0,
            slope_variance: 0.0,
            noise_variance: 0.0,
            degrees_of_freedom: 10.0,
        }
    }

    #[test]
    fn line_known_exactly_meets_its_limit_at_one_time() {
        let at = |slope: f64, limit: Limit, from: f64| {
            let line = exact_line(slope);
            let meeting = line.meeting(limit, from, Confidence::P90, Covering::NextValue);
            let Meeting {
                at,
                earliest,
                latest,
            } = meeting.unwrap();
            assert_eq!((at, at), (earliest, latest), "{slope} {limit:?} {from}");
            at
        };
        // 1 + (t − 3) / 2 = 4 at 9; 1 − (t − 3) / 2 = 0 at 5.
        assert_eq!(at(0.5, Limit::AtMost(4.0), 4.0), Some(9.0));
        assert_eq!(at(-0.5, Limit::AtLeast(0.0), 4.0), Some(5.0));
        // Met already, and just now.
        assert_eq!(at(0.5, Limit::AtMost(4.0), 12.0), Some(12.0));
        assert_eq!(at(0.5, Limit::AtMost(4.0), 9.0), Some(9.0));
        assert_eq!(at(-0.5, Limit::AtLeast(0.0), 12.0), Some(12.0));
        // Away from it, or level.
        assert_eq!(at(-0.5, Limit::AtMost(4.0), 4.0), None);
        assert_eq!(at(0.5, Limit::AtLeast(0.0), 4.0), None);
        assert_eq!(at(0.0, Limit::AtMost(4.0), 4.0), None);
        assert_eq!(at(0.0, Limit::AtMost(1.0), 4.0), Some(4.0));
    }

    #[test]
    fn interval_is_met_where_its_edge_is_worked_out_by_hand() {
        // t(0.05; 2) = 2.919986 (NIST/SEMATECH e-Handbook 1.3.6.7.2, from memory; the long digits by scipy 1.17.1).
        let t = 2.919_985_580_355_516;
        let line = TrendLine {
            level_variance: 0.25,
            noise_variance: 0.75,
            degrees_of_freedom: 2.0,
            ..exact_line(1.0)
        };
        // The line ± t ½ and the next value ± t: 6 is met by the upper edge so much earlier, by the lower so much later.
        for (covering, reach) in [(Covering::Line, t / 2.0), (Covering::NextValue, t)] {
            let meeting = line
                .meeting(Limit::AtMost(6.0), 0.0, Confidence::P90, covering)
                .unwrap();
            assert_eq!(meeting.at, Some(8.0));
            assert!((meeting.earliest.unwrap() - (8.0 - reach)).abs() < 1e-9);
            assert!((meeting.latest.unwrap() - (8.0 + reach)).abs() < 1e-9);
            let seen = line.foresee(8.0, Confidence::P90, covering).unwrap();
            assert!((seen.value - 6.0).abs() < 1e-15);
            assert!((seen.interval.width() / 2.0 - reach).abs() < 1e-9);
        }
        let wider = line.widened(4.0).unwrap();
        assert_eq!((wider.level_variance, wider.noise_variance), (1.0, 0.75));
        // Slopes of 1 ± t √0.04 = 1 ± 0.584 from a level known exactly: 5 more after 5 / 1.584 and 5 / 0.416.
        let line = TrendLine {
            slope_variance: 0.04,
            degrees_of_freedom: 2.0,
            ..exact_line(1.0)
        };
        let meeting = line
            .meeting(Limit::AtMost(6.0), 3.0, Confidence::P90, Covering::Line)
            .unwrap();
        assert!((meeting.earliest.unwrap() - (3.0 + 5.0 / (1.0 + 0.2 * t))).abs() < 1e-9);
        assert!((meeting.latest.unwrap() - (3.0 + 5.0 / (1.0 - 0.2 * t))).abs() < 1e-9);
        let wider = line.widened(9.0).unwrap();
        assert!((wider.slope_variance - 0.36).abs() < 1e-15);
        // Three times the error, and a level line is among the slopes: it may never be met.
        let meeting = wider
            .meeting(Limit::AtMost(6.0), 3.0, Confidence::P90, Covering::Line)
            .unwrap();
        assert_eq!(meeting.latest, None);
    }

    #[test]
    fn robust_line_is_that_of_the_library_and_the_formulas() {
        // Slope and interval 0.85 to 2.25: scipy 1.17.1, theilslopes; level, deviation and variances by their formulas in
        // numpy over all 28 means of pairs (C). The fifth value is far out.
        let times = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 7.0];
        let values = [0.0, 1.2, 1.9, 3.3, 9.0, 5.1, 6.8];
        let line = robust_line(&times, &values).unwrap();
        for (found, expected) in [
            (line.centre, 22.0 / 7.0),
            (line.level, 3.245),
            (line.slope, 0.98),
            (line.level_variance, 0.018_414_837_730_789_498),
            (line.slope_variance, 0.127_555_708_097_232_77),
            (line.noise_variance, 0.123_094_122_945_792_18),
            (line.degrees_of_freedom, 5.0),
        ] {
            assert!((found / expected - 1.0).abs() < 1e-12, "{found} {expected}");
        }
    }

    #[test]
    fn slope_whose_interval_is_a_point_takes_its_error_from_the_noise() {
        // 0 and 1 in turn: half of the slopes are 0, and so are both ends (scipy 1.17.1, theilslopes). The rests are 0 and 1,
        // their median deviation ½; the squares of the times about their mean are 20 (20² − 1) / 12 = 665.
        let times: Vec<f64> = (0..20).map(f64::from).collect();
        let values: Vec<f64> = times.iter().map(|t| t % 2.0).collect();
        let line = robust_line(&times, &values).unwrap();
        let noise = (0.5 / 0.674_489_750_196_081_7_f64).powi(2) * 20.0 / 18.0;
        assert_eq!((line.slope, line.level), (0.0, 0.5));
        assert!((line.noise_variance / noise - 1.0).abs() < 1e-12);
        assert!((line.slope_variance / (noise / 665.0) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn fewest_points_of_a_line_are_three_and_of_a_robust_one_five() {
        let of = |fit: Fit, n: usize| {
            let times: Vec<f64> = (0..n).map(|t| t as f64).collect();
            fit(&times, &times)
        };
        assert_eq!(of(least_squares_line, 3).unwrap().slope, 1.0);
        let too_few = |needed, given| Err(Reason::TooFew { needed, given });
        assert_eq!(of(least_squares_line, 2), too_few(3, 2));
        assert_eq!(of(robust_line, 5).unwrap().slope, 1.0);
        assert_eq!(of(robust_line, 4), too_few(5, 4));
        let endless = Err(Reason::OutOfRange { argument: "limit" });
        let meeting =
            |limit, from| exact_line(1.0).meeting(limit, from, Confidence::P90, Covering::Line);
        assert_eq!(meeting(Limit::AtMost(f64::INFINITY), 0.0), endless);
        assert_eq!(meeting(Limit::AtMost(0.0), f64::INFINITY), endless);
    }

    #[test]
    fn values_without_scatter_meet_their_limit_when_their_line_does() {
        // Tenths can't be written in binary, so the rests are rounding and not quite 0.
        let times: Vec<f64> = (0..20).map(f64::from).collect();
        let values: Vec<f64> = times.iter().map(|t| 7.0 - 0.1 * t).collect();
        for fit in [least_squares_line as Fit, robust_line as Fit] {
            let line = fit(&times, &values).unwrap();
            for covering in [Covering::Line, Covering::NextValue] {
                let meeting = line
                    .meeting(Limit::AtLeast(4.0), 19.0, Confidence::P99, covering)
                    .unwrap();
                for time in [meeting.at, meeting.earliest, meeting.latest] {
                    assert!((time.unwrap() - 30.0).abs() < 1e-9, "{meeting:?}");
                }
            }
        }
    }

    #[test]
    fn limit_that_an_edge_has_passed_already_is_met_now() {
        // Two days after the centre the line reaches t √(0.25 + 4 · 0.04) = 0.64 t to each side, the next value
        // t √1.16 = 1.08 t. A limit 0.9 t above a level line is reached by the one where 0.25 + 0.04 d² = 0.81, d = √14.
        let t = 2.919_985_580_355_516;
        let line = TrendLine {
            level_variance: 0.25,
            slope_variance: 0.04,
            noise_variance: 0.75,
            degrees_of_freedom: 2.0,
            ..exact_line(0.0)
        };
        let meeting =
            |limit, covering| line.meeting(limit, 5.0, Confidence::P90, covering).unwrap();
        for limit in [Limit::AtMost(1.0 + 0.9 * t), Limit::AtLeast(1.0 - 0.9 * t)] {
            let of_line = meeting(limit, Covering::Line);
            assert_eq!((of_line.at, of_line.latest), (None, None));
            assert!((of_line.earliest.unwrap() - (3.0 + 14.0_f64.sqrt())).abs() < 1e-9);
            let of_next = meeting(limit, Covering::NextValue);
            assert_eq!(
                (of_next.at, of_next.earliest, of_next.latest),
                (None, Some(5.0), None)
            );
        }
        // Passed by the lower edge too: 1 − 0.64 t is above 1 − 0.7 t, and 1 − 1.08 t is not.
        for (covering, latest) in [(Covering::Line, Some(5.0)), (Covering::NextValue, None)] {
            let met = meeting(Limit::AtMost(1.0 - 0.7 * t), covering);
            assert_eq!(
                (met.at, met.earliest, met.latest),
                (Some(5.0), Some(5.0), latest)
            );
        }
    }
}
