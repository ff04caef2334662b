//! cli.

pub mod simulate;
