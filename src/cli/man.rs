//! `loadbook man`: the manual page, made from the same definitions as the help text.

use super::exit::Exit;
use super::{Printed, Refusal};
use clap::Args;

/// Prints the manual page of loadbook, or of one of its commands, as roff.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  loadbook man | man -l -
  loadbook man review > loadbook-review.1")]
pub struct ManCommand {
    /// A command
    #[arg(value_name = "COMMAND")]
    pub about: Option<String>,
}

/// Runs the command.
///
/// # Errors
/// A command that does not exist.
pub fn run(command: &ManCommand, mut cli: clap::Command) -> Printed {
    cli.build();
    let page = match &command.about {
        None => cli,
        Some(name) => match cli.find_subcommand(name) {
            Some(found) => found.clone(),
            None => return Err(Refusal::new(format!("loadbook has no command `{name}`"))),
        },
    };
    let mut out = Vec::new();
    clap_mangen::Man::new(page)
        .render(&mut out)
        .map_err(|error| Refusal::new(format!("the page can't be written: {error}")))?;
    Ok((String::from_utf8_lossy(&out).into_owned(), Exit::Fine))
}
