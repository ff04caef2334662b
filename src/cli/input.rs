//! What is read: the paths on the command line, or an archive in their place. Read [`find_inputs`] first.

use super::Refusal;
use super::archive_file::way_of_file;
use super::layout::LayoutOptions;
use crate::archive::fault::ArchiveFault;
use crate::archive::store::Archive;
use crate::diagnose::Diagnostic;
use crate::diagnose::codes::Code;
use crate::parse::LayoutChoice;
use crate::source::gather::{Input, gather};
use clap::Args;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// What is read.
#[derive(Debug, Clone, Default, Args)]
pub struct InputOptions {
    /// Files, folders, patterns, or `-` for standard input
    #[arg(value_name = "PATH", required_unless_present = "archive")]
    pub paths: Vec<String>,
    /// Read what is in this archive, instead of paths
    #[arg(
        long,
        value_name = "DIR",
        conflicts_with = "paths",
        help_heading = "How records are read"
    )]
    pub archive: Option<PathBuf>,
}

/// The inputs, and how they are to be read.
#[derive(Debug)]
pub struct FoundInputs {
    /// The inputs, in the order in which they are to be read.
    pub inputs: Vec<Input>,
    /// By which layouts.
    pub choice: LayoutChoice,
    /// What was wrong with some of them.
    pub diagnostics: Vec<Diagnostic>,
}

/// Finds the inputs that are named.
///
/// # Errors
/// There is no archive, or one that can't be used; a layout that does not exist or has faults.
pub fn find_inputs(input: &InputOptions, layout: &LayoutOptions) -> Result<FoundInputs, Refusal> {
    let choice = layout.choice()?;
    match &input.archive {
        Some(root) => find_in_archive(root, layout, choice),
        None => {
            let gathered = gather(&input.paths);
            Ok(FoundInputs {
                inputs: gathered.inputs,
                choice,
                diagnostics: gathered.diagnostics,
            })
        }
    }
}

/// The files of an archive, each read as it was read when it was added, unless the command line says otherwise.
fn find_in_archive(
    root: &Path,
    layout: &LayoutOptions,
    others: LayoutChoice,
) -> Result<FoundInputs, Refusal> {
    let archive = Archive::open(root).map_err(|fault| refuse_fault(&fault))?;
    let diagnostics = archive
        .damages()
        .iter()
        .map(|damage| {
            let said = format!("the archive `{}` is damaged: {damage}", root.display());
            Diagnostic::general(Code::ArchiveDamaged, said)
        })
        .collect();
    let mut named = BTreeMap::new();
    let mut inputs = Vec::new();
    let is_told = layout.layout.is_some() || layout.ocr;
    for found in archive.inputs() {
        if !is_told && let Some(way) = way_of_file(&archive, &found.file)? {
            named.insert(found.input.name().to_owned(), way.choice);
        }
        inputs.push(found.input);
    }
    Ok(FoundInputs {
        inputs,
        choice: LayoutChoice::ByName {
            named,
            others: Box::new(others),
        },
        diagnostics,
    })
}

/// The refusal of an archive that can't be used.
pub(super) fn refuse_fault(fault: &ArchiveFault) -> Refusal {
    let mut refusal = Refusal::new(fault.to_string());
    refusal.more.push(fault.help());
    refusal
}
