//! Lines of a text log → entries. Read [`LogReader::take_line`] first.

use super::interpret::{Draft, KINDS, Part, Value, interpret, words};
use crate::diagnose::Diagnostic;
use crate::diagnose::codes::Code;
use crate::parse::fault::{Fault, Parsed, diagnose_fault, fault_of};
use crate::parse::ledger::Claim;
use crate::parse::suggest::suggest;
use crate::parse::text::{diagnose_patient_data, looks_like_patient_data, owned};
use crate::parse::token::{blanks, clock, date, end_of_line, gap, time_of_day};
use crate::record::Spanned;
use crate::record::entry::Entry;
use crate::record::line_set::LineSet;
use crate::record::stamp::Stamp;
use crate::source::lines::Line;
use chrono::NaiveDate;
use chrono_tz::Tz;
use std::borrow::Cow;
use std::sync::Arc;

/// The headings of a log, for proposals.
const HEADINGS: &[&str] = &["place", "zone", "date"];

/// Reads the lines of one log. Remembers the headings in force.
#[derive(Debug, Default)]
pub struct LogReader {
    place: Option<Arc<Spanned<String>>>,
    zone: Option<Arc<Spanned<Tz>>>,
    date: Option<NaiveDate>,
}

impl LogReader {
    /// Takes the next line: an entry goes to `entries`; what is worth saying of a line that is read all the same, to
    /// `said`.
    pub fn take_line(
        &mut self,
        line: &Line<'_>,
        entries: &mut Vec<Entry>,
        said: &mut Vec<Diagnostic>,
    ) -> Claim {
        let text = line.text.trim_ascii();
        if text.is_empty() || text.first() == Some(&b'#') {
            return Claim::Idle;
        }
        match self.read_line(line) {
            Ok(None) => Claim::Idle,
            Ok(Some(entry)) => {
                if entry.written.is_none() && line.text.first().is_some_and(u8::is_ascii_digit) {
                    said.push(
                        Diagnostic::at(
                            Code::FieldMissing,
                            entry.span,
                            "the entry has a time, but no date stands above it",
                        )
                        .help("put a line `date: YYYY-MM-DD` above the entries of a day"),
                    );
                }
                entries.push(entry);
                Claim::Record
            }
            Err(_) if looks_like_patient_data(text) => {
                Claim::unread(diagnose_patient_data(line.whole()))
            }
            Err(diagnostic) => Claim::Unread(diagnostic),
        }
    }

    /// Reads a line: an entry, or a heading, which is put in force.
    fn read_line(&mut self, line: &Line<'_>) -> Result<Option<Entry>, Box<Diagnostic>> {
        let text = blanks(line.text);
        let put = |error: nom::Err<Fault<'_>>| Box::new(diagnose_fault(line, fault_of(error)));
        let (rest, written) = when(text, self.date).map_err(put)?;
        let Some((kind, rest)) = memchr::memchr(b':', rest).and_then(|colon| {
            let (kind, rest) = rest.split_at_checked(colon)?;
            Some((kind.trim_ascii(), blanks(rest.get(1..)?)))
        }) else {
            return Err(Box::new(unknown_line(line, rest)));
        };
        if rest.is_empty() {
            return Err(put(nom::Err::Error(Fault {
                at: b"",
                code: Code::ValueMissing,
                wanted: "a value",
            })));
        }
        if text.len() == line.text.trim_ascii_start().len()
            && std::ptr::eq(kind.as_ptr(), text.as_ptr())
        {
            // Headings have no time before them.
            let is = |word: &str| kind.eq_ignore_ascii_case(word.as_bytes());
            if is("place") {
                let place = Value {
                    text: Cow::Borrowed(rest),
                    span: line.span_of(rest),
                };
                self.place = Some(Arc::new(Spanned::new(words(&place)?, place.span)));
                return Ok(None);
            } else if is("zone") {
                let zone = std::str::from_utf8(rest)
                    .ok()
                    .and_then(|name| Tz::from_str_insensitive(name).ok());
                let Some(zone) = zone else {
                    let wanted = "a zone of the IANA time zone database";
                    return Err(put(nom::Err::Error(Fault {
                        at: rest,
                        code: Code::ValueInvalid,
                        wanted,
                    })));
                };
                self.zone = Some(Arc::new(Spanned::new(zone, line.span_of(rest))));
                return Ok(None);
            } else if is("date") {
                let (rest, date) = date(rest).map_err(put)?;
                end_of_line(rest).map_err(put)?;
                self.date = Some(date);
                return Ok(None);
            }
        }
        let is_remark = kind.eq_ignore_ascii_case(b"remark");
        let (about, rest) = if is_remark {
            (rest, None)
        } else {
            split_at_comma(rest)
        };
        let mut lines = LineSet::new(line.file);
        lines.push(line.number);
        let draft = Draft {
            lines,
            span: line.whole(),
            kind: Value {
                text: Cow::Borrowed(kind),
                span: line.span_of(kind),
            },
            about: Some(Value {
                text: Cow::Borrowed(about.trim_ascii()),
                span: line.span_of(about.trim_ascii()),
            }),
            parts: parts(line, rest).map_err(Box::new)?,
            written: written.map(|local| {
                Spanned::new(
                    Stamp::local(local),
                    line.span(0, text.len().saturating_sub(rest_len(text, kind))),
                )
            }),
            place: self.place.clone(),
            zone: self.zone.clone(),
        };
        interpret(draft).map(Some).map_err(Box::new)
    }
}

/// How many bytes of `text` there are from where `part`, a slice of it, begins.
fn rest_len(text: &[u8], part: &[u8]) -> usize {
    let from = (part.as_ptr() as usize).saturating_sub(text.as_ptr() as usize);
    text.len().saturating_sub(from)
}

/// A time, or a date and a time, before the kind; the date is the heading's where none is written.
fn when(text: &[u8], heading: Option<NaiveDate>) -> Parsed<'_, Option<chrono::NaiveDateTime>> {
    if !text.first().is_some_and(u8::is_ascii_digit) {
        return Ok((text, None));
    }
    let (rest, date) = if text.get(4) == Some(&b'-') {
        let (rest, date) = date(text)?;
        let (rest, ()) = gap(rest)?;
        (rest, Some(date))
    } else {
        (text, heading)
    };
    let (rest, second) = clock(rest)?;
    let (rest, ()) = gap(rest)?;
    Ok((rest, date.map(|date| date.and_time(time_of_day(second)))))
}

/// What stands before the next comma outside quotation marks, and what stands after it, if there is one.
fn split_at_comma(text: &[u8]) -> (&[u8], Option<&[u8]>) {
    let mut quoted = false;
    for at in memchr::memchr2_iter(b',', b'"', text) {
        match text.get(at) {
            Some(b'"') => quoted = !quoted,
            _ if !quoted => {
                let (before, after) = text.split_at_checked(at).unwrap_or((text, b""));
                return (before, Some(blanks(after.get(1..).unwrap_or_default())));
            }
            _ => {}
        }
    }
    (text, None)
}

/// The keys and values of the rest of an entry.
fn parts<'a>(line: &Line<'a>, rest: Option<&'a [u8]>) -> Result<Vec<Part<'a>>, Diagnostic> {
    let mut parts = Vec::new();
    let mut remaining = rest;
    while let Some(rest) = remaining {
        if rest.is_empty() {
            // A comma at the end announces a part that is not there.
            let (at, code) = (&b""[..], Code::ValueMissing);
            let wanted = "a key and its value";
            return Err(diagnose_fault(line, Fault { at, code, wanted }));
        }
        let (part, after) = split_at_comma(rest);
        let part = part.trim_ascii();
        if part.is_empty() {
            return Err(Diagnostic::at(
                Code::ValueMissing,
                line.span_of(rest),
                "nothing stands between two commas",
            )
            .help("take one comma out, or write what is missing"));
        }
        let n_key = part
            .iter()
            .position(|byte| matches!(byte, b' ' | b'\t'))
            .unwrap_or(part.len());
        let (key, value) = part.split_at_checked(n_key).unwrap_or((part, b""));
        let value = value.trim_ascii();
        let span = if value.is_empty() {
            line.span_of(key)
        } else {
            line.span_of(value)
        };
        parts.push(Part {
            key: Cow::Borrowed(key),
            key_span: line.span_of(key),
            value: Value {
                text: unquote(line, value)?,
                span,
            },
        });
        remaining = after;
    }
    Ok(parts)
}

/// A value with its quotation marks taken off, and the doubled ones within made single.
fn unquote<'a>(line: &Line<'a>, value: &'a [u8]) -> Result<Cow<'a, [u8]>, Diagnostic> {
    if value.first() != Some(&b'"') {
        return if value.contains(&b'"') {
            Err(Diagnostic::at(
                Code::ValueInvalid,
                line.span_of(value),
                "a quotation mark stands within the value",
            )
            .help("put the whole value in quotation marks and double the one within"))
        } else {
            Ok(Cow::Borrowed(value))
        };
    }
    let inner = value
        .strip_prefix(b"\"")
        .and_then(|inner| inner.strip_suffix(b"\""));
    let Some(inner) = inner else {
        return Err(Diagnostic::at(
            Code::ValueInvalid,
            line.span_of(value),
            "the quotation mark is never closed",
        )
        .help("close the quotation mark"));
    };
    if !inner.contains(&b'"') {
        return Ok(Cow::Borrowed(inner));
    }
    let mut text = Vec::with_capacity(inner.len());
    let mut bytes = inner.iter();
    while let Some(&byte) = bytes.next() {
        text.push(byte);
        if byte == b'"' && bytes.next() != Some(&b'"') {
            return Err(Diagnostic::at(
                Code::ValueInvalid,
                line.span_of(value),
                "a quotation mark within is not doubled",
            )
            .help("double each quotation mark within a quoted value"));
        }
    }
    Ok(Cow::Owned(text))
}

fn unknown_line(line: &Line<'_>, rest: &[u8]) -> Diagnostic {
    let cut = diagnose_fault(
        line,
        Fault {
            at: b"",
            code: Code::LineUnknown,
            wanted: "a colon after the kind",
        },
    );
    if cut.code == Code::LineCut {
        return cut;
    }
    let first = rest
        .split(|byte| matches!(byte, b' ' | b'\t'))
        .next()
        .unwrap_or_default();
    let diagnostic = Diagnostic::at(
        Code::LineUnknown,
        line.span_of(rest),
        "the line is not an entry: it has no `kind:`",
    )
    .caption("expected a kind and a colon");
    let known: Vec<_> = KINDS.iter().chain(HEADINGS).copied().collect();
    match suggest(&owned(first), &known) {
        Some(near) => diagnostic.help(format!(
            "begin the entry with `{near}:` if that is what is meant"
        )),
        None => diagnostic,
    }
}
