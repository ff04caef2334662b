//! File 04 (C): pymannkendall 1.4.3 (original, Hamed–Rao, Yue–Wang) and scipy 1.17.1 (theilslopes, kendalltau) on seven series.

use super::{CLOSED_FORM, SEARCHED, assert_near, json, number, numbers, rows};
use loadbook::stats::interval::Confidence;
use loadbook::stats::mann_kendall::mann_kendall;
use loadbook::stats::normal::normal_two_sided;
use loadbook::stats::serial_correlation::{Correction, SHORTEST, variance_factor};
use loadbook::stats::theil_sen::theil_sen;

const SERIES: [&str; 7] = [
    "n12_monthly_minutes",
    "tied12",
    "flat10_all_tied_but_one",
    "n200_trend_noise",
    "n200_no_trend",
    "n200_ar1_no_trend",
    "n200_whole_minutes_ties",
];

fn series(name: &str) -> Vec<f64> {
    rows("04_trend_series.csv").series("series", name, "value")
}

#[test]
fn mann_kendall_is_that_of_the_reference_library() {
    let expected = json("04_trend_expected.json");
    for name in SERIES {
        let of = |key: &str| number(&expected[name][key]);
        let test = mann_kendall(&series(name)).unwrap();
        assert_eq!(test.n as f64, of("n"));
        assert_eq!(test.s, of("mk_S"), "{name}");
        assert_near(test.variance, of("mk_var_S"), CLOSED_FORM, name);
        assert_near(test.z, of("mk_z"), CLOSED_FORM, name);
        // The library takes the tail as 1 − Φ, which leaves 1e-16 of the p.
        assert!((test.p_normal - of("mk_p_two_sided")).abs() < 1e-9 * test.p_normal + 3e-16);
        assert_near(test.tau_a, of("mk_tau_a"), CLOSED_FORM, name);
        assert_near(test.tau_b, of("kendall_tau_b"), CLOSED_FORM, name);
        // scipy's normal p has no continuity correction.
        let p = normal_two_sided(test.s / test.variance.sqrt());
        assert_near(p, of("kendall_p_asymptotic"), CLOSED_FORM, name);
        match expected[name].get("kendall_p_exact") {
            Some(exact) => {
                assert_near(test.p(), number(exact), CLOSED_FORM, name);
                assert_near(test.p(), of("kendall_p_auto"), CLOSED_FORM, name);
            }
            None => assert_eq!(test.p_exact, None),
        }
    }
}

#[test]
fn theil_sen_is_that_of_the_reference_libraries() {
    let expected = json("04_trend_expected.json");
    for name in SERIES {
        let values = series(name);
        let times: Vec<f64> = (0..values.len()).map(|t| t as f64).collect();
        let of = |key: &str| number(&expected[name][key]);
        for (confidence, key) in [
            (Confidence::P95, "theil_slope_ci95"),
            (Confidence::P90, "theil_slope_ci90"),
        ] {
            let line = theil_sen(&times, &values, confidence).unwrap();
            assert_near(line.slope, of("sen_slope"), CLOSED_FORM, name);
            assert_near(line.slope, of("theil_slope"), CLOSED_FORM, name);
            assert_near(line.intercept, of("sen_intercept"), CLOSED_FORM, name);
            assert_near(line.intercept, of("theil_intercept"), CLOSED_FORM, name);
            // Same ranks as scipy, so the neighbouring slope that the notes allow is not needed.
            let ends = numbers(&expected[name][key]);
            assert_near(line.interval.low, ends[0], CLOSED_FORM, name);
            assert_near(line.interval.high, ends[1], CLOSED_FORM, name);
        }
    }
}

#[test]
fn autocorrelation_factors_are_the_librarys_and_those_for_use_are_at_least_one() {
    let expected = json("04_trend_expected.json");
    for name in SERIES {
        let values = series(name);
        let test = mann_kendall(&values).unwrap();
        for (correction, key) in [
            (Correction::HamedRao { n_lags: usize::MAX }, "hamed_rao"),
            (Correction::HamedRao { n_lags: 3 }, "hamed_rao_lag3"),
            (Correction::YueWang, "yue_wang"),
        ] {
            let of = |field: &str| number(&expected[name][key][field]);
            let factor = variance_factor(&values, correction).unwrap();
            let what = format!("{name} {key}");
            assert_near(factor.raw * test.variance, of("var_S"), CLOSED_FORM, &what);
            let (z, p) = test.with_variance_factor(factor.raw).unwrap();
            assert_near(z, of("z"), CLOSED_FORM, &what);
            assert!((p - of("p")).abs() < 1e-9 * p + 3e-16, "{what}");
            // What the project uses: nothing for short series, never below 1.
            if values.len() < SHORTEST {
                assert_eq!(factor.used, None, "{what}");
            } else {
                assert_eq!(factor.used, Some(factor.raw.max(1.0)), "{what}");
                let (used_z, _) = test.with_variance_factor(factor.used.unwrap()).unwrap();
                assert!(used_z.abs() <= test.z.abs(), "{what}");
            }
        }
    }
}

#[test]
fn short_series_does_not_get_a_p_of_zero() {
    // The trap: the library's correction of 0.061 makes an honest 2.8e-4 into p = 0.
    let values = series("n12_monthly_minutes");
    let factor = variance_factor(&values, Correction::HamedRao { n_lags: usize::MAX }).unwrap();
    assert!(factor.raw < 0.1 && factor.used.is_none());
    assert_near(
        mann_kendall(&values).unwrap().p(),
        4.4129288920955584e-5,
        SEARCHED,
        "exact p",
    );
}

#[test]
fn first_three_lags_see_a_first_order_process() {
    // Theory for φ = 0.6 is about (1 + φ) / (1 − φ) = 4; all lags give 1.16, three lags 3.06.
    let values = series("n200_ar1_no_trend");
    let factor = variance_factor(&values, Correction::HamedRao { n_lags: 3 }).unwrap();
    assert!((2.0..6.0).contains(&factor.used.unwrap()));
}
