//! What records are called in every table, so that tables can be joined.
//!
//! A key is made of what the record itself says, not of its number in the export: more records beside it don't change
//! it. Where two records would have the same key, the second and later ones get `#2`, `#3`, in the order of the history.
//! Read [`Keys::of`] first.

use super::column::Key;
use crate::measure::count::Counting;
use crate::reconcile::history::{CycleIx, EntryIx, History, KnownCycle, Load, LoadIx};
use crate::record::consumable::{ConsumableKind, LotIdentity};
use crate::report::inert;
use crate::report::naming::cycle_name;
use std::collections::BTreeMap;

/// The keys of a history.
#[derive(Debug, Clone)]
pub struct Keys {
    cycles: Vec<Key>,
    loads: Vec<Key>,
    load_of_entry: BTreeMap<EntryIx, LoadIx>,
    /// In order.
    superseded: Vec<EntryIx>,
}

impl Keys {
    /// Names every cycle and load.
    pub fn of(history: &History) -> Self {
        let mut load_of_entry = BTreeMap::new();
        for (ix, load) in history.loads.iter().enumerate() {
            for entry in load.entries() {
                load_of_entry.entry(entry).or_insert(LoadIx(ix));
            }
        }
        let loads = history.loads.iter();
        let mut superseded: Vec<EntryIx> = loads
            .flat_map(|load| load.superseded_bis.iter().copied())
            .collect();
        superseded.sort_unstable();
        Keys {
            cycles: tell_apart(history.cycles.iter().map(cycle_key)),
            loads: tell_apart(history.loads.iter().map(load_key)),
            load_of_entry,
            superseded,
        }
    }

    /// The key of a cycle.
    pub fn cycle(&self, ix: CycleIx) -> Option<Key> {
        self.cycles.get(ix.0).cloned()
    }

    /// The key of a load.
    pub fn load(&self, ix: LoadIx) -> Option<Key> {
        self.loads.get(ix.0).cloned()
    }

    /// The load that an entry was given to.
    pub fn load_of(&self, entry: EntryIx) -> Option<LoadIx> {
        self.load_of_entry.get(&entry).copied()
    }

    /// Whether a later entry of the same vial stands for an entry.
    pub fn is_superseded(&self, entry: EntryIx) -> bool {
        self.superseded.binary_search(&entry).is_ok()
    }
}

/// `UNIT:COUNTER@START`, the start as printed: `PL-1:1042@2026-03-12T07:41:00`.
fn cycle_key(known: &KnownCycle) -> String {
    let started = known.cycle.started.as_ref().map_or_else(
        || "?".to_owned(),
        |started| started.value.local.format("%Y-%m-%dT%H:%M:%S").to_string(),
    );
    format!("{}@{started}", cycle_name(&known.cycle))
}

/// `NUMBER@DAY`, the day of the first record: `P1-260312-01@2026-03-12`.
fn load_key(load: &Load) -> String {
    let day = load.first.map_or_else(
        || "?".to_owned(),
        |first| first.local.format("%Y-%m-%d").to_string(),
    );
    format!("{}@{day}", load.number)
}

/// `KIND:LOT`, or `KIND:gtin:GTIN` where only that is known: `sterilant:B1093`.
pub fn lot_key(kind: ConsumableKind, lot: &LotIdentity) -> Option<Key> {
    let name = match (&lot.lot, &lot.gtin) {
        (Some(lot), _) => lot.0.clone(),
        (None, Some(gtin)) => format!("gtin:{gtin}"),
        (None, None) => return None,
    };
    Some(Key::of(&format!("{}:{name}", kind.word())))
}

fn tell_apart(names: impl Iterator<Item = String>) -> Vec<Key> {
    let mut n_seen: BTreeMap<String, usize> = BTreeMap::new();
    names
        .map(|name| {
            // Inert first: two names that differ in what is not shown would look the same.
            let name = inert::text(&name).into_owned();
            let n = n_seen.entry(name.clone()).or_default();
            n.add_one();
            match *n {
                1 => Key::of(&name),
                n => Key::of(&format!("{name}#{n}")),
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn records_of_one_name_are_told_apart() {
        let names = ["a@1", "b@1", "a@1", "a\u{1b}", "a<ESC>"];
        let keys = tell_apart(names.iter().map(|&name| name.to_owned()));
        let keys: Vec<&str> = keys.iter().map(Key::as_str).collect();
        assert_eq!(keys, ["a@1", "b@1", "a@1#2", "a<ESC>", "a<ESC>#2"]);
    }
}
