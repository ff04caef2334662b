//! Nile: Cobb, Biometrika 65 (1978), data of statsmodels; "apparent changepoint near 1898" S-primary. The other two series are
//! synthetic, with steps planted at 40 and 75, and with none.

use loadbook::selftest::reference::References;
use loadbook::stats::change_points::pelt;
use loadbook::stats::location::median;
use loadbook::stats::robust_changes::{RobustSettings, robust_changes};
use loadbook::stats::segment_cost::Cost;
use loadbook::stats::spread::noise_deviation;

#[test]
fn robust_costs_find_the_same_steps() {
    let references = References::embedded();
    // The places are the published and planted ones (1898; 40 and 75), not the method's own.
    let find = |values: &[f64]| {
        let n = values.len() as f64;
        let sigma = noise_deviation(values).unwrap();
        let biweight = robust_changes(values, RobustSettings::of(sigma, values.len())).unwrap();
        // Mean distance of normal noise: σ √(2/π); twice Schwarz's penalty, in the cost's own unit.
        let scale = sigma * (2.0 / std::f64::consts::PI).sqrt();
        let distances = pelt(values, Cost::Distances, 2, 2.0 * scale * n.ln()).unwrap();
        let rank_variance = (n * n - 1.0) / 12.0;
        let ranks = pelt(values, Cost::RankSquares, 2, 2.0 * rank_variance * n.ln()).unwrap();
        (biweight, distances, ranks)
    };
    let nile = references
        .rows("stats/08_nile.csv")
        .column("volume")
        .unwrap();
    let (biweight, distances, ranks) = find(&nile);
    assert_eq!((biweight, distances, ranks), (vec![28], vec![28], vec![28]));
    let (biweight, distances, ranks) = find(
        &references
            .rows("stats/08_no_change.csv")
            .column("value")
            .unwrap(),
    );
    assert_eq!((biweight, distances, ranks), (vec![], vec![], vec![]));
    let mut three = references
        .rows("stats/08_three_segments.csv")
        .column("value")
        .unwrap();
    // Two values far out, inside segments: the steps stay where they were planted.
    let centre = median(&three).unwrap();
    three[20] = centre + 500.0;
    three[100] = centre - 500.0;
    let (biweight, _, _) = find(&three);
    assert_eq!(biweight.len(), 2, "{biweight:?}");
    for (found, planted) in biweight.iter().zip([40, 75]) {
        assert!(found.abs_diff(planted) <= 2, "{biweight:?}");
    }
}
