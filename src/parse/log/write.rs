//! Writes entries as a neutral log, as text and as a spreadsheet's CSV, so that reading them back gives the same
//! entries.
//!
//! Knows nothing of files or of where an entry came from. Control characters and line ends in text become spaces.
//! [`LogWriter`] writes entry by entry, for logs too long to hold; read [`write_entries`] first.

use crate::parse::printout::write::{decimal_text, one_line, scan_text};
use crate::record::Spanned;
use crate::record::consumable::LotIdentity;
use crate::record::entry::{Entry, EntryBody};
use crate::record::stamp::Stamp;
use chrono::{NaiveDate, Timelike};
use chrono_tz::Tz;
use std::io;

/// Writes entries as a text log, from its opening line on.
///
/// # Errors
/// Those of `out`.
pub fn write_entries(entries: &[Entry], out: &mut impl io::Write) -> io::Result<()> {
    let mut log = LogWriter::default();
    entries
        .iter()
        .try_for_each(|entry| log.write_entry(entry, out))
}

/// Writes entries as a CSV log with its header row.
///
/// # Errors
/// Those of `out`.
pub fn write_entries_csv(entries: &[Entry], out: &mut impl io::Write) -> io::Result<()> {
    let mut log = CsvLogWriter::new(out, CsvHeader::Write)?;
    entries
        .iter()
        .try_for_each(|entry| log.write_entry(entry))?;
    log.finish()
}

/// Writes a text log entry by entry, with headings where they change.
#[derive(Debug, Clone, Default)]
pub struct LogWriter {
    opened: bool,
    place: Option<String>,
    zone: Option<Tz>,
    date: Option<NaiveDate>,
}

impl LogWriter {
    /// Writes one entry, and before it whatever opening line and headings it needs.
    ///
    /// # Errors
    /// Those of `out`.
    pub fn write_entry(&mut self, entry: &Entry, out: &mut impl io::Write) -> io::Result<()> {
        let place = entry.place.as_ref().map(|place| one_line(&place.value));
        let place = place.filter(|place| !place.is_empty());
        let zone = entry.zone.as_ref().map(|zone| zone.value);
        let date = entry.written.as_ref().map(|stamp| stamp.value.local.date());
        // A heading holds until the next of its kind, so only a new opening line can end it.
        let ends_a_heading = (place.is_none() && self.place.is_some())
            || (zone.is_none() && self.zone.is_some())
            || (date.is_none() && self.date.is_some());
        if !self.opened || ends_a_heading {
            *self = LogWriter {
                opened: true,
                ..LogWriter::default()
            };
            writeln!(out, "loadbook log 1")?;
        }
        if place != self.place {
            writeln!(out, "place: {}", place.as_deref().unwrap_or_default())?;
            self.place = place;
        }
        if zone != self.zone {
            writeln!(out, "zone: {}", zone.map_or("", |zone| zone.name()))?;
            self.zone = zone;
        }
        if date != self.date {
            if let Some(date) = date {
                writeln!(out, "date: {}", date.format("%Y-%m-%d"))?;
            }
            self.date = date;
        }
        writeln!(out, "{}", entry_text(entry))
    }
}

/// Whether a CSV log begins with its header row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CsvHeader {
    /// It does.
    Write,
    /// The rows continue a log whose header is there already.
    Leave,
}

/// The columns of a CSV log, in order.
pub const CSV_COLUMNS: [&str; 30] = [
    "loadbook log 1",
    "date",
    "time",
    "about",
    "place",
    "zone",
    "unit",
    "counter",
    "program",
    "set",
    "items",
    "packages",
    "packaging",
    "lot",
    "expiry",
    "scan",
    "implant",
    "to",
    "position",
    "type",
    "endpoint",
    "role",
    "incubated",
    "read",
    "result",
    "population",
    "d-value",
    "action",
    "by",
    "note",
];

/// Writes a CSV log entry by entry.
pub struct CsvLogWriter<W: io::Write> {
    rows: csv::Writer<W>,
}

impl<W: io::Write> CsvLogWriter<W> {
    /// A log into `out`.
    ///
    /// # Errors
    /// Those of `out`.
    pub fn new(out: W, header: CsvHeader) -> io::Result<Self> {
        let mut rows = csv::Writer::from_writer(out);
        if header == CsvHeader::Write {
            rows.write_record(CSV_COLUMNS)?;
        }
        Ok(CsvLogWriter { rows })
    }

    /// Writes one entry.
    ///
    /// # Errors
    /// Those of `out`.
    pub fn write_entry(&mut self, entry: &Entry) -> io::Result<()> {
        let mut parts = parts_of(entry);
        parts.push(("loadbook log 1", entry.body.word().to_owned()));
        if let Some(stamp) = &entry.written {
            let local = stamp.value.local;
            parts.push(("date", local.format("%Y-%m-%d").to_string()));
            parts.push(("time", time_text(&stamp.value)));
        }
        if let Some(about) = about(entry) {
            parts.push(("about", about));
        }
        if let Some(place) = &entry.place {
            parts.push(("place", one_line(&place.value)));
        }
        if let Some(zone) = &entry.zone {
            parts.push(("zone", zone.value.name().to_owned()));
        }
        self.rows.write_record(CSV_COLUMNS.map(|column| {
            parts
                .iter()
                .find(|(key, _)| *key == column)
                .map_or("", |(_, value)| value.as_str())
        }))?;
        Ok(())
    }

    /// Hands everything on to `out`.
    ///
    /// # Errors
    /// Those of `out`.
    pub fn finish(mut self) -> io::Result<()> {
        self.rows.flush()
    }
}

fn entry_text(entry: &Entry) -> String {
    let mut text = String::new();
    if let Some(stamp) = &entry.written {
        text.push_str(&time_text(&stamp.value));
        text.push(' ');
    }
    text.push_str(entry.body.word());
    text.push_str(": ");
    text.push_str(&about(entry).unwrap_or_default());
    for (key, value) in parts_of(entry) {
        text.push_str(", ");
        text.push_str(key);
        text.push(' ');
        text.push_str(&quoted_where_needed(&value));
    }
    text.trim_end().to_owned()
}

/// What the entry is about: a load number, a kind of consumable or a unit.
fn about(entry: &Entry) -> Option<String> {
    let about = match &entry.body {
        EntryBody::Lot(change) => change.consumable.as_ref().map(|kind| kind.value.word()),
        EntryBody::Service => entry.unit.as_ref().map(|unit| unit.value.as_str()),
        _ => entry.load.as_ref().map(|load| load.value.as_str()),
    };
    about.map(one_line)
}

/// The parts of an entry in order: the key, and the value as it is read.
fn parts_of(entry: &Entry) -> Vec<(&'static str, String)> {
    let mut parts = Parts(Vec::new());
    if !matches!(entry.body, EntryBody::Service) {
        parts.text("unit", entry.unit.as_ref().map(|unit| unit.value.as_str()));
    }
    match &entry.body {
        EntryBody::Load(start) => {
            parts.shown("counter", start.counter.as_ref());
            parts.shown("program", start.program.as_ref());
        }
        EntryBody::Content(content) => {
            parts.shown("set", content.set.as_ref());
            parts.shown("items", content.n_items.as_ref());
            parts.shown("packages", content.n_packages.as_ref());
            parts.shown("packaging", content.packaging.as_ref());
            parts.lot(content.packaging_lot.as_ref());
            let implant = content.implant.as_ref();
            parts.text(
                "implant",
                implant.map(|yes| if yes.value { "yes" } else { "no" }),
            );
            parts.shown("to", content.destination.as_ref());
        }
        EntryBody::Ci(ci) => {
            parts.text("position", ci.position.as_ref().map(|f| f.value.word()));
            parts.shown("type", ci.ci_type.as_ref());
            parts.shown("set", ci.set.as_ref());
            parts.lot(ci.lot.as_ref());
            parts.text("endpoint", ci.endpoint.as_ref().map(|f| f.value.word()));
        }
        EntryBody::Bi(bi) => {
            parts.text("role", bi.role.as_ref().map(|f| f.value.word()));
            parts.lot(bi.lot.as_ref());
            parts.stamp("incubated", bi.incubated.as_ref());
            parts.stamp("read", bi.read.as_ref());
            parts.text("result", bi.growth.as_ref().map(|f| f.value.word()));
            if let Some(number) = bi.population.as_ref() {
                // Spores are counted in powers of ten, and so are they written.
                parts.text("population", Some(&format!("{:e}", number.value)));
            }
            if let Some(minutes) = bi.d_value_minutes.as_ref()
                && let Some(number) = decimal_text(minutes.value, |read| read == minutes.value)
            {
                parts.text("d-value", Some(&format!("{number} min")));
            }
        }
        EntryBody::Lot(change) => {
            parts.lot(change.lot.as_ref());
            parts.text("action", change.action.as_ref().map(|f| f.value.word()));
        }
        EntryBody::Release
        | EntryBody::Hold
        | EntryBody::Recall
        | EntryBody::Service
        | EntryBody::Remark => {}
    }
    parts.text("by", entry.by.as_ref().map(|by| by.value.as_str()));
    parts.text("note", entry.note.as_ref().map(|note| note.value.as_str()));
    parts.0
}

struct Parts(Vec<(&'static str, String)>);

impl Parts {
    fn text(&mut self, key: &'static str, text: Option<&str>) {
        if let Some(text) = text {
            self.0.push((key, one_line(text)));
        }
    }

    fn shown<T: std::fmt::Display>(&mut self, key: &'static str, field: Option<&Spanned<T>>) {
        self.text(key, field.map(|field| field.value.to_string()).as_deref());
    }

    fn stamp(&mut self, key: &'static str, field: Option<&Spanned<Stamp>>) {
        if let Some(field) = field {
            let date = field.value.local.format("%Y-%m-%d");
            self.text(key, Some(&format!("{date} {}", time_text(&field.value))));
        }
    }

    fn lot(&mut self, field: Option<&Spanned<LotIdentity>>) {
        let Some(field) = field else { return };
        self.text("scan", scan_text(&field.value).as_deref());
        self.text("lot", field.value.lot.as_ref().map(|lot| lot.as_str()));
        let expiry = field.value.expiry;
        self.text(
            "expiry",
            expiry
                .map(|date| date.format("%Y-%m-%d").to_string())
                .as_deref(),
        );
    }
}

/// Hours and minutes, with the seconds where there are any.
fn time_text(stamp: &Stamp) -> String {
    let form = if stamp.local.second() == 0 {
        "%H:%M"
    } else {
        "%H:%M:%S"
    };
    stamp.local.format(form).to_string()
}

/// In quotation marks, those within doubled, where the value could not stand as it is.
fn quoted_where_needed(value: &str) -> String {
    if value.is_empty() || value.contains([',', '"']) {
        format!("\"{}\"", value.replace('"', "\"\""))
    } else {
        value.to_owned()
    }
}
