//! The export: everything that was read and found, as tables for other programs.
//!
//! A table is the struct of its row ([`column::rows!`]); a module holds the rows of one subject and a function that makes
//! them one after the other, so that a table is never in memory as a whole. [`csv`], [`json`] and [`parquet`] draw any
//! table; [`schema`] and [`document`] describe them. Nothing here is computed, and no file is touched: rows go to whatever
//! can be written to. Read [`TABLES`] first, then [`write_table`].

pub mod column;
pub mod csv;
pub mod cycles;
pub mod decisions;
pub mod document;
pub mod findings;
pub mod inputs;
pub mod json;
pub mod key;
pub mod loads;
pub mod lots;
pub mod parquet;
pub mod part;
pub mod schema;

use crate::analyse::Analysis;
use crate::diagnose::{FileId, Span};
use crate::measure::count::Counting;
use crate::report::findings::{Findings, write_findings};
use crate::report::review::Reviewed;
use chrono::NaiveDateTime;
use column::{Cell, Column, Key, Row, Table};
use key::Keys;
use lots::UseAt;
use part::{Chosen, Division};
use polars::error::PolarsError;
use std::collections::BTreeMap;
use std::io::{self, Write};
use std::sync::Arc;

/// The forms of an export.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ExportFormat {
    /// Comma-separated values, RFC 4180.
    Csv,
    /// A JSON array of objects.
    Json,
    /// Apache Parquet.
    Parquet,
}

impl ExportFormat {
    /// Every form.
    pub const ALL: &'static [ExportFormat] =
        &[ExportFormat::Csv, ExportFormat::Json, ExportFormat::Parquet];

    /// Its name, which is the ending of its files.
    pub fn word(self) -> &'static str {
        match self {
            ExportFormat::Csv => "csv",
            ExportFormat::Json => "json",
            ExportFormat::Parquet => "parquet",
        }
    }
}

/// A table could not be written.
#[derive(Debug, thiserror::Error)]
pub enum ExportFault {
    /// Where it was written to did not take it.
    #[error("{}", .0.kind())]
    Write(#[from] io::Error),
    /// It could not be encoded. Records can't cause it; it speaks of a fault of loadbook.
    #[error("the table could not be encoded: {0}")]
    Encode(#[from] PolarsError),
}

/// What is exported. A clone shares it.
#[derive(Clone)]
pub struct Exported<'a> {
    reviewed: &'a Reviewed<'a>,
    layouts: &'a BTreeMap<FileId, String>,
    findings: Arc<Findings>,
    keys: Arc<Keys>,
    /// The records that rows are made of.
    chosen: Arc<Chosen>,
    /// The number of each use of a lot among all in scope.
    use_numbers: Arc<BTreeMap<UseAt, usize>>,
    /// The moment up to which records count.
    as_of: Option<NaiveDateTime>,
    files: Arc<BTreeMap<FileId, Key>>,
}

impl<'a> Exported<'a> {
    /// Everything that was read and found. What is narrowed by the scope is left out as from every report; inputs, unread
    /// lines and notices are those of all files.
    pub fn of(
        reviewed: &'a Reviewed<'a>,
        analysis: &Analysis,
        layouts: &'a BTreeMap<FileId, String>,
    ) -> Self {
        let mut exported = Exported {
            reviewed,
            layouts,
            findings: write_findings(analysis, reviewed.scope, reviewed.lines).into(),
            keys: Keys::of(reviewed.history).into(),
            chosen: Chosen::in_scope(reviewed.history, reviewed.scope).into(),
            use_numbers: Arc::default(),
            as_of: reviewed.judged.judgements.as_of,
            files: Arc::new(
                reviewed
                    .files
                    .iter()
                    .map(|file| (file.id, Key::of(&file.name)))
                    .collect(),
            ),
        };
        exported.use_numbers = lots::number_uses(&exported).into();
        exported
    }

    /// The same, speaking for whatever records there are and for no moment: a newer record does not change what is said of
    /// those before it.
    pub fn of_no_moment(self) -> Self {
        Exported {
            as_of: None,
            ..self
        }
    }

    /// The name of a file. Every file that a record came from is among the inputs.
    fn file(&self, file: FileId) -> Key {
        self.files
            .get(&file)
            .cloned()
            .unwrap_or_else(|| Key::fixed("?"))
    }

    fn file_of(&self, span: &Span) -> Key {
        self.file(span.file)
    }
}

/// Takes the rows of one table.
pub trait RowSink {
    /// Takes a row.
    ///
    /// # Errors
    /// It can't be written.
    fn take(&mut self, cells: Vec<Cell>) -> Result<(), ExportFault>;
    /// Ends the table.
    ///
    /// # Errors
    /// What is left can't be written.
    fn finish(self: Box<Self>) -> Result<(), ExportFault>;
}

/// A table of the export.
pub struct ExportTable {
    /// What it holds.
    pub table: Table,
    /// How it is divided where it is kept in parts.
    pub division: Division,
    pour: fn(&Exported<'_>, &mut dyn RowSink) -> Result<u64, ExportFault>,
}

impl std::fmt::Debug for ExportTable {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_tuple("ExportTable")
            .field(&self.table.name)
            .finish()
    }
}

fn pour<R: Row>(rows: impl Iterator<Item = R>, sink: &mut dyn RowSink) -> Result<u64, ExportFault> {
    let mut n_rows = 0;
    for row in rows {
        sink.take(row.cells())?;
        n_rows.add_one();
    }
    Ok(n_rows)
}

macro_rules! tables {
    ($($module:ident::$list:ident -> $row:ident by $division:ident,)*) => {
        /// Every table, in the order in which they are written and documented.
        pub const TABLES: &[ExportTable] = &[
            $(ExportTable {
                table: <$module::$row as Row>::TABLE,
                division: Division::$division,
                pour: |exported, sink| pour($module::$list(exported), sink),
            },)*
        ];
    };
}

tables! {
    inputs::list_inputs -> InputRow by None,
    cycles::list_cycles -> CycleRow by Cycle,
    cycles::list_stages -> StageRow by Cycle,
    cycles::list_limits -> LimitRow by Cycle,
    cycles::list_readings -> ReadingRow by Cycle,
    cycles::list_events -> EventRow by Cycle,
    loads::list_loads -> LoadRow by Load,
    loads::list_contents -> ContentRow by EntryOfLoad,
    loads::list_indicators -> IndicatorRow by EntryOfLoad,
    loads::list_entries -> EntryRow by Entry,
    lots::list_lots -> LotRow by None,
    lots::list_lot_uses -> LotUseRow by LotUse,
    decisions::list_decisions -> DecisionRow by Load,
    decisions::list_rules -> DecisionRuleRow by Load,
    decisions::list_evidence -> DecisionEvidenceRow by Load,
    findings::list_findings -> FindingRow by None,
    findings::list_evidence -> FindingEvidenceRow by None,
    inputs::list_unread -> UnreadRow by None,
    inputs::list_notices -> NoticeRow by None,
    inputs::list_inferences -> InferenceRow by Cycle,
}

/// Writes a table; gives the number of its rows.
///
/// # Errors
/// It can't be written to `out`.
pub fn write_table(
    table: &ExportTable,
    exported: &Exported<'_>,
    format: ExportFormat,
    out: &mut dyn Write,
) -> Result<u64, ExportFault> {
    let mut sink: Box<dyn RowSink + '_> = match format {
        ExportFormat::Csv => Box::new(csv::CsvSink::open(&table.table, out)?),
        ExportFormat::Json => Box::new(json::JsonSink::open(&table.table, out)?),
        ExportFormat::Parquet => {
            let columns: Vec<&Column> = table.table.columns.iter().collect();
            Box::new(parquet::ParquetSink::open(&columns, out)?)
        }
    };
    let n_rows = (table.pour)(exported, &mut *sink)?;
    sink.finish()?;
    Ok(n_rows)
}

#[cfg(test)]
mod tests {
    use super::TABLES;
    use super::column::{Kind, Presence};
    use std::collections::BTreeMap;

    /// The endings are the symbols of the units as ASCII letters (common practice, no source).
    #[test]
    fn a_unit_stands_in_the_name_of_its_column() {
        let endings: BTreeMap<&str, &str> = [
            ("s", "_s"),
            ("min", "_min"),
            ("Pa", "_pa"),
            ("Pa/min", "_pa_per_min"),
            ("°C", "_c"),
            ("mg/L", "_mg_per_l"),
            ("%", "_percent"),
            ("W", "_w"),
            ("µS/cm", "_us_per_cm"),
            ("B", "_bytes"),
        ]
        .into();
        for table in TABLES {
            for column in table.table.columns {
                let Some(unit) = column.unit else { continue };
                assert!(
                    column.name.ends_with(endings[unit]),
                    "{}.{}",
                    table.table.name,
                    column.name
                );
            }
        }
    }

    #[test]
    fn every_table_leads_back_to_file_and_line() {
        for table in TABLES {
            let has = |name: &str| table.table.columns.iter().any(|column| column.name == name);
            // A row of the inputs is a file.
            assert!(has("file") && (has("line") || table.table.name == "inputs"));
        }
    }

    #[test]
    fn a_key_is_made_of_columns_that_always_have_a_value() {
        for table in TABLES {
            for key in table.table.key {
                let column = table
                    .table
                    .columns
                    .iter()
                    .find(|column| column.name == *key);
                let column = column.unwrap_or_else(|| panic!("{} has no {key}", table.table.name));
                assert_eq!(
                    column.presence,
                    Presence::Always,
                    "{}.{key}",
                    table.table.name
                );
            }
        }
    }

    #[test]
    fn a_name_means_the_same_in_every_table() {
        let mut kinds: BTreeMap<&str, (Kind, Option<&str>)> = BTreeMap::new();
        for table in TABLES {
            let mut names: Vec<&str> = Vec::new();
            for column in table.table.columns {
                assert!(!names.contains(&column.name), "{} twice", column.name);
                names.push(column.name);
                let kind = (column.kind, column.unit);
                let before = *kinds.entry(column.name).or_insert(kind);
                assert_eq!(before, kind, "{}.{}", table.table.name, column.name);
            }
        }
    }
}
