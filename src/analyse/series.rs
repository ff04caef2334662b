//! A series of one number a cycle: does it drift, did it jump, when does it meet its limit.
//!
//! What is known to move the number (program, first cycle of the day, load size, pulses) is taken off first, by medians,
//! so that a few wild cycles don't matter. Knows no units and no stages. Read [`Series::study`] first.

use crate::stats::interval::Confidence;
use crate::stats::mann_kendall::mann_kendall;
use crate::stats::pettitt::pettitt_test;
use crate::stats::serial_correlation::{Correction, variance_factor};
use crate::stats::student::student_quantile_upper;
use crate::stats::theil_sen::theil_sen_with_variance_factor;
use std::collections::BTreeMap;

/// The fewest points that are studied.
pub const FEWEST_POINTS: usize = 20;
/// The level of every interval.
const LEVEL: f64 = 0.90;
/// How many lags of autocorrelation are allowed for, as Hamed and Rao propose.
const N_LAGS: usize = 3;

/// One cycle's number and what is known to move it.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// When, in days.
    pub days: f64,
    /// The number; the logarithm where effects multiply.
    pub value: f64,
    /// The program.
    pub program: String,
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
pub struct Series {
    /// The points in order of time.
    points: Vec<Point>,
    /// Their values, less what is allowed for.
    rests: Vec<f64>,
    /// The usual value of each program, and the number of its points.
    programs: BTreeMap<String, (f64, usize)>,
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
}

/// Whether a change is steady or sudden.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Steady.
    Drift,
    /// Sudden.
    Step,
}

/// When a line meets a limit, in days.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meeting {
    /// The likeliest day.
    pub at: f64,
    /// The earliest day of the 90 % interval.
    pub earliest: f64,
    /// The latest day of it, if the data give one.
    pub latest: Option<f64>,
}

impl Series {
    /// A series of these points; `None` if there are too few.
    pub fn of(mut points: Vec<Point>) -> Option<Self> {
        points.retain(|point| point.value.is_finite() && point.days.is_finite());
        if points.len() < FEWEST_POINTS {
            return None;
        }
        points.sort_by(|a, b| a.days.total_cmp(&b.days).then(a.row.cmp(&b.row)));
        let mut series = Series {
            rests: points.iter().map(|point| point.value).collect(),
            points,
            programs: BTreeMap::new(),
            allowed_for: Vec::new(),
        };
        series.allow_for();
        Some(series)
    }

    /// The points in order of time.
    pub fn points(&self) -> &[Point] {
        &self.points
    }

    fn allow_for(&mut self) {
        // The usual value of a program is that of its cycles that are not the first of a day, if there are such.
        let mut by_program: BTreeMap<&str, (Vec<f64>, Vec<f64>)> = BTreeMap::new();
        for point in &self.points {
            let (all, usual) = by_program.entry(&point.program).or_default();
            all.push(point.value);
            if !point.first_of_day {
                usual.push(point.value);
            }
        }
        self.programs = by_program
            .into_iter()
            .map(|(program, (all, usual))| {
                let middle = median(if usual.len() >= 3 { usual } else { all.clone() });
                (program.to_owned(), (middle, all.len()))
            })
            .collect();
        if self.programs.len() > 1 {
            self.allowed_for.push("program");
        }
        for (rest, point) in self.rests.iter_mut().zip(&self.points) {
            *rest -= self
                .programs
                .get(&point.program)
                .map_or(0.0, |(middle, _)| *middle);
        }
        self.allow_for_group("first cycle of the day", |point| {
            Some(u32::from(point.first_of_day))
        });
        self.allow_for_group("pulses", |point| point.n_pulses);
        self.allow_for_size();
    }

    /// Takes off the median of each group that is large enough; the others keep their rest.
    fn allow_for_group(&mut self, words: &'static str, group: impl Fn(&Point) -> Option<u32>) {
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
        let Ok(line) = theil_sen_with_variance_factor(&sizes, &rests, Confidence::P99, 1.0) else {
            return;
        };
        self.allowed_for.push("load size");
        if line.interval.low <= 0.0 && line.interval.high >= 0.0 {
            return;
        }
        let middle = median(sizes);
        for (rest, point) in self.rests.iter_mut().zip(&self.points) {
            *rest -= point.size.map_or(0.0, |size| (size - middle) * line.slope);
        }
    }

    /// Studies the series; `None` where it does not vary.
    pub fn study(&self) -> Option<Study> {
        let kendall = mann_kendall(&self.rests).ok()?;
        let correction = Correction::HamedRao { n_lags: N_LAGS };
        let factor = variance_factor(&self.rests, correction)
            .ok()
            .and_then(|factor| factor.used)
            .unwrap_or(1.0);
        let (_, p_drift) = kendall.with_variance_factor(factor).ok()?;
        let days: Vec<f64> = self.points.iter().map(|point| point.days).collect();
        let line =
            theil_sen_with_variance_factor(&days, &self.rests, Confidence::P90, factor).ok()?;
        let (step_at, p_step) = test_step(&self.rests, factor)?;
        let (before, after) = self.rests.split_at_checked(step_at)?;
        let (low, high) = (median(before.to_vec()), median(after.to_vec()));
        let about_line: Vec<f64> = days
            .iter()
            .zip(&self.rests)
            .map(|(days, rest)| rest - line.slope * days)
            .collect();
        let middle = median(about_line.clone());
        let about_line: Vec<f64> = about_line.iter().map(|rest| rest - middle).collect();
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
        let spread = 1.482_602_218_505_602 * median(about.iter().map(|rest| rest.abs()).collect());
        let span = days.last()? - days.first()?;
        // The standard error of a median is 1.2533 times that of a mean (normal values); 1.645 for 90 %.
        let parts = 1.0 / before.len().max(1) as f64 + 1.0 / after.len().max(1) as f64;
        Some(Study {
            p_drift,
            slope: line.slope,
            slope_low: line.interval.low,
            slope_high: line.interval.high,
            change: line.slope * span,
            p_step,
            step_at,
            step: high - low,
            step_within: 1.645 * 1.2533 * spread * (parts * factor).sqrt(),
            shape,
            spread,
            variance_factor: factor,
        })
    }

    /// The change per day within one program.
    pub fn slope_in(&self, program: &str) -> Option<f64> {
        let (days, rests): (Vec<f64>, Vec<f64>) = self
            .points
            .iter()
            .zip(&self.rests)
            .filter(|(point, _)| point.program == program)
            .map(|(point, rest)| (point.days, *rest))
            .unzip();
        if days.len() < FEWEST_POINTS / 2 {
            return None;
        }
        let line = theil_sen_with_variance_factor(&days, &rests, Confidence::P90, 1.0).ok()?;
        Some(line.slope)
    }

    /// The programs and their usual value, without those that have less than a twentieth of the points.
    pub fn programs(&self) -> impl Iterator<Item = (&str, f64, usize)> {
        let fewest = self.points.len() / 20;
        self.programs
            .iter()
            .filter(move |(_, (_, n))| *n >= fewest.max(3))
            .map(|(program, (middle, n))| (program.as_str(), *middle, *n))
    }

    /// When the usual cycle of a program meets a limit if the drift goes on: the line of least squares, and Fieller's
    /// interval of the day at which it has this value (J. R. Statist. Soc. B 16, 1954, 175-185).
    ///
    /// Rests further than four spreads from the drift are drawn in to that, so that a wild cycle does not bend the line
    /// (Huber, Robust Statistics, 1981, section 7; one step).
    pub fn meets(&self, limit: f64, program: &str, study: &Study) -> Option<Meeting> {
        let (usual, n_program) = *self.programs.get(program)?;
        let n = self.points.len() as f64;
        let middle_day = self.points.iter().map(|point| point.days).sum::<f64>() / n;
        let at = |point: &Point| point.days - middle_day;
        let centre = median(
            self.points
                .iter()
                .zip(&self.rests)
                .map(|(point, rest)| rest - study.slope * at(point))
                .collect(),
        );
        let far = 4.0 * study.spread.max(1e-9);
        let values: Vec<f64> = self
            .points
            .iter()
            .zip(&self.rests)
            .map(|(point, rest)| {
                let line = centre + study.slope * at(point);
                line + (rest - line).clamp(-far, far)
            })
            .collect();
        let mean = values.iter().sum::<f64>() / n;
        let spread_days: f64 = self.points.iter().map(|point| at(point) * at(point)).sum();
        if spread_days <= 0.0 {
            return None;
        }
        let slope = self
            .points
            .iter()
            .zip(&values)
            .map(|(point, value)| at(point) * (value - mean))
            .sum::<f64>()
            / spread_days;
        let rest: f64 = self
            .points
            .iter()
            .zip(&values)
            .map(|(point, value)| (value - mean - slope * at(point)).powi(2))
            .sum();
        let variance = rest / (n - 2.0) * study.variance_factor;
        let t = student_quantile_upper((1.0 - LEVEL) / 2.0, n - 2.0).ok()?;
        let height = limit - usual - mean;
        // The program's usual value is itself a median of so many cycles: π/2 times the variance of a mean.
        let own = if self.programs.len() > 1 {
            std::f64::consts::FRAC_PI_2 / n_program.max(1) as f64
        } else {
            0.0
        };
        let (t2v, level) = (t * t * variance, 1.0 / n + own);
        let a = slope * slope - t2v / spread_days;
        let b = slope * height;
        let c = height * height - t2v * level;
        let root = (b * b - a * c).max(0.0).sqrt();
        let likeliest = height / slope;
        if !likeliest.is_finite() || likeliest <= 0.0 {
            return None;
        }
        let (earliest, latest) = if a > 0.0 {
            ((b - root) / a, Some((b + root) / a))
        } else {
            // The slope may be nothing at all: only the near end is known.
            (((b - root) / a).max((b + root) / a), None)
        };
        Some(Meeting {
            at: middle_day + likeliest,
            earliest: middle_day + earliest.min(likeliest),
            latest: latest.map(|latest| middle_day + latest.max(likeliest)),
        })
    }
}

/// Pettitt's test for one jump: the first point after it, and the p with the variance so many times larger for
/// neighbours that are alike.
fn test_step(values: &[f64], variance_factor: f64) -> Option<(usize, f64)> {
    let test = pettitt_test(values).ok()?;
    let n = values.len() as f64;
    let p = 2.0 * (-6.0 * test.u * test.u / variance_factor / (n * n * n + n * n)).exp();
    Some((test.n_before, p.min(1.0)))
}

/// The median; 0 of nothing.
pub fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    let n = values.len();
    let at = |place: usize| values.get(place).copied().unwrap_or(0.0);
    match n {
        0 => 0.0,
        _ if n % 2 == 1 => at(n / 2),
        _ => f64::midpoint(at(n / 2 - 1), at(n / 2)),
    }
}
