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
}
