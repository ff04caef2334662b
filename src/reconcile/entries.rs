//! The log's entries, each with when it was written, in order.
//!
//! Knows entries and zones, not printouts. Where a local hour came twice, an entry that stands below a later one of the
//! same file is of the second. Read [`arrange_entries`] first.

use super::Site;
use super::history::{KnownEntry, Moment};
use super::moments::{Axis, Meaning, read_stamp};
use super::said::place;
use crate::diagnose::codes::Code;
use crate::diagnose::{Diagnostic, FileId};
use crate::record::entry::Entry;

/// Puts entries in order of time, then of their place in the input.
pub(super) fn arrange_entries(
    mut entries: Vec<Entry>,
    site: Site,
    diagnostics: &mut Vec<Diagnostic>,
) -> Vec<KnownEntry> {
    entries.sort_by(|a, b| {
        place(&a.span)
            .cmp(&place(&b.span))
            // Two entries at one place don't come from a parser; they still get one order.
            .then_with(|| format!("{a:?}").cmp(&format!("{b:?}")))
    });
    let mut above: Option<(FileId, Moment)> = None;
    let mut known: Vec<KnownEntry> = Vec::with_capacity(entries.len());
    for entry in entries {
        let written = read_written(&entry, above, site, diagnostics);
        if let Some(written) = written {
            above = Some((entry.span.file, written));
        }
        known.push(KnownEntry { entry, written });
    }
    let axis = Axis::of(known.iter().filter_map(|known| known.written.as_ref()));
    // A stable sort, so that entries of one time stay in the order of their places; by keys apart, as entries are large.
    known.sort_by_cached_key(|known| match &known.written {
        Some(written) => (false, axis.seconds(written)),
        None => (true, 0),
    });
    known
}

fn read_written(
    entry: &Entry,
    above: Option<(FileId, Moment)>,
    site: Site,
    diagnostics: &mut Vec<Diagnostic>,
) -> Option<Moment> {
    let written = entry.written.as_ref()?;
    let zone = entry.zone.as_ref().map(|zone| zone.value).or(site.zone);
    match read_stamp(&written.value, zone) {
        Meaning::Plain(moment) => Some(moment),
        Meaning::Skipped(moment) => {
            diagnostics.push(
                Diagnostic::at(
                    Code::LocalHourSkipped,
                    written.span,
                    "an entry of the log has a local time that does not exist",
                )
                .caption("clocks skipped this time")
                .help("correct the time in the log"),
            );
            Some(moment)
        }
        Meaning::Doubled { first, second } => {
            let follows = above.is_some_and(|(file, above)| {
                file == entry.span.file
                    && first.seconds_until(&above) > 0
                    && above.seconds_until(&second) >= 0
            });
            let (moment, why) = if follows {
                (
                    second,
                    "the second is taken, because the entry above it is later than the first",
                )
            } else {
                (
                    first,
                    "nothing tells which of the two is meant, and the first is taken",
                )
            };
            diagnostics.push(
                Diagnostic::at(
                    Code::LocalHourDoubled,
                    written.span,
                    format!("an entry of the log has a local time that came twice; {why}"),
                )
                .caption("clocks passed this time twice"),
            );
            Some(moment)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reconcile::case::{LOG, STRIPS, ci, local, london, release, service};
    use crate::record::entry::CiPosition;

    #[test]
    fn entries_are_sorted_by_time_and_those_without_come_last() {
        let mut diagnostics = Vec::new();
        let entries = vec![
            release(1, "", "A-1").done(),
            release(2, "2026-03-12 09:00", "A-1").done(),
            service(3, "2026-03-12 08:00", "PL-1").done(),
            ci(4, "2026-03-12 08:00", "A-1", CiPosition::External).done(),
        ];
        let known = arrange_entries(entries, london(), &mut diagnostics);
        let lines: Vec<u32> = known.iter().map(|known| known.entry.span.line).collect();
        assert_eq!(lines, [3, 4, 2, 1]);
        assert!(diagnostics.is_empty());
    }

    // 25 October 2026: from 02:00 BST clocks in London went back to 01:00 GMT.
    #[test]
    fn entry_below_a_later_one_is_of_the_second_doubled_hour() {
        let mut diagnostics = Vec::new();
        let entries = vec![
            release(1, "2026-10-25 01:50", "A-1").done(),
            release(2, "2026-10-25 01:10", "A-2").done(),
            release(3, "2026-10-25 02:10", "A-3").done(),
        ];
        let known = arrange_entries(entries, london(), &mut diagnostics);
        let utc: Vec<_> = known
            .iter()
            .map(|known| known.written.unwrap().utc.unwrap().naive_utc())
            .collect();
        assert_eq!(
            utc,
            [
                local("2026-10-25 00:50"),
                local("2026-10-25 01:10"),
                local("2026-10-25 02:10")
            ]
        );
        assert_eq!(diagnostics.len(), 2);
        assert!(diagnostics[1].headline.contains("the second is taken"));
    }

    #[test]
    fn zone_of_the_log_wins_over_the_site() {
        let entries = vec![
            release(1, "2026-07-01 08:00", "A-1")
                .zone(chrono_tz::Tz::Europe__Berlin)
                .done(),
        ];
        let known = arrange_entries(entries, london(), &mut Vec::new());
        assert_eq!(
            known[0].written.unwrap().utc.unwrap().naive_utc(),
            local("2026-07-01 06:00")
        );
    }

    // The same night: 01:30 came at 00:30 and at 01:30 UTC.
    #[test]
    fn only_a_later_entry_of_the_same_file_within_the_hour_makes_it_the_second() {
        let second = |above: &str, file: FileId| {
            let mut first = release(1, above, "A-1").done();
            first.span.file = file;
            let entries = vec![first, release(2, "2026-10-25 01:30", "A-2").done()];
            let known = arrange_entries(entries, london(), &mut Vec::new());
            let of_two = known.iter().find(|known| known.entry.span.line == 2);
            let utc = of_two.unwrap().written.unwrap().utc.unwrap();
            utc.naive_utc() == local("2026-10-25 01:30")
        };
        assert!(second("2026-10-25 01:31", LOG));
        assert!(!second("2026-10-25 01:31", STRIPS));
        assert!(!second("2026-10-25 01:30", LOG));
        assert!(!second("2026-10-25 00:50", LOG));
        // Later than both.
        assert!(!second("2026-10-25 03:00", LOG));
    }
}
