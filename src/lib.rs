//! loadbook reads what sterilizers print and what technicians write beside them, ties the two together, and says what
//! the records support.
//!
//! The order of the modules is the data's way:
//! bytes → numbered lines → records → history → reports. A module imports only what stands above it here; the test
//! `layers` holds it to that. Read [`parse::read_sources`] first, then [`reconcile::join_history`].

pub mod cli;
pub mod diagnose;
pub mod judge;
pub mod measure;
pub mod parse;
pub mod reconcile;
pub mod record;
pub mod report;
pub mod simulate;
pub mod source;
