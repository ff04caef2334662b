//! Consumables: what is used up, its lot and its expiry.

use super::Spanned;
use super::name::LotNumber;
use chrono::NaiveDate;
use serde::Serialize;

/// A kind of consumable.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ConsumableKind {
    /// The sterilant: a peroxide or ethylene-oxide supply.
    Sterilant,
    /// Chemical indicators.
    Ci,
    /// Biological indicators.
    Bi,
    /// Pouches, wraps and other packaging.
    Packaging,
    /// Any other consumable.
    Other,
}

impl ConsumableKind {
    /// Every kind.
    pub const ALL: &'static [ConsumableKind] = &[
        ConsumableKind::Sterilant,
        ConsumableKind::Ci,
        ConsumableKind::Bi,
        ConsumableKind::Packaging,
        ConsumableKind::Other,
    ];

    /// The word in the formats.
    pub fn word(self) -> &'static str {
        match self {
            ConsumableKind::Sterilant => "sterilant",
            ConsumableKind::Ci => "ci",
            ConsumableKind::Bi => "bi",
            ConsumableKind::Packaging => "packaging",
            ConsumableKind::Other => "other",
        }
    }
}

/// A lot of a consumable, typed or scanned.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct LotIdentity {
    /// The GTIN, if it was scanned: 14 digits with a right check digit.
    pub gtin: Option<String>,
    /// The lot.
    pub lot: Option<LotNumber>,
    /// The last day on which it may be used.
    pub expiry: Option<NaiveDate>,
    /// The serial number of the single pack, if it was scanned.
    pub serial: Option<String>,
}

/// Use `n` of `m` of a supply that serves several cycles.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct UseCount {
    /// Which use it is, counted from 1.
    pub n: u32,
    /// How many uses the supply has.
    pub of: u32,
}

/// A consumable that a cycle used, as its printout says.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ConsumableUse {
    /// The kind.
    pub kind: ConsumableKind,
    /// The lot.
    pub lot: Spanned<LotIdentity>,
    /// Which use of the supply it was.
    pub use_count: Option<UseCount>,
}

impl ConsumableUse {
    /// What is said of it, wherever that stands: the same again is a copy.
    pub fn said(&self) -> (ConsumableKind, &LotIdentity, Option<UseCount>) {
        (self.kind, &self.lot.value, self.use_count)
    }
}
