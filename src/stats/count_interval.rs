//! Exact interval for the mean of a Poisson count.
//!
//! F. Garwood, *Biometrika* 28 (1936): lower end χ²(α/2; 2k)/2, upper end χ²(1 − α/2; 2k + 2)/2.

use super::gamma::{gamma_quantile, gamma_quantile_upper};
use super::interval::{Confidence, Interval};
use super::reason::{Reason, require_positive};

/// The largest count for which the incomplete gamma function keeps nine digits.
const MAX_COUNT: u64 = 1_000_000;

/// The interval of the expected count behind a count.
///
/// # Errors
/// [`Reason::TooLarge`] beyond a million; [`Reason::NotSettled`] if a search fails.
pub fn count_interval(count: u64, confidence: Confidence) -> Result<Interval, Reason> {
    require_countable(count)?;
    let low = match count {
        0 => 0.0,
        _ => gamma_quantile(count as f64, confidence.tail())?,
    };
    let high = gamma_quantile_upper(count as f64 + 1.0, confidence.tail())?;
    Ok(Interval { low, high })
}

/// The expected count that is exceeded with no more than 1 − confidence: the whole doubt on one side.
///
/// # Errors
/// As [`count_interval`].
pub fn count_upper_limit(count: u64, confidence: Confidence) -> Result<f64, Reason> {
    require_countable(count)?;
    gamma_quantile_upper(count as f64 + 1.0, 1.0 - confidence.share())
}

/// The interval of the rate behind a count in `exposure`, per unit of the exposure.
///
/// # Errors
/// As [`count_interval`]; [`Reason::OutOfRange`] unless the exposure is positive.
pub fn rate_interval(
    count: u64,
    exposure: f64,
    confidence: Confidence,
) -> Result<Interval, Reason> {
    require_positive(exposure, "exposure")?;
    let counts = count_interval(count, confidence)?;
    Ok(Interval {
        low: counts.low / exposure,
        high: counts.high / exposure,
    })
}

fn require_countable(count: u64) -> Result<(), Reason> {
    if count > MAX_COUNT {
        Err(Reason::TooLarge { argument: "counts" })
    } else {
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_events_leave_minus_log_of_the_tail() {
        // e^−m = tail.
        let ends = count_interval(0, Confidence::P95).unwrap();
        assert_eq!(ends.low, 0.0);
        assert!((ends.high + 0.025_f64.ln()).abs() < 1e-12);
        let upper = count_upper_limit(0, Confidence::P95).unwrap();
        assert!((upper + 0.05_f64.ln()).abs() < 1e-12);
    }

    #[test]
    fn bad_input_has_a_reason() {
        assert!(count_interval(u64::MAX, Confidence::P95).is_err());
        assert!(rate_interval(1, 0.0, Confidence::P95).is_err());
        assert!(rate_interval(1, f64::NAN, Confidence::P95).is_err());
    }

    #[test]
    fn counts_up_to_a_million_are_answered() {
        let too_large = Reason::TooLarge { argument: "counts" };
        let ends = count_interval(1_000_000, Confidence::P95).unwrap();
        // By the normal distribution, good to a few: 1 000 000 ± 1.96 · 1000.
        assert!((ends.low - 998_040.0).abs() < 5.0 && (ends.high - 1_001_961.0).abs() < 5.0);
        assert_eq!(count_interval(1_000_001, Confidence::P95), Err(too_large));
        assert_eq!(
            count_upper_limit(1_000_001, Confidence::P95),
            Err(too_large)
        );
    }
}
