//! P-values adjusted for how many were looked at.
//!
//! Y. Benjamini and Y. Hochberg, *JRSS B* 57 (1995); Y. Benjamini and D. Yekutieli, *Annals of Statistics* 29 (2001);
//! S. Holm, *Scandinavian J. of Statistics* 6 (1979); Y. Hochberg, *Biometrika* 75 (1988); O. J. Dunn, *JASA* 56 (1961)
//! for Bonferroni's.

use super::reason::Reason;

/// Which adjustment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Adjustment {
    /// The share of false ones among those found (false-discovery rate), for independent or positively dependent tests.
    BenjaminiHochberg,
    /// The same whatever the dependence.
    BenjaminiYekutieli,
    /// The chance of any false one; never worse than Bonferroni.
    Holm,
    /// The chance of any false one, for independent tests.
    Hochberg,
    /// The chance of any false one: each p times their number.
    Bonferroni,
}

/// The adjusted p-values in the order of the input. One at or below a level is found at that level.
///
/// # Errors
/// [`Reason::NotFinite`] or [`Reason::OutOfRange`] unless every p is from 0 to 1.
pub fn adjust_p_values(p_values: &[f64], adjustment: Adjustment) -> Result<Vec<f64>, Reason> {
    adjust_beside_certain(p_values, 0, adjustment)
}

/// The same where so many further things were looked at and each came out with p = 1.
///
/// # Errors
/// The same.
pub fn adjust_beside_certain(
    p_values: &[f64],
    n_certain: usize,
    adjustment: Adjustment,
) -> Result<Vec<f64>, Reason> {
    super::reason::require_finite(p_values)?;
    if !p_values.iter().all(|p| (0.0..=1.0).contains(p)) {
        return Err(Reason::OutOfRange {
            argument: "p-values",
        });
    }
    let n = p_values.len().saturating_add(n_certain);
    let size = n as f64;
    let mut places: Vec<(f64, usize)> = p_values.iter().copied().zip(0..).collect();
    places.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let harmonic: f64 = (1..=n).map(|rank| 1.0 / rank as f64).sum();
    // In order of size, `rank` from 1.
    let scaled = (1..).zip(&places).map(|(rank, (p, _))| {
        let rank = f64::from(u32::try_from(rank).unwrap_or(u32::MAX));
        match adjustment {
            Adjustment::BenjaminiHochberg => p * size / rank,
            Adjustment::BenjaminiYekutieli => p * size / rank * harmonic,
            Adjustment::Holm | Adjustment::Hochberg => p * (size + 1.0 - rank),
            Adjustment::Bonferroni => p * size,
        }
    });
    let mut scaled: Vec<f64> = scaled.collect();
    // A larger p is never adjusted to a smaller one.
    match adjustment {
        Adjustment::Holm => {
            let mut most = 0.0_f64;
            for p in &mut scaled {
                most = most.max(*p);
                *p = most;
            }
        }
        Adjustment::Bonferroni => {}
        _ => {
            let mut least = 1.0_f64;
            for p in scaled.iter_mut().rev() {
                least = least.min(*p);
                *p = least;
            }
        }
    }
    let mut adjusted = vec![1.0; p_values.len()];
    for ((_, place), p) in places.iter().zip(scaled) {
        if let Some(slot) = adjusted.get_mut(*place) {
            *slot = p.min(1.0);
        }
    }
    Ok(adjusted)
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: [Adjustment; 5] = [
        Adjustment::BenjaminiHochberg,
        Adjustment::BenjaminiYekutieli,
        Adjustment::Holm,
        Adjustment::Hochberg,
        Adjustment::Bonferroni,
    ];

    #[test]
    fn comparisons_with_p_1_change_the_others_alike_whether_listed_or_counted() {
        for adjustment in ALL {
            let listed = adjust_p_values(&[0.04, 0.001, 0.2, 1.0, 1.0, 1.0], adjustment).unwrap();
            let counted = adjust_beside_certain(&[0.04, 0.001, 0.2], 3, adjustment).unwrap();
            assert_eq!(listed[..3], counted);
        }
    }

    #[test]
    fn none_stays_none_and_bad_ones_are_refused() {
        for adjustment in ALL {
            assert_eq!(adjust_p_values(&[], adjustment), Ok(Vec::new()));
            assert_eq!(adjust_p_values(&[0.3], adjustment), Ok(vec![0.3]));
            assert!(adjust_p_values(&[f64::NAN], adjustment).is_err());
            assert!(adjust_p_values(&[1.1], adjustment).is_err());
        }
    }
}
