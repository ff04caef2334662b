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
    use crate::diagnose::codes::Code;
    use crate::reconcile::case::{cycle, london, with};
    use crate::reconcile::join_history;

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
}
