//! Which loads of a unit a growing biological indicator puts in doubt, seen from one load.
//!
//! From the last satisfactory indicator before the growth to the next satisfactory one after it (CDC, Guideline for
//! Disinfection and Sterilization in Healthcare Facilities, 2008, recommendations on biological indicators; seen via
//! copy). Loads whose own indicator is satisfactory are not in doubt; tests that prove nothing end no scope, and neither
//! do those of loads whose printout does not show a completed cycle. It is the same scope that
//! [`recall`](super::recall) draws as a whole; its parameters hold here too. Read [`find_growth_around`] first.

use super::bi_test::{Standing, find_own_tests, find_tests_of, same_program};
use super::case::{Case, Seen};
use super::recall::{LAST_NEGATIVE, SCOPE_OF, word_of};
use crate::reconcile::history::LoadIx;
use crate::record::cycle::Outcome;
use crate::record::entry::BiResult;

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

/// Growing indicators of other loads of the unit with no satisfactory indicator between them and this load.
pub fn find_growth_around<'a>(case: &Case<'a>) -> Vec<Seen<'a, BiResult>> {
    let (Some(began), Some(unit)) = (case.began(), case.unit()) else {
        return Vec::new();
    };
    // Growth is rare: most units have none, and no more of the others is looked at than lies up to the farthest.
    let grown = case.index.growth_loads_of_unit.get(&unit.name);
    let (Some(loads), Some((first, last))) = (
        case.index.bi_loads_of_unit.get(&unit.name),
        grown.and_then(|grown| Some((grown.first()?, grown.last()?))),
    ) else {
        return Vec::new();
    };
    let by_program = word_of(case.policy, &SCOPE_OF) == "program";
    // What may be of the program is in doubt with it, and bounds nothing.
    let is_in = |ix: LoadIx| !by_program || same_program(case, ix) != Some(false);
    let is_boundary = bounds(case, case.ix, find_own_tests(case));
    if is_boundary && word_of(case.policy, &LAST_NEGATIVE) != "inside" {
        return Vec::new();
    }
    let middle = loads.partition_point(|one| *one < (began, case.ix));
    let (before, after) = loads.split_at(middle);
    let before = before.iter().rev().take_while(|one| *one >= first);
    let after = after.iter().take_while(|one| *one <= last);
    let mut grown = Vec::new();
    // What comes before a boundary has ended with it.
    if !is_boundary {
        let before = before.map(|(_, ix)| *ix).filter(|ix| is_in(*ix));
        collect_until_satisfactory(case, before, &mut grown);
    }
    let after = after.map(|(_, ix)| *ix).filter(|ix| is_in(*ix));
    collect_until_satisfactory(case, after, &mut grown);
    grown.sort_by_key(|test| test.ix);
    grown
}

/// Whether a load bounds scopes: a satisfactory indicator, none that grew, and a printout of a completed cycle.
fn bounds(case: &Case<'_>, ix: LoadIx, tests: &[(Seen<'_, BiResult>, Standing)]) -> bool {
    let has = |wanted: &Standing| tests.iter().any(|(_, standing)| standing == wanted);
    let last = case
        .index
        .load(ix)
        .and_then(|load| load.cycles.last())
        .and_then(|ix| case.index.cycle(*ix));
    let completed = last.is_some_and(|known| {
        let outcome = known.cycle.outcome.as_ref().map(|outcome| &outcome.value);
        known.cycle.closed && outcome == Some(&Outcome::Completed)
    });
    let by_program = word_of(case.policy, &SCOPE_OF) == "program";
    completed
        && (!by_program || same_program(case, ix) == Some(true))
        && has(&Standing::Satisfactory)
        && !has(&Standing::Growth)
        && !has(&Standing::Pending)
}

fn collect_until_satisfactory<'a>(
    case: &Case<'a>,
    loads: impl Iterator<Item = LoadIx>,
    grown: &mut Vec<Seen<'a, BiResult>>,
) {
    for ix in loads.filter(|ix| *ix != case.ix) {
        let tests = find_tests_of(case, ix);
        let has_growth = tests
            .iter()
            .any(|(_, standing)| *standing == Standing::Growth);
        if has_growth {
            let growing = tests
                .into_iter()
                .filter(|(_, standing)| *standing == Standing::Growth);
            grown.extend(growing.map(|(test, _)| test));
        } else if bounds(case, ix, &tests) {
            return;
        }
    }
}
