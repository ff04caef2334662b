//! Lengths of stages: drift, jump, the day a limit is met, and stages shorter than the least that is printed for them.
//!
//! Read [`find_drifts`] first.

use super::Asking;
use super::alongside::find_alongside;
use super::catalogue::FindingKind;
use super::finding::{Course, Effect, Evidence, Finding, Forecast, Subject};
use super::frame::{Ending, Frame, StageRow, day_of, rows_by};
use super::phrase::{
    Arg, Joining, Phrase, capital, list, number, quoted_term, signed, term, trimmed,
};
use super::question::{Answer, Question};
use super::series::{Point, Series, Shape, Study};
use super::words::LEVEL;
use crate::parallel::Threads;
use crate::reconcile::history::History;
use crate::record::cycle::{Purpose, StageName};
use chrono::NaiveDate;
use polars::prelude::PolarsResult;

/// The least change of a stage that is worth a meeting's time, as a share of its length.
const LEAST_CHANGE: f64 = 0.02;
/// Forecasts further ahead are not made.
const FURTHEST_DAYS: f64 = 366.0;
/// A stage counts as too short beyond so many seconds and such a share of its least length: printed times are whole
/// seconds, and a unit's stages and its display keep time apart (common practice, no source).
const TOLERANCE_SECONDS: f64 = 5.0;
const TOLERANCE_SHARE: f64 = 0.01;
/// Points of a series that are listed as evidence: the first and the last.
const N_LISTED: usize = 3;

/// Asks whether stages drift or jumped.
///
/// # Errors
/// Those of the table library.
pub fn find_drifts(
    history: &History,
    frame: &Frame,
    threads: Threads,
    asking: &mut Asking,
) -> PolarsResult<()> {
    let mut groups = rows_by(&frame.stage_table, &["unit", "purpose", "stage"])?;
    groups.retain(
        |(key, _)| matches!(key.as_slice(), [_, purpose, _] if purpose == Purpose::Load.word()),
    );
    let of_group = |at: usize, question: &mut Question| {
        if let Some((key, rows)) = groups.get(at)
            && let [unit, _, stage] = key.as_slice()
        {
            ask_of_stage(history, frame, (unit, stage), rows, question);
        }
    };
    let question = Question::of_each(FindingKind::StageDrift, groups.len(), threads, of_group);
    asking.take(FindingKind::StageDrift, question.answer());
    Ok(())
}

fn ask_of_stage(
    history: &History,
    frame: &Frame,
    (unit, stage): (&str, &str),
    rows: &[usize],
    question: &mut Question,
) {
    let stages = rows
        .iter()
        .filter_map(|row| frame.stages.get(*row))
        .filter(|stage| stage.ended_itself && stage.seconds > 0.0);
    let points = stages
        .filter_map(|stage| point_of(frame, stage, stage.seconds.ln()))
        .collect();
    if let Some(series) = Series::of(points)
        && let Some(study) = series.study()
    {
        ask(history, frame, (unit, stage), (&series, &study), question);
    }
}

/// The point of a series that a stage makes.
pub fn point_of<'f>(frame: &'f Frame, stage: &StageRow, value: f64) -> Option<Point<'f>> {
    let row = frame.cycles.get(stage.row)?;
    Some(Point {
        days: row.days()?,
        value,
        program: &row.program,
        first_of_day: row.first_of_day,
        size: row.n_items.map(f64::from),
        n_pulses: stage.n_pulses,
        row: stage.row,
    })
}

fn ask(
    history: &History,
    frame: &Frame,
    (unit, stage): (&str, &str),
    (series, study): (&Series, &Study),
    question: &mut Question,
) {
    let matter = format!("stage {stage} of {unit}");
    for p in [study.p_drift, study.p_step] {
        question.bear_on(unit, p);
    }
    let drifts = study.shape == Shape::Drift && study.change.abs() >= LEAST_CHANGE;
    if drifts {
        question.compare(study.p_drift, || {
            say_drift(frame, (unit, stage), series, study).of_matter(matter.clone())
        });
    } else {
        question.count(study.p_drift);
    }
    let jumps = study.shape == Shape::Step && study.step.abs() >= LEAST_CHANGE;
    if jumps {
        question.compare(study.p_step, || {
            say_step(history, frame, (unit, stage), series, study).of_matter(matter)
        });
    } else {
        question.count(study.p_step);
    }
}

fn percent(log_change: f64) -> f64 {
    100.0 * (log_change.exp() - 1.0)
}

fn say_drift(
    frame: &Frame,
    (unit, stage): (&str, &str),
    series: &Series,
    study: &Study,
) -> Finding {
    let weekly = |slope: f64| percent(7.0 * slope);
    let key = if study.slope > 0.0 {
        "drift-longer"
    } else {
        "drift-shorter"
    };
    let (from, to) = ends(series, study);
    let mut forecast = forecast(frame, stage, series, study);
    let meets = forecast.as_ref().map(|(forecast, program)| {
        say_forecast("forecast-program", forecast).and("program", program)
    });
    let said = Phrase::of(key)
        .and("unit", unit)
        .and("do", stage_verb(stage))
        .and("weekly", signed(weekly(study.slope), 1))
        .and("change", signed(percent(study.change), 0))
        .and("from", from)
        .and("to", to);
    let said = Phrase::sentences([said].into_iter().chain(meets));
    let subject = Subject {
        unit: Some(unit.to_owned()),
        stage: Some(stage.to_owned()),
        ..Subject::default()
    };
    let mut finding = Finding::new(FindingKind::StageDrift, subject, said);
    finding.effect = Some(Effect {
        measure: "% a week",
        estimate: weekly(study.slope),
        low: weekly(study.slope_low),
        high: weekly(study.slope_high),
        level: LEVEL,
        said: Phrase::of("effect-weekly")
            .and("estimate", signed(weekly(study.slope), 2))
            .and("low", signed(weekly(study.slope_low), 2))
            .and("high", signed(weekly(study.slope_high), 2))
            .and("level", number(100.0 * LEVEL, 0))
            .and("n", series.points().len()),
    });
    finding.forecast = forecast.take().map(|(forecast, _)| forecast);
    finding.course = from.zip(to).map(|(from, to)| Course::Multiplies {
        from,
        to,
        per_day: study.slope,
    });
    let programs: Vec<Phrase> = series
        .programs()
        .filter_map(|(program, _, n)| {
            let slope = series.slope_in(program, study)?;
            let of_program = Phrase::of("drift-program").and("program", program);
            Some(
                of_program
                    .and("weekly", signed(weekly(slope), 1))
                    .and("n", n),
            )
        })
        .collect();
    if programs.len() > 1 {
        let programs = list(Joining::Comma, programs.into_iter().map(Arg::from));
        finding
            .also
            .push(Phrase::of("drift-programs").and("programs", programs));
    }
    say_allowed(series, &mut finding);
    finding.else_explains.push(Phrase::of("drift-else"));
    finding.resting_on(evidence_of(frame, series))
}

/// What else was known to move the series.
pub fn say_allowed(series: &Series, finding: &mut Finding) {
    let allowed = &series.allowed_for;
    if !allowed.is_empty() {
        let names = allowed.iter().map(|words| term("allowed", words));
        let names = Phrase::name(list(Joining::And, names));
        finding.else_explains.push(
            Phrase::of("series-allowed-for")
                .and("what", capital(names))
                .and("n", allowed.len()),
        );
    }
}

/// The sentence about the day of a limit, under this key.
pub fn say_forecast(key: &'static str, forecast: &Forecast) -> Phrase {
    let latest = match forecast.latest {
        Some(day) => Arg::from(day),
        None => Phrase::of("forecast-open").into(),
    };
    Phrase::of(key)
        .and("limit", forecast.limit.clone())
        .and("day", forecast.day)
        .and("earliest", forecast.earliest)
        .and("latest", latest)
}

fn ends(series: &Series, study: &Study) -> (Option<NaiveDate>, Option<NaiveDate>) {
    let day = |point: Option<&Point>| point.and_then(|point| day_of(point.days));
    (
        day(series.points().get(study.onset)),
        day(series.points().last()),
    )
}

/// What a unit does in a stage: for the stages that one verb says, and any other by its name.
fn stage_verb(stage: &str) -> Phrase {
    let key = match StageName::from_word(stage) {
        StageName::Evacuate => "do-evacuate",
        StageName::Inject => "do-inject",
        StageName::Warm => "do-warm",
        StageName::Condition => "do-condition",
        StageName::Exhaust => "do-exhaust",
        StageName::Vent => "do-vent",
        StageName::Dry => "do-dry",
        _ => return Phrase::of("do-stage").and("stage", quoted_term("stage", stage)),
    };
    Phrase::of(key)
}

/// When the program with the longest stage meets the limit that is printed for it.
fn forecast(
    frame: &Frame,
    stage: &str,
    series: &Series,
    study: &Study,
) -> Option<(Forecast, String)> {
    if study.slope <= 0.0 {
        return None;
    }
    let (program, ..) = series
        .programs()
        .max_by(|a, b| a.1.total_cmp(&b.1).then_with(|| b.0.cmp(a.0)))?;
    // The limit as it was printed last.
    let last = series
        .points()
        .iter()
        .rev()
        .find(|point| point.program == program)?;
    let row = frame
        .stages
        .iter()
        .find(|one| one.row == last.row && one.name.word() == stage)?;
    let limit = row.most_seconds.filter(|limit| *limit > 0.0)?;
    let forecast = forecast_of(
        series,
        study,
        program,
        limit.ln(),
        Phrase::of("limit-minutes").and("minutes", trimmed(limit / 60.0)),
    )?;
    Some((forecast, program.to_owned()))
}

/// The forecast of a series; `None` where it is too far ahead.
pub fn forecast_of(
    series: &Series,
    study: &Study,
    program: &str,
    limit: f64,
    said: Phrase,
) -> Option<Forecast> {
    let meeting = series.meets(limit, program, study)?;
    let last = series.points().last()?.days;
    let at = meeting.at.filter(|at| *at <= last + FURTHEST_DAYS)?;
    Some(Forecast {
        day: day_of(at)?,
        earliest: day_of(meeting.earliest.unwrap_or(at))?,
        latest: meeting.latest.and_then(day_of),
        level: LEVEL,
        limit: said,
        program: (!program.is_empty()).then(|| program.to_owned()),
    })
}

fn say_step(
    history: &History,
    frame: &Frame,
    (unit, stage): (&str, &str),
    series: &Series,
    study: &Study,
) -> Finding {
    let day: Option<NaiveDate> = series
        .points()
        .get(study.step_at)
        .and_then(|point| day_of(point.days));
    let key = if study.step > 0.0 {
        "step-longer"
    } else {
        "step-shorter"
    };
    let said = Phrase::of(key)
        .and("unit", unit)
        .and("do", stage_verb(stage))
        .and("change", number(percent(study.step).abs(), 1))
        .and("day", day);
    let subject = Subject {
        unit: Some(unit.to_owned()),
        stage: Some(stage.to_owned()),
        ..Subject::default()
    };
    let mut finding = Finding::new(FindingKind::StageStep, subject, said);
    let (low, high) = (
        study.step - study.step_within,
        study.step + study.step_within,
    );
    finding.effect = Some(Effect {
        measure: "%",
        estimate: percent(study.step),
        low: percent(low),
        high: percent(high),
        level: LEVEL,
        said: Phrase::of("effect-step")
            .and("estimate", signed(percent(study.step), 1))
            .and("low", signed(percent(low), 1))
            .and("high", signed(percent(high), 1))
            .and("level", number(100.0 * LEVEL, 0))
            .and("n", series.points().len()),
    });
    finding.course = day.map(|on| Course::Jumps { on });
    say_alongside(history, frame, unit, day, &mut finding);
    say_allowed(series, &mut finding);
    finding.else_explains.push(Phrase::of("step-else"));
    finding.resting_on(evidence_of(frame, series))
}

/// What happened to the unit about the day of a jump.
pub fn say_alongside(
    history: &History,
    frame: &Frame,
    unit: &str,
    day: Option<NaiveDate>,
    finding: &mut Finding,
) {
    let alongside = day
        .map(|day| find_alongside(history, frame, unit, day))
        .unwrap_or_default();
    if alongside.is_empty() {
        finding.also.push(Phrase::of("alongside-nothing"));
    } else {
        finding.also.push(say_within_days(alongside));
    }
}

/// What happened within the days, as a sentence.
pub fn say_within_days(alongside: Vec<Phrase>) -> Phrase {
    let all = list(Joining::Semicolon, alongside.into_iter().map(Arg::from));
    Phrase::of("alongside").and("all", all)
}

/// The first and the last points of a series, for its course is its evidence.
pub fn evidence_of(frame: &Frame, series: &Series) -> Vec<Evidence> {
    let points = series.points();
    let n_last = points.len().saturating_sub(N_LISTED);
    points
        .iter()
        .take(N_LISTED)
        .chain(points.iter().skip(n_last.max(N_LISTED)))
        .filter_map(|point| {
            let row = frame.cycles.get(point.row)?;
            Some(Evidence {
                day: row.day(),
                said: Phrase::of("phrase-record").and("record", &row.name),
                span: row.span,
            })
        })
        .collect()
}

/// Finds stages shorter than the least that is printed for them: in cycles printed as completed, and aerations in any.
pub fn find_short_stages(frame: &Frame, asking: &mut Asking) {
    let mut findings = Vec::new();
    for stage in &frame.stages {
        let Some(row) = frame.cycles.get(stage.row) else {
            continue;
        };
        let Some(least) = stage.least_seconds.filter(|least| {
            stage.seconds < *least - TOLERANCE_SECONDS.max(TOLERANCE_SHARE * *least)
        }) else {
            continue;
        };
        let aerates = stage.name == StageName::Aerate;
        let counts = row.purpose == Purpose::Load
            && (row.ending == Ending::Completed || (aerates && row.ending == Ending::Aborted));
        if !counts {
            continue;
        }
        let key = match row.ending {
            Ending::Completed => "short-stage-completed",
            _ => "short-stage-aborted",
        };
        let said = Phrase::of(key)
            .and("cycle", &row.name)
            .and("minutes", number((stage.seconds / 60.0).floor(), 0))
            .and("stage", quoted_term("stage", stage.name.word()))
            .and("least", number((least / 60.0).ceil(), 0));
        let subject = Subject {
            unit: Some(row.unit.clone()),
            program: Some(row.program.clone()),
            stage: Some(stage.name.word().to_owned()),
            factor: Some(Phrase::name(&row.name)),
            ..Subject::default()
        };
        let mut finding = Finding::new(FindingKind::StageTooShort, subject, said).of_matter(
            format!("stage {} of {} too short", stage.name.word(), row.unit),
        );
        if aerates {
            finding
                .next
                .splice(..1, [Phrase::of("short-stage-next-gas")]);
        }
        finding.else_explains.push(Phrase::of("short-stage-else"));
        let evidence = vec![Evidence {
            day: row.day(),
            said: Phrase::of("evidence-stage")
                .and("record", &row.name)
                .and("stage", term("stage", stage.name.word())),
            span: stage.span,
        }];
        findings.push(finding.resting_on(evidence));
    }
    asking.take(
        FindingKind::StageTooShort,
        Answer {
            findings,
            ..Answer::default()
        },
    );
}
