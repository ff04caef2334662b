//! The case of one load: the records that a rule may look at, as far as they had come by some moment.
//!
//! Knows nothing of rules or decisions. A load that was run again is seen as it last went: indicators of an earlier run
//! are left out. Read [`Case`] first; [`Index`] is what all cases of a history share.

use super::bi_course::BiLoads;
use super::bi_test::{Control, Standing};
use super::decision::{DecisionStep, Evidence, RecordIx};
use super::holds::{Holds, Kept, is_no_earlier};
use super::policy::{BiFrequency, BiSchedule, Policy};
use super::rulebook::{DefaultValue, Parameter, Rule, Value, Verdict};
use super::sight::Sight;
use super::used_lot::{LotEntry, UsedLot};
use crate::diagnose::Span;
use crate::reconcile::history::{
    CycleIx, EntryIx, History, KnownCycle, KnownEntry, Load, LoadIx, NearMiss, Unit,
};
use crate::record::consumable::ConsumableKind;
use crate::record::cycle::{Process, Purpose};
use crate::record::entry::{
    BiGrowth, BiResult, BiRole, CiResult, Content, EntryBody, LoadStart, LotAction, LotChange,
};
use crate::record::name::{LoadNumber, LotNumber, UnitName};
use chrono::{NaiveDateTime, TimeDelta};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// What all cases of a history share: where to find records that lie outside the load.
pub struct Index<'a> {
    /// The history.
    pub history: &'a History,
    /// Controls, by lot.
    pub controls: BTreeMap<&'a LotNumber, Controls>,
    /// Lots opened and finished, in order.
    pub lots: BTreeMap<(ConsumableKind, &'a LotNumber), Vec<LotEntry>>,
    /// When the first lot of a kind was opened.
    pub first_opening: BTreeMap<ConsumableKind, NaiveDateTime>,
    /// Leak tests and air-removal tests of a unit, in order of the moments at which they began.
    pub tests_of_unit: BTreeMap<(&'a UnitName, Purpose), Vec<(NaiveDateTime, CycleIx)>>,
    /// Loads of a unit, in order of the moments at which they began; those without one are left out.
    pub loads_of_unit: BTreeMap<&'a UnitName, Vec<(NaiveDateTime, LoadIx)>>,
    /// The loads of those that have an entry of a biological indicator.
    pub bi_loads_of_unit: BTreeMap<&'a UnitName, BiLoads>,
    /// The loads of those in which a test grew, by any entry.
    pub growth_loads_of_unit: BTreeMap<&'a UnitName, Vec<(NaiveDateTime, LoadIx)>>,
    /// Loads of which no record names the unit, in order.
    pub loads_without_unit: Vec<LoadIx>,
    /// Loads by number, in order of the moments at which they began: more than one where a number was used again. Those
    /// without a moment are left out.
    pub loads_by_number: BTreeMap<&'a LoadNumber, Vec<(NaiveDateTime, LoadIx)>>,
    /// Near misses, by either load.
    pub near_misses: BTreeMap<LoadIx, Vec<&'a NearMiss>>,
    /// Units by name.
    pub units: BTreeMap<&'a UnitName, &'a Unit>,
    /// The newest moment of any record.
    pub newest: Option<NaiveDateTime>,
    /// What the vials of each load say together.
    vials: Vec<LoadVials<'a>>,
    /// When each cycle came. A load is judged by some hundred records of others, and looking each of them up for its moment
    /// alone would take most of the time.
    cycles_came: Vec<Option<NaiveDateTime>>,
    /// When each entry came.
    entries_came: Vec<Option<NaiveDateTime>>,
}

/// What the vials of one load say together, whenever they were read.
#[derive(Debug, Default)]
pub struct LoadVials<'a> {
    /// Their lots, each once, in order.
    pub lots: Vec<&'a LotNumber>,
    /// Whether a test was read and none grew.
    pub read_well: bool,
}

/// The entries of the controls of one lot, to be found by when they were put to incubation.
#[derive(Debug, Default)]
pub struct Controls {
    /// In order of the moments at which they were put to incubation, else written.
    timed: Vec<(NaiveDateTime, EntryIx)>,
    untimed: Vec<EntryIx>,
}

impl Controls {
    fn take(&mut self, ix: EntryIx, at: Option<NaiveDateTime>) {
        match at {
            Some(at) => self.timed.push((at, ix)),
            None => self.untimed.push(ix),
        }
    }

    /// Those that were put to incubation so near to any of these moments, which are in order, else written so near to it;
    /// each once.
    pub fn near_any(
        &self,
        moments: &[NaiveDateTime],
        reach: TimeDelta,
    ) -> impl Iterator<Item = EntryIx> + use<'_> {
        // Times that overlap are one time, so that it is looked for once.
        let mut spans: Vec<(NaiveDateTime, NaiveDateTime)> = Vec::new();
        for moment in moments {
            let from = moment.checked_sub_signed(reach);
            let from = from.unwrap_or(NaiveDateTime::MIN);
            let to = moment.checked_add_signed(reach);
            let to = to.unwrap_or(NaiveDateTime::MAX);
            match spans.last_mut() {
                Some((_, end)) if from <= *end => *end = to,
                _ => spans.push((from, to)),
            }
        }
        spans.into_iter().flat_map(|(from, to)| {
            let first = self.timed.partition_point(|(at, _)| *at < from);
            let end = self.timed.partition_point(|(at, _)| *at <= to);
            let near = self.timed.get(first..end).unwrap_or(&[]).iter();
            near.map(|(_, ix)| *ix)
        })
    }

    /// Those that were put to incubation so near to a moment, else written so near to it.
    pub fn near(
        &self,
        moment: NaiveDateTime,
        reach: TimeDelta,
    ) -> impl Iterator<Item = EntryIx> + '_ {
        near(&self.timed, moment, move |apart| apart <= reach).map(|(_, ix)| *ix)
    }

    /// Those with neither moment.
    pub fn untimed(&self) -> &[EntryIx] {
        &self.untimed
    }
}

/// Of what is in order of time, what lies near to a moment: the length between the two is given, and never below zero.
pub fn near<T>(
    timed: &[(NaiveDateTime, T)],
    moment: NaiveDateTime,
    is_near: impl Fn(TimeDelta) -> bool,
) -> impl Iterator<Item = &(NaiveDateTime, T)> {
    let first = timed
        .partition_point(|(at, _)| *at < moment && !is_near(moment.signed_duration_since(*at)));
    let from = timed.get(first..).unwrap_or(&[]).iter();
    from.take_while(move |(at, _)| *at <= moment || is_near(at.signed_duration_since(moment)))
}

impl<'a> Index<'a> {
    /// The index of a history.
    pub fn of(history: &'a History) -> Self {
        let cycles_came: Vec<_> = history.cycles.iter().map(cycle_came).collect();
        let entries_came: Vec<_> = history.entries.iter().map(entry_came).collect();
        let mut index = Index {
            history,
            controls: BTreeMap::new(),
            lots: BTreeMap::new(),
            first_opening: BTreeMap::new(),
            tests_of_unit: BTreeMap::new(),
            loads_of_unit: BTreeMap::new(),
            bi_loads_of_unit: BTreeMap::new(),
            growth_loads_of_unit: BTreeMap::new(),
            loads_without_unit: Vec::new(),
            loads_by_number: BTreeMap::new(),
            near_misses: BTreeMap::new(),
            units: history
                .units
                .iter()
                .map(|unit| (&unit.name, unit))
                .collect(),
            newest: cycles_came
                .iter()
                .chain(&entries_came)
                .copied()
                .max()
                .flatten(),
            vials: Vec::new(),
            cycles_came,
            entries_came,
        };
        for (at, known) in history.entries.iter().enumerate() {
            let ix = EntryIx(at);
            match &known.entry.body {
                EntryBody::Bi(bi) if role(bi) == Some(BiRole::Control) => {
                    if let Some(lot) = lot_number(bi) {
                        let put = bi.incubated.as_ref().map(|at| at.value.local);
                        let at = put.or(known.written.map(|at| at.local));
                        index.controls.entry(lot).or_default().take(ix, at);
                    }
                }
                EntryBody::Lot(change) => {
                    if let Some(key) = changed_lot(change) {
                        let said = LotEntry::of(known, change);
                        index.lots.entry(key).or_default().extend(said);
                        let opened = change
                            .action
                            .as_ref()
                            .is_some_and(|action| action.value == LotAction::Opened);
                        if let (true, Some(at)) = (opened, known.written) {
                            index.first_opening.entry(key.0).or_insert(at.local);
                        }
                    }
                }
                _ => {}
            }
        }
        for (at, known) in history.cycles.iter().enumerate() {
            let is_test = matches!(
                known.cycle.purpose,
                Purpose::LeakTest | Purpose::AirRemovalTest
            );
            if let (true, Some(unit), Some(began)) = (is_test, &known.cycle.unit, &known.began) {
                let tests = index
                    .tests_of_unit
                    .entry((&unit.value, known.cycle.purpose));
                tests.or_default().push((began.value.local, CycleIx(at)));
            }
        }
        for (at, load) in history.loads.iter().enumerate() {
            let ix = LoadIx(at);
            index.vials.push(LoadVials::of(&index, load));
            if load.unit.is_none() {
                index.loads_without_unit.push(ix);
            }
            let Some(began) = index.load_began(load) else {
                continue;
            };
            let same_number = index.loads_by_number.entry(&load.number);
            same_number.or_default().push((began, ix));
            if let Some(unit) = &load.unit {
                index
                    .loads_of_unit
                    .entry(unit)
                    .or_default()
                    .push((began, ix));
                if !load.bis.is_empty() {
                    index
                        .bi_loads_of_unit
                        .entry(unit)
                        .or_default()
                        .loads
                        .push((began, ix));
                }
                if load.bis.iter().any(|ix| index.is_growth(*ix)) {
                    let grown = index.growth_loads_of_unit.entry(unit);
                    grown.or_default().push((began, ix));
                }
            }
        }
        for controls in index.controls.values_mut() {
            controls.timed.sort_unstable();
        }
        for tests in index.tests_of_unit.values_mut() {
            tests.sort_unstable();
        }
        for loads in index
            .loads_by_number
            .values_mut()
            .chain(index.loads_of_unit.values_mut())
            .chain(index.bi_loads_of_unit.values_mut().map(|of| &mut of.loads))
            .chain(index.growth_loads_of_unit.values_mut())
        {
            loads.sort_unstable();
        }
        for near in &history.near_misses {
            for load in [near.in_log, near.on_strip] {
                index.near_misses.entry(load).or_default().push(near);
            }
        }
        index
    }

    fn is_growth(&self, ix: EntryIx) -> bool {
        self.bi(ix).is_some_and(|bi| {
            role(bi.says) == Some(BiRole::Test) && growth(bi.says) == Some(BiGrowth::Growth)
        })
    }

    /// A load.
    pub fn load(&self, ix: LoadIx) -> Option<&'a Load> {
        self.history.loads.get(ix.0)
    }

    /// A cycle.
    pub fn cycle(&self, ix: CycleIx) -> Option<&'a KnownCycle> {
        self.history.cycles.get(ix.0)
    }

    /// An entry.
    pub fn entry(&self, ix: EntryIx) -> Option<&'a KnownEntry> {
        self.history.entries.get(ix.0)
    }

    /// An entry of a biological indicator. `None` if it is another.
    pub fn bi(&self, ix: EntryIx) -> Option<Seen<'a, BiResult>> {
        let known = self.entry(ix)?;
        match &known.entry.body {
            EntryBody::Bi(says) => Some(Seen { ix, known, says }),
            _ => None,
        }
    }

    /// When a load began: its last cycle, else its first moment.
    pub fn load_began(&self, load: &Load) -> Option<NaiveDateTime> {
        load.cycles
            .iter()
            .rev()
            .find_map(|ix| self.cycle(*ix)?.began.as_ref())
            .map(|began| began.value.local)
            .or(load.first.map(|first| first.local))
    }

    /// When a record came: a cycle with its end, an entry when it was written.
    pub fn came(&self, record: RecordIx) -> Option<NaiveDateTime> {
        match record {
            RecordIx::Cycle(ix) => *self.cycles_came.get(ix.0)?,
            RecordIx::Entry(ix) => *self.entries_came.get(ix.0)?,
        }
    }

    /// What the vials of a load say together.
    pub fn vials_of(&self, load: LoadIx) -> Option<&LoadVials<'a>> {
        self.vials.get(load.0)
    }
}

impl<'a> LoadVials<'a> {
    fn of(index: &Index<'a>, load: &Load) -> Self {
        let all = load.bis.iter().chain(&load.superseded_bis);
        let lots = all.filter_map(|ix| lot_number(index.bi(*ix)?.says));
        let mut lots: Vec<&LotNumber> = lots.collect();
        lots.sort_unstable();
        lots.dedup();
        let latest = load.bis.iter().filter_map(|ix| index.bi(*ix));
        let tests = latest.filter(|bi| role(bi.says) == Some(BiRole::Test));
        let mut grown = tests.filter_map(|bi| growth(bi.says)).peekable();
        LoadVials {
            lots,
            read_well: grown.peek().is_some() && grown.all(|growth| growth == BiGrowth::NoGrowth),
        }
    }
}

fn entry_came(known: &KnownEntry) -> Option<NaiveDateTime> {
    known.written.map(|moment| moment.local)
}

fn cycle_came(known: &KnownCycle) -> Option<NaiveDateTime> {
    known
        .ended
        .map(|ended| ended.local)
        .or(known.began.as_ref().map(|began| began.value.local))
}

/// The role of a vial, where the log gives it.
pub fn role(bi: &BiResult) -> Option<BiRole> {
    bi.role.as_ref().map(|role| role.value)
}

/// What a vial showed, if it was read.
pub fn growth(bi: &BiResult) -> Option<BiGrowth> {
    bi.growth.as_ref().map(|growth| growth.value)
}

/// The lot number of a vial.
pub fn lot_number(bi: &BiResult) -> Option<&LotNumber> {
    bi.lot.as_ref()?.value.lot.as_ref()
}

fn changed_lot(change: &LotChange) -> Option<(ConsumableKind, &LotNumber)> {
    Some((
        change.consumable.as_ref()?.value,
        change.lot.as_ref()?.value.lot.as_ref()?,
    ))
}

/// An entry that a rule may look at, with the part of it that matters.
#[derive(Debug)]
pub struct Seen<'a, T> {
    /// Its index.
    pub ix: EntryIx,
    /// The entry.
    pub known: &'a KnownEntry,
    /// What it says.
    pub says: &'a T,
}

impl<T> Clone for Seen<'_, T> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<T> Copy for Seen<'_, T> {}

impl<T> Seen<'_, T> {
    /// Where it stands.
    pub fn span(&self) -> Span {
        self.known.entry.span
    }

    /// When it was written.
    pub fn written(&self) -> Option<NaiveDateTime> {
        self.known.written.map(|moment| moment.local)
    }
}

/// What a rule may look at.
pub struct Case<'a> {
    /// Where to find records outside the load.
    pub index: &'a Index<'a>,
    /// The policy in force on the load's day. `None` when there is none.
    pub policy: &'a Policy,
    /// Whether the policy was in force on the load's day.
    pub in_force: InForce,
    /// The load's index.
    pub ix: LoadIx,
    /// The load.
    pub load: &'a Load,
    /// The load's cycles that had come, in order.
    pub cycles: Vec<(CycleIx, &'a KnownCycle)>,
    /// The records as they stand at its moment. What a rule asks has to go through it, or its answer is not known to end.
    pub(super) sight: Sight<'a>,
    earlier: Vec<DecisionStep>,
    /// How long the load's cycles are those.
    cycles_hold: Holds,
    /// What more than one rule asks.
    pub(super) kept: Facts<'a>,
}

/// What more than one rule asks of a case, each as the method or function of its name gives it.
#[derive(Default)]
pub(super) struct Facts<'a> {
    starts: Kept<Vec<Seen<'a, LoadStart>>>,
    contents: Kept<Vec<Seen<'a, Content>>>,
    cis: Kept<Vec<Seen<'a, CiResult>>>,
    bis: Kept<Vec<Seen<'a, BiResult>>>,
    bi_tests: Kept<Vec<Seen<'a, BiResult>>>,
    decisions: Kept<Vec<Seen<'a, EntryBody>>>,
    releases: Kept<Vec<Seen<'a, EntryBody>>>,
    frequency: Kept<Option<BiFrequency>>,
    pub used_lots: Kept<Vec<UsedLot<'a>>>,
    pub controls: Kept<Vec<(Seen<'a, BiResult>, Control)>>,
    pub tests: Kept<Vec<(Seen<'a, BiResult>, Standing)>>,
    pub cover: Kept<Option<Seen<'a, BiResult>>>,
}

impl Facts<'_> {
    /// Lets go of what does not hold at a later moment.
    fn go_on_to(&mut self, later: Option<NaiveDateTime>) {
        self.starts.go_on_to(later);
        self.contents.go_on_to(later);
        self.cis.go_on_to(later);
        self.bis.go_on_to(later);
        self.bi_tests.go_on_to(later);
        self.decisions.go_on_to(later);
        self.releases.go_on_to(later);
        self.frequency.go_on_to(later);
        self.used_lots.go_on_to(later);
        self.controls.go_on_to(later);
        self.tests.go_on_to(later);
        self.cover.go_on_to(later);
    }
}

/// Whether a policy was in force on the day of a load.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum InForce {
    /// It was.
    Yes,
    /// None was; the load is looked at by the one nearest in time, and held.
    No,
}

impl<'a> Case<'a> {
    /// The case of a load as its records stood at a moment, with the decisions before that, oldest first.
    pub fn at(
        index: &'a Index<'a>,
        policy: (&'a Policy, InForce),
        ix: LoadIx,
        load: &'a Load,
        cutoff: Option<NaiveDateTime>,
        earlier: Vec<DecisionStep>,
    ) -> Self {
        let mut case = Case {
            index,
            policy: policy.0,
            in_force: policy.1,
            ix,
            load,
            cycles: Vec::new(),
            sight: Sight::at(index, cutoff),
            earlier,
            cycles_hold: Holds::ForEver,
            kept: Facts::default(),
        };
        case.look_for_cycles();
        case
    }

    fn look_for_cycles(&mut self) {
        let cycles = self.load.cycles.iter();
        let known = cycles.filter_map(|ix| Some((*ix, self.index.cycle(*ix)?)));
        let (cycles, holds) = self.sight.note_holds(|| {
            known
                .filter(|(_, known)| self.had_come(cycle_came(known)))
                .collect()
        });
        (self.cycles, self.cycles_hold) = (cycles, holds);
    }

    /// The same case as its records stood at another moment. What is known already and holds there is not found again.
    pub(super) fn go_on_to(&mut self, cutoff: Option<NaiveDateTime>) {
        let is_later = is_no_earlier(cutoff, self.sight.cutoff());
        self.sight.go_on_to(cutoff);
        if is_later && self.cycles_hold.at(cutoff) {
            self.kept.go_on_to(cutoff);
        } else {
            self.kept = Facts::default();
            self.look_for_cycles();
        }
    }

    /// The answer of a rule, and how long it holds.
    pub fn ask(&self, rule: &Rule) -> (Verdict, Holds) {
        self.note_how_long(|| (rule.evaluate)(self))
    }

    /// Something that is found out about the case, and how long it holds.
    pub(super) fn note_how_long<T>(&self, find: impl FnOnce() -> T) -> (T, Holds) {
        let (found, holds) = self.sight.note_holds(find);
        (found, holds.min(self.cycles_hold))
    }

    /// What is kept; found now, if nothing is.
    pub(super) fn keep<'k, T>(&self, kept: &'k Kept<T>, find: impl FnOnce() -> T) -> &'k T {
        let (found, holds) = kept.or_find(|| self.sight.note_holds(find));
        self.sight.hold(holds);
        found
    }

    /// The same for a list.
    pub(super) fn keep_all<'k, T>(
        &self,
        kept: &'k Kept<Vec<T>>,
        find: impl FnOnce() -> Vec<T>,
    ) -> &'k [T] {
        self.keep::<Vec<T>>(kept, find)
    }

    /// The decisions up to this moment, oldest first.
    pub(super) fn earlier(&self) -> &[DecisionStep] {
        &self.earlier
    }

    /// Notes the decision of this moment.
    pub(super) fn note_decision(&mut self, step: DecisionStep) {
        self.earlier.push(step);
    }

    /// The decisions that were noted, oldest first.
    pub(super) fn into_decisions(self) -> Vec<DecisionStep> {
        self.earlier
    }

    /// The decision as it stood just before a moment that has come. It holds for ever: later ones stand since later.
    pub fn decision_before(&self, moment: NaiveDateTime) -> Option<&DecisionStep> {
        let steps = self.earlier.iter().rev();
        let mut before = steps.skip_while(|step| step.since.is_none_or(|since| since >= moment));
        before.next()
    }

    /// As [`Sight::had_come`].
    pub fn had_come(&self, moment: Option<NaiveDateTime>) -> bool {
        self.sight.had_come(moment)
    }

    /// As [`Sight::has_passed`].
    pub fn has_passed(&self, since: NaiveDateTime, hours: f64) -> bool {
        self.sight.has_passed(since, hours)
    }

    /// The cycle as the load last went.
    pub fn last(&self) -> Option<&'a KnownCycle> {
        self.cycles.last().map(|(_, known)| *known)
    }

    /// The last cycle, if its unit printed that it was completed.
    pub fn completed(&self) -> Option<&'a KnownCycle> {
        use crate::record::cycle::Outcome;
        self.last().filter(|known| {
            matches!(&known.cycle.outcome, Some(outcome) if outcome.value == Outcome::Completed)
        })
    }

    /// When the load began as it last went.
    pub fn began(&self) -> Option<NaiveDateTime> {
        self.last()
            .and_then(|known| known.began.as_ref())
            .map(|began| began.value.local)
            .or_else(|| self.index.load_began(self.load))
    }

    /// The unit.
    pub fn unit(&self) -> Option<&'a Unit> {
        let name = self
            .last()
            .and_then(|known| known.cycle.unit.as_ref())
            .map(|unit| &unit.value)
            .or(self.load.unit.as_ref())?;
        self.index.units.get(name).copied()
    }

    /// The process: as printed, else that of the unit.
    pub fn process(&self) -> Option<Process> {
        self.last()
            .and_then(|known| known.cycle.process.as_ref())
            .map(|process| process.value)
            .or_else(|| self.unit()?.process)
    }

    /// The program: as printed, else as the log has it.
    pub fn program(&self) -> Option<&'a str> {
        self.last()
            .and_then(|known| known.cycle.program.as_ref())
            .or_else(|| {
                self.starts()
                    .iter()
                    .rev()
                    .find_map(|start| start.says.program.as_ref())
            })
            .map(|program| program.value.as_str())
    }

    /// Whether something that happened at a moment belongs to the load as it last went.
    pub fn is_of_last_run(&self, moment: Option<NaiveDateTime>) -> bool {
        if self.cycles.len() < 2 {
            return true;
        }
        let began = self
            .last()
            .and_then(|known| known.began.as_ref())
            .map(|began| began.value.local);
        match (moment, began) {
            (Some(moment), Some(began)) => moment >= began,
            _ => true,
        }
    }

    /// The entries that put it into a unit.
    pub fn starts(&self) -> &[Seen<'a, LoadStart>] {
        self.keep_all(&self.kept.starts, || {
            self.sight.entries(&self.load.starts, |body| match body {
                EntryBody::Load(start) => Some(&**start),
                _ => None,
            })
        })
    }

    /// Its contents.
    pub fn contents(&self) -> &[Seen<'a, Content>] {
        self.keep_all(&self.kept.contents, || {
            self.sight.entries(&self.load.contents, |body| match body {
                EntryBody::Content(content) => Some(&**content),
                _ => None,
            })
        })
    }

    /// Its chemical indicators, of the last run.
    pub fn cis(&self) -> &[Seen<'a, CiResult>] {
        self.keep_all(&self.kept.cis, || {
            let mut cis = self.sight.entries(&self.load.cis, |body| match body {
                EntryBody::Ci(ci) => Some(&**ci),
                _ => None,
            });
            cis.retain(|ci| self.is_of_last_run(ci.written()));
            cis
        })
    }

    /// Its biological indicators, of the last run: each vial once, as far as it was known.
    pub fn bis(&self) -> &[Seen<'a, BiResult>] {
        self.keep_all(&self.kept.bis, || {
            let mut bis = self.sight.bis_of(self.load);
            bis.retain(|bi| {
                let incubated = bi.says.incubated.as_ref().map(|at| at.value.local);
                self.is_of_last_run(incubated.or(bi.written()))
            });
            bis
        })
    }

    /// The tests among its biological indicators. A vial of unknown role is none.
    pub fn bi_tests(&self) -> &[Seen<'a, BiResult>] {
        self.keep_all(&self.kept.bi_tests, || {
            let bis = self.bis().iter().copied();
            bis.filter(|bi| role(bi.says) == Some(BiRole::Test))
                .collect()
        })
    }

    /// What people decided, in order: release, hold and recall entries of the last run.
    pub fn decisions(&self) -> &[Seen<'a, EntryBody>] {
        self.keep_all(&self.kept.decisions, || {
            let mut decisions = self.sight.entries(&self.load.decisions, Some);
            decisions.retain(|one| self.is_of_last_run(one.written()));
            decisions
        })
    }

    /// The release entries among those.
    pub fn releases(&self) -> &[Seen<'a, EntryBody>] {
        self.keep_all(&self.kept.releases, || {
            let decisions = self.decisions().iter().copied();
            decisions
                .filter(|one| matches!(one.says, EntryBody::Release))
                .collect()
        })
    }

    /// Whether any entry of the log speaks of the load.
    pub fn is_in_log(&self) -> bool {
        let mut entries = self.load.entries().filter_map(|ix| self.index.entry(ix));
        entries.any(|known| self.had_come(known.written.map(|moment| moment.local)))
    }

    /// Tests of the unit with this purpose that began at or before the load, the newest first.
    pub fn unit_tests(&self, purpose: Purpose) -> impl Iterator<Item = &'a KnownCycle> {
        let tests = match (self.unit(), self.began()) {
            (Some(unit), Some(began)) => {
                let tests = self.index.tests_of_unit.get(&(&unit.name, purpose));
                let tests = tests.map_or(&[][..], Vec::as_slice);
                let n_before = tests.partition_point(|(at, _)| *at <= began);
                tests.get(..n_before).unwrap_or(&[])
            }
            _ => &[],
        };
        tests
            .iter()
            .rev()
            .filter_map(|(_, ix)| self.index.cycle(*ix))
            .filter(|known| self.had_come(cycle_came(known)))
    }

    /// When biological indicators are due for the load's process. `None` when the process is not known.
    pub fn schedule(&self) -> Option<&'a BiSchedule> {
        self.policy.bi.get(&self.process()?)
    }

    /// How often a biological indicator is due for the load's program.
    pub fn frequency(&self) -> Option<BiFrequency> {
        *self.keep(&self.kept.frequency, || {
            let schedule = self.schedule()?;
            let of_program = self.program().and_then(|program| {
                schedule
                    .programs
                    .iter()
                    .find(|(name, _)| name.eq_ignore_ascii_case(program))
            });
            Some(of_program.map_or(schedule.frequency, |(_, frequency)| *frequency))
        })
    }

    /// The number that a rule's parameter has under the policy.
    pub fn number(&self, rule: &Rule, parameter: &Parameter) -> f64 {
        match (self.policy.own_value(rule.id, parameter), parameter.default) {
            (Some(Value::Number(number)), _) => *number,
            (_, DefaultValue::Number { value, .. }) => value,
            _ => 0.0,
        }
    }

    /// The words that a rule's parameter has under the policy.
    pub fn words(&self, rule: &Rule, parameter: &Parameter) -> Vec<&'a str> {
        self.policy.words(rule.id, parameter)
    }

    /// The nearest place that speaks of the load, for what is lacking.
    pub fn place(&self, words: impl Into<Cow<'static, str>>) -> Evidence {
        let words = words.into();
        let span = self
            .last()
            .map(|known| known.cycle.opening)
            .or_else(|| self.starts().first().map(|start| start.span()));
        match span {
            Some(span) => Evidence::at(span, words),
            None => Evidence::absent(words),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::decision::Decision;
    use crate::judge::policy::Preset;
    use crate::judge::trial::{PLASMA, edited, history, moment, unit_log};

    fn case<'a>(index: &'a Index<'a>, policy: &'a Policy, cutoff: Option<&str>) -> Case<'a> {
        let load = &index.history.loads[0];
        let cutoff = cutoff.map(moment);
        Case::at(
            index,
            (policy, InForce::Yes),
            LoadIx(0),
            load,
            cutoff,
            Vec::new(),
        )
    }

    #[test]
    fn loads_are_indexed_by_what_their_vials_show() {
        let history = history(&unit_log(&[
            ("AA-LOAD", "2026-03-12 08:00", "well control"),
            ("BC-LOAD", "2026-03-12 09:00", "grew"),
            ("DE-LOAD", "2026-03-12 10:00", "put"),
            ("FG-LOAD", "2026-03-12 11:00", ""),
        ]));
        let index = Index::of(&history);
        let unit = &history.units[0].name;
        let loads =
            |of: &[(NaiveDateTime, LoadIx)]| of.iter().map(|(_, ix)| ix.0).collect::<Vec<_>>();
        assert_eq!(loads(&index.loads_of_unit[unit]), [0, 1, 2, 3]);
        assert_eq!(loads(&index.bi_loads_of_unit[unit].loads), [0, 1, 2]);
        // A control that grew is no growth.
        assert_eq!(loads(&index.growth_loads_of_unit[unit]), [1]);
        assert_eq!(index.newest, Some(moment("2026-03-13 10:00")));
        assert_eq!(index.loads_without_unit, []);
    }

    #[test]
    fn record_comes_when_it_was_written_and_a_cycle_when_it_ended() {
        let of_base = history(PLASMA);
        let index = Index::of(&of_base);
        let cycle = RecordIx::Cycle(CycleIx(0));
        let at = |text: &str| NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M:%S").ok();
        assert_eq!(index.came(cycle), at("2026-03-12 08:22:05"));
        assert_eq!(
            index.came(RecordIx::Entry(EntryIx(0))),
            at("2026-03-12 07:00:00")
        );
        let torn = history(&edited(
            PLASMA,
            &[("ended: 08:22:05\ntotal: 00:40:45, readings 6\n", "")],
        ));
        let index = Index::of(&torn);
        assert_eq!(index.came(cycle), at("2026-03-12 07:41:20"));
        assert_eq!(index.came(RecordIx::Cycle(CycleIx(1))), None);
    }

    #[test]
    fn case_sees_what_had_come_and_keeps_the_decisions_before() {
        let history = history(PLASMA);
        let index = Index::of(&history);
        let policy = Preset::Cdc2008.policy();
        let seen = |cutoff| {
            let case = case(&index, &policy, cutoff);
            let n = (case.cycles.len(), case.cis().len(), case.bis().len());
            (n, case.decisions().len(), case.is_in_log())
        };
        assert_eq!(seen(Some("2026-03-12 07:34")), ((0, 0, 0), 0, false));
        assert_eq!(seen(Some("2026-03-12 07:35")), ((0, 0, 0), 0, true));
        assert_eq!(seen(Some("2026-03-12 08:22")), ((0, 0, 0), 0, true));
        assert_eq!(seen(Some("2026-03-12 08:23")), ((1, 0, 0), 0, true));
        assert_eq!(seen(Some("2026-03-12 08:25")), ((1, 1, 0), 0, true));
        assert_eq!(seen(Some("2026-03-12 08:41")), ((1, 2, 2), 0, true));
        assert_eq!(seen(None), ((1, 2, 2), 1, true));

        let mut case = case(&index, &policy, Some("2026-03-12 10:00"));
        assert!(case.had_come(Some(moment("2026-03-12 10:00"))));
        assert!(!case.had_come(Some(moment("2026-03-12 10:01"))));
        assert!(!case.has_passed(moment("2026-03-12 08:00"), 2.0));
        assert!(case.has_passed(moment("2026-03-12 07:59"), 2.0));
        for (since, decision) in [
            (None, Decision::Hold),
            (Some("2026-03-12 08:00"), Decision::Quarantine),
            (Some("2026-03-12 09:00"), Decision::Release),
        ] {
            case.note_decision(DecisionStep {
                since: since.map(moment),
                decision,
                rules: Vec::new(),
                moved_by: Vec::new(),
            });
        }
        for (at, before) in [
            ("2026-03-12 08:00", None),
            ("2026-03-12 08:01", Some(Decision::Quarantine)),
            ("2026-03-12 09:00", Some(Decision::Quarantine)),
            ("2026-03-12 09:01", Some(Decision::Release)),
        ] {
            let step = case.decision_before(moment(at));
            assert_eq!(step.map(|step| step.decision), before, "{at}");
        }
        assert_eq!(case.earlier().len(), 3);
        assert_eq!(case.into_decisions().len(), 3);
    }

    #[test]
    fn load_that_was_run_again_is_seen_as_it_last_went() {
        let again = "loadbook printout 1\nunit: PL-1\nzone: Europe/London\nprocess: plasma\nprogram: lumen\ncounter: 1043\n\
            load: P1-0312-01\nstarted: 2026-03-12 08:31:00\nended: 09:10:00\noutcome: completed\nend\n";
        let history = history(&format!("{PLASMA}{again}"));
        let index = Index::of(&history);
        let policy = Preset::Cdc2008.policy();
        let case = case(&index, &policy, None);
        assert_eq!(case.cycles.len(), 2);
        assert_eq!(case.program(), Some("lumen"));
        assert_eq!(case.began(), Some(moment("2026-03-12 08:31")));
        // The indicator of 08:25 is of the first run, that of the minute of the second's start is of the second.
        let lines: Vec<_> = case.cis().iter().map(|ci| ci.written()).collect();
        assert_eq!(lines, [Some(moment("2026-03-12 08:31"))]);
        assert!(!case.is_of_last_run(Some(moment("2026-03-12 08:30"))));
        assert!(case.is_of_last_run(Some(moment("2026-03-12 08:31"))));
        assert!(case.is_of_last_run(None));
    }

    #[test]
    fn near_is_what_lies_within_reach_on_either_side() {
        let timed: Vec<(NaiveDateTime, usize)> =
            ["07:00", "08:00", "09:00", "10:00", "11:00", "12:00"]
                .iter()
                .enumerate()
                .map(|(at, time)| (moment(&format!("2026-03-12 {time}")), at))
                .collect();
        let found = |at: &str, minutes: i64| -> Vec<usize> {
            let reach = TimeDelta::minutes(minutes);
            let near = near(&timed, moment(at), |apart| apart <= reach);
            near.map(|(_, at)| *at).collect()
        };
        assert_eq!(found("2026-03-12 09:00", 0), [2]);
        assert_eq!(found("2026-03-12 09:00", 59), [2]);
        assert_eq!(found("2026-03-12 09:00", 60), [1, 2, 3]);
        assert_eq!(found("2026-03-12 09:30", 30), [2, 3]);
        assert_eq!(found("2026-03-12 09:30", 29), [0_usize; 0]);
        assert_eq!(found("2026-03-12 06:00", 60), [0]);
        assert_eq!(found("2026-03-12 13:00", 60), [5]);
        assert_eq!(found("2026-03-12 09:00", 600).len(), 6);

        let mut controls = Controls::default();
        for (at, ix) in &timed {
            controls.take(EntryIx(*ix), Some(*at));
        }
        controls.take(EntryIx(9), None);
        assert_eq!(controls.untimed(), [EntryIx(9)]);
        let any = |moments: &[&str], minutes: i64| -> Vec<usize> {
            let moments: Vec<_> = moments.iter().map(|at| moment(at)).collect();
            let near = controls.near_any(&moments, TimeDelta::minutes(minutes));
            near.map(|ix| ix.0).collect()
        };
        assert_eq!(any(&["2026-03-12 09:00"], 60), [1, 2, 3]);
        assert_eq!(any(&["2026-03-12 09:00"], 59), [2]);
        // What is near to two of the moments is given once.
        assert_eq!(
            any(&["2026-03-12 08:00", "2026-03-12 09:00"], 60),
            [0, 1, 2, 3]
        );
        assert_eq!(
            any(&["2026-03-12 07:00", "2026-03-12 12:00"], 60),
            [0, 1, 4, 5]
        );
        assert_eq!(any(&[], 60), [0_usize; 0]);
        let one: Vec<_> = controls
            .near(moment("2026-03-12 12:00"), TimeDelta::minutes(60))
            .collect();
        assert_eq!(one, [EntryIx(4), EntryIx(5)]);
    }

    #[test]
    fn load_that_was_run_once_keeps_what_was_written_before_it_began() {
        let text = edited(PLASMA, &[("08:25 ci: P1", "07:40 ci: P1")]);
        let history = history(&text);
        let index = Index::of(&history);
        let policy = Preset::Cdc2008.policy();
        let case = case(&index, &policy, None);
        assert_eq!(case.cycles.len(), 1);
        assert_eq!(case.cis().len(), 2);
        assert!(case.is_of_last_run(Some(moment("2026-03-12 07:40"))));
    }
}
