//! Strips whose truth is known, one fault in a hundred lines, and what the reader makes of them.
//!
//! Shared by the test beside it and by `benches/faults.rs`. The truth of a strip is the record that it was printed from;
//! that the clean files hold as many printouts as the simulation says it printed is checked apart from the reader's own
//! count. Read [`measure`] first.

use loadbook::diagnose::{Diagnostic, Severity};
use loadbook::judge::judge_history;
use loadbook::judge::policy::{PolicyBook, Preset};
use loadbook::judge::rulebook::Effect;
use loadbook::parse::printout::write::{ChecksumLine, PrintoutOptions, TotalLine, write_cycle};
use loadbook::parse::{LayoutChoice, Records, Strictness, read_bytes, read_inputs_by};
use loadbook::reconcile::{Site, join_history};
use loadbook::record::cycle::Cycle;
use loadbook::simulate::trouble::Troubles;
use loadbook::simulate::{InMemory, Plan, PrintoutFiles, write_practice};
use loadbook::source::gather::Input;
use std::collections::{BTreeMap, BTreeSet};

/// What happens to a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fault {
    /// It is gone.
    Dropped,
    /// It changes places with one up to five lines below it, of the same strip.
    Swapped,
    /// One of its digits is another.
    Digit,
    /// The next line stands behind it on the same line.
    Merged,
    /// It ends early.
    Truncated,
    /// It is there twice.
    Repeated,
    /// One of its characters is another that can be printed.
    Character,
}

impl Fault {
    pub const ALL: [Fault; 7] = [
        Fault::Dropped,
        Fault::Swapped,
        Fault::Digit,
        Fault::Merged,
        Fault::Truncated,
        Fault::Repeated,
        Fault::Character,
    ];

    pub fn word(self) -> &'static str {
        match self {
            Fault::Dropped => "line dropped",
            Fault::Swapped => "lines swapped",
            Fault::Digit => "digit changed",
            Fault::Merged => "lines merged",
            Fault::Truncated => "line truncated",
            Fault::Repeated => "line repeated",
            Fault::Character => "character changed",
        }
    }
}

/// What a strip says twice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Redundancy {
    /// A checksum line and a line with totals.
    Checksum,
    /// A line with totals: the length, and how many lines of readings.
    Totals,
    /// Neither.
    Bare,
}

impl Redundancy {
    pub const ALL: [Redundancy; 3] = [Redundancy::Checksum, Redundancy::Totals, Redundancy::Bare];

    pub fn word(self) -> &'static str {
        match self {
            Redundancy::Checksum => "checksum",
            Redundancy::Totals => "totals",
            Redundancy::Bare => "neither",
        }
    }

    fn options(self) -> PrintoutOptions {
        let total = TotalLine::Compute;
        match self {
            Redundancy::Checksum => PrintoutOptions {
                checksum: ChecksumLine::Compute,
                total,
            },
            Redundancy::Totals => PrintoutOptions {
                checksum: ChecksumLine::Leave,
                total,
            },
            Redundancy::Bare => PrintoutOptions {
                checksum: ChecksumLine::Leave,
                total: TotalLine::Leave,
            },
        }
    }
}

/// SplitMix64 (Steele, Lea, Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014; from memory): the same
/// numbers for a seed, for ever.
pub struct Chance(u64);

impl Chance {
    pub fn new(seed: u64) -> Self {
        Chance(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A number below `n`, which is not 0.
    fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }

    fn one_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }
}

/// What a strip should say, and its lines.
struct Strip {
    truth: Cycle,
    lines: Vec<String>,
}

/// The files of a department before anything happened to them.
pub struct Department {
    /// Each a unit's printouts of a month.
    printouts: Vec<Vec<Strip>>,
    logs: Vec<(String, Vec<u8>)>,
    /// How many printouts the simulation says that it printed.
    pub n_printed: usize,
    clean: Told,
}

/// Where a line of a changed file comes from: one strip, or two where lines of neighbours were merged.
type Origin = Vec<usize>;

/// A changed file: its lines, and the strips that each of them comes from.
type Changed = Vec<(Vec<u8>, Origin)>;

/// What was told, by code or rule and words, with the strips that it points at.
#[derive(Default)]
struct Told {
    /// While the strip was read.
    by_strip: BTreeSet<usize>,
    /// By comparison with the log and the unit's other strips: what was said, and of which strip.
    by_history: BTreeSet<(String, usize)>,
    /// By the judge, as a reason not to release.
    by_judge: BTreeSet<(String, usize)>,
    cycles: Vec<(usize, Cycle)>,
}

impl Department {
    pub fn simulate(seed: u64, n_days: u32, redundancy: Redundancy) -> Self {
        let plan = Plan {
            seed,
            n_days,
            files: PrintoutFiles::PerMonth,
            troubles: Troubles::None,
            ..Plan::of_samples()
        };
        let mut memory = InMemory::default();
        let truth = write_practice(&plan, &mut memory).expect("memory takes everything");
        let (strips, logs): (Vec<_>, Vec<_>) = memory
            .0
            .into_iter()
            .partition(|(name, _)| name.contains("printouts/"));
        let mut seen = BTreeSet::new();
        let mut printouts = Vec::new();
        for (_, bytes) in strips {
            let mut file = Vec::new();
            for truth in read_bytes(&bytes, Strictness::Infer).cycles {
                // What was printed twice is left out: a second copy is more redundancy than most departments have.
                let key = (
                    truth.unit.clone().map(|f| f.value),
                    truth.counter.clone().map(|f| f.value),
                );
                if !seen.insert(key) {
                    continue;
                }
                let mut text = Vec::new();
                write_cycle(&truth, redundancy.options(), &mut text)
                    .expect("memory takes everything");
                let text = String::from_utf8(text).expect("what is written is UTF-8");
                // The truth has the totals and checksum that this class of strips prints.
                let again = read_bytes(text.as_bytes(), Strictness::Infer)
                    .cycles
                    .remove(0);
                assert!(
                    told_facts(&again) == told_facts(&truth),
                    "the copy says what the strip says"
                );
                file.push(Strip {
                    truth,
                    lines: text.lines().map(str::to_owned).collect(),
                });
            }
            printouts.push(file);
        }
        let mut department = Department {
            printouts,
            logs,
            n_printed: truth.n_printouts(),
            clean: Told::default(),
        };
        let unchanged = department.clean_files();
        department.clean = department.read(&unchanged);
        department
    }

    pub fn n_strips(&self) -> usize {
        self.printouts.iter().map(Vec::len).sum()
    }

    fn strips(&self) -> impl Iterator<Item = &Strip> {
        self.printouts.iter().flatten()
    }

    fn clean_files(&self) -> Vec<Changed> {
        let mut at = 0;
        let mut files = Vec::new();
        for file in &self.printouts {
            let mut lines = Vec::new();
            for strip in file {
                lines.extend(
                    strip
                        .lines
                        .iter()
                        .map(|line| (line.clone().into_bytes(), vec![at])),
                );
                at += 1;
            }
            files.push(lines);
        }
        files
    }

    /// Files of which one line in a hundred has a fault, and the strips that have one.
    fn damage(&self, fault: Fault, chance: &mut Chance) -> (Vec<Changed>, BTreeMap<usize, usize>) {
        let mut n_faults = BTreeMap::new();
        let files = self
            .clean_files()
            .into_iter()
            .map(|mut lines| {
                let mut at = 0;
                while at < lines.len() {
                    if chance.one_in(100)
                        && let Some(touched) = apply(fault, &mut lines, at, chance)
                    {
                        for strip in touched {
                            *n_faults.entry(strip).or_default() += 1;
                        }
                    }
                    at += 1;
                }
                lines
            })
            .collect();
        (files, n_faults)
    }

    /// Reads the files with the log, and sorts what was said by strip.
    fn read(&self, files: &[Changed]) -> Told {
        let inputs = files.iter().enumerate().map(|(n, lines)| {
            let mut bytes = Vec::new();
            for (line, _) in lines {
                bytes.extend_from_slice(line);
                bytes.push(b'\n');
            }
            Input::from_bytes(&format!("{n}"), &bytes)
        });
        let inputs = inputs.chain(
            self.logs
                .iter()
                .map(|(name, bytes)| Input::from_bytes(name, bytes)),
        );
        let (_, records) = read_inputs_by(
            inputs.collect(),
            Strictness::Infer,
            &LayoutChoice::Neutral,
            |_| {},
        );
        let Records {
            cycles,
            entries,
            unread,
            diagnostics,
            ..
        } = records;
        let mut by_load: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
        for (n, strip) in self.strips().enumerate() {
            if let Some(load) = &strip.truth.load {
                by_load.entry(load.value.as_str()).or_default().push(n);
            }
        }
        // The strips that a line points at: its own, or those of the load that an entry of the log is about.
        let mut of_entry: BTreeMap<(usize, u32), Vec<usize>> = BTreeMap::new();
        for entry in &entries {
            if let Some(strips) = entry
                .load
                .as_ref()
                .and_then(|load| by_load.get(load.value.as_str()))
            {
                of_entry.insert(
                    (entry.span.file.0 as usize, entry.span.line),
                    strips.clone(),
                );
            }
        }
        let strips_at = |file: u32, line: u32| -> Vec<usize> {
            match files.get(file as usize) {
                Some(lines) => lines
                    .get(line as usize - 1)
                    .map_or(Vec::new(), |(_, origin)| origin.clone()),
                None => of_entry
                    .get(&(file as usize, line))
                    .cloned()
                    .unwrap_or_default(),
            }
        };
        let strips_of = |said: &Diagnostic| -> Vec<usize> {
            let spans = said
                .primary
                .iter()
                .chain(said.labels.iter().map(|label| &label.span));
            spans
                .flat_map(|span| strips_at(span.file.0, span.line))
                .collect()
        };
        let mut told = Told::default();
        for lines in &unread {
            for run in lines.lines.runs() {
                for line in run.first..=run.last {
                    told.by_strip.extend(strips_at(lines.lines.file.0, line));
                }
            }
        }
        // A note says that nothing need be done, so it doesn't count.
        let weighs = |said: &&Diagnostic| said.severity != Severity::Note;
        for said in diagnostics.iter().filter(weighs) {
            told.by_strip.extend(strips_of(said));
        }
        told.cycles = cycles
            .iter()
            .map(|cycle| {
                let strip = strips_at(cycle.opening.file.0, cycle.opening.line);
                (
                    strip
                        .last()
                        .copied()
                        .expect("an opening line comes from a strip"),
                    cycle.clone(),
                )
            })
            .collect();
        let (history, said) = join_history(cycles, entries, Site::default());
        for said in said.iter().filter(weighs) {
            for strip in strips_of(said) {
                told.by_history.insert((said.code.id().to_owned(), strip));
            }
        }
        let book = PolicyBook::of_preset(Preset::Cdc2008);
        for judgement in judge_history(&history, &book, None).loads {
            for hit in judgement
                .hits
                .iter()
                .filter(|hit| hit.effect > Effect::Note)
            {
                for evidence in &hit.evidence {
                    let spans = evidence.spans.iter().map(|span| (span.file.0, span.line));
                    let readings = evidence
                        .readings
                        .iter()
                        .map(|place| (place.file.0, place.line));
                    for strip in spans
                        .chain(readings)
                        .flat_map(|(file, line)| strips_at(file, line))
                    {
                        told.by_judge.insert((hit.rule.0.to_owned(), strip));
                    }
                }
            }
        }
        told
    }
}

/// Does a fault to a line. The strips that it touches, unless the line can't have it.
fn apply(fault: Fault, lines: &mut Changed, at: usize, chance: &mut Chance) -> Option<Origin> {
    let own = lines[at].1.clone();
    match fault {
        Fault::Dropped => {
            lines.remove(at);
            Some(own)
        }
        Fault::Swapped => {
            let other = at + 1 + chance.below(5);
            let (a, b) = (&lines[at], lines.get(other)?);
            if a.1 != b.1 || a.0 == b.0 {
                return None;
            }
            lines.swap(at, other);
            Some(own)
        }
        Fault::Digit => {
            let digits: Vec<usize> = (0..lines[at].0.len())
                .filter(|n| lines[at].0[*n].is_ascii_digit())
                .collect();
            if digits.is_empty() {
                return None;
            }
            let place = digits[chance.below(digits.len())];
            let byte = &mut lines[at].0[place];
            *byte = b'0' + (*byte - b'0' + 1 + chance.below(9) as u8) % 10;
            Some(own)
        }
        Fault::Merged => {
            if at + 1 >= lines.len() {
                return None;
            }
            let (next, origin) = lines.remove(at + 1);
            lines[at].0.extend(next);
            if origin != own {
                lines[at].1.extend(&origin);
            }
            Some(lines[at].1.clone())
        }
        Fault::Truncated => {
            let n = lines[at].0.len();
            if n < 2 {
                return None;
            }
            lines[at].0.truncate(1 + chance.below(n - 1));
            Some(own)
        }
        Fault::Repeated => {
            let line = lines[at].clone();
            lines.insert(at, line);
            Some(own)
        }
        Fault::Character => {
            let n = lines[at].0.len();
            let byte = &mut lines[at].0[chance.below(n)];
            let before = *byte;
            while *byte == before {
                *byte = b' ' + chance.below(95) as u8;
            }
            Some(own)
        }
    }
}

/// Every value that a record has, in words, with how often it has it. What a printout sums up is left out: it is held
/// against the values and is none of the cycle's own.
fn told_facts(cycle: &Cycle) -> BTreeMap<String, usize> {
    let mut facts = BTreeMap::new();
    let mut tell = |fact: String| *facts.entry(fact).or_default() += 1;
    macro_rules! fields {
        ($($field:ident)*) => {$(
            if let Some(field) = &cycle.$field {
                tell(format!("{} {:?}", stringify!($field), field.value));
            }
        )*};
    }
    fields!(unit serial software place zone process program counter load operator started ambient leak ended outcome);
    tell(format!("purpose {:?}", cycle.purpose));
    for consumable in &cycle.consumables {
        tell(format!(
            "consumable {:?} {:?} {:?}",
            consumable.kind, consumable.lot.value, consumable.use_count
        ));
    }
    for stage in &cycle.stages {
        let name = stage.name.word();
        tell(format!(
            "stage {name} at {} pulses {:?}",
            stage.began.0, stage.n_pulses
        ));
        for limit in &stage.limits {
            tell(format!("limit of {name} {limit:?}"));
        }
        for reading in &stage.readings {
            tell(format!(
                "reading in {name} from {} at {} {:?}",
                stage.began.0, reading.at.0, reading.measured
            ));
        }
    }
    for event in &cycle.events {
        tell(format!(
            "event at {} {:?} {}",
            event.at.0, event.alarm, event.text
        ));
    }
    facts
}

/// What is in `a` and not in `b`.
fn beyond(a: &BTreeMap<String, usize>, b: &BTreeMap<String, usize>) -> Vec<String> {
    let mut more = Vec::new();
    for (fact, n) in a {
        let known = b.get(fact).copied().unwrap_or(0);
        more.extend(std::iter::repeat_n(fact.clone(), n.saturating_sub(known)));
    }
    more
}

/// What became of the strips with faults of one kind.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Row {
    /// Strips with at least one fault.
    pub n_strips: usize,
    /// Faults.
    pub n_faults: usize,
    /// Wrong values told while their strip was read.
    pub n_wrong_told_by_strip: usize,
    /// Wrong values of which only the log or the unit's other strips tell.
    pub n_wrong_told_by_history: usize,
    /// Wrong values of which only a rule of the judge tells.
    pub n_wrong_told_by_judge: usize,
    /// Wrong values of which nothing tells.
    pub n_wrong_silent: usize,
    /// Strips that have one of those.
    pub n_strips_silent: usize,
    /// Values that are gone, and something tells so.
    pub n_lost_told: usize,
    /// Values that are gone, and nothing tells so.
    pub n_lost_silent: usize,
    /// The silent ones in words, with their strip.
    pub silent: Vec<String>,
}

/// Does faults of a kind to strips until at least so many have one, and counts what comes of it.
pub fn measure(department: &Department, fault: Fault, n_strips: usize, chance: &mut Chance) -> Row {
    let mut row = Row::default();
    while row.n_strips < n_strips {
        let (files, n_faults) = department.damage(fault, chance);
        let told = department.read(&files);
        row.n_strips += n_faults.len();
        row.n_faults += n_faults.values().sum::<usize>();
        let mut read: BTreeMap<usize, Vec<&Cycle>> = BTreeMap::new();
        for (strip, cycle) in &told.cycles {
            read.entry(*strip).or_default().push(cycle);
        }
        let new_in_history: BTreeSet<usize> = told
            .by_history
            .difference(&department.clean.by_history)
            .map(|(_, strip)| *strip)
            .collect();
        let new_in_judge: BTreeSet<usize> = told
            .by_judge
            .difference(&department.clean.by_judge)
            .map(|(_, strip)| *strip)
            .collect();
        for (n, strip) in department.strips().enumerate() {
            let truth = told_facts(&strip.truth);
            let mut facts = BTreeMap::new();
            for cycle in read.get(&n).into_iter().flatten() {
                for (fact, n) in told_facts(cycle) {
                    *facts.entry(fact).or_default() += n;
                }
            }
            let wrong = beyond(&facts, &truth);
            let n_lost = beyond(&truth, &facts).len().saturating_sub(wrong.len());
            let by_strip = told.by_strip.contains(&n) && !department.clean.by_strip.contains(&n);
            if by_strip {
                row.n_wrong_told_by_strip += wrong.len();
            } else if new_in_history.contains(&n) {
                row.n_wrong_told_by_history += wrong.len();
            } else if new_in_judge.contains(&n) {
                row.n_wrong_told_by_judge += wrong.len();
            } else {
                row.n_wrong_silent += wrong.len();
                row.n_strips_silent += usize::from(!wrong.is_empty());
                row.silent
                    .extend(wrong.iter().map(|fact| format!("strip {n}: {fact}")));
            }
            if by_strip || new_in_history.contains(&n) || new_in_judge.contains(&n) {
                row.n_lost_told += n_lost;
            } else {
                row.n_lost_silent += n_lost;
            }
        }
    }
    row
}
