//! An entry of an indicator log: what a technician wrote by hand or scanned.

use super::Spanned;
use super::consumable::{ConsumableKind, LotIdentity};
use super::line_set::LineSet;
use super::name::{LoadNumber, Program, StaffMark, UnitName};
use super::stamp::Stamp;
use crate::diagnose::Span;
use chrono_tz::Tz;
use serde::Serialize;
use std::sync::Arc;

/// One entry of an indicator log.
///
/// A department has more entries than anything else but readings, and they are held all at once, sorted and moved: so
/// what few of them have, what they share with the whole log, and what each kind says stand apart from it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Entry {
    /// The lines that it is made of.
    pub lines: LineSet,
    /// The whole entry.
    pub span: Span,
    /// When it was written.
    pub written: Option<Spanned<Stamp>>,
    /// The place that the log is kept at, if the log says so.
    pub place: Option<Arc<Spanned<String>>>,
    /// The time zone of the log's times, if the log says so.
    pub zone: Option<Arc<Spanned<Tz>>>,
    /// The load that it speaks of.
    pub load: Option<Spanned<LoadNumber>>,
    /// The unit that it speaks of.
    pub unit: Option<Spanned<UnitName>>,
    /// Who wrote it.
    pub by: Option<Spanned<StaffMark>>,
    /// A remark added to it.
    pub note: Option<Box<Spanned<String>>>,
    /// What it says.
    pub body: EntryBody,
}

/// What an entry says.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum EntryBody {
    /// A load was put into a unit.
    Load(Box<LoadStart>),
    /// A part of a load's contents.
    Content(Box<Content>),
    /// A chemical indicator was read.
    Ci(Box<CiResult>),
    /// A biological indicator was put to incubation or read.
    Bi(Box<BiResult>),
    /// A lot of a consumable was opened or finished.
    Lot(Box<LotChange>),
    /// The load was released by a person.
    Release,
    /// The load was held back by a person.
    Hold,
    /// The load, or a part of it, was taken back.
    Recall,
    /// The unit was serviced.
    Service,
    /// Anything else worth noting.
    Remark,
}

macro_rules! body_of {
    ($($kind:ident($says:ident)),*) => {
        $(impl From<$says> for EntryBody {
            fn from(says: $says) -> Self {
                EntryBody::$kind(Box::new(says))
            }
        })*
    };
}

body_of!(
    Load(LoadStart),
    Content(Content),
    Ci(CiResult),
    Bi(BiResult),
    Lot(LotChange)
);

impl EntryBody {
    /// The word in the formats.
    pub fn word(&self) -> &'static str {
        match self {
            EntryBody::Load(_) => "load",
            EntryBody::Content(_) => "content",
            EntryBody::Ci(_) => "ci",
            EntryBody::Bi(_) => "bi",
            EntryBody::Lot(_) => "lot",
            EntryBody::Release => "release",
            EntryBody::Hold => "hold",
            EntryBody::Recall => "recall",
            EntryBody::Service => "service",
            EntryBody::Remark => "remark",
        }
    }
}

/// A load as it was put into a unit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LoadStart {
    /// The unit's cycle counter.
    pub counter: Option<Spanned<u32>>,
    /// The program.
    pub program: Option<Spanned<Program>>,
}

/// A part of a load: one set, or several of the same.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Content {
    /// The set's name or number.
    pub set: Option<Spanned<String>>,
    /// The number of items in it.
    pub n_items: Option<Spanned<u32>>,
    /// The number of packages.
    pub n_packages: Option<Spanned<u32>>,
    /// The packaging in a word: pouch, wrap, container …
    pub packaging: Option<Spanned<String>>,
    /// The packaging's lot.
    pub packaging_lot: Option<Spanned<LotIdentity>>,
    /// Whether it holds an implant, where that was written.
    pub implant: Option<Spanned<bool>>,
    /// Where it went after release.
    pub destination: Option<Spanned<String>>,
}

/// Where a chemical indicator was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum CiPosition {
    /// On the outside of a package.
    External,
    /// Inside a package.
    Internal,
    /// In a process challenge device or a test pack.
    TestPack,
}

impl CiPosition {
    /// Every position.
    pub const ALL: &'static [CiPosition] = &[
        CiPosition::External,
        CiPosition::Internal,
        CiPosition::TestPack,
    ];

    /// The word in the formats.
    pub fn word(self) -> &'static str {
        match self {
            CiPosition::External => "external",
            CiPosition::Internal => "internal",
            CiPosition::TestPack => "test-pack",
        }
    }
}

/// What a chemical indicator showed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum CiEndpoint {
    /// The endpoint was reached.
    Reached,
    /// The endpoint was not reached.
    NotReached,
    /// It could not be read.
    Unreadable,
}

impl CiEndpoint {
    /// Every endpoint.
    pub const ALL: &'static [CiEndpoint] = &[
        CiEndpoint::Reached,
        CiEndpoint::NotReached,
        CiEndpoint::Unreadable,
    ];

    /// The words in the formats.
    pub fn word(self) -> &'static str {
        match self {
            CiEndpoint::Reached => "reached",
            CiEndpoint::NotReached => "not reached",
            CiEndpoint::Unreadable => "unreadable",
        }
    }
}

/// A chemical indicator's result.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CiResult {
    /// Where it was.
    pub position: Option<Spanned<CiPosition>>,
    /// Its type, 1 to 6 (ISO 11140-1).
    pub ci_type: Option<Spanned<u8>>,
    /// The set it was with.
    pub set: Option<Spanned<String>>,
    /// Its lot.
    pub lot: Option<Spanned<LotIdentity>>,
    /// What it showed.
    pub endpoint: Option<Spanned<CiEndpoint>>,
}

/// Whether a biological indicator went through the cycle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum BiRole {
    /// It was in the load.
    Test,
    /// It was not processed, and must grow.
    Control,
}

impl BiRole {
    /// Every role.
    pub const ALL: &'static [BiRole] = &[BiRole::Test, BiRole::Control];

    /// The word in the formats.
    pub fn word(self) -> &'static str {
        match self {
            BiRole::Test => "test",
            BiRole::Control => "control",
        }
    }
}

/// What a biological indicator showed after incubation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum BiGrowth {
    /// Growth.
    Growth,
    /// No growth.
    NoGrowth,
}

impl BiGrowth {
    /// Every result.
    pub const ALL: &'static [BiGrowth] = &[BiGrowth::Growth, BiGrowth::NoGrowth];

    /// The words in the formats.
    pub fn word(self) -> &'static str {
        match self {
            BiGrowth::Growth => "growth",
            BiGrowth::NoGrowth => "no growth",
        }
    }
}

/// A biological indicator put to incubation, and read if `growth` is there.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BiResult {
    /// Test or control.
    pub role: Option<Spanned<BiRole>>,
    /// Its lot.
    pub lot: Option<Spanned<LotIdentity>>,
    /// When incubation began.
    pub incubated: Option<Spanned<Stamp>>,
    /// When it was read.
    pub read: Option<Spanned<Stamp>>,
    /// What it showed; `None` while it is incubating.
    pub growth: Option<Spanned<BiGrowth>>,
    /// The number of spores on it, where the log gives its certificate's value.
    pub population: Option<Spanned<f64>>,
    /// Its D-value in minutes, where the log gives its certificate's value.
    pub d_value_minutes: Option<Spanned<f64>>,
}

/// What happened to a lot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum LotAction {
    /// It was opened.
    Opened,
    /// It was used up or discarded.
    Finished,
}

impl LotAction {
    /// Every action.
    pub const ALL: &'static [LotAction] = &[LotAction::Opened, LotAction::Finished];

    /// The word in the formats.
    pub fn word(self) -> &'static str {
        match self {
            LotAction::Opened => "opened",
            LotAction::Finished => "finished",
        }
    }
}

/// A lot that was opened or finished.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LotChange {
    /// The kind of consumable.
    pub consumable: Option<Spanned<ConsumableKind>>,
    /// The lot.
    pub lot: Option<Spanned<LotIdentity>>,
    /// What happened to it.
    pub action: Option<Spanned<LotAction>>,
}
