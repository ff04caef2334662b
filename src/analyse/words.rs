//! How findings put numbers and lists into a sentence. Knows nothing of what they are about.

use super::finding::Effect;
use super::strata::{Counts, Likelihood};

/// The level of every interval of a finding.
pub const LEVEL: f64 = 0.90;

/// `7 of 60 (11.7 %)`.
pub fn share(n: u32, of: u32) -> String {
    if of == 0 {
        return "0 of 0".to_owned();
    }
    format!(
        "{n} of {of} ({:.1} %)",
        100.0 * f64::from(n) / f64::from(of)
    )
}

/// A ratio to two figures; one that the data leave open is said so.
pub fn ratio(value: f64) -> String {
    match value {
        _ if value.is_infinite() || value >= 1000.0 => "any number".to_owned(),
        _ if value >= 10.0 => format!("{value:.0}"),
        _ => format!("{value:.1}"),
    }
}

/// How many times as often the exposed fail, with the interval.
pub fn times_as_often(counts: Counts, likelihood: &Likelihood, other: &str) -> Effect {
    let (low, estimate, high) = likelihood.ratio(LEVEL);
    let said = format!(
        "{} against {} {other}: {} times as often, and {} to {} times with {:.0} % confidence.",
        share(counts.exposed_failures, counts.exposed),
        share(counts.other_failures, counts.others),
        ratio(estimate),
        ratio(low),
        ratio(high),
        100.0 * LEVEL,
    );
    Effect {
        measure: "times as often",
        estimate,
        low,
        high,
        level: LEVEL,
        said,
    }
}

/// `a`, `a and b`, `a, b and c`.
pub fn list(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// `1 load`, `2 loads`.
pub fn count(n: usize, one: &str, several: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { several })
}

/// A probability: to two digits, and never as nothing.
pub fn probability(p: f64) -> String {
    match p {
        _ if p < 0.000_1 => "below 0.0001".to_owned(),
        _ if p < 0.01 => format!("{p:.4}"),
        _ => format!("{p:.2}"),
    }
}
