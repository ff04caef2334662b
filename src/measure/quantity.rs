//! The quantities: a value in a fixed unit, with the unit it was printed in.
//!
//! Two quantities of different kinds can't be compared or exchanged, and a gauge pressure can't be taken for an
//! absolute one: [`Pressure::absolute`] asks for the ambient pressure.

use super::unit::{
    ConcentrationUnit, ConductivityUnit, DurationUnit, HumidityUnit, LeakRateUnit, PowerUnit,
    PressureUnit, TemperatureUnit,
};
use serde::{Deserialize, Serialize};

/// The standard atmosphere, 101 325 Pa exactly (NIST SP 811, B.8, "atmosphere, standard").
pub const STANDARD_ATMOSPHERE: AbsolutePressure = AbsolutePressure(101_325.0);

/// Whether a pressure is measured from vacuum or from the ambient pressure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Datum {
    /// From vacuum.
    Absolute,
    /// From the ambient pressure.
    Gauge,
}

/// A pressure measured from vacuum, in pascal.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct AbsolutePressure(f64);

impl AbsolutePressure {
    /// From pascal.
    pub fn from_pascal(pascal: f64) -> Self {
        AbsolutePressure(pascal)
    }

    /// In pascal.
    pub fn pascal(self) -> f64 {
        self.0
    }
}

/// A pressure as printed: value in pascal, datum and printed unit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[repr(Rust, packed(2))]
pub struct Pressure {
    pascal: f64,
    datum: Datum,
    printed: PressureUnit,
}

impl Pressure {
    /// A pressure from a number in a unit.
    pub fn new(number: f64, unit: PressureUnit, datum: Datum) -> Self {
        Pressure {
            pascal: number * unit.factor(),
            datum,
            printed: unit,
        }
    }

    /// The pressure above vacuum, in pascal; a gauge pressure needs the ambient pressure for it.
    pub fn absolute(self, ambient: AbsolutePressure) -> AbsolutePressure {
        match self.datum {
            Datum::Absolute => AbsolutePressure(self.pascal),
            Datum::Gauge => AbsolutePressure(self.pascal + ambient.0),
        }
    }

    /// The value in pascal above its own datum.
    pub fn pascal(self) -> f64 {
        self.pascal
    }

    /// What it is measured from.
    pub fn datum(self) -> Datum {
        self.datum
    }

    /// The unit it was printed in.
    pub fn printed_unit(self) -> PressureUnit {
        self.printed
    }

    /// The value in its printed unit.
    pub fn printed_number(self) -> f64 {
        self.pascal / self.printed.factor()
    }
}

/// A temperature: degrees Celsius, and the unit it was printed in.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[repr(Rust, packed(2))]
pub struct Temperature {
    celsius: f64,
    printed: TemperatureUnit,
}

impl Temperature {
    /// A temperature from a number in a unit.
    pub fn new(number: f64, unit: TemperatureUnit) -> Self {
        let celsius = match unit {
            TemperatureUnit::Celsius => number,
            TemperatureUnit::Fahrenheit => (number - 32.0) / 1.8,
        };
        Temperature {
            celsius,
            printed: unit,
        }
    }

    /// In degrees Celsius.
    pub fn celsius(self) -> f64 {
        self.celsius
    }

    /// The unit it was printed in.
    pub fn printed_unit(self) -> TemperatureUnit {
        self.printed
    }

    /// The value in its printed unit.
    pub fn printed_number(self) -> f64 {
        match self.printed {
            TemperatureUnit::Celsius => self.celsius,
            TemperatureUnit::Fahrenheit => self.celsius * 1.8 + 32.0,
        }
    }
}

macro_rules! scaled {
    ($(#[$doc:meta])* $name:ident, $unit:ident, $value:ident, $said:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
        #[repr(Rust, packed(2))]
        pub struct $name {
            $value: f64,
            printed: $unit,
        }

        impl $name {
            /// From a number in a unit.
            pub fn new(number: f64, unit: $unit) -> Self {
                $name { $value: number * unit.factor(), printed: unit }
            }

            #[doc = concat!("In ", $said, ".")]
            pub fn $value(self) -> f64 {
                self.$value
            }

            /// The unit it was printed in.
            pub fn printed_unit(self) -> $unit {
                self.printed
            }

            /// The value in its printed unit.
            pub fn printed_number(self) -> f64 {
                self.$value / self.printed.factor()
            }
        }
    };
}

scaled! {
    /// The concentration of the sterilant in the chamber.
    Concentration, ConcentrationUnit, milligrams_per_litre, "milligrams per litre"
}
scaled! {
    /// Relative humidity.
    RelativeHumidity, HumidityUnit, percent, "per cent"
}
scaled! {
    /// Radio-frequency power.
    Power, PowerUnit, watts, "watts"
}
scaled! {
    /// Conductivity of feed water.
    Conductivity, ConductivityUnit, microsiemens_per_centimetre, "microsiemens per centimetre"
}
scaled! {
    /// The rise of pressure in a leak test.
    LeakRate, LeakRateUnit, pascal_per_minute, "pascal per minute"
}
scaled! {
    /// A length of time as printed, such as a stage's limit.
    Duration, DurationUnit, seconds, "seconds"
}

#[cfg(test)]
mod tests {
    //! Published factors and readings are cases of `crate::selftest::units`.

    use super::*;
    use proptest::prelude::*;
    use uom::si::f64 as si;
    use uom::si::thermodynamic_temperature::{degree_celsius, degree_fahrenheit};

    fn celsius_of_fahrenheit(number: f64) -> f64 {
        Temperature::new(number, TemperatureUnit::Fahrenheit).celsius()
    }

    #[test]
    fn gauge_pressure_is_raised_by_the_ambient_pressure() {
        // An absolute pressure stays what it is, whatever the ambient pressure.
        let absolute = Pressure::new(15.0, PressureUnit::Psi, Datum::Absolute);
        for ambient in [STANDARD_ATMOSPHERE, AbsolutePressure::from_pascal(83_000.0)] {
            assert!((absolute.absolute(ambient).pascal() - 103_421.355).abs() < 0.001);
        }
        // At 83 kPa of ambient pressure (common practice, no source: a site at some 1 600 m), 15 psi gauge is
        // 103.421 + 83 kPa.
        let gauge = Pressure::new(15.0, PressureUnit::Psi, Datum::Gauge);
        let high_site = AbsolutePressure::from_pascal(83_000.0);
        assert!((gauge.absolute(high_site).pascal() - 186_421.355).abs() < 0.001);
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn fahrenheit_agrees_with_the_reference_library(fahrenheit in -100.0_f64..500.0) {
            // uom 0.38 goes by way of kelvin, which costs some digits.
            let theirs = si::ThermodynamicTemperature::new::<degree_fahrenheit>(fahrenheit)
                .get::<degree_celsius>();
            prop_assert!((celsius_of_fahrenheit(fahrenheit) - theirs).abs() < 1e-9);
        }

        #[test]
        fn printed_number_is_the_one_on_the_strip(hundredths in -1_000_000_i32..1_000_000) {
            // What stands on the strip must come out again to the digits that it has.
            let number = f64::from(hundredths) / 100.0;
            for unit in PressureUnit::ALL {
                for datum in [Datum::Absolute, Datum::Gauge] {
                    let pressure = Pressure::new(number, *unit, datum);
                    prop_assert_eq!(format!("{:.2}", pressure.printed_number() + 0.0), format!("{:.2}", number + 0.0));
                }
            }
            for unit in [TemperatureUnit::Celsius, TemperatureUnit::Fahrenheit] {
                let temperature = Temperature::new(number, unit);
                let came_out = temperature.printed_number();
                prop_assert!((came_out - number).abs() < 1e-9, "{} for {}", came_out, number);
            }
        }
    }
}
