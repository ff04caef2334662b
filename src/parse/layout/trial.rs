//! A layout tried on strips: what became of each line, which forms and fields never came up, and how much was read.
//!
//! Plain values for whoever draws them. Read [`try_layout`] first.

use super::compile::{Layout, Role};
use super::field::Field;
use super::form::Captured;
use super::lexicon::FieldValue;
use super::read::{LayoutReader, Sink};
use super::strip_line::StripLine;
use crate::diagnose::codes::Code;
use crate::diagnose::{Diagnostic, FileId, Span};
use crate::measure::count::Counting;
use crate::measure::quantity::Datum;
use crate::parse::Strictness;
use crate::parse::ledger::{Claim, Ledger};
use crate::record::cause::Cause;
use crate::record::cycle::{Cycle, Measured, Outcome, StageName};
use crate::source::lines::{Fitness, read_lines_as};
use std::collections::BTreeSet;
use std::sync::Arc;

/// What a line became. Numbers are those of the layout's forms.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Became {
    /// The first line of a cycle.
    Begin(usize),
    /// The last line of a cycle.
    End(usize),
    /// A line that says something.
    Said(usize),
    /// The same, after a scan's slips were repaired.
    Repaired(usize),
    /// A line that the layout ignores.
    Ignored(usize),
    /// The header of a table.
    Header,
    /// A row of a table.
    Row,
    /// A blank line.
    Idle,
    /// Nothing: it could not be read.
    Unread,
}

impl Became {
    /// What it became, in a word.
    pub fn word(self) -> &'static str {
        match self {
            Became::Begin(_) => "begins",
            Became::End(_) => "ends",
            Became::Said(_) => "read",
            Became::Repaired(_) => "repaired",
            Became::Ignored(_) => "ignored",
            Became::Header => "header",
            Became::Row => "row",
            Became::Idle => "blank",
            Became::Unread => "unread",
        }
    }

    fn form(self) -> Option<usize> {
        match self {
            Became::Begin(form)
            | Became::End(form)
            | Became::Said(form)
            | Became::Repaired(form)
            | Became::Ignored(form) => Some(form),
            _ => None,
        }
    }
}

/// A field that was found in a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FoundField {
    /// Its name, as the layout writes it.
    pub name: String,
    /// Where it begins in the line's text, in bytes.
    pub start: usize,
    /// Where it ends.
    pub end: usize,
    /// What it was read as, where that is not what is printed: a date in full, a word of loadbook's, a unit.
    pub meaning: Option<String>,
}

/// What became of a line.
#[derive(Debug, Clone, PartialEq)]
pub struct Account {
    /// Its number; of several that were joined, the first.
    pub number: u32,
    /// How many lines were joined.
    pub n_lines: usize,
    /// Its place.
    pub span: Span,
    /// Its text; empty where it must not be repeated.
    pub text: String,
    /// What became of it.
    pub became: Became,
    /// The fields found in it, in the order of the line.
    pub fields: Vec<FoundField>,
    /// Why it was not read.
    pub diagnostic: Option<Diagnostic>,
}

impl Account {
    /// The account of a line.
    pub fn of(
        layout: &Layout,
        line: StripLine<'_>,
        became: Became,
        captures: Option<&[Captured]>,
        claim: &Claim,
    ) -> Self {
        let diagnostic = match claim {
            Claim::Unread(diagnostic) => Some((**diagnostic).clone()),
            _ => None,
        };
        let is_withheld = diagnostic
            .as_ref()
            .is_some_and(|diagnostic| diagnostic.code == Code::PatientData);
        let mut n_lines = 0;
        line.for_each_number(|_| n_lines.add_one());
        let fields = captures
            .unwrap_or_default()
            .iter()
            .map(|captured| FoundField {
                name: captured.field.name(),
                start: captured.start,
                end: captured.end,
                meaning: meaning(layout, line, captured),
            });
        Account {
            number: line.number(),
            n_lines,
            span: line.whole(),
            text: if is_withheld {
                String::new()
            } else {
                String::from_utf8_lossy(line.text()).into_owned()
            },
            became,
            fields: if is_withheld {
                Vec::new()
            } else {
                fields.collect()
            },
            diagnostic,
        }
    }
}

/// What a value was read as, where that is not what is printed.
fn meaning(layout: &Layout, line: StripLine<'_>, captured: &Captured) -> Option<String> {
    let printed = line.text().get(captured.start..captured.end)?;
    let lexicon = &layout.lexicon;
    let said = match (captured.field, captured.value) {
        (_, FieldValue::Date(date)) => date.to_string(),
        (_, FieldValue::Seconds(seconds)) => {
            let (minutes, second) = (seconds / 60, seconds % 60);
            format!("{:02}:{:02}:{second:02}", minutes / 60, minutes % 60)
        }
        (_, FieldValue::Measured(measured)) => {
            let gauge = match measured {
                Measured::Pressure(pressure) if pressure.datum() == Datum::Gauge => " gauge",
                _ => "",
            };
            // As many decimals as are printed.
            let mark = printed
                .iter()
                .position(|byte| *byte == lexicon.numbers.decimal);
            let n_decimals = mark.map_or(0, |mark| {
                let rest = printed.iter().skip(mark.saturating_add(1));
                rest.take_while(|byte| byte.is_ascii_digit()).count()
            });
            format!(
                "{:.n_decimals$} {}{gauge}",
                measured.printed_number(),
                measured.printed_symbol()
            )
        }
        (Field::Stage | Field::OutcomeStage, FieldValue::Word(word)) => {
            lexicon.stages.get(word)?.word().to_owned()
        }
        (Field::Alarm | Field::Cause, FieldValue::Word(word)) => {
            lexicon.causes.get(word)?.word().to_owned()
        }
        (Field::Outcome, FieldValue::Word(word)) => match lexicon.outcomes.get(word)? {
            None => "running".to_owned(),
            Some(Outcome::Completed) => "completed".to_owned(),
            Some(Outcome::Aborted { .. }) => "aborted".to_owned(),
            Some(Outcome::Rejected { .. }) => "rejected".to_owned(),
            Some(Outcome::Passed) => "passed".to_owned(),
            Some(Outcome::Failed) => "failed".to_owned(),
        },
        (Field::Process, FieldValue::Word(word)) => lexicon.processes.get(word)?.word().to_owned(),
        (Field::Purpose, FieldValue::Word(word)) => lexicon.purposes.get(word)?.word().to_owned(),
        (_, FieldValue::Missing) => "no value".to_owned(),
        _ => return None,
    };
    (said.as_bytes() != printed).then_some(said)
}

/// A strip on which a layout is tried.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Strip {
    /// Its name.
    pub name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// A part of a layout that never came up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NeverFound {
    /// How the layout writes it.
    pub shown: String,
    /// Where it stands in the TOML.
    pub place: Span,
}

/// How a layout did.
#[derive(Debug)]
pub struct Trial {
    /// The layout's name.
    pub layout: String,
    /// The names of the strips; a line's span has the number of its strip.
    pub strips: Vec<String>,
    /// The lines, in order.
    pub accounts: Vec<Account>,
    /// Forms that fitted no line.
    pub never_found: Vec<NeverFound>,
    /// Fields of the layout that were found in no line.
    pub fields_never_found: Vec<String>,
    /// What cycles lack that every cycle should have, with how many lack it.
    pub lacking: Vec<(&'static str, usize)>,
    /// Stages and causes that are kept in the printer's own words, which no rule of loadbook knows.
    pub own_words: Vec<String>,
    /// The cycles that were read.
    pub cycles: Vec<Cycle>,
    /// What else was said of them.
    pub said: Vec<Diagnostic>,
    /// Lines that are not blank.
    pub n_lines: usize,
    /// Those of them that were read or ignored as the layout says.
    pub n_read: usize,
    /// Those that could not be read.
    pub n_unread: usize,
}

impl Trial {
    /// How much of the strips was read, in whole per cent, rounded down so that a hundred means all.
    pub fn score(&self) -> usize {
        let hundredfold = self.n_read.saturating_mul(100);
        hundredfold.checked_div(self.n_lines).unwrap_or(0)
    }

    /// Whether nothing is left to do: every line is read, every cycle has what it should, and every stage and cause is
    /// one of loadbook's.
    pub fn is_complete(&self) -> bool {
        self.own_words.is_empty()
            && self.n_lines > 0
            && self.n_unread == 0
            && !self.cycles.is_empty()
            && self.lacking.is_empty()
    }
}

/// Tries a layout on strips.
pub fn try_layout(layout: &Arc<Layout>, strips: &[Strip]) -> Trial {
    let mut cycles = Vec::new();
    let mut said = Vec::new();
    let mut accounts = Vec::new();
    for (number, strip) in (0_u32..).zip(strips) {
        let mut ledger = Ledger::default();
        let mut reader = LayoutReader::with_accounts(Arc::clone(layout), Strictness::Infer);
        let mut sink = Sink {
            cycles: &mut cycles,
            ledger: &mut ledger,
            said: &mut said,
        };
        // Bytes in memory have no errors.
        let _ = read_lines_as(FileId(number), &strip.bytes[..], layout.charset, |line| {
            if line.fitness == Fitness::Text {
                reader.take_line(line, &mut sink);
            }
        });
        reader.finish(&mut sink);
        accounts.extend(reader.take_accounts());
    }
    let found_forms: BTreeSet<usize> = accounts.iter().filter_map(|a| a.became.form()).collect();
    let never_found = layout
        .forms
        .iter()
        .enumerate()
        .filter(|(number, _)| !found_forms.contains(number))
        .map(|(_, known)| NeverFound {
            shown: known.form.shown.clone(),
            place: known.place,
        })
        .collect();
    let found: BTreeSet<&str> = accounts
        .iter()
        .flat_map(|account| account.fields.iter().map(|field| field.name.as_str()))
        .collect();
    let known: BTreeSet<String> = layout
        .forms
        .iter()
        .filter(|known| known.role != Role::Ignore)
        .flat_map(|known| known.form.fields())
        .chain(layout.table.iter().flat_map(|table| table.fields()))
        .map(Field::name)
        .collect();
    let fields_never_found = known
        .into_iter()
        .filter(|name| !found.contains(name.as_str()))
        .collect();
    let n_lines = accounts
        .iter()
        .filter(|account| account.became != Became::Idle)
        .map(|account| account.n_lines)
        .sum();
    let n_unread = accounts
        .iter()
        .filter(|account| account.became == Became::Unread)
        .map(|account| account.n_lines)
        .sum();
    Trial {
        layout: layout.name.clone(),
        strips: strips.iter().map(|strip| strip.name.clone()).collect(),
        never_found,
        fields_never_found,
        lacking: lacking(&cycles),
        own_words: own_words(&cycles),
        n_lines,
        n_unread,
        n_read: n_lines.saturating_sub(n_unread),
        accounts,
        cycles,
        said,
    }
}

fn lacking(cycles: &[Cycle]) -> Vec<(&'static str, usize)> {
    type Need = (&'static str, fn(&Cycle) -> bool);
    let needs: [Need; 7] = [
        ("unit", |cycle| cycle.unit.is_some()),
        ("counter", |cycle| cycle.counter.is_some()),
        ("start", |cycle| cycle.started.is_some()),
        ("process", |cycle| cycle.process.is_some()),
        ("stages", |cycle| {
            !cycle.stages.is_empty() || is_rejected(cycle)
        }),
        ("readings", |cycle| {
            cycle.n_reading_lines > 0 || is_rejected(cycle)
        }),
        ("outcome", |cycle| cycle.outcome.is_some()),
    ];
    needs
        .into_iter()
        .map(|(what, has)| (what, cycles.iter().filter(|cycle| !has(cycle)).count()))
        .filter(|(_, n)| *n > 0)
        .collect()
}

/// Stages and causes in words that are not in loadbook's tables, sorted.
fn own_words(cycles: &[Cycle]) -> Vec<String> {
    let stages = cycles.iter().flat_map(|cycle| &cycle.stages);
    let stages = stages.filter_map(|stage| match &stage.name {
        StageName::Other(word) => Some(format!("stage `{word}`")),
        _ => None,
    });
    let causes = cycles.iter().flat_map(Cycle::alarms);
    let causes = causes.filter_map(|(_, cause)| match cause {
        Cause::Other(word) => Some(format!("cause `{word}`")),
        _ => None,
    });
    let words: BTreeSet<String> = stages.chain(causes).collect();
    words.into_iter().collect()
}

/// A load that was rejected before its first exposure has neither stages nor readings.
fn is_rejected(cycle: &Cycle) -> bool {
    matches!(
        cycle.outcome.as_ref().map(|outcome| &outcome.value),
        Some(Outcome::Rejected { .. })
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parse::layout::compile::compile;
    use crate::parse::layout::language::LayoutText;

    const LAYOUT: &str = r#"layout = 1
name = "trial"
begin = "RUN {counter}"
end = "DONE"
ignore = ["---*"]
lines = [
    "{time} {pressure} {temperature C}",
    "{time} {stage}",
    "LOAD {load}",
    "RESULT {outcome}",
    "ALARM {time} {alarm}",
    "UNUSED {operator}",
    "ON {start date} {start time}",
    "KIND {process} {purpose}",
    "LENGTH {total}",
]
[always]
unit = "ST-1"
[numbers]
missing = ["--"]
[dates]
date = "DD.MM.YYYY"
length = "MM:SS"
[words.stage]
expose = "HEAT"
own-thing = "WARP"
[words.alarm]
moisture = "WET"
[words.outcome]
completed = "OK"
rejected = "NO"
aborted = "STOP"
passed = "TIGHT"
failed = "LEAKY"
running = "ON IT"
[words.process]
steam = "S"
[words.purpose]
load = "L"
"#;

    fn layout() -> Arc<Layout> {
        let text = LayoutText {
            name: "trial".to_owned(),
            text: LAYOUT.to_owned(),
        };
        let compiled = compile(text, &|_| None);
        Arc::new(compiled.unwrap_or_else(|(_, said)| panic!("{said:#?}")))
    }

    fn trial(text: &str) -> Trial {
        let strip = Strip {
            name: "strip.txt".to_owned(),
            bytes: text.as_bytes().to_vec(),
        };
        try_layout(&layout(), &[strip])
    }

    const STRIP: &str = "RUN 42\nON 12.03.2026 07:41:20\nKIND S L\nLOAD S1\n07:42:00 HEAT\n07:43:00 3.065 bar gauge 134.50\n\
        07:44:00 -- 134.6\n-----\n\nnonsense line\nPatient name: Example\nALARM 07:45:00 WET\nLENGTH 40:45\nRESULT OK\nDONE\n";

    #[test]
    fn each_line_is_told_with_what_it_became_and_what_it_says() {
        let trial = trial(STRIP);
        let told: Vec<(u32, &str, String)> = trial
            .accounts
            .iter()
            .map(|account| {
                let field = |field: &FoundField| {
                    let text = account.text.get(field.start..field.end).unwrap();
                    match &field.meaning {
                        Some(meaning) => format!("{}={text}={meaning}", field.name),
                        None => format!("{}={text}", field.name),
                    }
                };
                let fields: Vec<_> = account.fields.iter().map(field).collect();
                (account.number, account.became.word(), fields.join(" "))
            })
            .collect();
        let expected = [
            (1, "begins", "counter=42"),
            (
                2,
                "read",
                "start date=12.03.2026=2026-03-12 start time=07:41:20",
            ),
            (3, "read", "process=S=steam purpose=L=load"),
            (4, "read", "load=S1"),
            (5, "read", "time=07:42:00 stage=HEAT=expose"),
            (
                6,
                "read",
                "time=07:43:00 pressure=3.065 bar gauge temperature=134.50=134.50 C",
            ),
            (
                7,
                "read",
                "time=07:44:00 pressure=--=no value temperature=134.6=134.6 C",
            ),
            (8, "ignored", ""),
            (9, "blank", ""),
            (10, "unread", ""),
            (11, "unread", ""),
            (12, "read", "time=07:45:00 alarm=WET=moisture"),
            (13, "read", "total=40:45=00:40:45"),
            (14, "read", "outcome=OK=completed"),
            (15, "ends", ""),
        ];
        let expected: Vec<_> = expected
            .iter()
            .map(|(number, word, fields)| (*number, *word, (*fields).to_owned()))
            .collect();
        assert_eq!(told, expected);
        // A patient's data is not repeated.
        assert_eq!(trial.accounts[10].text, "");
        assert_eq!(trial.accounts[9].text, "nonsense line");
        assert!(trial.accounts[9].diagnostic.is_some() && trial.accounts[3].diagnostic.is_none());
        // Fourteen lines are not blank, and two of them were not read: 85.7 %, rounded down.
        assert_eq!((trial.n_lines, trial.n_read, trial.n_unread), (14, 12, 2));
        assert_eq!(trial.score(), 85);
        let never: Vec<&str> = trial
            .never_found
            .iter()
            .map(|one| one.shown.as_str())
            .collect();
        assert_eq!(never, ["UNUSED {operator}"]);
        assert_eq!(trial.fields_never_found, ["operator"]);
        assert_eq!((trial.lacking.len(), trial.own_words.len()), (0, 0));
        assert!(!trial.is_complete());
    }

    #[test]
    fn trial_is_complete_when_nothing_is_left_to_do() {
        let whole = STRIP.replace("nonsense line\nPatient name: Example\n", "");
        assert!(trial(&whole).is_complete());
        assert_eq!(trial(&whole).score(), 100);
        for (from, to, lacking, own_words) in [
            ("ON 12.03.2026 07:41:20\n", "", &[("start", 1)][..], &[][..]),
            ("KIND S L\n", "", &[("process", 1)], &[]),
            ("RESULT OK\n", "", &[("outcome", 1)], &[]),
            (
                "07:42:00 HEAT",
                "07:42:00 WARP",
                &[],
                &["stage `own-thing`"],
            ),
            (
                "07:43:00 3.065 bar gauge 134.50\n07:44:00 -- 134.6\n",
                "",
                &[("readings", 1)],
                &[],
            ),
            // A load that was rejected has neither stages nor readings.
            (
                "07:42:00 HEAT\n07:43:00 3.065 bar gauge 134.50\n07:44:00 -- 134.6\n-----\n\nALARM 07:45:00 WET\nLENGTH 40:45\nRESULT OK",
                "RESULT NO",
                &[],
                &[],
            ),
            (
                "07:42:00 HEAT\n07:43:00 3.065 bar gauge 134.50\n07:44:00 -- 134.6\n-----\n\nALARM 07:45:00 WET\nLENGTH 40:45\nRESULT OK",
                "RESULT STOP",
                &[("stages", 1), ("readings", 1)],
                &[],
            ),
        ] {
            assert!(whole.contains(from), "{from}");
            let trial = trial(&whole.replace(from, to));
            assert_eq!(trial.lacking, lacking, "{to}");
            assert_eq!(trial.own_words, own_words, "{to}");
            assert_eq!(
                trial.is_complete(),
                lacking.is_empty() && own_words.is_empty()
            );
        }
        // Without lines, or without a cycle, nothing is complete.
        let none = trial("");
        assert_eq!((none.score(), none.is_complete()), (0, false));
        assert!(!trial("-----\n").is_complete());
    }

    #[test]
    fn outcome_is_told_by_loadbook_s_word() {
        for (printed, word) in [
            ("OK", "completed"),
            ("NO", "rejected"),
            ("STOP", "aborted"),
            ("TIGHT", "passed"),
            ("LEAKY", "failed"),
            ("ON IT", "running"),
        ] {
            let trial = trial(&format!("RUN 42\nRESULT {printed}\nDONE\n"));
            let meaning = trial.accounts[1].fields[0].meaning.as_deref();
            assert_eq!(meaning, Some(word), "{printed}");
        }
    }
}
