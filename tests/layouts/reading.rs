//! What holds for neutral input holds for input by layout: every line in exactly one thing, exact spans, strictness,
//! nothing inferred in silence, no panic.

use super::{assert_nothing_unread, compiled, layout, sample};
use crate::proptest_settings;
use loadbook::diagnose::codes::Code;
use loadbook::parse::layout::compile::Layout;
use loadbook::parse::layout::draft::draft_layout;
use loadbook::parse::layout::recognise::{Recognised, recognise};
use loadbook::parse::layout::shipped::{TEXTS, shipped};
use loadbook::parse::layout::trial::{Strip, try_layout};
use loadbook::parse::printout::write::{PrintoutOptions, write_cycle};
use loadbook::parse::{LayoutChoice, Records, Strictness, read_bytes, read_bytes_by};
use loadbook::record::cause::Cause;
use loadbook::record::cycle::{Measured, Outcome, StageName};
use loadbook::record::line_set::LineSet;
use proptest::prelude::*;
use std::sync::Arc;

/// A printer of few words, for the smallest cases.
const PRINTER: &str = r#"layout = 1
name = "printer"
begin = "RUN {counter}"
end = "OVER"
ignore = ["----*", "PAGE *"]
lines = [
    "AT {start date} {start time}",
    "{time} {pressure mbar} {temperature}",
    "{time} STEP {stage}",
    "STEP {stage}",
    "{time} FAULT {any alarm}",
    "SET {temperature C min} C",
    "RESULT {outcome} IN {stage}",
    "RESULT {outcome}",
    "STOPPED {end time}",
]
[always]
process = "steam"
unit = "ST-1"
[labels]
load = ["LOAD", "BATCH NO"]
program = "PROGRAM"
readings = "READINGS"
[words.stage]
expose = "HOLD"
dry = "DRY"
[words.outcome]
completed = "OK"
aborted = "STOPPED"
"#;

fn read_by(layout: Arc<Layout>, text: &[u8], strictness: Strictness) -> Records {
    read_bytes_by(text, strictness, &LayoutChoice::Forced(layout))
}

fn read(text: &str) -> Records {
    read_by(
        compiled("printer", PRINTER),
        text.as_bytes(),
        Strictness::Infer,
    )
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

const HEAD: &str = "RUN 12\nAT 2026-03-12 07:41:20\n";

/// How often each line is in something.
fn counts(records: &Records, n_lines: u32) -> Vec<u32> {
    let mut counts = vec![0; n_lines as usize + 1];
    let mut count = |lines: &LineSet| {
        for run in lines.runs() {
            for line in run.first..=run.last {
                counts[line as usize] += 1;
            }
        }
    };
    records.cycles.iter().for_each(|cycle| count(&cycle.lines));
    records.entries.iter().for_each(|entry| count(&entry.lines));
    records
        .unread
        .iter()
        .for_each(|unread| count(&unread.lines));
    records.idle.iter().for_each(&mut count);
    counts.remove(0);
    counts
}

fn assert_conserved(name: &str, bytes: &[u8], records: &Records) {
    let n_ends = bytes.iter().filter(|byte| **byte == b'\n').count();
    let n_lines = n_ends + usize::from(!bytes.is_empty() && !bytes.ends_with(b"\n"));
    let counts = counts(records, u32::try_from(n_lines).unwrap());
    let wrong: Vec<usize> = (0..n_lines).filter(|at| counts[*at] != 1).collect();
    assert!(
        wrong.is_empty(),
        "{name}: lines {wrong:?} are in no thing or in two"
    );
}

#[test]
fn a_torn_strip_keeps_the_cycle_before_it() {
    let records = read(
        &format!("{HEAD}07:42:00 STEP HOLD\n07:43:00 2030 134.6 C\n{HEAD}RESULT OK\nOVER\n")
            .replacen("RUN 12", "RUN 11", 1),
    );
    assert_eq!(codes(&records), ["printout-torn"]);
    assert_eq!(records.cycles.len(), 2);
    let stage = &records.cycles[0].stages[0];
    assert_eq!((&stage.name, stage.began.0), (&StageName::Expose, 40));
    assert_eq!(stage.readings.len(), 2);
    let Measured::Pressure(pressure) = stage.readings[0].measured else {
        panic!()
    };
    // 2030 mbar are 203 000 Pa (NIST SP 811, 2008, B.8).
    assert!((pressure.pascal() - 203_000.0).abs() < 1e-6);
}

#[test]
fn a_page_header_in_a_stage_begins_no_new_cycle() {
    let records = read(&format!(
        "{HEAD}07:42:00 STEP HOLD\nPAGE 2\n{HEAD}07:43:00 2030 134.6 C\nRESULT OK\nOVER\n"
    ));
    assert_eq!(codes(&records), [""; 0]);
    assert_eq!(records.cycles[0].stages[0].readings.len(), 2);
}

#[test]
fn a_page_header_of_another_cycle_is_another_cycle() {
    let text = format!("{HEAD}07:42:00 STEP HOLD\nRUN 13\nRESULT OK\nOVER\n");
    assert_eq!(read(&text).cycles.len(), 2);
}

#[test]
fn a_line_is_read_as_a_whole_or_not_at_all() {
    let records = read(&format!(
        "{HEAD}07:42:00 STEP HOLD\n07:43:00 2030 13x.6 C\nRESULT OK\nOVER\n"
    ));
    assert_eq!(codes(&records), ["value-invalid"]);
    assert_eq!(records.cycles[0].n_reading_lines, 0);
    assert_eq!(records.cycles[0].n_unread_lines, 1);
    let span = records.unread[0].diagnostic.primary.unwrap();
    assert_eq!((span.line, span.column()), (4, 15));
}

#[test]
fn a_value_outside_what_a_chamber_can_have_is_not_kept() {
    let records = read(&format!(
        "{HEAD}07:42:00 STEP HOLD\n07:43:00 2030 1346 C\nRESULT OK\nOVER\n"
    ));
    assert_eq!(codes(&records), ["number-out-of-range"]);
    assert_eq!(records.cycles[0].n_reading_lines, 0);
}

#[test]
fn a_unit_that_is_not_printed_is_not_guessed() {
    let records = read(&format!(
        "{HEAD}07:42:00 STEP HOLD\n07:43:00 2030 134.6\nRESULT OK\nOVER\n"
    ));
    assert_eq!(codes(&records), ["unit-unknown"]);
}

#[test]
fn a_stage_without_a_time_is_inferred_and_said_and_refused_in_strict_mode() {
    let text = format!("{HEAD}STEP HOLD\nSET 134.0 C\n07:43:00 2030 134.6 C\nRESULT OK\nOVER\n");
    let records = read(&text);
    assert_eq!(codes(&records), ["time-inferred"]);
    let cycle = &records.cycles[0];
    assert_eq!(
        (cycle.stages[0].began.0, cycle.stages[0].limits.len()),
        (100, 1)
    );
    assert_eq!(cycle.inferences.len(), 1);
    let strict = read_by(
        compiled("printer", PRINTER),
        text.as_bytes(),
        Strictness::Strict,
    );
    assert!(strict.cycles[0].inferences.is_empty());
    let refused: Vec<Code> = strict
        .unread
        .iter()
        .map(|unread| unread.diagnostic.code)
        .collect();
    // The limit has no stage to bind then.
    assert_eq!(refused, [Code::StrictRefused, Code::LineUnknown]);
}

#[test]
fn another_value_for_what_was_said_is_refused_and_nothing_of_its_line_is_kept() {
    let records = read(&format!("{HEAD}LOAD A-1\nBATCH NO: A-2\nRESULT OK\nOVER\n"));
    assert_eq!(codes(&records), ["field-repeated"]);
    assert_eq!(
        records.cycles[0].load.as_ref().unwrap().value.as_str(),
        "A-1"
    );
}

#[test]
fn an_outcome_names_the_stage_and_an_unknown_alarm_keeps_its_own_word() {
    let records = read(&format!(
        "{HEAD}07:42:00 STEP DRY\n07:43:00 FAULT Fan Stuck\nRESULT STOPPED IN DRY\nSTOPPED 07:44:00\nOVER\n"
    ));
    assert_eq!(codes(&records), [""; 0]);
    let cycle = &records.cycles[0];
    let aborted = Outcome::Aborted {
        stage: Some(StageName::Dry),
        cause: None,
    };
    assert_eq!(cycle.outcome.as_ref().unwrap().value, aborted);
    assert_eq!(
        cycle.events[0].alarm,
        Some(Cause::Other("fan-stuck".to_owned()))
    );
    assert_eq!(cycle.ended.as_ref().unwrap().value.0, 160);
}

#[test]
fn a_count_of_lines_that_is_wrong_is_said() {
    let records = read(&format!(
        "{HEAD}07:42:00 STEP HOLD\n07:43:00 2030 134.6 C\nREADINGS 2\nRESULT OK\nOVER\n"
    ));
    assert_eq!(codes(&records), ["total-wrong"]);
}

#[test]
fn patient_data_is_counted_and_not_repeated() {
    let records = read(&format!(
        "{HEAD}PROGRAM patient name A. B.\nDOB 1960-01-01\nRESULT OK\nOVER\n"
    ));
    assert_eq!(codes(&records), ["patient-data", "patient-data"]);
    assert!(records.cycles[0].program.is_none());
    let strips = [Strip {
        name: "strip".to_owned(),
        bytes: format!("{HEAD}DOB 1960-01-01\nOVER\n").into_bytes(),
    }];
    let trial = try_layout(&compiled("printer", PRINTER), &strips);
    assert!(
        trial
            .accounts
            .iter()
            .all(|account| !account.text.contains("1960"))
    );
    assert!(!draft_layout(&strips).toml.contains("1960"));
}

#[test]
fn neutral_records_in_the_same_file_are_read_as_such() {
    let neutral = "loadbook printout 1\nunit: PL-1\ncounter: 7\nstarted: 2026-03-12 07:41:20\noutcome: completed\nend\n";
    let text = format!("{HEAD}RESULT OK\nOVER\n{neutral}{HEAD}RESULT OK\nOVER\n");
    let records = read(&text);
    assert_eq!(codes(&records), [""; 0]);
    let units: Vec<&str> = records
        .cycles
        .iter()
        .map(|cycle| cycle.unit.as_ref().unwrap().value.as_str())
        .collect();
    assert_eq!(units, ["ST-1", "PL-1", "ST-1"]);
    assert_conserved("mixed", text.as_bytes(), &records);
}

#[test]
fn spans_are_exact_in_the_bytes_of_the_file() {
    // Windows-1252, code page 437 with lines drawn across, and lines joined over the paper's edge.
    for (name, wanted) in [
        ("steam-german", &b"K\xF6rbe 134"[..]),
        ("plasma-40-column", b"standard"),
        ("steam-24-column", b"134 C WRAPPED IN"),
    ] {
        let bytes = sample(name, "strip.txt");
        let records = read_by(layout(name), &bytes, Strictness::Infer);
        let span = records.cycles[0].program.as_ref().unwrap().span;
        let start = usize::try_from(span.line_start).unwrap() + span.start as usize;
        let end = usize::try_from(span.line_start).unwrap() + span.end as usize;
        assert_eq!(&bytes[start..end], wanted, "{name}");
    }
}

#[test]
fn two_layouts_that_fit_equally_well_are_an_error_that_names_both() {
    let other = PRINTER.replace("name = \"printer\"", "name = \"other\"");
    let layouts = vec![compiled("printer", PRINTER), compiled("other", &other)];
    let text = format!("{HEAD}RESULT OK\nOVER\n");
    let Recognised::Ambiguous(names) = recognise(&layouts, text.as_bytes()) else {
        panic!()
    };
    assert_eq!(names, ["other", "printer"]);
    let records = read_bytes_by(
        text.as_bytes(),
        Strictness::Infer,
        &LayoutChoice::ByContent(layouts),
    );
    assert!(records.cycles.is_empty());
    let said = &records.diagnostics[0];
    assert_eq!(said.code, Code::LayoutAmbiguous);
    assert!(said.headline.contains("other, printer") && said.help.contains("--layout"));
}

#[test]
fn a_variant_is_taken_before_the_layout_it_extends() {
    let variant = "layout = 1\nname = \"annexe\"\nextends = \"steam-24-column\"\n[always]\nplace = \"annexe\"\n";
    let mut layouts = shipped().to_vec();
    layouts.push(compiled("annexe", variant));
    match recognise(&layouts, &sample("steam-24-column", "strip.txt")) {
        Recognised::One(layout) => assert_eq!(layout.name, "annexe"),
        other => panic!("{other:?}"),
    }
}

#[test]
fn strict_mode_reads_what_is_printed_and_refuses_the_rest() {
    for (name, _) in TEXTS {
        let bytes = sample(name, "strip.txt");
        let records = read_by(layout(name), &bytes, Strictness::Strict);
        assert_conserved(name, &bytes, &records);
        assert!(
            records
                .cycles
                .iter()
                .all(|cycle| cycle.inferences.is_empty()),
            "{name}"
        );
        let lenient = read_by(layout(name), &bytes, Strictness::Infer);
        let n_inferred: usize = lenient
            .cycles
            .iter()
            .map(|cycle| cycle.inferences.len())
            .sum();
        // Whatever lenient reading infers, strict reading leaves unread, and nothing else.
        assert_eq!(records.unread.is_empty(), n_inferred == 0, "{name}");
        let refused =
            |unread: &loadbook::parse::UnreadLines| unread.diagnostic.code == Code::StrictRefused;
        assert!(records.unread.iter().all(refused), "{name}");
    }
}

#[test]
fn a_strip_written_as_neutral_text_says_the_same() {
    for (name, _) in TEXTS {
        let records = read_by(layout(name), &sample(name, "strip.txt"), Strictness::Infer);
        let mut text = Vec::new();
        for cycle in &records.cycles {
            write_cycle(cycle, PrintoutOptions::FAITHFUL, &mut text).unwrap();
        }
        let again = read_bytes(&text, Strictness::Infer);
        assert_nothing_unread(name, &again);
        assert_eq!(
            super::said(&records.cycles),
            super::said(&again.cycles),
            "{name}"
        );
    }
}

/// A strip with a few of its bytes or lines changed, left out, doubled or put elsewhere.
fn damaged(bytes: &[u8], changes: &[(u8, u16, u8)]) -> Vec<u8> {
    let mut bytes = bytes.to_vec();
    for &(how, at, byte) in changes {
        if bytes.is_empty() {
            break;
        }
        let at = usize::from(at) * bytes.len() / 65_536;
        let line = bytes[at..]
            .iter()
            .position(|b| *b == b'\n')
            .map_or(bytes.len(), |n| at + n + 1);
        match how % 6 {
            0 => bytes[at] = byte,
            1 => {
                bytes.remove(at);
            }
            2 => bytes.insert(at, byte),
            3 => {
                bytes.drain(at..line);
            }
            4 => {
                let doubled: Vec<u8> = bytes[at..line].to_vec();
                bytes.splice(at..at, doubled);
            }
            _ => bytes.truncate(at),
        }
    }
    bytes
}

proptest! {
    #![proptest_config(proptest_settings(192))]

    #[test]
    fn every_line_of_a_damaged_strip_is_in_exactly_one_thing(
        which in 0..TEXTS.len(),
        changes in prop::collection::vec((any::<u8>(), any::<u16>(), any::<u8>()), 0..12),
        is_strict in any::<bool>(),
    ) {
        let (name, _) = TEXTS[which];
        let bytes = damaged(&sample(name, "strip.txt"), &changes);
        let strictness = if is_strict { Strictness::Strict } else { Strictness::Infer };
        let records = read_by(layout(name), &bytes, strictness);
        assert_conserved(name, &bytes, &records);
        // Nothing is inferred in silence.
        let n_inferences: usize = records.cycles.iter().map(|cycle| cycle.inferences.len()).sum();
        let n_said = records.diagnostics.iter().filter(|said| said.code.severity() == loadbook::diagnose::Severity::Note).count();
        prop_assert!(n_inferences <= n_said);
        prop_assert!(!is_strict || n_inferences == 0);
        // Recognising and drafting survive it too.
        recognise(shipped(), &bytes);
        let strips = [Strip { name: name.to_owned(), bytes }];
        let draft = draft_layout(&strips);
        prop_assert!(draft.toml.starts_with("layout = 1"));
    }

    #[test]
    fn any_bytes_are_read_by_any_layout(which in 0..TEXTS.len(), bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let (name, _) = TEXTS[which];
        let records = read_by(layout(name), &bytes, Strictness::Infer);
        assert_conserved(name, &bytes, &records);
        let strips = [Strip { name: name.to_owned(), bytes }];
        draft_layout(&strips);
        try_layout(&layout(name), &strips);
    }

    #[test]
    fn what_a_damaged_strip_says_is_written_and_read_back(
        which in 0..TEXTS.len(),
        changes in prop::collection::vec((any::<u8>(), any::<u16>(), any::<u8>()), 0..6),
    ) {
        let (name, _) = TEXTS[which];
        let bytes = damaged(&sample(name, "strip.txt"), &changes);
        let records = read_by(layout(name), &bytes, Strictness::Infer);
        let mut text = Vec::new();
        for cycle in &records.cycles {
            write_cycle(cycle, PrintoutOptions::FAITHFUL, &mut text).unwrap();
        }
        let again = read_bytes(&text, Strictness::Infer);
        prop_assert_eq!(again.cycles.len(), records.cycles.len());
        let shown = String::from_utf8_lossy(&text);
        prop_assert_eq!(again.unread.len(), 0, "{}", shown);
    }

    #[test]
    fn any_text_is_compiled_or_refused_as_a_layout(
        which in 0..TEXTS.len(),
        changes in prop::collection::vec((any::<u8>(), any::<u16>(), any::<u8>()), 0..8),
    ) {
        let (_, text) = TEXTS[which];
        let bytes = damaged(text.as_bytes(), &changes);
        let text = String::from_utf8_lossy(&bytes).into_owned();
        let text = loadbook::parse::layout::language::LayoutText { name: "x".to_owned(), text };
        match loadbook::parse::layout::compile::compile(text, &|_| None) {
            Ok(layout) => {
                let strips = [Strip { name: "x".to_owned(), bytes: sample(TEXTS[which].0, "strip.txt") }];
                try_layout(&Arc::new(layout), &strips);
            }
            Err((_, said)) => prop_assert!(!said.is_empty()),
        }
    }
}
