//! The published and library-computed values that cases are held against, as they stand in the repository under
//! `tests/`, embedded so that the program needs no file. Their sources: the README beside each.

use serde_json::Value;
use std::borrow::Cow;
use std::collections::BTreeMap;

macro_rules! embedded {
    ($($name:literal)*) => {
        &[$(($name, include_str!(concat!("../../tests/", $name)))),*]
    };
}

/// Every embedded text, by its path below `tests/`.
const EMBEDDED: &[(&str, &str)] = embedded! {
    "reference/f0_traces.csv"
    "reference/f0_values.csv"
    "reference/printout_answers.csv"
    "reference/rfc3339_examples.csv"
    "reference/steam_saturation.csv"
    "reference/zoneinfo_table.csv"
    "reference/stats/01_individuals_expected.json"
    "reference/stats/01_individuals_nist_flowrate.csv"
    "reference/stats/02_cchart_nist.csv"
    "reference/stats/02_cusum_ewma_attribute_expected.json"
    "reference/stats/02_cusum_nist.csv"
    "reference/stats/02_ewma_nist.csv"
    "reference/stats/02_pchart_nist.csv"
    "reference/stats/02_uchart_pchart_varying_n.csv"
    "reference/stats/03_run_rules.json"
    "reference/stats/04_trend_expected.json"
    "reference/stats/04_trend_series.csv"
    "reference/stats/05_cmh_stratified.json"
    "reference/stats/05_fisher_2x2.json"
    "reference/stats/06_poisson_garwood.csv"
    "reference/stats/06_proportion_ci95.csv"
    "reference/stats/06_two_poisson_rates.csv"
    "reference/stats/07_benjamini_hochberg.csv"
    "reference/stats/08_changepoint_expected.json"
    "reference/stats/08_nile.csv"
    "reference/stats/08_no_change.csv"
    "reference/stats/08_three_segments.csv"
    "reference/stats/09_scan_events.csv"
    "reference/stats/09_scan_expected.json"
    "reference/stats/10_robust.json"
    "reference/stats/10_strd_data.csv"
    "reference/stats/10_strd_univariate.csv"
    "reference/stats/12_beta_binomial.csv"
    "decisions/bases/eo.txt"
    "decisions/bases/late_clock.txt"
    "decisions/bases/plasma.txt"
    "decisions/bases/plasma_printout.txt"
    "decisions/bases/steam.txt"
    "decisions/cases/biological.txt"
    "decisions/cases/chemical.txt"
    "decisions/cases/eo.txt"
    "decisions/cases/lots.txt"
    "decisions/cases/people.txt"
    "decisions/cases/plasma.txt"
    "decisions/cases/policy.txt"
    "decisions/cases/printout.txt"
    "decisions/cases/stages.txt"
    "decisions/cases/steam.txt"
    "decisions/cases/time.txt"
};

/// The texts that cases are held against.
#[derive(Debug, Clone)]
pub struct References {
    texts: BTreeMap<&'static str, Cow<'static, str>>,
}

impl References {
    /// The embedded ones.
    pub fn embedded() -> Self {
        let texts = EMBEDDED
            .iter()
            .map(|(name, text)| (*name, Cow::Borrowed(*text)));
        References {
            texts: texts.collect(),
        }
    }

    /// Their names, in order.
    pub fn names(&self) -> impl Iterator<Item = &'static str> {
        self.texts.keys().copied()
    }

    /// The same with the text `from`, the first time it stands in one of them, made `to`: what a test does to see that a
    /// wrong value is noticed. `None` if it does not stand there.
    pub fn altered(mut self, name: &str, from: &str, to: &str) -> Option<Self> {
        let text = self.texts.get_mut(name)?;
        let altered = text.replacen(from, to, 1);
        if altered == **text {
            return None;
        }
        *text = Cow::Owned(altered);
        Some(self)
    }

    /// A text; an empty one if there is none of that name, so that its cases fail.
    pub fn text(&self, name: &str) -> &str {
        self.texts.get(name).map_or("", AsRef::as_ref)
    }

    /// The rows of a CSV file under `reference/`. Lines that begin with `#` are remarks.
    pub fn rows(&self, name: &str) -> Rows {
        let text = self.text(&format!("reference/{name}"));
        let mut reader = csv::ReaderBuilder::new()
            .comment(Some(b'#'))
            .flexible(true)
            .from_reader(text.as_bytes());
        Rows {
            header: reader.headers().cloned().unwrap_or_default(),
            records: reader.records().filter_map(Result::ok).collect(),
        }
    }

    /// A JSON file under `reference/`; null if it is none.
    pub fn json(&self, name: &str) -> Value {
        serde_json::from_str(self.text(&format!("reference/{name}"))).unwrap_or_default()
    }
}

/// The rows of a CSV file.
#[derive(Debug, Clone)]
pub struct Rows {
    header: csv::StringRecord,
    records: Vec<csv::StringRecord>,
}

/// One of them. A cell that is missing, or that holds no number where one is asked for, is `None`.
#[derive(Debug, Clone, Copy)]
pub struct Row<'r> {
    header: &'r csv::StringRecord,
    record: &'r csv::StringRecord,
}

impl Rows {
    /// Each, in order.
    pub fn iter(&self) -> impl Iterator<Item = Row<'_>> {
        self.records.iter().map(|record| Row {
            header: &self.header,
            record,
        })
    }

    /// The numbers of a column; `None` if one is missing.
    pub fn column(&self, column: &str) -> Option<Vec<f64>> {
        self.iter().map(|row| row.number(column)).collect()
    }

    /// The numbers of a column in the rows that have a name in another.
    pub fn series(&self, key: &str, name: &str, column: &str) -> Option<Vec<f64>> {
        let rows = self.iter().filter(|row| row.text(key) == Some(name));
        rows.map(|row| row.number(column)).collect()
    }
}

impl<'r> Row<'r> {
    /// A cell's text.
    pub fn text(self, column: &str) -> Option<&'r str> {
        let at = self.header.iter().position(|name| name == column)?;
        self.record.get(at)
    }

    /// A cell's number.
    pub fn number(self, column: &str) -> Option<f64> {
        self.text(column)?.parse().ok()
    }

    /// A cell's whole number.
    pub fn count(self, column: &str) -> Option<u64> {
        self.text(column)?.parse().ok()
    }
}

/// A part of a JSON file. Infinities and NaN stand there as strings, places count from 1.
#[derive(Debug, Clone, Copy)]
pub struct Tree<'v>(pub &'v Value);

impl<'v> Tree<'v> {
    /// What stands under a key.
    pub fn of(self, key: &str) -> Option<Tree<'v>> {
        self.0.get(key).map(Tree)
    }

    /// Whether nothing stands under a key, or null.
    pub fn lacks(self, key: &str) -> bool {
        self.0.get(key).is_none_or(Value::is_null)
    }

    /// The number under a key.
    pub fn number(self, key: &str) -> Option<f64> {
        self.of(key)?.as_number()
    }

    /// The numbers under a key; `None` if one is missing.
    pub fn numbers(self, key: &str) -> Option<Vec<f64>> {
        self.of(key)?.as_numbers()
    }

    /// The places under a key, counted from 0.
    pub fn places(self, key: &str) -> Option<Vec<usize>> {
        let places = self.0.get(key)?.as_array()?.iter();
        places
            .map(|place| usize::try_from(place.as_u64()?).ok()?.checked_sub(1))
            .collect()
    }

    /// Keys and what stands under them; none if it is no object.
    pub fn entries(self) -> impl Iterator<Item = (&'v str, Tree<'v>)> {
        let entries = self.0.as_object().into_iter().flatten();
        entries.map(|(key, value)| (key.as_str(), Tree(value)))
    }

    /// The items of a list; none if it is no list.
    pub fn items(self) -> impl Iterator<Item = Tree<'v>> {
        self.0.as_array().into_iter().flatten().map(Tree)
    }

    /// It as a number.
    pub fn as_number(self) -> Option<f64> {
        match self.0 {
            Value::String(text) => match text.as_str() {
                "inf" => Some(f64::INFINITY),
                "-inf" => Some(f64::NEG_INFINITY),
                "nan" => Some(f64::NAN),
                _ => None,
            },
            other => other.as_f64(),
        }
    }

    /// It as numbers.
    pub fn as_numbers(self) -> Option<Vec<f64>> {
        self.0.as_array()?;
        self.items().map(Tree::as_number).collect()
    }
}
