//! What happened to a unit about a day: service, new software, another lot. Knows nothing of why it is asked. Read
//! [`find_alongside`] first.

use super::frame::{CycleRow, Frame, UNKNOWN};
use super::phrase::Phrase;
use crate::reconcile::history::History;
use chrono::NaiveDate;

/// How many days apart two things are that may belong together.
const WITHIN_DAYS: i64 = 3;

/// Service entries, new software and other lots of sterilant of a unit within three days of a day.
pub fn find_alongside(history: &History, frame: &Frame, unit: &str, day: NaiveDate) -> Vec<Phrase> {
    let near = |other: NaiveDate| other.signed_duration_since(day).num_days().abs() <= WITHIN_DAYS;
    let mut said = Vec::new();
    let services = history
        .units
        .iter()
        .filter(|one| one.name.as_str() == unit)
        .flat_map(|one| &one.services)
        .filter_map(|ix| history.entries.get(ix.0));
    for known in services {
        if let Some(written) = known.written.filter(|written| near(written.local.date())) {
            let note = known
                .entry
                .note
                .as_ref()
                .map_or("", |note| note.value.as_str());
            said.push(
                Phrase::of("alongside-service")
                    .and("day", written.local.date())
                    .and("note", note),
            );
        }
    }
    let mut own: Vec<&CycleRow> = frame.cycles.iter().filter(|row| row.unit == unit).collect();
    own.sort_by_key(|row| (row.began, row.cycle));
    let mut software: Option<&str> = None;
    let mut lot: Option<&str> = None;
    for row in own {
        let is_near = row.day().is_some_and(near);
        if row.software != UNKNOWN {
            if software.is_some_and(|before| before != row.software) && is_near {
                said.push(
                    Phrase::of("alongside-software")
                        .and("version", &row.software)
                        .and("day", row.day()),
                );
            }
            software = Some(&row.software);
        }
        if let Some(now) = row.sterilant_lot.as_deref() {
            if lot.is_some_and(|before| before != now) && is_near {
                said.push(
                    Phrase::of("alongside-lot")
                        .and("lot", now)
                        .and("day", row.day()),
                );
            }
            lot = Some(now);
        }
    }
    said
}
