//! `loadbook service`: the units in the order of need for service.

use super::Printed;
use super::exit::{EXIT_CODES, Exit};
use super::findings::analyse_history;
use super::input::InputOptions;
use super::intake::read_input;
use super::options::{Format, SharedOptions};
use super::output::write_json;
use crate::report::ranking::write_ranking;
use crate::report::terminal::ranking::draw_ranking;
use clap::Args;
use std::io::Write;

/// Ranks the units for service: drifting stages and leak rates, readings that leave their usual course, aborts and
/// rejections beyond the unit's own past and its sisters, indicators. The method is stated below the table.
#[derive(Debug, Args)]
#[command(after_help = format!("Examples:
  loadbook service records/
  loadbook service records/ --unit PL-1 --unit PL-2
  loadbook service records/ --format json

{EXIT_CODES}"))]
pub struct ServiceCommand {
    /// What is read.
    #[command(flatten)]
    pub input: InputOptions,
    /// Shared options.
    #[command(flatten)]
    pub options: SharedOptions,
}

/// Runs the command.
///
/// # Errors
/// A unit or program that no record has.
pub fn run(command: &ServiceCommand, err: &mut dyn Write) -> Printed {
    let intake = read_input(&command.input, &command.options, err)?;
    let analysis = analyse_history(&intake.history)?;
    let ranking = write_ranking(&analysis, &intake.scope, &intake.sources);
    let findings = if ranking.units.iter().any(|unit| !unit.findings.is_empty()) {
        Exit::Findings
    } else {
        Exit::Fine
    };
    let text = match command.options.format {
        Format::Json => write_json(&ranking)?,
        Format::Text => draw_ranking(&ranking, &command.options.terminal(intake.folder())),
    };
    Ok((text, Exit::of(intake.exit, findings)))
}
