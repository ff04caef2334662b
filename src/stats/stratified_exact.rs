//! Exact test and odds ratio over several 2 × 2 tables.
//!
//! C. R. Mehta, N. R. Patel, R. Gray, *JASA* 80 (1985); the same as R's `mantelhaen.test(exact = TRUE)`. Given all margins,
//! the sum of the first cells is a sum of independent noncentral hypergeometric numbers with one odds ratio.

use super::discrete::Discrete;
use super::fisher::{ExactOddsRatio, TwoByTwo, exact_odds_ratio};
use super::interval::Confidence;
use super::reason::Reason;

/// The exact method over all tables. Tables with an empty margin change nothing.
///
/// # Errors
/// [`Reason::NoInformation`] if every table has an empty margin; [`Reason::TooLarge`] for counts that would take too long;
/// [`Reason::NotSettled`] if a search fails.
pub fn stratified_exact_test(
    tables: &[TwoByTwo],
    confidence: Confidence,
) -> Result<ExactOddsRatio, Reason> {
    let mut informative = Vec::new();
    for table in tables {
        table.total()?;
        if table.is_informative() {
            informative.push(*table);
        }
    }
    if informative.is_empty() {
        return Err(Reason::NoInformation);
    }
    let observed = informative.iter().map(|table| table.a).sum();
    exact_odds_ratio(observed, confidence, |log| sum_of(&informative, log))
}

fn sum_of(tables: &[TwoByTwo], log_odds_ratio: f64) -> Result<Discrete, Reason> {
    let mut sum: Option<Discrete> = None;
    for table in tables {
        let cell = table.conditional(log_odds_ratio)?;
        sum = Some(match sum {
            Some(before) => before.plus(&cell)?,
            None => cell,
        });
    }
    sum.ok_or(Reason::NoInformation)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::fisher::fisher_test;

    #[test]
    fn one_table_is_fishers_test() {
        let table = TwoByTwo {
            a: 3,
            b: 1,
            c: 1,
            d: 3,
        };
        assert_eq!(
            stratified_exact_test(&[table], Confidence::P95),
            fisher_test(table, Confidence::P95)
        );
    }

    #[test]
    fn nothing_to_go_by_has_a_reason() {
        assert_eq!(
            stratified_exact_test(&[], Confidence::P95),
            Err(Reason::NoInformation)
        );
    }
}
