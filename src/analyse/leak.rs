//! Leak tests: a rate that creeps towards its limit, or jumps, though every test passes. Read [`find_leaks`] first.

use super::Asking;
use super::catalogue::FindingKind;
use super::durations::{evidence_of, forecast_of, say_alongside, say_forecast};
use super::finding::{Course, Effect, Finding, Subject};
use super::frame::{Frame, day_of};
use super::phrase::{Phrase, number, signed, trimmed};
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
    let mut by_unit: BTreeMap<&str, Vec<(Point<'_>, LeakResult)>> = BTreeMap::new();
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
            program: "",
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
        let shown = |pascal: f64| {
            Phrase::of("phrase-measured")
                .and("value", trimmed(pascal * per_pascal))
                .and("symbol", symbol)
        };
        let forecast = match (study.shape, limit) {
            (Shape::Drift, Some(limit)) => {
                let said = Phrase::of("limit-rate").and("limit", shown(limit));
                forecast_of(series, study, "", limit, said)
            }
            _ => None,
        };
        let day = |point: Option<&Point>| point.and_then(|point| day_of(point.days));
        let points = series.points();
        let said = match study.shape {
            Shape::Drift => {
                let (low, high) = series.along(study);
                let creeps = Phrase::of("leak-creeps")
                    .and("unit", unit)
                    .and("low", shown(low))
                    .and("first", day(points.get(study.onset)))
                    .and("high", shown(high))
                    .and("last", day(points.last()));
                let meets = forecast
                    .as_ref()
                    .map(|forecast| say_forecast("forecast", forecast));
                Phrase::sentences([creeps].into_iter().chain(meets))
            }
            Shape::Step => Phrase::of("leak-jumped")
                .and("unit", unit)
                .and("change", shown(study.step))
                .and("day", day(points.get(study.step_at))),
        };
        let subject = Subject {
            unit: Some(unit.to_owned()),
            ..Subject::default()
        };
        let mut finding = Finding::new(FindingKind::LeakCreep, subject, said)
            .of_matter(format!("leak of {unit}"));
        let (estimate, low, high, measure, key) = match study.shape {
            Shape::Drift => (
                7.0 * study.slope * per_pascal,
                7.0 * study.slope_low * per_pascal,
                7.0 * study.slope_high * per_pascal,
                "per week",
                "effect-leak-weekly",
            ),
            Shape::Step => (
                study.step * per_pascal,
                (study.step - study.step_within) * per_pascal,
                (study.step + study.step_within) * per_pascal,
                "more",
                "effect-leak-step",
            ),
        };
        finding.effect = Some(Effect {
            measure,
            estimate,
            low,
            high,
            level: LEVEL,
            said: Phrase::of(key)
                .and("estimate", signed(estimate, 3))
                .and("symbol", symbol)
                .and("low", signed(low, 3))
                .and("high", signed(high, 3))
                .and("level", number(100.0 * LEVEL, 0))
                .and("n", points.len()),
        });
        if study.shape == Shape::Step {
            let at = points
                .get(study.step_at)
                .and_then(|point| day_of(point.days));
            say_alongside(history, frame, unit, at, &mut finding);
        }
        finding.forecast = forecast;
        finding.course = match study.shape {
            Shape::Drift => {
                day(points.get(study.onset))
                    .zip(day(points.last()))
                    .map(|(from, to)| {
                        let per_day = study.slope * per_pascal;
                        Course::Adds { from, to, per_day }
                    })
            }
            Shape::Step => day(points.get(study.step_at)).map(|on| Course::Jumps { on }),
        };
        finding.else_explains.push(Phrase::of("leak-else"));
        finding.resting_on(evidence_of(frame, series))
    });
}
