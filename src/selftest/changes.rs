//! Change points: the Nile's flow and two synthetic series.

use super::case::{Cases, Within};
use super::reference::{References, Tree};
use crate::judge::rulebook::Known;
use crate::stats::change_points::{best_changes, best_split, binary_changes, pelt};
use crate::stats::interval::Confidence;
use crate::stats::mann_whitney::mann_whitney;
use crate::stats::pettitt::pettitt_test;
use crate::stats::segment_cost::Cost;
use crate::stats::spread::noise_deviation;
use crate::stats::summary::{mean, standard_deviation};
use crate::stats::welch::welch_test;

const SERIES: [(&str, &str, &str); 3] = [
    ("nile", "stats/08_nile.csv", "volume"),
    ("three_segments", "stats/08_three_segments.csv", "value"),
    ("no_change", "stats/08_no_change.csv", "value"),
];

/// Runs the cases.
pub fn run(references: &References, cases: &mut Cases) {
    let file = references.json("stats/08_changepoint_expected.json");
    for (name, data, column) in SERIES {
        let values = || references.rows(data).column(column);
        let of = || Tree(&file).of(name);
        let source = "formulas, NumPy 2.4.6";
        let title = format!("Pettitt's test and the best split: {name}");
        cases.add(title, source, Known::Calculated, |case| {
            let values = values()?;
            let test = case.answer("test", pettitt_test(&values))?;
            let within = Within::CLOSED_FORM;
            let pettitt = of()?.of("pettitt")?;
            let n_before = test.n_before as f64;
            for (found, key) in [
                (test.u, "U_signed"),
                (test.u.abs(), "K"),
                (n_before, "change_after_index_1based"),
            ] {
                case.near(key, found, pettitt.number(key), Within::of(0.0));
            }
            let key = "p_approx";
            case.near(key, test.p, pettitt.number(key), within);
            let split = case.answer("split", best_split(&values, Cost::Squares, 1))?;
            let best = of()?.of("best_single_split")?;
            let n_before = split.n_before as f64;
            case.near("n_before", n_before, best.number("n_before"), within);
            let (before, after) = values.split_at_checked(split.n_before)?;
            for (found, key) in [
                (split.cost_split, "sse_split"),
                (split.cost_whole, "sse_total"),
                (split.cost_whole - split.cost_split, "reduction"),
                (case.answer("mean", mean(before))?, "mean_before"),
                (case.answer("mean", mean(after))?, "mean_after"),
            ] {
                case.near(key, found, best.number(key), within);
            }
            Some(())
        });
        let title = format!("segments by PELT, dynamic programming and halving: {name}");
        cases.add(title, "ruptures 1.1.10", Known::Calculated, |case| {
            let values = values()?;
            let library = of()?.of("ruptures")?;
            for (penalty, at) in library.of("pelt_l2")?.entries() {
                let changes = pelt(&values, Cost::Squares, 2, penalty.parse().ok()?);
                let changes = case.answer("PELT", changes)?;
                case.same(format!("PELT at {penalty}"), changes, breaks(at)?);
            }
            let costs = library.of("dynp_l2_cost")?;
            for (n_changes, at) in library.of("dynp_l2")?.entries() {
                let n = n_changes.parse().ok()?;
                let best = best_changes(&values, Cost::Squares, 2, n);
                let (changes, cost) = case.answer("best", best)?;
                case.same(format!("the best {n_changes}"), changes, breaks(at)?);
                let expected = costs.number(n_changes);
                case.near("their cost", cost, expected, Within::CLOSED_FORM);
            }
            for (n_changes, at) in library.of("binseg_l2")?.entries() {
                let n = n_changes.parse().ok()?;
                let halved = binary_changes(&values, Cost::Squares, 2, n);
                let changes = case.answer("halving", halved)?;
                case.same(format!("{n_changes} by halving"), changes, breaks(at)?);
            }
            Some(())
        });
    }
    nile(references, Tree(&file), cases);
    let name = "noise around steps";
    cases.add(name, "formula, NumPy 2.4.6", Known::Calculated, |case| {
        let values = references.rows("stats/08_three_segments.csv");
        let sigma = noise_deviation(&values.column("value")?);
        let sigma = case.answer("sigma", sigma)?;
        let of = Tree(&file).of("three_segments")?;
        let expected = of.number("sigma_from_median_abs_diff");
        case.near("sigma", sigma, expected, Within::CLOSED_FORM);
        Some(())
    });
}

fn nile(references: &References, file: Tree<'_>, cases: &mut Cases) {
    let data = references.rows("stats/08_nile.csv");
    let source = "Cobb, Biometrika 65, 1978; its change near 1898 in the data's description (seen)";
    let name = "the Nile's flow changes after 1898";
    cases.add(name, source, Known::Seen, |case| {
        let volume = data.column("volume")?;
        let test = case.answer("test", pettitt_test(&volume))?;
        let year = |at: usize| data.iter().nth(at)?.count("year");
        let last_before = test.n_before.checked_sub(1).and_then(year);
        case.same("the last year before", last_before, Some(1898));
        Some(())
    });
    let name = "the Nile before and after, by Welch and by Mann–Whitney";
    cases.add(name, "scipy 1.17.1", Known::Calculated, |case| {
        let of = file.of("nile")?;
        let volume = data.column("volume")?;
        let (before, after) = volume.split_at_checked(28)?;
        let within = Within::CLOSED_FORM;
        let found = case.answer("mean", mean(&volume))?;
        case.near("mean", found, of.number("mean"), within);
        let found = case.answer("sd", standard_deviation(&volume))?;
        case.near("sd", found, of.number("sd"), within);
        let welch = case.answer("Welch", welch_test(before, after, Confidence::P95))?;
        let expected = of.numbers("welch_t_before_after")?;
        case.near("t", welch.t, expected.first().copied(), within);
        case.near("p of t", welch.p, expected.get(1).copied(), within);
        // scipy counts pairs in which the first sample is larger.
        let test = case.answer("Mann–Whitney", mann_whitney(after, before))?;
        case.near("U", test.u, of.number("mannwhitney_U"), Within::of(0.0));
        let p = of.number("mannwhitney_p");
        case.near("p of U", test.p_normal, p, within);
        Some(())
    });
}

/// The breaks of ruptures without the last, which is the number of values.
fn breaks(value: Tree<'_>) -> Option<Vec<usize>> {
    let mut breaks: Vec<usize> = Vec::new();
    for at in value.items() {
        breaks.push(usize::try_from(at.0.as_u64()?).ok()?);
    }
    breaks.pop()?;
    Some(breaks)
}
