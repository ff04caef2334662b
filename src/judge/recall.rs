//! Which packages to get back: the scope of a biological indicator that grew, and of a lot of a consumable.
//!
//! Not steam: "treat as nonsterile all items that have been processed in that sterilizer, dating from the sterilization
//! cycle having the last negative biologic indicator to the next cycle showing satisfactory biologic indicator results"
//! (CDC, Guideline for Disinfection and Sterilization in Healthcare Facilities, 2008, recommendations on biological
//! indicators; seen via copy). We read it so: the cycle of the last negative indicator and that of the next satisfactory
//! one bound the scope and are not in it, for each has an indicator of its own that speaks for it; a policy can take the
//! former in ([`LAST_NEGATIVE`]).
//!
//! Steam: "objects other than implantable objects do not need to be recalled because of a single positive spore test
//! unless the sterilizer or the sterilization procedure is defective"; "repeat biological indicator test in three
//! consecutive sterilizer cycles"; "if additional spore tests remain positive … supplies processed since the last
//! acceptable (negative) biological indicator should be recalled" (the same, Table 12; seen via copy). The stricter view
//! of MMWR 52(RR-17), 2003, recalls at once; a policy takes it by giving the rule `steam-bi-growth-in-unit` an effect of
//! `hold` or `reject`. A unit whose process no record gives is treated as not steam, which is the stricter of the two.
//!
//! A test that proves nothing ends no scope, nor does one whose cycle has no printout. What is unknown widens a scope and
//! is said: missing printouts, loads that only the log knows, loads without a date.
//!
//! Knows nothing of screens. Read [`find_recalls`] first, then [`Recall`]; [`lot`] is the recall by lot.

pub mod lot;
pub mod sequence;

use super::bi_test::Nothing;
use super::case::{Case, InForce, Index};
use super::hearing::{Hearing, asked_by};
use super::policy::{Policy, PolicyBook, PolicyIx};
use super::rulebook::{Effect, Parameter, RuleId, Source};
use super::rules::{bi_growth_in_unit, steam_bi_growth_in_unit};
use crate::reconcile::history::{
    CycleIx, EntryIx, History, KnownEntry, Load, LoadIx, MissingPrintouts, Unit,
};
use crate::record::cycle::{Outcome, Process};
use crate::record::entry::{Content, EntryBody};
use chrono::NaiveDateTime;
use sequence::{Bi, ByUnit, Placed, Run, RunEnd, Step, read_sequence};
use std::collections::{BTreeMap, BTreeSet};

/// Whether a scope holds the loads of the unit, or those of the unit and the program of the cycle that grew.
pub const SCOPE_OF: Parameter = Parameter::words(
    "scope",
    &["unit"],
    check_scope,
    "`unit`: a growing indicator puts every load of the unit in doubt; `program`: those of its program only",
    Source::seen(
        super::publication::CDC_2008,
        2008,
        "recommendations on biological indicators: \"processed in that sterilizer\" (via copy)",
    ),
);

/// Whether the load with the last negative indicator lies within the scope.
pub const LAST_NEGATIVE: Parameter = Parameter::words(
    "last-negative",
    &["outside"],
    check_last_negative,
    "`outside`: the load with the last negative indicator is the boundary; `inside`: it is called back as well",
    Source::seen(
        super::publication::CDC_2008,
        2008,
        "recommendations on biological indicators: \"dating from the sterilization cycle having the last negative biologic indicator\" (via copy), which can be read either way",
    ),
);

fn check_scope(word: &str) -> Result<(), String> {
    one_of(word, &["unit", "program"])
}

fn check_last_negative(word: &str) -> Result<(), String> {
    one_of(word, &["outside", "inside"])
}

fn one_of(word: &str, words: &[&str]) -> Result<(), String> {
    if words.contains(&word) {
        Ok(())
    } else {
        Err(format!("`{word}` is none of `{}`", words.join("`, `")))
    }
}

/// For what a scope is drawn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Per {
    /// Every load of the unit.
    Unit,
    /// Loads of this program of the unit, and those whose program no record gives.
    Program(String),
    /// Loads of the unit, though the policy asks for those of one program: the cycle that grew names none.
    UnitForWantOfProgram,
}

/// Where a scope begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Start {
    /// After the load with the last satisfactory indicator.
    After(CycleIx),
    /// At the load with the last satisfactory indicator, which the policy takes in.
    At(CycleIx),
    /// No satisfactory indicator comes before it: from the first record on, and what is older is unknown.
    FirstRecord,
}

/// Where a scope ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// Before the load with the next satisfactory indicator.
    Before(CycleIx),
    /// It has not ended: no satisfactory indicator came after it.
    Open {
        /// The first load after it whose indicator still awaits its result.
        awaits: Option<CycleIx>,
    },
}

/// How far the growth reaches.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Path {
    /// All of the scope is called back.
    Everything(WhyEverything),
    /// Steam, a single positive without other fault: implants at once, and three repeats decide about the rest.
    Repeats {
        /// How many satisfactory ones in a row there are at the end, 0 to 2.
        in_a_row: usize,
    },
    /// Steam: three consecutive cycles after it had satisfactory indicators.
    Cleared {
        /// The three.
        by: Vec<CycleIx>,
    },
}

/// Why all of a scope is called back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum WhyEverything {
    /// The process is not steam.
    NotSteam(Process),
    /// No record gives the process.
    ProcessUnknown,
    /// Steam, and the policy asks for it.
    Policy,
    /// Steam, and a further indicator grew before three in a row were satisfactory.
    GrewAgain,
    /// Steam, and the records show another fault: rules that speak against the load that grew, tests that failed.
    Fault {
        /// The rules.
        rules: Vec<RuleId>,
        /// The tests.
        tests: Vec<CycleIx>,
    },
}

/// What is to be done with a set of a load in the scope.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Call {
    /// Get it back.
    Back,
    /// Steam: hold what is still here, and wait for the repeats.
    Wait,
    /// Steam: the repeats are satisfactory; it need not be called back.
    Cleared,
}

/// A set of a load, or a load whose contents the log does not list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Piece {
    /// The entry. `None` when the log lists no contents.
    pub content: Option<EntryIx>,
    /// What is to be done with it.
    pub call: Call,
}

/// Why the packages of a run are not among those to be got back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotCounted {
    /// The unit printed that the cycle was aborted or the load rejected: it was not processed.
    NotProcessed,
    /// The same load was run again later, to the end, and had not been released in between.
    RunAgain(CycleIx),
}

/// What a scope holds, in order of time.
#[derive(Debug, Clone, PartialEq)]
pub enum Row {
    /// A run of the unit.
    Run {
        /// The run.
        run: Run,
        /// Why it is not counted; `None` when it is.
        not_counted: Option<NotCounted>,
        /// Its sets; what is not counted has none.
        pieces: Vec<Piece>,
    },
    /// Cycles without a printout: what they processed is not known.
    Missing(MissingPrintouts),
}

/// Where the packages of a load are, as far as the log says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Whereabouts {
    /// It was released last.
    Released(EntryIx),
    /// It was called back last.
    CalledBack(EntryIx),
    /// It was held last.
    OnHold(EntryIx),
    /// Nothing was signed: it should still be here.
    NotSigned,
}

/// A growing indicator.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Growth {
    /// The entry with its reading.
    pub entry: EntryIx,
    /// The load.
    pub load: Option<LoadIx>,
    /// The cycle.
    pub cycle: Option<CycleIx>,
}

/// A test within a scope that does not end it, and why.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NotEnding {
    /// The load.
    pub load: LoadIx,
    /// Why.
    pub why: WhyNotEnding,
}

/// Why a test ends no scope.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WhyNotEnding {
    /// It proves nothing.
    Proves(Nothing),
    /// Its result is still to come.
    Pending,
    /// The log does not say whether the vial was test or control.
    NoRole,
    /// It is satisfactory, but no printout shows where its cycle stood and that it was completed.
    NoPrintout,
    /// It is satisfactory, but the printout does not show a completed cycle.
    NotCompleted,
    /// It is satisfactory, but the date of its cycle is not known.
    NoDate,
    /// It is satisfactory, but the policy draws scopes by program, and no record gives its program.
    NoProgram,
}

/// The scope of one or more growing indicators.
#[derive(Debug, Clone, PartialEq)]
pub struct Recall {
    /// The growing indicators, in order.
    pub growths: Vec<Growth>,
    /// The unit. `None` when no record gives the unit of the load: then the scope is that load alone.
    pub unit: Option<String>,
    /// For what it is drawn.
    pub per: Per,
    /// The policy that it was drawn by.
    pub policy: PolicyIx,
    /// Where it begins.
    pub start: Start,
    /// Where it ends.
    pub end: End,
    /// How far it reaches.
    pub path: Path,
    /// What it holds, in order of time.
    pub rows: Vec<Row>,
    /// Tests within it that do not end it.
    pub not_ending: Vec<NotEnding>,
    /// Loads of those days of which no record names the unit: they may belong to it.
    pub strays: Vec<LoadIx>,
    /// Service of the unit within it: what it found may change the path.
    pub services: Vec<EntryIx>,
}

impl Recall {
    /// The loads whose packages are to be got back, each once, in order.
    pub fn loads_back(&self) -> Vec<LoadIx> {
        let mut loads: Vec<LoadIx> = Vec::new();
        for row in &self.rows {
            if let Row::Run { run, pieces, .. } = row
                && pieces.iter().any(|piece| piece.call == Call::Back)
                && let Some(load) = run.load
                && !loads.contains(&load)
            {
                loads.push(load);
            }
        }
        loads
    }

    /// Whether further cycles may still fall into it, or decide about it.
    pub fn is_open(&self) -> bool {
        matches!(self.end, End::Open { .. }) || matches!(self.path, Path::Repeats { .. })
    }
}

/// Finds the scope of every biological indicator that grew, sorted by unit and time. Growing indicators with no
/// satisfactory one between them share a scope.
///
/// Records that came later than `as_of` are left out. Times are compared on the local clocks of the records.
pub fn find_recalls(
    history: &History,
    book: &PolicyBook,
    as_of: Option<NaiveDateTime>,
) -> Vec<Recall> {
    let index = Index::of(history);
    let site = Site {
        index: &index,
        book,
        as_of,
    };
    let mut recalls: Vec<Recall> = Vec::new();
    let mut placed: BTreeSet<EntryIx> = BTreeSet::new();
    let by_unit = ByUnit::of(history);
    for unit in &history.units {
        let steps = read_sequence(&site, &by_unit, unit);
        for (at, step) in steps.iter().enumerate() {
            let Step::Run(run) = step else { continue };
            let Bi::Growth(vials) = &run.bi else { continue };
            placed.extend(vials);
            let (recall, within) = site.draw_scope(unit, &steps, at, run, vials);
            let within = within.of(&steps);
            match recalls.last_mut() {
                Some(last) if is_same_scope(last, &recall) => {
                    site.merge(last, recall, within);
                }
                _ => recalls.push(site.fill(unit, recall, within)),
            }
        }
    }
    recalls.extend(site.growths_without_unit(&placed));
    recalls
}

/// What finding needs to look things up.
pub(super) struct Site<'a> {
    index: &'a Index<'a>,
    book: &'a PolicyBook,
    as_of: Option<NaiveDateTime>,
}

/// Whether no boundary lies between two growing indicators.
fn is_same_scope(a: &Recall, b: &Recall) -> bool {
    let same_end = match (a.end, b.end) {
        (End::Open { .. }, End::Open { .. }) => true,
        (a, b) => a == b,
    };
    a.unit == b.unit && a.per == b.per && a.start == b.start && same_end
}

/// The word that a policy has for one of the parameters of a scope.
pub(super) fn word_of<'p>(policy: &'p Policy, parameter: &Parameter) -> &'p str {
    let words = policy.words(bi_growth_in_unit::RULE.id, parameter);
    words.first().copied().unwrap_or_default()
}

impl<'a> Site<'a> {
    /// The policy for a load, by the day on which it began.
    fn policy_of(&self, load: Option<&Load>) -> (PolicyIx, InForce) {
        let began = load.and_then(|load| self.index.load_began(load));
        match began {
            Some(began) => self.book.find_policy(began.date()),
            None => self.book.newest(),
        }
    }

    /// The case of a load as its records stood.
    pub(super) fn case(&self, ix: LoadIx) -> Option<Case<'a>> {
        let load = self.index.load(ix)?;
        let (at, in_force) = self.policy_of(Some(load));
        let policy = self.book.policies.get(at.0)?;
        Some(Case::at(
            self.index,
            (policy, in_force),
            ix,
            load,
            self.as_of,
            Vec::new(),
        ))
    }

    fn had_come(&self, moment: Option<NaiveDateTime>) -> bool {
        match (moment, self.as_of) {
            (Some(moment), Some(as_of)) => moment <= as_of,
            _ => true,
        }
    }

    /// The scope of an indicator that grew, without what it holds, and where it lies among the steps.
    fn draw_scope(
        &self,
        unit: &Unit,
        steps: &[Step],
        at: usize,
        run: &Run,
        vials: &[EntryIx],
    ) -> (Recall, Extent) {
        let load = run.load.and_then(|ix| self.index.load(ix));
        let (policy_ix, _) = self.policy_of(load);
        let policy = self.book.policies.get(policy_ix.0);
        let by_program = policy.is_some_and(|policy| word_of(policy, &SCOPE_OF) == "program");
        let takes_last_in =
            policy.is_some_and(|policy| word_of(policy, &LAST_NEGATIVE) == "inside");
        let per = match (by_program, &run.program) {
            (false, _) => Per::Unit,
            (true, Some(program)) => Per::Program(program.clone()),
            (true, None) => Per::UnitForWantOfProgram,
        };
        let before = steps.get(..at).unwrap_or_default();
        let after = steps.get(at.saturating_add(1)..).unwrap_or_default();
        let first = before.iter().rposition(|step| ends(step, &per));
        let next = after.iter().position(|step| ends(step, &per));
        let boundary = |step: Option<&Step>| match step {
            Some(Step::Run(run)) => run.cycle,
            _ => None,
        };
        let start = match first
            .and_then(|at| before.get(at))
            .and_then(|step| boundary(Some(step)))
        {
            Some(cycle) if takes_last_in => Start::At(cycle),
            Some(cycle) => Start::After(cycle),
            None => Start::FirstRecord,
        };
        let end = match next
            .and_then(|at| after.get(at))
            .and_then(|step| boundary(Some(step)))
        {
            Some(cycle) => End::Before(cycle),
            None => End::Open {
                awaits: after.iter().find_map(|step| match step {
                    Step::Run(run) if run.bi == Bi::Pending && is_in(run, &per) => run.cycle,
                    _ => None,
                }),
            },
        };
        let from = match (first, takes_last_in) {
            (Some(first), true) => first,
            (Some(first), false) => first.saturating_add(1),
            (None, _) => 0,
        };
        let to = next.map_or(steps.len(), |next| {
            at.saturating_add(1).saturating_add(next)
        });
        let within = steps.get(from..to).unwrap_or_default();
        let around = Around {
            within,
            before,
            after,
        };
        let process = run.process.or(unit.process);
        let path = self.find_path(process, policy, run, &around, &per);
        let growths = vials.iter().map(|entry| Growth {
            entry: *entry,
            load: run.load,
            cycle: run.cycle,
        });
        let recall = Recall {
            growths: growths.collect(),
            unit: Some(unit.name.0.clone()),
            per,
            policy: policy_ix,
            start,
            end,
            path,
            rows: Vec::new(),
            not_ending: Vec::new(),
            strays: Vec::new(),
            services: Vec::new(),
        };
        (recall, Extent { from, to })
    }

    /// A scope with what it holds.
    fn fill(&self, unit: &Unit, scope: Recall, around: Around<'_>) -> Recall {
        let runs = runs_in(around.within, &scope.per);
        let not_ending = runs.filter_map(|run| why_not_ending(run, &scope.per));
        let span = days_of(&around);
        let services = unit.services.iter().copied();
        Recall {
            rows: self.rows_of(&scope, around.within),
            not_ending: not_ending.collect(),
            strays: self.find_strays(span),
            services: services
                .filter(|ix| {
                    self.index.entry(*ix).is_some_and(|known| {
                        let at = known.written.map(|at| at.local);
                        self.had_come(at) && lies_in(at, span)
                    })
                })
                .collect(),
            ..scope
        }
    }

    fn rows_of(&self, scope: &Recall, within: &[Step]) -> Vec<Row> {
        let rows = within.iter().filter_map(|step| match step {
            Step::Run(run) if is_in(run, &scope.per) => Some(self.row_of(run, &scope.path)),
            Step::Missing(missing) => Some(Row::Missing(missing.clone())),
            Step::Run(_) | Step::Test { .. } => None,
        });
        rows.collect()
    }

    /// Takes the later of two growing indicators into the scope of the earlier: the path that reaches further counts, and
    /// what ends the scope has to come after the later one.
    fn merge(&self, scope: &mut Recall, later: Recall, around: Around<'_>) {
        let reaches_further = !matches!(scope.path, Path::Everything(_))
            || matches!(later.path, Path::Everything(WhyEverything::Fault { .. }));
        if reaches_further {
            scope.rows = self.rows_of(&later, around.within);
            scope.path = later.path;
            scope.policy = later.policy;
        }
        scope.growths.extend(later.growths);
        scope.end = later.end;
    }

    /// Loads of which neither printout nor log names the unit, and whose first record lies within the days of a scope.
    /// One that may be a slip for a load with a printout is left to that load.
    fn find_strays(&self, days: Days) -> Vec<LoadIx> {
        let loads = self.index.loads_without_unit.iter().copied();
        loads
            .filter(|ix| {
                let load = self.index.load(*ix);
                let first = load.and_then(|load| load.first).map(|first| first.local);
                self.had_come(first)
                    && lies_in(first, days)
                    && !self.index.near_misses.contains_key(ix)
            })
            .collect()
    }

    fn find_path(
        &self,
        process: Option<Process>,
        policy: Option<&Policy>,
        grown: &Run,
        around: &Around<'_>,
        per: &Per,
    ) -> Path {
        let Around {
            within,
            before,
            after,
        } = *around;
        let Some(process) = process else {
            return Path::Everything(WhyEverything::ProcessUnknown);
        };
        if process != Process::Steam {
            return Path::Everything(WhyEverything::NotSteam(process));
        }
        let effect = policy.and_then(|policy| policy.effect(steam_bi_growth_in_unit::RULE.id));
        if effect >= Some(Effect::Hold) {
            return Path::Everything(WhyEverything::Policy);
        }
        let rules = self.faults_of(grown);
        let tests: Vec<CycleIx> = within
            .iter()
            .filter_map(|step| match step {
                Step::Test {
                    cycle,
                    failed: true,
                } => Some(*cycle),
                _ => None,
            })
            .collect();
        if !rules.is_empty() || !tests.is_empty() {
            return Path::Everything(WhyEverything::Fault { rules, tests });
        }
        // An earlier growth that three repeats had not answered makes this one a further positive.
        if let Repeats::GrewAgain = read_repeats(before.iter().rev(), per) {
            return Path::Everything(WhyEverything::GrewAgain);
        }
        match read_repeats(after.iter(), per) {
            Repeats::GrewAgain => Path::Everything(WhyEverything::GrewAgain),
            Repeats::Cleared(by) => Path::Cleared { by },
            Repeats::Open(in_a_row) => Path::Repeats { in_a_row },
        }
    }

    /// The rules, other than those about biological indicators and about what people decided, that reject the load.
    fn faults_of(&self, grown: &Run) -> Vec<RuleId> {
        let Some(case) = grown.load.and_then(|ix| self.case(ix)) else {
            return Vec::new();
        };
        let mut hearing = Hearing::by(&asked_by(case.policy));
        hearing.ask(&case);
        let (hits, _) = hearing.into_answers();
        let mut rules: Vec<RuleId> = hits
            .iter()
            .filter(|hit| hit.effect == Effect::Reject)
            .map(|hit| hit.rule)
            .filter(|rule| {
                !rule.0.starts_with("bi-")
                    && !rule.0.starts_with("steam-bi-")
                    && !rule.0.starts_with("implant-")
                    && rule.0 != "recalled-by-person"
            })
            .collect();
        rules.dedup();
        rules
    }

    fn row_of(&self, run: &Run, path: &Path) -> Row {
        let load = run.load.and_then(|ix| self.index.load(ix));
        let not_counted = match run.end {
            RunEnd::NotProcessed => Some(NotCounted::NotProcessed),
            RunEnd::Completed | RunEnd::Unproven => load
                .and_then(|load| self.run_again(run, load))
                .map(NotCounted::RunAgain),
        };
        let pieces = match (not_counted, load) {
            (Some(_), _) => Vec::new(),
            (None, load) => {
                let contents: Vec<EntryIx> = load
                    .map(|load| load.contents.as_slice())
                    .unwrap_or_default()
                    .iter()
                    .copied()
                    .filter(|ix| {
                        let known = self.index.entry(*ix);
                        known.is_some_and(|known| self.had_come(known.written.map(|at| at.local)))
                    })
                    .collect();
                let grew = matches!(run.bi, Bi::Growth(_));
                let mut pieces: Vec<Piece> = contents
                    .into_iter()
                    .map(|ix| Piece {
                        content: Some(ix),
                        call: call_of(path, grew, self.content(ix)),
                    })
                    .collect();
                if pieces.is_empty() {
                    pieces.push(Piece {
                        content: None,
                        call: call_of(path, grew, None),
                    });
                }
                pieces
            }
        };
        Row::Run {
            run: run.clone(),
            not_counted,
            pieces,
        }
    }

    fn content(&self, ix: EntryIx) -> Option<&'a Content> {
        match &self.index.entry(ix)?.entry.body {
            EntryBody::Content(content) => Some(content),
            _ => None,
        }
    }

    /// The later completed cycle of the same load, unless the load was released before it.
    fn run_again(&self, run: &Run, load: &Load) -> Option<CycleIx> {
        let own = run.cycle?;
        let later = load
            .cycles
            .iter()
            .skip_while(|ix| **ix != own)
            .skip(1)
            .copied();
        let again = later.into_iter().find(|ix| {
            self.index.cycle(*ix).is_some_and(|known| {
                let outcome = known.cycle.outcome.as_ref().map(|outcome| &outcome.value);
                known.cycle.closed
                    && outcome == Some(&Outcome::Completed)
                    && self.had_come(known.began.as_ref().map(|began| began.value.local))
            })
        })?;
        let began = |ix: CycleIx| {
            let known = self.index.cycle(ix)?;
            Some(known.began.as_ref()?.value.local)
        };
        let (from, until) = (began(own)?, began(again)?);
        let left = load.decisions.iter().any(|ix| {
            self.index.entry(*ix).is_some_and(|known| {
                known.entry.body == EntryBody::Release
                    && known
                        .written
                        .is_none_or(|at| from <= at.local && at.local <= until)
            })
        });
        (!left).then_some(again)
    }

    /// Growing indicators whose load no record ties to a unit: the scope is the load alone, and finding out the unit
    /// comes first.
    fn growths_without_unit(&self, placed: &BTreeSet<EntryIx>) -> Vec<Recall> {
        let mut recalls = Vec::new();
        let mut load_of: BTreeMap<EntryIx, LoadIx> = BTreeMap::new();
        for (at, load) in self.index.history.loads.iter().enumerate() {
            for ix in &load.bis {
                load_of.entry(*ix).or_insert(LoadIx(at));
            }
        }
        for (at, known) in self.index.history.entries.iter().enumerate() {
            let ix = EntryIx(at);
            if placed.contains(&ix)
                || !sequence::grew(known)
                || !self.had_come(known.written.map(|at| at.local))
            {
                continue;
            }
            let load = load_of.get(&ix).copied();
            let (policy, _) = self.policy_of(load.and_then(|ix| self.index.load(ix)));
            let path = Path::Everything(WhyEverything::ProcessUnknown);
            let run = Run {
                cycle: None,
                load,
                process: None,
                program: None,
                began: known.written.map(|at| at.local),
                placed: Placed::Nowhere,
                end: RunEnd::Unproven,
                bi: Bi::Growth(vec![ix]),
                without_role: Vec::new(),
            };
            recalls.push(Recall {
                growths: vec![Growth {
                    entry: ix,
                    load,
                    cycle: None,
                }],
                unit: None,
                per: Per::Unit,
                policy,
                start: Start::FirstRecord,
                end: End::Open { awaits: None },
                rows: vec![self.row_of(&run, &path)],
                path,
                not_ending: Vec::new(),
                strays: Vec::new(),
                services: Vec::new(),
            });
        }
        recalls
    }
}

/// The steps of a unit in a scope, and those before and after it; or before and after the one that grew.
struct Around<'s> {
    within: &'s [Step],
    before: &'s [Step],
    after: &'s [Step],
}

/// Where a scope lies among the steps of its unit.
struct Extent {
    from: usize,
    to: usize,
}

impl Extent {
    fn of<'s>(&self, steps: &'s [Step]) -> Around<'s> {
        Around {
            within: steps.get(self.from..self.to).unwrap_or_default(),
            before: steps.get(..self.from).unwrap_or_default(),
            after: steps.get(self.to..).unwrap_or_default(),
        }
    }
}

/// The runs among some steps that lie in what a scope is drawn for.
fn runs_in<'s>(steps: &'s [Step], per: &Per) -> impl Iterator<Item = &'s Run> {
    steps.iter().filter_map(move |step| match step {
        Step::Run(run) if is_in(run, per) => Some(run),
        _ => None,
    })
}

/// From when to when a scope reaches, its boundaries taken in. `None` where a side is open.
fn days_of(around: &Around<'_>) -> Days {
    let began = |step: &Step| match step {
        Step::Run(run) => run.began,
        _ => None,
    };
    (
        around.before.iter().rev().find_map(began),
        around.after.iter().find_map(began),
    )
}

/// From and to; `None` where a side is open.
type Days = (Option<NaiveDateTime>, Option<NaiveDateTime>);

/// Whether a moment lies between two others; what has no moment may.
fn lies_in(moment: Option<NaiveDateTime>, days: Days) -> bool {
    moment.is_none_or(|moment| {
        days.0.is_none_or(|from| from <= moment) && days.1.is_none_or(|to| moment <= to)
    })
}

fn call_of(path: &Path, grew: bool, content: Option<&Content>) -> Call {
    // Where it is not written, it may be an implant.
    let may_be_implant = content
        .and_then(|content| content.implant.as_ref())
        .is_none_or(|implant| implant.value);
    match path {
        Path::Everything(_) => Call::Back,
        _ if grew || may_be_implant => Call::Back,
        Path::Repeats { .. } => Call::Wait,
        Path::Cleared { .. } => Call::Cleared,
    }
}

/// Whether a run lies in what a scope is drawn for. A run of unknown program does.
fn is_in(run: &Run, per: &Per) -> bool {
    match (per, &run.program) {
        (Per::Program(program), Some(own)) => own.eq_ignore_ascii_case(program),
        _ => true,
    }
}

/// Whether a step bounds a scope.
fn ends(step: &Step, per: &Per) -> bool {
    match step {
        Step::Run(run) => {
            run.bi == Bi::Satisfactory && is_in(run, per) && why_not(run, per).is_none()
        }
        Step::Missing(_) | Step::Test { .. } => false,
    }
}

/// Why a satisfactory indicator does not bound a scope.
fn why_not(run: &Run, per: &Per) -> Option<WhyNotEnding> {
    if run.cycle.is_none() {
        return Some(WhyNotEnding::NoPrintout);
    }
    if run.end != RunEnd::Completed {
        return Some(WhyNotEnding::NotCompleted);
    }
    if run.placed == Placed::Nowhere {
        return Some(WhyNotEnding::NoDate);
    }
    match (per, &run.program) {
        (Per::Program(_), None) => Some(WhyNotEnding::NoProgram),
        _ => None,
    }
}

fn why_not_ending(run: &Run, per: &Per) -> Option<NotEnding> {
    let load = run.load?;
    let why = match &run.bi {
        Bi::Growth(_) => return None,
        Bi::Satisfactory => why_not(run, per)?,
        Bi::Pending => WhyNotEnding::Pending,
        Bi::Proves(nothing) => WhyNotEnding::Proves(*nothing),
        Bi::None if !run.without_role.is_empty() => WhyNotEnding::NoRole,
        Bi::None => return None,
    };
    Some(NotEnding { load, why })
}

/// What three repeats showed.
enum Repeats {
    GrewAgain,
    Cleared(Vec<CycleIx>),
    Open(usize),
}

/// Reads cycles one after the other: three satisfactory ones in a row, or a further growth before that. A cycle without
/// a satisfactory indicator, or without a printout, breaks the row; tests and warm-ups of the unit do not.
fn read_repeats<'s>(steps: impl Iterator<Item = &'s Step>, per: &Per) -> Repeats {
    let mut in_a_row = Vec::new();
    for step in steps {
        match step {
            Step::Run(run) if !is_in(run, per) => {}
            Step::Run(run) if matches!(run.bi, Bi::Growth(_)) => return Repeats::GrewAgain,
            Step::Run(run) if ends(step, per) => {
                in_a_row.extend(run.cycle);
                if in_a_row.len() == 3 {
                    return Repeats::Cleared(in_a_row);
                }
            }
            Step::Run(_) | Step::Missing(_) => in_a_row.clear(),
            Step::Test { .. } => {}
        }
    }
    Repeats::Open(in_a_row.len())
}

/// Where the packages of a load are: by what was signed last, up to a moment.
pub fn find_whereabouts(
    load: &Load,
    entries: &[KnownEntry],
    as_of: Option<NaiveDateTime>,
) -> Whereabouts {
    let had_come = |known: &KnownEntry| match (known.written, as_of) {
        (Some(at), Some(as_of)) => at.local <= as_of,
        _ => true,
    };
    let last = load
        .decisions
        .iter()
        .rev()
        .filter_map(|ix| Some((*ix, entries.get(ix.0)?)))
        .find(|(_, known)| had_come(known));
    match last {
        None => Whereabouts::NotSigned,
        Some((ix, known)) => match known.entry.body {
            EntryBody::Release => Whereabouts::Released(ix),
            EntryBody::Recall => Whereabouts::CalledBack(ix),
            _ => Whereabouts::OnHold(ix),
        },
    }
}

#[cfg(test)]
mod tests;
