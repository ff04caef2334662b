//! Disks that fail, and disks that lose power, for tests.
//!
//! [`FailingDisk`] lets one operation fail, by half where it writes. [`RecordingDisk`] writes down every operation; from
//! such a record [`lay_out`] makes the folder that a machine could find after losing power between any two of them, under
//! several assumptions about what had reached the disk by then: POSIX promises only what was synced (POSIX.1-2017,
//! `fsync`), and file systems differ in the rest (Pillai et al., "All File Systems Are Not Created Equal", OSDI 2014).

use super::add::{TakenIn, Writer};
use super::disk::{Disk, DiskFile, SystemDisk};
use super::fault::ArchiveFault;
use super::fingerprint::Fingerprint;
use super::object::read_object;
use super::part::{PartFolder, PolicyMark, PolicyOrigin, TablesOrigin};
use super::reading::{Reader, Reading, Scan};
use super::store::{Archive, HeldFile};
use super::tables::TablesUpdate;
use super::verify::verify;
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::rc::Rc;

/// A new folder, in memory where the system has a place for that: these tests make and remove tens of thousands of files.
fn new_folder() -> tempfile::TempDir {
    let memory = Path::new("/dev/shm");
    match memory.is_dir() {
        true => tempfile::tempdir_in(memory).or_else(|_| tempfile::tempdir()),
        false => tempfile::tempdir(),
    }
    .unwrap()
}

/// A reading without content.
pub(super) fn reading(n_lines: u64) -> Reading {
    Reading {
        by: Reader {
            loadbook: "0.0.0".to_owned(),
            parser: 1,
            layout: None,
            scan: Scan::Left,
        },
        n_lines,
        n_cycles: 0,
        n_readings: 0,
        n_entries: 0,
        n_unread_lines: 0,
        oldest: None,
        newest: None,
        records_sha256: Fingerprint::of(b""),
    }
}

/// Files to add: some twice, one longer than an earlier one, one larger than a block.
pub(super) fn files() -> Vec<(&'static str, Vec<u8>)> {
    let noise: Vec<u8> = (0..66_000_u32)
        .map(|n| (n.wrapping_mul(2_654_435_761) >> 13) as u8)
        .collect();
    vec![
        ("a/strip.txt", b"one\n".to_vec()),
        ("b/strip.txt", b"two\n".to_vec()),
        ("a/strip.txt", b"one\nand more\n".to_vec()),
        ("again.txt", b"two\n".to_vec()),
        ("large.txt", noise),
        ("log.csv", b"three\n".to_vec()),
    ]
}

/// Parts of tables as they are when an archive has so many files: one that changes with each, one that never does, one
/// that comes and goes, and from the fourth on one of another month.
fn parts(n_files: usize) -> Vec<(PartFolder, Vec<u8>)> {
    let folder = |table: &str, unit: &str, month: &str| {
        let keys = [
            ("site", Some("ours")),
            ("unit", Some(unit)),
            ("month", Some(month)),
        ];
        PartFolder::of(table, &keys)
    };
    let mut parts = vec![
        (
            PartFolder::of("inputs", &[("site", Some("ours"))]),
            format!("{n_files} files").into_bytes(),
        ),
        (folder("cycles", "PL-1", "2026-03"), b"always".to_vec()),
    ];
    if n_files % 2 == 1 {
        parts.push((folder("cycles", "PL-2", "2026-03"), b"odd".to_vec()));
    }
    if n_files >= 4 {
        parts.push((folder("cycles", "PL-1", "2026-04"), b"later".to_vec()));
    }
    parts
}

/// Brings the tables up to date with the files that are there.
fn put_tables(writer: &mut Writer<'_>) -> Result<(), ArchiveFault> {
    let mut update = TablesUpdate::default();
    for (folder, bytes) in parts(writer.archive().files().len()) {
        update.put(writer, folder, &bytes, 1)?;
    }
    let origin = TablesOrigin {
        site: "ours".to_owned(),
        from_line: writer.archive().read_line(),
        loadbook: "0.0.0".to_owned(),
        parser: 1,
        policy: PolicyMark {
            name: "cdc-2008".to_owned(),
            from: PolicyOrigin::Preset,
            sha256: Fingerprint::of(b""),
        },
        zone: None,
    };
    update.finish(writer, origin).map(drop)
}

/// Asserts that the tables of an archive are those of some number of its files, and of no mixture.
fn assert_tables_are_of_one_moment(archive: &Archive, n_least: usize, about: &str) {
    let named: Vec<(&str, &Fingerprint)> = archive
        .parts()
        .map(|part| (part.folder.as_str(), &part.sha256))
        .collect();
    let fits = |n_files: &usize| {
        let mut expected: Vec<(String, Fingerprint)> = parts(*n_files)
            .into_iter()
            .map(|(folder, bytes)| (folder.as_str().to_owned(), Fingerprint::of(&bytes)))
            .collect();
        expected.sort();
        expected.len() == named.len()
            && expected
                .iter()
                .zip(&named)
                .all(|((folder, sha256), named)| (folder.as_str(), sha256) == *named)
    };
    match (1..=archive.files().len()).rev().find(fits) {
        Some(n_files) => assert!(n_files >= n_least, "{about}: tables of {n_files} files"),
        None => assert!(named.is_empty() && n_least == 0, "{about}: {named:?}"),
    }
}

/// Adds files, `n_together` before each commit, and brings the tables up to date after it; tells the SHA-256 of all that is
/// acknowledged at each commit.
pub(super) fn add_all(
    root: &Path,
    disk: &dyn Disk,
    n_together: usize,
    mut acknowledged: impl FnMut(&[Fingerprint]),
) -> Result<(), ArchiveFault> {
    let mut writer = Writer::open(root, disk, "0.0.0", || {})?;
    writer.keep_layout(
        "ours",
        &[("ours.toml".to_owned(), "layout = 1\n".to_owned())],
    )?;
    for some in files().chunks(n_together) {
        let mut told = Vec::new();
        for (name, bytes) in some {
            let sha256 = Fingerprint::of(bytes);
            match writer.take_in(name, &bytes[..])? {
                TakenIn::New(staged) => {
                    assert_eq!(staged.object.sha256, sha256);
                    writer.enter(staged, reading(1), None, &[])?;
                }
                TakenIn::Known { .. } => {}
                other => panic!("{other:?}"),
            }
            told.push(sha256);
        }
        writer.commit()?;
        acknowledged(&told);
        put_tables(&mut writer)?;
        acknowledged(&[]);
    }
    Ok(())
}

/// What was acknowledged: files, and how many of them the tables are of. Tables are told as no file.
#[derive(Default)]
struct Acknowledged {
    files: Vec<Fingerprint>,
    tables_of: usize,
}

impl Acknowledged {
    fn take(&mut self, told: &[Fingerprint]) {
        if told.is_empty() {
            let different: BTreeSet<&Fingerprint> = self.files.iter().collect();
            self.tables_of = different.len();
        }
        self.files.extend_from_slice(told);
    }
}

/// Asserts that an archive, if there is one, is whole, holds all that was acknowledged, and that adding everything once
/// more makes it complete.
///
/// `tables_of` is the least number of files that its tables are of.
fn assert_sound(root: &Path, acknowledged: &[Fingerprint], tables_of: usize, about: &str) {
    match verify(root, None, |_| {}) {
        Ok(verified) => {
            assert_eq!(verified.damages, [], "{about}");
            let archive = Archive::open(root).unwrap();
            assert_tables_are_of_one_moment(&archive, tables_of, about);
            for sha256 in acknowledged {
                let file = archive.file(sha256);
                let file = file.unwrap_or_else(|| panic!("{about}: {sha256} was acknowledged"));
                read_object(root, &file.object).unwrap();
            }
        }
        Err(ArchiveFault::Missing(_) | ArchiveFault::Foreign(_)) => {
            assert_eq!(acknowledged, [], "{about}");
        }
        Err(fault) => panic!("{about}: {fault}"),
    }
    add_all(root, &HastyDisk, 2, |_| {}).unwrap_or_else(|fault| panic!("{about}: {fault}"));
    let verified = verify(root, None, |_| {}).unwrap();
    assert_eq!(verified.damages, [], "{about}");
    let archive = Archive::open(root).unwrap();
    assert_tables_are_of_one_moment(&archive, archive.files().len(), about);
    assert_eq!(verified.notes, [], "{about}");
    let names: Vec<(&str, bool)> = archive
        .files()
        .into_iter()
        .map(|file| (file.name.as_str(), HeldFile::is_read(file)))
        .collect();
    assert_eq!(
        names,
        [
            ("a/strip.txt", false),
            ("a/strip.txt", true),
            ("b/strip.txt", true),
            ("large.txt", true),
            ("log.csv", true)
        ],
        "{about}"
    );
    assert_eq!(
        std::fs::read_dir(root.join("incoming")).unwrap().count(),
        0,
        "{about}"
    );
}

/// The system's disk without making anything last, which no test could see and which takes nearly all of the time.
struct HastyDisk;

struct HastyFile(Box<dyn DiskFile>);

impl Disk for HastyDisk {
    fn make_folder(&self, path: &Path) -> io::Result<()> {
        SystemDisk.make_folder(path)
    }

    fn create(&self, path: &Path) -> io::Result<Box<dyn DiskFile>> {
        Ok(Box::new(HastyFile(SystemDisk.create(path)?)))
    }

    fn open_end(&self, path: &Path) -> io::Result<Box<dyn DiskFile>> {
        Ok(Box::new(HastyFile(SystemDisk.open_end(path)?)))
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        SystemDisk.rename(from, to)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        SystemDisk.remove(path)
    }

    fn sync_folder(&self, _: &Path) -> io::Result<()> {
        Ok(())
    }
}

impl Write for HastyFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.0.flush()
    }
}

impl DiskFile for HastyFile {
    fn sync(&mut self) -> io::Result<()> {
        Ok(())
    }

    fn cut(&mut self, n_bytes: u64) -> io::Result<()> {
        self.0.cut(n_bytes)
    }
}

/// How an operation fails.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Failure {
    /// The disk is full: a write takes half of its bytes, the next none.
    Full,
    /// The disk is full from then on, whatever is done.
    FullForGood,
    /// An error of the device, once.
    Once,
    /// The right to write is missing from then on.
    NoRight,
}

struct Fate {
    n_done: usize,
    fails_at: usize,
    failure: Failure,
}

impl Fate {
    fn next(&mut self) -> io::Result<()> {
        let n = self.n_done;
        self.n_done += 1;
        let full = || Err(io::Error::from(io::ErrorKind::StorageFull));
        match self.failure {
            Failure::Full if n == self.fails_at => full(),
            Failure::FullForGood if n >= self.fails_at => full(),
            Failure::NoRight if n >= self.fails_at => {
                Err(io::Error::from(io::ErrorKind::PermissionDenied))
            }
            Failure::Once if n == self.fails_at => Err(io::Error::other("the device failed")),
            _ => Ok(()),
        }
    }
}

/// A disk on which one operation fails.
struct FailingDisk(Rc<RefCell<Fate>>);

struct FailingFile(Box<dyn DiskFile>, Rc<RefCell<Fate>>);

impl FailingDisk {
    fn new(fails_at: usize, failure: Failure) -> Self {
        FailingDisk(Rc::new(RefCell::new(Fate {
            n_done: 0,
            fails_at,
            failure,
        })))
    }

    fn has_failed(&self) -> bool {
        let fate = self.0.borrow();
        fate.n_done > fate.fails_at
    }

    fn file(&self, file: Box<dyn DiskFile>) -> Box<dyn DiskFile> {
        Box::new(FailingFile(file, Rc::clone(&self.0)))
    }
}

impl Disk for FailingDisk {
    fn make_folder(&self, path: &Path) -> io::Result<()> {
        self.0.borrow_mut().next()?;
        HastyDisk.make_folder(path)
    }

    fn create(&self, path: &Path) -> io::Result<Box<dyn DiskFile>> {
        self.0.borrow_mut().next()?;
        Ok(self.file(HastyDisk.create(path)?))
    }

    fn open_end(&self, path: &Path) -> io::Result<Box<dyn DiskFile>> {
        self.0.borrow_mut().next()?;
        Ok(self.file(HastyDisk.open_end(path)?))
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        self.0.borrow_mut().next()?;
        HastyDisk.rename(from, to)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        self.0.borrow_mut().next()?;
        HastyDisk.remove(path)
    }

    fn sync_folder(&self, path: &Path) -> io::Result<()> {
        self.0.borrow_mut().next()?;
        HastyDisk.sync_folder(path)
    }
}

impl Write for FailingFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        match self.1.borrow_mut().next() {
            Ok(()) => self.0.write(bytes),
            Err(error) => {
                // What fits is written before the disk is full.
                self.0.write_all(&bytes[..bytes.len() / 2])?;
                Err(error)
            }
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        self.0.flush()
    }
}

impl DiskFile for FailingFile {
    fn sync(&mut self) -> io::Result<()> {
        self.1.borrow_mut().next()?;
        self.0.sync()
    }

    fn cut(&mut self, n_bytes: u64) -> io::Result<()> {
        self.1.borrow_mut().next()?;
        self.0.cut(n_bytes)
    }
}

#[test]
fn whichever_operation_fails_nothing_acknowledged_is_lost_and_nothing_is_there_by_half() {
    for failure in [Failure::Full, Failure::FullForGood, Failure::Once] {
        for n_together in [1, 6] {
            let mut n_faults = 0;
            for fails_at in 0.. {
                let folder = new_folder();
                let root = folder.path().join("archive");
                let disk = FailingDisk::new(fails_at, failure);
                let mut acknowledged = Acknowledged::default();
                let added = add_all(&root, &disk, n_together, |told| acknowledged.take(told));
                let about = format!("{failure:?}, {n_together} together, operation {fails_at}");
                if !disk.has_failed() {
                    added.unwrap_or_else(|fault| panic!("{about}: {fault}"));
                    break;
                }
                if let Err(fault) = &added {
                    n_faults += 1;
                    assert!(!fault.help().is_empty());
                    let said = fault.to_string();
                    assert!(
                        said.contains("the disk is full") || said.contains("the device failed"),
                        "{about}: {said}"
                    );
                }
                assert!(added.is_err(), "{about}: the failure was passed over");
                let Acknowledged { files, tables_of } = acknowledged;
                assert_sound(&root, &files, tables_of, &about);
            }
            assert!(n_faults > 30, "{n_faults}");
        }
    }
}

/// Tests may run as the system's administrator, who has every right; so the disk refuses here.
#[test]
fn where_the_right_to_write_is_missing_it_is_said_and_nothing_is_changed() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    for (n_operations, there) in [(0, false), (1, true)] {
        let disk = FailingDisk::new(n_operations, Failure::NoRight);
        let fault = add_all(&root, &disk, 1, |_| {}).unwrap_err();
        assert!(
            fault.to_string().contains("you have no right to"),
            "{fault}"
        );
        assert!(fault.help().contains("ask for the right to write"));
        assert_eq!(root.exists(), there);
    }
    assert_sound(&root, &[], 0, "without rights");
}

#[test]
fn after_a_failure_the_same_writer_adds_nothing_more() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    drop(Writer::open(&root, &SystemDisk, "0.0.0", || {}).unwrap());
    // The operations before the commit are passed by, until one of the commit's fails.
    for fails_at in 1..40 {
        let disk = FailingDisk::new(fails_at, Failure::Once);
        let mut writer = Writer::open(&root, &disk, "0.0.0", || {}).unwrap();
        let text = format!("{fails_at}\n");
        let Ok(TakenIn::New(staged)) = writer.take_in("x.txt", text.as_bytes()) else {
            continue;
        };
        if writer.enter(staged, reading(1), None, &[]).is_ok() && writer.commit().is_err() {
            assert!(matches!(writer.commit(), Err(ArchiveFault::Broken)));
            assert!(matches!(
                writer.take_in("y.txt", &b"y\n"[..]),
                Err(ArchiveFault::Broken)
            ));
            return;
        }
    }
    panic!("no commit failed");
}

#[test]
fn bytes_that_are_there_are_known_before_any_is_packed() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    add_all(&root, &SystemDisk, 100, |_| {}).unwrap();
    let writer = Writer::open(&root, &SystemDisk, "0.0.0", || {}).unwrap();
    let listed = || std::fs::read_dir(root.join("incoming")).unwrap().count();
    let n_incoming = listed();
    for (_, bytes) in files() {
        let known = writer.find_known(bytes.len() as u64, || Ok(&bytes[..]));
        let Some(TakenIn::Known { sha256 }) = known else {
            panic!("{known:?}");
        };
        assert_eq!(sha256, Fingerprint::of(&bytes));
        // Of the same size, and other bytes.
        let mut other = bytes.clone();
        other[0] ^= 1;
        let known = writer.find_known(other.len() as u64, || Ok(&other[..]));
        assert!(known.is_none(), "{known:?}");
        let unreadable = || Err::<&[u8], _>(io::Error::other("gone"));
        assert!(writer.find_known(bytes.len() as u64, unreadable).is_none());
    }
    // No file has that size, and nothing is read.
    let unread = || -> io::Result<&[u8]> { panic!("it is read") };
    assert!(writer.find_known(u64::MAX, unread).is_none());
    assert_eq!(listed(), n_incoming);
}

/// An operation as it was asked for; paths are below the folder of the test.
#[derive(Debug, Clone)]
enum Operation {
    MakeFolder(PathBuf),
    Create(usize, PathBuf),
    OpenEnd(usize, PathBuf),
    Write(usize, Vec<u8>),
    Cut(usize, u64),
    Sync(usize),
    Rename(PathBuf, PathBuf),
    Remove(PathBuf),
    SyncFolder(PathBuf),
    Acknowledge(Vec<Fingerprint>),
}

/// A disk that writes down what is asked of it, and does it.
struct RecordingDisk {
    base: PathBuf,
    record: Rc<RefCell<Vec<Operation>>>,
    n_files: RefCell<usize>,
}

struct RecordedFile {
    number: usize,
    file: Box<dyn DiskFile>,
    record: Rc<RefCell<Vec<Operation>>>,
}

impl RecordingDisk {
    fn note(&self, operation: Operation) {
        self.record.borrow_mut().push(operation);
    }

    fn relative(&self, path: &Path) -> PathBuf {
        path.strip_prefix(&self.base).unwrap().to_owned()
    }

    fn file(&self, file: Box<dyn DiskFile>) -> (usize, Box<dyn DiskFile>) {
        let number = *self.n_files.borrow();
        *self.n_files.borrow_mut() += 1;
        let record = Rc::clone(&self.record);
        let recorded = RecordedFile {
            number,
            file,
            record,
        };
        (number, Box::new(recorded))
    }
}

impl Disk for RecordingDisk {
    fn make_folder(&self, path: &Path) -> io::Result<()> {
        HastyDisk.make_folder(path)?;
        self.note(Operation::MakeFolder(self.relative(path)));
        Ok(())
    }

    fn create(&self, path: &Path) -> io::Result<Box<dyn DiskFile>> {
        let (number, file) = self.file(HastyDisk.create(path)?);
        self.note(Operation::Create(number, self.relative(path)));
        Ok(file)
    }

    fn open_end(&self, path: &Path) -> io::Result<Box<dyn DiskFile>> {
        let (number, file) = self.file(HastyDisk.open_end(path)?);
        self.note(Operation::OpenEnd(number, self.relative(path)));
        Ok(file)
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        HastyDisk.rename(from, to)?;
        self.note(Operation::Rename(self.relative(from), self.relative(to)));
        Ok(())
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        HastyDisk.remove(path)?;
        self.note(Operation::Remove(self.relative(path)));
        Ok(())
    }

    fn sync_folder(&self, path: &Path) -> io::Result<()> {
        self.note(Operation::SyncFolder(self.relative(path)));
        Ok(())
    }
}

impl Write for RecordedFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let n = self.file.write(bytes)?;
        let operation = Operation::Write(self.number, bytes[..n].to_vec());
        self.record.borrow_mut().push(operation);
        Ok(n)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.flush()
    }
}

impl DiskFile for RecordedFile {
    fn sync(&mut self) -> io::Result<()> {
        self.record.borrow_mut().push(Operation::Sync(self.number));
        Ok(())
    }

    fn cut(&mut self, n_bytes: u64) -> io::Result<()> {
        self.file.cut(n_bytes)?;
        let operation = Operation::Cut(self.number, n_bytes);
        self.record.borrow_mut().push(operation);
        Ok(())
    }
}

/// What of the unsynced reaches the disk before the power goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Reached {
    /// Everything, as when only the process dies.
    Everything,
    /// Nothing: only synced bytes of files whose names were synced.
    Synced,
    /// All names, and of the bytes only the synced: a new file may be empty under its last name.
    Names,
    /// All names, and half of the unsynced bytes.
    HalfOfBytes,
    /// All names and sizes, with zeros for the unsynced bytes.
    Zeros,
    /// All bytes, and of the names only the synced.
    Bytes,
}

#[derive(Default, Clone)]
struct FileState {
    now: Vec<u8>,
    synced: Vec<u8>,
}

/// Makes the folder as it could be found after the first operations of a record.
fn lay_out(record: &[Operation], reached: Reached, base: &Path) {
    // Names that lie in a folder, each a folder or a file's number; as they are now and as they were synced.
    #[derive(Clone, PartialEq)]
    enum Named {
        Folder,
        File(usize),
    }
    let mut now: BTreeMap<PathBuf, Named> = BTreeMap::new();
    let mut synced: BTreeMap<PathBuf, Named> = BTreeMap::new();
    // A file's number at creation, by the numbers under which it was opened.
    let mut opened: BTreeMap<usize, usize> = BTreeMap::new();
    let mut states: BTreeMap<usize, FileState> = BTreeMap::new();
    for operation in record {
        match operation {
            Operation::MakeFolder(path) => {
                now.insert(path.clone(), Named::Folder);
            }
            Operation::Create(number, path) => {
                opened.insert(*number, *number);
                states.insert(*number, FileState::default());
                now.insert(path.clone(), Named::File(*number));
            }
            Operation::OpenEnd(number, path) => {
                let Some(Named::File(file)) = now.get(path) else {
                    panic!("{} is no file", path.display());
                };
                opened.insert(*number, *file);
            }
            Operation::Write(number, bytes) => {
                let state = states.get_mut(&opened[number]).unwrap();
                state.now.extend_from_slice(bytes);
            }
            Operation::Cut(number, n_bytes) => {
                let state = states.get_mut(&opened[number]).unwrap();
                state.now.truncate(usize::try_from(*n_bytes).unwrap());
            }
            Operation::Sync(number) => {
                let state = states.get_mut(&opened[number]).unwrap();
                state.synced = state.now.clone();
            }
            Operation::Rename(from, to) => {
                let named = now.remove(from).unwrap();
                now.insert(to.clone(), named);
            }
            Operation::Remove(path) => {
                now.remove(path).unwrap();
            }
            Operation::SyncFolder(folder) => {
                let is_in = |path: &Path| path.parent() == Some(folder);
                synced.retain(|path, _| !is_in(path));
                let names = now.iter().filter(|(path, _)| is_in(path));
                synced.extend(names.map(|(path, named)| (path.clone(), named.clone())));
            }
            Operation::Acknowledge(_) => {}
        }
    }
    let names = match reached {
        Reached::Synced | Reached::Bytes => &synced,
        _ => &now,
    };
    // A folder stands before what lies in it.
    for (path, named) in names {
        let place = base.join(path);
        if !place.parent().is_some_and(Path::is_dir) {
            continue;
        }
        let Named::File(number) = named else {
            std::fs::create_dir(&place).unwrap();
            continue;
        };
        let FileState { now, synced } = &states[number];
        let n_unsynced = now.len().saturating_sub(synced.len());
        let bytes = match reached {
            Reached::Everything | Reached::Bytes => now.clone(),
            Reached::Synced | Reached::Names => synced.clone(),
            Reached::HalfOfBytes => now[..synced.len().min(now.len()) + n_unsynced / 2].to_vec(),
            Reached::Zeros => {
                let mut bytes = synced.clone();
                bytes.resize(synced.len() + n_unsynced, 0);
                bytes
            }
        };
        std::fs::write(&place, bytes).unwrap();
    }
}

#[test]
fn whenever_the_power_goes_nothing_acknowledged_is_lost_and_nothing_is_there_by_half() {
    for n_together in [2] {
        let folder = new_folder();
        let base = folder.path().canonicalize().unwrap();
        let record = Rc::new(RefCell::new(Vec::new()));
        let disk = RecordingDisk {
            base: base.clone(),
            record: Rc::clone(&record),
            n_files: RefCell::new(0),
        };
        add_all(&base.join("archive"), &disk, n_together, |told| {
            record
                .borrow_mut()
                .push(Operation::Acknowledge(told.to_vec()));
        })
        .unwrap();
        let record = record.borrow();
        assert!(record.len() > 60, "{}", record.len());
        for n in 0..=record.len() {
            let done = &record[..n];
            let mut acknowledged = Acknowledged::default();
            for operation in done {
                if let Operation::Acknowledge(told) = operation {
                    acknowledged.take(told);
                }
            }
            let Acknowledged { files, tables_of } = acknowledged;
            for reached in [
                Reached::Everything,
                Reached::Synced,
                Reached::Names,
                Reached::HalfOfBytes,
                Reached::Zeros,
                Reached::Bytes,
            ] {
                let folder = new_folder();
                lay_out(done, reached, folder.path());
                assert_sound(
                    &folder.path().join("archive"),
                    &files,
                    tables_of,
                    &format!(
                        "{reached:?}, {n_together} together, after {n}: {:?}",
                        done.last()
                    ),
                );
            }
        }
    }
}

/// The model of the disk is right about what a disk does when nothing goes wrong.
#[test]
fn the_record_laid_out_in_full_is_the_folder_itself() {
    let folder = new_folder();
    let base = folder.path().canonicalize().unwrap();
    let record = Rc::new(RefCell::new(Vec::new()));
    let disk = RecordingDisk {
        base: base.clone(),
        record: Rc::clone(&record),
        n_files: RefCell::new(0),
    };
    add_all(&base.join("archive"), &disk, 2, |_| {}).unwrap();
    let other = new_folder();
    lay_out(&record.borrow(), Reached::Everything, other.path());
    let contents = |root: &Path| -> BTreeMap<PathBuf, Option<Vec<u8>>> {
        walkdir::WalkDir::new(root)
            .into_iter()
            .map(Result::unwrap)
            // The lock is no part of what is kept, and is not made through the disk.
            .filter(|entry| entry.file_name() != "lock")
            .map(|entry| {
                let path = entry.path().strip_prefix(root).unwrap().to_owned();
                (path, std::fs::read(entry.path()).ok())
            })
            .collect()
    };
    assert_eq!(contents(&base), contents(other.path()));
}
