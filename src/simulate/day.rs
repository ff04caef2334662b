//! A day of the department: each unit runs its tests and loads, and the log is written beside it.
//!
//! Read [`Run::run_day`] first.

use super::calendar::{
    Shift, Site, at_minute, first_staffed, is_open, is_weekend, shift_of, staff_at,
};
use super::chance::Chance;
use super::contents::{Implants, PickedSet, SetClass, pick_destination, pick_sets};
use super::department::{self, N_CYCLES_PER_DAY, N_USES, Unit, is_clock_set, n_loads_planned};
use super::ending::Ending;
use super::eo::{self, EoRun, run_eo};
use super::logbook::{LoadPen, Logbook, Page, ZONE, lot_entry, remark_entry, service_entry};
use super::lots::Supply;
use super::plasma::{self, EVACUATE_LIMIT_SECONDS, PlasmaRun, run_plasma};
use super::steam::{self, SteamRun, run_leak_test, run_steam};
use super::strip::{Strip, nowhere};
use super::trouble::{self, Troubles};
use super::truth::{Truth, day_text};
use super::{Plan, PrintoutFiles, RecordSink};
use crate::measure::quantity::{Datum, Pressure};
use crate::measure::unit::PressureUnit;
use crate::parse::printout::write::{ChecksumLine, PrintoutOptions, TotalLine, write_cycle};
use crate::record::cause::Cause;
use crate::record::consumable::{ConsumableKind, ConsumableUse, LotIdentity, UseCount};
use crate::record::cycle::{Cycle, Outcome, Process, Purpose, StageName};
use crate::record::entry::{BiGrowth, BiRole, CiEndpoint, CiPosition, Entry, EntryBody, LotAction};
use crate::record::name::{LoadNumber, LotNumber, Program, StaffMark, UnitName};
use crate::record::stamp::Stamp;
use chrono::{Datelike, Days, NaiveDate, NaiveDateTime, TimeDelta, Weekday};
use std::collections::VecDeque;
use std::io;

/// How often a cycle's printout is lost.
const MISSING_PRINTOUT_RATE: f64 = 0.005;
/// How often a cycle is printed twice.
const REPRINT_RATE: f64 = 0.006;
/// How often no one signs a load.
const UNSIGNED_RATE: f64 = 0.006;
/// How often a BI that is due on a weekend is read late, and on a weekday.
const LATE_READ_RATE_WEEKEND: f64 = 0.35;
const LATE_READ_RATE: f64 = 0.03;

/// A run of the simulation.
pub struct Run {
    plan: Plan,
    /// The first moment after the last day.
    end: NaiveDateTime,
    /// By how much the units' planned loads are multiplied.
    factor: f64,
    units: Vec<Unit>,
    logbook: Logbook,
    truth: Truth,
}

/// A load waiting to be run.
struct PlannedLoad {
    /// Its number, if it has one: a load that was rejected is run again under its own.
    number: Option<String>,
    sets: Vec<PickedSet>,
    plasma: plasma::PlasmaProgram,
    steam: steam::SteamProgram,
    eo: eo::EoProgram,
}

impl PlannedLoad {
    fn has(&self, class: SetClass) -> bool {
        self.sets.iter().any(|set| set.family.class == class)
    }
}

/// One unit's day, as far as it has come.
struct Work<'u> {
    unit: &'u mut Unit,
    day: u32,
    date: NaiveDate,
    chance: Chance,
    /// What has been printed.
    strips: Vec<u8>,
    /// A printout that will come again after the next one.
    again: Vec<u8>,
    /// The number of the last load.
    n_loads: u32,
    /// Whether a BI is due with the next completed load.
    bi_due: bool,
    /// Loads still to be rejected for an obstructed sensor.
    n_sensor_rejections: u32,
}

impl Run {
    /// A run that has not begun.
    pub fn new(plan: Plan) -> Self {
        let asked = plan.n_cycles_per_day.unwrap_or(N_CYCLES_PER_DAY).max(1);
        let n_copies = asked.div_ceil(N_CYCLES_PER_DAY);
        Run {
            plan,
            end: at_minute(plan.date(plan.n_days), 0),
            factor: f64::from(asked) / f64::from(n_copies * N_CYCLES_PER_DAY),
            units: department::units(n_copies),
            logbook: Logbook::default(),
            truth: Truth::default(),
        }
    }

    /// Runs a day and hands everything that was printed and written to the sink.
    ///
    /// # Errors
    /// Those of the sink.
    pub fn run_day(&mut self, day: u32, sink: &mut impl RecordSink) -> io::Result<()> {
        let date = self.plan.date(day);
        self.open_lots(day, date);
        let mut units = std::mem::take(&mut self.units);
        for unit in &mut units {
            let strips = self.run_unit(unit, day, date)?;
            if !strips.is_empty() {
                let form = match self.plan.files {
                    PrintoutFiles::PerMonth => "%Y-%m",
                    PrintoutFiles::PerDay => "%Y-%m-%d",
                };
                let file = format!("printouts/{}/{}.txt", unit.name, date.format(form));
                sink.append(&file, &strips)?;
            }
        }
        self.units = units;
        let page = if self.plan.troubles == Troubles::Planted && day == trouble::PAGE_DAY {
            self.truth.plant("page", day_text(date));
            Page::LateHeldBack
        } else {
            Page::InOrder
        };
        for (file, bytes) in self.logbook.write_day(date, page)? {
            sink.append(&file, &bytes)?;
        }
        Ok(())
    }

    /// Ends the run: what is still to be written is missing from the records.
    pub fn finish(mut self) -> Truth {
        for entry in self.logbook.never_written() {
            if let EntryBody::Bi(bi) = &entry.body
                && bi.role.as_ref().map(|role| role.value) == Some(BiRole::Test)
                && let Some(load) = &entry.load
            {
                let since = bi.incubated.as_ref().map(|stamp| stamp.value.local);
                let since =
                    since.map_or(String::new(), |at| at.format("%Y-%m-%d %H:%M").to_string());
                self.truth
                    .bi_pending
                    .push(format!("{}, in incubation since {since}", load.value));
            }
        }
        self.truth.n_entries = self.logbook.n_written();
        self.truth
    }

    fn open_lots(&mut self, day: u32, date: NaiveDate) {
        for site in [Site::General, Site::Annexe] {
            let mut chance = Chance::of(
                self.plan.seed,
                (1 << 40) | (site as u64) << 36 | u64::from(day),
            );
            for (place, supply) in (0..).zip(Supply::of_site(site)) {
                let changed =
                    day > 0 && supply.lot_index(site, day) != supply.lot_index(site, day - 1);
                if !changed || matches!(supply, Supply::Sterilant(_)) {
                    continue;
                }
                let at = at_minute(date, 7 * 60 + place);
                let at = first_staffed(site, at, &mut chance);
                let by = staff_at(site, at, &mut chance);
                let old = supply.lot_on(site, self.plan.from, day - 1);
                let new = supply.lot_on(site, self.plan.from, day);
                for (lot, action) in [(old, LotAction::Finished), (new, LotAction::Opened)] {
                    let entry = lot_entry(site, at, by, *supply, &lot, action);
                    self.logbook.take(site, entry);
                }
            }
        }
    }

    fn run_unit(&mut self, unit: &mut Unit, day: u32, date: NaiveDate) -> io::Result<Vec<u8>> {
        if !is_open(unit.site, date) {
            return Ok(Vec::new());
        }
        let troubles = self.plan.troubles;
        let stream = u64::from(unit.copy * 8 + unit.kind) << 32 | u64::from(day);
        let mut chance = Chance::of(self.plan.seed, stream);
        let (early, late) = n_loads_planned(unit, date);
        let planned = |n: f64, chance: &mut Chance| (n * self.factor + chance.share()) as u32;
        let (mut n_early, mut n_late) = (planned(early, &mut chance), planned(late, &mut chance));
        let name = unit.name.clone();
        let strikes = |at_unit: &str, on: u32| troubles.strikes(&name, day, at_unit, on);
        // The days on which something is planted have loads for it.
        if troubles.keeps_clear(&name, day) {
            n_early = n_early.max(2);
        }
        if strikes("PL-1", trouble::BI_GROWTH_DAY + 1) {
            (n_early, n_late) = (2, 0);
        }
        let aeration_trouble = strikes("EO-1", trouble::AERATION_STOPPED_DAY)
            || strikes("EO-1", trouble::AERATION_SHORT_DAY);
        if aeration_trouble {
            n_late = 1;
        }
        // What runs over the night of the last day would print after it.
        if unit.process == Process::Eo && day + 1 == self.plan.n_days {
            n_late = 0;
        }
        let n_sensor_rejections = troubles.n_sensor_rejections(&name, day);
        if n_sensor_rejections > 0 {
            n_early = n_early.max(n_sensor_rejections + 1);
        }
        let bi_due = match unit.process {
            Process::Plasma => !strikes("PL-1", trouble::BI_GROWTH_DAY + 1),
            Process::Steam => unit.kind == 3 || date.weekday() == Weekday::Mon,
            Process::Eo => true,
        };
        let opens = match unit.process {
            Process::Eo if aeration_trouble => 12 * 60,
            Process::Eo => 15 * 60 + 50,
            Process::Steam if is_weekend(date) => 7 * 60,
            Process::Steam => 6 * 60 + 25,
            Process::Plasma if is_weekend(date) => 8 * 60 + 5,
            Process::Plasma => 7 * 60 + 20,
        };
        let mut at = at_minute(date, opens + chance.whole(0, 25))
            + TimeDelta::seconds(chance.whole(0, 59).into());
        self.note_service(unit, day, date, &mut chance);
        let mut work = Work {
            unit,
            day,
            date,
            chance,
            strips: Vec::new(),
            again: Vec::new(),
            n_loads: 0,
            bi_due,
            n_sensor_rejections,
        };
        if work.unit.process == Process::Steam && early + late > 0.0 {
            at = self.run_tests(&mut work, at)?;
        }
        let closes = if is_weekend(date) {
            at_minute(date, 14 * 60)
        } else if work.unit.site == Site::Annexe {
            at_minute(date, 15 * 60 + 30)
        } else {
            at_minute(date, 20 * 60 + 15)
        };
        let mut waiting = VecDeque::new();
        for slot in 0..n_early + n_late {
            if slot >= n_early && work.unit.process != Process::Eo {
                let late = at_minute(date, 14 * 60 + 12 + work.chance.whole(0, 20));
                at = at.max(late);
            }
            let load = self.plan_load(&mut work, slot == 0);
            waiting.push_back(load);
            while let Some(load) = waiting.pop_front() {
                if at > closes {
                    break;
                }
                let (ended, again) = self.run_load(&mut work, load, at)?;
                let turn = work.chance.whole(9, 24) * 60 + work.chance.whole(0, 59);
                at = ended + TimeDelta::seconds(turn.into());
                waiting.extend(again);
            }
        }
        let mut strips = work.strips;
        strips.append(&mut work.again);
        Ok(strips)
    }

    /// Service, new clocks, and what else happens to a unit on its day.
    fn note_service(&mut self, unit: &mut Unit, day: u32, date: NaiveDate, chance: &mut Chance) {
        if self.plan.troubles == Troubles::None {
            return;
        }
        let mut service = |minute: i32, note: &str| {
            let at = at_minute(date, minute + chance.whole(0, 9));
            self.logbook
                .take(unit.site, service_entry(unit.site, at, &unit.name, note));
            format!("{} {}: {note}", day_text(date), unit.name)
        };
        match (unit.name.as_str(), day) {
            ("PL-3", trouble::SOFTWARE_DAY) => {
                let row = service(6 * 60 + 50, "yearly service, software 4.3 installed");
                let after = unit.counter;
                self.truth.plant(
                    "service",
                    format!("{row}; the counter goes on after {after}"),
                );
            }
            ("ST-1", trouble::RESET_DAY) => {
                let row = service(6 * 60 + 2, "controller board replaced, software 2.11");
                let after = unit.counter;
                self.truth.plant(
                    "service",
                    format!("{row}; the counter begins again at 1 after {after}"),
                );
                unit.counter = 0;
            }
            ("PL-1", day) if day == trouble::BI_GROWTH_DAY + 1 => {
                let row = service(
                    13 * 60,
                    "out of use after BI growth: injector and seal checked",
                );
                self.truth.plant("service", row);
            }
            ("PL-3", _) if is_clock_set(date) => {
                let row = service(7 * 60 + 2, "clock set to the new time");
                self.truth.plant("service", row);
            }
            _ => {}
        }
    }

    fn plan_load(&mut self, work: &mut Work<'_>, is_first: bool) -> PlannedLoad {
        let (name, day) = (work.unit.name.as_str(), work.day);
        let troubles = self.plan.troubles;
        let implants =
            if is_first && troubles.strikes(name, day, "ST-2", trouble::EARLY_RELEASE_DAY) {
                Implants::Wanted
            } else if troubles.keeps_clear(name, day) {
                Implants::None
            } else {
                Implants::AsItComes
            };
        let chance = &mut work.chance;
        let sets = pick_sets(work.unit.process, implants, chance);
        let ent = sets
            .iter()
            .any(|set| set.family.class == SetClass::EntScope);
        let dice = chance.share();
        PlannedLoad {
            number: None,
            sets,
            plasma: match dice {
                _ if ent && dice < 0.7 => plasma::LUMEN,
                _ if dice < 0.14 => plasma::EXPRESS,
                _ if dice < 0.24 => plasma::LUMEN,
                _ => plasma::STANDARD,
            },
            steam: match dice {
                _ if dice < 0.14 => steam::PLASTICS_121,
                _ if dice < 0.40 => steam::WRAPPED_132,
                _ => steam::WRAPPED_134,
            },
            eo: if troubles.strikes(name, day, "EO-1", trouble::AERATION_STOPPED_DAY)
                || troubles.strikes(name, day, "EO-1", trouble::AERATION_SHORT_DAY)
                || dice < 0.6
            {
                eo::WARM
            } else {
                eo::COOL
            },
        }
    }

    /// The heading of a strip of a cycle that starts now by the wall clock.
    fn heading(&self, work: &mut Work<'_>, at: NaiveDateTime) -> Cycle {
        let unit = &mut *work.unit;
        unit.counter += 1;
        let ahead = unit.clock_ahead(at, work.day, self.plan.troubles);
        let by = staff_at(unit.site, at, &mut work.chance);
        let offset = department::offset_at(at);
        let ambient = Pressure::new(101.325, PressureUnit::Kilopascal, Datum::Absolute);
        Cycle {
            unit: Some(nowhere(UnitName(unit.name.clone()))),
            serial: Some(nowhere(unit.serial.clone())),
            software: Some(nowhere(
                unit.software(work.day, self.plan.troubles).to_owned(),
            )),
            place: Some(nowhere(unit.site.place().to_owned())),
            zone: Some(nowhere(ZONE)),
            process: Some(nowhere(unit.process)),
            counter: Some(nowhere(unit.counter)),
            operator: Some(nowhere(StaffMark(by.to_owned()))),
            started: Some(nowhere(Stamp {
                local: at + TimeDelta::seconds(ahead.into()),
                offset_seconds: (unit.process == Process::Eo).then_some(offset),
            })),
            ambient: (unit.gauges.datum == Datum::Gauge).then(|| nowhere(ambient)),
            ..Strip::heading()
        }
    }

    /// Prints a strip, or loses it, or prints it twice.
    fn print(&mut self, work: &mut Work<'_>, cycle: &Cycle) -> io::Result<()> {
        let kind = work.unit.kind;
        let options = PrintoutOptions {
            checksum: if matches!(kind, 0 | 3 | 5) {
                ChecksumLine::Compute
            } else {
                ChecksumLine::Leave
            },
            total: if kind == 4 {
                TotalLine::Leave
            } else {
                TotalLine::Compute
            },
        };
        let (lost, twice) = (work.chance.share(), work.chance.share());
        let (name, troubles) = (&work.unit.name, self.plan.troubles);
        let clear = troubles.keeps_clear(name, work.day)
            || troubles.n_sensor_rejections(name, work.day) > 0;
        let row = {
            let load = cycle.load.as_ref().map(|load| load.value.as_str());
            let what = load.unwrap_or(cycle.purpose.word());
            let date = day_text(work.date);
            format!(
                "{date} {} counter {}: {what}",
                work.unit.name, work.unit.counter
            )
        };
        if lost < MISSING_PRINTOUT_RATE && !clear {
            self.truth.missing_printouts.push(row);
            return Ok(());
        }
        self.truth.printed(cycle);
        let mut bytes = Vec::new();
        write_cycle(cycle, options, &mut bytes)?;
        work.strips.extend_from_slice(&bytes);
        work.strips.append(&mut work.again);
        if twice < REPRINT_RATE {
            self.truth.reprints.push(row);
            // Straight away, or later when someone misses it.
            if twice < REPRINT_RATE / 2.0 {
                work.strips.append(&mut bytes);
            } else {
                work.again = bytes;
            }
        }
        Ok(())
    }

    /// Leak test, warm-up, test of air removal. When the unit is ready for loads.
    fn run_tests(&mut self, work: &mut Work<'_>, at: NaiveDateTime) -> io::Result<NaiveDateTime> {
        let mut at = at;
        for purpose in [Purpose::LeakTest, Purpose::WarmUp, Purpose::AirRemovalTest] {
            let program = match purpose {
                Purpose::AirRemovalTest => steam::AIR_REMOVAL,
                _ => steam::WARM_UP,
            };
            let mut cycle = self.heading(work, at);
            cycle.purpose = purpose;
            let words = match purpose {
                Purpose::LeakTest => "leak test",
                _ => program.name,
            };
            cycle.program = Some(nowhere(Program(words.to_owned())));
            let mut strip = Strip::begin(cycle, work.unit.gauges);
            strip.elapsed = work.chance.whole(4, 20);
            let outcome = if purpose == Purpose::LeakTest {
                let usual = self.plan.troubles.leak_rate(&work.unit.name, work.day);
                let rate = (usual + work.chance.spread(0.0, 2.4)).max(8.0);
                if work.unit.name == "ST-2" {
                    self.truth.leak.entry(work.day / 7).or_default().add(rate);
                }
                run_leak_test(&mut strip, &mut work.chance, rate);
                if rate <= steam::LEAK_LIMIT {
                    Outcome::Passed
                } else {
                    Outcome::Failed
                }
            } else {
                let run = SteamRun {
                    program,
                    cold_seconds: if purpose == Purpose::WarmUp { 150 } else { 0 },
                    ending: Ending::Completed,
                };
                run_steam(&mut strip, &mut work.chance, &run);
                if purpose == Purpose::WarmUp {
                    Outcome::Completed
                } else {
                    Outcome::Passed
                }
            };
            let cycle = strip.end(outcome);
            at += lasted(&cycle);
            self.print(work, &cycle)?;
            if purpose == Purpose::AirRemovalTest {
                let note = format!(
                    "{} air-removal sheet even all over, counter {}",
                    work.unit.name, work.unit.counter
                );
                let site = work.unit.site;
                self.logbook
                    .take(site, remark_entry(site, at + TimeDelta::minutes(3), &note));
            }
            at += TimeDelta::seconds(work.chance.whole(90, 260).into());
        }
        Ok(at)
    }

    fn choose_ending(&self, work: &mut Work<'_>, load: &PlannedLoad, at: NaiveDateTime) -> Ending {
        let (name, day) = (work.unit.name.as_str(), work.day);
        let troubles = self.plan.troubles;
        if work.n_sensor_rejections > 0 {
            work.n_sensor_rejections -= 1;
            return Ending::Rejected(Cause::SensorObstructed);
        }
        let chance = &mut work.chance;
        let dice = chance.share();
        if troubles.keeps_clear(name, day) {
            return Ending::Completed;
        }
        match work.unit.process {
            Process::Plasma => {
                let trouble = troubles == Troubles::Planted
                    && work.unit.site == Site::General
                    && shift_of(at) == Shift::Late
                    && load.has(SetClass::EntScope);
                let moisture = if trouble {
                    trouble::MOISTURE_RATE_ENT_LATE
                } else {
                    trouble::MOISTURE_RATE
                };
                let others = [
                    Ending::Aborted(StageName::Evacuate, Cause::PressureNotReached),
                    Ending::Aborted(StageName::Inject, Cause::InjectionLow),
                    Ending::Aborted(StageName::Inject, Cause::InjectionLow),
                    Ending::Aborted(StageName::Diffuse, Cause::ConcentrationLow),
                    Ending::Aborted(StageName::Plasma, Cause::PlasmaPowerLow),
                    Ending::Aborted(StageName::Evacuate, Cause::OperatorStopped),
                ];
                let refused = [
                    Ending::Rejected(Cause::PackageContact),
                    Ending::Rejected(Cause::PackageContact),
                    Ending::Rejected(Cause::PackageContact),
                    Ending::Rejected(Cause::SterilantExpired),
                    Ending::Rejected(Cause::SterilantUnread),
                ];
                if dice < moisture {
                    Ending::Aborted(StageName::Evacuate, Cause::Moisture)
                } else if dice < moisture + 0.011 {
                    chance.pick(&others).cloned().unwrap_or(Ending::Completed)
                } else if dice < moisture + 0.026 {
                    chance.pick(&refused).cloned().unwrap_or(Ending::Completed)
                } else {
                    Ending::Completed
                }
            }
            Process::Steam => {
                let others = [
                    Ending::Aborted(StageName::Condition, Cause::SupplyFault),
                    Ending::Aborted(StageName::Condition, Cause::PressureNotReached),
                    Ending::Aborted(StageName::Expose, Cause::TemperatureLow),
                    Ending::Aborted(StageName::Expose, Cause::AirPresent),
                ];
                if dice < 0.03 {
                    chance.pick(&others).cloned().unwrap_or(Ending::Completed)
                } else {
                    Ending::Completed
                }
            }
            Process::Eo if troubles.strikes(name, day, "EO-1", trouble::AERATION_STOPPED_DAY) => {
                Ending::Aborted(StageName::Aerate, Cause::OperatorStopped)
            }
            Process::Eo if troubles.strikes(name, day, "EO-1", trouble::AERATION_SHORT_DAY) => {
                Ending::Completed
            }
            Process::Eo if dice < 0.04 => Ending::Aborted(StageName::Condition, Cause::HumidityLow),
            Process::Eo => Ending::Completed,
        }
    }

    /// The sterilant that goes into a strip's heading; a supply that is used up is replaced, and the log says so.
    fn sterilant(
        &mut self,
        work: &mut Work<'_>,
        at: NaiveDateTime,
        ending: &mut Ending,
    ) -> Option<ConsumableUse> {
        let unit = &mut *work.unit;
        let (site, process) = (unit.site, unit.process);
        let supply = Supply::Sterilant(process);
        let n_uses = match process {
            Process::Steam => return None,
            Process::Plasma => N_USES,
            Process::Eo => 1,
        };
        let used_up = process == Process::Eo || unit.n_uses >= n_uses;
        let forgotten = used_up && process == Process::Plasma && work.chance.happens(0.05);
        if forgotten && *ending == Ending::Completed && work.n_loads > 1 {
            // The next load gets a new one.
            *ending = Ending::Rejected(Cause::SterilantEmpty);
        } else if used_up {
            unit.n_uses = 0;
            unit.n_packs += 1;
            unit.supply_day = Some(work.day);
            let lot = supply.lot_on(site, self.plan.from, work.day);
            if process == Process::Plasma {
                let when = at - TimeDelta::minutes(6);
                let by = staff_at(site, when, &mut work.chance);
                let entry = lot_entry(site, when, by, supply, &lot, LotAction::Opened);
                self.logbook.take(site, entry);
            }
        }
        let opened = unit.supply_day.unwrap_or(0);
        let lot = supply.lot_on(site, self.plan.from, opened);
        let mut identity = lot.identity();
        if *ending == Ending::Rejected(Cause::SterilantExpired) {
            // A pack from the back of the shelf.
            identity.lot = Some(LotNumber("K4388".to_owned()));
            identity.expiry = work.date.checked_sub_days(Days::new(4));
        } else if unit.kind == 2 {
            identity = LotIdentity {
                gtin: Some("09506000134352".to_owned()),
                serial: Some(format!("SN{:05}", unit.n_packs + 410)),
                ..identity
            };
        }
        let n = if *ending == Ending::Rejected(Cause::SterilantEmpty) {
            n_uses
        } else {
            unit.n_uses + 1
        };
        let injects = match ending {
            Ending::Completed => true,
            Ending::Aborted(stage, _) => {
                !matches!(stage, StageName::Evacuate | StageName::Condition)
            }
            Ending::Rejected(_) => false,
        };
        if injects {
            unit.n_uses += 1;
        }
        Some(ConsumableUse {
            kind: ConsumableKind::Sterilant,
            lot: nowhere(identity),
            use_count: Some(UseCount { n, of: n_uses }),
        })
    }

    /// Runs a load. When its cycle ended by the wall clock, and what has to be run again because of it.
    fn run_load(
        &mut self,
        work: &mut Work<'_>,
        load: PlannedLoad,
        at: NaiveDateTime,
    ) -> io::Result<(NaiveDateTime, Option<PlannedLoad>)> {
        let is_first = work.n_loads == 0;
        let number = load.number.clone().unwrap_or_else(|| {
            work.n_loads += 1;
            let date = work.date.format("%y%m%d");
            format!("{}-{date}-{:02}", work.unit.code, work.n_loads)
        });
        let mut ending = self.choose_ending(work, &load, at);
        let sterilant = self.sterilant(work, at, &mut ending);
        let mut cycle = self.heading(work, at);
        cycle.load = Some(nowhere(LoadNumber(number.clone())));
        cycle.consumables.extend(sterilant);
        let program = match work.unit.process {
            Process::Plasma => load.plasma.name,
            Process::Steam => load.steam.name,
            Process::Eo => load.eo.name,
        };
        cycle.program = Some(nowhere(Program(program.to_owned())));
        let mut strip = Strip::begin(cycle, work.unit.gauges);
        strip.elapsed = work.chance.whole(4, 20);
        self.run_process(work, &load, &ending, is_first, &mut strip);
        let cycle = strip.end(ending.outcome());
        let ended = at + lasted(&cycle);
        self.note_truth(work, &load, &number, &ending, &cycle, at);
        self.print(work, &cycle)?;
        self.write_log(work, &load, &number, program, &ending, (at, ended));
        let again = match (&ending, work.unit.process) {
            (Ending::Completed, _) | (_, Process::Eo) => None,
            (Ending::Rejected(_), _) => Some(PlannedLoad {
                number: Some(number),
                ..load
            }),
            (Ending::Aborted(..), _) => Some(PlannedLoad {
                number: None,
                ..load
            }),
        };
        Ok((ended, again))
    }

    fn run_process(
        &self,
        work: &mut Work<'_>,
        load: &PlannedLoad,
        ending: &Ending,
        is_first: bool,
        strip: &mut Strip,
    ) {
        let (name, day) = (work.unit.name.as_str(), work.day);
        let troubles = self.plan.troubles;
        let chance = &mut work.chance;
        match work.unit.process {
            Process::Plasma => {
                let factor = troubles.pump_down_factor(name, day) * chance.spread(1.0, 0.03);
                let cold = if is_first { chance.whole(110, 170) } else { 0 };
                let seconds = f64::from(load.plasma.evacuate) * factor + f64::from(cold);
                let run = PlasmaRun {
                    program: load.plasma,
                    evacuate_seconds: (seconds as i32).min(EVACUATE_LIMIT_SECONDS - 12),
                    start_celsius: if is_first {
                        chance.between(40.0, 42.5)
                    } else {
                        chance.between(43.5, 46.0)
                    },
                    ending: ending.clone(),
                };
                run_plasma(strip, chance, &run);
            }
            Process::Steam => {
                let run = SteamRun {
                    program: load.steam,
                    cold_seconds: if is_first { chance.whole(150, 240) } else { 0 },
                    ending: ending.clone(),
                };
                run_steam(strip, chance, &run);
            }
            Process::Eo => {
                let aerate_minutes =
                    if troubles.strikes(name, day, "EO-1", trouble::AERATION_STOPPED_DAY) {
                        chance.whole(230, 260)
                    } else if troubles.strikes(name, day, "EO-1", trouble::AERATION_SHORT_DAY) {
                        chance.whole(310, 335)
                    } else {
                        chance.whole(590, 690)
                    };
                let run = EoRun {
                    program: load.eo,
                    aerate_minutes,
                    cold_seconds: chance.whole(200, 500),
                    ending: ending.clone(),
                };
                run_eo(strip, chance, &run);
            }
        }
    }

    fn note_truth(
        &mut self,
        work: &Work<'_>,
        load: &PlannedLoad,
        number: &str,
        ending: &Ending,
        cycle: &Cycle,
        at: NaiveDateTime,
    ) {
        let (unit, day, date) = (&*work.unit, work.day, day_text(work.date));
        let troubles = self.plan.troubles;
        let row = format!(
            "{date} {} counter {} load {number}",
            unit.name, unit.counter
        );
        let moist = *ending == Ending::Aborted(StageName::Evacuate, Cause::Moisture);
        if unit.process == Process::Plasma
            && unit.site == Site::General
            && !matches!(ending, Ending::Rejected(_))
        {
            let sets = if load.has(SetClass::EntScope) {
                "with an ENT scope"
            } else {
                "without"
            };
            let shift = match shift_of(at) {
                Shift::Early => "early or weekend",
                Shift::Late => "late",
            };
            let share = self.truth.moisture.entry((sets, shift)).or_default();
            share.count(moist);
        }
        if unit.name == "PL-2"
            && *ending == Ending::Completed
            && let Some(seconds) = stage_seconds(cycle, &StageName::Evacuate)
        {
            let week = self.truth.pump_down.entry(day / 7).or_default();
            week.add(f64::from(seconds));
        }
        if load.has(SetClass::Implant) && *ending == Ending::Completed {
            self.truth.n_implant_loads += 1;
        }
        let aerated = stage_seconds(cycle, &StageName::Aerate).unwrap_or(0) / 60;
        for on in [trouble::AERATION_STOPPED_DAY, trouble::AERATION_SHORT_DAY] {
            if troubles.strikes(&unit.name, day, "EO-1", on) {
                let outcome = match ending {
                    Ending::Completed => "printed as completed",
                    _ => "printed as aborted by the operator",
                };
                self.truth.plant(
                    "aeration",
                    format!("{row}: aerated {aerated} min of at least 480, {outcome}"),
                );
            }
        }
        if unit.name == "PL-3"
            && troubles.n_sensor_rejections("PL-3", day) > 0
            && *ending == Ending::Rejected(Cause::SensorObstructed)
        {
            self.truth.plant("sensor", row.clone());
        }
        if troubles == Troubles::Planted
            && unit.name == "PL-1"
            && (trouble::BI_GROWTH_DAY - 1..=trouble::BI_GROWTH_DAY + 2).contains(&day)
        {
            let row = match (work.bi_due, day) {
                (true, trouble::BI_GROWTH_DAY) => Some(format!("{row}: **BI growth**")),
                (true, day) if day < trouble::BI_GROWTH_DAY => {
                    Some(format!("{row}: BI negative, the scope begins after it"))
                }
                (true, _) => Some(format!("{row}: BI negative, the scope ends before it")),
                (false, day) if day == trouble::BI_GROWTH_DAY + 2 => None,
                (false, _) => Some(row),
            };
            row.into_iter()
                .for_each(|row| self.truth.recall_scope.push(row));
        }
    }

    fn write_log(
        &mut self,
        work: &mut Work<'_>,
        load: &PlannedLoad,
        number: &str,
        program: &str,
        ending: &Ending,
        (at, ended): (NaiveDateTime, NaiveDateTime),
    ) {
        let (site, day) = (work.unit.site, work.day);
        let pen = LoadPen { site, load: number };
        let minutes = |n: i32| TimeDelta::minutes(n.into());
        let mut entries = Vec::new();
        let began = at - minutes(work.chance.whole(1, 4));
        let by = staff_at(site, began, &mut work.chance);
        let counter = work.unit.counter;
        entries.push(pen.start(began, by, &work.unit.name, counter, program));
        // A load that was rejected has its contents in the log already.
        if load.number.is_none() {
            let to = pick_destination(site, &mut work.chance);
            for set in &load.sets {
                let lot = set
                    .family
                    .packaging
                    .supply()
                    .map(|supply| supply.lot_on(site, self.plan.from, day));
                entries.push(pen.content(began, set, lot.as_ref(), to));
            }
        }
        match ending {
            Ending::Completed => self.write_evidence(work, load, &pen, ended, &mut entries),
            Ending::Aborted(_, cause) => {
                let when = first_staffed(site, ended + minutes(4), &mut work.chance);
                let by = staff_at(site, when, &mut work.chance);
                let note = match cause {
                    Cause::Moisture => "aborted: moisture. Dried and packed again",
                    Cause::OperatorStopped if work.unit.process == Process::Eo => {
                        "aeration stopped, theatre asked for the kit"
                    }
                    _ => "aborted, contents go into a new load",
                };
                entries.push(pen.decision(when, by, EntryBody::Hold, note));
            }
            Ending::Rejected(_) => {}
        }
        let unit = work.unit.name.clone();
        self.logbook.take_load(
            (site, &unit),
            entries,
            self.end,
            &mut work.chance,
            &mut self.truth,
        );
    }

    /// The indicators of a completed load, and what people decide on them.
    fn write_evidence(
        &mut self,
        work: &mut Work<'_>,
        load: &PlannedLoad,
        pen: &LoadPen<'_>,
        ended: NaiveDateTime,
        entries: &mut Vec<Entry>,
    ) {
        let (site, day, from) = (pen.site, work.day, self.plan.from);
        let process = work.unit.process;
        let minutes = |n: i32| TimeDelta::minutes(n.into());
        let seen = ended + minutes(work.chance.whole(4, 11));
        let seen = first_staffed(site, seen, &mut work.chance);
        let by = staff_at(site, seen, &mut work.chance);
        let external = Supply::ExternalCi(process).lot_on(site, from, day);
        let reached = CiEndpoint::Reached;
        entries.push(pen.ci(seen, by, CiPosition::External, None, &external, reached));
        let supply = Supply::InternalCi(process);
        let internal = supply.lot_on(site, from, day);
        let bad_lot = self.plan.troubles == Troubles::Planted
            && process == Process::Plasma
            && site == Site::General
            && supply.lot_index(site, day) == trouble::BAD_CI_LOT_INDEX;
        let clear = self.plan.troubles.keeps_clear(&work.unit.name, day);
        let mut failed = None;
        for set in &load.sets {
            let rate = match (clear, bad_lot) {
                (true, _) => 0.0,
                (false, true) => trouble::CI_FAULT_RATE_BAD_LOT,
                (false, false) => trouble::CI_FAULT_RATE,
            };
            let endpoint = if work.chance.happens(rate) {
                if work.chance.happens(0.25) {
                    CiEndpoint::Unreadable
                } else {
                    CiEndpoint::NotReached
                }
            } else {
                CiEndpoint::Reached
            };
            if endpoint != CiEndpoint::Reached {
                failed = Some(set.name());
                if bad_lot {
                    let row = format!(
                        "{} {} {}: set {}, lot {}, {}",
                        day_text(work.date),
                        work.unit.name,
                        pen.load,
                        set.name(),
                        internal.number,
                        endpoint.word()
                    );
                    self.truth.plant("ci-lot", row);
                }
            }
            let when = seen + minutes(1);
            let position = CiPosition::Internal;
            entries.push(pen.ci(when, by, position, Some(set), &internal, endpoint));
        }
        let implant = load.has(SetClass::Implant);
        let with_bi = work.bi_due || implant || process == Process::Eo;
        let read = with_bi.then(|| self.write_bi(work, pen, seen + minutes(3), entries));
        self.write_decision(work, pen, (seen, read), implant, failed, entries);
        if with_bi {
            work.bi_due = false;
        }
    }

    /// The BI of a load, test and control: into the incubator, and read. When it is read.
    fn write_bi(
        &mut self,
        work: &mut Work<'_>,
        pen: &LoadPen<'_>,
        incubated: NaiveDateTime,
        entries: &mut Vec<Entry>,
    ) -> NaiveDateTime {
        let (site, day) = (pen.site, work.day);
        let (name, troubles) = (work.unit.name.clone(), self.plan.troubles);
        let lot = Supply::Bi(work.unit.process).lot_on(site, self.plan.from, day);
        let by = staff_at(site, incubated, &mut work.chance);
        for role in [BiRole::Test, BiRole::Control] {
            entries.push(pen.bi_in(incubated, by, role, &lot));
        }
        let due = incubated + TimeDelta::minutes((24 * 60 + work.chance.whole(0, 40)).into());
        let weekend = is_weekend(due.date()) && troubles == Troubles::Planted;
        let rate = if weekend {
            LATE_READ_RATE_WEEKEND
        } else {
            LATE_READ_RATE
        };
        let late = if work.chance.happens(rate) && !troubles.keeps_clear(&name, day) {
            work.chance.whole(7, 22)
        } else {
            0
        };
        let read = due + TimeDelta::hours(late.into());
        let read = first_staffed(site, read, &mut work.chance);
        let by = staff_at(site, read, &mut work.chance);
        let row = format!(
            "{} {name} counter {} load {}",
            day_text(work.date),
            work.unit.counter,
            pen.load
        );
        let is_days_first = work.bi_due;
        let mut growth = BiGrowth::NoGrowth;
        if is_days_first && troubles.strikes(&name, day, "PL-1", trouble::BI_GROWTH_DAY) {
            growth = BiGrowth::Growth;
            self.truth.plant("bi-growth", row.clone());
        }
        let mut control = BiGrowth::Growth;
        if is_days_first && troubles.strikes(&name, day, "PL-2", trouble::CONTROL_DAY) {
            control = BiGrowth::NoGrowth;
            self.truth.plant("control", row);
        }
        for (role, shown) in [(BiRole::Test, growth), (BiRole::Control, control)] {
            entries.push(pen.bi_read(read, by, role, &lot, incubated, shown));
        }
        if growth == BiGrowth::Growth {
            let when = read + TimeDelta::minutes(25);
            let note = "BI growth. This load called back, infection prevention told";
            entries.push(pen.decision(when, by, EntryBody::Recall, note));
        }
        read
    }

    fn write_decision(
        &mut self,
        work: &mut Work<'_>,
        pen: &LoadPen<'_>,
        (seen, read): (NaiveDateTime, Option<NaiveDateTime>),
        implant: bool,
        failed: Option<String>,
        entries: &mut Vec<Entry>,
    ) {
        let (site, day) = (pen.site, work.day);
        let (name, troubles) = (work.unit.name.clone(), self.plan.troubles);
        let minutes = |n: i32| TimeDelta::minutes(n.into());
        let at_once = seen + minutes(work.chance.whole(8, 30));
        let too_early = implant
            && troubles.strikes(&name, day, "ST-2", trouble::EARLY_RELEASE_DAY)
            && !self.truth.planted.contains_key("early-release");
        let waits = (implant || work.unit.process == Process::Eo) && !too_early;
        let when = match read {
            Some(read) if waits => read + minutes(10),
            _ => at_once,
        };
        let forgotten = work.chance.happens(UNSIGNED_RATE) && !troubles.keeps_clear(&name, day);
        let nobody = troubles == Troubles::Planted
            && day == trouble::UNSIGNED_DAY
            && site == Site::General
            && work.unit.copy == 0
            && shift_of(at_once) == Shift::Late;
        let row = format!("{} {name} {}", day_text(work.date), pen.load);
        if (forgotten || nobody) && when < self.end {
            if nobody {
                self.truth.plant("unsigned", row.clone());
            }
            self.truth.unsigned.push(row);
            return;
        }
        let by = staff_at(site, when, &mut work.chance);
        if let Some(set) = failed {
            let note = format!("internal CI of {set} not reached, set packed again");
            entries.push(pen.decision(at_once, by, EntryBody::Hold, &note));
            return;
        }
        if too_early {
            let read = read.map_or(String::new(), |at| at.format("%Y-%m-%d %H:%M").to_string());
            let released = when.format("%Y-%m-%d %H:%M");
            self.truth.plant(
                "early-release",
                format!("{row}: released {released}, BI read {read}"),
            );
        }
        entries.push(pen.decision(when, by, EntryBody::Release, ""));
    }
}

fn lasted(cycle: &Cycle) -> TimeDelta {
    let seconds = cycle.ended.as_ref().map_or(0, |ended| ended.value.0);
    TimeDelta::seconds(seconds.into())
}

/// How long the first stage of a name lasted, to the next stage or the end, in seconds.
fn stage_seconds(cycle: &Cycle, name: &StageName) -> Option<i32> {
    let ix = cycle.stages.iter().position(|stage| stage.name == *name)?;
    let began = cycle.stages.get(ix)?.began.0;
    let next = match cycle.stages.get(ix + 1) {
        Some(stage) => stage.began.0,
        None => cycle.ended.as_ref()?.value.0,
    };
    Some(next - began)
}
