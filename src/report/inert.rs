//! Text that does nothing: whatever comes from a strip, a log or a file's name becomes harmless and visible.
//!
//! This is the one place that escapes. Control characters are shown by their name in angle brackets (`<ESC>`, `<NUL>`,
//! as the names stand in ISO/IEC 6429 and the Unicode code charts), characters that have no width or turn the direction
//! of the text by their number (`<U+202E>`). What is already inert is not copied. Read [`text`] first.

use std::borrow::Cow;

/// The names of the control characters U+0000 to U+001F, as in the Unicode code chart "C0 Controls".
const CONTROL_NAMES: [&str; 32] = [
    "NUL", "SOH", "STX", "ETX", "EOT", "ENQ", "ACK", "BEL", "BS", "TAB", "LF", "VT", "FF", "CR",
    "SO", "SI", "DLE", "DC1", "DC2", "DC3", "DC4", "NAK", "SYN", "ETB", "CAN", "EM", "SUB", "ESC",
    "FS", "GS", "RS", "US",
];

/// Combining marks in a row beyond this number are shown by number: no writing system piles up more.
const MAX_MARKS: usize = 3;

/// Whether a character could steer a terminal, hide, or turn the text around it.
pub fn is_active(c: char) -> bool {
    matches!(c,
        '\u{0}'..='\u{1f}' | '\u{7f}'..='\u{9f}'
        // Soft hyphen, grapheme joiner, letter mark and other signs without width.
        | '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{115f}' | '\u{1160}' | '\u{17b4}' | '\u{17b5}'
        | '\u{180b}'..='\u{180f}' | '\u{3164}' | '\u{ffa0}'
        // Zero-width characters and marks, embeddings, overrides and isolates of direction, line separators.
        | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}'
        | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{fff0}'..='\u{fffb}'
        | '\u{1d173}'..='\u{1d17a}' | '\u{e0000}'..='\u{e0fff}'
        // Private use: what it looks like depends on the font.
        | '\u{e000}'..='\u{f8ff}' | '\u{f0000}'..='\u{10ffff}')
}

/// Whether a character is drawn upon the one before it.
fn is_mark(c: char) -> bool {
    c != '\0' && unicode_width::UnicodeWidthChar::width(c) == Some(0) && !is_active(c)
}

/// Writes one character, inert, to the end of `out`.
fn push_inert(c: char, n_marks_before: usize, out: &mut String) {
    match c {
        '\t' => out.push(' '),
        '\u{0}'..='\u{1f}' => {
            let name = CONTROL_NAMES.get(c as usize).copied().unwrap_or("?");
            out.push('<');
            out.push_str(name);
            out.push('>');
        }
        '\u{7f}' => out.push_str("<DEL>"),
        c if is_active(c) || (is_mark(c) && n_marks_before >= MAX_MARKS) => {
            out.push_str(&format!("<U+{:04X}>", u32::from(c)));
        }
        c => out.push(c),
    }
}

/// The text, inert and on one line. A tab becomes a space.
pub fn text(input: &str) -> Cow<'_, str> {
    if !input.chars().any(|c| is_active(c) || is_mark(c)) {
        return Cow::Borrowed(input);
    }
    Cow::Owned(Line::of_text(input).text)
}

/// A cell of a spreadsheet's CSV: inert text that no spreadsheet takes for a formula.
///
/// A text that begins with `=`, `+`, `-` or `@`, also as full-width signs and after spaces, gets an apostrophe in front
/// (OWASP, "CSV Injection", which names these and the tab, carriage return and line feed, which are no longer there in
/// inert text). So does one that begins with an apostrophe: whoever takes one off wherever there is one has the text
/// again. Only text comes here; a column of numbers needs no apostrophe.
pub fn spreadsheet(input: &str) -> Cow<'_, str> {
    let shown = text(input);
    let begins_formula = shown.trim_start().starts_with([
        '=', '+', '-', '@', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}',
    ]);
    if begins_formula || shown.starts_with('\'') {
        Cow::Owned(format!("'{shown}"))
    } else {
        shown
    }
}

/// A line of the input made inert, with the way from its bytes to the text that is shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// The text to show.
    pub text: String,
    /// For each character: the offset of its first byte in the line, and in the text that is shown.
    starts: Vec<(usize, usize)>,
    n_bytes: usize,
}

impl Line {
    /// A line from its text.
    pub fn of_text(text: &str) -> Self {
        Self::of_chars(text.char_indices(), text.len())
    }

    fn of_chars(chars: impl Iterator<Item = (usize, char)>, n_bytes: usize) -> Self {
        let mut text = String::new();
        let mut starts = Vec::new();
        let mut n_marks = 0;
        for (at, c) in chars {
            starts.push((at, text.len()));
            push_inert(c, n_marks, &mut text);
            n_marks = count_marks(n_marks, c);
        }
        Line {
            text,
            starts,
            n_bytes,
        }
    }

    /// The part of [`Line::text`] that shows a part of the line's bytes; never outside the text.
    pub fn shown(&self, bytes: std::ops::Range<usize>) -> std::ops::Range<usize> {
        let at = |byte: usize| {
            if byte >= self.n_bytes {
                return self.text.len();
            }
            let n_before = self.starts.partition_point(|(start, _)| *start < byte);
            self.starts
                .get(n_before)
                .map_or(self.text.len(), |(_, shown)| *shown)
        };
        let start = at(bytes.start);
        start..at(bytes.end).max(start)
    }
}

/// How many marks follow one another up to a character, from how many did before it.
fn count_marks(n_before: usize, c: char) -> usize {
    if is_mark(c) {
        n_before.saturating_add(1)
    } else {
        0
    }
}

/// HTML markup that is already escaped, with every character that is not inert shown as [`text`] shows it, in markup:
/// `&lt;ESC&gt;`. Line ends stay.
pub fn markup(escaped: &str) -> String {
    let mut out = String::with_capacity(escaped.len());
    let mut n_marks = 0;
    for c in escaped.chars() {
        if c == '\n' || (!is_active(c) && !is_mark(c)) {
            out.push(c);
            n_marks = 0;
            continue;
        }
        let mut shown = String::new();
        push_inert(c, n_marks, &mut shown);
        n_marks = count_marks(n_marks, c);
        for c in shown.chars() {
            match c {
                '<' => out.push_str("&lt;"),
                '>' => out.push_str("&gt;"),
                c => out.push(c),
            }
        }
    }
    out
}

/// Serialised JSON, with every character that is not inert written as `\uXXXX`.
///
/// JSON itself escapes only U+0000 to U+001F; a terminal would act on others as well.
pub fn json(serialised: &str) -> String {
    let mut out = String::with_capacity(serialised.len());
    for c in serialised.chars() {
        if c != '\n' && is_active(c) {
            let mut units = [0; 2];
            for unit in c.encode_utf16(&mut units) {
                out.push_str(&format!("\\u{unit:04x}"));
            }
        } else {
            out.push(c);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plain_text_is_not_copied() {
        assert!(matches!(text("PL-1: 46.2 °C, Ångström"), Cow::Borrowed(_)));
    }

    /// The sequences are those of ISO/IEC 6429:1992 (ECMA-48): CSI as ESC [ and as the single character U+009B, OSC.
    #[test]
    fn escape_sequences_lose_their_escape() {
        assert_eq!(text("\u{1b}[2Jgone"), "<ESC>[2Jgone");
        assert_eq!(text("\u{9b}31m"), "<U+009B>31m");
        assert_eq!(text("\u{1b}]0;title\u{7}"), "<ESC>]0;title<BEL>");
    }

    /// The characters are those that Unicode Standard Annex #9 (Unicode Bidirectional Algorithm), section 2, lists as
    /// explicit directional formatting characters.
    #[test]
    fn characters_that_turn_the_direction_are_shown_by_number() {
        for c in "\u{61c}\u{200e}\u{200f}\u{202a}\u{202b}\u{202c}\u{202d}\u{202e}\u{2066}\u{2067}\u{2068}\u{2069}".chars() {
            assert_eq!(text(&c.to_string()), format!("<U+{:04X}>", u32::from(c)));
        }
    }

    #[test]
    fn nothing_that_is_shown_is_active_whatever_the_character() {
        for c in (0..=0x10_ffff).filter_map(char::from_u32) {
            let shown = text(c.encode_utf8(&mut [0; 4])).into_owned();
            assert!(!shown.chars().any(is_active), "U+{:04X}", u32::from(c));
        }
    }

    #[test]
    fn piled_marks_are_cut_down_and_an_accent_stays() {
        assert_eq!(text("e\u{301}"), "e\u{301}");
        assert_eq!(
            text(&format!("e{}", "\u{301}".repeat(4))),
            "e\u{301}\u{301}\u{301}<U+0301>"
        );
    }

    #[test]
    fn a_span_of_bytes_is_found_again_in_the_text_that_is_shown() {
        let line = Line::of_text("a\u{1b}bc");
        assert_eq!(line.text, "a<ESC>bc");
        assert_eq!(&line.text[line.shown(2..4)], "bc");
        assert_eq!(&line.text[line.shown(1..2)], "<ESC>");
        assert_eq!(line.shown(90..99), 8..8);
    }

    /// The beginnings are those that OWASP, "CSV Injection", lists: `=`, `+`, `-`, `@`, tab, carriage return, line feed, and
    /// the full-width forms of the first four.
    #[test]
    fn no_cell_begins_like_a_formula() {
        for begin in [
            "=", "+", "-", "@", "\t", "\t=", "\r", "\r=", "\n=", " =", "\u{ff1d}", "\u{ff0b}",
            "\u{ff0d}", "\u{ff20}",
        ] {
            let cell = spreadsheet(&format!("{begin}1+2")).into_owned();
            let is_safe = cell.starts_with(['\'', '<']) || cell == " 1+2";
            assert!(is_safe, "{cell:?}");
        }
        assert!(matches!(spreadsheet("P1-0312-01"), Cow::Borrowed(_)));
    }

    #[test]
    fn an_apostrophe_taken_off_gives_the_text_again() {
        for written in ["=1+2", "'=1+2", "''", "plain", "it's", " =x", "@", ""] {
            let cell = spreadsheet(written).into_owned();
            assert_eq!(cell.strip_prefix('\'').unwrap_or(&cell), written);
        }
    }

    #[test]
    fn markup_stays_markup_and_shows_nothing_active() {
        assert_eq!(
            markup("<p>a\u{1b}b\u{202e}c\n&amp;</p>"),
            "<p>a&lt;ESC&gt;b&lt;U+202E&gt;c\n&amp;</p>"
        );
        for c in (0..=0x10_ffff).filter_map(char::from_u32) {
            let shown = markup(c.encode_utf8(&mut [0; 4]));
            assert!(
                !shown.chars().any(|c| c != '\n' && is_active(c)),
                "U+{:04X}",
                u32::from(c)
            );
        }
    }

    #[test]
    fn json_keeps_its_meaning_and_shows_nothing_active() {
        let value = "\u{9b}2J \u{202e} \u{e0041} \u{1b}";
        let written = json(&serde_json::to_string(value).unwrap());
        assert!(!written.chars().any(is_active));
        assert_eq!(serde_json::from_str::<String>(&written).unwrap(), value);
    }
}
