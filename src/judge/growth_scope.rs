//! Which loads of a unit a growing biological indicator puts in doubt, seen from one load.
//!
//! From the last satisfactory indicator before the growth to the next satisfactory one after it (CDC, Guideline for
//! Disinfection and Sterilization in Healthcare Facilities, 2008, recommendations on biological indicators; seen via
//! copy). Loads whose own indicator is satisfactory are not in doubt; tests that prove nothing end no scope. Read
//! [`find_growth_around`] first.

use super::bi_test::{Standing, find_tests};
use super::case::{Case, Seen};
use crate::reconcile::history::LoadIx;
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
    let own = find_tests(case, case.ix);
    let own_satisfactory = own
        .iter()
        .any(|(_, standing)| *standing == Standing::Satisfactory);
    if own_satisfactory {
        return Vec::new();
    }
    let middle = loads.partition_point(|one| *one < (began, case.ix));
    let (before, after) = loads.split_at(middle);
    let before = before.iter().rev().take_while(|one| *one >= first);
    let after = after.iter().take_while(|one| *one <= last);
    let mut grown = Vec::new();
    collect_until_satisfactory(case, before.map(|(_, ix)| *ix), &mut grown);
    collect_until_satisfactory(case, after.map(|(_, ix)| *ix), &mut grown);
    grown.sort_by_key(|test| test.ix);
    grown
}

fn collect_until_satisfactory<'a>(
    case: &Case<'a>,
    loads: impl Iterator<Item = LoadIx>,
    grown: &mut Vec<Seen<'a, BiResult>>,
) {
    for ix in loads.filter(|ix| *ix != case.ix) {
        let tests = find_tests(case, ix);
        let has_growth = tests
            .iter()
            .any(|(_, standing)| *standing == Standing::Growth);
        if has_growth {
            let growing = tests
                .into_iter()
                .filter(|(_, standing)| *standing == Standing::Growth);
            grown.extend(growing.map(|(test, _)| test));
        } else if tests
            .iter()
            .any(|(_, standing)| *standing == Standing::Satisfactory)
        {
            return;
        }
    }
}
