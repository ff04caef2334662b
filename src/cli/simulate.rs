//! `loadbook simulate`: practice records in a folder, and beside it the answer sheet.
//!
//! Checks the arguments and touches the files; what is made is the business of the module `simulate`. Read [`run`]
//! first.

use crate::measure::count::Counting;
use crate::parallel::Threads;
use crate::simulate::answer::write_answer_sheet;
use crate::simulate::trouble::Troubles;
use crate::simulate::truth::Truth;
use crate::simulate::{Plan, PrintoutFiles, RecordSink, write_practice};
use chrono::{Months, NaiveDate};
use std::collections::BTreeMap;
use std::ffi::OsString;
use std::fs::{self, File, OpenOptions};
use std::io::{self, BufWriter, Write};
use std::path::{Component, Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use thiserror::Error;

/// Make practice records: an invented department's printouts and logs, with troubles planted in them.
///
/// The records are for teaching, for trying a review on records whose truth is known, and for sizing. Nothing in them is
/// real. The same options make the same bytes.
#[derive(Debug, Clone, clap::Args)]
#[command(
    after_help = "Examples:\n  loadbook simulate --out practice --answer practice-answers.md\n  loadbook simulate --seed 7 --from 2026-09-01 --months 1 --out sept --answer sept-answers.md\n  loadbook simulate --months 120 --cycles-per-day 300 --printouts-per day --out big --answer big.md\n  loadbook simulate --sites 40 --months 12 --out region --answer region-answers"
)]
pub struct SimulateArgs {
    /// The seed that everything follows from.
    #[arg(long, value_name = "N", default_value_t = 2026)]
    pub seed: u64,
    /// The first day.
    #[arg(long, value_name = "DATE", default_value = "2026-01-05")]
    pub from: NaiveDate,
    /// How many months.
    #[arg(long, value_name = "N", conflicts_with = "days", value_parser = clap::value_parser!(u32).range(1..=12_000))]
    pub months: Option<u32>,
    /// How many days [default: 91].
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=366_000))]
    pub days: Option<u32>,
    /// The folder for the records: a new one, or an empty one.
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// The file for the answer sheet, outside the folder for the records; with --sites the folder for the sheets.
    #[arg(long, value_name = "FILE")]
    pub answer: PathBuf,
    /// Make so many departments, in folders site-001 and so on below DIR, each with its answer sheet in the folder FILE.
    /// The first has the seed that is given, each further one the next: any of them can be made alone. All buy the same
    /// lots, so that a bad one is bad at every site.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=100_000))]
    pub sites: Option<u32>,
    /// About how many cycles the department runs a day, on an average over the week; above 21, units are added.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=100_000))]
    pub cycles_per_day: Option<u32>,
    /// Whether each printout file holds a unit's month or day.
    #[arg(long, value_enum, default_value_t = PrintoutsPer::Month)]
    pub printouts_per: PrintoutsPer,
    /// Whether troubles are planted.
    #[arg(long, value_enum, default_value_t = Planting::Planted)]
    pub troubles: Planting,
}

/// What one printout file holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum PrintoutsPer {
    /// A unit's month.
    Month,
    /// A unit's day.
    Day,
}

/// Whether troubles are planted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Planting {
    /// They are, and the answer sheet tells them.
    Planted,
    /// They are not.
    None,
}

/// Why no practice records could be made.
#[derive(Debug, Error)]
pub enum SimulateError {
    /// The folder is not empty.
    #[error("{0} is not empty; name a new folder, or empty this one")]
    NotEmpty(PathBuf),
    /// The folder's name is that of something else.
    #[error("{0} is not a folder; name a new folder")]
    NotAFolder(PathBuf),
    /// The answer sheet would stand among the records.
    #[error(
        "the answer sheet {answer} would stand in {out}, where a review would read it; name a file outside"
    )]
    AnswerInside {
        /// The answer sheet.
        answer: PathBuf,
        /// The folder.
        out: PathBuf,
    },
    /// There is such a file already.
    #[error("{0} is there already; name another file, or move this one away")]
    AnswerExists(PathBuf),
    /// The days run past the calendar.
    #[error(
        "there are no {n_days} days after {from}; ask for fewer, or begin earlier; the calendar here goes from 1970 to 2095"
    )]
    BeyondCalendar {
        /// The first day.
        from: NaiveDate,
        /// How many days.
        n_days: u32,
    },
    /// The folder for the answer sheets is not a folder, or not empty.
    #[error("{0} is there already; with --sites, name a new folder for the answer sheets")]
    AnswersExist(PathBuf),
    /// A file could not be written.
    #[error("{path}: {source}")]
    Io {
        /// The file.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
}

/// What was made.
#[derive(Debug, Clone, PartialEq)]
pub struct Made {
    /// The truth of the records.
    pub truth: Truth,
    /// How many files there are.
    pub n_files: usize,
    /// How many bytes they hold.
    pub n_bytes: u64,
}

impl Made {
    /// How many printouts there are, those that were printed again among them.
    fn n_printouts(&self) -> usize {
        let n = self.truth.n_printouts();
        n.saturating_add(self.truth.reprints.n)
    }

    /// What was made, for the person who asked for it.
    pub fn said(&self, args: &SimulateArgs) -> String {
        format!(
            "{} printouts and {} log entries in {} files, {:.1} MB, in {}\nthe answer sheet is {}",
            self.n_printouts(),
            self.truth.n_entries,
            self.n_files,
            self.n_bytes as f64 / 1e6,
            args.out.display(),
            args.answer.display()
        )
    }
}

/// What was made of many departments.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct MadeSites {
    /// How many departments.
    pub n_sites: u32,
    /// How many printouts there are, reprints included.
    pub n_printouts: usize,
    /// How many log entries there are.
    pub n_entries: usize,
    /// How many files there are.
    pub n_files: usize,
    /// How many bytes they hold.
    pub n_bytes: u64,
}

impl MadeSites {
    /// Of one department.
    fn of_one(made: &Made) -> Self {
        MadeSites {
            n_sites: 1,
            n_printouts: made.n_printouts(),
            n_entries: made.truth.n_entries,
            n_files: made.n_files,
            n_bytes: made.n_bytes,
        }
    }

    fn add(&mut self, more: MadeSites) {
        self.n_sites = self.n_sites.saturating_add(more.n_sites);
        self.n_printouts.add_many(more.n_printouts);
        self.n_entries.add_many(more.n_entries);
        self.n_files.add_many(more.n_files);
        self.n_bytes.add_many(more.n_bytes);
    }

    /// What was made, for the person who asked for it.
    pub fn said(&self, args: &SimulateArgs) -> String {
        format!(
            "{} sites, {} printouts and {} log entries in {} files, {:.1} MB, in {}\nthe answer sheets are in {}",
            self.n_sites,
            self.n_printouts,
            self.n_entries,
            self.n_files,
            self.n_bytes as f64 / 1e6,
            args.out.display(),
            args.answer.display()
        )
    }
}

impl SimulateArgs {
    /// The options that make one site of several alone, counted from 1.
    pub fn of_site(&self, number: u32) -> SimulateArgs {
        let n_digits = self.sites.unwrap_or(1).to_string().len().max(3);
        let name = format!("site-{number:0n_digits$}");
        SimulateArgs {
            seed: self.seed.wrapping_add(u64::from(number.saturating_sub(1))),
            out: self.out.join(&name),
            answer: self.answer.join(format!("{name}.md")),
            sites: None,
            ..self.clone()
        }
    }

    /// The plan that these options ask for.
    ///
    /// # Errors
    /// When the days run past the calendar.
    pub fn plan(&self) -> Result<Plan, SimulateError> {
        let n_days = match (self.months, self.days) {
            (Some(months), _) => {
                self.from
                    .checked_add_months(Months::new(months))
                    .map_or(u32::MAX, |end| {
                        let days = end.signed_duration_since(self.from).num_days();
                        u32::try_from(days).unwrap_or(u32::MAX)
                    })
            }
            (None, Some(days)) => days,
            (None, None) => 91,
        };
        let plan = Plan {
            seed: self.seed,
            from: self.from,
            n_days,
            n_cycles_per_day: self.cycles_per_day,
            files: match self.printouts_per {
                PrintoutsPer::Month => PrintoutFiles::PerMonth,
                PrintoutsPer::Day => PrintoutFiles::PerDay,
            },
            troubles: match self.troubles {
                Planting::Planted => Troubles::Planted,
                Planting::None => Troubles::None,
            },
        };
        // The formats have years of 19.. and 20.., and lots outlive the last day by some years.
        let calendar = NaiveDate::from_ymd_opt(1970, 1, 1)..=NaiveDate::from_ymd_opt(2095, 12, 31);
        let fits = calendar.contains(&Some(self.from))
            && n_days <= 60_000
            && calendar.contains(&Some(plan.date(n_days)));
        if fits {
            Ok(plan)
        } else {
            Err(SimulateError::BeyondCalendar {
                from: self.from,
                n_days,
            })
        }
    }

    /// The command that makes these records, as it could be typed.
    pub fn command(&self) -> String {
        let mut command = format!(
            "loadbook simulate --seed {} --from {}",
            self.seed, self.from
        );
        match (self.months, self.days) {
            (Some(months), _) => command.push_str(&format!(" --months {months}")),
            (None, days) => command.push_str(&format!(" --days {}", days.unwrap_or(91))),
        }
        if let Some(n) = self.cycles_per_day {
            command.push_str(&format!(" --cycles-per-day {n}"));
        }
        if self.printouts_per == PrintoutsPer::Day {
            command.push_str(" --printouts-per day");
        }
        if self.troubles == Planting::None {
            command.push_str(" --troubles none");
        }
        let shown = |path: &Path| path.to_string_lossy().replace(char::is_control, "?");
        command.push_str(&format!(
            " --out {} --answer {}",
            shown(&self.out),
            shown(&self.answer)
        ));
        command
    }
}

/// Makes what is asked for, and says what was made.
///
/// # Errors
/// As [`run`].
pub fn make(args: &SimulateArgs) -> Result<String, SimulateError> {
    match args.sites {
        None => run(args).map(|made| made.said(args)),
        Some(n_sites) => run_sites(args, n_sites).map(|made| made.said(args)),
    }
}

/// Makes the records of so many departments, on each core one after the other: what is in memory does not grow with their
/// number.
///
/// # Errors
/// As [`run`], of the first department that can't be made; when the folder for the answer sheets is not a new or an empty
/// one.
pub fn run_sites(args: &SimulateArgs, n_sites: u32) -> Result<MadeSites, SimulateError> {
    check_folders(args)?;
    if args.answer.exists() && !is_empty_folder(&args.answer)? {
        return Err(SimulateError::AnswersExist(args.answer.clone()));
    }
    fs::create_dir_all(&args.answer).map_err(at(&args.answer))?;
    let n = usize::try_from(n_sites).unwrap_or(usize::MAX);
    // After one that fails no further one is begun; those before it are made, so that the first of all is told.
    let first_failed = AtomicUsize::new(usize::MAX);
    let sites = Threads::available().map_one_by_one(n, |at| {
        if at > first_failed.load(Ordering::SeqCst) {
            return None;
        }
        let number = u32::try_from(at.saturating_add(1)).unwrap_or(n_sites);
        let site = args.of_site(number);
        let site = run(&site).map(|made| MadeSites::of_one(&made));
        if site.is_err() {
            first_failed.fetch_min(at, Ordering::SeqCst);
        }
        Some(site)
    });
    let mut made = MadeSites::default();
    for site in sites.into_iter().flatten() {
        made.add(site?);
    }
    Ok(made)
}

fn at(path: &Path) -> impl FnOnce(io::Error) -> SimulateError + use<> {
    let path = path.to_owned();
    move |source| SimulateError::Io { path, source }
}

fn is_empty_folder(path: &Path) -> Result<bool, SimulateError> {
    Ok(path.is_dir() && fs::read_dir(path).map_err(at(path))?.next().is_none())
}

/// Checks that the folder for the records is a new or an empty one, and that no answer would stand in it.
fn check_folders(args: &SimulateArgs) -> Result<(), SimulateError> {
    if args.out.exists() && !args.out.is_dir() {
        return Err(SimulateError::NotAFolder(args.out.clone()));
    }
    if args.out.exists() && !is_empty_folder(&args.out)? {
        return Err(SimulateError::NotEmpty(args.out.clone()));
    }
    let answer = resolved(&args.answer).map_err(at(&args.answer))?;
    if answer.starts_with(resolved(&args.out).map_err(at(&args.out))?) {
        return Err(SimulateError::AnswerInside {
            answer: args.answer.clone(),
            out: args.out.clone(),
        });
    }
    Ok(())
}

/// Makes the records and the answer sheet of one department.
///
/// # Errors
/// When the folder is not empty, the answer sheet is there already or would stand in the folder, the days run past the
/// calendar, or a file can't be written.
pub fn run(args: &SimulateArgs) -> Result<Made, SimulateError> {
    let plan = args.plan()?;
    check_folders(args)?;
    // The sheet is opened first, so that nothing is made when it can't be.
    let sheet = OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(&args.answer);
    let sheet = match sheet {
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
            return Err(SimulateError::AnswerExists(args.answer.clone()));
        }
        sheet => sheet.map_err(at(&args.answer))?,
    };
    fs::create_dir_all(&args.out).map_err(at(&args.out))?;
    let mut folder = Folder::new(args.out.clone());
    let truth = write_practice(&plan, &mut folder)
        .and_then(|truth| folder.close().map(|()| truth))
        .map_err(at(&args.out))?;
    let mut sheet = BufWriter::new(sheet);
    write_answer_sheet(&plan, &truth, &args.command(), &mut sheet)
        .and_then(|()| sheet.flush())
        .map_err(at(&args.answer))?;
    Ok(Made {
        truth,
        n_files: folder.n_files,
        n_bytes: folder.n_bytes,
    })
}

/// The path without `.`, `..` and links, as far as it exists; what does not exist yet is taken by its name.
fn resolved(path: &Path) -> io::Result<PathBuf> {
    let mut absolute = std::path::absolute(path)?;
    let mut missing: Vec<OsString> = Vec::new();
    loop {
        match absolute.canonicalize() {
            Ok(found) => {
                let rest = missing.iter().rev().map(Path::new);
                return Ok(
                    rest.fold(found, |path, name| match name.components().next() {
                        Some(Component::ParentDir) => {
                            path.parent().map_or(path.clone(), Path::to_path_buf)
                        }
                        _ => path.join(name),
                    }),
                );
            }
            Err(error) => {
                let last = absolute.components().next_back();
                let Some(last) = last.map(|last| last.as_os_str().to_owned()) else {
                    return Err(error);
                };
                missing.push(last);
                if !absolute.pop() {
                    return Err(error);
                }
            }
        }
    }
}

/// How many files are held open at once.
const N_OPEN: usize = 64;

/// A folder that records are written to.
struct Folder {
    root: PathBuf,
    open: BTreeMap<String, BufWriter<File>>,
    n_files: usize,
    n_bytes: u64,
}

impl Folder {
    fn new(root: PathBuf) -> Self {
        Folder {
            root,
            open: BTreeMap::new(),
            n_files: 0,
            n_bytes: 0,
        }
    }

    /// Hands everything on to the files and closes them; they are opened again when more comes.
    fn close(&mut self) -> io::Result<()> {
        for (_, mut file) in std::mem::take(&mut self.open) {
            file.flush()?;
        }
        Ok(())
    }
}

impl RecordSink for Folder {
    fn append(&mut self, file: &str, bytes: &[u8]) -> io::Result<()> {
        if !self.open.contains_key(file) {
            if self.open.len() >= N_OPEN {
                self.close()?;
            }
            let path = self.root.join(file);
            if let Some(folder) = path.parent() {
                fs::create_dir_all(folder)?;
            }
            // The folder was empty, so a file that is there already is one of this run.
            self.n_files.add_many(usize::from(!path.exists()));
            let opened = OpenOptions::new().create(true).append(true).open(path)?;
            self.open.insert(file.to_owned(), BufWriter::new(opened));
        }
        self.n_bytes.add_many(bytes.len() as u64);
        match self.open.get_mut(file) {
            Some(open) => open.write_all(bytes),
            None => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::Parser;

    #[derive(Parser)]
    struct Typed {
        #[command(flatten)]
        args: SimulateArgs,
    }

    fn typed(words: &[&str]) -> SimulateArgs {
        let words = ["simulate"].iter().chain(words);
        Typed::try_parse_from(words).unwrap().args
    }

    fn in_folder(folder: &Path, out: &str, answer: &str) -> SimulateArgs {
        let (out, answer) = (folder.join(out), folder.join(answer));
        let words = ["--days", "3", "--out"];
        let mut args = typed(&[words[0], words[1], words[2], "x", "--answer", "y"]);
        (args.out, args.answer) = (out, answer);
        args
    }

    #[test]
    fn the_command_in_the_sheet_makes_the_plan_of_the_samples() {
        let sheet = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/answer-sheet.md");
        let sheet = fs::read_to_string(sheet).unwrap();
        let command = sheet
            .lines()
            .find(|line| line.starts_with("loadbook simulate "));
        let words: Vec<_> = command.unwrap().split(' ').skip(2).collect();
        let args = typed(&words);
        assert_eq!(args.plan().unwrap(), Plan::of_samples());
        assert_eq!(args.command(), command.unwrap());
        let by_default = typed(&["--out", "x", "--answer", "y"]);
        assert_eq!(by_default.plan().unwrap(), Plan::of_samples());
    }

    #[test]
    fn sites_are_departments_that_can_each_be_made_alone() {
        let folder = tempfile::tempdir().unwrap();
        let mut args = in_folder(folder.path(), "region", "sheets");
        args.sites = Some(2);
        let made = run_sites(&args, 2).unwrap();
        assert_eq!(made.n_sites, 2);
        let mut alone = in_folder(folder.path(), "alone", "alone.md");
        alone.seed = args.seed + 1;
        let second = run(&alone).unwrap();
        assert!(made.n_files > second.n_files);
        let file = "logs/day-surgery-annexe-2026-01.csv";
        let read = |path: &str| fs::read(folder.path().join(path)).unwrap();
        assert_eq!(
            read(&format!("region/site-002/{file}")),
            read(&format!("alone/{file}"))
        );
        assert_ne!(
            read(&format!("region/site-001/{file}")),
            read(&format!("alone/{file}"))
        );
        let sheet = fs::read_to_string(folder.path().join("sheets/site-002.md")).unwrap();
        assert!(sheet.contains("--seed 2027") && !sheet.contains("--sites"));
        // The sheets of another run are not mixed with these, nor written among the records.
        args.out = folder.path().join("region-2");
        assert!(matches!(
            run_sites(&args, 2),
            Err(SimulateError::AnswersExist(_))
        ));
        args.answer = args.out.join("sheets");
        assert!(matches!(
            run_sites(&args, 2),
            Err(SimulateError::AnswerInside { .. })
        ));
    }

    #[test]
    fn months_are_those_of_the_calendar() {
        let args = typed(&[
            "--months",
            "2",
            "--from",
            "2026-01-31",
            "--out",
            "x",
            "--answer",
            "y",
        ]);
        // To 31 March: 28 days of February and 31 of March.
        assert_eq!(args.plan().unwrap().n_days, 59);
    }

    #[test]
    fn records_stand_in_the_folder_and_the_sheet_outside() {
        let folder = tempfile::tempdir().unwrap();
        let made = run(&in_folder(folder.path(), "records", "answers.md")).unwrap();
        assert!(made.n_files > 5 && made.n_bytes > 10_000);
        let sheet = fs::read_to_string(folder.path().join("answers.md")).unwrap();
        assert!(sheet.contains("For practice only"));
        assert!(
            folder
                .path()
                .join("records/logs/day-surgery-annexe-2026-01.csv")
                .is_file()
        );
        // The same again is refused, file by file.
        let again = run(&in_folder(folder.path(), "records", "other.md"));
        assert!(matches!(again, Err(SimulateError::NotEmpty(_))));
        let again = run(&in_folder(folder.path(), "more", "answers.md"));
        assert!(matches!(again, Err(SimulateError::AnswerExists(_))));
        assert!(!folder.path().join("more").exists());
    }

    #[test]
    fn a_sheet_among_the_records_is_refused_however_it_is_named() {
        let folder = tempfile::tempdir().unwrap();
        for answer in ["r/a.md", "r/../r/b/a.md", "./r/a.md", "q/../r/a.md"] {
            let refused = run(&in_folder(folder.path(), "r", answer));
            assert!(
                matches!(refused, Err(SimulateError::AnswerInside { .. })),
                "{answer}"
            );
        }
        assert!(!folder.path().join("r").exists());
    }

    #[test]
    fn days_past_the_calendar_are_refused() {
        let args = typed(&[
            "--from",
            "2095-12-01",
            "--days",
            "60",
            "--out",
            "x",
            "--answer",
            "y",
        ]);
        assert!(matches!(
            args.plan(),
            Err(SimulateError::BeyondCalendar { .. })
        ));
    }
}
