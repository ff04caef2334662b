//! `loadbook layout`: list the layouts, check one, try one on strips, draft one from strips.
//!
//! Reads files and draws; what a layout is and does stands in `parse::layout`. Read [`run`] first; [`find_layout`] is how
//! `--layout` finds one.

use super::exit::{EXIT_CODES, Exit};
use super::{Printed, Refusal};
use crate::diagnose::Diagnostic;
use crate::parse::LayoutChoice;
use crate::parse::layout::compile::{Layout, ScanRepair, compile_for};
use crate::parse::layout::draft::draft_layout;
use crate::parse::layout::language::{LayoutFiles, LayoutText};
use crate::parse::layout::shipped::{shipped, shipped_for_scans, shipped_text};
use crate::parse::layout::trial::{Strip, try_layout};
use crate::report::terminal::diagnostic::draw_diagnostic;
use crate::report::terminal::layout::{draw_draft_notes, draw_layouts, draw_trial};
use crate::report::terminal::{Color, Extent, Terminal};
use crate::source::site_file::{read_site_file, say_cause};
use clap::{Args, Subcommand};
use std::io::{IsTerminal, Write};
use std::path::Path;
use std::sync::Arc;

/// No layout or sample strip is longer than this; it bounds the memory that a wrong argument can cost.
const LONGEST: u64 = 64 * 1024 * 1024;

/// Teaches loadbook a printer: `draft` proposes a layout from its strips, `try` shows what a layout makes of every line,
/// `check` says what is wrong with one, `list` names those that come with loadbook.
#[derive(Debug, Args)]
#[command(after_help = format!("Examples:
  loadbook layout draft strip.txt -o ours.toml     propose a layout
  loadbook layout try ours.toml strip.txt          see what it makes of every line
  loadbook layout check ours.toml
  loadbook review --layout ours.toml strips/

{EXIT_CODES}"))]
pub struct LayoutCommand {
    /// What to do.
    #[command(subcommand)]
    pub action: LayoutAction,
}

/// What to do with layouts.
#[derive(Debug, Subcommand)]
pub enum LayoutAction {
    /// Name the layouts that come with loadbook
    List(DrawOptions),
    /// Say what is wrong with a layout, each fault at its place
    Check {
        /// The layout: a file, or the name of one that `list` shows
        #[arg(value_name = "LAYOUT")]
        layout: String,
        /// How it is drawn.
        #[command(flatten)]
        draw: DrawOptions,
    },
    /// Show what a layout makes of each line of strips, unread lines first
    Try {
        /// The layout: a file, or the name of one that `list` shows
        #[arg(value_name = "LAYOUT")]
        layout: String,
        /// The strips
        #[arg(value_name = "STRIP", required = true)]
        strips: Vec<String>,
        /// How it is drawn.
        #[command(flatten)]
        draw: DrawOptions,
    },
    /// Propose a layout from sample strips
    Draft {
        /// The strips; several cycles, and an aborted one among them, make a better draft
        #[arg(value_name = "STRIP", required = true)]
        strips: Vec<String>,
        /// Write the layout to this new file
        #[arg(short, long, value_name = "FILE")]
        output: Option<String>,
        /// How it is drawn.
        #[command(flatten)]
        draw: DrawOptions,
    },
}

/// By which layout strips are read that are not neutral text.
#[derive(Debug, Clone, Default, Args)]
pub struct LayoutOptions {
    /// Read strips that are not neutral text by this layout, whatever they hold: a name that `layout list` shows, or a
    /// file [default: the layout that comes with loadbook and fits]
    #[arg(long, value_name = "LAYOUT", help_heading = "How records are read")]
    pub layout: Option<String>,
    /// The strips were scanned: put right slips such as O for 0 where one reading is left, and say each
    #[arg(long, help_heading = "How records are read")]
    pub ocr: bool,
}

impl LayoutOptions {
    /// The layout to read by.
    ///
    /// # Errors
    /// A layout that does not exist or has faults.
    pub fn choice(&self) -> Result<LayoutChoice, Refusal> {
        let repair = if self.ocr {
            ScanRepair::Repair
        } else {
            ScanRepair::Leave
        };
        Ok(match &self.layout {
            Some(name) => LayoutChoice::Forced(find_layout(name, repair)?),
            None if self.ocr => LayoutChoice::ByContent(shipped_for_scans().to_vec()),
            None => LayoutChoice::ByContent(shipped().to_vec()),
        })
    }
}

/// How it is drawn.
#[derive(Debug, Clone, Args)]
pub struct DrawOptions {
    /// Columns to draw in, 60 to 200 [default: the terminal's, at most 120; 80 without a terminal]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(60..=200))]
    pub width: Option<u16>,
    /// Show every line, not only the first of many
    #[arg(long)]
    pub all: bool,
    /// Whether to use colour; nothing is told by colour alone
    #[arg(long, value_enum, default_value_t = super::options::When::Auto)]
    pub color: super::options::When,
}

impl DrawOptions {
    /// What is drawn upon.
    pub(super) fn terminal(&self) -> Terminal {
        use super::options::When;
        let is_terminal = std::io::stdout().is_terminal();
        let seen = if is_terminal {
            terminal_size::terminal_size()
        } else {
            None
        };
        let by_itself = seen.map_or(80, |(width, _)| usize::from(width.0.clamp(60, 120)));
        let no_color = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
        Terminal {
            width: self.width.map_or(by_itself, usize::from),
            color: match self.color {
                When::Always => Color::Ansi,
                When::Auto if is_terminal && !no_color => Color::Ansi,
                When::Auto | When::Never => Color::Plain,
            },
            extent: Extent::of_lists(self.all),
            folder: String::new(),
        }
    }
}

/// Runs the command.
///
/// # Errors
/// A file that can't be read or written; for `try`, a layout with faults.
pub fn run(command: &LayoutCommand, err: &mut dyn Write) -> Printed {
    match &command.action {
        LayoutAction::List(draw) => Ok((draw_layouts(shipped(), &draw.terminal()), Exit::Fine)),
        LayoutAction::Check { layout, draw } => check(layout, &draw.terminal()),
        LayoutAction::Try {
            layout,
            strips,
            draw,
        } => {
            let layout = find_layout(layout, ScanRepair::Leave)?;
            let trial = try_layout(&layout, &read_strips(strips)?);
            let exit = if trial.is_complete() {
                Exit::Fine
            } else {
                Exit::Findings
            };
            Ok((draw_trial(&trial, &layout, &draw.terminal()), exit))
        }
        LayoutAction::Draft {
            strips,
            output,
            draw,
        } => draft(strips, output.as_deref(), &draw.terminal(), err),
    }
}

fn check(layout: &str, terminal: &Terminal) -> Printed {
    let (files, said, name) = match compile_named(layout, ScanRepair::Leave)? {
        Ok(layout) => {
            let files = layout.files.clone();
            (files, layout.warnings.clone(), Some(layout.name.clone()))
        }
        Err((files, said)) => (files, said, None),
    };
    let mut text = String::new();
    for diagnostic in &said {
        text.push_str(&draw_diagnostic(diagnostic, &files, terminal));
        text.push('\n');
    }
    match name {
        Some(name) => {
            text.push_str(&format!("The layout {name} has no faults.\n"));
            Ok((text, Exit::Fine))
        }
        None => {
            let n = said.len();
            let faults = if n == 1 { "fault" } else { "faults" };
            text.push_str(&format!("The layout has {n} {faults} and can't be used.\n"));
            Ok((text, Exit::Findings))
        }
    }
}

fn draft(
    strips: &[String],
    output: Option<&str>,
    terminal: &Terminal,
    err: &mut dyn Write,
) -> Printed {
    let draft = draft_layout(&read_strips(strips)?);
    let Some(output) = output else {
        let _ = write!(err, "{}", draw_draft_notes(&draft, "FILE", terminal));
        return Ok((draft.toml, Exit::Fine));
    };
    let written = std::fs::OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(output)
        .and_then(|mut file| file.write_all(draft.toml.as_bytes()));
    if let Err(error) = written {
        return Err(Refusal::new(format!(
            "`{output}` can't be written: {}",
            error.kind()
        )));
    }
    Ok((draw_draft_notes(&draft, output, terminal), Exit::Fine))
}

fn read_strips(paths: &[String]) -> Result<Vec<Strip>, Refusal> {
    paths
        .iter()
        .map(|path| {
            Ok(Strip {
                name: path.clone(),
                bytes: read_file(path)?,
            })
        })
        .collect()
}

fn read_file(path: &str) -> Result<Vec<u8>, Refusal> {
    read_site_file(Path::new(path), LONGEST)
        .map_err(|error| Refusal::new(format!("`{path}` can't be read: {}", say_cause(&error))))
}

type Compiled = Result<Layout, (LayoutFiles, Vec<Diagnostic>)>;

/// Compiles the layout of a name or a file. What it extends is the name of a shipped layout, or a file beside it.
fn compile_named(layout: &str, scan: ScanRepair) -> Result<Compiled, Refusal> {
    let text = match shipped_text(layout) {
        Some(text) => text,
        None if !Path::new(layout).exists() => {
            let names: Vec<&str> = shipped().iter().map(|known| known.name.as_str()).collect();
            let mut refusal = Refusal::new(format!("there is no layout and no file `{layout}`"));
            refusal.more.push(format!(
                "layouts that come with loadbook: {}",
                names.join(", ")
            ));
            return Err(refusal);
        }
        None => LayoutText {
            name: layout.to_owned(),
            text: String::from_utf8_lossy(&read_file(layout)?).into_owned(),
        },
    };
    let folder = Path::new(layout).parent().map(Path::to_owned);
    let find = |name: &str| {
        shipped_text(name).or_else(|| {
            let path = folder.as_ref()?.join(name);
            let path = path.to_string_lossy().into_owned();
            let bytes = read_file(&path).ok()?;
            Some(LayoutText {
                name: path,
                text: String::from_utf8_lossy(&bytes).into_owned(),
            })
        })
    };
    Ok(compile_for(text, &find, scan))
}

/// The layout of a name or a file, as `--layout` gives it; for strips that were scanned where `--ocr` says so.
///
/// # Errors
/// There is none, or it has faults.
pub fn find_layout(layout: &str, scan: ScanRepair) -> Result<Arc<Layout>, Refusal> {
    match compile_named(layout, scan)? {
        Ok(layout) => Ok(Arc::new(layout)),
        Err((_, said)) => {
            let mut refusal = Refusal::new(format!("the layout `{layout}` has faults"));
            refusal
                .more
                .extend(said.iter().take(5).map(|said| match said.primary {
                    Some(span) => format!("line {}: {}", span.line, said.headline),
                    None => said.headline.clone(),
                }));
            refusal.more.push(format!(
                "`loadbook layout check {layout}` shows each at its place"
            ));
            Err(refusal)
        }
    }
}
