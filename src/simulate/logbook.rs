//! The log in the making: entries as technicians write them, their slips, and the order they come to stand in.
//!
//! Entries about days to come (a BI is read a day after its load) wait in a queue that holds no more than some days.
//! Read [`Logbook`] first.

use super::calendar::{Site, at_minute, next_open_day};
use super::chance::Chance;
use super::strip::nowhere;
use super::truth::{Slip, Truth};
use crate::diagnose::FileId;
use crate::parse::log::write::{CsvHeader, CsvLogWriter, LogWriter};
use crate::record::entry::{
    BiGrowth, BiResult, BiRole, CiEndpoint, CiPosition, CiResult, Content, Entry, EntryBody,
    LoadStart, LotAction, LotChange,
};
use crate::record::line_set::LineSet;
use crate::record::name::{LoadNumber, Program, StaffMark, UnitName};
use crate::record::stamp::Stamp;
use crate::simulate::contents::PickedSet;
use crate::simulate::lots::{Lot, Supply};
use chrono::{NaiveDate, NaiveDateTime, Timelike};
use chrono_tz::Tz;
use std::collections::BTreeMap;
use std::io;
use std::sync::Arc;

/// The zone of every clock.
pub const ZONE: Tz = Tz::Europe__London;

/// An entry that says nothing yet but when and where it was written.
pub fn blank_entry(site: Site, at: NaiveDateTime, by: &str, body: EntryBody) -> Entry {
    let minute = at.with_second(0).unwrap_or(at);
    Entry {
        lines: LineSet::new(FileId(0)),
        span: nowhere(()).span,
        written: Some(nowhere(Stamp::local(minute))),
        place: Some(Arc::new(nowhere(site.place().to_owned()))),
        zone: Some(Arc::new(nowhere(ZONE))),
        load: None,
        unit: None,
        by: (!by.is_empty()).then(|| nowhere(StaffMark(by.to_owned()))),
        note: None,
        body,
    }
}

/// What all entries about one load share.
#[derive(Debug, Clone)]
pub struct LoadPen<'a> {
    /// The site.
    pub site: Site,
    /// The load number.
    pub load: &'a str,
}

impl LoadPen<'_> {
    fn entry(&self, at: NaiveDateTime, by: &str, body: EntryBody) -> Entry {
        Entry {
            load: Some(nowhere(LoadNumber(self.load.to_owned()))),
            ..blank_entry(self.site, at, by, body)
        }
    }

    /// The load goes into a unit.
    pub fn start(
        &self,
        at: NaiveDateTime,
        by: &str,
        unit: &str,
        counter: u32,
        program: &str,
    ) -> Entry {
        let body = EntryBody::from(LoadStart {
            counter: Some(nowhere(counter)),
            program: Some(nowhere(Program(program.to_owned()))),
        });
        Entry {
            unit: Some(nowhere(UnitName(unit.to_owned()))),
            ..self.entry(at, by, body)
        }
    }

    /// A set is in it.
    pub fn content(
        &self,
        at: NaiveDateTime,
        set: &PickedSet,
        packaging_lot: Option<&Lot>,
        to: &str,
    ) -> Entry {
        let family = set.family;
        let implant = family.class == super::contents::SetClass::Implant;
        let body = EntryBody::from(Content {
            set: Some(nowhere(set.name())),
            n_items: Some(nowhere(family.n_items.unsigned_abs())),
            n_packages: Some(nowhere(family.n_packages.unsigned_abs())),
            packaging: Some(nowhere(family.packaging.word().to_owned())),
            // The expiry of packaging is written once, when the lot is opened.
            packaging_lot: packaging_lot.map(|lot| {
                let mut identity = lot.identity();
                identity.expiry = None;
                nowhere(identity)
            }),
            implant: Some(nowhere(implant)),
            destination: Some(nowhere(to.to_owned())),
        });
        self.entry(at, "", body)
    }

    /// A chemical indicator was read.
    pub fn ci(
        &self,
        at: NaiveDateTime,
        by: &str,
        position: CiPosition,
        set: Option<&PickedSet>,
        lot: &Lot,
        endpoint: CiEndpoint,
    ) -> Entry {
        let body = EntryBody::from(CiResult {
            position: Some(nowhere(position)),
            ci_type: Some(nowhere(match position {
                CiPosition::External => 1,
                CiPosition::Internal => 4,
                CiPosition::TestPack => 2,
            })),
            set: set.map(|set| nowhere(set.name())),
            lot: Some(nowhere(lot.identity())),
            endpoint: Some(nowhere(endpoint)),
        });
        self.entry(at, by, body)
    }

    /// A biological indicator goes into the incubator.
    pub fn bi_in(&self, at: NaiveDateTime, by: &str, role: BiRole, lot: &Lot) -> Entry {
        let minute = at.with_second(0).unwrap_or(at);
        let body = EntryBody::from(BiResult {
            role: Some(nowhere(role)),
            lot: Some(nowhere(lot.identity())),
            incubated: Some(nowhere(Stamp::local(minute))),
            read: None,
            growth: None,
            population: None,
            d_value_minutes: None,
        });
        self.entry(at, by, body)
    }

    /// It is read.
    pub fn bi_read(
        &self,
        at: NaiveDateTime,
        by: &str,
        role: BiRole,
        lot: &Lot,
        incubated: NaiveDateTime,
        growth: BiGrowth,
    ) -> Entry {
        let mut entry = self.bi_in(incubated, by, role, lot);
        let stamp = Stamp::local(at.with_second(0).unwrap_or(at));
        if let EntryBody::Bi(bi) = &mut entry.body {
            bi.read = Some(nowhere(stamp));
            bi.growth = Some(nowhere(growth));
        }
        entry.written = Some(nowhere(stamp));
        entry
    }

    /// Someone decides: release, hold or recall.
    pub fn decision(&self, at: NaiveDateTime, by: &str, body: EntryBody, note: &str) -> Entry {
        Entry {
            note: (!note.is_empty()).then(|| Box::new(nowhere(note.to_owned()))),
            ..self.entry(at, by, body)
        }
    }
}

/// A lot is opened or finished.
pub fn lot_entry(
    site: Site,
    at: NaiveDateTime,
    by: &str,
    supply: Supply,
    lot: &Lot,
    action: LotAction,
) -> Entry {
    let body = EntryBody::from(LotChange {
        consumable: Some(nowhere(supply.kind())),
        lot: Some(nowhere(lot.identity())),
        action: Some(nowhere(action)),
    });
    blank_entry(site, at, by, body)
}

/// A unit is serviced.
pub fn service_entry(site: Site, at: NaiveDateTime, unit: &str, note: &str) -> Entry {
    Entry {
        unit: Some(nowhere(UnitName(unit.to_owned()))),
        note: Some(Box::new(nowhere(note.to_owned()))),
        ..blank_entry(site, at, "X9", EntryBody::Service)
    }
}

/// Anything else worth noting.
pub fn remark_entry(site: Site, at: NaiveDateTime, note: &str) -> Entry {
    Entry {
        note: Some(Box::new(nowhere(note.to_owned()))),
        ..blank_entry(site, at, "", EntryBody::Remark)
    }
}

/// How often each slip of the hand happens to a load.
const TRANSPOSED_RATE: f64 = 0.006;
const LETTER_O_RATE: f64 = 0.006;
const MISSING_RATE: f64 = 0.008;
const LATE_RATE: f64 = 0.010;
const MISSPELT_RATE: f64 = 0.003;

struct Queued {
    entry: Entry,
    misspelt: bool,
}

/// The log of a department.
#[derive(Default)]
pub struct Logbook {
    waiting: BTreeMap<(NaiveDateTime, u64), (Site, Queued)>,
    held_page: Vec<Queued>,
    n_queued: u64,
    n_written: usize,
    /// The file that each site's log is being written to, and its headings.
    open: BTreeMap<Site, (String, LogWriter)>,
}

impl Logbook {
    /// Takes an entry.
    pub fn take(&mut self, site: Site, entry: Entry) {
        self.queue(site, entry, false);
    }

    fn queue(&mut self, site: Site, entry: Entry, misspelt: bool) {
        let Some(at) = written_at(&entry) else { return };
        self.n_queued += 1;
        let queued = Queued { entry, misspelt };
        self.waiting.insert((at, self.n_queued), (site, queued));
    }

    /// Takes all entries about one load, with a slip of the hand now and then.
    pub fn take_load(
        &mut self,
        (site, unit): (Site, &str),
        mut entries: Vec<Entry>,
        end: NaiveDateTime,
        chance: &mut Chance,
        truth: &mut Truth,
    ) {
        let is_written = |entry: &Entry| written_at(entry).is_some_and(|at| at < end);
        let mut misspelt = None;
        let dice = chance.share();
        let indicators: Vec<usize> = entries
            .iter()
            .enumerate()
            .filter(|(_, entry)| is_written(entry) && matches!(entry.body, EntryBody::Ci(_)))
            .map(|(ix, _)| ix)
            .collect();
        let chosen = chance.pick(&indicators).copied();
        let slip_of = |entry: &Entry, slip: Slip, said: String, truth: &mut Truth| {
            let load = entry.load.as_ref().map(|load| load.value.0.clone());
            truth.slip(slip, load.unwrap_or_default(), written_at(entry), said);
        };
        let mut below = TRANSPOSED_RATE;
        if let Some(ix) = chosen {
            if dice < below {
                if let Some(entry) = entries.get_mut(ix)
                    && let Some(load) = &mut entry.load
                    && let Some(wrong) = transposed(&load.value.0, chance)
                {
                    let right = std::mem::replace(&mut load.value.0, wrong.clone());
                    let at = written_at(entry);
                    truth.slip(Slip::Transposed, right, at, format!("written `{wrong}`"));
                }
            } else if dice < below + LETTER_O_RATE {
                if let Some(entry) = entries.get_mut(ix)
                    && let Some(load) = &mut entry.load
                {
                    let wrong = load.value.0.replacen('0', "O", 1);
                    let right = std::mem::replace(&mut load.value.0, wrong.clone());
                    let at = written_at(entry);
                    truth.slip(Slip::LetterO, right, at, format!("written `{wrong}`"));
                }
            } else {
                below += LETTER_O_RATE + MISSING_RATE;
                if dice < below {
                    let entry = entries.remove(ix);
                    slip_of(&entry, Slip::Missing, said_of_ci(&entry), truth);
                } else if dice < below + LATE_RATE {
                    let mut said = 0;
                    for entry in &mut entries {
                        if let EntryBody::Ci(_) = entry.body
                            && let Some(at) = written_at(entry)
                        {
                            let late = at_minute(next_open_day(site, at.date()), 7 * 60 + 10);
                            entry.written = Some(nowhere(Stamp::local(late)));
                            said += 1;
                        }
                    }
                    if let Some(entry) = entries.get(ix) {
                        let said = format!("{said} CI entries written the next working day");
                        slip_of(entry, Slip::Late, said, truth);
                    }
                } else if dice < below + LATE_RATE + MISSPELT_RATE && site == Site::General {
                    misspelt = Some(ix);
                    if let Some(entry) = entries.get(ix) {
                        let said = "`endpont` for `endpoint`: the line can't be read".to_owned();
                        slip_of(entry, Slip::Misspelt, said, truth);
                    }
                }
            }
        }
        for entry in entries.iter().filter(|entry| is_written(entry)) {
            truth.logged(entry, unit);
        }
        for (ix, entry) in entries.into_iter().enumerate() {
            self.queue(site, entry, misspelt == Some(ix));
        }
    }

    /// Writes all entries up to the end of a day, and says to which file with which bytes.
    ///
    /// # Errors
    /// Those of writing into memory, which has none.
    pub fn write_day(&mut self, date: NaiveDate, page: Page) -> io::Result<Vec<(String, Vec<u8>)>> {
        let next = at_minute(date, 24 * 60);
        let later = self.waiting.split_off(&(next, 0));
        let today = std::mem::replace(&mut self.waiting, later);
        let mut by_site: BTreeMap<Site, Vec<Queued>> = BTreeMap::new();
        let mut late_page = Vec::new();
        for ((at, _), (site, queued)) in today {
            if page == Page::LateHeldBack && site == Site::General && at.hour() >= 14 {
                late_page.push(queued);
            } else {
                by_site.entry(site).or_default().push(queued);
            }
        }
        // The page held back the day before comes after this day's.
        let held = std::mem::replace(&mut self.held_page, late_page);
        by_site.entry(Site::General).or_default().extend(held);
        let mut files = Vec::new();
        for (site, entries) in by_site {
            if !entries.is_empty() {
                files.push(self.write_site(site, date, &entries)?);
            }
        }
        Ok(files)
    }

    fn write_site(
        &mut self,
        site: Site,
        date: NaiveDate,
        entries: &[Queued],
    ) -> io::Result<(String, Vec<u8>)> {
        let extension = match site {
            Site::General => "txt",
            Site::Annexe => "csv",
        };
        let month = date.format("%Y-%m");
        let file = format!("logs/{}-{month}.{extension}", site.file_stem());
        let (open, writer) = self.open.entry(site).or_default();
        let is_new = *open != file;
        if is_new {
            *open = file.clone();
            *writer = LogWriter::default();
        }
        self.n_written += entries.len();
        let mut bytes = Vec::new();
        match site {
            Site::General => {
                for queued in entries {
                    let mut line = Vec::new();
                    writer.write_entry(&queued.entry, &mut line)?;
                    if queued.misspelt {
                        let text = String::from_utf8_lossy(&line);
                        line = text.replacen("endpoint ", "endpont ", 1).into_bytes();
                    }
                    bytes.append(&mut line);
                }
            }
            Site::Annexe => {
                let header = if is_new {
                    CsvHeader::Write
                } else {
                    CsvHeader::Leave
                };
                let mut rows = CsvLogWriter::new(&mut bytes, header)?;
                for queued in entries {
                    rows.write_entry(&queued.entry)?;
                }
                rows.finish()?;
            }
        }
        Ok((file, bytes))
    }

    /// How many entries have been written.
    pub fn n_written(&self) -> usize {
        self.n_written
    }

    /// The entries that were to be written after the last day: in the log they are missing.
    pub fn never_written(&self) -> impl Iterator<Item = &Entry> {
        self.waiting.values().map(|(_, queued)| &queued.entry)
    }
}

/// What becomes of a day's pages.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Page {
    /// They stand in the order of time.
    InOrder,
    /// The General's page of the late shift comes to stand after the next day's.
    LateHeldBack,
}

fn written_at(entry: &Entry) -> Option<NaiveDateTime> {
    entry.written.as_ref().map(|stamp| stamp.value.local)
}

fn said_of_ci(entry: &Entry) -> String {
    let EntryBody::Ci(ci) = &entry.body else {
        return String::new();
    };
    let position = ci.position.as_ref().map_or("", |f| f.value.word());
    let set = ci.set.as_ref().map_or("", |f| f.value.as_str());
    format!("no entry for the {position} CI {set}")
        .trim_end()
        .to_owned()
}

/// The load number with two neighbouring digits swapped, so that it is no other load's: its date does not exist, or
/// its running number is beyond what a unit does in a day.
fn transposed(load: &str, chance: &mut Chance) -> Option<String> {
    let swaps: Vec<String> = (0..load.len().saturating_sub(1))
        .filter_map(|ix| {
            let mut bytes = load.as_bytes().to_vec();
            let (a, b) = (*bytes.get(ix)?, *bytes.get(ix + 1)?);
            if a == b || !a.is_ascii_digit() || !b.is_ascii_digit() {
                return None;
            }
            bytes.swap(ix, ix + 1);
            let wrong = String::from_utf8(bytes).ok()?;
            let mut parts = wrong.split('-').skip(1);
            let date = NaiveDate::parse_from_str(parts.next()?, "%y%m%d");
            let running: u32 = parts.next()?.parse().ok()?;
            (date.is_err() || running >= 20).then_some(wrong)
        })
        .collect();
    chance.pick(&swaps).cloned()
}
