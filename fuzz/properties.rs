//! What must hold of any bytes. The fuzz targets and the replay of their corpora (tests/fuzz_corpus.rs) both take this file
//! by its path, so that what is fuzzed is what is replayed. Every function panics where its property is broken.

use crate::line_account::{count_lines, find_breach};
use loadbook::archive::fingerprint::Fingerprint;
use loadbook::archive::manifest::{Chain, FoundSeal, Seal, check_chain, write_line};
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
    ("archive_manifest", manifest_is_whole_or_its_damage_is_named),
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

/// What parts a layout from the strip that it is tried on, and a manifest from its seal.
const PART: &[u8] = b"\n===\n";

/// The bytes before the line `===` and those after it, if there is one.
fn split_parts(bytes: &[u8]) -> (&[u8], Option<&[u8]>) {
    match bytes.windows(PART.len()).position(|window| window == PART) {
        Some(at) => (&bytes[..at], Some(&bytes[at + PART.len()..])),
        None => (bytes, None),
    }
}

/// A layout, and a strip after a line `===`. The layout has faults that are told at a place in it, or reads the strip with
/// every line in one thing; so do the layouts that come with loadbook.
pub fn layout_is_refused_or_keeps_every_line(bytes: &[u8]) {
    let (layout, strip) = split_parts(bytes);
    let strip = strip.unwrap_or(bytes);
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

/// What must hold of a manifest as it was found, whatever its bytes are.
fn assert_account(chain: &Chain, bytes: &[u8]) {
    assert_eq!(chain.n_bytes + chain.n_torn_bytes, bytes.len() as u64);
    assert_eq!(chain.fingerprints.len() as u64, chain.n_lines);
    assert!(chain.n_lines <= bytes.iter().filter(|&&byte| byte == b'\n').count() as u64);
    assert!(
        chain
            .events
            .iter()
            .zip(chain.events.iter().skip(1))
            .all(|((one, _), (next, _))| one < next)
    );
    let mut numbers = chain.events.iter().map(|(number, _)| *number);
    assert!(numbers.all(|number| (1..=chain.n_lines).contains(&number)));
    for damage in &chain.damages {
        assert!(!damage.to_string().is_empty(), "a damage says what it is");
    }
}

/// The SHA-256 in hexadecimal digits, by the library alone.
fn sha256(bytes: &[u8]) -> String {
    use sha2::Digest;
    let digest = sha2::Sha256::digest(bytes);
    digest.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Holds what was found whole against the chain once more, by the JSON and SHA-256 libraries alone: each line names its place
/// and the line before it, and the seal names the last that it covers.
fn assert_whole(bytes: &[u8], seal: &Seal) {
    let mut previous = "0".repeat(64);
    let n_lines = usize::try_from(seal.n_lines).expect("no more lines than bytes");
    let lines: Vec<&[u8]> = bytes.split(|&byte| byte == b'\n').take(n_lines).collect();
    assert_eq!(lines.len(), n_lines);
    for (place, line) in (1_u64..).zip(lines) {
        let said: serde_json::Value = serde_json::from_slice(line).expect("a whole line is JSON");
        assert_eq!(said["line"], place);
        assert_eq!(said["previous"], previous.as_str());
        previous = sha256(line);
    }
    assert_eq!(seal.last.to_string(), previous);
}

/// An archive's manifest, and its seal after a line `===`. Damage is named or there is none, which is checked by other means.
/// Events that are read are written as a manifest that is whole, and one changed byte of that is found.
pub fn manifest_is_whole_or_its_damage_is_named(bytes: &[u8]) {
    let (manifest, seal) = split_parts(bytes);
    let found = match seal.map(Seal::read) {
        None => FoundSeal::Missing,
        Some(None) => FoundSeal::Changed,
        Some(Some(seal)) => FoundSeal::Whole(seal),
    };
    let chain = check_chain(manifest, &found);
    assert_account(&chain, manifest);
    if let (FoundSeal::Whole(seal), true) = (&found, chain.damages.is_empty()) {
        assert_whole(manifest, seal);
    }

    let mut written = Vec::new();
    let mut last = Fingerprint::zero();
    let events: Vec<_> = chain.events.into_iter().map(|(_, event)| event).collect();
    for (number, event) in (1..).zip(&events) {
        let (line, fingerprint) =
            write_line(number, last, event.clone()).expect("JSON takes every event");
        written.extend(line.into_bytes());
        last = fingerprint;
    }
    let seal = Seal {
        n_lines: events.len() as u64,
        last,
    };
    assert_eq!(Seal::read(seal.write().as_bytes()).as_ref(), Some(&seal));
    assert_whole(&written, &seal);
    let found = FoundSeal::Whole(seal);
    let again = check_chain(&written, &found);
    assert_account(&again, &written);
    assert_eq!(again.damages, []);
    let read_again: Vec<_> = again.events.into_iter().map(|(_, event)| event).collect();
    assert_eq!(read_again, events);
    if !written.is_empty() {
        // Which byte, and what becomes of it, hangs on the input.
        let chosen = bytes.iter().fold(0_usize, |sum, &byte| {
            sum.wrapping_mul(31).wrapping_add(usize::from(byte))
        });
        let at = chosen % written.len();
        written[at] ^= 1 << (chosen / written.len() % 8);
        let changed = check_chain(&written, &found);
        assert_account(&changed, &written);
        assert!(!changed.damages.is_empty(), "byte {at} was changed");
    }
}
