use super::{json, run, widest};

#[test]
fn a_cycle_in_full_at_three_widths() {
    for width in ["60", "80", "120"] {
        let run = run(&["show", "PL-1:1042", "day", "--width", width]);
        assert_eq!(run.code, 1, "its BI grew: {}", run.err);
        assert!(
            widest(&run.out) <= width.parse().unwrap(),
            "{width}: {}",
            run.out
        );
        insta::assert_snapshot!(format!("show_{width}_columns"), run.out);
    }
}

#[test]
fn a_load_is_shown_with_all_its_cycles() {
    let shown = json(&["show", "p2-0312-02", "day"]);
    let cycles: Vec<&str> = shown["cycles"]
        .as_array()
        .unwrap()
        .iter()
        .map(|cycle| cycle["cycle"].as_str().unwrap())
        .collect();
    assert_eq!(cycles, ["PL-2:2202", "PL-2:2203"]);
    assert_eq!(shown["loads"][0]["load"], "P2-0312-02");
}

#[test]
fn stages_and_readings_are_those_of_the_strip() {
    let shown = json(&["show", "PL-1:1042", "day"]);
    let cycle = &shown["cycles"][0];
    // By hand: 07:41:30 to 07:50:10 are 520 s; the strip has 6 lines of 2 values in the first stage, then
    // 1 of 3, 2 of 3 and 2 of 3.
    assert_eq!(cycle["stages"][0]["length_seconds"], 520);
    assert_eq!(cycle["readings"].as_array().unwrap().len(), 12 + 3 + 6 + 6);
    assert_eq!(cycle["readings"][0]["value"], 8124.0);
    assert_eq!(cycle["readings"][0]["unit"], "Pa");
    assert_eq!(cycle["length_seconds"], 40 * 60 + 45);
}

#[test]
fn a_name_that_nothing_has_is_answered_with_near_ones() {
    let run = run(&["show", "PL-1:1024", "day"]);
    assert_eq!((run.code, run.out.as_str()), (2, ""));
    assert!(run.err.contains("PL-1:1042"), "{}", run.err);
}

#[test]
fn an_unread_line_within_a_printout_is_not_shown_as_its_line() {
    let out = run(&["show", "PL-1:1048", "day"]).out;
    assert!(!out.contains("presure"), "{out}");
    assert!(out.contains("not part of the record"), "{out}");
}
