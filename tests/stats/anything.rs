//! Whatever the numbers: no panic, and no answer that isn't a number. The answers themselves are checked elsewhere.

use loadbook::stats::attribute_chart::{AttributeChart, CountOf, attribute_chart, count_chart};
use loadbook::stats::barnard::barnard_test;
use loadbook::stats::change_points::{best_changes, best_split, binary_changes, pelt};
use loadbook::stats::count_interval::{count_upper_limit, rate_interval};
use loadbook::stats::count_test::count_test;
use loadbook::stats::cusum::{CusumSettings, cusum_chart};
use loadbook::stats::ewma::{EwmaLimits, EwmaSettings, ewma_chart};
use loadbook::stats::fisher::{TwoByTwo, fisher_test};
use loadbook::stats::forecast::{Covering, Limit, TrendLine, least_squares_line, robust_line};
use loadbook::stats::hodges_lehmann::{hodges_lehmann, hodges_lehmann_shift};
use loadbook::stats::homogeneity::homogeneity_test;
use loadbook::stats::individuals::{RangeConstants, individuals_chart};
use loadbook::stats::interval::Confidence;
use loadbook::stats::location::{median, quantile, trimmed_mean};
use loadbook::stats::mann_kendall::mann_kendall;
use loadbook::stats::mann_whitney::mann_whitney;
use loadbook::stats::mantel_haenszel::{cochran_mantel_haenszel, pooled_odds_ratio};
use loadbook::stats::multiplicity::{Adjustment, adjust_p_values};
use loadbook::stats::pettitt::pettitt_test;
use loadbook::stats::posterior::{Prior, Trials, probability_of_ratio, rate_posterior};
use loadbook::stats::proportion_interval::{ProportionMethod, proportion_interval};
use loadbook::stats::proportion_test::proportion_test;
use loadbook::stats::reason::Reason;
use loadbook::stats::robust_changes::{RobustSettings, robust_changes};
use loadbook::stats::run_rules::{RunRule, find_runs};
use loadbook::stats::scan::{MonteCarlo, ScanPeriod, scan};
use loadbook::stats::segment_cost::Cost;
use loadbook::stats::serial_correlation::{Correction, variance_factor};
use loadbook::stats::spread::{
    interquartile_range, median_absolute_deviation, modified_z, noise_deviation,
};
use loadbook::stats::stratified_exact::stratified_exact_test;
use loadbook::stats::summary::{autocorrelation, mean, standard_deviation};
use loadbook::stats::theil_sen::theil_sen;
use loadbook::stats::two_rates::{Rate, compare_rates, e_test};
use loadbook::stats::welch::welch_test;
use proptest::prelude::*;
use std::fmt::Debug;

/// An answer may hold an infinite end, but never a NaN.
#[track_caller]
fn look<T: Debug>(answer: Result<T, Reason>) {
    let text = format!("{answer:?}");
    assert!(!text.contains("NaN"), "{text}");
}

fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => -50.0..50.0_f64,
        4 => (-4..5_i32).prop_map(f64::from),
        1 => any::<f64>(),
        1 => prop_oneof![
            Just(f64::NAN), Just(f64::INFINITY), Just(f64::NEG_INFINITY), Just(f64::MAX),
            Just(f64::MIN), Just(f64::MIN_POSITIVE), Just(5e-324), Just(-0.0), Just(1e150),
        ],
    ]
}

fn any_values() -> impl Strategy<Value = Vec<f64>> {
    prop_oneof![
        proptest::collection::vec(any_number(), 0..30),
        proptest::collection::vec(-9.0..9.0_f64, 0..30),
        proptest::collection::vec(any::<f64>(), 0..6),
        (any_number(), 0..30_usize).prop_map(|(value, n)| vec![value; n]),
    ]
}

fn any_count() -> impl Strategy<Value = u64> {
    prop_oneof![8 => 0..9_u64, 2 => 0..300_u64, 1 => any::<u64>()]
}

fn any_confidence() -> impl Strategy<Value = Confidence> {
    prop_oneof![
        Just(Confidence::P90),
        Just(Confidence::P99),
        Just(Confidence::of(1.0 - 1e-16).unwrap()),
        Just(Confidence::of(1e-9).unwrap()),
    ]
}

fn look_at_line(line: Result<TrendLine, Reason>, number: f64, confidence: Confidence) {
    look(line);
    let Ok(line) = line else { return };
    look(line.widened(number));
    for covering in [Covering::Line, Covering::NextValue] {
        look(line.foresee(number, confidence, covering));
        for limit in [Limit::AtMost(number), Limit::AtLeast(number)] {
            look(line.meeting(limit, 30.0, confidence, covering));
            look(line.meeting(limit, number, confidence, covering));
        }
    }
}

proptest! {
    #![proptest_config(crate::proptest_settings(300))]

    #[test]
    fn series_of_any_numbers_are_answered(
        values in any_values(),
        others in any_values(),
        numbers in (any_number(), any_number(), any_number()),
        confidence in any_confidence(),
    ) {
        let (a, b, c) = numbers;
        look(mean(&values));
        look(standard_deviation(&values));
        look(autocorrelation(&values, 2));
        look(median(&values));
        look(quantile(&values, a));
        look(trimmed_mean(&values, a));
        look(median_absolute_deviation(&values));
        look(interquartile_range(&values));
        look(noise_deviation(&values));
        look(modified_z(&values));
        look(hodges_lehmann(&values));
        look(hodges_lehmann_shift(&values, &others));
        look(mann_whitney(&values, &others));
        look(welch_test(&values, &others, confidence));
        for constants in [RangeConstants::Table, RangeConstants::Exact, RangeConstants::Median] {
            look(individuals_chart(&values, constants));
        }
        for limits in [EwmaLimits::Asymptotic, EwmaLimits::TimeVarying] {
            let settings = EwmaSettings { weight: 0.2, target: a, sigma: b, width: c, limits };
            look(ewma_chart(&values, settings));
        }
        look(cusum_chart(&values, CusumSettings { target: a, allowance: b, limit: c }));
        for rule in RunRule::ALL {
            look(find_runs(&values, a, b, rule));
        }
        look(mann_kendall(&values));
        look(theil_sen(&others, &values, confidence));
        let times: Vec<f64> = (0..values.len()).map(|t| t as f64).collect();
        look(theil_sen(&times, &values, confidence));
        look(variance_factor(&values, Correction::HamedRao { n_lags: 3 }));
        look(variance_factor(&values, Correction::YueWang));
        look_at_line(least_squares_line(&times, &values), a, confidence);
        look_at_line(robust_line(&times, &values), a, confidence);
        look_at_line(least_squares_line(&others, &values), b, confidence);
        look_at_line(robust_line(&others, &values), b, confidence);
        look(pettitt_test(&values));
        for cost in [Cost::Squares, Cost::Distances, Cost::RankSquares] {
            look(best_split(&values, cost, 2));
            look(binary_changes(&values, cost, 1, 2));
            look(best_changes(&values, cost, 1, 2));
            look(pelt(&values, cost, 2, a));
        }
        look(robust_changes(&values, RobustSettings { sigma: a, bound: b, penalty: c }));
        look(robust_changes(&values, RobustSettings::of(1.0, values.len())));
        let period = ScanPeriod { events: &values, start: a, end: b };
        let monte_carlo = MonteCarlo { n_replicates: 9, seed: 1 };
        look(scan(period, &others, monte_carlo));
        look(scan(ScanPeriod { start: -9.0, end: 9.0, ..period }, &[1.0, c], monte_carlo));
        look(adjust_p_values(&values, Adjustment::BenjaminiHochberg));
        look(adjust_p_values(&values, Adjustment::Holm));
    }

    #[test]
    fn counts_of_any_size_are_answered(
        counts in proptest::collection::vec(any_count(), 12),
        number in any_number(),
        confidence in any_confidence(),
    ) {
        let tables: Vec<TwoByTwo> = counts
            .chunks(4)
            .map(|cells| TwoByTwo { a: cells[0], b: cells[1], c: cells[2], d: cells[3] })
            .collect();
        look(fisher_test(tables[0], confidence));
        look(barnard_test(tables[0]));
        look(cochran_mantel_haenszel(&tables));
        look(pooled_odds_ratio(&tables, confidence));
        look(homogeneity_test(&tables));
        look(stratified_exact_test(&tables, confidence));
        let (k, n) = (counts[0], counts[1]);
        for method in [
            ProportionMethod::Wilson,
            ProportionMethod::WilsonContinuity,
            ProportionMethod::ClopperPearson,
            ProportionMethod::MidP,
            ProportionMethod::Jeffreys,
        ] {
            look(proportion_interval(k, n, method, confidence));
        }
        look(proportion_test(k.min(5000), n.min(5000), number));
        look(count_test(k.min(5000), number.min(5000.0)));
        look(count_upper_limit(k, confidence));
        look(rate_interval(k, number, confidence));
        let first = Rate { n_events: k.min(400), exposure: number };
        let second = Rate { n_events: n.min(400), exposure: 3.0 };
        look(compare_rates(first, second, confidence));
        look(e_test(first, second));
        let trials = |n_events: u64, n: u64| Trials { n_events, n };
        for prior in [Prior::Uniform, Prior::Jeffreys] {
            look(rate_posterior(trials(k, n), prior, confidence));
            look(probability_of_ratio(trials(k, n), trials(counts[2], counts[3]), number, prior));
        }
        look(count_chart(&counts));
        let pairs: Vec<CountOf> = counts
            .chunks(2)
            .map(|pair| CountOf { n_events: pair[0], n: pair[1] })
            .collect();
        look(attribute_chart(&pairs, AttributeChart::P));
        look(attribute_chart(&pairs, AttributeChart::U));
    }
}
