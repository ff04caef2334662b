//! The store that a department keeps for years: one folder, no server.
//!
//! Original bytes are kept packed, each file once, named by the SHA-256 of what it holds; a *manifest*, to which lines
//! are only ever added and each of which holds the SHA-256 of the line before it, says what came in, under which name,
//! and what was read from it by which loadbook. The layout of the folder, what is promised and which test holds each
//! promise stand in grammars/archive.md.
//!
//! Beside them lie *tables*, which are made from the originals and can be made again, as parts that the manifest names.
//!
//! Knows nothing of how lines become records, nor of reports and rows: whoever adds a file reads it and tells what was read
//! ([`reading::Reading`]), and whoever makes a table gives its bytes. Read [`store::Archive`] first, then [`add::Writer`],
//! [`tables::TablesUpdate`] and [`verify::verify`].

pub mod add;
pub mod disk;
pub mod event;
pub mod fault;
pub mod fingerprint;
pub mod manifest;
pub mod object;
pub mod part;
pub mod reading;
pub mod store;
pub mod tables;
pub mod told;
#[cfg(test)]
mod trial;
pub mod verify;
