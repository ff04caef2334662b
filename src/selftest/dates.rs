//! Dates and times: the examples of RFC 3339, and local times around the changes of clocks in four zones.

use super::case::{Case, Cases};
use super::reference::{References, Row};
use crate::judge::rulebook::Known;
use crate::parse::token::date_time;
use crate::reconcile::history::Moment;
use crate::reconcile::moments::{Meaning, read_stamp};
use crate::record::stamp::Stamp;
use chrono::TimeDelta;
use chrono_tz::Tz;

/// Runs the cases.
pub fn run(references: &References, cases: &mut Cases) {
    let examples = references.rows("rfc3339_examples.csv");
    for row in examples.iter() {
        let text = row.text("text").unwrap_or("?");
        let source = "RFC 3339, 2002, section 5.8 (texts seen in tests of public libraries)";
        cases.add(text, source, Known::Seen, |case| {
            let stamp = stamp(text)?;
            let found = stamp.instant()?.to_utc().naive_utc().to_string();
            // A leap second is kept as the second before it; fractions are left out.
            let expected = row.text("utc")?.replace('T', " ").replace('Z', "");
            let expected = match row.text("leap_second")? {
                "yes" => expected.replace(":60", ":59"),
                _ => expected,
            };
            case.same("in UTC", found, expected);
            Some(())
        });
    }
    let table = references.rows("zoneinfo_table.csv");
    let rows: Vec<Row<'_>> = table.iter().collect();
    let mut zones: Vec<&str> = rows.iter().filter_map(|row| row.text("zone")).collect();
    zones.dedup();
    if zones.is_empty() {
        cases.add("zones", "zoneinfo", Known::Calculated, |_| None);
    }
    for zone in zones {
        let source = "Python 3.11.7 zoneinfo, IANA time zone database 2025b";
        let name = format!("local times around clock changes: {zone}");
        cases.add(name, source, Known::Calculated, |case| {
            let of_zone: Vec<&Row<'_>> = rows
                .iter()
                .filter(|row| row.text("zone") == Some(zone))
                .collect();
            let zone = case.answer("zone", zone.parse())?;
            for pair in of_zone.chunks(2) {
                let [before, after] = pair else {
                    return None;
                };
                check_pair(case, zone, before, after)?;
            }
            Some(())
        });
    }
}

/// A local time with both folds of PEP 495: the same offset twice, or a time that was skipped, or one that came twice.
fn check_pair(case: &mut Case, zone: Tz, before: &Row<'_>, after: &Row<'_>) -> Option<()> {
    let text = before.text("local")?;
    if after.text("local")? != text {
        return None;
    }
    let written = stamp(text)?;
    let at = |row: &Row<'_>| {
        let offset = row.text("offset_seconds")?.parse().ok()?;
        let utc = written
            .local
            .checked_sub_signed(TimeDelta::try_seconds(offset)?)?;
        Some(Moment {
            local: written.local,
            utc: Some(utc.and_utc()),
        })
    };
    let (first, second) = (at(before)?, at(after)?);
    let expected = if before.text("exists")? == "0" {
        Meaning::Skipped(first)
    } else if first != second {
        Meaning::Doubled { first, second }
    } else {
        Meaning::Plain(first)
    };
    case.same(text, read_stamp(&written, Some(zone)), expected);
    Some(())
}

/// A date and time as the parser reads it.
fn stamp(text: &str) -> Option<Stamp> {
    match date_time(text.as_bytes()) {
        Ok((b"", stamp)) => Some(stamp),
        _ => None,
    }
}
