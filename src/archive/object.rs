//! Objects: the bytes of one file, packed as gzip (RFC 1952), so that they can be had back with `gunzip` alone.

use super::disk::DiskFile;
use super::event::Object;
use super::fault::{ArchiveFault, Damage};
use super::fingerprint::Fingerprint;
use crate::measure::count::Counting;
use crate::source::gather::Kept;
use flate2::Compression;
use flate2::bufread::GzDecoder;
use flate2::write::GzEncoder;
use sha2::{Digest, Sha256};
use std::fs::File;
use std::io::{self, BufReader, Read, Write};
use std::path::{Path, PathBuf};

/// The folder of the objects, below the archive's.
pub const OBJECTS: &str = "objects";
/// How much is read at once.
const BLOCK: usize = 64 * 1024;

/// Where an object lies, below the archive's folder: `objects/ab/cdef….gz`.
pub fn object_name(sha256: &Fingerprint) -> String {
    let (folder, rest) = sha256.as_str().split_at_checked(2).unwrap_or(("", ""));
    format!("{OBJECTS}/{folder}/{rest}.gz")
}

/// Packs bytes into a file, hashing both sides.
pub(super) struct Packer {
    encoder: GzEncoder<HashedFile>,
    hash: Sha256,
    n_bytes: u64,
}

struct HashedFile {
    file: Box<dyn DiskFile>,
    hash: Sha256,
    n_bytes: u64,
}

impl Write for HashedFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let n = self.file.write(bytes)?;
        self.hash.update(bytes.get(..n).unwrap_or_default());
        self.n_bytes = self.n_bytes.saturating_add(n as u64);
        Ok(n)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.flush()
    }
}

impl Packer {
    /// Packs into a new file.
    pub(super) fn into_file(file: Box<dyn DiskFile>) -> Self {
        let file = HashedFile {
            file,
            hash: Sha256::new(),
            n_bytes: 0,
        };
        Packer {
            // The header has no name and no time, so that the same bytes are packed alike.
            encoder: GzEncoder::new(file, Compression::default()),
            hash: Sha256::new(),
            n_bytes: 0,
        }
    }

    /// Takes more bytes.
    pub(super) fn take(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.hash.update(bytes);
        self.n_bytes.add_many(bytes.len() as u64);
        self.encoder.write_all(bytes)
    }

    /// How many bytes were taken.
    pub(super) fn n_bytes(&self) -> u64 {
        self.n_bytes
    }

    /// The SHA-256 of the bytes that were taken.
    pub(super) fn sha256(&self) -> Fingerprint {
        Fingerprint::of_hash(self.hash.clone())
    }

    /// Ends the file, and makes it last.
    pub(super) fn finish(self) -> io::Result<Object> {
        let sha256 = Fingerprint::of_hash(self.hash);
        let mut packed = self.encoder.finish()?;
        packed.file.flush()?;
        packed.file.sync()?;
        Ok(Object {
            sha256,
            n_bytes: self.n_bytes,
            packed_sha256: Fingerprint::of_hash(packed.hash),
            n_packed_bytes: packed.n_bytes,
        })
    }
}

/// An object in its place.
#[derive(Debug, Clone)]
pub struct KeptObject {
    path: PathBuf,
    n_bytes: u64,
}

impl KeptObject {
    /// The object of an archive.
    pub fn of(root: &Path, object: &Object) -> Self {
        KeptObject::at(root.join(object_name(&object.sha256)), object)
    }

    /// An object at another place, while it is being added.
    pub(super) fn at(path: PathBuf, object: &Object) -> Self {
        KeptObject {
            path,
            n_bytes: object.n_bytes,
        }
    }
}

impl Kept for KeptObject {
    fn open(&self) -> io::Result<Box<dyn Read + '_>> {
        let file = open_object(&self.path)?;
        let unpacked = GzDecoder::new(BufReader::with_capacity(BLOCK, file));
        // One byte more than there should be, so that a packed file that holds more is told and not unpacked for ever.
        Ok(Box::new(unpacked.take(self.n_bytes.saturating_add(1))))
    }
}

/// Opens a file of the archive that must be a file and not a link.
pub(super) fn open_regular(path: &Path) -> io::Result<File> {
    if !path.symlink_metadata()?.is_file() {
        return Err(io::Error::other("it is a link or no file"));
    }
    File::open(path)
}

/// Opens an object, whose folder must not be a link either.
fn open_object(path: &Path) -> io::Result<File> {
    let folder = path.parent().unwrap_or(path);
    if !folder.symlink_metadata()?.is_dir() {
        return Err(io::Error::other("its folder is a link or no folder"));
    }
    open_regular(path)
}

/// Holds an object's file against what the manifest says of it.
///
/// # Errors
/// What is wrong with it.
pub fn check_object(root: &Path, object: &Object) -> Result<(), Damage> {
    let name = object_name(&object.sha256);
    let damage = |said: String| Damage::at(name.clone(), said);
    let packed = read_hash(|| open_object(&root.join(&name)));
    let (n_packed, packed_sha256) = packed.map_err(|error| {
        damage(match error.kind() {
            io::ErrorKind::NotFound => "it is missing".to_owned(),
            io::ErrorKind::Other => error.to_string(),
            kind => format!("it can't be read: {kind}"),
        })
    })?;
    if n_packed != object.n_packed_bytes {
        let n = object.n_packed_bytes;
        return Err(damage(format!("it has {n_packed} bytes and had {n}")));
    }
    if packed_sha256 != object.packed_sha256 {
        return Err(damage("it was changed".to_owned()));
    }
    let kept = KeptObject::of(root, object);
    let unpacked = read_hash(|| kept.open())
        .map_err(|error| damage(format!("it can't be unpacked: {}", error.kind())))?;
    if unpacked != (object.n_bytes, object.sha256.clone()) {
        return Err(damage("it holds other bytes than its name says".to_owned()));
    }
    Ok(())
}

/// The number of bytes of a stream, and their SHA-256.
///
/// # Errors
/// The stream can't be opened or read.
pub fn read_hash<R: Read>(open: impl FnOnce() -> io::Result<R>) -> io::Result<(u64, Fingerprint)> {
    let mut stream = open()?;
    let mut hash = Sha256::new();
    let mut n_bytes = 0;
    let mut block = vec![0_u8; BLOCK];
    loop {
        let n = match stream.read(&mut block) {
            Ok(n) => n,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
            Err(error) => return Err(error),
        };
        if n == 0 {
            return Ok((n_bytes, Fingerprint::of_hash(hash)));
        }
        hash.update(block.get(..n).unwrap_or_default());
        n_bytes.add_many(n as u64);
    }
}

/// Whether a longer object begins with all bytes of a shorter one.
pub(super) fn begins_with(longer: &KeptObject, shorter: &KeptObject) -> io::Result<bool> {
    let (mut longer, mut shorter) = (longer.open()?, shorter.open()?);
    let (mut block, mut other) = (vec![0_u8; BLOCK], vec![0_u8; BLOCK]);
    loop {
        let n = shorter.read(&mut block)?;
        if n == 0 {
            return Ok(true);
        }
        let other = other.get_mut(..n).unwrap_or_default();
        match longer.read_exact(other) {
            Ok(()) if block.get(..n).is_some_and(|block| *block == *other) => {}
            Ok(()) => return Ok(false),
            Err(error) if error.kind() == io::ErrorKind::UnexpectedEof => return Ok(false),
            Err(error) => return Err(error),
        }
    }
}

/// The bytes of a small object, such as a layout's text.
///
/// # Errors
/// It can't be read, or holds other bytes than its name says.
pub fn read_object(root: &Path, object: &Object) -> Result<Vec<u8>, ArchiveFault> {
    check_object(root, object).map_err(|damage| ArchiveFault::Damaged {
        archive: root.to_string_lossy().into_owned(),
        damages: vec![damage],
    })?;
    let kept = KeptObject::of(root, object);
    let mut bytes = Vec::new();
    let read = kept
        .open()
        .and_then(|stream| stream.take(object.n_bytes).read_to_end(&mut bytes));
    read.map_err(ArchiveFault::disk("can't read", &kept.path))?;
    Ok(bytes)
}
