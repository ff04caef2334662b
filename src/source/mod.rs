//! Paths and pipes → files with a SHA-256 → decoded, numbered lines. Knows nothing of records.

pub mod gather;
