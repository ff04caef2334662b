//! `loadbook review`: what needs a person, then the counts.

use super::Printed;
use super::exit::{EXIT_CODES, Exit};
use super::findings::find_in;
use super::input::InputOptions;
use super::intake::read_input;
use super::options::{Format, SharedOptions};
use super::output::write_json;
use super::policy::PolicyOptions;
use crate::report::review::write_review;
use crate::report::terminal::review::draw_review;
use clap::Args;
use std::io::Write;

/// Reads the records and says on the first screen what needs a person today, in order of harm; then what to do, each
/// case with file and line, and the counts: cycles by unit and program, aborts by stage and cause, rejections by cause,
/// what loads' records lack, missing printouts, clocks, unread lines, and what was inferred.
#[derive(Debug, Args)]
#[command(after_help = format!("Examples:
  loadbook review records/
  loadbook review records/ --from 2026-03-01 --to 2026-03-31
  loadbook review printouts/*.txt log.csv --unit PL-1 --unit PL-2
  loadbook review records/ --as-of \"2026-03-12 07:00\"
  loadbook review records/ --format json

{EXIT_CODES}"))]
pub struct ReviewCommand {
    /// What is read.
    #[command(flatten)]
    pub input: InputOptions,
    /// How loads are judged.
    #[command(flatten)]
    pub policy: PolicyOptions,
    /// Shared options.
    #[command(flatten)]
    pub options: SharedOptions,
}

/// Runs the command.
///
/// # Errors
/// A unit or program that no record has.
pub fn run(command: &ReviewCommand, err: &mut dyn Write) -> Printed {
    let book = command.policy.read_book()?;
    let intake = read_input(&command.input, &command.options, err)?;
    let judged = intake.judge(book);
    let reviewed = intake.reviewed(&judged);
    let review = write_review(&reviewed, find_in(&reviewed)?);
    let findings = if review.needs_person() {
        Exit::Findings
    } else {
        Exit::Fine
    };
    let text = match command.options.format {
        Format::Json => write_json(&review)?,
        Format::Text => draw_review(&review, &command.options.terminal(intake.folder())),
    };
    Ok((text, Exit::of(intake.exit, findings)))
}
