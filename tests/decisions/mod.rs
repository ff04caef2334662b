//! What the records of a load support: cases in text, each worked out by hand from the source that it names, and what
//! must hold of any records. Cases that rest on a publication are run by `loadbook::selftest` and its test.
//!
//! How to read a case: `cases/README.md`.

mod kept_answers;
mod properties;
mod table;
