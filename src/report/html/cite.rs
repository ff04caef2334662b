//! Provenance: links from a fact to the line that it stands on, and the lines that were linked to, quoted.
//!
//! Whoever draws a row asks [`Cited::link`] for each place; at the end [`Cited::draw_quotes`] quotes every line that was
//! asked for, once. This module doesn't know what the lines mean. Lines that look like patient data are never quoted.

use crate::diagnose::{FileId, LineResolver, Span};
use crate::report::input_file::InputFile;
use crate::report::lang::Texts;
use crate::report::place::{Place, common_folder};
use crate::report::review::Reviewed;
use maud::{Markup, html};
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

/// A line is looked for at most so many lines after the nearest place that is known in its file: longer than any
/// record, so that nothing but a record's own lines is read again.
const FARTHEST: u32 = 5000;

/// The places that a report links to.
pub struct Cited<'a> {
    folder: &'a str,
    files: BTreeMap<&'a str, &'a InputFile>,
    used: RefCell<BTreeSet<(FileId, u32)>>,
}

impl<'a> Cited<'a> {
    /// No place yet.
    pub fn new(files: &'a [InputFile]) -> Self {
        Cited {
            folder: common_folder(files.iter().map(|file| file.name.as_str())),
            files: files
                .iter()
                .map(|file| (file.name.as_str(), file))
                .collect(),
            used: RefCell::default(),
        }
    }

    /// A file's name without the folder that all files lie in.
    pub fn short_name<'n>(&self, name: &'n str) -> &'n str {
        name.strip_prefix(self.folder).unwrap_or(name)
    }

    /// A link to a place, which says file and line.
    pub fn link(&self, place: &Place) -> Markup {
        let said = format!("{}:{}", self.short_name(&place.file), place.line);
        self.link_said(place, &said)
    }

    /// A link to a place with words of its own.
    pub fn link_said(&self, place: &Place, said: &str) -> Markup {
        let Some(file) = self.files.get(place.file.as_str()) else {
            return html! { (said) };
        };
        self.used.borrow_mut().insert((file.id, place.line));
        // A path may be broken after a separator, so that it fits a narrow column.
        let parts: Vec<&str> = said.split_inclusive('/').collect();
        html! {
            a class="at" href={ "#f" (file.id.0) "-" (place.line) } {
                @for (n, part) in parts.iter().enumerate() { @if n > 0 { wbr; } (part) }
            }
        }
    }

    /// Links to several places, those of one file in one line with the file named once.
    pub fn links<'p>(&self, places: impl IntoIterator<Item = &'p Place>) -> Markup {
        let mut by_file: Vec<(&str, Vec<&Place>)> = Vec::new();
        for place in places {
            match by_file.iter_mut().find(|(file, _)| *file == place.file) {
                Some((_, known)) => known.push(place),
                None => by_file.push((&place.file, vec![place])),
            }
        }
        html! {
            @for (n, (_, places)) in by_file.iter().enumerate() {
                @if n > 0 { br; }
                @for (n, place) in places.iter().enumerate() {
                    @if n == 0 { (self.link(place)) } @else { ", " (self.link_said(place, &place.line.to_string())) }
                }
            }
        }
    }

    /// The lines that were linked to, by file.
    pub fn draw_quotes(
        &self,
        reviewed: &Reviewed<'_>,
        lines: &dyn LineResolver,
        texts: &Texts,
    ) -> Markup {
        let used = self.used.borrow();
        let known = known_spans(reviewed);
        let withheld = withheld_lines(reviewed);
        let mut by_file: BTreeMap<FileId, Vec<(u32, Option<String>)>> = BTreeMap::new();
        for &(file, line) in used.iter() {
            let text = if withheld.contains(&(file, line)) {
                Some(texts.say("quote-withheld"))
            } else {
                read_line(file, line, &known, lines)
            };
            by_file.entry(file).or_default().push((line, text));
        }
        html! {
            @for (file, quotes) in &by_file {
                table class="quotes" {
                    caption { (self.short_name(lines.file_name(*file))) }
                    thead { tr { th scope="col" class="num" { (texts.say("quote-line")) } th scope="col" { (texts.say("quote-text")) } } }
                    tbody {
                        @for (line, text) in quotes {
                            tr id={ "f" (file.0) "-" (line) } {
                                th scope="row" class="num" { (line) }
                                td {
                                    @match text {
                                        Some(text) => code { (text) },
                                        None => em { (texts.say("quote-unreadable")) },
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Places whose first byte is known, by file and line.
fn known_spans(reviewed: &Reviewed<'_>) -> BTreeMap<(FileId, u32), Span> {
    let history = reviewed.history;
    let of_cycles = history.cycles.iter().map(|known| known.cycle.opening);
    let of_entries = history.entries.iter().map(|known| known.entry.span);
    let of_notices = reviewed
        .diagnostics
        .iter()
        .chain(reviewed.unread.iter().map(|unread| &unread.diagnostic))
        .flat_map(|diagnostic| {
            diagnostic
                .primary
                .into_iter()
                .chain(diagnostic.labels.iter().map(|label| label.span))
        });
    of_cycles
        .chain(of_entries)
        .chain(of_notices)
        .map(|span| ((span.file, span.line), span))
        .collect()
}

/// Lines that must not be repeated.
fn withheld_lines(reviewed: &Reviewed<'_>) -> BTreeSet<(FileId, u32)> {
    let of_unread = reviewed
        .unread
        .iter()
        .filter(|unread| unread.diagnostic.withheld)
        .flat_map(|unread| {
            unread
                .lines
                .runs()
                .iter()
                .flat_map(|run| (run.first..=run.last).map(|line| (unread.lines.file, line)))
        });
    let of_notices = reviewed
        .diagnostics
        .iter()
        .filter(|diagnostic| diagnostic.withheld)
        .filter_map(|diagnostic| diagnostic.primary)
        .map(|span| (span.file, span.line));
    of_unread.chain(of_notices).collect()
}

/// Reads a line again: from its own span, or on from the nearest one before it.
fn read_line(
    file: FileId,
    line: u32,
    known: &BTreeMap<(FileId, u32), Span>,
    lines: &dyn LineResolver,
) -> Option<String> {
    let (_, span) = known.range((file, 0)..=(file, line)).next_back()?;
    let n_after = line.saturating_sub(span.line);
    if n_after == 0 {
        return lines.line(span).map(|shown| shown.text);
    }
    if n_after > FARTHEST {
        return None;
    }
    let n_after = usize::try_from(n_after).ok()?;
    lines
        .lines_from(span, n_after.saturating_add(1))
        .into_iter()
        .nth(n_after)
        .map(|shown| shown.text)
}
