//! The tables that findings are counted from: one row a cycle, a stage, an indicator, a use of a set.
//!
//! A table holds what a history says in columns, so that counting is grouping ([`count_by`], [`rows_by`]); rows lead
//! back to cycles and entries by their index. Knows nothing of tests. Read [`Frame`] first.

use crate::diagnose::Span;
use crate::reconcile::history::{CycleIx, EntryIx, History, KnownCycle, Load, LoadIx};
use crate::record::consumable::{ConsumableKind, LotIdentity};
use crate::record::cycle::{Bound, Cycle, LimitValue, Outcome, Process, Purpose, StageName};
use crate::record::entry::{BiGrowth, BiRole, CiEndpoint, EntryBody};
use chrono::{Datelike, NaiveDate, NaiveDateTime, Timelike, Weekday};
use polars::prelude::{Column, DataFrame, PolarsError, PolarsResult};
use smallvec::{SmallVec, smallvec};
use std::collections::{BTreeMap, BTreeSet};

/// What stands where a record does not say.
pub const UNKNOWN: &str = "?";

/// The tables of a history.
#[derive(Debug)]
pub struct Frame {
    /// One row a cycle of any purpose, in the order of the history.
    pub cycles: Vec<CycleRow>,
    /// The same as a table: `unit`, `process`, `program`, `purpose`, `outcome`, `stage`, `cause`, `shift`, `operator`.
    pub cycle_table: DataFrame,
    /// One row a stage name of a cycle, its lengths summed.
    pub stages: Vec<StageRow>,
    /// The same as a table: `unit`, `process`, `program`, `purpose`, `stage`.
    pub stage_table: DataFrame,
    /// One row an indicator that has a result.
    pub indicators: Vec<IndicatorRow>,
    /// The same as a table: `sort`, `unit`, `program`, `lot`.
    pub indicator_table: DataFrame,
}

/// How a cycle ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Ending {
    /// Run to its end, or passed.
    Completed,
    /// Stopped during a stage, or failed.
    Aborted,
    /// The load was refused before exposure.
    Rejected,
    /// Not known: torn off, or no outcome.
    Unknown,
}

impl Ending {
    fn word(self) -> &'static str {
        match self {
            Ending::Completed => "completed",
            Ending::Aborted => "aborted",
            Ending::Rejected => "rejected",
            Ending::Unknown => UNKNOWN,
        }
    }
}

/// A cycle with what findings compare it by.
#[derive(Debug, Clone)]
pub struct CycleRow {
    /// The cycle.
    pub cycle: CycleIx,
    /// Its load.
    pub load: Option<LoadIx>,
    /// Where its printout opens.
    pub span: Span,
    /// Its name, `UNIT:COUNTER`.
    pub name: String,
    /// Its unit.
    pub unit: String,
    /// Its process.
    pub process: &'static str,
    /// Its program.
    pub program: String,
    /// What it was run for.
    pub purpose: Purpose,
    /// How it ended.
    pub ending: Ending,
    /// The stage in which it was stopped.
    pub stage: String,
    /// The cause that was printed.
    pub cause: String,
    /// When it began, on the local clock.
    pub began: Option<NaiveDateTime>,
    /// Whether it was the first of its unit that day.
    pub first_of_day: bool,
    /// Who started it.
    pub operator: String,
    /// The shift that it began on.
    pub shift: &'static str,
    /// The software of its unit.
    pub software: String,
    /// The sets in it, as the log names them.
    pub sets: BTreeSet<String>,
    /// Their families: the names without the number of the single set.
    pub families: BTreeSet<String>,
    /// Packagings in it.
    pub packagings: BTreeSet<String>,
    /// Lots of packaging in it.
    pub packaging_lots: BTreeSet<String>,
    /// The lot of sterilant that it used.
    pub sterilant_lot: Option<String>,
    /// Items in it, where the log counts them.
    pub n_items: Option<u32>,
}

impl CycleRow {
    /// The day it began.
    pub fn day(&self) -> Option<NaiveDate> {
        self.began.map(|began| began.date())
    }

    /// When it began, in days.
    pub fn days(&self) -> Option<f64> {
        self.began.map(days_of)
    }

    /// Whether it ran with a load, to its end or until it was stopped.
    pub fn ran_with_load(&self) -> bool {
        self.purpose == Purpose::Load && matches!(self.ending, Ending::Completed | Ending::Aborted)
    }
}

/// A moment in days since the beginning of the calendar, with its fraction.
pub fn days_of(at: NaiveDateTime) -> f64 {
    f64::from(at.num_days_from_ce()) + f64::from(at.num_seconds_from_midnight()) / 86_400.0
}

/// The day of a number of days since the beginning of the calendar.
pub fn day_of(days: f64) -> Option<NaiveDate> {
    // No calendar day is further away than that.
    if !(-1e6..=4e6).contains(&days) {
        return None;
    }
    NaiveDate::from_num_days_from_ce_opt(days.floor() as i32)
}

/// A stage of a cycle that ran to its end.
#[derive(Debug, Clone)]
pub struct StageRow {
    /// Its cycle's row.
    pub row: usize,
    /// Its name.
    pub name: StageName,
    /// Its line.
    pub span: Span,
    /// Its length in seconds; those of several stages of the name are summed.
    pub seconds: f64,
    /// Which of the cycle's stages it is, in order; nearly always one.
    pub stages: SmallVec<[usize; 1]>,
    /// The least length that is printed for it, in seconds.
    pub least_seconds: Option<f64>,
    /// The greatest length that is printed for it, in seconds.
    pub most_seconds: Option<f64>,
    /// Its pulses.
    pub n_pulses: Option<u32>,
    /// Whether it ran to its own end, as far as the printout tells: another stage follows, or the cycle was completed.
    pub ended_itself: bool,
}

/// An indicator with a result.
#[derive(Debug, Clone)]
pub struct IndicatorRow {
    /// Its entry.
    pub entry: EntryIx,
    /// Its load.
    pub load: LoadIx,
    /// Where it stands.
    pub span: Span,
    /// Its sort, such as `internal CI, plasma`: lots of one sort are compared with each other.
    pub sort: String,
    /// Its unit.
    pub unit: String,
    /// The program that its load ran.
    pub program: String,
    /// Its lot.
    pub lot: String,
    /// Whether it failed: an endpoint not reached or not readable, a test that grew, a control that did not.
    pub failed: bool,
    /// What it showed, in words.
    pub shown: &'static str,
    /// When its load began, or it was written.
    pub at: Option<NaiveDateTime>,
    /// When a biological indicator was put to incubation.
    pub incubated: Option<NaiveDateTime>,
    /// When a biological indicator was read.
    pub read: Option<NaiveDateTime>,
    /// Whether it is biological, and its role.
    pub role: Option<BiRole>,
    /// The place that the log is kept at.
    pub place: String,
}

/// Makes the tables.
///
/// # Errors
/// None that records can cause; those of the table library are passed on.
pub fn make_frame(history: &History) -> PolarsResult<Frame> {
    let cycles: Vec<CycleRow> = history
        .cycles
        .iter()
        .enumerate()
        .map(|(ix, known)| cycle_row(history, CycleIx(ix), known))
        .collect();
    let stages: Vec<StageRow> = history
        .cycles
        .iter()
        .enumerate()
        .flat_map(|(row, known)| stage_rows(row, &known.cycle))
        .collect();
    let indicators = indicator_rows(history, &cycles);
    let text = |name: &'static str, values: Vec<&str>| Column::new(name.into(), values);
    let of_cycles = |name, get: fn(&CycleRow) -> &str| text(name, cycles.iter().map(get).collect());
    let cycle_table = DataFrame::new_infer_height(vec![
        of_cycles("unit", |row| &row.unit),
        of_cycles("process", |row| row.process),
        of_cycles("program", |row| &row.program),
        of_cycles("purpose", |row| row.purpose.word()),
        of_cycles("outcome", |row| row.ending.word()),
        of_cycles("stage", |row| &row.stage),
        of_cycles("cause", |row| &row.cause),
        of_cycles("shift", |row| row.shift),
        of_cycles("operator", |row| &row.operator),
    ])?;
    let of_stages = |name, get: fn(&CycleRow) -> &str| {
        let rows = stages.iter().filter_map(|stage| cycles.get(stage.row));
        text(name, rows.map(get).collect())
    };
    let stage_table = DataFrame::new_infer_height(vec![
        of_stages("unit", |row| &row.unit),
        of_stages("process", |row| row.process),
        of_stages("program", |row| &row.program),
        of_stages("purpose", |row| row.purpose.word()),
        text(
            "stage",
            stages.iter().map(|stage| stage.name.word()).collect(),
        ),
    ])?;
    let of_indicators =
        |name, get: fn(&IndicatorRow) -> &str| text(name, indicators.iter().map(get).collect());
    let indicator_table = DataFrame::new_infer_height(vec![
        of_indicators("sort", |row| &row.sort),
        of_indicators("unit", |row| &row.unit),
        of_indicators("program", |row| &row.program),
        of_indicators("lot", |row| &row.lot),
    ])?;
    Ok(Frame {
        cycles,
        cycle_table,
        stages,
        stage_table,
        indicators,
        indicator_table,
    })
}

/// The rows of a table by some of its columns: each key with its rows in order, sorted by key.
///
/// # Errors
/// A column that the table does not have.
pub fn rows_by(
    table: &DataFrame,
    columns: &[&str],
) -> PolarsResult<Vec<(Vec<String>, Vec<usize>)>> {
    if table.height() == 0 {
        return Ok(Vec::new());
    }
    let groups = table.group_by(columns.iter().copied())?;
    let mut keyed = BTreeMap::new();
    let keys = groups.keys();
    let keys: Vec<_> = keys
        .iter()
        .map(|key| key.str().cloned())
        .collect::<Result<_, PolarsError>>()?;
    for (at, group) in groups.get_groups().iter().enumerate() {
        let key: Vec<String> = keys
            .iter()
            .map(|column| column.get(at).unwrap_or(UNKNOWN).to_owned())
            .collect();
        let mut rows: Vec<usize> = match group {
            polars::prelude::GroupsIndicator::Idx((_, rows)) => {
                rows.iter().map(|row| *row as usize).collect()
            }
            polars::prelude::GroupsIndicator::Slice([first, n]) => {
                (first as usize..(first as usize).saturating_add(n as usize)).collect()
            }
        };
        rows.sort_unstable();
        keyed.insert(key, rows);
    }
    Ok(keyed.into_iter().collect())
}

fn cycle_row(history: &History, cycle: CycleIx, known: &KnownCycle) -> CycleRow {
    let printed = &known.cycle;
    let load = known.load.and_then(|ix| history.loads.get(ix.0));
    let began = known.began.as_ref().map(|began| began.value.local);
    let (ending, stage, cause) = ending_of(printed);
    let mut row = CycleRow {
        cycle,
        load: known.load,
        span: printed.opening,
        name: cycle_name(printed),
        unit: text_or_unknown(printed.unit.as_ref().map(|unit| unit.value.as_str())),
        process: process_of(history, known).map_or(UNKNOWN, Process::word),
        program: text_or_unknown(
            printed
                .program
                .as_ref()
                .map(|program| program.value.as_str()),
        ),
        purpose: printed.purpose,
        ending,
        stage,
        cause,
        began,
        first_of_day: known.first_of_day,
        operator: text_or_unknown(printed.operator.as_ref().map(|mark| mark.value.as_str())),
        shift: began.map_or(UNKNOWN, shift_of),
        software: text_or_unknown(
            printed
                .software
                .as_ref()
                .map(|version| version.value.as_str()),
        ),
        sets: BTreeSet::new(),
        families: BTreeSet::new(),
        packagings: BTreeSet::new(),
        packaging_lots: BTreeSet::new(),
        sterilant_lot: printed
            .consumables
            .iter()
            .find(|used| used.kind == ConsumableKind::Sterilant)
            .and_then(|used| lot_name(&used.lot.value)),
        n_items: None,
    };
    for known in load
        .into_iter()
        .flat_map(|load| &load.contents)
        .filter_map(|ix| history.entries.get(ix.0))
    {
        let EntryBody::Content(content) = &known.entry.body else {
            continue;
        };
        if let Some(set) = &content.set {
            row.families.insert(family_of(&set.value).to_owned());
            row.sets.insert(set.value.clone());
        }
        if let Some(packaging) = &content.packaging {
            row.packagings.insert(packaging.value.clone());
        }
        if let Some(lot) = &content.packaging_lot {
            row.packaging_lots.extend(lot_name(&lot.value));
        }
        if let Some(n_items) = &content.n_items {
            row.n_items = Some(row.n_items.unwrap_or(0).saturating_add(n_items.value));
        }
    }
    row
}

fn text_or_unknown(text: Option<&str>) -> String {
    text.filter(|text| !text.is_empty())
        .unwrap_or(UNKNOWN)
        .to_owned()
}

/// A cycle's name: `PL-1:1042`, with `?` for what its printout does not say.
fn cycle_name(cycle: &Cycle) -> String {
    let unit = cycle
        .unit
        .as_ref()
        .map_or(UNKNOWN, |unit| unit.value.as_str());
    match &cycle.counter {
        Some(counter) => format!("{unit}:{}", counter.value),
        None => format!("{unit}:{UNKNOWN}"),
    }
}

/// The name of a lot, if it has one.
pub fn lot_name(lot: &LotIdentity) -> Option<String> {
    lot.lot.as_ref().map(|lot| lot.0.clone())
}

fn process_of(history: &History, known: &KnownCycle) -> Option<Process> {
    let printed = known.cycle.process.as_ref().map(|process| process.value);
    printed.or_else(|| {
        let name = &known.cycle.unit.as_ref()?.value;
        let unit = history.units.iter().find(|unit| unit.name == *name)?;
        unit.process
    })
}

fn ending_of(cycle: &Cycle) -> (Ending, String, String) {
    let word = |text: Option<&str>| text_or_unknown(text);
    let none = (String::new(), String::new());
    let (ending, (stage, cause)) = match cycle.outcome.as_ref().map(|outcome| &outcome.value) {
        Some(Outcome::Completed | Outcome::Passed) => (Ending::Completed, none),
        Some(Outcome::Aborted { stage, cause }) => (
            Ending::Aborted,
            (
                word(stage.as_ref().map(StageName::word)),
                word(cause.as_ref().map(|cause| cause.word())),
            ),
        ),
        Some(Outcome::Failed) => (Ending::Aborted, (word(None), word(None))),
        Some(Outcome::Rejected { cause }) => (
            Ending::Rejected,
            (
                String::new(),
                word(cause.as_ref().map(|cause| cause.word())),
            ),
        ),
        None => (Ending::Unknown, none),
    };
    (ending, stage, cause)
}

/// The shift that a time falls into: the day from six to two, from two to ten, and the night; at weekends there is one
/// (common practice, no source; departments differ by an hour or so).
pub fn shift_of(at: NaiveDateTime) -> &'static str {
    let weekend = is_weekend(at.date());
    match at.hour() {
        _ if weekend => "weekend",
        6..14 => "early",
        14..22 => "late",
        _ => "night",
    }
}

/// Whether a day is a Saturday or a Sunday.
pub fn is_weekend(date: NaiveDate) -> bool {
    matches!(date.weekday(), Weekday::Sat | Weekday::Sun)
}

/// The family of a set: its name without the number of the single set. A name that is a number is its own family.
pub fn family_of(set: &str) -> &str {
    let family = set.trim_end_matches(|c: char| c.is_ascii_digit() || matches!(c, ' ' | '#' | '-'));
    if family.is_empty() { set } else { family }
}

fn stage_rows(row: usize, cycle: &Cycle) -> Vec<StageRow> {
    let stopped_in = match cycle.outcome.as_ref().map(|outcome| &outcome.value) {
        Some(Outcome::Aborted { stage, .. }) => stage.as_ref(),
        _ => None,
    };
    let completed = matches!(
        cycle.outcome.as_ref().map(|outcome| &outcome.value),
        Some(Outcome::Completed | Outcome::Passed)
    );
    let mut rows: Vec<StageRow> = Vec::new();
    // By name, as a hostile cycle has a hundred thousand stages.
    let mut places: BTreeMap<&StageName, usize> = BTreeMap::new();
    for (ix, stage) in cycle.stages.iter().enumerate() {
        let n = ix.saturating_add(1);
        let next = match cycle.stages.get(n) {
            Some(next) => Some(next.began),
            None => cycle.ended.as_ref().map(|ended| ended.value),
        };
        let Some(seconds) = next
            .map(|next| next.since(stage.began))
            .filter(|seconds| *seconds >= 0)
        else {
            continue;
        };
        let has_next = cycle.stages.len() > n;
        let ended_itself =
            completed || (has_next && stopped_in != Some(&stage.name) && cycle.closed);
        let limit = |bound| {
            stage.limits.iter().find_map(|limit| match limit.value {
                LimitValue::Duration(length) if limit.bound == bound => Some(length.seconds()),
                _ => None,
            })
        };
        let place = *places.entry(&stage.name).or_insert(rows.len());
        match rows.get_mut(place) {
            Some(row) => {
                row.seconds += seconds as f64;
                row.stages.push(ix);
                row.ended_itself &= ended_itself;
                row.least_seconds = add(row.least_seconds, limit(Bound::Min));
                row.most_seconds = add(row.most_seconds, limit(Bound::Max));
            }
            None => rows.push(StageRow {
                row,
                name: stage.name.clone(),
                span: stage.span,
                seconds: seconds as f64,
                stages: smallvec![ix],
                least_seconds: limit(Bound::Min),
                most_seconds: limit(Bound::Max),
                n_pulses: stage.n_pulses,
                ended_itself,
            }),
        }
    }
    rows
}

fn add(a: Option<f64>, b: Option<f64>) -> Option<f64> {
    Some(a? + b?)
}

fn indicator_rows(history: &History, cycles: &[CycleRow]) -> Vec<IndicatorRow> {
    let mut rows = Vec::new();
    for (ix, load) in history.loads.iter().enumerate() {
        let cycle = load.cycles.last().and_then(|ix| cycles.get(ix.0));
        let process = cycle.map(|row| row.process).or_else(|| {
            let unit = history
                .units
                .iter()
                .find(|unit| Some(&unit.name) == load.unit.as_ref())?;
            unit.process.map(Process::word)
        });
        let started = cycle
            .and_then(|row| row.began)
            .or(load.first.map(|first| first.local));
        let program =
            cycle.map_or_else(|| program_in_log(history, load), |row| row.program.clone());
        for entry in load.cis.iter().chain(&load.bis) {
            let Some(known) = history.entries.get(entry.0) else {
                continue;
            };
            let Some((sort, lot, failed, shown)) = shown_by(&known.entry.body) else {
                continue;
            };
            let (incubated, read, role) = match &known.entry.body {
                EntryBody::Bi(bi) => (
                    bi.incubated.as_ref().map(|stamp| stamp.value.local),
                    bi.read.as_ref().map(|stamp| stamp.value.local),
                    Some(bi.role.as_ref().map_or(BiRole::Test, |role| role.value)),
                ),
                _ => (None, None, None),
            };
            rows.push(IndicatorRow {
                entry: *entry,
                load: LoadIx(ix),
                span: known.entry.span,
                sort: format!("{sort}, {}", process.unwrap_or(UNKNOWN)),
                unit: text_or_unknown(load.unit.as_ref().map(|unit| unit.as_str())),
                program: program.clone(),
                lot: text_or_unknown(lot.as_deref()),
                failed,
                shown,
                at: started.or(known.written.map(|written| written.local)),
                incubated,
                read,
                role,
                place: text_or_unknown(
                    known.entry.place.as_ref().map(|place| place.value.as_str()),
                ),
            });
        }
    }
    rows
}

fn program_in_log(history: &History, load: &Load) -> String {
    let program = load
        .starts
        .iter()
        .find_map(|ix| match &history.entries.get(ix.0)?.entry.body {
            EntryBody::Load(start) => start
                .program
                .as_ref()
                .map(|program| program.value.0.clone()),
            _ => None,
        });
    text_or_unknown(program.as_deref())
}

fn shown_by(body: &EntryBody) -> Option<(String, Option<String>, bool, &'static str)> {
    match body {
        EntryBody::Ci(ci) => {
            let endpoint = ci.endpoint.as_ref()?.value;
            let position = ci.position.as_ref().map_or(UNKNOWN, |at| at.value.word());
            let lot = ci.lot.as_ref().and_then(|lot| lot_name(&lot.value));
            let shown = match endpoint {
                CiEndpoint::Reached => "endpoint reached",
                CiEndpoint::NotReached => "endpoint not reached",
                CiEndpoint::Unreadable => "unreadable",
            };
            Some((
                format!("{position} CI"),
                lot,
                endpoint != CiEndpoint::Reached,
                shown,
            ))
        }
        EntryBody::Bi(bi) => {
            let growth = bi.growth.as_ref()?.value;
            let role = bi.role.as_ref().map_or(BiRole::Test, |role| role.value);
            let lot = bi.lot.as_ref().and_then(|lot| lot_name(&lot.value));
            let (failed, shown) = match (role, growth) {
                (BiRole::Test, BiGrowth::Growth) => (true, "growth"),
                (BiRole::Test, BiGrowth::NoGrowth) => (false, "no growth"),
                (BiRole::Control, BiGrowth::Growth) => (false, "control grew"),
                (BiRole::Control, BiGrowth::NoGrowth) => (true, "control without growth"),
            };
            Some((format!("BI {}", role.word()), lot, failed, shown))
        }
        _ => None,
    }
}
