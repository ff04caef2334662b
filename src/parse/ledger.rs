//! The account of lines: each line of a file is claimed once, as part of a record, as idle, or as unread with a reason.
//!
//! Whoever takes a line must return a [`Claim`] for it, so that a line can't be forgotten or counted twice.

use super::UnreadLines;
use crate::diagnose::codes::Code;
use crate::diagnose::{Diagnostic, FileId};
use crate::record::line_set::LineSet;
use crate::source::lines::Line;
use std::collections::BTreeMap;

/// What became of a line.
#[derive(Debug, Clone, PartialEq)]
#[must_use]
pub enum Claim {
    /// It is part of a record, which keeps its number.
    Record,
    /// It is blank, a comment, or an opening or heading line that holds no record of its own.
    Idle,
    /// It could not be read. Boxed, because it is rare and large.
    Unread(Box<Diagnostic>),
}

impl Claim {
    /// A line that could not be read.
    pub fn unread(diagnostic: Diagnostic) -> Self {
        Claim::Unread(Box::new(diagnostic))
    }
}

/// How many unread lines of a file are told one by one. Beyond that, those with one reason are told together, so that a
/// gigabyte of rubbish costs no more memory than its line numbers.
const TOLD_ONE_BY_ONE: usize = 1_000;

/// The lines of one file that are in no record.
#[derive(Debug, Default)]
pub struct Ledger {
    /// Lines that hold nothing.
    pub idle: Option<LineSet>,
    /// Lines that could not be read.
    pub unread: Vec<UnreadLines>,
    /// For each reason, the place in `unread` where further lines are told together.
    together: BTreeMap<Code, usize>,
}

impl Ledger {
    /// Writes down what became of a line. Lines come in their order.
    pub fn enter(&mut self, line: &Line<'_>, claim: Claim) {
        self.enter_lines(line.file, &[line.number], claim);
    }

    /// Writes down what became of several lines together.
    pub fn enter_lines(&mut self, file: FileId, numbers: &[u32], claim: Claim) {
        match claim {
            Claim::Record => {}
            Claim::Idle => {
                let idle = self.idle.get_or_insert_with(|| LineSet::new(file));
                numbers.iter().for_each(|&number| idle.push(number));
            }
            Claim::Unread(diagnostic) => self.enter_unread(file, numbers, *diagnostic),
        }
    }

    fn enter_unread(&mut self, file: FileId, numbers: &[u32], diagnostic: Diagnostic) {
        // A thousand lines of rubbish with one cause are one thing to say.
        if let Some(last) = self.unread.last_mut()
            && last.diagnostic.code == diagnostic.code
            && is_about_the_surroundings(diagnostic.code)
            && numbers
                .first()
                .is_some_and(|&first| last.lines.last().saturating_add(1) == first)
        {
            numbers.iter().for_each(|&number| last.lines.push(number));
            return;
        }
        if self.unread.len() >= TOLD_ONE_BY_ONE {
            let at = *self
                .together
                .entry(diagnostic.code)
                .or_insert(self.unread.len());
            if let Some(entry) = self.unread.get_mut(at) {
                numbers.iter().for_each(|&number| entry.lines.push(number));
                return;
            }
        }
        let mut lines = LineSet::new(file);
        numbers.iter().for_each(|&number| lines.push(number));
        self.unread.push(UnreadLines { lines, diagnostic });
    }
}

/// Whether a reason lies in where a line stands and not in what it says, so that its neighbours share it.
fn is_about_the_surroundings(code: Code) -> bool {
    matches!(
        code,
        Code::LineOutsideRecord | Code::FileNotText | Code::VersionUnknown
    )
}
