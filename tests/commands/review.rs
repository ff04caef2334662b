use super::{json, run, run_with_input, widest};
use std::collections::BTreeMap;

/// Counted by hand in day/strips.txt and day/page.log: what needs a person, as (found, released, open, settled).
const NEEDS: &[(&str, [u64; 4])] = &[
    // P1-0312-01: its BI grew a day after its release.
    ("bi-growth", [1, 1, 0, 0]),
    // P1-0312-04 of PL-1 ran after it, and no BI came since; aborted and rejected cycles processed nothing.
    ("recall-scope", [1, 0, 1, 0]),
    // P2-0312-01, not signed.
    ("bi-control-no-growth", [1, 0, 1, 0]),
    // S1-0312-01, not signed.
    ("ci-not-reached", [1, 0, 1, 0]),
    // ST-1:5120, and no test passed since.
    ("unit-test-failed", [1, 0, 1, 0]),
    // P1-0312-02 is on hold; E1-0312-01 and S1-0312-02 are not signed.
    ("cycle-aborted", [3, 0, 2, 1]),
    // P1-0312-03 is not signed; P2-0312-02 was run again as PL-2:2203.
    ("load-rejected", [2, 0, 1, 1]),
    // P1-0312-04.
    ("printout-torn", [1, 0, 1, 0]),
    // P2-0312-02: its internal CI stands under another number.
    ("released-lacking", [1, 1, 0, 0]),
    // The patient's line of the page.
    ("patient-data", [1, 0, 1, 0]),
    // PL-1:1045 to 1047.
    ("printout-missing", [3, 0, 3, 0]),
    // `presure` in strips.txt.
    ("lines-unread", [1, 0, 1, 0]),
    // P2-0312-20 for P2-0312-02.
    ("load-number-near-miss", [1, 0, 1, 0]),
];

#[test]
fn review_finds_what_was_counted_by_hand() {
    let review = json(&["review", "day"]);
    let found: BTreeMap<&str, [u64; 4]> = review["needs"]
        .as_array()
        .unwrap()
        .iter()
        .map(|need| {
            let n = |key: &str| need[key].as_u64().unwrap();
            let counts = [n("n_found"), n("n_released"), n("n_open"), n("n_settled")];
            (need["kind"].as_str().unwrap(), counts)
        })
        .collect();
    for (kind, counts) in NEEDS {
        assert_eq!(found.get(kind), Some(counts), "{kind}");
    }
}

#[test]
fn every_cycle_of_the_day_is_counted_once() {
    let review = json(&["review", "day"]);
    let mut counted = BTreeMap::new();
    for row in review["programs"].as_array().unwrap() {
        let key = (
            row["unit"].as_str().unwrap(),
            row["program"].as_str().unwrap_or("-"),
        );
        let n = |key: &str| row[key].as_u64().unwrap();
        counted.insert(
            key,
            [
                n("n_cycles"),
                n("n_completed"),
                n("n_aborted"),
                n("n_rejected"),
                n("n_unproven"),
            ],
        );
    }
    // By hand from the `unit`, `program` and `outcome` lines.
    let by_hand = BTreeMap::from([
        (("EO-1", "warm 54"), [2, 1, 1, 0, 0]),
        (("PL-1", "delicate"), [1, 0, 0, 0, 1]),
        (("PL-1", "standard"), [3, 1, 1, 1, 0]),
        (("PL-2", "standard"), [3, 2, 0, 1, 0]),
        (("ST-1", "prevac 134"), [2, 1, 1, 0, 0]),
    ]);
    assert_eq!(counted, by_hand);
    assert_eq!(review["n_cycles"], 12);
}

#[test]
fn the_first_screen_says_what_needs_a_person_in_24_lines_of_80_columns() {
    let out = run(&["review", "day"]).out;
    let screen: Vec<&str> = out.lines().take(24).collect();
    let screen = screen.join("\n");
    assert!(screen.contains("BI growth, released"), "{screen}");
    assert!(screen.contains("P1-0312-01"), "{screen}");
    assert!(screen.contains("TAKE CARE"), "{screen}");
    assert!(
        screen.contains("policy decide"),
        "the cautions are whole: {screen}"
    );
    insta::assert_snapshot!(screen);
}

#[test]
fn review_at_three_widths() {
    for width in ["60", "80", "120"] {
        let run = run(&["review", "day", "--width", width]);
        assert!(
            widest(&run.out) <= width.parse().unwrap(),
            "{width}: {}",
            run.out
        );
        assert_eq!(run.code, 1);
        insta::assert_snapshot!(format!("review_{width}_columns"), run.out);
    }
}

#[test]
fn nothing_is_called_sterile() {
    for args in [
        ["review", "day", "--all"],
        ["show", "P1-0312-01", "day"],
        ["read", "day", "--all"],
        ["release", "day", "--all"],
        ["recall", "day", "--all"],
    ] {
        let out = run(&args).out.to_lowercase();
        // "sterilant" and "sterilizer" are things; "sterile" would be a claim.
        assert!(
            !out.contains("sterile") && !out.contains("sterility"),
            "{out}"
        );
    }
}

#[test]
fn a_line_like_patient_data_is_repeated_nowhere() {
    for args in [
        &["review", "day", "--all"][..],
        &["read", "day", "--all"],
        &["read", "day", "--format", "json"],
        &["review", "day", "--format", "json"],
    ] {
        assert!(!run(args).out.contains("Jane"), "{args:?}");
    }
}

#[test]
fn cautions_are_shown_where_they_apply_and_only_there() {
    let cautions = |args: &[&str]| json(args)["cautions"].to_string();
    assert_eq!(
        cautions(&["review", "day"]),
        r#"["peroxide-left","gas-left","hot"]"#
    );
    assert_eq!(cautions(&["review", "day", "--unit", "ST-1"]), r#"["hot"]"#);
    assert_eq!(
        cautions(&["review", "day", "--unit", "PL-1"]),
        r#"["peroxide-left"]"#
    );
    // Its rejected load was run again.
    assert_eq!(cautions(&["review", "day", "--unit", "PL-2"]), "[]");
}

#[test]
fn narrowing_leaves_out_other_units_and_makes_no_gap() {
    let review = json(&["review", "day", "--unit", "pl-1", "--program", "delicate"]);
    assert_eq!(review["n_cycles"], 1);
    let kinds: Vec<&str> = review["needs"]
        .as_array()
        .unwrap()
        .iter()
        .map(|need| need["kind"].as_str().unwrap())
        .collect();
    assert!(
        kinds.contains(&"printout-torn") && !kinds.contains(&"bi-growth"),
        "{kinds:?}"
    );
    let one_day = json(&[
        "review",
        "day",
        "--from",
        "2026-03-11",
        "--to",
        "2026-03-11",
    ]);
    assert_eq!(one_day["n_cycles"], 1);
}

#[test]
fn a_moment_before_the_bi_was_read_shows_the_load_as_it_was_then() {
    let review = json(&["review", "day", "--as-of", "2026-03-12 08:50"]);
    let kinds = review["needs"].to_string();
    assert!(!kinds.contains("bi-growth"), "{kinds}");
    assert!(review["as_of"]["n_later"].as_u64().unwrap() > 0);
}

#[test]
fn one_bad_file_among_others_leaves_the_rest_reviewed() {
    let missing = run(&["review", "day", "no-such-file.txt"]);
    assert_eq!(missing.code, 2);
    assert!(missing.err.contains("no-such-file.txt"), "{}", missing.err);
    assert!(
        missing.out.contains("BI growth") && missing.out.contains("FILES NOT READ"),
        "{}",
        missing.out
    );
}

#[test]
fn nothing_read_at_all_is_an_input_error() {
    let nothing = run_with_input(&["review", "-"], b"");
    assert_eq!(nothing.code, 2);
    assert!(nothing.err.contains("nothing was read"), "{}", nothing.err);
}

#[test]
fn a_complete_load_needs_no_person() {
    let records = include_bytes!("../decisions/bases/plasma.txt");
    let run = run_with_input(&["review", "-"], records);
    assert_eq!((run.code, run.err.as_str()), (0, ""), "{}", run.out);
    assert!(
        run.out
            .contains("Nothing in these records asks for a person"),
        "{}",
        run.out
    );
}

#[test]
fn the_same_input_gives_the_same_bytes_in_any_order_of_files() {
    let one = run(&["review", "day/strips.txt", "day/page.log"]).out;
    assert_eq!(one, run(&["review", "day/strips.txt", "day/page.log"]).out);
    assert_eq!(one, run(&["review", "day/page.log", "day/strips.txt"]).out);
}

#[test]
fn an_escape_sequence_in_a_strip_does_not_reach_the_terminal() {
    let records = "loadbook printout 1\nunit: PL-1\u{9b}31m\nload: \u{1b}]0;x\u{7}A-\u{202e}1\nprogram: a\u{1b}[2J\n\
        counter: 1\nstarted: 2026-03-12 07:00:00\nalarm: 07:01:00, door-open, \u{1b}[31mred\nend\n";
    for format in ["text", "json"] {
        let run = run_with_input(
            &["review", "-", "--all", "--format", format],
            records.as_bytes(),
        );
        for active in ['\u{1b}', '\u{9b}', '\u{202e}', '\u{7}'] {
            assert!(!run.out.contains(active), "{format}: {:?}", run.out);
        }
    }
}
