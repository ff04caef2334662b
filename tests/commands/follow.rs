use super::{Run, run, run_with_input, widest};
use std::collections::BTreeSet;
use std::io::Write;
use std::path::Path;

/// A printout of a cycle: its counter, and the outcome it ended with.
fn strip(counter: u32, outcome: &str) -> String {
    format!(
        "loadbook printout 1\nunit: PL-1\nprocess: plasma\nprogram: standard\ncounter: {counter}\nload: P1-{counter}\n\
         operator: HB\nstarted: 2026-03-12 {:02}:41:20\nstage: evacuate, at {:02}:41:30\nended: {:02}:52:05\n\
         outcome: {outcome}\nend\n",
        counter % 20,
        counter % 20,
        counter % 20
    )
}

fn shown(path: &Path) -> &str {
    path.to_str().unwrap()
}

fn once(folder: &Path, more: &[&str]) -> Run {
    let mut args = vec!["follow", shown(folder), "--once"];
    args.extend_from_slice(more);
    run(&args)
}

/// The lines that tell of a load.
fn told<'a>(run: &'a Run, load: &str) -> Vec<&'a str> {
    run.out.lines().filter(|line| line.contains(load)).collect()
}

#[test]
fn one_look_tells_what_needs_a_person_in_the_order_of_the_records() {
    let folder = tempfile::tempdir().unwrap();
    // The later one lies in the file that is read first.
    std::fs::write(
        folder.path().join("a.txt"),
        strip(9, "aborted, stage evacuate, cause moisture"),
    )
    .unwrap();
    std::fs::write(
        folder.path().join("b.txt"),
        strip(7, "rejected, cause moisture") + &strip(8, "completed"),
    )
    .unwrap();
    let run = once(folder.path(), &[]);
    assert_eq!(run.code, 1);
    let lines: Vec<&str> = run
        .out
        .lines()
        .filter(|line| line.starts_with("2026"))
        .collect();
    assert!(
        lines[0].starts_with("2026-03-12 07:52  PL-1  P1-7  LOAD REJECTED: rejected: moisture"),
        "{}",
        run.out
    );
    assert!(
        lines[1].starts_with("2026-03-12 09:52  PL-1  P1-9  CYCLE ABORTED: aborted in evacuate"),
        "{}",
        run.out
    );
    assert_eq!(lines.len(), 2);
    assert!(
        run.out.contains("b.txt:11") && run.out.contains("TAKE CARE: Peroxide"),
        "{}",
        run.out
    );
    assert!(
        run.out
            .ends_with("Followed 2 files: 3 cycles, 0 log entries. 2 facts told.\n"),
        "{}",
        run.out
    );
    assert!(widest(&run.out) <= 80);
}

#[test]
fn with_an_archive_each_fact_is_told_once_across_restarts_and_rotations() {
    let folder = tempfile::tempdir().unwrap();
    let (strips, root) = (folder.path().join("strips"), folder.path().join("archive"));
    std::fs::create_dir(&strips).unwrap();
    let more = ["--archive", shown(&root)];
    let file = strips.join("PL-1.txt");
    let first = strip(7, "aborted, stage evacuate, cause moisture");
    let second = strip(8, "rejected, cause moisture");
    let half = second.len() - 10;
    std::fs::write(&file, first.clone() + &second[..half]).unwrap();
    let run_1 = once(&strips, &more);
    assert_eq!(
        (
            told(&run_1, "P1-7").len(),
            told(&run_1, "P1-8").len(),
            run_1.code
        ),
        (1, 0, 1)
    );
    assert!(
        run_1.out.contains("1 printout has not ended"),
        "{}",
        run_1.out
    );
    let run_2 = once(&strips, &more);
    assert!(
        run_2
            .out
            .starts_with("Followed 1 file: 1 cycle, 0 log entries. 0 facts told, 1 told before."),
        "{}",
        run_2.out
    );
    assert_eq!(run_2.code, 0);
    std::fs::write(&file, first.clone() + &second).unwrap();
    let run_3 = once(&strips, &more);
    assert_eq!(
        (told(&run_3, "P1-7").len(), told(&run_3, "P1-8").len()),
        (0, 1)
    );
    // Rotated: renamed, and a new file under the name.
    std::fs::rename(&file, strips.join("PL-1.1.txt")).unwrap();
    std::fs::write(&file, strip(9, "aborted, stage evacuate, cause moisture")).unwrap();
    let run_4 = once(&strips, &more);
    assert_eq!(
        (
            told(&run_4, "P1-7").len(),
            told(&run_4, "P1-8").len(),
            told(&run_4, "P1-9").len()
        ),
        (0, 0, 1)
    );
    // The folder is lost: the archive has it all, and is sound.
    std::fs::remove_dir_all(&strips).unwrap();
    std::fs::create_dir(&strips).unwrap();
    let run_5 = once(&strips, &more);
    assert!(
        run_5.out.contains("3 cycles") && run_5.out.contains("0 facts told, 3 told before"),
        "{}",
        run_5.out
    );
    let verified = run(&["archive", "verify", shown(&root)]);
    assert_eq!(verified.code, 0, "{}", verified.out);
    let review = run(&["review", "--archive", shown(&root), "--format", "json"]);
    let review: serde_json::Value = serde_json::from_str(&review.out).unwrap();
    let n_aborted = review["needs"]
        .as_array()
        .unwrap()
        .iter()
        .find(|need| need["kind"] == "cycle-aborted")
        .unwrap();
    assert_eq!(n_aborted["n_found"], 2);
}

#[test]
fn a_pipe_tells_as_it_comes_and_its_end_within_a_cycle_is_told_as_torn() {
    let whole = strip(7, "aborted, stage evacuate, cause moisture") + &strip(8, "completed");
    let run = run_with_input(
        &["follow", "-"],
        (whole.clone() + &strip(9, "completed")[..150]).as_bytes(),
    );
    assert_eq!(
        (told(&run, "P1-7").len(), told(&run, "P1-8").len(), run.code),
        (1, 0, 1)
    );
    assert!(
        told(&run, "P1-9")[0].contains("PRINTOUT TORN OFF"),
        "{}",
        run.out
    );
    let fine = run_with_input(&["follow", "-"], strip(8, "completed").as_bytes());
    assert_eq!(fine.code, 0, "{}", fine.out);
    let nothing = run_with_input(&["follow", "-"], b"");
    assert_eq!(nothing.code, 2);
    assert!(nothing.err.contains("nothing was read"));
}

/// What is told while the pipe is open, and what of it is in the archive after a kill.
#[cfg(unix)]
#[test]
fn a_killed_follower_loses_no_cycle_whose_end_had_come() {
    use std::io::{BufRead, BufReader};
    use std::process::{Command, Stdio};
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("archive");
    let mut child = Command::new(env!("CARGO_BIN_EXE_loadbook"))
        .args(["follow", "-", "--archive", shown(&root)])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut pipe = child.stdin.take().unwrap();
    let strip_7 = strip(7, "aborted, stage evacuate, cause moisture");
    pipe.write_all((strip_7 + &strip(8, "completed")[..100]).as_bytes())
        .unwrap();
    pipe.flush().unwrap();
    // It is told while the pipe is open.
    let mut line = String::new();
    BufReader::new(child.stdout.take().unwrap())
        .read_line(&mut line)
        .unwrap();
    assert!(line.contains("P1-7  CYCLE ABORTED"), "{line}");
    child.kill().unwrap();
    child.wait().unwrap();
    let review = run(&["review", "--archive", shown(&root), "--format", "json"]);
    assert!(
        review.out.contains("P1-7") && !review.out.contains("P1-8"),
        "{}",
        review.out
    );
    assert_eq!(run(&["archive", "verify", shown(&root)]).code, 0);
}

#[cfg(unix)]
#[test]
fn an_interrupt_ends_it_with_the_last_line() {
    use std::process::{Command, Stdio};
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(
        folder.path().join("a.txt"),
        strip(7, "aborted, stage evacuate, cause moisture"),
    )
    .unwrap();
    let child = Command::new(env!("CARGO_BIN_EXE_loadbook"))
        .args(["follow", shown(folder.path()), "--every", "1"])
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    std::thread::sleep(std::time::Duration::from_secs(2));
    let killed = Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status()
        .unwrap();
    assert!(killed.success());
    let output = child.wait_with_output().unwrap();
    let out = String::from_utf8(output.stdout).unwrap();
    assert_eq!(output.status.code(), Some(1), "{out}");
    assert!(out.ends_with("1 fact told.\n"), "{out}");
}

#[test]
fn misuse_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(run(&["follow", "nowhere", "--once"]).code, 2);
    assert_eq!(once(folder.path(), &[]).code, 2);
    assert_eq!(
        run(&["follow", shown(folder.path()), "--every", "0"]).code,
        2
    );
    assert_eq!(run(&["follow"]).code, 2);
}

#[test]
fn hostile_text_is_inert_and_fits() {
    let folder = tempfile::tempdir().unwrap();
    let hostile = strip(7, "aborted, stage evacuate, cause moisture")
        .replace("P1-7", "P\u{1b}[2J1-7\u{202e}")
        .replace("PL-1", &"U\u{7}".repeat(200));
    std::fs::write(folder.path().join("a\u{1b}[31m.txt"), hostile).unwrap();
    let run = once(folder.path(), &["--idle", "0"]);
    for text in [&run.out, &run.err] {
        assert!(
            !text.chars().any(|c| c.is_control() && c != '\n'),
            "{text:?}"
        );
        assert!(!text.contains('\u{202e}'));
    }
    assert!(widest(&run.out) <= 80, "{}", run.out);
}

/// The files of a month with their names; and for each day how many bytes of each had come by its end.
type Days = (Vec<(String, Vec<u8>)>, Vec<Vec<usize>>);

/// A month of the samples, as far as each day had come: for each file its name and how many of its bytes.
fn days(month: &str) -> Days {
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/fennmarsh");
    let mut files = Vec::new();
    for entry in walkdir::WalkDir::new(&samples).sort_by_file_name() {
        let entry = entry.unwrap();
        let name = entry.file_name().to_str().unwrap();
        if entry.file_type().is_file() && name.contains(month) {
            let below = entry.path().strip_prefix(&samples).unwrap();
            files.push((
                shown(below).to_owned(),
                std::fs::read(entry.path()).unwrap(),
            ));
        }
    }
    let mut days = Vec::new();
    for day in 1..=31 {
        let last = format!("{month}-{day:02}");
        let sizes = files.iter().map(|(name, bytes)| {
            let text = std::str::from_utf8(bytes).unwrap();
            let (mut n, mut at) = (text.len(), 0);
            let mut opening = 0;
            for line in text.split_inclusive('\n') {
                if line.starts_with("loadbook printout") {
                    opening = at;
                }
                let date = match name.ends_with(".csv") {
                    true => line.split(',').nth(1),
                    false => line
                        .strip_prefix("started: ")
                        .or(line.strip_prefix("date: ")),
                };
                let date = date
                    .and_then(|date| date.get(..10))
                    .filter(|date| date.starts_with("20"));
                if date.is_some_and(|date| date > last.as_str() && date.starts_with(month)) {
                    n = if line.starts_with("started: ") {
                        opening
                    } else {
                        at
                    };
                    break;
                }
                at += line.len();
            }
            n
        });
        days.push(sizes.collect());
    }
    (files, days)
}

/// The answer is the review's of the whole month: whatever is open in it at the end was told on some day. What was told
/// and is not open in the end was dealt with since, or was so as the records stood that day.
#[test]
fn following_a_month_day_by_day_tells_every_need_that_the_review_has_open_at_its_end() {
    use loadbook::cli::follower::{Follower, Silence, Ways};
    use loadbook::judge::policy::{PolicyBook, Preset};
    use loadbook::parse::{LayoutChoice, Strictness};
    let (files, days) = days("2026-03");
    let mut follower = Follower::new(Ways {
        strictness: Strictness::Infer,
        choice: LayoutChoice::Neutral,
        zone: None,
        book: PolicyBook::of_preset(Preset::Cdc2008),
    });
    let mut keys = BTreeSet::new();
    let mut told: BTreeSet<(String, String)> = BTreeSet::new();
    for sizes in days {
        for ((name, bytes), n) in files.iter().zip(sizes) {
            follower.take(name, &bytes[..n], Silence::MayEnd);
        }
        for fact in follower.find_facts().unwrap_or_default() {
            if keys.insert(fact.key) {
                told.insert((fact.what.to_owned(), fact.load.unwrap_or_default()));
            }
        }
    }
    let folder = tempfile::tempdir().unwrap();
    for (name, bytes) in &files {
        let path = folder.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, bytes).unwrap();
    }
    let review = run(&["review", shown(folder.path()), "--format", "json"]);
    let review: serde_json::Value = serde_json::from_str(&review.out).unwrap();
    // What the review has, by the words in which it is told: open, and dealt with.
    let (mut open, mut settled) = (BTreeSet::new(), BTreeSet::new());
    for need in review["needs"].as_array().unwrap() {
        let what = match need["kind"].as_str().unwrap() {
            "bi-growth"
            | "recall-scope"
            | "bi-control-no-growth"
            | "ci-not-reached"
            | "unit-test-failed"
            | "cycle-aborted"
            | "load-rejected"
            | "released-lacking"
            | "printout-torn" => need["said"].as_str().unwrap(),
            // Told by the rule that speaks against the load.
            "evidence-against" => "Stage too short",
            _ => continue,
        };
        for case in need["cases"].as_array().unwrap() {
            let load = case["load"].as_str().unwrap_or_default().to_owned();
            let set = if case["state"] == "settled" {
                &mut settled
            } else {
                &mut open
            };
            set.insert((what.to_owned(), load));
        }
    }
    let missed: Vec<_> = open.difference(&told).collect();
    assert!(missed.is_empty(), "not told: {missed:?}");
    assert!(
        open.len() > 5 && settled.len() > 5,
        "{} {}",
        open.len(),
        settled.len()
    );
    // A scope ends, and what was lacking at the release comes in, when later records say so; it was told before they did.
    let changes = [
        "In a recall scope",
        "Released against records",
        "Released, records lacking",
    ];
    let beyond = told
        .iter()
        .filter(|fact| !open.contains(*fact) && !settled.contains(*fact));
    let unexplained: Vec<_> = beyond
        .filter(|(what, _)| !changes.contains(&what.as_str()))
        .collect();
    assert!(
        unexplained.is_empty(),
        "told without reason: {unexplained:?}"
    );
}
