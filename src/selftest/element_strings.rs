//! GS1: check digits and element strings.

use super::case::Cases;
use super::reference::References;
use crate::diagnose::codes::Code;
use crate::judge::rulebook::Known;
use crate::parse::gs1::{ElementString, find_check_digit, find_full_year, read_element_string};
use chrono::NaiveDate;

/// Runs the cases.
pub fn run(_: &References, cases: &mut Cases) {
    check_digits(cases);
    let source = "GS1 General Specifications, section 3: identifiers and their lengths (seen); FNC1 as ASCII 29 (seen)";
    let name = "GTIN, expiry, lot and serial of one string, however it was scanned";
    cases.add(name, source, Known::Calculated, |case| {
        let expected = ElementString {
            gtin: Some("09506000134352".to_owned()),
            lot: Some("LOT42A".to_owned()),
            expiry: NaiveDate::from_ymd_opt(2026, 11, 30),
            serial: Some("SN0007".to_owned()),
        };
        for text in [
            "01095060001343521726113010LOT42A\x1d21SN0007",
            "01095060001343521726113010LOT42A<GS>21SN0007",
            "]C101095060001343521726113010LOT42A\x1d21SN0007",
            "]d201095060001343521726113010LOT42A\x1d21SN0007",
            "]Q301095060001343521726113010LOT42A\x1d21SN0007",
            "10LOT42A\x1d21SN0007\x1d010950600013435217261130",
        ] {
            let found = read_element_string(text.as_bytes(), 2026);
            case.same(format!("{text:?}"), found.as_ref(), Ok(&expected));
        }
        Some(())
    });
    dates(cases);
}

fn check_digits(cases: &mut Cases) {
    let rule = "weights 3 and 1, modulo 10 (GS1 General Specifications, 7.9)";
    let lint = "gs1/gs1-syntax-dictionary, src/lint_csum.c, GS1's own test values (seen)";
    for (name, source, known, examples) in [
        (
            "check digits worked by the rule",
            rule,
            Known::Calculated,
            &[
                ("0950600013435", 2),
                ("629104150021", 3),
                ("0061414112345", 2),
                ("37610425002123456", 9),
            ][..],
        ),
        (
            "check digit of a published example",
            "an example published with the rule (seen)",
            Known::Seen,
            &[("03600024145", 7)],
        ),
        (
            "check digits of GS1's own test values",
            lint,
            Known::Seen,
            &[
                ("0234567", 3),
                ("41600033610", 8),
                ("123456789012", 8),
                ("1234567890123", 1),
                ("12345678901234567", 5),
            ],
        ),
    ] {
        cases.add(name, source, known, |case| {
            for (digits, expected) in examples {
                let found = find_check_digit(digits.as_bytes());
                case.same(*digits, found, Some(*expected));
            }
            Some(())
        });
    }
    let name = "wrong check digit is refused, and what are no digits";
    cases.add(name, lint, Known::Seen, |case| {
        let refused = |text: &str| match read_element_string(text.as_bytes(), 2026) {
            Ok(_) => None,
            Err(error) => Some(error.code()),
        };
        let wrong = Some(Code::CheckDigitWrong);
        case.same("12345678901232", refused("0112345678901232"), wrong);
        case.same("12345678901231", refused("0112345678901231"), None);
        let found = find_check_digit(b" 2345678901234567");
        case.same(" 2345678901234567", found, None);
        Some(())
    });
}

fn dates(cases: &mut Cases) {
    let expiry = |text: &str| read_element_string(text.as_bytes(), 2026).ok()?.expiry;
    let source = "GS1 General Specifications, 3.4, examples (seen)";
    let name = "day 00 is the last of its month";
    cases.add(name, source, Known::Seen, |case| {
        for (text, year, month, day) in [("17130200", 2013, 2, 28), ("17160200", 2016, 2, 29)] {
            let expected = NaiveDate::from_ymd_opt(year, month, day);
            case.same(text, expiry(text), expected);
        }
        Some(())
    });
    let source = "GS1 General Specifications, 3.4, the calendar";
    let name = "day 00 in other years";
    cases.add(name, source, Known::Calculated, |case| {
        for (text, year, month, day) in [("17260200", 2026, 2, 28), ("17280200", 2028, 2, 29)] {
            let expected = NaiveDate::from_ymd_opt(year, month, day);
            case.same(text, expiry(text), expected);
        }
        Some(())
    });
    let source = "GS1 General Specifications, 7.12: from 49 years back to 50 ahead (window seen)";
    let name = "century of a year of two digits";
    cases.add(name, source, Known::Calculated, |case| {
        for (two_digits, reference, expected) in [
            (27, 2026, 2027),
            (76, 2026, 2076),
            (77, 2026, 1977),
            (0, 2026, 2000),
            (30, 2080, 2130),
            (31, 2080, 2031),
        ] {
            let found = find_full_year(two_digits, reference);
            let what = format!("{two_digits:02} in {reference}");
            case.same(what, found, Some(expected));
        }
        Some(())
    });
}
