//! Lots of consumables: whether the failures follow a lot or a unit, and what the records can't tell.
//!
//! A lot is compared with other lots within each unit and program, and a unit with its sisters within each lot, so that
//! neither is blamed for the other. A lot that was used in one unit only can't be told from that unit's days; then the
//! finding says so and says how many uses elsewhere would tell. Read [`find_lots`] first.

use super::Asking;
use super::aborts::cause_named;
use super::catalogue::FindingKind;
use super::finding::{Attribution, Evidence, Finding, Subject};
use super::frame::{CycleRow, Ending, Frame, IndicatorRow, UNKNOWN, rows_by};
use super::phrase::{Arg, Joining, Phrase, list, number, probability, term};
use super::question::Question;
use super::strata::{Counts, Exposure, Likelihood, Strata};
use super::words::times_as_often;
use crate::diagnose::Span;
use crate::measure::count::Counting;
use crate::record::cause::Cause;
use crate::record::cycle::Purpose;
use chrono::NaiveDate;
use polars::prelude::PolarsResult;
use std::collections::{BTreeMap, BTreeSet};

/// The causes that a lot of sterilant can have. An expired lot is refused for its date, not for what is in it.
pub const STERILANT_CAUSES: &[Cause] = &[
    Cause::InjectionLow,
    Cause::ConcentrationLow,
    Cause::SterilantUnread,
    Cause::HumidityLow,
];
/// The causes that a lot of packaging can have.
pub const PACKAGING_CAUSES: &[Cause] = &[Cause::Moisture, Cause::PackageContact];
/// The fewest failures of a lot or a unit that are called a finding.
pub const FEWEST_FAILURES: u32 = 3;
/// The p at or below which the rest of the records counts as showing the same.
const SHOWS_TOO: f64 = 0.05;
/// A lot's rate is asked to be at least so many times that of the others.
const DOUBLE: f64 = 2.0;

/// One use of a lot.
struct Use<'r> {
    unit: &'r str,
    program: &'r str,
    lot: &'r str,
    failed: bool,
    day: Option<NaiveDate>,
    span: Span,
    record: &'r str,
    shown: Shown<'r>,
}

/// What a use showed, for whoever quotes it; few uses are quoted, so that it is put in words only then.
enum Shown<'r> {
    /// What an indicator showed.
    Indicator(&'static str),
    /// What was printed as the cause.
    Cause(&'r str),
}

/// What a question about lots is about.
#[derive(Clone, Copy)]
struct About<'a> {
    lot_kind: FindingKind,
    unit_kind: Option<FindingKind>,
    /// The sort of lot: `internal CI, plasma`.
    sort: &'a str,
    /// What is counted and what went wrong with it, in the keys of the messages.
    counted: &'static str,
}

/// Asks all questions about lots.
///
/// # Errors
/// Those of the table library.
pub fn find_lots(frame: &Frame, asking: &mut Asking) -> PolarsResult<()> {
    let mut lots = Question::of(FindingKind::IndicatorLot);
    let mut units = Question::of(FindingKind::IndicatorUnit);
    for (key, rows) in rows_by(&frame.indicator_table, &["sort"])? {
        let sort = key.first().map_or(UNKNOWN, String::as_str);
        let uses: Vec<Use<'_>> = rows
            .iter()
            .filter_map(|row| frame.indicators.get(*row))
            // One growth is a finding of its own; it needs no rate.
            .filter(|row| row.role.is_none() || row.sort.starts_with("BI control"))
            .map(use_of_indicator)
            .collect();
        let about = About {
            lot_kind: FindingKind::IndicatorLot,
            unit_kind: Some(FindingKind::IndicatorUnit),
            sort,
            counted: "indicators",
        };
        ask(&uses, about, &mut lots, &mut units);
    }
    asking.take(FindingKind::IndicatorLot, lots.answer());
    asking.take(FindingKind::IndicatorUnit, units.answer());

    let mut supplies = Question::of(FindingKind::SupplyLot);
    let mut unused = Question::of(FindingKind::IndicatorUnit);
    let loads: Vec<&CycleRow> = frame
        .cycles
        .iter()
        .filter(|row| row.purpose == Purpose::Load && row.ending != Ending::Unknown)
        .collect();
    let mut processes: BTreeSet<&str> = loads.iter().map(|row| row.process).collect();
    processes.remove(UNKNOWN);
    for process in processes {
        let own = || {
            loads
                .iter()
                .copied()
                .filter(move |row| row.process == process)
        };
        let sterilant: Vec<Use<'_>> = own()
            .filter_map(|row| {
                Some(use_of_cycle(
                    row,
                    row.sterilant_lot.as_deref()?,
                    speaks_of_sterilant(row),
                ))
            })
            .collect();
        let sort = format!("sterilant, {process}");
        let about = About {
            lot_kind: FindingKind::SupplyLot,
            unit_kind: None,
            sort: &sort,
            counted: "sterilant",
        };
        ask(&sterilant, about, &mut supplies, &mut unused);
        let packaging: Vec<Use<'_>> = own()
            .flat_map(|row| {
                row.packaging_lots
                    .iter()
                    .map(move |lot| use_of_cycle(row, lot, speaks_of_packaging(row)))
            })
            .collect();
        let sort = format!("packaging, {process}");
        let about = About {
            lot_kind: FindingKind::SupplyLot,
            unit_kind: None,
            sort: &sort,
            counted: "packaging",
        };
        ask(&packaging, about, &mut supplies, &mut unused);
    }
    asking.take(FindingKind::SupplyLot, supplies.answer());
    Ok(())
}

/// Whether a cycle failed for a cause that a lot of sterilant can have.
fn speaks_of_sterilant(row: &CycleRow) -> bool {
    matches!(row.ending, Ending::Aborted | Ending::Rejected)
        && STERILANT_CAUSES.contains(&Cause::from_word(&row.cause))
}

fn speaks_of_packaging(row: &CycleRow) -> bool {
    matches!(row.ending, Ending::Aborted | Ending::Rejected)
        && PACKAGING_CAUSES.contains(&Cause::from_word(&row.cause))
}

fn use_of_indicator(row: &IndicatorRow) -> Use<'_> {
    Use {
        unit: &row.unit,
        program: &row.program,
        lot: &row.lot,
        failed: row.failed,
        day: row.at.map(|at| at.date()),
        span: row.span,
        record: &row.unit,
        shown: Shown::Indicator(row.shown),
    }
}

fn use_of_cycle<'r>(row: &'r CycleRow, lot: &'r str, failed: bool) -> Use<'r> {
    Use {
        unit: &row.unit,
        program: &row.program,
        lot,
        failed,
        day: row.day(),
        span: row.span,
        record: &row.name,
        shown: Shown::Cause(&row.cause),
    }
}

fn p_of(strata: &Strata<(&str, &str)>) -> Option<f64> {
    strata.likelihood().map(|likelihood| likelihood.p_more())
}

fn ask(uses: &[Use<'_>], about: About<'_>, lots: &mut Question, units: &mut Question) {
    // With so few failures in all, no lot and no unit could come to a finding, however they fell: such comparisons need no
    // correction and are not counted (Tarone, Biometrics 46, 1990, 515-522).
    if uses.iter().filter(|one| one.failed).count() < FEWEST_FAILURES as usize {
        return;
    }
    let lot_names: BTreeSet<&str> = uses
        .iter()
        .map(|one| one.lot)
        .filter(|lot| *lot != UNKNOWN)
        .collect();
    let unit_names: BTreeSet<&str> = uses.iter().map(|one| one.unit).collect();
    let by_lot = ByLot::of(uses);
    for lot in &lot_names {
        ask_lot(&by_lot, lot, about, lots);
    }
    if let Some(kind) = about.unit_kind
        && unit_names.len() > 1
    {
        for unit in &unit_names {
            ask_unit(uses, &by_lot, unit, kind, about, units);
        }
    }
}

/// Uses and failures by unit and program, of all lots and of each: a lot is set against the others by subtraction, so
/// that asking of every lot takes no longer than counting once.
struct ByLot<'u, 'r> {
    all: ByPlace<'r>,
    of_lot: BTreeMap<&'r str, ByPlace<'r>>,
    /// The uses of each lot that failed.
    failed: BTreeMap<&'r str, Vec<&'u Use<'r>>>,
}

/// Uses and failures by unit and program.
type ByPlace<'r> = BTreeMap<(&'r str, &'r str), (u32, u32)>;

impl<'u, 'r> ByLot<'u, 'r> {
    fn of(uses: &'u [Use<'r>]) -> Self {
        let mut by_lot = ByLot {
            all: BTreeMap::new(),
            of_lot: BTreeMap::new(),
            failed: BTreeMap::new(),
        };
        for one in uses {
            let key = (one.unit, one.program);
            let of_lot = by_lot.of_lot.entry(one.lot).or_default();
            for counts in [&mut by_lot.all, of_lot] {
                let (n, n_failed) = counts.entry(key).or_default();
                n.add_one();
                n_failed.add_many(u32::from(one.failed));
            }
            if one.failed {
                by_lot.failed.entry(one.lot).or_default().push(one);
            }
        }
        by_lot
    }

    /// Where a lot was used, in order of unit and program, how often, and how often it failed there.
    fn places(&self, lot: &str) -> impl Iterator<Item = (&'r str, &'r str, (u32, u32))> {
        let places = self.of_lot.get(lot).into_iter().flatten();
        places.map(|((unit, program), counts)| (*unit, *program, *counts))
    }

    /// A unit against the others, within each lot, of some, and program.
    fn unit_within_lots(
        &self,
        unit: &str,
        keep: impl Fn(&str) -> bool,
    ) -> Strata<(&'r str, &'r str)> {
        let mut strata = Strata::new();
        for lot in self.of_lot.keys().filter(|lot| keep(lot)) {
            for (place, program, (n, n_failed)) in self.places(lot) {
                let exposure = Exposure::of(place == unit);
                strata.count_many((*lot, program), exposure, (n_failed, n));
            }
        }
        strata
    }

    /// How often a lot was used, and failed.
    fn total(&self, lot: &str) -> (u32, u32) {
        let mut sum = (0, 0);
        for (_, _, (n, n_failed)) in self.places(lot) {
            sum.0.add_many(n);
            sum.1.add_many(n_failed);
        }
        sum
    }

    /// A lot against the others, within each unit and program.
    fn within(&self, lot: &str) -> Strata<(&'r str, &'r str)> {
        self.within_units(lot, |_| true)
    }

    /// The same in some units.
    fn within_units(&self, lot: &str, keep: impl Fn(&str) -> bool) -> Strata<(&'r str, &'r str)> {
        let of_lot = self.of_lot.get(lot);
        self.all
            .iter()
            .filter(|((unit, _), _)| keep(unit))
            .map(|(key, (n, n_failed))| {
                let own = of_lot.and_then(|of_lot| of_lot.get(key));
                let (exposed, exposed_failures) = own.copied().unwrap_or_default();
                let counts = Counts::among((exposed_failures, exposed), (*n_failed, *n));
                (*key, counts)
            })
            .collect()
    }
}

fn ask_lot(by_lot: &ByLot<'_, '_>, lot: &str, about: About<'_>, question: &mut Question) {
    let (_, n_failed) = by_lot.total(lot);
    if n_failed < FEWEST_FAILURES {
        question.count(1.0);
        return;
    }
    let within = by_lot.within(lot);
    let total = within.total();
    // Where no unit had another lot beside it, only units can be compared, and the finding says what that leaves open.
    let (strata, likelihood) = match within.likelihood() {
        Some(likelihood) => (within, Some(likelihood)),
        None => {
            let pooled = Strata::from_iter([(("", ""), total)]);
            let likelihood = pooled.likelihood();
            (pooled, likelihood)
        }
    };
    let p = likelihood
        .as_ref()
        .map_or(1.0, |likelihood| likelihood.p_more());
    question.compare(p, || {
        let telling = strata.total_that_tells();
        let told = tell_apart(by_lot, lot);
        say_lot(
            by_lot,
            lot,
            about,
            (total, telling),
            likelihood.as_ref(),
            told,
        )
    });
}

/// What the records tell of lot and unit.
struct Told<'r> {
    attribution: Attribution,
    /// The unit with most of the lot's failures.
    unit: &'r str,
    /// The lot in the other units, against other lots there.
    elsewhere: Counts,
    p_elsewhere: Option<f64>,
    /// That unit with other lots, against its sisters.
    otherwise: Counts,
    p_otherwise: Option<f64>,
}

/// Tells a bad lot from a bad unit: does the lot fail in the other units too, does the unit fail with other lots too?
fn tell_apart<'r>(by_lot: &ByLot<'_, 'r>, lot: &str) -> Told<'r> {
    let mut failures: BTreeMap<&str, u32> = BTreeMap::new();
    for one in by_lot.failed.get(lot).into_iter().flatten() {
        failures.entry(one.unit).or_default().add_one();
    }
    let unit = failures
        .iter()
        .max_by(|a, b| a.1.cmp(b.1).then_with(|| b.0.cmp(a.0)))
        .map_or(UNKNOWN, |(unit, _)| unit);
    let elsewhere = by_lot.within_units(lot, |other| other != unit);
    let otherwise = by_lot.unit_within_lots(unit, |other| other != lot);
    let (p_elsewhere, p_otherwise) = (p_of(&elsewhere), p_of(&otherwise));
    let follows_lot = p_elsewhere.is_some_and(|p| p <= SHOWS_TOO);
    let follows_unit = p_otherwise.is_some_and(|p| p <= SHOWS_TOO);
    let attribution = match (follows_lot, follows_unit) {
        (true, false) => Attribution::Lot,
        (false, true) => Attribution::Unit,
        _ => Attribution::Undecided,
    };
    Told {
        attribution,
        unit,
        elsewhere: elsewhere.total(),
        p_elsewhere,
        otherwise: otherwise.total(),
        p_otherwise,
    }
}

fn say_lot(
    by_lot: &ByLot<'_, '_>,
    lot: &str,
    about: About<'_>,
    (total, telling): (Counts, Counts),
    likelihood: Option<&Likelihood>,
    told: Told<'_>,
) -> Finding {
    let subject = Subject {
        lot: Some(lot.to_owned()),
        unit: (told.attribution == Attribution::Unit).then(|| told.unit.to_owned()),
        ..Subject::default()
    };
    let units: BTreeSet<&str> = by_lot.places(lot).map(|(unit, ..)| unit).collect();
    let units = units.into_iter().map(Arg::from);
    let who = match told.attribution {
        Attribution::Lot => Phrase::of("lot-follows-lot").and("units", list(Joining::And, units)),
        Attribution::Unit => Phrase::of("lot-follows-unit").and("unit", told.unit),
        Attribution::Undecided => Phrase::of("lot-undecided"),
    };
    let said = Phrase::of(format!("lot-said-{}", about.counted))
        .and("own", Arg::Share(total.exposed_failures, total.exposed))
        .and("others", Arg::Share(telling.other_failures, telling.others))
        .and("lot", lot)
        .and("sort", sort_named(about.sort));
    let said = Phrase::sentences([said, who]);
    let mut finding = Finding::new(about.lot_kind, subject, said).of_matter(format!("lot {lot}"));
    finding.attribution = Some(told.attribution);
    if let Some(likelihood) = likelihood {
        finding.effect = Some(times_as_often(
            telling,
            likelihood,
            Phrase::of("among-other-lots"),
        ));
        let double = number(likelihood.probability_of_at_least(DOUBLE), 3);
        finding
            .also
            .push(Phrase::of("lot-at-least-double").and("p", double));
    }
    let unit = told.unit;
    finding.also.push(match told.p_elsewhere {
        Some(p) => Phrase::of("lot-elsewhere")
            .and("unit", unit)
            .and("own", share_exposed(told.elsewhere))
            .and("others", share_others(told.elsewhere))
            .and("p", probability(p)),
        None => Phrase::of("lot-not-elsewhere").and("unit", unit),
    });
    if let Some(p) = told.p_otherwise {
        finding.also.push(
            Phrase::of("lot-otherwise")
                .and("unit", unit)
                .and("own", share_exposed(told.otherwise))
                .and("others", share_others(told.otherwise))
                .and("p", probability(p)),
        );
    }
    match told.attribution {
        Attribution::Lot => finding.else_explains.push(Phrase::of("lot-else-lot")),
        Attribution::Unit => {
            let loaded = Phrase::of("lot-else-unit").and("unit", unit);
            finding.else_explains.push(loaded);
        }
        Attribution::Undecided => {
            let rate = f64::from(total.exposed_failures) / f64::from(total.exposed.max(1));
            let n_uses = uses_that_tell(rate);
            let itself = Phrase::of("lot-else-undecided").and("unit", unit);
            finding.else_explains.push(itself);
            let tell = Phrase::of("lot-next-tell")
                .and("n", n_uses)
                .and("lot", lot)
                .and("unit", unit)
                .and("certainty", number(100.0 * TELLING, 0));
            finding.next.insert(0, tell);
        }
    }
    let failed = by_lot.failed.get(lot).into_iter().flatten();
    finding.resting_on(failed.map(|one| evidence_of(one)).collect())
}

fn share_exposed(counts: Counts) -> Arg {
    Arg::Share(counts.exposed_failures, counts.exposed)
}

fn share_others(counts: Counts) -> Arg {
    Arg::Share(counts.other_failures, counts.others)
}

/// A sort of lot by the names of its parts: what it is, and of which process.
fn sort_named(sort: &str) -> Arg {
    match sort.rsplit_once(", ") {
        Some((what, process)) => list(
            Joining::Comma,
            [term("sort", what), term("process-word", process)],
        ),
        None => term("sort", sort),
    }
}

/// The certainty that further uses are asked to give.
const TELLING: f64 = 0.95;

/// How many uses show at least one failure with [`TELLING`] certainty, at this rate.
fn uses_that_tell(rate: f64) -> u32 {
    let rate = rate.clamp(0.005, 0.95);
    ((1.0 - TELLING).ln() / (1.0 - rate).ln()).ceil() as u32
}

fn evidence_of(one: &Use<'_>) -> Evidence {
    let said = match one.shown {
        Shown::Indicator(shown) => Phrase::of("evidence-indicator")
            .and("record", one.record)
            .and("shown", term("shown", shown)),
        Shown::Cause(cause) => Phrase::of("evidence-cause")
            .and("record", one.record)
            .and("cause", cause_named(cause)),
    };
    Evidence {
        day: one.day,
        said,
        span: one.span,
    }
}

fn ask_unit(
    uses: &[Use<'_>],
    by_lot: &ByLot<'_, '_>,
    unit: &str,
    kind: FindingKind,
    about: About<'_>,
    question: &mut Question,
) {
    let strata = by_lot.unit_within_lots(unit, |_| true);
    let total = strata.total();
    let telling = strata.total_that_tells();
    let likelihood = if telling.exposed_failures >= FEWEST_FAILURES {
        strata.likelihood()
    } else {
        None
    };
    let p = likelihood
        .as_ref()
        .map_or(1.0, |likelihood| likelihood.p_more());
    question.bear_on(unit, p);
    question.compare(p, || {
        let said = Phrase::of("indicator-unit-said")
            .and("unit", unit)
            .and("n", total.exposed_failures)
            .and("of", total.exposed)
            .and("sort", sort_named(about.sort))
            .and("own", share_exposed(telling))
            .and("others", share_others(telling));
        let subject = Subject {
            unit: Some(unit.to_owned()),
            ..Subject::default()
        };
        let mut finding =
            Finding::new(kind, subject, said).of_matter(format!("indicators of {unit}"));
        finding.attribution = Some(Attribution::Unit);
        finding.effect = likelihood.as_ref().map(|likelihood| {
            times_as_often(telling, likelihood, Phrase::of("among-sisters-same-lots"))
        });
        finding
            .else_explains
            .push(Phrase::of("indicator-unit-else"));
        let evidence = uses
            .iter()
            .filter(|one| one.unit == unit && one.failed)
            .map(evidence_of)
            .collect();
        finding.resting_on(evidence)
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnose::FileId;

    /// Uses by unit from tables of the reference: rejected and accepted with the lot, rejected and accepted with others.
    fn uses_of(tables: &[(&'static str, [u32; 4])]) -> Vec<Use<'static>> {
        let span = Span {
            file: FileId(0),
            line: 1,
            line_start: 0,
            start: 0,
            end: 1,
        };
        let mut uses = Vec::new();
        for (unit, [a, b, c, d]) in tables.iter().copied() {
            for (n, lot, failed) in [
                (a, "X", true),
                (b, "X", false),
                (c, "other", true),
                (d, "other", false),
            ] {
                uses.extend((0..n).map(|_| Use {
                    unit,
                    program: "standard",
                    lot,
                    failed,
                    day: None,
                    span,
                    record: "",
                    shown: Shown::Indicator(""),
                }));
            }
        }
        uses
    }

    fn findings_of(tables: &[(&'static str, [u32; 4])]) -> (Vec<Finding>, Vec<Finding>) {
        let uses = uses_of(tables);
        let mut lots = Question::of(FindingKind::IndicatorLot);
        let mut units = Question::of(FindingKind::IndicatorUnit);
        let about = About {
            lot_kind: FindingKind::IndicatorLot,
            unit_kind: Some(FindingKind::IndicatorUnit),
            sort: "internal CI",
            counted: "indicators",
        };
        ask(&uses, about, &mut lots, &mut units);
        (lots.answer().findings, units.answer().findings)
    }

    #[test]
    fn lot_that_the_bad_unit_used_most_is_not_accused() {
        // tests/reference/stats/05_cmh_stratified.json, simpson_bad_unit: thrown together the odds ratio is 5.2 and Fisher's
        // p 1.3e-7, within units it is 0.90 and the p 0.81: "must NOT accuse the lot".
        let (lots, units) = findings_of(&[
            ("A", [27, 93, 7, 23]),
            ("B", [1, 39, 6, 234]),
            ("C", [0, 20, 5, 255]),
        ]);
        assert_eq!(lots, []);
        assert_eq!(units.len(), 1);
        assert_eq!(units[0].subject.unit.as_deref(), Some("A"));
    }

    #[test]
    fn lot_that_is_bad_in_every_unit_is_accused_and_no_unit_is() {
        // The same file, simpson_true_lot: within units the odds ratio is 4.2, p 7.3e-6, homogeneous.
        let (lots, units) = findings_of(&[
            ("A", [9, 51, 6, 114]),
            ("B", [8, 72, 4, 156]),
            ("C", [7, 33, 5, 135]),
        ]);
        assert_eq!(lots.len(), 1);
        assert_eq!(lots[0].subject.lot.as_deref(), Some("X"));
        assert_eq!(lots[0].attribution, Some(Attribution::Lot));
        assert_eq!(units, []);
        let effect = lots[0].effect.as_ref().unwrap();
        // The file's Mantel-Haenszel ratio of rates, rr_mh, is 3.775.
        assert!(effect.low < 3.775 && 3.775 < effect.high, "{effect:?}");
    }

    #[test]
    fn lot_of_one_unit_alone_leaves_open_which_it_was() {
        let (lots, _) = findings_of(&[("A", [9, 51, 6, 300]), ("B", [0, 0, 6, 300])]);
        assert_eq!(lots.len(), 1);
        assert_eq!(lots[0].attribution, Some(Attribution::Undecided));
        // 9 of 60 are 15 %: 19 uses, see below.
        assert_eq!(lots[0].next[0].key, "lot-next-tell");
        assert!(lots[0].next[0].args.contains(&("n", Arg::Count(19))));
    }

    #[test]
    fn about_twenty_uses_tell_of_a_rate_of_fifteen_per_cent() {
        // 0.85^18 = 0.0536, 0.85^19 = 0.0456 (by hand).
        assert_eq!(uses_that_tell(0.15), 19);
        // The "rule of three": 3/n (Hanley and Lippman-Hand, JAMA 249, 1983): 300 uses for 1 %, 299 exactly.
        assert_eq!(uses_that_tell(0.01), 299);
    }
}
