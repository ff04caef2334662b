//! The statistics beyond single published answers, which are cases of `loadbook::selftest` (numbers, sources and how each
//! is known: `tests/reference/stats/README.md`): what must hold of any numbers, and traps that the methods must not
//! fall into.

/// Whatever the numbers, no panic and no NaN.
mod anything;
/// Steps found by robust costs.
mod changes;
/// The same answer from the same seed.
mod scans;
/// Strata: Simpson's error, and those without information.
mod tables;
/// What autocorrelation does to a trend.
mod trends;
