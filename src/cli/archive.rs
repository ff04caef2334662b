//! `loadbook archive`: add to an archive, list it, verify it, review it, read it again; its tables are in
//! `archive_tables`.
//!
//! What an archive is and promises stands in `crate::archive` and in grammars/archive.md. Read [`run`] first.

use super::archive_file::{Way, origin_of, read_file, way_of_file, way_of_options};
use super::archive_tables::{self, TablesAfter, TablesArgs, make_after};
use super::exit::{EXIT_CODES, Exit};
use super::input::{InputOptions, refuse_fault};
use super::layout::{DrawOptions, LayoutOptions};
use super::options::{Format, SharedOptions, parse_moment};
use super::output::write_json;
use super::policy::PolicyOptions;
use super::review::{self, ReviewCommand};
use super::{Printed, Refusal};
use crate::archive::add::{Staged, TakenIn, Writer};
use crate::archive::disk::SystemDisk;
use crate::archive::event::Because;
use crate::archive::fault::{ArchiveFault, Damage};
use crate::archive::fingerprint::Fingerprint;
use crate::archive::reading::{LayoutOrigin, list_changes};
use crate::archive::store::{Archive, HeldFile};
use crate::archive::verify::verify;
use crate::diagnose::Severity;
use crate::measure::count::Counting;
use crate::parse::LayoutChoice;
use crate::report::archive::{
    ArchiveCheck, ArchiveList, ArchiveRow, ChangeRow, ChangedRow, PlaceSaid, ReplacedRow,
    RereadReport,
};
use crate::report::inert;
use crate::report::terminal::archive::{
    draw_archive_check, draw_archive_list, draw_reread, say_tables,
};
use crate::source::gather::{Input, gather};
use chrono::NaiveDateTime;
use clap::{Args, Subcommand};
use std::io::Write;
use std::path::{Path, PathBuf};

/// The version that is noted beside what was read.
const VERSION: &str = env!("CARGO_PKG_VERSION");
/// So many files are made to last together, which spares most of the waiting for the disk.
const FILES_TOGETHER: usize = 16;
/// So many bytes at the most before they are made to last.
const BYTES_TOGETHER: u64 = 8 << 20;

/// Keeps the records for years in one folder: the original bytes, each file once, with a manifest that says what came in
/// and in which any later change shows. Every command that reads records takes `--archive DIR` in place of paths. Beside the
/// originals lie tables, as Parquet by site, unit and month, for whoever asks many archives at once.
#[derive(Debug, Args)]
#[command(after_help = format!("Examples:
  loadbook archive add archive/ records/            whatever is new in records/ is added; the rest is there already
  loadbook archive add archive/ log.csv --correction    log.csv was corrected: read it instead of the earlier version
  loadbook archive list archive/
  loadbook archive verify archive/                  every byte against the manifest
  loadbook archive review archive/
  loadbook release --archive archive/
  loadbook archive reread archive/                  what a newer loadbook reads otherwise
  loadbook archive tables archive/                  bring its tables up to date, after --no-tables or follow

{EXIT_CODES}"))]
pub struct ArchiveCommand {
    /// What to do.
    #[command(subcommand)]
    pub action: ArchiveAction,
}

/// What to do with an archive.
#[derive(Debug, Subcommand)]
pub enum ArchiveAction {
    /// Add files; what is there already is not added again
    Add(AddArgs),
    /// List what came in, and what was read from it
    List(ListArgs),
    /// Hold every byte against the manifest, and name whatever is changed or missing
    Verify(VerifyArgs),
    /// Review the records of the archive
    Review(ReviewArgs),
    /// Read the originals again with this loadbook, and say what is read otherwise than before
    Reread(RereadArgs),
    /// Bring the tables up to date with the originals, and say which parts changed
    Tables(TablesArgs),
}

/// `loadbook archive add`.
#[derive(Debug, Args)]
pub struct AddArgs {
    /// The archive's folder; a new or an empty one becomes an archive
    #[arg(value_name = "DIR")]
    pub archive: PathBuf,
    /// Files, folders, patterns, or `-` for standard input
    #[arg(value_name = "PATH", required = true)]
    pub paths: Vec<String>,
    /// Note this as the time of coming in [default: none; loadbook reads no clock]
    #[arg(long, value_name = "DATETIME", value_parser = parse_moment)]
    pub at: Option<NaiveDateTime>,
    /// The files are corrected versions of those that have the same names in the archive: read them instead. The earlier
    /// ones are kept
    #[arg(long)]
    pub correction: bool,
    /// By which layout.
    #[command(flatten)]
    pub layout: LayoutOptions,
    /// What becomes of the tables.
    #[command(flatten)]
    pub tables: TablesAfter,
}

/// `loadbook archive list`.
#[derive(Debug, Args)]
pub struct ListArgs {
    /// The archive's folder
    #[arg(value_name = "DIR")]
    pub archive: PathBuf,
    /// Text for people, or JSON for machines
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    /// How it is drawn.
    #[command(flatten)]
    pub draw: DrawOptions,
}

/// `loadbook archive verify`.
#[derive(Debug, Args)]
pub struct VerifyArgs {
    /// The archive's folder
    #[arg(value_name = "DIR")]
    pub archive: PathBuf,
    /// A fingerprint that was noted before: that nothing from before it was changed or taken out is proven by it
    #[arg(long, value_name = "SHA256", value_parser = parse_fingerprint)]
    pub fingerprint: Option<Fingerprint>,
    /// Text for people, or JSON for machines
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    /// How it is drawn.
    #[command(flatten)]
    pub draw: DrawOptions,
}

/// `loadbook archive review`.
#[derive(Debug, Args)]
pub struct ReviewArgs {
    /// The archive's folder
    #[arg(value_name = "DIR")]
    pub archive: PathBuf,
    /// How loads are judged.
    #[command(flatten)]
    pub policy: PolicyOptions,
    /// Shared options.
    #[command(flatten)]
    pub options: SharedOptions,
}

/// `loadbook archive reread`.
#[derive(Debug, Args)]
pub struct RereadArgs {
    /// The archive's folder
    #[arg(value_name = "DIR")]
    pub archive: PathBuf,
    /// Only files of these names, or of SHA-256 that begin so [default: all]
    #[arg(value_name = "FILE")]
    pub files: Vec<String>,
    /// Note this as the time of reading [default: none; loadbook reads no clock]
    #[arg(long, value_name = "DATETIME", value_parser = parse_moment)]
    pub at: Option<NaiveDateTime>,
    /// Text for people, or JSON for machines
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    /// By which layout.
    #[command(flatten)]
    pub layout: LayoutOptions,
    /// What becomes of the tables.
    #[command(flatten)]
    pub tables: TablesAfter,
    /// How it is drawn.
    #[command(flatten)]
    pub draw: DrawOptions,
}

fn parse_fingerprint(text: &str) -> Result<Fingerprint, String> {
    Fingerprint::read(text).ok_or_else(|| {
        "a fingerprint has 64 hexadecimal digits, as `archive verify` and `archive list` print it"
            .to_owned()
    })
}

/// Runs the command. What is added is told on `out` as soon as it is safe, and not before.
///
/// # Errors
/// No archive, or one that can't be used; a disk that refuses.
pub fn run(command: &ArchiveCommand, out: &mut dyn Write, err: &mut dyn Write) -> Printed {
    match &command.action {
        ArchiveAction::Add(args) => add(args, out, err),
        ArchiveAction::List(args) => list(args, err),
        ArchiveAction::Verify(args) => check(args),
        ArchiveAction::Review(args) => {
            let command = ReviewCommand {
                input: InputOptions {
                    paths: Vec::new(),
                    archive: Some(args.archive.clone()),
                },
                policy: args.policy.clone(),
                options: args.options.clone(),
            };
            review::run(&command, err)
        }
        ArchiveAction::Reread(args) => reread(args, err),
        ArchiveAction::Tables(args) => archive_tables::run(args, err),
    }
}

pub(super) fn open_writer<'d>(
    root: &Path,
    disk: &'d SystemDisk,
    err: &mut dyn Write,
) -> Result<Writer<'d>, Refusal> {
    let writer = Writer::open(root, disk, VERSION, || {
        let _ = writeln!(
            err,
            "note: another loadbook is adding to this archive; waiting until it has ended"
        );
    })
    .map_err(|fault| refuse_fault(&fault))?;
    if writer.n_cut_bytes() > 0 {
        let _ = writeln!(
            err,
            "note: an earlier addition was stopped while it wrote; the {} bytes that it left were removed, and nothing of \
             them had been told as added",
            writer.n_cut_bytes()
        );
    }
    Ok(writer)
}

/// What adding came to.
#[derive(Default)]
struct Tally {
    n_added: u64,
    n_known: u64,
    n_failed: u64,
    /// What is told once it is safe.
    to_tell: Vec<String>,
    n_bytes: u64,
}

impl Tally {
    /// Makes what was entered last, and tells it.
    fn commit(&mut self, writer: &mut Writer<'_>, out: &mut dyn Write) -> Result<(), ArchiveFault> {
        writer.commit()?;
        for line in self.to_tell.drain(..) {
            // Whoever read the output has seen enough; what is asked for goes on.
            let _ = writeln!(out, "{line}");
        }
        let _ = out.flush();
        self.n_bytes = 0;
        Ok(())
    }
}

fn add(args: &AddArgs, out: &mut dyn Write, err: &mut dyn Write) -> Printed {
    let way = way_of_options(&args.layout)?;
    args.tables.options.check()?;
    let gathered = gather(&args.paths);
    let mut tally = Tally::default();
    for diagnostic in &gathered.diagnostics {
        let said = inert::text(&diagnostic.headline);
        let _ = writeln!(err, "{}: {said}", diagnostic.severity.word());
        if diagnostic.severity == Severity::Error {
            tally.n_failed.add_one();
        }
    }
    let disk = SystemDisk;
    let mut writer = open_writer(&args.archive, &disk, err)?;
    let done = add_all(
        args,
        gathered.inputs,
        &way,
        &mut writer,
        &mut tally,
        out,
        err,
    );
    // What was entered before a fault is safe and told, unless the fault was in making it last.
    let told = tally.commit(&mut writer, out);
    done?;
    told.map_err(|fault| refuse_fault(&fault))?;
    let (tables, exit_of_tables) = make_after(&mut writer, &args.tables, err);
    if let Some(tables) = tables {
        // Whoever read the output has seen enough; what is asked for goes on.
        let _ = writeln!(out, "{}", say_tables(&tables));
    }
    let archive = writer.archive();
    let n_files = archive.files().len();
    let text = format!(
        "{} added, {} there already{}. {n_files} in the archive; fingerprint of line {}:\n{}\n",
        tally.n_added,
        tally.n_known,
        match tally.n_failed {
            0 => String::new(),
            n => format!(", {n} that could not be read"),
        },
        archive.n_lines(),
        archive.fingerprint(),
    );
    let exit = if tally.n_failed > 0 {
        Exit::Input
    } else {
        Exit::Fine
    };
    Ok((text, exit.max(exit_of_tables)))
}

fn add_all(
    args: &AddArgs,
    inputs: Vec<Input>,
    way: &Way,
    writer: &mut Writer<'_>,
    tally: &mut Tally,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<(), Refusal> {
    keep_layout(way, writer)?;
    let root = args.archive.canonicalize().ok();
    for input in inputs {
        let name = inert::text(input.name()).into_owned();
        let is_own = root.as_ref().zip(input.path()).is_some_and(|(root, path)| {
            path.canonicalize().is_ok_and(|path| path.starts_with(root))
        });
        if is_own {
            let _ = writeln!(err, "note: {name} is the archive's own; it was passed over");
            continue;
        }
        let fault = |source| ArchiveFault::Input {
            name: name.clone(),
            source,
        };
        let known = input
            .n_bytes()
            .and_then(|n_bytes| writer.find_known(n_bytes, || input.open()));
        let taken = match known {
            Some(known) => Ok(known),
            None => input
                .open()
                .map_err(fault)
                .and_then(|stream| writer.take_in(&name, stream)),
        };
        match taken {
            Ok(taken) => enter(args, way, taken, &name, writer, tally, err)?,
            Err(fault) if fault.is_of_input() => {
                let _ = writeln!(err, "error: {}", inert::text(&fault.to_string()));
                tally.n_failed.add_one();
            }
            Err(fault) => return Err(refuse_fault(&fault)),
        }
        if tally.to_tell.len() >= FILES_TOGETHER || tally.n_bytes >= BYTES_TOGETHER {
            tally
                .commit(writer, out)
                .map_err(|fault| refuse_fault(&fault))?;
        }
    }
    Ok(())
}

/// Keeps the layout that was named, unless it comes with loadbook.
pub(super) fn keep_layout(way: &Way, writer: &mut Writer<'_>) -> Result<(), Refusal> {
    let LayoutChoice::Forced(layout) = &way.choice else {
        return Ok(());
    };
    if origin_of(layout) != LayoutOrigin::Kept {
        return Ok(());
    }
    let texts: Vec<(String, String)> = layout
        .files
        .files()
        .iter()
        .map(|file| (inert::text(&file.name).into_owned(), file.text.clone()))
        .collect();
    writer
        .keep_layout(&layout.name, &texts)
        .map_err(|fault| refuse_fault(&fault))
}

/// Enters what was taken in, and notes what is to be told of it.
fn enter(
    args: &AddArgs,
    way: &Way,
    taken: TakenIn,
    name: &str,
    writer: &mut Writer<'_>,
    tally: &mut Tally,
    err: &mut dyn Write,
) -> Result<(), Refusal> {
    let corrects = |writer: &Writer<'_>, sha256: &Fingerprint| match args.correction {
        true => writer.namesakes(name, sha256),
        false => Vec::new(),
    };
    let refuse = |fault: ArchiveFault| refuse_fault(&fault);
    match taken {
        TakenIn::Empty => {
            let _ = writeln!(err, "warning: {name} is empty; there is nothing to keep");
        }
        TakenIn::Known { sha256 } => {
            tally.n_known.add_one();
            let corrects = corrects(writer, &sha256);
            if corrects.is_empty() {
                let said = match writer.archive().file(&sha256) {
                    Some(held) if held.name != name => format!(" as {}", held.name),
                    _ => String::new(),
                };
                tally
                    .to_tell
                    .push(format!("known {} {name}: is there{said}", sha256.short()));
            } else {
                writer
                    .replace(&sha256, &corrects, args.at)
                    .map_err(refuse)?;
                tally.to_tell.push(format!(
                    "known {} {name}: is there; it is read from now on in place of {}",
                    sha256.short(),
                    listed(&corrects)
                ));
            }
        }
        TakenIn::Within { sha256 } => {
            tally.n_known.add_one();
            tally.to_tell.push(format!(
                "known {} {name}: is there as the beginning of a longer version",
                sha256.short()
            ));
        }
        TakenIn::New(staged) => enter_new(args, way, staged, writer, tally, err)?,
    }
    Ok(())
}

fn enter_new(
    args: &AddArgs,
    way: &Way,
    staged: Staged,
    writer: &mut Writer<'_>,
    tally: &mut Tally,
    err: &mut dyn Write,
) -> Result<(), Refusal> {
    let sha256 = staged.object.sha256.clone();
    let name = staged.name.clone();
    let mut namesakes = writer.namesakes(&name, &sha256);
    namesakes.retain(|namesake| !staged.longer_than.contains(namesake));
    let corrects = match args.correction {
        true => std::mem::take(&mut namesakes),
        false => Vec::new(),
    };
    let reading = read_file(staged.input(), way)?;
    let mut said = format!(
        "added {} {name}: {}, {}, {}",
        sha256.short(),
        counted(reading.n_cycles, "cycle", "cycles"),
        counted(reading.n_entries, "log entry", "log entries"),
        counted(reading.n_unread_lines, "unread line", "unread lines"),
    );
    if !staged.longer_than.is_empty() {
        said.push_str(&format!(
            "; it goes on from {}, which is kept and no longer read",
            listed(&staged.longer_than)
        ));
    }
    if !corrects.is_empty() {
        said.push_str(&format!(
            "; it is read in place of {}, which is kept",
            listed(&corrects)
        ));
    }
    if !namesakes.is_empty() {
        let _ = writeln!(
            err,
            "note: the archive has another file of the name {name} ({}); both are read. If this is a corrected version, add \
             it again with --correction",
            listed(&namesakes)
        );
    }
    tally.n_bytes = tally.n_bytes.saturating_add(staged.object.n_bytes);
    writer
        .enter(staged, reading, args.at, &corrects)
        .map_err(|fault| refuse_fault(&fault))?;
    tally.n_added.add_one();
    tally.to_tell.push(said);
    Ok(())
}

fn listed(fingerprints: &[Fingerprint]) -> String {
    let shown: Vec<&str> = fingerprints.iter().map(Fingerprint::short).collect();
    shown.join(", ")
}

fn counted(n: u64, one: &str, more: &str) -> String {
    match n {
        1 => format!("1 {one}"),
        n => format!("{n} {more}"),
    }
}

pub(super) fn open_archive(root: &Path) -> Result<Archive, Refusal> {
    Archive::open(root).map_err(|fault| refuse_fault(&fault))
}

fn list(args: &ListArgs, err: &mut dyn Write) -> Printed {
    let archive = open_archive(&args.archive)?;
    let files = archive.files();
    let shown = files
        .iter()
        .filter(|file| file.is_read() || args.draw.all || args.format == Format::Json);
    let list = ArchiveList {
        format: 1,
        archive: args.archive.to_string_lossy().into_owned(),
        n_lines: archive.n_lines(),
        fingerprint: archive.fingerprint().to_string(),
        n_replaced: files.iter().filter(|file| !file.is_read()).count() as u64,
        files: shown.map(|file| row_of(file)).collect(),
    };
    let text = match args.format {
        Format::Json => write_json(&list)?,
        Format::Text => draw_archive_list(&list, &args.draw.terminal()),
    };
    for damage in archive.damages() {
        let said = inert::text(&damage.said);
        let _ = writeln!(
            err,
            "error: the archive is damaged: {}: {said}",
            damage.place
        );
    }
    let exit = if archive.damages().is_empty() {
        Exit::Fine
    } else {
        Exit::Input
    };
    Ok((text, exit))
}

fn row_of(file: &HeldFile) -> ArchiveRow {
    let reading = &file.reading;
    ArchiveRow {
        file: file.name.clone(),
        sha256: file.object.sha256.to_string(),
        line: file.line,
        added: file.at,
        n_bytes: file.object.n_bytes,
        n_cycles: reading.n_cycles,
        n_readings: reading.n_readings,
        n_entries: reading.n_entries,
        n_unread_lines: reading.n_unread_lines,
        oldest: reading.oldest,
        newest: reading.newest,
        loadbook: reading.by.loadbook.clone(),
        parser: reading.by.parser,
        layout: reading.by.layout.as_ref().map(|mark| mark.name.clone()),
        replaced: file.replaced.as_ref().map(|(because, by)| ReplacedRow {
            because: match because {
                Because::Longer => "longer",
                Because::Corrected => "corrected",
            },
            by: by.to_string(),
        }),
    }
}

fn check(args: &VerifyArgs) -> Printed {
    let verified = verify(&args.archive, args.fingerprint.as_ref(), |_| {})
        .map_err(|fault| refuse_fault(&fault))?;
    let said = |damages: &[Damage]| {
        damages
            .iter()
            .map(|damage| PlaceSaid {
                place: damage.place.clone(),
                said: damage.said.clone(),
            })
            .collect()
    };
    let check = ArchiveCheck {
        format: 1,
        archive: args.archive.to_string_lossy().into_owned(),
        n_lines: verified.n_lines,
        n_files_read: verified.n_files_read,
        n_files: verified.n_files,
        n_bytes: verified.n_bytes,
        n_packed_bytes: verified.n_packed_bytes,
        n_parts: verified.n_parts,
        n_part_bytes: verified.n_part_bytes,
        fingerprint: verified.fingerprint.to_string(),
        asked_line: verified.asked,
        damages: said(&verified.damages),
        notes: said(&verified.notes),
    };
    let text = match args.format {
        Format::Json => write_json(&check)?,
        Format::Text => draw_archive_check(&check, &args.draw.terminal()),
    };
    let exit = if check.damages.is_empty() {
        Exit::Fine
    } else {
        Exit::Findings
    };
    Ok((text, exit))
}

fn reread(args: &RereadArgs, err: &mut dyn Write) -> Printed {
    let told = match args.layout.layout.is_some() || args.layout.ocr {
        true => Some(way_of_options(&args.layout)?),
        false => None,
    };
    let usual = way_of_options(&LayoutOptions::default())?;
    args.tables.options.check()?;
    // An archive is not made by reading it.
    open_archive(&args.archive)?;
    let disk = SystemDisk;
    let mut writer = open_writer(&args.archive, &disk, err)?;
    if let Some(way) = &told {
        keep_layout(way, &mut writer)?;
    }
    let files: Vec<HeldFile> = writer.archive().files().into_iter().cloned().collect();
    let is_asked = |file: &HeldFile| {
        let is_it = |asked: &String| {
            file.name == *asked
                || (asked.len() >= 4
                    && file
                        .object
                        .sha256
                        .as_str()
                        .starts_with(&asked.to_ascii_lowercase()))
        };
        args.files.is_empty() || args.files.iter().any(is_it)
    };
    let mut report = RereadReport {
        format: 1,
        archive: args.archive.to_string_lossy().into_owned(),
        n_files: 0,
        n_same_by_other: 0,
        changed: Vec::new(),
        tables: None,
    };
    let mut exit = Exit::Fine;
    for file in files.iter().filter(|file| is_asked(file)) {
        let way = match &told {
            Some(way) => way.clone(),
            None => way_of_file(writer.archive(), file)?.unwrap_or_else(|| usual.clone()),
        };
        report.n_files.add_one();
        let input = writer.archive().input(file.name.clone(), file).input;
        let reading = match read_file(input, &way) {
            Ok(reading) => reading,
            Err(refusal) => {
                let _ = writeln!(err, "error: {}", inert::text(&refusal.said));
                exit = Exit::Input;
                continue;
            }
        };
        if reading == file.reading {
            continue;
        }
        let changes = list_changes(&file.reading, &reading);
        if changes.is_empty() {
            report.n_same_by_other.add_one();
        } else {
            report.changed.push(ChangedRow {
                file: file.name.clone(),
                sha256: file.object.sha256.to_string(),
                read_before_by: file.reading.by.loadbook.clone(),
                changes: changes
                    .into_iter()
                    .map(|change| ChangeRow {
                        what: change.what,
                        before: change.before,
                        after: change.after,
                    })
                    .collect(),
            });
        }
        writer
            .enter_reading(&file.object.sha256, reading, args.at)
            .map_err(|fault| refuse_fault(&fault))?;
    }
    if report.n_files == 0 && !args.files.is_empty() {
        let mut refusal = Refusal::new("the archive has no file of this name or SHA-256");
        refusal.more.push(format!(
            "`loadbook archive list {}` names them",
            args.archive.display()
        ));
        return Err(refusal);
    }
    writer.commit().map_err(|fault| refuse_fault(&fault))?;
    let (tables, exit_of_tables) = make_after(&mut writer, &args.tables, err);
    report.tables = tables;
    exit = exit.max(exit_of_tables);
    if !report.changed.is_empty() {
        exit = exit.max(Exit::Findings);
    }
    let text = match args.format {
        Format::Json => write_json(&report)?,
        Format::Text => draw_reread(&report, &args.draw.terminal()),
    };
    Ok((text, exit))
}
