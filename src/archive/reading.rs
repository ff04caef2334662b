//! What was read from a file, in numbers, so that a later loadbook can say what it reads differently.
//!
//! Read [`read_particulars`] first, then [`list_changes`].

use super::fingerprint::Fingerprint;
use crate::record::cycle::Cycle;
use crate::record::entry::Entry;
use chrono::{Duration, NaiveDateTime};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::io;

/// What was read from a file, by whom.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reading {
    /// By whom.
    pub by: Reader,
    /// Lines.
    pub n_lines: u64,
    /// Printouts.
    pub n_cycles: u64,
    /// Readings of their stages.
    pub n_readings: u64,
    /// Log entries.
    pub n_entries: u64,
    /// Lines that could not be read.
    pub n_unread_lines: u64,
    /// The oldest time on a record.
    pub oldest: Option<NaiveDateTime>,
    /// The newest time on a record.
    pub newest: Option<NaiveDateTime>,
    /// The SHA-256 of all records as JSON, so that a change of any value shows.
    pub records_sha256: Fingerprint,
}

/// Which loadbook, and by what.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reader {
    /// The version of loadbook.
    pub loadbook: String,
    /// The version of its parsers.
    pub parser: u32,
    /// The layout, if the file was read by one.
    pub layout: Option<LayoutMark>,
    /// Whether slips of a scan were put right.
    pub scan: Scan,
}

/// A layout by which a file was read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LayoutMark {
    /// Its name.
    pub name: String,
    /// The SHA-256 of its own text.
    pub sha256: Fingerprint,
    /// Where it comes from.
    pub from: LayoutOrigin,
}

/// Where a layout comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LayoutOrigin {
    /// It comes with loadbook, and was found to fit.
    Fitting,
    /// It comes with loadbook, and was named by a person.
    Named,
    /// It is the site's own, and is kept in the archive.
    Kept,
}

/// Whether slips of a scan were put right.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Scan {
    /// They were not.
    Left,
    /// They were.
    Repaired,
}

/// The particulars of records that were read from one file with the number 0.
///
/// # Errors
/// A record that JSON can't hold; there is none.
pub fn read_particulars(
    by: Reader,
    n_lines: u64,
    cycles: &[Cycle],
    entries: &[Entry],
    n_unread_lines: u64,
) -> io::Result<Reading> {
    let mut hash = HashWriter(Sha256::new());
    for cycle in cycles {
        serde_json::to_writer(&mut hash, cycle)?;
        hash.0.update(b"\n");
    }
    for entry in entries {
        serde_json::to_writer(&mut hash, entry)?;
        hash.0.update(b"\n");
    }
    let times = || {
        let of_cycles = cycles.iter().flat_map(cycle_times);
        let of_entries = entries
            .iter()
            .filter_map(|entry| Some(entry.written.as_ref()?.value.local));
        of_cycles.chain(of_entries)
    };
    let n_readings: usize = cycles
        .iter()
        .flat_map(|cycle| &cycle.stages)
        .map(|stage| stage.readings.len())
        .sum();
    Ok(Reading {
        by,
        n_lines,
        n_cycles: cycles.len() as u64,
        n_readings: n_readings as u64,
        n_entries: entries.len() as u64,
        n_unread_lines,
        oldest: times().min(),
        newest: times().max(),
        records_sha256: Fingerprint::of_hash(hash.0),
    })
}

/// When a cycle began and when it ended.
fn cycle_times(cycle: &Cycle) -> impl Iterator<Item = NaiveDateTime> {
    let began = cycle.started.as_ref().map(|started| started.value.local);
    let ended = began.zip(cycle.ended.as_ref()).and_then(|(began, ended)| {
        began.checked_add_signed(Duration::seconds(i64::from(ended.value.0)))
    });
    began.into_iter().chain(ended)
}

struct HashWriter(Sha256);

impl io::Write for HashWriter {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.update(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// Something that one reading has otherwise than an earlier one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// What.
    pub what: &'static str,
    /// What it was.
    pub before: String,
    /// What it is.
    pub after: String,
}

/// What a later reading has otherwise than an earlier one of the same file. Only that another loadbook read it, with
/// the same result, is no change.
pub fn list_changes(before: &Reading, after: &Reading) -> Vec<Change> {
    let counts = [
        ("cycles", before.n_cycles, after.n_cycles),
        ("readings", before.n_readings, after.n_readings),
        ("log entries", before.n_entries, after.n_entries),
        ("unread lines", before.n_unread_lines, after.n_unread_lines),
        ("lines", before.n_lines, after.n_lines),
    ];
    let mut changes: Vec<Change> = counts
        .into_iter()
        .filter(|(_, before, after)| before != after)
        .map(|(what, before, after)| Change {
            what,
            before: before.to_string(),
            after: after.to_string(),
        })
        .collect();
    let layout = |reading: &Reading| match &reading.by.layout {
        Some(layout) => format!("{} ({})", layout.name, layout.sha256.short()),
        None => "none".to_owned(),
    };
    let time = |time: Option<NaiveDateTime>| {
        time.map_or_else(|| "none".to_owned(), |time| time.to_string())
    };
    for (what, before, after) in [
        ("layout", layout(before), layout(after)),
        ("oldest record", time(before.oldest), time(after.oldest)),
        ("newest record", time(before.newest), time(after.newest)),
    ] {
        if before != after {
            changes.push(Change {
                what,
                before,
                after,
            });
        }
    }
    if before.records_sha256 != after.records_sha256 {
        changes.push(Change {
            what: "values of the records",
            before: before.records_sha256.short().to_owned(),
            after: after.records_sha256.short().to_owned(),
        });
    }
    changes
}
