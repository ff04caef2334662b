//! Many p-values at once: Benjamini and Hochberg's worked example.

use super::case::{Cases, Within};
use super::reference::{References, Row};
use crate::judge::rulebook::Known;
use crate::stats::multiplicity::{Adjustment, adjust_p_values};

/// Runs the cases.
pub fn run(references: &References, cases: &mut Cases) {
    let data = references.rows("stats/07_benjamini_hochberg.csv");
    for (name, adjustment, column, reject) in [
        (
            "Benjamini–Hochberg",
            Adjustment::BenjaminiHochberg,
            "bh_adjusted",
            Some("bh_reject"),
        ),
        (
            "Benjamini–Yekutieli",
            Adjustment::BenjaminiYekutieli,
            "by_adjusted",
            Some("by_reject"),
        ),
        (
            "Holm",
            Adjustment::Holm,
            "holm_adjusted",
            Some("holm_reject"),
        ),
        ("Hochberg", Adjustment::Hochberg, "hochberg_adjusted", None),
        (
            "Bonferroni",
            Adjustment::Bonferroni,
            "bonferroni_adjusted",
            Some("bonferroni_reject"),
        ),
    ] {
        let source = "statsmodels 0.15.0, scipy 1.17.1";
        cases.add(name, source, Known::Calculated, |case| {
            let p = data.column("p")?;
            let shuffled = shuffle(data.iter(), p.len())?;
            let adjusted = case.answer("adjusted", adjust_p_values(&p, adjustment))?;
            let apart = case.answer("shuffled", adjust_p_values(&shuffled, adjustment))?;
            for (row, adjusted) in data.iter().zip(adjusted) {
                let expected = row.number(column);
                case.near(column, adjusted, expected, Within::CLOSED_FORM);
                let found = apart.get(place(row)?).copied();
                case.same("the same in another order", found, Some(adjusted));
                if let Some(reject) = reject {
                    let is_found = u64::from(adjusted <= 0.05);
                    case.same(reject, Some(is_found), row.count(reject));
                }
            }
            Some(())
        });
    }
    let source = "Benjamini & Hochberg, JRSS B 57, 1995, worked example (seen in copies)";
    let name = "four of fifteen hypotheses are rejected, three by Bonferroni";
    cases.add(name, source, Known::Seen, |case| {
        let p = data.column("p")?;
        for (adjustment, n) in [
            (Adjustment::BenjaminiHochberg, 4),
            (Adjustment::Bonferroni, 3),
        ] {
            let adjusted = case.answer("adjusted", adjust_p_values(&p, adjustment))?;
            let n_found = adjusted.iter().filter(|p| **p <= 0.05).count();
            case.same(format!("{adjustment:?}: rejected"), n_found, n);
        }
        Some(())
    });
}

fn place(row: Row<'_>) -> Option<usize> {
    usize::try_from(row.count("row_in_shuffled_input")?).ok()
}

fn shuffle<'r>(rows: impl Iterator<Item = Row<'r>>, n: usize) -> Option<Vec<f64>> {
    let mut shuffled = vec![f64::NAN; n];
    for row in rows {
        *shuffled.get_mut(place(row)?)? = row.number("p")?;
    }
    Some(shuffled)
}
