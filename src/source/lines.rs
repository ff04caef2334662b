//! A stream of bytes → numbered lines, in blocks, with the stream's SHA-256 on the way.
//!
//! A line ends at LF; a CR before it belongs to the line end. Memory is bounded by one block and the longest line that
//! is allowed, whatever the size of the file.

use super::decode::{Charset, Decoded, Decoding, decode_line, decode_utf16_line, is_plain};
use crate::diagnose::{FileId, Span};
use sha2::{Digest, Sha256};
use std::io::{self, Read};

/// The longest line that is read, in bytes. A longer one is reported and passed over.
pub const LONGEST_LINE: usize = 64 * 1024;
/// How much of a line that is too long is handed on, to be shown.
const SHOWN_OF_LONG_LINE: usize = 256;
/// How much is read at once.
const BLOCK: usize = 256 * 1024;
/// How much is read at first: a strip of its own file needs no more, and clearing more would take longer than reading it.
const FIRST_BLOCK: usize = 16 * 1024;
/// How many bytes decide on the encoding, and whether it is text at all.
const SNIFFED: usize = 8 * 1024;

/// What a line is fit for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fitness {
    /// It can be read.
    Text,
    /// It is longer than [`LONGEST_LINE`]; its text is only the beginning.
    TooLong,
    /// It belongs to a file that is not text.
    NotText,
}

/// One line of a file.
#[derive(Debug, Clone, Copy)]
pub struct Line<'a> {
    /// The file.
    pub file: FileId,
    /// Its number, counted from 1.
    pub number: u32,
    /// Offset of its first byte in the file.
    pub start: u64,
    /// Its text as UTF-8, without line end and without white space before the line end.
    pub text: &'a [u8],
    /// How the text was made.
    pub decoding: Decoding,
    /// What it is fit for.
    pub fitness: Fitness,
    origin: Option<&'a [u32]>,
}

impl<'a> Line<'a> {
    /// The span of a part of the text, in bytes of the original file.
    pub fn span(&self, start: usize, end: usize) -> Span {
        let original = |offset: usize| match self.origin {
            None => u32::try_from(offset).unwrap_or(u32::MAX),
            Some(origin) => origin.get(offset).or(origin.last()).copied().unwrap_or(0),
        };
        Span {
            file: self.file,
            line: self.number,
            line_start: self.start,
            start: original(start),
            end: original(end),
        }
    }

    /// The span of the whole text.
    pub fn whole(&self) -> Span {
        self.span(0, self.text.len())
    }

    /// The span of a part of the text that was sliced out of it.
    ///
    /// A slice that does not lie in the text, which only a slip in the parser can make, gives the whole line.
    pub fn span_of(&self, part: &[u8]) -> Span {
        let from = (part.as_ptr() as usize).checked_sub(self.text.as_ptr() as usize);
        match from {
            Some(from) if from.saturating_add(part.len()) <= self.text.len() => {
                self.span(from, from.saturating_add(part.len()))
            }
            _ => self.whole(),
        }
    }
}

/// What is known of a stream once it was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StreamTally {
    /// Its size.
    pub n_bytes: u64,
    /// The number of its lines; bytes after the last LF are a line too.
    pub n_lines: u64,
    /// Its SHA-256 in hexadecimal.
    pub sha256: String,
    /// Its encoding: `utf-8`, `windows-1252`, `cp437`, `utf-16le`, `utf-16be`, `not text`.
    pub encoding: &'static str,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Encoding {
    Bytes,
    Utf16Le,
    Utf16Be,
    NotText,
}

/// Reads a stream to its end and hands each line to `take`.
///
/// # Errors
/// An error of the stream. The lines before it were handed on.
pub fn read_lines<R: Read>(
    file: FileId,
    stream: R,
    take: impl FnMut(&Line<'_>),
) -> (StreamTally, io::Result<()>) {
    read_lines_as(file, stream, Charset::Detected, take)
}

/// Reads a stream whose bytes are of a charset.
///
/// # Errors
/// An error of the stream. The lines before it were handed on.
pub fn read_lines_as<R: Read>(
    file: FileId,
    mut stream: R,
    charset: Charset,
    mut take: impl FnMut(&Line<'_>),
) -> (StreamTally, io::Result<()>) {
    let mut splitter = Splitter::new(file, charset);
    let mut buffer = vec![0_u8; FIRST_BLOCK];
    let mut hasher = Sha256::new();
    let mut n_bytes = 0_u64;
    // Bytes at the front of the buffer that do not make a whole line yet.
    let mut n_kept = 0;
    let mut encoding = None;
    let result = loop {
        if n_kept == buffer.len() {
            // One line fills the buffer, and it is too long: only its beginning is of use.
            splitter.pass_over(buffer.get(..n_kept).unwrap_or_default());
            n_kept = 0;
        }
        let space = buffer.get_mut(n_kept..).unwrap_or_default();
        let n_read = match stream.read(space) {
            Ok(n_read) => n_read,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
            Err(error) => break Err(error),
        };
        hasher.update(space.get(..n_read).unwrap_or_default());
        n_bytes = n_bytes.saturating_add(n_read as u64);
        let n_filled = n_kept.saturating_add(n_read);
        if n_filled == buffer.len() && n_filled < BLOCK {
            buffer.resize(BLOCK, 0);
        }
        let at_end = n_read == 0;
        let new = buffer.get(n_kept..n_filled).unwrap_or_default();
        // Without a line end among the new bytes there is nothing to hand on: a pipe that gives a few bytes at a time
        // must not make the bytes before them be searched again and again.
        let nothing_to_do = encoding.is_some() && memchr::memchr(b'\n', new).is_none();
        if !at_end && (nothing_to_do || encoding.is_none() && n_filled < SNIFFED) {
            n_kept = n_filled;
            continue;
        }
        let filled = buffer.get(..n_filled).unwrap_or_default();
        let encoding = *encoding.get_or_insert_with(|| sniff(filled, charset));
        let n_used = splitter.take_block(filled, encoding, at_end, &mut take);
        buffer.copy_within(n_used..n_filled, 0);
        n_kept = n_filled.saturating_sub(n_used);
        if at_end {
            break Ok(());
        }
    };
    let tally = StreamTally {
        n_bytes,
        n_lines: u64::from(splitter.n_lines),
        sha256: hexadecimal(&hasher.finalize()),
        encoding: match encoding {
            Some(Encoding::Utf16Le) => "utf-16le",
            Some(Encoding::Utf16Be) => "utf-16be",
            Some(Encoding::NotText) => "not text",
            _ if charset == Charset::CodePage437 => "cp437",
            _ if splitter.saw_windows_1252 => "windows-1252",
            _ => "utf-8",
        },
    };
    (tally, result)
}

fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// How a file is compressed that begins with these bytes, if it is.
///
/// First bytes: gzip RFC 1952, 2.3.1; zip APPNOTE.TXT, 4.3.7; xz file format, 2.1.1.1; Zstandard RFC 8878, 3.1.1; bzip2
/// from memory.
pub fn find_compression(bytes: &[u8]) -> Option<&'static str> {
    match bytes {
        [0x1F, 0x8B, 0x08, ..] => Some("gzip"),
        [b'P', b'K', 0x03, 0x04, ..] => Some("zip"),
        [0xFD, b'7', b'z', b'X', b'Z', 0x00, ..] => Some("xz"),
        [0x28, 0xB5, 0x2F, 0xFD, ..] => Some("zstd"),
        [b'B', b'Z', b'h', b'1'..=b'9', b'1', b'A', b'Y', ..] => Some("bzip2"),
        _ => None,
    }
}

/// The encoding that the first bytes of a stream speak for.
fn sniff(bytes: &[u8], charset: Charset) -> Encoding {
    if find_compression(bytes).is_some() {
        return Encoding::NotText;
    }
    match bytes {
        [0xFF, 0xFE, ..] => return Encoding::Utf16Le,
        [0xFE, 0xFF, ..] => return Encoding::Utf16Be,
        _ => {}
    }
    let sniffed = bytes.get(..SNIFFED).unwrap_or(bytes);
    // Control characters that no printer sends on purpose in numbers. NUL, tab, line ends, form feed, ESC and GS do come.
    let n_control = sniffed
        .iter()
        .filter(|&&byte| byte < 0x20 && !b"\0\t\n\r\x0C\x1B\x1D".contains(&byte))
        .count();
    let n_high = if charset == Charset::CodePage437 {
        // Its upper half draws boxes and lines across the paper.
        0
    } else if std::str::from_utf8(sniffed)
        .map_or_else(|error| error.error_len().is_some(), |_| false)
    {
        sniffed.iter().filter(|&&byte| byte >= 0x80).count()
    } else {
        0
    };
    // Compressed data has 11 % of the one and 50 % of the other; Windows-1252 text of any European language has far
    // less than a quarter of accented letters.
    if n_control.saturating_add(n_high) > sniffed.len() / 4 {
        Encoding::NotText
    } else {
        Encoding::Bytes
    }
}

/// Cuts blocks into lines and numbers them.
struct Splitter {
    file: FileId,
    charset: Charset,
    n_lines: u32,
    /// Offset in the file of the first byte of the next block.
    offset: u64,
    decoded: Decoded,
    units: Vec<u16>,
    saw_windows_1252: bool,
    /// The beginning and the start offset of a line that is being passed over.
    long: Option<(Vec<u8>, u64)>,
}

impl Splitter {
    fn new(file: FileId, charset: Charset) -> Self {
        Splitter {
            file,
            charset,
            n_lines: 0,
            offset: 0,
            decoded: Decoded::default(),
            units: Vec::new(),
            saw_windows_1252: false,
            long: None,
        }
    }

    /// Takes bytes without a line end that are too many for one line.
    fn pass_over(&mut self, bytes: &[u8]) {
        let start = self.offset;
        self.offset = self.offset.saturating_add(bytes.len() as u64);
        let shown = bytes.get(..SHOWN_OF_LONG_LINE).unwrap_or(bytes);
        self.long.get_or_insert_with(|| (shown.to_vec(), start));
    }

    /// Hands on the lines of a block. Returns how many of its bytes are used up.
    fn take_block(
        &mut self,
        block: &[u8],
        encoding: Encoding,
        at_end: bool,
        take: &mut impl FnMut(&Line<'_>),
    ) -> usize {
        let n_used = match encoding {
            Encoding::Utf16Le => self.take_units(block, u16::from_le_bytes, at_end, take),
            Encoding::Utf16Be => self.take_units(block, u16::from_be_bytes, at_end, take),
            Encoding::Bytes => self.take_bytes(block, Fitness::Text, at_end, take),
            Encoding::NotText => self.take_bytes(block, Fitness::NotText, at_end, take),
        };
        self.offset = self.offset.saturating_add(n_used as u64);
        n_used
    }

    fn take_bytes(
        &mut self,
        block: &[u8],
        fitness: Fitness,
        at_end: bool,
        take: &mut impl FnMut(&Line<'_>),
    ) -> usize {
        let plain = is_plain(block);
        let mut from = 0;
        for end in memchr::memchr_iter(b'\n', block) {
            self.take_line(block, from, end, plain, fitness, take);
            from = end.saturating_add(1);
        }
        if at_end && (from < block.len() || self.long.is_some()) {
            self.take_line(block, from, block.len(), plain, fitness, take);
            from = block.len();
        }
        from
    }

    #[inline]
    fn take_line(
        &mut self,
        block: &[u8],
        from: usize,
        end: usize,
        plain: bool,
        fitness: Fitness,
        take: &mut impl FnMut(&Line<'_>),
    ) {
        self.n_lines = self.n_lines.saturating_add(1);
        let start = self.offset.saturating_add(from as u64);
        let raw = block.get(from..end).unwrap_or_default();
        if self.long.is_some() || raw.len() > LONGEST_LINE {
            let (shown, start) = self
                .long
                .take()
                .unwrap_or_else(|| (raw.get(..SHOWN_OF_LONG_LINE).unwrap_or(raw).to_vec(), start));
            self.decoded = Decoded::default();
            let decoding = decode_line(&shown, self.charset, &mut self.decoded);
            let verbatim = decoding == Decoding::Verbatim;
            take(&Line {
                file: self.file,
                number: self.n_lines,
                start,
                text: if verbatim {
                    &shown
                } else {
                    self.decoded.text().as_bytes()
                },
                decoding,
                fitness: if fitness == Fitness::Text {
                    Fitness::TooLong
                } else {
                    fitness
                },
                origin: (!verbatim).then_some(self.decoded.origin()),
            });
            return;
        }
        let text = raw.trim_ascii_end();
        let decoding = if plain || is_plain(text) {
            Decoding::Verbatim
        } else {
            decode_line(text, self.charset, &mut self.decoded)
        };
        let verbatim = decoding == Decoding::Verbatim;
        self.saw_windows_1252 |= decoding == Decoding::Windows1252;
        take(&Line {
            file: self.file,
            number: self.n_lines,
            start,
            text: if verbatim {
                text
            } else {
                self.decoded.text().as_bytes()
            },
            decoding,
            fitness,
            origin: (!verbatim).then_some(self.decoded.origin()),
        });
    }

    fn take_units(
        &mut self,
        block: &[u8],
        unit: fn([u8; 2]) -> u16,
        at_end: bool,
        take: &mut impl FnMut(&Line<'_>),
    ) -> usize {
        self.units.clear();
        let mut n_used = 0;
        let mut at = 0_usize;
        let (pairs, _) = block.as_chunks::<2>();
        for &pair in pairs {
            let unit = unit(pair);
            at = at.saturating_add(2);
            if unit == u16::from(b'\n') {
                self.take_unit_line(n_used, take);
                n_used = at;
            } else {
                self.units.push(unit);
            }
        }
        if at_end && (n_used < block.len() || self.long.is_some()) {
            // A single byte at the end is half a character; it is counted with the last line.
            self.take_unit_line(n_used, take);
            n_used = block.len();
        }
        n_used
    }

    fn take_unit_line(&mut self, from: usize, take: &mut impl FnMut(&Line<'_>)) {
        self.n_lines = self.n_lines.saturating_add(1);
        let long = self.long.take();
        let fitness = if long.is_some() || self.units.len() > LONGEST_LINE / 2 {
            self.units.truncate(SHOWN_OF_LONG_LINE);
            Fitness::TooLong
        } else {
            Fitness::Text
        };
        let start = long.map_or_else(
            || self.offset.saturating_add(from as u64),
            |(_, start)| start,
        );
        decode_utf16_line(&self.units, &mut self.decoded);
        self.units.clear();
        take(&Line {
            file: self.file,
            number: self.n_lines,
            start,
            text: self.decoded.text().as_bytes(),
            decoding: Decoding::Utf16,
            fitness,
            origin: Some(self.decoded.origin()),
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A stream that gives its bytes a few at a time, as a pipe may.
    struct Trickle<'a>(&'a [u8], usize);

    impl Read for Trickle<'_> {
        fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
            let n = self.1.min(into.len()).min(self.0.len());
            into[..n].copy_from_slice(&self.0[..n]);
            self.0 = &self.0[n..];
            Ok(n)
        }
    }

    fn lines(bytes: &[u8]) -> (Vec<(u64, String, Fitness)>, StreamTally) {
        let mut all = Vec::new();
        let (tally, result) = read_lines(FileId(0), Trickle(bytes, 7), |line| {
            all.push((
                line.start,
                String::from_utf8(line.text.to_vec()).unwrap(),
                line.fitness,
            ));
        });
        result.unwrap();
        (all, tally)
    }

    #[test]
    fn lines_keep_number_and_offset_whatever_ends_them() {
        let (all, tally) = lines(b"one\r\n\ntwo  \nthree");
        let text: Vec<_> = all
            .iter()
            .map(|(start, text, _)| (*start, text.as_str()))
            .collect();
        assert_eq!(text, [(0, "one"), (5, ""), (6, "two"), (12, "three")]);
        assert_eq!((tally.n_lines, tally.n_bytes), (4, 17));
    }

    #[test]
    fn the_hash_is_the_one_of_the_standard() {
        // FIPS 180-4 (2015), SHA-256 example "abc", as published with the standard's example computations.
        assert_eq!(
            lines(b"abc").1.sha256,
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }

    #[test]
    fn utf16_lines_are_read_and_their_offsets_are_those_of_the_file() {
        for big in [false, true] {
            let mut bytes = Vec::new();
            for unit in "\u{FEFF}unit: PL-1\r\nplace: mårsh\n".encode_utf16() {
                bytes.extend(if big {
                    unit.to_be_bytes()
                } else {
                    unit.to_le_bytes()
                });
            }
            let (all, tally) = lines(&bytes);
            assert_eq!(all[0], (0, "unit: PL-1".to_owned(), Fitness::Text));
            assert_eq!(all[1], (26, "place: mårsh".to_owned(), Fitness::Text));
            assert_eq!(all.len(), 2);
            assert_eq!(tally.encoding, if big { "utf-16be" } else { "utf-16le" });
        }
    }

    #[test]
    fn a_gigantic_line_is_one_line_and_the_next_is_read() {
        for n in [
            LONGEST_LINE,
            LONGEST_LINE + 1,
            FIRST_BLOCK - 1,
            FIRST_BLOCK,
            FIRST_BLOCK + 1,
            BLOCK,
            BLOCK + 1,
            3 * BLOCK + 5,
        ] {
            let mut bytes = b"before\n".to_vec();
            bytes.extend(std::iter::repeat_n(b'x', n));
            bytes.extend(b"\nafter\n");
            let (all, tally) = lines(&bytes);
            assert_eq!(all.len(), 3, "{n}");
            assert_eq!(all[1].0, 7);
            assert_eq!(all[1].2 == Fitness::TooLong, n > LONGEST_LINE, "{n}");
            assert_eq!(all[2], (8 + n as u64, "after".to_owned(), Fitness::Text));
            assert_eq!(tally.n_lines, 3);
        }
    }

    #[test]
    fn compressed_bytes_are_not_text_and_accented_text_is() {
        let mut state = 1_u32;
        let noise: Vec<u8> = (0..4000)
            .map(|_| {
                state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                (state >> 24) as u8
            })
            .collect();
        assert_eq!(lines(&noise).1.encoding, "not text");
        assert_eq!(
            lines(b"Pr\xFCfung der \xD6ffnung\n").1.encoding,
            "windows-1252"
        );
        assert_eq!(lines("Prüfung".as_bytes()).1.encoding, "utf-8");
    }

    #[test]
    fn a_span_points_into_the_original_bytes() {
        let mut spans = Vec::new();
        let (_, result) = read_lines(FileId(3), &b"a\n\0unit: P\xE5-1\n"[..], |line| {
            let at = memchr::memchr(b'P', line.text).unwrap_or(0);
            spans.push(line.span(at, line.text.len()));
        });
        result.unwrap();
        assert_eq!(
            spans[1],
            Span {
                file: FileId(3),
                line: 2,
                line_start: 2,
                start: 7,
                end: 11
            }
        );
    }
}
