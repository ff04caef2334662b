//! File 03: Nelson (1984) and Western Electric (1956). Definitions S-copy; the indices by brute force (C).

use super::{json, numbers, places};
use loadbook::stats::run_rules::{RunRule, find_runs};

fn key_of(rule: RunRule) -> String {
    let name = format!("{rule:?}");
    name.replace("Nelson", "N").replace("WesternElectric", "WE")
}

#[test]
fn every_rule_fires_where_it_should_and_nowhere_else() {
    let cases = json("03_run_rules.json");
    let cases = cases["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 20);
    for case in cases {
        let z = numbers(&case["z"]);
        for rule in RunRule::ALL {
            let expected = match case["all_rules_fired"].get(key_of(rule)) {
                Some(fired) => places(fired),
                None => Vec::new(),
            };
            let found = find_runs(&z, 0.0, 1.0, rule).unwrap();
            assert_eq!(found, expected, "{} {rule:?}", case["name"]);
        }
    }
}
