//! Where a lot of a consumable was used: the loads to get back when it is called back, and where else it was.
//!
//! Lots are compared without regard to capitals; kinds of consumables are kept apart, for two makers may number alike.
//! Each load counts once for each kind. Knows nothing of screens. Read [`find_lot_uses`] first.

use crate::diagnose::Span;
use crate::reconcile::history::{EntryIx, History, LoadIx};
use crate::record::consumable::{ConsumableKind, LotIdentity};
use crate::record::entry::EntryBody;
use chrono::NaiveDateTime;
use std::collections::{BTreeMap, BTreeSet};

/// A lot and where it was used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LotUses {
    /// The lot, as first written.
    pub lot: String,
    /// The kind of consumable.
    pub kind: ConsumableKind,
    /// The loads that used it, in order of the history, each with the places that say so.
    pub loads: BTreeMap<LoadIx, Vec<Span>>,
    /// Uses that name no load: printed cycles without a load number, tests of the unit.
    pub without_load: Vec<Span>,
    /// Entries that say it was opened or finished, in order.
    pub changes: Vec<EntryIx>,
}

/// A lot by kind and number, small letters.
pub type LotKey = (ConsumableKind, String);

/// Every lot of a history, sorted by kind and number. Records that came later than `as_of` are left out.
pub fn find_lots(history: &History, as_of: Option<NaiveDateTime>) -> BTreeMap<LotKey, LotUses> {
    let mut lots: BTreeMap<LotKey, LotUses> = BTreeMap::new();
    let had_come = |moment: Option<NaiveDateTime>| match (moment, as_of) {
        (Some(moment), Some(as_of)) => moment <= as_of,
        _ => true,
    };
    let mut load_of: BTreeMap<EntryIx, LoadIx> = BTreeMap::new();
    for (at, load) in history.loads.iter().enumerate() {
        let lists = [&load.contents, &load.cis, &load.bis, &load.superseded_bis];
        for ix in lists.into_iter().flatten() {
            load_of.insert(*ix, LoadIx(at));
        }
    }
    for known in &history.cycles {
        if !had_come(known.began.as_ref().map(|began| began.value.local)) {
            continue;
        }
        for used in &known.cycle.consumables {
            if let Some(uses) = uses_of(&mut lots, used.kind, &used.lot.value) {
                uses.add(known.load, used.lot.span);
            }
        }
    }
    for (at, known) in history.entries.iter().enumerate() {
        let ix = EntryIx(at);
        if !had_come(known.written.map(|at| at.local)) {
            continue;
        }
        let (kind, lot) = match &known.entry.body {
            EntryBody::Ci(ci) => (ConsumableKind::Ci, ci.lot.as_ref()),
            EntryBody::Bi(bi) => (ConsumableKind::Bi, bi.lot.as_ref()),
            EntryBody::Content(content) => {
                (ConsumableKind::Packaging, content.packaging_lot.as_ref())
            }
            EntryBody::Lot(change) => {
                let kind = change.consumable.as_ref().map(|kind| kind.value);
                if let (Some(kind), Some(lot)) = (kind, &change.lot)
                    && let Some(uses) = uses_of(&mut lots, kind, &lot.value)
                {
                    uses.changes.push(ix);
                }
                continue;
            }
            _ => continue,
        };
        if let Some(lot) = lot
            && let Some(uses) = uses_of(&mut lots, kind, &lot.value)
        {
            uses.add(load_of.get(&ix).copied(), lot.span);
        }
    }
    lots
}

/// The uses of one lot: of every kind that has it, unless one is named. Empty when no record has it.
pub fn find_lot_uses(
    history: &History,
    lot: &str,
    kind: Option<ConsumableKind>,
    as_of: Option<NaiveDateTime>,
) -> Vec<LotUses> {
    let wanted = lot.to_lowercase();
    find_lots(history, as_of)
        .into_iter()
        .filter(|((own, number), _)| *number == wanted && kind.is_none_or(|kind| kind == *own))
        .map(|(_, uses)| uses)
        .collect()
}

/// The lots that a load used.
pub fn lots_of_load(lots: &BTreeMap<LotKey, LotUses>, load: LoadIx) -> Vec<&LotUses> {
    lots.values()
        .filter(|uses| uses.loads.contains_key(&load))
        .collect()
}

/// The numbers of all lots, each once.
pub fn lot_numbers(lots: &BTreeMap<LotKey, LotUses>) -> BTreeSet<&str> {
    lots.values().map(|uses| uses.lot.as_str()).collect()
}

fn uses_of<'l>(
    lots: &'l mut BTreeMap<LotKey, LotUses>,
    kind: ConsumableKind,
    lot: &LotIdentity,
) -> Option<&'l mut LotUses> {
    let number = lot.lot.as_ref()?;
    let key = (kind, number.0.to_lowercase());
    Some(lots.entry(key).or_insert_with(|| LotUses {
        lot: number.0.clone(),
        kind,
        loads: BTreeMap::new(),
        without_load: Vec::new(),
        changes: Vec::new(),
    }))
}

impl LotUses {
    fn add(&mut self, load: Option<LoadIx>, span: Span) {
        match load {
            Some(load) => self.loads.entry(load).or_default().push(span),
            None => self.without_load.push(span),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::trial::{PLASMA, history, moment};

    /// A tested lot's uses: kind, how many loads, places in loads, places without one, changes.
    fn told(history: &History, as_of: Option<&str>) -> Vec<(String, usize, usize, usize, usize)> {
        find_lots(history, as_of.map(moment))
            .values()
            .map(|uses| {
                let n_places = uses.loads.values().map(Vec::len).sum();
                (
                    format!("{} {}", uses.kind.word(), uses.lot),
                    uses.loads.len(),
                    n_places,
                    uses.without_load.len(),
                    uses.changes.len(),
                )
            })
            .collect()
    }

    #[test]
    fn every_lot_of_the_base_is_told_with_its_places() {
        let history = history(PLASMA);
        // Read off the base: each opened once; the vials of test and control put and read make four places.
        assert_eq!(
            told(&history, None),
            [
                ("sterilant K4471".to_owned(), 1, 1, 0, 1),
                ("ci C2231".to_owned(), 1, 1, 0, 1),
                ("ci C2240".to_owned(), 1, 1, 0, 1),
                ("bi B771".to_owned(), 1, 4, 0, 1),
                ("packaging W310".to_owned(), 1, 1, 0, 1),
            ]
        );
        // What was written by 08:25, that minute taken in: the cycle had begun, and one indicator was read.
        assert_eq!(
            told(&history, Some("2026-03-12 08:25")),
            [
                ("sterilant K4471".to_owned(), 1, 1, 0, 1),
                ("ci C2231".to_owned(), 1, 1, 0, 1),
                ("ci C2240".to_owned(), 0, 0, 0, 1),
                ("bi B771".to_owned(), 0, 0, 0, 1),
                ("packaging W310".to_owned(), 1, 1, 0, 1),
            ]
        );
        let lots = find_lots(&history, None);
        assert_eq!(
            lot_numbers(&lots).into_iter().collect::<Vec<_>>(),
            ["B771", "C2231", "C2240", "K4471", "W310"]
        );
        assert_eq!(lots_of_load(&lots, LoadIx(0)).len(), 5);
        assert!(lots_of_load(&lots, LoadIx(1)).is_empty());
    }

    #[test]
    fn lot_is_found_in_any_letters_and_by_its_kind() {
        let text = PLASMA
            .replace("lot W310", "lot B771")
            .replace("load: P1-0312-01\noperator", "operator");
        let history = history(&text);
        let kinds = |lot: &str, kind| {
            let uses = find_lot_uses(&history, lot, kind, None);
            uses.iter().map(|uses| uses.kind).collect::<Vec<_>>()
        };
        use ConsumableKind::{Bi, Ci, Packaging};
        assert_eq!(kinds("b771", None), [Bi, Packaging]);
        assert_eq!(kinds("B771", Some(Bi)), [Bi]);
        assert_eq!(kinds("B771", Some(Ci)), [] as [ConsumableKind; 0]);
        assert_eq!(kinds("B772", None), [] as [ConsumableKind; 0]);
        // The strip names no load: its supply was used, and by which load is not known.
        let sterilant = &find_lot_uses(&history, "k4471", None, None)[0];
        assert_eq!(
            (sterilant.loads.len(), sterilant.without_load.len()),
            (0, 1)
        );
    }
}
