//! What an archive holds, whether it is whole, and what is read otherwise than before, as values.
//!
//! Knows nothing of how an archive is kept. Read [`ArchiveList`] first.

use chrono::NaiveDateTime;
use serde::Serialize;

/// What an archive holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ArchiveList {
    /// The version of these fields.
    pub format: u32,
    /// Its folder.
    pub archive: String,
    /// Lines of its manifest.
    pub n_lines: u64,
    /// The SHA-256 of the manifest's last line.
    pub fingerprint: String,
    /// Files that are kept and that a longer or corrected version replaces.
    pub n_replaced: u64,
    /// Its files, in the order of their names.
    pub files: Vec<ArchiveRow>,
}

/// A file of an archive.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ArchiveRow {
    /// Its name as it was given.
    pub file: String,
    /// Its SHA-256.
    pub sha256: String,
    /// The manifest's line by which it came in.
    pub line: u64,
    /// When it came in, if that was told.
    pub added: Option<NaiveDateTime>,
    /// Its bytes.
    pub n_bytes: u64,
    /// Printouts.
    pub n_cycles: u64,
    /// Readings.
    pub n_readings: u64,
    /// Log entries.
    pub n_entries: u64,
    /// Lines that could not be read.
    pub n_unread_lines: u64,
    /// The oldest time on a record.
    pub oldest: Option<NaiveDateTime>,
    /// The newest time on a record.
    pub newest: Option<NaiveDateTime>,
    /// The version of loadbook that read it last.
    pub loadbook: String,
    /// The version of its parsers.
    pub parser: u32,
    /// The layout by which it was read.
    pub layout: Option<String>,
    /// Why it is kept and no longer read.
    pub replaced: Option<ReplacedRow>,
}

/// Why a file is kept and no longer read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ReplacedRow {
    /// `longer`: the later file begins with all its bytes; `corrected`: a person said so.
    pub because: &'static str,
    /// The SHA-256 of the file that is read in its place.
    pub by: String,
}

/// Whether an archive is as it was written.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ArchiveCheck {
    /// The version of these fields.
    pub format: u32,
    /// Its folder.
    pub archive: String,
    /// Lines of its manifest.
    pub n_lines: u64,
    /// Files that are read.
    pub n_files_read: u64,
    /// Files that are kept, those that are read included.
    pub n_files: u64,
    /// Bytes of all files that are kept.
    pub n_bytes: u64,
    /// Bytes that they take on disk.
    pub n_packed_bytes: u64,
    /// Parts of its tables.
    pub n_parts: u64,
    /// Bytes of these parts.
    pub n_part_bytes: u64,
    /// The SHA-256 of the manifest's last line.
    pub fingerprint: String,
    /// The line with the fingerprint that was asked for.
    pub asked_line: Option<u64>,
    /// What is damaged.
    pub damages: Vec<PlaceSaid>,
    /// What is worth knowing and no damage.
    pub notes: Vec<PlaceSaid>,
}

/// A place in an archive, and what is to be said of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PlaceSaid {
    /// The place.
    pub place: String,
    /// What is said.
    pub said: String,
}

/// What a later reading of an archive's files has otherwise than the one before.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RereadReport {
    /// The version of these fields.
    pub format: u32,
    /// Its folder.
    pub archive: String,
    /// Files that were read.
    pub n_files: u64,
    /// Files that another version of loadbook or of a layout had read before, with the same result.
    pub n_same_by_other: u64,
    /// Files of which something is read otherwise.
    pub changed: Vec<ChangedRow>,
    /// What became of the tables; none where they were left as they are.
    pub tables: Option<TablesReport>,
}

/// The tables of an archive, and what of them changed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TablesReport {
    /// The version of these fields.
    pub format: u32,
    /// The archive's folder.
    pub archive: String,
    /// The site's name in them; none where there are none.
    pub site: Option<String>,
    /// The policy that loads were judged by.
    pub policy: Option<String>,
    /// The last line of the manifest that they were made from.
    pub from_line: Option<u64>,
    /// Whether a later line says that something came in since, or is read otherwise.
    pub is_older: bool,
    /// Their parts.
    pub n_parts: u64,
    /// The rows of all parts.
    pub n_rows: u64,
    /// The bytes of all parts.
    pub n_bytes: u64,
    /// The parts that changed, by folder; all of them where only a list was asked for.
    pub parts: Vec<PartRow>,
}

/// A part of a table.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PartRow {
    /// Its table and what its rows are of: `cycles/site=…/unit=…/month=…`.
    pub folder: String,
    /// `new`, `rewritten`, `mended` (its file was not as it was written), `removed`, or `there`.
    pub what: &'static str,
    /// Its rows.
    pub n_rows: u64,
    /// Its file, below the archive's folder; none for one that was removed.
    pub file: Option<String>,
    /// The SHA-256 of its file.
    pub sha256: Option<String>,
}

/// A file of which something is read otherwise.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ChangedRow {
    /// Its name.
    pub file: String,
    /// Its SHA-256.
    pub sha256: String,
    /// By which loadbook it was read before.
    pub read_before_by: String,
    /// What is otherwise.
    pub changes: Vec<ChangeRow>,
}

/// Something that is read otherwise.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ChangeRow {
    /// What.
    pub what: &'static str,
    /// What it was.
    pub before: String,
    /// What it is.
    pub after: String,
}
