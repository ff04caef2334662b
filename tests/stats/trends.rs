//! Series of `04_trend_series.csv`: what autocorrelation does to a trend, and what its correction must not do.

use loadbook::selftest::reference::References;
use loadbook::stats::mann_kendall::mann_kendall;
use loadbook::stats::serial_correlation::{Correction, variance_factor};

fn series(name: &str) -> Vec<f64> {
    let rows = References::embedded().rows("stats/04_trend_series.csv");
    rows.series("series", name, "value").unwrap()
}

#[test]
fn short_series_does_not_get_a_p_of_zero() {
    // The trap: the library's correction of 0.061 makes an honest 2.8e-4 into p = 0.
    let values = series("n12_monthly_minutes");
    let factor = variance_factor(&values, Correction::HamedRao { n_lags: usize::MAX }).unwrap();
    assert!(factor.raw < 0.1 && factor.used.is_none());
    // scipy 1.17.1, kendalltau, exact (C).
    let p = mann_kendall(&values).unwrap().p();
    assert!((p / 4.412_928_892_095_558_4e-5 - 1.0).abs() < 1e-7);
}

#[test]
fn first_three_lags_see_a_first_order_process() {
    // Theory for φ = 0.6 is about (1 + φ) / (1 − φ) = 4; all lags give 1.16, three lags 3.06.
    let values = series("n200_ar1_no_trend");
    let factor = variance_factor(&values, Correction::HamedRao { n_lags: 3 }).unwrap();
    assert!((2.0..6.0).contains(&factor.used.unwrap()));
}
