//! What the records of each load support, what needs a person first, as a value. Read [`write_release`] first.

use super::attention::{State, process_of, say_state};
use super::caution::{Caution, CautionRow, find_caution};
use super::moment::to_minute;
use super::naming::cycle_name;
use super::place::Place;
use super::policy::PolicyNote;
use super::reason::ReasonRow;
use super::review::{AsOf, Reviewed, place_of_load};
use super::scope::Scope;
use crate::judge::decision::{Decision, Judgement};
use crate::judge::rulebook::{Effect, RULES, RuleId};
use crate::measure::count::Counting;
use crate::reconcile::history::Load;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// How urgently a load needs a person: what the records support against what people have signed. The order is that of
/// harm: common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Urgency {
    /// There is evidence against it, and it was let go.
    GetBack,
    /// There is evidence against it, and nothing was signed.
    KeepBack,
    /// Evidence is missing or contradicts itself, and it was let go.
    LeftWithoutEvidence,
    /// It was let go before the result that it has to wait for.
    LeftBeforeResult,
    /// Evidence is missing or contradicts itself, and nothing was signed.
    FindEvidence,
    /// It waits for a result, and is still here.
    Wait,
    /// There is evidence against it, or some is missing, and people have held it or called it back.
    Settled,
    /// The records support release, and nothing was signed.
    Sign,
    /// The records support release, and people have decided otherwise.
    HeldAllTheSame,
    /// The records support release, and it was let go.
    Done,
}

impl Urgency {
    /// Every urgency, the most urgent first.
    pub const ALL: &'static [Urgency] = &[
        Urgency::GetBack,
        Urgency::KeepBack,
        Urgency::LeftWithoutEvidence,
        Urgency::LeftBeforeResult,
        Urgency::FindEvidence,
        Urgency::Wait,
        Urgency::Settled,
        Urgency::Sign,
        Urgency::HeldAllTheSame,
        Urgency::Done,
    ];

    /// From the decision and what was signed.
    fn of(decision: Decision, state: State) -> Self {
        match (decision, state) {
            (Decision::Reject | Decision::Recall, State::Released) => Urgency::GetBack,
            (Decision::Reject | Decision::Recall, State::Open) => Urgency::KeepBack,
            (Decision::Hold, State::Released) => Urgency::LeftWithoutEvidence,
            (Decision::Hold, State::Open) => Urgency::FindEvidence,
            (Decision::Quarantine, State::Released) => Urgency::LeftBeforeResult,
            (Decision::Quarantine, State::Open) => Urgency::Wait,
            (Decision::Release, State::Released) => Urgency::Done,
            (Decision::Release, State::Open) => Urgency::Sign,
            (Decision::Release, State::Settled) => Urgency::HeldAllTheSame,
            (_, State::Settled) => Urgency::Settled,
        }
    }

    /// What it is, in a few words.
    pub fn said(self) -> &'static str {
        match self {
            Urgency::GetBack => "Evidence against, and let go",
            Urgency::KeepBack => "Evidence against, nothing signed",
            Urgency::LeftWithoutEvidence => "Evidence lacking, and let go",
            Urgency::LeftBeforeResult => "Let go before its result",
            Urgency::FindEvidence => "Evidence lacking, nothing signed",
            Urgency::Wait => "Waits for its result",
            Urgency::Settled => "Held or called back by people",
            Urgency::Sign => "Supported, nothing signed",
            Urgency::HeldAllTheSame => "Supported, yet held or called back",
            Urgency::Done => "Supported, and let go",
        }
    }

    /// What to do next.
    pub fn next(self) -> &'static str {
        match self {
            Urgency::GetBack => {
                "Find the packages and take them out of use: `loadbook recall` prints the sheet where a BI grew. Tell \
                 the supervisor and infection prevention."
            }
            Urgency::KeepBack => "Keep the load here, process it again, and sign what was decided.",
            Urgency::LeftWithoutEvidence => {
                "Find what is lacking and enter it. If it can't be found, local policy decides whether the load is \
                 called back."
            }
            Urgency::LeftBeforeResult => {
                "Find out where the packages are, and read the BI as soon as its time has come."
            }
            Urgency::FindEvidence => "Find what is lacking and enter it before anyone signs.",
            Urgency::Wait => "Keep the load here until the result is entered.",
            Urgency::Settled => "Process the load again, or find what is lacking.",
            Urgency::Sign => "A person decides and signs.",
            Urgency::HeldAllTheSame => {
                "People had their reasons; nothing here speaks against the load."
            }
            Urgency::Done => "Nothing.",
        }
    }

    /// Whether a person is needed now.
    pub fn needs_person(self) -> bool {
        self <= Urgency::FindEvidence
    }
}

/// How many loads have a decision, and what people have signed for them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct DecisionCount {
    /// The decision.
    pub decision: Decision,
    /// All loads with it.
    pub n_loads: usize,
    /// Of them released by people.
    pub n_released: usize,
    /// Of them with nothing signed.
    pub n_open: usize,
    /// Of them held or called back by people.
    pub n_settled: usize,
}

/// How many loads a rule decides.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RuleCount {
    /// The rule.
    pub rule: RuleId,
    /// What it does.
    pub effect: Effect,
    /// The loads that it decides, alone or with others.
    pub n_loads: usize,
    /// Of them released by people.
    pub n_released: usize,
    /// Of them with nothing signed.
    pub n_open: usize,
    /// The newest of those that need a person, else of all.
    pub newest: Option<String>,
    /// Where it shows in that load.
    pub place: Option<Place>,
}

/// A load.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ReleaseRow {
    /// Its number.
    pub load: String,
    /// What the records support.
    pub decision: Decision,
    /// How urgently it needs a person.
    pub urgency: Urgency,
    /// Its unit.
    pub unit: Option<String>,
    /// Its last cycle.
    pub cycle: Option<String>,
    /// When it began.
    pub began: Option<String>,
    /// What people have signed.
    pub signed: String,
    /// Where a record names it.
    pub place: Option<Place>,
    /// The rules that decide, with their evidence. For a release: what shows that the cycle was completed.
    pub reasons: Vec<ReasonRow>,
    /// Rules of less weight that also found something, notes left out.
    pub further: Vec<RuleId>,
    /// Rules that noted something, and what.
    pub notes: Vec<ReasonRow>,
    /// What to mind when handling it.
    pub caution: Option<Caution>,
}

/// What the records of each load support.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReleaseReport {
    /// The version of these fields.
    pub format: u32,
    /// The moment it speaks for.
    pub as_of: Option<AsOf>,
    /// What it is narrowed to.
    pub scope: Scope,
    /// The policies that loads were judged by.
    pub policies: Vec<PolicyNote>,
    /// How many loads have each decision, the most serious first.
    pub counts: Vec<DecisionCount>,
    /// How many loads each rule decides, the most serious effect first.
    pub rules: Vec<RuleCount>,
    /// Of how many loads each rule notes something that decides nothing: what people did too early stands here.
    pub notes: Vec<RuleCount>,
    /// How many loads have each urgency, and what it is.
    pub urgencies: Vec<(Urgency, usize)>,
    /// The loads, the most urgent first, and of equal urgency the newest first.
    pub rows: Vec<ReleaseRow>,
    /// What to mind when handling loads that need a person.
    pub cautions: Vec<CautionRow>,
}

impl ReleaseReport {
    /// Whether a load needs a person now.
    pub fn needs_person(&self) -> bool {
        self.rows.iter().any(|row| row.urgency.needs_person())
    }
}

/// Makes the report. Only loads with one of the `wanted` decisions are listed; all are when it is empty.
pub fn write_release(reviewed: &Reviewed<'_>, wanted: &[Decision]) -> ReleaseReport {
    let history = reviewed.history;
    let mut used = BTreeSet::new();
    let mut rows: Vec<ReleaseRow> = Vec::new();
    for judgement in &reviewed.judged.judgements.loads {
        let Some(load) = history.loads.get(judgement.load.0) else {
            continue;
        };
        if !reviewed.scope.has_load(load, history) {
            continue;
        }
        used.extend(judgement.policy);
        rows.push(release_row(reviewed, load, judgement));
    }
    // Stable twice: by the newest first, then by urgency and what decides.
    rows.sort_by(|a, b| b.began.cmp(&a.began).then_with(|| a.load.cmp(&b.load)));
    rows.sort_by_key(|row| (row.urgency, std::cmp::Reverse(row.decision), harm_of(row)));
    let counts = count_decisions(rows.iter().map(|row| (row.decision, row.urgency)));
    rows.retain(|row| wanted.is_empty() || wanted.contains(&row.decision));
    let urgencies = Urgency::ALL
        .iter()
        .map(|urgency| {
            let n = rows.iter().filter(|row| row.urgency == *urgency).count();
            (*urgency, n)
        })
        .filter(|(_, n)| *n > 0)
        .collect();
    let cautions = rows
        .iter()
        .filter(|row| row.urgency <= Urgency::Settled)
        .filter_map(|row| row.caution);
    ReleaseReport {
        format: 1,
        as_of: reviewed.as_of.cloned(),
        scope: reviewed.scope.clone(),
        policies: PolicyNote::of_book(reviewed.judged.book, &used),
        counts,
        rules: count_rules(&rows, |row| &row.reasons),
        notes: count_rules(&rows, |row| &row.notes),
        urgencies,
        cautions: CautionRow::of_all(cautions),
        rows,
    }
}

/// The place of a load's first deciding rule in the order of harm: growth of a biological indicator comes first, the
/// rest follows the rule book.
fn harm_of(row: &ReleaseRow) -> (bool, usize) {
    let Some(reason) = row.reasons.first() else {
        return (true, 0);
    };
    let at = RULES.iter().position(|rule| rule.id == reason.rule);
    (
        !reason.rule.0.starts_with("bi-growth"),
        at.unwrap_or(RULES.len()),
    )
}

/// Of how many loads each rule found something, the most serious effect first, then by number.
fn count_rules(
    rows: &[ReleaseRow],
    reasons_of: impl Fn(&ReleaseRow) -> &Vec<ReasonRow>,
) -> Vec<RuleCount> {
    let mut counts: BTreeMap<RuleId, RuleCount> = BTreeMap::new();
    // The rows are in order of urgency: the first that a rule has is the one to name.
    for row in rows {
        let mut of_row: Vec<RuleId> = Vec::new();
        for reason in reasons_of(row) {
            if of_row.contains(&reason.rule) {
                continue;
            }
            of_row.push(reason.rule);
            let count = counts.entry(reason.rule).or_insert_with(|| RuleCount {
                rule: reason.rule,
                effect: reason.effect,
                n_loads: 0,
                n_released: 0,
                n_open: 0,
                newest: Some(row.load.clone()),
                place: reason.places().next().or(row.place.as_ref()).cloned(),
            });
            count.n_loads.add_one();
            match row.urgency {
                Urgency::GetBack | Urgency::LeftWithoutEvidence | Urgency::LeftBeforeResult => {
                    count.n_released.add_one();
                }
                Urgency::KeepBack | Urgency::FindEvidence | Urgency::Wait => count.n_open.add_one(),
                _ => {}
            }
        }
    }
    let mut counts: Vec<RuleCount> = counts.into_values().collect();
    counts.sort_by_key(|count| {
        (
            std::cmp::Reverse(count.effect),
            std::cmp::Reverse(count.n_released),
            std::cmp::Reverse(count.n_loads),
            count.rule,
        )
    });
    counts
}

/// How many loads have each decision, the most serious first.
pub fn count_decisions(
    loads: impl Iterator<Item = (Decision, Urgency)> + Clone,
) -> Vec<DecisionCount> {
    let mut counts = Vec::new();
    for decision in Decision::ALL.iter().rev() {
        let of_it: Vec<Urgency> = loads
            .clone()
            .filter(|(own, _)| own == decision)
            .map(|(_, urgency)| urgency)
            .collect();
        let n = |wanted: &[Urgency]| of_it.iter().filter(|one| wanted.contains(one)).count();
        counts.push(DecisionCount {
            decision: *decision,
            n_loads: of_it.len(),
            n_released: n(&[
                Urgency::GetBack,
                Urgency::LeftWithoutEvidence,
                Urgency::LeftBeforeResult,
                Urgency::Done,
            ]),
            n_open: n(&[
                Urgency::KeepBack,
                Urgency::FindEvidence,
                Urgency::Wait,
                Urgency::Sign,
            ]),
            n_settled: n(&[Urgency::Settled, Urgency::HeldAllTheSame]),
        });
    }
    counts
}

/// How urgently a load needs a person.
pub fn urgency_of(reviewed: &Reviewed<'_>, load: &Load, judgement: &Judgement) -> Urgency {
    let last = load
        .decisions
        .last()
        .and_then(|ix| reviewed.history.entries.get(ix.0));
    Urgency::of(judgement.decision, say_state(last).0)
}

fn release_row(reviewed: &Reviewed<'_>, load: &Load, judgement: &Judgement) -> ReleaseRow {
    let history = reviewed.history;
    let last = load.cycles.last().and_then(|ix| history.cycles.get(ix.0));
    let signed = load
        .decisions
        .last()
        .and_then(|ix| history.entries.get(ix.0));
    let (state, signed) = say_state(signed);
    let deciding = judgement.deciding();
    let mut further: Vec<RuleId> = judgement
        .hits
        .get(deciding.len()..)
        .unwrap_or_default()
        .iter()
        .filter(|hit| hit.effect > Effect::Note)
        .map(|hit| hit.rule)
        .collect();
    further.dedup();
    ReleaseRow {
        load: load.number.0.clone(),
        decision: judgement.decision,
        urgency: Urgency::of(judgement.decision, state),
        unit: load.unit.as_ref().map(|unit| unit.0.clone()),
        cycle: last.map(|known| cycle_name(&known.cycle)),
        began: last
            .and_then(|known| known.began.as_ref())
            .map(|began| began.value.local)
            .or(load.first.map(|first| first.local))
            .map(to_minute),
        signed,
        place: place_of_load(history, load, reviewed.lines),
        reasons: deciding
            .iter()
            .map(|hit| ReasonRow::of(hit, reviewed.lines))
            .collect(),
        further,
        notes: judgement
            .hits
            .iter()
            .filter(|hit| hit.effect == Effect::Note)
            .map(|hit| ReasonRow::of(hit, reviewed.lines))
            .collect(),
        caution: last
            .and_then(|known| find_caution(known, process_of(reviewed, known), Some(judgement))),
    }
}
