//! Clocks: how far each unit's clock is from the clock by which people write the log.
//!
//! Knows finished loads. People write before and after the fact, so one load tells little; the median over a unit's
//! loads tells the clock. There are two things to compare: the log's entry of a load with the start of its cycle, and its first
//! chemical indicator with the end. Both hold the clock's offset and a habit of people's; for each unit the one with the
//! smaller median is taken for all loads, since the other holds more of the habit. Read [`judge_clocks`] first.

use super::Site;
use super::chronology::same_unit;
use super::history::{ClockOffset, ClockStep, CycleIx, KnownCycle, KnownEntry, Load, LoadIx};
use crate::diagnose::codes::Code;
use crate::diagnose::{Diagnostic, Span};
use crate::record::entry::EntryBody;
use crate::record::name::UnitName;
use chrono::{NaiveDate, Offset, TimeDelta, TimeZone};
use chrono_tz::Tz;
use std::collections::{BTreeMap, BTreeSet};

/// What people's habits explain: entries are made within a quarter of an hour of what they tell. Common practice, no
/// source.
pub const HABIT_SECONDS: f64 = 15.0 * 60.0;

/// The fewest loads from which a conflict is concluded. Common practice, no source.
pub const N_LOADS_FOR_CONFLICT: usize = 5;

/// A median within this many deviations is people's doing and not the clock's: who writes up a whole shift at its end is
/// hours late, and each time by another number of hours.
const DEVIATIONS: f64 = 3.0;

/// The hour by which clocks change with summer time, in seconds.
const HOUR: f64 = 3_600.0;

/// The fewest loads in a row from which a missed clock change is concluded. Common practice, no source.
const N_LOADS_FOR_STEP: usize = 3;

/// The fewest loads, and the fewest days from the first to the last, from which a drift is estimated. Common practice,
/// no source.
const N_LOADS_FOR_DRIFT: usize = 15;
const N_DAYS_FOR_DRIFT: f64 = 14.0;

/// A clock that moved by less than this against the log's is not said to drift. Common practice, no source.
const DRIFT_SECONDS: f64 = 10.0 * 60.0;

/// A load's comparison.
#[derive(Debug, Clone, Copy)]
struct Compared {
    load: LoadIx,
    cycle: CycleIx,
    /// When the cycle began, in days.
    day: f64,
    /// Time in the log − time on the unit, in seconds.
    seconds: f64,
}

/// What is known of a unit's clock.
#[derive(Debug, Default)]
pub(super) struct Judged {
    /// How it stands overall.
    pub offset: Option<ClockOffset>,
    /// Where it was about an hour off.
    pub steps: Vec<ClockStep>,
}

/// Compares the clock of every unit with the log's.
pub(super) fn judge_clocks(
    loads: &[Load],
    cycles: &[KnownCycle],
    entries: &[KnownEntry],
    site: Site,
    diagnostics: &mut Vec<Diagnostic>,
) -> BTreeMap<UnitName, Judged> {
    let mut by_unit: BTreeMap<&UnitName, Series> = BTreeMap::new();
    for (nr, load) in loads.iter().enumerate() {
        if let Some((unit, both)) = compare(LoadIx(nr), load, cycles, entries) {
            let series = by_unit.entry(unit).or_default();
            series.at_start.extend(both.at_start);
            series.at_end.extend(both.at_end);
        }
    }
    let mut judged = BTreeMap::new();
    for (unit, series) in by_unit {
        let mut compared = series.pick();
        // Cycles are in order of unit and time.
        compared.sort_by_key(|one| (one.cycle, one.load));
        let runs = find_runs(&compared);
        let steps: Vec<ClockStep> = runs
            .iter()
            .filter_map(|run| step_of(&compared, run, cycles, site))
            .collect();
        let in_runs: BTreeSet<usize> = runs.into_iter().flatten().collect();
        let steady: Vec<Compared> = compared
            .iter()
            .enumerate()
            .filter(|(at, _)| !in_runs.contains(at))
            .map(|(_, one)| *one)
            .collect();
        let drift = find_drift(&steady);
        let offset = measure(&compared).map(|offset| ClockOffset {
            drift_seconds_per_day: drift.map(|drift| drift.seconds_per_day),
            ..offset
        });
        if let Some(drift) = &drift {
            diagnostics.extend(say_drift(unit, drift, &steady, cycles));
        }
        let spans: Vec<Option<Span>> = compared
            .iter()
            .map(|one| Some(cycles.get(one.cycle.0)?.cycle.started.as_ref()?.span))
            .collect();
        if let (Some(offset), true) = (&offset, steps.is_empty())
            && offset.conflict
            && let Some(Some(span)) = spans.first()
        {
            diagnostics.push(
                Diagnostic::at(
                    Code::ClocksDisagree,
                    *span,
                    format!(
                        "the clock of {unit} is about {} the log's: median of {} loads, spread {}",
                        said_offset(offset.median_seconds),
                        offset.n_loads,
                        said_seconds(offset.mad_seconds)
                    ),
                )
                .caption("the first of these loads")
                .help(format!(
                    "set the clock of {unit}, or find out what the log is written by"
                )),
            );
        }
        for step in &steps {
            diagnostics.extend(say_step(unit, step, loads, cycles));
        }
        judged.insert(unit.clone(), Judged { offset, steps });
    }
    judged
}

/// What a load gives to compare.
struct Both {
    at_start: Option<Compared>,
    at_end: Option<Compared>,
}

/// All comparisons of one unit.
#[derive(Default)]
struct Series {
    /// The log's entries of loads, with the starts of cycles.
    at_start: Vec<Compared>,
    /// The first chemical indicators, with the ends of cycles.
    at_end: Vec<Compared>,
}

impl Series {
    /// The comparisons whose median is nearer to none, of those that at least half as many loads have as the other.
    fn pick(self) -> Vec<Compared> {
        let size = |series: &[Compared]| {
            median(series.iter().map(|one| one.seconds)).map_or(f64::INFINITY, f64::abs)
        };
        let (n_start, n_end) = (self.at_start.len(), self.at_end.len());
        if n_start.saturating_mul(2) < n_end {
            self.at_end
        } else if n_end.saturating_mul(2) < n_start || size(&self.at_start) <= size(&self.at_end) {
            self.at_start
        } else {
            self.at_end
        }
    }
}

/// Compares the log's times of a load with its printouts'.
fn compare<'a>(
    load_ix: LoadIx,
    load: &Load,
    cycles: &'a [KnownCycle],
    entries: &[KnownEntry],
) -> Option<(&'a UnitName, Both)> {
    let timed = |ix: &CycleIx| {
        let known = cycles.get(ix.0)?;
        let printed = !known.clock_lost && known.cycle.started.is_some();
        Some((*ix, known, known.began.as_ref().filter(|_| printed)?))
    };
    let (first_ix, first, began) = load.cycles.iter().find_map(timed)?;
    let unit = &first.cycle.unit.as_ref()?.value;
    let start = load
        .starts
        .iter()
        .filter_map(|ix| entries.get(ix.0))
        .find(|known| {
            let unit_agrees = known
                .entry
                .unit
                .as_ref()
                .is_none_or(|written| same_unit(&written.value, unit));
            let counter_agrees = match (&known.entry.body, &first.cycle.counter) {
                (EntryBody::Load(start), Some(counter)) => start
                    .counter
                    .as_ref()
                    .is_none_or(|written| written.value == counter.value),
                _ => true,
            };
            unit_agrees && counter_agrees && known.written.is_some()
        });
    let at_start = start
        .and_then(|known| known.written)
        .map(|written| began.value.seconds_until(&written));
    let last_ended = load
        .cycles
        .iter()
        .rev()
        .filter_map(timed)
        .find_map(|(_, known, _)| known.ended);
    let first_ci = load.cis.iter().find_map(|ix| entries.get(ix.0)?.written);
    let at_end = match (last_ended, first_ci) {
        (Some(ended), Some(written)) => Some(ended.seconds_until(&written)),
        _ => None,
    };
    // Whole seconds are exact in f64.
    let compared = |seconds: i64| Compared {
        load: load_ix,
        cycle: first_ix,
        day: began.value.rough_seconds() as f64 / 86_400.0,
        seconds: seconds as f64,
    };
    let both = Both {
        at_start: at_start.map(compared),
        at_end: at_end.map(compared),
    };
    Some((unit, both))
}

/// Median of some numbers.
fn median(numbers: impl IntoIterator<Item = f64>) -> Option<f64> {
    let mut sorted: Vec<f64> = numbers.into_iter().collect();
    sorted.sort_by(f64::total_cmp);
    let upper = *sorted.get(sorted.len() / 2)?;
    if sorted.len() % 2 == 1 {
        return Some(upper);
    }
    let lower = *sorted.get((sorted.len() / 2).checked_sub(1)?)?;
    Some((lower + upper) / 2.0)
}

fn measure(compared: &[Compared]) -> Option<ClockOffset> {
    let median_seconds = median(compared.iter().map(|one| one.seconds))?;
    let mad_seconds = median(
        compared
            .iter()
            .map(|one| (one.seconds - median_seconds).abs()),
    )?;
    Some(ClockOffset {
        median_seconds,
        mad_seconds,
        n_loads: compared.len(),
        conflict: compared.len() >= N_LOADS_FOR_CONFLICT
            && median_seconds.abs() > HABIT_SECONDS
            && median_seconds.abs() > DEVIATIONS * mad_seconds,
        drift_seconds_per_day: None,
    })
}

/// Whether a comparison shows about an hour: 1 behind the log, −1 before it, 0 neither.
fn hour_off(seconds: f64) -> i8 {
    if (seconds - HOUR).abs() <= HABIT_SECONDS {
        1
    } else if (seconds + HOUR).abs() <= HABIT_SECONDS {
        -1
    } else {
        0
    }
}

/// How a clock moved against the log's.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Drift {
    seconds_per_day: f64,
    /// Medians over the first and the last third of the loads.
    first: f64,
    last: f64,
    /// Whether it is more than chance and habit explain.
    certain: bool,
}

/// The slope between the medians of the first and the last third of the loads: Tukey's resistant line without its
/// refinement (J. W. Tukey, Exploratory Data Analysis, 1977; from memory). A few late entries don't move it.
fn find_drift(compared: &[Compared]) -> Option<Drift> {
    let n_third = compared.len() / 3;
    let early = compared.get(..n_third)?;
    let late = compared.get(compared.len().saturating_sub(n_third)..)?;
    let n_days = compared.last()?.day - compared.first()?.day;
    if compared.len() < N_LOADS_FOR_DRIFT || n_days < N_DAYS_FOR_DRIFT {
        return None;
    }
    let seconds = |part: &[Compared]| median(part.iter().map(|one| one.seconds));
    let day = |part: &[Compared]| median(part.iter().map(|one| one.day));
    let (first, last) = (seconds(early)?, seconds(late)?);
    let apart = day(late)? - day(early)?;
    if apart <= 0.0 {
        return None;
    }
    let spread = |part: &[Compared], middle: f64| {
        median(part.iter().map(|one| (one.seconds - middle).abs()))
    };
    // The standard error of a median is 1.2533 σ/√n, and σ is 1.4826 MAD, both for a normal distribution; 1.2533 × 1.4826
    // is 1.858. Textbook values, from memory.
    let variance = |mad: f64| (1.858 * mad).powi(2) / n_third as f64;
    let error = (variance(spread(early, first)?) + variance(spread(late, last)?)).sqrt();
    let seconds_per_day = (last - first) / apart;
    Some(Drift {
        seconds_per_day,
        first,
        last,
        certain: (seconds_per_day * n_days).abs() > DRIFT_SECONDS
            && (last - first).abs() > 5.0 * error,
    })
}

fn say_drift(
    unit: &UnitName,
    drift: &Drift,
    compared: &[Compared],
    cycles: &[KnownCycle],
) -> Option<Diagnostic> {
    if !drift.certain {
        return None;
    }
    let started = |one: &Compared| cycles.get(one.cycle.0)?.cycle.started.as_ref();
    let (first, last) = (started(compared.first()?)?, started(compared.last()?)?);
    let diagnostic = Diagnostic::at(
        Code::ClocksDisagree,
        last.span,
        format!(
            "the clock of {unit} moves against the log's: about {} it in the first third of {} loads from {}, {} it in the last third up to {}; {:.0} s a day",
            said_offset(drift.first),
            compared.len(),
            first.value.local.format("%Y-%m-%d"),
            said_offset(drift.last),
            last.value.local.format("%Y-%m-%d"),
            drift.seconds_per_day.abs()
        ),
    )
    .caption("the last of these loads")
    .label(first.span, "the first of them")
    .help(format!("set the clock of {unit} and have it looked at; compare it again in a week"));
    Some(diagnostic)
}

/// Finds runs of loads that are about an hour off, while others of the unit are not. One load among them that is not,
/// because someone was late, does not end a run. Gives the places of the loads of each run.
fn find_runs(compared: &[Compared]) -> Vec<Vec<usize>> {
    if compared.iter().all(|one| one.seconds.abs() > HOUR / 2.0) {
        return Vec::new();
    }
    let mut runs = Vec::new();
    let mut run: Vec<usize> = Vec::new();
    let mut sign = 0i8;
    let mut finish = |run: &mut Vec<usize>| {
        let ended = std::mem::take(run);
        if ended.len() >= N_LOADS_FOR_STEP {
            runs.push(ended);
        }
    };
    for (at, one) in compared.iter().enumerate() {
        let off = hour_off(one.seconds);
        let n_since = run.last().map(|last| at.saturating_sub(*last));
        let goes_on = off == sign && n_since.is_some_and(|n| n <= 2);
        if off != 0 && goes_on {
            run.push(at);
        } else if off != 0 {
            finish(&mut run);
            sign = off;
            run.push(at);
        } else if n_since.is_some_and(|n| n >= 2) {
            finish(&mut run);
        }
    }
    finish(&mut run);
    runs
}

fn step_of(
    compared: &[Compared],
    run: &[usize],
    cycles: &[KnownCycle],
    site: Site,
) -> Option<ClockStep> {
    let first = compared.get(*run.first()?)?;
    let last = compared.get(*run.last()?)?;
    let known = cycles.get(first.cycle.0)?;
    let zone = known
        .cycle
        .zone
        .as_ref()
        .map(|zone| zone.value)
        .or(site.zone);
    let day = |one: &Compared| {
        let began = cycles.get(one.cycle.0)?.began.as_ref()?;
        Some(began.value.local.date())
    };
    let before = run
        .first()
        .and_then(|at| at.checked_sub(1))
        .and_then(|at| compared.get(at));
    let clock_change = match (zone, before.and_then(day), day(first)) {
        (Some(zone), Some(from), Some(to)) => find_clock_change(zone, from, to),
        _ => None,
    };
    Some(ClockStep {
        from: first.load,
        to: last.load,
        n_loads: run.len(),
        median_seconds: median(
            run.iter()
                .filter_map(|at| compared.get(*at))
                .map(|one| one.seconds),
        )?,
        clock_change,
    })
}

/// The last day between two, both included, on which the zone's clocks changed: from the noon before to its own noon.
fn find_clock_change(zone: Tz, from: NaiveDate, to: NaiveDate) -> Option<NaiveDate> {
    // A year at most is looked through.
    const N_DAYS: i64 = 366;
    let offset_at_noon = |day: NaiveDate| {
        let noon = zone.from_local_datetime(&day.and_hms_opt(12, 0, 0)?);
        Some(noon.earliest()?.offset().fix().local_minus_utc())
    };
    (0..=N_DAYS)
        .map_while(|n| to.checked_sub_signed(TimeDelta::days(n)))
        .take_while(|day| *day >= from)
        .find(|day| {
            let before = day.pred_opt().and_then(offset_at_noon);
            before.is_some() && before != offset_at_noon(*day)
        })
}

fn said_seconds(seconds: f64) -> String {
    let minutes = (seconds.abs() / 60.0).round();
    if minutes < 120.0 {
        format!("{minutes} min")
    } else if minutes < 48.0 * 60.0 {
        format!("{:.1} h", minutes / 60.0)
    } else {
        format!("{:.1} days", minutes / 1_440.0)
    }
}

fn said_offset(seconds: f64) -> String {
    let side = if seconds >= 0.0 { "behind" } else { "ahead of" };
    format!("{} {side}", said_seconds(seconds))
}

fn say_step(
    unit: &UnitName,
    step: &ClockStep,
    loads: &[Load],
    cycles: &[KnownCycle],
) -> Option<Diagnostic> {
    let from = loads.get(step.from.0)?;
    let to = loads.get(step.to.0)?;
    let started = |load: &Load| {
        load.cycles
            .iter()
            .find_map(|ix| cycles.get(ix.0)?.cycle.started.as_ref())
    };
    let began = started(from)?;
    let why = match step.clock_change {
        Some(day) => format!("; it did not follow the clock change of {day}"),
        None => String::new(),
    };
    let mut diagnostic = Diagnostic::at(
        Code::ClocksDisagree,
        began.span,
        format!(
            "the clock of {unit} was about {} the log's from load {} ({}) to load {}, {} loads{why}",
            said_offset(step.median_seconds),
            from.number,
            began.value.local.format("%Y-%m-%d"),
            to.number,
            step.n_loads
        ),
    )
    .caption("the first of them")
    .help(format!("check that the clock of {unit} is right now"));
    if let Some(last) = started(to) {
        diagnostic = diagnostic.label(last.span, "the last of them");
    }
    Some(diagnostic)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reconcile::case::{ci, cycle, local, london, start, with};
    use crate::reconcile::history::History;
    use crate::reconcile::join_history;
    use crate::record::entry::CiPosition;

    /// One load a day from a day on: (minutes the log's start entry is after the strip's start).
    fn days(first: &str, minutes: &[i64]) -> (History, Vec<Diagnostic>) {
        let mut cycles = Vec::new();
        let mut entries = Vec::new();
        for (n, late) in (0u32..).zip(minutes) {
            let begun = local(first) + TimeDelta::days(n.into());
            let written = begun + TimeDelta::minutes(*late);
            let number = format!("{}-{n}", begun.format("%m%d"));
            let text = |at: chrono::NaiveDateTime| at.format("%Y-%m-%d %H:%M:%S").to_string();
            cycles.push(
                cycle(20 * n + 1, "PL-1", n + 1, &text(begun))
                    .load(&number)
                    .done(),
            );
            entries.push(start(n + 1, &text(written), &number).done());
        }
        join_history(cycles, entries, london())
    }

    fn offset(history: &History) -> ClockOffset {
        history.units[0].clock.unwrap()
    }

    #[test]
    fn median_and_its_deviation_are_those_of_the_worked_example() {
        // 1, 1, 2, 2, 4, 6, 9: median 2, absolute deviations 1, 1, 0, 0, 2, 4, 7, their median 1. Wikipedia, "Median
        // absolute deviation", example. From memory.
        let compared: Vec<Compared> = [1.0, 1.0, 2.0, 2.0, 4.0, 6.0, 9.0]
            .into_iter()
            .map(|seconds| Compared {
                load: LoadIx(0),
                cycle: CycleIx(0),
                day: 0.0,
                seconds,
            })
            .collect();
        let offset = measure(&compared).unwrap();
        assert_eq!((offset.median_seconds, offset.mad_seconds), (2.0, 1.0));
        assert_eq!(median([1.0, 2.0, 4.0, 9.0]), Some(3.0));
        assert_eq!(median([]), None);
    }

    #[test]
    fn minutes_of_habit_are_no_conflict() {
        let (history, diagnostics) = days("2026-02-02 08:00", &[-6, -5, -7, 2, -14, -6]);
        assert_eq!(offset(&history).median_seconds, -360.0);
        assert!(!offset(&history).conflict);
        assert!(with(&diagnostics, Code::ClocksDisagree).is_empty());
    }

    #[test]
    fn twenty_minutes_over_five_loads_are_a_conflict() {
        let (history, diagnostics) = days("2026-02-02 08:00", &[20, 21, 19, 22, 18]);
        assert_eq!(offset(&history).median_seconds, 1_200.0);
        assert_eq!(offset(&history).mad_seconds, 60.0);
        assert!(offset(&history).conflict);
        let said = with(&diagnostics, Code::ClocksDisagree);
        assert_eq!(said.len(), 1);
        assert!(said[0].headline.contains("20 min behind"));
        // Four loads are too few.
        let (history, diagnostics) = days("2026-02-02 08:00", &[20, 21, 19, 22]);
        assert!(!offset(&history).conflict);
        assert!(with(&diagnostics, Code::ClocksDisagree).is_empty());
    }

    #[test]
    fn shift_written_up_at_its_end_is_no_conflict() {
        let (history, _) = days("2026-02-02 08:00", &[20, 90, 150, 240, 300, 30, 200]);
        assert!(!offset(&history).conflict);
    }

    // Clocks in London went forward on 29 March 2026. A unit left on winter time prints an hour less from then on.
    #[test]
    fn clock_left_on_winter_time_is_said_with_its_loads() {
        let (history, diagnostics) = days(
            "2026-03-25 08:00",
            &[-5, -6, -4, -5, 55, 54, 56, 5, 55, 54, -5, -6],
        );
        let unit = &history.units[0];
        assert_eq!(unit.clock_steps.len(), 1);
        let step = &unit.clock_steps[0];
        let number = |ix: LoadIx| history.loads[ix.0].number.as_str();
        assert_eq!(number(step.from), "0329-4");
        assert_eq!(number(step.to), "0403-9");
        assert_eq!(step.n_loads, 5);
        assert_eq!(
            step.clock_change,
            Some(NaiveDate::from_ymd_opt(2026, 3, 29).unwrap())
        );
        let said = with(&diagnostics, Code::ClocksDisagree);
        assert_eq!(said.len(), 1);
        assert!(said[0].headline.contains("clock change of 2026-03-29"));
    }

    /// IANA time zone database: both clocks change at two in the morning, local time.
    #[test]
    fn day_of_a_clock_change_is_the_local_one() {
        let day = |text: &str| local(&format!("{text} 00:00")).date();
        let change = |zone, from, to| find_clock_change(zone, day(from), day(to));
        assert_eq!(
            change(Tz::Australia__Lord_Howe, "2026-10-01", "2026-10-09"),
            Some(day("2026-10-04"))
        );
        assert_eq!(
            change(Tz::America__New_York, "2026-10-28", "2026-11-09"),
            Some(day("2026-11-01"))
        );
        assert_eq!(
            change(Tz::America__New_York, "2026-11-03", "2026-11-09"),
            None
        );
    }

    #[test]
    fn clock_that_follows_the_change_is_not_said() {
        let (history, diagnostics) = days("2026-03-25 08:00", &[-5; 12]);
        assert!(history.units[0].clock_steps.is_empty());
        assert!(with(&diagnostics, Code::ClocksDisagree).is_empty());
    }

    // A minute a day over 30 days: the unit is fast, so the log's times fall behind it. The medians of the first and last
    // ten days are 8.5 and 28.5 minutes.
    #[test]
    fn clock_that_gains_is_said_with_its_drift() {
        let gaining: Vec<i64> = (0..30).map(|n| -4 - n).collect();
        let (history, diagnostics) = days("2026-02-02 08:00", &gaining);
        assert_eq!(offset(&history).drift_seconds_per_day, Some(-60.0));
        let said = with(&diagnostics, Code::ClocksDisagree);
        assert_eq!(said.len(), 1);
        assert!(said[0].headline.contains("60 s a day"));
        assert!(said[0].headline.contains("9 min ahead of it"));
        assert!(said[0].headline.contains("29 min ahead of it"));
    }

    #[test]
    fn clock_with_scattered_habits_does_not_drift() {
        let scattered: Vec<i64> = (0..42).map(|n| [-8, 3, -2, 12, -5][n % 5]).collect();
        let (history, diagnostics) = days("2026-02-02 08:00", &scattered);
        assert_eq!(offset(&history).drift_seconds_per_day, Some(0.0));
        assert!(with(&diagnostics, Code::ClocksDisagree).is_empty());
        let (history, _) = days("2026-02-02 08:00", &[-5; 14]);
        assert_eq!(offset(&history).drift_seconds_per_day, None);
    }

    #[test]
    fn clock_an_hour_off_all_the_time_is_a_conflict_and_no_step() {
        let (history, diagnostics) = days("2026-02-02 08:00", &[55; 8]);
        assert!(history.units[0].clock_steps.is_empty());
        assert!(offset(&history).conflict);
        assert_eq!(with(&diagnostics, Code::ClocksDisagree).len(), 1);
    }

    #[test]
    fn indicators_tell_the_clock_where_starts_are_written_late() {
        let mut cycles = Vec::new();
        let mut entries = Vec::new();
        for n in 0..5u32 {
            let number = format!("A-{n}");
            let at = |time: &str| format!("2026-02-0{} {time}", n + 2);
            cycles.push(
                cycle(20 * n + 1, "PL-1", n + 1, &at("08:00"))
                    .ended(3_600)
                    .load(&number)
                    .done(),
            );
            entries.push(start(10 * n + 1, &at("12:00"), &number).done());
            entries.push(ci(10 * n + 2, &at("09:03"), &number, CiPosition::External).done());
        }
        let (history, _) = join_history(cycles, entries, london());
        assert_eq!(offset(&history).median_seconds, 180.0);
        assert_eq!(offset(&history).n_loads, 5);
        assert!(!offset(&history).conflict);
    }

    fn compared_at(day: f64, seconds: f64) -> Compared {
        Compared {
            load: LoadIx(0),
            cycle: CycleIx(0),
            day,
            seconds,
        }
    }

    fn series(seconds: &[f64]) -> Vec<Compared> {
        seconds.iter().map(|s| compared_at(0.0, *s)).collect()
    }

    #[test]
    fn quarter_of_an_hour_itself_is_habit_and_so_is_three_times_the_spread() {
        let conflict = |minutes: [f64; 5]| {
            let compared = series(&minutes.map(|minutes| 60.0 * minutes));
            measure(&compared).unwrap().conflict
        };
        assert!(!conflict([15.0; 5]));
        assert!(conflict([15.5; 5]));
        assert!(conflict([-15.5; 5]));
        // Median 21; its deviations are 7, 7, 0, 7, 7 and then 6, 6, 0, 6, 6: three times them is 21 and 18.
        assert!(!conflict([14.0, 14.0, 21.0, 28.0, 28.0]));
        assert!(conflict([15.0, 15.0, 21.0, 27.0, 27.0]));
    }

    #[test]
    fn about_an_hour_is_an_hour_and_a_quarter_at_most() {
        for (seconds, off) in [
            (3_600.0, 1),
            (4_500.0, 1),
            (4_501.0, 0),
            (2_700.0, 1),
            (2_699.0, 0),
            (0.0, 0),
            (-2_699.0, 0),
            (-2_700.0, -1),
            (-4_500.0, -1),
            (-4_501.0, 0),
        ] {
            assert_eq!(hour_off(seconds), off, "{seconds}");
        }
    }

    #[test]
    fn series_with_the_smaller_median_is_taken_unless_it_has_less_than_half_of_the_loads() {
        let picked = |(n_start, start): (usize, f64), (n_end, end): (usize, f64)| {
            let both = Series {
                at_start: series(&vec![start; n_start]),
                at_end: series(&vec![end; n_end]),
            };
            let picked = both.pick();
            if picked.first().is_some_and(|one| one.seconds == start) {
                "start"
            } else {
                "end"
            }
        };
        // As many: by size; the start where both are alike.
        assert_eq!(picked((3, 100.0), (3, -200.0)), "start");
        assert_eq!(picked((3, -200.0), (3, 100.0)), "end");
        assert_eq!(picked((3, 100.0), (3, -100.0)), "start");
        // Half as many is enough, less is not.
        assert_eq!(picked((2, 100.0), (4, 200.0)), "start");
        assert_eq!(picked((2, 100.0), (5, 200.0)), "end");
        assert_eq!(picked((4, 200.0), (2, 100.0)), "end");
        assert_eq!(picked((5, 200.0), (2, 100.0)), "start");
    }

    #[test]
    fn run_of_loads_an_hour_off_goes_on_over_one_late_entry() {
        let (o, h) = (300.0, 3_600.0);
        for (seconds, runs) in [
            (vec![o, h, h, h, o, o], vec![vec![1, 2, 3]]),
            (vec![o, h, h, o, h, o, o], vec![vec![1, 2, 4]]),
            (vec![o, h, h, o, o, h, h, h], vec![vec![5, 6, 7]]),
            (
                vec![o, h, h, h, -h, -h, -h, o],
                vec![vec![1, 2, 3], vec![4, 5, 6]],
            ),
            (vec![o, h, -h, h, h, h], vec![vec![3, 4, 5]]),
            (vec![o, h, h], vec![]),
            // Half an hour is not off; without it every load would be, and the whole clock.
            (vec![h, h, h, 1_800.0], vec![vec![0, 1, 2]]),
            (vec![h, h, h, 1_801.0], vec![]),
        ] {
            assert_eq!(find_runs(&series(&seconds)), runs, "{seconds:?}");
        }
    }

    /// Fifteen loads over two weeks, from the hundredth day on.
    fn two_weeks(seconds: impl Fn(f64) -> f64) -> Vec<Compared> {
        (0..15)
            .map(|n| compared_at(100.0 + f64::from(n), seconds(f64::from(n))))
            .collect()
    }

    #[test]
    fn drift_is_the_slope_between_the_thirds() {
        // By hand: of the first and last five the medians are −300 and 300 at the days 102 and 112, so 60 s a day and 840 s
        // in 14 days. Both deviations are 60, so the error is 1.858 · 60 · √(2/5) = 70.5, five times it 353.
        let drift = find_drift(&two_weeks(|n| 60.0 * n - 420.0)).unwrap();
        assert_eq!((drift.first, drift.last), (-300.0, 300.0));
        assert!((drift.seconds_per_day - 60.0).abs() < 1e-9);
        assert!(drift.certain);
        // The same slope under scatter: deviations of 150, so five times the error is 881, more than the 600 between.
        let scatter = |n: f64| [-150.0, -150.0, 0.0, 150.0, 150.0][n as usize % 5];
        let level = |n: f64| {
            if n < 5.0 {
                120.0
            } else if n < 10.0 {
                420.0
            } else {
                720.0
            }
        };
        let drift = find_drift(&two_weeks(|n| level(n) + scatter(n))).unwrap();
        assert_eq!((drift.first, drift.last), (120.0, 720.0));
        assert!(!drift.certain);
        // Deviations of 100: 1.858 · 100 · √(2/5) = 117.5, five times it 588, less than the 600.
        let drift = find_drift(&two_weeks(|n| level(n) + scatter(n) / 1.5)).unwrap();
        assert!(drift.certain);
    }

    #[test]
    fn drift_of_ten_minutes_itself_is_not_said() {
        // 16 loads over 15 days at 40 s a day are 600 s; at 41 s a day 615 s.
        let certain = |slope: f64| {
            let compared: Vec<Compared> = (0..16)
                .map(|n| compared_at(f64::from(n), slope * f64::from(n)))
                .collect();
            find_drift(&compared).unwrap().certain
        };
        assert!(!certain(40.0));
        assert!(certain(41.0));
        assert!(certain(-41.0));
    }

    #[test]
    fn drift_needs_fifteen_loads_and_a_fortnight() {
        let gaining = two_weeks(|n| 60.0 * n);
        assert!(find_drift(&gaining).is_some());
        assert!(find_drift(&gaining[1..]).is_none());
        // Fourteen loads, two days apart.
        let few: Vec<Compared> = (0..14)
            .map(|n| compared_at(100.0 + 2.0 * f64::from(n), 60.0 * f64::from(n)))
            .collect();
        assert!(find_drift(&few).is_none());
        // Fifteen loads in thirteen days.
        let short: Vec<Compared> = gaining
            .iter()
            .map(|one| compared_at(100.0 + (one.day - 100.0) * 13.0 / 14.0, one.seconds))
            .collect();
        assert!(find_drift(&short).is_none());
        assert!(find_drift(&[]).is_none());
    }

    #[test]
    fn offsets_are_said_in_minutes_hours_and_days() {
        for (minutes, said) in [
            (0.0, "0 min"),
            (1.5, "2 min"),
            (-15.0, "15 min"),
            (119.0, "119 min"),
            (120.0, "2.0 h"),
            (130.0, "2.2 h"),
            (2_879.0, "48.0 h"),
            (2_880.0, "2.0 days"),
            (43_200.0, "30.0 days"),
        ] {
            assert_eq!(said_seconds(60.0 * minutes), said);
        }
        assert_eq!(said_offset(0.0), "0 min behind");
        assert_eq!(said_offset(-60.0), "1 min ahead of");
    }

    #[test]
    fn entry_of_another_counter_does_not_tell_the_clock() {
        let cycles = vec![cycle(1, "PL-1", 10, "2026-02-02 08:00").load("A-1").done()];
        let entries = vec![
            start(1, "2026-02-02 07:00", "A-1").counter(99).done(),
            start(2, "2026-02-02 08:05", "A-1").counter(10).done(),
        ];
        let (history, _) = join_history(cycles, entries, london());
        assert_eq!(offset(&history).median_seconds, 300.0);
    }

    #[test]
    fn entry_for_another_unit_does_not_tell_the_clock() {
        let cycles = || vec![cycle(1, "PL-1", 10, "2026-02-02 08:00").load("A-1").done()];
        let entry = |unit| {
            let one = start(1, "2026-02-02 08:05", "A-1").unit(unit).counter(10);
            vec![one.done()]
        };
        let (history, _) = join_history(cycles(), entry("PL-1"), london());
        assert_eq!(offset(&history).median_seconds, 300.0);
        let (history, _) = join_history(cycles(), entry("ST-2"), london());
        assert_eq!(history.units[0].clock, None);
    }

    #[test]
    fn start_that_the_log_gave_is_not_held_against_the_log() {
        // The second cycle's clock was lost and the third strip has no start: when they began comes from the log.
        let cycles = vec![
            cycle(1, "PL-1", 100, "2026-03-12 07:00").load("A-1").done(),
            cycle(20, "PL-1", 101, "2000-01-01 00:03")
                .load("A-2")
                .done(),
            cycle(40, "PL-1", 102, "").load("A-3").done(),
            cycle(60, "PL-1", 103, "2026-03-12 15:00")
                .load("A-4")
                .done(),
        ];
        let entries = vec![
            start(1, "2026-03-12 07:05", "A-1").done(),
            start(2, "2026-03-12 09:05", "A-2").done(),
            start(3, "2026-03-12 11:05", "A-3").done(),
            start(4, "2026-03-12 15:05", "A-4").done(),
        ];
        let (history, _) = join_history(cycles, entries, london());
        let clock = offset(&history);
        assert_eq!((clock.n_loads, clock.median_seconds), (2, 300.0));
    }

    #[test]
    fn conflict_is_not_said_again_where_the_runs_of_an_hour_are() {
        // Nine loads of ten an hour off: the median is a conflict, but it is said as a run.
        let (history, diagnostics) = days(
            "2026-02-02 08:00",
            &[-5, 55, 55, 55, 55, 55, 55, 55, 55, 55],
        );
        assert!(offset(&history).conflict);
        assert_eq!(history.units[0].clock_steps.len(), 1);
        let said = with(&diagnostics, Code::ClocksDisagree);
        assert_eq!(said.len(), 1);
        assert_eq!(
            said[0].headline,
            "the clock of PL-1 was about 55 min behind the log's from load 0203-1 (2026-02-03) to load 0211-9, 9 loads"
        );
    }
}
