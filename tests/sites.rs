//! Many departments side by side. The truth is what the simulation counted while it ran (its answer sheets), not what any
//! reader made of it.

use clap::Parser;
use loadbook::cli::simulate::{SimulateArgs, run as simulate};
use loadbook::cli::sites::{SitesCommand, run_on};
use loadbook::cli::{Cli, Command};
use loadbook::parallel::Threads;
use loadbook::simulate::truth::{Share, Truth};
use serde_json::Value;
use std::fs;
use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

/// A region of two departments, and the truth of each.
struct Region {
    folder: tempfile::TempDir,
    truths: Vec<Truth>,
    report: Value,
}

impl Region {
    fn path(&self) -> PathBuf {
        self.folder.path().join("region")
    }

    fn site(&self, name: &str) -> &Value {
        row_of(&self.report, name)
    }
}

/// Long enough for the bad lot of indicators, from day 36 to 47; a BI grows on day 57.
static REGION: LazyLock<Region> = LazyLock::new(|| {
    let folder = tempfile::tempdir().unwrap();
    let region = folder.path().join("region");
    let sheets = folder.path().join("sheets");
    fs::create_dir(&sheets).unwrap();
    let args = simulate_args(&["--sites", "2", "--days", "59"], &region, &sheets);
    let truths = (1..=2)
        .map(|number| simulate(&args.of_site(number)).unwrap().truth)
        .collect();
    let (out, err, code) = run(&[shown(&region), "--format", "json"], 2);
    assert_eq!((err.as_str(), code), ("", 1));
    Region {
        report: serde_json::from_str(&out).unwrap(),
        folder,
        truths,
    }
});

fn shown(path: &Path) -> &str {
    path.to_str().unwrap()
}

fn simulate_args(options: &[&str], out: &Path, answer: &Path) -> SimulateArgs {
    let mut words = vec![
        "loadbook",
        "simulate",
        "--out",
        shown(out),
        "--answer",
        shown(answer),
    ];
    words.extend_from_slice(options);
    match Cli::try_parse_from(words).unwrap().command {
        Command::Simulate(args) => args,
        _ => unreachable!("another command"),
    }
}

/// Runs `loadbook sites` with so many sites side by side: what it prints, what it says of errors, its exit code.
fn run(args: &[&str], n_threads: usize) -> (String, String, u8) {
    let words = ["loadbook", "sites"].iter().chain(args);
    let command: SitesCommand = match Cli::try_parse_from(words).unwrap().command {
        Command::Sites(command) => command,
        _ => unreachable!("another command"),
    };
    let mut err = Vec::new();
    let threads = Threads::of(NonZeroUsize::new(n_threads).unwrap());
    let (out, exit) = run_on(&command, threads, &mut err).unwrap();
    (out, String::from_utf8(err).unwrap(), exit.code())
}

fn row_of<'r>(report: &'r Value, name: &str) -> &'r Value {
    let mut rows = report["sites"].as_array().unwrap().iter();
    rows.find(|row| row["site"] == name).unwrap()
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let target = to.join(path.file_name().unwrap());
        if path.is_dir() {
            copy(&path, &target);
        } else {
            fs::copy(path, target).unwrap();
        }
    }
}

fn sum<'c>(counts: impl Iterator<Item = &'c usize>) -> u64 {
    counts.map(|n| *n as u64).sum()
}

#[test]
fn each_site_has_the_counts_of_its_answer_sheet() {
    let mut totals = [0_u64; 4];
    for (truth, name) in REGION.truths.iter().zip(["site-001", "site-002"]) {
        let row = REGION.site(name);
        let of_loads = truth.n_cycles.iter().filter(|(key, _)| key.1 == "load");
        let stated = [
            truth.n_printouts() as u64,
            sum(of_loads.map(|(_, n)| n)),
            sum(truth.aborts.values()) + sum(truth.rejections.values()),
            truth.planted["bi-growth"].n as u64,
        ];
        let keys = ["n_cycles", "n_load_cycles", "n_failed", "n_bi_growths"];
        for ((key, stated), total) in keys.iter().zip(stated).zip(&mut totals) {
            assert_eq!(row[*key], stated, "{name} {key}");
            *total += stated;
        }
        let by_process = row["processes"].as_array().unwrap().iter();
        let in_all: u64 = by_process
            .map(|row| row["n_failed"].as_u64().unwrap())
            .sum();
        assert_eq!(in_all, stated[2]);
        assert_eq!(
            (&row["n_units"], &row["state"]),
            (&6.into(), &"read".into())
        );
    }
    let all = &REGION.report["totals"];
    assert_eq!((&all["n_sites"], &all["n_units"]), (&2.into(), &12.into()));
    assert_eq!(all["n_cycles"], totals[0]);
    assert_eq!(all["n_load_cycles"], totals[1]);
    assert_eq!(all["n_failed"], totals[2]);
    assert_eq!(all["n_bi_growths"], totals[3]);
    // 59 days from 5 January: to 4 March.
    assert_eq!(
        (&all["first_day"], &all["last_day"], &all["n_days"]),
        (&"2026-01-05".into(), &"2026-03-04".into(), &59.into())
    );
}

#[test]
fn each_site_says_what_its_own_review_says() {
    let path = REGION.path().join("site-002");
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let words = ["loadbook", "review", shown(&path), "--format", "json"];
    loadbook::cli::run(words, &mut out, &mut err);
    let review: Value = serde_json::from_slice(&out).unwrap();
    let row = REGION.site("site-002");
    for key in ["n_cycles", "n_loads", "n_units", "decisions", "cautions"] {
        assert_eq!(row[key], review[key], "{key}");
    }
    let findings = review["findings"]["findings"].as_array().unwrap();
    assert_eq!(row["n_findings"], findings.len());
    assert_eq!(row["gravest"]["said"], findings[0]["said"]);
    assert_eq!(row["gravest"]["what"], "BI growth");
    assert_eq!(row["n_comparisons"], review["findings"]["n_comparisons"]);
}

#[test]
fn lot_that_is_bad_at_every_site_stands_out_and_no_other() {
    // Answer sheets, trouble 4: lot C2258 of internal CIs is bad at the General, on PL-1 and PL-2, at both sites alike.
    let lots = &REGION.report["lots"];
    assert_eq!(lots["n_stand_out"], 1);
    let row = &lots["rows"][0];
    assert_eq!(
        (&row["lot"], &row["position"], &row["process"]),
        (&"C2258".into(), &"internal".into(), &"plasma".into())
    );
    assert_eq!(
        (&row["n_sites"], &row["n_sites_failed"]),
        (&2.into(), &2.into())
    );
    // What the logs hold of it. An entry whose load number has a slip is not joined to a cycle, and not counted.
    let mut stated = Share::default();
    for truth in &REGION.truths {
        for unit in ["PL-1", "PL-2"] {
            let share = truth.cis[&("C2258".to_owned(), unit.to_owned())];
            stated.of += share.of;
            stated.n += share.n;
        }
    }
    let counted = |key: &str| usize::try_from(row[key].as_u64().unwrap()).unwrap();
    let (n_used, n_failed) = (counted("n_used"), counted("n_failed"));
    assert!(
        n_used <= stated.of && n_used * 20 >= stated.of * 19,
        "{n_used} {}",
        stated.of
    );
    assert!(
        n_failed <= stated.n && n_failed + 3 >= stated.n,
        "{n_failed} {}",
        stated.n
    );
    // Simulated: 8.5 % of it fail, 0.2 % of the others.
    let effect = &row["effect"];
    let (low, high) = (
        effect["low"].as_f64().unwrap(),
        effect["high"].as_f64().unwrap(),
    );
    assert!(low < 0.085 / 0.002 && 0.085 / 0.002 < high, "{low} {high}");
    // Both sites run alike.
    assert_eq!(REGION.report["shares"]["n_comparisons"], 2);
    assert_eq!(REGION.report["shares"]["n_stand_out"], 0);
}

/// A region with all that can be among sites: a department, an archive of it, a damaged archive, an empty folder, loose
/// files, and a folder whose name would steer a terminal.
fn mixed_region() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path();
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/commands/day");
    copy(&sample, &root.join("b-folder"));
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let archive = root.join("c-archive");
    let words = [
        "loadbook",
        "archive",
        "add",
        shown(&archive),
        shown(&sample),
    ];
    loadbook::cli::run(words, &mut out, &mut err);
    assert!(
        archive.join("manifest.jsonl").is_file(),
        "{}",
        String::from_utf8_lossy(&err)
    );
    fs::create_dir(root.join("d-damaged")).unwrap();
    fs::write(root.join("d-damaged/manifest.jsonl"), "no manifest\n").unwrap();
    fs::create_dir(root.join("e-empty")).unwrap();
    copy(&sample, &root.join("f-\u{1b}[2J\n"));
    fs::create_dir(root.join(".hidden")).unwrap();
    fs::write(root.join("loose.log"), "loadbook log 1\n").unwrap();
    folder
}

#[test]
fn whatever_the_threads_the_same_is_printed() {
    let folder = mixed_region();
    let root = shown(folder.path());
    let expected = run(&[root], 1);
    for n_threads in [2, 4, 50] {
        assert_eq!(run(&[root], n_threads), expected, "{n_threads} threads");
    }
    let json = run(&[root, "--format", "json"], 1);
    assert_eq!(run(&[root, "--format", "json"], 4), json);
}

#[test]
fn site_that_cannot_be_read_is_a_row_that_says_so_and_the_others_go_on() {
    let folder = mixed_region();
    let (out, err, code) = run(&[shown(folder.path()), "--format", "json"], 2);
    assert_eq!(code, 2);
    let report: Value = serde_json::from_str(&out).unwrap();
    let state = |name: &str| row_of(&report, name)["state"].as_str().unwrap().to_owned();
    assert_eq!(state("b-folder"), "read");
    assert_eq!(state("e-empty"), "nothing-read");
    assert_ne!(state("d-damaged"), "read");
    assert!(row_of(&report, "d-damaged")["problems"][0].is_string());
    assert_eq!(report["totals"]["n_sites"], 3);
    assert_eq!(report["totals"]["n_at_fault"], 2);
    assert_eq!(report["sites"].as_array().unwrap().len(), 5);
    assert!(err.contains("e-empty: error: nothing was read"), "{err}");
    assert!(err.contains("d-damaged: error: "), "{err}");
    let left_out = report["left_out"].as_array().unwrap();
    assert_eq!(left_out.len(), 1);
    assert!(left_out[0]["path"].as_str().unwrap().ends_with("loose.log"));
}

#[test]
fn archive_is_a_site_with_the_counts_of_the_files_that_were_added() {
    let folder = mixed_region();
    let (out, ..) = run(&[shown(folder.path()), "--format", "json"], 2);
    let report: Value = serde_json::from_str(&out).unwrap();
    let mut rows = ["b-folder", "c-archive"].map(|name| row_of(&report, name).clone());
    assert_eq!(
        (&rows[0]["kind"], &rows[1]["kind"]),
        (&"folder".into(), &"archive".into())
    );
    for row in &mut rows {
        for key in ["site", "path", "kind"] {
            row[key] = Value::Null;
        }
    }
    assert_eq!(rows[0], rows[1]);
    // tests/commands/day: units EO-1, PL-1, PL-2 and ST-1, as the snapshots of its review have it.
    assert_eq!(rows[1]["n_units"], 4);
}

#[test]
fn what_is_drawn_fits_its_width_steers_nothing_and_says_what_to_do() {
    let folder = mixed_region();
    let root = shown(folder.path());
    for width in ["60", "80", "120"] {
        let (out, err, _) = run(&[root, "--width", width], 2);
        let widest = crate::commands::widest(&out);
        assert!(widest <= width.parse().unwrap(), "{out}");
        assert!(!format!("{out}{err}").contains('\u{1b}'));
        let words = out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(words.starts_with("SITES: 3 sites, 12 units, "), "{out}");
        let path: String = out.split_whitespace().collect();
        assert!(
            path.contains(&format!("`loadbookreview{root}/b-folder`")),
            "{out}"
        );
        assert!(
            path.contains(&format!("`loadbookreview--archive{root}/c-archive`")),
            "{out}"
        );
        assert!(
            words.contains("LEFT OUT:") && words.contains("NOT READ: e-empty"),
            "{out}"
        );
    }
}

#[test]
fn sites_are_narrowed_alike_and_one_without_the_unit_is_left_out() {
    let folder = tempfile::tempdir().unwrap();
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/commands/day");
    copy(&sample, &folder.path().join("all"));
    fs::create_dir(folder.path().join("other")).unwrap();
    let strip = "loadbook printout 1\nunit: XX-1\nprocess: steam\nprogram: standard\ncounter: 7\nload: X1-7\noperator: HB\n\
         started: 2026-03-12 07:41:20\nended: 08:22:05\noutcome: completed\nend\n";
    fs::write(folder.path().join("other/strip.txt"), strip).unwrap();
    let root = shown(folder.path());
    let (out, err, code) = run(&[root, "--unit", "PL-1", "--format", "json"], 2);
    let report: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(row_of(&report, "all")["n_units"], 1);
    assert_eq!(row_of(&report, "other")["state"], "left-out");
    assert_eq!((err.as_str(), code), ("", 1));
    // A unit that no site has is a slip.
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let words = ["loadbook", "sites", root, "--unit", "PL-9"];
    let exit = loadbook::cli::run(words, &mut out, &mut err);
    assert_eq!(exit.code(), 2);
    assert!(String::from_utf8_lossy(&err).contains("PL-9"));
}

#[test]
fn paths_that_hold_no_site_are_told() {
    let folder = mixed_region();
    let root = folder.path();
    let run = |path: &Path| {
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let exit = loadbook::cli::run(["loadbook", "sites", shown(path)], &mut out, &mut err);
        (exit.code(), String::from_utf8(err).unwrap())
    };
    let (code, err) = run(&root.join("c-archive"));
    assert!(code == 2 && err.contains("is an archive itself"), "{err}");
    let (code, err) = run(&root.join("e-empty"));
    assert!(code == 2 && err.contains("there is no site"), "{err}");
    let (code, err) = run(&root.join("nowhere"));
    assert!(code == 2 && err.contains("can't be read"), "{err}");
}

#[test]
fn folders_of_one_name_are_told_apart_by_their_paths() {
    let folder = tempfile::tempdir().unwrap();
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/commands/day");
    for part in ["north", "south"] {
        copy(&sample, &folder.path().join(part).join("annexe"));
    }
    let (north, south) = (folder.path().join("north"), folder.path().join("south"));
    let args = [
        shown(&north),
        shown(&south),
        shown(&north),
        "--format",
        "json",
    ];
    let (out, ..) = run(&args, 2);
    let report: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(report["totals"]["n_sites"], 2);
    row_of(&report, shown(&north.join("annexe")));
    row_of(&report, shown(&south.join("annexe")));
}
