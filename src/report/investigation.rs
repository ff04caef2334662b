//! One cycle or load looked into, as a value: what happened in order, how it differs from the good cycles before it, where
//! else its lots were used, and what the unit did before. Facts and counts only. Read [`write_investigation`] first.

use super::attention::process_of;
use super::findings::{FindingRow, Findings};
use super::lengths::{StageLength, UnitMomentKind, list_moments, median, stage_lengths};
use super::naming::{CycleRow, cycle_name};
use super::place::Place;
use super::review::{Reviewed, outcome_word};
use super::scope::is_load_cycle;
use super::show::{NotFound, Shown, find_shown};
use crate::analyse::catalogue::FindingKind;
use crate::measure::count::Counting;
use crate::reconcile::history::{CycleIx, KnownCycle, KnownEntry, Load};
use crate::record::cycle::{Outcome, Process, QuantityKind};
use crate::record::entry::{Entry, EntryBody};
use chrono::{NaiveDateTime, TimeDelta};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// So many good cycles make the envelope at most.
pub const MOST_COMPARED: usize = 20;
/// And so many at least.
pub const LEAST_COMPARED: usize = 5;
/// So many earlier events of the unit are listed.
const N_EVENTS: usize = 10;

/// The report.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Investigation {
    /// The cycle or load in full.
    pub shown: Shown,
    /// Its cycles, each beside the good ones before it.
    pub cycles: Vec<CycleLook>,
    /// What happened in order.
    pub happened: Vec<Happening>,
    /// Where else the lots of its consumables and indicators were used.
    pub lots: Vec<LotUses>,
    /// What the unit did before, the newest first.
    pub before: Vec<Happening>,
    /// What is unusual in all records and bears on it: first what it is evidence of itself.
    pub bearing: Vec<Bearing>,
}

/// A finding that bears on what is looked into.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Bearing {
    /// The finding.
    pub finding: FindingRow,
    /// How many of its records are records of the cycle or load itself.
    pub n_here: usize,
}

/// So many findings are told at most.
const MOST_BEARING: usize = 6;

/// Those findings that bear on a cycle or load: it is evidence of them, or they speak of one of its lots, of its unit as a
/// whole, or of one of its stages there.
pub fn pick_bearing(findings: Findings, investigation: &Investigation) -> Vec<Bearing> {
    let places: BTreeSet<&Place> = investigation
        .happened
        .iter()
        .map(|happening| &happening.place)
        .collect();
    let lots: BTreeSet<&str> = investigation
        .lots
        .iter()
        .map(|uses| uses.lot.as_str())
        .collect();
    let speaks_of = |row: &FindingRow| {
        if let Some(lot) = &row.subject.lot {
            return lots.contains(lot.as_str());
        }
        let cycles = || {
            investigation
                .shown
                .cycles
                .iter()
                .zip(&investigation.cycles)
                .filter(|(view, _)| {
                    view.cycle.split_once(':').map(|(unit, _)| unit) == row.subject.unit.as_deref()
                })
        };
        match &row.subject.stage {
            Some(stage) if row.kind != FindingKind::StageTooShort => {
                cycles().any(|(_, look)| look.stages.iter().any(|own| &own.stage == stage))
            }
            _ => row.kind.bears_on_unit() >= 0.5 && cycles().next().is_some(),
        }
    };
    let mut bearing: Vec<Bearing> = findings
        .findings
        .into_iter()
        .filter_map(|row| {
            let here = row
                .evidence
                .iter()
                .filter(|one| places.contains(&one.place));
            let n_here = here.count();
            (n_here > 0 || speaks_of(&row)).then_some(Bearing {
                finding: row,
                n_here,
            })
        })
        .collect();
    // Stable: what is evidence of something comes first, each part in the order of harm.
    bearing.sort_by_key(|one| one.n_here == 0);
    bearing.truncate(MOST_BEARING);
    bearing
}

/// A cycle beside the good ones before it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CycleLook {
    /// Its name.
    pub cycle: String,
    /// The process.
    pub process: Option<Process>,
    /// The good cycles that it is compared with, the newest first; empty when there are too few.
    pub compared: Vec<CycleRow>,
    /// Its stages beside theirs.
    pub stages: Vec<StageLook>,
    /// For each quantity, the range of the good cycles at the moments of its own readings: seconds since its start, low,
    /// high.
    pub envelope: BTreeMap<QuantityKind, Vec<(f64, f64, f64)>>,
    /// For each quantity, the stages in which readings lie outside that range: stage, how many of how many.
    pub outside: Vec<OutsideRow>,
}

/// A stage beside the same stage of the good cycles.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StageLook {
    /// Its name; all of its runs together.
    pub stage: String,
    /// How long it took, in seconds.
    pub seconds: f64,
    /// The middle of the good cycles, in seconds.
    pub median: Option<f64>,
    /// Their range, in seconds.
    pub range: Option<(f64, f64)>,
    /// The limit that was printed, in seconds.
    pub limit: Option<f64>,
}

/// Readings outside the range of the good cycles.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct OutsideRow {
    /// The number of the stage, from 1.
    pub n_stage: usize,
    /// Its name.
    pub stage: String,
    /// What was read.
    pub quantity: QuantityKind,
    /// How many readings lie outside.
    pub n_outside: usize,
    /// Of how many.
    pub n_readings: usize,
    /// The first of them.
    pub place: Place,
}

/// Something that happened.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Happening {
    /// When, on the local clock.
    pub at: Option<NaiveDateTime>,
    /// What.
    pub what: What,
    /// The cycle, where one is meant.
    pub cycle: Option<String>,
    /// Where it stands.
    pub place: Place,
}

/// What happened.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum What {
    /// A cycle began.
    Began,
    /// A stage began.
    Stage(String),
    /// The unit gave an alarm: cause and words.
    Alarm(String, String),
    /// The unit said something.
    Event(String),
    /// The unit printed a result.
    Ended(Outcome),
    /// Someone wrote in the log.
    Entry(Box<Entry>),
    /// The unit's software changed.
    Software(String),
}

/// A lot and where else it was used.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LotUses {
    /// The kind.
    pub kind: &'static str,
    /// The lot.
    pub lot: String,
    /// Where this cycle or load names it.
    pub here: Place,
    /// Other uses without anything against them.
    pub n_fine: u64,
    /// Other uses that ended otherwise: what it was, in which load or cycle, in a word, and where.
    pub against: Vec<(String, &'static str, Place)>,
}

/// Makes the report of a cycle, named as `UNIT:COUNTER`, or of a load.
///
/// # Errors
/// [`NotFound`] when neither has the name.
pub fn write_investigation(
    asked: &str,
    reviewed: &Reviewed<'_>,
) -> Result<Investigation, NotFound> {
    let shown = find_shown(asked, reviewed)?;
    let history = reviewed.history;
    let names: BTreeSet<&str> = shown
        .cycles
        .iter()
        .map(|view| view.cycle.as_str())
        .collect();
    let cycles: Vec<(CycleIx, &KnownCycle)> = history
        .cycles
        .iter()
        .enumerate()
        .filter(|(_, known)| {
            known.cycle.counter.is_some()
                && names.contains(cycle_name(&known.cycle).as_str())
                && reviewed.scope.has_cycle(known)
        })
        .map(|(n, known)| (CycleIx(n), known))
        .collect();
    let loads: Vec<&Load> = history
        .loads
        .iter()
        .filter(|load| shown.loads.iter().any(|view| view.load == load.number.0))
        .collect();
    let mut happened: Vec<Happening> = cycles
        .iter()
        .flat_map(|(_, known)| happenings_of(known, reviewed))
        .chain(loads.iter().flat_map(|load| entries_of(load, reviewed)))
        .collect();
    // Stable: what has the same minute stays in the order printout, log.
    happened.sort_by_key(|happening| (happening.at.is_none(), happening.at));
    Ok(Investigation {
        cycles: cycles
            .iter()
            .map(|(ix, known)| look_at(*ix, known, reviewed))
            .collect(),
        happened,
        lots: find_lots(&cycles, &loads, reviewed),
        before: cycles
            .first()
            .map(|(_, known)| list_before(known, reviewed))
            .unwrap_or_default(),
        shown,
        bearing: Vec::new(),
    })
}

fn happenings_of(known: &KnownCycle, reviewed: &Reviewed<'_>) -> Vec<Happening> {
    let cycle = &known.cycle;
    let name = cycle_name(cycle);
    let began = known.began.as_ref().map(|began| began.value.local);
    let at = |seconds: i32| {
        began.and_then(|began| began.checked_add_signed(TimeDelta::seconds(i64::from(seconds))))
    };
    let happening = |at, what, span: &crate::diagnose::Span| Happening {
        at,
        what,
        cycle: Some(name.clone()),
        place: Place::of(span, reviewed.lines),
    };
    let mut all = vec![happening(began, What::Began, &cycle.opening)];
    all.extend(cycle.stages.iter().map(|stage| {
        let what = What::Stage(stage.name.word().to_owned());
        happening(at(stage.began.0), what, &stage.span)
    }));
    all.extend(cycle.events.iter().map(|event| {
        let what = match &event.alarm {
            Some(cause) => What::Alarm(cause.word().to_owned(), event.text.clone()),
            None => What::Event(event.text.clone()),
        };
        happening(at(event.at.0), what, &event.span)
    }));
    if let Some(outcome) = &cycle.outcome {
        let ended = cycle.ended.as_ref().and_then(|ended| at(ended.value.0));
        all.push(happening(
            ended,
            What::Ended(outcome.value.clone()),
            &outcome.span,
        ));
    }
    all
}

fn entries_of<'a>(load: &'a Load, reviewed: &'a Reviewed<'_>) -> impl Iterator<Item = Happening> {
    [
        &load.starts,
        &load.contents,
        &load.cis,
        &load.superseded_bis,
        &load.bis,
        &load.decisions,
        &load.remarks,
    ]
    .into_iter()
    .flatten()
    .filter_map(|ix| reviewed.history.entries.get(ix.0))
    .map(|known| of_entry(known, reviewed))
}

fn of_entry(known: &KnownEntry, reviewed: &Reviewed<'_>) -> Happening {
    Happening {
        at: known.written.map(|written| written.local),
        what: What::Entry(Box::new(known.entry.clone())),
        cycle: None,
        place: Place::of(&known.entry.span, reviewed.lines),
    }
}

/// The good cycles before a cycle: of the same unit and program, run to their end, the newest first.
fn good_before<'a>(
    ix: CycleIx,
    known: &KnownCycle,
    reviewed: &'a Reviewed<'_>,
) -> Vec<&'a KnownCycle> {
    let same = |other: &&KnownCycle| {
        let (a, b) = (&other.cycle, &known.cycle);
        is_load_cycle(other) == is_load_cycle(known)
            && a.purpose == b.purpose
            && a.unit.as_ref().map(|unit| &unit.value) == b.unit.as_ref().map(|unit| &unit.value)
            && a.program.as_ref().map(|program| &program.value)
                == b.program.as_ref().map(|program| &program.value)
            && matches!(outcome_word(other), "completed" | "passed")
            && a.n_unread_lines == 0
    };
    // Cycles of a unit stand together in order of time.
    let before = reviewed.history.cycles.get(..ix.0).unwrap_or_default();
    let good: Vec<&KnownCycle> = before
        .iter()
        .rev()
        .filter(same)
        .take(MOST_COMPARED)
        .collect();
    if good.len() < LEAST_COMPARED {
        return Vec::new();
    }
    good
}

fn look_at(ix: CycleIx, known: &KnownCycle, reviewed: &Reviewed<'_>) -> CycleLook {
    let good = good_before(ix, known, reviewed);
    let theirs: Vec<Vec<StageLength>> = good.iter().map(|known| stage_lengths(known)).collect();
    let stages = stage_lengths(known)
        .into_iter()
        .map(|here| {
            let lengths: Vec<f64> = theirs
                .iter()
                .filter_map(|stages| stages.iter().find(|there| there.stage == here.stage))
                .map(|there| there.seconds)
                .collect();
            let low = lengths.iter().copied().reduce(f64::min);
            let high = lengths.iter().copied().reduce(f64::max);
            StageLook {
                stage: here.stage,
                seconds: here.seconds,
                median: median(lengths),
                range: low.zip(high),
                limit: here.limit,
            }
        })
        .collect();
    let (envelope, outside) = find_envelope(known, &good, reviewed);
    CycleLook {
        cycle: cycle_name(&known.cycle),
        process: process_of(reviewed, known),
        compared: good
            .iter()
            .map(|known| CycleRow::of(known, reviewed.lines))
            .collect(),
        stages,
        envelope,
        outside,
    }
}

type Envelope = BTreeMap<QuantityKind, Vec<(f64, f64, f64)>>;

/// The range of the good cycles at each reading of a cycle: both are counted from the beginning of the same stage, and
/// between two readings of a good cycle the value is taken to change evenly.
fn find_envelope(
    known: &KnownCycle,
    good: &[&KnownCycle],
    reviewed: &Reviewed<'_>,
) -> (Envelope, Vec<OutsideRow>) {
    let mut envelope = Envelope::new();
    let mut outside: BTreeMap<(usize, QuantityKind), OutsideRow> = BTreeMap::new();
    for (n, stage) in known.cycle.stages.iter().enumerate() {
        for reading in &stage.readings {
            let kind = reading.measured.kind();
            let since = f64::from(reading.at.0) - f64::from(stage.began.0);
            let values: Vec<f64> = good
                .iter()
                .filter_map(|other| {
                    let stage_there = other.cycle.stages.get(n)?;
                    (stage_there.name == stage.name).then(|| {
                        value_at(stage_there, kind, reading.measured.printed_symbol(), since)
                    })?
                })
                .collect();
            if values.len() < LEAST_COMPARED {
                continue;
            }
            let low = values.iter().copied().fold(f64::INFINITY, f64::min);
            let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            envelope
                .entry(kind)
                .or_default()
                .push((f64::from(reading.at.0), low, high));
            let row = outside.entry((n, kind)).or_insert_with(|| OutsideRow {
                n_stage: n.saturating_add(1),
                stage: stage.name.word().to_owned(),
                quantity: kind,
                n_outside: 0,
                n_readings: 0,
                place: Place {
                    file: reviewed
                        .lines
                        .file_name(known.cycle.opening.file)
                        .to_owned(),
                    line: reading.line,
                },
            });
            row.n_readings.add_one();
            let value = reading.measured.printed_number();
            if value < low || value > high {
                if row.n_outside == 0 {
                    row.place.line = reading.line;
                }
                row.n_outside.add_one();
            }
        }
    }
    let outside = outside
        .into_values()
        .filter(|row| row.n_outside > 0)
        .collect();
    (envelope, outside)
}

/// The value of a quantity so many seconds after a stage began; `None` outside its readings or in another unit.
fn value_at(
    stage: &crate::record::cycle::Stage,
    kind: QuantityKind,
    symbol: &str,
    since: f64,
) -> Option<f64> {
    let mut before: Option<(f64, f64)> = None;
    for reading in stage
        .readings
        .iter()
        .filter(|reading| reading.measured.kind() == kind)
    {
        if reading.measured.printed_symbol() != symbol {
            return None;
        }
        let at = f64::from(reading.at.0) - f64::from(stage.began.0);
        let value = reading.measured.printed_number();
        if at >= since {
            return match before {
                Some((earlier, there)) if at > earlier => {
                    Some(there + (value - there) * (since - earlier) / (at - earlier))
                }
                // A reading of a few seconds later stands for the first.
                _ => (at - since <= 30.0).then_some(value),
            };
        }
        before = Some((at, value));
    }
    before
        .filter(|(at, _)| since - at <= 30.0)
        .map(|(_, value)| value)
}

fn find_lots(
    cycles: &[(CycleIx, &KnownCycle)],
    loads: &[&Load],
    reviewed: &Reviewed<'_>,
) -> Vec<LotUses> {
    let mut lots: BTreeMap<(&'static str, String), LotUses> = BTreeMap::new();
    let mut note = |kind: &'static str, lot: &str, here: Place| {
        lots.entry((kind, lot.to_owned())).or_insert(LotUses {
            kind,
            lot: lot.to_owned(),
            here,
            n_fine: 0,
            against: Vec::new(),
        });
    };
    for (_, known) in cycles {
        for used in &known.cycle.consumables {
            if let Some(lot) = &used.lot.value.lot {
                note(
                    used.kind.word(),
                    lot.0.as_str(),
                    Place::of(&used.lot.span, reviewed.lines),
                );
            }
        }
    }
    for load in loads {
        for known in indicators(load, reviewed) {
            if let Some((kind, lot, _)) = indicator_lot(known) {
                note(kind, lot, Place::of(&known.entry.span, reviewed.lines));
            }
        }
    }
    let here: BTreeSet<usize> = cycles.iter().map(|(ix, _)| ix.0).collect();
    for (n, known) in reviewed.history.cycles.iter().enumerate() {
        if here.contains(&n) {
            continue;
        }
        for used in &known.cycle.consumables {
            let Some(lot) = &used.lot.value.lot else {
                continue;
            };
            if let Some(uses) = lots.get_mut(&(used.kind.word(), lot.0.clone())) {
                match outcome_word(known) {
                    "completed" | "passed" => uses.n_fine.add_one(),
                    word => uses.against.push((
                        cycle_name(&known.cycle),
                        word,
                        Place::of(&known.cycle.opening, reviewed.lines),
                    )),
                }
            }
        }
    }
    for load in &reviewed.history.loads {
        if loads.iter().any(|here| here.number == load.number) {
            continue;
        }
        for known in indicators(load, reviewed) {
            let Some((kind, lot, against)) = indicator_lot(known) else {
                continue;
            };
            if let Some(uses) = lots.get_mut(&(kind, lot.to_owned())) {
                match against {
                    None => uses.n_fine.add_one(),
                    Some(word) => uses.against.push((
                        load.number.0.clone(),
                        word,
                        Place::of(&known.entry.span, reviewed.lines),
                    )),
                }
            }
        }
    }
    lots.into_values().collect()
}

fn indicators<'a>(
    load: &'a Load,
    reviewed: &'a Reviewed<'_>,
) -> impl Iterator<Item = &'a KnownEntry> {
    load.cis
        .iter()
        .chain(&load.bis)
        .filter_map(|ix| reviewed.history.entries.get(ix.0))
}

/// The lot of an indicator, and what speaks against it, in a word.
fn indicator_lot(known: &KnownEntry) -> Option<(&'static str, &str, Option<&'static str>)> {
    use crate::record::entry::{BiGrowth, BiRole, CiEndpoint};
    match &known.entry.body {
        EntryBody::Ci(ci) => {
            let lot = ci.lot.as_ref()?.value.lot.as_ref()?;
            let against = match ci.endpoint.as_ref()?.value {
                CiEndpoint::Reached => None,
                CiEndpoint::NotReached => Some("not reached"),
                CiEndpoint::Unreadable => Some("unreadable"),
            };
            Some(("ci", lot.0.as_str(), against))
        }
        EntryBody::Bi(bi) => {
            let lot = bi.lot.as_ref()?.value.lot.as_ref()?;
            let is_control = bi.role.as_ref().map(|role| role.value) == Some(BiRole::Control);
            let against = match (is_control, bi.growth.as_ref()?.value) {
                (false, BiGrowth::Growth) => Some("growth"),
                (true, BiGrowth::NoGrowth) => Some("control no growth"),
                _ => None,
            };
            Some(("bi", lot.0.as_str(), against))
        }
        _ => None,
    }
}

/// What the unit did before a cycle: aborts, rejections, failed tests, alarms, service and new software.
fn list_before(known: &KnownCycle, reviewed: &Reviewed<'_>) -> Vec<Happening> {
    let (Some(unit), Some(began)) = (&known.cycle.unit, &known.began) else {
        return Vec::new();
    };
    let began = began.value.local;
    let of_unit = reviewed
        .history
        .cycles
        .iter()
        .filter(|other| other.cycle.unit.as_ref().map(|unit| &unit.value) == Some(&unit.value));
    let endings = of_unit.filter_map(|other| {
        let outcome = other.cycle.outcome.as_ref()?;
        let is_told = matches!(
            outcome.value,
            Outcome::Aborted { .. } | Outcome::Rejected { .. } | Outcome::Failed
        );
        is_told.then(|| Happening {
            at: other.began.as_ref().map(|began| began.value.local),
            what: What::Ended(outcome.value.clone()),
            cycle: Some(cycle_name(&other.cycle)),
            place: Place::of(&outcome.span, reviewed.lines),
        })
    });
    let moments = list_moments(reviewed, unit.value.as_str());
    let services = reviewed
        .history
        .units
        .iter()
        .filter(|other| other.name == unit.value)
        .flat_map(|unit| &unit.services)
        .filter_map(|ix| reviewed.history.entries.get(ix.0))
        .map(|entry| of_entry(entry, reviewed));
    let software = moments
        .into_iter()
        .filter_map(|moment| match (moment.what, moment.place) {
            (UnitMomentKind::Software(version), Some(place)) => Some(Happening {
                at: Some(moment.at),
                what: What::Software(version),
                cycle: None,
                place,
            }),
            _ => None,
        });
    let mut all: Vec<Happening> = endings
        .chain(services)
        .chain(software)
        .filter(|happening| happening.at.is_some_and(|at| at < began))
        .collect();
    all.sort_by_key(|happening| std::cmp::Reverse(happening.at));
    all.truncate(N_EVENTS);
    all
}
