//! How often findings are right: many departments simulated with and without planted troubles of graded size, beside plain
//! baselines on the same data and the ceiling that theory sets.
//!
//! `cargo bench --bench calibration` prints the table of `benches/CALIBRATION.md`. `-- --seed N --departments N` changes the
//! seed and the number of departments a row; `-- --seed 1` and its neighbours were used while thresholds were chosen, so
//! they prove nothing. The departments are made here as histories, not with `loadbook simulate`, so that one program's view
//! of a department is not held against itself; times and rates are common practice, no source.
//!
//! Equal false findings: each baseline's threshold is set on departments without trouble, so that it cries as often as the
//! analysis does on the same departments (at least once in a hundred units, since less can't be measured); then both meet
//! the troubles.

use chrono::{Datelike, Days, NaiveDate, NaiveDateTime, TimeDelta, Weekday};
use loadbook::analyse::finding::Attribution;
use loadbook::analyse::{Analysis, find_findings};
use loadbook::diagnose::{FileId, Span};
use loadbook::measure::quantity::{Concentration, Duration, LeakRate, Power, Temperature};
use loadbook::measure::unit::{
    ConcentrationUnit, DurationUnit, LeakRateUnit, PowerUnit, TemperatureUnit,
};
use loadbook::reconcile::history::{
    CycleIx, EntryIx, History, KnownCycle, KnownEntry, Lack, Load, LoadIx, Moment, Unit,
};
use loadbook::record::cause::Cause;
use loadbook::record::consumable::{ConsumableKind, ConsumableUse, LotIdentity};
use loadbook::record::cycle::{
    Bound, Cycle, Elapsed, LeakResult, Limit, LimitValue, Measured, Outcome, Process, Purpose,
    Reading, Stage, StageName,
};
use loadbook::record::entry::{
    BiGrowth, BiResult, BiRole, CiEndpoint, CiPosition, CiResult, Content, Entry, EntryBody,
};
use loadbook::record::line_set::LineSet;
use loadbook::record::name::{LoadNumber, LotNumber, Program, StaffMark, UnitName};
use loadbook::record::stamp::Stamp;
use loadbook::record::{Inferred, Spanned};
use loadbook::stats::discrete::Discrete;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicU64, Ordering};

/// Units of a department.
const N_UNITS: usize = 4;
/// Loads of a unit on a working day.
const N_LOADS: usize = 5;
/// Weeks of a department's records.
const N_WEEKS: u32 = 26;
/// The usual share of loads that abort.
const ABORT_RATE: f64 = 0.05;
/// The usual share of internal indicators that fail.
const CI_RATE: f64 = 0.02;
/// Uses of a lot of internal indicators.
const LOT_USES: usize = 300;
/// Cycles with a changed abort rate.
const N_CHANGED: usize = 200;
/// Uses of the lot that is bad.
const N_BAD_USES: usize = 60;
/// Baselines are not made to cry more seldom than this: rarer can't be measured here.
const FLOOR: f64 = 0.01;
/// The spread of stage lengths from cycle to cycle.
const SPREAD: f64 = 0.03;

/// Numbers from a seed.
struct Chance(ChaCha8Rng);

impl Chance {
    fn of(seed: u64, department: u64) -> Self {
        let mut key = *b"................loadbook calibra";
        for (place, byte) in key.iter_mut().zip(
            seed.to_le_bytes()
                .into_iter()
                .chain(department.to_le_bytes()),
        ) {
            *place = byte;
        }
        Chance(ChaCha8Rng::from_seed(key))
    }
    fn share(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }
    fn happens(&mut self, p: f64) -> bool {
        self.share() < p
    }
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.share()).sum::<f64>() - 6.0
    }
    fn pick<'a, T>(&mut self, choices: &'a [T]) -> &'a T {
        &choices[(choices.len() as f64 * self.share()) as usize]
    }
    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }
}

/// What is planted in the first unit, or in the lot of the first pair of units.
#[derive(Clone, Copy, PartialEq)]
enum Trouble {
    None,
    /// The evacuation grows by this share a week over the last so many weeks.
    Drift {
        weekly: f64,
        weeks: u32,
    },
    /// The last cycles abort so many times as often.
    Aborts {
        times: f64,
    },
    /// The lot that was opened last fails at this rate, in both units that use it.
    BadLot {
        rate: f64,
    },
    /// Indicators of the first unit fail at this rate with every lot, and it used most of the last one.
    BadUnit {
        rate: f64,
    },
}

/// A department's records and what a baseline looks at.
struct Department {
    history: History,
    /// Of each unit, in order: total minutes and evacuation minutes of completed cycles, and whether each cycle aborted.
    totals: Vec<Vec<f64>>,
    evacuations: Vec<Vec<f64>>,
    aborted: Vec<Vec<bool>>,
    /// Uses of internal indicators: unit, lot, failed.
    cis: Vec<(usize, String, bool)>,
    /// The day on which the usual cycle of the longest program meets the limit, in days from the first.
    meets: f64,
    first: NaiveDate,
}

const UNIT_NAMES: [&str; N_UNITS] = ["U-1", "U-2", "U-3", "U-4"];
const PROGRAMS: [(&str, f64); 3] = [("short", 9.5), ("usual", 11.0), ("long", 12.5)];
const LIMIT_MINUTES: f64 = 20.0;
const SETS: [&str; 9] = [
    "Scope",
    "Lead",
    "Camera",
    "Drill",
    "Tray",
    "Lens",
    "Cable",
    "Basin",
    "Retractor",
];
const PACKAGINGS: [&str; 3] = ["pouch", "wrap", "container"];

struct Lines(u32);

impl Lines {
    fn next(&mut self) -> Span {
        self.0 += 1;
        Span {
            file: FileId(0),
            line: self.0,
            line_start: u64::from(self.0) * 80,
            start: 0,
            end: 10,
        }
    }
}

fn lot(name: String) -> LotIdentity {
    LotIdentity {
        gtin: None,
        lot: Some(LotNumber(name)),
        expiry: None,
        serial: None,
    }
}

fn make(seed: u64, number: u64, trouble: Trouble, until: Option<NaiveDate>) -> Department {
    let mut chance = Chance::of(seed, number);
    let mut lines = Lines(0);
    let first = NaiveDate::from_ymd_opt(2026, 1, 5).unwrap();
    let n_days = N_WEEKS * 7;
    let n_working: usize = (0..n_days)
        .filter(|day| is_open(first + Days::new((*day).into())))
        .count();
    let n_per_unit = n_working * N_LOADS;
    let mut history = History::default();
    let mut department = Department {
        history: History::default(),
        totals: vec![Vec::new(); N_UNITS],
        evacuations: vec![Vec::new(); N_UNITS],
        aborted: vec![Vec::new(); N_UNITS],
        cis: Vec::new(),
        meets: f64::INFINITY,
        first,
    };
    if let Trouble::Drift { weekly, weeks } = trouble {
        let onset = f64::from(N_WEEKS - weeks) * 7.0;
        department.meets = onset + 7.0 * (LIMIT_MINUTES / PROGRAMS[2].1).ln() / (1.0 + weekly).ln();
    }
    // Uses of the pair's lots: the one opened last is short.
    for (at, name) in UNIT_NAMES.iter().enumerate() {
        let mut n_run = 0;
        let mut unit = Unit {
            name: UnitName((*name).to_owned()),
            process: Some(Process::Plasma),
            serials: Vec::new(),
            software: Vec::new(),
            cycles: Vec::new(),
            services: Vec::new(),
            clock: None,
            clock_steps: Vec::new(),
        };
        let mut counter = 1_000;
        for day in 0..n_days {
            let date = first + Days::new(day.into());
            if !is_open(date) || until.is_some_and(|until| date > until) {
                continue;
            }
            push_leak_test(
                &mut history,
                &mut unit,
                &mut counter,
                date,
                &mut chance,
                &mut lines,
            );
            for load in 0..N_LOADS {
                n_run += 1;
                counter += 1;
                let left = n_per_unit - n_run;
                push_load(
                    &mut history,
                    &mut department,
                    &mut unit,
                    (at, counter, left, date, load, day),
                    trouble,
                    &mut chance,
                    &mut lines,
                );
            }
        }
        history.units.push(unit);
    }
    department.history = history;
    department
}

fn is_open(date: NaiveDate) -> bool {
    !matches!(date.weekday(), Weekday::Sat | Weekday::Sun)
}

fn at_time(date: NaiveDate, minute: i64) -> NaiveDateTime {
    date.and_hms_opt(0, 0, 0).unwrap() + TimeDelta::minutes(minute)
}

fn known(
    cycle: Cycle,
    began: NaiveDateTime,
    seconds: i32,
    load: Option<LoadIx>,
    first_of_day: bool,
) -> KnownCycle {
    KnownCycle {
        cycle,
        began: Some(Inferred::printed(Moment {
            local: began,
            utc: None,
        })),
        ended: Some(Moment {
            local: began + TimeDelta::seconds(seconds.into()),
            utc: None,
        }),
        reprints: Vec::new(),
        load,
        first_of_day,
        clock_lost: false,
    }
}

fn heading(
    unit: &Unit,
    counter: u32,
    program: &str,
    began: NaiveDateTime,
    operator: &str,
    lines: &mut Lines,
) -> Cycle {
    let mut cycle = Cycle::opened_at(lines.next());
    cycle.unit = Some(Spanned::new(unit.name.clone(), lines.next()));
    cycle.process = Some(Spanned::new(Process::Plasma, lines.next()));
    cycle.program = Some(Spanned::new(Program(program.to_owned()), lines.next()));
    cycle.counter = Some(Spanned::new(counter, lines.next()));
    cycle.operator = Some(Spanned::new(StaffMark(operator.to_owned()), lines.next()));
    cycle.started = Some(Spanned::new(Stamp::local(began), lines.next()));
    cycle.closed = true;
    cycle
}

fn push_leak_test(
    history: &mut History,
    unit: &mut Unit,
    counter: &mut u32,
    date: NaiveDate,
    chance: &mut Chance,
    lines: &mut Lines,
) {
    *counter += 1;
    let began = at_time(date, 390);
    let mut cycle = heading(unit, *counter, "leak test", began, "HB", lines);
    cycle.purpose = Purpose::LeakTest;
    let rate = |number| LeakRate::new(number, LeakRateUnit::MillibarPerMinute);
    let result = LeakResult {
        rate: rate(0.45 + 0.025 * chance.normal()),
        limit: Some(rate(1.3)),
    };
    cycle.leak = Some(Spanned::new(result, lines.next()));
    cycle.outcome = Some(Spanned::new(Outcome::Passed, lines.next()));
    unit.cycles.push(CycleIx(history.cycles.len()));
    history.cycles.push(known(cycle, began, 1_200, None, false));
}

fn push_load(
    history: &mut History,
    department: &mut Department,
    unit: &mut Unit,
    (at, counter, left, date, load, day): (usize, u32, usize, NaiveDate, usize, u32),
    trouble: Trouble,
    chance: &mut Chance,
    lines: &mut Lines,
) {
    let began = at_time(
        date,
        440 + 110 * load as i64 + (10.0 * chance.share()) as i64,
    );
    let shift = if load < 3 {
        ["HB", "MK", "JT"]
    } else {
        ["RS", "AO", "XT"]
    };
    let operator = *chance.pick(&shift);
    let dice = chance.share();
    let (program, minutes) = PROGRAMS[if dice < 0.2 {
        0
    } else if dice < 0.8 {
        1
    } else {
        2
    }];
    let mut cycle = heading(unit, counter, program, began, operator, lines);
    let number = LoadNumber(format!("{}-{counter}", unit.name));
    cycle.load = Some(Spanned::new(number.clone(), lines.next()));
    cycle.consumables.push(ConsumableUse {
        kind: ConsumableKind::Sterilant,
        lot: Spanned::new(lot(format!("K{}", day / 18)), lines.next()),
        use_count: None,
    });
    let growth = match trouble {
        Trouble::Drift { weekly, weeks } if at == 0 => {
            let weeks_in = (f64::from(day) - f64::from(N_WEEKS - weeks) * 7.0) / 7.0;
            (1.0 + weekly).powf(weeks_in.max(0.0))
        }
        _ => 1.0,
    };
    let cold = if load == 0 {
        chance.between(110.0, 170.0)
    } else {
        0.0
    };
    let evacuate = minutes * 60.0 * growth * (1.0 + SPREAD * chance.normal()) + cold;
    let abort_rate = match trouble {
        Trouble::Aborts { times } if at == 0 && left < N_CHANGED => ABORT_RATE * times,
        _ => ABORT_RATE,
    };
    let aborted = chance.happens(abort_rate);
    let rejected = !aborted && chance.happens(0.015);
    let seconds = push_stages(&mut cycle, evacuate, aborted, chance, lines);
    let outcome = if aborted {
        let causes = [
            Cause::Moisture,
            Cause::Moisture,
            Cause::InjectionLow,
            Cause::PlasmaPowerLow,
            Cause::OperatorStopped,
        ];
        Outcome::Aborted {
            stage: Some(StageName::Evacuate),
            cause: Some(chance.pick(&causes).clone()),
        }
    } else if rejected {
        cycle.stages.clear();
        Outcome::Rejected {
            cause: Some(
                chance
                    .pick(&[Cause::PackageContact, Cause::SterilantUnread])
                    .clone(),
            ),
        }
    } else {
        department.totals[at].push(f64::from(seconds) / 60.0);
        department.evacuations[at].push(evacuate / 60.0);
        Outcome::Completed
    };
    if !rejected {
        department.aborted[at].push(aborted);
    }
    let completed = outcome == Outcome::Completed;
    cycle.outcome = Some(Spanned::new(outcome, lines.next()));
    cycle.ended = Some(Spanned::new(Elapsed(seconds), lines.next()));
    let cycle_ix = CycleIx(history.cycles.len());
    let load_ix = LoadIx(history.loads.len());
    unit.cycles.push(cycle_ix);
    history
        .cycles
        .push(known(cycle, began, seconds, Some(load_ix), load == 0));
    let mut entry_of = |body: EntryBody, minute: i64| {
        let span = lines.next();
        let mut set = LineSet::new(span.file);
        set.push(span.line);
        let written = began + TimeDelta::minutes(minute);
        history.entries.push(KnownEntry {
            entry: Entry {
                lines: set,
                span,
                written: Some(Spanned::new(Stamp::local(written), span)),
                place: None,
                zone: None,
                load: Some(Spanned::new(number.clone(), span)),
                unit: None,
                by: None,
                note: None,
                body,
            },
            written: Some(Moment {
                local: written,
                utc: None,
            }),
        });
        EntryIx(history.entries.len() - 1)
    };
    let span = Span {
        file: FileId(0),
        line: 1,
        line_start: 0,
        start: 0,
        end: 1,
    };
    let mut made = Load {
        number: number.clone(),
        unit: Some(unit.name.clone()),
        first: Some(Moment {
            local: began,
            utc: None,
        }),
        cycles: vec![cycle_ix],
        starts: Vec::new(),
        contents: Vec::new(),
        cis: Vec::new(),
        bis: Vec::new(),
        superseded_bis: Vec::new(),
        decisions: Vec::new(),
        remarks: Vec::new(),
        lacking: Vec::new(),
    };
    let set = chance.pick(&SETS);
    let packaging = chance.pick(&PACKAGINGS);
    made.contents.push(entry_of(
        EntryBody::from(Content {
            set: Some(Spanned::new(
                format!("{set} {}", 1 + (4.0 * chance.share()) as u32),
                span,
            )),
            n_items: Some(Spanned::new(1 + (20.0 * chance.share()) as u32, span)),
            n_packages: None,
            packaging: Some(Spanned::new((*packaging).to_owned(), span)),
            packaging_lot: (*packaging != "container")
                .then(|| Spanned::new(lot(format!("W{}-{packaging}", day / 21)), span)),
            implant: None,
            destination: None,
        }),
        -2,
    ));
    if completed {
        let (lot_name, rate) = ci_of(at, left, trouble, chance);
        let failed = chance.happens(rate);
        department.cis.push((at, lot_name.clone(), failed));
        let endpoint = if failed {
            CiEndpoint::NotReached
        } else {
            CiEndpoint::Reached
        };
        made.cis.push(entry_of(
            EntryBody::from(CiResult {
                position: Some(Spanned::new(CiPosition::Internal, span)),
                ci_type: None,
                set: None,
                lot: Some(Spanned::new(lot(lot_name), span)),
                endpoint: Some(Spanned::new(endpoint, span)),
            }),
            60,
        ));
        if load == 0 {
            let incubated = began + TimeDelta::minutes(62);
            for role in [BiRole::Test, BiRole::Control] {
                let growth = if role == BiRole::Test {
                    BiGrowth::NoGrowth
                } else {
                    BiGrowth::Growth
                };
                let read = incubated + TimeDelta::minutes(1_440 + (40.0 * chance.share()) as i64);
                made.bis.push(entry_of(
                    EntryBody::from(BiResult {
                        role: Some(Spanned::new(role, span)),
                        lot: Some(Spanned::new(lot(format!("B{}", day / 25)), span)),
                        incubated: Some(Spanned::new(Stamp::local(incubated), span)),
                        read: Some(Spanned::new(Stamp::local(read), span)),
                        growth: Some(Spanned::new(growth, span)),
                        population: None,
                        d_value_minutes: None,
                    }),
                    62,
                ));
            }
        }
        if chance.happens(0.006) {
            made.lacking.push(Lack::NotSigned);
        } else {
            made.decisions.push(entry_of(EntryBody::Release, 70));
        }
    }
    history.loads.push(made);
}

/// The lot of internal indicators in use, and how often it fails. Units share lots in pairs; the last lot of the first pair
/// has been in use for the last cycles only.
fn ci_of(at: usize, left: usize, trouble: Trouble, chance: &mut Chance) -> (String, f64) {
    let pair = at / 2;
    // Some cycles are aborted or rejected and have no indicator.
    let n_last = N_BAD_USES / 2 + 2;
    match trouble {
        Trouble::BadLot { rate } if pair == 0 && left < n_last => ("C-last".to_owned(), rate),
        Trouble::BadUnit { rate } if pair == 0 => {
            // The bad unit used three of four of the last lot.
            let last = left < n_last * if at == 0 { 3 } else { 1 } / 2;
            let name = if last {
                "C-last".to_owned()
            } else {
                format!("C{pair}-{}", left / (LOT_USES / 2))
            };
            (name, if at == 0 { rate } else { CI_RATE })
        }
        _ => {
            let _ = chance;
            (format!("C{pair}-{}", left / (LOT_USES / 2)), CI_RATE)
        }
    }
}

/// The stages of a cycle; how long it takes in seconds.
fn push_stages(
    cycle: &mut Cycle,
    evacuate: f64,
    aborted: bool,
    chance: &mut Chance,
    lines: &mut Lines,
) -> i32 {
    let mut at = 10.0;
    let mut push = |name: StageName,
                    seconds: f64,
                    limits: Vec<Limit>,
                    values: &[Measured],
                    lines: &mut Lines| {
        let span = lines.next();
        let readings = values
            .iter()
            .enumerate()
            .map(|(n, measured)| Reading {
                at: Elapsed((at + seconds * (n as f64 + 1.0) / values.len() as f64) as i32),
                line: span.line,
                measured: *measured,
            })
            .collect();
        cycle.stages.push(Stage {
            name,
            span,
            began: Elapsed(at.round() as i32),
            limits,
            n_pulses: None,
            readings,
        });
        at += seconds;
    };
    let most = Limit {
        bound: Bound::Max,
        value: LimitValue::Duration(Duration::new(LIMIT_MINUTES, DurationUnit::Minute)),
    };
    let celsius = |chance: &mut Chance| {
        Measured::Temperature(Temperature::new(
            46.0 + 0.3 * chance.normal(),
            TemperatureUnit::Celsius,
        ))
    };
    let warm = [celsius(chance), celsius(chance), celsius(chance)];
    push(StageName::Evacuate, evacuate, vec![most], &warm, lines);
    if !aborted {
        let dose = 6.1 + 0.25 * chance.normal();
        let milligrams = |share: f64| {
            Measured::Concentration(Concentration::new(
                dose * share,
                ConcentrationUnit::MilligramPerLitre,
            ))
        };
        push(
            StageName::Inject,
            120.0 + 4.0 * chance.normal(),
            Vec::new(),
            &[milligrams(0.7), milligrams(1.0)],
            lines,
        );
        push(
            StageName::Diffuse,
            300.0 + 3.0 * chance.normal(),
            Vec::new(),
            &[milligrams(0.97), milligrams(0.92)],
            lines,
        );
        let watts = [0, 1, 2]
            .map(|_| Measured::Power(Power::new(400.0 + 5.0 * chance.normal(), PowerUnit::Watt)));
        push(StageName::Plasma, 240.0, Vec::new(), &watts, lines);
    }
    push(
        StageName::Vent,
        200.0 + 12.0 * chance.normal(),
        Vec::new(),
        &[],
        lines,
    );
    at.round() as i32
}

/// Whether the analysis found a trouble.
fn found(analysis: &Analysis, trouble: Trouble) -> bool {
    analysis.findings.iter().any(|finding| {
        let id = finding.kind.id();
        let unit = finding.subject.unit.as_deref() == Some(UNIT_NAMES[0]);
        match trouble {
            Trouble::None => false,
            Trouble::Drift { .. } => unit && (id == "stage-drift" || id == "stage-step"),
            Trouble::Aborts { .. } => unit && id.starts_with("abort-"),
            Trouble::BadLot { .. } => {
                id == "indicator-lot" && finding.subject.lot.as_deref() == Some("C-last")
            }
            Trouble::BadUnit { .. } => unit && id == "indicator-unit",
        }
    })
}

/// Findings that speak of nothing that was planted.
fn n_false(analysis: &Analysis, trouble: Trouble) -> usize {
    analysis
        .findings
        .iter()
        .filter(|finding| {
            let id = finding.kind.id();
            let unit = finding.subject.unit.as_deref() == Some(UNIT_NAMES[0]);
            !match trouble {
                Trouble::None => false,
                Trouble::Drift { .. } => {
                    unit && finding.subject.stage.as_deref() == Some("evacuate")
                }
                Trouble::Aborts { .. } => unit && id.starts_with("abort-"),
                Trouble::BadLot { .. } => finding.subject.lot.as_deref() == Some("C-last"),
                Trouble::BadUnit { .. } => unit && id.starts_with("indicator-"),
            }
        })
        .count()
}

// Baselines: one number for each unit or lot, the larger the stranger.

/// The furthest of the last eighth of a unit's totals from the mean of the first half, in its standard deviations.
fn three_sigma(totals: &[f64]) -> f64 {
    let (before, _) = totals.split_at(totals.len() / 2);
    let (mean, deviation) = mean_and_deviation(before);
    totals[totals.len() / 2..]
        .iter()
        .map(|total| ((total - mean) / deviation).abs())
        .fold(0.0, f64::max)
}

fn mean_and_deviation(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let variance = values
        .iter()
        .map(|value| (value - mean).powi(2))
        .sum::<f64>()
        / (n - 1.0);
    (mean, variance.sqrt())
}

/// The longest run of totals of the second half on one side of the mean of the first half: the run rule whose length is
/// raised until it cries as seldom as asked.
fn run_rule(totals: &[f64]) -> f64 {
    let (before, after) = totals.split_at(totals.len() / 2);
    let (mean, _) = mean_and_deviation(before);
    let (mut longest, mut run, mut side) = (0, 0, false);
    for total in after {
        let above = *total > mean;
        run = if above == side { run + 1 } else { 1 };
        side = above;
        longest = longest.max(run);
    }
    f64::from(longest)
}

/// The gain of the best single change of level in the raw evacuations (least squares).
fn change_point(values: &[f64]) -> f64 {
    let n = values.len() as f64;
    let total: f64 = values.iter().sum();
    let all: f64 = values.iter().map(|value| (value - total / n).powi(2)).sum();
    let (mut sum, mut best) = (0.0, 0.0_f64);
    for (at, value) in values.iter().enumerate().take(values.len() - 2) {
        sum += value;
        let k = at as f64 + 1.0;
        let gain = (sum - k * total / n).powi(2) * n / (k * (n - k));
        best = best.max(gain);
    }
    best / all * n
}

/// The number of aborts among the last cycles in deviations from the rate before: a p chart with one point.
fn p_chart(aborted: &[bool]) -> f64 {
    let Some(n_before) = aborted.len().checked_sub(N_CHANGED) else {
        return 0.0;
    };
    let (before, last) = aborted.split_at(n_before);
    let count = |rows: &[bool]| rows.iter().filter(|aborted| **aborted).count() as f64;
    let rate = count(before) / before.len() as f64;
    (count(last) - rate * last.len() as f64) / (rate * (1.0 - rate) * last.len() as f64).sqrt()
}

/// Minus the logarithm of Fisher's one-sided p of each lot against all others, units thrown together.
fn unstratified(cis: &[(usize, String, bool)]) -> BTreeMap<&str, f64> {
    let mut lots: BTreeMap<&str, (u64, u64)> = BTreeMap::new();
    let (mut all, mut failures) = (0, 0);
    for (_, name, failed) in cis {
        let lot = lots.entry(name).or_default();
        lot.0 += 1;
        lot.1 += u64::from(*failed);
        all += 1;
        failures += u64::from(*failed);
    }
    lots.into_iter()
        .map(|(name, (n, failed))| {
            let p = Discrete::hypergeometric(n, all - n, failures, 0.0)
                .map_or(1.0, |law| law.at_least(failed));
            (name, -p.ln())
        })
        .collect()
}

/// The threshold that this share of values exceeds.
fn threshold(mut values: Vec<f64>, share: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    let at = ((1.0 - share) * values.len() as f64).ceil() as usize;
    values
        .get(at.min(values.len() - 1))
        .copied()
        .unwrap_or(f64::INFINITY)
}

/// The power of the ideal test of a raised rate: the rate before is known, the changed cycles are known, and it cries
/// falsely with exactly this probability (randomised; Neyman and Pearson, 1933).
fn ideal_power(n: u64, usual: f64, raised: f64, false_rate: f64) -> f64 {
    let (null, other) = (
        Discrete::binomial(n, usual).unwrap(),
        Discrete::binomial(n, raised).unwrap(),
    );
    let k = (0..=n)
        .find(|k| null.at_least(*k) <= false_rate)
        .unwrap_or(n);
    let left = false_rate - null.at_least(k);
    let at_border = if k > 0 { left / null.share(k - 1) } else { 0.0 };
    other.at_least(k)
        + if k > 0 {
            at_border * other.share(k - 1)
        } else {
            0.0
        }
}

struct Args {
    seed: u64,
    n: u64,
}

fn read_args() -> Args {
    let mut args = Args { seed: 2027, n: 200 };
    let words: Vec<String> = std::env::args().collect();
    for pair in words.windows(2) {
        match pair[0].as_str() {
            "--seed" => args.seed = pair[1].parse().unwrap_or(args.seed),
            "--departments" => args.n = pair[1].parse().unwrap_or(args.n),
            _ => {}
        }
    }
    args
}

fn percent(n: usize, of: usize) -> String {
    let (n, of) = (n as f64, of as f64);
    format!(
        "{:.1} % ± {:.1}",
        100.0 * n / of,
        100.0 * 1.96 * (n / of * (1.0 - n / of) / of).sqrt()
    )
}

/// What the analysis does on departments without trouble, and the thresholds of the baselines that follow from it.
struct Quiet {
    /// Units that a finding names for a drift or step of a stage; for aborts; lots; each as a share.
    drift: f64,
    aborts: f64,
    lots: f64,
    three_sigma: f64,
    run_rule: f64,
    change_point: f64,
    p_chart: f64,
    fisher: f64,
}

/// Runs departments side by side; the results stand in the order of their numbers.
fn run_all<T: Send>(first: u64, n: u64, run: impl Fn(u64) -> T + Sync) -> Vec<T> {
    let next = AtomicU64::new(0);
    let n_threads = std::thread::available_parallelism().map_or(1, |n| n.get());
    let mut results: Vec<(u64, T)> = std::thread::scope(|scope| {
        let threads: Vec<_> = (0..n_threads)
            .map(|_| {
                scope.spawn(|| {
                    let mut own = Vec::new();
                    loop {
                        let at = next.fetch_add(1, Ordering::Relaxed);
                        if at >= n {
                            return own;
                        }
                        own.push((at, run(first + at)));
                    }
                })
            })
            .collect();
        threads
            .into_iter()
            .flat_map(|thread| thread.join().unwrap())
            .collect()
    });
    results.sort_by_key(|(at, _)| *at);
    results.into_iter().map(|(_, result)| result).collect()
}

/// One department, analysed.
struct Looked {
    department: Department,
    analysis: Analysis,
    found: bool,
    n_false: usize,
}

fn look(seed: u64, number: u64, trouble: Trouble) -> Looked {
    let department = make(seed, number, trouble, None);
    let analysis = find_findings(&department.history).unwrap();
    Looked {
        found: found(&analysis, trouble),
        n_false: n_false(&analysis, trouble),
        department,
        analysis,
    }
}

fn count<T>(results: &[T], is: impl Fn(&T) -> bool) -> usize {
    results.iter().filter(|result| is(result)).count()
}

fn run_quiet(args: &Args) -> Quiet {
    struct One {
        kinds: Vec<(&'static str, bool)>,
        scores: [Vec<f64>; 5],
    }
    let n = args.n * 2;
    let results = run_all(0, n, |number| {
        let Looked {
            department,
            analysis,
            ..
        } = look(args.seed, number, Trouble::None);
        let by_unit = |score: fn(&[f64]) -> f64, values: &[Vec<f64>]| {
            values.iter().map(|values| score(values)).collect()
        };
        One {
            kinds: analysis
                .findings
                .iter()
                .map(|finding| (finding.kind.id(), finding.subject.unit.is_some()))
                .collect(),
            scores: [
                by_unit(three_sigma, &department.totals),
                by_unit(run_rule, &department.totals),
                by_unit(change_point, &department.evacuations),
                department
                    .aborted
                    .iter()
                    .map(|aborted| p_chart(aborted))
                    .collect(),
                unstratified(&department.cis).into_values().collect(),
            ],
        }
    });
    let mut by_kind: BTreeMap<&str, usize> = BTreeMap::new();
    let (mut drift, mut aborts, mut lots) = (0, 0, 0);
    for (id, of_unit) in results.iter().flat_map(|one| &one.kinds) {
        *by_kind.entry(id).or_default() += 1;
        drift += usize::from(*id == "stage-drift" || *id == "stage-step");
        aborts += usize::from(id.starts_with("abort-") && *of_unit);
        lots += usize::from(*id == "indicator-lot");
    }
    let n_false_all: usize = by_kind.values().sum();
    let unit_years = n as f64 * N_UNITS as f64 * f64::from(N_WEEKS) / 52.0;
    println!("| Departments without trouble: {n}, each of {N_UNITS} units and {N_WEEKS} weeks | |");
    println!("| - | - |");
    println!(
        "| False findings per unit-year, all kinds together (to reach: at most 1) | {:.3} |",
        n_false_all as f64 / unit_years
    );
    println!(
        "| False findings per review | {:.2} |",
        n_false_all as f64 / n as f64
    );
    let kinds: Vec<String> = by_kind
        .iter()
        .map(|(kind, n)| format!("{kind} {n}"))
        .collect();
    println!("| By kind | {} |\n", kinds.join(", "));
    let mut scores: [Vec<f64>; 5] = Default::default();
    for one in results {
        for (all, own) in scores.iter_mut().zip(one.scores) {
            all.extend(own);
        }
    }
    let [a, b, c, d, e] = scores;
    let share = |count: usize, of: usize| count as f64 / of as f64;
    let n_units = n as usize * N_UNITS;
    let (drift, aborts, lots) = (
        share(drift, n_units),
        share(aborts, n_units),
        share(lots, e.len()),
    );
    Quiet {
        drift,
        aborts,
        lots,
        three_sigma: threshold(a, drift.max(FLOOR)),
        run_rule: threshold(b, drift.max(FLOOR)),
        change_point: threshold(c, drift.max(FLOOR)),
        p_chart: threshold(d, aborts.max(FLOOR)),
        fisher: threshold(e, lots.max(FLOOR)),
    }
}

fn run_drifts(args: &Args, quiet: &Quiet) {
    println!(
        "| Drift of a stage in one unit, last 8 of 26 weeks | found | false findings per review | delay, cycles (median) | 3-sigma limits on total duration | run rule | change point, raw series |"
    );
    println!("| - | - | - | - | - | - | - |");
    let n = args.n as usize;
    for weekly in [0.0025, 0.005, 0.010, 0.015] {
        let trouble = Trouble::Drift { weekly, weeks: 8 };
        let results = run_all(10_000, args.n, |number| {
            let one = look(args.seed, number, trouble);
            let (totals, evacuations) = (&one.department.totals[0], &one.department.evacuations[0]);
            let cries = [
                three_sigma(totals) > quiet.three_sigma,
                run_rule(totals) > quiet.run_rule,
                change_point(evacuations) > quiet.change_point,
            ];
            let is_timed = number < 10_000 + args.n / 5;
            let delay = if is_timed {
                delay(args.seed, number, trouble, &one.department)
            } else {
                None
            };
            (one.found, one.n_false, cries, is_timed, delay)
        });
        let mut delays: Vec<Option<usize>> = results
            .iter()
            .filter(|one| one.3)
            .map(|one| one.4)
            .collect();
        delays.sort_unstable();
        println!(
            "| {:.2} % a week | {} | {:.2} | {} | {} | {} | {} |",
            100.0 * weekly,
            percent(count(&results, |one| one.0), n),
            results.iter().map(|one| one.1).sum::<usize>() as f64 / n as f64,
            say_delay(&delays),
            percent(count(&results, |one| one.2[0]), n),
            percent(count(&results, |one| one.2[1]), n),
            percent(count(&results, |one| one.2[2]), n),
        );
    }
    println!(
        "\nA unit without trouble is named for a stage with probability {:.4}; the baselines cry at {:.4}.\n",
        quiet.drift,
        quiet.drift.max(FLOOR)
    );
}

fn say_delay(delays: &[Option<usize>]) -> String {
    let found: Vec<usize> = delays.iter().flatten().copied().collect();
    if found.len() * 2 <= delays.len() {
        return "not found".to_owned();
    }
    // Those not found come last.
    found
        .get(delays.len() / 2)
        .map_or("-".to_owned(), |delay| delay.to_string())
}

/// How many cycles of the unit after the trouble began a review first finds it; reviewed weekly.
fn delay(seed: u64, number: u64, trouble: Trouble, whole: &Department) -> Option<usize> {
    let weeks = match trouble {
        Trouble::Drift { weeks, .. } => weeks,
        _ => 8,
    };
    (1..=weeks).find_map(|week| {
        let until = whole.first + Days::new(u64::from((N_WEEKS - weeks + week) * 7 - 1));
        let part = make(seed, number, trouble, Some(until));
        let analysis = find_findings(&part.history).unwrap();
        found(&analysis, trouble).then_some(week as usize * 5 * N_LOADS)
    })
}

fn run_aborts(args: &Args, quiet: &Quiet) {
    println!(
        "| Abort rate of one unit over its last {N_CHANGED} cycles, from {:.0} % | found | ceiling: ideal test | false findings per review | delay, cycles (median) | p chart of one point |",
        100.0 * ABORT_RATE
    );
    println!("| - | - | - | - | - | - |");
    let n = args.n as usize;
    for times in [1.5, 2.0, 3.0, 4.0] {
        let trouble = Trouble::Aborts { times };
        let results = run_all(20_000, args.n, |number| {
            let one = look(args.seed, number, trouble);
            let is_timed = number < 20_000 + args.n / 5;
            let delay = if is_timed {
                delay(args.seed, number, trouble, &one.department)
            } else {
                None
            };
            let chart = p_chart(&one.department.aborted[0]) > quiet.p_chart;
            (one.found, one.n_false, chart, is_timed, delay)
        });
        let mut delays: Vec<Option<usize>> = results
            .iter()
            .filter(|one| one.3)
            .map(|one| one.4)
            .collect();
        delays.sort_unstable();
        let ceiling = ideal_power(
            N_CHANGED as u64,
            ABORT_RATE,
            ABORT_RATE * times,
            quiet.aborts.max(FLOOR),
        );
        println!(
            "| {times} times | {} | {:.1} % | {:.2} | {} | {} |",
            percent(count(&results, |one| one.0), n),
            100.0 * ceiling,
            results.iter().map(|one| one.1).sum::<usize>() as f64 / n as f64,
            say_delay(&delays),
            percent(count(&results, |one| one.2), n),
        );
    }
    println!(
        "\nA unit without trouble is named for its aborts with probability {:.4}; ideal test and baseline cry at {:.4}.",
        quiet.aborts,
        quiet.aborts.max(FLOOR)
    );
    let needed = [0.01, 0.05, 0.1, 0.2].map(|rate| {
        format!(
            "{:.1} % at {rate}",
            100.0 * ideal_power(N_CHANGED as u64, ABORT_RATE, 2.0 * ABORT_RATE, rate)
        )
    });
    println!(
        "The ideal test of a doubled rate finds, by the share of units it names falsely: {}.\n",
        needed.join(", ")
    );
}

fn run_lots(args: &Args, quiet: &Quiet) {
    let n = args.n as usize;
    let accuses = |analysis: &Analysis| {
        let lots = analysis
            .findings
            .iter()
            .filter(|finding| finding.kind.id() == "indicator-lot");
        lots.filter(|finding| finding.attribution != Some(Attribution::Unit))
            .count()
    };
    println!(
        "| Unit whose indicators fail with every lot, and that used most of the last one | unit named | a lot accused | unstratified Fisher accuses the last lot |"
    );
    println!("| - | - | - | - |");
    // Where a unit is bad: scores of all its lots, none of which is, and how many of them the analysis accuses.
    let (mut scores_beside_bad_unit, mut n_accused) = (Vec::new(), 0);
    for rate in [0.06, 0.10, 0.15] {
        let trouble = Trouble::BadUnit { rate };
        let results = run_all(40_000, args.n, |number| {
            let one = look(args.seed, number, trouble);
            let scores = unstratified(&one.department.cis);
            let last = scores
                .get("C-last")
                .is_some_and(|score| *score > quiet.fisher);
            (
                one.found,
                accuses(&one.analysis),
                last,
                scores.into_values().collect::<Vec<f64>>(),
            )
        });
        println!(
            "| {:.0} % | {} | {} | {} |",
            100.0 * rate,
            percent(count(&results, |one| one.0), n),
            percent(count(&results, |one| one.1 > 0), n),
            percent(count(&results, |one| one.2), n),
        );
        for one in results {
            n_accused += one.1;
            scores_beside_bad_unit.extend(one.3);
        }
    }
    let share_accused = n_accused as f64 / scores_beside_bad_unit.len() as f64;
    let fisher_beside = threshold(scores_beside_bad_unit, share_accused.max(FLOOR));
    println!(
        "\nA lot without trouble is accused with probability {:.4} where nothing is wrong, {:.4} beside a bad unit; ideal test and baseline cry at {:.4} and {:.4}.\n",
        quiet.lots,
        share_accused,
        quiet.lots.max(FLOOR),
        share_accused.max(FLOOR),
    );
    println!(
        "| Lot of indicators over {N_BAD_USES} uses on two units, others fail at {:.0} % | found | ceiling: ideal test | of those found, told as the lot's | as the unit's | undecided | unstratified Fisher | the same, crying as seldom beside a bad unit |",
        100.0 * CI_RATE
    );
    println!("| - | - | - | - | - | - | - | - |");
    for rate in [0.05, 0.10, 0.15, 0.25] {
        let trouble = Trouble::BadLot { rate };
        let results = run_all(30_000, args.n, |number| {
            let one = look(args.seed, number, trouble);
            let told = one
                .analysis
                .findings
                .iter()
                .find(|finding| finding.subject.lot.as_deref() == Some("C-last"))
                .and_then(|finding| finding.attribution);
            let score = unstratified(&one.department.cis)
                .get("C-last")
                .copied()
                .unwrap_or(0.0);
            (one.found, told, score > quiet.fisher, score > fisher_beside)
        });
        let told = |as_what| count(&results, |one| one.1 == Some(as_what));
        let ceiling = ideal_power(N_BAD_USES as u64, CI_RATE, rate, quiet.lots.max(FLOOR));
        println!(
            "| {:.0} % | {} | {:.1} % | {} | {} | {} | {} | {} |",
            100.0 * rate,
            percent(count(&results, |one| one.0), n),
            100.0 * ceiling,
            told(Attribution::Lot),
            told(Attribution::Unit),
            told(Attribution::Undecided),
            percent(count(&results, |one| one.2), n),
            percent(count(&results, |one| one.3), n),
        );
    }
    println!();
}

fn run_forecasts(args: &Args) {
    println!(
        "| Forecast of the day a stage meets its limit, 90 % interval | made | covered | median width, days |"
    );
    println!("| - | - | - | - |");
    let (mut n_made, mut n_covered) = (0, 0);
    for (weekly, weeks) in [
        (0.015, 26),
        (0.015, 12),
        (0.015, 8),
        (0.010, 26),
        (0.020, 8),
    ] {
        let trouble = Trouble::Drift { weekly, weeks };
        let results = run_all(50_000, args.n, |number| {
            let one = look(args.seed, number, trouble);
            let forecast = one
                .analysis
                .findings
                .iter()
                .filter(|finding| finding.subject.unit.as_deref() == Some(UNIT_NAMES[0]))
                .find_map(|finding| finding.forecast.as_ref())?;
            let days = |day: NaiveDate| (day - one.department.first).num_days() as f64;
            let earliest = days(forecast.earliest);
            // A day lasts to its end.
            let latest = forecast
                .latest
                .map_or(f64::INFINITY, |latest| days(latest) + 1.0);
            Some((
                (earliest..=latest).contains(&one.department.meets),
                latest - earliest,
            ))
        });
        let mut made: Vec<(bool, f64)> = results.into_iter().flatten().collect();
        made.sort_by(|a, b| a.1.total_cmp(&b.1));
        let covered = count(&made, |one| one.0);
        n_made += made.len();
        n_covered += covered;
        println!(
            "| {:.1} % a week over the last {weeks} weeks | {} | {} | {:.0} |",
            100.0 * weekly,
            percent(made.len(), args.n as usize),
            percent(covered, made.len().max(1)),
            made.get(made.len() / 2).map_or(f64::NAN, |one| one.1),
        );
    }
    println!("| all | | {} | |\n", percent(n_covered, n_made.max(1)));
}

fn main() {
    let args = read_args();
    println!(
        "Seed {}, {} departments a row; made by `cargo bench --bench calibration -- --seed {} --departments {}`.\n",
        args.seed, args.n, args.seed, args.n
    );
    let quiet = run_quiet(&args);
    run_drifts(&args, &quiet);
    run_aborts(&args, &quiet);
    run_lots(&args, &quiet);
    run_forecasts(&args);
}
