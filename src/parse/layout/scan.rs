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

/// What the strip so far says of the lines to come.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Habit {
    /// The form of the last line with readings, and how many decimals each of its numbers had.
    pub decimals: Option<(usize, Vec<usize>)>,
}

impl Habit {
    /// The decimals of a line's readings.
    pub fn of(form: usize, text: &[u8], captures: &[Captured]) -> Self {
        Habit {
            decimals: Some((form, decimals_of(text, captures))),
        }
    }
}

fn decimals_of(text: &[u8], captures: &[Captured]) -> Vec<usize> {
    captures
        .iter()
        .filter(|captured| matches!(captured.field, Field::Reading(..)))
        .map(|captured| {
            let number = text.get(captured.start..captured.end).unwrap_or_default();
            let mark = number.iter().position(|byte| matches!(byte, b'.' | b','));
            let decimals = mark
                .and_then(|mark| number.get(mark.saturating_add(1)..))
                .unwrap_or_default();
            decimals
                .iter()
                .take_while(|byte| byte.is_ascii_digit())
                .count()
        })
        .collect()
}

/// The one way in which a line fits a form once slips are put right, if there is exactly one.
///
/// Letters are read as figures only within a field that can hold nothing but figures: a time, a date, a number. The
/// letters of names and words are left; the printer's own words are compared so that a slip in them does not matter. A
/// lost space is put back where only one place gives a line of the layout whose numbers have the decimals of the line
/// before it.
pub fn repair_line(
    layout: &Layout,
    text: &[u8],
    habit: &Habit,
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
    if as_digits != text {
        let found = fitting(layout, &as_digits, is_open_to);
        let found: Vec<Fitted> = found
            .into_iter()
            .filter(|fitted| changed(fitted, text, &as_digits).is_some())
            .collect();
        if let [fitted] = found.as_slice() {
            return letters_repaired(fitted, text, &as_digits);
        }
        if !found.is_empty() {
            return None;
        }
    }
    space_repaired(layout, text, &as_digits, habit, is_open_to)
}

/// A form that fits, and its values.
#[derive(Debug, Clone, PartialEq)]
struct Fitted {
    form: usize,
    captures: Vec<Captured>,
}

fn fitting(
    layout: &Layout,
    text: &[u8],
    is_open_to: &mut dyn FnMut(&KnownForm) -> bool,
) -> Vec<Fitted> {
    let mut captures = Vec::new();
    let mut found = Vec::new();
    for (form, known) in layout.candidates(text) {
        if is_open_to(known)
            && known
                .form
                .match_line(text, &layout.lexicon, &mut captures)
                .is_ok()
        {
            found.push(Fitted {
                form,
                captures: captures.clone(),
            });
        }
    }
    found
}

/// The first and last place in fields of figures at which two texts of one length differ.
fn changed(fitted: &Fitted, text: &[u8], as_digits: &[u8]) -> Option<(usize, usize)> {
    let places: Vec<usize> = fitted
        .captures
        .iter()
        .filter(|captured| is_figures(captured.field))
        .flat_map(|captured| captured.start..captured.end)
        .filter(|&at| text.get(at) != as_digits.get(at))
        .collect();
    Some((*places.first()?, *places.last()?))
}

fn letters_repaired(fitted: &Fitted, text: &[u8], as_digits: &[u8]) -> Option<Repair> {
    let (first, last) = changed(fitted, text, as_digits)?;
    let token = token_around(text, first, last);
    let shown = |text: &[u8]| {
        String::from_utf8_lossy(text.get(token.clone()).unwrap_or_default()).into_owned()
    };
    Some(Repair {
        form: fitted.form,
        captures: fitted.captures.clone(),
        start: token.start,
        end: token.end,
        said: format!("`{}` as `{}`", shown(text), shown(as_digits)),
    })
}

/// A line from which one space was lost, and in which letters may stand for figures too.
fn space_repaired(
    layout: &Layout,
    text: &[u8],
    as_digits: &[u8],
    habit: &Habit,
    is_open_to: &mut dyn FnMut(&KnownForm) -> bool,
) -> Option<Repair> {
    let mut found: Vec<(usize, Fitted)> = Vec::new();
    let is_gap = |byte: Option<&u8>| byte.is_none_or(|byte| matches!(byte, b' ' | b'\t'));
    for (at, pair) in (1..).zip(text.windows(2)) {
        if pair.iter().any(|byte| is_gap(Some(byte))) {
            continue;
        }
        let mut parted = as_digits.to_vec();
        parted.insert(at, b' ');
        for fitted in fitting(layout, &parted, is_open_to) {
            // Only a line of figures has the form by which the place of the space is known.
            let is_plain = fitted
                .captures
                .iter()
                .all(|captured| is_figures(captured.field));
            let decimals = decimals_of(&parted, &fitted.captures);
            let is_as_before = match &habit.decimals {
                Some((form, before)) => *form == fitted.form && *before == decimals,
                None => false,
            };
            let has_readings = !decimals.is_empty();
            let values = |fitted: &Fitted| {
                fitted
                    .captures
                    .iter()
                    .map(|captured| captured.value)
                    .collect::<Vec<_>>()
            };
            if is_plain
                && has_readings
                && is_as_before
                && found
                    .iter()
                    .all(|(_, other)| values(other) != values(&fitted))
            {
                found.push((at, fitted));
            }
        }
    }
    let [(at, fitted)] = found.as_slice() else {
        return None;
    };
    let token = token_around(text, *at, *at);
    let before = text.get(token.clone()).unwrap_or_default();
    let within = at.saturating_sub(token.start);
    let mut after = as_digits.get(token.clone()).unwrap_or_default().to_vec();
    after.insert(within.min(after.len()), b' ');
    // Places behind the space that was put in lie one byte earlier in the line as it was scanned.
    let place = |offset: usize| offset.saturating_sub(usize::from(offset > *at));
    let captures = fitted.captures.iter().map(|captured| Captured {
        start: place(captured.start),
        end: place(captured.end),
        ..*captured
    });
    Some(Repair {
        form: fitted.form,
        captures: captures.collect(),
        start: token.start,
        end: token.end,
        said: format!(
            "`{}` as `{}`",
            String::from_utf8_lossy(before),
            String::from_utf8_lossy(&after)
        ),
    })
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
    let start = before
        .iter()
        .rposition(is_gap)
        .map_or(0, |at| at.saturating_add(1));
    let after = text.get(last..).unwrap_or_default();
    let end = after
        .iter()
        .position(is_gap)
        .map_or(text.len(), |n| last.saturating_add(n));
    start..end
}
