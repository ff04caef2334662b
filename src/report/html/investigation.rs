//! One cycle or load looked into, with room for cause, action and signatures. Read [`draw_investigation`] first.

use super::Sheet;
use super::appendix::{draw_inputs, draw_lines, draw_reading, draw_room, draw_signatures};
use super::chart::{Axis, Chart, Division, Mark, Shape, Stroke, Width};
use super::decision::{draw_decision, draw_recalls};
use super::findings::{draw_finding, say_about, say_finding_kind};
use super::needs::{draw_cases, draw_cautions, say_kind, say_next};
use super::page::{Page, Section};
use super::saying::{length, say_entry, say_outcome};
use crate::record::cycle::{Bound, QuantityKind};
use crate::report::investigation::{Bearing, CycleLook, Happening, Investigation, LotUses, What};
use crate::report::recall::RecallReport;
use crate::report::show::{CycleView, Fact};
use maud::{Markup, html};
use serde::Serialize;

/// What the report is drawn from.
#[derive(Serialize)]
pub struct InvestigationParts {
    /// The report.
    pub investigation: Investigation,
    /// The recall scopes that hold its loads.
    pub recall: RecallReport,
}

/// What is known of the unit and the lots, each finding in full.
fn draw_bearing(sheet: &Sheet<'_>, bearing: &[Bearing]) -> Markup {
    let texts = sheet.texts;
    html! {
        p class="note" { (texts.with("unusual-known-about", &[("n", bearing.len().into())])) }
        @for (n, one) in (1..).zip(bearing) {
            article class="finding" {
                h3 id={ "finding-" (n) } { (n) ". " (say_finding_kind(texts, &one.finding)) ": " (say_about(texts, &one.finding)) }
                @if one.n_here > 0 { p { strong { (texts.with("finding-rests-here", &[("n", one.n_here.into())])) } } }
                (draw_finding(sheet, &one.finding))
            }
        }
    }
}

/// Draws the report.
pub fn draw_investigation(parts: &InvestigationParts, sheet: &Sheet<'_>) -> String {
    let texts = sheet.texts;
    let investigation = &parts.investigation;
    let shown = &investigation.shown;
    let mut sections = vec![Section::new(
        "happened",
        texts.say("happened-title"),
        draw_happenings(sheet, &investigation.happened, "happened-caption"),
    )];
    for (n, (view, look)) in shown.cycles.iter().zip(&investigation.cycles).enumerate() {
        sections.push(Section::new(
            format!("curves-{n}"),
            texts.with("curves-title", &[("cycle", view.cycle.as_str().into())]),
            draw_curves(sheet, view, look, n),
        ));
        sections.push(Section::new(
            format!("different-{n}"),
            texts.with("different-title", &[("cycle", view.cycle.as_str().into())]),
            draw_difference(sheet, view, look),
        ));
    }
    for (n, load) in shown.loads.iter().enumerate() {
        if let Some(decision) = &load.decision {
            sections.push(Section::new(
                format!("decision-{n}"),
                texts.say("decisions-title"),
                draw_decision(sheet, &load.load, decision),
            ));
        }
    }
    if !parts.recall.sheets.is_empty() {
        sections.push(Section::new(
            "recalls",
            texts.say("recalls-title"),
            draw_recalls(sheet, &parts.recall),
        ));
    }
    if !investigation.bearing.is_empty() {
        sections.push(Section::new(
            "known",
            texts.say("unusual-known"),
            draw_bearing(sheet, &investigation.bearing),
        ));
    }
    sections.push(Section::new(
        "lots",
        texts.say("uses-title"),
        draw_lots(sheet, &investigation.lots),
    ));
    sections.push(Section::new(
        "before",
        texts.say("before-title"),
        if investigation.before.is_empty() {
            html! { p { (texts.say("before-none")) } }
        } else {
            draw_happenings(sheet, &investigation.before, "before-caption")
        },
    ));
    sections.push(Section::new(
        "sign",
        texts.say("cause-title"),
        html! {
            (draw_room(sheet, &["room-cause", "room-load", "room-action"]))
            (draw_signatures(sheet, &["sign-technician", "sign-manager", "sign-prevention"]))
        },
    ));
    let front = draw_front(sheet, investigation);
    let appendices = vec![
        draw_printouts(sheet, &shown.cycles),
        draw_reading(sheet),
        draw_inputs(sheet),
        draw_lines(sheet),
    ];
    let facts = sheet.reviewed.as_of.map(
        |as_of| html! { (texts.with("facts-as-of", &[("at", texts.moment(as_of.local).into())])) },
    );
    let of = shown
        .loads
        .iter()
        .map(|load| load.load.clone())
        .chain(shown.cycles.iter().map(|view| view.cycle.clone()))
        .collect::<Vec<_>>()
        .join(", ");
    Page {
        title: texts.say("investigation-title"),
        of,
        facts: facts.into_iter().collect(),
        front,
        sections,
        appendices,
    }
    .draw(sheet)
}

fn draw_front(sheet: &Sheet<'_>, investigation: &Investigation) -> Markup {
    let texts = sheet.texts;
    let shown = &investigation.shown;
    let outcome = investigation
        .happened
        .iter()
        .rev()
        .find_map(|happening| match &happening.what {
            What::Ended(outcome) => Some((outcome, &happening.place)),
            _ => None,
        });
    html! {
        @if let Some((outcome, place)) = outcome {
            p class="lead" { (say_outcome(texts, outcome)) " " small { (sheet.cited.link(place)) } }
        } @else {
            p class="lead" { (texts.say("investigation-no-outcome")) }
        }
        (draw_cautions(texts, &shown.cautions.iter().map(|row| row.caution).collect::<Vec<_>>()))
        div class="halves" {
            @for view in &shown.cycles { (draw_facts(sheet, &view.cycle, &view.facts)) }
            @for load in &shown.loads { (draw_facts(sheet, &load.load, &load.facts)) }
        }
        h2 { (texts.say("front-needs")) }
        @if shown.needs.is_empty() { p { (texts.say("front-nothing")) } }
        @for need in &shown.needs {
            (draw_cases(sheet, &need.cases, &say_kind(texts, need.kind)))
            p class="next" { strong { (texts.say("need-next")) } " " (say_next(texts, need.kind)) }
        }
    }
}

fn draw_facts(sheet: &Sheet<'_>, name: &str, facts: &[Fact]) -> Markup {
    let texts = sheet.texts;
    // What is told elsewhere in the language of the report is left out here.
    let told = |fact: &&Fact| !matches!(fact.name, "signed" | "length" | "ended" | "checksum");
    html! {
        table class="facts half" {
            caption { (name) }
            tbody {
                @for fact in facts.iter().filter(told) {
                    tr {
                        th scope="row" { (texts.name("fact", fact.name)) }
                        td {
                            @let value = match fact.name {
                                "process" => texts.name("process", &fact.value),
                                "purpose" => texts.name("purpose", &fact.value),
                                "began" => fact.value.get(..16).map_or_else(|| fact.value.clone(), |at| texts.stamp(at)),
                                "first record" => texts.stamp(&fact.value),
                                _ => fact.value.clone(),
                            };
                            @match &fact.place {
                                Some(place) => (sheet.cited.link_said(place, &value)),
                                None => (value),
                            }
                        }
                    }
                }
            }
        }
    }
}

/// What happened, in words.
fn say_what(sheet: &Sheet<'_>, what: &What) -> String {
    let texts = sheet.texts;
    match what {
        What::Began => texts.say("what-began"),
        What::Stage(stage) => texts.with(
            "what-stage",
            &[("stage", texts.name("stage", stage).into())],
        ),
        What::Alarm(cause, text) => {
            let cause = texts.name("cause", cause);
            if text.is_empty() {
                texts.with("what-alarm", &[("cause", cause.into())])
            } else {
                format!(
                    "{} – “{text}”",
                    texts.with("what-alarm", &[("cause", cause.into())])
                )
            }
        }
        What::Event(text) => format!("“{text}”"),
        What::Ended(outcome) => say_outcome(texts, outcome),
        What::Entry(entry) => {
            let said = say_entry(texts, entry);
            match &entry.by {
                Some(by) => format!("{said} ({})", by.value),
                None => said,
            }
        }
        What::Software(version) => {
            texts.with("chart-software", &[("version", version.as_str().into())])
        }
    }
}

fn draw_happenings(sheet: &Sheet<'_>, happenings: &[Happening], caption: &str) -> Markup {
    let texts = sheet.texts;
    let mut last_day: Option<Option<chrono::NaiveDate>> = None;
    html! {
        div class="wide" {
            table class="happened" {
                caption { (texts.say(caption)) }
                thead {
                    tr {
                        th scope="col" { (texts.say("happened-when")) }
                        th scope="col" { (texts.say("happened-source")) }
                        th scope="col" { (texts.say("happened-what")) }
                        th scope="col" { (texts.say("case-where")) }
                    }
                }
                tbody {
                    @for happening in happenings {
                        @let day = happening.at.map(|at| at.date());
                        @let is_new = last_day.replace(day) != Some(day);
                        tr class=[is_alarm(&happening.what).then_some("live")] {
                            td class="nowrap" {
                                @match happening.at {
                                    Some(at) => {
                                        @if is_new { strong { (texts.day(at.date())) } " " }
                                        @if happening.cycle.is_some() { (at.format("%H:%M:%S")) } @else { (at.format("%H:%M")) }
                                    },
                                    None => "–",
                                }
                            }
                            td class="nowrap" { (happening.cycle.clone().unwrap_or_else(|| texts.say("happened-log"))) }
                            td { (say_what(sheet, &happening.what)) }
                            td { (sheet.cited.link(&happening.place)) }
                        }
                    }
                }
            }
        }
    }
}

fn is_alarm(what: &What) -> bool {
    use crate::record::cycle::Outcome;
    matches!(
        what,
        What::Alarm(..)
            | What::Ended(Outcome::Aborted { .. } | Outcome::Rejected { .. } | Outcome::Failed)
    )
}

fn draw_curves(sheet: &Sheet<'_>, view: &CycleView, look: &CycleLook, n: usize) -> Markup {
    let texts = sheet.texts;
    html! {
        p {
            @if look.compared.is_empty() {
                (texts.say("curves-alone"))
            } @else {
                (texts.with("curves-about", &[("n", look.compared.len().into())]))
                " " span class="dense" { @for row in &look.compared { (sheet.cited.link_said(&row.place, &row.cycle)) " " } }
            }
        }
        @for &quantity in QuantityKind::ALL {
            @if let Some(chart) = curve(sheet, view, look, quantity, n) {
                figure {
                    figcaption { (chart.title) }
                    div class="wide" tabindex="0" role="group" aria-label=(chart.title) { (chart.draw()) }
                }
            }
        }
        ol class="stages" {
            @for stage in &view.stages {
                li {
                    (texts.name("stage", &stage.stage))
                    @if let Some(seconds) = stage.length_seconds { ", " (length(seconds)) }
                    " " (sheet.cited.link(&stage.place))
                }
            }
        }
    }
}

/// The readings of one quantity over time, over the range of the good cycles; `None` when there are none.
fn curve(
    sheet: &Sheet<'_>,
    view: &CycleView,
    look: &CycleLook,
    quantity: QuantityKind,
    n: usize,
) -> Option<Chart> {
    let texts = sheet.texts;
    let readings: Vec<_> = view
        .readings
        .iter()
        .filter(|reading| reading.quantity == quantity)
        .collect();
    let unit = &readings.first()?.unit;
    let minutes = |seconds: f64| seconds / 60.0;
    // Readings in another unit can't be drawn on the same axis.
    let points: Vec<(f64, f64)> = readings
        .iter()
        .filter(|reading| reading.unit == *unit)
        .map(|reading| (minutes(reading.at_seconds as f64), reading.value))
        .collect();
    let band: Vec<(f64, f64, f64)> = look
        .envelope
        .get(&quantity)
        .into_iter()
        .flatten()
        .map(|(at, low, high)| (minutes(*at), *low, *high))
        .collect();
    let values = || {
        points
            .iter()
            .map(|(_, value)| *value)
            .chain(band.iter().flat_map(|(_, low, high)| [*low, *high]))
    };
    let lowest = values().fold(f64::INFINITY, f64::min);
    let highest = values().fold(f64::NEG_INFINITY, f64::max);
    let division = if lowest > 0.0 && highest / lowest > 50.0 {
        Division::Logarithmic
    } else {
        Division::Linear
    };
    let mut marks = vec![Mark::Band(band.clone())];
    for stage in &view.stages {
        marks.push(Mark::Moment(
            minutes(stage.began_seconds as f64),
            Stroke::Dotted,
            stage.n.to_string(),
        ));
        let end = stage.length_seconds.map_or(view.length_seconds, |length| {
            stage.began_seconds.saturating_add(length)
        });
        for bound in stage
            .bounds
            .iter()
            .filter(|bound| bound.quantity == quantity && bound.unit == *unit)
        {
            marks.push(Mark::Part(
                minutes(stage.began_seconds as f64),
                minutes(end as f64),
                bound.value,
                Stroke::Dashed,
            ));
        }
    }
    marks.push(Mark::Line(points.clone(), Stroke::Solid));
    marks.push(Mark::Points(points.clone(), Shape::Disc));
    let outside: Vec<(f64, f64)> = points
        .iter()
        .copied()
        .filter(|(at, value)| {
            band.iter()
                .find(|(there, _, _)| (there - at).abs() < 1e-9)
                .is_some_and(|(_, low, high)| value < low || value > high)
        })
        .collect();
    marks.push(Mark::Points(outside.clone(), Shape::Ring));
    let limits: Vec<f64> = view
        .stages
        .iter()
        .flat_map(|stage| &stage.bounds)
        .filter(|bound| bound.quantity == quantity && bound.unit == *unit)
        .map(|bound| bound.value)
        .collect();
    let alarms = view
        .events
        .iter()
        .filter(|event| event.alarm.is_some())
        .count();
    let symbol = say_unit(unit);
    let title = texts.with(
        "curve-title",
        &[
            ("quantity", texts.name("quantity", quantity.word()).into()),
            ("unit", symbol.into()),
        ],
    );
    Some(Chart {
        id: format!("curve-{n}-{}", quantity.word()),
        about: texts.with(
            "curve-about",
            &[
                ("n", points.len().into()),
                (
                    "lowest",
                    texts
                        .printed(
                            points
                                .iter()
                                .map(|point| point.1)
                                .fold(f64::INFINITY, f64::min),
                        )
                        .into(),
                ),
                (
                    "highest",
                    texts
                        .printed(
                            points
                                .iter()
                                .map(|point| point.1)
                                .fold(f64::NEG_INFINITY, f64::max),
                        )
                        .into(),
                ),
                ("unit", symbol.into()),
                ("outside", outside.len().into()),
                ("alarms", alarms.into()),
            ],
        ),
        title,
        width: Width::Full,
        x: Axis::around(
            texts.say("chart-minutes"),
            [0.0, minutes(view.length_seconds as f64)],
            Division::Linear,
            |value| texts.printed(value),
        ),
        y: Axis::around(symbol, values().chain(limits), division, |value| {
            texts.printed(value)
        }),
        marks,
    })
}

/// The symbol of a unit as people write it: degrees have their sign.
fn say_unit(unit: &str) -> &str {
    match unit {
        "C" => "°C",
        "F" => "°F",
        other => other,
    }
}

fn draw_difference(sheet: &Sheet<'_>, view: &CycleView, look: &CycleLook) -> Markup {
    let texts = sheet.texts;
    let minutes = |seconds: f64| texts.number(seconds / 60.0, 1);
    let bounds = |view: &CycleView, stage: &str| -> Vec<String> {
        view.stages
            .iter()
            .filter(|row| row.stage == stage)
            .flat_map(|row| &row.bounds)
            .map(|bound| {
                texts.with(
                    match bound.bound {
                        Bound::Min => "bound-min",
                        Bound::Max => "bound-max",
                    },
                    &[
                        (
                            "quantity",
                            texts.name("quantity", bound.quantity.word()).into(),
                        ),
                        ("value", texts.printed(bound.value).into()),
                        ("unit", say_unit(&bound.unit).into()),
                    ],
                )
            })
            .collect()
    };
    let caption = texts.with("different-caption", &[("n", look.compared.len().into())]);
    html! {
        div class="wide" tabindex="0" role="group" aria-label=(caption) {
            table {
                caption { (caption) }
                thead {
                    tr {
                        th scope="col" { (texts.say("word-stage")) }
                        th scope="col" class="num" { (texts.say("different-here")) }
                        th scope="col" class="num" { (texts.say("different-median")) }
                        th scope="col" class="num" { (texts.say("different-range")) }
                        th scope="col" class="num" { (texts.say("different-limit")) }
                        th scope="col" { (texts.say("different-said")) }
                    }
                }
                tbody {
                    @for stage in &look.stages {
                        @let beyond = stage.range.map(|(low, high)| if stage.seconds > high { 1 } else if stage.seconds < low { -1 } else { 0 });
                        tr class=[(beyond.unwrap_or(0) != 0).then_some("live")] {
                            th scope="row" { (texts.name("stage", &stage.stage)) }
                            td class="num" { (minutes(stage.seconds)) }
                            td class="num" { (stage.median.map_or_else(|| "–".to_owned(), minutes)) }
                            td class="num nowrap" { (stage.range.map_or_else(|| "–".to_owned(), |(low, high)| format!("{} – {}", minutes(low), minutes(high)))) }
                            td class="num" { (stage.limit.map_or_else(|| "–".to_owned(), minutes)) }
                            td {
                                @match beyond {
                                    Some(1) => strong { "▲ " (texts.say("different-longer")) },
                                    Some(-1) => strong { "▼ " (texts.say("different-shorter")) },
                                    Some(_) => (texts.say("different-within")),
                                    None => (texts.say("different-unknown")),
                                }
                                @for bound in bounds(view, &stage.stage) { span class="sub" { (bound) } }
                            }
                        }
                    }
                }
            }
        }
        @if !look.outside.is_empty() {
            div class="wide" {
                table {
                    caption { (texts.say("outside-caption")) }
                    thead {
                        tr {
                            th scope="col" { (texts.say("word-stage")) }
                            th scope="col" { (texts.say("outside-quantity")) }
                            th scope="col" class="num" { (texts.say("outside-n")) }
                            th scope="col" { (texts.say("outside-first")) }
                        }
                    }
                    tbody {
                        @for row in &look.outside {
                            tr {
                                th scope="row" { (row.n_stage) ". " (texts.name("stage", &row.stage)) }
                                td { (texts.name("quantity", row.quantity.word())) }
                                td class="num" { (texts.with("share-of", &[("n", row.n_outside.into()), ("of", row.n_readings.into())])) }
                                td { (sheet.cited.link(&row.place)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn draw_lots(sheet: &Sheet<'_>, lots: &[LotUses]) -> Markup {
    let texts = sheet.texts;
    if lots.is_empty() {
        return html! { p { (texts.say("uses-none")) } };
    }
    html! {
        div class="wide" {
            table {
                caption { (texts.say("uses-caption")) }
                thead {
                    tr {
                        th scope="col" { (texts.say("lots-kind")) }
                        th scope="col" { (texts.say("word-lot")) }
                        th scope="col" class="num" { (texts.say("uses-others")) }
                        th scope="col" class="num" { (texts.say("lots-against")) }
                        th scope="col" { (texts.say("uses-which")) }
                    }
                }
                tbody {
                    @for lot in lots {
                        tr {
                            td { (texts.name("consumable", lot.kind)) }
                            th scope="row" { (sheet.cited.link_said(&lot.here, &lot.lot)) }
                            td class="num" { (texts.count(lot.n_fine.saturating_add(lot.against.len() as u64))) }
                            td class="num" { (texts.count(lot.against.len() as u64)) }
                            td {
                                @for (name, word, place) in &lot.against {
                                    span class="nowrap" { (sheet.cited.link_said(place, name)) " " (texts.name("use", word)) } br;
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The printouts in full, as they were read.
fn draw_printouts(sheet: &Sheet<'_>, views: &[CycleView]) -> Section {
    let texts = sheet.texts;
    let body = html! {
        @for view in views {
            table class="quotes" {
                caption { (view.cycle) ", " (sheet.cited.short_name(&view.file)) }
                thead { tr { th scope="col" class="num" { (texts.say("quote-line")) } th scope="col" { (texts.say("quote-text")) } } }
                tbody {
                    @for line in &view.lines {
                        @if let Some(text) = &line.text {
                            tr { th scope="row" class="num" { (line.line) } td { code { (text) } } }
                        }
                    }
                }
            }
        }
    };
    Section::new("printout", texts.say("printout-title"), body)
}
