//! A cycle of a steam unit: air removal by pulses, exposure in saturated steam, drying; and its daily tests.
//!
//! Exposure pairs: 121 °C 15 min and 134 °C 3 min (Medical Research Council pairs, Central Sterilising Club handbook,
//! Table 10.2), 132 °C 4 min with drying of 20 to 30 min (CDC, Guideline for Disinfection and Sterilization in
//! Healthcare Facilities, 2008, Table 7). The bands are 3 K wide and the measured temperature is within 2 K of the one
//! that belongs to the pressure (EN 285; from memory). The leak test lets the pressure rise by 1.3 mbar/min at most
//! (the same), from 70 mbar at most and after 5 minutes to settle (from memory). Read [`run_steam`] first.

use super::chance::{Chance, decay};
use super::ending::Ending;
use super::saturation::{pressure_pascal, temperature_celsius};
use super::strip::{Strip, at_least, at_most, lasting};
use crate::record::cause::Cause;
use crate::record::cycle::{Bound, StageName};

/// The rise of pressure that a leak test allows, in pascal per minute.
pub const LEAK_LIMIT: f64 = 130.0;

const AMBIENT_PASCAL: f64 = 101_325.0;

/// A program of a steam unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SteamProgram {
    /// Its name.
    pub name: &'static str,
    /// The lower end of the band, in degrees Celsius.
    pub celsius: f64,
    /// The exposure that the program asks for, in seconds.
    pub expose: i32,
    /// The drying, in seconds.
    pub dry: i32,
    /// The number of pulses that remove the air.
    pub n_pulses: i32,
}

/// Wrapped instruments.
pub const WRAPPED_134: SteamProgram = SteamProgram {
    name: "wrapped 134",
    celsius: 134.0,
    expose: 180,
    dry: 2_280,
    n_pulses: 4,
};

/// Heavy instrument sets.
pub const WRAPPED_132: SteamProgram = SteamProgram {
    name: "wrapped 132",
    celsius: 132.0,
    expose: 240,
    dry: 2_340,
    n_pulses: 4,
};

/// What can't bear more.
pub const PLASTICS_121: SteamProgram = SteamProgram {
    name: "plastics 121",
    celsius: 121.0,
    expose: 900,
    dry: 2_100,
    n_pulses: 4,
};

/// The daily test of air removal: an empty chamber but for the test pack, 134 °C for 3.5 minutes at most.
pub const AIR_REMOVAL: SteamProgram = SteamProgram {
    name: "air removal",
    celsius: 134.0,
    expose: 180,
    dry: 240,
    n_pulses: 4,
};

/// The short cycle that warms an empty chamber.
pub const WARM_UP: SteamProgram = SteamProgram {
    name: "warm-up",
    celsius: 134.0,
    expose: 180,
    dry: 180,
    n_pulses: 1,
};

/// One cycle to be run.
#[derive(Debug, Clone)]
pub struct SteamRun {
    /// The program.
    pub program: SteamProgram,
    /// What the cold chamber of a day's first load adds to the air removal, in seconds.
    pub cold_seconds: i32,
    /// How it ends.
    pub ending: Ending,
}

/// Runs a cycle, from its first stage to the last line before the outcome.
pub fn run_steam(strip: &mut Strip, chance: &mut Chance, run: &SteamRun) {
    if condition(strip, chance, run) && expose(strip, chance, run) {
        exhaust(strip, chance);
        dry(strip, chance, run);
    } else {
        exhaust(strip, chance);
    }
    strip.stage(StageName::Vent, Vec::new());
    let values = [
        strip.gauges.pressure(chance.between(98_900.0, 101_300.0)),
        strip.gauges.temperature(chance.between(78.0, 92.0)),
    ];
    strip.reading_after(chance.whole(120, 210), &values);
    strip.elapsed += chance.whole(10, 40);
}

/// Prints pressure and temperature of saturated steam, as the gauges see them.
fn read_steam(strip: &mut Strip, chance: &mut Chance, seconds: i32, celsius: f64) {
    let by_pressure = celsius + chance.spread(0.05, 0.12);
    let values = [
        strip.gauges.pressure(pressure_pascal(by_pressure)),
        strip.gauges.temperature(celsius),
    ];
    strip.reading_after(seconds, &values);
}

fn stop(strip: &mut Strip, cause: &Cause) -> bool {
    strip.alarm(cause.clone(), cause.said());
    false
}

/// Removes the air and heats up. Whether the chamber reached the exposure.
fn condition(strip: &mut Strip, chance: &mut Chance, run: &SteamRun) -> bool {
    strip.stage(StageName::Condition, Vec::new());
    strip.pulses(run.program.n_pulses.unsigned_abs());
    let stops = run.ending.stops_in(&StageName::Condition);
    let stops_after = match stops {
        Some(_) => chance.whole(1, run.program.n_pulses),
        None => run.program.n_pulses,
    };
    let cold = run.cold_seconds / run.program.n_pulses.max(1);
    let mut wall = chance.between(84.0, 92.0) - f64::from(run.cold_seconds) / 12.0;
    for _ in 0..stops_after {
        let vacuum = [
            strip.gauges.pressure(chance.between(7_600.0, 9_900.0)),
            strip.gauges.temperature(wall),
        ];
        strip.reading_after(chance.whole(112, 140), &vacuum);
        let pascal = chance.between(152_000.0, 172_000.0);
        let steam = [
            strip.gauges.pressure(pascal),
            strip
                .gauges
                .temperature(temperature_celsius(pascal) - chance.between(0.0, 0.6)),
        ];
        strip.reading_after(chance.whole(84, 104) + cold, &steam);
        wall = (wall + 5.0).min(96.0);
    }
    if let Some(cause) = stops {
        return stop(strip, cause);
    }
    for share in [0.35, 0.7, 0.95] {
        let celsius = 113.0 + (run.program.celsius - 113.0) * share;
        read_steam(strip, chance, 50, celsius);
    }
    strip.elapsed += chance.whole(12, 28);
    true
}

/// Holds the exposure. Whether it was held to its end.
fn expose(strip: &mut Strip, chance: &mut Chance, run: &SteamRun) -> bool {
    let SteamProgram {
        celsius, expose, ..
    } = run.program;
    strip.stage(
        StageName::Expose,
        vec![
            at_least(strip.gauges.temperature(celsius)),
            at_most(strip.gauges.temperature(celsius + 3.0)),
            lasting(f64::from(expose) / 60.0, Bound::Min),
        ],
    );
    let stops = run.ending.stops_in(&StageName::Expose);
    let plateau = celsius + chance.between(0.8, 1.5);
    let n_lines = (expose / if expose > 300 { 120 } else { 30 }).max(2);
    let step = expose / n_lines;
    let stops_after = chance.whole(1, n_lines - 1);
    let at_first = celsius + chance.between(0.2, 0.5);
    read_steam(strip, chance, 5, at_first);
    for line in 1..=n_lines {
        if let Some(cause) = stops
            && line >= stops_after
        {
            let fallen = celsius - chance.between(0.6, 2.4);
            match cause {
                // Air between the steam takes up pressure and no heat.
                Cause::AirPresent => {
                    let values = [
                        strip.gauges.pressure(pressure_pascal(celsius + 1.2)),
                        strip.gauges.temperature(fallen - 1.0),
                    ];
                    strip.reading_after(step, &values);
                }
                _ => read_steam(strip, chance, step, fallen),
            }
            return stop(strip, cause);
        }
        let approach = plateau - (plateau - celsius - 0.3) * decay(f64::from(line) * 0.9);
        let held = (approach + chance.spread(0.0, 0.08)).clamp(celsius + 0.15, celsius + 2.7);
        read_steam(strip, chance, step, held);
    }
    strip.elapsed += chance.whole(1, 9);
    true
}

fn exhaust(strip: &mut Strip, chance: &mut Chance) {
    strip.stage(StageName::Exhaust, Vec::new());
    for (low, high) in [(168_000.0, 182_000.0), (99_000.0, 104_000.0)] {
        let pascal = chance.between(low, high);
        let values = [
            strip.gauges.pressure(pascal),
            strip
                .gauges
                .temperature(temperature_celsius(pascal) + chance.between(0.2, 2.0)),
        ];
        strip.reading_after(chance.whole(85, 110), &values);
    }
}

fn dry(strip: &mut Strip, chance: &mut Chance, run: &SteamRun) {
    let lasts = run.program.dry;
    strip.stage(
        StageName::Dry,
        vec![lasting(f64::from(lasts) / 60.0, Bound::Min)],
    );
    let n_lines = (lasts / 300).max(1);
    for line in 1..=n_lines {
        let pumped = decay(f64::from(line) * 1.3);
        let values = [
            strip
                .gauges
                .pressure(chance.between(5_400.0, 6_300.0) + 60_000.0 * pumped),
            strip
                .gauges
                .temperature(86.0 + 24.0 * pumped + chance.between(-1.0, 1.0)),
        ];
        strip.reading_after(lasts / n_lines, &values);
    }
    // What the division left over, so that the stage never falls short of the limit that it prints.
    strip.elapsed += lasts % n_lines + chance.whole(1, 20);
}

/// Runs a leak test: pumps down, waits, and watches the pressure rise for ten minutes by `pascal_per_minute`.
/// The rate as it is printed is set on the strip.
pub fn run_leak_test(strip: &mut Strip, chance: &mut Chance, pascal_per_minute: f64) {
    let start = chance.between(4_300.0, 5_600.0);
    strip.elapsed += 5;
    strip.stage(
        StageName::Evacuate,
        vec![at_most(strip.gauges.pressure(7_000.0))],
    );
    for share in [0.3, 0.65] {
        let pascal = start + (AMBIENT_PASCAL - start) * decay(6.0 * share);
        let values = [strip.gauges.pressure(pascal)];
        strip.reading_after(chance.whole(96, 104), &values);
    }
    let values = [strip.gauges.pressure(start)];
    strip.reading_after(chance.whole(96, 104), &values);
    strip.elapsed += 5;
    strip.stage(StageName::Settle, Vec::new());
    // Droplets left on the wall turn to vapour while the pressure settles.
    let settled = start + 5.0 * pascal_per_minute + chance.between(40.0, 120.0);
    let values = [strip.gauges.pressure(settled)];
    strip.reading_after(300, &values);
    strip.stage(StageName::Hold, Vec::new());
    for minute in [2, 4, 6, 8, 10] {
        let values = [strip
            .gauges
            .pressure(settled + f64::from(minute) * pascal_per_minute)];
        strip.reading_after(120, &values);
    }
    strip.leak(pascal_per_minute, LEAK_LIMIT);
    strip.stage(StageName::Vent, Vec::new());
    strip.elapsed += chance.whole(80, 130);
}
