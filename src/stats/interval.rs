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
