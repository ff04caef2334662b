//! The chronology of one unit: its cycles in order, each with when it began and ended.
//!
//! Knows the unit's printouts and when the log says loads went in, not which cycles belong to which load. Most cycles
//! stand where their clock puts them. One whose clock was lost, or whose strip has no start, stands where its counter
//! puts it, and when it began is inferred from the log or from its neighbours, or stays open. Read [`arrange_unit`]
//! first.

use super::Site;
use super::counters::{Break, Counts, Gap, Mark, Placed, find_gaps, split_counts};
use super::history::{KnownCycle, KnownEntry, Moment};
use super::lost_clocks::{Start, find_lost_clocks};
use super::moments::{Axis, Meaning, read_end, read_stamp};
use super::reprints::Kept;
use super::said::{cycle_said, place};
use crate::diagnose::Diagnostic;
use crate::diagnose::codes::Code;
use crate::record::Inferred;
use crate::record::cycle::Cycle;
use crate::record::entry::EntryBody;
use crate::record::name::UnitName;
use chrono::Datelike;
use chrono_tz::Tz;
use std::collections::BTreeMap;

/// The longest span between two neighbours from which the start of a cycle between them is inferred.
const BRACKET_SECONDS: i64 = 86_400;

/// How much earlier than its neighbours a log's time may be and still count as between them: clocks differ, and loads
/// are written up before they go in. Common practice, no source.
const LOG_SLACK_SECONDS: i64 = 3_600;

/// The cycles of one unit in order, and what their counters tell.
#[derive(Debug, Default)]
pub(super) struct Arranged {
    /// The cycles in order.
    pub cycles: Vec<KnownCycle>,
    /// Where counts begin anew; indices are places in `cycles`.
    pub breaks: Vec<Break>,
    /// Counters without a printout; indices are places in `cycles`.
    pub gaps: Vec<Gap>,
}

/// What the log tells of a unit.
#[derive(Debug, Clone, Copy)]
pub(super) struct LogView<'a> {
    /// The entries that say that a load went into a unit, by load number, in order.
    pub starts: &'a BTreeMap<&'a str, Vec<&'a KnownEntry>>,
    /// The unit's services, in order; those without a time come last.
    pub services: &'a [&'a KnownEntry],
}

/// A cycle on its way to its place.
struct Draft {
    kept: Kept,
    zone: Option<Tz>,
    /// What its printed start means. `None` where there is no start, or none that is believed.
    meaning: Option<Meaning>,
    began: Option<Inferred<Moment>>,
    clock_lost: bool,
    /// The number of its count, once it has one.
    count: Option<usize>,
    /// Its counter can be believed.
    usable: bool,
}

impl Draft {
    fn cycle(&self) -> &Cycle {
        &self.kept.cycle
    }

    fn counter(&self) -> Option<u32> {
        self.cycle().counter.as_ref().map(|counter| counter.value)
    }

    fn into_known(self) -> KnownCycle {
        let ended = self
            .began
            .as_ref()
            .and_then(|began| read_end(self.cycle(), &began.value, self.zone));
        KnownCycle {
            began: self.began,
            ended,
            reprints: self.kept.reprints,
            load: None,
            first_of_day: false,
            clock_lost: self.clock_lost,
            cycle: self.kept.cycle,
        }
    }
}

/// Puts the cycles of one unit in order. Cycles of no named unit are put in order of time only.
pub(super) fn arrange_unit(
    unit: Option<&UnitName>,
    kept: Vec<Kept>,
    site: Site,
    log: LogView<'_>,
    diagnostics: &mut Vec<Diagnostic>,
) -> Arranged {
    let (mut timed, mut untimed) = split_by_belief(kept, site);
    settle_doubled_hours(&mut timed, diagnostics);

    let axis = Axis::of(timed.iter().filter_map(|d| Some(&d.began.as_ref()?.value)));
    timed.sort_by_key(|draft| {
        (
            began_seconds(draft, axis),
            draft.counter(),
            place(&draft.cycle().opening),
        )
    });

    let services: Vec<i64> = log
        .services
        .iter()
        .filter_map(|entry| entry.written.as_ref())
        .map(|written| axis.seconds(written))
        .collect();
    let mut counts = match unit {
        Some(_) => {
            let marks: Vec<Mark<'_>> = timed.iter().map(|draft| mark(draft, axis)).collect();
            split_counts(&marks, &services)
        }
        None => Counts::default(),
    };
    for (ix, draft) in timed.iter_mut().enumerate() {
        draft.count = counts.count.get(ix).copied();
        draft.usable = counts.usable.get(ix).copied().unwrap_or(false);
    }

    untimed.sort_by_key(|draft| (draft.counter(), place(&draft.cycle().opening)));
    let (order, now_at) = place_by_counter(timed, untimed);
    for one in &mut counts.breaks {
        one.after = now_at.get(one.after).copied().unwrap_or(one.after);
        one.before = now_at.get(one.before).copied().unwrap_or(one.before);
    }
    let placed: Vec<Placed> = order
        .iter()
        .map(|draft| Placed {
            count: draft.count,
            counter: draft.counter().filter(|_| draft.usable),
        })
        .collect();
    let gaps = find_gaps(&placed);

    let order = infer_starts(unit, order, log, diagnostics);
    Arranged {
        cycles: order.into_iter().map(Draft::into_known).collect(),
        breaks: counts.breaks,
        gaps,
    }
}

/// Parts cycles whose start is believed from the others.
fn split_by_belief(kept: Vec<Kept>, site: Site) -> (Vec<Draft>, Vec<Draft>) {
    let mut drafts: Vec<Draft> = kept
        .into_iter()
        .map(|kept| {
            let zone = kept.cycle.zone.as_ref().map(|zone| zone.value);
            Draft {
                kept,
                zone: zone.or(site.zone),
                meaning: None,
                began: None,
                clock_lost: false,
                count: None,
                usable: false,
            }
        })
        .collect();
    let mut starts: Vec<(usize, Start)> = drafts
        .iter()
        .enumerate()
        .filter_map(|(ix, draft)| {
            let local = draft.cycle().started.as_ref()?.value.local;
            let start = Start {
                seconds: local.and_utc().timestamp(),
                year: local.year(),
                counter: draft.counter(),
            };
            Some((ix, start))
        })
        .collect();
    starts.sort_by_key(|(ix, start)| (start.seconds, start.counter, *ix));
    let (order, starts): (Vec<usize>, Vec<Start>) = starts.into_iter().unzip();
    for (ix, lost) in order.into_iter().zip(find_lost_clocks(&starts)) {
        let Some(draft) = drafts.get_mut(ix) else {
            continue;
        };
        draft.clock_lost = lost;
        if !lost && let Some(started) = &draft.kept.cycle.started {
            draft.meaning = Some(read_stamp(&started.value, draft.zone));
        }
    }
    drafts
        .into_iter()
        .partition(|draft| draft.meaning.is_some())
}

/// Gives every believed start its moment. Where a local hour came twice, the counter order of the neighbours tells which
/// of the two is meant, if only one of them fits between the neighbours.
fn settle_doubled_hours(timed: &mut [Draft], diagnostics: &mut Vec<Diagnostic>) {
    for draft in timed.iter_mut() {
        let (Some(meaning), Some(started)) = (draft.meaning, &draft.kept.cycle.started) else {
            continue;
        };
        draft.began = Some(match meaning {
            Meaning::Plain(moment) => Inferred::printed(moment),
            Meaning::Doubled { first, .. } => Inferred::printed(first),
            Meaning::Skipped(moment) => {
                let name = cycle_said(&draft.kept.cycle);
                let reason = "clocks skipped this local time; it is read as if the unit's clock had not been put forward";
                diagnostics.push(
                    Diagnostic::at(
                        Code::LocalHourSkipped,
                        started.span,
                        format!("{name} started at a local time that does not exist"),
                    )
                    .caption("clocks skipped this time"),
                );
                Inferred::because(moment, reason)
            }
        });
    }
    let mut by_counter: Vec<(u32, usize)> = timed
        .iter()
        .enumerate()
        .filter_map(|(ix, draft)| Some((draft.counter()?, ix)))
        .collect();
    by_counter.sort_unstable();
    let mut doubled: Vec<(Option<u32>, usize, usize)> = Vec::new();
    for (at, (counter, ix)) in by_counter.iter().enumerate() {
        doubled.push((Some(*counter), at, *ix));
    }
    for (ix, draft) in timed.iter().enumerate() {
        if draft.counter().is_none() {
            doubled.push((None, 0, ix));
        }
    }
    // In ascending order of counters, so that what was settled binds what follows.
    for (counter, at, ix) in doubled {
        let Some(draft) = timed.get(ix) else { continue };
        let Some(Meaning::Doubled { first, second }) = draft.meaning else {
            continue;
        };
        let (moment, reason) = match counter {
            Some(_) => pick_by_counter(timed, &by_counter, at, first, second),
            None => (first, NOTHING_TELLS),
        };
        let cycle = draft.cycle();
        if let Some(started) = &cycle.started {
            diagnostics.push(
                Diagnostic::at(
                    Code::LocalHourDoubled,
                    started.span,
                    format!(
                        "{} started at a local time that came twice; {reason}",
                        cycle_said(cycle)
                    ),
                )
                .caption("clocks passed this time twice"),
            );
        }
        if let Some(draft) = timed.get_mut(ix) {
            draft.began = Some(Inferred::because(
                moment,
                format!("this local time came twice; {reason}"),
            ));
        }
    }
}

const NOTHING_TELLS: &str = "nothing tells which of the two is meant, and the first is taken";

/// Which of two moments fits between the neighbours by counter.
fn pick_by_counter(
    timed: &[Draft],
    by_counter: &[(u32, usize)],
    at: usize,
    first: Moment,
    second: Moment,
) -> (Moment, &'static str) {
    const A_DAY: i64 = 86_400;
    let near = |(_, ix): &&(u32, usize)| {
        timed
            .get(*ix)
            .and_then(|draft| draft.began.as_ref())
            .is_some_and(|began| began.value.seconds_until(&first).abs() <= A_DAY)
    };
    // A new count may lie between in the list, so a few are looked at, and only those of the same day count.
    let before = by_counter.get(..at).unwrap_or_default();
    let before = before.iter().rev().take(8).find(near);
    let after = by_counter.get(at.saturating_add(1)..).unwrap_or_default();
    let after = after.iter().take(8).find(near);
    // The end of the cycle before, and the latest start of the one after.
    let earliest = before.and_then(|(_, ix)| {
        let draft = timed.get(*ix)?;
        let began = draft.began.as_ref()?.value;
        Some(read_end(draft.cycle(), &began, draft.zone).unwrap_or(began))
    });
    let latest = after.and_then(|(_, ix)| match timed.get(*ix)?.meaning? {
        Meaning::Plain(moment) | Meaning::Skipped(moment) => Some(moment),
        Meaning::Doubled { second, .. } => Some(second),
    });
    let fits = |moment: &Moment| {
        earliest.is_none_or(|earliest| earliest.seconds_until(moment) >= 0)
            && latest.is_none_or(|latest| moment.seconds_until(&latest) >= 0)
    };
    match (fits(&first), fits(&second)) {
        (true, false) => (
            first,
            "the first of the two is taken, because the counter puts it before a cycle of that hour",
        ),
        (false, true) => (
            second,
            "the second of the two is taken, because the counter puts it after the end of another cycle",
        ),
        _ => (first, NOTHING_TELLS),
    }
}

fn began_seconds(draft: &Draft, axis: Axis) -> i64 {
    draft
        .began
        .as_ref()
        .map_or(0, |began| axis.seconds(&began.value))
}

fn mark(draft: &Draft, axis: Axis) -> Mark<'_> {
    let cycle = draft.cycle();
    Mark {
        seconds: began_seconds(draft, axis),
        counter: draft.counter(),
        serial: cycle.serial.as_ref().map(|serial| &*serial.value),
        software: cycle.software.as_ref().map(|software| &*software.value),
    }
}

/// Puts cycles without a believed start (in order of counters) among those that have one (in order). Also gives the new
/// place of each cycle of the latter.
fn place_by_counter(timed: Vec<Draft>, untimed: Vec<Draft>) -> (Vec<Draft>, Vec<usize>) {
    let holes = Holes::new(&timed);
    // For each place in `timed`, what is put before it.
    let mut put: Vec<Vec<Draft>> = Vec::new();
    put.resize_with(timed.len().saturating_add(1), Vec::new);
    let mut last = Vec::new();
    for mut draft in untimed {
        match draft.counter().and_then(|counter| holes.find(counter)) {
            Some((count, before)) => {
                draft.count = Some(count);
                draft.usable = true;
                if let Some(slot) = put.get_mut(before) {
                    slot.push(draft);
                }
            }
            None => last.push(draft),
        }
    }
    let mut order = Vec::new();
    let mut now_at = Vec::with_capacity(timed.len());
    let mut put = put.into_iter();
    for draft in timed {
        order.extend(put.next().unwrap_or_default());
        now_at.push(order.len());
        order.push(draft);
    }
    order.extend(put.flatten());
    order.extend(last);
    (order, now_at)
}

/// The usable counters of each count, and the places of their cycles.
struct Holes {
    counts: Vec<BTreeMap<u32, usize>>,
}

/// How far beyond the ends of a count a counter may lie and still belong to it. Common practice, no source: more than a
/// day's cycles of one unit.
const BEYOND_COUNT: u32 = 30;

/// How many counts are looked through, the last ones. A unit that has more began anew with nearly every cycle, and then
/// counters tell no places.
const COUNTS_LOOKED_AT: usize = 64;

impl Holes {
    fn new(timed: &[Draft]) -> Self {
        let mut counts: Vec<BTreeMap<u32, usize>> = Vec::new();
        for (at, draft) in timed.iter().enumerate() {
            let (Some(count), Some(counter)) = (draft.count, draft.counter()) else {
                continue;
            };
            if !draft.usable {
                continue;
            }
            if counts.len() <= count {
                counts.resize_with(count.saturating_add(1), BTreeMap::new);
            }
            if let Some(numbers) = counts.get_mut(count) {
                numbers.entry(counter).or_insert(at);
            }
        }
        Holes { counts }
    }

    /// The count that a counter belongs to and the place before which its cycle comes. `None` when no count has room for
    /// it, or more than one has.
    fn find(&self, counter: u32) -> Option<(usize, usize)> {
        let mut found: Vec<(u32, usize, usize)> = Vec::new();
        for (count, numbers) in self.counts.iter().enumerate().rev().take(COUNTS_LOOKED_AT) {
            let below = numbers.range(..counter).next_back();
            let above = numbers.range(counter..).next();
            let distance = match (below, above) {
                (_, Some((above, _))) if *above == counter => continue,
                (Some(_), Some(_)) => 0,
                (Some((beside, _)), None) | (None, Some((beside, _))) => counter.abs_diff(*beside),
                (None, None) => continue,
            };
            if distance <= BEYOND_COUNT {
                let before = match (below, above) {
                    (Some((_, at)), _) => at.saturating_add(1),
                    (None, Some((_, at))) => *at,
                    (None, None) => continue,
                };
                found.push((distance, count, before));
            }
        }
        found.sort_unstable();
        match (found.first(), found.get(1)) {
            (Some((nearest, ..)), Some((next, ..))) if nearest == next => None,
            (Some((_, count, before)), _) => Some((*count, *before)),
            (None, _) => None,
        }
    }
}

/// A cycle whose start is believed, as a neighbour of one whose start is not.
#[derive(Debug, Clone)]
struct Neighbour {
    began: Moment,
    /// When it ended; when it began, where that isn't known.
    ended: Moment,
    said: String,
}

impl Neighbour {
    fn of(draft: &Draft) -> Option<Self> {
        let began = draft.began.as_ref()?.value;
        Some(Neighbour {
            began,
            ended: read_end(draft.cycle(), &began, draft.zone).unwrap_or(began),
            said: cycle_said(draft.cycle()),
        })
    }
}

/// The nearest believed neighbours of a cycle.
#[derive(Debug, Clone, Default)]
struct Around {
    before: Option<Neighbour>,
    after: Option<Neighbour>,
}

/// The neighbours of each cycle that has no believed start and stands where its counter puts it, by place.
fn find_neighbours(order: &[Draft]) -> Vec<Around> {
    let mut around = vec![Around::default(); order.len()];
    let wanted = |draft: &Draft| draft.began.is_none() && draft.count.is_some();
    let mut last: Option<&Draft> = None;
    for (slot, draft) in around.iter_mut().zip(order) {
        if wanted(draft) {
            slot.before = last.and_then(Neighbour::of);
        } else if draft.began.is_some() {
            last = Some(draft);
        }
    }
    last = None;
    for (slot, draft) in around.iter_mut().zip(order).rev() {
        if wanted(draft) {
            slot.after = last.and_then(Neighbour::of);
        } else if draft.began.is_some() {
            last = Some(draft);
        }
    }
    around
}

/// Infers when cycles without a believed start began, and says which clocks were lost.
fn infer_starts(
    unit: Option<&UnitName>,
    mut order: Vec<Draft>,
    log: LogView<'_>,
    diagnostics: &mut Vec<Diagnostic>,
) -> Vec<Draft> {
    let around = find_neighbours(&order);
    for (draft, around) in order.iter_mut().zip(around) {
        if draft.began.is_some() {
            continue;
        }
        let why = if draft.clock_lost {
            "the unit's clock was lost"
        } else {
            "the printout has no start"
        };
        draft.began = started_by_log(unit, draft, &around, log)
            .map(|moment| {
                Inferred::because(
                    moment,
                    format!("{why}; the log's entry of its load is taken"),
                )
            })
            .or_else(|| started_between(why, &around));
        if draft.clock_lost {
            diagnostics.extend(say_lost(unit, draft));
        }
    }
    order
}

/// The end of the cycle before, if the cycle after began soon enough for that to tell something.
fn started_between(why: &str, around: &Around) -> Option<Inferred<Moment>> {
    let (before, after) = (around.before.as_ref()?, around.after.as_ref()?);
    let pause = before.ended.seconds_until(&after.began);
    (0..=BRACKET_SECONDS).contains(&pause).then(|| {
        Inferred::because(
            before.ended,
            format!(
                "{why}; by its counter it ran between {}, which ended then, and {}, which began at {}",
                before.said,
                after.said,
                after.began.local.format("%Y-%m-%d %H:%M:%S")
            ),
        )
    })
}

fn say_lost(unit: Option<&UnitName>, draft: &Draft) -> Option<Diagnostic> {
    let started = draft.cycle().started.as_ref()?;
    let then = match &draft.began {
        Some(began) => format!(
            "taken as {}, {}",
            began.value.local.format("%Y-%m-%d %H:%M"),
            began.reason.as_deref().unwrap_or("as printed")
        ),
        None => "when it began is not known".to_owned(),
    };
    let diagnostic = Diagnostic::at(
        Code::ClockLost,
        started.span,
        format!(
            "{} carries the date {}, which can't be right; {then}",
            cycle_said(draft.cycle()),
            started.value.local.format("%Y-%m-%d"),
        ),
    )
    .caption("not believed");
    Some(match unit {
        Some(unit) => diagnostic.help(format!(
            "set the clock of {unit}; tie the cycle to its load by counter and load number"
        )),
        None => diagnostic,
    })
}

/// When the log says that the cycle's load went into this unit, if it says so once and no neighbour contradicts it.
fn started_by_log(
    unit: Option<&UnitName>,
    draft: &Draft,
    around: &Around,
    log: LogView<'_>,
) -> Option<Moment> {
    let number = &draft.cycle().load.as_ref()?.value;
    let agrees = |known: &KnownEntry| {
        let unit_agrees = match (&known.entry.unit, unit) {
            (Some(written), Some(unit)) => same_unit(&written.value, unit),
            _ => true,
        };
        let counter_agrees = match (&known.entry.body, draft.counter()) {
            (EntryBody::Load(start), Some(counter)) => start
                .counter
                .as_ref()
                .is_none_or(|written| written.value == counter),
            _ => true,
        };
        unit_agrees && counter_agrees
    };
    let lies_between = |written: &Moment| {
        let not_earlier = around
            .before
            .as_ref()
            .is_none_or(|before| before.began.seconds_until(written) >= -LOG_SLACK_SECONDS);
        let not_later = around
            .after
            .as_ref()
            .is_none_or(|after| written.seconds_until(&after.began) >= -LOG_SLACK_SECONDS);
        not_earlier && not_later
    };
    let mut found: Vec<Moment> = log
        .starts
        .get(number.as_str())?
        .iter()
        .filter(|known| agrees(known))
        .filter_map(|known| known.written)
        .filter(lies_between)
        .collect();
    found.sort_unstable();
    let first = *found.first()?;
    let last = *found.last()?;
    (first.seconds_until(&last) <= BRACKET_SECONDS).then_some(first)
}

/// Whether the log names this unit; people write names in capitals or not.
pub(super) fn same_unit(written: &UnitName, printed: &UnitName) -> bool {
    written
        .as_str()
        .trim()
        .eq_ignore_ascii_case(printed.as_str().trim())
}

#[cfg(test)]
mod tests {
    use crate::diagnose::codes::Code;
    use crate::reconcile::case::{cycle, local, london, start, with};
    use crate::reconcile::history::History;
    use crate::reconcile::{Site, join_history};
    use crate::record::cycle::Cycle;

    fn counters(history: &History) -> Vec<u32> {
        history
            .cycles
            .iter()
            .map(|known| known.cycle.counter.as_ref().map_or(0, |c| c.value))
            .collect()
    }

    #[test]
    fn cycle_with_a_lost_clock_stands_where_its_counter_puts_it() {
        let cycles = vec![
            cycle(1, "PL-1", 100, "2026-03-12 07:00").done(),
            cycle(20, "PL-1", 101, "2000-01-01 00:03").done(),
            cycle(40, "PL-1", 102, "2026-03-12 11:00").done(),
        ];
        let (history, diagnostics) = join_history(cycles, Vec::new(), london());
        assert_eq!(counters(&history), [100, 101, 102]);
        assert!(history.missing.is_empty() && history.counter_resets.is_empty());
        let lost = &history.cycles[1];
        assert!(lost.clock_lost);
        // The cycle before lasted 2 445 seconds.
        let began = lost.began.as_ref().unwrap();
        assert_eq!(began.value.local, local("2026-03-12 07:40:45"));
        assert!(began.reason.as_ref().unwrap().contains("PL-1 cycle 100"));
        let said = with(&diagnostics, Code::ClockLost);
        assert_eq!(said.len(), 1);
        assert!(said[0].headline.contains("2000-01-01"));
    }

    #[test]
    fn log_tells_when_a_cycle_with_a_lost_clock_began() {
        let cycles = || {
            vec![
                cycle(1, "PL-1", 100, "2026-03-12 07:00").done(),
                cycle(20, "PL-1", 101, "2000-01-01 00:03")
                    .load("A-2")
                    .done(),
                cycle(40, "PL-1", 102, "2026-03-12 11:00").done(),
            ]
        };
        let entries = vec![
            start(1, "2026-03-12 09:05", "A-2")
                .unit("PL-1")
                .counter(101)
                .done(),
        ];
        let (history, _) = join_history(cycles(), entries, london());
        let began = history.cycles[1].began.clone().unwrap();
        assert_eq!(began.value.local, local("2026-03-12 09:05"));
        assert!(began.reason.unwrap().contains("the log's entry"));
        // A log that gives another counter, or a time after the next cycle, tells nothing.
        for (at, counter) in [("2026-03-12 09:05", 77), ("2026-03-12 15:05", 101)] {
            let entries = vec![start(1, at, "A-2").unit("PL-1").counter(counter).done()];
            let (history, _) = join_history(cycles(), entries, london());
            let began = history.cycles[1].began.clone().unwrap();
            assert_eq!(began.value.local, local("2026-03-12 07:40:45"));
        }
    }

    #[test]
    fn lost_clock_without_near_neighbours_leaves_the_start_open() {
        let cycles = vec![
            cycle(1, "PL-1", 100, "2026-03-12 07:00").done(),
            cycle(20, "PL-1", 101, "2000-01-01 00:03").done(),
            cycle(40, "PL-1", 102, "2026-03-15 11:00").done(),
        ];
        let (history, _) = join_history(cycles, Vec::new(), london());
        assert_eq!(counters(&history), [100, 101, 102]);
        assert_eq!(history.cycles[1].began, None);
        assert_eq!(history.cycles[1].ended, None);
        assert_eq!(history.cycles[1].seconds(), Some(2_445));
    }

    #[test]
    fn strip_without_a_start_fills_the_gap_of_its_counter() {
        let cycles = vec![
            cycle(1, "PL-1", 100, "2026-03-12 07:00").done(),
            cycle(20, "PL-1", 101, "").done(),
            cycle(40, "PL-1", 102, "2026-03-12 11:00").done(),
        ];
        let (history, diagnostics) = join_history(cycles, Vec::new(), london());
        assert_eq!(counters(&history), [100, 101, 102]);
        assert!(history.missing.is_empty());
        assert!(with(&diagnostics, Code::ClockLost).is_empty());
    }

    // 25 October 2026: from 02:00 BST clocks in London went back to 01:00 GMT.
    fn autumn(
        first: (u32, &str),
        second: (u32, &str),
    ) -> (History, Vec<crate::diagnose::Diagnostic>) {
        let short = |line, (counter, at): (u32, &str)| -> Cycle {
            cycle(line, "ST-1", counter, at).ended(900).done()
        };
        join_history(
            vec![short(1, first), short(20, second)],
            Vec::new(),
            london(),
        )
    }

    #[test]
    fn counter_order_tells_which_of_the_doubled_hours_is_meant() {
        let (history, diagnostics) = autumn((10, "2026-10-25 01:40"), (11, "2026-10-25 01:10"));
        assert_eq!(counters(&history), [10, 11]);
        let utc = |ix: usize| {
            let began = history.cycles[ix].began.as_ref().unwrap();
            began.value.utc.unwrap().naive_utc()
        };
        assert_eq!(utc(0), local("2026-10-25 00:40"));
        assert_eq!(utc(1), local("2026-10-25 01:10"));
        assert_eq!(with(&diagnostics, Code::LocalHourDoubled).len(), 2);
        assert!(history.missing.is_empty() && history.counter_resets.is_empty());
    }

    #[test]
    fn first_of_the_doubled_hours_is_taken_where_nothing_tells() {
        let (history, _) = autumn((10, "2026-10-25 01:10"), (11, "2026-10-25 01:40"));
        let began = history.cycles[1].began.as_ref().unwrap();
        assert_eq!(
            began.value.utc.unwrap().naive_utc(),
            local("2026-10-25 00:40")
        );
        assert!(began.reason.as_ref().unwrap().contains("nothing tells"));
    }

    #[test]
    fn skipped_hour_is_said_and_read_as_a_clock_not_put_forward() {
        let cycles = vec![cycle(1, "PL-1", 1, "2026-03-29 01:30").done()];
        let (history, diagnostics) = join_history(cycles, Vec::new(), london());
        let began = history.cycles[0].began.as_ref().unwrap();
        assert_eq!(
            began.value.utc.unwrap().naive_utc(),
            local("2026-03-29 01:30")
        );
        assert!(began.reason.is_some());
        assert_eq!(with(&diagnostics, Code::LocalHourSkipped).len(), 1);
    }

    #[test]
    fn without_a_zone_one_note_says_so_and_no_instant_is_made_up() {
        let cycles = vec![
            cycle(1, "PL-1", 1, "2026-03-29 01:30").done(),
            cycle(20, "PL-1", 2, "2026-10-25 01:30").done(),
        ];
        let (history, diagnostics) = join_history(cycles, Vec::new(), Site::default());
        assert!(
            history
                .cycles
                .iter()
                .all(|known| known.began.as_ref().unwrap().value.utc.is_none())
        );
        assert_eq!(with(&diagnostics, Code::ZoneUnknown).len(), 1);
    }

    #[test]
    fn zone_on_the_strip_wins_over_the_site() {
        let cycles = vec![
            cycle(1, "PL-1", 1, "2026-07-01 08:00")
                .zone(chrono_tz::Tz::America__New_York)
                .done(),
        ];
        let (history, _) = join_history(cycles, Vec::new(), london());
        let began = history.cycles[0].began.as_ref().unwrap();
        assert_eq!(
            began.value.utc.unwrap().naive_utc(),
            local("2026-07-01 12:00")
        );
    }

    #[test]
    fn cycles_without_counters_stand_in_order_of_time() {
        let cycles = vec![
            cycle(1, "PL-1", 0, "2026-03-12 10:00").no_counter().done(),
            cycle(20, "PL-1", 0, "2026-03-12 08:00").no_counter().done(),
            cycle(40, "PL-1", 0, "2026-03-12 09:00").no_counter().done(),
        ];
        let (history, _) = join_history(cycles, Vec::new(), london());
        let lines: Vec<u32> = history
            .cycles
            .iter()
            .map(|known| known.cycle.opening.line)
            .collect();
        assert_eq!(lines, [20, 40, 1]);
    }

    #[test]
    fn both_of_the_doubled_hours_say_why_they_were_taken() {
        let (history, _) = autumn((10, "2026-10-25 01:40"), (11, "2026-10-25 01:10"));
        let reason = |ix: usize| history.cycles[ix].began.clone().unwrap().reason.unwrap();
        assert_eq!(
            reason(0),
            "this local time came twice; the first of the two is taken, because the counter puts it before a cycle of that hour"
        );
        assert_eq!(
            reason(1),
            "this local time came twice; the second of the two is taken, because the counter puts it after the end of another cycle"
        );
    }

    /// Counters in the order in which they are put, of cycles two hours apart and one strip without a start.
    fn placed(timed: &[u32], without_start: u32) -> (Vec<u32>, Vec<(u32, u32)>) {
        let mut cycles: Vec<Cycle> = (1..)
            .zip(timed)
            .map(|(n, counter)| {
                let at = local("2026-03-12 00:00") + chrono::TimeDelta::hours(2 * i64::from(n));
                let at = at.format("%Y-%m-%d %H:%M").to_string();
                cycle(20 * n, "PL-1", *counter, &at).done()
            })
            .collect();
        cycles.push(cycle(2_000, "PL-1", without_start, "").done());
        let (history, _) = join_history(cycles, Vec::new(), london());
        let missing = history.missing.iter();
        (
            counters(&history),
            missing
                .map(|missing| (missing.first, missing.last))
                .collect(),
        )
    }

    #[test]
    fn strip_without_a_start_stands_where_one_count_alone_has_room_for_it() {
        assert_eq!(placed(&[100, 102], 101), (vec![100, 101, 102], vec![]));
        assert_eq!(placed(&[100, 101], 99), (vec![99, 100, 101], vec![]));
        // Up to 30 beyond the end of a count it is of that count, and what lies between is missing.
        assert_eq!(
            placed(&[100, 101, 102], 132),
            (vec![100, 101, 102, 132], vec![(103, 131)])
        );
        assert_eq!(
            placed(&[100, 101, 102], 133),
            (vec![100, 101, 102, 133], vec![])
        );
        assert_eq!(
            placed(&[100, 101, 102], 70),
            (vec![70, 100, 101, 102], vec![(71, 99)])
        );
        assert_eq!(
            placed(&[100, 101, 102], 69),
            (vec![100, 101, 102, 69], vec![])
        );
        // Its number is there already.
        assert_eq!(
            placed(&[100, 101, 102], 101),
            (vec![100, 101, 102, 101], vec![])
        );
        // Two counts: the nearer has room; where both are as near, none has.
        assert_eq!(
            placed(&[20, 21, 22, 1, 2, 3], 4),
            (vec![20, 21, 22, 1, 2, 3, 4], vec![])
        );
        assert_eq!(
            placed(&[20, 21, 22, 1, 2, 3], 23),
            (vec![20, 21, 22, 23, 1, 2, 3], vec![])
        );
        assert_eq!(
            placed(&[20, 21, 23, 24, 1, 2, 21, 23], 22),
            (
                vec![20, 21, 23, 24, 1, 2, 21, 23, 22],
                vec![(22, 22), (3, 20), (22, 22)]
            )
        );
    }

    /// When the log says that the middle one of three cycles began, by an entry of that unit and counter at this time.
    fn by_the_log(at: &str, unit: &str, counter: u32) -> bool {
        let cycles = vec![
            cycle(1, "PL-1", 100, "2026-03-12 07:00").done(),
            cycle(20, "PL-1", 101, "2000-01-01 00:03")
                .load("A-2")
                .done(),
            cycle(40, "PL-1", 102, "2026-03-12 11:00").done(),
        ];
        let entry = start(1, at, "A-2").unit(unit).counter(counter).done();
        let (history, _) = join_history(cycles, vec![entry], london());
        let began = history.cycles[1].began.as_ref().unwrap();
        began.value.local == local(at)
    }

    #[test]
    fn log_tells_the_start_for_the_same_unit_and_within_an_hour_of_the_neighbours() {
        assert!(by_the_log("2026-03-12 09:05", "PL-1", 101));
        assert!(by_the_log("2026-03-12 09:05", "pl-1", 101));
        assert!(!by_the_log("2026-03-12 09:05", "PL-2", 101));
        assert!(!by_the_log("2026-03-12 09:05", "PL-1", 102));
        // An hour before the one before began, an hour after the one after began.
        assert!(by_the_log("2026-03-12 06:00", "PL-1", 101));
        assert!(!by_the_log("2026-03-12 05:59", "PL-1", 101));
        assert!(by_the_log("2026-03-12 12:00", "PL-1", 101));
        assert!(!by_the_log("2026-03-12 12:01", "PL-1", 101));
    }

    #[test]
    fn strip_without_a_start_begins_with_the_end_of_the_one_before_if_the_next_is_a_day_off_at_most()
     {
        let began = |after: &str| {
            let cycles = vec![
                cycle(1, "PL-1", 100, "2026-03-12 07:00")
                    .ended(3_600)
                    .done(),
                cycle(20, "PL-1", 101, "").done(),
                cycle(40, "PL-1", 102, after).done(),
            ];
            let (history, _) = join_history(cycles, Vec::new(), london());
            history.cycles[1].began.clone()
        };
        let one = began("2026-03-13 08:00").unwrap();
        assert_eq!(one.value.local, local("2026-03-12 08:00"));
        assert_eq!(
            one.reason.unwrap(),
            "the printout has no start; by its counter it ran between PL-1 cycle 100, which ended then, and PL-1 cycle 102, which began at 2026-03-13 08:00:00"
        );
        assert_eq!(began("2026-03-13 08:01"), None);
        assert_eq!(began("2026-03-12 07:30"), None);
    }
}
