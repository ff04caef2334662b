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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnose::FileId;
    use crate::source::lines::read_lines;

    /// What is said of a fault in a line that begins where a part of it does: code, headline, and from which byte of the
    /// line to which.
    fn said(text: &str, from: usize, code: Code) -> (Code, String, u32, u32) {
        let mut said = None;
        let _ = read_lines(FileId(0), text.as_bytes(), |line| {
            let at = line.text.get(from..).unwrap();
            let wanted = "a thing";
            let told = diagnose_fault(line, Fault { at, code, wanted });
            let span = told.primary.unwrap();
            said = Some((told.code, told.headline, span.start, span.end));
        });
        said.unwrap()
    }

    #[test]
    fn fault_is_shown_at_its_word() {
        let invalid = Code::ValueInvalid;
        let expected = |code, headline: &str, start, end| (code, headline.to_owned(), start, end);
        assert_eq!(
            said("unit: PL-1 x, y", 6, invalid),
            expected(invalid, "`PL-1` is not a thing", 6, 10)
        );
        // The line ends: what is invalid there is missing, and what is another fault stays it.
        assert_eq!(
            said("unit:", 5, invalid),
            expected(
                Code::ValueMissing,
                "the line ends where a thing is expected",
                5,
                5
            )
        );
        assert_eq!(
            said("unit:", 5, Code::UnitUnknown),
            expected(
                Code::UnitUnknown,
                "the line ends where a thing is expected",
                5,
                5
            )
        );
        // At a space or comma that one is the word.
        assert_eq!(
            said("unit:, x", 5, invalid),
            expected(invalid, "`,` is not a thing", 5, 6)
        );
        // A number with a doubtful comma is shown to its end.
        assert_eq!(
            said("p 8,124 Pa", 2, Code::NumberAmbiguous),
            expected(
                Code::NumberAmbiguous,
                "`8,124` can be read in two ways: its comma may mark decimals or thousands",
                2,
                7
            )
        );
    }

    #[test]
    fn line_as_wide_as_paper_may_be_cut_in_its_last_word() {
        for (width, is) in [
            (23, false),
            (24, true),
            (25, false),
            (39, false),
            (40, true),
        ] {
            assert_eq!(looks_cut(&"x".repeat(width)), is, "{width}");
            let text = format!("unit: {}", "P".repeat(width - 6));
            let (code, headline, start, end) = said(&text, 6, Code::ValueInvalid);
            assert_eq!(code == Code::LineCut, is, "{width}");
            assert_eq!(
                headline.contains(&format!("looks cut at {width} columns")),
                is
            );
            assert_eq!((start as usize, end as usize), (6, width));
        }
        // A word before the last is whole, however wide the line.
        let text = format!("unit: P {}", "P".repeat(16));
        assert_eq!(said(&text, 6, Code::ValueInvalid).0, Code::ValueInvalid);
        // At its end the space at which it was cut may have been trimmed.
        for (width, is) in [(22, false), (23, true), (24, true), (25, false)] {
            let text = "x".repeat(width);
            let (code, headline, start, end) = said(&text, width, Code::ValueInvalid);
            assert_eq!(code == Code::LineCut, is, "{width}");
            assert_eq!(headline.contains("looks cut at 24 columns"), is);
            assert_eq!((start as usize, end as usize), (width, width));
        }
    }

    #[test]
    fn nom_s_own_errors_are_faults_too() {
        let at = &b"x"[..];
        let own = Fault::from_error_kind(at, ErrorKind::Alt);
        assert_eq!(own.code, Code::ValueInvalid);
        assert_eq!(Fault::append(b"y", ErrorKind::Alt, own), own);
        assert_eq!(fault_of(nom::Err::Failure(own)), own);
        let more = fault_of(nom::Err::Incomplete(nom::Needed::Unknown));
        assert_eq!(more.wanted, "more text");
        let failed: Parsed<'_, ()> = fail(at, Code::KeyUnknown, "a key");
        assert_eq!(fault_of(failed.unwrap_err()).code, Code::KeyUnknown);
    }
}
