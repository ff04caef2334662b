//! The inputs as rows, and what of them was not read, was noticed, or was inferred.

use super::Exported;
use super::column::{Key, Text, Word, rows};

rows! {
    /// One input file. Not narrowed by day, unit or program.
    InputRow = "inputs", key ["file"] {
        /// The file, as it was named or found.
        file: Key;
        /// Its SHA-256 in hexadecimal.
        sha256: Text;
        /// Its size.
        size_bytes: u64 => "B";
        /// Its lines.
        n_lines: u64;
        /// Its encoding.
        encoding: Word;
        /// The layout that it was read by; none for the neutral formats.
        layout: Option<Word>;
    }

    /// One line that could not be read. Its text is not repeated: it may name a patient. Not narrowed by day, unit or
    /// program.
    UnreadRow = "unread", key ["file", "line"] {
        /// The file.
        file: Key;
        /// The line.
        line: u32;
        /// The first line of the run of unread lines that it belongs to, of which the other columns speak.
        first_line: u32;
        /// The code of the reason; `loadbook read --explain CODE` tells more.
        code: Word;
        /// `error`, `warning` or `note`.
        severity: Word;
        /// The reason, in a sentence.
        headline: Text;
        /// What to do next.
        help: Text;
        /// Whether it looks like patient data.
        withheld: bool;
    }

    /// One thing that reading and joining noticed, other than lines that could not be read. Not narrowed by day, unit or
    /// program.
    NoticeRow = "notices", key ["notice_number"] {
        /// Its place among the notices, from 1.
        notice_number: usize;
        /// Its code; `loadbook read --explain CODE` tells more.
        code: Word;
        /// `error`, `warning` or `note`.
        severity: Word;
        /// What was noticed, in a sentence.
        headline: Text;
        /// What to do next.
        help: Text;
        /// The file, if it speaks of one.
        file: Option<Key>;
        /// The line, if it speaks of one.
        line: Option<u32>;
    }

    /// One thing that was inferred while a printout was read, and why.
    InferenceRow = "inferences", key ["cycle_key", "inference_number"] {
        /// The cycle.
        cycle_key: Key;
        /// Its place within the cycle, from 1.
        inference_number: usize;
        /// What was inferred and why, in a sentence.
        reason: Text;
        /// The file.
        file: Key;
        /// The line.
        line: u32;
    }
}

/// The input files.
pub fn list_inputs<'a>(exported: &'a Exported<'a>) -> impl Iterator<Item = InputRow> + 'a {
    exported.reviewed.files.iter().map(|file| InputRow {
        file: exported.file(file.id),
        sha256: Text::of(&file.sha256),
        size_bytes: file.n_bytes,
        n_lines: file.n_lines,
        encoding: Word::fixed(file.encoding),
        layout: exported
            .layouts
            .get(&file.id)
            .map(|layout| Word::of(layout)),
    })
}

/// The lines that could not be read.
pub fn list_unread<'a>(exported: &'a Exported<'a>) -> impl Iterator<Item = UnreadRow> + 'a {
    exported.reviewed.unread.iter().flat_map(|unread| {
        let diagnostic = &unread.diagnostic;
        let file = exported.file(unread.lines.file);
        let headline = Text::of(&diagnostic.headline);
        let help = Text::of(&diagnostic.help);
        let lines = unread
            .lines
            .runs()
            .iter()
            .flat_map(|run| run.first..=run.last);
        lines.map(move |line| UnreadRow {
            file: file.clone(),
            line,
            first_line: unread.lines.first(),
            code: Word::fixed(diagnostic.code.id()),
            severity: Word::fixed(diagnostic.severity.word()),
            headline: headline.clone(),
            help: help.clone(),
            withheld: diagnostic.withheld,
        })
    })
}

/// What else was noticed.
pub fn list_notices<'a>(exported: &'a Exported<'a>) -> impl Iterator<Item = NoticeRow> + 'a {
    (1..)
        .zip(exported.reviewed.diagnostics)
        .map(|(notice_number, diagnostic)| NoticeRow {
            notice_number,
            code: Word::fixed(diagnostic.code.id()),
            severity: Word::fixed(diagnostic.severity.word()),
            headline: Text::of(&diagnostic.headline),
            help: Text::of(&diagnostic.help),
            file: diagnostic.file.map(|file| exported.file(file)),
            line: diagnostic.primary.map(|span| span.line),
        })
}

/// What was inferred while the printouts in scope were read.
pub fn list_inferences<'a>(exported: &'a Exported<'a>) -> impl Iterator<Item = InferenceRow> + 'a {
    let cycles = &exported.reviewed.history.cycles;
    exported
        .chosen
        .cycles
        .iter()
        .filter_map(|ix| Some((exported.keys.cycle(*ix)?, cycles.get(ix.0)?)))
        .flat_map(move |(cycle_key, known)| {
            (1..)
                .zip(&known.cycle.inferences)
                .map(move |(inference_number, inference)| InferenceRow {
                    cycle_key: cycle_key.clone(),
                    inference_number,
                    reason: Text::of(&inference.reason),
                    file: exported.file_of(&inference.span),
                    line: inference.span.line,
                })
        })
}
