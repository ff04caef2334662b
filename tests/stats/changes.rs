//! File 08. Nile: Cobb, Biometrika 65 (1978), data of statsmodels; "apparent changepoint near 1898" S-primary. Breaks: ruptures
//! 1.1.10 (C). Pettitt, splits: formulas (C). Welch, Mann–Whitney: scipy (C).

use super::{CLOSED_FORM, assert_near, json, number, rows};
use loadbook::stats::change_points::{best_changes, best_split, binary_changes, pelt};
use loadbook::stats::interval::Confidence;
use loadbook::stats::location::median;
use loadbook::stats::mann_whitney::mann_whitney;
use loadbook::stats::pettitt::pettitt_test;
use loadbook::stats::robust_changes::{RobustSettings, robust_changes};
use loadbook::stats::segment_cost::Cost;
use loadbook::stats::spread::noise_deviation;
use loadbook::stats::summary::{mean, standard_deviation};
use loadbook::stats::welch::welch_test;
use serde_json::Value;

const SERIES: [(&str, &str, &str); 3] = [
    ("nile", "08_nile.csv", "volume"),
    ("three_segments", "08_three_segments.csv", "value"),
    ("no_change", "08_no_change.csv", "value"),
];

/// The breaks of ruptures without the last, which is the number of values.
fn breaks(value: &Value) -> Vec<usize> {
    let breaks = value.as_array().unwrap();
    breaks[..breaks.len() - 1]
        .iter()
        .map(|at| at.as_u64().unwrap() as usize)
        .collect()
}

#[test]
fn pettitt_and_the_best_split_are_those_of_the_formulas() {
    let expected = json("08_changepoint_expected.json");
    for (name, file, column) in SERIES {
        let values = rows(file).column(column);
        let of = |key: &str| number(&expected[name]["pettitt"][key]);
        let test = pettitt_test(&values).unwrap();
        assert_eq!(test.u, of("U_signed"), "{name}");
        assert_eq!(test.u.abs(), of("K"), "{name}");
        assert_eq!(test.n_before as f64, of("change_after_index_1based"));
        assert_near(test.p, of("p_approx"), CLOSED_FORM, name);
        let of = |key: &str| number(&expected[name]["best_single_split"][key]);
        let split = best_split(&values, Cost::Squares, 1).unwrap();
        assert_eq!(split.n_before as f64, of("n_before"), "{name}");
        assert_near(split.cost_split, of("sse_split"), CLOSED_FORM, name);
        assert_near(split.cost_whole, of("sse_total"), CLOSED_FORM, name);
        let (before, after) = values.split_at(split.n_before);
        assert_near(mean(before).unwrap(), of("mean_before"), CLOSED_FORM, name);
        assert_near(mean(after).unwrap(), of("mean_after"), CLOSED_FORM, name);
        let reduction = split.cost_whole - split.cost_split;
        assert_near(reduction, of("reduction"), CLOSED_FORM, name);
    }
}

#[test]
fn segments_are_those_of_ruptures() {
    let expected = json("08_changepoint_expected.json");
    for (name, file, column) in SERIES {
        let values = rows(file).column(column);
        let library = &expected[name]["ruptures"];
        for (penalty, at) in library["pelt_l2"].as_object().unwrap() {
            let changes = pelt(&values, Cost::Squares, 2, penalty.parse().unwrap()).unwrap();
            assert_eq!(changes, breaks(at), "{name} at {penalty}");
        }
        for (n_changes, at) in library["dynp_l2"].as_object().unwrap() {
            let n = n_changes.parse().unwrap();
            let (changes, cost) = best_changes(&values, Cost::Squares, 2, n).unwrap();
            assert_eq!(changes, breaks(at), "{name} {n}");
            let expected_cost = number(&library["dynp_l2_cost"][n_changes]);
            assert_near(cost, expected_cost, CLOSED_FORM, name);
        }
        for (n_changes, at) in library["binseg_l2"].as_object().unwrap() {
            let n = n_changes.parse().unwrap();
            let changes = binary_changes(&values, Cost::Squares, 2, n).unwrap();
            assert_eq!(changes, breaks(at), "{name} {n}");
        }
    }
}

#[test]
fn robust_costs_find_the_same_steps() {
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
    let nile = rows("08_nile.csv").column("volume");
    let (biweight, distances, ranks) = find(&nile);
    assert_eq!((biweight, distances, ranks), (vec![28], vec![28], vec![28]));
    let (biweight, distances, ranks) = find(&rows("08_no_change.csv").column("value"));
    assert_eq!((biweight, distances, ranks), (vec![], vec![], vec![]));
    let mut three = rows("08_three_segments.csv").column("value");
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

#[test]
fn nile_before_and_after_differs_as_scipy_says() {
    let expected = &json("08_changepoint_expected.json")["nile"];
    let data = rows("08_nile.csv");
    let values = data.column("volume");
    let (before, after) = values.split_at(28);
    let last_year = data.count(27, "year");
    assert_eq!(last_year as f64, number(&expected["last_year_before"]));
    assert_near(
        mean(&values).unwrap(),
        number(&expected["mean"]),
        CLOSED_FORM,
        "mean",
    );
    let deviation = standard_deviation(&values).unwrap();
    assert_near(deviation, number(&expected["sd"]), CLOSED_FORM, "sd");
    let welch = welch_test(before, after, Confidence::P95).unwrap();
    let expected_welch = &expected["welch_t_before_after"];
    assert_near(welch.t, number(&expected_welch[0]), CLOSED_FORM, "t");
    assert_near(welch.p, number(&expected_welch[1]), CLOSED_FORM, "p");
    // scipy counts pairs in which the first sample is larger.
    let test = mann_whitney(after, before).unwrap();
    assert_eq!(test.u, number(&expected["mannwhitney_U"]));
    let p = number(&expected["mannwhitney_p"]);
    assert_near(test.p_normal, p, CLOSED_FORM, "p");
}

#[test]
fn noise_around_steps_is_that_of_the_formula() {
    let expected = &json("08_changepoint_expected.json")["three_segments"];
    let values = rows("08_three_segments.csv").column("value");
    let sigma = number(&expected["sigma_from_median_abs_diff"]);
    assert_near(noise_deviation(&values).unwrap(), sigma, CLOSED_FORM, "");
}
