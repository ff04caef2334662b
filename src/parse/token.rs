//! The small parsers that both formats share: numbers, dates, times, quantities with their units.
//!
//! All work on the bytes of one line and copy nothing. Units and keywords count the same in capitals and small letters.

use super::fault::{Parsed, fail};
use crate::diagnose::codes::Code;
use crate::measure::quantity::{
    Concentration, Conductivity, Datum, Duration, LeakRate, Power, Pressure, RelativeHumidity,
    Temperature,
};
use crate::measure::unit::{
    ConcentrationUnit, ConductivityUnit, DurationUnit, HumidityUnit, LeakRateUnit, PowerUnit,
    PressureUnit, TemperatureUnit,
};
use crate::record::cycle::Measured;
use crate::record::stamp::Stamp;
use chrono::{Datelike, NaiveDate, NaiveDateTime, NaiveTime};
use nom::Parser;
use nom::branch::alt;
use nom::sequence::preceded;

/// How a number marked its decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DecimalMark {
    /// With a point, or it has no decimals.
    Point,
    /// With a comma.
    Comma,
}

impl DecimalMark {
    /// A comma if either is one.
    #[must_use]
    pub fn or(self, other: DecimalMark) -> DecimalMark {
        if self == DecimalMark::Comma {
            self
        } else {
            other
        }
    }
}

/// Spaces and tabs, or none.
pub fn blanks(input: &[u8]) -> &[u8] {
    let n = input
        .iter()
        .take_while(|byte| matches!(byte, b' ' | b'\t'))
        .count();
    input.get(n..).unwrap_or_default()
}

/// How many blanks a text begins with.
pub fn n_blanks_before(text: &[u8]) -> usize {
    text.iter()
        .take_while(|byte| byte.is_ascii_whitespace())
        .count()
}

/// At least one space or tab.
pub fn gap(input: &[u8]) -> Parsed<'_, ()> {
    match input.first() {
        Some(b' ' | b'\t') => Ok((blanks(input), ())),
        _ => fail(input, Code::ValueInvalid, "a space"),
    }
}

/// A keyword, after which a space, a comma or the line's end follows.
pub fn keyword<'a>(word: &'static str) -> impl Fn(&'a [u8]) -> Parsed<'a, ()> {
    move |input| {
        if let Some((head, rest)) = input.split_at_checked(word.len())
            && head.eq_ignore_ascii_case(word.as_bytes())
            && rest
                .first()
                .is_none_or(|byte| matches!(byte, b' ' | b'\t' | b','))
        {
            return Ok((rest, ()));
        }
        fail(input, Code::KeyUnknown, word)
    }
}

/// The bytes up to the next space, tab or comma.
pub fn token<'a>(wanted: &'static str) -> impl Fn(&'a [u8]) -> Parsed<'a, &'a [u8]> {
    move |input| {
        let end = input
            .iter()
            .position(|byte| matches!(byte, b' ' | b'\t' | b','))
            .unwrap_or(input.len());
        match input.split_at_checked(end) {
            Some((token, rest)) if !token.is_empty() => Ok((rest, token)),
            _ => fail(input, Code::ValueMissing, wanted),
        }
    }
}

/// Powers of ten that a double holds exactly.
pub const POWERS: [f64; 16] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
];

/// A decimal number of up to fifteen digits, with a point or a comma before its decimals.
///
/// Fifteen digits and a power of ten up to 10^15 are exact in a double, so their quotient is the double nearest to the
/// number as written (Clinger, "How to read floating point numbers accurately", PLDI 1990, the fast path).
#[expect(
    clippy::arithmetic_side_effects,
    reason = "places and digits are counted along the text, and a digit is at least `0`"
)]
pub fn number(input: &[u8]) -> Parsed<'_, (f64, DecimalMark)> {
    const WANTED: &str = "a number";
    let (negative, digits) = match input.split_first() {
        Some((b'-', rest)) => (true, rest),
        _ => (false, input),
    };
    let mut mantissa = 0_u64;
    let mut n_digits = 0_usize;
    let mut n_decimals = 0_usize;
    let mut mark = None;
    let mut at = 0_usize;
    while let Some(&byte) = digits.get(at) {
        if byte.is_ascii_digit() {
            mantissa = mantissa
                .wrapping_mul(10)
                .wrapping_add(u64::from(byte - b'0'));
            n_digits += 1;
            n_decimals += usize::from(mark.is_some());
        } else if matches!(byte, b'.' | b',') && mark.is_none() {
            // A comma that no digit follows parts two values.
            if byte == b',' && !digits.get(at + 1).is_some_and(u8::is_ascii_digit) {
                break;
            }
            mark = Some(if byte == b',' {
                DecimalMark::Comma
            } else {
                DecimalMark::Point
            });
        } else {
            break;
        }
        at += 1;
    }
    let rest = digits.get(at..).unwrap_or_default();
    let ends_well = rest
        .first()
        .is_none_or(|byte| matches!(byte, b' ' | b'\t' | b',' | b'%'));
    if n_digits == 0 || n_digits == n_decimals || mark.is_some() && n_decimals == 0 || !ends_well {
        return fail(input, Code::ValueInvalid, WANTED);
    }
    let Some(power) = POWERS.get(n_decimals).filter(|_| n_digits <= 15) else {
        return fail(
            input,
            Code::ValueInvalid,
            "a number of at most fifteen digits",
        );
    };
    let mark = mark.unwrap_or(DecimalMark::Point);
    if mark == DecimalMark::Comma && n_decimals == 3 {
        return fail(
            input,
            Code::NumberAmbiguous,
            "a number that can be read in one way only",
        );
    }
    let value = mantissa as f64 / power;
    Ok((rest, (if negative { -value } else { value }, mark)))
}

/// A whole number of up to nine digits.
pub fn whole(input: &[u8]) -> Parsed<'_, u32> {
    let n = input
        .iter()
        .take_while(|byte| byte.is_ascii_digit())
        .count();
    match input.split_at_checked(n) {
        Some((digits, rest)) if (1..=9).contains(&n) => {
            #[expect(
                clippy::arithmetic_side_effects,
                reason = "nine digits make less than 2^32, and a digit is at least `0`"
            )]
            let value = digits
                .iter()
                .fold(0_u32, |value, digit| value * 10 + u32::from(digit - b'0'));
            Ok((rest, value))
        }
        _ => fail(
            input,
            Code::ValueInvalid,
            "a whole number of at most nine digits",
        ),
    }
}

/// Two digits as a number.
#[expect(
    clippy::arithmetic_side_effects,
    reason = "two digits make at most 99, and a digit is at least `0`"
)]
fn two_digits(bytes: &[u8]) -> Option<u32> {
    match bytes {
        [tens, ones] if tens.is_ascii_digit() && ones.is_ascii_digit() => {
            Some(u32::from(tens - b'0') * 10 + u32::from(ones - b'0'))
        }
        _ => None,
    }
}

/// Hours, minutes and seconds in seconds.
#[inline]
#[expect(
    clippy::arithmetic_side_effects,
    reason = "each of them comes from at most four digits, so that the sum is below 2^26"
)]
pub fn to_seconds(hours: u32, minutes: u32, seconds: u32) -> u32 {
    hours * 3_600 + minutes * 60 + seconds
}

/// A time of day as `HH:MM:SS`, in seconds since midnight.
pub fn time(input: &[u8]) -> Parsed<'_, u32> {
    const WANTED: &str = "a time as HH:MM:SS";
    if let Some((head, rest)) = input.split_at_checked(8)
        && let [h1, h2, b':', m1, m2, b':', s1, s2] = *head
        && let (Some(hour), Some(minute), Some(second)) = (
            two_digits(&[h1, h2]),
            two_digits(&[m1, m2]),
            two_digits(&[s1, s2]),
        )
        && !rest.first().is_some_and(u8::is_ascii_digit)
    {
        if hour > 23 || minute > 59 || second > 59 {
            return fail(input, Code::DateInvalid, WANTED);
        }
        return Ok((rest, to_seconds(hour, minute, second)));
    }
    fail(input, Code::ValueInvalid, WANTED)
}

/// A time of day as `HH:MM` or `HH:MM:SS`, in seconds since midnight.
pub fn clock(input: &[u8]) -> Parsed<'_, u32> {
    const WANTED: &str = "a time as HH:MM";
    if input.get(5) == Some(&b':') {
        return time(input);
    }
    if let Some((head, rest)) = input.split_at_checked(5)
        && let [h1, h2, b':', m1, m2] = *head
        && let (Some(hour), Some(minute)) = (two_digits(&[h1, h2]), two_digits(&[m1, m2]))
        && !rest.first().is_some_and(u8::is_ascii_digit)
    {
        if hour > 23 || minute > 59 {
            return fail(input, Code::DateInvalid, WANTED);
        }
        return Ok((rest, to_seconds(hour, minute, 0)));
    }
    fail(input, Code::ValueInvalid, WANTED)
}

/// The years that a record can have (the rule `year` of both grammars). A slip of the hand makes 0226 or 2206 of 2026.
const YEARS: std::ops::RangeInclusive<i32> = 1900..=2099;

/// What [`find_day`] finds.
pub const DAY_WANTED: &str = "a date of the calendar from 1900 to 2099";

/// A day of the calendar, of a year that a record can have.
pub fn find_day(year: i32, month: u32, day: u32) -> Option<NaiveDate> {
    NaiveDate::from_ymd_opt(year, month, day).filter(|day| is_of_record(*day))
}

/// Whether a record can have this day.
pub fn is_of_record(day: NaiveDate) -> bool {
    YEARS.contains(&day.year())
}

/// A date as `YYYY-MM-DD`.
pub fn date(input: &[u8]) -> Parsed<'_, NaiveDate> {
    const WANTED: &str = "a date as YYYY-MM-DD";
    if let Some((head, rest)) = input.split_at_checked(10)
        && let [y1, y2, y3, y4, b'-', m1, m2, b'-', d1, d2] = *head
        && let (Some(century), Some(year)) = (two_digits(&[y1, y2]), two_digits(&[y3, y4]))
        && let (Some(month), Some(day)) = (two_digits(&[m1, m2]), two_digits(&[d1, d2]))
        && !rest.first().is_some_and(u8::is_ascii_digit)
    {
        let year = century.saturating_mul(100).saturating_add(year);
        let year = i32::try_from(year).unwrap_or_default();
        return match find_day(year, month, day) {
            Some(date) => Ok((rest, date)),
            None => fail(input, Code::DateInvalid, DAY_WANTED),
        };
    }
    fail(input, Code::ValueInvalid, WANTED)
}

/// Seconds since midnight as a time of day.
pub fn time_of_day(second: u32) -> NaiveTime {
    NaiveTime::from_num_seconds_from_midnight_opt(second, 0).unwrap_or(NaiveTime::MIN)
}

/// The offset from UTC that may follow a time, in seconds east: `Z`, `+01:00`, `-05:00`.
fn offset(input: &[u8]) -> Parsed<'_, i32> {
    const WANTED: &str = "an offset from UTC as +HH:MM or Z";
    match input.split_first() {
        Some((b'Z' | b'z', rest)) => return Ok((rest, 0)),
        Some((sign @ (b'+' | b'-'), _)) => {
            if let Some((head, rest)) = input.split_at_checked(6)
                && let [_, h1, h2, b':', m1, m2] = *head
                && let (Some(hour), Some(minute)) = (two_digits(&[h1, h2]), two_digits(&[m1, m2]))
                && hour < 24
                && minute < 60
            {
                let seconds = i32::try_from(to_seconds(hour, minute, 0)).unwrap_or_default();
                let sign = if *sign == b'-' { -1 } else { 1 };
                return Ok((rest, seconds.saturating_mul(sign)));
            }
        }
        _ => {}
    }
    fail(input, Code::ValueInvalid, WANTED)
}

/// A date and a time with an offset or without: `2026-03-12 07:41:20+01:00`. RFC 3339's `T` may stand for the space, and
/// a fraction of a second is read and left out.
pub fn date_time(input: &[u8]) -> Parsed<'_, Stamp> {
    let (rest, date) = date(input)?;
    let (rest, second) = match rest.split_first() {
        Some((b'T' | b't' | b' ' | b'\t', rest)) => leap_second(blanks(rest))?,
        _ => return fail(rest, Code::ValueInvalid, "a time after the date"),
    };
    let rest = match rest.split_first() {
        Some((b'.', digits)) if digits.first().is_some_and(u8::is_ascii_digit) => {
            let n = digits
                .iter()
                .take_while(|byte| byte.is_ascii_digit())
                .count();
            digits.get(n..).unwrap_or_default()
        }
        _ => rest,
    };
    let (rest, offset_seconds) = match blanks(rest).first() {
        Some(b'Z' | b'z' | b'+' | b'-') => {
            let (rest, offset) = offset(blanks(rest))?;
            (rest, Some(offset))
        }
        _ => (rest, None),
    };
    Ok((
        rest,
        Stamp {
            local: NaiveDateTime::new(date, time_of_day(second)),
            offset_seconds,
        },
    ))
}

/// A time of day in which RFC 3339's leap second `:60` is the second before it.
fn leap_second(input: &[u8]) -> Parsed<'_, u32> {
    if let Some((head, rest)) = input.split_at_checked(8)
        && head.ends_with(b":60")
        && let Some(before) = head.get(..6)
    {
        let mut shown = [b'5'; 8];
        for (to, from) in shown.iter_mut().zip(before.iter().chain(b"59")) {
            *to = *from;
        }
        return match time(&shown) {
            Ok((_, second)) => Ok((rest, second)),
            Err(_) => fail(input, Code::ValueInvalid, "a time as HH:MM:SS"),
        };
    }
    clock(input)
}

/// What a sterilizer's chamber can show at all: wide enough for every process and for a sensor a little off, narrow
/// enough that a lost decimal point or a digit too many is seen. Stated in grammars/cycle-printout.md.
mod range {
    use std::ops::RangeInclusive;
    pub const ABSOLUTE_PASCAL: RangeInclusive<f64> = -500.0..=1_000_000.0;
    pub const GAUGE_PASCAL: RangeInclusive<f64> = -110_000.0..=1_000_000.0;
    pub const CELSIUS: RangeInclusive<f64> = -40.0..=200.0;
    pub const MILLIGRAMS_PER_LITRE: RangeInclusive<f64> = -1.0..=3_000.0;
    pub const PERCENT: RangeInclusive<f64> = -1.0..=110.0;
    pub const WATTS: RangeInclusive<f64> = -10.0..=20_000.0;
    pub const MICROSIEMENS_PER_CENTIMETRE: RangeInclusive<f64> = -1.0..=100_000.0;
}

/// Whether a value is one that its quantity can have in a sterilizer at all.
#[inline]
pub fn is_in_range(measured: &Measured) -> bool {
    match measured {
        Measured::Pressure(pressure) if pressure.datum() == Datum::Gauge => {
            range::GAUGE_PASCAL.contains(&pressure.pascal())
        }
        Measured::Pressure(pressure) => range::ABSOLUTE_PASCAL.contains(&pressure.pascal()),
        Measured::Temperature(value) => range::CELSIUS.contains(&value.celsius()),
        Measured::Concentration(value) => {
            range::MILLIGRAMS_PER_LITRE.contains(&value.milligrams_per_litre())
        }
        Measured::Humidity(value) => range::PERCENT.contains(&value.percent()),
        Measured::Power(value) => range::WATTS.contains(&value.watts()),
        Measured::Conductivity(value) => {
            range::MICROSIEMENS_PER_CENTIMETRE.contains(&value.microsiemens_per_centimetre())
        }
    }
}

/// A number, a space, and a unit of the quantity.
fn in_unit<'a, U>(
    wanted: &'static str,
    from_symbol: fn(&[u8]) -> Option<U>,
) -> impl Fn(&'a [u8]) -> Parsed<'a, (f64, DecimalMark, U)> {
    move |input| {
        let (rest, (value, mark)) = number(input)?;
        let at_unit = blanks(rest);
        // A bare number is a matter of its unit, wherever the line goes on.
        let Ok((rest, symbol)) = token(wanted)(at_unit) else {
            return fail(at_unit, Code::UnitUnknown, wanted);
        };
        match from_symbol(symbol) {
            Some(unit) => Ok((rest, (value, mark, unit))),
            None => fail(symbol, Code::UnitUnknown, wanted),
        }
    }
}

const OUT_OF_RANGE: &str = "a value that this quantity can have in a sterilizer";

/// A pressure: number, unit, and `gauge` or `absolute` where written.
pub fn pressure(input: &[u8]) -> Parsed<'_, (Pressure, DecimalMark)> {
    let unit = in_unit(
        "a unit of pressure (Pa, kPa, mbar, bar, Torr, mTorr, psi, inHg)",
        PressureUnit::from_symbol,
    );
    let (rest, (value, mark, unit)) = unit(input)?;
    let (rest, datum) = match blanks(rest).first() {
        Some(b'g' | b'G') => (keyword("gauge")(blanks(rest))?.0, Datum::Gauge),
        Some(b'a' | b'A') => (keyword("absolute")(blanks(rest))?.0, Datum::Absolute),
        _ => (rest, Datum::Absolute),
    };
    let pressure = Pressure::new(value, unit, datum);
    let range = if datum == Datum::Gauge {
        range::GAUGE_PASCAL
    } else {
        range::ABSOLUTE_PASCAL
    };
    if range.contains(&pressure.pascal()) {
        Ok((rest, (pressure, mark)))
    } else {
        fail(input, Code::NumberOutOfRange, OUT_OF_RANGE)
    }
}

fn temperature(input: &[u8]) -> Parsed<'_, (Temperature, DecimalMark)> {
    let (rest, (value, mark, unit)) =
        in_unit("a unit of temperature (C, F)", TemperatureUnit::from_symbol)(input)?;
    let temperature = Temperature::new(value, unit);
    if range::CELSIUS.contains(&temperature.celsius()) {
        Ok((rest, (temperature, mark)))
    } else {
        fail(input, Code::NumberOutOfRange, OUT_OF_RANGE)
    }
}

macro_rules! ranged {
    ($name:ident, $quantity:ident, $unit:ident, $value:ident, $range:ident, $wanted:literal) => {
        fn $name(input: &[u8]) -> Parsed<'_, (Measured, DecimalMark)> {
            let (rest, (value, mark, unit)) = in_unit($wanted, $unit::from_symbol)(input)?;
            let value = $quantity::new(value, unit);
            if range::$range.contains(&value.$value()) {
                Ok((rest, (value.into(), mark)))
            } else {
                fail(input, Code::NumberOutOfRange, OUT_OF_RANGE)
            }
        }
    };
}

ranged!(
    concentration,
    Concentration,
    ConcentrationUnit,
    milligrams_per_litre,
    MILLIGRAMS_PER_LITRE,
    "a unit of concentration (mg/L)"
);
ranged!(
    humidity,
    RelativeHumidity,
    HumidityUnit,
    percent,
    PERCENT,
    "the unit of relative humidity (%)"
);
ranged!(
    power,
    Power,
    PowerUnit,
    watts,
    WATTS,
    "a unit of power (W, kW)"
);
ranged!(
    conductivity,
    Conductivity,
    ConductivityUnit,
    microsiemens_per_centimetre,
    MICROSIEMENS_PER_CENTIMETRE,
    "a unit of conductivity (uS/cm, mS/cm)"
);

/// A measured value with the word of its quantity before it: `pressure 51.2 Pa`.
pub fn measured(input: &[u8]) -> Parsed<'_, (Measured, DecimalMark)> {
    const WANTED: &str =
        "a quantity (pressure, temperature, concentration, humidity, power, conductivity)";
    fn after<'a>(input: &'a [u8], word: &'static str) -> Option<&'a [u8]> {
        keyword(word)(input).ok().map(|(rest, ())| blanks(rest))
    }
    let word = |word| after(input, word);
    // Told apart by the first letters, so that each word is compared once.
    match input {
        [b'p' | b'P', b'r' | b'R', ..] => {
            if let Some(rest) = word("pressure") {
                return pressure(rest)
                    .map(|(rest, (value, mark))| (rest, (Measured::Pressure(value), mark)));
            }
        }
        [b't' | b'T', ..] => {
            if let Some(rest) = word("temperature") {
                return temperature(rest)
                    .map(|(rest, (value, mark))| (rest, (Measured::Temperature(value), mark)));
            }
        }
        [b'p' | b'P', ..] => {
            if let Some(rest) = word("power") {
                return power(rest);
            }
        }
        [b'h' | b'H', ..] => {
            if let Some(rest) = word("humidity") {
                return humidity(rest);
            }
        }
        [b'c' | b'C', ..] => {
            if let Some(rest) = word("concentration") {
                return concentration(rest);
            }
            if let Some(rest) = word("conductivity") {
                return conductivity(rest);
            }
        }
        [] => return fail(input, Code::ValueMissing, WANTED),
        _ => {}
    }
    fail(input, Code::KeyUnknown, WANTED)
}

/// The rise of pressure in a leak test: `0.9 mbar/min`.
pub fn leak_rate(input: &[u8]) -> Parsed<'_, (LeakRate, DecimalMark)> {
    let unit = in_unit(
        "a leak rate's unit (Pa/min, kPa/min, mbar/min, Torr/min, mTorr/min)",
        LeakRateUnit::from_symbol,
    );
    let (rest, (value, mark, unit)) = unit(input)?;
    Ok((rest, (LeakRate::new(value, unit), mark)))
}

/// A length of time with its unit: `20 min`.
pub fn duration(input: &[u8]) -> Parsed<'_, (Duration, DecimalMark)> {
    let (rest, (value, mark, unit)) =
        in_unit("a unit of time (s, min, h)", DurationUnit::from_symbol)(input)?;
    if (0.0..=1e7).contains(&value) {
        Ok((rest, (Duration::new(value, unit), mark)))
    } else {
        fail(input, Code::NumberOutOfRange, "a length of time")
    }
}

/// A length of time as `HH:MM:SS`, in seconds. There may be more than 24 hours.
pub fn elapsed_time(input: &[u8]) -> Parsed<'_, u32> {
    if let Some((head, rest)) = input.split_at_checked(8)
        && let [h1, h2, b':', m1, m2, b':', s1, s2] = *head
        && let (Some(hour), Some(minute), Some(second)) = (
            two_digits(&[h1, h2]),
            two_digits(&[m1, m2]),
            two_digits(&[s1, s2]),
        )
        && minute < 60
        && second < 60
    {
        return Ok((rest, to_seconds(hour, minute, second)));
    }
    fail(input, Code::ValueInvalid, "a length of time as HH:MM:SS")
}

/// A part's separator: a comma and spaces, with something after it.
pub fn comma(input: &[u8]) -> Parsed<'_, ()> {
    match blanks(input).split_first() {
        Some((b',', rest)) => Ok((blanks(rest), ())),
        _ => fail(
            blanks(input),
            Code::ValueInvalid,
            "a comma before the next part",
        ),
    }
}

/// Nothing but spaces.
pub fn end_of_line(input: &[u8]) -> Parsed<'_, ()> {
    match blanks(input) {
        [] => Ok((b"", ())),
        rest => fail(rest, Code::ValueInvalid, "the end of the line"),
    }
}

/// `min` or `max`.
pub fn bound(input: &[u8]) -> Parsed<'_, crate::record::cycle::Bound> {
    use crate::record::cycle::Bound;
    let min = keyword("min").map(|()| Bound::Min);
    let max = keyword("max").map(|()| Bound::Max);
    alt((min, max))
        .parse(input)
        .or_else(|_: nom::Err<super::fault::Fault<'_>>| {
            fail(input, Code::ValueInvalid, "`min` or `max`")
        })
}

/// `a of b`, as in `use 3 of 10`; both count from 1.
pub fn n_of_m(input: &[u8]) -> Parsed<'_, (u32, u32)> {
    let counting = |input| match whole(input) {
        Ok((_, 0)) => fail(input, Code::ValueInvalid, "a number counted from 1"),
        parsed => parsed,
    };
    let (rest, n) = counting(input)?;
    let (rest, of) = preceded((gap, keyword("of"), gap), counting).parse(rest)?;
    Ok((rest, (n, of)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all<T>(parsed: Parsed<'_, T>) -> Result<T, Code> {
        match parsed {
            Ok((b"", value)) => Ok(value),
            Ok(_) => Err(Code::LineUnknown),
            Err(error) => Err(super::super::fault::fault_of(error).code),
        }
    }

    #[test]
    fn numbers_are_those_of_the_standard_library() {
        for text in [
            "0",
            "1",
            "51.2",
            "812.4",
            "0.0001",
            "-273.15",
            "999999999.999999",
            "0.1",
            "123456789012345",
        ] {
            assert_eq!(
                all(number(text.as_bytes())).map(|(value, _)| value),
                Ok(text.parse().unwrap()),
                "{text}"
            );
        }
    }

    #[test]
    fn a_comma_marks_decimals_unless_it_could_mark_thousands() {
        assert_eq!(all(number(b"812,4")), Ok((812.4, DecimalMark::Comma)));
        assert_eq!(all(number(b"8,12")), Ok((8.12, DecimalMark::Comma)));
        assert_eq!(all(number(b"8,124")), Err(Code::NumberAmbiguous));
        assert_eq!(
            number(b"812, next").unwrap(),
            (&b", next"[..], (812.0, DecimalMark::Point))
        );
    }

    #[test]
    fn what_is_no_number_is_refused() {
        for text in [
            "",
            "-",
            ".5",
            "5.",
            "1.2.3",
            "1e5",
            "O5",
            "5O",
            "1234567890123456",
            "--1",
            "1,2,3",
        ] {
            assert!(all(number(text.as_bytes())).is_err(), "{text}");
        }
    }

    #[test]
    fn times_and_dates_must_exist() {
        assert_eq!(all(time(b"07:42:30")), Ok(27_750));
        assert_eq!(all(time(b"23:59:59")), Ok(86_399));
        assert_eq!(all(time(b"24:00:00")), Err(Code::DateInvalid));
        assert_eq!(all(clock(b"07:42")), Ok(27_720));
        assert_eq!(all(clock(b"7:42")), Err(Code::ValueInvalid));
        assert!(all(date(b"2024-02-29")).is_ok());
        for text in ["2026-02-29", "2026-13-01", "2026-04-31", "0000-01-01"] {
            assert_eq!(all(date(text.as_bytes())), Err(Code::DateInvalid), "{text}");
        }
    }

    #[test]
    fn a_measured_value_needs_its_own_unit() {
        assert!(all(measured(b"pressure 51.2 Pa")).is_ok());
        assert!(all(measured(b"Pressure 2.03 BAR gauge")).is_ok());
        assert!(all(measured("temperature 134.2 °C".as_bytes())).is_ok());
        assert!(all(measured(b"humidity 55 %")).is_ok());
        assert!(all(measured(b"conductivity 4.1 uS/cm")).is_ok());
        assert_eq!(all(measured(b"pressure 51.2 C")), Err(Code::UnitUnknown));
        assert_eq!(all(measured(b"pressure 51.2")), Err(Code::UnitUnknown));
        assert_eq!(all(measured(b"presure 51.2 Pa")), Err(Code::KeyUnknown));
        assert_eq!(
            all(measured(b"temperature 461 C")),
            Err(Code::NumberOutOfRange)
        );
    }

    #[test]
    fn figures_of_dates_and_times_are_read_to_their_ends() {
        assert_eq!(n_blanks_before(b" \t x"), 3);
        assert_eq!(n_blanks_before(b"x "), 0);
        for (text, expected) in [
            ("0", Ok(0)),
            ("999999999", Ok(999_999_999)),
            ("1234567890", Err(Code::ValueInvalid)),
            ("", Err(Code::ValueInvalid)),
            ("x", Err(Code::ValueInvalid)),
        ] {
            assert_eq!(all(whole(text.as_bytes())), expected, "{text}");
        }
        for (text, expected) in [
            ("59", Some(59)),
            ("a9", None),
            ("9a", None),
            ("/9", None),
            ("9:", None),
            ("9", None),
            ("123", None),
        ] {
            assert_eq!(two_digits(text.as_bytes()), expected, "{text}");
        }
        for (text, expected) in [
            ("00:00:00", Ok(0)),
            ("23:60:00", Err(Code::DateInvalid)),
            ("23:00:60", Err(Code::DateInvalid)),
            ("07:42:300", Err(Code::ValueInvalid)),
            ("07-42-30", Err(Code::ValueInvalid)),
        ] {
            assert_eq!(all(time(text.as_bytes())), expected, "{text}");
        }
        for (text, expected) in [
            ("23:59", Ok(86_340)),
            ("24:00", Err(Code::DateInvalid)),
            ("23:60", Err(Code::DateInvalid)),
            ("07:421", Err(Code::ValueInvalid)),
            ("07:42:30", Ok(27_750)),
            ("07:42:", Err(Code::ValueInvalid)),
        ] {
            assert_eq!(all(clock(text.as_bytes())), expected, "{text}");
        }
        for (text, expected) in [
            ("00:00:00", Ok(0)),
            ("99:59:59", Ok(359_999)),
            ("00:60:00", Err(Code::ValueInvalid)),
            ("00:00:60", Err(Code::ValueInvalid)),
        ] {
            assert_eq!(all(elapsed_time(text.as_bytes())), expected, "{text}");
        }
    }

    /// RFC 3339, 5.6: `Z` or `z` is UTC, `T` or `t` stands before the time, and a fraction of a second may follow it.
    #[test]
    fn moment_may_have_a_fraction_and_an_offset() {
        for (text, offset_seconds) in [
            ("2026-03-12 07:41:20", None),
            ("2026-03-12T07:41:20Z", Some(0)),
            ("2026-03-12t07:41:20z", Some(0)),
            ("2026-03-12\t07:41:20 +01:00", Some(3_600)),
            ("2026-03-12 07:41:20-05:30", Some(-19_800)),
            ("2026-03-12 07:41:20+23:59", Some(86_340)),
            ("2026-03-12 07:41:20.250", None),
            ("2026-03-12 07:41:20.5Z", Some(0)),
        ] {
            let stamp = all(date_time(text.as_bytes())).unwrap();
            assert_eq!(stamp.local.to_string(), "2026-03-12 07:41:20", "{text}");
            assert_eq!(stamp.offset_seconds, offset_seconds, "{text}");
        }
        for text in [
            "2026-03-12",
            "2026-03-12 07",
            "2026-03-12 07:41:20+24:00",
            "2026-03-12 07:41:20+01:60",
            "2026-03-12 07:41:20+0100",
            // A point without a figure behind it is no fraction.
            "2026-03-12 07:41:20.",
            "2026-03-12 07:41:20.Z",
        ] {
            assert!(all(date_time(text.as_bytes())).is_err(), "{text}");
        }
    }

    #[test]
    fn pressure_is_absolute_unless_it_says_gauge() {
        for (text, datum) in [
            ("2.03 bar", Datum::Absolute),
            ("2.03 bar absolute", Datum::Absolute),
            ("2.03 bar Absolute", Datum::Absolute),
            ("2.03 bar gauge", Datum::Gauge),
            ("2.03 bar GAUGE", Datum::Gauge),
            // Only a gauge pressure may lie below nothing.
            ("-0.5 bar gauge", Datum::Gauge),
        ] {
            let (pressure, _) = all(pressure(text.as_bytes())).unwrap();
            assert_eq!(pressure.datum(), datum, "{text}");
        }
        assert_eq!(all(pressure(b"-0.5 bar")), Err(Code::NumberOutOfRange));
        assert!(all(pressure(b"2 bar abs")).is_err());
        assert_eq!(all(measured(b"")), Err(Code::ValueMissing));
        assert_eq!(all(measured(b"x")), Err(Code::KeyUnknown));
    }

    #[test]
    fn parts_are_separated_and_counted_from_one() {
        assert_eq!(comma(b" , x").unwrap().0, b"x");
        assert!(comma(b" x").is_err());
        assert!(end_of_line(b" \t").is_ok());
        assert!(end_of_line(b" x").is_err());
        assert_eq!(all(n_of_m(b"3 of 10")), Ok((3, 10)));
        assert!(all(n_of_m(b"0 of 10")).is_err());
        assert!(all(n_of_m(b"3 of 0")).is_err());
        assert!(all(n_of_m(b"3of 10")).is_err());
        use crate::record::cycle::Bound;
        assert_eq!(all(bound(b"Min")), Ok(Bound::Min));
        assert_eq!(all(bound(b"max")), Ok(Bound::Max));
        assert_eq!(all(bound(b"mid")), Err(Code::ValueInvalid));
        assert!(all(duration(b"20 min")).is_ok());
        assert_eq!(all(duration(b"-1 min")), Err(Code::NumberOutOfRange));
        assert_eq!(
            all(leak_rate(b"0.9 mbar")).map(|_| ()),
            Err(Code::UnitUnknown)
        );
    }
}
