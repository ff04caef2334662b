//! How moments and lengths of time are said: dates as ISO 8601 writes them, lengths in the two largest units.

use crate::reconcile::history::Moment;
use crate::record::cycle::{Cycle, Elapsed};
use chrono::{NaiveDateTime, TimeDelta};

/// A local date and time to the minute: `2026-03-12 07:41`.
pub fn to_minute(local: NaiveDateTime) -> String {
    local.format("%Y-%m-%d %H:%M").to_string()
}

/// A moment to the minute on the local clock, or nothing.
pub fn of_moment(moment: Option<Moment>) -> Option<String> {
    moment.map(|moment| to_minute(moment.local))
}

/// A moment within a cycle as its own clock tells it, `07:41:30`, or the time since the start where the printout does
/// not say when that was: `+0:00:10`.
pub fn on_cycle_clock(cycle: &Cycle, at: Elapsed) -> String {
    let started = cycle.started.as_ref().map(|started| started.value.local);
    match started
        .and_then(|started| started.checked_add_signed(TimeDelta::seconds(i64::from(at.0))))
    {
        Some(local) => local.format("%H:%M:%S").to_string(),
        None => format!("+{}", clock_length(i64::from(at.0))),
    }
}

/// A length as a clock shows it: `0:40:45`.
pub fn clock_length(seconds: i64) -> String {
    let sign = if seconds < 0 { "-" } else { "" };
    let seconds = seconds.unsigned_abs();
    format!(
        "{sign}{}:{:02}:{:02}",
        seconds / 3600,
        seconds / 60 % 60,
        seconds % 60
    )
}

/// A length in words, in its two largest units: `40 min 45 s`, `3 h 5 min`, `2 d 4 h`.
pub fn length(seconds: i64) -> String {
    let sign = if seconds < 0 { "-" } else { "" };
    let s = seconds.unsigned_abs();
    let (large, large_unit, small, small_unit) = match s {
        0..60 => return format!("{sign}{s} s"),
        60..3600 => (s / 60, "min", s % 60, "s"),
        3600..86_400 => (s / 3600, "h", s / 60 % 60, "min"),
        _ => (s / 86_400, "d", s / 3600 % 24, "h"),
    };
    match small {
        0 => format!("{sign}{large} {large_unit}"),
        _ => format!("{sign}{large} {large_unit} {small} {small_unit}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The lengths are those of the international system's minute, hour and day (BIPM, The International System of
    /// Units, 9th edition 2019, table 8): 60 s, 3600 s, 86 400 s.
    #[test]
    fn lengths_are_said_in_their_two_largest_units() {
        for (seconds, said) in [
            (0, "0 s"),
            (59, "59 s"),
            (60, "1 min"),
            (2445, "40 min 45 s"),
            (3600, "1 h"),
            (86_399, "23 h 59 min"),
            (86_400, "1 d"),
            (187_200, "2 d 4 h"),
            (-90, "-1 min 30 s"),
        ] {
            assert_eq!(length(seconds), said);
        }
        assert_eq!(clock_length(2445), "0:40:45");
        assert_eq!(length(i64::MIN).chars().next(), Some('-'));
    }
}
