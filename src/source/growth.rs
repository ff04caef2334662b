//! Files that are still being written: how much of one is whole lines, and whether it goes on from what was read of it.
//!
//! Knows nothing of records. Read [`n_whole_line_bytes`] first, then [`find_beginning`].

use sha2::{Digest, Sha256};
use std::collections::BTreeSet;
use std::path::Path;

/// How many bytes of a text are whole lines: up to its last line feed, with it. In UTF-16, which its byte order mark
/// tells (RFC 2781, 3.2), a line feed is two bytes.
pub fn n_whole_line_bytes(bytes: &[u8]) -> usize {
    let wide: Option<[u8; 2]> = match bytes.get(..2) {
        Some([0xFF, 0xFE]) => Some([b'\n', 0]),
        Some([0xFE, 0xFF]) => Some([0, b'\n']),
        _ => None,
    };
    match wide {
        None => memchr::memrchr(b'\n', bytes).map_or(0, |at| at.saturating_add(1)),
        Some(line_feed) => {
            let (pairs, _) = bytes.as_chunks::<2>();
            pairs
                .iter()
                .rposition(|pair| *pair == line_feed)
                .map_or(0, |at| at.saturating_add(1).saturating_mul(2))
        }
    }
}

/// The SHA-256 of the first so many bytes, in hexadecimal, for each of several sizes that the bytes have; those that
/// are longer are left out.
pub fn find_beginning(bytes: &[u8], sizes: &BTreeSet<u64>) -> Vec<(u64, String)> {
    let mut hash = Sha256::new();
    let mut n_taken = 0_usize;
    let mut found = Vec::new();
    for &size in sizes {
        let Some(more) = usize::try_from(size)
            .ok()
            .and_then(|size| bytes.get(n_taken..size))
        else {
            break;
        };
        hash.update(more);
        n_taken = n_taken.saturating_add(more.len());
        found.push((size, to_hex(hash.clone())));
    }
    found
}

/// The SHA-256 of bytes, in hexadecimal.
pub fn sha256_of(bytes: &[u8]) -> String {
    to_hex(Sha256::new_with_prefix(bytes))
}

fn to_hex(hash: Sha256) -> String {
    hash.finalize()
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

/// What tells that a file may have been written to since it was looked at: its size, and where the system has them its
/// number and the time that the file bears. It is compared with an earlier one only, and no result depends on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct FileMark {
    n_bytes: u64,
    number: u64,
    written: (i64, i64),
}

impl FileMark {
    /// The mark of a file; that of nothing when it can't be looked at.
    pub fn of(path: &Path) -> Self {
        path.metadata()
            .map(|metadata| {
                let (number, written) = particulars(&metadata);
                FileMark {
                    n_bytes: metadata.len(),
                    number,
                    written,
                }
            })
            .unwrap_or_default()
    }
}

#[cfg(unix)]
fn particulars(metadata: &std::fs::Metadata) -> (u64, (i64, i64)) {
    use std::os::unix::fs::MetadataExt;
    (metadata.ino(), (metadata.mtime(), metadata.mtime_nsec()))
}

#[cfg(not(unix))]
fn particulars(_: &std::fs::Metadata) -> (u64, (i64, i64)) {
    (0, (0, 0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_lines_end_with_the_last_line_feed() {
        assert_eq!(n_whole_line_bytes(b""), 0);
        assert_eq!(n_whole_line_bytes(b"end"), 0);
        assert_eq!(n_whole_line_bytes(b"a\r\nend"), 3);
        assert_eq!(n_whole_line_bytes(b"a\nend\n"), 6);
        // U+0A0A holds two bytes that would be line feeds, and is none.
        assert_eq!(n_whole_line_bytes(b"\xFF\xFEa\0\n\0\x0A\x0A"), 6);
        assert_eq!(n_whole_line_bytes(b"\xFE\xFF\0a\0\n\0"), 6);
    }

    /// The digests of no bytes and of `abc` are those of FIPS 180-4's examples (NIST, SHA256.pdf; from memory, and the
    /// same from `sha256sum`).
    #[test]
    fn a_beginning_is_known_by_its_digest() {
        let sizes = BTreeSet::from([0, 3, 9]);
        let found = find_beginning(b"abcd", &sizes);
        assert_eq!(
            found,
            [
                (
                    0,
                    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855".to_owned()
                ),
                (
                    3,
                    "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad".to_owned()
                ),
            ]
        );
        assert_eq!(sha256_of(b"abc"), found[1].1);
    }
}
