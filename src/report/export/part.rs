//! Tables in parts: the rows of one unit and month, or of one month, by themselves, so that a part changes only when its
//! rows do.
//!
//! A record goes to one part with all its rows: a cycle's readings stand in the month in which the cycle began. Where a
//! table has a column `unit`, its rows are divided by that column or not by unit at all; a column by which they are divided
//! is told by the folder and does not stand in the file, because some engines take no column twice. Read
//! [`Exported::divide`] first, then [`Exported::write_part`].

use super::column::{Cell, Column};
use super::lots::{UseAt, unit_of_use};
use super::parquet::ParquetSink;
use super::{ExportFault, ExportTable, Exported, RowSink};
use crate::reconcile::history::{CycleIx, EntryIx, History, LoadIx, Moment};
use crate::record::name::UnitName;
use crate::report::inert;
use crate::report::scope::Scope;
use chrono::Datelike;
use std::collections::BTreeMap;
use std::sync::Arc;

/// By what the rows of a table are divided.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Division {
    /// Not at all: they count or describe over all units and months, or belong to no day.
    None,
    /// By the unit of the cycle, and the month in which it began as believed.
    Cycle,
    /// By the unit of the load, and the month of its first record.
    Load,
    /// By the month in which the entry was written.
    Entry,
    /// By the unit of the entry's load, else as written, and the month in which it was written.
    EntryOfLoad,
    /// By the unit that used the lot, and the month in which it did.
    LotUse,
}

impl Division {
    /// The keys of its parts, in order.
    pub fn keys(self) -> &'static [&'static str] {
        match self {
            Division::None => &[],
            Division::Entry => &["month"],
            Division::Cycle | Division::Load | Division::EntryOfLoad | Division::LotUse => {
                &["unit", "month"]
            }
        }
    }
}

/// What the rows of a part have in common.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct PartOf {
    /// The unit, inert; none where the table is not divided by it, and where the records don't say.
    pub unit: Option<String>,
    /// The month, `2026-03`; none likewise.
    pub month: Option<String>,
}

impl PartOf {
    fn of(unit: Option<&UnitName>, moment: Option<Moment>) -> Self {
        PartOf {
            unit: unit.map(|unit| inert::text(&unit.0).into_owned()),
            // As the column that it is taken from, which holds no other years.
            month: moment
                .map(|moment| moment.local)
                .filter(|local| (0..=9999).contains(&local.year()))
                .map(|local| local.format("%Y-%m").to_string()),
        }
    }

    /// The value of a key of [`Division::keys`].
    pub fn value(&self, key: &str) -> Option<&str> {
        match key {
            "unit" => self.unit.as_deref(),
            "month" => self.month.as_deref(),
            _ => None,
        }
    }
}

/// The records that rows are made of, in the order of the history.
#[derive(Debug, Clone, Default)]
pub struct Chosen {
    pub(super) cycles: Vec<CycleIx>,
    pub(super) loads: Vec<LoadIx>,
    pub(super) entries: Vec<EntryIx>,
}

impl Chosen {
    /// All that is in scope.
    pub(super) fn in_scope(history: &History, scope: &Scope) -> Self {
        let numbers = scope.load_numbers(history);
        let cycles = history.cycles.iter().enumerate();
        let loads = history.loads.iter().enumerate();
        let entries = history.entries.iter().enumerate();
        Chosen {
            cycles: cycles
                .filter(|(_, known)| scope.has_cycle(known))
                .map(|(ix, _)| CycleIx(ix))
                .collect(),
            loads: loads
                .filter(|(_, load)| scope.has_load(load, history))
                .map(|(ix, _)| LoadIx(ix))
                .collect(),
            entries: entries
                .filter(|(_, known)| scope.has_entry(known, &numbers))
                .map(|(ix, _)| EntryIx(ix))
                .collect(),
        }
    }
}

impl Exported<'_> {
    /// The parts of a table, each with the records that its rows are made of. A part may turn out to have no rows; a table
    /// that is not divided is one part.
    pub fn divide(&self, table: &ExportTable) -> Vec<(PartOf, Arc<Chosen>)> {
        let division = table.division;
        if division == Division::None {
            return vec![(PartOf::default(), Arc::clone(&self.chosen))];
        }
        let mut parts: BTreeMap<PartOf, Chosen> = BTreeMap::new();
        for ix in &self.chosen.cycles {
            if let Some(part) = self.part_of_cycle(*ix, division) {
                parts.entry(part).or_default().cycles.push(*ix);
            }
        }
        for ix in &self.chosen.loads {
            if let Some(part) = self.part_of_load(*ix, division) {
                parts.entry(part).or_default().loads.push(*ix);
            }
        }
        for ix in &self.chosen.entries {
            if let Some(part) = self.part_of_entry(*ix, division) {
                parts.entry(part).or_default().entries.push(*ix);
            }
        }
        let parts = parts.into_iter();
        parts.map(|(part, chosen)| (part, chosen.into())).collect()
    }

    fn part_of_cycle(&self, ix: CycleIx, division: Division) -> Option<PartOf> {
        let known = self.reviewed.history.cycles.get(ix.0)?;
        let unit = match division {
            Division::Cycle => known.cycle.unit.as_ref().map(|unit| &unit.value),
            Division::LotUse => unit_of_use(self, UseAt::Cycle(ix, 0)),
            _ => return None,
        };
        let began = known.began.as_ref().map(|began| began.value);
        Some(PartOf::of(unit, began))
    }

    fn part_of_load(&self, ix: LoadIx, division: Division) -> Option<PartOf> {
        let load = self.reviewed.history.loads.get(ix.0)?;
        (division == Division::Load).then(|| PartOf::of(load.unit.as_ref(), load.first))
    }

    fn part_of_entry(&self, ix: EntryIx, division: Division) -> Option<PartOf> {
        let known = self.reviewed.history.entries.get(ix.0)?;
        let unit = match division {
            Division::Entry => None,
            Division::EntryOfLoad => self.unit_of_entry(ix),
            Division::LotUse => unit_of_use(self, UseAt::Entry(ix)),
            _ => return None,
        };
        Some(PartOf::of(unit, known.written))
    }

    /// The unit of an entry: that of its load, else as written.
    pub(super) fn unit_of_entry(&self, ix: EntryIx) -> Option<&UnitName> {
        let history = self.reviewed.history;
        let known = history.entries.get(ix.0)?;
        let load = self.keys.load_of(ix).and_then(|ix| history.loads.get(ix.0));
        let of_load = load.and_then(|load| load.unit.as_ref());
        of_load.or(known.entry.unit.as_ref().map(|unit| &unit.value))
    }

    /// The same, of these records alone.
    pub(super) fn of_chosen(&self, chosen: Arc<Chosen>) -> Self {
        Exported {
            chosen,
            ..self.clone()
        }
    }

    /// Writes the rows of a part as Parquet, without the columns that its folder tells; gives their number.
    ///
    /// # Errors
    /// None that records can cause.
    pub fn write_part(
        &self,
        table: &ExportTable,
        chosen: &Arc<Chosen>,
    ) -> Result<(Vec<u8>, u64), ExportFault> {
        let mut bytes = Vec::new();
        let keys = table.division.keys();
        let columns = table.table.columns.iter();
        let is_kept: Vec<bool> = columns.map(|column| !keys.contains(&column.name)).collect();
        let kept = table.table.columns.iter().zip(&is_kept);
        let kept: Vec<&Column> = kept
            .filter(|(_, is_kept)| **is_kept)
            .map(|(column, _)| column)
            .collect();
        let mut sink = Box::new(PartSink {
            sink: Box::new(ParquetSink::open(&kept, &mut bytes)?),
            is_kept,
        });
        let n_rows = (table.pour)(&self.of_chosen(Arc::clone(chosen)), &mut *sink)?;
        sink.finish()?;
        Ok((bytes, n_rows))
    }
}

/// Leaves out the columns that the part's folder tells.
struct PartSink<'a> {
    sink: Box<ParquetSink<'a>>,
    is_kept: Vec<bool>,
}

impl RowSink for PartSink<'_> {
    fn take(&mut self, cells: Vec<Cell>) -> Result<(), ExportFault> {
        let cells = cells.into_iter().zip(&self.is_kept);
        let kept = cells.filter(|(_, is_kept)| **is_kept);
        self.sink.take(kept.map(|(cell, _)| cell).collect())
    }

    fn finish(self: Box<Self>) -> Result<(), ExportFault> {
        self.sink.finish()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analyse::find_findings;
    use crate::cli::intake::list_files;
    use crate::judge::judge_history;
    use crate::judge::policy::{PolicyBook, Preset};
    use crate::parse::{Strictness, read_inputs};
    use crate::reconcile::{Site, join_history};
    use crate::report::export::TABLES;
    use crate::report::review::{Judged, Reviewed};
    use crate::source::gather::gather;

    /// Rows as words.
    #[derive(Default)]
    struct Rows(Vec<String>, Vec<Vec<Cell>>);

    impl RowSink for Rows {
        fn take(&mut self, cells: Vec<Cell>) -> Result<(), ExportFault> {
            self.0.push(format!("{cells:?}"));
            self.1.push(cells);
            Ok(())
        }

        fn finish(self: Box<Self>) -> Result<(), ExportFault> {
            Ok(())
        }
    }

    fn text_of(cell: &Cell) -> Option<&str> {
        match cell {
            Cell::Text(text) => Some(text.as_str()),
            _ => None,
        }
    }

    fn with_export(paths: &[&str], check: impl FnOnce(&Exported<'_>)) {
        let paths: Vec<String> = paths
            .iter()
            .map(|path| format!("{}/{path}", env!("CARGO_MANIFEST_DIR")))
            .collect();
        let (sources, records) = read_inputs(gather(&paths).inputs, Strictness::Infer, |_| {});
        let (history, diagnostics) = join_history(records.cycles, records.entries, Site::default());
        let files = list_files(&sources);
        let book = PolicyBook::of_preset(Preset::Cdc2008);
        let judgements = judge_history(&history, &book, None);
        let reviewed = Reviewed {
            judged: Judged {
                book: &book,
                judgements: &judgements,
                recalls: &[],
            },
            history: &history,
            files: &files,
            unread: &records.unread,
            diagnostics: &diagnostics,
            lines: &sources,
            scope: &Scope::default(),
            as_of: None,
        };
        let analysis = find_findings(&history).unwrap();
        check(&Exported::of(&reviewed, &analysis, &BTreeMap::new()));
    }

    /// No row is lost, doubled or changed by the division, and a folder says of its rows what their own columns say.
    #[test]
    fn parts_together_are_the_table_and_each_says_what_its_rows_say() {
        with_export(&["tests/commands/day", "samples/damaged"], |exported| {
            let mut n_parts = 0;
            for table in TABLES {
                let mut whole = Rows::default();
                let n_rows = (table.pour)(exported, &mut whole).unwrap();
                let mut of_parts = Rows::default();
                let mut n_rows_of_parts = 0;
                for (part, chosen) in exported.divide(table) {
                    let n_before = of_parts.1.len();
                    let (_, n) = exported.write_part(table, &chosen).unwrap();
                    let of_part = exported.of_chosen(chosen);
                    n_rows_of_parts += (table.pour)(&of_part, &mut of_parts).unwrap();
                    assert_eq!(n, (of_parts.1.len() - n_before) as u64);
                    n_parts += u64::from(n > 0);
                    let columns = table.table.columns.iter();
                    let unit = columns.clone().position(|column| column.name == "unit");
                    let is_by_unit = table.division.keys().contains(&"unit");
                    for cells in of_parts.1.iter().skip(n_before).filter(|_| is_by_unit) {
                        if let Some(at) = unit {
                            assert_eq!(text_of(&cells[at]), part.value("unit"));
                        }
                    }
                    // The column that the month is of, where the table has it.
                    let moment = match table.table.name {
                        "cycles" => "began_local",
                        "loads" => "first_local",
                        "contents" | "indicators" | "entries" => "written_local",
                        "lot_uses" => "at_local",
                        _ => continue,
                    };
                    let at = columns.clone().position(|column| column.name == moment);
                    for cells in of_parts.1.iter().skip(n_before) {
                        let month = match &cells[at.unwrap()] {
                            Cell::Local(local) => Some(local.to_string()[..7].to_owned()),
                            _ => None,
                        };
                        assert_eq!(month.as_deref(), part.value("month"), "{moment}");
                    }
                }
                assert_eq!(n_rows, n_rows_of_parts, "{}", table.table.name);
                whole.0.sort();
                of_parts.0.sort();
                assert_eq!(whole.0, of_parts.0, "{}", table.table.name);
            }
            assert!(n_parts > 60, "{n_parts}");
        });
    }
}
