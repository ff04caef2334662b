//! Series of lengths, drawn: each cycle a point, with limits, changes of level and what happened to the unit.

use super::Sheet;
use super::chart::{Axis, Chart, Division, Mark, Shape, Stroke, Width};
use crate::report::lang::Texts;
use crate::report::lengths::{FoundCourse, LengthSeries, UnitMomentKind};
use chrono::{NaiveDate, NaiveDateTime};
use maud::{Markup, html};

/// A moment as days since the epoch.
fn days(moment: NaiveDateTime) -> f64 {
    // Seconds since the epoch are far below 2^53.
    moment.and_utc().timestamp() as f64 / 86_400.0
}

/// An axis of time from the first to the last moment, with ticks on the first of months, or on days.
pub fn time_axis(
    sheet: &Sheet<'_>,
    first: NaiveDateTime,
    last: NaiveDateTime,
    most: usize,
) -> Axis {
    let texts = sheet.texts;
    let mut day = first.date();
    let mut ticks: Vec<NaiveDate> = Vec::new();
    let n_days = last.date().signed_duration_since(first.date()).num_days();
    let step = n_days.checked_div(most as i64).unwrap_or(1).max(1);
    // Weeks and whole weeks are easier to count than other steps.
    let step = match step {
        1..=3 => step,
        _ => (step.saturating_add(6) / 7).saturating_mul(7),
    };
    while day <= last.date() && ticks.len() <= most.saturating_add(1) {
        ticks.push(day);
        match day.checked_add_signed(chrono::TimeDelta::days(step)) {
            Some(next) => day = next,
            None => break,
        }
    }
    Axis {
        label: String::new(),
        from: days(first),
        to: days(last).max(days(first) + 0.5),
        ticks: ticks
            .into_iter()
            .map(|day| {
                (
                    days(day.and_hms_opt(0, 0, 0).unwrap_or(first)),
                    texts.short_day(day),
                )
            })
            .filter(|(at, _)| *at >= days(first.date().and_hms_opt(0, 0, 0).unwrap_or(first)))
            .collect(),
        division: Division::Linear,
    }
}

/// What a series is of.
pub fn say_series(sheet: &Sheet<'_>, series: &LengthSeries) -> String {
    let texts = sheet.texts;
    let mut said = format!(
        "{}, {}",
        series.unit,
        series.program.as_deref().unwrap_or("?")
    );
    if let Some(stage) = &series.stage {
        said.push_str(": ");
        said.push_str(&texts.name("stage", stage));
    }
    said
}

/// A day as days since the epoch.
fn days_of(day: NaiveDate) -> f64 {
    day.and_hms_opt(12, 0, 0).map_or(0.0, days)
}

/// The marks of what was found of a series: trend, jump, and where the trend leads; `scale` brings its values onto the
/// axis.
pub fn mark_found(
    texts: &Texts,
    found: &[FoundCourse],
    limit: Option<f64>,
    scale: f64,
) -> Vec<Mark> {
    let mut marks = Vec::new();
    for course in found {
        if let Some(jump) = course.jump {
            marks.push(Mark::Moment(
                days_of(jump),
                Stroke::Dashed,
                texts.say("chart-jump"),
            ));
        }
        let Some([from, to]) = course.trend else {
            continue;
        };
        let ends = [from, to].map(|(day, value)| (days_of(day), value / scale));
        marks.push(Mark::Line(ends.to_vec(), Stroke::Solid));
        if let (Some(meets), Some(limit)) = (&course.forecast, limit) {
            let [_, last] = ends;
            marks.push(Mark::Line(
                vec![last, (days_of(meets.day), limit)],
                Stroke::Dashed,
            ));
            let latest = meets.latest.unwrap_or(meets.day);
            marks.push(Mark::Part(
                days_of(meets.earliest),
                days_of(latest),
                limit,
                Stroke::Solid,
            ));
            let day = texts.short_day(meets.day);
            marks.push(Mark::Moment(days_of(meets.day), Stroke::Dotted, day));
            marks.push(Mark::Points(vec![(days_of(meets.day), limit)], Shape::Ring));
        }
    }
    marks
}

/// The last moment that a chart with these findings has to show.
pub fn last_shown(last: NaiveDateTime, found: &[FoundCourse]) -> NaiveDateTime {
    let forecasts = found.iter().filter_map(|course| course.forecast.as_ref());
    forecasts
        .filter_map(|meets| meets.latest.unwrap_or(meets.day).and_hms_opt(23, 59, 0))
        .fold(last, NaiveDateTime::max)
}

/// The findings of a series, each a link; `prefix` begins their ids in the page.
pub fn link_found(texts: &Texts, found: &[FoundCourse], prefix: &str) -> Markup {
    html! {
        @for course in found {
            " · " a href={ "#" (prefix) (course.finding) } {
                (texts.with("chart-finding", &[("n", course.finding.into())]))
            }
        }
    }
}

/// A series as a chart of half a page's width; `findings` begins the ids of findings in the page.
pub fn draw_series(sheet: &Sheet<'_>, series: &LengthSeries, id: &str, findings: &str) -> Markup {
    let texts = sheet.texts;
    let (Some(first), Some(last)) = (series.lengths.first(), series.lengths.last()) else {
        return html! {};
    };
    let minutes = |seconds: f64| seconds / 60.0;
    let points: Vec<(f64, f64)> = series
        .lengths
        .iter()
        .map(|length| (days(length.began), minutes(length.seconds)))
        .collect();
    let beyond = |value: f64| {
        series
            .control
            .as_ref()
            .is_some_and(|control| value < minutes(control.lower) || value > minutes(control.upper))
    };
    let outside: Vec<(f64, f64)> = points
        .iter()
        .copied()
        .filter(|(_, value)| beyond(*value))
        .collect();
    let median = minutes(series.median());
    let mut marks = Vec::new();
    for moment in &series.moments {
        let at = days(moment.at);
        if at >= days(first.began) && at <= days(last.began) {
            let name = match &moment.what {
                UnitMomentKind::Service => texts.say("chart-service"),
                UnitMomentKind::Software(version) => {
                    texts.with("chart-software", &[("version", version.as_str().into())])
                }
            };
            marks.push(Mark::Moment(at, Stroke::Dotted, name));
        }
    }
    let mut level = |value: f64, stroke, key: &str| {
        marks.push(Mark::Level(
            value,
            stroke,
            texts.with(key, &[("value", texts.number(value, 1).into())]),
        ));
    };
    match &series.control {
        Some(control) => {
            level(minutes(control.upper), Stroke::Dashed, "chart-upper");
            level(minutes(control.centre), Stroke::Thin, "chart-centre");
            level(minutes(control.lower), Stroke::Dashed, "chart-lower");
        }
        None => level(median, Stroke::Thin, "chart-median"),
    }
    if let Some(limit) = series.limit {
        level(minutes(limit), Stroke::Dashed, "chart-limit");
    }
    for change in &series.changes {
        if let Some((at, _)) = points.get(change.first_after) {
            marks.push(Mark::Moment(*at, Stroke::Dashed, texts.say("chart-change")));
        }
    }
    marks.push(Mark::Points(points.clone(), Shape::Disc));
    marks.extend(mark_found(
        texts,
        &series.found,
        series.limit.map(minutes),
        60.0,
    ));
    marks.push(Mark::Points(outside.clone(), Shape::Ring));
    let values = points
        .iter()
        .map(|(_, value)| *value)
        .chain(series.limit.map(minutes))
        .chain(
            series
                .control
                .iter()
                .flat_map(|control| [minutes(control.lower), minutes(control.upper)]),
        );
    let lowest = points
        .iter()
        .map(|point| point.1)
        .fold(f64::INFINITY, f64::min);
    let highest = points
        .iter()
        .map(|point| point.1)
        .fold(f64::NEG_INFINITY, f64::max);
    let name = say_series(sheet, series);
    let about = texts.with(
        "series-about",
        &[
            ("n", points.len().into()),
            ("first", texts.moment(first.began).into()),
            ("last", texts.moment(last.began).into()),
            ("median", texts.number(median, 1).into()),
            ("lowest", texts.number(lowest, 1).into()),
            ("highest", texts.number(highest, 1).into()),
            ("outside", outside.len().into()),
        ],
    );
    let chart = Chart {
        id: id.to_owned(),
        title: name.clone(),
        about,
        width: Width::Half,
        x: time_axis(sheet, first.began, last_shown(last.began, &series.found), 5),
        y: Axis::around(
            texts.say("chart-minutes"),
            values,
            Division::Linear,
            |value| texts.printed(value),
        ),
        marks,
    };
    html! {
        figure class="half" {
            figcaption {
                (name) " "
                span class="sub" {
                    (texts.with("series-caption", &[("n", points.len().into())]))
                    (link_found(texts, &series.found, findings))
                }
            }
            (chart.draw())
        }
    }
}
