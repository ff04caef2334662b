//! File 06. Proportions: Newcombe, Stat. Med. 17 (1998), Table I (81/263 Wilson S-copy, the rest M); scipy and statsmodels (C).
//! Counts: Garwood 1936 (M); scipy (C). Two rates: scipy and statsmodels (C).

use super::{CLOSED_FORM, SEARCHED, assert_near, assert_printed, rows};
use loadbook::stats::count_interval::{count_interval, count_upper_limit, rate_interval};
use loadbook::stats::interval::{Confidence, Interval};
use loadbook::stats::proportion_interval::{ProportionMethod, proportion_interval};
use loadbook::stats::two_rates::{Rate, compare_rates, e_test};

#[test]
fn intervals_of_proportions_are_those_of_the_libraries() {
    let data = rows("06_proportion_ci95.csv");
    for row in 0..data.rows.len() {
        let (k, n) = (data.count(row, "k"), data.count(row, "n"));
        for (method, name, tolerance) in [
            (ProportionMethod::Wilson, "wilson", CLOSED_FORM),
            (ProportionMethod::WilsonContinuity, "wilsoncc", CLOSED_FORM),
            (ProportionMethod::ClopperPearson, "clopper", SEARCHED),
            (ProportionMethod::MidP, "midp", SEARCHED),
            (ProportionMethod::Jeffreys, "jeffreys", SEARCHED),
        ] {
            let found = proportion_interval(k, n, method, Confidence::P95).unwrap();
            let what = format!("{name} {k}/{n}");
            let end = |end: &str| data.number(row, &format!("{name}_{end}"));
            assert_near(found.low, end("lo"), tolerance, &what);
            assert_near(found.high, end("hi"), tolerance, &what);
            // Printed with four decimals; 15/148 lies on the edge of rounding.
            if ["wilson", "clopper", "midp"].contains(&name) {
                let printed = |end: &str| data.maybe(row, &format!("pub_{name}_{end}"));
                for (found, printed) in [(found.low, printed("lo")), (found.high, printed("hi"))] {
                    if let Some(printed) = printed {
                        assert_printed(found, printed, 1e-4, &what);
                    }
                }
            }
        }
    }
}

#[test]
fn intervals_of_counts_are_garwoods() {
    let data = rows("06_poisson_garwood.csv");
    for row in 0..data.rows.len() {
        let count = data.count(row, "count");
        let confidence = Confidence::of(data.number(row, "conf")).unwrap();
        let exposure = data.number(row, "exposure");
        let what = format!("{count} at {confidence:?}");
        let near = |found: Interval, name: &str| {
            let end = |end: &str| data.number(row, &format!("{name}_{end}"));
            assert_near(found.low, end("lo"), SEARCHED, &what);
            assert_near(found.high, end("hi"), SEARCHED, &what);
        };
        near(count_interval(count, confidence).unwrap(), "count");
        near(rate_interval(count, exposure, confidence).unwrap(), "rate");
        let upper = count_upper_limit(count, confidence).unwrap() / exposure;
        assert_near(
            upper,
            data.number(row, "rate_one_sided_upper"),
            SEARCHED,
            &what,
        );
    }
}

#[test]
fn two_rates_are_compared_as_the_libraries_do() {
    let data = rows("06_two_poisson_rates.csv");
    for row in 0..data.rows.len() {
        let rate = |number: u8| Rate {
            n_events: data.count(row, &format!("k{number}")),
            exposure: data.number(row, &format!("t{number}")),
        };
        let (first, second) = (rate(1), rate(2));
        let comparison = compare_rates(first, second, Confidence::P95).unwrap();
        let what = format!("row {row}");
        let of = |column: &str| data.number(row, column);
        let exact = comparison.test.exact;
        assert_near(comparison.ratio, of("rate_ratio"), CLOSED_FORM, &what);
        let two_sided = of("p_exact_two_sided_minlik");
        assert_near(exact.two_sided, two_sided, CLOSED_FORM, &what);
        assert_near(exact.greater, of("p_greater"), CLOSED_FORM, &what);
        assert_near(exact.less, of("p_less"), CLOSED_FORM, &what);
        assert_near(exact.doubled, of("p_two_sided_doubled"), CLOSED_FORM, &what);
        // statsmodels halves the observed count alone; we halve every count as probable as it (as file 05 has it). The two
        // differ where the exact distribution is symmetric: 1 against 0 in equal times.
        let mid_p = of("p_cond_midp");
        let observed_share = exact.greater + exact.less - 1.0;
        assert_near(
            exact.two_sided - observed_share / 2.0,
            mid_p,
            CLOSED_FORM,
            &what,
        );
        let is_symmetric = first.exposure == second.exposure && first.n_events != second.n_events;
        let expected = if is_symmetric {
            mid_p - observed_share / 2.0
        } else {
            mid_p
        };
        let mid = comparison.test.mid.two_sided;
        assert_near(mid, expected, CLOSED_FORM, &what);
        assert_near(
            comparison.interval.low,
            of("ratio_ci95_lo"),
            SEARCHED,
            &what,
        );
        assert_near(
            comparison.interval.high,
            of("ratio_ci95_hi"),
            SEARCHED,
            &what,
        );
        if let Some(p) = data.maybe(row, "p_etest") {
            // Pairs as extreme as the observed one that scipy leaves out. Two zeros, whose statistic it takes as 0/0, where the
            // rates are level; and (3, 1), (1, 3) beside the observed (1, 0), which are as extreme but for rounding.
            let left_out = match (first.n_events, second.n_events) {
                (3, 3) => (-6.0_f64).exp(),
                (1, 0) => 2.0 * (-1.0_f64).exp() * 0.5_f64.powi(4) / 6.0,
                _ => 0.0,
            };
            let expected = p + left_out;
            assert_near(e_test(first, second).unwrap(), expected, SEARCHED, &what);
        }
    }
}
