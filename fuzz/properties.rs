//! What must hold of any bytes. The fuzz targets and the replay of their corpora (tests/fuzz_corpus.rs) both take this file
//! by its path, so that what is fuzzed is what is replayed. Every function panics where its property is broken.

use crate::line_account::{count_lines, find_breach};
use loadbook::judge::policy::read::read_policy;
use loadbook::parse::gs1::{find_check_digit, read_element_string};
use loadbook::parse::layout::compile::compile;
use loadbook::parse::layout::language::LayoutText;
use loadbook::parse::layout::shipped::{shipped, shipped_text};
use loadbook::parse::log::write::{write_entries, write_entries_csv};
use loadbook::parse::printout::write::{PrintoutOptions, write_cycle};
use loadbook::parse::{LayoutChoice, Records, Strictness, read_bytes, read_bytes_by};
use loadbook::record::cycle::Cycle;
use loadbook::record::entry::Entry;
use std::sync::Arc;

/// What must hold of bytes; it panics where it doesn't.
type Property = fn(&[u8]);

/// A target's property, by the target's name.
pub const TARGETS: &[(&str, Property)] = &[
    (
        "neutral_printout",
        printout_keeps_its_lines_and_is_read_back,
    ),
    ("indicator_log", log_keeps_its_lines_and_is_read_back),
    (
        "indicator_csv",
        spreadsheet_keeps_its_lines_and_is_read_back,
    ),
    ("gs1", element_string_says_what_it_holds),
    ("layout", layout_is_refused_or_keeps_every_line),
    (
        "policy",
        policy_is_refused_at_a_place_or_read_the_same_twice,
    ),
];

/// Bytes as records, lenient and strict, each line in exactly one thing.
fn read_conserved(bytes: &[u8], choice: &LayoutChoice) -> Records {
    let n_lines = [count_lines(bytes)];
    let strict = read_bytes_by(bytes, Strictness::Strict, choice);
    assert_eq!(find_breach(&strict, &n_lines), None, "strict");
    let records = read_bytes_by(bytes, Strictness::Infer, choice);
    assert_eq!(find_breach(&records, &n_lines), None);
    records
}

/// A record as JSON without its places and without how it came to be read: with what doubt, with which checksum.
fn said(record: &impl serde::Serialize) -> serde_json::Value {
    fn strip(value: &mut serde_json::Value) {
        match value {
            serde_json::Value::Object(map) => {
                for key in [
                    "span",
                    "lines",
                    "line",
                    "opening",
                    "inferences",
                    "checksum",
                    "n_unread_lines",
                ] {
                    map.remove(key);
                }
                map.values_mut().for_each(strip);
            }
            serde_json::Value::Array(items) => items.iter_mut().for_each(strip),
            _ => {}
        }
    }
    let mut value = serde_json::to_value(record).expect("a record is JSON");
    strip(&mut value);
    value
}

fn printed(cycle: &Cycle) -> Vec<u8> {
    let mut bytes = Vec::new();
    write_cycle(cycle, PrintoutOptions::FAITHFUL, &mut bytes).expect("memory takes everything");
    bytes
}

/// What is written of a cycle is read as the same cycle. Without a start there are no dates to tell times by, so that is
/// not promised (`write_cycle`).
fn assert_read_back(cycle: &Cycle) {
    let text = printed(cycle);
    let shown = String::from_utf8_lossy(&text);
    let again = read_bytes(&text, Strictness::Infer);
    assert_eq!(again.cycles.len(), 1, "{shown}");
    if cycle.started.is_some() {
        assert_eq!(again.unread, vec![], "{shown}");
        assert_eq!(said(&again.cycles[0]), said(cycle), "{shown}");
        let second = printed(&again.cycles[0]);
        assert_eq!(String::from_utf8_lossy(&second), shown);
    }
}

/// Neutral printouts, and whatever else bytes hold.
pub fn printout_keeps_its_lines_and_is_read_back(bytes: &[u8]) {
    let records = read_conserved(bytes, &LayoutChoice::Neutral);
    records.cycles.iter().for_each(assert_read_back);
}

/// Entries without what a copy may say otherwise: the place of a heading reaches every entry below it.
fn assert_entries_read_back(entries: &[Entry], text: &[u8]) {
    let shown = String::from_utf8_lossy(text);
    let again = read_bytes(text, Strictness::Infer);
    assert_eq!(again.unread, vec![], "{shown}");
    let (said_first, said_again): (Vec<_>, Vec<_>) = (
        entries.iter().map(said).collect(),
        again.entries.iter().map(said).collect(),
    );
    assert_eq!(said_again, said_first, "{shown}");
}

/// Indicator logs as text.
pub fn log_keeps_its_lines_and_is_read_back(bytes: &[u8]) {
    let records = read_conserved(bytes, &LayoutChoice::Neutral);
    let mut text = Vec::new();
    write_entries(&records.entries, &mut text).expect("memory takes everything");
    if !records.entries.is_empty() {
        assert_entries_read_back(&records.entries, &text);
    }
}

/// Indicator logs as spreadsheets.
pub fn spreadsheet_keeps_its_lines_and_is_read_back(bytes: &[u8]) {
    let records = read_conserved(bytes, &LayoutChoice::Neutral);
    let mut text = Vec::new();
    write_entries_csv(&records.entries, &mut text).expect("memory takes everything");
    if !records.entries.is_empty() {
        assert_entries_read_back(&records.entries, &text);
    }
}

/// GS1 element strings: what is read stands in the string, its check digit is right, and it is read from a string made of
/// it (GS1 General Specifications, 7.8: the separator after an element of variable length).
pub fn element_string_says_what_it_holds(bytes: &[u8]) {
    let Ok(read) = read_element_string(bytes, 2026) else {
        return;
    };
    let text = String::from_utf8_lossy(bytes).into_owned();
    let mut again = String::new();
    if let Some(gtin) = &read.gtin {
        assert!(text.contains(gtin.as_str()));
        let (digits, check) = gtin.split_at(13);
        let found = find_check_digit(digits.as_bytes()).expect("thirteen digits have one");
        assert_eq!(found, check.as_bytes()[0] - b'0');
        again.push_str(&format!("01{gtin}"));
    }
    if let Some(expiry) = read.expiry {
        use chrono::Datelike;
        // Section 7.12: the year is at most fifty years ahead and less than fifty back.
        assert!((1977..=2076).contains(&expiry.year()), "{expiry}");
        again.push_str(&format!("17{}", expiry.format("%y%m%d")));
    }
    if let Some(lot) = &read.lot {
        assert!(text.contains(lot.as_str()) && (1..=20).contains(&lot.len()));
        again.push_str(&format!("10{lot}\u{1d}"));
    }
    if let Some(serial) = &read.serial {
        assert!(text.contains(serial.as_str()) && (1..=20).contains(&serial.len()));
        again.push_str(&format!("21{serial}"));
    }
    if !again.is_empty() {
        assert_eq!(
            read_element_string(again.as_bytes(), 2026),
            Ok(read),
            "{again:?}"
        );
    }
}

/// What parts a layout from the strip that it is tried on.
const PART: &[u8] = b"\n===\n";

/// A layout, and a strip after a line `===`. The layout has faults that are told at a place in it, or reads the strip with
/// every line in one thing; so do the layouts that come with loadbook.
pub fn layout_is_refused_or_keeps_every_line(bytes: &[u8]) {
    let at = bytes.windows(PART.len()).position(|window| window == PART);
    let (layout, strip) = match at {
        Some(at) => (&bytes[..at], &bytes[at + PART.len()..]),
        None => (bytes, bytes),
    };
    read_conserved(strip, &LayoutChoice::ByContent(shipped().to_vec()));
    let text = LayoutText {
        name: "fuzzed".to_owned(),
        text: String::from_utf8_lossy(layout).into_owned(),
    };
    match compile(text, &shipped_text) {
        Err((_, said)) => assert!(!said.is_empty(), "a refusal says why"),
        Ok(layout) => {
            let records = read_conserved(strip, &LayoutChoice::Forced(Arc::new(layout)));
            records.cycles.iter().for_each(assert_read_back);
        }
    }
}

/// Policies: an error points at a place in the text; what is read is read the same twice.
pub fn policy_is_refused_at_a_place_or_read_the_same_twice(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let n_lines = text.lines().count().max(1);
    match read_policy("fuzzed.toml", &text) {
        Err(errors) => {
            assert!(!errors.is_empty());
            for error in errors {
                assert!(
                    (1..=n_lines + 1).contains(&error.line),
                    "line {} of {n_lines}",
                    error.line
                );
                assert!(error.column >= 1 && !error.message.is_empty() && !error.help.is_empty());
            }
        }
        Ok(policy) => assert_eq!(read_policy("fuzzed.toml", &text).as_ref(), Ok(&policy)),
    }
}
