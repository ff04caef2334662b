//! What is said of lines that are read all the same, and of those that are not: each worked out by hand from the format
//! (grammars/cycle-printout.md).

use super::*;
use crate::parse::{Records, Strictness, read_bytes};

fn read(lines: &str) -> Records {
    let text = format!(
        "loadbook printout 1\nunit: ST-1\nprocess: steam\nstarted: 2026-03-12 07:00:00\n{lines}"
    );
    read_bytes(text.as_bytes(), Strictness::Infer)
}

/// What is said, code by code, with the line of each.
fn said(lines: &str) -> Vec<(Code, u32)> {
    let records = read(lines);
    let said = records.diagnostics.iter();
    said.filter_map(|one| Some((one.code, one.primary?.line.checked_sub(4)?)))
        .collect()
}

/// The lines that could not be read, with why.
fn unread(lines: &str) -> Vec<(Code, u32)> {
    let records = read(lines);
    let unread = records.unread.iter();
    unread
        .map(|one| (one.diagnostic.code, one.lines.first() - 4))
        .collect()
}

#[test]
fn line_that_says_the_same_as_the_one_before_it_is_told() {
    let repeated = |lines: &str| -> Vec<u32> {
        let said = said(&format!("stage: expose, at 07:10:00\n{lines}end\n"));
        let told = said.iter().filter(|(code, _)| *code == Code::LineRepeated);
        told.map(|(_, line)| *line).collect()
    };
    let (one, two) = (
        "07:11:00 pressure 3 bar\n",
        "07:11:00 pressure 3 bar, temperature 134 C\n",
    );
    for (lines, told) in [
        (format!("{one}{one}"), vec![3]),
        (format!("{two}{two}"), vec![3]),
        (format!("{one}{one}{one}"), vec![3, 4]),
        (one.to_owned(), vec![]),
        // Half of the line before is not that line, nor is more than it.
        (format!("{two}{one}"), vec![]),
        (format!("{one}{two}"), vec![]),
        (format!("{two}07:11:00 temperature 134 C\n"), vec![]),
        // Two lines together are not one.
        (format!("{one}07:11:00 temperature 134 C\n{two}"), vec![]),
        (format!("{one}07:11:00 pressure 3.1 bar\n"), vec![]),
        (format!("{one}07:11:01 pressure 3 bar\n"), vec![]),
        (format!("{one}07:12:00 pressure 3 bar\n{one}"), vec![]),
        (format!("07:10:30 pressure 3 bar\n{one}{one}"), vec![4]),
    ] {
        assert_eq!(repeated(&lines), told, "{lines}");
    }
}

#[test]
fn stage_or_event_that_is_said_twice_is_told() {
    let repeated = |lines: &str| {
        let said = said(&format!("{lines}end\n"));
        said.iter()
            .filter(|(code, _)| *code == Code::LineRepeated)
            .count()
    };
    let stage = "stage: expose, at 07:10:00, limit temperature 134 C min, pulses 4\n";
    for (second, n) in [
        (stage, 1),
        (
            "stage: dry, at 07:10:00, limit temperature 134 C min, pulses 4\n",
            0,
        ),
        (
            "stage: expose, at 07:10:01, limit temperature 134 C min, pulses 4\n",
            0,
        ),
        (
            "stage: expose, at 07:10:00, limit temperature 135 C min, pulses 4\n",
            0,
        ),
        (
            "stage: expose, at 07:10:00, limit temperature 134 C min, pulses 5\n",
            0,
        ),
        (
            "stage: expose, at 07:10:00, limit temperature 134 C min\n",
            0,
        ),
    ] {
        assert_eq!(repeated(&format!("{stage}{second}")), n, "{second}");
    }
    // With a reading between the two the second goes on.
    assert_eq!(
        repeated(&format!("{stage}07:10:00 pressure 3 bar\n{stage}")),
        0
    );
    let event = "alarm: 07:10:00, moisture, too wet\n";
    for (second, n) in [
        (event, 1),
        ("alarm: 07:10:01, moisture, too wet\n", 0),
        ("alarm: 07:10:00, door-open, too wet\n", 0),
        ("alarm: 07:10:00, moisture, wet\n", 0),
        ("event: 07:10:00, too wet\n", 0),
    ] {
        assert_eq!(repeated(&format!("{event}{second}")), n, "{second}");
    }
    assert_eq!(repeated("event: 07:10:00, x\nevent: 07:10:00, x\n"), 1);
    assert_eq!(repeated("event: 07:10:00, x\nevent: 07:10:00, y\n"), 0);
}

#[test]
fn word_a_slip_away_from_a_known_one_is_kept_and_told() {
    for (line, near) in [
        ("stage: exposse, at 07:10:00\n", Some("expose")),
        ("stage: evacaute, at 07:10:00\n", Some("evacuate")),
        ("stage: quiet-time, at 07:10:00\n", None),
        ("alarm: 07:10:00, moistrue\n", Some("moisture")),
        ("alarm: 07:10:00, something-else\n", None),
    ] {
        let records = read(&format!("{line}end\n"));
        let told = records
            .diagnostics
            .iter()
            .find(|one| one.code == Code::WordNearMiss);
        assert_eq!(told.is_some(), near.is_some(), "{line}");
        if let (Some(told), Some(near)) = (told, near) {
            assert!(told.headline.contains(&format!("`{near}`")), "{told:?}");
            assert_eq!(
                told.help,
                format!("write `{near}` if that is what is meant")
            );
        }
        assert!(records.unread.is_empty(), "{line}");
    }
    for stage in STAGES {
        assert!(
            said(&format!("stage: {stage}, at 07:10:00\nend\n")).is_empty(),
            "{stage}"
        );
    }
    assert_eq!(causes().len(), Cause::ALL.len());
    assert!(causes().contains(&"moisture"));
}

#[test]
fn comments_and_blank_lines_within_a_printout_hold_nothing() {
    let records = read("# a remark\n\nstage: expose, at 07:10:00\n# another\nend\n");
    assert!(records.unread.is_empty());
    assert_eq!(
        records
            .idle
            .iter()
            .map(|lines| lines.n_lines())
            .sum::<u64>(),
        3
    );
    assert_eq!(records.cycles[0].n_unread_lines, 0);
}

#[test]
fn line_of_no_form_is_told_and_half_a_line_is_told_as_cut() {
    assert_eq!(unread("rubbish\nend\n"), [(Code::LineUnknown, 1)]);
    // Twenty-four columns are paper.
    assert_eq!(
        unread("this has four and twenty\nend\n"),
        [(Code::LineCut, 1)]
    );
    let records = read("countr: 12\nend\n");
    let told = &records.unread[0].diagnostic;
    assert_eq!(told.code, Code::KeyUnknown);
    assert_eq!(told.help, "write `counter:` if that is what is meant");
    // What is missing is missing at the end of its line.
    for line in [
        "event: 07:10:00,",
        "alarm: 07:10:00, moisture,",
        "unit:",
        "stage: expose",
    ] {
        let records = read(&format!("{line}\nend\n"));
        let at = records.unread[0].diagnostic.primary.unwrap();
        assert_eq!(
            (at.start, at.end),
            (line.len() as u32, line.len() as u32),
            "{line}"
        );
    }
}

#[test]
fn checksum_has_eight_digits_and_counts_the_lines_above_it() {
    for (digits, is_read) in [
        ("0123ABCD", true),
        ("0123abcd", true),
        ("0123ABC", false),
        ("0123ABCDE", false),
        ("0123ABCG", false),
        ("+123ABCD", false),
    ] {
        let is_unread = !unread(&format!("checksum: {digits}\nend\n")).is_empty();
        assert_eq!(is_unread, !is_read, "{digits}");
    }
    // The CRC-32 of the lines above, each with one line feed (grammars/cycle-printout.md), by the library of that name; and
    // the same of a printout that is longer than what is kept back of it at a time.
    let filler = "# a remark that fills the room which is kept for lines not yet counted\n";
    for n in [0, 1, 2_000] {
        let above = format!(
            "loadbook printout 1\nunit: ST-1\nprocess: steam\nstarted: 2026-03-12 07:00:00\n{}",
            filler.repeat(n)
        );
        let crc = crc32fast::hash(above.as_bytes());
        let checksum = |text: &str| {
            let records = read_bytes(text.as_bytes(), Strictness::Infer);
            let codes: Vec<_> = records.diagnostics.iter().map(|one| one.code).collect();
            (records.cycles[0].checksum, codes)
        };
        let (agrees, codes) = checksum(&format!("{above}checksum: {crc:08X}\nend\n"));
        assert!(
            matches!(agrees, Checksum::Agrees { crc32, .. } if crc32 == crc),
            "{n}"
        );
        assert!(!codes.contains(&Code::ChecksumWrong));
        let (differs, _) = checksum(&format!("{above}checksum: {:08X}\nend\n", crc ^ 1));
        assert!(matches!(differs, Checksum::Differs { computed, .. } if computed == crc));
        // A line below it could say anything.
        let (below, codes) = checksum(&format!("{above}checksum: {crc:08X}\ncounter: 5\nend\n"));
        assert!(matches!(below, Checksum::Differs { printed, .. } if printed == crc));
        assert!(codes.contains(&Code::ChecksumWrong));
    }
}

#[test]
fn total_and_header_that_do_not_agree_are_told() {
    let total = |total: &str| {
        let lines = format!(
            "stage: expose, at 07:10:00\n07:11:00 pressure 3 bar\nended: 07:40:00\ntotal: {total}\noutcome: completed\nend\n"
        );
        said(&lines)
            .iter()
            .any(|(code, _)| *code == Code::TotalWrong)
    };
    // From start to end it is forty minutes; a second is what rounding may leave.
    for (text, is_wrong) in [
        ("00:40:00", false),
        ("00:40:01", false),
        ("00:39:59", false),
        ("00:40:02", true),
        ("00:39:58", true),
        ("00:40:00, readings 1", false),
        ("00:40:00, readings 2", true),
    ] {
        assert_eq!(total(text), is_wrong, "{text}");
    }
    // A page header repeats a value; another value is told at its place.
    assert!(unread("counter: 5\ncounter: 5\nend\n").is_empty());
    assert_eq!(
        unread("counter: 5\ncounter: 6\nend\n"),
        [(Code::FieldRepeated, 2)]
    );
    assert_eq!(
        unread("purpose: leak-test\npurpose: warm-up\nend\n"),
        [(Code::FieldRepeated, 2)]
    );
    let twice = "consumable: sterilant, lot A1, use 1 of 10\n";
    let other = "consumable: sterilant, lot A2, use 1 of 10\n";
    assert_eq!(
        read(&format!("{twice}{other}{twice}end\n")).cycles[0]
            .consumables
            .len(),
        2
    );
}

#[test]
fn century_of_a_scanned_expiry_is_that_of_the_cycle() {
    // GS1 General Specifications, 7.12: two digits are of the century that brings them within fifty years of the record's.
    let expiry = |started: &str| {
        let text = format!(
            "loadbook printout 1\nunit: ST-1\n{started}consumable: sterilant, scan \"17760131\"\nend\n"
        );
        let records = read_bytes(text.as_bytes(), Strictness::Infer);
        assert!(records.unread.is_empty(), "{:?}", records.unread);
        let lot = &records.cycles[0].consumables[0].lot.value;
        lot.expiry.unwrap().to_string()
    };
    assert_eq!(expiry("started: 2026-03-12 07:00:00\n"), "2076-01-31");
    assert_eq!(expiry("started: 2024-03-12 07:00:00\n"), "1976-01-31");
}
