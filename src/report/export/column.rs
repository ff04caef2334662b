//! A column of an exported table, and the cell of a row: the one place that says which types there are.
//!
//! A table is written once, as the fields of its row with [`rows!`]: the type of a field is the type of its column, its
//! documentation is the column's, and header, JSON Schema, Parquet schema and the documentation in `grammars/export.md`
//! all derive from that. Knows no format and no record. Read [`Table`] first, then [`Field`].

use crate::measure::decimal::few_decimals;
use crate::report::inert;
use chrono::{DateTime, Datelike, NaiveDate, NaiveDateTime, Utc};
use std::sync::Arc;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Text of any kind.
    Text,
    /// Text that identifies a record, and by which tables are joined.
    Key,
    /// Text that repeats: a name or one of few words.
    Word,
    /// A whole number of 64 bits with sign.
    Integer,
    /// A number of 64 bits in binary (IEEE 754).
    Number,
    /// Yes or no.
    Truth,
    /// A day.
    Date,
    /// A date and time on a local clock, without zone.
    Local,
    /// An instant, in UTC.
    Utc,
}

impl Kind {
    /// What it is, for the documentation.
    pub fn said(self) -> &'static str {
        match self {
            Kind::Text => "text",
            Kind::Key => "key",
            Kind::Word => "word",
            Kind::Integer => "whole number",
            Kind::Number => "number",
            Kind::Truth => "true or false",
            Kind::Date => "day",
            Kind::Local => "local time",
            Kind::Utc => "UTC",
        }
    }
}

/// Whether every row has a value in a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Presence {
    /// Every row has one.
    Always,
    /// A row may have none: the records don't say.
    Maybe,
}

/// A column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// Its name, the unit in it.
    pub name: &'static str,
    /// What it holds, in a sentence or two.
    pub about: &'static str,
    /// Its type.
    pub kind: Kind,
    /// Whether every row has a value.
    pub presence: Presence,
    /// The symbol of its unit, if it has one.
    pub unit: Option<&'static str>,
}

/// A table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Table {
    /// Its name, which is that of its file without the ending.
    pub name: &'static str,
    /// What one row is.
    pub about: &'static str,
    /// The columns that together tell one row from another.
    pub key: &'static [&'static str],
    /// Its columns in order.
    pub columns: &'static [Column],
}

/// A string that is shared or fixed, so that a million rows can name one file.
#[derive(Debug, Clone)]
pub enum Letters {
    /// A word of loadbook's own.
    Fixed(&'static str),
    /// Text of the input, inert.
    Held(Arc<str>),
}

impl Letters {
    /// Text of the input, made inert: what a reader prints to a terminal can't act there.
    pub fn of(text: &str) -> Self {
        Letters::Held(Arc::from(inert::text(text).as_ref()))
    }

    /// As a string.
    pub fn as_str(&self) -> &str {
        match self {
            Letters::Fixed(text) => text,
            Letters::Held(text) => text,
        }
    }
}

macro_rules! strings {
    ($($(#[$doc:meta])* $name:ident;)*) => {
        $(
            $(#[$doc])*
            #[derive(Debug, Clone)]
            pub struct $name(pub Letters);

            impl $name {
                /// From text of the input, which is made inert.
                pub fn of(text: &str) -> Self {
                    $name(Letters::of(text))
                }

                /// From a word of loadbook's own.
                pub fn fixed(text: &'static str) -> Self {
                    $name(Letters::Fixed(text))
                }

                /// As a string.
                pub fn as_str(&self) -> &str {
                    self.0.as_str()
                }
            }

            impl Field for $name {
                const KIND: Kind = Kind::$name;
                const PRESENCE: Presence = Presence::Always;

                fn cell(self) -> Cell {
                    Cell::Text(self.0)
                }
            }
        )*
    };
}

strings! {
    /// Text of any kind.
    Text;
    /// Text that identifies a record.
    Key;
    /// Text that repeats.
    Word;
}

/// A number that may be missing. One that is not finite counts as missing: no format but Parquet could hold it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Real(Option<f64>);

impl Real {
    /// No number.
    pub const NONE: Real = Real(None);

    /// A number, or none.
    pub fn of(number: impl Into<Option<f64>>) -> Self {
        // A negative zero is the same number, and not every format tells the two apart.
        Real(
            number
                .into()
                .filter(|number| number.is_finite())
                .map(|number| number + 0.0),
        )
    }

    /// A number that was printed, without the noise that conversion to the kept unit and back leaves in its last digits:
    /// printers give far fewer than twelve.
    pub fn printed(number: f64) -> Self {
        let is_noise = |value: f64| (number - value).abs() <= 1e-13 * value.abs();
        let few = few_decimals(number, is_noise).map(|few| few.value);
        // To write and read every number would take most of the time of an export.
        Real::of(few.or_else(|| format!("{number:.11e}").parse::<f64>().ok()))
    }
}

/// The value of a column in a row.
#[derive(Debug, Clone)]
pub enum Cell {
    /// None.
    Empty,
    /// Text, inert.
    Text(Letters),
    /// A whole number.
    Integer(i64),
    /// A finite number.
    Number(f64),
    /// Yes or no.
    Truth(bool),
    /// A day of the years 0 to 9999.
    Date(NaiveDate),
    /// A local date and time of the years 0 to 9999.
    Local(NaiveDateTime),
    /// An instant of the years 0 to 9999.
    Utc(DateTime<Utc>),
}

/// A type that a row's field can have.
pub trait Field {
    /// The type of its column.
    const KIND: Kind;
    /// Whether it always has a value.
    const PRESENCE: Presence;
    /// Its value.
    fn cell(self) -> Cell;
}

impl<T: Field> Field for Option<T> {
    const KIND: Kind = T::KIND;
    const PRESENCE: Presence = Presence::Maybe;

    fn cell(self) -> Cell {
        match self.map(Field::cell) {
            // An empty text is no text: CSV can't tell the two apart.
            Some(Cell::Text(text)) if text.as_str().is_empty() => Cell::Empty,
            Some(cell) => cell,
            None => Cell::Empty,
        }
    }
}

impl Field for Real {
    const KIND: Kind = Kind::Number;
    const PRESENCE: Presence = Presence::Maybe;

    fn cell(self) -> Cell {
        self.0.map_or(Cell::Empty, Cell::Number)
    }
}

macro_rules! integers {
    ($($type:ty),*) => {
        $(impl Field for $type {
            const KIND: Kind = Kind::Integer;
            const PRESENCE: Presence = Presence::Always;

            fn cell(self) -> Cell {
                Cell::Integer(i64::try_from(self).unwrap_or(i64::MAX))
            }
        })*
    };
}
integers!(i64, u64, usize, u32, i32, u8);

impl Field for bool {
    const KIND: Kind = Kind::Truth;
    const PRESENCE: Presence = Presence::Always;

    fn cell(self) -> Cell {
        Cell::Truth(self)
    }
}

/// Years that ISO 8601 writes with four digits; every format can hold them.
const YEARS: std::ops::RangeInclusive<i32> = 0..=9999;

macro_rules! moments {
    ($($type:ty, $kind:ident;)*) => {
        $(impl Field for $type {
            const KIND: Kind = Kind::$kind;
            // One out of range is left out, so that it never counts as always there.
            const PRESENCE: Presence = Presence::Maybe;

            fn cell(self) -> Cell {
                if YEARS.contains(&self.year()) { Cell::$kind(self) } else { Cell::Empty }
            }
        })*
    };
}
moments! {
    NaiveDate, Date;
    NaiveDateTime, Local;
    DateTime<Utc>, Utc;
}

/// How a day is written.
pub fn write_date(date: NaiveDate) -> String {
    date.format("%Y-%m-%d").to_string()
}

/// How a local date and time is written: ISO 8601 without zone, a fraction of a second only where there is one.
pub fn write_local(local: NaiveDateTime) -> String {
    local.format("%Y-%m-%dT%H:%M:%S%.f").to_string()
}

/// How an instant is written: as RFC 3339 does it, in UTC.
pub fn write_utc(utc: DateTime<Utc>) -> String {
    write_local(utc.naive_utc()) + "Z"
}

/// A row of a table.
pub trait Row {
    /// Its table.
    const TABLE: Table;
    /// Its cells, in the order of the table's columns.
    fn cells(self) -> Vec<Cell>;
}

/// Writes a table down as the struct of its row: name, key, and for each column its documentation, name, type and, after
/// an arrow, its unit.
macro_rules! rows {
    ($($(#[doc = $about:literal])+ $row:ident = $table:literal, key [$($key:literal),+] {
        $($(#[doc = $doc:literal])+ $field:ident: $type:ty $(=> $unit:literal)?;)+
    })+) => {
        $(
            $(#[doc = $about])+
            #[derive(Debug, Clone)]
            pub struct $row {
                $($(#[doc = $doc])+ pub $field: $type,)+
            }

            impl $crate::report::export::column::Row for $row {
                const TABLE: $crate::report::export::column::Table = $crate::report::export::column::Table {
                    name: $table,
                    about: concat!($($about),+),
                    key: &[$($key),+],
                    columns: &[$($crate::report::export::column::Column {
                        name: stringify!($field),
                        about: concat!($($doc),+),
                        kind: <$type as $crate::report::export::column::Field>::KIND,
                        presence: <$type as $crate::report::export::column::Field>::PRESENCE,
                        unit: $crate::report::export::column::rows!(@unit $($unit)?),
                    }),+],
                };

                fn cells(self) -> Vec<$crate::report::export::column::Cell> {
                    vec![$($crate::report::export::column::Field::cell(self.$field)),+]
                }
            }
        )+
    };
    (@unit $unit:literal) => { Some($unit) };
    (@unit) => { None };
}
pub(crate) use rows;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_printed_number_comes_out_as_it_was_printed() {
        for printed in ["0.48", "250", "-29.9", "1013.25", "0.001"] {
            let number: f64 = printed.parse().unwrap();
            let noisy = number * 6_894.757 / 6_894.757 * 1.8 / 1.8;
            assert_eq!(Real::printed(noisy), Real::of(number));
        }
    }

    /// Held against the formatter of the standard library, which rounds to twelve digits.
    #[test]
    fn few_decimals_are_found_as_by_writing_twelve_digits() {
        let mut next = 11_u64;
        for _ in 0..20_000 {
            next = next.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            let digits = (next >> 24) % 10_u64.pow(1 + (next >> 20 & 15) as u32 % 13);
            let power = 10_f64.powi((next >> 17 & 7) as i32);
            let number = digits as f64 / power / 6_894.757 * 6_894.757;
            let written: f64 = format!("{number:.11e}").parse().unwrap();
            assert_eq!(Real::printed(number), Real::of(written), "{number}");
            assert_eq!(Real::printed(-number), Real::of(-written), "{number}");
        }
    }

    #[test]
    fn what_no_format_can_hold_is_left_out() {
        assert_eq!(Real::of(f64::INFINITY), Real::NONE);
        assert_eq!(Real::of(f64::NAN), Real::NONE);
        let far = NaiveDate::from_ymd_opt(12_026, 3, 1).unwrap();
        assert!(matches!(Some(far).cell(), Cell::Empty));
        assert!(matches!(Some(Text::of("")).cell(), Cell::Empty));
    }

    #[test]
    fn text_of_the_input_is_inert_in_every_format() {
        assert_eq!(Text::of("\u{1b}[2Jgone").as_str(), "<ESC>[2Jgone");
        assert_eq!(Key::of("a\u{202e}b\n").as_str(), "a<U+202E>b<LF>");
    }
}
