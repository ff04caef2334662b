//! From the paths on the command line to one history. Read [`read_input`] first.

use super::Refusal;
use super::exit::Exit;
use super::input::{FoundInputs, InputOptions, find_inputs};
use super::options::SharedOptions;
use crate::diagnose::{Diagnostic, FileId, Severity};
use crate::judge::decision::Judgements;
use crate::judge::judge_history;
use crate::judge::policy::PolicyBook;
use crate::judge::recall::{Recall, find_recalls};
use crate::measure::count::Counting;
use crate::parallel::Threads;
use crate::parse::{ReadByLayout, Records, UnreadLines, read_inputs_keeping, read_inputs_on};
use crate::reconcile::history::History;
use crate::reconcile::{Site, join_history_on};
use crate::report::inert;
use crate::report::input_file::InputFile;
use crate::report::place::{Place, common_folder};
use crate::report::read::Counted;
use crate::report::review::{AsOf, Judged, Reviewed};
use crate::report::scope::Scope;
use crate::source::gather::{Input, Sources};
use chrono::NaiveDateTime;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::collections::BTreeMap;
use std::io::{IsTerminal, Write};

/// Input of fewer bytes is read before a bar could be seen.
const BAR_FROM: u64 = 16 << 20;

/// All that was read, joined.
#[derive(Debug)]
pub struct Intake {
    /// The files.
    pub sources: Sources,
    /// The files, as reports tell of them.
    pub files: Vec<InputFile>,
    /// The records, joined.
    pub history: History,
    /// The lines that could not be read.
    pub unread: Vec<UnreadLines>,
    /// What finding, reading and joining noticed.
    pub diagnostics: Vec<Diagnostic>,
    /// The files that were read by a layout.
    pub by_layout: Vec<ReadByLayout>,
    n_from_reading: usize,
    /// The moment that reports speak for.
    pub as_of: Option<AsOf>,
    /// Which part of the history is shown.
    pub scope: Scope,
    /// Whether every path could be read, and held something.
    pub exit: Exit,
}

/// What judging found.
#[derive(Debug)]
pub struct JudgedIntake {
    /// The policies.
    pub book: PolicyBook,
    /// The judgement of each load.
    pub judgements: Judgements,
    /// The scopes of growing indicators.
    pub recalls: Vec<Recall>,
}

/// The files that were read, in the order of their numbers, as reports tell of them.
pub fn list_files(sources: &Sources) -> Vec<InputFile> {
    sources
        .files()
        .iter()
        .map(|file| InputFile {
            id: file.id,
            name: file.name.clone(),
            n_bytes: file.n_bytes,
            n_lines: file.n_lines,
            encoding: file.encoding,
            sha256: file.sha256.clone(),
        })
        .collect()
}

impl Intake {
    /// The layout that each file was read by, of those that were read by one.
    pub fn layouts(&self) -> BTreeMap<FileId, String> {
        self.by_layout
            .iter()
            .map(|read| (read.file, read.layout.clone()))
            .collect()
    }

    /// What finding and reading noticed, without what joining did.
    pub fn reading_diagnostics(&self) -> &[Diagnostic] {
        self.diagnostics
            .get(..self.n_from_reading)
            .unwrap_or_default()
    }

    /// Judges what was read by these policies.
    ///
    /// Records later than the moment asked for are left out of the history already; it is given on all the same, so that
    /// what is due by then counts as due.
    pub fn judge(&self, book: PolicyBook) -> JudgedIntake {
        let as_of = self
            .as_of
            .as_ref()
            .filter(|as_of| as_of.newest_record.is_none())
            .map(|as_of| as_of.local);
        JudgedIntake {
            judgements: judge_history(&self.history, &book, as_of),
            recalls: find_recalls(&self.history, &book, as_of),
            book,
        }
    }

    /// The folder that all files lie in.
    pub fn folder(&self) -> &str {
        common_folder(self.files.iter().map(|file| file.name.as_str()))
    }

    /// What reports are made from.
    pub fn reviewed<'a>(&'a self, judged: &'a JudgedIntake) -> Reviewed<'a> {
        Reviewed {
            judged: Judged {
                book: &judged.book,
                judgements: &judged.judgements,
                recalls: &judged.recalls,
            },
            history: &self.history,
            files: &self.files,
            unread: &self.unread,
            diagnostics: &self.diagnostics,
            lines: &self.sources,
            scope: &self.scope,
            as_of: self.as_of.as_ref(),
        }
    }
}

/// Reads and joins what the paths name, or what an archive holds. A path that can't be read is told on `err`, and the others are read all the same.
///
/// # Errors
/// A unit or program asked for that no record has; no archive.
pub fn read_input(
    input: &InputOptions,
    options: &SharedOptions,
    err: &mut dyn Write,
) -> Result<Intake, Refusal> {
    let found = find_inputs(input, &options.layout)?;
    let bar = open_bar(&found.inputs);
    read_found(found, options, Threads::available(), &bar, err)
}

/// Reads and joins inputs that were found, on so many threads.
///
/// # Errors
/// A unit or program asked for that no record has.
pub fn read_found(
    found: FoundInputs,
    options: &SharedOptions,
    threads: Threads,
    bar: &ProgressBar,
    err: &mut dyn Write,
) -> Result<Intake, Refusal> {
    let mut diagnostics = found.diagnostics;
    let strictness = options.strictness();
    let (sources, mut records) = read_inputs_on(
        found.inputs,
        strictness,
        &found.choice,
        threads,
        |n_bytes| bar.inc(n_bytes),
    );
    bar.finish_and_clear();
    diagnostics.append(&mut records.diagnostics);
    let n_from_reading = diagnostics.len();
    let n_read = records.cycles.len().saturating_add(records.entries.len());
    leave_out_later(&mut records, options.as_of);
    let n_left = records.cycles.len().saturating_add(records.entries.len());
    let n_later = n_read.saturating_sub(n_left);
    let (history, mut noticed) = join_history_on(
        records.cycles,
        records.entries,
        Site { zone: options.zone },
        threads,
    );
    diagnostics.append(&mut noticed);
    let exit = say_what_failed(&diagnostics, n_read, err);
    let scope = options.scope();
    if let Some(unknown) = scope
        .unknown_names(&history)
        .into_iter()
        .next()
        .filter(|_| n_read > 0)
    {
        let mut refusal = Refusal::new(format!(
            "no record has the {} `{}`",
            unknown.what, unknown.name
        ));
        let nearest = unknown
            .known
            .iter()
            .map(|known| {
                (
                    strsim::osa_distance(&unknown.name.to_lowercase(), &known.to_lowercase()),
                    known,
                )
            })
            .min()
            .filter(|(distance, _)| *distance <= 3);
        if let Some((_, name)) = nearest {
            refusal.more.push(format!("did you mean `{name}`?"));
        }
        refusal
            .more
            .push(format!("the records have: {}", unknown.known.join(", ")));
        return Err(refusal);
    }
    let as_of = match options.as_of {
        Some(local) => Some(AsOf {
            local,
            newest_record: None,
            n_later,
        }),
        None => find_newest(&history, &sources),
    };
    let files = list_files(&sources);
    Ok(Intake {
        sources,
        files,
        history,
        unread: records.unread,
        by_layout: records.by_layout,
        diagnostics,
        n_from_reading,
        as_of,
        scope,
        exit,
    })
}

/// Tells on `err` which paths could not be read, and whether nothing was; gives the exit code for it.
fn say_what_failed(diagnostics: &[Diagnostic], n_read: usize, err: &mut dyn Write) -> Exit {
    let mut n_unreadable = 0_usize;
    for diagnostic in diagnostics {
        if !diagnostic.code.is_of_unreadable_file() {
            continue;
        }
        n_unreadable.add_one();
        let _ = writeln!(
            err,
            "{}: {}",
            Severity::Error.word(),
            inert::text(&diagnostic.headline)
        );
    }
    if n_read == 0 && n_unreadable == 0 {
        let _ = writeln!(
            err,
            "error: nothing was read: no printout and no log entry in what was named"
        );
    }
    if n_read == 0 || n_unreadable > 0 {
        Exit::Input
    } else {
        Exit::Fine
    }
}

/// What was read, counted and not kept.
#[derive(Debug)]
pub struct Count {
    /// The files.
    pub sources: Sources,
    /// The files, as reports tell of them.
    pub files: Vec<InputFile>,
    /// The records of each file.
    pub counted: BTreeMap<FileId, Counted>,
    /// The lines that could not be read.
    pub unread: Vec<UnreadLines>,
    /// What finding and reading noticed.
    pub diagnostics: Vec<Diagnostic>,
    /// Whether every path could be read, and held something.
    pub exit: Exit,
}

/// Reads what the paths name, or what an archive holds, and counts the records; those of one file at a time are in memory.
///
/// # Errors
/// No archive.
pub fn count_input(
    input: &InputOptions,
    options: &SharedOptions,
    err: &mut dyn Write,
) -> Result<Count, Refusal> {
    let found = find_inputs(input, &options.layout)?;
    let bar = open_bar(&found.inputs);
    let mut diagnostics = found.diagnostics;
    let count = |records: &mut Records| {
        let n_read = records.cycles.len().saturating_add(records.entries.len());
        leave_out_later(records, options.as_of);
        let counted = Counted {
            n_printouts: std::mem::take(&mut records.cycles).len(),
            n_entries: std::mem::take(&mut records.entries).len(),
        };
        (counted, n_read)
    };
    let (sources, mut records, counts) = read_inputs_keeping(
        found.inputs,
        options.strictness(),
        &found.choice,
        Threads::available(),
        count,
        |n_bytes| bar.inc(n_bytes),
    );
    bar.finish_and_clear();
    diagnostics.append(&mut records.diagnostics);
    let n_read = counts.iter().map(|(_, n_read)| n_read).sum();
    let exit = say_what_failed(&diagnostics, n_read, err);
    let files = list_files(&sources);
    let counted = files.iter().map(|file| file.id);
    let counted = counted.zip(counts.into_iter().map(|(counted, _)| counted));
    Ok(Count {
        counted: counted.collect(),
        sources,
        files,
        unread: records.unread,
        diagnostics,
        exit,
    })
}

/// Leaves out the records that are later than a moment.
fn leave_out_later(records: &mut Records, as_of: Option<NaiveDateTime>) {
    let is_later =
        |local: Option<NaiveDateTime>| as_of.zip(local).is_some_and(|(as_of, local)| local > as_of);
    records
        .cycles
        .retain(|cycle| !is_later(cycle.started.as_ref().map(|started| started.value.local)));
    records
        .entries
        .retain(|entry| !is_later(entry.written.as_ref().map(|written| written.value.local)));
}

/// The newest record and where it stands.
fn find_newest(history: &History, sources: &Sources) -> Option<AsOf> {
    let cycles = history.cycles.iter().filter_map(|known| {
        let began = known.began.as_ref()?.value;
        let ended = known.ended.map_or(began, |ended| ended.max(began));
        Some((ended.local, known.cycle.opening))
    });
    let entries = history
        .entries
        .iter()
        .filter_map(|known| Some((known.written?.local, known.entry.span)));
    let (local, span) = cycles.chain(entries).max()?;
    Some(AsOf {
        local,
        newest_record: Some(Place::of(&span, sources)),
        n_later: 0,
    })
}

/// A progress bar on standard error, hidden unless that is a terminal and the input is long.
fn open_bar(inputs: &[Input]) -> ProgressBar {
    let n_bytes: u64 = inputs.iter().filter_map(Input::n_bytes).sum();
    if n_bytes < BAR_FROM {
        return ProgressBar::hidden();
    }
    bar_on_terminal(n_bytes, "reading [{bar:40}] {bytes} of {total_bytes}")
}

/// A progress bar on standard error, hidden unless that is a terminal.
pub(super) fn bar_on_terminal(n: u64, template: &str) -> ProgressBar {
    if !std::io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::with_draw_target(Some(n), ProgressDrawTarget::stderr());
    match ProgressStyle::with_template(template) {
        Ok(style) => bar.with_style(style.progress_chars("=> ")),
        Err(_) => bar,
    }
}
