//! The review that a quality meeting opens with. Its first printed page stands alone: what needs a person, and the figures.
//! Read [`draw_review`] first.

use super::Sheet;
use super::appendix::{
    draw_cycles, draw_inputs, draw_lines, draw_reading, draw_signatures, say_scope,
};
use super::decision::{draw_decisions, draw_loads, draw_policies, draw_recalls};
use super::ending::{Cause, draw_pareto, draw_programs, draw_tests};
use super::findings::{draw_findings, draw_findings_table};
use super::lengths::draw_series;
use super::needs::{draw_first, draw_needs, draw_summary};
use super::page::{Page, Section};
use crate::judge::decision::Decision;
use crate::report::attention::{Need, NeedKind};
use crate::report::lengths::LengthSeries;
use crate::report::lots::LotRow;
use crate::report::recall::RecallReport;
use crate::report::release::ReleaseReport;
use crate::report::review::Review;
use maud::{Markup, html};
use serde::Serialize;

/// So many findings stand on the first page, and so many cases where there is room: a page of Letter has room for so many
/// rows of findings, kinds of need and cases together.
const N_UNUSUAL: usize = 12;
const N_FIRST: usize = 5;
const N_ROWS: usize = 28;

/// What the report is drawn from.
#[derive(Serialize)]
pub struct ReviewParts {
    /// The review.
    pub review: Review,
    /// The lengths of cycles.
    pub lengths: Vec<LengthSeries>,
    /// The lengths of the stages that findings speak of.
    pub found_lengths: Vec<LengthSeries>,
    /// The lots.
    pub lots: Vec<LotRow>,
    /// What the records of each load support.
    pub release: ReleaseReport,
    /// The recall scopes.
    pub recall: RecallReport,
}

/// Draws the report.
pub fn draw_review(parts: &ReviewParts, sheet: &Sheet<'_>) -> String {
    let texts = sheet.texts;
    let review = &parts.review;
    let unusual = draw_findings(sheet, &review.findings, &parts.found_lengths);
    let unusual = unusual.map(|body| Section::new("unusual", texts.say("unusual-title"), body));
    let mut sections: Vec<Section> = unusual.into_iter().collect();
    sections.extend(draw_needs(sheet, &review.needs));
    sections.push(Section::new(
        "decisions",
        texts.say("decisions-title"),
        draw_decisions(sheet, &parts.release),
    ));
    if !parts.recall.sheets.is_empty() {
        sections.push(Section::new(
            "recalls",
            texts.say("recalls-title"),
            draw_recalls(sheet, &parts.recall),
        ));
    }
    sections.push(draw_counts(sheet, review));
    sections.extend(draw_endings(sheet, review));
    sections.extend(draw_lengths(sheet, &parts.lengths));
    sections.extend(draw_lots(sheet, &parts.lots));
    sections.extend(draw_records(sheet, review));
    sections.push(Section::new(
        "sign",
        texts.say("sign-title"),
        draw_signatures(sheet, &["sign-manager", "sign-quality", "sign-prevention"]),
    ));
    let mut appendices = vec![
        Section::new(
            "loads",
            texts.say("loads-title"),
            draw_loads(sheet, &parts.release),
        ),
        draw_cycles(sheet, &review.cycles),
        Section::new(
            "policy",
            texts.say("policy-title"),
            draw_policies(sheet, &review.policies),
        ),
        draw_reading(sheet),
        draw_inputs(sheet),
    ];
    let front = draw_front(sheet, review);
    let facts = draw_facts(sheet, review);
    appendices.push(draw_lines(sheet));
    Page {
        title: texts.say("review-title"),
        of: review.sites.join(", "),
        facts,
        front,
        sections,
        appendices,
    }
    .draw(sheet)
}

/// Period, moment and scope of a report, in a line each.
pub fn draw_facts(sheet: &Sheet<'_>, review: &Review) -> Vec<Markup> {
    let texts = sheet.texts;
    let mut facts = Vec::new();
    if let (Some(first), Some(last)) = (&review.first_cycle, &review.last_cycle) {
        facts.push(html! {
            (texts.with("facts-period", &[
                ("first", texts.stamp(first.get(..10).unwrap_or(first)).into()),
                ("last", texts.stamp(last.get(..10).unwrap_or(last)).into()),
            ]))
        });
    }
    if let Some(as_of) = &review.as_of {
        facts.push(html! {
            (texts.with("facts-as-of", &[("at", texts.moment(as_of.local).into())]))
            @if let Some(place) = &as_of.newest_record {
                " (" (sheet.cited.link_said(place, &texts.say("facts-newest"))) ")"
            }
        });
    }
    if !review.scope.is_everything() {
        facts.push(html! { (texts.with("facts-scope", &[("scope", say_scope(sheet).into())])) });
    }
    facts.push(html! {
        (texts.with("facts-intake", &[
            ("files", review.intake.n_files.into()),
            ("lines", review.intake.n_lines.into()),
            ("entries", review.intake.n_entries.into()),
        ]))
    });
    facts
}

fn draw_front(sheet: &Sheet<'_>, review: &Review) -> Markup {
    let texts = sheet.texts;
    let n_taken = review
        .findings
        .findings
        .len()
        .min(N_UNUSUAL)
        .saturating_add(review.needs.len());
    let n_first = N_ROWS.saturating_sub(n_taken).clamp(1, N_FIRST);
    html! {
        p class="lead" { (say_lead(sheet, review)) }
        (draw_figures(sheet, review))
        h2 { (texts.say("unusual-title")) }
        (draw_findings_table(sheet, &review.findings, N_UNUSUAL))
        h2 { (texts.say("front-needs")) }
        @if review.needs.is_empty() {
            p { (texts.say("front-nothing")) }
        } @else {
            (draw_summary(sheet, &review.needs))
            h2 { (texts.say("front-first")) }
            (draw_first(sheet, &review.needs, n_first))
        }
    }
}

/// The sentence that the report opens with.
fn say_lead(sheet: &Sheet<'_>, review: &Review) -> String {
    let texts = sheet.texts;
    // The same loads as in the table of decisions and on the terminal.
    let n_against = review.n_let_go(&[Decision::Recall, Decision::Reject]) as u64;
    let n_open: u64 = review.needs.iter().map(Need::n_for_person).sum();
    if n_against > 0 {
        return texts.with(
            "lead-against",
            &[("n", n_against.into()), ("open", n_open.into())],
        );
    }
    match n_open {
        0 => texts.say("lead-nothing"),
        n => texts.with("lead-open", &[("n", n.into())]),
    }
}

fn draw_figures(sheet: &Sheet<'_>, review: &Review) -> Markup {
    let texts = sheet.texts;
    let n_load_cycles: usize = review.programs.iter().map(|row| row.n_cycles).sum();
    let n_aborted: usize = review.programs.iter().map(|row| row.n_aborted).sum();
    let n_rejected: usize = review.programs.iter().map(|row| row.n_rejected).sum();
    let n_missing: u64 = review
        .needs
        .iter()
        .filter(|need| need.kind == NeedKind::PrintoutMissing)
        .map(|need| need.n_found)
        .sum();
    let figure = |n: u64, key: &str, to: &str, more: String| {
        html! {
            li {
                a href={ "#" (to) } {
                    span class="n" { (texts.count(n)) }
                    span class="what" { (texts.say(key)) }
                }
                @if !more.is_empty() { span class="more" { (more) } }
            }
        }
    };
    let share = |n: usize| texts.percent(n as u64, n_load_cycles as u64);
    html! {
        ul class="figures" {
            (figure(n_load_cycles as u64, "figure-cycles", "counts",
                texts.with("figure-of-all", &[("n", review.n_cycles.into())])))
            (figure(review.n_loads as u64, "figure-loads", "decisions",
                texts.with("figure-units", &[("n", review.n_units.into())])))
            (figure(n_aborted as u64, "figure-aborted", "aborts", share(n_aborted)))
            (figure(n_rejected as u64, "figure-rejected", "rejections", share(n_rejected)))
            (figure(n_missing, "figure-missing", if n_missing > 0 { "need-printout-missing" } else { "counts" }, String::new()))
            (figure(review.intake.n_unread_lines, "figure-unread", "reading",
                texts.percent(review.intake.n_unread_lines, review.intake.n_lines)))
        }
    }
}

fn draw_counts(sheet: &Sheet<'_>, review: &Review) -> Section {
    let body = html! {
        (draw_programs(sheet, &review.programs))
        (draw_tests(sheet, &review.tests))
    };
    Section::new("counts", sheet.texts.say("counts-title"), body)
}

fn draw_endings(sheet: &Sheet<'_>, review: &Review) -> Vec<Section> {
    let texts = sheet.texts;
    let process = |process: Option<&str>| texts.name("process", process.unwrap_or("not known"));
    let cause = |word: Option<&str>| match word {
        Some(word) => texts.name("cause", word),
        None => texts.say("cause-none"),
    };
    let units = |by_unit: &std::collections::BTreeMap<String, usize>| -> Vec<(String, usize)> {
        by_unit.iter().map(|(unit, n)| (unit.clone(), *n)).collect()
    };
    let aborts: Vec<Cause> = review
        .aborts
        .iter()
        .map(|row| Cause {
            name: format!(
                "{}, {}: {}",
                process(row.process),
                row.stage.as_deref().map_or_else(
                    || texts.say("stage-none"),
                    |stage| texts.name("stage", stage)
                ),
                cause(row.cause.as_deref()),
            ),
            by_unit: units(&row.by_unit),
            cycles: row.cycles.clone(),
        })
        .collect();
    let rejections: Vec<Cause> = review
        .rejections
        .iter()
        .map(|row| Cause {
            name: format!("{}: {}", process(row.process), cause(row.cause.as_deref())),
            by_unit: units(&row.by_unit),
            cycles: row.cycles.clone(),
        })
        .collect();
    [("aborts", aborts), ("rejections", rejections)]
        .into_iter()
        .map(|(id, causes)| {
            let title = texts.say(&format!("{id}-title"));
            let body = if causes.is_empty() {
                html! { p { (texts.say("pareto-none")) } }
            } else {
                draw_pareto(sheet, &format!("pareto-{id}"), &title, &causes)
            };
            Section::new(id, title, body)
        })
        .collect()
}

fn draw_lengths(sheet: &Sheet<'_>, lengths: &[LengthSeries]) -> Option<Section> {
    let texts = sheet.texts;
    if lengths.is_empty() {
        return None;
    }
    let has_limits = lengths.iter().any(|series| series.control.is_some());
    let body = html! {
        p { (texts.say(if has_limits { "lengths-about-limits" } else { "lengths-about" })) }
        div class="halves" {
            @for (n, series) in lengths.iter().enumerate() {
                (draw_series(sheet, series, &format!("length-{n}"), "finding-"))
            }
        }
    };
    Some(Section::new("lengths", texts.say("lengths-title"), body))
}

fn draw_lots(sheet: &Sheet<'_>, lots: &[LotRow]) -> Option<Section> {
    let texts = sheet.texts;
    if lots.is_empty() {
        return None;
    }
    let mut told: Vec<&LotRow> = lots.iter().filter(|lot| lot.n_against > 0).collect();
    told.sort_by(|a, b| {
        let share = |lot: &LotRow| (lot.n_against as f64) / (lot.n_used.max(1) as f64);
        a.kind
            .cmp(b.kind)
            .then_with(|| share(b).total_cmp(&share(a)))
            .then_with(|| a.lot.cmp(&b.lot))
    });
    let body = html! {
        p {
            (texts.with("lots-about", &[
                ("n", lots.len().into()),
                ("against", told.len().into()),
            ]))
        }
        @if !told.is_empty() {
            div class="wide" {
                table {
                    caption { (texts.say("lots-caption")) }
                    thead {
                        tr {
                            th scope="col" { (texts.say("lots-kind")) }
                            th scope="col" { (texts.say("word-lot")) }
                            th scope="col" { (texts.say("word-expiry")) }
                            th scope="col" class="num" { (texts.say("lots-used")) }
                            th scope="col" class="num" { (texts.say("lots-against")) }
                            th scope="col" class="num" { (texts.say("lots-share")) }
                            th scope="col" { (texts.say("pareto-units")) }
                            th scope="col" { (texts.say("case-where")) }
                        }
                    }
                    tbody {
                        @for lot in told {
                            tr {
                                td { (texts.name("consumable", lot.kind)) }
                                th scope="row" { (sheet.cited.link_said(&lot.first, &lot.lot)) }
                                td class="nowrap" { (lot.expiry.as_deref().map_or_else(|| "–".to_owned(), |day| texts.stamp(day))) }
                                td class="num" { (texts.count(lot.n_used)) }
                                td class="num" { (texts.count(lot.n_against)) }
                                td class="num" { (texts.percent(lot.n_against, lot.n_used)) }
                                td { @for (unit, n) in &lot.units { span class="nowrap" { (unit) ": " (texts.count(*n)) } " " } }
                                td { (sheet.cited.links(lot.against.iter().take(6)))
                                    @if lot.against.len() > 6 { br; (texts.with("more", &[("n", lot.against.len().saturating_sub(6).into())])) } }
                            }
                        }
                    }
                }
            }
        }
    };
    Some(Section::new("lots", texts.say("lots-title"), body))
}

fn draw_records(sheet: &Sheet<'_>, review: &Review) -> Option<Section> {
    let texts = sheet.texts;
    if review.clocks.is_empty() && review.counter_resets.is_empty() {
        return None;
    }
    let body = html! {
        @if !review.clocks.is_empty() {
            div class="wide" tabindex="0" role="group" aria-label=(texts.say("clocks-caption")) {
                table {
                    caption { (texts.say("clocks-caption")) }
                    thead {
                        tr {
                            th scope="col" { (texts.say("word-unit")) }
                            th scope="col" { (texts.say("clocks-median")) }
                            th scope="col" class="num" { (texts.say("clocks-loads")) }
                            th scope="col" { (texts.say("clocks-habit")) }
                        }
                    }
                    tbody {
                        @for row in &review.clocks {
                            tr {
                                th scope="row" { (row.unit) }
                                td { (say_clock(sheet, row.median_seconds)) }
                                td class="num" { (texts.count(row.n_loads as u64)) }
                                td { (texts.say(if row.conflict { "clocks-more" } else { "clocks-usual" })) }
                            }
                        }
                    }
                }
            }
        }
        @if !review.counter_resets.is_empty() {
            div class="wide" {
                table {
                    caption { (texts.say("resets-caption")) }
                    thead {
                        tr {
                            th scope="col" { (texts.say("word-unit")) }
                            th scope="col" { (texts.say("resets-from")) }
                            th scope="col" { (texts.say("resets-to")) }
                            th scope="col" { (texts.say("resets-service")) }
                        }
                    }
                    tbody {
                        @for row in &review.counter_resets {
                            tr {
                                th scope="row" { (row.unit) }
                                td { (row.after) }
                                td { (row.before) " " @if let Some(place) = &row.place { (sheet.cited.link(place)) } }
                                td { @if let Some(place) = &row.service { (sheet.cited.link(place)) } @else { (texts.say("resets-none")) } }
                            }
                        }
                    }
                }
            }
        }
    };
    Some(Section::new("records", texts.say("records-title"), body))
}

/// How a unit's clock stands against the log's.
pub fn say_clock(sheet: &Sheet<'_>, median_seconds: f64) -> String {
    // No clock is off by more seconds than fit.
    let seconds = median_seconds.round() as i64;
    sheet.texts.with(
        if seconds >= 0 {
            "clock-behind"
        } else {
            "clock-ahead"
        },
        &[(
            "time",
            super::saying::length(seconds.saturating_abs()).into(),
        )],
    )
}
