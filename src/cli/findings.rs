//! What is unusual in what was read, for the commands that show it. Read [`find_in`] first.

use super::Refusal;
use super::intake::Intake;
use crate::analyse::{Analysis, find_findings};
use crate::report::findings::{Findings, write_findings};

/// The analysis of what was read.
///
/// # Errors
/// A fault of loadbook itself; records can't cause one.
pub fn analyse_intake(intake: &Intake) -> Result<Analysis, Refusal> {
    find_findings(&intake.history).map_err(|fault| Refusal::new(fault.to_string()))
}

/// What is unusual in what was read, as rows.
///
/// # Errors
/// As [`analyse_intake`].
pub fn find_in(intake: &Intake) -> Result<Findings, Refusal> {
    let analysis = analyse_intake(intake)?;
    Ok(write_findings(&analysis, &intake.scope, &intake.sources))
}
