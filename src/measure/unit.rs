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
