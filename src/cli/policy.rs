//! `loadbook policy`: the policy that loads are judged by, and whether policy files can be used.

use super::exit::Exit;
use super::options::{Format, SharedOptions};
use super::output::write_json;
use super::{Printed, Refusal};
use crate::judge::policy::read::{PolicyError, read_policy};
use crate::judge::policy::{PolicyBook, Preset};
use crate::report::inert;
use crate::report::policy::{PolicyNote, write_policy_report};
use crate::report::terminal::Terminal;
use crate::report::terminal::policy::{draw_policy_notes, draw_policy_report};
use crate::report::terminal::prose::paragraph;
use crate::source::site_file::{read_site_file, say_cause};
use clap::{Args, Subcommand, ValueEnum};
use std::path::Path;

/// A preset on the command line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum PresetName {
    /// The CDC's guideline of 2008
    #[value(name = "cdc-2008")]
    Cdc2008,
    /// Stricter: a biological indicator in every load
    #[value(name = "every-load")]
    EveryLoad,
}

impl PresetName {
    fn preset(self) -> Preset {
        match self {
            PresetName::Cdc2008 => Preset::Cdc2008,
            PresetName::EveryLoad => Preset::EveryLoad,
        }
    }
}

/// By what loads are judged. Shared by release, recall, review and show.
#[derive(Debug, Clone, Default, Args)]
pub struct PolicyOptions {
    /// Judge by this policy file; give several for policies that follow one another in time
    #[arg(long, value_name = "FILE", help_heading = "How loads are judged")]
    pub policy: Vec<String>,
    /// Judge by this preset [default: cdc-2008]
    #[arg(
        long,
        value_enum,
        value_name = "NAME",
        conflicts_with = "policy",
        help_heading = "How loads are judged"
    )]
    pub preset: Option<PresetName>,
}

impl PolicyOptions {
    /// The policies asked for.
    ///
    /// # Errors
    /// A file that can't be read, and everything that is wrong in them.
    pub fn read_book(&self) -> Result<PolicyBook, Refusal> {
        if self.policy.is_empty() {
            let preset = self.preset.map_or(Preset::Cdc2008, PresetName::preset);
            return Ok(PolicyBook::of_preset(preset));
        }
        read_files(&self.policy)
    }
}

fn read_files(names: &[String]) -> Result<PolicyBook, Refusal> {
    let mut texts = Vec::new();
    for name in names {
        let text = read_text(name)
            .map_err(|why| Refusal::new(format!("the policy {name} can't be read: {why}")))?;
        texts.push((name.as_str(), text));
    }
    let files: Vec<(&str, &str)> = texts
        .iter()
        .map(|(name, text)| (*name, text.as_str()))
        .collect();
    PolicyBook::read_policies(&files).map_err(|errors| Refusal {
        said: format!("the policy can't be used ({} found)", say_n(errors.len())),
        more: errors.iter().flat_map(say_error).collect(),
    })
}

/// The longest policy, in bytes. One that sets every rule has some ten thousand.
const LONGEST: u64 = 1 << 20;

fn read_text(name: &str) -> Result<String, String> {
    let bytes = read_site_file(Path::new(name), LONGEST).map_err(|error| say_cause(&error))?;
    String::from_utf8(bytes).map_err(|_| "it is not UTF-8".to_owned())
}

fn say_n(n: usize) -> String {
    if n == 1 {
        "1 error".to_owned()
    } else {
        format!("{n} errors")
    }
}

fn say_error(error: &PolicyError) -> [String; 2] {
    [error.to_string(), format!("  help: {}", error.help)]
}

/// Prints the policy that loads are judged by: for each rule its question, what it does, its parameters, where it comes
/// from and how that is known; when biological indicators are due; and in what it departs from its preset.
#[derive(Debug, Args)]
#[command(
    args_conflicts_with_subcommands = true,
    after_help = "Examples:
  loadbook policy                             the preset cdc-2008
  loadbook policy --preset every-load
  loadbook policy 2025.toml 2026.toml         two that follow one another
  loadbook policy check 2026.toml

Exit codes:
  0  fine
  2  a policy that can't be read or used"
)]
pub struct PolicyCommand {
    /// Whether files can be used.
    #[command(subcommand)]
    pub action: Option<PolicyAction>,
    /// Policy files; the preset if none is given
    #[arg(value_name = "FILE", conflicts_with = "preset")]
    pub files: Vec<String>,
    /// Print this preset
    #[arg(long, value_enum, value_name = "NAME")]
    pub preset: Option<PresetName>,
    /// Text for people, or JSON for machines
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    /// Columns to draw in, 60 to 200
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(60..=200))]
    pub width: Option<u16>,
}

/// What to do with policy files.
#[derive(Debug, Subcommand)]
pub enum PolicyAction {
    /// Check policy files without judging anything: every error with its line and column
    Check(CheckCommand),
}

/// Checks policy files.
#[derive(Debug, Args)]
pub struct CheckCommand {
    /// Policy files; several must follow one another in time
    #[arg(value_name = "FILE", required = true)]
    pub files: Vec<String>,
}

/// Runs the command.
///
/// # Errors
/// A policy that can't be read or used.
pub fn run(command: &PolicyCommand) -> Printed {
    let terminal = SharedOptions::plain_terminal(command.width);
    if let Some(PolicyAction::Check(check)) = &command.action {
        return run_check(check, &terminal);
    }
    let options = PolicyOptions {
        policy: command.files.clone(),
        preset: command.preset,
    };
    let report = write_policy_report(&options.read_book()?);
    let text = match command.format {
        Format::Json => write_json(&report)?,
        Format::Text => draw_policy_report(&report, &terminal),
    };
    Ok((text, Exit::Fine))
}

fn run_check(check: &CheckCommand, terminal: &Terminal) -> Printed {
    // Each alone first, so that what is wrong in one does not hide the others; then their periods together.
    let mut notes = Vec::new();
    let mut errors: Vec<String> = Vec::new();
    for name in &check.files {
        match read_text(name) {
            Err(why) => errors.push(format!("{name}: can't be read: {why}")),
            Ok(text) => match read_policy(name, &text) {
                Err(found) => errors.extend(found.iter().flat_map(say_error)),
                Ok(policy) => notes.push((name, PolicyNote::of(&policy))),
            },
        }
    }
    if !errors.is_empty() {
        return Err(Refusal {
            said: "a policy can't be used".to_owned(),
            more: errors,
        });
    }
    read_files(&check.files)?;
    let mut out = String::new();
    for (name, note) in notes {
        out.push_str(&paragraph(
            "",
            &format!("{}: can be used.", inert::text(name)),
            terminal.width,
        ));
        out.push_str(&draw_policy_notes(&[note], terminal));
    }
    Ok((out, Exit::Fine))
}
