//! Lengths of stages: drift, jump, the day a limit is met, and stages shorter than the least that is printed for them.
//!
//! Read [`find_drifts`] first.

use super::Asking;
use super::alongside::find_alongside;
use super::catalogue::FindingKind;
use super::finding::{Effect, Evidence, Finding, Forecast, Subject};
use super::frame::{Ending, Frame, StageRow, day_of, rows_by};
use super::question::{Answer, Question};
use super::series::{Point, Series, Shape, Study};
use super::words::{LEVEL, list};
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
pub fn find_drifts(history: &History, frame: &Frame, asking: &mut Asking) -> PolarsResult<()> {
    let mut question = Question::of(FindingKind::StageDrift);
    for (key, rows) in rows_by(&frame.stage_table, &["unit", "purpose", "stage"])? {
        let [unit, purpose, stage] = key.as_slice() else {
            continue;
        };
        if purpose != Purpose::Load.word() {
            continue;
        }
        let stages: Vec<&StageRow> = rows
            .iter()
            .filter_map(|row| frame.stages.get(*row))
            .filter(|stage| stage.ended_itself && stage.seconds > 0.0)
            .collect();
        let points = stages
            .iter()
            .filter_map(|stage| point_of(frame, stage, stage.seconds.ln()))
            .collect();
        let Some(series) = Series::of(points) else {
            continue;
        };
        let Some(study) = series.study() else {
            continue;
        };
        ask(
            history,
            frame,
            (unit, stage),
            (&series, &study),
            &mut question,
        );
    }
    asking.take(FindingKind::StageDrift, question.answer());
    Ok(())
}

/// The point of a series that a stage makes.
pub fn point_of(frame: &Frame, stage: &StageRow, value: f64) -> Option<Point> {
    let row = frame.cycles.get(stage.row)?;
    Some(Point {
        days: row.days()?,
        value,
        program: row.program.clone(),
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
    let direction = if study.slope > 0.0 {
        "longer"
    } else {
        "shorter"
    };
    let (from, to) = ends(series, study);
    let mut forecast = forecast(frame, stage, series, study);
    let meets = match &forecast {
        Some((forecast, program)) => format!(
            " If it goes on, the usual {program} cycle meets {} about {} ({} to {}).",
            forecast.limit,
            forecast.day,
            forecast.earliest,
            forecast
                .latest
                .map_or("open".to_owned(), |day| day.to_string()),
        ),
        None => String::new(),
    };
    let said = format!(
        "{unit} takes ever {direction} to {}: {:+.1} % a week, {:+.0} % from {from} to {to}.{meets}",
        stage_verb(stage),
        weekly(study.slope),
        percent(study.change),
    );
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
        said: format!(
            "{:+.2} % a week, {:+.2} to {:+.2} with {:.0} % confidence, over {} cycles.",
            weekly(study.slope),
            weekly(study.slope_low),
            weekly(study.slope_high),
            100.0 * LEVEL,
            series.points().len(),
        ),
    });
    finding.forecast = forecast.take().map(|(forecast, _)| forecast);
    let programs: Vec<String> = series
        .programs()
        .filter_map(|(program, _, n)| {
            let slope = series.slope_in(program, study)?;
            Some(format!("{program} {:+.1} % ({n} cycles)", weekly(slope)))
        })
        .collect();
    if programs.len() > 1 {
        finding
            .also
            .push(format!("In each program, a week: {}.", programs.join(", ")));
    }
    say_allowed(series, &mut finding);
    finding
        .else_explains
        .push("Ever larger or damper loads; a gauge that drifts.".to_owned());
    finding.resting_on(evidence_of(frame, series))
}

/// What else was known to move the series.
pub fn say_allowed(series: &Series, finding: &mut Finding) {
    let allowed: Vec<String> = series
        .allowed_for
        .iter()
        .map(|words| (*words).to_owned())
        .collect();
    if !allowed.is_empty() {
        let verb = if allowed.len() > 1 { "are" } else { "is" };
        let said = list(&allowed);
        let mut chars = said.chars();
        let said: String = chars
            .next()
            .into_iter()
            .flat_map(char::to_uppercase)
            .chain(chars)
            .collect();
        finding.else_explains.push(format!(
            "{said} {verb} allowed for and {} not explain it.",
            if allowed.len() > 1 { "do" } else { "does" }
        ));
    }
}

fn ends(series: &Series, study: &Study) -> (String, String) {
    let day = |point: Option<&Point>| {
        point
            .and_then(|point| day_of(point.days))
            .map_or_else(|| "?".to_owned(), |day| day.to_string())
    };
    (
        day(series.points().get(study.onset)),
        day(series.points().last()),
    )
}

fn stage_verb(stage: &str) -> String {
    match StageName::from_word(stage) {
        StageName::Evacuate => "pump down".to_owned(),
        StageName::Inject => "inject".to_owned(),
        StageName::Warm => "warm up".to_owned(),
        StageName::Condition => "condition the load".to_owned(),
        StageName::Exhaust => "exhaust".to_owned(),
        StageName::Vent => "vent".to_owned(),
        StageName::Dry => "dry".to_owned(),
        _ => format!("finish the stage `{stage}`"),
    }
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
        format!("its limit of {} min", trim_number(limit / 60.0)),
    )?;
    Some((forecast, program.to_owned()))
}

/// The forecast of a series; `None` where it is too far ahead.
pub fn forecast_of(
    series: &Series,
    study: &Study,
    program: &str,
    limit: f64,
    words: String,
) -> Option<Forecast> {
    let meeting = series.meets(limit, program, study)?;
    let last = series.points().last()?.days;
    let at = meeting.at.filter(|at| *at <= last + FURTHEST_DAYS)?;
    Some(Forecast {
        day: day_of(at)?,
        earliest: day_of(meeting.earliest.unwrap_or(at))?,
        latest: meeting.latest.and_then(day_of),
        level: LEVEL,
        limit: words,
    })
}

/// A number without zeros that say nothing.
pub fn trim_number(number: f64) -> String {
    let text = format!("{number:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
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
    let direction = if study.step > 0.0 {
        "longer"
    } else {
        "shorter"
    };
    let said = format!(
        "{unit} takes {:.1} % {direction} to {} since {}.",
        percent(study.step).abs(),
        stage_verb(stage),
        day.map_or_else(|| "?".to_owned(), |day| day.to_string()),
    );
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
        said: format!(
            "{:+.1} %, {:+.1} to {:+.1} with {:.0} % confidence, over {} cycles.",
            percent(study.step),
            percent(low),
            percent(high),
            100.0 * LEVEL,
            series.points().len(),
        ),
    });
    say_alongside(history, frame, unit, day, &mut finding);
    say_allowed(series, &mut finding);
    finding
        .else_explains
        .push("Other loads since that day.".to_owned());
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
        finding.also.push(
            "No service, software or other sterilant lot is in the records within three days."
                .to_owned(),
        );
    } else {
        finding
            .also
            .push(format!("Within three days: {}.", alongside.join("; ")));
    }
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
                said: row.name.clone(),
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
        let outcome = match row.ending {
            Ending::Completed => "although it is printed as completed",
            _ => "and was aborted in it",
        };
        let said = format!(
            "{} had {:.0} min of `{}`, of at least {:.0}, {outcome}.",
            row.name,
            (stage.seconds / 60.0).floor(),
            stage.name.word(),
            (least / 60.0).ceil(),
        );
        let subject = Subject {
            unit: Some(row.unit.clone()),
            program: Some(row.program.clone()),
            stage: Some(stage.name.word().to_owned()),
            factor: Some(row.name.clone()),
            ..Subject::default()
        };
        let mut finding = Finding::new(FindingKind::StageTooShort, subject, said).of_matter(
            format!("stage {} of {} too short", stage.name.word(), row.unit),
        );
        if aerates {
            finding.next.splice(
                ..1,
                ["Ethylene oxide is toxic, a carcinogen and flammable: let nobody handle the load before the rest of its \
                 aeration by the device's instructions for use."
                    .to_owned()],
            );
        }
        finding
            .else_explains
            .push("A clock that jumped during the cycle.".to_owned());
        let evidence = vec![Evidence {
            day: row.day(),
            said: format!("{}: stage {}", row.name, stage.name.word()),
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
