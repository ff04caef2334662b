//! Strips while they are being printed: what of each is complete, and the history of all of them.
//!
//! A strip is *settled* up to the end of its last complete record. What comes after that, a cycle whose end has not come
//! or half a line, waits; it counts as it is when the strip's silence is over. Of a settled strip its records are held,
//! with the SHA-256 of the bytes they were read from, but no bytes. Knows nothing of folders, pipes and screens. Read
//! [`Follower::take`] first, then [`Follower::find_facts`].

use crate::diagnose::{FileId, LineResolver, ShownLine, Span};
use crate::judge::judge_history;
use crate::judge::policy::PolicyBook;
use crate::judge::recall::find_recalls;
use crate::parse::{LayoutChoice, PartEnd, Records, Strictness, read_part};
use crate::reconcile::{Site, join_history};
use crate::report::fact::{self, Fact};
use crate::report::review::{Judged, Reviewed};
use crate::report::scope::Scope;
use crate::source::growth::{find_beginning, n_whole_line_bytes, sha256_of};
use chrono_tz::Tz;
use std::collections::{BTreeMap, BTreeSet};

/// Whether more may come of a strip.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Silence {
    /// What is not complete may yet go on.
    MayEnd,
    /// It has lasted so long, or the pipe has ended: what is there is all there is.
    IsOver,
}

/// How strips are read and judged.
pub struct Ways {
    /// Whether anything is inferred.
    pub strictness: Strictness,
    /// By which layout.
    pub choice: LayoutChoice,
    /// The zone of clocks for which the records name none.
    pub zone: Option<Tz>,
    /// How loads are judged.
    pub book: PolicyBook,
}

/// What became of the bytes of a strip.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Taken {
    /// How many of its bytes are settled, if more than before.
    pub settled: Option<usize>,
    /// What a person may want to know of the file.
    pub notes: Vec<String>,
}

/// A strip, or a log.
struct Strip {
    /// Its name, as shown.
    name: String,
    n_settled: u64,
    /// Of the settled bytes.
    sha256: String,
    records: Records,
    /// Whether there are bytes behind the settled ones.
    waits: bool,
    /// Whether a file or pipe has its name now. Strips that only the archive has, and those of files that are gone, have
    /// none.
    is_there: bool,
}

/// All strips that are followed.
pub struct Follower {
    ways: Ways,
    /// The number of a file is its place here.
    strips: Vec<Strip>,
    /// The strips whose files are there, by name.
    by_name: BTreeMap<String, usize>,
    /// Whether records came in since facts were last found.
    has_changed: bool,
}

impl Follower {
    /// A follower that has read nothing yet.
    pub fn new(ways: Ways) -> Self {
        Follower {
            ways,
            strips: Vec::new(),
            by_name: BTreeMap::new(),
            has_changed: false,
        }
    }

    /// Takes a strip that is kept elsewhere, complete as it is. A file that begins with the same bytes goes on from it.
    pub fn hold(&mut self, name: &str, bytes: &[u8]) {
        let at = self.add(name);
        let file = file_id(at);
        let records = read_part(file, name, bytes, self.ways.strictness, &self.ways.choice).records;
        if let Some(strip) = self.strips.get_mut(at) {
            strip.n_settled = bytes.len() as u64;
            strip.sha256 = sha256_of(bytes);
            strip.records = records;
            strip.is_there = false;
        }
        self.by_name.remove(name);
        self.has_changed = true;
    }

    /// Whether a file of this name is known.
    pub fn has(&self, name: &str) -> bool {
        self.by_name.contains_key(name)
    }

    /// Whether a strip has bytes that are not settled.
    pub fn waits(&self, name: &str) -> bool {
        let strip = self.by_name.get(name).and_then(|at| self.strips.get(*at));
        strip.is_some_and(|strip| strip.waits)
    }

    /// How many bytes of a strip are settled, and whether it was read by a layout.
    pub fn settled(&self, name: &str) -> Option<(u64, bool)> {
        let strip = self.strips.get(*self.by_name.get(name)?)?;
        Some((strip.n_settled, !strip.records.by_layout.is_empty()))
    }

    /// Files that are no longer there: what was read from them stays. Gives their names.
    pub fn leave_out_all_but(&mut self, names: &BTreeSet<String>) -> Vec<String> {
        let gone: Vec<String> = self
            .by_name
            .keys()
            .filter(|name| !names.contains(*name))
            .cloned()
            .collect();
        for name in &gone {
            self.leave(name);
        }
        gone
    }

    /// Ends following a name; what was read under it stays.
    pub fn leave(&mut self, name: &str) {
        if let Some(at) = self.by_name.remove(name)
            && let Some(strip) = self.strips.get_mut(at)
        {
            strip.is_there = false;
            strip.waits = false;
        }
    }

    /// Takes all the bytes that a strip has by now.
    pub fn take(&mut self, name: &str, bytes: &[u8], silence: Silence) -> Taken {
        let mut taken = Taken::default();
        let Some(at) = self.find(name, bytes, &mut taken.notes) else {
            return taken;
        };
        let n_whole = n_whole_line_bytes(bytes);
        let part = |n: usize| {
            let bytes = bytes.get(..n).unwrap_or(bytes);
            read_part(
                file_id(at),
                name,
                bytes,
                self.ways.strictness,
                &self.ways.choice,
            )
        };
        let had = self.strips.get(at).map_or(0, |strip| strip.n_settled);
        let n_had = usize::try_from(had).unwrap_or(usize::MAX);
        if n_whole <= n_had && silence == Silence::MayEnd {
            if let Some(strip) = self.strips.get_mut(at) {
                strip.waits = bytes.len() > n_had;
            }
            return taken;
        }
        let (n_settled, records) = match silence {
            Silence::MayEnd => {
                let whole = part(n_whole);
                match whole.end {
                    PartEnd::Between => (n_whole, whole.records),
                    PartEnd::WithinRow => (n_had, Records::default()),
                    PartEnd::WithinCycle { from } => {
                        let from = usize::try_from(from).unwrap_or(n_had);
                        let records = match from > n_had {
                            true => part(from).records,
                            false => Records::default(),
                        };
                        (from, records)
                    }
                }
            }
            Silence::IsOver => {
                let all = part(bytes.len());
                match all.end {
                    // A last line without its end is whole if it ends a record.
                    PartEnd::Between | PartEnd::WithinRow => (bytes.len(), all.records),
                    PartEnd::WithinCycle { .. } if n_whole == bytes.len() => (n_whole, all.records),
                    PartEnd::WithinCycle { .. } => (n_whole, part(n_whole).records),
                }
            }
        };
        let Some(strip) = self.strips.get_mut(at) else {
            return taken;
        };
        if n_settled > n_had {
            let is_same =
                strip.records.cycles == records.cycles && strip.records.entries == records.entries;
            self.has_changed |= !is_same;
            strip.records = records;
            strip.n_settled = n_settled as u64;
            strip.sha256 = sha256_of(bytes.get(..n_settled).unwrap_or(bytes));
            taken.settled = Some(n_settled);
        }
        strip.waits = bytes.len() as u64 > strip.n_settled;
        taken
    }

    /// The strip that bytes go on from, or a new one. `None` when they are a copy of one that is there.
    fn find(&mut self, name: &str, bytes: &[u8], notes: &mut Vec<String>) -> Option<usize> {
        let own = self.by_name.get(name).copied();
        let sizes: BTreeSet<u64> = self.strips.iter().map(|strip| strip.n_settled).collect();
        let beginnings: BTreeMap<u64, String> = find_beginning(bytes, &sizes).into_iter().collect();
        let goes_on_from = |strip: &Strip| beginnings.get(&strip.n_settled) == Some(&strip.sha256);
        if let Some(at) = own {
            let strip = self.strips.get_mut(at)?;
            if goes_on_from(strip) {
                return Some(at);
            }
            let how = match (bytes.len() as u64) < strip.n_settled {
                true => "is shorter than it was",
                false => "begins otherwise than it did",
            };
            notes.push(format!(
                "{name} {how}; it is read as a new file, and what was read from it before stays"
            ));
            strip.name = format!("{name} (earlier)");
            self.leave(name);
        }
        // Of several beginnings the longest.
        let found = self
            .strips
            .iter()
            .enumerate()
            .filter(|(_, strip)| strip.n_settled > 0 && goes_on_from(strip))
            .max_by_key(|(at, strip)| (strip.n_settled, std::cmp::Reverse(*at)))
            .map(|(at, strip)| (at, strip.is_there, strip.n_settled == bytes.len() as u64));
        match found {
            Some((_, true, true)) => return None,
            Some((at, false, _)) => {
                let strip = self.strips.get_mut(at)?;
                if strip.name != name && own.is_none() {
                    notes.push(format!("{name} goes on from {}", strip.name));
                }
                strip.name = name.to_owned();
                strip.is_there = true;
                self.by_name.insert(name.to_owned(), at);
                return Some(at);
            }
            _ => {}
        }
        Some(self.add(name))
    }

    fn add(&mut self, name: &str) -> usize {
        let at = self.strips.len();
        self.strips.push(Strip {
            name: name.to_owned(),
            n_settled: 0,
            sha256: sha256_of(b""),
            records: Records::default(),
            waits: false,
            is_there: true,
        });
        self.by_name.insert(name.to_owned(), at);
        at
    }

    /// The facts that all records hold, if any came in since they were last found. The whole history is joined and
    /// judged anew, for one entry can change what is known of any load.
    pub fn find_facts(&mut self) -> Option<Vec<Fact>> {
        if !std::mem::take(&mut self.has_changed) {
            return None;
        }
        let mut strips: Vec<&Strip> = self.strips.iter().collect();
        strips.sort_by(|a, b| a.name.cmp(&b.name));
        let cycles = strips.iter().flat_map(|strip| strip.records.cycles.clone());
        let cycles = cycles.collect();
        let entries = strips
            .iter()
            .flat_map(|strip| strip.records.entries.clone());
        let site = Site {
            zone: self.ways.zone,
        };
        let (history, _) = join_history(cycles, entries.collect(), site);
        let judgements = judge_history(&history, &self.ways.book, None);
        let recalls = find_recalls(&history, &self.ways.book, None);
        Some(fact::find_facts(&Reviewed {
            history: &history,
            files: &[],
            unread: &[],
            diagnostics: &[],
            lines: &Names(&self.strips),
            scope: &Scope::default(),
            as_of: None,
            judged: Judged {
                book: &self.ways.book,
                judgements: &judgements,
                recalls: &recalls,
            },
        }))
    }

    /// What was read so far.
    pub fn tally(&self) -> Tally {
        let sum = |n: fn(&Strip) -> usize| self.strips.iter().map(n).sum();
        Tally {
            n_files: self.strips.len(),
            n_cycles: sum(|strip| strip.records.cycles.len()),
            n_entries: sum(|strip| strip.records.entries.len()),
            n_waiting: sum(|strip| usize::from(strip.waits)),
        }
    }
}

/// What was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Tally {
    /// Files, and pieces of a pipe.
    pub n_files: usize,
    /// Printouts.
    pub n_cycles: usize,
    /// Log entries.
    pub n_entries: usize,
    /// Files whose end is not complete.
    pub n_waiting: usize,
}

fn file_id(at: usize) -> FileId {
    FileId(u32::try_from(at).unwrap_or(u32::MAX))
}

/// The strips' names. Their lines are not at hand any more.
struct Names<'a>(&'a [Strip]);

impl LineResolver for Names<'_> {
    fn file_name(&self, file: FileId) -> &str {
        self.0
            .get(file.0 as usize)
            .map_or("?", |strip| strip.name.as_str())
    }

    fn line(&self, _: &Span) -> Option<ShownLine> {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::policy::Preset;
    use crate::parse::layout::shipped::shipped;

    const STRIP: &str = "loadbook printout 1\nunit: PL-1\nprocess: plasma\nprogram: standard\ncounter: 7\nload: P1-07\n\
        operator: HB\nstarted: 2026-03-12 07:41:20\nstage: evacuate, at 07:41:30\n07:41:40 pressure 60.5 Pa\n\
        alarm: 07:50:00, pressure-high\nended: 08:22:05\noutcome: aborted, stage evacuate, cause moisture\nend\n\
        loadbook printout 1\nunit: PL-1\nprocess: plasma\ncounter: 8\nload: P1-08\n\
        started: 2026-03-12 09:41:20\nended: 10:22:05\noutcome: rejected, cause moisture\nend\n";

    fn follower() -> Follower {
        Follower::new(Ways {
            strictness: Strictness::Infer,
            choice: LayoutChoice::ByContent(shipped().to_vec()),
            zone: None,
            book: PolicyBook::of_preset(Preset::Cdc2008),
        })
    }

    /// What would be told, each with the load, once.
    struct Teller {
        keys: BTreeSet<String>,
        told: Vec<String>,
    }

    impl Teller {
        fn new() -> Self {
            Teller {
                keys: BTreeSet::new(),
                told: Vec::new(),
            }
        }

        fn tell(&mut self, follower: &mut Follower) {
            for fact in follower.find_facts().unwrap_or_default() {
                if self.keys.insert(fact.key) {
                    let load = fact.load.unwrap_or_default();
                    let place = fact.place.map(|place| place.to_string());
                    self.told.push(format!(
                        "{load} {} {}",
                        fact.what,
                        place.unwrap_or_default()
                    ));
                }
            }
        }
    }

    /// The answers are what the strip's lines say, by hand.
    const ANSWER: [&str; 2] = [
        "P1-07 Cycle aborted PL-1.txt:13",
        "P1-08 Load rejected PL-1.txt:22",
    ];

    #[test]
    fn a_strip_that_grows_byte_by_byte_tells_each_fact_once_and_never_that_it_is_torn() {
        for text in [
            STRIP.to_owned(),
            STRIP.replace('\n', "\r\n"),
            format!("\u{feff}{STRIP}"),
        ] {
            let (mut follower, mut teller) = (follower(), Teller::new());
            for n in 0..=text.len() {
                follower.take("PL-1.txt", &text.as_bytes()[..n], Silence::MayEnd);
                teller.tell(&mut follower);
                let n_told = teller.told.len();
                // Each is told with the byte that ends its last line, and not before.
                let ended = text.as_bytes()[..n]
                    .windows(4)
                    .filter(|four| four == b"end\n" || *four == b"end\r");
                let ends_in_cr = text.as_bytes()[..n].ends_with(b"end\r");
                assert_eq!(
                    n_told,
                    ended.count() - usize::from(ends_in_cr),
                    "after {n} bytes"
                );
            }
            assert_eq!(teller.told, ANSWER);
            assert!(!follower.waits("PL-1.txt"));
        }
    }

    #[test]
    fn wide_text_grows_byte_by_byte_as_well() {
        let wide: Vec<u8> = std::iter::once(0xFEFF_u16)
            .chain(STRIP.encode_utf16())
            .flat_map(u16::to_le_bytes)
            .collect();
        let (mut follower, mut teller) = (follower(), Teller::new());
        for n in 0..=wide.len() {
            follower.take("PL-1.txt", &wide[..n], Silence::MayEnd);
            teller.tell(&mut follower);
        }
        assert_eq!(teller.told, ANSWER);
    }

    #[test]
    fn any_two_pieces_give_what_the_whole_gives() {
        for n in 0..=STRIP.len() {
            let (mut follower, mut teller) = (follower(), Teller::new());
            for n in [n, STRIP.len()] {
                follower.take("PL-1.txt", &STRIP.as_bytes()[..n], Silence::MayEnd);
                teller.tell(&mut follower);
            }
            assert_eq!(teller.told, ANSWER, "cut after {n} bytes");
        }
    }

    #[test]
    fn a_silence_within_a_cycle_is_told_as_torn_and_its_rest_is_read_when_it_comes_after_all() {
        let cut = STRIP.find("ended").unwrap() + 9;
        let (mut follower, mut teller) = (follower(), Teller::new());
        follower.take("PL-1.txt", &STRIP.as_bytes()[..cut], Silence::MayEnd);
        teller.tell(&mut follower);
        assert!(teller.told.is_empty() && follower.waits("PL-1.txt"));
        let taken = follower.take("PL-1.txt", &STRIP.as_bytes()[..cut], Silence::IsOver);
        // Half a line is not read.
        assert_eq!(taken.settled, STRIP.find("ended"));
        teller.tell(&mut follower);
        assert_eq!(teller.told, ["P1-07 Printout torn off PL-1.txt:11"]);
        follower.take("PL-1.txt", STRIP.as_bytes(), Silence::MayEnd);
        teller.tell(&mut follower);
        assert_eq!(teller.told[1..], ANSWER);
    }

    #[test]
    fn an_end_without_line_feed_counts_when_the_silence_is_over() {
        let (mut follower, mut teller) = (follower(), Teller::new());
        let text = STRIP.trim_end();
        follower.take("PL-1.txt", text.as_bytes(), Silence::MayEnd);
        teller.tell(&mut follower);
        assert_eq!(teller.told, ANSWER[..1]);
        follower.take("PL-1.txt", text.as_bytes(), Silence::IsOver);
        teller.tell(&mut follower);
        assert_eq!(teller.told, ANSWER);
    }

    #[test]
    fn a_next_header_ends_a_torn_cycle() {
        let (mut follower, mut teller) = (follower(), Teller::new());
        let torn = STRIP.replacen(
            "ended: 08:22:05\noutcome: aborted, stage evacuate, cause moisture\nend\n",
            "",
            1,
        );
        follower.take("PL-1.txt", torn.as_bytes(), Silence::MayEnd);
        teller.tell(&mut follower);
        assert_eq!(
            teller.told,
            [
                "P1-07 Printout torn off PL-1.txt:11",
                "P1-08 Load rejected PL-1.txt:19"
            ]
        );
    }

    #[test]
    fn a_renamed_file_tells_nothing_twice_and_its_successor_is_new() {
        let (mut follower, mut teller) = (follower(), Teller::new());
        let first = STRIP.find("end\n").unwrap() + 4;
        let (old, new) = STRIP.as_bytes().split_at(first);
        follower.take("PL-1.txt", old, Silence::MayEnd);
        teller.tell(&mut follower);
        // Rotated: the name is a new file's, and the old bytes have a new name.
        let taken = follower.take("PL-1.txt", new, Silence::MayEnd);
        assert!(
            taken.notes[0].contains("what was read from it before stays"),
            "{taken:?}"
        );
        let taken = follower.take("PL-1.1.txt", old, Silence::MayEnd);
        assert_eq!(taken.notes, ["PL-1.1.txt goes on from PL-1.txt (earlier)"]);
        teller.tell(&mut follower);
        assert_eq!(
            teller.told,
            [
                "P1-07 Cycle aborted PL-1.txt:13",
                "P1-08 Load rejected PL-1.txt:8"
            ]
        );
        // A copy of what is there is not read a second time.
        assert_eq!(
            follower.take("copy.txt", old, Silence::MayEnd),
            Taken::default()
        );
        assert!(!follower.has("copy.txt"));
        assert_eq!(follower.tally().n_cycles, 2);
    }

    #[test]
    fn a_truncated_file_keeps_what_was_read() {
        let (mut follower, mut teller) = (follower(), Teller::new());
        follower.take("PL-1.txt", STRIP.as_bytes(), Silence::MayEnd);
        teller.tell(&mut follower);
        let taken = follower.take("PL-1.txt", b"", Silence::MayEnd);
        assert!(
            taken.notes[0].contains("is shorter than it was"),
            "{taken:?}"
        );
        follower.take("PL-1.txt", STRIP.as_bytes(), Silence::MayEnd);
        teller.tell(&mut follower);
        assert_eq!(teller.told, ANSWER);
    }

    /// The strip of a printer that a layout reads: the same promise.
    #[test]
    fn strips_that_a_layout_reads_are_never_told_as_torn_while_they_grow() {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/layouts");
        let mut n_read = 0;
        let files = walkdir::WalkDir::new(folder).sort_by_file_name();
        for entry in files
            .into_iter()
            .map(Result::unwrap)
            .filter(|entry| entry.file_type().is_file())
        {
            let bytes = std::fs::read(entry.path()).unwrap();
            let bytes = &bytes[..bytes.len().min(6_000)];
            let whole = read_part(
                FileId(0),
                "x",
                bytes,
                Strictness::Infer,
                &follower().ways.choice,
            )
            .records;
            if whole.by_layout.is_empty() {
                continue;
            }
            n_read += 1;
            let torn = |cycles: &[crate::record::cycle::Cycle]| {
                cycles
                    .iter()
                    .filter(|cycle| !cycle.closed)
                    .map(|cycle| cycle.opening.line)
                    .collect::<Vec<_>>()
            };
            let known = torn(&whole.cycles);
            let mut follower = follower();
            for n in (0..=bytes.len()).step_by(7) {
                follower.take("x", &bytes[..n], Silence::MayEnd);
                let strip = &follower.strips[0];
                let seen = torn(&strip.records.cycles);
                assert!(
                    seen.iter().all(|line| known.contains(line)),
                    "{} at {n}: {seen:?}",
                    entry.path().display()
                );
            }
        }
        assert!(n_read > 0);
    }

    #[test]
    fn no_bytes_make_it_fail() {
        for hostile in [
            &b"\xFF\xFE\n"[..],
            b"\0\0\0",
            b"loadbook printout 1",
            b"loadbook log 1,a\n\"",
            b"\xFE\xFF\0",
        ] {
            for silence in [Silence::MayEnd, Silence::IsOver] {
                let mut follower = follower();
                follower.take("\u{1b}[2J", hostile, silence);
                follower.find_facts();
            }
        }
    }
}
