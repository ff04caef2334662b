//! What real strips do: each folder of samples/damaged holds one fault, and its right answer, written by hand, stands in
//! tests/cases/damaged under the same name (how to read it: README.md there).

use crate::conservation::without_places;
use crate::line_account::{count_lines, find_breach};
use loadbook::parse::{Records, Strictness, read_inputs};
use loadbook::reconcile::{Site, join_history};
use loadbook::record::cycle::{Checksum, Cycle, Outcome};
use loadbook::record::entry::Entry;
use loadbook::source::gather::gather;
use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn faults() -> Vec<String> {
    let mut faults: Vec<String> = std::fs::read_dir(root().join("samples/damaged"))
        .unwrap()
        .map(|folder| folder.unwrap().file_name().into_string().unwrap())
        .collect();
    faults.sort();
    faults
}

fn files_of(fault: &str) -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> = std::fs::read_dir(root().join("samples/damaged").join(fault))
        .unwrap()
        .map(|file| file.unwrap().path())
        .collect();
    files.sort();
    files
}

/// What was read from a fault's folder, in the answer's own words.
struct Seen {
    /// `cycle …` lines, in the order of the input.
    cycles: Vec<String>,
    /// `entry …` lines, in the order of the input.
    entries: Vec<String>,
    /// Unread lines as file and number.
    unread: BTreeSet<(String, u32)>,
    /// The codes that the parser gave.
    said: BTreeSet<&'static str>,
    /// Everything else that an answer may state and was seen.
    facts: BTreeSet<String>,
    /// All that is told to people of the unread lines.
    told: String,
}

fn outcome_word(cycle: &Cycle) -> &'static str {
    match cycle.outcome.as_ref().map(|outcome| &outcome.value) {
        None => "-",
        Some(Outcome::Completed) => "completed",
        Some(Outcome::Aborted { .. }) => "aborted",
        Some(Outcome::Rejected { .. }) => "rejected",
        Some(Outcome::Passed) => "passed",
        Some(Outcome::Failed) => "failed",
    }
}

fn load_of(cycle: &Cycle) -> &str {
    cycle.load.as_ref().map_or("-", |load| load.value.as_str())
}

fn cycle_line(cycle: &Cycle) -> String {
    let unit = cycle.unit.as_ref().map_or("-", |unit| unit.value.as_str());
    let counter = cycle
        .counter
        .as_ref()
        .map_or("-".to_owned(), |counter| counter.value.to_string());
    format!(
        "cycle {} {unit} {counter} {} {} readings {}",
        load_of(cycle),
        outcome_word(cycle),
        if cycle.closed { "closed" } else { "torn" },
        cycle.n_reading_lines,
    )
}

fn entry_line(entry: &Entry) -> String {
    let about = entry.load.as_ref().map_or("-", |load| load.value.as_str());
    format!("entry {} {about}", entry.body.word())
}

fn cycle_facts(cycle: &Cycle, facts: &mut BTreeSet<String>) {
    let load = load_of(cycle);
    if let Some(place) = &cycle.place {
        facts.insert(format!("place {}", place.value));
    }
    if let Some(program) = &cycle.program {
        facts.insert(format!("program {}", program.value.as_str()));
    }
    if let Some(ended) = &cycle.ended {
        facts.insert(format!("lasted {}", ended.value.0));
    }
    for (_, cause) in cycle.alarms() {
        facts.insert(format!("alarm {load} {cause}"));
    }
    for reading in cycle.stages.iter().flat_map(|stage| &stage.readings) {
        let (kind, number) = (
            reading.measured.kind().word(),
            reading.measured.printed_number(),
        );
        facts.insert(format!("reading {load} {kind} {number:.1}"));
    }
    match cycle.checksum {
        Checksum::Absent => {}
        Checksum::Agrees { crc32, .. } => {
            facts.insert(format!("checksum {load} agrees {crc32:08X}"));
        }
        Checksum::Differs { printed, .. } => {
            facts.insert(format!("checksum {load} differs {printed:08X}"));
        }
    }
}

fn look_at(records: &Records, files: &[PathBuf]) -> Seen {
    let name = |file: u32| {
        let path = &files[file as usize];
        path.file_name().unwrap().to_str().unwrap().to_owned()
    };
    let mut seen = Seen {
        cycles: records.cycles.iter().map(cycle_line).collect(),
        entries: records.entries.iter().map(entry_line).collect(),
        unread: BTreeSet::new(),
        said: BTreeSet::new(),
        facts: BTreeSet::new(),
        told: String::new(),
    };
    for unread in &records.unread {
        seen.said.insert(unread.diagnostic.code.id());
        for run in unread.lines.runs() {
            seen.unread
                .extend((run.first..=run.last).map(|line| (name(unread.lines.file.0), line)));
        }
        seen.told += &serde_json::to_string(&unread.diagnostic).unwrap();
    }
    seen.said.extend(
        records
            .diagnostics
            .iter()
            .map(|diagnostic| diagnostic.code.id()),
    );
    seen.told += &serde_json::to_string(&records.diagnostics).unwrap();
    for cycle in &records.cycles {
        cycle_facts(cycle, &mut seen.facts);
    }

    let site = Site::default();
    let (history, noticed) = join_history(records.cycles.clone(), records.entries.clone(), site);
    let number = |load: usize| history.loads[load].number.as_str().to_owned();
    let mut fact = |text: String| seen.facts.insert(text);
    fact(format!("known-cycles {}", history.cycles.len()));
    let n_reprints: usize = history
        .cycles
        .iter()
        .map(|known| known.reprints.len())
        .sum();
    fact(format!("reprints {n_reprints}"));
    fact(format!("missing-printouts {}", history.missing.len()));
    for missing in &history.missing {
        fact(format!(
            "missing {} {}-{}",
            missing.unit, missing.first, missing.last
        ));
    }
    fact(format!("resets {}", history.counter_resets.len()));
    fact(format!("near-misses {}", history.near_misses.len()));
    for near in &history.near_misses {
        fact(format!(
            "near-miss {} {}",
            number(near.in_log.0),
            number(near.on_strip.0)
        ));
    }
    for unit in &history.units {
        if let Some(clock) = unit.clock.filter(|clock| clock.conflict) {
            fact(format!(
                "clock-conflict {} {:.0}",
                unit.name, clock.median_seconds
            ));
        }
    }
    for diagnostic in noticed {
        fact(format!("history {}", diagnostic.code.id()));
    }
    seen
}

/// What an answer states and was not seen, and what was seen and it does not state.
fn compare(answer: &str, seen: &Seen) -> String {
    let mut cycles = Vec::new();
    let mut entries = Vec::new();
    let mut n_entries = None;
    let mut unread = BTreeSet::new();
    let mut said = BTreeSet::new();
    let mut wrong = String::new();
    for line in answer
        .lines()
        .filter(|line| !line.is_empty() && !line.starts_with('#'))
    {
        let (key, rest) = line.split_once(' ').unwrap_or((line, ""));
        match key {
            "cycle" => cycles.push(line.to_owned()),
            "entry" => entries.push(line.to_owned()),
            "entries" => n_entries = rest.parse::<usize>().ok(),
            "unread" => {
                let (file, lines) = rest.split_once(' ').unwrap();
                let (first, last) = lines.split_once('-').unwrap_or((lines, lines));
                let lines = first.parse::<u32>().unwrap()..=last.parse::<u32>().unwrap();
                unread.extend(lines.map(|line| (file.to_owned(), line)));
            }
            "said" => {
                said.insert(rest.to_owned());
            }
            "withheld" if seen.told.contains(rest) => {
                writeln!(wrong, "repeated: {rest}").unwrap();
            }
            "withheld" => {}
            "place" | "program" | "lasted" | "alarm" | "reading" | "checksum" | "known-cycles"
            | "reprints" | "missing-printouts" | "missing" | "resets" | "near-misses"
            | "near-miss" | "clock-conflict" | "history" => {
                if !seen.facts.contains(line) {
                    let of_key = seen.facts.iter().filter(|fact| fact.starts_with(key));
                    let seen: Vec<_> = of_key.collect();
                    writeln!(wrong, "not seen: {line}; instead {seen:?}").unwrap();
                }
            }
            _ => writeln!(wrong, "the answer has a word that is not known: {line}").unwrap(),
        }
    }
    if cycles != seen.cycles {
        writeln!(wrong, "cycles: {cycles:#?}\nseen: {:#?}", seen.cycles).unwrap();
    }
    let n_entries = n_entries.unwrap_or(entries.len());
    if n_entries != seen.entries.len() || !entries.is_empty() && entries != seen.entries {
        writeln!(
            wrong,
            "entries: {n_entries} {entries:#?}\nseen: {:#?}",
            seen.entries
        )
        .unwrap();
    }
    if unread != seen.unread {
        writeln!(wrong, "unread: {unread:?}\nseen: {:?}", seen.unread).unwrap();
    }
    let seen_said: BTreeSet<String> = seen.said.iter().map(|code| (*code).to_owned()).collect();
    if said != seen_said {
        writeln!(wrong, "said: {said:?}\nseen: {seen_said:?}").unwrap();
    }
    wrong
}

fn answer_of(fault: &str) -> String {
    let path = root()
        .join("tests/cases/damaged")
        .join(format!("{fault}.txt"));
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

#[test]
fn every_fault_is_read_as_its_answer_has_it() {
    let mut wrong = String::new();
    for fault in faults() {
        let files = files_of(&fault);
        let records = read_files(&files);
        let found = compare(&answer_of(&fault), &look_at(&records, &files));
        if !found.is_empty() {
            writeln!(wrong, "== {fault}\n{found}").unwrap();
        }
    }
    assert!(wrong.is_empty(), "\n{wrong}");
}

#[test]
fn every_answer_has_its_fault() {
    let mut answers: Vec<String> = std::fs::read_dir(root().join("tests/cases/damaged"))
        .unwrap()
        .map(|file| file.unwrap().file_name().into_string().unwrap())
        .filter_map(|name| name.strip_suffix(".txt").map(str::to_owned))
        .collect();
    answers.sort();
    assert_eq!(answers, faults());
    assert!(answers.len() >= 30);
}

#[test]
fn wrong_answer_is_found() {
    let files = files_of("torn-off-mid-cycle");
    let records = read_files(&files);
    let seen = look_at(&records, &files);
    let answer = answer_of("torn-off-mid-cycle");
    assert_eq!(compare(&answer, &seen), "");
    for (right, wrong) in [
        ("torn readings 2", "torn readings 3"),
        ("torn readings 2", "closed readings 2"),
        ("said printout-torn\n", ""),
        (
            "said printout-torn",
            "said printout-torn\nunread strip.txt 4",
        ),
        ("said printout-torn", "said printout-torn\nreprints 1"),
        ("said printout-torn", "said printout-torn\nentries 1"),
    ] {
        assert!(answer.contains(right));
        assert_ne!(compare(&answer.replace(right, wrong), &seen), "", "{wrong}");
    }
}

#[test]
fn every_line_of_every_fault_is_in_exactly_one_thing() {
    for fault in faults() {
        let files = files_of(&fault);
        let n_lines: Vec<u32> = files
            .iter()
            .map(|file| count_lines(&std::fs::read(file).unwrap()))
            .collect();
        assert_eq!(find_breach(&read_files(&files), &n_lines), None, "{fault}");
    }
}

#[test]
fn healthy_file_beside_a_fault_is_read_as_it_is_alone() {
    // A strip and a log of another unit, so that no fault of the samples has to do with them.
    let healthy = root().join("tests/cases/healthy");
    let alone = [healthy.join("log.txt"), healthy.join("strip.txt")];
    let expected = read_files(&alone);
    assert_eq!((expected.cycles.len(), expected.entries.len()), (2, 6));
    assert!(expected.unread.is_empty(), "{:?}", expected.unread);
    for fault in faults() {
        // The healthy files stand first, and then last.
        let orders = [
            [alone.to_vec(), files_of(&fault)].concat(),
            [files_of(&fault), alone.to_vec()].concat(),
        ];
        for files in orders {
            let records = read_files(&files);
            let of_the_healthy = |file: u32| alone.contains(&files[file as usize]);
            let cycles: Vec<_> = records
                .cycles
                .iter()
                .filter(|cycle| of_the_healthy(cycle.lines.file.0))
                .map(without_places)
                .collect();
            let entries: Vec<_> = records
                .entries
                .iter()
                .filter(|entry| of_the_healthy(entry.lines.file.0))
                .map(without_places)
                .collect();
            let expected_cycles: Vec<_> = expected.cycles.iter().map(without_places).collect();
            let expected_entries: Vec<_> = expected.entries.iter().map(without_places).collect();
            assert_eq!(cycles, expected_cycles, "{fault}");
            assert_eq!(entries, expected_entries, "{fault}");
            let unread_there = records
                .unread
                .iter()
                .any(|unread| of_the_healthy(unread.lines.file.0));
            assert!(!unread_there, "{fault}");
        }
    }
}

/// Reads files in the order given.
fn read_files(files: &[PathBuf]) -> Records {
    let paths: Vec<String> = files
        .iter()
        .map(|file| file.to_str().unwrap().to_owned())
        .collect();
    let gathered = gather(&paths);
    assert!(
        gathered.diagnostics.is_empty(),
        "{:?}",
        gathered.diagnostics
    );
    let (_, records) = read_inputs(gathered.inputs, Strictness::Infer, |_| {});
    records
}
