//! What a cycle is called in a report and on the command line: `UNIT:COUNTER`.

use super::place::Place;
use crate::diagnose::LineResolver;
use crate::reconcile::history::KnownCycle;
use crate::record::cycle::Cycle;
use serde::Serialize;

/// A cycle as a row refers to it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct CycleRow {
    /// Its name.
    pub cycle: String,
    /// When it began, on the local clock.
    pub began: Option<String>,
    /// Its load number.
    pub load: Option<String>,
    /// Where its printout opens.
    pub place: Place,
}

impl CycleRow {
    /// The row of a cycle.
    pub fn of(known: &KnownCycle, lines: &dyn LineResolver) -> Self {
        CycleRow {
            cycle: cycle_name(&known.cycle),
            began: known
                .began
                .as_ref()
                .map(|began| super::moment::to_minute(began.value.local)),
            load: known.cycle.load.as_ref().map(|load| load.value.0.clone()),
            place: Place::of(&known.cycle.opening, lines),
        }
    }
}

/// A cycle's name: `PL-1:1042`, with `?` for what its printout does not say.
pub fn cycle_name(cycle: &Cycle) -> String {
    let unit = cycle.unit.as_ref().map_or("?", |unit| unit.value.as_str());
    match &cycle.counter {
        Some(counter) => format!("{unit}:{}", counter.value),
        None => format!("{unit}:?"),
    }
}
