//! What was told to people while records came in, so that each fact is told once, whoever starts `follow` again.
//!
//! It lies in the archive's folder and is no part of what the manifest proves: who removes it is told everything anew.
//! One line a fact, with LF at its end; a line without LF was being written when loadbook was stopped, and counts as
//! not written. Read [`Told::open`] first.

use super::disk::{Disk, DiskFile};
use super::fault::ArchiveFault;
use super::fingerprint::Fingerprint;
use super::object::open_regular;
use super::store::TOLD;
use crate::measure::count::Counting;
use std::collections::BTreeSet;
use std::fs::{File, TryLockError};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

/// The file of the facts, below [`TOLD`].
const FACTS: &str = "facts";
/// The file that whoever follows holds a lock on.
const LOCK: &str = "lock";

/// The facts that were told, and room for more. One process at a time has it.
pub struct Told {
    path: PathBuf,
    file: Box<dyn DiskFile>,
    known: BTreeSet<Fingerprint>,
    /// Bytes of the file that are whole lines.
    n_bytes: u64,
    /// Held until the end.
    _lock: File,
}

impl Told {
    /// Opens what was told with an archive. `None` when another process has it open.
    ///
    /// # Errors
    /// The disk refuses; something else lies where it should.
    pub fn open(root: &Path, disk: &dyn Disk) -> Result<Option<Self>, ArchiveFault> {
        let folder = root.join(TOLD);
        match disk.make_folder(&folder) {
            Err(error) if error.kind() != io::ErrorKind::AlreadyExists => {
                return Err(ArchiveFault::disk("can't make the folder", &folder)(error));
            }
            Err(_) => {}
            Ok(()) => disk
                .sync_folder(root)
                .map_err(ArchiveFault::disk("can't write in", root))?,
        }
        let not_ours = |path: &Path| ArchiveFault::NotOurs(path.to_string_lossy().into_owned());
        if !folder.symlink_metadata().is_ok_and(|found| found.is_dir()) {
            return Err(not_ours(&folder));
        }
        let lock_path = folder.join(LOCK);
        let path = folder.join(FACTS);
        for path in [&lock_path, &path] {
            match path.symlink_metadata() {
                Ok(found) if !found.is_file() => return Err(not_ours(path)),
                _ => {}
            }
        }
        let doing = || ArchiveFault::disk("can't write", &lock_path);
        let lock = File::options()
            .create(true)
            .truncate(false)
            .write(true)
            .open(&lock_path)
            .map_err(doing())?;
        match lock.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => return Ok(None),
            Err(TryLockError::Error(error)) => return Err(doing()(error)),
        }
        let doing = || ArchiveFault::disk("can't write", &path);
        let mut bytes = Vec::new();
        let mut file = if path.exists() {
            open_regular(&path)
                .and_then(|mut file| file.read_to_end(&mut bytes))
                .map_err(ArchiveFault::disk("can't read", &path))?;
            disk.open_end(&path).map_err(doing())?
        } else {
            let file = disk.create(&path).map_err(doing())?;
            disk.sync_folder(&folder)
                .map_err(ArchiveFault::disk("can't write in", &folder))?;
            file
        };
        let n_whole = bytes
            .iter()
            .rposition(|byte| *byte == b'\n')
            .map_or(0, |at| at.saturating_add(1));
        if n_whole < bytes.len() {
            file.cut(n_whole as u64).map_err(doing())?;
        }
        let whole = String::from_utf8_lossy(bytes.get(..n_whole).unwrap_or_default()).into_owned();
        Ok(Some(Told {
            known: whole.lines().filter_map(Fingerprint::read).collect(),
            n_bytes: n_whole as u64,
            path,
            file,
            _lock: lock,
        }))
    }

    /// Whether a fact was told.
    pub fn has(&self, fact: &Fingerprint) -> bool {
        self.known.contains(fact)
    }

    /// Notes that facts were told, and makes that last.
    ///
    /// # Errors
    /// The disk refuses. They are then told again after the next start, not lost.
    pub fn note(&mut self, facts: &[Fingerprint]) -> Result<(), ArchiveFault> {
        let new: BTreeSet<&Fingerprint> = facts
            .iter()
            .filter(|fact| !self.known.contains(*fact))
            .collect();
        let lines: String = new.iter().map(|fact| format!("{fact}\n")).collect();
        self.known.extend(facts.iter().cloned());
        let written = self
            .file
            .write_all(lines.as_bytes())
            .and_then(|()| self.file.flush())
            .and_then(|()| self.file.sync());
        match written {
            Ok(()) => {
                self.n_bytes.add_many(lines.len() as u64);
                Ok(())
            }
            Err(error) => {
                // Half a line would spoil the next one.
                let _ = self.file.cut(self.n_bytes);
                Err(ArchiveFault::disk("can't write", &self.path)(error))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::archive::disk::SystemDisk;

    fn fact(text: &str) -> Fingerprint {
        Fingerprint::of(text.as_bytes())
    }

    #[test]
    fn what_was_told_is_known_after_a_restart_and_a_torn_line_is_not() {
        let folder = tempfile::tempdir().unwrap();
        let open = || Told::open(folder.path(), &SystemDisk).unwrap();
        let mut told = open().unwrap();
        told.note(&[fact("a"), fact("b"), fact("a")]).unwrap();
        assert!(open().is_none(), "one process at a time");
        drop(told);
        let path = folder.path().join(TOLD).join(FACTS);
        let whole = std::fs::read(&path).unwrap();
        std::fs::write(&path, whole.get(..whole.len() - 1).unwrap()).unwrap();
        let n_known = [fact("a"), fact("b")];
        let mut told = open().unwrap();
        assert_eq!(n_known.iter().filter(|fact| told.has(fact)).count(), 1);
        told.note(&n_known).unwrap();
        drop(told);
        let told = open().unwrap();
        assert!(told.has(&fact("a")) && told.has(&fact("b")) && !told.has(&fact("c")));
    }

    #[cfg(unix)]
    #[test]
    fn a_link_in_its_place_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        let other = tempfile::tempdir().unwrap();
        std::os::unix::fs::symlink(other.path(), folder.path().join(TOLD)).unwrap();
        assert!(Told::open(folder.path(), &SystemDisk).is_err());
    }
}
