//! Leak tests: a rate that creeps towards its limit, or jumps, though every test passes. Read [`find_leaks`] first.

use super::Asking;
use super::catalogue::FindingKind;
use super::durations::{evidence_of, forecast_of, say_alongside, trim_number};
use super::finding::{Effect, Finding, Subject};
use super::frame::{Frame, day_of};
use super::question::Question;
use super::series::{Point, Series, Shape, Study};
use super::words::LEVEL;
use crate::measure::quantity::LeakRate;
use crate::reconcile::history::History;
use crate::record::cycle::LeakResult;
use std::collections::BTreeMap;

/// The least change that is worth a meeting's time, as a share of the limit, or of the usual rate where none is printed.
const LEAST_CHANGE: f64 = 0.10;

/// Asks whether leak rates creep or jumped.
pub fn find_leaks(history: &History, frame: &Frame, asking: &mut Asking) {
    let mut by_unit: BTreeMap<&str, Vec<(Point, LeakResult)>> = BTreeMap::new();
    for (at, row) in frame.cycles.iter().enumerate() {
        let leak = history
            .cycles
            .get(row.cycle.0)
            .and_then(|known| known.cycle.leak.as_ref());
        let (Some(leak), Some(days)) = (leak, row.days()) else {
            continue;
        };
        let point = Point {
            days,
            value: leak.value.rate.pascal_per_minute(),
            program: String::new(),
            first_of_day: false,
            size: None,
            n_pulses: None,
            row: at,
        };
        by_unit
            .entry(&row.unit)
            .or_default()
            .push((point, leak.value));
    }
    let mut question = Question::of(FindingKind::LeakCreep);
    for (unit, tests) in by_unit {
        let points = tests.iter().map(|(point, _)| point.clone()).collect();
        let Some(series) = Series::of(points) else {
            continue;
        };
        let Some(study) = series.study() else {
            continue;
        };
        let Some((_, last)) = tests.iter().max_by(|a, b| a.0.days.total_cmp(&b.0.days)) else {
            continue;
        };
        for p in [study.p_drift, study.p_step] {
            question.bear_on(unit, p);
        }
        ask(history, frame, unit, (&series, &study), last, &mut question);
    }
    asking.take(FindingKind::LeakCreep, question.answer());
}

fn ask(
    history: &History,
    frame: &Frame,
    unit: &str,
    (series, study): (&Series, &Study),
    last: &LeakResult,
    question: &mut Question,
) {
    let limit = last.limit.map(LeakRate::pascal_per_minute);
    let usual = series.programs().next().map_or(0.0, |(_, usual, _)| usual);
    let least = LEAST_CHANGE * limit.unwrap_or(usual).abs();
    let (change, p, other_p) = match study.shape {
        Shape::Drift => (study.change, study.p_drift, study.p_step),
        Shape::Step => (study.step, study.p_step, study.p_drift),
    };
    question.count(other_p);
    // A rate that falls is no trouble.
    if change < least {
        question.count(p);
        return;
    }
    question.compare(p, || {
        // In the unit of the printout.
        let per_pascal = last.rate.printed_number() / last.rate.pascal_per_minute();
        let symbol = last.rate.printed_unit().symbol();
        let shown = |pascal: f64| format!("{} {symbol}", trim_number(pascal * per_pascal));
        let forecast = match (study.shape, limit) {
            (Shape::Drift, Some(limit)) => {
                forecast_of(series, study, "", limit, format!("its limit of {}", shown(limit)))
            }
            _ => None,
        };
        let day = |point: Option<&Point>| {
            point.and_then(|point| day_of(point.days)).map_or_else(|| "?".to_owned(), |day| day.to_string())
        };
        let points = series.points();
        let said = match study.shape {
            Shape::Drift => {
                let (low, high) = series.along(study);
                let meets = forecast.as_ref().map_or(String::new(), |forecast| {
                    format!(
                        " If it goes on, it meets {} about {} ({} to {}).",
                        forecast.limit,
                        forecast.day,
                        forecast.earliest,
                        forecast.latest.map_or("open".to_owned(), |day| day.to_string()),
                    )
                });
                format!(
                    "The leak rate of {unit} creeps up: from about {} on {} to about {} on {}.{meets}",
                    shown(low),
                    day(points.get(study.onset)),
                    shown(high),
                    day(points.last()),
                )
            }
            Shape::Step => format!(
                "The leak rate of {unit} has been {} higher since {}.",
                shown(study.step),
                day(points.get(study.step_at)),
            ),
        };
        let subject = Subject { unit: Some(unit.to_owned()), ..Subject::default() };
        let mut finding = Finding::new(FindingKind::LeakCreep, subject, said)
            .of_matter(format!("leak of {unit}"));
        let (estimate, low, high, measure) = match study.shape {
            Shape::Drift => (
                7.0 * study.slope * per_pascal,
                7.0 * study.slope_low * per_pascal,
                7.0 * study.slope_high * per_pascal,
                "per week",
            ),
            Shape::Step => (
                study.step * per_pascal,
                (study.step - study.step_within) * per_pascal,
                (study.step + study.step_within) * per_pascal,
                "more",
            ),
        };
        finding.effect = Some(Effect {
            measure,
            estimate,
            low,
            high,
            level: LEVEL,
            said: format!(
                "{estimate:+.3} {symbol} {measure}, {low:+.3} to {high:+.3} with {:.0} % confidence, over {} tests.",
                100.0 * LEVEL,
                points.len(),
            ),
        });
        if study.shape == Shape::Step {
            let at = points.get(study.step_at).and_then(|point| day_of(point.days));
            say_alongside(history, frame, unit, at, &mut finding);
        }
        finding.forecast = forecast;
        finding
            .else_explains
            .push("Water left in the chamber, a chamber that was still warm, a gauge that drifts.".to_owned());
        finding.resting_on(evidence_of(frame, series))
    });
}
