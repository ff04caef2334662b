//! `loadbook release`: what the records of each load support, what needs a person first.

use super::Printed;
use super::exit::{EXIT_CODES, Exit};
use super::input::InputOptions;
use super::intake::read_input;
use super::options::{Format, SharedOptions};
use super::output::write_json;
use super::policy::PolicyOptions;
use crate::judge::decision::Decision;
use crate::report::release::write_release;
use crate::report::terminal::release::draw_release;
use clap::{Args, ValueEnum};
use std::io::Write;

/// A decision on the command line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum DecisionName {
    /// Complete, and nothing speaks against it
    Release,
    /// Complete, and awaits a biological indicator
    Quarantine,
    /// Evidence is missing or contradicts itself
    Hold,
    /// Evidence speaks against it
    Reject,
    /// Evidence speaks against it, and it had been let go
    Recall,
}

impl DecisionName {
    fn decision(self) -> Decision {
        match self {
            DecisionName::Release => Decision::Release,
            DecisionName::Quarantine => Decision::Quarantine,
            DecisionName::Hold => Decision::Hold,
            DecisionName::Reject => Decision::Reject,
            DecisionName::Recall => Decision::Recall,
        }
    }
}

/// Judges every load by the policy and lists them by what needs a person first: let go although evidence speaks against
/// them, let go although evidence is lacking, and so on; each with the rules that decide and the lines that prove it.
/// Nothing that lacks evidence is listed as `release`. loadbook tells what the records support; people release.
#[derive(Debug, Args)]
#[command(after_help = format!("Examples:
  loadbook release records/
  loadbook release records/ --decision hold,quarantine
  loadbook release records/ --from 2026-03-12 --to 2026-03-12 --all
  loadbook release records/ --as-of \"2026-03-12 16:00\"
  loadbook release records/ --preset every-load

{EXIT_CODES}"))]
pub struct ReleaseCommand {
    /// What is read.
    #[command(flatten)]
    pub input: InputOptions,
    /// List loads with these decisions only, separated by commas
    #[arg(
        long,
        value_enum,
        value_delimiter = ',',
        value_name = "DECISION",
        help_heading = "What is shown"
    )]
    pub decision: Vec<DecisionName>,
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
/// A unit or program that no record has; a policy that can't be used.
pub fn run(command: &ReleaseCommand, err: &mut dyn Write) -> Printed {
    let book = command.policy.read_book()?;
    let intake = read_input(&command.input, &command.options, err)?;
    let judged = intake.judge(book);
    let wanted: Vec<Decision> = command
        .decision
        .iter()
        .map(|name| name.decision())
        .collect();
    let report = write_release(&intake.reviewed(&judged), &wanted);
    let findings = if report.needs_person() {
        Exit::Findings
    } else {
        Exit::Fine
    };
    let text = match command.options.format {
        Format::Json => write_json(&report)?,
        Format::Text => draw_release(&report, &command.options.terminal(intake.folder())),
    };
    Ok((text, Exit::of(intake.exit, findings)))
}
