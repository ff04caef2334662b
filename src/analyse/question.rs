//! A question asked of the records: all comparisons that it makes, and what is left after correcting for their number.
//!
//! Every comparison is counted, whether it comes to anything or not. Knows nothing of what is compared. Read
//! [`Question`] first.

use super::catalogue::FindingKind;
use super::finding::{Finding, Surety};
use crate::measure::count::Counting;
use crate::parallel::Threads;
use crate::stats::multiplicity::{Adjustment, adjust_beside_certain};
use std::collections::BTreeMap;

/// The comparisons of one question.
#[derive(Debug)]
pub struct Question {
    kind: FindingKind,
    p_values: Vec<f64>,
    /// How many comparisons came out with p = 1 without being made one by one.
    n_certain: usize,
    /// For each unit the smallest p of what bears on it, and how many there are.
    by_unit: BTreeMap<String, (f64, usize)>,
    /// The number of a comparison and what it would say.
    likely: Vec<(usize, Finding)>,
}

/// What is left of a question's comparisons.
#[derive(Debug, Default)]
pub struct Answer {
    /// The findings that stand after correction, surest first.
    pub findings: Vec<Finding>,
    /// How many comparisons were made.
    pub n_comparisons: usize,
    /// For each unit the smallest p of what bears on it, times the number of comparisons that bear on it.
    pub by_unit: BTreeMap<String, f64>,
}

impl Question {
    /// A question of this kind, without comparisons yet.
    pub fn of(kind: FindingKind) -> Self {
        Question {
            kind,
            p_values: Vec::new(),
            n_certain: 0,
            by_unit: BTreeMap::new(),
            likely: Vec::new(),
        }
    }

    /// A question of this kind that is asked of each of `n` things, on so many threads; the comparisons stand in the order
    /// of the things.
    pub fn of_each(
        kind: FindingKind,
        n: usize,
        threads: Threads,
        ask: impl Fn(usize, &mut Question) + Sync,
    ) -> Self {
        let of_one = |at: usize| {
            let mut question = Question::of(kind);
            ask(at, &mut question);
            question
        };
        let mut all = Question::of(kind);
        for question in threads.map_in_order(n, of_one) {
            all.append(question);
        }
        all
    }

    /// Adds a comparison. What it would say is only made if it can come to something.
    pub fn compare(&mut self, p: f64, say: impl FnOnce() -> Finding) {
        let p = if p.is_nan() { 1.0 } else { p.clamp(0.0, 1.0) };
        // An adjusted p is never below the p itself.
        if p <= self.kind.accepts() {
            self.likely.push((self.p_values.len(), say()));
        }
        self.p_values.push(p);
    }

    /// Remembers that a p bears on a unit, for the ranking for service.
    pub fn bear_on(&mut self, unit: &str, p: f64) {
        if p.is_nan() {
            return;
        }
        self.take_bearing(unit.to_owned(), p, 1);
    }

    /// So many comparisons bear on a unit, of which this is the smallest p.
    fn take_bearing(&mut self, unit: String, p: f64, n: usize) {
        let (least, n_all) = self.by_unit.entry(unit).or_insert((1.0, 0));
        *least = least.min(p);
        n_all.add_many(n);
    }

    /// Adds a comparison that makes no finding of its own, because another one says the same better.
    pub fn count(&mut self, p: f64) {
        self.p_values
            .push(if p.is_nan() { 1.0 } else { p.clamp(0.0, 1.0) });
    }

    /// Adds so many comparisons that can't come to anything, as too little happened; so many of them bear on a unit.
    pub fn count_certain(&mut self, n: usize, unit: &str, n_bearing: usize) {
        self.n_certain.add_many(n);
        if n_bearing > 0 {
            self.take_bearing(unit.to_owned(), 1.0, n_bearing);
        }
    }

    /// Adds all comparisons of another of the same kind, after its own.
    fn append(&mut self, other: Question) {
        let n_own = self.p_values.len();
        let likely = other.likely.into_iter();
        self.likely
            .extend(likely.map(|(at, finding)| (n_own.saturating_add(at), finding)));
        self.p_values.extend(other.p_values);
        self.n_certain.add_many(other.n_certain);
        for (unit, (p, n)) in other.by_unit {
            self.take_bearing(unit, p, n);
        }
    }

    /// What stands after Benjamini and Hochberg's correction.
    pub fn answer(self) -> Answer {
        let n_comparisons = self.p_values.len().saturating_add(self.n_certain);
        // Every p is from 0 to 1, so this can't refuse; if it did, nothing would be found.
        let by = Adjustment::BenjaminiHochberg;
        let adjusted =
            adjust_beside_certain(&self.p_values, self.n_certain, by).unwrap_or_default();
        let accepted = self.kind.accepts();
        let mut findings: Vec<(f64, Finding)> = self
            .likely
            .into_iter()
            .filter_map(|(at, mut finding)| {
                let (p, p_adjusted) = (*self.p_values.get(at)?, *adjusted.get(at)?);
                finding.surety = Some(Surety {
                    p,
                    p_adjusted,
                    n_comparisons,
                    accepted,
                });
                (p_adjusted <= accepted).then_some((p, finding))
            })
            .collect();
        findings.sort_by(|a, b| a.0.total_cmp(&b.0));
        Answer {
            findings: findings.into_iter().map(|(_, finding)| finding).collect(),
            n_comparisons,
            by_unit: self
                .by_unit
                .into_iter()
                .map(|(unit, (least, n))| (unit, (least * n as f64).min(1.0)))
                .collect(),
        }
    }
}
