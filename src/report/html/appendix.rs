//! The appendices that every report ends with: which cycles were counted, what was inferred and not read, the lines that
//! were linked to, and the inputs with their fingerprints.

use super::page::Section;
use super::saying::say_code;
use super::{Masking, Sheet};
use crate::diagnose::codes::Code;
use crate::measure::count::Counting;
use crate::record::cycle::Purpose;
use crate::report::place::Place;
use crate::report::review::CountedRow;
use maud::{Markup, html};
use std::collections::BTreeMap;

/// The id of the rows behind a count: cycles of a unit, a program (or a test), an outcome; an empty outcome means all.
pub fn index_id(unit: Option<&str>, program: Option<&str>, outcome: &str) -> String {
    // Letters and digits stay, anything else becomes its number, so that two names never meet.
    let mut id = String::from("c");
    for part in [unit.unwrap_or("?"), program.unwrap_or("?"), outcome] {
        id.push('-');
        for c in part.chars() {
            if c.is_ascii_alphanumeric() {
                id.push(c);
            } else {
                id.push_str(&format!("_{:x}_", u32::from(c)));
            }
        }
    }
    id
}

/// The group of outcomes that a counted cycle is in.
fn group_of(row: &CountedRow) -> &'static str {
    match (row.purpose, row.outcome) {
        (Purpose::Load, "completed" | "aborted" | "rejected") => row.outcome,
        (Purpose::Load, _) => "unproven",
        (_, "passed" | "completed") => "passed",
        (_, "failed" | "aborted" | "rejected") => "failed",
        _ => "unproven",
    }
}

/// The rows behind the counts: every cycle by unit, program and outcome, with the line on which its printout opens.
pub fn draw_cycles(sheet: &Sheet<'_>, counted: &[CountedRow]) -> Section {
    let texts = sheet.texts;
    type Groups<'a> = BTreeMap<&'static str, BTreeMap<&'a str, Vec<&'a CountedRow>>>;
    let mut rows: BTreeMap<(Purpose, &str, &str), Groups<'_>> = BTreeMap::new();
    for row in counted {
        let unit = row.row.cycle.split_once(':').map_or("?", |(unit, _)| unit);
        let program = match row.purpose {
            Purpose::Load => row.program.as_deref().unwrap_or("?"),
            purpose => purpose.word(),
        };
        rows.entry((row.purpose, unit, program))
            .or_default()
            .entry(group_of(row))
            .or_default()
            .entry(row.row.place.file.as_str())
            .or_default()
            .push(row);
    }
    let say_group = |group: &str| {
        texts.say(match group {
            "completed" => "outcome-completed",
            "aborted" => "outcome-aborted",
            "rejected" => "outcome-rejected-short",
            "passed" => "tests-passed",
            "failed" => "tests-failed",
            _ => "outcome-unproven",
        })
    };
    let body = html! {
        p { (texts.say("index-about")) }
        @for ((purpose, unit, program), groups) in &rows {
            div class="index" id=(index_id(Some(unit), Some(program), "")) {
                h3 {
                    (unit) ", "
                    @if *purpose == Purpose::Load { (program) } @else { (texts.name("purpose", purpose.word())) }
                }
                @for (group, files) in groups {
                    @let n: usize = files.values().map(Vec::len).sum();
                    p id=(index_id(Some(unit), Some(program), group)) {
                        strong { (say_group(group)) ": " (texts.count(n as u64)) ". " }
                        @for (file, rows) in files {
                            span class="file" { (sheet.cited.short_name(file)) ": " }
                            @for row in rows {
                                span class="c" {
                                    (row.row.cycle.split_once(':').map_or("?", |(_, counter)| counter))
                                    span class="l" { ":" (row.row.place.line) }
                                } " "
                            }
                        }
                    }
                }
            }
        }
    };
    Section::new("cycles", texts.say("index-title"), body)
}

/// What could not be read, by count, and what was inferred.
pub fn draw_reading(sheet: &Sheet<'_>) -> Section {
    let texts = sheet.texts;
    let mut unread: BTreeMap<Code, (u64, Vec<Place>)> = BTreeMap::new();
    for lines in sheet.reviewed.unread {
        let row = unread.entry(lines.diagnostic.code).or_default();
        row.0.add_many(lines.lines.n_lines());
        row.1
            .push(Place::of_lines(&lines.lines, sheet.reviewed.lines));
    }
    let mut noticed: BTreeMap<(crate::diagnose::Severity, Code), (u64, Vec<Place>)> =
        BTreeMap::new();
    for diagnostic in sheet.reviewed.diagnostics {
        let row = noticed
            .entry((diagnostic.severity, diagnostic.code))
            .or_default();
        row.0.add_one();
        row.1.extend(
            diagnostic
                .primary
                .map(|span| Place::of(&span, sheet.reviewed.lines)),
        );
    }
    let places = |places: &[Place]| {
        html! {
            (sheet.cited.links(places.iter().take(5)))
            @if places.len() > 5 { br; (texts.with("more", &[("n", places.len().saturating_sub(5).into())])) }
        }
    };
    let body = html! {
        @if unread.is_empty() {
            p { (texts.say("unread-none")) }
        } @else {
            div class="wide" {
                table {
                    caption { (texts.say("unread-caption")) }
                    thead {
                        tr {
                            th scope="col" { (texts.say("unread-why")) }
                            th scope="col" class="num" { (texts.say("word-lines")) }
                            th scope="col" { (texts.say("case-where")) }
                        }
                    }
                    tbody {
                        @for (code, (n, where_)) in &unread {
                            tr {
                                th scope="row" { (say_code(texts, *code)) }
                                td class="num" { (texts.count(*n)) }
                                td { (places(where_)) }
                            }
                        }
                    }
                }
            }
        }
        @if !noticed.is_empty() {
            div class="wide" tabindex="0" role="group" aria-label=(texts.say("noticed-caption")) {
                table {
                    caption { (texts.say("noticed-caption")) }
                    thead {
                        tr {
                            th scope="col" { (texts.say("noticed-what")) }
                            th scope="col" { (texts.say("noticed-weight")) }
                            th scope="col" class="num" { (texts.say("noticed-n")) }
                            th scope="col" { (texts.say("case-where")) }
                        }
                    }
                    tbody {
                        @for ((severity, code), (n, where_)) in &noticed {
                            tr {
                                th scope="row" { (say_code(texts, *code)) }
                                td { (texts.name("severity", severity.word())) }
                                td class="num" { (texts.count(*n)) }
                                td { (places(where_)) }
                            }
                        }
                    }
                }
            }
        }
    };
    Section::new("reading", texts.say("reading-title"), body)
}

/// The lines that the report links to. Must be drawn last, when every place has been asked for.
pub fn draw_lines(sheet: &Sheet<'_>) -> Section {
    let body = html! {
        p { (sheet.texts.say("lines-about")) }
        (sheet.cited.draw_quotes(sheet.reviewed, sheet.reviewed.lines, sheet.texts))
    };
    Section::new("lines", sheet.texts.say("lines-title"), body)
}

/// The inputs, and how they were read.
pub fn draw_inputs(sheet: &Sheet<'_>) -> Section {
    let texts = sheet.texts;
    let files = sheet.reviewed.files;
    let fact = |name: &str, value: String| -> Markup {
        html! { div { dt { (texts.say(name)) } dd { (value) } } }
    };
    let body = html! {
        dl class="made" {
            (fact("made-by", format!("loadbook {}", sheet.made.version)))
            (fact("made-as-of", sheet.reviewed.as_of.map_or_else(|| "–".to_owned(), |as_of| texts.moment(as_of.local))))
            (fact("made-scope", say_scope(sheet)))
            (fact("made-strict", texts.say(match sheet.made.strictness {
                crate::parse::Strictness::Infer => "made-infer",
                crate::parse::Strictness::Strict => "made-refuse",
            })))
            (fact("made-masking", texts.say(match sheet.made.masking {
                Masking::Shown => "made-shown",
                Masking::Masked => "made-masked",
            })))
        }
        div class="wide" tabindex="0" role="group" aria-label=(texts.say("inputs-title")) {
            table class="inputs" {
                caption { (texts.with("inputs-caption", &[("n", files.len().into())])) }
                thead {
                    tr {
                        th scope="col" { (texts.say("inputs-file")) }
                        th scope="col" class="num" { (texts.say("word-lines")) }
                        th scope="col" class="num" { (texts.say("inputs-bytes")) }
                        th scope="col" { (texts.say("inputs-encoding")) }
                        th scope="col" { (texts.say("inputs-layout")) }
                        th scope="col" { "SHA-256" }
                    }
                }
                tbody {
                    @for file in files {
                        tr {
                            th scope="row" class="path" { (file.name) }
                            td class="num" { (texts.count(file.n_lines)) }
                            td class="num" { (texts.count(file.n_bytes)) }
                            td { (file.encoding) }
                            td { (sheet.made.layouts.get(&file.id).map_or_else(|| texts.say("inputs-neutral"), Clone::clone)) }
                            td class="hash" { (file.sha256) }
                        }
                    }
                }
            }
        }
    };
    Section::new("inputs", texts.say("inputs-title"), body)
}

/// What the report is narrowed to.
pub fn say_scope(sheet: &Sheet<'_>) -> String {
    let texts = sheet.texts;
    let scope = sheet.reviewed.scope;
    let mut parts = Vec::new();
    if let Some(from) = scope.from {
        parts.push(texts.with("scope-from", &[("day", texts.day(from).into())]));
    }
    if let Some(to) = scope.to {
        parts.push(texts.with("scope-to", &[("day", texts.day(to).into())]));
    }
    if !scope.units.is_empty() {
        parts.push(texts.with("scope-units", &[("names", scope.units.join(", ").into())]));
    }
    if !scope.programs.is_empty() {
        parts.push(texts.with(
            "scope-programs",
            &[("names", scope.programs.join(", ").into())],
        ));
    }
    if parts.is_empty() {
        return texts.say("scope-everything");
    }
    parts.join(", ")
}

/// Room for signatures.
pub fn draw_signatures(sheet: &Sheet<'_>, roles: &[&str]) -> Markup {
    let texts = sheet.texts;
    html! {
        table class="sign" {
            caption { (texts.say("sign-caption")) }
            thead {
                tr {
                    th scope="col" { (texts.say("sign-role")) }
                    th scope="col" { (texts.say("sign-name")) }
                    th scope="col" { (texts.say("sign-date")) }
                    th scope="col" { (texts.say("sign-signature")) }
                }
            }
            tbody {
                @for role in roles {
                    tr { th scope="row" { (texts.say(role)) } td {} td {} td {} }
                }
            }
        }
    }
}

/// Room to write in by hand, with a heading for each part.
pub fn draw_room(sheet: &Sheet<'_>, parts: &[&str]) -> Markup {
    html! {
        @for part in parts {
            div class="room" { p { (sheet.texts.say(part)) } }
        }
    }
}
