//! A case of a decision as it is written, and the records and policies that it describes.
//!
//! How it is written: `tests/decisions/cases/README.md`. Whatever can't be read so is an error with its place, never
//! passed over.

use super::reference::References;
use crate::judge::rulebook::Known;
use crate::parse::token::time;

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

/// The cases of a file of `tests/decisions/cases`, named without its ending.
///
/// # Errors
/// The line that is no line of a case.
pub fn read_cases(references: &References, file: &str) -> Result<Vec<WrittenCase>, String> {
    let text = references.text(&format!("decisions/cases/{file}.txt"));
    let mut cases: Vec<WrittenCase> = Vec::new();
    let mut base = "";
    for (number, line) in (1..).zip(text.lines()) {
        if line.trim().is_empty() || line.starts_with('#') {
            continue;
        }
        let place = format!("{file}.txt:{number}");
        let (key, rest) = key_and_rest(line).ok_or_else(|| format!("{place}: {line}"))?;
        match (key, cases.last_mut()) {
            ("case", _) => cases.push(WrittenCase {
                place,
                name: rest.to_owned(),
                lines: vec![("base".to_owned(), base.to_owned())],
                ..WrittenCase::default()
            }),
            ("base", None) => base = rest,
            ("source", Some(case)) => case.source = rest.to_owned(),
            (_, Some(case)) => case.lines.push((key.to_owned(), rest.to_owned())),
            (_, None) => return Err(format!("{place}: {line}")),
        }
    }
    Ok(cases)
}

fn key_and_rest(line: &str) -> Option<(&str, &str)> {
    if let Some((key @ ("~" | "-" | "@" | "+"), rest)) = line.split_at_checked(1) {
        return Some((key, rest.strip_prefix(' ')?));
    }
    let (key, rest) = line.split_once(':')?;
    Some((key, rest.strip_prefix(' ').unwrap_or(rest)))
}

impl WrittenCase {
    /// How its source is known, as the source says itself; the least certain where it names several. `None` where the
    /// answer rests on nothing outside the project: on common practice, or on the policy of the case.
    pub fn known(&self) -> Option<Known> {
        let says = |words: &str| self.source.contains(words);
        if self.source.starts_with("common practice") {
            None
        } else if says("from memory") {
            Some(Known::Memory)
        } else if says("seen") {
            Some(Known::Seen)
        } else if ["IAPWS", "NIST", "IANA", "zlib"]
            .iter()
            .any(|source| says(source))
        {
            Some(Known::Calculated)
        } else {
            None
        }
    }

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
    ///
    /// # Errors
    /// A line of the case that does not fit its base.
    pub fn text(&self, references: &References) -> Result<String, String> {
        let read_base = |name: &str| references.text(&format!("decisions/bases/{name}.txt"));
        let base = self.value("base").unwrap_or_default();
        let mut text = read_base(base).to_owned();
        let mut anchor = "";
        for (key, rest) in &self.lines {
            match key.as_str() {
                "~" => {
                    let (from, to) = rest.split_once(" => ").ok_or_else(|| self.error(rest))?;
                    let (from, to) = (from.replace("\\n", "\n"), to.replace("\\n", "\n"));
                    let n = text.matches(&from).count();
                    if n != 1 {
                        return Err(self.error(&format!("{from:?} stands there {n} times")));
                    }
                    text = text.replacen(&from, &to, 1);
                }
                "-" => {
                    let at = self.line_that_begins(&text, rest)?;
                    let lines = text.lines().enumerate().filter(|(number, _)| *number != at);
                    text = lines.map(|(_, line)| format!("{line}\n")).collect();
                }
                "@" => anchor = rest,
                "+" => {
                    let at = self.line_that_begins(&text, anchor)?;
                    let mut lines: Vec<&str> = text.lines().collect();
                    lines.insert(at.saturating_add(1), rest);
                    text = lines.iter().map(|line| format!("{line}\n")).collect();
                }
                "before" => {
                    let lines = rest.split(" | ").map(|line| format!("{line}\n"));
                    let printout: String = lines.collect();
                    text = format!("loadbook printout 1\n{printout}{text}");
                }
                "with" => text.push_str(read_base(rest)),
                "log" => {
                    let at = text.find("loadbook log 1");
                    text.truncate(at.ok_or_else(|| self.error("there is no log"))?);
                }
                "bi" => {
                    let lines = text.lines().filter(|line| !line.contains(" bi: "));
                    text = lines.map(|line| format!("{line}\n")).collect();
                }
                "earlier" => {
                    let load = other_load(rest, base).ok_or_else(|| self.error(rest))?;
                    text.push_str(&load);
                }
                "expose" => text = with_exposure(&text, rest).ok_or_else(|| self.error(rest))?,
                _ => {}
            }
        }
        Ok(text)
    }

    fn error(&self, what: &str) -> String {
        format!("{}: {what}", self.place)
    }

    fn line_that_begins(&self, text: &str, with: &str) -> Result<usize, String> {
        let found: Vec<usize> = text
            .lines()
            .enumerate()
            .filter(|(_, line)| line.starts_with(with))
            .map(|(number, _)| number)
            .collect();
        match found.as_slice() {
            [one] => Ok(*one),
            several => Err(self.error(&format!("{} lines begin with {with:?}", several.len()))),
        }
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
fn other_load(said: &str, base: &str) -> Option<String> {
    let (day, rest) = said.split_at_checked(10)?;
    let (rest, program) = rest.split_once(" with ").unwrap_or((rest, "standard"));
    let (result, unit) = rest.split_once(" in ").unwrap_or((rest, "PL-1"));
    let (process, lot) = match base {
        "steam" => ("steam", "B540"),
        _ => ("plasma", "B771"),
    };
    // What test and control showed; `None` while they incubate.
    let vials: &[(&str, Option<&str>)] = match result.trim() {
        "no growth" => &[("test", Some("no growth")), ("control", Some("growth"))],
        "growth" => &[("test", Some("growth")), ("control", Some("growth"))],
        "dead control" => &[("test", Some("no growth")), ("control", Some("no growth"))],
        "waiting" => &[("test", None), ("control", None)],
        "waiting without control" => &[("test", None)],
        _ => return None,
    };
    let number = format!("X-{}", day.get(5..)?);
    // The day after, within March 2026.
    let (month, of_month) = day.split_at_checked(8)?;
    let of_month: u32 = of_month.parse().ok()?;
    let next = format!("{month}{:02}", of_month.checked_add(1)?);
    let mut log = String::new();
    for (role, result) in vials {
        let vial = format!("bi: {number}, role {role}, lot {lot}, incubated {day} 17:10");
        log += &match result {
            Some(result) => format!("{next} 17:15 {vial}, read {next} 17:15, result {result}\n"),
            None => format!("{day} 17:15 {vial}\n"),
        };
    }
    // The counter does not matter for what a case is about; each day has its own, far from that of the base.
    let counter = of_month.checked_add(100)?;
    Some(format!(
        "loadbook printout 1\nunit: {unit}\nprocess: {process}\nprogram: {program}\ncounter: {counter}\n\
         load: {number}\nstarted: {day} 16:10:00\nended: 16:52:00\noutcome: completed\nend\n\
         loadbook log 1\nzone: Europe/London\n{log}"
    ))
}

/// The steam load with one exposure at a temperature and pressure for so many seconds; what comes after moves along.
fn with_exposure(text: &str, said: &str) -> Option<String> {
    let parts: Vec<&str> = said.split_whitespace().collect();
    let [celsius, "C", bar, "bar", seconds] = parts.as_slice() else {
        return None;
    };
    let seconds: i64 = seconds.parse().ok()?;
    let (before, rest) = text.split_once("stage: expose, at 07:52:10")?;
    let (_, after) = rest.split_once("stage: exhaust")?;
    let (strip, log) = after.split_once("loadbook log 1")?;
    let began = 7 * 3_600 + 52 * 60 + 10;
    let reading = |second| {
        let at = clock(second);
        format!("{at} pressure {bar} bar, temperature {celsius} C\n")
    };
    // The base's exposure lasts 190 s.
    let moved = move_times(
        &format!("stage: exhaust{strip}"),
        seconds.saturating_sub(190),
    );
    let moved: String = moved
        .lines()
        .filter(|line| !line.starts_with("total:"))
        .map(|line| format!("{line}\n"))
        .collect();
    Some(format!(
        "{before}stage: expose, at {}\n{}{}{moved}loadbook log 1{log}",
        clock(began),
        reading(began),
        reading(began.saturating_add(seconds).saturating_sub(1))
    ))
}

fn clock(second: i64) -> String {
    let (hour, minute) = (second / 3_600, second / 60 % 60);
    format!("{hour:02}:{minute:02}:{:02}", second % 60)
}

/// The text with every clock time of the form HH:MM:SS moved.
fn move_times(text: &str, by: i64) -> String {
    let words = text.split_inclusive(|c: char| !(c.is_ascii_digit() || c == ':'));
    words
        .map(|word| {
            let moved = word.split_at_checked(8).and_then(|(written, rest)| {
                let (_, second) = time(written.as_bytes()).ok()?;
                Some(format!(
                    "{}{rest}",
                    clock(i64::from(second).saturating_add(by))
                ))
            });
            moved.unwrap_or_else(|| word.to_owned())
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clock_times_are_moved_and_nothing_else() {
        assert_eq!(
            move_times("a: 07:59:30, b\n08:00:00 c 2026-03-12 1:2", 40),
            "a: 08:00:10, b\n08:00:40 c 2026-03-12 1:2"
        );
    }

    #[test]
    fn case_that_does_not_fit_its_base_is_an_error() {
        let references = References::embedded();
        let case = |key: &str, rest: &str| WrittenCase {
            lines: [("base", "steam"), (key, rest)]
                .map(|(key, rest)| (key.to_owned(), rest.to_owned()))
                .to_vec(),
            ..WrittenCase::default()
        };
        for (key, rest) in [
            ("~", "no such text => another"),
            ("~", "no arrow"),
            ("-", "no such line"),
            ("earlier", "2026-03-11 nothing of the kind"),
            ("expose", "134 C"),
        ] {
            assert!(case(key, rest).text(&references).is_err(), "{key} {rest}");
        }
        assert!(case("bi", "none").text(&references).is_ok());
    }
}
