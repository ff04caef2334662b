//! What needs a person, in order of harm: facts of the records, sorted by what happens if nobody looks.
//!
//! It lists what was printed and written (an indicator that grew, a cycle that was aborted, a printout that is missing),
//! what the policy makes of the rest, and beside each load what people have signed for it. The order of
//! [`NeedKind`] is the order of harm: common practice, no source; what each asks to be done names its source there.
//! Read [`find_needs`] first.

use super::caution::{Caution, find_caution};
use super::moment::{length, of_moment, to_minute};
use super::naming::cycle_name;
use super::place::Place;
use super::review::{Reviewed, place_of_load};
use super::told::{Signed, Told};
use crate::diagnose::codes::Code;
use crate::diagnose::{Diagnostic, FileId, Severity};
use crate::judge::decision::{Decision, RuleHit};
use crate::measure::count::Counting;
use crate::reconcile::history::{CycleIx, EntryIx, KnownCycle, KnownEntry, Load, LoadIx};
use crate::record::Spanned;
use crate::record::consumable::LotIdentity;
use crate::record::cycle::{Outcome, Process, Purpose};
use crate::record::entry::{BiGrowth, BiResult, BiRole, CiEndpoint, EntryBody};
use chrono::NaiveDateTime;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

macro_rules! needs {
    ($($(#[$doc:meta])* $variant:ident, $id:literal, $said:literal, $next:literal;)*) => {
        /// A kind of thing that needs a person. The order is that of harm.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
        pub enum NeedKind {
            $($(#[$doc])* $variant,)*
        }

        impl NeedKind {
            /// Every kind in the order of harm.
            pub const ALL: &'static [NeedKind] = &[$(NeedKind::$variant,)*];

            /// Its name for machines.
            pub fn id(self) -> &'static str {
                match self { $(NeedKind::$variant => $id,)* }
            }

            /// What was seen, in a few words.
            pub fn said(self) -> &'static str {
                match self { $(NeedKind::$variant => $said,)* }
            }

            /// What to do next.
            pub fn next(self) -> &'static str {
                match self { $(NeedKind::$variant => $next,)* }
            }
        }
    };
}

needs! {
    /// A biological indicator that went through a cycle grew. What to do follows CDC, Guideline for Disinfection and
    /// Sterilization in Healthcare Facilities, 2008, table 12, step 1 (standards.md, section 4: SEEN).
    BiGrowth, "bi-growth", "BI growth",
        "Hold the load, and recall it if it has left. Tell the supervisor and infection prevention. Take the unit out \
         of use until local policy lets it return.";
    /// A load lies in the recall scope of a growing indicator of another (the same, recommendations on biological
    /// indicators: seen via copy).
    RecallScope, "recall-scope", "In a recall scope",
        "`loadbook recall` prints the sheet. Find the packages, keep them apart, process them again, and enter what was \
         called back.";
    /// The control of a biological indicator did not grow: the test is invalid, not passed (MMWR 2003, VI.F.6 asks
    /// for a control of the same lot; standards.md, section 4: SEEN).
    BiControlNoGrowth, "bi-control-no-growth", "BI control without growth",
        "The BI result of these loads proves nothing. Hold them, check the BI lot and the incubator, and repeat the \
         test with a control that grows.";
    /// A chemical indicator did not reach its endpoint or could not be read (CDC, Best Practices for Sterilization
    /// Monitoring in Dental Settings: "do not use the instruments"; standards.md, section 5: SEEN).
    CiNotReached, "ci-not-reached", "CI endpoint not reached",
        "Do not use the package. Look at the whole load before any of it is used: packing, placing, unit.";
    /// A rule of the policy rejects the load, and none of the other kinds says so.
    EvidenceAgainst, "evidence-against", "Evidence against the load",
        "`loadbook show LOAD` tells which rule, and where. Keep the load here, or find it if it has left, and process \
         it again.";
    /// A leak test or an air-removal test was failed or stopped. Common practice, no source.
    UnitTestFailed, "unit-test-failed", "Leak or air test failed",
        "Run no load in the unit until the test has been passed. Call service if it fails again.";
    /// A cycle was stopped during a stage.
    CycleAborted, "cycle-aborted", "Cycle aborted",
        "Treat the load as not processed. Find the cause, repack, run it again, and sign what was decided.";
    /// A load was refused before its first exposure.
    LoadRejected, "load-rejected", "Load rejected",
        "Treat the load as not processed. Put the cause right, run it again, and sign what was decided.";
    /// A printout ends before its end.
    PrintoutTorn, "printout-torn", "Printout torn off",
        "Find the rest of the strip, or print it again from the unit's memory. Until then its outcome is not proven.";
    /// A load was released although the policy holds it, or lets it wait.
    ReleasedLacking, "released-lacking", "Released, records lacking",
        "Find what is lacking and enter it. If it can't be found, decide by local policy whether the load is recalled.";
    /// The policy holds a load and nobody has decided.
    EvidenceLacking, "evidence-lacking", "Not signed, records lacking",
        "Enter what is lacking before the load is released.";
    /// Lines that look like patient data.
    PatientData, "patient-data", "Lines like patient data",
        "Remove them from the file. loadbook needs no patient's name, number or date of birth, and repeats none.";
    /// A file or path could not be read.
    FileUnread, "file-unread", "Files not read",
        "Check the file. What it holds is missing from this review.";
    /// The counter skips numbers.
    PrintoutMissing, "printout-missing", "Printouts missing",
        "Print them again from the unit's memory, or find the strips.";
    /// Lines that could not be read.
    LinesUnread, "lines-unread", "Lines not read",
        "`loadbook read` shows each with what is wrong. Correct them from the original strip or page.";
    /// Two load numbers that may be one.
    NearMiss, "load-number-near-miss", "Load number may be a slip",
        "Compare both with the load record. If it is a slip, correct it in the log; nothing was joined.";
    /// A unit's clock and the log's disagree.
    ClocksDisagree, "clocks-disagree", "Clocks that disagree",
        "Set the unit's clock, and note when.";
    /// Records that contradict each other or themselves.
    Doubt, "record-doubtful", "Records in doubt",
        "Find out what is right from the original strip, page or unit, and correct the file.";
}

impl Serialize for NeedKind {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.id())
    }
}

impl NeedKind {
    /// Whether it speaks against a load, so that a release in spite of it comes before everything else.
    pub(super) fn is_against_load(self) -> bool {
        self <= NeedKind::PrintoutTorn
    }
}

/// What people have done about a case.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum State {
    /// The load was released, and nothing was signed after that.
    Released,
    /// Nothing was signed.
    Open,
    /// The load is on hold, was recalled or was run again; a test was passed since.
    Settled,
}

/// One thing that needs a person.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Case {
    /// What people have done about it.
    pub state: State,
    /// The same in words: `released by MK, 2026-03-13 09:00`.
    pub state_said: String,
    /// How many there are of it: lines for unread lines, cycles for missing printouts, else 1.
    pub n: u64,
    /// The load.
    pub load: Option<String>,
    /// The unit.
    pub unit: Option<String>,
    /// The cycle, as `UNIT:COUNTER`.
    pub cycle: Option<String>,
    /// When the cycle or load began, on the local clock.
    pub when: Option<String>,
    /// What was seen.
    pub seen: String,
    /// Where it stands: the evidence first, then what people signed.
    pub places: Vec<Place>,
    /// What to mind when handling the load.
    pub caution: Option<Caution>,
    /// What was seen, as facts.
    #[serde(skip)]
    pub told: Told,
    /// What people have done about it, as facts.
    #[serde(skip)]
    pub signed: Signed,
}

impl Case {
    /// What it is about, in a word: the load, else the cycle, else the unit.
    pub fn subject(&self) -> Option<&str> {
        self.load
            .as_deref()
            .or(self.cycle.as_deref())
            .or(self.unit.as_deref())
    }
}

/// All cases of one kind.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Need {
    /// The kind.
    pub kind: NeedKind,
    /// What was seen, in a few words.
    pub said: &'static str,
    /// What to do next.
    pub next: &'static str,
    /// How many there are.
    pub n_found: u64,
    /// How many of them were released.
    pub n_released: u64,
    /// How many of them are open.
    pub n_open: u64,
    /// How many of them are settled.
    pub n_settled: u64,
    /// The cases: released first, then open ones, then settled ones, and of each the newest first.
    pub cases: Vec<Case>,
}

impl Need {
    fn of(kind: NeedKind, mut cases: Vec<Case>) -> Self {
        // Stable, so that cases of one moment stay in the order of the history.
        cases.sort_by(|a, b| a.state.cmp(&b.state).then_with(|| b.when.cmp(&a.when)));
        let count = |state| {
            cases
                .iter()
                .filter(|case| case.state == state)
                .map(|case| case.n)
                .sum()
        };
        Need {
            kind,
            said: kind.said(),
            next: kind.next(),
            n_found: cases.iter().map(|case| case.n).sum(),
            n_released: count(State::Released),
            n_open: count(State::Open),
            n_settled: count(State::Settled),
            cases,
        }
    }

    /// The same with some of its cases only, counted anew; `None` when there are none.
    pub fn narrowed(self, keep: impl Fn(&Case) -> bool) -> Option<Self> {
        let cases: Vec<Case> = self.cases.into_iter().filter(|case| keep(case)).collect();
        (!cases.is_empty()).then(|| Need::of(self.kind, cases))
    }

    /// Whether a person is still needed.
    pub fn is_open(&self) -> bool {
        self.n_for_person() > 0
    }

    /// How many cases a person is needed for.
    pub fn n_for_person(&self) -> u64 {
        self.n_released.saturating_add(self.n_open)
    }
}

/// The cases to begin with: loads released against the evidence, then all that is open, by harm, the newest first.
pub fn find_first(needs: &[Need]) -> Vec<(NeedKind, &Case)> {
    let mut cases: Vec<(NeedKind, &Case)> = needs
        .iter()
        .flat_map(|need| need.cases.iter().map(|case| (need.kind, case)))
        .filter(|(_, case)| case.state != State::Settled)
        .collect();
    cases.sort_by_key(|(kind, case)| {
        let against = case.state == State::Released && kind.is_against_load();
        (!against, *kind)
    });
    cases
}

/// Finds what needs a person: every kind of which there is at least one case, in the order of harm.
pub fn find_needs(reviewed: &Reviewed<'_>) -> Vec<Need> {
    let mut found: BTreeMap<NeedKind, Vec<Case>> = BTreeMap::new();
    find_in_loads(reviewed, &mut found);
    find_in_recalls(reviewed, &mut found);
    find_in_cycles(reviewed, &mut found);
    find_in_history(reviewed, &mut found);
    find_in_notices(reviewed, &mut found);
    found
        .into_iter()
        .map(|(kind, cases)| Need::of(kind, cases))
        .collect()
}

fn find_in_loads(reviewed: &Reviewed<'_>, found: &mut BTreeMap<NeedKind, Vec<Case>>) {
    for (at, load) in reviewed
        .history
        .loads
        .iter()
        .enumerate()
        .filter(|(_, load)| reviewed.scope.has_load(load, reviewed.history))
    {
        let decision = last_decision(reviewed, load);
        for (role, grew, kind) in [
            (BiRole::Test, BiGrowth::Growth, NeedKind::BiGrowth),
            (
                BiRole::Control,
                BiGrowth::NoGrowth,
                NeedKind::BiControlNoGrowth,
            ),
        ] {
            let bis = entries_of(reviewed, &load.bis).filter_map(|known| match &known.entry.body {
                EntryBody::Bi(bi) if bi_shows(bi, role, grew) => Some((known, bi)),
                _ => None,
            });
            let seen: Vec<(String, &KnownEntry)> =
                bis.map(|(known, bi)| (say_bi(known, bi), known)).collect();
            push_load_case(reviewed, load, decision, &seen, kind, found);
        }
        let cis: Vec<(String, &KnownEntry)> = entries_of(reviewed, &load.cis)
            .filter_map(|known| match &known.entry.body {
                EntryBody::Ci(ci) => match ci.endpoint.as_ref().map(|endpoint| endpoint.value) {
                    None | Some(CiEndpoint::Reached) => None,
                    Some(endpoint) => Some((say_ci(ci, endpoint), known)),
                },
                _ => None,
            })
            .collect();
        push_load_case(
            reviewed,
            load,
            decision,
            &cis,
            NeedKind::CiNotReached,
            found,
        );
        find_judged(reviewed, LoadIx(at), load, decision, found);
    }
}

fn bi_shows(bi: &BiResult, role: BiRole, growth: BiGrowth) -> bool {
    bi.growth.as_ref().map(|growth| growth.value) == Some(growth)
        && bi.role.as_ref().map_or(BiRole::Test, |role| role.value) == role
}

pub(super) fn say_bi(known: &KnownEntry, bi: &BiResult) -> String {
    let role = bi
        .role
        .as_ref()
        .map_or(BiRole::Test, |role| role.value)
        .word();
    let grew = match bi.growth.as_ref().map(|growth| growth.value) {
        Some(BiGrowth::Growth) => "grew",
        Some(BiGrowth::NoGrowth) => "did not grow",
        None => "has no result",
    };
    let lot = say_lot(bi.lot.as_ref());
    let read = bi
        .read
        .as_ref()
        .map(|read| format!(", read {}", to_minute(read.value.local)));
    let by = known
        .entry
        .by
        .as_ref()
        .map(|by| format!(" by {}", by.value));
    format!(
        "{role} BI{lot} {grew}{}{}",
        read.unwrap_or_default(),
        by.unwrap_or_default()
    )
}

fn say_lot(lot: Option<&Spanned<LotIdentity>>) -> String {
    lot.and_then(|lot| lot.value.lot.as_ref())
        .map(|lot| format!(", lot {lot},"))
        .unwrap_or_default()
}

pub(super) fn say_ci(ci: &crate::record::entry::CiResult, endpoint: CiEndpoint) -> String {
    let position = ci
        .position
        .as_ref()
        .map_or("", |position| position.value.word());
    let ci_type = ci
        .ci_type
        .as_ref()
        .map(|ci_type| format!(", type {}", ci_type.value));
    let set = ci.set.as_ref().map(|set| format!(", in {}", set.value));
    let words = format!(
        "{position} CI{}{}: {}",
        ci_type.unwrap_or_default(),
        set.unwrap_or_default(),
        endpoint.word()
    );
    words.trim_start().to_owned()
}

fn push_load_case(
    reviewed: &Reviewed<'_>,
    load: &Load,
    decision: Option<&KnownEntry>,
    seen: &[(String, &KnownEntry)],
    kind: NeedKind,
    found: &mut BTreeMap<NeedKind, Vec<Case>>,
) {
    if seen.is_empty() {
        return;
    }
    let (state, state_said) = say_state(decision);
    let mut places: Vec<Place> = seen
        .iter()
        .map(|(_, known)| Place::of(&known.entry.span, reviewed.lines))
        .collect();
    places.extend(decision.map(|decision| Place::of(&decision.entry.span, reviewed.lines)));
    let words: Vec<&str> = seen.iter().map(|(words, _)| words.as_str()).collect();
    found.entry(kind).or_default().push(Case {
        state,
        state_said,
        n: 1,
        load: Some(load.number.0.clone()),
        unit: load.unit.as_ref().map(|unit| unit.0.clone()),
        cycle: last_cycle(reviewed, load).map(|known| cycle_name(&known.cycle)),
        when: when_of(reviewed, load),
        seen: words.join("; "),
        places,
        caution: None,
        told: Told::of_entries(seen.iter().map(|(_, known)| *known)),
        signed: Signed::of_decision(decision),
    });
}

/// Rules whose findings other kinds tell in full.
pub(super) const RULES_TOLD_ELSEWHERE: &[&str] = &[
    "bi-growth",
    "bi-growth-in-unit",
    "steam-bi-growth-in-unit",
    "ci-endpoint-not-reached",
    "ci-unreadable",
    "bi-control-no-growth",
    "cycle-not-completed",
    "recalled-by-person",
    "held-by-person",
];

/// What the policy makes of a load, where no other kind tells it.
fn find_judged(
    reviewed: &Reviewed<'_>,
    ix: LoadIx,
    load: &Load,
    decision: Option<&KnownEntry>,
    found: &mut BTreeMap<NeedKind, Vec<Case>>,
) {
    let Some(judgement) = reviewed.judged.judgements.of(ix) else {
        return;
    };
    let (state, state_said) = say_state(decision);
    let last = last_cycle(reviewed, load);
    let told = |hit: &&RuleHit| !RULES_TOLD_ELSEWHERE.contains(&hit.rule.0);
    let hits: Vec<&RuleHit> = match judgement.decision {
        // Whether other kinds hold the load as well or not: all that is lacking has to be found.
        Decision::Hold | Decision::Quarantine => judgement.deciding().iter().collect(),
        Decision::Reject | Decision::Recall => judgement.deciding().iter().filter(told).collect(),
        Decision::Release => return,
    };
    let kind = match (judgement.decision, state) {
        (Decision::Reject | Decision::Recall, _) => NeedKind::EvidenceAgainst,
        (_, State::Released) => NeedKind::ReleasedLacking,
        (Decision::Hold, State::Open) => NeedKind::EvidenceLacking,
        // What waits for its result needs nobody before that is due; what people hold they know of.
        _ => return,
    };
    if hits.is_empty() || hits.iter().all(|hit| !told(hit)) {
        return;
    }
    let mut words: Vec<&str> = Vec::new();
    for hit in &hits {
        let seen: &str = &hit.seen;
        if !words.contains(&seen) {
            words.push(seen);
        }
    }
    let mut seen = words.join("; ");
    let waits_seconds = longest_wait(reviewed, load).filter(|_| {
        judgement
            .hits
            .iter()
            .any(|hit| hit.rule.0.ends_with("bi-not-read"))
    });
    if let Some(waits) = waits_seconds.map(length) {
        seen.push_str(&format!(" (incubating for {waits})"));
    }
    let near = near_miss_of(reviewed, load);
    if let Some(other) = near {
        seen.push_str(&format!("; the number may be a slip for {other}"));
    }
    let spans = hits
        .iter()
        .flat_map(|hit| &hit.evidence)
        .flat_map(|evidence| &evidence.spans);
    let mut places: Vec<Place> = Vec::new();
    for span in spans.chain(last.map(|known| &known.cycle.opening)) {
        let place = Place::of(span, reviewed.lines);
        if !places.contains(&place) {
            places.push(place);
        }
    }
    if places.is_empty() {
        places.extend(place_of_load(reviewed.history, load, reviewed.lines));
    }
    places.extend(decision.map(|decision| Place::of(&decision.entry.span, reviewed.lines)));
    found.entry(kind).or_default().push(Case {
        state,
        state_said,
        n: 1,
        load: Some(load.number.0.clone()),
        unit: load.unit.as_ref().map(|unit| unit.0.clone()),
        cycle: last.map(|known| cycle_name(&known.cycle)),
        when: when_of(reviewed, load),
        seen,
        places,
        caution: last
            .and_then(|known| find_caution(known, process_of(reviewed, known), Some(judgement))),
        told: Told::Judged {
            hits: hits
                .iter()
                .map(|hit| (hit.rule, hit.seen.to_string()))
                .collect(),
            waits_seconds,
            near: near.map(str::to_owned),
        },
        signed: Signed::of_decision(decision),
    });
}

/// Loads in the scope of a growing indicator of another load, whose packages are to be got back.
fn find_in_recalls(reviewed: &Reviewed<'_>, found: &mut BTreeMap<NeedKind, Vec<Case>>) {
    let history = reviewed.history;
    let mut listed: BTreeSet<LoadIx> = reviewed
        .judged
        .recalls
        .iter()
        .flat_map(|recall| recall.growths.iter().filter_map(|growth| growth.load))
        .collect();
    for recall in reviewed.judged.recalls {
        let grown: Vec<&str> = recall
            .growths
            .iter()
            .filter_map(|growth| history.loads.get(growth.load?.0))
            .map(|load| load.number.as_str())
            .collect();
        let growth = recall
            .growths
            .first()
            .and_then(|growth| history.entries.get(growth.entry.0));
        for ix in recall.loads_back() {
            let Some(load) = history.loads.get(ix.0) else {
                continue;
            };
            if !listed.insert(ix) || !reviewed.scope.has_load(load, history) {
                continue;
            }
            let decision = last_decision(reviewed, load);
            let (state, state_said) = say_state(decision);
            let mut places: Vec<Place> = growth
                .map(|known| Place::of(&known.entry.span, reviewed.lines))
                .into_iter()
                .collect();
            places.extend(place_of_load(history, load, reviewed.lines));
            places.extend(decision.map(|decision| Place::of(&decision.entry.span, reviewed.lines)));
            found.entry(NeedKind::RecallScope).or_default().push(Case {
                state,
                state_said,
                n: 1,
                load: Some(load.number.0.clone()),
                unit: load.unit.as_ref().map(|unit| unit.0.clone()),
                cycle: last_cycle(reviewed, load).map(|known| cycle_name(&known.cycle)),
                when: when_of(reviewed, load),
                seen: format!("in the scope of BI growth in {}", grown.join(", ")),
                places,
                caution: None,
                told: Told::InScope {
                    grown: grown.iter().map(|load| (*load).to_owned()).collect(),
                },
                signed: Signed::of_decision(decision),
            });
        }
    }
}

/// The load that a load's number, known to the log alone, may be a slip for.
fn near_miss_of<'a>(reviewed: &'a Reviewed<'_>, load: &Load) -> Option<&'a str> {
    let number = |ix: LoadIx| reviewed.history.loads.get(ix.0).map(|load| &load.number);
    reviewed.history.near_misses.iter().find_map(|near| {
        let (in_log, on_strip) = (number(near.in_log)?, number(near.on_strip)?);
        (*in_log == load.number).then_some(on_strip.as_str())
    })
}

/// The longest time that an unread biological indicator of the load has been incubating, up to the moment of the review.
fn longest_wait(reviewed: &Reviewed<'_>, load: &Load) -> Option<i64> {
    let as_of = reviewed.as_of?.local;
    entries_of(reviewed, &load.bis)
        .filter_map(|known| match &known.entry.body {
            EntryBody::Bi(bi) if bi.growth.is_none() => bi.incubated.as_ref().map(|incubated| {
                as_of
                    .signed_duration_since(incubated.value.local)
                    .num_seconds()
            }),
            _ => None,
        })
        .filter(|seconds| *seconds > 0)
        .max()
}

fn find_in_cycles(reviewed: &Reviewed<'_>, found: &mut BTreeMap<NeedKind, Vec<Case>>) {
    for (n, known) in reviewed.history.cycles.iter().enumerate() {
        if !reviewed.scope.has_cycle(known) {
            continue;
        }
        let cycle = &known.cycle;
        let outcome = cycle.outcome.as_ref().map(|outcome| &outcome.value);
        let process = process_of(reviewed, known);
        let is_test = matches!(cycle.purpose, Purpose::LeakTest | Purpose::AirRemovalTest);
        let (kind, seen, caution) = match (cycle.purpose, outcome) {
            (Purpose::WarmUp, _) => continue,
            (_, Some(Outcome::Failed)) => (NeedKind::UnitTestFailed, say_test(known), None),
            (_, Some(Outcome::Aborted { stage, cause })) => {
                let stage = stage.as_ref().map(|stage| format!(" in {}", stage.word()));
                let cause = cause.as_ref().map(|cause| format!(": {}", cause.said()));
                let words = format!(
                    "aborted{}{}",
                    stage.unwrap_or_default(),
                    cause.unwrap_or_default()
                );
                if is_test {
                    (
                        NeedKind::UnitTestFailed,
                        format!("{}, {words}", cycle.purpose.word()),
                        None,
                    )
                } else {
                    (NeedKind::CycleAborted, words, process.map(Caution::of))
                }
            }
            (Purpose::Load, Some(Outcome::Rejected { cause })) => {
                let cause = cause.as_ref().map(|cause| format!(": {}", cause.said()));
                let words = format!("rejected{}", cause.unwrap_or_default());
                // Nothing was heated or let in before the first exposure, but a peroxide supply may have been pierced.
                (
                    NeedKind::LoadRejected,
                    words,
                    process.filter(|p| *p == Process::Plasma).map(Caution::of),
                )
            }
            (Purpose::Load, _) if !cycle.closed => {
                let stage = cycle
                    .stages
                    .last()
                    .map(|stage| format!(" during {}", stage.name.word()));
                let words = format!(
                    "torn off{}",
                    stage.unwrap_or_else(|| " before its first stage".to_owned())
                );
                let caution = process.filter(|p| *p == Process::Eo).map(Caution::of);
                (NeedKind::PrintoutTorn, words, caution)
            }
            _ => continue,
        };
        let load = known.load.and_then(|ix| reviewed.history.loads.get(ix.0));
        let decision = load.and_then(|load| last_decision(reviewed, load));
        let again = if is_test {
            test_passed_since(reviewed, n)
        } else {
            load.and_then(|load| run_again(reviewed, load, CycleIx(n)))
        };
        let (state, state_said) = match (again, load) {
            (Some(again), _) if is_test => (
                State::Settled,
                format!("passed since, {}", cycle_name(&again.cycle)),
            ),
            (Some(again), _) => (
                State::Settled,
                format!("run again as {}", cycle_name(&again.cycle)),
            ),
            (None, None) if is_test => (State::Open, "not passed since".to_owned()),
            (None, None) => (State::Open, "no load number, nothing signed".to_owned()),
            (None, Some(_)) => say_state(decision),
        };
        let signed = match (again, load) {
            (Some(again), _) if is_test => Signed::PassedSince(cycle_name(&again.cycle)),
            (Some(again), _) => Signed::RunAgain(cycle_name(&again.cycle)),
            (None, None) if is_test => Signed::NotPassedSince,
            (None, None) => Signed::NoLoadNumber,
            (None, Some(_)) => Signed::of_decision(decision),
        };
        let at = cycle
            .outcome
            .as_ref()
            .map_or(cycle.opening, |outcome| outcome.span);
        let mut places = vec![Place::of(&at, reviewed.lines)];
        if kind == NeedKind::PrintoutTorn {
            places = vec![Place {
                line: cycle.lines.last(),
                ..Place::of(&cycle.opening, reviewed.lines)
            }];
        }
        places.extend(again.map(|again| Place::of(&again.cycle.opening, reviewed.lines)));
        places.extend(decision.map(|decision| Place::of(&decision.entry.span, reviewed.lines)));
        found.entry(kind).or_default().push(Case {
            state,
            state_said,
            n: 1,
            load: cycle.load.as_ref().map(|load| load.value.0.clone()),
            unit: cycle.unit.as_ref().map(|unit| unit.value.0.clone()),
            cycle: Some(cycle_name(cycle)),
            when: known
                .began
                .as_ref()
                .map(|began| to_minute(began.value.local)),
            seen,
            places,
            caution,
            told: Told::of_ending(cycle),
            signed,
        });
    }
}

fn say_test(known: &KnownCycle) -> String {
    let test = match known.cycle.purpose {
        Purpose::LeakTest => "leak test failed",
        Purpose::AirRemovalTest => "air-removal test failed",
        Purpose::Load | Purpose::WarmUp => "failed",
    };
    match known.cycle.leak.as_ref().map(|leak| leak.value) {
        Some(leak) => {
            let unit = leak.rate.printed_unit().symbol();
            let limit = leak.limit.map(|limit| {
                format!(
                    ", limit {} {}",
                    round(limit.printed_number()),
                    limit.printed_unit().symbol()
                )
            });
            format!(
                "{test}: {} {unit}{}",
                round(leak.rate.printed_number()),
                limit.unwrap_or_default()
            )
        }
        None => test.to_owned(),
    }
}

/// A printed number without the traces of conversion there and back.
pub(super) fn round(number: f64) -> f64 {
    (number * 1e6).round() / 1e6
}

fn find_in_history(reviewed: &Reviewed<'_>, found: &mut BTreeMap<NeedKind, Vec<Case>>) {
    let history = reviewed.history;
    for missing in &history.missing {
        let sides: Vec<&KnownCycle> = [missing.after, missing.before]
            .iter()
            .filter_map(|ix| history.cycles.get(ix.0))
            .collect();
        if !sides.iter().any(|known| reviewed.scope.has_cycle(known)) {
            continue;
        }
        let n = u64::from(missing.n_missing());
        let names: Vec<String> = sides.iter().map(|known| cycle_name(&known.cycle)).collect();
        let between = names.join(" and ");
        let seen = match n {
            1 => format!("counter {}, between {between}", missing.first),
            _ => format!(
                "counters {} to {}, between {between}",
                missing.first, missing.last
            ),
        };
        found
            .entry(NeedKind::PrintoutMissing)
            .or_default()
            .push(Case {
                n,
                unit: Some(missing.unit.0.clone()),
                when: sides
                    .first()
                    .and_then(|known| known.began.as_ref())
                    .map(|began| to_minute(began.value.local)),
                places: sides
                    .iter()
                    .map(|known| Place::of(&known.cycle.opening, reviewed.lines))
                    .collect(),
                told: Told::Missing {
                    first: missing.first,
                    last: missing.last,
                    between: names,
                },
                signed: Signed::NotFound,
                ..open_case(seen, "not found")
            });
    }
    for near in &history.near_misses {
        let (Some(in_log), Some(on_strip)) = (
            history.loads.get(near.in_log.0),
            history.loads.get(near.on_strip.0),
        ) else {
            continue;
        };
        if !reviewed.scope.has_load(in_log, history) && !reviewed.scope.has_load(on_strip, history)
        {
            continue;
        }
        let mut places = vec![Place::of(&near.span, reviewed.lines)];
        let strip = on_strip
            .cycles
            .first()
            .and_then(|ix| history.cycles.get(ix.0));
        places.extend(strip.map(|known| {
            let at = known
                .cycle
                .load
                .as_ref()
                .map_or(known.cycle.opening, |load| load.span);
            Place::of(&at, reviewed.lines)
        }));
        found.entry(NeedKind::NearMiss).or_default().push(Case {
            load: Some(in_log.number.0.clone()),
            unit: on_strip.unit.as_ref().map(|unit| unit.0.clone()),
            cycle: strip.map(|known| cycle_name(&known.cycle)),
            when: of_moment(in_log.first.or(on_strip.first)),
            places,
            told: Told::NearMiss {
                in_log: in_log.number.0.clone(),
                on_strip: on_strip.number.0.clone(),
            },
            signed: Signed::NotJoined,
            ..open_case(
                format!(
                    "{} in the log, {} on the strip: {}",
                    in_log.number, on_strip.number, near.slip
                ),
                "not joined",
            )
        });
    }
}

/// How a unit's clock stands against the log's, in words.
pub(super) fn say_clock(median_seconds: f64, n_loads: usize) -> String {
    // A saturating conversion: no clock is off by more than `i64` seconds.
    let seconds = median_seconds.round() as i64;
    let way = if seconds >= 0 { "behind" } else { "ahead of" };
    format!(
        "{} {way} the log (median of {n_loads} loads)",
        length(seconds.saturating_abs())
    )
}

/// Codes that other kinds and sections tell in full.
const TOLD_ELSEWHERE: &[Code] = &[
    Code::PrintoutTorn,
    Code::PrintoutMissing,
    Code::LoadWithoutPrintout,
    Code::CycleWithoutLog,
    Code::LoadNumberNearMiss,
];

fn find_in_notices(reviewed: &Reviewed<'_>, found: &mut BTreeMap<NeedKind, Vec<Case>>) {
    for unread in reviewed.unread {
        let kind = match unread.diagnostic.code {
            Code::PatientData => NeedKind::PatientData,
            _ => NeedKind::LinesUnread,
        };
        let cases = found.entry(kind).or_default();
        let n = unread.lines.n_lines();
        let place = Place::of_lines(&unread.lines, reviewed.lines);
        let seen = unread.diagnostic.code.meaning();
        match cases.iter_mut().find(|case| case.seen == seen) {
            Some(case) => {
                case.n.add_many(n);
                case.places.push(place);
            }
            None => cases.push(Case {
                n,
                places: vec![place],
                told: Told::Noticed {
                    code: unread.diagnostic.code,
                },
                signed: Signed::NotRead,
                ..open_case(seen.to_owned(), "not read")
            }),
        }
    }
    let out_of_scope = lines_out_of_scope(reviewed);
    for diagnostic in reviewed
        .diagnostics
        .iter()
        .filter(|diagnostic| diagnostic.severity != Severity::Note)
    {
        if TOLD_ELSEWHERE.contains(&diagnostic.code) || is_out_of_scope(diagnostic, &out_of_scope) {
            continue;
        }
        let kind = match diagnostic.code {
            Code::FileUnreadable | Code::FileNotText | Code::FileChanged | Code::ArchiveDamaged => {
                NeedKind::FileUnread
            }
            Code::PatientData => NeedKind::PatientData,
            Code::ClocksDisagree => NeedKind::ClocksDisagree,
            _ => NeedKind::Doubt,
        };
        let place = match diagnostic.primary {
            Some(span) => Some(Place::of(&span, reviewed.lines)),
            None => diagnostic.file.map(|file| Place {
                file: reviewed.lines.file_name(file).to_owned(),
                line: 1,
            }),
        };
        found.entry(kind).or_default().push(Case {
            places: place.into_iter().collect(),
            told: Told::Noticed {
                code: diagnostic.code,
            },
            signed: Signed::NotSettled,
            ..open_case(diagnostic.headline.clone(), "not settled")
        });
    }
}

/// The lines of cycles that the scope leaves out, as first and last line by file.
type LeftOut = BTreeSet<(FileId, u32, u32)>;

fn lines_out_of_scope(reviewed: &Reviewed<'_>) -> LeftOut {
    if reviewed.scope.is_everything() {
        return LeftOut::new();
    }
    let loads = reviewed.scope.load_numbers(reviewed.history);
    let cycles = reviewed
        .history
        .cycles
        .iter()
        .filter(|known| !reviewed.scope.has_cycle(known));
    let entries = reviewed
        .history
        .entries
        .iter()
        .filter(|known| !reviewed.scope.has_entry(known, &loads));
    cycles
        .map(|known| &known.cycle.lines)
        .chain(entries.map(|known| &known.entry.lines))
        .flat_map(|lines| {
            lines
                .runs()
                .iter()
                .map(|run| (lines.file, run.first, run.last))
        })
        .collect()
}

fn is_out_of_scope(diagnostic: &Diagnostic, left_out: &LeftOut) -> bool {
    let Some(span) = diagnostic.primary else {
        return false;
    };
    left_out
        .range(..=(span.file, span.line, u32::MAX))
        .next_back()
        .is_some_and(|(file, _, last)| *file == span.file && span.line <= *last)
}

fn open_case(seen: String, state_said: &str) -> Case {
    Case {
        state: State::Open,
        state_said: state_said.to_owned(),
        n: 1,
        load: None,
        unit: None,
        cycle: None,
        when: None,
        seen,
        places: Vec::new(),
        caution: None,
        told: Told::Nothing,
        signed: Signed::Nothing,
    }
}

fn entries_of<'a>(
    reviewed: &'a Reviewed<'_>,
    ixs: &'a [EntryIx],
) -> impl Iterator<Item = &'a KnownEntry> {
    ixs.iter()
        .filter_map(|ix| reviewed.history.entries.get(ix.0))
}

pub(super) fn last_decision<'a>(reviewed: &'a Reviewed<'_>, load: &Load) -> Option<&'a KnownEntry> {
    load.decisions
        .last()
        .and_then(|ix| reviewed.history.entries.get(ix.0))
}

pub(super) fn last_cycle<'a>(reviewed: &'a Reviewed<'_>, load: &Load) -> Option<&'a KnownCycle> {
    load.cycles
        .last()
        .and_then(|ix| reviewed.history.cycles.get(ix.0))
}

fn when_of(reviewed: &Reviewed<'_>, load: &Load) -> Option<String> {
    let began: Option<NaiveDateTime> = last_cycle(reviewed, load)
        .and_then(|known| known.began.as_ref())
        .map(|began| began.value.local);
    began.map(to_minute).or_else(|| of_moment(load.first))
}

/// What was signed last for a load, as a state and in words.
pub(super) fn say_state(decision: Option<&KnownEntry>) -> (State, String) {
    let Some(known) = decision else {
        return (State::Open, "nothing signed".to_owned());
    };
    let (state, word) = match known.entry.body {
        EntryBody::Release => (State::Released, "released"),
        EntryBody::Recall => (State::Settled, "recalled"),
        _ => (State::Settled, "on hold"),
    };
    let by = known
        .entry
        .by
        .as_ref()
        .map(|by| format!(" by {}", by.value));
    let when = of_moment(known.written).map(|when| format!(", {when}"));
    (
        state,
        format!(
            "{word}{}{}",
            by.unwrap_or_default(),
            when.unwrap_or_default()
        ),
    )
}

/// The later cycle under the same load number that ran to its end.
fn run_again<'a>(
    reviewed: &'a Reviewed<'_>,
    load: &Load,
    cycle: CycleIx,
) -> Option<&'a KnownCycle> {
    load.cycles
        .iter()
        .skip_while(|ix| **ix != cycle)
        .skip(1)
        .filter_map(|ix| reviewed.history.cycles.get(ix.0))
        .find(|known| {
            known.cycle.closed
                && known
                    .cycle
                    .outcome
                    .as_ref()
                    .is_some_and(|o| o.value == Outcome::Completed)
        })
}

/// The later test of the same kind in the same unit that was passed.
fn test_passed_since<'a>(reviewed: &'a Reviewed<'_>, cycle: usize) -> Option<&'a KnownCycle> {
    let failed = reviewed.history.cycles.get(cycle)?;
    let unit = failed.cycle.unit.as_ref().map(|unit| &unit.value);
    // Cycles are sorted by unit and start.
    reviewed
        .history
        .cycles
        .iter()
        .skip(cycle.saturating_add(1))
        .take_while(|known| known.cycle.unit.as_ref().map(|unit| &unit.value) == unit)
        .find(|known| {
            known.cycle.purpose == failed.cycle.purpose
                && known
                    .cycle
                    .outcome
                    .as_ref()
                    .is_some_and(|outcome| outcome.value == Outcome::Passed)
        })
}

/// The process of a cycle: as printed, else that of its unit.
pub(super) fn process_of(reviewed: &Reviewed<'_>, known: &KnownCycle) -> Option<Process> {
    known
        .cycle
        .process
        .as_ref()
        .map(|process| process.value)
        .or_else(|| {
            let unit = &known.cycle.unit.as_ref()?.value;
            reviewed
                .history
                .units
                .iter()
                .find(|known| known.name == *unit)?
                .process
        })
}
