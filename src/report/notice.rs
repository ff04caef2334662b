//! A diagnostic as a row, for machines; for people [`super::terminal::diagnostic`] draws it.

use super::place::Place;
use crate::diagnose::{Diagnostic, LineResolver, Severity};
use serde::Serialize;

/// A diagnostic as a row.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct NoticeRow {
    /// The id of its code.
    pub code: &'static str,
    /// How much it matters.
    pub severity: Severity,
    /// The file it speaks of.
    pub file: Option<String>,
    /// The line, counted from 1.
    pub line: Option<u32>,
    /// The column, counted from 1 in bytes.
    pub column: Option<u32>,
    /// The headline.
    pub headline: String,
    /// What is to be seen there.
    pub caption: String,
    /// Other places, and what is to be seen there.
    pub labels: Vec<(Place, String)>,
    /// What to do next.
    pub help: String,
}

impl NoticeRow {
    /// The row of a diagnostic.
    pub fn of(diagnostic: &Diagnostic, lines: &dyn LineResolver) -> Self {
        NoticeRow {
            code: diagnostic.code.id(),
            severity: diagnostic.severity,
            file: diagnostic.file.map(|file| lines.file_name(file).to_owned()),
            line: diagnostic.primary.map(|span| span.line),
            column: diagnostic.primary.map(|span| span.column()),
            headline: diagnostic.headline.clone(),
            caption: diagnostic.caption.clone(),
            labels: diagnostic
                .labels
                .iter()
                .map(|label| (Place::of(&label.span, lines), label.text.clone()))
                .collect(),
            help: diagnostic.help.clone(),
        }
    }

    /// Its file and line, where it has both.
    pub fn place(&self) -> Option<Place> {
        Some(Place {
            file: self.file.clone()?,
            line: self.line.unwrap_or(1),
        })
    }
}
