//! loadbook reads what sterilizers print and what technicians write beside them, ties the two together, and says what
//! the records support.
//!
//! The order of the modules is the data's way:
//! bytes → numbered lines → records → history → judgements → reports. A module imports only what stands above it here; the test
//! `layers` holds it to that. Read [`parse::read_inputs`] first, then [`reconcile::join_history`] and
//! [`judge::judge_history`].

// The blank lines keep the order: rustfmt sorts neighbours.
pub mod diagnose;

pub mod measure;

pub mod parallel;

pub mod source;

pub mod record;

pub mod parse;

pub mod reconcile;

pub mod judge;

pub mod stats;

pub mod analyse;

pub mod report;

pub mod archive;

pub mod simulate;

pub mod selftest;

pub mod cli;
