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

/// The folder that all of several files lie in, with its last `/`; empty if they share none.
pub fn common_folder<'a>(files: impl IntoIterator<Item = &'a str>) -> &'a str {
    let mut files = files.into_iter();
    let folder_of = |file: &'a str| {
        file.get(..file.rfind('/').map_or(0, |at| at.saturating_add(1)))
            .unwrap_or("")
    };
    let mut common = files.next().map_or("", folder_of);
    for file in files {
        while !file.starts_with(common) {
            common = folder_of(common.strip_suffix('/').unwrap_or(""));
        }
    }
    common
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", self.file, self.line)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_common_folder_ends_at_a_separator() {
        assert_eq!(common_folder(["a/b/c.txt", "a/b/d/e.txt"]), "a/b/");
        assert_eq!(common_folder(["a/bc.txt", "a/bd.txt"]), "a/");
        assert_eq!(common_folder(["a/b.txt", "c/b.txt"]), "");
        assert_eq!(common_folder(["a/b.txt"]), "a/");
        assert_eq!(common_folder(["/a", "/b"]), "/");
        assert_eq!(common_folder(["-", "a/b"]), "");
        assert_eq!(common_folder([]), "");
    }
}
