//! The month that infection prevention signs, as a value: cycles, loads, indicators, implants and exceptions of one month
//! beside the months before it, by site. Facts and counts only. Read [`write_monthly`] first.

use super::attention::{Need, find_needs};
use super::naming::CycleRow;
use super::place::Place;
use super::review::{Reviewed, outcome_word};
use super::scope::{Scope, is_load_cycle};
use crate::analyse::catalogue::FindingKind;
use crate::measure::count::Counting;
use crate::reconcile::history::{KnownCycle, KnownEntry, Load};
use crate::record::entry::{BiGrowth, BiRole, CiEndpoint, EntryBody};
use chrono::{Datelike, Months, NaiveDate, NaiveDateTime};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// So many months are shown before the one reported.
pub const N_BEFORE: u32 = 5;

/// A month of a year.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Month {
    /// The year.
    pub year: i32,
    /// The month, 1 to 12.
    pub month: u32,
}

impl Month {
    /// The month of a day.
    pub fn of(day: NaiveDate) -> Self {
        Month {
            year: day.year(),
            month: day.month(),
        }
    }

    /// Its first day.
    pub fn first(self) -> NaiveDate {
        NaiveDate::from_ymd_opt(self.year, self.month, 1).unwrap_or_default()
    }

    /// Its last day.
    pub fn last(self) -> NaiveDate {
        self.first()
            .checked_add_months(Months::new(1))
            .and_then(|day| day.pred_opt())
            .unwrap_or_default()
    }

    /// The month before it.
    pub fn before(self) -> Self {
        Month::of(self.first().pred_opt().unwrap_or_default())
    }

    /// Reads `2026-03`.
    pub fn read(text: &str) -> Option<Self> {
        format!("{text}-01").parse().ok().map(Month::of)
    }
}

/// A month's report.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Monthly {
    /// The month.
    pub month: Month,
    /// Whether the records end before the month does.
    pub unfinished: bool,
    /// The figures of all sites together.
    pub all: SiteFigures,
    /// The figures of each site, where there are several.
    pub sites: Vec<SiteFigures>,
    /// Biological indicators that grew, and controls that did not.
    pub positives: Vec<Need>,
    /// Loads with an implant.
    pub implants: Vec<ImplantRow>,
    /// How often each unit was used and tested.
    pub schedule: Vec<ScheduleRow>,
    /// What needed a person, and how it was closed.
    pub exceptions: Vec<Need>,
}

/// The figures of a site.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SiteFigures {
    /// The site; `None` for all together, or records that name none.
    pub site: Option<String>,
    /// The figures of the months before, the oldest first, and of the month last.
    pub months: Vec<MonthFigures>,
}

impl SiteFigures {
    /// The figures of the month itself.
    pub fn current(&self) -> Option<&MonthFigures> {
        self.months.last()
    }
}

/// The figures of a month.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MonthFigures {
    /// The month.
    pub month: Month,
    /// Cycles with a load, by the result that the printout gives.
    pub n_cycles: u64,
    /// Run to their end.
    pub n_completed: u64,
    /// Aborted.
    pub aborted: Vec<CycleRow>,
    /// Rejected before exposure.
    pub rejected: Vec<CycleRow>,
    /// Without an outcome, or torn off.
    pub unproven: Vec<CycleRow>,
    /// Cycles by unit, for the rows behind the figures.
    pub cycles: Vec<CycleRow>,
    /// Loads.
    pub n_loads: u64,
    /// Biological indicators that went through a cycle and were read.
    pub n_bi_read: u64,
    /// Of these, those that grew.
    pub bi_grew: Vec<Place>,
    /// Controls that were read.
    pub n_controls_read: u64,
    /// Of these, those that did not grow.
    pub controls_dead: Vec<Place>,
    /// Biological indicators that were put to incubation and have no result.
    pub bi_waiting: Vec<Place>,
    /// Chemical indicators that were read.
    pub n_ci_read: u64,
    /// Of these, those that did not reach their endpoint or could not be read.
    pub ci_not_reached: Vec<Place>,
    /// Loads with an implant.
    pub n_implants: u64,
}

/// A load with an implant.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ImplantRow {
    /// The load.
    pub load: String,
    /// Its unit.
    pub unit: Option<String>,
    /// The first moment that any record gives for it.
    pub first: Option<NaiveDateTime>,
    /// The biological indicator in it.
    pub bi: ImplantBi,
    /// When the load was released.
    pub released: Option<NaiveDateTime>,
    /// Where it stands: contents, indicator, release.
    pub places: Vec<Place>,
}

/// What the records say of the biological indicator of a load with an implant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ImplantBi {
    /// It grew.
    Grew,
    /// None was put in, as far as the log says.
    None,
    /// It has no result.
    NotRead,
    /// The load was released before it was read.
    ReadAfterRelease,
    /// It did not grow, and was read before any release.
    NoGrowth,
}

/// How often a unit was used and tested.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ScheduleRow {
    /// The unit.
    pub unit: String,
    /// Loads that ran to their end.
    pub n_loads: u64,
    /// Of these, those with a biological indicator in them.
    pub n_with_bi: u64,
    /// Days on which a load ran to its end.
    pub n_days: u64,
    /// Of these, those without a biological indicator in any load.
    pub days_without: Vec<(NaiveDate, CycleRow)>,
    /// Days with a leak test, and those of them on which none was passed.
    pub leak: TestDays,
    /// Days with an air-removal test, and those of them on which none was passed.
    pub air: TestDays,
}

/// Days with a test.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct TestDays {
    /// Days with a test.
    pub n_days: u64,
    /// Days on which none was passed.
    pub not_passed: Vec<CycleRow>,
}

/// The month that is reported unless one is asked for: the last one that had ended by the moment the records speak for;
/// where there are no records in it, the month of that moment.
pub fn choose_month(reviewed: &Reviewed<'_>) -> Option<Month> {
    if let Some(to) = reviewed.scope.to {
        return Some(Month::of(to));
    }
    let now = Month::of(reviewed.as_of?.local.date());
    let before = now.before();
    let has_records = reviewed.history.cycles.iter().any(|known| {
        known
            .began
            .as_ref()
            .is_some_and(|began| Month::of(began.value.local.date()) == before)
    });
    Some(if has_records { before } else { now })
}

/// Makes the report of a month.
pub fn write_monthly(reviewed: &Reviewed<'_>, month: Month) -> Monthly {
    let mut months = vec![month];
    for _ in 0..N_BEFORE {
        months.push(months.last().map_or(month, |month| month.before()));
    }
    months.reverse();
    let figures = |site: Option<&str>| {
        let counted: Vec<MonthFigures> = months
            .iter()
            .map(|month| count_month(reviewed, *month, site))
            .collect();
        // Months before the first record are not months without a cycle.
        let n_empty = counted
            .iter()
            .take(counted.len().saturating_sub(1))
            .take_while(|figures| figures.n_cycles == 0 && figures.n_loads == 0)
            .count();
        SiteFigures {
            site: site.map(str::to_owned),
            months: counted.into_iter().skip(n_empty).collect(),
        }
    };
    let names = site_names(reviewed);
    let scope = narrowed(reviewed.scope, month);
    let narrowed = Reviewed {
        scope: &scope,
        ..*reviewed
    };
    let needs = find_needs(&narrowed);
    use super::attention::NeedKind;
    let (positives, exceptions): (Vec<Need>, Vec<Need>) = needs.into_iter().partition(|need| {
        matches!(
            need.kind,
            NeedKind::BiGrowth | NeedKind::RecallScope | NeedKind::BiControlNoGrowth
        )
    });
    Monthly {
        month,
        unfinished: reviewed
            .as_of
            .is_some_and(|as_of| as_of.local.date() < month.last()),
        all: figures(None),
        sites: match names.len() {
            0 | 1 => Vec::new(),
            _ => names.iter().map(|name| figures(Some(name))).collect(),
        },
        positives,
        implants: list_implants(&narrowed),
        schedule: list_schedule(&narrowed),
        exceptions,
    }
}

/// The scope of a month, with the units and programs that were asked for.
pub fn narrowed(scope: &Scope, month: Month) -> Scope {
    Scope {
        from: Some(month.first()),
        to: Some(month.last()),
        units: scope.units.clone(),
        programs: scope.programs.clone(),
    }
}

fn site_names(reviewed: &Reviewed<'_>) -> BTreeSet<String> {
    let everything = Scope {
        from: None,
        to: None,
        ..reviewed.scope.clone()
    };
    reviewed
        .history
        .cycles
        .iter()
        .filter(|known| everything.has_cycle(known))
        .filter_map(|known| known.cycle.place.as_ref())
        .map(|place| place.value.clone())
        .collect()
}

/// The site of a load: that of its printout, else that of its log page.
fn site_of<'a>(reviewed: &'a Reviewed<'_>, load: &Load) -> Option<&'a str> {
    let printed = load
        .cycles
        .iter()
        .filter_map(|ix| reviewed.history.cycles.get(ix.0))
        .find_map(|known| known.cycle.place.as_ref());
    let written = || {
        [&load.starts, &load.contents, &load.cis, &load.bis]
            .into_iter()
            .flatten()
            .filter_map(|ix| reviewed.history.entries.get(ix.0))
            .find_map(|known| known.entry.place.as_deref())
    };
    printed.or_else(written).map(|place| place.value.as_str())
}

fn count_month(reviewed: &Reviewed<'_>, month: Month, site: Option<&str>) -> MonthFigures {
    let scope = narrowed(reviewed.scope, month);
    let mut figures = MonthFigures {
        month,
        n_cycles: 0,
        n_completed: 0,
        aborted: Vec::new(),
        rejected: Vec::new(),
        unproven: Vec::new(),
        cycles: Vec::new(),
        n_loads: 0,
        n_bi_read: 0,
        bi_grew: Vec::new(),
        n_controls_read: 0,
        controls_dead: Vec::new(),
        bi_waiting: Vec::new(),
        n_ci_read: 0,
        ci_not_reached: Vec::new(),
        n_implants: 0,
    };
    let is_here = |place: Option<&str>| site.is_none_or(|site| place == Some(site));
    // A cycle without a date is in every period of a scope; in a row of months it would be counted in each.
    let has_day = |known: &&KnownCycle| {
        known
            .began
            .as_ref()
            .is_some_and(|began| scope.has_day(Some(began.value.local.date())))
    };
    for known in reviewed
        .history
        .cycles
        .iter()
        .filter(|known| is_load_cycle(known) && scope.has_cycle(known))
        .filter(has_day)
        .filter(|known| is_here(known.cycle.place.as_ref().map(|place| place.value.as_str())))
    {
        let row = CycleRow::of(known, reviewed.lines);
        figures.n_cycles.add_one();
        match outcome_word(known) {
            "completed" => figures.n_completed.add_one(),
            "aborted" => figures.aborted.push(row.clone()),
            "rejected" => figures.rejected.push(row.clone()),
            _ => figures.unproven.push(row.clone()),
        }
        figures.cycles.push(row);
    }
    for load in reviewed.history.loads.iter().filter(|load| {
        load.first
            .is_some_and(|first| scope.has_day(Some(first.local.date())))
            && scope.has_load(load, reviewed.history)
            && is_here(site_of(reviewed, load))
    }) {
        figures.n_loads.add_one();
        if entries(reviewed, &load.contents).any(is_implant) {
            figures.n_implants.add_one();
        }
        for known in entries(reviewed, &load.bis) {
            let EntryBody::Bi(bi) = &known.entry.body else {
                continue;
            };
            let place = Place::of(&known.entry.span, reviewed.lines);
            let role = bi.role.as_ref().map_or(BiRole::Test, |role| role.value);
            match (role, bi.growth.as_ref().map(|growth| growth.value)) {
                (BiRole::Test, None) => figures.bi_waiting.push(place),
                (BiRole::Test, Some(growth)) => {
                    figures.n_bi_read.add_one();
                    if growth == BiGrowth::Growth {
                        figures.bi_grew.push(place);
                    }
                }
                (BiRole::Control, None) => {}
                (BiRole::Control, Some(growth)) => {
                    figures.n_controls_read.add_one();
                    if growth == BiGrowth::NoGrowth {
                        figures.controls_dead.push(place);
                    }
                }
            }
        }
        for known in entries(reviewed, &load.cis) {
            if let EntryBody::Ci(ci) = &known.entry.body
                && let Some(endpoint) = &ci.endpoint
            {
                figures.n_ci_read.add_one();
                if endpoint.value != CiEndpoint::Reached {
                    figures
                        .ci_not_reached
                        .push(Place::of(&known.entry.span, reviewed.lines));
                }
            }
        }
    }
    figures
}

fn entries<'a>(
    reviewed: &'a Reviewed<'_>,
    ixs: &'a [crate::reconcile::history::EntryIx],
) -> impl Iterator<Item = &'a KnownEntry> {
    ixs.iter()
        .filter_map(|ix| reviewed.history.entries.get(ix.0))
}

fn is_implant(known: &KnownEntry) -> bool {
    match &known.entry.body {
        EntryBody::Content(content) => content.implant.as_ref().is_some_and(|yes| yes.value),
        _ => false,
    }
}

fn is_bi_test(known: &&KnownEntry) -> bool {
    match &known.entry.body {
        EntryBody::Bi(bi) => {
            bi.role.as_ref().map_or(BiRole::Test, |role| role.value) == BiRole::Test
        }
        _ => false,
    }
}

fn list_implants(reviewed: &Reviewed<'_>) -> Vec<ImplantRow> {
    let mut rows: Vec<ImplantRow> = reviewed
        .history
        .loads
        .iter()
        .filter(|load| reviewed.scope.has_load(load, reviewed.history))
        .filter_map(|load| {
            let content = entries(reviewed, &load.contents).find(|known| is_implant(known))?;
            let release = entries(reviewed, &load.decisions)
                .find(|known| known.entry.body == EntryBody::Release);
            let released = release.and_then(|known| known.written).map(|at| at.local);
            let test = entries(reviewed, &load.bis).find(is_bi_test);
            let bi = match test.map(|known| &known.entry.body) {
                Some(EntryBody::Bi(bi)) => {
                    let read = bi.read.as_ref().map(|read| read.value.local);
                    let early = released
                        .zip(read)
                        .is_some_and(|(released, read)| released < read);
                    match bi.growth.as_ref().map(|growth| growth.value) {
                        Some(BiGrowth::Growth) => ImplantBi::Grew,
                        None => ImplantBi::NotRead,
                        Some(BiGrowth::NoGrowth) if early => ImplantBi::ReadAfterRelease,
                        Some(BiGrowth::NoGrowth) => ImplantBi::NoGrowth,
                    }
                }
                _ => ImplantBi::None,
            };
            let places = [Some(content), test, release]
                .into_iter()
                .flatten()
                .map(|known| Place::of(&known.entry.span, reviewed.lines))
                .collect();
            Some(ImplantRow {
                load: load.number.0.clone(),
                unit: load.unit.as_ref().map(|unit| unit.0.clone()),
                first: load.first.map(|first| first.local),
                bi,
                released,
                places,
            })
        })
        .collect();
    rows.sort_by(|a, b| a.bi.cmp(&b.bi).then_with(|| a.first.cmp(&b.first)));
    rows
}

/// Days, each with whether what was looked for was there, and the first cycle of the day.
type Days = BTreeMap<NaiveDate, (bool, CycleRow)>;

fn list_schedule(reviewed: &Reviewed<'_>) -> Vec<ScheduleRow> {
    let history = reviewed.history;
    let mut rows: BTreeMap<String, (ScheduleRow, Days)> = BTreeMap::new();
    let mut tests: BTreeMap<(String, bool), Days> = BTreeMap::new();
    for known in history
        .cycles
        .iter()
        .filter(|known| reviewed.scope.has_cycle(known))
    {
        let (Some(unit), Some(began)) = (&known.cycle.unit, &known.began) else {
            continue;
        };
        let unit = unit.value.0.clone();
        let day = began.value.local.date();
        let row = CycleRow::of(known, reviewed.lines);
        use crate::record::cycle::Purpose;
        match known.cycle.purpose {
            Purpose::Load => {
                let (counts, days) = rows.entry(unit.clone()).or_insert_with(|| {
                    (
                        ScheduleRow {
                            unit,
                            n_loads: 0,
                            n_with_bi: 0,
                            n_days: 0,
                            days_without: Vec::new(),
                            leak: TestDays::default(),
                            air: TestDays::default(),
                        },
                        BTreeMap::new(),
                    )
                });
                if outcome_word(known) != "completed" {
                    continue;
                }
                let with_bi = known
                    .load
                    .and_then(|ix| history.loads.get(ix.0))
                    .is_some_and(|load| {
                        entries(reviewed, &load.bis).any(|known| is_bi_test(&known))
                    });
                counts.n_loads.add_one();
                counts.n_with_bi.add_many(u64::from(with_bi));
                days.entry(day).or_insert((false, row)).0 |= with_bi;
            }
            Purpose::LeakTest | Purpose::AirRemovalTest => {
                let passed = outcome_word(known) == "passed";
                let is_leak = known.cycle.purpose == Purpose::LeakTest;
                let tested = tests.entry((unit, is_leak)).or_default();
                tested.entry(day).or_insert((false, row)).0 |= passed;
            }
            Purpose::WarmUp => {}
        }
    }
    let days_of = |unit: &str, is_leak: bool| {
        let days = tests.get(&(unit.to_owned(), is_leak));
        TestDays {
            n_days: days.map_or(0, |days| days.len() as u64),
            not_passed: days
                .into_iter()
                .flat_map(|days| days.values())
                .filter(|(passed, _)| !passed)
                .map(|(_, row)| row.clone())
                .collect(),
        }
    };
    rows.into_values()
        .map(|(mut row, days)| {
            row.n_days = days.len() as u64;
            row.days_without = days
                .into_iter()
                .filter(|(_, (with_bi, _))| !with_bi)
                .map(|(day, (_, cycle))| (day, cycle))
                .collect();
            row.leak = days_of(&row.unit, true);
            row.air = days_of(&row.unit, false);
            row
        })
        .collect()
}

/// Whether a month for infection prevention tells findings of this kind: those about indicators, and about the keeping of
/// records.
pub fn is_reported(kind: FindingKind) -> bool {
    matches!(
        kind,
        FindingKind::BiGrowth
            | FindingKind::BiControlNoGrowth
            | FindingKind::ReleasedBeforeBi
            | FindingKind::StageTooShort
            | FindingKind::IndicatorLot
            | FindingKind::IndicatorUnit
            | FindingKind::UnsignedShift
            | FindingKind::BiReadLate
            | FindingKind::PrintoutsMissing
    )
}

#[cfg(test)]
mod tests {
    use super::Month;

    /// The lengths of months are those of the Gregorian calendar (ISO 8601-1:2019, table 1, from memory).
    #[test]
    fn months_end_where_the_calendar_says() {
        for (text, last) in [
            ("2026-02", "2026-02-28"),
            ("2028-02", "2028-02-29"),
            ("2026-12", "2026-12-31"),
        ] {
            assert_eq!(
                Month::read(text)
                    .map(|month| month.last().to_string())
                    .as_deref(),
                Some(last)
            );
        }
        assert_eq!(
            Month::read("2026-01").map(Month::before),
            Month::read("2025-12")
        );
        assert_eq!(Month::read("2026-13"), None);
        assert_eq!(Month::read(""), None);
    }
}
