//! `loadbook archive tables`, and the tables after files were added or read again: made from what the archive holds, part
//! by part, and given to the archive, which keeps what changed. Read [`make_tables`] first.

use super::archive::{open_archive, open_writer};
use super::exit::Exit;
use super::findings::analyse_history;
use super::input::{InputOptions, refuse_fault};
use super::intake::{Intake, read_input};
use super::layout::{DrawOptions, LayoutOptions};
use super::options::{Format, SharedOptions, When, parse_zone};
use super::output::write_json;
use super::policy::PolicyOptions;
use super::{Printed, Refusal};
use crate::archive::add::Writer;
use crate::archive::disk::SystemDisk;
use crate::archive::fingerprint::Fingerprint;
use crate::archive::part::{Part, PartFolder, PolicyMark, PolicyOrigin, TablesOrigin};
use crate::archive::store::Archive;
use crate::archive::tables::{PartChange, TablesUpdate};
use crate::judge::policy::{PolicyBook, Preset};
use crate::parallel::Threads;
use crate::parse::READER_VERSION;
use crate::report::archive::{PartRow, TablesReport};
use crate::report::export::part::PartOf;
use crate::report::export::{ExportTable, Exported, TABLES};
use crate::report::inert;
use crate::report::terminal::archive::draw_tables;
use chrono_tz::Tz;
use clap::Args;
use std::collections::BTreeMap;
use std::io::Write;
use std::path::{Path, PathBuf};

/// So many parts are in memory at once, as the bytes of their files.
const PARTS_AT_ONCE: usize = 32;

/// How the tables of an archive are made. What is not told is as it was the last time.
#[derive(Debug, Clone, Default, Args)]
pub struct TablesOptions {
    /// The site's name in the tables [default: as before; at first the name of the archive's folder]
    #[arg(long, value_name = "NAME", help_heading = "Tables", value_parser = clap::builder::NonEmptyStringValueParser::new())]
    pub site: Option<String>,
    /// Zone of clocks for which the records name none, such as Europe/London [default: as before]
    #[arg(long, value_name = "IANA", value_parser = parse_zone, help_heading = "Tables")]
    pub zone: Option<Tz>,
    /// By what loads are judged.
    #[command(flatten)]
    pub policy: PolicyOptions,
}

/// The tables, where a command has something else to do first.
#[derive(Debug, Clone, Default, Args)]
pub struct TablesAfter {
    /// Leave the tables as they are; `archive tables` brings them up to date later
    #[arg(
        long,
        help_heading = "Tables",
        conflicts_with_all = ["site", "zone", "policy", "preset"]
    )]
    pub no_tables: bool,
    /// How they are made.
    #[command(flatten)]
    pub options: TablesOptions,
}

/// `loadbook archive tables`.
#[derive(Debug, Args)]
pub struct TablesArgs {
    /// The archive's folder
    #[arg(value_name = "DIR")]
    pub archive: PathBuf,
    /// Change nothing; name the file of every part, as the manifest has them, for a program that is given a list of files
    #[arg(long, conflicts_with_all = ["site", "zone", "policy", "preset"])]
    pub list: bool,
    /// How they are made.
    #[command(flatten)]
    pub options: TablesOptions,
    /// Text for people, or JSON for machines
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    /// How it is drawn.
    #[command(flatten)]
    pub draw: DrawOptions,
}

/// Runs `loadbook archive tables`.
///
/// # Errors
/// No archive, or one that can't be used; as [`make_tables`].
pub fn run(args: &TablesArgs, err: &mut dyn Write) -> Printed {
    // An archive is not made by making its tables.
    let archive = open_archive(&args.archive)?;
    if args.list {
        let listed = list_of(&archive);
        let text = match args.format {
            Format::Json => write_json(&listed)?,
            Format::Text => archive
                .parts()
                .map(|part| args.archive.join(part.name()))
                .map(|path| inert::text(&path.to_string_lossy()).into_owned() + "\n")
                .collect(),
        };
        return Ok((text, Exit::Fine));
    }
    let disk = SystemDisk;
    let mut writer = open_writer(&args.archive, &disk, err)?;
    let plan = plan(writer.archive(), &args.options)?;
    let report = make_tables(&mut writer, plan)?;
    let text = match args.format {
        Format::Json => write_json(&report)?,
        Format::Text => draw_tables(&report, &args.draw.terminal()),
    };
    Ok((text, Exit::Fine))
}

/// Brings the tables up to date after something else was done; gives what became of them, if they were not. What hinders
/// it is told on `err`, and what was done before stands.
pub fn make_after(
    writer: &mut Writer<'_>,
    tables: &TablesAfter,
    err: &mut dyn Write,
) -> (Option<TablesReport>, Exit) {
    if tables.no_tables || writer.archive().files().is_empty() {
        return (None, Exit::Fine);
    }
    let plan = match plan(writer.archive(), &tables.options) {
        Ok(plan) if writer.archive().tables() == Some(&plan.origin) => return (None, Exit::Fine),
        Ok(plan) => plan,
        Err(refusal) => {
            say(err, "note", &refusal);
            return (None, Exit::Fine);
        }
    };
    match make_tables(writer, plan) {
        Ok(report) => (Some(report), Exit::Fine),
        Err(refusal) => {
            say(err, "error", &refusal);
            (None, Exit::Input)
        }
    }
}

fn say(err: &mut dyn Write, word: &str, refusal: &Refusal) {
    let _ = writeln!(err, "{word}: {}", inert::text(&refusal.said));
    for line in &refusal.more {
        let _ = writeln!(err, "  {}", inert::text(line));
    }
}

impl TablesOptions {
    /// Refuses a policy that can't be used, before anything else is done.
    ///
    /// # Errors
    /// As [`PolicyOptions::read_book`].
    pub fn check(&self) -> Result<(), Refusal> {
        self.policy.read_book().map(drop)
    }
}

/// How the tables are to be made.
struct Plan {
    origin: TablesOrigin,
    book: PolicyBook,
    zone: Option<Tz>,
}

fn plan(archive: &Archive, options: &TablesOptions) -> Result<Plan, Refusal> {
    let before = archive.tables();
    let site = match (&options.site, before) {
        (Some(site), _) => inert::text(site).into_owned(),
        (None, Some(before)) => before.site.clone(),
        (None, None) => name_of_folder(archive.root()),
    };
    let zone = match (options.zone, before.and_then(|before| before.zone.as_ref())) {
        (Some(zone), _) => Some(zone),
        (None, Some(before)) => Some(parse_zone(before).map_err(|said| {
            let mut refusal = Refusal::new(format!("the tables were made with the zone {before}"));
            refusal.more.push(format!("{said}; name one with --zone"));
            refusal
        })?),
        (None, None) => None,
    };
    let is_told = options.policy.preset.is_some() || !options.policy.policy.is_empty();
    let mark_before = before.map(|before| &before.policy).filter(|_| !is_told);
    let (book, from) = match mark_before {
        Some(mark) => {
            let preset = Preset::from_word(&mark.name)
                .filter(|_| mark.from == PolicyOrigin::Preset)
                .ok_or_else(|| {
                    let mut refusal = Refusal::new(format!(
                        "the tables were made by the policy `{}`, which is not at hand",
                        mark.name
                    ));
                    refusal.more.push(format!(
                        "bring them up to date with: loadbook archive tables {} --policy FILE",
                        archive.root().display()
                    ));
                    refusal
                })?;
            (PolicyBook::of_preset(preset), PolicyOrigin::Preset)
        }
        None if options.policy.policy.is_empty() => {
            (options.policy.read_book()?, PolicyOrigin::Preset)
        }
        None => (options.policy.read_book()?, PolicyOrigin::File),
    };
    let said = serde_json::to_vec(&book)
        .map_err(|error| Refusal::new(format!("the policy can't be written: {error}")))?;
    let names: Vec<&str> = book
        .policies
        .iter()
        .map(|policy| match from {
            PolicyOrigin::Preset => policy.preset.word(),
            PolicyOrigin::File => policy.name.as_str(),
        })
        .collect();
    let policy = PolicyMark {
        name: inert::text(&names.join(", ")).into_owned(),
        from,
        sha256: Fingerprint::of(&said),
    };
    let origin = TablesOrigin {
        site,
        from_line: archive.read_line(),
        loadbook: env!("CARGO_PKG_VERSION").to_owned(),
        parser: READER_VERSION,
        policy,
        zone: zone.map(|zone| zone.name().to_owned()),
    };
    Ok(Plan { origin, book, zone })
}

/// The name of the archive's folder, inert. It is kept with the tables, so that another name of the folder changes nothing.
fn name_of_folder(root: &Path) -> String {
    let whole = root.canonicalize().ok();
    let name = whole.as_deref().and_then(Path::file_name);
    name.map_or_else(
        || "site".to_owned(),
        |name| inert::text(&name.to_string_lossy()).into_owned(),
    )
}

/// Makes the tables from all that the archive holds. No other process adds meanwhile.
///
/// # Errors
/// An original can't be read, or the disk refuses. The tables are then as they were.
fn make_tables(writer: &mut Writer<'_>, plan: Plan) -> Result<TablesReport, Refusal> {
    let Plan { origin, book, zone } = plan;
    let intake = read_originals(writer.archive().root(), zone)?;
    let judged = intake.judge(book);
    let analysis = analyse_history(&intake.history)?;
    let layouts = intake.layouts();
    let reviewed = intake.reviewed(&judged);
    let exported = Exported::of(&reviewed, &analysis, &layouts).of_no_moment();
    let mut update = TablesUpdate::default();
    for table in TABLES {
        for parts in exported.divide(table).chunks(PARTS_AT_ONCE) {
            // Most of the time goes into writing rows as Parquet, which needs nothing of the archive.
            let written = Threads::available().map_one_by_one(parts.len(), |at| {
                let (_, chosen) = parts.get(at)?;
                Some(exported.write_part(table, chosen))
            });
            for ((part, _), written) in parts.iter().zip(written.into_iter().flatten()) {
                let (bytes, n_rows) = written.map_err(|fault| Refusal::new(fault.to_string()))?;
                if n_rows == 0 {
                    continue;
                }
                update
                    .put(writer, folder_of(&origin.site, table, part), &bytes, n_rows)
                    .map_err(|fault| refuse_fault(&fault))?;
            }
        }
    }
    let changes = update
        .finish(writer, origin)
        .map_err(|fault| refuse_fault(&fault))?;
    Ok(report_of(writer.archive(), &changes))
}

/// Where a part of a table lies.
fn folder_of(site: &str, table: &ExportTable, part: &PartOf) -> PartFolder {
    let divided = table.division.keys().iter();
    let divided = divided.map(|key| (*key, part.value(key)));
    let keys: Vec<_> = std::iter::once(("site", Some(site)))
        .chain(divided)
        .collect();
    PartFolder::of(table.table.name, &keys)
}

/// Reads all that the archive holds, each file as it was read when it was added.
fn read_originals(root: &Path, zone: Option<Tz>) -> Result<Intake, Refusal> {
    let input = InputOptions {
        paths: Vec::new(),
        archive: Some(root.to_owned()),
    };
    let options = SharedOptions {
        from: None,
        to: None,
        unit: Vec::new(),
        program: Vec::new(),
        all: false,
        as_of: None,
        zone,
        strict: false,
        layout: LayoutOptions::default(),
        format: Format::Text,
        width: None,
        color: When::Never,
    };
    // What it says is said by the refusal; that an archive has no records yet is no fault of it.
    let intake = read_input(&input, &options, &mut std::io::sink())?;
    let fault = intake
        .diagnostics
        .iter()
        .find(|said| said.code.is_of_unreadable_file());
    match fault {
        None => Ok(intake),
        Some(fault) => Err(Refusal {
            said: format!("the tables are as they were: {}", fault.headline),
            more: vec![fault.help.clone()],
        }),
    }
}

fn report_of(archive: &Archive, changes: &BTreeMap<PartFolder, PartChange>) -> TablesReport {
    let changed = changes.iter().map(|(folder, change)| {
        let what = match change {
            PartChange::New => "new",
            PartChange::Rewritten => "rewritten",
            PartChange::Mended => "mended",
            PartChange::Removed => "removed",
        };
        row_of(folder, archive.part(folder), what)
    });
    TablesReport {
        parts: changed.collect(),
        ..list_of(archive)
    }
}

fn list_of(archive: &Archive) -> TablesReport {
    let sum = |n: fn(&Part) -> u64| archive.parts().map(n).fold(0_u64, u64::saturating_add);
    let tables = archive.tables();
    TablesReport {
        format: 1,
        archive: archive.root().to_string_lossy().into_owned(),
        site: tables.map(|tables| tables.site.clone()),
        policy: tables.map(|tables| tables.policy.name.clone()),
        from_line: tables.map(|tables| tables.from_line),
        is_older: tables.is_some_and(|tables| tables.from_line < archive.read_line()),
        n_parts: archive.parts().count() as u64,
        n_rows: sum(|part| part.n_rows),
        n_bytes: sum(|part| part.n_bytes),
        parts: archive
            .parts()
            .map(|part| row_of(&part.folder, Some(part), "there"))
            .collect(),
    }
}

fn row_of(folder: &PartFolder, part: Option<&Part>, what: &'static str) -> PartRow {
    PartRow {
        folder: folder.as_str().to_owned(),
        what,
        n_rows: part.map_or(0, |part| part.n_rows),
        file: part.map(Part::name),
        sha256: part.map(|part| part.sha256.to_string()),
    }
}
