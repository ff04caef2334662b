//! Tabular CUSUM chart.
//!
//! E. S. Page, *Biometrika* 41 (1954); NIST/SEMATECH e-Handbook 6.3.2.3. Upward: Sₜ = max(0, Sₜ₋₁ + xₜ − target − k);
//! downward: Sₜ = max(0, Sₜ₋₁ + target − k − xₜ). A signal is a sum above h. All in the values' unit.

use super::reason::{Reason, finite, require};

/// How the chart is set, in the values' unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CusumSettings {
    /// The value that the process should have.
    pub target: f64,
    /// The allowance k: commonly half of the shift that should be found.
    pub allowance: f64,
    /// The decision limit h.
    pub limit: f64,
}

/// One point of the chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CusumPoint {
    /// The sum that grows when values are high.
    pub high: f64,
    /// The sum that grows when values are low.
    pub low: f64,
    /// How many values the upward sum has been above 0, this one included: it began to grow that long ago.
    pub n_high: usize,
    /// The same of the downward sum.
    pub n_low: usize,
    /// Which sum exceeds the limit.
    pub signal: CusumSignal,
}

/// Which sum exceeds the limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CusumSignal {
    /// Neither.
    None,
    /// The upward sum.
    High,
    /// The downward sum.
    Low,
    /// Both, which takes a small limit.
    Both,
}

/// The chart of the values in order of time, a point for each.
///
/// # Errors
/// [`Reason::OutOfRange`] for a target that is no number, an allowance below 0 or a limit not above 0;
/// [`Reason::NotFinite`]; [`Reason::TooLarge`] on overflow.
pub fn cusum_chart(values: &[f64], settings: CusumSettings) -> Result<Vec<CusumPoint>, Reason> {
    require(values, 0)?;
    let CusumSettings {
        target,
        allowance,
        limit,
    } = settings;
    let is_settings = target.is_finite()
        && allowance.is_finite()
        && allowance >= 0.0
        && limit.is_finite()
        && limit > 0.0;
    if !is_settings {
        return Err(Reason::OutOfRange {
            argument: "CUSUM settings",
        });
    }
    let (mut high, mut low) = (0.0_f64, 0.0_f64);
    let (mut n_high, mut n_low) = (0_usize, 0_usize);
    values
        .iter()
        .map(|value| {
            high = finite((high + value - target - allowance).max(0.0))?;
            low = finite((low + target - allowance - value).max(0.0))?;
            n_high = if high > 0.0 {
                n_high.saturating_add(1)
            } else {
                0
            };
            n_low = if low > 0.0 {
                n_low.saturating_add(1)
            } else {
                0
            };
            let signal = match (high > limit, low > limit) {
                (false, false) => CusumSignal::None,
                (true, false) => CusumSignal::High,
                (false, true) => CusumSignal::Low,
                (true, true) => CusumSignal::Both,
            };
            Ok(CusumPoint {
                high,
                low,
                n_high,
                n_low,
                signal,
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bad_input_has_a_reason() {
        let settings = |target, allowance, limit| CusumSettings {
            target,
            allowance,
            limit,
        };
        assert!(cusum_chart(&[1.0], settings(f64::NAN, 1.0, 1.0)).is_err());
        assert!(cusum_chart(&[1.0], settings(0.0, -1.0, 1.0)).is_err());
        assert!(cusum_chart(&[1.0], settings(0.0, 1.0, 0.0)).is_err());
        assert!(cusum_chart(&[f64::NAN], settings(0.0, 1.0, 1.0)).is_err());
        assert!(cusum_chart(&[f64::MAX, f64::MAX], settings(0.0, 1.0, 1.0)).is_err());
        assert_eq!(cusum_chart(&[], settings(0.0, 1.0, 1.0)), Ok(Vec::new()));
    }

    #[test]
    fn sums_and_signals_are_those_worked_out_by_hand() {
        let settings = CusumSettings {
            target: 10.0,
            allowance: 0.5,
            limit: 2.0,
        };
        // Upward: 0, 1, 2, 3.5, 0, 0; downward the mirror image from the last on. On the limit is no signal.
        let values = [10.0, 11.5, 11.5, 12.0, 5.0, 10.0];
        let points = cusum_chart(&values, settings).unwrap();
        let of = |point: &CusumPoint| {
            (
                point.high,
                point.low,
                point.n_high,
                point.n_low,
                point.signal,
            )
        };
        let points: Vec<_> = points.iter().map(of).collect();
        assert_eq!(
            points,
            [
                (0.0, 0.0, 0, 0, CusumSignal::None),
                (1.0, 0.0, 1, 0, CusumSignal::None),
                (2.0, 0.0, 2, 0, CusumSignal::None),
                (3.5, 0.0, 3, 0, CusumSignal::High),
                (0.0, 4.5, 0, 1, CusumSignal::Low),
                (0.0, 4.0, 0, 2, CusumSignal::Low),
            ]
        );
        // Exactly the limit on the way down is none either: 0 + 10 − 0.5 − 7.5 = 2.
        let points = cusum_chart(&[7.5], settings).unwrap();
        assert_eq!((points[0].low, points[0].signal), (2.0, CusumSignal::None));
        // A small limit and no allowance: 3 up, then 1 down, and both sums are left.
        let settings = CusumSettings {
            target: 0.0,
            allowance: 0.0,
            limit: 0.5,
        };
        let points = cusum_chart(&[3.0, -1.0], settings).unwrap();
        assert_eq!(
            (points[1].high, points[1].low, points[1].signal),
            (2.0, 1.0, CusumSignal::Both)
        );
    }

    #[test]
    fn every_setting_is_asked() {
        let of = |target, allowance, limit| {
            let settings = CusumSettings {
                target,
                allowance,
                limit,
            };
            cusum_chart(&[1.0], settings).is_ok()
        };
        assert!(of(0.0, 0.0, 1.0));
        let endless = f64::INFINITY;
        assert!(!of(endless, 0.0, 1.0));
        assert!(!of(0.0, endless, 1.0));
        assert!(!of(0.0, 0.0, endless));
        assert!(!of(0.0, 0.0, -1.0));
        assert!(!of(0.0, -0.1, 1.0));
    }
}
