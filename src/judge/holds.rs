//! How long an answer holds that was given by the records as they stood at some moment, and what is kept for that long.
//!
//! Knows nothing of rules or loads. Read [`Holds`] first.

use chrono::NaiveDateTime;
use std::cell::OnceCell;

/// How long an answer holds that was given by the records as they stood at some moment, in order of length.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Holds {
    /// At that moment alone, as far as is known.
    Now,
    /// At every later moment before this one.
    Before(NaiveDateTime),
    /// At every later moment.
    ForEver,
}

impl Holds {
    /// Whether it still holds at a later moment; `None` is the end of time.
    pub fn at(self, later: Option<NaiveDateTime>) -> bool {
        match (self, later) {
            (Holds::Now, _) | (Holds::Before(_), None) => false,
            (Holds::Before(end), Some(later)) => later < end,
            (Holds::ForEver, _) => true,
        }
    }
}

/// Whether a moment is no earlier than another; `None` is the end of time. What held at a moment says nothing of an earlier
/// one.
pub fn is_no_earlier(now: Option<NaiveDateTime>, before: Option<NaiveDateTime>) -> bool {
    match (before, now) {
        (None, Some(_)) => false,
        (Some(before), Some(now)) => before <= now,
        (_, None) => true,
    }
}

/// What several rules ask of a case: found when it is first asked for, and kept for as long as it holds.
#[derive(Debug)]
pub struct Kept<T>(OnceCell<(T, Holds)>);

impl<T> Default for Kept<T> {
    fn default() -> Self {
        Kept(OnceCell::new())
    }
}

impl<T> Kept<T> {
    /// What is kept, and how long it holds. Found, if nothing is kept.
    pub fn or_find(&self, find: impl FnOnce() -> (T, Holds)) -> (&T, Holds) {
        let (found, holds) = self.0.get_or_init(find);
        (found, *holds)
    }

    /// Lets go of what does not hold at a later moment.
    pub fn go_on_to(&mut self, later: Option<NaiveDateTime>) {
        if self.0.get().is_some_and(|(_, holds)| !holds.at(later)) {
            self.0.take();
        }
    }
}
