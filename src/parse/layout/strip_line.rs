//! A line of a strip as a form sees it: one line of the file, or several that the printer wrapped, joined into one text
//! whose every byte still knows its place in the file.
//!
//! Knows nothing of forms. Read [`StripLine`] first.

use crate::diagnose::{FileId, Span};
use crate::parse::token::n_blanks_before;
use crate::source::decode::Decoding;
use crate::source::lines::Line;

/// A line that is kept until the next one says whether it goes on.
#[derive(Debug, Clone)]
pub struct KeptLine {
    file: FileId,
    number: u32,
    line_start: u64,
    text: Vec<u8>,
    /// For each byte of the text and its end the offset in the file's line; `None` where they are the same.
    origin: Option<Vec<u32>>,
}

impl KeptLine {
    /// Keeps a line.
    pub fn of(line: &Line<'_>) -> Self {
        let is_same = line.decoding == Decoding::Verbatim;
        KeptLine {
            file: line.file,
            number: line.number,
            line_start: line.start,
            text: line.text.to_vec(),
            origin: (!is_same).then(|| {
                (0..=line.text.len())
                    .map(|at| line.span(at, at).start)
                    .collect()
            }),
        }
    }

    /// Its text.
    pub fn text(&self) -> &[u8] {
        &self.text
    }

    /// Its text in characters.
    pub fn n_columns(&self) -> usize {
        self.text
            .iter()
            .filter(|byte| **byte & 0xC0 != 0x80)
            .count()
    }

    fn span(&self, start: usize, end: usize) -> Span {
        let original = |at: usize| match &self.origin {
            None => u32::try_from(at).unwrap_or(u32::MAX),
            Some(origin) => origin.get(at).or(origin.last()).copied().unwrap_or(0),
        };
        Span {
            file: self.file,
            line: self.number,
            line_start: self.line_start,
            start: original(start),
            end: original(end),
        }
    }
}

/// Several lines joined.
#[derive(Debug, Clone, Default)]
pub struct JoinedLines {
    text: Vec<u8>,
    /// Each line with the offset in the text at which it begins, and that of its own first byte that was kept.
    parts: Vec<(usize, usize, KeptLine)>,
}

impl JoinedLines {
    /// A single line.
    pub fn first(line: KeptLine) -> Self {
        JoinedLines {
            text: line.text.clone(),
            parts: vec![(0, 0, line)],
        }
    }

    /// The same with a line after it: one that the printer cut at a column goes on without anything between, after the
    /// spaces that were trimmed at the cut; one that it indented goes on after a space.
    #[must_use]
    pub fn with(&self, line: KeptLine, joint: Joint) -> Self {
        let mut joined = self.clone();
        let skipped = match joint {
            Joint::Cut(columns) => {
                let n = self.parts.last().map_or(0, |(_, _, last)| last.n_columns());
                joined
                    .text
                    .extend(std::iter::repeat_n(b' ', columns.saturating_sub(n)));
                0
            }
            Joint::Indented => {
                joined.text.push(b' ');
                n_blanks_before(&line.text)
            }
        };
        let begin = joined.text.len();
        joined
            .text
            .extend_from_slice(line.text.get(skipped..).unwrap_or_default());
        joined.parts.push((begin, skipped, line));
        joined
    }

    /// How many lines it is made of.
    pub fn n_lines(&self) -> usize {
        self.parts.len()
    }

    /// The lines that it is made of.
    pub fn into_lines(self) -> impl Iterator<Item = KeptLine> {
        self.parts.into_iter().map(|(_, _, line)| line)
    }

    /// Its last line.
    pub fn last(&self) -> Option<&KeptLine> {
        self.parts.last().map(|(_, _, line)| line)
    }

    /// The span of a part of the text. A span lies within one line, so one that goes over several ends with the first.
    fn span(&self, start: usize, end: usize) -> Option<Span> {
        let at = self
            .parts
            .iter()
            .rposition(|(begin, _, _)| *begin <= start)
            .unwrap_or(0);
        let (begin, skipped, line) = self.parts.get(at)?;
        let own = |offset: usize| {
            offset
                .saturating_sub(*begin)
                .saturating_add(*skipped)
                .min(line.text.len())
        };
        Some(line.span(own(start), own(end)))
    }
}

/// How a line goes on in the next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Joint {
    /// It was cut at this many columns.
    Cut(usize),
    /// The next line is indented.
    Indented,
}

/// A line as a form sees it.
#[derive(Debug, Clone, Copy)]
pub enum StripLine<'a> {
    /// A line of the file.
    One(&'a Line<'a>),
    /// A line that was kept.
    Kept(&'a KeptLine),
    /// Lines that were joined.
    Joined(&'a JoinedLines),
}

impl<'a> StripLine<'a> {
    /// Its text.
    pub fn text(&self) -> &'a [u8] {
        match self {
            StripLine::One(line) => line.text,
            StripLine::Kept(line) => &line.text,
            StripLine::Joined(lines) => &lines.text,
        }
    }

    /// The span of a part of the text, in bytes of the original file.
    #[inline]
    pub fn span(&self, start: usize, end: usize) -> Span {
        match self {
            StripLine::One(line) => line.span(start, end),
            StripLine::Kept(line) => line.span(start, end),
            StripLine::Joined(lines) => lines.span(start, end).unwrap_or(Span {
                file: FileId(0),
                line: 0,
                line_start: 0,
                start: 0,
                end: 0,
            }),
        }
    }

    /// The span of the whole text, or of its first line.
    #[inline]
    pub fn whole(&self) -> Span {
        self.span(0, self.text().len())
    }

    /// The number of its first line.
    #[inline]
    pub fn number(&self) -> u32 {
        match self {
            StripLine::One(line) => line.number,
            StripLine::Kept(line) => line.number,
            StripLine::Joined(lines) => lines.parts.first().map_or(0, |(_, _, line)| line.number),
        }
    }

    /// The file.
    pub fn file(&self) -> FileId {
        match self {
            StripLine::One(line) => line.file,
            StripLine::Kept(line) => line.file,
            StripLine::Joined(lines) => lines
                .parts
                .first()
                .map_or(FileId(0), |(_, _, line)| line.file),
        }
    }

    /// The numbers of all its lines. Most have one, which is not worth a list.
    pub fn for_each_number(&self, mut take: impl FnMut(u32)) {
        match self {
            StripLine::Joined(lines) => {
                lines
                    .parts
                    .iter()
                    .for_each(|(_, _, line)| take(line.number));
            }
            _ => take(self.number()),
        }
    }
}
