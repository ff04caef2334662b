//! Records → one history: cycles tied to loads, indicators and contents; gaps, reprints and clock conflicts named.
//!
//! Knows nothing of policy, statistics, source files or formats. Nothing is joined on a guess: a near miss is proposed,
//! and whatever is inferred carries its reason. Read [`history::History`] first, then [`join_history`].

pub mod history;

use crate::diagnose::Diagnostic;
use crate::record::cycle::Cycle;
use crate::record::entry::Entry;
use chrono_tz::Tz;
use history::History;

/// What the site is known to be, beyond its records.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Site {
    /// The zone of clocks for which the records name none.
    pub zone: Option<Tz>,
}

/// Joins records into one history.
///
/// The order in which cycles and entries come does not matter: the result is sorted by unit and time, then by place in
/// the input. What was noticed on the way comes back beside it.
pub fn join_history(
    cycles: Vec<Cycle>,
    entries: Vec<Entry>,
    site: Site,
) -> (History, Vec<Diagnostic>) {
    let _ = (cycles, entries, site);
    (History::default(), Vec::new())
}
