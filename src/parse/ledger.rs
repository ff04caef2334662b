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
    #[inline]
    pub fn enter(&mut self, line: &Line<'_>, claim: Claim) {
        self.enter_lines(line.file, &[line.number], claim);
    }

    /// Writes down what became of several lines together.
    #[inline]
    pub fn enter_lines(&mut self, file: FileId, numbers: &[u32], claim: Claim) {
        match claim {
            // Nearly every line is in a record, which keeps its number itself.
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnose::Span;

    fn said(code: Code, line: u32) -> Claim {
        let span = Span {
            file: FileId(0),
            line,
            line_start: 0,
            start: 0,
            end: 1,
        };
        Claim::unread(Diagnostic::at(code, span, "why"))
    }

    fn lines(unread: &UnreadLines) -> (Code, u32, u32, u64) {
        let lines = &unread.lines;
        (
            unread.diagnostic.code,
            lines.first(),
            lines.last(),
            lines.n_lines(),
        )
    }

    #[test]
    fn neighbours_share_a_reason_that_lies_in_where_they_stand() {
        let mut ledger = Ledger::default();
        for (code, line) in [
            (Code::LineOutsideRecord, 1),
            (Code::LineOutsideRecord, 2),
            // A line between them, or another reason, and it is told anew.
            (Code::LineOutsideRecord, 4),
            (Code::FileNotText, 5),
            (Code::FileNotText, 6),
            (Code::VersionUnknown, 7),
            (Code::VersionUnknown, 8),
            (Code::ValueInvalid, 9),
            (Code::ValueInvalid, 10),
        ] {
            ledger.enter_lines(FileId(0), &[line], said(code, line));
        }
        let told: Vec<_> = ledger.unread.iter().map(lines).collect();
        assert_eq!(
            told,
            [
                (Code::LineOutsideRecord, 1, 2, 2),
                (Code::LineOutsideRecord, 4, 4, 1),
                (Code::FileNotText, 5, 6, 2),
                (Code::VersionUnknown, 7, 8, 2),
                (Code::ValueInvalid, 9, 9, 1),
                (Code::ValueInvalid, 10, 10, 1),
            ]
        );
    }

    #[test]
    fn beyond_a_thousand_those_with_one_reason_are_told_together() {
        let mut ledger = Ledger::default();
        for line in 1..=1_003 {
            ledger.enter_lines(FileId(0), &[line], said(Code::ValueInvalid, line));
        }
        ledger.enter_lines(FileId(0), &[1_004], said(Code::KeyUnknown, 1_004));
        ledger.enter_lines(FileId(0), &[1_005], said(Code::ValueInvalid, 1_005));
        ledger.enter_lines(FileId(0), &[1_006], said(Code::KeyUnknown, 1_006));
        assert_eq!(ledger.unread.len(), 1_002);
        assert_eq!(
            lines(&ledger.unread[999]),
            (Code::ValueInvalid, 1_000, 1_000, 1)
        );
        assert_eq!(
            lines(&ledger.unread[1_000]),
            (Code::ValueInvalid, 1_001, 1_005, 4)
        );
        assert_eq!(
            lines(&ledger.unread[1_001]),
            (Code::KeyUnknown, 1_004, 1_006, 2)
        );
    }

    #[test]
    fn idle_lines_are_kept_and_those_of_records_are_not() {
        let mut ledger = Ledger::default();
        ledger.enter_lines(FileId(0), &[1], Claim::Record);
        assert!(ledger.idle.is_none() && ledger.unread.is_empty());
        ledger.enter_lines(FileId(0), &[2, 3], Claim::Idle);
        let idle = ledger.idle.unwrap();
        assert_eq!((idle.first(), idle.last(), idle.n_lines()), (2, 3, 2));
    }
}
