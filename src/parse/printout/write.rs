//! Writes a cycle as a neutral printout, in one canonical order, so that reading it back gives the same record.
//!
//! Knows nothing of files or of where a cycle came from, but that it keeps readings and events in the order of the
//! lines they were read from. What a format of one fact a line can't hold is replaced: control characters and line ends
//! in text become spaces. Read [`write_cycle`] first.

use crate::measure::quantity::{Datum, Duration, LeakRate, Pressure, Temperature};
use crate::record::consumable::{ConsumableUse, LotIdentity};
use crate::record::cycle::{
    Bound, Checksum, Cycle, Elapsed, Event, Limit, LimitValue, Measured, Outcome, Purpose, Reading,
    Stage, Total,
};
use crate::record::stamp::Stamp;
use chrono::{Datelike, NaiveDateTime, TimeDelta};
use std::fmt::Write as _;
use std::io;

/// What becomes of the checksum line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChecksumLine {
    /// None is written.
    Leave,
    /// The checksum of what is written is written.
    Compute,
    /// One is written where the record has one: the right one if the record's agreed with its lines; the printed one if
    /// it did not, so that a doubt about the strip is not lost in the copy.
    AsRecorded,
}

/// What becomes of the line with the totals.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TotalLine {
    /// None is written.
    Leave,
    /// The totals of the record's own end and readings are written, where it has an end.
    Compute,
    /// The totals that the record has are written.
    AsRecorded,
}

/// How a printout is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PrintoutOptions {
    /// The checksum line.
    pub checksum: ChecksumLine,
    /// The line with the totals.
    pub total: TotalLine,
}

impl PrintoutOptions {
    /// Everything as the record has it: reading the printout gives the same record.
    pub const FAITHFUL: PrintoutOptions = PrintoutOptions {
        checksum: ChecksumLine::AsRecorded,
        total: TotalLine::AsRecorded,
    };
}

/// Writes one cycle as a neutral printout, from its opening line to `end`; a torn cycle is written without `end`.
///
/// # Errors
/// Those of `out`.
pub fn write_cycle(
    cycle: &Cycle,
    options: PrintoutOptions,
    out: &mut impl io::Write,
) -> io::Result<()> {
    let mut lines = Lines {
        out,
        crc: crc32fast::Hasher::new(),
        base: cycle.started.as_ref().map(|started| started.value.local),
        last: 0,
    };
    lines.line("loadbook printout 1")?;
    write_identity(cycle, &mut lines)?;
    for consumable in &cycle.consumables {
        lines.line(&consumable_text(consumable))?;
    }
    write_course(cycle, &mut lines)?;
    write_end(cycle, options, &mut lines)
}

fn write_identity<W: io::Write>(cycle: &Cycle, lines: &mut Lines<'_, W>) -> io::Result<()> {
    lines.field("unit", cycle.unit.as_ref().map(|f| f.value.as_str()))?;
    lines.field("serial", cycle.serial.as_ref().map(|f| f.value.as_str()))?;
    lines.field(
        "software",
        cycle.software.as_ref().map(|f| f.value.as_str()),
    )?;
    lines.field("place", cycle.place.as_ref().map(|f| f.value.as_str()))?;
    lines.field("zone", cycle.zone.as_ref().map(|f| f.value.name()))?;
    lines.field("process", cycle.process.as_ref().map(|f| f.value.word()))?;
    if cycle.purpose != Purpose::Load {
        lines.field("purpose", Some(cycle.purpose.word()))?;
    }
    lines.field("program", cycle.program.as_ref().map(|f| f.value.as_str()))?;
    if let Some(counter) = &cycle.counter {
        lines.line(&format!("counter: {}", counter.value))?;
    }
    lines.field("load", cycle.load.as_ref().map(|f| f.value.as_str()))?;
    lines.field(
        "operator",
        cycle.operator.as_ref().map(|f| f.value.as_str()),
    )?;
    if let Some(started) = &cycle.started {
        lines.line(&format!("started: {}", stamp_text(&started.value)))?;
    }
    if let Some(ambient) = cycle.ambient.as_ref().and_then(|f| pressure_text(f.value)) {
        lines.line(&format!("ambient: {ambient}"))?;
    }
    Ok(())
}

/// Stages, readings and events, in the order of the lines they came from; those of one line, in the order of time.
fn write_course<W: io::Write>(cycle: &Cycle, lines: &mut Lines<'_, W>) -> io::Result<()> {
    let mut events = cycle.events.iter().peekable();
    for stage in &cycle.stages {
        while let Some(event) =
            events.next_if(|event| precedes(event, stage.span.line, stage.began))
        {
            lines.event(event)?;
        }
        lines.stage(stage)?;
        let mut readings = stage.readings.as_slice();
        while let Some(first) = readings.first() {
            while let Some(event) = events.next_if(|event| precedes(event, first.line, first.at)) {
                lines.event(event)?;
            }
            let n_in_line = readings
                .iter()
                .take_while(|reading| reading.line == first.line && reading.at == first.at)
                .count();
            let (line, rest) = readings.split_at(n_in_line);
            lines.readings(first.at, line)?;
            readings = rest;
        }
    }
    for event in events {
        lines.event(event)?;
    }
    Ok(())
}

fn precedes(event: &Event, line: u32, at: Elapsed) -> bool {
    (event.span.line, event.at) < (line, at)
}

fn write_end<W: io::Write>(
    cycle: &Cycle,
    options: PrintoutOptions,
    lines: &mut Lines<'_, W>,
) -> io::Result<()> {
    if let Some(leak) = &cycle.leak
        && let Some(rate) = leak_text(leak.value.rate)
    {
        let limit = leak.value.limit.and_then(leak_text);
        let limit = limit.map_or(String::new(), |limit| format!(", limit {limit}"));
        lines.line(&format!("leak: {rate}{limit}"))?;
    }
    if let Some(ended) = &cycle.ended {
        let clock = lines.clock(ended.value);
        lines.line(&format!("ended: {clock}"))?;
    }
    let total = match options.total {
        TotalLine::Leave => None,
        TotalLine::AsRecorded => cycle.total.as_ref().map(|total| total.value),
        TotalLine::Compute => cycle.ended.as_ref().map(|ended| Total {
            seconds: u32::try_from(ended.value.0).unwrap_or(0),
            n_reading_lines: Some(cycle.n_reading_lines),
        }),
    };
    if let Some(total) = total {
        let (minutes, seconds) = (total.seconds / 60, total.seconds % 60);
        let mut text = format!(
            "total: {:02}:{:02}:{seconds:02}",
            minutes / 60,
            minutes % 60
        );
        if let Some(n) = total.n_reading_lines {
            let _ = write!(text, ", readings {n}");
        }
        lines.line(&text)?;
    }
    if let Some(outcome) = &cycle.outcome {
        lines.line(&outcome_text(&outcome.value))?;
    }
    let computed = lines.crc.clone().finalize();
    let checksum = match (options.checksum, cycle.checksum) {
        (ChecksumLine::Leave, _) | (ChecksumLine::AsRecorded, Checksum::Absent) => None,
        (ChecksumLine::Compute, _) | (ChecksumLine::AsRecorded, Checksum::Agrees { .. }) => {
            Some(computed)
        }
        // Should the printed checksum happen to be that of the copy, its complement keeps it wrong.
        (ChecksumLine::AsRecorded, Checksum::Differs { printed, .. }) if printed == computed => {
            Some(!printed)
        }
        (ChecksumLine::AsRecorded, Checksum::Differs { printed, .. }) => Some(printed),
    };
    if let Some(checksum) = checksum {
        lines.line(&format!("checksum: {checksum:08X}"))?;
    }
    if cycle.closed {
        lines.line("end")?;
    }
    Ok(())
}

/// The lines that have been written, with what the next one depends on.
struct Lines<'w, W> {
    out: &'w mut W,
    crc: crc32fast::Hasher,
    /// The date and time from which elapsed times count.
    base: Option<NaiveDateTime>,
    /// The last time that was written, in seconds from the base.
    last: i32,
}

impl<W: io::Write> Lines<'_, W> {
    fn line(&mut self, text: &str) -> io::Result<()> {
        let text = text.trim_end();
        self.crc.update(text.as_bytes());
        self.crc.update(b"\n");
        self.out.write_all(text.as_bytes())?;
        self.out.write_all(b"\n")
    }

    fn field(&mut self, keyword: &str, text: Option<&str>) -> io::Result<()> {
        match text.map(one_line) {
            Some(text) if !text.is_empty() => self.line(&format!("{keyword}: {text}")),
            _ => Ok(()),
        }
    }

    /// The clock's time, with the date where the time alone would be read as another day's.
    fn clock(&mut self, at: Elapsed) -> String {
        let from = self.last;
        self.last = at.0;
        let Some(base) = self.base else {
            let of_day = at.0.rem_euclid(86_400);
            return format!(
                "{:02}:{:02}:{:02}",
                of_day / 3_600,
                of_day / 60 % 60,
                of_day % 60
            );
        };
        let moment = |seconds: i32| base.checked_add_signed(TimeDelta::seconds(seconds.into()));
        let (Some(before), Some(now)) = (moment(from), moment(at.0)) else {
            return "00:00:00".to_owned();
        };
        let step = i64::from(at.0) - i64::from(from);
        let days = now.date().num_days_from_ce() - before.date().num_days_from_ce();
        let told_by_time_alone = match days {
            0 => step >= 0,
            1 => step < 12 * 3_600,
            _ => false,
        };
        if told_by_time_alone {
            now.format("%H:%M:%S").to_string()
        } else {
            now.format("%Y-%m-%d %H:%M:%S").to_string()
        }
    }

    fn stage(&mut self, stage: &Stage) -> io::Result<()> {
        let clock = self.clock(stage.began);
        let mut text = format!("stage: {}, at {clock}", one_part(stage.name.word()));
        for part in stage.limits.iter().filter_map(limit_text) {
            text.push_str(", limit ");
            text.push_str(&part);
        }
        if let Some(n) = stage.n_pulses {
            let _ = write!(text, ", pulses {n}");
        }
        self.line(&text)
    }

    fn readings(&mut self, at: Elapsed, readings: &[Reading]) -> io::Result<()> {
        let values: Vec<_> = readings
            .iter()
            .filter_map(|reading| measured_text(&reading.measured))
            .collect();
        if values.is_empty() {
            return Ok(());
        }
        let clock = self.clock(at);
        self.line(&format!("{clock} {}", values.join(", ")))
    }

    fn event(&mut self, event: &Event) -> io::Result<()> {
        let clock = self.clock(event.at);
        let text = one_line(&event.text);
        match &event.alarm {
            None => self.line(&format!("event: {clock}, {text}")),
            Some(cause) if text.is_empty() => {
                self.line(&format!("alarm: {clock}, {}", one_part(cause.word())))
            }
            Some(cause) => self.line(&format!(
                "alarm: {clock}, {}, {text}",
                one_part(cause.word())
            )),
        }
    }
}

fn consumable_text(consumable: &ConsumableUse) -> String {
    let mut text = format!("consumable: {}", consumable.kind.word());
    let identity = &consumable.lot.value;
    if let Some(scan) = scan_text(identity) {
        let _ = write!(text, ", scan \"{scan}\"");
    }
    if let Some(lot) = &identity.lot {
        let _ = write!(text, ", lot {}", one_part(lot.as_str()));
    }
    if let Some(expiry) = identity.expiry {
        let _ = write!(text, ", expiry {}", expiry.format("%Y-%m-%d"));
    }
    if let Some(count) = consumable.use_count {
        let _ = write!(text, ", use {} of {}", count.n, count.of);
    }
    text
}

/// The GS1 element string for what can only be scanned: GTIN (application identifier 01) and serial number (21). Lot
/// and expiry are written beside it in words, because a two-digit year can't hold every year.
pub(in crate::parse) fn scan_text(identity: &LotIdentity) -> Option<String> {
    let gtin = identity.gtin.as_ref().map(|gtin| format!("01{gtin}"));
    let serial = identity.serial.as_ref().map(|serial| format!("21{serial}"));
    let scan = [gtin, serial].into_iter().flatten().collect::<String>();
    (!scan.is_empty()).then(|| one_line(&scan))
}

fn outcome_text(outcome: &Outcome) -> String {
    let cause_text = |cause: &Option<crate::record::cause::Cause>| {
        cause.as_ref().map_or(String::new(), |cause| {
            format!(", cause {}", one_part(cause.word()))
        })
    };
    match outcome {
        Outcome::Completed => "outcome: completed".to_owned(),
        Outcome::Passed => "outcome: passed".to_owned(),
        Outcome::Failed => "outcome: failed".to_owned(),
        Outcome::Aborted { stage, cause } => {
            let stage = stage.as_ref().map_or(String::new(), |stage| {
                format!(", stage {}", one_part(stage.word()))
            });
            format!("outcome: aborted{stage}{}", cause_text(cause))
        }
        Outcome::Rejected { cause } => format!("outcome: rejected{}", cause_text(cause)),
    }
}

fn limit_text(limit: &Limit) -> Option<String> {
    let value = match &limit.value {
        LimitValue::Measured(measured) => measured_text(measured)?,
        LimitValue::Duration(duration) => {
            let unit = duration.printed_unit();
            let number = decimal_text(duration.printed_number(), |number| {
                Duration::new(number, unit) == *duration
            })?;
            format!("duration {number} {}", unit.symbol())
        }
    };
    let bound = match limit.bound {
        Bound::Min => "min",
        Bound::Max => "max",
    };
    Some(format!("{value} {bound}"))
}

fn measured_text(measured: &Measured) -> Option<String> {
    use crate::measure::quantity::{Concentration, Conductivity, Power, RelativeHumidity};
    let number = measured.printed_number();
    let value = match measured {
        Measured::Pressure(value) => pressure_text(*value)?,
        Measured::Temperature(value) => {
            let unit = value.printed_unit();
            let same = |number| Temperature::new(number, unit) == *value;
            format!("{} {}", decimal_text(number, same)?, unit.symbol())
        }
        Measured::Concentration(value) => {
            let unit = value.printed_unit();
            let same = |number| Concentration::new(number, unit) == *value;
            format!("{} {}", decimal_text(number, same)?, unit.symbol())
        }
        Measured::Humidity(value) => {
            let unit = value.printed_unit();
            let same = |number| RelativeHumidity::new(number, unit) == *value;
            format!("{} {}", decimal_text(number, same)?, unit.symbol())
        }
        Measured::Power(value) => {
            let unit = value.printed_unit();
            let same = |number| Power::new(number, unit) == *value;
            format!("{} {}", decimal_text(number, same)?, unit.symbol())
        }
        Measured::Conductivity(value) => {
            let unit = value.printed_unit();
            let same = |number| Conductivity::new(number, unit) == *value;
            format!("{} {}", decimal_text(number, same)?, unit.symbol())
        }
    };
    Some(format!("{} {value}", measured.kind().word()))
}

fn pressure_text(pressure: Pressure) -> Option<String> {
    let (unit, datum) = (pressure.printed_unit(), pressure.datum());
    let number = decimal_text(pressure.printed_number(), |number| {
        Pressure::new(number, unit, datum) == pressure
    })?;
    let datum = match datum {
        Datum::Absolute => "",
        Datum::Gauge => " gauge",
    };
    Some(format!("{number} {}{datum}", unit.symbol()))
}

fn leak_text(rate: LeakRate) -> Option<String> {
    let unit = rate.printed_unit();
    let number = decimal_text(rate.printed_number(), |number| {
        LeakRate::new(number, unit) == rate
    })?;
    Some(format!("{number} {}", unit.symbol()))
}

/// The decimal with the fewest digits after the point that is read back as the same value, as `same` says; without an
/// exponent. `None` for what is no number.
///
/// A quantity keeps its value in one unit and gives the number in the printed unit by a division, which may miss the
/// number that was read by a few units in the last place; hence the search among its neighbours.
pub(in crate::parse) fn decimal_text(number: f64, same: impl Fn(f64) -> bool) -> Option<String> {
    /// How far a multiplication and a division, or those of a temperature scale, can be from the number they began with.
    const N_NEIGHBOURS: usize = 64;
    if !number.is_finite() {
        return None;
    }
    let reads_back = |text: &str| text.parse().is_ok_and(&same);
    for n_decimals in 0..=6 {
        let text = format!("{number:.n_decimals$}");
        if reads_back(&text) {
            return Some(match text.strip_prefix('-') {
                Some(digits) if digits.bytes().all(|b| b == b'0' || b == b'.') => digits.to_owned(),
                _ => text,
            });
        }
    }
    let (mut below, mut above) = (number, number);
    for _ in 0..N_NEIGHBOURS {
        for candidate in [below, above] {
            // `Display` of a float is the shortest decimal that reads back as it, and has no exponent.
            let text = candidate.to_string();
            if reads_back(&text) {
                return Some(text);
            }
        }
        (below, above) = (below.next_down(), above.next_up());
    }
    Some(number.to_string())
}

fn stamp_text(stamp: &Stamp) -> String {
    let local = stamp.local.format("%Y-%m-%d %H:%M:%S");
    match stamp.offset_seconds {
        None => local.to_string(),
        Some(offset) => {
            let sign = if offset < 0 { '-' } else { '+' };
            let minutes = offset.unsigned_abs() / 60;
            format!("{local}{sign}{:02}:{:02}", minutes / 60, minutes % 60)
        }
    }
}

/// Text on one line: control characters become spaces, and none stand at its ends.
pub(in crate::parse) fn one_line(text: &str) -> String {
    text.replace(char::is_control, " ").trim().to_owned()
}

/// Text on one line as one part among others: no comma and space within, which would end it.
fn one_part(text: &str) -> String {
    one_line(text).replace(", ", ",")
}
