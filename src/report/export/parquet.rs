//! A table as Apache Parquet: typed columns, words as dictionaries, in row groups of a fixed number of rows.
//!
//! Rows are gathered column by column and written when a row group is full, so that memory is bounded whatever the number
//! of rows. The Arrow schema is written beside Parquet's own, by which readers know a dictionary and a large string again.
//! Nothing in a file tells when or where it was made. Read [`ParquetSink`] first.

use super::column::{Cell, Column, Kind, Letters, Presence};
use super::{ExportFault, RowSink};
use crate::measure::count::Counting;
use polars::error::{PolarsError, polars_err};
use polars_arrow::array::{Array, BooleanArray, DictionaryArray, PrimitiveArray, Utf8Array};
use polars_arrow::bitmap::Bitmap;
use polars_arrow::datatypes::{ArrowDataType, ArrowSchema, Field, IntegerType, TimeUnit};
use polars_parquet::parquet::error::ParquetError;
use polars_parquet::parquet::write::{
    Compressor, DynIter, DynStreamingIterator, FileWriter, Version, WriteOptions as FileOptions,
};
use polars_parquet::write::{
    CompressionOptions, Encoding, StatisticsOptions, WriteOptions, array_to_columns,
    schema_to_metadata_key, to_parquet_schema,
};
use std::cell::Cell as CellOf;
use std::collections::HashMap;
use std::io::{self, Write};
use std::mem;
use std::rc::Rc;

/// Rows in a row group.
const ROWS_IN_GROUP: usize = 65_536;

/// What the file says of who made it: no version, so that a new one makes the same file of the same records.
const CREATED_BY: &str = "loadbook";

const OPTIONS: WriteOptions = WriteOptions {
    statistics: StatisticsOptions {
        min_value: true,
        max_value: true,
        distinct_count: false,
        null_count: true,
        binary_statistics_truncate_length: Some(64),
    },
    version: Version::V1,
    compression: CompressionOptions::Snappy,
    data_page_size: None,
};

/// Writes the rows of a table as Parquet.
pub struct ParquetSink<'a> {
    writer: FileWriter<Watched<'a>>,
    refused: Refused,
    schema: ArrowSchema,
    gathered: Vec<Gathered>,
    n_rows: usize,
}

impl<'a> ParquetSink<'a> {
    /// Begins a file that has these columns.
    ///
    /// # Errors
    /// None that records can cause.
    pub fn open(columns: &[&Column], out: &'a mut dyn Write) -> Result<Self, ExportFault> {
        let schema: ArrowSchema = columns.iter().copied().map(field_of).collect();
        let options = FileOptions {
            version: OPTIONS.version,
            write_statistics: OPTIONS.has_statistics(),
        };
        let created_by = Some(CREATED_BY.to_owned());
        let refused = Refused::default();
        let out = Watched {
            out,
            refused: refused.clone(),
        };
        let writer = FileWriter::new(out, to_parquet_schema(&schema)?, options, created_by);
        Ok(ParquetSink {
            writer,
            refused,
            schema,
            gathered: columns.iter().copied().map(Gathered::of).collect(),
            n_rows: 0,
        })
    }

    fn write_group(&mut self) -> Result<(), ExportFault> {
        if self.n_rows == 0 {
            return Ok(());
        }
        let fields = self.writer.schema().fields().to_vec();
        let mut columns = Vec::new();
        for (gathered, field) in self.gathered.iter_mut().zip(fields) {
            let (array, encoding) = gathered.take()?;
            for pages in array_to_columns(array, field, OPTIONS, &[encoding])? {
                let pages = pages.map(|page| page.map_err(ParquetError::from));
                let pages = Compressor::new(DynIter::new(pages), OPTIONS.compression, Vec::new());
                columns.push(Ok(DynStreamingIterator::new(pages)));
            }
        }
        let columns = DynIter::new(columns.into_iter());
        self.writer
            .write::<ParquetError>(self.n_rows as u64, columns)
            .map_err(|fault| self.refused.fault_of(fault))?;
        self.n_rows = 0;
        Ok(())
    }
}

impl RowSink for ParquetSink<'_> {
    fn take(&mut self, cells: Vec<Cell>) -> Result<(), ExportFault> {
        for (gathered, cell) in self.gathered.iter_mut().zip(cells) {
            gathered.push(cell)?;
        }
        self.n_rows.add_one();
        if self.n_rows == ROWS_IN_GROUP {
            self.write_group()?;
        }
        Ok(())
    }

    fn finish(mut self: Box<Self>) -> Result<(), ExportFault> {
        self.write_group()?;
        let metadata = vec![schema_to_metadata_key(&self.schema)];
        self.writer
            .end(Some(metadata))
            .map_err(|fault| self.refused.fault_of(fault))?;
        self.writer.into_inner().flush()?;
        Ok(())
    }
}

/// Why a write was refused: the library keeps only the words of it, and those not for people.
#[derive(Clone, Default)]
struct Refused(Rc<CellOf<Option<io::ErrorKind>>>);

impl Refused {
    fn fault_of(&self, fault: ParquetError) -> ExportFault {
        match self.0.get() {
            Some(kind) => ExportFault::Write(kind.into()),
            None => ExportFault::Encode(PolarsError::from(fault)),
        }
    }
}

/// Where a file is written to, with why it could not be.
struct Watched<'a> {
    out: &'a mut dyn Write,
    refused: Refused,
}

impl Write for Watched<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.out.write(bytes);
        if let Err(error) = &written {
            self.refused.0.set(Some(error.kind()));
        }
        written
    }

    fn flush(&mut self) -> io::Result<()> {
        self.out.flush()
    }
}

fn type_of(kind: Kind) -> ArrowDataType {
    match kind {
        Kind::Text | Kind::Key => ArrowDataType::LargeUtf8,
        Kind::Word => ArrowDataType::Dictionary(
            IntegerType::UInt32,
            Box::new(ArrowDataType::LargeUtf8),
            false,
        ),
        Kind::Integer => ArrowDataType::Int64,
        Kind::Number => ArrowDataType::Float64,
        Kind::Truth => ArrowDataType::Boolean,
        Kind::Date => ArrowDataType::Date32,
        Kind::Local => ArrowDataType::Timestamp(TimeUnit::Microsecond, None),
        Kind::Utc => ArrowDataType::Timestamp(TimeUnit::Microsecond, Some("UTC".into())),
    }
}

fn field_of(column: &Column) -> Field {
    let nullable = column.presence == Presence::Maybe;
    Field::new(column.name.into(), type_of(column.kind), nullable)
}

/// A column of the row group that is being gathered.
struct Gathered {
    kind: Kind,
    presence: Presence,
    values: Values,
    /// Whether each row has a value.
    present: Vec<bool>,
}

enum Values {
    Text(Vec<Letters>),
    /// Each string once, in the order of its first row, and for each row which one it is.
    Words {
        keys: Vec<u32>,
        words: Vec<String>,
        found: HashMap<String, u32>,
    },
    Days(Vec<i32>),
    Whole(Vec<i64>),
    Numbers(Vec<f64>),
    Truths(Vec<bool>),
}

impl Values {
    fn none(kind: Kind) -> Self {
        match kind {
            Kind::Text => Values::Text(Vec::new()),
            Kind::Key | Kind::Word => Values::Words {
                keys: Vec::new(),
                words: Vec::new(),
                found: HashMap::new(),
            },
            Kind::Integer | Kind::Local | Kind::Utc => Values::Whole(Vec::new()),
            Kind::Number => Values::Numbers(Vec::new()),
            Kind::Truth => Values::Truths(Vec::new()),
            Kind::Date => Values::Days(Vec::new()),
        }
    }
}

/// 1 January 1970, from which Parquet counts days.
const EPOCH: chrono::NaiveDate = chrono::NaiveDate::from_epoch_days(0).expect("a day");

impl Gathered {
    fn of(column: &Column) -> Self {
        Gathered {
            kind: column.kind,
            presence: column.presence,
            values: Values::none(column.kind),
            present: Vec::new(),
        }
    }

    fn push(&mut self, cell: Cell) -> Result<(), ExportFault> {
        let is_there = !matches!(cell, Cell::Empty);
        if !is_there && self.presence == Presence::Always {
            return Err(wrong("a column that always has a value has none"));
        }
        match (&mut self.values, cell) {
            (Values::Text(texts), Cell::Text(text)) => texts.push(text),
            (Values::Text(texts), Cell::Empty) => texts.push(Letters::Fixed("")),
            (Values::Words { keys, words, found }, Cell::Text(text)) => {
                let key = match found.get(text.as_str()) {
                    Some(key) => *key,
                    None => {
                        // A row group has fewer rows than there are numbers.
                        let key = u32::try_from(words.len()).unwrap_or(u32::MAX);
                        words.push(text.as_str().to_owned());
                        found.insert(text.as_str().to_owned(), key);
                        key
                    }
                };
                keys.push(key);
            }
            (Values::Words { keys, .. }, Cell::Empty) => keys.push(0),
            (Values::Whole(values), Cell::Integer(number)) => values.push(number),
            (Values::Whole(values), Cell::Local(local)) => {
                values.push(local.and_utc().timestamp_micros());
            }
            (Values::Whole(values), Cell::Utc(utc)) => values.push(utc.timestamp_micros()),
            (Values::Whole(values), Cell::Empty) => values.push(0),
            (Values::Numbers(values), Cell::Number(number)) => values.push(number),
            (Values::Numbers(values), Cell::Empty) => values.push(0.0),
            (Values::Truths(values), Cell::Truth(truth)) => values.push(truth),
            (Values::Truths(values), Cell::Empty) => values.push(false),
            (Values::Days(values), Cell::Date(date)) => {
                let days = date.signed_duration_since(EPOCH).num_days();
                values.push(i32::try_from(days).unwrap_or_default());
            }
            (Values::Days(values), Cell::Empty) => values.push(0),
            _ => return Err(wrong("a cell is of another type than its column")),
        }
        self.present.push(is_there);
        Ok(())
    }

    /// The values as an array, with the encoding it is to be written in; what is gathered begins anew.
    fn take(&mut self) -> Result<(Box<dyn Array>, Encoding), ExportFault> {
        let present = mem::take(&mut self.present);
        let all_there = present.iter().all(|is_there| *is_there);
        let present: Option<Bitmap> = (!all_there).then(|| present.into_iter().collect());
        let plain = type_of(self.kind);
        let values = mem::replace(&mut self.values, Values::none(self.kind));
        let array: Box<dyn Array> = match values {
            Values::Text(texts) => {
                let array = Utf8Array::<i64>::from_slice(
                    texts.iter().map(Letters::as_str).collect::<Vec<&str>>(),
                );
                array.with_validity(present).boxed()
            }
            Values::Words {
                keys, mut words, ..
            } => {
                // Some readers can't do with a dictionary of nothing.
                if words.is_empty() {
                    words.push(String::new());
                }
                let keys = PrimitiveArray::try_new(ArrowDataType::UInt32, keys.into(), present)?;
                let words = Utf8Array::<i64>::from_slice(words).boxed();
                let array = DictionaryArray::<u32>::try_from_keys(keys, words, false)?;
                return Ok((array.boxed(), Encoding::RleDictionary));
            }
            Values::Days(days) => PrimitiveArray::try_new(plain, days.into(), present)?.boxed(),
            Values::Whole(numbers) => {
                PrimitiveArray::try_new(plain, numbers.into(), present)?.boxed()
            }
            Values::Numbers(numbers) => {
                PrimitiveArray::try_new(plain, numbers.into(), present)?.boxed()
            }
            Values::Truths(truths) => {
                let truths: Bitmap = truths.into_iter().collect();
                BooleanArray::try_new(plain, truths, present)?.boxed()
            }
        };
        Ok((array, Encoding::Plain))
    }
}

/// A fault of loadbook itself.
fn wrong(said: &'static str) -> ExportFault {
    ExportFault::Encode(polars_err!(ComputeError: "{said}"))
}
