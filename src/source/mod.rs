//! Paths and pipes → files with a SHA-256 → decoded, numbered lines.
//!
//! Knows nothing of records: a line is text with a number, and how that text came out of the original bytes. Read
//! [`lines::read_lines`] first, then [`gather::gather`].

pub mod decode;
pub mod gather;
pub mod growth;
pub mod lines;
pub mod site_file;
