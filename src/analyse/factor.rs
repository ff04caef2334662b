//! What failures gather on: a set, a packaging, a program, a shift, a person, or a set on a shift.
//!
//! Asked of aborts and of rejections alike. The surest factor is taken first; its cycles are taken out and the rest is
//! asked again, so that the shift is not blamed for one kind of load that it runs. Read [`ask_factors`] first.

use super::catalogue::FindingKind;
use super::finding::{Evidence, Finding, Subject};
use super::frame::{CycleRow, UNKNOWN};
use super::question::Question;
use super::strata::{Exposure, Strata};
use super::words::{probability, share, times_as_often};
use crate::record::cause::Cause;
use std::collections::{BTreeMap, BTreeSet};

/// The fewest failures of a cause that are worth asking about: fewer can't gather on anything surely.
const FEWEST_FAILURES: usize = 4;
/// The fewest cycles with a factor.
const FEWEST_EXPOSED: usize = 8;
/// The most rounds: what is left after that is not worth a meeting's time.
const MOST_ROUNDS: usize = 3;

/// Something that a cycle may have in common with others.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Factor {
    /// In words: `ENT scope on the late shift`.
    pub said: String,
    /// Whether it is made of two.
    pub is_pair: bool,
    is_program: bool,
}

/// What of a cycle is asked about.
#[derive(Debug, Clone, Copy)]
pub struct Asked {
    /// The kind of finding that it makes.
    pub kind: FindingKind,
    /// What happened, in the past tense: `aborted`.
    pub happened: &'static str,
}

/// The factors of a cycle.
fn factors_of(row: &CycleRow) -> BTreeSet<Factor> {
    let mut factors = BTreeSet::new();
    let mut add = |said: String, is_pair, is_program| {
        factors.insert(Factor {
            said,
            is_pair,
            is_program,
        });
    };
    let on_shift = format!("on the {} shift", row.shift);
    for family in &row.families {
        add(format!("loads with {family}"), false, false);
        if row.shift != UNKNOWN {
            add(format!("loads with {family} {on_shift}"), true, false);
        }
    }
    for packaging in &row.packagings {
        add(format!("loads with a {packaging}"), false, false);
    }
    if row.shift != UNKNOWN {
        add(format!("cycles {on_shift}"), false, false);
    }
    if row.operator != UNKNOWN {
        add(format!("cycles started by {}", row.operator), false, false);
    }
    if row.program != UNKNOWN {
        add(format!("cycles of program {}", row.program), false, true);
    }
    if row.first_of_day {
        add("first cycles of the day".to_owned(), false, false);
    }
    factors
}

/// Asks on what the failures of one cause gather, among cycles of one process; every comparison goes to `question`.
///
/// `failed` says whether a cycle failed for the cause.
pub fn ask_factors(
    rows: &[&CycleRow],
    failed: &dyn Fn(&CycleRow) -> bool,
    cause: &str,
    asked: Asked,
    question: &mut Question,
) {
    let mut left: Vec<(&CycleRow, bool, BTreeSet<Factor>)> = rows
        .iter()
        .map(|row| (*row, failed(row), factors_of(row)))
        .collect();
    let mut taken: BTreeSet<String> = BTreeSet::new();
    for round in 0..MOST_ROUNDS {
        if left.iter().filter(|(_, failed, _)| *failed).count() < FEWEST_FAILURES {
            return;
        }
        let mut n_exposed: BTreeMap<&Factor, usize> = BTreeMap::new();
        for factor in left.iter().flat_map(|(_, _, factors)| factors) {
            *n_exposed.entry(factor).or_default() += 1;
        }
        let mut found: Vec<(f64, &Factor)> = Vec::new();
        for (factor, n) in &n_exposed {
            if *n < FEWEST_EXPOSED
                || left.len() - n < FEWEST_EXPOSED
                || taken.contains(&factor.said)
            {
                continue;
            }
            let strata = strata_of(&left, factor, By::Unit);
            found.push((
                strata
                    .likelihood()
                    .map_or(1.0, |likelihood| likelihood.p_more()),
                factor,
            ));
        }
        found.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.cmp(b.1)));
        let Some((p, best)) = found.first().map(|(p, factor)| (*p, (*factor).clone())) else {
            return;
        };
        // A second round asks what is left; its comparisons count again.
        for (n, (p, _)) in found.iter().enumerate() {
            if n == 0 {
                question.compare(*p, || say(&left, &best, cause, asked));
            } else {
                question.count(*p);
            }
        }
        // Only what would have stood on its own is taken out.
        if p * found.len() as f64 > asked.kind.accepts() || round + 1 == MOST_ROUNDS {
            return;
        }
        taken.insert(best.said.clone());
        left.retain(|(_, _, factors)| !factors.contains(&best));
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum By {
    Unit,
    UnitAndProgram,
}

fn strata_of<'r>(
    rows: &[(&'r CycleRow, bool, BTreeSet<Factor>)],
    factor: &Factor,
    by: By,
) -> Strata<(&'r str, &'r str)> {
    let mut strata = Strata::new();
    for (row, failed, factors) in rows {
        let program = if by == By::UnitAndProgram {
            row.program.as_str()
        } else {
            ""
        };
        let exposure = Exposure::of(factors.contains(factor));
        strata.count((row.unit.as_str(), program), exposure, *failed);
    }
    strata
}

fn say(
    rows: &[(&CycleRow, bool, BTreeSet<Factor>)],
    factor: &Factor,
    cause: &str,
    asked: Asked,
) -> Finding {
    let strata = strata_of(rows, factor, By::Unit);
    let counts = strata.total();
    let said_cause = Cause::from_word(cause).said().to_owned();
    let subject = Subject {
        cause: Some(cause.to_owned()),
        factor: Some(factor.said.clone()),
        ..Subject::default()
    };
    let said = format!(
        "{} {} for {said_cause} far more often than the rest: {} against {}.",
        capital(&factor.said),
        asked.happened,
        share(counts.exposed_failures, counts.exposed),
        share(counts.other_failures, counts.others),
    );
    let mut finding = Finding::new(asked.kind, subject, said)
        .of_matter(format!("{:?} {cause} {}", asked.kind, factor.said));
    if let Some(likelihood) = strata.likelihood() {
        finding.effect = Some(times_as_often(
            counts,
            &likelihood,
            "among the rest in the same units",
        ));
    }
    if factor.is_pair {
        finding.also.extend(parts_alone(rows, factor));
    }
    if !factor.is_program {
        let within = strata_of(rows, factor, By::UnitAndProgram).likelihood();
        finding.else_explains.push(match within.map(|likelihood| likelihood.p_more()) {
            Some(p) if p <= 0.05 => format!(
                "The program does not explain it: within unit and program the difference stands (p {}).",
                probability(p)
            ),
            Some(p) => format!(
                "The program may explain it: within unit and program the difference is less sure (p {}).",
                probability(p)
            ),
            None => "The program may explain it: the records can't tell the two apart.".to_owned(),
        });
    }
    finding.else_explains.push(
        "Whoever and whatever comes with these loads: drying, packing, time pressure, the room."
            .to_owned(),
    );
    let evidence = rows
        .iter()
        .filter(|(_, failed, factors)| *failed && factors.contains(factor))
        .map(|(row, _, _)| Evidence {
            day: row.day(),
            said: format!("{} {}", row.name, asked.happened),
            span: row.span,
        })
        .collect();
    finding.resting_on(evidence)
}

/// The four cells of a pair: with and without each part.
fn parts_alone(rows: &[(&CycleRow, bool, BTreeSet<Factor>)], pair: &Factor) -> Vec<String> {
    let Some((family, shift)) = pair.said.rsplit_once(" on the ") else {
        return Vec::new();
    };
    let shift = format!("cycles on the {shift}");
    let mut said = Vec::new();
    for (with_set, with_shift, words) in [
        (true, false, format!("{family} on other shifts")),
        (false, true, format!("other {shift}")),
        (false, false, "all others".to_owned()),
    ] {
        let has =
            |factors: &BTreeSet<Factor>, said: &str| factors.iter().any(|one| one.said == said);
        let cell: Vec<bool> = rows
            .iter()
            .filter(|(_, _, factors)| {
                has(factors, family) == with_set && has(factors, &shift) == with_shift
            })
            .map(|(_, failed, _)| *failed)
            .collect();
        let n_failed = cell.iter().filter(|failed| **failed).count();
        said.push(format!(
            "{}: {}.",
            capital(&words),
            share(n_failed as u32, cell.len() as u32)
        ));
    }
    said
}

/// The same with a capital first letter.
pub fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(chars).collect()
    })
}
