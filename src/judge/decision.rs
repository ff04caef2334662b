//! A decision: what the records of a load support, the rules that say so, and the lines that prove it. Data only.
//!
//! Knows nothing of how any of it was found or is drawn. Read [`Judgement`] first.

use super::policy::PolicyIx;
use super::rulebook::{Effect, RuleId};
use crate::diagnose::{FileId, Span};
use crate::reconcile::history::{CycleIx, EntryIx, LoadIx};
use chrono::NaiveDateTime;
use serde::Serialize;
use std::borrow::Cow;

/// What the records of a load support, in order of seriousness: a greater one outweighs a smaller one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Decision {
    /// Every piece of evidence that the policy asks for is there, and none speaks against the load.
    Release,
    /// Complete, and awaiting the result of a biological indicator that the policy asks for.
    Quarantine,
    /// Evidence is missing, or contradicts itself.
    Hold,
    /// There is evidence against the load.
    Reject,
    /// There is evidence against the load, and a person had let it go.
    Recall,
}

impl Decision {
    /// Every decision, the least serious first.
    pub const ALL: &'static [Decision] = &[
        Decision::Release,
        Decision::Quarantine,
        Decision::Hold,
        Decision::Reject,
        Decision::Recall,
    ];

    /// The word that is printed.
    pub fn word(self) -> &'static str {
        match self {
            Decision::Release => "release",
            Decision::Quarantine => "quarantine",
            Decision::Hold => "hold",
            Decision::Reject => "reject",
            Decision::Recall => "recall",
        }
    }

    /// The word before a reason: `held: printout-torn`.
    pub fn participle(self) -> &'static str {
        match self {
            Decision::Release => "released",
            Decision::Quarantine => "quarantined",
            Decision::Hold => "held",
            Decision::Reject => "rejected",
            Decision::Recall => "recalled",
        }
    }
}

impl std::fmt::Display for Decision {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.word())
    }
}

/// Something that was seen, in words, and where it stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Evidence {
    /// What was seen, or looked for and not found.
    pub words: Cow<'static, str>,
    /// The places in the input that show it. Empty for what is nowhere in the records.
    pub spans: Vec<Span>,
    /// Readings that show it: they know their line alone.
    pub readings: Vec<ReadingPlace>,
}

/// Where a reading stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct ReadingPlace {
    /// The file.
    pub file: FileId,
    /// The line, counted from 1.
    pub line: u32,
}

impl Evidence {
    /// What stands at one place.
    pub fn at(span: Span, words: impl Into<Cow<'static, str>>) -> Self {
        Evidence {
            words: words.into(),
            spans: vec![span],
            readings: Vec::new(),
        }
    }

    /// What stands at several places.
    pub fn at_all(
        spans: impl IntoIterator<Item = Span>,
        words: impl Into<Cow<'static, str>>,
    ) -> Self {
        Evidence {
            words: words.into(),
            spans: spans.into_iter().collect(),
            readings: Vec::new(),
        }
    }

    /// What was looked for and found nowhere.
    pub fn absent(words: impl Into<Cow<'static, str>>) -> Self {
        Evidence {
            words: words.into(),
            spans: Vec::new(),
            readings: Vec::new(),
        }
    }

    /// The same, with readings that show it.
    #[must_use]
    pub fn with_readings(mut self, readings: impl IntoIterator<Item = ReadingPlace>) -> Self {
        self.readings.extend(readings);
        self
    }
}

/// A rule that found something.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RuleHit {
    /// The rule.
    pub rule: RuleId,
    /// What it does under the policy in force.
    pub effect: Effect,
    /// What was seen, as a sentence.
    pub seen: Cow<'static, str>,
    /// The lines that show it.
    pub evidence: Vec<Evidence>,
    /// What would answer it, as a sentence: the record that is missing, or what to do with the load.
    pub remedy: Cow<'static, str>,
}

/// A rule whose question was answered in favour of the load.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RuleMet {
    /// The rule.
    pub rule: RuleId,
    /// What shows it.
    pub evidence: Evidence,
}

/// A record that moved a decision.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum RecordIx {
    /// A printout.
    Cycle(CycleIx),
    /// An entry of the log.
    Entry(EntryIx),
}

/// A decision as it stood from some moment on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DecisionStep {
    /// Since when, on the local clock of the record that moved it. `None` for what records without a time give.
    pub since: Option<NaiveDateTime>,
    /// The decision.
    pub decision: Decision,
    /// The rules that made it, the most telling first. Empty for a release.
    pub rules: Vec<RuleId>,
    /// The records of that moment that moved it. Empty when time alone did: an indicator that no one read became
    /// overdue.
    pub moved_by: Vec<RecordIx>,
}

/// What the records of one load support, and why.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Judgement {
    /// The load.
    pub load: LoadIx,
    /// The policy that it was judged by. `None` when none was in force on its day.
    pub policy: Option<PolicyIx>,
    /// The decision.
    pub decision: Decision,
    /// Every rule that found something, the most serious effect first, then in the order of the rule book.
    pub hits: Vec<RuleHit>,
    /// Every rule whose question was answered in favour of the load, in the order of the rule book.
    pub met: Vec<RuleMet>,
    /// What would change the decision, in plain sentences.
    pub would_change: Vec<String>,
    /// How the decision moved as records came, oldest first; the last step is the decision as it stands.
    pub history: Vec<DecisionStep>,
    /// Release entries that people made for the load as it last went. They don't make the decision.
    pub released_by: Vec<EntryIx>,
}

impl Judgement {
    /// The hits that made the decision. Empty for a release.
    pub fn deciding(&self) -> &[RuleHit] {
        let effect = match self.decision {
            Decision::Release => return &[],
            Decision::Quarantine => Effect::Quarantine,
            Decision::Hold => Effect::Hold,
            Decision::Reject | Decision::Recall => Effect::Reject,
        };
        let n = self
            .hits
            .iter()
            .take_while(|hit| hit.effect == effect)
            .count();
        self.hits.get(..n).unwrap_or(&[])
    }
}

/// The judgement of every load.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Judgements {
    /// The moment up to which records count. `None` when the records carry no time at all.
    pub as_of: Option<NaiveDateTime>,
    /// One for each load of which a record had come by then, in the order of
    /// [`History::loads`](crate::reconcile::history::History::loads).
    pub loads: Vec<Judgement>,
}

impl Judgements {
    /// The judgement of a load.
    pub fn of(&self, load: LoadIx) -> Option<&Judgement> {
        self.loads
            .binary_search_by_key(&load, |judgement| judgement.load)
            .ok()
            .and_then(|at| self.loads.get(at))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_those_of_the_design() {
        // The five decisions of design.md, in order of seriousness.
        for (decision, word, participle) in [
            (Decision::Release, "release", "released"),
            (Decision::Quarantine, "quarantine", "quarantined"),
            (Decision::Hold, "hold", "held"),
            (Decision::Reject, "reject", "rejected"),
            (Decision::Recall, "recall", "recalled"),
        ] {
            assert_eq!(decision.word(), word);
            assert_eq!(decision.participle(), participle);
            assert_eq!(format!("{decision:>10}"), format!("{word:>10}"));
        }
        assert!(Decision::ALL.is_sorted());
        assert_eq!(Decision::ALL.len(), 5);
    }

    fn hit(rule: &'static str, effect: Effect) -> RuleHit {
        RuleHit {
            rule: RuleId(rule),
            effect,
            seen: "seen".into(),
            evidence: Vec::new(),
            remedy: "do this".into(),
        }
    }

    fn judged(load: usize, decision: Decision, hits: &[RuleHit]) -> Judgement {
        Judgement {
            load: LoadIx(load),
            policy: None,
            decision,
            hits: hits.to_vec(),
            met: Vec::new(),
            would_change: Vec::new(),
            history: Vec::new(),
            released_by: Vec::new(),
        }
    }

    #[test]
    fn hits_that_made_a_decision_are_those_of_its_effect() {
        let hits = [
            hit("bi-growth", Effect::Reject),
            hit("lot-expired", Effect::Hold),
            hit("not-signed", Effect::Hold),
            hit("bi-not-read", Effect::Quarantine),
            hit("load-run-again", Effect::Note),
        ];
        for (decision, hits, deciding) in [
            (Decision::Release, &hits[4..], &[][..]),
            (Decision::Quarantine, &hits[3..], &["bi-not-read"][..]),
            (Decision::Hold, &hits[1..], &["lot-expired", "not-signed"]),
            (Decision::Reject, &hits[..], &["bi-growth"]),
            (Decision::Recall, &hits[..], &["bi-growth"]),
        ] {
            let judgement = judged(0, decision, hits);
            let rules: Vec<_> = judgement.deciding().iter().map(|hit| hit.rule.0).collect();
            assert_eq!(rules, deciding, "{decision}");
        }
    }

    #[test]
    fn judgement_is_found_by_its_load() {
        let loads = [1, 3, 4].map(|load| judged(load, Decision::Hold, &[]));
        let judgements = Judgements {
            as_of: None,
            loads: loads.to_vec(),
        };
        for (load, is_there) in [
            (0, false),
            (1, true),
            (2, false),
            (3, true),
            (4, true),
            (5, false),
        ] {
            let found = judgements.of(LoadIx(load)).map(|one| one.load);
            assert_eq!(found, is_there.then_some(LoadIx(load)));
        }
    }

    #[test]
    fn evidence_keeps_its_places() {
        let span = |line| Span {
            file: FileId(0),
            line,
            line_start: 0,
            start: 0,
            end: 4,
        };
        assert_eq!(Evidence::at(span(3), "x").spans, [span(3)]);
        assert_eq!(
            Evidence::at_all([span(3), span(5)], "x").spans,
            [span(3), span(5)]
        );
        assert_eq!(Evidence::absent("x").spans, []);
        let place = |line| ReadingPlace {
            file: FileId(0),
            line,
        };
        let with = Evidence::absent("x").with_readings([place(7)]);
        assert_eq!(
            with.with_readings([place(8)]).readings,
            [place(7), place(8)]
        );
    }
}
