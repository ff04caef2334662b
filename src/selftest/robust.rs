//! Location and spread, and NIST's certified summaries.

use super::case::{Case, Cases, Within};
use super::reference::{References, Tree};
use crate::judge::rulebook::Known;
use crate::stats::hodges_lehmann::{hodges_lehmann, hodges_lehmann_shift};
use crate::stats::location::{median, quantile, trimmed_mean};
use crate::stats::mann_whitney::mann_whitney;
use crate::stats::reason::Reason;
use crate::stats::spread::{
    MODIFIED_Z_LIMIT, interquartile_range, median_absolute_deviation, modified_z,
    normal_consistent_deviation,
};
use crate::stats::summary::{autocorrelation, mean, standard_deviation};

/// Runs the cases.
pub fn run(references: &References, cases: &mut Cases) {
    let file = references.json("stats/10_robust.json");
    for name in ["odd7", "even8", "ties9", "all_equal", "one", "newcomb"] {
        let title = format!("location and spread: {name}");
        cases.add(title, "scipy 1.17.1", Known::Calculated, |case| {
            check_location(case, Tree(&file).of(name)?)
        });
    }
    let name = "shift of two samples";
    cases.add(name, "scipy 1.17.1", Known::Calculated, |case| {
        let of = Tree(&file).of("two_sample_shift")?;
        let (a, b) = (of.numbers("a")?, of.numbers("b")?);
        let within = Within::CLOSED_FORM;
        let shift = case.answer("shift", hodges_lehmann_shift(&a, &b))?;
        let expected = of.number("hodges_lehmann_shift_b_minus_a");
        case.near("shift", shift, expected, within);
        let test = case.answer("test", mann_whitney(&a, &b))?;
        let u = of.number("mannwhitney_U_b");
        case.near("U", test.u, u, Within::of(0.0));
        case.near("p", test.p(), of.number("mannwhitney_p_exact"), within);
        Some(())
    });
    certified(references, cases);
}

fn check_location(case: &mut Case, of: Tree<'_>) -> Option<()> {
    let data = of.numbers("data")?;
    let raw = case.answer("deviation", median_absolute_deviation(&data))?;
    for (found, key) in [
        (mean(&data), "mean"),
        (median(&data), "median"),
        (Ok(raw), "mad_raw"),
        (normal_consistent_deviation(&data), "mad_normal"),
        (Ok(1.4826 * raw), "mad_x_1_4826"),
        (hodges_lehmann(&data), "hodges_lehmann"),
        (trimmed_mean(&data, 0.1), "trimmed_mean_10pct_each"),
        (quantile(&data, 0.25), "q1_type7"),
        (quantile(&data, 0.75), "q3_type7"),
        (interquartile_range(&data), "iqr_type7"),
    ] {
        let found = case.answer(key, found)?;
        case.near(key, found, of.number(key), Within::CLOSED_FORM);
    }
    let sd = standard_deviation(&data);
    if of.lacks("sd") {
        case.holds("one value has no sd", sd.is_err());
    } else {
        case.near("sd", sd.ok(), of.number("sd"), Within::CLOSED_FORM);
    }
    let apart = modified_z(&data).map(|z| {
        let far = z.iter().enumerate();
        let far = far.filter(|(_, z)| z.abs() > MODIFIED_Z_LIMIT);
        far.map(|(at, _)| at).collect::<Vec<usize>>()
    });
    // A deviation of 0 is not divided by.
    let key = "modified_z_gt_3_5";
    let expected = match of.lacks(key) {
        true => Err(Reason::NoSpread),
        false => Ok(of.places(key)?),
    };
    case.same("values apart", apart, expected);
    Some(())
}

/// The values of a dataset; those of NumAcc by their rule, as NIST has it.
fn dataset(references: &References, name: &str) -> Option<Vec<f64>> {
    let pairs = |first: f64, low: f64, high: f64| {
        let mut values = vec![first];
        for _ in 0..500 {
            values.extend([low, high]);
        }
        Some(values)
    };
    match name {
        "NumAcc1" => Some(vec![10_000_001.0, 10_000_003.0, 10_000_002.0]),
        "NumAcc2" => pairs(1.2, 1.1, 1.3),
        "NumAcc3" => pairs(1_000_000.2, 1_000_000.1, 1_000_000.3),
        "NumAcc4" => pairs(10_000_000.2, 10_000_000.1, 10_000_000.3),
        _ => references
            .rows("stats/10_strd_data.csv")
            .series("dataset", name, "value"),
    }
}

fn certified(references: &References, cases: &mut Cases) {
    let data = references.rows("stats/10_strd_univariate.csv");
    for row in data.iter() {
        let name = row.text("dataset").unwrap_or("?");
        let (source, known) = match name.starts_with("NumAcc") {
            true => (
                "NIST Statistical Reference Datasets, univariate, certified values",
                Known::Memory,
            ),
            false => (
                "NIST Statistical Reference Datasets, univariate, certified values (seen in a copy)",
                Known::Seen,
            ),
        };
        cases.add(
            format!("mean, spread and lag-1 autocorrelation: {name}"),
            source,
            known,
            |case| {
                let values = dataset(references, name)?;
                case.same("n", Some(values.len() as u64), row.count("n"));
                // The decimal inputs of NumAcc3 and 4 are not exact in binary, which costs their spread digits.
                let (of_sd, of_lag) = match name {
                    "NumAcc3" => (1e-9, 3.2e-12),
                    "NumAcc4" => (1e-8, 3.2e-11),
                    _ => (1e-13, 1e-13),
                };
                let sd = standard_deviation(&values);
                for (found, column, relative) in [
                    (mean(&values), "certified_mean", 1e-15),
                    (sd, "certified_sd", of_sd),
                    (
                        autocorrelation(&values, 1),
                        "certified_lag1_autocorr",
                        of_lag,
                    ),
                ] {
                    let found = case.answer(column, found)?;
                    let certified = row.number(column);
                    case.near(column, found, certified, Within::share(relative));
                }
                // And the digits that extended precision gives (calculated).
                let column = "computed_sd";
                let within = Within::share(1e-12);
                case.near(column, sd.ok(), row.number(column), within);
                Some(())
            },
        );
    }
}
