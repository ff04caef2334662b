//! How the values of a layout are written: its numbers, units, words, dates and times; and the value of a field read
//! from the front of a text.
//!
//! Knows nothing of lines and of what a value means. Read [`Lexicon::read`] first.

use super::field::{Extent, Field, LotPart, UnitOf};
use super::moment::{Calendar, DatePattern, TimeKind, TimePattern};
use crate::diagnose::codes::Code;
use crate::measure::quantity::{Duration, LeakRate};
use crate::measure::unit::{DurationUnit, LeakRateUnit};
use crate::parse::token::{DAY_WANTED, is_in_range};
use crate::record::cause::Cause;
use crate::record::cycle::{Measured, Outcome, Process, Purpose, QuantityKind, StageName};
use chrono::NaiveDate;

/// Which bytes count as the same in literal text.
pub type Fold = [u8; 256];

/// Capitals and small letters are the same, in ASCII and in the second byte of Latin-1's letters as UTF-8.
pub static PLAIN_FOLD: Fold = plain_fold();
/// The same, and what scans take for one another: `0` and `O`, `1`, `l` and `I`, `5` and `S`, `8` and `B`.
pub static SCAN_FOLD: Fold = scan_fold();

#[expect(
    clippy::arithmetic_side_effects,
    clippy::indexing_slicing,
    reason = "`at` is below 256, and the bytes that are raised by 0x20 are at most 0x9E"
)]
const fn plain_fold() -> Fold {
    let mut fold = [0_u8; 256];
    let mut at = 0_usize;
    while at < 256 {
        let byte = at as u8;
        fold[at] = match byte {
            b'A'..=b'Z' => byte + 0x20,
            b'\t' => b' ',
            // À to Þ and à to þ differ by this much; 0x97 is the multiplication sign.
            0x80..=0x9E if byte != 0x97 => byte + 0x20,
            _ => byte,
        };
        at += 1;
    }
    fold
}

#[expect(
    clippy::indexing_slicing,
    reason = "a byte is a place of a table of 256"
)]
const fn scan_fold() -> Fold {
    let mut fold = plain_fold();
    fold[b'0' as usize] = b'o';
    fold[b'1' as usize] = b'l';
    fold[b'I' as usize] = b'l';
    fold[b'i' as usize] = b'l';
    fold[b'|' as usize] = b'l';
    fold[b'5' as usize] = b's';
    fold[b'8' as usize] = b'b';
    fold
}

/// Text that a line may hold, as it is compared: folded, with one space for any white space.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Phrase(Box<[u8]>);

impl Phrase {
    /// A phrase from text.
    pub fn new(text: &str, fold: &Fold) -> Self {
        let words: Vec<&str> = text.split_whitespace().collect();
        let bytes = words.join(" ").into_bytes();
        Phrase(bytes.iter().map(|&byte| folded(fold, byte)).collect())
    }

    /// Its folded bytes.
    pub fn bytes(&self) -> &[u8] {
        &self.0
    }

    /// How many bytes of a text it takes, if the text begins with it.
    #[expect(
        clippy::arithmetic_side_effects,
        reason = "the place goes on by one from a byte that is there"
    )]
    #[inline]
    pub fn match_front(&self, text: &[u8], fold: &Fold) -> Option<usize> {
        let mut at = 0;
        for &wanted in &self.0 {
            let &byte = text.get(at)?;
            if folded(fold, byte) != wanted {
                return None;
            }
            at += 1;
            if wanted == b' ' {
                while matches!(text.get(at), Some(b' ' | b'\t')) {
                    at += 1;
                }
            }
        }
        Some(at)
    }
}

/// A byte as it is compared.
#[inline]
pub fn folded(fold: &Fold, byte: u8) -> u8 {
    fold.get(usize::from(byte)).copied().unwrap_or(byte)
}

/// Words of the printer and what each means.
#[derive(Debug, Clone, PartialEq)]
pub struct Words<T> {
    entries: Vec<(Phrase, T)>,
    /// Each word as it is without what scans take for one another, beside its entry.
    exact: Vec<Phrase>,
}

impl<T> Default for Words<T> {
    fn default() -> Self {
        Words {
            entries: Vec::new(),
            exact: Vec::new(),
        }
    }
}

impl<T: Clone> Words<T> {
    /// Adds a word. Of two that fit, the longer is taken.
    pub fn push(&mut self, text: &str, fold: &Fold, meaning: T) {
        let phrase = Phrase::new(text, fold);
        let at = self
            .entries
            .iter()
            .position(|(known, _)| known.bytes().len() < phrase.bytes().len())
            .unwrap_or(self.entries.len());
        self.entries.insert(at, (phrase, meaning));
        self.exact.insert(at, Phrase::new(text, &PLAIN_FOLD));
    }

    /// Whether a text is the word with this number without any slip of a scan.
    pub fn is_exact(&self, at: usize, text: &[u8]) -> bool {
        let exact = self.exact.get(at);
        exact.is_some_and(|exact| exact.match_front(text, &PLAIN_FOLD) == Some(text.len()))
    }

    /// What a word means already.
    pub fn meaning(&self, phrase: &Phrase) -> Option<&T> {
        let (_, meaning) = self.entries.iter().find(|(known, _)| known == phrase)?;
        Some(meaning)
    }

    /// Whether it has no words.
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// The words.
    pub fn phrases(&self) -> impl Iterator<Item = &Phrase> {
        self.entries.iter().map(|(phrase, _)| phrase)
    }

    /// The word at the front of a text: how many bytes it takes, and which it is.
    pub fn match_front(&self, text: &[u8], fold: &Fold) -> Option<(usize, usize)> {
        self.entries
            .iter()
            .enumerate()
            .find_map(|(at, (phrase, _))| {
                let n = phrase.match_front(text, fold)?;
                ends_word(text, n).then_some((n, at))
            })
    }

    /// The meaning of the word with a number that [`Words::match_front`] gave.
    pub fn get(&self, at: usize) -> Option<&T> {
        self.entries.get(at).map(|(_, meaning)| meaning)
    }
}

/// Whether a word may end at an offset: no letter or digit goes on from one.
fn ends_word(text: &[u8], at: usize) -> bool {
    let is_within = |byte: &u8| byte.is_ascii_alphanumeric() || *byte >= 0x80;
    let before = at.checked_sub(1).and_then(|before| text.get(before));
    !(before.is_some_and(is_within) && text.get(at).is_some_and(is_within))
}

/// How numbers are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NumberForm {
    /// The mark before the decimals.
    pub decimal: u8,
    /// The mark between thousands, if there is one.
    pub thousands: Option<u8>,
}

/// How a layout's values are written.
#[derive(Debug, Clone)]
pub struct Lexicon {
    /// Which bytes count as the same.
    pub fold: &'static Fold,
    /// Numbers.
    pub numbers: NumberForm,
    /// Words that stand where a reading is missing.
    pub missing: Words<()>,
    /// Dates.
    pub dates: Vec<DatePattern>,
    /// Months and centuries.
    pub calendar: Calendar,
    /// Times of day.
    pub times: Vec<TimePattern>,
    /// Lengths of time.
    pub lengths: Vec<TimePattern>,
    /// Units as printed.
    pub units: Words<UnitOf>,
    /// Units of leak rates as printed.
    pub leak_units: Words<LeakRateUnit>,
    /// Units of time as printed.
    pub duration_units: Words<DurationUnit>,
    /// Stages.
    pub stages: Words<StageName>,
    /// Alarms and causes.
    pub causes: Words<Cause>,
    /// Outcomes; `None` for a word that says the cycle still runs.
    pub outcomes: Words<Option<Outcome>>,
    /// Processes.
    pub processes: Words<Process>,
    /// Purposes.
    pub purposes: Words<Purpose>,
}

/// A field's value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FieldValue {
    /// The text itself.
    Text,
    /// A time of day, a time since the start or a length, in seconds.
    Seconds(u32),
    /// A date.
    Date(NaiveDate),
    /// A whole number.
    Whole(u32),
    /// A measured value.
    Measured(Measured),
    /// A word of a table, by its number.
    Word(usize),
    /// A leak rate.
    Leak(LeakRate),
    /// A length of time with its unit.
    Duration(Duration),
    /// One number of another.
    Of(u32, u32),
    /// The printer says that there is no value.
    Missing,
}

/// Why a text is not what a field asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Miss {
    /// How far the text was read.
    pub at: usize,
    /// What kind of fault it is.
    pub code: Code,
    /// What was expected, as it reads after "expected".
    pub wanted: &'static str,
}

fn miss<T>(code: Code, wanted: &'static str) -> Result<T, Miss> {
    Err(Miss {
        at: 0,
        code,
        wanted,
    })
}

impl Lexicon {
    /// The value of a field of its own form at the front of a text, and how many bytes it takes.
    ///
    /// # Errors
    /// What was expected there.
    #[inline]
    pub fn read(&self, field: Field, text: &[u8]) -> Result<(usize, FieldValue), Miss> {
        match field {
            Field::Time | Field::StartTime | Field::EndTime => self.time(
                text,
                &self.times,
                TimeKind::OfDay,
                "a time in the layout's form",
            ),
            Field::Reading(kind, unit) | Field::Limit(kind, unit, _) => {
                self.measured(text, kind, unit, field)
            }
            _ => self.read_rare(field, text),
        }
    }

    fn read_rare(&self, field: Field, text: &[u8]) -> Result<(usize, FieldValue), Miss> {
        let word = |found: Option<(usize, usize)>, wanted| match found {
            Some((n, at)) => Ok((n, FieldValue::Word(at))),
            None => miss(Code::ValueInvalid, wanted),
        };
        match field {
            Field::Elapsed => self.time(
                text,
                &self.lengths,
                TimeKind::Length,
                "a time since the start",
            ),
            Field::Total(None) => {
                self.time(text, &self.lengths, TimeKind::Length, "a length of time")
            }
            Field::Total(Some(unit)) => {
                let (n, number) = self.number(text)?;
                let seconds = number * unit.factor();
                if !(0.0..=1e7).contains(&seconds) {
                    return miss(Code::NumberOutOfRange, "a length of time");
                }
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "the range was checked above"
                )]
                let seconds = seconds.round() as u32;
                Ok((n, FieldValue::Seconds(seconds)))
            }
            Field::StartDate
            | Field::EndDate
            | Field::Day
            | Field::Date
            | Field::Consumable(_, LotPart::Expiry) => self.date(text),
            Field::Counter | Field::Pulses | Field::Readings => {
                let (n, value) = self.whole(text)?;
                Ok((n, FieldValue::Whole(value)))
            }
            Field::Consumable(_, LotPart::Use) => self.use_count(text),
            Field::Stage | Field::OutcomeStage => word(
                self.stages.match_front(text, self.fold),
                "a stage that the layout's words name",
            ),
            Field::Alarm | Field::Cause => word(
                self.causes.match_front(text, self.fold),
                "a cause that the layout's words name",
            ),
            Field::Outcome => word(
                self.outcomes.match_front(text, self.fold),
                "an outcome that the layout's words name",
            ),
            Field::Process => word(
                self.processes.match_front(text, self.fold),
                "a process that the layout's words name",
            ),
            Field::Purpose => word(
                self.purposes.match_front(text, self.fold),
                "a purpose that the layout's words name",
            ),
            Field::Ambient(unit) => self.measured(text, QuantityKind::Pressure, unit, field),
            Field::DurationLimit(unit, _) => {
                let (n, number) = self.number(text)?;
                let (n, unit) = with_unit(text, n, unit, &self.duration_units, self.fold)?;
                if !(0.0..=1e7).contains(&number) {
                    return miss(Code::NumberOutOfRange, "a length of time");
                }
                Ok((n, FieldValue::Duration(Duration::new(number, unit))))
            }
            Field::Leak(unit) | Field::LeakLimit(unit) => {
                let (n, number) = self.number(text)?;
                let (n, unit) = with_unit(text, n, unit, &self.leak_units, self.fold)?;
                Ok((n, FieldValue::Leak(LeakRate::new(number, unit))))
            }
            _ => Ok((text.len(), FieldValue::Text)),
        }
    }

    /// The value of a field that a whole cell or the rest of a line holds.
    ///
    /// # Errors
    /// What was expected.
    pub fn read_whole(&self, field: Field, text: &[u8]) -> Result<FieldValue, Miss> {
        if field.extent() != Extent::Own {
            return Ok(FieldValue::Text);
        }
        let (n, value) = self.read(field, text)?;
        if n == text.len() {
            Ok(value)
        } else {
            Err(Miss {
                at: n,
                code: Code::ValueInvalid,
                wanted: "nothing more",
            })
        }
    }

    /// Whether a cell holds nothing: it is empty, or has a word that stands where a value is missing.
    pub fn is_missing(&self, cell: &[u8]) -> bool {
        let missing = self.missing.match_front(cell, self.fold);
        cell.is_empty() || missing.is_some_and(|(n, _)| n == cell.len())
    }

    fn time(
        &self,
        text: &[u8],
        patterns: &[TimePattern],
        kind: TimeKind,
        wanted: &'static str,
    ) -> Result<(usize, FieldValue), Miss> {
        for pattern in patterns {
            match pattern.read(text, kind) {
                Some((n, Some(seconds))) => return Ok((n, FieldValue::Seconds(seconds))),
                Some((_, None)) => return miss(Code::DateInvalid, "a time that a clock shows"),
                None => {}
            }
        }
        miss(Code::ValueInvalid, wanted)
    }

    fn date(&self, text: &[u8]) -> Result<(usize, FieldValue), Miss> {
        for pattern in &self.dates {
            match pattern.read(text, &self.calendar) {
                Some((n, Some(date))) => return Ok((n, FieldValue::Date(date))),
                Some((_, None)) => return miss(Code::DateInvalid, DAY_WANTED),
                None => {}
            }
        }
        miss(Code::ValueInvalid, "a date in the layout's form")
    }

    fn whole(&self, text: &[u8]) -> Result<(usize, u32), Miss> {
        let n = text.iter().take_while(|byte| byte.is_ascii_digit()).count();
        let digits = text.get(..n).unwrap_or_default();
        let significant = digits.iter().skip_while(|&&digit| digit == b'0').count();
        if n == 0 || significant > 9 || !ends_word(text, n) {
            return miss(Code::ValueInvalid, "a whole number of at most nine digits");
        }
        let value = digits.iter().fold(0_u32, |value, digit| {
            value
                .wrapping_mul(10)
                .wrapping_add(u32::from(digit.wrapping_sub(b'0')))
        });
        Ok((n, value))
    }

    /// `3 of 10`, `3/10`, `3 von 10`: two whole numbers with a word or mark between them.
    fn use_count(&self, text: &[u8]) -> Result<(usize, FieldValue), Miss> {
        const WANTED: &str = "a use as `3 of 10` or `3/10`";
        let (n, first) = self.whole(text)?;
        let rest = text.get(n..).unwrap_or_default();
        let between = rest
            .iter()
            .take_while(|byte| !byte.is_ascii_digit())
            .count();
        if between == 0 || between > 10 {
            return miss(Code::ValueInvalid, WANTED);
        }
        let (m, of) = self
            .whole(rest.get(between..).unwrap_or_default())
            .or_else(|_| miss(Code::ValueInvalid, WANTED))?;
        let n_used = n.saturating_add(between).saturating_add(m);
        Ok((n_used, FieldValue::Of(first, of)))
    }

    fn measured(
        &self,
        text: &[u8],
        kind: QuantityKind,
        unit: Option<UnitOf>,
        field: Field,
    ) -> Result<(usize, FieldValue), Miss> {
        let (n, number) = match self.number(text) {
            Ok(found) => found,
            Err(wanted) => {
                // Only a reading may be missing.
                let missing = self.missing.match_front(text, self.fold);
                return match missing.filter(|_| matches!(field, Field::Reading(..))) {
                    Some((n, _)) => Ok((n, FieldValue::Missing)),
                    None => Err(wanted),
                };
            }
        };
        let (n, unit) = match unit {
            Some(unit) => (n, unit),
            None => self.printed_unit(text, n, kind)?,
        };
        let measured = unit.measure(number);
        if is_in_range(&measured) {
            Ok((n, FieldValue::Measured(measured)))
        } else {
            miss(
                Code::NumberOutOfRange,
                "a value that this quantity can have in a sterilizer",
            )
        }
    }

    fn printed_unit(
        &self,
        text: &[u8],
        n: usize,
        kind: QuantityKind,
    ) -> Result<(usize, UnitOf), Miss> {
        let at = n.saturating_add(white(text, n));
        let rest = text.get(at..).unwrap_or_default();
        let found = self
            .units
            .entries
            .iter()
            .filter(|(_, unit)| unit.kind() == kind)
            .find_map(|(phrase, unit)| {
                let n = phrase.match_front(rest, self.fold)?;
                ends_word(rest, n).then_some((n, *unit))
            });
        match found {
            Some((used, unit)) => Ok((at.saturating_add(used), unit)),
            // `13x.6` is no number, rather than thirteen of a unit.
            None if at == n && !rest.is_empty() => {
                miss(Code::ValueInvalid, "a number in the layout's form")
            }
            None => Err(Miss {
                at,
                code: Code::UnitUnknown,
                wanted: "a unit of this quantity; the layout can state it, as in {pressure mbar}",
            }),
        }
    }

    /// A number at the front of a text.
    ///
    /// Fifteen digits and a power of ten up to 10^15 are exact in a double, so their quotient is the double nearest to
    /// the number as written (Clinger, "How to read floating point numbers accurately", PLDI 1990, the fast path).
    #[expect(
        clippy::arithmetic_side_effects,
        reason = "places and digits are counted along the text, and a digit is at least `0`"
    )]
    #[inline]
    fn number(&self, text: &[u8]) -> Result<(usize, f64), Miss> {
        const WANTED: &str = "a number in the layout's form";
        const POWERS: [f64; 16] = [
            1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
        ];
        let (is_negative, from) = match text.first() {
            Some(b'-') => (true, 1),
            Some(b'+') => (false, 1),
            _ => (false, 0),
        };
        let mut at = from;
        let (mut mantissa, mut n_digits, mut n_decimals) = (0_u64, 0_usize, 0_usize);
        let mut is_past_mark = false;
        // Digits since the last mark between thousands.
        let mut group: Option<usize> = None;
        while let Some(&byte) = text.get(at) {
            if byte.is_ascii_digit() {
                mantissa = mantissa
                    .wrapping_mul(10)
                    .wrapping_add(u64::from(byte - b'0'));
                n_digits += 1;
                n_decimals += usize::from(is_past_mark);
                group = group.map(|n| n + usize::from(!is_past_mark));
            } else if byte == self.numbers.decimal
                && !is_past_mark
                && text.get(at + 1).is_some_and(u8::is_ascii_digit)
            {
                is_past_mark = true;
            } else if Some(byte) == self.numbers.thousands
                && !is_past_mark
                && group.map_or((1..=3).contains(&n_digits), |n| n == 3)
                && text.get(at + 1).is_some_and(u8::is_ascii_digit)
            {
                group = Some(0);
            } else {
                break;
            }
            at += 1;
        }
        let is_whole_group = group.is_none_or(|n| n == 3);
        if n_digits == 0 || n_digits == n_decimals || !is_whole_group {
            return miss(Code::ValueInvalid, WANTED);
        }
        // A second decimal mark, or a mark of another kind in a number without one, makes it no number of this layout.
        if text.get(at + 1).is_some_and(u8::is_ascii_digit)
            && text.get(at).is_some_and(|&mark| {
                mark == self.numbers.decimal || !is_past_mark && matches!(mark, b'.' | b',')
            })
        {
            return miss(
                Code::NumberAmbiguous,
                "a number with the layout's own marks",
            );
        }
        let Some(power) = POWERS.get(n_decimals).filter(|_| n_digits <= 15) else {
            return miss(Code::ValueInvalid, "a number of at most fifteen digits");
        };
        let value = mantissa as f64 / power;
        Ok((at, if is_negative { -value } else { value }))
    }

    /// Whether a word was found as the layout has it, without any slip of a scan.
    pub fn is_exact(&self, field: Field, word: usize, text: &[u8]) -> bool {
        match field {
            Field::Stage | Field::OutcomeStage => self.stages.is_exact(word, text),
            Field::Alarm | Field::Cause => self.causes.is_exact(word, text),
            Field::Outcome => self.outcomes.is_exact(word, text),
            Field::Process => self.processes.is_exact(word, text),
            Field::Purpose => self.purposes.is_exact(word, text),
            _ => true,
        }
    }

    /// The bytes that a field's value may begin with. `None` for any.
    pub fn first_bytes(&self, field: Field) -> Option<Vec<u8>> {
        let of_words = |phrases: &mut dyn Iterator<Item = &Phrase>| {
            phrases
                .filter_map(|phrase| phrase.bytes().first().copied())
                .collect()
        };
        let digits = || (b'0'..=b'9').collect::<Vec<u8>>();
        match field {
            Field::Reading(..) | Field::Limit(..) | Field::Ambient(_) => {
                let mut bytes = digits();
                bytes.extend(b"+-");
                bytes.extend(
                    self.missing
                        .phrases()
                        .filter_map(|phrase| phrase.bytes().first()),
                );
                Some(bytes)
            }
            Field::DurationLimit(..)
            | Field::Leak(_)
            | Field::LeakLimit(_)
            | Field::Total(Some(_)) => {
                let mut bytes = digits();
                bytes.extend(b"+-");
                Some(bytes)
            }
            Field::Counter
            | Field::Pulses
            | Field::Readings
            | Field::Consumable(_, LotPart::Use) => Some(digits()),
            Field::StartDate
            | Field::EndDate
            | Field::Day
            | Field::Date
            | Field::Consumable(_, LotPart::Expiry) => Some(
                self.dates
                    .iter()
                    .flat_map(|pattern| pattern.first_bytes(&self.calendar))
                    .collect(),
            ),
            Field::Stage | Field::OutcomeStage => Some(of_words(&mut self.stages.phrases())),
            Field::Alarm | Field::Cause => Some(of_words(&mut self.causes.phrases())),
            Field::Outcome => Some(of_words(&mut self.outcomes.phrases())),
            Field::Process => Some(of_words(&mut self.processes.phrases())),
            Field::Purpose => Some(of_words(&mut self.purposes.phrases())),
            _ => None,
        }
    }
}

fn white(text: &[u8], at: usize) -> usize {
    text.iter()
        .skip(at)
        .take_while(|byte| matches!(byte, b' ' | b'\t'))
        .count()
}

fn with_unit<U: Copy>(
    text: &[u8],
    n: usize,
    stated: Option<U>,
    printed: &Words<U>,
    fold: &Fold,
) -> Result<(usize, U), Miss> {
    if let Some(unit) = stated {
        return Ok((n, unit));
    }
    let at = n.saturating_add(white(text, n));
    let rest = text.get(at..).unwrap_or_default();
    match printed.match_front(rest, fold) {
        Some((used, which)) => match printed.entries.get(which) {
            Some((_, unit)) => Ok((at.saturating_add(used), *unit)),
            None => miss(Code::UnitUnknown, "a unit"),
        },
        None => Err(Miss {
            at,
            code: Code::UnitUnknown,
            wanted: "a unit of this quantity; the layout can state it",
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn lexicon(decimal: u8, thousands: Option<u8>) -> Lexicon {
        Lexicon {
            fold: &PLAIN_FOLD,
            numbers: NumberForm { decimal, thousands },
            missing: Words::default(),
            dates: Vec::new(),
            calendar: Calendar::default(),
            times: Vec::new(),
            lengths: Vec::new(),
            units: Words::default(),
            leak_units: Words::default(),
            duration_units: Words::default(),
            stages: Words::default(),
            causes: Words::default(),
            outcomes: Words::default(),
            processes: Words::default(),
            purposes: Words::default(),
        }
    }

    fn number(text: &str, decimal: u8, thousands: Option<u8>) -> Option<(usize, f64)> {
        lexicon(decimal, thousands).number(text.as_bytes()).ok()
    }

    #[test]
    fn numbers_have_the_marks_of_their_layout_and_no_others() {
        assert_eq!(number("812.4", b'.', None), Some((5, 812.4)));
        assert_eq!(number("812,4", b',', None), Some((5, 812.4)));
        // A thousand, and not one and two tenths of a hundred.
        assert_eq!(number("1.024,5", b',', Some(b'.')), Some((7, 1024.5)));
        assert_eq!(
            number("1 024 000", b'.', Some(b' ')),
            Some((9, 1_024_000.0))
        );
        // What the layout does not say is not guessed.
        assert_eq!(number("8,124", b'.', None), None);
        assert_eq!(number("8.124", b',', None), None);
        assert_eq!(number("1,02", b'.', Some(b',')), None);
        assert_eq!(number("8.1.2", b'.', None), None);
        // A comma that parts two numbers.
        assert_eq!(number("812.4,45.1", b'.', None), Some((5, 812.4)));
        assert_eq!(number("-3 C", b'.', None), Some((2, -3.0)));
        assert_eq!(number("-", b'.', None), None);
    }

    #[test]
    fn the_longer_word_is_taken_and_words_end_where_letters_do() {
        let mut words = Words::default();
        words.push("AIR IN", &PLAIN_FOLD, 1);
        words.push("AIR INLET", &PLAIN_FOLD, 2);
        let found = |text: &str| {
            let (n, at) = words.match_front(text.as_bytes(), &PLAIN_FOLD)?;
            Some((n, *words.get(at)?))
        };
        assert_eq!(found("air  inlet 8"), Some((10, 2)));
        assert_eq!(found("AIR IN 8"), Some((6, 1)));
        assert_eq!(found("AIR INJECT"), None);
    }

    proptest! {
        #[test]
        fn numbers_are_those_of_the_standard_library(mantissa in 0_u64..1_000_000_000, n_decimals in 1_usize..6, negative in any::<bool>()) {
            let digits = format!("{mantissa:0>width$}", width = n_decimals + 1);
            let (whole, decimals) = digits.split_at(digits.len() - n_decimals);
            let sign = if negative { "-" } else { "" };
            let expected: f64 = format!("{sign}{whole}.{decimals}").parse().unwrap();
            // Marks between thousands, from the right.
            let mut grouped = String::new();
            for (at, digit) in whole.chars().enumerate() {
                if at > 0 && (whole.len() - at) % 3 == 0 {
                    grouped.push('.');
                }
                grouped.push(digit);
            }
            let text = format!("{sign}{grouped},{decimals}");
            prop_assert_eq!(number(&text, b',', Some(b'.')), Some((text.len(), expected)));
        }
    }

    use crate::measure::quantity::Datum;
    use crate::measure::unit::{DurationUnit, LeakRateUnit, PressureUnit, TemperatureUnit};

    /// A layout's words and forms, one or two of each.
    fn full() -> Lexicon {
        let mut full = lexicon(b'.', None);
        full.dates = vec![DatePattern::parse("DD.MM.YYYY").unwrap()];
        full.times = vec![TimePattern::parse("HH:MM:SS").unwrap()];
        full.lengths = vec![TimePattern::parse("MM:SS").unwrap()];
        full.missing.push("----", &PLAIN_FOLD, ());
        let kpa = UnitOf::Pressure(PressureUnit::Kilopascal, Datum::Absolute);
        full.units.push("kPa", &PLAIN_FOLD, kpa);
        let celsius = UnitOf::Temperature(TemperatureUnit::Celsius);
        full.units.push("C", &PLAIN_FOLD, celsius);
        full.leak_units
            .push("mbar/min", &PLAIN_FOLD, LeakRateUnit::MillibarPerMinute);
        full.duration_units
            .push("min", &PLAIN_FOLD, DurationUnit::Minute);
        full.stages
            .push("HEAT", &PLAIN_FOLD, crate::record::cycle::StageName::Warm);
        full.stages
            .push("HEAT UP", &PLAIN_FOLD, crate::record::cycle::StageName::Dry);
        full.causes
            .push("WET", &PLAIN_FOLD, crate::record::cause::Cause::Moisture);
        full.outcomes.push(
            "OK",
            &PLAIN_FOLD,
            Some(crate::record::cycle::Outcome::Completed),
        );
        full.processes
            .push("GAS", &PLAIN_FOLD, crate::record::cycle::Process::Eo);
        full.purposes
            .push("LEAK", &PLAIN_FOLD, crate::record::cycle::Purpose::LeakTest);
        full
    }

    #[test]
    fn each_field_is_read_by_its_own_form() {
        let full = full();
        let read = |field: &str, text: &str| {
            let field = Field::parse(field).unwrap();
            full.read(field, text.as_bytes()).map_err(|miss| miss.code)
        };
        let day = chrono::NaiveDate::from_ymd_opt(2026, 3, 12).unwrap();
        for (field, text, expected) in [
            ("time", "07:41:20 x", Ok((8, FieldValue::Seconds(27_680)))),
            ("start time", "24:00:00", Err(Code::DateInvalid)),
            ("elapsed", "75:30", Ok((5, FieldValue::Seconds(4_530)))),
            ("total", "75:30", Ok((5, FieldValue::Seconds(4_530)))),
            // A length in minutes becomes seconds, to the nearest.
            ("total min", "1.51", Ok((4, FieldValue::Seconds(91)))),
            ("total h", "2", Ok((1, FieldValue::Seconds(7_200)))),
            ("total min", "-1", Err(Code::NumberOutOfRange)),
            ("start date", "12.03.2026", Ok((10, FieldValue::Date(day)))),
            ("day", "31.02.2026", Err(Code::DateInvalid)),
            ("bi expiry", "12.03.2026", Ok((10, FieldValue::Date(day)))),
            ("counter", "0042", Ok((4, FieldValue::Whole(42)))),
            ("sterilant use", "3 of 10", Ok((7, FieldValue::Of(3, 10)))),
            ("stage", "heat up", Ok((7, FieldValue::Word(0)))),
            ("outcome stage", "HEAT", Ok((4, FieldValue::Word(1)))),
            ("stage", "cool", Err(Code::ValueInvalid)),
            ("alarm", "WET", Ok((3, FieldValue::Word(0)))),
            ("cause", "WET", Ok((3, FieldValue::Word(0)))),
            ("outcome", "OK", Ok((2, FieldValue::Word(0)))),
            ("process", "GAS", Ok((3, FieldValue::Word(0)))),
            ("process", "STEAM", Err(Code::ValueInvalid)),
            ("purpose", "LEAK", Ok((4, FieldValue::Word(0)))),
            ("duration max", "6", Err(Code::UnitUnknown)),
            ("leak", "1.3", Err(Code::UnitUnknown)),
            ("pressure", "5", Err(Code::UnitUnknown)),
            ("pressure", "5 C", Err(Code::UnitUnknown)),
            ("pressure", "5x kPa", Err(Code::ValueInvalid)),
            ("pressure", "----", Ok((4, FieldValue::Missing))),
            // Only a reading may be missing.
            ("pressure max", "----", Err(Code::ValueInvalid)),
            ("ambient", "----", Err(Code::ValueInvalid)),
            ("temperature", "4000 C", Err(Code::NumberOutOfRange)),
        ] {
            assert_eq!(read(field, text), expected, "{field} {text}");
        }
        for (field, text, kind) in [
            ("pressure", "5 kPa x", QuantityKind::Pressure),
            ("pressure kPa", "5", QuantityKind::Pressure),
            ("ambient", "101 kPa", QuantityKind::Pressure),
            ("temperature min", "+134.5C", QuantityKind::Temperature),
        ] {
            let Ok((_, FieldValue::Measured(measured))) = read(field, text) else {
                panic!("{field} {text}");
            };
            assert_eq!(measured.kind(), kind);
        }
        assert!(matches!(
            read("duration max", "6 min"),
            Ok((5, FieldValue::Duration(_)))
        ));
        assert_eq!(read("duration max", "-6 min"), Err(Code::NumberOutOfRange));
        assert!(matches!(
            read("leak", "1.3 mbar/min"),
            Ok((12, FieldValue::Leak(_)))
        ));
        assert!(matches!(
            read("leak mbar/min max", "1.3"),
            Ok((3, FieldValue::Leak(_)))
        ));
    }

    #[test]
    fn cell_holds_its_value_and_nothing_more() {
        let full = full();
        let whole = |field: &str, text: &str| {
            let field = Field::parse(field).unwrap();
            full.read_whole(field, text.as_bytes())
                .map_err(|miss| (miss.at, miss.wanted))
        };
        assert_eq!(whole("counter", "42"), Ok(FieldValue::Whole(42)));
        assert_eq!(whole("counter", "42 x"), Err((2, "nothing more")));
        assert_eq!(whole("load", "any thing"), Ok(FieldValue::Text));
        for (cell, is) in [("", true), ("----", true), ("---- x", false), ("5", false)] {
            assert_eq!(full.is_missing(cell.as_bytes()), is, "{cell:?}");
        }
    }

    #[test]
    fn whole_number_has_nine_figures_at_most_and_ends_its_word() {
        let full = full();
        for (text, expected) in [
            ("7", Some((1, 7))),
            ("999999999", Some((9, 999_999_999))),
            ("000999999999", Some((12, 999_999_999))),
            ("1234567890", None),
            ("0", Some((1, 0))),
            ("", None),
            ("x", None),
            ("7x", None),
            ("7 x", Some((1, 7))),
            ("7/10", Some((1, 7))),
        ] {
            assert_eq!(full.whole(text.as_bytes()).ok(), expected, "{text}");
        }
        for (text, expected) in [
            ("3 of 10", Some((7, FieldValue::Of(3, 10)))),
            ("3/10", Some((4, FieldValue::Of(3, 10)))),
            // Ten signs between the two are the most.
            ("3 of those 10", Some((13, FieldValue::Of(3, 10)))),
            ("3 out of ten 10", None),
            ("3", None),
            ("3 of", None),
            ("of 10", None),
        ] {
            assert_eq!(full.use_count(text.as_bytes()).ok(), expected, "{text}");
        }
    }

    #[test]
    fn number_has_its_sign_and_its_groups() {
        for (text, decimal, thousands, expected) in [
            ("+5.5", b'.', None, Some((4, 5.5))),
            ("-5.5", b'.', None, Some((4, -5.5))),
            ("5.", b'.', None, Some((1, 5.0))),
            (".5", b'.', None, None),
            ("-.5", b'.', None, None),
            ("5.5.", b'.', None, Some((3, 5.5))),
            ("5 5", b'.', None, Some((1, 5.0))),
            ("1 024", b'.', Some(b' '), Some((5, 1024.0))),
            ("1 02", b'.', Some(b' '), None),
            ("1024 024", b'.', Some(b' '), Some((4, 1024.0))),
            ("1 024 02", b'.', Some(b' '), None),
            ("1 024.5", b'.', Some(b' '), Some((7, 1024.5))),
            ("1 02.5", b'.', Some(b' '), None),
            (
                "123456789012345",
                b'.',
                None,
                Some((15, 123_456_789_012_345.0)),
            ),
            ("1234567890123456", b'.', None, None),
        ] {
            assert_eq!(number(text, decimal, thousands), expected, "{text}");
        }
    }

    #[test]
    fn field_tells_with_which_bytes_it_may_begin() {
        let full = full();
        let first = |field: &str| {
            let bytes = full.first_bytes(Field::parse(field).unwrap());
            bytes.map(|bytes| String::from_utf8(bytes).unwrap())
        };
        for (field, expected) in [
            ("pressure", Some("0123456789+--")),
            ("temperature max", Some("0123456789+--")),
            ("ambient", Some("0123456789+--")),
            ("duration max", Some("0123456789+-")),
            ("leak", Some("0123456789+-")),
            ("leak max", Some("0123456789+-")),
            ("total min", Some("0123456789+-")),
            ("counter", Some("0123456789")),
            ("pulses", Some("0123456789")),
            ("readings", Some("0123456789")),
            ("bi use", Some("0123456789")),
            ("start date", Some("0123456789")),
            ("bi expiry", Some("0123456789")),
            ("stage", Some("hh")),
            ("cause", Some("w")),
            ("outcome", Some("o")),
            ("process", Some("g")),
            ("purpose", Some("l")),
            ("load", None),
            ("text", None),
        ] {
            assert_eq!(first(field).as_deref(), expected, "{field}");
        }
    }

    #[test]
    fn word_without_a_slip_is_exact() {
        let mut full = full();
        // What a scan may take for another is folded in the words, and not in what is exact.
        full.stages = Words::default();
        full.stages
            .push("DO IT", &SCAN_FOLD, crate::record::cycle::StageName::Dry);
        let exact = |field: &str, text: &str| {
            full.is_exact(Field::parse(field).unwrap(), 0, text.as_bytes())
        };
        for (field, text, is) in [
            ("stage", "do it", true),
            ("stage", "D0 it", false),
            ("stage", "do it x", false),
            ("outcome stage", "D0 it", false),
            ("cause", "wet", true),
            ("alarm", "vet", false),
            ("outcome", "ok", true),
            ("outcome", "0k", false),
            ("process", "gas", true),
            ("process", "ga5", false),
            ("purpose", "leak", true),
            ("purpose", "1eak", false),
            // What is no word has no slip.
            ("counter", "x", true),
        ] {
            assert_eq!(exact(field, text), is, "{field} {text}");
        }
        assert!(!full.stages.is_exact(1, b"do it"));
        let phrase = Phrase::new("DO IT", &SCAN_FOLD);
        assert!(full.stages.meaning(&phrase).is_some());
        assert!(
            full.stages
                .meaning(&Phrase::new("ELSE", &SCAN_FOLD))
                .is_none()
        );
        assert!(!full.stages.is_empty() && Words::<()>::default().is_empty());
        // Of words of one length the first stays first.
        let mut words = Words::default();
        for (text, n) in [("AB", 1), ("CD", 2), ("A", 3), ("ABC", 4)] {
            words.push(text, &PLAIN_FOLD, n);
        }
        let order: Vec<_> = (0..4).filter_map(|at| words.get(at).copied()).collect();
        assert_eq!(order, [4, 1, 2, 3]);
    }
}
