//! Lots of consumables: whether the failures follow a lot or a unit, and what the records can't tell.
//!
//! A lot is compared with other lots within each unit and program, and a unit with its sisters within each lot, so that
//! neither is blamed for the other. A lot that was used in one unit only can't be told from that unit's days; then the
//! finding says so and says how many uses elsewhere would tell. Read [`find_lots`] first.

use super::Asking;
use super::catalogue::FindingKind;
use super::finding::{Attribution, Evidence, Finding, Subject};
use super::frame::{CycleRow, Ending, Frame, IndicatorRow, UNKNOWN, rows_by};
use super::question::Question;
use super::strata::{Counts, Exposure, Likelihood, Strata};
use super::words::{count, list, probability, share, times_as_often};
use crate::diagnose::Span;
use crate::record::cause::Cause;
use crate::record::cycle::Purpose;
use chrono::NaiveDate;
use polars::prelude::PolarsResult;
use std::collections::{BTreeMap, BTreeSet};

/// The fewest failures of a lot or a unit that are called a finding.
const FEWEST_FAILURES: u32 = 3;
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
    said: String,
}

/// What a question about lots is about.
#[derive(Clone, Copy)]
struct About<'a> {
    lot_kind: FindingKind,
    unit_kind: Option<FindingKind>,
    /// The sort of lot: `internal CI, plasma`.
    sort: &'a str,
    /// What is counted: `CIs`.
    uses: &'a str,
    /// What went wrong: `failed`.
    failed: &'a str,
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
            uses: "indicators",
            failed: "failed",
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
            uses: "cycles",
            failed: "were aborted or rejected for the sterilant",
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
            uses: "loads",
            failed: "were aborted for moisture or rejected for contact",
        };
        ask(&packaging, about, &mut supplies, &mut unused);
    }
    asking.take(FindingKind::SupplyLot, supplies.answer());
    Ok(())
}

/// Whether a cycle failed for a cause that a lot of sterilant can have. An expired lot is refused for its date, not for
/// what is in it.
fn speaks_of_sterilant(row: &CycleRow) -> bool {
    let causes = [
        Cause::InjectionLow,
        Cause::ConcentrationLow,
        Cause::SterilantUnread,
        Cause::HumidityLow,
    ];
    matches!(row.ending, Ending::Aborted | Ending::Rejected)
        && causes.contains(&Cause::from_word(&row.cause))
}

fn speaks_of_packaging(row: &CycleRow) -> bool {
    let causes = [Cause::Moisture, Cause::PackageContact];
    matches!(row.ending, Ending::Aborted | Ending::Rejected)
        && causes.contains(&Cause::from_word(&row.cause))
}

fn use_of_indicator(row: &IndicatorRow) -> Use<'_> {
    Use {
        unit: &row.unit,
        program: &row.program,
        lot: &row.lot,
        failed: row.failed,
        day: row.at.map(|at| at.date()),
        span: row.span,
        said: format!("{} {}", row.unit, row.shown),
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
        said: format!("{}: {}", row.name, Cause::from_word(&row.cause).said()),
    }
}

/// The strata of a comparison that leaves out one unit or one lot.
fn strata_of<'r>(
    uses: &'r [Use<'r>],
    exposed: impl Fn(&Use<'r>) -> bool,
    stratum: impl Fn(&Use<'r>) -> (&'r str, &'r str),
    keep: impl Fn(&Use<'r>) -> bool,
) -> Strata<(&'r str, &'r str)> {
    let mut strata = Strata::new();
    for one in uses.iter().filter(|one| keep(one)) {
        strata.count(stratum(one), Exposure::of(exposed(one)), one.failed);
    }
    strata
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
    for lot in &lot_names {
        ask_lot(uses, lot, about, lots);
    }
    if let Some(kind) = about.unit_kind
        && unit_names.len() > 1
    {
        for unit in &unit_names {
            ask_unit(uses, unit, kind, about, units);
        }
    }
}

fn ask_lot(uses: &[Use<'_>], lot: &str, about: About<'_>, question: &mut Question) {
    let of_lot = |one: &Use<'_>| one.lot == lot;
    let within = strata_of(uses, of_lot, |one| (one.unit, one.program), |_| true);
    let total = within.total();
    // Where no unit had another lot beside it, only units can be compared, and the finding says what that leaves open.
    let (strata, likelihood) = match within.likelihood() {
        Some(likelihood) => (within, Some(likelihood)),
        None => {
            let pooled = strata_of(uses, of_lot, |_| ("", ""), |_| true);
            let likelihood = pooled.likelihood();
            (pooled, likelihood)
        }
    };
    let p = match &likelihood {
        Some(likelihood) if total.exposed_failures >= FEWEST_FAILURES => likelihood.p_more(),
        _ => 1.0,
    };
    question.compare(p, || {
        let telling = strata.total_that_tells();
        let told = tell_apart(uses, lot, about);
        say_lot(
            uses,
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
fn tell_apart<'r>(uses: &'r [Use<'r>], lot: &str, _about: About<'_>) -> Told<'r> {
    let mut failures: BTreeMap<&str, u32> = BTreeMap::new();
    for one in uses.iter().filter(|one| one.lot == lot && one.failed) {
        *failures.entry(one.unit).or_default() += 1;
    }
    let unit = failures
        .iter()
        .max_by(|a, b| a.1.cmp(b.1).then_with(|| b.0.cmp(a.0)))
        .map_or(UNKNOWN, |(unit, _)| unit);
    let elsewhere = strata_of(
        uses,
        |one| one.lot == lot,
        |one| (one.unit, one.program),
        |one| one.unit != unit,
    );
    let otherwise = strata_of(
        uses,
        |one| one.unit == unit,
        |one| (one.lot, one.program),
        |one| one.lot != lot,
    );
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
    uses: &[Use<'_>],
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
    let sort = about.sort;
    let units: BTreeSet<&str> = uses
        .iter()
        .filter(|one| one.lot == lot)
        .map(|one| one.unit)
        .collect();
    let units: Vec<String> = units.into_iter().map(str::to_owned).collect();
    let who = match told.attribution {
        Attribution::Lot => format!(
            "The failures follow the lot through {}, not one unit.",
            list(&units)
        ),
        Attribution::Unit => format!("They follow {} rather than the lot.", told.unit),
        Attribution::Undecided => "Lot or unit: the records can't tell.".to_owned(),
    };
    let said = format!(
        "{} {} of lot {lot} ({sort}) {}, against {} with other lots. {who}",
        share(total.exposed_failures, total.exposed),
        about.uses,
        about.failed,
        share(telling.other_failures, telling.others),
    );
    let mut finding = Finding::new(about.lot_kind, subject, said).of_matter(format!("lot {lot}"));
    finding.attribution = Some(told.attribution);
    if let Some(likelihood) = likelihood {
        finding.effect = Some(times_as_often(
            telling,
            likelihood,
            "with other lots in the same units and programs",
        ));
        finding.also.push(format!(
            "The probability that this lot fails at least twice as often as the others is {:.3}.",
            likelihood.probability_of_at_least(DOUBLE)
        ));
    }
    let unit = told.unit;
    finding.also.push(match told.p_elsewhere {
        Some(p) => format!(
            "In units other than {unit}: {} with the lot, {} with others (p {}).",
            share(told.elsewhere.exposed_failures, told.elsewhere.exposed),
            share(told.elsewhere.other_failures, told.elsewhere.others),
            probability(p)
        ),
        None => format!("The lot was not used, or nothing failed, in units other than {unit}."),
    });
    if let Some(p) = told.p_otherwise {
        finding.also.push(format!(
            "{unit} with other lots: {}; its sister units with the same lots: {} (p {}).",
            share(told.otherwise.exposed_failures, told.otherwise.exposed),
            share(told.otherwise.other_failures, told.otherwise.others),
            probability(p)
        ));
    }
    match told.attribution {
        Attribution::Lot => finding.else_explains.push(
            "Whatever else changed in these units while the lot was in use: lots follow each other in time.".to_owned(),
        ),
        Attribution::Unit => finding.else_explains.push(format!("What {unit} is loaded with.")),
        Attribution::Undecided => {
            let rate = f64::from(total.exposed_failures) / f64::from(total.exposed.max(1));
            let n_uses = uses_that_tell(rate);
            finding.else_explains.push(format!("{unit} itself in the days of this lot."));
            finding.next.insert(
                0,
                format!(
                    "To tell: about {n_uses} uses of lot {lot} in another unit, and as many of another lot in {unit}. If the \
                     lot is to blame, failures show in the other unit with {:.0} % certainty; if none shows, look at {unit}.",
                    100.0 * TELLING
                ),
            );
        }
    }
    let evidence = uses
        .iter()
        .filter(|one| one.lot == lot && one.failed)
        .map(evidence_of)
        .collect();
    finding.resting_on(evidence)
}

/// The certainty that further uses are asked to give.
const TELLING: f64 = 0.95;

/// How many uses show at least one failure with [`TELLING`] certainty, at this rate.
fn uses_that_tell(rate: f64) -> u32 {
    let rate = rate.clamp(0.005, 0.95);
    ((1.0 - TELLING).ln() / (1.0 - rate).ln()).ceil() as u32
}

fn evidence_of(one: &Use<'_>) -> Evidence {
    Evidence {
        day: one.day,
        said: one.said.clone(),
        span: one.span,
    }
}

fn ask_unit(
    uses: &[Use<'_>],
    unit: &str,
    kind: FindingKind,
    about: About<'_>,
    question: &mut Question,
) {
    let of_unit = |one: &Use<'_>| one.unit == unit;
    let strata = strata_of(uses, of_unit, |one| (one.lot, one.program), |_| true);
    let total = strata.total();
    let telling = strata.total_that_tells();
    let likelihood = strata.likelihood();
    let p = match &likelihood {
        Some(likelihood) if telling.exposed_failures >= FEWEST_FAILURES => likelihood.p_more(),
        _ => 1.0,
    };
    question.bear_on(unit, p);
    question.compare(p, || {
        let said = format!(
            "{} of {} ({}) {} in {unit}, more than in its sister units with the same lots: {} against {}.",
            total.exposed_failures,
            count(total.exposed as usize, about.uses.trim_end_matches('s'), about.uses),
            about.sort,
            about.failed,
            share(telling.exposed_failures, telling.exposed),
            share(telling.other_failures, telling.others),
        );
        let subject = Subject { unit: Some(unit.to_owned()), ..Subject::default() };
        let mut finding =
            Finding::new(kind, subject, said).of_matter(format!("indicators of {unit}"));
        finding.attribution = Some(Attribution::Unit);
        finding.effect = likelihood
            .as_ref()
            .map(|likelihood| times_as_often(telling, likelihood, "in its sister units with the same lots and programs"));
        finding
            .else_explains
            .push("Other loads, or other hands that place the indicators, than in the sister units.".to_owned());
        let evidence = uses.iter().filter(|one| of_unit(one) && one.failed).map(evidence_of).collect();
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
                    said: String::new(),
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
            uses: "indicators",
            failed: "failed",
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
        assert!(
            lots[0].next[0].contains("about 19 uses of lot X in another unit"),
            "{:?}",
            lots[0].next
        );
    }

    #[test]
    fn about_twenty_uses_tell_of_a_rate_of_fifteen_per_cent() {
        // 0.85^18 = 0.0536, 0.85^19 = 0.0456 (by hand).
        assert_eq!(uses_that_tell(0.15), 19);
        // The "rule of three": 3/n (Hanley and Lippman-Hand, JAMA 249, 1983): 300 uses for 1 %, 299 exactly.
        assert_eq!(uses_that_tell(0.01), 299);
    }
}
