//! A cycle of an ethylene-oxide unit: humidifying, gas, exposure, exhaust, and aeration over the night.
//!
//! Exposure is at 450 to 1200 mg/L, 37 to 63 °C, 40 to 80 % relative humidity for 1 to 6 hours (CDC, Guideline for
//! Disinfection and Sterilization in Healthcare Facilities, 2008, section on ethylene oxide), then aeration for 8 to 12
//! hours at 50 to 60 °C (the same, Table 1). Read [`run_eo`] first.

use super::chance::Chance;
use super::ending::Ending;
use super::strip::{Strip, at_least, at_most, concentration, humidity, lasting};
use crate::record::cycle::{Bound, StageName};

/// A program of an ethylene-oxide unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EoProgram {
    /// Its name.
    pub name: &'static str,
    /// The temperature of exposure, in degrees Celsius.
    pub celsius: f64,
    /// The exposure, in minutes.
    pub expose_minutes: i32,
    /// The concentration aimed at, in milligrams per litre.
    pub milligrams_per_litre: f64,
}

/// What bears 55 °C.
pub const WARM: EoProgram = EoProgram {
    name: "warm 55",
    celsius: 55.0,
    expose_minutes: 120,
    milligrams_per_litre: 690.0,
};

/// What bears 38 °C at most.
pub const COOL: EoProgram = EoProgram {
    name: "cool 38",
    celsius: 39.0,
    expose_minutes: 270,
    milligrams_per_litre: 735.0,
};

/// The least time of aeration, in minutes.
pub const AERATE_LEAST_MINUTES: i32 = 480;

/// One cycle to be run.
#[derive(Debug, Clone)]
pub struct EoRun {
    /// The program.
    pub program: EoProgram,
    /// The aeration, in minutes: shorter than it should be where it is cut short.
    pub aerate_minutes: i32,
    /// What the first cycle of the day adds to the heating, in seconds.
    pub cold_seconds: i32,
    /// How it ends.
    pub ending: Ending,
}

/// The pressure that a concentration of ethylene oxide (44.05 g/mol) adds, in pascal, as an ideal gas.
fn pascal_of_gas(milligrams_per_litre: f64, celsius: f64) -> f64 {
    milligrams_per_litre / 44.05 * 8.314 * (celsius + 273.15)
}

/// Runs a cycle, from its first stage to the last line before the outcome.
pub fn run_eo(strip: &mut Strip, chance: &mut Chance, run: &EoRun) {
    let goal = run.program.celsius;
    let steady = |chance: &mut Chance| goal + chance.spread(0.0, 0.25);
    let moist = chance.between(52.0, 60.0);
    strip.stage(
        StageName::Condition,
        vec![at_least(humidity(40.0)), at_most(humidity(80.0))],
    );
    for (celsius, percent, pascal) in [
        (goal - 9.0, 31.0, 34_000.0),
        (goal - 5.0, 36.0, 8_200.0),
        (goal - 2.5, 44.0, 9_600.0),
        (goal - 1.0, 50.0, 10_800.0),
        (goal, moist, 11_600.0),
    ] {
        let values = [
            strip.gauges.pressure(pascal * chance.between(0.98, 1.02)),
            strip.gauges.temperature(celsius + chance.spread(0.0, 0.2)),
            humidity(percent + chance.spread(0.0, 0.6)),
        ];
        strip.reading_after(600 + run.cold_seconds / 5, &values);
    }
    if let Some(cause) = run.ending.stops_in(&StageName::Condition) {
        strip.alarm(cause.clone(), cause.said());
        return vent(strip, chance, goal);
    }
    strip.stage(StageName::Inject, Vec::new());
    let milligrams = run.program.milligrams_per_litre * chance.between(0.97, 1.03);
    for share in [0.5, 1.0] {
        let celsius = steady(chance);
        let values = [
            strip
                .gauges
                .pressure(11_600.0 + pascal_of_gas(milligrams * share, celsius)),
            strip.gauges.temperature(celsius),
            concentration(milligrams * share, 0),
        ];
        strip.reading_after(300, &values);
    }
    expose(strip, chance, run, milligrams, moist);
    strip.stage(StageName::Exhaust, Vec::new());
    strip.pulses(6);
    for left in [0.1, 0.02] {
        let values = [
            strip.gauges.pressure(chance.between(7_500.0, 9_500.0)),
            strip.gauges.temperature(steady(chance)),
            concentration(milligrams * left, 0),
        ];
        strip.reading_after(900, &values);
    }
    aerate(strip, chance, run);
    vent(strip, chance, 52.0);
}

fn expose(strip: &mut Strip, chance: &mut Chance, run: &EoRun, milligrams: f64, moist: f64) {
    let minutes = run.program.expose_minutes;
    strip.stage(
        StageName::Expose,
        vec![
            at_least(concentration(450.0, 0)),
            at_most(concentration(1_200.0, 0)),
            at_least(strip.gauges.temperature(37.0)),
            at_most(strip.gauges.temperature(63.0)),
            lasting(f64::from(minutes), Bound::Min),
        ],
    );
    let n_lines = 12;
    for line in 1..=n_lines {
        // Packs and plastics take up gas.
        let left = milligrams * (1.0 - 0.06 * f64::from(line) / f64::from(n_lines));
        let celsius = run.program.celsius + chance.spread(0.0, 0.25);
        let values = [
            strip
                .gauges
                .pressure(11_600.0 + pascal_of_gas(left, celsius)),
            strip.gauges.temperature(celsius),
            concentration(left, 0),
            humidity(moist - 2.0 + chance.spread(0.0, 0.7)),
        ];
        strip.reading_after(minutes * 60 / n_lines, &values);
    }
}

fn aerate(strip: &mut Strip, chance: &mut Chance, run: &EoRun) {
    strip.stage(
        StageName::Aerate,
        vec![
            at_least(strip.gauges.temperature(50.0)),
            lasting(f64::from(AERATE_LEAST_MINUTES), Bound::Min),
        ],
    );
    let mut left = run.aerate_minutes;
    while left > 0 {
        let minutes = left.min(45);
        let values = [
            strip.gauges.pressure(chance.between(84_000.0, 92_000.0)),
            strip.gauges.temperature(55.0 + chance.spread(0.0, 0.6)),
        ];
        strip.reading_after(minutes * 60, &values);
        left -= minutes;
    }
    if let Some(cause) = run.ending.stops_in(&StageName::Aerate) {
        strip.alarm(cause.clone(), cause.said());
    }
}

fn vent(strip: &mut Strip, chance: &mut Chance, celsius: f64) {
    strip.stage(StageName::Vent, Vec::new());
    let values = [
        strip.gauges.pressure(chance.between(100_600.0, 101_300.0)),
        strip.gauges.temperature(celsius - chance.between(1.0, 3.0)),
    ];
    strip.reading_after(chance.whole(240, 420), &values);
    strip.elapsed += chance.whole(10, 40);
}
