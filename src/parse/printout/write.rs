//! Writes a cycle as a neutral printout, in one canonical order, so that reading it back gives the same record.
//!
//! Knows nothing of files or of where a cycle came from, but that it keeps readings and events in the order of the
//! lines they were read from. What a format of one fact a line can't hold is replaced: control characters and line ends
//! in text become spaces. Read [`write_cycle`] first.

use crate::measure::decimal::{FewDecimals, few_decimals};
use crate::measure::quantity::{Datum, Duration, LeakRate, Pressure, Temperature};
use crate::parse::fault::looks_cut;
use crate::parse::text::{is_name, one_line};
use crate::record::cause::Cause;
use crate::record::consumable::{ConsumableUse, LotIdentity};
use crate::record::cycle::{
    Bound, Checksum, Cycle, Elapsed, Event, Limit, LimitValue, Measured, Outcome, Purpose, Reading,
    Stage, Total,
};
use crate::record::stamp::Stamp;
use chrono::{NaiveDateTime, TimeDelta, Timelike};
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
/// Lines of the original that could not be read are not in a record and so not in what is written. Without a `started`
/// line no date is known: times count from midnight, and a step of more than twelve hours can't be told from one back.
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
    if let Some(ambient) = &cycle.ambient {
        let mut text = "ambient: ".to_owned();
        if push_pressure(&mut text, ambient.value).is_some() {
            lines.line(&text)?;
        }
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
    // The format has two digits for hours.
    if let Some(total) = total.filter(|total| total.seconds < 360_000) {
        let mut text = format!("total: {}", clock_text(total.seconds));
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
        let text = text.trim_ascii_end();
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
        // A time that goes back does not move the reader's clock.
        self.last = from.max(at.0);
        let Some(base) = self.base else {
            return clock_text(at.0.rem_euclid(86_400).unsigned_abs());
        };
        let moment = |seconds: i32| base.checked_add_signed(TimeDelta::seconds(seconds.into()));
        let (Some(before), Some(told)) = (moment(from), moment(at.0)) else {
            return "00:00:00".to_owned();
        };
        let step = at.since(Elapsed(from));
        let days = told.date().signed_duration_since(before.date()).num_days();
        let told_by_time_alone = match days {
            0 => step >= 0,
            1 => step < 12 * 3_600,
            _ => false,
        };
        let time = clock_text(told.time().num_seconds_from_midnight());
        if told_by_time_alone {
            time
        } else {
            format!("{} {time}", told.format("%Y-%m-%d"))
        }
    }

    fn stage(&mut self, stage: &Stage) -> io::Result<()> {
        let clock = self.clock(stage.began);
        let mut text = format!("stage: {}, at {clock}", one_word(stage.name.word()));
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
        let mut values = String::new();
        for reading in readings {
            let before = values.len();
            if before > 0 {
                values.push_str(", ");
            }
            if push_measured(&mut values, &reading.measured).is_none() {
                values.truncate(before);
            }
        }
        if values.is_empty() {
            return Ok(());
        }
        let mut text = self.clock(at);
        text.push(' ');
        text.push_str(&values);
        self.line(&text)
    }

    fn event(&mut self, event: &Event) -> io::Result<()> {
        let clock = self.clock(event.at);
        let text = one_line(&event.text);
        match &event.alarm {
            None if text.is_empty() => self.line(&format!("event: {clock}, -")),
            None => self.line(&format!("event: {clock}, {text}")),
            Some(cause) if text.is_empty() => {
                let word = one_word(cause.word());
                let mut line = format!("alarm: {clock}, {word}");
                // Where it begins as a known cause does, it would be taken for half of that; a second space widens the line.
                if matches!(cause, Cause::Other(_)) && looks_cut(&line) {
                    line = format!("alarm: {clock},  {word}");
                }
                self.line(&line)
            }
            Some(cause) => self.line(&format!(
                "alarm: {clock}, {}, {text}",
                one_word(cause.word())
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
    if let Some(lot) = typed_lot(identity) {
        let _ = write!(text, ", lot {}", one_line(lot));
    }
    if let Some(expiry) = identity.expiry {
        let _ = write!(text, ", expiry {}", expiry.format("%Y-%m-%d"));
    }
    if let Some(count) = consumable.use_count {
        let _ = write!(text, ", use {} of {}", count.n, count.of);
    }
    text
}

/// The GS1 element string for what can't be typed: GTIN (application identifier 01) and serial number (21), and with
/// them, or where it holds characters that a typed lot can't, the lot (10). The expiry is always written beside it,
/// because the two digits of a year in a scan can't hold every year.
pub(in crate::parse) fn scan_text(identity: &LotIdentity) -> Option<String> {
    let is_scanned = identity.gtin.is_some() || identity.serial.is_some();
    let lot = identity
        .lot
        .as_ref()
        .filter(|lot| is_scanned || !is_name(lot.as_str().as_bytes()));
    let mut scan = String::new();
    if let Some(gtin) = &identity.gtin {
        let _ = write!(scan, "01{gtin}");
    }
    if let Some(lot) = lot {
        let _ = write!(scan, "10{lot}");
    }
    if let Some(serial) = &identity.serial {
        let separator = if lot.is_some() { "<GS>" } else { "" };
        let _ = write!(scan, "{separator}21{serial}");
    }
    (!scan.is_empty()).then(|| one_line(&scan))
}

/// The lot as it is typed, where the scan does not have it.
pub(in crate::parse) fn typed_lot(identity: &LotIdentity) -> Option<&str> {
    let is_scanned = identity.gtin.is_some() || identity.serial.is_some();
    let lot = identity.lot.as_ref().map(|lot| lot.as_str());
    lot.filter(|lot| !is_scanned && is_name(lot.as_bytes()))
}

fn outcome_text(outcome: &Outcome) -> String {
    let cause_text = |cause: &Option<crate::record::cause::Cause>| {
        cause.as_ref().map_or(String::new(), |cause| {
            format!(", cause {}", one_word(cause.word()))
        })
    };
    match outcome {
        Outcome::Completed => "outcome: completed".to_owned(),
        Outcome::Passed => "outcome: passed".to_owned(),
        Outcome::Failed => "outcome: failed".to_owned(),
        Outcome::Aborted { stage, cause } => {
            let stage = stage.as_ref().map_or(String::new(), |stage| {
                format!(", stage {}", one_word(stage.word()))
            });
            format!("outcome: aborted{stage}{}", cause_text(cause))
        }
        Outcome::Rejected { cause } => format!("outcome: rejected{}", cause_text(cause)),
    }
}

fn limit_text(limit: &Limit) -> Option<String> {
    let value = match &limit.value {
        LimitValue::Measured(measured) => {
            let mut text = String::new();
            push_measured(&mut text, measured)?;
            text
        }
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

/// Adds a value as `pressure 51.2 Pa`. Gives whether it is a number; if not, what was added is to be taken off.
fn push_measured(text: &mut String, measured: &Measured) -> Option<()> {
    use crate::measure::quantity::{Concentration, Conductivity, Power, RelativeHumidity};
    let number = measured.printed_number();
    text.push_str(measured.kind().word());
    text.push(' ');
    match measured {
        Measured::Pressure(value) => return push_pressure(text, *value),
        Measured::Temperature(value) => {
            let unit = value.printed_unit();
            push_decimal(text, number, |number| {
                Temperature::new(number, unit) == *value
            })?;
        }
        Measured::Concentration(value) => {
            let unit = value.printed_unit();
            push_decimal(text, number, |number| {
                Concentration::new(number, unit) == *value
            })?;
        }
        Measured::Humidity(value) => {
            let unit = value.printed_unit();
            push_decimal(text, number, |number| {
                RelativeHumidity::new(number, unit) == *value
            })?;
        }
        Measured::Power(value) => {
            let unit = value.printed_unit();
            push_decimal(text, number, |number| Power::new(number, unit) == *value)?;
        }
        Measured::Conductivity(value) => {
            let unit = value.printed_unit();
            push_decimal(text, number, |number| {
                Conductivity::new(number, unit) == *value
            })?;
        }
    }
    text.push(' ');
    text.push_str(measured.printed_symbol());
    Some(())
}

fn push_pressure(text: &mut String, pressure: Pressure) -> Option<()> {
    let (unit, datum) = (pressure.printed_unit(), pressure.datum());
    push_decimal(text, pressure.printed_number(), |number| {
        Pressure::new(number, unit, datum) == pressure
    })?;
    text.push(' ');
    text.push_str(unit.symbol());
    text.push_str(match datum {
        Datum::Absolute => "",
        Datum::Gauge => " gauge",
    });
    Some(())
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
/// A quantity keeps its value in one unit and gives the number in its printed unit by a division, which may miss the
/// number that was read by a few units in the last place. Rounding to the decimals that were read takes that away.
pub(in crate::parse) fn decimal_text(number: f64, same: impl Fn(f64) -> bool) -> Option<String> {
    let mut text = String::new();
    push_decimal(&mut text, number, same)?;
    Some(text)
}

/// The same, added to a text.
fn push_decimal(text: &mut String, number: f64, same: impl Fn(f64) -> bool) -> Option<()> {
    if !number.is_finite() {
        return None;
    }
    if let Some(few) = few_decimals(number, &same) {
        push_few_decimals(text, few);
        return Some(());
    }
    text.push_str(&many_decimals(number, same)?);
    Some(())
}

fn push_few_decimals(text: &mut String, few: FewDecimals) {
    let width = few.n_decimals.saturating_add(1);
    let digits = format!("{:0width$}", few.scaled.unsigned_abs());
    let n_whole = digits.len().saturating_sub(few.n_decimals);
    let (whole, decimals) = digits.split_at_checked(n_whole).unwrap_or((&digits, ""));
    if few.scaled < 0 {
        text.push('-');
    }
    text.push_str(whole);
    if few.n_decimals > 0 {
        text.push('.');
        text.push_str(decimals);
    }
}

fn many_decimals(number: f64, same: impl Fn(f64) -> bool) -> Option<String> {
    /// The most digits that a number of the formats has.
    const N_DIGITS: usize = 15;
    for n_decimals in 0..=N_DIGITS {
        let text = format!("{number:.n_decimals$}");
        let n_digits = text.bytes().filter(u8::is_ascii_digit).count();
        // What has too many digits in the end is still the nearest that can be read.
        if text.parse().is_ok_and(&same) || n_digits >= N_DIGITS {
            return Some(match text.strip_prefix('-') {
                Some(digits) if digits.bytes().all(|b| b == b'0' || b == b'.') => digits.to_owned(),
                _ => text,
            });
        }
    }
    None
}

/// Hours, minutes and seconds as `07:42:30`.
fn clock_text(seconds: u32) -> String {
    let minutes = seconds / 60;
    format!(
        "{:02}:{:02}:{:02}",
        minutes / 60,
        minutes % 60,
        seconds % 60
    )
}

fn stamp_text(stamp: &Stamp) -> String {
    let local = stamp.local.format("%Y-%m-%d %H:%M:%S");
    format!("{local}{}", offset_text(stamp))
}

/// The offset from UTC as it stands after a time; nothing if it is not known.
pub(in crate::parse) fn offset_text(stamp: &Stamp) -> String {
    match stamp.offset_seconds {
        None => String::new(),
        Some(offset) => {
            let sign = if offset < 0 { '-' } else { '+' };
            let minutes = offset.unsigned_abs() / 60;
            format!("{sign}{:02}:{:02}", minutes / 60, minutes % 60)
        }
    }
}

/// Text as one word: blanks and commas, which would end it, become hyphens.
fn one_word(text: &str) -> String {
    let word = one_line(text).replace([' ', ','], "-");
    if word.is_empty() {
        "unnamed".to_owned()
    } else {
        word
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnose::{FileId, Span};
    use crate::measure::quantity::{Concentration, Conductivity, Power, RelativeHumidity};
    use crate::measure::unit::{
        ConcentrationUnit, ConductivityUnit, DurationUnit, HumidityUnit, LeakRateUnit, PowerUnit,
        PressureUnit, TemperatureUnit,
    };
    use crate::parse::{Strictness, read_bytes};
    use crate::record::Spanned;
    use crate::record::cause::Cause;
    use crate::record::consumable::{ConsumableKind, UseCount};
    use crate::record::cycle::{LeakResult, Process, StageName};
    use crate::record::name::{LoadNumber, LotNumber, Program, StaffMark, UnitName};
    use chrono::NaiveDate;
    use chrono_tz::Tz;
    use proptest::option::of;
    use proptest::prelude::*;
    use proptest::sample::select;

    fn span(line: u32) -> Span {
        Span {
            file: FileId(0),
            line,
            line_start: 0,
            start: 0,
            end: 0,
        }
    }

    fn nowhere<T>(value: T) -> Spanned<T> {
        Spanned::new(value, span(0))
    }

    /// A record as JSON without what says where it stands, and without what was inferred on the way.
    fn said(cycle: &Cycle) -> serde_json::Value {
        fn strip(value: &mut serde_json::Value) {
            match value {
                serde_json::Value::Object(fields) => {
                    for key in ["span", "lines", "line", "opening", "inferences", "checksum"] {
                        fields.remove(key);
                    }
                    fields.values_mut().for_each(strip);
                }
                serde_json::Value::Array(values) => values.iter_mut().for_each(strip),
                _ => {}
            }
        }
        let mut value = serde_json::to_value(cycle).unwrap();
        strip(&mut value);
        value
    }

    fn written(cycle: &Cycle, options: PrintoutOptions) -> Vec<u8> {
        let mut bytes = Vec::new();
        write_cycle(cycle, options, &mut bytes).unwrap();
        bytes
    }

    /// A number as a printer prints it: up to six digits before the point and six after it.
    fn number(least: f64, most: f64) -> impl Strategy<Value = f64> {
        (0_u32..=6, -999_999_i64..=999_999, 0_i64..1_000_000).prop_map(
            move |(n_decimals, whole, part)| {
                let power = 10_i64.pow(n_decimals);
                let number = (whole * power + part % power) as f64 / power as f64;
                if (least..=most).contains(&number) {
                    number
                } else {
                    // Back into the range, with as many decimals.
                    let share = (number + 1e6) / 2e6;
                    let inside = least + share * (most - least);
                    (inside * power as f64).trunc() / power as f64
                }
            },
        )
    }

    fn pressure() -> impl Strategy<Value = Pressure> {
        let unit = select(PressureUnit::ALL);
        let datum = select(vec![Datum::Absolute, Datum::Gauge]);
        (unit, datum, -400.0..999_000.0_f64, 0_u32..=6).prop_map(
            |(unit, datum, pascal, n_decimals)| {
                let power = f64::from(10_u32.pow(n_decimals));
                let number = (pascal / unit.factor() * power).trunc() / power;
                Pressure::new(number, unit, datum)
            },
        )
    }

    fn temperature() -> impl Strategy<Value = Temperature> {
        prop_oneof![
            number(-40.0, 200.0).prop_map(|n| Temperature::new(n, TemperatureUnit::Celsius)),
            number(-40.0, 390.0).prop_map(|n| Temperature::new(n, TemperatureUnit::Fahrenheit)),
        ]
    }

    fn measured() -> impl Strategy<Value = Measured> {
        prop_oneof![
            pressure().prop_map(Measured::Pressure),
            temperature().prop_map(Measured::Temperature),
            number(0.0, 2_999.0).prop_map(|n| {
                let unit = ConcentrationUnit::MilligramPerLitre;
                Measured::Concentration(Concentration::new(n, unit))
            }),
            number(0.0, 110.0).prop_map(|n| {
                Measured::Humidity(RelativeHumidity::new(n, HumidityUnit::Percent))
            }),
            (number(0.0, 19.9), select(PowerUnit::ALL))
                .prop_map(|(n, unit)| Measured::Power(Power::new(n, unit))),
            (number(0.0, 99.0), select(ConductivityUnit::ALL))
                .prop_map(|(n, unit)| Measured::Conductivity(Conductivity::new(n, unit))),
        ]
    }

    fn limit() -> impl Strategy<Value = Limit> {
        let duration = (number(0.0, 9_999.0), select(DurationUnit::ALL))
            .prop_map(|(n, unit)| LimitValue::Duration(Duration::new(n, unit)));
        let value = prop_oneof![measured().prop_map(LimitValue::Measured), duration];
        let bound = select(vec![Bound::Min, Bound::Max]);
        (bound, value).prop_map(|(bound, value)| Limit { bound, value })
    }

    /// Text as a reader gives it: no control characters, no blanks at its ends, nothing like a patient's data.
    fn text() -> impl Strategy<Value = String> {
        "[!-~äßé°λ][ -~äßé°λ\u{a0}\u{2028}]{0,30}[!-~äßé°λ\u{a0}]"
            .prop_filter("patient data", |text| {
                !crate::parse::text::looks_like_patient_data(text.as_bytes())
            })
    }

    fn name() -> impl Strategy<Value = String> {
        "[A-Za-z0-9.#/_=+@é-]{1,16}"
    }

    fn word() -> impl Strategy<Value = String> {
        "[a-z][a-z:\"-]{2,20}"
    }

    fn lot() -> impl Strategy<Value = LotIdentity> {
        // GTINs with right check digits: those of standards.md, section 7 (GS1 General Specifications, 7.9).
        let gtin = select(vec!["09506000134352", "00614141123452"]);
        let expiry = (1990_i32..2099, 1_u32..=12, 1_u32..=28)
            .prop_map(|(y, m, d)| NaiveDate::from_ymd_opt(y, m, d).unwrap());
        (
            of(gtin),
            of(prop_oneof![name(), "[A-Za-z0-9%&'()*+,./:;=>?_-]{1,20}"]),
            of(expiry),
            of("[A-Z0-9/+-]{1,20}"),
        )
            .prop_map(|(gtin, lot, expiry, serial)| LotIdentity {
                gtin: gtin.map(str::to_owned),
                // What a label can hold, where it was scanned.
                lot: lot
                    .map(|lot| match (gtin, &serial) {
                        (None, None) => lot,
                        _ => lot.replace(['é', '#', '@'], "x"),
                    })
                    .map(LotNumber),
                expiry,
                serial,
            })
    }

    fn consumable() -> impl Strategy<Value = ConsumableUse> {
        let count = (1_u32..9_999, 1_u32..9_999).prop_map(|(n, of)| UseCount { n, of });
        (select(ConsumableKind::ALL), lot(), of(count)).prop_map(|(kind, lot, use_count)| {
            ConsumableUse {
                kind,
                lot: nowhere(lot),
                use_count,
            }
        })
    }

    fn stage_name() -> impl Strategy<Value = StageName> {
        prop_oneof![
            select(StageName::ALL),
            word().prop_map(|word| StageName::from_word(&word)),
        ]
    }

    fn cause() -> impl Strategy<Value = Cause> {
        prop_oneof![
            select(Cause::ALL),
            word().prop_map(|word| Cause::from_word(&word)),
        ]
    }

    fn outcome() -> impl Strategy<Value = Outcome> {
        prop_oneof![
            Just(Outcome::Completed),
            Just(Outcome::Passed),
            Just(Outcome::Failed),
            (of(stage_name()), of(cause()))
                .prop_map(|(stage, cause)| Outcome::Aborted { stage, cause }),
            of(cause()).prop_map(|cause| Outcome::Rejected { cause }),
        ]
    }

    /// How far one line lies after the one before it: seconds, hours, more than half a day, or back.
    fn step() -> impl Strategy<Value = i32> {
        prop_oneof![
            8 => 0_i32..900,
            2 => 3_600_i32..40_000,
            1 => 40_000_i32..200_000,
            1 => -5_000_i32..0,
        ]
    }

    #[derive(Debug, Clone)]
    enum Line {
        Stage(StageName, Vec<Limit>, Option<u32>),
        Readings(Vec<Measured>),
        Event(Option<Cause>, String),
    }

    fn course() -> impl Strategy<Value = Vec<(i32, Line)>> {
        let stage = (
            stage_name(),
            prop::collection::vec(limit(), 0..3),
            of(0_u32..9_999),
        )
            .prop_map(|(name, limits, n)| Line::Stage(name, limits, n));
        let readings = prop::collection::vec(measured(), 1..4).prop_map(Line::Readings);
        let event = text().prop_map(|text| Line::Event(None, text));
        let alarm = (cause(), prop_oneof![Just(String::new()), text()])
            .prop_map(|(cause, text)| Line::Event(Some(cause), text));
        let line = prop_oneof![2 => stage, 6 => readings, 1 => event, 1 => alarm];
        prop::collection::vec((step(), line), 0..20)
    }

    fn cycle() -> impl Strategy<Value = Cycle> {
        let offsets = select(vec![
            None,
            Some(0),
            Some(3_600),
            Some(-12_600),
            Some(50_400),
        ]);
        let started = (1970_i32..2090, 1_u32..=366, 0_u32..86_400, offsets).prop_map(
            |(year, day, second, offset_seconds)| Stamp {
                local: NaiveDateTime::from(NaiveDate::from_yo_opt(year, day.min(365)).unwrap())
                    + TimeDelta::seconds(second.into()),
                offset_seconds,
            },
        );
        let leak = (
            number(0.0, 999.0),
            of(number(0.0, 999.0)),
            select(LeakRateUnit::ALL),
        )
            .prop_map(|(rate, limit, unit)| LeakResult {
                rate: LeakRate::new(rate, unit),
                limit: limit.map(|limit| LeakRate::new(limit, unit)),
            });
        let total =
            (0_u32..360_000, of(0_u32..99_999)).prop_map(|(seconds, n_reading_lines)| Total {
                seconds,
                n_reading_lines,
            });
        let identity = (
            (of(name()), of(text()), of(text()), of(text())),
            (
                of(select(vec![
                    Tz::UTC,
                    Tz::Europe__London,
                    Tz::America__New_York,
                ])),
                of(select(Process::ALL)),
                select(Purpose::ALL),
                of(text()),
            ),
            (of(0_u32..999_999_999), of(name()), of(name())),
            (of(pressure()), prop::collection::vec(consumable(), 0..3)),
        );
        let end = (
            of(leak),
            of(step()),
            of(total),
            of(outcome()),
            any::<bool>(),
        );
        (identity, started, course(), end).prop_map(|(identity, started, course, end)| {
            let ((unit, serial, software, place), place_and_process, ids, used) = identity;
            let (zone, process, purpose, program) = place_and_process;
            let (counter, load, operator) = ids;
            let (leak, ended, total, outcome, closed) = end;
            let mut cycle = Cycle {
                unit: unit.map(UnitName).map(nowhere),
                serial: serial.map(nowhere),
                software: software.map(nowhere),
                place: place.map(nowhere),
                zone: zone.map(nowhere),
                process: process.map(nowhere),
                purpose,
                program: program.map(Program).map(nowhere),
                counter: counter.map(nowhere),
                load: load.map(LoadNumber).map(nowhere),
                operator: operator.map(StaffMark).map(nowhere),
                started: Some(nowhere(started)),
                ambient: used.0.map(nowhere),
                leak: leak.map(nowhere),
                total: total.map(nowhere),
                outcome: outcome.map(nowhere),
                closed,
                ..Cycle::opened_at(span(1))
            };
            // The reader keeps a repeated consumable once.
            for consumable in used.1 {
                if !cycle.consumables.contains(&consumable) {
                    cycle.consumables.push(consumable);
                }
            }
            let mut at = 0;
            for (line, (step, what)) in (2..).zip(course) {
                at += step;
                match what {
                    Line::Stage(name, limits, n_pulses) => cycle.stages.push(Stage {
                        name,
                        span: span(line),
                        began: Elapsed(at),
                        limits,
                        n_pulses,
                        readings: Vec::new(),
                    }),
                    Line::Readings(values) => {
                        if cycle.stages.is_empty() {
                            // As the reader does for readings whose stage line is lost.
                            cycle.stages.push(Stage {
                                name: StageName::Other("unnamed".to_owned()),
                                span: span(line),
                                began: Elapsed(at),
                                limits: Vec::new(),
                                n_pulses: None,
                                readings: Vec::new(),
                            });
                        }
                        cycle.n_reading_lines += 1;
                        let readings = values.into_iter().map(|measured| Reading {
                            at: Elapsed(at),
                            line,
                            measured,
                        });
                        cycle.stages.last_mut().unwrap().readings.extend(readings);
                    }
                    Line::Event(alarm, text) => cycle.events.push(Event {
                        at: Elapsed(at),
                        span: span(line),
                        alarm,
                        text,
                    }),
                }
            }
            cycle.ended = ended.map(|step| nowhere(Elapsed(at + step)));
            cycle
        })
    }

    /// Numbers as the formatter of the standard library writes them (IEEE 754-2019, 5.12.2: what is rounded right at enough
    /// digits is read back as the same double).
    #[test]
    fn decimals_are_the_fewest_that_are_read_back() {
        for (number, text) in [
            (0.0, "0"),
            (-0.0, "0"),
            (-0.5, "-0.5"),
            (0.05, "0.05"),
            (-0.005, "-0.005"),
            (7.0, "7"),
            (51.2, "51.2"),
            (100_884.0, "100884"),
            (0.001, "0.001"),
            (0.000_1, "0.0001"),
            (12.345_6, "12.3456"),
            (99_999_999_999_999.0, "99999999999999"),
            (123_456_789_012_345.0, "123456789012345"),
        ] {
            let same = |read: f64| read == number;
            assert_eq!(decimal_text(number, same).as_deref(), Some(text));
        }
        for number in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert_eq!(decimal_text(number, |_| true), None);
        }
        assert_eq!(clock_text(0), "00:00:00");
        assert_eq!(clock_text(86_399), "23:59:59");
        assert_eq!(clock_text(27_750), "07:42:30");
    }

    proptest! {
        #[test]
        fn no_fewer_decimals_would_do(whole in -1_000_000_000_i64..1_000_000_000, n_decimals in 0..6_usize) {
            let number = whole as f64 / 10_f64.powi(n_decimals as i32);
            let text = decimal_text(number, |read| read == number).unwrap();
            prop_assert_eq!(text.parse::<f64>().unwrap(), number);
            if let Some((_, decimals)) = text.split_once('.') {
                let fewer = format!("{number:.*}", decimals.len() - 1);
                prop_assert_ne!(fewer.parse::<f64>().unwrap(), number, "{}", text);
            }
        }

        #[test]
        fn what_is_written_is_read_back_as_it_was(cycle in cycle()) {
            for checksum in [ChecksumLine::Leave, ChecksumLine::Compute] {
                let options = PrintoutOptions { checksum, ..PrintoutOptions::FAITHFUL };
                let bytes = written(&cycle, options);
                let records = read_bytes(&bytes, Strictness::Infer);
                let text = String::from_utf8_lossy(&bytes);
                prop_assert_eq!(&records.unread, &vec![], "{}", text);
                prop_assert_eq!(records.cycles.len(), 1);
                prop_assert_eq!(said(&records.cycles[0]), said(&cycle), "{}", text);
                let agrees = matches!(records.cycles[0].checksum, Checksum::Agrees { .. });
                prop_assert_eq!(agrees, checksum == ChecksumLine::Compute);
                // What was read is written as the same bytes again.
                prop_assert_eq!(&written(&records.cycles[0], options), &bytes);
            }
        }

        #[test]
        fn no_text_breaks_out_of_its_line(place in ".*", happened in ".*", cause in ".*") {
            let cycle = Cycle {
                place: Some(nowhere(place)),
                events: vec![Event {
                    at: Elapsed(0),
                    span: span(2),
                    alarm: Some(Cause::Other(cause)),
                    text: happened,
                }],
                closed: true,
                ..Cycle::opened_at(span(1))
            };
            let bytes = written(&cycle, PrintoutOptions::FAITHFUL);
            let text = String::from_utf8(bytes).unwrap();
            let n_lines = text.lines().count();
            prop_assert!((3..=4).contains(&n_lines), "{text:?}");
            prop_assert!(text.lines().all(|line| !line.contains(char::is_control)), "{text:?}");
        }
    }

    #[test]
    fn the_example_of_the_format_is_written_as_it_stands_there() {
        // The first example of grammars/cycle-printout.md, which is written by hand.
        let page = include_str!("../../../grammars/cycle-printout.md");
        let example = page
            .split("```printout\n")
            .nth(1)
            .and_then(|rest| rest.split("```").next())
            .unwrap();
        let records = read_bytes(example.as_bytes(), Strictness::Infer);
        let bytes = written(&records.cycles[0], PrintoutOptions::FAITHFUL);
        // Zeros at the end of a decimal are not kept.
        let shortest = example.replace(".0 ", " ");
        assert_eq!(String::from_utf8(bytes).unwrap(), shortest);
    }

    #[test]
    fn a_wrong_checksum_stays_wrong_in_the_copy() {
        let strip = b"loadbook printout 1\nunit: PL-1\nchecksum: 00000000\nend\n";
        let records = read_bytes(strip, Strictness::Infer);
        let copy = written(&records.cycles[0], PrintoutOptions::FAITHFUL);
        let again = read_bytes(&copy, Strictness::Infer);
        assert!(matches!(
            again.cycles[0].checksum,
            Checksum::Differs { printed: 0, .. }
        ));
    }

    /// What is written of a printout that was read.
    fn copied(text: &str) -> String {
        let records = read_bytes(text.as_bytes(), Strictness::Infer);
        assert!(records.unread.is_empty(), "{:?}", records.unread);
        let bytes = written(&records.cycles[0], PrintoutOptions::FAITHFUL);
        String::from_utf8(bytes).unwrap()
    }

    #[test]
    fn printout_in_the_usual_order_is_written_as_it_was() {
        // Over midnight, where the time alone tells the day; what happened stands between the readings.
        let usual = "loadbook printout 1\nunit: ST-1\nprocess: steam\ncounter: 5\nstarted: 2026-03-12 23:50:00\n\
            event: 23:51:00, first\nstage: expose, at 23:55:00, limit temperature 134 C min, pulses 4\n\
            00:01:00 pressure 3 bar, temperature 134.5 C\nevent: 00:02:00, x\n00:03:00 pressure 3.1 bar\n\
            alarm: 00:04:00, moisture\nstage: dry, at 00:05:00\nalarm: 00:06:00, moisture, too wet\n\
            leak: 0.5 mbar/min, limit 1.3 mbar/min\nended: 00:10:00\ntotal: 00:20:00, readings 2\noutcome: completed\nend\n";
        assert_eq!(copied(usual), usual);
        // Without a start no date is known, and times count from midnight.
        let bare = "loadbook printout 1\nunit: ST-1\nstage: expose, at 23:05:09\n23:06:00 pressure 3 bar\nended: 23:10:00\nend\n";
        let counted = "loadbook printout 1\nunit: ST-1\nstage: expose, at 00:00:00\n00:00:51 pressure 3 bar\nended: 00:04:51\nend\n";
        assert_eq!(copied(bare), counted);
    }

    #[test]
    fn date_is_written_where_the_time_alone_would_be_read_as_another_day_s() {
        let with = |reading: &str| {
            format!(
                "loadbook printout 1\nunit: ST-1\nstarted: 2026-03-12 20:00:00\nstage: expose, at 20:00:00\n{reading} pressure 3 bar\nend\n"
            )
        };
        let reading = |written: &str| {
            let copy = copied(&with(written));
            let line = copy.lines().find(|line| line.ends_with("pressure 3 bar"));
            line.unwrap().replace(" pressure 3 bar", "")
        };
        for (written, expected) in [
            ("2026-03-12 20:00:00", "20:00:00"),
            ("2026-03-12 23:59:59", "23:59:59"),
            // On the next day, less than twelve hours on.
            ("2026-03-13 07:59:59", "07:59:59"),
            ("2026-03-13 08:00:00", "2026-03-13 08:00:00"),
            ("2026-03-13 21:00:00", "2026-03-13 21:00:00"),
            ("2026-03-14 00:00:00", "2026-03-14 00:00:00"),
            // Back on the same day.
            ("2026-03-12 19:59:59", "2026-03-12 19:59:59"),
        ] {
            assert_eq!(reading(written), expected, "{written}");
        }
    }

    #[test]
    fn copy_of_a_checksum_is_as_right_or_as_wrong_as_it_was() {
        let above = "loadbook printout 1\nunit: ST-1\nstarted: 2026-03-12 20:00:00\n";
        let right = crc32fast::hash(above.as_bytes());
        for printed in [right, right ^ 1] {
            let text = format!("{above}checksum: {printed:08X}\nend\n");
            assert_eq!(copied(&text), text);
        }
        // A checksum that was wrong of the original, and would be right of the copy, stays wrong.
        let original = format!("# a remark\n{above}checksum: {right:08X}\nend\n");
        let of_other = original
            .replace("# a remark\n", "")
            .replace("unit: ST-1\n", "unit: ST-1\n# a remark\n");
        let copy = copied(&of_other);
        assert_eq!(copy, format!("{above}checksum: {:08X}\nend\n", !right));
    }

    #[test]
    fn total_of_a_hundred_hours_and_text_of_nothing_are_not_written() {
        let text = "loadbook printout 1\nunit: ST-1\nstarted: 2026-03-12 20:00:00\nevent: 20:01:00, x\ntotal: 99:59:59\nend\n";
        assert!(copied(text).contains("total: 99:59:59\n"));
        let mut cycle = read_bytes(text.as_bytes(), Strictness::Infer)
            .cycles
            .remove(0);
        cycle.total.as_mut().unwrap().value.seconds = 360_000;
        cycle.serial = Some(nowhere(" ".to_owned()));
        cycle.events[0].text = String::new();
        let copy = String::from_utf8(written(&cycle, PrintoutOptions::FAITHFUL)).unwrap();
        assert!(
            !copy.contains("total") && !copy.contains("serial"),
            "{copy}"
        );
        assert!(copy.contains("event: 20:01:00, -\n"), "{copy}");
        // A cause of one's own on a line as wide as paper would be taken for half of a known one.
        let cause = "x".repeat(24 - "alarm: 20:01:00, ".len());
        for (cause, gap) in [(cause.clone(), "  "), (format!("{cause}x"), " ")] {
            cycle.events[0].alarm = Some(Cause::Other(cause.clone()));
            let copy = String::from_utf8(written(&cycle, PrintoutOptions::FAITHFUL)).unwrap();
            assert!(
                copy.contains(&format!("alarm: 20:01:00,{gap}{cause}\n")),
                "{copy}"
            );
        }
    }
}
