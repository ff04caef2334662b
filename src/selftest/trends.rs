//! Mann–Kendall, Theil–Sen, and what autocorrelation does to them, on seven series.

use super::case::{Case, Cases, Within};
use super::reference::{References, Tree};
use crate::judge::rulebook::Known;
use crate::stats::interval::Confidence;
use crate::stats::mann_kendall::mann_kendall;
use crate::stats::normal::normal_two_sided;
use crate::stats::serial_correlation::{Correction, SHORTEST, variance_factor};
use crate::stats::theil_sen::theil_sen;

/// Runs the cases.
pub fn run(references: &References, cases: &mut Cases) {
    let file = references.json("stats/04_trend_expected.json");
    let data = references.rows("stats/04_trend_series.csv");
    for (name, expected) in Tree(&file).entries() {
        let series = || data.series("series", name, "value");
        cases.add(
            format!("Mann–Kendall and Kendall's tau: {name}"),
            "pymannkendall 1.4.3; scipy 1.17.1",
            Known::Calculated,
            |case| check_mann_kendall(case, &series()?, expected),
        );
        cases.add(
            format!("Theil–Sen line: {name}"),
            "pymannkendall 1.4.3; scipy 1.17.1",
            Known::Calculated,
            |case| check_theil_sen(case, &series()?, expected),
        );
        cases.add(
            format!("correction for autocorrelation: {name}"),
            "pymannkendall 1.4.3: Hamed–Rao, Yue–Wang",
            Known::Calculated,
            |case| check_corrections(case, &series()?, expected),
        );
    }
}

fn check_mann_kendall(case: &mut Case, values: &[f64], expected: Tree<'_>) -> Option<()> {
    let test = case.answer("test", mann_kendall(values))?;
    let of = |key: &str| expected.number(key);
    let within = Within::CLOSED_FORM;
    case.near("n", test.n as f64, of("n"), Within::of(0.0));
    case.near("S", test.s, of("mk_S"), Within::of(0.0));
    case.near("variance of S", test.variance, of("mk_var_S"), within);
    case.near("z", test.z, of("mk_z"), within);
    case.near("p", test.p_normal, of("mk_p_two_sided"), Within::TAIL);
    case.near("tau a", test.tau_a, of("mk_tau_a"), within);
    case.near("tau b", test.tau_b, of("kendall_tau_b"), within);
    // scipy's normal p has no continuity correction.
    let p = normal_two_sided(test.s / test.variance.sqrt());
    case.near(
        "p without correction",
        p,
        of("kendall_p_asymptotic"),
        within,
    );
    if expected.lacks("kendall_p_exact") {
        case.same("exact p", test.p_exact, None);
    } else {
        case.near("exact p", test.p(), of("kendall_p_exact"), within);
        case.near(
            "p of scipy's choice",
            test.p(),
            of("kendall_p_auto"),
            within,
        );
    }
    Some(())
}

fn check_theil_sen(case: &mut Case, values: &[f64], expected: Tree<'_>) -> Option<()> {
    let times: Vec<f64> = (0..values.len()).map(|t| t as f64).collect();
    let of = |key: &str| expected.number(key);
    let within = Within::CLOSED_FORM;
    for (confidence, key) in [
        (Confidence::P95, "theil_slope_ci95"),
        (Confidence::P90, "theil_slope_ci90"),
    ] {
        let line = case.answer("line", theil_sen(&times, values, confidence))?;
        case.near("slope", line.slope, of("sen_slope"), within);
        case.near("slope by scipy", line.slope, of("theil_slope"), within);
        case.near("intercept", line.intercept, of("sen_intercept"), within);
        let by_scipy = of("theil_intercept");
        case.near("intercept by scipy", line.intercept, by_scipy, within);
        // Same ranks as scipy, so the neighbouring slope that the notes allow is not needed.
        let ends = expected.numbers(key)?;
        let (low, high) = (ends.first().copied(), ends.get(1).copied());
        case.near("lower end of the slope", line.interval.low, low, within);
        case.near("upper end of the slope", line.interval.high, high, within);
    }
    Some(())
}

fn check_corrections(case: &mut Case, values: &[f64], expected: Tree<'_>) -> Option<()> {
    let test = case.answer("test", mann_kendall(values))?;
    for (correction, key) in [
        (Correction::HamedRao { n_lags: usize::MAX }, "hamed_rao"),
        (Correction::HamedRao { n_lags: 3 }, "hamed_rao_lag3"),
        (Correction::YueWang, "yue_wang"),
    ] {
        let of = expected.of(key)?;
        let factor = case.answer(key, variance_factor(values, correction))?;
        let variance = factor.raw * test.variance;
        let within = Within::CLOSED_FORM;
        case.near(
            format!("{key}: variance"),
            variance,
            of.number("var_S"),
            within,
        );
        let (z, p) = case.answer(key, test.with_variance_factor(factor.raw))?;
        case.near(format!("{key}: z"), z, of.number("z"), within);
        case.near(format!("{key}: p"), p, of.number("p"), Within::TAIL);
        // What the project uses, as its README decides: nothing for short series, never below 1.
        let used = (values.len() >= SHORTEST).then(|| factor.raw.max(1.0));
        case.same(format!("{key}: factor in use"), factor.used, used);
    }
    Some(())
}
