//! `loadbook report`: four reports for paper and screen, each one HTML file.

use super::exit::{EXIT_CODES, Exit};
use super::figures::{add_limits, mark_leaks, mark_lengths, share_interval};
use super::findings::{analyse_history, find_in};
use super::input::InputOptions;
use super::intake::{Intake, read_input};
use super::options::{Format, SharedOptions};
use super::output::write_json;
use super::policy::PolicyOptions;
use super::show::refuse_unknown_name;
use super::{Printed, Refusal};
use crate::diagnose::FileId;
use crate::report::attention::Need;
use crate::report::findings::Findings;
use crate::report::html::investigation::{InvestigationParts, draw_investigation};
use crate::report::html::monthly::{MonthlyParts, draw_monthly};
use crate::report::html::review::{ReviewParts, draw_review};
use crate::report::html::service::{ServiceParts, draw_service};
use crate::report::html::{Made, Masking, Sheet};
use crate::report::investigation::{pick_bearing, write_investigation};
use crate::report::lang::{Language, Texts};
use crate::report::lengths::{LengthSeries, Measure, list_lengths};
use crate::report::lots::count_lots;
use crate::report::mask::Masks;
use crate::report::monthly::{self, Month, choose_month, write_monthly};
use crate::report::ranking::write_ranking;
use crate::report::recall::{SheetRow, write_recall};
use crate::report::release::write_release;
use crate::report::review::{Reviewed, write_review};
use crate::report::service::write_service;
use clap::{Args, Subcommand, ValueEnum};
use std::collections::BTreeMap;
use std::io::Write;
use std::path::PathBuf;

/// Writes a report as one HTML file that needs nothing else: no network, no script. It can be opened in any browser,
/// printed on A4 or Letter, and signed.
#[derive(Debug, Args)]
#[command(after_help = format!("Examples:
  loadbook report review records/ -o review.html
  loadbook report investigation PL-1:1042 records/ -o PL-1-1042.html
  loadbook report monthly records/ --month 2026-03 -o march.html
  loadbook report service records/ --unit PL-2 -o PL-2.html
  loadbook report review records/ --mask-operators --lang de -o review-de.html
  loadbook report monthly records/ --format json     the values behind the report

{EXIT_CODES}"))]
pub struct ReportCommand {
    /// Which report.
    #[command(subcommand)]
    pub which: Which,
}

/// The reports.
#[derive(Debug, Subcommand)]
pub enum Which {
    /// For the quality meeting: what needs a person, then the figures
    Review(ReviewArgs),
    /// Of one cycle or load: what happened, what was different, with room for cause and action
    Investigation(InvestigationArgs),
    /// For infection prevention: the figures of a month beside those before it, with sign-off
    Monthly(MonthlyArgs),
    /// For whoever services the units: lengths of stages, leak tests, alarms
    Service(ServiceArgs),
}

/// Options that all reports share.
#[derive(Debug, Clone, Args)]
pub struct ReportOptions {
    /// Write to this file [default: standard output]
    #[arg(short, long, value_name = "FILE", help_heading = "How it is drawn")]
    pub output: Option<PathBuf>,
    /// The language of the report
    #[arg(long, value_enum, default_value_t = Lang::En, help_heading = "How it is drawn")]
    pub lang: Lang,
    /// Replace each staff mark by a number, the same throughout, for wider circulation
    #[arg(long, help_heading = "How it is drawn")]
    pub mask_operators: bool,
    /// How loads are judged.
    #[command(flatten)]
    pub policy: PolicyOptions,
    /// Shared options.
    #[command(flatten)]
    pub shared: SharedOptions,
}

/// The languages by their tags.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Lang {
    /// English.
    En,
    /// German.
    De,
}

/// `loadbook report review`.
#[derive(Debug, Args)]
pub struct ReviewArgs {
    /// What is read.
    #[command(flatten)]
    pub input: InputOptions,
    /// Options.
    #[command(flatten)]
    pub options: ReportOptions,
}

/// `loadbook report investigation`.
#[derive(Debug, Args)]
pub struct InvestigationArgs {
    /// A cycle, as UNIT:COUNTER, or a load's number
    #[arg(value_name = "CYCLE|LOAD")]
    pub asked: String,
    /// What is read.
    #[command(flatten)]
    pub input: InputOptions,
    /// Options.
    #[command(flatten)]
    pub options: ReportOptions,
}

/// `loadbook report monthly`.
#[derive(Debug, Args)]
pub struct MonthlyArgs {
    /// What is read.
    #[command(flatten)]
    pub input: InputOptions,
    /// The month (YYYY-MM) [default: the last one that had ended]
    #[arg(long, value_name = "MONTH", value_parser = parse_month, help_heading = "What is shown")]
    pub month: Option<Month>,
    /// Options.
    #[command(flatten)]
    pub options: ReportOptions,
}

/// `loadbook report service`.
#[derive(Debug, Args)]
pub struct ServiceArgs {
    /// What is read.
    #[command(flatten)]
    pub input: InputOptions,
    /// Options.
    #[command(flatten)]
    pub options: ReportOptions,
}

fn parse_month(text: &str) -> Result<Month, String> {
    Month::read(text).ok_or_else(|| "write it as YYYY-MM, such as 2026-03".to_owned())
}

impl Which {
    fn input(&self) -> &InputOptions {
        match self {
            Which::Review(args) => &args.input,
            Which::Investigation(args) => &args.input,
            Which::Monthly(args) => &args.input,
            Which::Service(args) => &args.input,
        }
    }

    fn options(&self) -> &ReportOptions {
        match self {
            Which::Review(args) => &args.options,
            Which::Investigation(args) => &args.options,
            Which::Monthly(args) => &args.options,
            Which::Service(args) => &args.options,
        }
    }
}

/// Runs the command.
///
/// # Errors
/// A unit, program, cycle or load that no record has; a month that can't be told; a file that can't be written.
pub fn run(command: &ReportCommand, err: &mut dyn Write) -> Printed {
    let options = command.which.options();
    let book = options.policy.read_book()?;
    let mut intake = read_input(command.which.input(), &options.shared, err)?;
    let masks = Masks::of(&intake.history);
    let sources = std::mem::take(&mut intake.sources);
    let masked_lines = options.mask_operators.then(|| {
        let lines = masks.lines(&sources, &intake.history, &intake.unread);
        masks.apply(&mut intake.history);
        lines
    });
    // Judged after masking, so that what a rule says of a person has the number.
    let judged = intake.judge(book);
    let reviewed = Reviewed {
        lines: match &masked_lines {
            Some(lines) => lines,
            None => &sources,
        },
        ..intake.reviewed(&judged)
    };
    let (document, needs) = draw(&command.which, &reviewed, intake.layouts())?;
    let findings = if needs.iter().any(Need::is_open) {
        Exit::Findings
    } else {
        Exit::Fine
    };
    let exit = Exit::of(intake.exit, findings);
    write_out(options, document, &intake, exit)
}

fn draw(
    which: &Which,
    reviewed: &Reviewed<'_>,
    layouts: BTreeMap<FileId, String>,
) -> Result<(String, Vec<Need>), Refusal> {
    let options = which.options();
    let texts = Texts::of(match options.lang {
        Lang::En => Language::English,
        Lang::De => Language::German,
    });
    let made = Made {
        version: env!("CARGO_PKG_VERSION"),
        masking: if options.mask_operators {
            Masking::Masked
        } else {
            Masking::Shown
        },
        strictness: options.shared.strictness(),
        layouts,
    };
    let is_json = options.shared.format == Format::Json;
    let sheet = |reviewed| Sheet::new(&texts, reviewed, made.clone());
    match which {
        Which::Review(_) => {
            let findings = find_in(reviewed)?;
            let mut lengths = with_limits(list_lengths(reviewed, Measure::Cycle));
            let mut found_lengths = match speaks_of_stages(&findings) {
                true => list_lengths(reviewed, Measure::EachStage),
                false => Vec::new(),
            };
            for (number, row) in (1..).zip(&findings.findings) {
                for series in lengths.iter_mut().chain(&mut found_lengths) {
                    mark_lengths(series, number, row);
                }
            }
            found_lengths.retain(|series| !series.found.is_empty());
            let parts = ReviewParts {
                review: write_review(reviewed, findings),
                lengths,
                found_lengths,
                lots: count_lots(reviewed),
                release: write_release(reviewed, &[]),
                recall: write_recall(reviewed),
            };
            let document = if is_json {
                write_json(&parts)?
            } else {
                draw_review(&parts, &sheet(reviewed))
            };
            Ok((document, parts.review.needs))
        }
        Which::Investigation(args) => {
            let mut investigation = write_investigation(&args.asked, reviewed)
                .map_err(|not_found| refuse_unknown_name(&not_found))?;
            investigation.bearing = pick_bearing(find_in(reviewed)?, &investigation);
            let mut recall = write_recall(reviewed);
            let loads: Vec<&str> = investigation
                .shown
                .loads
                .iter()
                .map(|view| view.load.as_str())
                .collect();
            recall.sheets.retain(|sheet| {
                sheet.rows.iter().any(|row| match row {
                    SheetRow::Load(row) => row
                        .load
                        .as_deref()
                        .is_some_and(|load| loads.contains(&load)),
                    SheetRow::Missing { .. } => false,
                })
            });
            let parts = InvestigationParts {
                investigation,
                recall,
            };
            let document = if is_json {
                write_json(&parts)?
            } else {
                draw_investigation(&parts, &sheet(reviewed))
            };
            Ok((document, parts.investigation.shown.needs))
        }
        Which::Monthly(args) => {
            let month = args
                .month
                .or_else(|| choose_month(reviewed))
                .ok_or_else(|| Refusal::new("no record has a date; name the month with --month"))?;
            let monthly = write_monthly(reviewed, month);
            let scope = monthly::narrowed(reviewed.scope, month);
            let narrowed = Reviewed {
                scope: &scope,
                ..*reviewed
            };
            let review = write_review(&narrowed, Findings::default());
            let mut findings = find_in(&narrowed)?;
            findings
                .findings
                .retain(|row| monthly::is_reported(row.kind));
            let mut needs = monthly.positives.clone();
            needs.extend(monthly.exceptions.iter().cloned());
            let parts = MonthlyParts {
                monthly,
                findings,
                cycles: review.cycles,
                interval: Some(share_interval),
                sites: review.sites,
                release: write_release(&narrowed, &[]),
                recall: write_recall(&narrowed),
            };
            let document = if is_json {
                write_json(&parts)?
            } else {
                draw_monthly(&parts, &sheet(&narrowed))
            };
            Ok((document, needs))
        }
        Which::Service(_) => {
            let review = write_review(reviewed, Findings::default());
            let mut service = write_service(reviewed, &review.clocks);
            let ranking = write_ranking(
                &analyse_history(reviewed.history)?,
                reviewed.scope,
                reviewed.lines,
            );
            for unit in &mut service.units {
                unit.stages.iter_mut().for_each(add_limits);
                let found = ranking.units.iter().find(|row| row.unit == unit.unit);
                for (number, row) in (1..).zip(found.map_or(&[][..], |row| &row.findings)) {
                    mark_leaks(unit, number, row);
                    for series in &mut unit.stages {
                        mark_lengths(series, number, row);
                    }
                }
            }
            let parts = ServiceParts {
                service,
                ranking,
                cycles: review.cycles,
                sites: review.sites,
            };
            Ok((
                if is_json {
                    write_json(&parts)?
                } else {
                    draw_service(&parts, &sheet(reviewed))
                },
                review.needs,
            ))
        }
    }
}

/// Whether a finding has a course that the length of a stage shows.
fn speaks_of_stages(findings: &Findings) -> bool {
    findings
        .findings
        .iter()
        .any(|row| row.finding.course.is_some() && row.finding.subject.stage.is_some())
}

fn with_limits(mut lengths: Vec<LengthSeries>) -> Vec<LengthSeries> {
    lengths.iter_mut().for_each(add_limits);
    lengths
}

/// Gives the document to be printed, or writes it to the file that was named and says so.
fn write_out(options: &ReportOptions, document: String, intake: &Intake, exit: Exit) -> Printed {
    let Some(path) = &options.output else {
        return Ok((document, exit));
    };
    let is_input = intake.files.iter().any(|file| {
        let named = std::fs::canonicalize(&file.name);
        named.is_ok_and(|named| std::fs::canonicalize(path).is_ok_and(|path| path == named))
    });
    if is_input {
        return Err(Refusal::new(format!(
            "`{}` is one of the input files; name another file with -o",
            path.display()
        )));
    }
    std::fs::write(path, &document).map_err(|error| {
        Refusal::new(format!(
            "`{}` can't be written: {}",
            path.display(),
            error.kind()
        ))
    })?;
    Ok((
        format!("{} written, {} bytes.\n", path.display(), document.len()),
        exit,
    ))
}
