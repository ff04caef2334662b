//! The indicator log: its readers (text and CSV) and its writer. The format is specified in grammars/indicator-log.md.

pub mod column;
pub mod csv;
pub mod interpret;
pub mod text;
pub mod write;

#[cfg(test)]
mod edges;
