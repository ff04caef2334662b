//! The department's days: when it is open, who is on which shift.
//!
//! Knows nothing of units. The General works two shifts on weekdays and one short one at the weekend; the annexe works
//! one shift on weekdays and is closed at the weekend (common practice, no source).

use super::chance::Chance;
use chrono::{Datelike, Days, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta, Timelike, Weekday};

/// Where a unit stands and a log is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Site {
    /// Fennmarsh General.
    General,
    /// Its day-surgery annexe.
    Annexe,
}

impl Site {
    /// Its name, as printouts and logs have it.
    pub fn place(self) -> &'static str {
        match self {
            Site::General => "Fennmarsh General",
            Site::Annexe => "Fennmarsh day-surgery annexe",
        }
    }

    /// Its name in the names of files.
    pub fn file_stem(self) -> &'static str {
        match self {
            Site::General => "fennmarsh-general",
            Site::Annexe => "day-surgery-annexe",
        }
    }
}

/// A shift.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Shift {
    /// From seven in the morning.
    Early,
    /// From two in the afternoon.
    Late,
}

/// The shift that a time of day falls into.
pub fn shift_of(at: NaiveDateTime) -> Shift {
    if at.hour() < 14 {
        Shift::Early
    } else {
        Shift::Late
    }
}

/// Whether a day is a Saturday or a Sunday.
pub fn is_weekend(date: NaiveDate) -> bool {
    matches!(date.weekday(), Weekday::Sat | Weekday::Sun)
}

/// Whether a site works on a day.
pub fn is_open(site: Site, date: NaiveDate) -> bool {
    site == Site::General || !is_weekend(date)
}

/// The next day on which a site works, after this one.
pub fn next_open_day(site: Site, date: NaiveDate) -> NaiveDate {
    let mut next = date;
    for _ in 0..7 {
        next = next.checked_add_days(Days::new(1)).unwrap_or(next);
        if is_open(site, next) {
            break;
        }
    }
    next
}

/// A date and a time of day in minutes after midnight.
pub fn at_minute(date: NaiveDate, minute: i32) -> NaiveDateTime {
    date.and_time(NaiveTime::MIN) + TimeDelta::minutes(minute.into())
}

/// The same moment, or the first one after it at which someone is there to write.
pub fn first_staffed(site: Site, at: NaiveDateTime, chance: &mut Chance) -> NaiveDateTime {
    let opens = 7 * 60 + chance.whole(15, 50);
    let closes = if site == Site::Annexe {
        17
    } else if is_weekend(at.date()) {
        15
    } else {
        22
    };
    if !is_open(site, at.date()) || at.hour() >= closes {
        at_minute(next_open_day(site, at.date()), opens)
    } else if at.hour() < 7 {
        at_minute(at.date(), opens)
    } else {
        at
    }
}

/// The mark of someone who is there.
pub fn staff_at(site: Site, at: NaiveDateTime, chance: &mut Chance) -> &'static str {
    let marks: &[&str] = match (site, is_weekend(at.date()), shift_of(at)) {
        (Site::Annexe, _, _) => &["NP", "TG"],
        (Site::General, true, _) => &["LW", "CD"],
        (Site::General, false, Shift::Early) => &["HB", "MK", "JT"],
        (Site::General, false, Shift::Late) => &["RS", "AO", "X3"],
    };
    chance.pick(marks).copied().unwrap_or("HB")
}
