//! One strip in the making: the record of a cycle, filled line by line as the unit runs.
//!
//! Knows the units of measure that a unit prints in, and nothing of processes. Its spans hold line numbers that keep
//! the order of the lines and point nowhere. Read [`Strip::begin`] first.

use crate::diagnose::{FileId, Span};
use crate::measure::quantity::{
    Concentration, Datum, Duration, LeakRate, Power, Pressure, RelativeHumidity,
    STANDARD_ATMOSPHERE, Temperature,
};
use crate::measure::unit::{
    ConcentrationUnit, DurationUnit, HumidityUnit, LeakRateUnit, PowerUnit, PressureUnit,
    TemperatureUnit,
};
use crate::record::Spanned;
use crate::record::cause::Cause;
use crate::record::cycle::{
    Bound, Cycle, Elapsed, Event, LeakResult, Limit, LimitValue, Measured, Outcome, Reading, Stage,
    StageName,
};

/// A value that stands nowhere.
pub fn nowhere<T>(value: T) -> Spanned<T> {
    Spanned::new(value, at_line(0))
}

fn at_line(line: u32) -> Span {
    Span {
        file: FileId(0),
        line,
        line_start: 0,
        start: 0,
        end: 0,
    }
}

/// The units of measure that a unit prints in.
#[derive(Debug, Clone, Copy)]
pub struct Gauges {
    /// Of pressure.
    pub pressure: PressureUnit,
    /// What its pressures are measured from.
    pub datum: Datum,
    /// Of temperature.
    pub temperature: TemperatureUnit,
    /// Of the leak rate.
    pub leak: LeakRateUnit,
}

impl Gauges {
    /// A chamber pressure as it is printed, from pascal above vacuum.
    pub fn pressure(self, pascal: f64) -> Measured {
        let above_datum = match self.datum {
            Datum::Absolute => pascal,
            Datum::Gauge => pascal - STANDARD_ATMOSPHERE.pascal(),
        };
        let number = above_datum / self.pressure.factor();
        let n_decimals = match self.pressure {
            PressureUnit::Pascal if pascal >= 1_000.0 => 0,
            PressureUnit::Pascal | PressureUnit::Kilopascal | PressureUnit::Millitorr => 1,
            PressureUnit::Torr | PressureUnit::Millibar if number.abs() >= 10.0 => 1,
            PressureUnit::Psi if pascal >= 20_000.0 => 2,
            PressureUnit::Bar | PressureUnit::InchOfMercury => 2,
            PressureUnit::Torr | PressureUnit::Millibar | PressureUnit::Psi => 3,
        };
        let number = rounded(number, n_decimals);
        Measured::Pressure(Pressure::new(number, self.pressure, self.datum))
    }

    /// A temperature as it is printed, from degrees Celsius.
    pub fn temperature(self, celsius: f64) -> Measured {
        let number = match self.temperature {
            TemperatureUnit::Celsius => celsius,
            TemperatureUnit::Fahrenheit => celsius * 1.8 + 32.0,
        };
        Measured::Temperature(Temperature::new(rounded(number, 1), self.temperature))
    }
}

/// Concentration in milligrams per litre, with so many decimals.
pub fn concentration(milligrams_per_litre: f64, n_decimals: u8) -> Measured {
    Measured::Concentration(Concentration::new(
        rounded(milligrams_per_litre, n_decimals),
        ConcentrationUnit::MilligramPerLitre,
    ))
}

/// Relative humidity in whole per cent.
pub fn humidity(percent: f64) -> Measured {
    let percent = rounded(percent, 0);
    Measured::Humidity(RelativeHumidity::new(percent, HumidityUnit::Percent))
}

/// Radio-frequency power in whole watts.
pub fn power(watts: f64) -> Measured {
    Measured::Power(Power::new(rounded(watts, 0), PowerUnit::Watt))
}

/// At least this.
pub fn at_least(measured: Measured) -> Limit {
    Limit {
        bound: Bound::Min,
        value: LimitValue::Measured(measured),
    }
}

/// At most this.
pub fn at_most(measured: Measured) -> Limit {
    Limit {
        bound: Bound::Max,
        value: LimitValue::Measured(measured),
    }
}

/// So many minutes, at least or at most.
pub fn lasting(minutes: f64, bound: Bound) -> Limit {
    let duration = Duration::new(minutes, DurationUnit::Minute);
    Limit {
        bound,
        value: LimitValue::Duration(duration),
    }
}

/// A number rounded to so many decimals.
pub fn rounded(number: f64, n_decimals: u8) -> f64 {
    let scale = (0..n_decimals).fold(1.0, |scale, _| scale * 10.0);
    (number * scale).round() / scale
}

/// A strip as it is being printed.
#[derive(Debug, Clone)]
pub struct Strip {
    cycle: Cycle,
    line: u32,
    /// The units of measure.
    pub gauges: Gauges,
    /// The seconds since the start.
    pub elapsed: i32,
}

impl Strip {
    /// A strip whose heading is `cycle`.
    pub fn begin(cycle: Cycle, gauges: Gauges) -> Self {
        Strip {
            cycle,
            line: 1,
            gauges,
            elapsed: 0,
        }
    }

    /// The heading of a cycle that says nothing yet.
    pub fn heading() -> Cycle {
        Cycle {
            closed: true,
            ..Cycle::opened_at(at_line(1))
        }
    }

    /// A stage begins now.
    pub fn stage(&mut self, name: StageName, limits: Vec<Limit>) {
        self.line += 1;
        self.cycle.stages.push(Stage {
            name,
            span: at_line(self.line),
            began: Elapsed(self.elapsed),
            limits,
            n_pulses: None,
            readings: Vec::new(),
        });
    }

    /// The number of pulses of the stage that runs.
    pub fn pulses(&mut self, n: u32) {
        if let Some(stage) = self.cycle.stages.last_mut() {
            stage.n_pulses = Some(n);
        }
    }

    /// So many seconds pass, and then a line with these values is printed.
    pub fn reading_after(&mut self, seconds: i32, values: &[Measured]) {
        self.elapsed += seconds;
        self.line += 1;
        if let Some(stage) = self.cycle.stages.last_mut() {
            stage
                .readings
                .extend(values.iter().map(|&measured| Reading {
                    at: Elapsed(self.elapsed),
                    line: self.line,
                    measured,
                }));
            self.cycle.n_reading_lines += 1;
        }
    }

    /// The unit says something now.
    pub fn event(&mut self, text: &str) {
        self.say(None, text);
    }

    /// The unit raises an alarm now.
    pub fn alarm(&mut self, cause: Cause, text: &str) {
        self.say(Some(cause), text);
    }

    fn say(&mut self, alarm: Option<Cause>, text: &str) {
        self.line += 1;
        self.cycle.events.push(Event {
            at: Elapsed(self.elapsed),
            span: at_line(self.line),
            alarm,
            text: text.to_owned(),
        });
    }

    /// The result of a leak test, with its limit, from pascal per minute.
    pub fn leak(&mut self, pascal_per_minute: f64, limit_pascal_per_minute: f64) {
        let unit = self.gauges.leak;
        let rate = |pascal: f64| {
            let n_decimals = match unit {
                LeakRateUnit::PascalPerMinute | LeakRateUnit::MillitorrPerMinute => 0,
                LeakRateUnit::MillibarPerMinute | LeakRateUnit::TorrPerMinute => 2,
                LeakRateUnit::KilopascalPerMinute => 3,
            };
            LeakRate::new(rounded(pascal / unit.factor(), n_decimals), unit)
        };
        self.cycle.leak = Some(nowhere(LeakResult {
            rate: rate(pascal_per_minute),
            limit: Some(rate(limit_pascal_per_minute)),
        }));
    }

    /// The cycle ends now, with this outcome.
    pub fn end(mut self, outcome: Outcome) -> Cycle {
        self.cycle.ended = Some(nowhere(Elapsed(self.elapsed)));
        self.cycle.outcome = Some(nowhere(outcome));
        self.cycle
    }
}
