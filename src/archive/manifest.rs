//! The manifest as bytes: lines that are chained by their SHA-256, and the *seal*, a small file that says how far they
//! were acknowledged.
//!
//! What the seal covers must be there byte for byte; anything else is damage, and is named. What stands after it was not
//! acknowledged: whole lines that go on the chain count, and the rest is what a crash left of lines that were being
//! written. Read [`check_chain`] first.

use super::event::{Event, ManifestLine};
use super::fault::Damage;
use super::fingerprint::Fingerprint;
use crate::measure::count::Counting;
use std::collections::{BTreeMap, BTreeSet};

/// How far the manifest was acknowledged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seal {
    /// The number of the last line.
    pub n_lines: u64,
    /// The SHA-256 of the last line.
    pub last: Fingerprint,
}

impl Seal {
    /// The seal as it is written: number, SHA-256, and the SHA-256 of these two, so that a changed seal can be told from a
    /// changed manifest.
    pub fn write(&self) -> String {
        let said = format!("{} {}", self.n_lines, self.last);
        let check = Fingerprint::of(said.as_bytes());
        format!("{said} {check}\n")
    }

    /// Reads a seal. `None` if it is not as it was written.
    pub fn read(text: &[u8]) -> Option<Self> {
        let text = std::str::from_utf8(text).ok()?;
        let mut words = text.split_whitespace();
        let seal = Seal {
            n_lines: words.next()?.parse().ok()?,
            last: Fingerprint::read(words.next()?)?,
        };
        (seal.write() == text).then_some(seal)
    }
}

/// The seal as it was found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FoundSeal {
    /// Whole.
    Whole(Seal),
    /// There is none: the archive was being made, or the seal was lost.
    Missing,
    /// It is not as it was written.
    Changed,
}

/// The manifest as it was found.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Chain {
    /// The events of its lines that can be read, with their numbers.
    pub events: Vec<(u64, Event)>,
    /// The number of its lines, those after the seal included.
    pub n_lines: u64,
    /// The number of its lines that are acknowledged.
    pub n_sealed: u64,
    /// The SHA-256 of each line, in order.
    pub fingerprints: Vec<Fingerprint>,
    /// Bytes of whole lines that go on the chain.
    pub n_bytes: u64,
    /// Bytes after them that a crash left behind.
    pub n_torn_bytes: u64,
    /// What is damaged.
    pub damages: Vec<Damage>,
}

impl Chain {
    /// The SHA-256 of the last line.
    pub fn last(&self) -> Fingerprint {
        self.fingerprints
            .last()
            .cloned()
            .unwrap_or_else(Fingerprint::zero)
    }
}

/// The next line of a manifest, with its line end, and its SHA-256.
///
/// # Errors
/// An event that JSON can't hold; there is none.
pub fn write_line(
    line: u64,
    previous: Fingerprint,
    event: Event,
) -> Result<(String, Fingerprint), serde_json::Error> {
    let mut written = serde_json::to_string(&ManifestLine {
        line,
        previous,
        event,
    })?;
    let fingerprint = Fingerprint::of(written.as_bytes());
    written.push('\n');
    Ok((written, fingerprint))
}

/// A line as it was found.
struct FoundLine {
    read: Option<ManifestLine>,
    fingerprint: Fingerprint,
    n_bytes: u64,
}

/// Holds the bytes of a manifest against its chain and its seal.
pub fn check_chain(bytes: &[u8], seal: &FoundSeal) -> Chain {
    let mut found = Vec::new();
    let mut rest = bytes;
    while let Some(end) = memchr::memchr(b'\n', rest) {
        let (line, after) = rest.split_at(end);
        found.push(FoundLine {
            read: serde_json::from_slice(line).ok(),
            fingerprint: Fingerprint::of(line),
            n_bytes: (end as u64).saturating_add(1),
        });
        rest = after.get(1..).unwrap_or_default();
    }
    let n_found = found.len() as u64;
    let mut chain = Chain::default();
    let sealed = match seal {
        FoundSeal::Whole(seal) => Some(seal),
        FoundSeal::Changed => {
            let damage = Damage::at("seal", "it is not as it was written");
            chain.damages.push(damage);
            None
        }
        FoundSeal::Missing => {
            // While an archive is being made, its manifest has one line before it has a seal.
            if n_found > 1 {
                chain.damages.push(Damage::at("seal", "it is missing"));
            }
            None
        }
    };
    let n_sealed = sealed.map_or(n_found, |seal| seal.n_lines);
    let mut n_kept = usize::try_from(n_sealed.min(n_found)).unwrap_or(usize::MAX);
    // Whole lines after the seal that go on the chain.
    while let Some(line) = found.get(n_kept) {
        let previous = n_kept.checked_sub(1).and_then(|before| found.get(before));
        let goes_on = line.read.as_ref().is_some_and(|read| {
            read.line == (n_kept as u64).saturating_add(1)
                && previous.is_some_and(|previous| previous.fingerprint == read.previous)
        });
        if !goes_on {
            break;
        }
        n_kept.add_one();
    }
    let kept = found.get(..n_kept).unwrap_or_default();
    find_damage(kept, n_sealed, sealed, &mut chain.damages);
    if n_found < n_sealed && !rest.is_empty() {
        chain.damages.push(Damage::at(
            line_place(n_found.saturating_add(1)),
            "it has lost its end, and was whole once",
        ));
    } else if n_found < n_sealed {
        chain.damages.push(Damage::at(
            line_place(n_found.saturating_add(1)),
            format!(
                "the manifest ends before it, and had {n_sealed} lines: {} missing",
                match n_sealed.saturating_sub(n_found) {
                    1 => "1 line is".to_owned(),
                    n => format!("{n} lines are"),
                }
            ),
        ));
    }
    chain.n_bytes = kept.iter().map(|line| line.n_bytes).sum();
    chain.n_torn_bytes = (bytes.len() as u64).saturating_sub(chain.n_bytes);
    chain.n_lines = n_kept as u64;
    chain.n_sealed = n_sealed.min(n_found);
    found.truncate(n_kept);
    for (number, line) in (1..).zip(found) {
        chain.fingerprints.push(line.fingerprint);
        if let Some(read) = line.read {
            chain.events.push((number, read.event));
        }
    }
    chain
}

fn line_place(number: u64) -> String {
    format!("manifest, line {number}")
}

/// Names the lines that are changed, missing or in the wrong place.
fn find_damage(lines: &[FoundLine], n_sealed: u64, seal: Option<&Seal>, said: &mut Vec<Damage>) {
    let numbers: Vec<Option<u64>> = lines
        .iter()
        .map(|line| line.read.as_ref().map(|read| read.line))
        .collect();
    let misplaced: Vec<u64> = (1..)
        .zip(&numbers)
        .filter(|(place, number)| number.is_some_and(|number| number != *place))
        .map(|(place, _)| place)
        .collect();
    let all_are_here = lines.len() as u64 >= n_sealed;
    let different: BTreeSet<&Fingerprint> = lines.iter().map(|line| &line.fingerprint).collect();
    let none_twice = different.len() == lines.len();
    if misplaced.is_empty() || (misplaced.len() == 1 && all_are_here && none_twice) {
        // Every line stands in its place, or a single one has another number and so was changed where it stands.
        return find_changed(lines, n_sealed, seal, said);
    }
    let mut seen: BTreeMap<u64, u64> = BTreeMap::new();
    for number in numbers.iter().flatten() {
        seen.entry(*number).or_default().add_one();
    }
    let n_before = said.len();
    let is_unreadable = numbers.contains(&None);
    let mut before = 0_u64;
    // Those beyond the end are told by the caller.
    for (&number, &n) in &seen {
        let first = before.saturating_add(1);
        if number > first {
            let missing = match is_unreadable {
                true => "missing, or changed where it can't be read",
                false => "missing",
            };
            said.push(match number.saturating_sub(first) {
                1 => Damage::at(line_place(first), format!("it is {missing}")),
                _ => Damage::at(
                    format!("manifest, lines {first} to {}", number.saturating_sub(1)),
                    format!("they are {missing}"),
                ),
            });
        }
        if n > 1 {
            let said_of_it = format!("it stands there {n} times");
            said.push(Damage::at(line_place(number), said_of_it));
        }
        before = number;
    }
    for (place, number) in (1..).zip(&numbers) {
        match number {
            None => said.push(Damage::at(line_place(place), "it was changed")),
            Some(number) if said.len() == n_before && *number != place => {
                said.push(Damage::at(
                    line_place(*number),
                    format!("it stands in the wrong place, as line {place} of the file"),
                ));
            }
            Some(_) => {}
        }
    }
}

/// Names the lines that were changed where they stand. Each line is vouched for by the one after it, the last by the seal;
/// a line that is itself changed vouches for nothing.
fn find_changed(lines: &[FoundLine], n_sealed: u64, seal: Option<&Seal>, said: &mut Vec<Damage>) {
    let mut is_changed = vec![false; lines.len()];
    for at in (0..lines.len()).rev() {
        let Some(line) = lines.get(at) else { continue };
        let number = (at as u64).saturating_add(1);
        let after = lines.get(at.saturating_add(1)).filter(|_| {
            let after_is_changed = is_changed
                .get(at.saturating_add(1))
                .copied()
                .unwrap_or(true);
            !after_is_changed
        });
        let said_of_it = match (after.and_then(|after| after.read.as_ref()), seal) {
            (Some(after), _) => Some(&after.previous),
            (None, Some(seal)) if seal.n_lines == number => Some(&seal.last),
            _ => None,
        };
        let is_sealed_whole = match said_of_it {
            Some(fingerprint) => *fingerprint == line.fingerprint,
            // Nothing vouches for it: what it says of itself and of the line before it has to do.
            None => {
                let before = at.checked_sub(1).and_then(|before| lines.get(before));
                line.read.as_ref().is_some_and(|read| {
                    let previous =
                        before.map_or_else(Fingerprint::zero, |line| line.fingerprint.clone());
                    // Where the next line is changed, the line before may be whole and may be not.
                    read.previous == previous || before.is_some()
                })
            }
        };
        let is_whole = is_sealed_whole
            && line
                .read
                .as_ref()
                .is_some_and(|read| read.line == number || number > n_sealed);
        if let Some(place) = is_changed.get_mut(at).filter(|_| !is_whole) {
            *place = true;
        }
    }
    for (number, _) in (1..)
        .zip(&is_changed)
        .filter(|(_, is_changed)| **is_changed)
    {
        said.push(Damage::at(line_place(number), "it was changed"));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn event(n: usize) -> Event {
        Event::Made {
            format: 1,
            loadbook: format!("0.{n}.0"),
        }
    }

    fn manifest(n_lines: usize) -> (Vec<String>, Seal) {
        let mut lines = Vec::new();
        let mut last = Fingerprint::zero();
        for n in 1..=n_lines {
            let (line, fingerprint) = write_line(n as u64, last, event(n)).unwrap();
            lines.push(line);
            last = fingerprint;
        }
        let n_lines = n_lines as u64;
        (lines, Seal { n_lines, last })
    }

    fn damage(lines: &[String], seal: &Seal) -> Vec<String> {
        let chain = check_chain(lines.concat().as_bytes(), &FoundSeal::Whole(seal.clone()));
        chain.damages.iter().map(Damage::to_string).collect()
    }

    #[test]
    fn whole_manifest_has_no_damage_and_gives_its_events() {
        for n in 1..6 {
            let (lines, seal) = manifest(n);
            assert_eq!(damage(&lines, &seal), Vec::<String>::new());
            let chain = check_chain(lines.concat().as_bytes(), &FoundSeal::Whole(seal));
            let expected: Vec<_> = (1..=n).map(|n| (n as u64, event(n))).collect();
            assert_eq!(chain.events, expected);
        }
    }

    #[test]
    fn every_flipped_bit_of_a_manifest_is_found_in_its_line() {
        let (lines, seal) = manifest(4);
        let bytes = lines.concat().into_bytes();
        for at in 0..bytes.len() {
            for bit in 0..8 {
                let mut changed = bytes.clone();
                changed[at] ^= 1 << bit;
                let chain = check_chain(&changed, &FoundSeal::Whole(seal.clone()));
                let line = 1 + bytes[..at].iter().filter(|&&byte| byte == b'\n').count();
                let expected = format!("manifest, line {line}");
                // A line end that is lost or new makes two lines one, or one two.
                let touches_line_end = bytes[at] == b'\n' || changed[at] == b'\n';
                let places: Vec<&str> = chain.damages.iter().map(|d| d.place.as_str()).collect();
                if touches_line_end {
                    assert!(!places.is_empty(), "byte {at}, bit {bit}");
                } else {
                    assert_eq!(places, [expected], "byte {at}, bit {bit}");
                }
            }
        }
    }

    #[test]
    fn every_flipped_bit_of_a_seal_is_found_as_the_seals() {
        let (lines, seal) = manifest(3);
        let bytes = seal.write().into_bytes();
        for at in 0..bytes.len() {
            for bit in 0..8 {
                let mut changed = bytes.clone();
                changed[at] ^= 1 << bit;
                assert_eq!(Seal::read(&changed), None, "byte {at}, bit {bit}");
            }
        }
        let chain = check_chain(lines.concat().as_bytes(), &FoundSeal::Changed);
        assert_eq!(chain.damages.len(), 1);
        assert_eq!(chain.damages[0].place, "seal");
    }

    #[test]
    fn missing_repeated_and_exchanged_lines_are_named() {
        let (lines, seal) = manifest(6);
        for gone in 0..6 {
            let mut fewer = lines.clone();
            fewer.remove(gone);
            let said = damage(&fewer, &seal).join("\n");
            assert!(
                said.contains(&format!("line {}", gone + 1)) && said.contains("missing"),
                "{gone}: {said}"
            );
            let mut more = lines.clone();
            more.insert(gone, lines[gone].clone());
            let said = damage(&more, &seal).join("\n");
            // The last line twice: the second copy was never acknowledged, and goes on no chain.
            assert!(
                gone == 5 || said.contains(&format!("line {}: it stands there 2 times", gone + 1)),
                "{gone}: {said}"
            );
        }
        for (a, b) in [(0, 1), (1, 4), (2, 5)] {
            let mut exchanged = lines.clone();
            exchanged.swap(a, b);
            let said = damage(&exchanged, &seal).join("\n");
            assert!(
                said.contains(&format!("line {}: it stands in the wrong place", a + 1))
                    || said.contains(&format!("line {}: it stands in the wrong place", b + 1)),
                "{said}"
            );
        }
    }

    #[test]
    fn what_a_crash_left_after_the_seal_is_dropped_and_whole_lines_count() {
        let (lines, _) = manifest(4);
        let (_, seal) = manifest(2);
        let whole = lines.concat();
        let two: usize = lines[..2].iter().map(String::len).sum();
        let three: usize = lines[..3].iter().map(String::len).sum();
        for n in two..=whole.len() {
            let chain = check_chain(&whole.as_bytes()[..n], &FoundSeal::Whole(seal.clone()));
            assert_eq!(chain.damages, []);
            let expected = match n {
                n if n < three => 2,
                n if n < whole.len() => 3,
                _ => 4,
            };
            assert_eq!(chain.n_lines, expected, "{n} bytes");
            assert_eq!(chain.n_bytes + chain.n_torn_bytes, n as u64);
        }
        // Zeros where the disk had reserved room and not yet written.
        let mut zeros = lines[..2].concat().into_bytes();
        zeros.extend([0; 300]);
        zeros.push(b'\n');
        let chain = check_chain(&zeros, &FoundSeal::Whole(seal));
        assert_eq!((chain.n_lines, chain.n_torn_bytes), (2, 301));
        assert_eq!(chain.damages, []);
    }

    #[test]
    fn manifest_cut_at_any_byte_before_its_seal_is_damaged() {
        let (lines, seal) = manifest(4);
        let whole = lines.concat();
        for n in 0..whole.len() {
            let chain = check_chain(&whole.as_bytes()[..n], &FoundSeal::Whole(seal.clone()));
            assert!(!chain.damages.is_empty(), "{n} bytes");
        }
    }

    #[test]
    fn manifest_rewritten_from_some_line_on_does_not_fit_its_seal() {
        let (_, seal) = manifest(4);
        let (mut lines, _) = manifest(2);
        let mut last = Fingerprint::of(lines[1].trim_end().as_bytes());
        for n in 3..=4 {
            let (line, fingerprint) = write_line(n, last, event(9)).unwrap();
            lines.push(line);
            last = fingerprint;
        }
        assert_eq!(damage(&lines, &seal), ["manifest, line 4: it was changed"]);
    }
}
