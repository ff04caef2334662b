//! Exact binomial test of a proportion.
//!
//! C. J. Clopper and E. S. Pearson, *Biometrika* 26 (1934); two-sided by minimum likelihood as in R's `binom.test`.

use super::discrete::{Discrete, Tails};
use super::reason::Reason;

/// Exact p-values and their mid-p variant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ExactTest {
    /// Guaranteed not to be too small, and so cautious.
    pub exact: Tails,
    /// Right on the average.
    pub mid: Tails,
}

/// The test of `n_events` in `n` trials against a probability. `greater` is the p that the probability is larger.
///
/// # Errors
/// [`Reason::OutOfRange`] for a probability outside [0, 1] or more events than trials; [`Reason::TooLarge`].
pub fn proportion_test(n_events: u64, n: u64, probability: f64) -> Result<ExactTest, Reason> {
    if n_events > n {
        return Err(Reason::OutOfRange { argument: "counts" });
    }
    let chance = Discrete::binomial(n, probability)?;
    Ok(ExactTest {
        exact: chance.exact(n_events),
        mid: chance.mid(n_events),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn mendels_peas_are_those_of_the_help_page() {
        // R help of binom.test (Conover 1971, p. 97 f.): 682 of 925 against 3/4, p = 0.3825 (from memory).
        let test = proportion_test(682, 925, 0.75).unwrap();
        assert!((test.exact.two_sided - 0.3825).abs() < 5e-5);
    }

    #[test]
    fn no_trials_say_nothing_and_bad_counts_are_refused() {
        assert_eq!(proportion_test(0, 0, 0.5).unwrap().exact.two_sided, 1.0);
        assert!(proportion_test(2, 1, 0.5).is_err());
        assert!(proportion_test(1, 2, 1.5).is_err());
    }
}
