use super::{json, run, run_with_input, widest};
use serde_json::Value;
use std::collections::BTreeSet;
use std::sync::LazyLock;

const SAMPLES: &str = "../../samples/fennmarsh";

/// Copied by hand from samples/answer-sheet.md, trouble 5: the loads of PL-1 between the two negative BIs.
const SCOPE: [&str; 11] = [
    "P1-260302-02",
    "P1-260302-03",
    "P1-260302-04",
    "P1-260302-05",
    "P1-260303-01",
    "P1-260303-02",
    "P1-260303-03",
    "P1-260303-04",
    "P1-260303-05",
    "P1-260304-01",
    "P1-260304-02",
];

/// The recall of the samples, made once.
static OF_SAMPLES: LazyLock<Value> = LazyLock::new(|| json(&["recall", SAMPLES]));

/// A plasma unit and a steam unit, each with a growing indicator; the steam vial's certificate is logged. In PL-1 the
/// printout of counter 3 is missing, and its load stands in the log.
const SMALL: &str = include_str!("recall/small.txt");

fn loads(sheet: &Value) -> Vec<&str> {
    let rows = sheet["rows"].as_array().unwrap();
    rows.iter()
        .filter(|row| row["row"] == "load")
        .map(|row| row["load"].as_str().unwrap())
        .collect()
}

#[test]
fn scope_of_the_samples_is_that_of_the_answer_sheet() {
    let sheets = OF_SAMPLES["sheets"].as_array().unwrap();
    assert_eq!(sheets.len(), 1);
    assert_eq!(loads(&sheets[0]), SCOPE);
    let growth = &sheets[0]["growths"][0];
    assert_eq!(
        (growth["load"].as_str(), growth["cycle"].as_str()),
        (Some("P1-260303-01"), Some("PL-1:1291"))
    );
    let said = sheets[0]["scope"][0].as_str().unwrap();
    assert!(
        said.contains("after P1-260302-01") && said.contains("before P1-260305-01"),
        "{said}"
    );
    // The log calls back the load that grew, and no other.
    let totals = &sheets[0]["totals"];
    assert_eq!(
        (totals["n_loads"].as_u64(), totals["n_loads_left"].as_u64()),
        (Some(11), Some(10))
    );
    assert_eq!(totals["n_loads_called_back"], 1);
}

/// Trouble 6 of the answer sheet: the control of P2-260317-01 did not grow. It is no growth, and no recall either.
#[test]
fn dead_control_of_the_samples_calls_back_nothing() {
    let sheets = OF_SAMPLES["sheets"].as_array().unwrap();
    assert!(sheets.iter().all(|sheet| sheet["unit"] != "PL-2"));
}

/// Counted by hand in the log of March: the `content` lines of the eleven loads.
#[test]
fn packages_of_the_samples_are_those_of_the_log() {
    let log = include_str!("../../samples/fennmarsh/logs/fennmarsh-general-2026-03.txt");
    let number = |line: &str, key: &str| -> u64 {
        let (_, rest) = line.split_once(&format!(", {key} ")).unwrap();
        rest.split(',').next().unwrap().parse().unwrap()
    };
    let lines: Vec<&str> = log
        .lines()
        .filter(|line| line.contains(" content: ") && SCOPE.iter().any(|load| line.contains(load)))
        .collect();
    let sum = |key: &str| lines.iter().map(|line| number(line, key)).sum::<u64>();
    let totals = &OF_SAMPLES["sheets"][0]["totals"];
    assert_eq!(totals["n_sets"], lines.len() as u64);
    assert_eq!(totals["n_items"], sum("items"));
    assert_eq!(totals["n_packages"], sum("packages"));
}

#[test]
fn sheet_of_the_samples_on_80_columns() {
    let run = run(&["recall", SAMPLES]);
    assert_eq!(run.code, 1);
    assert!(widest(&run.out) <= 80, "{}", run.out);
    insta::assert_snapshot!(run.out);
}

#[test]
fn small_sheets_say_gaps_numbers_and_the_steam_path() {
    let run = run_with_input(&["recall", "-"], SMALL.as_bytes());
    assert_eq!(run.code, 1, "{}", run.err);
    let words: Vec<&str> = run.out.split_whitespace().collect();
    let text = words.join(" ");
    for said in [
        // By hand: N = 2.5e6 and D = 1.8 min give 7.92 and 18.72 min (log10 2.5e6 = 6.39794).
        "= 7.92 min",
        "= 18.72 min",
        "1 printout is missing",
        "no printout: known from the log, put here by its counter",
        // One satisfactory cycle came after the growth.
        "of which 1 in a row are satisfactory",
        // Two packages of P1-B, one of P1-C, twelve of P1-D.
        "3 loads, 3 sets, 21 items, 15 packages",
        // The load that grew, and the implant of S1-B without its basin.
        "2 loads, 2 sets, 88 items, 2 packages",
    ] {
        assert!(text.contains(said), "{said} in {text}");
    }
    assert!(run.out.contains("IMPLANT"), "{}", run.out);
    insta::assert_snapshot!(run.out);
}

#[test]
fn each_package_has_a_box_and_many_share_one() {
    let out = run_with_input(&["recall", "-"], SMALL.as_bytes()).out;
    let line = |name: &str| {
        out.lines()
            .find(|line| line.contains(name))
            .unwrap_or_else(|| panic!("{name}: {out}"))
    };
    assert!(line("Tray A").trim_start().starts_with("[ ][ ] "));
    assert!(line("Pouches").trim_start().starts_with("[ ] ___ of 12 "));
    assert!(line("Basin").trim_start().starts_with("wait "), "{out}");
}

#[test]
fn sheet_keeps_to_its_width() {
    for width in ["60", "80", "120"] {
        let run = run_with_input(&["recall", "-", "--width", width], SMALL.as_bytes());
        assert!(
            widest(&run.out) <= width.parse().unwrap(),
            "{width}: {}",
            run.out
        );
    }
}

#[test]
fn csv_has_a_row_for_each_set_and_no_formula() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("recall.csv");
    let records = SMALL.replace("set Tray A", "set =1+2");
    let run = run_with_input(
        &["recall", "-", "--csv", file.to_str().unwrap()],
        records.as_bytes(),
    );
    assert_eq!(run.code, 1, "{}", run.err);
    let written = std::fs::read_to_string(&file).unwrap();
    let mut reader = csv::Reader::from_reader(written.as_bytes());
    let head: Vec<String> = reader
        .headers()
        .unwrap()
        .iter()
        .map(str::to_owned)
        .collect();
    let column = |name: &str| head.iter().position(|own| own == name).unwrap();
    let mut sets = BTreeSet::new();
    for row in reader.records() {
        let row = row.unwrap();
        for cell in row.iter() {
            assert!(
                !cell.starts_with(['=', '+', '-', '@', '\t', '\r']),
                "{cell:?}"
            );
        }
        if row[column("do")].starts_with("get back") {
            sets.insert((
                row[column("load")].to_owned(),
                row[column("set")].to_owned(),
            ));
        }
    }
    assert_eq!(sets.len(), 5, "{sets:?}");
    assert!(sets.iter().any(|(_, set)| set == "'=1+2"), "{sets:?}");
}

/// Copied by hand from the answer sheet: lot C2258 of internal CIs was with 90 and 85 CIs on PL-1 and PL-2 only, and the
/// loads whose endpoint was not shown are among its loads.
#[test]
fn loads_of_a_lot_are_found_by_unit() {
    let report = json(&["recall", SAMPLES, "--lot", "c2258", "--kind", "ci"]);
    let sheet = &report["sheets"][0];
    let units: Vec<&String> = sheet["lots"][0]["by_unit"]
        .as_object()
        .unwrap()
        .keys()
        .collect();
    assert!(
        units
            .iter()
            .all(|unit| ["PL-1", "PL-2", "not known"].contains(&unit.as_str())),
        "{units:?}"
    );
    let loads: BTreeSet<&str> = loads(sheet).into_iter().collect();
    for load in [
        "P2-260210-04",
        "P1-260212-05",
        "P2-260213-04",
        "P1-260216-02",
        "P2-260221-01",
    ] {
        assert!(loads.contains(load), "{load}");
    }
}

#[test]
fn lot_that_no_record_has_is_answered_with_near_ones() {
    let run = run(&["recall", "day", "--lot", "C2231X"]);
    assert_eq!((run.code, run.out.as_str()), (2, ""));
    assert!(run.err.contains("C2231"), "{}", run.err);
    assert_eq!(super::run(&["recall", "day", "--kind", "ci"]).code, 2);
}

#[test]
fn records_without_growth_have_no_sheet_and_end_with_0() {
    let records = SMALL.replace("role test, lot B7, incubated 2026-03-12 09:00, read 2026-03-13 10:00, result growth", "role test, lot B7, incubated 2026-03-12 09:00, read 2026-03-13 10:00, result no growth")
        .replace("role test, lot B9, population 2.5e6, d-value 1.8 min, incubated 2026-03-12 11:00, read 2026-03-13 12:00, result growth", "role test, lot B9, incubated 2026-03-12 11:00, read 2026-03-13 12:00, result no growth");
    let run = run_with_input(&["recall", "-"], records.as_bytes());
    assert_eq!(run.code, 0, "{}", run.out);
    assert!(
        run.out.contains("no biological indicator grew"),
        "{}",
        run.out
    );
}
