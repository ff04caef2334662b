//! What a case is: a name, where its expected values come from, and what was compared.
//!
//! A case that compares nothing fails, and so does one that could not be carried through: a value that is missing in a
//! reference must never count as agreement.

use crate::judge::rulebook::Known;
use std::fmt::Debug;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// One comparison of a case.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Check {
    /// What is compared.
    pub what: String,
    /// What the source says.
    pub expected: String,
    /// What this copy gives.
    pub found: String,
    /// How far the two may lie apart; empty where they must be the same.
    pub within: String,
    /// Whether they lie no farther apart.
    pub agrees: bool,
}

/// A case, run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Case {
    /// What it is.
    pub name: String,
    /// Where its expected values come from.
    pub source: String,
    /// How they are known.
    pub known: Known,
    /// What was compared, in order.
    pub checks: Vec<Check>,
}

/// How far a number may lie from the expected one: by either measure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Within {
    /// As a share of the expected number.
    relative: f64,
    /// In its own unit.
    absolute: f64,
}

impl Within {
    /// For closed forms.
    pub const CLOSED_FORM: Within = Within {
        relative: 1e-9,
        absolute: 1e-12,
    };
    /// For roots, quantiles, conditional estimates and integrals.
    pub const SEARCHED: Within = Within {
        relative: 1e-7,
        absolute: 1e-12,
    };
    /// For small tails that a library takes as 1 − Φ, which leaves it 1e-16.
    pub const TAIL: Within = Within {
        relative: 1e-9,
        absolute: 3e-16,
    };

    /// A share of the expected number.
    pub const fn share(relative: f64) -> Self {
        Within {
            relative,
            absolute: 0.0,
        }
    }

    /// So much in the number's own unit. For a printed number: half of its last digit, and a little for a number that
    /// lies on the edge of rounding.
    pub fn of(absolute: f64) -> Self {
        Within {
            relative: 0.0,
            absolute: absolute * (1.0 + 1e-9),
        }
    }

    fn takes(self, found: f64, expected: f64) -> bool {
        let apart = (found - expected).abs();
        found == expected || apart <= self.relative * expected.abs() || apart <= self.absolute
    }

    fn say(self) -> String {
        if self.relative > 0.0 {
            format!("{:.1e} of it", self.relative)
        } else {
            format!("{:.1e}", self.absolute)
        }
    }
}

impl Case {
    /// Whether everything that was compared agrees, and something was.
    pub fn passes(&self) -> bool {
        !self.checks.is_empty() && self.checks.iter().all(|check| check.agrees)
    }

    /// Compares numbers. A number that is missing on either side agrees with nothing.
    pub fn near(
        &mut self,
        what: impl Into<String>,
        found: impl Into<Option<f64>>,
        expected: impl Into<Option<f64>>,
        within: Within,
    ) {
        let (found, expected) = (found.into(), expected.into());
        let agrees = matches!((found, expected), (Some(a), Some(b)) if within.takes(a, b));
        self.checks.push(Check {
            what: what.into(),
            expected: say_number(expected),
            found: say_number(found),
            within: within.say(),
            agrees,
        });
    }

    /// Compares things that must be the same.
    pub fn same<T: PartialEq + Debug>(&mut self, what: impl Into<String>, found: T, expected: T) {
        self.checks.push(Check {
            what: what.into(),
            expected: format!("{expected:?}"),
            found: format!("{found:?}"),
            within: String::new(),
            agrees: found == expected,
        });
    }

    /// Something that must hold.
    pub fn holds(&mut self, what: impl Into<String>, does: bool) {
        self.same(what, does, true);
    }

    /// The answer of a function that may refuse; a refusal fails the case.
    pub fn answer<T, E: Debug>(&mut self, what: &str, result: Result<T, E>) -> Option<T> {
        match result {
            Ok(answer) => Some(answer),
            Err(reason) => {
                self.checks.push(Check {
                    what: what.to_owned(),
                    expected: "an answer".to_owned(),
                    found: format!("none: {reason:?}"),
                    within: String::new(),
                    agrees: false,
                });
                None
            }
        }
    }
}

fn say_number(number: Option<f64>) -> String {
    number.map_or_else(|| "no number".to_owned(), |number| number.to_string())
}

/// Cases as they are run.
#[derive(Debug, Default)]
pub struct Cases {
    /// Those that were run, in order.
    pub run: Vec<Case>,
}

impl Cases {
    /// Runs a case. The body gives `None` where it could not go on: an answer was refused, or the reference lacks a value.
    /// A case that stops the program in the middle fails like any other, and the next one is run.
    pub fn add(
        &mut self,
        name: impl Into<String>,
        source: impl Into<String>,
        known: Known,
        body: impl FnOnce(&mut Case) -> Option<()>,
    ) {
        let mut case = Case {
            name: name.into(),
            source: source.into(),
            known,
            checks: Vec::new(),
        };
        // The case is a list of comparisons, of which the one that stopped is not there.
        match catch_unwind(AssertUnwindSafe(|| body(&mut case))) {
            Ok(Some(())) if case.checks.is_empty() => case.same("anything compared", false, true),
            Ok(Some(())) => {}
            Ok(None) => case.same("carried through to its end", false, true),
            Err(_) => case.same("ended without stopping the program", false, true),
        }
        self.run.push(case);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(body: impl FnOnce(&mut Case) -> Option<()>) -> Case {
        let mut cases = Cases::default();
        cases.add("a case", "common practice, no source", Known::Seen, body);
        cases.run.remove(0)
    }

    #[test]
    fn case_passes_only_if_something_was_compared_and_all_of_it_agrees() {
        let near = |found: Option<f64>, expected: Option<f64>| {
            run(|case| {
                case.near("a number", found, expected, Within::CLOSED_FORM);
                Some(())
            })
            .passes()
        };
        assert!(near(Some(1.0), Some(1.0 + 1e-10)));
        assert!(near(Some(f64::INFINITY), Some(f64::INFINITY)));
        assert!(!near(Some(1.0), Some(1.0 + 1e-8)));
        assert!(!near(None, Some(1.0)));
        assert!(!near(Some(1.0), None));
        assert!(!near(None, None));
        assert!(!near(Some(f64::NAN), Some(f64::NAN)));
        assert!(!run(|_| Some(())).passes());
        assert!(
            !run(|case| {
                case.holds("yes", true);
                None
            })
            .passes()
        );
        assert!(
            !run(|case| {
                case.holds("yes", true);
                panic!("a defect")
            })
            .passes()
        );
        assert!(
            !run(|case| {
                case.answer("a sum", Err::<f64, _>("no values"))?;
                Some(())
            })
            .passes()
        );
    }

    #[test]
    fn printed_number_agrees_to_half_of_its_last_digit() {
        assert!(Within::of(5e-5).takes(0.23133, 0.2313));
        assert!(Within::of(5e-5).takes(0.23135, 0.2313));
        assert!(!Within::of(5e-5).takes(0.231_351, 0.2313));
    }
}
