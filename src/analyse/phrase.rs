//! A sentence as data: which message it is, and what it speaks of.
//!
//! The words stand in the language files of the reports, each sentence once a language; what is found says only which of
//! them and with which counts, shares, days and names, so that every language writes them in its own way. Knows no
//! language and no screen. Read [`Phrase`] first.

use chrono::{NaiveDate, NaiveDateTime};
use serde::Serialize;
use std::borrow::Cow;
use std::cmp::Ordering;

/// A number that can be ordered: by [`f64::total_cmp`].
#[derive(Debug, Clone, Copy, Serialize)]
#[serde(transparent)]
pub struct Real(pub f64);

impl PartialEq for Real {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Real {}

impl PartialOrd for Real {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Real {
    fn cmp(&self, other: &Self) -> Ordering {
        self.0.total_cmp(&other.0)
    }
}

/// How the parts of a list are put together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Joining {
    /// `a, b and c`.
    And,
    /// `a, b, c`.
    Comma,
    /// `a; b; c`.
    Semicolon,
    /// One sentence after the other.
    Sentences,
}

/// What a sentence speaks of.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Arg {
    /// A name or words of the records, or a symbol: the same in every language.
    Words(String),
    /// A count; it picks singular or plural.
    Count(u64),
    /// A number with so many decimals.
    Number(Real, u8),
    /// A number with its sign and so many decimals.
    Signed(Real, u8),
    /// A number with two decimals at most, and none that say nothing.
    Trimmed(Real),
    /// So many of so many.
    Share(u32, u32),
    /// How many times as often.
    Ratio(Real),
    /// A probability.
    Probability(Real),
    /// A day, where it is known.
    Day(Option<NaiveDate>),
    /// A moment to the minute.
    Moment(NaiveDateTime),
    /// A word of a table that every language has names for: the table, the word.
    Term(&'static str, String),
    /// A word in quotation marks.
    Quoted(Box<Arg>),
    /// A part that is a phrase itself.
    Phrase(Box<Phrase>),
    /// The same at the beginning of a sentence.
    Capital(Box<Phrase>),
    /// Several.
    List(Joining, Vec<Arg>),
}

impl From<&str> for Arg {
    fn from(words: &str) -> Self {
        Arg::Words(words.to_owned())
    }
}

impl From<&String> for Arg {
    fn from(words: &String) -> Self {
        Arg::Words(words.clone())
    }
}

impl From<String> for Arg {
    fn from(words: String) -> Self {
        Arg::Words(words)
    }
}

impl From<u32> for Arg {
    fn from(n: u32) -> Self {
        Arg::Count(u64::from(n))
    }
}

impl From<usize> for Arg {
    fn from(n: usize) -> Self {
        Arg::Count(n as u64)
    }
}

impl From<Option<NaiveDate>> for Arg {
    fn from(day: Option<NaiveDate>) -> Self {
        Arg::Day(day)
    }
}

impl From<NaiveDate> for Arg {
    fn from(day: NaiveDate) -> Self {
        Arg::Day(Some(day))
    }
}

impl From<NaiveDateTime> for Arg {
    fn from(moment: NaiveDateTime) -> Self {
        Arg::Moment(moment)
    }
}

impl From<Phrase> for Arg {
    fn from(phrase: Phrase) -> Self {
        Arg::Phrase(Box::new(phrase))
    }
}

/// A sentence, or a part of one. What it speaks of comes before its message in order, so that records of a day stand by
/// their names.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Phrase {
    /// What it speaks of, by the names of the message's variables.
    pub args: Vec<(&'static str, Arg)>,
    /// The message's key in the language files.
    pub key: Cow<'static, str>,
}

impl Phrase {
    /// A phrase that speaks of nothing yet.
    pub fn of(key: impl Into<Cow<'static, str>>) -> Self {
        Phrase {
            args: Vec::new(),
            key: key.into(),
        }
    }

    /// The same, speaking of this too.
    #[must_use]
    pub fn and(mut self, name: &'static str, arg: impl Into<Arg>) -> Self {
        self.args.push((name, arg.into()));
        self
    }

    /// A name of the records alone.
    pub fn name(name: impl Into<Arg>) -> Self {
        Phrase::of("phrase-name").and("name", name)
    }

    /// Sentences one after the other.
    pub fn sentences(sentences: impl IntoIterator<Item = Phrase>) -> Self {
        let mut all: Vec<Phrase> = sentences.into_iter().collect();
        match (all.pop(), all.is_empty()) {
            (Some(only), true) => only,
            (last, _) => Phrase::of("phrase-sentences").and(
                "all",
                Arg::List(
                    Joining::Sentences,
                    all.into_iter().chain(last).map(Arg::from).collect(),
                ),
            ),
        }
    }
}

/// A number with so many decimals.
pub fn number(value: f64, decimals: u8) -> Arg {
    Arg::Number(Real(value), decimals)
}

/// A number with its sign and so many decimals.
pub fn signed(value: f64, decimals: u8) -> Arg {
    Arg::Signed(Real(value), decimals)
}

/// A number with two decimals at most.
pub fn trimmed(value: f64) -> Arg {
    Arg::Trimmed(Real(value))
}

/// A probability.
pub fn probability(p: f64) -> Arg {
    Arg::Probability(Real(p))
}

/// A word of a table that every language has names for.
pub fn term(table: &'static str, word: &str) -> Arg {
    Arg::Term(table, word.to_owned())
}

/// A word of a table, in quotation marks.
pub fn quoted_term(table: &'static str, word: &str) -> Arg {
    Arg::Quoted(Box::new(term(table, word)))
}

/// A phrase at the beginning of a sentence.
pub fn capital(phrase: Phrase) -> Arg {
    Arg::Capital(Box::new(phrase))
}

/// Several, put together.
pub fn list(joining: Joining, all: impl IntoIterator<Item = Arg>) -> Arg {
    Arg::List(joining, all.into_iter().collect())
}
