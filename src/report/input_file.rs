//! An input file as reports tell of it.

use crate::diagnose::FileId;

/// An input file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InputFile {
    /// Its number.
    pub id: FileId,
    /// Its name as the user gave it, or as found in a folder.
    pub name: String,
    /// Its size in bytes.
    pub n_bytes: u64,
    /// The number of its lines.
    pub n_lines: u64,
    /// Its encoding.
    pub encoding: &'static str,
    /// Its SHA-256 in hexadecimal.
    pub sha256: String,
}
