//! The statistics against published and library-computed values. The numbers, their sources and how each is known stand
//! in `tests/reference/stats/README.md`; each module here names the source beside the check.

/// Whatever the numbers, no panic and no NaN.
mod anything;
/// Pettitt, splits, PELT: Nile and two synthetic series.
mod changes;
/// Control charts: NIST/SEMATECH e-Handbook, and limits with varying n.
mod charts;
/// Wilson to Jeffreys, Garwood, two rates.
mod rates;
/// Location and spread; NIST's certified summaries.
mod robust;
/// Nelson and Western Electric.
mod rules;
/// Scan statistic.
mod scans;
/// Fisher, Barnard, strata, adjusted p-values, posterior probabilities.
mod tables;
/// Mann–Kendall, Theil–Sen and what autocorrelation does to them.
mod trends;

use serde_json::Value;
use std::fs;
use std::path::PathBuf;

/// Relative tolerance of closed forms; absolute 1e-12 near 0.
const CLOSED_FORM: f64 = 1e-9;
/// Relative tolerance of roots, quantiles, conditional estimates and integrals.
const SEARCHED: f64 = 1e-7;

fn path_of(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests/reference/stats")
        .join(name)
}

fn json(name: &str) -> Value {
    serde_json::from_str(&fs::read_to_string(path_of(name)).unwrap()).unwrap()
}

/// The rows of a CSV file, each a lookup by column.
struct Rows {
    header: csv::StringRecord,
    rows: Vec<csv::StringRecord>,
}

fn rows(name: &str) -> Rows {
    let mut reader = csv::Reader::from_path(path_of(name)).unwrap();
    Rows {
        header: reader.headers().unwrap().clone(),
        rows: reader.records().map(Result::unwrap).collect(),
    }
}

impl Rows {
    fn text(&self, row: usize, column: &str) -> &str {
        let at = self.header.iter().position(|name| name == column);
        &self.rows[row][at.unwrap_or_else(|| panic!("no column {column}"))]
    }

    /// A number; nothing where the cell is empty.
    fn maybe(&self, row: usize, column: &str) -> Option<f64> {
        let text = self.text(row, column);
        (!text.is_empty()).then(|| text.parse().unwrap())
    }

    fn number(&self, row: usize, column: &str) -> f64 {
        self.maybe(row, column).unwrap()
    }

    fn count(&self, row: usize, column: &str) -> u64 {
        self.text(row, column).parse().unwrap()
    }

    fn column(&self, column: &str) -> Vec<f64> {
        (0..self.rows.len())
            .map(|row| self.number(row, column))
            .collect()
    }

    /// The values of one named series, in order.
    fn series(&self, key: &str, name: &str, column: &str) -> Vec<f64> {
        (0..self.rows.len())
            .filter(|row| self.text(*row, key) == name)
            .map(|row| self.number(row, column))
            .collect()
    }
}

/// A number of a JSON file, where infinities and NaN are strings.
fn number(value: &Value) -> f64 {
    match value {
        Value::String(text) => match text.as_str() {
            "inf" => f64::INFINITY,
            "-inf" => f64::NEG_INFINITY,
            "nan" => f64::NAN,
            _ => panic!("no number: {text}"),
        },
        _ => value
            .as_f64()
            .unwrap_or_else(|| panic!("no number: {value}")),
    }
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(number).collect()
}

/// Places counted from 1, as the files have them, counted from 0.
fn places(value: &Value) -> Vec<usize> {
    let from_one = value.as_array().unwrap().iter();
    from_one
        .map(|place| place.as_u64().unwrap() as usize - 1)
        .collect()
}

#[track_caller]
fn assert_near(found: f64, expected: f64, tolerance: f64, what: &str) {
    let is_near = found == expected
        || (found - expected).abs() <= tolerance * expected.abs()
        || (found - expected).abs() <= 1e-12;
    assert!(is_near, "{what}: found {found}, expected {expected}");
}

#[track_caller]
fn assert_printed(found: f64, printed: f64, half_unit: f64, what: &str) {
    assert!(
        (found - printed).abs() <= half_unit * (1.0 + 1e-9),
        "{what}: found {found}, printed {printed}"
    );
}
