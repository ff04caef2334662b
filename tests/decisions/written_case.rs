//! A case as it is written, and the records and policies that it describes.

use std::path::{Path, PathBuf};

/// One case.
#[derive(Debug, Clone, Default)]
pub struct WrittenCase {
    /// Where it is written: file and line.
    pub place: String,
    /// What it is.
    pub name: String,
    /// What its answer rests on.
    pub source: String,
    /// The lines, each as key and rest.
    pub lines: Vec<(String, String)>,
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/decisions")
}

/// The text of a base.
pub fn read_base(name: &str) -> String {
    std::fs::read_to_string(folder().join("bases").join(format!("{name}.txt"))).unwrap()
}

/// Every case of every file.
pub fn read_cases() -> Vec<WrittenCase> {
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder().join("cases"))
        .unwrap()
        .map(|file| file.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ext| ext == "txt"))
        .collect();
    files.sort();
    let mut cases: Vec<WrittenCase> = Vec::new();
    for file in files {
        let text = std::fs::read_to_string(&file).unwrap();
        let name = file.file_name().unwrap().to_str().unwrap().to_owned();
        let mut base = String::new();
        let first = cases.len();
        for (number, line) in (1..).zip(text.lines()) {
            if line.trim().is_empty() || line.starts_with('#') {
                continue;
            }
            let place = format!("{name}:{number}");
            let (key, rest) = match line.split_at_checked(1) {
                Some((key @ ("~" | "-" | "@" | "+"), rest)) => (key, &rest[1..]),
                _ => line
                    .split_once(':')
                    .map(|(key, rest)| (key, rest.strip_prefix(' ').unwrap_or(rest)))
                    .unwrap_or_else(|| panic!("{place}: {line}")),
            };
            match key {
                "case" => cases.push(WrittenCase {
                    place,
                    name: rest.to_owned(),
                    lines: vec![("base".to_owned(), base.clone())],
                    ..WrittenCase::default()
                }),
                "base" if cases.len() == first => base = rest.to_owned(),
                "source" => cases.last_mut().unwrap().source = rest.to_owned(),
                _ => {
                    let case = cases.last_mut().unwrap();
                    case.lines.push((key.to_owned(), rest.to_owned()));
                }
            }
        }
    }
    cases
}

impl WrittenCase {
    /// What stands after a key, the last time it comes.
    pub fn value(&self, key: &str) -> Option<&str> {
        self.values(key).last()
    }

    /// What stands after a key, each time it comes.
    pub fn values<'c>(&'c self, key: &str) -> impl Iterator<Item = &'c str> {
        self.lines
            .iter()
            .filter(move |(name, _)| name == key)
            .map(|(_, rest)| rest.as_str())
    }

    /// The words after a key, sorted.
    pub fn words(&self, key: &str) -> Vec<&str> {
        let mut words: Vec<&str> = self.values(key).flat_map(str::split_whitespace).collect();
        words.sort_unstable();
        words
    }

    /// The records: printouts and log as one text.
    pub fn text(&self) -> String {
        let base = self.value("base").unwrap();
        let mut text = read_base(base);
        let mut anchor = None;
        for (key, rest) in &self.lines {
            match key.as_str() {
                "~" => {
                    let (from, to) = rest.split_once(" => ").unwrap();
                    let (from, to) = (from.replace("\\n", "\n"), to.replace("\\n", "\n"));
                    let n = text.matches(&from).count();
                    assert_eq!(n, 1, "{}: {from:?} stands there {n} times", self.place);
                    text = text.replacen(&from, &to, 1);
                }
                "-" => {
                    let at = self.line_that_begins(&text, rest);
                    let lines = text.lines().enumerate().filter(|(number, _)| *number != at);
                    text = lines.map(|(_, line)| format!("{line}\n")).collect();
                }
                "@" => anchor = Some(rest),
                "+" => {
                    let at = self.line_that_begins(&text, anchor.unwrap());
                    let mut lines: Vec<&str> = text.lines().collect();
                    lines.insert(at + 1, rest);
                    text = lines.iter().map(|line| format!("{line}\n")).collect();
                }
                "before" => {
                    let lines = rest.split(" | ").map(|line| format!("{line}\n"));
                    let printout: String = lines.collect();
                    text = format!("loadbook printout 1\n{printout}{text}");
                }
                "with" => text.push_str(&read_base(rest)),
                "log" => text.truncate(text.find("loadbook log 1").unwrap()),
                "bi" => {
                    let lines = text.lines().filter(|line| !line.contains(" bi: "));
                    text = lines.map(|line| format!("{line}\n")).collect();
                }
                "earlier" => text.push_str(&other_load(rest, base)),
                "expose" => text = with_exposure(&text, rest),
                _ => {}
            }
        }
        text
    }

    fn line_that_begins(&self, text: &str, with: &str) -> usize {
        let found: Vec<usize> = text
            .lines()
            .enumerate()
            .filter(|(_, line)| line.starts_with(with))
            .map(|(number, _)| number)
            .collect();
        assert_eq!(
            found.len(),
            1,
            "{}: lines that begin with {with:?}",
            self.place
        );
        found[0]
    }

    /// The policies, as name and text.
    pub fn policies(&self) -> Vec<(String, String)> {
        let preset = self.value("policy").unwrap_or("cdc-2008");
        let file = |key: &str| {
            let lines: String = self.values(key).map(|line| format!("{line}\n")).collect();
            format!("preset = \"{preset}\"\n{lines}")
        };
        let mut policies = vec![("first.toml".to_owned(), file("toml"))];
        if self.value("second").is_some() {
            policies.push(("second.toml".to_owned(), file("second")));
        }
        policies
    }
}

/// Another load of a unit, run at 16:10, with a biological indicator that was read a day later.
fn other_load(said: &str, base: &str) -> String {
    let (day, rest) = said.split_at(10);
    let (rest, program) = match rest.split_once(" with ") {
        Some((rest, program)) => (rest, program),
        None => (rest, "standard"),
    };
    let (result, unit) = match rest.split_once(" in ") {
        Some((result, unit)) => (result.trim(), unit),
        None => (rest.trim(), "PL-1"),
    };
    let (process, lot) = match base {
        "steam" => ("steam", "B540"),
        _ => ("plasma", "B771"),
    };
    // What test and control showed; `None` while they incubate.
    let vials: &[(&str, Option<&str>)] = match result {
        "no growth" => &[("test", Some("no growth")), ("control", Some("growth"))],
        "growth" => &[("test", Some("growth")), ("control", Some("growth"))],
        "dead control" => &[("test", Some("no growth")), ("control", Some("no growth"))],
        "waiting" => &[("test", None), ("control", None)],
        "waiting without control" => &[("test", None)],
        other => panic!("{other:?}"),
    };
    let number = format!("X-{}", &day[5..]);
    let next = next_day(day);
    let mut log = String::new();
    for (role, result) in vials {
        let vial = format!("bi: {number}, role {role}, lot {lot}, incubated {day} 17:10");
        log += &match result {
            Some(result) => format!("{next} 17:15 {vial}, read {next} 17:15, result {result}\n"),
            None => format!("{day} 17:15 {vial}\n"),
        };
    }
    // The counter does not matter for what a case is about; each day has its own, far from that of the base.
    let counter: u32 = day[8..].parse::<u32>().unwrap() + 100;
    format!(
        "loadbook printout 1\nunit: {unit}\nprocess: {process}\nprogram: {program}\ncounter: {counter}\n\
         load: {number}\nstarted: {day} 16:10:00\nended: 16:52:00\noutcome: completed\nend\n\
         loadbook log 1\nzone: Europe/London\n{log}"
    )
}

/// The day after one within March 2026.
fn next_day(day: &str) -> String {
    let number: u32 = day[8..].parse().unwrap();
    format!("{}{:02}", &day[..8], number + 1)
}

/// The steam load with one exposure at a temperature and pressure for so many seconds; what comes after moves along.
fn with_exposure(text: &str, said: &str) -> String {
    let parts: Vec<&str> = said.split_whitespace().collect();
    let [celsius, "C", bar, "bar", seconds] = parts.as_slice() else {
        panic!("{said:?}");
    };
    let seconds: u32 = seconds.parse().unwrap();
    let (before, rest) = text.split_once("stage: expose, at 07:52:10").unwrap();
    let (_, after) = rest.split_once("stage: exhaust").unwrap();
    let (strip, log) = after.split_once("loadbook log 1").unwrap();
    let began = 7 * 3_600 + 52 * 60 + 10;
    let clock = |second: u32| {
        format!(
            "{:02}:{:02}:{:02}",
            second / 3_600,
            second / 60 % 60,
            second % 60
        )
    };
    let reading = |second| {
        format!(
            "{} pressure {bar} bar, temperature {celsius} C\n",
            clock(second)
        )
    };
    // The base's exposure lasts 190 s.
    let moved = move_times(&format!("stage: exhaust{strip}"), i64::from(seconds) - 190);
    let moved: String = moved
        .lines()
        .filter(|line| !line.starts_with("total:"))
        .map(|line| format!("{line}\n"))
        .collect();
    format!(
        "{before}stage: expose, at {}\n{}{}{moved}loadbook log 1{log}",
        clock(began),
        reading(began),
        reading(began + seconds - 1)
    )
}

/// The text with every clock time of the form HH:MM:SS moved.
fn move_times(text: &str, by: i64) -> String {
    let mut moved = String::new();
    let mut rest = text;
    while let Some(at) = rest.find(':') {
        let time = at
            .checked_sub(2)
            .and_then(|from| rest.get(from..from + 8))
            .filter(|time| {
                time.bytes().enumerate().all(|(at, byte)| match at {
                    2 | 5 => byte == b':',
                    _ => byte.is_ascii_digit(),
                })
            });
        let Some(time) = time else {
            moved.push_str(&rest[..=at]);
            rest = &rest[at + 1..];
            continue;
        };
        let number = |from: usize| time[from..from + 2].parse::<i64>().unwrap();
        let second = number(0) * 3_600 + number(3) * 60 + number(6) + by;
        moved.push_str(&rest[..at - 2]);
        moved.push_str(&format!(
            "{:02}:{:02}:{:02}",
            second / 3_600,
            second / 60 % 60,
            second % 60
        ));
        rest = &rest[at + 6..];
    }
    moved + rest
}
