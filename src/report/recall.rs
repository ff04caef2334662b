//! The recall sheet as a value: why, from where to where, which packages, where they went, what else to check.
//!
//! Read [`write_recall`] first; [`write_recall_csv`] gives the same packages as a spreadsheet.

use super::attention::{process_of, say_bi, say_state};
use super::caution::{CautionRow, find_caution};
use super::inert;
use super::moment::to_minute;
use super::naming::cycle_name;
use super::place::Place;
use super::policy::PolicyNote;
use super::review::{AsOf, Reviewed, outcome_word, place_of_load};
use super::scope::Scope;
use super::show::say_lot;
use crate::judge::bi_test::Nothing;
use crate::judge::policy::PolicyIx;
use crate::judge::recall::lot::{LotKey, LotUses, find_lot_uses, find_lots, lots_of_load};
use crate::judge::recall::sequence::{Bi, Placed, Run, RunEnd};
use crate::judge::recall::{
    Call, End, NotCounted, NotEnding, Path, Per, Piece, Recall, Row, Start, Whereabouts,
    WhyEverything, WhyNotEnding, find_whereabouts,
};
use crate::judge::spore::{Exposure, SporeNumbers, Stand, find_exposure};
use crate::measure::count::Counting;
use crate::reconcile::history::{CycleIx, EntryIx, KnownCycle, Load, LoadIx, MissingPrintouts};
use crate::record::consumable::ConsumableKind;
use crate::record::cycle::{Outcome, Process};
use crate::record::entry::{BiGrowth, BiResult, Content, EntryBody};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// Recall sheets.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RecallReport {
    /// The version of these fields.
    pub format: u32,
    /// The moment it speaks for.
    pub as_of: Option<AsOf>,
    /// What it is narrowed to.
    pub scope: Scope,
    /// What was asked for.
    pub asked: Asked,
    /// The policies that scopes were drawn by.
    pub policies: Vec<PolicyNote>,
    /// The sheets: of growing indicators by unit and time, or of the lot asked for.
    pub sheets: Vec<Sheet>,
    /// Vials that grew and of which the log does not say whether they were test or control.
    pub without_role: Vec<CheckRow>,
    /// What to mind when handling the loads.
    pub cautions: Vec<CautionRow>,
}

impl RecallReport {
    /// Whether there is something to get back, or to find out.
    pub fn needs_person(&self) -> bool {
        !self.sheets.is_empty() || !self.without_role.is_empty()
    }
}

/// What was asked for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Asked {
    /// Every biological indicator that grew.
    Growth,
    /// A lot of a consumable.
    Lot {
        /// Its number.
        lot: String,
        /// Of this kind only.
        kind: Option<ConsumableKind>,
    },
}

/// A recall sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sheet {
    /// What it is about: `PL-1, BI growth in P1-260303-01`.
    pub title: String,
    /// The unit.
    pub unit: Option<String>,
    /// The growing indicators.
    pub growths: Vec<GrowthRow>,
    /// From where to where, why so, and how sure, in sentences.
    pub scope: Vec<String>,
    /// Where the boundaries stand.
    pub scope_places: Vec<Place>,
    /// Whether further loads may still fall into it.
    pub open: bool,
    /// What to do, in order.
    pub steps: Vec<String>,
    /// Where scope and steps come from, and how that is known.
    pub sources: Vec<String>,
    /// How much there is to get back.
    pub totals: Totals,
    /// The loads in order of time, and gaps among them.
    pub rows: Vec<SheetRow>,
    /// Tests within the scope that do not end it, and why.
    pub not_ending: Vec<CheckRow>,
    /// What else to check.
    pub checks: Vec<CheckRow>,
    /// Where else the lots of the loads that grew were used; for a lot, where and when it was used.
    pub lots: Vec<LotRow>,
}

/// A growing indicator.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GrowthRow {
    /// The load.
    pub load: Option<String>,
    /// The cycle.
    pub cycle: Option<String>,
    /// When the cycle began.
    pub began: Option<String>,
    /// What the log says.
    pub said: String,
    /// Where.
    pub place: Place,
    /// What its certificate's numbers say of it.
    pub spores: Option<SporeRow>,
}

/// What the numbers of an indicator's certificate say.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SporeRow {
    /// The numbers.
    #[serde(flatten)]
    pub numbers: SporeNumbers,
    /// How long the cycle exposed it.
    pub exposure: Option<Exposure>,
    /// How that stands to the two times.
    pub stand: Option<Stand>,
    /// In sentences.
    pub said: String,
}

/// How much there is to get back.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct Totals {
    /// Loads.
    pub n_loads: usize,
    /// Sets that the log lists.
    pub n_sets: usize,
    /// Items in them, as far as the log counts them.
    pub n_items: u64,
    /// Packages, as far as the log counts them.
    pub n_packages: u64,
    /// Sets of which the log does not count the packages.
    pub n_sets_uncounted: usize,
    /// Loads of which the log lists no contents.
    pub n_loads_unlisted: usize,
    /// Cycles without a printout that may have processed further loads.
    pub n_cycles_missing: u64,
    /// Packages that were released.
    pub n_packages_left: u64,
    /// Loads that were released.
    pub n_loads_left: usize,
    /// Packages that the log has called back.
    pub n_packages_called_back: u64,
    /// Loads that the log has called back.
    pub n_loads_called_back: usize,
    /// Packages that should still be here.
    pub n_packages_here: u64,
    /// Loads that should still be here.
    pub n_loads_here: usize,
}

/// A load or a gap.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "row", rename_all = "kebab-case")]
pub enum SheetRow {
    /// A load.
    Load(SheetLoad),
    /// Cycles without a printout.
    Missing {
        /// How many.
        n_missing: u64,
        /// In words.
        said: String,
        /// The printout before them.
        place: Option<Place>,
    },
}

/// Where packages are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Where {
    /// They were released.
    Left,
    /// The log has called them back.
    CalledBack,
    /// They should still be here.
    Here,
}

impl Where {
    /// In plain words.
    pub fn said(self) -> &'static str {
        match self {
            Where::Left => "left",
            Where::CalledBack => "called back",
            Where::Here => "here",
        }
    }
}

/// A load of a sheet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SheetLoad {
    /// Its number.
    pub load: Option<String>,
    /// The cycle.
    pub cycle: Option<String>,
    /// When it began.
    pub began: Option<String>,
    /// What the printout says of its result, in a word.
    pub outcome: &'static str,
    /// What people have signed.
    pub signed: String,
    /// Where its packages are.
    pub whereabouts: Where,
    /// Whether its own indicator grew.
    pub grew: bool,
    /// Why its packages are not to be got back for this run; `None` when they are, or wait.
    pub not_counted: Option<String>,
    /// What is to be known of it.
    pub notes: Vec<String>,
    /// Its sets.
    pub sets: Vec<SetRow>,
    /// Where a record names it.
    pub place: Option<Place>,
}

/// A set of a load; or the load as a whole, when the log lists no contents.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SetRow {
    /// Its name. `None` when the log lists no contents, or names none.
    pub set: Option<String>,
    /// The number of items.
    pub n_items: Option<u32>,
    /// The number of packages.
    pub n_packages: Option<u32>,
    /// The packaging.
    pub packaging: Option<String>,
    /// Its lot.
    pub packaging_lot: Option<String>,
    /// Whether it holds an implant, where that was written.
    pub implant: Option<bool>,
    /// Where it went.
    pub to: Option<String>,
    /// What is to be done with it.
    pub call: CallWord,
    /// The next load that held a set of this name: its packages were opened by then.
    pub again: Option<String>,
    /// Its line.
    pub place: Option<Place>,
}

/// What is to be done with a set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum CallWord {
    /// Get it back.
    GetBack,
    /// Wait for the repeats.
    Wait,
    /// It need not be called back.
    Cleared,
}

/// Something to check, and where it stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CheckRow {
    /// In words.
    pub said: String,
    /// Where.
    pub place: Option<Place>,
}

/// Where a lot was used.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LotRow {
    /// The kind.
    pub kind: &'static str,
    /// The lot.
    pub lot: String,
    /// The number of loads.
    pub n_loads: usize,
    /// How many of them are not on this sheet.
    pub n_elsewhere: usize,
    /// How many in each unit.
    pub by_unit: BTreeMap<String, usize>,
    /// The first and the last day.
    pub days: Option<(String, String)>,
}

/// Makes the sheets of every growing indicator within the scope.
pub fn write_recall(reviewed: &Reviewed<'_>) -> RecallReport {
    let maker = Maker::of(reviewed);
    let mut used = BTreeSet::new();
    let mut sheets = Vec::new();
    for recall in reviewed.judged.recalls {
        let in_scope = recall.growths.iter().any(|growth| match growth.load {
            Some(load) => reviewed
                .history
                .loads
                .get(load.0)
                .is_some_and(|load| reviewed.scope.has_load(load, reviewed.history)),
            None => true,
        });
        if in_scope {
            used.insert(recall.policy);
            sheets.push(maker.growth_sheet(recall));
        }
    }
    maker.report(Asked::Growth, sheets, maker.find_without_role(), &used)
}

/// Makes the sheet of a lot: one for each kind of consumable that has it. There is none when no record has the lot.
pub fn write_lot_recall(
    reviewed: &Reviewed<'_>,
    lot: &str,
    kind: Option<ConsumableKind>,
) -> RecallReport {
    let maker = Maker::of(reviewed);
    let as_of = reviewed.judged.judgements.as_of;
    let sheets = find_lot_uses(reviewed.history, lot, kind, as_of)
        .iter()
        .map(|uses| maker.lot_sheet(uses))
        .collect();
    let asked = Asked::Lot {
        lot: lot.to_owned(),
        kind,
    };
    maker.report(asked, sheets, Vec::new(), &BTreeSet::new())
}

struct Maker<'a> {
    reviewed: &'a Reviewed<'a>,
    lots: BTreeMap<LotKey, LotUses>,
    /// Every content entry of a set by its name in small letters, in order of the loads, which is that of time.
    sets: BTreeMap<String, Vec<(LoadIx, EntryIx)>>,
}

impl<'a> Maker<'a> {
    fn of(reviewed: &'a Reviewed<'a>) -> Self {
        let mut sets: BTreeMap<String, Vec<(LoadIx, EntryIx)>> = BTreeMap::new();
        for (at, load) in reviewed.history.loads.iter().enumerate() {
            for ix in &load.contents {
                if let Some(known) = reviewed.history.entries.get(ix.0)
                    && let EntryBody::Content(content) = &known.entry.body
                    && let Some(set) = &content.set
                {
                    sets.entry(set.value.to_lowercase())
                        .or_default()
                        .push((LoadIx(at), *ix));
                }
            }
        }
        Maker {
            sets,
            reviewed,
            lots: find_lots(reviewed.history, reviewed.judged.judgements.as_of),
        }
    }

    fn report(
        &self,
        asked: Asked,
        sheets: Vec<Sheet>,
        without_role: Vec<CheckRow>,
        used: &BTreeSet<PolicyIx>,
    ) -> RecallReport {
        let shown: BTreeSet<&str> = sheets
            .iter()
            .flat_map(|sheet| &sheet.rows)
            .filter_map(|row| match row {
                SheetRow::Load(load) => load.cycle.as_deref(),
                SheetRow::Missing { .. } => None,
            })
            .collect();
        let cautions = self.reviewed.history.cycles.iter().filter_map(|known| {
            if !shown.contains(cycle_name(&known.cycle).as_str()) {
                return None;
            }
            let judgement = known
                .load
                .and_then(|ix| self.reviewed.judged.judgements.of(ix));
            find_caution(known, process_of(self.reviewed, known), judgement)
        });
        RecallReport {
            format: 1,
            as_of: self.reviewed.as_of.cloned(),
            scope: self.reviewed.scope.clone(),
            // A lot is followed by the records alone.
            policies: match asked {
                Asked::Growth => PolicyNote::of_book(self.reviewed.judged.book, used),
                Asked::Lot { .. } => Vec::new(),
            },
            asked,
            cautions: CautionRow::of_all(cautions),
            sheets,
            without_role,
        }
    }

    fn load(&self, ix: Option<LoadIx>) -> Option<&'a Load> {
        self.reviewed.history.loads.get(ix?.0)
    }

    fn cycle(&self, ix: Option<CycleIx>) -> Option<&'a KnownCycle> {
        self.reviewed.history.cycles.get(ix?.0)
    }

    fn place_of_entry(&self, ix: EntryIx) -> Option<Place> {
        let known = self.reviewed.history.entries.get(ix.0)?;
        Some(Place::of(&known.entry.span, self.reviewed.lines))
    }

    fn name_of(&self, ix: CycleIx) -> String {
        let Some(known) = self.cycle(Some(ix)) else {
            return String::new();
        };
        let name = cycle_name(&known.cycle);
        let began = known.began.as_ref().map(|began| began.value.local);
        let began = began.map(|at| format!(", {}", to_minute(at)));
        match &known.cycle.load {
            Some(load) => format!("{} ({name}{})", load.value, began.unwrap_or_default()),
            None => format!("{name}{}", began.unwrap_or_default()),
        }
    }

    fn growth_sheet(&self, recall: &Recall) -> Sheet {
        let growths: Vec<GrowthRow> = recall
            .growths
            .iter()
            .filter_map(|growth| {
                let known = self.reviewed.history.entries.get(growth.entry.0)?;
                let EntryBody::Bi(bi) = &known.entry.body else {
                    return None;
                };
                let cycle = self.cycle(growth.cycle);
                Some(GrowthRow {
                    load: known.entry.load.as_ref().map(|load| load.value.0.clone()),
                    cycle: cycle.map(|known| cycle_name(&known.cycle)),
                    began: began_of(cycle),
                    said: say_bi(known, bi),
                    place: Place::of(&known.entry.span, self.reviewed.lines),
                    spores: spore_row(
                        bi,
                        cycle,
                        cycle.and_then(|known| process_of(self.reviewed, known)),
                    ),
                })
            })
            .collect();
        let rows: Vec<SheetRow> = recall.rows.iter().map(|row| self.sheet_row(row)).collect();
        let mut names: Vec<&str> = growths
            .iter()
            .filter_map(|growth| growth.load.as_deref())
            .collect();
        names.dedup();
        let unit = recall.unit.as_deref().unwrap_or("unit not known");
        let on_sheet: BTreeSet<LoadIx> = recall
            .rows
            .iter()
            .filter_map(|row| match row {
                Row::Run { run, .. } => run.load,
                Row::Missing(_) => None,
            })
            .collect();
        let mut lots: Vec<LotRow> = Vec::new();
        for growth in &recall.growths {
            let Some(load) = growth.load else { continue };
            for uses in lots_of_load(&self.lots, load) {
                let row = self.lot_row(uses, &on_sheet);
                if !lots.contains(&row) {
                    lots.push(row);
                }
            }
        }
        let mut boundaries = Vec::new();
        if let Start::After(ix) | Start::At(ix) = recall.start {
            boundaries.push(ix);
        }
        if let End::Before(ix) = recall.end {
            boundaries.push(ix);
        }
        Sheet {
            title: format!("{unit}, BI growth in {}", names.join(", ")),
            unit: recall.unit.clone(),
            growths,
            scope: self.say_scope(recall),
            scope_places: boundaries
                .into_iter()
                .filter_map(|ix| self.cycle(Some(ix)))
                .map(|known| Place::of(&known.cycle.opening, self.reviewed.lines))
                .collect(),
            open: recall.is_open(),
            steps: list_steps(recall),
            sources: list_sources(recall),
            totals: count_totals(&rows),
            rows,
            not_ending: recall
                .not_ending
                .iter()
                .filter_map(|one| self.say_not_ending(one))
                .collect(),
            checks: self.list_checks(recall),
            lots,
        }
    }

    fn say_scope(&self, recall: &Recall) -> Vec<String> {
        let mut said = Vec::new();
        let of = match (&recall.unit, &recall.per) {
            (None, _) => {
                said.push(
                    "No record gives the unit of this load, so that the scope is the load alone. Find out the unit: \
                     every load that it processed since its last negative BI belongs here."
                        .to_owned(),
                );
                return said;
            }
            (Some(unit), Per::Unit) => format!("Every load of {unit}"),
            (Some(unit), Per::Program(program)) => {
                format!("Every load of {unit} with program {program}, as the policy asks")
            }
            (Some(unit), Per::UnitForWantOfProgram) => format!(
                "Every load of {unit}, for no record gives the program by which the policy draws scopes,"
            ),
        };
        let from = match recall.start {
            Start::After(ix) => format!(
                "after {}, which had the last satisfactory BI before the growth and is not itself in doubt,",
                self.name_of(ix)
            ),
            Start::At(ix) => format!(
                "from {}, which had the last satisfactory BI before the growth and is taken in as the policy asks,",
                self.name_of(ix)
            ),
            Start::FirstRecord => "from the first record on".to_owned(),
        };
        let to = match recall.end {
            End::Before(ix) => format!(
                "to before {}, which had the next satisfactory BI.",
                self.name_of(ix)
            ),
            End::Open { .. } => "to now.".to_owned(),
        };
        said.push(format!("{of} {from} {to}"));
        if recall.start == Start::FirstRecord {
            said.push(
                "No satisfactory BI comes before the growth in these records: loads older than the records may belong \
                 here too. Look for the last negative BI in older ones."
                    .to_owned(),
            );
        }
        if let End::Open { awaits } = recall.end {
            let waits = awaits.map_or_else(String::new, |ix| {
                format!(
                    " The BI of {} is not read yet: if it and its control turn out well, the scope ends before it.",
                    self.name_of(ix)
                )
            });
            said.push(format!(
                "The scope is OPEN: every further load belongs to it until a BI is satisfactory (no growth, read in \
                 time, with a control of its lot that grew).{waits}"
            ));
        }
        said.push(match &recall.path {
            Path::Everything(WhyEverything::NotSteam(process)) => format!(
                "The process is {}: all of it is called back after a single growing BI.",
                say_process(*process)
            ),
            Path::Everything(WhyEverything::ProcessUnknown) => {
                "No record gives the process: all of it is called back, as for every process but steam.".to_owned()
            }
            Path::Everything(WhyEverything::Policy) => {
                "Steam, and the policy takes the stricter view: all of it is called back after a single growing BI."
                    .to_owned()
            }
            Path::Everything(WhyEverything::GrewAgain) => {
                "Steam, and a further BI grew before three in a row were satisfactory: all of it is called back."
                    .to_owned()
            }
            Path::Everything(WhyEverything::Fault { rules, tests }) => {
                let mut faults: Vec<String> = rules.iter().map(|rule| rule.0.to_owned()).collect();
                faults.extend(
                    tests
                        .iter()
                        .map(|ix| format!("test not passed, {}", self.name_of(*ix))),
                );
                format!(
                    "Steam, and the records show another fault ({}): all of it is called back.",
                    faults.join("; ")
                )
            }
            Path::Repeats { in_a_row } => format!(
                "Steam, a single growing BI without another fault in the records: the load whose BI grew and all \
                 implants are called back at once; the rest waits for BIs in three consecutive cycles, of which \
                 {in_a_row} in a row are satisfactory so far. What is still here stays here. Without an entry that \
                 says otherwise, a set counts as an implant."
            ),
            Path::Cleared { by } => {
                let names: Vec<String> = by.iter().map(|ix| self.name_of(*ix)).collect();
                format!(
                    "Steam, a single growing BI without another fault in the records, and the BIs of three \
                     consecutive cycles were satisfactory: {}. The load whose BI grew and implants are called back; \
                     the rest need not be.",
                    names.join(", ")
                )
            }
        });
        said
    }

    fn say_not_ending(&self, one: &NotEnding) -> Option<CheckRow> {
        let load = self.load(Some(one.load))?;
        let why = match one.why {
            WhyNotEnding::Proves(Nothing::NeverRead) => "its BI was never read in its time",
            WhyNotEnding::Proves(Nothing::Control) => {
                "its BI has no control of its lot that grew, so that it proves nothing"
            }
            WhyNotEnding::Proves(Nothing::Timing) => {
                "its BI was read outside its times of incubation, or they are not written"
            }
            WhyNotEnding::Pending => "its BI or the control awaits its result",
            WhyNotEnding::NoRole => "the log does not say whether its vial was test or control",
            WhyNotEnding::NoPrintout => {
                "its BI is satisfactory, but no printout shows that the cycle was completed"
            }
            WhyNotEnding::NotCompleted => {
                "its BI is satisfactory, but the printout does not show a completed cycle"
            }
            WhyNotEnding::NoDate => {
                "its BI is satisfactory, but the date of the cycle is not known"
            }
            WhyNotEnding::NoProgram => "its BI is satisfactory, but no record gives its program",
        };
        Some(CheckRow {
            said: format!("{}: {why}", load.number),
            place: load
                .bis
                .first()
                .and_then(|ix| self.place_of_entry(*ix))
                .or_else(|| place_of_load(self.reviewed.history, load, self.reviewed.lines)),
        })
    }

    fn list_checks(&self, recall: &Recall) -> Vec<CheckRow> {
        let mut checks = Vec::new();
        for ix in &recall.strays {
            if let Some(load) = self.load(Some(*ix)) {
                checks.push(CheckRow {
                    said: format!(
                        "{}: no record gives its unit; by its day it may belong here",
                        load.number
                    ),
                    place: place_of_load(self.reviewed.history, load, self.reviewed.lines),
                });
            }
        }
        for ix in &recall.services {
            if let Some(known) = self.reviewed.history.entries.get(ix.0) {
                let note = known.entry.note.as_ref().map(|note| note.value.as_str());
                let when = known.written.map(|at| to_minute(at.local));
                checks.push(CheckRow {
                    said: format!(
                        "service, {}: {}",
                        when.unwrap_or_default(),
                        note.unwrap_or("without a note")
                    ),
                    place: self.place_of_entry(*ix),
                });
            }
        }
        checks
    }

    fn sheet_row(&self, row: &Row) -> SheetRow {
        match row {
            Row::Missing(missing) => self.missing_row(missing),
            Row::Run {
                run,
                not_counted,
                pieces,
            } => SheetRow::Load(self.sheet_load(run, *not_counted, pieces)),
        }
    }

    fn missing_row(&self, missing: &MissingPrintouts) -> SheetRow {
        let n = missing.n_missing();
        let counters = match missing.last.saturating_sub(missing.first) {
            0 => format!("counter {}", missing.first),
            _ => format!("counters {} to {}", missing.first, missing.last),
        };
        let cycles = if n == 1 {
            "printout is"
        } else {
            "printouts are"
        };
        SheetRow::Missing {
            n_missing: u64::from(n),
            said: format!(
                "{counters}: {n} {cycles} missing. It is not known what was processed, unless a load without a \
                 printout stands next to it: print again from the unit's memory, and look in the load book."
            ),
            place: self
                .cycle(Some(missing.after))
                .map(|known| Place::of(&known.cycle.opening, self.reviewed.lines)),
        }
    }

    fn sheet_load(
        &self,
        run: &Run,
        not_counted: Option<NotCounted>,
        pieces: &[Piece],
    ) -> SheetLoad {
        let history = self.reviewed.history;
        let load = self.load(run.load);
        let cycle = self.cycle(run.cycle);
        let mut notes = Vec::new();
        match (cycle, run.placed) {
            (None, Placed::Counter) => {
                notes.push("no printout: known from the log, put here by its counter".to_owned());
            }
            (None, Placed::LogTime) => {
                notes.push(
                    "no printout: known from the log, put here by the time in the log".to_owned(),
                );
            }
            (None, Placed::Nowhere) => {
                notes.push("no printout and no day: it may belong here".to_owned());
            }
            (Some(_), Placed::Nowhere) => {
                notes.push("the day of its cycle is not known: it may belong here".to_owned());
            }
            (Some(_), _) | (None, Placed::Printout) => {}
        }
        if cycle.is_some() && run.end == RunEnd::Unproven {
            notes.push("its printout does not prove how the cycle ended".to_owned());
        }
        if load.is_none() {
            notes.push("the printout names no load".to_owned());
        }
        for near in &history.near_misses {
            if run.load == Some(near.on_strip)
                && let Some(other) = history.loads.get(near.in_log.0)
            {
                notes.push(format!(
                    "the log also has {}, which may be this load ({})",
                    other.number, near.slip
                ));
            }
        }
        let as_of = self.reviewed.judged.judgements.as_of;
        let signed = load.and_then(|load| load.decisions.last());
        let signed = signed.and_then(|ix| history.entries.get(ix.0));
        SheetLoad {
            load: load.map(|load| load.number.0.clone()),
            cycle: cycle.map(|known| cycle_name(&known.cycle)),
            began: began_of(cycle).or_else(|| run.began.map(to_minute)),
            outcome: cycle.map_or("no printout", outcome_word),
            signed: say_state(signed).1,
            whereabouts: match load.map(|load| find_whereabouts(load, &history.entries, as_of)) {
                Some(Whereabouts::Released(_)) => Where::Left,
                Some(Whereabouts::CalledBack(_)) => Where::CalledBack,
                Some(Whereabouts::OnHold(_) | Whereabouts::NotSigned) | None => Where::Here,
            },
            grew: matches!(run.bi, Bi::Growth(_)),
            not_counted: not_counted.map(|why| match why {
                NotCounted::NotProcessed => {
                    "not processed: its packages are not counted here".to_owned()
                }
                NotCounted::RunAgain(ix) => {
                    format!("run again as {}: not counted here", self.name_of(ix))
                }
            }),
            notes,
            sets: pieces.iter().map(|piece| self.set_row(piece)).collect(),
            place: cycle
                .map(|known| Place::of(&known.cycle.opening, self.reviewed.lines))
                .or_else(|| place_of_load(history, load?, self.reviewed.lines)),
        }
    }

    fn set_row(&self, piece: &Piece) -> SetRow {
        let call = match piece.call {
            Call::Back => CallWord::GetBack,
            Call::Wait => CallWord::Wait,
            Call::Cleared => CallWord::Cleared,
        };
        let content = piece.content.and_then(|ix| {
            match &self.reviewed.history.entries.get(ix.0)?.entry.body {
                EntryBody::Content(content) => Some(&**content),
                _ => None,
            }
        });
        SetRow {
            again: piece.content.and_then(|ix| self.next_with_set(ix)),
            ..SetRow::of(
                content,
                call,
                piece.content.and_then(|ix| self.place_of_entry(ix)),
            )
        }
    }

    /// The next load that held a set of the same name, in words.
    fn next_with_set(&self, ix: EntryIx) -> Option<String> {
        let known = self.reviewed.history.entries.get(ix.0)?;
        let EntryBody::Content(content) = &known.entry.body else {
            return None;
        };
        let uses = self.sets.get(&content.set.as_ref()?.value.to_lowercase())?;
        let own = uses.iter().position(|(_, entry)| *entry == ix)?;
        let (own_load, _) = uses.get(own)?;
        let (next, _) = uses.iter().skip(own).find(|(load, _)| load != own_load)?;
        let next = self.load(Some(*next))?;
        let day = next.first.map(|first| format!(", {}", first.local.date()));
        Some(format!(
            "a set of this name again in {}{}",
            next.number,
            day.unwrap_or_default()
        ))
    }

    fn lot_row(&self, uses: &LotUses, on_sheet: &BTreeSet<LoadIx>) -> LotRow {
        let mut by_unit: BTreeMap<String, usize> = BTreeMap::new();
        let mut days: Vec<String> = Vec::new();
        for ix in uses.loads.keys() {
            let Some(load) = self.load(Some(*ix)) else {
                continue;
            };
            let unit = load.unit.as_ref().map_or("not known", |unit| unit.as_str());
            by_unit.entry(unit.to_owned()).or_default().add_one();
            days.extend(load.first.map(|first| first.local.date().to_string()));
        }
        days.sort_unstable();
        LotRow {
            kind: uses.kind.word(),
            lot: uses.lot.clone(),
            n_loads: uses.loads.len(),
            n_elsewhere: uses
                .loads
                .keys()
                .filter(|ix| !on_sheet.contains(ix))
                .count(),
            by_unit,
            days: days.first().cloned().zip(days.last().cloned()),
        }
    }

    fn lot_sheet(&self, uses: &LotUses) -> Sheet {
        let history = self.reviewed.history;
        let mut rows = Vec::new();
        let mut on_sheet = BTreeSet::new();
        for ix in uses.loads.keys() {
            let Some(load) = self.load(Some(*ix)) else {
                continue;
            };
            if !self.reviewed.scope.has_load(load, history) {
                continue;
            }
            on_sheet.insert(*ix);
            rows.push(SheetRow::Load(self.lot_load(*ix, load, uses)));
        }
        let n_left_out = uses.loads.len().saturating_sub(on_sheet.len());
        let what = match uses.kind {
            ConsumableKind::Sterilant => "processed with this sterilant lot",
            ConsumableKind::Ci => "with a chemical indicator of this lot",
            ConsumableKind::Bi => "with a biological indicator of this lot, as test or control",
            ConsumableKind::Packaging => "with packages of this lot",
            ConsumableKind::Other => "that used this lot",
        };
        let mut scope = vec![format!("Every load {what}, as printouts and log name it.")];
        if n_left_out > 0 {
            scope.push(format!(
                "{n_left_out} further loads used it and lie outside what was asked for."
            ));
        }
        match uses.kind {
            ConsumableKind::Packaging => scope.push(
                "Of each load the sets whose entry names the lot are listed.".to_owned(),
            ),
            ConsumableKind::Ci | ConsumableKind::Bi => scope.push(
                "A lot of indicators that is not to be trusted takes away what it showed; it does no harm to the \
                 packages. Whether they are called back is for local policy and the maker's notice to say."
                    .to_owned(),
            ),
            ConsumableKind::Sterilant | ConsumableKind::Other => {}
        }
        let checks = uses
            .without_load
            .iter()
            .map(|span| CheckRow {
                said: "used without a load number".to_owned(),
                place: Some(Place::of(span, self.reviewed.lines)),
            })
            .chain(uses.changes.iter().filter_map(|ix| {
                let known = history.entries.get(ix.0)?;
                let EntryBody::Lot(change) = &known.entry.body else {
                    return None;
                };
                let action = change.action.as_ref().map(|action| action.value.word());
                let when = known.written.map(|at| to_minute(at.local));
                Some(CheckRow {
                    said: format!(
                        "{} {}",
                        action.unwrap_or("in the log"),
                        when.unwrap_or_default()
                    ),
                    place: self.place_of_entry(*ix),
                })
            }))
            .collect();
        Sheet {
            title: format!("lot {} ({})", uses.lot, uses.kind.word()),
            unit: None,
            growths: Vec::new(),
            scope,
            scope_places: Vec::new(),
            open: false,
            steps: vec![
                "Take what is left of the lot out of use, and keep it apart.".to_owned(),
                "Follow the maker's notice and local policy as to which packages come back."
                    .to_owned(),
                "Tick each package that was found. Tell infection prevention which were used."
                    .to_owned(),
            ],
            sources: vec!["common practice, no source".to_owned()],
            totals: count_totals(&rows),
            rows,
            not_ending: Vec::new(),
            checks,
            lots: vec![self.lot_row(uses, &on_sheet)],
        }
    }

    fn lot_load(&self, ix: LoadIx, load: &Load, uses: &LotUses) -> SheetLoad {
        let history = self.reviewed.history;
        let is_of_lot = |content: &Content| {
            uses.kind != ConsumableKind::Packaging
                || content
                    .packaging_lot
                    .as_ref()
                    .and_then(|lot| lot.value.lot.as_ref())
                    .is_some_and(|lot| lot.0.eq_ignore_ascii_case(&uses.lot))
        };
        let cycle = load.cycles.last().and_then(|ix| history.cycles.get(ix.0));
        let mut sets: Vec<SetRow> = load
            .contents
            .iter()
            .filter_map(|ix| {
                let known = history.entries.get(ix.0)?;
                match &known.entry.body {
                    EntryBody::Content(content) if is_of_lot(content) => Some(SetRow::of(
                        Some(content),
                        CallWord::GetBack,
                        self.place_of_entry(*ix),
                    )),
                    _ => None,
                }
            })
            .collect();
        if sets.is_empty() {
            sets.push(SetRow::of(None, CallWord::GetBack, None));
        }
        let outcome = cycle.and_then(|known| known.cycle.outcome.as_ref());
        let not_processed = outcome.is_some_and(|outcome| {
            matches!(
                outcome.value,
                Outcome::Aborted { .. } | Outcome::Rejected { .. }
            )
        });
        if not_processed {
            sets.clear();
        }
        let as_of = self.reviewed.judged.judgements.as_of;
        let signed = load
            .decisions
            .last()
            .and_then(|ix| history.entries.get(ix.0));
        let n_cycles = load.cycles.len();
        SheetLoad {
            load: Some(load.number.0.clone()),
            cycle: cycle.map(|known| cycle_name(&known.cycle)),
            began: began_of(cycle).or_else(|| load.first.map(|first| to_minute(first.local))),
            outcome: cycle.map_or("no printout", outcome_word),
            signed: say_state(signed).1,
            whereabouts: match find_whereabouts(load, &history.entries, as_of) {
                Whereabouts::Released(_) => Where::Left,
                Whereabouts::CalledBack(_) => Where::CalledBack,
                Whereabouts::OnHold(_) | Whereabouts::NotSigned => Where::Here,
            },
            grew: self
                .reviewed
                .judged
                .recalls
                .iter()
                .any(|recall| recall.growths.iter().any(|growth| growth.load == Some(ix))),
            not_counted: not_processed
                .then(|| "not processed: its packages are not counted here".to_owned()),
            notes: (n_cycles > 1)
                .then(|| format!("run {n_cycles} times; the last is named"))
                .into_iter()
                .collect(),
            sets,
            place: uses
                .loads
                .get(&ix)
                .and_then(|spans| spans.first())
                .map(|span| Place::of(span, self.reviewed.lines)),
        }
    }

    /// Vials that grew without a role in the log: a control must grow, a test must not.
    fn find_without_role(&self) -> Vec<CheckRow> {
        let grown =
            self.reviewed
                .history
                .entries
                .iter()
                .filter_map(|known| match &known.entry.body {
                    EntryBody::Bi(bi)
                        if bi.role.is_none()
                            && bi
                                .growth
                                .as_ref()
                                .is_some_and(|growth| growth.value == BiGrowth::Growth) =>
                    {
                        Some((known, bi))
                    }
                    _ => None,
                });
        grown
            .map(|(known, bi)| CheckRow {
                said: format!(
                    "{}: a vial{} grew, and the log does not say whether it was test or control. As a test it would \
                     call back loads.",
                    known
                        .entry
                        .load
                        .as_ref()
                        .map_or("no load", |load| load.value.as_str()),
                    say_lot(bi.lot.as_ref().map(|lot| &lot.value))
                        .map(|lot| format!(" of lot {lot}"))
                        .unwrap_or_default()
                ),
                place: Some(Place::of(&known.entry.span, self.reviewed.lines)),
            })
            .collect()
    }
}

impl SetRow {
    fn of(content: Option<&Content>, call: CallWord, place: Option<Place>) -> Self {
        SetRow {
            set: content.and_then(|content| Some(content.set.as_ref()?.value.clone())),
            n_items: content.and_then(|content| Some(content.n_items.as_ref()?.value)),
            n_packages: content.and_then(|content| Some(content.n_packages.as_ref()?.value)),
            packaging: content.and_then(|content| Some(content.packaging.as_ref()?.value.clone())),
            packaging_lot: content
                .and_then(|content| say_lot(content.packaging_lot.as_ref().map(|lot| &lot.value))),
            implant: content.and_then(|content| Some(content.implant.as_ref()?.value)),
            to: content.and_then(|content| Some(content.destination.as_ref()?.value.clone())),
            call,
            again: None,
            place,
        }
    }

    /// Whether it is listed as a set: the log may list no contents at all.
    pub fn is_listed(&self) -> bool {
        self.place.is_some()
    }
}

fn began_of(cycle: Option<&KnownCycle>) -> Option<String> {
    Some(to_minute(cycle?.began.as_ref()?.value.local))
}

fn say_process(process: Process) -> &'static str {
    match process {
        Process::Plasma => "peroxide gas plasma",
        Process::Steam => "steam",
        Process::Eo => "ethylene oxide",
    }
}

/// What an indicator's certificate says of it, where the log gives population and D-value.
pub fn spore_row(
    bi: &BiResult,
    cycle: Option<&KnownCycle>,
    process: Option<Process>,
) -> Option<SporeRow> {
    let numbers = SporeNumbers::of_bi(bi)?;
    let exposure = cycle
        .zip(process)
        .and_then(|(known, process)| find_exposure(&known.cycle, process));
    let stand = exposure.map(|exposure| numbers.stands(&exposure));
    let grew = bi
        .growth
        .as_ref()
        .is_some_and(|growth| growth.value == BiGrowth::Growth);
    let mut said = format!(
        "Population {:.2e}, D-value {} min: survival time (log10 N - 2) x D = {:.2} min, kill time (log10 N + 4) x D \
         = {:.2} min, at the condition of its certificate.",
        numbers.population, numbers.d_value_minutes, numbers.survival_minutes, numbers.kill_minutes
    );
    match (exposure, stand) {
        (Some(exposure), Some(stand)) => {
            said.push_str(&format!(
                " Exposed for {:.2} min ({})",
                exposure.minutes,
                exposure.counted.said()
            ));
            if grew {
                said.push_str(&format!(", which is {}.", stand.said_of_growth()));
            } else {
                said.push('.');
            }
        }
        _ => said.push_str(" The printout gives no exposure that could be held against them."),
    }
    Some(SporeRow {
        numbers,
        exposure,
        stand,
        said,
    })
}

fn list_steps(recall: &Recall) -> Vec<String> {
    let unit = recall.unit.as_deref().unwrap_or("the unit");
    let mut steps = vec![format!(
        "Take {unit} out of use. Tell the supervisor and infection prevention."
    )];
    match recall.path {
        Path::Everything(_) => steps.push(
            "Get back every package below, keep it apart, and process it again in another unit. Tick what was found."
                .to_owned(),
        ),
        Path::Repeats { .. } => {
            steps.push(
                "Get back the packages with a tick box, keep them apart, and process them again in another unit. Keep \
                 here what is still here."
                    .to_owned(),
            );
            steps.push(
                "Repeat the BI in three consecutive cycles. If one grows, everything below is called back.".to_owned(),
            );
        }
        Path::Cleared { .. } => steps.push(
            "Get back the packages with a tick box, and process them again.".to_owned(),
        ),
    }
    steps.push(
        "Tell infection prevention which packages were used; they decide about the patients. No patient's name \
         belongs on this sheet."
            .to_owned(),
    );
    steps.push(
        "Check settings, supply, load and handling of the BI. The unit returns to use as local policy says: after a \
         failure three consecutive cycles with negative BIs."
            .to_owned(),
    );
    steps
}

fn list_sources(recall: &Recall) -> Vec<String> {
    use crate::judge::publication::{CDC_2008, MMWR_2003};
    use crate::judge::rulebook::Source;
    const NOT_STEAM: Source = Source::seen(
        CDC_2008,
        2008,
        "recommendations on biological indicators (via copy)",
    );
    const STEAM: Source = Source::seen(CDC_2008, 2008, "Table 12 (via copy)");
    const STRICTER: Source = Source::seen(MMWR_2003, 2003, "the more conservative approach");
    let sources: &[Source] = match recall.path {
        Path::Everything(WhyEverything::NotSteam(_) | WhyEverything::ProcessUnknown) => {
            &[NOT_STEAM, STEAM]
        }
        Path::Everything(WhyEverything::Policy) => &[STRICTER, STEAM],
        _ => &[STEAM],
    };
    sources.iter().map(ToString::to_string).collect()
}

fn count_totals(rows: &[SheetRow]) -> Totals {
    let mut totals = Totals::default();
    let mut seen: BTreeSet<&str> = BTreeSet::new();
    for row in rows {
        let load = match row {
            SheetRow::Load(load) => load,
            SheetRow::Missing { n_missing, .. } => {
                totals.n_cycles_missing = totals.n_cycles_missing.saturating_add(*n_missing);
                continue;
            }
        };
        let back: Vec<&SetRow> = load
            .sets
            .iter()
            .filter(|set| set.call == CallWord::GetBack)
            .collect();
        if back.is_empty() {
            continue;
        }
        // A load that left between two runs stands twice; its packages are looked for once each time.
        let is_new = load.load.as_deref().is_none_or(|name| seen.insert(name));
        let n_packages: u64 = back
            .iter()
            .filter_map(|set| set.n_packages)
            .map(u64::from)
            .sum();
        let n_new = usize::from(is_new);
        totals.n_loads.add_many(n_new);
        totals.n_packages.add_many(n_packages);
        totals.n_items.add_many(
            back.iter()
                .filter_map(|set| set.n_items)
                .map(u64::from)
                .sum::<u64>(),
        );
        for set in back {
            if set.is_listed() {
                totals.n_sets.add_one();
                totals
                    .n_sets_uncounted
                    .add_many(usize::from(set.n_packages.is_none()));
            } else {
                totals.n_loads_unlisted.add_one();
            }
        }
        let (loads, packages) = match load.whereabouts {
            Where::Left => (&mut totals.n_loads_left, &mut totals.n_packages_left),
            Where::CalledBack => (
                &mut totals.n_loads_called_back,
                &mut totals.n_packages_called_back,
            ),
            Where::Here => (&mut totals.n_loads_here, &mut totals.n_packages_here),
        };
        loads.add_many(n_new);
        packages.add_many(n_packages);
    }
    totals
}

/// The heading row of the CSV.
const CSV_HEAD: [&str; 22] = [
    "sheet",
    "unit",
    "load",
    "cycle",
    "began",
    "outcome",
    "bi grew",
    "signed",
    "whereabouts",
    "do",
    "set",
    "items",
    "packages",
    "packaging",
    "packaging lot",
    "implant",
    "to",
    "note",
    "file",
    "line",
    "found",
    "found by",
];

/// The packages of all sheets as CSV with a heading row: one row for each set, load without contents, run that is not
/// counted, and gap. No cell can act as a formula in a spreadsheet. The last two columns are left free to be filled in.
///
/// # Errors
/// What the writer of CSV can't hold; in memory there is no such thing.
pub fn write_recall_csv(report: &RecallReport) -> Result<String, csv::Error> {
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    writer.write_record(CSV_HEAD)?;
    for sheet in &report.sheets {
        for row in &sheet.rows {
            match row {
                SheetRow::Missing { said, place, .. } => {
                    let mut cells = vec![String::new(); CSV_HEAD.len()];
                    put(&mut cells, 0, &sheet.title);
                    put(&mut cells, 1, sheet.unit.as_deref().unwrap_or_default());
                    put(&mut cells, 9, "find out");
                    put(&mut cells, 17, said);
                    put_place(&mut cells, place.as_ref());
                    write_cells(&mut writer, &cells)?;
                }
                SheetRow::Load(load) => {
                    let mut cells = vec![String::new(); CSV_HEAD.len()];
                    put(&mut cells, 0, &sheet.title);
                    put(&mut cells, 1, sheet.unit.as_deref().unwrap_or_default());
                    put(&mut cells, 2, load.load.as_deref().unwrap_or_default());
                    put(&mut cells, 3, load.cycle.as_deref().unwrap_or_default());
                    put(&mut cells, 4, load.began.as_deref().unwrap_or_default());
                    put(&mut cells, 5, load.outcome);
                    put(&mut cells, 6, if load.grew { "yes" } else { "no" });
                    put(&mut cells, 7, &load.signed);
                    put(&mut cells, 8, load.whereabouts.said());
                    let mut notes: Vec<&str> =
                        load.not_counted.iter().map(String::as_str).collect();
                    notes.extend(load.notes.iter().map(String::as_str));
                    put(&mut cells, 17, &notes.join("; "));
                    put_place(&mut cells, load.place.as_ref());
                    if load.sets.is_empty() {
                        put(&mut cells, 9, "not counted");
                        write_cells(&mut writer, &cells)?;
                    }
                    for set in &load.sets {
                        let mut cells = cells.clone();
                        put(
                            &mut cells,
                            9,
                            match set.call {
                                CallWord::GetBack => "get back",
                                CallWord::Wait => "wait for the repeats",
                                CallWord::Cleared => "need not come back",
                            },
                        );
                        let name = match (&set.set, set.is_listed()) {
                            (Some(name), _) => name.as_str(),
                            (None, true) => "no set named",
                            (None, false) => "contents not listed",
                        };
                        put(&mut cells, 10, name);
                        let number = |n: Option<u32>| n.map(|n| n.to_string()).unwrap_or_default();
                        put(&mut cells, 11, &number(set.n_items));
                        put(&mut cells, 12, &number(set.n_packages));
                        put(&mut cells, 13, set.packaging.as_deref().unwrap_or_default());
                        put(
                            &mut cells,
                            14,
                            set.packaging_lot.as_deref().unwrap_or_default(),
                        );
                        let implant = match set.implant {
                            Some(true) => "yes",
                            Some(false) => "no",
                            None => "not stated",
                        };
                        put(&mut cells, 15, implant);
                        put(&mut cells, 16, set.to.as_deref().unwrap_or_default());
                        if set.place.is_some() {
                            put_place(&mut cells, set.place.as_ref());
                        }
                        write_cells(&mut writer, &cells)?;
                    }
                }
            }
        }
    }
    let bytes = writer
        .into_inner()
        .map_err(|error| csv::Error::from(error.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

fn put(cells: &mut [String], at: usize, text: &str) {
    if let Some(cell) = cells.get_mut(at) {
        *cell = text.to_owned();
    }
}

fn put_place(cells: &mut [String], place: Option<&Place>) {
    if let Some(place) = place {
        put(cells, 18, &place.file);
        put(cells, 19, &place.line.to_string());
    }
}

fn write_cells(writer: &mut csv::Writer<Vec<u8>>, cells: &[String]) -> Result<(), csv::Error> {
    writer.write_record(
        cells
            .iter()
            .map(|cell| inert::spreadsheet(cell).into_owned()),
    )
}
