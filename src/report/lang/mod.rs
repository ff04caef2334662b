//! The texts of the reports for paper and screen, in more than one language, and how each writes dates and numbers.
//!
//! The texts lie in Fluent files beside this one (`en.ftl`, `de.ftl`); a test holds all of them to the same messages and
//! the same variables. This module knows no report: it is asked for a message by its key. Read [`Texts::say`] first.

mod phrase;

use chrono::{Datelike, NaiveDate, NaiveDateTime};
use fluent_bundle::types::FluentNumber;
use fluent_bundle::{FluentArgs, FluentBundle, FluentResource, FluentValue};
use unic_langid::LanguageIdentifier;

/// A language that the reports are written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Language {
    /// English.
    English,
    /// German.
    German,
}

impl Language {
    /// Every language.
    pub const ALL: &'static [Language] = &[Language::English, Language::German];

    /// Its tag by BCP 47.
    pub fn tag(self) -> &'static str {
        match self {
            Language::English => "en",
            Language::German => "de",
        }
    }

    /// The text of its Fluent file.
    pub fn source(self) -> &'static str {
        match self {
            Language::English => include_str!("en.ftl"),
            Language::German => include_str!("de.ftl"),
        }
    }

    /// The decimal mark and the mark between thousands (CLDR 47, by Babel 2.18.0).
    fn marks(self) -> (char, char) {
        match self {
            Language::English => ('.', ','),
            Language::German => (',', '.'),
        }
    }
}

/// How numbers and days are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Manner {
    /// As the language does.
    Page,
    /// Days by ISO 8601 and plain digits, as they stand in the terminal's tables and in data.
    Plain,
}

/// The texts of one language.
pub struct Texts {
    language: Language,
    manner: Manner,
    bundle: FluentBundle<FluentResource>,
}

/// Values for a message's variables, by name.
pub type Values<'a> = [(&'a str, Value)];

/// A value for a message's variable.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A count: it picks singular or plural, and is written with the language's marks.
    Count(u64),
    /// Words, or a number or date that is already written in the language.
    Words(String),
}

impl From<u64> for Value {
    fn from(n: u64) -> Self {
        Value::Count(n)
    }
}

impl From<usize> for Value {
    fn from(n: usize) -> Self {
        Value::Count(n as u64)
    }
}

impl From<String> for Value {
    fn from(words: String) -> Self {
        Value::Words(words)
    }
}

impl From<&str> for Value {
    fn from(words: &str) -> Self {
        Value::Words(words.to_owned())
    }
}

impl Texts {
    /// The texts of a language.
    pub fn of(language: Language) -> Self {
        Texts::in_manner(language, Manner::Page)
    }

    /// The English texts with days by ISO 8601 and plain digits, for the terminal and for data.
    pub fn plain() -> Self {
        Texts::in_manner(Language::English, Manner::Plain)
    }

    fn in_manner(language: Language, manner: Manner) -> Self {
        let tag: LanguageIdentifier = language.tag().parse().unwrap_or_default();
        let mut bundle = FluentBundle::new(vec![tag]);
        // Everything in a report is made inert at the end, so that marks of direction are not wanted.
        bundle.set_use_isolating(false);
        bundle.set_formatter(Some(match (language, manner) {
            (_, Manner::Plain) => |value, _| write_plain(value),
            (Language::English, Manner::Page) => |value, _| write_value(value, Language::English),
            (Language::German, Manner::Page) => |value, _| write_value(value, Language::German),
        }));
        // What of a file can't be read is left out; a test holds the files to be read in full.
        let resource = match FluentResource::try_new(language.source().to_owned()) {
            Ok(resource) => resource,
            Err((resource, _)) => resource,
        };
        let _ = bundle.add_resource(resource);
        Texts {
            language,
            manner,
            bundle,
        }
    }

    /// The language.
    pub fn language(&self) -> Language {
        self.language
    }

    /// The message with this key. A key that no file has is given back in angle quotes, and a test looks for none.
    pub fn say(&self, key: &str) -> String {
        self.with(key, &[])
    }

    /// The message with this key and its variables.
    pub fn with(&self, key: &str, values: &Values<'_>) -> String {
        self.find(key, values).unwrap_or_else(|| format!("«{key}»"))
    }

    /// The message with this key, if there is one.
    pub fn find(&self, key: &str, values: &Values<'_>) -> Option<String> {
        let pattern = self.bundle.get_message(key)?.value()?;
        let mut args = FluentArgs::new();
        for (name, value) in values {
            match value {
                Value::Count(n) => args.set(*name, FluentValue::from(*n)),
                Value::Words(words) => args.set(*name, FluentValue::from(words.as_str())),
            }
        }
        let mut errors = Vec::new();
        Some(
            self.bundle
                .format_pattern(pattern, Some(&args), &mut errors)
                .into_owned(),
        )
    }

    /// The name of a thing of a fixed table, such as a cause by its word: `cause-moisture`. A word that is in no table
    /// is shown as it was printed.
    pub fn name(&self, kind: &str, word: &str) -> String {
        self.find(&format!("{kind}-{}", word.replace(' ', "-")), &[])
            .unwrap_or_else(|| word.to_owned())
    }

    /// A count with marks between thousands.
    pub fn count(&self, n: u64) -> String {
        group(&n.to_string(), self.language)
    }

    /// A number with so many decimals.
    pub fn number(&self, number: f64, n_decimals: usize) -> String {
        match self.manner {
            Manner::Page => write_number(number, n_decimals, self.language),
            Manner::Plain => format!("{number:.n_decimals$}"),
        }
    }

    /// A number with its sign, with so many decimals.
    pub fn signed(&self, number: f64, n_decimals: usize) -> String {
        match self.manner {
            Manner::Page => {
                let said = self.number(number, n_decimals);
                if said.starts_with('\u{2212}') {
                    return said;
                }
                format!("+{said}")
            }
            Manner::Plain => format!("{number:+.n_decimals$}"),
        }
    }

    /// A number as it was printed, without decimals that say nothing.
    pub fn printed(&self, number: f64) -> String {
        let plain = format!("{}", (number * 1e6).round() / 1e6);
        let n_decimals = plain.split_once('.').map_or(0, |(_, after)| after.len());
        self.number(number, n_decimals)
    }

    /// A share in percent with one decimal: `4.2 %`; a dash of nothing.
    pub fn percent(&self, n: u64, of: u64) -> String {
        if of == 0 {
            return "–".to_owned();
        }
        // Counts of cycles are far below 2^53.
        self.with(
            "percent",
            &[("n", self.number(100.0 * n as f64 / of as f64, 1).into())],
        )
    }

    /// A day: `12 Mar 2026`, `12.03.2026`.
    pub fn day(&self, day: NaiveDate) -> String {
        if self.manner == Manner::Plain {
            return day.to_string();
        }
        match self.language {
            Language::English => format!(
                "{} {} {}",
                day.day(),
                self.say(&format!("month-short-{}", day.month())),
                day.year()
            ),
            Language::German => format!("{:02}.{:02}.{}", day.day(), day.month(), day.year()),
        }
    }

    /// A day and a month, where the year is known: `12 Mar`, `12.03.`.
    pub fn short_day(&self, day: NaiveDate) -> String {
        match self.language {
            Language::English => format!(
                "{} {}",
                day.day(),
                self.say(&format!("month-short-{}", day.month()))
            ),
            Language::German => format!("{:02}.{:02}.", day.day(), day.month()),
        }
    }

    /// A month: `March 2026`, `März 2026`.
    pub fn month(&self, year: i32, month: u32) -> String {
        format!("{} {year}", self.say(&format!("month-{month}")))
    }

    /// A moment to the minute: `12 Mar 2026, 07:41`.
    pub fn moment(&self, local: NaiveDateTime) -> String {
        if self.manner == Manner::Plain {
            return local.format("%Y-%m-%d %H:%M").to_string();
        }
        format!("{}, {}", self.day(local.date()), local.format("%H:%M"))
    }

    /// A moment that a report value has as `2026-03-12 07:41`, or a day; anything else stays as it is.
    pub fn stamp(&self, written: &str) -> String {
        if let Ok(local) = NaiveDateTime::parse_from_str(written, "%Y-%m-%d %H:%M") {
            return self.moment(local);
        }
        match written.parse::<NaiveDate>() {
            Ok(day) => self.day(day),
            Err(_) => written.to_owned(),
        }
    }
}

fn write_value(value: &FluentValue<'_>, language: Language) -> Option<String> {
    match value {
        FluentValue::Number(FluentNumber { value, .. }) => Some(write_number(*value, 0, language)),
        _ => None,
    }
}

fn write_plain(value: &FluentValue<'_>) -> Option<String> {
    match value {
        FluentValue::Number(FluentNumber { value, .. }) => Some(format!("{value:.0}")),
        _ => None,
    }
}

fn write_number(number: f64, n_decimals: usize, language: Language) -> String {
    let plain = format!("{:.n_decimals$}", number.abs());
    let (whole, decimals) = plain.split_once('.').unwrap_or((plain.as_str(), ""));
    // A minus sign, not a hyphen; and none before a number that is rounded to nothing.
    let is_nothing = plain.bytes().all(|b| matches!(b, b'0' | b'.'));
    let sign = if number < 0.0 && !is_nothing {
        "\u{2212}"
    } else {
        ""
    };
    let whole = group(whole, language);
    if decimals.is_empty() {
        return format!("{sign}{whole}");
    }
    let (mark, _) = language.marks();
    format!("{sign}{whole}{mark}{decimals}")
}

/// Puts the mark between thousands; four figures stay together, as ISO 80000-1:2022, 7.3.1 allows (from memory).
fn group(whole: &str, language: Language) -> String {
    if whole.len() <= 4 || !whole.bytes().all(|b| b.is_ascii_digit()) {
        return whole.to_owned();
    }
    let (_, thousands) = language.marks();
    let mut out = String::new();
    // Each digit with how many are left from it on.
    for (digit, n_left) in whole.chars().zip((1..=whole.len()).rev()) {
        if n_left < whole.len() && n_left.is_multiple_of(3) {
            out.push(thousands);
        }
        out.push(digit);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The forms are those of CLDR 47 for `en_GB` and `de`, as Babel 2.18.0 writes them (`format_date` medium,
    /// `format_decimal`), but for the sign: ours is U+2212, so that it is no hyphen, and four figures stay together.
    #[test]
    fn dates_and_numbers_are_written_as_the_language_does() {
        let day = NaiveDate::from_ymd_opt(2026, 3, 5).unwrap();
        for (language, said, number, short) in [
            (Language::English, "5 Mar 2026", "12,345.6", "5 Mar"),
            (Language::German, "05.03.2026", "12.345,6", "05.03."),
        ] {
            let texts = Texts::of(language);
            assert_eq!(texts.day(day), said);
            assert_eq!(texts.number(12_345.6, 1), number);
            assert_eq!(texts.short_day(day), short);
        }
        let german = Texts::of(Language::German);
        assert_eq!(german.number(-1234.0, 0), "\u{2212}1234");
        assert_eq!(german.number(-0.04, 1), "0,0");
        assert_eq!(german.printed(0.25), "0,25");
        assert_eq!(german.stamp("2026-03-05 07:41"), "05.03.2026, 07:41");
        assert_eq!(german.stamp("not known"), "not known");
        assert_eq!(
            german.with("more", &[("n", 12_345_u64.into())]),
            "und 12.345 weitere"
        );
    }

    /// The months are those of CLDR 47 for `en_GB` and `de`, as Babel 2.18.0 writes them (`LLLL` and `MMM`).
    #[test]
    fn months_have_their_names() {
        for (language, full, short) in [
            (
                Language::English,
                "January February March April May June July August September October November December",
                "Jan Feb Mar Apr May Jun Jul Aug Sept Oct Nov Dec",
            ),
            (
                Language::German,
                "Januar Februar März April Mai Juni Juli August September Oktober November Dezember",
                "Jan. Feb. März Apr. Mai Juni Juli Aug. Sept. Okt. Nov. Dez.",
            ),
        ] {
            let texts = Texts::of(language);
            let names = |kind: &str| -> String {
                (1..=12)
                    .map(|month| texts.say(&format!("{kind}-{month}")))
                    .collect::<Vec<_>>()
                    .join(" ")
            };
            assert_eq!(names("month"), full);
            assert_eq!(names("month-short"), short);
        }
    }

    /// The plural forms of both languages are `one` and `other` (CLDR 47, plural rules: 1 is `one`, 0 and 2 are `other`).
    #[test]
    fn one_is_singular_and_nought_and_two_are_plural() {
        for (language, forms) in [
            (Language::English, ["0 cycles", "1 cycle", "2 cycles"]),
            (Language::German, ["0 Zyklen", "1 Zyklus", "2 Zyklen"]),
        ] {
            let texts = Texts::of(language);
            for (n, form) in (0_u64..).zip(forms) {
                assert_eq!(texts.with("n-cycles", &[("n", n.into())]), form);
            }
        }
    }

    #[test]
    fn words_in_a_message_stay_what_they_are() {
        let texts = Texts::of(Language::English);
        let said = texts.with(
            "signed-run-again",
            &[("cycle", "{ $n } <b>\u{202e}".into())],
        );
        assert_eq!(said, "run again as { $n } <b>\u{202e}");
        assert_eq!(texts.say("no-such-key"), "«no-such-key»");
    }
}
