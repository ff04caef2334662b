//! How likely it is that one group's rate is so many times another's.
//!
//! The beta-binomial model: P. S. Laplace (1774) with the uniform prior, H. Jeffreys, *Theory of Probability* (1946) with
//! Beta(½, ½); the same on both rates, independent. P(p₁ > f p₂) = ∫ density₂(q) P(p₁ > f q) dq, by quadrature in the angle
//! whose sine squared is q, where the density has no infinite ends.

use super::beta::{beta_quantile, beta_upper};
use super::interval::{Confidence, Interval};
use super::quadrature::integrate;
use super::reason::{Reason, require_positive};
use statrs::function::beta::checked_ln_beta;

/// What is assumed of a rate before the counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Prior {
    /// Every rate alike: Beta(1, 1).
    Uniform,
    /// Jeffreys': Beta(½, ½), which leans to the ends.
    Jeffreys,
}

impl Prior {
    fn weight(self) -> f64 {
        match self {
            Prior::Uniform => 1.0,
            Prior::Jeffreys => 0.5,
        }
    }
}

/// Events in trials.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Trials {
    /// Events.
    pub n_events: u64,
    /// Trials.
    pub n: u64,
}

impl Trials {
    /// The posterior's two parameters.
    fn parameters(self, prior: Prior) -> Result<(f64, f64), Reason> {
        if self.n_events > self.n {
            return Err(Reason::OutOfRange { argument: "counts" });
        }
        if self.n > 100_000 {
            return Err(Reason::TooLarge { argument: "counts" });
        }
        let (k, n) = (self.n_events as f64, self.n as f64);
        Ok((k + prior.weight(), n - k + prior.weight()))
    }
}

/// What the counts say of one rate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RatePosterior {
    /// The mean of the posterior.
    pub mean: f64,
    /// Its interval, with equal tails.
    pub interval: Interval,
}

/// The posterior of one rate.
///
/// # Errors
/// [`Reason::OutOfRange`] for more events than trials; [`Reason::TooLarge`] beyond 100 000 trials;
/// [`Reason::NotSettled`].
pub fn rate_posterior(
    trials: Trials,
    prior: Prior,
    confidence: Confidence,
) -> Result<RatePosterior, Reason> {
    let (a, b) = trials.parameters(prior)?;
    Ok(RatePosterior {
        mean: a / (a + b),
        interval: Interval {
            low: beta_quantile(a, b, confidence.tail())?,
            high: 1.0 - beta_quantile(b, a, confidence.tail())?,
        },
    })
}

/// The probability that the first rate is more than `factor` times the second.
///
/// # Errors
/// As [`rate_posterior`]; [`Reason::OutOfRange`] unless the factor is positive.
pub fn probability_of_ratio(
    first: Trials,
    second: Trials,
    factor: f64,
    prior: Prior,
) -> Result<f64, Reason> {
    require_positive(factor, "factor")?;
    let (a1, b1) = first.parameters(prior)?;
    let (a2, b2) = second.parameters(prior)?;
    let log_beta = checked_ln_beta(a2, b2).map_err(|_| Reason::NotSettled)?;
    // q = sin²θ, dq = 2 sin θ cos θ dθ.
    let integrand = |angle: f64| {
        let (sine, cosine) = angle.sin_cos();
        let log_density =
            (2.0 * a2 - 1.0) * log_of(sine, a2) + (2.0 * b2 - 1.0) * log_of(cosine, b2) - log_beta;
        2.0 * log_density.exp() * beta_upper(a1, b1, factor * sine * sine)
    };
    // Where the first rate can't be larger any more the integrand ends.
    let top = (1.0 / factor).min(1.0).sqrt().asin();
    let points = cuts(a2, b2, top);
    // The incomplete beta function is no smoother than its own error, which grows with the counts.
    let tolerance = 1e-12_f64.max(1e-14 * (a1 + b1 + a2 + b2));
    integrate(integrand, &points, tolerance)
        .map(|p| p.clamp(0.0, 1.0))
        .ok_or(Reason::NotSettled)
}

/// Angles from 0 to `top` that cut the range where the density of Beta(a, b) lives, so that a narrow one isn't missed: its
/// mean, and 12 standard deviations to each side, which in the angle are about ½ / √(a + b) everywhere.
fn cuts(a: f64, b: f64, top: f64) -> Vec<f64> {
    let centre = (a / (a + b)).sqrt().asin();
    let width = 0.5 / (a + b).sqrt();
    let within = (-12..=12)
        .map(|step| centre + f64::from(step) * width)
        .filter(|angle| 0.0 < *angle && *angle < top);
    std::iter::once(0.0).chain(within).chain([top]).collect()
}

/// The logarithm for a density's factor with exponent 2 · parameter − 1, which is 0 for a parameter of one half.
fn log_of(number: f64, parameter: f64) -> f64 {
    if parameter == 0.5 { 0.0 } else { number.ln() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig {
            cases: 48,
            failure_persistence: None,
            rng_seed: proptest::test_runner::RngSeed::Fixed(5),
            ..ProptestConfig::default()
        })]

        #[test]
        fn one_is_the_larger_or_the_other(
            n in (0..5000_u64, 0..60_u64),
            shares in (0.0..0.2_f64, 0.0..1.0_f64),
            factor in 0.2..5.0_f64,
        ) {
            // p₁ > f p₂ or p₂ > p₁ / f: two integrals over different densities.
            let first = Trials { n_events: (n.0 as f64 * shares.0) as u64, n: n.0 };
            let second = Trials { n_events: (n.1 as f64 * shares.1) as u64, n: n.1 };
            for prior in [Prior::Uniform, Prior::Jeffreys] {
                let one = probability_of_ratio(first, second, factor, prior).unwrap();
                let other = probability_of_ratio(second, first, 1.0 / factor, prior).unwrap();
                prop_assert!((one + other - 1.0).abs() < 1e-8, "{one} {other}");
            }
        }
    }

    #[test]
    fn largest_counts_settle() {
        let trials = |n_events| Trials {
            n_events,
            n: 100_000,
        };
        for (k1, k2) in [(3000, 2000), (0, 0), (100_000, 100_000), (50_000, 50_100)] {
            for prior in [Prior::Uniform, Prior::Jeffreys] {
                let p = probability_of_ratio(trials(k1), trials(k2), 1.0, prior).unwrap();
                assert!((0.0..=1.0).contains(&p));
                if k1 == k2 {
                    assert!((p - 0.5).abs() < 1e-8, "{p}");
                }
            }
        }
    }

    #[test]
    fn no_events_on_either_side_have_the_closed_form() {
        // Uniform: p₁ and p₂ are the smallest of n₁ + 1 and n₂ + 1 uniform numbers; the smallest of all is p₂ with
        // probability (n₂ + 1) / (n₁ + n₂ + 2), and then p₁ > p₂.
        let trials = |n| Trials { n_events: 0, n };
        let p = probability_of_ratio(trials(10), trials(200), 1.0, Prior::Uniform).unwrap();
        assert!((p - 201.0 / 212.0).abs() < 1e-11);
    }

    #[test]
    fn no_trials_leave_the_prior() {
        // Two uniform numbers: P(p₁ > 2 p₂) = 1/4, P(p₁ > p₂ / 2) = 3/4.
        let none = Trials { n_events: 0, n: 0 };
        let p = |factor| probability_of_ratio(none, none, factor, Prior::Uniform).unwrap();
        assert!((p(2.0) - 0.25).abs() < 1e-10);
        assert!((p(0.5) - 0.75).abs() < 1e-10);
        let jeffreys = probability_of_ratio(none, none, 1.0, Prior::Jeffreys).unwrap();
        assert!((jeffreys - 0.5).abs() < 1e-9);
    }

    #[test]
    fn events_in_every_trial_have_the_closed_form() {
        // Uniform, 5 of 5 and 7 of 7: ∫₀^{1/f} 8 q⁷ (1 − (f q)⁶) dq = 3/7 f⁻⁸ for f ≥ 1.
        let all = |n| Trials { n_events: n, n };
        for factor in [1.0_f64, 1.5, 4.0] {
            let p = probability_of_ratio(all(5), all(7), factor, Prior::Uniform).unwrap();
            let expected = 3.0 / 7.0 * factor.powi(-8);
            assert!((p - expected).abs() < 1e-11);
        }
    }

    #[test]
    fn bad_input_has_a_reason() {
        let trials = |n_events, n| Trials { n_events, n };
        let of = |a, b, f| probability_of_ratio(a, b, f, Prior::Jeffreys);
        assert!(of(trials(2, 1), trials(0, 1), 2.0).is_err());
        assert!(of(trials(0, 1), trials(0, u64::MAX), 2.0).is_err());
        assert!(of(trials(0, 1), trials(0, 1), 0.0).is_err());
        assert!(of(trials(0, 1), trials(0, 1), f64::NAN).is_err());
    }

    #[test]
    fn posterior_of_one_rate_is_the_beta_distribution_of_its_counts() {
        let trials = |n_events, n| Trials { n_events, n };
        // Uniform, 0 of 9: Beta(1, 10), mean 1/11, tails 1 − 0.975^(1/10) and 1 − 0.025^(1/10).
        let none = rate_posterior(trials(0, 9), Prior::Uniform, Confidence::P95).unwrap();
        assert!((none.mean - 1.0 / 11.0).abs() < 1e-15);
        assert!((none.interval.low - (1.0 - 0.975_f64.powf(0.1))).abs() < 1e-12);
        assert!((none.interval.high - (1.0 - 0.025_f64.powf(0.1))).abs() < 1e-12);
        // Jeffreys', 3 of 4: Beta(3½, 1½).
        let most = rate_posterior(trials(3, 4), Prior::Jeffreys, Confidence::P95).unwrap();
        assert!((most.mean - 0.7).abs() < 1e-15);
        let counts = "counts";
        let of = |n_events, n| rate_posterior(trials(n_events, n), Prior::Uniform, Confidence::P95);
        assert_eq!(of(2, 1), Err(Reason::OutOfRange { argument: counts }));
        assert_eq!(of(1, 100_001), Err(Reason::TooLarge { argument: counts }));
        assert!(of(1, 100_000).is_ok() && of(1, 1).is_ok());
    }

    #[test]
    fn range_is_cut_at_deviations_about_the_mean() {
        let quarter = std::f64::consts::FRAC_PI_4;
        let near = |found: &[f64], expected: &[f64]| {
            assert_eq!(found.len(), expected.len(), "{found:?}");
            for (found, expected) in found.iter().zip(expected) {
                assert!((found - expected).abs() < 1e-12, "{found} {expected}");
            }
        };
        // Beta(50, 50): the mean's angle is π/4, a deviation 1/20.
        let all = cuts(50.0, 50.0, 2.0 * quarter);
        let mut expected = vec![0.0];
        expected.extend((-12..=12).map(|step| quarter + f64::from(step) * 0.05));
        expected.push(2.0 * quarter);
        near(&all, &expected);
        // Beta(1, 3): sin² 30° = 1/4, a deviation 1/4; below 0 and above π/4 there is nothing.
        let sixth = std::f64::consts::FRAC_PI_6;
        let few = cuts(1.0, 3.0, quarter);
        near(
            &few,
            &[0.0, sixth - 0.5, sixth - 0.25, sixth, sixth + 0.25, quarter],
        );
    }
}
