//! The cautions that a reader is shown who is about to handle a load or open a chamber. loadbook knows no device: each
//! caution defers to the device's instructions for use and to local policy.

use crate::record::cycle::Process;
use serde::Serialize;

/// A caution.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Caution {
    /// A peroxide cycle did not run to its end. Source: training material and adverse-event reports of hand burns
    /// (standards.md, section 8: SEEN, secondary).
    PeroxideLeft,
    /// Ethylene oxide may still be in the load. Source: 29 CFR 1910.1047; CDC, Guideline for Disinfection and
    /// Sterilization in Healthcare Facilities, 2008, table 6 (standards.md, section 8: SEEN).
    GasLeft,
    /// A steam chamber and what is in it are hot. Source: the same guideline, table 6 (standards.md, section 8: SEEN).
    Hot,
}

impl Caution {
    /// The caution for loads of a process whose cycle is not shown to have run to its end.
    pub fn of(process: Process) -> Self {
        match process {
            Process::Plasma => Caution::PeroxideLeft,
            Process::Eo => Caution::GasLeft,
            Process::Steam => Caution::Hot,
        }
    }

    /// The caution in full.
    pub fn said(self) -> &'static str {
        match self {
            Caution::PeroxideLeft => {
                "Peroxide cycle aborted or rejected: liquid peroxide may remain on packages and in the chamber. Wear \
                 gloves."
            }
            Caution::GasLeft => {
                "Ethylene oxide: do not handle the load before its aeration has ended."
            }
            Caution::Hot => "Steam: chamber, rack and packages are hot.",
        }
    }

    /// What every caution ends with.
    pub const DEFERS: &'static str = "The device's instructions for use and local policy decide.";
}
