//! Exponentially weighted moving average chart.
//!
//! S. W. Roberts, *Technometrics* 1 (1959); NIST/SEMATECH e-Handbook 6.3.2.4. zₜ = λ xₜ + (1 − λ) zₜ₋₁ with z₀ = target;
//! limits target ± L σ √(λ/(2 − λ) [1 − (1 − λ)^(2t)]), and without the bracket for t → ∞.

use super::reason::{Reason, finite, require, require_positive};

/// How the chart is set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EwmaSettings {
    /// The weight of the newest value, λ: greater than 0 and at most 1.
    pub weight: f64,
    /// The value that the process should have, in the values' unit.
    pub target: f64,
    /// The standard deviation of a single value, in the values' unit.
    pub sigma: f64,
    /// How many standard deviations of the average the limits lie from the target.
    pub width: f64,
    /// Which limits are drawn.
    pub limits: EwmaLimits,
}

/// Which limits an EWMA chart has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EwmaLimits {
    /// Those of a long series, the same for every value.
    Asymptotic,
    /// Those of each value's place in the series, narrower at its begin.
    TimeVarying,
}

/// One point of the chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EwmaPoint {
    /// The moving average.
    pub average: f64,
    /// The lower limit.
    pub lower: f64,
    /// The upper limit.
    pub upper: f64,
}

impl EwmaPoint {
    /// Whether the average is outside the limits.
    pub fn is_outside(self) -> bool {
        self.average < self.lower || self.average > self.upper
    }
}

/// The chart of the values in order of time, a point for each.
///
/// # Errors
/// [`Reason::OutOfRange`] for a weight outside (0, 1], a spread or width not above 0, a target that is no number;
/// [`Reason::NotFinite`]; [`Reason::TooLarge`] on overflow.
pub fn ewma_chart(values: &[f64], settings: EwmaSettings) -> Result<Vec<EwmaPoint>, Reason> {
    require(values, 0)?;
    let EwmaSettings {
        weight,
        target,
        sigma,
        width,
        limits,
    } = settings;
    if !(weight > 0.0 && weight <= 1.0) {
        return Err(Reason::OutOfRange { argument: "weight" });
    }
    require_positive(sigma, "sigma")?;
    require_positive(width, "width")?;
    if !target.is_finite() {
        return Err(Reason::OutOfRange { argument: "target" });
    }
    let asymptotic = width * sigma * (weight / (2.0 - weight)).sqrt();
    let mut average = target;
    let mut forgotten = 1.0;
    values
        .iter()
        .map(|value| {
            average = weight * value + (1.0 - weight) * average;
            forgotten *= (1.0 - weight) * (1.0 - weight);
            let half = match limits {
                EwmaLimits::Asymptotic => asymptotic,
                EwmaLimits::TimeVarying => asymptotic * (1.0 - forgotten).sqrt(),
            };
            Ok(EwmaPoint {
                average: finite(average)?,
                lower: finite(target - half)?,
                upper: finite(target + half)?,
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const SETTINGS: EwmaSettings = EwmaSettings {
        weight: 0.2,
        target: 0.0,
        sigma: 1.0,
        width: 3.0,
        limits: EwmaLimits::TimeVarying,
    };

    #[test]
    fn weight_of_one_is_the_shewhart_chart() {
        // λ = 1 forgets everything: each average is its value, each limit 3 σ (definition).
        let settings = EwmaSettings {
            weight: 1.0,
            ..SETTINGS
        };
        let points = ewma_chart(&[1.0, -4.0], settings).unwrap();
        assert_eq!((points[1].average, points[1].upper), (-4.0, 3.0));
        assert!(!points[0].is_outside() && points[1].is_outside());
    }

    #[test]
    fn bad_settings_have_a_reason() {
        let with = |change: fn(&mut EwmaSettings)| {
            let mut settings = SETTINGS;
            change(&mut settings);
            ewma_chart(&[1.0], settings)
        };
        assert!(with(|s| s.weight = 0.0).is_err());
        assert!(with(|s| s.weight = f64::NAN).is_err());
        assert!(with(|s| s.sigma = 0.0).is_err());
        assert!(with(|s| s.width = f64::INFINITY).is_err());
        assert!(with(|s| s.target = f64::NAN).is_err());
        assert!(ewma_chart(&[f64::NAN], SETTINGS).is_err());
        assert_eq!(ewma_chart(&[], SETTINGS), Ok(Vec::new()));
    }

    #[test]
    fn averages_and_limits_are_those_of_the_formula() {
        // λ = ½: 0 + 4/2 = 2, then 2/2 + 0 = 1; 3 √(1/3) √(1 − 1/4) = 3/2 and 3 √(1/3) √(15/16).
        let settings = EwmaSettings {
            weight: 0.5,
            target: 0.0,
            sigma: 1.0,
            width: 3.0,
            limits: EwmaLimits::TimeVarying,
        };
        let points = ewma_chart(&[4.0, 0.0], settings).unwrap();
        assert_eq!((points[0].average, points[1].average), (2.0, 1.0));
        assert!((points[0].upper - 1.5).abs() < 1e-15 && (points[0].lower + 1.5).abs() < 1e-15);
        assert!((points[1].upper - 3.0 * (5.0_f64 / 16.0).sqrt()).abs() < 1e-15);
    }

    #[test]
    fn average_on_a_limit_is_not_outside_and_a_weight_above_one_is_none() {
        let with = |average| {
            let (lower, upper) = (1.0, 2.0);
            let point = EwmaPoint {
                average,
                lower,
                upper,
            };
            point.is_outside()
        };
        assert_eq!([0.9, 1.0, 2.0, 2.1].map(with), [true, false, false, true]);
        for weight in [-0.1, 1.1] {
            let settings = EwmaSettings { weight, ..SETTINGS };
            let argument = "weight";
            assert_eq!(
                ewma_chart(&[1.0], settings),
                Err(Reason::OutOfRange { argument })
            );
        }
    }
}
