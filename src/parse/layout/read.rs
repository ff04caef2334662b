//! Lines of a strip → cycles, by a layout. Read [`LayoutReader::take_line`] first.
//!
//! A line is held against the layout's forms; the first that fits says what its values are, and the same builder as for
//! the neutral format puts the cycle together. A line is read as a whole or not at all. Nothing here knows which printer
//! it reads: all that differs between printers stands in the [`Layout`].

use super::compile::{Cell, KnownForm, Layout, Role, RowRole, ScanRepair, Table, Wrap};
use super::field::{Field, LotPart};
use super::form::{Captured, Unfit};
use super::lexicon::{FieldValue, Miss};
use super::scan::{Habit, Repair, repair_line};
use super::strip_line::{JoinedLines, Joint, KeptLine, StripLine};
use super::trial::{Account, Became};
use crate::diagnose::codes::Code;
use crate::diagnose::{Diagnostic, Span};
use crate::parse::Strictness;
use crate::parse::ledger::{Claim, Ledger};
use crate::parse::lot::LotParts;
use crate::parse::printout::builder::{Accepted, CycleBuilder, Placed, check, fill, refused};
use crate::parse::printout::clock::WrittenTime;
use crate::parse::text::{
    diagnose_patient_data, fills_paper, is_name, looks_like_patient_data, owned,
};
use crate::parse::token::{DAY_WANTED, is_of_record, n_blanks_before, time_of_day};
use crate::record::Spanned;
use crate::record::cause::Cause;
use crate::record::consumable::{ConsumableKind, ConsumableUse, UseCount};
use crate::record::cycle::{
    Cycle, Elapsed, Event, LeakResult, Limit, LimitValue, Outcome, Reading, Stage, StageName, Total,
};
use crate::record::line_set::LineSet;
use crate::record::name::{LoadNumber, Program, StaffMark, UnitName};
use crate::record::stamp::Stamp;
use crate::source::lines::Line;
use chrono::{NaiveDate, NaiveDateTime, TimeDelta, Timelike};
use chrono_tz::Tz;
use std::sync::Arc;

const DAY: i64 = 86_400;
/// No printer wraps one line over more than this many.
const MOST_WRAPPED: usize = 8;
/// A table has no more columns than this.
const MOST_COLUMNS: usize = 256;

/// Where what is read goes.
pub struct Sink<'s> {
    /// The cycles.
    pub cycles: &'s mut Vec<Cycle>,
    /// What became of each line.
    pub ledger: &'s mut Ledger,
    /// What else is worth saying.
    pub said: &'s mut Vec<Diagnostic>,
}

/// Reads strips by a layout.
#[derive(Debug)]
pub struct LayoutReader {
    layout: Arc<Layout>,
    strictness: Strictness,
    open: Option<Box<OpenCycle>>,
    held: Option<JoinedLines>,
    /// The date that stands above the cycles, and the last second since its midnight that a cycle told.
    day: Option<(NaiveDate, i64)>,
    /// For each cell of the table at hand, its column in the layout.
    header: Option<Vec<Option<usize>>>,
    /// Reused from line to line.
    captures: Vec<Captured>,
    readings: Vec<Reading>,
    /// What became of each line, for whoever asks.
    accounts: Option<Vec<Account>>,
    /// What the strip so far says of scanned lines to come.
    habit: Habit,
    /// The counter of the cycle before the one at hand.
    last_counter: Option<u32>,
}

/// The cycle that is being read.
#[derive(Debug)]
struct OpenCycle {
    builder: CycleBuilder,
    start_date: Option<Spanned<NaiveDate>>,
    start_time: Option<Spanned<u32>>,
    end_date: Option<Spanned<NaiveDate>>,
    /// A stage whose line has no time.
    waiting: Option<Stage>,
    outcome: Option<Spanned<Outcome>>,
    outcome_stage: Option<Spanned<StageName>>,
    outcome_cause: Option<Spanned<Cause>>,
    lots: Vec<OpenLot>,
    total_seconds: Option<Spanned<u32>>,
    total_readings: Option<Spanned<u32>>,
    leak: Option<Spanned<crate::measure::quantity::LeakRate>>,
    leak_limit: Option<Spanned<crate::measure::quantity::LeakRate>>,
    /// The time of the last line that had one.
    last_at: Option<Elapsed>,
    /// The alarm of the row before this one.
    alarm_of_row: Option<Cause>,
    /// The place of the last row's time.
    last_row: Option<Span>,
}

/// A consumable of which lines may say more.
#[derive(Debug)]
struct OpenLot {
    kind: ConsumableKind,
    lot: Option<(Vec<u8>, Span)>,
    expiry: Option<(NaiveDate, Span)>,
    scan: Option<(Vec<u8>, Span)>,
    uses: Option<Spanned<UseCount>>,
    span: Span,
}

/// Whether values are only held against what is known, or kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Pass {
    Check,
    Keep,
}

/// Whether a line is one of free form or a row of a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum LineKind {
    /// Its stage, if it has one, begins with it.
    Free,
    /// Its stage is the one at hand.
    Sample,
}

impl LayoutReader {
    /// A reader before the first line.
    pub fn new(layout: Arc<Layout>, strictness: Strictness) -> Self {
        LayoutReader {
            layout,
            strictness,
            open: None,
            held: None,
            day: None,
            header: None,
            captures: Vec::new(),
            readings: Vec::new(),
            accounts: None,
            habit: Habit::default(),
            last_counter: None,
        }
    }

    /// A reader that keeps an account of every line.
    pub fn with_accounts(layout: Arc<Layout>, strictness: Strictness) -> Self {
        LayoutReader {
            accounts: Some(Vec::new()),
            ..LayoutReader::new(layout, strictness)
        }
    }

    /// The accounts of the lines so far.
    pub fn take_accounts(&mut self) -> Vec<Account> {
        self.accounts
            .as_mut()
            .map(std::mem::take)
            .unwrap_or_default()
    }

    /// Takes the next line that is not of a neutral record.
    pub fn take_line(&mut self, line: &Line<'_>, sink: &mut Sink<'_>) {
        match self.layout.wrap {
            None => self.take(StripLine::One(line), sink),
            Some(wrap) => self.take_wrapped(line, wrap, sink),
        }
    }

    /// Whether a cycle is open, or a line is held because the next may go on with it.
    pub fn is_open(&self) -> bool {
        self.open.is_some() || self.held.is_some()
    }

    /// Ends whatever is open, because the file ends or another format begins.
    pub fn finish(&mut self, sink: &mut Sink<'_>) {
        self.release_held(sink);
        self.close(sink);
        self.header = None;
    }

    /// Puts lines together that the printer wrapped, and takes them.
    fn take_wrapped(&mut self, line: &Line<'_>, wrap: Wrap, sink: &mut Sink<'_>) {
        let line = KeptLine::of(line);
        let is_blank = line.text().trim_ascii().is_empty();
        let joint = match wrap {
            Wrap::Indent => Joint::Indented,
            Wrap::FullLine(columns) => Joint::Cut(columns),
        };
        let may_go_on = match wrap {
            Wrap::Indent => !is_blank,
            Wrap::FullLine(columns) => fills_paper(line.n_columns(), columns),
        };
        let joined = self
            .held
            .as_ref()
            .filter(|held| !is_blank && held.n_lines() < MOST_WRAPPED)
            .filter(|held| self.goes_on(held, &line, wrap))
            .map(|held| held.with(line.clone(), joint))
            .filter(|joined| {
                // A line that can be read as it is goes on only if the two can be read together.
                self.fits(StripLine::Joined(joined).text()) || may_go_on && !self.held_fits()
            });
        match joined {
            Some(joined) => self.held = Some(joined),
            None => {
                self.release_held(sink);
                self.held = Some(JoinedLines::first(line));
            }
        }
        if !may_go_on {
            self.release_held(sink);
        }
    }

    fn goes_on(&self, held: &JoinedLines, line: &KeptLine, wrap: Wrap) -> bool {
        match wrap {
            Wrap::Indent => matches!(line.text().first(), Some(b' ' | b'\t')),
            Wrap::FullLine(columns) => {
                held.last()
                    .is_some_and(|last| fills_paper(last.n_columns(), columns))
                    && !self.fits(line.text())
            }
        }
    }

    fn held_fits(&self) -> bool {
        self.held
            .as_ref()
            .is_some_and(|held| self.fits(StripLine::Joined(held).text()))
    }

    /// Takes the lines that were held: together if they fit so, else one by one.
    fn release_held(&mut self, sink: &mut Sink<'_>) {
        let Some(held) = self.held.take() else { return };
        if held.n_lines() > 1 && self.fits(StripLine::Joined(&held).text()) {
            return self.take(StripLine::Joined(&held), sink);
        }
        for line in held.into_lines() {
            self.take(StripLine::Kept(&line), sink);
        }
    }

    /// Whether any form fits a text.
    fn fits(&self, text: &[u8]) -> bool {
        let mut captures = Vec::new();
        self.layout.candidates(text).any(|(_, known)| {
            known
                .form
                .match_line(text, &self.layout.lexicon, &mut captures)
                .is_ok()
        })
    }

    fn take(&mut self, line: StripLine<'_>, sink: &mut Sink<'_>) {
        let text = line.text();
        if text.trim_ascii().is_empty() {
            return self.enter(line, Claim::Idle, Became::Idle, None, sink);
        }
        let layout = Arc::clone(&self.layout);
        let mut captures = std::mem::take(&mut self.captures);
        let row = layout
            .table
            .as_ref()
            .and_then(|table| self.take_table_line(table, line, &mut captures, sink));
        match row {
            Some(Ok(())) => {}
            unread => {
                let of_row = match unread {
                    Some(Err(unfit)) => Some(unfit),
                    _ => None,
                };
                self.take_form(&layout, line, &mut captures, of_row, sink);
            }
        }
        self.captures = captures;
    }

    fn take_form(
        &mut self,
        layout: &Layout,
        line: StripLine<'_>,
        captures: &mut Vec<Captured>,
        of_row: Option<Unfit>,
        sink: &mut Sink<'_>,
    ) {
        let text = line.text();
        let mut nearest = of_row;
        for (number, known) in layout.candidates(text) {
            if !self.is_open_to(known) {
                continue;
            }
            match known.form.match_line(text, &layout.lexicon, captures) {
                Ok(()) => {
                    return self.take_known(layout, (number, known), line, captures, sink);
                }
                Err(unfit) => {
                    if unfit.miss.code != Code::LineUnknown
                        && unfit.miss.at > 0
                        && nearest.is_none_or(|known| unfit.miss.at > known.miss.at)
                    {
                        nearest = Some(unfit);
                    }
                }
            }
        }
        if layout.scan == ScanRepair::Repair
            && let Some(repaired) = repair_line(layout, text, &self.habit, &mut |known| {
                self.is_open_to(known)
            })
        {
            return self.take_repaired(layout, &repaired, line, sink);
        }
        self.leave(layout, line, nearest.map(|unfit| unfit.miss), sink);
    }

    /// Whether a form may fit where the strip stands.
    fn is_open_to(&self, known: &KnownForm) -> bool {
        match known.role {
            Role::Begin | Role::Ignore => true,
            Role::End => self.open.is_some(),
            Role::Says => {
                self.open.is_some() || known.form.fields().any(|field| field == Field::Day)
            }
        }
    }

    fn take_known(
        &mut self,
        layout: &Layout,
        (number, known): (usize, &KnownForm),
        line: StripLine<'_>,
        captures: &[Captured],
        sink: &mut Sink<'_>,
    ) {
        let kind = if known.has_readings {
            LineKind::Sample
        } else {
            LineKind::Free
        };
        let became = match known.role {
            Role::Begin => Became::Begin(number),
            Role::End => Became::End(number),
            Role::Ignore => Became::Ignored(number),
            Role::Says => Became::Said(number),
        };
        if known.role == Role::Ignore {
            return self.enter(line, Claim::Idle, became, None, sink);
        }
        if self.open.is_none() && known.role == Role::Says {
            // The date above the cycles.
            return self.take_heading(line, captures, became, sink);
        }
        if known.role == Role::Begin && !self.is_page_header(captures) {
            self.close(sink);
            self.open = Some(Box::new(OpenCycle::new(line.whole(), self.strictness)));
            let taken = self.apply(layout, line, captures, kind, sink.said);
            self.keep_opening(&taken);
            return self.claim(line, taken, became, captures, sink);
        }
        let taken = self
            .say_slips_in_words(layout, line, captures, sink.said, Pass::Check)
            .and_then(|()| self.apply(layout, line, captures, kind, sink.said))
            .and_then(|()| self.say_slips_in_words(layout, line, captures, sink.said, Pass::Keep));
        if layout.scan == ScanRepair::Repair && known.has_readings && taken.is_ok() {
            self.habit = Habit::of(number, line.text(), captures);
        }
        self.claim(line, taken, became, captures, sink);
        if known.role == Role::End {
            if let Some(open) = &mut self.open {
                open.builder.change(|cycle| cycle.closed = true);
            }
            self.close(sink);
        }
    }

    /// A cycle whose first line is refused goes on without it.
    fn keep_opening(&mut self, taken: &Accepted) {
        if let (Err(_), Some(open)) = (taken, &mut self.open) {
            open.builder
                .change(|cycle| cycle.lines = LineSet::new(cycle.opening.file));
        }
    }

    /// Whether the first line of a cycle only repeats the counter of the one at hand, as the header of a page does.
    fn is_page_header(&self, captures: &[Captured]) -> bool {
        let known = self
            .open
            .as_ref()
            .and_then(|open| open.builder.cycle().counter.as_ref());
        captures.iter().any(|captured| {
            captured.field == Field::Counter
                && known.is_some_and(|known| captured.value == FieldValue::Whole(known.value))
        })
    }

    fn take_heading(
        &mut self,
        line: StripLine<'_>,
        captures: &[Captured],
        became: Became,
        sink: &mut Sink<'_>,
    ) {
        for captured in captures {
            if let (Field::Day, FieldValue::Date(date)) = (captured.field, captured.value) {
                self.day = Some((date, 0));
            }
        }
        self.enter(line, Claim::Idle, became, Some(captures), sink);
    }

    fn claim(
        &mut self,
        line: StripLine<'_>,
        taken: Accepted,
        became: Became,
        captures: &[Captured],
        sink: &mut Sink<'_>,
    ) {
        match taken {
            Ok(()) => {
                if let Some(open) = &mut self.open {
                    line.for_each_number(|number| open.builder.keep_line(number));
                }
                if self.accounts.is_some() {
                    self.enter(line, Claim::Record, became, Some(captures), sink);
                }
            }
            Err(diagnostic) => {
                let diagnostic = if looks_like_patient_data(line.text()) {
                    Box::new(diagnose_patient_data(line.whole()))
                } else {
                    diagnostic
                };
                if let Some(open) = &mut self.open {
                    open.builder.count_unread_line();
                }
                self.enter(
                    line,
                    Claim::Unread(diagnostic),
                    Became::Unread,
                    Some(captures),
                    sink,
                );
            }
        }
    }

    /// Leaves a line that no form fits.
    fn leave(
        &mut self,
        layout: &Layout,
        line: StripLine<'_>,
        nearest: Option<Miss>,
        sink: &mut Sink<'_>,
    ) {
        let diagnostic = if looks_like_patient_data(line.text()) {
            diagnose_patient_data(line.whole())
        } else if self.open.is_none() {
            Diagnostic::at(
                Code::LineOutsideRecord,
                line.whole(),
                format!(
                    "this line stands before any line that begins a cycle in the layout `{}`",
                    layout.name
                ),
            )
        } else {
            diagnose_miss(layout, line, nearest)
        };
        if let Some(open) = &mut self.open {
            open.builder.count_unread_line();
        }
        self.enter(line, Claim::unread(diagnostic), Became::Unread, None, sink);
    }

    fn enter(
        &mut self,
        line: StripLine<'_>,
        claim: Claim,
        became: Became,
        captures: Option<&[Captured]>,
        sink: &mut Sink<'_>,
    ) {
        if let Some(accounts) = &mut self.accounts {
            accounts.push(Account::of(&self.layout, line, became, captures, &claim));
        }
        if claim == Claim::Record {
            return;
        }
        let mut numbers = Vec::new();
        line.for_each_number(|number| numbers.push(number));
        sink.ledger.enter_lines(line.file(), &numbers, claim);
    }

    /// A row of the table or its header. `None` for a line that is neither.
    fn take_table_line(
        &mut self,
        table: &Table,
        line: StripLine<'_>,
        captures: &mut Vec<Captured>,
        sink: &mut Sink<'_>,
    ) -> Option<Result<(), Unfit>> {
        let text = line.text();
        memchr::memchr(table.separator, text)?;
        let layout = Arc::clone(&self.layout);
        if let Some(header) = header_of(table, &layout, text) {
            self.header = Some(header);
            if !layout.has_begin && !table.fields().contains(&Field::Counter) {
                self.close(sink);
                self.open = Some(Box::new(OpenCycle::new(line.whole(), self.strictness)));
                self.claim(line, Ok(()), Became::Header, &[], sink);
            } else if self.open.is_some() {
                self.claim(line, Ok(()), Became::Header, &[], sink);
            } else {
                self.enter(line, Claim::Idle, Became::Header, None, sink);
            }
            return Some(Ok(()));
        }
        let header = self.header.as_ref()?;
        captures.clear();
        if let Err(unfit) = match_row(table, header, &layout, text, captures) {
            return Some(Err(unfit));
        }
        if !captures
            .iter()
            .any(|captured| matches!(captured.field, Field::Time | Field::Elapsed))
        {
            return None;
        }
        if !layout.has_begin
            && captures
                .iter()
                .any(|captured| captured.field == Field::Counter)
            && (self.open.is_none() || !self.is_page_header(captures))
        {
            self.close(sink);
            self.open = Some(Box::new(OpenCycle::new(line.whole(), self.strictness)));
            let taken = self.apply(&layout, line, captures, LineKind::Sample, sink.said);
            self.keep_opening(&taken);
            self.claim(line, taken, Became::Row, captures, sink);
            return Some(Ok(()));
        }
        self.open.as_ref()?;
        let taken = self.apply(&layout, line, captures, LineKind::Sample, sink.said);
        self.claim(line, taken, Became::Row, captures, sink);
        Some(Ok(()))
    }

    /// Takes a line of which a scan's slips were repaired; each repair is said.
    fn take_repaired(
        &mut self,
        layout: &Layout,
        repaired: &Repair,
        line: StripLine<'_>,
        sink: &mut Sink<'_>,
    ) {
        let Some(known) = layout.forms.get(repaired.form) else {
            return self.leave(layout, line, None, sink);
        };
        let span = line.span(repaired.start, repaired.end);
        if !self.is_borne_out(repaired, known.role, line) {
            return self.leave(layout, line, None, sink);
        }
        if self.strictness == Strictness::Strict {
            let refused = Box::new(refused(Code::SlipRepaired, span));
            return self.claim(line, Err(refused), Became::Unread, &[], sink);
        }
        if known.role == Role::Begin {
            self.close(sink);
            self.open = Some(Box::new(OpenCycle::new(line.whole(), self.strictness)));
        }
        let kind = if known.has_readings {
            LineKind::Sample
        } else {
            LineKind::Free
        };
        let taken = self.apply(layout, line, &repaired.captures, kind, sink.said);
        if taken.is_ok()
            && let Some(open) = &mut self.open
        {
            let reason = format!("read as a slip of the scan: {}", repaired.said);
            open.builder
                .infer(Code::SlipRepaired, span, &reason, sink.said);
        }
        if known.role == Role::Begin {
            self.keep_opening(&taken);
        }
        let became = Became::Repaired(repaired.form);
        self.claim(line, taken, became, &repaired.captures, sink);
        if known.role == Role::End {
            if let Some(open) = &mut self.open {
                open.builder.change(|cycle| cycle.closed = true);
            }
            self.close(sink);
        }
    }

    /// Whether the record's own redundancy agrees with a repaired line: the order of its times, the counter of the cycle
    /// before it, the totals. What has no second witness stands by the type of its field alone.
    fn is_borne_out(&self, repaired: &Repair, role: Role, line: StripLine<'_>) -> bool {
        let follows = |counter: u32| {
            self.last_counter
                .is_some_and(|last| last.checked_add(1) == Some(counter))
        };
        if role == Role::Begin {
            // A cycle is begun on a repaired line only if its counter is the next.
            return repaired.captures.iter().any(|captured| {
                matches!((captured.field, captured.value), (Field::Counter, FieldValue::Whole(n)) if follows(n))
            });
        }
        let Some(open) = &self.open else {
            return false;
        };
        let cycle = open.builder.cycle();
        repaired
            .captures
            .iter()
            .all(|captured| match (captured.field, captured.value) {
                (Field::Time | Field::EndTime, FieldValue::Seconds(second_of_day)) => {
                    let written = WrittenTime {
                        date: None,
                        second_of_day,
                    };
                    let placed = open.builder.place(line.whole(), written);
                    placed.is_ok_and(|placed| placed.note.is_none())
                }
                (Field::Counter, FieldValue::Whole(counter)) => match &cycle.counter {
                    Some(known) => known.value == counter,
                    None => follows(counter),
                },
                (Field::Total(_), FieldValue::Seconds(seconds)) => {
                    cycle.ended.as_ref().is_some_and(|ended| {
                        i64::from(seconds).abs_diff(i64::from(ended.value.0)) <= 1
                    })
                }
                (Field::Readings, FieldValue::Whole(n)) => n == cycle.n_reading_lines,
                _ => true,
            })
    }

    /// Says which of the printer's words were read in spite of a scan's slip; strict mode refuses them.
    fn say_slips_in_words(
        &mut self,
        layout: &Layout,
        line: StripLine<'_>,
        captures: &[Captured],
        said: &mut Vec<Diagnostic>,
        pass: Pass,
    ) -> Accepted {
        if layout.scan == ScanRepair::Leave {
            return Ok(());
        }
        for captured in captures {
            let FieldValue::Word(word) = captured.value else {
                continue;
            };
            let text = line.text().get(captured.start..captured.end);
            let text = text.unwrap_or_default();
            if layout.lexicon.is_exact(captured.field, word, text) {
                continue;
            }
            let span = line.span(captured.start, captured.end);
            let Some(open) = &mut self.open else { continue };
            match pass {
                Pass::Check => open.builder.refuse_if_strict(Code::SlipRepaired, span)?,
                Pass::Keep => {
                    let reason = format!(
                        "`{}` is read as a word of the layout with a slip of the scan",
                        String::from_utf8_lossy(text)
                    );
                    open.builder.infer(Code::SlipRepaired, span, &reason, said);
                }
            }
        }
        Ok(())
    }

    /// Takes the values of a line into the cycle at hand, all or none.
    #[inline]
    fn apply(
        &mut self,
        layout: &Layout,
        line: StripLine<'_>,
        captures: &[Captured],
        kind: LineKind,
        said: &mut Vec<Diagnostic>,
    ) -> Accepted {
        let Some(open) = &mut self.open else {
            return Ok(());
        };
        let span = line.whole();
        // Most lines are a time and readings; they are taken without looking for anything else.
        let is_plain_sample = kind == LineKind::Sample
            && captures
                .iter()
                .all(|captured| matches!(captured.field, Field::Time | Field::Reading(..)));
        if !is_plain_sample {
            return open.take_values(layout, line, captures, kind, &mut self.day, said);
        }
        let mut written = None;
        self.readings.clear();
        for captured in captures {
            match captured.value {
                FieldValue::Seconds(second_of_day) => {
                    written = Some(WrittenTime {
                        date: None,
                        second_of_day,
                    });
                }
                FieldValue::Measured(measured) => self.readings.push(Reading {
                    at: Elapsed(0),
                    line: line.number(),
                    measured,
                }),
                _ => {}
            }
        }
        let Some(written) = written else {
            return Ok(());
        };
        let placed = open.builder.place(span, written)?;
        open.begin_waiting_stage(placed.at, said);
        for reading in &mut self.readings {
            reading.at = placed.at;
        }
        if !self.readings.is_empty() {
            open.builder
                .push_readings(line.span(0, 0), placed.at, &self.readings);
        }
        open.builder.advance(span, written, placed, said);
        open.last_at = Some(placed.at);
        Ok(())
    }

    /// Ends the cycle at hand.
    fn close(&mut self, sink: &mut Sink<'_>) {
        let Some(open) = self.open.take() else { return };
        if open.builder.cycle().lines.n_lines() == 0 {
            // Its first line was refused, and nothing came after it.
            return;
        }
        let last_at = open.last_at;
        let cycle = open.finish(&self.layout, sink.said);
        if let (Some((date, last)), Some(started)) = (&mut self.day, &cycle.started) {
            let start = i64::from(started.value.local.num_seconds_from_midnight());
            let days = started
                .value
                .local
                .date()
                .signed_duration_since(*date)
                .num_days();
            let end = last_at.map_or(0, |at| i64::from(at.0));
            *last = (*last).max(
                days.saturating_mul(DAY)
                    .saturating_add(start)
                    .saturating_add(end),
            );
        }
        self.last_counter = cycle.counter.as_ref().map(|counter| counter.value);
        sink.cycles.push(cycle);
    }
}

/// Why no form of the layout fits a line, by the one that came nearest.
fn diagnose_miss(layout: &Layout, line: StripLine<'_>, nearest: Option<Miss>) -> Diagnostic {
    let text = line.text();
    let Some(miss) = nearest else {
        return Diagnostic::at(
            Code::LineUnknown,
            line.whole(),
            format!("no line of the layout `{}` has this form", layout.name),
        )
        .help("compare it with the original strip; if the printer prints such lines, add their form to the layout");
    };
    let rest = text.get(miss.at..).unwrap_or_default();
    let n = rest
        .iter()
        .position(|byte| matches!(byte, b' ' | b'\t' | b';'))
        .unwrap_or(rest.len());
    let token = rest.get(..n).unwrap_or_default();
    let span = line.span(miss.at, miss.at.saturating_add(n));
    if token.is_empty() {
        return Diagnostic::at(
            if rest.is_empty() && miss.code == Code::ValueInvalid {
                Code::ValueMissing
            } else {
                miss.code
            },
            span,
            format!("here {} is expected", miss.wanted),
        )
        .caption(format!("expected {}", miss.wanted));
    }
    let shown = String::from_utf8_lossy(token);
    Diagnostic::at(miss.code, span, format!("`{shown}` is not {}", miss.wanted))
        .caption(format!("expected {}", miss.wanted))
}

/// The cells of a row with their places; quotation marks around a cell are taken off.
fn cells(text: &[u8], separator: u8) -> impl Iterator<Item = (usize, &[u8])> {
    let mut at = Some(0);
    std::iter::from_fn(move || {
        let start = at?;
        let rest = text.get(start..)?;
        let quoted = rest.strip_prefix(b"\"").and_then(|inner| {
            let end = memchr::memchr(b'"', inner)?;
            let after = inner.get(end.saturating_add(1)..)?;
            let used = end.saturating_add(2);
            (after.is_empty() || after.first() == Some(&separator)).then_some((1_usize, end, used))
        });
        let (skipped, n, used) = match quoted {
            Some(found) => found,
            None => {
                let n = memchr::memchr(separator, rest).unwrap_or(rest.len());
                (0, n, n)
            }
        };
        let cell = rest.get(skipped..skipped.saturating_add(n))?;
        let next = start.saturating_add(used);
        at = (next < text.len()).then_some(next.saturating_add(1));
        let lead = n_blanks_before(cell).saturating_add(skipped);
        Some((start.saturating_add(lead), cell.trim_ascii()))
    })
    .take(MOST_COLUMNS)
}

/// For each cell its column, if the line is the table's header: it has the time and at least half of the columns.
fn header_of(table: &Table, layout: &Layout, text: &[u8]) -> Option<Vec<Option<usize>>> {
    let fold = layout.lexicon.fold;
    let column_of = |cell: &[u8]| {
        table
            .columns
            .iter()
            .position(|(phrase, _)| phrase.match_front(cell, fold) == Some(cell.len()))
    };
    let found: Vec<Option<usize>> = cells(text, table.separator)
        .map(|(_, cell)| column_of(cell))
        .collect();
    let n_found = found.iter().flatten().count();
    let is_timed = found.iter().flatten().any(|&column| {
        let is_time = |field: &Field| matches!(field, Field::Time | Field::Elapsed);
        let cells = table
            .columns
            .get(column)
            .into_iter()
            .flat_map(|(_, cells)| cells);
        cells.into_iter().any(|cell| match cell {
            Cell::Field(field) => is_time(field),
            Cell::Form(form) => form.fields().any(|field| is_time(&field)),
        })
    });
    (is_timed && n_found >= table.columns.len().div_ceil(2) && n_found > 1).then_some(found)
}

fn match_row(
    table: &Table,
    header: &[Option<usize>],
    layout: &Layout,
    text: &[u8],
    into: &mut Vec<Captured>,
) -> Result<(), Unfit> {
    let mut of_cell = Vec::new();
    for ((start, cell), column) in cells(text, table.separator).zip(header) {
        let column = column.and_then(|column| table.columns.get(column));
        let Some((_, alternatives)) = column.filter(|_| !layout.lexicon.is_missing(cell)) else {
            continue;
        };
        let mut nearest: Option<Unfit> = None;
        let fits =
            alternatives
                .iter()
                .any(|what| match match_cell(what, layout, cell, &mut of_cell) {
                    Ok(()) => true,
                    Err(unfit) => {
                        if nearest.is_none_or(|known| unfit.miss.at >= known.miss.at) {
                            nearest = Some(unfit);
                        }
                        false
                    }
                });
        if let Some(unfit) = nearest.filter(|_| !fits) {
            return Err(Unfit {
                miss: Miss {
                    at: unfit.miss.at.saturating_add(start),
                    ..unfit.miss
                },
                ..unfit
            });
        }
        into.extend(of_cell.drain(..).map(|captured| Captured {
            start: captured.start.saturating_add(start),
            end: captured.end.saturating_add(start),
            ..captured
        }));
    }
    Ok(())
}

fn match_cell(
    what: &Cell,
    layout: &Layout,
    cell: &[u8],
    into: &mut Vec<Captured>,
) -> Result<(), Unfit> {
    into.clear();
    match what {
        Cell::Form(form) => form.match_line(cell, &layout.lexicon, into),
        Cell::Field(field) => {
            let value = layout
                .lexicon
                .read_whole(*field, cell)
                .map_err(|miss| Unfit { miss, n_literal: 0 })?;
            into.push(Captured {
                field: *field,
                start: 0,
                end: cell.len(),
                value,
            });
            Ok(())
        }
    }
}

impl OpenCycle {
    fn new(opening: Span, strictness: Strictness) -> Self {
        OpenCycle {
            builder: CycleBuilder::opened_at(opening, strictness),
            start_date: None,
            start_time: None,
            end_date: None,
            waiting: None,
            outcome: None,
            outcome_stage: None,
            outcome_cause: None,
            lots: Vec::new(),
            total_seconds: None,
            total_readings: None,
            leak: None,
            leak_limit: None,
            last_at: None,
            alarm_of_row: None,
            last_row: None,
        }
    }

    /// Begins the stage whose line had no time, now that a time is printed.
    #[inline]
    fn begin_waiting_stage(&mut self, at: Elapsed, said: &mut Vec<Diagnostic>) {
        if self.waiting.is_some() {
            self.begin_stage_at(at, said);
        }
    }

    #[cold]
    fn begin_stage_at(&mut self, at: Elapsed, said: &mut Vec<Diagnostic>) {
        let Some(stage) = self.waiting.take() else {
            return;
        };
        let reason = format!(
            "the printer gives stage {} no time: it is taken to begin at the next time printed",
            stage.name.word()
        );
        self.builder
            .infer(Code::TimeInferred, stage.span, &reason, said);
        self.builder.push_stage(Stage { began: at, ..stage });
    }

    /// Takes the values of any line, all or none.
    fn take_values(
        &mut self,
        layout: &Layout,
        line: StripLine<'_>,
        captures: &[Captured],
        kind: LineKind,
        day: &mut Option<(NaiveDate, i64)>,
        said: &mut Vec<Diagnostic>,
    ) -> Accepted {
        let text = line.text();
        let span = line.whole();
        let has_text = captures
            .iter()
            .any(|captured| captured.value == FieldValue::Text);
        if has_text && looks_like_patient_data(text) {
            return Err(Box::new(diagnose_patient_data(span)));
        }
        // First everything is checked, so that nothing is kept of a line that is refused.
        let starts = kind == LineKind::Sample
            && layout
                .table
                .as_ref()
                .is_some_and(|table| table.starts == RowRole::Marks);
        let start = self.start_of(line, captures, starts, layout, *day)?;
        for captured in captures {
            self.offer(layout, line, captured, Pass::Check)?;
        }
        let time = self.time_of(line, captures, start.as_ref())?;
        let end = self.end_of(line, captures, start.as_ref())?;
        let stage = self.stage_of(layout, line, captures, kind);
        let alarm = alarm_of(layout, text, captures);
        let words = captures
            .iter()
            .find(|captured| captured.field == Field::Text);
        let is_event = alarm.is_some() || words.is_some();
        let strict = self.builder.strictness() == Strictness::Strict;
        if stage.is_some() && time.is_none() && strict {
            self.builder.refuse_if_strict(Code::TimeInferred, span)?;
        }
        let event_at = match (&time, self.last_at) {
            _ if !is_event => None,
            (Some((_, placed)), _) => Some(placed.at),
            (None, last) => {
                self.builder.refuse_if_strict(Code::TimeInferred, span)?;
                Some(last.unwrap_or(Elapsed(0)))
            }
        };
        let limits = limits_of(captures);
        let n_pulses =
            captures
                .iter()
                .find_map(|captured| match (captured.field, captured.value) {
                    (Field::Pulses, FieldValue::Whole(n)) => Some(n),
                    _ => None,
                });
        let has_stage_at_hand = self.waiting.is_some() || !self.builder.cycle().stages.is_empty();
        if (!limits.is_empty() || n_pulses.is_some()) && stage.is_none() && !has_stage_at_hand {
            return Err(Box::new(Diagnostic::at(
                Code::LineUnknown,
                span,
                "this limit stands before any stage, so it is not known which stage it binds",
            )));
        }
        // Then everything is kept.
        if let Some(start) = start {
            self.keep_start(line, start, day, said)?;
        }
        for captured in captures {
            self.offer(layout, line, captured, Pass::Keep)?;
        }
        // The start may just have been set, so the times are placed again; what was accepted is accepted still.
        let time = match time {
            Some((written, _)) => Some((written, self.builder.place(span, written)?)),
            None => None,
        };
        if let Some((_, placed)) = &time {
            self.begin_waiting_stage(placed.at, said);
            self.last_at = Some(placed.at);
        }
        self.keep_stage(stage, time.map(|(_, placed)| placed.at), said);
        self.keep_limits(limits, n_pulses);
        if let Some((_, placed)) = &time {
            let readings: Vec<Reading> = captures
                .iter()
                .filter_map(|captured| match captured.value {
                    FieldValue::Measured(measured)
                        if matches!(captured.field, Field::Reading(..)) =>
                    {
                        Some(Reading {
                            at: placed.at,
                            line: line.number(),
                            measured,
                        })
                    }
                    _ => None,
                })
                .collect();
            if !readings.is_empty() {
                self.builder
                    .push_readings(line.span(0, 0), placed.at, &readings);
            }
        }
        let is_row = kind == LineKind::Sample;
        let is_same_alarm = is_row && alarm.is_some() && alarm == self.alarm_of_row;
        if is_row {
            self.alarm_of_row.clone_from(&alarm);
        }
        if let Some(at) = event_at.filter(|_| !is_same_alarm) {
            let at = time.map_or(at, |(_, placed)| placed.at);
            if time.is_none() {
                let reason = "the printer gives this no time: the last time printed is taken";
                self.builder.infer(Code::TimeInferred, span, reason, said);
            }
            let words = words.or_else(|| {
                captures
                    .iter()
                    .find(|captured| matches!(captured.field, Field::Alarm | Field::AnyAlarm))
            });
            let words = words.and_then(|captured| text.get(captured.start..captured.end));
            self.builder.push_event(Event {
                at,
                span,
                alarm,
                text: words.map_or_else(String::new, owned),
            });
        }
        if let Some((written, placed)) = time {
            self.builder.advance(span, written, placed, said);
            if is_row {
                let of_time = captures
                    .iter()
                    .find(|captured| matches!(captured.field, Field::Time | Field::Elapsed));
                self.last_row = of_time.map(|captured| line.span(captured.start, captured.end));
            }
        }
        if let Some((written, _, at)) = end {
            let placed = self.builder.place(span, written)?;
            self.builder.set(|cycle| &mut cycle.ended, placed.at, at)?;
            self.builder.advance(span, written, placed, said);
            self.last_at = Some(placed.at);
        }
        Ok(())
    }

    /// The start that a line tells or completes.
    fn start_of(
        &self,
        line: StripLine<'_>,
        captures: &[Captured],
        first_row_starts: bool,
        layout: &Layout,
        day: Option<(NaiveDate, i64)>,
    ) -> Result<Option<Start>, Box<Diagnostic>> {
        let starts_here = first_row_starts && self.start_time.is_none();
        let date = find_date(line, captures, Field::StartDate)
            .or_else(|| find_date(line, captures, Field::Date).filter(|_| starts_here));
        let time = find_seconds(line, captures, Field::StartTime)
            .or_else(|| find_seconds(line, captures, Field::Time).filter(|_| starts_here));
        if date.is_none() && time.is_none() {
            return Ok(None);
        }
        if let Some(date) = &date {
            check(&self.start_date, &date.value, date.span)?;
        }
        if let Some(time) = &time {
            check(&self.start_time, &time.value, time.span)?;
        }
        let mut start = Start {
            date: date.or_else(|| self.start_date.clone()),
            time: time.or_else(|| self.start_time.clone()),
            rolled: false,
        };
        // The date may stand above the cycle.
        if let (None, Some(time), Some((date, last)), false) =
            (&start.date, &start.time, day, layout.prints_dates)
        {
            let second = i64::from(time.value);
            let days = last.div_euclid(DAY);
            let days = if second < last.rem_euclid(DAY) {
                days.saturating_add(1)
            } else {
                days
            };
            start.rolled = days > 0;
            if start.rolled {
                self.builder
                    .refuse_if_strict(Code::DateInferred, time.span)?;
            }
            start.date = date
                .checked_add_signed(TimeDelta::days(days))
                .map(|date| Spanned::new(date, time.span));
        }
        Ok(Some(start))
    }

    fn keep_start(
        &mut self,
        line: StripLine<'_>,
        start: Start,
        day: &mut Option<(NaiveDate, i64)>,
        said: &mut Vec<Diagnostic>,
    ) -> Accepted {
        let _ = day;
        let was_timed = self.start_time.is_some();
        if let Some(date) = start.date {
            fill(&mut self.start_date, date.value, date.span)?;
        }
        if let Some(time) = start.time {
            fill(&mut self.start_time, time.value, time.span)?;
        }
        match (&self.start_date, &self.start_time) {
            (Some(date), Some(time)) => {
                let span = if date.span.line == time.span.line {
                    Span {
                        start: date.span.start.min(time.span.start),
                        end: date.span.end.max(time.span.end),
                        ..date.span
                    }
                } else {
                    date.span
                };
                let stamp = Stamp::local(NaiveDateTime::new(date.value, time_of_day(time.value)));
                self.builder.start(stamp, span)?;
                if start.rolled {
                    let reason =
                        "the date above this cycle is read as having gone on past midnight";
                    self.builder.infer(Code::DateInferred, span, reason, said);
                }
            }
            // Times are counted from it, whatever its date turns out to be.
            (None, Some(time)) if !was_timed => {
                let written = WrittenTime {
                    date: None,
                    second_of_day: time.value,
                };
                let whole = line.whole();
                let placed = self.builder.place(whole, written)?;
                self.builder.advance(whole, written, placed, said);
            }
            _ => {}
        }
        Ok(())
    }

    /// The time of the line, and where it lies.
    fn time_of(
        &self,
        line: StripLine<'_>,
        captures: &[Captured],
        start: Option<&Start>,
    ) -> Result<Option<(WrittenTime, Placed)>, Box<Diagnostic>> {
        let whole = line.whole();
        if let Some(time) = find_seconds(line, captures, Field::Time) {
            let written = WrittenTime {
                date: find_date(line, captures, Field::Date).map(|date| date.value),
                second_of_day: time.value,
            };
            return Ok(Some((written, self.builder.place(whole, written)?)));
        }
        let Some(elapsed) = find_seconds(line, captures, Field::Elapsed) else {
            return Ok(None);
        };
        let known = self
            .start_time
            .as_ref()
            .or_else(|| start.and_then(|start| start.time.as_ref()));
        let Some(second) = known.map(|time| time.value) else {
            return Err(Box::new(Diagnostic::at(
                Code::DateInvalid,
                elapsed.span,
                "this time counts from the start, which is not printed above it",
            )));
        };
        let since_midnight = i64::from(second).saturating_add(i64::from(elapsed.value));
        let date = self.builder.cycle().started.as_ref().and_then(|started| {
            let days = TimeDelta::days(since_midnight.div_euclid(DAY));
            started.value.local.date().checked_add_signed(days)
        });
        let written = WrittenTime {
            date,
            second_of_day: u32::try_from(since_midnight.rem_euclid(DAY)).unwrap_or(0),
        };
        Ok(Some((written, self.builder.place(whole, written)?)))
    }

    /// The end that a line tells.
    fn end_of(
        &mut self,
        line: StripLine<'_>,
        captures: &[Captured],
        start: Option<&Start>,
    ) -> Result<Option<(WrittenTime, Placed, Span)>, Box<Diagnostic>> {
        let date = find_date(line, captures, Field::EndDate);
        if let Some(date) = &date {
            check(&self.end_date, &date.value, date.span)?;
        }
        let Some(time) = find_seconds(line, captures, Field::EndTime) else {
            return Ok(None);
        };
        let is_dated = self.builder.cycle().started.is_some()
            || start.is_some_and(|start| start.date.is_some() && start.time.is_some());
        let written = WrittenTime {
            date: date
                .or_else(|| self.end_date.clone())
                .map(|date| date.value)
                .filter(|_| is_dated),
            second_of_day: time.value,
        };
        let placed = self.builder.place(line.whole(), written)?;
        self.builder
            .check(|cycle| &mut cycle.ended, &placed.at, time.span)?;
        Ok(Some((written, placed, time.span)))
    }

    /// The stage that begins with a line.
    fn stage_of(
        &self,
        layout: &Layout,
        line: StripLine<'_>,
        captures: &[Captured],
        kind: LineKind,
    ) -> Option<Stage> {
        let name = stage_name(layout, line.text(), captures)?;
        let current = self
            .waiting
            .as_ref()
            .or_else(|| self.builder.cycle().stages.last());
        if kind == LineKind::Sample && current.is_some_and(|stage| stage.name == name) {
            return None;
        }
        Some(Stage {
            name,
            span: line.whole(),
            began: Elapsed(0),
            limits: Vec::new(),
            n_pulses: None,
            readings: Vec::new(),
        })
    }

    fn keep_stage(
        &mut self,
        stage: Option<Stage>,
        at: Option<Elapsed>,
        said: &mut Vec<Diagnostic>,
    ) {
        match (stage, at) {
            (Some(stage), Some(at)) => self.builder.push_stage(Stage { began: at, ..stage }),
            (Some(stage), None) => {
                // Two stages with no time between them begin together.
                let at = self.last_at.unwrap_or(Elapsed(0));
                self.begin_waiting_stage(at, said);
                self.waiting = Some(stage);
            }
            (None, _) => {}
        }
    }

    fn keep_limits(&mut self, limits: Vec<Limit>, n_pulses: Option<u32>) {
        let add = |stage: &mut Stage| {
            for limit in &limits {
                if !stage.limits.contains(limit) {
                    stage.limits.push(*limit);
                }
            }
            stage.n_pulses = n_pulses.or(stage.n_pulses);
        };
        match &mut self.waiting {
            Some(stage) => add(stage),
            None => self.builder.change(|cycle| {
                if let Some(stage) = cycle.stages.last_mut() {
                    add(stage);
                }
            }),
        }
    }

    /// Holds a field's value against what is known, or keeps it.
    fn offer(
        &mut self,
        layout: &Layout,
        line: StripLine<'_>,
        captured: &Captured,
        pass: Pass,
    ) -> Accepted {
        let span = line.span(captured.start, captured.end);
        let bytes = line
            .text()
            .get(captured.start..captured.end)
            .unwrap_or_default();
        macro_rules! field {
            ($field:ident, $value:expr) => {{
                let value = $value;
                match pass {
                    Pass::Check => self.builder.check(|cycle| &mut cycle.$field, &value, span),
                    Pass::Keep => self.builder.set(|cycle| &mut cycle.$field, value, span),
                }
            }};
        }
        macro_rules! slot {
            ($slot:ident, $value:expr) => {{
                let value = $value;
                match pass {
                    Pass::Check => check(&self.$slot, &value, span),
                    Pass::Keep => fill(&mut self.$slot, value, span),
                }
            }};
        }
        match (captured.field, captured.value) {
            (Field::Unit, _) => field!(unit, UnitName(name(bytes, span)?)),
            (Field::Serial, _) => field!(serial, owned(bytes)),
            (Field::Software, _) => field!(software, owned(bytes)),
            (Field::Place, _) => field!(place, owned(bytes)),
            (Field::Zone, _) => field!(zone, zone(bytes, span)?),
            (Field::Program, _) => {
                // Printers have programs for tests, and name the purpose by the program alone.
                let purposes = &layout.lexicon.purposes;
                let word = purposes
                    .match_front(bytes, layout.lexicon.fold)
                    .filter(|(n, _)| *n == bytes.len())
                    .and_then(|(_, word)| purposes.get(word));
                match word {
                    Some(purpose) if pass == Pass::Check => {
                        self.builder.check_purpose(*purpose, span)?;
                    }
                    Some(purpose) => self.builder.set_purpose(*purpose, span)?,
                    None => {}
                }
                field!(program, Program(owned(bytes)))
            }
            (Field::Load, _) => field!(load, LoadNumber(name(bytes, span)?)),
            (Field::Operator, _) => field!(operator, StaffMark(name(bytes, span)?)),
            (Field::Counter, FieldValue::Whole(counter)) => field!(counter, counter),
            (Field::Process, FieldValue::Word(word)) => match layout.lexicon.processes.get(word) {
                Some(process) => field!(process, *process),
                None => Ok(()),
            },
            (Field::Purpose, FieldValue::Word(word)) => match layout.lexicon.purposes.get(word) {
                Some(purpose) if pass == Pass::Check => self.builder.check_purpose(*purpose, span),
                Some(purpose) => self.builder.set_purpose(*purpose, span),
                None => Ok(()),
            },
            (
                Field::Ambient(_),
                FieldValue::Measured(crate::record::cycle::Measured::Pressure(pressure)),
            ) => field!(ambient, pressure),
            (Field::EndDate, FieldValue::Date(date)) => slot!(end_date, date),
            (Field::Outcome, FieldValue::Word(word)) => match layout.lexicon.outcomes.get(word) {
                Some(Some(outcome)) => slot!(outcome, outcome.clone()),
                _ => Ok(()),
            },
            (Field::Cause, FieldValue::Word(word)) => match layout.lexicon.causes.get(word) {
                Some(cause) => slot!(outcome_cause, cause.clone()),
                None => Ok(()),
            },
            (Field::AnyCause, _) => slot!(outcome_cause, any_cause(layout, bytes)),
            (Field::Total(_), FieldValue::Seconds(seconds)) => slot!(total_seconds, seconds),
            (Field::Readings, FieldValue::Whole(n)) => slot!(total_readings, n),
            (Field::Leak(_), FieldValue::Leak(rate)) => slot!(leak, rate),
            (Field::LeakLimit(_), FieldValue::Leak(rate)) => slot!(leak_limit, rate),
            (Field::Consumable(kind, part), value) => {
                self.offer_lot(kind, part, value, bytes, span, pass)
            }
            (Field::OutcomeStage | Field::AnyOutcomeStage, value) => {
                match of_stage(layout, bytes, captured.field, value) {
                    Some(stage) => slot!(outcome_stage, stage),
                    None => Ok(()),
                }
            }
            _ => Ok(()),
        }
    }

    fn offer_lot(
        &mut self,
        kind: ConsumableKind,
        part: LotPart,
        value: FieldValue,
        bytes: &[u8],
        span: Span,
        pass: Pass,
    ) -> Accepted {
        if pass == Pass::Check {
            let mut parts = LotParts::default();
            if part == LotPart::Lot {
                parts.set_lot(bytes, span).map_err(Box::new)?;
            }
            if part == LotPart::Scan {
                parts.set_scan(bytes, span).map_err(Box::new)?;
                parts.join(self.builder.year()).map_err(Box::new)?;
            }
            return Ok(());
        }
        let differs = |lot: &OpenLot| match (part, value) {
            (LotPart::Lot, _) => lot.lot.as_ref().is_some_and(|(known, _)| known != bytes),
            (LotPart::Scan, _) => lot.scan.as_ref().is_some_and(|(known, _)| known != bytes),
            (LotPart::Expiry, FieldValue::Date(date)) => {
                lot.expiry.is_some_and(|(known, _)| known != date)
            }
            (LotPart::Use, FieldValue::Of(n, of)) => lot
                .uses
                .as_ref()
                .is_some_and(|known| known.value != UseCount { n, of }),
            _ => false,
        };
        // Another lot of the same kind is another consumable.
        let at = self
            .lots
            .iter()
            .rposition(|lot| lot.kind == kind && !differs(lot));
        let at = at.unwrap_or_else(|| {
            self.lots.push(OpenLot {
                kind,
                lot: None,
                expiry: None,
                scan: None,
                uses: None,
                span,
            });
            self.lots.len().saturating_sub(1)
        });
        if let Some(lot) = self.lots.get_mut(at) {
            match (part, value) {
                (LotPart::Lot, _) => lot.lot = Some((bytes.to_vec(), span)),
                (LotPart::Scan, _) => lot.scan = Some((bytes.to_vec(), span)),
                (LotPart::Expiry, FieldValue::Date(date)) => lot.expiry = Some((date, span)),
                (LotPart::Use, FieldValue::Of(n, of)) => {
                    lot.uses = Some(Spanned::new(UseCount { n, of }, span));
                }
                _ => {}
            }
        }
        Ok(())
    }

    /// Ends the cycle, and puts in what could be known at the end only.
    fn finish(mut self, layout: &Layout, said: &mut Vec<Diagnostic>) -> Cycle {
        let last = self.last_at.unwrap_or(Elapsed(0));
        self.begin_waiting_stage(last, said);
        self.start_from_end(said);
        let opening = self.builder.cycle().opening;
        let marks_end = layout
            .table
            .as_ref()
            .is_some_and(|table| table.ends == RowRole::Marks);
        if let Some(span) = self.last_row.filter(|_| marks_end) {
            // It is set already where the printer prints it.
            let _ = self.builder.set(|cycle| &mut cycle.ended, last, span);
        }
        let always = &layout.always;
        self.builder.change(|cycle| {
            fn put<T: Clone>(slot: &mut Option<Spanned<T>>, value: Option<T>, span: Span) {
                if let (None, Some(value)) = (&slot, value) {
                    *slot = Some(Spanned::new(value, span));
                }
            }
            put(&mut cycle.unit, always.unit.clone().map(UnitName), opening);
            put(&mut cycle.serial, always.serial.clone(), opening);
            put(&mut cycle.software, always.software.clone(), opening);
            put(&mut cycle.place, always.place.clone(), opening);
            put(&mut cycle.zone, always.zone, opening);
            put(&mut cycle.process, always.process, opening);
            put(
                &mut cycle.program,
                always.program.clone().map(Program),
                opening,
            );
            put(&mut cycle.ambient, always.ambient, opening);
        });
        self.keep_outcome();
        self.keep_lots(said);
        if let Some(rate) = self.leak {
            let limit = self.leak_limit.as_ref().map(|limit| limit.value);
            let leak = LeakResult {
                rate: rate.value,
                limit,
            };
            let _ = self.builder.set(|cycle| &mut cycle.leak, leak, rate.span);
        }
        match (self.total_seconds, self.total_readings) {
            (Some(seconds), readings) => {
                let total = Total {
                    seconds: seconds.value,
                    n_reading_lines: readings.map(|readings| readings.value),
                };
                let _ = self
                    .builder
                    .set(|cycle| &mut cycle.total, total, seconds.span);
            }
            (None, Some(readings)) => {
                let n_read = self.builder.cycle().n_reading_lines;
                if n_read != readings.value {
                    said.push(Diagnostic::at(
                        Code::TotalWrong,
                        readings.span,
                        format!(
                            "the printout counts {} lines with readings, but {n_read} could be read",
                            readings.value
                        ),
                    ));
                }
            }
            (None, None) => {}
        }
        if !layout.has_end {
            let is_told = self.builder.cycle().outcome.is_some();
            self.builder.change(|cycle| cycle.closed = is_told);
        }
        let closing = if layout.has_end {
            "closing line"
        } else {
            "outcome"
        };
        self.builder.finish(closing, said).0
    }

    /// The start's date from the end's, where the printer prints that alone.
    fn start_from_end(&mut self, said: &mut Vec<Diagnostic>) {
        let (Some(date), Some(time)) = (&self.end_date, &self.start_time) else {
            return;
        };
        if self.builder.cycle().started.is_some() {
            return;
        }
        let end = self
            .builder
            .cycle()
            .ended
            .as_ref()
            .map(|ended| ended.value)
            .or(self.last_at)
            .unwrap_or(Elapsed(0));
        let days = i64::from(time.value)
            .saturating_add(i64::from(end.0))
            .div_euclid(DAY);
        let start = date.value.checked_sub_signed(TimeDelta::days(days));
        let taken = match start.filter(|day| is_of_record(*day)) {
            Some(day) => {
                let stamp = Stamp::local(NaiveDateTime::new(day, time_of_day(time.value)));
                self.builder.start(stamp, date.span)
            }
            None => Err(Box::new(Diagnostic::at(
                Code::DateInvalid,
                date.span,
                format!("the start would not be {DAY_WANTED}"),
            ))),
        };
        if let Err(refused) = taken {
            said.push(*refused);
        }
    }

    fn keep_outcome(&mut self) {
        let Some(outcome) = self.outcome.take() else {
            return;
        };
        let own_stage = self.outcome_stage.take().map(|stage| stage.value);
        let own_cause = self.outcome_cause.take().map(|cause| cause.value);
        let value = match outcome.value {
            Outcome::Aborted { stage, cause } => Outcome::Aborted {
                stage: stage.or(own_stage),
                cause: cause.or(own_cause),
            },
            Outcome::Rejected { cause } => Outcome::Rejected {
                cause: cause.or(own_cause),
            },
            other => other,
        };
        let _ = self
            .builder
            .set(|cycle| &mut cycle.outcome, value, outcome.span);
    }

    fn keep_lots(&mut self, said: &mut Vec<Diagnostic>) {
        let year = self.builder.year();
        for open in std::mem::take(&mut self.lots) {
            let mut parts = LotParts::default();
            let mut put = || -> Result<(), Diagnostic> {
                if let Some((lot, span)) = &open.lot {
                    parts.set_lot(lot, *span)?;
                }
                if let Some((expiry, span)) = open.expiry {
                    parts.set_expiry(expiry, span)?;
                }
                if let Some((scan, span)) = &open.scan {
                    parts.set_scan(scan, *span)?;
                }
                Ok(())
            };
            let joined = put().and_then(|()| parts.join(year));
            match joined {
                Ok(identity) => self.builder.push_consumable(ConsumableUse {
                    kind: open.kind,
                    lot: Spanned::new(identity, open.span),
                    use_count: open.uses.map(|uses| uses.value),
                }),
                Err(diagnostic) => said.push(diagnostic),
            }
        }
    }
}

/// The start as far as a line and those before it tell it.
struct Start {
    date: Option<Spanned<NaiveDate>>,
    time: Option<Spanned<u32>>,
    /// The date stood above the cycle, and midnight has passed since.
    rolled: bool,
}

fn find_date(
    line: StripLine<'_>,
    captures: &[Captured],
    field: Field,
) -> Option<Spanned<NaiveDate>> {
    captures.iter().find_map(|captured| match captured.value {
        FieldValue::Date(date) if captured.field == field => {
            Some(Spanned::new(date, line.span(captured.start, captured.end)))
        }
        _ => None,
    })
}

fn find_seconds(line: StripLine<'_>, captures: &[Captured], field: Field) -> Option<Spanned<u32>> {
    captures.iter().find_map(|captured| match captured.value {
        FieldValue::Seconds(seconds) if captured.field == field => Some(Spanned::new(
            seconds,
            line.span(captured.start, captured.end),
        )),
        _ => None,
    })
}

fn limits_of(captures: &[Captured]) -> Vec<Limit> {
    captures
        .iter()
        .filter_map(|captured| match (captured.field, captured.value) {
            (Field::Limit(_, _, bound), FieldValue::Measured(measured)) => Some(Limit {
                bound,
                value: LimitValue::Measured(measured),
            }),
            (Field::DurationLimit(_, bound), FieldValue::Duration(duration)) => Some(Limit {
                bound,
                value: LimitValue::Duration(duration),
            }),
            _ => None,
        })
        .collect()
}

/// A word of the printer's own as a word of the formats: without spaces and commas.
fn as_word(bytes: &[u8]) -> String {
    let text = owned(bytes);
    let words = text
        .split(|c: char| c.is_whitespace() || matches!(c, ',' | ':' | ';' | '"'))
        .filter(|word| !word.is_empty());
    words.collect::<Vec<_>>().join("-").to_lowercase()
}

fn of_stage(layout: &Layout, bytes: &[u8], field: Field, value: FieldValue) -> Option<StageName> {
    let words = &layout.lexicon.stages;
    match (field, value) {
        (Field::Stage | Field::OutcomeStage, FieldValue::Word(word)) => words.get(word).cloned(),
        (Field::AnyStage | Field::AnyOutcomeStage, _) => {
            let known = words
                .match_front(bytes, layout.lexicon.fold)
                .filter(|(n, _)| *n == bytes.len())
                .and_then(|(_, word)| words.get(word).cloned());
            Some(known.unwrap_or_else(|| StageName::from_word(&as_word(bytes))))
        }
        _ => None,
    }
}

fn stage_name(layout: &Layout, text: &[u8], captures: &[Captured]) -> Option<StageName> {
    let of_line = |captured: &&Captured| matches!(captured.field, Field::Stage | Field::AnyStage);
    captures.iter().filter(of_line).find_map(|captured| {
        let bytes = text.get(captured.start..captured.end).unwrap_or_default();
        of_stage(layout, bytes, captured.field, captured.value)
    })
}

fn any_cause(layout: &Layout, bytes: &[u8]) -> Cause {
    let words = &layout.lexicon.causes;
    let known = words
        .match_front(bytes, layout.lexicon.fold)
        .filter(|(n, _)| *n == bytes.len())
        .and_then(|(_, word)| words.get(word).cloned());
    known.unwrap_or_else(|| Cause::from_word(&as_word(bytes)))
}

fn alarm_of(layout: &Layout, text: &[u8], captures: &[Captured]) -> Option<Cause> {
    captures
        .iter()
        .find_map(|captured| match (captured.field, captured.value) {
            (Field::Alarm, FieldValue::Word(word)) => layout.lexicon.causes.get(word).cloned(),
            (Field::AnyAlarm, _) => {
                let bytes = text.get(captured.start..captured.end).unwrap_or_default();
                Some(any_cause(layout, bytes))
            }
            _ => None,
        })
}

fn name(bytes: &[u8], span: Span) -> Result<String, Box<Diagnostic>> {
    if is_name(bytes) {
        return Ok(owned(bytes));
    }
    Err(Box::new(Diagnostic::at(
        Code::ValueInvalid,
        span,
        "a name has at most forty characters and no spaces or commas",
    )))
}

fn zone(bytes: &[u8], span: Span) -> Result<Tz, Box<Diagnostic>> {
    let found = std::str::from_utf8(bytes)
        .ok()
        .and_then(|name| Tz::from_str_insensitive(name).ok());
    found.ok_or_else(|| {
        Box::new(Diagnostic::at(
            Code::ValueInvalid,
            span,
            "this is no zone of the IANA time zone database",
        ))
    })
}

#[cfg(test)]
mod tests;
