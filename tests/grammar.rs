//! The grammars under grammars/ and the parsers agree: what the ABNF generates is read with the right values, what leaves
//! it is reported, and every example of the specification is read.
//!
//! The expected values come from splitting the generated lines here, by rules that know nothing of the parsers. What a
//! rule of a grammar leaves to words (a number that no chamber can show, the thirtieth of February) is told apart here
//! too, so that such a line must be refused and no other.

use crate::grammar_text::{Choices, Grammar, keyword, parts};
use crate::line_account::{count_lines, find_breach};
use loadbook::parse::{Records, Strictness, read_bytes};
use loadbook::record::cycle::Cycle;
use proptest::prelude::*;
use std::collections::BTreeSet;
use std::sync::LazyLock;

/// Numbers that every quantity can have in every unit, and times within a few days, so that no generated line says
/// anything impossible. [`numbers_are_refused_only_beyond_the_stated_ranges`] is about the others.
const POSSIBLE: &str = "\
number = DIGIT [ \".\" 1*4DIGIT ]\n\
near-date = \"2026-03-1\" DIGIT\n\
clock-time = time / near-date SP time\n\
started = \"started: \" near-date SP time [ offset ]\n";

/// Keywords of a printout that are said once.
const SAID_OFTEN: [&str; 4] = ["consumable", "stage", "event", "alarm"];

/// The grammar of printouts.
pub static PRINTOUT: LazyLock<Grammar> = LazyLock::new(|| Grammar::read("cycle-printout.abnf"));
static POSSIBLE_PRINTOUT: LazyLock<Grammar> =
    LazyLock::new(|| Grammar::read("cycle-printout.abnf").with(POSSIBLE));
/// The same with what its comments add.
pub static WIDE_PRINTOUT: LazyLock<Grammar> =
    LazyLock::new(|| Grammar::read("cycle-printout.abnf").widened());
/// The grammar of logs.
pub static LOG: LazyLock<Grammar> = LazyLock::new(|| Grammar::read("indicator-log.abnf"));
static WIDE_LOG: LazyLock<Grammar> =
    LazyLock::new(|| Grammar::read("indicator-log.abnf").widened());

fn numbers() -> impl Strategy<Value = Vec<u16>> {
    proptest::collection::vec(any::<u16>(), 0..1_500)
}

/// Takes out what no one record can say: a field twice, a key twice on a line, a scan beside a typed lot.
fn without_contradictions(text: &str, once: impl Fn(&str) -> bool) -> String {
    let mut seen = BTreeSet::new();
    let mut kept = String::new();
    for line in text.split_inclusive('\n') {
        let body = line.trim_end_matches(['\r', '\n']);
        let word = keyword(after_when(body)).unwrap_or_default();
        if once(&word) && !seen.insert(word.clone()) {
            continue;
        }
        // Comments and readings may say a thing twice.
        if body.starts_with('#') || word.is_empty() {
            kept.push_str(line);
            continue;
        }
        let mut keys = BTreeSet::new();
        let mut tidy: Vec<&str> = Vec::new();
        for (n, part) in parts(body).into_iter().enumerate() {
            let key = part
                .split(' ')
                .next()
                .unwrap_or_default()
                .to_ascii_lowercase();
            if n == 0 || key == "limit" || keys.insert(key) {
                tidy.push(part);
            }
        }
        if keys.contains("lot") || keys.contains("expiry") {
            tidy.retain(|part| !part.to_ascii_lowercase().starts_with("scan "));
        }
        kept.push_str(&tidy.join(", "));
        kept.push_str(&line[body.len()..]);
    }
    kept
}

/// The quantity, number and unit of each value on a reading's line.
fn values_on(line: &str) -> Vec<(String, f64, String)> {
    let after_time = match line.as_bytes().get(4) {
        Some(b'-') => &line[20..],
        _ => &line[9..],
    };
    parts(after_time)
        .into_iter()
        .map(|part| {
            let words: Vec<&str> = part.split(' ').collect();
            let number = words[1].parse().unwrap();
            (
                words[0].to_ascii_lowercase(),
                number,
                words[2].to_ascii_lowercase(),
            )
        })
        .collect()
}

fn values_read(cycle: &Cycle) -> Vec<(String, f64, String)> {
    cycle
        .stages
        .iter()
        .flat_map(|stage| &stage.readings)
        .map(|reading| {
            let measured = reading.measured;
            let symbol = measured.printed_symbol().to_ascii_lowercase();
            (
                measured.kind().word().to_owned(),
                measured.printed_number(),
                symbol,
            )
        })
        .collect()
}

fn same_values(a: &[(String, f64, String)], b: &[(String, f64, String)]) -> bool {
    // Numbers come back from the kept unit by a division, which may cost the last bits.
    let same = |a: f64, b: f64| (a - b).abs() <= 1e-9 * a.abs().max(1e-3);
    a.len() == b.len()
        && a.iter()
            .zip(b)
            .all(|(a, b)| a.0 == b.0 && same(a.1, b.1) && a.2 == b.2)
}

fn lines_of(text: &str) -> Vec<&str> {
    text.split('\n')
        .map(|line| line.trim_end_matches([' ', '\t', '\r']))
        .collect()
}

fn value_of<'a>(lines: &[&'a str], word: &str) -> Option<&'a str> {
    let line = lines
        .iter()
        .find(|line| keyword(line).as_deref() == Some(word))?;
    line.split_once(": ").map(|(_, value)| value)
}

fn n_with(lines: &[&str], word: &str) -> usize {
    lines
        .iter()
        .filter(|line| keyword(line).as_deref() == Some(word))
        .count()
}

fn read(text: &str) -> Records {
    read_bytes(text.as_bytes(), Strictness::Infer)
}

/// Whether generated text spells, by chance, one of the short words that patients' numbers and birthdays go by.
fn spells_patient_data(text: &str) -> bool {
    let text = text.to_ascii_lowercase();
    text.contains("mrn") || text.contains("dob")
}

/// A printout is read whole, and with the values that stand in it.
fn check_printout(text: &str) -> Result<(), TestCaseError> {
    prop_assume!(!spells_patient_data(text));
    let records = read(text);
    prop_assert!(records.unread.is_empty(), "{text}\n{:#?}", records.unread);
    prop_assert_eq!(find_breach(&records, &[count_lines(text.as_bytes())]), None);
    prop_assert_eq!(records.cycles.len(), 1, "{}", text);
    let cycle = &records.cycles[0];
    let lines = lines_of(text);
    let is_closed = lines.iter().any(|line| line.eq_ignore_ascii_case("end"));
    prop_assert_eq!(cycle.closed, is_closed);
    for (word, found) in [
        (
            "unit",
            cycle.unit.as_ref().map(|unit| unit.value.to_string()),
        ),
        (
            "serial",
            cycle.serial.as_ref().map(|serial| serial.value.clone()),
        ),
        (
            "software",
            cycle
                .software
                .as_ref()
                .map(|software| software.value.clone()),
        ),
        (
            "place",
            cycle.place.as_ref().map(|place| place.value.clone()),
        ),
        (
            "program",
            cycle
                .program
                .as_ref()
                .map(|program| program.value.to_string()),
        ),
        (
            "load",
            cycle.load.as_ref().map(|load| load.value.to_string()),
        ),
        (
            "operator",
            cycle
                .operator
                .as_ref()
                .map(|operator| operator.value.to_string()),
        ),
    ] {
        prop_assert_eq!(found.as_deref(), value_of(&lines, word), "{}", word);
    }
    let counter = value_of(&lines, "counter").map(|value| value.parse::<u32>().unwrap());
    prop_assert_eq!(cycle.counter.as_ref().map(|counter| counter.value), counter);
    let process = value_of(&lines, "process").map(str::to_ascii_lowercase);
    prop_assert_eq!(
        cycle.process.as_ref().map(|process| process.value.word()),
        process.as_deref()
    );
    let zone = value_of(&lines, "zone").map(str::to_ascii_lowercase);
    let zone_read = cycle
        .zone
        .as_ref()
        .map(|zone| zone.value.name().to_ascii_lowercase());
    prop_assert_eq!(zone_read, zone);
    let started = value_of(&lines, "started").map(|value| value[..19].to_owned());
    let started_read = cycle
        .started
        .as_ref()
        .map(|started| started.value.local.to_string());
    prop_assert_eq!(started_read, started);

    let reading_lines: Vec<&&str> = lines
        .iter()
        .filter(|line| line.starts_with(|c: char| c.is_ascii_digit()))
        .collect();
    prop_assert_eq!(cycle.n_reading_lines as usize, reading_lines.len());
    let values: Vec<_> = reading_lines
        .iter()
        .flat_map(|line| values_on(line))
        .collect();
    prop_assert!(
        same_values(&values_read(cycle), &values),
        "{text}\n{:?}",
        values_read(cycle)
    );
    let n_alarms = n_with(&lines, "alarm");
    prop_assert_eq!(cycle.alarms().count(), n_alarms);
    prop_assert_eq!(cycle.events.len(), n_alarms + n_with(&lines, "event"));
    let stages: Vec<String> = lines
        .iter()
        .filter(|line| keyword(line).as_deref() == Some("stage"))
        .map(|line| parts(&line["stage: ".len()..])[0].to_ascii_lowercase())
        .collect();
    // Readings above the first stage line are kept in a stage that has no line of its own.
    let named = cycle.stages.iter().skip(cycle.stages.len() - stages.len());
    let named: Vec<String> = named
        .map(|stage| stage.name.word().to_ascii_lowercase())
        .collect();
    prop_assert_eq!(&named, &stages);
    let n_limits = lines
        .iter()
        .filter(|line| keyword(line).as_deref() == Some("stage"))
        .flat_map(|line| parts(line))
        .filter(|part| part.to_ascii_lowercase().starts_with("limit "))
        .count();
    let n_limits_read: usize = cycle.stages.iter().map(|stage| stage.limits.len()).sum();
    prop_assert_eq!(n_limits_read, n_limits);
    let outcome = value_of(&lines, "outcome").map(|value| parts(value)[0].to_ascii_lowercase());
    let outcome_read = cycle.outcome.as_ref().map(|outcome| {
        let debug = format!("{:?}", outcome.value).to_ascii_lowercase();
        debug.split([' ', '{']).next().unwrap().to_owned()
    });
    prop_assert_eq!(outcome_read, outcome);
    Ok(())
}

fn check_log(text: &str) -> Result<(), TestCaseError> {
    prop_assume!(!spells_patient_data(text));
    let records = read(text);
    prop_assert!(records.unread.is_empty(), "{text}\n{:#?}", records.unread);
    prop_assert_eq!(find_breach(&records, &[count_lines(text.as_bytes())]), None);
    prop_assert!(records.cycles.is_empty());
    let mut expected = Vec::new();
    for line in lines_of(text).iter().skip(1) {
        if line.is_empty() || line.starts_with('#') || is_heading(line) {
            continue;
        }
        let (kind, rest) = after_when(line).split_once(": ").unwrap();
        let kind = kind.to_ascii_lowercase();
        let by = parts(rest)
            .into_iter()
            .skip(1)
            .find(|part| {
                part.get(..3)
                    .is_some_and(|key| key.eq_ignore_ascii_case("by "))
            })
            .map(|part| part[3..].to_owned())
            .filter(|_| kind != "remark");
        let about = match kind.as_str() {
            "remark" => rest.to_owned(),
            "lot" => parts(rest)[0].to_ascii_lowercase(),
            _ => parts(rest)[0].to_owned(),
        };
        expected.push((kind, about, by));
    }
    let read: Vec<_> = records
        .entries
        .iter()
        .map(|entry| {
            use loadbook::record::entry::EntryBody;
            let about = match &entry.body {
                EntryBody::Remark => entry.note.as_ref().map(|note| note.value.clone()),
                EntryBody::Service => entry.unit.as_ref().map(|unit| unit.value.to_string()),
                EntryBody::Lot(lot) => lot
                    .consumable
                    .as_ref()
                    .map(|kind| kind.value.word().to_owned()),
                _ => entry.load.as_ref().map(|load| load.value.to_string()),
            };
            let by = entry.by.as_ref().map(|by| by.value.to_string());
            (entry.body.word().to_owned(), about.unwrap_or_default(), by)
        })
        .collect();
    prop_assert_eq!(read, expected, "{}", text);
    Ok(())
}

fn is_heading(line: &str) -> bool {
    matches!(keyword(line).as_deref(), Some("place" | "zone" | "date"))
}

/// A log's line after its date and time.
fn after_when(line: &str) -> &str {
    let is_when = |word: &str| {
        word.starts_with(|c: char| c.is_ascii_digit())
            && word
                .bytes()
                .all(|byte| byte.is_ascii_digit() || b"-:".contains(&byte))
    };
    let mut rest = line;
    while let Some((_, after)) = rest.split_once(' ').filter(|(word, _)| is_when(word)) {
        rest = after;
    }
    rest
}

proptest! {
    #![proptest_config(crate::proptest_settings(768))]

    #[test]
    fn every_printout_of_the_grammar_is_read_whole(numbers in numbers()) {
        let text = POSSIBLE_PRINTOUT.generate("printout", &mut Choices::new(&numbers));
        check_printout(&without_contradictions(&text, |word| {
            !word.is_empty() && !SAID_OFTEN.contains(&word)
        }))?;
    }

    #[test]
    fn every_log_of_the_grammar_is_read_whole(numbers in numbers()) {
        let text = LOG.generate("log", &mut Choices::new(&numbers));
        check_log(&without_contradictions(&text, |_| false))?;
    }

    #[test]
    fn every_start_of_the_grammar_is_the_moment_it_names(numbers in numbers()) {
        // The expected value is made by chrono from the text, the way RFC 3339 (2002), section 5.6, forms it.
        let text = PRINTOUT.generate("date-time", &mut Choices::new(&numbers));
        let records = read(&format!("loadbook printout 1\nstarted: {text}\nend\n"));
        prop_assert!(records.unread.is_empty(), "{text}: {:?}", records.unread);
        let stamp = records.cycles[0].started.as_ref().unwrap().value;
        let rfc = text.replacen(' ', "T", 1).to_uppercase();
        match text.len() {
            19 => {
                prop_assert_eq!(stamp.offset_seconds, None);
                prop_assert_eq!(stamp.local, rfc.parse::<chrono::NaiveDateTime>().unwrap());
            }
            _ => {
                let expected = chrono::DateTime::parse_from_rfc3339(&rfc).unwrap();
                prop_assert_eq!(stamp.instant(), Some(expected));
                prop_assert_eq!(stamp.local, expected.naive_local());
            }
        }
    }
}

/// What stands in grammars/cycle-printout.md under "Readings" as the widest range of each quantity, in the unit named
/// first there.
fn is_in_stated_range(kind: &str, number: f64, unit: &str, is_gauge: bool) -> bool {
    // Conversion factors: NIST SP 811 (2008), Appendix B.8.
    let factor = match unit {
        "kpa" => 1e3,
        "mbar" => 1e2,
        "bar" => 1e5,
        "torr" => 133.322_4,
        "mtorr" => 0.133_322_4,
        "psi" => 6_894.757,
        "inhg" => 3_386.389,
        "kw" | "ms/cm" => 1e3,
        _ => 1.0,
    };
    let value = match unit {
        "f" => (number - 32.0) / 1.8,
        _ => number * factor,
    };
    let (least, most) = match kind {
        "pressure" if is_gauge => (-110_000.0, 1_000_000.0),
        "pressure" => (-500.0, 1_000_000.0),
        "temperature" => (-40.0, 200.0),
        "concentration" => (-1.0, 3_000.0),
        "humidity" => (-1.0, 110.0),
        "power" => (-10.0, 20_000.0),
        _ => (-1.0, 100_000.0),
    };
    (least..=most).contains(&value)
}

proptest! {
    #![proptest_config(crate::proptest_settings(2_000))]

    #[test]
    fn numbers_are_refused_only_beyond_the_stated_ranges(numbers in proptest::collection::vec(any::<u16>(), 0..40)) {
        let text = PRINTOUT.generate("measured", &mut Choices::new(&numbers));
        let words: Vec<&str> = text.split(' ').collect();
        let number: f64 = words[1].parse().unwrap();
        let is_gauge = words.get(3).is_some_and(|datum| datum.eq_ignore_ascii_case("gauge"));
        let (kind, unit) = (words[0].to_ascii_lowercase(), words[2].to_ascii_lowercase());
        let is_possible = is_in_stated_range(&kind, number, &unit, is_gauge);
        let records = read(&format!("loadbook printout 1\nstage: vent, at 07:00:00\n07:01:00 {text}\nend\n"));
        if is_possible {
            prop_assert!(records.unread.is_empty(), "{text}: {:?}", records.unread);
            let read = values_read(&records.cycles[0]);
            prop_assert!(same_values(&read, &[(kind, number, unit)]), "{text}: {read:?}");
        } else {
            prop_assert_eq!(records.unread.len(), 1, "{}", text);
            prop_assert_eq!(records.unread[0].diagnostic.code.id(), "number-out-of-range");
        }
    }
}

/// A slip of the hand: one character less, more, other, or two in the wrong order.
fn slip(line: &str, kind: u8, at: prop::sample::Index, with: char) -> String {
    let mut characters: Vec<char> = line.chars().collect();
    if characters.is_empty() {
        return with.to_string();
    }
    let place = at.index(characters.len());
    match kind {
        0 => {
            characters.remove(place);
        }
        1 => characters.insert(place, with),
        2 => characters[place] = with,
        _ if place + 1 < characters.len() => characters.swap(place, place + 1),
        _ => {
            characters.pop();
        }
    }
    characters.into_iter().collect()
}

/// Whether a line is of one of the rules; blanks before it mean nothing.
fn is_of(grammar: &Grammar, rules: &[&str], line: &str) -> bool {
    let line = format!("{line}\n");
    [line.as_str(), line.trim_start_matches([' ', '\t'])]
        .iter()
        .any(|form| rules.iter().any(|rule| grammar.recognizes(rule, form)))
}

/// Codes that a line of the widened grammar may be refused with: the grammar can't tell these values.
const BEYOND_GRAMMAR: [&str; 9] = [
    "patient-data",
    "number-out-of-range",
    "date-invalid",
    "value-invalid",
    "field-repeated",
    "check-digit-wrong",
    "scan-invalid",
    "line-outside-record",
    "version-unknown",
];

/// What became of one line in an otherwise healthy text: its unread code, if it is unread.
fn fate_of_line(
    before: &str,
    line: &str,
    after: &str,
) -> Result<Option<&'static str>, TestCaseError> {
    let text = format!("{before}{line}\n{after}");
    let records = read(&text);
    let number = u32::try_from(before.matches('\n').count()).unwrap() + 1;
    for unread in &records.unread {
        prop_assert_eq!(
            (unread.lines.first(), unread.lines.last()),
            (number, number),
            "{}",
            text
        );
    }
    // A comma read as the decimal mark is read, and said.
    let comma = records.diagnostics.iter().find(|diagnostic| {
        diagnostic.code.id() == "decimal-comma"
            && diagnostic.primary.is_some_and(|span| span.line == number)
    });
    let code = records
        .unread
        .first()
        .map(|unread| &unread.diagnostic)
        .or(comma);
    Ok(code.map(|diagnostic| diagnostic.code.id()))
}

proptest! {
    #![proptest_config(crate::proptest_settings(6_000))]

    #[test]
    fn line_that_leaves_the_printout_grammar_is_reported(
        numbers in proptest::collection::vec(any::<u16>(), 0..120),
        kind in 0_u8..4, at: prop::sample::Index, with in "[ -~]",
    ) {
        let rule = ["field", "stage", "reading", "event", "alarm"][numbers.len() % 5];
        let line = POSSIBLE_PRINTOUT.generate(rule, &mut Choices::new(&numbers));
        let line = without_contradictions(line.trim_end(), |_| false);
        let slipped = slip(&line, kind, at, with.chars().next().unwrap());
        let rules = ["field", "stage", "reading", "event", "alarm", "blank", "comment", "closing"];
        let in_grammar = is_of(&WIDE_PRINTOUT, &rules, &slipped);
        let fate = fate_of_line("loadbook printout 1\nstage: vent, at 07:00:00\n", &slipped, "end\n");
        // A slip that makes `end` would close the printout early, and the real one would then stand outside.
        prop_assume!(!slipped.trim().eq_ignore_ascii_case("end"));
        let fate = fate?;
        // A slip within a number gives another number, and that is what must be read.
        if fate.is_none() && PRINTOUT.recognizes("reading", &format!("{slipped}\n")) {
            let records = read(&format!("loadbook printout 1\n{slipped}\n"));
            let read = values_read(&records.cycles[0]);
            prop_assert!(same_values(&read, &values_on(&slipped)), "{slipped:?}: {read:?}");
        }
        match fate {
            None => prop_assert!(in_grammar, "read, though it is not in the grammar: {slipped:?} (from {line:?})"),
            Some(code) if in_grammar => {
                prop_assert!(BEYOND_GRAMMAR.contains(&code), "{code}: {slipped:?} (from {line:?})");
            }
            Some(_) => {}
        }
    }

    #[test]
    fn line_that_leaves_the_log_grammar_is_reported(
        numbers in proptest::collection::vec(any::<u16>(), 0..120),
        kind in 0_u8..4, at: prop::sample::Index, with in "[ -~]",
    ) {
        let line = LOG.generate("entry", &mut Choices::new(&numbers));
        let line = without_contradictions(line.trim_end(), |_| false);
        let slipped = slip(&line, kind, at, with.chars().next().unwrap());
        let in_grammar = is_of(&WIDE_LOG, &["entry", "heading", "blank", "comment"], &slipped);
        match fate_of_line("loadbook log 1\ndate: 2026-03-12\n", &slipped, "07:10 remark: after\n")? {
            None => prop_assert!(in_grammar, "read, though it is not in the grammar: {slipped:?} (from {line:?})"),
            Some(code) if in_grammar => {
                prop_assert!(BEYOND_GRAMMAR.contains(&code), "{code}: {slipped:?} (from {line:?})");
            }
            Some(_) => {}
        }
    }

    #[test]
    fn opening_line_with_a_slip_opens_nothing(kind in 0_u8..4, at: prop::sample::Index, with in "[!-~]") {
        for opening in ["loadbook printout 1", "loadbook log 1"] {
            let slipped = slip(opening, kind, at, with.chars().next().unwrap());
            prop_assume!(!slipped.trim().eq_ignore_ascii_case(opening));
            let records = read(&format!("{slipped}\nunit: PL-1\n07:10 remark: after\n"));
            prop_assert!(records.cycles.is_empty() && records.entries.is_empty(), "{slipped}");
            let n_unread: u64 = records.unread.iter().map(|unread| unread.lines.n_lines()).sum();
            let n_expected = if slipped.starts_with('#') { 2 } else { 3 };
            prop_assert_eq!(n_unread, n_expected, "{}", slipped);
        }
    }
}

/// The fenced blocks of a specification, with the word after the fence and the line they begin on.
fn examples(file: &str) -> Vec<(String, usize, String)> {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("grammars")
        .join(file);
    let text = std::fs::read_to_string(path).unwrap();
    let mut found = Vec::new();
    let mut open: Option<(String, usize, String)> = None;
    for (number, line) in (1..).zip(text.lines()) {
        match (&mut open, line.strip_prefix("```")) {
            (None, Some(word)) => open = Some((word.to_owned(), number + 1, String::new())),
            (Some(_), Some(_)) => found.extend(open.take()),
            (Some((_, _, body)), None) => {
                body.push_str(line);
                body.push('\n');
            }
            (None, None) => {}
        }
    }
    found
}

#[test]
fn every_example_of_the_specifications_is_read() {
    let mut n_examples = 0;
    for (file, opening) in [
        ("cycle-printout.md", "loadbook printout 1\n"),
        ("indicator-log.md", "loadbook log 1\ndate: 2026-03-12\n"),
    ] {
        for (word, line, body) in examples(file) {
            // Lines stand for themselves: each may say again what another says otherwise.
            let texts: Vec<String> = match word.as_str() {
                "printout" | "log" | "csv" => vec![body],
                "lines" => body
                    .lines()
                    .map(|line| format!("{opening}{line}\n"))
                    .collect(),
                _ => panic!("{file}:{line}: an example must be marked printout, log, csv or lines"),
            };
            for text in texts {
                let records = read(&text);
                assert!(
                    records.unread.is_empty(),
                    "{file}:{line}\n{text}\n{:#?}",
                    records.unread
                );
                assert!(
                    records.cycles.len() + records.entries.len() > 0,
                    "{file}:{line}"
                );
                n_examples += 1;
            }
        }
    }
    assert!(n_examples >= 20, "the examples were found: {n_examples}");
}

#[test]
fn first_example_is_read_with_the_values_that_stand_in_it() {
    // By hand from the first example of cycle-printout.md.
    let (_, _, text) = examples("cycle-printout.md").remove(0);
    let records = read(&text);
    let cycle = &records.cycles[0];
    assert!(cycle.closed);
    assert_eq!(cycle.counter.as_ref().unwrap().value, 1042);
    assert_eq!(cycle.ended.as_ref().unwrap().value.0, 40 * 60 + 45);
    assert_eq!(cycle.stages.len(), 5);
    assert_eq!(cycle.n_reading_lines, 5);
    assert_eq!(values_read(cycle).len(), 13);
    assert_eq!(cycle.stages[0].limits.len(), 2);
    let use_count = cycle.consumables[0].use_count.unwrap();
    assert_eq!((use_count.n, use_count.of), (3, 10));
    let log = examples("indicator-log.md").remove(0).2;
    let entries = read(&log).entries;
    let words: Vec<&str> = entries.iter().map(|entry| entry.body.word()).collect();
    let expected = [
        "lot", "load", "content", "ci", "ci", "bi", "bi", "bi", "bi", "release", "service",
        "remark",
    ];
    assert_eq!(words, expected);
}

#[test]
fn line_of_identity_said_again_with_another_value_is_reported() {
    // cycle-printout.md, "Identity": with another value the first one holds and the second is reported.
    for (word, first, second) in [
        ("unit", "PL-1", "PL-2"),
        ("serial", "20417", "20418"),
        ("software", "4.2", "4.3"),
        ("place", "Fennmarsh General", "Annexe"),
        ("zone", "Europe/London", "Europe/Berlin"),
        ("process", "plasma", "steam"),
        ("purpose", "leak-test", "warm-up"),
        ("program", "standard", "short"),
        ("counter", "1042", "1043"),
        ("load", "P1-0312-01", "P1-0312-02"),
        ("operator", "HB", "MK"),
        ("started", "2026-03-12 07:41:20", "2026-03-12 07:41:21"),
        ("ended", "07:50:00", "07:51:00"),
        ("outcome", "completed", "aborted"),
        ("total", "00:10:00", "00:11:00"),
    ] {
        let text =
            |second: &str| format!("loadbook printout 1\n{word}: {first}\n{word}: {second}\nend\n");
        let same = read(&text(first));
        assert!(same.unread.is_empty(), "{word}: {:?}", same.unread);
        let other = read(&text(second));
        let reported = other
            .unread
            .iter()
            .map(|unread| &unread.diagnostic)
            .chain(&other.diagnostics)
            .any(|diagnostic| diagnostic.code.id() == "field-repeated");
        assert!(reported, "{word}");
        let once = read(&format!("loadbook printout 1\n{word}: {first}\nend\n"));
        let value = |records: &Records| crate::conservation::without_places(&records.cycles[0]);
        assert_eq!(value(&other), value(&once), "{word}: the first holds");
    }
}
