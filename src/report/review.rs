//! The review that a quality meeting opens with, as a value: what needs a person, then the counts.
//!
//! Every count carries the places or cycles that it counts. Read [`write_review`] first.

use super::attention::{Need, find_needs, process_of, say_clock};
use super::caution::Caution;
use super::findings::Findings;
use super::input_file::InputFile;
use super::moment::to_minute;
use super::naming::{CycleRow, cycle_name};
use super::place::Place;
use super::policy::PolicyNote;
use super::release::{DecisionCount, RuleCount, write_release};
use super::scope::{Scope, is_load_cycle};
use crate::diagnose::codes::Code;
use crate::diagnose::{Diagnostic, FileId, LineResolver, Severity};
use crate::judge::decision::{Decision, Judgements};
use crate::judge::policy::PolicyBook;
use crate::judge::recall::Recall;
use crate::measure::count::Counting;
use crate::parse::UnreadLines;
use crate::reconcile::history::{EntryIx, History, KnownCycle, Load};
use crate::record::cycle::{Outcome, Purpose};
use chrono::NaiveDateTime;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// The moment that a review speaks for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AsOf {
    /// The moment on the local clock.
    pub local: NaiveDateTime,
    /// The record that gives it, if it is the newest record; `None` if the user gave it.
    pub newest_record: Option<Place>,
    /// How many records are later, and so left out.
    pub n_later: usize,
}

/// What the stage of judging found.
#[derive(Clone, Copy)]
pub struct Judged<'a> {
    /// The policies.
    pub book: &'a PolicyBook,
    /// The judgement of each load.
    pub judgements: &'a Judgements,
    /// The scopes of growing indicators.
    pub recalls: &'a [Recall],
}

/// What a review is made from.
pub struct Reviewed<'a> {
    /// The history.
    pub history: &'a History,
    /// The files that were read.
    pub files: &'a [InputFile],
    /// The lines that could not be read.
    pub unread: &'a [UnreadLines],
    /// What reading and joining noticed.
    pub diagnostics: &'a [Diagnostic],
    /// Access to file names.
    pub lines: &'a dyn LineResolver,
    /// Which part is reviewed.
    pub scope: &'a Scope,
    /// The moment it speaks for; `None` when no record has a date.
    pub as_of: Option<&'a AsOf>,
    /// What the records support, under the policies.
    pub judged: Judged<'a>,
}

/// A review.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Review {
    /// The version of these fields.
    pub format: u32,
    /// The moment it speaks for.
    pub as_of: Option<AsOf>,
    /// What it is narrowed to.
    pub scope: Scope,
    /// The places (hospital, department) that the records name.
    pub sites: Vec<String>,
    /// How much was read.
    pub intake: Intake,
    /// The first and the last start of a cycle.
    pub first_cycle: Option<String>,
    /// The last start of a cycle.
    pub last_cycle: Option<String>,
    /// The number of cycles, of any purpose.
    pub n_cycles: usize,
    /// The number of loads.
    pub n_loads: usize,
    /// The number of units.
    pub n_units: usize,
    /// What is unusual, worst harm first.
    pub findings: Findings,
    /// What needs a person, in the order of harm.
    pub needs: Vec<Need>,
    /// What to mind when handling loads that need a person.
    pub cautions: Vec<Caution>,
    /// Cycles with a load, by unit and program.
    pub programs: Vec<ProgramRow>,
    /// Leak tests, air-removal tests and warm-ups, by unit.
    pub tests: Vec<TestRow>,
    /// Aborted cycles by stage and cause.
    pub aborts: Vec<AbortRow>,
    /// Rejected loads by cause.
    pub rejections: Vec<RejectionRow>,
    /// The policies that loads were judged by.
    pub policies: Vec<PolicyNote>,
    /// How many loads have each decision, the most serious first.
    pub decisions: Vec<DecisionCount>,
    /// How many loads each rule decides.
    pub rules: Vec<RuleCount>,
    /// Of how many loads each rule notes something that decides nothing.
    pub notes: Vec<RuleCount>,
    /// Places where a counter began again.
    pub counter_resets: Vec<ResetRow>,
    /// How each unit's clock stands against the log's.
    pub clocks: Vec<ClockRow>,
    /// What was inferred or put right while reading.
    pub inferred: Vec<InferredRow>,
    /// Every cycle that was counted.
    pub cycles: Vec<CountedRow>,
}

/// How much was read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Intake {
    /// Files.
    pub n_files: usize,
    /// Lines.
    pub n_lines: u64,
    /// Lines that could not be read.
    pub n_unread_lines: u64,
    /// Log entries.
    pub n_entries: usize,
    /// Further printouts of a cycle that was printed more than once.
    pub n_reprints: usize,
}

/// Cycles with a load, of one unit and program.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ProgramRow {
    /// The unit.
    pub unit: Option<String>,
    /// The program.
    pub program: Option<String>,
    /// All cycles.
    pub n_cycles: usize,
    /// Run to their end.
    pub n_completed: usize,
    /// Aborted.
    pub n_aborted: usize,
    /// Rejected before exposure.
    pub n_rejected: usize,
    /// Without an outcome, or torn off.
    pub n_unproven: usize,
    /// Where the first of them stands.
    pub first: Place,
}

/// Cycles of one unit without a load.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TestRow {
    /// The unit.
    pub unit: Option<String>,
    /// What they were run for.
    pub purpose: Purpose,
    /// All.
    pub n_cycles: usize,
    /// Passed, or run to their end.
    pub n_passed: usize,
    /// Failed or aborted.
    pub n_failed: usize,
    /// Without an outcome.
    pub n_unproven: usize,
    /// Where the first of them stands.
    pub first: Place,
}

/// Aborted cycles of one stage and cause.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AbortRow {
    /// The process.
    pub process: Option<&'static str>,
    /// The stage.
    pub stage: Option<String>,
    /// The cause.
    pub cause: Option<String>,
    /// The cause in plain words.
    pub cause_said: Option<String>,
    /// How many cycles.
    pub n_cycles: usize,
    /// How many in each unit.
    pub by_unit: BTreeMap<String, usize>,
    /// The cycles.
    pub cycles: Vec<CycleRow>,
}

/// Rejected loads of one cause.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RejectionRow {
    /// The process.
    pub process: Option<&'static str>,
    /// The cause.
    pub cause: Option<String>,
    /// The cause in plain words.
    pub cause_said: Option<String>,
    /// How many cycles.
    pub n_cycles: usize,
    /// How many in each unit.
    pub by_unit: BTreeMap<String, usize>,
    /// The cycles.
    pub cycles: Vec<CycleRow>,
}

/// A place where a unit's counter began again.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ResetRow {
    /// The unit.
    pub unit: String,
    /// The last cycle of the old count.
    pub after: String,
    /// The first cycle of the new count.
    pub before: String,
    /// When the new count began.
    pub when: Option<String>,
    /// The service entry between the two.
    pub service: Option<Place>,
    /// Where the first cycle of the new count stands.
    pub place: Option<Place>,
}

/// How a unit's clock stands against the log's.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClockRow {
    /// The unit.
    pub unit: String,
    /// Median of the difference in seconds: log less unit.
    pub median_seconds: f64,
    /// Median absolute deviation in seconds.
    pub mad_seconds: f64,
    /// The loads compared.
    pub n_loads: usize,
    /// Whether it is more than habits explain.
    pub conflict: bool,
    /// In words.
    pub said: String,
}

/// Something that was inferred, left out or put right.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct InferredRow {
    /// The code of the notice, if one tells it.
    pub code: Option<&'static str>,
    /// What was inferred, and why.
    pub reason: String,
    /// How often.
    pub n: usize,
    /// Where.
    pub places: Vec<Place>,
}

/// A cycle that was counted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CountedRow {
    /// The cycle.
    #[serde(flatten)]
    pub row: CycleRow,
    /// What it was run for.
    pub purpose: Purpose,
    /// The program.
    pub program: Option<String>,
    /// What the printout says of its result, in a word.
    pub outcome: &'static str,
}

/// The result of a cycle, in a word.
pub fn outcome_word(known: &KnownCycle) -> &'static str {
    if !known.cycle.closed {
        return "torn off";
    }
    match known.cycle.outcome.as_ref().map(|outcome| &outcome.value) {
        Some(Outcome::Completed) => "completed",
        Some(Outcome::Aborted { .. }) => "aborted",
        Some(Outcome::Rejected { .. }) => "rejected",
        Some(Outcome::Passed) => "passed",
        Some(Outcome::Failed) => "failed",
        None => "no outcome",
    }
}

impl Review {
    /// How many loads were released although their decision is one of these.
    pub fn n_let_go(&self, decisions: &[Decision]) -> usize {
        self.decisions
            .iter()
            .filter(|count| decisions.contains(&count.decision))
            .map(|count| count.n_released)
            .sum()
    }

    /// Whether anything needs a person: something open, or something unusual.
    pub fn needs_person(&self) -> bool {
        !self.findings.is_empty() || self.needs.iter().any(Need::is_open)
    }
}

/// Makes the review; `findings` are what is unusual in the same records.
pub fn write_review(reviewed: &Reviewed<'_>, findings: Findings) -> Review {
    let history = reviewed.history;
    let cycles: Vec<&KnownCycle> = history
        .cycles
        .iter()
        .filter(|known| reviewed.scope.has_cycle(known))
        .collect();
    let loads: Vec<&Load> = history
        .loads
        .iter()
        .filter(|load| reviewed.scope.has_load(load, history))
        .collect();
    let needs = find_needs(reviewed);
    let release = write_release(reviewed, &[]);
    let mut cautions: Vec<Caution> = needs
        .iter()
        .flat_map(|need| &need.cases)
        .filter(|case| case.state != super::attention::State::Settled)
        .filter_map(|case| case.caution)
        .collect();
    cautions.sort_unstable();
    cautions.dedup();
    let mut began: Vec<NaiveDateTime> = cycles
        .iter()
        .filter_map(|known| known.began.as_ref())
        .map(|began| began.value.local)
        .collect();
    began.sort_unstable();
    let mut units: Vec<&str> = cycles
        .iter()
        .filter_map(|known| known.cycle.unit.as_ref())
        .map(|unit| unit.value.as_str())
        .collect();
    units.sort_unstable();
    units.dedup();
    let mut sites: Vec<String> = cycles
        .iter()
        .filter_map(|known| known.cycle.place.as_ref())
        .chain(
            history
                .entries
                .iter()
                .filter_map(|known| known.entry.place.as_deref()),
        )
        .map(|place| place.value.clone())
        .collect();
    sites.sort_unstable();
    sites.dedup();
    Review {
        format: 1,
        as_of: reviewed.as_of.cloned(),
        scope: reviewed.scope.clone(),
        sites,
        intake: Intake {
            n_files: reviewed.files.len(),
            n_lines: reviewed.files.iter().map(|file| file.n_lines).sum(),
            n_unread_lines: reviewed
                .unread
                .iter()
                .map(|unread| unread.lines.n_lines())
                .sum(),
            n_entries: history.entries.len(),
            n_reprints: cycles.iter().map(|known| known.reprints.len()).sum(),
        },
        first_cycle: began.first().copied().map(to_minute),
        last_cycle: began.last().copied().map(to_minute),
        n_cycles: cycles.len(),
        n_loads: loads.len(),
        n_units: units.len(),
        findings,
        needs,
        cautions,
        programs: count_programs(reviewed, &cycles),
        tests: count_tests(reviewed, &cycles),
        aborts: count_aborts(reviewed, &cycles),
        rejections: count_rejections(reviewed, &cycles),
        policies: release.policies,
        decisions: release.counts,
        rules: release.rules,
        notes: release.notes,
        counter_resets: list_resets(reviewed),
        clocks: list_clocks(reviewed),
        inferred: list_inferred(reviewed, &cycles),
        cycles: cycles
            .iter()
            .map(|known| CountedRow {
                row: CycleRow::of(known, reviewed.lines),
                purpose: known.cycle.purpose,
                program: known
                    .cycle
                    .program
                    .as_ref()
                    .map(|program| program.value.0.clone()),
                outcome: outcome_word(known),
            })
            .collect(),
    }
}

fn unit_of(known: &KnownCycle) -> Option<String> {
    known.cycle.unit.as_ref().map(|unit| unit.value.0.clone())
}

fn count_programs(reviewed: &Reviewed<'_>, cycles: &[&KnownCycle]) -> Vec<ProgramRow> {
    let mut rows: BTreeMap<(Option<String>, Option<String>), ProgramRow> = BTreeMap::new();
    for known in cycles.iter().filter(|known| is_load_cycle(known)) {
        let unit = unit_of(known);
        let program = known
            .cycle
            .program
            .as_ref()
            .map(|program| program.value.0.clone());
        let row = rows
            .entry((unit.clone(), program.clone()))
            .or_insert_with(|| ProgramRow {
                unit,
                program,
                n_cycles: 0,
                n_completed: 0,
                n_aborted: 0,
                n_rejected: 0,
                n_unproven: 0,
                first: Place::of(&known.cycle.opening, reviewed.lines),
            });
        row.n_cycles.add_one();
        match outcome_word(known) {
            "completed" => row.n_completed.add_one(),
            "aborted" => row.n_aborted.add_one(),
            "rejected" => row.n_rejected.add_one(),
            _ => row.n_unproven.add_one(),
        }
    }
    rows.into_values().collect()
}

fn count_tests(reviewed: &Reviewed<'_>, cycles: &[&KnownCycle]) -> Vec<TestRow> {
    let mut rows: BTreeMap<(Option<String>, Purpose), TestRow> = BTreeMap::new();
    for known in cycles.iter().filter(|known| !is_load_cycle(known)) {
        let unit = unit_of(known);
        let purpose = known.cycle.purpose;
        let row = rows
            .entry((unit.clone(), purpose))
            .or_insert_with(|| TestRow {
                unit,
                purpose,
                n_cycles: 0,
                n_passed: 0,
                n_failed: 0,
                n_unproven: 0,
                first: Place::of(&known.cycle.opening, reviewed.lines),
            });
        row.n_cycles.add_one();
        match outcome_word(known) {
            "passed" | "completed" => row.n_passed.add_one(),
            "failed" | "aborted" | "rejected" => row.n_failed.add_one(),
            _ => row.n_unproven.add_one(),
        }
    }
    rows.into_values().collect()
}

fn count_aborts(reviewed: &Reviewed<'_>, cycles: &[&KnownCycle]) -> Vec<AbortRow> {
    let mut rows: BTreeMap<_, AbortRow> = BTreeMap::new();
    for known in cycles.iter().filter(|known| is_load_cycle(known)) {
        let Some(Outcome::Aborted { stage, cause }) =
            known.cycle.outcome.as_ref().map(|outcome| &outcome.value)
        else {
            continue;
        };
        let process = process_of(reviewed, known).map(|process| process.word());
        let row = rows
            .entry((process, stage, cause))
            .or_insert_with(|| AbortRow {
                process,
                stage: stage.as_ref().map(|stage| stage.word().to_owned()),
                cause: cause.as_ref().map(|cause| cause.word().to_owned()),
                cause_said: cause.as_ref().map(|cause| cause.said().to_owned()),
                n_cycles: 0,
                by_unit: BTreeMap::new(),
                cycles: Vec::new(),
            });
        row.n_cycles.add_one();
        row.by_unit
            .entry(unit_of(known).unwrap_or_else(|| "?".to_owned()))
            .or_default()
            .add_one();
        row.cycles.push(CycleRow::of(known, reviewed.lines));
    }
    let mut rows: Vec<AbortRow> = rows.into_values().collect();
    rows.sort_by_key(|row| std::cmp::Reverse(row.n_cycles));
    rows
}

fn count_rejections(reviewed: &Reviewed<'_>, cycles: &[&KnownCycle]) -> Vec<RejectionRow> {
    let mut rows: BTreeMap<_, RejectionRow> = BTreeMap::new();
    for known in cycles.iter().filter(|known| is_load_cycle(known)) {
        let Some(Outcome::Rejected { cause }) =
            known.cycle.outcome.as_ref().map(|outcome| &outcome.value)
        else {
            continue;
        };
        let process = process_of(reviewed, known).map(|process| process.word());
        let row = rows
            .entry((process, cause))
            .or_insert_with(|| RejectionRow {
                process,
                cause: cause.as_ref().map(|cause| cause.word().to_owned()),
                cause_said: cause.as_ref().map(|cause| cause.said().to_owned()),
                n_cycles: 0,
                by_unit: BTreeMap::new(),
                cycles: Vec::new(),
            });
        row.n_cycles.add_one();
        row.by_unit
            .entry(unit_of(known).unwrap_or_else(|| "?".to_owned()))
            .or_default()
            .add_one();
        row.cycles.push(CycleRow::of(known, reviewed.lines));
    }
    let mut rows: Vec<RejectionRow> = rows.into_values().collect();
    rows.sort_by_key(|row| std::cmp::Reverse(row.n_cycles));
    rows
}

/// A place that names a load: its first printout, else its first entry.
pub fn place_of_load(history: &History, load: &Load, lines: &dyn LineResolver) -> Option<Place> {
    let printed = load
        .cycles
        .iter()
        .filter_map(|ix| history.cycles.get(ix.0))
        .next();
    let of_cycle = printed.map(|known| {
        Place::of(
            &known
                .cycle
                .load
                .as_ref()
                .map_or(known.cycle.opening, |load| load.span),
            lines,
        )
    });
    let entry = |ixs: &[EntryIx]| ixs.first().and_then(|ix| history.entries.get(ix.0));
    of_cycle.or_else(|| {
        [
            &load.starts,
            &load.contents,
            &load.cis,
            &load.bis,
            &load.decisions,
            &load.remarks,
        ]
        .into_iter()
        .find_map(|ixs| entry(ixs))
        .map(|known| Place::of(&known.entry.span, lines))
    })
}

fn list_resets(reviewed: &Reviewed<'_>) -> Vec<ResetRow> {
    let history = reviewed.history;
    history
        .counter_resets
        .iter()
        .filter_map(|reset| {
            let after = history.cycles.get(reset.after.0)?;
            let before = history.cycles.get(reset.before.0)?;
            reviewed.scope.has_cycle(before).then(|| ResetRow {
                unit: reset.unit.0.clone(),
                after: cycle_name(&after.cycle),
                before: cycle_name(&before.cycle),
                when: before
                    .began
                    .as_ref()
                    .map(|began| to_minute(began.value.local)),
                service: reset
                    .service
                    .and_then(|ix| history.entries.get(ix.0))
                    .map(|known| Place::of(&known.entry.span, reviewed.lines)),
                place: Some(Place::of(&before.cycle.opening, reviewed.lines)),
            })
        })
        .collect()
}

fn list_clocks(reviewed: &Reviewed<'_>) -> Vec<ClockRow> {
    reviewed
        .history
        .units
        .iter()
        .filter(|unit| reviewed.scope.has_unit(Some(unit.name.as_str())))
        .filter_map(|unit| {
            unit.clock.map(|clock| ClockRow {
                unit: unit.name.0.clone(),
                median_seconds: clock.median_seconds,
                mad_seconds: clock.mad_seconds,
                n_loads: clock.n_loads,
                conflict: clock.conflict,
                said: say_clock(clock.median_seconds, clock.n_loads),
            })
        })
        .collect()
}

fn list_inferred(reviewed: &Reviewed<'_>, cycles: &[&KnownCycle]) -> Vec<InferredRow> {
    let mut rows: BTreeMap<(Option<Code>, String), Vec<Place>> = BTreeMap::new();
    for diagnostic in reviewed
        .diagnostics
        .iter()
        .filter(|diagnostic| diagnostic.severity == Severity::Note)
    {
        let place = match (diagnostic.primary, diagnostic.file) {
            (Some(span), _) => Some(Place::of(&span, reviewed.lines)),
            (None, Some(file)) => Some(Place {
                file: reviewed.lines.file_name(file).to_owned(),
                line: 1,
            }),
            (None, None) => None,
        };
        rows.entry((Some(diagnostic.code), diagnostic.code.meaning().to_owned()))
            .or_default()
            .extend(place);
    }
    let noted: BTreeSet<(FileId, u32)> = reviewed
        .diagnostics
        .iter()
        .filter_map(|diagnostic| diagnostic.primary)
        .map(|span| (span.file, span.line))
        .collect();
    for known in cycles {
        for inference in &known.cycle.inferences {
            // A note on the same line tells the same.
            if noted.contains(&(inference.span.file, inference.span.line)) {
                continue;
            }
            let place = Place::of(&inference.span, reviewed.lines);
            rows.entry((None, inference.reason.clone()))
                .or_default()
                .push(place);
        }
        if let Some(reason) = known.began.as_ref().and_then(|began| began.reason.as_ref()) {
            let place = Place::of(&known.cycle.opening, reviewed.lines);
            rows.entry((None, reason.clone())).or_default().push(place);
        }
    }
    let mut rows: Vec<InferredRow> = rows
        .into_iter()
        .map(|((code, reason), places)| InferredRow {
            code: code.map(Code::id),
            reason,
            n: places.len().max(1),
            places,
        })
        .collect();
    rows.sort_by_key(|row| std::cmp::Reverse(row.n));
    rows
}
