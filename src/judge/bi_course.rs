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
