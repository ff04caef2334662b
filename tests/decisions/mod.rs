//! What the records of a load support: cases in text, each worked out by hand from the source that it names, and what
//! must hold of any records.
//!
//! How to read a case: `cases/README.md`.

mod kept_answers;
mod properties;
mod table;
mod written_case;
