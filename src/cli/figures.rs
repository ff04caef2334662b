//! What statistics add to the figures of reports: calls with the settings that the reports name, and no rule.
//!
//! `report` draws and doesn't compute, so the numbers are found here and handed in. Read [`share_interval`] first.

use crate::analyse::finding::Course;
use crate::report::findings::FindingRow;
use crate::report::lengths::{ControlLimits, FoundCourse, LengthSeries, LevelChange, MeetsLimit};
use crate::report::service::UnitSheet;
use crate::stats::individuals::{RangeConstants, individuals_chart};
use crate::stats::interval::Confidence;
use crate::stats::location::median;
use crate::stats::proportion_interval::{ProportionMethod, proportion_interval};
use crate::stats::robust_changes::{RobustSettings, robust_changes};
use chrono::NaiveDate;

/// So many lengths at least stand on each side of a change that is marked.
const LEAST_BESIDE: usize = 8;

/// The exact interval of a share, Clopper and Pearson's at 95 %; `None` of nothing.
pub fn share_interval(n: u64, of: u64) -> Option<(f64, f64)> {
    let interval =
        proportion_interval(n, of, ProportionMethod::ClopperPearson, Confidence::P95).ok()?;
    Some((interval.low, interval.high))
}

/// Adds the control limits of the individuals chart (from the median moving range, so that a few odd cycles don't widen
/// them) and the changes of level that single odd cycles can't make. A series that never varies has neither.
pub fn add_limits(series: &mut LengthSeries) {
    let seconds: Vec<f64> = series.lengths.iter().map(|length| length.seconds).collect();
    let Ok(chart) = individuals_chart(&seconds, RangeConstants::Median) else {
        return;
    };
    if chart.sigma <= 0.0 {
        return;
    }
    series.control = Some(ControlLimits {
        centre: chart.centre,
        lower: chart.lower.max(0.0),
        upper: chart.upper,
    });
    let settings = RobustSettings::of(chart.sigma, seconds.len());
    let Ok(changes) = robust_changes(&seconds, settings) else {
        return;
    };
    let ends = changes.iter().copied().chain([seconds.len()]);
    let starts = [0].into_iter().chain(changes.iter().copied());
    let levels: Vec<(usize, usize, f64)> = starts
        .zip(ends)
        .filter_map(|(from, to)| {
            let part = seconds.get(from..to)?;
            Some((from, part.len(), median(part).ok()?))
        })
        .collect();
    series.changes = levels
        .iter()
        .zip(levels.iter().skip(1))
        .filter(|((_, n_before, _), (_, n_after, _))| {
            *n_before >= LEAST_BESIDE && *n_after >= LEAST_BESIDE
        })
        .map(|((_, _, before), (first_after, _, after))| LevelChange {
            first_after: *first_after,
            before: *before,
            after: *after,
        })
        .collect();
}

/// Adds what was found of a series of lengths to it; `number` counts the findings from 1. A whole cycle is told what was
/// found of its stages, without a trend: it has none of its own.
pub fn mark_lengths(series: &mut LengthSeries, number: usize, row: &FindingRow) {
    let subject = &row.finding.subject;
    let (Some(stage), Some(course)) = (&subject.stage, &row.finding.course) else {
        return;
    };
    let is_own = series.stage.as_ref().is_none_or(|own| own == stage);
    if subject.unit.as_ref() != Some(&series.unit) || !is_own {
        return;
    }
    let points: Vec<(NaiveDate, f64)> = series
        .lengths
        .iter()
        .map(|length| (length.began.date(), length.seconds))
        .collect();
    let mut found = follow(course, &points, number);
    if series.stage.is_none() {
        found.trend = None;
    }
    let forecast = row.finding.forecast.as_ref();
    let forecast = forecast.filter(|forecast| forecast.program == series.program);
    if found.trend.is_some() {
        found.forecast = forecast.map(meets_limit);
    }
    series.found.push(found);
}

/// Adds what was found of a unit's leak rate to its sheet.
pub fn mark_leaks(sheet: &mut UnitSheet, number: usize, row: &FindingRow) {
    let subject = &row.finding.subject;
    let (None, Some(course)) = (&subject.stage, &row.finding.course) else {
        return;
    };
    let unit = sheet.leaks.last().map(|leak| leak.unit);
    let points: Vec<(NaiveDate, f64)> = sheet
        .leaks
        .iter()
        .filter(|leak| Some(leak.unit) == unit)
        .map(|leak| (leak.began.date(), leak.rate))
        .collect();
    let mut found = follow(course, &points, number);
    found.forecast = row.finding.forecast.as_ref().map(meets_limit);
    sheet.leak_found.push(found);
}

fn meets_limit(forecast: &crate::analyse::finding::Forecast) -> MeetsLimit {
    MeetsLimit {
        day: forecast.day,
        earliest: forecast.earliest,
        latest: forecast.latest,
    }
}

/// The course as it lies on these points: the slope is the finding's, the height the median of the points about it.
fn follow(course: &Course, points: &[(NaiveDate, f64)], number: usize) -> FoundCourse {
    let days = |from: NaiveDate, to: NaiveDate| to.signed_duration_since(from).num_days() as f64;
    let (jump, trend) = match *course {
        Course::Jumps { on } => (Some(on), None),
        Course::Multiplies { from, to, per_day } => {
            let levels: Vec<f64> = since(points, from)
                .map(|(day, value)| value / (per_day * days(from, day)).exp())
                .collect();
            let last = |level: f64| level * (per_day * days(from, to)).exp();
            let level = median(&levels).ok();
            (None, level.map(|level| [(from, level), (to, last(level))]))
        }
        Course::Adds { from, to, per_day } => {
            let levels: Vec<f64> = since(points, from)
                .map(|(day, value)| value - per_day * days(from, day))
                .collect();
            let last = |level: f64| level + per_day * days(from, to);
            let level = median(&levels).ok();
            (None, level.map(|level| [(from, level), (to, last(level))]))
        }
    };
    FoundCourse {
        finding: number,
        jump,
        trend,
        forecast: None,
    }
}

fn since(points: &[(NaiveDate, f64)], from: NaiveDate) -> impl Iterator<Item = (NaiveDate, f64)> {
    points.iter().copied().filter(move |(day, _)| *day >= from)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(n: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(2026, 1, n).unwrap()
    }

    #[test]
    fn trend_lies_on_points_that_follow_it() {
        // By hand: 100, 110, 120 on days 1, 2, 3, ten a day; and 100, 110, 121, a tenth more each day. A level before the
        // trend's first day does not count.
        let adds = [
            (day(1), 50.0),
            (day(2), 100.0),
            (day(3), 110.0),
            (day(4), 120.0),
        ];
        let course = Course::Adds {
            from: day(2),
            to: day(4),
            per_day: 10.0,
        };
        let found = follow(&course, &adds, 1);
        assert_eq!(found.trend, Some([(day(2), 100.0), (day(4), 120.0)]));
        let multiplies = [(day(2), 100.0), (day(3), 110.0), (day(4), 121.0)];
        let course = Course::Multiplies {
            from: day(2),
            to: day(4),
            per_day: 1.1_f64.ln(),
        };
        let [first, last] = follow(&course, &multiplies, 1).trend.unwrap();
        assert!((first.1 - 100.0).abs() < 1e-9 && (last.1 - 121.0).abs() < 1e-9);
        let nothing = follow(&course, &[], 1);
        assert_eq!(nothing.trend, None);
        let jump = follow(&Course::Jumps { on: day(3) }, &adds, 2);
        assert_eq!((jump.jump, jump.trend), (Some(day(3)), None));
    }
}
