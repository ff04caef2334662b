//! `loadbook sites`: many departments side by side.
//!
//! Each site is read, joined, judged, reviewed and reduced to a small value before the next begins. Read [`run_on`] first,
//! then [`queue::reduce_all`].

mod find;
mod queue;

use super::exit::{EXIT_CODES, Exit};
use super::findings::find_in;
use super::input::FoundInputs;
use super::intake::read_found;
use super::options::{Format, SharedOptions};
use super::output::write_json;
use super::policy::PolicyOptions;
use super::{Printed, Refusal};
use crate::judge::policy::PolicyBook;
use crate::parallel::Threads;
use crate::report::inert;
use crate::report::review::write_review;
use crate::report::sites::{SitePlace, SiteState, SiteSummary, reduce_site, write_sites};
use crate::report::terminal::sites::draw_sites;
use clap::Args;
use find::find_sites;
use indicatif::ProgressBar;
use queue::reduce_all;
use std::io::Write;

/// So many problems of a site are kept.
const MOST_PROBLEMS: usize = 20;

/// Reviews many departments one after the other and lays them side by side: what needs a person at which site, and what
/// shows only across sites. Each folder that lies directly in a PATH is one site: a folder of records, or an archive of
/// loadbook. Memory holds the sites that are being read and a few numbers of the others, so that any number of sites can
/// be reviewed on one machine.
#[derive(Debug, Args)]
#[command(after_help = format!("Examples:
  loadbook sites region/
  loadbook sites region/ --from 2026-03-01 --to 2026-03-31
  loadbook sites north/ south/ --preset every-load
  loadbook sites region/ --all --format json

{EXIT_CODES}"))]
pub struct SitesCommand {
    /// Folders in which each department has a folder of its own, or an archive
    #[arg(value_name = "PATH", required = true)]
    pub paths: Vec<String>,
    /// How loads are judged.
    #[command(flatten)]
    pub policy: PolicyOptions,
    /// Shared options.
    #[command(flatten)]
    pub options: SharedOptions,
}

/// Runs the command on all cores.
///
/// # Errors
/// As [`run_on`].
pub fn run(command: &SitesCommand, err: &mut dyn Write) -> Printed {
    run_on(command, Threads::available(), err)
}

/// Runs the command with so many sites side by side. What is printed does not hang on it.
///
/// # Errors
/// A policy that can't be used; a PATH that is an archive itself; a unit or program that no site has.
pub fn run_on(command: &SitesCommand, threads: Threads, err: &mut dyn Write) -> Printed {
    let book = command.policy.read_book()?;
    let found = find_sites(&command.paths)?;
    let mut exit = Exit::Fine;
    for problem in &found.problems {
        exit = Exit::Input;
        let _ = writeln!(err, "error: {}", inert::text(problem));
    }
    let sites = reduce_all(&found.sites, command, &book, threads);
    let mut summaries = Vec::new();
    for reduced in sites {
        let said = String::from_utf8_lossy(&reduced.said);
        for line in said.lines() {
            let _ = writeln!(err, "{}: {line}", inert::text(&reduced.summary.row.site));
        }
        summaries.push(reduced.summary);
    }
    refuse_unknown_names(&summaries)?;
    if found.sites.is_empty() {
        let _ = writeln!(
            err,
            "error: there is no site in what was named: a site is a folder directly in PATH"
        );
    }
    let options = &command.options;
    let report = write_sites(summaries, found.left_out, options.scope(), options.as_of);
    if report.is_input_at_fault() {
        exit = Exit::Input;
    }
    let findings = if report.needs_person() {
        Exit::Findings
    } else {
        Exit::Fine
    };
    let text = match options.format {
        Format::Json => write_json(&report)?,
        Format::Text => draw_sites(&report, &options.terminal("")),
    };
    Ok((text, Exit::of(exit, findings)))
}

/// Refuses a unit or program that no site at all has.
fn refuse_unknown_names(sites: &[SiteSummary]) -> Result<(), Refusal> {
    let left_out = |site: &SiteSummary| site.row.state == SiteState::LeftOut;
    let has_one = sites
        .iter()
        .any(|site| matches!(site.row.state, SiteState::Read | SiteState::PartlyRead));
    let problem = sites
        .iter()
        .find(|site| left_out(site))
        .and_then(|site| site.row.problems.first());
    match problem {
        Some(problem) if !has_one => Err(Refusal::new(format!("at every site, {problem}"))),
        _ => Ok(()),
    }
}

/// A site, reduced, and what reading it said on standard error.
struct Reduced {
    summary: SiteSummary,
    said: Vec<u8>,
}

impl Reduced {
    /// A site of which nothing was read.
    fn refused(place: &SitePlace, state: SiteState, refusal: &Refusal) -> Self {
        let mut said = Vec::new();
        // A site that has not the unit that was asked for is no error.
        if state.is_fault() {
            let more = refusal.more.iter().map(String::as_str);
            let lines: Vec<&str> = std::iter::once(refusal.said.as_str()).chain(more).collect();
            said = format!("error: {}\n", inert::text(&lines.join("; "))).into_bytes();
        }
        Reduced {
            summary: SiteSummary::unread(place, state, refusal.said.clone()),
            said,
        }
    }
}

/// Reads, joins, judges and reviews one site, and reduces it. Everything else of it is given back to memory.
fn reduce(
    place: &SitePlace,
    found: FoundInputs,
    command: &SitesCommand,
    book: &PolicyBook,
    threads: Threads,
) -> Reduced {
    let mut said = Vec::new();
    let options = &command.options;
    let bar = ProgressBar::hidden();
    let intake = match read_found(found, options, threads, &bar, &mut said) {
        Ok(intake) => intake,
        // What was read has none of the units or programs that were asked for.
        Err(refusal) => return Reduced::refused(place, SiteState::LeftOut, &refusal),
    };
    let judged = intake.judge(book.clone());
    let reviewed = intake.reviewed(&judged);
    let findings = match find_in(&reviewed) {
        Ok(findings) => findings,
        Err(refusal) => return Reduced::refused(place, SiteState::Refused, &refusal),
    };
    let review = write_review(&reviewed, findings);
    let problems = intake
        .diagnostics
        .iter()
        .filter(|said| said.code.is_of_unreadable_file())
        .map(|said| said.headline.clone())
        .take(MOST_PROBLEMS)
        .collect();
    Reduced {
        summary: reduce_site(place, problems, &review, &reviewed),
        said,
    }
}
