//! Where and why a line's text stopped making sense: the error type of all nom parsers here.

use super::text::fills_paper;
use crate::diagnose::Diagnostic;
use crate::diagnose::codes::Code;
use crate::source::lines::Line;
use nom::IResult;
use nom::error::{ErrorKind, ParseError};

/// The result of a parser over a line's bytes.
pub type Parsed<'a, T> = IResult<&'a [u8], T, Fault<'a>>;

/// Where a parser stopped, and what it had wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fault<'a> {
    /// The bad value, or all that was left of the line.
    pub at: &'a [u8],
    /// What kind of fault it is.
    pub code: Code,
    /// What was expected, as it reads after "expected".
    pub wanted: &'static str,
}

impl<'a> ParseError<&'a [u8]> for Fault<'a> {
    fn from_error_kind(at: &'a [u8], _: ErrorKind) -> Self {
        Fault {
            at,
            code: Code::ValueInvalid,
            wanted: "a value",
        }
    }

    fn append(_: &'a [u8], _: ErrorKind, other: Self) -> Self {
        other
    }
}

/// A parser's failure as a result.
pub fn fail<'a, T>(at: &'a [u8], code: Code, wanted: &'static str) -> Parsed<'a, T> {
    Err(fault(at, code, wanted))
}

/// That what stands there is not what is wanted, as nom's error.
pub fn fault<'a>(at: &'a [u8], code: Code, wanted: &'static str) -> nom::Err<Fault<'a>> {
    nom::Err::Error(Fault { at, code, wanted })
}

/// The fault in nom's error. Complete parsers never ask for more input.
pub fn fault_of(error: nom::Err<Fault<'_>>) -> Fault<'_> {
    match error {
        nom::Err::Error(fault) | nom::Err::Failure(fault) => fault,
        nom::Err::Incomplete(_) => Fault {
            at: b"",
            code: Code::ValueInvalid,
            wanted: "more text",
        },
    }
}

/// Widths at which strip printers and captures cut lines.
const CUT_WIDTHS: [usize; 2] = [24, 40];

/// A fault in a line as a diagnostic.
pub fn diagnose_fault(line: &Line<'_>, fault: Fault<'_>) -> Diagnostic {
    let at_end = fault.at.is_empty();
    let text = String::from_utf8_lossy(line.text);
    let n_columns = text.chars().count();
    let width = CUT_WIDTHS
        .iter()
        .find(|&&width| fills_paper(n_columns, width));
    if at_end && let Some(width) = width {
        let whole = line.whole();
        let end = line.span(line.text.len(), line.text.len());
        let span = crate::diagnose::Span {
            start: end.start.max(whole.start),
            ..end
        };
        return Diagnostic::at(
            Code::LineCut,
            span,
            format!(
                "the line looks cut at {width} columns: {} is expected next",
                fault.wanted
            ),
        )
        .caption("cut here");
    }
    if at_end {
        let span = line.span(line.text.len(), line.text.len());
        let code = if fault.code == Code::ValueInvalid {
            Code::ValueMissing
        } else {
            fault.code
        };
        return Diagnostic::at(
            code,
            span,
            format!("the line ends where {} is expected", fault.wanted),
        )
        .caption(format!("expected {}", fault.wanted));
    }
    if fault.code == Code::NumberAmbiguous {
        let end = fault.at.iter().position(|byte| b" \t".contains(byte));
        let number = fault
            .at
            .get(..end.unwrap_or(fault.at.len()))
            .unwrap_or(fault.at);
        let shown = String::from_utf8_lossy(number);
        return Diagnostic::at(
            fault.code,
            line.span_of(number),
            format!("`{shown}` can be read in two ways: its comma may mark decimals or thousands"),
        );
    }
    let token = first_token(fault.at);
    let shown = String::from_utf8_lossy(token);
    if is_last(line.text, token) && is_cut(line) {
        return Diagnostic::at(
            Code::LineCut,
            line.span_of(token),
            format!(
                "the line looks cut at {n_columns} columns: `{shown}` is not {}",
                fault.wanted
            ),
        )
        .caption("cut here");
    }
    Diagnostic::at(
        fault.code,
        line.span_of(token),
        format!("`{shown}` is not {}", fault.wanted),
    )
    .caption(format!("expected {}", fault.wanted))
}

/// Whether a line is exactly as wide as printers and captures cut them, so that its last word may be half of one.
pub fn is_cut(line: &Line<'_>) -> bool {
    looks_cut(&String::from_utf8_lossy(line.text))
}

/// The same of a line's text.
pub(in crate::parse) fn looks_cut(text: &str) -> bool {
    CUT_WIDTHS.contains(&text.chars().count())
}

/// Whether a slice of a text is its last part.
fn is_last(text: &[u8], part: &[u8]) -> bool {
    text.as_ptr_range().end == part.as_ptr_range().end
}

/// The bytes up to the next space or comma, and at least one.
fn first_token(bytes: &[u8]) -> &[u8] {
    let end = bytes
        .iter()
        .position(|byte| b" \t,".contains(byte))
        .unwrap_or(bytes.len());
    // At a space or comma itself, that one character is the token.
    bytes.get(..end.max(1)).unwrap_or(bytes)
}
