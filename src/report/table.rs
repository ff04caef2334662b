//! The one table model: columns that say how they may be narrowed, rows of cells.
//!
//! It knows nothing of terminals, pages or files: each output draws it in its own way and makes its text inert. Read
//! [`Table`] first.

use super::place::Place;

/// On which side a column's cells stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// Text.
    Left,
    /// Counts.
    Right,
}

/// How a column gives way where there is little room.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fit {
    /// Not at all: numbers, dates, short names.
    Whole,
    /// Its text goes on in the next line, between words.
    Words,
    /// Its text goes on in the next line, after a separator of a path.
    Path,
    /// It is shortened in the middle: a path keeps its beginning and its end.
    Middle,
}

/// A column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Its heading.
    pub head: &'static str,
    /// Where its cells stand.
    pub align: Align,
    /// How it gives way.
    pub fit: Fit,
    /// 0 for a column that is always shown; among the others, the highest is left out first.
    pub priority: u8,
    /// A column of words is not made narrower than this, unless its text is.
    pub least: usize,
}

impl Column {
    /// A column of text that is never broken.
    pub const fn name(head: &'static str) -> Self {
        Column::new(head, Align::Left, Fit::Whole)
    }

    /// A column of numbers.
    pub const fn number(head: &'static str) -> Self {
        Column::new(head, Align::Right, Fit::Whole)
    }

    /// A column of words, which may take several lines.
    pub const fn words(head: &'static str) -> Self {
        Column::new(head, Align::Left, Fit::Words)
    }

    /// A column of files and lines, in full.
    pub const fn place(head: &'static str) -> Self {
        Column::new(head, Align::Left, Fit::Path)
    }

    /// A column of files and lines that take one line each; they stand in full elsewhere.
    pub const fn short_place(head: &'static str) -> Self {
        Column::new(head, Align::Left, Fit::Middle)
    }

    const fn new(head: &'static str, align: Align, fit: Fit) -> Self {
        Column {
            head,
            align,
            fit,
            priority: 0,
            least: 10,
        }
    }

    /// The same, and words are not made narrower than so many columns.
    #[must_use]
    pub const fn at_least(mut self, n: usize) -> Self {
        self.least = n;
        self
    }

    /// The same, left out where there is no room for it.
    #[must_use]
    pub const fn priority(mut self, priority: u8) -> Self {
        self.priority = priority;
        self
    }
}

/// A cell, as a value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cell {
    /// Nothing.
    Blank,
    /// Text as it stands in the input: not yet inert.
    Text(String),
    /// A count.
    Count(u64),
    /// A file and line.
    Place(Place),
}

impl Cell {
    /// A count, with a dash for none.
    pub fn count_or_dash(n: u64) -> Self {
        if n == 0 { "-".into() } else { n.into() }
    }

    /// Text, or nothing.
    pub fn maybe(text: Option<impl Into<String>>) -> Self {
        text.map_or(Cell::Blank, |text| Cell::Text(text.into()))
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Cell::Text(text.to_owned())
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        Cell::Text(text)
    }
}

impl From<usize> for Cell {
    fn from(n: usize) -> Self {
        Cell::Count(n as u64)
    }
}

impl From<u64> for Cell {
    fn from(n: u64) -> Self {
        Cell::Count(n)
    }
}

impl From<&Place> for Cell {
    fn from(place: &Place) -> Self {
        Cell::Place(place.clone())
    }
}

impl From<Option<&Place>> for Cell {
    fn from(place: Option<&Place>) -> Self {
        place.map_or(Cell::Blank, Cell::from)
    }
}

/// Columns and rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// The columns.
    pub columns: Vec<Column>,
    /// The rows, each with a cell for each column; a missing cell is blank.
    pub rows: Vec<Vec<Cell>>,
}

impl Table {
    /// A table without rows.
    pub fn new(columns: impl Into<Vec<Column>>) -> Self {
        Table {
            columns: columns.into(),
            rows: Vec::new(),
        }
    }

    /// Adds a row.
    pub fn push(&mut self, row: impl Into<Vec<Cell>>) {
        self.rows.push(row.into());
    }

    /// The same table without the columns in which every cell is blank.
    #[must_use]
    pub fn without_blank_columns(self) -> Self {
        let kept: Vec<usize> = (0..self.columns.len())
            .filter(|&n| {
                self.rows
                    .iter()
                    .filter_map(|row| row.get(n))
                    .any(|cell| *cell != Cell::Blank && *cell != Cell::Text(String::new()))
            })
            .collect();
        let columns = kept
            .iter()
            .filter_map(|&n| self.columns.get(n).cloned())
            .collect();
        let rows = self
            .rows
            .iter()
            .map(|row| {
                kept.iter()
                    .map(|&n| row.get(n).cloned().unwrap_or(Cell::Blank))
                    .collect()
            })
            .collect();
        Table { columns, rows }
    }
}
