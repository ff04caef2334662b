//! JSON on its way out.

use super::Refusal;
use crate::report::inert;
use serde::Serialize;

/// A report as JSON: indented, with a line end, and inert.
///
/// # Errors
/// A value that JSON can't hold; the reports hold none.
pub fn write_json(report: &impl Serialize) -> Result<String, Refusal> {
    let written = serde_json::to_string_pretty(report)
        .map_err(|error| Refusal::new(format!("the report can't be written as JSON: {error}")))?;
    Ok(inert::json(&written) + "\n")
}
