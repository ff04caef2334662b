use super::{archive, json, new_folder, shown, strip, write};
use crate::commands::run;
use std::path::Path;

fn n_cycles(root: &Path) -> u64 {
    let read = run(&["read", "--archive", shown(root), "--format", "json"]);
    let read: serde_json::Value = serde_json::from_str(&read.out).unwrap();
    read["total"]["n_printouts"].as_u64().unwrap()
}

#[test]
fn same_bytes_again_are_nothing_new_whatever_their_name() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    let path = write(folder.path(), "in/strip.txt", strip(1));
    let copy = write(folder.path(), "in/copy.txt", strip(1));
    assert_eq!(archive("add", &root, &[shown(&path)]).code, 0);
    let before = std::fs::read(root.join("manifest.jsonl")).unwrap();
    for again in [&path, &copy] {
        let added = archive("add", &root, &[shown(again)]);
        assert_eq!(added.code, 0);
        assert!(
            added.out.starts_with("known ") && added.out.contains("0 added, 1 there already"),
            "{}",
            added.out
        );
    }
    assert_eq!(std::fs::read(root.join("manifest.jsonl")).unwrap(), before);
}

#[test]
fn longer_version_is_read_in_place_of_the_shorter_and_no_cycle_is_doubled() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    // Torn in the middle of the second cycle.
    let whole = format!("{}{}", strip(1), strip(2));
    let torn = &whole[..strip(1).len() + 90];
    let path = write(folder.path(), "in/strip.txt", torn);
    let elsewhere = write(folder.path(), "other/name.txt", strip(3));
    assert_eq!(
        archive("add", &root, &[shown(&path), shown(&elsewhere)]).code,
        0
    );
    assert_eq!(n_cycles(&root), 3);
    std::fs::write(&path, &whole).unwrap();
    let added = archive("add", &root, &[shown(&path)]);
    assert!(added.out.contains("it goes on from"), "{}", added.out);
    assert_eq!(n_cycles(&root), 3);
    let list = json("list", &root);
    assert_eq!(list["n_replaced"], 1);
    let rows = list["files"].as_array().unwrap();
    let replaced: Vec<_> = rows
        .iter()
        .filter(|row| !row["replaced"].is_null())
        .collect();
    assert_eq!(replaced.len(), 1);
    assert_eq!(replaced[0]["n_bytes"], torn.len());
    assert_eq!(replaced[0]["replaced"]["because"], "longer");
    // The torn one comes in again from a copy: it is there.
    std::fs::write(&path, torn).unwrap();
    assert!(
        archive("add", &root, &[shown(&path)])
            .out
            .starts_with("known ")
    );
    // So is a version in between, which was never added.
    std::fs::write(&path, &whole[..whole.len() - 4]).unwrap();
    let added = archive("add", &root, &[shown(&path)]);
    assert!(
        added.out.contains("the beginning of a longer version"),
        "{}",
        added.out
    );
    assert_eq!(n_cycles(&root), 3);
    assert_eq!(archive("verify", &root, &[]).code, 0);
}

#[test]
fn bytes_that_only_begin_alike_under_another_name_replace_nothing() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    let one = write(folder.path(), "in/monday.txt", strip(1));
    let both = write(folder.path(), "in/week.txt", strip(1) + &strip(2));
    assert_eq!(archive("add", &root, &[shown(&one), shown(&both)]).code, 0);
    assert_eq!(json("list", &root)["n_replaced"], 0);
    // Both are read; the cycle that is in both is one cycle, printed twice.
    let review = run(&["review", "--archive", shown(&root), "--format", "json"]);
    let of_files = run(&[
        "review",
        shown(&folder.path().join("in")),
        "--format",
        "json",
    ]);
    assert_eq!(review.out, of_files.out);
}

#[test]
fn corrected_version_is_read_when_a_person_says_so_and_the_earlier_is_kept() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    let path = write(folder.path(), "in/strip.txt", strip(1));
    assert_eq!(archive("add", &root, &[shown(&path)]).code, 0);
    let corrected = strip(1).replace("operator: HB", "operator: JK");
    std::fs::write(&path, &corrected).unwrap();
    let added = archive("add", &root, &[shown(&path)]);
    assert_eq!(added.code, 0);
    assert!(added.err.contains("--correction"), "{}", added.err);
    assert_eq!(n_cycles(&root), 2);
    let added = archive("add", &root, &[shown(&path), "--correction"]);
    assert!(added.out.contains("in place of"), "{}", added.out);
    assert_eq!(n_cycles(&root), 1);
    let shown_cycle = run(&["show", "PL-1:1", "--archive", shown(&root)]);
    assert!(shown_cycle.out.contains("JK") && !shown_cycle.out.contains("HB"));
    // And back again: it was no correction after all.
    std::fs::write(&path, strip(1)).unwrap();
    assert_eq!(
        archive("add", &root, &[shown(&path), "--correction"]).code,
        0
    );
    let shown_cycle = run(&["show", "PL-1:1", "--archive", shown(&root)]);
    assert!(shown_cycle.out.contains("HB") && !shown_cycle.out.contains("JK"));
    assert_eq!(json("list", &root)["files"].as_array().unwrap().len(), 2);
    assert_eq!(archive("verify", &root, &[]).code, 0);
}

#[test]
fn two_files_of_one_name_are_told_apart_where_they_are_shown() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    let path = write(folder.path(), "strip.txt", strip(1));
    assert_eq!(archive("add", &root, &[shown(&path)]).code, 0);
    std::fs::write(&path, strip(2)).unwrap();
    assert_eq!(archive("add", &root, &[shown(&path)]).code, 0);
    let list = json("list", &root);
    for (counter, row) in (1..).zip(list["files"].as_array().unwrap()) {
        let cycle = run(&[
            "show",
            &format!("PL-1:{counter}"),
            "--archive",
            shown(&root),
            "--width",
            "200",
        ]);
        let short = &row["sha256"].as_str().unwrap()[..12];
        assert!(
            cycle.out.contains(&format!("strip.txt ({short})")),
            "{}",
            cycle.out
        );
    }
}

#[test]
fn names_that_could_steer_a_terminal_are_inert_in_the_manifest() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    let path = write(folder.path(), "in/a\u{1b}[2J\u{202e}\n.txt", strip(1));
    let added = archive("add", &root, &["--no-tables", shown(&path)]);
    assert_eq!(added.code, 0, "{}", added.err);
    let manifest = std::fs::read_to_string(root.join("manifest.jsonl")).unwrap();
    assert!(manifest.contains("a<ESC>[2J<U+202E><LF>.txt"), "{manifest}");
    assert!(!manifest.contains("u001b") && !manifest.contains('\u{202e}'));
    assert_eq!(manifest.lines().count(), 2);
}

#[test]
fn what_can_not_be_read_is_said_and_the_rest_is_added() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    let path = write(folder.path(), "in/strip.txt", strip(1));
    let empty = write(folder.path(), "in/empty.txt", "");
    let missing = folder.path().join("in/missing.txt");
    let added = archive(
        "add",
        &root,
        &[shown(&missing), shown(&empty), shown(&path)],
    );
    assert_eq!(added.code, 2);
    assert!(added.err.contains("missing.txt") && added.err.contains("empty.txt is empty"));
    assert!(added.out.contains("1 added"), "{}", added.out);
    assert_eq!(archive("verify", &root, &[]).code, 0);
}

#[test]
fn archive_within_the_folder_that_is_added_does_not_swallow_itself() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    write(folder.path(), "strip.txt", strip(1));
    for _ in 0..3 {
        assert_eq!(archive("add", &root, &[shown(folder.path())]).code, 0);
    }
    assert_eq!(json("list", &root)["files"].as_array().unwrap().len(), 1);
}
