//! Lots of consumables: which one is in use on a day.
//!
//! A lot lasts some weeks, and the next one takes its place on a fixed day. The numbers are invented.

use super::calendar::Site;
use crate::record::consumable::{ConsumableKind, LotIdentity};
use crate::record::cycle::Process;
use crate::record::name::LotNumber;
use chrono::{Days, NaiveDate};

/// A consumable that comes in lots.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Supply {
    /// Sterilant of a process.
    Sterilant(Process),
    /// The indicator outside each package.
    ExternalCi(Process),
    /// The indicator inside each package.
    InternalCi(Process),
    /// Biological indicators.
    Bi(Process),
    /// Pouches.
    Pouch,
    /// Wraps.
    Wrap,
}

/// A lot.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Lot {
    /// Its number.
    pub number: String,
    /// The last day on which it may be used.
    pub expiry: NaiveDate,
}

impl Lot {
    /// As a record has it, typed.
    pub fn identity(&self) -> LotIdentity {
        LotIdentity {
            gtin: None,
            lot: Some(LotNumber(self.number.clone())),
            expiry: Some(self.expiry),
            serial: None,
        }
    }
}

impl Supply {
    /// What a site keeps.
    pub fn of_site(site: Site) -> &'static [Supply] {
        use Process::{Eo, Plasma, Steam};
        match site {
            Site::Annexe => &[
                Supply::Sterilant(Plasma),
                Supply::ExternalCi(Plasma),
                Supply::InternalCi(Plasma),
                Supply::Bi(Plasma),
                Supply::Pouch,
                Supply::Wrap,
            ],
            Site::General => &[
                Supply::Sterilant(Plasma),
                Supply::Sterilant(Eo),
                Supply::ExternalCi(Plasma),
                Supply::ExternalCi(Steam),
                Supply::ExternalCi(Eo),
                Supply::InternalCi(Plasma),
                Supply::InternalCi(Steam),
                Supply::InternalCi(Eo),
                Supply::Bi(Plasma),
                Supply::Bi(Steam),
                Supply::Bi(Eo),
                Supply::Pouch,
                Supply::Wrap,
            ],
        }
    }

    /// Its kind, as records have it.
    pub fn kind(self) -> ConsumableKind {
        match self {
            Supply::Sterilant(_) => ConsumableKind::Sterilant,
            Supply::ExternalCi(_) | Supply::InternalCi(_) => ConsumableKind::Ci,
            Supply::Bi(_) => ConsumableKind::Bi,
            Supply::Pouch | Supply::Wrap => ConsumableKind::Packaging,
        }
    }

    /// For how many days one lot lasts.
    fn lasts_days(self) -> u32 {
        match self {
            Supply::Sterilant(_) => 18,
            Supply::InternalCi(_) => 12,
            Supply::ExternalCi(_) => 30,
            Supply::Bi(_) => 25,
            Supply::Pouch => 16,
            Supply::Wrap => 21,
        }
    }

    /// Which lot since the first day is in use: the days are shifted so that not all change at once.
    pub fn lot_index(self, site: Site, day: u32) -> u32 {
        let shift = match (self, site) {
            (Supply::InternalCi(Process::Plasma), Site::General) => 0,
            (_, Site::General) => 5,
            (_, Site::Annexe) => 9,
        };
        (day + shift) / self.lasts_days()
    }

    /// The lot in use on a day, counted from 0, of a time that begins on `from`.
    pub fn lot_on(self, site: Site, from: NaiveDate, day: u32) -> Lot {
        let index = self.lot_index(site, day);
        let (letter, first, by, good_for) = match self {
            Supply::Sterilant(Process::Eo) => ('E', 2_051, 9, 400),
            Supply::Sterilant(_) => ('K', 4_471, 12, 210),
            Supply::ExternalCi(Process::Plasma) => ('C', 1_104, 10, 500),
            Supply::ExternalCi(Process::Steam) => ('C', 1_507, 10, 500),
            Supply::ExternalCi(Process::Eo) => ('C', 1_801, 10, 500),
            Supply::InternalCi(Process::Plasma) => ('C', 2_231, 9, 420),
            Supply::InternalCi(Process::Steam) => ('C', 5_018, 9, 420),
            Supply::InternalCi(Process::Eo) => ('C', 6_003, 9, 420),
            Supply::Bi(Process::Plasma) => ('B', 771, 3, 330),
            Supply::Bi(Process::Steam) => ('B', 540, 3, 330),
            Supply::Bi(Process::Eo) => ('B', 902, 3, 330),
            Supply::Pouch => ('W', 310, 2, 900),
            Supply::Wrap => ('W', 402, 2, 900),
        };
        let of_site = match site {
            Site::General => 0,
            Site::Annexe => 4,
        };
        let opened = u64::from(index) * u64::from(self.lasts_days());
        Lot {
            number: format!("{letter}{}", first + of_site + index * by),
            expiry: from
                .checked_add_days(Days::new(opened + good_for))
                .unwrap_or(from),
        }
    }
}
