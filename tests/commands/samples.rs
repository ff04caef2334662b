use super::{json, run};
use serde_json::Value;
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// The truth of the samples, written by the generator, which knows nothing of reading.
const ANSWERS: &str = include_str!("../../samples/answer-sheet.md");
const SAMPLES: &str = "../../samples/fennmarsh";

/// The review of the samples, made once.
static REVIEW: LazyLock<Value> = LazyLock::new(|| json(&["review", SAMPLES, "--all"]));

/// The rows of the answer sheet's table below a heading row, as cells.
fn table(heading: &str) -> Vec<Vec<&'static str>> {
    let rows = ANSWERS.lines().skip_while(|line| *line != heading).skip(2);
    let table: Vec<Vec<&str>> = rows
        .take_while(|line| line.starts_with('|'))
        .map(|line| line.trim_matches('|').split('|').map(str::trim).collect())
        .collect();
    assert!(!table.is_empty(), "the answer sheet has no table {heading}");
    table
}

#[test]
fn outcomes_by_unit_are_those_of_the_answer_sheet() {
    let review = &*REVIEW;
    let mut counted: BTreeMap<(String, String, String), u64> = BTreeMap::new();
    for cycle in review["cycles"].as_array().unwrap() {
        let text = |key: &str| cycle[key].as_str().unwrap().to_owned();
        let unit = text("cycle").split(':').next().unwrap().to_owned();
        *counted
            .entry((unit, text("purpose"), text("outcome")))
            .or_default() += 1;
    }
    let truth: BTreeMap<(String, String, String), u64> =
        table("| unit | purpose | outcome | cycles |")
            .into_iter()
            .map(|row| {
                (
                    (row[0].to_owned(), row[1].to_owned(), row[2].to_owned()),
                    row[3].parse().unwrap(),
                )
            })
            .collect();
    assert_eq!(counted, truth);
}

#[test]
fn aborts_and_rejections_are_those_of_the_answer_sheet() {
    let review = &*REVIEW;
    let count = |rows: &str, keys: &[&str]| {
        let mut counted: BTreeMap<Vec<String>, u64> = BTreeMap::new();
        for row in review[rows].as_array().unwrap() {
            for (unit, n) in row["by_unit"].as_object().unwrap() {
                let mut key = vec![unit.clone()];
                key.extend(
                    keys.iter()
                        .map(|key| row[*key].as_str().unwrap().to_owned()),
                );
                *counted.entry(key).or_default() += n.as_u64().unwrap();
            }
        }
        counted
    };
    let truth = |heading: &str| -> BTreeMap<Vec<String>, u64> {
        table(heading)
            .into_iter()
            .map(|row| {
                let (n, key) = row.split_last().unwrap();
                (
                    key.iter().map(|cell| (*cell).to_owned()).collect(),
                    n.parse().unwrap(),
                )
            })
            .collect()
    };
    assert_eq!(
        count("aborts", &["stage", "cause"]),
        truth("| unit | aborted in stage | cause | cycles |")
    );
    assert_eq!(
        count("rejections", &["cause"]),
        truth("| unit | load rejected because | cycles |")
    );
}

#[test]
fn missing_printouts_and_reprints_are_as_many_as_the_answer_sheet_says() {
    let review = &*REVIEW;
    let need = |kind: &str| {
        let needs = review["needs"].as_array().unwrap();
        needs
            .iter()
            .find(|need| need["kind"] == kind)
            .map_or(0, |need| need["n_found"].as_u64().unwrap())
    };
    let number_after = |words: &str| -> u64 {
        let (_, rest) = ANSWERS.split_once(words).expect("the answer sheet says it");
        rest.split(' ').next().unwrap().parse().unwrap()
    };
    assert_eq!(
        review["intake"]["n_reprints"],
        number_after("each counted once; ")
    );
    assert_eq!(
        need("printout-missing"),
        number_after("are printed twice. ")
    );
    // Two slips of the hand make lines that can't be read; they are lines of entries all the same.
    let n_entries = review["intake"]["n_entries"].as_u64().unwrap();
    let n_unread = review["intake"]["n_unread_lines"].as_u64().unwrap();
    assert_eq!(
        (n_entries + n_unread, n_unread),
        (number_after("The logs hold "), 2)
    );
}

#[test]
fn the_first_screen_of_the_samples() {
    let run = run(&["review", SAMPLES]);
    assert_eq!(run.code, 1);
    let screen = run.out.lines().take(24).collect::<Vec<_>>().join("\n");
    // What stands under "Planted troubles" in samples/answer-sheet.md (5, 6, 7, 9, 4, 3, 2, 1, 8, 11, 10), in the order of
    // harm (common practice, no source), each on a line of the first screen.
    let planted = [
        "PL-1, lot B777",
        "PL-2, lot B780",
        "ST-2",
        "EO-1, aerate",
        "lot C2258",
        "ENT scope on the late shift",
        "Leak rate creeps",
        "PL-2, evacuate",
        "PL-3, sensor-obstructed",
        "late shift of 2026-03-24",
        "due at a weekend",
    ];
    let mut lines = screen.lines();
    for trouble in planted {
        let is_told = lines.any(|line| line.contains(trouble));
        assert!(is_told, "{trouble} is not in its place:\n{screen}");
    }
    insta::assert_snapshot!(screen);
}
