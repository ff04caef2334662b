//! What shows only when many sites are laid side by side: lots that fail at several of them, and sites where more cycles
//! fail than at the others.
//!
//! Takes the counts of each site, never its records, so that nothing of a site need be kept but these. A lot is set against
//! the other lots of its sort at the same sites, as `reports/pooled/sql/indicator_lots.sql` does; a site against the other
//! sites within each process. Every comparison counts, and what stands out does so after correction for their number
//! (Benjamini and Hochberg, J. R. Statist. Soc. B 57, 1995). Read [`compare_lots`] and [`compare_sites`] first.

use super::contrast::{Contrast, find_contrast};
use super::lots::{FEWEST_FAILURES, PACKAGING_CAUSES, STERILANT_CAUSES};
use super::strata::{Counts, Strata};
use crate::measure::count::Counting;
use crate::record::cause::Cause;
use crate::record::cycle::Process;
use crate::record::entry::CiPosition;
use crate::stats::multiplicity::{Adjustment, adjust_p_values};
use std::collections::BTreeMap;

/// The share of false ones that is accepted among those that stand out.
pub const ACCEPTED: f64 = 0.05;
/// The fewest sites at which a lot is compared, and at which it must have failed to stand out: what fails at one site
/// alone is that site's matter, and its own review tells it.
pub const FEWEST_SITES: usize = 2;

/// What a lot is used as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LotUse {
    /// A chemical indicator at a position; it fails if it did not reach its endpoint or could not be read.
    Ci(Option<CiPosition>),
    /// The control of a biological indicator; it fails if it did not grow.
    BiControl,
    /// Sterilant; it fails if the cycle stopped for want of it in the chamber.
    Sterilant,
    /// Packaging; it fails if the cycle stopped for moisture or contact.
    Packaging,
}

/// A sort of lots: each is compared with others of its sort.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct LotSort {
    /// What it is used as.
    pub used_as: LotUse,
    /// In which process.
    pub process: Option<Process>,
}

/// Uses or cycles, and how many of them failed.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Tally {
    /// All.
    pub n: u64,
    /// Of them failed.
    pub n_failed: u64,
}

impl Tally {
    /// Counts one more.
    pub fn count(&mut self, failed: bool) {
        self.n.add_one();
        self.n_failed.add_many(u64::from(failed));
    }

    fn plus(self, other: Tally) -> Tally {
        Tally {
            n: self.n.saturating_add(other.n),
            n_failed: self.n_failed.saturating_add(other.n_failed),
        }
    }

    /// The same without a part of it.
    fn less(self, part: Tally) -> Tally {
        Tally {
            n: self.n.saturating_sub(part.n),
            n_failed: self.n_failed.saturating_sub(part.n_failed),
        }
    }

    /// The failures to expect among `n` at this rate; none where nothing tells the rate.
    fn expected_among(self, n: u64) -> f64 {
        if self.n == 0 {
            return 0.0;
        }
        n as f64 * self.n_failed as f64 / self.n as f64
    }
}

/// What is counted at one site.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SiteTally {
    /// Uses of lots, by sort and number.
    pub lots: BTreeMap<LotSort, BTreeMap<String, Tally>>,
    /// Cycles with a load by process; aborted and rejected ones count as failed.
    pub processes: BTreeMap<Option<Process>, Tally>,
}

impl SiteTally {
    /// Counts a use of a lot.
    pub fn count_lot(&mut self, sort: LotSort, lot: &str, failed: bool) {
        let lots = self.lots.entry(sort).or_default();
        match lots.get_mut(lot) {
            Some(tally) => tally.count(failed),
            None => lots.entry(lot.to_owned()).or_default().count(failed),
        }
    }

    /// Counts a cycle with a load.
    pub fn count_cycle(&mut self, process: Option<Process>, failed: bool) {
        self.processes.entry(process).or_default().count(failed);
    }
}

/// Whether a lot of sterilant can be the cause of a stopped cycle.
pub fn is_of_sterilant(cause: &Cause) -> bool {
    STERILANT_CAUSES.contains(cause)
}

/// Whether a lot of packaging can be the cause of a stopped cycle.
pub fn is_of_packaging(cause: &Cause) -> bool {
    PACKAGING_CAUSES.contains(cause)
}

/// A lot that was used at several sites.
#[derive(Debug, Clone, PartialEq)]
pub struct LotAcross {
    /// Its sort.
    pub sort: LotSort,
    /// Its number.
    pub lot: String,
    /// At how many sites it was used.
    pub n_sites: usize,
    /// At how many of them it failed.
    pub n_sites_failed: usize,
    /// Its uses over all sites.
    pub own: Tally,
    /// The failures that the other lots of its sort at the same sites lead to expect.
    pub expected: f64,
    /// How it compares.
    pub compared: Compared,
}

/// A site beside the others.
#[derive(Debug, Clone, PartialEq)]
pub struct SiteAcross {
    /// Its place among the sites that were given.
    pub site: usize,
    /// Its cycles.
    pub own: Tally,
    /// The failures that the other sites lead to expect, process by process.
    pub expected: f64,
    /// How it compares.
    pub compared: Compared,
}

/// How one comparison came out.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Compared {
    /// The effect, where there is one that is worth a look.
    pub contrast: Option<Contrast>,
    /// Its p after correction for the number of comparisons.
    pub p_adjusted: Option<f64>,
}

impl Compared {
    /// Whether it stands out.
    pub fn stands_out(&self) -> bool {
        self.contrast.is_some() && self.p_adjusted.is_some_and(|p| p <= ACCEPTED)
    }
}

/// All comparisons of one question.
#[derive(Debug, Clone, PartialEq)]
pub struct Across<T> {
    /// What was compared, in order of name.
    pub rows: Vec<T>,
    /// How many comparisons were made.
    pub n_comparisons: usize,
}

/// Compares every lot that was used at two sites or more with the other lots of its sort at the same sites.
///
/// Of a sort with too few failures in all, no lot can stand out however they fell: such comparisons need no correction and
/// are not counted (Tarone, Biometrics 46, 1990).
pub fn compare_lots(sites: &[SiteTally]) -> Across<LotAcross> {
    let mut sorts: BTreeMap<LotSort, OfSort<'_>> = BTreeMap::new();
    for (site, tally) in sites.iter().enumerate() {
        for (sort, lots) in &tally.lots {
            let of_sort = sorts.entry(*sort).or_default();
            for (lot, tally) in lots {
                let total = of_sort.sites.entry(site).or_default();
                *total = total.plus(*tally);
                of_sort.lots.entry(lot).or_default().push((site, *tally));
            }
        }
    }
    let mut rows = Vec::new();
    let mut compared = Vec::new();
    for (sort, of_sort) in &sorts {
        let n_failed: u64 = of_sort.sites.values().map(|site| site.n_failed).sum();
        let is_asked = n_failed >= u64::from(FEWEST_FAILURES);
        for (lot, uses) in &of_sort.lots {
            if uses.len() < FEWEST_SITES {
                continue;
            }
            let row = of_sort.row_of(*sort, lot, uses);
            if is_asked {
                compared.push(rows.len());
            }
            rows.push(row);
        }
    }
    let n_comparisons = compared.len();
    correct(&mut rows, &compared, |row| &mut row.compared);
    Across {
        rows,
        n_comparisons,
    }
}

/// The lots of one sort.
#[derive(Default)]
struct OfSort<'t> {
    /// All lots together, by site.
    sites: BTreeMap<usize, Tally>,
    /// Each lot by site.
    lots: BTreeMap<&'t str, Vec<(usize, Tally)>>,
}

impl OfSort<'_> {
    fn row_of(&self, sort: LotSort, lot: &str, uses: &[(usize, Tally)]) -> LotAcross {
        let beside = uses.iter().map(|(site, own)| {
            let all = self.sites.get(site).copied().unwrap_or_default();
            (*site, *own, all.less(*own))
        });
        let mut row = LotAcross {
            sort,
            lot: lot.to_owned(),
            n_sites: uses.len(),
            n_sites_failed: uses.iter().filter(|(_, own)| own.n_failed > 0).count(),
            own: Tally::default(),
            expected: 0.0,
            compared: Compared::default(),
        };
        let mut strata = Vec::new();
        for (site, own, others) in beside {
            row.own = row.own.plus(own);
            row.expected += others.expected_among(own.n);
            strata.push((site, counts_of(own, others)));
        }
        if row.own.n_failed >= u64::from(FEWEST_FAILURES) && row.n_sites_failed >= FEWEST_SITES {
            row.compared.contrast = find_contrast(&Strata::from_iter(strata));
        }
        row
    }
}

/// Compares the failed cycles of every site with those of the other sites, within each process.
pub fn compare_sites(sites: &[SiteTally]) -> Across<SiteAcross> {
    let mut all: BTreeMap<Option<Process>, Tally> = BTreeMap::new();
    for (process, tally) in sites.iter().flat_map(|site| &site.processes) {
        let total = all.entry(*process).or_default();
        *total = total.plus(*tally);
    }
    let mut rows = Vec::new();
    for (site, tally) in sites.iter().enumerate() {
        let mut row = SiteAcross {
            site,
            own: Tally::default(),
            expected: 0.0,
            compared: Compared::default(),
        };
        let mut strata = Vec::new();
        let mut n_others = 0;
        for (process, own) in &tally.processes {
            let others = all.get(process).copied().unwrap_or_default().less(*own);
            n_others.add_many(others.n);
            row.own = row.own.plus(*own);
            row.expected += others.expected_among(own.n);
            strata.push((*process, counts_of(*own, others)));
        }
        if n_others == 0 {
            continue;
        }
        if row.own.n_failed >= u64::from(FEWEST_FAILURES) {
            row.compared.contrast = find_contrast(&Strata::from_iter(strata));
        }
        rows.push(row);
    }
    let compared: Vec<usize> = (0..rows.len()).collect();
    correct(&mut rows, &compared, |row| &mut row.compared);
    Across {
        n_comparisons: rows.len(),
        rows,
    }
}

fn counts_of(own: Tally, others: Tally) -> Counts {
    let of = |n: u64| u32::try_from(n).unwrap_or(u32::MAX);
    Counts {
        exposed_failures: of(own.n_failed),
        exposed: of(own.n),
        other_failures: of(others.n_failed),
        others: of(others.n),
    }
}

/// Corrects the p of the rows at these places for their number. A comparison without a contrast counts with a p of 1.
fn correct<T>(rows: &mut [T], places: &[usize], compared: impl Fn(&mut T) -> &mut Compared) {
    let p_values: Vec<f64> = places
        .iter()
        .map(|at| {
            let contrast = rows.get_mut(*at).and_then(|row| compared(row).contrast);
            contrast.map_or(1.0, |contrast| contrast.p)
        })
        .collect();
    let Ok(adjusted) = adjust_p_values(&p_values, Adjustment::BenjaminiHochberg) else {
        return;
    };
    for (at, p) in places.iter().zip(adjusted) {
        if let Some(row) = rows.get_mut(*at) {
            compared(row).p_adjusted = Some(p);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const INTERNAL: LotSort = LotSort {
        used_as: LotUse::Ci(Some(CiPosition::Internal)),
        process: Some(Process::Plasma),
    };

    /// A site where each lot of internal plasma indicators was used and failed so often.
    fn site(lots: &[(&str, u64, u64)]) -> SiteTally {
        let mut site = SiteTally::default();
        let of_sort = site.lots.entry(INTERNAL).or_default();
        for (lot, n_failed, n) in lots {
            let tally = Tally {
                n: *n,
                n_failed: *n_failed,
            };
            of_sort.insert((*lot).to_owned(), tally);
        }
        site
    }

    #[test]
    fn lot_that_fails_at_three_sites_stands_out_with_the_numbers_worked_out_by_hand() {
        // The lot fails with 9 of 60, 8 of 80, 7 of 40; the others at the same sites with 6 of 120, 4 of 160, 5 of 140.
        // Expected, by hand: 60 × 6/120 + 80 × 4/160 + 40 × 5/140 = 3 + 2 + 1.428571.
        // tests/reference/stats/05_cmh_stratified.json has these tables: mid-p 1.2089e-5 (scipy 1.17.1, computed).
        let sites = [
            site(&[("A", 9, 60), ("B", 6, 120)]),
            site(&[("A", 8, 80), ("B", 3, 100), ("C", 1, 60)]),
            site(&[("A", 7, 40), ("C", 5, 140)]),
            site(&[("D", 50, 100)]),
        ];
        let across = compare_lots(&sites);
        let lots: Vec<&str> = across.rows.iter().map(|row| row.lot.as_str()).collect();
        assert_eq!(lots, ["A", "B", "C"], "D was used at one site");
        assert_eq!(across.n_comparisons, 3);
        let row = &across.rows[0];
        assert_eq!((row.n_sites, row.n_sites_failed), (3, 3));
        assert_eq!((row.own.n, row.own.n_failed), (180, 24));
        assert!((row.expected - 6.428_571).abs() < 1e-5, "{}", row.expected);
        let contrast = row.compared.contrast.unwrap();
        assert!((contrast.p / 1.208_928_906_269_967_5e-5 - 1.0).abs() < 1e-9);
        // Three comparisons, two of them of lots that fail less often: Benjamini and Hochberg give three times the p.
        let adjusted = row.compared.p_adjusted.unwrap();
        assert!((adjusted / (3.0 * contrast.p) - 1.0).abs() < 1e-9);
        let out: Vec<bool> = across
            .rows
            .iter()
            .map(|row| row.compared.stands_out())
            .collect();
        assert_eq!(out, [true, false, false]);
    }

    #[test]
    fn lot_that_fails_at_one_site_alone_is_that_sites_matter() {
        let sites = [
            site(&[("A", 24, 60), ("B", 6, 120)]),
            site(&[("A", 0, 80), ("B", 4, 160)]),
        ];
        let across = compare_lots(&sites);
        assert_eq!(across.n_comparisons, 2);
        assert!(across.rows.iter().all(|row| !row.compared.stands_out()));
    }

    #[test]
    fn with_too_few_failures_in_all_nothing_is_compared() {
        let sites = [
            site(&[("A", 1, 60), ("B", 0, 120)]),
            site(&[("A", 1, 80), ("B", 0, 160)]),
        ];
        let across = compare_lots(&sites);
        assert_eq!((across.rows.len(), across.n_comparisons), (2, 0));
        assert!(
            across
                .rows
                .iter()
                .all(|row| row.compared.p_adjusted.is_none())
        );
    }

    fn cycles(processes: &[(Process, u64, u64)]) -> SiteTally {
        let mut site = SiteTally::default();
        for (process, n_failed, n) in processes {
            let tally = Tally {
                n: *n,
                n_failed: *n_failed,
            };
            site.processes.insert(Some(*process), tally);
        }
        site
    }

    #[test]
    fn site_is_held_against_the_others_within_each_process() {
        // Peroxide cycles fail with 10 %, steam cycles with 1 %, at every site: the second runs mostly peroxide, and its
        // share over both is five times that of the first. Within each process nothing differs.
        let alike = [
            cycles(&[(Process::Plasma, 10, 100), (Process::Steam, 10, 1000)]),
            cycles(&[(Process::Plasma, 100, 1000), (Process::Steam, 1, 100)]),
        ];
        let across = compare_sites(&alike);
        assert_eq!(across.n_comparisons, 2);
        assert!(
            across
                .rows
                .iter()
                .all(|row| row.compared.contrast.is_none())
        );
        // By hand: 1000 × 10/100 + 100 × 10/1000.
        assert!((across.rows[1].expected - 101.0).abs() < 1e-9);

        let one_fails_more = [
            cycles(&[(Process::Plasma, 40, 1000)]),
            cycles(&[(Process::Plasma, 40, 1000)]),
            cycles(&[(Process::Plasma, 120, 1000)]),
        ];
        let across = compare_sites(&one_fails_more);
        let out: Vec<bool> = across
            .rows
            .iter()
            .map(|row| row.compared.stands_out())
            .collect();
        assert_eq!(out, [false, false, true]);
        let ratio = across.rows[2].compared.contrast.unwrap().ratio;
        // 12 % of its own against 4 % of the others.
        assert!((ratio - 3.0).abs() < 0.1, "{ratio}");
        assert!(compare_sites(&one_fails_more[..1]).rows.is_empty());
    }
}
