//! Loads as rows, and the entries of the log about them: contents, indicators, and every entry by itself.

use super::Exported;
use super::column::{Key, Real, Text, Word, rows};
use super::key::lot_key;
use crate::diagnose::Span;
use crate::measure::count::Counting;
use crate::reconcile::history::{EntryIx, KnownEntry, Load, LoadIx};
use crate::record::Spanned;
use crate::record::consumable::{ConsumableKind, LotIdentity};
use crate::record::entry::{BiRole, EntryBody};
use crate::record::stamp::Stamp;
use chrono::{DateTime, NaiveDate, NaiveDateTime, Utc};

rows! {
    /// One load that a printout or the log names.
    LoadRow = "loads", key ["load_key"] {
        /// The load: `NUMBER@DAY`, the day of its first record, and `#2` from the second of the same name on.
        load_key: Key;
        /// Its number.
        load_number: Text;
        /// Its unit.
        unit: Option<Word>;
        /// The last program that a printout or the log gives for it.
        program: Option<Word>;
        /// The first moment that any record gives for it.
        first_local: Option<NaiveDateTime>;
        /// The same instant, where it is known.
        first_utc: Option<DateTime<Utc>>;
        /// Its cycles: more than one when it was run again.
        n_cycles: usize;
        /// Its last cycle.
        cycle_key: Option<Key>;
        /// Entries about its contents.
        n_contents: usize;
        /// The packages that they list.
        n_packages: u64;
        /// The items that they list.
        n_items: u64;
        /// Whether it holds an implant: yes if one entry says so, no if every entry says no.
        implant: Option<bool>;
        /// Its chemical indicators.
        n_cis: usize;
        /// Its biological indicators, controls among them.
        n_bis: usize;
        /// What a person last signed for it: `release`, `hold`, `recall`. What the records support is in `decisions`.
        signed: Option<Word>;
        /// The mark of who signed.
        signed_by: Option<Word>;
        /// When it was signed.
        signed_local: Option<NaiveDateTime>;
        /// The same instant, where it is known.
        signed_utc: Option<DateTime<Utc>>;
        /// What its records lack, by fact alone and under no policy; several things with `; ` between.
        lacking: Option<Text>;
        /// The file of its first printout, or of its first entry.
        file: Key;
        /// The line.
        line: u32;
    }

    /// One part of a load: a set, or several of the same.
    ContentRow = "contents", key ["file", "line"] {
        /// The load.
        load_key: Option<Key>;
        /// The load number as written.
        load_number: Option<Text>;
        /// The name or number of the set.
        set: Option<Word>;
        /// The number of items in it.
        n_items: Option<u32>;
        /// The number of packages.
        n_packages: Option<u32>;
        /// The packaging.
        packaging: Option<Word>;
        /// The lot of the packaging.
        lot_key: Option<Key>;
        /// Whether it holds an implant.
        implant: Option<bool>;
        /// Where it went after release.
        destination: Option<Word>;
        /// When it was written.
        written_local: Option<NaiveDateTime>;
        /// The same instant, where it is known.
        written_utc: Option<DateTime<Utc>>;
        /// The mark of who wrote it.
        by: Option<Word>;
        /// The file.
        file: Key;
        /// The line.
        line: u32;
    }

    /// One entry about a chemical or biological indicator.
    IndicatorRow = "indicators", key ["file", "line"] {
        /// `ci` or `bi`.
        kind: Word;
        /// The load.
        load_key: Option<Key>;
        /// The load number as written.
        load_number: Option<Text>;
        /// The unit: that of the load, else as written.
        unit: Option<Word>;
        /// Where a chemical indicator was: `external`, `internal`, `test-pack`.
        position: Option<Word>;
        /// The type of a chemical indicator, 1 to 6 (ISO 11140-1).
        ci_type: Option<u8>;
        /// The set that a chemical indicator was with.
        set: Option<Word>;
        /// Of a biological indicator: `test` or `control`; as written, and where nothing is written, `test`.
        role: Option<Word>;
        /// `reached`, `not reached`, `unreadable`; `growth`, `no growth`; none while it is incubating.
        result: Option<Word>;
        /// Its lot.
        lot_key: Option<Key>;
        /// The number of its lot.
        lot: Option<Word>;
        /// The last day on which it may be used.
        expiry: Option<NaiveDate>;
        /// When incubation began.
        incubated_local: Option<NaiveDateTime>;
        /// The same instant, where its offset was written.
        incubated_utc: Option<DateTime<Utc>>;
        /// When it was read.
        read_local: Option<NaiveDateTime>;
        /// The same instant, where its offset was written.
        read_utc: Option<DateTime<Utc>>;
        /// The number of spores on it, where its certificate's value was written.
        population: Real;
        /// Its D-value, where its certificate's value was written.
        d_value_min: Real => "min";
        /// Whether a later entry about the same vial completes it, so that it must not be counted again.
        superseded: bool;
        /// When it was written.
        written_local: Option<NaiveDateTime>;
        /// The same instant, where it is known.
        written_utc: Option<DateTime<Utc>>;
        /// The mark of who wrote it.
        by: Option<Word>;
        /// The file.
        file: Key;
        /// The line.
        line: u32;
    }

    /// One entry of the log, of any kind; what contents and indicators say further is in their own tables.
    EntryRow = "entries", key ["file", "line"] {
        /// `load`, `content`, `ci`, `bi`, `lot`, `release`, `hold`, `recall`, `service`, `remark`.
        entry: Word;
        /// The load that it was given to.
        load_key: Option<Key>;
        /// The load number as written.
        load_number: Option<Text>;
        /// The unit as written.
        unit: Option<Word>;
        /// When it was written.
        written_local: Option<NaiveDateTime>;
        /// The same instant, where it is known.
        written_utc: Option<DateTime<Utc>>;
        /// The mark of who wrote it.
        by: Option<Word>;
        /// The place that the log is kept at.
        place: Option<Word>;
        /// The program that an entry about a load gives.
        program: Option<Word>;
        /// The cycle counter that an entry about a load gives.
        counter: Option<u32>;
        /// The lot that an entry about a lot gives.
        lot_key: Option<Key>;
        /// What happened to that lot: `opened`, `finished`.
        lot_action: Option<Word>;
        /// The remark.
        note: Option<Text>;
        /// The file.
        file: Key;
        /// Its line.
        line: u32;
        /// Its last line.
        last_line: u32;
    }
}

/// Where the first record of a load stands.
pub fn first_span(load: &Load, exported: &Exported<'_>) -> Option<Span> {
    let history = exported.reviewed.history;
    let of_cycle = load.cycles.iter().find_map(|ix| history.cycles.get(ix.0));
    of_cycle.map(|known| known.cycle.opening).or_else(|| {
        load.entries()
            .filter_map(|ix| history.entries.get(ix.0))
            .map(|known| known.entry.span)
            .min()
    })
}

/// The loads in scope, each with its place among all.
pub fn in_scope<'a>(exported: &'a Exported<'a>) -> impl Iterator<Item = (LoadIx, &'a Load)> {
    let loads = &exported.reviewed.history.loads;
    let chosen = exported.chosen.loads.iter();
    chosen.filter_map(|ix| Some((*ix, loads.get(ix.0)?)))
}

/// The loads in scope.
pub fn list_loads<'a>(exported: &'a Exported<'a>) -> impl Iterator<Item = LoadRow> + 'a {
    in_scope(exported).filter_map(|(ix, load)| load_row(ix, load, exported))
}

/// A load's row. Every load has a record, and so a place.
fn load_row(ix: LoadIx, load: &Load, exported: &Exported<'_>) -> Option<LoadRow> {
    let history = exported.reviewed.history;
    let entry = |ix: &EntryIx| history.entries.get(ix.0);
    let span = first_span(load, exported)?;
    let last_cycle = load.cycles.last().and_then(|ix| history.cycles.get(ix.0));
    let in_log = load
        .starts
        .iter()
        .rev()
        .filter_map(entry)
        .find_map(|known| match &known.entry.body {
            EntryBody::Load(start) => start.program.as_ref(),
            _ => None,
        });
    let program = last_cycle.and_then(|known| known.cycle.program.as_ref());
    let (mut n_packages, mut n_items) = (0_u64, 0_u64);
    let mut implants = Vec::new();
    for known in load.contents.iter().filter_map(entry) {
        let EntryBody::Content(content) = &known.entry.body else {
            continue;
        };
        let count = |n: &Option<Spanned<u32>>| n.as_ref().map_or(0, |n| u64::from(n.value));
        n_packages.add_many(count(&content.n_packages));
        n_items.add_many(count(&content.n_items));
        implants.push(content.implant.as_ref().map(|implant| implant.value));
    }
    let signed = load.decisions.last().and_then(entry);
    let lacking: Vec<&str> = load.lacking.iter().map(|lack| lack.said()).collect();
    Some(LoadRow {
        load_key: exported.keys.load(ix)?,
        load_number: Text::of(&load.number.0),
        unit: load.unit.as_ref().map(|unit| Word::of(&unit.0)),
        program: program.or(in_log).map(|program| Word::of(&program.value.0)),
        first_local: load.first.map(|first| first.local),
        first_utc: load.first.and_then(|first| first.utc),
        n_cycles: load.cycles.len(),
        cycle_key: load.cycles.last().and_then(|ix| exported.keys.cycle(*ix)),
        n_contents: load.contents.len(),
        n_packages,
        n_items,
        implant: if implants.contains(&Some(true)) {
            Some(true)
        } else if implants.is_empty() || implants.contains(&None) {
            None
        } else {
            Some(false)
        },
        n_cis: load.cis.len(),
        n_bis: load.bis.len(),
        signed: signed.map(|known| Word::fixed(known.entry.body.word())),
        signed_by: signed.and_then(by_of),
        signed_local: signed
            .and_then(|known| known.written)
            .map(|written| written.local),
        signed_utc: signed.and_then(|known| known.written?.utc),
        lacking: Some(Text::of(&lacking.join("; "))),
        file: exported.file_of(&span),
        line: span.line,
    })
}

/// An entry in scope, with the load that it was given to.
struct Listed<'a> {
    ix: EntryIx,
    known: &'a KnownEntry,
    load: Option<LoadIx>,
}

fn entries_in_scope<'a>(exported: &'a Exported<'a>) -> impl Iterator<Item = Listed<'a>> {
    let entries = &exported.reviewed.history.entries;
    exported.chosen.entries.iter().filter_map(|ix| {
        Some(Listed {
            ix: *ix,
            known: entries.get(ix.0)?,
            load: exported.keys.load_of(*ix),
        })
    })
}

fn by_of(known: &KnownEntry) -> Option<Word> {
    known.entry.by.as_ref().map(|by| Word::of(&by.value.0))
}

fn words(text: &Option<Spanned<String>>) -> Option<Word> {
    text.as_ref().map(|text| Word::of(&text.value))
}

fn number_of(known: &KnownEntry) -> Option<Text> {
    known
        .entry
        .load
        .as_ref()
        .map(|load| Text::of(&load.value.0))
}

fn key_of_lot(kind: ConsumableKind, lot: &Option<Spanned<LotIdentity>>) -> Option<Key> {
    lot_key(kind, &lot.as_ref()?.value)
}

fn utc_of(stamp: &Option<Spanned<Stamp>>) -> Option<DateTime<Utc>> {
    stamp
        .as_ref()?
        .value
        .instant()
        .map(|instant| instant.to_utc())
}

fn local_of(stamp: &Option<Spanned<Stamp>>) -> Option<NaiveDateTime> {
    stamp.as_ref().map(|stamp| stamp.value.local)
}

/// The contents of the loads in scope.
pub fn list_contents<'a>(exported: &'a Exported<'a>) -> impl Iterator<Item = ContentRow> + 'a {
    entries_in_scope(exported).filter_map(|listed| {
        let known = listed.known;
        let EntryBody::Content(content) = &known.entry.body else {
            return None;
        };
        Some(ContentRow {
            load_key: listed.load.and_then(|load| exported.keys.load(load)),
            load_number: number_of(known),
            set: words(&content.set),
            n_items: content.n_items.as_ref().map(|n| n.value),
            n_packages: content.n_packages.as_ref().map(|n| n.value),
            packaging: words(&content.packaging),
            lot_key: key_of_lot(ConsumableKind::Packaging, &content.packaging_lot),
            implant: content.implant.as_ref().map(|implant| implant.value),
            destination: words(&content.destination),
            written_local: known.written.map(|written| written.local),
            written_utc: known.written.and_then(|written| written.utc),
            by: by_of(known),
            file: exported.file_of(&known.entry.span),
            line: known.entry.span.line,
        })
    })
}

/// The indicators of the entries in scope.
pub fn list_indicators<'a>(exported: &'a Exported<'a>) -> impl Iterator<Item = IndicatorRow> + 'a {
    entries_in_scope(exported).filter_map(|listed| {
        let known = listed.known;
        let unit = exported.unit_of_entry(listed.ix);
        let mut row = IndicatorRow {
            kind: Word::fixed(known.entry.body.word()),
            load_key: listed.load.and_then(|load| exported.keys.load(load)),
            load_number: number_of(known),
            unit: unit.map(|unit| Word::of(&unit.0)),
            position: None,
            ci_type: None,
            set: None,
            role: None,
            result: None,
            lot_key: None,
            lot: None,
            expiry: None,
            incubated_local: None,
            incubated_utc: None,
            read_local: None,
            read_utc: None,
            population: Real::NONE,
            d_value_min: Real::NONE,
            superseded: exported.keys.is_superseded(listed.ix),
            written_local: known.written.map(|written| written.local),
            written_utc: known.written.and_then(|written| written.utc),
            by: by_of(known),
            file: exported.file_of(&known.entry.span),
            line: known.entry.span.line,
        };
        let (kind, lot) = match &known.entry.body {
            EntryBody::Ci(ci) => {
                row.position = ci.position.as_ref().map(|at| Word::fixed(at.value.word()));
                row.ci_type = ci.ci_type.as_ref().map(|ci_type| ci_type.value);
                row.set = words(&ci.set);
                row.result = ci
                    .endpoint
                    .as_ref()
                    .map(|end| Word::fixed(end.value.word()));
                (ConsumableKind::Ci, &ci.lot)
            }
            EntryBody::Bi(bi) => {
                let role = bi.role.as_ref().map_or(BiRole::Test, |role| role.value);
                row.role = Some(Word::fixed(role.word()));
                row.result = bi
                    .growth
                    .as_ref()
                    .map(|growth| Word::fixed(growth.value.word()));
                row.incubated_local = local_of(&bi.incubated);
                row.incubated_utc = utc_of(&bi.incubated);
                row.read_local = local_of(&bi.read);
                row.read_utc = utc_of(&bi.read);
                row.population = Real::of(bi.population.as_ref().map(|n| n.value));
                row.d_value_min = Real::of(bi.d_value_minutes.as_ref().map(|d| d.value));
                (ConsumableKind::Bi, &bi.lot)
            }
            _ => return None,
        };
        row.lot_key = key_of_lot(kind, lot);
        if let Some(lot) = lot {
            row.lot = lot.value.lot.as_ref().map(|lot| Word::of(&lot.0));
            row.expiry = lot.value.expiry;
        }
        Some(row)
    })
}

/// The entries in scope.
pub fn list_entries<'a>(exported: &'a Exported<'a>) -> impl Iterator<Item = EntryRow> + 'a {
    entries_in_scope(exported).map(|listed| {
        let entry = &listed.known.entry;
        let mut row = EntryRow {
            entry: Word::fixed(entry.body.word()),
            load_key: listed.load.and_then(|load| exported.keys.load(load)),
            load_number: number_of(listed.known),
            unit: entry.unit.as_ref().map(|unit| Word::of(&unit.value.0)),
            written_local: listed.known.written.map(|written| written.local),
            written_utc: listed.known.written.and_then(|written| written.utc),
            by: by_of(listed.known),
            place: entry.place.as_ref().map(|place| Word::of(&place.value)),
            program: None,
            counter: None,
            lot_key: None,
            lot_action: None,
            note: entry.note.as_ref().map(|note| Text::of(&note.value)),
            file: exported.file_of(&entry.span),
            line: entry.span.line,
            last_line: entry.lines.last().max(entry.span.line),
        };
        match &entry.body {
            EntryBody::Load(start) => {
                row.program = start
                    .program
                    .as_ref()
                    .map(|program| Word::of(&program.value.0));
                row.counter = start.counter.as_ref().map(|counter| counter.value);
            }
            EntryBody::Lot(change) => {
                let kind = change.consumable.as_ref().map(|kind| kind.value);
                row.lot_key = key_of_lot(kind.unwrap_or(ConsumableKind::Other), &change.lot);
                row.lot_action = change
                    .action
                    .as_ref()
                    .map(|action| Word::fixed(action.value.word()));
            }
            _ => {}
        }
        row
    })
}
