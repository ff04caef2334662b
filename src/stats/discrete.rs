//! A distribution on consecutive whole numbers, and the tails that exact tests are made of.
//!
//! The probabilities are built outward from the most probable number by the ratio of neighbours and then made to sum to
//! 1, which keeps nearly all digits; differences of log-gamma functions would lose them for large counts.
//! Read [`Discrete::exact`] first.

use super::reason::Reason;

/// The largest number of points a distribution is built for.
const MAX_POINTS: u64 = 4_000_000;

/// Two probabilities within this part of each other count as equal when a two-sided p is summed, as in R's `fisher.test`
/// and in scipy: they may differ by rounding alone.
const SAME: f64 = 1e-7;

/// One- and two-sided p-values of one observation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tails {
    /// As large or larger.
    pub greater: f64,
    /// As small or smaller.
    pub less: f64,
    /// As improbable or more improbable (minimum likelihood), on either side.
    pub two_sided: f64,
    /// Twice the smaller one-sided p, at most 1.
    pub doubled: f64,
}

impl Tails {
    fn of(greater: f64, less: f64, two_sided: f64) -> Self {
        let (greater, less) = (greater.min(1.0), less.min(1.0));
        Tails {
            greater,
            less,
            two_sided: two_sided.min(1.0),
            doubled: (2.0 * greater.min(less)).min(1.0),
        }
    }
}

/// A distribution on the whole numbers from `first` on.
#[derive(Debug, Clone, PartialEq)]
pub struct Discrete {
    first: u64,
    shares: Vec<f64>,
}

impl Discrete {
    /// From the ratio of each number's probability to that of the one before it, which must fall as the number grows.
    /// `ratio(x)` is P(x + 1) / P(x).
    #[expect(
        clippy::arithmetic_side_effects,
        reason = "`last` is at least `first`, as is asked first, and a middle lies below `high`"
    )]
    fn from_ratios(first: u64, last: u64, ratio: impl Fn(u64) -> f64) -> Result<Self, Reason> {
        if last < first || last - first >= MAX_POINTS {
            return Err(Reason::TooLarge { argument: "counts" });
        }
        let (mut low, mut high) = (first, last);
        while low < high {
            let middle = low + (high - low) / 2;
            if ratio(middle) >= 1.0 {
                low = middle + 1;
            } else {
                high = middle;
            }
        }
        let mode = low;
        let mut below = Vec::new();
        let mut weight = 1.0;
        for x in (first..mode).rev() {
            weight /= ratio(x);
            below.push(weight);
        }
        below.reverse();
        let mut weights = below;
        weights.push(1.0);
        let mut weight = 1.0;
        for x in mode..last {
            weight *= ratio(x);
            weights.push(weight);
        }
        Ok(Discrete::normalised(first, weights))
    }

    fn normalised(first: u64, mut weights: Vec<f64>) -> Self {
        let sum: f64 = weights.iter().sum();
        for weight in &mut weights {
            *weight /= sum;
        }
        Discrete {
            first,
            shares: weights,
        }
    }

    /// The number of events in `n` trials of this probability.
    ///
    /// # Errors
    /// [`Reason::OutOfRange`] unless 0 ≤ probability ≤ 1; [`Reason::TooLarge`] beyond four million trials.
    #[expect(
        clippy::arithmetic_side_effects,
        reason = "ratios are asked for numbers below `n` only"
    )]
    pub fn binomial(n: u64, probability: f64) -> Result<Self, Reason> {
        if !(0.0..=1.0).contains(&probability) {
            return Err(Reason::OutOfRange {
                argument: "probability",
            });
        }
        let odds = probability / (1.0 - probability);
        Discrete::from_ratios(0, n, |x| (n - x) as f64 / (x + 1) as f64 * odds)
    }

    /// The number of events where `mean` are expected, built far enough for the tails of `observed`.
    ///
    /// # Errors
    /// [`Reason::OutOfRange`] unless the mean is positive; [`Reason::TooLarge`] beyond about four million.
    #[expect(
        clippy::arithmetic_side_effects,
        reason = "ratios are asked for numbers below four million only"
    )]
    pub fn poisson(mean: f64, observed: u64) -> Result<Self, Reason> {
        if mean.is_nan() || mean <= 0.0 {
            return Err(Reason::OutOfRange { argument: "mean" });
        }
        // Beyond twice the larger the terms fall by at least half each, and 80 halvings add less than the rounding of the
        // sum. A number beyond 2⁶⁴ becomes the largest, which is too large.
        let reach = mean.max(observed as f64) * 2.0 + 80.0;
        Discrete::from_ratios(0, reach as u64, |x| mean / (x + 1) as f64)
    }

    /// The upper left cell of a 2 × 2 table with these margins when the odds ratio is e^`log_odds_ratio`: Fisher's
    /// noncentral hypergeometric distribution.
    ///
    /// # Errors
    /// [`Reason::OutOfRange`] if the margins don't fit or the log odds ratio is beyond ±700.
    #[expect(
        clippy::arithmetic_side_effects,
        reason = "ratios are asked between the least and the most that the margins allow, and these are at most 2^52"
    )]
    pub fn hypergeometric(
        row: u64,
        other_row: u64,
        column: u64,
        log_odds_ratio: f64,
    ) -> Result<Self, Reason> {
        let total = row.saturating_add(other_row);
        if column > total || total > 1 << 52 {
            return Err(Reason::OutOfRange {
                argument: "margins",
            });
        }
        if log_odds_ratio.is_nan() || log_odds_ratio.abs() > 700.0 {
            return Err(Reason::OutOfRange {
                argument: "odds ratio",
            });
        }
        let odds_ratio = log_odds_ratio.exp();
        let (first, last) = (column.saturating_sub(other_row), row.min(column));
        Discrete::from_ratios(first, last, |x| {
            let up = (row - x) as f64 * (column - x) as f64;
            let down = (x + 1) as f64 * (other_row + x + 1 - column) as f64;
            up / down * odds_ratio
        })
    }

    /// The sum of two independent numbers.
    ///
    /// # Errors
    /// [`Reason::TooLarge`] if the work would be excessive.
    pub fn plus(&self, other: &Discrete) -> Result<Self, Reason> {
        let work = (self.shares.len() as u64).saturating_mul(other.shares.len() as u64);
        if work > 400_000_000 {
            return Err(Reason::TooLarge { argument: "counts" });
        }
        let n = self.shares.len().saturating_add(other.shares.len());
        let mut shares = vec![0.0; n.saturating_sub(1)];
        for (at, share) in self.shares.iter().enumerate() {
            for (sum, other_share) in shares.iter_mut().skip(at).zip(&other.shares) {
                *sum += share * other_share;
            }
        }
        Ok(Discrete::normalised(
            self.first.saturating_add(other.first),
            shares,
        ))
    }

    /// The smallest number it can give.
    pub fn first(&self) -> u64 {
        self.first
    }

    /// The largest number it can give.
    pub fn last(&self) -> u64 {
        let n_further = (self.shares.len() as u64).saturating_sub(1);
        self.first.saturating_add(n_further)
    }

    /// The probability of one number.
    pub fn share(&self, number: u64) -> f64 {
        number
            .checked_sub(self.first)
            .and_then(|at| self.shares.get(usize::try_from(at).ok()?))
            .copied()
            .unwrap_or(0.0)
    }

    /// The probabilities, of `first` and of each number after it.
    pub(super) fn shares(&self) -> &[f64] {
        &self.shares
    }

    /// The mean.
    pub fn mean(&self) -> f64 {
        let excess: f64 = self
            .shares
            .iter()
            .enumerate()
            .map(|(at, share)| at as f64 * share)
            .sum();
        self.first as f64 + excess
    }

    /// The probability of this number or a larger one.
    pub fn at_least(&self, number: u64) -> f64 {
        let skip = number.saturating_sub(self.first);
        // From the far end on, so that small terms are not lost beside large ones.
        let n_taken = (self.shares.len() as u64).saturating_sub(skip);
        self.shares.iter().rev().take(n_taken as usize).sum()
    }

    /// The probability of this number or a smaller one.
    pub fn at_most(&self, number: u64) -> f64 {
        match number.checked_sub(self.first) {
            Some(at) => self
                .shares
                .iter()
                .take((at as usize).saturating_add(1))
                .sum(),
            None => 0.0,
        }
    }

    /// The p-values of an observed number; two-sided by minimum likelihood (R. A. Fisher's own reading; the same in R's
    /// `fisher.test`, `binom.test` and in scipy).
    pub fn exact(&self, observed: u64) -> Tails {
        let share = self.share(observed);
        let limit = share * (1.0 + SAME);
        let two_sided = self.shares.iter().filter(|other| **other <= limit).sum();
        Tails::of(self.at_least(observed), self.at_most(observed), two_sided)
    }

    /// The same with half of the observed number's own probability, the mid-p (H. O. Lancaster, *JASA* 56, 1961): less
    /// cautious, and on the average right. Two-sided, every number as probable as the observed one counts half.
    pub fn mid(&self, observed: u64) -> Tails {
        let share = self.share(observed);
        let (low, high) = (share * (1.0 - SAME), share * (1.0 + SAME));
        let two_sided = self
            .shares
            .iter()
            .map(|other| match *other {
                less if less < low => less,
                same if same <= high => same / 2.0,
                _ => 0.0,
            })
            .sum();
        Tails::of(
            self.at_least(observed) - share / 2.0,
            self.at_most(observed) - share / 2.0,
            two_sided,
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coin_tosses_are_counted() {
        // Pascal's triangle: 1 4 6 4 1 over 16.
        let coins = Discrete::binomial(4, 0.5).unwrap();
        for (x, ways) in [1.0, 4.0, 6.0, 4.0, 1.0].into_iter().enumerate() {
            assert!((coins.share(x as u64) - ways / 16.0).abs() < 1e-16);
        }
        let tails = coins.exact(4);
        assert!((tails.greater - 1.0 / 16.0).abs() < 1e-16);
        assert!((tails.two_sided - 2.0 / 16.0).abs() < 1e-16);
        assert!((coins.mean() - 2.0).abs() < 1e-15);
    }

    #[test]
    fn certain_trials_are_certain() {
        let never = Discrete::binomial(5, 0.0).unwrap();
        assert_eq!(never.share(0), 1.0);
        let always = Discrete::binomial(5, 1.0).unwrap();
        assert_eq!(always.share(5), 1.0);
        assert_eq!(always.exact(5).two_sided, 1.0);
    }

    #[test]
    fn poisson_has_its_closed_form() {
        let few = Discrete::poisson(2.5, 0).unwrap();
        assert!((few.share(0) - (-2.5_f64).exp()).abs() < 1e-15);
        assert!((few.share(3) - (-2.5_f64).exp() * 2.5_f64.powi(3) / 6.0).abs() < 1e-15);
        let rare = Discrete::poisson(0.1, 30).unwrap();
        assert!(rare.at_least(30) > 0.0);
    }

    #[test]
    fn bad_arguments_are_refused() {
        assert!(Discrete::binomial(3, f64::NAN).is_err());
        assert!(Discrete::binomial(u64::MAX, 0.5).is_err());
        assert!(Discrete::poisson(0.0, 1).is_err());
        assert!(Discrete::poisson(f64::INFINITY, 1).is_err());
        assert!(Discrete::hypergeometric(1, 1, 3, 0.0).is_err());
        assert!(Discrete::hypergeometric(u64::MAX, u64::MAX, 3, 0.0).is_err());
        assert!(Discrete::hypergeometric(1, 1, 1, f64::INFINITY).is_err());
    }

    #[test]
    fn numbers_before_the_first_and_after_the_last_have_no_share() {
        // Four of five drawn, three of them marked: 2 or 3 marked ones with C(3, 2) C(2, 2) / C(5, 4) = 3/5 and 2/5.
        let drawn = Discrete::hypergeometric(3, 2, 4, 0.0).unwrap();
        assert_eq!((drawn.first(), drawn.last()), (2, 3));
        let near = |found: f64, expected: f64| {
            assert!((found - expected).abs() < 1e-15, "{found} {expected}");
        };
        for (number, share, at_least, at_most) in [
            (0, 0.0, 1.0, 0.0),
            (1, 0.0, 1.0, 0.0),
            (2, 0.6, 1.0, 0.6),
            (3, 0.4, 0.4, 1.0),
            (4, 0.0, 0.0, 1.0),
            (u64::MAX, 0.0, 0.0, 1.0),
        ] {
            near(drawn.share(number), share);
            near(drawn.at_least(number), at_least);
            near(drawn.at_most(number), at_most);
        }
        near(drawn.mean(), 2.4);
        // Odds three times as large: 3 · 3 to 9 · 2, one third and two thirds.
        let drawn = Discrete::hypergeometric(3, 2, 4, 3.0_f64.ln()).unwrap();
        near(drawn.share(2), 1.0 / 3.0);
        // All are drawn.
        let all = Discrete::hypergeometric(2, 3, 5, 0.0).unwrap();
        assert_eq!((all.first(), all.last(), all.share(2)), (2, 2, 1.0));
    }

    #[test]
    fn mid_p_halves_every_number_as_probable_as_the_observed_one() {
        // Pascal's triangle: 1 4 6 4 1 over 16; both ends are as probable.
        let coins = Discrete::binomial(4, 0.5).unwrap();
        let near = |found: f64, sixteenths: f64| {
            assert!((found - sixteenths / 16.0).abs() < 1e-15, "{found}");
        };
        let tails = coins.mid(4);
        near(tails.greater, 0.5);
        near(tails.less, 15.5);
        near(tails.two_sided, 1.0);
        near(tails.doubled, 1.0);
        let tails = coins.mid(1);
        near(tails.two_sided, 2.0 + 4.0);
        near(tails.greater, 13.0);
        near(tails.doubled, 6.0);
        let tails = coins.exact(1);
        near(tails.two_sided, 10.0);
        near(tails.less, 5.0);
        near(tails.doubled, 10.0);
        near(coins.exact(2).doubled, 16.0);
    }

    #[test]
    fn far_tails_of_a_large_poisson_count_are_there() {
        // scipy 1.17.1, poisson.sf(1099, 1000) and poisson.cdf(900, 1000) (C).
        let many = Discrete::poisson(1000.0, 0).unwrap();
        assert!((many.at_least(1100) / 9.626_304_058_665_587e-4 - 1.0).abs() < 1e-10);
        assert!((many.at_most(900) / 6.977_673_277_963_054e-4 - 1.0).abs() < 1e-10);
        assert!((many.mean() - 1000.0).abs() < 1e-9);
    }

    #[test]
    fn four_million_points_are_the_most() {
        let too_large = Err(Reason::TooLarge { argument: "counts" });
        assert_eq!(Discrete::binomial(4_000_000, 0.5).map(|_| ()), too_large);
        assert_eq!(
            Discrete::binomial(3_999_999, 0.5).map(|d| d.last()),
            Ok(3_999_999)
        );
        assert_eq!(Discrete::poisson(2_000_000.0, 1).map(|_| ()), too_large);
        assert_eq!(Discrete::poisson(1.0, 2_000_000).map(|_| ()), too_large);
        // Twice the mean and 80.
        assert_eq!(
            Discrete::poisson(1_000_000.0, 7).map(|d| d.last()),
            Ok(2_000_080)
        );
        assert_eq!(
            Discrete::poisson(7.0, 1_000_000).map(|d| d.last()),
            Ok(2_000_080)
        );
    }

    #[test]
    fn margins_and_odds_ratios_are_taken_up_to_their_ends() {
        let of = |row, other, column, log: f64| {
            Discrete::hypergeometric(row, other, column, log).is_ok()
        };
        assert!(of(1 << 52, 0, 0, 0.0));
        assert!(!of((1 << 52) + 1, 0, 0, 0.0));
        assert!(!of(1 << 51, (1 << 51) + 1, 0, 0.0));
        assert!(of(2, 3, 5, 700.0) && of(2, 3, 5, -700.0));
        assert!(!of(2, 3, 5, 700.1) && !of(2, 3, 5, -700.1));
        assert!(!of(2, 3, 5, f64::NAN));
    }

    #[test]
    fn sum_of_two_is_that_of_every_pair() {
        // One coin and two: 1 3 3 1 over 8.
        let coins = |n| Discrete::binomial(n, 0.5).unwrap();
        let sum = coins(1).plus(&coins(2)).unwrap();
        for (x, ways) in [1.0, 3.0, 3.0, 1.0].into_iter().enumerate() {
            assert!((sum.share(x as u64) - ways / 8.0).abs() < 1e-16);
        }
        assert_eq!((sum.first(), sum.last()), (0, 3));
        let shifted = Discrete::hypergeometric(3, 2, 4, 0.0).unwrap();
        assert_eq!(shifted.plus(&shifted).unwrap().first(), 4);
        let too_large = Err(Reason::TooLarge { argument: "counts" });
        assert_eq!(coins(20_999).plus(&coins(19_999)), too_large);
    }
}
