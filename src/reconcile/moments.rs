//! A moment: a local time and the instant it stands for.
//!
//! Knows clocks and zones only, not units or loads. A written offset wins; else the zone tells; a local time that clocks
//! skipped or passed twice is told apart from a plain one and left to the caller to settle. Read [`read_stamp`] first.

use super::history::{KnownCycle, Moment};
use crate::record::cycle::Cycle;
use crate::record::stamp::Stamp;
use chrono::{DateTime, MappedLocalTime, NaiveDateTime, Offset, TimeDelta, TimeZone, Utc};
use chrono_tz::Tz;

/// What a stamp means in a zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meaning {
    /// One moment; without zone and offset its instant is not known.
    Plain(Moment),
    /// Clocks skipped this local time. The moment is that of a clock which had not yet been put forward: the offset is
    /// the one before the change.
    Skipped(Moment),
    /// Clocks passed this local time twice.
    Doubled {
        /// With the offset before the change (summer time).
        first: Moment,
        /// With the offset after it.
        second: Moment,
    },
}

impl Meaning {
    /// The moment if nothing tells more: the only one, or the first of two.
    pub fn first(self) -> Moment {
        match self {
            Meaning::Plain(moment) | Meaning::Skipped(moment) => moment,
            Meaning::Doubled { first, .. } => first,
        }
    }
}

/// Reads a stamp as a moment. A written offset wins over the zone; where both are known, the local time is the zone's,
/// so that a unit whose clock runs on UTC is counted to the right day.
pub fn read_stamp(stamp: &Stamp, zone: Option<Tz>) -> Meaning {
    if let Some(instant) = stamp.instant() {
        let utc = instant.to_utc();
        let local = match zone {
            Some(zone) => local_in(utc, zone),
            None => stamp.local,
        };
        return Meaning::Plain(Moment {
            local,
            utc: Some(utc),
        });
    }
    let with = |utc| Moment {
        local: stamp.local,
        utc,
    };
    let Some(zone) = zone else {
        return Meaning::Plain(with(None));
    };
    match zone.from_local_datetime(&stamp.local) {
        MappedLocalTime::Single(one) => Meaning::Plain(with(Some(one.to_utc()))),
        MappedLocalTime::Ambiguous(a, b) => {
            let (first, second) = if a <= b { (a, b) } else { (b, a) };
            Meaning::Doubled {
                first: with(Some(first.to_utc())),
                second: with(Some(second.to_utc())),
            }
        }
        MappedLocalTime::None => Meaning::Skipped(with(before_gap(stamp.local, zone))),
    }
}

/// The local time in a zone; the instant's own where the calendar ends.
fn local_in(utc: DateTime<Utc>, zone: Tz) -> NaiveDateTime {
    let offset = zone.offset_from_utc_datetime(&utc.naive_utc()).fix();
    utc.naive_utc()
        .checked_add_offset(offset)
        .unwrap_or_else(|| utc.naive_utc())
}

/// The offset east of UTC in seconds that a zone has at an instant.
fn offset_at(utc: DateTime<Utc>, zone: Tz) -> i64 {
    i64::from(
        zone.offset_from_utc_datetime(&utc.naive_utc())
            .fix()
            .local_minus_utc(),
    )
}

/// The instant of a skipped local time on a clock that still has the offset from before the gap. Gaps are an hour or
/// half an hour, and a whole day where a zone crossed the date line, so the search ends after 26 hours.
fn before_gap(local: NaiveDateTime, zone: Tz) -> Option<DateTime<Utc>> {
    (15..=26 * 60).step_by(15).find_map(|minutes| {
        let earlier = local.checked_sub_signed(TimeDelta::minutes(minutes))?;
        let found = zone.from_local_datetime(&earlier).latest()?;
        local
            .checked_sub_offset(found.offset().fix())
            .map(|naive| naive.and_utc())
    })
}

impl Moment {
    /// Seconds from this moment to another: between the instants where both are known, else between the local times.
    pub fn seconds_until(&self, later: &Moment) -> i64 {
        match (self.utc, later.utc) {
            (Some(a), Some(b)) => b.signed_duration_since(a).num_seconds(),
            _ => later.local.signed_duration_since(self.local).num_seconds(),
        }
    }

    /// The moment as one number of seconds: the instant's, or the local time's as if it were UTC. For comparisons in
    /// which a zone's offset does not matter.
    pub(super) fn rough_seconds(&self) -> i64 {
        self.utc
            .map_or(self.local.and_utc().timestamp(), |utc| utc.timestamp())
    }
}

impl KnownCycle {
    /// Seconds from its beginning to its end, across midnight and clock changes. Where it isn't known when the cycle
    /// began, this is what the unit's own clock says.
    pub fn seconds(&self) -> Option<i64> {
        match (&self.began, &self.ended) {
            (Some(began), Some(ended)) => Some(began.value.seconds_until(ended)),
            _ => self.cycle.ended.as_ref().map(|at| i64::from(at.value.0)),
        }
    }
}

/// By what moments of a list are compared, so that the order is one for all of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Axis {
    /// By instants: every moment has one.
    Utc,
    /// By local times: at least one moment lacks its instant.
    Wall,
}

impl Axis {
    /// The axis on which all of these can be compared.
    pub(super) fn of<'a>(moments: impl IntoIterator<Item = &'a Moment>) -> Self {
        if moments.into_iter().all(|moment| moment.utc.is_some()) {
            Axis::Utc
        } else {
            Axis::Wall
        }
    }

    /// A moment's place on the axis, in seconds.
    pub(super) fn seconds(self, moment: &Moment) -> i64 {
        match (self, moment.utc) {
            (Axis::Utc, Some(utc)) => utc.timestamp(),
            _ => moment.local.and_utc().timestamp(),
        }
    }
}

/// When a cycle ended that began at this moment.
///
/// [`crate::record::cycle::Elapsed`] counts what the clock on the strip went through. The parser takes out an hour that
/// the strip shows as stepped back, so when clocks go back the elapsed time is right as it is. When clocks go forward
/// the strip jumps from 01:00 to 02:00 and nothing on it tells a jump from an hour's wait; the zone does, and the jump
/// is taken out here, unless a line of the strip stands within the skipped hour: then the unit's clock did not jump.
pub(super) fn read_end(cycle: &Cycle, began: &Moment, zone: Option<Tz>) -> Option<Moment> {
    let elapsed = i64::from(cycle.ended.as_ref()?.value.0);
    if elapsed < 0 {
        return None;
    }
    let plain = |utc: Option<DateTime<Utc>>| {
        Some(Moment {
            local: began
                .local
                .checked_add_signed(TimeDelta::seconds(elapsed))?,
            utc: match utc {
                Some(utc) => Some(utc.checked_add_signed(TimeDelta::seconds(elapsed))?),
                None => None,
            },
        })
    };
    let (Some(utc), Some(zone)) = (began.utc, zone) else {
        return plain(began.utc);
    };
    let offset = offset_at(utc, zone);
    let follows_zone = cycle
        .started
        .as_ref()
        .and_then(|started| started.value.offset_seconds)
        .is_none_or(|printed| i64::from(printed) == offset);
    let late = utc.checked_add_signed(TimeDelta::seconds(elapsed))?;
    let gap = offset_at(late, zone).saturating_sub(offset);
    let without_gap = elapsed.saturating_sub(gap);
    let mut real = elapsed;
    // An hour that clocks went back and the strip, with few times on it, does not show is told by its total alone.
    let total = cycle
        .total
        .as_ref()
        .map(|total| i64::from(total.value.seconds));
    if follows_zone && gap < 0 && total == Some(without_gap) {
        real = without_gap;
    }
    if follows_zone && gap > 0 && gap <= elapsed {
        let early = utc.checked_add_signed(TimeDelta::seconds(without_gap))?;
        let has_gap = offset_at(early, zone) == offset_at(late, zone);
        if has_gap && !stands_in_gap(cycle, began.local, zone) {
            real = without_gap;
        }
    }
    let ended = utc.checked_add_signed(TimeDelta::seconds(real))?;
    Some(Moment {
        local: local_in(ended, zone),
        utc: Some(ended),
    })
}

/// Whether a line of the strip has a time that the zone skipped.
fn stands_in_gap(cycle: &Cycle, started: NaiveDateTime, zone: Tz) -> bool {
    let of_stages = cycle.stages.iter().flat_map(|stage| {
        std::iter::once(stage.began).chain(stage.readings.iter().map(|reading| reading.at))
    });
    let of_events = cycle.events.iter().map(|event| event.at);
    of_stages.chain(of_events).any(|at| {
        started
            .checked_add_signed(TimeDelta::seconds(i64::from(at.0)))
            .is_some_and(|wall| {
                matches!(
                    zone.from_local_datetime(&wall),
                    MappedLocalTime::<DateTime<Tz>>::None
                )
            })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reconcile::case::{an_hour_reading, cycle, local, stamp};

    #[test]
    fn written_offset_wins_over_the_zone() {
        let mut written = stamp("2026-07-01 07:00:00");
        written.offset_seconds = Some(0);
        let Meaning::Plain(moment) = read_stamp(&written, Some(Tz::Europe__London)) else {
            panic!("an offset leaves no doubt");
        };
        assert_eq!(moment.utc.unwrap().naive_utc(), local("2026-07-01 07:00"));
        assert_eq!(moment.local, local("2026-07-01 08:00"));
    }

    #[test]
    fn without_zone_and_offset_the_instant_is_not_known() {
        let written = stamp("2026-07-01 07:00");
        assert_eq!(
            read_stamp(&written, None),
            Meaning::Plain(Moment {
                local: written.local,
                utc: None
            })
        );
    }

    /// Samoa went from 29 to 31 December 2011 (IANA time zone database, file `australasia`).
    #[test]
    fn a_whole_day_may_be_skipped() {
        let written = stamp("2011-12-30 12:00");
        assert!(matches!(
            read_stamp(&written, Some(Tz::Pacific__Apia)),
            Meaning::Skipped(Moment { utc: Some(_), .. })
        ));
    }

    fn seconds(started: &str, elapsed: i32, zone: Tz) -> i64 {
        let cycle = cycle(1, "PL-1", 1, started).ended(elapsed).done();
        let began = read_stamp(&stamp(started), Some(zone)).first();
        let ended = read_end(&cycle, &began, Some(zone)).unwrap();
        began.seconds_until(&ended)
    }

    #[test]
    fn cycle_over_midnight_lasts_what_it_lasts() {
        assert_eq!(
            seconds("2026-03-12 23:40", 2_445, Tz::Europe__London),
            2_445
        );
    }

    // 29 March 2026: 00:59:59 GMT was followed by 02:00 BST. A strip from 00:40 to 02:30 shows 110 minutes; 50 went by.
    #[test]
    fn cycle_over_the_change_to_summer_time_loses_the_skipped_hour() {
        assert_eq!(
            seconds("2026-03-29 00:40", 110 * 60, Tz::Europe__London),
            50 * 60
        );
        // Lord Howe Island skips half an hour only: 4 October 2026, 02:00 to 02:30.
        assert_eq!(
            seconds("2026-10-04 01:40", 80 * 60, Tz::Australia__Lord_Howe),
            50 * 60
        );
    }

    #[test]
    fn line_within_the_skipped_hour_shows_that_the_clock_did_not_jump() {
        let mut cycle = cycle(1, "PL-1", 1, "2026-03-29 00:40")
            .ended(110 * 60)
            .done();
        cycle.stages.push(an_hour_reading(45 * 60));
        let zone = Some(Tz::Europe__London);
        let began = read_stamp(&stamp("2026-03-29 00:40"), zone).first();
        let ended = read_end(&cycle, &began, zone).unwrap();
        assert_eq!(began.seconds_until(&ended), 110 * 60);
        assert_eq!(ended.local, local("2026-03-29 03:30"));
    }

    // 25 October 2026: 01:59:59 BST was followed by 01:00 GMT. The parser has taken the step out already.
    #[test]
    fn cycle_over_the_change_from_summer_time_lasts_what_the_parser_counted() {
        assert_eq!(
            seconds("2026-10-25 00:40", 100 * 60, Tz::Europe__London),
            100 * 60
        );
        let cycle = cycle(1, "PL-1", 1, "2026-10-25 00:40")
            .ended(100 * 60)
            .done();
        let zone = Some(Tz::Europe__London);
        let began = read_stamp(&stamp("2026-10-25 00:40"), zone).first();
        assert_eq!(
            read_end(&cycle, &began, zone).unwrap().local,
            local("2026-10-25 01:20")
        );
    }

    #[test]
    fn total_tells_an_hour_that_the_strip_does_not_show() {
        let total = |seconds| {
            let mut cycle = cycle(1, "EO-1", 1, "2026-10-25 00:10").ended(7_200).done();
            cycle.total = Some(crate::record::Spanned::new(
                crate::record::cycle::Total {
                    seconds,
                    n_reading_lines: None,
                },
                cycle.opening,
            ));
            let zone = Some(Tz::Europe__London);
            let began = read_stamp(&stamp("2026-10-25 00:10"), zone).first();
            let ended = read_end(&cycle, &began, zone).unwrap();
            began.seconds_until(&ended)
        };
        assert_eq!(total(10_800), 10_800);
        assert_eq!(total(7_200), 7_200);
        assert_eq!(total(9_000), 7_200);
    }

    #[test]
    fn clock_on_utc_has_no_gap() {
        let mut cycle = cycle(1, "PL-1", 1, "2026-06-01 00:00")
            .ended(110 * 60)
            .done();
        let mut written = stamp("2026-03-29 00:40");
        written.offset_seconds = Some(3_600);
        cycle.started.as_mut().unwrap().value = written;
        let zone = Some(Tz::Europe__London);
        let began = read_stamp(&written, zone).first();
        let ended = read_end(&cycle, &began, zone).unwrap();
        assert_eq!(began.seconds_until(&ended), 110 * 60);
    }

    #[test]
    fn cycle_that_ends_as_it_begins_has_an_end_and_one_that_ends_before_has_none() {
        let zone = Some(Tz::Europe__London);
        let began = read_stamp(&stamp("2026-03-12 08:00"), zone).first();
        let ended = |elapsed| {
            let cycle = cycle(1, "PL-1", 1, "2026-03-12 08:00")
                .ended(elapsed)
                .done();
            read_end(&cycle, &began, zone)
        };
        assert_eq!(ended(0), Some(began));
        assert_eq!(ended(-1), None);
    }

    fn with_total(mut cycle: Cycle, seconds: u32) -> Cycle {
        let total = crate::record::cycle::Total {
            seconds,
            n_reading_lines: None,
        };
        cycle.total = Some(crate::record::Spanned::new(total, cycle.opening));
        cycle
    }

    #[test]
    fn total_does_not_lengthen_a_cycle_whose_clock_is_on_utc() {
        let zone = Some(Tz::Europe__London);
        let mut written = stamp("2026-10-24 23:10");
        written.offset_seconds = Some(0);
        let mut cycle = with_total(
            cycle(1, "EO-1", 1, "2026-10-24 23:10").ended(7_200).done(),
            10_800,
        );
        cycle.started.as_mut().unwrap().value = written;
        let began = read_stamp(&written, zone).first();
        let ended = read_end(&cycle, &began, zone).unwrap();
        assert_eq!(began.seconds_until(&ended), 7_200);
    }

    #[test]
    fn total_does_not_shorten_a_cycle_whose_clock_did_not_jump() {
        let zone = Some(Tz::Europe__London);
        let mut cycle = with_total(
            cycle(1, "PL-1", 1, "2026-03-29 00:40")
                .ended(110 * 60)
                .done(),
            50 * 60,
        );
        cycle.stages.push(an_hour_reading(45 * 60));
        let began = read_stamp(&stamp("2026-03-29 00:40"), zone).first();
        let ended = read_end(&cycle, &began, zone).unwrap();
        assert_eq!(began.seconds_until(&ended), 110 * 60);
    }

    #[test]
    fn short_cycle_into_the_skipped_hour_did_not_jump() {
        // From 00:55 on the strip shows ten minutes, which is less than the hour skipped.
        assert_eq!(seconds("2026-03-29 00:55", 600, Tz::Europe__London), 600);
    }

    #[test]
    fn seconds_of_a_cycle_are_real_ones_and_as_printed_where_its_begin_is_not_known() {
        let of = |started: &str| {
            let cycle = cycle(1, "PL-1", 1, started).ended(110 * 60).done();
            let site = crate::reconcile::case::london();
            let (history, _) = crate::reconcile::join_history(vec![cycle], Vec::new(), site);
            history.cycles[0].seconds()
        };
        assert_eq!(of("2026-03-29 00:40"), Some(50 * 60));
        assert_eq!(of(""), Some(110 * 60));
    }

    #[test]
    fn moments_are_one_number_by_their_instant_else_by_their_clock() {
        let zone = Some(Tz::America__New_York);
        let summer = read_stamp(&stamp("2026-07-01 08:00"), zone).first();
        let bare = read_stamp(&stamp("2026-07-01 08:00"), None).first();
        let utc = |text: &str| local(text).and_utc().timestamp();
        assert_eq!(summer.rough_seconds(), utc("2026-07-01 12:00"));
        assert_eq!(bare.rough_seconds(), utc("2026-07-01 08:00"));
        assert_eq!(Axis::of([&summer]), Axis::Utc);
        assert_eq!(Axis::of([&summer, &bare]), Axis::Wall);
        assert_eq!(Axis::Utc.seconds(&summer), utc("2026-07-01 12:00"));
        assert_eq!(Axis::Wall.seconds(&summer), utc("2026-07-01 08:00"));
    }
}
