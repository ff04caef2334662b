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

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::NaiveDate;

    fn at(hour: u32) -> NaiveDateTime {
        let day = NaiveDate::from_ymd_opt(2026, 3, 12).unwrap();
        day.and_hms_opt(hour, 0, 0).unwrap()
    }

    #[test]
    fn answer_holds_before_its_end_and_not_at_it() {
        for (holds, later, expected) in [
            (Holds::Now, Some(at(8)), false),
            (Holds::Now, None, false),
            (Holds::Before(at(9)), Some(at(8)), true),
            (Holds::Before(at(9)), Some(at(9)), false),
            (Holds::Before(at(9)), Some(at(10)), false),
            (Holds::Before(at(9)), None, false),
            (Holds::ForEver, Some(at(8)), true),
            (Holds::ForEver, None, true),
        ] {
            assert_eq!(holds.at(later), expected, "{holds:?} {later:?}");
        }
        // The shortest of several is the least.
        assert!(Holds::Now < Holds::Before(at(8)));
        assert!(Holds::Before(at(8)) < Holds::Before(at(9)));
        assert!(Holds::Before(at(9)) < Holds::ForEver);
    }

    #[test]
    fn end_of_time_is_later_than_every_moment() {
        for (now, before, expected) in [
            (Some(at(8)), Some(at(8)), true),
            (Some(at(9)), Some(at(8)), true),
            (Some(at(7)), Some(at(8)), false),
            (None, Some(at(8)), true),
            (None, None, true),
            (Some(at(8)), None, false),
        ] {
            assert_eq!(is_no_earlier(now, before), expected, "{now:?} {before:?}");
        }
    }

    #[test]
    fn what_is_kept_is_found_once_and_let_go_at_its_end() {
        let mut kept = Kept::default();
        assert_eq!(
            kept.or_find(|| (1, Holds::Before(at(9)))),
            (&1, Holds::Before(at(9)))
        );
        kept.go_on_to(Some(at(8)));
        assert_eq!(kept.or_find(|| (2, Holds::Now)).0, &1);
        kept.go_on_to(Some(at(9)));
        assert_eq!(kept.or_find(|| (2, Holds::ForEver)), (&2, Holds::ForEver));
        kept.go_on_to(None);
        assert_eq!(kept.or_find(|| (3, Holds::Now)).0, &2);
    }
}
