//! How long cycles and their stages took, as series over time, with what happened to the unit meanwhile.
//!
//! A series is picked from the history, not judged: its control limits and changes are found by whoever knows
//! statistics and are handed in ([`ControlLimits`]). Read [`list_lengths`] first.

use super::naming::CycleRow;
use super::place::Place;
use super::review::Reviewed;
use super::scope::is_load_cycle;
use crate::reconcile::history::KnownCycle;
use crate::record::cycle::{LimitValue, Outcome, Stage};
use chrono::{NaiveDate, NaiveDateTime};
use serde::Serialize;
use std::collections::BTreeMap;

/// A series needs so many cycles before it is shown as one.
pub const LEAST_CYCLES: usize = 12;

/// Limits that a length stays within while nothing changes but chance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ControlLimits {
    /// The middle, in seconds.
    pub centre: f64,
    /// The lower limit, in seconds.
    pub lower: f64,
    /// The upper limit, in seconds.
    pub upper: f64,
}

/// A change of level.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LevelChange {
    /// The index of the first length after it.
    pub first_after: usize,
    /// The level before it, in seconds.
    pub before: f64,
    /// The level after it, in seconds.
    pub after: f64,
}

/// What was found of a series, as it is drawn: a trend or a jump.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FoundCourse {
    /// The number of the finding, counted from 1, and its id in the page.
    pub finding: usize,
    /// The day of a jump.
    pub jump: Option<NaiveDate>,
    /// The two ends of a trend: the day, and the value there in the unit of the series.
    pub trend: Option<[(NaiveDate, f64); 2]>,
    /// Where the trend meets the limit if it goes on.
    pub forecast: Option<MeetsLimit>,
}

/// When a trend meets a limit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MeetsLimit {
    /// The most likely day.
    pub day: NaiveDate,
    /// The earliest day of the interval.
    pub earliest: NaiveDate,
    /// The latest day of the interval, if it has one.
    pub latest: Option<NaiveDate>,
}

/// Something that happened to a unit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct UnitMoment {
    /// When.
    pub at: NaiveDateTime,
    /// What.
    pub what: UnitMomentKind,
    /// Where it stands.
    pub place: Option<Place>,
}

/// What happened to a unit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum UnitMomentKind {
    /// It was serviced.
    Service,
    /// Its printouts give another version of its software from here on.
    Software(String),
}

/// The length of one cycle or stage.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Length {
    /// When the cycle began.
    pub began: NaiveDateTime,
    /// The length in seconds.
    pub seconds: f64,
    /// The first cycle of its unit that day.
    pub first_of_day: bool,
    /// The cycle.
    pub cycle: CycleRow,
}

/// The lengths of the completed cycles of one unit and program, or of one of their stages.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LengthSeries {
    /// The unit.
    pub unit: String,
    /// The program.
    pub program: Option<String>,
    /// The stage, all of its runs within a cycle together; `None` for the whole cycle.
    pub stage: Option<String>,
    /// The lengths in order.
    pub lengths: Vec<Length>,
    /// The limit that the last printout gives for the stage, in seconds.
    pub limit: Option<f64>,
    /// Control limits, where they were found.
    pub control: Option<ControlLimits>,
    /// Changes of level, where they were found.
    pub changes: Vec<LevelChange>,
    /// What happened to the unit meanwhile.
    pub moments: Vec<UnitMoment>,
    /// What was found of it.
    pub found: Vec<FoundCourse>,
}

/// The length of one stage of a cycle, all of its runs together.
#[derive(Debug, Clone, PartialEq)]
pub struct StageLength {
    /// Where it first comes among the stages of the cycle, from 0.
    pub n: usize,
    /// Its name.
    pub stage: String,
    /// Its length in seconds.
    pub seconds: f64,
    /// The longest that was allowed, in seconds, if it ran once.
    pub limit: Option<f64>,
}

/// What a series is of: unit, program, and number and name of the stage.
type SeriesKey = (String, Option<String>, Option<(usize, String)>);

/// Which lengths are listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// Of whole cycles.
    Cycle,
    /// Of each stage.
    EachStage,
}

/// The series of every unit and program in scope, in the order of unit, program and stage.
pub fn list_lengths(reviewed: &Reviewed<'_>, measure: Measure) -> Vec<LengthSeries> {
    let mut found: BTreeMap<SeriesKey, LengthSeries> = BTreeMap::new();
    for known in &reviewed.history.cycles {
        let cycle = &known.cycle;
        let is_whole = cycle.closed
            && is_load_cycle(known)
            && reviewed.scope.has_cycle(known)
            && cycle.outcome.as_ref().map(|outcome| &outcome.value) == Some(&Outcome::Completed);
        let (true, Some(unit), Some(began)) = (is_whole, &cycle.unit, &known.began) else {
            continue;
        };
        let program = cycle
            .program
            .as_ref()
            .map(|program| program.value.0.clone());
        let parts: Vec<StageLength> = match measure {
            Measure::Cycle => known
                .seconds()
                .map(|seconds| StageLength {
                    n: 0,
                    stage: String::new(),
                    // Counts of seconds are far below 2^53.
                    seconds: seconds as f64,
                    limit: None,
                })
                .into_iter()
                .collect(),
            Measure::EachStage => stage_lengths(known),
        };
        for part in parts.into_iter().filter(|part| part.seconds >= 0.0) {
            let stage = (measure == Measure::EachStage).then_some((part.n, part.stage));
            let key = (unit.value.0.clone(), program.clone(), stage.clone());
            let series = found.entry(key).or_insert_with(|| LengthSeries {
                unit: unit.value.0.clone(),
                program: program.clone(),
                stage: stage.map(|(_, name)| name),
                lengths: Vec::new(),
                limit: None,
                control: None,
                changes: Vec::new(),
                moments: list_moments(reviewed, unit.value.as_str()),
                found: Vec::new(),
            });
            series.limit = part.limit.or(series.limit);
            series.lengths.push(Length {
                began: began.value.local,
                seconds: part.seconds,
                first_of_day: known.first_of_day,
                cycle: CycleRow::of(known, reviewed.lines),
            });
        }
    }
    found
        .into_values()
        .filter(|series| series.lengths.len() >= LEAST_CYCLES)
        .collect()
}

/// The length of each stage of a cycle by name, all runs of it together, with the limit that it had; in the order in
/// which the stages first come.
pub fn stage_lengths(known: &KnownCycle) -> Vec<StageLength> {
    let cycle = &known.cycle;
    let mut lengths: Vec<StageLength> = Vec::new();
    let ends = cycle
        .stages
        .iter()
        .skip(1)
        .map(|stage| stage.began)
        .chain(cycle.ended.as_ref().map(|ended| ended.value));
    for (stage, end) in cycle.stages.iter().zip(ends) {
        let seconds = f64::from(end.0) - f64::from(stage.began.0);
        let name = stage.name.word();
        match lengths.iter_mut().find(|known| known.stage == name) {
            Some(known) => {
                known.seconds += seconds;
                // Runs have limits of their own, which don't bind their sum.
                known.limit = None;
            }
            None => lengths.push(StageLength {
                n: lengths.len(),
                stage: name.to_owned(),
                seconds,
                limit: longest_allowed(stage),
            }),
        }
    }
    lengths
}

fn longest_allowed(stage: &Stage) -> Option<f64> {
    stage.limits.iter().find_map(|limit| match &limit.value {
        LimitValue::Duration(duration) if limit.bound == crate::record::cycle::Bound::Max => {
            Some(duration.seconds())
        }
        _ => None,
    })
}

/// Service entries and changes of software of a unit, in order of time.
pub fn list_moments(reviewed: &Reviewed<'_>, unit: &str) -> Vec<UnitMoment> {
    let history = reviewed.history;
    let Some(known) = history
        .units
        .iter()
        .find(|known| known.name.as_str() == unit)
    else {
        return Vec::new();
    };
    let services = known
        .services
        .iter()
        .filter_map(|ix| history.entries.get(ix.0))
        .filter_map(|entry| {
            Some(UnitMoment {
                at: entry.written?.local,
                what: UnitMomentKind::Service,
                place: Some(Place::of(&entry.entry.span, reviewed.lines)),
            })
        });
    // The first version that is seen is no change.
    let software = known
        .software
        .iter()
        .skip(1)
        .filter_map(|(version, since)| {
            Some(UnitMoment {
                at: since.as_ref()?.local,
                what: UnitMomentKind::Software(version.clone()),
                place: None,
            })
        });
    let mut moments: Vec<UnitMoment> = services
        .chain(software)
        .filter(|moment| reviewed.scope.has_day(Some(moment.at.date())))
        .collect();
    moments.sort_by_key(|moment| moment.at);
    moments
}

impl LengthSeries {
    /// The middle length, in seconds: of an even number the mean of the two in the middle.
    pub fn median(&self) -> f64 {
        median(self.lengths.iter().map(|length| length.seconds)).unwrap_or(0.0)
    }

    /// Whether every length is the same to the second.
    pub fn is_constant(&self) -> bool {
        let first = self.lengths.first().map(|length| length.seconds);
        self.lengths
            .iter()
            .all(|length| Some(length.seconds) == first)
    }
}

/// The middle of some numbers; of an even number of them the mean of the two in the middle.
pub fn median(numbers: impl IntoIterator<Item = f64>) -> Option<f64> {
    let mut sorted: Vec<f64> = numbers.into_iter().collect();
    sorted.sort_by(f64::total_cmp);
    let middle = sorted.len() / 2;
    let upper = sorted.get(middle).copied()?;
    if sorted.len() % 2 == 1 {
        return Some(upper);
    }
    let lower = sorted.get(middle.checked_sub(1)?).copied()?;
    Some((lower + upper) / 2.0)
}

#[cfg(test)]
mod tests {
    use super::median;

    /// The definition: of an even number of values the mean of the two middle ones (ISO 3534-1:2006, 2.13, from memory).
    #[test]
    fn median_of_even_and_odd_numbers() {
        assert_eq!(median([3.0, 1.0, 2.0]), Some(2.0));
        assert_eq!(median([4.0, 1.0, 3.0, 2.0]), Some(2.5));
        assert_eq!(median([]), None);
    }
}
