//! Lots of consumables as rows, and every use of one. A lot without number and GTIN has no name, and no row.

use super::Exported;
use super::column::{Key, Text, Word, rows};
use super::key::lot_key;
use crate::diagnose::Span;
use crate::measure::count::Counting;
use crate::reconcile::history::{CycleIx, EntryIx, LoadIx, Moment};
use crate::record::Spanned;
use crate::record::consumable::{ConsumableKind, LotIdentity, UseCount};
use crate::record::entry::{EntryBody, LotAction};
use crate::record::name::UnitName;
use chrono::{DateTime, NaiveDate, NaiveDateTime, Utc};
use std::collections::BTreeMap;

rows! {
    /// One lot of a consumable that a printout or the log names.
    LotRow = "lots", key ["lot_key"] {
        /// The lot: `KIND:LOT`, or `KIND:gtin:GTIN` where only the GTIN is known.
        lot_key: Key;
        /// `sterilant`, `ci`, `bi`, `packaging`, `other`.
        kind: Word;
        /// Its number.
        lot: Option<Word>;
        /// Its GTIN, if it was scanned.
        gtin: Option<Text>;
        /// The last day on which it may be used, as first written.
        expiry: Option<NaiveDate>;
        /// Its uses: cycles that used it, indicators of it, contents packed with it. Rows of `lot_uses`.
        n_uses: usize;
        /// When it was first used.
        first_use_local: Option<NaiveDateTime>;
        /// The same instant, where it is known.
        first_use_utc: Option<DateTime<Utc>>;
        /// When it was last used.
        last_use_local: Option<NaiveDateTime>;
        /// The same instant, where it is known.
        last_use_utc: Option<DateTime<Utc>>;
        /// Entries that say that it was opened.
        n_opened: usize;
        /// When it was first opened, as the log says.
        opened_local: Option<NaiveDateTime>;
        /// Entries that say that it was finished.
        n_finished: usize;
        /// When it was last finished, as the log says.
        finished_local: Option<NaiveDateTime>;
        /// The file that names it first.
        file: Key;
        /// The line.
        line: u32;
    }

    /// One use of a lot.
    LotUseRow = "lot_uses", key ["lot_key", "use_number"] {
        /// The lot.
        lot_key: Key;
        /// Its place among the uses of the lot, from 1, in order of the records.
        use_number: usize;
        /// `sterilant`, `ci`, `bi`, `packaging`, `other`.
        kind: Word;
        /// The cycle: that of the printout, or the last one of the load.
        cycle_key: Option<Key>;
        /// The load.
        load_key: Option<Key>;
        /// The unit.
        unit: Option<Word>;
        /// Which use of a supply that serves several it was, as printed.
        use_n: Option<u32>;
        /// How many uses that supply has, as printed.
        use_of: Option<u32>;
        /// When the cycle began, or when the entry was written.
        at_local: Option<NaiveDateTime>;
        /// The same instant, where it is known.
        at_utc: Option<DateTime<Utc>>;
        /// The file.
        file: Key;
        /// The line.
        line: u32;
    }
}

/// A record that says that a lot was used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum UseAt {
    /// A printout, and the place of the consumable in it.
    Cycle(CycleIx, usize),
    /// An entry.
    Entry(EntryIx),
}

/// A lot that a record names, and what the record says of it.
struct Named<'a> {
    kind: ConsumableKind,
    lot: &'a LotIdentity,
    span: Span,
    moment: Option<Moment>,
    what: What,
}

enum What {
    /// It was used.
    Used { at: UseAt, count: Option<UseCount> },
    /// It was opened or finished, or only named.
    Changed(Option<LotAction>),
}

/// Every lot in the records in scope: those of the printouts, then those of the log. An earlier entry about a vial that a
/// later one completes is no further use.
fn name_lots<'a>(exported: &'a Exported<'a>) -> impl Iterator<Item = Named<'a>> {
    let history = exported.reviewed.history;
    let chosen = &exported.chosen;
    let of_cycles = chosen
        .cycles
        .iter()
        .filter_map(|ix| Some((*ix, history.cycles.get(ix.0)?)))
        .flat_map(|(ix, known)| {
            (0..)
                .zip(&known.cycle.consumables)
                .map(move |(at, used)| Named {
                    kind: used.kind,
                    lot: &used.lot.value,
                    span: used.lot.span,
                    moment: known.began.as_ref().map(|began| began.value),
                    what: What::Used {
                        at: UseAt::Cycle(ix, at),
                        count: used.use_count,
                    },
                })
        });
    let of_entries = chosen
        .entries
        .iter()
        .filter_map(|ix| Some((*ix, history.entries.get(ix.0)?)))
        .filter(|(ix, _)| !exported.keys.is_superseded(*ix))
        .filter_map(|(ix, known)| {
            let used = What::Used {
                at: UseAt::Entry(ix),
                count: None,
            };
            let (kind, lot, what): (_, &Option<Spanned<LotIdentity>>, _) = match &known.entry.body {
                EntryBody::Content(content) => {
                    (ConsumableKind::Packaging, &content.packaging_lot, used)
                }
                EntryBody::Ci(ci) => (ConsumableKind::Ci, &ci.lot, used),
                EntryBody::Bi(bi) => (ConsumableKind::Bi, &bi.lot, used),
                EntryBody::Lot(change) => {
                    let kind = change.consumable.as_ref().map(|kind| kind.value);
                    let action = change.action.as_ref().map(|action| action.value);
                    (
                        kind.unwrap_or(ConsumableKind::Other),
                        &change.lot,
                        What::Changed(action),
                    )
                }
                _ => return None,
            };
            Some(Named {
                kind,
                lot: &lot.as_ref()?.value,
                span: known.entry.span,
                moment: known.written,
                what,
            })
        });
    of_cycles.chain(of_entries)
}

/// What is known of a lot.
struct Draft<'a> {
    kind: ConsumableKind,
    lot: &'a LotIdentity,
    span: Span,
    expiry: Option<NaiveDate>,
    n_uses: usize,
    first: Option<Moment>,
    last: Option<Moment>,
    opened: Vec<Option<NaiveDateTime>>,
    finished: Vec<Option<NaiveDateTime>>,
}

/// The lots in the records in scope, by key.
pub fn list_lots<'a>(exported: &'a Exported<'a>) -> impl Iterator<Item = LotRow> + 'a {
    let mut drafts: BTreeMap<String, (Key, Draft<'a>)> = BTreeMap::new();
    for named in name_lots(exported) {
        let Some(key) = lot_key(named.kind, named.lot) else {
            continue;
        };
        let (_, draft) = drafts.entry(key.as_str().to_owned()).or_insert_with(|| {
            let draft = Draft {
                kind: named.kind,
                lot: named.lot,
                span: named.span,
                expiry: None,
                n_uses: 0,
                first: None,
                last: None,
                opened: Vec::new(),
                finished: Vec::new(),
            };
            (key, draft)
        });
        draft.expiry = draft.expiry.or(named.lot.expiry);
        draft.span = draft.span.min(named.span);
        let local = named.moment.map(|moment| moment.local);
        match named.what {
            What::Used { .. } => {
                draft.n_uses.add_one();
                if let Some(moment) = named.moment {
                    draft.first = Some(draft.first.map_or(moment, |first| first.min(moment)));
                    draft.last = Some(draft.last.map_or(moment, |last| last.max(moment)));
                }
            }
            What::Changed(Some(LotAction::Opened)) => draft.opened.push(local),
            What::Changed(Some(LotAction::Finished)) => draft.finished.push(local),
            What::Changed(None) => {}
        }
    }
    drafts.into_values().map(|(lot_key, draft)| LotRow {
        lot_key,
        kind: Word::fixed(draft.kind.word()),
        lot: draft.lot.lot.as_ref().map(|lot| Word::of(&lot.0)),
        gtin: draft.lot.gtin.as_deref().map(Text::of),
        expiry: draft.expiry,
        n_uses: draft.n_uses,
        first_use_local: draft.first.map(|first| first.local),
        first_use_utc: draft.first.and_then(|first| first.utc),
        last_use_local: draft.last.map(|last| last.local),
        last_use_utc: draft.last.and_then(|last| last.utc),
        n_opened: draft.opened.len(),
        opened_local: draft.opened.iter().flatten().min().copied(),
        n_finished: draft.finished.len(),
        finished_local: draft.finished.iter().flatten().max().copied(),
        file: exported.file_of(&draft.span),
        line: draft.span.line,
    })
}

/// The number of each use among those of its lot, from 1, in order of the records.
pub fn number_uses(exported: &Exported<'_>) -> BTreeMap<UseAt, usize> {
    let mut n_uses: BTreeMap<String, usize> = BTreeMap::new();
    name_lots(exported)
        .filter_map(|named| {
            let What::Used { at, .. } = named.what else {
                return None;
            };
            let key = lot_key(named.kind, named.lot)?;
            let n = n_uses.entry(key.as_str().to_owned()).or_default();
            n.add_one();
            Some((at, *n))
        })
        .collect()
}

/// The load that a lot was used for.
fn load_of_use(exported: &Exported<'_>, at: UseAt) -> Option<LoadIx> {
    match at {
        UseAt::Cycle(ix, _) => exported.reviewed.history.cycles.get(ix.0)?.load,
        UseAt::Entry(ix) => exported.keys.load_of(ix),
    }
}

/// The unit that used a lot: that of the printout, else that of the load.
pub fn unit_of_use<'a>(exported: &Exported<'a>, at: UseAt) -> Option<&'a UnitName> {
    let history = exported.reviewed.history;
    let printed = match at {
        UseAt::Cycle(ix, _) => history.cycles.get(ix.0)?.cycle.unit.as_ref(),
        UseAt::Entry(_) => None,
    };
    printed.map(|unit| &unit.value).or_else(|| {
        let load = history.loads.get(load_of_use(exported, at)?.0)?;
        load.unit.as_ref()
    })
}

/// Every use of a lot in the records in scope.
pub fn list_lot_uses<'a>(exported: &'a Exported<'a>) -> impl Iterator<Item = LotUseRow> + 'a {
    let history = exported.reviewed.history;
    name_lots(exported).filter_map(move |named| {
        let What::Used { at, count } = named.what else {
            return None;
        };
        let load_ix = load_of_use(exported, at);
        let cycle = match at {
            UseAt::Cycle(ix, _) => Some(ix),
            UseAt::Entry(_) => {
                let load = load_ix.and_then(|ix| history.loads.get(ix.0));
                load.and_then(|load| load.cycles.last().copied())
            }
        };
        Some(LotUseRow {
            lot_key: lot_key(named.kind, named.lot)?,
            use_number: exported.use_numbers.get(&at).copied()?,
            kind: Word::fixed(named.kind.word()),
            cycle_key: cycle.and_then(|ix| exported.keys.cycle(ix)),
            load_key: load_ix.and_then(|ix| exported.keys.load(ix)),
            unit: unit_of_use(exported, at).map(|unit| Word::of(&unit.0)),
            use_n: count.map(|count| count.n),
            use_of: count.map(|count| count.of),
            at_local: named.moment.map(|moment| moment.local),
            at_utc: named.moment.and_then(|moment| moment.utc),
            file: exported.file_of(&named.span),
            line: named.span.line,
        })
    })
}
