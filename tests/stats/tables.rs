//! Strata of `05_cmh_stratified.json`, synthetic: what must follow from how they were made.

use loadbook::selftest::reference::References;
use loadbook::stats::fisher::TwoByTwo;
use loadbook::stats::homogeneity::homogeneity_test;
use loadbook::stats::interval::Confidence;
use loadbook::stats::mantel_haenszel::{cochran_mantel_haenszel, pooled_odds_ratio};
use loadbook::stats::stratified_exact::stratified_exact_test;

fn strata(name: &str) -> Vec<TwoByTwo> {
    let file = References::embedded().json("stats/05_cmh_stratified.json");
    let strata = file["cases"][name]["strata"].as_array().unwrap();
    let table = |table: &serde_json::Value| {
        let cell = |row: usize, column: usize| table[row][column].as_u64().unwrap();
        TwoByTwo {
            a: cell(0, 0),
            b: cell(0, 1),
            c: cell(1, 0),
            d: cell(1, 1),
        }
    };
    strata.iter().map(table).collect()
}

#[test]
fn bad_unit_does_not_accuse_the_lot_and_a_bad_lot_is_not_hidden() {
    // The Simpson cases of the reference (synthetic, C).
    let p_and_ratio = |name: &str| {
        let tables = strata(name);
        let ratio = pooled_odds_ratio(&tables, Confidence::P95).unwrap();
        (
            cochran_mantel_haenszel(&tables).unwrap().p,
            ratio.odds_ratio,
        )
    };
    let (p, ratio) = p_and_ratio("simpson_bad_unit");
    assert!(p > 0.5 && ratio < 1.0);
    let (p, ratio) = p_and_ratio("simpson_masked_lot");
    assert!(p < 0.1 && ratio > 2.0);
    let (p, ratio) = p_and_ratio("simpson_true_lot");
    assert!(p < 1e-4 && ratio > 4.0);
}

#[test]
fn strata_without_information_change_nothing() {
    let with = strata("uninformative_strata_added");
    let without = strata("simpson_true_lot");
    let exact = |tables: &[TwoByTwo]| stratified_exact_test(tables, Confidence::P95).unwrap();
    assert_eq!(exact(&with), exact(&without));
    assert_eq!(homogeneity_test(&with), homogeneity_test(&without));
    let pooled = |tables: &[TwoByTwo]| pooled_odds_ratio(tables, Confidence::P95).unwrap();
    assert_eq!(pooled(&with), pooled(&without));
}
