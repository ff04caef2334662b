//! Failures among the exposed against failures among the others, stratum by stratum, so that a lot is not blamed for
//! what its unit did.
//!
//! Given the number of failures in each stratum, the number among the exposed over all strata has a known distribution
//! when exposure makes no difference: the convolution of hypergeometric distributions, and with a common odds ratio ψ
//! its terms are weighted by ψᵃ (Gart, Biometrika 57, 1970, 471-475; Mehta, Patel and Gray, JASA 80, 1985, 969-973).
//! Everything here is read from that one exact likelihood: the p, the interval, and the probability that the ratio is at
//! least a given one. Knows no sterilizers. Read [`Strata`] first.

use crate::measure::count::Counting;
use crate::stats::discrete::Discrete;
use std::collections::BTreeMap;

/// One stratum: failures and uses among the exposed and among the others.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counts {
    /// Failures among the exposed.
    pub exposed_failures: u32,
    /// Uses among the exposed.
    pub exposed: u32,
    /// Failures among the others.
    pub other_failures: u32,
    /// Uses among the others.
    pub others: u32,
}

impl Counts {
    /// What is exposed against all the rest, from failures and uses of it and of all together.
    pub fn among((failures, uses): (u32, u32), (all_failures, all_uses): (u32, u32)) -> Counts {
        Counts {
            exposed_failures: failures,
            exposed: uses,
            other_failures: all_failures.saturating_sub(failures),
            others: all_uses.saturating_sub(uses),
        }
    }

    /// Whether the stratum tells anything: both sides have uses, and there is a failure and a success.
    pub fn tells(&self) -> bool {
        let failures = self.exposed_failures.saturating_add(self.other_failures);
        let n = self.exposed.saturating_add(self.others);
        self.exposed > 0 && self.others > 0 && failures > 0 && failures < n
    }

    /// Both together.
    fn plus(self, other: &Counts) -> Counts {
        Counts {
            exposed_failures: self.exposed_failures.saturating_add(other.exposed_failures),
            exposed: self.exposed.saturating_add(other.exposed),
            other_failures: self.other_failures.saturating_add(other.other_failures),
            others: self.others.saturating_add(other.others),
        }
    }
}

/// Counts by stratum.
#[derive(Debug, Clone, Default)]
pub struct Strata<K: Ord> {
    by_key: BTreeMap<K, Counts>,
}

/// Whether something was exposed to what is asked about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exposure {
    /// It was.
    Exposed,
    /// It was not.
    Other,
}

impl Exposure {
    /// Exposed if so.
    pub fn of(exposed: bool) -> Self {
        if exposed {
            Exposure::Exposed
        } else {
            Exposure::Other
        }
    }
}

impl<K: Ord> Strata<K> {
    /// No counts yet.
    pub fn new() -> Self {
        Strata {
            by_key: BTreeMap::new(),
        }
    }

    /// Counts one use.
    pub fn count(&mut self, stratum: K, exposure: Exposure, failed: bool) {
        self.count_many(stratum, exposure, (u32::from(failed), 1));
    }

    /// Counts so many failures among so many uses.
    pub fn count_many(&mut self, stratum: K, exposure: Exposure, (failures, uses): (u32, u32)) {
        let counts = self.by_key.entry(stratum).or_default();
        let (n, n_failed) = match exposure {
            Exposure::Exposed => (&mut counts.exposed, &mut counts.exposed_failures),
            Exposure::Other => (&mut counts.others, &mut counts.other_failures),
        };
        n.add_many(uses);
        n_failed.add_many(failures);
    }

    /// The counts by stratum.
    pub fn by_key(&self) -> &BTreeMap<K, Counts> {
        &self.by_key
    }

    /// The sums over all strata.
    pub fn total(&self) -> Counts {
        self.by_key.values().fold(Counts::default(), Counts::plus)
    }

    /// The sums over the strata that tell something.
    pub fn total_that_tells(&self) -> Counts {
        self.by_key
            .values()
            .filter(|counts| counts.tells())
            .fold(Counts::default(), Counts::plus)
    }

    /// The exact likelihood; `None` when no stratum tells anything.
    pub fn likelihood(&self) -> Option<Likelihood> {
        Likelihood::of(self.by_key.values().filter(|counts| counts.tells()))
    }
}

impl<K: Ord> FromIterator<(K, Counts)> for Strata<K> {
    fn from_iter<I: IntoIterator<Item = (K, Counts)>>(counts: I) -> Self {
        Strata {
            by_key: counts.into_iter().collect(),
        }
    }
}

/// Uses of each of several members by stratum, and of all together: so that each is set against the others without counting
/// these again.
#[derive(Debug, Default)]
pub struct Uses<'k> {
    by_member: BTreeMap<&'k str, BTreeMap<&'k str, u32>>,
    by_stratum: BTreeMap<&'k str, u32>,
    n: u32,
}

impl<'k> FromIterator<(&'k str, &'k str)> for Uses<'k> {
    /// From the member and the stratum of each use.
    fn from_iter<I: IntoIterator<Item = (&'k str, &'k str)>>(each: I) -> Self {
        let mut uses = Uses::default();
        for (member, stratum) in each {
            let own = uses.by_member.entry(member).or_default();
            own.entry(stratum).or_default().add_one();
            uses.by_stratum.entry(stratum).or_default().add_one();
            uses.n.add_one();
        }
        uses
    }
}

impl<'k> Uses<'k> {
    /// Each member with its number of uses.
    pub fn n_by_member(&self) -> impl Iterator<Item = (&'k str, u32)> {
        let members = self.by_member.iter();
        members.map(|(member, own)| (*member, own.values().sum()))
    }

    fn n_of(&self, member: &str) -> u32 {
        let own = self.by_member.get(member).into_iter().flatten();
        own.map(|(_, n)| n).sum()
    }

    fn n_in(&self, member: &str, stratum: &str) -> u32 {
        let own = self.by_member.get(member);
        own.and_then(|own| own.get(stratum)).copied().unwrap_or(0)
    }

    /// A member against all others where these of the uses failed, in the strata that it was used in: the others tell
    /// nothing of it.
    pub fn against_others(&self, failed: &Uses<'k>, member: &str) -> Strata<&'k str> {
        let own = self.by_member.get(member).into_iter().flatten();
        let counts = own.map(|(stratum, exposed)| {
            let in_stratum = |uses: &Uses<'k>| uses.by_stratum.get(stratum).copied().unwrap_or(0);
            let counts = Counts::among(
                (failed.n_in(member, stratum), *exposed),
                (in_stratum(failed), in_stratum(self)),
            );
            (*stratum, counts)
        });
        counts.collect()
    }

    /// The same over all strata, also those that the member was not used in.
    pub fn total_against_others(&self, failed: &Uses<'k>, member: &str) -> Counts {
        Counts::among((failed.n_of(member), self.n_of(member)), (failed.n, self.n))
    }
}

/// The exact conditional likelihood of a common odds ratio.
#[derive(Debug, Clone)]
pub struct Likelihood {
    /// Which of the terms was seen.
    seen_at: usize,
    /// The logarithms of the terms at an odds ratio of 1, from the least number of failures that the margins allow.
    log_terms: Vec<f64>,
    /// The failure rate of the others, for turning odds into rates.
    other_rate: f64,
}

impl Likelihood {
    fn of<'c>(strata: impl Iterator<Item = &'c Counts>) -> Option<Self> {
        let mut sum: Option<Discrete> = None;
        let mut seen = 0_u64;
        let (mut other_failures, mut others) = (0.0, 0.0);
        for counts in strata {
            let failures = counts
                .exposed_failures
                .saturating_add(counts.other_failures);
            let (exposed, rest) = (u64::from(counts.exposed), u64::from(counts.others));
            let own = Discrete::hypergeometric(exposed, rest, u64::from(failures), 0.0).ok()?;
            sum = Some(match sum {
                Some(before) => before.plus(&own).ok()?,
                None => own,
            });
            seen.add_many(u64::from(counts.exposed_failures));
            other_failures += f64::from(counts.other_failures);
            others += f64::from(counts.others);
        }
        let sum = sum?;
        Some(Likelihood {
            seen_at: usize::try_from(seen.checked_sub(sum.first())?).ok()?,
            log_terms: (sum.first()..=sum.last())
                .map(|k| sum.share(k).max(f64::MIN_POSITIVE).ln())
                .collect(),
            other_rate: (other_failures + 0.5) / (others + 1.0),
        })
    }

    /// The probability of each number of failures among the exposed, at an odds ratio given by its logarithm.
    fn distribution(&self, log_ratio: f64) -> Vec<f64> {
        let logs: Vec<f64> = self
            .log_terms
            .iter()
            .enumerate()
            .map(|(k, log)| log + k as f64 * log_ratio)
            .collect();
        let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let terms: Vec<f64> = logs.iter().map(|log| (log - most).exp()).collect();
        let sum: f64 = terms.iter().sum();
        terms.iter().map(|term| term / sum).collect()
    }

    /// The mid-p of as many failures among the exposed or more, at an odds ratio given by its logarithm.
    fn upper_mid_p(&self, log_ratio: f64) -> f64 {
        let terms = self.distribution(log_ratio);
        let at = self.seen_at;
        let beyond: f64 = terms.iter().skip(at.saturating_add(1)).sum();
        beyond + 0.5 * terms.get(at).copied().unwrap_or(0.0)
    }

    /// The one-sided mid-p: how probable so many failures among the exposed, or more, are by chance alone.
    ///
    /// The mid-p keeps its level on average where the exact p is far below it, as with the small counts here
    /// (Lancaster, JASA 56, 1961, 223-234).
    pub fn p_more(&self) -> f64 {
        self.upper_mid_p(0.0).clamp(0.0, 1.0)
    }

    /// The mid-p interval of the ratio of rates, and its middle: the ratio at which more and fewer are equally likely.
    pub fn ratio(&self, level: f64) -> (f64, f64, f64) {
        let tail = (1.0 - level) / 2.0;
        let (low, middle, high) = (
            self.ratio_at(tail),
            self.ratio_at(0.5),
            self.ratio_at(1.0 - tail),
        );
        (
            self.rate_ratio(low),
            self.rate_ratio(middle),
            self.rate_ratio(high),
        )
    }

    /// The odds ratio at which the upper mid-p is this; 0 or infinity where none is.
    fn ratio_at(&self, p: f64) -> f64 {
        // exp(±16) is further than any count here tells.
        let (mut low, mut high) = (-16.0, 16.0);
        if self.upper_mid_p(high) < p {
            return f64::INFINITY;
        }
        if self.upper_mid_p(low) > p {
            return 0.0;
        }
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if self.upper_mid_p(middle) < p {
                low = middle;
            } else {
                high = middle;
            }
        }
        f64::midpoint(low, high).exp()
    }

    fn rate_ratio(&self, odds_ratio: f64) -> f64 {
        rate_ratio(odds_ratio, self.other_rate)
    }

    /// The probability that the exposed fail at least `ratio` times as often, with a flat prior on the logarithm of the
    /// odds ratio from 1/100 to 100.
    pub fn probability_of_at_least(&self, ratio: f64) -> f64 {
        const N: i32 = 400;
        let most = 100.0_f64.ln();
        let (mut above, mut all) = (0.0, 0.0);
        for step in 0..=N {
            let log_ratio = -most + 2.0 * most * f64::from(step) / f64::from(N);
            let terms = self.distribution(log_ratio);
            let likelihood = terms.get(self.seen_at).copied().unwrap_or(0.0);
            all += likelihood;
            if self.rate_ratio(log_ratio.exp()) >= ratio {
                above += likelihood;
            }
        }
        if all > 0.0 { above / all } else { 0.0 }
    }
}

/// An odds ratio as a ratio of rates, where the others fail at this rate (Zhang and Yu, JAMA 280, 1998, 1690-1691).
pub(super) fn rate_ratio(odds_ratio: f64, other_rate: f64) -> f64 {
    if odds_ratio.is_infinite() {
        return f64::INFINITY;
    }
    odds_ratio / (1.0 - other_rate + other_rate * odds_ratio)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn strata(tables: &[[u32; 4]]) -> Strata<usize> {
        let mut strata = Strata::new();
        for (key, [a, b, c, d]) in tables.iter().copied().enumerate() {
            // Failures and successes of the exposed, then of the others.
            for (n, exposure, failed) in [
                (a, Exposure::Exposed, true),
                (b, Exposure::Exposed, false),
                (c, Exposure::Other, true),
                (d, Exposure::Other, false),
            ] {
                (0..n).for_each(|_| strata.count(key, exposure, failed));
            }
        }
        strata
    }

    #[test]
    fn lady_tasting_tea_has_the_published_probability() {
        // R's fisher.test help example "TeaTasting" after Agresti (1990, p. 61): p = 0.2429 one-sided (S-primary), and
        // 17/70 by counting. The mid-p takes half of the table's own probability, 16/70.
        let likelihood = strata(&[[3, 1, 1, 3]]).likelihood().unwrap();
        assert!((likelihood.p_more() - (1.0 / 70.0 + 8.0 / 70.0)).abs() < 1e-9);
    }

    #[test]
    fn mid_p_over_several_tables_is_that_of_the_reference() {
        // tests/reference/stats/05_cmh_stratified.json, exact_conditional.mid_p.greater: convolution of hypergeometric
        // distributions by scipy 1.17.1 (computed); `rabbits` is R's mantelhaen.test help example (Agresti 1990, p. 238).
        for (tables, expected) in [
            (
                vec![[3, 3, 0, 6], [6, 0, 2, 4], [5, 1, 6, 0]],
                0.010_674_931_129_476_584,
            ),
            (
                vec![[27, 93, 7, 23], [1, 39, 6, 234], [0, 20, 5, 255]],
                0.595_793_979_577_799_9,
            ),
            (
                vec![[6, 24, 30, 220], [14, 286, 2, 98]],
                0.047_116_477_304_261_266,
            ),
            (
                vec![[9, 51, 6, 114], [8, 72, 4, 156], [7, 33, 5, 135]],
                1.208_928_906_269_967_5e-5,
            ),
        ] {
            let p = strata(&tables).likelihood().unwrap().p_more();
            assert!((p / expected - 1.0).abs() < 1e-9, "{p} {expected}");
        }
    }

    #[test]
    fn probability_of_a_ratio_agrees_with_two_separate_rates() {
        // tests/reference/stats/12_beta_binomial.csv: 7 of 60 against 11 of 640, uniform priors on both rates: the lot's is
        // higher with probability 0.995 (scipy quad, computed). The prior here is another, so only nearly the same.
        let likelihood = strata(&[[7, 53, 11, 629]]).likelihood().unwrap();
        assert!((likelihood.probability_of_at_least(1.0) - 0.995).abs() < 0.01);
        assert!(likelihood.probability_of_at_least(2.0) < likelihood.probability_of_at_least(1.0));
        let (low, middle, high) = likelihood.ratio(0.9);
        // The ratio as it stands is 6.8.
        assert!(
            low < 6.8 && 6.8 < high && (middle - 6.8).abs() < 1.0,
            "{low} {middle} {high}"
        );
    }

    #[test]
    fn stratum_without_failures_changes_nothing() {
        let alone = strata(&[[3, 5, 1, 30]]).likelihood().unwrap();
        let beside = strata(&[[3, 5, 1, 30], [0, 40, 0, 50]])
            .likelihood()
            .unwrap();
        assert!((alone.p_more() - beside.p_more()).abs() < 1e-12);
        assert!(strata(&[[0, 40, 0, 50]]).likelihood().is_none());
    }
}
