//! What an export wrote, drawn: its tables with their rows.

use super::Terminal;
use super::prose::paragraph;
use super::table::draw_table;
use crate::report::table::{Cell, Column, Table};
use serde::Serialize;

/// What an export wrote.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ExportSummary {
    /// The version of these fields.
    pub format: u32,
    /// The folder.
    pub folder: String,
    /// The form of the tables.
    pub form: &'static str,
    /// The tables.
    pub tables: Vec<WrittenTable>,
    /// The lines that could not be read, and so are in no table but `unread`.
    pub n_unread_lines: u64,
}

/// A table that was written.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct WrittenTable {
    /// Its file.
    pub file: String,
    /// Its rows.
    pub n_rows: u64,
}

/// Draws what was written.
pub fn draw_summary(summary: &ExportSummary, terminal: &Terminal) -> String {
    let mut table = Table::new([Column::name("File"), Column::number("Rows")]);
    for written in &summary.tables {
        table.push([
            Cell::from(written.file.clone()),
            Cell::from(written.n_rows.to_string()),
        ]);
    }
    let words = format!(
        "{} tables written to {}. schema.json describes their columns.",
        summary.tables.len(),
        summary.folder
    );
    let mut out = paragraph("", &words, terminal.width);
    out.push_str(&draw_table(&table, 0, terminal));
    let n = summary.n_unread_lines;
    if n > 0 {
        let lines = if n == 1 {
            "1 line"
        } else {
            &format!("{n} lines")
        };
        let words = format!(
            "{lines} could not be read and stand in no table but unread; `loadbook read` shows them."
        );
        out.push_str(&paragraph("", &words, terminal.width));
    }
    out
}
