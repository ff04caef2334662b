//! Whether several 2 × 2 tables share one odds ratio.
//!
//! N. E. Breslow and N. E. Day, *Statistical Methods in Cancer Research*, volume 1 (IARC, 1980), section 4.4; R. E. Tarone's
//! correction, *Biometrika* 72 (1985). Tables with an empty margin are left out first. With small counts its p is rough.

use super::fisher::TwoByTwo;
use super::gamma::chi_square_upper;
use super::interval::Confidence;
use super::mantel_haenszel::{informative, pooled_odds_ratio};
use super::reason::Reason;

/// The result of the test: chi-square with tables − 1 degrees of freedom.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Homogeneity {
    /// Breslow and Day's statistic.
    pub breslow_day: f64,
    /// Its p.
    pub p: f64,
    /// The same with Tarone's correction.
    pub tarone: f64,
    /// Its p.
    pub p_tarone: f64,
    /// Tables that say something, less one.
    pub degrees_of_freedom: usize,
}

/// The test that all tables have Mantel and Haenszel's pooled odds ratio.
///
/// # Errors
/// [`Reason::NoInformation`] if no table says something or the pooled odds ratio is 0 or infinite; [`Reason::TooFew`] if
/// one table alone says something; [`Reason::TooLarge`].
pub fn homogeneity_test(tables: &[TwoByTwo]) -> Result<Homogeneity, Reason> {
    let cells = informative(tables)?;
    if cells.len() < 2 {
        return Err(Reason::TooFew {
            needed: 2,
            given: cells.len(),
        });
    }
    let ratio = pooled_odds_ratio(tables, Confidence::P95)?.odds_ratio;
    if ratio == 0.0 || ratio.is_infinite() {
        return Err(Reason::NoInformation);
    }
    let (mut statistic, mut deviation, mut variances) = (0.0, 0.0, 0.0);
    for table in &cells {
        let (row, column) = (table.a + table.b, table.a + table.c);
        // The expected first cell e solves e (n − row − column + e) = ratio (row − e) (column − e), between the ends that
        // the margins allow; the form of the root that doesn't cancel and holds at ratio = 1.
        let linear = ratio * (row + column) + table.n - row - column;
        let root = (linear * linear - 4.0 * (ratio - 1.0) * ratio * row * column)
            .max(0.0)
            .sqrt();
        let expected = if linear >= 0.0 {
            2.0 * ratio * row * column / (linear + root)
        } else {
            (linear - root) / (2.0 * (ratio - 1.0))
        };
        let others = [
            expected,
            row - expected,
            column - expected,
            table.n - row - column + expected,
        ];
        let variance = 1.0 / others.iter().map(|cell| 1.0 / cell).sum::<f64>();
        statistic += (table.a - expected) * (table.a - expected) / variance;
        deviation += table.a - expected;
        variances += variance;
    }
    let tarone = statistic - deviation * deviation / variances;
    if !(statistic.is_finite() && tarone.is_finite()) {
        return Err(Reason::NotSettled);
    }
    let degrees_of_freedom = cells.len().saturating_sub(1);
    Ok(Homogeneity {
        breslow_day: statistic,
        p: chi_square_upper(statistic, degrees_of_freedom as f64),
        tarone,
        p_tarone: chi_square_upper(tarone.max(0.0), degrees_of_freedom as f64),
        degrees_of_freedom,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const TABLE: TwoByTwo = TwoByTwo {
        a: 6,
        b: 14,
        c: 3,
        d: 17,
    };

    #[test]
    fn equal_tables_are_alike_at_any_odds_ratio() {
        // By definition the expected cells are then the counts themselves.
        for table in [
            TABLE,
            TwoByTwo {
                a: 30,
                b: 2,
                c: 1,
                d: 40,
            },
            TwoByTwo {
                a: 2,
                b: 30,
                c: 40,
                d: 1,
            },
            TwoByTwo {
                a: 5,
                b: 5,
                c: 5,
                d: 5,
            },
        ] {
            let test = homogeneity_test(&[table, table]).unwrap();
            assert!(test.breslow_day.abs() < 1e-12, "{table:?} {test:?}");
            assert!((test.p - 1.0).abs() < 1e-5);
        }
    }

    #[test]
    fn one_table_alone_or_a_zero_ratio_has_a_reason() {
        let silent = TwoByTwo {
            a: 0,
            b: 9,
            c: 0,
            d: 9,
        };
        assert_eq!(
            homogeneity_test(&[TABLE, silent]),
            Err(Reason::TooFew {
                needed: 2,
                given: 1
            })
        );
        let zero = TwoByTwo {
            a: 0,
            b: 9,
            c: 3,
            d: 9,
        };
        assert_eq!(homogeneity_test(&[zero, zero]), Err(Reason::NoInformation));
        let endless = TwoByTwo {
            a: 9,
            b: 0,
            c: 3,
            d: 9,
        };
        assert_eq!(
            homogeneity_test(&[endless, endless]),
            Err(Reason::NoInformation)
        );
        assert_eq!(homogeneity_test(&[]), Err(Reason::NoInformation));
    }
}
