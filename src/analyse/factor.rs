//! What failures gather on: a set, a packaging, a program, a shift, a person, or a set on a shift.
//!
//! Asked of aborts and of rejections alike. The surest factor is taken first; its cycles are taken out and the rest is
//! asked again, so that the shift is not blamed for one kind of load that it runs. Read [`ask_factors`] first.

use super::catalogue::FindingKind;
use super::finding::{Evidence, Finding, Subject};
use super::frame::{CycleRow, UNKNOWN};
use super::question::Question;
use super::strata::{Counts, Exposure, Strata};
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

/// Cycles with their factors by number, so that counting costs no more than there are factors in cycles.
struct Rows<'r> {
    factors: Vec<Factor>,
    rows: Vec<(&'r CycleRow, bool, Vec<usize>)>,
}

impl<'r> Rows<'r> {
    fn of(rows: &[&'r CycleRow], failed: &dyn Fn(&CycleRow) -> bool) -> Self {
        let of_rows: Vec<BTreeSet<Factor>> = rows.iter().map(|row| factors_of(row)).collect();
        let all: BTreeSet<&Factor> = of_rows.iter().flatten().collect();
        let numbers: BTreeMap<&Factor, usize> = all.iter().copied().zip(0..).collect();
        let numbered = rows
            .iter()
            .zip(&of_rows)
            .map(|(row, factors)| {
                let own = factors
                    .iter()
                    .filter_map(|factor| numbers.get(factor).copied())
                    .collect();
                (*row, failed(row), own)
            })
            .collect();
        Rows {
            factors: all.into_iter().cloned().collect(),
            rows: numbered,
        }
    }

    /// The exact test of every factor with enough cycles on both sides, over units; surest first.
    fn test_all(&self) -> Vec<(f64, usize)> {
        type Count = (u32, u32);
        let mut units: BTreeMap<&str, Count> = BTreeMap::new();
        let mut by_factor: Vec<BTreeMap<&str, Count>> = vec![BTreeMap::new(); self.factors.len()];
        let add = |(n, n_failed): &mut Count, failed: bool| {
            *n += 1;
            *n_failed += u32::from(failed);
        };
        for (row, failed, factors) in &self.rows {
            add(units.entry(&row.unit).or_default(), *failed);
            for factor in factors {
                if let Some(counts) = by_factor.get_mut(*factor) {
                    add(counts.entry(&row.unit).or_default(), *failed);
                }
            }
        }
        let mut tested = Vec::new();
        for (factor, own) in by_factor.iter().enumerate() {
            let n_exposed: u32 = own.values().map(|(n, _)| n).sum();
            let n_exposed = n_exposed as usize;
            if n_exposed < FEWEST_EXPOSED || self.rows.len() - n_exposed < FEWEST_EXPOSED {
                continue;
            }
            let strata: Strata<&str> = units
                .iter()
                .map(|(unit, (n, n_failed))| {
                    let (exposed, exposed_failures) = own.get(unit).copied().unwrap_or_default();
                    let counts = Counts {
                        exposed_failures,
                        exposed,
                        other_failures: n_failed - exposed_failures,
                        others: n - exposed,
                    };
                    (*unit, counts)
                })
                .collect();
            tested.push((
                strata
                    .likelihood()
                    .map_or(1.0, |likelihood| likelihood.p_more()),
                factor,
            ));
        }
        tested.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        tested
    }

    fn strata_of(&self, factor: usize, by: By) -> Strata<(&'r str, &'r str)> {
        let mut strata = Strata::new();
        for (row, failed, factors) in &self.rows {
            let program = match by {
                By::Unit => "",
                By::UnitAndProgram => row.program.as_str(),
            };
            let exposure = Exposure::of(factors.contains(&factor));
            strata.count((row.unit.as_str(), program), exposure, *failed);
        }
        strata
    }

    fn n_failed(&self) -> usize {
        self.rows.iter().filter(|(_, failed, _)| *failed).count()
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum By {
    Unit,
    UnitAndProgram,
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
    let mut left = Rows::of(rows, failed);
    for _ in 0..MOST_ROUNDS {
        if left.n_failed() < FEWEST_FAILURES {
            return;
        }
        let tested = left.test_all();
        let Some((p, best)) = tested.first().copied() else {
            return;
        };
        question.compare(p, || say(&left, best, cause, asked));
        for (p, _) in tested.iter().skip(1) {
            question.count(*p);
        }
        // Only what would have stood on its own is taken out; then what is left is asked, and its comparisons count too.
        if p * tested.len() as f64 > asked.kind.accepts() {
            return;
        }
        left.rows.retain(|(_, _, factors)| !factors.contains(&best));
    }
}

fn say(rows: &Rows<'_>, best: usize, cause: &str, asked: Asked) -> Finding {
    let nothing = Factor {
        said: String::new(),
        is_pair: false,
        is_program: false,
    };
    let factor = rows.factors.get(best).unwrap_or(&nothing);
    let strata = rows.strata_of(best, By::Unit);
    let counts = strata.total();
    let said_cause = Cause::from_word(cause).said().to_owned();
    let subject = Subject {
        cause: Some(cause.to_owned()),
        factor: Some(factor.said.clone()),
        ..Subject::default()
    };
    let said = format!(
        "{} {} for {said_cause} more often than the rest: {} against {}.",
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
        let within = rows.strata_of(best, By::UnitAndProgram).likelihood();
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
        .rows
        .iter()
        .filter(|(_, failed, factors)| *failed && factors.contains(&best))
        .map(|(row, _, _)| Evidence {
            day: row.day(),
            said: format!("{} {}", row.name, asked.happened),
            span: row.span,
        })
        .collect();
    finding.resting_on(evidence)
}

/// The other three cells of a pair: the set alone, the shift alone, neither.
fn parts_alone(rows: &Rows<'_>, pair: &Factor) -> Vec<String> {
    let Some((family, shift)) = pair.said.rsplit_once(" on the ") else {
        return Vec::new();
    };
    let shift = format!("cycles on the {shift}");
    let number = |said: &str| rows.factors.iter().position(|factor| factor.said == said);
    let (Some(family_number), Some(shift_number)) = (number(family), number(&shift)) else {
        return Vec::new();
    };
    let mut said = Vec::new();
    for (with_set, with_shift, words) in [
        (true, false, format!("{family} on other shifts")),
        (false, true, format!("other {shift}")),
        (false, false, "all others".to_owned()),
    ] {
        let mut cell = (0, 0);
        for (_, failed, factors) in &rows.rows {
            if factors.contains(&family_number) == with_set
                && factors.contains(&shift_number) == with_shift
            {
                cell = (cell.0 + u32::from(*failed), cell.1 + 1);
            }
        }
        said.push(format!("{}: {}.", capital(&words), share(cell.0, cell.1)));
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
