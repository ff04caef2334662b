//! Small cases for the tests of `reconcile`: cycles and entries in one line each. Knows nothing of joining. Read [`cycle`].

use crate::diagnose::codes::Code;
use crate::diagnose::{Diagnostic, FileId, Span};
use crate::measure::quantity::Temperature;
use crate::measure::unit::TemperatureUnit;
use crate::record::Spanned;
use crate::record::consumable::LotIdentity;
use crate::record::cycle::{
    Cycle, Elapsed, Measured, Outcome, Process, Purpose, Reading, Stage, StageName,
};
use crate::record::entry::{
    BiGrowth, BiResult, BiRole, CiEndpoint, CiPosition, CiResult, Content, Entry, EntryBody,
    LoadStart,
};
use crate::record::line_set::LineSet;
use crate::record::name::{LoadNumber, LotNumber, UnitName};
use crate::record::stamp::Stamp;
use chrono::NaiveDateTime;
use chrono_tz::Tz;
use std::sync::Arc;

/// The file of all printouts.
pub const STRIPS: FileId = FileId(0);
/// The file of all entries.
pub const LOG: FileId = FileId(1);

pub fn span(file: FileId, line: u32) -> Span {
    Span {
        file,
        line,
        line_start: u64::from(line) * 80,
        start: 0,
        end: 10,
    }
}

pub fn local(text: &str) -> NaiveDateTime {
    NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M:%S")
        .or_else(|_| NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M"))
        .unwrap()
}

pub fn stamp(text: &str) -> Stamp {
    Stamp::local(local(text))
}

/// A cycle being put together; it is whole and completed unless said otherwise.
pub struct CycleCase(Cycle);

/// A cycle of a unit with its counter and start, after an opening line.
pub fn cycle(line: u32, unit: &str, counter: u32, started: &str) -> CycleCase {
    let mut cycle = Cycle::opened_at(span(STRIPS, line));
    let at = |offset: u32| span(STRIPS, line + offset);
    cycle.unit = Some(Spanned::new(UnitName(unit.to_owned()), at(1)));
    cycle.counter = Some(Spanned::new(counter, at(2)));
    cycle.process = Some(Spanned::new(Process::Plasma, at(3)));
    if !started.is_empty() {
        cycle.started = Some(Spanned::new(stamp(started), at(4)));
    }
    cycle.outcome = Some(Spanned::new(Outcome::Completed, at(8)));
    cycle.closed = true;
    for offset in 1..=9 {
        cycle.lines.push(line + offset);
    }
    CycleCase(cycle).ended(2_445)
}

impl CycleCase {
    pub fn done(self) -> Cycle {
        self.0
    }

    pub fn ended(mut self, elapsed: i32) -> Self {
        let at = span(STRIPS, self.0.opening.line + 7);
        self.0.ended = Some(Spanned::new(Elapsed(elapsed), at));
        self
    }

    pub fn load(mut self, number: &str) -> Self {
        let at = span(STRIPS, self.0.opening.line + 5);
        self.0.load = Some(Spanned::new(LoadNumber(number.to_owned()), at));
        self
    }

    pub fn outcome(mut self, outcome: Outcome) -> Self {
        let at = span(STRIPS, self.0.opening.line + 8);
        self.0.outcome = Some(Spanned::new(outcome, at));
        self
    }

    pub fn purpose(mut self, purpose: Purpose) -> Self {
        self.0.purpose = purpose;
        self
    }

    pub fn serial(mut self, serial: &str) -> Self {
        self.0.serial = Some(Spanned::new(serial.to_owned(), self.0.opening));
        self
    }

    pub fn software(mut self, software: &str) -> Self {
        self.0.software = Some(Spanned::new(software.to_owned(), self.0.opening));
        self
    }

    pub fn zone(mut self, zone: Tz) -> Self {
        self.0.zone = Some(Spanned::new(zone, self.0.opening));
        self
    }

    pub fn no_counter(mut self) -> Self {
        self.0.counter = None;
        self
    }

    /// Adds a stage with one reading.
    pub fn reading(mut self, elapsed: i32, celsius: f64) -> Self {
        self.0.stages.push(stage_with(
            self.0.opening.line,
            StageName::Plasma,
            elapsed,
            celsius,
        ));
        self
    }

    /// Torn off before its end.
    pub fn torn(mut self) -> Self {
        self.0.ended = None;
        self.0.outcome = None;
        self.0.closed = false;
        self
    }
}

fn stage_with(line: u32, name: StageName, elapsed: i32, celsius: f64) -> Stage {
    Stage {
        name,
        span: span(STRIPS, line + 6),
        began: Elapsed(elapsed),
        limits: Vec::new(),
        n_pulses: None,
        readings: vec![Reading {
            at: Elapsed(elapsed),
            line: line + 6,
            measured: Measured::Temperature(Temperature::new(celsius, TemperatureUnit::Celsius)),
        }],
    }
}

/// A stage with one reading at this many seconds.
pub fn an_hour_reading(elapsed: i32) -> Stage {
    stage_with(1, StageName::Plasma, elapsed, 45.0)
}

/// An entry being put together.
pub struct EntryCase(Entry);

fn entry(line: u32, written: &str, load: &str, body: EntryBody) -> EntryCase {
    let at = span(LOG, line);
    let mut lines = LineSet::new(LOG);
    lines.push(line);
    EntryCase(Entry {
        lines,
        span: at,
        written: (!written.is_empty()).then(|| Spanned::new(stamp(written), at)),
        place: None,
        zone: None,
        load: (!load.is_empty()).then(|| Spanned::new(LoadNumber(load.to_owned()), at)),
        unit: None,
        by: None,
        note: None,
        body,
    })
}

pub fn start(line: u32, written: &str, load: &str) -> EntryCase {
    entry(
        line,
        written,
        load,
        EntryBody::from(LoadStart {
            counter: None,
            program: None,
        }),
    )
}

pub fn ci(line: u32, written: &str, load: &str, position: CiPosition) -> EntryCase {
    let at = span(LOG, line);
    entry(
        line,
        written,
        load,
        EntryBody::from(CiResult {
            position: Some(Spanned::new(position, at)),
            ci_type: None,
            set: None,
            lot: None,
            endpoint: Some(Spanned::new(CiEndpoint::Reached, at)),
        }),
    )
}

pub fn bi(
    line: u32,
    written: &str,
    load: &str,
    role: BiRole,
    lot: &str,
    incubated: &str,
    growth: Option<BiGrowth>,
) -> EntryCase {
    let at = span(LOG, line);
    entry(
        line,
        written,
        load,
        EntryBody::from(BiResult {
            role: Some(Spanned::new(role, at)),
            lot: (!lot.is_empty()).then(|| {
                Spanned::new(
                    LotIdentity {
                        gtin: None,
                        lot: Some(LotNumber(lot.to_owned())),
                        expiry: None,
                        serial: None,
                    },
                    at,
                )
            }),
            incubated: (!incubated.is_empty()).then(|| Spanned::new(stamp(incubated), at)),
            read: None,
            growth: growth.map(|growth| Spanned::new(growth, at)),
            population: None,
            d_value_minutes: None,
        }),
    )
}

pub fn content(line: u32, written: &str, load: &str) -> EntryCase {
    let body = EntryBody::from(Content {
        set: None,
        n_items: None,
        n_packages: None,
        packaging: None,
        packaging_lot: None,
        implant: None,
        destination: None,
    });
    entry(line, written, load, body)
}

pub fn release(line: u32, written: &str, load: &str) -> EntryCase {
    entry(line, written, load, EntryBody::Release)
}

pub fn service(line: u32, written: &str, unit: &str) -> EntryCase {
    entry(line, written, "", EntryBody::Service).unit(unit)
}

impl EntryCase {
    pub fn done(self) -> Entry {
        self.0
    }

    pub fn unit(mut self, unit: &str) -> Self {
        self.0.unit = Some(Spanned::new(UnitName(unit.to_owned()), self.0.span));
        self
    }

    pub fn counter(mut self, counter: u32) -> Self {
        if let EntryBody::Load(start) = &mut self.0.body {
            start.counter = Some(Spanned::new(counter, self.0.span));
        }
        self
    }

    pub fn zone(mut self, zone: Tz) -> Self {
        self.0.zone = Some(Arc::new(Spanned::new(zone, self.0.span)));
        self
    }
}

/// The diagnostics with this code.
pub fn with(diagnostics: &[Diagnostic], code: Code) -> Vec<&Diagnostic> {
    diagnostics
        .iter()
        .filter(|diagnostic| diagnostic.code == code)
        .collect()
}

/// A site in London.
pub fn london() -> super::Site {
    super::Site {
        zone: Some(Tz::Europe__London),
    }
}
