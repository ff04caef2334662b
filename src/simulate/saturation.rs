//! Saturated steam: the pressure that belongs to a temperature, and the other way round.
//!
//! The equations are those of region 4 in IAPWS R7-97(2012), "Revised Release on the IAPWS Industrial Formulation 1997
//! for the Thermodynamic Properties of Water and Steam", equations 30 and 31. Read [`pressure_pascal`] first.

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

/// The absolute pressure of saturated steam at a temperature, in pascal.
pub fn pressure_pascal(celsius: f64) -> f64 {
    let [n1, n2, n3, n4, n5, n6, n7, n8, n9, n10] = N;
    let kelvin = celsius + 273.15;
    let theta = kelvin + n9 / (kelvin - n10);
    let a = theta * theta + n1 * theta + n2;
    let b = n3 * theta * theta + n4 * theta + n5;
    let c = n6 * theta * theta + n7 * theta + n8;
    let root = 2.0 * c / (-b + (b * b - 4.0 * a * c).sqrt());
    let square = root * root;
    square * square * 1e6
}

/// The temperature of saturated steam at an absolute pressure in pascal, in degrees Celsius.
pub fn temperature_celsius(pascal: f64) -> f64 {
    let [n1, n2, n3, n4, n5, n6, n7, n8, n9, n10] = N;
    let beta = (pascal / 1e6).sqrt().sqrt();
    let e = beta * beta + n3 * beta + n6;
    let f = n1 * beta * beta + n4 * beta + n7;
    let g = n2 * beta * beta + n5 * beta + n8;
    let d = 2.0 * g / (-f - (f * f - 4.0 * e * g).sqrt());
    let kelvin = (n10 + d - ((n10 + d) * (n10 + d) - 4.0 * (n9 + n10 * d)).sqrt()) / 2.0;
    kelvin - 273.15
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pressures_are_the_check_values_of_the_release() {
        // IAPWS R7-97(2012), Table 35: saturation pressures from equation 30.
        for (kelvin, megapascal) in [
            (300.0, 0.353_658_941e-2),
            (500.0, 0.263_889_776e1),
            (600.0, 0.123_443_146e2),
        ] {
            let computed = pressure_pascal(kelvin - 273.15) / 1e6;
            assert!(
                (computed - megapascal).abs() < megapascal * 1e-8,
                "{kelvin}"
            );
        }
    }

    #[test]
    fn temperatures_are_the_check_values_of_the_release() {
        // IAPWS R7-97(2012), Table 36: saturation temperatures from equation 31 (from memory).
        for (megapascal, kelvin) in [
            (0.1, 0.372_755_919e3),
            (1.0, 0.453_035_632e3),
            (10.0, 0.584_149_488e3),
        ] {
            let computed = temperature_celsius(megapascal * 1e6) + 273.15;
            assert!((computed - kelvin).abs() < kelvin * 1e-8, "{megapascal}");
        }
    }
}
