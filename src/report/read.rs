//! What was read and what was not, as a value. Read [`write_read_report`] first.

use super::input_file::InputFile;
use super::notice::NoticeRow;
use super::place::Place;
use super::scope::Scope;
use crate::diagnose::codes::Code;
use crate::diagnose::{Diagnostic, FileId, LineResolver, Severity};
use crate::measure::count::Counting;
use crate::parse::UnreadLines;
use crate::reconcile::history::History;
use crate::record::line_set::LineSet;
use serde::Serialize;
use std::collections::BTreeMap;

/// What a report on reading is made from.
pub struct Reading<'a> {
    /// The files.
    pub files: &'a [InputFile],
    /// How many records each file holds that are counted.
    pub counted: &'a BTreeMap<FileId, Counted>,
    /// The lines that could not be read.
    pub unread: &'a [UnreadLines],
    /// What else was noticed while reading.
    pub diagnostics: &'a [Diagnostic],
    /// Access to lines and file names.
    pub lines: &'a dyn LineResolver,
    /// What the printouts and entries that are counted are narrowed to. Lines that could not be read are always counted,
    /// for what they belong to can't be known.
    pub scope: &'a Scope,
}

/// The records of a file.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counted {
    /// Printouts, reprints included.
    pub n_printouts: usize,
    /// Log entries.
    pub n_entries: usize,
}

/// The records of each file that are in a scope.
pub fn count_in_scope(history: &History, scope: &Scope) -> BTreeMap<FileId, Counted> {
    let mut by_file: BTreeMap<FileId, Counted> = BTreeMap::new();
    let loads = scope.load_numbers(history);
    for known in history.cycles.iter().filter(|known| scope.has_cycle(known)) {
        for lines in std::iter::once(&known.cycle.lines).chain(&known.reprints) {
            by_file.entry(lines.file).or_default().n_printouts.add_one();
        }
    }
    for known in history
        .entries
        .iter()
        .filter(|known| scope.has_entry(known, &loads))
    {
        by_file
            .entry(known.entry.span.file)
            .or_default()
            .n_entries
            .add_one();
    }
    by_file
}

/// What was read and what was not.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReadReport<'a> {
    /// The version of these fields.
    pub format: u32,
    /// What it is narrowed to.
    pub scope: Scope,
    /// Each file.
    pub files: Vec<FileRow>,
    /// All files together.
    pub total: Counts,
    /// What was noticed, by code.
    pub codes: Vec<CodeRow>,
    /// What was noticed, one by one: first the lines that could not be read.
    pub notices: Vec<NoticeRow>,
    /// The same as they came, for drawing.
    #[serde(skip)]
    pub diagnostics: Vec<&'a Diagnostic>,
}

/// Counts of a file or of all.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct Counts {
    /// Bytes.
    pub n_bytes: u64,
    /// Lines.
    pub n_lines: u64,
    /// Printouts, reprints included.
    pub n_printouts: usize,
    /// Log entries.
    pub n_entries: usize,
    /// Lines that could not be read.
    pub n_unread_lines: u64,
}

/// A file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FileRow {
    /// Its name.
    pub file: String,
    /// Its encoding.
    pub encoding: &'static str,
    /// Its SHA-256 in hexadecimal.
    pub sha256: String,
    /// What is in it.
    #[serde(flatten)]
    pub counts: Counts,
}

/// What was noticed with one code.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CodeRow {
    /// The id of the code.
    pub code: &'static str,
    /// How much it matters.
    pub severity: Severity,
    /// What it means.
    pub meaning: &'static str,
    /// How often.
    pub n: usize,
    /// How many lines were not read because of it.
    pub n_unread_lines: u64,
    /// Where it was noticed first.
    pub first: Option<Place>,
}

impl ReadReport<'_> {
    /// Whether anything was noticed that a person should settle.
    pub fn needs_person(&self) -> bool {
        self.total.n_unread_lines > 0
            || self
                .notices
                .iter()
                .any(|notice| notice.severity != Severity::Note)
    }
}

/// Makes the report.
pub fn write_read_report<'a>(reading: &Reading<'a>) -> ReadReport<'a> {
    let mut by_file: BTreeMap<FileId, Counts> = BTreeMap::new();
    for (file, counted) in reading.counted {
        let counts = by_file.entry(*file).or_default();
        counts.n_printouts = counted.n_printouts;
        counts.n_entries = counted.n_entries;
    }
    for unread in reading.unread {
        by_file
            .entry(unread.lines.file)
            .or_default()
            .n_unread_lines
            .add_many(unread.lines.n_lines());
    }
    let files: Vec<FileRow> = reading
        .files
        .iter()
        .map(|file| FileRow {
            file: file.name.clone(),
            encoding: file.encoding,
            sha256: file.sha256.clone(),
            counts: Counts {
                n_bytes: file.n_bytes,
                n_lines: file.n_lines,
                ..by_file.get(&file.id).copied().unwrap_or_default()
            },
        })
        .collect();
    let total = files.iter().fold(Counts::default(), |sum, row| Counts {
        n_bytes: sum.n_bytes.saturating_add(row.counts.n_bytes),
        n_lines: sum.n_lines.saturating_add(row.counts.n_lines),
        n_printouts: sum.n_printouts.saturating_add(row.counts.n_printouts),
        n_entries: sum.n_entries.saturating_add(row.counts.n_entries),
        n_unread_lines: sum.n_unread_lines.saturating_add(row.counts.n_unread_lines),
    });
    let mut diagnostics: Vec<(&Diagnostic, Option<&LineSet>)> = reading
        .unread
        .iter()
        .map(|unread| (&unread.diagnostic, Some(&unread.lines)))
        .collect();
    diagnostics.extend(
        reading
            .diagnostics
            .iter()
            .map(|diagnostic| (diagnostic, None)),
    );
    // What could not be read comes before doubts and notes, and each in the order of the input.
    diagnostics
        .sort_by_key(|(diagnostic, _)| (diagnostic.severity, diagnostic.file, diagnostic.primary));
    let mut codes: BTreeMap<(Severity, Code), CodeRow> = BTreeMap::new();
    for (diagnostic, lines) in &diagnostics {
        let row = codes
            .entry((diagnostic.severity, diagnostic.code))
            .or_insert_with(|| CodeRow {
                code: diagnostic.code.id(),
                severity: diagnostic.severity,
                meaning: diagnostic.code.meaning(),
                n: 0,
                n_unread_lines: 0,
                first: NoticeRow::of(diagnostic, reading.lines).place(),
            });
        row.n.add_one();
        row.n_unread_lines
            .add_many(lines.map_or(0, LineSet::n_lines));
    }
    ReadReport {
        format: 1,
        scope: reading.scope.clone(),
        files,
        total,
        codes: codes.into_values().collect(),
        notices: diagnostics
            .iter()
            .map(|(diagnostic, _)| NoticeRow::of(diagnostic, reading.lines))
            .collect(),
        diagnostics: diagnostics
            .into_iter()
            .map(|(diagnostic, _)| diagnostic)
            .collect(),
    }
}
