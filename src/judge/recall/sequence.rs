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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::case::Index;
    use crate::judge::policy::{PolicyBook, Preset};
    use crate::judge::trial::{history, moment, unit_log};

    /// A time on 12 March.
    fn at(time: &str) -> Option<NaiveDateTime> {
        Some(moment(&format!("2026-03-12 {time}")))
    }

    fn sequence() -> Sequence {
        let printed = [(0, 11, "08:00"), (2, 12, "10:00"), (3, 14, "14:00")];
        let printed = printed.map(|(place, counter, began)| Printed {
            at: place,
            counter,
            began: at(began),
        });
        Sequence {
            steps: Vec::new(),
            latest: vec![at("08:00"), at("08:00"), at("10:00"), at("14:00")],
            printed: printed.into(),
        }
    }

    #[test]
    fn counter_puts_a_load_between_its_neighbours_within_a_day_of_them() {
        let next_day = |time: &str| Some(moment(&format!("2026-03-13 {time}")));
        let day_before = |time: &str| Some(moment(&format!("2026-03-11 {time}")));
        for (counter, first, place) in [
            (13, at("12:00"), Some(3)),
            (13, None, Some(3)),
            // Twenty-four hours from either neighbour, and a minute more.
            (13, next_day("10:30"), Some(3)),
            (13, next_day("14:00"), Some(3)),
            (13, next_day("14:01"), None),
            (13, day_before("10:00"), Some(3)),
            (13, day_before("09:59"), None),
            // A counter that is printed is none of a load without a printout.
            (11, at("08:00"), None),
            (12, at("10:00"), None),
            (14, at("14:00"), None),
            (10, at("07:00"), None),
            // Behind the last one.
            (15, at("15:00"), Some(4)),
            (15, next_day("14:00"), Some(4)),
            (15, next_day("14:01"), None),
            (15, None, Some(4)),
        ] {
            let found = sequence().find_by_counter(counter, first);
            assert_eq!(found, place, "{counter} {first:?}");
        }
        assert_eq!(Sequence::default().find_by_counter(13, at("12:00")), None);
    }

    #[test]
    fn time_puts_a_load_before_the_first_that_began_later() {
        for (counter, first, place) in [
            (Some(13), at("07:00"), (3, Placed::Counter)),
            (None, at("07:59"), (0, Placed::LogTime)),
            (None, at("08:00"), (2, Placed::LogTime)),
            (None, at("09:00"), (2, Placed::LogTime)),
            (Some(12), at("10:00"), (3, Placed::LogTime)),
            (None, at("15:00"), (4, Placed::LogTime)),
        ] {
            assert_eq!(sequence().find_place(counter, first), place);
        }
        assert_eq!(
            sequence().find_place(None, None),
            (0, Placed::Nowhere),
            "no step is there yet"
        );
    }

    fn printout(number: &str, began: &str, counter: u32) -> String {
        let end = (moment(began) + TimeDelta::minutes(40)).format("%H:%M:%S");
        format!(
            "loadbook printout 1\nunit: PL-1\nzone: Europe/London\nprocess: plasma\nprogram: lumen\ncounter: {counter}\n\
             load: {number}\nstarted: {began}:00\nended: {end}\noutcome: completed\nend\n"
        )
    }

    fn test_of_unit(began: &str, purpose: &str, outcome: &str) -> String {
        let end = (moment(began) + TimeDelta::minutes(20)).format("%H:%M:%S");
        format!(
            "loadbook printout 1\nunit: PL-1\nzone: Europe/London\nprocess: plasma\npurpose: {purpose}\n\
             started: {began}:00\nended: {end}\noutcome: {outcome}\nend\n"
        )
    }

    /// The steps of the unit PL-1: a load's number with how it is placed, how it ended and what its vials show.
    fn steps(text: &str, as_of: Option<NaiveDateTime>) -> Vec<String> {
        let history = history(text);
        let index = Index::of(&history);
        let book = PolicyBook::of_preset(Preset::Cdc2008);
        let site = Site {
            index: &index,
            book: &book,
            as_of,
        };
        let unit = history.units.iter().find(|unit| unit.name.0 == "PL-1");
        let by_unit = ByUnit::of(&history);
        let told = |step: &Step| match step {
            Step::Run(run) => {
                let number = run
                    .load
                    .map(|ix| history.loads[ix.0].number.0[..2].to_owned());
                let bi = match &run.bi {
                    Bi::Growth(vials) => format!("{} grew", vials.len()),
                    other => format!("{other:?}"),
                };
                let program = run.program.as_deref().unwrap_or("-");
                let number = number.unwrap_or_default();
                let n_without_role = run.without_role.len();
                format!(
                    "{number} {program} {:?} {:?} {bi} {n_without_role}",
                    run.placed, run.end
                )
            }
            Step::Missing(gap) => format!("missing {} to {}", gap.first, gap.last),
            Step::Test { failed, .. } => format!("test {failed}"),
        };
        let steps = read_sequence(&site, &by_unit, unit.unwrap());
        steps.iter().map(told).collect()
    }

    #[test]
    fn insertion_moves_what_stands_behind_it() {
        let text = [
            printout("AA-LOAD", "2026-03-12 08:00", 11),
            printout("BC-LOAD", "2026-03-12 10:00", 12),
            printout("DE-LOAD", "2026-03-12 14:00", 14),
        ];
        let history = history(&text.concat());
        let index = Index::of(&history);
        let book = PolicyBook::of_preset(Preset::Cdc2008);
        let site = Site {
            index: &index,
            book: &book,
            as_of: None,
        };
        let mut sequence = Sequence::default();
        for (ix, known) in history.cycles.iter().enumerate() {
            sequence.push(&site, step_of(&site, CycleIx(ix), known));
        }
        let ats = |sequence: &Sequence| -> Vec<(usize, u32)> {
            let printed = sequence.printed.iter();
            printed
                .map(|printed| (printed.at, printed.counter))
                .collect()
        };
        assert_eq!(ats(&sequence), [(0, 11), (1, 12), (2, 14)]);
        let Step::Run(first) = sequence.steps[0].clone() else {
            panic!("no run");
        };
        let logged = |began| {
            Step::Run(Run {
                cycle: None,
                began: at(began),
                ..first.clone()
            })
        };
        sequence.insert(&site, 1, logged("09:00"));
        assert_eq!(ats(&sequence), [(0, 11), (2, 12), (3, 14)]);
        let latest = |sequence: &Sequence| -> Vec<String> {
            let latest = sequence.latest.iter().flatten();
            latest.map(|at| at.format("%H").to_string()).collect()
        };
        assert_eq!(latest(&sequence), ["08", "09", "10", "14"]);
        // What began later than those behind it is the latest of them too, up to the first that began later still.
        sequence.insert(&site, 1, logged("11:00"));
        assert_eq!(latest(&sequence), ["08", "11", "11", "11", "14"]);
        sequence.insert(&site, 0, logged("07:00"));
        assert_eq!(latest(&sequence), ["07", "08", "11", "11", "11", "14"]);
        assert_eq!(ats(&sequence), [(1, 11), (4, 12), (5, 14)]);
    }

    #[test]
    fn runs_tests_gaps_and_loads_of_the_log_stand_in_their_order() {
        let log = "loadbook log 1\nzone: Europe/London\ndate: 2026-03-12\n\
            09:30 load: ZZ-LOAD, unit PL-1, counter 13, program fast, by HB\n\
            09:40 load: YY-LOAD, unit PL-1, program fast, by HB\n";
        let text = [
            test_of_unit("2026-03-12 06:00", "leak-test", "passed"),
            test_of_unit("2026-03-12 06:30", "leak-test", "failed"),
            test_of_unit(
                "2026-03-12 07:00",
                "air-removal-test",
                "aborted, stage expose, cause operator-stopped",
            ),
            test_of_unit(
                "2026-03-12 07:30",
                "warm-up",
                "aborted, stage warm, cause operator-stopped",
            ),
            printout("AA-LOAD", "2026-03-12 08:00", 11),
            printout("BC-LOAD", "2026-03-12 10:00", 12),
            printout("DE-LOAD", "2026-03-12 14:00", 14),
            log.to_owned(),
        ];
        let all = [
            "test false",
            "test true",
            "test true",
            "test false",
            "AA lumen Printout Completed None 0",
            "YY fast LogTime Unproven None 0",
            "BC lumen Printout Completed None 0",
            "missing 13 to 13",
            "ZZ fast Counter Unproven None 0",
            "DE lumen Printout Completed None 0",
        ];
        assert_eq!(steps(&text.concat(), None), all);
        // What had not come is not there: the gap is seen when the cycle behind it is.
        assert_eq!(
            steps(&text.concat(), at("09:35")),
            [&all[..5], &["ZZ fast Counter Unproven None 0"]].concat()
        );
        assert_eq!(steps(&text.concat(), at("14:00")), all);
    }

    #[test]
    fn run_ends_as_its_printout_says() {
        let ended = |to: &str, more: &str| {
            let text = printout("AA-LOAD", "2026-03-12 08:00", 11);
            let text = text.replace("outcome: completed\nend\n", to);
            steps(&format!("{text}{more}"), None).remove(0)
        };
        let next = "loadbook printout 1\nunit: PL-9\nend\n";
        for (to, more, end) in [
            ("outcome: completed\nend\n", "", "Completed"),
            ("outcome: completed\n", next, "Unproven"),
            ("end\n", "", "Unproven"),
            (
                "outcome: aborted, stage vent, cause operator-stopped\nend\n",
                "",
                "NotProcessed",
            ),
            (
                "outcome: rejected, cause moisture\nend\n",
                "",
                "NotProcessed",
            ),
        ] {
            assert_eq!(
                ended(to, more),
                format!("AA lumen Printout {end} None 0"),
                "{to}"
            );
        }
        // What has no date may still be put in its place by its counter.
        let undated = printout("AA-LOAD", "2026-03-12 08:00", 11);
        let undated = undated.replace("started: 2026-03-12 08:00:00\n", "");
        let undated = undated.replace("ended: 08:40:00\n", "");
        assert_eq!(
            steps(&undated, None),
            ["AA lumen Printout Completed None 0"]
        );
        let nowhere = undated.replace("counter: 11\n", "");
        assert_eq!(steps(&nowhere, None), ["AA lumen Nowhere Completed None 0"]);
        // The program stands in the log where the printout has none.
        let log = "loadbook log 1\nzone: Europe/London\ndate: 2026-03-12\n07:50 load: AA-LOAD, unit PL-1, counter 11, program fast, by HB\n";
        let bare = printout("AA-LOAD", "2026-03-12 08:00", 11).replace("program: lumen\n", "");
        assert_eq!(
            steps(&format!("{bare}{log}"), None),
            ["AA fast Printout Completed None 0"]
        );
    }

    #[test]
    fn printout_that_names_no_unit_stands_where_its_counter_puts_it() {
        let log = "loadbook log 1\nzone: Europe/London\ndate: 2026-03-12\n09:50 load: BC-LOAD, unit PL-1, counter 12, by HB\n";
        let text = [
            printout("AA-LOAD", "2026-03-12 08:00", 11),
            printout("BC-LOAD", "2026-03-12 10:00", 12).replace("unit: PL-1\n", ""),
            printout("DE-LOAD", "2026-03-12 14:00", 13),
            log.to_owned(),
        ];
        let told = steps(&text.concat(), None);
        let runs: Vec<_> = told
            .iter()
            .filter(|step| !step.starts_with("missing"))
            .collect();
        assert_eq!(
            runs,
            [
                "AA lumen Printout Completed None 0",
                "BC lumen Counter Completed None 0",
                "DE lumen Printout Completed None 0",
            ]
        );
        let before = steps(&text.concat(), at("09:59"));
        assert!(
            !before
                .iter()
                .any(|step| step.contains("Completed None") && step.starts_with("BC"))
        );
    }

    #[test]
    fn vials_show_the_most_telling_of_their_results() {
        for (vials, shown) in [
            ("", "None"),
            ("well control", "Satisfactory"),
            ("well", "Proves(Control)"),
            ("grew", "1 grew"),
            ("well grew grew control", "2 grew"),
            ("control", "None"),
        ] {
            // Without a printout no record gives the process, by which times of incubation are known.
            let strip = printout("AA-LOAD", "2026-03-12 08:00", 11);
            let text = unit_log(&[("AA-LOAD", "2026-03-12 08:00", vials)]);
            assert_eq!(
                steps(&format!("{strip}{text}"), None),
                [format!("AA lumen Printout Completed {shown} 0")],
                "{vials}"
            );
        }
        // Of two vials the one without a result may still grow.
        let two = [
            printout("AA-LOAD", "2026-03-12 08:00", 11),
            unit_log(&[("AA-LOAD", "2026-03-12 08:00", "well control")]),
            "2026-03-12 08:05 bi: AA-LOAD, role test, lot B1, incubated 2026-03-12 08:05\n"
                .to_owned(),
        ];
        assert_eq!(
            steps(&two.concat(), None),
            ["AA lumen Printout Completed Pending 0"]
        );
        // A vial with a result of which nothing says whether it was test or control; one without a result is not told.
        let text = unit_log(&[("AA-LOAD", "2026-03-12 08:00", "")]);
        let vial = |result: &str| {
            format!(
                "{text}2026-03-13 09:00 bi: AA-LOAD, lot B1, incubated 2026-03-12 08:00{result}\n"
            )
        };
        assert_eq!(
            steps(&vial(", read 2026-03-13 09:00, result growth"), None),
            ["AA standard LogTime Unproven None 1"]
        );
        assert_eq!(
            steps(&vial(""), None),
            ["AA standard LogTime Unproven None 0"]
        );
    }

    #[test]
    fn vial_is_of_the_last_run_that_began_before_its_incubation() {
        let of = |incubated: &str| {
            let text = [
                printout("AA-LOAD", "2026-03-12 08:00", 11),
                printout("AA-LOAD", "2026-03-12 10:00", 12),
                format!(
                    "loadbook log 1\nzone: Europe/London\n2026-03-14 09:00 bi: AA-LOAD, role test, lot B1, {incubated}read 2026-03-14 09:00, result growth\n"
                ),
            ];
            steps(&text.concat(), None)
                .iter()
                .map(|step| step.contains("1 grew"))
                .collect::<Vec<_>>()
        };
        assert_eq!(of("incubated 2026-03-12 09:59, "), [true, false]);
        assert_eq!(of("incubated 2026-03-12 10:00, "), [false, true]);
        assert_eq!(of("incubated 2026-03-12 11:00, "), [false, true]);
        // Before both, it is of the first; without a time of its own, by when it was written.
        assert_eq!(of("incubated 2026-03-12 07:59, "), [true, false]);
        assert_eq!(of(""), [false, true]);
    }

    #[test]
    fn growth_is_a_reading_of_a_test() {
        let text = unit_log(&[("AA-LOAD", "2026-03-12 08:00", "grew well control put")]);
        let history = history(&text);
        let grown: Vec<bool> = history.entries.iter().map(grew).collect();
        assert_eq!(grown.iter().filter(|grew| **grew).count(), 1);
    }
}
