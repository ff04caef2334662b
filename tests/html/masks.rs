use super::{files_below, report, text_of};
use std::collections::BTreeSet;

/// Staff marks as a plain search through the samples finds them: what follows `by` or `operator:`.
fn marks() -> BTreeSet<String> {
    let mut marks = BTreeSet::new();
    for file in files_below("samples/fennmarsh") {
        let text = std::fs::read_to_string(&file).expect("samples are UTF-8");
        for line in text.lines() {
            let by = line
                .rsplit_once(", by ")
                .map(|(_, by)| by.split(',').next().unwrap_or(by));
            let operator = line.strip_prefix("operator: ");
            marks.extend(
                by.into_iter()
                    .chain(operator)
                    .map(|mark| mark.trim().to_owned()),
            );
        }
    }
    marks
}

fn words(text: &str) -> BTreeSet<&str> {
    text.split(|c: char| !c.is_alphanumeric()).collect()
}

#[test]
fn no_staff_mark_is_left_when_operators_are_masked_and_each_has_one_number() {
    let marks = marks();
    assert!(marks.len() >= 8, "{marks:?}");
    for args in [
        &["review", "samples/fennmarsh"][..],
        &["investigation", "PL-1:1433", "samples/fennmarsh"],
        &["investigation", "P1-260303-01", "samples/fennmarsh"],
    ] {
        let shown = text_of(&report(args));
        let masked = text_of(&report(&[args, &["--mask-operators"]].concat()));
        let in_shown: Vec<&String> = marks
            .iter()
            .filter(|mark| words(&shown).contains(mark.as_str()))
            .collect();
        assert!(!in_shown.is_empty(), "{args:?}: unmasked, there are marks");
        for mark in in_shown {
            assert!(!words(&masked).contains(mark.as_str()), "{args:?}: {mark}");
        }
        assert!(masked.contains("Staff marks are replaced by numbers."));
    }
    // The same person has the same number in every report of the same records: HB read and recalled P1-260303-01.
    let number = |text: &str| -> String {
        let (_, after) = text.split_once("Recalled, ").expect("the recall");
        let (_, after) = after.split_once("([").expect("who recalled it");
        after.split(']').next().expect("a number").to_owned()
    };
    let one = text_of(&report(&[
        "investigation",
        "P1-260303-01",
        "samples/fennmarsh",
        "--mask-operators",
    ]));
    let masked = format!("[{}]", number(&one));
    let quoted = one.matches(&masked).count();
    assert!(
        quoted >= 3,
        "{masked} stands in rows and in quoted lines: {quoted}"
    );
}
