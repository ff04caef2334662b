//! What rules said, drawn: the rule, what was seen, and below it each piece of evidence with its lines.

use super::Terminal;
use super::prose::paragraph;
use crate::report::place::Place;
use crate::report::reason::{EvidenceRow, ReasonRow};

/// Places of one piece of evidence shown in a short list.
const SHORT_PLACES: usize = 3;

/// A rule that found something, in a paragraph with its evidence below.
pub fn draw_reason(reason: &ReasonRow, indent: usize, terminal: &Terminal) -> String {
    let margin = " ".repeat(indent);
    let words = format!("{}: {}.", reason.rule, reason.seen.trim_end_matches('.'));
    let mut out = paragraph(&format!("{margin}- "), &words, terminal.width);
    for evidence in &reason.evidence {
        out.push_str(&draw_evidence(evidence, indent.saturating_add(4), terminal));
    }
    out
}

/// A piece of evidence: where it stands, then what is to be seen there.
pub fn draw_evidence(evidence: &EvidenceRow, indent: usize, terminal: &Terminal) -> String {
    let margin = " ".repeat(indent);
    let words = match evidence.places.as_slice() {
        [] => format!("not in the records: {}", evidence.words),
        places => format!("{}: {}", say_places(places, terminal), evidence.words),
    };
    paragraph(&margin, &words, terminal.width)
}

/// Places in a line; of many the first ones.
pub fn say_places(places: &[Place], terminal: &Terminal) -> String {
    let n_shown = terminal.n_drawn(places.len(), SHORT_PLACES);
    let mut said: Vec<String> = places
        .iter()
        .take(n_shown)
        .map(|place| terminal.place(place))
        .collect();
    let n_left = places.len().saturating_sub(n_shown);
    if n_left > 0 {
        said.push(format!("and {n_left} more"));
    }
    said.join(", ")
}
