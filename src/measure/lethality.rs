//! Lethality of moist heat: the F0 integral.
//!
//! F0 = ∫ 10^((T − Tref)/z) dt, in minutes at the reference temperature, with z = 10 K. The reference temperature is
//! 121.1 °C in USP <1229.2> and 121.0 °C in Ph. Eur. 5.1.5; the two differ by 2.3 %, so that a value without its
//! reference says nothing: [`Lethality`] always carries it. It is for moist heat only, and for saturated steam without
//! air; that is the caller's to know. Knows nothing of sterilizers. Read [`lethality`] first.

use serde::Serialize;

/// The z-value of F0, in kelvin (USP <1229.2>, Ph. Eur. 5.1.5; formula seen in several technical notes).
const Z_KELVIN: f64 = 10.0;

/// The reference temperature of an F0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum F0Reference {
    /// 121.1 °C: USP <1229.2>.
    Usp,
    /// 121.0 °C: Ph. Eur. 5.1.5.
    PhEur,
}

impl F0Reference {
    /// Every reference.
    pub const ALL: &'static [F0Reference] = &[F0Reference::Usp, F0Reference::PhEur];

    /// The temperature, in degrees Celsius.
    pub fn celsius(self) -> f64 {
        match self {
            F0Reference::Usp => 121.1,
            F0Reference::PhEur => 121.0,
        }
    }
}

/// An F0: minutes at its reference temperature.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Lethality {
    /// The minutes.
    pub minutes: f64,
    /// What they are minutes at.
    pub reference: F0Reference,
}

impl std::fmt::Display for Lethality {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "F0 {:.1} min (reference {:.1} °C, z = 10 K)",
            self.minutes,
            self.reference.celsius()
        )
    }
}

/// How temperature is taken to go between two readings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Between {
    /// Temperature goes in a straight line; its lethality is integrated exactly. The lower of the two.
    StraightTemperature,
    /// Lethality goes in a straight line (the trapezoid rule, as most charts do it). It counts too much on steep ramps
    /// with few readings.
    StraightLethality,
}

/// The lethal rate at a temperature: minutes at the reference for each minute.
pub fn lethal_rate(celsius: f64, reference: F0Reference) -> f64 {
    10_f64.powf((celsius - reference.celsius()) / Z_KELVIN)
}

/// The F0 of readings of (minutes, degrees Celsius) in order of time.
///
/// Steps that go back in time or hold no number are passed over. Fewer than two readings give 0.
pub fn lethality(readings: &[(f64, f64)], reference: F0Reference, between: Between) -> Lethality {
    let mut minutes = 0.0;
    for (from, to) in readings.iter().zip(readings.iter().skip(1)) {
        let step = to.0 - from.0;
        if step <= 0.0 || !step.is_finite() || !from.1.is_finite() || !to.1.is_finite() {
            continue;
        }
        let (a, b) = (lethal_rate(from.1, reference), lethal_rate(to.1, reference));
        minutes += step
            * match between {
                Between::StraightLethality => (a + b) / 2.0,
                Between::StraightTemperature => logarithmic_mean(a, b, to.1 - from.1),
            };
    }
    Lethality { minutes, reference }
}

/// The mean of a rate that goes exponentially from `a` to `b` while temperature rises by `kelvin`:
/// (b − a) / (kelvin · ln 10 / z).
fn logarithmic_mean(a: f64, b: f64, kelvin: f64) -> f64 {
    let exponent = kelvin * std::f64::consts::LN_10 / Z_KELVIN;
    if exponent.abs() < 1e-6 {
        (a + b) / 2.0
    } else {
        (b - a) / exponent
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TRACES: &str = include_str!("../../tests/reference/f0_traces.csv");
    const VALUES: &str = include_str!("../../tests/reference/f0_values.csv");

    fn trace(name: &str) -> Vec<(f64, f64)> {
        let rows = TRACES.lines().skip(1).filter_map(|row| {
            let mut cells = row.split(',');
            (cells.next()? == name).then_some(())?;
            Some((cells.next()?.parse().ok()?, cells.next()?.parse().ok()?))
        });
        rows.collect()
    }

    fn reference(celsius: &str) -> F0Reference {
        match celsius {
            "121.1" => F0Reference::Usp,
            "121.0" => F0Reference::PhEur,
            other => panic!("{other}"),
        }
    }

    #[test]
    fn traces_have_the_calculated_values() {
        // CALC by NumPy, tests/reference/README.md.
        let mut n_rows = 0;
        for row in VALUES.lines().skip(1) {
            let cells: Vec<&str> = row.split(',').collect();
            let readings = trace(cells[0]);
            assert!(readings.len() > 10);
            let between = match cells[2] {
                "trapezoid" => Between::StraightLethality,
                "linear_exact" => Between::StraightTemperature,
                other => panic!("{other}"),
            };
            let expected: f64 = cells[3].parse().unwrap();
            let ours = lethality(&readings, reference(cells[1]), between).minutes;
            assert!((ours / expected - 1.0).abs() < 1e-9, "{row}: {ours}");
            n_rows += 1;
        }
        assert_eq!(n_rows, 8);
    }

    #[test]
    fn constant_temperatures_have_the_worked_values() {
        // CALC, reference/standards.md, section 2, "F0 worked values": reference 121.1 / 121.0. A published note gives
        // 15 min at 111 °C = 1.5 and at 121 °C = 15 with reference 121 (seen).
        for (minutes, celsius, usp, ph_eur) in [
            (15.0, 121.0, 14.659, 15.000),
            (10.0, 126.0, 30.90, 31.62),
            (4.0, 132.0, 49.21, 50.36),
            (3.0, 134.0, 58.50, 59.86),
            (18.0, 134.0, 350.97, 359.15),
            (15.0, 111.0, 1.4659, 1.5),
        ] {
            let held = [(0.0, celsius), (minutes, celsius)];
            for (at, expected) in [(F0Reference::Usp, usp), (F0Reference::PhEur, ph_eur)] {
                for between in [Between::StraightLethality, Between::StraightTemperature] {
                    let ours = lethality(&held, at, between).minutes;
                    assert!(
                        (ours - expected).abs() < 0.005_1,
                        "{celsius} {at:?}: {ours}"
                    );
                }
            }
        }
        // 15 min at 111.1 °C with reference 121.1: exactly a tenth.
        let held = [(0.0, 111.1), (15.0, 111.1)];
        let ours = lethality(&held, F0Reference::Usp, Between::StraightTemperature);
        assert!((ours.minutes - 1.5).abs() < 1e-9);
    }

    #[test]
    fn readings_of_a_minute_have_the_worked_trapezoid() {
        // CALC, reference/standards.md, section 2, "F0 series": trapezoid 5.560 min, reference 121.1.
        let celsius = [
            100.0, 105.0, 110.0, 115.0, 118.0, 121.0, 121.5, 121.5, 121.0, 118.0, 110.0, 100.0,
        ];
        let readings: Vec<(f64, f64)> = (0..).map(f64::from).zip(celsius).collect();
        let ours = lethality(&readings, F0Reference::Usp, Between::StraightLethality);
        assert!((ours.minutes - 5.560).abs() < 0.000_5, "{ours:?}");
    }

    #[test]
    fn ramp_has_its_exact_integral() {
        // Analytic: 10 min from 111.1 to 121.1 °C give 9/ln 10; the trapezoid on the two end points gives 5.5.
        let ramp = [(0.0, 111.1), (10.0, 121.1)];
        let exact = lethality(&ramp, F0Reference::Usp, Between::StraightTemperature);
        assert!((exact.minutes - 9.0 / std::f64::consts::LN_10).abs() < 1e-9);
        let chart = lethality(&ramp, F0Reference::Usp, Between::StraightLethality);
        assert!((chart.minutes - 5.5).abs() < 1e-9);
    }

    #[test]
    fn value_always_says_its_reference() {
        let held = [(0.0, 134.0), (3.0, 134.0)];
        for (reference, expected) in [
            (
                F0Reference::Usp,
                "F0 58.5 min (reference 121.1 °C, z = 10 K)",
            ),
            (
                F0Reference::PhEur,
                "F0 59.9 min (reference 121.0 °C, z = 10 K)",
            ),
        ] {
            let ours = lethality(&held, reference, Between::StraightTemperature);
            assert_eq!(ours.to_string(), expected);
        }
    }

    #[test]
    fn readings_that_go_back_in_time_add_nothing() {
        let readings = [(0.0, 134.0), (3.0, 134.0), (1.0, 134.0), (f64::NAN, 134.0)];
        let ours = lethality(&readings, F0Reference::PhEur, Between::StraightTemperature);
        assert!((ours.minutes - 59.86).abs() < 0.005_1);
        assert!(
            lethality(
                &readings[..1],
                F0Reference::Usp,
                Between::StraightTemperature
            )
            .minutes
                == 0.0
        );
    }
}
