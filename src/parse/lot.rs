//! A consumable's lot, as typed (`lot`, `expiry`) or scanned (`scan`), joined into one identity.

use super::fault::{Fault, diagnose_fault, fault, fault_of};
use super::gs1::read_element_string;
use super::text::{is_name, owned};
use super::token::{blanks, date, gap, keyword, token};
use crate::diagnose::codes::Code;
use crate::diagnose::{Diagnostic, Span};
use crate::record::consumable::LotIdentity;
use crate::record::name::LotNumber;
use crate::source::lines::Line;
use chrono::NaiveDate;
use nom::Parser;
use nom::sequence::preceded;

/// The year that the two digits of a scanned expiry are read near to when the record has no date of its own.
const YEAR_WITHOUT_DATE: i32 = 2025;

/// The parts of a lot's identity as they are found.
#[derive(Debug, Default)]
pub struct LotParts {
    lot: Option<LotNumber>,
    expiry: Option<(NaiveDate, Span)>,
    scan: Option<(Vec<u8>, Span)>,
}

impl LotParts {
    /// Takes `lot …`, `expiry …` or `scan "…"` off the front of a line's rest, and gives back what is left.
    ///
    /// # Errors
    /// What is wrong with the part, at its place.
    pub fn take_part<'a>(
        &mut self,
        line: &Line<'a>,
        part: &'a [u8],
    ) -> Result<&'a [u8], Diagnostic> {
        let put = |error: nom::Err<Fault<'a>>| diagnose_fault(line, fault_of(error));
        let value_of = |word: &'static str| {
            preceded(keyword(word), gap)
                .parse(part)
                .map(|(rest, ())| rest)
        };
        if let Ok(value) = value_of("lot") {
            let (rest, lot) = token("a lot")(value).map_err(put)?;
            self.set_lot(lot, line.span_of(lot))?;
            Ok(rest)
        } else if let Ok(value) = value_of("expiry") {
            let (rest, expiry) = date(value).map_err(put)?;
            self.set_expiry(expiry, line.span_of(value))?;
            Ok(rest)
        } else if let Ok(value) = value_of("scan") {
            let quoted = value.strip_prefix(b"\"").and_then(|inner| {
                let end = memchr::memchr(b'"', inner)?;
                Some((inner.get(..end)?, inner.get(end.saturating_add(1)..)?))
            });
            let Some((scan, rest)) = quoted else {
                return Err(put(fault(
                    value,
                    Code::ValueInvalid,
                    "a scan in quotation marks",
                )));
            };
            self.set_scan(scan, line.span_of(scan))?;
            Ok(rest)
        } else {
            let wanted = "`lot`, `expiry`, `scan` or `use`";
            Err(put(fault(blanks(part), Code::KeyUnknown, wanted)))
        }
    }

    /// Sets the typed lot.
    ///
    /// # Errors
    /// The lot is not a name, or another one was set.
    pub fn set_lot(&mut self, lot: &[u8], span: Span) -> Result<(), Diagnostic> {
        if !is_name(lot) {
            return Err(Diagnostic::at(
                Code::ValueInvalid,
                span,
                "a lot has at most forty characters and no spaces",
            ));
        }
        let lot = LotNumber(owned(lot));
        match &self.lot {
            Some(known) if *known != lot => Err(repeated(span)),
            _ => {
                self.lot = Some(lot);
                Ok(())
            }
        }
    }

    /// Sets the typed expiry.
    ///
    /// # Errors
    /// Another one was set.
    pub fn set_expiry(&mut self, expiry: NaiveDate, span: Span) -> Result<(), Diagnostic> {
        match self.expiry {
            Some((known, _)) if known != expiry => Err(repeated(span)),
            _ => {
                self.expiry = Some((expiry, span));
                Ok(())
            }
        }
    }

    /// Sets the scan, without its quotation marks.
    ///
    /// # Errors
    /// Another one was set.
    pub fn set_scan(&mut self, scan: &[u8], span: Span) -> Result<(), Diagnostic> {
        match &self.scan {
            Some((known, _)) if known != scan => Err(repeated(span)),
            _ => {
                self.scan = Some((scan.to_vec(), span));
                Ok(())
            }
        }
    }

    /// Whether nothing was set.
    pub fn is_empty(&self) -> bool {
        self.lot.is_none() && self.expiry.is_none() && self.scan.is_none()
    }

    /// Joins what was typed with what was scanned. `year` is the record's own, for the century of a scanned expiry.
    ///
    /// # Errors
    /// The scan is not a GS1 element string, it contradicts what was typed, or it tells nothing of what was used.
    pub fn join(self, year: Option<i32>) -> Result<LotIdentity, Diagnostic> {
        let typed_expiry = self.expiry.map(|(expiry, _)| expiry);
        let Some((scan, span)) = self.scan else {
            return Ok(LotIdentity {
                gtin: None,
                lot: self.lot,
                expiry: typed_expiry,
                serial: None,
            });
        };
        let scanned =
            read_element_string(&scan, year.unwrap_or(YEAR_WITHOUT_DATE)).map_err(|error| {
                let offset = u32::try_from(error.offset).unwrap_or(0);
                let start = span.start.saturating_add(offset).min(span.end);
                Diagnostic::at(
                    error.code(),
                    Span { start, ..span },
                    format!("the scan is not a GS1 element string: {error}"),
                )
            })?;
        let mut identity = LotIdentity::from(scanned);
        if self.lot.is_some() && identity.lot.is_some() && self.lot != identity.lot
            || typed_expiry.is_some()
                && identity.expiry.is_some()
                && typed_expiry != identity.expiry
        {
            return Err(Diagnostic::at(
                Code::FieldRepeated,
                span,
                "the scan and the typed lot or expiry differ",
            ));
        }
        identity.lot = identity.lot.or(self.lot);
        identity.expiry = identity.expiry.or(typed_expiry);
        if matches!(
            identity,
            LotIdentity {
                gtin: None,
                lot: None,
                expiry: None,
                serial: None
            }
        ) {
            // Such as one with a company's internal numbers alone.
            return Err(Diagnostic::at(
                Code::ScanInvalid,
                span,
                "the scan holds no product number, lot, expiry or serial number",
            ));
        }
        Ok(identity)
    }
}

fn repeated(span: Span) -> Diagnostic {
    Diagnostic::at(
        Code::FieldRepeated,
        span,
        "this was said before with another value",
    )
    .caption("differs")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnose::FileId;

    fn join(scan: &str, lot: Option<&str>) -> Result<LotIdentity, Code> {
        let span = Span {
            file: FileId(0),
            line: 1,
            line_start: 0,
            start: 0,
            end: 60,
        };
        let mut parts = LotParts::default();
        parts.set_scan(scan.as_bytes(), span).unwrap();
        if let Some(lot) = lot {
            parts.set_lot(lot.as_bytes(), span).unwrap();
        }
        parts.join(Some(2026)).map_err(|said| said.code)
    }

    /// GS1 General Specifications, 3.1: AI 91 to 99 hold a company's internal information, which names no item.
    #[test]
    fn a_scan_of_internal_numbers_alone_is_no_lot() {
        let internal = "910950600013435";
        assert_eq!(join(internal, None), Err(Code::ScanInvalid));
        let typed = join(internal, Some("LOT42A")).unwrap();
        assert_eq!(typed.lot, Some(LotNumber("LOT42A".to_owned())));
        assert_eq!((typed.gtin, typed.serial, typed.expiry), (None, None, None));
    }

    fn span() -> Span {
        Span {
            file: FileId(0),
            line: 3,
            line_start: 100,
            start: 10,
            end: 60,
        }
    }

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn parts_are_empty_until_one_is_set() {
        assert!(LotParts::default().is_empty());
        let mut parts = LotParts::default();
        parts.set_lot(b"B771", span()).unwrap();
        assert!(!parts.is_empty());
        let mut parts = LotParts::default();
        parts.set_expiry(day("2026-12-31"), span()).unwrap();
        assert!(!parts.is_empty());
        let mut parts = LotParts::default();
        parts.set_scan(b"10B771", span()).unwrap();
        assert!(!parts.is_empty());
    }

    #[test]
    fn part_may_be_said_again_and_not_otherwise() {
        let mut parts = LotParts::default();
        for (lot, code) in [
            ("B771", None),
            ("B771", None),
            ("B772", Some(Code::FieldRepeated)),
            ("B 1", Some(Code::ValueInvalid)),
        ] {
            let said = parts.set_lot(lot.as_bytes(), span());
            assert_eq!(said.err().map(|said| said.code), code, "{lot}");
        }
        for (expiry, code) in [
            ("2026-12-31", None),
            ("2026-12-31", None),
            ("2027-12-31", Some(Code::FieldRepeated)),
        ] {
            let said = parts.set_expiry(day(expiry), span());
            assert_eq!(said.err().map(|said| said.code), code, "{expiry}");
        }
        for (scan, code) in [
            ("10B771", None),
            ("10B771", None),
            ("10B772", Some(Code::FieldRepeated)),
        ] {
            let said = parts.set_scan(scan.as_bytes(), span());
            assert_eq!(said.err().map(|said| said.code), code, "{scan}");
        }
        let joined = parts.join(Some(2026)).unwrap();
        assert_eq!(joined.lot, Some(LotNumber("B771".to_owned())));
        assert_eq!(joined.expiry, Some(day("2026-12-31")));
    }

    /// GS1 General Specifications, 3.1: AI 10 is a batch or lot, AI 17 an expiry date as YYMMDD, AI 21 a serial number.
    #[test]
    fn what_was_typed_and_what_was_scanned_must_agree() {
        for (scan, lot, expiry, expected) in [
            ("10B771", None, None, Ok((Some("B771"), None))),
            ("10B771", Some("B771"), None, Ok((Some("B771"), None))),
            ("10B771", Some("B772"), None, Err(Code::FieldRepeated)),
            (
                "17261231",
                Some("B772"),
                None,
                Ok((Some("B772"), Some("2026-12-31"))),
            ),
            (
                "17261231",
                None,
                Some("2026-12-31"),
                Ok((None, Some("2026-12-31"))),
            ),
            (
                "17261231",
                None,
                Some("2026-12-30"),
                Err(Code::FieldRepeated),
            ),
            (
                "10B771",
                None,
                Some("2026-12-30"),
                Ok((Some("B771"), Some("2026-12-30"))),
            ),
            (
                "1726123110B771",
                Some("B771"),
                Some("2026-12-31"),
                Ok((Some("B771"), Some("2026-12-31"))),
            ),
            (
                "1726123110B771",
                Some("B770"),
                Some("2026-12-31"),
                Err(Code::FieldRepeated),
            ),
            (
                "1726123110B771",
                Some("B771"),
                Some("2026-12-30"),
                Err(Code::FieldRepeated),
            ),
        ] {
            let mut parts = LotParts::default();
            parts.set_scan(scan.as_bytes(), span()).unwrap();
            if let Some(lot) = lot {
                parts.set_lot(lot.as_bytes(), span()).unwrap();
            }
            if let Some(expiry) = expiry {
                parts.set_expiry(day(expiry), span()).unwrap();
            }
            let joined = parts.join(Some(2026)).map_err(|said| said.code);
            let expected = expected.map(|(lot, expiry): (Option<&str>, Option<&str>)| {
                (lot.map(|lot| LotNumber(lot.to_owned())), expiry.map(day))
            });
            assert_eq!(
                joined.map(|lot| (lot.lot, lot.expiry)),
                expected,
                "{scan} {lot:?} {expiry:?}"
            );
        }
        // One of a serial number alone says what was used.
        let mut parts = LotParts::default();
        parts.set_scan(b"21S1", span()).unwrap();
        assert!(parts.join(None).unwrap().serial.is_some());
    }

    #[test]
    fn fault_in_a_scan_is_shown_at_its_place() {
        let mut parts = LotParts::default();
        // AI 17 needs six figures; the fault lies within the scan, which begins at the tenth byte of its line.
        parts.set_scan(b"10B771\x1D17991399", span()).unwrap();
        let said = parts.join(Some(2026)).unwrap_err();
        assert!(
            said.headline
                .starts_with("the scan is not a GS1 element string: ")
        );
        let at = said.primary.unwrap();
        assert!((10 + 7..60).contains(&at.start), "{at:?}");
        assert_eq!(at.end, 60);
    }
}
