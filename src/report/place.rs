//! Where a fact stands: the file and line that every row of a report can be followed to.

use crate::diagnose::{LineResolver, Span};
use crate::record::line_set::LineSet;
use serde::Serialize;
use std::fmt;

/// A file and a line of it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct Place {
    /// The file, as the user named it.
    pub file: String,
    /// The line, counted from 1.
    pub line: u32,
}

impl Place {
    /// Where a span begins.
    pub fn of(span: &Span, lines: &dyn LineResolver) -> Self {
        Place {
            file: lines.file_name(span.file).to_owned(),
            line: span.line,
        }
    }

    /// Where a set of lines begins.
    pub fn of_lines(set: &LineSet, lines: &dyn LineResolver) -> Self {
        Place {
            file: lines.file_name(set.file).to_owned(),
            line: set.first(),
        }
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", self.file, self.line)
    }
}
