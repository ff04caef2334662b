//! What a case saw and what was signed for it, as facts in place of an English sentence, so that a report in another
//! language can say the same.
//!
//! [`super::attention`] fills them beside its sentences. This module draws no words. Read [`Told`] first.

use crate::diagnose::codes::Code;
use crate::judge::rulebook::RuleId;
use crate::reconcile::history::KnownEntry;
use crate::record::cycle::{Cycle, LeakResult, Outcome, Purpose};
use crate::record::entry::{BiResult, CiResult, EntryBody};
use chrono::NaiveDateTime;

/// What was seen.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Told {
    /// Nothing that is told as facts.
    #[default]
    Nothing,
    /// Biological indicators, each with who wrote the entry.
    Bis(Vec<(BiResult, Option<String>)>),
    /// Chemical indicators.
    Cis(Vec<CiResult>),
    /// What rules of the policy found.
    Judged {
        /// The rules that made the decision, each with what it saw as an English sentence.
        hits: Vec<(RuleId, String)>,
        /// For how many seconds a biological indicator has been incubating.
        waits_seconds: Option<i64>,
        /// The load number that this one may be a slip for.
        near: Option<String>,
    },
    /// The load lies in the recall scope of a growing indicator.
    InScope {
        /// The loads whose indicators grew.
        grown: Vec<String>,
    },
    /// A cycle that did not end as it should, or a test that was failed.
    Ended {
        /// What it was run for.
        purpose: Purpose,
        /// Its outcome; `None` for a printout that was torn off.
        outcome: Option<Outcome>,
        /// The last stage that was printed.
        last_stage: Option<String>,
        /// The result of a leak test.
        leak: Option<LeakResult>,
    },
    /// Printouts that are missing.
    Missing {
        /// The first counter.
        first: u32,
        /// The last counter.
        last: u32,
        /// The cycles on both sides.
        between: Vec<String>,
    },
    /// Two load numbers that may be one.
    NearMiss {
        /// In the log.
        in_log: String,
        /// On the strip.
        on_strip: String,
    },
    /// Lines that could not be read, or something else that reading and joining noticed.
    Noticed {
        /// Which kind.
        code: Code,
    },
}

impl Told {
    /// What entries about a load's indicators say.
    pub fn of_entries<'a>(entries: impl IntoIterator<Item = &'a KnownEntry>) -> Self {
        let mut bis = Vec::new();
        let mut cis = Vec::new();
        for known in entries {
            let by = known.entry.by.as_ref().map(|by| by.value.0.clone());
            match &known.entry.body {
                EntryBody::Bi(bi) => bis.push(((**bi).clone(), by)),
                EntryBody::Ci(ci) => cis.push((**ci).clone()),
                _ => {}
            }
        }
        match (bis.is_empty(), cis.is_empty()) {
            (false, _) => Told::Bis(bis),
            (true, false) => Told::Cis(cis),
            (true, true) => Told::Nothing,
        }
    }

    /// How a cycle ended.
    pub fn of_ending(cycle: &Cycle) -> Self {
        Told::Ended {
            purpose: cycle.purpose,
            outcome: cycle.outcome.as_ref().map(|outcome| outcome.value.clone()),
            last_stage: cycle
                .stages
                .last()
                .map(|stage| stage.name.word().to_owned()),
            leak: cycle.leak.as_ref().map(|leak| leak.value),
        }
    }
}

/// What people have done about a case.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Signed {
    /// Nothing was signed.
    #[default]
    Nothing,
    /// Someone released the load.
    Released(Signature),
    /// Someone put it on hold.
    OnHold(Signature),
    /// Someone recalled it.
    Recalled(Signature),
    /// The load was run again as this cycle.
    RunAgain(String),
    /// The test was passed since, with this cycle.
    PassedSince(String),
    /// The test was not passed since.
    NotPassedSince,
    /// The printout has no load number.
    NoLoadNumber,
    /// Printouts were not found.
    NotFound,
    /// Numbers were not joined.
    NotJoined,
    /// Lines were not read.
    NotRead,
    /// A doubt is not settled.
    NotSettled,
}

/// Who signed and when.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Signature {
    /// Who.
    pub by: Option<String>,
    /// When, on the local clock.
    pub at: Option<NaiveDateTime>,
}

impl Signed {
    /// What the last decision entry of a load says.
    pub fn of_decision(decision: Option<&KnownEntry>) -> Self {
        let Some(known) = decision else {
            return Signed::Nothing;
        };
        let signature = Signature {
            by: known.entry.by.as_ref().map(|by| by.value.0.clone()),
            at: known.written.map(|written| written.local),
        };
        match known.entry.body {
            EntryBody::Release => Signed::Released(signature),
            EntryBody::Recall => Signed::Recalled(signature),
            _ => Signed::OnHold(signature),
        }
    }
}
