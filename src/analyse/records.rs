//! Record-keeping: shifts without signatures, biological indicators read late, printouts missing from a unit.
//!
//! Read [`find_record_trouble`] first.

use super::Asking;
use super::catalogue::FindingKind;
use super::finding::{Evidence, Finding, Subject};
use super::frame::{CycleRow, Ending, Frame, IndicatorRow, UNKNOWN, is_weekend};
use super::phrase::{Arg, Phrase, number, term};
use super::question::Question;
use super::series::median;
use super::strata::{Counts, Exposure, Strata};
use super::words::times_as_often;
use crate::measure::count::Counting;
use crate::reconcile::history::{History, Lack};
use crate::record::cycle::Purpose;
use crate::record::entry::BiRole;
use chrono::{NaiveDate, NaiveDateTime, TimeDelta};
use std::collections::BTreeMap;

/// The fewest unsigned loads of a shift that are a finding.
const FEWEST_UNSIGNED: u32 = 3;
/// The fewest missing printouts of a unit that are a finding.
const FEWEST_MISSING: u32 = 3;
/// So many hours after the usual time a reading is late.
const LATE_HOURS: f64 = 6.0;

/// Asks all questions about records.
pub fn find_record_trouble(history: &History, frame: &Frame, asking: &mut Asking) {
    ask_unsigned(history, frame, asking);
    ask_late(frame, asking);
    ask_missing(history, frame, asking);
}

fn place_of<'h>(history: &'h History, row: &CycleRow) -> &'h str {
    history
        .cycles
        .get(row.cycle.0)
        .and_then(|known| known.cycle.place.as_ref())
        .map_or(UNKNOWN, |place| place.value.as_str())
}

fn ask_unsigned(history: &History, frame: &Frame, asking: &mut Asking) {
    type Shift<'h> = (&'h str, NaiveDate, &'static str);
    let mut shifts: BTreeMap<Shift<'_>, Vec<(&CycleRow, bool)>> = BTreeMap::new();
    for row in &frame.cycles {
        if row.purpose != Purpose::Load || row.ending != Ending::Completed {
            continue;
        }
        let (Some(day), Some(load)) = (row.day(), row.load.and_then(|ix| history.loads.get(ix.0)))
        else {
            continue;
        };
        let unsigned = load.lacking.contains(&Lack::NotSigned);
        shifts
            .entry((place_of(history, row), day, row.shift))
            .or_default()
            .push((row, unsigned));
    }
    let n_all: u32 = shifts.values().map(|loads| loads.len() as u32).sum();
    let n_unsigned: u32 = shifts
        .values()
        .flatten()
        .map(|(_, unsigned)| u32::from(*unsigned))
        .sum();
    let mut question = Question::of(FindingKind::UnsignedShift);
    for ((place, day, shift), loads) in &shifts {
        let own = loads.iter().filter(|(_, unsigned)| *unsigned).count() as u32;
        let counts = Counts::among((own, loads.len() as u32), (n_unsigned, n_all));
        // The likelihood of a shift costs as many steps as it has loads; with fewer unsigned there is nothing to say.
        let likelihood = if own >= FEWEST_UNSIGNED {
            Strata::from_iter([((), counts)]).likelihood()
        } else {
            None
        };
        let p = likelihood
            .as_ref()
            .map_or(1.0, |likelihood| likelihood.p_more());
        question.compare(p, || {
            let said = Phrase::of("unsigned-shift-said")
                .and("own", Arg::Share(own, counts.exposed))
                .and("shift", term("shift", shift))
                .and("day", *day)
                .and("place", *place)
                .and("others", Arg::Share(counts.other_failures, counts.others));
            let named = Phrase::of("unsigned-shift-named");
            let named = named.and("shift", term("shift", shift)).and("day", *day);
            let subject = Subject {
                factor: Some(named),
                ..Subject::default()
            };
            let mut finding = Finding::new(FindingKind::UnsignedShift, subject, said);
            finding.effect = likelihood.as_ref().map(|likelihood| {
                times_as_often(counts, likelihood, Phrase::of("among-other-shifts"))
            });
            finding
                .else_explains
                .push(Phrase::of("unsigned-shift-else"));
            let evidence = loads
                .iter()
                .filter(|(_, unsigned)| *unsigned)
                .map(|(row, _)| Evidence {
                    day: row.day(),
                    said: Phrase::of("evidence-not-signed").and("record", &row.name),
                    span: row.span,
                })
                .collect();
            finding.resting_on(evidence)
        });
    }
    asking.take(FindingKind::UnsignedShift, question.answer());
}

fn ask_late(frame: &Frame, asking: &mut Asking) {
    let mut read: Vec<(&IndicatorRow, NaiveDateTime, f64)> = frame
        .indicators
        .iter()
        .filter(|row| row.role == Some(BiRole::Test))
        .filter_map(|row| {
            let (incubated, read) = (row.incubated?, row.read?);
            let hours = read.signed_duration_since(incubated).num_minutes() as f64 / 60.0;
            (hours >= 0.0).then_some((row, incubated, hours))
        })
        .collect();
    read.sort_by_key(|(row, incubated, _)| (*incubated, row.span));
    let usual = median(read.iter().map(|(_, _, hours)| *hours).collect());
    let is_late = |hours: f64| hours > usual + LATE_HOURS;
    let due_at_weekend = |incubated: NaiveDateTime| {
        let due = incubated.checked_add_signed(TimeDelta::minutes((usual * 60.0) as i64));
        due.is_some_and(|due| is_weekend(due.date()))
    };
    let mut strata = Strata::new();
    for (row, incubated, hours) in &read {
        strata.count(
            row.place.as_str(),
            Exposure::of(due_at_weekend(*incubated)),
            is_late(*hours),
        );
    }
    let mut question = Question::of(FindingKind::BiReadLate);
    let total = strata.total();
    let likelihood = strata.likelihood();
    if total.exposed > 0 {
        let p = likelihood
            .as_ref()
            .map_or(1.0, |likelihood| likelihood.p_more());
        question.compare(p, || {
            let said = Phrase::of("bi-read-late-said")
                .and("hours", number((usual + LATE_HOURS).round(), 0))
                .and("own", Arg::Share(total.exposed_failures, total.exposed))
                .and("others", Arg::Share(total.other_failures, total.others));
            let subject = Subject {
                factor: Some(Phrase::of("bi-read-late-named")),
                ..Subject::default()
            };
            let mut finding = Finding::new(FindingKind::BiReadLate, subject, said);
            finding.effect = likelihood
                .as_ref()
                .map(|likelihood| times_as_often(total, likelihood, Phrase::of("among-weekdays")));
            for (place, counts) in strata.by_key() {
                finding.also.push(
                    Phrase::of("bi-read-late-place")
                        .and("place", *place)
                        .and("own", Arg::Share(counts.exposed_failures, counts.exposed))
                        .and("others", Arg::Share(counts.other_failures, counts.others)),
                );
            }
            finding.else_explains.push(Phrase::of("bi-read-late-else"));
            let evidence = read
                .iter()
                .filter(|(_, incubated, hours)| due_at_weekend(*incubated) && is_late(*hours))
                .map(|(row, incubated, hours)| Evidence {
                    day: Some(incubated.date()),
                    said: Phrase::of("evidence-read-after")
                        .and("record", &row.unit)
                        .and("hours", number(*hours, 0)),
                    span: row.span,
                })
                .collect();
            finding.resting_on(evidence)
        });
    }
    asking.take(FindingKind::BiReadLate, question.answer());
}

fn ask_missing(history: &History, frame: &Frame, asking: &mut Asking) {
    let mut printed: BTreeMap<&str, u32> = BTreeMap::new();
    for row in frame.cycles.iter().filter(|row| row.unit != UNKNOWN) {
        printed.entry(&row.unit).or_default().add_one();
    }
    let mut missing: BTreeMap<&str, u32> = BTreeMap::new();
    for run in &history.missing {
        missing
            .entry(run.unit.as_str())
            .or_default()
            .add_many(run.n_missing());
    }
    let n_printed: u32 = printed.values().sum();
    // Counters of nine digits leave more out than fits, if a site is made of such strips.
    let n_missing = missing
        .values()
        .fold(0_u32, |sum, n| sum.saturating_add(*n));
    let mut question = Question::of(FindingKind::PrintoutsMissing);
    for (unit, n) in &printed {
        let own = missing.get(unit).copied().unwrap_or(0);
        let other_failures = n_missing.saturating_sub(own);
        let counts = Counts {
            exposed_failures: own,
            exposed: n.saturating_add(own),
            other_failures,
            others: n_printed.saturating_sub(*n).saturating_add(other_failures),
        };
        let likelihood = Strata::from_iter([((), counts)]).likelihood();
        let p = match &likelihood {
            Some(likelihood) if own >= FEWEST_MISSING => likelihood.p_more(),
            _ => 1.0,
        };
        question.compare(p, || {
            let said = Phrase::of("printouts-missing-said")
                .and("unit", *unit)
                .and("own", Arg::Share(own, counts.exposed))
                .and("others", Arg::Share(counts.other_failures, counts.others));
            let subject = Subject {
                unit: Some((*unit).to_owned()),
                ..Subject::default()
            };
            let mut finding = Finding::new(FindingKind::PrintoutsMissing, subject, said);
            finding.effect = likelihood.as_ref().map(|likelihood| {
                times_as_often(counts, likelihood, Phrase::of("among-other-units"))
            });
            finding
                .else_explains
                .push(Phrase::of("printouts-missing-else"));
            let evidence = history
                .missing
                .iter()
                .filter(|run| run.unit.as_str() == *unit)
                .filter_map(|run| {
                    let known = history.cycles.get(run.before.0)?;
                    Some(Evidence {
                        day: known.began.as_ref().map(|began| began.value.local.date()),
                        said: Phrase::of("evidence-missing")
                            .and("record", *unit)
                            .and("first", run.first.to_string())
                            .and("last", run.last.to_string()),
                        span: known.cycle.opening,
                    })
                })
                .collect();
            finding.resting_on(evidence)
        });
    }
    asking.take(FindingKind::PrintoutsMissing, question.answer());
}

#[cfg(test)]
mod tests {
    use crate::analyse::find_findings;
    use crate::parse::{Strictness, read_bytes};
    use crate::reconcile::{Site, join_history};

    /// Two printouts of each of so many units: its first counter, and one that it can just reach in 95 years.
    fn far_counters(n_units: u32) -> String {
        let printout = |unit: u32, counter: u32, started: &str| {
            format!(
                "loadbook printout 1\nunit: ST-{unit}\nprocess: steam\nprogram: wrapped\ncounter: {counter}\n\
                 started: {started} 07:00:00\nended: 07:40:00\noutcome: completed\nend\n"
            )
        };
        (1..=n_units)
            .map(|unit| printout(unit, 1, "2005-01-01") + &printout(unit, 9_900_000, "2099-12-31"))
            .collect()
    }

    #[test]
    fn more_missing_printouts_than_a_count_holds_are_no_overflow() {
        let records = read_bytes(far_counters(440).as_bytes(), Strictness::Infer);
        let (history, _) = join_history(records.cycles, records.entries, Site::default());
        let n_missing: u64 = history
            .missing
            .iter()
            .map(|run| u64::from(run.n_missing()))
            .sum();
        assert!(n_missing > u64::from(u32::MAX), "{n_missing}");
        assert!(find_findings(&history).is_ok());
    }
}
