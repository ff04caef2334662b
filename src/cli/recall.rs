//! `loadbook recall`: the sheet of packages to get back.

use super::exit::{EXIT_CODES, Exit};
use super::input::InputOptions;
use super::intake::read_input;
use super::options::{Format, SharedOptions};
use super::output::write_json;
use super::policy::PolicyOptions;
use super::{Printed, Refusal};
use crate::judge::recall::lot::{find_lots, lot_numbers};
use crate::record::consumable::ConsumableKind;
use crate::report::recall::{write_lot_recall, write_recall, write_recall_csv};
use crate::report::terminal::recall::draw_recall;
use clap::{Args, ValueEnum};
use std::io::Write;

/// A kind of consumable on the command line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum KindName {
    /// Peroxide or ethylene oxide supplies
    Sterilant,
    /// Chemical indicators
    Ci,
    /// Biological indicators
    Bi,
    /// Pouches, wraps and other packaging
    Packaging,
    /// Any other
    Other,
}

impl KindName {
    fn kind(self) -> ConsumableKind {
        match self {
            KindName::Sterilant => ConsumableKind::Sterilant,
            KindName::Ci => ConsumableKind::Ci,
            KindName::Bi => ConsumableKind::Bi,
            KindName::Packaging => ConsumableKind::Packaging,
            KindName::Other => ConsumableKind::Other,
        }
    }
}

/// Finds for each biological indicator that grew the loads that it puts in doubt, and prints a sheet with a tick box for
/// each package, where it went, and lines to sign. With --lot, the loads that used a lot of a consumable.
///
/// Not steam: every load of the unit after the last satisfactory BI and before the next one. Steam: after a single
/// growing BI without another fault implants come back at once, and BIs in three consecutive cycles decide about the
/// rest. A test without a control that grew, or read outside its times, ends no scope; missing printouts widen it and
/// are said.
#[derive(Debug, Args)]
#[command(after_help = format!("Examples:
  loadbook recall records/
  loadbook recall records/ --unit PL-1 --csv recall.csv
  loadbook recall records/ --lot K4471
  loadbook recall records/ --lot C2258 --kind ci
  loadbook recall records/ --as-of \"2026-03-04 12:00\"

{EXIT_CODES}"))]
pub struct RecallCommand {
    /// What is read.
    #[command(flatten)]
    pub input: InputOptions,
    /// The loads that used this lot, instead of growing indicators
    #[arg(long, value_name = "LOT", help_heading = "What is shown")]
    pub lot: Option<String>,
    /// Of this kind of consumable only
    #[arg(
        long,
        value_enum,
        value_name = "KIND",
        requires = "lot",
        help_heading = "What is shown"
    )]
    pub kind: Option<KindName>,
    /// Write the packages to this file as well, for a spreadsheet
    #[arg(long, value_name = "FILE", help_heading = "How it is drawn")]
    pub csv: Option<String>,
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
/// A unit, program or lot that no record has; a policy that can't be used; a CSV file that can't be written.
pub fn run(command: &RecallCommand, err: &mut dyn Write) -> Printed {
    let book = command.policy.read_book()?;
    let intake = read_input(&command.input, &command.options, err)?;
    let judged = intake.judge(book);
    let reviewed = intake.reviewed(&judged);
    let report = match &command.lot {
        None => write_recall(&reviewed),
        Some(lot) => {
            let kind = command.kind.map(KindName::kind);
            let report = write_lot_recall(&reviewed, lot, kind);
            if report.sheets.is_empty() && intake.exit == Exit::Fine {
                return Err(refuse_lot(lot, kind, &intake.history));
            }
            report
        }
    };
    if let Some(path) = &command.csv {
        let written = write_recall_csv(&report)
            .map_err(|error| Refusal::new(format!("the CSV can't be made: {error}")))?;
        std::fs::write(path, written)
            .map_err(|error| Refusal::new(format!("{path} can't be written: {}", error.kind())))?;
    }
    let findings = if report.needs_person() {
        Exit::Findings
    } else {
        Exit::Fine
    };
    let text = match command.options.format {
        Format::Json => write_json(&report)?,
        Format::Text => draw_recall(&report, &command.options.terminal(intake.folder())),
    };
    Ok((text, Exit::of(intake.exit, findings)))
}

fn refuse_lot(
    lot: &str,
    kind: Option<ConsumableKind>,
    history: &crate::reconcile::history::History,
) -> Refusal {
    let of_kind = kind.map_or_else(String::new, |kind| format!(" of kind {}", kind.word()));
    let mut refusal = Refusal::new(format!("no record has the lot `{lot}`{of_kind}"));
    let lots = find_lots(history, None);
    let asked = lot.to_lowercase();
    let mut near: Vec<(usize, &str)> = lot_numbers(&lots)
        .into_iter()
        .map(|known| (strsim::osa_distance(&asked, &known.to_lowercase()), known))
        .filter(|(distance, _)| *distance <= 2)
        .collect();
    near.sort_unstable();
    let near: Vec<&str> = near.into_iter().take(5).map(|(_, known)| known).collect();
    if !near.is_empty() {
        refusal
            .more
            .push(format!("near it are: {}", near.join(", ")));
    }
    refusal
}
