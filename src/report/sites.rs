//! Many departments side by side, as a value: each site in one row, then what shows only across sites.
//!
//! A site's review is reduced to a [`SiteSummary`] as soon as it is made, so that memory holds one site at a time and these.
//! Nothing is judged or tested here: rows are picked from the review of the site, counts are those of its records in scope,
//! and what stands out comes from [`crate::analyse::across_sites`]. Read [`reduce_site`] first, then [`write_sites`].

use super::attention::{NeedKind, process_of};
use super::caution::Caution;
use super::release::DecisionCount;
use super::review::{Review, Reviewed, outcome_word};
use super::scope::{Scope, is_load_cycle};
use crate::analyse::across_sites::{
    Across, Compared, LotAcross, LotSort, LotUse, SiteAcross, SiteTally, compare_lots,
    compare_sites, is_of_packaging, is_of_sterilant,
};
use crate::analyse::contrast::Contrast;
use crate::judge::decision::Decision;
use crate::measure::count::Counting;
use crate::reconcile::history::{EntryIx, KnownCycle, KnownEntry};
use crate::record::cause::Cause;
use crate::record::consumable::ConsumableKind;
use crate::record::cycle::{Outcome, Process};
use crate::record::entry::{BiGrowth, BiRole, CiEndpoint, EntryBody};
use chrono::{NaiveDate, NaiveDateTime};
use serde::Serialize;
use std::cmp::Reverse;
use std::collections::BTreeSet;

/// What a site is kept in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SiteKind {
    /// A folder of records.
    Folder,
    /// An archive of loadbook.
    Archive,
}

/// Whether a site could be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SiteState {
    /// It could not be opened at all.
    Refused,
    /// There is no printout and no log entry in it.
    NothingRead,
    /// Some of its files could not be read.
    PartlyRead,
    /// It was read.
    Read,
    /// It has none of the units or programs that were asked for.
    LeftOut,
}

impl SiteState {
    /// Whether the input is at fault.
    pub fn is_fault(self) -> bool {
        self <= SiteState::PartlyRead
    }

    /// In a few words.
    pub fn said(self) -> &'static str {
        match self {
            SiteState::Refused => "can't be opened",
            SiteState::NothingRead => "holds no printout and no log entry",
            SiteState::PartlyRead => "is read in part",
            SiteState::Read => "is read",
            SiteState::LeftOut => "is left out",
        }
    }
}

/// Where a site lies.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SitePlace {
    /// Its name: that of its folder, or its path where two folders have the same name.
    pub name: String,
    /// Its folder, as the user named it.
    pub path: String,
    /// What it is kept in.
    pub kind: SiteKind,
}

/// A site: where it lies, and what its review comes to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SiteRow {
    /// Its name: that of its folder, or its path where two folders have the same name.
    pub site: String,
    /// Its folder, as the user named it.
    pub path: String,
    /// What it is kept in.
    pub kind: SiteKind,
    /// Whether it could be read.
    pub state: SiteState,
    /// What was wrong with it, the first few.
    pub problems: Vec<String>,
    /// Files.
    pub n_files: usize,
    /// Lines.
    pub n_lines: u64,
    /// Lines that could not be read.
    pub n_unread_lines: u64,
    /// The first and the last day on which a cycle began.
    pub first_day: Option<NaiveDate>,
    /// The last day on which a cycle began.
    pub last_day: Option<NaiveDate>,
    /// Units.
    pub n_units: usize,
    /// Cycles, of any purpose.
    pub n_cycles: usize,
    /// Loads.
    pub n_loads: usize,
    /// Cycles with a load.
    pub n_load_cycles: u64,
    /// Of them aborted or rejected.
    pub n_failed: u64,
    /// The same by process.
    pub processes: Vec<ProcessRow>,
    /// How many loads have each decision, the most serious first.
    pub decisions: Vec<DecisionCount>,
    /// Loads let go although there is evidence against them.
    pub n_let_go_against: usize,
    /// Loads let go although evidence is lacking.
    pub n_let_go_lacking: usize,
    /// Biological indicators that grew, by load.
    pub n_bi_growths: u64,
    /// What is unusual.
    pub n_findings: usize,
    /// The comparisons behind that.
    pub n_comparisons: usize,
    /// The gravest of what is unusual; where nothing is, the gravest of what needs a person.
    pub gravest: Option<Gravest>,
    /// Whether anything needs a person.
    pub needs_person: bool,
    /// What to mind when handling its loads that need a person.
    pub cautions: Vec<Caution>,
}

/// Cycles with a load of one process.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ProcessRow {
    /// The process.
    pub process: Option<&'static str>,
    /// The cycles.
    pub n_cycles: u64,
    /// Of them aborted or rejected.
    pub n_failed: u64,
}

/// The gravest matter of a site.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Gravest {
    /// What it is, in a few words.
    pub what: &'static str,
    /// What it is about, by name or number.
    pub about: String,
    /// In a sentence.
    pub said: String,
}

/// A site as it is kept until all are read.
#[derive(Debug, Clone, PartialEq)]
pub struct SiteSummary {
    /// Its row.
    pub row: SiteRow,
    /// The counts for comparisons across sites.
    pub tally: SiteTally,
    /// The names of the policies that its loads were judged by.
    pub policies: Vec<String>,
}

impl SiteSummary {
    /// A site of which nothing could be read.
    pub fn unread(place: &SitePlace, state: SiteState, problem: String) -> Self {
        SiteSummary {
            row: SiteRow {
                site: place.name.clone(),
                path: place.path.clone(),
                kind: place.kind,
                state,
                problems: vec![problem],
                n_files: 0,
                n_lines: 0,
                n_unread_lines: 0,
                first_day: None,
                last_day: None,
                n_units: 0,
                n_cycles: 0,
                n_loads: 0,
                n_load_cycles: 0,
                n_failed: 0,
                processes: Vec::new(),
                decisions: Vec::new(),
                n_let_go_against: 0,
                n_let_go_lacking: 0,
                n_bi_growths: 0,
                n_findings: 0,
                n_comparisons: 0,
                gravest: None,
                needs_person: false,
                cautions: Vec::new(),
            },
            tally: SiteTally::default(),
            policies: Vec::new(),
        }
    }
}

impl SiteRow {
    /// Loads with a decision that need a person: let go, or with nothing signed.
    pub fn n_for_person(&self, decision: Decision) -> usize {
        self.decisions
            .iter()
            .filter(|count| count.decision == decision)
            .map(|count| count.n_released.saturating_add(count.n_open))
            .sum()
    }

    /// All loads that need a person.
    pub fn n_loads_for_person(&self) -> usize {
        Decision::ALL
            .iter()
            .filter(|decision| **decision != Decision::Release)
            .map(|decision| self.n_for_person(*decision))
            .sum()
    }

    /// Its place in the order of what needs a person: the sites that could not be read first, for nothing is known of
    /// them; then by the loads that need a person, the gravest decision first.
    fn order(&self) -> impl Ord + use<> {
        let against = self
            .n_for_person(Decision::Recall)
            .saturating_add(self.n_for_person(Decision::Reject));
        let known = match self.state {
            SiteState::Refused | SiteState::NothingRead => 0,
            SiteState::PartlyRead | SiteState::Read => 1,
            SiteState::LeftOut => 2,
        };
        (
            known,
            Reverse((
                self.n_let_go_against,
                against,
                self.n_let_go_lacking,
                self.n_for_person(Decision::Hold),
                self.n_for_person(Decision::Quarantine),
                self.n_findings,
            )),
        )
    }
}

/// Reduces the review of one site to what is kept of it.
pub fn reduce_site(
    place: &SitePlace,
    problems: Vec<String>,
    review: &Review,
    reviewed: &Reviewed<'_>,
) -> SiteSummary {
    let n_read = review.n_cycles.saturating_add(review.intake.n_entries);
    let state = match (n_read, problems.len()) {
        (0, _) => SiteState::NothingRead,
        (_, 0) => SiteState::Read,
        _ => SiteState::PartlyRead,
    };
    let tally = count_site(reviewed);
    let failed = tally.processes.values().map(|cycles| cycles.n_failed).sum();
    let day = |moment: &Option<String>| moment.as_deref()?.get(..10)?.parse().ok();
    let row = SiteRow {
        site: place.name.clone(),
        path: place.path.clone(),
        kind: place.kind,
        state,
        problems,
        n_files: review.intake.n_files,
        n_lines: review.intake.n_lines,
        n_unread_lines: review.intake.n_unread_lines,
        first_day: day(&review.first_cycle),
        last_day: day(&review.last_cycle),
        n_units: review.n_units,
        n_cycles: review.n_cycles,
        n_loads: review.n_loads,
        n_load_cycles: tally.processes.values().map(|cycles| cycles.n).sum(),
        n_failed: failed,
        processes: tally
            .processes
            .iter()
            .map(|(process, cycles)| ProcessRow {
                process: process.map(Process::word),
                n_cycles: cycles.n,
                n_failed: cycles.n_failed,
            })
            .collect(),
        decisions: review.decisions.clone(),
        n_let_go_against: review.n_let_go(&[Decision::Recall, Decision::Reject]),
        n_let_go_lacking: review.n_let_go(&[Decision::Hold, Decision::Quarantine]),
        n_bi_growths: review
            .needs
            .iter()
            .filter(|need| need.kind == NeedKind::BiGrowth)
            .map(|need| need.n_found)
            .sum(),
        n_findings: review.findings.findings.len(),
        n_comparisons: review.findings.n_comparisons,
        gravest: find_gravest(review),
        needs_person: review.needs_person(),
        cautions: review.cautions.clone(),
    };
    SiteSummary {
        row,
        tally,
        policies: review
            .policies
            .iter()
            .map(|policy| policy.name.clone())
            .collect(),
    }
}

fn find_gravest(review: &Review) -> Option<Gravest> {
    let of_finding = review.findings.findings.first().map(|finding| Gravest {
        what: finding.about,
        about: finding.named.clone(),
        said: finding.said.clone(),
    });
    of_finding.or_else(|| {
        let need = review.needs.iter().find(|need| need.is_open())?;
        let n = need.n_for_person();
        Some(Gravest {
            what: need.said,
            about: format!("{n} not settled"),
            said: need.next.to_owned(),
        })
    })
}

/// Counts the uses of lots and the cycles of a site that are in scope. Chemical indicators are counted as
/// `reports/pooled/sql/indicator_lots.sql` counts them: by the process of their load's last cycle, and by position.
fn count_site(reviewed: &Reviewed<'_>) -> SiteTally {
    let history = reviewed.history;
    let mut tally = SiteTally::default();
    for load in &history.loads {
        let last = load.cycles.last().and_then(|ix| history.cycles.get(ix.0));
        let Some(known) = last.filter(|_| reviewed.scope.has_load(load, history)) else {
            continue;
        };
        let process = process_of(reviewed, known);
        for entry in entries(reviewed, load.cis.iter().chain(&load.bis)) {
            let used = match &entry.entry.body {
                EntryBody::Ci(ci) => ci.endpoint.as_ref().map(|endpoint| {
                    let position = ci.position.as_ref().map(|position| position.value);
                    let failed = endpoint.value != CiEndpoint::Reached;
                    (LotUse::Ci(position), &ci.lot, failed)
                }),
                EntryBody::Bi(bi) => {
                    let is_control =
                        bi.role.as_ref().map(|role| role.value) == Some(BiRole::Control);
                    bi.growth.as_ref().filter(|_| is_control).map(|growth| {
                        let failed = growth.value == BiGrowth::NoGrowth;
                        (LotUse::BiControl, &bi.lot, failed)
                    })
                }
                _ => None,
            };
            if let Some((used_as, Some(lot), failed)) = used
                && let Some(number) = &lot.value.lot
            {
                tally.count_lot(LotSort { used_as, process }, &number.0, failed);
            }
        }
    }
    for known in &history.cycles {
        if reviewed.scope.has_cycle(known) && is_load_cycle(known) {
            count_cycle(reviewed, known, &mut tally);
        }
    }
    tally
}

/// Counts a cycle with a load, and the lots of sterilant and packaging that it used.
fn count_cycle(reviewed: &Reviewed<'_>, known: &KnownCycle, tally: &mut SiteTally) {
    let process = process_of(reviewed, known);
    let word = outcome_word(known);
    let stopped = matches!(word, "aborted" | "rejected");
    tally.count_cycle(process, stopped);
    // A lot is neither for nor against where the outcome is not known.
    if !stopped && word != "completed" {
        return;
    }
    let cause: Option<&Cause> =
        known
            .cycle
            .outcome
            .as_ref()
            .and_then(|outcome| match &outcome.value {
                Outcome::Aborted { cause, .. } | Outcome::Rejected { cause } => cause.as_ref(),
                _ => None,
            });
    let speaks = |of: fn(&Cause) -> bool| stopped && cause.is_some_and(of);
    let sterilant = known
        .cycle
        .consumables
        .iter()
        .find(|used| used.kind == ConsumableKind::Sterilant)
        .and_then(|used| used.lot.value.lot.as_ref());
    if let Some(number) = sterilant {
        let used_as = LotUse::Sterilant;
        tally.count_lot(
            LotSort { used_as, process },
            &number.0,
            speaks(is_of_sterilant),
        );
    }
    let load = known
        .load
        .and_then(|load| reviewed.history.loads.get(load.0));
    let contents = load.into_iter().flat_map(|load| &load.contents);
    let packaging: BTreeSet<&str> = entries(reviewed, contents)
        .filter_map(|entry| match &entry.entry.body {
            EntryBody::Content(content) => content.packaging_lot.as_ref(),
            _ => None,
        })
        .filter_map(|lot| Some(lot.value.lot.as_ref()?.0.as_str()))
        .collect();
    for number in packaging {
        let used_as = LotUse::Packaging;
        tally.count_lot(
            LotSort { used_as, process },
            number,
            speaks(is_of_packaging),
        );
    }
}

fn entries<'a>(
    reviewed: &Reviewed<'a>,
    places: impl IntoIterator<Item = &'a EntryIx>,
) -> impl Iterator<Item = &'a KnownEntry> {
    let history = reviewed.history;
    places
        .into_iter()
        .filter_map(|ix| history.entries.get(ix.0))
}

/// Something that lies beside the sites and is none.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct LeftOut {
    /// Its path.
    pub path: String,
    /// Why it is left out.
    pub why: &'static str,
}

/// Many sites side by side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SitesReport {
    /// The version of these fields.
    pub format: u32,
    /// The moment that was asked for; each site speaks for its newest record where there is none.
    pub as_of: Option<NaiveDateTime>,
    /// What every site is narrowed to.
    pub scope: Scope,
    /// The names of the policies that loads were judged by.
    pub policies: Vec<String>,
    /// All sites together.
    pub totals: Totals,
    /// The sites, in the order of what needs a person.
    pub sites: Vec<SiteRow>,
    /// What is no site.
    pub left_out: Vec<LeftOut>,
    /// Lots that were used at several sites.
    pub lots: AcrossRows<LotRow>,
    /// The share of aborted and rejected cycles of each site beside that of the others.
    pub shares: AcrossRows<ShareRow>,
    /// What to mind when handling loads that need a person.
    pub cautions: Vec<Caution>,
}

/// All sites together.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Totals {
    /// Sites of which something was read.
    pub n_sites: usize,
    /// Sites that could not be read, or in part only, or hold nothing.
    pub n_at_fault: usize,
    /// Units.
    pub n_units: usize,
    /// Cycles, of any purpose.
    pub n_cycles: usize,
    /// Loads.
    pub n_loads: usize,
    /// Cycles with a load.
    pub n_load_cycles: u64,
    /// Of them aborted or rejected.
    pub n_failed: u64,
    /// The first day on which a cycle began.
    pub first_day: Option<NaiveDate>,
    /// The last day on which a cycle began.
    pub last_day: Option<NaiveDate>,
    /// From the first to the last day, both counted.
    pub n_days: i64,
    /// Loads that need a person.
    pub n_loads_for_person: usize,
    /// Loads let go although there is evidence against them.
    pub n_let_go_against: usize,
    /// Loads let go although evidence is lacking.
    pub n_let_go_lacking: usize,
    /// Biological indicators that grew, by load.
    pub n_bi_growths: u64,
    /// What is unusual at the sites.
    pub n_findings: usize,
    /// The comparisons behind that.
    pub n_comparisons: usize,
    /// Lines that could not be read.
    pub n_unread_lines: u64,
}

/// What was compared across sites for one question.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AcrossRows<R> {
    /// How many comparisons were made.
    pub n_comparisons: usize,
    /// How many stand out.
    pub n_stand_out: usize,
    /// What was compared: what stands out first, the surest leading, then in order of name.
    pub rows: Vec<R>,
}

/// A lot over all sites.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LotRow {
    /// The process.
    pub process: Option<&'static str>,
    /// What it is used as: `ci`, `bi control`, `sterilant`, `packaging`.
    pub used_as: &'static str,
    /// Where chemical indicators of it were.
    pub position: Option<&'static str>,
    /// Its number.
    pub lot: String,
    /// At how many sites it was used.
    pub n_sites: usize,
    /// At how many of them it failed.
    pub n_sites_failed: usize,
    /// Its uses.
    pub n_used: u64,
    /// Of them failed.
    pub n_failed: u64,
    /// The failures that the other lots at the same sites lead to expect.
    pub n_expected: f64,
    /// How it compares.
    #[serde(flatten)]
    pub outcome: CompareRow,
}

/// A site's failed cycles beside those of the others.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ShareRow {
    /// The site.
    pub site: String,
    /// Its cycles with a load.
    pub n_cycles: u64,
    /// Of them aborted or rejected.
    pub n_failed: u64,
    /// How many the other sites lead to expect, process by process.
    pub n_expected: f64,
    /// How it compares.
    #[serde(flatten)]
    pub outcome: CompareRow,
}

/// How a comparison came out.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CompareRow {
    /// Whether it stands out.
    pub stands_out: bool,
    /// The effect, where it is large enough to be worth a look.
    pub effect: Option<Contrast>,
    /// The p after correction for the number of comparisons.
    pub p_adjusted: Option<f64>,
}

impl CompareRow {
    fn of(compared: Compared) -> Self {
        CompareRow {
            stands_out: compared.stands_out(),
            effect: compared.contrast,
            p_adjusted: compared.p_adjusted,
        }
    }

    /// What stands out first, the surest leading.
    fn order(&self) -> (bool, u64) {
        let p = self.effect.map_or(1.0, |effect| effect.p);
        // Of numbers from 0 on, the bits are in the order of the numbers.
        let p = if self.stands_out { p.max(0.0) } else { 1.0 };
        (!self.stands_out, p.to_bits())
    }
}

impl LotRow {
    fn of(across: LotAcross) -> Self {
        let (used_as, position) = match across.sort.used_as {
            LotUse::Ci(position) => ("ci", position.map(|position| position.word())),
            LotUse::BiControl => ("bi control", None),
            LotUse::Sterilant => ("sterilant", None),
            LotUse::Packaging => ("packaging", None),
        };
        LotRow {
            process: across.sort.process.map(Process::word),
            used_as,
            position,
            lot: across.lot,
            n_sites: across.n_sites,
            n_sites_failed: across.n_sites_failed,
            n_used: across.own.n,
            n_failed: across.own.n_failed,
            n_expected: across.expected,
            outcome: CompareRow::of(across.compared),
        }
    }

    /// What it is used as, for people: `internal CI, plasma`.
    pub fn sort_said(&self) -> String {
        let what = match (self.used_as, self.position) {
            ("ci", position) => format!("{} CI", position.unwrap_or("?")),
            ("bi control", _) => "BI control".to_owned(),
            (used_as, _) => used_as.to_owned(),
        };
        format!("{what}, {}", self.process.unwrap_or("?"))
    }
}

impl SitesReport {
    /// Whether anything needs a person.
    pub fn needs_person(&self) -> bool {
        self.sites.iter().any(|site| site.needs_person)
            || self.lots.n_stand_out > 0
            || self.shares.n_stand_out > 0
    }

    /// Whether a site could not be read, or holds nothing, or there is none.
    pub fn is_input_at_fault(&self) -> bool {
        self.totals.n_at_fault > 0 || self.totals.n_sites == 0
    }
}

/// Lays sites side by side. They come in the order of their names.
pub fn write_sites(
    sites: Vec<SiteSummary>,
    left_out: Vec<LeftOut>,
    scope: Scope,
    as_of: Option<NaiveDateTime>,
) -> SitesReport {
    let (mut rows, mut tallies) = (Vec::new(), Vec::new());
    let mut policies: BTreeSet<String> = BTreeSet::new();
    for site in sites {
        policies.extend(site.policies);
        rows.push(site.row);
        tallies.push(site.tally);
    }
    let lots = rows_of(compare_lots(&tallies), LotRow::of, |row| &row.outcome);
    let share_of = |across: SiteAcross| ShareRow {
        site: rows
            .get(across.site)
            .map_or_else(String::new, |row| row.site.clone()),
        n_cycles: across.own.n,
        n_failed: across.own.n_failed,
        n_expected: across.expected,
        outcome: CompareRow::of(across.compared),
    };
    let shares = rows_of(compare_sites(&tallies), share_of, |row| &row.outcome);
    let totals = add_up(&rows);
    let cautions: BTreeSet<Caution> = rows.iter().flat_map(|row| &row.cautions).copied().collect();
    // Stable: sites alike stay in the order of their names.
    rows.sort_by_cached_key(SiteRow::order);
    SitesReport {
        format: 1,
        as_of,
        scope,
        policies: policies.into_iter().collect(),
        totals,
        sites: rows,
        left_out,
        lots,
        shares,
        cautions: cautions.into_iter().collect(),
    }
}

fn rows_of<A, R>(
    across: Across<A>,
    row_of: impl Fn(A) -> R,
    outcome: impl Fn(&R) -> &CompareRow,
) -> AcrossRows<R> {
    let mut rows: Vec<R> = across.rows.into_iter().map(row_of).collect();
    rows.sort_by_key(|row| outcome(row).order());
    AcrossRows {
        n_comparisons: across.n_comparisons,
        n_stand_out: rows.iter().filter(|row| outcome(row).stands_out).count(),
        rows,
    }
}

fn add_up(rows: &[SiteRow]) -> Totals {
    let mut totals = Totals::default();
    for row in rows {
        totals.n_sites.add_many(usize::from(matches!(
            row.state,
            SiteState::Read | SiteState::PartlyRead
        )));
        totals
            .n_at_fault
            .add_many(usize::from(row.state.is_fault()));
        totals.n_units.add_many(row.n_units);
        totals.n_cycles.add_many(row.n_cycles);
        totals.n_loads.add_many(row.n_loads);
        totals.n_load_cycles.add_many(row.n_load_cycles);
        totals.n_failed.add_many(row.n_failed);
        totals.first_day = totals.first_day.into_iter().chain(row.first_day).min();
        totals.last_day = totals.last_day.max(row.last_day);
        totals.n_loads_for_person.add_many(row.n_loads_for_person());
        totals.n_let_go_against.add_many(row.n_let_go_against);
        totals.n_let_go_lacking.add_many(row.n_let_go_lacking);
        totals.n_bi_growths.add_many(row.n_bi_growths);
        totals.n_findings.add_many(row.n_findings);
        totals.n_comparisons.add_many(row.n_comparisons);
        totals.n_unread_lines.add_many(row.n_unread_lines);
    }
    if let (Some(first), Some(last)) = (totals.first_day, totals.last_day) {
        totals.n_days = last
            .signed_duration_since(first)
            .num_days()
            .saturating_add(1);
    }
    totals
}
