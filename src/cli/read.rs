//! `loadbook read`: what was read and what was not.

use super::exit::{EXIT_CODES, Exit};
use super::input::InputOptions;
use super::intake::{count_input, read_input};
use super::options::{Format, SharedOptions};
use super::output::write_json;
use super::{Printed, Refusal};
use crate::diagnose::codes::Code;
use crate::report::place::common_folder;
use crate::report::read::{Reading, count_in_scope, write_read_report};
use crate::report::terminal::read::{draw_explanation, draw_read_report};
use clap::Args;
use std::io::Write;
use std::path::PathBuf;

/// Reads the records and says of each file its size, encoding, lines, printouts, log entries and lines that could not
/// be read; then shows those lines with what is wrong and what to do.
#[derive(Debug, Args)]
#[command(after_help = format!("Examples:
  loadbook read records/
  loadbook read records/ --all
  loadbook read --explain number-ambiguous
  loadbook read capture.txt --strict --format json

{EXIT_CODES}"))]
pub struct ReadCommand {
    /// Files, folders, patterns, or `-` for standard input
    #[arg(value_name = "PATH", required_unless_present_any = ["archive", "explain"])]
    pub paths: Vec<String>,
    /// Read what is in this archive, instead of paths
    #[arg(
        long,
        value_name = "DIR",
        conflicts_with = "paths",
        help_heading = "How records are read"
    )]
    pub archive: Option<PathBuf>,
    /// Say what a reason means and what to do about it; `list` names them all
    #[arg(long, value_name = "REASON")]
    pub explain: Option<String>,
    /// Shared options.
    #[command(flatten)]
    pub options: SharedOptions,
}

/// Runs the command.
///
/// # Errors
/// A unit or program that no record has; a reason to explain that does not exist.
pub fn run(command: &ReadCommand, err: &mut dyn Write) -> Printed {
    if let Some(asked) = &command.explain {
        let terminal = command.options.terminal("");
        let codes = find_codes(asked)?;
        let texts: Vec<String> = codes
            .iter()
            .map(|code| draw_explanation(*code, &terminal))
            .collect();
        return Ok((texts.join("\n"), Exit::Fine));
    }
    let input = InputOptions {
        paths: command.paths.clone(),
        archive: command.archive.clone(),
    };
    let scope = command.options.scope();
    if scope.is_everything() {
        // Nothing has to be joined for it.
        let count = count_input(&input, &command.options, err)?;
        return draw(
            command,
            &Reading {
                files: &count.files,
                counted: &count.counted,
                unread: &count.unread,
                diagnostics: &count.diagnostics,
                lines: &count.sources,
                scope: &scope,
            },
            count.exit,
        );
    }
    let intake = read_input(&input, &command.options, err)?;
    draw(
        command,
        &Reading {
            files: &intake.files,
            counted: &count_in_scope(&intake.history, &intake.scope),
            unread: &intake.unread,
            diagnostics: intake.reading_diagnostics(),
            lines: &intake.sources,
            scope: &intake.scope,
        },
        intake.exit,
    )
}

fn draw(command: &ReadCommand, reading: &Reading<'_>, exit: Exit) -> Printed {
    let report = write_read_report(reading);
    let findings = if report.needs_person() {
        Exit::Findings
    } else {
        Exit::Fine
    };
    let text = match command.options.format {
        Format::Json => write_json(&report)?,
        Format::Text => {
            let folder = common_folder(reading.files.iter().map(|file| file.name.as_str()));
            draw_read_report(&report, reading.lines, &command.options.terminal(folder))
        }
    };
    Ok((text, Exit::of(exit, findings)))
}

fn find_codes(asked: &str) -> Result<Vec<Code>, Refusal> {
    if asked.eq_ignore_ascii_case("list") {
        return Ok(Code::ALL.to_vec());
    }
    if let Some(code) = Code::ALL
        .iter()
        .find(|code| code.id().eq_ignore_ascii_case(asked))
    {
        return Ok(vec![*code]);
    }
    let mut refusal = Refusal::new(format!("there is no reason `{asked}`"));
    let mut near: Vec<(usize, &str)> = Code::ALL
        .iter()
        .map(|code| (strsim::osa_distance(asked, code.id()), code.id()))
        .collect();
    near.sort_unstable();
    let near: Vec<&str> = near
        .into_iter()
        .filter(|(distance, _)| *distance <= 6)
        .take(3)
        .map(|(_, id)| id)
        .collect();
    if !near.is_empty() {
        refusal
            .more
            .push(format!("near it are: {}", near.join(", ")));
    }
    refusal
        .more
        .push("`loadbook read --explain list` names them all".to_owned());
    Err(refusal)
}
