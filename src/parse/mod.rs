//! Lines → typed records, and unread lines with a reason. Knows nothing of other files or of policy.

pub mod fault;
pub mod gs1;
pub mod ledger;
pub mod log;
pub mod lot;
pub mod printout;
pub mod read;
pub mod suggest;
pub mod text;
pub mod token;

use crate::diagnose::{Diagnostic, FileId};
use crate::record::cycle::Cycle;
use crate::record::entry::Entry;
use crate::record::line_set::LineSet;
use crate::source::gather::{Input, Sources};
use crate::source::lines::read_lines;
use read::FileReader;
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

impl Records {
    fn extend(&mut self, more: Records) {
        self.cycles.extend(more.cycles);
        self.entries.extend(more.entries);
        self.unread.extend(more.unread);
        self.idle.extend(more.idle);
        self.diagnostics.extend(more.diagnostics);
    }
}

/// Reads inputs one after the other. After each, `progress` is told its size in bytes.
///
/// A file that can't be read, or only in part, is a diagnostic; the others are read all the same.
pub fn read_inputs(
    inputs: Vec<Input>,
    strictness: Strictness,
    mut progress: impl FnMut(u64),
) -> (Sources, Records) {
    let mut sources = Sources::default();
    let mut records = Records::default();
    for input in inputs {
        let mut reader = FileReader::new(strictness);
        let said = sources.read(input, |line| reader.take_line(line));
        records.diagnostics.extend(said);
        records.extend(reader.finish());
        progress(sources.files().last().map_or(0, |file| file.n_bytes));
    }
    (sources, records)
}

/// Reads bytes as one file with the number 0.
pub fn read_bytes(bytes: &[u8], strictness: Strictness) -> Records {
    let mut reader = FileReader::new(strictness);
    // A stream of bytes in memory has no errors.
    let _ = read_lines(FileId(0), bytes, |line| reader.take_line(line));
    reader.finish()
}
