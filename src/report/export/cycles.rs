//! Cycles as rows: what the printouts say, with their stages, limits, readings and events.

use super::Exported;
use super::column::{Key, Real, Text, Word, rows};
use crate::measure::quantity::{AbsolutePressure, Datum};
use crate::reconcile::history::KnownCycle;
use crate::record::cycle::{Bound, Checksum, Cycle, Elapsed, LimitValue, Measured, Outcome, Stage};
use chrono::{DateTime, NaiveDateTime, TimeDelta, Utc};

rows! {
    /// One cycle, as its printout says; a cycle that was printed twice is one row.
    CycleRow = "cycles", key ["cycle_key"] {
        /// The cycle: `UNIT:COUNTER@START` as printed, `?` for what is not printed, and `#2` from the second of the same
        /// name on.
        cycle_key: Key;
        /// The unit.
        unit: Option<Word>;
        /// The unit's serial number.
        serial: Option<Word>;
        /// The unit's software version.
        software: Option<Word>;
        /// Hospital, department, room.
        place: Option<Word>;
        /// The time zone that the printout names.
        zone: Option<Word>;
        /// `plasma`, `steam` or `eo`; where the printout does not say, that of the unit's other printouts.
        process: Option<Word>;
        /// What it was run for: `load`, `leak-test`, `air-removal-test`, `warm-up`.
        purpose: Word;
        /// The program.
        program: Option<Word>;
        /// The cycle counter.
        counter: Option<u32>;
        /// The load number as printed.
        load_number: Option<Text>;
        /// The load that it belongs to.
        load_key: Option<Key>;
        /// The mark of who started it.
        operator: Option<Word>;
        /// When it began, as printed.
        started_printed_local: Option<NaiveDateTime>;
        /// The printed offset of that time from UTC, east above 0.
        started_offset_s: Option<i32> => "s";
        /// When it began, as believed: as printed, unless the unit's clock had lost its setting.
        began_local: Option<NaiveDateTime>;
        /// The same instant, where zone or offset is known.
        began_utc: Option<DateTime<Utc>>;
        /// Why that start is believed, where it does not stand in the printout.
        began_inferred: Option<Text>;
        /// When it ended.
        ended_local: Option<NaiveDateTime>;
        /// The same instant, where zone or offset is known.
        ended_utc: Option<DateTime<Utc>>;
        /// From start to end, across midnight and clock changes.
        duration_s: Option<i64> => "s";
        /// The length that the printout sums up.
        duration_printed_s: Option<u32> => "s";
        /// What the unit printed as the result: `completed`, `aborted`, `rejected`, `passed`, `failed`.
        outcome: Option<Word>;
        /// The stage that it was aborted in.
        aborted_stage: Option<Word>;
        /// The cause of the abort or rejection, as printed.
        cause: Option<Word>;
        /// Whether the closing line of the printout is there; without it the strip was torn off.
        closed: bool;
        /// The result of a leak test.
        leak_rate_pa_per_min: Real => "Pa/min";
        /// The same number as printed.
        leak_rate_printed_value: Real;
        /// The unit of measure that it was printed in.
        leak_rate_printed_unit: Option<Word>;
        /// The printed limit of the leak test.
        leak_limit_pa_per_min: Real => "Pa/min";
        /// The same number as printed.
        leak_limit_printed_value: Real;
        /// The unit of measure that it was printed in.
        leak_limit_printed_unit: Option<Word>;
        /// The printed ambient pressure.
        ambient_pressure_pa: Real => "Pa";
        /// The same number as printed.
        ambient_printed_value: Real;
        /// The unit of measure that it was printed in.
        ambient_printed_unit: Option<Word>;
        /// Whether the lines give the printed checksum: `agrees`, `differs`, `absent`.
        checksum: Word;
        /// Its stages.
        n_stages: usize;
        /// Its readings.
        n_readings: usize;
        /// Its events, alarms among them.
        n_events: usize;
        /// Its alarms.
        n_alarms: usize;
        /// Further printouts of the same cycle.
        n_reprints: usize;
        /// Lines within it that could not be read.
        n_unread_lines: u32;
        /// Whether it is the first cycle of its unit that day, warm-ups and tests not counted.
        first_of_day: bool;
        /// Whether the unit's clock had lost its setting.
        clock_lost: bool;
        /// The file.
        file: Key;
        /// Its opening line.
        line: u32;
        /// Its last line.
        last_line: u32;
    }

    /// One stage of a cycle.
    StageRow = "stages", key ["cycle_key", "stage_number"] {
        /// The cycle.
        cycle_key: Key;
        /// Its place within the cycle, from 1.
        stage_number: usize;
        /// The unit.
        unit: Option<Word>;
        /// The program.
        program: Option<Word>;
        /// Its name.
        stage: Word;
        /// When it began, from the start of the cycle, on the unit's clock.
        began_elapsed_s: i32 => "s";
        /// When it began, on the unit's clock.
        began_local: Option<NaiveDateTime>;
        /// The same instant, where it is known.
        began_utc: Option<DateTime<Utc>>;
        /// Its length, up to the next stage or the end of the cycle, on the unit's clock.
        duration_s: Option<i64> => "s";
        /// The least length that the printout gives.
        duration_min_s: Real => "s";
        /// The greatest length that the printout gives.
        duration_max_s: Real => "s";
        /// The printed number of pulses.
        n_pulses: Option<u32>;
        /// Its readings.
        n_readings: usize;
        /// The file.
        file: Key;
        /// The line it begins on.
        line: u32;
    }

    /// One limit that a printout gives for a stage; the column of its quantity has the value.
    LimitRow = "limits", key ["cycle_key", "stage_number", "limit_number"] {
        /// The cycle.
        cycle_key: Key;
        /// The stage's place within the cycle, from 1.
        stage_number: usize;
        /// The limit's place within the stage, from 1.
        limit_number: usize;
        /// The stage's name.
        stage: Word;
        /// `min`: at least; `max`: at most.
        bound: Word;
        /// What it binds: `pressure`, `temperature`, `concentration`, `humidity`, `power`, `conductivity`, `duration`.
        quantity: Word;
        /// A pressure, above what `pressure_datum` says.
        pressure_pa: Real => "Pa";
        /// What the pressure is measured from: `absolute` from vacuum, `gauge` from the ambient pressure.
        pressure_datum: Option<Word>;
        /// A temperature.
        temperature_c: Real => "°C";
        /// A concentration of the sterilant.
        concentration_mg_per_l: Real => "mg/L";
        /// A relative humidity.
        humidity_percent: Real => "%";
        /// A radio-frequency power.
        power_w: Real => "W";
        /// A conductivity of feed water.
        conductivity_us_per_cm: Real => "µS/cm";
        /// A length of time.
        length_s: Real => "s";
        /// The number as printed.
        printed_value: Real;
        /// The unit of measure that it was printed in.
        printed_unit: Word;
        /// The file.
        file: Key;
        /// The line of the stage.
        line: u32;
    }

    /// One value that was read at one moment; the column of its quantity has the value. A line with three values makes
    /// three rows.
    ReadingRow = "readings", key ["cycle_key", "reading_number"] {
        /// The cycle.
        cycle_key: Key;
        /// Its place within the cycle, from 1.
        reading_number: usize;
        /// The stage's place within the cycle, from 1.
        stage_number: usize;
        /// The unit.
        unit: Option<Word>;
        /// The stage's name.
        stage: Word;
        /// When, from the start of the cycle, on the unit's clock.
        elapsed_s: i32 => "s";
        /// When, on the unit's clock.
        at_local: Option<NaiveDateTime>;
        /// The same instant, where it is known: not where the clocks changed during the cycle.
        at_utc: Option<DateTime<Utc>>;
        /// Of what: `pressure`, `temperature`, `concentration`, `humidity`, `power`, `conductivity`.
        quantity: Word;
        /// The pressure of the chamber, above what `pressure_datum` says.
        pressure_pa: Real => "Pa";
        /// What the pressure is measured from: `absolute` from vacuum, `gauge` from the ambient pressure.
        pressure_datum: Option<Word>;
        /// The pressure above vacuum; for a gauge pressure only where the printout gives the ambient pressure.
        pressure_absolute_pa: Real => "Pa";
        /// The temperature of the chamber.
        temperature_c: Real => "°C";
        /// The concentration of the sterilant.
        concentration_mg_per_l: Real => "mg/L";
        /// The relative humidity.
        humidity_percent: Real => "%";
        /// The radio-frequency power.
        power_w: Real => "W";
        /// The conductivity of the feed water.
        conductivity_us_per_cm: Real => "µS/cm";
        /// The number as printed.
        printed_value: Real;
        /// The unit of measure that it was printed in.
        printed_unit: Word;
        /// The file.
        file: Key;
        /// The line.
        line: u32;
    }

    /// One event or alarm that a unit printed while it ran.
    EventRow = "events", key ["cycle_key", "event_number"] {
        /// The cycle.
        cycle_key: Key;
        /// Its place within the cycle, from 1.
        event_number: usize;
        /// The unit.
        unit: Option<Word>;
        /// `alarm` or `event`.
        kind: Word;
        /// The cause of an alarm, as printed.
        cause: Option<Word>;
        /// The words of the printout.
        text: Option<Text>;
        /// When, from the start of the cycle, on the unit's clock.
        elapsed_s: i32 => "s";
        /// When, on the unit's clock.
        at_local: Option<NaiveDateTime>;
        /// The same instant, where it is known: not where the clocks changed during the cycle.
        at_utc: Option<DateTime<Utc>>;
        /// The file.
        file: Key;
        /// The line.
        line: u32;
    }
}

/// A cycle in scope, with what its rows share.
struct Listed<'a> {
    known: &'a KnownCycle,
    key: Key,
    unit: Option<Word>,
    file: Key,
}

fn in_scope<'a>(exported: &'a Exported<'a>) -> impl Iterator<Item = Listed<'a>> {
    exported.chosen.cycles.iter().filter_map(|ix| {
        let known = exported.reviewed.history.cycles.get(ix.0)?;
        Some(Listed {
            known,
            key: exported.keys.cycle(*ix)?,
            unit: known
                .cycle
                .unit
                .as_ref()
                .map(|unit| Word::of(&unit.value.0)),
            file: exported.file_of(&known.cycle.opening),
        })
    })
}

/// The cycles in scope.
pub fn list_cycles<'a>(exported: &'a Exported<'a>) -> impl Iterator<Item = CycleRow> + 'a {
    in_scope(exported).map(|listed| cycle_row(listed, exported))
}

fn cycle_row(listed: Listed<'_>, exported: &Exported<'_>) -> CycleRow {
    let known = listed.known;
    let cycle = &known.cycle;
    let history = exported.reviewed.history;
    let process = cycle.process.as_ref().map(|process| process.value);
    let process = process.or_else(|| {
        let name = &cycle.unit.as_ref()?.value;
        history
            .units
            .iter()
            .find(|unit| unit.name == *name)?
            .process
    });
    let outcome = cycle.outcome.as_ref().map(|outcome| &outcome.value);
    let (outcome, aborted_stage, cause) = match outcome {
        Some(Outcome::Completed) => (Some("completed"), None, None),
        Some(Outcome::Aborted { stage, cause }) => {
            (Some("aborted"), stage.as_ref(), cause.as_ref())
        }
        Some(Outcome::Rejected { cause }) => (Some("rejected"), None, cause.as_ref()),
        Some(Outcome::Passed) => (Some("passed"), None, None),
        Some(Outcome::Failed) => (Some("failed"), None, None),
        None => (None, None, None),
    };
    let leak = cycle.leak.as_ref().map(|leak| leak.value);
    let leak_limit = leak.and_then(|leak| leak.limit);
    let ambient = cycle.ambient.as_ref().map(|ambient| ambient.value);
    let words = |text: Option<&str>| text.map(Word::of);
    CycleRow {
        cycle_key: listed.key,
        unit: listed.unit,
        serial: words(cycle.serial.as_ref().map(|serial| serial.value.as_str())),
        software: words(
            cycle
                .software
                .as_ref()
                .map(|version| version.value.as_str()),
        ),
        place: words(cycle.place.as_ref().map(|place| place.value.as_str())),
        zone: words(cycle.zone.as_ref().map(|zone| zone.value.name())),
        process: process.map(|process| Word::fixed(process.word())),
        purpose: Word::fixed(cycle.purpose.word()),
        program: program_of(cycle),
        counter: cycle.counter.as_ref().map(|counter| counter.value),
        load_number: cycle.load.as_ref().map(|load| Text::of(&load.value.0)),
        load_key: known.load.and_then(|load| exported.keys.load(load)),
        operator: words(cycle.operator.as_ref().map(|mark| mark.value.as_str())),
        started_printed_local: cycle.started.as_ref().map(|started| started.value.local),
        started_offset_s: cycle
            .started
            .as_ref()
            .and_then(|started| started.value.offset_seconds),
        began_local: known.began.as_ref().map(|began| began.value.local),
        began_utc: known.began.as_ref().and_then(|began| began.value.utc),
        began_inferred: known
            .began
            .as_ref()
            .and_then(|began| began.reason.as_deref())
            .map(Text::of),
        ended_local: known.ended.map(|ended| ended.local),
        ended_utc: known.ended.and_then(|ended| ended.utc),
        duration_s: known.seconds(),
        duration_printed_s: cycle.total.as_ref().map(|total| total.value.seconds),
        outcome: outcome.map(Word::fixed),
        aborted_stage: words(aborted_stage.map(|stage| stage.word())),
        cause: words(cause.map(|cause| cause.word())),
        closed: cycle.closed,
        leak_rate_pa_per_min: Real::of(leak.map(|leak| leak.rate.pascal_per_minute())),
        leak_rate_printed_value: leak
            .map_or(Real::NONE, |leak| Real::printed(leak.rate.printed_number())),
        leak_rate_printed_unit: leak.map(|leak| Word::fixed(leak.rate.printed_unit().symbol())),
        leak_limit_pa_per_min: Real::of(leak_limit.map(|limit| limit.pascal_per_minute())),
        leak_limit_printed_value: leak_limit
            .map_or(Real::NONE, |limit| Real::printed(limit.printed_number())),
        leak_limit_printed_unit: leak_limit.map(|limit| Word::fixed(limit.printed_unit().symbol())),
        ambient_pressure_pa: Real::of(ambient.map(|ambient| ambient.pascal())),
        ambient_printed_value: ambient.map_or(Real::NONE, |ambient| {
            Real::printed(ambient.printed_number())
        }),
        ambient_printed_unit: ambient.map(|ambient| Word::fixed(ambient.printed_unit().symbol())),
        checksum: Word::fixed(match cycle.checksum {
            Checksum::Absent => "absent",
            Checksum::Agrees { .. } => "agrees",
            Checksum::Differs { .. } => "differs",
        }),
        n_stages: cycle.stages.len(),
        n_readings: cycle.stages.iter().map(|stage| stage.readings.len()).sum(),
        n_events: cycle.events.len(),
        n_alarms: cycle.alarms().count(),
        n_reprints: known.reprints.len(),
        n_unread_lines: cycle.n_unread_lines,
        first_of_day: known.first_of_day,
        clock_lost: known.clock_lost,
        file: listed.file,
        line: cycle.opening.line,
        last_line: cycle.lines.last().max(cycle.opening.line),
    }
}

fn program_of(cycle: &Cycle) -> Option<Word> {
    cycle
        .program
        .as_ref()
        .map(|program| Word::of(&program.value.0))
}

/// The moment of a cycle on its own clock, and the instant.
fn at(known: &KnownCycle, elapsed: Elapsed) -> (Option<NaiveDateTime>, Option<DateTime<Utc>>) {
    let Some(began) = known.began.as_ref().map(|began| began.value) else {
        return (None, None);
    };
    let length = TimeDelta::seconds(i64::from(elapsed.0));
    // Where the clocks changed meanwhile, the time that went by is another than the strip's clock tells.
    let on_clock = known
        .cycle
        .ended
        .as_ref()
        .map(|ended| i64::from(ended.value.0));
    let changed = on_clock.is_some() && on_clock != known.seconds();
    let utc = began.utc.filter(|_| !changed);
    (
        began.local.checked_add_signed(length),
        utc.and_then(|utc| utc.checked_add_signed(length)),
    )
}

fn stages_of<'a>(listed: &Listed<'a>) -> impl Iterator<Item = (usize, &'a Stage)> + use<'a> {
    (1..).zip(&listed.known.cycle.stages)
}

/// The stages of the cycles in scope.
pub fn list_stages<'a>(exported: &'a Exported<'a>) -> impl Iterator<Item = StageRow> + 'a {
    in_scope(exported).flat_map(|listed| {
        let cycle = &listed.known.cycle;
        let limit = |stage: &Stage, bound: Bound| {
            Real::of(stage.limits.iter().find_map(|limit| match limit.value {
                LimitValue::Duration(length) if limit.bound == bound => Some(length.seconds()),
                _ => None,
            }))
        };
        let rows: Vec<StageRow> = stages_of(&listed)
            .map(|(number, stage)| {
                // Counted from 1, so that the number is the next one's index.
                let until = match cycle.stages.get(number) {
                    Some(next) => Some(next.began),
                    None => cycle.ended.as_ref().map(|ended| ended.value),
                };
                let (began_local, began_utc) = at(listed.known, stage.began);
                StageRow {
                    cycle_key: listed.key.clone(),
                    stage_number: number,
                    unit: listed.unit.clone(),
                    program: program_of(cycle),
                    stage: Word::of(stage.name.word()),
                    began_elapsed_s: stage.began.0,
                    began_local,
                    began_utc,
                    duration_s: until
                        .map(|until| until.since(stage.began))
                        .filter(|seconds| *seconds >= 0),
                    duration_min_s: limit(stage, Bound::Min),
                    duration_max_s: limit(stage, Bound::Max),
                    n_pulses: stage.n_pulses,
                    n_readings: stage.readings.len(),
                    file: listed.file.clone(),
                    line: stage.span.line,
                }
            })
            .collect();
        rows
    })
}

/// A measured value, each quantity in a place of its own.
struct Split {
    quantity: Word,
    pressure_pa: Real,
    pressure_datum: Option<Word>,
    pressure_absolute_pa: Real,
    temperature_c: Real,
    concentration_mg_per_l: Real,
    humidity_percent: Real,
    power_w: Real,
    conductivity_us_per_cm: Real,
    printed_value: Real,
    printed_unit: Word,
}

fn split(measured: &Measured, cycle: &Cycle) -> Split {
    let mut split = Split {
        quantity: Word::fixed(measured.kind().word()),
        pressure_pa: Real::NONE,
        pressure_datum: None,
        pressure_absolute_pa: Real::NONE,
        temperature_c: Real::NONE,
        concentration_mg_per_l: Real::NONE,
        humidity_percent: Real::NONE,
        power_w: Real::NONE,
        conductivity_us_per_cm: Real::NONE,
        printed_value: Real::printed(measured.printed_number()),
        printed_unit: Word::fixed(measured.printed_symbol()),
    };
    match measured {
        Measured::Pressure(value) => {
            let (datum, ambient) = match value.datum() {
                // No ambient pressure is added to an absolute one.
                Datum::Absolute => ("absolute", Some(0.0)),
                Datum::Gauge => (
                    "gauge",
                    cycle.ambient.as_ref().map(|ambient| ambient.value.pascal()),
                ),
            };
            split.pressure_pa = Real::of(value.pascal());
            split.pressure_datum = Some(Word::fixed(datum));
            split.pressure_absolute_pa = Real::of(ambient.map(|ambient| {
                value
                    .absolute(AbsolutePressure::from_pascal(ambient))
                    .pascal()
            }));
        }
        Measured::Temperature(value) => split.temperature_c = Real::of(value.celsius()),
        Measured::Concentration(value) => {
            split.concentration_mg_per_l = Real::of(value.milligrams_per_litre());
        }
        Measured::Humidity(value) => split.humidity_percent = Real::of(value.percent()),
        Measured::Power(value) => split.power_w = Real::of(value.watts()),
        Measured::Conductivity(value) => {
            split.conductivity_us_per_cm = Real::of(value.microsiemens_per_centimetre());
        }
    }
    split
}

/// The limits of the stages of the cycles in scope.
pub fn list_limits<'a>(exported: &'a Exported<'a>) -> impl Iterator<Item = LimitRow> + 'a {
    in_scope(exported).flat_map(|listed| {
        let cycle = &listed.known.cycle;
        let mut rows = Vec::new();
        for (stage_number, stage) in stages_of(&listed) {
            for (limit_number, limit) in (1..).zip(&stage.limits) {
                let mut row = LimitRow {
                    cycle_key: listed.key.clone(),
                    stage_number,
                    limit_number,
                    stage: Word::of(stage.name.word()),
                    bound: Word::fixed(match limit.bound {
                        Bound::Min => "min",
                        Bound::Max => "max",
                    }),
                    quantity: Word::fixed("duration"),
                    pressure_pa: Real::NONE,
                    pressure_datum: None,
                    temperature_c: Real::NONE,
                    concentration_mg_per_l: Real::NONE,
                    humidity_percent: Real::NONE,
                    power_w: Real::NONE,
                    conductivity_us_per_cm: Real::NONE,
                    length_s: Real::NONE,
                    printed_value: Real::NONE,
                    printed_unit: Word::fixed(""),
                    file: listed.file.clone(),
                    line: stage.span.line,
                };
                match &limit.value {
                    LimitValue::Duration(length) => {
                        row.length_s = Real::of(length.seconds());
                        row.printed_value = Real::printed(length.printed_number());
                        row.printed_unit = Word::fixed(length.printed_unit().symbol());
                    }
                    LimitValue::Measured(measured) => {
                        let split = split(measured, cycle);
                        row.quantity = split.quantity;
                        row.pressure_pa = split.pressure_pa;
                        row.pressure_datum = split.pressure_datum;
                        row.temperature_c = split.temperature_c;
                        row.concentration_mg_per_l = split.concentration_mg_per_l;
                        row.humidity_percent = split.humidity_percent;
                        row.power_w = split.power_w;
                        row.conductivity_us_per_cm = split.conductivity_us_per_cm;
                        row.printed_value = split.printed_value;
                        row.printed_unit = split.printed_unit;
                    }
                }
                rows.push(row);
            }
        }
        rows
    })
}

/// The readings of the cycles in scope, one cycle at a time.
pub fn list_readings<'a>(exported: &'a Exported<'a>) -> impl Iterator<Item = ReadingRow> + 'a {
    in_scope(exported).flat_map(|listed| {
        let mut rows = Vec::new();
        for (stage_number, stage) in stages_of(&listed) {
            let name = Word::of(stage.name.word());
            for reading in &stage.readings {
                let (at_local, at_utc) = at(listed.known, reading.at);
                let split = split(&reading.measured, &listed.known.cycle);
                rows.push(ReadingRow {
                    cycle_key: listed.key.clone(),
                    reading_number: rows.len().saturating_add(1),
                    stage_number,
                    unit: listed.unit.clone(),
                    stage: name.clone(),
                    elapsed_s: reading.at.0,
                    at_local,
                    at_utc,
                    quantity: split.quantity,
                    pressure_pa: split.pressure_pa,
                    pressure_datum: split.pressure_datum,
                    pressure_absolute_pa: split.pressure_absolute_pa,
                    temperature_c: split.temperature_c,
                    concentration_mg_per_l: split.concentration_mg_per_l,
                    humidity_percent: split.humidity_percent,
                    power_w: split.power_w,
                    conductivity_us_per_cm: split.conductivity_us_per_cm,
                    printed_value: split.printed_value,
                    printed_unit: split.printed_unit,
                    file: listed.file.clone(),
                    line: reading.line,
                });
            }
        }
        rows
    })
}

/// The events and alarms of the cycles in scope.
pub fn list_events<'a>(exported: &'a Exported<'a>) -> impl Iterator<Item = EventRow> + 'a {
    in_scope(exported).flat_map(|listed| {
        let rows: Vec<EventRow> = (1..)
            .zip(&listed.known.cycle.events)
            .map(|(event_number, event)| {
                let (at_local, at_utc) = at(listed.known, event.at);
                EventRow {
                    cycle_key: listed.key.clone(),
                    event_number,
                    unit: listed.unit.clone(),
                    kind: Word::fixed(match event.alarm {
                        Some(_) => "alarm",
                        None => "event",
                    }),
                    cause: event.alarm.as_ref().map(|cause| Word::of(cause.word())),
                    text: Some(Text::of(&event.text)),
                    elapsed_s: event.at.0,
                    at_local,
                    at_utc,
                    file: listed.file.clone(),
                    line: event.span.line,
                }
            })
            .collect();
        rows
    })
}
