//! A reading that lies far from the one before it and from the one after it, on the same side of both.
//!
//! A chamber full of metal does not warm by ten degrees and cool again between two lines of a strip; a misprinted digit
//! does. Stages that pulse do move so, and are left out. Knows single cycles. The bounds are wide enough for every
//! process in the stages that are looked at; common practice, no source. Read [`find_spikes`].

use super::history::KnownCycle;
use super::said::cycle_said;
use crate::diagnose::Diagnostic;
use crate::diagnose::codes::Code;
use crate::measure::quantity::{AbsolutePressure, STANDARD_ATMOSPHERE};
use crate::record::cycle::{Cycle, Measured, Process, QuantityKind, Reading, StageName};

/// How far a reading may lie from both of its neighbours.
enum Bound {
    /// By so much.
    Step(f64),
    /// By this factor.
    Factor(f64),
}

impl Bound {
    fn of(kind: QuantityKind) -> Option<Self> {
        match kind {
            QuantityKind::Temperature => Some(Bound::Step(5.0)),
            QuantityKind::Humidity => Some(Bound::Step(15.0)),
            QuantityKind::Pressure | QuantityKind::Power => Some(Bound::Factor(1.5)),
            QuantityKind::Concentration => Some(Bound::Factor(1.5)),
            QuantityKind::Conductivity => None,
        }
    }

    /// Whether `own` is above both others, or below both, by more than the bound.
    fn is_passed(&self, before: f64, own: f64, after: f64) -> bool {
        let (low, high) = (before.min(after), before.max(after));
        match self {
            Bound::Step(step) => own > high + step || own < low - step,
            Bound::Factor(factor) => low > 0.0 && (own > high * factor || own * factor < low),
        }
    }
}

/// Says which readings stand out.
pub(super) fn find_spikes(cycles: &[KnownCycle], diagnostics: &mut Vec<Diagnostic>) {
    for cycle in cycles.iter().map(|known| &known.cycle) {
        let ambient = cycle
            .ambient
            .as_ref()
            .map_or(STANDARD_ATMOSPHERE, |ambient| {
                AbsolutePressure::from_pascal(ambient.value.pascal())
            });
        let keeps_warm = cycle
            .process
            .as_ref()
            .is_some_and(|process| process.value != Process::Steam);
        for kind in QuantityKind::ALL {
            let Some(bound) = Bound::of(*kind) else {
                continue;
            };
            let of_kind = |reading: &&Reading| reading.measured.kind() == *kind;
            if *kind == QuantityKind::Temperature && keeps_warm {
                // Without steam the chamber keeps its temperature from stage to stage.
                let readings = cycle
                    .stages
                    .iter()
                    .flat_map(|stage| &stage.readings)
                    .filter(of_kind);
                say_spikes(cycle, readings, &bound, ambient, diagnostics);
                continue;
            }
            for stage in cycle.stages.iter().filter(|stage| is_steady(&stage.name)) {
                let readings = stage.readings.iter().filter(of_kind);
                say_spikes(cycle, readings, &bound, ambient, diagnostics);
            }
        }
    }
}

/// Whether readings in a stage go one way or stay.
fn is_steady(name: &StageName) -> bool {
    matches!(
        name,
        StageName::Evacuate
            | StageName::Diffuse
            | StageName::Plasma
            | StageName::Expose
            | StageName::Aerate
            | StageName::Settle
            | StageName::Hold
    )
}

fn say_spikes<'c>(
    cycle: &Cycle,
    mut readings: impl Iterator<Item = &'c Reading>,
    bound: &Bound,
    ambient: AbsolutePressure,
    diagnostics: &mut Vec<Diagnostic>,
) {
    let (Some(mut before), Some(mut own)) = (readings.next(), readings.next()) else {
        return;
    };
    for after in readings {
        let (a, b, c) = (
            number(before, ambient),
            number(own, ambient),
            number(after, ambient),
        );
        if bound.is_passed(a, b, c) {
            let said = format!(
                "{}, line {}: a {} of {} {} stands between {} and {}",
                cycle_said(cycle),
                own.line,
                own.measured.kind().word(),
                shown(&own.measured),
                own.measured.printed_symbol(),
                shown(&before.measured),
                shown(&after.measured),
            );
            // A reading knows the number of its line and not its place; its stage has one.
            let stage = cycle
                .stages
                .iter()
                .rev()
                .find(|stage| stage.span.line <= own.line);
            let at = stage.map_or(cycle.opening, |stage| stage.span);
            diagnostics.push(Diagnostic::at(Code::ReadingSpike, at, said).caption("in this stage"));
        }
        (before, own) = (own, after);
    }
}

/// A reading in the unit that bounds are in; pressures from vacuum.
fn number(reading: &Reading, ambient: AbsolutePressure) -> f64 {
    match reading.measured {
        Measured::Pressure(value) => value.absolute(ambient).pascal(),
        Measured::Temperature(value) => value.celsius(),
        Measured::Concentration(value) => value.milligrams_per_litre(),
        Measured::Humidity(value) => value.percent(),
        Measured::Power(value) => value.watts(),
        Measured::Conductivity(value) => value.microsiemens_per_centimetre(),
    }
}

/// The printed number, without the digits that only its conversion made.
fn shown(measured: &Measured) -> f64 {
    (measured.printed_number() * 1e4).round() / 1e4
}

#[cfg(test)]
mod tests {
    use super::Bound;
    use crate::diagnose::Diagnostic;
    use crate::diagnose::codes::Code;
    use crate::measure::quantity::{
        Concentration, Conductivity, Datum, Power, Pressure, RelativeHumidity, Temperature,
    };
    use crate::measure::unit::{
        ConcentrationUnit, ConductivityUnit, HumidityUnit, PowerUnit, PressureUnit, TemperatureUnit,
    };
    use crate::reconcile::case::{STRIPS, cycle, london, span, with};
    use crate::reconcile::join_history;
    use crate::record::Spanned;
    use crate::record::cycle::{Cycle, Elapsed, Measured, Process, Reading, Stage, StageName};

    fn headlines(celsius: [f64; 4]) -> Vec<String> {
        let mut case = cycle(1, "PL-1", 1, "2026-03-12 08:00");
        for (at, celsius) in (0..).zip(celsius) {
            case = case.reading(60 * at, celsius);
        }
        let (_, said) = join_history(vec![case.done()], Vec::new(), london());
        with(&said, Code::ReadingSpike)
            .iter()
            .map(|said| said.headline.clone())
            .collect()
    }

    #[test]
    fn one_digit_misprinted_stands_out_and_a_rise_does_not() {
        let said = "PL-1 cycle 1, line 7: a temperature of 95.3 C stands between 45.1 and 45.4";
        assert_eq!(headlines([45.0, 45.1, 95.3, 45.4]), [said]);
        assert!(headlines([35.0, 41.0, 47.0, 53.0]).is_empty());
        assert!(headlines([45.0, 45.0, 49.0, 45.0]).is_empty());
    }

    #[test]
    fn bound_itself_is_not_passed_and_a_little_more_is() {
        let step = Bound::Step(5.0);
        let factor = Bound::Factor(1.5);
        for (bound, before, own, after, passed) in [
            // By hand: 5 above the higher neighbour, 5 below the lower.
            (&step, 44.0, 50.0, 45.0, false),
            (&step, 44.0, 50.1, 45.0, true),
            (&step, 45.0, 50.1, 44.0, true),
            (&step, 45.0, 39.0, 44.0, false),
            (&step, 45.0, 38.9, 44.0, true),
            (&step, 40.0, 46.0, 52.0, false),
            // 1.5 × 100 = 150; 66 × 1.5 = 99.
            (&factor, 80.0, 150.0, 100.0, false),
            (&factor, 80.0, 151.0, 100.0, true),
            (&factor, 99.0, 66.0, 120.0, false),
            (&factor, 99.0, 65.0, 120.0, true),
            (&factor, 120.0, 65.0, 99.0, true),
            (&factor, 100.0, 70.0, 100.0, false),
            (&factor, 80.0, 90.0, 100.0, false),
            // Nothing is so many times nothing.
            (&factor, 0.0, 50.0, 10.0, false),
        ] {
            assert_eq!(
                bound.is_passed(before, own, after),
                passed,
                "{own} between {before} and {after}"
            );
        }
    }

    fn celsius(number: f64) -> Measured {
        Measured::Temperature(Temperature::new(number, TemperatureUnit::Celsius))
    }

    /// A stage on a line, with a reading on each of the lines after it.
    fn stage(name: StageName, line: u32, measured: &[Measured]) -> Stage {
        let readings = measured.iter().zip(1..).map(|(measured, n)| Reading {
            at: Elapsed(60 * n),
            line: line + n.unsigned_abs(),
            measured: *measured,
        });
        Stage {
            name,
            span: span(STRIPS, line),
            began: Elapsed(60),
            limits: Vec::new(),
            n_pulses: None,
            readings: readings.collect(),
        }
    }

    fn said_of(process: Process, stages: Vec<Stage>) -> Vec<Diagnostic> {
        let mut cycle = cycle(1, "ST-1", 1, "2026-03-12 08:00").done();
        cycle.process = Some(Spanned::new(process, cycle.opening));
        said_of_cycle(cycle, stages)
    }

    fn said_of_cycle(mut cycle: Cycle, stages: Vec<Stage>) -> Vec<Diagnostic> {
        cycle.stages = stages;
        let (_, said) = join_history(vec![cycle], Vec::new(), london());
        with(&said, Code::ReadingSpike)
            .into_iter()
            .cloned()
            .collect()
    }

    #[test]
    fn steam_is_looked_at_stage_by_stage_and_only_where_it_holds_still() {
        let spike = [134.5, 164.5, 134.6].map(celsius);
        let n = |name| said_of(Process::Steam, vec![stage(name, 10, &spike)]).len();
        for name in [
            StageName::Evacuate,
            StageName::Diffuse,
            StageName::Plasma,
            StageName::Expose,
            StageName::Aerate,
            StageName::Settle,
            StageName::Hold,
        ] {
            assert_eq!(n(name.clone()), 1, "{name:?}");
        }
        for name in [
            StageName::Warm,
            StageName::Inject,
            StageName::Condition,
            StageName::Exhaust,
            StageName::Dry,
            StageName::Vent,
            StageName::Other("pulse".to_owned()),
        ] {
            assert_eq!(n(name.clone()), 0, "{name:?}");
        }
        // Cold, hot and cold again is what steam does from stage to stage; a plasma chamber keeps its warmth.
        let course = || {
            vec![
                stage(StageName::Evacuate, 10, &[celsius(60.0)]),
                stage(StageName::Expose, 20, &[celsius(134.5)]),
                stage(StageName::Hold, 30, &[celsius(80.0)]),
            ]
        };
        assert_eq!(said_of(Process::Steam, course()).len(), 0);
        assert_eq!(said_of(Process::Plasma, course()).len(), 1);
    }

    #[test]
    fn spike_is_shown_at_the_stage_that_holds_its_line() {
        let still = [45.0, 45.0, 45.0].map(celsius);
        let spike = [45.0, 95.0, 45.0].map(celsius);
        let said = said_of(
            Process::Plasma,
            vec![
                stage(StageName::Diffuse, 10, &still),
                stage(StageName::Plasma, 20, &spike),
                stage(StageName::Vent, 30, &still),
            ],
        );
        assert_eq!(said.len(), 1);
        assert_eq!(said[0].primary.unwrap().line, 20);
        assert!(said[0].headline.contains("line 22"));
    }

    #[test]
    fn every_quantity_has_its_own_bound_and_conductivity_has_none() {
        let pressure = |number| {
            Measured::Pressure(Pressure::new(
                number,
                PressureUnit::Kilopascal,
                Datum::Absolute,
            ))
        };
        let gauge = |number| {
            Measured::Pressure(Pressure::new(
                number,
                PressureUnit::Kilopascal,
                Datum::Gauge,
            ))
        };
        let power = |number| Measured::Power(Power::new(number, PowerUnit::Watt));
        let humidity =
            |number| Measured::Humidity(RelativeHumidity::new(number, HumidityUnit::Percent));
        let concentration = |number| {
            Measured::Concentration(Concentration::new(
                number,
                ConcentrationUnit::MilligramPerLitre,
            ))
        };
        let conductivity = |number| {
            Measured::Conductivity(Conductivity::new(
                number,
                ConductivityUnit::MicrosiemensPerCentimetre,
            ))
        };
        let n = |readings: [Measured; 3]| {
            said_of(Process::Eo, vec![stage(StageName::Expose, 10, &readings)]).len()
        };
        assert_eq!(n([pressure(10.0), pressure(16.0), pressure(10.0)]), 1);
        assert_eq!(n([pressure(10.0), pressure(14.0), pressure(10.0)]), 0);
        // From vacuum: 101.325 + 10 = 111, and 101.325 + 50 = 151 is less than one and a half of it.
        assert_eq!(n([gauge(10.0), gauge(50.0), gauge(10.0)]), 0);
        assert_eq!(n([power(400.0), power(601.0), power(400.0)]), 1);
        assert_eq!(n([humidity(50.0), humidity(65.0), humidity(50.0)]), 0);
        assert_eq!(n([humidity(50.0), humidity(66.0), humidity(50.0)]), 1);
        assert_eq!(
            n([
                concentration(600.0),
                concentration(901.0),
                concentration(600.0)
            ]),
            1
        );
        assert_eq!(
            n([
                concentration(600.0),
                concentration(899.0),
                concentration(600.0)
            ]),
            0
        );
        assert_eq!(
            n([conductivity(1.0), conductivity(90.0), conductivity(1.0)]),
            0
        );
    }

    #[test]
    fn gauge_pressures_are_taken_from_the_ambient_pressure_that_is_printed() {
        let gauge = |number| {
            Measured::Pressure(Pressure::new(
                number,
                PressureUnit::Kilopascal,
                Datum::Gauge,
            ))
        };
        let readings = [gauge(10.0), gauge(50.0), gauge(10.0)];
        let mut high = cycle(1, "EO-1", 1, "2026-03-12 08:00").done();
        // High up: 60 + 50 = 110 is more than one and a half of 60 + 10 = 70.
        let ambient = Pressure::new(60.0, PressureUnit::Kilopascal, Datum::Absolute);
        high.ambient = Some(Spanned::new(ambient, high.opening));
        let stages = vec![stage(StageName::Expose, 10, &readings)];
        assert_eq!(said_of_cycle(high, stages).len(), 1);
    }
}
