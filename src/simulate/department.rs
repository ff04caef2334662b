//! The units of the department: what each is, how its clock stands, how much it works.
//!
//! Knows nothing of single cycles. A larger department has more units of the same kinds. Read [`units`] first.

use super::calendar::{Site, is_weekend};
use super::logbook::ZONE;
use super::strip::Gauges;
use super::trouble::{RESET_DAY, SOFTWARE_DAY, Troubles};
use crate::measure::quantity::Datum;
use crate::measure::unit::{LeakRateUnit, PressureUnit, TemperatureUnit};
use crate::record::cycle::Process;
use chrono::{Datelike, Days, NaiveDate, NaiveDateTime, NaiveTime, Offset, TimeZone, Weekday};

/// How many cycles a day the department of six units runs, over the whole week.
pub const N_CYCLES_PER_DAY: u32 = 21;

/// A unit and its state.
#[derive(Debug, Clone)]
pub struct Unit {
    /// Its name.
    pub name: String,
    /// What its load numbers begin with.
    pub code: String,
    /// Its process.
    pub process: Process,
    /// Where it stands.
    pub site: Site,
    /// Its serial number.
    pub serial: String,
    /// The units of measure it prints in.
    pub gauges: Gauges,
    /// The counter of its last cycle.
    pub counter: u32,
    /// Which of the units of its kind it is, counted from 0.
    pub kind: u32,
    /// How many copies of the six units stand before it.
    pub copy: u32,
    /// The uses of the sterilant supply that is in it, and the supply's lot index.
    pub n_uses: u32,
    /// The supply that is in it: the day on which it was put in.
    pub supply_day: Option<u32>,
    /// The running number of the supply pack, for its serial number.
    pub n_packs: u32,
}

/// How many uses a plasma unit's supply has.
pub const N_USES: u32 = 10;

/// All units of a department of so many times six.
pub fn units(n_copies: u32) -> Vec<Unit> {
    let kinds = [
        ("PL", Process::Plasma, Site::General, 1_041, 20_417),
        ("PL", Process::Plasma, Site::General, 2_385, 20_418),
        ("PL", Process::Plasma, Site::Annexe, 412, 20_733),
        ("ST", Process::Steam, Site::General, 8_120, 51_006),
        ("ST", Process::Steam, Site::General, 6_644, 51_007),
        ("EO", Process::Eo, Site::General, 733, 7_140),
    ];
    let mut units = Vec::new();
    for copy in 0..n_copies {
        let mut n_of_kind = 0;
        let mut last = "";
        for (kind, (prefix, process, site, counter, serial)) in (0_u32..).zip(kinds) {
            n_of_kind = if prefix == last { n_of_kind + 1 } else { 1 };
            last = prefix;
            let in_copy = kinds.iter().filter(|(p, ..)| *p == prefix).count();
            let number = copy * u32::try_from(in_copy).unwrap_or(1) + n_of_kind;
            let letter = prefix.get(..1).unwrap_or(prefix);
            units.push(Unit {
                name: format!("{prefix}-{number}"),
                code: format!("{letter}{number}"),
                process,
                site,
                serial: (serial + copy * 100).to_string(),
                gauges: gauges(kind),
                counter,
                kind,
                copy,
                n_uses: 4 + kind,
                supply_day: None,
                n_packs: 0,
            });
        }
    }
    units
}

/// Every unit of measure that printers use comes up somewhere.
fn gauges(kind: u32) -> Gauges {
    let (pressure, datum, temperature) = match kind {
        0 => (
            PressureUnit::Pascal,
            Datum::Absolute,
            TemperatureUnit::Celsius,
        ),
        1 => (
            PressureUnit::Torr,
            Datum::Absolute,
            TemperatureUnit::Celsius,
        ),
        2 => (
            PressureUnit::Millibar,
            Datum::Absolute,
            TemperatureUnit::Celsius,
        ),
        3 => (
            PressureUnit::Kilopascal,
            Datum::Absolute,
            TemperatureUnit::Celsius,
        ),
        4 => (PressureUnit::Psi, Datum::Gauge, TemperatureUnit::Fahrenheit),
        _ => (
            PressureUnit::InchOfMercury,
            Datum::Absolute,
            TemperatureUnit::Celsius,
        ),
    };
    let leak = match kind {
        3 => LeakRateUnit::KilopascalPerMinute,
        _ => LeakRateUnit::MillibarPerMinute,
    };
    Gauges {
        pressure,
        datum,
        temperature,
        leak,
    }
}

/// How many loads a unit is planned to run on the early and on the late shift.
pub fn n_loads_planned(unit: &Unit, date: NaiveDate) -> (f64, f64) {
    let weekend = is_weekend(date);
    match (unit.kind, weekend, date.weekday()) {
        (0, false, _) => (2.8, 2.2),
        (1, false, _) => (2.6, 2.2),
        (2, false, _) => (3.6, 0.0),
        (3 | 4, false, _) => (1.9, 1.3),
        (5, false, Weekday::Fri) => (0.0, 0.35),
        (5, false, _) => (0.0, 0.65),
        (0, true, _) => (2.2, 0.0),
        (1, true, Weekday::Sat) => (1.3, 0.0),
        (3, true, _) => (1.6, 0.0),
        _ => (0.0, 0.0),
    }
}

impl Unit {
    /// Its software version on a day.
    pub fn software(&self, day: u32, troubles: Troubles) -> &'static str {
        let updated = troubles == Troubles::Planted && self.name == "PL-3" && day >= SOFTWARE_DAY;
        match (self.process, updated) {
            (Process::Plasma, true) => "4.3",
            (Process::Plasma, false) => "4.2",
            (Process::Steam, _) if self.was_reset(day, troubles) => "2.11",
            (Process::Steam, _) => "2.09",
            (Process::Eo, _) => "1.7",
        }
    }

    fn was_reset(&self, day: u32, troubles: Troubles) -> bool {
        troubles == Troubles::Planted && self.name == "ST-1" && day >= RESET_DAY
    }

    /// How far its clock is before the clock on the wall, in seconds.
    pub fn clock_ahead(&self, at: NaiveDateTime, day: u32, troubles: Troubles) -> i32 {
        let steady = match self.kind {
            0 => 65,
            1 => -130,
            2 => 245,
            3 => 20,
            4 if troubles == Troubles::Planted && self.copy == 0 => {
                // Ten seconds a day: a quarter of an hour in three months. Someone sets it after half a year.
                -90 + 10 * i32::try_from(day % 182).unwrap_or(0)
            }
            4 => -40,
            _ => 110,
        };
        if self.name == "PL-3" && troubles == Troubles::Planted {
            steady + summer_time_missed(at.date())
        } else {
            steady
        }
    }
}

/// The offset of the wall clock from UTC at noon of a day, in seconds.
pub fn offset_at_noon(date: NaiveDate) -> i32 {
    let noon = date.and_time(NaiveTime::from_hms_opt(12, 0, 0).unwrap_or(NaiveTime::MIN));
    offset_at(noon)
}

/// The offset of the wall clock from UTC, in seconds.
pub fn offset_at(local: NaiveDateTime) -> i32 {
    ZONE.offset_from_local_datetime(&local)
        .earliest()
        .map_or(0, |offset| offset.fix().local_minus_utc())
}

/// How far a clock is ahead that people set to summer or winter time three days late.
fn summer_time_missed(date: NaiveDate) -> i32 {
    let shown = date
        .checked_sub_days(Days::new(3))
        .map_or(0, offset_at_noon);
    shown - offset_at_noon(date)
}

/// Whether PL-3's clock is set to summer or winter time on this day.
pub fn is_clock_set(date: NaiveDate) -> bool {
    let yesterday = date.pred_opt().unwrap_or(date);
    summer_time_missed(yesterday) != 0 && summer_time_missed(date) == 0
}
