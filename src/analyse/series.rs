//! A series of one number a cycle: does it drift, did it jump, when does it meet its limit.
//!
//! What is known to move the number (program, first cycle of the day, load size, pulses) is taken off first, by medians,
//! so that a few wild cycles don't matter. Knows no units and no stages. Read [`Series::study`] first.

use crate::stats::forecast::{Covering, Limit, Meeting, robust_line};
use crate::stats::interval::Confidence;
use crate::stats::mann_kendall::mann_kendall;
use crate::stats::pettitt::pettitt_test;
use crate::stats::serial_correlation::{Correction, variance_factor};
use crate::stats::summary::autocorrelation;
use crate::stats::theil_sen::{
    theil_sen_slope, theil_sen_slope_beyond_zero, theil_sen_with_variance_factor,
};
use std::collections::{BTreeMap, BTreeSet};

/// The fewest points that are studied.
pub const FEWEST_POINTS: usize = 20;
/// The places at which a drift may begin.
const N_HINGES: usize = 40;
/// A p that no question accepts, whatever else it finds.
const PLAIN_CHANCE: f64 = 0.25;
/// How many lags of autocorrelation are allowed for, as Hamed and Rao propose.
const N_LAGS: usize = 3;

/// One cycle's number and what is known to move it.
#[derive(Debug, Clone, PartialEq)]
pub struct Point<'p> {
    /// When, in days.
    pub days: f64,
    /// The number; the logarithm where effects multiply.
    pub value: f64,
    /// The program.
    pub program: &'p str,
    /// Whether it was the first cycle of the day.
    pub first_of_day: bool,
    /// The size of the load, where known.
    pub size: Option<f64>,
    /// The number of pulses, where known.
    pub n_pulses: Option<u32>,
    /// Where it comes from, for whoever made the series.
    pub row: usize,
}

/// Points in order of time, with what moves them taken off.
#[derive(Debug, Clone)]
pub struct Series<'p> {
    /// The points in order of time.
    points: Vec<Point<'p>>,
    /// For each point the place of its program among `programs`.
    program_of: Vec<usize>,
    /// Their values, less what is allowed for.
    rests: Vec<f64>,
    /// The programs in order of name, with the usual value of each and the number of its points.
    programs: Vec<(&'p str, f64, usize)>,
    /// What was allowed for, in words.
    pub allowed_for: Vec<&'static str>,
}

/// What a series shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Study {
    /// The p of a drift.
    pub p_drift: f64,
    /// Change per day.
    pub slope: f64,
    /// The interval of the change per day.
    pub slope_low: f64,
    /// The upper end of it.
    pub slope_high: f64,
    /// The change over the whole series along the drift.
    pub change: f64,
    /// The p of a jump.
    pub p_step: f64,
    /// The first point after the jump.
    pub step_at: usize,
    /// By how much the middle jumped.
    pub step: f64,
    /// The half-width of the interval of the jump.
    pub step_within: f64,
    /// Which of the two fits better.
    pub shape: Shape,
    /// The spread about the better fit, as a standard deviation.
    pub spread: f64,
    /// By how much likeness of neighbours widens variances; at least 1.
    pub variance_factor: f64,
    /// The first point of the drift: 0, or later where the series was level before.
    pub onset: usize,
}

/// Whether a change is steady or sudden.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Steady.
    Drift,
    /// Sudden.
    Step,
}

impl<'p> Series<'p> {
    /// A series of these points; `None` if there are too few.
    pub fn of(mut points: Vec<Point<'p>>) -> Option<Self> {
        points.retain(|point| point.value.is_finite() && point.days.is_finite());
        points.sort_by(|a, b| a.days.total_cmp(&b.days).then(a.row.cmp(&b.row)));
        let mut allowed_for = Vec::new();
        // The first cycle of a day warms a cold chamber, which adds to it rather than multiplies it; where the others
        // suffice, it is left out.
        let n_usual = points.iter().filter(|point| !point.first_of_day).count();
        let suffices = n_usual.saturating_mul(10) >= points.len().saturating_mul(6);
        if n_usual < points.len() && n_usual >= FEWEST_POINTS && suffices {
            points.retain(|point| !point.first_of_day);
            allowed_for.push("first cycle of the day");
        }
        if points.len() < FEWEST_POINTS {
            return None;
        }
        let names: BTreeSet<&'p str> = points.iter().map(|point| point.program).collect();
        let programs: Vec<_> = names.into_iter().map(|name| (name, 0.0, 0)).collect();
        let program_of = points
            .iter()
            .map(|point| programs.partition_point(|(name, ..)| *name < point.program))
            .collect();
        let mut series = Series {
            rests: points.iter().map(|point| point.value).collect(),
            points,
            program_of,
            programs,
            allowed_for: Vec::new(),
        };
        series.allow_for(0.0);
        // Programs that were run at different times must not take the drift with them: once more, about the drift.
        let days: Vec<f64> = series.points.iter().map(|point| point.days).collect();
        let slope = drawn_in_slope(&days, &series.rests);
        series.rests = series.points.iter().map(|point| point.value).collect();
        series.allowed_for = allowed_for;
        series.allow_for(slope);
        Some(series)
    }

    /// The points in order of time.
    pub fn points(&self) -> &[Point<'p>] {
        &self.points
    }

    /// Takes off what moves the values, judged about a drift of so much a day.
    fn allow_for(&mut self, drift: f64) {
        let middle_day = median(self.points.iter().map(|point| point.days).collect());
        for (rest, point) in self.rests.iter_mut().zip(&self.points) {
            *rest -= drift * (point.days - middle_day);
        }
        let mut by_program: Vec<Vec<f64>> = vec![Vec::new(); self.programs.len()];
        for (rest, program) in self.rests.iter().zip(&self.program_of) {
            if let Some(rests) = by_program.get_mut(*program) {
                rests.push(*rest);
            }
        }
        for ((_, middle, n), rests) in self.programs.iter_mut().zip(by_program) {
            *n = rests.len();
            *middle = median(rests);
        }
        if self.programs.len() > 1 {
            self.allowed_for.push("program");
        }
        for (rest, program) in self.rests.iter_mut().zip(&self.program_of) {
            *rest -= self
                .programs
                .get(*program)
                .map_or(0.0, |(_, middle, _)| *middle);
        }
        self.allow_for_group("first cycle of the day", |point| {
            Some(u32::from(point.first_of_day))
        });
        self.allow_for_group("pulses", |point| point.n_pulses);
        self.allow_for_size();
        for (rest, point) in self.rests.iter_mut().zip(&self.points) {
            *rest += drift * (point.days - middle_day);
        }
    }

    /// Takes off the median of each group that is large enough; the others keep their rest.
    fn allow_for_group(&mut self, words: &'static str, group: impl Fn(&Point<'p>) -> Option<u32>) {
        let mut groups: BTreeMap<u32, Vec<f64>> = BTreeMap::new();
        for (rest, point) in self.rests.iter().zip(&self.points) {
            if let Some(group) = group(point) {
                groups.entry(group).or_default().push(*rest);
            }
        }
        if groups.len() < 2 {
            return;
        }
        let middles: BTreeMap<u32, f64> = groups
            .into_iter()
            .filter(|(_, rests)| rests.len() >= 5)
            .map(|(group, rests)| (group, median(rests)))
            .collect();
        for (rest, point) in self.rests.iter_mut().zip(&self.points) {
            *rest -= group(point)
                .and_then(|group| middles.get(&group))
                .copied()
                .unwrap_or(0.0);
        }
        self.allowed_for.push(words);
    }

    /// Takes off the slope on load size, if there surely is one.
    fn allow_for_size(&mut self) {
        let sized: Vec<(f64, f64)> = self
            .rests
            .iter()
            .zip(&self.points)
            .filter_map(|(rest, point)| Some((point.size?, *rest)))
            .collect();
        if sized.len() < FEWEST_POINTS || sized.len() < self.points.len() / 2 {
            return;
        }
        let (sizes, rests): (Vec<f64>, Vec<f64>) = sized.iter().copied().unzip();
        self.allowed_for.push("load size");
        // A rank correlation within chance needs no slope.
        let mut by_size = sized.clone();
        by_size.sort_by(|a, b| a.0.total_cmp(&b.0));
        let ordered: Vec<f64> = by_size.iter().map(|(_, rest)| *rest).collect();
        if mann_kendall(&ordered).map_or(1.0, |kendall| kendall.p()) > 0.05 {
            return;
        }
        let Ok(Some(slope)) = theil_sen_slope_beyond_zero(&sizes, &rests, Confidence::P99) else {
            return;
        };
        let middle = median(sizes);
        for (rest, point) in self.rests.iter_mut().zip(&self.points) {
            *rest -= point.size.map_or(0.0, |size| (size - middle) * slope);
        }
    }

    /// Studies the series; `None` where it does not vary.
    pub fn study(&self) -> Option<Study> {
        let kendall = mann_kendall(&self.rests).ok()?;
        let days: Vec<f64> = self.points.iter().map(|point| point.days).collect();
        let onset = find_onset(&days, &self.rests);
        let onset_day = *days.get(onset)?;
        let (drift_days, drift_rests) = (days.get(onset..)?, self.rests.get(onset..)?);
        let slope = drawn_in_slope(drift_days, drift_rests);
        let about_line: Vec<f64> = days
            .iter()
            .zip(&self.rests)
            .map(|(days, rest)| rest - slope * (days - onset_day).max(0.0))
            .collect();
        let middle = median(about_line.clone());
        let about_line: Vec<f64> = about_line.iter().map(|rest| rest - middle).collect();
        let pettitt = pettitt_test(&self.rests).ok()?;
        let (before, after) = self.rests.split_at_checked(pettitt.n_before)?;
        let (low, high) = (median(before.to_vec()), median(after.to_vec()));
        let about_step: Vec<f64> = before
            .iter()
            .map(|rest| rest - low)
            .chain(after.iter().map(|rest| rest - high))
            .collect();
        let cost = |rests: &[f64]| rests.iter().map(|rest| rest.abs()).sum::<f64>();
        let (shape, about) = if cost(&about_step) < cost(&about_line) {
            (Shape::Step, about_step)
        } else {
            (Shape::Drift, about_line)
        };
        // What chance alone explains before neighbours' likeness is allowed for, it explains after that too.
        let is_chance = kendall.p().min(p_of_step(pettitt.u, self.rests.len(), 1.0)) > PLAIN_CHANCE;
        // Likeness is judged about the better fit: a jump leaves waves about a line, which are none.
        let factor = if is_chance { 1.0 } else { likeness(&about) };
        let (_, p_drift) = kendall.with_variance_factor(factor).ok()?;
        let (slope, slope_low, slope_high) = if is_chance {
            (slope, f64::NEG_INFINITY, f64::INFINITY)
        } else {
            let confidence = Confidence::P90;
            let line =
                theil_sen_with_variance_factor(drift_days, drift_rests, confidence, factor).ok()?;
            (line.slope, line.interval.low, line.interval.high)
        };
        let spread = 1.482_602_218_505_602 * median(about.iter().map(|rest| rest.abs()).collect());
        let span = days.last()? - onset_day;
        // The standard error of a median is 1.2533 times that of a mean (normal values); 1.645 for 90 %.
        let parts = 1.0 / before.len().max(1) as f64 + 1.0 / after.len().max(1) as f64;
        Some(Study {
            p_drift,
            slope,
            slope_low,
            slope_high,
            change: slope * span,
            p_step: p_of_step(pettitt.u, self.rests.len(), factor),
            step_at: pettitt.n_before,
            step: high - low,
            step_within: 1.645 * 1.2533 * spread * (parts * factor).sqrt(),
            shape,
            spread,
            variance_factor: factor,
            onset,
        })
    }

    /// The change per day within one program, along the drift.
    pub fn slope_in(&self, program: &str, study: &Study) -> Option<f64> {
        let (days, rests): (Vec<f64>, Vec<f64>) = self
            .points
            .iter()
            .zip(&self.rests)
            .skip(study.onset)
            .filter(|(point, _)| point.program == program)
            .map(|(point, rest)| (point.days, *rest))
            .unzip();
        if days.len() < FEWEST_POINTS / 2 {
            return None;
        }
        theil_sen_slope(&days, &rests).ok()
    }

    /// The values at the beginning and at the end of the drift, in the commonest program.
    pub fn along(&self, study: &Study) -> (f64, f64) {
        let usual = self
            .programs
            .iter()
            .max_by_key(|(_, _, n)| *n)
            .map_or(0.0, |(_, usual, _)| *usual);
        let start = self.points.get(study.onset).map_or(0.0, |point| point.days);
        let at_start = median(
            self.points
                .iter()
                .zip(&self.rests)
                .map(|(point, rest)| rest - study.slope * (point.days - start).max(0.0))
                .collect(),
        );
        (usual + at_start, usual + at_start + study.change)
    }

    /// The programs and their usual value, without those that have less than a twentieth of the points.
    pub fn programs(&self) -> impl Iterator<Item = (&str, f64, usize)> {
        let fewest = self.points.len() / 20;
        self.programs
            .iter()
            .copied()
            .filter(move |(_, _, n)| *n >= fewest.max(3))
    }

    /// When the usual cycle of a program meets a limit if the drift goes on, with the robust line and its interval
    /// ([`crate::stats::forecast`]); `None` where the line goes away from the limit or the program is not in the series.
    pub fn meets(&self, limit: f64, program: &str, study: &Study) -> Option<Meeting> {
        let of_program = self.programs.iter().find(|(name, ..)| *name == program);
        let (_, usual, n_program) = *of_program?;
        let days: Vec<f64> = self
            .points
            .iter()
            .skip(study.onset)
            .map(|point| point.days)
            .collect();
        let mut line = robust_line(&days, self.rests.get(study.onset..)?)
            .ok()?
            .widened(study.variance_factor)
            .ok()?;
        if self.programs.len() > 1 {
            // The program's usual value is itself a median of so many cycles: π/2 times the variance of a mean.
            let n = n_program.max(1) as f64;
            line.level_variance += std::f64::consts::FRAC_PI_2 * line.noise_variance / n;
        }
        let last = *days.last()?;
        let limit = Limit::AtMost(limit - usual);
        line.meeting(limit, last, Confidence::P90, Covering::Line)
            .ok()
    }
}

/// Values drawn in to some six standard deviations about their median, so that a wild one bends nothing.
fn draw_in(values: &[f64]) -> Vec<f64> {
    let middle = median(values.to_vec());
    let far = 8.0 * median(values.iter().map(|value| (value - middle).abs()).collect()).max(1e-12);
    values
        .iter()
        .map(|value| (value - middle).clamp(-far, far))
        .collect()
}

/// The least-squares slope of values that were drawn in.
fn drawn_in_slope(days: &[f64], values: &[f64]) -> f64 {
    slope_of(days, &draw_in(values))
}

/// The least-squares slope; 0 where all days are one.
fn slope_of(days: &[f64], values: &[f64]) -> f64 {
    let n = values.len().max(1) as f64;
    let middle_day = days.iter().sum::<f64>() / n;
    let mean = values.iter().sum::<f64>() / n;
    let (mut along, mut spread) = (0.0, 0.0);
    for (day, value) in days.iter().zip(values) {
        along += (day - middle_day) * (value - mean);
        spread += (day - middle_day) * (day - middle_day);
    }
    if spread > 0.0 { along / spread } else { 0.0 }
}

/// By how much likeness of neighbours widens variances, after Hamed and Rao; 1 where too few values tell.
fn likeness(rests: &[f64]) -> f64 {
    let correction = Correction::HamedRao { n_lags: N_LAGS };
    variance_factor(rests, correction)
        .ok()
        .and_then(|factor| factor.used)
        .unwrap_or(1.0)
}

/// Where a drift began after a level time: the hinge of least squares of a level and a line from it on (D. J. Hudson, JASA
/// 61, 1966, 1097-1129), if it is so much better than one line that it pays for the place it chooses (Schwarz, Annals of
/// Statistics 6, 1978, 461-464), else 0.
fn find_onset(days: &[f64], rests: &[f64]) -> usize {
    let n = rests.len();
    let size = n as f64;
    let drawn = draw_in(rests);
    // As many values as would tell as much if neighbours were not alike (first-order autocorrelation about the line:
    // Bayley and Hammersley, J. R. Statist. Soc. Supplement 8, 1946, 184-197).
    let slope = slope_of(days, &drawn);
    let about: Vec<f64> = days
        .iter()
        .zip(&drawn)
        .map(|(day, rest)| rest - slope * day)
        .collect();
    let alike = autocorrelation(&about, 1).unwrap_or(0.0).clamp(0.0, 0.95);
    let n_telling = size * (1.0 - alike) / (1.0 + alike);
    let (mut sy, mut syy) = (0.0, 0.0);
    for y in &drawn {
        sy += y;
        syy += y * y;
    }
    let cost = |from: usize| {
        let start = days.get(from).copied().unwrap_or(0.0);
        let (mut sx, mut sxx, mut sxy) = (0.0, 0.0, 0.0);
        // Days are in order: those before `from` lie on the level, where x is 0.
        for (day, y) in days.iter().zip(&drawn).skip(from) {
            let x: f64 = day - start;
            sx += x;
            sxx += x * x;
            sxy += x * y;
        }
        let (vx, vxy, vy) = (
            sxx - sx * sx / size,
            sxy - sx * sy / size,
            syy - sy * sy / size,
        );
        if vx > 0.0 { vy - vxy * vxy / vx } else { vy }
    };
    let straight = cost(0);
    let (best, at) = (1..N_HINGES)
        .map(|k| n.saturating_mul(k) / N_HINGES)
        .filter(|at| n.saturating_sub(*at) >= FEWEST_POINTS)
        .map(|at| (cost(at), at))
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .unwrap_or((straight, 0));
    let gain = n_telling * (straight / best.max(1e-300)).ln();
    if gain > 2.0 * size.ln() { at } else { 0 }
}

/// Pettitt's p with the variance so many times larger, for neighbours that are alike.
fn p_of_step(u: f64, n: usize, variance_factor: f64) -> f64 {
    let n = n as f64;
    let p = 2.0 * (-6.0 * u * u / variance_factor / (n * n * n + n * n)).exp();
    p.min(1.0)
}

/// The median; 0 of nothing.
pub fn median(mut values: Vec<f64>) -> f64 {
    let n = values.len();
    if n == 0 {
        return 0.0;
    }
    let (lower, upper, _) = values.select_nth_unstable_by(n / 2, f64::total_cmp);
    let below = lower.iter().copied().max_by(f64::total_cmp);
    match below {
        Some(below) if n.is_multiple_of(2) => f64::midpoint(below, *upper),
        _ => *upper,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Noise that is the same each time: the fractional parts of multiples of the golden ratio, about 0, in units of about
    /// one standard deviation.
    fn noise(n: usize) -> f64 {
        let share = (n as f64 * 0.618_033_988_749_894_9).fract();
        (share - 0.5) * 12.0_f64.sqrt()
    }

    fn series(n: usize, value: impl Fn(usize) -> f64) -> Series<'static> {
        let points = (0..n)
            .map(|at| Point {
                days: 740_000.0 + at as f64,
                value: value(at),
                program: if at.is_multiple_of(3) {
                    "long"
                } else {
                    "usual"
                },
                first_of_day: false,
                size: None,
                n_pulses: None,
                row: at,
            })
            .collect();
        Series::of(points).unwrap()
    }

    fn program(at: usize) -> f64 {
        if at.is_multiple_of(3) { 5.0 } else { 0.0 }
    }

    #[test]
    fn level_series_shows_nothing() {
        let study = series(120, |at| 7.0 + program(at) + noise(at))
            .study()
            .unwrap();
        assert!(study.p_drift > 0.05 && study.p_step > 0.05, "{study:?}");
    }

    #[test]
    fn drift_is_measured_within_programs() {
        // Planted: 0.05 a day, far less a day than programs differ.
        let series = series(120, |at| 7.0 + program(at) + noise(at) + 0.05 * at as f64);
        let study = series.study().unwrap();
        assert!(study.p_drift < 1e-6);
        assert_eq!((study.shape, study.onset), (Shape::Drift, 0));
        assert!(
            study.slope_low <= 0.05 && 0.05 <= study.slope_high,
            "{study:?}"
        );
        assert_eq!(series.allowed_for, ["program"]);
    }

    #[test]
    fn jump_is_told_from_a_drift() {
        let study = series(120, |at| {
            program(at) + noise(at) + if at < 70 { 0.0 } else { 4.0 }
        })
        .study()
        .unwrap();
        assert_eq!(study.shape, Shape::Step);
        assert!(study.p_step < 1e-6);
        assert!((68..=72).contains(&study.step_at), "{study:?}");
        assert!(
            (study.step - 4.0).abs() <= study.step_within.max(0.6),
            "{study:?}"
        );
    }

    #[test]
    fn drift_after_a_level_time_has_its_onset() {
        let study = series(160, |at| {
            program(at) + noise(at) + 0.15 * at.saturating_sub(90) as f64
        })
        .study()
        .unwrap();
        assert_eq!(study.shape, Shape::Drift);
        assert!((78..=104).contains(&study.onset), "{study:?}");
        assert!((study.slope - 0.15).abs() < 0.03, "{study:?}");
    }

    #[test]
    fn limit_is_met_where_the_planted_line_meets_it() {
        // 0.1 a day from 0: at 20 after 200 days for the usual program, after 150 days for the long one, which is 5 higher.
        let series = series(120, |at| program(at) + noise(at) + 0.1 * at as f64);
        let study = series.study().unwrap();
        for (program, day) in [("usual", 740_200.0), ("long", 740_150.0)] {
            let meeting = series.meets(20.0, program, &study).unwrap();
            assert!((meeting.at.unwrap() - day).abs() < 6.0, "{meeting:?}");
            assert!(meeting.earliest.unwrap() < day && day < meeting.latest.unwrap());
        }
        assert_eq!(series.meets(20.0, "another", &study), None);
    }

    #[test]
    fn too_few_points_and_numbers_that_are_none_make_no_series() {
        assert!(Series::of(Vec::new()).is_none());
        let mut points: Vec<Point> = series(30, noise).points().to_vec();
        points
            .iter_mut()
            .take(15)
            .for_each(|point| point.value = f64::NAN);
        assert!(Series::of(points).is_none());
    }
}
