//! Which lines of a file a record is made of.

use crate::diagnose::FileId;
use serde::Serialize;
use smallvec::SmallVec;

/// A run of lines, both ends included, counted from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct LineRun {
    /// The first line.
    pub first: u32,
    /// The last line.
    pub last: u32,
}

/// The lines of one file that make a record, in order; blank, comment and unread lines between them are not in it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct LineSet {
    /// The file.
    pub file: FileId,
    /// Nearly every record is one run, which then needs no memory of its own.
    runs: SmallVec<[LineRun; 2]>,
}

impl LineSet {
    /// No lines of a file yet.
    pub fn new(file: FileId) -> Self {
        LineSet {
            file,
            runs: SmallVec::new(),
        }
    }

    /// Adds a line that comes after all lines added before; a line that is already in it changes nothing.
    pub fn push(&mut self, line: u32) {
        match self.runs.last_mut() {
            Some(run) if line <= run.last => {}
            Some(run) if line == run.last.saturating_add(1) => run.last = line,
            _ => self.runs.push(LineRun {
                first: line,
                last: line,
            }),
        }
    }

    /// The runs of lines.
    pub fn runs(&self) -> &[LineRun] {
        &self.runs
    }

    /// The first line, or 0 when there are none.
    pub fn first(&self) -> u32 {
        self.runs.first().map_or(0, |run| run.first)
    }

    /// The last line, or 0 when there are none.
    pub fn last(&self) -> u32 {
        self.runs.last().map_or(0, |run| run.last)
    }

    /// How many lines there are.
    pub fn n_lines(&self) -> u64 {
        self.runs
            .iter()
            .map(|run| u64::from(run.last.saturating_sub(run.first)).saturating_add(1))
            .sum()
    }
}
