//! The usual line of readings, read straight from its bytes: `07:42:30 pressure 51.2 Pa, temperature 45.1 C`.
//!
//! Most lines of a printout are one, and what a printout costs to read is what they cost. A line that is written in any
//! other way that the format allows (capitals, further spaces, a date, a decimal comma) is no fault here, nor is one that
//! can't be read: this module gives nothing, and the parsers of [`token`](crate::parse::token) read the line from its
//! beginning and say what is wrong. A property test holds both to the same values. Read [`read_time`], then
//! [`read_values`].

use crate::measure::quantity::{
    Concentration, Conductivity, Datum, Power, Pressure, RelativeHumidity, Temperature,
};
use crate::measure::unit::{
    ConcentrationUnit, ConductivityUnit, HumidityUnit, PowerUnit, PressureUnit, TemperatureUnit,
};
use crate::parse::token::{POWERS, is_in_range, to_seconds};
use crate::record::cycle::Measured;

/// The time of day that a line begins with, in seconds since midnight, and what stands behind it and one space.
#[inline]
pub fn read_time(text: &[u8]) -> Option<(u32, &[u8])> {
    let (&[h1, h2, b':', m1, m2, b':', s1, s2, b' '], rest) = text.split_first_chunk::<9>()? else {
        return None;
    };
    #[expect(clippy::arithmetic_side_effects, reason = "two digits make at most 99")]
    let two = |tens: u8, ones: u8| Some(10 * u32::from(digit(tens)?) + u32::from(digit(ones)?));
    let (hour, minute, second) = (two(h1, h2)?, two(m1, m2)?, two(s1, s2)?);
    (hour < 24 && minute < 60 && second < 60).then(|| (to_seconds(hour, minute, second), rest))
}

/// The values of a line, each given to `take`. Gives whether all of the line is values, one space and one comma apart;
/// if not, what was given before is to be forgotten.
#[inline]
pub fn read_values(mut text: &[u8], mut take: impl FnMut(Measured)) -> bool {
    loop {
        let Some((measured, rest)) = read_value(text) else {
            return false;
        };
        if !is_in_range(&measured) {
            return false;
        }
        take(measured);
        match rest {
            [] => return true,
            [b',', b' ', rest @ ..] => text = rest,
            _ => return false,
        }
    }
}

#[inline]
fn digit(byte: u8) -> Option<u8> {
    let value = byte.wrapping_sub(b'0');
    (value < 10).then_some(value)
}

#[inline]
fn read_value(text: &[u8]) -> Option<(Measured, &[u8])> {
    if let Some(rest) = text.strip_prefix(b"pressure ") {
        let (number, rest) = read_number(rest)?;
        let (unit, rest) = match rest {
            [b'P', b'a', rest @ ..] => (PressureUnit::Pascal, rest),
            [b'k', b'P', b'a', rest @ ..] => (PressureUnit::Kilopascal, rest),
            [b'm', b'b', b'a', b'r', rest @ ..] => (PressureUnit::Millibar, rest),
            [b'i', b'n', b'H', b'g', rest @ ..] => (PressureUnit::InchOfMercury, rest),
            [b'm', b'T', b'o', b'r', b'r', rest @ ..] => (PressureUnit::Millitorr, rest),
            [b'T', b'o', b'r', b'r', rest @ ..] => (PressureUnit::Torr, rest),
            [b'b', b'a', b'r', rest @ ..] => (PressureUnit::Bar, rest),
            [b'p', b's', b'i', rest @ ..] => (PressureUnit::Psi, rest),
            _ => return None,
        };
        let (datum, rest) = match rest.strip_prefix(b" gauge") {
            Some(rest) => (Datum::Gauge, rest),
            None => (Datum::Absolute, rest),
        };
        return Some((Measured::Pressure(Pressure::new(number, unit, datum)), rest));
    }
    if let Some(rest) = text.strip_prefix(b"temperature ") {
        let (number, rest) = read_number(rest)?;
        let (unit, rest) = match rest {
            [b'C', rest @ ..] => (TemperatureUnit::Celsius, rest),
            [b'F', rest @ ..] => (TemperatureUnit::Fahrenheit, rest),
            _ => return None,
        };
        return Some((Measured::Temperature(Temperature::new(number, unit)), rest));
    }
    if let Some(rest) = text.strip_prefix(b"concentration ") {
        let (number, rest) = read_number(rest)?;
        let value = Concentration::new(number, ConcentrationUnit::MilligramPerLitre);
        return Some((Measured::Concentration(value), rest.strip_prefix(b"mg/L")?));
    }
    if let Some(rest) = text.strip_prefix(b"humidity ") {
        let (number, rest) = read_number(rest)?;
        let value = RelativeHumidity::new(number, HumidityUnit::Percent);
        return Some((Measured::Humidity(value), rest.strip_prefix(b"%")?));
    }
    if let Some(rest) = text.strip_prefix(b"power ") {
        let (number, rest) = read_number(rest)?;
        let (unit, rest) = match rest {
            [b'W', rest @ ..] => (PowerUnit::Watt, rest),
            [b'k', b'W', rest @ ..] => (PowerUnit::Kilowatt, rest),
            _ => return None,
        };
        return Some((Measured::Power(Power::new(number, unit)), rest));
    }
    let (number, rest) = read_number(text.strip_prefix(b"conductivity ")?)?;
    let (unit, rest) = match rest {
        [b'u', b'S', b'/', b'c', b'm', rest @ ..] => {
            (ConductivityUnit::MicrosiemensPerCentimetre, rest)
        }
        [b'm', b'S', b'/', b'c', b'm', rest @ ..] => {
            (ConductivityUnit::MillisiemensPerCentimetre, rest)
        }
        _ => return None,
    };
    Some((
        Measured::Conductivity(Conductivity::new(number, unit)),
        rest,
    ))
}

/// A number with a decimal point or without, and what stands behind it and one space.
#[inline]
fn read_number(text: &[u8]) -> Option<(f64, &[u8])> {
    let (is_negative, text) = match text {
        [b'-', rest @ ..] => (true, rest),
        _ => (false, text),
    };
    // What this leaves out (no digits, a point without decimals, more digits than a double holds) is for `token::number`
    // to refuse.
    let (whole, n_whole, rest) = read_digits(0, text);
    let (mantissa, n_decimals, rest) = match rest {
        [b'.', rest @ ..] => match read_digits(whole, rest) {
            (_, 0, _) => return None,
            with_decimals => with_decimals,
        },
        _ => (whole, 0, rest),
    };
    if n_whole == 0 || n_whole.saturating_add(n_decimals) > 15 {
        return None;
    }
    let [b' ', rest @ ..] = rest else {
        return None;
    };
    let value = mantissa as f64 / POWERS.get(n_decimals)?;
    Some((if is_negative { -value } else { value }, rest))
}

/// A number with the digits that a text begins with put behind it, how many there are, and what stands behind them. More
/// digits than it holds make it a wrong one.
#[inline]
fn read_digits(mut number: u64, text: &[u8]) -> (u64, usize, &[u8]) {
    let mut rest = text;
    while let [byte, after @ ..] = rest
        && let Some(value) = digit(*byte)
    {
        number = number.wrapping_mul(10).wrapping_add(u64::from(value));
        rest = after;
    }
    (number, text.len().saturating_sub(rest.len()), rest)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parse::token::{blanks, comma, measured, time};
    use proptest::prelude::*;

    /// What the parsers of the format read from a line without a date, if it has no fault.
    fn by_the_format(text: &[u8]) -> Option<(u32, Vec<Measured>)> {
        let (mut rest, second) = time(text).ok()?;
        rest = blanks(rest);
        let mut values = Vec::new();
        loop {
            let (after, (value, _)) = measured(rest).ok()?;
            values.push(value);
            if blanks(after).is_empty() {
                return Some((second, values));
            }
            rest = comma(after).ok()?.0;
        }
    }

    fn by_its_bytes(text: &[u8]) -> Option<(u32, Vec<Measured>)> {
        let (second, rest) = read_time(text)?;
        let mut values = Vec::new();
        read_values(rest, |value| values.push(value)).then_some((second, values))
    }

    #[test]
    fn usual_lines_are_read_and_unusual_ones_are_left() {
        for text in [
            "07:42:30 pressure 51.2 Pa, temperature 45.1 C",
            "23:59:59 pressure -0.9 bar gauge, temperature 273.1 F, humidity 55 %",
            "00:00:00 pressure 12 kPa, power 1.2 kW, conductivity 4.1 uS/cm, concentration 6 mg/L",
            "00:00:00 pressure 29.92 inHg, power 400 W, conductivity 0.1 mS/cm",
        ] {
            assert!(by_its_bytes(text.as_bytes()).is_some(), "{text}");
        }
        for text in [
            "07:42:30  pressure 51.2 Pa",
            "07:42:30 Pressure 51.2 Pa",
            "07:42:30 pressure 51,2 Pa",
            "07:42:30 pressure .5 Pa",
            "07:42:30 pressure 5. Pa",
            "07:42:30 pressure 1234567890123456 Pa",
            "07:42:30 pressure 51.2 Pam",
            "07:42:30 pressure 51.2 Pa,",
            "07:42:30 temperature 461 C",
            "24:00:00 pressure 51.2 Pa",
            "07:42:30 ",
        ] {
            assert!(by_its_bytes(text.as_bytes()).is_none(), "{text}");
        }
    }

    proptest! {
        /// Lines near the usual form, most of them damaged somewhere: what is read here is what the format's own
        /// parsers read, and never less than a refusal.
        #[test]
        fn what_is_read_is_what_the_format_says(
            line in r"(0[0-9]|1[0-9]|2[0-5]):[0-6][0-9]:[0-6][0-9]( (pressure -?[0-9]{1,7}([.,][0-9]{0,4})? ?(Pa|kPa|mbar|bar|Torr|mTorr|psi|inHg|pa)( gauge| absolute)?|temperature -?[0-9]{1,3}(\.[0-9])? [CFc]|humidity [0-9]{1,3} ?%|power [0-9.]{1,5} k?W|conductivity [0-9.]{1,4} [um]S/cm|concentration [0-9]{1,4} mg/[Ll]),?){1,3}",
        ) {
            if let Some(read) = by_its_bytes(line.as_bytes()) {
                prop_assert_eq!(Some(read), by_the_format(line.as_bytes()), "{}", line);
            }
        }
    }

    #[test]
    fn every_unit_of_the_format_is_read_from_its_bytes() {
        for (text, expected) in [
            ("pressure 51.2 Pa", "pressure 51.2 Pa"),
            ("pressure 12 kPa", "pressure 12 kPa"),
            ("pressure 82 mbar", "pressure 82 mbar"),
            ("pressure 29.92 inHg", "pressure 29.92 inHg"),
            ("pressure 500 mTorr", "pressure 500 mTorr"),
            ("pressure 7.5 Torr", "pressure 7.5 Torr"),
            ("pressure 3.065 bar", "pressure 3.065 bar"),
            ("pressure 29.4 psi gauge", "pressure 29.4 psi"),
            ("temperature 134.3 C", "temperature 134.3 C"),
            ("temperature -4 F", "temperature -4 F"),
            ("concentration 6.1 mg/L", "concentration 6.1 mg/L"),
            ("humidity 55 %", "humidity 55 %"),
            ("power 402 W", "power 402 W"),
            ("power 1.2 kW", "power 1.2 kW"),
            ("conductivity 4.1 uS/cm", "conductivity 4.1 uS/cm"),
            ("conductivity 0.1 mS/cm", "conductivity 0.1 mS/cm"),
        ] {
            let (measured, rest) = read_value(text.as_bytes()).unwrap_or_else(|| panic!("{text}"));
            assert_eq!(rest, b"", "{text}");
            let said = format!(
                "{} {} {}",
                measured.kind().word(),
                measured.printed_number(),
                measured.printed_symbol()
            );
            assert_eq!(said, expected);
        }
    }

    #[test]
    fn figures_are_read_to_the_last_that_a_clock_or_a_double_holds() {
        for (text, second) in [
            ("00:00:00 ", Some(0)),
            ("23:59:59 ", Some(86_399)),
            ("24:00:00 ", None),
            ("23:60:00 ", None),
            ("23:00:60 ", None),
            ("0/:00:00 ", None),
            ("0::00:00 ", None),
            ("23:59:59", None),
        ] {
            let read = read_time(text.as_bytes()).map(|(second, _)| second);
            assert_eq!(read, second, "{text}");
        }
        for (text, number) in [
            ("0 ", Some(0.0)),
            ("5.25 ", Some(5.25)),
            ("-5.25 ", Some(-5.25)),
            ("123456789012345 ", Some(123_456_789_012_345.0)),
            ("12345678901234.5 ", Some(12_345_678_901_234.5)),
            ("1234567890123456 ", None),
            ("123456789012345.6 ", None),
            ("5. ", None),
            (".5 ", None),
            ("5.2.5 ", None),
            (" ", None),
            ("- ", None),
            ("5", None),
            ("5a ", None),
        ] {
            let read = read_number(text.as_bytes()).map(|(number, _)| number);
            assert_eq!(read, number, "{text}");
        }
    }
}
