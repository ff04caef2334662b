//! Strips that were photographed and read by a machine: slips such as `O` for `0`, put right only where the field's type
//! leaves one reading. Read [`repair_line`] first.

use super::compile::{KnownForm, Layout};
use super::field::{Extent, Field};
use super::form::Captured;

/// A line that fits a form once slips are put right.
#[derive(Debug, Clone, PartialEq)]
pub struct Repair {
    /// The form that it fits.
    pub form: usize,
    /// Its values, with places in the line as it was scanned.
    pub captures: Vec<Captured>,
    /// Where the first slip is.
    pub start: usize,
    /// Where the last slip ends.
    pub end: usize,
    /// Before and after, for people.
    pub said: String,
}

/// What a scan takes a digit for, and the digit. Each letter here stands for one digit only.
const SLIPS: &[(u8, u8)] = &[
    (b'O', b'0'),
    (b'o', b'0'),
    (b'Q', b'0'),
    (b'D', b'0'),
    (b'l', b'1'),
    (b'I', b'1'),
    (b'i', b'1'),
    (b'|', b'1'),
    (b'S', b'5'),
    (b's', b'5'),
    (b'B', b'8'),
];

/// A line longer than this is not repaired.
const LONGEST: usize = 400;

/// The one way in which a line fits a form once slips are put right, if there is exactly one.
///
/// A slip is put right only within a field that can hold nothing but figures: a time, a date, a number. The letters of
/// names and words are left, and compared so that a slip in the printer's own words does not matter.
pub fn repair_line(
    layout: &Layout,
    text: &[u8],
    is_open_to: &mut dyn FnMut(&KnownForm) -> bool,
) -> Option<Repair> {
    if text.len() > LONGEST || !text.is_ascii() {
        return None;
    }
    let as_digits: Vec<u8> = text
        .iter()
        .map(|&byte| {
            SLIPS
                .iter()
                .find(|(letter, _)| *letter == byte)
                .map_or(byte, |(_, digit)| *digit)
        })
        .collect();
    if as_digits == text {
        return None;
    }
    let mut captures = Vec::new();
    let mut found: Option<Repair> = None;
    for (number, known) in layout.candidates(&as_digits) {
        if !is_open_to(known)
            || known
                .form
                .match_line(&as_digits, &layout.lexicon, &mut captures)
                .is_err()
        {
            continue;
        }
        let changed: Vec<usize> = captures
            .iter()
            .filter(|captured| is_figures(captured.field))
            .flat_map(|captured| captured.start..captured.end)
            .filter(|&at| text.get(at) != as_digits.get(at))
            .collect();
        let (Some(&first), Some(&last)) = (changed.first(), changed.last()) else {
            continue;
        };
        // Two forms that fit leave two readings.
        if found.is_some() {
            return None;
        }
        let token = token_around(text, first, last);
        let before =
            String::from_utf8_lossy(text.get(token.clone()).unwrap_or_default()).into_owned();
        let after =
            String::from_utf8_lossy(as_digits.get(token.clone()).unwrap_or_default()).into_owned();
        found = Some(Repair {
            form: number,
            captures: captures.clone(),
            start: token.start,
            end: token.end,
            said: format!("`{before}` as `{after}`"),
        });
    }
    found
}

/// Whether a field can hold nothing but figures and their marks.
fn is_figures(field: Field) -> bool {
    field.extent() == Extent::Own
        && !matches!(
            field,
            Field::Stage
                | Field::Alarm
                | Field::Outcome
                | Field::Cause
                | Field::Process
                | Field::Purpose
        )
}

fn token_around(text: &[u8], first: usize, last: usize) -> std::ops::Range<usize> {
    let is_gap = |byte: &u8| matches!(byte, b' ' | b'\t');
    let before = text.get(..first).unwrap_or_default();
    let start = before.iter().rposition(is_gap).map_or(0, |at| at + 1);
    let after = text.get(last..).unwrap_or_default();
    let end = after
        .iter()
        .position(is_gap)
        .map_or(text.len(), |n| last + n);
    start..end
}
