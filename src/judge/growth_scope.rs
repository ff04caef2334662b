//! Which loads of a unit a growing biological indicator puts in doubt, seen from one load.
//!
//! From the last satisfactory indicator before the growth to the next satisfactory one after it (CDC, Guideline for
//! Disinfection and Sterilization in Healthcare Facilities, 2008, recommendations on biological indicators; seen via
//! copy). Loads whose own indicator is satisfactory are not in doubt; tests that prove nothing end no scope, and neither
//! do those of loads whose printout does not show a completed cycle. It is the same scope that
//! [`recall`](super::recall) draws as a whole; its parameters hold here too. Read [`find_growth_around`] first.

use super::bi_course::{BiCourse, is_completed};
use super::bi_test::{Standing, find_own_tests, same_program};
use super::case::{Case, Seen};
use super::decision::Evidence;
use super::recall::{LAST_NEGATIVE, SCOPE_OF, word_of};
use super::rulebook::Finding;
use crate::measure::count::Counting;
use crate::reconcile::history::LoadIx;
use crate::record::entry::BiResult;
use chrono::NaiveDateTime;

/// Whether the log lists an implant in the load.
pub fn holds_implant(case: &Case<'_>) -> bool {
    case.contents().iter().any(|content| {
        let implant = content.says.implant.as_ref();
        implant.is_some_and(|implant| implant.value)
    })
}

/// The load number of a vial, as the log has it.
pub fn load_of(test: &Seen<'_, BiResult>) -> String {
    let load = test.known.entry.load.as_ref();
    load.map_or_else(String::new, |load| load.value.to_string())
}

/// So many growing indicators are told one by one on either side of a load: more say nothing more of it, and a recall lists
/// them all.
const MOST_TOLD: usize = 20;

/// Growing indicators of other loads of the unit with no satisfactory indicator between them and a load.
#[derive(Default)]
pub struct GrowthAround<'a> {
    /// The nearest of them, in order of the entries: all, or all of the loads before or after that first come to
    /// [`MOST_TOLD`].
    pub told: Vec<Seen<'a, BiResult>>,
    /// Whether there are more.
    pub has_more: bool,
}

impl<'a> GrowthAround<'a> {
    /// One finding for each that is told, and one for the rest.
    pub fn find(
        &self,
        case: &Case<'_>,
        say: impl Fn(&Seen<'a, BiResult>) -> String,
        remedy: &'static str,
    ) -> Vec<Finding> {
        let find = |test| {
            let read = Evidence::at(Seen::span(test), "the reading as written");
            Finding::new(say(test), read, remedy)
        };
        let mut findings: Vec<Finding> = self.told.iter().map(find).collect();
        if self.has_more {
            findings.push(Finding::new(
                "further indicators of the unit grew, and no satisfactory one lies between; these are the nearest, and a recall lists them all",
                case.place("the load as printed"),
                remedy,
            ));
        }
        findings
    }
}

/// Growing indicators of other loads of the unit with no satisfactory indicator between them and this load.
pub fn find_growth_around<'a>(case: &Case<'a>) -> GrowthAround<'a> {
    let mut around = GrowthAround::default();
    let (Some(began), Some(unit)) = (case.began(), case.unit()) else {
        return around;
    };
    // Growth is rare: most units have none, and no more of the others is looked at than lies up to the farthest.
    let grown = case.index.growth_loads_of_unit.get(&unit.name);
    let (Some(of_unit), Some((first, last))) = (
        case.index.bi_loads_of_unit.get(&unit.name),
        grown.and_then(|grown| Some((grown.first()?, grown.last()?))),
    ) else {
        return around;
    };
    let by_program = word_of(case.policy, &SCOPE_OF) == "program";
    let is_boundary = bounds(
        case,
        (case.ix, is_completed(case.index, case.load)),
        by_program,
        find_own_tests(case),
    );
    if is_boundary && word_of(case.policy, &LAST_NEGATIVE) != "inside" {
        return around;
    }
    let place_of =
        |one: &(NaiveDateTime, LoadIx)| of_unit.loads.partition_point(|other| other < one);
    let own = place_of(&(began, case.ix));
    let (from, to) = (place_of(first), place_of(last).saturating_add(1));
    let courses = of_unit.courses(case.index, case.schedule());
    let Some(courses) = courses.get() else {
        return around;
    };
    // What comes before a boundary has ended with it.
    if !is_boundary {
        let before = courses.turning(from..own).rev();
        collect_until_satisfactory(case, by_program, before, &mut around);
    }
    collect_until_satisfactory(case, by_program, courses.turning(own..to), &mut around);
    around.told.sort_by_key(|test| test.ix);
    around
}

/// Whether a load bounds scopes: a satisfactory indicator, none that grew, and a printout of a completed cycle.
fn bounds(
    case: &Case<'_>,
    (ix, is_completed): (LoadIx, bool),
    by_program: bool,
    tests: &[(Seen<'_, BiResult>, Standing)],
) -> bool {
    let has = |wanted: &Standing| tests.iter().any(|(_, standing)| standing == wanted);
    is_completed
        && (!by_program || same_program(case, ix) == Some(true))
        && has(&Standing::Satisfactory)
        && !has(&Standing::Growth)
        && !has(&Standing::Pending)
}

fn collect_until_satisfactory<'a, 'c>(
    case: &Case<'a>,
    by_program: bool,
    loads: impl Iterator<Item = &'c BiCourse>,
    around: &mut GrowthAround<'a>,
) {
    // What may be of the program is in doubt with it, and bounds nothing.
    let is_in = |ix: LoadIx| !by_program || same_program(case, ix) != Some(false);
    let mut n_told = 0_usize;
    for load in loads.filter(|load| load.ix() != case.ix && load.has_turned(&case.sight)) {
        if !is_in(load.ix()) {
            continue;
        }
        let tests = load.tests(&case.sight, case.schedule());
        let has_growth = tests
            .iter()
            .any(|(_, standing)| *standing == Standing::Growth);
        if has_growth {
            if n_told >= MOST_TOLD {
                around.has_more = true;
                return;
            }
            let growing = tests
                .into_iter()
                .filter(|(_, standing)| *standing == Standing::Growth);
            let n_before = around.told.len();
            around.told.extend(growing.map(|(test, _)| test));
            n_told.add_many(around.told.len().saturating_sub(n_before));
        } else if bounds(case, (load.ix(), load.is_completed()), by_program, &tests) {
            return;
        }
    }
}
