//! Rules' answers → a decision. (Filled in next.)

use super::decision::Judgements;
use super::policy::PolicyBook;
use crate::reconcile::history::History;
use chrono::NaiveDateTime;

/// Judges every load.
pub fn judge_loads(
    history: &History,
    book: &PolicyBook,
    as_of: Option<NaiveDateTime>,
) -> Judgements {
    let _ = (history, book);
    Judgements {
        as_of,
        loads: Vec::new(),
    }
}
