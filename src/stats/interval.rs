//! An interval and the confidence that goes with it.

use super::normal::normal_quantile;
use super::reason::Reason;

/// From `low` to `high`, both included. An end may be infinite where the method's own definition says so, such as the
/// upper end of an odds ratio with an empty cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// The lower end.
    pub low: f64,
    /// The upper end.
    pub high: f64,
}

impl Interval {
    /// Whether the number lies in it.
    pub fn contains(self, number: f64) -> bool {
        self.low <= number && number <= self.high
    }

    /// Upper end less lower end.
    pub fn width(self) -> f64 {
        self.high - self.low
    }
}

/// How often an interval made this way covers the truth: a share between 0 and 1, both excluded.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Confidence(f64);

impl Confidence {
    /// Nine times in ten.
    pub const P90: Confidence = Confidence(0.90);
    /// Nineteen times in twenty.
    pub const P95: Confidence = Confidence(0.95);
    /// Ninety-nine times in a hundred.
    pub const P99: Confidence = Confidence(0.99);

    /// A confidence from a share, such as 0.95.
    ///
    /// # Errors
    /// [`Reason::OutOfRange`] unless the share is greater than 0 and less than 1.
    pub fn of(share: f64) -> Result<Self, Reason> {
        if share > 0.0 && share < 1.0 {
            Ok(Confidence(share))
        } else {
            Err(Reason::OutOfRange {
                argument: "confidence",
            })
        }
    }

    /// As a share.
    pub fn share(self) -> f64 {
        self.0
    }

    /// What is left outside on each side of a two-sided interval.
    pub(super) fn tail(self) -> f64 {
        (1.0 - self.0) / 2.0
    }

    /// How many standard deviations a normal interval reaches to each side.
    pub(super) fn z(self) -> f64 {
        // From the small tail, which keeps its digits when the confidence is nearly 1.
        -normal_quantile(self.tail())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_belong_to_an_interval() {
        let interval = Interval {
            low: 1.0,
            high: 3.0,
        };
        let inside = [0.9, 1.0, 2.0, 3.0, 3.1].map(|number| interval.contains(number));
        assert_eq!(inside, [false, true, true, true, false]);
        assert_eq!(interval.width(), 2.0);
    }

    #[test]
    fn confidence_is_a_share_between_none_and_all() {
        let argument = "confidence";
        for share in [0.0, 1.0, -0.1, 1.1, f64::NAN] {
            assert_eq!(Confidence::of(share), Err(Reason::OutOfRange { argument }));
        }
        let confidence = Confidence::of(0.8).unwrap();
        assert_eq!(confidence.share(), 0.8);
        assert!((confidence.tail() - 0.1).abs() < 1e-15);
        // NIST/SEMATECH e-Handbook 1.3.6.7.1 (from memory): 1.96 and 2.576.
        assert!((Confidence::P95.z() - 1.960).abs() < 5e-4);
        assert!((Confidence::P99.z() - 2.576).abs() < 5e-4);
    }
}
