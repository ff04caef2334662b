//! Fisher's exact test of a 2 × 2 table, with the conditional odds ratio.
//!
//! R. A. Fisher, *JRSS* 98 (1935), "The logic of inductive inference"; conditional maximum likelihood and exact interval:
//! J. Cornfield, *Proc. Third Berkeley Symposium* 4 (1956). Mid-p: H. O. Lancaster, *JASA* 56 (1961).

use super::discrete::Discrete;
use super::interval::{Confidence, Interval};
use super::proportion_test::ExactTest;
use super::reason::Reason;
use super::root::find_root_outward;

/// The largest sum of a table.
const MAX_TOTAL: u64 = 4_000_000;

/// How far, in the logarithm, an odds ratio is sought.
const REACH: f64 = 600.0;

/// A table: rows are two groups, columns are with and without the event.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TwoByTwo {
    /// First group with the event.
    pub a: u64,
    /// First group without.
    pub b: u64,
    /// Second group with the event.
    pub c: u64,
    /// Second group without.
    pub d: u64,
}

impl TwoByTwo {
    /// The sum of the four cells.
    ///
    /// # Errors
    /// [`Reason::TooLarge`] beyond four million.
    pub(super) fn total(self) -> Result<u64, Reason> {
        self.total_up_to(MAX_TOTAL)
    }

    /// The same, up to a limit of its own.
    ///
    /// # Errors
    /// [`Reason::TooLarge`] beyond that.
    pub(super) fn total_up_to(self, most: u64) -> Result<u64, Reason> {
        [self.a, self.b, self.c, self.d]
            .into_iter()
            .try_fold(0_u64, u64::checked_add)
            .filter(|total| *total <= most)
            .ok_or(Reason::TooLarge { argument: "counts" })
    }

    /// Whether all four margins are above 0, so that the table says something on the odds ratio.
    pub fn is_informative(self) -> bool {
        (self.a > 0 && self.d > 0) || (self.b > 0 && self.c > 0)
    }

    /// The odds ratio of the counts themselves, ad / bc: infinite if only bc is 0, nothing if both products are.
    pub fn sample_odds_ratio(self) -> Option<f64> {
        let ad = self.a as f64 * self.d as f64;
        let bc = self.b as f64 * self.c as f64;
        (ad > 0.0 || bc > 0.0).then(|| ad / bc)
    }

    /// The first cell's distribution with these margins and a log odds ratio.
    pub(super) fn conditional(self, log_odds_ratio: f64) -> Result<Discrete, Reason> {
        self.total()?;
        Discrete::hypergeometric(
            self.a.saturating_add(self.b),
            self.c.saturating_add(self.d),
            self.a.saturating_add(self.c),
            log_odds_ratio,
        )
    }
}

/// What the exact method says of a table or of several.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ExactOddsRatio {
    /// The p-values that the odds ratio is 1. `greater` is the p that the first group has the larger odds.
    pub test: ExactTest,
    /// The conditional maximum-likelihood odds ratio: 0 or infinite at an end of what the margins allow, nothing if the
    /// margins allow one table only.
    pub odds_ratio: Option<f64>,
    /// The exact interval: an end may be 0 or infinite.
    pub interval: Interval,
}

/// Fisher's exact test.
///
/// # Errors
/// [`Reason::TooFew`] for an empty table, [`Reason::TooLarge`] beyond four million, [`Reason::NotSettled`] if a search
/// fails. A table with an empty margin is not an error: its p is 1 and it has no odds ratio.
pub fn fisher_test(table: TwoByTwo, confidence: Confidence) -> Result<ExactOddsRatio, Reason> {
    if table.total()? == 0 {
        return Err(Reason::TooFew {
            needed: 1,
            given: 0,
        });
    }
    exact_odds_ratio(table.a, confidence, |log| table.conditional(log))
}

/// The exact method for a statistic whose distribution at a log odds ratio is given.
pub(super) fn exact_odds_ratio(
    observed: u64,
    confidence: Confidence,
    at: impl Fn(f64) -> Result<Discrete, Reason>,
) -> Result<ExactOddsRatio, Reason> {
    let null = at(0.0)?;
    let test = ExactTest {
        exact: null.exact(observed),
        mid: null.mid(observed),
    };
    let (is_first, is_last) = (observed <= null.first(), observed >= null.last());
    if is_first && is_last {
        return Ok(ExactOddsRatio {
            test,
            odds_ratio: None,
            interval: Interval {
                low: 0.0,
                high: f64::INFINITY,
            },
        });
    }
    let solve = |f: &dyn Fn(&Discrete) -> f64| {
        find_root_outward(|log| at(log).map_or(f64::NAN, |d| f(&d)), 0.0, REACH)
            .map(f64::exp)
            .ok_or(Reason::NotSettled)
    };
    let tail = confidence.tail();
    let low = if is_first {
        0.0
    } else {
        solve(&|d| d.at_least(observed) - tail)?
    };
    let high = if is_last {
        f64::INFINITY
    } else {
        solve(&|d| d.at_most(observed) - tail)?
    };
    let odds_ratio = if is_first {
        0.0
    } else if is_last {
        f64::INFINITY
    } else {
        solve(&|d| d.mean() - observed as f64)?
    };
    Ok(ExactOddsRatio {
        test,
        odds_ratio: Some(odds_ratio),
        interval: Interval { low, high },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bad_tables_have_a_reason() {
        let of = |a, b, c, d| fisher_test(TwoByTwo { a, b, c, d }, Confidence::P95);
        assert!(of(0, 0, 0, 0).is_err());
        assert!(of(u64::MAX, u64::MAX, 1, 1).is_err());
        let empty_column = of(0, 3, 0, 4).unwrap();
        assert_eq!(empty_column.odds_ratio, None);
        assert_eq!(empty_column.test.exact.two_sided, 1.0);
    }

    #[test]
    fn large_lopsided_table_settles() {
        let table = TwoByTwo {
            a: 900,
            b: 1,
            c: 1,
            d: 90_000,
        };
        let result = fisher_test(table, Confidence::P99).unwrap();
        assert!(result.odds_ratio.unwrap() > 1e6);
        assert!(result.interval.low > 1.0 && result.interval.high.is_finite());
    }

    const fn table(a: u64, b: u64, c: u64, d: u64) -> TwoByTwo {
        TwoByTwo { a, b, c, d }
    }

    #[test]
    fn table_says_something_if_no_margin_is_empty() {
        for (table, informative, ratio) in [
            (table(1, 2, 3, 4), true, Some(4.0 / 6.0)),
            (table(1, 0, 0, 4), true, Some(f64::INFINITY)),
            (table(0, 2, 3, 0), true, Some(0.0)),
            (table(0, 0, 3, 4), false, None),
            (table(1, 2, 0, 0), false, None),
            (table(0, 2, 0, 4), false, None),
            (table(1, 0, 3, 0), false, None),
            (table(0, 2, 3, 4), true, Some(0.0)),
            (table(1, 2, 3, 0), true, Some(0.0)),
            (table(1, 0, 3, 4), true, Some(f64::INFINITY)),
        ] {
            assert_eq!(table.is_informative(), informative, "{table:?}");
            assert_eq!(table.sample_odds_ratio(), ratio, "{table:?}");
        }
    }

    #[test]
    fn ends_of_what_the_margins_allow_have_odds_of_nothing_and_without_end() {
        // No event of 3 against 2 of 2: C(3, 0) C(2, 2) / C(5, 2) = 1/10 on one side.
        let none = fisher_test(table(0, 3, 2, 0), Confidence::P95).unwrap();
        assert_eq!(none.odds_ratio, Some(0.0));
        assert_eq!(none.interval.low, 0.0);
        assert!((none.test.exact.less - 0.1).abs() < 1e-15);
        // At the upper end ω the chance of no event is 2.5 %: 1 / (1 + 6 ω + 3 ω²) = 1/40, ω = √14 − 1.
        assert!((none.interval.high / (14.0_f64.sqrt() - 1.0) - 1.0).abs() < 1e-9);
        let all = fisher_test(table(2, 0, 0, 3), Confidence::P95).unwrap();
        assert_eq!(all.odds_ratio, Some(f64::INFINITY));
        assert_eq!(all.interval.high, f64::INFINITY);
        assert!((all.interval.low * (14.0_f64.sqrt() - 1.0) - 1.0).abs() < 1e-9);
        let one_table = fisher_test(table(0, 3, 0, 4), Confidence::P95).unwrap();
        assert_eq!(
            (one_table.interval.low, one_table.interval.high),
            (0.0, f64::INFINITY)
        );
    }

    #[test]
    fn four_million_are_counted_and_one_more_is_too_large() {
        let too_large = Err(Reason::TooLarge { argument: "counts" });
        assert_eq!(table(4_000_000, 0, 0, 0).total(), Ok(4_000_000));
        assert_eq!(table(4_000_000, 0, 0, 1).total(), too_large);
        assert_eq!(
            fisher_test(table(0, 0, 0, 0), Confidence::P95),
            Err(Reason::TooFew {
                needed: 1,
                given: 0
            })
        );
    }
}
