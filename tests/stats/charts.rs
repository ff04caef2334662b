//! Files 01 and 02. Individuals: NIST/SEMATECH e-Handbook 6.3.2.2 (S-copy, M). CUSUM: 6.3.2.3 (M). EWMA: 6.3.2.4 (limits S-copy,
//! data M). c chart: 6.3.3.1 (S-copy, M). p chart: 6.3.3.2 (S-copy). Varying n: C, seed 2002. All recomputed (C).

use super::{CLOSED_FORM, assert_near, assert_printed, json, number, numbers, places, rows};
use loadbook::stats::attribute_chart::{
    AttributeChart, AttributeLimits, AttributePoint, CountOf, attribute_chart, count_chart,
};
use loadbook::stats::count_test::count_test;
use loadbook::stats::cusum::{CusumSettings, CusumSignal, cusum_chart};
use loadbook::stats::ewma::{EwmaLimits, EwmaSettings, ewma_chart};
use loadbook::stats::individuals::{RangeConstants, individuals_chart};

#[test]
fn flow_rates_have_the_handbooks_individuals_limits() {
    let values = rows("01_individuals_nist_flowrate.csv").column("flow_rate");
    let expected = json("01_individuals_expected.json");
    for (constants, key) in [
        (RangeConstants::Table, "table_constants"),
        (RangeConstants::Exact, "exact_constants"),
    ] {
        let chart = individuals_chart(&values, constants).unwrap();
        let of = |name: &str| number(&expected[key][name]);
        assert_near(chart.centre, of("cl"), CLOSED_FORM, key);
        assert_near(chart.lower, of("lcl"), CLOSED_FORM, key);
        assert_near(chart.upper, of("ucl"), CLOSED_FORM, key);
        assert_near(chart.range_upper, of("mr_ucl"), CLOSED_FORM, key);
        assert_near(chart.sigma, of("sigma"), CLOSED_FORM, key);
        assert_near(
            chart.moving_range,
            number(&expected["mr_bar"]),
            CLOSED_FORM,
            key,
        );
        assert_eq!(chart.outside, places(&expected["out_of_limits_indices"]));
    }
    let table = individuals_chart(&values, RangeConstants::Table).unwrap();
    let published = |name: &str| number(&expected["published"][name]);
    assert_printed(table.centre, published("mean"), 5e-3, "mean");
    assert_printed(table.moving_range, published("mr_bar"), 5e-5, "mean range");
    assert_printed(table.upper, published("ucl"), 5e-5, "upper");
    assert_printed(table.lower, published("lcl"), 5e-5, "lower");
    let median = individuals_chart(&values, RangeConstants::Median).unwrap();
    let sigma = number(&expected["sigma_from_median_mr"]);
    assert_near(
        median.moving_range,
        number(&expected["median_mr"]),
        CLOSED_FORM,
        "",
    );
    assert_near(
        median.sigma,
        sigma,
        CLOSED_FORM,
        "sigma of the median range",
    );
}

#[test]
fn cusum_signals_at_the_fourteenth_group() {
    let data = rows("02_cusum_nist.csv");
    let expected = &json("02_cusum_ewma_attribute_expected.json")["cusum"];
    let settings = CusumSettings {
        target: number(&expected["target"]),
        allowance: number(&expected["k"]),
        limit: number(&expected["h"]),
    };
    let points = cusum_chart(&data.column("x"), settings).unwrap();
    let mut signals = Vec::new();
    for (at, point) in points.iter().enumerate() {
        // The file rounds to ten decimals.
        assert!((point.high - data.number(at, "s_hi")).abs() < 1e-9, "{at}");
        assert!((point.low - data.number(at, "s_lo")).abs() < 1e-9, "{at}");
        match point.signal {
            CusumSignal::None => {}
            CusumSignal::High => signals.push(at),
            other => panic!("{at}: {other:?}"),
        }
    }
    assert_eq!(signals, places(&expected["signal_indices"]));
    assert_eq!(signals[0], 13);
    // The sum grew from the eleventh group's successor on: two groups above 0 at the signal.
    assert_eq!(points[13].n_high, 2);
    let printed = numbers(&expected["published_s_hi_last8"]);
    for (point, printed) in points[12..].iter().zip(printed) {
        assert_printed(point.high, printed, 5.1e-3, "printed sum");
    }
}

#[test]
fn ewma_stays_within_the_handbooks_limits() {
    let data = rows("02_ewma_nist.csv");
    let expected = &json("02_cusum_ewma_attribute_expected.json")["ewma"];
    let settings = EwmaSettings {
        weight: number(&expected["lam"]),
        target: number(&expected["ewma0"]),
        sigma: number(&expected["s"]),
        width: 3.0,
        limits: EwmaLimits::Asymptotic,
    };
    let values = data.column("x");
    let points = ewma_chart(&values, settings).unwrap();
    for (at, point) in points.iter().enumerate() {
        assert!((point.average - data.number(at, "ewma")).abs() < 1e-9);
        assert_printed(
            point.average,
            data.number(at, "ewma_published_2dp"),
            5e-3,
            "printed average",
        );
        assert_near(point.upper, number(&expected["ucl"]), CLOSED_FORM, "upper");
        assert_near(point.lower, number(&expected["lcl"]), CLOSED_FORM, "lower");
        assert!(!point.is_outside());
    }
    assert_printed(
        points[0].upper,
        number(&expected["published_ucl"]),
        5e-5,
        "upper",
    );
    // The handbook cuts 47.411568 off instead of rounding it.
    assert_printed(
        points[0].lower,
        number(&expected["published_lcl"]),
        1e-4,
        "lower",
    );
    let varying = EwmaSettings {
        limits: EwmaLimits::TimeVarying,
        ..settings
    };
    for (at, point) in ewma_chart(&values, varying).unwrap().iter().enumerate() {
        assert!((point.upper - data.number(at, "ucl_time_varying")).abs() < 1e-9);
        assert!((point.lower - data.number(at, "lcl_time_varying")).abs() < 1e-9);
    }
}

fn places_where(chart: &AttributeLimits, is_meant: fn(AttributePoint) -> bool) -> Vec<usize> {
    let points = chart.points.iter().enumerate();
    points
        .filter(|(_, point)| is_meant(**point))
        .map(|(at, _)| at)
        .collect()
}

#[test]
fn wafers_have_the_handbooks_count_limits() {
    let data = rows("02_cchart_nist.csv");
    let counts: Vec<u64> = (0..data.rows.len())
        .map(|row| data.count(row, "defects"))
        .collect();
    let expected = &json("02_cusum_ewma_attribute_expected.json")["cchart"];
    let chart = count_chart(&counts).unwrap();
    assert_near(chart.centre, number(&expected["cbar"]), CLOSED_FORM, "");
    assert_near(
        chart.points[0].upper,
        number(&expected["ucl"]),
        CLOSED_FORM,
        "",
    );
    assert_near(
        chart.points[0].lower,
        number(&expected["lcl"]),
        CLOSED_FORM,
        "",
    );
    assert_eq!(
        places_where(&chart, AttributePoint::is_outside),
        places(&expected["above_ucl_strict"])
    );
    assert_eq!(
        places_where(&chart, AttributePoint::is_on_or_outside),
        places(&expected["at_or_above_ucl"])
    );
    // The exact tails beside the limits: scipy (C).
    for (count, key) in [
        (28, "exact_poisson_upper_tail_c28"),
        (31, "exact_poisson_upper_tail_c31"),
    ] {
        let test = count_test(count, 16.0).unwrap();
        assert_near(test.exact.greater, number(&expected[key]), CLOSED_FORM, key);
    }
}

#[test]
fn samples_of_fifty_have_the_handbooks_fraction_limits() {
    let data = rows("02_pchart_nist.csv");
    let counts: Vec<CountOf> = (0..data.rows.len())
        .map(|row| CountOf {
            n_events: data.count(row, "defective"),
            n: data.count(row, "n"),
        })
        .collect();
    let expected = &json("02_cusum_ewma_attribute_expected.json")["pchart"];
    let chart = attribute_chart(&counts, AttributeChart::P).unwrap();
    let point = chart.points[0];
    assert_near(chart.centre, number(&expected["pbar"]), CLOSED_FORM, "");
    assert_near(point.upper, number(&expected["ucl"]), CLOSED_FORM, "");
    assert_near(point.lower, number(&expected["lcl"]), CLOSED_FORM, "");
    let published = |name: &str| number(&expected["published"][name]);
    assert_printed(chart.centre, published("pbar"), 5e-5, "centre");
    assert_printed(point.upper, published("ucl"), 5e-5, "upper");
    assert_printed(point.lower, published("lcl"), 5e-5, "lower");
    assert_eq!(
        places_where(&chart, AttributePoint::is_outside),
        places(&expected["signal_samples"])
    );
}

#[test]
fn weeks_of_different_length_have_limits_of_their_own() {
    let data = rows("02_uchart_pchart_varying_n.csv");
    let counts: Vec<CountOf> = (0..data.rows.len())
        .map(|row| CountOf {
            n_events: data.count(row, "rejections"),
            n: data.count(row, "cycles"),
        })
        .collect();
    let expected = &json("02_cusum_ewma_attribute_expected.json")["varying_n"];
    for (kind, name, signals) in [
        (AttributeChart::U, "u", "u_signals"),
        (AttributeChart::P, "p", "p_signals"),
    ] {
        let chart = attribute_chart(&counts, kind).unwrap();
        assert_near(chart.centre, number(&expected["ubar"]), CLOSED_FORM, "");
        for (row, point) in chart.points.iter().enumerate() {
            let limit = |end: &str| data.number(row, &format!("{name}_{end}"));
            assert_near(point.rate, data.number(row, "rate"), CLOSED_FORM, "rate");
            assert_near(point.upper, limit("ucl"), CLOSED_FORM, "upper");
            assert_near(point.lower, limit("lcl"), CLOSED_FORM, "lower");
        }
        assert_eq!(
            places_where(&chart, AttributePoint::is_outside),
            places(&expected[signals])
        );
    }
}
