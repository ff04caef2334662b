//! The month that infection prevention signs. Read [`draw_monthly`] first.

use super::Sheet;
use super::appendix::{draw_cycles, draw_inputs, draw_lines, draw_reading, draw_signatures};
use super::chart::{Bar, Bars, Fill};
use super::decision::{draw_decisions, draw_loads, draw_policies, draw_recalls};
use super::findings::{say_about, say_finding_kind, say_next};
use super::needs::{draw_cases, draw_summary, say_kind};
use super::page::{Page, Section};
use crate::measure::count::Counting;
use crate::report::attention::Need;
use crate::report::findings::{FindingRow, Findings};
use crate::report::monthly::{
    ImplantBi, MonthFigures, Monthly, ScheduleRow, SiteFigures, TestDays,
};
use crate::report::naming::CycleRow;
use crate::report::place::Place;
use crate::report::recall::RecallReport;
use crate::report::release::ReleaseReport;
use crate::report::review::CountedRow;
use maud::{Markup, html};
use serde::Serialize;

/// So many records of a finding are linked.
const MOST_PLACES: usize = 6;

/// The exact interval of a share, n of so many, with the confidence that the method gives it; `None` of nothing.
pub type ShareInterval = fn(u64, u64) -> Option<(f64, f64)>;

/// What the report is drawn from.
#[derive(Serialize)]
pub struct MonthlyParts {
    /// The month.
    pub monthly: Monthly,
    /// What is unusual of indicators and records and rests on records of the month.
    pub findings: Findings,
    /// The cycles behind its counts.
    pub cycles: Vec<CountedRow>,
    /// The interval of a share.
    #[serde(skip)]
    pub interval: Option<ShareInterval>,
    /// The sites that the records name.
    pub sites: Vec<String>,
    /// What the records of each load of the month support.
    pub release: ReleaseReport,
    /// The recall scopes of the month.
    pub recall: RecallReport,
}

/// Draws the report.
pub fn draw_monthly(parts: &MonthlyParts, sheet: &Sheet<'_>) -> String {
    let texts = sheet.texts;
    let monthly = &parts.monthly;
    let month = texts.month(monthly.month.year, monthly.month.month);
    let front = draw_front(sheet, parts);
    let mut sections = vec![
        Section::new(
            "figures",
            texts.say("monthly-figures-title"),
            draw_sites(sheet, parts),
        ),
        Section::new(
            "positives",
            texts.say("positives-title"),
            html! {
                (draw_positives(sheet, monthly))
                @if !parts.recall.sheets.is_empty() { (draw_recalls(sheet, &parts.recall)) }
            },
        ),
        Section::new(
            "schedule",
            texts.say("schedule-title"),
            draw_schedule(sheet, &monthly.schedule, &parts.release),
        ),
        Section::new(
            "implants",
            texts.say("implants-title"),
            draw_implants(sheet, monthly),
        ),
    ];
    sections.push(Section::new(
        "unusual",
        texts.say("unusual-title"),
        draw_unusual(sheet, &parts.findings),
    ));
    sections.push(Section::new(
        "decisions",
        texts.say("decisions-title"),
        draw_decisions(sheet, &parts.release),
    ));
    sections.push(Section::new(
        "exceptions",
        texts.say("exceptions-title"),
        draw_exceptions(sheet, monthly),
    ));
    let appendices = vec![
        Section::new(
            "loads",
            texts.say("loads-title"),
            draw_loads(sheet, &parts.release),
        ),
        draw_cycles(sheet, &parts.cycles),
        Section::new(
            "policy",
            texts.say("policy-title"),
            draw_policies(sheet, &parts.release.policies),
        ),
        draw_reading(sheet),
        draw_inputs(sheet),
        draw_lines(sheet),
    ];
    let mut facts = vec![html! { (month) }];
    if let Some(as_of) = sheet.reviewed.as_of {
        facts.push(
            html! { (texts.with("facts-as-of", &[("at", texts.moment(as_of.local).into())])) },
        );
    }
    if monthly.unfinished {
        facts.push(html! { strong { (texts.say("monthly-unfinished")) } });
    }
    Page {
        title: texts.with("monthly-title", &[("month", month.into())]),
        of: parts.sites.join(", "),
        facts,
        front,
        sections,
        appendices,
    }
    .draw(sheet)
}

/// What is unusual, in short: a row each, with its records of the month.
fn draw_unusual(sheet: &Sheet<'_>, findings: &Findings) -> Markup {
    let texts = sheet.texts;
    let n = findings.n_comparisons;
    if findings.is_empty() {
        return html! { p { (texts.with("unusual-of-month-nothing", &[("n", n.into())])) } };
    }
    let scope = sheet.reviewed.scope;
    let of_month = |row: &FindingRow| -> Vec<Place> {
        let days = row.finding.evidence.iter().map(|evidence| evidence.day);
        days.zip(&row.evidence)
            .filter(|(day, _)| scope.has_day(*day))
            .map(|(_, evidence)| evidence.place.clone())
            .collect()
    };
    html! {
        p { (texts.say("unusual-of-month")) }
        div class="wide" {
            table class="cases" {
                caption { (texts.with("unusual-comparisons", &[("n", n.into())])) }
                thead {
                    tr {
                        th scope="col" { (texts.say("unusual-about")) }
                        th scope="col" { (texts.say("unusual-what")) }
                        th scope="col" { (texts.say("case-where")) }
                    }
                }
                tbody {
                    @for (n, row) in (1..).zip(&findings.findings) {
                        @let places = of_month(row);
                        tr id={ "finding-" (n) } {
                            th scope="row" { (say_about(texts, row)) }
                            td {
                                strong { (say_finding_kind(texts, row)) ". " } (texts.phrase(&row.finding.said))
                                span class="sub" { (texts.say("need-next")) " " (say_next(texts, row)) }
                            }
                            td {
                                (sheet.cited.links(places.iter().take(MOST_PLACES)))
                                @if places.len() > MOST_PLACES { br; (texts.with("more", &[("n", places.len().saturating_sub(MOST_PLACES).into())])) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn draw_front(sheet: &Sheet<'_>, parts: &MonthlyParts) -> Markup {
    let texts = sheet.texts;
    let monthly = &parts.monthly;
    let n_open = |needs: &[Need]| -> u64 { needs.iter().map(Need::n_for_person).sum() };
    let Some(current) = monthly.all.current() else {
        return html! { p class="lead" { (texts.say("monthly-nothing")) } };
    };
    html! {
        p class="lead" {
            (texts.with("monthly-lead", &[
                ("growth", current.bi_grew.len().into()),
                ("read", current.n_bi_read.into()),
                ("open", n_open(&monthly.positives).saturating_add(n_open(&monthly.exceptions)).into()),
            ]))
        }
        (draw_table(sheet, &monthly.all, parts.interval, &texts.say("monthly-caption")))
        div class="halves" {
            (draw_columns(sheet, &monthly.all, "cycles"))
            (draw_columns(sheet, &monthly.all, "indicators"))
        }
        h2 { (texts.say("sign-title")) }
        (draw_signatures(sheet, &["sign-prevention", "sign-manager"]))
    }
}

/// The figures of a site, each month a column.
fn draw_table(
    sheet: &Sheet<'_>,
    site: &SiteFigures,
    interval: Option<ShareInterval>,
    caption: &str,
) -> Markup {
    let texts = sheet.texts;
    // The month itself stands first, so that it stays in sight on a narrow window.
    let months: Vec<&MonthFigures> = site.months.iter().rev().collect();
    let plain = |key: &str, count: &dyn Fn(&MonthFigures) -> u64, to: Option<&str>| {
        html! {
            tr {
                th scope="row" { (texts.say(key)) }
                @for (n, figures) in months.iter().enumerate() {
                    td class="num" {
                        @match to {
                            Some(to) if n == 0 && count(figures) > 0 => a href={ "#" (to) } { (texts.count(count(figures))) },
                            _ => (texts.count(count(figures))),
                        }
                    }
                }
            }
        }
    };
    let share = |key: &str,
                 count: &dyn Fn(&MonthFigures) -> u64,
                 of: &dyn Fn(&MonthFigures) -> u64,
                 places: &dyn Fn(&MonthFigures) -> Vec<Place>| {
        html! {
            tr {
                th scope="row" { (texts.say(key)) }
                @for (at, figures) in months.iter().enumerate() {
                    @let (n, total) = (count(figures), of(figures));
                    td class="num" {
                        span class="nowrap" { (texts.with("share-of", &[("n", n.into()), ("of", total.into())])) }
                        @if total > 0 { span class="sub" { (texts.percent(n, total)) } }
                        @if let Some((low, high)) = interval.and_then(|interval| interval(n, total)) {
                            span class="sub nowrap" {
                                (texts.with("share-interval", &[
                                    ("low", texts.number(100.0 * low, 1).into()),
                                    ("high", texts.number(100.0 * high, 1).into()),
                                ]))
                            }
                        }
                        @if at == 0 {
                            @let places = places(figures);
                            @for place in places.iter().take(4) { span class="sub" { (sheet.cited.link_said(place, &texts.with("line-n", &[("n", place.line.to_string().into())]))) } }
                        }
                    }
                }
            }
        }
    };
    let of_cycles =
        |rows: &[CycleRow]| rows.iter().map(|row| row.place.clone()).collect::<Vec<_>>();
    let nothing = |_: &MonthFigures| Vec::new();
    html! {
        div class="wide" {
            table class="months" {
                caption { (caption) @if interval.is_some() { " " (texts.say("share-interval-note")) } }
                thead {
                    tr {
                        td {}
                        @for (n, figures) in months.iter().enumerate() {
                            th scope="col" class=(if n == 0 { "num now" } else { "num" }) {
                                (texts.month(figures.month.year, figures.month.month))
                            }
                        }
                    }
                }
                tbody {
                    (plain("monthly-cycles", &|month| month.n_cycles, Some("cycles")))
                    (plain("monthly-loads", &|month| month.n_loads, Some("cycles")))
                    (share("monthly-aborted", &|month| month.aborted.len() as u64, &|month| month.n_cycles, &nothing))
                    (share("monthly-rejected", &|month| month.rejected.len() as u64, &|month| month.n_cycles, &nothing))
                    (share("monthly-unproven", &|month| month.unproven.len() as u64, &|month| month.n_cycles, &|month| of_cycles(&month.unproven)))
                    (share("monthly-growth", &|month| month.bi_grew.len() as u64, &|month| month.n_bi_read, &|month| month.bi_grew.clone()))
                    (share("monthly-dead", &|month| month.controls_dead.len() as u64, &|month| month.n_controls_read, &|month| month.controls_dead.clone()))
                    (plain("monthly-waiting", &|month| month.bi_waiting.len() as u64, None))
                    (share("monthly-ci", &|month| month.ci_not_reached.len() as u64, &|month| month.n_ci_read, &nothing))
                    (plain("monthly-implants", &|month| month.n_implants, Some("implants")))
                }
            }
        }
    }
}

fn draw_columns(sheet: &Sheet<'_>, site: &SiteFigures, what: &str) -> Markup {
    let texts = sheet.texts;
    let short = |figures: &MonthFigures| {
        format!(
            "{} {}",
            texts.say(&format!("month-short-{}", figures.month.month)),
            figures.month.year % 100
        )
    };
    let (bars, legend): (Vec<Bar>, Vec<(Fill, String)>) = match what {
        "cycles" => (
            site.months
                .iter()
                .map(|figures| {
                    let against =
                        figures.aborted.len().saturating_add(figures.rejected.len()) as u64;
                    Bar {
                        name: short(figures),
                        parts: vec![
                            (against, Fill::Full),
                            (figures.n_cycles.saturating_sub(against), Fill::Open),
                        ],
                        said: texts.with(
                            "share-of",
                            &[("n", against.into()), ("of", figures.n_cycles.into())],
                        ),
                    }
                })
                .collect(),
            vec![
                (Fill::Full, texts.say("columns-against")),
                (Fill::Open, texts.say("columns-others")),
            ],
        ),
        _ => (
            site.months
                .iter()
                .map(|figures| Bar {
                    name: short(figures),
                    parts: vec![
                        (figures.bi_grew.len() as u64, Fill::Full),
                        (figures.controls_dead.len() as u64, Fill::Hatched),
                        (
                            figures
                                .n_bi_read
                                .saturating_sub(figures.bi_grew.len() as u64),
                            Fill::Open,
                        ),
                    ],
                    said: texts.with(
                        "share-of",
                        &[
                            ("n", figures.bi_grew.len().into()),
                            ("of", figures.n_bi_read.into()),
                        ],
                    ),
                })
                .collect(),
            vec![
                (Fill::Full, texts.say("columns-growth")),
                (Fill::Hatched, texts.say("columns-dead")),
                (Fill::Open, texts.say("columns-no-growth")),
            ],
        ),
    };
    let title = texts.say(&format!("columns-{what}"));
    let about = site
        .months
        .iter()
        .zip(&bars)
        .map(|(figures, bar)| {
            format!(
                "{}: {}",
                texts.month(figures.month.year, figures.month.month),
                bar.said
            )
        })
        .collect::<Vec<_>>()
        .join("; ");
    let drawing = Bars {
        id: format!("columns-{what}"),
        title: title.clone(),
        about,
        bars,
        legend,
    };
    html! { figure class="half" { figcaption { (title) } (drawing.draw_columns()) } }
}

fn draw_sites(sheet: &Sheet<'_>, parts: &MonthlyParts) -> Markup {
    let texts = sheet.texts;
    let monthly = &parts.monthly;
    html! {
        @for site in &monthly.sites {
            (draw_table(sheet, site, parts.interval, site.site.as_deref().unwrap_or("–")))
        }
        @if let Some(current) = monthly.all.current() {
            @for (key, rows) in [("monthly-aborted", &current.aborted), ("monthly-rejected", &current.rejected), ("monthly-unproven", &current.unproven)] {
                @if !rows.is_empty() {
                    p class="dense" {
                        strong { (texts.say(key)) ": " }
                        @for row in rows { (sheet.cited.link_said(&row.place, &row.cycle)) " " }
                    }
                }
            }
            @for (key, places) in [("monthly-ci", &current.ci_not_reached), ("monthly-waiting", &current.bi_waiting)] {
                @if !places.is_empty() {
                    p class="dense" {
                        strong { (texts.say(key)) ": " }
                        @for place in places { (sheet.cited.link(place)) " " }
                    }
                }
            }
        }
    }
}

fn draw_positives(sheet: &Sheet<'_>, monthly: &Monthly) -> Markup {
    let texts = sheet.texts;
    html! {
        @if monthly.positives.is_empty() { p { (texts.say("positives-none")) } }
        @for need in &monthly.positives {
            (draw_cases(sheet, &need.cases, &say_kind(texts, need.kind)))
        }
    }
}

fn draw_schedule(sheet: &Sheet<'_>, rows: &[ScheduleRow], release: &ReleaseReport) -> Markup {
    let texts = sheet.texts;
    let due: Vec<(&str, Option<&Place>)> = release
        .rows
        .iter()
        .filter_map(|row| {
            let reason = row
                .reasons
                .iter()
                .chain(&row.notes)
                .find(|reason| reason.rule.0 == "bi-schedule-not-kept")?;
            Some((
                row.load.as_str(),
                reason.places().next().or(row.place.as_ref()),
            ))
        })
        .collect();
    let days = |tests: &TestDays| {
        html! {
            td class="num" {
                @if tests.n_days == 0 { "–" }
                @else { (texts.with("share-of", &[("n", tests.n_days.saturating_sub(tests.not_passed.len() as u64).into()), ("of", tests.n_days.into())])) }
                @for row in &tests.not_passed { span class="sub" { (sheet.cited.link_said(&row.place, &row.cycle)) } }
            }
        }
    };
    html! {
        p {
            (texts.say("schedule-about")) " "
            (texts.with("schedule-rule", &[("n", due.len().into())])) " "
            @for (load, place) in &due {
                @if let Some(place) = place { (sheet.cited.link_said(place, load)) } @else { (load) } " "
            }
        }
        div class="wide" {
            table {
                caption { (texts.say("schedule-caption")) }
                thead {
                    tr {
                        th scope="col" { (texts.say("word-unit")) }
                        th scope="col" class="num" { (texts.say("schedule-loads")) }
                        th scope="col" class="num" { (texts.say("schedule-days")) }
                        th scope="col" { (texts.say("schedule-without")) }
                        th scope="col" class="num" { (texts.say("schedule-leak")) }
                        th scope="col" class="num" { (texts.say("schedule-air")) }
                    }
                }
                tbody {
                    @for row in rows {
                        tr {
                            th scope="row" { (row.unit) }
                            td class="num nowrap" { (texts.with("share-of", &[("n", row.n_with_bi.into()), ("of", row.n_loads.into())])) }
                            td class="num nowrap" { (texts.with("share-of", &[("n", row.n_days.saturating_sub(row.days_without.len() as u64).into()), ("of", row.n_days.into())])) }
                            td class="dense" {
                                @if row.days_without.is_empty() { (texts.say("schedule-none")) }
                                @for (day, cycle) in &row.days_without { (sheet.cited.link_said(&cycle.place, &texts.short_day(*day))) " " }
                            }
                            (days(&row.leak))
                            (days(&row.air))
                        }
                    }
                }
            }
        }
    }
}

fn draw_implants(sheet: &Sheet<'_>, monthly: &Monthly) -> Markup {
    let texts = sheet.texts;
    if monthly.implants.is_empty() {
        return html! { p { (texts.say("implants-none")) } };
    }
    let say = |bi: ImplantBi| {
        texts.say(match bi {
            ImplantBi::Grew => "implant-grew",
            ImplantBi::None => "implant-without",
            ImplantBi::NotRead => "implant-not-read",
            ImplantBi::ReadAfterRelease => "implant-early",
            ImplantBi::NoGrowth => "implant-fine",
        })
    };
    let mut counts: std::collections::BTreeMap<ImplantBi, u64> = std::collections::BTreeMap::new();
    for row in &monthly.implants {
        counts.entry(row.bi).or_default().add_one();
    }
    html! {
        ul {
            @for (bi, n) in &counts { li { (texts.count(*n)) " " (say(*bi)) } }
        }
        div class="wide" {
            table {
                caption { (texts.with("implants-caption", &[("n", monthly.implants.len().into())])) }
                thead {
                    tr {
                        th scope="col" { (texts.say("word-load")) }
                        th scope="col" { (texts.say("word-unit")) }
                        th scope="col" { (texts.say("case-when")) }
                        th scope="col" { (texts.say("implants-bi")) }
                        th scope="col" { (texts.say("implants-released")) }
                        th scope="col" { (texts.say("case-where")) }
                    }
                }
                tbody {
                    @for row in &monthly.implants {
                        tr class=[(row.bi != ImplantBi::NoGrowth).then_some("live")] {
                            th scope="row" { (row.load) }
                            td { (row.unit.as_deref().unwrap_or("–")) }
                            td class="nowrap" { (row.first.map_or_else(|| "–".to_owned(), |at| texts.moment(at))) }
                            td { (say(row.bi)) }
                            td class="nowrap" { (row.released.map_or_else(|| "–".to_owned(), |at| texts.moment(at))) }
                            td { @for (n, place) in row.places.iter().enumerate() { @if n > 0 { " · " } (sheet.cited.link_said(place, &texts.with("line-n", &[("n", place.line.to_string().into())]))) } }
                        }
                    }
                }
            }
        }
    }
}

fn draw_exceptions(sheet: &Sheet<'_>, monthly: &Monthly) -> Markup {
    let texts = sheet.texts;
    html! {
        @if monthly.exceptions.is_empty() {
            p { (texts.say("exceptions-none")) }
        } @else {
            p { (texts.say("exceptions-about")) }
            (draw_summary(sheet, &monthly.exceptions))
            @for need in &monthly.exceptions {
                div id=(super::needs::section_id(need.kind)) {
                    h3 { (say_kind(texts, need.kind)) ": " (texts.count(need.n_found)) }
                    (super::needs::draw_need(sheet, need))
                }
            }
        }
    }
}
