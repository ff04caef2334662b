//! Layouts: how loadbook reads printers that don't print its own format. A layout is a TOML file, data only, that says
//! how a printer's lines are worded (grammars/layout.md).
//!
//! `language` reads the TOML, `compile` makes a [`compile::Layout`] of it, `read` reads strips by it; `recognise` finds
//! the one that fits a file, `trial` says line by line what became of a strip, and `draft` proposes a layout for a
//! printer that has none. Files are for `cli` to touch. Read [`compile::compile`] first, then [`read::LayoutReader`].

pub mod compile;
pub mod draft;
pub mod field;
pub mod form;
pub mod language;
pub mod lexicon;
pub mod moment;
pub mod read;
pub mod recognise;
pub mod scan;
pub mod shipped;
pub mod strip_line;
pub mod trial;
pub mod vocabulary;
