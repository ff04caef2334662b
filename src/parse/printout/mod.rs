//! The cycle printout: its parser and its writer.

pub mod write;
