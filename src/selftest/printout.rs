//! One printout from its text to its record: nothing is lost, and a changed digit is noticed.

use super::case::Cases;
use super::reference::References;
use crate::judge::rulebook::Known;
use crate::parse::{Records, Strictness, read_bytes};
use crate::record::consumable::{ConsumableUse, UseCount};
use crate::record::cycle::{Bound, Checksum, Cycle, Limit, LimitValue, Measured, Reading};

/// The CRC-32 of the printout's lines by Python's zlib.
const CRC_32: &str = "CE068CEF";

/// Runs the cases.
pub fn run(references: &References, cases: &mut Cases) {
    let text = with_checksum(references.text("decisions/bases/plasma_printout.txt"));
    let answers = references.rows("printout_answers.csv");
    let source = "written out by hand from the printout";
    let name = "every value of a printout is read";
    cases.add(name, source, Known::Calculated, |case| {
        let records = read(&text);
        let [cycle] = records.cycles.as_slice() else {
            return None;
        };
        let mut found = facts(cycle).into_iter();
        for row in answers.iter() {
            let expected = (row.text("what")?.to_owned(), row.text("value")?.to_owned());
            case.same("value", found.next(), Some(expected));
        }
        case.same("anything besides", found.next(), None);
        case.same("inferred", cycle.inferences.len(), 0);
        Some(())
    });
    let source = "count of the lines";
    let name = "every line of a printout is in its record";
    cases.add(name, source, Known::Calculated, |case| {
        let records = read(&text);
        let [cycle] = records.cycles.as_slice() else {
            return None;
        };
        let runs = cycle.lines.runs().iter();
        let lines: Vec<(u32, u32)> = runs.map(|run| (run.first, run.last)).collect();
        let n_lines = u32::try_from(text.lines().count()).ok()?;
        case.same("lines", lines, vec![(1, n_lines)]);
        case.same("unread", records.unread.len(), 0);
        case.same("complaints", records.diagnostics.len(), 0);
        case.holds("closed", cycle.closed);
        Some(())
    });
    let source = "CRC-32 of the lines by Python's zlib; a CRC notices any one changed byte";
    let name = "checksum of a printout agrees, and any changed digit is noticed";
    cases.add(name, source, Known::Calculated, |case| {
        case.same("as printed", checksum(&text), Some("agrees"));
        let covered = text.find("checksum:")?;
        for (at, byte) in text.bytes().enumerate().take(covered) {
            if !byte.is_ascii_digit() {
                continue;
            }
            let other = if byte == b'9' {
                b'0'
            } else {
                byte.saturating_add(1)
            };
            let mut changed = text.clone().into_bytes();
            *changed.get_mut(at)? = other;
            let changed = String::from_utf8(changed).ok()?;
            // The first digit is that of the format's version, without which nothing is taken for a printout.
            let is_noticed = checksum(&changed) == Some("differs")
                || read(&changed).cycles.is_empty() && !read(&changed).unread.is_empty();
            case.holds(format!("byte {at} changed: noticed"), is_noticed);
        }
        Some(())
    });
}

/// The printout with its checksum, which stands last but `end`.
fn with_checksum(text: &str) -> String {
    match text.strip_suffix("end\n") {
        Some(lines) => format!("{lines}checksum: {CRC_32}\nend\n"),
        None => String::new(),
    }
}

fn read(text: &str) -> Records {
    read_bytes(text.as_bytes(), Strictness::Strict)
}

fn checksum(text: &str) -> Option<&'static str> {
    match read(text).cycles.first()?.checksum {
        Checksum::Absent => None,
        Checksum::Agrees { .. } => Some("agrees"),
        Checksum::Differs { .. } => Some("differs"),
    }
}

/// What a record says, one fact each, in the order of the printout.
fn facts(cycle: &Cycle) -> Vec<(String, String)> {
    let mut facts: Vec<(String, String)> = Vec::new();
    let mut say = |what: &str, value: Option<String>| {
        facts.extend(value.map(|value| (what.to_owned(), value)));
    };
    say(
        "unit",
        cycle.unit.as_ref().map(|unit| unit.value.to_string()),
    );
    say(
        "serial",
        cycle.serial.as_ref().map(|text| text.value.clone()),
    );
    say(
        "software",
        cycle.software.as_ref().map(|text| text.value.clone()),
    );
    say("place", cycle.place.as_ref().map(|text| text.value.clone()));
    say(
        "zone",
        cycle.zone.as_ref().map(|zone| zone.value.name().to_owned()),
    );
    say(
        "process",
        cycle
            .process
            .as_ref()
            .map(|one| one.value.word().to_owned()),
    );
    say(
        "program",
        cycle.program.as_ref().map(|one| one.value.to_string()),
    );
    say(
        "counter",
        cycle.counter.as_ref().map(|one| one.value.to_string()),
    );
    say("load", cycle.load.as_ref().map(|one| one.value.to_string()));
    say(
        "operator",
        cycle.operator.as_ref().map(|one| one.value.to_string()),
    );
    say(
        "started",
        cycle
            .started
            .as_ref()
            .map(|one| one.value.local.to_string()),
    );
    for used in &cycle.consumables {
        say("consumable", say_consumable(used));
    }
    for stage in &cycle.stages {
        say(
            "stage",
            Some(format!("{} at {} s", stage.name.word(), stage.began.0)),
        );
        for limit in &stage.limits {
            say("limit", Some(say_limit(limit)));
        }
        for reading in &stage.readings {
            say("reading", Some(say_reading(reading)));
        }
    }
    say(
        "ended",
        cycle
            .ended
            .as_ref()
            .map(|ended| format!("{} s", ended.value.0)),
    );
    say(
        "total",
        cycle.total.as_ref().and_then(|total| {
            let n = total.value.n_reading_lines?;
            Some(format!("{} s {n} lines with readings", total.value.seconds))
        }),
    );
    say(
        "outcome",
        cycle
            .outcome
            .as_ref()
            .map(|outcome| format!("{:?}", outcome.value)),
    );
    facts
}

fn say_consumable(used: &ConsumableUse) -> Option<String> {
    let lot = used.lot.value.lot.as_ref()?;
    let expiry = used.lot.value.expiry?;
    let UseCount { n, of } = used.use_count?;
    let kind = used.kind.word();
    Some(format!("{kind} lot {lot} expiry {expiry} use {n} of {of}"))
}

fn say_limit(limit: &Limit) -> String {
    let side = match limit.bound {
        Bound::Min => "at least",
        Bound::Max => "at most",
    };
    match limit.value {
        LimitValue::Measured(measured) => format!("{} {side}", say_measured(&measured)),
        LimitValue::Duration(duration) => format!("duration {} s {side}", duration.seconds()),
    }
}

fn say_reading(reading: &Reading) -> String {
    format!("{} s {}", reading.at.0, say_measured(&reading.measured))
}

fn say_measured(measured: &Measured) -> String {
    let number = measured.printed_number();
    format!(
        "{} {number} {}",
        measured.kind().word(),
        measured.printed_symbol()
    )
}
