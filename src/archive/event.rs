//! What a line of the manifest says.
//!
//! Read [`Event`] first. A line is JSON, one object a line, and its fields are written in one order; the chain is over
//! its bytes, so that nothing hangs on how JSON is written.

use super::fingerprint::Fingerprint;
use super::part::TablesMade;
use super::reading::Reading;
use chrono::NaiveDateTime;
use serde::{Deserialize, Serialize};

/// The version of the archive's layout that this loadbook writes and reads.
pub const FORMAT: u32 = 1;

/// A line of the manifest.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ManifestLine {
    /// Its number, counted from 1.
    pub line: u64,
    /// The SHA-256 of the line before it, without its line end; 64 zeros in the first.
    pub previous: Fingerprint,
    /// What it says.
    #[serde(flatten)]
    pub event: Event,
}

/// Something that happened to the archive.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "event", rename_all = "kebab-case")]
pub enum Event {
    /// It was made.
    Made {
        /// The version of its layout.
        format: u32,
        /// The version of loadbook that made it.
        loadbook: String,
    },
    /// A file came in.
    Added(Added),
    /// A layout that does not come with loadbook came in, because a file was read by it.
    Layout {
        /// The layout's name.
        name: String,
        /// Its texts, its own first, then those it extends.
        texts: Vec<LayoutObject>,
    },
    /// Files that were here already are no longer read, because of another that was here as well.
    Replaced {
        /// The file that is read.
        sha256: Fingerprint,
        /// Those that are not.
        replaces: Vec<Replaced>,
        /// When, if that was told.
        at: Option<NaiveDateTime>,
    },
    /// A file was read again, by another loadbook or layout, with another result.
    Reread {
        /// The file.
        sha256: Fingerprint,
        /// What was read now.
        reading: Reading,
        /// When, if that was told.
        at: Option<NaiveDateTime>,
    },
    /// The tables were brought up to date.
    Tables(TablesMade),
    /// Something that only a newer loadbook knows.
    #[serde(other)]
    Unknown,
}

/// A file that came in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Added {
    /// Its name as it was given, made inert; `-` for standard input.
    pub name: String,
    /// Its bytes.
    #[serde(flatten)]
    pub object: Object,
    /// When, if that was told. loadbook reads no clock; the newest record of the file stands in `reading`.
    pub at: Option<NaiveDateTime>,
    /// Files that are no longer read because of it.
    pub replaces: Vec<Replaced>,
    /// What was read from it.
    pub reading: Reading,
}

/// Bytes that are kept.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Object {
    /// Their SHA-256, which names the object.
    pub sha256: Fingerprint,
    /// Their number.
    pub n_bytes: u64,
    /// The SHA-256 of the object's file, packed as it lies on disk.
    pub packed_sha256: Fingerprint,
    /// The size of the object's file.
    pub n_packed_bytes: u64,
}

/// A text of a layout.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LayoutObject {
    /// Its name, by which another may extend it.
    pub name: String,
    /// Its bytes.
    #[serde(flatten)]
    pub object: Object,
}

/// A file that is kept and no longer read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Replaced {
    /// The file.
    pub sha256: Fingerprint,
    /// Why it is no longer read.
    pub because: Because,
}

/// Why a file is kept and no longer read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Because {
    /// The later file begins with all its bytes.
    Longer,
    /// A person said that the later file is its corrected version.
    Corrected,
}
