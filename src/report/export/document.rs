//! The columns of every table as a document for people, made from the tables; `grammars/export.md` holds it.
//!
//! Read [`write_columns`] first.

use super::TABLES;
use super::column::{Column, Presence};
use std::fmt::Write;

/// The tables and their columns in Markdown.
pub fn write_columns() -> String {
    let mut out = String::new();
    for table in TABLES {
        let table = &table.table;
        // Writing to a string does not fail.
        let _ = write!(
            out,
            "### {}\n\n{} One row from another: {}.\n\n| column | holds | unit | what |\n| --- | --- | --- | --- |\n",
            table.name,
            table.about.trim(),
            table
                .key
                .iter()
                .map(|name| format!("`{name}`"))
                .collect::<Vec<_>>()
                .join(", "),
        );
        for column in table.columns {
            out.push_str(&row_of(column));
        }
        out.push('\n');
    }
    out
}

fn row_of(column: &Column) -> String {
    let always = match column.presence {
        Presence::Always => "",
        Presence::Maybe => ", or none",
    };
    format!(
        "| `{}` | {}{always} | {} | {} |\n",
        column.name,
        column.kind.said(),
        column.unit.unwrap_or(""),
        column.about.trim(),
    )
}
