use jsonschema::Validator;
use loadbook::analyse::find_findings;
use loadbook::cli::exit::Exit;
use loadbook::report::export::TABLES;
use loadbook::report::export::document::write_columns;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use loadbook::parse::{Strictness, read_inputs};
use loadbook::reconcile::history::History;
use loadbook::reconcile::{Site, join_history};
use loadbook::source::gather::gather;

const FORMS: [&str; 3] = ["csv", "json", "parquet"];

/// A day of Fennmarsh General, small enough to be looked at whole.
const DAY: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/commands/day");

/// What a run said, and how it ended.
struct Ran {
    exit: Exit,
    out: String,
    err: String,
}

fn run(args: &[&str]) -> Ran {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let args = ["loadbook"].iter().chain(args);
    let exit = loadbook::cli::run(args, &mut out, &mut err);
    Ran {
        exit,
        out: String::from_utf8(out).unwrap(),
        err: String::from_utf8(err).unwrap(),
    }
}

fn export(paths: &[&str], form: &str, folder: &Path) -> Ran {
    let mut args = vec!["export"];
    args.extend(paths);
    args.extend(["--as", form, "-o", folder.to_str().unwrap()]);
    run(&args)
}

/// Every file of a folder by name.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    fs::read_dir(folder)
        .unwrap()
        .map(|entry| {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_str().unwrap().to_owned();
            (name, fs::read(path).unwrap())
        })
        .collect()
}

fn json_of(folder: &Path, file: &str) -> Value {
    serde_json::from_slice(&fs::read(folder.join(file)).unwrap()).unwrap()
}

fn csv_of(folder: &Path, table: &str) -> Vec<csv::StringRecord> {
    let bytes = fs::read(folder.join(format!("{table}.csv"))).unwrap();
    let mut reader = csv::Reader::from_reader(&bytes[..]);
    reader.records().collect::<Result<_, _>>().unwrap()
}

fn history_of(path: &str) -> (History, u64) {
    let gathered = gather(&[path.to_owned()]);
    let (_, records) = read_inputs(gathered.inputs, Strictness::Infer, |_| {});
    let n_unread = records.unread.iter().map(|unread| unread.lines.n_lines());
    let n_unread = n_unread.sum();
    let (history, _) = join_history(records.cycles, records.entries, Site::default());
    (history, n_unread)
}

#[test]
fn no_record_is_lost_on_the_way_into_a_table() {
    for path in [DAY, concat!(env!("CARGO_MANIFEST_DIR"), "/samples/damaged")] {
        let (history, n_unread) = history_of(path);
        let work = tempfile::tempdir().unwrap();
        let folder = work.path().join("csv");
        export(&[path], "csv", &folder);
        let n_rows = |table| csv_of(&folder, table).len();
        let cycles = history.cycles.iter().map(|known| &known.cycle);
        let sum = |count: fn(&loadbook::record::cycle::Cycle) -> usize| -> usize {
            cycles.clone().map(count).sum()
        };
        let n_readings = sum(|cycle| cycle.stages.iter().map(|stage| stage.readings.len()).sum());
        assert!(n_readings > 20);
        assert_eq!(n_rows("readings"), n_readings);
        assert_eq!(n_rows("cycles"), history.cycles.len());
        assert_eq!(n_rows("stages"), sum(|cycle| cycle.stages.len()));
        assert_eq!(n_rows("events"), sum(|cycle| cycle.events.len()));
        assert_eq!(n_rows("entries"), history.entries.len());
        assert_eq!(n_rows("loads"), history.loads.len());
        assert_eq!(n_rows("decisions"), history.loads.len());
        assert_eq!(n_rows("unread") as u64, n_unread);
        assert_eq!(
            n_rows("findings"),
            find_findings(&history).unwrap().findings.len()
        );
    }
}

/// Copied by hand from `samples/answer-sheet.md`, section "Counts": by unit, purpose and outcome; cycles that were printed
/// twice; entries, less the two whose keyword is misspelt (section "Slips of the hand in the log").
#[test]
fn the_tables_of_the_samples_count_what_the_answer_sheet_counts() {
    const EXPECTED: [(&str, &str, &str, usize); 10] = [
        ("EO-1", "load", "aborted", 3),
        ("EO-1", "load", "completed", 32),
        ("PL-1", "load", "aborted", 19),
        ("PL-1", "load", "completed", 375),
        ("PL-1", "load", "rejected", 5),
        ("PL-2", "load", "rejected", 8),
        ("PL-3", "load", "rejected", 9),
        ("ST-1", "leak-test", "passed", 91),
        ("ST-2", "air-removal-test", "passed", 64),
        ("ST-2", "load", "aborted", 4),
    ];
    let work = tempfile::tempdir().unwrap();
    let folder = work.path().join("out");
    let samples = concat!(env!("CARGO_MANIFEST_DIR"), "/samples/fennmarsh");
    // Lines that could not be read need a person.
    assert_eq!(export(&[samples], "json", &folder).exit, Exit::Findings);
    let cycles = json_of(&folder, "cycles.json");
    let cycles = cycles.as_array().unwrap();
    for (unit, purpose, outcome, n_expected) in EXPECTED {
        let is = |cycle: &&Value| {
            cycle["unit"] == unit && cycle["purpose"] == purpose && cycle["outcome"] == outcome
        };
        let n = cycles.iter().filter(is).count();
        assert_eq!(n, n_expected, "{unit} {purpose} {outcome}");
    }
    assert_eq!(cycles.len(), 1958);
    let n_twice = cycles
        .iter()
        .filter(|cycle| cycle["n_reprints"] == 1)
        .count();
    assert_eq!(n_twice, 11);
    let n_rows = |file| json_of(&folder, file).as_array().unwrap().len();
    assert_eq!(n_rows("entries.json"), 11_684 - 2);
    assert_eq!(n_rows("unread.json"), 2);
    // "5. A BI of PL-1 grows" and "6. A control BI does not grow": one vial each.
    let indicators = json_of(&folder, "indicators.json");
    let n_grown = |role: &str, result: &str| {
        let is = |row: &&Value| {
            row["role"] == role && row["result"] == result && row["superseded"] == false
        };
        indicators.as_array().unwrap().iter().filter(is).count()
    };
    assert_eq!(n_grown("test", "growth"), 1);
    assert_eq!(n_grown("control", "no growth"), 1);
}

#[test]
fn a_reading_keeps_what_was_printed_beside_the_kept_unit() {
    let work = tempfile::tempdir().unwrap();
    let strip = work.path().join("strip.txt");
    // Conversions: 1 inHg is 3 386.389 Pa (NIST SP 811 (2008), B.8); 212 °F is 100 °C (definition of the scales).
    fs::write(
        &strip,
        "loadbook printout 1\nunit: ST-9\ncounter: 7\nstarted: 2026-03-12 07:00:00\nstage: expose, at 07:01:00\n\
         07:02:00 pressure 10.07 inHg, temperature 212 F\nended: 07:10:00\noutcome: completed\nend\n",
    )
    .unwrap();
    let folder = work.path().join("out");
    let ran = export(&[strip.to_str().unwrap()], "json", &folder);
    let readings = json_of(&folder, "readings.json");
    let [pressure, temperature] = readings.as_array().unwrap().as_slice() else {
        panic!("{readings}, {}", ran.err);
    };
    assert!((pressure["pressure_pa"].as_f64().unwrap() - 34_100.937_23).abs() < 1e-6);
    assert_eq!(pressure["printed_value"], json!(10.07));
    assert_eq!(pressure["printed_unit"], json!("inHg"));
    assert_eq!(pressure["temperature_c"], Value::Null);
    assert!((temperature["temperature_c"].as_f64().unwrap() - 100.0).abs() < 1e-9);
    assert_eq!(temperature["printed_value"], json!(212.0));
    assert_eq!(temperature["at_local"], json!("2026-03-12T07:02:00"));
    // Neither zone nor offset is known.
    assert_eq!(temperature["at_utc"], Value::Null);
    assert_eq!(temperature["line"], json!(6));
    assert_eq!(
        temperature["cycle_key"],
        json!("ST-9:7@2026-03-12T07:00:00")
    );
}

#[test]
fn every_table_is_valid_against_its_schema_and_a_wrong_row_is_not() {
    let work = tempfile::tempdir().unwrap();
    for (n, path) in [DAY, concat!(env!("CARGO_MANIFEST_DIR"), "/samples/damaged")]
        .into_iter()
        .enumerate()
    {
        let folder = work.path().join(n.to_string());
        export(&[path], "json", &folder);
        let schema = json_of(&folder, "schema.json");
        assert!(jsonschema::meta::is_valid(&schema));
        for table in TABLES {
            let name = table.table.name;
            let validator = validator_of(&schema, name);
            let mut rows = json_of(&folder, &format!("{name}.json"));
            let faults: Vec<String> = validator
                .iter_errors(&rows)
                .map(|fault| format!("{} at {}", fault, fault.instance_path()))
                .collect();
            assert!(faults.is_empty(), "{name}: {faults:?}");
            // The schema is strict: nothing more, nothing less, nothing of another type.
            let Some(row) = rows.get_mut(0).and_then(Value::as_object_mut) else {
                continue;
            };
            let whole = row.clone();
            row.insert("more".into(), Value::Null);
            assert!(!validator.is_valid(&rows), "{name} takes more");
            for column in table.table.columns {
                for wrong in [None, Some(json!({}))] {
                    let mut row = whole.clone();
                    row.remove(column.name);
                    row.extend(wrong.map(|wrong| (column.name.to_owned(), wrong)));
                    assert!(!validator.is_valid(&json!([row])), "{name}.{}", column.name);
                }
            }
        }
    }
}

fn validator_of(schema: &Value, table: &str) -> Validator {
    let schema = json!({
        "$schema": schema["$schema"],
        "$ref": format!("#/$defs/{table}"),
        "$defs": schema["$defs"],
    });
    jsonschema::options()
        .should_validate_formats(true)
        .build(&schema)
        .unwrap()
}

#[test]
fn header_of_the_csv_is_that_of_the_table() {
    let work = tempfile::tempdir().unwrap();
    let folder = work.path().join("csv");
    export(&[DAY], "csv", &folder);
    for table in TABLES {
        let text = fs::read_to_string(folder.join(format!("{}.csv", table.table.name))).unwrap();
        let names: Vec<&str> = table
            .table
            .columns
            .iter()
            .map(|column| column.name)
            .collect();
        // RFC 4180, section 2: lines end with CR LF, the header is the first.
        assert_eq!(text.split("\r\n").next(), Some(names.join(",").as_str()));
        assert_eq!(text.matches('\n').count(), text.matches("\r\n").count());
        assert!(text.ends_with("\r\n"));
    }
}

/// The beginnings are those of OWASP, "CSV Injection" (owasp.org/www-community/attacks/CSV_Injection): equals, plus, minus,
/// at, tab, carriage return, line feed, and the full-width forms of the first four; commas and quotes must not open a cell.
#[test]
fn no_cell_of_a_hostile_log_is_a_formula() {
    let work = tempfile::tempdir().unwrap();
    let log = work.path().join("log.csv");
    let notes = [
        "=1+2\";=1+2",
        "=1+2'\" ;,=1+2",
        "+1",
        "-1",
        "@SUM(1)",
        "\t=1",
        "'=1",
        "\u{ff1d}1",
        "turn\u{202e}ed",
        "harmless",
    ];
    let mut writer = csv::Writer::from_path(&log).unwrap();
    writer
        .write_record(["loadbook log 1", "date", "time", "about", "note"])
        .unwrap();
    for (n, note) in notes.iter().enumerate() {
        let time = format!("07:{n:02}");
        writer
            .write_record(["release", "2026-03-12", &time, "A-1", note])
            .unwrap();
    }
    writer.flush().unwrap();
    drop(writer);
    let folder = work.path().join("csv");
    let ran = export(&[log.to_str().unwrap()], "csv", &folder);
    assert_eq!(ran.exit, Exit::Fine, "{}", ran.err);
    let rows = csv_of(&folder, "entries");
    assert_eq!(rows.len(), notes.len());
    let bytes = fs::read(folder.join("entries.csv")).unwrap();
    assert!(!bytes.contains(&0x1b) && !bytes.contains(&b'\t'));
    for (row, note) in rows.iter().zip(notes) {
        // Whatever the column: no cell begins like a formula.
        for cell in row {
            let begins = cell.trim_start().chars().next();
            assert!(
                !begins.is_some_and(|c| "=+-@\t\r\n\u{ff1d}\u{ff0b}\u{ff0d}\u{ff20}".contains(c)),
                "{cell:?}"
            );
        }
        let note_at = TABLES
            .iter()
            .find(|table| table.table.name == "entries")
            .and_then(|table| {
                table
                    .table
                    .columns
                    .iter()
                    .position(|column| column.name == "note")
            });
        let cell = row.get(note_at.unwrap()).unwrap();
        let text = cell.strip_prefix('\'').unwrap_or(cell);
        // A tab becomes a space, and what stands before and after a note is not part of it.
        let shown = note.trim().replace('\u{202e}', "<U+202E>");
        assert_eq!(text.trim(), shown);
    }
}

#[test]
fn the_same_records_give_the_same_bytes() {
    let work = tempfile::tempdir().unwrap();
    for form in FORMS {
        let [first, second] = ["a", "b"].map(|name| work.path().join(format!("{form}-{name}")));
        export(&[DAY], form, &first);
        export(&[DAY], form, &second);
        // Again over itself.
        export(&[DAY], form, &second);
        let (first, second) = (files(&first), files(&second));
        assert_eq!(first.len(), TABLES.len() + 1);
        assert!(first == second, "{form}");
    }
}

#[test]
fn a_folder_that_holds_something_else_is_refused_and_left_as_it_is() {
    let work = tempfile::tempdir().unwrap();
    let folder = work.path().join("mine");
    fs::create_dir(&folder).unwrap();
    fs::write(folder.join("cycles.csv"), "of another program").unwrap();
    let before = files(&folder);
    let ran = export(&[DAY], "csv", &folder);
    assert_eq!(ran.exit, Exit::Input);
    assert!(ran.err.contains("holds other files") && ran.err.contains("name another folder"));
    // A schema of someone else's is no mark.
    fs::write(folder.join("schema.json"), r#"{"$id": "urn:other:1"}"#).unwrap();
    assert_eq!(export(&[DAY], "csv", &folder).exit, Exit::Input);
    fs::remove_file(folder.join("schema.json")).unwrap();
    assert!(files(&folder) == before);
    // An empty one is taken, and an earlier export of another form is not.
    let empty = work.path().join("empty");
    fs::create_dir(&empty).unwrap();
    assert_ne!(export(&[DAY], "csv", &empty).exit, Exit::Input);
    let ran = export(&[DAY], "json", &empty);
    assert!(ran.err.contains("holds an export as csv"), "{}", ran.err);
    assert!(!empty.join("cycles.json").exists());
}

#[test]
fn a_folder_that_is_read_is_refused() {
    let work = tempfile::tempdir().unwrap();
    let records = work.path().join("records");
    fs::create_dir(&records).unwrap();
    fs::copy(
        Path::new(DAY).join("strips.txt"),
        records.join("strips.txt"),
    )
    .unwrap();
    let inside: PathBuf = records.join("tables");
    let ran = export(&[records.to_str().unwrap()], "csv", &inside);
    assert_eq!(ran.exit, Exit::Input);
    assert!(
        ran.err.contains("read as records the next time"),
        "{}",
        ran.err
    );
    assert!(!inside.exists());
}

#[test]
fn where_nothing_is_read_an_earlier_export_stays() {
    let work = tempfile::tempdir().unwrap();
    let folder = work.path().join("out");
    export(&[DAY], "json", &folder);
    let before = files(&folder);
    let ran = export(
        &[work.path().join("nowhere").to_str().unwrap()],
        "json",
        &folder,
    );
    assert_eq!(ran.exit, Exit::Input);
    assert!(files(&folder) == before);
}

#[test]
fn narrowing_leaves_out_other_units_and_says_so() {
    let work = tempfile::tempdir().unwrap();
    let folder = work.path().join("out");
    let ran = run(&[
        "export",
        DAY,
        "--as",
        "json",
        "--unit",
        "PL-1",
        "--format",
        "json",
        "-o",
        folder.to_str().unwrap(),
    ]);
    let summary: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(summary["tables"].as_array().unwrap().len(), TABLES.len());
    let cycles = json_of(&folder, "cycles.json");
    let cycles = cycles.as_array().unwrap();
    assert!(!cycles.is_empty() && cycles.iter().all(|cycle| cycle["unit"] == "PL-1"));
    let schema = json_of(&folder, "schema.json");
    assert_eq!(schema["x-export"]["narrowed"], json!("unit PL-1"));
}

#[test]
fn staff_marks_are_replaced_in_every_table() {
    let (history, _) = history_of(DAY);
    let marks: Vec<&str> = history
        .entries
        .iter()
        .filter_map(|known| known.entry.by.as_ref())
        .map(|by| by.value.as_str())
        .collect();
    assert!(!marks.is_empty());
    let work = tempfile::tempdir().unwrap();
    let folder = work.path().join("out");
    let out = folder.to_str().unwrap();
    run(&["export", DAY, "--as", "csv", "--mask-operators", "-o", out]);
    for table in TABLES {
        for row in csv_of(&folder, table.table.name) {
            let mut words = row
                .iter()
                .flat_map(|cell| cell.split(|c: char| !c.is_alphanumeric()));
            let told = words.find(|word| marks.contains(word));
            assert_eq!(told, None, "{}", table.table.name);
        }
    }
}

#[test]
fn the_form_in_the_place_of_the_last_day_is_answered_with_the_right_option() {
    let output = crate::commands::run(&["export", "day", "--to", "csv", "-o", "nowhere"]);
    assert_eq!(output.code, 2);
    assert!(output.err.contains("--as csv"), "{}", output.err);
}

/// Everything below "The tables" is made from the tables: `KEEP_EXPORT=1 cargo test documented` writes it again.
#[test]
fn the_documented_columns_are_those_of_the_tables() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("grammars/export.md");
    let text = fs::read_to_string(&path).unwrap();
    let at = text.find("### inputs").unwrap_or(text.len());
    let made = format!("{}{}", &text[..at], write_columns());
    if std::env::var_os("KEEP_EXPORT").is_some() {
        fs::write(&path, &made).unwrap();
    }
    assert!(made == text || std::env::var_os("KEEP_EXPORT").is_some());
}
