//! How cycles are called in headlines, and the order of places in the input. Knows records only. Read [`cycle_said`].

use crate::diagnose::Span;
use crate::record::cycle::Cycle;

/// Where something stands in the input, as a sort key.
pub(super) fn place(span: &Span) -> (u32, u64, u32, u32, u32) {
    (
        span.file.0,
        span.line_start,
        span.line,
        span.start,
        span.end,
    )
}

/// `PL-1 cycle 1042`, or as much of it as the printout tells.
pub(super) fn cycle_said(cycle: &Cycle) -> String {
    match (&cycle.unit, &cycle.counter) {
        (Some(unit), Some(counter)) => format!("{} cycle {}", unit.value, counter.value),
        (Some(unit), None) => format!("a cycle of {} without counter", unit.value),
        (None, Some(counter)) => format!("cycle {} of an unnamed unit", counter.value),
        (None, None) => "a cycle of an unnamed unit".to_owned(),
    }
}
