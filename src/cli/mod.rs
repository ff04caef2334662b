//! The commands. One file each; every one reads, joins, makes a report and draws it, and holds no rule of its own.
//!
//! Read [`run`] first, then [`review`].

pub mod archive;
pub mod archive_file;
pub mod archive_tables;
pub mod completions;
pub mod convert;
pub mod exit;
pub mod export;
pub mod figures;
pub mod findings;
pub mod follow;
pub mod follower;
pub mod input;
pub mod intake;
pub mod layout;
pub mod man;
pub mod mishap;
pub mod options;
pub mod output;
pub mod policy;
pub mod read;
pub mod recall;
pub mod release;
pub mod report;
pub mod review;
pub mod selftest;
pub mod service;
pub mod show;
pub mod simulate;
pub mod sites;

use clap::{CommandFactory, Parser, Subcommand};
use exit::{EXIT_CODES, Exit};
use std::ffi::OsString;
use std::io::Write;

/// Everything on the command line.
#[derive(Debug, Parser)]
#[command(
    name = "loadbook",
    version,
    about = "Reads sterilizer printouts and indicator logs, ties them together and says what the records support",
    long_about = "loadbook reads what sterilizers print (low-temperature peroxide gas plasma, steam, ethylene oxide) \
        and what technicians write in indicator logs, ties the two together by load, and says what the records \
        support and what they lack. loadbook records support; people release.",
    after_help = EXAMPLES,
    after_long_help = help_with_exit_codes(),
    propagate_version = true
)]
pub struct Cli {
    /// The command.
    #[command(subcommand)]
    pub command: Command,
}

const EXAMPLES: &str = "Examples:
  loadbook review records/                    what needs a person, then the counts
  loadbook release records/                   what the records of each load support
  loadbook recall records/                    which packages to get back
  loadbook read records/ --all                every line that was not read, and why
  loadbook show PL-1:1042 records/            one cycle in full
  loadbook show P1-0312-01 records/           one load in full
  loadbook report review records/ -o review.html   the review as a file to print and sign
  loadbook export records/ --as csv -o tables/       everything as tables for other programs
  loadbook review records/ --from 2026-03-01 --to 2026-03-31 --unit PL-1
  zcat march.txt.gz | loadbook review -       from a pipe
  loadbook sites region/                      many departments, each in a folder of its own
  loadbook archive add archive/ records/      keep what is new for years
  loadbook follow strips/ --archive archive/  as they are printed: what needs a person, at once
  loadbook review --archive archive/          any command, from what is kept
  loadbook selftest                           whether this copy gives the known answers";

fn help_with_exit_codes() -> String {
    format!("{EXAMPLES}\n\n{EXIT_CODES}")
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Review the records: what needs a person today, then the counts
    Review(review::ReviewCommand),
    /// Say what was read and what was not, line by line
    Read(read::ReadCommand),
    /// Review many departments side by side: what needs a person at which, and what shows across them
    Sites(sites::SitesCommand),
    /// Rank the units for service, and say on what evidence
    Service(service::ServiceCommand),
    /// Judge every load: what needs a person first, with the rules and lines that decide
    Release(release::ReleaseCommand),
    /// Print the packages to get back after a BI grew, or those of a lot
    Recall(recall::RecallCommand),
    /// Print the policy that loads are judged by, or check policy files
    Policy(policy::PolicyCommand),
    /// Show one cycle or load in full, with its readings, indicators and lines
    Show(show::ShowCommand),
    /// Write a report for paper and screen: review, investigation, monthly or service
    Report(report::ReportCommand),
    /// Read strips as they are printed, and say at once what needs a person
    Follow(follow::FollowCommand),
    /// Keep the records for years: add, list, verify, review, reread, tables
    Archive(archive::ArchiveCommand),
    /// Write everything that was read and found as tables: CSV, JSON or Parquet
    Export(export::ExportCommand),
    /// Teach loadbook a printer: draft, try, check and list layouts
    Layout(layout::LayoutCommand),
    /// Write records of any kind as neutral text
    Convert(convert::ConvertCommand),
    /// Make practice records of an invented department, for teaching and for sizing
    Simulate(simulate::SimulateArgs),
    /// Check this copy of loadbook: known answers, pass or fail, with their sources
    Selftest(selftest::SelftestCommand),
    /// Print the shell's completions
    Completions(completions::CompletionsCommand),
    /// Print the manual page
    Man(man::ManCommand),
}

/// Runs the command line and gives the exit code. The result is written to `out`, and what hinders it to `err`. A defect
/// that stops it in the middle is told there too.
pub fn run<A: Into<OsString> + Clone>(
    args: impl IntoIterator<Item = A>,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Exit {
    mishap::guard(|err| carry_out(args, out, err), err)
}

fn carry_out<A: Into<OsString> + Clone>(
    args: impl IntoIterator<Item = A>,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Exit {
    let cli = match Cli::try_parse_from(args) {
        Ok(cli) => cli,
        Err(error) => {
            let exit = if error.use_stderr() {
                Exit::Input
            } else {
                Exit::Fine
            };
            // Nothing can be done where not even an error can be printed.
            let _ = error.print();
            return exit;
        }
    };
    let result = match &cli.command {
        Command::Review(command) => review::run(command, err),
        Command::Read(command) => read::run(command, err),
        Command::Sites(command) => sites::run(command, err),
        Command::Service(command) => service::run(command, err),
        Command::Show(command) => show::run(command, err),
        Command::Report(command) => report::run(command, err),
        Command::Archive(command) => archive::run(command, out, err),
        Command::Follow(command) => follow::run(command, out, err),
        Command::Export(command) => export::run(command, err),
        Command::Layout(command) => layout::run(command, err),
        Command::Convert(command) => convert::run(command, err),
        Command::Release(command) => release::run(command, err),
        Command::Recall(command) => recall::run(command, err),
        Command::Policy(command) => policy::run(command),
        Command::Selftest(command) => selftest::run(command),
        Command::Simulate(args) => match simulate::make(args) {
            Ok(said) => Ok((said + "\n", Exit::Fine)),
            Err(error) => Err(Refusal::new(error.to_string())),
        },
        Command::Completions(command) => completions::run(command, &mut Cli::command()),
        Command::Man(command) => man::run(command, Cli::command()),
    };
    let (text, exit) = match result {
        Ok(printed) => printed,
        Err(refusal) => {
            let _ = writeln!(err, "error: {}", crate::report::inert::text(&refusal.said));
            for line in &refusal.more {
                let _ = writeln!(err, "  {}", crate::report::inert::text(line));
            }
            return Exit::Input;
        }
    };
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Ok(()) => exit,
        // Whoever read the output has seen enough, as `head` does.
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => exit,
        Err(error) => {
            let _ = writeln!(err, "error: the output can't be written: {}", error.kind());
            Exit::Input
        }
    }
}

/// Why a command was not carried out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// In a sentence.
    pub said: String,
    /// Lines that help further.
    pub more: Vec<String>,
}

impl Refusal {
    /// A refusal in a sentence.
    pub fn new(said: impl Into<String>) -> Self {
        Refusal {
            said: said.into(),
            more: Vec::new(),
        }
    }
}

/// What a command prints, and the exit code.
pub type Printed = Result<(String, Exit), Refusal>;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_command_line_is_sound() {
        Cli::command().debug_assert();
    }
}
