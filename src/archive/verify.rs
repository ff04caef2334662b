//! Holding an archive against its manifest, byte for byte.
//!
//! Read [`verify`] first. It changes nothing.

use super::fault::{ArchiveFault, Damage};
use super::fingerprint::Fingerprint;
use super::object::{OBJECTS, check_object, object_name};
use super::part::{Part, TABLES};
use super::store::{Archive, INCOMING, LOCK, MANIFEST, SEAL, TOLD, read_chain};
use super::tables::{find_damaged_parts, list_table_files};
use crate::measure::count::Counting;
use std::collections::BTreeSet;
use std::path::Path;

/// What was found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verified {
    /// What is damaged, in order: the manifest, then the objects by their names, then the parts of tables.
    pub damages: Vec<Damage>,
    /// What is not damaged and worth knowing.
    pub notes: Vec<Damage>,
    /// Lines of the manifest.
    pub n_lines: u64,
    /// Files that are read.
    pub n_files_read: u64,
    /// Files that are kept, those that are read included.
    pub n_files: u64,
    /// Bytes of all files that are kept.
    pub n_bytes: u64,
    /// Bytes of all objects on disk.
    pub n_packed_bytes: u64,
    /// Parts of tables.
    pub n_parts: u64,
    /// Bytes of all parts of tables.
    pub n_part_bytes: u64,
    /// The SHA-256 of the manifest's last line.
    pub fingerprint: Fingerprint,
    /// The line that has the fingerprint that was asked for.
    pub asked: Option<u64>,
}

/// Reads every byte of an archive and names whatever is changed, missing or in the wrong place. After each object
/// `progress` is told its size on disk.
///
/// A fingerprint that was noted before is looked for: an archive in which some line has it holds all that it held then,
/// unchanged and in the same order.
///
/// # Errors
/// There is no archive, or one of a newer loadbook, or it can't be read at all.
pub fn verify(
    root: &Path,
    asked: Option<&Fingerprint>,
    mut progress: impl FnMut(u64),
) -> Result<Verified, ArchiveFault> {
    let chain = read_chain(root)?;
    let archive = Archive::open(root)?;
    let mut damages = archive.damages().to_vec();
    let mut notes = Vec::new();
    let n_asked = asked.and_then(|asked| {
        let found = (1..)
            .zip(&chain.fingerprints)
            .find(|(_, line)| *line == asked);
        found.map(|(line, _)| line)
    });
    if let Some(asked) = asked.filter(|_| n_asked.is_none()) {
        damages.push(Damage::at(
            MANIFEST,
            format!(
                "no line has the fingerprint {asked}: it was changed since that was noted, or is another archive's"
            ),
        ));
    }
    if archive.n_torn_bytes() > 0 {
        notes.push(Damage::at(
            MANIFEST,
            format!(
                "its last {} bytes were being written when loadbook was stopped, or are being written now; nothing of \
                 them was acknowledged, and the next addition removes them",
                archive.n_torn_bytes()
            ),
        ));
    }
    let objects = archive.objects();
    let mut n_packed_bytes = 0_u64;
    for object in objects.values() {
        if let Err(damage) = check_object(root, object) {
            damages.push(damage);
        }
        n_packed_bytes = n_packed_bytes.saturating_add(object.n_packed_bytes);
        progress(object.n_packed_bytes);
    }
    damages.extend(find_damaged_parts(&archive)?);
    if let Some(tables) = archive.tables()
        && tables.from_line < archive.read_line()
    {
        notes.push(Damage::at(
            TABLES,
            format!(
                "they are older than the originals: made from what came in by line {}, and line {} came since; \
                 `loadbook archive tables` brings them up to date",
                tables.from_line,
                archive.read_line()
            ),
        ));
    }
    find_strangers(root, &archive, &mut damages, &mut notes)?;
    Ok(Verified {
        damages,
        notes,
        n_lines: archive.n_lines(),
        n_files_read: archive.files.values().filter(|file| file.is_read()).count() as u64,
        n_files: archive.files.len() as u64,
        n_bytes: archive
            .files
            .values()
            .fold(0, |sum, file| sum.saturating_add(file.object.n_bytes)),
        n_packed_bytes,
        n_parts: archive.parts().count() as u64,
        n_part_bytes: archive
            .parts()
            .fold(0, |sum, part| sum.saturating_add(part.n_bytes)),
        fingerprint: archive.fingerprint().clone(),
        asked: n_asked,
    })
}

/// Finds what lies in the folder and belongs to nothing.
fn find_strangers(
    root: &Path,
    archive: &Archive,
    damages: &mut Vec<Damage>,
    notes: &mut Vec<Damage>,
) -> Result<(), ArchiveFault> {
    let mut strangers = BTreeSet::new();
    let mut n_incoming = 0_u64;
    let ours = [MANIFEST, SEAL, LOCK, OBJECTS, INCOMING, TABLES, TOLD];
    let walk = walkdir::WalkDir::new(root).min_depth(1).sort_by_file_name();
    let mut entries = walk.into_iter();
    while let Some(entry) = entries.next() {
        let entry = match entry {
            Ok(entry) => entry,
            // What was there when the folder was listed and is gone now was being added.
            Err(error)
                if error
                    .io_error()
                    .is_some_and(|error| error.kind() == std::io::ErrorKind::NotFound) =>
            {
                continue;
            }
            Err(error) => {
                let path = error.path().unwrap_or(root).to_owned();
                let source = error
                    .into_io_error()
                    .unwrap_or_else(|| std::io::Error::other("the folder loops"));
                return Err(ArchiveFault::disk("can't read", &path)(source));
            }
        };
        let path = entry.path().strip_prefix(root).unwrap_or(entry.path());
        let name = path.to_string_lossy().replace('\\', "/");
        let is_folder = entry.file_type().is_dir();
        let first = name.split('/').next().unwrap_or_default();
        match first {
            _ if !ours.contains(&first) => {
                strangers.insert(name);
                if is_folder {
                    entries.skip_current_dir();
                }
            }
            INCOMING if entry.depth() > 1 => n_incoming.add_one(),
            TABLES | TOLD => entries.skip_current_dir(),
            OBJECTS if entry.path_is_symlink() => {
                damages.push(Damage::at(name, "it is a link, and the archive made none"));
            }
            OBJECTS if !is_folder => {
                strangers.insert(name);
            }
            _ => {}
        }
    }
    strangers.extend(list_table_files(root)?);
    // What was added since the manifest was read is no stranger.
    let now = Archive::open(root)?;
    for archive in [archive, &now] {
        for name in archive.parts().map(Part::name) {
            strangers.remove(&name);
        }
        for sha256 in archive.objects().keys() {
            strangers.remove(&object_name(sha256));
        }
    }
    for name in strangers {
        let said = if name.starts_with(TABLES) {
            "no line of the manifest speaks of it: it is left from before, or is coming in now. Whoever queries the tables may \
             count its rows; `loadbook archive tables` removes what loadbook left, and what else there is, you"
        } else if name.starts_with(OBJECTS) {
            "no line of the manifest speaks of it: an addition was stopped before it was acknowledged, or is at work now"
        } else {
            "it is none of the archive's files"
        };
        notes.push(Damage::at(name, said));
    }
    if n_incoming > 0 {
        notes.push(Damage::at(
            INCOMING,
            format!(
                "{n_incoming} files were coming in when loadbook was stopped, or are coming in now; the next addition \
                 removes what is left"
            ),
        ));
    }
    Ok(())
}
