//! What the archive does to the disk, operation by operation, so that a test can let each of them fail in turn.
//!
//! Only what changes the disk goes through here; reading does not.

use std::fs::{File, OpenOptions};
use std::io::{self, Write};
use std::path::Path;

/// A place where files are written.
pub trait Disk {
    /// Makes a folder; its parent is there already.
    ///
    /// # Errors
    /// It can't be made.
    fn make_folder(&self, path: &Path) -> io::Result<()>;

    /// Makes a new file, to be written from its beginning. A file or a link of this name is refused.
    ///
    /// # Errors
    /// It can't be made.
    fn create(&self, path: &Path) -> io::Result<Box<dyn DiskFile>>;

    /// Opens a file to write at its end.
    ///
    /// # Errors
    /// It can't be opened.
    fn open_end(&self, path: &Path) -> io::Result<Box<dyn DiskFile>>;

    /// Gives a file another name, in one step; a file that had that name before is gone.
    ///
    /// # Errors
    /// It can't be done.
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()>;

    /// Removes a file.
    ///
    /// # Errors
    /// It can't be done.
    fn remove(&self, path: &Path) -> io::Result<()>;

    /// Makes the names in a folder last through a loss of power.
    ///
    /// # Errors
    /// It can't be done.
    fn sync_folder(&self, path: &Path) -> io::Result<()>;
}

/// A file that is being written.
pub trait DiskFile: Write {
    /// Makes all that was written last through a loss of power.
    ///
    /// # Errors
    /// It can't be done.
    fn sync(&mut self) -> io::Result<()>;

    /// Cuts the file to so many bytes.
    ///
    /// # Errors
    /// It can't be done.
    fn cut(&mut self, n_bytes: u64) -> io::Result<()>;
}

/// The disk of the operating system.
#[derive(Debug, Clone, Copy, Default)]
pub struct SystemDisk;

impl Disk for SystemDisk {
    fn make_folder(&self, path: &Path) -> io::Result<()> {
        std::fs::create_dir(path)
    }

    fn create(&self, path: &Path) -> io::Result<Box<dyn DiskFile>> {
        let file = OpenOptions::new().write(true).create_new(true).open(path)?;
        Ok(Box::new(file))
    }

    fn open_end(&self, path: &Path) -> io::Result<Box<dyn DiskFile>> {
        Ok(Box::new(OpenOptions::new().append(true).open(path)?))
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        std::fs::rename(from, to)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        std::fs::remove_file(path)
    }

    #[cfg(unix)]
    fn sync_folder(&self, path: &Path) -> io::Result<()> {
        File::open(path)?.sync_all()
    }

    /// Other systems can't open a folder; they keep names in a journal of their own.
    #[cfg(not(unix))]
    fn sync_folder(&self, _: &Path) -> io::Result<()> {
        Ok(())
    }
}

impl DiskFile for File {
    fn sync(&mut self) -> io::Result<()> {
        self.sync_all()
    }

    fn cut(&mut self, n_bytes: u64) -> io::Result<()> {
        self.set_len(n_bytes)
    }
}
