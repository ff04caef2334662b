//! A common odds ratio over several 2 × 2 tables, and the test that it is 1.
//!
//! W. G. Cochran, *Biometrics* 10 (1954); N. Mantel and W. Haenszel, *J. National Cancer Institute* 22 (1959): test with and
//! without continuity correction, pooled odds ratio and risk ratio. Interval: J. Robins, N. Breslow, S. Greenland,
//! *Biometrics* 42 (1986). Tables with an empty margin say nothing on the odds ratio and are left out.

use super::fisher::TwoByTwo;
use super::gamma::chi_square_upper;
use super::interval::{Confidence, Interval};
use super::reason::Reason;

/// The largest sum of a table: up to it every product of two margins is exact to within rounding.
const MAX_TOTAL: u64 = 1 << 40;

/// The pooled odds ratio.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PooledOddsRatio {
    /// Mantel and Haenszel's odds ratio; may be 0 or infinite.
    pub odds_ratio: f64,
    /// The standard error of its logarithm; nothing if the odds ratio is 0 or infinite.
    pub log_standard_error: Option<f64>,
    /// Its interval; from 0 to infinity if there is no standard error.
    pub interval: Interval,
    /// Mantel and Haenszel's risk ratio, over all tables that have both rows; nothing if the second row never has an event.
    pub risk_ratio: Option<f64>,
    /// How many tables say something.
    pub n_tables: usize,
}

/// The test that the common odds ratio is 1: chi-square with one degree of freedom.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CochranMantelHaenszel {
    /// Without continuity correction.
    pub chi_square: f64,
    /// Its p, two-sided.
    pub p: f64,
    /// With ½ taken from the deviation, but never below 0.
    pub chi_square_corrected: f64,
    /// Its p, two-sided.
    pub p_corrected: f64,
    /// Events of the first rows less what is expected of them: its sign says the direction.
    pub excess: f64,
    /// How many tables say something.
    pub n_tables: usize,
}

/// A table as numbers.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cells {
    pub(super) a: f64,
    pub(super) b: f64,
    pub(super) c: f64,
    pub(super) d: f64,
    pub(super) n: f64,
}

/// The tables that say something on the odds ratio.
///
/// # Errors
/// [`Reason::NoInformation`] if none does, [`Reason::TooLarge`].
pub(super) fn informative(tables: &[TwoByTwo]) -> Result<Vec<Cells>, Reason> {
    let mut cells = Vec::new();
    for table in tables {
        let n = table.total_up_to(MAX_TOTAL)? as f64;
        if table.is_informative() {
            cells.push(Cells {
                a: table.a as f64,
                b: table.b as f64,
                c: table.c as f64,
                d: table.d as f64,
                n,
            });
        }
    }
    if cells.is_empty() {
        Err(Reason::NoInformation)
    } else {
        Ok(cells)
    }
}

/// The pooled odds ratio of the tables' first rows against their second.
///
/// # Errors
/// [`Reason::NoInformation`] if every table has an empty margin, [`Reason::TooLarge`] beyond a million million in one.
pub fn pooled_odds_ratio(
    tables: &[TwoByTwo],
    confidence: Confidence,
) -> Result<PooledOddsRatio, Reason> {
    let cells = informative(tables)?;
    let total = |f: fn(&Cells) -> f64| -> f64 { cells.iter().map(f).sum() };
    let ad = total(|t| t.a * t.d / t.n);
    let bc = total(|t| t.b * t.c / t.n);
    if ad == 0.0 && bc == 0.0 {
        return Err(Reason::NoInformation);
    }
    let odds_ratio = ad / bc;
    let risk_above = total(|t| t.a * (t.c + t.d) / t.n);
    let risk_below = total(|t| t.c * (t.a + t.b) / t.n);
    let (log_standard_error, interval) = if ad > 0.0 && bc > 0.0 {
        let first = total(|t| (t.a + t.d) * t.a * t.d / (t.n * t.n)) / (ad * ad);
        let cross = total(|t| ((t.a + t.d) * t.b * t.c + (t.b + t.c) * t.a * t.d) / (t.n * t.n))
            / (ad * bc);
        let last = total(|t| (t.b + t.c) * t.b * t.c / (t.n * t.n)) / (bc * bc);
        let error = ((first + cross + last) / 2.0).sqrt();
        let reach = confidence.z() * error;
        let interval = Interval {
            low: odds_ratio * (-reach).exp(),
            high: odds_ratio * reach.exp(),
        };
        (Some(error), interval)
    } else {
        let everything = Interval {
            low: 0.0,
            high: f64::INFINITY,
        };
        (None, everything)
    };
    Ok(PooledOddsRatio {
        odds_ratio,
        log_standard_error,
        interval,
        risk_ratio: (risk_below > 0.0).then(|| risk_above / risk_below),
        n_tables: cells.len(),
    })
}

/// The test that the common odds ratio is 1.
///
/// # Errors
/// As [`pooled_odds_ratio`].
pub fn cochran_mantel_haenszel(tables: &[TwoByTwo]) -> Result<CochranMantelHaenszel, Reason> {
    let cells = informative(tables)?;
    let excess: f64 = cells
        .iter()
        .map(|t| t.a - (t.a + t.b) * (t.a + t.c) / t.n)
        .sum();
    let variance: f64 = cells
        .iter()
        .map(|t| {
            let rows = (t.a + t.b) * (t.c + t.d);
            let columns = (t.a + t.c) * (t.b + t.d);
            rows * columns / (t.n * t.n * (t.n - 1.0))
        })
        .sum();
    let chi_square = excess * excess / variance;
    let corrected = (excess.abs() - 0.5).max(0.0);
    let chi_square_corrected = corrected * corrected / variance;
    Ok(CochranMantelHaenszel {
        chi_square,
        p: chi_square_upper(chi_square, 1.0),
        chi_square_corrected,
        p_corrected: chi_square_upper(chi_square_corrected, 1.0),
        excess,
        n_tables: cells.len(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_that_say_nothing_have_a_reason() {
        let silent = TwoByTwo {
            a: 0,
            b: 5,
            c: 0,
            d: 7,
        };
        assert_eq!(
            pooled_odds_ratio(&[], Confidence::P95),
            Err(Reason::NoInformation)
        );
        assert_eq!(
            cochran_mantel_haenszel(&[silent]),
            Err(Reason::NoInformation)
        );
        let huge = TwoByTwo {
            a: u64::MAX,
            ..silent
        };
        assert!(cochran_mantel_haenszel(&[huge]).is_err());
    }

    #[test]
    fn correction_never_goes_beyond_no_deviation() {
        // R's mantelhaen.test takes min(½, |deviation|) off; statsmodels would get (0 − ½)² / variance here.
        let level = TwoByTwo {
            a: 5,
            b: 5,
            c: 5,
            d: 5,
        };
        let test = cochran_mantel_haenszel(&[level]).unwrap();
        assert_eq!((test.chi_square_corrected, test.p_corrected), (0.0, 1.0));
    }

    #[test]
    fn empty_cells_everywhere_leave_the_interval_open() {
        let table = TwoByTwo {
            a: 3,
            b: 0,
            c: 1,
            d: 4,
        };
        let pooled = pooled_odds_ratio(&[table], Confidence::P95).unwrap();
        assert_eq!(pooled.odds_ratio, f64::INFINITY);
        assert_eq!(pooled.interval.low, 0.0);
    }

    #[test]
    fn two_tables_are_pooled_by_hand() {
        let table = |a, b, c, d| TwoByTwo { a, b, c, d };
        // Of 10 and of 20; and one that says nothing on the odds.
        let tables = [table(4, 1, 2, 3), table(6, 4, 3, 7), table(0, 5, 0, 5)];
        // ad/n: 12/10 + 42/20 = 3.3; bc/n: 2/10 + 12/20 = 0.8.
        let pooled = pooled_odds_ratio(&tables, Confidence::P95).unwrap();
        assert!((pooled.odds_ratio - 3.3 / 0.8).abs() < 1e-12);
        assert_eq!(pooled.n_tables, 2);
        // a (c + d) / n: 20/10 + 60/20 = 5; c (a + b) / n: 10/10 + 30/20 = 2.5.
        assert!((pooled.risk_ratio.unwrap() - 2.0).abs() < 1e-12);
        // Robins, Breslow and Greenland: P = (a + d)/n is 0.7 and 0.65, Q = 0.3 and 0.35; R = 1.2 and 2.1, S = 0.2 and 0.6.
        // Σ P R = 2.205, Σ (P S + Q R) = 0.14 + 0.36 + 0.39 + 0.735 = 1.625, Σ Q S = 0.27.
        let variance =
            2.205 / (2.0 * 3.3 * 3.3) + 1.625 / (2.0 * 3.3 * 0.8) + 0.27 / (2.0 * 0.8 * 0.8);
        let error = pooled.log_standard_error.unwrap();
        assert!((error * error - variance).abs() < 1e-12);
        let reach = 1.959_963_984_540_054 * variance.sqrt();
        assert!((pooled.interval.high / (3.3 / 0.8 * reach.exp()) - 1.0).abs() < 1e-12);
        assert!((pooled.interval.low / (3.3 / 0.8 / reach.exp()) - 1.0).abs() < 1e-12);
        // Expected 5 · 6 / 10 = 3 and 10 · 9 / 20 = 4.5, so 2.5 more; 5·5·6·4 / (100 · 9) and 10·10·9·11 / (400 · 19).
        let test = cochran_mantel_haenszel(&tables).unwrap();
        let variance = 600.0 / 900.0 + 9_900.0 / 7_600.0;
        assert!((test.excess - 2.5).abs() < 1e-12);
        assert!((test.chi_square - 6.25 / variance).abs() < 1e-12);
        assert!((test.chi_square_corrected - 4.0 / variance).abs() < 1e-12);
        assert_eq!(test.n_tables, 2);
    }

    #[test]
    fn empty_products_leave_the_ratio_at_an_end() {
        let table = |a, b, c, d| TwoByTwo { a, b, c, d };
        let none = pooled_odds_ratio(&[table(0, 3, 4, 1)], Confidence::P95).unwrap();
        assert_eq!((none.odds_ratio, none.log_standard_error), (0.0, None));
        assert_eq!(
            (none.interval.low, none.interval.high),
            (0.0, f64::INFINITY)
        );
        assert_eq!(none.risk_ratio, Some(0.0));
        let all = pooled_odds_ratio(&[table(3, 1, 0, 4)], Confidence::P95).unwrap();
        assert_eq!(
            (all.odds_ratio, all.log_standard_error),
            (f64::INFINITY, None)
        );
        assert_eq!(all.risk_ratio, None);
        let too_large = Err(Reason::TooLarge { argument: "counts" });
        let most = 1 << 40;
        assert!(pooled_odds_ratio(&[table(most - 3, 1, 1, 1)], Confidence::P95).is_ok());
        assert_eq!(
            pooled_odds_ratio(&[table(most - 2, 1, 1, 1)], Confidence::P95),
            too_large
        );
    }
}
