//! Sizes that no department's records have.

use super::{HEALTHY, assert_inert, folder_of, path_of, run_all, run_upon};
use std::fmt::Write as _;
use std::fs::File;
use std::io::{BufWriter, Write as _};

#[test]
fn line_of_64_megabytes_costs_one_line() {
    let folder = folder_of(&[]);
    let path = path_of(&folder, "strip.txt");
    let mut file = BufWriter::new(File::create(&path).unwrap());
    let (before, after) = HEALTHY.split_once("ended:").unwrap();
    file.write_all(before.as_bytes()).unwrap();
    for _ in 0..64 {
        file.write_all(&[b'7'; 1 << 20]).unwrap();
    }
    write!(file, "\nended:{after}").unwrap();
    drop(file);
    let read = run_upon(&["read", "PATH", "--all"], &path);
    assert_inert(&read);
    assert_eq!(read.code, 1);
    assert!(read.said().contains("line-too-long"), "{}", read.said());
    let show = run_upon(&["show", "PL-1:1042", "PATH"], &path);
    assert!(
        show.said().contains("P1-0312-01"),
        "what stands around it was read"
    );
    let convert = run_upon(&["convert", "PATH"], &path);
    assert!(convert.out.len() < 10_000, "and it is not repeated whole");
}

#[test]
fn hundred_thousand_tiny_records_are_read() {
    let folder = folder_of(&[]);
    let path = path_of(&folder, "strip.txt");
    let n = 100_000;
    std::fs::write(&path, "loadbook printout 1\nend\n".repeat(n)).unwrap();
    let read = run_upon(&["read", "PATH", "--format", "json"], &path);
    let report: serde_json::Value = serde_json::from_slice(&read.out).unwrap();
    assert_eq!(report["total"]["n_printouts"], n);
    let review = run_upon(&["review", "PATH"], &path);
    assert_inert(&review);
}

/// `read` holds the records of one file at a time.
#[test]
fn tiny_records_in_many_files_need_the_room_of_the_largest_alone() {
    let peak_of = |n_files: usize| {
        let folder = folder_of(&[]);
        for file in 0..n_files {
            let text: String = (1..=2_000)
                .map(|n| {
                    format!(
                        "loadbook printout 1\nunit: PL-{file}\nprocess: plasma\ncounter: {n}\n\
                         started: 2026-03-12 07:42\nended: 08:12:00\noutcome: completed\nend\n"
                    )
                })
                .collect();
            std::fs::write(path_of(&folder, &format!("strip-{file}.txt")), text).unwrap();
        }
        let run = run_upon(&["read", "PATH", "--format", "json"], folder.path());
        let report: serde_json::Value = serde_json::from_slice(&run.out).unwrap();
        assert_eq!(report["total"]["n_printouts"], n_files * 2_000);
        run.peak
    };
    // Only Linux tells.
    if let (Some(few), Some(many)) = (peak_of(4), peak_of(32)) {
        assert!(many < few * 3 / 2, "{few} and {many} KiB");
    }
}

#[test]
fn hundred_thousand_stages_in_one_cycle_are_one_cycle() {
    let of_one_name: fn(u32) -> String = |_| "plasma".to_owned();
    let of_many: fn(u32) -> String = |n| format!("plasma-{}", n % 20_000);
    for name in [of_one_name, of_many] {
        let mut strip = String::new();
        let (before, after) = HEALTHY.split_once("stage: plasma").unwrap();
        strip.push_str(before);
        for n in 0..100_000_u32 {
            let _ = writeln!(strip, "stage: {}, at 07:50:10, pulses {n}", name(n));
        }
        let _ = write!(strip, "stage: plasma{after}");
        assert_stages_are_kept(&strip);
    }
}

fn assert_stages_are_kept(strip: &str) {
    let folder = folder_of(&[("strip.txt", strip.as_bytes())]);
    for command in [
        &["read", "PATH"][..],
        &["review", "PATH"],
        &["release", "PATH"],
        &["show", "PL-1:1042", "PATH"],
        &["convert", "PATH"],
    ] {
        assert_inert(&run_upon(command, folder.path()));
    }
    let convert = run_upon(&["convert", "PATH"], folder.path());
    let n = String::from_utf8(convert.out)
        .unwrap()
        .matches("stage: plasma")
        .count();
    assert_eq!(n, 100_001);
}

#[test]
fn cell_that_is_never_closed_and_a_row_of_60_000_cells_leave_the_rows_around_them() {
    let header = "loadbook log 1,date,time,about,by,note\n";
    let row = "release,2026-03-12,08:26,P1-0312-01,HB,\n";
    for hostile in [
        format!("remark,\"{}\n", "x\n".repeat(50_000)),
        format!("{}\n", ",".repeat(60_000)),
        format!("{}\n", "\"".repeat(60_001)),
        format!("{}\n", "\"\",".repeat(10_000)),
    ] {
        let log = format!("{header}{row}{hostile}{row}");
        let folder = folder_of(&[("log.csv", log.as_bytes())]);
        for run in run_all(folder.path()) {
            assert_inert(&run);
        }
        let read = run_upon(&["read", "PATH", "--format", "json"], folder.path());
        let report: serde_json::Value = serde_json::from_slice(&read.out).unwrap();
        assert_eq!(
            report["total"]["n_entries"], 2,
            "the rows before and after it"
        );
    }
}

/// A cycle of nothing but its names.
fn cycle_of(unit: usize, counter: usize, load: usize, day: chrono::NaiveDate) -> String {
    format!(
        "loadbook printout 1\nunit: U{unit}\nprocess: plasma\ncounter: {counter}\nload: L{load}\n\
         started: {day} 07:42\nended: 08:12:00\noutcome: completed\nend\n"
    )
}

#[test]
fn thousands_of_units_reprints_and_days_of_one_number_end() {
    let n = 3_000;
    let first = chrono::NaiveDate::from_ymd_opt(2001, 1, 1).unwrap();
    let days: Vec<_> = first.iter_days().take(n).collect();
    let units: String = (0..n).map(|i| cycle_of(i, 1, i, first)).collect();
    let reprints: String = (0..n).map(|i| cycle_of(1, 1, i, first)).collect();
    let torn = reprints.replace("ended: 08:12:00\noutcome: completed\nend\n", "");
    let one_number: String = (0..n).map(|i| cycle_of(i % 3, i, 1, days[i])).collect();
    for strip in [units, reprints, torn, one_number] {
        let folder = folder_of(&[("strip.txt", strip.as_bytes())]);
        let review = run_upon(&["review", "PATH"], folder.path());
        assert_inert(&review);
        assert!(review.says("3000 "), "{}", review.said());
    }
}

#[test]
fn number_that_many_units_carry_is_told_a_hundred_times_for_each_load() {
    let day = chrono::NaiveDate::from_ymd_opt(2026, 3, 12).unwrap();
    let strip: String = (0..300).map(|i| cycle_of(i, 1, 1, day)).collect();
    let folder = folder_of(&[("strip.txt", strip.as_bytes())]);
    let review = run_upon(&["review", "PATH", "--format", "json"], folder.path());
    assert_eq!(review.code, 1);
    let shown = run_upon(&["show", "L1", "PATH"], folder.path());
    assert_inert(&shown);
    let said = shown
        .said()
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    assert!(
        said.contains("more than 100 loads of other units carry the same number"),
        "{said}"
    );
}

/// A vial of a load of [`cycle_of`], read on the day after.
fn vial_of(load: usize, day: chrono::NaiveDate, minute: usize, lot: usize, result: &str) -> String {
    let (hour, minute) = (9 + minute / 60, minute % 60);
    let next = day.succ_opt().unwrap();
    format!(
        "{next} {hour:02}:{minute:02} bi: L{load}, role test, lot B{lot}, incubated {day} 09:00, \
         read {next} {hour:02}:{minute:02}, result {result}, by HB\n"
    )
}

/// One unit with a load and a vial a day.
fn a_vial_a_day(
    n: usize,
    lot: fn(usize) -> usize,
    result: impl Fn(usize) -> &'static str,
) -> String {
    let first = chrono::NaiveDate::from_ymd_opt(2001, 1, 1).unwrap();
    let days: Vec<_> = first.iter_days().take(n).collect();
    let cycles: String = (0..n).map(|i| cycle_of(1, i + 1, i, days[i])).collect();
    let vials = (0..n).map(|i| vial_of(i, days[i], 0, lot(i), result(i)));
    format!("{cycles}loadbook log 1\n{}", vials.collect::<String>())
}

#[test]
fn growing_indicators_of_one_unit_are_told_twenty_times_on_either_side_of_a_load() {
    let strip = a_vial_a_day(120, |_| 1, |_| "growth");
    let folder = folder_of(&[("strip.txt", strip.as_bytes())]);
    let shown = run_upon(&["show", "L30", "PATH"], folder.path());
    assert_inert(&shown);
    let said = shown.words();
    assert_eq!(said.matches("in the same unit grew").count(), 40, "{said}");
    assert!(
        said.contains("further indicators of the unit grew"),
        "{said}"
    );
    let near_the_end = run_upon(&["show", "L5", "PATH"], folder.path());
    let said = near_the_end.words();
    assert_eq!(said.matches("in the same unit grew").count(), 25, "{said}");
    let recall = run_upon(&["recall", "PATH"], folder.path());
    assert_inert(&recall);
    assert_eq!(recall.words().matches("WHY: L").count(), 120, "all of them");
}

#[test]
fn hundreds_of_loads_around_growth_and_of_vials_of_one_load_end() {
    let n = 400;
    let first = chrono::NaiveDate::from_ymd_opt(2001, 1, 1).unwrap();
    let ends = move |i| {
        if i == 0 || i == n - 1 {
            "growth"
        } else {
            "no growth"
        }
    };
    let between = a_vial_a_day(n, |_| 1, ends);
    let all_grew = a_vial_a_day(n, |_| 1, |_| "growth");
    let one_day: String = (0..n).map(|i| cycle_of(1, i + 1, i, first)).collect();
    let vials = (0..n).map(|i| vial_of(i, first, i % 900, i, "no growth"));
    let lots = format!("{one_day}loadbook log 1\n{}", vials.collect::<String>());
    let vials = (0..n).map(|i| vial_of(1, first, i % 900, i, "no growth"));
    let cycle = cycle_of(1, 1, 1, first);
    let one_load = format!("{cycle}loadbook log 1\n{}", vials.collect::<String>());
    let vials = (0..n).map(|i| vial_of(1, first, i % 900, 1, "growth"));
    let no_unit = format!("loadbook log 1\n{}", vials.collect::<String>());
    for strip in [between, all_grew, lots, one_load, no_unit] {
        let folder = folder_of(&[("strip.txt", strip.as_bytes())]);
        let read = run_upon(&["read", "PATH", "--format", "json"], folder.path());
        let report: serde_json::Value = serde_json::from_slice(&read.out).unwrap();
        assert_eq!(report["total"]["n_entries"], n);
        for command in ["review", "recall"] {
            let run = run_upon(&[command, "PATH"], folder.path());
            assert_inert(&run);
            assert!(run.code < 2, "{}", run.said());
        }
    }
}
