//! Lines → typed records, and unread lines with a reason. Knows nothing of other files or of policy.

pub mod gs1;
pub mod log;
pub mod printout;

use crate::diagnose::Diagnostic;
use crate::record::cycle::Cycle;
use crate::record::entry::Entry;
use crate::record::line_set::LineSet;
use serde::Serialize;

/// How the input is to be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Strictness {
    /// Infer where there is a good reason, and say so.
    Infer,
    /// Refuse every line that needs inference.
    Strict,
}

/// A run of lines that could not be read, for one reason.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct UnreadLines {
    /// The lines.
    pub lines: LineSet,
    /// What is wrong with the first of them, and what to do.
    pub diagnostic: Diagnostic,
}

/// All that was read from all files, in the order of the files and their lines.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Records {
    /// The printouts.
    pub cycles: Vec<Cycle>,
    /// The log entries.
    pub entries: Vec<Entry>,
    /// The lines that could not be read.
    pub unread: Vec<UnreadLines>,
    /// Blank lines, comments, and the opening and heading lines of logs: lines that hold no record and lack nothing.
    pub idle: Vec<LineSet>,
    /// What else is worth saying.
    pub diagnostics: Vec<Diagnostic>,
}
