//! The runs of one unit in order: printed cycles, loads that only the log knows, and gaps in the printouts.
//!
//! Each load cycle is one run, so that a load which was run again makes several. A load without a printout stands where
//! its cycle counter puts it, else where its first moment does; one that has neither stands at the end and counts for
//! every scope. Knows nothing of scopes. Read [`read_sequence`] first.

use super::Site;
use crate::judge::bi_test::{Nothing, Standing, find_tests_of};
use crate::judge::case::{Seen, role};
use crate::measure::count::Counting;
use crate::reconcile::history::{
    CycleIx, EntryIx, History, KnownCycle, KnownEntry, Load, LoadIx, MissingPrintouts, Unit,
};
use crate::record::cycle::{Outcome, Process, Purpose};
use crate::record::entry::{BiGrowth, BiResult, BiRole, EntryBody};
use chrono::{NaiveDateTime, TimeDelta};
use std::collections::BTreeMap;

/// How far the log's time of a load may lie from its neighbours' by counter: beyond that the counter was mistyped, or
/// is of another count. Common practice, no source.
const NEAR_BY_COUNTER: TimeDelta = TimeDelta::hours(24);

/// What the biological indicators of a run show.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Bi {
    /// At least one test grew: the entries with those readings.
    Growth(Vec<EntryIx>),
    /// No growth, in time, with a control that grew.
    Satisfactory,
    /// A result is still to come.
    Pending,
    /// There is a test, and it proves nothing.
    Proves(Nothing),
    /// There is no test.
    None,
}

/// How a run ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RunEnd {
    /// The printout is whole and says that the cycle was completed.
    Completed,
    /// The printout says that it was aborted or the load rejected.
    NotProcessed,
    /// There is no printout, or it is torn, or has no outcome.
    Unproven,
}

/// How the place of a run in the order is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Placed {
    /// By its printout.
    Printout,
    /// By the cycle counter in the log.
    Counter,
    /// By the time in the log.
    LogTime,
    /// It is not known.
    Nowhere,
}

/// A load's run through the unit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Run {
    /// Its cycle. `None` when only the log knows it.
    pub cycle: Option<CycleIx>,
    /// Its load. `None` when the printout names none.
    pub load: Option<LoadIx>,
    /// Its process, as printed.
    pub process: Option<Process>,
    /// Its program, as printed, else as the log has it.
    pub program: Option<String>,
    /// When it began, on the local clock of unit or log.
    pub began: Option<NaiveDateTime>,
    /// How its place is known.
    pub placed: Placed,
    /// How it ended.
    pub end: RunEnd,
    /// What its biological indicators show.
    pub bi: Bi,
    /// Vials with a result of which the log does not say whether they were test or control.
    pub without_role: Vec<EntryIx>,
}

/// A step of a unit's history.
#[derive(Debug, Clone, PartialEq)]
pub enum Step {
    /// A load's run.
    Run(Run),
    /// Cycles without a printout.
    Missing(MissingPrintouts),
    /// A test of the unit or a warm-up.
    Test {
        /// The cycle.
        cycle: CycleIx,
        /// Whether it was a leak or air-removal test that was not passed.
        failed: bool,
    },
}

/// The steps as far as they are placed, with what finds the place of a further one.
#[derive(Default)]
struct Sequence {
    steps: Vec<Step>,
    /// For each step, the latest moment at which a run up to it began.
    latest: Vec<Option<NaiveDateTime>>,
    /// The steps with a printed counter, in order.
    printed: Vec<Printed>,
}

/// A step with a printed counter.
struct Printed {
    /// Its place among the steps.
    at: usize,
    counter: u32,
    began: Option<NaiveDateTime>,
}

impl Sequence {
    fn push(&mut self, site: &Site<'_>, step: Step) {
        self.insert(site, self.steps.len(), step);
    }

    fn insert(&mut self, site: &Site<'_>, at: usize, step: Step) {
        let first = self.printed.partition_point(|printed| printed.at < at);
        for printed in self.printed.iter_mut().skip(first) {
            printed.at.add_one();
        }
        if let Some(printed) = printed_of(site, at, &step) {
            self.printed.insert(first, printed);
        }
        let began = match &step {
            Step::Run(run) => run.began,
            Step::Missing(_) | Step::Test { .. } => None,
        };
        let before = at.checked_sub(1).and_then(|at| *self.latest.get(at)?);
        self.latest.insert(at, before);
        for latest in self.latest.iter_mut().skip(at) {
            if *latest >= began {
                break;
            }
            *latest = began;
        }
        self.steps.insert(at, step);
    }

    /// Where a run belongs that no printout of the unit puts in its place, and how that is known.
    fn find_place(&self, counter: Option<u32>, began: Option<NaiveDateTime>) -> (usize, Placed) {
        let by_counter = counter.and_then(|counter| self.find_by_counter(counter, began));
        match (by_counter, began) {
            (Some(at), _) => (at, Placed::Counter),
            (None, Some(_)) => {
                // Before the first run that began later; runs without a date are passed over.
                let at = self.latest.partition_point(|latest| *latest <= began);
                (at, Placed::LogTime)
            }
            (None, None) => (self.steps.len(), Placed::Nowhere),
        }
    }

    /// The place between two printed cycles whose counters enclose this one, and that are near in time. A counter that
    /// a printout of the unit has is none of a load without a printout: then the time decides.
    fn find_by_counter(&self, counter: u32, first: Option<NaiveDateTime>) -> Option<usize> {
        let is_near = |began: Option<NaiveDateTime>| match (began, first) {
            (Some(began), Some(first)) => {
                began.signed_duration_since(first).abs() <= NEAR_BY_COUNTER
            }
            _ => true,
        };
        let pairs = self.printed.iter().zip(self.printed.iter().skip(1));
        let within = pairs
            .filter(|(a, b)| a.counter < counter && counter < b.counter)
            .find(|(a, b)| is_near(a.began) || is_near(b.began));
        if let Some((_, next)) = within {
            return Some(next.at);
        }
        let last = self.printed.last()?;
        let follows = last.counter < counter && is_near(last.began);
        follows.then(|| last.at.saturating_add(1))
    }
}

fn printed_of(site: &Site<'_>, at: usize, step: &Step) -> Option<Printed> {
    let cycle = match step {
        Step::Run(run) => run.cycle?,
        Step::Test { cycle, .. } => *cycle,
        Step::Missing(_) => return None,
    };
    let known = site.index.cycle(cycle)?;
    Some(Printed {
        at,
        counter: known.cycle.counter.as_ref()?.value,
        began: known.began.as_ref().map(|began| began.value.local),
    })
}

/// Whether an entry is a reading with growth of a vial that is a test, as far as the log says.
pub(super) fn grew(known: &KnownEntry) -> bool {
    matches!(&known.entry.body, EntryBody::Bi(bi)
        if role(bi) == Some(BiRole::Test)
            && bi.growth.as_ref().is_some_and(|growth| growth.value == BiGrowth::Growth))
}

/// What the sequences of all units are made from, found once.
pub(super) struct ByUnit<'a> {
    gaps_after: BTreeMap<CycleIx, Vec<&'a MissingPrintouts>>,
    /// By the name of the unit in small letters, in order.
    loads: BTreeMap<String, Vec<(LoadIx, &'a Load)>>,
}

impl<'a> ByUnit<'a> {
    /// Of a history.
    pub fn of(history: &'a History) -> Self {
        let mut gaps_after: BTreeMap<_, Vec<_>> = BTreeMap::new();
        for gap in &history.missing {
            gaps_after.entry(gap.after).or_default().push(gap);
        }
        let mut loads: BTreeMap<_, Vec<_>> = BTreeMap::new();
        for (at, load) in history.loads.iter().enumerate() {
            if let Some(unit) = &load.unit {
                let of_unit = loads.entry(unit.in_small_letters());
                of_unit.or_default().push((LoadIx(at), load));
            }
        }
        ByUnit { gaps_after, loads }
    }

    fn loads_of(&self, unit: &Unit) -> &[(LoadIx, &'a Load)] {
        let loads = self.loads.get(&unit.name.in_small_letters());
        loads.map_or(&[], Vec::as_slice)
    }
}

/// The steps of a unit, in order.
pub(super) fn read_sequence(site: &Site<'_>, by_unit: &ByUnit<'_>, unit: &Unit) -> Vec<Step> {
    let history = site.index.history;
    let mut sequence = Sequence::default();
    for ix in &unit.cycles {
        let Some(known) = history.cycles.get(ix.0) else {
            continue;
        };
        let began = known.began.as_ref().map(|began| began.value.local);
        if site.had_come(began) {
            sequence.push(site, step_of(site, *ix, known));
        }
        let gaps = by_unit.gaps_after.get(ix).into_iter().flatten().copied();
        let seen = gaps.filter(|gap| {
            let before = history.cycles.get(gap.before.0);
            site.had_come(before.and_then(|known| Some(known.began.as_ref()?.value.local)))
        });
        for gap in seen {
            sequence.push(site, Step::Missing(gap.clone()));
        }
    }
    let loads = by_unit.loads_of(unit);
    let logged = loads.iter().filter(|(_, load)| {
        load.cycles.is_empty() && site.had_come(load.first.map(|first| first.local))
    });
    for (ix, load) in logged {
        place_logged(site, *ix, load, &mut sequence);
    }
    for known in cycles_by_log(site, loads) {
        place_printed(site, known, &mut sequence);
    }
    sequence.steps
}

/// Cycles of these loads whose printout does not name a unit.
fn cycles_by_log<'a>(
    site: &Site<'a>,
    loads: &[(LoadIx, &'a Load)],
) -> Vec<(CycleIx, &'a KnownCycle)> {
    let history = site.index.history;
    let cycles = loads.iter().flat_map(|(_, load)| &load.cycles);
    cycles
        .filter_map(|ix| Some((*ix, history.cycles.get(ix.0)?)))
        .filter(|(_, known)| {
            known.cycle.unit.is_none()
                && site.had_come(known.began.as_ref().map(|began| began.value.local))
        })
        .collect()
}

fn place_printed(site: &Site<'_>, cycle: (CycleIx, &KnownCycle), sequence: &mut Sequence) {
    let (ix, known) = cycle;
    let Step::Run(mut run) = step_of(site, ix, known) else {
        return;
    };
    let counter = known.cycle.counter.as_ref().map(|counter| counter.value);
    let (at, placed) = sequence.find_place(counter, run.began);
    run.placed = placed;
    sequence.insert(site, at, Step::Run(run));
}

fn step_of(site: &Site<'_>, ix: CycleIx, known: &KnownCycle) -> Step {
    let cycle = &known.cycle;
    let outcome = cycle.outcome.as_ref().map(|outcome| &outcome.value);
    if cycle.purpose != Purpose::Load {
        let is_test = matches!(cycle.purpose, Purpose::LeakTest | Purpose::AirRemovalTest);
        let not_passed = matches!(outcome, Some(Outcome::Failed | Outcome::Aborted { .. }));
        return Step::Test {
            cycle: ix,
            failed: is_test && not_passed,
        };
    }
    let end = match outcome {
        Some(Outcome::Aborted { .. } | Outcome::Rejected { .. }) => RunEnd::NotProcessed,
        Some(Outcome::Completed) if cycle.closed => RunEnd::Completed,
        _ => RunEnd::Unproven,
    };
    let (bi, without_role) = match known.load {
        Some(load) => read_bi(site, load, Some(ix)),
        None => (Bi::None, Vec::new()),
    };
    let began = known.began.as_ref().map(|began| began.value.local);
    // What has no date may still be put in its place by its counter.
    let is_placed = began.is_some() || cycle.counter.is_some();
    Step::Run(Run {
        cycle: Some(ix),
        load: known.load,
        process: cycle.process.as_ref().map(|process| process.value),
        program: cycle
            .program
            .as_ref()
            .map(|program| program.value.0.clone())
            .or_else(|| logged_program(site, known.load)),
        began,
        placed: if is_placed {
            Placed::Printout
        } else {
            Placed::Nowhere
        },
        end,
        bi,
        without_role,
    })
}

fn logged_program(site: &Site<'_>, load: Option<LoadIx>) -> Option<String> {
    let load = site.index.load(load?)?;
    load.starts
        .iter()
        .rev()
        .find_map(|ix| match &site.index.entry(*ix)?.entry.body {
            EntryBody::Load(start) => start.program.as_ref(),
            _ => None,
        })
        .map(|program| program.value.0.clone())
}

/// What the vials of a load show that belong to one of its cycles.
fn read_bi(site: &Site<'_>, ix: LoadIx, cycle: Option<CycleIx>) -> (Bi, Vec<EntryIx>) {
    let (Some(load), Some(case)) = (site.index.load(ix), site.case(ix)) else {
        return (Bi::None, Vec::new());
    };
    let is_of_cycle =
        |vial: &Seen<'_, BiResult>| cycle.is_none() || cycle_of(site, load, vial) == cycle;
    let vials = case.sight.bis_of(load).into_iter();
    let without_role = vials
        .filter(|vial| role(vial.says).is_none() && vial.says.growth.is_some())
        .filter(is_of_cycle)
        .map(|vial| vial.ix)
        .collect();
    let tests = find_tests_of(&case.sight, case.schedule(), load).into_iter();
    let standings: Vec<(EntryIx, Standing)> = tests
        .filter(|(test, _)| is_of_cycle(test))
        .map(|(test, standing)| (test.ix, standing))
        .collect();
    let grown: Vec<EntryIx> = standings
        .iter()
        .filter(|(_, standing)| *standing == Standing::Growth)
        .map(|(ix, _)| *ix)
        .collect();
    let has = |wanted: &Standing| standings.iter().any(|(_, standing)| standing == wanted);
    let nothing = standings.iter().find_map(|(_, standing)| match standing {
        Standing::Proves(nothing) => Some(*nothing),
        _ => None,
    });
    let bi = if !grown.is_empty() {
        Bi::Growth(grown)
    } else if has(&Standing::Pending) {
        // Of two vials, the one without a result may still grow.
        Bi::Pending
    } else if has(&Standing::Satisfactory) {
        Bi::Satisfactory
    } else if let Some(nothing) = nothing {
        Bi::Proves(nothing)
    } else {
        Bi::None
    };
    (bi, without_role)
}

/// The cycle of a load that a vial went through: the last one that began before the vial was put to incubation.
fn cycle_of(site: &Site<'_>, load: &Load, vial: &Seen<'_, BiResult>) -> Option<CycleIx> {
    let incubated = vial.says.incubated.as_ref().map(|at| at.value.local);
    let Some(at) = incubated.or(vial.written()) else {
        return load.cycles.last().copied();
    };
    load.cycles
        .iter()
        .rev()
        .copied()
        .find(|ix| {
            site.index.cycle(*ix).is_some_and(|known| {
                known
                    .began
                    .as_ref()
                    .is_none_or(|began| began.value.local <= at)
            })
        })
        .or(load.cycles.first().copied())
}

/// Puts a load that only the log knows in its place.
fn place_logged(site: &Site<'_>, ix: LoadIx, load: &Load, sequence: &mut Sequence) {
    let first = load.first.map(|first| first.local);
    let counter =
        load.starts
            .iter()
            .rev()
            .find_map(|ix| match &site.index.entry(*ix)?.entry.body {
                EntryBody::Load(start) => start.counter.as_ref().map(|counter| counter.value),
                _ => None,
            });
    let (bi, without_role) = read_bi(site, ix, None);
    let (at, placed) = sequence.find_place(counter, first);
    let run = Run {
        cycle: None,
        load: Some(ix),
        process: None,
        program: logged_program(site, Some(ix)),
        began: first,
        placed,
        end: RunEnd::Unproven,
        bi,
        without_role,
    };
    sequence.insert(site, at, Step::Run(run));
}
