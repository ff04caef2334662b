//! What is unusual, drawn: a table that leads to each finding, and each finding in full with its records.
//!
//! Read [`draw_findings_table`] first, then [`draw_finding`].

use super::Sheet;
use super::lengths::draw_series;
use crate::report::findings::{FindingRow, Findings, name};
use crate::report::lang::Texts;
use crate::report::lengths::LengthSeries;
use maud::{Markup, html};

/// So many records of a finding are listed; more don't help a meeting.
const MOST_RECORDS: usize = 12;

/// The names of what a finding is about.
pub fn say_about(texts: &Texts, row: &FindingRow) -> String {
    name(&row.finding.subject, texts, &|cause| {
        texts.name("cause", cause)
    })
}

/// What kind of finding it is, in few words.
pub fn say_finding_kind(texts: &Texts, row: &FindingRow) -> String {
    texts.say(&format!("finding-{}", row.kind.id()))
}

/// The effect in a few words.
pub fn say_much(texts: &Texts, row: &FindingRow) -> String {
    if let Some(forecast) = &row.forecast {
        return texts.with("much-limit", &[("day", texts.day(forecast.day).into())]);
    }
    match &row.effect {
        Some(effect) if effect.measure == "times as often" && effect.estimate.is_finite() => {
            let n_decimals = if effect.estimate >= 20.0 { 0 } else { 1 };
            let ratio = texts.number(effect.estimate, n_decimals);
            texts.with("much-times", &[("ratio", ratio.into())])
        }
        Some(effect) if effect.measure.starts_with('%') => {
            let key = match effect.measure {
                "%" => "much-percent",
                _ => "much-percent-weekly",
            };
            let estimate = texts.signed(effect.estimate, 1);
            texts.with(key, &[("estimate", estimate.into())])
        }
        _ => texts.with("much-records", &[("n", row.n_evidence.into())]),
    }
}

/// The sentences of what to check next.
pub fn say_next(texts: &Texts, row: &FindingRow) -> String {
    texts.phrases(&row.finding.next)
}

/// How sure it is, in a sentence.
fn say_sure(texts: &Texts, row: &FindingRow) -> String {
    match &row.surety {
        Some(surety) => texts.with(
            "finding-sure-said",
            &[
                ("p", texts.probability(surety.p).into()),
                ("adjusted", texts.probability(surety.p_adjusted).into()),
                ("n", surety.n_comparisons.into()),
                ("accepted", texts.number(surety.accepted, 2).into()),
            ],
        ),
        None => texts.say("finding-fact"),
    }
}

/// The findings in a table, worst first; each leads to the whole of it. So many rows at most.
pub fn draw_findings_table(sheet: &Sheet<'_>, findings: &Findings, most: usize) -> Markup {
    let texts = sheet.texts;
    let n = findings.n_comparisons;
    if findings.is_empty() {
        return html! { p { (texts.with("unusual-nothing", &[("n", n.into())])) } };
    }
    let n_more = findings.findings.len().saturating_sub(most);
    html! {
        table class="unusual" {
            caption {
                (texts.with("unusual-caption", &[("n", n.into())]))
                @if n_more > 0 { " " span class="sub" { (texts.with("unusual-more", &[("n", n_more.into())])) } }
            }
            thead {
                tr {
                    th scope="col" { (texts.say("unusual-what")) }
                    th scope="col" { (texts.say("unusual-about")) }
                    th scope="col" { (texts.say("unusual-much")) }
                }
            }
            tbody {
                @for (n, row) in findings.findings.iter().take(most).enumerate() {
                    tr {
                        th scope="row" { a href={ "#finding-" (n + 1) } { (say_finding_kind(texts, row)) } }
                        td { (say_about(texts, row)) }
                        td { (say_much(texts, row)) }
                    }
                }
            }
        }
    }
}

/// Every finding in full, with the charts of the stages that they speak of.
pub fn draw_findings(
    sheet: &Sheet<'_>,
    findings: &Findings,
    charts: &[LengthSeries],
) -> Option<Markup> {
    if findings.is_empty() {
        return None;
    }
    let texts = sheet.texts;
    Some(html! {
        p class="note" {
            (texts.with("unusual-method", &[
                ("n", findings.n_comparisons.into()),
                ("questions", findings.n_questions.into()),
            ]))
            " " cite { (texts.say("unusual-correction")) } "."
        }
        @for (n, row) in (1..).zip(&findings.findings) {
            article class="finding" {
                h3 id={ "finding-" (n) } { (n) ". " (say_finding_kind(texts, row)) ": " (say_about(texts, row)) }
                (draw_finding(sheet, row))
                (draw_charts(sheet, charts, n))
            }
        }
    })
}

fn draw_charts(sheet: &Sheet<'_>, charts: &[LengthSeries], finding: usize) -> Markup {
    let own: Vec<&LengthSeries> = charts
        .iter()
        .filter(|series| series.found.iter().any(|found| found.finding == finding))
        .collect();
    html! {
        @if !own.is_empty() {
            p class="note" { (sheet.texts.say("found-legend")) }
            div class="halves" {
                @for (n, series) in own.iter().enumerate() {
                    (draw_series(sheet, series, &format!("found-{finding}-{n}"), "finding-"))
                }
            }
        }
    }
}

/// A finding below its heading.
pub fn draw_finding(sheet: &Sheet<'_>, row: &FindingRow) -> Markup {
    let texts = sheet.texts;
    let finding = &row.finding;
    let of_kind = |what: &str| texts.say(&format!("finding-{}-{what}", row.kind.id()));
    let n_listed = row.evidence.len().min(MOST_RECORDS);
    html! {
        p class="said" { (texts.phrase(&finding.said)) }
        dl class="told" {
            @if let Some(effect) = &finding.effect {
                div { dt { (texts.say("finding-much")) } dd { (texts.phrase(&effect.said)) } }
            }
            div { dt { (texts.say("finding-sure")) } dd { (say_sure(texts, row)) } }
            @if !finding.also.is_empty() {
                div { dt { (texts.say("finding-also")) } dd { (texts.phrases(&finding.also)) } }
            }
            @if !finding.else_explains.is_empty() {
                div { dt { (texts.say("finding-else")) } dd { (texts.phrases(&finding.else_explains)) } }
            }
            div { dt { (texts.say("finding-cannot")) } dd { (of_kind("cannot-tell")) } }
            div class="to-do" { dt { (texts.say("finding-next")) } dd { (say_next(texts, row)) } }
            div { dt { (texts.say("finding-how")) } dd { (of_kind("method")) } }
            div class="records" {
                dt { (texts.say("finding-evidence")) }
                dd {
                    ul class="evidence" {
                        @for (at, evidence) in row.evidence.iter().enumerate().take(n_listed) {
                            li {
                                @if let Some(day) = &evidence.day { span class="nowrap" { (texts.stamp(day)) } " · " }
                                @if let Some(found) = finding.evidence.get(at) { (texts.phrase(&found.said)) " · " }
                                (sheet.cited.link(&evidence.place))
                            }
                        }
                        @if row.n_evidence > n_listed {
                            li { (texts.with("more", &[("n", row.n_evidence.saturating_sub(n_listed).into())])) }
                        }
                    }
                }
            }
        }
    }
}
