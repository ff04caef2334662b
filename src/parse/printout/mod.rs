//! The cycle printout: its reader and its writer. The format is specified in grammars/cycle-printout.md.

pub mod builder;
pub mod clock;
pub mod read;
pub mod usual;
pub mod write;
