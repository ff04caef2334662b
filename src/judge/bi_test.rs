//! What a biological indicator test proves: growth, no growth that counts, a result still to come, or nothing.
//!
//! No growth counts only when a control of the same lot, put to incubation within a day of it, grew, and when it was
//! read within its times. Knows nothing of what a decision makes of it. Read [`find_standing`] first, then
//! [`is_asked_for`] and [`find_cover`], which say whether a load needs a test of its own.

use super::case::{Case, Index, Seen, growth, lot_number, role};
use super::policy::{BiFrequency, BiPer, BiSchedule};
use super::sight::Sight;
use crate::measure::count::Counting;
use crate::reconcile::history::{EntryIx, Load, LoadIx};
use crate::record::entry::{BiGrowth, BiResult, BiRole, EntryBody};
use chrono::{NaiveDateTime, TimeDelta};

/// How far apart test and control may be put to incubation: one control is run with each lot each day. Common practice,
/// no source.
const SHARED_CONTROL: TimeDelta = TimeDelta::hours(24);

/// What a control shows for a test.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Control {
    /// It grew, as it must.
    Grew(EntryIx),
    /// It did not grow: the test proves nothing.
    NoGrowth(EntryIx),
    /// It is not read yet.
    Pending(EntryIx),
    /// There is one in the load, of another lot.
    OtherLot(EntryIx),
    /// There is none.
    Missing,
}

/// How a reading stands to the times of incubation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Timing {
    /// Within them.
    Right,
    /// Read after so many hours, before the least.
    TooEarly(f64),
    /// Read after so many hours, after the longest.
    TooLate(f64),
    /// Beginning or reading is not written.
    Unknown,
}

/// What a test proves.
#[derive(Debug, Clone, PartialEq)]
pub enum Standing {
    /// Growth.
    Growth,
    /// No growth, with a control that grew, read in time.
    Satisfactory,
    /// A result is still to come: the test's own, its control's, or one after the least incubation.
    Pending,
    /// The time to read it has passed, or its result does not count.
    Proves(Nothing),
}

/// Why a test proves nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Nothing {
    /// It was not read while it could be.
    NeverRead,
    /// Its control is missing, of another lot, or did not grow.
    Control,
    /// It was read after its longest incubation.
    Timing,
}

/// When a vial was put to incubation: as written, else when the entry was written.
pub fn incubated(vial: &Seen<'_, BiResult>) -> Option<NaiveDateTime> {
    vial.says
        .incubated
        .as_ref()
        .map(|at| at.value.local)
        .or_else(|| match vial.says.growth {
            None => vial.written(),
            Some(_) => None,
        })
}

/// What the control of a test shows: the controls of its own load first, which are given, then those of other loads within
/// a day.
pub fn find_control<'a>(
    sight: &Sight<'a>,
    own: &[Seen<'a, BiResult>],
    test: &Seen<'a, BiResult>,
) -> Control {
    let lot = lot_number(test.says);
    let at = incubated(test);
    let near = |other: Option<NaiveDateTime>| match (at, other) {
        (Some(at), Some(other)) => at.signed_duration_since(other).abs() <= SHARED_CONTROL,
        _ => false,
    };
    // In its own load, a control of the same lot needs no times to belong to it.
    let fits_own = |vial: &Seen<'_, BiResult>| {
        lot.is_some()
            && lot_number(vial.says) == lot
            && (near(incubated(vial)) || at.is_none() || incubated(vial).is_none())
    };
    let fitting: Vec<_> = own.iter().filter(|vial| fits_own(vial)).collect();
    if let Some(control) = weigh(fitting.iter().map(|vial| (vial.ix, growth(vial.says)))) {
        return control;
    }
    let controls = lot.and_then(|lot| sight.index.controls.get(lot));
    let mut around: Vec<EntryIx> = controls
        .zip(at)
        .into_iter()
        .flat_map(|(controls, at)| controls.near(at, SHARED_CONTROL))
        .collect();
    around.sort_unstable();
    let elsewhere = around.into_iter().filter_map(|ix| {
        let vial = sight.index.bi(ix)?;
        let seen = near(incubated(&vial)) && sight.had_come(vial.written());
        seen.then_some((ix, growth(vial.says)))
    });
    // An entry of incubation that a later one completes is passed over: the reading stands beside it.
    let mut elsewhere: Vec<_> = elsewhere.collect();
    if elsewhere.iter().any(|(_, growth)| growth.is_some()) {
        elsewhere.retain(|(_, growth)| growth.is_some());
    }
    if let Some(control) = weigh(elsewhere.into_iter()) {
        return control;
    }
    match own.first() {
        Some(other) => Control::OtherLot(other.ix),
        None => Control::Missing,
    }
}

fn of_role<'a>(vials: &[Seen<'a, BiResult>], wanted: BiRole) -> Vec<Seen<'a, BiResult>> {
    let vials = vials.iter().copied();
    vials
        .filter(|vial| role(vial.says) == Some(wanted))
        .collect()
}

/// The tests of the load of the case, with what their controls show.
pub fn find_controls<'k, 'a>(case: &'k Case<'a>) -> &'k [(Seen<'a, BiResult>, Control)] {
    case.keep_all(&case.kept.controls, || {
        let own = of_role(&case.sight.bis_of(case.load), BiRole::Control);
        let tests = case.bi_tests().iter();
        tests
            .map(|test| (*test, find_control(&case.sight, &own, test)))
            .collect()
    })
}

/// Whether a vial was read, and had not grown.
pub fn has_no_growth(vial: &Seen<'_, BiResult>) -> bool {
    growth(vial.says) == Some(BiGrowth::NoGrowth)
}

/// Of several controls, one that did not grow weighs most: whoever keeps both has to find out why.
fn weigh(controls: impl Iterator<Item = (EntryIx, Option<BiGrowth>)>) -> Option<Control> {
    let controls: Vec<_> = controls.collect();
    let with = |wanted: Option<BiGrowth>| {
        controls
            .iter()
            .find(|(_, growth)| *growth == wanted)
            .map(|(ix, _)| *ix)
    };
    with(Some(BiGrowth::NoGrowth))
        .map(Control::NoGrowth)
        .or_else(|| with(Some(BiGrowth::Growth)).map(Control::Grew))
        .or_else(|| with(None).map(Control::Pending))
}

/// How the reading of a vial stands to the times of incubation.
pub fn find_timing(schedule: &BiSchedule, vial: &Seen<'_, BiResult>) -> Timing {
    let read = vial.says.read.as_ref().map(|at| at.value.local);
    let began = vial.says.incubated.as_ref().map(|at| at.value.local);
    let (Some(read), Some(began)) = (read, began) else {
        return Timing::Unknown;
    };
    let hours = hours_between(began, read);
    if hours < schedule.min_incubation_hours {
        Timing::TooEarly(hours)
    } else if hours > schedule.max_incubation_hours {
        Timing::TooLate(hours)
    } else {
        Timing::Right
    }
}

/// A week before a moment, or the first moment that there is.
pub(super) fn week_before(moment: NaiveDateTime) -> NaiveDateTime {
    moment
        .checked_sub_signed(TimeDelta::days(7))
        .unwrap_or(NaiveDateTime::MIN)
}

/// The hours between two moments.
pub fn hours_between(from: NaiveDateTime, to: NaiveDateTime) -> f64 {
    to.signed_duration_since(from).as_seconds_f64() / 3_600.0
}

/// What a test proves, as long as no record comes.
#[derive(Debug, Clone, PartialEq)]
pub struct Weighed {
    standing: Standing,
    /// Since when a test without a result has been in incubation: beyond the longest it proves nothing.
    open_since: Option<NaiveDateTime>,
}

impl Weighed {
    fn for_good(standing: Standing) -> Self {
        Weighed {
            standing,
            open_since: None,
        }
    }

    /// What it proves at a moment.
    pub fn at(&self, sight: &Sight<'_>, schedule: Option<&BiSchedule>) -> Standing {
        match (self.open_since, schedule) {
            (Some(began), Some(schedule))
                if sight.has_passed(began, schedule.max_incubation_hours) =>
            {
                Standing::Proves(Nothing::NeverRead)
            }
            _ => self.standing.clone(),
        }
    }

    /// What it proves before its time to be read has passed.
    pub fn at_first(&self) -> &Standing {
        &self.standing
    }
}

/// What a test proves. Where it grew, nothing is asked of its control.
fn weigh_test(
    schedule: Option<&BiSchedule>,
    test: &Seen<'_, BiResult>,
    control: impl FnOnce() -> Control,
) -> Weighed {
    let result = growth(test.says);
    if result == Some(BiGrowth::Growth) {
        return Weighed::for_good(Standing::Growth);
    }
    let Some(schedule) = schedule else {
        return Weighed::for_good(Standing::Proves(Nothing::Timing));
    };
    if result.is_none() {
        return Weighed {
            // Without a control of its lot no result of it will ever count.
            standing: match control() {
                Control::Grew(_) | Control::Pending(_) => Standing::Pending,
                _ => Standing::Proves(Nothing::Control),
            },
            open_since: incubated(test),
        };
    }
    Weighed::for_good(match (control(), find_timing(schedule, test)) {
        (Control::NoGrowth(_) | Control::OtherLot(_) | Control::Missing, _) => {
            Standing::Proves(Nothing::Control)
        }
        (_, Timing::TooLate(_)) => Standing::Proves(Nothing::Timing),
        // Read before its time, it can be incubated on.
        (_, Timing::TooEarly(_) | Timing::Unknown) | (Control::Pending(_), _) => Standing::Pending,
        (Control::Grew(_), Timing::Right) => Standing::Satisfactory,
    })
}

/// The tests of the load of the case, of its last run, with what they prove.
pub fn find_own_tests<'k, 'a>(case: &'k Case<'a>) -> &'k [(Seen<'a, BiResult>, Standing)] {
    case.keep_all(&case.kept.tests, || {
        let schedule = case.schedule();
        let tests = find_controls(case).iter();
        tests
            .map(|(test, control)| {
                let weighed = weigh_test(schedule, test, || control.clone());
                (*test, weighed.at(&case.sight, schedule))
            })
            .collect()
    })
}

/// The tests of a load, of all its runs, with what they prove as long as no record comes.
pub fn weigh_tests_of<'a>(
    sight: &Sight<'a>,
    schedule: Option<&BiSchedule>,
    load: &Load,
) -> Vec<(Seen<'a, BiResult>, Weighed)> {
    let vials = sight.bis_of(load);
    let own = of_role(&vials, BiRole::Control);
    let tests = of_role(&vials, BiRole::Test).into_iter();
    tests
        .map(|test| {
            let control = || find_control(sight, &own, &test);
            (test, weigh_test(schedule, &test, control))
        })
        .collect()
}

/// The tests of a load, of all its runs, with what they prove.
pub fn find_tests_of<'a>(
    sight: &Sight<'a>,
    schedule: Option<&BiSchedule>,
    load: &Load,
) -> Vec<(Seen<'a, BiResult>, Standing)> {
    let tests = weigh_tests_of(sight, schedule, load).into_iter();
    tests
        .map(|(test, weighed)| (test, weighed.at(sight, schedule)))
        .collect()
}

/// Whether the policy asks for a test in this load, and why: `None` when it does not.
pub fn is_asked_for(case: &Case<'_>) -> Option<&'static str> {
    if case.contents().iter().any(|content| {
        content
            .says
            .implant
            .as_ref()
            .is_some_and(|implant| implant.value)
    }) {
        return Some("the load holds an implant");
    }
    match case.frequency()? {
        BiFrequency::Never => None,
        BiFrequency::EveryLoad => Some("the policy asks for a BI in every load"),
        BiFrequency::Daily => find_cover(case)
            .is_none()
            .then_some("no other load of the unit that day has a BI that counts"),
        BiFrequency::Weekly => find_cover(case)
            .is_none()
            .then_some("no other load of the unit in the seven days before has a BI that counts"),
    }
}

/// A test in another load that keeps the schedule for this one: satisfactory, growing, or with a result to come.
///
/// Daily, it is in a load of the same day; weekly, in one of the seven days before. Growth keeps the schedule too: what
/// it means for this load is another question.
pub fn find_cover<'a>(case: &Case<'a>) -> Option<Seen<'a, BiResult>> {
    *case.keep(&case.kept.cover, || look_for_cover(case))
}

fn look_for_cover<'a>(case: &Case<'a>) -> Option<Seen<'a, BiResult>> {
    let (began, unit) = (case.began()?, case.unit()?);
    let schedule = case.schedule()?;
    let weekly = match case.frequency()? {
        BiFrequency::Weekly => true,
        BiFrequency::Daily => false,
        BiFrequency::Never | BiFrequency::EveryLoad => return None,
    };
    let of_unit = case.index.bi_loads_of_unit.get(&unit.name)?;
    let earliest = if weekly {
        week_before(began)
    } else {
        began.date().and_time(chrono::NaiveTime::MIN)
    };
    let is_within = |at: NaiveDateTime| {
        if weekly {
            at <= began
        } else {
            at.date() <= began.date()
        }
    };
    let from = of_unit.loads.partition_point(|(at, _)| *at < earliest);
    let to = of_unit.loads.partition_point(|(at, _)| is_within(*at));
    let courses = of_unit.courses(case.index, Some(schedule));
    courses
        .get()?
        .covering(from..to)
        .filter(|load| load.ix() != case.ix)
        .filter(|load| schedule.per == BiPer::Unit || same_program(case, load.ix()) == Some(true))
        .flat_map(|load| load.tests(&case.sight, Some(schedule)))
        .find(|(_, standing)| !matches!(standing, Standing::Proves(_)))
        .map(|(test, _)| test)
}

/// Whether another load has the program of the case. `None` when no record gives the program of one of them.
pub fn same_program(case: &Case<'_>, other: LoadIx) -> Option<bool> {
    let program = case.index.load(other).and_then(|load| {
        let printed = load.cycles.iter().rev().find_map(|ix| {
            let known = case.index.cycle(*ix)?;
            known.cycle.program.as_ref()
        });
        printed.or_else(|| {
            load.starts
                .iter()
                .rev()
                .find_map(|ix| match &case.index.entry(*ix)?.entry.body {
                    EntryBody::Load(start) => start.program.as_ref(),
                    _ => None,
                })
        })
    });
    Some(
        program?
            .value
            .as_str()
            .eq_ignore_ascii_case(case.program()?),
    )
}

/// The vial of a result, in words: `BI of lot B771`.
pub fn name_vial(bi: &BiResult) -> String {
    match lot_number(bi) {
        Some(lot) => format!("BI of lot {lot}"),
        None => "BI without a lot".to_owned(),
    }
}

/// Loads of a unit whose biological indicators may bear on a load that began at a moment: those of a week before it and
/// of the same day, and in both directions all up to the second one that has a reading without growth. Each with the moment
/// at which it began.
pub fn loads_around(
    index: &Index<'_>,
    loads: &[(NaiveDateTime, LoadIx)],
    began: NaiveDateTime,
    own: LoadIx,
) -> Vec<(NaiveDateTime, LoadIx)> {
    let read_well = |ix: &LoadIx| index.vials_of(*ix).is_some_and(|vials| vials.read_well);
    let week = week_before(began);
    let middle = loads.partition_point(|(at, _)| *at <= began);
    let (before, after) = loads.split_at(middle);
    let mut around = Vec::new();
    let mut n_well = 0;
    for (at, ix) in before.iter().rev().filter(|(_, ix)| *ix != own) {
        if n_well >= 2 && *at < week {
            break;
        }
        n_well.add_many(usize::from(read_well(ix)));
        around.push((*at, *ix));
    }
    n_well = 0;
    for (at, ix) in after.iter().filter(|(_, ix)| *ix != own) {
        if n_well >= 2 && at.date() > began.date() {
            break;
        }
        n_well.add_many(usize::from(read_well(ix)));
        around.push((*at, *ix));
    }
    around
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::trial::{PLASMA, answers, history, unit_log};

    #[test]
    fn the_first_moment_that_there_is_has_no_week_before_it() {
        assert_eq!(week_before(NaiveDateTime::MIN), NaiveDateTime::MIN);
        assert!(week_before(NaiveDateTime::MAX) < NaiveDateTime::MAX);
    }

    /// The numbers of the loads around `OWN-LOAD`, nearest first, those before it and then those after it.
    fn around(loads: &[(&str, &str, &str)]) -> Vec<String> {
        let history = history(&unit_log(loads));
        let index = Index::of(&history);
        let of_unit = index.bi_loads_of_unit.values().next().unwrap();
        let is_own = |load: &Load| load.number.0 == "OWN-LOAD";
        let own = history.loads.iter().position(is_own).unwrap();
        let began = index.load_began(&history.loads[own]).unwrap();
        loads_around(&index, &of_unit.loads, began, LoadIx(own))
            .iter()
            .map(|(_, ix)| history.loads[ix.0].number.0.replace("-LOAD", ""))
            .collect()
    }

    #[test]
    fn loads_around_reach_a_week_back_and_to_the_second_satisfactory_one() {
        let own = ("OWN-LOAD", "2026-03-12 08:00", "well control");
        // The second satisfactory one before it lies more than a week back: it is the last.
        assert_eq!(
            around(&[
                ("AA-LOAD", "2026-02-20 08:00", "put"),
                ("BC-LOAD", "2026-02-25 08:00", "well control"),
                ("DE-LOAD", "2026-03-01 08:00", "well well control"),
                ("FG-LOAD", "2026-03-02 08:00", "grew control"),
                ("HI-LOAD", "2026-03-05 08:00", "put"),
                ("JK-LOAD", "2026-03-10 08:00", "well control"),
                own,
            ]),
            ["JK", "HI", "FG", "DE"]
        );
        // Two within the week: all of the week are around it, to its first moment, and none before it.
        assert_eq!(
            around(&[
                ("FG-LOAD", "2026-03-05 07:59", "grew"),
                ("HI-LOAD", "2026-03-05 08:00", "put"),
                ("JK-LOAD", "2026-03-09 08:00", "well"),
                ("LM-LOAD", "2026-03-10 08:00", "well"),
                ("NO-LOAD", "2026-03-11 08:00", "put"),
                own,
            ]),
            ["NO", "LM", "JK", "HI"]
        );
        // One with a test that grew beside one that did not is not satisfactory, nor is one of a control alone.
        assert_eq!(
            around(&[
                ("AA-LOAD", "2026-02-20 08:00", "put"),
                ("BC-LOAD", "2026-02-25 08:00", "well"),
                ("DE-LOAD", "2026-02-26 08:00", "well grew"),
                ("FG-LOAD", "2026-02-27 08:00", "control"),
                ("HI-LOAD", "2026-02-28 08:00", "well"),
                own,
            ]),
            ["HI", "FG", "DE", "BC"]
        );
    }

    #[test]
    fn loads_around_reach_through_the_day_and_to_the_second_satisfactory_one_after_it() {
        let own = ("OWN-LOAD", "2026-03-12 08:00", "well control");
        assert_eq!(
            around(&[
                own,
                ("AA-LOAD", "2026-03-12 08:00", "put"),
                ("BC-LOAD", "2026-03-12 09:00", "well"),
                ("DE-LOAD", "2026-03-12 10:00", "well"),
                ("FG-LOAD", "2026-03-12 23:59", "put"),
                ("HI-LOAD", "2026-03-13 00:00", "put"),
            ]),
            // What began in the same minute counts as before it.
            ["AA", "BC", "DE", "FG"]
        );
        assert_eq!(
            around(&[
                own,
                ("BC-LOAD", "2026-03-13 09:00", "well control"),
                ("DE-LOAD", "2026-03-14 10:00", "grew"),
                ("FG-LOAD", "2026-03-15 23:00", "well control"),
                ("HI-LOAD", "2026-03-16 00:00", "put"),
            ]),
            ["BC", "DE", "FG"]
        );
    }

    #[test]
    fn lots_of_vials_are_told_once_each() {
        let text = "loadbook log 1\nzone: Europe/London\ndate: 2026-03-12\n\
            08:00 bi: AA-LOAD, role test, lot B2, incubated 2026-03-12 08:00\n\
            08:00 bi: AA-LOAD, role control, lot B1, incubated 2026-03-12 08:00\n\
            08:01 bi: AA-LOAD, role control, lot B1, incubated 2026-03-12 08:01\n\
            08:02 bi: AA-LOAD, role control, incubated 2026-03-12 08:02\n";
        let history = history(text);
        let index = Index::of(&history);
        let lots = &index.vials_of(LoadIx(0)).unwrap().lots;
        let lots: Vec<&str> = lots.iter().map(|lot| lot.0.as_str()).collect();
        assert_eq!(lots, ["B1", "B2"]);
        let bi = |at| index.bi(EntryIx(at)).unwrap().says;
        assert_eq!(name_vial(bi(0)), "BI of lot B2");
        assert_eq!(name_vial(bi(3)), "BI without a lot");
    }

    const PUT: &str = "08:41 bi: P1-0312-01, role control, lot B771, expiry 2026-12-31, incubated 2026-03-12 08:40, by HB\n";
    const READ: &str = "2026-03-13 08:46 bi: P1-0312-01, role control, lot B771, expiry 2026-12-31, incubated 2026-03-12 08:40, read 2026-03-13 08:45, result growth, by MK\n";

    #[test]
    fn control_of_the_load_itself_comes_before_those_of_others() {
        // Another load's control of the same lot and hour did not grow; the load's own did.
        let other = format!(
            "{READ}2026-03-13 08:47 bi: P1-0312-09, role control, lot B771, incubated 2026-03-12 08:45, read 2026-03-13 08:46, result no growth, by MK\n"
        );
        let given = answers("bi-control-no-growth", PLASMA, &[(READ, &other)], "");
        assert_eq!(given.len(), 1);
        assert_eq!(given[0].how, "met");
        // In its own load it needs no times: neither of the test, nor of itself.
        for from in [
            "08:45 bi: P1-0312-01, role test, lot B771, expiry 2026-12-31, incubated 2026-03-12 08:40, read 2026-03-13 08:45,",
            "08:46 bi: P1-0312-01, role control, lot B771, expiry 2026-12-31, incubated 2026-03-12 08:40, read 2026-03-13 08:45,",
        ] {
            let to = from.replace(" incubated 2026-03-12 08:40,", "");
            let given = answers("bi-control-no-growth", PLASMA, &[(from, &to)], "");
            assert_eq!(given[0].how, "met", "{from}");
        }
    }

    #[test]
    fn control_of_another_load_belongs_to_the_test_by_its_incubation() {
        let missing = |put: &str| {
            let other = format!(
                "2026-03-12 20:00 bi: P1-0312-09, role control, lot B771, {put}result growth, by MK\n"
            );
            let edits = [(PUT, ""), (READ, other.as_str())];
            answers("bi-control-missing", PLASMA, &edits, "").len()
        };
        // The test was put to incubation on 12 March at 08:40; a control within a day of it will do.
        assert_eq!(missing("incubated 2026-03-12 08:40, "), 0);
        assert_eq!(missing("incubated 2026-03-11 08:40, "), 0);
        assert_eq!(missing("incubated 2026-03-13 08:40, "), 0);
        assert_eq!(missing("incubated 2026-03-11 08:39, "), 1);
        assert_eq!(missing("incubated 2026-03-13 08:41, "), 1);
        // One that was read, and does not say when it was put to incubation, belongs to none.
        assert_eq!(missing(""), 1);
    }
}
