//! A cycle as it is put together from the lines of a printout, whatever their format: fields said once and repeated by
//! page headers, the clock, strictness, what was inferred, and what the whole bears out.
//!
//! Knows nothing of how a line is worded: the neutral reader and the reader by layout both hand it typed values with
//! their spans. Read [`CycleBuilder::place`] and [`CycleBuilder::advance`] first; a line is placed, accepted, and only
//! then moves the clock.

use super::clock::{ClockNote, CycleClock, WrittenTime, within};
use crate::diagnose::codes::Code;
use crate::diagnose::{Diagnostic, Span};
use crate::parse::Strictness;
use crate::parse::token::DecimalMark;
use crate::record::Spanned;
use crate::record::consumable::ConsumableUse;
use crate::record::cycle::{
    Checksum, Cycle, Elapsed, Event, Inference, Purpose, Reading, Stage, StageName,
};
use crate::record::stamp::Stamp;
use chrono::{Datelike, Timelike};
use std::collections::BTreeSet;

/// Where a time lies, before the clock is moved to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Placed {
    /// Seconds since the start.
    pub at: Elapsed,
    /// Why it is not where its bare figures put it.
    pub note: Option<ClockNote>,
}

/// Whether a value that was handed in is new.
pub type Accepted = Result<(), Box<Diagnostic>>;

/// Puts one cycle together.
#[derive(Debug)]
pub struct CycleBuilder {
    cycle: Cycle,
    clock: CycleClock,
    strictness: Strictness,
    decimal_comma_said: bool,
    /// The purpose as printed, which the cycle has only as a value.
    purpose: Option<Spanned<Purpose>>,
    /// Room for the readings of the next stage.
    room: Vec<Reading>,
}

impl CycleBuilder {
    /// A builder of the cycle whose printout begins at a line.
    pub fn opened_at(opening: Span, strictness: Strictness) -> Self {
        CycleBuilder {
            cycle: Cycle::opened_at(opening),
            clock: CycleClock::default(),
            strictness,
            decimal_comma_said: false,
            purpose: None,
            room: Vec::new(),
        }
    }

    /// The same, with room for readings that another cycle used before.
    #[must_use]
    pub fn with_room(mut self, room: Vec<Reading>) -> Self {
        self.room = room;
        self
    }

    /// The cycle as far as it is known.
    pub fn cycle(&self) -> &Cycle {
        &self.cycle
    }

    /// How the input is to be read.
    pub fn strictness(&self) -> Strictness {
        self.strictness
    }

    /// The year of the start, where it is known.
    pub fn year(&self) -> Option<i32> {
        let started = self.cycle.started.as_ref()?;
        Some(started.value.local.year())
    }

    /// Sets a field that is said once. The same value again is a page header; another one is refused.
    ///
    /// # Errors
    /// The field has another value already.
    #[inline]
    pub fn set<T: PartialEq>(
        &mut self,
        field: impl FnOnce(&mut Cycle) -> &mut Option<Spanned<T>>,
        value: T,
        span: Span,
    ) -> Accepted {
        fill(field(&mut self.cycle), value, span)
    }

    /// Sets what the cycle was run for, which is said once too.
    ///
    /// # Errors
    /// Another purpose was said before.
    pub fn set_purpose(&mut self, purpose: Purpose, span: Span) -> Accepted {
        fill(&mut self.purpose, purpose, span)?;
        self.cycle.purpose = purpose;
        Ok(())
    }

    /// Whether a field can be set to a value; it is not set.
    ///
    /// # Errors
    /// The field has another value already.
    pub fn check<T: PartialEq>(
        &mut self,
        field: impl FnOnce(&mut Cycle) -> &mut Option<Spanned<T>>,
        value: &T,
        span: Span,
    ) -> Accepted {
        check(field(&mut self.cycle), value, span)
    }

    /// Whether the purpose can be set to a value; it is not set.
    ///
    /// # Errors
    /// Another purpose was said before.
    pub fn check_purpose(&self, purpose: Purpose, span: Span) -> Accepted {
        check(&self.purpose, &purpose, span)
    }

    /// Changes what has no span of its own: checksum, whether it is closed.
    pub fn change(&mut self, how: impl FnOnce(&mut Cycle)) {
        how(&mut self.cycle);
    }

    /// Sets the start, from which times are counted.
    ///
    /// # Errors
    /// The cycle has another start already; a time that was read before lies too far from this one.
    pub fn start(&mut self, stamp: Stamp, span: Span) -> Accepted {
        if self.cycle.started.is_some() {
            return self.set(|cycle| &mut cycle.started, stamp, span);
        }
        let day = stamp.local.date();
        let second_of_day = stamp.local.time().num_seconds_from_midnight();
        let by = self.clock.find_move(day, second_of_day);
        // A time as counted from this start.
        let moved = |at: Elapsed| {
            let seconds = within(i64::from(at.0).saturating_add(by))?;
            Some(Elapsed(i32::try_from(seconds).ok()?))
        };
        if self.times_mut().any(|at| moved(*at).is_none()) {
            return Err(Box::new(Diagnostic::at(
                Code::DateInvalid,
                span,
                "the start lies more than thirty days from a time on a line before it",
            )));
        }
        self.set(|cycle| &mut cycle.started, stamp, span)?;
        self.clock.start(day, second_of_day);
        for at in self.times_mut() {
            *at = moved(*at).unwrap_or(*at);
        }
        Ok(())
    }

    /// Every time of the cycle that is counted from the start.
    fn times_mut(&mut self) -> impl Iterator<Item = &mut Elapsed> {
        let stages = self.cycle.stages.iter_mut().flat_map(|stage| {
            let readings = stage.readings.iter_mut().map(|reading| &mut reading.at);
            std::iter::once(&mut stage.began).chain(readings)
        });
        let events = self.cycle.events.iter_mut().map(|event| &mut event.at);
        let ended = self.cycle.ended.iter_mut().map(|ended| &mut ended.value);
        stages.chain(events).chain(ended)
    }

    /// Where a time on a line lies, without moving the clock yet.
    ///
    /// # Errors
    /// It lies too far from the start, or strict mode refuses what it would take to place it.
    #[inline]
    pub fn place(&self, line: Span, written: WrittenTime) -> Result<Placed, Box<Diagnostic>> {
        let Some((at, note)) = self.clock.place(written) else {
            return Err(Box::new(Diagnostic::at(
                Code::DateInvalid,
                line,
                "the time lies more than thirty days from the start of the cycle",
            )));
        };
        if let Some(note) = note.filter(|&note| note != ClockNote::WentBack) {
            self.refuse_if_strict(note.code(), line)?;
        }
        let at = Elapsed(i32::try_from(at).unwrap_or(i32::MAX));
        Ok(Placed { at, note })
    }

    /// Moves the clock to a time whose line was accepted, and says why if that needed thought.
    #[inline]
    pub fn advance(
        &mut self,
        line: Span,
        written: WrittenTime,
        placed: Placed,
        said: &mut Vec<Diagnostic>,
    ) {
        self.clock
            .advance(written, i64::from(placed.at.0), placed.note);
        if let Some(note) = placed.note {
            self.say_clock_note(line, note, said);
        }
    }

    #[cold]
    fn say_clock_note(&mut self, line: Span, note: ClockNote, said: &mut Vec<Diagnostic>) {
        match note {
            ClockNote::MidnightPassed => {
                let reason = "this time is read as being after midnight";
                self.infer(Code::MidnightPassed, line, reason, said);
            }
            ClockNote::SteppedBack => {
                let reason =
                    "the clock was set back an hour before this time, as at the end of summer time";
                self.infer(Code::ClockSteppedBack, line, reason, said);
            }
            ClockNote::WentBack => said.push(Diagnostic::at(
                Code::ClockWentBack,
                line,
                "this time is earlier than one before it",
            )),
        }
    }

    /// Refuses, in strict mode, what would have to be inferred.
    ///
    /// # Errors
    /// In strict mode, always.
    pub fn refuse_if_strict(&self, code: Code, span: Span) -> Accepted {
        match self.strictness {
            Strictness::Infer => Ok(()),
            Strictness::Strict => Err(Box::new(refused(code, span))),
        }
    }

    /// Writes down what was inferred and why, and says it.
    pub fn infer(&mut self, code: Code, span: Span, reason: &str, said: &mut Vec<Diagnostic>) {
        said.push(Diagnostic::at(code, span, reason));
        self.cycle.inferences.push(Inference {
            span,
            reason: reason.to_owned(),
        });
    }

    /// Notes that commas mark decimals, once a printout; strict mode refuses them.
    ///
    /// # Errors
    /// In strict mode, for a comma.
    #[inline]
    pub fn note_decimal_mark(
        &mut self,
        line: Span,
        mark: DecimalMark,
        said: &mut Vec<Diagnostic>,
    ) -> Accepted {
        if mark == DecimalMark::Point {
            return Ok(());
        }
        self.refuse_if_strict(Code::DecimalComma, line)?;
        if !self.decimal_comma_said {
            self.decimal_comma_said = true;
            let reason = "commas in this printout's numbers are read as decimal marks";
            self.infer(Code::DecimalComma, line, reason, said);
        }
        Ok(())
    }

    /// Begins a stage, which has no readings yet.
    pub fn push_stage(&mut self, mut stage: Stage) {
        self.fit_last_stage();
        stage.readings = std::mem::take(&mut self.room);
        self.cycle.stages.push(stage);
    }

    /// Gives the last stage just the memory that it needs, for it is kept as long as the cycle; the room that its
    /// readings were gathered in serves the next.
    fn fit_last_stage(&mut self) {
        if let Some(last) = self.cycle.stages.last_mut() {
            let fitting = last.readings.as_slice().to_vec();
            self.room = std::mem::replace(&mut last.readings, fitting);
            self.room.clear();
            last.limits.shrink_to_fit();
        }
    }

    /// The stage that readings belong to. A printout whose stage lines were lost still keeps its readings: they go into
    /// a stage without a name, placed at the start of the line.
    #[inline]
    pub fn last_stage(&mut self, line_start: Span, at: Elapsed) -> &mut Stage {
        if self.cycle.stages.is_empty() {
            self.cycle.stages.push(Stage {
                name: StageName::Other("unnamed".to_owned()),
                span: line_start,
                began: at,
                limits: Vec::new(),
                n_pulses: None,
                readings: Vec::new(),
            });
        }
        let last = self.cycle.stages.len().saturating_sub(1);
        #[expect(
            clippy::indexing_slicing,
            reason = "a stage was pushed above if there was none"
        )]
        &mut self.cycle.stages[last]
    }

    /// Adds the readings of a line to the stage at hand, and counts the line.
    pub fn push_readings(&mut self, line_start: Span, at: Elapsed, readings: &[Reading]) {
        self.last_stage(line_start, at)
            .readings
            .extend_from_slice(readings);
        self.count_reading_line();
    }

    /// Counts a line with readings.
    #[inline]
    pub fn count_reading_line(&mut self) {
        self.cycle.n_reading_lines = self.cycle.n_reading_lines.saturating_add(1);
    }

    /// Adds an event or alarm.
    pub fn push_event(&mut self, event: Event) {
        self.cycle.events.push(event);
    }

    /// Adds a consumable.
    pub fn push_consumable(&mut self, consumable: ConsumableUse) {
        self.cycle.consumables.push(consumable);
    }

    /// Counts a line as part of the cycle.
    #[inline]
    pub fn keep_line(&mut self, number: u32) {
        self.cycle.lines.push(number);
    }

    /// Counts a line within the cycle that could not be read.
    pub fn count_unread_line(&mut self) {
        self.cycle.n_unread_lines = self.cycle.n_unread_lines.saturating_add(1);
    }

    /// Ends the cycle, closed or torn, and says what its lines taken together do not bear out. `closing` is how the
    /// printer ends a printout, as it reads after "no". The room comes back for the next cycle.
    pub fn finish(mut self, closing: &str, said: &mut Vec<Diagnostic>) -> (Cycle, Vec<Reading>) {
        let cycle = &self.cycle;
        if !cycle.closed {
            let last = cycle.stages.last().map_or_else(String::new, |stage| {
                format!(" in stage {}", stage.name.word())
            });
            said.push(
                Diagnostic::at(
                    Code::PrintoutTorn,
                    cycle.opening,
                    format!(
                        "the printout that begins here has no {closing}: it was torn off{last}"
                    ),
                )
                .caption("begins here"),
            );
        }
        let mut lacking = Vec::new();
        let mut need = |absent: bool, key: &'static str| absent.then(|| lacking.push(key));
        need(cycle.unit.is_none(), "unit");
        need(cycle.counter.is_none(), "counter");
        need(cycle.started.is_none(), "started");
        need(cycle.outcome.is_none() && cycle.closed, "outcome");
        if !lacking.is_empty() {
            said.push(Diagnostic::at(
                Code::FieldMissing,
                cycle.opening,
                format!("the printout has no line for: {}", lacking.join(", ")),
            ));
        }
        if let Checksum::Differs {
            printed,
            computed,
            span,
        } = cycle.checksum
        {
            said.push(
                Diagnostic::at(
                    Code::ChecksumWrong,
                    span,
                    format!("the checksum is {printed:08X}, but these lines give {computed:08X}"),
                )
                .label(cycle.opening, "the checksum counts from here"),
            );
        }
        said.extend(self.check_total());
        self.fit_last_stage();
        self.cycle.stages.shrink_to_fit();
        self.cycle.events.shrink_to_fit();
        drop_repeated(&mut self.cycle.consumables);
        self.cycle.consumables.shrink_to_fit();
        self.cycle.inferences.shrink_to_fit();
        (self.cycle, self.room)
    }

    fn check_total(&self) -> Option<Diagnostic> {
        let total = self.cycle.total.as_ref()?;
        let n_printed = total.value.n_reading_lines;
        if let Some(n_printed) = n_printed.filter(|&n| n != self.cycle.n_reading_lines) {
            return Some(Diagnostic::at(
                Code::TotalWrong,
                total.span,
                format!(
                    "the printout counts {n_printed} lines with readings, but {} could be read",
                    self.cycle.n_reading_lines
                ),
            ));
        }
        let ended = self.cycle.ended.as_ref()?;
        self.cycle.started.as_ref()?;
        let seconds = i64::from(total.value.seconds);
        if seconds.abs_diff(i64::from(ended.value.0)) > 1 {
            return Some(
                Diagnostic::at(
                    Code::TotalWrong,
                    total.span,
                    format!(
                        "the total is {seconds} s, but from start to end it is {} s",
                        ended.value.0
                    ),
                )
                .label(ended.span, "the end"),
            );
        }
        None
    }
}

/// Whether a slot that is filled once can take a value.
///
/// # Errors
/// It has another value already.
pub fn check<T: PartialEq>(slot: &Option<Spanned<T>>, value: &T, span: Span) -> Accepted {
    match slot {
        Some(known) if known.value != *value => Err(Box::new(repeated(known.span, span))),
        _ => Ok(()),
    }
}

/// Fills a slot that is filled once. The same value again changes nothing.
///
/// # Errors
/// It has another value already.
#[inline]
pub fn fill<T: PartialEq>(slot: &mut Option<Spanned<T>>, value: T, span: Span) -> Accepted {
    match slot {
        None => {
            *slot = Some(Spanned::new(value, span));
            Ok(())
        }
        Some(known) if known.value == value => Ok(()),
        Some(known) => Err(Box::new(repeated(known.span, span))),
    }
}

/// The diagnostic of a value that contradicts one said before.
pub fn repeated(first: Span, span: Span) -> Diagnostic {
    Diagnostic::at(
        Code::FieldRepeated,
        span,
        "this was said before with another value",
    )
    .caption("differs")
    .label(first, "said first here, and kept")
}

/// The diagnostic of a line refused in strict mode, with the code under which it would have been inferred.
pub fn refused(code: Code, span: Span) -> Diagnostic {
    Diagnostic::at(
        Code::StrictRefused,
        span,
        format!("strict mode refuses this line: it would need `{code}`"),
    )
}

/// Leaves out consumables that a page header repeats.
fn drop_repeated(consumables: &mut Vec<ConsumableUse>) {
    let mut said = BTreeSet::new();
    let are_new: Vec<bool> = consumables
        .iter()
        .map(|consumable| said.insert(consumable.said()))
        .collect();
    let mut are_new = are_new.into_iter();
    consumables.retain(|_| are_new.next() == Some(true));
}

#[cfg(test)]
mod tests {
    use crate::diagnose::codes::Code;
    use crate::parse::{Records, Strictness, read_bytes};

    /// A printout whose start stands below a stage and a reading of 1 March, 23:00.
    fn read_with_late_start(start: &str) -> Records {
        let text = format!(
            "loadbook printout 1\nunit: PL-1\nstage: evacuate, at 2026-03-01 23:00:00\n\
             2026-03-01 23:10:00 pressure 80 Pa\nstarted: {start}\nended: 2026-03-02 00:05:00\nend\n"
        );
        read_bytes(text.as_bytes(), Strictness::Infer)
    }

    fn times(records: &Records) -> Option<(i32, i32, i32)> {
        let cycle = records.cycles.first()?;
        let stage = cycle.stages.first()?;
        let reading = stage.readings.first()?;
        Some((stage.began.0, reading.at.0, cycle.ended.as_ref()?.value.0))
    }

    #[test]
    fn times_above_the_start_are_counted_from_it() {
        let records = read_with_late_start("2026-03-01 22:55:00");
        assert_eq!(records.unread, []);
        assert_eq!(times(&records), Some((5 * 60, 15 * 60, 70 * 60)));
    }

    #[test]
    fn a_start_far_from_the_times_above_it_is_not_read() {
        let records = read_with_late_start("2026-10-25 22:55:00");
        let codes: Vec<_> = records.unread.iter().map(|u| u.diagnostic.code).collect();
        assert_eq!(codes, [Code::DateInvalid]);
        assert!(records.cycles.iter().all(|cycle| cycle.started.is_none()));
        assert_eq!(times(&records), Some((0, 10 * 60, 65 * 60)));
    }
}
