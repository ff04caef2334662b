use super::{json, run, run_with_input, widest};
use serde_json::Value;
use std::collections::BTreeMap;
use std::sync::LazyLock;

const SAMPLES: &str = "../../samples/fennmarsh";
/// The decisions on the samples, made once.
static OF_SAMPLES: LazyLock<Value> = LazyLock::new(|| json(&["release", SAMPLES]));
/// A plasma load that lacks nothing under the preset `cdc-2008`.
const COMPLETE: &str = include_str!("../decisions/bases/plasma.txt");

/// By hand from day/strips.txt and day/page.log under the preset cdc-2008, each with the reason that has to be among
/// those that decide.
const DAY: &[(&str, &str, &str)] = &[
    // Its BI grew, and it had left.
    ("P1-0312-01", "recall", "bi-growth"),
    // Aborted for moisture.
    ("P1-0312-02", "reject", "cycle-not-completed"),
    // Rejected: a sensor is obstructed.
    ("P1-0312-03", "reject", "cycle-not-completed"),
    // Torn off, and in the unit whose BI grew.
    ("P1-0312-04", "reject", "bi-growth-in-unit"),
    // Its control did not grow.
    ("P2-0312-01", "hold", "bi-control-no-growth"),
    // Its internal CI stands under another number.
    ("P2-0312-02", "hold", "ci-internal-missing"),
    // The slip itself: no printout.
    ("P2-0312-20", "hold", "printout-missing"),
    // Its internal CI did not reach its endpoint.
    ("S1-0312-01", "reject", "ci-endpoint-not-reached"),
    // Aborted: supply outside its range.
    ("S1-0312-02", "reject", "cycle-not-completed"),
    // Aborted in its aeration.
    ("E1-0312-01", "reject", "cycle-not-completed"),
];

#[test]
fn decisions_of_the_day_are_those_worked_out_by_hand() {
    let report = json(&["release", "day"]);
    let rows: BTreeMap<&str, &Value> = report["rows"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| (row["load"].as_str().unwrap(), row))
        .collect();
    for (load, decision, rule) in DAY {
        let row = rows[load];
        assert_eq!(row["decision"], *decision, "{load}");
        let rules: Vec<&str> = row["reasons"]
            .as_array()
            .unwrap()
            .iter()
            .map(|r| r["rule"].as_str().unwrap())
            .collect();
        assert!(rules.contains(rule), "{load}: {rules:?}");
    }
    // Every load stands there once.
    assert_eq!(rows.len(), 11);
    assert_eq!(report["rows"].as_array().unwrap().len(), 11);
}

#[test]
fn what_was_let_go_against_the_evidence_comes_first() {
    let report = json(&["release", "day"]);
    let urgencies: Vec<&str> = report["rows"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| row["urgency"].as_str().unwrap())
        .collect();
    assert_eq!(report["rows"][0]["load"], "P1-0312-01");
    assert_eq!(urgencies[0], "get-back");
    let order = [
        "get-back",
        "keep-back",
        "left-without-evidence",
        "find-evidence",
        "settled",
    ];
    let places: Vec<usize> = urgencies
        .iter()
        .map(|own| order.iter().position(|one| one == own).unwrap())
        .collect();
    assert!(places.is_sorted(), "{urgencies:?}");
}

#[test]
fn every_reason_of_the_day_can_be_followed() {
    for row in json(&["release", "day"])["rows"].as_array().unwrap() {
        for reason in row["reasons"].as_array().unwrap() {
            let evidence = reason["evidence"].as_array().unwrap();
            assert!(!evidence.is_empty(), "{reason}");
            // What is not in the records has words in place of a line.
            for one in evidence {
                let has_place = !one["places"].as_array().unwrap().is_empty();
                assert!(
                    has_place || !one["words"].as_str().unwrap().is_empty(),
                    "{reason}"
                );
            }
            assert!(
                !reason["sources"].as_array().unwrap().is_empty(),
                "{reason}"
            );
        }
    }
}

#[test]
fn the_day_on_80_columns() {
    let run = run(&["release", "day"]);
    assert_eq!(run.code, 1);
    assert!(widest(&run.out) <= 80, "{}", run.out);
    insta::assert_snapshot!(run.out);
}

#[test]
fn release_keeps_to_its_width() {
    for width in ["60", "120"] {
        let run = run(&["release", "day", "--all", "--width", width]);
        assert!(
            widest(&run.out) <= width.parse().unwrap(),
            "{width}: {}",
            run.out
        );
    }
}

#[test]
fn decisions_asked_for_are_listed_alone() {
    let report = json(&["release", "day", "--decision", "hold,quarantine"]);
    let rows = report["rows"].as_array().unwrap();
    assert!(
        !rows.is_empty() && rows.iter().all(|row| row["decision"] == "hold"),
        "{report}"
    );
    assert_eq!(run(&["release", "day", "--decision", "sterile"]).code, 2);
}

/// Copied by hand from samples/answer-sheet.md: planted troubles 3 to 11, by the decision that each asks for.
#[test]
fn troubles_planted_in_the_samples_are_decided_as_the_answer_sheet_asks() {
    let rows: BTreeMap<&str, &Value> = OF_SAMPLES["rows"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| (row["load"].as_str().unwrap(), row))
        .collect();
    for (load, decision) in [
        // 4: each load with a failed CI stays held.
        ("P2-260210-04", &["reject", "hold"][..]),
        ("P1-260212-05", &["reject", "hold"]),
        ("P2-260213-04", &["reject", "hold"]),
        ("P2-260221-01", &["reject", "hold"]),
        // 5: growth, and the loads between the two negatives.
        ("P1-260303-01", &["recall"]),
        ("P1-260302-02", &["recall"]),
        ("P1-260304-02", &["recall"]),
        ("P1-260302-01", &["release"]),
        ("P1-260305-01", &["release"]),
        // 6: the test proves nothing.
        ("P2-260317-01", &["hold"]),
        // 9: aerations cut short, one of them signed.
        ("E1-260129-01", &["reject", "recall", "hold"]),
        ("E1-260312-01", &["recall", "hold"]),
    ] {
        let own = rows[load]["decision"].as_str().unwrap();
        assert!(decision.contains(&own), "{load}: {own}");
    }
    for load in ["E1-260129-01", "E1-260312-01"] {
        assert_eq!(rows[load]["caution"], "gas-left", "{load}");
    }
    // 7: the implant left before its BI was read.
    let notes = rows["S2-260224-01"]["notes"].to_string();
    assert!(notes.contains("implant-left-before-bi-read"), "{notes}");
    // 11: no one signed.
    for load in [
        "P1-260324-04",
        "P2-260324-06",
        "S1-260324-04",
        "S2-260324-03",
    ] {
        assert_eq!(rows[load]["signed"], "nothing signed", "{load}");
    }
}

/// The claim of the whole: nothing that lacks evidence is a release. What the log of the samples lacks is copied by hand
/// from the answer sheet: entries missing, printouts missing.
#[test]
fn nothing_that_lacks_evidence_is_a_release() {
    let rows: Vec<&Value> = OF_SAMPLES["rows"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|row| row["decision"] == "release")
        .collect();
    assert!(rows.len() > 1000, "{}", rows.len());
    let released: Vec<&str> = rows
        .iter()
        .map(|row| row["load"].as_str().unwrap())
        .collect();
    for lacking in [
        "P2-260115-01",
        "P3-260128-01",
        "P1-260130-03",
        "S1-260201-02",
        "P2-260318-03",
        "P1-260320-03",
        "P2-260323-04",
        "P2-260327-01",
        "P3-260327-03",
        "P2-260115-02",
        "S2-260216-01",
        "S2-260223-03",
        "S1-260225-04",
        "S2-260302-03",
        "P1-260317-06",
        "S2-260324-02",
        "S2-260330-01",
    ] {
        assert!(!released.contains(&lacking), "{lacking}");
    }
    for row in rows {
        assert_eq!(row["reasons"].as_array().unwrap().len(), 0);
        assert_eq!(row["further"].as_array().unwrap().len(), 0);
        assert!(row["cycle"].is_string(), "{row}");
    }
}

#[test]
fn complete_load_is_a_release_and_ends_with_0() {
    let run = run_with_input(&["release", "-"], COMPLETE.as_bytes());
    assert_eq!((run.code, run.err.as_str()), (0, ""), "{}", run.out);
    assert!(run.out.contains("P1-0312-01 RELEASE"), "{}", run.out);
    // Each line taken away that is evidence takes the release away.
    for taken in [
        "endpoint reached, by HB\n08:31",
        "outcome: completed\n",
        "total: 00:40:45, readings 6\noutcome: completed\n",
    ] {
        let less = COMPLETE.replacen(
            taken,
            if taken.contains("08:31") {
                "endpoint unreadable, by HB\n08:31"
            } else {
                ""
            },
            1,
        );
        assert_ne!(less, COMPLETE);
        let run = run_with_input(&["release", "-"], less.as_bytes());
        assert!(
            !run.out.contains("P1-0312-01 RELEASE"),
            "{taken}: {}",
            run.out
        );
        assert_eq!(run.code, 1, "{taken}");
    }
}

/// A BI read the next morning moves the decision.
#[test]
fn decision_is_the_one_of_the_moment_asked_for() {
    let decision = |as_of: &str| {
        let out = run_with_input(
            &[
                "release",
                "-",
                "--preset",
                "every-load",
                "--as-of",
                as_of,
                "--format",
                "json",
            ],
            COMPLETE.as_bytes(),
        )
        .out;
        let report: Value = serde_json::from_str(&out).unwrap();
        report["rows"][0]["decision"].as_str().unwrap().to_owned()
    };
    assert_eq!(decision("2026-03-12 09:00"), "quarantine");
    assert_eq!(decision("2026-03-13 09:30"), "release");
}

#[test]
fn same_input_gives_the_same_bytes() {
    for command in ["release", "recall"] {
        assert_eq!(
            run(&[command, "day/strips.txt", "day/page.log"]).out,
            run(&[command, "day/page.log", "day/strips.txt"]).out
        );
    }
}

#[test]
fn escape_sequences_of_records_reach_neither_release_nor_recall() {
    let records = "loadbook printout 1\nunit: PL-1\u{9b}31m\nload: A-1\nprogram: a\u{1b}[2J\ncounter: 1\n\
        started: 2026-03-12 07:00:00\nended: 07:40:00\noutcome: completed\nend\nloadbook log 1\n\
        2026-03-12 08:00 content: A-1, set \u{1b}]0;x\u{7}Tray, packages 1, to \u{202e}x\n\
        2026-03-13 08:00 bi: A-1, role test, lot \u{1b}[31mB1, incubated 2026-03-12 08:00, read 2026-03-13 08:00, result growth\n";
    for command in ["release", "recall"] {
        for format in ["text", "json"] {
            let out = run_with_input(
                &[command, "-", "--all", "--format", format],
                records.as_bytes(),
            )
            .out;
            assert!(!out.is_empty());
            for active in ['\u{1b}', '\u{9b}', '\u{202e}', '\u{7}'] {
                assert!(!out.contains(active), "{command} {format}: {out:?}");
            }
        }
    }
}
