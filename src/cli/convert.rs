//! `loadbook convert`: any input as neutral text.
//!
//! What a line could not be read from is left out, and said. Read [`run`] first.

use super::exit::{EXIT_CODES, Exit};
use super::input::{InputOptions, find_inputs};
use super::layout::LayoutOptions;
use super::{Printed, Refusal};
use crate::diagnose::Severity;
use crate::parse::log::write::write_entries;
use crate::parse::printout::write::{PrintoutOptions, write_cycle};
use crate::parse::{Records, Strictness, read_inputs_by};
use crate::report::inert;
use crate::source::gather::Sources;
use clap::Args;
use std::io::Write;

/// Writes printouts and logs of any kind in loadbook's own two formats, which people can read, correct and keep. Each
/// printout says in a comment which lines of which file it came from.
#[derive(Debug, Args)]
#[command(after_help = format!("Examples:
  loadbook convert strips/ -o strips.txt
  loadbook convert --layout ours.toml capture.txt | loadbook review -

{EXIT_CODES}"))]
pub struct ConvertCommand {
    /// What is read.
    #[command(flatten)]
    pub input: InputOptions,
    /// Write to this new file instead of standard output
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<String>,
    /// By which layout.
    #[command(flatten)]
    pub layout: LayoutOptions,
    /// Refuse every line that can only be read by inferring something
    #[arg(long)]
    pub strict: bool,
}

/// Runs the command.
///
/// # Errors
/// A layout that does not exist or has faults; a file that can't be written.
pub fn run(command: &ConvertCommand, err: &mut dyn Write) -> Printed {
    let strictness = if command.strict {
        Strictness::Strict
    } else {
        Strictness::Infer
    };
    let found = find_inputs(&command.input, &command.layout)?;
    let (sources, records) = read_inputs_by(found.inputs, strictness, &found.choice, |_| {});
    let mut exit = Exit::Fine;
    for diagnostic in found.diagnostics.iter().chain(&records.diagnostics) {
        // Doubts of the records themselves are written with them and found again by review.
        let is_of_a_file = diagnostic.primary.is_none();
        if is_of_a_file && diagnostic.severity == Severity::Error {
            let _ = writeln!(err, "error: {}", inert::text(&diagnostic.headline));
            exit = Exit::Input;
        }
    }
    let n_unread: u64 = records
        .unread
        .iter()
        .map(|unread| unread.lines.n_lines())
        .sum();
    if n_unread > 0 {
        let lines = if n_unread == 1 { "line" } else { "lines" };
        let _ = writeln!(
            err,
            "warning: {n_unread} {lines} could not be read and were left out; `loadbook read` shows them"
        );
        exit = exit.max(Exit::Findings);
    }
    if records.cycles.is_empty() && records.entries.is_empty() {
        let _ = writeln!(
            err,
            "error: nothing was read: no printout and no log entry in what was named"
        );
        exit = Exit::Input;
    }
    let text = neutral_text(&sources, &records)
        .map_err(|error| Refusal::new(format!("the text can't be made: {}", error.kind())))?;
    let Some(output) = &command.output else {
        return Ok((text, exit));
    };
    std::fs::OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(output)
        .and_then(|mut file| file.write_all(text.as_bytes()))
        .map_err(|error| Refusal::new(format!("`{output}` can't be written: {}", error.kind())))?;
    Ok((String::new(), exit))
}

/// The records as neutral text: the printouts in their order, then the log.
fn neutral_text(sources: &Sources, records: &Records) -> std::io::Result<String> {
    let mut bytes = Vec::new();
    for cycle in &records.cycles {
        let file = sources
            .files()
            .iter()
            .find(|file| file.id == cycle.lines.file);
        let by = records
            .by_layout
            .iter()
            .find(|read| read.file == cycle.lines.file)
            .map_or(String::new(), |read| format!(", by layout {}", read.layout));
        if let Some(file) = file {
            writeln!(
                bytes,
                "# from {}, lines {} to {}{by}",
                inert::text(&file.name),
                cycle.lines.first(),
                cycle.lines.last()
            )?;
        }
        if cycle.n_unread_lines > 0 {
            writeln!(bytes, "# of them not read: {}", cycle.n_unread_lines)?;
        }
        write_cycle(cycle, PrintoutOptions::FAITHFUL, &mut bytes)?;
        writeln!(bytes)?;
    }
    write_entries(&records.entries, &mut bytes)?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
