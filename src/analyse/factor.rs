//! What failures gather on: a set, a packaging, a program, a shift, a person, or a set on a shift.
//!
//! Asked of aborts and of rejections alike. The surest factor is taken first; its cycles are taken out and the rest is
//! asked again, so that the shift is not blamed for one kind of load that it runs. Read [`ask_factors`] first.

use super::aborts::cause_named;
use super::catalogue::FindingKind;
use super::finding::{Evidence, Finding, Subject};
use super::frame::{CycleRow, UNKNOWN};
use super::phrase::{Arg, Phrase, capital, probability, term};
use super::question::Question;
use super::strata::{Counts, Exposure, Strata};
use super::words::times_as_often;
use crate::measure::count::Counting;
use std::collections::{BTreeMap, BTreeSet};

/// The fewest failures of a cause that are worth asking about: fewer can't gather on anything surely.
pub(super) const FEWEST_FAILURES: usize = 4;
/// The fewest cycles with a factor.
const FEWEST_EXPOSED: usize = 8;
/// The most rounds: what is left after that is not worth a meeting's time.
const MOST_ROUNDS: usize = 3;

/// Something that a cycle may have in common with others.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Factor {
    /// The program.
    Program(String),
    /// The shift.
    Shift(&'static str),
    /// Who started it.
    Operator(String),
    /// Being the first cycle of the day.
    FirstOfDay,
    /// A kind of set in the load.
    Family(String),
    /// A kind of set in the load, on a shift.
    FamilyOnShift(String, &'static str),
    /// A packaging in the load.
    Packaging(String),
}

impl Factor {
    /// The cycles or loads that have it.
    fn said(&self) -> Phrase {
        match self {
            Factor::Program(program) => Phrase::of("factor-program").and("program", program),
            Factor::Shift(shift) => Phrase::of("factor-shift").and("shift", term("shift", shift)),
            Factor::Operator(mark) => Phrase::of("factor-operator").and("operator", mark),
            Factor::FirstOfDay => Phrase::of("factor-first-of-day"),
            Factor::Family(_) | Factor::FamilyOnShift(..) | Factor::Packaging(_) => {
                Phrase::of("factor-loads-with").and("what", self.named())
            }
        }
    }

    /// The same in few words.
    fn named(&self) -> Phrase {
        match self {
            Factor::Family(family) => Phrase::name(family),
            Factor::FamilyOnShift(family, shift) => Phrase::of("factor-on-shift")
                .and("what", family)
                .and("shift", term("shift", shift)),
            Factor::Packaging(packaging) => {
                Phrase::of("factor-packaging").and("packaging", packaging)
            }
            _ => self.said(),
        }
    }
}

/// What of a cycle is asked about.
#[derive(Debug, Clone, Copy)]
pub struct Asked {
    /// The kind of finding that it makes.
    pub kind: FindingKind,
    /// What happened, in the keys of the messages.
    pub happened: &'static str,
}

/// The factors of a cycle.
fn factors_of(row: &CycleRow) -> BTreeSet<Factor> {
    let mut factors = BTreeSet::new();
    for family in &row.families {
        factors.insert(Factor::Family(family.clone()));
        if row.shift != UNKNOWN {
            factors.insert(Factor::FamilyOnShift(family.clone(), row.shift));
        }
    }
    for packaging in &row.packagings {
        factors.insert(Factor::Packaging(packaging.clone()));
    }
    if row.shift != UNKNOWN {
        factors.insert(Factor::Shift(row.shift));
    }
    if row.operator != UNKNOWN {
        factors.insert(Factor::Operator(row.operator.clone()));
    }
    if row.program != UNKNOWN {
        factors.insert(Factor::Program(row.program.clone()));
    }
    if row.first_of_day {
        factors.insert(Factor::FirstOfDay);
    }
    factors
}

/// Cycles of one process with their factors by number, so that counting costs no more than there are factors in cycles.
/// They are numbered once for all causes.
pub struct Factored<'r> {
    factors: Vec<Factor>,
    rows: Vec<(&'r CycleRow, Vec<usize>)>,
}

impl<'r> Factored<'r> {
    /// The factors of these cycles.
    pub fn of(rows: &[&'r CycleRow]) -> Self {
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
                (*row, own)
            })
            .collect();
        Factored {
            factors: all.into_iter().cloned().collect(),
            rows: numbered,
        }
    }
}

/// Cycles with their factors, and whether they failed for the cause that is asked about.
struct Rows<'f, 'r> {
    factors: &'f [Factor],
    rows: Vec<(&'r CycleRow, bool, &'f [usize])>,
}

impl<'f, 'r> Rows<'f, 'r> {
    fn of(factored: &'f Factored<'r>, failed: &dyn Fn(&CycleRow) -> bool) -> Self {
        Rows {
            factors: &factored.factors,
            rows: factored
                .rows
                .iter()
                .map(|(row, factors)| (*row, failed(row), factors.as_slice()))
                .collect(),
        }
    }

    /// The exact test of every factor with enough cycles on both sides, over units; surest first.
    fn test_all(&self) -> Vec<(f64, usize)> {
        type Count = (u32, u32);
        let mut units: BTreeMap<&str, Count> = BTreeMap::new();
        let mut by_factor: Vec<BTreeMap<&str, Count>> = vec![BTreeMap::new(); self.factors.len()];
        let add = |(n, n_failed): &mut Count, failed: bool| {
            n.add_one();
            n_failed.add_many(u32::from(failed));
        };
        for (row, failed, factors) in &self.rows {
            add(units.entry(&row.unit).or_default(), *failed);
            for factor in *factors {
                if let Some(counts) = by_factor.get_mut(*factor) {
                    add(counts.entry(&row.unit).or_default(), *failed);
                }
            }
        }
        let mut tested = Vec::new();
        for (factor, own) in by_factor.iter().enumerate() {
            let n_exposed: u32 = own.values().map(|(n, _)| n).sum();
            let n_exposed = n_exposed as usize;
            if n_exposed < FEWEST_EXPOSED
                || self.rows.len().saturating_sub(n_exposed) < FEWEST_EXPOSED
            {
                continue;
            }
            // Units without the factor tell nothing of it.
            let strata: Strata<&str> = own
                .iter()
                .map(|(unit, (exposed, exposed_failures))| {
                    let (n, n_failed) = units.get(unit).copied().unwrap_or_default();
                    let counts = Counts::among((*exposed_failures, *exposed), (n_failed, n));
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
    factored: &Factored<'_>,
    failed: &dyn Fn(&CycleRow) -> bool,
    cause: &str,
    asked: Asked,
    question: &mut Question,
) {
    let mut left = Rows::of(factored, failed);
    for _ in 0..MOST_ROUNDS {
        if left.n_failed() < FEWEST_FAILURES {
            return;
        }
        let tested = left.test_all();
        let Some((p, best)) = tested.first().copied() else {
            return;
        };
        if let Some(factor) = left.factors.get(best) {
            question.compare(p, || say(&left, (best, factor), cause, asked));
        }
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

fn say(
    rows: &Rows<'_, '_>,
    (best, factor): (usize, &Factor),
    cause: &str,
    asked: Asked,
) -> Finding {
    let strata = rows.strata_of(best, By::Unit);
    let counts = strata.total();
    let subject = Subject {
        cause: Some(cause.to_owned()),
        factor: Some(factor.named()),
        ..Subject::default()
    };
    let said = Phrase::of(format!("{}-said", asked.happened))
        .and("factor", capital(factor.said()))
        .and("cause", cause_named(cause))
        .and("own", Arg::Share(counts.exposed_failures, counts.exposed))
        .and("others", Arg::Share(counts.other_failures, counts.others));
    let mut finding = Finding::new(asked.kind, subject, said)
        .of_matter(format!("{:?} {cause} {factor:?}", asked.kind));
    if let Some(likelihood) = strata.likelihood() {
        finding.effect = Some(times_as_often(
            counts,
            &likelihood,
            Phrase::of("among-rest"),
        ));
    }
    if let Factor::FamilyOnShift(family, shift) = factor {
        finding.also.extend(parts_alone(rows, family, shift));
    }
    if !matches!(factor, Factor::Program(_)) {
        let within = rows.strata_of(best, By::UnitAndProgram).likelihood();
        finding
            .else_explains
            .push(match within.map(|likelihood| likelihood.p_more()) {
                Some(p) if p <= 0.05 => {
                    Phrase::of("factor-else-not-program").and("p", probability(p))
                }
                Some(p) => Phrase::of("factor-else-perhaps-program").and("p", probability(p)),
                None => Phrase::of("factor-else-program-open"),
            });
    }
    finding
        .else_explains
        .push(Phrase::of("factor-else-comes-with"));
    let evidence = rows
        .rows
        .iter()
        .filter(|(_, failed, factors)| *failed && factors.contains(&best))
        .map(|(row, _, _)| Evidence {
            day: row.day(),
            said: Phrase::of(format!("evidence-{}", asked.happened)).and("record", &row.name),
            span: row.span,
        })
        .collect();
    finding.resting_on(evidence)
}

/// The other three cells of a pair: the set alone, the shift alone, neither.
fn parts_alone(rows: &Rows<'_, '_>, family: &str, shift: &'static str) -> Vec<Phrase> {
    let number = |factor: &Factor| rows.factors.iter().position(|other| other == factor);
    let (Some(family_number), Some(shift_number)) = (
        number(&Factor::Family(family.to_owned())),
        number(&Factor::Shift(shift)),
    ) else {
        return Vec::new();
    };
    let mut said = Vec::new();
    for (with_set, with_shift, key) in [
        (true, false, "factor-set-alone"),
        (false, true, "factor-shift-alone"),
        (false, false, "factor-neither"),
    ] {
        let (mut n, mut n_failed) = (0_u32, 0_u32);
        for (_, failed, factors) in &rows.rows {
            if factors.contains(&family_number) == with_set
                && factors.contains(&shift_number) == with_shift
            {
                n.add_one();
                n_failed.add_many(u32::from(*failed));
            }
        }
        said.push(
            Phrase::of(key)
                .and("what", family)
                .and("shift", term("shift", shift))
                .and("share", Arg::Share(n_failed, n)),
        );
    }
    said
}
