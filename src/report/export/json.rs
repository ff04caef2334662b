//! A table as JSON: one array, one object a row, one row a line (RFC 8259). A value that is not there is `null`, so that
//! every row has every name.
//!
//! Read [`JsonSink`] first.

use super::column::{Cell, Table, write_date, write_local, write_utc};
use super::{ExportFault, RowSink};
use crate::measure::count::Counting;
use crate::report::inert;
use std::io::{self, Write};

/// Writes the rows of a table as JSON.
pub struct JsonSink<'a> {
    out: &'a mut dyn Write,
    /// The names of the columns, as JSON.
    names: Vec<String>,
    n_rows: u64,
}

impl<'a> JsonSink<'a> {
    /// Opens the array.
    ///
    /// # Errors
    /// It can't be written.
    pub fn open(table: &Table, out: &'a mut dyn Write) -> Result<Self, ExportFault> {
        out.write_all(b"[")?;
        let names = table.columns.iter();
        let names: Result<Vec<String>, serde_json::Error> = names
            .map(|column| serde_json::to_string(column.name))
            .collect();
        Ok(JsonSink {
            out,
            names: names.map_err(io::Error::from)?,
            n_rows: 0,
        })
    }
}

impl RowSink for JsonSink<'_> {
    fn take(&mut self, cells: Vec<Cell>) -> Result<(), ExportFault> {
        let mut line = String::new();
        for (name, cell) in self.names.iter().zip(&cells) {
            line.push(if line.is_empty() { '{' } else { ',' });
            line.push_str(name);
            line.push(':');
            let written = match cell {
                Cell::Empty => Ok("null".to_owned()),
                Cell::Text(text) => serde_json::to_string(text.as_str()),
                Cell::Integer(number) => serde_json::to_string(number),
                Cell::Number(number) => serde_json::to_string(number),
                Cell::Truth(truth) => serde_json::to_string(truth),
                Cell::Date(date) => serde_json::to_string(&write_date(*date)),
                Cell::Local(local) => serde_json::to_string(&write_local(*local)),
                Cell::Utc(utc) => serde_json::to_string(&write_utc(*utc)),
            };
            line.push_str(&written.map_err(io::Error::from)?);
        }
        line.push('}');
        self.out
            .write_all(if self.n_rows == 0 { b"\n" } else { b",\n" })?;
        self.out.write_all(inert::json(&line).as_bytes())?;
        self.n_rows.add_one();
        Ok(())
    }

    fn finish(self: Box<Self>) -> Result<(), ExportFault> {
        self.out.write_all(b"\n]\n")?;
        self.out.flush()?;
        Ok(())
    }
}
