//! Bringing the tables up to date, so that at any moment they are as they were before or as they are now.
//!
//! A part is written below `incoming/`, made to last and renamed to its place, beside the one that it replaces. When all
//! are there, one line of the manifest names what is new and what has gone: from then on, these are the tables. Only then
//! the files that no line names any more are removed. A part whose bytes are those of before is left alone.
//!
//! Read [`TablesUpdate::put`], then [`TablesUpdate::finish`].

use super::add::Writer;
use super::event::Event;
use super::fault::{ArchiveFault, Damage};
use super::fingerprint::Fingerprint;
use super::object::{open_regular, read_hash};
use super::part::{Part, PartFolder, TABLES, TablesMade, TablesOrigin, is_part_name};
use super::store::Archive;
use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, Write};
use std::path::Path;

/// What became of a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum PartChange {
    /// Its folder had none.
    New,
    /// It is in place of another.
    Rewritten,
    /// Its file was missing or not as it was written, and was written again.
    Mended,
    /// There are no rows for it any more.
    Removed,
}

/// The tables, while they are brought up to date.
#[derive(Debug, Default)]
pub struct TablesUpdate {
    seen: BTreeSet<PartFolder>,
    added: Vec<Part>,
    changes: BTreeMap<PartFolder, PartChange>,
}

impl TablesUpdate {
    /// Puts a part beside the one that its folder has, unless that is the same.
    ///
    /// # Errors
    /// The disk refuses. What was put so far is in no table, and is removed the next time.
    pub fn put(
        &mut self,
        writer: &mut Writer<'_>,
        folder: PartFolder,
        bytes: &[u8],
        n_rows: u64,
    ) -> Result<(), ArchiveFault> {
        let part = Part {
            sha256: Fingerprint::of(bytes),
            n_bytes: bytes.len() as u64,
            n_rows,
            folder,
        };
        let before = writer.archive().part(&part.folder);
        let change = match before {
            None => PartChange::New,
            Some(before) if *before != part => PartChange::Rewritten,
            Some(_) => PartChange::Mended,
        };
        self.seen.insert(part.folder.clone());
        if change == PartChange::Mended && check_part(writer.archive().root(), &part).is_ok() {
            return Ok(());
        }
        let path = writer.new_path()?;
        let written = || -> io::Result<()> {
            let mut file = writer.disk().create(&path)?;
            file.write_all(bytes)?;
            file.flush()?;
            file.sync()
        };
        written().map_err(ArchiveFault::disk("can't write", &path))?;
        writer.place(&path, &part.name())?;
        self.changes.insert(part.folder.clone(), change);
        if change != PartChange::Mended {
            self.added.push(part);
        }
        Ok(())
    }

    /// Makes what was put the tables: parts that were not put are no longer among them. Gives what changed, by folder.
    ///
    /// # Errors
    /// The disk refuses. The tables are then as before or as now; opening the archive again tells.
    pub fn finish(
        mut self,
        writer: &mut Writer<'_>,
        origin: TablesOrigin,
    ) -> Result<BTreeMap<PartFolder, PartChange>, ArchiveFault> {
        let removed: Vec<PartFolder> = writer
            .archive()
            .parts()
            .map(|part| part.folder.clone())
            .filter(|folder| !self.seen.contains(folder))
            .collect();
        for folder in &removed {
            self.changes.insert(folder.clone(), PartChange::Removed);
        }
        let is_as_before = self.added.is_empty()
            && removed.is_empty()
            && writer.archive().tables() == Some(&origin);
        if !is_as_before {
            writer.pend(Event::Tables(TablesMade {
                origin,
                added: self.added,
                removed,
            }))?;
        }
        writer.commit()?;
        remove_unnamed(writer)?;
        Ok(self.changes)
    }
}

/// Removes files of parts that the manifest does not name: what was replaced, and what a crash left.
fn remove_unnamed(writer: &Writer<'_>) -> Result<(), ArchiveFault> {
    let archive = writer.archive();
    let named: BTreeSet<String> = archive.parts().map(Part::name).collect();
    for name in list_table_files(archive.root())? {
        let file = name.rsplit('/').next().unwrap_or_default();
        if is_part_name(file) && !named.contains(&name) {
            let path = archive.root().join(&name);
            writer
                .disk()
                .remove(&path)
                .map_err(ArchiveFault::disk("can't remove", &path))?;
        }
    }
    Ok(())
}

/// Whatever lies among the tables and is no folder: the names below the archive's folder, in order.
pub(super) fn list_table_files(root: &Path) -> Result<Vec<String>, ArchiveFault> {
    let mut names = Vec::new();
    for entry in walkdir::WalkDir::new(root.join(TABLES)).sort_by_file_name() {
        let entry = match entry {
            Ok(entry) => entry,
            // There are no tables, or one was removed since the folder was listed.
            Err(error)
                if error
                    .io_error()
                    .is_some_and(|error| error.kind() == io::ErrorKind::NotFound) =>
            {
                continue;
            }
            Err(error) => {
                let path = error.path().unwrap_or(root).to_owned();
                let source = error
                    .into_io_error()
                    .unwrap_or_else(|| io::Error::other("the folder loops"));
                return Err(ArchiveFault::disk("can't read", &path)(source));
            }
        };
        if !entry.file_type().is_dir() {
            let path = entry.path().strip_prefix(root).unwrap_or(entry.path());
            names.push(path.to_string_lossy().replace('\\', "/"));
        }
    }
    Ok(names)
}

/// Holds a part's file against what the manifest says of it.
///
/// # Errors
/// What is wrong with it.
pub fn check_part(root: &Path, part: &Part) -> Result<(), Damage> {
    let name = part.name();
    let damage = |said: String| {
        Damage::at(
            name.clone(),
            format!("{said}; `loadbook archive tables` makes it again"),
        )
    };
    let found = read_hash(|| open_part(root, &name)).map_err(|error| {
        damage(match error.kind() {
            io::ErrorKind::NotFound => "it is missing".to_owned(),
            io::ErrorKind::Other => error.to_string(),
            kind => format!("it can't be read: {kind}"),
        })
    })?;
    if found.0 != part.n_bytes {
        let said = format!("it has {} bytes and had {}", found.0, part.n_bytes);
        return Err(damage(said));
    }
    if found.1 != part.sha256 {
        return Err(damage("it was changed".to_owned()));
    }
    Ok(())
}

/// Opens a part; neither it nor any folder above it may be a link.
fn open_part(root: &Path, name: &str) -> io::Result<std::fs::File> {
    let mut path = root.to_owned();
    let (folders, file) = name.rsplit_once('/').unwrap_or(("", name));
    for folder in folders.split('/') {
        path.push(folder);
        if !path.symlink_metadata()?.is_dir() {
            return Err(io::Error::other("a folder above it is a link or no folder"));
        }
    }
    open_regular(&path.join(file))
}

/// Parts that are not as the manifest says.
///
/// # Errors
/// The archive can't be read any more.
pub(super) fn find_damaged_parts(archive: &Archive) -> Result<Vec<Damage>, ArchiveFault> {
    let mut damaged: Vec<(&Part, Damage)> = archive
        .parts()
        .filter_map(|part| Some((part, check_part(archive.root(), part).err()?)))
        .collect();
    if !damaged.is_empty() {
        // A part that was replaced since the manifest was read is gone, and rightly so.
        let now = Archive::open(archive.root())?;
        damaged.retain(|(part, _)| now.part(&part.folder) == Some(*part));
    }
    Ok(damaged.into_iter().map(|(_, damage)| damage).collect())
}
