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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnose::FileId;
    use crate::reconcile::case::cycle;

    #[test]
    fn places_are_in_order_of_file_then_byte() {
        let span = Span {
            file: FileId(3),
            line: 7,
            line_start: 560,
            start: 2,
            end: 9,
        };
        assert_eq!(place(&span), (3, 560, 7, 2, 9));
        let earlier = Span {
            file: FileId(2),
            line: 90,
            line_start: 7_200,
            ..span
        };
        assert!(place(&earlier) < place(&span));
    }

    #[test]
    fn cycle_is_called_by_as_much_as_its_printout_tells() {
        let whole = cycle(1, "PL-1", 1042, "").done();
        assert_eq!(cycle_said(&whole), "PL-1 cycle 1042");
        let mut one = whole.clone();
        one.counter = None;
        assert_eq!(cycle_said(&one), "a cycle of PL-1 without counter");
        let mut one = whole.clone();
        one.unit = None;
        assert_eq!(cycle_said(&one), "cycle 1042 of an unnamed unit");
        one.counter = None;
        assert_eq!(cycle_said(&one), "a cycle of an unnamed unit");
    }
}
