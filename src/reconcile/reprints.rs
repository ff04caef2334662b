//! A reprint: the same cycle printed again, kept once with the lines of every copy.
//!
//! Knows printouts only, not the log. Two printouts claim to be the same cycle when unit, counter and start are the
//! same; whether they are is for their content to say, apart from lines and spans. Read [`keep_once`] first.

use super::said::{cycle_said, place};
use crate::diagnose::Diagnostic;
use crate::diagnose::codes::Code;
use crate::record::Spanned;
use crate::record::consumable::ConsumableUse;
use crate::record::cycle::{Cycle, Elapsed, Limit, Measured, Purpose, StageName};
use crate::record::line_set::LineSet;
use std::cmp::Reverse;
use std::collections::BTreeMap;
use std::hash::{DefaultHasher, Hash, Hasher};

/// With how many different printouts of one unit, counter and start a torn one is compared. No department has as many; a torn
/// one of which none of these is the whole counts as a further one.
const MOST_ORIGINALS: usize = 200;

/// A cycle with the lines of its further printouts.
#[derive(Debug)]
pub(super) struct Kept {
    /// What the fullest printout says.
    pub cycle: Cycle,
    /// The lines of the others.
    pub reprints: Vec<LineSet>,
}

/// What a copy has to do with what is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Claim {
    /// It is whole, so it must say the same.
    Same,
    /// It is torn or has unread lines, so it may say less.
    Part,
}

/// Keeps each cycle once. What comes back is in the order of the input's files and lines.
pub(super) fn keep_once(mut cycles: Vec<Cycle>) -> (Vec<Kept>, Vec<Diagnostic>) {
    // By place first, so that what follows does not depend on the order of the argument.
    cycles.sort_by(|a, b| {
        place(&a.opening)
            .cmp(&place(&b.opening))
            // Two cycles with one opening line don't come from a parser; they still get one order.
            .then_with(|| format!("{a:?}").cmp(&format!("{b:?}")))
    });
    let mut by_identity: Vec<usize> = (0..cycles.len()).collect();
    let run = |ix: &usize| {
        let cycle = cycles.get(*ix)?;
        Some((&cycle.unit.as_ref()?.value, cycle.started.as_ref()?.value))
    };
    let counter = |ix: &usize| Some(cycles.get(*ix)?.counter.as_ref()?.value);
    by_identity.sort_by_key(|ix| (run(ix), counter(ix)));

    let mut diagnostics = Vec::new();
    // For each cycle the one that it is a copy of.
    let mut copy_of: Vec<Option<usize>> = vec![None; cycles.len()];
    for same_run in by_identity.chunk_by(|a, b| run(a) == run(b)) {
        if same_run.len() < 2 || same_run.first().is_none_or(|ix| run(ix).is_none()) {
            continue;
        }
        let (without, with): (Vec<usize>, Vec<usize>) =
            same_run.iter().partition(|ix| counter(ix).is_none());
        let mut pairs = Vec::new();
        let mut kept = Vec::new();
        for group in with.chunk_by(|a, b| counter(a) == counter(b)) {
            kept.extend(match_copies(
                &cycles,
                group,
                &[],
                &mut pairs,
                &mut diagnostics,
            ));
        }
        // A damaged copy may have lost its counter. Many counters at one start come from a lost clock only, and then
        // the start tells nothing.
        let known = if kept.len() <= 2 { &*kept } else { &[] };
        match_copies(&cycles, &without, known, &mut pairs, &mut diagnostics);
        for (copy, kept) in pairs {
            if let Some(slot) = copy_of.get_mut(copy) {
                *slot = Some(kept);
            }
        }
    }

    let mut reprints: Vec<Vec<LineSet>> = vec![Vec::new(); cycles.len()];
    for (copy, kept) in copy_of.iter().enumerate() {
        if let (Some(kept), Some(cycle)) = (kept, cycles.get(copy))
            && let Some(list) = reprints.get_mut(*kept)
        {
            list.push(cycle.lines.clone());
        }
    }
    let kept = cycles
        .into_iter()
        .zip(reprints)
        .zip(copy_of)
        .filter(|(_, copy_of)| copy_of.is_none())
        .map(|((cycle, reprints), _)| Kept { cycle, reprints })
        .collect();
    (kept, diagnostics)
}

/// Finds the copies within a group of printouts that claim to be one cycle, or parts of the `known` ones. Gives back those
/// that are none.
fn match_copies<'a>(
    cycles: &'a [Cycle],
    group: &[usize],
    known: &[(usize, &'a Cycle)],
    pairs: &mut Vec<(usize, usize)>,
    diagnostics: &mut Vec<Diagnostic>,
) -> Vec<(usize, &'a Cycle)> {
    let mut members: Vec<(usize, &Cycle)> = group
        .iter()
        .filter_map(|ix| Some((*ix, cycles.get(*ix)?)))
        .collect();
    // The fullest first; among equals the first in the input.
    members.sort_by_key(|(ix, cycle)| {
        (
            Reverse(cycle.closed),
            cycle.n_unread_lines,
            Reverse((cycle.n_reading_lines, cycle.lines.n_lines())),
            *ix,
        )
    });
    let mut kept: Vec<(usize, &Cycle)> = Vec::new();
    // The whole ones among those by what they say: a whole copy is compared only with what may be the same.
    let mut by_digest: BTreeMap<u64, Vec<(usize, &Cycle)>> = BTreeMap::new();
    for (ix, cycle) in members {
        let is_whole = cycle.closed && cycle.n_unread_lines == 0;
        let digest = is_whole.then(|| digest(cycle));
        let (claim, candidates) = match digest {
            Some(digest) => (
                Claim::Same,
                by_digest.get(&digest).map_or(&[][..], Vec::as_slice),
            ),
            None => (Claim::Part, kept.get(..MOST_ORIGINALS).unwrap_or(&kept)),
        };
        let original = known
            .iter()
            .chain(candidates)
            .find(|(_, original)| first_difference(cycle, original, claim).is_none());
        if let Some((kept_ix, original)) = original {
            pairs.push((ix, *kept_ix));
            diagnostics.push(reprint_kept_once(cycle, original));
            continue;
        }
        if let Some((_, original)) = kept.first() {
            let what = first_difference(cycle, original, claim).unwrap_or("content");
            diagnostics.push(reprint_differs(cycle, original, what));
        }
        if let Some(digest) = digest {
            by_digest.entry(digest).or_default().push((ix, cycle));
        }
        kept.push((ix, cycle));
    }
    kept
}

/// A number that is the same for printouts that say the same.
fn digest(cycle: &Cycle) -> u64 {
    // Not every field: what is left out is compared all the same.
    let said = (
        (
            cycle.purpose,
            value_of(&cycle.serial),
            value_of(&cycle.program),
        ),
        (
            value_of(&cycle.counter),
            value_of(&cycle.load),
            value_of(&cycle.operator),
        ),
        (value_of(&cycle.outcome), value_of(&cycle.ended)),
    );
    let mut hasher = DefaultHasher::new();
    said.hash(&mut hasher);
    consumables(cycle).for_each(|used| used.hash(&mut hasher));
    for stage in &cycle.stages {
        (&stage.name, stage.began, stage.n_pulses).hash(&mut hasher);
    }
    for (at, measured) in readings(cycle) {
        // Zero has two signs, and they are equal.
        let number = measured.printed_number() + 0.0;
        (at, number.to_bits()).hash(&mut hasher);
    }
    events(cycle).for_each(|event| event.hash(&mut hasher));
    hasher.finish()
}

fn value_of<T>(field: &Option<Spanned<T>>) -> Option<&T> {
    field.as_ref().map(|field| &field.value)
}

fn reprint_kept_once(copy: &Cycle, original: &Cycle) -> Diagnostic {
    let name = cycle_said(original);
    let how = if copy.closed {
        "printed again; it is counted once"
    } else {
        "printed more than once; this copy is torn and the fuller one is counted"
    };
    Diagnostic::at(
        Code::ReprintKeptOnce,
        copy.opening,
        format!("{name} is {how}"),
    )
    .caption("the copy")
    .label(original.opening, "counted")
}

fn reprint_differs(copy: &Cycle, original: &Cycle, what: &str) -> Diagnostic {
    let name = cycle_said(original);
    Diagnostic::at(
        Code::ReprintDiffers,
        copy.opening,
        format!("two printouts claim to be {name} and differ: {what}; both are kept"),
    )
    .caption("one of them")
    .label(original.opening, "the other")
}

/// The first thing, in plain words, in which a copy contradicts what is kept, or says more. Lines, spans, checksum and
/// what was inferred from them are not content.
fn first_difference(copy: &Cycle, kept: &Cycle, claim: Claim) -> Option<&'static str> {
    // Named one by one, so that a new field has to be decided on here.
    let Cycle {
        lines: _,
        opening: _,
        purpose,
        unit,
        serial,
        software,
        place,
        zone,
        process,
        program,
        counter,
        load,
        operator,
        started,
        ambient,
        consumables: _,
        stages: _,
        events: _,
        leak,
        ended,
        total,
        n_reading_lines: _,
        outcome,
        checksum: _,
        closed: _,
        n_unread_lines: _,
        inferences: _,
    } = copy;
    // A copy torn before the line of its purpose counts as a load's.
    let purpose_agrees =
        *purpose == kept.purpose || (claim == Claim::Part && *purpose == Purpose::Load);
    [
        (purpose_agrees, "the purpose"),
        (agrees(unit, &kept.unit, claim), "the unit"),
        (agrees(serial, &kept.serial, claim), "the serial number"),
        (
            agrees(software, &kept.software, claim),
            "the software version",
        ),
        (agrees(place, &kept.place, claim), "the place"),
        (agrees(zone, &kept.zone, claim), "the zone"),
        (agrees(process, &kept.process, claim), "the process"),
        (agrees(program, &kept.program, claim), "the program"),
        (agrees(counter, &kept.counter, claim), "the counter"),
        (agrees(load, &kept.load, claim), "the load number"),
        (agrees(operator, &kept.operator, claim), "the operator"),
        (agrees(started, &kept.started, claim), "the start"),
        (
            agrees(ambient, &kept.ambient, claim),
            "the ambient pressure",
        ),
        (agrees(outcome, &kept.outcome, claim), "the outcome"),
        (agrees(ended, &kept.ended, claim), "the end"),
        (agrees(total, &kept.total, claim), "the total"),
        (agrees(leak, &kept.leak, claim), "the result of the test"),
        (
            runs_along(consumables(copy), consumables(kept), claim),
            "the consumables",
        ),
        (runs_along(stages(copy), stages(kept), claim), "the stages"),
        (
            runs_along(readings(copy), readings(kept), claim),
            "the readings",
        ),
        (runs_along(events(copy), events(kept), claim), "the events"),
    ]
    .into_iter()
    .find_map(|(agrees, what)| (!agrees).then_some(what))
}

fn agrees<T: PartialEq>(
    copy: &Option<Spanned<T>>,
    kept: &Option<Spanned<T>>,
    claim: Claim,
) -> bool {
    match (copy, kept) {
        (Some(copy), Some(kept)) => copy.value == kept.value,
        (None, Some(_)) => claim == Claim::Part,
        (None, None) => true,
        (Some(_), None) => false,
    }
}

/// Whether a copy's items are those that are kept, or for a part, some of those in the same order.
fn runs_along<T: PartialEq>(
    mut copy: impl Iterator<Item = T>,
    mut kept: impl Iterator<Item = T>,
    claim: Claim,
) -> bool {
    match claim {
        Claim::Same => copy.eq(kept),
        Claim::Part => copy.all(|item| kept.any(|other| other == item)),
    }
}

fn consumables(cycle: &Cycle) -> impl Iterator<Item = impl PartialEq + Hash> {
    cycle.consumables.iter().map(ConsumableUse::said)
}

fn stages(cycle: &Cycle) -> impl Iterator<Item = (&StageName, Elapsed, &[Limit], Option<u32>)> {
    cycle
        .stages
        .iter()
        .map(|stage| (&stage.name, stage.began, &*stage.limits, stage.n_pulses))
}

/// Readings without their stages: where a stage's line could not be read, its readings stand under the stage before.
fn readings(cycle: &Cycle) -> impl Iterator<Item = (Elapsed, Measured)> {
    cycle
        .stages
        .iter()
        .flat_map(|stage| &stage.readings)
        .map(|reading| (reading.at, reading.measured))
}

fn events(cycle: &Cycle) -> impl Iterator<Item = impl PartialEq + Hash> {
    cycle
        .events
        .iter()
        .map(|event| (event.at, &event.alarm, &event.text))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reconcile::case::cycle;
    use crate::record::consumable::{ConsumableKind, LotIdentity};
    use crate::record::cycle::{Event, Outcome};

    fn first() -> Cycle {
        cycle(1, "PL-1", 1042, "2026-03-12 07:41")
            .load("A-1")
            .reading(600, 45.0)
            .reading(1200, 46.0)
            .done()
    }

    fn ids(diagnostics: &[Diagnostic]) -> Vec<&'static str> {
        diagnostics.iter().map(|d| d.code.id()).collect()
    }

    #[test]
    fn cycle_printed_three_times_is_kept_once_with_all_lines() {
        let again = |line| {
            cycle(line, "PL-1", 1042, "2026-03-12 07:41")
                .load("A-1")
                .reading(600, 45.0)
                .reading(1200, 46.0)
                .done()
        };
        let (kept, diagnostics) = keep_once(vec![again(200), first(), again(100)]);
        assert_eq!(kept.len(), 1);
        assert_eq!(kept[0].cycle.opening.line, 1);
        let lines: Vec<_> = kept[0].reprints.iter().map(LineSet::first).collect();
        assert_eq!(lines, [100, 200]);
        assert_eq!(ids(&diagnostics), ["reprint-kept-once"; 2]);
    }

    #[test]
    fn torn_copy_that_says_nothing_else_counts_as_a_reprint_of_the_whole_one() {
        let torn = cycle(100, "PL-1", 1042, "2026-03-12 07:41")
            .reading(600, 45.0)
            .torn()
            .done();
        // The torn copy may come first or last.
        for cycles in [vec![torn.clone(), first()], vec![first(), torn.clone()]] {
            let (kept, diagnostics) = keep_once(cycles);
            assert_eq!(kept.len(), 1);
            assert!(kept[0].cycle.closed);
            assert_eq!(kept[0].reprints[0].first(), 100);
            assert_eq!(ids(&diagnostics), ["reprint-kept-once"]);
        }
    }

    #[test]
    fn torn_copy_with_another_reading_is_kept_apart() {
        let torn = cycle(100, "PL-1", 1042, "2026-03-12 07:41")
            .reading(600, 45.5)
            .torn()
            .done();
        let (kept, diagnostics) = keep_once(vec![torn, first()]);
        assert_eq!(kept.len(), 2);
        assert_eq!(ids(&diagnostics), ["reprint-differs"]);
        assert!(diagnostics[0].headline.contains("the readings"));
    }

    #[test]
    fn whole_copy_with_fewer_readings_is_kept_apart() {
        let fewer = cycle(100, "PL-1", 1042, "2026-03-12 07:41")
            .load("A-1")
            .reading(600, 45.0)
            .done();
        let (kept, diagnostics) = keep_once(vec![fewer, first()]);
        assert_eq!(kept.len(), 2);
        assert_eq!(ids(&diagnostics), ["reprint-differs"]);
    }

    #[test]
    fn same_identity_with_another_outcome_is_kept_apart() {
        let other = cycle(100, "PL-1", 1042, "2026-03-12 07:41")
            .load("A-1")
            .reading(600, 45.0)
            .reading(1200, 46.0)
            .outcome(Outcome::Aborted {
                stage: None,
                cause: None,
            })
            .done();
        let (kept, diagnostics) = keep_once(vec![other, first()]);
        assert_eq!(kept.len(), 2);
        assert!(diagnostics[0].headline.contains("the outcome"));
    }

    #[test]
    fn same_counter_at_another_start_is_another_cycle() {
        let other = cycle(100, "PL-1", 1042, "2026-03-12 09:41").done();
        let (kept, diagnostics) = keep_once(vec![other, first()]);
        assert_eq!((kept.len(), diagnostics.len()), (2, 0));
    }

    #[test]
    fn torn_copy_without_its_counter_is_still_a_copy() {
        let torn = cycle(100, "PL-1", 0, "2026-03-12 07:41")
            .no_counter()
            .torn()
            .done();
        let (kept, diagnostics) = keep_once(vec![torn, first()]);
        assert_eq!(kept.len(), 1);
        assert_eq!(ids(&diagnostics), ["reprint-kept-once"]);
    }

    #[test]
    fn cycles_without_start_are_never_taken_for_reprints() {
        let bare = |line| cycle(line, "PL-1", 1042, "").done();
        let (kept, diagnostics) = keep_once(vec![bare(1), bare(100)]);
        assert_eq!((kept.len(), diagnostics.len()), (2, 0));
    }

    fn again(change: impl FnOnce(&mut Cycle)) -> Cycle {
        let mut copy = cycle(100, "PL-1", 1042, "2026-03-12 07:41")
            .load("A-1")
            .reading(600, 45.0)
            .reading(1200, 46.0)
            .done();
        change(&mut copy);
        copy
    }

    #[test]
    fn copy_with_unread_lines_may_say_less() {
        let copy = again(|copy| {
            copy.n_unread_lines = 2;
            copy.load = None;
            copy.stages.pop();
        });
        let (kept, diagnostics) = keep_once(vec![copy, first()]);
        assert_eq!(kept.len(), 1);
        assert_eq!(ids(&diagnostics), ["reprint-kept-once"]);
        assert_eq!(kept[0].cycle.opening.line, 1);
        assert_eq!(
            diagnostics[0].headline,
            "PL-1 cycle 1042 is printed again; it is counted once"
        );
    }

    #[test]
    fn zero_of_either_sign_is_the_same_reading() {
        let with_zero = |line, celsius| {
            cycle(line, "PL-1", 1042, "2026-03-12 07:41")
                .reading(600, celsius)
                .done()
        };
        let (kept, _) = keep_once(vec![with_zero(1, 0.0), with_zero(100, -0.0)]);
        assert_eq!(kept.len(), 1);
    }

    /// What the two are said to differ in.
    #[track_caller]
    fn differs(copy: Cycle, original: Cycle) -> String {
        let (kept, diagnostics) = keep_once(vec![original, copy]);
        assert_eq!(kept.len(), 2);
        assert_eq!(ids(&diagnostics), ["reprint-differs"]);
        let (_, what) = diagnostics[0].headline.split_once(": ").unwrap();
        what.strip_suffix("; both are kept").unwrap().to_owned()
    }

    #[test]
    fn what_the_copies_differ_in_is_named() {
        let at = first().opening;
        let text = |text: &str| Some(Spanned::new(text.to_owned(), at));
        let with = |change: fn(&mut Cycle)| again(change);
        assert_eq!(
            differs(with(|c| c.purpose = Purpose::WarmUp), first()),
            "the purpose"
        );
        assert_eq!(
            differs(again(|c| c.serial = text("9")), first()),
            "the serial number"
        );
        assert_eq!(
            differs(again(|c| c.software = text("9")), first()),
            "the software version"
        );
        assert_eq!(
            differs(again(|c| c.place = text("9")), first()),
            "the place"
        );
        assert_eq!(differs(with(|c| c.load = None), first()), "the load number");
        assert_eq!(differs(with(|c| c.ended = None), first()), "the end");
        assert_eq!(
            differs(with(|c| c.stages[1].n_pulses = Some(3)), first()),
            "the stages"
        );
        assert_eq!(
            differs(with(|c| c.stages[1].readings.clear()), first()),
            "the readings"
        );
        let event = Event {
            at: Elapsed(700),
            span: at,
            alarm: None,
            text: "door".to_owned(),
        };
        assert_eq!(
            differs(again(|c| c.events.push(event)), first()),
            "the events"
        );
        let used = ConsumableUse {
            kind: ConsumableKind::Sterilant,
            lot: Spanned::new(
                LotIdentity {
                    gtin: None,
                    lot: None,
                    expiry: None,
                    serial: None,
                },
                at,
            ),
            use_count: None,
        };
        assert_eq!(
            differs(again(|c| c.consumables.push(used)), first()),
            "the consumables"
        );
    }

    #[test]
    fn torn_copy_without_its_purpose_may_be_of_a_test_and_one_with_another_may_not() {
        let of = |line, purpose| cycle(line, "PL-1", 1042, "2026-03-12 07:41").purpose(purpose);
        let original = || of(1, Purpose::LeakTest).done();
        let torn = |purpose| of(100, purpose).torn().done();
        let (kept, _) = keep_once(vec![original(), torn(Purpose::Load)]);
        assert_eq!(kept.len(), 1);
        let (kept, _) = keep_once(vec![original(), torn(Purpose::LeakTest)]);
        assert_eq!(kept.len(), 1);
        assert_eq!(differs(torn(Purpose::WarmUp), original()), "the purpose");
        assert_eq!(
            differs(of(100, Purpose::Load).done(), original()),
            "the purpose"
        );
        // What a copy says more is no part of the other.
        let more = again(|copy| {
            copy.closed = false;
            copy.serial = Some(Spanned::new("9".to_owned(), copy.opening));
        });
        assert_eq!(differs(more, first()), "the serial number");
    }

    #[test]
    fn start_with_many_counters_tells_nothing_of_a_copy_without() {
        let torn = || {
            cycle(200, "PL-1", 0, "2000-01-01 00:00")
                .no_counter()
                .torn()
                .done()
        };
        let kept = |n: u32| {
            let whole = (1..=n).map(|n| cycle(20 * n, "PL-1", n, "2000-01-01 00:00").done());
            keep_once(whole.chain([torn()]).collect()).0.len()
        };
        assert_eq!(kept(2), 2);
        assert_eq!(kept(3), 4);
    }

    /// Thousands of printouts of one counter and start are each compared with few, because what they say makes a number.
    #[test]
    fn printouts_that_say_otherwise_have_another_digest() {
        let original = digest(&first());
        assert_eq!(digest(&again(|_| {})), original);
        let other = |change: fn(&mut Cycle)| digest(&again(change));
        for changed in [
            other(|cycle| cycle.purpose = Purpose::WarmUp),
            other(|cycle| cycle.serial = Some(Spanned::new("9".to_owned(), cycle.opening))),
            other(|cycle| cycle.counter = Some(Spanned::new(7, cycle.opening))),
            other(|cycle| cycle.load = None),
            other(|cycle| cycle.ended = Some(Spanned::new(Elapsed(7), cycle.opening))),
            other(|cycle| cycle.outcome = Some(Spanned::new(Outcome::Passed, cycle.opening))),
            other(|cycle| cycle.stages[1].name = StageName::Vent),
            other(|cycle| cycle.stages[1].readings[0].at = Elapsed(7)),
            other(|cycle| {
                cycle.stages[0].readings[0].measured = cycle.stages[1].readings[0].measured
            }),
        ] {
            assert_ne!(changed, original);
        }
    }
}
