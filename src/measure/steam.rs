//! Saturated steam: the pressure that belongs to a temperature, and the temperature that belongs to a pressure.
//!
//! The equations are those of region 4 in IAPWS R7-97(2012), *Revised Release on the IAPWS Industrial Formulation 1997
//! for the Thermodynamic Properties of Water and Steam*, section 8: equation 30 for the pressure, equation 31 for the
//! temperature, coefficients of Table 34. They hold from 273.15 K to the critical point. Knows nothing of chambers, air
//! or gauges. Read [`saturation_pressure`] first.

use super::quantity::AbsolutePressure;

/// Coefficients n1 to n10 (R7-97, Table 34).
const N: [f64; 10] = [
    0.116_705_214_527_67e4,
    -0.724_213_167_032_06e6,
    -0.170_738_469_400_92e2,
    0.120_208_247_024_70e5,
    -0.323_255_503_223_33e7,
    0.149_151_086_135_30e2,
    -0.482_326_573_615_91e4,
    0.405_113_405_420_57e6,
    -0.238_555_575_678_49,
    0.650_175_348_447_98e3,
];

/// 0 °C in kelvin, by definition of the Celsius scale.
const ZERO_CELSIUS: f64 = 273.15;

/// The least temperature of the line, in degrees Celsius: 273.15 K.
const LEAST_CELSIUS: f64 = 0.0;

/// The critical temperature, in degrees Celsius: 647.096 K (R7-97, equation 2).
const CRITICAL_CELSIUS: f64 = 373.946;

/// The least pressure of the line, in pascal: that of 273.15 K (R7-97, section 8.2).
const LEAST_PASCAL: f64 = 611.213;

/// The critical pressure, in pascal (R7-97, equation 3).
const CRITICAL_PASCAL: f64 = 22.064e6;

/// The pressure of saturated steam at a temperature in degrees Celsius (R7-97, equation 30).
///
/// `None` outside 0 °C to 373.946 °C, where the line is not defined.
pub fn saturation_pressure(celsius: f64) -> Option<AbsolutePressure> {
    if !(LEAST_CELSIUS..=CRITICAL_CELSIUS).contains(&celsius) {
        return None;
    }
    let [n1, n2, n3, n4, n5, n6, n7, n8, n9, n10] = N;
    let kelvin = celsius + ZERO_CELSIUS;
    let theta = kelvin + n9 / (kelvin - n10);
    let a = theta * theta + n1 * theta + n2;
    let b = n3 * theta * theta + n4 * theta + n5;
    let c = n6 * theta * theta + n7 * theta + n8;
    let root = 2.0 * c / (-b + (b * b - 4.0 * a * c).sqrt());
    Some(AbsolutePressure::from_pascal(root.powi(4) * 1e6))
}

/// The temperature of saturated steam at a pressure, in degrees Celsius (R7-97, equation 31).
///
/// `None` outside 611.213 Pa to 22.064 MPa, where the line is not defined.
pub fn saturation_celsius(pressure: AbsolutePressure) -> Option<f64> {
    let pascal = pressure.pascal();
    if !(LEAST_PASCAL..=CRITICAL_PASCAL).contains(&pascal) {
        return None;
    }
    let [n1, n2, n3, n4, n5, n6, n7, n8, n9, n10] = N;
    let beta = (pascal / 1e6).sqrt().sqrt();
    let e = beta * beta + n3 * beta + n6;
    let f = n1 * beta * beta + n4 * beta + n7;
    let g = n2 * beta * beta + n5 * beta + n8;
    let d = 2.0 * g / (-f - (f * f - 4.0 * e * g).sqrt());
    let sum = n10 + d;
    let kelvin = (sum - (sum * sum - 4.0 * (n9 + n10 * d)).sqrt()) / 2.0;
    Some(kelvin - ZERO_CELSIUS)
}

#[cfg(test)]
mod tests {
    //! The values of the release and of a reference library are cases of `crate::selftest::steam`.

    use super::*;
    use proptest::prelude::*;

    #[test]
    fn outside_the_line_there_is_nothing() {
        for celsius in [-0.1, 374.0, f64::NAN, f64::INFINITY] {
            assert_eq!(saturation_pressure(celsius), None);
        }
        for pascal in [0.0, 611.0, 22.1e6, f64::NAN, -1.0] {
            assert_eq!(
                saturation_celsius(AbsolutePressure::from_pascal(pascal)),
                None
            );
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn there_and_back_again(celsius in 0.1_f64..373.0) {
            // The release states that the two equations are consistent to within numbers of this size (R7-97, 8.2).
            let pressure = saturation_pressure(celsius).unwrap();
            let back = saturation_celsius(pressure).unwrap();
            prop_assert!((back - celsius).abs() < 1e-6);
        }
    }
}
