use super::{lines_of, report};

const DAY: &str = "tests/commands/day";

/// The words and figures of each report of an invented day; what is right is worked out by hand beside the snapshots of
/// `tests/commands`, which read the same day. These guard the wording and what stands beside what.
#[test]
fn reports_of_a_day() {
    for (name, args) in [
        ("review", &["review", DAY][..]),
        ("monthly", &["monthly", DAY]),
        ("service", &["service", DAY]),
        ("investigation", &["investigation", "P1-0312-01", DAY]),
        (
            "review_in_german",
            &["review", DAY, "--lang", "de", "--mask-operators"],
        ),
    ] {
        insta::assert_snapshot!(name, lines_of(&report(args)));
    }
}

/// The strip of the day's first cycle, read by eye: evacuation from 07:41:30 to 07:50:10 is 8 min 40 s, so 8.7 min; the
/// whole from 07:41:20 to 08:22:05.
#[test]
fn investigation_says_what_the_strip_says() {
    let text = lines_of(&report(&["investigation", "PL-1:1042", DAY]));
    for words in [
        "Stage: evacuate",
        "evacuate, 8 min 40 s",
        "P1-0312-01",
        "Peroxide plasma",
        "08:22:05",
    ] {
        assert!(text.contains(words), "{words}");
    }
}

/// As JSON, a report is the value that is drawn.
#[test]
fn report_as_json_is_the_value_behind_it() {
    for args in [
        &["review", DAY][..],
        &["monthly", DAY],
        &["service", DAY],
        &["investigation", "PL-1:1042", DAY],
    ] {
        let json = report(&[args, &["--format", "json"]].concat());
        let value: serde_json::Value = serde_json::from_str(&json).expect("JSON");
        assert!(value.is_object() && !json.contains('\u{1b}'), "{args:?}");
    }
    let json = report(&["service", DAY, "--format", "json"]);
    let value: serde_json::Value = serde_json::from_str(&json).expect("JSON");
    assert_eq!(value["service"]["units"][1]["unit"], "PL-1");
}
