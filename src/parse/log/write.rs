//! Writes entries as a neutral log, as text and as a spreadsheet's CSV, so that reading them back gives the same
//! entries.
//!
//! Knows nothing of files or of where an entry came from. Control characters and line ends in text become spaces.
//! [`LogWriter`] writes entry by entry, for logs too long to hold; read [`write_entries`] first.

use super::column::{COLUMNS, OPENING};
use crate::measure::quantity::Duration;
use crate::measure::unit::DurationUnit;
use crate::parse::printout::write::{decimal_text, offset_text, scan_text, typed_lot};
use crate::parse::text::one_line;
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
        let ends_a_heading =
            (place.is_none() && self.place.is_some()) || (zone.is_none() && self.zone.is_some());
        if !self.opened || ends_a_heading {
            *self = LogWriter {
                opened: true,
                ..LogWriter::default()
            };
            writeln!(out, "{OPENING}")?;
        }
        if place != self.place {
            writeln!(out, "place: {}", place.as_deref().unwrap_or_default())?;
            self.place = place;
        }
        if zone != self.zone {
            writeln!(out, "zone: {}", zone.map_or("", |zone| zone.name()))?;
            self.zone = zone;
        }
        if let Some(date) = date
            && self.date != Some(date)
        {
            writeln!(out, "date: {}", date.format("%Y-%m-%d"))?;
            self.date = Some(date);
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
            rows.write_record(std::iter::once(OPENING).chain(COLUMNS))?;
        }
        Ok(CsvLogWriter { rows })
    }

    /// Writes one entry.
    ///
    /// # Errors
    /// Those of `out`.
    pub fn write_entry(&mut self, entry: &Entry) -> io::Result<()> {
        let mut parts = parts_of(entry);
        parts.push((OPENING, entry.body.word().to_owned()));
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
        for (_, cell) in &mut parts {
            // A spreadsheet would take it for a formula; the space makes it text, and readers take it off.
            if cell.starts_with(['=', '+', '-', '@']) {
                cell.insert(0, ' ');
            }
        }
        let columns = std::iter::once(OPENING).chain(COLUMNS);
        self.rows.write_record(columns.map(|column| {
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
    if matches!(entry.body, EntryBody::Remark) {
        text.push_str(&remark_text(entry));
        return text;
    }
    text.push_str(&about(entry).unwrap_or_default());
    for (key, value) in parts_of(entry) {
        text.push_str(", ");
        text.push_str(key);
        text.push(' ');
        text.push_str(&quoted_where_needed(&value));
    }
    // Space that ASCII does not have is part of a word, at its end too.
    text.trim_ascii_end().to_owned()
}

/// A remark is free text up to the line's end. That of a spreadsheet may have an author, whom the text form has no key
/// for: the mark is kept within the text.
fn remark_text(entry: &Entry) -> String {
    let note = entry.note.as_ref().map(|note| one_line(&note.value));
    let by = entry.by.as_ref().map(|by| format!("by {}", by.value));
    let text = [note, by].into_iter().flatten().collect::<Vec<_>>();
    let text = text.join(", ");
    if text.is_empty() {
        "-".to_owned()
    } else {
        one_line(&text)
    }
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
    match &entry.body {
        EntryBody::Load(start) => {
            parts.text("unit", entry.unit.as_ref().map(|unit| unit.value.as_str()));
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
            let d_value = bi.d_value_minutes.as_ref();
            parts.text("d-value", d_value.map(|d| minutes_text(d.value)).as_deref());
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
        // A key without a value can't be read, and says nothing.
        if let Some(text) = text.map(one_line).filter(|text| !text.is_empty()) {
            self.0.push((key, text));
        }
    }

    fn shown<T: std::fmt::Display>(&mut self, key: &'static str, field: Option<&Spanned<T>>) {
        self.text(key, field.map(|field| field.value.to_string()).as_deref());
    }

    fn stamp(&mut self, key: &'static str, field: Option<&Spanned<Stamp>>) {
        if let Some(field) = field {
            let date = field.value.local.format("%Y-%m-%d");
            let (time, offset) = (time_text(&field.value), offset_text(&field.value));
            self.text(key, Some(&format!("{date} {time}{offset}")));
        }
    }

    fn lot(&mut self, field: Option<&Spanned<LotIdentity>>) {
        let Some(field) = field else { return };
        self.text("scan", scan_text(&field.value).as_deref());
        self.text("lot", typed_lot(&field.value));
        let expiry = field.value.expiry;
        self.text(
            "expiry",
            expiry
                .map(|date| date.format("%Y-%m-%d").to_string())
                .as_deref(),
        );
    }
}

/// A length of time in minutes, in the unit in which it is read back as the same number.
fn minutes_text(minutes: f64) -> String {
    let seconds = minutes * 60.0;
    for unit in [
        DurationUnit::Minute,
        DurationUnit::Second,
        DurationUnit::Hour,
    ] {
        let reads_back = |read| Duration::new(read, unit).seconds() / 60.0 == minutes;
        if let Some(number) = decimal_text(seconds / unit.factor(), reads_back)
            && number.parse().is_ok_and(reads_back)
        {
            return format!("{number} {}", unit.symbol());
        }
    }
    decimal_text(minutes, |_| false).map_or(String::new(), |number| format!("{number} min"))
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnose::{FileId, Span};
    use crate::parse::{Strictness, read_bytes};
    use crate::record::consumable::ConsumableKind;
    use crate::record::entry::{
        BiGrowth, BiResult, BiRole, CiEndpoint, CiPosition, CiResult, Content, LoadStart,
        LotAction, LotChange,
    };
    use crate::record::line_set::LineSet;
    use crate::record::name::{LoadNumber, LotNumber, Program, StaffMark, UnitName};
    use chrono::TimeDelta;
    use proptest::option::of;
    use proptest::prelude::*;
    use proptest::sample::select;
    use std::sync::Arc;

    fn nowhere<T>(value: T) -> Spanned<T> {
        let span = Span {
            file: FileId(0),
            line: 0,
            line_start: 0,
            start: 0,
            end: 0,
        };
        Spanned::new(value, span)
    }

    fn field<T: std::fmt::Debug>(
        strategy: impl Strategy<Value = T>,
    ) -> impl Strategy<Value = Option<Spanned<T>>> {
        of(strategy.prop_map(nowhere))
    }

    /// Entries as JSON without what says where they stand.
    fn said(entries: &[Entry]) -> serde_json::Value {
        fn strip(value: &mut serde_json::Value) {
            match value {
                serde_json::Value::Object(fields) => {
                    for key in ["span", "lines"] {
                        fields.remove(key);
                    }
                    fields.values_mut().for_each(strip);
                }
                serde_json::Value::Array(values) => values.iter_mut().for_each(strip),
                _ => {}
            }
        }
        let mut value = serde_json::to_value(entries).unwrap();
        strip(&mut value);
        value
    }

    fn text() -> impl Strategy<Value = String> {
        "[!-~äßé°λ][ -~äßé°λ\u{a0}\u{2028}]{0,30}[!-~äßé°λ]".prop_filter("patient data", |text| {
            !crate::parse::text::looks_like_patient_data(text.as_bytes())
        })
    }

    fn name() -> impl Strategy<Value = String> {
        "[A-Za-z0-9.#/_=+@é-]{1,16}"
    }

    fn stamp() -> impl Strategy<Value = Stamp> {
        (1990_i32..2090, 1_u32..=365, 0_u32..86_400, any::<bool>()).prop_map(
            |(year, day, second, to_the_minute)| {
                let second = if to_the_minute {
                    second / 60 * 60
                } else {
                    second
                };
                let date = NaiveDate::from_yo_opt(year, day).unwrap();
                Stamp::local(date.and_hms_opt(0, 0, 0).unwrap() + TimeDelta::seconds(second.into()))
            },
        )
    }

    fn lot() -> impl Strategy<Value = LotIdentity> {
        let gtin = select(vec!["09506000134352", "00614141123452"]);
        // A label may hold quotation marks and commas: they are of the GS1 character set 82.
        let label = "[A-Za-z0-9!\"%&'()*+,./:;=>?_-]{1,20}";
        let scanned = (of(gtin), of(label), of("[A-Z0-9/+\",-]{1,20}"))
            .prop_filter("something scanned", |(gtin, lot, serial)| {
                gtin.is_some() || lot.is_some() || serial.is_some()
            });
        let typed = name().prop_map(|lot| (None, Some(lot), None));
        let expiry = stamp().prop_map(|stamp| stamp.local.date());
        (prop_oneof![scanned, typed], of(expiry)).prop_map(|((gtin, lot, serial), expiry)| {
            LotIdentity {
                gtin: gtin.map(str::to_owned),
                lot: lot.map(LotNumber),
                expiry,
                serial,
            }
        })
    }

    fn load_start() -> impl Strategy<Value = EntryBody> {
        (field(0_u32..999_999_999), field(text().prop_map(Program)))
            .prop_map(|(counter, program)| EntryBody::from(LoadStart { counter, program }))
    }

    fn content() -> impl Strategy<Value = EntryBody> {
        (
            field(text()),
            field(0_u32..9_999),
            field(0_u32..9_999),
            field(text()),
            field(lot()),
            field(any::<bool>()),
            field(text()),
        )
            .prop_map(|(set, n_items, n_packages, packaging, lot, implant, to)| {
                EntryBody::from(Content {
                    set,
                    n_items,
                    n_packages,
                    packaging,
                    packaging_lot: lot,
                    implant,
                    destination: to,
                })
            })
    }

    fn ci() -> impl Strategy<Value = EntryBody> {
        (
            field(select(CiPosition::ALL)),
            field(1_u8..=6),
            field(text()),
            field(lot()),
            field(select(CiEndpoint::ALL)),
        )
            .prop_map(|(position, ci_type, set, lot, endpoint)| {
                EntryBody::from(CiResult {
                    position,
                    ci_type,
                    set,
                    lot,
                    endpoint,
                })
            })
    }

    fn bi() -> impl Strategy<Value = EntryBody> {
        let offset = select(vec![None, Some(0), Some(3_600), Some(-16_200)]);
        let incubated = (stamp(), offset).prop_map(|(stamp, offset_seconds)| Stamp {
            offset_seconds,
            ..stamp
        });
        let population = (1_u32..999_999, 0_i32..6).prop_map(|(n, power)| {
            let spores = f64::from(n) * 10_f64.powi(power);
            spores.min(1e12)
        });
        // Read in minutes, seconds or hours.
        let d_value = prop_oneof![
            (1_u32..9_999).prop_map(|n| Duration::new(f64::from(n) / 100.0, DurationUnit::Minute)),
            (1_u32..9_999).prop_map(|n| Duration::new(f64::from(n) / 10.0, DurationUnit::Second)),
            (1_u32..9_999).prop_map(|n| Duration::new(f64::from(n) / 1000.0, DurationUnit::Hour)),
        ]
        .prop_map(|duration| duration.seconds() / 60.0);
        (
            field(select(BiRole::ALL)),
            field(lot()),
            field(incubated),
            field(stamp()),
            field(select(BiGrowth::ALL)),
            field(population),
            field(d_value),
        )
            .prop_map(|(role, lot, incubated, read, growth, population, d)| {
                EntryBody::from(BiResult {
                    role,
                    lot,
                    incubated,
                    read,
                    growth,
                    population,
                    d_value_minutes: d,
                })
            })
    }

    fn lot_change() -> impl Strategy<Value = EntryBody> {
        (
            select(ConsumableKind::ALL),
            field(lot()),
            field(select(LotAction::ALL)),
        )
            .prop_map(|(kind, lot, action)| {
                EntryBody::from(LotChange {
                    consumable: Some(nowhere(kind)),
                    lot,
                    action,
                })
            })
    }

    /// Any entry that a reader gives.
    fn entry() -> impl Strategy<Value = Entry> {
        let body = prop_oneof![
            load_start(),
            content(),
            ci(),
            bi(),
            lot_change(),
            select(vec![
                EntryBody::Release,
                EntryBody::Hold,
                EntryBody::Recall,
                EntryBody::Service,
                EntryBody::Remark,
            ]),
        ];
        let place = select(vec![
            None,
            Some("Fennmarsh General"),
            Some("annexe, \"old\" wing"),
        ]);
        let zone = select(vec![None, Some(Tz::UTC), Some(Tz::Europe__London)]);
        let names = (name(), field(name().prop_map(UnitName)));
        let by = field(name().prop_map(StaffMark));
        (body, place, zone, names, by, field(text()), field(stamp())).prop_map(
            |(body, place, zone, (about, unit), by, note, written)| {
                let (is_load, is_service) = (
                    matches!(body, EntryBody::Load(_)),
                    matches!(body, EntryBody::Service),
                );
                let has_load =
                    !is_service && !matches!(body, EntryBody::Lot(_) | EntryBody::Remark);
                let is_remark = matches!(body, EntryBody::Remark);
                Entry {
                    lines: LineSet::new(FileId(0)),
                    span: nowhere(()).span,
                    written,
                    place: place.map(|place| Arc::new(nowhere(place.to_owned()))),
                    zone: zone.map(|zone| Arc::new(nowhere(zone))),
                    load: has_load.then(|| nowhere(LoadNumber(about.clone()))),
                    unit: match (is_load, is_service) {
                        (true, _) => unit,
                        (_, true) => Some(nowhere(UnitName(about))),
                        _ => None,
                    },
                    // The text form has no key for who wrote a remark.
                    by: if is_remark { None } else { by },
                    note: match note {
                        None if is_remark => Some(Box::new(nowhere("-".to_owned()))),
                        note => note.map(Box::new),
                    },
                    body,
                }
            },
        )
    }

    fn read_back(bytes: &[u8]) -> Vec<Entry> {
        let records = read_bytes(bytes, Strictness::Infer);
        assert_eq!(records.unread, vec![], "{}", String::from_utf8_lossy(bytes));
        records.entries
    }

    proptest! {
        #[test]
        fn a_text_log_is_read_back_as_it_was(entries in prop::collection::vec(entry(), 0..6)) {
            let mut bytes = Vec::new();
            write_entries(&entries, &mut bytes).unwrap();
            let text = String::from_utf8_lossy(&bytes);
            prop_assert_eq!(said(&read_back(&bytes)), said(&entries), "{}", text);
        }

        #[test]
        fn a_spreadsheet_is_read_back_as_it_was(entries in prop::collection::vec(entry(), 0..6)) {
            let mut bytes = Vec::new();
            write_entries_csv(&entries, &mut bytes).unwrap();
            let text = String::from_utf8_lossy(&bytes);
            prop_assert_eq!(said(&read_back(&bytes)), said(&entries), "{}", text);
        }

        #[test]
        fn no_text_breaks_out_of_its_line(note in ".*", place in ".*") {
            let entry = Entry {
                lines: LineSet::new(FileId(0)),
                span: nowhere(()).span,
                written: None,
                place: Some(Arc::new(nowhere(place))),
                zone: None,
                load: Some(nowhere(LoadNumber("L1".to_owned()))),
                unit: None,
                by: None,
                note: Some(Box::new(nowhere(note))),
                body: EntryBody::Hold,
            };
            let mut bytes = Vec::new();
            write_entries(std::slice::from_ref(&entry), &mut bytes).unwrap();
            let text = String::from_utf8(bytes).unwrap();
            prop_assert!((2..=3).contains(&text.lines().count()), "{text:?}");
            prop_assert!(text.lines().all(|line| !line.contains(char::is_control)));
        }
    }

    /// A heading holds until the next of its kind (indicator-log.md), so that only a new opening line ends it; a date is
    /// written where it changes.
    #[test]
    fn log_is_opened_again_only_where_a_heading_has_to_end() {
        let remark = |place: Option<&str>, zone: Option<Tz>, day: u32| {
            let text = format!("loadbook log 1\n2026-03-{day:02} 08:00 remark: seen\n");
            let mut entry = read_bytes(text.as_bytes(), Strictness::Strict)
                .entries
                .remove(0);
            entry.place = place.map(|place| Arc::new(nowhere(place.to_owned())));
            entry.zone = zone.map(|zone| Arc::new(nowhere(zone)));
            entry
        };
        let (here, london) = (Some("Fennmarsh General"), Some(Tz::Europe__London));
        let entries = [
            remark(None, None, 12),
            remark(here, None, 12),
            remark(here, london, 12),
            remark(here, london, 13),
            remark(here, None, 13),
            remark(None, london, 13),
            remark(None, Some(Tz::UTC), 13),
        ];
        let mut written = Vec::new();
        write_entries(&entries, &mut written).unwrap();
        let expected = "loadbook log 1\ndate: 2026-03-12\n08:00 remark: seen\n\
            place: Fennmarsh General\n08:00 remark: seen\n\
            zone: Europe/London\n08:00 remark: seen\n\
            date: 2026-03-13\n08:00 remark: seen\n\
            loadbook log 1\nplace: Fennmarsh General\ndate: 2026-03-13\n08:00 remark: seen\n\
            loadbook log 1\nzone: Europe/London\ndate: 2026-03-13\n08:00 remark: seen\n\
            zone: UTC\n08:00 remark: seen\n";
        assert_eq!(String::from_utf8(written).unwrap(), expected);
    }

    #[test]
    fn disk_that_is_full_at_the_end_of_a_spreadsheet_is_told() {
        struct Full;
        impl io::Write for Full {
            fn write(&mut self, _: &[u8]) -> io::Result<usize> {
                Err(io::ErrorKind::StorageFull.into())
            }
            fn flush(&mut self) -> io::Result<()> {
                Ok(())
            }
        }
        // The rows are few, and wait until the log is finished.
        let log = CsvLogWriter::new(Full, CsvHeader::Write).unwrap();
        assert!(log.finish().is_err());
    }

    #[test]
    fn a_remark_of_a_spreadsheet_keeps_its_author() {
        // The CSV example of grammars/indicator-log.md has such a remark.
        let csv = "loadbook log 1,about,by,note\nremark,,HB,\"second reader, off today\"\n";
        let entries = read_back(csv.as_bytes());
        let (mut sheet, mut text) = (Vec::new(), Vec::new());
        write_entries_csv(&entries, &mut sheet).unwrap();
        assert_eq!(said(&read_back(&sheet)), said(&entries));
        write_entries(&entries, &mut text).unwrap();
        assert_eq!(
            String::from_utf8(text).unwrap(),
            "loadbook log 1\nremark: second reader, off today, by HB\n"
        );
    }

    #[test]
    fn no_cell_of_a_spreadsheet_is_a_formula() {
        // OWASP, "CSV Injection": cells that begin with =, +, -, @ may be run as formulas (from memory).
        let log =
            b"loadbook log 1\nhold: -1, note \"=SUM(A1,A2)\"\nremark: @cmd\nhold: L1, note +1\n";
        let entries = read_back(log);
        let mut sheet = Vec::new();
        write_entries_csv(&entries, &mut sheet).unwrap();
        let mut rows = csv::Reader::from_reader(&sheet[..]);
        for row in rows.records() {
            for cell in &row.unwrap() {
                assert!(!cell.starts_with(['=', '+', '-', '@']), "{cell}");
            }
        }
        assert_eq!(said(&read_back(&sheet)), said(&entries));
    }
}
