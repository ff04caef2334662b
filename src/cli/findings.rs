//! What is unusual in what was read, for the commands that show it. Read [`find_in`] first.

use super::Refusal;
use crate::analyse::{Analysis, find_findings};
use crate::reconcile::history::History;
use crate::report::findings::{Findings, write_findings};
use crate::report::review::Reviewed;

/// The analysis of a history.
///
/// # Errors
/// A fault of loadbook itself; records can't cause one.
pub fn analyse_history(history: &History) -> Result<Analysis, Refusal> {
    find_findings(history).map_err(|fault| Refusal::new(fault.to_string()))
}

/// What is unusual in what was read, as rows.
///
/// # Errors
/// As [`analyse_history`].
pub fn find_in(reviewed: &Reviewed<'_>) -> Result<Findings, Refusal> {
    let analysis = analyse_history(reviewed.history)?;
    Ok(write_findings(&analysis, reviewed.scope, reviewed.lines))
}
