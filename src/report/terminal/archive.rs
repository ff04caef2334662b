//! An archive's list, check and rereading, drawn.

use super::Terminal;
use super::prose::paragraph;
use super::table::draw_table;
use crate::report::archive::{
    ArchiveCheck, ArchiveList, ArchiveRow, PlaceSaid, RereadReport, TablesReport,
};
use crate::report::place::common_folder;
use crate::report::table::{Cell, Column, Table};
use chrono::{Datelike, NaiveDateTime};

/// Files in a short list.
const SHORT_FILES: usize = 40;
/// Damages, or changed files, in a short list.
const SHORT: usize = 20;

/// Draws what an archive holds.
pub fn draw_archive_list(list: &ArchiveList, terminal: &Terminal) -> String {
    let n_read = list
        .files
        .iter()
        .filter(|row| row.replaced.is_none())
        .count();
    let n_replaced = list.n_replaced;
    let folder = common_folder(list.files.iter().map(|row| row.file.as_str()));
    let terminal = &Terminal {
        folder: folder.to_owned(),
        ..terminal.clone()
    };
    let mut said = format!("{} in {}", n_of(n_read as u64, "file"), list.archive);
    if n_replaced > 0 {
        said.push_str(&format!(
            ", and {n_replaced} kept that a longer or corrected version replaces"
        ));
    }
    said.push('.');
    if !folder.is_empty() {
        said.push_str(&format!(" They came from {folder}"));
    }
    let mut out = terminal.lead("ARCHIVE", &said);
    let n_drawn = terminal.n_drawn(list.files.len(), SHORT_FILES);
    let mut table = Table::new([
        Column::place("File"),
        Column::number("Cycles"),
        Column::number("Entries"),
        Column::number("Unread"),
        Column::name("Days"),
        Column::words("Read by").at_least(9),
        Column::name("Replaced by").priority(1),
        Column::name("Added").priority(2),
        Column::name("SHA-256").priority(3),
    ]);
    for row in list.files.iter().take(n_drawn) {
        table.push(cells(row, terminal));
    }
    if !table.rows.is_empty() {
        out.push('\n');
        out.push_str(&draw_table(&table.without_blank_columns(), 0, terminal));
    }
    if n_drawn < list.files.len() {
        let more = format!(
            "{} more are not shown; --all lists them.",
            list.files.len().saturating_sub(n_drawn)
        );
        out.push_str(&paragraph("", &more, terminal.width));
    }
    out.push('\n');
    out.push_str(&draw_fingerprint(list.n_lines, &list.fingerprint, terminal));
    out
}

fn cells(row: &ArchiveRow, terminal: &Terminal) -> Vec<Cell> {
    let file = row.file.strip_prefix(&terminal.folder).unwrap_or(&row.file);
    let by = match &row.layout {
        Some(layout) => format!("{}, {layout}", row.loadbook),
        None => row.loadbook.clone(),
    };
    vec![
        file.to_owned().into(),
        row.n_cycles.into(),
        row.n_entries.into(),
        row.n_unread_lines.into(),
        Cell::maybe(row.oldest.zip(row.newest).map(|(from, to)| days(from, to))),
        by.into(),
        Cell::maybe(row.replaced.as_ref().map(|by| short(&by.by))),
        Cell::maybe(row.added.map(|at| at.format("%Y-%m-%d %H:%M").to_string())),
        short(&row.sha256).into(),
    ]
}

/// The days that records are of, the year said once where it is one.
fn days(from: NaiveDateTime, to: NaiveDateTime) -> String {
    let (from, to) = (from.date(), to.date());
    if from == to {
        from.to_string()
    } else if from.year() == to.year() {
        format!("{from} to {}", to.format("%m-%d"))
    } else {
        format!("{from} to {to}")
    }
}

/// Draws whether an archive is as it was written.
pub fn draw_archive_check(check: &ArchiveCheck, terminal: &Terminal) -> String {
    let mut held = format!(
        "{} of {} in {}, {} on disk",
        n_of(check.n_files, "file"),
        n_of(check.n_bytes, "byte"),
        check.archive,
        n_of(check.n_packed_bytes, "byte"),
    );
    if check.n_parts > 0 {
        held.push_str(&format!(
            "; tables in {} of {}",
            n_of(check.n_parts, "part"),
            n_of(check.n_part_bytes, "byte")
        ));
    }
    held.push('.');
    let mut out = if check.damages.is_empty() {
        let said = format!("every byte is as it was added. {held}");
        terminal.lead("WHOLE", &said)
    } else {
        let said = format!(
            "{}. {held} What is not named here is as it was added. Keep the folder as it is, and put what is damaged back \
             from a copy.",
            match check.damages.len() {
                1 => "1 thing is not as it was".to_owned(),
                n => format!("{n} things are not as they were"),
            }
        );
        terminal.lead("DAMAGED", &said)
    };
    push_places(&mut out, &check.damages, terminal);
    if !check.notes.is_empty() {
        out.push('\n');
        out.push_str(&terminal.lead("NO DAMAGE, BUT WORTH KNOWING", ""));
        push_places(&mut out, &check.notes, terminal);
    }
    if let Some(line) = check.asked_line {
        out.push('\n');
        let said = format!(
            "it is that of line {line} of {}; all that was in the archive then is in it, unchanged and in the same order.",
            check.n_lines
        );
        out.push_str(&terminal.lead("FINGERPRINT ASKED FOR", &said));
    }
    out.push('\n');
    out.push_str(&draw_fingerprint(
        check.n_lines,
        &check.fingerprint,
        terminal,
    ));
    let advice = format!(
        "Write it down outside the archive, with the date. `loadbook archive verify {} --fingerprint …` proves later that \
         nothing from before was changed or taken out.",
        check.archive
    );
    out.push_str(&paragraph("", &advice, terminal.width));
    out
}

/// Draws what is read otherwise than before.
pub fn draw_reread(report: &RereadReport, terminal: &Terminal) -> String {
    let said = format!(
        "{} read again; {}.",
        n_of(report.n_files, "file"),
        match report.changed.len() {
            0 => "what is read from them is what was read before".to_owned(),
            1 => "of 1 something is read otherwise than before".to_owned(),
            n => format!("of {n} something is read otherwise than before"),
        }
    );
    let mut out = terminal.lead("REREAD", &said);
    if report.n_same_by_other > 0 {
        let said = format!(
            "{} another loadbook or layout had read before, with the same result; that is noted.",
            n_of(report.n_same_by_other, "file")
        );
        out.push_str(&paragraph("", &said, terminal.width));
    }
    let n_drawn = terminal.n_drawn(report.changed.len(), SHORT);
    for row in report.changed.iter().take(n_drawn) {
        out.push('\n');
        let said = format!("{} ({})", row.file, short(&row.sha256));
        out.push_str(&paragraph("", &said, terminal.width));
        for change in &row.changes {
            let said = format!(
                "{}: {} before, {} now",
                change.what, change.before, change.after
            );
            out.push_str(&paragraph("  ", &said, terminal.width));
        }
    }
    push_rest(
        &mut out,
        report.changed.len().saturating_sub(n_drawn),
        terminal,
    );
    if let Some(tables) = &report.tables {
        out.push('\n');
        out.push_str(&draw_tables(tables, terminal));
    }
    out
}

/// Says in a line what became of the tables.
pub fn say_tables(report: &TablesReport) -> String {
    let n = |what: &str| report.parts.iter().filter(|part| part.what == what).count();
    let changes: Vec<String> = ["new", "rewritten", "mended", "removed"]
        .iter()
        .filter(|what| n(what) > 0)
        .map(|what| format!("{} {what}", n(what)))
        .collect();
    let changes = match changes.is_empty() {
        true => "none changed".to_owned(),
        false => changes.join(", "),
    };
    format!(
        "tables of site {}: {} of {}, {changes}",
        report.site.as_deref().unwrap_or("?"),
        n_of(report.n_parts, "part"),
        n_of(report.n_rows, "row"),
    )
}

/// Draws what became of the tables.
pub fn draw_tables(report: &TablesReport, terminal: &Terminal) -> String {
    let said = format!(
        "{}; made from all that came in by line {} of the manifest, loads judged by {}.",
        say_tables(report).trim_start_matches("tables "),
        report.from_line.unwrap_or_default(),
        report.policy.as_deref().unwrap_or("?"),
    );
    let mut out = terminal.lead("TABLES", &said);
    let n_drawn = terminal.n_drawn(report.parts.len(), SHORT);
    for part in report.parts.iter().take(n_drawn) {
        let rows = match part.what {
            "removed" => String::new(),
            _ => format!(", {}", n_of(part.n_rows, "row")),
        };
        let said = format!("{}: {}{rows}", part.folder, part.what);
        out.push_str(&paragraph("  ", &said, terminal.width));
    }
    push_rest(
        &mut out,
        report.parts.len().saturating_sub(n_drawn),
        terminal,
    );
    out
}

fn push_places(out: &mut String, places: &[PlaceSaid], terminal: &Terminal) {
    let n_drawn = terminal.n_drawn(places.len(), SHORT);
    for row in places.iter().take(n_drawn) {
        let said = format!("{}: {}", row.place, row.said);
        out.push_str(&paragraph("  ", &said, terminal.width));
    }
    push_rest(out, places.len().saturating_sub(n_drawn), terminal);
}

fn push_rest(out: &mut String, n: usize, terminal: &Terminal) {
    if n > 0 {
        let said = format!("{n} more are not shown; --all lists them.");
        out.push_str(&paragraph("  ", &said, terminal.width));
    }
}

fn draw_fingerprint(n_lines: u64, fingerprint: &str, terminal: &Terminal) -> String {
    let said = format!("that of line {n_lines} of the manifest is");
    let lead = terminal.lead("FINGERPRINT", &said);
    format!("{lead}  {fingerprint}\n")
}

fn short(sha256: &str) -> String {
    sha256.get(..12).unwrap_or(sha256).to_owned()
}

fn n_of(n: u64, what: &str) -> String {
    match n {
        1 => format!("1 {what}"),
        n => format!("{n} {what}s"),
    }
}
