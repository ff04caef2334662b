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

#[cfg(test)]
mod tests {
    use crate::judge::trial::{PLASMA, answers};

    /// A load of the base's unit with a test, and a control that grew.
    fn load(number: &str, began: &str, result: &str) -> String {
        format!(
            "loadbook printout 1\nunit: PL-1\nzone: Europe/London\nprocess: plasma\nprogram: standard\nload: {number}\n\
             started: {began}:20\nended: {began}:50\noutcome: completed\nend\n\
             loadbook log 1\nzone: Europe/London\n\
             {began} bi: {number}, role test, lot B9, incubated {began}, read 2026-03-14 10:00, result {result}, by HB\n\
             {began} bi: {number}, role control, lot B9, incubated {began}, read 2026-03-14 10:00, result growth, by HB\n"
        )
    }

    /// The loads that grew around the base's, which began on 12 March at 07:41 and has lost its own test.
    fn around(others: &[String], toml: &str) -> Vec<String> {
        let lost = [
            (
                "08:40 bi: P1-0312-01, role test, lot B771, expiry 2026-12-31, incubated 2026-03-12 08:40, by HB\n",
                "",
            ),
            (
                "2026-03-13 08:45 bi: P1-0312-01, role test, lot B771, expiry 2026-12-31, incubated 2026-03-12 08:40, read 2026-03-13 08:45, result no growth, by MK\n",
                "",
            ),
        ];
        told(others, &lost, toml)
    }

    fn told(others: &[String], edits: &[(&str, &str)], toml: &str) -> Vec<String> {
        let base = format!("{PLASMA}{}", others.concat());
        let given = answers("bi-growth-in-unit", &base, edits, toml);
        let number = |words: &str| {
            let after = words.split_once("of load ").map(|(_, after)| after);
            let number = after.and_then(|after| after.split(' ').next());
            number.unwrap_or("further").to_owned()
        };
        given.iter().map(|one| number(&one.words)).collect()
    }

    const INSIDE: &str = "[rules.bi-growth-in-unit]\nlast-negative = [\"inside\"]";
    const PROGRAM: &str = "[rules.bi-growth-in-unit]\nscope = [\"program\"]";

    #[test]
    fn growth_reaches_to_the_next_satisfactory_indicator_on_either_side() {
        let grew = |number: &str, began: &str| load(number, began, "growth");
        let good = |number: &str, began: &str| load(number, began, "no growth");
        let (early, before) = ("2026-03-10 08:00", "2026-03-11 08:00");
        let (after, late) = ("2026-03-12 12:00", "2026-03-13 08:00");
        for (others, expected) in [
            (vec![grew("AA-LOAD", before)], vec!["AA-LOAD"]),
            (vec![grew("AA-LOAD", after)], vec!["AA-LOAD"]),
            (
                vec![grew("AA-LOAD", early), good("BC-LOAD", before)],
                vec![],
            ),
            (
                vec![good("AA-LOAD", early), grew("BC-LOAD", before)],
                vec!["BC-LOAD"],
            ),
            (vec![good("AA-LOAD", after), grew("BC-LOAD", late)], vec![]),
            (
                vec![grew("AA-LOAD", after), good("BC-LOAD", late)],
                vec!["AA-LOAD"],
            ),
            (
                vec![grew("AA-LOAD", before), grew("BC-LOAD", after)],
                vec!["AA-LOAD", "BC-LOAD"],
            ),
            (
                vec![
                    grew("AA-LOAD", early),
                    good("BC-LOAD", before),
                    grew("DE-LOAD", after),
                ],
                vec!["DE-LOAD"],
            ),
            // One that was not completed bounds nothing, nor does one whose control did not grow.
            (
                vec![
                    grew("AA-LOAD", early),
                    good("BC-LOAD", before)
                        .replace("completed", "aborted, stage vent, cause operator-stopped"),
                ],
                vec!["AA-LOAD"],
            ),
            (
                vec![
                    grew("AA-LOAD", early),
                    good("BC-LOAD", before)
                        .replace("lot B9", "lot B8")
                        .replace("result growth", "result no growth"),
                ],
                vec!["AA-LOAD"],
            ),
        ] {
            assert_eq!(around(&others, ""), expected, "{others:#?}");
        }
        // A load whose own indicator is satisfactory is in no doubt, unless the policy takes in the last negative one.
        let others = [grew("AA-LOAD", before), grew("BC-LOAD", after)];
        assert_eq!(told(&others, &[], ""), [""; 0]);
        assert_eq!(told(&others, &[], INSIDE), ["BC-LOAD"]);
        // Its own growth is the question of another rule.
        let own = [("result no growth, by MK", "result growth, by MK")];
        assert_eq!(told(&[], &own, ""), [""; 0]);
        assert_eq!(told(&others, &own, ""), ["AA-LOAD", "BC-LOAD"]);
    }

    #[test]
    fn indicator_of_another_program_bounds_nothing_where_scopes_are_of_programs() {
        let (early, before) = ("2026-03-10 08:00", "2026-03-11 08:00");
        let with = |program: &str| {
            let good = load("BC-LOAD", before, "no growth");
            let good = good.replace("program: standard\n", program);
            [load("AA-LOAD", early, "growth"), good]
        };
        let (standard, lumen) = ("program: standard\n", "program: lumen\n");
        assert_eq!(around(&with(standard), ""), [""; 0]);
        assert_eq!(around(&with(standard), PROGRAM), [""; 0]);
        assert_eq!(around(&with(lumen), ""), [""; 0]);
        assert_eq!(around(&with(lumen), PROGRAM), ["AA-LOAD"]);
        assert_eq!(around(&with(""), PROGRAM), ["AA-LOAD"]);
        // A growth of another program is passed over, and what it would have bounded goes on.
        let other = load("BC-LOAD", before, "growth").replace(standard, lumen);
        let others = [load("AA-LOAD", early, "growth"), other];
        assert_eq!(around(&others, PROGRAM), ["AA-LOAD"]);
        assert_eq!(around(&others, ""), ["AA-LOAD", "BC-LOAD"]);
    }

    #[test]
    fn twenty_growths_on_a_side_are_told_and_one_finding_for_the_rest() {
        let others = |n: usize, day: &str| -> Vec<String> {
            (0..n)
                .map(|at| {
                    let letter = |n: usize| char::from(b'A' + u8::try_from(n).unwrap());
                    let number = format!("{0}{0}-{1}{1}-LOAD", letter(at), letter(25 - at));
                    load(&number, &format!("{day} 1{}:{:02}", at / 10, at), "growth")
                })
                .collect()
        };
        for (n, n_told) in [(19, 19), (20, 20), (21, 21), (25, 21)] {
            for day in ["2026-03-11", "2026-03-12"] {
                let told = around(&others(n, day), "");
                assert_eq!(told.len(), n_told, "{n} on {day}");
                assert_eq!(told.contains(&"further".to_owned()), n > 20);
            }
        }
    }
}
