//! Adding to an archive, so that nothing acknowledged is ever lost and nothing is ever there by half.
//!
//! A file goes in by these steps, and a crash between any two of them leaves the archive as it was before or after:
//!
//! 1. Its bytes are packed into a new file below `incoming/`, and made to last (fsync).
//! 2. That file is renamed to its place below `objects/`, and the folder is made to last.
//! 3. The manifest gets a line, and is made to last. From here on the file is in the archive.
//! 4. The seal, which says how far the manifest goes, is written beside and renamed over the one before.
//! 5. Only now the file is acknowledged.
//!
//! Read [`Writer::open`], [`Writer::take_in`], [`Writer::enter`] and [`Writer::commit`], in this order.

use super::disk::{Disk, DiskFile};
use super::event::{Added, Because, Event, FORMAT, LayoutObject, Object, Replaced};
use super::fault::ArchiveFault;
use super::fingerprint::Fingerprint;
use super::manifest::{Seal, write_line};
use super::object::{KeptObject, OBJECTS, Packer, begins_with, object_name, read_hash};
use super::reading::Reading;
use super::store::{Archive, Found, INCOMING, LOCK, MANIFEST, SEAL, look_at};
use crate::measure::count::Counting;
use crate::source::gather::Input;
use chrono::NaiveDateTime;
use std::collections::BTreeSet;
use std::fs::{File, TryLockError};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

/// How much is read at once.
const BLOCK: usize = 64 * 1024;

/// What became of bytes that were taken in.
#[derive(Debug)]
pub enum TakenIn {
    /// There are none.
    Empty,
    /// The archive has a file of exactly these bytes.
    Known {
        /// It.
        sha256: Fingerprint,
    },
    /// A file of the archive begins with all of them.
    Within {
        /// It.
        sha256: Fingerprint,
    },
    /// They are new, and wait to be entered.
    New(Staged),
}

/// New bytes that lie packed in the archive's folder and are not in the archive yet.
#[derive(Debug)]
pub struct Staged {
    /// Their name, inert.
    pub name: String,
    /// What is known of them.
    pub object: Object,
    /// Files that they begin with, and so are the longer version of.
    pub longer_than: Vec<Fingerprint>,
    path: PathBuf,
}

impl Staged {
    /// The bytes, to be read as they will be kept.
    pub fn input(&self) -> Input {
        Input::kept(
            self.name.clone(),
            self.object.n_bytes,
            self.object.sha256.as_str().to_owned(),
            Box::new(KeptObject::at(self.path.clone(), &self.object)),
        )
    }
}

/// An archive that is being added to. No other process adds to it meanwhile.
pub struct Writer<'d> {
    disk: &'d dyn Disk,
    archive: Archive,
    manifest: Box<dyn DiskFile>,
    /// Lines that are to be written.
    pending: String,
    n_pending_lines: u64,
    last_pending: Fingerprint,
    /// Folders whose new names are to be made to last.
    touched: BTreeSet<PathBuf>,
    n_staged: u64,
    /// Whether something failed, after which only opening it again tells how things stand.
    is_broken: bool,
    /// Bytes that a crash had left behind, and that were cut off.
    n_cut_bytes: u64,
    /// Held until the end.
    _lock: File,
}

impl<'d> Writer<'d> {
    /// Opens an archive to add to, and makes it if there is none. Where another process is adding, `waiting` is called and
    /// its end awaited.
    ///
    /// # Errors
    /// The folder is used for other things, is damaged, or can't be written in.
    pub fn open(
        root: &Path,
        disk: &'d dyn Disk,
        loadbook: &str,
        waiting: impl FnOnce(),
    ) -> Result<Self, ArchiveFault> {
        look_at(root)?;
        if !root.exists() {
            match disk.make_folder(root) {
                Err(error) if error.kind() != io::ErrorKind::AlreadyExists => {
                    return Err(ArchiveFault::disk("can't make the folder", root)(error));
                }
                _ => {}
            }
        }
        let lock = take_lock(root, waiting)?;
        // What was seen before the lock may have changed.
        if look_at(root)? == Found::Nothing {
            make_archive(root, disk, loadbook)?;
        }
        remove_leftovers(root, disk)?;
        let archive = Archive::open(root)?;
        if !archive.damages().is_empty() {
            return Err(ArchiveFault::Damaged {
                archive: root.to_string_lossy().into_owned(),
                damages: archive.damages().to_vec(),
            });
        }
        let path = root.join(MANIFEST);
        let manifest = disk
            .open_end(&path)
            .map_err(ArchiveFault::disk("can't write", &path))?;
        let mut writer = Writer {
            disk,
            manifest,
            pending: String::new(),
            n_pending_lines: 0,
            last_pending: archive.last.clone(),
            touched: BTreeSet::new(),
            n_staged: 0,
            is_broken: false,
            n_cut_bytes: archive.n_torn_bytes,
            archive,
            _lock: lock,
        };
        if writer.n_cut_bytes > 0 {
            writer
                .cut_manifest()
                .map_err(ArchiveFault::disk("can't write", &path))?;
        }
        if writer.archive.n_sealed < writer.archive.n_lines || !root.join(SEAL).exists() {
            // Lines that a crash kept from being acknowledged may not have been made to last.
            writer
                .manifest
                .sync()
                .map_err(ArchiveFault::disk("can't write", &path))?;
            writer.write_seal()?;
        }
        Ok(writer)
    }

    /// The archive, with what was entered.
    pub fn archive(&self) -> &Archive {
        &self.archive
    }

    pub(super) fn disk(&self) -> &'d dyn Disk {
        self.disk
    }

    /// Bytes of unacknowledged lines that a crash had left at the manifest's end, and that were cut off.
    pub fn n_cut_bytes(&self) -> u64 {
        self.n_cut_bytes
    }

    /// Says of a file's bytes, before any is packed, that the archive holds them already. A folder is added again each
    /// day, of whose files but a few are new: packing the others for nothing would take most of the time.
    ///
    /// `n_bytes` is the size of what `open` opens. Nothing is said, and the bytes are not read, where no file of the archive
    /// has that size; nor where they can't be read, which [`Writer::take_in`] tells.
    pub fn find_known<R: Read>(
        &self,
        n_bytes: u64,
        open: impl FnOnce() -> io::Result<R>,
    ) -> Option<TakenIn> {
        let files = &self.archive.files;
        if !files.values().any(|file| file.object.n_bytes == n_bytes) {
            return None;
        }
        let (_, sha256) = read_hash(open).ok()?;
        files
            .contains_key(&sha256)
            .then_some(TakenIn::Known { sha256 })
    }

    /// Packs the bytes of a stream beside the archive, and says whether they are new.
    ///
    /// A file is the longer version of another if both have the same last part of their names and it begins with all
    /// bytes of the other.
    ///
    /// # Errors
    /// The stream can't be read to its end, of which nothing is left; or the disk refuses.
    pub fn take_in(&mut self, name: &str, mut stream: impl Read) -> Result<TakenIn, ArchiveFault> {
        let path = self.new_path()?;
        let doing = || ArchiveFault::disk("can't write", &path);
        let file = self.disk.create(&path).map_err(doing())?;
        let mut packer = Packer::into_file(file);
        let namesakes: Vec<(u64, Fingerprint)> = self
            .archive
            .files
            .values()
            .filter(|file| file.is_read() && last_part(&file.name) == last_part(name))
            .map(|file| (file.object.n_bytes, file.object.sha256.clone()))
            .collect();
        // The sizes at which the bytes so far are held against files that end there.
        let sizes: BTreeSet<u64> = namesakes.iter().map(|(n_bytes, _)| *n_bytes).collect();
        let mut longer_than = Vec::new();
        let mut block = vec![0_u8; BLOCK];
        let copied = loop {
            let n = match stream.read(&mut block) {
                Ok(0) => break Ok(()),
                Ok(n) => n,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
                Err(source) => {
                    break Err(ArchiveFault::Input {
                        name: name.to_owned(),
                        source,
                    });
                }
            };
            let mut rest = block.get(..n).unwrap_or_default();
            let end = packer.n_bytes().saturating_add(n as u64);
            for &size in sizes.range(packer.n_bytes().saturating_add(1)..=end) {
                let n = size.saturating_sub(packer.n_bytes());
                let n = usize::try_from(n).unwrap_or(rest.len());
                let (before, after) = rest.split_at(n.min(rest.len()));
                packer.take(before).map_err(doing())?;
                rest = after;
                let so_far = packer.sha256();
                let same = namesakes.iter().filter(|(_, sha256)| *sha256 == so_far);
                longer_than.extend(same.map(|(_, sha256)| sha256.clone()));
            }
            packer.take(rest).map_err(doing())?;
        };
        if let Err(fault) = copied {
            drop(packer);
            self.discard(&path)?;
            return Err(fault);
        }
        let object = packer.finish().map_err(doing())?;
        longer_than.retain(|sha256| *sha256 != object.sha256);
        let seen = if object.n_bytes == 0 {
            Some(TakenIn::Empty)
        } else if self.archive.files.contains_key(&object.sha256) {
            Some(TakenIn::Known {
                sha256: object.sha256.clone(),
            })
        } else {
            let shorter = KeptObject::at(path.clone(), &object);
            namesakes
                .iter()
                .filter(|(n_bytes, _)| *n_bytes > object.n_bytes)
                .filter_map(|(_, sha256)| self.archive.files.get(sha256))
                .find(|longer| {
                    let longer = KeptObject::of(&self.archive.root, &longer.object);
                    // A longer one that can't be read is for `verify` to tell.
                    begins_with(&longer, &shorter).unwrap_or(false)
                })
                .map(|longer| TakenIn::Within {
                    sha256: longer.object.sha256.clone(),
                })
        };
        if let Some(seen) = seen {
            self.discard(&path)?;
            return Ok(seen);
        }
        Ok(TakenIn::New(Staged {
            name: name.to_owned(),
            object,
            longer_than,
            path,
        }))
    }

    /// The files that are read and came in under a name, but for one.
    pub fn namesakes(&self, name: &str, but: &Fingerprint) -> Vec<Fingerprint> {
        let files = self.archive.files.values();
        files
            .filter(|file| file.is_read() && file.name == name && file.object.sha256 != *but)
            .map(|file| file.object.sha256.clone())
            .collect()
    }

    /// Puts new bytes in their place, with what was read from them. They are acknowledged by [`Writer::commit`].
    ///
    /// # Errors
    /// The disk refuses.
    pub fn enter(
        &mut self,
        staged: Staged,
        reading: Reading,
        at: Option<NaiveDateTime>,
        corrects: &[Fingerprint],
    ) -> Result<(), ArchiveFault> {
        self.place(&staged.path, &object_name(&staged.object.sha256))?;
        let longer = staged.longer_than.into_iter().map(|sha256| Replaced {
            sha256,
            because: Because::Longer,
        });
        let mut replaces: Vec<Replaced> = longer.collect();
        for sha256 in corrects {
            if !replaces.iter().any(|known| known.sha256 == *sha256) {
                replaces.push(Replaced {
                    sha256: sha256.clone(),
                    because: Because::Corrected,
                });
            }
        }
        self.pend(Event::Added(Added {
            name: staged.name,
            object: staged.object,
            at,
            replaces,
            reading,
        }))
    }

    /// Says that a file of the archive is the corrected version of others that it holds.
    ///
    /// # Errors
    /// Something failed before.
    pub fn replace(
        &mut self,
        sha256: &Fingerprint,
        corrects: &[Fingerprint],
        at: Option<NaiveDateTime>,
    ) -> Result<(), ArchiveFault> {
        self.pend(Event::Replaced {
            sha256: sha256.clone(),
            replaces: corrects
                .iter()
                .map(|sha256| Replaced {
                    sha256: sha256.clone(),
                    because: Because::Corrected,
                })
                .collect(),
            at,
        })
    }

    /// Notes that a file was read with another result than before.
    ///
    /// # Errors
    /// Something failed before.
    pub fn enter_reading(
        &mut self,
        sha256: &Fingerprint,
        reading: Reading,
        at: Option<NaiveDateTime>,
    ) -> Result<(), ArchiveFault> {
        self.pend(Event::Reread {
            sha256: sha256.clone(),
            reading,
            at,
        })
    }

    /// Keeps a layout, unless it is kept already: its texts with the names by which they extend one another, its own
    /// first.
    ///
    /// # Errors
    /// The disk refuses.
    pub fn keep_layout(
        &mut self,
        name: &str,
        texts: &[(String, String)],
    ) -> Result<(), ArchiveFault> {
        let own = texts
            .first()
            .map(|(_, text)| Fingerprint::of(text.as_bytes()));
        if own.is_none_or(|own| self.archive.layouts.contains_key(&own)) {
            return Ok(());
        }
        let mut kept = Vec::new();
        for (name, text) in texts {
            let path = self.new_path()?;
            let doing = || ArchiveFault::disk("can't write", &path);
            let mut packer = Packer::into_file(self.disk.create(&path).map_err(doing())?);
            packer.take(text.as_bytes()).map_err(doing())?;
            let object = packer.finish().map_err(doing())?;
            self.place(&path, &object_name(&object.sha256))?;
            kept.push(LayoutObject {
                name: name.clone(),
                object,
            });
        }
        self.pend(Event::Layout {
            name: name.to_owned(),
            texts: kept,
        })
    }

    /// Writes the manifest's lines for all that was entered. Once this returns, it lasts.
    ///
    /// # Errors
    /// The disk refuses. What was entered since the last time may then be in the archive or not; opening it again tells.
    pub fn commit(&mut self) -> Result<(), ArchiveFault> {
        self.check()?;
        if self.n_pending_lines == 0 && self.touched.is_empty() {
            return Ok(());
        }
        self.is_broken = true;
        for folder in std::mem::take(&mut self.touched) {
            self.disk
                .sync_folder(&folder)
                .map_err(ArchiveFault::disk("can't write in", &folder))?;
        }
        if self.n_pending_lines == 0 {
            self.is_broken = false;
            return Ok(());
        }
        let path = self.archive.root.join(MANIFEST);
        let lines = std::mem::take(&mut self.pending);
        let written = self.manifest.write_all(lines.as_bytes());
        let written = written.and_then(|()| self.manifest.flush());
        if let Err(error) = written.and_then(|()| self.manifest.sync()) {
            // Best taken back at once. If that fails as well, whoever opens the archive next does it.
            let _ = self.cut_manifest();
            return Err(ArchiveFault::disk("can't write", &path)(error));
        }
        self.archive.n_manifest_bytes.add_many(lines.len() as u64);
        self.archive.n_lines.add_many(self.n_pending_lines);
        self.archive.last = self.last_pending.clone();
        self.n_pending_lines = 0;
        self.write_seal()?;
        self.is_broken = false;
        Ok(())
    }

    fn check(&self) -> Result<(), ArchiveFault> {
        if self.is_broken {
            return Err(ArchiveFault::Broken);
        }
        Ok(())
    }

    /// A new name below `incoming/`.
    pub(super) fn new_path(&mut self) -> Result<PathBuf, ArchiveFault> {
        self.check()?;
        self.n_staged.add_one();
        let name = self.n_staged.to_string();
        Ok(self.archive.root.join(INCOMING).join(name))
    }

    /// Removes what was packed and is not needed.
    fn discard(&self, path: &Path) -> Result<(), ArchiveFault> {
        self.disk
            .remove(path)
            .map_err(ArchiveFault::disk("can't remove", path))
    }

    /// Moves a file that was made to last to its place below the archive's folder, and makes the folders that are missing.
    pub(super) fn place(&mut self, from: &Path, name: &str) -> Result<(), ArchiveFault> {
        self.check()?;
        let to = self.archive.root.join(name);
        let refused = || ArchiveFault::disk("can't write", &to);
        let mut folder = self.archive.root.clone();
        for part in name
            .rsplit_once('/')
            .map_or("", |(above, _)| above)
            .split('/')
        {
            // Also the name of a folder that is there already: a crash may have come before it was made to last.
            self.touched.insert(folder.clone());
            folder.push(part);
            match folder.symlink_metadata() {
                Ok(metadata) if metadata.is_dir() => {}
                Ok(_) => {
                    return Err(ArchiveFault::NotOurs(folder.to_string_lossy().into_owned()));
                }
                Err(error) if error.kind() == io::ErrorKind::NotFound => {
                    self.disk.make_folder(&folder).map_err(refused())?;
                }
                Err(error) => return Err(refused()(error)),
            }
        }
        // What a crash left there under this name, without a line in the manifest, is written over.
        self.disk.rename(from, &to).map_err(refused())?;
        self.touched.insert(folder);
        Ok(())
    }

    pub(super) fn pend(&mut self, event: Event) -> Result<(), ArchiveFault> {
        self.check()?;
        let line = self
            .archive
            .n_lines
            .saturating_add(self.n_pending_lines)
            .saturating_add(1);
        let previous = self.last_pending.clone();
        let (written, fingerprint) =
            write_line(line, previous, event.clone()).map_err(|error| ArchiveFault::Disk {
                doing: "can't write",
                path: MANIFEST.to_owned(),
                source: error.into(),
            })?;
        self.pending.push_str(&written);
        self.n_pending_lines.add_one();
        self.last_pending = fingerprint;
        self.archive.apply(line, event)
    }

    /// Cuts the manifest to its whole lines.
    fn cut_manifest(&mut self) -> io::Result<()> {
        self.manifest.cut(self.archive.n_manifest_bytes)?;
        self.manifest.sync()
    }

    fn write_seal(&mut self) -> Result<(), ArchiveFault> {
        let seal = Seal {
            n_lines: self.archive.n_lines,
            last: self.archive.last.clone(),
        };
        write_anew(&self.archive.root, self.disk, SEAL, &seal.write())?;
        self.archive.n_sealed = self.archive.n_lines;
        Ok(())
    }
}

/// The last part of a name, behind its folders.
fn last_part(name: &str) -> &str {
    name.rsplit(['/', '\\']).next().unwrap_or(name)
}

fn take_lock(root: &Path, waiting: impl FnOnce()) -> Result<File, ArchiveFault> {
    let path = root.join(LOCK);
    let refused = || ArchiveFault::disk("can't write", &path);
    let lock = File::options()
        .create(true)
        .truncate(false)
        .write(true)
        .open(&path)
        .map_err(refused())?;
    match lock.try_lock() {
        Ok(()) => return Ok(lock),
        Err(TryLockError::WouldBlock) => waiting(),
        Err(TryLockError::Error(error)) => return Err(refused()(error)),
    }
    loop {
        match lock.lock() {
            Ok(()) => return Ok(lock),
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(refused()(error)),
        }
    }
}

/// Makes an archive in an empty folder. Its manifest comes last, so that a crash leaves a folder in which it is made
/// again.
fn make_archive(root: &Path, disk: &dyn Disk, loadbook: &str) -> Result<(), ArchiveFault> {
    for name in [OBJECTS, INCOMING] {
        let folder = root.join(name);
        match disk.make_folder(&folder) {
            Err(error) if error.kind() != io::ErrorKind::AlreadyExists => {
                return Err(ArchiveFault::disk("can't make the folder", &folder)(error));
            }
            _ => {}
        }
    }
    if let Some(parent) = root.canonicalize().ok().as_deref().and_then(Path::parent) {
        disk.sync_folder(parent)
            .map_err(ArchiveFault::disk("can't write in", parent))?;
    }
    let event = Event::Made {
        format: FORMAT,
        loadbook: loadbook.to_owned(),
    };
    let (line, _) =
        write_line(1, Fingerprint::zero(), event).map_err(|error| ArchiveFault::Disk {
            doing: "can't write",
            path: MANIFEST.to_owned(),
            source: error.into(),
        })?;
    remove_leftovers(root, disk)?;
    write_anew(root, disk, MANIFEST, &line)
}

/// Writes a small file beside and renames it to its place, so that it is there as before or as now, whatever happens.
fn write_anew(root: &Path, disk: &dyn Disk, name: &str, text: &str) -> Result<(), ArchiveFault> {
    let (from, to) = (root.join(INCOMING).join(name), root.join(name));
    let written = || -> io::Result<()> {
        let mut file = disk.create(&from)?;
        file.write_all(text.as_bytes())?;
        file.flush()?;
        file.sync()?;
        drop(file);
        disk.rename(&from, &to)?;
        disk.sync_folder(root)
    };
    written().map_err(ArchiveFault::disk("can't write", &to))
}

/// Removes what a crash left among the incoming. Nothing in there was ever acknowledged.
fn remove_leftovers(root: &Path, disk: &dyn Disk) -> Result<(), ArchiveFault> {
    let folder = root.join(INCOMING);
    let refused = || ArchiveFault::disk("can't clear", &folder);
    let entries = match std::fs::read_dir(&folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            return match disk.make_folder(&folder) {
                Err(error) if error.kind() != io::ErrorKind::AlreadyExists => Err(refused()(error)),
                _ => Ok(()),
            };
        }
        Err(error) => return Err(refused()(error)),
    };
    let mut paths = entries
        .map(|entry| Ok(entry?.path()))
        .collect::<io::Result<Vec<_>>>()
        .map_err(refused())?;
    paths.sort();
    for path in paths {
        if path.is_dir() && !path.is_symlink() {
            continue;
        }
        disk.remove(&path).map_err(refused())?;
    }
    Ok(())
}
