//! One line's bytes → text, with the way back: control characters, printer sequences and old encodings taken out.
//!
//! Almost every line is plain ASCII and passes untouched. Of the others this module keeps, for every byte of the text,
//! the byte of the original line that it came from, so that a span is exact in the file as it lies on disk.

use encoding_rs::WINDOWS_1252;

/// The character that separates elements of a scanned GS1 string (FNC1 as transmitted).
const GROUP_SEPARATOR: u8 = 0x1D;
const ESCAPE: u8 = 0x1B;

/// What the bytes of a file are taken for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Charset {
    /// UTF-16 where a byte order mark says so, else UTF-8, and Windows-1252 for lines that are not UTF-8.
    #[default]
    Detected,
    /// Code page 437, which can't be told from the bytes alone.
    CodePage437,
}

/// How the text of a line came out of its bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Decoding {
    /// The text is the bytes.
    Verbatim,
    /// Control characters or printer sequences were taken out.
    Cleaned,
    /// The bytes are not UTF-8 and were read as Windows-1252.
    Windows1252,
    /// The bytes were read as code page 437, because a layout says so.
    CodePage437,
    /// The bytes are UTF-16.
    Utf16,
}

/// Text made from a line's bytes, kept for reuse from line to line.
#[derive(Debug, Default)]
pub struct Decoded {
    text: String,
    /// For each byte of `text`, and for its end, the offset in the original line.
    origin: Vec<u32>,
}

impl Decoded {
    /// The text.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The offsets in the original line, one for each byte of the text and one for its end.
    pub fn origin(&self) -> &[u32] {
        &self.origin
    }

    fn clear(&mut self) {
        self.text.clear();
        self.origin.clear();
    }

    fn push(&mut self, character: char, origin: usize) {
        let origin = u32::try_from(origin).unwrap_or(u32::MAX);
        self.text.push(character);
        for _ in 0..character.len_utf8() {
            self.origin.push(origin);
        }
    }

    fn finish(&mut self, n_bytes: usize) {
        let kept = self.text.trim_end().len();
        self.text.truncate(kept);
        self.origin.truncate(kept);
        self.origin.push(u32::try_from(n_bytes).unwrap_or(u32::MAX));
    }
}

/// Whether bytes are all printable ASCII, which needs no decoding. LF counts as plain; CR does not, as one that stands
/// within a line is a control character like any other.
pub fn is_plain(bytes: &[u8]) -> bool {
    // A fold without an early end, which compilers turn into vector instructions.
    let odd = bytes.iter().fold(0_u8, |odd, &byte| {
        odd | u8::from(byte.wrapping_sub(0x20) > 0x5E && byte != b'\n')
    });
    odd == 0
}

/// Decodes a line that is not plain. Returns what was done; the text is in `into`, unless it is verbatim.
pub fn decode_line(bytes: &[u8], charset: Charset, into: &mut Decoded) -> Decoding {
    into.clear();
    if charset == Charset::CodePage437 && !bytes.is_ascii() {
        // One character a byte.
        clean(
            bytes.iter().map(|&byte| of_code_page_437(byte)).enumerate(),
            bytes,
            into,
        );
        return Decoding::CodePage437;
    }
    match std::str::from_utf8(bytes) {
        Ok(text) if !text.chars().any(is_unwanted) => Decoding::Verbatim,
        Ok(text) => {
            clean(text.char_indices(), bytes, into);
            Decoding::Cleaned
        }
        Err(_) => {
            // Windows-1252 maps every byte to one character, so that index and character stay in step. A byte order mark
            // must not turn the decoder to another encoding; that of UTF-8 is left out, as everywhere.
            let (text, _) = WINDOWS_1252.decode_without_bom_handling(bytes);
            let n_mark = if bytes.starts_with(b"\xEF\xBB\xBF") {
                3
            } else {
                0
            };
            clean(text.chars().enumerate().skip(n_mark), bytes, into);
            Decoding::Windows1252
        }
    }
}

/// The character of a byte in code page 437. Those below 32 are control characters, as printers take them.
fn of_code_page_437(byte: u8) -> char {
    use oem_cp::code_table::DECODING_TABLE_CP437;
    byte.checked_sub(0x80)
        .and_then(|high| DECODING_TABLE_CP437.get(usize::from(high)).copied())
        .unwrap_or(char::from(byte))
}

/// Decodes a line of UTF-16 code units, each two bytes of the original.
pub fn decode_utf16_line(units: &[u16], into: &mut Decoded) {
    into.clear();
    let mut at = 0_usize;
    for unit in char::decode_utf16(units.iter().copied()) {
        let character = unit.unwrap_or(char::REPLACEMENT_CHARACTER);
        if !is_unwanted(character) || character == char::from(GROUP_SEPARATOR) {
            into.push(character, at.saturating_mul(2));
        }
        at = at.saturating_add(character.len_utf16());
    }
    into.finish(units.len().saturating_mul(2));
}

/// Characters that are not part of what was printed. A tab is: it separates words, and the cells of a table.
fn is_unwanted(character: char) -> bool {
    character.is_control() && character != '\t' || character == '\u{FEFF}'
}

/// Copies characters, leaving out control characters and printer sequences.
fn clean(characters: impl Iterator<Item = (usize, char)>, bytes: &[u8], into: &mut Decoded) {
    // Everything before this offset belongs to a sequence that is being left out.
    let mut skip_to = 0;
    for (at, character) in characters {
        if at < skip_to {
            continue;
        }
        match character {
            '\u{1B}' => skip_to = end_of_sequence(bytes, at),
            '\u{1D}' if separates_elements(bytes, at) => into.push(character, at),
            _ if is_unwanted(character) => {}
            _ => into.push(character, at),
        }
    }
    into.finish(bytes.len());
}

/// Whether a group separator stands inside a scanned string, and is not a printer's command: a letter, digit or other
/// mark of GS1's set before it, and the two digits of an application identifier after it.
fn separates_elements(bytes: &[u8], at: usize) -> bool {
    let before = at.checked_sub(1).and_then(|before| bytes.get(before));
    let after = bytes.get(at..).and_then(|rest| rest.get(1..));
    before.is_some_and(u8::is_ascii_graphic)
        && match after {
            Some([b'"', ..]) => true,
            Some([tens, ones, ..]) => tens.is_ascii_digit() && ones.is_ascii_digit(),
            _ => false,
        }
}

/// The offset just past an escape sequence that begins at `at`.
///
/// Control sequences follow ECMA-48 (1991), 5.4: `ESC [`, parameters 30–3F, intermediates 20–2F, a final byte 40–7E.
/// Other escapes follow its 5.3 and ISO/IEC 2022: intermediates 20–2F, then a final byte 30–7E. Many printers let a
/// parameter byte, often a control character, follow `ESC !` and the like; it is taken with the sequence.
#[expect(
    clippy::arithmetic_side_effects,
    reason = "the offset of a byte that is there, and as many as are counted behind it, or one or two more"
)]
fn end_of_sequence(bytes: &[u8], at: usize) -> usize {
    debug_assert_eq!(bytes.get(at), Some(&ESCAPE));
    let within = |from: usize, low: u8, high: u8| {
        let n = bytes
            .iter()
            .skip(from)
            .take_while(|&&byte| byte >= low && byte <= high)
            .count();
        from + n
    };
    let second = at + 1;
    match bytes.get(second) {
        Some(b'[') => {
            let end = within(within(second + 1, 0x30, 0x3F), 0x20, 0x2F);
            end + usize::from(
                bytes
                    .get(end)
                    .is_some_and(|byte| (0x40..=0x7E).contains(byte)),
            )
        }
        Some(0x20..=0x2F) => {
            let end = within(second, 0x20, 0x2F);
            end + usize::from(bytes.get(end).is_some_and(|byte| byte.is_ascii()))
        }
        Some(0x30..=0x7E) => second + 1,
        _ => second,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn decoded(bytes: &[u8]) -> (String, Decoding) {
        let mut into = Decoded::default();
        let how = decode_line(bytes, Charset::Detected, &mut into);
        let text = match how {
            Decoding::Verbatim => String::from_utf8(bytes.to_vec()).unwrap(),
            _ => into.text().to_owned(),
        };
        (text, how)
    }

    /// Found by fuzzing: a mark made the decoder change its encoding, and places went astray.
    #[test]
    fn byte_order_mark_before_windows_1252_leaves_index_and_character_in_step() {
        let mut decoded = Decoded::default();
        decode_line(
            b"\xEF\xBB\xBFcaf\xE9\x1B[1m!",
            Charset::Detected,
            &mut decoded,
        );
        assert_eq!(decoded.text(), "caf\u{e9}!");
        assert_eq!(decoded.origin(), [3, 4, 5, 6, 6, 11, 12]);
        // The mark of UTF-16 in the middle of a file is two letters of Windows-1252.
        decode_line(b"\xFF\xFEa", Charset::Detected, &mut decoded);
        assert_eq!(decoded.text(), "\u{ff}\u{fe}a");
    }

    #[test]
    fn printable_ascii_is_plain_and_nothing_else_is() {
        assert!(is_plain(b"unit: PL-1 ~\n"));
        assert!(!is_plain(b"un\rit"));
        for odd in [0_u8, 9, 0x0C, 0x1B, 0x7F, 0x80, 0xFF] {
            assert!(!is_plain(&[b'a', odd, b'b']), "{odd:#x}");
        }
    }

    #[test]
    fn accented_text_stays_as_it_is() {
        assert_eq!(
            decoded("place: Fennmårsh".as_bytes()),
            ("place: Fennmårsh".to_owned(), Decoding::Verbatim)
        );
    }

    #[test]
    fn windows_1252_bytes_become_their_characters() {
        // Windows-1252: 0xE5 is å, 0x80 is the euro sign (WHATWG Encoding Standard, index windows-1252).
        assert_eq!(
            decoded(b"m\xE5rsh \x80"),
            ("mårsh €".to_owned(), Decoding::Windows1252)
        );
    }

    #[test]
    fn code_page_437_is_that_of_pythons_codec() {
        // tests/layouts/cp437.csv was written by Python's `cp437` codec (tests/layouts/cp437.py), which follows
        // CP437.TXT of the Unicode Consortium.
        let table = include_str!("../../tests/layouts/cp437.csv");
        let mut n = 0;
        for row in table.lines().skip(1) {
            let (byte, scalar) = row.split_once(',').unwrap();
            let byte: u8 = byte.parse().unwrap();
            let expected = char::from_u32(u32::from_str_radix(scalar, 16).unwrap()).unwrap();
            let mut into = Decoded::default();
            let how = decode_line(&[b'<', byte, b'>'], Charset::CodePage437, &mut into);
            assert_eq!(how, Decoding::CodePage437);
            assert_eq!(into.text(), format!("<{expected}>"), "{byte:#x}");
            assert_eq!(into.origin().first(), Some(&0));
            assert_eq!(into.origin().last(), Some(&3));
            n += 1;
        }
        assert_eq!(n, 128);
    }

    #[test]
    fn control_characters_and_printer_sequences_are_left_out() {
        for (raw, text) in [
            (&b"un\0it: PL-1"[..], "unit: PL-1"),
            (b"\x0Cunit: PL-1", "unit: PL-1"),
            (b"\x1B[1munit\x1B[0m: PL-1", "unit: PL-1"),
            (b"\x1B@unit: PL-1", "unit: PL-1"),
            (b"\x1B!\x10unit: PL-1", "unit: PL-1"),
            (b"unit:\tPL-1", "unit:\tPL-1"),
            (b"\xEF\xBB\xBFunit: PL-1", "unit: PL-1"),
            (b"\x1B", ""),
            (b"\x1B[", ""),
        ] {
            assert_eq!(decoded(raw).0, text, "{raw:?}");
        }
    }

    #[test]
    fn a_group_separator_is_kept_inside_a_scanned_string_only() {
        assert_eq!(
            decoded(b"scan \"10LOT\x1D21S\"").0,
            "scan \"10LOT\u{1D}21S\""
        );
        assert_eq!(decoded(b"\x1D!unit: PL-1").0, "!unit: PL-1");
    }

    #[test]
    fn every_byte_of_the_text_knows_where_it_came_from() {
        let mut into = Decoded::default();
        decode_line(b"\0u\xE5t", Charset::Detected, &mut into);
        assert_eq!(into.text(), "uåt");
        assert_eq!(into.origin(), [1, 2, 2, 3, 4]);
    }
}
