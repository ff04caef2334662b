//! `loadbook show`: one cycle or load in full.

use super::exit::{EXIT_CODES, Exit};
use super::input::InputOptions;
use super::intake::read_input;
use super::options::{Format, SharedOptions};
use super::output::write_json;
use super::policy::PolicyOptions;
use super::{Printed, Refusal};
use crate::report::show::{NotFound, find_shown};
use crate::report::terminal::show::draw_shown;
use clap::Args;
use std::io::Write;

/// Shows one cycle (by unit and counter) or one load (by its number) in full: what it was, stages with times and
/// limits, readings as a small plot, alarms, outcome, consumables, the load's contents, indicators and signatures, and
/// the lines of the printout.
#[derive(Debug, Args)]
#[command(after_help = format!("Examples:
  loadbook show PL-1:1042 records/
  loadbook show P1-0312-01 records/
  loadbook show PL-1:1042 records/ --all --width 120

{EXIT_CODES}"))]
pub struct ShowCommand {
    /// A cycle as UNIT:COUNTER, or a load's number
    #[arg(value_name = "CYCLE|LOAD")]
    pub asked: String,
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
/// A unit or program that no record has; a name that no cycle and no load has.
pub fn run(command: &ShowCommand, err: &mut dyn Write) -> Printed {
    let book = command.policy.read_book()?;
    let intake = read_input(&command.input, &command.options, err)?;
    let judged = intake.judge(book);
    let shown = find_shown(&command.asked, &intake.reviewed(&judged))
        .map_err(|not_found| refuse_unknown_name(&not_found))?;
    let findings = if shown.needs_person() {
        Exit::Findings
    } else {
        Exit::Fine
    };
    let text = match command.options.format {
        Format::Json => write_json(&shown)?,
        Format::Text => draw_shown(&shown, &command.options.terminal(intake.folder())),
    };
    Ok((text, Exit::of(intake.exit, findings)))
}

/// The refusal of a name that no cycle and no load has.
pub(super) fn refuse_unknown_name(not_found: &NotFound) -> Refusal {
    let mut refusal = Refusal::new(format!(
        "no cycle and no load has the name `{}`",
        not_found.asked
    ));
    if !not_found.nearest.is_empty() {
        refusal
            .more
            .push(format!("near it are: {}", not_found.nearest.join(", ")));
    }
    refusal.more.push(
        "name a cycle as UNIT:COUNTER, such as PL-1:1042, or a load by its number".to_owned(),
    );
    refusal
}
