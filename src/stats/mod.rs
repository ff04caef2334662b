//! Statistics: numbers in, numbers out. One method a file, its publication in the header of that file.
//!
//! Knows nothing of sterilizers, records, time zones or units: a number is in the unit of the numbers given. Every method
//! answers with a number or with a [`reason::Reason`], on any input; none panics, reads a clock or draws chance without a
//! seed. Each is held to published or library-computed values under `tests/reference/stats/`.
//!
//! Where to look, by question:
//!
//! | question | file |
//! | --- | --- |
//! | what is usual | [`location`], [`spread`], [`hodges_lehmann`], [`summary`] |
//! | is this value outside | [`individuals`], [`ewma`], [`cusum`], [`attribute_chart`], [`run_rules`] |
//! | is there a drift | [`mann_kendall`], [`serial_correlation`], [`theil_sen`] |
//! | was there a step | [`pettitt`], [`change_points`], [`robust_changes`], [`mann_whitney`], [`welch`] |
//! | when will it meet a limit | [`forecast`] |
//! | is this rate high | [`proportion_test`], [`proportion_interval`], [`count_test`], [`count_interval`], [`two_rates`] |
//! | do two groups differ | [`fisher`], [`barnard`], [`posterior`] |
//! | do they differ within each of several strata | [`mantel_haenszel`], [`homogeneity`], [`stratified_exact`] |
//! | do events cluster in time | [`scan`] |
//! | how many were looked at | [`multiplicity`] |

pub mod attribute_chart;
pub mod barnard;
pub mod beta;
pub mod change_points;
pub mod count_interval;
pub mod count_test;
pub mod cusum;
pub mod discrete;
pub mod ewma;
pub mod fisher;
pub mod forecast;
pub mod gamma;
pub mod hodges_lehmann;
pub mod homogeneity;
pub mod individuals;
pub mod interval;
pub mod location;
pub mod mann_kendall;
pub mod mann_whitney;
pub mod mantel_haenszel;
pub mod multiplicity;
pub mod normal;
pub mod pettitt;
pub mod posterior;
pub mod proportion_interval;
pub mod proportion_test;
pub mod reason;
pub mod robust_changes;
pub mod run_rules;
pub mod scan;
pub mod segment_cost;
pub mod serial_correlation;
pub mod spread;
pub mod stratified_exact;
pub mod student;
pub mod summary;
pub mod theil_sen;
pub mod two_rates;
pub mod welch;

mod chance;
mod inversions;
mod order;
mod quadrature;
mod root;
mod slope_selection;
