//! What the biological indicators of a unit's loads prove, from one moment to the next.
//!
//! Each load of a unit asks what the tests of the others prove, at each moment at which one of its own records came. The
//! answer is the same for all that have the same times of incubation, so it is found once for each load and kept: a
//! [`BiCourse`] of each, and which of them can ever matter. Most loads of a unit without controls never do. Knows nothing
//! of scopes or schedules. Read [`BiCourses`] first.

use super::bi_test::{Standing, Weighed, find_tests_of, weigh_tests_of};
use super::case::{Index, Seen};
use super::holds::Holds;
use super::policy::BiSchedule;
use super::sight::Sight;
use crate::reconcile::history::{EntryIx, Load, LoadIx};
use crate::record::cycle::Outcome;
use crate::record::entry::BiResult;
use chrono::NaiveDateTime;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// Loads with so many entries of biological indicators, and those of which so many records move what their tests prove,
/// are weighed anew each time: what is kept must not grow with the square of the records.
const MOST_KEPT: usize = 64;

/// The loads of one unit that have an entry of a biological indicator, in order of the moments at which they began.
#[derive(Debug, Default)]
pub struct BiLoads {
    /// Those loads.
    pub loads: Vec<(NaiveDateTime, LoadIx)>,
    /// What their tests prove under each schedule that was asked for.
    courses: Mutex<Vec<(Incubation, Arc<OnceLock<BiCourses>>)>>,
}

/// The least and the longest incubation of a schedule, bit for bit; `None` where a policy has no schedule.
type Incubation = Option<(u64, u64)>;

impl BiLoads {
    /// What their tests prove under a schedule.
    pub fn courses(
        &self,
        index: &Index<'_>,
        schedule: Option<&BiSchedule>,
    ) -> Arc<OnceLock<BiCourses>> {
        let incubation = schedule.map(|schedule| {
            let (least, longest) = (schedule.min_incubation_hours, schedule.max_incubation_hours);
            (least.to_bits(), longest.to_bits())
        });
        let kept = {
            let mut courses = self.courses.lock().unwrap_or_else(PoisonError::into_inner);
            match courses.iter().find(|(of, _)| *of == incubation) {
                Some((_, kept)) => Arc::clone(kept),
                None => {
                    let kept = Arc::default();
                    courses.push((incubation, Arc::clone(&kept)));
                    kept
                }
            }
        };
        // Others that ask for the same wait here; the list is not locked meanwhile.
        kept.get_or_init(|| BiCourses::of(index, schedule, &self.loads));
        kept
    }
}

/// What the tests of a unit's loads prove, under one schedule.
#[derive(Debug)]
pub struct BiCourses {
    /// In the order of the loads.
    courses: Vec<BiCourse>,
    /// The places of loads that at some moment have a test that grew, or one that is satisfactory in a completed cycle.
    turning: Vec<usize>,
    /// The places of loads that at some moment have a test that grew, is satisfactory or may still be.
    covering: Vec<usize>,
}

/// What the tests of one load prove, from one moment to the next.
#[derive(Debug)]
pub struct BiCourse {
    load: LoadIx,
    /// In order of time; the first is from the beginning on. `None`: it is found anew each time.
    steps: Option<Vec<Step>>,
    completed: bool,
    /// When it first has a test that grew, or one that is satisfactory in a completed cycle. `None`: it never has.
    turns: Option<NaiveDateTime>,
}

#[derive(Debug)]
struct Step {
    from: NaiveDateTime,
    tests: Vec<(EntryIx, Weighed)>,
}

impl BiCourses {
    fn of(
        index: &Index<'_>,
        schedule: Option<&BiSchedule>,
        loads: &[(NaiveDateTime, LoadIx)],
    ) -> Self {
        let courses: Vec<BiCourse> = loads
            .iter()
            .map(|(_, ix)| BiCourse::of(index, schedule, *ix))
            .collect();
        let places = |matters: fn(&BiCourse) -> bool| {
            let places = courses.iter().enumerate();
            let that = places.filter(|(_, course)| matters(course));
            that.map(|(place, _)| place).collect()
        };
        BiCourses {
            turning: places(|course| course.turns.is_some()),
            covering: places(|course| {
                let first = course.first(|standing| !matches!(standing, Standing::Proves(_)));
                first.is_some()
            }),
            courses,
        }
    }

    /// Loads that may at any moment have a test that grew, or one that is satisfactory in a completed cycle: those at
    /// these places among the unit's loads.
    pub fn turning(
        &self,
        places: std::ops::Range<usize>,
    ) -> impl DoubleEndedIterator<Item = &BiCourse> {
        self.those(&self.turning, places)
    }

    /// Loads that may at any moment have a test that grew, is satisfactory or may still be: those at these places.
    pub fn covering(
        &self,
        places: std::ops::Range<usize>,
    ) -> impl DoubleEndedIterator<Item = &BiCourse> {
        self.those(&self.covering, places)
    }

    fn those<'c>(
        &'c self,
        all: &'c [usize],
        places: std::ops::Range<usize>,
    ) -> impl DoubleEndedIterator<Item = &'c BiCourse> {
        let from = all.partition_point(|place| *place < places.start);
        let to = all.partition_point(|place| *place < places.end);
        let those = all.get(from..to).unwrap_or(&[]).iter();
        those.filter_map(|place| self.courses.get(*place))
    }
}

impl BiCourse {
    fn of(index: &Index<'_>, schedule: Option<&BiSchedule>, ix: LoadIx) -> Self {
        let load = index.load(ix);
        let mut course = BiCourse {
            load: ix,
            steps: load.and_then(|load| follow(index, schedule, load)),
            completed: load.is_some_and(|load| is_completed(index, load)),
            turns: None,
        };
        course.turns = course.first(|standing| match standing {
            Standing::Growth => true,
            Standing::Satisfactory => course.completed,
            Standing::Pending | Standing::Proves(_) => false,
        });
        course
    }

    /// When a test first stands so, as far as is known: what is found anew each time may from the beginning on.
    fn first(&self, is_wanted: impl Fn(&Standing) -> bool) -> Option<NaiveDateTime> {
        let Some(steps) = &self.steps else {
            return Some(NaiveDateTime::MIN);
        };
        let first = steps.iter().find(|step| {
            let mut tests = step.tests.iter();
            tests.any(|(_, weighed)| is_wanted(weighed.at_first()))
        });
        first.map(|step| step.from)
    }
}

/// What the tests of a load prove, from the first moment to the last. `None` where that is too much to keep.
fn follow(index: &Index<'_>, schedule: Option<&BiSchedule>, load: &Load) -> Option<Vec<Step>> {
    if load.bis.len().saturating_add(load.superseded_bis.len()) > MOST_KEPT {
        return None;
    }
    let mut from = NaiveDateTime::MIN;
    let mut steps: Vec<Step> = Vec::new();
    for _ in 0..MOST_KEPT {
        let sight = Sight::at(index, Some(from));
        let (tests, holds) = sight.note_holds(|| weigh_tests_of(&sight, schedule, load));
        let tests = tests.into_iter().map(|(test, weighed)| (test.ix, weighed));
        let tests: Vec<_> = tests.collect();
        if steps.last().is_none_or(|last| last.tests != tests) {
            steps.push(Step { from, tests });
        }
        match holds {
            Holds::ForEver => return Some(steps),
            Holds::Before(next) if next > from => from = next,
            Holds::Before(_) | Holds::Now => return None,
        }
    }
    None
}

/// Whether the load's last printout is whole and says that the cycle was completed.
pub fn is_completed(index: &Index<'_>, load: &Load) -> bool {
    let last = load.cycles.last().and_then(|ix| index.cycle(*ix));
    last.is_some_and(|known| {
        let outcome = known.cycle.outcome.as_ref().map(|outcome| &outcome.value);
        known.cycle.closed && outcome == Some(&Outcome::Completed)
    })
}

impl BiCourse {
    /// The load.
    pub fn ix(&self) -> LoadIx {
        self.load
    }

    /// Whether it has by now had a test that grew, or one that is satisfactory in a completed cycle.
    pub fn has_turned(&self, sight: &Sight<'_>) -> bool {
        self.turns.is_some_and(|turns| sight.had_come(Some(turns)))
    }

    /// Whether its last printout is whole and says that the cycle was completed.
    pub fn is_completed(&self) -> bool {
        self.completed
    }

    /// Its tests, with what they prove at a moment.
    pub fn tests<'a>(
        &self,
        sight: &Sight<'a>,
        schedule: Option<&BiSchedule>,
    ) -> Vec<(Seen<'a, BiResult>, Standing)> {
        let Some(steps) = &self.steps else {
            let load = sight.index.load(self.load);
            return load.map_or_else(Vec::new, |load| find_tests_of(sight, schedule, load));
        };
        let n_begun = match sight.cutoff() {
            Some(cutoff) => steps.partition_point(|step| step.from <= cutoff),
            None => steps.len(),
        };
        if let Some(next) = steps.get(n_begun) {
            sight.hold(Holds::Before(next.from));
        }
        let step = n_begun.checked_sub(1).and_then(|at| steps.get(at));
        let tests = step.map_or(&[][..], |step| &step.tests).iter();
        tests
            .filter_map(|(ix, weighed)| Some((sight.index.bi(*ix)?, weighed.at(sight, schedule))))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::policy::{PolicyBook, Preset};
    use crate::judge::trial::{PLASMA, edited, history, moment, unit_log};
    use crate::reconcile::history::History;
    use crate::record::cycle::Process;

    fn schedule() -> BiSchedule {
        let book = PolicyBook::of_preset(Preset::Cdc2008);
        book.policies[0].bi[&Process::Plasma].clone()
    }

    fn course(history: &History) -> BiCourse {
        BiCourse::of(&Index::of(history), Some(&schedule()), LoadIx(0))
    }

    #[test]
    fn courses_are_found_once_for_each_incubation() {
        let history = history(&unit_log(&[(
            "AA-LOAD",
            "2026-03-12 08:00",
            "well control",
        )]));
        let index = Index::of(&history);
        let of_unit = index.bi_loads_of_unit.values().next().unwrap();
        let (own, mut other) = (schedule(), schedule());
        other.max_incubation_hours += 1.0;
        let first = of_unit.courses(&index, Some(&own));
        let none = of_unit.courses(&index, None);
        let longer = of_unit.courses(&index, Some(&other));
        assert!(Arc::ptr_eq(&first, &of_unit.courses(&index, Some(&own))));
        assert!(Arc::ptr_eq(&longer, &of_unit.courses(&index, Some(&other))));
        assert!(!Arc::ptr_eq(&first, &none) && !Arc::ptr_eq(&first, &longer));
        assert_eq!(of_unit.courses.lock().unwrap().len(), 3);
        // Without a schedule nothing that did not grow proves anything: no load covers another.
        assert_eq!(none.get().unwrap().covering(0..1).count(), 0);
        assert_eq!(first.get().unwrap().covering(0..1).count(), 1);
    }

    #[test]
    fn loads_that_turn_and_cover_are_told_by_what_their_tests_ever_prove() {
        let text = unit_log(&[
            ("AA-LOAD", "2026-03-12 08:00", "grew control"),
            ("BC-LOAD", "2026-03-12 09:00", "well control"),
            ("DE-LOAD", "2026-03-12 10:00", "put control"),
        ]);
        let alone = unit_log(&[("FG-LOAD", "2026-04-12 10:00", "well")]);
        let history = history(&format!("{text}{alone}"));
        let index = Index::of(&history);
        let of_unit = index.bi_loads_of_unit.values().next().unwrap();
        let courses = BiCourses::of(&index, Some(&schedule()), &of_unit.loads);
        let numbers = |those: &mut dyn Iterator<Item = &BiCourse>| -> String {
            let number = |course: &BiCourse| history.loads[course.ix().0].number.0[..2].to_owned();
            those.map(number).collect::<Vec<_>>().join(" ")
        };
        // A satisfactory test bounds scopes only with the printout of a completed cycle, and these have none.
        assert_eq!(numbers(&mut courses.turning(0..4)), "AA");
        assert!(courses.courses.iter().all(|course| !course.is_completed()));
        // What has no control proves nothing.
        assert_eq!(numbers(&mut courses.covering(0..4)), "AA BC DE");
        assert_eq!(numbers(&mut courses.covering(1..2)), "BC");
        assert_eq!(numbers(&mut courses.covering(1..3).rev()), "DE BC");
        assert_eq!(numbers(&mut courses.covering(3..4)), "");
    }

    #[test]
    fn course_steps_when_a_record_comes() {
        let history = history(PLASMA);
        let index = Index::of(&history);
        let course = course(&history);
        let steps = course.steps.as_ref().unwrap();
        // Nothing at first; the vial at 08:40 without a control, the control at 08:41, and both readings on the next day.
        let from: Vec<_> = steps.iter().map(|step| step.from).collect();
        assert_eq!(
            from,
            [
                NaiveDateTime::MIN,
                moment("2026-03-12 08:40"),
                moment("2026-03-12 08:41"),
                moment("2026-03-13 08:45"),
                moment("2026-03-13 08:46"),
            ]
        );
        assert!(course.is_completed());
        // It is satisfactory when the control was read, not before.
        assert_eq!(course.turns, Some(moment("2026-03-13 08:46")));
        let standing = |at: &str| {
            let sight = Sight::at(&index, Some(moment(at)));
            let (tests, holds) = sight.note_holds(|| course.tests(&sight, Some(&schedule())));
            assert_eq!(course.has_turned(&sight), at >= "2026-03-13 08:46", "{at}");
            let standing = tests.into_iter().next().map(|(_, standing)| standing);
            (standing, holds)
        };
        let before = |at: &str| Holds::Before(moment(at));
        assert_eq!(
            standing("2026-03-12 08:39"),
            (None, before("2026-03-12 08:40"))
        );
        assert_eq!(
            standing("2026-03-12 08:40"),
            (
                Some(Standing::Proves(super::super::bi_test::Nothing::Control)),
                before("2026-03-12 08:41")
            )
        );
        assert_eq!(standing("2026-03-12 08:41").0, Some(Standing::Pending));
        assert_eq!(
            standing("2026-03-13 08:45"),
            (Some(Standing::Pending), before("2026-03-13 08:46"))
        );
        assert_eq!(
            standing("2026-03-13 08:46"),
            (Some(Standing::Satisfactory), Holds::ForEver)
        );
        let all = Sight::at(&index, None);
        assert_eq!(
            course.tests(&all, Some(&schedule()))[0].1,
            Standing::Satisfactory
        );
    }

    #[test]
    fn completed_is_what_a_whole_printout_says() {
        let is_completed = |edits: &[(&str, &str)]| {
            let history = history(&edited(PLASMA, edits));
            let load = history.loads.iter().find(|load| !load.cycles.is_empty());
            is_completed(&Index::of(&history), load.unwrap())
        };
        assert!(is_completed(&[]));
        assert!(!is_completed(&[("outcome: completed\n", "")]));
        assert!(!is_completed(&[(
            "outcome: completed\nend\n",
            "outcome: completed\n"
        )]));
        assert!(!is_completed(&[(
            "outcome: completed",
            "outcome: aborted, stage vent, cause operator-stopped"
        )]));
        let log_alone = history(&unit_log(&[("AA-LOAD", "2026-03-12 08:00", "well")]));
        assert!(!super::is_completed(
            &Index::of(&log_alone),
            &log_alone.loads[0]
        ));
    }

    #[test]
    fn loads_with_very_many_vials_are_weighed_each_time() {
        for (n, is_kept) in [(MOST_KEPT, true), (MOST_KEPT + 1, false)] {
            let vials = "grew ".repeat(n);
            let history = history(&unit_log(&[("AA-LOAD", "2026-03-12 08:00", &vials)]));
            assert_eq!(history.loads[0].bis.len(), n);
            let course = course(&history);
            assert_eq!(course.steps.is_some(), is_kept);
            // What is not kept may have turned from the beginning on.
            let turns = match is_kept {
                true => moment("2026-03-13 09:00"),
                false => NaiveDateTime::MIN,
            };
            assert_eq!(course.turns, Some(turns));
            let index = Index::of(&history);
            let sight = Sight::at(&index, None);
            assert_eq!(course.tests(&sight, Some(&schedule())).len(), n);
        }
    }
}
