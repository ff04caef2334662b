//! Units of measure: their symbols as printed, and their factors to the unit in which a quantity is kept.
//!
//! Factors are those of NIST Special Publication 811 (2008), Appendix B.8, to all the digits given there or exact where
//! the definition is exact.

use serde::{Deserialize, Serialize};

macro_rules! units {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $symbol:literal, $factor:expr;)* }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        pub enum $name {
            $($(#[$vdoc])* #[serde(rename = $symbol)] $variant,)*
        }

        impl $name {
            /// Every unit of this quantity.
            pub const ALL: &'static [$name] = &[$($name::$variant,)*];

            /// The symbol as it is printed.
            pub fn symbol(self) -> &'static str {
                match self { $($name::$variant => $symbol,)* }
            }

            /// How many of the kept unit one of this unit is.
            pub fn factor(self) -> f64 {
                match self { $($name::$variant => $factor,)* }
            }

            /// The unit with this symbol; upper and lower case count as the same.
            pub fn from_symbol(symbol: &[u8]) -> Option<Self> {
                $(if symbol.eq_ignore_ascii_case($symbol.as_bytes()) { return Some($name::$variant); })*
                None
            }
        }
    };
}

units! {
    /// Units of pressure; kept in pascal.
    PressureUnit {
        /// pascal.
        Pascal = "Pa", 1.0;
        /// kilopascal: 1 000 Pa, exact.
        Kilopascal = "kPa", 1_000.0;
        /// millibar: 100 Pa, exact (NIST SP 811, B.8, "millibar").
        Millibar = "mbar", 100.0;
        /// bar: 100 000 Pa, exact (NIST SP 811, B.8, "bar").
        Bar = "bar", 100_000.0;
        /// torr: 101 325/760 Pa by definition (NIST SP 811, B.8, "torr": 1.333 224 E+02).
        Torr = "Torr", 101_325.0 / 760.0;
        /// millitorr: a thousandth of a torr.
        Millitorr = "mTorr", 101_325.0 / 760_000.0;
        /// pound-force per square inch (NIST SP 811, B.8, "psi": 6.894 757 E+03).
        Psi = "psi", 6_894.757;
        /// conventional inch of mercury (NIST SP 811, B.8: 3.386 389 E+03).
        InchOfMercury = "inHg", 3_386.389;
    }
}

/// Units of temperature; kept in degrees Celsius.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum TemperatureUnit {
    /// degree Celsius.
    #[serde(rename = "C")]
    Celsius,
    /// degree Fahrenheit: t/°C = (t/°F − 32)/1.8 (NIST SP 811, B.8).
    #[serde(rename = "F")]
    Fahrenheit,
}

impl TemperatureUnit {
    /// The symbol as it is printed.
    pub fn symbol(self) -> &'static str {
        match self {
            TemperatureUnit::Celsius => "C",
            TemperatureUnit::Fahrenheit => "F",
        }
    }

    /// The unit with this symbol: `C`, `°C`, `F`, `°F`, in either case.
    pub fn from_symbol(symbol: &[u8]) -> Option<Self> {
        let symbol = symbol.strip_prefix("°".as_bytes()).unwrap_or(symbol);
        match symbol {
            b"C" | b"c" => Some(TemperatureUnit::Celsius),
            b"F" | b"f" => Some(TemperatureUnit::Fahrenheit),
            _ => None,
        }
    }
}

units! {
    /// Units of the concentration of a gas in the chamber; kept in milligrams per litre.
    ConcentrationUnit {
        /// milligram per litre, which is one gram per cubic metre.
        MilligramPerLitre = "mg/L", 1.0;
    }
}

units! {
    /// Units of relative humidity; kept in per cent.
    HumidityUnit {
        /// per cent of relative humidity.
        Percent = "%", 1.0;
    }
}

units! {
    /// Units of radio-frequency power; kept in watts.
    PowerUnit {
        /// watt.
        Watt = "W", 1.0;
        /// kilowatt: 1 000 W, exact.
        Kilowatt = "kW", 1_000.0;
    }
}

units! {
    /// Units of electrical conductivity of feed water; kept in microsiemens per centimetre.
    ConductivityUnit {
        /// microsiemens per centimetre.
        MicrosiemensPerCentimetre = "uS/cm", 1.0;
        /// millisiemens per centimetre: 1 000 µS/cm, exact.
        MillisiemensPerCentimetre = "mS/cm", 1_000.0;
    }
}

units! {
    /// Units of the rise of pressure in a leak test; kept in pascal per minute.
    LeakRateUnit {
        /// pascal per minute.
        PascalPerMinute = "Pa/min", 1.0;
        /// kilopascal per minute.
        KilopascalPerMinute = "kPa/min", 1_000.0;
        /// millibar per minute.
        MillibarPerMinute = "mbar/min", 100.0;
        /// torr (millimetre of mercury) per minute.
        TorrPerMinute = "Torr/min", 101_325.0 / 760.0;
        /// millitorr per minute.
        MillitorrPerMinute = "mTorr/min", 101_325.0 / 760_000.0;
    }
}

units! {
    /// Units of duration; kept in seconds.
    DurationUnit {
        /// second.
        Second = "s", 1.0;
        /// minute.
        Minute = "min", 60.0;
        /// hour.
        Hour = "h", 3_600.0;
    }
}

#[cfg(test)]
mod tests {
    //! The published factors are cases of `crate::selftest::units`; here, those of a library.

    use super::*;
    use uom::si::electrical_conductivity::{siemens_per_centimeter, siemens_per_meter};
    use uom::si::f64 as si;
    use uom::si::mass_concentration::{gram_per_cubic_meter, milligram_per_liter};
    use uom::si::power::{kilowatt, watt};
    use uom::si::pressure::{
        bar, inch_of_mercury, kilopascal, millibar, millitorr, pascal, psi, torr,
    };
    use uom::si::time::{hour, minute, second};

    /// The published factors have seven significant digits, so they are right to half a unit of the last.
    const SEVEN_DIGITS: f64 = 5e-7;

    fn agree(ours: f64, published: f64) -> bool {
        ((ours - published) / published).abs() <= SEVEN_DIGITS
    }

    #[test]
    fn pressure_factors_are_those_of_the_reference_library() {
        // uom 0.38 has the torr to seven digits (1.333 224 E+02), where ours is 101 325/760 exactly.
        fn in_pascal<U: uom::si::pressure::Unit + uom::Conversion<f64, T = f64>>() -> f64 {
            si::Pressure::new::<U>(1.0).get::<pascal>()
        }
        for (unit, theirs) in [
            (PressureUnit::Pascal, in_pascal::<pascal>()),
            (PressureUnit::Kilopascal, in_pascal::<kilopascal>()),
            (PressureUnit::Millibar, in_pascal::<millibar>()),
            (PressureUnit::Bar, in_pascal::<bar>()),
            (PressureUnit::Torr, in_pascal::<torr>()),
            (PressureUnit::Millitorr, in_pascal::<millitorr>()),
            (PressureUnit::Psi, in_pascal::<psi>()),
            (PressureUnit::InchOfMercury, in_pascal::<inch_of_mercury>()),
        ] {
            assert!(agree(unit.factor(), theirs), "{}", unit.symbol());
        }
    }

    #[test]
    fn other_factors_are_those_of_the_reference_library() {
        fn power<U: uom::si::power::Unit + uom::Conversion<f64, T = f64>>() -> f64 {
            si::Power::new::<U>(1.0).get::<watt>()
        }
        fn time<U: uom::si::time::Unit + uom::Conversion<f64, T = f64>>() -> f64 {
            si::Time::new::<U>(1.0).get::<second>()
        }
        // uom has no multiples of S/cm; 1 S/cm = 100 S/m, and a millisiemens is a thousand microsiemens.
        let per_metre = |siemens_per_cm: f64| {
            si::ElectricalConductivity::new::<siemens_per_centimeter>(siemens_per_cm)
                .get::<siemens_per_meter>()
        };
        let millisiemens = per_metre(1e-3) / per_metre(1e-6);
        let grams_per_cubic_metre =
            si::MassConcentration::new::<milligram_per_liter>(1.0).get::<gram_per_cubic_meter>();
        for (ours, theirs) in [
            (PowerUnit::Watt.factor(), power::<watt>()),
            (PowerUnit::Kilowatt.factor(), power::<kilowatt>()),
            (DurationUnit::Second.factor(), time::<second>()),
            (DurationUnit::Minute.factor(), time::<minute>()),
            (DurationUnit::Hour.factor(), time::<hour>()),
            (
                ConductivityUnit::MillisiemensPerCentimetre.factor(),
                millisiemens,
            ),
            (
                ConcentrationUnit::MilligramPerLitre.factor(),
                grams_per_cubic_metre,
            ),
        ] {
            assert!(agree(ours, theirs), "{ours} and {theirs}");
        }
    }

    #[test]
    fn symbols_differ_even_when_case_is_left_out() {
        // Capitals and small letters are the same in units (grammars/cycle-printout.md), so that no two may meet.
        let mut symbols: Vec<String> = PressureUnit::ALL
            .iter()
            .map(|unit| unit.symbol().to_ascii_lowercase())
            .collect();
        symbols.sort_unstable();
        symbols.dedup();
        assert_eq!(symbols.len(), PressureUnit::ALL.len());
        for (text, expected) in [
            ("MBAR", Some(PressureUnit::Millibar)),
            ("kpa", Some(PressureUnit::Kilopascal)),
            ("inhg", Some(PressureUnit::InchOfMercury)),
            ("mmHg", None),
            ("pa ", None),
            ("", None),
        ] {
            assert_eq!(
                PressureUnit::from_symbol(text.as_bytes()),
                expected,
                "{text:?}"
            );
        }
    }

    #[test]
    fn temperature_symbols_may_have_the_degree_sign() {
        for (text, expected) in [
            ("C", Some(TemperatureUnit::Celsius)),
            ("°c", Some(TemperatureUnit::Celsius)),
            ("F", Some(TemperatureUnit::Fahrenheit)),
            ("°F", Some(TemperatureUnit::Fahrenheit)),
            ("K", None),
            ("°", None),
        ] {
            assert_eq!(
                TemperatureUnit::from_symbol(text.as_bytes()),
                expected,
                "{text:?}"
            );
        }
    }
}
