//! Why a number can't be given. Every method of `stats` answers with a number or with one of these, never with a panic
//! and never with a NaN. Read [`Reason`] first.

/// Why a method gives no answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Reason {
    /// Fewer values than the method needs.
    #[error("{given} values are given and {needed} are needed")]
    TooFew {
        /// How many it needs.
        needed: usize,
        /// How many there are.
        given: usize,
    },
    /// More than the method can hold in memory or count exactly.
    #[error("{argument} is larger than the method can work out")]
    TooLarge {
        /// What is too large.
        argument: &'static str,
    },
    /// A value is infinite or not a number.
    #[error("value {at}, counted from 0, is not a finite number")]
    NotFinite {
        /// Its place, from 0.
        at: usize,
    },
    /// Two lists that belong together differ in length.
    #[error("two lists that belong together have {left} and {right} values")]
    Unpaired {
        /// The length of the first.
        left: usize,
        /// The length of the second.
        right: usize,
    },
    /// The values are all the same, or the spread that the method divides by is 0.
    #[error("the values do not vary")]
    NoSpread,
    /// An argument is outside the range for which the method is defined.
    #[error("{argument} is outside its range")]
    OutOfRange {
        /// Which argument.
        argument: &'static str,
    },
    /// The counts say nothing on the question: a margin of every table is 0.
    #[error("the counts say nothing on this question")]
    NoInformation,
    /// A search for a root or an integral did not settle.
    #[error("the calculation did not settle")]
    NotSettled,
}

/// The values are finite.
///
/// # Errors
/// [`Reason::NotFinite`] with the place of the first that isn't.
pub(super) fn require_finite(values: &[f64]) -> Result<(), Reason> {
    match values.iter().position(|value| !value.is_finite()) {
        Some(at) => Err(Reason::NotFinite { at }),
        None => Ok(()),
    }
}

/// The values are finite and at least so many.
///
/// # Errors
/// [`Reason::TooFew`] or [`Reason::NotFinite`].
pub(super) fn require(values: &[f64], needed: usize) -> Result<(), Reason> {
    if values.len() < needed {
        return Err(Reason::TooFew {
            needed,
            given: values.len(),
        });
    }
    require_finite(values)
}

/// The two lists have the same length, at least `needed`, and are finite.
///
/// # Errors
/// [`Reason::Unpaired`], [`Reason::TooFew`] or [`Reason::NotFinite`].
pub(super) fn require_pairs(left: &[f64], right: &[f64], needed: usize) -> Result<(), Reason> {
    if left.len() != right.len() {
        return Err(Reason::Unpaired {
            left: left.len(),
            right: right.len(),
        });
    }
    require(left, needed)?;
    require_finite(right)
}

/// The number is finite and greater than 0.
///
/// # Errors
/// [`Reason::OutOfRange`] naming the argument.
pub(super) fn require_positive(number: f64, argument: &'static str) -> Result<(), Reason> {
    if number.is_finite() && number > 0.0 {
        Ok(())
    } else {
        Err(Reason::OutOfRange { argument })
    }
}

/// The result is a finite number; arithmetic on huge but finite input may overflow.
///
/// # Errors
/// [`Reason::TooLarge`].
pub(super) fn finite(number: f64) -> Result<f64, Reason> {
    if number.is_finite() {
        Ok(number)
    } else {
        Err(Reason::TooLarge {
            argument: "the size of the values",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_asked_of_arguments_is_answered_in_order() {
        assert_eq!(require(&[1.0], 1), Ok(()));
        assert_eq!(
            require(&[1.0], 2),
            Err(Reason::TooFew {
                needed: 2,
                given: 1
            })
        );
        assert_eq!(
            require(&[1.0, f64::NAN], 2),
            Err(Reason::NotFinite { at: 1 })
        );
        let unpaired = Err(Reason::Unpaired { left: 1, right: 2 });
        assert_eq!(require_pairs(&[1.0], &[1.0, 2.0], 1), unpaired);
        assert_eq!(
            require_pairs(&[1.0], &[f64::INFINITY], 1),
            Err(Reason::NotFinite { at: 0 })
        );
        assert_eq!(require_pairs(&[1.0], &[2.0], 1), Ok(()));
        let argument = "it";
        for number in [0.0, -1.0, f64::INFINITY, f64::NAN] {
            assert_eq!(
                require_positive(number, argument),
                Err(Reason::OutOfRange { argument })
            );
        }
        assert_eq!(require_positive(5e-324, argument), Ok(()));
        assert_eq!(finite(-2.5), Ok(-2.5));
        assert!(finite(f64::NEG_INFINITY).is_err() && finite(f64::NAN).is_err());
    }
}
