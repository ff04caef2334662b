//! GS1 element strings: what a scanner sends for the label of a consumable.
//!
//! An element string is a chain of elements, each an application identifier (AI) of two to four digits and its value.
//! Some have a predefined length and end by themselves; every other value ends at FNC1, which scanners send as the
//! character GS (hexadecimal 1D), or at the end of the data. A value is never split at something in it that looks like
//! an identifier.
//!
//! Source of all rules: GS1 General Specifications. Section 3 has the identifiers and the meaning of day 00; 5 the
//! symbology identifiers (from memory); 7.8 the element strings of predefined length; 7.9 the check digit; 7.12 the
//! century; 7.11 the character set 82. The table of identifiers was read in GS1's own *Syntax Dictionary*
//! (repository gs1/gs1-syntax-dictionary).
//!
//! Knows nothing of printouts, logs or clocks: the year that the century is counted from is given by the caller, who
//! has it from the record that the label stands in. Read [`read_element_string`] first.

use crate::diagnose::codes::Code;
use crate::record::consumable::LotIdentity;
use crate::record::name::LotNumber;
use chrono::NaiveDate;
use thiserror::Error;

/// What loadbook keeps of an element string.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ElementString {
    /// AI 01: the GTIN, 14 digits with a right check digit.
    pub gtin: Option<String>,
    /// AI 10: the batch or lot.
    pub lot: Option<String>,
    /// AI 17: the last day of use.
    pub expiry: Option<NaiveDate>,
    /// AI 21: the serial number.
    pub serial: Option<String>,
}

impl From<ElementString> for LotIdentity {
    fn from(scanned: ElementString) -> Self {
        LotIdentity {
            gtin: scanned.gtin,
            lot: scanned.lot.map(LotNumber),
            expiry: scanned.expiry,
            serial: scanned.serial,
        }
    }
}

/// Why an element string could not be read, and where.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{what}")]
pub struct ScanError {
    /// The byte of the string at which it shows, counted from 0.
    pub offset: usize,
    /// What is wrong there.
    pub what: ScanFault,
}

impl ScanError {
    /// The entry of the table of codes for it.
    pub fn code(&self) -> Code {
        match self.what {
            ScanFault::CheckDigit { .. } => Code::CheckDigitWrong,
            _ => Code::ScanInvalid,
        }
    }
}

/// What can be wrong with an element string. Its text is made for people and holds nothing of the input but digits and
/// characters of the set 82.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ScanFault {
    /// There is nothing in it.
    #[error("the scan is empty")]
    Empty,
    /// It begins with a symbology identifier that no GS1 symbol has.
    #[error("the symbology identifier is not one of a GS1 symbol (]C1, ]d2, ]Q3, ]e0, ]J1)")]
    NotGs1Symbol,
    /// Brackets stand around the application identifiers, as in the text under a bar code.
    #[error(
        "brackets stand around the application identifiers; they are printed for the eye and not scanned"
    )]
    Brackets,
    /// No application identifier stands where one must.
    #[error("no known application identifier stands here")]
    UnknownIdentifier,
    /// Two separators follow each other.
    #[error("a separator (FNC1) follows another with nothing between them")]
    EmptyElement,
    /// A value is shorter than its identifier has it.
    #[error("AI {ai}: the value ends after {found} characters and needs {least}")]
    TooShort {
        /// The application identifier.
        ai: String,
        /// How many characters there are.
        found: usize,
        /// How many there must be.
        least: usize,
    },
    /// A value is longer than its identifier has it: a separator is missing, or characters were added.
    #[error(
        "AI {ai}: the value is longer than {most} characters; a separator (FNC1) may be missing"
    )]
    TooLong {
        /// The application identifier.
        ai: String,
        /// How many characters there may be.
        most: usize,
    },
    /// A character that is not a digit stands where a digit must.
    #[error("AI {ai}: a digit must stand here")]
    NotADigit {
        /// The application identifier.
        ai: String,
    },
    /// A character outside the set 82.
    #[error("AI {ai}: a character that GS1 values can't hold")]
    OutsideSet82 {
        /// The application identifier.
        ai: String,
    },
    /// The check digit of the GTIN is wrong.
    #[error("the check digit of the GTIN is {found}, and its other digits give {computed}")]
    CheckDigit {
        /// The digit that stands there.
        found: u8,
        /// The digit that the others give.
        computed: u8,
    },
    /// The date does not exist.
    #[error("AI {ai}: {text} is not a date (YYMMDD)")]
    NoSuchDate {
        /// The application identifier.
        ai: String,
        /// The six digits.
        text: String,
    },
    /// The same identifier comes twice with two different values.
    #[error("AI {ai} comes twice, with two different values")]
    Contradiction {
        /// The application identifier.
        ai: String,
    },
}

/// The separator FNC1 as a scanner sends it.
const GS: u8 = 0x1D;
/// The separator FNC1 as people type it, where a keyboard can't send the character.
const TYPED_GS: &[u8] = b"<GS>";
/// The symbology identifiers of GS1 symbols (ISO/IEC 15424 by way of the General Specifications, from memory):
/// GS1-128, GS1 DataMatrix, GS1 QR Code, GS1 DataBar, GS1 DotCode.
const SYMBOLOGIES: [&[u8]; 5] = [b"]C1", b"]d2", b"]Q3", b"]e0", b"]J1"];

/// Reads an element string.
///
/// `reference_year` is the year that two-digit years are near (section 7.12): the year of the record that holds the
/// label, never today's. A symbology identifier may stand first. A separator after an element of predefined length, at
/// the end, or once at the beginning (where some scanners send the FNC1 that marks a GS1 symbol) means nothing.
///
/// # Errors
///
/// A [`ScanError`] for the first thing that does not follow the General Specifications. Nothing is kept of such a
/// string: a digit misread in one place makes the others doubtful.
pub fn read_element_string(bytes: &[u8], reference_year: i32) -> Result<ElementString, ScanError> {
    let mut rest = Rest { bytes, offset: 0 };
    if rest.bytes.first() == Some(&b']') {
        let symbology = SYMBOLOGIES
            .iter()
            .find_map(|symbology| rest.after(symbology))
            .ok_or_else(|| rest.error(ScanFault::NotGs1Symbol))?;
        rest = symbology;
    }
    if let Some(after) = rest.after_separator() {
        rest = after;
    }
    if rest.bytes.is_empty() {
        return Err(rest.error(ScanFault::Empty));
    }

    let mut read = ElementString::default();
    let mut seen: Vec<(&str, &[u8])> = Vec::new();
    while !rest.bytes.is_empty() {
        let at_identifier = rest;
        let (element, ai) = rest.take_identifier()?;
        let at_value = rest;
        let value = rest.take_value(element, ai)?;
        match seen.iter().find(|(other, _)| *other == ai) {
            Some((_, same)) if *same == value => continue,
            Some(_) => {
                let ai = ai.to_owned();
                return Err(at_identifier.error(ScanFault::Contradiction { ai }));
            }
            None => seen.push((ai, value)),
        }
        match ai {
            "01" => read.gtin = Some(read_gtin(at_value, value)?),
            "10" => read.lot = Some(text_of(value)),
            "17" => read.expiry = Some(read_expiry(at_value, value, ai, reference_year)?),
            "21" => read.serial = Some(text_of(value)),
            _ => {}
        }
    }
    Ok(read)
}

/// The check digit for the digits before it: from the right they weigh 3, 1, 3, 1 …, and the digit brings the sum to
/// a multiple of ten (GS1 General Specifications, 7.9). `None` if there is a byte that is not a digit.
pub fn find_check_digit(digits: &[u8]) -> Option<u8> {
    let mut sum = 0_u8;
    for (byte, weight) in digits.iter().rev().zip([3, 1].into_iter().cycle()) {
        let digit = byte.checked_sub(b'0').filter(|digit| *digit <= 9)?;
        sum = digit.saturating_mul(weight).saturating_add(sum) % 10;
    }
    Some(10_u8.saturating_sub(sum) % 10)
}

/// The year that two digits mean: of all years that end in them, the one from 49 years before the reference year to 50
/// years after it (GS1 General Specifications, 7.12). `None` if the reference year is too far out to count from.
pub fn find_full_year(two_digits: i32, reference_year: i32) -> Option<i32> {
    let reference_two_digits = reference_year.rem_euclid(100);
    let same_century = reference_year
        .checked_sub(reference_two_digits)?
        .checked_add(two_digits)?;
    match two_digits.saturating_sub(reference_two_digits) {
        51.. => same_century.checked_sub(100),
        ..=-50 => same_century.checked_add(100),
        _ => Some(same_century),
    }
}

fn read_gtin(at: Rest<'_>, value: &[u8]) -> Result<String, ScanError> {
    let (Some((&check_byte, body)), Some(offset)) =
        (value.split_last(), value.len().checked_sub(1))
    else {
        return Err(at.error(ScanFault::Empty));
    };
    let found = check_byte.wrapping_sub(b'0');
    match find_check_digit(body) {
        Some(computed) if computed == found => Ok(text_of(value)),
        Some(computed) => Err(at.error_after(offset, ScanFault::CheckDigit { found, computed })),
        None => Err(at.error(ScanFault::NotADigit {
            ai: "01".to_owned(),
        })),
    }
}

fn read_expiry(
    at: Rest<'_>,
    value: &[u8],
    ai: &str,
    reference_year: i32,
) -> Result<NaiveDate, ScanError> {
    let date = || {
        let [y1, y2, m1, m2, d1, d2] = *value else {
            return None;
        };
        let two = |tens: u8, ones: u8| {
            let digit = |byte: u8| u32::from(byte.wrapping_sub(b'0'));
            digit(tens).saturating_mul(10).saturating_add(digit(ones))
        };
        let year = find_full_year(i32::try_from(two(y1, y2)).ok()?, reference_year)?;
        match two(d1, d2) {
            // Section 3: no day is given, so the last day of the month is meant.
            0 => last_day_of_month(year, two(m1, m2)),
            day => NaiveDate::from_ymd_opt(year, two(m1, m2), day),
        }
    };
    date().ok_or_else(|| {
        at.error(ScanFault::NoSuchDate {
            ai: ai.to_owned(),
            text: text_of(value),
        })
    })
}

fn last_day_of_month(year: i32, month: u32) -> Option<NaiveDate> {
    (28..=31)
        .rev()
        .find_map(|day| NaiveDate::from_ymd_opt(year, month, day))
}

/// Text of bytes that were found to be digits or of the set 82, so that none is lost.
fn text_of(value: &[u8]) -> String {
    String::from_utf8_lossy(value).into_owned()
}

/// What is still to be read, and where it begins.
#[derive(Debug, Clone, Copy)]
struct Rest<'a> {
    bytes: &'a [u8],
    offset: usize,
}

impl<'a> Rest<'a> {
    fn error(self, what: ScanFault) -> ScanError {
        self.error_after(0, what)
    }

    fn error_after(self, n_bytes: usize, what: ScanFault) -> ScanError {
        ScanError {
            offset: self.offset.saturating_add(n_bytes),
            what,
        }
    }

    fn skip(self, n_bytes: usize) -> Self {
        Rest {
            bytes: self.bytes.get(n_bytes..).unwrap_or_default(),
            offset: self.offset.saturating_add(n_bytes.min(self.bytes.len())),
        }
    }

    fn after(self, prefix: &[u8]) -> Option<Self> {
        self.bytes
            .starts_with(prefix)
            .then(|| self.skip(prefix.len()))
    }

    fn after_separator(self) -> Option<Self> {
        if self.bytes.first() == Some(&GS) {
            return Some(self.skip(1));
        }
        let head = self.bytes.get(..TYPED_GS.len())?;
        head.eq_ignore_ascii_case(TYPED_GS)
            .then(|| self.skip(TYPED_GS.len()))
    }

    fn take_identifier(&mut self) -> Result<(&'static Element, &'a str), ScanError> {
        for n_digits in 2..=4 {
            let Some(text) = self
                .bytes
                .get(..n_digits)
                .filter(|text| text.iter().all(u8::is_ascii_digit))
                .and_then(|text| std::str::from_utf8(text).ok())
            else {
                break;
            };
            let Ok(number) = text.parse::<u16>() else {
                break;
            };
            let found = ELEMENTS.iter().find(|element| {
                element.n_ai_digits == n_digits && (element.first..=element.last).contains(&number)
            });
            if let Some(element) = found {
                *self = self.skip(n_digits);
                return Ok((element, text));
            }
        }
        Err(self.error(match self.bytes.first() {
            Some(b'(') => ScanFault::Brackets,
            _ if self.after_separator().is_some() => ScanFault::EmptyElement,
            _ => ScanFault::UnknownIdentifier,
        }))
    }

    fn take_value(&mut self, element: &Element, ai: &str) -> Result<&'a [u8], ScanError> {
        let least = element.n_digits.saturating_add(element.tail_least);
        let most = element.n_digits.saturating_add(element.tail_most);
        // A value of predefined length ends by itself; FNC1 within it is an error like any other character.
        let until_separator = (0..=self.bytes.len())
            .find(|n| self.skip(*n).after_separator().is_some())
            .unwrap_or(self.bytes.len());
        let length = match element.end {
            End::Predefined => until_separator.min(most),
            End::Separator => until_separator,
        };
        let value = self.bytes.get(..length).unwrap_or_default();
        for (place, byte) in value.iter().take(most).enumerate() {
            let digit_here = place < element.n_digits || element.tail == Tail::Digits;
            let ai = || ai.to_owned();
            if digit_here && !byte.is_ascii_digit() {
                return Err(self.error_after(place, ScanFault::NotADigit { ai: ai() }));
            }
            if !is_in_set_82(*byte) {
                return Err(self.error_after(place, ScanFault::OutsideSet82 { ai: ai() }));
            }
        }
        if length < least {
            let (ai, found) = (ai.to_owned(), length);
            return Err(self.error_after(length, ScanFault::TooShort { ai, found, least }));
        }
        if length > most {
            let ai = ai.to_owned();
            return Err(self.error_after(most, ScanFault::TooLong { ai, most }));
        }
        let after = self.skip(length);
        *self = after.after_separator().unwrap_or(after);
        Ok(value)
    }
}

/// Whether a byte is one of the 82 characters that GS1 values may hold (GS1 General Specifications, 7.11).
fn is_in_set_82(byte: u8) -> bool {
    byte.is_ascii_alphanumeric() || b"!\"%&'()*+,-./:;<=>?_".contains(&byte)
}

/// How a value ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum End {
    /// By its length, which is predefined for its identifier.
    Predefined,
    /// At FNC1 or the end of the data, even if its length is fixed.
    Separator,
}

/// What follows a value's leading digits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Tail {
    /// Digits.
    Digits,
    /// Characters of the set 82.
    Text,
}

/// A run of application identifiers of one form.
#[derive(Debug, Clone, Copy)]
struct Element {
    n_ai_digits: usize,
    first: u16,
    last: u16,
    /// Digits that every value begins with.
    n_digits: usize,
    tail: Tail,
    tail_least: usize,
    tail_most: usize,
    end: End,
}

/// Identifiers whose values have a predefined number of digits.
const fn predefined(n_ai_digits: usize, first: u16, last: u16, n_digits: usize) -> Element {
    Element {
        n_ai_digits,
        first,
        last,
        n_digits,
        tail: Tail::Digits,
        tail_least: 0,
        tail_most: 0,
        end: End::Predefined,
    }
}

/// Identifiers whose values are some digits and then `tail_least` to `tail_most` more, up to FNC1.
const fn digits(
    n_ai_digits: usize,
    first: u16,
    last: u16,
    n_digits: usize,
    tail_least: usize,
    tail_most: usize,
) -> Element {
    Element {
        n_ai_digits,
        first,
        last,
        n_digits,
        tail: Tail::Digits,
        tail_least,
        tail_most,
        end: End::Separator,
    }
}

/// Identifiers whose values are some digits and then `tail_least` to `tail_most` characters, up to FNC1.
const fn text(
    n_ai_digits: usize,
    first: u16,
    last: u16,
    n_digits: usize,
    tail_least: usize,
    tail_most: usize,
) -> Element {
    Element {
        n_ai_digits,
        first,
        last,
        n_digits,
        tail: Tail::Text,
        tail_least,
        tail_most,
        end: End::Separator,
    }
}

/// Every assigned application identifier with the form of its value. Two optional parts are taken as one, and a
/// narrower character set as set 82, because these values are passed over.
#[rustfmt::skip]
const ELEMENTS: &[Element] = &[
    predefined(2, 0, 0, 18), predefined(2, 1, 2, 14), predefined(2, 11, 13, 6), predefined(2, 15, 17, 6),
    predefined(2, 20, 20, 2), predefined(4, 3100, 3105, 6), predefined(4, 3110, 3115, 6),
    predefined(4, 3120, 3125, 6), predefined(4, 3130, 3135, 6), predefined(4, 3140, 3145, 6),
    predefined(4, 3150, 3155, 6), predefined(4, 3160, 3165, 6), predefined(4, 3200, 3205, 6),
    predefined(4, 3210, 3215, 6), predefined(4, 3220, 3225, 6), predefined(4, 3230, 3235, 6),
    predefined(4, 3240, 3245, 6), predefined(4, 3250, 3255, 6), predefined(4, 3260, 3265, 6),
    predefined(4, 3270, 3275, 6), predefined(4, 3280, 3285, 6), predefined(4, 3290, 3295, 6),
    predefined(4, 3300, 3305, 6), predefined(4, 3310, 3315, 6), predefined(4, 3320, 3325, 6),
    predefined(4, 3330, 3335, 6), predefined(4, 3340, 3345, 6), predefined(4, 3350, 3355, 6),
    predefined(4, 3360, 3365, 6), predefined(4, 3370, 3375, 6), predefined(4, 3400, 3405, 6),
    predefined(4, 3410, 3415, 6), predefined(4, 3420, 3425, 6), predefined(4, 3430, 3435, 6),
    predefined(4, 3440, 3445, 6), predefined(4, 3450, 3455, 6), predefined(4, 3460, 3465, 6),
    predefined(4, 3470, 3475, 6), predefined(4, 3480, 3485, 6), predefined(4, 3490, 3495, 6),
    predefined(4, 3500, 3505, 6), predefined(4, 3510, 3515, 6), predefined(4, 3520, 3525, 6),
    predefined(4, 3530, 3535, 6), predefined(4, 3540, 3545, 6), predefined(4, 3550, 3555, 6),
    predefined(4, 3560, 3565, 6), predefined(4, 3570, 3575, 6), predefined(4, 3600, 3605, 6),
    predefined(4, 3610, 3615, 6), predefined(4, 3620, 3625, 6), predefined(4, 3630, 3635, 6),
    predefined(4, 3640, 3645, 6), predefined(4, 3650, 3655, 6), predefined(4, 3660, 3665, 6),
    predefined(4, 3670, 3675, 6), predefined(4, 3680, 3685, 6), predefined(4, 3690, 3695, 6),
    predefined(3, 410, 417, 13),
    text(2, 10, 10, 0, 1, 20), text(2, 21, 22, 0, 1, 20), text(3, 235, 235, 0, 1, 28),
    text(3, 240, 241, 0, 1, 30), digits(3, 242, 242, 0, 1, 6), text(3, 243, 243, 0, 1, 20),
    text(3, 250, 251, 0, 1, 30), text(3, 253, 253, 13, 0, 17), text(3, 254, 254, 0, 1, 20),
    digits(3, 255, 255, 13, 0, 12), digits(2, 30, 30, 0, 1, 8), digits(2, 37, 37, 0, 1, 8),
    digits(4, 3900, 3909, 0, 1, 15), digits(4, 3910, 3919, 3, 1, 15), digits(4, 3920, 3929, 0, 1, 15),
    digits(4, 3930, 3939, 3, 1, 15), digits(4, 3940, 3943, 4, 0, 0), digits(4, 3950, 3955, 6, 0, 0),
    text(3, 400, 401, 0, 1, 30), digits(3, 402, 402, 17, 0, 0), text(3, 403, 403, 0, 1, 30),
    text(3, 420, 420, 0, 1, 20), text(3, 421, 421, 3, 1, 9), digits(3, 422, 422, 3, 0, 0),
    digits(3, 423, 423, 0, 1, 15), digits(3, 424, 424, 3, 0, 0), digits(3, 425, 425, 0, 1, 15),
    digits(3, 426, 426, 3, 0, 0), text(3, 427, 427, 0, 1, 3),
    text(4, 4300, 4301, 0, 1, 35), text(4, 4302, 4306, 0, 1, 70), text(4, 4307, 4307, 0, 2, 2),
    text(4, 4308, 4308, 0, 1, 30), digits(4, 4309, 4309, 20, 0, 0), text(4, 4310, 4311, 0, 1, 35),
    text(4, 4312, 4316, 0, 1, 70), text(4, 4317, 4317, 0, 2, 2), text(4, 4318, 4318, 0, 1, 20),
    text(4, 4319, 4319, 0, 1, 30), text(4, 4320, 4320, 0, 1, 35), digits(4, 4321, 4323, 1, 0, 0),
    digits(4, 4324, 4325, 10, 0, 0), digits(4, 4326, 4326, 6, 0, 0), text(4, 4330, 4333, 6, 0, 1),
    digits(4, 7001, 7001, 13, 0, 0), text(4, 7002, 7002, 0, 1, 30), digits(4, 7003, 7003, 10, 0, 0),
    digits(4, 7004, 7004, 0, 1, 4), text(4, 7005, 7005, 0, 1, 12), digits(4, 7006, 7006, 6, 0, 0),
    digits(4, 7007, 7007, 6, 0, 6), text(4, 7008, 7008, 0, 1, 3), text(4, 7009, 7009, 0, 1, 10),
    text(4, 7010, 7010, 0, 1, 2), digits(4, 7011, 7011, 6, 0, 4), text(4, 7020, 7022, 0, 1, 20),
    text(4, 7023, 7023, 0, 1, 30), text(4, 7030, 7039, 3, 1, 27), text(4, 7040, 7040, 1, 3, 3),
    text(3, 710, 715, 0, 1, 20), text(4, 7230, 7239, 0, 3, 30), text(4, 7240, 7240, 0, 1, 20),
    digits(4, 7241, 7241, 2, 0, 0), text(4, 7242, 7242, 0, 1, 25),
    digits(4, 8001, 8001, 14, 0, 0), text(4, 8002, 8002, 0, 1, 20), text(4, 8003, 8003, 14, 0, 16),
    text(4, 8004, 8004, 0, 1, 30), digits(4, 8005, 8005, 6, 0, 0), digits(4, 8006, 8006, 18, 0, 0),
    text(4, 8007, 8007, 0, 1, 34), digits(4, 8008, 8008, 8, 0, 4), text(4, 8009, 8009, 0, 1, 50),
    text(4, 8010, 8010, 0, 1, 30), digits(4, 8011, 8011, 0, 1, 12), text(4, 8012, 8012, 0, 1, 20),
    text(4, 8013, 8013, 0, 1, 25), digits(4, 8017, 8018, 18, 0, 0), digits(4, 8019, 8019, 0, 1, 10),
    text(4, 8020, 8020, 0, 1, 25), digits(4, 8026, 8026, 18, 0, 0), text(4, 8030, 8030, 0, 1, 90),
    text(4, 8110, 8110, 0, 1, 70), digits(4, 8111, 8111, 4, 0, 0), text(4, 8112, 8112, 0, 1, 70),
    text(4, 8200, 8200, 0, 1, 70), text(2, 90, 90, 0, 1, 30), text(2, 91, 99, 0, 1, 90),
];

#[cfg(test)]
mod tests {
    //! SEEN, CALC and MEM are the marks of the project's shared reference/standards.md, section 7, from which the worked strings are taken:
    //! wording read in an excerpt of the source, arithmetic done there, from memory.

    use super::*;
    use proptest::prelude::*;

    fn read(text: &str) -> Result<ElementString, ScanError> {
        read_element_string(text.as_bytes(), 2026)
    }

    fn day(year: i32, month: u32, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(year, month, day).unwrap()
    }

    fn fault(text: &str) -> (usize, ScanFault) {
        let error = read(text).unwrap_err();
        (error.offset, error.what)
    }

    #[test]
    fn century_is_counted_from_the_reference_year() {
        // General Specifications 7.12: 30 in 2080 is 2130 (CALC); further ones are cases of `crate::selftest`.
        let expiry = read_element_string(b"17300101", 2080).unwrap().expiry;
        assert_eq!(expiry, Some(day(2130, 1, 1)));
        for reference in [i32::MIN, i32::MAX] {
            assert!(read_element_string(b"17300101", reference).is_err());
        }
    }

    #[test]
    fn expiry_without_a_day_is_the_last_day_of_its_month() {
        // General Specifications 3.4, leap years included: 130200 is 2013-02-28, 160200 is 2016-02-29 (SEEN).
        let expiry = |text: &str| read(text).unwrap().expiry;
        assert_eq!(expiry("17130200"), Some(day(2013, 2, 28)));
        assert_eq!(expiry("17160200"), Some(day(2016, 2, 29)));
        assert_eq!(expiry("17261100"), Some(day(2026, 11, 30)));
        assert_eq!(expiry("17261200"), Some(day(2026, 12, 31)));
    }

    #[test]
    fn every_two_digits_fall_into_the_window_of_a_hundred_years() {
        // General Specifications 7.12: from 49 years in the past to 50 years in the future, each ending once (SEEN).
        for reference in 1950..=2150 {
            for two_digits in 0..100 {
                let year = find_full_year(two_digits, reference).unwrap();
                assert_eq!(year % 100, two_digits);
                assert!((-49..=50).contains(&(year - reference)), "{year}");
            }
        }
    }

    #[test]
    fn wrong_check_digit_is_refused() {
        // CALC: "Wrong digit 09506000134353 must be refused." SEEN: 12345678901232 (lint_csum.c).
        let error = read("0109506000134353").unwrap_err();
        assert_eq!(error.code(), Code::CheckDigitWrong);
        assert_eq!(error.offset, 15);
        let expected = ScanFault::CheckDigit {
            found: 3,
            computed: 2,
        };
        assert_eq!(error.what, expected);
        assert_eq!(
            read("0112345678901232").unwrap_err().code(),
            Code::CheckDigitWrong
        );
        assert!(read("0112345678901231").is_ok());
    }

    #[test]
    fn any_single_wrong_digit_of_a_gtin_is_found() {
        // A property of modulo 10 with weights 3 and 1, both coprime to ten (arithmetic).
        let right = b"09506000134352";
        for place in 0..right.len() {
            for digit in b'0'..=b'9' {
                let mut wrong = b"01".to_vec();
                wrong.extend_from_slice(right);
                wrong[place + 2] = digit;
                let is_right = digit == right[place];
                assert_eq!(read_element_string(&wrong, 2026).is_ok(), is_right);
            }
        }
    }

    #[test]
    fn value_of_variable_length_is_never_split() {
        // standards.md section 7: "never split at an AI-looking pair inside a variable field".
        let scanned = read("10A17261130B21C01\x1d2110LOT").unwrap();
        assert_eq!(scanned.lot.as_deref(), Some("A17261130B21C01"));
        assert_eq!(scanned.serial.as_deref(), Some("10LOT"));
        assert_eq!(scanned.expiry, None);
    }

    #[test]
    fn other_identifiers_are_passed_over_by_their_own_lengths() {
        // Lengths SEEN in GS1's Syntax Dictionary: 00 N18, 11 N6, 20 N2, 30 N..8, 240 X..30, 3103 N6, 414 N13, 422 N3.
        let scanned = read(
            "00376104250021234569112501012042\
             310300125041495060001343523012\x1d240CAT-7\x1d422528\x1d10L9\x1d17270131",
        )
        .unwrap();
        assert_eq!(scanned.lot.as_deref(), Some("L9"));
        assert_eq!(scanned.expiry, Some(day(2027, 1, 31)));
    }

    #[test]
    fn predefined_lengths_are_those_of_the_published_table() {
        // SEEN: GS1's Digital Link Toolkit (repository gs1/GS1DigitalLinkToolkit.js), its table "Element Strings with
        // predefined length", which names figure 7.8.4-2 of the General Specifications, release 18: the first two digits
        // of the identifier, and the length of identifier and value. It also reserves 03, 04, 14, 18 and 19, which are
        // not assigned and so are refused here.
        let published = [
            (0, 20),
            (1, 16),
            (2, 16),
            (11, 8),
            (12, 8),
            (13, 8),
            (15, 8),
            (16, 8),
            (17, 8),
            (20, 4),
            (31, 10),
            (32, 10),
            (33, 10),
            (34, 10),
            (35, 10),
            (36, 10),
            (41, 16),
        ];
        for element in ELEMENTS {
            let first_two = element.first / 10_u16.pow(element.n_ai_digits as u32 - 2);
            let length = published.iter().find(|(digits, _)| *digits == first_two);
            match element.end {
                End::Predefined => {
                    let (_, length) = length.expect("a predefined length is in the table");
                    assert_eq!(element.n_ai_digits + element.n_digits, *length);
                }
                End::Separator => assert_eq!(length, None, "AI {}", element.first),
            }
        }
        let has = |first_two: &u16| {
            ELEMENTS.iter().any(|element| {
                let scale = 10_u16.pow(element.n_ai_digits as u32 - 2);
                let covered = element.first / scale..=element.last / scale;
                element.end == End::Predefined && covered.contains(first_two)
            })
        };
        assert!(published.iter().all(|(first_two, _)| has(first_two)));
    }

    #[test]
    fn no_identifier_is_the_beginning_of_another() {
        // Otherwise a string could be read in two ways.
        for a in ELEMENTS {
            for b in ELEMENTS.iter().filter(|b| b.n_ai_digits > a.n_ai_digits) {
                let scale = 10_u16.pow((b.n_ai_digits - a.n_ai_digits) as u32);
                let overlap = b.first / scale <= a.last && a.first <= b.last / scale;
                assert!(!overlap, "{} and {}", a.first, b.first);
            }
        }
    }

    #[test]
    fn set_82_has_82_characters() {
        // SEEN: gs1/gs1-syntax-dictionary, src/lint_cset82.c, lists the set of the General Specifications.
        let published =
            "!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz";
        assert_eq!(published.len(), 82);
        for byte in 0..=255_u8 {
            assert_eq!(is_in_set_82(byte), published.as_bytes().contains(&byte));
        }
    }

    #[test]
    fn faults_are_named_with_their_place() {
        let ai = |ai: &str| ai.to_owned();
        assert_eq!(fault(""), (0, ScanFault::Empty));
        assert_eq!(fault("]d2"), (3, ScanFault::Empty));
        assert_eq!(fault("]C010LOT"), (0, ScanFault::NotGs1Symbol));
        assert_eq!(fault("(01)09506000134352"), (0, ScanFault::Brackets));
        assert_eq!(fault("1726113003ABC"), (8, ScanFault::UnknownIdentifier));
        assert_eq!(fault("K4471"), (0, ScanFault::UnknownIdentifier));
        assert_eq!(fault("10A\x1d\x1d17261130"), (4, ScanFault::EmptyElement));
        assert_eq!(
            fault("01095060001343"),
            (
                14,
                ScanFault::TooShort {
                    ai: ai("01"),
                    found: 12,
                    least: 14
                }
            )
        );
        assert_eq!(
            fault("10<GS>17261130"),
            (
                2,
                ScanFault::TooShort {
                    ai: ai("10"),
                    found: 0,
                    least: 1
                }
            )
        );
        assert_eq!(
            fault("10ABCDEFGHIJKLMNOPQRSTU"),
            (
                22,
                ScanFault::TooLong {
                    ai: ai("10"),
                    most: 20
                }
            )
        );
        assert_eq!(
            fault("1726O130"),
            (4, ScanFault::NotADigit { ai: ai("17") })
        );
        // A count has digits alone, and the first thirteen of a document's type are digits, whatever follows them (GS1
        // General Specifications, AI 30: N2+N..8; AI 253: N3+N13[+X..17]).
        assert_eq!(fault("301O"), (3, ScanFault::NotADigit { ai: ai("30") }));
        assert_eq!(
            fault("25395060001O4352"),
            (11, ScanFault::NotADigit { ai: ai("253") })
        );
        assert!(read("2539506000134352A").is_ok());
        assert_eq!(
            fault("10LOT 42"),
            (5, ScanFault::OutsideSet82 { ai: ai("10") })
        );
        assert_eq!(
            fault("17261131"),
            (
                2,
                ScanFault::NoSuchDate {
                    ai: ai("17"),
                    text: "261131".to_owned()
                }
            )
        );
        assert_eq!(
            fault("17260000"),
            (
                2,
                ScanFault::NoSuchDate {
                    ai: ai("17"),
                    text: "260000".to_owned()
                }
            )
        );
        assert_eq!(
            fault("10A\x1d10B"),
            (4, ScanFault::Contradiction { ai: ai("10") })
        );
        assert_eq!(read("10A\x1d10A").unwrap().lot.as_deref(), Some("A"));
    }

    #[test]
    fn separators_that_mean_nothing_are_passed_over() {
        let scanned = read("\x1d17261130\x1d10A\x1d").unwrap();
        assert_eq!(scanned.expiry, Some(day(2026, 11, 30)));
        assert_eq!(scanned.lot.as_deref(), Some("A"));
    }

    /// Values as GS1 has them: characters of the set 82 that do not spell the typed separator.
    fn value_of_set_82() -> impl Strategy<Value = String> {
        "[A-Za-z0-9!\"%&'()*+,./:;=>?_-]{1,20}"
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn no_bytes_make_it_panic(bytes in proptest::collection::vec(any::<u8>(), 0..80), year: i32) {
            if let Err(error) = read_element_string(&bytes, year) {
                prop_assert!(error.offset <= bytes.len());
            }
        }

        #[test]
        fn no_digits_make_it_panic(text in "[0-9\u{1d}A]{0,60}", year in 1900_i32..2200) {
            if let Err(error) = read_element_string(text.as_bytes(), year) {
                prop_assert!(error.offset <= text.len());
            }
        }

        #[test]
        fn parts_that_were_joined_come_back(
            lot in value_of_set_82(), serial in value_of_set_82(), body in 0_u64..10_000_000_000_000,
            days in 0_i64..30_000, separator in prop_oneof![Just("\x1d"), Just("<GS>"), Just("<gs>")],
            lot_first: bool,
        ) {
            // The GTIN's check digit is computed here by the definition, digit by digit, from the left.
            let digits = format!("{body:013}");
            let sum: u32 = digits.chars().enumerate()
                .map(|(place, c)| c.to_digit(10).unwrap() * if place % 2 == 0 { 3 } else { 1 })
                .sum();
            let gtin = format!("{digits}{}", (10 - sum % 10) % 10);
            // Any day in the 50 years after the reference year's beginning.
            let expiry = day(2026, 1, 1) + chrono::Duration::days(days % 18_000);
            let fixed = format!("01{gtin}17{}", expiry.format("%y%m%d"));
            let text = match lot_first {
                true => format!("10{lot}{separator}{fixed}21{serial}"),
                false => format!("{fixed}21{serial}{separator}10{lot}"),
            };
            let scanned = read(&text).unwrap();
            prop_assert_eq!(scanned.gtin, Some(gtin));
            prop_assert_eq!(scanned.lot, Some(lot));
            prop_assert_eq!(scanned.serial, Some(serial));
            prop_assert_eq!(scanned.expiry, Some(expiry));
        }
    }
}
