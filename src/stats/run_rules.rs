//! Run rules: patterns within the limits of a chart.
//!
//! L. S. Nelson, "The Shewhart control chart — tests for special causes", *Journal of Quality Technology* 16(4) (1984);
//! Western Electric, *Statistical Quality Control Handbook* (1956). Neither original was seen; the definitions are those
//! of public help pages listing the eight tests.
//!
//! "Beyond" and "within" are strict. A rule fires at the last point of each window that shows its pattern.

use super::reason::{Reason, require, require_positive};

/// A rule.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RunRule {
    /// One point beyond 3 sigma.
    Nelson1,
    /// Nine points in a row on one side of the centre; a point on the centre breaks the run.
    Nelson2,
    /// Six points in a row, each higher, or each lower, than the one before; a tie breaks the run.
    Nelson3,
    /// Fourteen points in a row alternating up and down; a tie breaks the run.
    Nelson4,
    /// Two of three points beyond 2 sigma on the same side, the last of them being one.
    Nelson5,
    /// Four of five points beyond 1 sigma on the same side, the last of them being one.
    Nelson6,
    /// Fifteen points in a row within 1 sigma.
    Nelson7,
    /// Eight points in a row beyond 1 sigma, with both sides among them.
    Nelson8,
    /// One point beyond 3 sigma.
    WesternElectric1,
    /// Two of three points beyond 2 sigma on the same side.
    WesternElectric2,
    /// Four of five points beyond 1 sigma on the same side.
    WesternElectric3,
    /// Eight points in a row on one side of the centre.
    WesternElectric4,
}

impl RunRule {
    /// Every rule, Nelson's first.
    pub const ALL: [RunRule; 12] = [
        RunRule::Nelson1,
        RunRule::Nelson2,
        RunRule::Nelson3,
        RunRule::Nelson4,
        RunRule::Nelson5,
        RunRule::Nelson6,
        RunRule::Nelson7,
        RunRule::Nelson8,
        RunRule::WesternElectric1,
        RunRule::WesternElectric2,
        RunRule::WesternElectric3,
        RunRule::WesternElectric4,
    ];

    /// How many points its window has.
    pub fn n_points(self) -> usize {
        match self {
            RunRule::Nelson1 | RunRule::WesternElectric1 => 1,
            RunRule::Nelson2 => 9,
            RunRule::Nelson3 => 6,
            RunRule::Nelson4 => 14,
            RunRule::Nelson5 | RunRule::WesternElectric2 => 3,
            RunRule::Nelson6 | RunRule::WesternElectric3 => 5,
            RunRule::Nelson7 => 15,
            RunRule::Nelson8 | RunRule::WesternElectric4 => 8,
        }
    }

    /// Whether a window of its length, in units of sigma from the centre, shows its pattern.
    fn is_shown(self, window: &[f64]) -> bool {
        match self {
            RunRule::Nelson1 | RunRule::WesternElectric1 => window.iter().all(|z| z.abs() > 3.0),
            RunRule::Nelson2 | RunRule::WesternElectric4 => {
                window.iter().all(|z| *z > 0.0) || window.iter().all(|z| *z < 0.0)
            }
            RunRule::Nelson3 => {
                window.is_sorted_by(|a, b| a < b) || window.is_sorted_by(|a, b| a > b)
            }
            RunRule::Nelson4 => {
                let steps = window.iter().zip(window.iter().skip(1));
                let directions: Vec<f64> = steps.map(|(a, b)| direction(b - a)).collect();
                let turns = directions.iter().zip(directions.iter().skip(1));
                turns.into_iter().all(|(a, b)| a * b < 0.0)
            }
            RunRule::Nelson5 | RunRule::WesternElectric2 => {
                is_crowded(window, 2.0, 2, 1.0) || is_crowded(window, 2.0, 2, -1.0)
            }
            RunRule::Nelson6 | RunRule::WesternElectric3 => {
                is_crowded(window, 1.0, 4, 1.0) || is_crowded(window, 1.0, 4, -1.0)
            }
            RunRule::Nelson7 => window.iter().all(|z| z.abs() < 1.0),
            RunRule::Nelson8 => {
                window.iter().all(|z| z.abs() > 1.0)
                    && window.iter().any(|z| *z > 0.0)
                    && window.iter().any(|z| *z < 0.0)
            }
        }
    }
}

/// 1, −1, or 0 for no change.
fn direction(step: f64) -> f64 {
    if step == 0.0 { 0.0 } else { step.signum() }
}

/// At least `n_needed` points beyond the zone on one side, the last point among them.
fn is_crowded(window: &[f64], zone: f64, n_needed: usize, side: f64) -> bool {
    let n_beyond = window.iter().filter(|z| side * **z > zone).count();
    n_beyond >= n_needed && window.last().is_some_and(|z| side * z > zone)
}

/// The places, from 0, of the last points of all windows that show the rule's pattern.
///
/// `centre` and `sigma` are the chart's, in the values' unit.
///
/// # Errors
/// [`Reason::NotFinite`]; [`Reason::OutOfRange`] unless sigma is positive and the centre finite.
pub fn find_runs(
    values: &[f64],
    centre: f64,
    sigma: f64,
    rule: RunRule,
) -> Result<Vec<usize>, Reason> {
    require(values, 0)?;
    require_positive(sigma, "sigma")?;
    if !centre.is_finite() {
        return Err(Reason::OutOfRange { argument: "centre" });
    }
    let z: Vec<f64> = values
        .iter()
        .map(|value| (value - centre) / sigma)
        .collect();
    let n = rule.n_points();
    Ok((n.saturating_sub(1)..)
        .zip(z.windows(n))
        .filter(|(_, window)| rule.is_shown(window))
        .map(|(at, _)| at)
        .collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn short_and_bad_series_do_not_panic() {
        for rule in RunRule::ALL {
            assert_eq!(find_runs(&[], 0.0, 1.0, rule), Ok(Vec::new()));
            assert!(find_runs(&[0.5], 0.0, 1.0, rule).is_ok());
            assert!(find_runs(&[f64::NAN], 0.0, 1.0, rule).is_err());
            assert!(find_runs(&[1.0], 0.0, 0.0, rule).is_err());
            assert!(find_runs(&[1.0], f64::NAN, 1.0, rule).is_err());
        }
    }

    /// Whether a rule fires at the last of these, in deviations from the centre.
    fn fires(rule: RunRule, z: &[f64]) -> bool {
        // In another unit: 10 + 2 z.
        let values: Vec<f64> = z.iter().map(|z| 10.0 + 2.0 * z).collect();
        find_runs(&values, 10.0, 2.0, rule).unwrap().last() == Some(&(z.len() - 1))
    }

    #[test]
    fn zones_are_open_at_their_edges() {
        use RunRule as R;
        for (rule, z, shown) in [
            (R::Nelson1, vec![3.0], false),
            (R::Nelson1, vec![3.1], true),
            (R::WesternElectric1, vec![-3.0], false),
            (R::WesternElectric1, vec![-3.1], true),
            (R::Nelson2, vec![0.1; 9], true),
            (R::Nelson2, vec![-0.1; 9], true),
            (R::Nelson2, vec![0.1; 8], false),
            (R::Nelson2, [vec![0.1; 8], vec![0.0]].concat(), false),
            (R::Nelson2, [vec![-0.1; 8], vec![0.0]].concat(), false),
            (R::Nelson2, [vec![0.1; 8], vec![-0.1]].concat(), false),
            (R::WesternElectric4, vec![0.1; 8], true),
            (
                R::WesternElectric4,
                [vec![0.1; 7], vec![0.0]].concat(),
                false,
            ),
            (R::Nelson3, vec![0.0, 0.1, 0.2, 0.3, 0.4, 0.5], true),
            (R::Nelson3, vec![0.5, 0.4, 0.3, 0.2, 0.1, 0.0], true),
            (R::Nelson3, vec![0.0, 0.1, 0.2, 0.2, 0.4, 0.5], false),
            (R::Nelson3, vec![0.5, 0.4, 0.3, 0.3, 0.1, 0.0], false),
            (R::Nelson5, vec![2.1, 0.0, 2.1], true),
            (R::Nelson5, vec![2.1, 0.0, 2.0], false),
            (R::Nelson5, vec![2.0, 0.0, 2.1], false),
            (R::Nelson5, vec![2.1, 2.1, 0.0], false),
            (R::Nelson5, vec![-2.1, 0.0, 2.1], false),
            (R::WesternElectric2, vec![-2.1, 0.0, -2.1], true),
            (R::Nelson6, vec![1.1, 1.1, 0.0, 1.1, 1.1], true),
            (R::Nelson6, vec![1.1, 1.1, 0.0, 1.1, 1.0], false),
            (R::Nelson6, vec![1.1, 1.0, 0.0, 1.1, 1.1], false),
            (R::WesternElectric3, vec![-1.1, -1.1, 0.0, -1.1, -1.1], true),
            (R::Nelson7, vec![0.9; 15], true),
            (R::Nelson7, [vec![0.9; 14], vec![1.0]].concat(), false),
            (R::Nelson7, [vec![0.9; 14], vec![-1.0]].concat(), false),
            (R::Nelson8, [vec![1.1; 7], vec![-1.1]].concat(), true),
            (R::Nelson8, [vec![1.1; 7], vec![-1.0]].concat(), false),
            (R::Nelson8, vec![1.1; 8], false),
            (R::Nelson8, vec![-1.1; 8], false),
        ] {
            assert_eq!(fires(rule, &z), shown, "{rule:?} {z:?}");
        }
    }

    #[test]
    fn fourteen_points_alternate_without_a_tie() {
        let up_and_down: Vec<f64> = (0..14).map(|t| f64::from(t % 2)).collect();
        assert!(fires(RunRule::Nelson4, &up_and_down));
        let mut tied = up_and_down.clone();
        tied[7] = tied[6];
        assert!(!fires(RunRule::Nelson4, &tied));
        let mut rising = up_and_down.clone();
        rising[13] = -1.0;
        assert!(!fires(RunRule::Nelson4, &rising));
        assert!(!fires(RunRule::Nelson4, &up_and_down[1..]));
        // Every window that shows it, by its last point.
        let longer: Vec<f64> = (0..16).map(|t| f64::from(t % 2)).collect();
        assert_eq!(
            find_runs(&longer, 0.5, 1.0, RunRule::Nelson4),
            Ok(vec![13, 14, 15])
        );
    }
}
