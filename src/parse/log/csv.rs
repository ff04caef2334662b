//! Rows of a CSV log → entries. Read [`CsvReader::take_line`] first.
//!
//! A row may go over several lines when a quoted cell holds line ends, so a line's fate may be known only later: the
//! reader collects lines until the quotation marks balance, then hands the row to the csv crate.

use super::column::{COLUMNS, OPENING};
use super::interpret::{Draft, Part, Value, interpret, words};
use crate::diagnose::codes::Code;
use crate::diagnose::{Diagnostic, FileId, Span};
use crate::measure::count::Counting;
use crate::parse::ledger::Claim;
use crate::parse::suggest::suggest;
use crate::parse::text::{diagnose_patient_data, is_blank, looks_like_patient_data, owned};
use crate::parse::token::{clock, date, end_of_line, time_of_day};
use crate::record::Spanned;
use crate::record::entry::Entry;
use crate::record::line_set::LineSet;
use crate::record::stamp::Stamp;
use crate::source::lines::Line;
use chrono::NaiveDate;
use chrono_tz::Tz;
use smallvec::{SmallVec, smallvec};
use std::borrow::Cow;
use std::ops::Range;
use std::sync::Arc;

/// A row whose quotation marks do not balance within so many lines has one too many or too few.
const LONGEST_ROW: usize = 20;

/// The separator of a CSV log, if a line is the header row of one.
pub fn separator_of_header(text: &[u8]) -> Option<u8> {
    let text = text.strip_prefix(b"\"").unwrap_or(text);
    let (head, rest) = text.split_at_checked(OPENING.len())?;
    let rest = rest.strip_prefix(b"\"").unwrap_or(rest);
    match rest.first() {
        Some(&separator @ (b',' | b';' | b'\t'))
            if head.eq_ignore_ascii_case(OPENING.as_bytes()) =>
        {
            Some(separator)
        }
        _ => None,
    }
}

/// A line that waits for the rest of its row.
#[derive(Debug)]
struct Pending {
    text: Vec<u8>,
    number: u32,
    start: u64,
    /// For each byte of the text and its end, its offset in the original line.
    whole: Span,
    offsets: Vec<u32>,
}

impl Pending {
    fn of(line: &Line<'_>) -> Self {
        Pending {
            text: line.text.to_vec(),
            number: line.number,
            start: line.start,
            whole: line.whole(),
            offsets: (0..=line.text.len())
                .map(|at| line.span(at, at).start)
                .collect(),
        }
    }

    fn span(&self, range: Range<usize>) -> Span {
        let original = |at: usize| {
            self.offsets
                .get(at)
                .or(self.offsets.last())
                .copied()
                .unwrap_or(0)
        };
        Span {
            line: self.number,
            line_start: self.start,
            start: original(range.start),
            end: original(range.end),
            ..self.whole
        }
    }
}

/// What became of the lines of a row.
#[derive(Debug)]
pub struct RowClaim {
    /// The lines.
    pub lines: SmallVec<[u32; 1]>,
    /// Their fate.
    pub claim: Claim,
}

/// What became of the lines of the rows that are complete: of one row of one line, nearly always.
pub type RowClaims = SmallVec<[RowClaim; 1]>;

/// What a column is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Column {
    Date,
    Time,
    About,
    Place,
    Zone,
    /// A key of the entry.
    Key(&'static str),
    /// It is none that a log has.
    Unknown,
}

impl Column {
    fn of(name: &str) -> Self {
        match name {
            "date" => Column::Date,
            "time" => Column::Time,
            "about" => Column::About,
            "place" => Column::Place,
            "zone" => Column::Zone,
            _ => COLUMNS
                .iter()
                .find(|known| **known == name)
                .map_or(Column::Unknown, |known| Column::Key(known)),
        }
    }
}

/// Reads the rows of one CSV log.
#[derive(Debug)]
pub struct CsvReader {
    file: FileId,
    separator: u8,
    columns: Vec<Column>,
    pending: Vec<Pending>,
}

impl CsvReader {
    /// A reader that has read the header row. Columns that it does not know are said.
    pub fn opened_by(line: &Line<'_>, separator: u8, said: &mut Vec<Diagnostic>) -> Self {
        let pending = [Pending::of(line)];
        let cells = cells(&pending, separator).unwrap_or_default();
        let mut columns = Vec::with_capacity(cells.len());
        for cell in cells.iter().skip(1) {
            let name = owned(&cell.text).to_ascii_lowercase();
            let column = Column::of(&name);
            if column == Column::Unknown && !name.is_empty() {
                let diagnostic = Diagnostic::at(
                    Code::CsvHeaderUnknown,
                    cell.span,
                    format!("the column `{name}` is not one that a log has; its cells are left"),
                );
                said.push(match suggest(&name, &COLUMNS) {
                    Some(near) => {
                        diagnostic.help(format!("name it `{near}` if that is what is meant"))
                    }
                    None => diagnostic,
                });
            }
            columns.push(column);
        }
        CsvReader {
            file: line.file,
            separator,
            columns,
            pending: Vec::new(),
        }
    }

    /// The file that it reads.
    pub fn file(&self) -> FileId {
        self.file
    }

    /// Whether a row is open, so that the next line belongs to it whatever it looks like.
    pub fn is_within_row(&self) -> bool {
        !self.pending.is_empty()
    }

    /// Takes the next line. Gives the claims of the rows that it completes; each line is claimed once, now or later.
    pub fn take_line(
        &mut self,
        line: &Line<'_>,
        entries: &mut Vec<Entry>,
        said: &mut Vec<Diagnostic>,
    ) -> RowClaims {
        if self.pending.is_empty() && is_plain(line.text) {
            return smallvec![RowClaim {
                lines: smallvec![line.number],
                claim: self.take_plain_row(line, entries, said),
            }];
        }
        self.pending.push(Pending::of(line));
        self.settle(entries, said, false)
    }

    /// A row of one line whose cells are what stands between its separators. Nothing of it is copied before it is
    /// understood.
    fn take_plain_row(
        &self,
        line: &Line<'_>,
        entries: &mut Vec<Entry>,
        said: &mut Vec<Diagnostic>,
    ) -> Claim {
        let is_nothing = |byte: &u8| *byte == self.separator || byte.is_ascii_whitespace();
        if line.text.first() == Some(&b'#') || line.text.iter().all(is_nothing) {
            return Claim::Idle;
        }
        let mut from = 0_usize;
        let cells = line.text.split(|byte| *byte == self.separator).map(|cell| {
            let start = from;
            let end = start.saturating_add(cell.len());
            from = end.saturating_add(1);
            Value {
                text: Cow::Borrowed(cell.trim_ascii()),
                span: line.span(start, end),
            }
        });
        let mut lines = LineSet::new(self.file);
        lines.push(line.number);
        let entry = self.read_entry(cells, lines, line.whole());
        keep_entry(entry, line.text, entries, said)
    }

    /// Ends the log: claims the lines of a row that was never completed.
    pub fn finish(&mut self, entries: &mut Vec<Entry>, said: &mut Vec<Diagnostic>) -> RowClaims {
        self.settle(entries, said, true)
    }

    /// Reads complete rows off the pending lines.
    fn settle(
        &mut self,
        entries: &mut Vec<Entry>,
        said: &mut Vec<Diagnostic>,
        at_end: bool,
    ) -> RowClaims {
        let mut claims = RowClaims::new();
        while !self.pending.is_empty() {
            let mut n_marks = 0_usize;
            let complete = self.pending.iter().position(|line| {
                n_marks.add_many(memchr::memchr_iter(b'"', &line.text).count());
                n_marks.is_multiple_of(2)
            });
            let n_row = match complete {
                Some(last) => last.saturating_add(1),
                None if at_end || self.pending.len() >= LONGEST_ROW => 0,
                None => break,
            };
            if n_row == 0 {
                // The first line's mark is never closed: it alone is given up, and the next ones get their chance.
                let line = self.pending.remove(0);
                let diagnostic = Diagnostic::at(
                    Code::ValueInvalid,
                    line.whole,
                    "a quotation mark is never closed",
                )
                .help("close the quotation mark, or double it if it is part of the text");
                claims.push(RowClaim {
                    lines: smallvec![line.number],
                    claim: Claim::unread(withheld(&line.text, diagnostic)),
                });
                continue;
            }
            let row: Vec<_> = self.pending.drain(..n_row).collect();
            let lines = row.iter().map(|line| line.number).collect();
            claims.push(RowClaim {
                lines,
                claim: self.read_row(&row, entries, said),
            });
        }
        claims
    }

    fn read_row(
        &self,
        row: &[Pending],
        entries: &mut Vec<Entry>,
        said: &mut Vec<Diagnostic>,
    ) -> Claim {
        let is_blank = |line: &Pending| {
            line.text
                .iter()
                .all(|&byte| byte == self.separator || byte.is_ascii_whitespace())
        };
        if row.iter().all(is_blank)
            || row
                .first()
                .is_some_and(|line| line.text.first() == Some(&b'#'))
        {
            return Claim::Idle;
        }
        let entry = cells(row, self.separator).and_then(|cells| {
            let mut lines = LineSet::new(self.file);
            row.iter().for_each(|line| lines.push(line.number));
            let whole = row.first().map_or(nowhere(self.file), |line| line.whole);
            self.read_entry(cells.into_iter(), lines, whole)
        });
        let text: Vec<u8> = row
            .iter()
            .flat_map(|line| line.text.iter().copied())
            .collect();
        keep_entry(entry, &text, entries, said)
    }

    /// Understands the cells of a row, which stands on these lines.
    fn read_entry<'a>(
        &self,
        mut cells: impl Iterator<Item = Value<'a>>,
        lines: LineSet,
        whole: Span,
    ) -> Result<Entry, Box<Diagnostic>> {
        let Some(kind) = cells.next() else {
            return Err(Box::new(Diagnostic::at(
                Code::ValueMissing,
                whole,
                "the row is empty",
            )));
        };
        let mut draft = Draft {
            lines,
            span: whole,
            kind,
            about: None,
            parts: Vec::with_capacity(8),
            written: None,
            place: None,
            zone: None,
        };
        let (mut day, mut time) = (None, None);
        for (at, cell) in cells.enumerate() {
            // Nobody filled it in.
            if is_blank(&cell.text) {
                continue;
            }
            let Some(column) = self.columns.get(at) else {
                return Err(Box::new(
                    Diagnostic::at(
                        Code::CsvRowUneven,
                        cell.span,
                        "the row has more cells than the header has columns",
                    )
                    .caption("one cell too many"),
                ));
            };
            match column {
                Column::Date => day = Some(read_cell(&cell, "a date as YYYY-MM-DD", date)?),
                Column::Time => time = Some(read_cell(&cell, "a time as HH:MM", clock)?),
                Column::About => draft.about = Some(cell),
                Column::Place => {
                    draft.place = Some(Arc::new(Spanned::new(words(&cell)?, cell.span)))
                }
                Column::Zone => draft.zone = Some(Arc::new(zone(&cell)?)),
                Column::Key(key) => draft.parts.push(Part {
                    key: Cow::Borrowed(key.as_bytes()),
                    key_span: cell.span,
                    value: cell,
                }),
                Column::Unknown => {}
            }
        }
        draft.written = match (day, time) {
            (Some((day, span)), Some((second, _))) => {
                let day: NaiveDate = day;
                Some(Spanned::new(
                    Stamp::local(day.and_time(time_of_day(second))),
                    span,
                ))
            }
            (None, Some((_, span))) => {
                return Err(Box::new(Diagnostic::at(
                    Code::ValueMissing,
                    span,
                    "the row has a time and no date",
                )));
            }
            (Some((_, span)), None) => {
                return Err(Box::new(Diagnostic::at(
                    Code::ValueMissing,
                    span,
                    "the row has a date and no time",
                )));
            }
            (None, None) => None,
        };
        interpret(draft).map_err(Box::new)
    }
}

/// A place at the beginning of a file, for a row without lines, which there is not.
fn nowhere(file: FileId) -> Span {
    Span {
        file,
        line: 0,
        line_start: 0,
        start: 0,
        end: 0,
    }
}

/// Keeps the entry of a row; `text` is the row's.
fn keep_entry(
    entry: Result<Entry, Box<Diagnostic>>,
    text: &[u8],
    entries: &mut Vec<Entry>,
    said: &mut Vec<Diagnostic>,
) -> Claim {
    match entry {
        Ok(entry) => {
            if entry.written.is_none() {
                said.push(
                    Diagnostic::at(
                        Code::FieldMissing,
                        entry.span,
                        "the row has no date and time",
                    )
                    .help("fill the columns `date` and `time`"),
                );
            }
            entries.push(entry);
            Claim::Record
        }
        Err(diagnostic) => Claim::unread(withheld(text, *diagnostic)),
    }
}

/// The diagnostic, or that of patient data if the row looks like it.
fn withheld(text: &[u8], diagnostic: Diagnostic) -> Diagnostic {
    match diagnostic.primary {
        Some(span) if looks_like_patient_data(text) => diagnose_patient_data(span),
        _ => diagnostic,
    }
}

fn zone(cell: &Value<'_>) -> Result<Spanned<Tz>, Box<Diagnostic>> {
    let found = std::str::from_utf8(&cell.text)
        .ok()
        .and_then(|name| Tz::from_str_insensitive(name).ok());
    found
        .map(|zone| Spanned::new(zone, cell.span))
        .ok_or_else(|| Box::new(invalid(cell, "a zone of the IANA time zone database")))
}

fn invalid(cell: &Value<'_>, wanted: &str) -> Diagnostic {
    let shown = String::from_utf8_lossy(&cell.text);
    Diagnostic::at(
        Code::ValueInvalid,
        cell.span,
        format!("`{shown}` is not {wanted}"),
    )
    .caption(format!("expected {wanted}"))
}

fn read_cell<T>(
    cell: &Value<'_>,
    wanted: &str,
    read: impl Fn(&[u8]) -> crate::parse::fault::Parsed<'_, T>,
) -> Result<(T, Span), Box<Diagnostic>> {
    match read(&cell.text).and_then(|(rest, value)| end_of_line(rest).map(|_| value)) {
        Ok(value) => Ok((value, cell.span)),
        Err(_) => Err(Box::new(invalid(cell, wanted))),
    }
}

/// The cells of a row, with the place of each.
fn cells(row: &[Pending], separator: u8) -> Result<Vec<Value<'static>>, Box<Diagnostic>> {
    let mut joined = Vec::new();
    for line in row {
        joined.extend_from_slice(&line.text);
        joined.push(b'\n');
    }
    let places = places(&joined, separator);
    let first = row.first().map_or(nowhere(FileId(0)), |line| line.whole);
    let record = read_quoted(&joined, separator, first)?;
    let values = record.iter().enumerate().map(|(at, cell)| {
        let range = places.get(at).cloned().unwrap_or(0..0);
        // Cells are tidied like values of the text form; a line end within one becomes a space.
        let text = cell
            .trim_ascii()
            .iter()
            .map(|&byte| if byte == b'\n' { b' ' } else { byte })
            .collect();
        Value {
            text: Cow::Owned(text),
            span: span_in(row, range).unwrap_or(first),
        }
    });
    Ok(values.collect())
}

/// Whether the cells of a line are what stands between its separators: nothing in it means more to CSV. Most rows are; a
/// reader of the csv crate takes longer to be made than all else of reading a row.
fn is_plain(text: &[u8]) -> bool {
    // The crate leaves out a byte order mark at the beginning.
    memchr::memchr3(b'"', b'\r', b'\n', text).is_none() && !text.starts_with(b"\xEF\xBB\xBF")
}

/// The cells of a row by the csv crate.
fn read_quoted(
    joined: &[u8],
    separator: u8,
    first: Span,
) -> Result<csv::ByteRecord, Box<Diagnostic>> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator)
        .buffer_capacity(joined.len().max(64))
        .from_reader(joined);
    let mut record = csv::ByteRecord::new();
    let unreadable = |_| {
        Box::new(Diagnostic::at(
            Code::ValueInvalid,
            first,
            "the row is not CSV",
        ))
    };
    reader.read_byte_record(&mut record).map_err(unreadable)?;
    let n_read = usize::try_from(reader.position().byte()).unwrap_or(usize::MAX);
    if n_read < joined.len() {
        // The csv crate ended the row before our count of quotation marks did: they stand where they mean nothing.
        return Err(Box::new(
            Diagnostic::at(
                Code::ValueInvalid,
                first,
                "quotation marks stand within a cell that is not quoted",
            )
            .help("put the whole cell in quotation marks and double the ones within"),
        ));
    }
    Ok(record)
}

/// Where each cell stands in the joined lines of a row.
fn places(joined: &[u8], separator: u8) -> Vec<Range<usize>> {
    let mut places = Vec::new();
    let mut quoted = false;
    let mut from = 0;
    let end = joined.len().saturating_sub(1);
    for (at, &byte) in joined.iter().enumerate().take(end) {
        if byte == b'"' {
            quoted = !quoted;
        } else if byte == separator && !quoted {
            places.push(from..at);
            from = at.saturating_add(1);
        }
    }
    places.push(from..end);
    places
}

/// The span of a range of the joined lines; of a range over several lines, its part in the first.
fn span_in(row: &[Pending], range: Range<usize>) -> Option<Span> {
    let mut start = 0_usize;
    for line in row {
        let end = start.saturating_add(line.text.len());
        if range.start <= end {
            let within = |at: usize| at.min(end).saturating_sub(start);
            return Some(line.span(within(range.start)..within(range.end)));
        }
        start = end.saturating_add(1);
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Against the csv crate, which reads the rows that are not plain.
        #[test]
        fn plain_row_is_cut_as_the_csv_crate_cuts_it(line in "[a-c,;\t '#\\\\\u{0}é]{1,20}", separator in 0..3_usize) {
            let separator = b",;\t"[separator];
            let row = format!("{line}\n").into_bytes();
            let by_crate = read_quoted(&row, separator, nowhere(FileId(0))).map_err(|_| ());
            let cut: csv::ByteRecord = line.as_bytes().split(|byte| *byte == separator).collect();
            prop_assert!(is_plain(line.as_bytes()));
            prop_assert_eq!(Ok(cut), by_crate);
        }
    }
}
