//! What is said of entries of text and CSV logs that are not as the format has them (grammars/indicator-log.md), and where
//! it is shown; worked out by hand.

use crate::diagnose::codes::Code;
use crate::parse::{Records, Strictness, read_bytes};
use crate::record::entry::{BiGrowth, EntryBody};

fn text(lines: &str) -> Records {
    let text = format!("loadbook log 1\ndate: 2026-03-12\n{lines}");
    read_bytes(text.as_bytes(), Strictness::Infer)
}

/// What is said of the one line that is not read: code, headline, help, and from which byte to which.
fn said(line: &str) -> (Code, String, String, (u32, u32)) {
    let records = text(&format!("{line}\n"));
    assert_eq!(records.unread.len(), 1, "{line}: {:?}", records.entries);
    let said = records.unread[0].diagnostic.clone();
    let span = said.primary.unwrap();
    (said.code, said.headline, said.help, (span.start, span.end))
}

#[test]
fn key_that_an_entry_does_not_have_is_told_with_those_that_it_has() {
    // Each key belongs to another kind of entry; the nearest of the entry's own is proposed where it is near.
    for (line, headline, help) in [
        (
            "08:00 load: S1, conter 5",
            "`conter` is not a key of a `load` entry",
            "write `counter` if that is what is meant",
        ),
        (
            "08:00 content: S1, item 5",
            "`item` is not a key of a `content` entry",
            "write `items` if that is what is meant",
        ),
        (
            "08:00 ci: S1, positon internal",
            "`positon` is not a key of a `ci` entry",
            "write `position` if that is what is meant",
        ),
        (
            "08:00 bi: S1, rol test",
            "`rol` is not a key of a `bi` entry",
            "write `role` if that is what is meant",
        ),
        (
            "08:00 lot: ci, acton opened",
            "`acton` is not a key of a `lot` entry",
            "write `action` if that is what is meant",
        ),
        (
            "08:00 release: S1, nota x",
            "`nota` is not a key of a `release` entry",
            "write `note` if that is what is meant",
        ),
    ] {
        let (code, told, told_help, _) = said(line);
        assert_eq!(
            (code, told.as_str(), told_help.as_str()),
            (Code::KeyUnknown, headline, help),
            "{line}"
        );
    }
    for (line, own, other) in [
        ("08:00 load: S1, xxxxxx 5", "counter", "position"),
        ("08:00 content: S1, xxxxxx 5", "packages", "position"),
        ("08:00 ci: S1, xxxxxx 5", "position", "packages"),
        ("08:00 bi: S1, xxxxxx 5", "incubated", "packages"),
        ("08:00 lot: ci, xxxxxx 5", "action", "packages"),
    ] {
        let (_, _, help, _) = said(line);
        assert!(
            help.contains(own) && !help.contains(other),
            "{line}: {help}"
        );
    }
}

#[test]
fn entry_that_is_about_nothing_says_what_is_missing() {
    for (kind, wanted) in [
        ("service", "the unit"),
        ("lot", "the kind of consumable"),
        ("load", "the load number"),
        ("release", "the load number"),
    ] {
        // In a spreadsheet the cell may be empty.
        let text = format!("loadbook log 1,date,time,about,by\n{kind},2026-03-12,08:00,,HB\n");
        let records = read_bytes(text.as_bytes(), Strictness::Infer);
        let said = &records.unread[0].diagnostic;
        assert_eq!(said.code, Code::ValueMissing, "{kind}");
        assert!(
            said.headline.ends_with(&format!(": {wanted} is missing")),
            "{}",
            said.headline
        );
        assert_eq!(said.caption, format!("{wanted} belongs after this"));
    }
}

#[test]
fn words_of_a_value_may_be_joined_by_a_hyphen_or_a_space() {
    let growth = |result: &str| {
        let records = text(&format!("08:00 bi: S1, role test, result {result}\n"));
        match records.entries.first().map(|entry| &entry.body) {
            Some(EntryBody::Bi(bi)) => bi.growth.as_ref().map(|growth| growth.value),
            _ => None,
        }
    };
    for (result, expected) in [
        ("growth", Some(BiGrowth::Growth)),
        ("GROWTH", Some(BiGrowth::Growth)),
        ("no growth", Some(BiGrowth::NoGrowth)),
        ("no-growth", Some(BiGrowth::NoGrowth)),
        ("No   Growth", Some(BiGrowth::NoGrowth)),
        // A slip may turn one into the other: it is not read.
        ("nog rowth", None),
        ("nogrowth", None),
        ("grow", None),
    ] {
        assert_eq!(growth(result), expected, "{result}");
    }
    let (_, headline, help, _) = said("08:00 bi: S1, role test, result grwoth");
    assert!(headline.contains("growth, no growth"), "{headline}");
    assert_eq!(help, "write `growth` if that is what is meant");
}

#[test]
fn population_is_a_number_with_figures_on_both_sides_of_its_marks() {
    let read = |population: &str| {
        let line = format!("08:00 bi: S1, role test, population {population}, d-value 1.5 min\n");
        match text(&line).entries.first().map(|entry| &entry.body) {
            Some(EntryBody::Bi(bi)) => bi.population.as_ref().map(|one| one.value),
            _ => None,
        }
    };
    for (population, expected) in [
        ("1200000", Some(1.2e6)),
        ("1.2e6", Some(1.2e6)),
        ("1.2E6", Some(1.2e6)),
        ("1", Some(1.0)),
        ("1e12", Some(1e12)),
        ("0.9", None),
        ("1.1e12", None),
        (".1e6", None),
        ("1.e6", None),
        ("1e", None),
        ("1e-6", None),
        ("x", None),
    ] {
        assert_eq!(read(population), expected, "{population}");
    }
}

#[test]
fn fault_of_a_value_is_shown_at_the_value() {
    // `incubated` begins at the twenty-sixth byte of the line, its value eleven bytes behind it.
    let line = "08:00 bi: S1, role test, incubated 2026-02-30 08:00";
    let (code, _, _, at) = said(line);
    assert_eq!((code, at), (Code::DateInvalid, (35, 51)));
    let (code, _, _, _) = said("08:00 bi: S1, role test, incubated x");
    assert_eq!(code, Code::ValueInvalid);
    let (code, headline, _, _) = said("08:00 ci: S1, type 7");
    assert_eq!(code, Code::ValueInvalid);
    assert!(headline.contains("a type from 1 to 6"), "{headline}");
    let (_, headline, _, _) = said("08:00 content: S1, implant maybe");
    assert!(headline.contains("yes or no"), "{headline}");
    let (code, _, _, _) = said("08:00 ci: S1,");
    assert_eq!(code, Code::ValueMissing);
}

#[test]
fn moment_of_an_entry_is_shown_where_it_was_written() {
    let records = text(
        "08:00 remark: one\n2026-03-13 09:30 remark: two\nremark: three\n  07:00 remark: four\n",
    );
    let written: Vec<_> = records
        .entries
        .iter()
        .map(|entry| {
            let written = entry.written.as_ref()?;
            let at = written.value.local.format("%d %H:%M").to_string();
            Some((at, written.span.start, written.span.end))
        })
        .collect();
    assert_eq!(
        written,
        [
            Some(("12 08:00".to_owned(), 0, 6)),
            Some(("13 09:30".to_owned(), 0, 17)),
            None,
            Some(("12 07:00".to_owned(), 0, 6)),
        ]
    );
    // A heading has no time before it, and none is taken from a line that has one.
    let records = text("08:00 place: Elsewhere\n");
    assert_eq!(records.unread.len() + records.entries.len(), 1);
    assert!(records.entries.iter().all(|entry| entry.place.is_none()));
    let records = text("place: Fennmarsh General\n08:00 remark: x\n");
    assert_eq!(
        records.entries[0].place.as_ref().unwrap().value,
        "Fennmarsh General"
    );
    // A time without a day above it is told.
    let bare = read_bytes(
        b"loadbook log 1\n08:00 remark: x\nremark: y\n",
        Strictness::Infer,
    );
    let codes: Vec<_> = bare.diagnostics.iter().map(|one| one.code).collect();
    assert_eq!(codes, [Code::FieldMissing]);
}

#[test]
fn patient_s_data_in_a_line_that_is_not_read_is_not_repeated() {
    for line in [
        "08:00 Patient name Example",
        "08:00 bi: S1, patient name Example",
        "place: Patient name Example",
    ] {
        let (code, headline, _, _) = said(line);
        assert_eq!(code, Code::PatientData, "{line}");
        assert!(!headline.contains("Example"));
    }
    let csv = "loadbook log 1,date,time,about\nrubbish,2026-03-12,08:00,Patient name Example\n";
    let records = read_bytes(csv.as_bytes(), Strictness::Infer);
    assert_eq!(records.unread[0].diagnostic.code, Code::PatientData);
    let open = "loadbook log 1,date,time,about\nremark,2026-03-12,08:00,\"Patient name Example\n";
    let records = read_bytes(open.as_bytes(), Strictness::Infer);
    assert_eq!(records.unread[0].diagnostic.code, Code::PatientData);
}

const HEADER: &str = "loadbook log 1,date,time,about,note\n";

/// How many entries, unread lines and idle lines a CSV log has; the header is one of the idle ones.
fn counted(rows: &str) -> (usize, u64, u64) {
    let records = read_bytes(format!("{HEADER}{rows}").as_bytes(), Strictness::Infer);
    let unread = records.unread.iter().map(|one| one.lines.n_lines()).sum();
    let idle = records.idle.iter().map(|one| one.n_lines()).sum();
    (records.entries.len(), unread, idle)
}

#[test]
fn rows_of_nothing_and_comments_are_idle() {
    let row = "remark,2026-03-12,08:00,x,\n";
    for (rows, expected) in [
        (row.to_owned(), (1, 0, 1)),
        (format!("{row},,,,\n"), (1, 0, 2)),
        (format!("{row} , ,\t,,\n"), (1, 0, 2)),
        (format!("{row}# a remark, with a comma\n"), (1, 0, 2)),
        (format!("{row}# a \"remark\", with a mark\n"), (1, 0, 2)),
        (format!("{row}\n{row}"), (2, 0, 2)),
        ("remark,2026-03-12,08:00,\"x\ny\",\n".to_owned(), (1, 0, 1)),
        // A mark that is never closed: its line alone is given up.
        (format!("remark,2026-03-12,08:00,\"x,\n{row}"), (1, 1, 1)),
        (
            format!("{row}remark,2026-03-12,08:00,x\"y\"z,\n"),
            (2, 0, 1),
        ),
        ("rubbish,2026-03-12,08:00,x,\n".to_owned(), (0, 1, 1)),
    ] {
        assert_eq!(counted(&rows), expected, "{rows}");
    }
}

#[test]
fn opening_line_within_an_open_row_is_a_part_of_it() {
    let (entries, unread, idle) =
        counted("remark,2026-03-12,08:00,\"one\nloadbook printout 1\ntwo\",\n");
    assert_eq!((entries, unread, idle), (1, 0, 1));
    // Behind a row that is whole it opens a printout.
    let text =
        format!("{HEADER}remark,2026-03-12,08:00,x,\nloadbook printout 1\nunit: ST-1\nend\n");
    let records = read_bytes(text.as_bytes(), Strictness::Infer);
    assert_eq!((records.entries.len(), records.cycles.len()), (1, 1));
}

#[test]
fn column_that_no_log_has_is_told_and_an_empty_one_is_not() {
    let said = |header: &str| {
        let records = read_bytes(format!("{header}\n").as_bytes(), Strictness::Infer);
        let told = records.diagnostics.iter();
        told.map(|one| (one.code, one.help.clone(), one.primary.unwrap().start))
            .collect::<Vec<_>>()
    };
    assert_eq!(said("loadbook log 1,date,,about"), []);
    let told = said("loadbook log 1,date,abuot");
    assert_eq!(
        told,
        [(
            Code::CsvHeaderUnknown,
            "name it `about` if that is what is meant".to_owned(),
            20
        )]
    );
    assert_eq!(said("loadbook log 1,date,colour of the day").len(), 1);
}

#[test]
fn fault_in_a_cell_is_shown_at_the_cell_on_its_line() {
    for (rows, line, start, end) in [
        // `type` of the second row: three cells of 3, 10 and 5 bytes and one of 2 stand before it.
        ("ci,2026-03-12,08:00,S1,7\n", 2, 23, 24),
        (
            "ci,2026-03-12,08:00,S1,1\nci,2026-03-12,08:00,S1,7\n",
            3,
            23,
            24,
        ),
        ("ci,2026-03-12,08:00,\"S1\",\"7\"\n", 2, 25, 28),
        (
            "remark,2026-03-12,08:00,\"a\nb\",\nci,2026-03-12,08:00,\"S1\",\"7\"\n",
            4,
            25,
            28,
        ),
        // On the second line of its row, behind three bytes.
        ("remark,2026-03-12,08:00,\"a\nb\",7\n", 3, 3, 4),
    ] {
        let text = format!("loadbook log 1,date,time,about,type\n{rows}");
        let records = read_bytes(text.as_bytes(), Strictness::Infer);
        let span = records.unread[0].diagnostic.primary.unwrap();
        assert_eq!(
            (span.line, span.start, span.end),
            (line, start, end),
            "{rows}"
        );
        let before: usize = text
            .lines()
            .take(line as usize - 1)
            .map(|line| line.len() + 1)
            .sum();
        assert_eq!(span.line_start, before as u64, "{rows}");
    }
}

/// RFC 4180, 2.5: quotation marks stand around a whole cell or not at all.
#[test]
fn row_that_ends_before_its_quotation_marks_balance_is_not_read() {
    let rows = "remark,2026-03-12,08:00,a\"b\nc\"d,\nremark,2026-03-12,08:01,seen,\n";
    let text = format!("loadbook log 1,date,time,about,type\n{rows}");
    let records = read_bytes(text.as_bytes(), Strictness::Infer);
    assert_eq!(records.entries.len(), 1);
    let told: Vec<_> = records
        .unread
        .iter()
        .map(|unread| &unread.diagnostic)
        .collect();
    assert_eq!(told.len(), 1);
    assert_eq!(
        told[0].headline,
        "quotation marks stand within a cell that is not quoted"
    );
    assert_eq!(records.unread[0].lines.first(), 2);
}
