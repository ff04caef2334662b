//! A cycle of a low-temperature hydrogen-peroxide gas plasma unit: pressures, temperatures, concentration and power.
//!
//! The chamber is pumped down, peroxide is injected and spreads, plasma follows; inject, diffuse and plasma come twice,
//! and filtered air is let in. Cycles last 28 to 75 minutes below 50 °C (CDC, Guideline for Disinfection and
//! Sterilization in Healthcare Facilities, 2008, Table 6), with about 6 mg/L of peroxide (the same, section on gas
//! plasma; from memory). A load that is damp boils off water and the set pressure is not reached: the cycle aborts
//! (common practice; the same guideline, from memory). Read [`run_plasma`] first.

use super::chance::{Chance, decay};
use super::ending::Ending;
use super::strip::{Strip, at_least, at_most, concentration, lasting, power};
use crate::record::cause::Cause;
use crate::record::cycle::{Bound, StageName};

/// The time that the pump has to reach the set pressure, in seconds.
pub const EVACUATE_LIMIT_SECONDS: i32 = 1_200;

/// The set pressure of the evacuation, in pascal.
pub const SET_PRESSURE_PASCAL: f64 = 53.4;

const AMBIENT_PASCAL: f64 = 101_300.0;

/// A program: what it is for, and how long its stages last, in seconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PlasmaProgram {
    /// Its name.
    pub name: &'static str,
    /// The pump-down of a dry load.
    pub evacuate: i32,
    /// Each injection.
    pub inject: i32,
    /// Each diffusion.
    pub diffuse: i32,
    /// Each plasma.
    pub plasma: i32,
}

/// Surface instruments in pouches.
pub const EXPRESS: PlasmaProgram = PlasmaProgram {
    name: "express",
    evacuate: 570,
    inject: 120,
    diffuse: 240,
    plasma: 180,
};

/// Most loads.
pub const STANDARD: PlasmaProgram = PlasmaProgram {
    name: "standard",
    evacuate: 660,
    inject: 150,
    diffuse: 390,
    plasma: 240,
};

/// Long lumens.
pub const LUMEN: PlasmaProgram = PlasmaProgram {
    name: "lumen",
    evacuate: 720,
    inject: 240,
    diffuse: 660,
    plasma: 300,
};

/// One cycle to be run.
#[derive(Debug, Clone)]
pub struct PlasmaRun {
    /// The program.
    pub program: PlasmaProgram,
    /// The seconds that the pump-down takes, if the load is dry.
    pub evacuate_seconds: i32,
    /// Chamber temperature at the start: lower in the first cycle of a day.
    pub start_celsius: f64,
    /// How it ends.
    pub ending: Ending,
}

/// Runs a cycle, from its first stage to the last line before the outcome.
pub fn run_plasma(strip: &mut Strip, chance: &mut Chance, run: &PlasmaRun) {
    if let Ending::Rejected(cause) = &run.ending {
        strip.elapsed += chance.whole(20, 70);
        strip.event("door closed");
        strip.elapsed += chance.whole(15, 60);
        strip.alarm(cause.clone(), cause.said());
        strip.elapsed += chance.whole(5, 30);
        return;
    }
    let mut course = Course {
        celsius: run.start_celsius,
        goal_celsius: chance.between(46.8, 48.4),
        run,
    };
    if !course.evacuate(strip, chance) {
        return vent(strip, chance, &course);
    }
    for _ in 0..2 {
        let injected = chance.between(5.7, 6.6);
        if !course.expose(strip, chance, injected) || !course.plasma(strip, chance) {
            return vent(strip, chance, &course);
        }
    }
    vent(strip, chance, &course);
}

fn vent(strip: &mut Strip, chance: &mut Chance, course: &Course<'_>) {
    strip.stage(StageName::Vent, Vec::new());
    let celsius = course.celsius - chance.between(0.5, 1.5);
    let values = [
        strip.gauges.pressure(chance.between(100_600.0, 101_300.0)),
        strip.gauges.temperature(celsius),
    ];
    strip.reading_after(chance.whole(150, 240), &values);
    strip.elapsed += chance.whole(10, 40);
}

struct Course<'r> {
    celsius: f64,
    goal_celsius: f64,
    run: &'r PlasmaRun,
}

impl Course<'_> {
    /// The chamber walls warm the load by an eighth of what is missing, each minute.
    fn warm(&mut self, chance: &mut Chance, seconds: i32) -> f64 {
        let missing = self.goal_celsius - self.celsius;
        self.celsius += missing * (1.0 - decay(f64::from(seconds) / 480.0));
        (self.celsius + chance.spread(0.0, 0.12)).clamp(37.5, 49.6)
    }

    /// Pumps down. Whether the set pressure was reached in time.
    fn evacuate(&mut self, strip: &mut Strip, chance: &mut Chance) -> bool {
        strip.stage(
            StageName::Evacuate,
            vec![
                at_most(strip.gauges.pressure(SET_PRESSURE_PASCAL)),
                lasting(f64::from(EVACUATE_LIMIT_SECONDS) / 60.0, Bound::Max),
            ],
        );
        let stops = self.run.ending.stops_in(&StageName::Evacuate);
        let wet = stops.is_some_and(|cause| *cause == Cause::Moisture);
        let lasts = match stops {
            Some(Cause::Moisture | Cause::PressureNotReached) => EVACUATE_LIMIT_SECONDS,
            Some(_) => self.run.evacuate_seconds / 2,
            None => self.run.evacuate_seconds,
        };
        // Water boils at the pressure of its vapour, which falls as the load cools: from 2.3 kPa at 20 °C to 0.61 kPa
        // when it freezes. A leak or a weak pump stalls lower.
        let stall = match stops {
            Some(Cause::Moisture) => chance.between(240.0, 1_100.0),
            Some(_) => chance.between(75.0, 140.0),
            None => chance.between(45.5, 51.5),
        };
        let began = strip.elapsed;
        loop {
            let step = (began + lasts - strip.elapsed).min(60);
            // A remainder of a few seconds gets no line of its own.
            let step = if began + lasts - strip.elapsed - step < 20 {
                began + lasts - strip.elapsed
            } else {
                step
            };
            let spent = f64::from(strip.elapsed + step - began);
            let dry = spent / f64::from(self.run.evacuate_seconds);
            // Fast at first, then ever slower, as water leaves the walls: exp(-λ(0.6x + 0.4√x)) reaches 1/2100 at x = 1.
            let pumped = AMBIENT_PASCAL * decay(7.65 * (0.6 * dry + 0.4 * dry.sqrt()));
            let ends = spent >= f64::from(lasts);
            let pascal = if stops.is_none() && ends {
                stall
            } else if stops.is_none() {
                pumped.max(stall * 1.05)
            } else {
                let sinking = if wet {
                    1.0 - 0.3 * (dry - 0.5).max(0.0) / 2.0
                } else {
                    1.0
                };
                pumped.max(stall * sinking * chance.between(0.985, 1.015))
            };
            let celsius = self.warm(chance, step) - if wet { 0.8 * dry.min(1.0) } else { 0.0 };
            let values = [
                strip.gauges.pressure(pascal),
                strip.gauges.temperature(celsius.max(37.5)),
            ];
            strip.reading_after(step, &values);
            if strip.elapsed - began >= lasts {
                break;
            }
        }
        match stops {
            None => true,
            Some(cause) => {
                let words = match cause {
                    Cause::Moisture | Cause::PressureNotReached => "set pressure not reached",
                    _ => cause.said(),
                };
                strip.alarm(cause.clone(), words);
                false
            }
        }
    }

    /// Injects and diffuses. Whether there was enough peroxide to the end.
    fn expose(&mut self, strip: &mut Strip, chance: &mut Chance, injected: f64) -> bool {
        strip.stage(StageName::Inject, Vec::new());
        let low = self.run.ending.stops_in(&StageName::Inject);
        let injected = if low.is_some() {
            chance.between(1.2, 2.9)
        } else {
            injected
        };
        // 1 mg/L of peroxide from a solution of 58 % brings about 190 Pa at 47 °C, its water included (ideal gas).
        let pascal_of = |milligrams: f64| 40.0 + 190.0 * milligrams;
        let n_lines = self.run.program.inject / 60;
        let step = self.run.program.inject / n_lines.max(1);
        for line in 1..=n_lines {
            let share = f64::from(line) / f64::from(n_lines.max(1));
            let milligrams = injected * (0.35 + 0.65 * share);
            let values = [
                strip.gauges.pressure(pascal_of(milligrams)),
                strip.gauges.temperature(self.warm(chance, step)),
                concentration(milligrams, 2),
            ];
            strip.reading_after(step, &values);
        }
        if let Some(cause) = low {
            strip.alarm(cause.clone(), cause.said());
            return false;
        }
        strip.stage(StageName::Diffuse, vec![at_least(concentration(3.5, 1))]);
        let low = self.run.ending.stops_in(&StageName::Diffuse);
        let lost_each_minute = if low.is_some() {
            chance.between(0.30, 0.42)
        } else {
            chance.between(0.012, 0.022)
        };
        let n_lines = self.run.program.diffuse / 120;
        let step = self.run.program.diffuse / n_lines.max(1);
        let mut left = injected;
        for _ in 0..n_lines {
            left *= decay(lost_each_minute * f64::from(step) / 60.0);
            let values = [
                strip.gauges.pressure(pascal_of(left) * 1.01),
                strip.gauges.temperature(self.warm(chance, step)),
                concentration(left, 2),
            ];
            strip.reading_after(step, &values);
            if left < 3.5 {
                break;
            }
        }
        if let Some(cause) = low {
            strip.alarm(cause.clone(), cause.said());
            return false;
        }
        true
    }

    /// Makes plasma. Whether its power held.
    fn plasma(&mut self, strip: &mut Strip, chance: &mut Chance) -> bool {
        strip.stage(StageName::Plasma, vec![at_least(power(350.0))]);
        let low = self.run.ending.stops_in(&StageName::Plasma);
        let n_lines = self.run.program.plasma / 80;
        let step = self.run.program.plasma / n_lines.max(1);
        for _ in 0..n_lines {
            let watts = if low.is_some() {
                chance.between(110.0, 300.0)
            } else {
                chance.spread(402.0, 4.0)
            };
            let values = [
                strip.gauges.pressure(chance.between(58.0, 72.0)),
                strip.gauges.temperature(self.warm(chance, step) + 0.3),
                power(watts),
            ];
            strip.reading_after(step, &values);
            if low.is_some() {
                break;
            }
        }
        match low {
            None => true,
            Some(cause) => {
                strip.alarm(cause.clone(), cause.said());
                false
            }
        }
    }
}
