//! One cycle or load in full, as a value. Read [`find_shown`] first.

use super::attention::{Need, State, find_needs, process_of, round, say_state};
use super::caution::{CautionRow, find_caution};
use super::inert;
use super::moment::{clock_length, length, of_moment, on_cycle_clock, to_minute};
use super::naming::cycle_name;
use super::place::Place;
use super::policy::PolicyNote;
use super::reason::{EvidenceRow, MetRow, ReasonRow};
use super::recall::{SporeRow, spore_row};
use super::release::{Urgency, urgency_of};
use super::review::{Reviewed, outcome_word, place_of_load};
use crate::judge::decision::{Decision, RecordIx};
use crate::judge::recall::{Call, NotCounted, Row};
use crate::judge::rulebook::RuleId;
use crate::measure::quantity::Datum;
use crate::reconcile::history::{EntryIx, KnownCycle, KnownEntry, Load, LoadIx};
use crate::record::consumable::{LotIdentity, UseCount};
use crate::record::cycle::{
    Bound, Checksum, Cycle, Limit, LimitValue, Measured, Outcome, Purpose, QuantityKind,
};
use crate::record::entry::{BiRole, EntryBody};
use serde::Serialize;

/// How many names near the one asked for are proposed.
const MAX_NEAREST: usize = 5;

/// A cycle or load in full.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Shown {
    /// The version of these fields.
    pub format: u32,
    /// What was asked for.
    pub asked: String,
    /// Its cycles.
    pub cycles: Vec<CycleView>,
    /// Its load.
    pub loads: Vec<LoadView>,
    /// What needs a person about them.
    pub needs: Vec<Need>,
    /// What to mind when handling them.
    pub cautions: Vec<CautionRow>,
}

impl Shown {
    /// Whether a person is needed.
    pub fn needs_person(&self) -> bool {
        let urgent = |load: &LoadView| {
            load.decision
                .as_ref()
                .is_some_and(|decision| decision.urgency.needs_person())
        };
        self.needs.iter().any(Need::is_open) || self.loads.iter().any(urgent)
    }
}

/// No cycle and no load has the name asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotFound {
    /// The name asked for.
    pub asked: String,
    /// Names that come near it.
    pub nearest: Vec<String>,
}

/// A fact with a name.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Fact {
    /// Its name.
    pub name: &'static str,
    /// What it is.
    pub value: String,
    /// Where it stands.
    pub place: Option<Place>,
    /// Why it is believed, if it was inferred.
    pub reason: Option<String>,
}

/// A cycle in full.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CycleView {
    /// Its name.
    pub cycle: String,
    /// The result that its printout gives, in a word.
    pub outcome: &'static str,
    /// The same in full.
    pub outcome_said: String,
    /// Where the outcome stands.
    pub outcome_place: Option<Place>,
    /// Who and what it was.
    pub facts: Vec<Fact>,
    /// Its stages.
    pub stages: Vec<StageRow>,
    /// Its length in seconds, as far as its printout tells.
    pub length_seconds: i64,
    /// Its readings.
    pub readings: Vec<ReadingRow>,
    /// Its events and alarms.
    pub events: Vec<EventRow>,
    /// What it used up.
    pub consumables: Vec<ConsumableRow>,
    /// What was inferred while it was read.
    pub inferences: Vec<Fact>,
    /// Where further printouts of it stand.
    pub reprints: Vec<Place>,
    /// How many lines within it could not be read.
    pub n_unread_lines: u32,
    /// Its file.
    pub file: String,
    /// Its lines, inert.
    pub lines: Vec<SourceLine>,
}

/// A stage.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StageRow {
    /// Its number, from 1.
    pub n: usize,
    /// Its name.
    pub stage: String,
    /// When it began, on the cycle's clock.
    pub began: String,
    /// The same in seconds since the cycle's start.
    pub began_seconds: i64,
    /// How long it took, in seconds; `None` where the printout does not tell.
    pub length_seconds: Option<i64>,
    /// Its limits, in words.
    pub limits: Vec<String>,
    /// The limits of measured quantities.
    pub bounds: Vec<LimitRow>,
    /// The number of pulses.
    pub n_pulses: Option<u32>,
    /// The number of values read.
    pub n_readings: usize,
    /// Its line.
    pub place: Place,
}

/// A limit of a measured quantity.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LimitRow {
    /// Which side it is on.
    pub bound: Bound,
    /// What it limits.
    pub quantity: QuantityKind,
    /// The value in the unit it was printed in.
    pub value: f64,
    /// That unit.
    pub unit: String,
}

/// A value that was read.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReadingRow {
    /// When, on the cycle's clock.
    pub at: String,
    /// The same in seconds since the cycle's start.
    pub at_seconds: i64,
    /// The number of its stage.
    pub stage: usize,
    /// What was read.
    pub quantity: QuantityKind,
    /// The value in the unit it was printed in.
    pub value: f64,
    /// That unit; a gauge pressure says so.
    pub unit: String,
    /// Its line.
    pub line: u32,
}

/// An event or alarm.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct EventRow {
    /// When, on the cycle's clock.
    pub at: String,
    /// The cause, in a word, if it is an alarm.
    pub alarm: Option<String>,
    /// The same in plain words.
    pub alarm_said: Option<String>,
    /// The words printed.
    pub text: String,
    /// Its line.
    pub place: Place,
}

/// A consumable.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ConsumableRow {
    /// The kind.
    pub kind: &'static str,
    /// The lot.
    pub lot: Option<String>,
    /// The last day on which it may be used.
    pub expiry: Option<String>,
    /// The GTIN, if it was scanned.
    pub gtin: Option<String>,
    /// Which use of the supply it was.
    pub use_count: Option<String>,
    /// Its line.
    pub place: Place,
}

/// A line of the input.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SourceLine {
    /// Its number.
    pub line: u32,
    /// Its text, inert; `None` for a line that is no part of the record, and for one that can no longer be read.
    pub text: Option<String>,
}

/// A load in full.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LoadView {
    /// Its number.
    pub load: String,
    /// What its records support, and why. `None` when no record of it had come by the moment asked for.
    pub decision: Option<DecisionView>,
    /// What the certificates of its biological indicators say, where the log gives their numbers.
    pub spores: Vec<(Option<String>, SporeRow)>,
    /// Who and what it was.
    pub facts: Vec<Fact>,
    /// Its cycles.
    pub cycles: Vec<String>,
    /// Its contents.
    pub contents: Vec<EntryRow>,
    /// Its chemical indicators.
    pub cis: Vec<EntryRow>,
    /// Its biological indicators, each with its latest entry.
    pub bis: Vec<EntryRow>,
    /// What people decided.
    pub decisions: Vec<EntryRow>,
    /// Other entries about it.
    pub others: Vec<EntryRow>,
}

/// What the records of a load support, and why.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DecisionView {
    /// The decision.
    pub decision: Decision,
    /// How urgently the load needs a person.
    pub urgency: Urgency,
    /// The same as a sentence.
    pub said: String,
    /// The policy that it was judged by.
    pub policy: PolicyNote,
    /// Whether that policy was in force on its day.
    pub in_force: bool,
    /// The rules that decide.
    pub because: Vec<ReasonRow>,
    /// Rules of less weight that also found something, the most serious first.
    pub besides: Vec<ReasonRow>,
    /// Rules whose question was answered in favour of the load.
    pub met: Vec<MetRow>,
    /// What would change it, in sentences.
    pub would_change: Vec<String>,
    /// How it moved as records came, oldest first.
    pub history: Vec<StepRow>,
    /// The recall scopes that hold it, in sentences.
    pub recalls: Vec<String>,
}

/// A decision as it stood from some moment on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct StepRow {
    /// Since when.
    pub since: Option<String>,
    /// The decision.
    pub decision: Decision,
    /// The rules that made it.
    pub rules: Vec<RuleId>,
    /// The records that moved it. Of the first step those of the load itself.
    pub moved_by: Vec<EvidenceRow>,
}

/// An entry about a load.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct EntryRow {
    /// When it was written.
    pub when: Option<String>,
    /// What it is about: the set, the position, the role, the decision.
    pub what: String,
    /// What it says.
    pub said: String,
    /// Lot and expiry.
    pub lot: Option<String>,
    /// Who wrote it.
    pub by: Option<String>,
    /// A remark.
    pub note: Option<String>,
    /// Its line.
    pub place: Place,
}

/// Finds a cycle by `UNIT:COUNTER`, or a load by its number, and tells it in full.
///
/// Capitals and small letters count as the same. A name that two cycles bear, as after a reset of the counter, shows
/// both.
///
/// # Errors
///
/// [`NotFound`] with names that come near, when neither a cycle nor a load within the scope has the name.
pub fn find_shown(asked: &str, reviewed: &Reviewed<'_>) -> Result<Shown, NotFound> {
    let history = reviewed.history;
    let in_scope = |known: &&KnownCycle| reviewed.scope.has_cycle(known);
    let mut cycles: Vec<&KnownCycle> = history
        .cycles
        .iter()
        .filter(in_scope)
        .filter(|known| {
            known.cycle.counter.is_some() && cycle_name(&known.cycle).eq_ignore_ascii_case(asked)
        })
        .collect();
    let mut loads: Vec<&Load> = cycles
        .iter()
        .filter_map(|known| known.load)
        .filter_map(|ix| history.loads.get(ix.0))
        .collect();
    if cycles.is_empty() {
        loads = history
            .loads
            .iter()
            .filter(|load| {
                load.number.0.eq_ignore_ascii_case(asked) && reviewed.scope.has_load(load, history)
            })
            .collect();
        cycles = loads
            .iter()
            .flat_map(|load| &load.cycles)
            .filter_map(|ix| history.cycles.get(ix.0))
            .collect();
    }
    loads.dedup_by_key(|load| load.number.clone());
    if cycles.is_empty() && loads.is_empty() {
        return Err(NotFound {
            asked: asked.to_owned(),
            nearest: find_nearest(asked, reviewed),
        });
    }
    let names: Vec<String> = cycles
        .iter()
        .map(|known| cycle_name(&known.cycle))
        .collect();
    let is_about = |case: &super::attention::Case| match (&case.cycle, &case.load) {
        (_, Some(load)) => loads.iter().any(|shown| shown.number.0 == *load),
        (Some(cycle), None) => names.contains(cycle),
        (None, None) => false,
    };
    let needs: Vec<Need> = find_needs(reviewed)
        .into_iter()
        .filter_map(|need| need.narrowed(is_about))
        .collect();
    let of_needs = needs
        .iter()
        .flat_map(|need| &need.cases)
        .filter_map(|case| case.caution);
    let of_cycles = cycles.iter().filter_map(|known| {
        let judgement = known.load.and_then(|ix| reviewed.judged.judgements.of(ix));
        if known.cycle.purpose != Purpose::Load {
            return None;
        }
        find_caution(known, process_of(reviewed, known), judgement)
    });
    let cautions = CautionRow::of_all(of_needs.chain(of_cycles));
    Ok(Shown {
        format: 1,
        asked: asked.to_owned(),
        cycles: cycles
            .into_iter()
            .map(|known| view_cycle(known, reviewed))
            .collect(),
        loads: loads
            .into_iter()
            .map(|load| view_load(load, reviewed))
            .collect(),
        needs,
        cautions,
    })
}

/// Names of cycles and loads that come near a name: the nearest first, by the number of slips between them, and of
/// equally near ones in order of the alphabet.
fn find_nearest(asked: &str, reviewed: &Reviewed<'_>) -> Vec<String> {
    let asked = asked.to_ascii_uppercase();
    let history = reviewed.history;
    let mut near: Vec<(usize, String)> = history
        .cycles
        .iter()
        .map(|known| cycle_name(&known.cycle))
        .chain(history.loads.iter().map(|load| load.number.0.clone()))
        .filter(|name| name.len() <= 200)
        .map(|name| {
            (
                strsim::osa_distance(&asked, &name.to_ascii_uppercase()),
                name,
            )
        })
        // A third of the letters may differ; beyond that nothing is alike.
        .filter(|(distance, name)| *distance <= (name.chars().count() / 3).max(1))
        .collect();
    near.sort_unstable();
    near.dedup();
    near.into_iter()
        .take(MAX_NEAREST)
        .map(|(_, name)| name)
        .collect()
}

fn view_cycle(known: &KnownCycle, reviewed: &Reviewed<'_>) -> CycleView {
    let cycle = &known.cycle;
    let lines = reviewed.lines;
    let last_seen = cycle
        .stages
        .iter()
        .flat_map(|stage| {
            std::iter::once(stage.began).chain(stage.readings.iter().map(|reading| reading.at))
        })
        .chain(cycle.events.iter().map(|event| event.at))
        .chain(cycle.ended.as_ref().map(|ended| ended.value))
        .max();
    CycleView {
        cycle: cycle_name(cycle),
        outcome: outcome_word(known),
        outcome_said: say_outcome(known),
        outcome_place: cycle
            .outcome
            .as_ref()
            .map(|outcome| Place::of(&outcome.span, lines)),
        facts: list_facts(known, reviewed),
        stages: list_stages(cycle, reviewed),
        length_seconds: last_seen.map_or(0, |last| i64::from(last.0)),
        readings: cycle
            .stages
            .iter()
            .enumerate()
            .flat_map(|(n, stage)| {
                stage.readings.iter().map(move |reading| ReadingRow {
                    at: on_cycle_clock(cycle, reading.at),
                    at_seconds: i64::from(reading.at.0),
                    stage: n.saturating_add(1),
                    quantity: reading.measured.kind(),
                    value: round(reading.measured.printed_number()),
                    unit: unit_of(&reading.measured),
                    line: reading.line,
                })
            })
            .collect(),
        events: cycle
            .events
            .iter()
            .map(|event| EventRow {
                at: on_cycle_clock(cycle, event.at),
                alarm: event.alarm.as_ref().map(|cause| cause.word().to_owned()),
                alarm_said: event.alarm.as_ref().map(|cause| cause.said().to_owned()),
                text: event.text.clone(),
                place: Place::of(&event.span, lines),
            })
            .collect(),
        consumables: cycle
            .consumables
            .iter()
            .map(|used| ConsumableRow {
                kind: used.kind.word(),
                lot: used.lot.value.lot.as_ref().map(|lot| lot.0.clone()),
                expiry: used.lot.value.expiry.map(|expiry| expiry.to_string()),
                gtin: used.lot.value.gtin.clone(),
                use_count: used
                    .use_count
                    .map(|UseCount { n, of }| format!("{n} of {of}")),
                place: Place::of(&used.lot.span, lines),
            })
            .collect(),
        inferences: cycle
            .inferences
            .iter()
            .map(|inference| Fact {
                name: "inferred",
                value: inference.reason.clone(),
                place: Some(Place::of(&inference.span, lines)),
                reason: None,
            })
            .collect(),
        reprints: known
            .reprints
            .iter()
            .map(|reprint| Place::of_lines(reprint, lines))
            .collect(),
        n_unread_lines: cycle.n_unread_lines,
        file: lines.file_name(cycle.opening.file).to_owned(),
        lines: list_lines(cycle, reviewed),
    }
}

/// The unit of a measured value; a gauge pressure says so.
fn unit_of(measured: &Measured) -> String {
    match measured {
        Measured::Pressure(pressure) if pressure.datum() == Datum::Gauge => {
            format!("{} gauge", measured.printed_symbol())
        }
        _ => measured.printed_symbol().to_owned(),
    }
}

/// The result that a printout gives, as a sentence without its full stop.
pub fn say_outcome(known: &KnownCycle) -> String {
    let cycle = &known.cycle;
    let cause_said = |cause: &Option<crate::record::cause::Cause>| {
        cause
            .as_ref()
            .map(|cause| format!(": {}", cause.said()))
            .unwrap_or_default()
    };
    let said = match cycle.outcome.as_ref().map(|outcome| &outcome.value) {
        Some(Outcome::Completed) => "completed".to_owned(),
        Some(Outcome::Aborted { stage, cause }) => {
            let stage = stage
                .as_ref()
                .map(|stage| format!(" in {}", stage.word()))
                .unwrap_or_default();
            format!("aborted{stage}{}", cause_said(cause))
        }
        Some(Outcome::Rejected { cause }) => {
            format!("rejected before exposure{}", cause_said(cause))
        }
        Some(Outcome::Passed) => "passed".to_owned(),
        Some(Outcome::Failed) => "failed".to_owned(),
        None => "no outcome printed".to_owned(),
    };
    match cycle.closed {
        true => said,
        false => format!("{said}; the printout is torn off, so its outcome is not proven"),
    }
}

fn list_facts(known: &KnownCycle, reviewed: &Reviewed<'_>) -> Vec<Fact> {
    let cycle = &known.cycle;
    let lines = reviewed.lines;
    let mut facts = Vec::new();
    let mut push = |name,
                    value: Option<String>,
                    span: Option<crate::diagnose::Span>,
                    reason: Option<String>| {
        if let Some(value) = value {
            facts.push(Fact {
                name,
                value,
                place: span.map(|span| Place::of(&span, lines)),
                reason,
            });
        }
    };
    macro_rules! field {
        ($name:literal, $field:ident, |$value:ident| $said:expr) => {
            push(
                $name,
                cycle.$field.as_ref().map(|spanned| {
                    let $value = &spanned.value;
                    $said
                }),
                cycle.$field.as_ref().map(|spanned| spanned.span),
                None,
            );
        };
    }
    field!("unit", unit, |unit| unit.0.clone());
    field!("serial", serial, |serial| serial.clone());
    field!("software", software, |software| software.clone());
    field!("place", place, |place| place.clone());
    field!("zone", zone, |zone| zone.name().to_owned());
    let process = process_of(reviewed, known).map(|process| process.word().to_owned());
    let not_printed = cycle
        .process
        .is_none()
        .then(|| "as other printouts of the unit say".to_owned());
    push(
        "process",
        process,
        cycle.process.as_ref().map(|process| process.span),
        not_printed,
    );
    if cycle.purpose != Purpose::Load {
        push("purpose", Some(cycle.purpose.word().to_owned()), None, None);
    }
    field!("program", program, |program| program.0.clone());
    field!("counter", counter, |counter| counter.to_string());
    field!("load", load, |load| load.0.clone());
    field!("operator", operator, |operator| operator.0.clone());
    match &known.began {
        Some(began) => {
            let mut said = began.value.local.format("%Y-%m-%d %H:%M:%S").to_string();
            if let Some(utc) = began.value.utc {
                said.push_str(&utc.format(" (%H:%M:%S UTC)").to_string());
            }
            push(
                "began",
                Some(said),
                cycle.started.as_ref().map(|started| started.span),
                began.reason.clone(),
            );
        }
        None => push("began", Some("not known".to_owned()), None, None),
    }
    if let Some(ended) = &cycle.ended {
        push(
            "ended",
            Some(on_cycle_clock(cycle, ended.value)),
            Some(ended.span),
            None,
        );
        push("length", Some(length(i64::from(ended.value.0))), None, None);
    }
    field!("ambient", ambient, |ambient| format!(
        "{} {}",
        round(ambient.printed_number()),
        ambient.printed_unit().symbol()
    ));
    field!("leak", leak, |leak| {
        let limit = leak.limit.map(|limit| {
            format!(
                ", limit {} {}",
                round(limit.printed_number()),
                limit.printed_unit().symbol()
            )
        });
        format!(
            "{} {}{}",
            round(leak.rate.printed_number()),
            leak.rate.printed_unit().symbol(),
            limit.unwrap_or_default()
        )
    });
    match cycle.checksum {
        Checksum::Absent => {}
        Checksum::Agrees { crc32, span } => {
            push(
                "checksum",
                Some(format!("{crc32:08X}, agrees with its lines")),
                Some(span),
                None,
            );
        }
        Checksum::Differs {
            printed,
            computed,
            span,
        } => {
            let said = format!("printed {printed:08X}, its lines give {computed:08X}");
            push("checksum", Some(said), Some(span), None);
        }
    }
    facts
}

fn list_stages(cycle: &Cycle, reviewed: &Reviewed<'_>) -> Vec<StageRow> {
    let ended = cycle.ended.as_ref().map(|ended| ended.value);
    cycle
        .stages
        .iter()
        .enumerate()
        .map(|(ix, stage)| {
            let n = ix.saturating_add(1);
            let next = cycle.stages.get(n).map(|next| next.began).or(ended);
            StageRow {
                n,
                stage: stage.name.word().to_owned(),
                began: on_cycle_clock(cycle, stage.began),
                began_seconds: i64::from(stage.began.0),
                // A clock that went back tells no length.
                length_seconds: next
                    .map(|next| next.since(stage.began))
                    .filter(|seconds| *seconds >= 0),
                limits: stage.limits.iter().map(say_limit).collect(),
                bounds: stage
                    .limits
                    .iter()
                    .filter_map(|limit| match &limit.value {
                        LimitValue::Measured(measured) => Some(LimitRow {
                            bound: limit.bound,
                            quantity: measured.kind(),
                            value: round(measured.printed_number()),
                            unit: unit_of(measured),
                        }),
                        LimitValue::Duration(_) => None,
                    })
                    .collect(),
                n_pulses: stage.n_pulses,
                n_readings: stage.readings.len(),
                place: Place::of(&stage.span, reviewed.lines),
            }
        })
        .collect()
}

fn say_limit(limit: &Limit) -> String {
    let side = match limit.bound {
        Bound::Min => "at least",
        Bound::Max => "at most",
    };
    match &limit.value {
        LimitValue::Measured(measured) => format!(
            "{} {side} {} {}",
            measured.kind().word(),
            round(measured.printed_number()),
            unit_of(measured)
        ),
        LimitValue::Duration(duration) => {
            format!(
                "time {side} {} {}",
                round(duration.printed_number()),
                duration.printed_unit().symbol()
            )
        }
    }
}

fn list_lines(cycle: &Cycle, reviewed: &Reviewed<'_>) -> Vec<SourceLine> {
    let first = cycle.lines.first();
    let last = cycle.lines.last();
    let n = usize::try_from(last.saturating_sub(first))
        .unwrap_or(0)
        .saturating_add(1);
    let texts = reviewed.lines.lines_from(&cycle.opening, n);
    let mut runs = cycle.lines.runs().iter().peekable();
    (first..=last)
        .enumerate()
        .map(|(at, line)| {
            while runs.next_if(|run| run.last < line).is_some() {}
            let is_of_record = runs.peek().is_some_and(|run| run.first <= line);
            let text = texts
                .get(at)
                .filter(|_| is_of_record)
                .map(|shown| inert::text(&shown.text).into_owned());
            SourceLine { line, text }
        })
        .collect()
}

fn view_load(load: &Load, reviewed: &Reviewed<'_>) -> LoadView {
    let history = reviewed.history;
    let rows = |ixs: &[EntryIx]| -> Vec<EntryRow> {
        ixs.iter()
            .filter_map(|ix| history.entries.get(ix.0))
            .map(|known| entry_row(known, reviewed))
            .collect()
    };
    let mut facts = Vec::new();
    let mut push = |name, value: Option<String>, place| {
        if let Some(value) = value {
            facts.push(Fact {
                name,
                value,
                place,
                reason: None,
            });
        }
    };
    push(
        "load",
        Some(load.number.0.clone()),
        place_of_load(history, load, reviewed.lines),
    );
    push("unit", load.unit.as_ref().map(|unit| unit.0.clone()), None);
    push("first record", of_moment(load.first), None);
    let decision = load
        .decisions
        .last()
        .and_then(|ix| history.entries.get(ix.0));
    push(
        "signed",
        Some(say_state(decision).1),
        decision.map(|known| Place::of(&known.entry.span, reviewed.lines)),
    );
    let mut others = rows(&load.starts);
    others.extend(rows(&load.superseded_bis));
    others.extend(rows(&load.remarks));
    others.sort_by(|a, b| a.when.cmp(&b.when));
    LoadView {
        load: load.number.0.clone(),
        decision: view_decision(load, reviewed),
        spores: view_spores(load, reviewed),
        facts,
        cycles: load
            .cycles
            .iter()
            .filter_map(|ix| history.cycles.get(ix.0))
            .map(|known| cycle_name(&known.cycle))
            .collect(),
        contents: rows(&load.contents),
        cis: rows(&load.cis),
        bis: rows(&load.bis),
        decisions: rows(&load.decisions),
        others,
    }
}

fn view_decision(load: &Load, reviewed: &Reviewed<'_>) -> Option<DecisionView> {
    let history = reviewed.history;
    let lines = reviewed.lines;
    let ix = history
        .loads
        .iter()
        .position(|own| std::ptr::eq(own, load))?;
    let judgement = reviewed.judged.judgements.of(LoadIx(ix))?;
    let book = reviewed.judged.book;
    let policy = judgement
        .policy
        .and_then(|ix| book.policies.get(ix.0))
        .or(book.policies.last())?;
    let deciding = judgement.deciding();
    let besides = judgement.hits.get(deciding.len()..).unwrap_or_default();
    let signed = load
        .decisions
        .last()
        .and_then(|ix| history.entries.get(ix.0));
    Some(DecisionView {
        decision: judgement.decision,
        urgency: urgency_of(reviewed, load, judgement),
        said: say_decision(judgement.decision, say_state(signed)),
        policy: PolicyNote::of(policy),
        in_force: judgement.policy.is_some(),
        because: deciding
            .iter()
            .map(|hit| ReasonRow::of(hit, lines))
            .collect(),
        besides: besides
            .iter()
            .map(|hit| ReasonRow::of(hit, lines))
            .collect(),
        met: judgement
            .met
            .iter()
            .map(|met| MetRow::of(met, lines))
            .collect(),
        would_change: judgement.would_change.clone(),
        history: judgement
            .history
            .iter()
            .enumerate()
            .map(|(at, step)| StepRow {
                since: step.since.map(to_minute),
                decision: step.decision,
                rules: step.rules.clone(),
                moved_by: step
                    .moved_by
                    .iter()
                    // What had come of other loads before the first record of this one moved nothing.
                    .filter(|record| at > 0 || is_of(load, **record))
                    .filter_map(|record| say_record(*record, reviewed))
                    .collect(),
            })
            .collect(),
        recalls: say_recalls(LoadIx(ix), reviewed),
    })
}

/// What the records support, as one sentence that holds against what was signed.
fn say_decision(decision: Decision, (state, signed): (State, String)) -> String {
    let said = match decision {
        Decision::Release => {
            "The records support release: what the policy asks for is there, and nothing speaks against the load."
        }
        Decision::Quarantine => {
            "The records are complete, and the load has to wait for a result that the policy asks for."
        }
        Decision::Hold => "The load has to be held: evidence is lacking, or contradicts itself.",
        Decision::Reject => "The records speak against the load.",
        Decision::Recall => {
            "The records speak against the load, and it was let go before: its packages are to be found."
        }
    };
    let against = match (decision, state) {
        (Decision::Release, State::Released) => " It was let go",
        (Decision::Release, State::Open) => " Nobody has signed yet",
        (Decision::Release, State::Settled) => " People have decided otherwise",
        (_, State::Released) => " It was let go all the same",
        (_, State::Open) => " Nobody has signed anything",
        (_, State::Settled) => " People have seen to it",
    };
    match state {
        State::Open => format!("{said}{against}."),
        State::Released if decision == Decision::Recall => format!("{said} It was {signed}."),
        _ => format!("{said}{against}: {signed}."),
    }
}

/// Whether a record is of the load itself.
fn is_of(load: &Load, record: RecordIx) -> bool {
    match record {
        RecordIx::Cycle(ix) => load.cycles.contains(&ix),
        RecordIx::Entry(ix) => load.entries().any(|own| own == ix),
    }
}

/// A record that moved a decision: what it is, and where it stands.
fn say_record(record: RecordIx, reviewed: &Reviewed<'_>) -> Option<EvidenceRow> {
    let (words, span) = match record {
        RecordIx::Cycle(ix) => {
            let known = reviewed.history.cycles.get(ix.0)?;
            let words = format!(
                "printout of {}, {}",
                cycle_name(&known.cycle),
                outcome_word(known)
            );
            (words, known.cycle.opening)
        }
        RecordIx::Entry(ix) => {
            let known = reviewed.history.entries.get(ix.0)?;
            let row = entry_row(known, reviewed);
            let load = known.entry.load.as_ref().map(|load| load.value.as_str());
            let parts: Vec<&str> = [known.entry.body.word(), load.unwrap_or_default()]
                .into_iter()
                .filter(|part| !part.is_empty())
                .collect();
            let mut words = parts.join(" ");
            // A release or hold says itself by its kind.
            if !row.said.is_empty() {
                words.push_str(&format!(": {}, {}", row.what, row.said));
            }
            if let Some(by) = &row.by {
                words.push_str(&format!(", by {by}"));
            }
            (words, known.entry.span)
        }
    };
    Some(EvidenceRow {
        words,
        places: vec![Place::of(&span, reviewed.lines)],
    })
}

/// The recall scopes that hold a load, or that it bounds.
fn say_recalls(ix: LoadIx, reviewed: &Reviewed<'_>) -> Vec<String> {
    let mut said = Vec::new();
    for recall in reviewed.judged.recalls {
        let grown: Vec<String> = recall
            .growths
            .iter()
            .filter_map(|growth| reviewed.history.loads.get(growth.load?.0))
            .map(|load| load.number.0.clone())
            .collect();
        let grown = grown.join(", ");
        let unit = recall.unit.as_deref().unwrap_or("a unit that is not known");
        for row in &recall.rows {
            let Row::Run {
                run,
                not_counted,
                pieces,
            } = row
            else {
                continue;
            };
            if run.load != Some(ix) {
                continue;
            }
            let what = match not_counted {
                Some(NotCounted::NotProcessed) => {
                    "its cycle was not completed, so that nothing of it is called back"
                }
                Some(NotCounted::RunAgain(_)) => "it was run again, and that run is what counts",
                None if pieces.iter().any(|piece| piece.call == Call::Back) => {
                    "its packages are to be got back"
                }
                None if pieces.iter().any(|piece| piece.call == Call::Wait) => {
                    "it waits for the repeats of the BI"
                }
                None => "the repeats of the BI were satisfactory, and it need not be called back",
            };
            said.push(format!(
                "It lies in the recall scope of {unit} after BI growth in {grown}: {what}. `loadbook recall` prints \
                 the sheet."
            ));
        }
    }
    said
}

/// What the certificates of a load's test vials say.
fn view_spores(load: &Load, reviewed: &Reviewed<'_>) -> Vec<(Option<String>, SporeRow)> {
    let cycle = load
        .cycles
        .last()
        .and_then(|ix| reviewed.history.cycles.get(ix.0));
    let process = cycle.and_then(|known| process_of(reviewed, known));
    let mut rows = Vec::new();
    for ix in load.bis.iter().chain(&load.superseded_bis) {
        let Some(known) = reviewed.history.entries.get(ix.0) else {
            continue;
        };
        if let EntryBody::Bi(bi) = &known.entry.body
            && bi.role.as_ref().map(|role| role.value) != Some(BiRole::Control)
            && let Some(row) = spore_row(bi, cycle, process)
        {
            let lot = bi.lot.as_ref().and_then(|lot| lot.value.lot.as_ref());
            let row = (lot.map(|lot| lot.0.clone()), row);
            if !rows.contains(&row) {
                rows.push(row);
            }
        }
    }
    rows
}

fn entry_row(known: &KnownEntry, reviewed: &Reviewed<'_>) -> EntryRow {
    let entry = &known.entry;
    let join =
        |parts: Vec<Option<String>>| parts.into_iter().flatten().collect::<Vec<_>>().join(", ");
    let mut lot = None;
    let (what, said) = match &entry.body {
        EntryBody::Load(start) => (
            "put into unit".to_owned(),
            join(vec![
                entry.unit.as_ref().map(|unit| unit.value.0.clone()),
                start
                    .counter
                    .as_ref()
                    .map(|counter| format!("counter {}", counter.value)),
                start
                    .program
                    .as_ref()
                    .map(|program| format!("program {}", program.value)),
            ]),
        ),
        EntryBody::Content(content) => {
            lot = say_lot(content.packaging_lot.as_ref().map(|lot| &lot.value));
            (
                content
                    .set
                    .as_ref()
                    .map_or_else(|| "no set named".to_owned(), |set| set.value.clone()),
                join(vec![
                    content
                        .n_items
                        .as_ref()
                        .map(|n| format!("{} items", n.value)),
                    content
                        .n_packages
                        .as_ref()
                        .map(|n| format!("{} packages", n.value)),
                    content
                        .packaging
                        .as_ref()
                        .map(|packaging| packaging.value.clone()),
                    content
                        .implant
                        .as_ref()
                        .and_then(|implant| implant.value.then(|| "IMPLANT".to_owned())),
                    content
                        .destination
                        .as_ref()
                        .map(|to| format!("went to {}", to.value)),
                ]),
            )
        }
        EntryBody::Ci(ci) => {
            lot = say_lot(ci.lot.as_ref().map(|lot| &lot.value));
            let position = ci
                .position
                .as_ref()
                .map(|position| position.value.word().to_owned());
            let ci_type = ci
                .ci_type
                .as_ref()
                .map(|ci_type| format!("type {}", ci_type.value));
            let set = ci.set.as_ref().map(|set| set.value.clone());
            (
                join(vec![position, ci_type, set]),
                ci.endpoint.as_ref().map_or_else(
                    || "no result".to_owned(),
                    |endpoint| format!("endpoint {}", endpoint.value.word()),
                ),
            )
        }
        EntryBody::Bi(bi) => {
            lot = say_lot(bi.lot.as_ref().map(|lot| &lot.value));
            let incubated = bi
                .incubated
                .as_ref()
                .map(|at| format!("incubated {}", to_minute(at.value.local)));
            let read = bi
                .read
                .as_ref()
                .map(|at| format!("read {}", to_minute(at.value.local)));
            let growth = bi
                .growth
                .as_ref()
                .map_or("no result yet", |growth| growth.value.word())
                .to_owned();
            (
                bi.role
                    .as_ref()
                    .map_or("role not given", |role| role.value.word())
                    .to_owned(),
                join(vec![Some(growth), incubated, read]),
            )
        }
        EntryBody::Lot(change) => {
            lot = say_lot(change.lot.as_ref().map(|lot| &lot.value));
            (
                "lot".to_owned(),
                change
                    .action
                    .as_ref()
                    .map_or("", |action| action.value.word())
                    .to_owned(),
            )
        }
        EntryBody::Release => ("released".to_owned(), String::new()),
        EntryBody::Hold => ("on hold".to_owned(), String::new()),
        EntryBody::Recall => ("recalled".to_owned(), String::new()),
        EntryBody::Service => ("service".to_owned(), String::new()),
        EntryBody::Remark => ("remark".to_owned(), String::new()),
    };
    EntryRow {
        when: of_moment(known.written),
        what,
        said,
        lot,
        by: entry.by.as_ref().map(|by| by.value.0.clone()),
        note: entry.note.as_ref().map(|note| note.value.clone()),
        place: Place::of(&entry.span, reviewed.lines),
    }
}

/// A lot and its expiry in words.
pub fn say_lot(lot: Option<&LotIdentity>) -> Option<String> {
    let lot = lot?;
    let name = lot.lot.as_ref().map(|lot| lot.0.clone());
    let expiry = lot.expiry.map(|expiry| format!("expiry {expiry}"));
    let parts: Vec<String> = name.into_iter().chain(expiry).collect();
    (!parts.is_empty()).then(|| parts.join(", "))
}

/// The length of a stage in words; a dash where the printout does not tell.
pub fn say_length(seconds: Option<i64>) -> String {
    seconds.map_or_else(|| "-".to_owned(), clock_length)
}
