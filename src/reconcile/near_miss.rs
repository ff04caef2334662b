//! Near misses: a load number in the log that may be a slip of the hand for one on a strip.
//!
//! Proposes and never joins. Knows finished loads. Candidates are loads of the log without a printout against loads
//! with one, above all those that lack what the log has there, within a day or so, with unit and counter that agree where the log gives
//! them. Read [`find_near_misses`] first; [`find_slip`] tells slips from other differences.

use super::chronology::same_unit;
use super::history::{EntryIx, KnownCycle, KnownEntry, Load, LoadIx, NearMiss};
use super::said::cycle_said;
use crate::diagnose::Diagnostic;
use crate::diagnose::codes::Code;
use crate::record::entry::{BiRole, CiPosition, EntryBody};
use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};
use strsim::osa_distance;

/// How far apart in time the two may be: a day or so. Common practice, no source.
const NEAR_SECONDS: i64 = 36 * 3_600;

/// Times closer than this count as equally near. Common practice, no source.
const EQUALLY_NEAR_SECONDS: i64 = 2 * 3_600;

/// How many proposals are made for one number at most.
const N_PROPOSED: usize = 3;

/// Load numbers longer than this are not compared.
const LONGEST_NUMBER: usize = 64;

/// A slip of the hand, the likeliest first.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Slip {
    /// Characters that look alike, capitals, or separators: what was meant is plain.
    Alike(String),
    /// Two neighbours swapped.
    Swapped(String),
    /// A character left out or written twice.
    Count(String),
    /// Another digit.
    Digit(String),
}

impl Slip {
    /// The slip in plain words.
    pub fn said(&self) -> &str {
        match self {
            Slip::Alike(said) | Slip::Swapped(said) | Slip::Count(said) | Slip::Digit(said) => said,
        }
    }

    fn rank(&self) -> u8 {
        match self {
            Slip::Alike(_) => 0,
            Slip::Swapped(_) => 1,
            Slip::Count(_) => 2,
            Slip::Digit(_) => 3,
        }
    }
}

/// The Latin letter, digit or sign that a letter of another alphabet looks like. From the Unicode confusables (UTS #39, from
/// memory): the capitals and small letters of Cyrillic and Greek, and the full-width forms, which a keyboard of another
/// language gives.
fn latin(c: char) -> char {
    const LETTERS: &[(char, &str)] = &[
        ('A', "\u{410}\u{391}"),
        ('B', "\u{412}\u{392}"),
        ('C', "\u{421}\u{3f9}"),
        ('E', "\u{415}\u{395}"),
        ('H', "\u{41d}\u{397}"),
        ('I', "\u{406}\u{399}"),
        ('J', "\u{408}"),
        ('K', "\u{41a}\u{39a}"),
        ('M', "\u{41c}\u{39c}"),
        ('N', "\u{39d}"),
        ('O', "\u{41e}\u{39f}\u{43e}\u{3bf}"),
        ('P', "\u{420}\u{3a1}"),
        ('S', "\u{405}"),
        ('T', "\u{422}\u{3a4}"),
        ('X', "\u{425}\u{3a7}"),
        ('Y', "\u{423}\u{3a5}"),
        ('Z', "\u{396}"),
        ('a', "\u{430}"),
        ('c', "\u{441}"),
        ('e', "\u{435}"),
        ('i', "\u{456}"),
        ('p', "\u{440}"),
        ('x', "\u{445}"),
        ('y', "\u{443}"),
    ];
    match c {
        // The full-width forms stand in the order of ASCII (Unicode code chart "Halfwidth and Fullwidth Forms").
        '\u{ff01}'..='\u{ff5e}' => char::from_u32(u32::from(c).saturating_sub(0xFEE0)).unwrap_or(c),
        c if c.is_ascii() => c,
        c => {
            let found = LETTERS.iter().find(|(_, others)| others.contains(c));
            found.map_or(c, |(letter, _)| *letter)
        }
    }
}

/// Characters that are taken for one another, as the one that stands for all of them.
fn alike(c: char) -> char {
    match latin(c).to_ascii_uppercase() {
        'O' => '0',
        'I' | 'L' => '1',
        'S' => '5',
        'B' => '8',
        other => other,
    }
}

fn folded(number: &str) -> String {
    number
        .chars()
        .filter(|c| c.is_alphanumeric())
        .map(alike)
        .collect()
}

/// Which slip of the hand makes `written` of `meant`, if one does.
pub fn find_slip(written: &str, meant: &str) -> Option<Slip> {
    if written == meant {
        return None;
    }
    let (a, b): (Vec<char>, Vec<char>) = (written.chars().collect(), meant.chars().collect());
    if folded(written) == folded(meant) {
        return Some(Slip::Alike(say_alike(&a, &b)));
    }
    if a.len().max(b.len()) > 2 * LONGEST_NUMBER || osa_distance(written, meant) != 1 {
        return None;
    }
    let n_same = a.iter().zip(&b).take_while(|(x, y)| x == y).count();
    let (x, y) = (a.get(n_same).copied(), b.get(n_same).copied());
    let noun = |c: char| {
        if c.is_ascii_digit() {
            "digit"
        } else {
            "character"
        }
    };
    match a.len().cmp(&b.len()) {
        Ordering::Equal => {
            let (x, y) = (x?, y?);
            let next = n_same.saturating_add(1);
            if a.get(next) == Some(&y) && b.get(next) == Some(&x) {
                let what = if x.is_ascii_digit() && y.is_ascii_digit() {
                    "two digits swapped"
                } else {
                    "two characters swapped"
                };
                return Some(Slip::Swapped(what.to_owned()));
            }
            // Letters name units and days; another letter is another thing.
            (x.is_ascii_digit() && y.is_ascii_digit()).then(|| Slip::Digit(format!("{x} for {y}")))
        }
        Ordering::Greater => {
            let extra = x?;
            let before = n_same.checked_sub(1).and_then(|at| a.get(at)).copied();
            let how = if before == Some(extra) {
                "written twice"
            } else {
                "too many"
            };
            Some(Slip::Count(format!("{} {extra} {how}", noun(extra))))
        }
        Ordering::Less => {
            let lost = y?;
            Some(Slip::Count(format!("{} {lost} left out", noun(lost))))
        }
    }
}

/// A character that can be told from one that looks the same: those outside ASCII with their number.
fn told_apart(c: char) -> String {
    if c.is_ascii() {
        c.to_string()
    } else {
        format!("{c} (U+{:04X})", u32::from(c))
    }
}

/// The first pair of look-alikes in plain words; capitals and separators where there is none.
fn say_alike(written: &[char], meant: &[char]) -> String {
    let plain = |chars: &[char]| -> Vec<char> {
        chars
            .iter()
            .copied()
            .filter(|c| c.is_alphanumeric())
            .collect()
    };
    let (a, b) = (plain(written), plain(meant));
    let pair = a.iter().zip(&b).find(|(x, y)| !x.eq_ignore_ascii_case(y));
    match pair {
        Some((x, y)) => format!("{} for {}", told_apart(*x), told_apart(*y)),
        None if a == b => "separators differ".to_owned(),
        None => "capitals differ".to_owned(),
    }
}

/// What a load's entries hold, by kind.
fn kinds(load: &Load, entries: &[KnownEntry]) -> BTreeSet<&'static str> {
    let mut kinds = BTreeSet::new();
    if !load.starts.is_empty() {
        kinds.insert("load");
    }
    if !load.contents.is_empty() {
        kinds.insert("content");
    }
    if !load.decisions.is_empty() {
        kinds.insert("decision");
    }
    for ix in load.cis.iter().chain(&load.bis) {
        kinds.extend(entries.get(ix.0).map(|known| match &known.entry.body {
            EntryBody::Ci(ci) => match ci.position.as_ref().map(|position| position.value) {
                Some(CiPosition::External) => "external CI",
                Some(CiPosition::Internal) => "internal CI",
                Some(CiPosition::TestPack) => "test-pack CI",
                None => "CI",
            },
            EntryBody::Bi(bi) => match bi.role.as_ref().map(|role| role.value) {
                Some(BiRole::Control) => "BI control",
                _ => "BI",
            },
            _ => "other",
        }));
    }
    kinds
}

/// What slips may have in common: the number without look-alikes and separators, and that with one character left out,
/// which two numbers share when one character is changed, added, left out or swapped with its neighbour.
fn visit_keys(number: &str, mut visit: impl FnMut(&str)) {
    let whole = folded(number);
    let n_chars = whole.chars().count();
    if n_chars > LONGEST_NUMBER {
        return;
    }
    visit(&whole);
    let mut key = String::with_capacity(whole.len());
    for left_out in 0..n_chars {
        key.clear();
        let chars = whole.chars().enumerate();
        key.extend(chars.filter(|(at, _)| *at != left_out).map(|(_, c)| c));
        visit(&key);
    }
}

/// One proposal, in the order in which proposals are preferred.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Proposal {
    /// How little else speaks for it: 0 where the counter agrees, 1 where the unit does, 2 where the log gives neither.
    doubt: u8,
    /// Whether the printed load lacks what the log has under the other number: 0 where it does, else 1.
    filled: u8,
    rank: u8,
    /// How many times two hours lie between.
    apart: i64,
    seconds: i64,
    on_strip: LoadIx,
    slip: Slip,
}

/// Finds near misses, in order of the log's loads. `cycles`, `entries` and `loads` are those of one history.
pub(super) fn find_near_misses(
    loads: &[Load],
    cycles: &[KnownCycle],
    entries: &[KnownEntry],
    diagnostics: &mut Vec<Diagnostic>,
) -> Vec<NearMiss> {
    let entry = |ix: &EntryIx| entries.get(ix.0);
    let mut by_key: BTreeMap<String, Vec<(i64, LoadIx)>> = BTreeMap::new();
    let in_log: Vec<(LoadIx, &Load)> = loads
        .iter()
        .enumerate()
        .filter(|(_, load)| load.cycles.is_empty())
        .map(|(nr, load)| (LoadIx(nr), load))
        .collect();
    if in_log.is_empty() {
        return Vec::new();
    }
    // Only what a load of the log may be a slip for is looked for, and of those there are few.
    for (_, load) in &in_log {
        visit_keys(load.number.as_str(), |key| {
            by_key.entry(key.to_owned()).or_default();
        });
    }
    for (nr, load) in loads.iter().enumerate() {
        let began = load
            .cycles
            .iter()
            .filter_map(|ix| Some(cycles.get(ix.0)?.began.as_ref()?.value.rough_seconds()))
            .min();
        if let Some(began) = began {
            visit_keys(load.number.as_str(), |key| {
                if let Some(list) = by_key.get_mut(key) {
                    list.push((began, LoadIx(nr)));
                }
            });
        }
    }
    for list in by_key.values_mut() {
        list.sort_unstable();
    }

    let mut found = Vec::new();
    for (log_ix, log_load) in in_log {
        let Some(at) = load_seconds(log_load, entries) else {
            continue;
        };
        let log_kinds = kinds(log_load, entries);
        let mut candidates: BTreeSet<LoadIx> = BTreeSet::new();
        visit_keys(log_load.number.as_str(), |key| {
            let list = by_key.get(key).map_or(&[][..], Vec::as_slice);
            let first = list.partition_point(|(began, _)| *began < at.saturating_sub(NEAR_SECONDS));
            let near = list.iter().skip(first);
            candidates.extend(
                near.take_while(|(began, _)| *began <= at.saturating_add(NEAR_SECONDS))
                    .map(|(_, ix)| *ix),
            );
        });
        let mut proposals: Vec<Proposal> = candidates
            .into_iter()
            .filter_map(|strip_ix| {
                let strip = loads.get(strip_ix.0)?;
                let slip = find_slip(log_load.number.as_str(), strip.number.as_str())?;
                let filled = match judge_lack(&log_kinds, strip, entries)? {
                    Lacks::Something => 0,
                    // Another digit makes another load as easily as a slip.
                    Lacks::Unclear if matches!(slip, Slip::Digit(_)) => return None,
                    Lacks::Unclear => 1,
                };
                let doubt = doubt(log_load, strip, cycles, entries)?;
                let seconds = strip
                    .cycles
                    .iter()
                    .filter_map(|ix| Some(cycles.get(ix.0)?.began.as_ref()?.value.rough_seconds()))
                    .map(|began| began.abs_diff(at))
                    .min()?;
                let seconds = i64::try_from(seconds).ok()?;
                Some(Proposal {
                    doubt,
                    filled,
                    rank: slip.rank(),
                    apart: seconds / EQUALLY_NEAR_SECONDS,
                    seconds,
                    on_strip: strip_ix,
                    slip,
                })
            })
            .collect();
        proposals.sort();
        let Some(best) = proposals.first().cloned() else {
            continue;
        };
        let preference = |p: &Proposal| (p.doubt, p.filled, p.rank, p.apart);
        proposals.retain(|p| preference(p) == preference(&best));
        proposals.truncate(N_PROPOSED);
        let Some(span) = log_load
            .entries()
            .next()
            .as_ref()
            .and_then(entry)
            .and_then(|known| Some(known.entry.load.as_ref()?.span))
        else {
            continue;
        };
        diagnostics.extend(say(log_load, span, &proposals, loads, cycles));
        found.extend(proposals.into_iter().map(|proposal| NearMiss {
            in_log: log_ix,
            on_strip: proposal.on_strip,
            slip: proposal.slip.said().to_owned(),
            span,
        }));
    }
    found
}

/// When a load of the log went in: as its start says, else by its earliest entry.
fn load_seconds(load: &Load, entries: &[KnownEntry]) -> Option<i64> {
    let written = |ix: &EntryIx| Some(entries.get(ix.0)?.written?.rough_seconds());
    let start = load.starts.iter().filter_map(written).min();
    start.or_else(|| load.first.map(|first| first.rough_seconds()))
}

/// Whether a printed load lacks what the log has under another number.
enum Lacks {
    /// It lacks a kind of entry that stands there.
    Something,
    /// It has entries of each kind that stands there, and may still lack one: sets are many.
    Unclear,
}

/// Judges what a printed load lacks. `None` where both went into a unit by the log and the printed load was not run again:
/// then they are two loads.
fn judge_lack(
    log_kinds: &BTreeSet<&'static str>,
    strip: &Load,
    entries: &[KnownEntry],
) -> Option<Lacks> {
    if log_kinds.contains("load") {
        return (strip.starts.len() < strip.cycles.len()).then_some(Lacks::Something);
    }
    let strip_kinds = kinds(strip, entries);
    let lacks = log_kinds.iter().any(|kind| !strip_kinds.contains(kind));
    Some(if lacks {
        Lacks::Something
    } else {
        Lacks::Unclear
    })
}

/// How little unit and counter speak for it; `None` where they speak against it.
fn doubt(
    log_load: &Load,
    strip: &Load,
    cycles: &[KnownCycle],
    entries: &[KnownEntry],
) -> Option<u8> {
    let unit_agrees = match (&log_load.unit, &strip.unit) {
        (Some(written), Some(unit)) => Some(same_unit(written, unit)),
        _ => None,
    };
    if unit_agrees == Some(false) {
        return None;
    }
    let printed: Vec<u32> = strip
        .cycles
        .iter()
        .filter_map(|ix| Some(cycles.get(ix.0)?.cycle.counter.as_ref()?.value))
        .collect();
    let mut written =
        log_load
            .starts
            .iter()
            .filter_map(|ix| match &entries.get(ix.0)?.entry.body {
                EntryBody::Load(start) => Some(start.counter.as_ref()?.value),
                _ => None,
            });
    match written.next() {
        Some(counter) if printed.contains(&counter) => Some(0),
        Some(_) if !printed.is_empty() => None,
        _ if unit_agrees == Some(true) => Some(1),
        _ => Some(2),
    }
}

fn say(
    log_load: &Load,
    span: crate::diagnose::Span,
    proposals: &[Proposal],
    loads: &[Load],
    cycles: &[KnownCycle],
) -> Option<Diagnostic> {
    let strips: Vec<(&Proposal, &Load)> = proposals
        .iter()
        .filter_map(|proposal| Some((proposal, loads.get(proposal.on_strip.0)?)))
        .collect();
    let named: Vec<String> = strips
        .iter()
        .map(|(proposal, load)| format!("{} ({})", load.number, proposal.slip.said()))
        .collect();
    let (first, rest) = named.split_first()?;
    let named = rest
        .iter()
        .fold(first.clone(), |all, one| format!("{all} or {one}"));
    let mut diagnostic = Diagnostic::at(
        Code::LoadNumberNearMiss,
        span,
        format!(
            "load {} in the log has no printout and may be {named}; they were not joined",
            log_load.number
        ),
    )
    .caption("in the log");
    for (_, load) in strips {
        let printed = load.cycles.first().and_then(|ix| cycles.get(ix.0));
        if let Some(known) = printed
            && let Some(number) = &known.cycle.load
        {
            diagnostic = diagnostic.label(number.span, cycle_said(&known.cycle));
        }
    }
    Some(diagnostic)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reconcile::case::{bi, ci, content, cycle, london, release, start, with};
    use crate::reconcile::history::History;
    use crate::reconcile::join_history;
    use crate::record::cycle::Cycle;
    use crate::record::entry::{BiGrowth, Entry};

    #[track_caller]
    fn slip(written: &str, meant: &str) -> Option<String> {
        find_slip(written, meant).map(|slip| slip.said().to_owned())
    }

    #[test]
    fn slips_of_the_hand_are_told_from_other_numbers() {
        for (written, meant, said) in [
            ("P1-0312-10", "P1-0312-01", "two digits swapped"),
            ("1P-0312-01", "P1-0312-01", "two characters swapped"),
            ("P1-O312-01", "P1-0312-01", "O for 0"),
            ("PI-0312-01", "P1-0312-01", "I for 1"),
            ("Pl-0312-01", "P1-0312-01", "l for 1"),
            ("P1-03S2-01", "P1-0352-01", "S for 5"),
            ("P1-0312-B1", "P1-0312-81", "B for 8"),
            ("P1-0312-OI", "P1-0312-01", "O for 0"),
            ("p1-0312-01", "P1-0312-01", "capitals differ"),
            ("P1-031201", "P1-0312-01", "separators differ"),
            ("P1-0312-1", "P1-0312-01", "digit 0 left out"),
            ("P1-03122-01", "P1-0312-01", "digit 2 written twice"),
            ("P1-03192-01", "P1-0312-01", "digit 9 too many"),
            ("P1-0312-07", "P1-0312-01", "7 for 1"),
        ] {
            assert_eq!(slip(written, meant).as_deref(), Some(said), "{written}");
        }
        for (written, meant) in [
            ("P1-0312-01", "P1-0312-01"),
            ("R1-0312-01", "P1-0312-01"),
            ("P1-0312-23", "P1-0312-01"),
            ("", "P1"),
        ] {
            assert_eq!(slip(written, meant), None, "{written}");
        }
    }

    fn join(cycles: Vec<Cycle>, entries: Vec<Entry>) -> (History, Vec<Diagnostic>) {
        join_history(cycles, entries, london())
    }

    fn pairs(history: &History) -> Vec<(&str, &str)> {
        let number = |ix: LoadIx| history.loads[ix.0].number.as_str();
        history
            .near_misses
            .iter()
            .map(|near| (number(near.in_log), number(near.on_strip)))
            .collect()
    }

    fn strip(line: u32, counter: u32, at: &str, number: &str) -> Cycle {
        cycle(line, "PL-1", counter, at).load(number).done()
    }

    #[test]
    fn slip_in_the_log_is_proposed_and_not_joined() {
        let (history, diagnostics) = join(
            vec![strip(1, 10, "2026-03-12 08:00", "P1-0312-01")],
            vec![
                start(1, "2026-03-12 07:55", "P1-O312-01").done(),
                ci(2, "2026-03-12 08:50", "P1-O312-01", CiPosition::External).done(),
            ],
        );
        assert_eq!(pairs(&history), [("P1-O312-01", "P1-0312-01")]);
        assert_eq!(history.near_misses[0].slip, "O for 0");
        assert_eq!(history.near_misses[0].span.line, 1);
        assert_eq!(history.loads.len(), 2);
        assert_eq!(with(&diagnostics, Code::LoadNumberNearMiss).len(), 1);
        // Said once, not also as a load without a printout.
        assert_eq!(with(&diagnostics, Code::LoadWithoutPrintout).len(), 0);
    }

    #[test]
    fn look_alike_beats_another_digit_and_near_beats_far() {
        let (history, _) = join(
            vec![
                strip(1, 10, "2026-03-12 08:00", "A-101"),
                strip(20, 11, "2026-03-12 09:00", "A-107"),
            ],
            vec![start(1, "2026-03-12 08:55", "A-10I").done()],
        );
        assert_eq!(pairs(&history), [("A-10I", "A-101")]);
        let (history, _) = join(
            vec![
                strip(1, 10, "2026-03-12 08:00", "A-101"),
                strip(20, 11, "2026-03-12 15:00", "A-107"),
            ],
            vec![start(1, "2026-03-12 14:55", "A-105").done()],
        );
        assert_eq!(pairs(&history), [("A-105", "A-107")]);
    }

    #[test]
    fn two_equally_near_are_both_named() {
        let (history, diagnostics) = join(
            vec![
                strip(1, 10, "2026-03-12 08:00", "A-101"),
                strip(20, 11, "2026-03-12 09:00", "A-107"),
            ],
            vec![start(1, "2026-03-12 08:30", "A-105").done()],
        );
        assert_eq!(pairs(&history), [("A-105", "A-101"), ("A-105", "A-107")]);
        let said = with(&diagnostics, Code::LoadNumberNearMiss);
        assert_eq!(said.len(), 1);
        assert!(
            said[0]
                .headline
                .contains("A-101 (5 for 1) or A-107 (5 for 7)")
        );
        assert_eq!(said[0].labels.len(), 2);
    }

    #[test]
    fn unit_or_counter_that_disagrees_rules_it_out() {
        let strips = || vec![strip(1, 10, "2026-03-12 08:00", "A-101")];
        let log = |unit: &str, counter| {
            vec![
                start(1, "2026-03-12 07:55", "A-10I")
                    .unit(unit)
                    .counter(counter)
                    .done(),
            ]
        };
        assert_eq!(join(strips(), log("PL-1", 10)).0.near_misses.len(), 1);
        assert_eq!(join(strips(), log("PL-2", 10)).0.near_misses.len(), 0);
        assert_eq!(join(strips(), log("PL-1", 11)).0.near_misses.len(), 0);
    }

    #[test]
    fn two_days_apart_is_no_near_miss() {
        let (history, _) = join(
            vec![strip(1, 10, "2026-03-12 08:00", "A-101")],
            vec![start(1, "2026-03-14 07:55", "A-10I").done()],
        );
        assert_eq!(history.near_misses.len(), 0);
    }

    #[test]
    fn load_that_the_log_knows_is_not_the_other_one() {
        let (history, _) = join(
            vec![strip(1, 10, "2026-03-12 08:00", "A-101")],
            vec![
                start(1, "2026-03-12 07:55", "A-101").done(),
                start(2, "2026-03-12 09:55", "A-102").done(),
            ],
        );
        assert_eq!(history.near_misses.len(), 0);
    }

    #[test]
    fn single_entry_under_a_slip_goes_to_the_load_that_lacks_it() {
        let strips = || {
            vec![
                strip(1, 10, "2026-03-12 08:00", "A-101"),
                strip(20, 11, "2026-03-12 09:00", "A-110"),
            ]
        };
        // A-11 lacks a digit of both.
        let mut log = vec![
            start(1, "2026-03-12 07:55", "A-101").done(),
            start(2, "2026-03-12 08:55", "A-110").done(),
            ci(3, "2026-03-12 09:50", "A-11", CiPosition::External).done(),
            ci(4, "2026-03-12 08:50", "A-101", CiPosition::External).done(),
        ];
        let (history, _) = join(strips(), log.clone());
        assert_eq!(pairs(&history), [("A-11", "A-110")]);
        // Where both have an external CI, either may have had another.
        log.push(ci(5, "2026-03-12 09:51", "A-110", CiPosition::External).done());
        let (history, _) = join(strips(), log.clone());
        assert_eq!(pairs(&history), [("A-11", "A-110"), ("A-11", "A-101")]);
    }

    #[test]
    fn single_entry_with_another_digit_is_no_near_miss_of_a_load_that_lacks_nothing() {
        let log = |number: &str| {
            vec![
                start(1, "2026-03-12 07:55", "A-101").done(),
                ci(2, "2026-03-12 08:50", "A-101", CiPosition::External).done(),
                ci(3, "2026-03-12 08:51", number, CiPosition::External).done(),
            ]
        };
        let strips = || vec![strip(1, 10, "2026-03-12 08:00", "A-101")];
        assert_eq!(join(strips(), log("A-107")).0.near_misses.len(), 0);
        assert_eq!(join(strips(), log("A-10I")).0.near_misses.len(), 1);
    }

    #[test]
    fn start_under_a_slip_is_proposed_for_a_load_that_was_run_again() {
        let abort = crate::record::cycle::Outcome::Aborted {
            stage: None,
            cause: None,
        };
        let cycles = vec![
            cycle(1, "PL-1", 10, "2026-03-12 08:00")
                .load("A-101")
                .outcome(abort)
                .done(),
            strip(20, 11, "2026-03-12 09:00", "A-101"),
        ];
        let log = vec![
            start(1, "2026-03-12 07:55", "A-101").done(),
            start(2, "2026-03-12 08:55", "A-1O1").done(),
        ];
        assert_eq!(pairs(&join(cycles, log).0), [("A-1O1", "A-101")]);
    }

    #[test]
    fn neighbours_that_happen_to_be_alike_make_no_swap_and_a_letter_makes_no_digit() {
        assert_eq!(slip("A-17", "A-77").as_deref(), Some("1 for 7"));
        assert_eq!(slip("A-77", "A-17").as_deref(), Some("7 for 1"));
        assert_eq!(slip("A-7", "A-C"), None);
        assert_eq!(slip("A-C", "A-7"), None);
        assert_eq!(
            slip("AC-7", "CA-7").as_deref(),
            Some("two characters swapped")
        );
        assert_eq!(
            slip("A-X17", "A-17").as_deref(),
            Some("character X too many")
        );
        assert_eq!(slip("A17", "AX17").as_deref(), Some("character X left out"));
        assert_eq!(slip("117", "17").as_deref(), Some("digit 1 written twice"));
    }

    #[test]
    fn letters_of_another_alphabet_are_told_with_their_number() {
        // Cyrillic А, Greek Ο, full-width Ａ: Unicode 15.0 code charts, from memory.
        for (written, meant, said) in [
            ("\u{410}-1", "A-1", "\u{410} (U+0410) for A"),
            ("A-1\u{39f}", "A-10", "\u{39f} (U+039F) for 0"),
            ("\u{ff21}-1", "A-1", "\u{ff21} (U+FF21) for A"),
            ("A-\u{ff17}", "A-7", "\u{ff17} (U+FF17) for 7"),
        ] {
            assert_eq!(slip(written, meant).as_deref(), Some(said), "{written}");
        }
        assert_eq!(latin('A'), 'A');
        assert_eq!(latin('\u{3a9}'), '\u{3a9}');
        assert_eq!(alike('l'), '1');
        assert_eq!(alike('\u{455}'), '\u{455}');
    }

    #[test]
    fn numbers_too_long_for_a_hand_are_not_compared() {
        // By a slip up to twice 64 characters, among loads up to 64.
        let number = |n: usize, last: char| format!("{}{last}", "4".repeat(n - 1));
        assert!(slip(&number(128, '1'), &number(128, '2')).is_some());
        assert_eq!(slip(&number(129, '1'), &number(129, '2')), None);
        let n_proposed = |n: usize| {
            let (history, _) = join(
                vec![strip(1, 10, "2026-03-12 08:00", &number(n, '1'))],
                vec![start(1, "2026-03-12 07:55", &number(n, '2')).done()],
            );
            history.near_misses.len()
        };
        assert_eq!(n_proposed(64), 1);
        assert_eq!(n_proposed(65), 0);
    }

    #[test]
    fn a_day_and_a_half_is_near_on_either_side_and_a_minute_more_is_not() {
        let n_proposed = |written: &str| {
            let (history, _) = join(
                vec![strip(1, 10, "2026-03-12 08:00", "A-101")],
                vec![start(1, written, "A-10I").done()],
            );
            history.near_misses.len()
        };
        assert_eq!(n_proposed("2026-03-13 20:00"), 1);
        assert_eq!(n_proposed("2026-03-13 20:01"), 0);
        assert_eq!(n_proposed("2026-03-10 20:00"), 1);
        assert_eq!(n_proposed("2026-03-10 19:59"), 0);
    }

    /// Two strips at times, and a number in the log at 12:00.
    fn proposed(written: &str, first: (&str, &str), second: (&str, &str)) -> Vec<String> {
        let (history, _) = join(
            vec![
                strip(1, 10, first.1, first.0),
                strip(20, 11, second.1, second.0),
            ],
            vec![start(1, "2026-03-12 12:00", written).done()],
        );
        let found = pairs(&history);
        found
            .iter()
            .map(|(_, on_strip)| (*on_strip).to_owned())
            .collect()
    }

    #[test]
    fn likelier_slip_is_preferred_and_then_the_nearer_by_two_hours() {
        let near = "2026-03-12 11:30";
        // Swapped before another digit, look-alikes before swapped, left out before another digit.
        assert_eq!(
            proposed("A-113", ("A-131", near), ("A-118", near)),
            ["A-131"]
        );
        assert_eq!(
            proposed("A-I37", ("A-137", near), ("A-3I7", near)),
            ["A-137"]
        );
        assert_eq!(proposed("A-13", ("A-133", near), ("A-18", near)), ["A-133"]);
        // Within the same two hours both are named, beyond them only the nearer.
        let digits = |far: &str| proposed("A-105", ("A-101", far), ("A-107", near));
        assert_eq!(digits("2026-03-12 10:12"), ["A-107", "A-101"]);
        assert_eq!(digits("2026-03-12 09:59"), ["A-107"]);
    }

    #[test]
    fn entry_is_proposed_where_its_kind_lacks() {
        let control = |line: u32, load: &str| {
            let at = "2026-03-12 08:50";
            bi(
                line,
                at,
                load,
                BiRole::Control,
                "B771",
                at,
                Some(BiGrowth::Growth),
            )
            .done()
        };
        let test = |line: u32, load: &str| {
            let at = "2026-03-12 08:50";
            bi(line, at, load, BiRole::Test, "B771", at, None).done()
        };
        let at_ci =
            |line: u32, load: &str, position| ci(line, "2026-03-12 08:50", load, position).done();
        let in_log = |line: u32, kind: &str, load: &str| match kind {
            "content" => content(line, "2026-03-12 07:56", load).done(),
            "decision" => release(line, "2026-03-12 09:00", load).done(),
            "external" => at_ci(line, load, CiPosition::External),
            "internal" => at_ci(line, load, CiPosition::Internal),
            "test pack" => at_ci(line, load, CiPosition::TestPack),
            "control" => control(line, load),
            _ => test(line, load),
        };
        // Another digit is a slip only where the printed load lacks what stands there.
        let n_proposed = |has: &str, under_slip: &str| {
            let (history, _) = join(
                vec![strip(1, 10, "2026-03-12 08:00", "A-101")],
                vec![
                    start(1, "2026-03-12 07:55", "A-101").done(),
                    in_log(2, has, "A-101"),
                    in_log(3, under_slip, "A-107"),
                ],
            );
            history.near_misses.len()
        };
        let kinds = [
            "content",
            "decision",
            "external",
            "internal",
            "test pack",
            "control",
            "test",
        ];
        for has in kinds {
            for under_slip in kinds {
                let n = usize::from(has != under_slip);
                assert_eq!(n_proposed(has, under_slip), n, "{has}, {under_slip}");
            }
        }
    }

    #[test]
    fn counter_counts_only_where_the_strip_has_one_and_a_named_unit_more_than_none() {
        // The log gives a counter that the strip has lost.
        let bare = cycle(1, "PL-1", 0, "2026-03-12 11:30").no_counter();
        let (history, _) = join(
            vec![bare.load("A-101").done()],
            vec![
                start(1, "2026-03-12 12:00", "A-10I")
                    .unit("PL-1")
                    .counter(10)
                    .done(),
            ],
        );
        assert_eq!(history.near_misses.len(), 1);
        // Of two strips alike one is of the unit that the log gives, and the other of none.
        let mut nameless = strip(20, 11, "2026-03-12 11:30", "A-107");
        nameless.unit = None;
        let (history, _) = join(
            vec![strip(1, 10, "2026-03-12 11:30", "A-101"), nameless],
            vec![start(1, "2026-03-12 12:00", "A-105").unit("PL-1").done()],
        );
        assert_eq!(pairs(&history), [("A-105", "A-101")]);
    }
}
