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
    //! Calculated and published values are cases of `crate::selftest::lethality`.

    use super::*;

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
