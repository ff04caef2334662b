//! Lots of consumables: in how many cycles each was used and what those came to. Counts only; whether a lot is to blame
//! is for `analyse` to say. Read [`count_lots`] first.

use super::naming::CycleRow;
use super::place::Place;
use super::review::{Reviewed, outcome_word};
use super::scope::is_load_cycle;
use crate::measure::count::Counting;
use crate::record::consumable::LotIdentity;
use crate::record::entry::{BiGrowth, BiRole, CiEndpoint, EntryBody};
use serde::Serialize;
use std::collections::BTreeMap;

/// A lot and what it was part of.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LotRow {
    /// The kind: `sterilant`, `ci`, `bi`.
    pub kind: &'static str,
    /// The lot.
    pub lot: String,
    /// Its expiry, as ISO 8601 writes it.
    pub expiry: Option<String>,
    /// Cycles that used it, or indicators of it that were read.
    pub n_used: u64,
    /// How many of them were aborted, did not reach their endpoint or grew; for controls, did not grow.
    pub n_against: u64,
    /// The units that it was used in.
    pub units: BTreeMap<String, u64>,
    /// Where what speaks against it stands.
    pub against: Vec<Place>,
    /// Where it is first seen.
    pub first: Place,
}

/// Counts the lots of sterilants, chemical and biological indicators in scope, by kind and lot.
pub fn count_lots(reviewed: &Reviewed<'_>) -> Vec<LotRow> {
    let mut rows: BTreeMap<(&'static str, String), LotRow> = BTreeMap::new();
    let mut count =
        |kind: &'static str, lot: &LotIdentity, unit: Option<&str>, against: bool, place: Place| {
            let Some(number) = &lot.lot else { return };
            let row = rows
                .entry((kind, number.0.clone()))
                .or_insert_with(|| LotRow {
                    kind,
                    lot: number.0.clone(),
                    expiry: None,
                    n_used: 0,
                    n_against: 0,
                    units: BTreeMap::new(),
                    against: Vec::new(),
                    first: place.clone(),
                });
            row.expiry = row
                .expiry
                .take()
                .or_else(|| lot.expiry.map(|day| day.to_string()));
            row.n_used.add_one();
            row.units
                .entry(unit.unwrap_or("?").to_owned())
                .or_default()
                .add_one();
            if against {
                row.n_against.add_one();
                row.against.push(place);
            }
        };
    for known in &reviewed.history.cycles {
        if !reviewed.scope.has_cycle(known) || !is_load_cycle(known) {
            continue;
        }
        let unit = known.cycle.unit.as_ref().map(|unit| unit.value.as_str());
        for used in &known.cycle.consumables {
            count(
                used.kind.word(),
                &used.lot.value,
                unit,
                outcome_word(known) == "aborted",
                CycleRow::of(known, reviewed.lines).place,
            );
        }
    }
    for load in &reviewed.history.loads {
        if !reviewed.scope.has_load(load, reviewed.history) {
            continue;
        }
        let unit = load.unit.as_ref().map(|unit| unit.as_str());
        for ix in load.cis.iter().chain(&load.bis) {
            let Some(known) = reviewed.history.entries.get(ix.0) else {
                continue;
            };
            let place = Place::of(&known.entry.span, reviewed.lines);
            match &known.entry.body {
                EntryBody::Ci(ci) => {
                    if let (Some(lot), Some(endpoint)) = (&ci.lot, &ci.endpoint) {
                        let against = endpoint.value != CiEndpoint::Reached;
                        count("ci", &lot.value, unit, against, place);
                    }
                }
                EntryBody::Bi(bi) => {
                    if let (Some(lot), Some(growth)) = (&bi.lot, &bi.growth) {
                        let is_control =
                            bi.role.as_ref().map(|role| role.value) == Some(BiRole::Control);
                        let against = (growth.value == BiGrowth::Growth) != is_control;
                        count("bi", &lot.value, unit, against, place);
                    }
                }
                _ => {}
            }
        }
    }
    rows.into_values().collect()
}
