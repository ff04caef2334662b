//! How much more often the exposed fail than the others, over all strata, whatever the size of the counts.
//!
//! Exact where that can be worked out ([`Strata::likelihood`]); where the counts are too many for it, Mantel and Haenszel's
//! common odds ratio with the interval of Robins, Breslow and Greenland, and Cochran's, Mantel's and Haenszel's test with
//! continuity correction. With many uses even a small difference is sure, so a ratio that is too small to act on is no
//! contrast. Read [`find_contrast`] first.

use super::strata::{Counts, Strata, rate_ratio};
use super::words::LEVEL;
use crate::stats::fisher::TwoByTwo;
use crate::stats::interval::Confidence;
use crate::stats::mantel_haenszel::{cochran_mantel_haenszel, pooled_odds_ratio};
use serde::Serialize;

/// The least ratio that is worth a look, however sure it is: common practice, no source.
pub const LEAST_RATIO: f64 = 1.5;

/// The most steps that the exact method may take; some tenths of a second.
const MOST_STEPS: u64 = 100_000_000;

/// By which method a contrast was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Method {
    /// The exact conditional likelihood, with mid-p (Gart 1970; Mehta, Patel and Gray 1985; Lancaster 1961).
    Exact,
    /// Mantel and Haenszel's (1959), with the interval of Robins, Breslow and Greenland (1986).
    MantelHaenszel,
}

/// How much more often the exposed fail.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Contrast {
    /// How many times as often as the others; infinite if the others never fail.
    pub ratio: f64,
    /// The lower end of its interval.
    pub low: f64,
    /// The upper end of its interval.
    pub high: f64,
    /// The level of the interval.
    pub level: f64,
    /// The probability of at least this by chance alone, one-sided, for this one comparison.
    pub p: f64,
    /// By which method.
    pub method: Method,
}

/// The contrast of the exposed with the others; `None` where nothing tells, or where the ratio is below [`LEAST_RATIO`].
pub fn find_contrast<K: Ord>(strata: &Strata<K>) -> Option<Contrast> {
    let telling: Vec<Counts> = strata
        .by_key()
        .values()
        .copied()
        .filter(Counts::tells)
        .collect();
    let tables: Vec<TwoByTwo> = telling.iter().map(table_of).collect();
    let pooled = pooled_odds_ratio(&tables, Confidence::P90).ok()?;
    if pooled.risk_ratio.is_some_and(|ratio| ratio < LEAST_RATIO) {
        return None;
    }
    let exact = if n_steps(&telling) <= MOST_STEPS {
        strata.likelihood()
    } else {
        None
    };
    let contrast = match exact {
        Some(likelihood) => {
            let (low, ratio, high) = likelihood.ratio(LEVEL);
            Contrast {
                ratio,
                low,
                high,
                level: LEVEL,
                p: likelihood.p_more(),
                method: Method::Exact,
            }
        }
        None => {
            let test = cochran_mantel_haenszel(&tables).ok()?;
            let half = test.p_corrected / 2.0;
            let total = strata.total_that_tells();
            let of_others =
                (f64::from(total.other_failures) + 0.5) / (f64::from(total.others) + 1.0);
            Contrast {
                ratio: rate_ratio(pooled.odds_ratio, of_others),
                low: rate_ratio(pooled.interval.low, of_others),
                high: rate_ratio(pooled.interval.high, of_others),
                level: Confidence::P90.share(),
                p: if test.excess > 0.0 { half } else { 1.0 - half },
                method: Method::MantelHaenszel,
            }
        }
    };
    (contrast.ratio >= LEAST_RATIO).then_some(contrast)
}

fn table_of(counts: &Counts) -> TwoByTwo {
    let rest = |n: u32, n_failed: u32| u64::from(n.saturating_sub(n_failed));
    TwoByTwo {
        a: counts.exposed_failures.into(),
        b: rest(counts.exposed, counts.exposed_failures),
        c: counts.other_failures.into(),
        d: rest(counts.others, counts.other_failures),
    }
}

/// How many steps the exact method takes: it adds one stratum's distribution after the other.
fn n_steps(telling: &[Counts]) -> u64 {
    let (mut n_points, mut n_steps) = (1_u64, 0_u64);
    for counts in telling {
        let failures =
            u64::from(counts.exposed_failures).saturating_add(u64::from(counts.other_failures));
        let most = failures.min(counts.exposed.into());
        let least = failures.saturating_sub(counts.others.into());
        let own = most.saturating_sub(least).saturating_add(1);
        n_steps = n_steps.saturating_add(n_points.saturating_mul(own));
        n_points = n_points.saturating_add(own);
    }
    n_steps
}

#[cfg(test)]
mod tests {
    use super::*;

    fn strata(tables: &[[u32; 4]], times: u32) -> Strata<usize> {
        tables
            .iter()
            .enumerate()
            .map(|(key, [a, b, c, d])| {
                let counts = Counts {
                    exposed_failures: a * times,
                    exposed: (a + b) * times,
                    other_failures: c * times,
                    others: (c + d) * times,
                };
                (key, counts)
            })
            .collect()
    }

    #[test]
    fn few_counts_are_told_by_the_exact_method() {
        // tests/reference/stats/05_cmh_stratified.json, exact_conditional.mid_p.greater (scipy 1.17.1, computed). The
        // failures are rare, so that the ratio of rates is near the odds ratios by hand: 3.73, 4.33, 5.73.
        let tables = [[9, 51, 6, 114], [8, 72, 4, 156], [7, 33, 5, 135]];
        let contrast = find_contrast(&strata(&tables, 1)).unwrap();
        assert_eq!(contrast.method, Method::Exact);
        assert!((contrast.p / 1.208_928_906_269_967_5e-5 - 1.0).abs() < 1e-9);
        assert!(contrast.low < contrast.ratio && contrast.ratio < contrast.high);
        assert!((3.0..5.0).contains(&contrast.ratio), "{}", contrast.ratio);
    }

    #[test]
    fn counts_too_many_for_it_are_told_by_mantel_and_haenszel() {
        // By hand: with every count 2000 times as large the odds ratio stays, sum(ad/n) / sum(bc/n). For the tables above
        // ad/n = 1026/180, 1248/240, 945/180 and bc/n = 306/180, 288/240, 165/180: 16.15 / 3.816667 = 4.231441.
        let tables = [[9, 51, 6, 114], [8, 72, 4, 156], [7, 33, 5, 135]];
        let contrast = find_contrast(&strata(&tables, 2000)).unwrap();
        assert_eq!(contrast.method, Method::MantelHaenszel);
        // Others fail with 15 of 420; the ratio of rates by Zhang and Yu (1998): OR / (1 − r + r OR).
        let rate = 15.0 / 420.0;
        let ratio = 4.231_441 / (1.0 - rate + rate * 4.231_441);
        assert!(
            (contrast.ratio / ratio - 1.0).abs() < 1e-4,
            "{}",
            contrast.ratio
        );
        assert!(contrast.p < 1e-12);
        assert!(contrast.high / contrast.low < 1.1);
    }

    #[test]
    fn sure_and_small_is_no_contrast() {
        // 1.3 times as often, with 100 000 uses on each side.
        assert!(find_contrast(&strata(&[[1300, 98_700, 1000, 99_000]], 1)).is_none());
        // No more often, and nothing that tells.
        assert!(find_contrast(&strata(&[[5, 95, 50, 950]], 1)).is_none());
        assert!(find_contrast(&strata(&[[0, 95, 0, 950]], 1)).is_none());
        // The others never fail: no end above, and a ratio all the same.
        let alone = find_contrast(&strata(&[[6, 94, 0, 1000]], 1)).unwrap();
        assert!(alone.high.is_infinite() && alone.low > LEAST_RATIO);
    }
}
