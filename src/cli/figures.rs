//! What statistics add to the figures of reports: calls with the settings that the reports name, and no rule.
//!
//! `report` draws and doesn't compute, so the numbers are found here and handed in. Read [`share_interval`] first.

use crate::report::lengths::{ControlLimits, LengthSeries, LevelChange};
use crate::stats::individuals::{RangeConstants, individuals_chart};
use crate::stats::interval::Confidence;
use crate::stats::location::median;
use crate::stats::proportion_interval::{ProportionMethod, proportion_interval};
use crate::stats::robust_changes::{RobustSettings, robust_changes};

/// So many lengths at least stand on each side of a change that is marked.
const LEAST_BESIDE: usize = 8;

/// The exact interval of a share, Clopper and Pearson's at 95 %; `None` of nothing.
pub fn share_interval(n: u64, of: u64) -> Option<(f64, f64)> {
    let interval =
        proportion_interval(n, of, ProportionMethod::ClopperPearson, Confidence::P95).ok()?;
    Some((interval.low, interval.high))
}

/// Adds the control limits of the individuals chart (from the median moving range, so that a few odd cycles don't widen
/// them) and the changes of level that single odd cycles can't make. A series that never varies has neither.
pub fn add_limits(series: &mut LengthSeries) {
    let seconds: Vec<f64> = series.lengths.iter().map(|length| length.seconds).collect();
    let Ok(chart) = individuals_chart(&seconds, RangeConstants::Median) else {
        return;
    };
    if chart.sigma <= 0.0 {
        return;
    }
    series.control = Some(ControlLimits {
        centre: chart.centre,
        lower: chart.lower.max(0.0),
        upper: chart.upper,
    });
    let settings = RobustSettings::of(chart.sigma, seconds.len());
    let Ok(changes) = robust_changes(&seconds, settings) else {
        return;
    };
    let ends = changes.iter().copied().chain([seconds.len()]);
    let starts = [0].into_iter().chain(changes.iter().copied());
    let levels: Vec<(usize, usize, f64)> = starts
        .zip(ends)
        .filter_map(|(from, to)| Some((from, to - from, median(seconds.get(from..to)?).ok()?)))
        .collect();
    series.changes = levels
        .iter()
        .zip(levels.iter().skip(1))
        .filter(|((_, n_before, _), (_, n_after, _))| {
            *n_before >= LEAST_BESIDE && *n_after >= LEAST_BESIDE
        })
        .map(|((_, _, before), (first_after, _, after))| LevelChange {
            first_after: *first_after,
            before: *before,
            after: *after,
        })
        .collect();
}
