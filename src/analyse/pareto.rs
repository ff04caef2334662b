//! Causes of aborts and rejections, the commonest first (V. Pareto's principle, as J. M. Juran, Quality Control Handbook,
//! 1951, has it). Counts only. Read [`count_causes`] first.

use super::frame::{Frame, rows_by};
use crate::measure::count::Counting;
use crate::record::cycle::Purpose;
use polars::prelude::PolarsResult;
use std::collections::BTreeMap;

/// A cause of aborts or rejections and its share of all.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct ParetoRow {
    /// The process.
    pub process: String,
    /// Aborted or rejected.
    pub outcome: &'static str,
    /// The cause, in the word of the printouts.
    pub cause: String,
    /// How many cycles.
    pub n: usize,
    /// How many of its outcome and process there are up to and with this row.
    pub n_so_far: usize,
    /// How many of its outcome and process there are in all.
    pub n_all: usize,
}

/// The causes of aborts and rejections of each process, the commonest first (Pareto).
///
/// # Errors
/// Those of the table library.
pub fn count_causes(frame: &Frame) -> PolarsResult<Vec<ParetoRow>> {
    let mut groups: BTreeMap<(String, &'static str), Vec<(String, usize)>> = BTreeMap::new();
    for (key, rows) in rows_by(
        &frame.cycle_table,
        &["process", "purpose", "outcome", "cause"],
    )? {
        let [process, purpose, outcome, cause] = key.as_slice() else {
            continue;
        };
        let outcome = match outcome.as_str() {
            "aborted" => "aborted",
            "rejected" => "rejected",
            _ => continue,
        };
        if purpose == Purpose::Load.word() {
            groups
                .entry((process.clone(), outcome))
                .or_default()
                .push((cause.clone(), rows.len()));
        }
    }
    let mut pareto = Vec::new();
    for ((process, outcome), mut causes) in groups {
        causes.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
        let n_all = causes.iter().map(|(_, n)| n).sum();
        let mut n_so_far = 0;
        for (cause, n) in causes {
            n_so_far.add_many(n);
            pareto.push(ParetoRow {
                process: process.clone(),
                outcome,
                cause,
                n,
                n_so_far,
                n_all,
            });
        }
    }
    Ok(pareto)
}
