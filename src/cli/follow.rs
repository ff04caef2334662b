//! `loadbook follow`: strips as they are printed, and a line the moment something needs a person.
//!
//! Here are the folder, the pipe, the archive and the screen; what is complete and what it means is
//! [`super::follower`]'s. Silence is counted in rounds of looking, so that no clock is read. Read [`run`] first.

use super::archive::{keep_layout, open_writer};
use super::archive_file::{read_file, way_of_file, way_of_options};
use super::exit::Exit;
use super::follower::{Follower, Silence, Ways};
use super::input::{InputOptions, find_inputs, refuse_fault};
use super::layout::LayoutOptions;
use super::options::{SharedOptions, parse_zone};
use super::policy::PolicyOptions;
use super::{Printed, Refusal};
use crate::archive::add::TakenIn;
use crate::archive::disk::SystemDisk;
use crate::archive::fingerprint::Fingerprint;
use crate::archive::store::Archive;
use crate::archive::told::Told;
use crate::diagnose::Severity;
use crate::measure::count::Counting;
use crate::parse::Strictness;
use crate::report::caution::Caution;
use crate::report::inert;
use crate::report::terminal::Terminal;
use crate::report::terminal::caution::draw_cautions;
use crate::report::terminal::fact::draw_fact;
use crate::report::terminal::prose::paragraph;
use crate::source::gather::gather;
use crate::source::growth::FileMark;
use chrono_tz::Tz;
use clap::Args;
use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, TryRecvError, sync_channel};
use std::time::Duration;

/// How long it takes at the most until Ctrl-C is heard.
const SLICE: Duration = Duration::from_millis(100);
/// Slices in a second.
const SLICES: u64 = 10;
/// How much of a pipe is read at once.
const BLOCK: usize = 64 * 1024;
/// Blocks of a pipe that wait to be taken.
const BLOCKS: usize = 16;
/// A pipe's bytes are held, and kept as one growing file, until there are so many; then the next neutral record begins
/// another.
const PIECE: u64 = 256 * 1024;
/// The name of the pipe.
const PIPE: &str = "-";

/// Reads strips as they are printed, from a folder in which files are written or from a pipe, and prints a line the
/// moment the records show something that needs a person: a cycle aborted or rejected, a stage too short, an alarm, a test
/// failed, a printout torn off, growth of a BI, a control without growth, a CI whose endpoint was not reached, a release
/// signed against the records, a load in a recall scope. Each line has the time on the record, unit, load, what was seen,
/// file and line; each fact is told once. A cycle counts when its end has come, when the next one begins, or after
/// --idle. Ctrl-C ends it.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  loadbook follow strips/                           what is written in the folder, from now on
  loadbook follow strips/ --archive archive/        the same, kept for years; what was told is not told again
  cat /dev/ttyUSB0 | loadbook follow - --archive archive/    a serial capture
  loadbook follow strips/ --archive archive/ --once          from cron: what is new since the last time
  loadbook follow strips/ --idle 14400              printers of ethylene oxide are silent for hours

Exit codes:
  0  fine: nothing was told
  1  something was told that needs a person
  2  an input or usage error: a path that can't be read, nothing read at all, an archive that can't be written.
     What can be read is followed all the same, and 2 wins over 1.")]
pub struct FollowCommand {
    /// The folder (or file) that is being written, or `-` for a pipe
    #[arg(value_name = "DIR")]
    pub path: String,
    /// Add what is read to this archive, and remember in it what was told
    #[arg(long, value_name = "ARCHIVE")]
    pub archive: Option<PathBuf>,
    /// Look at the folder every so many seconds
    #[arg(long, value_name = "SECONDS", default_value_t = 2, value_parser = clap::value_parser!(u64).range(1..=86_400))]
    pub every: u64,
    /// Take a printout for torn off after so many seconds without another line; choose more than the longest silence of
    /// your printers. With 0 what is there is taken as it is
    #[arg(long, value_name = "SECONDS", default_value_t = 3600, value_parser = clap::value_parser!(u64).range(0..=31_536_000))]
    pub idle: u64,
    /// Look once, and end
    #[arg(long)]
    pub once: bool,
    /// How loads are judged.
    #[command(flatten)]
    pub policy: PolicyOptions,
    /// Zone of clocks for which the records name none, such as Europe/London
    #[arg(long, value_name = "IANA", value_parser = parse_zone, help_heading = "How records are read")]
    pub zone: Option<Tz>,
    /// By which layout.
    #[command(flatten)]
    pub layout: LayoutOptions,
    /// Columns to draw in, 60 to 200 [default: the terminal's, at most 120; 80 without a terminal]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(60..=200), help_heading = "How it is drawn")]
    pub width: Option<u16>,
}

/// Runs the command. Facts go to `out` as they are found; the last line, how many there were, is returned.
///
/// # Errors
/// No such folder, no archive where one was named, a policy or layout that can't be used.
pub fn run(command: &FollowCommand, out: &mut dyn Write, err: &mut dyn Write) -> Printed {
    let stop = Arc::new(AtomicBool::new(false));
    for signal in [signal_hook::consts::SIGINT, signal_hook::consts::SIGTERM] {
        // Without it the signal ends loadbook at once, which loses nothing but the last line.
        let _ = signal_hook::flag::register(signal, Arc::clone(&stop));
    }
    let disk = SystemDisk;
    let mut session = Session::open(command, &disk, &stop, err)?;
    session.tell(out, err);
    match command.path.as_str() {
        PIPE => session.follow_pipe(out, err),
        _ => session.follow_folder(out, err)?,
    }
    Ok(session.end(err))
}

/// Following, from the start to the end.
struct Session<'s> {
    command: &'s FollowCommand,
    disk: &'s SystemDisk,
    follower: Follower,
    stop: &'s AtomicBool,
    terminal: Terminal,
    /// What was told, if an archive remembers it.
    remembered: Option<Told>,
    /// What was told by this run.
    told: BTreeSet<Fingerprint>,
    /// What an earlier run told.
    told_before: BTreeSet<Fingerprint>,
    /// What hindered, which is said once.
    said: BTreeSet<String>,
    /// What was last seen of each file, and for how many rounds it has been so.
    marks: BTreeMap<String, Quiet>,
    exit: Exit,
    has_ended: bool,
}

/// How long a file has been as it is.
struct Quiet {
    mark: FileMark,
    n_rounds: u64,
    /// Whether its silence was taken for the end.
    is_over: bool,
}

impl<'s> Session<'s> {
    fn open(
        command: &'s FollowCommand,
        disk: &'s SystemDisk,
        stop: &'s AtomicBool,
        err: &mut dyn Write,
    ) -> Result<Self, Refusal> {
        let book = command.policy.read_book()?;
        let mut choice = command.layout.choice()?;
        let mut remembered = None;
        let mut held = Vec::new();
        let mut digests: BTreeMap<String, Fingerprint> = BTreeMap::new();
        if let Some(root) = &command.archive {
            // It is made if there is none.
            drop(open_writer(root, disk, err)?);
            let told = Told::open(root, disk).map_err(|fault| refuse_fault(&fault))?;
            remembered = Some(
                told.ok_or_else(|| Refusal::new("another loadbook follows with this archive"))?,
            );
            let found = find_inputs(
                &InputOptions {
                    paths: Vec::new(),
                    archive: Some(root.clone()),
                },
                &command.layout,
            )?;
            choice = found.choice;
            held = found.inputs;
            let archive = Archive::open(root).map_err(|fault| refuse_fault(&fault))?;
            digests = archive
                .inputs()
                .into_iter()
                .map(|found| (found.input.name().to_owned(), found.file.object.sha256))
                .collect();
        }
        let mut session = Session {
            command,
            disk,
            follower: Follower::new(Ways {
                strictness: Strictness::Infer,
                choice,
                zone: command.zone,
                book,
            }),
            stop,
            terminal: SharedOptions::plain_terminal(command.width),
            remembered,
            told: BTreeSet::new(),
            told_before: BTreeSet::new(),
            said: BTreeSet::new(),
            marks: BTreeMap::new(),
            exit: Exit::Fine,
            has_ended: false,
        };
        for input in held {
            let mut bytes = Vec::new();
            let read = input
                .open()
                .and_then(|mut stream| stream.read_to_end(&mut bytes));
            match read {
                Ok(_) if digests.get(input.name()) == Some(&Fingerprint::of(&bytes)) => {
                    session.follower.hold(input.name(), &bytes);
                }
                _ => {
                    let said = format!("`{}` is not in the archive as it was added", input.name());
                    session.hinder(&said, err);
                }
            }
        }
        Ok(session)
    }

    /// Says once what hindered.
    fn hinder(&mut self, said: &str, err: &mut dyn Write) {
        self.exit = Exit::Input;
        if self.said.insert(said.to_owned()) {
            let _ = writeln!(err, "error: {}", inert::text(said));
        }
    }

    fn has_to_end(&self) -> bool {
        self.has_ended || self.stop.load(Ordering::Relaxed)
    }

    /// Looks at the folder again and again.
    fn follow_folder(&mut self, out: &mut dyn Write, err: &mut dyn Write) -> Result<(), Refusal> {
        if Path::new(&self.command.path).symlink_metadata().is_err() {
            return Err(Refusal::new(format!(
                "`{}` can't be read: there is no such file or folder",
                self.command.path
            )));
        }
        loop {
            self.look(err);
            self.tell(out, err);
            if self.command.once || self.has_to_end() {
                return Ok(());
            }
            for _ in 0..self.command.every.saturating_mul(SLICES) {
                if self.has_to_end() {
                    return Ok(());
                }
                std::thread::sleep(SLICE);
            }
        }
    }

    /// Looks at the folder once.
    fn look(&mut self, err: &mut dyn Write) {
        let gathered = gather(std::slice::from_ref(&self.command.path));
        for diagnostic in &gathered.diagnostics {
            if diagnostic.severity == Severity::Error {
                self.hinder(&diagnostic.headline, err);
            } else if self.said.insert(diagnostic.headline.clone()) {
                let said = inert::text(&diagnostic.headline);
                let _ = writeln!(err, "{}: {said}", diagnostic.severity.word());
            }
        }
        let archive = self.command.archive.as_ref();
        let root = archive.and_then(|root| root.canonicalize().ok());
        let mut files: BTreeMap<String, PathBuf> = BTreeMap::new();
        for input in &gathered.inputs {
            let Some(path) = input.path() else { continue };
            let is_own = root
                .as_ref()
                .is_some_and(|root| path.canonicalize().is_ok_and(|path| path.starts_with(root)));
            if !is_own {
                files.insert(input.name().to_owned(), path.to_owned());
            }
        }
        let names: BTreeSet<String> = files.keys().cloned().collect();
        let gone = self.follower.leave_out_all_but(&names);
        self.marks.retain(|name, _| names.contains(name));
        // Known names first: a name that no longer has its bytes frees them for the name that has them now.
        let (known, new): (Vec<_>, Vec<_>) = files
            .into_iter()
            .partition(|(name, _)| self.follower.has(name));
        for (name, path) in known.into_iter().chain(new) {
            self.look_at(&name, &path, err);
        }
        for name in gone {
            let name = inert::text(&name);
            let _ = writeln!(
                err,
                "note: {name} is no longer there; what was read from it stays"
            );
        }
    }

    fn look_at(&mut self, name: &str, path: &Path, err: &mut dyn Write) {
        let mark = FileMark::of(path);
        let idle = self.command.idle;
        let quiet = self.marks.entry(name.to_owned()).or_insert(Quiet {
            mark: FileMark::default(),
            n_rounds: 0,
            is_over: false,
        });
        if quiet.mark == mark {
            quiet.n_rounds = quiet.n_rounds.saturating_add(1);
        } else {
            *quiet = Quiet {
                mark,
                n_rounds: 0,
                is_over: false,
            };
        }
        let is_new = quiet.n_rounds == 0;
        let is_over = quiet.n_rounds.saturating_mul(self.command.every) >= idle;
        let ends_now = is_over && !quiet.is_over && (is_new || self.follower.waits(name));
        if !is_new && !ends_now {
            return;
        }
        quiet.is_over = is_over;
        let bytes = match std::fs::read(path) {
            Ok(bytes) => bytes,
            // It was taken away since it was listed, which the next round sees.
            Err(error) if error.kind() == io::ErrorKind::NotFound => return,
            Err(error) => {
                // To be tried again.
                quiet.mark = FileMark::default();
                return self.hinder(&format!("`{name}` can't be read: {}", error.kind()), err);
            }
        };
        let silence = if is_over {
            Silence::IsOver
        } else {
            Silence::MayEnd
        };
        self.take(name, name, &bytes, silence, err);
    }

    /// Takes what a strip has by now, and keeps it in the archive.
    fn take(
        &mut self,
        name: &str,
        kept_as: &str,
        bytes: &[u8],
        silence: Silence,
        err: &mut dyn Write,
    ) {
        let taken = self.follower.take(name, bytes, silence);
        for note in taken.notes {
            let _ = writeln!(err, "note: {}", inert::text(&note));
        }
        let settled = taken.settled.and_then(|n_bytes| bytes.get(..n_bytes));
        if let Some((settled, root)) = settled.zip(self.command.archive.as_ref())
            && let Err(refusal) = self.keep(root, kept_as, settled, err)
        {
            let said = format!("{name} was not added to the archive: {}", refusal.said);
            self.hinder(&said, err);
        }
    }

    /// Adds the settled bytes of a strip to the archive. The archive is opened for it alone, so that others can add too.
    fn keep(
        &self,
        root: &Path,
        name: &str,
        bytes: &[u8],
        err: &mut dyn Write,
    ) -> Result<(), Refusal> {
        let name = inert::text(name);
        let mut writer = open_writer(root, self.disk, err)?;
        let taken = writer
            .take_in(&name, bytes)
            .map_err(|fault| refuse_fault(&fault))?;
        // The others are there already.
        let TakenIn::New(staged) = taken else {
            return Ok(());
        };
        let mut way = way_of_options(&self.command.layout)?;
        let is_told = self.command.layout.layout.is_some() || self.command.layout.ocr;
        let before = staged.longer_than.first();
        if let Some(before) = before.and_then(|before| writer.archive().file(before))
            && !is_told
            && let Some(way_before) = way_of_file(writer.archive(), before)?
        {
            way = way_before;
        }
        keep_layout(&way, &mut writer)?;
        let reading = read_file(staged.input(), &way)?;
        writer
            .enter(staged, reading, None, &[])
            .and_then(|()| writer.commit())
            .map_err(|fault| refuse_fault(&fault))
    }

    /// Tells what was not told yet.
    fn tell(&mut self, out: &mut dyn Write, err: &mut dyn Write) {
        let Some(facts) = self.follower.find_facts() else {
            return;
        };
        let mut new = Vec::new();
        let mut cautions: BTreeSet<Caution> = BTreeSet::new();
        for fact in facts {
            let mark = Fingerprint::of(fact.key.as_bytes());
            if self.told.contains(&mark) {
                continue;
            }
            if self.remembered.as_ref().is_some_and(|told| told.has(&mark)) {
                self.told_before.insert(mark);
                continue;
            }
            let drawn = draw_fact(&fact, &self.terminal);
            if write_now(out, &drawn).is_err() {
                // Nobody reads it any more. What was not told is told at the next start.
                self.has_ended = true;
                break;
            }
            cautions.extend(fact.caution);
            self.told.insert(mark.clone());
            new.push(mark);
        }
        let cautions: Vec<Caution> = cautions.into_iter().collect();
        if write_now(out, &draw_cautions(&cautions, &self.terminal)).is_err() {
            self.has_ended = true;
        }
        if !new.is_empty()
            && let Some(told) = &mut self.remembered
            && let Err(fault) = told.note(&new)
        {
            self.hinder(&fault.to_string(), err);
        }
    }

    /// Reads the pipe to its end.
    fn follow_pipe(&mut self, out: &mut dyn Write, err: &mut dyn Write) {
        let (send, blocks) = sync_channel(BLOCKS);
        // It ends with the process: nothing interrupts a read.
        std::thread::spawn(move || {
            let mut block = vec![0_u8; BLOCK];
            let mut stream = io::stdin().lock();
            loop {
                let read = match stream.read(&mut block) {
                    Ok(0) => None,
                    Ok(n) => Some(Ok(block.get(..n).unwrap_or_default().to_vec())),
                    Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
                    Err(error) => Some(Err(error.kind())),
                };
                let is_last = !matches!(read, Some(Ok(_)));
                if send.send(read).is_err() || is_last {
                    return;
                }
            }
        });
        let mut pipe = Pipe::default();
        let mut n_quiet = 0_u64;
        while !self.has_to_end() {
            let (bytes, next) = receive(&blocks);
            if bytes.is_empty() {
                n_quiet = n_quiet.saturating_add(1);
                let is_over = n_quiet == self.command.idle.saturating_mul(SLICES).max(1);
                if is_over && self.follower.waits(&pipe.name()) {
                    self.take(&pipe.name(), PIPE, &pipe.bytes, Silence::IsOver, err);
                    self.tell(out, err);
                }
            } else {
                n_quiet = 0;
                self.take_piped(&mut pipe, &bytes, err);
                self.tell(out, err);
            }
            if let Next::End(error) = next {
                if let Some(error) = error {
                    self.hinder(&format!("the pipe can't be read: {error}"), err);
                }
                break;
            }
        }
        if !self.stop.load(Ordering::Relaxed) && !self.has_ended {
            self.take(&pipe.name(), PIPE, &pipe.bytes, Silence::IsOver, err);
            self.tell(out, err);
        }
    }

    /// Takes the next bytes of the pipe. What is settled and long enough is let go of where a neutral record begins, for
    /// that needs nothing before it to be read.
    fn take_piped(&mut self, pipe: &mut Pipe, bytes: &[u8], err: &mut dyn Write) {
        pipe.bytes.extend_from_slice(bytes);
        if let Some((n_settled, false)) = self.follower.settled(&pipe.name())
            && n_settled >= PIECE
            && let Ok(n_settled) = usize::try_from(n_settled)
            && pipe
                .bytes
                .get(n_settled..)
                .is_some_and(|rest| rest.starts_with(b"loadbook "))
        {
            self.follower.leave(&pipe.name());
            pipe.bytes.drain(..n_settled);
            pipe.n_before.add_one();
        }
        self.take(&pipe.name(), PIPE, &pipe.bytes, Silence::MayEnd, err);
    }

    /// The last line, and how it ended.
    fn end(mut self, err: &mut dyn Write) -> (String, Exit) {
        let tally = self.follower.tally();
        let has_read = tally.n_cycles > 0 || tally.n_entries > 0;
        if !has_read && (self.command.once || self.command.path == PIPE) {
            self.hinder(
                "nothing was read: no complete printout and no log entry in what was named",
                err,
            );
        }
        let n = |n: usize, one: &str, more: &str| match n {
            1 => format!("1 {one}"),
            n => format!("{n} {more}"),
        };
        let waiting = match tally.n_waiting {
            0 => String::new(),
            waiting => format!(
                " {} not ended yet.",
                n(waiting, "printout has", "printouts have")
            ),
        };
        let before = match self.told_before.len() {
            0 => String::new(),
            before => format!(", {before} told before"),
        };
        let words = format!(
            "Followed {}: {}, {}. {} told{before}.{waiting}",
            n(tally.n_files, "file", "files"),
            n(tally.n_cycles, "cycle", "cycles"),
            n(tally.n_entries, "log entry", "log entries"),
            n(self.told.len(), "fact", "facts"),
        );
        let findings = if self.told.is_empty() {
            Exit::Fine
        } else {
            Exit::Findings
        };
        let text = paragraph("", &words, self.terminal.width);
        (text, Exit::of(self.exit, findings))
    }
}

/// The bytes of a pipe that are held.
#[derive(Default)]
struct Pipe {
    bytes: Vec<u8>,
    /// Pieces that were let go of.
    n_before: usize,
}

impl Pipe {
    fn name(&self) -> String {
        match self.n_before {
            0 => PIPE.to_owned(),
            n => format!("{PIPE} (piece {})", n.saturating_add(1)),
        }
    }
}

/// Whether more of a pipe may come.
enum Next {
    MayCome,
    End(Option<io::ErrorKind>),
}

/// All blocks that wait, so that a pipe that is read fast is not judged block by block.
fn receive(blocks: &Receiver<Option<Result<Vec<u8>, io::ErrorKind>>>) -> (Vec<u8>, Next) {
    let mut bytes = Vec::new();
    let mut block = blocks.recv_timeout(SLICE);
    loop {
        match block {
            Ok(Some(Ok(more))) => bytes.extend(more),
            Ok(Some(Err(error))) => return (bytes, Next::End(Some(error))),
            Ok(None) | Err(RecvTimeoutError::Disconnected) => return (bytes, Next::End(None)),
            Err(RecvTimeoutError::Timeout) => return (bytes, Next::MayCome),
        }
        block = blocks.try_recv().map_err(|error| match error {
            TryRecvError::Empty => RecvTimeoutError::Timeout,
            TryRecvError::Disconnected => RecvTimeoutError::Disconnected,
        });
    }
}

fn write_now(out: &mut dyn Write, text: &str) -> io::Result<()> {
    out.write_all(text.as_bytes()).and_then(|()| out.flush())
}
