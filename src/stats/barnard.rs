//! Barnard's unconditional exact test of two proportions.
//!
//! G. A. Barnard, *Biometrika* 34 (1947); ordering by the pooled score statistic (S. Suissa and J. J. Shuster, *JRSS A* 148,
//! 1985). Given the number of events in both groups together, the share of tables as extreme as the observed one doesn't
//! depend on the unknown probability π; so the p at π is that share averaged over the binomial number of events, and
//! the p-value its largest value over π.

use super::discrete::Discrete;
use super::fisher::TwoByTwo;
use super::reason::Reason;

/// The largest product of both groups' sizes.
const MAX_WORK: u64 = 4_000_000;

/// How many π are looked at before the best is refined.
const N_GRID: u32 = 600;

/// The two-sided p that both rows of the table have the same probability of the event, to about 1e-6.
///
/// # Errors
/// [`Reason::NoInformation`] if a margin is 0, [`Reason::TooLarge`] if the product of the rows is beyond four million.
#[expect(
    clippy::arithmetic_side_effects,
    reason = "the sum of all cells was taken above without overflow, and of a number of events no more are in one row"
)]
pub fn barnard_test(table: TwoByTwo) -> Result<f64, Reason> {
    let total = table.total()?;
    if !table.is_informative() {
        return Err(Reason::NoInformation);
    }
    let (n1, n2) = (table.a + table.b, table.c + table.d);
    if n1.saturating_mul(n2) > MAX_WORK {
        return Err(Reason::TooLarge { argument: "counts" });
    }
    let statistic = |x1: u64, x2: u64| {
        let pooled = (x1 + x2) as f64 / total as f64;
        // The variance but for its factor 1/n₁ + 1/n₂, which all tables share: the statistic only ranks them.
        let spread = pooled * (1.0 - pooled);
        let difference = x1 as f64 / n1 as f64 - x2 as f64 / n2 as f64;
        if spread == 0.0 {
            0.0
        } else {
            difference.abs() / spread.sqrt()
        }
    };
    let limit = statistic(table.a, table.c) * (1.0 - 1e-10);
    let mut extreme_shares = Vec::new();
    for events in 0..=total {
        let split = Discrete::hypergeometric(n1, n2, events, 0.0)?;
        let share: f64 = (split.first()..=split.last())
            .filter(|x1| statistic(*x1, events - x1) >= limit)
            .map(|x1| split.share(x1))
            .sum();
        extreme_shares.push(share);
    }
    let p_at = |pi: f64| -> f64 {
        Discrete::binomial(total, pi).map_or(0.0, |events| {
            events
                .shares()
                .iter()
                .zip(&extreme_shares)
                .map(|(share, extreme)| share * extreme)
                .sum()
        })
    };
    // Evenly spaced in the angle whose sine squared is π, where binomial curves are equally wide everywhere.
    let pi = |place: f64| {
        (place / f64::from(N_GRID) * std::f64::consts::FRAC_PI_2)
            .sin()
            .powi(2)
    };
    let best = (0..=N_GRID)
        .map(f64::from)
        .max_by(|a, b| p_at(pi(*a)).total_cmp(&p_at(pi(*b))))
        .unwrap_or(0.0);
    let (mut low, mut high) = ((best - 1.0).max(0.0), (best + 1.0).min(f64::from(N_GRID)));
    for _ in 0..60 {
        let third = (high - low) / 3.0;
        if p_at(pi(low + third)) < p_at(pi(high - third)) {
            low += third;
        } else {
            high -= third;
        }
    }
    Ok(p_at(pi(low)).max(p_at(pi(best))).min(1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bad_tables_have_a_reason() {
        let of = |a, b, c, d| barnard_test(TwoByTwo { a, b, c, d });
        assert_eq!(of(0, 0, 0, 0), Err(Reason::NoInformation));
        assert_eq!(of(0, 5, 0, 5), Err(Reason::NoInformation));
        assert!(of(3000, 3000, 3000, 3000).is_err());
        assert!(of(u64::MAX, 1, 1, 1).is_err());
    }

    #[test]
    fn vaccine_example_is_met() {
        // C. R. Mehta and P. Senchaudhuri, "Conditional versus unconditional exact tests for comparing two binomials" (2003),
        // as quoted in scipy's documentation of barnard_exact: 7 of 15 against 12 of 15, one-sided p 0.03407; both groups
        // have 15, so the two-sided p is twice that.
        let table = TwoByTwo {
            a: 7,
            b: 8,
            c: 12,
            d: 3,
        };
        let p = barnard_test(table).unwrap();
        // 0.068218 with every equally extreme table counted, on a grid of 20 001 π in numpy (C).
        assert!((p - 0.068_218_309_3).abs() < 1e-8, "{p}");
        assert!((p - 2.0 * 0.03407).abs() < 1e-4, "{p}");
    }

    #[test]
    fn groups_of_different_size_are_those_of_an_enumeration() {
        // Every equally extreme table found with fractions, their probability on a grid of 20 001 π in numpy 2.4.6 (C).
        for ((a, b, c, d), expected) in [
            ((5, 2, 2, 9), 0.031_471_252_441),
            ((3, 7, 9, 2), 0.027_044_296_265),
            ((1, 9, 6, 3), 0.013_031_005_859),
        ] {
            let p = barnard_test(TwoByTwo { a, b, c, d }).unwrap();
            assert!((p - expected).abs() < 1e-10, "{p}");
        }
    }

    #[test]
    fn shares_that_are_equal_are_as_likely_as_can_be_up_to_the_largest_groups() {
        // Every table is as extreme as one without a difference.
        let equal = |n: u64| TwoByTwo {
            a: n,
            b: n,
            c: n,
            d: n,
        };
        assert!((barnard_test(equal(5)).unwrap() - 1.0).abs() < 1e-12);
        assert!((barnard_test(equal(1000)).unwrap() - 1.0).abs() < 1e-9);
        let too_large = Err(Reason::TooLarge { argument: "counts" });
        assert_eq!(barnard_test(equal(1001)), too_large);
    }
}
