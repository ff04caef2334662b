//! A table as comma-separated values: RFC 4180, in UTF-8 without byte order mark, lines ended by CR LF, a header row.
//!
//! No cell of text is taken for a formula ([`inert::spreadsheet`]); numbers stay numbers. An empty cell is no value.
//! Read [`CsvSink`] first.

use super::column::{Cell, Table, write_date, write_local, write_utc};
use super::{ExportFault, RowSink};
use crate::report::inert;
use std::borrow::Cow;
use std::io::{self, Write};

/// Writes the rows of a table as CSV.
pub struct CsvSink<'a> {
    writer: csv::Writer<&'a mut dyn Write>,
}

impl<'a> CsvSink<'a> {
    /// Begins with the header row.
    ///
    /// # Errors
    /// It can't be written.
    pub fn open(table: &Table, out: &'a mut dyn Write) -> Result<Self, ExportFault> {
        let mut writer = csv::WriterBuilder::new()
            .terminator(csv::Terminator::CRLF)
            .from_writer(out);
        let names = table.columns.iter().map(|column| column.name);
        writer.write_record(names).map_err(io::Error::from)?;
        Ok(CsvSink { writer })
    }
}

impl RowSink for CsvSink<'_> {
    fn take(&mut self, cells: Vec<Cell>) -> Result<(), ExportFault> {
        for cell in &cells {
            let written: Cow<'_, str> = match cell {
                Cell::Empty => Cow::Borrowed(""),
                Cell::Text(text) => inert::spreadsheet(text.as_str()),
                Cell::Integer(number) => number.to_string().into(),
                // The shortest digits that give the same number again.
                Cell::Number(number) => number.to_string().into(),
                Cell::Truth(truth) => Cow::Borrowed(if *truth { "true" } else { "false" }),
                Cell::Date(date) => write_date(*date).into(),
                Cell::Local(local) => write_local(*local).into(),
                Cell::Utc(utc) => write_utc(*utc).into(),
            };
            self.writer
                .write_field(written.as_ref())
                .map_err(io::Error::from)?;
        }
        self.writer
            .write_record(None::<&[u8]>)
            .map_err(io::Error::from)?;
        Ok(())
    }

    fn finish(mut self: Box<Self>) -> Result<(), ExportFault> {
        self.writer.flush()?;
        Ok(())
    }
}
