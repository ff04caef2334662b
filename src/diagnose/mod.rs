//! A diagnostic: what went wrong, where, and what to do next, as plain data.
//!
//! Nothing here knows about files, colours or widths: a span is a place in a numbered file, and how it is drawn is the
//! business of `report`. Every stage returns what it made *and* its diagnostics; only unusable arguments and IO are
//! errors. Read [`Diagnostic`] first, then the table in [`codes`].

pub mod codes;

use codes::Code;
use serde::Serialize;

/// The number of an input file, in the order in which the files were read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct FileId(pub u32);

/// A place in an input file: bytes of the original file, and the line they begin on.
///
/// A span lies within one line, except that of a CSV record whose quoted cell holds line ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct Span {
    /// The file.
    pub file: FileId,
    /// The line, counted from 1.
    pub line: u32,
    /// Offset of the line's first byte in the original file.
    pub line_start: u64,
    /// Offset of the span's first byte, counted in bytes from the start of its line.
    pub start: u32,
    /// Offset just past the span's last byte, counted in bytes from the start of its line.
    pub end: u32,
}

impl Span {
    /// The column of the span's first byte, counted from 1 in bytes of the original line.
    pub fn column(&self) -> u32 {
        self.start.saturating_add(1)
    }
}

/// How much a diagnostic matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// Something was not read or contradicts itself: a value is missing that should be there.
    Error,
    /// Something was read with a doubt that a person should settle.
    Warning,
    /// Something was inferred or left out for a reason; nothing need be done.
    Note,
}

impl Severity {
    /// The word shown before the code.
    pub fn word(self) -> &'static str {
        match self {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Note => "note",
        }
    }
}

/// A second place that a diagnostic speaks of.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Label {
    /// Where.
    pub span: Span,
    /// What is to be seen there.
    pub text: String,
}

/// One thing worth saying about the input.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Diagnostic {
    /// The place it speaks of. `None` for what concerns a whole file or no place at all.
    pub primary: Option<Span>,
    /// The file, for a diagnostic with no span in it.
    pub file: Option<FileId>,
    /// How much it matters.
    pub severity: Severity,
    /// Which entry of the table of codes it is.
    pub code: Code,
    /// A headline that suffices alone.
    pub headline: String,
    /// What is to be seen at the primary span, in a few words.
    pub caption: String,
    /// Other places.
    pub labels: Vec<Label>,
    /// The next action, for the person who reads it.
    pub help: String,
    /// The line must not be repeated in any output (it looks like patient data).
    pub withheld: bool,
}

impl Diagnostic {
    /// A diagnostic at a place, with the severity and help line of its code.
    pub fn at(code: Code, span: Span, headline: impl Into<String>) -> Self {
        Diagnostic {
            primary: Some(span),
            file: Some(span.file),
            severity: code.severity(),
            code,
            headline: headline.into(),
            caption: String::new(),
            labels: Vec::new(),
            help: code.help().to_owned(),
            withheld: code == Code::PatientData,
        }
    }

    /// A diagnostic about a whole file.
    pub fn of_file(code: Code, file: FileId, headline: impl Into<String>) -> Self {
        Diagnostic {
            primary: None,
            file: Some(file),
            ..Self::general(code, headline)
        }
    }

    /// A diagnostic with no place, such as one about a path that could not be opened.
    pub fn general(code: Code, headline: impl Into<String>) -> Self {
        Diagnostic {
            primary: None,
            file: None,
            severity: code.severity(),
            code,
            headline: headline.into(),
            caption: String::new(),
            labels: Vec::new(),
            help: code.help().to_owned(),
            withheld: false,
        }
    }

    /// The same, with words at the primary span.
    #[must_use]
    pub fn caption(mut self, caption: impl Into<String>) -> Self {
        self.caption = caption.into();
        self
    }

    /// The same, with a second place.
    #[must_use]
    pub fn label(mut self, span: Span, text: impl Into<String>) -> Self {
        self.labels.push(Label {
            span,
            text: text.into(),
        });
        self
    }

    /// The same, with a help line of its own in place of its code's.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = help.into();
        self
    }
}

/// A line of the input as it can be shown, and where a span lies in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShownLine {
    /// The line's text, decoded, with control characters left out, and no more than a few hundred bytes of it.
    pub text: String,
    /// Where the span begins in the text, in bytes.
    pub start: u32,
    /// Where the span ends in the text, in bytes.
    pub end: u32,
}

/// Reaches the lines of the input, so that a renderer can show them without knowing where they are kept.
/// Several threads may ask at once.
pub trait LineResolver: Sync {
    /// The name of a file as the user gave it.
    fn file_name(&self, file: FileId) -> &str;
    /// The line that a span begins on. `None` when the file can no longer be read.
    fn line(&self, span: &Span) -> Option<ShownLine>;
    /// Up to `n_lines` lines in a row, beginning with the one that a span begins on; fewer at the end of the file or when
    /// it can no longer be read.
    fn lines_from(&self, first: &Span, n_lines: usize) -> Vec<ShownLine> {
        let first = if n_lines > 0 { self.line(first) } else { None };
        first.into_iter().collect()
    }
}
