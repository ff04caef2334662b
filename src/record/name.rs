//! Names and numbers that people and printers give to things: units, loads, staff marks.

use serde::Serialize;
use std::fmt;

macro_rules! name {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
        pub struct $name(pub String);

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(&self.0)
            }
        }

        impl $name {
            /// The text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }
    };
}

name! {
    /// The name of a unit (one sterilizer), unique within a department, such as `PL-1`.
    UnitName
}

impl UnitName {
    /// The name in small letters: people write it in capitals or not, and mean one unit.
    pub fn in_small_letters(&self) -> String {
        self.0.trim().to_ascii_lowercase()
    }
}

name! {
    /// The number of a load, unique within a department, such as `L26-0312-07`.
    LoadNumber
}
name! {
    /// The mark of a member of staff: initials or a staff number, never a full name.
    StaffMark
}
name! {
    /// The program (cycle type) that the operator picked.
    Program
}
name! {
    /// A consumable's lot.
    LotNumber
}
