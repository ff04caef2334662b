//! Two-by-two tables and strata of them: Fisher, Barnard, Cochran–Mantel–Haenszel, the exact test over strata.

use super::case::{Case, Cases, Within};
use super::reference::{References, Tree};
use crate::judge::rulebook::Known;
use crate::stats::barnard::barnard_test;
use crate::stats::discrete::Tails;
use crate::stats::fisher::{TwoByTwo, fisher_test};
use crate::stats::homogeneity::homogeneity_test;
use crate::stats::interval::{Confidence, Interval};
use crate::stats::mantel_haenszel::{cochran_mantel_haenszel, pooled_odds_ratio};
use crate::stats::reason::Reason;
use crate::stats::stratified_exact::stratified_exact_test;

/// Runs the cases.
pub fn run(references: &References, cases: &mut Cases) {
    let file = references.json("stats/05_fisher_2x2.json");
    for (name, expected) in Tree(&file).of("cases").into_iter().flat_map(Tree::entries) {
        let title = format!("Fisher's exact test: {name}");
        cases.add(title, "scipy 1.17.1", Known::Calculated, |case| {
            check_fisher(case, expected)
        });
        if name == "zero_row_outcome" || !expected.lacks("barnard_two_sided") {
            let title = format!("Barnard's exact test: {name}");
            cases.add(title, "scipy 1.17.1", Known::Calculated, |case| {
                check_barnard(case, expected)
            });
        }
    }
    help_pages(cases);
    let file = references.json("stats/05_cmh_stratified.json");
    for (name, expected) in Tree(&file).of("cases").into_iter().flat_map(Tree::entries) {
        cases.add(
            format!("Cochran–Mantel–Haenszel: {name}"),
            "statsmodels 0.15.0, StratifiedTable",
            Known::Calculated,
            |case| check_strata(case, expected),
        );
        cases.add(
            format!("exact test over strata: {name}"),
            "convolution of hypergeometric distributions, scipy 1.17.1",
            Known::Calculated,
            |case| check_exact(case, expected),
        );
    }
    published_strata(Tree(&file), cases);
}

fn table(value: Tree<'_>) -> Option<TwoByTwo> {
    let cell = |row: usize, column: usize| value.0.get(row)?.get(column)?.as_u64();
    Some(TwoByTwo {
        a: cell(0, 0)?,
        b: cell(0, 1)?,
        c: cell(1, 0)?,
        d: cell(1, 1)?,
    })
}

fn strata(expected: Tree<'_>) -> Option<Vec<TwoByTwo>> {
    expected.of("strata")?.items().map(table).collect()
}

fn check_ends(case: &mut Case, found: Interval, ends: Option<Vec<f64>>, within: Within) {
    let end = |at: usize| ends.as_ref().and_then(|ends| ends.get(at).copied());
    case.near("lower end", found.low, end(0), within);
    case.near("upper end", found.high, end(1), within);
}

fn check_mid(case: &mut Case, found: Tails, of: Tree<'_>) {
    for (found, key) in [
        (found.greater, "greater"),
        (found.less, "less"),
        (found.two_sided, "two_sided_minlik"),
        (found.doubled, "two_sided_doubled"),
    ] {
        let what = format!("mid-p, {key}");
        case.near(what, found, of.number(key), Within::CLOSED_FORM);
    }
}

fn check_exact_tails(case: &mut Case, found: Tails, of: Tree<'_>) {
    for (found, key) in [
        (found.two_sided, "p_two_sided"),
        (found.greater, "p_greater"),
        (found.less, "p_less"),
    ] {
        case.near(key, found, of.number(key), Within::CLOSED_FORM);
    }
}

/// An odds ratio, which some tables don't have: the reference says `nan` there.
fn check_ratio(case: &mut Case, found: Option<f64>, of: Tree<'_>, key: &str, within: Within) {
    let expected = of.number(key);
    match (found, expected) {
        (None, Some(expected)) if expected.is_nan() => case.holds(format!("no {key}"), true),
        _ => case.near(key, found, expected, within),
    }
}

fn check_fisher(case: &mut Case, of: Tree<'_>) -> Option<()> {
    let table = table(of.of("table")?)?;
    let result = case.answer("test", fisher_test(table, Confidence::P95))?;
    check_exact_tails(case, result.test.exact, of);
    check_mid(case, result.test.mid, of.of("mid_p")?);
    let ends = of.numbers("or_conditional_ci95");
    check_ends(case, result.interval, ends, Within::SEARCHED);
    let ratio = result.odds_ratio;
    check_ratio(case, ratio, of, "or_conditional_mle", Within::SEARCHED);
    let ratio = table.sample_odds_ratio();
    check_ratio(case, ratio, of, "or_sample", Within::CLOSED_FORM);
    Some(())
}

fn check_barnard(case: &mut Case, of: Tree<'_>) -> Option<()> {
    // scipy takes the columns as the two groups, ours are the rows.
    let TwoByTwo { a, b, c, d } = table(of.of("table")?)?;
    let turned = TwoByTwo { a, b: c, c: b, d };
    match of.number("barnard_two_sided") {
        // scipy loses some equally extreme tables to rounding (twins: 3.24e-4 for 3.48e-4).
        Some(p) => {
            let found = case.answer("test", barnard_test(turned))?;
            case.near("p", found, p, Within::of(1e-4));
        }
        None => case.same("p", barnard_test(turned), Err(Reason::NoInformation)),
    }
    Some(())
}

fn help_pages(cases: &mut Cases) {
    let source = "R, help of fisher.test, tea tasting (seen)";
    let name = "Fisher's exact test: tea, as printed";
    let of = |a, b, c, d| fisher_test(TwoByTwo { a, b, c, d }, Confidence::P95);
    cases.add(name, source, Known::Seen, |case| {
        let tea = case.answer("test", of(3, 1, 1, 3))?;
        let p = tea.test.exact.greater;
        case.near("p, greater", p, 0.2429, Within::of(5e-5));
        Some(())
    });
    let source = "R, help of fisher.test, tea and twins: output";
    let name = "Fisher's exact test: tea and twins, further output";
    cases.add(name, source, Known::Memory, |case| {
        let tea = case.answer("test", of(3, 1, 1, 3))?;
        let ratio = tea.odds_ratio;
        case.near("tea: odds ratio", ratio, 6.408_309, Within::of(1.5e-5));
        // R's root search stops early at the upper end: within 1 % of its 621.93.
        let high = tea.interval.high;
        case.near("tea: upper end", high, 621.93, Within::of(6.2));
        let twins = case.answer("test", of(2, 10, 15, 3))?.test.exact;
        case.near("twins: less", twins.less, 4.6518e-4, Within::of(5e-9));
        let two_sided = twins.two_sided;
        case.near("twins: two-sided", two_sided, 5.3672e-4, Within::of(5e-9));
        Some(())
    });
}

fn check_strata(case: &mut Case, of: Tree<'_>) -> Option<()> {
    let tables = strata(of)?;
    let within = Within::CLOSED_FORM;
    let pooled = case.answer("pooled", pooled_odds_ratio(&tables, Confidence::P95))?;
    let test = case.answer("test", cochran_mantel_haenszel(&tables))?;
    case.near("or_mh", pooled.odds_ratio, of.number("or_mh"), within);
    check_ends(case, pooled.interval, of.numbers("or_mh_ci95_rbg"), within);
    let key = "cmh_chi2_no_correction";
    case.near(key, test.chi_square, of.number(key), within);
    // The case with strata that tell nothing states no more.
    if of.lacks("breslow_day") {
        return Some(());
    }
    let homogeneity = case.answer("homogeneity", homogeneity_test(&tables))?;
    let crude = table(of.of("pooled_table")?)?;
    let fisher = case.answer("crude test", fisher_test(crude, Confidence::P95))?;
    for (found, key) in [
        (pooled.log_standard_error, "log_or_se_rbg"),
        (pooled.risk_ratio, "rr_mh"),
        (Some(test.p), "cmh_p_no_correction"),
        (Some(test.chi_square_corrected), "cmh_chi2_corrected"),
        (Some(test.p_corrected), "cmh_p_corrected"),
        (Some(homogeneity.breslow_day), "breslow_day"),
        (Some(homogeneity.p), "breslow_day_p"),
        (Some(homogeneity.tarone), "breslow_day_tarone"),
        (Some(homogeneity.p_tarone), "breslow_day_tarone_p"),
        (crude.sample_odds_ratio(), "crude_or"),
        (Some(fisher.test.exact.two_sided), "crude_fisher_p"),
    ] {
        case.near(key, found, of.number(key), within);
    }
    for (table, ratio) in tables.iter().zip(of.numbers("stratum_or")?) {
        let found = table.sample_odds_ratio();
        case.near("odds ratio of a stratum", found, ratio, within);
    }
    Some(())
}

fn check_exact(case: &mut Case, of: Tree<'_>) -> Option<()> {
    let tables = strata(of)?;
    let result = case.answer("test", stratified_exact_test(&tables, Confidence::P95))?;
    let Some(expected) = of.of("exact_conditional") else {
        let p = of.number("exact_conditional_p_two_sided");
        let found = result.test.exact.two_sided;
        case.near("p_two_sided", found, p, Within::CLOSED_FORM);
        return Some(());
    };
    check_exact_tails(case, result.test.exact, expected);
    check_mid(case, result.test.mid, expected.of("mid_p")?);
    let key = "or_conditional_mle";
    let ratio = expected.number(key);
    case.near(key, result.odds_ratio, ratio, Within::SEARCHED);
    let ends = expected.numbers("ci95");
    check_ends(case, result.interval, ends, Within::SEARCHED);
    Some(())
}

fn published_strata(file: Tree<'_>, cases: &mut Cases) {
    let of = |name: &str| strata(file.of("cases")?.of(name)?);
    let source = "SAS/STAT User's Guide, FREQ, migraine (seen)";
    let name = "Cochran–Mantel–Haenszel: migraine, as printed";
    cases.add(name, source, Known::Seen, |case| {
        let test = case.answer("test", cochran_mantel_haenszel(&of("migraine")?))?;
        let chi_square = test.chi_square;
        case.near("chi-square", chi_square, 8.3052, Within::of(5e-5));
        case.near("p", test.p, 0.0040, Within::of(5e-5));
        Some(())
    });
    let source = "R, help of mantelhaen.test, UC Berkeley (seen in a copy)";
    let name = "common odds ratio: UC Berkeley, as printed";
    cases.add(name, source, Known::Seen, |case| {
        let pooled = pooled_odds_ratio(&of("ucb_admissions")?, Confidence::P95);
        let ratio = case.answer("odds ratio", pooled)?.odds_ratio;
        case.near("odds ratio", ratio, 0.904_696_8, Within::of(5e-8));
        Some(())
    });
    let source = "R, help of mantelhaen.test, rabbits (seen in a copy)";
    let name = "exact test over strata: rabbits, as printed";
    cases.add(name, source, Known::Seen, |case| {
        let test = stratified_exact_test(&of("rabbits")?, Confidence::P95);
        let exact = case.answer("test", test)?.test.exact;
        case.near("p, two-sided", exact.two_sided, 0.040, Within::of(5e-4));
        case.near("p, greater", exact.greater, 0.020, Within::of(5e-4));
        Some(())
    });
}
