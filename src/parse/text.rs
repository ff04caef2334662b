//! Text that a record keeps: names and remarks, with patient data kept out.

use crate::diagnose::codes::Code;
use crate::diagnose::{Diagnostic, Span};
use aho_corasick::{AhoCorasick, BuildError};
use std::sync::LazyLock;

/// Whether a line of so many characters fills paper of so many columns; the space at which it was cut may have been trimmed.
pub fn fills_paper(n_columns: usize, columns: usize) -> bool {
    n_columns == columns || n_columns.saturating_add(1) == columns
}

/// Words that give away a patient's data where a value follows them. Common practice, no source: what hospital forms
/// call a patient's identifiers in English.
const PATIENT_WORDS: &[&str] = &[
    "patient name",
    "patient id",
    "patient no",
    "patient number",
    "patient:",
    "patient's",
    "surname",
    "forename",
    "first name",
    "last name",
    "date of birth",
    "birth date",
    "birthdate",
    "dob",
    "mrn",
    "medical record",
    "hospital number",
    "hospital no",
    "nhs number",
    "nhs no",
    "social security",
    "health insurance",
];

/// Whether the first letter or digit after a word gives patient data away.
type GivesAway = fn(&u8) -> bool;

/// Words that give it away only where more follows: a capital or a digit after the one, a digit after the other. Capitals
/// tell a name (`patient A. Example`) from a thing (`patient lift sling`).
const FOLLOWED_WORDS: [(&str, GivesAway); 2] = [
    ("patient", |byte| {
        byte.is_ascii_uppercase() || byte.is_ascii_digit()
    }),
    ("born", u8::is_ascii_digit),
];

/// One searcher for all words, built once. Every text field of every record is searched, so that all words are looked for
/// in one pass.
static SEARCHER: LazyLock<Result<AhoCorasick, BuildError>> = LazyLock::new(|| {
    AhoCorasick::builder()
        .ascii_case_insensitive(true)
        .build(words())
});

fn words() -> impl Iterator<Item = &'static str> {
    let followed = FOLLOWED_WORDS.iter().map(|(word, _)| *word);
    PATIENT_WORDS.iter().copied().chain(followed)
}

/// Whether text looks like patient data.
///
/// Three things give it away: one of [`PATIENT_WORDS`]; `patient` and a name or number after it; `born` and a number
/// after it.
pub fn looks_like_patient_data(text: &[u8]) -> bool {
    let Ok(searcher) = SEARCHER.as_ref() else {
        // Only words that are far more or far longer than these can't be built: better withheld than shown.
        return true;
    };
    searcher.find_overlapping_iter(text).any(|found| {
        let open_ended = text
            .get(found.end().saturating_sub(1))
            .is_some_and(|last| !last.is_ascii_alphanumeric());
        let alone = |byte: Option<&u8>| byte.is_none_or(|byte| !byte.is_ascii_alphanumeric());
        let before = found.start().checked_sub(1).and_then(|ix| text.get(ix));
        if !alone(before) || !(open_ended || alone(text.get(found.end()))) {
            return false;
        }
        let followed = found
            .pattern()
            .as_usize()
            .checked_sub(PATIENT_WORDS.len())
            .and_then(|ix| FOLLOWED_WORDS.get(ix));
        followed.is_none_or(|(_, gives_away)| {
            let after = text.get(found.end()..);
            let next = after.and_then(|after| after.trim_ascii_start().first());
            next.is_some_and(gives_away)
        })
    })
}

/// The diagnostic of a line that looks like patient data, shown where a span is.
pub fn diagnose_patient_data(span: Span) -> Diagnostic {
    Diagnostic::at(
        Code::PatientData,
        span,
        "the line looks like patient data; it is not repeated here",
    )
}

/// Bytes of a line as text of its own. Decoding leaves two control characters in a line, a tab and the separator of elements
/// within a scanned string: in text they are spaces.
pub fn owned(bytes: &[u8]) -> String {
    one_line(&String::from_utf8_lossy(bytes))
}

/// Text on one line: control characters become spaces, and none stand at its ends.
pub fn one_line(text: &str) -> String {
    if text.contains(char::is_control) {
        text.replace(char::is_control, " ").trim_ascii().to_owned()
    } else {
        text.trim_ascii().to_owned()
    }
}

/// Whether bytes hold no word: nothing, or white space and control characters alone, those that ASCII does not have too.
pub fn is_blank(bytes: &[u8]) -> bool {
    // Nearly all that is asked about begins with a word.
    !bytes.first().is_some_and(u8::is_ascii_graphic)
        && String::from_utf8_lossy(bytes)
            .chars()
            .all(|c| c.is_whitespace() || c.is_control())
}

/// Whether bytes are a name: one to forty characters without spaces, separators of a scanned string, commas or quotation
/// marks.
pub fn is_name(bytes: &[u8]) -> bool {
    !bytes.is_empty()
        && bytes.len() <= 40
        && !bytes
            .iter()
            .any(|byte| matches!(byte, b' ' | b'\t' | b'\x1D' | b',' | b'"' | b':' | b';'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn separator_of_a_scanned_string_is_a_space_in_text_and_no_part_of_a_name() {
        assert_eq!(owned(b"lot P1-\x1D31\t2\x1D"), "lot P1- 31 2");
        assert!(!is_name(b"P1\x1D31"));
        assert!(is_name(b"P1-31"));
    }

    #[test]
    fn patient_data_is_known_by_its_words() {
        for text in [
            "Patient name: A. B.",
            "remark: DOB 1960-01-01",
            "MRN 4711",
            "patient: x",
            "for Patient ID 33",
            "patient A. Example waits for the set",
            "born 1950-01-01",
        ] {
            assert!(looks_like_patient_data(text.as_bytes()), "{text}");
        }
        for text in [
            "set out-patient tray",
            "unit: PL-1",
            "doberman",
            "patients' lift sling",
            "patient lift sling 3",
            "newborn 4 tray",
            "place: outpatients",
        ] {
            assert!(!looks_like_patient_data(text.as_bytes()), "{text}");
        }
    }

    #[test]
    fn line_fills_the_paper_with_or_without_the_space_at_its_end() {
        for (n, fills) in [(22, false), (23, true), (24, true), (25, false)] {
            assert_eq!(fills_paper(n, 24), fills, "{n}");
        }
        assert!(!fills_paper(usize::MAX, 24));
    }

    #[test]
    fn every_word_that_gives_a_patient_away_is_known_in_any_letters() {
        for word in PATIENT_WORDS {
            for text in [
                format!("{word} 4711"),
                format!("the {} 4711", word.to_uppercase()),
                (*word).to_owned(),
            ] {
                assert!(looks_like_patient_data(text.as_bytes()), "{text}");
            }
            let within = format!("x{word} 4711");
            assert!(!looks_like_patient_data(within.as_bytes()), "{within}");
        }
        // What follows decides: a capital or figure after `patient`, a figure after `born`.
        for (text, is) in [
            ("patient 4711", true),
            ("patient  Example", true),
            ("patient", false),
            ("patient lift", false),
            ("patients Example", false),
            ("born 1950", true),
            ("born A", false),
            ("born", false),
            ("dob", true),
            ("dobs", false),
            ("mrn-5", true),
        ] {
            assert_eq!(looks_like_patient_data(text.as_bytes()), is, "{text}");
        }
    }

    #[test]
    fn name_has_one_to_forty_characters_and_no_marks() {
        assert!(!is_name(b""));
        assert!(is_name(b"P"));
        assert!(is_name(&[b'P'; 40]));
        assert!(!is_name(&[b'P'; 41]));
        for mark in b" \t\x1D,\":;" {
            assert!(!is_name(&[b'P', *mark, b'1']), "{mark}");
        }
        assert_eq!(one_line("  a\nb\t "), "a b");
        assert_eq!(one_line(" a "), "a");
    }
}
