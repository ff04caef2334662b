//! Lines of a cycle printout → a [`Cycle`]. Read [`PrintoutReader::take_line`] first.

use super::builder::{CycleBuilder, Placed};
use super::clock::WrittenTime;
use super::usual::{read_time, read_values};
use crate::diagnose::codes::Code;
use crate::diagnose::{Diagnostic, Span};
use crate::parse::Strictness;
use crate::parse::fault::{Fault, Parsed, diagnose_fault, fail, fault, fault_of, is_cut};
use crate::parse::ledger::Claim;
use crate::parse::lot::LotParts;
use crate::parse::suggest::suggest;
use crate::parse::text::{diagnose_patient_data, is_name, looks_like_patient_data, owned};
use crate::parse::token::{
    DecimalMark, blanks, bound, comma, date, date_time, duration, elapsed_time, end_of_line, gap,
    keyword, leak_rate, measured, n_of_m, pressure, time, token, whole,
};
use crate::record::Spanned;
use crate::record::cause::Cause;
use crate::record::consumable::{ConsumableKind, ConsumableUse, UseCount};
use crate::record::cycle::{
    Checksum, Cycle, Event, LeakResult, Limit, LimitValue, Outcome, Process, Purpose, Reading,
    Stage, StageName, Total,
};
use crate::record::name::{LoadNumber, Program, StaffMark, UnitName};
use crate::source::lines::Line;
use chrono_tz::Tz;
use nom::Parser;
use nom::combinator::{cut, opt};
use nom::sequence::{pair, preceded};

/// Every keyword of the format, for proposals.
pub const KEYS: &[&str] = &[
    "unit",
    "serial",
    "software",
    "place",
    "zone",
    "process",
    "purpose",
    "program",
    "counter",
    "load",
    "operator",
    "started",
    "ambient",
    "consumable",
    "stage",
    "event",
    "alarm",
    "leak",
    "ended",
    "total",
    "outcome",
    "checksum",
];

/// The checksum is taken over at most this many bytes at a time.
const CHECKSUM_CHUNK: usize = 64 * 1024;

/// Why a line was not taken: a fault at a place in it, or a diagnostic of its own.
enum Refusal<'a> {
    Fault(Fault<'a>),
    Said(Box<Diagnostic>),
}

impl<'a> From<nom::Err<Fault<'a>>> for Refusal<'a> {
    fn from(error: nom::Err<Fault<'a>>) -> Self {
        Refusal::Fault(fault_of(error))
    }
}

impl From<Box<Diagnostic>> for Refusal<'_> {
    fn from(diagnostic: Box<Diagnostic>) -> Self {
        Refusal::Said(diagnostic)
    }
}

impl From<Diagnostic> for Refusal<'_> {
    fn from(diagnostic: Diagnostic) -> Self {
        Refusal::Said(Box::new(diagnostic))
    }
}

type Taken<'a> = Result<(), Refusal<'a>>;

/// What became of a line, and whether it closed the printout.
pub enum Step {
    /// The printout goes on.
    Goes(Claim),
    /// The line was its closing line.
    Closes,
}

/// Room that one printout after the other uses, so that none has to ask for it.
#[derive(Debug, Default)]
pub struct Room {
    /// For lines that are not in the checksum yet.
    unhashed: Vec<u8>,
    /// For the readings of the stage at hand.
    readings: Vec<Reading>,
}

/// Reads the lines of one printout.
#[derive(Debug)]
pub struct PrintoutReader {
    builder: CycleBuilder,
    hasher: crc32fast::Hasher,
    /// Lines that are not in the hasher yet.
    unhashed: Vec<u8>,
    /// The first line with something on it that stands below the checksum, which does not cover it.
    below_checksum: Option<Span>,
}

impl PrintoutReader {
    /// A reader that has read the opening line.
    pub fn opened_by(line: &Line<'_>, strictness: Strictness, room: Room) -> Self {
        let mut reader = PrintoutReader {
            builder: CycleBuilder::opened_at(line.whole(), strictness).with_room(room.readings),
            hasher: crc32fast::Hasher::new(),
            unhashed: room.unhashed,
            below_checksum: None,
        };
        reader.hash(line.text);
        reader
    }

    /// Takes the next line. Diagnostics about lines that are read all the same go to `said`.
    pub fn take_line(&mut self, line: &Line<'_>, said: &mut Vec<Diagnostic>) -> Step {
        let text = line.text;
        let has_checksum = self.builder.cycle().checksum != Checksum::Absent;
        let taken = match text.first() {
            None | Some(b'#') => {
                self.hash(text);
                return Step::Goes(Claim::Idle);
            }
            Some(byte) if byte.is_ascii_digit() => self.take_reading(line, said),
            _ if text.eq_ignore_ascii_case(b"end") => {
                self.builder.change(|cycle| cycle.closed = true);
                self.builder.keep_line(line.number);
                return Step::Closes;
            }
            _ => match memchr::memchr(b':', text).and_then(|colon| text.split_at_checked(colon)) {
                Some((key, value)) => {
                    let value = value.get(1..).unwrap_or_default();
                    self.take_field(line, key.trim_ascii(), value.trim_ascii(), said)
                }
                None if text.trim_ascii().is_empty() => {
                    self.hash(b"");
                    return Step::Goes(Claim::Idle);
                }
                None => Err(unknown_line(line).into()),
            },
        };
        if has_checksum && self.below_checksum.is_none() {
            self.below_checksum = Some(line.whole());
        }
        self.hash(text);
        Step::Goes(match taken {
            Ok(()) => {
                self.builder.keep_line(line.number);
                Claim::Record
            }
            Err(refusal) => {
                self.builder.count_unread_line();
                Claim::unread(if looks_like_patient_data(text) {
                    diagnose_patient_data(line.whole())
                } else {
                    match refusal {
                        Refusal::Fault(fault) => diagnose_fault(line, fault),
                        Refusal::Said(diagnostic) => *diagnostic,
                    }
                })
            }
        })
    }

    /// Ends the printout, closed or torn, and says what its lines taken together do not bear out.
    pub fn finish(mut self, said: &mut Vec<Diagnostic>) -> (Cycle, Room) {
        if let Some(below) = self.below_checksum {
            self.doubt_checksum(below, said);
        }
        self.unhashed.clear();
        let (cycle, readings) = self.builder.finish("`end`", said);
        let unhashed = self.unhashed;
        (cycle, Room { unhashed, readings })
    }

    fn hash(&mut self, text: &[u8]) {
        if self.unhashed.len() > CHECKSUM_CHUNK {
            self.hasher.update(&self.unhashed);
            self.unhashed.clear();
        }
        self.unhashed.extend_from_slice(text);
        self.unhashed.push(b'\n');
    }

    /// A checksum counts to its own line, so that a line below it could say anything: what it proves is not the printout.
    #[cold]
    fn doubt_checksum(&mut self, below: Span, said: &mut Vec<Diagnostic>) {
        let Checksum::Agrees { crc32, span } = self.builder.cycle().checksum else {
            return;
        };
        self.hasher.update(&self.unhashed);
        self.unhashed.clear();
        let computed = self.hasher.clone().finalize();
        self.builder.change(|cycle| {
            cycle.checksum = Checksum::Differs {
                printed: crc32,
                computed,
                span,
            };
        });
        said.push(
            Diagnostic::at(
                Code::ChecksumWrong,
                below,
                "this line stands below the checksum, which does not count it",
            )
            .label(span, "the checksum, which comes last but `end`"),
        );
    }

    /// Says of a word that is none of the known ones, but a slip away from one.
    #[cold]
    fn say_near_miss(
        line: &Line<'_>,
        word: &str,
        known: &[&'static str],
        said: &mut Vec<Diagnostic>,
    ) {
        if let Some(near) = suggest(word, known) {
            said.push(
                Diagnostic::at(
                    Code::WordNearMiss,
                    line.whole(),
                    format!("`{word}` may be a slip of `{near}`; it was kept as it stands"),
                )
                .help(format!("write `{near}` if that is what is meant")),
            );
        }
    }

    fn take_reading<'a>(&mut self, line: &Line<'a>, said: &mut Vec<Diagnostic>) -> Taken<'a> {
        if let Some((second_of_day, values)) = read_time(line.text) {
            let written = WrittenTime {
                date: None,
                second_of_day,
            };
            let placed = self.builder.place(line.whole(), written)?;
            let line_start = line.span(0, 0);
            let readings = &mut self.builder.last_stage(line_start, placed.at).readings;
            let n_before = readings.len();
            let is_usual = read_values(values, |measured| {
                readings.push(Reading {
                    at: placed.at,
                    line: line.number,
                    measured,
                });
            });
            if is_usual {
                self.keep_readings(line, written, placed, n_before, said);
                return Ok(());
            }
            readings.truncate(n_before);
        }
        self.take_unusual_reading(line, said)
    }

    fn take_unusual_reading<'a>(
        &mut self,
        line: &Line<'a>,
        said: &mut Vec<Diagnostic>,
    ) -> Taken<'a> {
        let (rest, written) = clock_time(line.text)?;
        let (mut rest, ()) = gap(rest)?;
        let placed = self.builder.place(line.whole(), written)?;
        let line_start = line.span(0, 0);
        let readings = &mut self.builder.last_stage(line_start, placed.at).readings;
        let n_before = readings.len();
        let mut mark = DecimalMark::Point;
        let result = loop {
            match measured(rest) {
                Ok((after, (measured, with))) => {
                    mark = mark.or(with);
                    readings.push(Reading {
                        at: placed.at,
                        line: line.number,
                        measured,
                    });
                    if blanks(after).is_empty() {
                        break Ok(());
                    }
                    match comma(after) {
                        Ok((after, ())) => rest = after,
                        Err(error) => break Err(error),
                    }
                }
                Err(error) => break Err(error),
            }
        };
        let accepted = match result {
            Err(error) => Err(Refusal::from(error)),
            Ok(()) => self
                .builder
                .note_decimal_mark(line.whole(), mark, said)
                .map_err(Refusal::from),
        };
        if let Err(refusal) = accepted {
            // A line is read as a whole or not at all.
            self.builder
                .last_stage(line_start, placed.at)
                .readings
                .truncate(n_before);
            return Err(refusal);
        }
        self.keep_readings(line, written, placed, n_before, said);
        Ok(())
    }

    /// Takes up the readings of a line, which stand behind the first `n_before` of the stage at hand.
    #[inline]
    fn keep_readings(
        &mut self,
        line: &Line<'_>,
        written: WrittenTime,
        placed: Placed,
        n_before: usize,
        said: &mut Vec<Diagnostic>,
    ) {
        let readings = &self.builder.last_stage(line.span(0, 0), placed.at).readings;
        if let Some((before, now)) = readings.split_at_checked(n_before)
            && before.last().is_some_and(|last| last.at == placed.at)
            && is_repeated(before, now)
        {
            said.push(repeated_line(line));
        }
        self.builder.count_reading_line();
        self.builder.advance(line.whole(), written, placed, said);
    }

    fn take_field<'a>(
        &mut self,
        line: &Line<'a>,
        key: &'a [u8],
        value: &'a [u8],
        said: &mut Vec<Diagnostic>,
    ) -> Taken<'a> {
        let is = |word: &str| key.eq_ignore_ascii_case(word.as_bytes());
        if value.is_empty() {
            return Err(Fault {
                at: value,
                code: Code::ValueMissing,
                wanted: "a value",
            }
            .into_refusal(line));
        }
        let span = line.span_of(value);
        if is("stage") {
            self.take_stage(line, value, said)
        } else if is("event") {
            self.take_event(line, value, said)
        } else if is("alarm") {
            self.take_alarm(line, value, said)
        } else if is("unit") {
            self.set(|cycle| &mut cycle.unit, UnitName(name(value)?), span)
        } else if is("serial") {
            self.set(|cycle| &mut cycle.serial, text(line, value, said)?, span)
        } else if is("software") {
            self.set(|cycle| &mut cycle.software, text(line, value, said)?, span)
        } else if is("place") {
            self.set(|cycle| &mut cycle.place, text(line, value, said)?, span)
        } else if is("zone") {
            self.set(|cycle| &mut cycle.zone, zone(value)?, span)
        } else if is("process") {
            let process = one_of(
                value,
                Process::ALL,
                |process| process.word(),
                "plasma, steam or eo",
            )?;
            self.set(|cycle| &mut cycle.process, process, span)
        } else if is("purpose") {
            let wanted = "load, leak-test, air-removal-test or warm-up";
            let purpose = one_of(value, Purpose::ALL, |purpose| purpose.word(), wanted)?;
            self.builder.set_purpose(purpose, span)?;
            Ok(())
        } else if is("program") {
            self.set(
                |cycle| &mut cycle.program,
                Program(text(line, value, said)?),
                span,
            )
        } else if is("counter") {
            self.set(|cycle| &mut cycle.counter, complete(whole(value))?, span)
        } else if is("load") {
            self.set(|cycle| &mut cycle.load, LoadNumber(name(value)?), span)
        } else if is("operator") {
            self.set(|cycle| &mut cycle.operator, StaffMark(name(value)?), span)
        } else if is("started") {
            self.take_started(value, span)
        } else if is("ambient") {
            let (ambient, mark) = complete(pressure(value))?;
            self.builder.note_decimal_mark(line.whole(), mark, said)?;
            self.set(|cycle| &mut cycle.ambient, ambient, span)
        } else if is("consumable") {
            let consumable = self.read_consumable(line, value)?;
            self.builder.push_consumable(consumable);
            Ok(())
        } else if is("leak") {
            let (rest, (rate, mark)) = leak_rate(value)?;
            let (rest, limit) =
                opt(preceded((comma, keyword("limit"), gap), leak_rate)).parse(rest)?;
            end_of_line(rest)?;
            self.builder.note_decimal_mark(
                line.whole(),
                mark.or(limit.map_or(DecimalMark::Point, |(_, mark)| mark)),
                said,
            )?;
            self.set(
                |cycle| &mut cycle.leak,
                LeakResult {
                    rate,
                    limit: limit.map(|(limit, _)| limit),
                },
                span,
            )
        } else if is("ended") {
            let written = complete(clock_time(value))?;
            let placed = self.builder.place(line.whole(), written)?;
            self.set(|cycle| &mut cycle.ended, placed.at, span)?;
            self.builder.advance(line.whole(), written, placed, said);
            Ok(())
        } else if is("total") {
            let (rest, seconds) = elapsed_time(value)?;
            let (rest, n_reading_lines) =
                opt(preceded((comma, keyword("readings"), gap), whole)).parse(rest)?;
            end_of_line(rest)?;
            self.set(
                |cycle| &mut cycle.total,
                Total {
                    seconds,
                    n_reading_lines,
                },
                span,
            )
        } else if is("outcome") {
            let outcome = complete(outcome(value))?;
            if let Outcome::Aborted { cause, .. } | Outcome::Rejected { cause } = &outcome
                && let Some(Cause::Other(word)) = cause
            {
                Self::say_near_miss(line, word, &causes(), said);
            }
            if let Outcome::Aborted {
                stage: Some(StageName::Other(word)),
                ..
            } = &outcome
            {
                Self::say_near_miss(line, word, STAGES, said);
            }
            self.set(|cycle| &mut cycle.outcome, outcome, span)
        } else if is("checksum") {
            self.take_checksum(value, span)
        } else {
            Err(unknown_key(line, key).into())
        }
    }

    fn take_started<'a>(&mut self, value: &'a [u8], span: Span) -> Taken<'a> {
        let stamp = complete(date_time(value))?;
        Ok(self.builder.start(stamp, span)?)
    }

    #[inline]
    fn set<'a, T: PartialEq>(
        &mut self,
        field: impl FnOnce(&mut Cycle) -> &mut Option<Spanned<T>>,
        value: T,
        span: Span,
    ) -> Taken<'a> {
        Ok(self.builder.set(field, value, span)?)
    }

    fn take_stage<'a>(
        &mut self,
        line: &Line<'a>,
        value: &'a [u8],
        said: &mut Vec<Diagnostic>,
    ) -> Taken<'a> {
        let (rest, name) = token("the name of a stage")(value)?;
        let (mut rest, written) = preceded((comma, keyword("at"), gap), clock_time).parse(rest)?;
        let placed = self.builder.place(line.whole(), written)?;
        let mut limits = Vec::new();
        let mut n_pulses = None;
        let mut mark = DecimalMark::Point;
        while !blanks(rest).is_empty() {
            let (part, ()) = comma(rest)?;
            if let Ok((value, ())) = pair(keyword("pulses"), gap).map(|_| ()).parse(part) {
                let (after, n) = whole(value)?;
                n_pulses = Some(n);
                rest = after;
            } else {
                let (after, (limit, with)) = limit(part)?;
                mark = mark.or(with);
                limits.push(limit);
                rest = after;
            }
        }
        self.builder.note_decimal_mark(line.whole(), mark, said)?;
        let stage = Stage {
            name: StageName::known(name).unwrap_or_else(|| StageName::Other(owned(name))),
            span: line.whole(),
            began: placed.at,
            limits,
            n_pulses,
            readings: Vec::new(),
        };
        if let StageName::Other(word) = &stage.name {
            Self::say_near_miss(line, word, STAGES, said);
        }
        let is_same = |last: &Stage| {
            last.name == stage.name
                && last.began == stage.began
                && last.limits == stage.limits
                && last.n_pulses == stage.n_pulses
                && last.readings.is_empty()
        };
        if self.builder.cycle().stages.last().is_some_and(is_same) {
            said.push(repeated_line(line));
        }
        self.builder.push_stage(stage);
        self.builder.advance(line.whole(), written, placed, said);
        Ok(())
    }

    fn take_event<'a>(
        &mut self,
        line: &Line<'a>,
        value: &'a [u8],
        said: &mut Vec<Diagnostic>,
    ) -> Taken<'a> {
        let (rest, written) = clock_time(value)?;
        let (rest, ()) = comma(rest)?;
        if rest.is_empty() {
            return Err(fault(rest, Code::ValueMissing, "what happened").into());
        }
        self.push_event(line, written, None, rest, said)
    }

    fn take_alarm<'a>(
        &mut self,
        line: &Line<'a>,
        value: &'a [u8],
        said: &mut Vec<Diagnostic>,
    ) -> Taken<'a> {
        let (rest, written) = clock_time(value)?;
        let (rest, word) = preceded(comma, token("the cause of the alarm")).parse(rest)?;
        let rest = if blanks(rest).is_empty() {
            rest
        } else {
            match comma(rest)?.0 {
                b"" => {
                    return Err(fault(b"", Code::ValueMissing, "words").into());
                }
                words => words,
            }
        };
        let cause = Cause::from_word(&owned(word));
        // Any word is a cause, but not the beginning of a known one where a capture cuts lines.
        let begins = |known: &Cause| {
            let head = known.word().as_bytes().get(..word.len());
            head.is_some_and(|head| head.eq_ignore_ascii_case(word))
        };
        let is_other = matches!(cause, Cause::Other(_));
        if is_other && rest.is_empty() && is_cut(line) && Cause::ALL.iter().any(begins) {
            return Err(fault(word, Code::LineCut, "the whole word of a cause").into());
        }
        self.push_event(line, written, Some(cause), rest, said)
    }

    fn push_event<'a>(
        &mut self,
        line: &Line<'a>,
        written: WrittenTime,
        alarm: Option<Cause>,
        words: &'a [u8],
        said: &mut Vec<Diagnostic>,
    ) -> Taken<'a> {
        let text = text(line, words, said)?;
        let placed = self.builder.place(line.whole(), written)?;
        let event = Event {
            at: placed.at,
            span: line.whole(),
            alarm,
            text,
        };
        if let Some(Cause::Other(word)) = &event.alarm {
            Self::say_near_miss(line, word, &causes(), said);
        }
        let is_same = |last: &Event| {
            last.at == event.at && last.alarm == event.alarm && last.text == event.text
        };
        if self.builder.cycle().events.last().is_some_and(is_same) {
            said.push(repeated_line(line));
        }
        self.builder.push_event(event);
        self.builder.advance(line.whole(), written, placed, said);
        Ok(())
    }

    fn read_consumable<'a>(
        &self,
        line: &Line<'a>,
        value: &'a [u8],
    ) -> Result<ConsumableUse, Refusal<'a>> {
        let (mut rest, kind) = token("a kind of consumable")(value)?;
        let wanted = "sterilant, ci, bi, packaging or other";
        let kind = one_of(kind, ConsumableKind::ALL, |kind| kind.word(), wanted)?;
        let mut parts = LotParts::default();
        let mut use_count = None;
        while !blanks(rest).is_empty() {
            let (part, ()) = comma(rest)?;
            if let Ok((value, ())) = pair(keyword("use"), gap).map(|_| ()).parse(part) {
                let (after, (n, of)) = n_of_m(value)?;
                use_count = Some(UseCount { n, of });
                rest = after;
            } else {
                rest = parts
                    .take_part(line, part)
                    .map_err(|diagnostic| Refusal::Said(Box::new(diagnostic)))?;
            }
        }
        let lot = parts
            .join(self.builder.year())
            .map_err(|diagnostic| Refusal::Said(Box::new(diagnostic)))?;
        Ok(ConsumableUse {
            kind,
            lot: Spanned::new(lot, line.span_of(value)),
            use_count,
        })
    }

    fn take_checksum<'a>(&mut self, value: &'a [u8], span: Span) -> Taken<'a> {
        let digits = std::str::from_utf8(value)
            .ok()
            .filter(|digits| digits.len() == 8 && digits.bytes().all(|b| b.is_ascii_hexdigit()));
        let Some(printed) = digits.and_then(|digits| u32::from_str_radix(digits, 16).ok()) else {
            return Err(fault(
                value,
                Code::ValueInvalid,
                "a checksum of eight hexadecimal digits",
            )
            .into());
        };
        self.hasher.update(&self.unhashed);
        self.unhashed.clear();
        let computed = self.hasher.clone().finalize();
        let checksum = if printed == computed {
            Checksum::Agrees {
                crc32: computed,
                span,
            }
        } else {
            Checksum::Differs {
                printed,
                computed,
                span,
            }
        };
        self.builder.change(|cycle| cycle.checksum = checksum);
        Ok(())
    }
}

impl<'a> Fault<'a> {
    fn into_refusal(self, line: &Line<'a>) -> Refusal<'a> {
        // An empty value lies at the line's end, whatever it was sliced from.
        let at = if self.at.is_empty() {
            line.text.get(line.text.len()..).unwrap_or_default()
        } else {
            self.at
        };
        Refusal::Fault(Fault { at, ..self })
    }
}

/// A parser's value, if nothing is left after it.
fn complete<T>(parsed: Parsed<'_, T>) -> Result<T, nom::Err<Fault<'_>>> {
    let (rest, value) = parsed?;
    end_of_line(rest)?;
    Ok(value)
}

fn name(value: &[u8]) -> Result<String, nom::Err<Fault<'_>>> {
    if is_name(value) {
        Ok(owned(value))
    } else {
        Err(fault(
            value,
            Code::ValueInvalid,
            "a name of at most forty characters without spaces or commas",
        ))
    }
}

fn text<'a>(
    line: &Line<'a>,
    value: &[u8],
    said: &mut Vec<Diagnostic>,
) -> Result<String, Refusal<'a>> {
    if looks_like_patient_data(value) {
        return Err(diagnose_patient_data(line.whole()).into());
    }
    let before_colon = memchr::memchr(b':', value).and_then(|colon| value.get(..colon));
    let ends_in_key = |text: &[u8]| {
        let text = text.to_ascii_lowercase();
        KEYS.iter().find(|key| text.ends_with(key.as_bytes()))
    };
    if let Some(key) = before_colon.and_then(ends_in_key) {
        said.push(Diagnostic::at(
            Code::LinesMerged,
            line.whole(),
            format!("the text of this line holds `{key}:`, as if the next line had run into it"),
        ));
    }
    Ok(owned(value))
}

/// The words of stages that the format knows.
const STAGES: &[&str] = &[
    "warm",
    "evacuate",
    "inject",
    "diffuse",
    "plasma",
    "condition",
    "expose",
    "exhaust",
    "dry",
    "aerate",
    "settle",
    "hold",
    "vent",
];

fn causes() -> Vec<&'static str> {
    Cause::ALL.iter().map(|cause| cause.word()).collect()
}

/// Whether the readings of a line are those of the line before it, time and all.
fn is_repeated(before: &[Reading], now: &[Reading]) -> bool {
    let Some(start) = before.len().checked_sub(now.len()) else {
        return false;
    };
    let last_line = before.get(start..).unwrap_or_default();
    let same = |(a, b): (&Reading, &Reading)| a.at == b.at && a.measured == b.measured;
    let is_one_line = last_line.iter().all(|reading| {
        last_line
            .first()
            .is_some_and(|first| first.line == reading.line)
    });
    let is_whole = start
        .checked_sub(1)
        .and_then(|ix| before.get(ix))
        .is_none_or(|earlier| {
            last_line
                .first()
                .is_some_and(|first| first.line != earlier.line)
        });
    is_one_line && is_whole && last_line.iter().zip(now).all(same)
}

#[cold]
fn repeated_line(line: &Line<'_>) -> Diagnostic {
    Diagnostic::at(
        Code::LineRepeated,
        line.whole(),
        "this line says the same as the one before it, time and all",
    )
}

fn zone(value: &[u8]) -> Result<Tz, nom::Err<Fault<'_>>> {
    let found = std::str::from_utf8(value)
        .ok()
        .and_then(|name| Tz::from_str_insensitive(name).ok());
    found.ok_or_else(|| {
        fault(
            value,
            Code::ValueInvalid,
            "a zone of the IANA time zone database",
        )
    })
}

fn one_of<'a, T: Copy>(
    value: &'a [u8],
    all: &[T],
    word: impl Fn(T) -> &'static str,
    wanted: &'static str,
) -> Result<T, nom::Err<Fault<'a>>> {
    let found = all
        .iter()
        .copied()
        .find(|&candidate| value.eq_ignore_ascii_case(word(candidate).as_bytes()));
    found.ok_or_else(|| fault(value, Code::ValueInvalid, wanted))
}

/// A time of day, with a date before it or without.
fn clock_time(input: &[u8]) -> Parsed<'_, WrittenTime> {
    if input.get(4) == Some(&b'-') {
        let (rest, date) = date(input)?;
        let (rest, second_of_day) = preceded(gap, time).parse(rest)?;
        return Ok((
            rest,
            WrittenTime {
                date: Some(date),
                second_of_day,
            },
        ));
    }
    let (rest, second_of_day) = time(input)?;
    Ok((
        rest,
        WrittenTime {
            date: None,
            second_of_day,
        },
    ))
}

fn limit(input: &[u8]) -> Parsed<'_, (Limit, DecimalMark)> {
    let (rest, ()) = match keyword("limit")(input) {
        Ok(parsed) => parsed,
        Err(_) => return fail(input, Code::KeyUnknown, "`limit` or `pulses`"),
    };
    let (rest, ()) = gap(rest)?;
    let (rest, (value, mark)) = match preceded(keyword("duration"), gap).parse(rest) {
        Ok((rest, ())) => {
            let (rest, (value, mark)) = duration(rest)?;
            (rest, (LimitValue::Duration(value), mark))
        }
        Err(_) => {
            let (rest, (value, mark)) = measured(rest)?;
            (rest, (LimitValue::Measured(value), mark))
        }
    };
    let (rest, bound) = preceded(gap, bound).parse(rest)?;
    Ok((rest, (Limit { bound, value }, mark)))
}

fn outcome(input: &[u8]) -> Parsed<'_, Outcome> {
    const WANTED: &str = "completed, aborted, rejected, passed or failed";
    fn part<'a>(
        word: &'static str,
    ) -> impl Parser<&'a [u8], Output = Option<&'a [u8]>, Error = Fault<'a>> {
        // After the keyword the word must come: what lacks it is cut, and not another form.
        opt(preceded(
            (comma, keyword(word)),
            cut(preceded(gap, token("a word"))),
        ))
    }
    let (rest, word) = token(WANTED)(input)?;
    let is = |known: &str| word.eq_ignore_ascii_case(known.as_bytes());
    let cause = |word: Option<&[u8]>| word.map(|word| Cause::from_word(&owned(word)));
    if is("completed") {
        Ok((rest, Outcome::Completed))
    } else if is("passed") {
        Ok((rest, Outcome::Passed))
    } else if is("failed") {
        Ok((rest, Outcome::Failed))
    } else if is("aborted") {
        let (rest, stage) = part("stage").parse(rest)?;
        let (rest, why) = part("cause").parse(rest)?;
        let stage = stage.map(|word| StageName::from_word(&owned(word)));
        Ok((
            rest,
            Outcome::Aborted {
                stage,
                cause: cause(why),
            },
        ))
    } else if is("rejected") {
        let (rest, why) = part("cause").parse(rest)?;
        Ok((rest, Outcome::Rejected { cause: cause(why) }))
    } else {
        fail(word, Code::ValueInvalid, WANTED)
    }
}

/// An outcome as the format words it, without `outcome:` before it.
pub fn read_outcome(text: &str) -> Option<Outcome> {
    complete(outcome(text.as_bytes())).ok()
}

fn unknown_line(line: &Line<'_>) -> Diagnostic {
    let cut = Fault {
        at: b"",
        code: Code::LineUnknown,
        wanted: "a colon after the keyword",
    };
    let diagnostic = diagnose_fault(line, cut);
    if diagnostic.code == Code::LineCut {
        return diagnostic;
    }
    Diagnostic::at(
        Code::LineUnknown,
        line.whole(),
        "the line is not of a form that a printout has",
    )
    .caption("neither `keyword: value` nor a reading that begins with a time")
}

fn unknown_key(line: &Line<'_>, key: &[u8]) -> Diagnostic {
    let shown = owned(key);
    let diagnostic = Diagnostic::at(
        Code::KeyUnknown,
        line.span_of(key),
        format!("a printout has no line with the keyword `{shown}`"),
    );
    match suggest(&shown, KEYS) {
        Some(near) => diagnostic.help(format!("write `{near}:` if that is what is meant")),
        None => diagnostic,
    }
}

#[cfg(test)]
mod tests;
