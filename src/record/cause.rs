//! Why a cycle was aborted or a load rejected: generic causes with names of our own.

use serde::{Serialize, Serializer};
use std::fmt;

macro_rules! causes {
    ($($variant:ident, $word:literal, $said:literal;)*) => {
        /// The cause that an alarm or an outcome gives.
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Cause {
            $(#[doc = $said] $variant,)*
            /// A cause in words of its own: the printout gives a word that is not in the table.
            Other(String),
        }

        impl Cause {
            /// Every cause of the table.
            pub const ALL: &'static [Cause] = &[$(Cause::$variant,)*];

            /// The word in the formats.
            pub fn word(&self) -> &str {
                match self { $(Cause::$variant => $word,)* Cause::Other(word) => word }
            }

            /// The cause in plain words, for people.
            pub fn said(&self) -> &str {
                match self { $(Cause::$variant => $said,)* Cause::Other(word) => word }
            }

            /// The cause with this word; upper and lower case count as the same.
            pub fn from_word(word: &str) -> Self {
                $(if word.eq_ignore_ascii_case($word) { return Cause::$variant; })*
                Cause::Other(word.to_owned())
            }
        }
    };
}

causes! {
    Moisture, "moisture", "moisture in the load";
    PackageContact, "package-contact", "a package touches the wall or another part";
    SensorObstructed, "sensor-obstructed", "a sensor is obstructed";
    SterilantEmpty, "sterilant-empty", "sterilant supply empty";
    SterilantExpired, "sterilant-expired", "sterilant supply expired";
    SterilantUnread, "sterilant-unread", "sterilant supply not recognised";
    PressureNotReached, "pressure-not-reached", "set pressure not reached in time";
    PressureLost, "pressure-lost", "pressure rose or fell out of its band";
    TemperatureLow, "temperature-low", "temperature too low";
    TemperatureHigh, "temperature-high", "temperature too high";
    InjectionLow, "injection-low", "too little sterilant injected";
    ConcentrationLow, "concentration-low", "sterilant concentration too low";
    HumidityLow, "humidity-low", "humidity too low";
    PlasmaPowerLow, "plasma-power-low", "plasma power too low or unsteady";
    AirPresent, "air-present", "air left in the chamber";
    SupplyFault, "supply-fault", "steam, water, air or power supply outside its range";
    DoorOpen, "door-open", "door not closed or locked";
    PowerLost, "power-lost", "power lost";
    OperatorStopped, "operator-stopped", "stopped by the operator";
    SensorFault, "sensor-fault", "a sensor failed";
}

impl fmt::Display for Cause {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

impl Serialize for Cause {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.word())
    }
}
