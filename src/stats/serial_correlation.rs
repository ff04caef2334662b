//! How much neighbours that are alike widen the variance of Mann–Kendall's S.
//!
//! K. H. Hamed and A. R. Rao, *Journal of Hydrology* 204 (1998): ranks of the values less the Theil–Sen line; their
//! autocorrelations outside ±z/√n enter 1 + 2 / (n(n−1)(n−2)) Σ (n−l)(n−l−1)(n−l−2) ρₗ. S. Yue and C. Wang, *Water
//! Resources Management* 18 (2004): 1 + 2 Σ (1 − l/n) ρₗ over the values less the line, every lag.
//!
//! Both can come out below 1, and on short series do: 12 monthly values with p = 2.8e-4 get a factor of 0.06 and p = 0.
//! So [`VarianceFactor::used`] is never below 1, and there is none below 20 values: that length is our choice, no source.

use super::normal::normal_quantile;
use super::order::midranks;
use super::reason::{Reason, finite, require};
use super::summary::autocorrelation;
use super::theil_sen::theil_sen_slope;

/// Below so many values no factor is given for use.
pub const SHORTEST: usize = 20;

/// Which correction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Correction {
    /// Hamed and Rao, over the first so many lags: 3 is the authors' proposal, and with it the factor of a first-order
    /// process comes nearer to theory than with all lags.
    HamedRao {
        /// How many lags; those beyond the series' length don't count.
        n_lags: usize,
    },
    /// Yue and Wang, over every lag. The autocorrelations about the series' own mean sum to −1/2, so that this mostly
    /// comes out below 1: it is here to be compared, not recommended.
    YueWang,
}

/// A factor of the variance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VarianceFactor {
    /// As the publication has it; may be below 1, even below 0.
    pub raw: f64,
    /// For use: the same, but at least 1, and nothing for a short series.
    pub used: Option<f64>,
}

/// The factor of values in order of time, equally spaced.
///
/// # Errors
/// [`Reason::TooFew`] below three values, [`Reason::NotFinite`], [`Reason::NoSpread`] if nothing is left beside the line.
pub fn variance_factor(values: &[f64], correction: Correction) -> Result<VarianceFactor, Reason> {
    require(values, 3)?;
    let n = values.len();
    let times: Vec<f64> = (1..=n).map(|t| t as f64).collect();
    let slope = theil_sen_slope(&times, values)?;
    let rests: Vec<f64> = values
        .iter()
        .zip(&times)
        .map(|(value, t)| value - t * slope)
        .collect();
    let size = n as f64;
    let raw = match correction {
        Correction::HamedRao { n_lags } => {
            let ranks = midranks(&rests);
            let bound = normal_quantile(0.975) / size.sqrt();
            let mut sum = 0.0;
            for lag in 1..n.min(n_lags.saturating_add(1)) {
                let correlation = autocorrelation(&ranks, lag)?;
                if correlation.abs() > bound {
                    let left = size - lag as f64;
                    sum += left * (left - 1.0) * (left - 2.0) * correlation;
                }
            }
            1.0 + 2.0 / (size * (size - 1.0) * (size - 2.0)) * sum
        }
        Correction::YueWang => {
            let mut sum = 0.0;
            for lag in 1..n {
                sum += (1.0 - lag as f64 / size) * autocorrelation(&rests, lag)?;
            }
            1.0 + 2.0 * sum
        }
    };
    let raw = finite(raw)?;
    Ok(VarianceFactor {
        raw,
        used: (n >= SHORTEST).then_some(raw.max(1.0)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn short_series_gets_no_factor() {
        let values: Vec<f64> = (0..19).map(|t| f64::from(t * t % 7)).collect();
        let factor = variance_factor(&values, Correction::HamedRao { n_lags: 3 }).unwrap();
        assert_eq!(factor.used, None);
    }

    #[test]
    fn bad_input_has_a_reason() {
        for correction in [
            Correction::HamedRao { n_lags: usize::MAX },
            Correction::YueWang,
        ] {
            assert!(variance_factor(&[], correction).is_err());
            assert_eq!(
                variance_factor(&[1.0; 30], correction),
                Err(Reason::NoSpread)
            );
            assert!(variance_factor(&[f64::NAN; 30], correction).is_err());
        }
    }

    #[test]
    fn twenty_values_get_a_factor_of_at_least_one() {
        let values: Vec<f64> = (0..20).map(|t| f64::from(t * t % 7)).collect();
        for correction in [Correction::HamedRao { n_lags: 3 }, Correction::YueWang] {
            let factor = variance_factor(&values, correction).unwrap();
            assert_eq!(factor.used, Some(factor.raw.max(1.0)));
        }
        assert_eq!(SHORTEST, 20);
    }
}
