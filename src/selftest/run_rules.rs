//! Nelson's and Western Electric's rules: each fires where it should and nowhere else.

use super::case::Cases;
use super::reference::{References, Tree};
use crate::judge::rulebook::Known;
use crate::stats::run_rules::{RunRule, find_runs};

const SOURCE: &str = "Nelson, J. Quality Technology 16(4), 1984; Western Electric Handbook, 1956 \
    (definitions seen in copies; places by brute force in Python)";

/// Runs the cases.
pub fn run(references: &References, cases: &mut Cases) {
    let file = references.json("stats/03_run_rules.json");
    for sequence in Tree(&file).of("cases").into_iter().flat_map(Tree::items) {
        let name = sequence.0.get("name").and_then(|name| name.as_str());
        let name = name.unwrap_or("a sequence without a name");
        cases.add(name, SOURCE, Known::Seen, |case| {
            let z = sequence.numbers("z")?;
            let fired = sequence.of("all_rules_fired")?;
            for rule in RunRule::ALL {
                let key = key_of(rule);
                let expected = match fired.lacks(&key) {
                    true => Vec::new(),
                    false => fired.places(&key)?,
                };
                let found = case.answer(&key, find_runs(&z, 0.0, 1.0, rule))?;
                case.same(format!("rule {key}"), found, expected);
            }
            Some(())
        });
    }
}

fn key_of(rule: RunRule) -> String {
    let name = format!("{rule:?}");
    name.replace("Nelson", "N").replace("WesternElectric", "WE")
}
