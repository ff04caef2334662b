//! Facts that need a person the moment they are on record, each with a key by which it is known again.
//!
//! They are the cases of [`super::attention`] that speak of one load or test, split so that each record tells once; to
//! these come stages that were too short and alarms, whatever else the policy makes of them, and releases that people
//! signed against the records. What changes by itself as further records come in (a load that is not signed yet, a
//! printout that is missing, clocks, near misses, unread lines) is for the review and not told here.
//!
//! A key is made from what the records say, never from a file's name or line, so that a file that was renamed tells
//! nothing twice. Knows nothing of which facts were told before. Read [`find_facts`] first.

use super::attention::{
    Case, NeedKind, RULES_TOLD_ELSEWHERE, State, find_needs, last_cycle, last_decision, process_of,
    say_bi, say_ci, say_state,
};
use super::caution::{Caution, find_caution};
use super::moment::to_minute;
use super::naming::cycle_name;
use super::place::Place;
use super::review::{Reviewed, place_of_load};
use crate::judge::decision::{Decision, Judgement, RuleHit};
use crate::reconcile::history::{KnownEntry, Load};
use crate::record::entry::{CiEndpoint, EntryBody};
use chrono::NaiveDateTime;
use std::collections::BTreeMap;

/// Rules of which every finding is told, whatever the decision.
const RULES_ALWAYS_TOLD: &[(&str, &str)] = &[
    ("stage-too-short", "Stage too short"),
    ("alarm-in-completed-cycle", "Alarm in completed cycle"),
];

/// Something that needs a person.
#[derive(Debug, Clone, PartialEq)]
pub struct Fact {
    /// What it is known again by; it holds text from the records and is not for showing.
    pub key: String,
    /// The time on the record that shows it, on the record's clock.
    pub at: Option<NaiveDateTime>,
    /// The unit.
    pub unit: Option<String>,
    /// The load.
    pub load: Option<String>,
    /// The cycle, as `UNIT:COUNTER`.
    pub cycle: Option<String>,
    /// What it is, in a few words.
    pub what: &'static str,
    /// What was seen.
    pub seen: String,
    /// Where it stands.
    pub place: Option<Place>,
    /// What to mind when the load is handled.
    pub caution: Option<Caution>,
}

/// Finds every fact that the records hold, in the order of the times on the records that show them; those without a
/// time come last. What people have dealt with since (the load was put on hold, called back or run again; the test was
/// passed) is left out.
pub fn find_facts(reviewed: &Reviewed<'_>) -> Vec<Fact> {
    let known = KnownPlaces::of(reviewed);
    // By key: the same fact may be found on two ways.
    let mut facts = BTreeMap::new();
    let mut push = |fact: Fact| {
        facts.entry(fact.key.clone()).or_insert(fact);
    };
    for need in find_needs(reviewed) {
        for case in &need.cases {
            match need.kind {
                NeedKind::BiGrowth | NeedKind::BiControlNoGrowth | NeedKind::CiNotReached => {
                    facts_of_entries(need.kind, case, &known).for_each(&mut push);
                }
                NeedKind::RecallScope => {
                    fact_of_scope(case, &known).into_iter().for_each(&mut push)
                }
                NeedKind::UnitTestFailed
                | NeedKind::CycleAborted
                | NeedKind::LoadRejected
                | NeedKind::PrintoutTorn => {
                    fact_of_ending(need.kind, case, &known)
                        .into_iter()
                        .for_each(&mut push);
                }
                NeedKind::ReleasedLacking => push(fact_of_release(need.kind, case, &known)),
                // Told by rule below.
                NeedKind::EvidenceAgainst => {}
                NeedKind::EvidenceLacking
                | NeedKind::PatientData
                | NeedKind::FileUnread
                | NeedKind::PrintoutMissing
                | NeedKind::LinesUnread
                | NeedKind::NearMiss
                | NeedKind::ClocksDisagree
                | NeedKind::Doubt => {}
            }
            if need.kind.is_against_load()
                && case.state == State::Released
                && is_signed_after(need.kind, case, &known)
            {
                push(fact_of_release(need.kind, case, &known));
            }
        }
    }
    for judgement in &reviewed.judged.judgements.loads {
        facts_of_rules(reviewed, judgement).for_each(&mut push);
    }
    let mut facts: Vec<Fact> = facts.into_values().collect();
    facts.sort_by(|a, b| {
        let order = |fact: &Fact| (fact.at.is_none(), fact.at);
        order(a)
            .cmp(&order(b))
            .then_with(|| a.place.cmp(&b.place))
            .then_with(|| a.key.cmp(&b.key))
    });
    facts
}

/// The times of records, and the entries, by the places where cases say that they stand.
struct KnownPlaces<'a> {
    times: BTreeMap<Place, NaiveDateTime>,
    entries: BTreeMap<Place, &'a KnownEntry>,
}

impl<'a> KnownPlaces<'a> {
    fn of(reviewed: &'a Reviewed<'_>) -> Self {
        let mut times = BTreeMap::new();
        for known in &reviewed.history.cycles {
            let ended = known
                .ended
                .or(known.began.as_ref().map(|began| began.value));
            let Some(ended) = ended else { continue };
            let cycle = &known.cycle;
            let opening = Place::of(&cycle.opening, reviewed.lines);
            let last = Place {
                line: cycle.lines.last(),
                ..opening.clone()
            };
            let outcome = cycle.outcome.as_ref();
            let outcome = outcome.map(|outcome| Place::of(&outcome.span, reviewed.lines));
            for place in [Some(opening), Some(last), outcome].into_iter().flatten() {
                times.insert(place, ended.local);
            }
        }
        let mut entries = BTreeMap::new();
        for known in &reviewed.history.entries {
            let place = Place::of(&known.entry.span, reviewed.lines);
            if let Some(written) = known.written {
                times.insert(place.clone(), written.local);
            }
            entries.insert(place, known);
        }
        KnownPlaces { times, entries }
    }

    fn time(&self, place: Option<&Place>) -> Option<NaiveDateTime> {
        place.and_then(|place| self.times.get(place).copied())
    }
}

/// Whether people dealt with a case after the record of a fact, and not before it.
fn is_dealt_with(case: &Case, at: Option<NaiveDateTime>, known: &KnownPlaces<'_>) -> bool {
    // What settles a case stands last.
    let settled = known.time(case.places.last());
    case.state == State::Settled && at.zip(settled).is_none_or(|(at, settled)| settled >= at)
}

/// Whether the last signature of a case came when the evidence against the load was on record. A release from before it
/// is no fault of whoever signed.
fn is_signed_after(kind: NeedKind, case: &Case, known: &KnownPlaces<'_>) -> bool {
    let signed = known.time(case.places.last());
    let seen = match kind {
        // Several entries may show it; the first is enough.
        NeedKind::BiGrowth | NeedKind::BiControlNoGrowth | NeedKind::CiNotReached => {
            let n_before = case.places.len().saturating_sub(1);
            let shown = case.places.iter().take(n_before);
            shown.filter_map(|place| known.time(Some(place))).min()
        }
        NeedKind::RecallScope => known.time(case.places.first()),
        // The clocks of log and unit differ; a load is released after its cycle.
        _ => None,
    };
    seen.zip(signed).is_none_or(|(seen, signed)| signed >= seen)
}

/// What was seen, with who released the load if someone did.
fn with_release(case: &Case, seen: &str) -> String {
    match case.state {
        State::Released => format!("{seen}; {}", case.state_said),
        State::Open | State::Settled => seen.to_owned(),
    }
}

fn key(parts: &[&str]) -> String {
    parts.join("\u{1f}")
}

fn said(time: Option<NaiveDateTime>) -> String {
    time.map_or_else(String::new, |time| time.to_string())
}

fn or_empty(text: &Option<String>) -> &str {
    text.as_deref().unwrap_or_default()
}

/// What a case says, as one fact of its own.
fn fact_of(kind: NeedKind, case: &Case, key: String, at: Option<NaiveDateTime>) -> Fact {
    Fact {
        key,
        at,
        unit: case.unit.clone(),
        load: case.load.clone(),
        cycle: case.cycle.clone(),
        what: kind.said(),
        seen: with_release(case, &case.seen),
        place: case.places.first().cloned(),
        caution: case.caution,
    }
}

/// One fact for each indicator.
fn facts_of_entries<'a>(
    kind: NeedKind,
    case: &'a Case,
    known: &'a KnownPlaces<'_>,
) -> impl Iterator<Item = Fact> + 'a {
    case.places.iter().filter_map(move |place| {
        let entry = known.entries.get(place)?;
        let seen = match &entry.entry.body {
            EntryBody::Bi(bi) => say_bi(entry, bi),
            EntryBody::Ci(ci) => {
                let endpoint = ci.endpoint.as_ref().map(|endpoint| endpoint.value);
                say_ci(ci, endpoint.unwrap_or(CiEndpoint::NotReached))
            }
            // What people signed stands behind the evidence.
            _ => return None,
        };
        let at = entry.written.map(|written| written.local);
        if is_dealt_with(case, at, known) {
            return None;
        }
        let key = key(&[kind.id(), or_empty(&case.load), &seen, &said(at)]);
        Some(Fact {
            seen: with_release(case, &seen),
            place: Some(place.clone()),
            ..fact_of(kind, case, key, at)
        })
    })
}

/// A load in the scope of another's indicator: the growth stands first, then the load.
fn fact_of_scope(case: &Case, known: &KnownPlaces<'_>) -> Option<Fact> {
    let growth = known.time(case.places.first());
    let at = growth.max(known.time(case.places.get(1)));
    if is_dealt_with(case, at, known) {
        return None;
    }
    let kind = NeedKind::RecallScope;
    let key = key(&[kind.id(), or_empty(&case.load), &said(growth)]);
    Some(Fact {
        place: case.places.get(1).or(case.places.first()).cloned(),
        ..fact_of(kind, case, key, at)
    })
}

/// A cycle that did not end as it should.
fn fact_of_ending(kind: NeedKind, case: &Case, known: &KnownPlaces<'_>) -> Option<Fact> {
    // Whatever was signed for a cycle's load counts: log and unit have clocks of their own, and the log is written to the
    // minute, so that a hold may bear an earlier time than the end that it answers.
    if case.state == State::Settled {
        return None;
    }
    let at = known.time(case.places.first());
    // A printout that says neither when nor which is told apart by its line alone.
    let line = case.places.first().map(|place| place.line.to_string());
    let when = case.when.clone().or(line).unwrap_or_default();
    let key = key(&[
        kind.id(),
        or_empty(&case.cycle),
        or_empty(&case.load),
        &when,
    ]);
    Some(fact_of(kind, case, key, at))
}

/// A release that was signed in spite of the records. The entry stands last.
fn fact_of_release(kind: NeedKind, case: &Case, known: &KnownPlaces<'_>) -> Fact {
    let place = case.places.last();
    let at = known.time(place);
    let key = key(&[
        "released",
        or_empty(&case.load),
        &said(at),
        &case.state_said,
    ]);
    // Evidence that is lacking is no evidence against the load.
    let (what, seen) = match kind {
        NeedKind::ReleasedLacking => (kind.said(), case.seen.clone()),
        _ => (
            "Released against records",
            format!("{}: {}", kind.said(), case.seen),
        ),
    };
    Fact {
        what,
        seen,
        place: place.cloned(),
        ..fact_of(kind, case, key, at)
    }
}

/// What rules of the policy found in a load, where no case of another kind tells it.
fn facts_of_rules<'a>(
    reviewed: &'a Reviewed<'_>,
    judgement: &'a Judgement,
) -> impl Iterator<Item = Fact> + 'a {
    let is_against = matches!(judgement.decision, Decision::Reject | Decision::Recall);
    let against: &[RuleHit] = if is_against {
        judgement.deciding()
    } else {
        &[]
    };
    let load = reviewed.history.loads.get(judgement.load.0);
    load.into_iter().flat_map(move |load| {
        judgement.hits.iter().filter_map(move |hit| {
            let always = RULES_ALWAYS_TOLD
                .iter()
                .find(|(rule, _)| *rule == hit.rule.0);
            let decides = against.contains(hit) && !RULES_TOLD_ELSEWHERE.contains(&hit.rule.0);
            let what = match always {
                Some((_, what)) => what,
                None if decides => NeedKind::EvidenceAgainst.said(),
                None => return None,
            };
            fact_of_rule(reviewed, load, judgement, hit, what)
        })
    })
}

fn fact_of_rule(
    reviewed: &Reviewed<'_>,
    load: &Load,
    judgement: &Judgement,
    hit: &RuleHit,
    what: &'static str,
) -> Option<Fact> {
    let last = last_cycle(reviewed, load);
    let began = last
        .and_then(|known| known.began.as_ref())
        .map(|began| began.value.local);
    let ended = last.and_then(|known| known.ended).map(|ended| ended.local);
    // The first moment at which the rule made a decision; a rule that made none is a cycle's.
    let moved = judgement
        .history
        .iter()
        .find(|step| step.rules.contains(&hit.rule))
        .and_then(|step| step.since);
    let at = moved.or(ended).or(began);
    let decision = last_decision(reviewed, load);
    let decided = decision
        .and_then(|known| known.written)
        .map(|written| written.local);
    let is_settled = say_state(decision).0 == State::Settled;
    // The clocks of log and unit differ by less than a cycle.
    let since = began.or(at);
    if is_settled
        && since
            .zip(decided)
            .is_none_or(|(since, decided)| decided >= since)
    {
        return None;
    }
    let spans = hit.evidence.iter().flat_map(|evidence| &evidence.spans);
    let place = spans
        .map(|span| Place::of(span, reviewed.lines))
        .next()
        .or_else(|| last.map(|known| Place::of(&known.cycle.opening, reviewed.lines)))
        .or_else(|| place_of_load(reviewed.history, load, reviewed.lines));
    let began_said = began.map(to_minute).unwrap_or_default();
    Some(Fact {
        key: key(&[hit.rule.0, load.number.as_str(), &began_said]),
        at,
        unit: load.unit.as_ref().map(|unit| unit.0.clone()),
        load: Some(load.number.0.clone()),
        cycle: last.map(|known| cycle_name(&known.cycle)),
        what,
        seen: hit.seen.to_string(),
        place,
        caution: last
            .and_then(|known| find_caution(known, process_of(reviewed, known), Some(judgement))),
    })
}
