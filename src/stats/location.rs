//! Where values lie: median, quantiles, trimmed mean.
//!
//! Quantiles by linear interpolation between order statistics: definition 7 of R. J. Hyndman and Y. Fan, *The American
//! Statistician* 50 (1996), the default of R and numpy. Trimmed mean: J. W. Tukey, *Sankhyā A* 25 (1963); ⌊share n⌋ values
//! are left out at each end, as in scipy's `trim_mean`. Hodges and Lehmann's estimate has [`super::hodges_lehmann`].

use super::order::{middle, sorted};
use super::reason::{Reason, finite, require};
use super::summary::mean;

/// The middle value; the mean of the two middle ones if their number is even.
///
/// # Errors
/// [`Reason::TooFew`] if there is none, [`Reason::NotFinite`].
pub fn median(values: &[f64]) -> Result<f64, Reason> {
    require(values, 1)?;
    middle(&sorted(values)).ok_or(Reason::TooFew {
        needed: 1,
        given: 0,
    })
}

/// The quantile at a share from 0, the smallest value, to 1, the largest.
///
/// # Errors
/// As [`median`]; [`Reason::OutOfRange`] for a share outside 0 to 1.
pub fn quantile(values: &[f64], share: f64) -> Result<f64, Reason> {
    require(values, 1)?;
    if !(0.0..=1.0).contains(&share) {
        return Err(Reason::OutOfRange { argument: "share" });
    }
    let sorted = sorted(values);
    let place = share * sorted.len().saturating_sub(1) as f64;
    let part = place - place.floor();
    let at = |place: f64| sorted.get(place as usize).copied();
    let none = Reason::TooFew {
        needed: 1,
        given: 0,
    };
    let low = at(place.floor()).ok_or(none)?;
    let high = at(place.ceil()).ok_or(none)?;
    Ok(low * (1.0 - part) + high * part)
}

/// The mean without the smallest and the largest values, `share` of them at each end.
///
/// # Errors
/// As [`median`]; [`Reason::OutOfRange`] unless 0 ≤ share < ½; [`Reason::TooLarge`] on overflow.
pub fn trimmed_mean(values: &[f64], share: f64) -> Result<f64, Reason> {
    require(values, 1)?;
    if !(0.0..0.5).contains(&share) {
        return Err(Reason::OutOfRange { argument: "share" });
    }
    let sorted = sorted(values);
    let n_cut = (share * sorted.len() as f64) as usize;
    let kept: Vec<f64> = sorted
        .iter()
        .copied()
        .skip(n_cut)
        .take(sorted.len().saturating_sub(n_cut.saturating_mul(2)))
        .collect();
    finite(mean(&kept)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bad_input_has_a_reason() {
        assert!(median(&[]).is_err());
        assert!(median(&[f64::NAN]).is_err());
        assert_eq!(median(&[f64::MAX, f64::MAX]), Ok(f64::MAX));
        assert!(quantile(&[1.0], 1.5).is_err());
        assert!(quantile(&[1.0], f64::NAN).is_err());
        assert_eq!(quantile(&[1.0], 0.3), Ok(1.0));
        assert!(trimmed_mean(&[1.0, 2.0], 0.5).is_err());
        assert!(trimmed_mean(&[], 0.1).is_err());
    }

    #[test]
    fn quantiles_and_trimmed_means_are_those_worked_out_by_hand() {
        // Hyndman and Fan's definition 7: the place (n − 1) share, between 10, 20, 30, 50.
        let values = [50.0, 10.0, 30.0, 20.0];
        for (share, expected) in [
            (0.0, 10.0),
            (0.25, 17.5),
            (0.5, 25.0),
            (0.75, 35.0),
            (0.9, 44.0),
            (1.0, 50.0),
        ] {
            let found = quantile(&values, share).unwrap();
            assert!((found - expected).abs() < 1e-12, "{share} {found}");
        }
        assert_eq!(median(&values), Ok(25.0));
        // One of four at each end; of one tenth none.
        assert_eq!(trimmed_mean(&values, 0.25), Ok(25.0));
        assert_eq!(trimmed_mean(&values, 0.1), Ok(27.5));
        assert_eq!(trimmed_mean(&values, 0.0), Ok(27.5));
        let argument = "share";
        for share in [-0.1, 0.5, f64::NAN] {
            assert_eq!(
                trimmed_mean(&values, share),
                Err(Reason::OutOfRange { argument })
            );
        }
    }
}
