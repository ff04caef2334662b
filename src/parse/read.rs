//! The lines of one file → records: which format a line belongs to, and where a record begins and ends.
//!
//! Read [`FileReader::take_line`] first. It goes on after every fault: the next opening line begins a new record.

use super::layout::compile::Layout;
use super::layout::read::{LayoutReader, Sink};
use super::ledger::{Claim, Ledger};
use super::log::csv::{CsvReader, RowClaim, RowClaims, separator_of_header};
use super::log::text::LogReader;
use super::printout::read::{PrintoutReader, Room, Step};
use super::text::{diagnose_patient_data, looks_like_patient_data};
use super::{Records, Strictness};
use crate::diagnose::codes::Code;
use crate::diagnose::{Diagnostic, FileId};
use crate::source::lines::{Fitness, Line};
use std::sync::Arc;

/// What the lines at hand belong to.
enum State {
    /// To nothing, for this reason.
    Outside(Code),
    Printout(Box<PrintoutReader>),
    Log(LogReader),
    Csv(CsvReader),
}

/// What an opening line opens.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Opening {
    /// A printout.
    Printout,
    /// A text log.
    Log,
    /// A CSV log with this separator.
    Csv(u8),
    /// A record of a version, or of a kind, that this loadbook does not know.
    Unknown,
}

/// What the lines so far end within.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Within {
    /// Nothing that would go on.
    Nothing,
    /// A printout whose end has not come, or lines of which it is not known yet.
    Cycle,
    /// A row of a CSV log with a quotation mark that is not closed yet.
    Row,
}

/// Reads the lines of one file.
pub struct FileReader {
    strictness: Strictness,
    state: State,
    ledger: Ledger,
    records: Records,
    /// Reads what stands outside neutral records, where a layout fits the file.
    layout: Option<Box<LayoutReader>>,
    /// What the printouts use, one after the other.
    room: Room,
}

impl FileReader {
    /// A reader of neutral records, before the first line.
    pub fn new(strictness: Strictness) -> Self {
        FileReader::by(strictness, None)
    }

    /// A reader before the first line, that reads by a layout what stands outside neutral records.
    pub fn by(strictness: Strictness, layout: Option<Arc<Layout>>) -> Self {
        FileReader {
            layout: layout.map(|layout| Box::new(LayoutReader::new(layout, strictness))),
            strictness,
            state: State::Outside(Code::LineOutsideRecord),
            ledger: Ledger::default(),
            records: Records::default(),
            room: Room::default(),
        }
    }

    /// Takes the next line.
    pub fn take_line(&mut self, line: &Line<'_>) {
        match line.fitness {
            Fitness::Text => {}
            Fitness::TooLong => {
                let said = Diagnostic::at(
                    Code::LineTooLong,
                    line.whole(),
                    "the line is longer than any record's line",
                );
                return self.ledger.enter(line, Claim::unread(said));
            }
            Fitness::NotText => {
                let said = Diagnostic::at(
                    Code::FileNotText,
                    line.span(0, 0),
                    "the file is not text; none of it was read",
                );
                return self.ledger.enter(line, Claim::unread(said));
            }
        }
        let within_row = matches!(&self.state, State::Csv(reader) if reader.is_within_row());
        if !within_row && let Some(opening) = opening(line.text) {
            return self.open(line, opening);
        }
        let said = &mut self.records.diagnostics;
        match &mut self.state {
            State::Printout(reader) => match reader.take_line(line, said) {
                Step::Goes(claim) => self.ledger.enter(line, claim),
                Step::Closes => {
                    self.ledger.enter(line, Claim::Record);
                    self.close(Code::LineOutsideRecord);
                }
            },
            State::Log(reader) => {
                let claim = reader.take_line(line, &mut self.records.entries, said);
                self.ledger.enter(line, claim);
            }
            State::Csv(reader) => {
                let claims = reader.take_line(line, &mut self.records.entries, said);
                self.enter_rows(line.file, claims);
            }
            State::Outside(Code::LineOutsideRecord) if self.layout.is_some() => {
                if let Some(layout) = &mut self.layout {
                    layout.take_line(
                        line,
                        &mut Sink {
                            cycles: &mut self.records.cycles,
                            ledger: &mut self.ledger,
                            said,
                        },
                    );
                }
            }
            State::Outside(code) => {
                let code = *code;
                self.ledger.enter(line, claim_outside(line, code));
            }
        }
    }

    /// Whether the lines so far end within a record that further lines may belong to.
    pub fn is_within(&self) -> Within {
        match &self.state {
            State::Printout(_) => Within::Cycle,
            State::Csv(reader) if reader.is_within_row() => Within::Row,
            State::Outside(_) if self.layout.as_ref().is_some_and(|layout| layout.is_open()) => {
                Within::Cycle
            }
            State::Outside(_) | State::Log(_) | State::Csv(_) => Within::Nothing,
        }
    }

    /// Ends the file, and gives what was read.
    pub fn finish(mut self) -> Records {
        self.close(Code::LineOutsideRecord);
        self.records.idle.extend(self.ledger.idle);
        self.records.unread = self.ledger.unread;
        self.records
    }

    fn open(&mut self, line: &Line<'_>, opening: Opening) {
        self.close(Code::LineOutsideRecord);
        let (state, claim) = match opening {
            Opening::Printout => {
                let room = std::mem::take(&mut self.room);
                let reader = PrintoutReader::opened_by(line, self.strictness, room);
                (State::Printout(Box::new(reader)), Claim::Record)
            }
            Opening::Log => (State::Log(LogReader::default()), Claim::Idle),
            Opening::Csv(separator) => {
                let reader = CsvReader::opened_by(line, separator, &mut self.records.diagnostics);
                (State::Csv(reader), Claim::Idle)
            }
            Opening::Unknown => {
                let shown = String::from_utf8_lossy(line.text.get(..80).unwrap_or(line.text));
                let said = Diagnostic::at(
                    Code::VersionUnknown,
                    line.whole(),
                    format!(
                        "`{shown}` opens a record that this loadbook does not know; its lines are left"
                    ),
                );
                (State::Outside(Code::VersionUnknown), Claim::unread(said))
            }
        };
        self.state = state;
        self.ledger.enter(line, claim);
    }

    /// Ends the record at hand, if any.
    fn close(&mut self, reason: Code) {
        match std::mem::replace(&mut self.state, State::Outside(reason)) {
            State::Printout(reader) => {
                let (cycle, room) = reader.finish(&mut self.records.diagnostics);
                self.records.cycles.push(cycle);
                self.room = room;
            }
            State::Csv(mut reader) => {
                let claims =
                    reader.finish(&mut self.records.entries, &mut self.records.diagnostics);
                if let Some(file) = claims.first().map(|_| reader.file()) {
                    self.enter_rows(file, claims);
                }
            }
            State::Outside(_) => {
                if let Some(layout) = &mut self.layout {
                    layout.finish(&mut Sink {
                        cycles: &mut self.records.cycles,
                        ledger: &mut self.ledger,
                        said: &mut self.records.diagnostics,
                    });
                }
            }
            State::Log(_) => {}
        }
    }

    fn enter_rows(&mut self, file: FileId, claims: RowClaims) {
        for RowClaim { lines, claim } in claims {
            self.ledger.enter_lines(file, &lines, claim);
        }
    }
}

/// What a line opens, if it is an opening line.
#[inline]
pub fn opening(text: &[u8]) -> Option<Opening> {
    // Nearly every line is told by its first letter.
    match text.first() {
        Some(b'l' | b'L' | b'"' | b' ') => opening_by_words(text),
        _ => None,
    }
}

fn opening_by_words(text: &[u8]) -> Option<Opening> {
    let text = text.trim_ascii();
    if let Some(separator) = separator_of_header(text) {
        return Some(Opening::Csv(separator));
    }
    let mut words = text
        .split(|byte| matches!(byte, b' ' | b'\t'))
        .filter(|word| !word.is_empty());
    let first = words.next()?;
    if !first.eq_ignore_ascii_case(b"loadbook") {
        return None;
    }
    let (kind, version, more) = (words.next(), words.next(), words.next());
    let is = |word: &str| kind.is_some_and(|kind| kind.eq_ignore_ascii_case(word.as_bytes()));
    Some(match (version, more) {
        (Some(b"1"), None) if is("printout") => Opening::Printout,
        (Some(b"1"), None) if is("log") => Opening::Log,
        _ => Opening::Unknown,
    })
}

/// What becomes of a line that belongs to no record.
pub fn claim_outside(line: &Line<'_>, code: Code) -> Claim {
    let text = line.text.trim_ascii();
    if text.is_empty() || text.first() == Some(&b'#') {
        return Claim::Idle;
    }
    if looks_like_patient_data(text) {
        return Claim::unread(diagnose_patient_data(line.whole()));
    }
    let headline = match code {
        Code::VersionUnknown => "this line belongs to a record that this loadbook does not know",
        _ => "this line stands before any opening line, so it belongs to no record",
    };
    Claim::unread(Diagnostic::at(code, line.whole(), headline))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::unit::PressureUnit;
    use crate::parse::read_bytes;
    use crate::record::cause::Cause;
    use crate::record::cycle::{Bound, Checksum, LimitValue, Measured, Outcome, StageName};
    use crate::record::entry::{BiGrowth, BiRole, CiEndpoint, EntryBody};

    fn read(text: &str) -> Records {
        read_bytes(text.as_bytes(), Strictness::Infer)
    }

    fn codes(records: &Records) -> Vec<&'static str> {
        let unread = records
            .unread
            .iter()
            .map(|unread| unread.diagnostic.code.id());
        unread
            .chain(records.diagnostics.iter().map(|said| said.code.id()))
            .collect()
    }

    const SHORT: &str =
        "loadbook printout 1\nunit: PL-1\ncounter: 7\nstarted: 2026-03-12 07:41:20\n";

    /// A printout with these lines after its identity.
    fn with(lines: &str) -> Records {
        read(&format!("{SHORT}{lines}\noutcome: completed\nend\n"))
    }

    #[test]
    fn a_printout_says_what_its_lines_say() {
        let records = with(
            "stage: evacuate, at 07:41:30, limit pressure 400 mTorr max, limit duration 20 min max\n\
             07:42:30 pressure 60.9 Torr, temperature 113.2 F\n\
             alarm: 07:45:00, moisture, set pressure not reached\nended: 07:52:20\ntotal: 00:11:00, readings 1",
        );
        assert_eq!(codes(&records), [""; 0]);
        let cycle = &records.cycles[0];
        let stage = &cycle.stages[0];
        assert_eq!(stage.name, StageName::Evacuate);
        assert_eq!(
            (stage.began.0, stage.readings[0].at.0, stage.readings.len()),
            (10, 70, 2)
        );
        // 60.9 Torr is 8119.3 Pa and 113.2 F is 45.1 C (NIST SP 811, 2008, B.8).
        let Measured::Pressure(pressure) = stage.readings[0].measured else {
            panic!()
        };
        assert!(
            (pressure.pascal() - 8119.33).abs() < 0.01
                && pressure.printed_unit() == PressureUnit::Torr
        );
        let Measured::Temperature(temperature) = stage.readings[1].measured else {
            panic!()
        };
        assert!((temperature.celsius() - 45.111).abs() < 0.001);
        assert_eq!(stage.limits.len(), 2);
        assert_eq!(stage.limits[0].bound, Bound::Max);
        let LimitValue::Duration(limit) = stage.limits[1].value else {
            panic!()
        };
        assert!((limit.seconds() - 1200.0).abs() < 1e-9);
        assert_eq!(cycle.alarms().next().unwrap().1, &Cause::Moisture);
        assert_eq!(cycle.ended.as_ref().unwrap().value.0, 660);
        assert_eq!(cycle.outcome.as_ref().unwrap().value, Outcome::Completed);
        assert!(cycle.closed);
        assert_eq!(cycle.lines.n_lines(), 11);
    }

    #[test]
    fn an_abort_names_stage_and_cause() {
        let records = read(&format!(
            "{SHORT}outcome: aborted, stage evacuate, cause moisture\nend\n"
        ));
        let outcome = &records.cycles[0].outcome.as_ref().unwrap().value;
        let stage = Some(StageName::Evacuate);
        assert_eq!(
            outcome,
            &Outcome::Aborted {
                stage,
                cause: Some(Cause::Moisture)
            }
        );
    }

    #[test]
    fn a_torn_printout_keeps_what_it_says_and_the_next_one_is_whole() {
        let records = read(&format!(
            "{SHORT}stage: evacuate, at 07:41:30\n{SHORT}outcome: completed\nend\n"
        ));
        assert_eq!(records.cycles.len(), 2);
        assert!(!records.cycles[0].closed && records.cycles[1].closed);
        assert_eq!(records.cycles[0].stages.len(), 1);
        assert_eq!(codes(&records), ["printout-torn"]);
    }

    #[test]
    fn a_line_is_read_as_a_whole_or_not_at_all() {
        let records =
            with("stage: evacuate, at 07:41:30\n07:42:30 pressure 812.4 Pa, temperature 4O.1 C");
        assert_eq!(codes(&records), ["value-invalid"]);
        assert!(records.cycles[0].stages[0].readings.is_empty());
        assert_eq!(records.cycles[0].n_unread_lines, 1);
        let span = records.unread[0].diagnostic.primary.unwrap();
        assert_eq!((span.line, span.column()), (6, 41));
    }

    #[test]
    fn a_line_cut_by_a_capture_is_said_to_be_cut() {
        let line = "07:42:30 pressure 812.4 Pa, temperature 45.1 C"
            .get(..40)
            .unwrap();
        assert_eq!(
            codes(&with(&format!("stage: evacuate, at 07:41:30\n{line}"))),
            ["line-cut"]
        );
    }

    #[test]
    fn strict_mode_refuses_what_would_be_inferred() {
        let text =
            format!("{SHORT}stage: evacuate, at 07:41:30\n07:42:30 pressure 812,4 Pa\nend\n");
        let lenient = read(&text);
        assert_eq!(lenient.cycles[0].inferences.len(), 1);
        let strict = read_bytes(text.as_bytes(), Strictness::Strict);
        assert!(strict.cycles[0].inferences.is_empty());
        assert_eq!(strict.unread[0].diagnostic.code, Code::StrictRefused);
    }

    #[test]
    fn page_headers_repeat_and_contradictions_are_refused() {
        assert_eq!(codes(&with("unit: PL-1\ncounter: 7")), [""; 0]);
        let records = with("unit: PL-2");
        assert_eq!(codes(&records), ["field-repeated"]);
        assert_eq!(
            records.cycles[0].unit.as_ref().unwrap().value.as_str(),
            "PL-1"
        );
    }

    #[test]
    fn the_checksum_is_the_crc_of_the_lines_above_it() {
        // Computed with Python's zlib, which implements the CRC-32 of ISO/IEC/IEEE 8802-3:
        // zlib.crc32(b"loadbook printout 1\nunit: PL-1\ncounter: 7\nstarted: 2026-03-12 07:41:20\n") = 4E46C83B
        let right = read(&format!("{SHORT}checksum: 4E46C83B\nend\n"));
        assert!(matches!(right.cycles[0].checksum, Checksum::Agrees { .. }));
        let crlf = read(&format!("{SHORT}checksum: 4E46C83B\nend\n").replace('\n', "  \r\n"));
        assert!(matches!(crlf.cycles[0].checksum, Checksum::Agrees { .. }));
        let changed = read(&format!("{SHORT}checksum: 4E46C83B\nend\n").replace("PL-1", "PL-2"));
        assert_eq!(codes(&changed), ["field-missing", "checksum-wrong"]);
    }

    #[test]
    fn a_log_gives_its_headings_to_its_entries() {
        let records = read(
            "loadbook log 1\nplace: Fennmarsh General\ndate: 2026-03-12\n\
             08:25 ci: P1-07, position external, type 1, lot C2231, endpoint not reached, by HB\n\
             2026-03-13 08:45 bi: P1-07, role control, lot B7, read 2026-03-13 08:45, result growth, by MK\n\
             remark: a, b, and c\n",
        );
        assert_eq!(codes(&records), [""; 0]);
        let [ci, bi, remark] = &records.entries[..] else {
            panic!()
        };
        assert_eq!(
            ci.written.as_ref().unwrap().value.local.to_string(),
            "2026-03-12 08:25:00"
        );
        assert_eq!(ci.place.as_ref().unwrap().value, "Fennmarsh General");
        let EntryBody::Ci(result) = &ci.body else {
            panic!()
        };
        assert_eq!(
            result.endpoint.as_ref().unwrap().value,
            CiEndpoint::NotReached
        );
        let EntryBody::Bi(result) = &bi.body else {
            panic!()
        };
        assert_eq!(result.growth.as_ref().unwrap().value, BiGrowth::Growth);
        assert_eq!(result.role.as_ref().unwrap().value, BiRole::Control);
        assert_eq!(remark.note.as_ref().unwrap().value, "a, b, and c");
    }

    #[test]
    fn a_slip_in_a_key_is_put_right_by_proposal_and_not_by_guess() {
        let records = read("loadbook log 1\n08:25 ci: P1-07, postion external\n");
        assert_eq!(codes(&records), ["key-unknown"]);
        assert!(records.unread[0].diagnostic.help.contains("`position`"));
        assert!(records.entries.is_empty());
    }

    #[test]
    fn a_csv_log_says_the_same_as_a_text_log() {
        let csv = "loadbook log 1;date;time;about;position;type;lot;endpoint;by;note\n\
                   ci;2026-03-12;08:25;P1-07;external;1;C2231;reached;HB;\"one; two\nthree\"\n\
                   remark;2026-03-12;08:30;;;;;;HB;late\n";
        let records = read(csv);
        assert_eq!(codes(&records), [""; 0]);
        assert_eq!(records.entries.len(), 2);
        assert_eq!(records.entries[0].lines.n_lines(), 2);
        assert_eq!(
            records.entries[0].note.as_ref().unwrap().value,
            "one; two three"
        );
        assert_eq!(records.entries[0].load.as_ref().unwrap().span.line, 2);
        assert_eq!(records.entries[0].load.as_ref().unwrap().span.column(), 21);
    }

    #[test]
    fn a_quotation_mark_that_is_never_closed_costs_one_row() {
        let mut csv =
            "loadbook log 1,date,time,about,by,note\nrelease,2026-03-12,08:25,L1,HB,\"open\n"
                .to_owned();
        for n in 0..30 {
            csv.push_str(&format!("release,2026-03-12,08:26,L{n},HB,\n"));
        }
        let records = read(&csv);
        assert_eq!(records.entries.len(), 30);
        assert_eq!(codes(&records), ["value-invalid"]);
    }

    #[test]
    fn lines_outside_records_are_one_thing_to_say() {
        let records = read("rubbish\nmore\n\nyet more\n# a comment\n");
        assert_eq!(
            codes(&records),
            ["line-outside-record", "line-outside-record"]
        );
        assert_eq!(records.unread[0].lines.n_lines(), 2);
        assert_eq!(records.idle[0].n_lines(), 2);
    }

    #[test]
    fn a_later_version_is_left_and_named() {
        let records = read("loadbook printout 2\nunit: PL-1\nend\n");
        assert!(records.cycles.is_empty());
        assert_eq!(records.unread[0].lines.n_lines(), 3);
        assert_eq!(records.unread[0].diagnostic.code, Code::VersionUnknown);
    }

    #[test]
    fn rubbish_without_end_is_told_by_its_reasons() {
        let mut text = SHORT.to_owned();
        for n in 0..5_000 {
            text.push_str(if n % 2 == 0 {
                "rubbish\n"
            } else {
                "rubbish: x\n"
            });
        }
        let records = read(&text);
        assert_eq!(records.unread.len(), 1_002);
        let n_lines: u64 = records
            .unread
            .iter()
            .map(|unread| unread.lines.n_lines())
            .sum();
        assert_eq!(n_lines, 5_000);
    }

    #[test]
    fn opening_line_names_its_kind_and_version() {
        for (text, expected) in [
            ("loadbook printout 1", Some(Opening::Printout)),
            ("LOADBOOK  Printout\t1 ", Some(Opening::Printout)),
            ("loadbook log 1", Some(Opening::Log)),
            ("loadbook log 2", Some(Opening::Unknown)),
            ("loadbook other 1", Some(Opening::Unknown)),
            ("loadbook log 1 more", Some(Opening::Unknown)),
            ("loadbook log", Some(Opening::Unknown)),
            ("loadbook", Some(Opening::Unknown)),
            ("loadbooks log 1", None),
            ("load: S1", None),
            ("rubbish", None),
            ("", None),
        ] {
            assert_eq!(opening(text.as_bytes()), expected, "{text:?}");
        }
    }

    #[test]
    fn line_of_no_record_is_idle_or_told_with_why() {
        let told = |text: &str, code: Code| {
            let mut told = None;
            let _ = crate::source::lines::read_lines(
                crate::diagnose::FileId(0),
                text.as_bytes(),
                |line| {
                    told = match claim_outside(line, code) {
                        Claim::Unread(said) => Some((said.code, said.headline.clone())),
                        _ => None,
                    };
                },
            );
            told
        };
        let outside = Code::LineOutsideRecord;
        assert_eq!(told(" ", outside), None);
        assert_eq!(told("# x", outside), None);
        let (code, headline) = told("rubbish", outside).unwrap();
        assert_eq!(code, outside);
        assert!(headline.starts_with("this line stands before any opening line"));
        let (code, headline) = told("rubbish", Code::VersionUnknown).unwrap();
        assert_eq!(code, Code::VersionUnknown);
        assert!(
            headline.starts_with("this line belongs to a record that this loadbook does not know")
        );
        let (code, headline) = told("Patient name: Example", outside).unwrap();
        assert_eq!(code, Code::PatientData);
        assert!(!headline.contains("Example"));
    }
}
