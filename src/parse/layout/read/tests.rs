//! One layout with a line for each field, and what a strip of it says: worked out by hand from grammars/layout.md.

use super::*;
use crate::parse::layout::compile::compile;
use crate::parse::layout::language::LayoutText;
use crate::parse::{LayoutChoice, Records, read_bytes_by};
use crate::record::cycle::Outcome;

const HEAD: &str = "layout = 1\nname = \"all\"\nbegin = \"RUN {counter}\"\nend = \"DONE\"\n";
const TAIL: &str = r#"[dates]
date = "DD.MM.YYYY"
[words.stage]
expose = "HEAT"
[words.outcome]
completed = "OK"
aborted = "STOP"
[words.process]
steam = "S"
plasma = "P"
[words.purpose]
leak-test = "L"
warm-up = "W"
"#;

fn layout(lines: &[&str]) -> Arc<Layout> {
    let lines: String = lines
        .iter()
        .map(|line| format!("    \"{line}\",\n"))
        .collect();
    let text = LayoutText {
        name: "all".to_owned(),
        text: format!("{HEAD}lines = [\n{lines}]\n{TAIL}"),
    };
    Arc::new(compile(text, &|_| None).unwrap_or_else(|(_, said)| panic!("{said:#?}")))
}

const LINES: &[&str] = &[
    "{time} {pressure kPa}",
    "{time} {stage}",
    "UNIT {unit}",
    "SERIAL {serial}",
    "ZONE {zone}",
    "KIND {process}",
    "FOR {purpose}",
    "MODE {program}",
    "LOAD {load}",
    "BY {operator}",
    "ON {start date}",
    "AT {start time}",
    "ENDS {end date} {end time}",
    "AIR {ambient kPa}",
    "RESULT {outcome}",
    "IN {any outcome stage}",
    "BECAUSE {any cause}",
    "SUPPLY {sterilant lot} {sterilant expiry} {sterilant use}",
    "CODE {bi scan}",
    "SUM {total} {readings}",
    "LEAK {leak mbar/min}",
    "ALLOWED {leak mbar/min max}",
];

fn read(lines: &[&str], text: &str) -> Records {
    let choice = LayoutChoice::Forced(layout(lines));
    read_bytes_by(text.as_bytes(), Strictness::Infer, &choice)
}

/// The lines that were not read, with why.
fn unread(text: &str) -> Vec<(u32, Code)> {
    let records = read(LINES, text);
    let unread = records.unread.iter();
    unread
        .map(|one| (one.lines.first(), one.diagnostic.code))
        .collect()
}

#[test]
fn each_field_goes_where_it_belongs() {
    let records = read(
        LINES,
        "RUN 42\nUNIT ST-1\nSERIAL 88 12\nZONE Europe/London\nKIND S\nFOR L\nMODE fast one\nLOAD S1\nBY MK\n\
         ON 12.03.2026\nAT 07:41:20\nAIR 101.3\nSUPPLY K4471 30.09.2026 3/10\nCODE 1726123110B771\n\
         07:42:00 HEAT\n07:43:00 305\nRESULT STOP\nIN the quiet\nBECAUSE of this\nSUM 00:40:45 1\nLEAK 0.5\nALLOWED 1.3\n\
         ENDS 12.03.2026 08:22:05\nDONE\n",
    );
    assert_eq!(records.unread, []);
    let cycle = &records.cycles[0];
    let text = |one: &Option<Spanned<String>>| one.as_ref().unwrap().value.clone();
    assert_eq!(cycle.counter.as_ref().unwrap().value, 42);
    assert_eq!(cycle.unit.as_ref().unwrap().value.0, "ST-1");
    assert_eq!(text(&cycle.serial), "88 12");
    assert_eq!(cycle.zone.as_ref().unwrap().value.name(), "Europe/London");
    assert_eq!(cycle.process.as_ref().unwrap().value.word(), "steam");
    assert_eq!(cycle.purpose.word(), "leak-test");
    assert_eq!(cycle.program.as_ref().unwrap().value.0, "fast one");
    assert_eq!(cycle.load.as_ref().unwrap().value.0, "S1");
    assert_eq!(cycle.operator.as_ref().unwrap().value.0, "MK");
    let started = cycle.started.as_ref().unwrap().value.local;
    assert_eq!(started.to_string(), "2026-03-12 07:41:20");
    // From 07:41:20 to 08:22:05.
    assert_eq!(cycle.ended.as_ref().unwrap().value.0, 40 * 60 + 45);
    let ambient = cycle.ambient.as_ref().unwrap().value;
    assert!((ambient.pascal() - 101_300.0).abs() < 1e-6);
    let Some(Outcome::Aborted { stage, cause }) = cycle.outcome.as_ref().map(|one| &one.value)
    else {
        panic!("{:?}", cycle.outcome);
    };
    assert_eq!(stage.as_ref().unwrap().word(), "the-quiet");
    assert_eq!(cause.as_ref().unwrap().word(), "of-this");
    let total = cycle.total.as_ref().unwrap().value;
    assert_eq!((total.seconds, total.n_reading_lines), (2_445, Some(1)));
    let leak = cycle.leak.as_ref().unwrap().value;
    assert!((leak.rate.pascal_per_minute() - 50.0).abs() < 1e-9);
    assert!((leak.limit.unwrap().pascal_per_minute() - 130.0).abs() < 1e-9);
    let lots: Vec<_> = cycle
        .consumables
        .iter()
        .map(|one| {
            let lot = &one.lot.value;
            let number = lot.lot.as_ref().map(|lot| lot.0.clone());
            let uses = one.use_count.map(|uses| (uses.n, uses.of));
            let expiry = lot.expiry.map(|day| day.to_string());
            (one.kind.word(), number.unwrap(), expiry.unwrap(), uses)
        })
        .collect();
    assert_eq!(
        lots,
        [
            (
                "sterilant",
                "K4471".to_owned(),
                "2026-09-30".to_owned(),
                Some((3, 10))
            ),
            ("bi", "B771".to_owned(), "2026-12-31".to_owned(), None),
        ]
    );
}

#[test]
fn value_that_contradicts_one_before_it_is_not_read() {
    for (first, second) in [
        ("UNIT ST-1", "UNIT ST-2"),
        ("SERIAL 1", "SERIAL 2"),
        ("ZONE Europe/London", "ZONE Europe/Paris"),
        ("KIND S", "KIND P"),
        ("FOR L", "FOR W"),
        ("MODE a", "MODE b"),
        // A program that is the name of a test says the purpose too.
        ("FOR W", "MODE L"),
        ("LOAD S1", "LOAD S2"),
        ("BY MK", "BY HB"),
        ("ON 12.03.2026", "ON 13.03.2026"),
        ("AT 07:41:20", "AT 07:41:21"),
        ("AIR 101.3", "AIR 101.2"),
        ("RESULT OK", "RESULT STOP"),
        ("IN one", "IN two"),
        ("BECAUSE one", "BECAUSE two"),
        ("SUM 00:40:45 1", "SUM 00:40:46 1"),
        ("SUM 00:40:45 1", "SUM 00:40:45 2"),
        ("LEAK 0.5", "LEAK 0.6"),
        ("ALLOWED 1.3", "ALLOWED 1.2"),
    ] {
        let strip = |second: &str| format!("RUN 42\n{first}\n{second}\nDONE\n");
        assert_eq!(unread(&strip(first)), [], "{first} twice");
        assert_eq!(
            unread(&strip(second)),
            [(3, Code::FieldRepeated)],
            "{first}, {second}"
        );
    }
    assert_eq!(
        unread("RUN 42\nZONE Mars/City\nDONE\n"),
        [(2, Code::ValueInvalid)]
    );
    assert_eq!(
        unread("RUN 42\nCODE 9109506\nDONE\n"),
        [(2, Code::ScanInvalid)]
    );
}

#[test]
fn another_lot_of_a_kind_is_another_consumable() {
    let n = |second: &str| {
        let text = format!("RUN 42\nSUPPLY K1 30.09.2026 3/10\n{second}\nDONE\n");
        let records = read(LINES, &text);
        assert_eq!(records.unread, [], "{second}");
        records.cycles[0].consumables.len()
    };
    assert_eq!(n("SUPPLY K1 30.09.2026 3/10"), 1);
    assert_eq!(n("SUPPLY K2 30.09.2026 3/10"), 2);
    assert_eq!(n("CODE 10K1"), 2);
    let scans = |second: &str| {
        let records = read(LINES, &format!("RUN 42\nCODE 10B1\n{second}\nDONE\n"));
        records.cycles[0].consumables.len()
    };
    assert_eq!(scans("CODE 10B1"), 1);
    assert_eq!(scans("CODE 10B2"), 2);
}

#[test]
fn day_above_the_cycles_goes_on_past_midnight() {
    let lines = &[
        "{time} {pressure kPa}",
        "{time} {stage}",
        "DAY {day}",
        "AT {start time}",
    ];
    let started = |at: &str| {
        let text = format!(
            "DAY 12.03.2026\nRUN 1\nAT 23:50:00\n23:52:00 HEAT\n23:55:00 305\nDONE\nRUN 2\nAT {at}\nDONE\n"
        );
        let records = read(lines, &text);
        assert_eq!(records.unread, []);
        let second = &records.cycles[1];
        let is_inferred = records
            .diagnostics
            .iter()
            .any(|one| one.code == Code::DateInferred);
        let started = second.started.as_ref().unwrap().value.local;
        (started.to_string(), is_inferred)
    };
    // Not earlier than the last time of the cycle before it, it is of the same day.
    assert_eq!(
        started("23:56:00"),
        ("2026-03-12 23:56:00".to_owned(), false)
    );
    assert_eq!(
        started("23:55:00"),
        ("2026-03-12 23:55:00".to_owned(), false)
    );
    assert_eq!(
        started("23:54:59"),
        ("2026-03-13 23:54:59".to_owned(), true)
    );
    assert_eq!(
        started("00:10:00"),
        ("2026-03-13 00:10:00".to_owned(), true)
    );
}

#[test]
fn line_outside_any_cycle_or_of_no_form_is_told() {
    let strip = "rubbish\nRUN 42\nmore rubbish\nRUN 42\nPatient name: Example\nDONE\nDONE\n";
    assert_eq!(
        unread(strip),
        [
            (1, Code::LineOutsideRecord),
            (3, Code::LineUnknown),
            (5, Code::PatientData),
            (7, Code::LineOutsideRecord),
        ]
    );
    // The same counter again is the header of a page, and no further cycle.
    assert_eq!(read(LINES, strip).cycles.len(), 1);
    assert_eq!(read(LINES, "RUN 42\nRUN 43\nDONE\n").cycles.len(), 2);
}
