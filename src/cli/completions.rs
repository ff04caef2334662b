//! `loadbook completions`: completions for a shell.

use super::Printed;
use super::exit::Exit;
use clap::Args;
use clap_complete::Shell;

/// Prints the completions of a shell, to be put where that shell looks for them.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  loadbook completions bash > ~/.local/share/bash-completion/completions/loadbook
  loadbook completions fish > ~/.config/fish/completions/loadbook.fish")]
pub struct CompletionsCommand {
    /// The shell
    #[arg(value_enum)]
    pub shell: Shell,
}

/// Runs the command.
///
/// # Errors
/// None.
pub fn run(command: &CompletionsCommand, cli: &mut clap::Command) -> Printed {
    let mut out = Vec::new();
    clap_complete::generate(command.shell, cli, "loadbook", &mut out);
    Ok((String::from_utf8_lossy(&out).into_owned(), Exit::Fine))
}
