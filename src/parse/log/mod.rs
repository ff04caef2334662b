//! The indicator log: its parsers (text and CSV) and its writer.

pub mod write;
