//! `loadbook export`: everything that was read and found, as tables for other programs.
//!
//! Tables are written beside their names first and get them when all are complete. Read [`run`] first.

use super::exit::{EXIT_CODES, Exit};
use super::findings::analyse_history;
use super::input::InputOptions;
use super::intake::read_input;
use super::options::{Format, SharedOptions};
use super::output::write_json;
use super::policy::PolicyOptions;
use super::{Printed, Refusal};
use crate::parse::Strictness;
use crate::report::export::schema::{Made, read_format, write_schema};
use crate::report::export::{ExportFormat, Exported, TABLES, write_table};
use crate::report::mask::Masks;
use crate::report::moment::to_minute;
use crate::report::review::Reviewed;
use crate::report::terminal::export::{ExportSummary, WrittenTable, draw_summary};
use clap::{Args, ValueEnum};
use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// The file that says what an export holds, and by which its folder is known to be one.
const SCHEMA_FILE: &str = "schema.json";

/// Writes what was read and found as tables, one file each, and schema.json, which describes their columns.
#[derive(Debug, Args)]
#[command(after_help = format!("Examples:
  loadbook export records/ --as csv -o tables/
  loadbook export records/ --as parquet -o march/ --from 2026-03-01 --to 2026-03-31
  loadbook export records/ --as json -o tables/ --mask-operators

Tables: inputs, cycles, stages, limits, readings, events, loads, contents, indicators, entries, lots, lot_uses, \
decisions with their rules and evidence, findings with theirs, unread lines, notices, inferences. schema.json \
describes every column; so does grammars/export.md. Every row says its file and line.

The form is chosen with --as, because --to is the last day, as in every command. In CSV a text that a spreadsheet \
would take for a formula begins with an apostrophe; take one off to have the text.

The folder must be new, empty, or hold an earlier export in the same form, which is replaced.

Exit code 1 says here that lines could not be read, and so are in no table but unread.

{EXIT_CODES}"))]
pub struct ExportCommand {
    /// What is read.
    #[command(flatten)]
    pub input: InputOptions,
    /// The form of the tables (not --to, which is the last day)
    #[arg(long = "as", value_enum, value_name = "FORM")]
    pub form: Form,
    /// The folder to write to; it is made if it does not exist
    #[arg(short, long, value_name = "DIR")]
    pub output: PathBuf,
    /// Replace each staff mark by a number, the same throughout, for wider circulation
    #[arg(long, help_heading = "How it is drawn")]
    pub mask_operators: bool,
    /// How loads are judged.
    #[command(flatten)]
    pub policy: PolicyOptions,
    /// Shared options.
    #[command(flatten)]
    pub options: SharedOptions,
}

/// The forms of the tables.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Form {
    /// Comma-separated values, for spreadsheets and everything else
    Csv,
    /// An array of objects, one a line
    Json,
    /// Typed columns, for pandas, polars, DuckDB, Spark
    Parquet,
}

impl Form {
    fn format(self) -> ExportFormat {
        match self {
            Form::Csv => ExportFormat::Csv,
            Form::Json => ExportFormat::Json,
            Form::Parquet => ExportFormat::Parquet,
        }
    }
}

/// Runs the command.
///
/// # Errors
/// A unit or program that no record has; nothing read; a folder that holds something else, or can't be written to.
pub fn run(command: &ExportCommand, err: &mut dyn Write) -> Printed {
    let format = command.form.format();
    let folder = &command.output;
    // Before anything is read: reading may take long.
    check_folder(folder, format, &command.input)?;
    let book = command.policy.read_book()?;
    let mut intake = read_input(&command.input, &command.options, err)?;
    if intake.history.cycles.is_empty() && intake.history.entries.is_empty() {
        return Err(Refusal::new(
            "nothing was read, so nothing was written; an earlier export is as it was",
        ));
    }
    if command.mask_operators {
        let masks = Masks::of(&intake.history);
        masks.apply(&mut intake.history);
        // What was noticed and not read may quote a line.
        let noticed = intake.diagnostics.iter_mut();
        let unread = intake
            .unread
            .iter_mut()
            .map(|unread| &mut unread.diagnostic);
        for diagnostic in noticed.chain(unread) {
            diagnostic.headline = masks.words(&diagnostic.headline);
            diagnostic.help = masks.words(&diagnostic.help);
        }
    }
    let judged = intake.judge(book);
    let analysis = analyse_history(&intake.history)?;
    let layouts = intake.layouts();
    let reviewed: Reviewed<'_> = intake.reviewed(&judged);
    let exported = Exported::of(&reviewed, &analysis, &layouts);
    let made = Made {
        loadbook: env!("CARGO_PKG_VERSION"),
        format: format.word(),
        as_of: intake.as_of.as_ref().map(|as_of| to_minute(as_of.local)),
        narrowed: intake.scope.said(),
        strict: command.options.strictness() == Strictness::Strict,
        masked: command.mask_operators,
    };
    let refuse = |name: &str, fault: &dyn std::fmt::Display| {
        Refusal::new(format!(
            "`{}` can't be written: {fault}; an earlier export is as it was",
            folder.join(name).display()
        ))
    };
    fs::create_dir_all(folder).map_err(|error| refuse("", &error.kind()))?;
    let mut drafts = Drafts::default();
    let schema = write_json(&write_schema(&made))?;
    drafts
        .write(folder, SCHEMA_FILE, |out| out.write_all(schema.as_bytes()))
        .map_err(|error| refuse(SCHEMA_FILE, &error.kind()))?;
    let mut tables = Vec::new();
    for table in TABLES {
        let file = format!("{}.{}", table.table.name, format.word());
        let mut out = drafts
            .open(folder, &file)
            .map_err(|error| refuse(&file, &error.kind()))?;
        let n_rows = write_table(table, &exported, format, &mut out)
            .map_err(|fault| refuse(&file, &fault))?;
        out.flush().map_err(|error| refuse(&file, &error.kind()))?;
        tables.push(WrittenTable { file, n_rows });
    }
    drafts.keep().map_err(|error| {
        Refusal::new(format!(
            "the tables in `{}` can't get their names: {}; write the export again",
            folder.display(),
            error.kind()
        ))
    })?;
    let summary = ExportSummary {
        format: 1,
        folder: folder.display().to_string(),
        form: format.word(),
        tables,
        n_unread_lines: intake
            .unread
            .iter()
            .map(|unread| unread.lines.n_lines())
            .sum(),
    };
    let findings = if summary.n_unread_lines > 0 {
        Exit::Findings
    } else {
        Exit::Fine
    };
    let text = match command.options.format {
        Format::Json => write_json(&summary)?,
        Format::Text => draw_summary(&summary, &command.options.terminal("")),
    };
    Ok((text, Exit::of(intake.exit, findings)))
}

/// Refuses a folder that holds anything but an earlier export of the same form, and one that would be read as input the
/// next time.
fn check_folder(folder: &Path, format: ExportFormat, input: &InputOptions) -> Result<(), Refusal> {
    let said = folder.display();
    let whole = absolute(folder);
    let paths = input.paths.iter().map(Path::new);
    let mut read = paths.chain(input.archive.as_deref());
    let inside = read.find(|path| {
        path.is_dir()
            && absolute(path)
                .is_some_and(|path| whole.as_ref().is_some_and(|whole| whole.starts_with(path)))
    });
    if let Some(path) = inside.map(Path::display) {
        return Err(Refusal {
            said: format!("the folder `{said}` lies in `{path}`, which is read"),
            more: vec![format!(
                "its tables would be read as records the next time; name a folder outside of `{path}` with -o"
            )],
        });
    }
    let mut entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
        Err(error) => {
            return Err(Refusal::new(format!(
                "the folder `{said}` can't be used: {}; name another with -o",
                error.kind()
            )));
        }
    };
    if entries.next().is_none() {
        return Ok(());
    }
    let earlier = fs::read_to_string(folder.join(SCHEMA_FILE))
        .ok()
        .and_then(|schema| read_format(&schema));
    match earlier {
        Some(earlier) if earlier == format => Ok(()),
        Some(earlier) => Err(Refusal {
            said: format!("the folder `{said}` holds an export as {}", earlier.word()),
            more: vec![format!(
                "name another folder with -o, or write the export with --as {}",
                earlier.word()
            )],
        }),
        None => Err(Refusal {
            said: format!("the folder `{said}` holds other files"),
            more: vec![
                "an export is written only to a folder that is new, empty, or holds an earlier export".to_owned(),
                format!("name another folder with -o, such as {}", folder.join("export").display()),
            ],
        }),
    }
}

/// A path without links and dots, as far as it exists.
fn absolute(path: &Path) -> Option<PathBuf> {
    let path = std::path::absolute(path).ok()?;
    let existing = path.ancestors().find(|above| above.exists())?;
    let rest = path.strip_prefix(existing).ok()?;
    Some(fs::canonicalize(existing).ok()?.join(rest))
}

/// Files that don't have their names yet. Those that don't get them are removed.
#[derive(Debug, Default)]
struct Drafts {
    /// Where each is, and where it is to be.
    files: Vec<(PathBuf, PathBuf)>,
}

impl Drafts {
    /// Opens a draft of a file in a folder. A draft that an interrupted run left is replaced; a link is not followed.
    fn open(&mut self, folder: &Path, name: &str) -> io::Result<BufWriter<File>> {
        let draft = folder.join(format!(".{name}.partial"));
        match fs::remove_file(&draft) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
            _ => {}
        }
        let file = File::options().write(true).create_new(true).open(&draft)?;
        self.files.push((draft, folder.join(name)));
        Ok(BufWriter::new(file))
    }

    fn write(
        &mut self,
        folder: &Path,
        name: &str,
        write: impl FnOnce(&mut dyn Write) -> io::Result<()>,
    ) -> io::Result<()> {
        let mut out = self.open(folder, name)?;
        write(&mut out)?;
        out.flush()
    }

    /// Gives the files their names, the first one first.
    fn keep(mut self) -> io::Result<()> {
        for (draft, name) in std::mem::take(&mut self.files) {
            let kept = fs::rename(&draft, &name);
            if kept.is_err() {
                self.files.push((draft, name));
            }
            kept?;
        }
        Ok(())
    }
}

impl Drop for Drafts {
    fn drop(&mut self) {
        for (draft, _) in &self.files {
            // It may be gone already, and nothing more can be done.
            let _ = fs::remove_file(draft);
        }
    }
}
