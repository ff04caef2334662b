//! How a file of an archive is read, and what was read from it. Read [`read_file`] first.

use super::Refusal;
use super::input::refuse_fault;
use super::layout::{LayoutOptions, find_layout};
use crate::archive::fingerprint::Fingerprint;
use crate::archive::object::read_object;
use crate::archive::reading::{LayoutMark, LayoutOrigin, Reader, Reading, Scan, read_particulars};
use crate::archive::store::{Archive, HeldFile};
use crate::parse::layout::compile::{Layout, ScanRepair, compile_for};
use crate::parse::layout::language::LayoutText;
use crate::parse::layout::shipped::{shipped, shipped_for_scans, shipped_text};
use crate::parse::{LayoutChoice, READER_VERSION, Records, Strictness, read_inputs_by};
use crate::source::gather::Input;
use std::sync::Arc;

/// How a file is read.
#[derive(Debug, Clone)]
pub struct Way {
    /// By which layout.
    pub choice: LayoutChoice,
    /// Whether slips of a scan are put right.
    pub scan: Scan,
}

/// The way that the command line asks for.
///
/// # Errors
/// A layout that does not exist or has faults.
pub fn way_of_options(layout: &LayoutOptions) -> Result<Way, Refusal> {
    Ok(Way {
        choice: layout.choice()?,
        scan: if layout.ocr {
            Scan::Repaired
        } else {
            Scan::Left
        },
    })
}

/// The way in which a file was read when it was added, if that is not the usual one.
///
/// # Errors
/// Its layout is damaged, or this loadbook can't use it any more.
pub fn way_of_file(archive: &Archive, file: &HeldFile) -> Result<Option<Way>, Refusal> {
    let scan = file.reading.by.scan;
    let repair = match scan {
        Scan::Left => ScanRepair::Leave,
        Scan::Repaired => ScanRepair::Repair,
    };
    let choice = match &file.reading.by.layout {
        Some(mark) if mark.from == LayoutOrigin::Kept => {
            LayoutChoice::Forced(compile_kept(archive, mark, repair)?)
        }
        Some(mark) if mark.from == LayoutOrigin::Named => {
            LayoutChoice::Forced(find_layout(&mark.name, repair)?)
        }
        _ if scan == Scan::Repaired => LayoutChoice::ByContent(shipped_for_scans().to_vec()),
        _ => return Ok(None),
    };
    Ok(Some(Way { choice, scan }))
}

/// Compiles a layout that the archive keeps.
fn compile_kept(
    archive: &Archive,
    mark: &LayoutMark,
    repair: ScanRepair,
) -> Result<Arc<Layout>, Refusal> {
    let advice = "name the layout to read by with --layout";
    let kept = archive.layout(&mark.sha256).ok_or_else(|| {
        let mut refusal = Refusal::new(format!(
            "the archive has not the layout `{}`, by which some of its files were read",
            mark.name
        ));
        refusal.more.push(advice.to_owned());
        refusal
    })?;
    let mut texts = Vec::new();
    for text in &kept.texts {
        let bytes =
            read_object(archive.root(), &text.object).map_err(|fault| refuse_fault(&fault))?;
        texts.push(LayoutText {
            name: text.name.clone(),
            text: String::from_utf8_lossy(&bytes).into_owned(),
        });
    }
    // Texts are asked for by the name that stands in `extends`; the kept ones have the names of their files.
    let find = |asked: &str| {
        let of_name =
            |text: &&LayoutText| text.name == asked || text.name.ends_with(&format!("/{asked}"));
        texts
            .iter()
            .skip(1)
            .find(of_name)
            .cloned()
            .or_else(|| shipped_text(asked))
    };
    let compiled = texts
        .first()
        .map(|own| compile_for(own.clone(), &find, repair));
    match compiled {
        Some(Ok(layout)) => Ok(Arc::new(layout)),
        Some(Err(_)) | None => {
            let mut refusal = Refusal::new(format!(
                "this loadbook can't use the layout `{}` that the archive keeps",
                mark.name
            ));
            refusal.more.push(advice.to_owned());
            Err(refusal)
        }
    }
}

/// Reads one file, and says what was read from it.
///
/// # Errors
/// It can't be read, or is not as it was added.
pub fn read_file(input: Input, way: &Way) -> Result<Reading, Refusal> {
    let inputs = vec![input];
    let (sources, records) = read_inputs_by(inputs, Strictness::Infer, &way.choice, |_| {});
    let fault = records
        .diagnostics
        .iter()
        .find(|said| said.code.is_of_unreadable_file());
    if let Some(fault) = fault {
        let mut refusal = Refusal::new(fault.headline.clone());
        refusal.more.push(fault.help.clone());
        return Err(refusal);
    }
    let by = Reader {
        loadbook: env!("CARGO_PKG_VERSION").to_owned(),
        parser: READER_VERSION,
        layout: mark_of(&records, way),
        scan: way.scan,
    };
    let n_unread = records
        .unread
        .iter()
        .fold(0_u64, |n, unread| n.saturating_add(unread.lines.n_lines()));
    let n_lines = sources.files().first().map_or(0, |file| file.n_lines);
    read_particulars(by, n_lines, &records.cycles, &records.entries, n_unread)
        .map_err(|error| Refusal::new(format!("the records can't be written: {error}")))
}

/// The layout by which records were read.
fn mark_of(records: &Records, way: &Way) -> Option<LayoutMark> {
    let name = &records.by_layout.first()?.layout;
    let (layout, from) = match &way.choice {
        LayoutChoice::Forced(layout) => (layout, origin_of(layout)),
        _ => {
            let layout = shipped().iter().find(|layout| layout.name == *name)?;
            (layout, LayoutOrigin::Fitting)
        }
    };
    let own = layout.files.files().first()?;
    Some(LayoutMark {
        name: name.clone(),
        sha256: Fingerprint::of(own.text.as_bytes()),
        from,
    })
}

/// Where a layout that a person named comes from.
pub fn origin_of(layout: &Layout) -> LayoutOrigin {
    let own = layout.files.files().first();
    let is_shipped = own.is_some_and(|own| shipped_text(&own.name).as_ref() == Some(own));
    if is_shipped {
        LayoutOrigin::Named
    } else {
        LayoutOrigin::Kept
    }
}
