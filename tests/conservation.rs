//! Conservation: every line of every input is in exactly one cycle, one entry, one run of unread lines, or idle, and no
//! bytes make the reader panic.
//!
//! The number of lines is counted here, from the bytes, by the rule that a line ends with LF and that bytes after the
//! last LF are a line too.

use crate::grammar::{LOG, PRINTOUT, WIDE_PRINTOUT};
use crate::grammar_text::Choices;
use crate::line_account::{count_lines, find_breach};
use loadbook::parse::{Strictness, read_bytes};
use proptest::prelude::*;
use std::path::Path;

fn breach_in(bytes: &[u8]) -> Option<String> {
    [Strictness::Infer, Strictness::Strict]
        .into_iter()
        .find_map(|strictness| {
            let records = read_bytes(bytes, strictness);
            find_breach(&records, &[count_lines(bytes)])
        })
}

/// The bytes of every damaged sample.
fn damaged_samples() -> Vec<Vec<u8>> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/damaged");
    let mut paths: Vec<_> = std::fs::read_dir(root)
        .unwrap()
        .flat_map(|folder| std::fs::read_dir(folder.unwrap().path()).unwrap())
        .map(|file| file.unwrap().path())
        .collect();
    paths.sort();
    paths
        .iter()
        .map(|path| std::fs::read(path).unwrap())
        .collect()
}

/// A change to a text: what kind, where, and how.
#[derive(Debug, Clone)]
struct Change {
    kind: u8,
    at: u32,
    with: u32,
}

fn changes() -> impl Strategy<Value = Vec<Change>> {
    let change = (0_u8..14, any::<u32>(), any::<u32>()).prop_map(|(kind, at, with)| Change {
        kind,
        at,
        with,
    });
    proptest::collection::vec(change, 0..12)
}

/// Carries out a change.
fn apply(bytes: &mut Vec<u8>, change: &Change, others: &[Vec<u8>]) {
    let mut lines: Vec<Vec<u8>> = bytes
        .split_inclusive(|byte| *byte == b'\n')
        .map(<[u8]>::to_vec)
        .collect();
    if lines.is_empty() {
        lines.push(b"\n".to_vec());
    }
    let at = change.at as usize % lines.len();
    let with = change.with as usize;
    let other_line = with % lines.len();
    let place = with % (lines[at].len() + 1);
    match change.kind {
        0 => {
            lines.remove(at);
        }
        1 => {
            let line = lines[at].clone();
            lines.insert(other_line, line);
        }
        2 => lines.swap(at, other_line),
        3 => lines[at].truncate(place),
        4 => {
            if let Some(byte) = lines[at].get_mut(with % 61) {
                *byte ^= 1 << (with % 8);
            }
        }
        5 => lines[at].insert(place, 0),
        6 => {
            let sequence: [&[u8]; 5] = [b"\x1b[1m", b"\x1bE", b"\x1b!\x08", b"\x1b", b"\x1b["];
            let line = &mut lines[at];
            let tail = line.split_off(place);
            line.extend_from_slice(sequence[with % 5]);
            line.extend(tail);
        }
        7 => lines.insert(
            at,
            std::iter::repeat_n(b'x', 70_000).chain([b'\n']).collect(),
        ),
        8 => lines.iter_mut().for_each(|line| {
            if line.ends_with(b"\n") && !line.ends_with(b"\r\n") {
                line.pop();
                line.extend_from_slice(b"\r\n");
            }
        }),
        9 => lines.insert(at, others[with % others.len()].clone()),
        10 => lines[at].insert(place, (with >> 8) as u8),
        11 => lines.insert(at, b"\x0c\n".to_vec()),
        12 => lines.truncate(at),
        _ => {
            let opening: [&[u8]; 4] = [
                b"loadbook printout 1\n",
                b"loadbook log 1\n",
                b"loadbook log 1,date,time,about,note\n",
                b"end\n",
            ];
            lines.insert(at, opening[with % 4].to_vec());
        }
    }
    *bytes = lines.concat();
}

#[test]
fn count_of_lines_follows_the_rule() {
    for (bytes, expected) in [
        (&b""[..], 0),
        (b"\n", 1),
        (b"a", 1),
        (b"a\n", 1),
        (b"a\r\n\nb", 3),
        (b"\xff\xfea\0\n\0b\0", 2),
        (b"\xfe\xff\0a\0\n", 1),
    ] {
        assert_eq!(count_lines(bytes), expected, "{bytes:?}");
    }
}

#[test]
fn breach_of_conservation_is_found() {
    let whole = read_bytes(
        b"loadbook printout 1\n\nunit: PL-1\nend\n",
        Strictness::Infer,
    );
    assert_eq!(find_breach(&whole, &[4]), None);
    assert!(find_breach(&whole, &[5]).is_some(), "a line in nothing");
    assert!(
        find_breach(&whole, &[3]).is_some(),
        "a line that is not there"
    );
    let mut twice = whole.clone();
    twice.idle.push(twice.cycles[0].lines.clone());
    assert!(find_breach(&twice, &[4]).is_some(), "lines in two things");
}

#[test]
fn every_damaged_sample_is_conserved() {
    for (n, bytes) in damaged_samples().iter().enumerate() {
        assert_eq!(breach_in(bytes), None, "sample {n}");
    }
}

#[test]
fn gigantic_line_is_one_unread_line_between_its_neighbours() {
    let mut bytes = b"loadbook printout 1\nunit: PL-1\n".to_vec();
    bytes.extend(std::iter::repeat_n(b'7', 40_000_000));
    bytes.extend(b"\ncounter: 1042\nend\n");
    let records = read_bytes(&bytes, Strictness::Infer);
    assert_eq!(find_breach(&records, &[5]), None);
    let [cycle] = records.cycles.as_slice() else {
        panic!("one cycle")
    };
    assert_eq!(cycle.counter.as_ref().unwrap().value, 1042);
    assert!(cycle.closed);
    let [unread] = records.unread.as_slice() else {
        panic!("one unread line")
    };
    assert_eq!(unread.diagnostic.code.id(), "line-too-long");
    assert_eq!((unread.lines.first(), unread.lines.last()), (3, 3));
    let shown = unread.diagnostic.headline.len() + unread.diagnostic.caption.len();
    assert!(shown < 2_000, "the line is not repeated whole");
}

proptest! {
    #![proptest_config(crate::proptest_settings(384))]

    #[test]
    fn every_line_of_a_mutated_sample_is_in_exactly_one_thing(pick: prop::sample::Index, changes in changes()) {
        let samples = damaged_samples();
        let mut bytes = samples[pick.index(samples.len())].clone();
        for change in &changes {
            apply(&mut bytes, change, &samples);
        }
        prop_assert_eq!(breach_in(&bytes), None);
    }

    #[test]
    fn every_line_of_a_mutated_text_of_the_grammar_is_in_exactly_one_thing(
        numbers in proptest::collection::vec(any::<u16>(), 0..800), changes in changes(),
    ) {
        let samples = damaged_samples();
        let mut choices = Choices::new(&numbers);
        let printout = PRINTOUT.generate("printout", &mut choices);
        let log = LOG.generate("log", &mut choices);
        let mut bytes = format!("{printout}{log}").into_bytes();
        for change in &changes {
            apply(&mut bytes, change, &samples);
        }
        prop_assert_eq!(breach_in(&bytes), None);
    }

    #[test]
    fn every_line_of_any_bytes_is_in_exactly_one_thing(bytes in proptest::collection::vec(any::<u8>(), 0..600)) {
        prop_assert_eq!(breach_in(&bytes), None);
        let mut opened = b"loadbook printout 1\n".to_vec();
        opened.extend(bytes);
        prop_assert_eq!(breach_in(&opened), None);
    }

    #[test]
    fn junk_line_leaves_the_records_around_it_unchanged(
        junk in "[!-~]{1,40} [ -~]{0,30}", between: bool, place in 0_usize..18,
    ) {
        // Only a line that is in no grammar is junk; what follows an opening line would be another record.
        let line = format!("{junk}\n");
        for rule in ["opening", "closing", "blank", "comment", "field", "stage", "reading", "event", "alarm"] {
            prop_assume!(!WIDE_PRINTOUT.recognizes(rule, &line));
        }
        prop_assume!(!junk.to_lowercase().contains("loadbook"));
        let healthy = HEALTHY.lines().map(|line| format!("{line}\n")).collect::<Vec<_>>();
        let n = healthy.len();
        let at = if between { n } else { place.min(n - 2) + 1 };
        let mut lines = healthy.clone();
        lines.insert(at, line);
        lines.extend(healthy);
        let records = read_bytes(lines.concat().as_bytes(), Strictness::Infer);
        let alone = read_bytes(HEALTHY.as_bytes(), Strictness::Infer);
        prop_assert_eq!(records.cycles.len(), 2);
        for cycle in &records.cycles {
            prop_assert_eq!(without_places(cycle), without_places(&alone.cycles[0]));
        }
        // A comma for a point may be read and said; all else is unread, with the line's number.
        let number = u32::try_from(at).unwrap() + 1;
        let is_said = records.unread.iter().any(|unread| unread.lines.first() == number);
        prop_assert!(is_said, "{:?} at {}: {:?}", junk, number, records.unread);
    }
}

/// A printout with nothing wrong, but for its load number, which both copies share.
const HEALTHY: &str = "\
loadbook printout 1
unit: PL-1
process: plasma
counter: 1042
load: P1-0312-01
started: 2026-03-12 07:41:20
stage: evacuate, at 07:41:30, limit pressure 53 Pa max
07:42:30 pressure 8124.0 Pa, temperature 45.1 C
07:47:30 pressure 51.2 Pa, temperature 45.4 C
stage: inject, at 07:50:10
07:51:10 pressure 812.0 Pa, temperature 46.0 C
alarm: 07:53:02, moisture, set pressure not reached
stage: vent, at 08:12:10
ended: 08:22:05
total: 00:40:45, readings 3
outcome: aborted, stage inject, cause moisture
end
";

/// A record as JSON without its places and the count of unread lines, for two readings at different lines to be compared.
pub fn without_places(record: &impl serde::Serialize) -> serde_json::Value {
    fn strip(value: &mut serde_json::Value) {
        match value {
            serde_json::Value::Object(map) => {
                for key in ["span", "lines", "line", "opening", "n_unread_lines"] {
                    map.remove(key);
                }
                map.values_mut().for_each(strip);
            }
            serde_json::Value::Array(items) => items.iter_mut().for_each(strip),
            _ => {}
        }
    }
    let mut value = serde_json::to_value(record).unwrap();
    strip(&mut value);
    value
}
