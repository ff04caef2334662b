//! Which files the user's paths name, in a fixed order; and their lines again, for whoever shows them.

use crate::diagnose::{FileId, LineResolver, Span};
use serde::Serialize;

/// One input file, after it was read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SourceFile {
    /// Its number.
    pub id: FileId,
    /// Its name as the user gave it, or as found in a folder that the user gave; `-` for standard input.
    pub name: String,
    /// Its size in bytes.
    pub n_bytes: u64,
    /// Its SHA-256 in hexadecimal.
    pub sha256: String,
    /// The number of its lines.
    pub n_lines: u64,
    /// Its encoding: `utf-8`, `windows-1252`, `utf-16le`, `utf-16be`.
    pub encoding: &'static str,
}

/// The files that were read, with access to their lines.
#[derive(Debug, Default)]
pub struct Sources {
    files: Vec<SourceFile>,
}

impl Sources {
    /// The files in the order of their numbers.
    pub fn files(&self) -> &[SourceFile] {
        &self.files
    }
}

impl LineResolver for Sources {
    fn file_name(&self, file: FileId) -> &str {
        self.files
            .get(file.0 as usize)
            .map_or("?", |file| &file.name)
    }

    fn line_bytes(&self, _span: &Span) -> Option<Vec<u8>> {
        None
    }
}
