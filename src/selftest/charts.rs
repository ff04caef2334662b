//! Control charts: NIST/SEMATECH e-Handbook 6.3.2 and 6.3.3, and limits with varying n.

use super::case::{Cases, Within};
use super::reference::{References, Rows, Tree};
use crate::judge::rulebook::Known;
use crate::stats::attribute_chart::{
    AttributeChart, AttributeLimits, AttributePoint, CountOf, attribute_chart, count_chart,
};
use crate::stats::count_test::count_test;
use crate::stats::cusum::{CusumSettings, CusumSignal, cusum_chart};
use crate::stats::ewma::{EwmaLimits, EwmaSettings, ewma_chart};
use crate::stats::individuals::{RangeConstants, individuals_chart};

const EXPECTED: &str = "stats/02_cusum_ewma_attribute_expected.json";

/// Runs the cases.
pub fn run(references: &References, cases: &mut Cases) {
    individuals(references, cases);
    cusum(references, cases);
    ewma(references, cases);
    counts(references, cases);
    fractions(references, cases);
    varying_n(references, cases);
}

fn individuals(references: &References, cases: &mut Cases) {
    let data = references.rows("stats/01_individuals_nist_flowrate.csv");
    let expected = references.json("stats/01_individuals_expected.json");
    let expected = Tree(&expected);
    for (name, constants, key) in [
        (
            "individuals chart of ten flow rates, tabled constants",
            RangeConstants::Table,
            "table_constants",
        ),
        (
            "the same with exact constants",
            RangeConstants::Exact,
            "exact_constants",
        ),
    ] {
        let source = "e-Handbook 6.3.2.2, recomputed in Python";
        cases.add(name, source, Known::Calculated, |case| {
            let limits = individuals_chart(&data.column("flow_rate")?, constants);
            let chart = case.answer("chart", limits)?;
            let of = expected.of(key)?;
            let within = Within::CLOSED_FORM;
            case.near("centre", chart.centre, of.number("cl"), within);
            case.near("lower limit", chart.lower, of.number("lcl"), within);
            case.near("upper limit", chart.upper, of.number("ucl"), within);
            let upper = of.number("mr_ucl");
            case.near("upper limit of ranges", chart.range_upper, upper, within);
            case.near("sigma", chart.sigma, of.number("sigma"), within);
            let range = expected.number("mr_bar");
            case.near("mean moving range", chart.moving_range, range, within);
            let outside = expected.places("out_of_limits_indices")?;
            case.same("outside the limits", chart.outside, outside);
            Some(())
        });
    }
    let source = "NIST/SEMATECH e-Handbook 6.3.2.2, as printed (limits seen in a copy)";
    let name = "individuals chart of ten flow rates, as printed";
    cases.add(name, source, Known::Seen, |case| {
        let limits = individuals_chart(&data.column("flow_rate")?, RangeConstants::Table);
        let chart = case.answer("chart", limits)?;
        let of = expected.of("published")?;
        case.near("mean", chart.centre, of.number("mean"), Within::of(5e-3));
        let printed = Within::of(5e-5);
        let range = of.number("mr_bar");
        case.near("mean moving range", chart.moving_range, range, printed);
        case.near("upper limit", chart.upper, of.number("ucl"), printed);
        case.near("lower limit", chart.lower, of.number("lcl"), printed);
        Some(())
    });
    let name = "sigma by the median moving range";
    cases.add(name, "formula, Python", Known::Calculated, |case| {
        let limits = individuals_chart(&data.column("flow_rate")?, RangeConstants::Median);
        let chart = case.answer("chart", limits)?;
        let range = expected.number("median_mr");
        let within = Within::CLOSED_FORM;
        case.near("median moving range", chart.moving_range, range, within);
        let sigma = expected.number("sigma_from_median_mr");
        case.near("sigma", chart.sigma, sigma, within);
        Some(())
    });
}

fn cusum(references: &References, cases: &mut Cases) {
    let data = references.rows("stats/02_cusum_nist.csv");
    let expected = references.json(EXPECTED);
    let expected = Tree(&expected);
    let chart = || {
        let of = expected.of("cusum")?;
        let settings = CusumSettings {
            target: of.number("target")?,
            allowance: of.number("k")?,
            limit: of.number("h")?,
        };
        Some(cusum_chart(&data.column("x")?, settings))
    };
    let source = "e-Handbook 6.3.2.3, recomputed in Python";
    let name = "CUSUM of twenty groups signals at the fourteenth";
    cases.add(name, source, Known::Calculated, |case| {
        let points = case.answer("chart", chart()?)?;
        let mut signals = Vec::new();
        for ((at, point), row) in points.iter().enumerate().zip(data.iter()) {
            // The file rounds to ten decimals.
            let within = Within::of(1e-9);
            let group = at.saturating_add(1);
            let (high, low) = (row.number("s_hi"), row.number("s_lo"));
            case.near(format!("upper sum {group}"), point.high, high, within);
            case.near(format!("lower sum {group}"), point.low, low, within);
            if point.signal != CusumSignal::None {
                signals.push(at);
            }
        }
        let is_high = |at: &usize| points.get(*at).map(|point| point.signal);
        let all_high = signals
            .iter()
            .all(|at| is_high(at) == Some(CusumSignal::High));
        case.holds("every signal is upward", all_high);
        case.same(
            "signals",
            signals,
            expected.of("cusum")?.places("signal_indices")?,
        );
        // The sum grew from the eleventh group's successor on: two groups above 0 at the signal.
        case.same("groups above 0 at the signal", points.get(13)?.n_high, 2);
        Some(())
    });
    let source = "NIST/SEMATECH e-Handbook 6.3.2.3, printed column";
    let name = "CUSUM of twenty groups, as printed";
    cases.add(name, source, Known::Memory, |case| {
        let points = case.answer("chart", chart()?)?;
        let printed = expected.of("cusum")?.numbers("published_s_hi_last8")?;
        for (point, printed) in points.iter().skip(12).zip(printed) {
            case.near("upper sum", point.high, printed, Within::of(5.1e-3));
        }
        Some(())
    });
}

fn ewma(references: &References, cases: &mut Cases) {
    let data = references.rows("stats/02_ewma_nist.csv");
    let expected = references.json(EXPECTED);
    let expected = Tree(&expected);
    let chart = |limits| {
        let of = expected.of("ewma")?;
        let settings = EwmaSettings {
            weight: of.number("lam")?,
            target: of.number("ewma0")?,
            sigma: of.number("s")?,
            width: 3.0,
            limits,
        };
        Some(ewma_chart(&data.column("x")?, settings))
    };
    let source = "e-Handbook 6.3.2.4, recomputed in Python";
    let name = "EWMA of twenty values stays within its limits";
    cases.add(name, source, Known::Calculated, |case| {
        let of = expected.of("ewma")?;
        let points = case.answer("chart", chart(EwmaLimits::Asymptotic)?)?;
        for (point, row) in points.iter().zip(data.iter()) {
            let average = row.number("ewma");
            case.near("average", point.average, average, Within::of(1e-9));
            let within = Within::CLOSED_FORM;
            case.near("upper limit", point.upper, of.number("ucl"), within);
            case.near("lower limit", point.lower, of.number("lcl"), within);
            case.holds("it lies within the limits", !point.is_outside());
        }
        Some(())
    });
    let name = "EWMA with limits that vary with time";
    cases.add(name, source, Known::Calculated, |case| {
        let points = case.answer("chart", chart(EwmaLimits::TimeVarying)?)?;
        for (point, row) in points.iter().zip(data.iter()) {
            let (upper, lower) = ("ucl_time_varying", "lcl_time_varying");
            let within = Within::of(1e-9);
            case.near("upper limit", point.upper, row.number(upper), within);
            case.near("lower limit", point.lower, row.number(lower), within);
        }
        Some(())
    });
    let source = "NIST/SEMATECH e-Handbook 6.3.2.4, as printed (limits seen in a copy, averages from memory)";
    cases.add(
        "EWMA of twenty values, as printed",
        source,
        Known::Memory,
        |case| {
            let of = expected.of("ewma")?;
            let points = case.answer("chart", chart(EwmaLimits::Asymptotic)?)?;
            for (point, row) in points.iter().zip(data.iter()) {
                let printed = row.number("ewma_published_2dp");
                case.near("average", point.average, printed, Within::of(5e-3));
            }
            let first = points.first()?;
            let (upper, lower) = (of.number("published_ucl"), of.number("published_lcl"));
            case.near("upper limit", first.upper, upper, Within::of(5e-5));
            // The handbook cuts 47.411568 off instead of rounding it.
            case.near("lower limit", first.lower, lower, Within::of(1e-4));
            Some(())
        },
    );
}

fn places_where(chart: &AttributeLimits, is_meant: fn(AttributePoint) -> bool) -> Vec<usize> {
    let points = chart.points.iter().enumerate();
    points
        .filter(|(_, point)| is_meant(**point))
        .map(|(at, _)| at)
        .collect()
}

fn counts(references: &References, cases: &mut Cases) {
    let data = references.rows("stats/02_cchart_nist.csv");
    let expected = references.json(EXPECTED);
    let expected = Tree(&expected);
    let source = "NIST/SEMATECH e-Handbook 6.3.3.1 (seen in a copy)";
    let name = "c chart of 25 wafers; one lies on the limit";
    cases.add(name, source, Known::Seen, |case| {
        let counts: Option<Vec<u64>> = data.iter().map(|row| row.count("defects")).collect();
        let chart = case.answer("chart", count_chart(&counts?))?;
        let of = expected.of("cchart")?;
        let within = Within::CLOSED_FORM;
        let first = chart.points.first()?;
        case.near("centre", chart.centre, of.number("cbar"), within);
        case.near("upper limit", first.upper, of.number("ucl"), within);
        case.near("lower limit", first.lower, of.number("lcl"), within);
        let outside = places_where(&chart, AttributePoint::is_outside);
        case.same("outside", outside, of.places("above_ucl_strict")?);
        let on = places_where(&chart, AttributePoint::is_on_or_outside);
        case.same("on the limit or outside", on, of.places("at_or_above_ucl")?);
        Some(())
    });
    let name = "exact tails beside the limits of a c chart";
    cases.add(name, "scipy 1.17.1", Known::Calculated, |case| {
        for (count, key) in [
            (28, "exact_poisson_upper_tail_c28"),
            (31, "exact_poisson_upper_tail_c31"),
        ] {
            let test = case.answer("test", count_test(count, 16.0))?;
            let tail = expected.of("cchart")?.number(key);
            let what = format!("P(at least {count})");
            case.near(what, test.exact.greater, tail, Within::CLOSED_FORM);
        }
        Some(())
    });
}

fn counts_of(data: &Rows, n_events: &str, n: &str) -> Option<Vec<CountOf>> {
    data.iter()
        .map(|row| {
            Some(CountOf {
                n_events: row.count(n_events)?,
                n: row.count(n)?,
            })
        })
        .collect()
}

fn fractions(references: &References, cases: &mut Cases) {
    let data = references.rows("stats/02_pchart_nist.csv");
    let expected = references.json(EXPECTED);
    let expected = Tree(&expected);
    for (name, source, known, is_printed) in [
        (
            "p chart of thirty samples of fifty",
            "e-Handbook 6.3.3.2, recomputed in Python",
            Known::Calculated,
            false,
        ),
        (
            "p chart of thirty samples of fifty, as printed",
            "NIST/SEMATECH e-Handbook 6.3.3.2 (seen in a copy)",
            Known::Seen,
            true,
        ),
    ] {
        cases.add(name, source, known, |case| {
            let counts = counts_of(&data, "defective", "n")?;
            let limits = attribute_chart(&counts, AttributeChart::P);
            let chart = case.answer("chart", limits)?;
            let point = chart.points.first()?;
            let all = expected.of("pchart")?;
            let (of, within) = match is_printed {
                true => (all.of("published")?, Within::of(5e-5)),
                false => (all, Within::CLOSED_FORM),
            };
            case.near("centre", chart.centre, of.number("pbar"), within);
            case.near("upper limit", point.upper, of.number("ucl"), within);
            case.near("lower limit", point.lower, of.number("lcl"), within);
            let outside = places_where(&chart, AttributePoint::is_outside);
            case.same("signals", outside, all.places("signal_samples")?);
            Some(())
        });
    }
}

fn varying_n(references: &References, cases: &mut Cases) {
    let data = references.rows("stats/02_uchart_pchart_varying_n.csv");
    let expected = references.json(EXPECTED);
    let expected = Tree(&expected);
    for (name, kind, letter) in [
        (
            "u chart of weeks with different numbers",
            AttributeChart::U,
            "u",
        ),
        (
            "p chart of weeks with different numbers",
            AttributeChart::P,
            "p",
        ),
    ] {
        cases.add(name, "formula, Python", Known::Calculated, |case| {
            let counts = counts_of(&data, "rejections", "cycles")?;
            let chart = case.answer("chart", attribute_chart(&counts, kind))?;
            let of = expected.of("varying_n")?;
            let within = Within::CLOSED_FORM;
            case.near("centre", chart.centre, of.number("ubar"), within);
            for (point, row) in chart.points.iter().zip(data.iter()) {
                let limit = |end: &str| row.number(&format!("{letter}_{end}"));
                case.near("rate", point.rate, row.number("rate"), within);
                case.near("upper limit", point.upper, limit("ucl"), within);
                case.near("lower limit", point.lower, limit("lcl"), within);
            }
            let outside = places_where(&chart, AttributePoint::is_outside);
            case.same("signals", outside, of.places(&format!("{letter}_signals"))?);
            Some(())
        });
    }
}
