//! The report on reading, drawn: files, what was not read by reason, then line by line.

use super::Extent;
use super::Terminal;
use super::diagnostic::draw_diagnostic;
use super::prose::paragraph;
use super::table::draw_table;
use crate::diagnose::codes::Code;
use crate::diagnose::{LineResolver, Severity};
use crate::measure::count::Counting;
use crate::report::read::{Counts, ReadReport};
use crate::report::table::{Cell, Column, Table};
use std::collections::BTreeMap;

/// Files shown in a short list.
const SHORT_FILES: usize = 20;
/// Diagnostics drawn of each code in a short list.
const SHORT_PER_CODE: usize = 3;
/// Diagnostics drawn in a short list.
const SHORT_DRAWN: usize = 20;

/// Draws the report.
pub fn draw_read_report(
    report: &ReadReport<'_>,
    lines: &dyn LineResolver,
    terminal: &Terminal,
) -> String {
    let mut out = String::new();
    let Counts {
        n_lines,
        n_printouts,
        n_entries,
        n_unread_lines,
        ..
    } = report.total;
    let n_files = report.files.len();
    out.push_str(&terminal.heading("WHAT WAS READ"));
    out.push('\n');
    let unread = match n_unread_lines {
        0 => "Every line was read.".to_owned(),
        1 => "1 line could not be read.".to_owned(),
        n => format!("{n} lines could not be read."),
    };
    let total = format!(
        "{n_printouts} printouts and {n_entries} log entries in {n_lines} lines of {n_files} {}{}. {unread}",
        if n_files == 1 { "file" } else { "files" },
        if terminal.folder.is_empty() {
            String::new()
        } else {
            format!(" in {}", terminal.folder)
        }
    );
    out.push_str(&paragraph("", &total, terminal.width));
    if let Some(said) = report.scope.said() {
        let words = format!(
            "Narrowed: {said}. Lines that could not be read are counted whatever they belong to."
        );
        out.push_str(&paragraph("", &words, terminal.width));
    }
    out.push('\n');
    out.push_str(&draw_files(report, terminal));
    if !report.codes.is_empty() {
        out.push('\n');
        out.push_str(&terminal.heading("WHAT WAS NOTICED, BY REASON"));
        out.push('\n');
        let mut table = Table::new([
            Column::name("Reason"),
            Column::name("Matters as"),
            Column::number("Times"),
            Column::number("Lines unread"),
            Column::words("What it means").at_least(26).priority(1),
            Column::place("First"),
        ]);
        for row in &report.codes {
            table.push([
                row.code.into(),
                row.severity.word().into(),
                row.n.into(),
                row.n_unread_lines.into(),
                row.meaning.into(),
                Cell::from(row.first.as_ref()),
            ]);
        }
        out.push_str(&draw_table(&table, 0, terminal));
        out.push_str(&paragraph(
            "",
            "`loadbook read --explain REASON` says more of one.",
            terminal.width,
        ));
        out.push('\n');
        out.push_str(&draw_notices(report, lines, terminal));
    }
    out
}

fn draw_files(report: &ReadReport<'_>, terminal: &Terminal) -> String {
    let mut table = Table::new([
        Column::place("File"),
        Column::number("Bytes").priority(2),
        Column::name("Encoding").priority(1),
        Column::number("Lines"),
        Column::number("Printouts"),
        Column::number("Entries"),
        Column::number("Unread"),
    ]);
    // Files with unread lines come first where not all are shown.
    let mut files: Vec<_> = report.files.iter().collect();
    let n_drawn = terminal.n_drawn(files.len(), SHORT_FILES);
    if n_drawn < files.len() {
        files.sort_by_key(|row| std::cmp::Reverse(row.counts.n_unread_lines));
    }
    let mut push = |file: String, encoding: &str, counts: &Counts| {
        table.push([
            file.into(),
            counts.n_bytes.into(),
            encoding.into(),
            counts.n_lines.into(),
            counts.n_printouts.into(),
            counts.n_entries.into(),
            counts.n_unread_lines.into(),
        ]);
    };
    let name_of = |file: &'_ str| {
        file.strip_prefix(terminal.folder.as_str())
            .unwrap_or(file)
            .to_owned()
    };
    for row in files.iter().take(n_drawn) {
        push(name_of(&row.file), row.encoding, &row.counts);
    }
    if report.files.len() > 1 {
        push(
            format!("all {} files", report.files.len()),
            "",
            &report.total,
        );
    }
    let mut out = draw_table(&table, 0, terminal);
    if n_drawn < report.files.len() {
        let words = format!(
            "{} more files are not listed here; those with unread lines stand first. --all lists every file.",
            report.files.len().saturating_sub(n_drawn)
        );
        out.push_str(&paragraph("", &words, terminal.width));
    }
    out
}

fn draw_notices(report: &ReadReport<'_>, lines: &dyn LineResolver, terminal: &Terminal) -> String {
    let mut drawn_of: BTreeMap<Code, usize> = BTreeMap::new();
    let mut n_drawn = 0;
    let mut n_notes = 0_usize;
    let mut n_left = 0_usize;
    let mut out = String::new();
    for diagnostic in &report.diagnostics {
        let of_code = drawn_of.entry(diagnostic.code).or_default();
        if terminal.extent == Extent::Short {
            if diagnostic.severity == Severity::Note {
                n_notes.add_one();
                continue;
            }
            if *of_code >= SHORT_PER_CODE || n_drawn >= SHORT_DRAWN {
                n_left.add_one();
                continue;
            }
        }
        of_code.add_one();
        n_drawn.add_one();
        out.push_str(&draw_diagnostic(diagnostic, lines, terminal));
        out.push('\n');
    }
    let mut rest = Vec::new();
    if n_left > 0 {
        rest.push(format!("{n_left} more of the same reasons"));
    }
    if n_notes > 0 {
        rest.push(format!("{n_notes} notes that need nothing done"));
    }
    if !rest.is_empty() {
        let words = format!(
            "Not drawn: {} (at most {SHORT_PER_CODE} of each reason and {SHORT_DRAWN} in all are). --all draws every one.",
            rest.join(", and ")
        );
        out.push_str(&paragraph("", &words, terminal.width));
    }
    out
}

/// Draws what a code means and what to do about it.
pub fn draw_explanation(code: Code, terminal: &Terminal) -> String {
    let mut out = format!(
        "{} ({})\n",
        terminal.heading(code.id()),
        code.severity().word()
    );
    out.push_str(&paragraph("  ", code.meaning(), terminal.width));
    out.push_str(&paragraph("  What to do: ", code.help(), terminal.width));
    out
}
