//! Cautions, drawn: on one screen in short, where a load is handled in full.

use super::Terminal;
use super::prose::paragraph;
use crate::report::caution::{Caution, CautionRow};

/// The cautions in short, with who decides.
pub fn draw_cautions(cautions: &[Caution], terminal: &Terminal) -> String {
    if cautions.is_empty() {
        return String::new();
    }
    let mut said: Vec<&str> = cautions.iter().map(|caution| caution.said()).collect();
    said.push(Caution::DEFERS);
    terminal.lead("TAKE CARE", &said.join(" "))
}

/// The cautions in full, each with its sources; nothing when there are none.
pub fn draw_cautions_in_full(cautions: &[CautionRow], terminal: &Terminal) -> String {
    let mut out = String::new();
    for caution in cautions {
        let words = format!("{} {} {}", caution.said, caution.more, caution.defers);
        out.push_str(&terminal.lead("TAKE CARE", &words));
        let sources = format!("Source: {}.", caution.sources.join("; "));
        out.push_str(&paragraph("  ", &sources, terminal.width));
    }
    out
}
