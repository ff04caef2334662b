//! Intervals of proportions and counts, and the comparison of two rates.

use super::case::{Cases, Within};
use super::reference::References;
use crate::judge::rulebook::Known;
use crate::stats::count_interval::{count_interval, count_upper_limit, rate_interval};
use crate::stats::interval::Confidence;
use crate::stats::proportion_interval::{ProportionMethod, proportion_interval};
use crate::stats::two_rates::{Rate, compare_rates, e_test};

/// Runs the cases.
pub fn run(references: &References, cases: &mut Cases) {
    proportions(references, cases);
    counts(references, cases);
    two_rates(references, cases);
}

fn proportions(references: &References, cases: &mut Cases) {
    let data = references.rows("stats/06_proportion_ci95.csv");
    for row in data.iter() {
        let (k, n) = (row.count("k"), row.count("n"));
        let of_n = format!("{} of {}", said(k), said(n));
        cases.add(
            format!("95 % interval of {of_n}, five methods"),
            "scipy 1.17.1, statsmodels 0.15.0; mid-p by root finding",
            Known::Calculated,
            |case| {
                for (method, name, within) in [
                    (ProportionMethod::Wilson, "wilson", Within::CLOSED_FORM),
                    (
                        ProportionMethod::WilsonContinuity,
                        "wilsoncc",
                        Within::CLOSED_FORM,
                    ),
                    (
                        ProportionMethod::ClopperPearson,
                        "clopper",
                        Within::SEARCHED,
                    ),
                    (ProportionMethod::MidP, "midp", Within::SEARCHED),
                    (ProportionMethod::Jeffreys, "jeffreys", Within::SEARCHED),
                ] {
                    let interval = proportion_interval(k?, n?, method, Confidence::P95);
                    let found = case.answer(name, interval)?;
                    for (end, found) in [("lo", found.low), ("hi", found.high)] {
                        let key = format!("{name}_{end}");
                        let expected = row.number(&key);
                        case.near(key, found, expected, within);
                    }
                }
                Some(())
            },
        );
        let is_printed = |column: &str| row.text(column).is_some_and(|text| !text.is_empty());
        let methods = [
            (ProportionMethod::Wilson, "wilson"),
            (ProportionMethod::ClopperPearson, "clopper"),
            (ProportionMethod::MidP, "midp"),
        ];
        if !methods
            .iter()
            .any(|(_, name)| is_printed(&format!("pub_{name}_lo")))
        {
            continue;
        }
        let known = match (k, n) {
            (Some(81), Some(263)) => Known::Seen,
            _ => Known::Memory,
        };
        cases.add(
            format!("95 % interval of {of_n}, as printed"),
            "Newcombe, Stat. Med. 17, 1998, Table I (81/263 Wilson seen in a copy, the rest from memory)",
            known,
            |case| {
                for (method, name) in methods {
                    let interval = proportion_interval(k?, n?, method, Confidence::P95);
                    let found = case.answer(name, interval)?;
                    for (end, found) in [("lo", found.low), ("hi", found.high)] {
                        let key = format!("pub_{name}_{end}");
                        if is_printed(&key) {
                            // Four decimals; 15/148 lies on the edge of rounding.
                            let printed = row.number(&key);
                            case.near(key, found, printed, Within::of(1e-4));
                        }
                    }
                }
                Some(())
            },
        );
    }
}

fn said(count: Option<u64>) -> String {
    count.map_or_else(|| "?".to_owned(), |count| count.to_string())
}

fn counts(references: &References, cases: &mut Cases) {
    let data = references.rows("stats/06_poisson_garwood.csv");
    for row in data.iter() {
        let text = |column: &str| row.text(column).unwrap_or("?");
        let name = format!(
            "exact interval of {} events at {}, exposure {}",
            text("count"),
            text("conf"),
            text("exposure")
        );
        let source = "Garwood, Biometrika 28, 1936 (formula from memory); scipy 1.17.1";
        cases.add(name, source, Known::Calculated, |case| {
            let (count, exposure) = (row.count("count")?, row.number("exposure")?);
            let confidence = case.answer("confidence", Confidence::of(row.number("conf")?))?;
            let within = Within::SEARCHED;
            let of_count = case.answer("interval", count_interval(count, confidence))?;
            let of_rate = case.answer("interval", rate_interval(count, exposure, confidence))?;
            for (found, column) in [
                (of_count.low, "count_lo"),
                (of_count.high, "count_hi"),
                (of_rate.low, "rate_lo"),
                (of_rate.high, "rate_hi"),
            ] {
                case.near(column, found, row.number(column), within);
            }
            let upper = case.answer("upper limit", count_upper_limit(count, confidence))?;
            let column = "rate_one_sided_upper";
            case.near(column, upper / exposure, row.number(column), within);
            Some(())
        });
    }
}

fn two_rates(references: &References, cases: &mut Cases) {
    let data = references.rows("stats/06_two_poisson_rates.csv");
    for row in data.iter() {
        let text = |column: &str| row.text(column).unwrap_or("?");
        let name = format!(
            "two rates: {} in {} and {} in {}",
            text("k1"),
            text("t1"),
            text("k2"),
            text("t2")
        );
        let source = "scipy 1.17.1, statsmodels 0.15.0";
        cases.add(name, source, Known::Calculated, |case| {
            let rate = |k: &str, t: &str| {
                Some(Rate {
                    n_events: row.count(k)?,
                    exposure: row.number(t)?,
                })
            };
            let (first, second) = (rate("k1", "t1")?, rate("k2", "t2")?);
            let comparison = compare_rates(first, second, Confidence::P95);
            let comparison = case.answer("comparison", comparison)?;
            let exact = comparison.test.exact;
            for (found, column) in [
                (comparison.ratio, "rate_ratio"),
                (exact.two_sided, "p_exact_two_sided_minlik"),
                (exact.greater, "p_greater"),
                (exact.less, "p_less"),
                (exact.doubled, "p_two_sided_doubled"),
            ] {
                case.near(column, found, row.number(column), Within::CLOSED_FORM);
            }
            // statsmodels halves the observed count alone; we halve every count as probable as it (as file 05 has it).
            // The two differ where the exact distribution is symmetric: 1 against 0 in equal times.
            let mid_p = row.number("p_cond_midp")?;
            let share = exact.greater + exact.less - 1.0;
            let halved = exact.two_sided - share / 2.0;
            let within = Within::CLOSED_FORM;
            case.near("observed count halved", halved, mid_p, within);
            let is_symmetric =
                first.exposure == second.exposure && first.n_events != second.n_events;
            let other_half = if is_symmetric { share / 2.0 } else { 0.0 };
            let found = comparison.test.mid.two_sided;
            case.near("mid-p", found, mid_p - other_half, within);
            let interval = comparison.interval;
            for (found, column) in [
                (interval.low, "ratio_ci95_lo"),
                (interval.high, "ratio_ci95_hi"),
            ] {
                case.near(column, found, row.number(column), Within::SEARCHED);
            }
            if text("p_etest").is_empty() {
                return Some(());
            }
            // Pairs as extreme as the observed one that scipy leaves out. Two zeros, whose statistic it takes as 0/0,
            // where the rates are level; and (3, 1), (1, 3) beside the observed (1, 0), which are as extreme but for
            // rounding.
            let left_out = match (first.n_events, second.n_events) {
                (3, 3) => (-6.0_f64).exp(),
                (1, 0) => 2.0 * (-1.0_f64).exp() * 0.5_f64.powi(4) / 6.0,
                _ => 0.0,
            };
            let p = case.answer("E-test", e_test(first, second))?;
            let expected = row.number("p_etest")? + left_out;
            case.near("p of the E-test", p, expected, Within::SEARCHED);
            Some(())
        });
    }
}
