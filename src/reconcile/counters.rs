//! Cycle counters: where a unit's count goes on, where it begins anew, and which numbers have no printout.
//!
//! Knows one unit's starts and counters in order, not loads. All purposes share one counter. A counter is a number that
//! people may mistype and that clocks may put out of order, so neither a fall nor a leap is believed alone: what comes
//! after it decides. Read [`split_counts`] first, then [`find_gaps`].

use std::collections::BTreeSet;

/// How many cycles are looked at after a fall or a leap.
const LOOK_AHEAD: usize = 3;

/// How far a counter may be out of order because clocks stepped: a clock that steps back by an hour passes no more
/// short cycles than this. Common practice, no source.
const OUT_OF_ORDER: u32 = 5;

/// A leap of more than this right after service or with new software is an exchange. Common practice, no source.
const LEAP_AFTER_CHANGE: u32 = 100;

/// The shortest time in which a cycle runs, in seconds: no cycle with its loading takes less than five minutes. Common
/// practice, no source.
const SHORTEST_CYCLE_SECONDS: i64 = 300;

/// Leaps up to this are never called impossible: clocks are set by hours, too. Common practice, no source.
const LEAP_NEVER_IMPOSSIBLE: u32 = 20;

/// What is looked at of one cycle.
#[derive(Debug, Clone, Copy)]
pub(super) struct Mark<'a> {
    /// When it began, in seconds.
    pub seconds: i64,
    /// The counter.
    pub counter: Option<u32>,
    /// The serial number printed.
    pub serial: Option<&'a str>,
    /// The software printed.
    pub software: Option<&'a str>,
}

/// The counts of one unit.
#[derive(Debug, Default, PartialEq, Eq)]
pub(super) struct Counts {
    /// For each mark, the number of its count.
    pub count: Vec<usize>,
    /// For each mark, whether its counter can be believed: not one that is out of place among its neighbours.
    pub usable: Vec<bool>,
    /// Where a new count begins, in order.
    pub breaks: Vec<Break>,
}

/// A place where a new count begins.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Break {
    /// The last mark of the old count.
    pub after: usize,
    /// The first mark of the new one.
    pub before: usize,
    /// The service between the two, as an index into the list of services.
    pub service: Option<usize>,
    /// Why it is taken for a new count.
    pub reason: String,
}

/// Splits the marks of one unit, in order of time, into counts. `services` are the times of service, in order.
pub(super) fn split_counts(marks: &[Mark<'_>], services: &[i64]) -> Counts {
    let counted: Vec<(usize, u32, &Mark<'_>)> = marks
        .iter()
        .enumerate()
        .filter_map(|(ix, mark)| Some((ix, mark.counter?, mark)))
        .collect();
    let mut breaks: Vec<Break> = Vec::new();
    // The highest believed counter of the running count and its mark.
    let mut top: Option<(usize, u32, &Mark<'_>)> = None;
    for (at, &(ix, counter, mark)) in counted.iter().enumerate() {
        let Some((top_ix, high, before)) = top else {
            top = Some((ix, counter, mark));
            continue;
        };
        let ahead = counted.get(at.saturating_add(1)..).unwrap_or_default();
        let ahead: Vec<u32> = ahead.iter().take(LOOK_AHEAD).map(|(_, c, _)| *c).collect();
        let between = Between::new(before, mark, services);
        let step = if counter > high {
            judge_leap(high, counter, &ahead, &between)
        } else {
            judge_fall(high, counter, &ahead, &between)
        };
        match step {
            Step::GoesOn => top = Some((ix, counter, mark)),
            Step::Aside => {}
            Step::BeginsAnew(reason) => {
                breaks.push(Break {
                    after: top_ix,
                    before: ix,
                    service: between.service,
                    reason,
                });
                top = Some((ix, counter, mark));
            }
        }
    }

    let mut counts = Counts {
        count: Vec::with_capacity(marks.len()),
        usable: vec![false; marks.len()],
        breaks,
    };
    for ix in 0..marks.len() {
        counts
            .count
            .push(counts.breaks.partition_point(|b| b.before <= ix));
    }
    let number = |ix: usize| counts.count.get(ix).copied();
    for one_count in counted.chunk_by(|(a, ..), (b, ..)| number(*a) == number(*b)) {
        let numbers: Vec<u32> = one_count.iter().map(|(_, counter, _)| *counter).collect();
        for ((ix, ..), usable) in one_count.iter().zip(judge_usable(&numbers)) {
            if let Some(slot) = counts.usable.get_mut(*ix) {
                *slot = usable;
            }
        }
    }
    counts
}

/// What a counter does to the running count.
enum Step {
    /// The count goes on.
    GoesOn,
    /// The counter is out of place; the count goes on without it.
    Aside,
    /// A new count begins, for this reason.
    BeginsAnew(String),
}

/// What lies between two marks.
struct Between {
    service: Option<usize>,
    serial: Option<String>,
    software: Option<String>,
    seconds: i64,
}

impl Between {
    fn new(before: &Mark<'_>, mark: &Mark<'_>, services: &[i64]) -> Self {
        let first = services.partition_point(|at| *at < before.seconds);
        let service = services
            .get(first)
            .is_some_and(|at| *at <= mark.seconds)
            .then_some(first);
        let change = |what: &str, old: Option<&str>, new: Option<&str>| match (old, new) {
            (Some(old), Some(new)) if old != new => {
                Some(format!("the {what} changes from {old} to {new}"))
            }
            _ => None,
        };
        Between {
            service,
            serial: change("serial number", before.serial, mark.serial),
            software: change("software version", before.software, mark.software),
            seconds: mark.seconds.saturating_sub(before.seconds),
        }
    }

    /// What may have changed the counter, in plain words.
    fn said(&self) -> Option<String> {
        let service = self
            .service
            .map(|_| "the log has a service entry between the two".to_owned());
        let said: Vec<String> = [service, self.serial.clone(), self.software.clone()]
            .into_iter()
            .flatten()
            .collect();
        (!said.is_empty()).then(|| said.join(", and "))
    }
}

fn judge_leap(high: u32, counter: u32, ahead: &[u32], between: &Between) -> Step {
    let n_skipped = counter.saturating_sub(high).saturating_sub(1);
    if n_skipped == 0 {
        return Step::GoesOn;
    }
    // Does what follows return to where the count was? By as much as is judged as a fall when the first of it comes.
    let returning = || ahead.iter().filter(|c| (high..counter).contains(*c));
    let n_returning = returning().count();
    let far_off = returning()
        .min()
        .is_some_and(|c| counter.saturating_sub(*c) > OUT_OF_ORDER);
    if far_off && n_returning > ahead.len() / 2 {
        return Step::Aside;
    }
    if between.serial.is_some() || (between.said().is_some() && n_skipped >= LEAP_AFTER_CHANGE) {
        let why = between.said().unwrap_or_default();
        return Step::BeginsAnew(format!(
            "the counter goes from {high} to {counter}, and {why}"
        ));
    }
    let n_possible = between.seconds.max(0) / SHORTEST_CYCLE_SECONDS;
    if n_skipped > LEAP_NEVER_IMPOSSIBLE && i64::from(n_skipped) > n_possible {
        return Step::BeginsAnew(format!(
            "the counter goes from {high} to {counter} in {} minutes, more cycles than the unit can run in that time",
            between.seconds / 60
        ));
    }
    Step::GoesOn
}

fn judge_fall(high: u32, counter: u32, ahead: &[u32], between: &Between) -> Step {
    let changed = between.said();
    let fall = high.saturating_sub(counter);
    if fall == 0 {
        return Step::Aside;
    }
    let n_old = ahead.iter().filter(|c| **c > high).count();
    let n_new = ahead.len().saturating_sub(n_old);
    let begins_anew = if ahead.is_empty() {
        changed.is_some() || counter <= 1 || fall > OUT_OF_ORDER
    } else if n_old > n_new {
        false
    } else if n_old == n_new || fall <= OUT_OF_ORDER {
        // A step of the clock puts counters out of order by a few; a new count goes on from its first number.
        let goes_on = ahead
            .iter()
            .zip(1u32..)
            .all(|(c, n)| *c == counter.saturating_add(n));
        goes_on && (changed.is_some() || counter <= 1)
    } else {
        true
    };
    if !begins_anew {
        return Step::Aside;
    }
    Step::BeginsAnew(match changed {
        Some(why) => format!("the counter falls from {high} to {counter}, and {why}"),
        None => format!("the counter falls from {high} to {counter} and goes on from there"),
    })
}

/// Which of the counters of one count can be believed: those of a longest rising run, and those that are out of order by
/// a few and fill a hole in it. The rest are slips.
fn judge_usable(counters: &[u32]) -> Vec<bool> {
    let mut usable = longest_rising_run(counters);
    prefer_the_twin_beside_no_hole(counters, &mut usable);
    let rising: BTreeSet<u32> = counters
        .iter()
        .zip(&usable)
        .filter_map(|(counter, usable)| usable.then_some(*counter))
        .collect();
    // The nearest believed counters before and after each place.
    let mut after: Vec<Option<u32>> = Vec::with_capacity(counters.len());
    let mut next = None;
    for (counter, usable) in counters.iter().zip(&usable).rev() {
        after.push(next);
        if *usable {
            next = Some(*counter);
        }
    }
    let mut before = None;
    let mut taken = rising.clone();
    for ((counter, usable), after) in counters.iter().zip(&mut usable).zip(after.iter().rev()) {
        if *usable {
            before = Some(*counter);
            continue;
        }
        let near = before.is_none_or(|b| counter.saturating_add(OUT_OF_ORDER) >= b)
            && after.is_none_or(|a| *counter <= a.saturating_add(OUT_OF_ORDER));
        if near && taken.insert(*counter) {
            *usable = true;
        }
    }
    usable
}

/// Where a counter stands twice in a row, one of the two stands for another number. If the hole is before them, that is
/// the first of the two; the run takes the second instead.
fn prefer_the_twin_beside_no_hole(counters: &[u32], usable: &mut [bool]) {
    let mut before: Option<u32> = None;
    for at in 0..counters.len() {
        let (Some(&counter), Some(&true)) = (counters.get(at), usable.get(at)) else {
            continue;
        };
        let twin = at.saturating_add(1);
        let hole_before = before.is_some_and(|b| counter.saturating_sub(b) > 1);
        let goes_on = counters.get(twin.saturating_add(1)) == Some(&counter.saturating_add(1));
        if hole_before && goes_on && counters.get(twin) == Some(&counter) {
            if let Some(slot) = usable.get_mut(at) {
                *slot = false;
            }
            if let Some(slot) = usable.get_mut(twin) {
                *slot = true;
            }
        }
        before = Some(counter);
    }
}

/// The members of one longest strictly rising run (patience sorting, n log n).
fn longest_rising_run(numbers: &[u32]) -> Vec<bool> {
    // For each length, the place of the smallest number that ends a rising run of it.
    let mut ends: Vec<(u32, usize)> = Vec::new();
    let mut previous: Vec<Option<usize>> = Vec::with_capacity(numbers.len());
    for (ix, number) in numbers.iter().enumerate() {
        let length = ends.partition_point(|(end, _)| end < number);
        previous.push(
            length
                .checked_sub(1)
                .and_then(|l| ends.get(l))
                .map(|(_, ix)| *ix),
        );
        match ends.get_mut(length) {
            // Of two equal numbers the first stays.
            Some((end, _)) if end == number => {}
            Some(slot) => *slot = (*number, ix),
            None => ends.push((*number, ix)),
        }
    }
    let mut members = vec![false; numbers.len()];
    let mut at = ends.last().map(|(_, ix)| *ix);
    while let Some(ix) = at {
        if let Some(slot) = members.get_mut(ix) {
            *slot = true;
        }
        at = previous.get(ix).copied().flatten();
    }
    members
}

/// What is looked at of one cycle in its final place.
#[derive(Debug, Clone, Copy)]
pub(super) struct Placed {
    /// The number of its count, if it has a place in one.
    pub count: Option<usize>,
    /// Its counter, if it can be believed.
    pub counter: Option<u32>,
}

/// A run of counters without a printout.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Gap {
    /// The first of them.
    pub first: u32,
    /// The last.
    pub last: u32,
    /// The place of the cycle before.
    pub after: usize,
    /// The place of the cycle after.
    pub before: usize,
    /// How many cycles without a usable counter lie between; less than the length of the run.
    pub n_without_counter: u32,
}

/// Finds the gaps in the counts of one unit, whose cycles are in order. A gap that cycles without a usable counter
/// explain whole is none.
pub(super) fn find_gaps(order: &[Placed]) -> Vec<Gap> {
    let mut n_without = 0u32;
    // How many cycles without a usable counter stand at or before each place.
    let without: Vec<u32> = order
        .iter()
        .map(|placed| {
            if placed.counter.is_none() && placed.count.is_some() {
                n_without = n_without.saturating_add(1);
            }
            n_without
        })
        .collect();
    let mut counted: Vec<(usize, u32, usize)> = order
        .iter()
        .enumerate()
        .filter_map(|(at, placed)| Some((placed.count?, placed.counter?, at)))
        .collect();
    counted.sort_unstable();
    let mut gaps = Vec::new();
    for (&(count, low, after), &(next_count, high, before)) in
        counted.iter().zip(counted.iter().skip(1))
    {
        if count != next_count || high.saturating_sub(low) < 2 {
            continue;
        }
        let stand_until = |at: usize| without.get(at).copied().unwrap_or(0);
        let n_between =
            stand_until(after.max(before)).saturating_sub(stand_until(after.min(before)));
        let n_run = high.saturating_sub(low).saturating_sub(1);
        if n_between < n_run {
            gaps.push(Gap {
                first: low.saturating_add(1),
                last: high.saturating_sub(1),
                after,
                before,
                n_without_counter: n_between,
            });
        }
    }
    gaps
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mark(hours: i64, counter: u32) -> Mark<'static> {
        Mark {
            seconds: hours * 3_600,
            counter: (counter > 0).then_some(counter),
            serial: Some("20417"),
            software: Some("4.2"),
        }
    }

    /// A cycle every two hours; 0 stands for no counter.
    fn marks(counters: &[u32]) -> Vec<Mark<'static>> {
        counters
            .iter()
            .zip(0..)
            .map(|(counter, n)| mark(2 * n, *counter))
            .collect()
    }

    fn gaps_of(marks: &[Mark<'_>], services: &[i64]) -> Vec<(u32, u32, u32)> {
        let counts = split_counts(marks, services);
        let order: Vec<Placed> = marks
            .iter()
            .enumerate()
            .map(|(ix, mark)| Placed {
                count: Some(counts.count[ix]),
                counter: mark.counter.filter(|_| counts.usable[ix]),
            })
            .collect();
        find_gaps(&order)
            .into_iter()
            .map(|gap| (gap.first, gap.last, gap.n_without_counter))
            .collect()
    }

    fn breaks(marks: &[Mark<'_>], services: &[i64]) -> Vec<(usize, usize)> {
        let counts = split_counts(marks, services);
        counts.breaks.iter().map(|b| (b.after, b.before)).collect()
    }

    #[track_caller]
    fn check(counters: &[u32], n_breaks: usize, gaps: &[(u32, u32, u32)]) {
        let marks = marks(counters);
        assert_eq!(
            breaks(&marks, &[]).len(),
            n_breaks,
            "breaks of {counters:?}"
        );
        assert_eq!(gaps_of(&marks, &[]), gaps, "gaps of {counters:?}");
    }

    #[test]
    fn skipped_numbers_are_missing_printouts() {
        check(&[7, 8, 11, 12], 0, &[(9, 10, 0)]);
        check(&[7, 9, 10, 12], 0, &[(8, 8, 0), (11, 11, 0)]);
    }

    #[test]
    fn fall_is_a_new_count_and_no_gap() {
        check(&[1040, 1041, 1, 2, 3], 1, &[]);
        check(&[1040, 1041, 1], 1, &[]);
        check(&[1040, 1041, 3, 4, 6], 1, &[(5, 5, 0)]);
        check(&[1, 2, 3, 1, 2, 3], 1, &[]);
        check(&[1041, 1042, 1030, 1031, 1032], 1, &[]);
    }

    #[test]
    fn cycles_out_of_order_by_a_stepped_clock_are_no_new_count() {
        check(&[9, 11, 10, 12], 0, &[]);
        check(&[9, 11, 10], 0, &[]);
        check(&[9, 12, 10, 11, 13], 0, &[]);
    }

    #[test]
    fn mistyped_counter_explains_the_number_it_stands_for() {
        check(&[9, 110, 11, 12, 13], 0, &[]);
        check(&[1040, 1041, 5, 1043, 1044], 0, &[]);
        // Each wrong number for the 10, whether it is near to what follows or far.
        for wrong in 13..40 {
            let marks = marks(&[8, 9, wrong, 11, 12, 13, 14, 15]);
            assert_eq!(breaks(&marks, &[]), [], "{wrong}");
        }
        check(&[9, 14, 11, 12, 13, 14, 15], 0, &[]);
        check(&[8, 9, 17, 11, 12, 13, 14, 15], 0, &[]);
    }

    #[test]
    fn counter_used_twice_is_a_slip_and_no_new_count() {
        check(&[9, 10, 10, 11, 12], 0, &[]);
        check(&[9, 10, 10, 12], 0, &[]);
        check(&[8, 10, 10, 11], 0, &[]);
        check(&[9, 10, 11, 10, 12, 13], 0, &[]);
    }

    #[test]
    fn cycle_without_counter_explains_one_number() {
        check(&[9, 0, 11], 0, &[]);
        check(&[9, 0, 13], 0, &[(10, 12, 1)]);
        check(&[9, 0, 10, 12], 0, &[(11, 11, 0)]);
    }

    #[test]
    fn leap_right_after_service_is_an_exchange() {
        let marks = [mark(0, 41), mark(2, 42), mark(900, 5_043), mark(902, 5_044)];
        let service = [3 * 3_600];
        assert_eq!(breaks(&marks, &service), [(1, 2)]);
        assert_eq!(gaps_of(&marks, &service), []);
        let counts = split_counts(&marks, &service);
        assert_eq!(counts.breaks[0].service, Some(0));
        assert_eq!(
            counts.breaks[0].reason,
            "the counter goes from 42 to 5043, and the log has a service entry between the two"
        );
        // Without service, and with the time for so many cycles, printouts are missing.
        assert_eq!(gaps_of(&marks, &[]), [(43, 5_042, 0)]);
        // Service before or after the leap explains nothing.
        assert_eq!(gaps_of(&marks, &[3_600]), [(43, 5_042, 0)]);
        // A few printouts may well be missing about the time of service.
        let few = [mark(0, 41), mark(2, 42), mark(4, 45), mark(6, 46)];
        assert_eq!(gaps_of(&few, &service), [(43, 44, 0)]);
    }

    #[test]
    fn leap_with_another_serial_number_or_software_is_an_exchange() {
        let mut marks = [mark(0, 41), mark(2, 42), mark(900, 50), mark(902, 51)];
        marks[2].serial = Some("20999");
        marks[3].serial = Some("20999");
        assert_eq!(breaks(&marks, &[]), [(1, 2)]);
        let mut marks = [mark(0, 41), mark(2, 42), mark(900, 500), mark(902, 501)];
        marks[2].software = Some("5.0");
        assert_eq!(breaks(&marks, &[]), [(1, 2)]);
        marks[2].counter = Some(50);
        marks[3].counter = Some(51);
        assert_eq!(breaks(&marks, &[]), []);
    }

    #[test]
    fn leap_that_no_unit_can_run_is_an_exchange() {
        let marks = [mark(0, 41), mark(2, 42), mark(4, 400), mark(6, 401)];
        assert_eq!(breaks(&marks, &[]), [(1, 2)]);
        // In a fortnight it can.
        let marks = [mark(0, 41), mark(2, 42), mark(340, 400), mark(342, 401)];
        assert_eq!(gaps_of(&marks, &[]), [(43, 399, 0)]);
    }

    #[test]
    fn service_at_a_fall_is_named() {
        let marks = marks(&[1040, 1041, 1, 2]);
        let counts = split_counts(&marks, &[0, 3 * 3_600]);
        assert_eq!(counts.breaks[0].service, Some(1));
    }

    #[test]
    fn longest_rising_run_is_one_of_the_longest() {
        let members = |numbers: &[u32]| {
            let run = longest_rising_run(numbers);
            let picked: Vec<u32> = numbers
                .iter()
                .zip(run)
                .filter_map(|(n, picked)| picked.then_some(*n))
                .collect();
            picked
        };
        // Worked example of Wikipedia's article on the longest increasing subsequence (van der Corput sequence): its
        // length is 6. From memory.
        let corput = [0, 8, 4, 12, 2, 10, 6, 14, 1, 9, 5, 13, 3, 11, 7, 15];
        let picked = members(&corput);
        assert_eq!(picked.len(), 6);
        assert!(picked.is_sorted_by(|a, b| a < b));
        assert_eq!(members(&[5, 5, 5]), [5]);
        assert_eq!(members(&[]), [0u32; 0]);
    }

    fn between(seconds: i64, serial: bool, software: bool) -> Between {
        let changed = |changed: bool, said: &str| changed.then(|| said.to_owned());
        Between {
            service: None,
            serial: changed(serial, "the serial number changes from 1 to 2"),
            software: changed(software, "the software version changes from 4.2 to 5.0"),
            seconds,
        }
    }

    fn begins_anew(step: &Step) -> bool {
        matches!(step, Step::BeginsAnew(_))
    }

    #[test]
    fn fall_is_judged_by_what_follows_it() {
        let unchanged = between(7_200, false, false);
        for (high, counter, ahead, anew) in [
            // Nothing follows: a first number, or a fall of more than five.
            (4, 1, &[][..], true),
            (4, 2, &[], false),
            (10, 5, &[], false),
            (10, 4, &[], true),
            // Most of what follows is of the old count, or of a new one, or neither.
            (10, 3, &[11, 12, 4], false),
            (10, 3, &[11, 4, 5], true),
            (10, 3, &[11, 4], false),
            // A number that is the highest so far is not above it.
            (10, 3, &[10, 10, 4], true),
            // A small fall is a stepped clock, unless a count begins and goes on.
            (10, 5, &[6, 7, 8], false),
            (10, 4, &[5, 6, 7], true),
            (3, 1, &[2, 3, 4], true),
            (3, 1, &[2, 4, 3], false),
            // The same number again.
            (10, 10, &[11, 12], false),
        ] {
            let step = judge_fall(high, counter, ahead, &unchanged);
            assert_eq!(begins_anew(&step), anew, "{high} {counter} {ahead:?}");
        }
        // With another software a count may begin anew at any number, if it goes on from there.
        let changed = between(7_200, false, true);
        for (high, counter, ahead, anew) in [
            (4, 2, &[][..], true),
            (10, 5, &[6, 7, 8], true),
            (10, 5, &[6, 8, 7], false),
            (10, 9, &[10, 11], true),
        ] {
            let step = judge_fall(high, counter, ahead, &changed);
            assert_eq!(begins_anew(&step), anew, "{high} {counter} {ahead:?}");
        }
    }

    #[test]
    fn leap_is_judged_by_what_it_returns_to_and_by_the_time_it_took() {
        let said = |step: Step| match step {
            Step::GoesOn => "on",
            Step::Aside => "aside",
            Step::BeginsAnew(_) => "anew",
        };
        let in_seconds = |seconds| between(seconds, false, false);
        let a_week = in_seconds(7 * 86_400);
        for (high, counter, ahead, step) in [
            (9, 10, &[11, 12][..], "on"),
            (9, 15, &[], "on"),
            // Back by more than five, in most of what follows.
            (9, 17, &[11, 12, 13], "aside"),
            (9, 16, &[11, 12, 13], "on"),
            (9, 100, &[11, 12, 101], "aside"),
            (9, 100, &[11, 101], "on"),
            (9, 100, &[11, 101, 102], "on"),
        ] {
            assert_eq!(
                said(judge_leap(high, counter, ahead, &a_week)),
                step,
                "{high} {counter} {ahead:?}"
            );
        }
        // One cycle takes five minutes at least: 24 in two hours; up to 20 may be missing whatever the time.
        assert_eq!(said(judge_leap(42, 63, &[], &in_seconds(3_600))), "on");
        assert_eq!(said(judge_leap(42, 64, &[], &in_seconds(3_600))), "anew");
        assert_eq!(said(judge_leap(42, 67, &[], &in_seconds(7_200))), "on");
        assert_eq!(said(judge_leap(42, 68, &[], &in_seconds(7_200))), "anew");
        assert_eq!(said(judge_leap(42, 68, &[], &in_seconds(-7_200))), "anew");
        // Another serial number is another unit; with other software it takes a leap of a hundred.
        assert_eq!(
            said(judge_leap(42, 44, &[], &between(604_800, true, false))),
            "anew"
        );
        assert_eq!(
            said(judge_leap(42, 142, &[], &between(604_800, false, true))),
            "on"
        );
        assert_eq!(
            said(judge_leap(42, 143, &[], &between(604_800, false, true))),
            "anew"
        );
    }

    #[test]
    fn new_count_says_why_and_begins_after_the_first_of_two_twins() {
        assert_eq!(breaks(&marks(&[41, 42, 42, 1, 2, 3]), &[]), [(1, 3)]);
        let reason = |counters: &[u32]| {
            let marks = marks(counters);
            split_counts(&marks, &[]).breaks.remove(0).reason
        };
        assert_eq!(
            reason(&[41, 42, 1, 2]),
            "the counter falls from 42 to 1 and goes on from there"
        );
        assert_eq!(
            reason(&[41, 42, 400, 401]),
            "the counter goes from 42 to 400 in 120 minutes, more cycles than the unit can run in that time"
        );
        let mut marks = marks(&[41, 42, 1, 2]);
        marks[2].serial = Some("20999");
        marks[2].software = Some("5.0");
        assert_eq!(
            split_counts(&marks, &[]).breaks[0].reason,
            "the counter falls from 42 to 1, and the serial number changes from 20417 to 20999, and the software version changes from 4.2 to 5.0"
        );
    }

    #[test]
    fn counters_out_of_place_by_a_few_are_believed_once() {
        for (counters, usable) in [
            (&[9, 11, 10, 12][..], &[true, true, true, true][..]),
            (&[1040, 1041, 5, 1043], &[true, true, false, true]),
            (&[9, 110, 11, 12], &[true, false, true, true]),
            (&[10, 11, 6, 12], &[true, true, true, true]),
            (&[10, 11, 5, 12], &[true, true, false, true]),
            // The first of two twins, but the second where the hole is before them.
            (&[9, 10, 10, 11], &[true, true, false, true]),
            (&[9, 10, 10, 12], &[true, true, false, true]),
            (&[8, 10, 10, 11], &[true, false, true, true]),
            (&[8, 10, 10, 12], &[true, true, false, true]),
            (&[8, 10, 12, 11], &[true, true, true, true]),
        ] {
            assert_eq!(judge_usable(counters), usable, "{counters:?}");
        }
        assert_eq!(longest_rising_run(&[5, 5, 5]), [true, false, false]);
        assert_eq!(longest_rising_run(&[3, 1, 2]), [false, true, true]);
    }
}
