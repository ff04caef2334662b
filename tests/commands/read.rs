use super::{json, run, widest};

#[test]
fn read_counts_what_was_counted_by_hand() {
    let report = json(&["read", "day"]);
    // By hand: 12 opening lines of printouts; the entries of page.log without its headings and the patient's line.
    assert_eq!(report["total"]["n_printouts"], 12);
    assert_eq!(report["total"]["n_entries"], 24);
    // `presure` and the patient's line.
    assert_eq!(report["total"]["n_unread_lines"], 2);
    let hashes: Vec<&str> = report["files"]
        .as_array()
        .unwrap()
        .iter()
        .map(|file| file["sha256"].as_str().unwrap())
        .collect();
    assert!(hashes.iter().all(|hash| hash.len() == 64), "{hashes:?}");
}

#[test]
fn read_at_three_widths() {
    for width in ["60", "80", "120"] {
        let run = run(&["read", "day", "--width", width]);
        assert_eq!(run.code, 1);
        assert!(
            widest(&run.out) <= width.parse().unwrap(),
            "{width}: {}",
            run.out
        );
        insta::assert_snapshot!(format!("read_{width}_columns"), run.out);
    }
}

#[test]
fn every_reason_is_explained_and_a_slip_is_answered_with_near_ones() {
    let one = run(&["read", "--explain", "number-ambiguous"]);
    assert_eq!(one.code, 0);
    insta::assert_snapshot!(one.out);
    let all = run(&["read", "--explain", "list"]);
    assert!(all.out.contains("printout-torn"), "{}", all.out);
    let slip = run(&["read", "--explain", "printout-tron"]);
    assert_eq!(slip.code, 2);
    assert!(slip.err.contains("printout-torn"), "{}", slip.err);
}

#[test]
fn a_long_list_states_its_rest() {
    let lines =
        "loadbook printout 1\nunit: PL-1\n".to_owned() + &"what is this\n".repeat(9) + "end\n";
    let run = super::run_with_input(&["read", "-"], lines.as_bytes());
    let all = super::run_with_input(&["read", "-", "--all"], lines.as_bytes());
    assert!(run.out.contains("--all draws every one"), "{}", run.out);
    assert!(!all.out.contains("--all draws every one"), "{}", all.out);
    assert!(all.out.len() > run.out.len());
}
