//! How cycles ended, drawn: cycles by unit and program, and the Pareto of aborts and rejections.

use super::Sheet;
use super::appendix::index_id;
use super::chart::{Bar, Bars, Fill};
use crate::measure::count::Counting;
use crate::report::naming::CycleRow;
use crate::report::review::{ProgramRow, TestRow};
use maud::{Markup, html};

/// One bar of a Pareto and the cycles behind it.
pub struct Cause {
    /// What it is.
    pub name: String,
    /// How many cycles in each unit.
    pub by_unit: Vec<(String, usize)>,
    /// The cycles.
    pub cycles: Vec<CycleRow>,
}

/// A Pareto with the table of its rows.
pub fn draw_pareto(sheet: &Sheet<'_>, id: &str, title: &str, causes: &[Cause]) -> Markup {
    let texts = sheet.texts;
    let total: usize = causes.iter().map(|cause| cause.cycles.len()).sum();
    let mut so_far = 0;
    let bars: Vec<Bar> = causes
        .iter()
        .map(|cause| {
            let n = cause.cycles.len();
            so_far.add_many(n);
            Bar {
                name: cause.name.clone(),
                parts: vec![(n as u64, Fill::Full)],
                said: texts.with(
                    "pareto-bar",
                    &[
                        ("n", n.into()),
                        ("share", texts.percent(so_far as u64, total as u64).into()),
                    ],
                ),
            }
        })
        .collect();
    let about = causes
        .iter()
        .map(|cause| format!("{}: {}", cause.name, cause.cycles.len()))
        .collect::<Vec<_>>()
        .join("; ");
    let drawing = Bars {
        id: id.to_owned(),
        title: title.to_owned(),
        about: texts.with(
            "pareto-about",
            &[("n", total.into()), ("bars", about.into())],
        ),
        bars,
        legend: Vec::new(),
    };
    html! {
        figure {
            figcaption { (texts.say("pareto-caption")) }
            div class="wide" tabindex="0" role="group" aria-label=(title) { (drawing.draw_rows()) }
        }
        div class="wide" {
            table {
                caption { (texts.with("pareto-rows", &[("title", title.into())])) }
                thead {
                    tr {
                        th scope="col" { (texts.say("pareto-cause")) }
                        th scope="col" class="num" { (texts.say("word-cycles")) }
                        th scope="col" { (texts.say("pareto-units")) }
                        th scope="col" { (texts.say("pareto-which")) }
                    }
                }
                tbody {
                    @for cause in causes {
                        tr {
                            th scope="row" { (cause.name) }
                            td class="num" { (texts.count(cause.cycles.len() as u64)) }
                            td class="nowrap" {
                                @for (n, (unit, count)) in cause.by_unit.iter().enumerate() {
                                    @if n > 0 { br; } (unit) ": " (texts.count(*count as u64))
                                }
                            }
                            td class="dense" {
                                @for row in &cause.cycles { (sheet.cited.link_said(&row.place, &row.cycle)) " " }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Cycles with a load by unit and program; each count links to its rows.
pub fn draw_programs(sheet: &Sheet<'_>, rows: &[ProgramRow]) -> Markup {
    let texts = sheet.texts;
    let link = |row: &ProgramRow, n: usize, outcome: &str| {
        html! {
            td class="num" {
                @if n > 0 { a href={ "#" (index_id(row.unit.as_deref(), row.program.as_deref(), outcome)) } { (texts.count(n as u64)) } }
                @else { "–" }
            }
        }
    };
    let total = |count: fn(&ProgramRow) -> usize| rows.iter().map(count).sum::<usize>() as u64;
    html! {
        div class="wide" {
            table {
                caption { (texts.say("programs-caption")) }
                thead {
                    tr {
                        th scope="col" { (texts.say("word-unit")) }
                        th scope="col" { (texts.say("word-program")) }
                        th scope="col" class="num" { (texts.say("word-cycles")) }
                        th scope="col" class="num" { (texts.say("outcome-completed")) }
                        th scope="col" class="num" { (texts.say("outcome-aborted")) }
                        th scope="col" class="num" { (texts.say("outcome-rejected-short")) }
                        th scope="col" class="num" { (texts.say("outcome-unproven")) }
                        th scope="col" class="num" { (texts.say("programs-share")) }
                    }
                }
                tbody {
                    @for row in rows {
                        tr {
                            th scope="row" { (row.unit.as_deref().unwrap_or("?")) }
                            td { (row.program.as_deref().unwrap_or("?")) }
                            (link(row, row.n_cycles, ""))
                            (link(row, row.n_completed, "completed"))
                            (link(row, row.n_aborted, "aborted"))
                            (link(row, row.n_rejected, "rejected"))
                            (link(row, row.n_unproven, "unproven"))
                            td class="num" { (texts.percent(row.n_aborted.saturating_add(row.n_rejected) as u64, row.n_cycles as u64)) }
                        }
                    }
                }
                tfoot {
                    tr {
                        th scope="row" colspan="2" { (texts.say("word-all")) }
                        td class="num" { (texts.count(total(|row| row.n_cycles))) }
                        td class="num" { (texts.count(total(|row| row.n_completed))) }
                        td class="num" { (texts.count(total(|row| row.n_aborted))) }
                        td class="num" { (texts.count(total(|row| row.n_rejected))) }
                        td class="num" { (texts.count(total(|row| row.n_unproven))) }
                        td class="num" { (texts.percent(total(|row| row.n_aborted.saturating_add(row.n_rejected)), total(|row| row.n_cycles))) }
                    }
                }
            }
        }
    }
}

/// Leak tests, air-removal tests and warm-ups by unit.
pub fn draw_tests(sheet: &Sheet<'_>, rows: &[TestRow]) -> Markup {
    let texts = sheet.texts;
    let link = |row: &TestRow, n: usize, outcome: &str| {
        html! {
            td class="num" {
                @if n > 0 { a href={ "#" (index_id(row.unit.as_deref(), Some(row.purpose.word()), outcome)) } { (texts.count(n as u64)) } }
                @else { "–" }
            }
        }
    };
    html! {
        @if !rows.is_empty() {
            div class="wide" {
                table {
                    caption { (texts.say("tests-caption")) }
                    thead {
                        tr {
                            th scope="col" { (texts.say("word-unit")) }
                            th scope="col" { (texts.say("tests-what")) }
                            th scope="col" class="num" { (texts.say("word-all")) }
                            th scope="col" class="num" { (texts.say("tests-passed")) }
                            th scope="col" class="num" { (texts.say("tests-failed")) }
                            th scope="col" class="num" { (texts.say("outcome-unproven")) }
                        }
                    }
                    tbody {
                        @for row in rows {
                            tr {
                                th scope="row" { (row.unit.as_deref().unwrap_or("?")) }
                                td { (texts.name("purpose", row.purpose.word())) }
                                (link(row, row.n_cycles, ""))
                                (link(row, row.n_passed, "passed"))
                                (link(row, row.n_failed, "failed"))
                                (link(row, row.n_unproven, "unproven"))
                            }
                        }
                    }
                }
            }
        }
    }
}
