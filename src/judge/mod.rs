//! History + policy → a decision for each load, with the rules that made it and the lines that prove it.
//!
//! Knows nothing of formats, files, statistics or screens, and reads no clock: what is "now" is the newest record or an
//! argument. A decision says what the records support; people release. Read [`decision::Judgement`] first, then
//! [`judge_history`].

pub mod bi_course;
pub mod bi_test;
pub mod case;
pub mod decide;
pub mod decision;
pub mod growth_scope;
pub mod hearing;
pub mod holds;
pub mod policy;
pub mod publication;
pub mod recall;
pub mod rulebook;
pub mod rules;
pub mod sight;
pub mod spore;
pub mod stages;
pub mod steam_band;
#[cfg(test)]
mod trial;
pub mod used_lot;

use crate::parallel::Threads;
use crate::reconcile::history::History;
use chrono::NaiveDateTime;
use decision::Judgements;
use policy::PolicyBook;

/// Judges every load of a history by the policy in force on its day.
///
/// `as_of` leaves out whatever was recorded later; without it everything counts, and the newest record is "now". Times
/// are compared on the local clocks of the records.
pub fn judge_history(
    history: &History,
    book: &PolicyBook,
    as_of: Option<NaiveDateTime>,
) -> Judgements {
    judge_history_on(history, book, as_of, Threads::available())
}

/// Judges as [`judge_history`] does, on so many threads.
pub fn judge_history_on(
    history: &History,
    book: &PolicyBook,
    as_of: Option<NaiveDateTime>,
    threads: Threads,
) -> Judgements {
    decide::judge_loads(history, book, as_of, threads)
}
