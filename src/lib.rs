//! loadbook reads what sterilizers print and what technicians write beside them, ties the two together, and says what
//! the records support.
//!
//! The order of the modules is the data's way:
//! bytes → numbered lines → records → history → judgements → reports. A module imports only what stands above it here; the test
//! `layers` holds it to that. Read [`parse::read_inputs`] first, then [`reconcile::join_history`] and
//! [`judge::judge_history`].

// Promise 5, no panic on any bytes, as far as a compiler can hold it: what is read may be made to break sums, so nothing may
// stop, wrap or slice out of bounds. Denied here and not in Cargo.toml, as tests may unwrap and count as they like.
// DEVELOPERS.md says how an exception is justified.
#![cfg_attr(
    not(test),
    deny(
        clippy::arithmetic_side_effects,
        clippy::expect_used,
        clippy::indexing_slicing,
        clippy::panic,
        clippy::string_slice,
        clippy::todo,
        clippy::unreachable,
        clippy::unwrap_used
    )
)]

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
