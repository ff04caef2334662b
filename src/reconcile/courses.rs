//! A completed cycle whose stages or limits are not those that nearly all cycles of its unit and program have.
//!
//! A program runs the same course each time, so a stage that one strip alone lacks, or a limit that it alone has, was
//! changed on the strip or in the unit. Knows cycles in order of unit and time. Read [`find_other_courses`].

use super::history::KnownCycle;
use super::said::cycle_said;
use crate::diagnose::Diagnostic;
use crate::diagnose::codes::Code;
use crate::measure::count::Counting;
use crate::record::cycle::{Cycle, Limit, Outcome, Purpose, StageName};
use std::collections::BTreeMap;

/// How many cycles must agree before one that doesn't is worth a word. Common practice, no source.
const N_AGREEING: usize = 8;
/// How many of a hundred cycles must agree.
const PERCENT_AGREEING: usize = 80;
/// How many different courses of a program are told apart. A program with more has no usual one.
const N_COURSES: usize = 32;

/// Values with how often each came, in the order in which they first came.
struct Tally<T> {
    seen: Vec<(T, usize)>,
    n: usize,
}

impl<T: PartialEq> Tally<T> {
    fn of(values: impl Iterator<Item = T>) -> Self {
        let mut tally = Tally {
            seen: Vec::new(),
            n: 0,
        };
        for value in values {
            tally.n.add_one();
            if let Some((_, count)) = tally.seen.iter_mut().find(|(known, _)| *known == value) {
                count.add_one();
            } else if tally.seen.len() < N_COURSES {
                tally.seen.push((value, 1));
            }
        }
        tally
    }

    /// The value that nearly all have, and how many have it.
    fn usual(&self) -> Option<(&T, usize)> {
        let (value, count) = self.seen.iter().max_by_key(|(_, count)| *count)?;
        let least = self.n.saturating_mul(PERCENT_AGREEING);
        let is_usual = *count >= N_AGREEING && count.saturating_mul(100) >= least;
        is_usual.then_some((value, *count))
    }
}

fn names(cycle: &Cycle) -> Vec<&StageName> {
    cycle.stages.iter().map(|stage| &stage.name).collect()
}

/// Says which completed cycles took another course.
pub(super) fn find_other_courses(cycles: &[KnownCycle], diagnostics: &mut Vec<Diagnostic>) {
    let mut programs: BTreeMap<(&str, Purpose, &str), Vec<&Cycle>> = BTreeMap::new();
    for cycle in cycles.iter().map(|known| &known.cycle) {
        let is_whole = cycle.closed
            && cycle.outcome.as_ref().is_some_and(|outcome| {
                matches!(outcome.value, Outcome::Completed | Outcome::Passed)
            });
        if let (true, Some(unit), Some(program)) = (is_whole, &cycle.unit, &cycle.program) {
            let key = (unit.value.as_str(), cycle.purpose, program.value.as_str());
            programs.entry(key).or_default().push(cycle);
        }
    }
    for ((_, _, program), cycles) in programs {
        let courses = Tally::of(cycles.iter().map(|cycle| names(cycle)));
        let Some((usual, n)) = courses.usual() else {
            continue;
        };
        let (same, other): (Vec<&Cycle>, Vec<&Cycle>) = cycles
            .iter()
            .copied()
            .partition(|cycle| names(cycle) == *usual);
        for cycle in other {
            let told: Vec<&str> = usual.iter().map(|name| name.word()).collect();
            diagnostics.push(
                Diagnostic::at(
                    Code::CourseDiffers,
                    cycle.opening,
                    format!(
                        "{} has other stages than {n} cycles of its program `{program}`: {}",
                        cycle_said(cycle),
                        told.join(", ")
                    ),
                )
                .caption("begins here"),
            );
        }
        for at in 0..usual.len() {
            let limits = |cycle: &Cycle| -> Vec<Limit> {
                cycle
                    .stages
                    .get(at)
                    .map_or(Vec::new(), |stage| stage.limits.clone())
            };
            let of_stage = Tally::of(same.iter().map(|cycle| limits(cycle)));
            let Some((usual, n)) = of_stage.usual() else {
                continue;
            };
            for cycle in &same {
                let Some(stage) = cycle.stages.get(at).filter(|stage| stage.limits != *usual)
                else {
                    continue;
                };
                diagnostics.push(Diagnostic::at(
                    Code::CourseDiffers,
                    stage.span,
                    format!(
                        "{} has other limits in the stage {} than {n} cycles of its program `{program}`",
                        cycle_said(cycle),
                        stage.name.word()
                    ),
                ));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Tally;
    use crate::diagnose::codes::Code;
    use crate::measure::quantity::Temperature;
    use crate::measure::unit::TemperatureUnit;
    use crate::reconcile::case::{cycle, london, with};
    use crate::reconcile::join_history;
    use crate::record::Spanned;
    use crate::record::cycle::{Bound, Cycle, Limit, LimitValue, Measured, Outcome};
    use crate::record::name::Program;

    fn row(n: u32, n_stages: impl Fn(u32) -> usize) -> Vec<Cycle> {
        (1..=n)
            .map(|nr| {
                let mut case = cycle(20 * nr, "PL-1", nr, &format!("2026-03-{nr:02} 08:00"));
                for stage in 0..n_stages(nr) {
                    case = case.reading(60 * i32::try_from(stage).unwrap(), 45.0);
                }
                let mut cycle = case.done();
                cycle.program = Some(Spanned::new(Program("standard".to_owned()), cycle.opening));
                cycle
            })
            .collect()
    }

    fn n_said(cycles: Vec<Cycle>) -> usize {
        let (_, said) = join_history(cycles, Vec::new(), london());
        with(&said, Code::CourseDiffers).len()
    }

    #[test]
    fn one_cycle_that_lacks_a_stage_is_found() {
        assert_eq!(n_said(row(9, |nr| if nr == 4 { 2 } else { 3 })), 1);
        assert_eq!(n_said(row(9, |_| 3)), 0);
    }

    #[test]
    fn program_with_two_courses_has_no_usual_one() {
        assert_eq!(n_said(row(20, |nr| if nr % 3 == 0 { 2 } else { 3 })), 0);
    }

    #[test]
    fn usual_is_what_eight_and_four_of_five_have() {
        let usual = |n_a: usize, n_b: usize| {
            let values = std::iter::repeat_n('a', n_a).chain(std::iter::repeat_n('b', n_b));
            Tally::of(values).usual().map(|(value, n)| (*value, n))
        };
        assert_eq!(usual(8, 0), Some(('a', 8)));
        assert_eq!(usual(7, 0), None);
        assert_eq!(usual(8, 2), Some(('a', 8)));
        assert_eq!(usual(8, 3), None);
        assert_eq!(usual(0, 9), Some(('b', 9)));
        assert_eq!(usual(0, 0), None);
    }

    #[test]
    fn thirty_two_courses_are_told_apart_and_the_rest_only_counted() {
        let tally = Tally::of((0..40).chain(0..8));
        assert_eq!((tally.seen.len(), tally.n), (32, 48));
        assert_eq!(tally.seen[7], (7, 2));
        assert_eq!(tally.seen[31], (31, 1));
    }

    #[test]
    fn one_cycle_with_another_limit_is_found() {
        let limit = |celsius| Limit {
            bound: Bound::Max,
            value: LimitValue::Measured(Measured::Temperature(Temperature::new(
                celsius,
                TemperatureUnit::Celsius,
            ))),
        };
        let mut cycles = row(9, |_| 3);
        for cycle in &mut cycles {
            cycle.stages[1].limits = vec![limit(55.0)];
        }
        assert_eq!(n_said(cycles.clone()), 0);
        cycles[6].stages[1].limits = vec![limit(60.0)];
        let (_, said) = join_history(cycles, Vec::new(), london());
        let said = with(&said, Code::CourseDiffers);
        assert_eq!(said.len(), 1);
        assert_eq!(
            said[0].headline,
            "PL-1 cycle 7 has other limits in the stage plasma than 8 cycles of its program `standard`"
        );
    }

    #[test]
    fn torn_and_aborted_cycles_are_not_held_against_the_others() {
        let mut cycles = row(11, |nr| if nr < 3 { 2 } else { 3 });
        cycles[0].closed = false;
        cycles[1].outcome = Some(Spanned::new(
            Outcome::Aborted {
                stage: None,
                cause: None,
            },
            cycles[1].opening,
        ));
        assert_eq!(n_said(cycles.clone()), 0);
        cycles[0].closed = true;
        assert_eq!(n_said(cycles), 1);
    }
}
