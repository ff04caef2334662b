//! Loads: which cycles and which entries of the log are of the same load.
//!
//! The load number ties them, exactly as written. A number that was used again on another unit or another day is another
//! load, and entries go to the one that is nearest in unit and time. Knows nothing of what the records lack or of
//! slips; see `lacking` and `near_miss`. Read [`join_loads`] first.

use super::chronology::same_unit;
use super::history::{CycleIx, EntryIx, KnownCycle, KnownEntry, Load, LoadIx, Moment};
use super::lacking::incubated_seconds;
use super::moments::Axis;
use super::said::{cycle_said, place};
use super::vials::join_vials;
use crate::diagnose::codes::Code;
use crate::diagnose::{Diagnostic, Span};
use crate::record::cycle::{Cycle, Outcome, Purpose};
use crate::record::entry::EntryBody;
use crate::record::name::{LoadNumber, UnitName};
use std::collections::{BTreeMap, BTreeSet};

/// The longest pause between two cycles of one load on one unit, unless they are of one day: a number that begins anew
/// each morning comes again after a night. Common practice, no source.
const RUN_AGAIN_SECONDS: i64 = 6 * 3_600;

/// The longest pause between two entries of the log that put one load into one unit, where no printout tells more.
/// Common practice, no source.
const WRITTEN_AGAIN_SECONDS: i64 = 12 * 3_600;

/// The same after a cycle that was not completed: the load may wait until it can be wrapped again. Common practice, no
/// source.
const RUN_AGAIN_AFTER_ABORT_SECONDS: i64 = 36 * 3_600;

/// How far the log's entry of a load may be from its cycle: a day or so. Common practice, no source.
const DAY_OR_SO_SECONDS: i64 = 36 * 3_600;

/// How long before a load goes in its entries may be written. Common practice, no source.
const WRITTEN_BEFORE_SECONDS: i64 = 2 * 3_600;

/// How many places a diagnostic names at most.
const N_LABELS: usize = 5;

/// A load being put together. Times are rough seconds: a zone's offset does not matter for what is decided with them.
#[derive(Debug, Default)]
struct Draft<'a> {
    unit: Option<&'a UnitName>,
    from: Option<i64>,
    to: Option<i64>,
    cycles: Vec<CycleIx>,
    starts: Vec<EntryIx>,
    others: Vec<EntryIx>,
}

impl Draft<'_> {
    fn reach(&mut self, from: Option<i64>, to: Option<i64>) {
        self.from = [self.from, from].into_iter().flatten().min();
        self.to = [self.to, to].into_iter().flatten().max();
    }

    /// Seconds from a time to the span of the load; 0 within it.
    fn distance(&self, at: i64) -> Option<i64> {
        let from = self.from?;
        let to = self.to.unwrap_or(from);
        Some((from.saturating_sub(at)).max(at.saturating_sub(to)).max(0))
    }
}

/// What the joins need to look at.
struct Records<'a> {
    cycles: &'a [KnownCycle],
    entries: &'a [KnownEntry],
    /// How far each unit's clock is behind the log's, where that is many hours; see [`find_wrong_dates`].
    wrong_dates: BTreeMap<&'a UnitName, i64>,
}

impl<'a> Records<'a> {
    fn cycle(&self, ix: CycleIx) -> Option<&'a KnownCycle> {
        self.cycles.get(ix.0)
    }

    fn entry(&self, ix: EntryIx) -> Option<&'a KnownEntry> {
        self.entries.get(ix.0)
    }

    fn began(&self, ix: CycleIx) -> Option<i64> {
        let known = self.cycle(ix)?;
        let shift = unit_of(&known.cycle)
            .and_then(|unit| self.wrong_dates.get(unit))
            .copied()
            .unwrap_or(0);
        let began = known.began.as_ref()?.value.rough_seconds();
        Some(began.saturating_add(shift))
    }

    fn ended(&self, ix: CycleIx) -> Option<i64> {
        let began = self.began(ix)?;
        let lasted = self.cycle(ix)?.seconds().unwrap_or(0).max(0);
        Some(began.saturating_add(lasted))
    }

    fn written(&self, ix: EntryIx) -> Option<i64> {
        Some(self.entry(ix)?.written?.rough_seconds())
    }
}

fn unit_of(cycle: &Cycle) -> Option<&UnitName> {
    cycle.unit.as_ref().map(|unit| &unit.value)
}

fn counter_of(cycle: &Cycle) -> Option<u32> {
    cycle.counter.as_ref().map(|counter| counter.value)
}

fn start_counter(known: &KnownEntry) -> Option<u32> {
    match &known.entry.body {
        EntryBody::Load(start) => start.counter.as_ref().map(|counter| counter.value),
        _ => None,
    }
}

/// Joins cycles and entries into loads, sorted by first time, then number. Cycles are in order of unit and time, entries
/// in order of time.
pub(super) fn join_loads(
    cycles: &[KnownCycle],
    entries: &[KnownEntry],
    diagnostics: &mut Vec<Diagnostic>,
) -> Vec<Load> {
    let mut by_number: BTreeMap<&LoadNumber, (Vec<CycleIx>, Vec<EntryIx>)> = BTreeMap::new();
    for (ix, known) in cycles.iter().enumerate() {
        if let Some(load) = &known.cycle.load {
            by_number
                .entry(&load.value)
                .or_default()
                .0
                .push(CycleIx(ix));
        }
    }
    for (ix, known) in entries.iter().enumerate() {
        if let Some(load) = &known.entry.load {
            by_number
                .entry(&load.value)
                .or_default()
                .1
                .push(EntryIx(ix));
        }
    }
    let records = Records {
        cycles,
        entries,
        wrong_dates: find_wrong_dates(&by_number, cycles, entries),
    };
    let cycle_with = CycleWith::among(cycles);

    let mut loads: Vec<Load> = Vec::new();
    for (number, (cycle_ixs, entry_ixs)) in &by_number {
        let drafts = draft_loads(&records, cycle_ixs, entry_ixs);
        if drafts.len() > 1 {
            diagnostics.extend(reused(number, &drafts, &records));
        }
        for draft in drafts {
            say_contradictions(number, &draft, &records, &cycle_with, diagnostics);
            loads.push(finish(number, draft, &records));
        }
    }
    let axis = Axis::of(loads.iter().filter_map(|load| load.first.as_ref()));
    loads.sort_by(|a, b| {
        let key = |load: &Load| {
            (
                load.first.is_none(),
                load.first.as_ref().map(|first| axis.seconds(first)),
            )
        };
        key(a)
            .cmp(&key(b))
            .then_with(|| a.number.cmp(&b.number))
            .then_with(|| a.cycles.cmp(&b.cycles))
            .then_with(|| a.unit.cmp(&b.unit))
    });
    say_halves(&loads, &records, &cycle_with, diagnostics);
    loads
}

/// Cycles by unit, without regard to capitals, and counter.
struct CycleWith<'a> {
    by_name: BTreeMap<(String, u32), Vec<(CycleIx, &'a KnownCycle)>>,
}

impl<'a> CycleWith<'a> {
    fn among(cycles: &'a [KnownCycle]) -> Self {
        let mut by_name: BTreeMap<_, Vec<_>> = BTreeMap::new();
        for (ix, known) in cycles.iter().enumerate() {
            if let (Some(unit), Some(counter)) = (unit_of(&known.cycle), counter_of(&known.cycle)) {
                let key = (unit.in_small_letters(), counter);
                by_name.entry(key).or_default().push((CycleIx(ix), known));
            }
        }
        CycleWith { by_name }
    }

    /// The one cycle with this unit and counter.
    fn only(&self, unit: &UnitName, counter: u32) -> Option<(CycleIx, &'a KnownCycle)> {
        let key = (unit.in_small_letters(), counter);
        match self.by_name.get(&key).map(Vec::as_slice) {
            Some([one]) => Some(*one),
            _ => None,
        }
    }
}

/// Units whose date is wrong: by how many seconds the log is ahead of them, from numbers that one cycle and one entry
/// bear. Only offsets beyond half a day matter here; without this, every load of such a unit would look like a number
/// that was used twice.
fn find_wrong_dates<'a>(
    by_number: &BTreeMap<&LoadNumber, (Vec<CycleIx>, Vec<EntryIx>)>,
    cycles: &'a [KnownCycle],
    entries: &[KnownEntry],
) -> BTreeMap<&'a UnitName, i64> {
    const N_AT_LEAST: usize = 5;
    const HALF_A_DAY: i64 = 12 * 3_600;
    let mut ahead: BTreeMap<&UnitName, Vec<i64>> = BTreeMap::new();
    for (cycle_ixs, entry_ixs) in by_number.values() {
        let [cycle_ix] = cycle_ixs.as_slice() else {
            continue;
        };
        let mut starts = entry_ixs
            .iter()
            .filter_map(|ix| entries.get(ix.0))
            .filter(|known| matches!(known.entry.body, EntryBody::Load(_)));
        let (Some(start), None) = (starts.next(), starts.next()) else {
            continue;
        };
        let Some(known) = cycles.get(cycle_ix.0) else {
            continue;
        };
        let (Some(unit), Some(began), Some(written)) =
            (unit_of(&known.cycle), &known.began, &start.written)
        else {
            continue;
        };
        if known.clock_lost
            || start
                .entry
                .unit
                .as_ref()
                .is_some_and(|written| !same_unit(&written.value, unit))
        {
            continue;
        }
        ahead
            .entry(unit)
            .or_default()
            .push(began.value.seconds_until(written));
    }
    ahead
        .into_iter()
        .filter_map(|(unit, mut seconds)| {
            seconds.sort_unstable();
            let median = *seconds.get(seconds.len() / 2)?;
            // Half of them at least must agree, or the number is simply used every day.
            let n_near = seconds
                .iter()
                .filter(|s| s.abs_diff(median) < HALF_A_DAY.unsigned_abs())
                .count();
            (seconds.len() >= N_AT_LEAST && median.abs() > HALF_A_DAY && n_near > seconds.len() / 2)
                .then_some((unit, median))
        })
        .collect()
}

/// The loads of one number while its entries are given out, findable by time: a short number that comes again every day
/// makes thousands of loads in some years.
#[derive(Default)]
struct Drafts<'a> {
    list: Vec<Draft<'a>>,
    /// How many of them come from printouts; they are the first.
    n_printed: usize,
    /// Those with a time, by their beginning.
    by_from: BTreeSet<(i64, usize)>,
    untimed: BTreeSet<usize>,
    /// The longest of them, in seconds.
    longest: i64,
    by_counter: BTreeMap<u32, Vec<usize>>,
    /// Units without regard to capitals.
    units: BTreeSet<String>,
    /// Where their entries of a start stand.
    by_place: BTreeMap<Place, usize>,
}

type Place = (u32, u64, u32, u32, u32);

/// How many loads of one number are looked at where time does not narrow them down.
const N_LOOKED_AT: usize = 64;

impl<'a> Drafts<'a> {
    fn push(&mut self, draft: Draft<'a>) -> usize {
        let nr = self.list.len();
        self.list.push(draft);
        self.index(nr);
        nr
    }

    fn index(&mut self, nr: usize) {
        let Some(draft) = self.list.get(nr) else {
            return;
        };
        match draft.from {
            Some(from) => {
                self.by_from.insert((from, nr));
                let length = draft.to.unwrap_or(from).saturating_sub(from);
                self.longest = self.longest.max(length);
            }
            None => {
                self.untimed.insert(nr);
            }
        }
        if let Some(unit) = draft.unit {
            self.units.insert(unit.in_small_letters());
        }
    }

    /// Changes a draft and finds it again by its new time.
    fn change(&mut self, nr: usize, change: impl FnOnce(&mut Draft<'a>)) {
        if let Some(draft) = self.list.get_mut(nr) {
            if let Some(from) = draft.from {
                self.by_from.remove(&(from, nr));
            }
            self.untimed.remove(&nr);
            change(draft);
        }
        self.index(nr);
    }

    /// The drafts that a start at this time and with this counter may belong to.
    fn near(&self, at: Option<i64>, counter: Option<u32>) -> Vec<usize> {
        let mut near: Vec<usize> = match at {
            Some(at) => {
                let reach = DAY_OR_SO_SECONDS.saturating_add(self.longest);
                let from = (at.saturating_sub(reach), 0);
                let to = (at.saturating_add(DAY_OR_SO_SECONDS), usize::MAX);
                self.by_from.range(from..=to).map(|(_, nr)| *nr).collect()
            }
            None => (0..self.list.len().min(N_LOOKED_AT)).collect(),
        };
        near.extend(self.untimed.iter().take(N_LOOKED_AT));
        if let Some(with_counter) = counter.and_then(|counter| self.by_counter.get(&counter)) {
            near.extend(with_counter.iter().take(N_LOOKED_AT));
        }
        near.sort_unstable();
        near.dedup();
        near
    }

    fn is_of(&self, nr: usize, unit: Option<&UnitName>) -> bool {
        match (unit, self.list.get(nr).and_then(|draft| draft.unit)) {
            (Some(written), Some(unit)) => same_unit(written, unit),
            _ => true,
        }
    }
}

/// Splits the records of one number into loads.
fn draft_loads<'a>(
    records: &Records<'a>,
    cycle_ixs: &[CycleIx],
    entry_ixs: &[EntryIx],
) -> Vec<Draft<'a>> {
    let mut drafts = Drafts::default();
    for draft in draft_from_cycles(records, cycle_ixs) {
        let counters: Vec<u32> = draft
            .cycles
            .iter()
            .filter_map(|ix| counter_of(&records.cycle(*ix)?.cycle))
            .collect();
        let nr = drafts.push(draft);
        for counter in counters {
            drafts.by_counter.entry(counter).or_default().push(nr);
        }
    }
    drafts.n_printed = drafts.list.len();
    let (starts, others): (Vec<EntryIx>, Vec<EntryIx>) = entry_ixs.iter().partition(|ix| {
        records
            .entry(**ix)
            .is_some_and(|known| matches!(known.entry.body, EntryBody::Load(_)))
    });
    // Those that agree with a printout first; what contradicts it is judged in their light.
    let (agreeing, doubtful): (Vec<EntryIx>, Vec<EntryIx>) = starts.into_iter().partition(|ix| {
        let counter = records.entry(*ix).and_then(start_counter);
        let near = drafts.near(records.written(*ix), counter);
        near.iter()
            .filter_map(|nr| drafts.list.get(*nr))
            .any(|draft| judge_start(records, draft, *ix).is_some_and(|fit| fit.n_against == 0))
    });
    for ix in agreeing.into_iter().chain(doubtful) {
        give_start(records, &mut drafts, ix);
    }
    for ix in others {
        give_other(records, &mut drafts, ix);
    }
    drafts.list
}

fn draft_from_cycles<'a>(records: &Records<'a>, cycle_ixs: &[CycleIx]) -> Vec<Draft<'a>> {
    let mut drafts: Vec<Draft<'a>> = Vec::new();
    let mut before: Option<&KnownCycle> = None;
    for ix in cycle_ixs {
        let Some(known) = records.cycle(*ix) else {
            continue;
        };
        let unit = unit_of(&known.cycle);
        let (began, ended) = (records.began(*ix), records.ended(*ix));
        // Cycles are in order of unit and time, so only the last draft can go on.
        let goes_on = drafts.last().is_some_and(|draft| {
            draft.unit == unit
                && match (draft.to, began) {
                    (Some(to), Some(began)) => {
                        let pause = began.saturating_sub(to);
                        before.is_some_and(|before| runs_again(before, known, pause))
                    }
                    _ => true,
                }
        });
        before = Some(known);
        if !goes_on {
            drafts.push(Draft {
                unit,
                ..Draft::default()
            });
        }
        if let Some(draft) = drafts.last_mut() {
            draft.cycles.push(*ix);
            draft.reach(began, ended);
        }
    }
    drafts
}

/// Whether a cycle under the number of the one before it on the same unit is the same load, run again.
fn runs_again(before: &KnownCycle, known: &KnownCycle, pause: i64) -> bool {
    let completed = matches!(
        before.cycle.outcome.as_ref().map(|outcome| &outcome.value),
        Some(Outcome::Completed | Outcome::Passed)
    );
    let day = |known: &KnownCycle| Some(known.began.as_ref()?.value.local.date());
    let same_day = day(before).is_some() && day(before) == day(known);
    if completed {
        same_day || pause <= RUN_AGAIN_SECONDS
    } else {
        pause <= RUN_AGAIN_AFTER_ABORT_SECONDS
    }
}

/// How an entry of a load's start fits a draft.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Fit {
    n_against: usize,
    distance: i64,
    unit_against: bool,
}

/// How a start fits a draft; `None` when they are too far apart in time to be the same load.
fn judge_start(records: &Records<'_>, draft: &Draft<'_>, ix: EntryIx) -> Option<Fit> {
    let known = records.entry(ix)?;
    let unit_agrees = match (&known.entry.unit, draft.unit) {
        (Some(written), Some(unit)) => Some(same_unit(&written.value, unit)),
        _ => None,
    };
    let printed: Vec<u32> = draft
        .cycles
        .iter()
        .filter_map(|ix| counter_of(&records.cycle(*ix)?.cycle))
        .collect();
    let counter_agrees = match start_counter(known) {
        Some(counter) if printed.len() == draft.cycles.len() && !printed.is_empty() => {
            Some(printed.contains(&counter))
        }
        _ => None,
    };
    let distance = records.written(ix).and_then(|at| draft.distance(at));
    let certain = unit_agrees == Some(true) && counter_agrees == Some(true);
    if !certain && distance.is_some_and(|distance| distance > DAY_OR_SO_SECONDS) {
        return None;
    }
    Some(Fit {
        n_against: [unit_agrees, counter_agrees]
            .iter()
            .filter(|agrees| **agrees == Some(false))
            .count(),
        distance: distance.unwrap_or(DAY_OR_SO_SECONDS),
        unit_against: unit_agrees == Some(false),
    })
}

fn give_start<'a>(records: &Records<'a>, drafts: &mut Drafts<'a>, ix: EntryIx) {
    let Some(known) = records.entry(ix) else {
        return;
    };
    let unit = known.entry.unit.as_ref().map(|unit| &unit.value);
    let at = records.written(ix);
    let best = drafts
        .near(at, start_counter(known))
        .into_iter()
        .filter_map(|nr| {
            let draft = drafts.list.get(nr)?;
            let fit = judge_start(records, draft, ix)?;
            let printed = nr < drafts.n_printed;
            // A printout's load that the log already knows on its own unit is not this one on another.
            let taken = printed && fit.unit_against && !draft.starts.is_empty();
            // Without a printout, only the log's own words tell loads apart: another unit is another load, and so is
            // another day.
            let apart = !printed
                && (fit.unit_against
                    || matches!((draft.to, at), (Some(to), Some(at))
                        if at.saturating_sub(to) > WRITTEN_AGAIN_SECONDS));
            (!taken && !apart).then_some((fit, nr))
        })
        .min();
    let nr = match best {
        Some((_, nr)) => nr,
        None => drafts.push(Draft::default()),
    };
    drafts.change(nr, |draft| {
        draft.starts.push(ix);
        draft.unit = draft.unit.or(unit);
        draft.reach(at, at);
    });
    drafts.by_place.insert(place(&known.entry.span), nr);
}

fn give_other<'a>(records: &Records<'a>, drafts: &mut Drafts<'a>, ix: EntryIx) {
    let Some(known) = records.entry(ix) else {
        return;
    };
    let written = known.entry.unit.as_ref().map(|unit| &unit.value);
    // A unit that no load of this number has is a contradiction to be said, and doesn't part the entry from its load.
    let unit = written.filter(|unit| drafts.units.contains(&unit.in_small_letters()));
    // A biological indicator is read days later; it belongs to the load after which it was put to incubation.
    let at = match &known.entry.body {
        EntryBody::Bi(bi) => incubated_seconds(known, bi),
        _ => records.written(ix),
    };
    let untimed = || {
        drafts
            .untimed
            .iter()
            .copied()
            .take(N_LOOKED_AT)
            .find(|nr| drafts.is_of(*nr, unit))
    };
    let nearest = match at {
        // The latest load that had begun by then, give or take; else the next one.
        Some(at) => {
            let begun = at.saturating_add(WRITTEN_BEFORE_SECONDS);
            let latest = drafts
                .by_from
                .range(..=(begun, usize::MAX))
                .rev()
                .take(N_LOOKED_AT)
                .find(|(_, nr)| drafts.is_of(*nr, unit));
            let next = || {
                drafts
                    .by_from
                    .range((begun, usize::MAX)..)
                    .take(N_LOOKED_AT)
                    .take_while(|(from, _)| from.saturating_sub(at) <= DAY_OR_SO_SECONDS)
                    .find(|(_, nr)| drafts.is_of(*nr, unit))
            };
            latest.or_else(next).map(|(_, nr)| *nr).or_else(untimed)
        }
        // Without a time, the load whose entry stands above it in the same file; else the first.
        None => {
            let here = place(&known.entry.span);
            let file_begins = (here.0, 0, 0, 0, 0);
            let above = drafts.by_place.range(file_begins..here).next_back();
            above
                .map(|(_, nr)| *nr)
                .or_else(|| (!drafts.list.is_empty()).then_some(0))
        }
    };
    let nr = nearest.unwrap_or_else(|| {
        drafts.push(Draft {
            unit: written,
            ..Draft::default()
        })
    });
    drafts.change(nr, |draft| {
        if draft.cycles.is_empty() && draft.starts.is_empty() {
            draft.reach(at, at);
        }
        draft.others.push(ix);
    });
}

/// Where a draft's first record gives its number.
fn number_span(draft: &Draft<'_>, records: &Records<'_>) -> Option<Span> {
    let of_cycle = draft
        .cycles
        .first()
        .and_then(|ix| Some(records.cycle(*ix)?.cycle.load.as_ref()?.span));
    let of_entry = || {
        let ix = draft.starts.first().or(draft.others.first())?;
        Some(records.entry(*ix)?.entry.load.as_ref()?.span)
    };
    of_cycle.or_else(of_entry)
}

fn reused(number: &LoadNumber, drafts: &[Draft<'_>], records: &Records<'_>) -> Option<Diagnostic> {
    let mut places: Vec<(Option<i64>, Span, String)> = drafts
        .iter()
        .filter_map(|draft| {
            let span = number_span(draft, records)?;
            let said = match draft.cycles.first().and_then(|ix| records.cycle(*ix)) {
                Some(known) => cycle_said(&known.cycle),
                None => match draft.unit {
                    Some(unit) => format!("in the log, for {unit}"),
                    None => "in the log".to_owned(),
                },
            };
            Some((draft.from, span, said))
        })
        .collect();
    places.sort();
    let n_loads = drafts.len();
    let (_, last, last_said) = places.pop()?;
    let mut diagnostic = Diagnostic::at(
        Code::LoadNumberReused,
        last,
        format!(
            "load number {number} stands for {n_loads} loads, on different units or days; they are kept apart, and the log's entries go to the nearest"
        ),
    )
    .caption(last_said);
    for (_, span, said) in places.into_iter().rev().take(N_LABELS) {
        diagnostic = diagnostic.label(span, said);
    }
    Some(diagnostic)
}

/// Says where the log gives a load another unit or counter than its printouts do.
fn say_contradictions(
    number: &LoadNumber,
    draft: &Draft<'_>,
    records: &Records<'_>,
    cycle_with: &CycleWith<'_>,
    diagnostics: &mut Vec<Diagnostic>,
) {
    let printed: Vec<&KnownCycle> = draft
        .cycles
        .iter()
        .filter_map(|ix| records.cycle(*ix))
        .collect();
    let Some(first) = printed.first() else {
        return;
    };
    for ix in draft.starts.iter().chain(&draft.others) {
        let Some(known) = records.entry(*ix) else {
            continue;
        };
        let written_unit = known.entry.unit.as_ref();
        let other_unit = written_unit.filter(|written| {
            printed.iter().all(|known| {
                unit_of(&known.cycle).is_some_and(|unit| !same_unit(&written.value, unit))
            })
        });
        let written_counter = match &known.entry.body {
            EntryBody::Load(start) => start.counter.as_ref(),
            _ => None,
        };
        let other_counter = written_counter.filter(|written| {
            printed
                .iter()
                .all(|known| counter_of(&known.cycle).is_some_and(|c| c != written.value))
        });
        let (what, span) = match (other_unit, other_counter) {
            (Some(unit), Some(counter)) => {
                (format!("{} cycle {}", unit.value, counter.value), unit.span)
            }
            (Some(unit), None) => (format!("{}", unit.value), unit.span),
            (None, Some(counter)) => (format!("cycle {}", counter.value), counter.span),
            (None, None) => continue,
        };
        let printed_span = match (other_unit, &first.cycle.unit, &first.cycle.counter) {
            (Some(_), Some(unit), _) => unit.span,
            (None, _, Some(counter)) => counter.span,
            _ => first.cycle.opening,
        };
        let mut diagnostic = Diagnostic::at(
            Code::LogContradictsPrintout,
            span,
            format!(
                "the log gives {what} for load {number}, its printout is of {}",
                cycle_said(&first.cycle)
            ),
        )
        .caption("in the log")
        .label(printed_span, "as printed");
        let unit = written_unit
            .map(|unit| &unit.value)
            .or(unit_of(&first.cycle));
        if let (Some(unit), Some(counter)) = (unit, written_counter)
            && let Some((_, there)) = cycle_with.only(unit, counter.value)
            && let Some(load) = &there.cycle.load
        {
            diagnostic = diagnostic
                .label(load.span, "the load of the cycle that the log gives")
                .help(format!(
                    "{} is printed with load {}; find out which number is right, and correct the log",
                    cycle_said(&there.cycle),
                    load.value
                ));
        }
        diagnostics.push(diagnostic);
    }
}

fn finish(number: &LoadNumber, draft: Draft<'_>, records: &Records<'_>) -> Load {
    let mut load = Load {
        number: number.clone(),
        unit: draft.unit.cloned(),
        first: None,
        cycles: draft.cycles,
        starts: draft.starts,
        contents: Vec::new(),
        cis: Vec::new(),
        bis: Vec::new(),
        superseded_bis: Vec::new(),
        decisions: Vec::new(),
        remarks: Vec::new(),
        lacking: Vec::new(),
    };
    load.cycles.sort_unstable();
    load.starts.sort_unstable();
    let mut others = draft.others;
    others.sort_unstable();
    let mut bis = Vec::new();
    for ix in others {
        let Some(known) = records.entry(ix) else {
            continue;
        };
        match &known.entry.body {
            EntryBody::Load(_) => load.starts.push(ix),
            EntryBody::Content(_) => load.contents.push(ix),
            EntryBody::Ci(_) => load.cis.push(ix),
            EntryBody::Bi(_) => bis.push(ix),
            EntryBody::Release | EntryBody::Hold | EntryBody::Recall => load.decisions.push(ix),
            EntryBody::Lot(_) | EntryBody::Service | EntryBody::Remark => load.remarks.push(ix),
        }
    }
    let vials = join_vials(&bis, records.entries);
    load.bis = vials.latest;
    load.superseded_bis = vials.superseded;

    let began = load
        .cycles
        .iter()
        .filter_map(|ix| Some(records.cycle(*ix)?.began.as_ref()?.value));
    let written = load.entries().filter_map(|ix| records.entry(ix)?.written);
    let moments: Vec<Moment> = began.chain(written).collect();
    let axis = Axis::of(&moments);
    load.first = moments
        .into_iter()
        .min_by_key(|moment| (axis.seconds(moment), *moment));
    load
}

/// Says which loads have only one half: no printout, or nothing in the log; and which cycles carry no number.
fn say_halves(
    loads: &[Load],
    records: &Records<'_>,
    cycle_with: &CycleWith<'_>,
    diagnostics: &mut Vec<Diagnostic>,
) {
    if records.cycles.is_empty() {
        if !loads.is_empty() {
            diagnostics.push(
                Diagnostic::general(
                    Code::LoadWithoutPrintout,
                    format!(
                        "no printout was read, so none of the log's {} loads has one",
                        loads.len()
                    ),
                )
                .help("read the folder that holds the printouts, too"),
            );
        }
        return;
    }
    let no_log = records.entries.is_empty();
    if no_log && !loads.is_empty() {
        diagnostics.push(
            Diagnostic::general(
                Code::CycleWithoutLog,
                format!(
                    "no indicator log was read, so none of the {} printed loads has entries",
                    loads.len()
                ),
            )
            .help("read the folder that holds the indicator logs, too"),
        );
    }
    for load in loads {
        if load.cycles.is_empty() {
            if let Some(diagnostic) = without_printout(load, records, cycle_with) {
                diagnostics.push(diagnostic);
            }
        } else if load.n_entries() == 0
            && !no_log
            && let Some(diagnostic) = without_log(load, records)
        {
            diagnostics.push(diagnostic);
        }
    }
    let mut log_names: BTreeMap<CycleIx, &LoadNumber> = BTreeMap::new();
    for load in loads {
        for ix in &load.starts {
            if let Some(known) = records.entry(*ix)
                && let Some((cycle, _)) = cycle_of_start(known, cycle_with)
            {
                log_names.insert(cycle, &load.number);
            }
        }
    }
    for (ix, known) in records.cycles.iter().enumerate() {
        let cycle = &known.cycle;
        if cycle.load.is_some() || cycle.purpose != Purpose::Load {
            continue;
        }
        let mut diagnostic = Diagnostic::at(
            Code::CycleWithoutLoad,
            cycle.opening,
            format!("{} carries no load number", cycle_said(cycle)),
        )
        .caption("this printout");
        if let Some(number) = log_names.get(&CycleIx(ix)) {
            diagnostic = diagnostic.help(format!(
                "the log gives load {number} for this unit and counter; if that is right, write it on the strip and in the file"
            ));
        }
        diagnostics.push(diagnostic);
    }
}

/// The one cycle whose unit and counter a start gives.
fn cycle_of_start<'a>(
    known: &KnownEntry,
    cycle_with: &CycleWith<'a>,
) -> Option<(CycleIx, &'a KnownCycle)> {
    let unit = &known.entry.unit.as_ref()?.value;
    cycle_with.only(unit, start_counter(known)?)
}

fn without_printout(
    load: &Load,
    records: &Records<'_>,
    cycle_with: &CycleWith<'_>,
) -> Option<Diagnostic> {
    let all = [
        &load.starts,
        &load.contents,
        &load.cis,
        &load.bis,
        &load.decisions,
        &load.remarks,
    ];
    let known = records.entry(*all.into_iter().flatten().next()?)?;
    let span = known.entry.load.as_ref()?.span;
    let mut diagnostic = Diagnostic::at(
        Code::LoadWithoutPrintout,
        span,
        format!("load {} is in the log and has no printout", load.number),
    )
    .caption("in the log");
    if let Some((_, there)) = cycle_of_start(known, cycle_with) {
        let said = cycle_said(&there.cycle);
        diagnostic = match &there.cycle.load {
            Some(other) => diagnostic
                .label(other.span, "another load number on that cycle")
                .help(format!(
                    "{said}, which the log gives for it, is printed with load {}; find out which number is right",
                    other.value
                )),
            None => diagnostic
                .label(there.cycle.opening, "that cycle, without load number")
                .help(format!(
                    "{said}, which the log gives for it, carries no load number; if it is this load, write it on the strip and in the file"
                )),
        };
    }
    Some(diagnostic)
}

fn without_log(load: &Load, records: &Records<'_>) -> Option<Diagnostic> {
    let known = records.cycle(*load.cycles.first()?)?;
    let span = known.cycle.load.as_ref()?.span;
    Some(
        Diagnostic::at(
            Code::CycleWithoutLog,
            span,
            format!(
                "load {} ({}) is not in the log",
                load.number,
                cycle_said(&known.cycle)
            ),
        )
        .caption("as printed"),
    )
}

/// Writes into each cycle which load it processed.
pub(super) fn point_to_loads(loads: &[Load], cycles: &mut [KnownCycle]) {
    for (nr, load) in loads.iter().enumerate() {
        for ix in &load.cycles {
            if let Some(known) = cycles.get_mut(ix.0) {
                known.load = Some(LoadIx(nr));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reconcile::case::{bi, ci, content, cycle, local, london, release, start, with};
    use crate::reconcile::history::History;
    use crate::reconcile::join_history;
    use crate::record::entry::{BiGrowth, BiRole, CiPosition, Entry};

    fn join(cycles: Vec<Cycle>, entries: Vec<Entry>) -> (History, Vec<Diagnostic>) {
        join_history(cycles, entries, london())
    }

    /// Number, counters of cycles and lines of entries of each load.
    fn said(history: &History) -> Vec<(String, Vec<u32>, Vec<u32>)> {
        let line = |ix: &EntryIx| history.entries[ix.0].entry.span.line;
        history
            .loads
            .iter()
            .map(|load| {
                let counters = load
                    .cycles
                    .iter()
                    .map(|ix| counter_of(&history.cycles[ix.0].cycle).unwrap_or(0))
                    .collect();
                let mut lines: Vec<u32> = [
                    &load.starts,
                    &load.contents,
                    &load.cis,
                    &load.bis,
                    &load.superseded_bis,
                    &load.decisions,
                    &load.remarks,
                ]
                .into_iter()
                .flatten()
                .map(line)
                .collect();
                lines.sort_unstable();
                (load.number.to_string(), counters, lines)
            })
            .collect()
    }

    fn load(number: &str, counters: &[u32], lines: &[u32]) -> (String, Vec<u32>, Vec<u32>) {
        (number.to_owned(), counters.to_vec(), lines.to_vec())
    }

    fn codes(diagnostics: &[Diagnostic]) -> Vec<&'static str> {
        let mut ids: Vec<_> = diagnostics.iter().map(|d| d.code.id()).collect();
        ids.sort_unstable();
        ids
    }

    #[test]
    fn load_number_ties_cycle_and_entries() {
        let cycles = vec![
            cycle(1, "PL-1", 1042, "2026-03-12 07:41")
                .load("A-1")
                .done(),
            cycle(20, "PL-1", 1043, "2026-03-12 09:00")
                .load("A-2")
                .done(),
        ];
        let entries = vec![
            start(1, "2026-03-12 07:35", "A-1")
                .unit("pl-1")
                .counter(1042)
                .done(),
            content(2, "2026-03-12 07:36", "A-1").done(),
            ci(3, "2026-03-12 08:25", "A-1", CiPosition::External).done(),
            start(4, "2026-03-12 08:55", "A-2").done(),
            release(5, "2026-03-14 09:00", "A-1").done(),
        ];
        let (history, diagnostics) = join(cycles, entries);
        assert_eq!(
            said(&history),
            [
                load("A-1", &[1042], &[1, 2, 3, 5]),
                load("A-2", &[1043], &[4])
            ]
        );
        assert_eq!(codes(&diagnostics), [""; 0]);
        assert_eq!(history.cycles[1].load, Some(LoadIx(1)));
        assert_eq!(
            history.loads[0].unit.as_ref().map(UnitName::as_str),
            Some("PL-1")
        );
    }

    #[test]
    fn load_run_again_the_same_day_is_one_load_with_two_cycles() {
        let cycles = vec![
            cycle(1, "PL-1", 1042, "2026-03-12 15:00")
                .load("A-1")
                .outcome(Outcome::Aborted {
                    stage: None,
                    cause: None,
                })
                .done(),
            cycle(20, "PL-1", 1043, "2026-03-13 07:30")
                .load("A-1")
                .done(),
        ];
        let entries = vec![
            start(1, "2026-03-12 14:55", "A-1").counter(1042).done(),
            start(2, "2026-03-13 07:25", "A-1").counter(1043).done(),
        ];
        let (history, diagnostics) = join(cycles, entries);
        assert_eq!(said(&history), [load("A-1", &[1042, 1043], &[1, 2])]);
        assert_eq!(codes(&diagnostics), [""; 0]);
    }

    #[test]
    fn number_of_a_completed_load_that_comes_again_after_a_night_is_another_load() {
        let again = |at: &str| {
            let cycles = vec![
                cycle(1, "PL-1", 10, "2026-03-12 16:00").load("3").done(),
                cycle(20, "PL-1", 11, at).load("3").done(),
            ];
            join(cycles, Vec::new()).0.loads.len()
        };
        assert_eq!(again("2026-03-12 18:00"), 1);
        assert_eq!(again("2026-03-13 09:00"), 2);
    }

    #[test]
    fn number_used_again_another_day_is_another_load() {
        let cycles = vec![
            cycle(1, "PL-1", 10, "2026-03-12 08:00").load("1").done(),
            cycle(20, "PL-1", 11, "2026-03-13 08:00").load("1").done(),
            cycle(40, "PL-1", 12, "2026-03-14 08:00").load("1").done(),
        ];
        let entries = vec![
            start(1, "2026-03-12 07:55", "1").done(),
            ci(2, "2026-03-12 08:45", "1", CiPosition::External).done(),
            start(3, "2026-03-13 07:55", "1").done(),
            ci(4, "2026-03-13 08:45", "1", CiPosition::External).done(),
            // Put to incubation on the 12th and read on the 13th, after the second load began.
            bi(
                5,
                "2026-03-13 08:50",
                "1",
                BiRole::Test,
                "B771",
                "2026-03-12 08:50",
                Some(BiGrowth::NoGrowth),
            )
            .done(),
            start(6, "2026-03-14 07:55", "1").done(),
        ];
        let (history, diagnostics) = join(cycles, entries);
        assert_eq!(
            said(&history),
            [
                load("1", &[10], &[1, 2, 5]),
                load("1", &[11], &[3, 4]),
                load("1", &[12], &[6])
            ]
        );
        assert_eq!(codes(&diagnostics), ["load-number-reused"]);
        assert_eq!(diagnostics[0].labels.len(), 2);
    }

    #[test]
    fn number_used_on_two_units_is_two_loads_and_entries_go_to_their_unit() {
        let cycles = vec![
            cycle(1, "PL-1", 10, "2026-03-12 08:00").load("A-1").done(),
            cycle(20, "PL-2", 70, "2026-03-12 08:10").load("A-1").done(),
        ];
        let entries = vec![
            start(1, "2026-03-12 08:05", "A-1").unit("PL-2").done(),
            start(2, "2026-03-12 08:06", "A-1").unit("PL-1").done(),
        ];
        let (history, diagnostics) = join(cycles, entries);
        assert_eq!(
            said(&history),
            [load("A-1", &[10], &[2]), load("A-1", &[70], &[1])]
        );
        assert_eq!(codes(&diagnostics), ["load-number-reused"]);
    }

    #[test]
    fn log_entry_days_away_from_its_printout_is_another_load() {
        let cycles = vec![cycle(1, "PL-1", 10, "2026-03-12 08:00").load("A-1").done()];
        let entries = vec![start(1, "2026-03-20 08:05", "A-1").done()];
        let (history, diagnostics) = join(cycles, entries);
        assert_eq!(
            said(&history),
            [load("A-1", &[10], &[]), load("A-1", &[], &[1])]
        );
        assert_eq!(
            codes(&diagnostics),
            [
                "cycle-without-log",
                "load-number-reused",
                "load-without-printout"
            ]
        );
    }

    #[test]
    fn unit_and_counter_that_agree_outweigh_the_clock() {
        let cycles = vec![cycle(1, "PL-1", 10, "2026-03-12 08:00").load("A-1").done()];
        let entries = vec![
            start(1, "2026-03-20 08:05", "A-1")
                .unit("PL-1")
                .counter(10)
                .done(),
        ];
        let (history, _) = join(cycles, entries);
        assert_eq!(said(&history), [load("A-1", &[10], &[1])]);
    }

    #[test]
    fn unit_with_a_wrong_date_keeps_its_loads_together() {
        let mut cycles = Vec::new();
        let mut entries = Vec::new();
        for n in 0..6u32 {
            let number = format!("A-{n}");
            let begun = format!("2026-02-1{n} 08:00");
            let written = format!("2026-03-1{n} 07:55");
            cycles.push(
                cycle(20 * n + 1, "PL-1", n + 1, &begun)
                    .load(&number)
                    .done(),
            );
            entries.push(start(n + 1, &written, &number).done());
        }
        let (history, diagnostics) = join(cycles, entries);
        assert_eq!(history.loads.len(), 6);
        assert!(
            history
                .loads
                .iter()
                .all(|load| load.cycles.len() == 1 && load.starts.len() == 1)
        );
        assert_eq!(codes(&diagnostics), ["clocks-disagree"]);
    }

    #[test]
    fn log_that_gives_another_counter_is_said_with_the_load_it_fits() {
        let cycles = vec![
            cycle(1, "PL-1", 10, "2026-03-12 08:00").load("A-1").done(),
            cycle(20, "PL-1", 11, "2026-03-12 09:00").load("A-2").done(),
        ];
        let entries = vec![
            start(1, "2026-03-12 07:55", "A-1")
                .unit("PL-1")
                .counter(11)
                .done(),
            start(2, "2026-03-12 08:55", "A-2")
                .unit("PL-1")
                .counter(11)
                .done(),
        ];
        let (_, diagnostics) = join(cycles, entries);
        let said = with(&diagnostics, Code::LogContradictsPrintout);
        assert_eq!(said.len(), 1);
        assert_eq!(
            said[0].headline,
            "the log gives cycle 11 for load A-1, its printout is of PL-1 cycle 10"
        );
        assert!(
            said[0]
                .help
                .contains("PL-1 cycle 11 is printed with load A-2")
        );
    }

    #[test]
    fn log_that_gives_another_unit_is_said() {
        let cycles = vec![cycle(1, "PL-1", 10, "2026-03-12 08:00").load("A-1").done()];
        let entries = vec![start(1, "2026-03-12 07:55", "A-1").unit("ST-2").done()];
        let (history, diagnostics) = join(cycles, entries);
        assert_eq!(said(&history), [load("A-1", &[10], &[1])]);
        assert_eq!(codes(&diagnostics), ["log-contradicts-printout"]);
        assert_eq!(history.loads[0].unit, Some(UnitName("PL-1".to_owned())));
    }

    #[test]
    fn halves_are_named() {
        let cycles = vec![
            cycle(1, "PL-1", 10, "2026-03-12 08:00").load("A-1").done(),
            cycle(20, "PL-1", 11, "2026-03-12 09:00").done(),
            cycle(40, "PL-1", 12, "2026-03-12 10:00")
                .purpose(Purpose::WarmUp)
                .done(),
        ];
        let entries = vec![
            start(1, "2026-03-12 08:55", "Q-77")
                .unit("PL-1")
                .counter(11)
                .done(),
        ];
        let (_, diagnostics) = join(cycles, entries);
        assert_eq!(
            codes(&diagnostics),
            [
                "cycle-without-load",
                "cycle-without-log",
                "load-without-printout"
            ]
        );
        let bare = with(&diagnostics, Code::CycleWithoutLoad);
        assert!(bare[0].help.contains("Q-77"));
    }

    #[test]
    fn strips_without_any_log_are_said_once() {
        let cycles = vec![
            cycle(1, "PL-1", 10, "2026-03-12 08:00").load("A-1").done(),
            cycle(20, "PL-1", 11, "2026-03-12 09:00").load("A-2").done(),
        ];
        let (_, diagnostics) = join(cycles, Vec::new());
        assert_eq!(codes(&diagnostics), ["cycle-without-log"]);
        let entries = vec![
            start(1, "2026-03-12 07:55", "A-1").done(),
            start(2, "2026-03-12 08:55", "A-2").done(),
        ];
        let (_, diagnostics) = join(Vec::new(), entries);
        assert_eq!(codes(&diagnostics), ["load-without-printout"]);
    }

    /// How many loads two completed cycles of one number and unit make.
    fn n_loads_of(first: &str, second: &str) -> usize {
        let cycles = vec![
            cycle(1, "PL-1", 10, first).ended(3_600).load("3").done(),
            cycle(20, "PL-1", 11, second).load("3").done(),
        ];
        join(cycles, Vec::new()).0.loads.len()
    }

    #[test]
    fn completed_load_is_run_again_the_same_day_or_within_six_hours() {
        assert_eq!(n_loads_of("2026-03-12 06:00", "2026-03-12 20:00"), 1);
        // Over midnight: six hours after the end of the first, and a minute more.
        assert_eq!(n_loads_of("2026-03-12 22:00", "2026-03-13 05:00"), 1);
        assert_eq!(n_loads_of("2026-03-12 22:00", "2026-03-13 05:01"), 2);
        // The same time another day is not the same day.
        assert_eq!(n_loads_of("2026-03-12 22:00", "2026-04-12 22:30"), 2);
    }

    #[test]
    fn aborted_load_may_wait_a_day_and_a_half() {
        let n_loads = |second: &str| {
            let abort = Outcome::Aborted {
                stage: None,
                cause: None,
            };
            let cycles = vec![
                cycle(1, "PL-1", 10, "2026-03-12 08:00")
                    .ended(3_600)
                    .load("3")
                    .outcome(abort)
                    .done(),
                cycle(20, "PL-1", 11, second).load("3").done(),
            ];
            join(cycles, Vec::new()).0.loads.len()
        };
        assert_eq!(n_loads("2026-03-13 21:00"), 1);
        assert_eq!(n_loads("2026-03-13 21:01"), 2);
    }

    /// How many loads the log makes of these starts of one number, by time and unit, without a printout.
    fn n_in_log(starts: &[(&str, &str)]) -> usize {
        let entries = (1..).zip(starts).map(|(line, (at, unit))| {
            let one = start(line, at, "3");
            if unit.is_empty() { one } else { one.unit(unit) }.done()
        });
        join(Vec::new(), entries.collect()).0.loads.len()
    }

    #[test]
    fn log_alone_parts_loads_by_unit_and_by_half_a_day() {
        let at = "2026-03-12 08:00";
        assert_eq!(n_in_log(&[(at, "PL-1"), ("2026-03-12 20:00", "PL-1")]), 1);
        assert_eq!(n_in_log(&[(at, "PL-1"), ("2026-03-12 20:01", "PL-1")]), 2);
        assert_eq!(n_in_log(&[(at, ""), ("2026-03-12 20:01", "")]), 2);
        assert_eq!(n_in_log(&[(at, "PL-1"), (at, "pl-1")]), 1);
        assert_eq!(n_in_log(&[(at, "PL-1"), (at, "ST-2")]), 2);
        assert_eq!(n_in_log(&[(at, "PL-1"), (at, "")]), 1);
        // From the last entry on, not from the first.
        assert_eq!(
            n_in_log(&[(at, ""), ("2026-03-12 19:00", ""), ("2026-03-13 06:00", "")]),
            1
        );
    }

    #[test]
    fn unit_of_a_load_that_the_log_alone_has_is_the_logs() {
        let unit = |entry: Entry| join(Vec::new(), vec![entry]).0.loads[0].unit.clone();
        let written = Some(UnitName("PL-9".to_owned()));
        let at = "2026-03-12 08:00";
        assert_eq!(unit(start(1, at, "A-1").unit("PL-9").done()), written);
        let external = ci(1, at, "A-1", CiPosition::External);
        assert_eq!(unit(external.unit("PL-9").done()), written);
        assert_eq!(unit(release(1, at, "A-1").done()), None);
    }

    #[test]
    fn start_is_the_printouts_within_a_day_and_a_half_unless_unit_and_counter_agree() {
        let cycles = || vec![cycle(1, "PL-1", 10, "2026-03-12 08:00").load("A-1").done()];
        let n_loads = |entry: Entry| join(cycles(), vec![entry]).0.loads.len();
        assert_eq!(n_loads(start(1, "2026-03-10 20:00", "A-1").done()), 1);
        assert_eq!(n_loads(start(1, "2026-03-10 19:59", "A-1").done()), 2);
        // After its end: 2 445 seconds after 08:00.
        assert_eq!(n_loads(start(1, "2026-03-13 20:40", "A-1").done()), 1);
        assert_eq!(n_loads(start(1, "2026-03-13 20:41", "A-1").done()), 2);
        let late = || start(1, "2026-03-20 08:00", "A-1");
        assert_eq!(n_loads(late().unit("PL-1").counter(10).done()), 1);
        assert_eq!(n_loads(late().unit("PL-1").done()), 2);
        assert_eq!(n_loads(late().counter(10).done()), 2);
        assert_eq!(n_loads(late().unit("PL-2").counter(10).done()), 2);
        assert_eq!(n_loads(late().unit("PL-1").counter(11).done()), 2);
    }

    /// Two cycles of one number a day apart, the first of them with or without its counter, and the start of a load that
    /// gives a counter: the line on which the first of its load's cycles opens.
    fn goes_to(first: Vec<Cycle>, written: &str, counter: u32) -> u32 {
        let mut cycles = first;
        cycles.push(cycle(200, "PL-1", 11, "2026-03-13 08:00").load("1").done());
        let entry = start(1, written, "1").counter(counter).done();
        let (history, _) = join(cycles, vec![entry]);
        let load = history.loads.iter().find(|load| !load.starts.is_empty());
        let ix = load.unwrap().cycles[0];
        history.cycles[ix.0].cycle.opening.line
    }

    #[test]
    fn counter_outweighs_the_distance_and_is_not_held_against_a_strip_that_lost_its_own() {
        let at = "2026-03-12 08:00";
        let whole = || vec![cycle(1, "PL-1", 10, at).load("1").done()];
        let bare = || vec![cycle(1, "PL-1", 0, at).no_counter().load("1").done()];
        // Nearer to the first, but with the counter of the second.
        assert_eq!(goes_to(whole(), "2026-03-12 08:05", 11), 200);
        assert_eq!(goes_to(whole(), "2026-03-12 08:05", 10), 1);
        // Nearer to the second, whose counter is another; the first has none, or may have it on a strip that lost it.
        assert_eq!(goes_to(bare(), "2026-03-12 22:00", 10), 1);
        let mut twice = vec![
            cycle(1, "PL-1", 9, at)
                .load("1")
                .outcome(Outcome::Aborted {
                    stage: None,
                    cause: None,
                })
                .done(),
        ];
        twice.push(
            cycle(20, "PL-1", 0, "2026-03-12 10:00")
                .no_counter()
                .load("1")
                .done(),
        );
        assert_eq!(goes_to(twice, "2026-03-12 23:00", 10), 1);
    }

    #[test]
    fn start_for_another_unit_is_another_load_once_the_log_has_the_printed_one() {
        let cycles = vec![cycle(1, "PL-1", 10, "2026-03-12 08:00").load("A-1").done()];
        let entries = vec![
            start(1, "2026-03-12 07:50", "A-1").unit("ST-9").done(),
            start(2, "2026-03-12 07:55", "A-1").unit("PL-1").done(),
        ];
        let (history, diagnostics) = join(cycles, entries);
        assert_eq!(
            said(&history),
            [load("A-1", &[], &[1]), load("A-1", &[10], &[2])]
        );
        assert_eq!(history.loads[0].unit, Some(UnitName("ST-9".to_owned())));
        let said = with(&diagnostics, Code::LoadNumberReused);
        assert_eq!(
            said[0].headline,
            "load number A-1 stands for 2 loads, on different units or days; they are kept apart, and the log's entries go to the nearest"
        );
        let captions: Vec<&str> = said[0]
            .labels
            .iter()
            .map(|label| label.text.as_str())
            .chain([said[0].caption.as_str()])
            .collect();
        assert_eq!(captions, ["in the log, for ST-9", "PL-1 cycle 10"]);
    }

    #[test]
    fn other_entries_go_to_the_latest_load_begun_of_their_unit_or_to_the_next_within_a_day_and_a_half()
     {
        let cycles = || {
            vec![
                cycle(1, "PL-1", 10, "2026-03-12 08:00").load("1").done(),
                cycle(20, "PL-2", 70, "2026-03-12 12:00").load("1").done(),
                cycle(40, "PL-1", 12, "2026-03-13 08:00").load("1").done(),
            ]
        };
        // The counter of the load that the entry goes to.
        let goes_to = |written: &str, unit: &str| {
            let one = ci(1, written, "1", CiPosition::External);
            let one = if unit.is_empty() { one } else { one.unit(unit) };
            let (history, _) = join(cycles(), vec![one.done()]);
            let load = history.loads.iter().find(|load| !load.cis.is_empty());
            let ix = load.unwrap().cycles.first().copied();
            ix.and_then(|ix| counter_of(&history.cycles[ix.0].cycle))
        };
        assert_eq!(goes_to("2026-03-12 11:00", ""), Some(70));
        assert_eq!(goes_to("2026-03-12 09:59", ""), Some(10));
        // Two hours before a load goes in its entries may be written.
        assert_eq!(goes_to("2026-03-12 10:00", ""), Some(70));
        assert_eq!(goes_to("2026-03-12 11:00", "PL-1"), Some(10));
        assert_eq!(goes_to("2026-03-12 14:00", "pl-1"), Some(10));
        assert_eq!(goes_to("2026-03-14 09:00", "PL-2"), Some(70));
        // Of a unit that none of the loads has, the time alone tells.
        assert_eq!(goes_to("2026-03-12 14:00", "ST-9"), Some(70));
        // Before all of them: the next one, a day and a half off at most.
        assert_eq!(goes_to("2026-03-10 20:00", ""), Some(10));
        assert_eq!(goes_to("2026-03-10 19:59", ""), None);
        assert_eq!(goes_to("2026-03-11 20:00", "PL-2"), Some(70));
        // Without a time and nothing above it: the first.
        assert_eq!(goes_to("", ""), Some(10));
    }

    #[test]
    fn entry_without_a_time_goes_to_the_load_whose_start_stands_above_it() {
        let cycles = vec![
            cycle(1, "PL-1", 10, "2026-03-12 08:00").load("1").done(),
            cycle(20, "PL-1", 11, "2026-03-13 08:00").load("1").done(),
        ];
        let entries = vec![
            start(1, "2026-03-12 07:55", "1").done(),
            release(2, "", "1").done(),
            start(3, "2026-03-13 07:55", "1").done(),
            release(4, "", "1").done(),
        ];
        let (history, _) = join(cycles, entries);
        assert_eq!(
            said(&history),
            [load("1", &[10], &[1, 2]), load("1", &[11], &[3, 4])]
        );
        let (history, _) = join(Vec::new(), vec![release(4, "", "1").done()]);
        assert_eq!(said(&history), [load("1", &[], &[4])]);
    }

    #[test]
    fn entry_written_before_a_load_does_not_make_it_begin_earlier() {
        let cycles = vec![
            cycle(1, "PL-1", 10, "2026-03-12 08:00").load("1").done(),
            cycle(20, "PL-1", 11, "2026-03-13 08:00").load("1").done(),
        ];
        let entries = vec![
            content(1, "2026-03-13 07:00", "1").done(),
            // Put in two and a half hours before the second load, and so of the first.
            bi(
                2,
                "2026-03-13 09:00",
                "1",
                BiRole::Test,
                "B771",
                "2026-03-13 05:30",
                None,
            )
            .done(),
        ];
        let (history, _) = join(cycles, entries);
        assert_eq!(
            said(&history),
            [load("1", &[10], &[2]), load("1", &[11], &[1])]
        );
    }

    /// The hours that the log is found to be ahead of a unit, by one load for each of these.
    fn hours_ahead(hours: &[i64], unit: &str) -> Option<i64> {
        let mut cycles = Vec::new();
        let mut entries = Vec::new();
        for (n, hours) in (0u32..).zip(hours) {
            let number = format!("A-{n}");
            let begun = local("2026-03-12 00:00") + chrono::TimeDelta::days(n.into());
            let written = begun + chrono::TimeDelta::hours(*hours);
            let text = |at: chrono::NaiveDateTime| at.format("%Y-%m-%d %H:%M").to_string();
            cycles.push(
                cycle(20 * n + 1, "PL-1", n + 1, &text(begun))
                    .load(&number)
                    .done(),
            );
            let one = start(n + 1, &text(written), &number);
            entries.push(if unit.is_empty() { one } else { one.unit(unit) }.done());
        }
        let (history, _) = join(cycles, entries);
        let mut by_number: BTreeMap<&LoadNumber, (Vec<CycleIx>, Vec<EntryIx>)> = BTreeMap::new();
        for (ix, known) in history.cycles.iter().enumerate() {
            let number = &known.cycle.load.as_ref().unwrap().value;
            by_number.entry(number).or_default().0.push(CycleIx(ix));
        }
        for (ix, known) in history.entries.iter().enumerate() {
            let number = &known.entry.load.as_ref().unwrap().value;
            by_number.entry(number).or_default().1.push(EntryIx(ix));
        }
        let found = find_wrong_dates(&by_number, &history.cycles, &history.entries);
        found.values().next().map(|seconds| seconds / 3_600)
    }

    #[test]
    fn date_is_wrong_if_most_of_five_loads_are_more_than_half_a_day_off_alike() {
        assert_eq!(hours_ahead(&[13; 5], ""), Some(13));
        assert_eq!(hours_ahead(&[-13; 5], ""), Some(-13));
        assert_eq!(hours_ahead(&[13; 4], ""), None);
        assert_eq!(hours_ahead(&[12; 5], ""), None);
        assert_eq!(hours_ahead(&[1; 9], ""), None);
        assert_eq!(hours_ahead(&[13, 14, 14, 15, 16], ""), Some(14));
        // Three of five within half a day of the median; then one.
        assert_eq!(hours_ahead(&[20, 30, 40, 50, 60], ""), Some(40));
        assert_eq!(hours_ahead(&[27, 28, 40, 52, 53], ""), None);
        // Three of six are not most.
        assert_eq!(hours_ahead(&[20, 60, 100, 101, 102, 140], ""), None);
        assert_eq!(hours_ahead(&[20, 60, 99, 101, 102, 103], ""), Some(101));
        // The log must speak of the same unit.
        assert_eq!(hours_ahead(&[13; 5], "pl-1"), Some(13));
        assert_eq!(hours_ahead(&[13; 5], "ST-9"), None);
    }

    #[test]
    fn contradiction_points_at_what_is_printed_otherwise() {
        let printed = |entry: Entry| {
            let cycles = vec![cycle(1, "PL-1", 10, "2026-03-12 08:00").load("A-1").done()];
            let (_, diagnostics) = join(cycles, vec![entry]);
            let said = with(&diagnostics, Code::LogContradictsPrintout);
            let said = said.first()?;
            Some((said.headline.clone(), said.labels[0].span.line))
        };
        let at = "2026-03-12 07:55";
        // The unit stands on the second line of the strip, the counter on the third.
        let of = |what: &str| {
            format!("the log gives {what} for load A-1, its printout is of PL-1 cycle 10")
        };
        assert_eq!(
            printed(start(1, at, "A-1").unit("ST-2").done()),
            Some((of("ST-2"), 2))
        );
        assert_eq!(
            printed(start(1, at, "A-1").unit("ST-2").counter(11).done()),
            Some((of("ST-2 cycle 11"), 2))
        );
        assert_eq!(
            printed(start(1, at, "A-1").counter(11).done()),
            Some((of("cycle 11"), 3))
        );
        let external = ci(1, at, "A-1", CiPosition::External);
        assert_eq!(printed(external.unit("ST-2").done()), Some((of("ST-2"), 2)));
        assert_eq!(
            printed(start(1, at, "A-1").unit("pl-1").counter(10).done()),
            None
        );
    }
}
