//! Strips that were photographed and read by a machine: slips are put right where one reading is left, each is said, and
//! strict mode refuses them.

use super::compiled;
use loadbook::parse::{LayoutChoice, Records, Strictness, read_bytes_by};

const PRINTER: &str = r#"layout = 1
name = "scanned"
scanned = true
begin = "RUN NO {counter}"
end = "OVER"
lines = [
    "AT {start date} {start time}",
    "{time} {pressure mbar} {temperature C}",
    "{time} STEP {stage}",
    "STOPPED {end time}",
    "TOTAL {total}",
    "COUNT {readings}",
    "RESULT {outcome}",
]
[always]
process = "steam"
unit = "ST-1"
[labels]
load = "LOAD"
[words.stage]
expose = "HOLD"
[words.outcome]
completed = "ALL OK"
"#;

const CLEAN: &str = "RUN NO 12\nAT 2026-03-12 07:41:20\nLOAD S1-0312-01\n07:42:00 STEP HOLD\n\
    07:43:00 2030.5 134.6\n07:44:00 2031.0 134.7\n07:45:00 2031.5 134.8\nSTOPPED 07:50:20\n\
    TOTAL 00:09:00\nCOUNT 3\nRESULT ALL OK\nOVER\n";

fn read(text: &str, strictness: Strictness) -> Records {
    let choice = LayoutChoice::Forced(compiled("scanned", PRINTER));
    read_bytes_by(text.as_bytes(), strictness, &choice)
}

fn codes(records: &Records) -> Vec<&'static str> {
    let unread = records
        .unread
        .iter()
        .map(|unread| unread.diagnostic.code.id());
    unread
        .chain(records.diagnostics.iter().map(|said| said.code.id()))
        .collect()
}

#[test]
fn a_slip_in_figures_is_put_right_where_one_reading_is_left() {
    let clean = read(CLEAN, Strictness::Infer);
    assert_eq!(codes(&clean), [""; 0]);
    // What was scanned, and before and after as they are told.
    for (right, scanned, told) in [
        (
            "07:44:00 2031.0",
            "07:44:O0 2031.0",
            "`07:44:O0` as `07:44:00`",
        ),
        ("2031.0 134.7", "203l.O 134.7", "`203l.O` as `2031.0`"),
        ("134.8", "I34.B", "`I34.B` as `134.8`"),
        (
            "2026-03-12 07",
            "2026-O3-12 07",
            "`2026-O3-12` as `2026-03-12`",
        ),
        (
            "TOTAL 00:09:00",
            "TOTAL OO:09:00",
            "`OO:09:00` as `00:09:00`",
        ),
        // A space that was lost: the time has eight places, the pressure one decimal as on the line before.
        (
            "07:44:00 2031.0",
            "07:44:002031.0",
            "`07:44:002031.0` as `07:44:00 2031.0`",
        ),
        (
            "2031.0 134.7",
            "2031.0134.7",
            "`2031.0134.7` as `2031.0 134.7`",
        ),
    ] {
        assert_eq!(CLEAN.matches(right).count(), 1, "{right}");
        let text = CLEAN.replace(right, scanned);
        let records = read(&text, Strictness::Infer);
        assert_eq!(codes(&records), ["slip-repaired"], "{scanned}");
        assert!(
            records.diagnostics[0].headline.contains(told),
            "{}",
            records.diagnostics[0].headline
        );
        assert_eq!(records.cycles[0].inferences.len(), 1);
        assert_eq!(
            super::said(&records.cycles),
            super::said(&clean.cycles),
            "{scanned}"
        );
        let strict = read(&text, Strictness::Strict);
        assert!(codes(&strict).contains(&"strict-refused"), "{scanned}");
        assert!(strict.cycles[0].inferences.is_empty());
    }
}

#[test]
fn a_slip_that_leaves_two_readings_is_left() {
    for (right, scanned) in [
        // The first line of readings: without a line before it, the space may be lost in more than one place.
        ("2030.5 134.6", "2030.5134.6"),
        // The total is not that of the cycle, whatever the letter stands for.
        ("TOTAL 00:09:00", "TOTAL OO:08:00"),
        ("COUNT 3", "COUNT B"),
        // Back in time.
        ("07:45:00 2031.5", "O7:43:10 2031.5"),
        // A letter that no figure is taken for.
        ("2031.0", "203x.0"),
        // The counter of the first cycle has no witness.
        ("RUN NO 12", "RUN NO l2"),
    ] {
        let records = read(&CLEAN.replace(right, scanned), Strictness::Infer);
        assert!(!codes(&records).contains(&"slip-repaired"), "{scanned}");
        assert!(!records.unread.is_empty(), "{scanned}");
    }
}

#[test]
fn a_counter_is_put_right_by_the_one_before_it() {
    let next = CLEAN
        .replace("RUN NO 12", "RUN NO l3")
        .replace("03-12 07", "03-13 07");
    let records = read(&format!("{CLEAN}{next}"), Strictness::Infer);
    assert_eq!(codes(&records), ["slip-repaired"]);
    assert_eq!(records.cycles[1].counter.as_ref().unwrap().value, 13);
    let other = next.replace("RUN NO l3", "RUN NO l9");
    assert_eq!(
        read(&format!("{CLEAN}{other}"), Strictness::Infer)
            .cycles
            .len(),
        1
    );
}

#[test]
fn letters_of_names_are_left_as_they_were_scanned() {
    let records = read(
        &CLEAN.replace("S1-0312-01", "S1-O312-01"),
        Strictness::Infer,
    );
    assert_eq!(codes(&records), [""; 0]);
    assert_eq!(
        records.cycles[0].load.as_ref().unwrap().value.as_str(),
        "S1-O312-01"
    );
}

#[test]
fn a_slip_in_the_printers_own_words_is_said_where_it_carries_a_value() {
    // A label says where a value stands, and only one label is near it.
    let records = read(&CLEAN.replace("STOPPED", "ST0PPED"), Strictness::Infer);
    assert_eq!(codes(&records), [""; 0]);
    let records = read(&CLEAN.replace("ALL OK", "A1L 0K"), Strictness::Infer);
    assert_eq!(codes(&records), ["slip-repaired"]);
    assert!(records.cycles[0].outcome.is_some());
    let strict = read(&CLEAN.replace("ALL OK", "A1L 0K"), Strictness::Strict);
    assert_eq!(codes(&strict)[0], "strict-refused");
    assert!(strict.cycles[0].outcome.is_none());
}

#[test]
fn nothing_is_repaired_unless_the_layout_says_that_its_strips_are_scanned() {
    let unscanned = PRINTER.replace("scanned = true\n", "");
    let choice = LayoutChoice::Forced(compiled("unscanned", &unscanned));
    let text = CLEAN.replace("07:44:00 2031.0", "07:44:O0 2031.0");
    let records = read_bytes_by(text.as_bytes(), Strictness::Infer, &choice);
    assert_eq!(records.unread.len(), 1);
    assert!(records.cycles[0].inferences.is_empty());
}
