//! The typed records: data only, known to every stage from `parse` on.
//!
//! A record knows which lines of which file it came from ([`line_set::LineSet`]) and keeps, for each field that a rule
//! or a report may quote, the span of that field ([`Spanned`]). It knows nothing of formats, of other records, or of
//! policy. Read [`cycle::Cycle`] and [`entry::Entry`] first.

pub mod cause;
pub mod consumable;
pub mod cycle;
pub mod entry;
pub mod line_set;
pub mod name;
pub mod stamp;

use crate::diagnose::Span;
use serde::Serialize;

/// A value together with the place in the input that it was read from.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Spanned<T> {
    /// The value.
    pub value: T,
    /// Where it stands.
    pub span: Span,
}

impl<T> Spanned<T> {
    /// A value at a place.
    pub fn new(value: T, span: Span) -> Self {
        Spanned { value, span }
    }
}

/// A value that may have been inferred, with the reason if it was.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Inferred<T> {
    /// The value.
    pub value: T,
    /// Why it is believed, if it does not stand in the record itself. `None` for what is printed.
    pub reason: Option<String>,
}

impl<T> Inferred<T> {
    /// A value that stands in the record.
    pub fn printed(value: T) -> Self {
        Inferred {
            value,
            reason: None,
        }
    }

    /// A value that was inferred, and why.
    pub fn because(value: T, reason: impl Into<String>) -> Self {
        Inferred {
            value,
            reason: Some(reason.into()),
        }
    }
}
