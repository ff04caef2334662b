//! Readings of a stage against the unit's own usual course, so that a weak injection, a low power or a slow leak shows
//! before an alarm does.
//!
//! Readings of a cycle are laid on the share of the stage that has passed; the usual course is the median of the unit's
//! cycles of the same program at each share. A cycle's deviation is the median over the shares, and the deviations make a
//! series like the lengths of stages. Read [`find_curves`] first.

use super::Asking;
use super::alongside::find_alongside;
use super::catalogue::FindingKind;
use super::durations::{evidence_of, point_of, say_allowed, say_within_days};
use super::finding::{Effect, Finding, Subject};
use super::frame::{Ending, Frame, StageRow, day_of};
use super::phrase::{Arg, Phrase, number, quoted_term, term, trimmed};
use super::question::Question;
use super::series::{Point, Series, Shape, Study, median};
use super::words::LEVEL;
use crate::measure::count::Counting;
use crate::measure::quantity::{AbsolutePressure, STANDARD_ATMOSPHERE};
use crate::parallel::Threads;
use crate::reconcile::history::History;
use crate::record::cycle::{Cycle, Measured, Purpose, QuantityKind, StageName};
use std::collections::BTreeMap;

/// The shares of a stage at which courses are compared.
const SHARES: [f64; 5] = [0.3, 0.5, 0.7, 0.85, 1.0];
/// The fewest cycles that make a usual course.
const FEWEST_CYCLES: usize = 10;
/// A change of less than this share of the usual spread between cycles is not worth a meeting's time.
const LEAST_SPREADS: f64 = 1.0;

/// A cycle's course of one quantity in one stage.
struct Course<'f> {
    stage: &'f StageRow,
    program: &'f str,
    values: [Option<f64>; SHARES.len()],
}

type Key<'f> = (&'f str, &'f StageName, QuantityKind);

/// Asks whether readings move away from their usual course.
pub fn find_curves(history: &History, frame: &Frame, threads: Threads, asking: &mut Asking) {
    let mut courses: BTreeMap<Key<'_>, Vec<Course<'_>>> = BTreeMap::new();
    for stage in &frame.stages {
        let Some(row) = frame.cycles.get(stage.row) else {
            continue;
        };
        if row.purpose != Purpose::Load || row.ending != Ending::Completed || !stage.ended_itself {
            continue;
        }
        let Some(known) = history.cycles.get(row.cycle.0) else {
            continue;
        };
        for (kind, values) in values_of(&known.cycle, &stage.stages) {
            let key = (row.unit.as_str(), &stage.name, kind);
            courses.entry(key).or_default().push(Course {
                stage,
                program: &row.program,
                values,
            });
        }
    }
    let courses: Vec<(Key<'_>, Vec<Course<'_>>)> = courses.into_iter().collect();
    let of_curve = |at: usize, question: &mut Question| {
        if let Some((key, courses)) = courses.get(at) {
            ask_of_curve(history, frame, *key, courses, question);
        }
    };
    let question = Question::of_each(FindingKind::CurveDrift, courses.len(), threads, of_curve);
    asking.take(FindingKind::CurveDrift, question.answer());
}

fn ask_of_curve(
    history: &History,
    frame: &Frame,
    key: Key<'_>,
    courses: &[Course<'_>],
    question: &mut Question,
) {
    let points = deviations(frame, courses);
    let Some(series) = Series::of(points) else {
        return;
    };
    let Some(study) = series.study() else {
        return;
    };
    for p in [study.p_drift, study.p_step] {
        question.bear_on(key.0, p);
    }
    ask(history, frame, key, (&series, &study), courses, question);
}

/// The values of each quantity at the shares of a stage; where the stage comes more than once, their mean.
fn values_of(cycle: &Cycle, stages: &[usize]) -> Vec<(QuantityKind, [Option<f64>; SHARES.len()])> {
    let ambient = cycle
        .ambient
        .as_ref()
        .map_or(STANDARD_ATMOSPHERE, |ambient| {
            ambient.value.absolute(STANDARD_ATMOSPHERE)
        });
    // One for each kind, and whether any reading was of it.
    let mut sums = [(false, [(0.0, 0_u32); SHARES.len()]); QuantityKind::ALL.len()];
    let mut readings: Vec<(f64, f64)> = Vec::new();
    for &ix in stages {
        let Some(stage) = cycle.stages.get(ix) else {
            continue;
        };
        let end = match cycle.stages.get(ix.saturating_add(1)) {
            Some(next) => Some(next.began.0),
            None => cycle.ended.as_ref().map(|ended| ended.value.0),
        };
        let Some(length) = end
            .map(|end| f64::from(end) - f64::from(stage.began.0))
            .filter(|length| *length > 0.0)
        else {
            continue;
        };
        for (kind, (is_read, slots)) in QuantityKind::ALL.iter().zip(&mut sums) {
            let of_kind = stage.readings.iter();
            let of_kind = of_kind.filter(|reading| reading.measured.kind() == *kind);
            readings.clear();
            readings.extend(of_kind.filter_map(|reading| {
                let share = (f64::from(reading.at.0) - f64::from(stage.began.0)) / length;
                Some((share, number_of(&reading.measured, ambient)?))
            }));
            if readings.is_empty() {
                continue;
            }
            *is_read = true;
            for (slot, share) in slots.iter_mut().zip(SHARES) {
                if let Some(value) = interpolate(&readings, share) {
                    slot.0 += value;
                    slot.1.add_one();
                }
            }
        }
    }
    let mean = |(sum, n): (f64, u32)| (n > 0).then(|| sum / f64::from(n));
    QuantityKind::ALL
        .iter()
        .zip(sums)
        .filter(|(_, (is_read, _))| *is_read)
        .map(|(kind, (_, slots))| (*kind, slots.map(mean)))
        .collect()
}

/// The number that is compared: a pressure as the logarithm of its absolute value, for pumps and leaks multiply it.
fn number_of(measured: &Measured, ambient: AbsolutePressure) -> Option<f64> {
    let number = match measured {
        Measured::Pressure(value) => {
            let pascal = value.absolute(ambient).pascal();
            return (pascal > 0.0).then(|| pascal.ln());
        }
        Measured::Temperature(value) => value.celsius(),
        Measured::Concentration(value) => value.milligrams_per_litre(),
        Measured::Humidity(value) => value.percent(),
        Measured::Power(value) => value.watts(),
        Measured::Conductivity(value) => value.microsiemens_per_centimetre(),
    };
    number.is_finite().then_some(number)
}

/// The value at a share, along straight lines between readings; before the first and after the last it is theirs.
fn interpolate(readings: &[(f64, f64)], share: f64) -> Option<f64> {
    let after = readings.iter().position(|(at, _)| *at >= share);
    let last = readings.last()?;
    let Some(after) = after else {
        return Some(last.1);
    };
    let (at1, value1) = *readings.get(after)?;
    let Some((at0, value0)) = after
        .checked_sub(1)
        .and_then(|before| readings.get(before))
        .copied()
    else {
        return Some(value1);
    };
    if at1 <= at0 {
        return Some(value1);
    }
    Some(value0 + (value1 - value0) * (share - at0) / (at1 - at0))
}

/// The usual course of a program: the medians at the shares.
fn usual_course(courses: &[&Course<'_>]) -> [Option<f64>; SHARES.len()] {
    std::array::from_fn(|at| {
        let values: Vec<f64> = courses
            .iter()
            .filter_map(|course| course.values.get(at).copied().flatten())
            .collect();
        (values.len() >= FEWEST_CYCLES).then(|| median(values))
    })
}

fn deviations<'f>(frame: &'f Frame, courses: &[Course<'_>]) -> Vec<Point<'f>> {
    let mut by_program: BTreeMap<&str, Vec<&Course<'_>>> = BTreeMap::new();
    for course in courses {
        by_program.entry(course.program).or_default().push(course);
    }
    let mut points = Vec::new();
    for courses in by_program.values() {
        let usual = usual_course(courses);
        for course in courses {
            let off: Vec<f64> = course
                .values
                .iter()
                .zip(usual)
                .filter_map(|(value, usual)| Some((*value)? - usual?))
                .collect();
            if !off.is_empty() {
                points.extend(point_of(frame, course.stage, median(off)));
            }
        }
    }
    points
}

fn ask(
    history: &History,
    frame: &Frame,
    (unit, stage, kind): (&str, &StageName, QuantityKind),
    (series, study): (&Series<'_>, &Study),
    courses: &[Course<'_>],
    question: &mut Question,
) {
    let (change, p, other_p) = match study.shape {
        Shape::Drift => (study.change, study.p_drift, study.p_step),
        Shape::Step => (study.step, study.p_step, study.p_drift),
    };
    question.count(other_p);
    if change.abs() < LEAST_SPREADS * study.spread || study.spread <= 0.0 {
        question.count(p);
        return;
    }
    question.compare(p, || {
        let direction = if change > 0.0 { "above" } else { "below" };
        let symbol = symbol_of(kind);
        let shown = |change: f64| {
            let (value, symbol) = match kind {
                QuantityKind::Pressure => (number(100.0 * (change.exp() - 1.0).abs(), 1), "%"),
                _ => (trimmed(change.abs()), symbol),
            };
            Phrase::of("phrase-measured")
                .and("value", value)
                .and("symbol", symbol)
        };
        let usual = courses
            .iter()
            .filter_map(|course| course.values.last().copied().flatten())
            .collect::<Vec<f64>>();
        let day = |at: usize| series.points().get(at).and_then(|point| day_of(point.days));
        let since = match study.shape {
            Shape::Drift => Phrase::of(format!("curve-moved-{direction}"))
                .and("change", shown(change))
                .and("first", day(study.onset))
                .and("last", day(series.points().len().saturating_sub(1))),
            Shape::Step => Phrase::of(format!("curve-since-{direction}"))
                .and("change", shown(change))
                .and("day", day(study.step_at)),
        };
        let said = match kind {
            QuantityKind::Pressure => Phrase::of("curve-said"),
            _ => Phrase::of("curve-said-usually")
                .and("usual", trimmed(median(usual)))
                .and("symbol", symbol),
        };
        let said = said
            .and("unit", unit)
            .and("quantity", term("quantity-word", kind.word()))
            .and("stage", quoted_term("stage", stage.word()))
            .and("since", since);
        let subject = Subject {
            unit: Some(unit.to_owned()),
            stage: Some(stage.word().to_owned()),
            factor: Some(Phrase::name(term("quantity-word", kind.word()))),
            ..Subject::default()
        };
        let mut finding = Finding::new(FindingKind::CurveDrift, subject, said)
            .of_matter(format!("stage {} of {unit}", stage.word()));
        let (low, high) = match study.shape {
            Shape::Drift => {
                let span = if study.slope == 0.0 {
                    0.0
                } else {
                    study.change / study.slope
                };
                (study.slope_low * span, study.slope_high * span)
            }
            Shape::Step => (
                study.step - study.step_within,
                study.step + study.step_within,
            ),
        };
        let signed = |change: f64| {
            let key = if change < 0.0 {
                "phrase-less"
            } else {
                "phrase-more"
            };
            Arg::from(Phrase::of(key).and("what", shown(change)))
        };
        finding.effect = Some(Effect {
            measure: "change",
            estimate: change,
            low,
            high,
            level: LEVEL,
            said: Phrase::of("effect-change")
                .and("estimate", signed(change))
                .and("low", signed(low))
                .and("high", signed(high))
                .and("level", number(100.0 * LEVEL, 0))
                .and("n", series.points().len()),
        });
        if study.shape == Shape::Step
            && let Some(day) = series
                .points()
                .get(study.step_at)
                .and_then(|point| day_of(point.days))
        {
            let alongside = find_alongside(history, frame, unit, day);
            if !alongside.is_empty() {
                finding.also.push(say_within_days(alongside));
            }
        }
        say_allowed(series, &mut finding);
        finding.else_explains.push(Phrase::of("curve-else"));
        finding.resting_on(evidence_of(frame, series))
    });
}

fn symbol_of(kind: QuantityKind) -> &'static str {
    match kind {
        QuantityKind::Pressure => "Pa",
        QuantityKind::Temperature => "C",
        QuantityKind::Concentration => "mg/L",
        QuantityKind::Humidity => "%",
        QuantityKind::Power => "W",
        QuantityKind::Conductivity => "uS/cm",
    }
}
