//! One unit after another for the people who service it. Read [`draw_service`] first.

use super::Sheet;
use super::appendix::{
    draw_cycles, draw_inputs, draw_lines, draw_reading, draw_room, draw_signatures,
};
use super::chart::{Axis, Chart, Division, Mark, Shape, Stroke, Width};
use super::ending::{Cause, draw_pareto};
use super::findings::{draw_finding, say_about, say_finding_kind};
use super::lengths::{draw_series, last_shown, link_found, mark_found, say_series, time_axis};
use super::page::{Page, Section};
use super::review::say_clock;
use crate::report::findings::FindingRow;
use crate::report::lengths::UnitMomentKind;
use crate::report::ranking::{PartRow, Ranking};
use crate::report::review::CountedRow;
use crate::report::service::{LeakRow, Service, SinceService, UnitSheet};
use maud::{Markup, html};
use serde::Serialize;
use std::collections::BTreeSet;

/// What the report is drawn from.
#[derive(Serialize)]
pub struct ServiceParts {
    /// The report.
    pub service: Service,
    /// The units in the order of need for service, with what was found of each.
    pub ranking: Ranking,
    /// The cycles behind its counts.
    pub cycles: Vec<CountedRow>,
    /// The sites that the records name.
    pub sites: Vec<String>,
}

/// Draws the report.
pub fn draw_service(parts: &ServiceParts, sheet: &Sheet<'_>) -> String {
    let texts = sheet.texts;
    let front = draw_front(sheet, parts);
    let sections: Vec<Section> = parts
        .service
        .units
        .iter()
        .enumerate()
        .map(|(n, unit)| {
            Section::new(
                format!("unit-{n}"),
                texts.with(
                    "service-unit",
                    &[
                        ("unit", unit.unit.as_str().into()),
                        (
                            "process",
                            texts
                                .name(
                                    "process",
                                    unit.process.map_or("not known", |process| process.word()),
                                )
                                .into(),
                        ),
                    ],
                ),
                draw_unit(sheet, unit, found_of(&parts.ranking, &unit.unit), n),
            )
        })
        .collect();
    let appendices = vec![
        draw_cycles(sheet, &parts.cycles),
        draw_reading(sheet),
        draw_inputs(sheet),
        draw_lines(sheet),
    ];
    let facts = sheet.reviewed.as_of.map(
        |as_of| html! { (texts.with("facts-as-of", &[("at", texts.moment(as_of.local).into())])) },
    );
    Page {
        title: texts.say("service-title"),
        of: parts.sites.join(", "),
        facts: facts.into_iter().collect(),
        front,
        sections,
        appendices,
    }
    .draw(sheet)
}

/// What counts as worth a word among the parts of a unit's evidence.
const WORTH_A_WORD: f64 = 0.05;

/// The findings of a unit.
fn found_of<'p>(ranking: &'p Ranking, unit: &str) -> &'p [FindingRow] {
    ranking
        .units
        .iter()
        .find(|row| row.unit == unit)
        .map_or(&[], |row| row.findings.as_slice())
}

fn draw_ranking(sheet: &Sheet<'_>, parts: &ServiceParts) -> Markup {
    let texts = sheet.texts;
    let number = |unit: &str| {
        parts
            .service
            .units
            .iter()
            .position(|sheet| sheet.unit == unit)
    };
    let say_part = |part: &PartRow| {
        let about = texts.say(&format!("finding-{}", part.kind.id()));
        let p = texts.probability(part.p);
        texts.with("rank-part", &[("about", about.into()), ("p", p.into())])
    };
    html! {
        h2 { (texts.say("rank-title")) }
        div class="wide" {
            table class="ranks" {
                caption { (texts.say("rank-caption")) }
                thead {
                    tr {
                        th scope="col" class="num" { (texts.say("rank-rank")) }
                        th scope="col" { (texts.say("word-unit")) }
                        th scope="col" { (texts.say("rank-evidence")) }
                        th scope="col" class="num" { (texts.say("rank-p")) }
                        th scope="col" { (texts.say("rank-from")) }
                    }
                }
                tbody {
                    @for row in &parts.ranking.units {
                        @let from: Vec<String> = row.parts.iter().filter(|part| part.p < WORTH_A_WORD).map(say_part).collect();
                        tr {
                            td class="num" { (row.rank) }
                            th scope="row" {
                                @match number(&row.unit) {
                                    Some(n) => a href={ "#unit-" (n) } { (row.unit) },
                                    None => (row.unit),
                                }
                            }
                            td { (texts.name("strength", row.evidence)) }
                            td class="num nowrap" { (texts.probability(row.p)) }
                            td { @if from.is_empty() { "–" } @else { (from.join("; ")) } }
                        }
                    }
                }
            }
        }
        p class="note" {
            strong { (texts.say("rank-how")) ". " }
            (texts.say("rank-method")) " "
            (texts.with("rank-comparisons", &[("n", parts.ranking.n_comparisons.into())]))
        }
    }
}

fn say_lead(sheet: &Sheet<'_>, ranking: &Ranking) -> Option<String> {
    let first = ranking.units.first()?;
    if first.p >= WORTH_A_WORD {
        return Some(sheet.texts.say("rank-lead-none"));
    }
    let evidence = sheet.texts.name("strength", first.evidence);
    Some(sheet.texts.with(
        "rank-lead",
        &[
            ("unit", first.unit.as_str().into()),
            ("evidence", evidence.into()),
        ],
    ))
}

fn draw_front(sheet: &Sheet<'_>, parts: &ServiceParts) -> Markup {
    let texts = sheet.texts;
    let service = &parts.service;
    html! {
        p class="lead" {
            @if let Some(lead) = say_lead(sheet, &parts.ranking) { (lead) " " }
            small { (texts.with("service-lead", &[("n", service.units.len().into())])) }
        }
        (draw_ranking(sheet, parts))
        div class="wide" {
            table {
                caption { (texts.say("service-caption")) }
                thead {
                    tr {
                        th scope="col" { (texts.say("word-unit")) }
                        th scope="col" { (texts.say("service-process")) }
                        th scope="col" class="num" { (texts.say("word-cycles")) }
                        th scope="col" class="num" { (texts.say("outcome-aborted")) }
                        th scope="col" class="num" { (texts.say("outcome-rejected-short")) }
                        th scope="col" class="num" { (texts.say("service-alarms")) }
                        th scope="col" { (texts.say("service-leak")) }
                        th scope="col" { (texts.say("service-last")) }
                    }
                }
                tbody {
                    @for (n, unit) in service.units.iter().enumerate() {
                        @let ended = |word: &str| unit.endings.iter().filter(|row| row.outcome == word).map(|row| row.cycles.len() as u64).sum::<u64>();
                        tr {
                            th scope="row" { a href={ "#unit-" (n) } { (unit.unit) } }
                            td { (texts.name("process", unit.process.map_or("not known", |process| process.word()))) }
                            td class="num" { (texts.count(unit.n_cycles)) }
                            td class="num" { (texts.count(ended("aborted"))) span class="sub" { (texts.percent(ended("aborted"), unit.n_cycles)) } }
                            td class="num" { (texts.count(ended("rejected"))) span class="sub" { (texts.percent(ended("rejected"), unit.n_cycles)) } }
                            td class="num" { (texts.count(unit.alarms.iter().map(|row| row.alarms.len() as u64).sum())) }
                            td { @match unit.leaks.last() {
                                Some(leak) => {
                                    (sheet.cited.link_said(&leak.cycle.place, &format!("{}\u{a0}{}", texts.printed(leak.rate), leak.unit)))
                                    @if let Some(limit) = leak.limit { span class="sub" { (texts.with("service-limit", &[("limit", texts.printed(limit).into())])) } }
                                },
                                None => "–",
                            } }
                            td { @match unit.moments.iter().rev().find(|moment| moment.what == UnitMomentKind::Service) {
                                Some(moment) => {
                                    @match &moment.place {
                                        Some(place) => (sheet.cited.link_said(place, &texts.day(moment.at.date()))),
                                        None => (texts.day(moment.at.date())),
                                    }
                                },
                                None => (texts.say("service-none")),
                            } }
                        }
                    }
                }
            }
        }
        p class="note" { (texts.say("service-defers")) }
    }
}

/// What was found of a unit, each with what to check next.
fn draw_found(sheet: &Sheet<'_>, found: &[FindingRow], unit: usize) -> Markup {
    let texts = sheet.texts;
    html! {
        h3 { (texts.say("rank-found")) }
        @if found.is_empty() { p { (texts.say("rank-found-nothing")) } }
        @for (n, row) in (1..).zip(found) {
            article class="finding" {
                h4 id={ "finding-" (unit) "-" (n) } { (n) ". " (say_finding_kind(texts, row)) ": " (say_about(texts, row)) }
                (draw_finding(sheet, row))
            }
        }
    }
}

fn draw_unit(sheet: &Sheet<'_>, unit: &UnitSheet, found: &[FindingRow], n: usize) -> Markup {
    let texts = sheet.texts;
    let findings = format!("finding-{n}-");
    let ending_causes: Vec<Cause> = unit
        .endings
        .iter()
        .map(|row| Cause {
            name: format!(
                "{}{}: {}",
                texts.say(if row.outcome == "aborted" {
                    "outcome-aborted"
                } else {
                    "outcome-rejected-short"
                }),
                row.stage
                    .as_deref()
                    .map(|stage| format!(", {}", texts.name("stage", stage)))
                    .unwrap_or_default(),
                row.cause.as_deref().map_or_else(
                    || texts.say("cause-none"),
                    |cause| texts.name("cause", cause)
                ),
            ),
            by_unit: vec![(unit.unit.clone(), row.cycles.len())],
            cycles: row.cycles.clone(),
        })
        .collect();
    html! {
        dl class="made" {
            div { dt { (texts.say("service-serial")) } dd { (join_or_dash(&unit.serials)) } }
            div { dt { (texts.say("service-software")) } dd { (join_or_dash(&unit.software)) } }
            div { dt { (texts.say("word-cycles")) } dd { (texts.count(unit.n_cycles)) } }
            @if let Some(clock) = &unit.clock {
                div { dt { (texts.say("service-clock")) } dd { (say_clock(sheet, clock.median_seconds)) } }
            }
        }
        (draw_found(sheet, found, n))
        @if !ending_causes.is_empty() {
            h3 { (texts.say("service-endings")) }
            (draw_pareto(sheet, &format!("endings-{n}"), &texts.say("service-endings"), &ending_causes))
        }
        @if !unit.alarms.is_empty() { h3 { (texts.say("service-alarms")) } (draw_alarms(sheet, unit)) }
        @if let Some(since) = &unit.since_service {
            h3 { (texts.say("since-title")) }
            (draw_since(sheet, since))
        }
        @if unit.leaks.len() > 1 {
            h3 { (texts.say("leaks-title")) }
            (draw_leaks(sheet, unit, n))
        }
        @if !unit.stages.is_empty() {
            h3 { (texts.say("stages-title")) }
            @if unit.stages.iter().any(|series| !series.found.is_empty()) { p class="note" { (texts.say("found-legend")) } }
            @let (constant, varied): (Vec<_>, Vec<_>) = unit.stages.iter().partition(|series| series.is_constant());
            div class="halves" {
                @for (i, series) in varied.iter().enumerate() {
                    (draw_series(sheet, series, &format!("stage-{n}-{i}"), &findings))
                }
            }
            @if !constant.is_empty() {
                p class="note" {
                    (texts.say("series-constant")) " "
                    @for (i, series) in constant.iter().enumerate() {
                        @if i > 0 { "; " }
                        (say_series(sheet, series)) " " (texts.number(series.median() / 60.0, 1)) "\u{a0}" (texts.say("chart-minutes"))
                        " (" (texts.with("n-cycles", &[("n", series.lengths.len().into())])) ")"
                    }
                }
            }
        }
        h3 { (texts.say("check-title")) }
        (draw_checks(sheet, unit))
        (draw_room(sheet, &["room-done"]))
        (draw_signatures(sheet, &["sign-technician", "sign-manager"]))
    }
}

fn join_or_dash(parts: &[String]) -> String {
    if parts.is_empty() {
        return "–".to_owned();
    }
    parts.join(", ")
}

fn draw_alarms(sheet: &Sheet<'_>, unit: &UnitSheet) -> Markup {
    let texts = sheet.texts;
    let months: BTreeSet<&str> = unit
        .alarms
        .iter()
        .flat_map(|row| row.by_month.keys().map(String::as_str))
        .collect();
    let say_month = |month: &str| {
        crate::report::monthly::Month::read(month).map_or_else(
            || month.to_owned(),
            |month| texts.month(month.year, month.month),
        )
    };
    html! {
        div class="wide" {
            table {
                caption { (texts.say("alarms-caption")) }
                thead {
                    tr {
                        th scope="col" { (texts.say("pareto-cause")) }
                        @for month in &months { th scope="col" class="num" { (say_month(month)) } }
                        th scope="col" { (texts.say("pareto-which")) }
                    }
                }
                tbody {
                    @for row in &unit.alarms {
                        tr {
                            th scope="row" { (texts.name("cause", &row.cause)) }
                            @for month in &months {
                                td class="num" { (row.by_month.get(*month).map_or_else(|| "–".to_owned(), |n| texts.count(*n))) }
                            }
                            td class="dense" { @for (cycle, place) in &row.alarms { (sheet.cited.link_said(place, cycle)) " " } }
                        }
                    }
                }
            }
        }
    }
}

fn draw_since(sheet: &Sheet<'_>, since: &SinceService) -> Markup {
    let texts = sheet.texts;
    let minutes = |seconds: f64| texts.number(seconds / 60.0, 1);
    html! {
        p {
            (texts.with("since-about", &[("at", texts.moment(since.service.at).into())]))
            @if let Some(place) = &since.service.place { " " (sheet.cited.link(place)) }
        }
        div class="wide" {
            table {
                caption { (texts.say("since-caption")) }
                thead {
                    tr {
                        th scope="col" { (texts.say("word-program")) }
                        th scope="col" { (texts.say("word-stage")) }
                        th scope="col" class="num" { (texts.say("since-before")) }
                        th scope="col" class="num" { (texts.say("since-since")) }
                        th scope="col" class="num" { (texts.say("since-change")) }
                    }
                }
                tbody {
                    @for row in &since.rows {
                        tr {
                            td { (row.program.as_deref().unwrap_or("?")) }
                            th scope="row" { (row.stage.as_deref().map_or_else(|| texts.say("stage-none"), |stage| texts.name("stage", stage))) }
                            td class="num" { (minutes(row.before)) span class="sub" { (texts.with("n-cycles", &[("n", row.n_before.into())])) } }
                            td class="num" { (minutes(row.since)) span class="sub" { (texts.with("n-cycles", &[("n", row.n_since.into())])) } }
                            td class="num nowrap" {
                                @if row.since > row.before { "▲ +" } @else if row.since < row.before { "▼ " } @else { "= " }
                                (minutes(row.since - row.before))
                            }
                        }
                    }
                }
            }
        }
    }
}

fn draw_leaks(sheet: &Sheet<'_>, unit: &UnitSheet, n: usize) -> Markup {
    let texts = sheet.texts;
    let (leaks, found) = (&unit.leaks, &unit.leak_found);
    let (Some(first), Some(last)) = (leaks.first(), leaks.last()) else {
        return html! {};
    };
    // Tests printed in another unit than the last one can't be drawn on its axis.
    let same: Vec<&LeakRow> = leaks.iter().filter(|leak| leak.unit == last.unit).collect();
    let days = |at: chrono::NaiveDateTime| at.and_utc().timestamp() as f64 / 86_400.0;
    let points = |failed: bool| -> Vec<(f64, f64)> {
        same.iter()
            .filter(|leak| (leak.outcome != "passed") == failed)
            .map(|leak| (days(leak.began), leak.rate))
            .collect()
    };
    let highest = same.iter().map(|leak| leak.rate).fold(0.0, f64::max);
    let mut marks = vec![
        Mark::Points(points(false), Shape::Disc),
        Mark::Points(points(true), Shape::Cross),
    ];
    if let Some(limit) = last.limit {
        let name = texts.with("chart-limit", &[("value", texts.printed(limit).into())]);
        marks.push(Mark::Level(limit, Stroke::Dashed, name));
    }
    marks.extend(mark_found(texts, found, last.limit, 1.0));
    let chart = Chart {
        id: format!("leak-{n}"),
        title: texts.say("leaks-title"),
        about: texts.with(
            "leaks-about",
            &[
                ("n", same.len().into()),
                ("highest", texts.printed(highest).into()),
                ("last", texts.printed(last.rate).into()),
                ("unit", last.unit.into()),
                ("failed", points(true).len().into()),
            ],
        ),
        width: Width::Full,
        x: time_axis(sheet, first.began, last_shown(last.began, found), 10),
        y: Axis::around(
            last.unit,
            same.iter()
                .map(|leak| leak.rate)
                .chain(last.limit)
                .chain([0.0]),
            Division::Linear,
            |value| texts.printed(value),
        ),
        marks,
    };
    html! {
        figure {
            figcaption { (texts.say("leaks-title")) " " span class="sub" {
                (texts.with("leaks-caption", &[("n", same.len().into())]))
                (link_found(texts, found, &format!("finding-{n}-")))
            } }
            @if !found.is_empty() { p class="note" { (texts.say("found-legend")) } }
            div class="wide" tabindex="0" role="group" aria-label=(texts.say("leaks-title")) { (chart.draw()) }
        }
    }
}

/// What to look at, for each cause that the unit's alarms and outcomes name: common practice, no source.
fn draw_checks(sheet: &Sheet<'_>, unit: &UnitSheet) -> Markup {
    let texts = sheet.texts;
    let causes: BTreeSet<&str> = unit
        .endings
        .iter()
        .filter_map(|row| row.cause.as_deref())
        .chain(unit.alarms.iter().map(|row| row.cause.as_str()))
        .collect();
    let checks: Vec<(String, String)> = causes
        .into_iter()
        .filter_map(|cause| {
            Some((
                texts.name("cause", cause),
                texts.find(&format!("check-{cause}"), &[])?,
            ))
        })
        .collect();
    html! {
        @if checks.is_empty() { p { (texts.say("check-none")) } }
        @else { ul class="boxes" { @for (cause, check) in &checks { li { strong { (cause) ": " } (check) } } } }
        p class="note" { (texts.say("service-defers")) }
    }
}
