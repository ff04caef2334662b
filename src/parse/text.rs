//! Text that a record keeps: names and remarks, with patient data kept out.

use crate::diagnose::Diagnostic;
use crate::diagnose::codes::Code;
use crate::source::lines::Line;
use memchr::memmem::Finder;
use std::sync::LazyLock;

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

/// Searchers for the words, built once.
static PATIENT_SEARCHERS: LazyLock<Vec<Finder<'static>>> = LazyLock::new(|| {
    PATIENT_WORDS
        .iter()
        .map(|word| Finder::new(*word))
        .collect()
});

/// Whether text looks like patient data.
///
/// Three things give it away: one of [`PATIENT_WORDS`]; `patient` and a name or number after it; `born` and a number
/// after it.
pub fn looks_like_patient_data(text: &[u8]) -> bool {
    let lower = text.to_ascii_lowercase();
    let word_stands_at = |word: &[u8], at: usize| {
        let before = at.checked_sub(1).and_then(|before| lower.get(before));
        let after = lower.get(at.saturating_add(word.len()));
        let alone = |byte: Option<&u8>| byte.is_none_or(|byte| !byte.is_ascii_alphanumeric());
        let open_ended = word
            .last()
            .is_some_and(|last| !last.is_ascii_alphanumeric());
        alone(before) && (open_ended || alone(after))
    };
    let known = PATIENT_SEARCHERS.iter().any(|searcher| {
        let word = searcher.needle();
        searcher
            .find_iter(&lower)
            .any(|at| word_stands_at(word, at))
    });
    // Capitals tell a name (`patient A. Example`) from a thing (`patient lift sling`).
    let followed_by = |word: &[u8], gives_away: fn(&u8) -> bool| {
        memchr::memmem::find_iter(&lower, word).any(|at| {
            let after = text.get(at.saturating_add(word.len())..);
            let next = after.and_then(|after| after.trim_ascii_start().first());
            word_stands_at(word, at) && next.is_some_and(gives_away)
        })
    };
    known
        || followed_by(b"patient", |byte| {
            byte.is_ascii_uppercase() || byte.is_ascii_digit()
        })
        || followed_by(b"born", u8::is_ascii_digit)
}

/// The diagnostic of a line that looks like patient data.
pub fn diagnose_patient_data(line: &Line<'_>) -> Diagnostic {
    Diagnostic::at(
        Code::PatientData,
        line.whole(),
        "the line looks like patient data; it is not repeated here",
    )
}

/// Bytes of a line as text of its own. Tabs become spaces.
pub fn owned(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes.trim_ascii()).replace('\t', " ")
}

/// Whether bytes are a name: one to forty characters without spaces, commas or quotation marks.
pub fn is_name(bytes: &[u8]) -> bool {
    !bytes.is_empty()
        && bytes.len() <= 40
        && !bytes
            .iter()
            .any(|byte| matches!(byte, b' ' | b'\t' | b',' | b'"' | b':' | b';'))
}

#[cfg(test)]
mod tests {
    use super::*;

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
}
