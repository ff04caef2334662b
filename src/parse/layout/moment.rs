//! How a printer writes dates and times: patterns such as `DD.MM.YY` and `HH:MM:SS`, read once, then held against text.
//!
//! Knows nothing of lines. A pattern never guesses: the order of day and month, and the century of a two-digit year, are
//! the layout's to state. Read [`DatePattern::parse`] and [`TimePattern::parse`] first.

use crate::parse::token::{find_day, to_seconds};
use chrono::NaiveDate;

/// A piece of a date pattern.
#[derive(Debug, Clone, PartialEq, Eq)]
enum DatePiece {
    Day,
    Month,
    MonthName,
    Year,
    YearOfTwoDigits,
    Weekday,
    Space,
    Exactly(u8),
}

/// How a date is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DatePattern {
    pieces: Vec<DatePiece>,
}

/// What dates need beside their pattern.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Calendar {
    /// The names of the months; several for one month where printers differ.
    pub months: Vec<Vec<String>>,
    /// The first of the hundred years that two digits stand for.
    pub first_year: Option<i32>,
}

impl DatePattern {
    /// Reads a pattern: `D`, `DD` the day, `M`, `MM` the month, `MMM` its name, `YY`, `YYYY` the year, `W` a weekday
    /// that is passed over; a space is any white space; anything else stands for itself.
    ///
    /// # Errors
    /// What is wrong with it, in a sentence.
    pub fn parse(pattern: &str) -> Result<Self, String> {
        let mut pieces = Vec::new();
        let mut rest = pattern.as_bytes();
        while let Some(&first) = rest.first() {
            let n = rest.iter().take_while(|&&byte| byte == first).count();
            let (piece, used) = match (first, n) {
                (b'D', 1 | 2) => (DatePiece::Day, n),
                (b'M', 1 | 2) => (DatePiece::Month, n),
                (b'M', 3) => (DatePiece::MonthName, n),
                (b'Y', 4) => (DatePiece::Year, n),
                (b'Y', 2) => (DatePiece::YearOfTwoDigits, n),
                (b'W', _) => (DatePiece::Weekday, n),
                (b' ', _) => (DatePiece::Space, n),
                (b'D' | b'M' | b'Y', _) => {
                    return Err(format!(
                        "`{}` is none of D, DD, M, MM, MMM, YY, YYYY",
                        char::from(first).to_string().repeat(n)
                    ));
                }
                _ => (DatePiece::Exactly(first), 1),
            };
            pieces.push(piece);
            rest = rest.get(used..).unwrap_or_default();
        }
        let count = |wanted: &[DatePiece]| pieces.iter().filter(|p| wanted.contains(p)).count();
        if count(&[DatePiece::Day]) != 1
            || count(&[DatePiece::Month, DatePiece::MonthName]) != 1
            || count(&[DatePiece::Year, DatePiece::YearOfTwoDigits]) != 1
        {
            return Err(
                "a date has one day, one month and one year, such as DD.MM.YYYY".to_owned(),
            );
        }
        Ok(DatePattern { pieces })
    }

    /// Whether it needs the names of the months.
    pub fn has_month_name(&self) -> bool {
        self.pieces.contains(&DatePiece::MonthName)
    }

    /// Whether its year has two digits.
    pub fn has_two_digit_year(&self) -> bool {
        self.pieces.contains(&DatePiece::YearOfTwoDigits)
    }

    /// Whether both patterns fit the same figures and disagree about which is day, month and year.
    pub fn is_confused_with(&self, other: &DatePattern) -> bool {
        let shape = |pattern: &DatePattern| {
            let shape = |piece: &DatePiece| match piece {
                DatePiece::Day | DatePiece::Month | DatePiece::YearOfTwoDigits => DatePiece::Day,
                other => other.clone(),
            };
            pattern.pieces.iter().map(shape).collect::<Vec<_>>()
        };
        self != other && shape(self) == shape(other)
    }

    /// The bytes it may begin with.
    pub fn first_bytes(&self, calendar: &Calendar) -> Vec<u8> {
        match self.pieces.first() {
            Some(DatePiece::MonthName) => {
                let names = calendar.months.iter().flatten();
                names.filter_map(|name| name.bytes().next()).collect()
            }
            Some(DatePiece::Weekday) => (b'a'..=b'z').chain(0xC0..=0xFF).collect(),
            Some(DatePiece::Exactly(byte)) => vec![*byte],
            _ => (b'0'..=b'9').collect(),
        }
    }

    /// The date at the front of a text, and how many bytes it takes. `Err` for figures in the right form that are no
    /// date of the calendar.
    #[expect(
        clippy::arithmetic_side_effects,
        reason = "what is added was read behind the place in the text, which is held in memory"
    )]
    pub fn read(&self, text: &[u8], calendar: &Calendar) -> Option<(usize, Option<NaiveDate>)> {
        let mut at = 0;
        let (mut day, mut month, mut year) = (0, 0, 0);
        for piece in &self.pieces {
            let rest = text.get(at..).unwrap_or_default();
            at += match piece {
                DatePiece::Day => {
                    let (n, value) = digits(rest, 1, 2)?;
                    day = value;
                    n
                }
                DatePiece::Month => {
                    let (n, value) = digits(rest, 1, 2)?;
                    month = value;
                    n
                }
                DatePiece::MonthName => {
                    let (n, value) = month_name(rest, calendar)?;
                    month = value;
                    n
                }
                DatePiece::Year => {
                    let (n, value) = digits(rest, 4, 4)?;
                    year = i32::try_from(value).ok()?;
                    n
                }
                DatePiece::YearOfTwoDigits => {
                    let (n, value) = digits(rest, 2, 2)?;
                    let first = calendar.first_year?;
                    let value = i32::try_from(value).ok()?;
                    year = first + (value - first).rem_euclid(100);
                    n
                }
                DatePiece::Weekday => {
                    let n = letters(rest);
                    let dot = usize::from(rest.get(n) == Some(&b'.'));
                    (n > 0).then_some(n + dot)?
                }
                DatePiece::Space => white(rest).filter(|&n| n > 0)?,
                DatePiece::Exactly(byte) => (rest.first() == Some(byte)).then_some(1)?,
            };
        }
        if text.get(at).is_some_and(u8::is_ascii_digit) {
            return None;
        }
        Some((at, find_day(year, month, day)))
    }
}

fn white(text: &[u8]) -> Option<usize> {
    Some(
        text.iter()
            .take_while(|byte| matches!(byte, b' ' | b'\t'))
            .count(),
    )
}

fn letters(text: &[u8]) -> usize {
    text.iter()
        .take_while(|byte| byte.is_ascii_alphabetic() || **byte >= 0x80)
        .count()
}

fn digits(text: &[u8], least: usize, most: usize) -> Option<(usize, u32)> {
    let n = text
        .iter()
        .take(most)
        .take_while(|byte| byte.is_ascii_digit())
        .count();
    if n < least {
        return None;
    }
    #[expect(
        clippy::arithmetic_side_effects,
        reason = "no more than four digits are asked for, and a digit is at least `0`"
    )]
    let value = text
        .iter()
        .take(n)
        .fold(0_u32, |value, digit| value * 10 + u32::from(digit - b'0'));
    Some((n, value))
}

/// A month's name, or the first three letters or more of it, if one month alone begins so.
fn month_name(text: &[u8], calendar: &Calendar) -> Option<(usize, u32)> {
    let n = letters(text);
    let word = std::str::from_utf8(text.get(..n)?).ok()?.to_lowercase();
    if word.chars().count() < 3 {
        return None;
    }
    let mut found = (1_u32..).zip(&calendar.months).filter(|(_, names)| {
        names
            .iter()
            .any(|name| name.to_lowercase().starts_with(&word))
    });
    let (month, _) = found.next()?;
    if found.next().is_some() {
        return None;
    }
    let dot = usize::from(text.get(n) == Some(&b'.'));
    Some((n.saturating_add(dot), month))
}

/// The months in the languages that loadbook knows by name.
pub fn months_in(language: &str) -> Option<Vec<Vec<String>>> {
    let names: [&[&str]; 12] = match language {
        "english" => [
            &["january"],
            &["february"],
            &["march"],
            &["april"],
            &["may"],
            &["june"],
            &["july"],
            &["august"],
            &["september"],
            &["october"],
            &["november"],
            &["december"],
        ],
        "german" => [
            &["januar", "jänner"],
            &["februar", "feber"],
            &["märz", "maerz", "mrz"],
            &["april"],
            &["mai"],
            &["juni"],
            &["juli"],
            &["august"],
            &["september"],
            &["oktober"],
            &["november"],
            &["dezember"],
        ],
        "french" => [
            &["janvier"],
            &["février", "fevrier"],
            &["mars"],
            &["avril"],
            &["mai"],
            &["juin"],
            &["juillet"],
            &["août", "aout"],
            &["septembre"],
            &["octobre"],
            &["novembre"],
            &["décembre", "decembre"],
        ],
        "spanish" => [
            &["enero"],
            &["febrero"],
            &["marzo"],
            &["abril"],
            &["mayo"],
            &["junio"],
            &["julio"],
            &["agosto"],
            &["septiembre", "setiembre"],
            &["octubre"],
            &["noviembre"],
            &["diciembre"],
        ],
        "italian" => [
            &["gennaio"],
            &["febbraio"],
            &["marzo"],
            &["aprile"],
            &["maggio"],
            &["giugno"],
            &["luglio"],
            &["agosto"],
            &["settembre"],
            &["ottobre"],
            &["novembre"],
            &["dicembre"],
        ],
        "dutch" => [
            &["januari"],
            &["februari"],
            &["maart", "mrt"],
            &["april"],
            &["mei"],
            &["juni"],
            &["juli"],
            &["augustus"],
            &["september"],
            &["oktober"],
            &["november"],
            &["december"],
        ],
        _ => return None,
    };
    let own = |names: &&[&str]| names.iter().map(|&name| name.to_owned()).collect();
    Some(names.iter().map(own).collect())
}

/// The languages that [`months_in`] knows.
pub const LANGUAGES: &[&str] = &["english", "german", "french", "spanish", "italian", "dutch"];

/// A piece of a time pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum TimePiece {
    Hour,
    Minute,
    Second,
    HalfDay,
    Space,
    Exactly(u8),
}

/// How a time of day, or a length of time, is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TimePattern {
    pieces: Vec<TimePiece>,
    has_half_day: bool,
}

impl TimePattern {
    /// Reads a pattern: `H`, `HH` the hour, `MM` the minute, `SS` the second, `AM` the half of the day (`AM`, `PM`,
    /// `a.m.`, `p`); anything else stands for itself.
    ///
    /// # Errors
    /// What is wrong with it, in a sentence.
    pub fn parse(pattern: &str) -> Result<Self, String> {
        let mut pieces = Vec::new();
        let mut rest = pattern.as_bytes();
        while let Some(&first) = rest.first() {
            let n = rest.iter().take_while(|&&byte| byte == first).count();
            let (piece, used) = match (first, n) {
                (b'H', 1 | 2) => (TimePiece::Hour, n),
                (b'M', 1 | 2) => (TimePiece::Minute, n),
                (b'S', 1 | 2) => (TimePiece::Second, n),
                (b'A', 1) if rest.get(1) == Some(&b'M') => (TimePiece::HalfDay, 2),
                (b' ', _) => (TimePiece::Space, n),
                (b'H' | b'M' | b'S', _) => {
                    return Err(format!(
                        "`{}` is none of H, HH, MM, SS, AM",
                        char::from(first).to_string().repeat(n)
                    ));
                }
                _ => (TimePiece::Exactly(first), 1),
            };
            pieces.push(piece);
            rest = rest.get(used..).unwrap_or_default();
        }
        let count = |wanted: TimePiece| pieces.iter().filter(|piece| **piece == wanted).count();
        let each_once = [TimePiece::Hour, TimePiece::Minute, TimePiece::Second]
            .iter()
            .all(|piece| count(*piece) <= 1);
        if count(TimePiece::Minute) != 1 || !each_once || count(TimePiece::HalfDay) > 1 {
            return Err(
                "a time has hours, minutes and perhaps seconds, such as HH:MM:SS".to_owned(),
            );
        }
        Ok(TimePattern {
            has_half_day: count(TimePiece::HalfDay) == 1,
            pieces,
        })
    }

    /// Whether it has hours, as a time of day must.
    pub fn has_hours(&self) -> bool {
        self.pieces.contains(&TimePiece::Hour)
    }

    /// The seconds since midnight, or of a length of time, at the front of a text, and how many bytes they take. `None`
    /// inside for figures in the right form that no clock shows.
    #[expect(
        clippy::arithmetic_side_effects,
        reason = "what is added was read behind the place in the text, which is held in memory; hours are at most 999"
    )]
    #[inline]
    pub fn read(&self, text: &[u8], kind: TimeKind) -> Option<(usize, Option<u32>)> {
        let mut at = 0;
        let (mut hour, mut minute, mut second) = (0, 0, 0);
        let mut is_afternoon = false;
        for piece in &self.pieces {
            let rest = text.get(at..).unwrap_or_default();
            at += match piece {
                TimePiece::Hour => {
                    let most = if kind == TimeKind::Length { 3 } else { 2 };
                    let (n, value) = digits(rest, 1, most)?;
                    hour = value;
                    n
                }
                TimePiece::Minute => {
                    // A length of time without hours may have more than sixty minutes.
                    let (least, most) = if self.has_hours() { (2, 2) } else { (1, 4) };
                    let (n, value) = digits(rest, least, most)?;
                    minute = value;
                    n
                }
                TimePiece::Second => {
                    let (n, value) = digits(rest, 2, 2)?;
                    second = value;
                    n
                }
                TimePiece::HalfDay => {
                    let (n, afternoon) = half_day(rest)?;
                    is_afternoon = afternoon;
                    n
                }
                TimePiece::Space => white(rest)?,
                TimePiece::Exactly(byte) => (rest.first() == Some(byte)).then_some(1)?,
            };
        }
        if text.get(at).is_some_and(u8::is_ascii_digit) {
            return None;
        }
        let minutes_are_right = minute < 60 || !self.has_hours();
        let is_right = minutes_are_right
            && second < 60
            && match (kind, self.has_half_day) {
                (TimeKind::OfDay, true) => (1..=12).contains(&hour),
                (TimeKind::OfDay, false) => hour < 24,
                (TimeKind::Length, _) => true,
            };
        if self.has_half_day {
            // Twelve o'clock at night is 12 AM, and at noon 12 PM.
            hour = hour % 12 + if is_afternoon { 12 } else { 0 };
        }
        Some((at, is_right.then(|| to_seconds(hour, minute, second))))
    }
}

/// What a time is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeKind {
    /// A time of day.
    OfDay,
    /// A length of time.
    Length,
}

/// `AM`, `PM`, `a.m.`, `p.m.`, `a`, `p`: how many bytes it takes, and whether it is the afternoon.
fn half_day(text: &[u8]) -> Option<(usize, bool)> {
    let is_afternoon = match text.first()?.to_ascii_lowercase() {
        b'a' => false,
        b'p' => true,
        _ => return None,
    };
    let n = match text.get(1..4).or(text.get(1..)) {
        Some([b'.', b'm' | b'M', b'.', ..]) => 4,
        Some([b'm' | b'M', ..]) => 2,
        _ => 1,
    };
    let is_alone = text.get(n).is_none_or(|byte| !byte.is_ascii_alphanumeric());
    is_alone.then_some((n, is_afternoon))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn date(pattern: &str, text: &str) -> Option<(usize, Option<NaiveDate>)> {
        let calendar = Calendar {
            months: months_in("german").unwrap(),
            first_year: Some(1990),
        };
        DatePattern::parse(pattern)
            .unwrap()
            .read(text.as_bytes(), &calendar)
    }

    fn day(year: i32, month: u32, day: u32) -> Option<NaiveDate> {
        NaiveDate::from_ymd_opt(year, month, day)
    }

    #[test]
    fn dates_are_read_by_their_pattern_alone() {
        assert_eq!(
            date("DD.MM.YYYY", "12.03.2026 x"),
            Some((10, day(2026, 3, 12)))
        );
        assert_eq!(date("MM/DD/YY", "3/12/26"), Some((7, day(2026, 3, 12))));
        assert_eq!(date("D. MMM YY", "2. Mrz. 89"), Some((10, day(2089, 3, 2))));
        assert_eq!(
            date("W, DD MMM YYYY", "Do, 12 März 2026"),
            Some((17, day(2026, 3, 12)))
        );
        assert_eq!(date("DD.MM.YYYY", "31.02.2026"), Some((10, None)));
        assert_eq!(date("DD.MM.YYYY", "12.03.20261"), None);
        // No record has them, in neutral text either (grammars/limits.md).
        assert_eq!(date("YYYY-MM-DD", "0911-11-30"), Some((10, None)));
        assert_eq!(date("YYYY-MM-DD", "2100-01-01"), Some((10, None)));
        // Two months begin with `Ju`, and two letters name none.
        assert_eq!(date("DD MMM YYYY", "12 Ju 2026"), None);
        assert!(DatePattern::parse("DD.MM").is_err() && DatePattern::parse("DDD.MM.YY").is_err());
    }

    #[test]
    fn day_first_and_month_first_are_not_both_taken() {
        let pattern = |text| DatePattern::parse(text).unwrap();
        assert!(pattern("DD/MM/YY").is_confused_with(&pattern("MM/DD/YY")));
        assert!(!pattern("DD/MM/YY").is_confused_with(&pattern("DD.MM.YY")));
        assert!(!pattern("DD/MM/YYYY").is_confused_with(&pattern("DD/MM/YYYY")));
    }

    #[test]
    fn twelve_hour_clocks_have_their_noon_and_midnight_right() {
        // NIST, "Times of day FAQs" (from memory): 12 a.m. is read as midnight, 12 p.m. as noon, where printers use them.
        let time = |pattern: &str, text: &str| {
            TimePattern::parse(pattern)
                .unwrap()
                .read(text.as_bytes(), TimeKind::OfDay)
        };
        assert_eq!(time("H:MM AM", "12:05 AM"), Some((8, Some(300))));
        assert_eq!(time("H:MM AM", "12:05 PM"), Some((8, Some(43_500))));
        assert_eq!(time("H:MM AM", "1:05p"), Some((5, Some(47_100))));
        assert_eq!(time("H:MM AM", "13:05 PM"), Some((8, None)));
        assert_eq!(time("HH:MM:SS", "24:00:00"), Some((8, None)));
        assert_eq!(time("HH.MM", "07.41"), Some((5, Some(27_660))));
        assert_eq!(time("HH:MM", "07:4"), None);
    }

    #[test]
    fn date_has_one_day_one_month_and_one_year() {
        for (pattern, is_right) in [
            ("DD.MM.YYYY", true),
            ("D/M/YY", true),
            ("MMM D, YYYY", true),
            ("W DD MMM YYYY", true),
            ("DD.MM", false),
            ("MM.YYYY", false),
            ("DD.YYYY", false),
            ("DD.DD.MM.YYYY", false),
            ("DD.MM.MMM.YYYY", false),
            ("DD.MM.YY.YYYY", false),
            ("", false),
        ] {
            let read = DatePattern::parse(pattern);
            assert_eq!(read.is_ok(), is_right, "{pattern}");
            if let Err(why) = read {
                assert!(why.starts_with("a date has one day"), "{why}");
            }
        }
        for (pattern, letters) in [
            ("DDD.MM.YY", "DDD"),
            ("DD.MMMM.YY", "MMMM"),
            ("DD.MM.YYY", "YYY"),
            ("DD.MM.Y", "Y"),
        ] {
            assert_eq!(
                DatePattern::parse(pattern).unwrap_err(),
                format!("`{letters}` is none of D, DD, M, MM, MMM, YY, YYYY")
            );
        }
        let pattern = |text| DatePattern::parse(text).unwrap();
        assert!(pattern("DD MMM YYYY").has_month_name());
        assert!(!pattern("DD MM YYYY").has_month_name());
        assert!(pattern("DD MM YY").has_two_digit_year());
        assert!(!pattern("DD MM YYYY").has_two_digit_year());
    }

    #[test]
    fn pattern_tells_with_which_bytes_it_begins() {
        let calendar = Calendar {
            months: months_in("dutch").unwrap(),
            first_year: None,
        };
        let first = |text: &str| DatePattern::parse(text).unwrap().first_bytes(&calendar);
        assert_eq!(first("DD.MM.YYYY"), b"0123456789");
        assert_eq!(first("YYYY-MM-DD"), b"0123456789");
        assert_eq!(first("[DD.MM.YYYY"), b"[");
        // The first letters of the names, `maart` and `mrt` both.
        assert_eq!(first("MMM D YYYY"), b"jfmmamjjasond");
        let weekday = first("W D.M.YYYY");
        for byte in [b'a', b'z', 0xC3] {
            assert!(weekday.contains(&byte), "{byte}");
        }
        assert!(!weekday.contains(&b'0'));
    }

    #[test]
    fn pieces_of_a_date_are_read_to_their_ends() {
        for (pattern, text, expected) in [
            // A digit behind the date makes it another figure; anything else may stand there.
            ("DD.MM.YYYY", "12.03.2026x", Some((10, day(2026, 3, 12)))),
            ("DD.MM.YYYY", "12.03.202", None),
            ("DD.MM.YYYY", "x12.03.2026", None),
            ("DD.MM.YYYY", "12/03/2026", None),
            ("DD.MM.YYYY", "12.03.", None),
            ("D.M.YY", "112.03.26", None),
            ("DD.MM.YYYY", "2.3.2026", Some((8, day(2026, 3, 2)))),
            // The pivot is the layout's: 1990 to 2089.
            ("DD.MM.YY", "12.03.90", Some((8, day(1990, 3, 12)))),
            ("DD.MM.YY", "12.03.89", Some((8, day(2089, 3, 12)))),
            ("DD.MM.YY", "12.03.9", None),
            // A space is any white space, at least one.
            ("DD MM YYYY", "12 \t03  2026", Some((12, day(2026, 3, 12)))),
            ("DD MM YYYY", "1203 2026", None),
            // A weekday has letters, and perhaps a point.
            (
                "W DD.MM.YYYY",
                "Do. 12.03.2026",
                Some((14, day(2026, 3, 12))),
            ),
            ("W DD.MM.YYYY", "1 12.03.2026", None),
            // A month's name: three letters of it or more, a point behind it, no other name.
            ("DD MMM YYYY", "12 März 2026", Some((13, day(2026, 3, 12)))),
            ("DD MMM YYYY", "12 MRZ. 2026", Some((12, day(2026, 3, 12)))),
            ("DD MMM YYYY", "12 jun 2026", Some((11, day(2026, 6, 12)))),
            ("DD MMM YYYY", "12 Junix 2026", None),
            ("DD MMM YYYY", "12 de 2026", None),
            ("DD MMM YYYY", "12 \u{FF}\u{FE}x 2026", None),
        ] {
            assert_eq!(date(pattern, text), expected, "{pattern} {text}");
        }
        // Without a pivot two digits are no year.
        let pattern = DatePattern::parse("DD.MM.YY").unwrap();
        assert_eq!(pattern.read(b"12.03.26", &Calendar::default()), None);
        assert_eq!(digits(b"0126x", 1, 4), Some((4, 126)));
        assert_eq!(digits(b"01267", 1, 4), Some((4, 126)));
        assert_eq!(digits(b"7", 2, 2), None);
        assert_eq!(digits(b"x", 1, 2), None);
    }

    #[test]
    fn every_language_has_its_twelve_months_in_order() {
        // The sixth month in each language by any dictionary; the first three letters of every name tell one month alone,
        // but where a language has two names that begin alike (`juin` and `juillet`: four letters).
        for (language, june, december) in [
            ("english", "june", "december"),
            ("german", "juni", "dezember"),
            ("french", "juin", "décembre"),
            ("spanish", "junio", "diciembre"),
            ("italian", "giugno", "dicembre"),
            ("dutch", "juni", "december"),
        ] {
            let months = months_in(language).unwrap();
            assert_eq!(months.len(), 12);
            assert_eq!(months[5][0], june);
            assert_eq!(months[11][0], december);
            assert!(LANGUAGES.contains(&language));
            let calendar = Calendar {
                months: months.clone(),
                first_year: None,
            };
            for (at, names) in (1..).zip(&months) {
                for name in names {
                    let text = format!("{name} ");
                    assert_eq!(
                        month_name(text.as_bytes(), &calendar),
                        Some((name.len(), at)),
                        "{language} {name}"
                    );
                }
            }
        }
        assert_eq!(LANGUAGES.len(), 6);
        assert_eq!(months_in("latin"), None);
    }

    #[test]
    fn time_has_minutes_and_no_piece_twice() {
        for (pattern, is_right) in [
            ("HH:MM:SS", true),
            ("H.MM", true),
            ("MM:SS", true),
            ("M", true),
            ("H:MM AM", true),
            ("HH", false),
            ("SS", false),
            ("HH:MM:MM", false),
            ("HH:MM:SS:SS", false),
            ("HH:HH:MM", false),
            ("HH:MM AM AM", false),
            ("", false),
        ] {
            let read = TimePattern::parse(pattern);
            assert_eq!(read.is_ok(), is_right, "{pattern}");
            if let Err(why) = read {
                assert!(why.starts_with("a time has hours"), "{why}");
            }
        }
        for (pattern, letters) in [("HHH:MM", "HHH"), ("HH:MMM", "MMM"), ("H:M:SSS", "SSS")] {
            assert_eq!(
                TimePattern::parse(pattern).unwrap_err(),
                format!("`{letters}` is none of H, HH, MM, SS, AM")
            );
        }
        // A lone A stands for itself.
        let own = TimePattern::parse("HH:MM A").unwrap();
        assert_eq!(
            own.read(b"07:41 A", TimeKind::OfDay),
            Some((7, Some(27_660)))
        );
        assert_eq!(own.read(b"07:41 P", TimeKind::OfDay), None);
        assert!(own.has_hours());
        assert!(!TimePattern::parse("MM:SS").unwrap().has_hours());
    }

    #[test]
    fn clock_shows_twenty_four_hours_and_a_length_may_be_longer() {
        for (pattern, text, of_day, length) in [
            (
                "HH:MM:SS",
                "23:59:59",
                Some((8, Some(86_399))),
                Some((8, Some(86_399))),
            ),
            (
                "HH:MM:SS",
                "24:00:00",
                Some((8, None)),
                Some((8, Some(86_400))),
            ),
            ("HH:MM:SS", "23:60:00", Some((8, None)), Some((8, None))),
            ("HH:MM:SS", "23:00:60", Some((8, None)), Some((8, None))),
            // A length may have hours of three figures.
            ("H:MM", "100:00", None, Some((6, Some(360_000)))),
            ("HH:MM:SS", "07:41:2", None, None),
            ("HH:MM:SS", "07:41:200", None, None),
            // Without hours it may have more than sixty minutes, of up to four figures.
            (
                "MM:SS",
                "75:30",
                Some((5, Some(4_530))),
                Some((5, Some(4_530))),
            ),
            ("MM:SS", "5:30", Some((4, Some(330))), Some((4, Some(330)))),
            (
                "MM:SS",
                "1440:00",
                Some((7, Some(86_400))),
                Some((7, Some(86_400))),
            ),
            ("HH:MM", "07:5", None, None),
            ("HH:MM AM", "07:05", None, None),
            ("HH:MMAM", "07:05 a.m.", None, None),
            ("H:MM AM", "0:05 AM", Some((7, None)), Some((7, Some(300)))),
            (
                "H:MM AM",
                "11:59 p.m.",
                Some((10, Some(86_340))),
                Some((10, Some(86_340))),
            ),
        ] {
            let pattern_of = TimePattern::parse(pattern).unwrap();
            let read = |kind| pattern_of.read(text.as_bytes(), kind);
            assert_eq!(read(TimeKind::OfDay), of_day, "{pattern} {text}");
            assert_eq!(read(TimeKind::Length), length, "{pattern} {text}");
        }
    }

    #[test]
    fn half_of_the_day_is_one_of_six_words() {
        for (text, expected) in [
            ("AM", Some((2, false))),
            ("pm", Some((2, true))),
            ("a.m.", Some((4, false))),
            ("P.M. x", Some((4, true))),
            ("a", Some((1, false))),
            ("p ", Some((1, true))),
            ("p.", Some((1, true))),
            ("a.m", Some((1, false))),
            ("AMx", None),
            ("ax", None),
            ("p1", None),
            ("x", None),
            ("", None),
        ] {
            assert_eq!(half_day(text.as_bytes()), expected, "{text:?}");
        }
    }
}
