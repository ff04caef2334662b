//! An archive as it stands: which files it holds, and what is to be read.
//!
//! Read [`Archive::open`] first. Opening to read takes no lock: whoever writes only ever adds, and a line of the manifest
//! is written after everything that it speaks of, so that what a reader finds stays true whatever is added meanwhile.

use super::event::{Because, Event, FORMAT, LayoutObject, Object, Replaced};
use super::fault::{ArchiveFault, Damage};
use super::fingerprint::Fingerprint;
use super::manifest::{Chain, FoundSeal, Seal, check_chain};
use super::object::{KeptObject, OBJECTS, open_regular};
use super::part::{Part, PartFolder, TABLES, TablesOrigin};
use super::reading::Reading;
use crate::measure::count::Counting;
use crate::source::gather::Input;
use chrono::NaiveDateTime;
use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

/// The manifest's file, below the archive's folder.
pub const MANIFEST: &str = "manifest.jsonl";
/// The seal's file.
pub const SEAL: &str = "seal";
/// The file that writers lock.
pub const LOCK: &str = "lock";
/// The folder of what is coming in and is not there yet.
pub const INCOMING: &str = "incoming";
/// The folder of what was told to people while records came in; the manifest does not speak of it.
pub const TOLD: &str = "told";

/// A file that an archive holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HeldFile {
    /// The manifest's line by which it came in.
    pub line: u64,
    /// Its name as it was given, inert.
    pub name: String,
    /// Its bytes.
    pub object: Object,
    /// When it came in, if that was told.
    pub at: Option<NaiveDateTime>,
    /// What was read from it last.
    pub reading: Reading,
    /// Why it is no longer read, and which file is read in its place.
    pub replaced: Option<(Because, Fingerprint)>,
}

/// A layout that is kept because files were read by it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptLayout {
    /// Its name.
    pub name: String,
    /// Its texts, its own first.
    pub texts: Vec<LayoutObject>,
}

/// A file of the archive, to be read.
#[derive(Debug)]
pub struct ArchiveInput {
    /// What to read. Its name is the one that it came in under, with the first digits of its SHA-256 where another has
    /// the same.
    pub input: Input,
    /// What is known of it.
    pub file: HeldFile,
}

/// An archive.
#[derive(Debug, Clone)]
pub struct Archive {
    pub(super) root: PathBuf,
    pub(super) files: BTreeMap<Fingerprint, HeldFile>,
    pub(super) layouts: BTreeMap<Fingerprint, KeptLayout>,
    parts: BTreeMap<PartFolder, Part>,
    tables: Option<TablesOrigin>,
    read_line: u64,
    pub(super) n_lines: u64,
    pub(super) n_sealed: u64,
    pub(super) n_manifest_bytes: u64,
    pub(super) n_torn_bytes: u64,
    pub(super) last: Fingerprint,
    damages: Vec<Damage>,
}

impl Archive {
    /// Opens an archive to read. Damage to its manifest is kept in [`Archive::damages`]; what can be read all the same is
    /// there.
    ///
    /// # Errors
    /// There is no archive, or one of a newer loadbook, or it can't be read.
    pub fn open(root: &Path) -> Result<Self, ArchiveFault> {
        let chain = read_chain(root)?;
        let mut archive = Archive {
            root: root.to_owned(),
            files: BTreeMap::new(),
            layouts: BTreeMap::new(),
            parts: BTreeMap::new(),
            tables: None,
            read_line: 0,
            n_lines: chain.n_lines,
            n_sealed: chain.n_sealed,
            n_manifest_bytes: chain.n_bytes,
            n_torn_bytes: chain.n_torn_bytes,
            last: chain.last(),
            damages: chain.damages,
        };
        for (line, event) in chain.events {
            match archive.apply(line, event) {
                // In a manifest that was changed, what looks like a newer loadbook's may be no more than that.
                Err(ArchiveFault::Newer(_)) if !archive.damages.is_empty() => {}
                applied => applied?,
            }
        }
        Ok(archive)
    }

    /// Its folder.
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// What is damaged in its manifest.
    pub fn damages(&self) -> &[Damage] {
        &self.damages
    }

    /// The SHA-256 of the manifest's last line, which stands for all that is in the archive and for its order.
    pub fn fingerprint(&self) -> &Fingerprint {
        &self.last
    }

    /// The number of the manifest's lines.
    pub fn n_lines(&self) -> u64 {
        self.n_lines
    }

    /// Bytes of lines that were being written when a crash came, and never acknowledged.
    pub fn n_torn_bytes(&self) -> u64 {
        self.n_torn_bytes
    }

    /// A file by its SHA-256.
    pub fn file(&self, sha256: &Fingerprint) -> Option<&HeldFile> {
        self.files.get(sha256)
    }

    /// All its files in the order of their names, those no longer read included; of the same name, in the order in which
    /// they came in.
    pub fn files(&self) -> Vec<&HeldFile> {
        let mut files: Vec<&HeldFile> = self.files.values().collect();
        // By the parts of the path, as a walk through the folder would find them.
        files.sort_by(|a, b| {
            (Path::new(&a.name), a.line)
                .cmp(&(Path::new(&b.name), b.line))
                .then_with(|| a.object.sha256.cmp(&b.object.sha256))
        });
        files
    }

    /// A layout by the SHA-256 of its own text.
    pub fn layout(&self, sha256: &Fingerprint) -> Option<&KeptLayout> {
        self.layouts.get(sha256)
    }

    /// The files that are read, each under a name of its own.
    pub fn inputs(&self) -> Vec<ArchiveInput> {
        let files = || self.files().into_iter().filter(|file| file.is_read());
        let mut n_named: BTreeMap<&str, u32> = BTreeMap::new();
        for file in files() {
            n_named.entry(file.name.as_str()).or_default().add_one();
        }
        let mut taken = BTreeSet::new();
        let mut inputs = Vec::new();
        for file in files() {
            let sha256 = &file.object.sha256;
            let is_alone = n_named.get(file.name.as_str()) == Some(&1);
            let mut name = match is_alone {
                true => file.name.clone(),
                false => format!("{} ({})", file.name, sha256.short()),
            };
            if !taken.insert(name.clone()) {
                name = format!("{} ({sha256})", file.name);
                taken.insert(name.clone());
            }
            inputs.push(self.input(name, file));
        }
        inputs
    }

    /// One file to be read under a name.
    pub fn input(&self, name: String, file: &HeldFile) -> ArchiveInput {
        let kept = KeptObject::of(&self.root, &file.object);
        ArchiveInput {
            input: Input::kept(
                name,
                file.object.n_bytes,
                file.object.sha256.as_str().to_owned(),
                Box::new(kept),
            ),
            file: file.clone(),
        }
    }

    /// All its objects: files and layouts, each once.
    pub fn objects(&self) -> BTreeMap<&Fingerprint, &Object> {
        let of_files = self.files.values().map(|file| &file.object);
        let texts = self.layouts.values().flat_map(|layout| &layout.texts);
        of_files
            .chain(texts.map(|text| &text.object))
            .map(|object| (&object.sha256, object))
            .collect()
    }

    /// The parts of its tables, in the order of their folders.
    pub fn parts(&self) -> impl Iterator<Item = &Part> {
        self.parts.values()
    }

    /// The part that a folder has.
    pub fn part(&self, folder: &PartFolder) -> Option<&Part> {
        self.parts.get(folder)
    }

    /// What its tables were made from, and how; `None` when it has none.
    pub fn tables(&self) -> Option<&TablesOrigin> {
        self.tables.as_ref()
    }

    /// The last line of the manifest that says what is read: tables that were made from an earlier one are older than the
    /// originals.
    pub fn read_line(&self) -> u64 {
        self.read_line
    }

    /// Takes what a line of the manifest says.
    pub(super) fn apply(&mut self, line: u64, event: Event) -> Result<(), ArchiveFault> {
        if !matches!(event, Event::Tables(_)) {
            self.read_line = line;
        }
        match event {
            Event::Made { format, .. } if format <= FORMAT => {}
            Event::Made { .. } | Event::Unknown => {
                return Err(ArchiveFault::Newer(
                    self.root.to_string_lossy().into_owned(),
                ));
            }
            Event::Added(added) => {
                let sha256 = added.object.sha256.clone();
                self.replace(&sha256, &added.replaces);
                let file = HeldFile {
                    line,
                    name: added.name,
                    object: added.object,
                    at: added.at,
                    reading: added.reading,
                    replaced: None,
                };
                self.files.insert(sha256, file);
            }
            Event::Layout { name, texts } => {
                if let Some(own) = texts.first() {
                    let sha256 = own.object.sha256.clone();
                    self.layouts.insert(sha256, KeptLayout { name, texts });
                }
            }
            Event::Replaced {
                sha256, replaces, ..
            } => {
                self.replace(&sha256, &replaces);
                if let Some(file) = self.files.get_mut(&sha256) {
                    file.replaced = None;
                }
            }
            Event::Reread {
                sha256, reading, ..
            } => {
                if let Some(file) = self.files.get_mut(&sha256) {
                    file.reading = reading;
                }
            }
            Event::Tables(made) => {
                for folder in &made.removed {
                    self.parts.remove(folder);
                }
                let added = made.added.into_iter();
                self.parts
                    .extend(added.map(|part| (part.folder.clone(), part)));
                self.tables = Some(made.origin);
            }
        }
        Ok(())
    }

    fn replace(&mut self, by: &Fingerprint, replaces: &[Replaced]) {
        for replaced in replaces {
            if let Some(file) = self.files.get_mut(&replaced.sha256) {
                file.replaced = Some((replaced.because, by.clone()));
            }
        }
    }
}

impl HeldFile {
    /// Whether it is read; a file that another replaces is kept only.
    pub fn is_read(&self) -> bool {
        self.replaced.is_none()
    }
}

/// What a folder is, to someone who looks for an archive in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Found {
    /// An archive.
    Archive,
    /// Nothing yet: no folder, an empty one, or one in which an archive was being made.
    Nothing,
}

/// Looks whether a folder is an archive, and all of its own kind in it.
pub(super) fn look_at(root: &Path) -> Result<Found, ArchiveFault> {
    let shown = || root.to_string_lossy().into_owned();
    match root.metadata() {
        Ok(metadata) if metadata.is_dir() => {}
        Ok(_) => return Err(ArchiveFault::NotAFolder(shown())),
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Found::Nothing),
        Err(error) => return Err(ArchiveFault::disk("can't read", root)(error)),
    }
    let mut is_there = BTreeSet::new();
    for (name, is_folder) in [
        (MANIFEST, false),
        (SEAL, false),
        (LOCK, false),
        (OBJECTS, true),
        (INCOMING, true),
        (TABLES, true),
    ] {
        let path = root.join(name);
        match path.symlink_metadata() {
            Ok(metadata) if is_folder && metadata.is_dir() => is_there.insert(name),
            Ok(metadata) if !is_folder && metadata.is_file() => is_there.insert(name),
            Ok(_) => {
                return Err(ArchiveFault::NotOurs(path.to_string_lossy().into_owned()));
            }
            Err(error) if error.kind() == io::ErrorKind::NotFound => false,
            Err(error) => return Err(ArchiveFault::disk("can't read", &path)(error)),
        };
    }
    if is_there.contains(MANIFEST) {
        return Ok(Found::Archive);
    }
    let list = |folder: &Path| -> Result<Vec<String>, ArchiveFault> {
        let entries =
            std::fs::read_dir(folder).map_err(ArchiveFault::disk("can't read", folder))?;
        entries
            .map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned()))
            .collect::<io::Result<_>>()
            .map_err(ArchiveFault::disk("can't read", folder))
    };
    let names = list(root)?;
    if names.iter().any(|name| name == MANIFEST) {
        // Another process has made the archive since the manifest was looked for.
        return look_at(root);
    }
    let is_ours = |name: &String| [LOCK, OBJECTS, INCOMING].contains(&name.as_str());
    let has_objects = is_there.contains(OBJECTS) && !list(&root.join(OBJECTS))?.is_empty();
    if is_there.contains(SEAL) || has_objects {
        return Err(ArchiveFault::Damaged {
            archive: shown(),
            damages: vec![Damage::at(MANIFEST, "it is missing")],
        });
    }
    if names.iter().all(is_ours) {
        Ok(Found::Nothing)
    } else {
        Err(ArchiveFault::Foreign(shown()))
    }
}

/// Reads the manifest of an archive and holds it against its seal.
pub(super) fn read_chain(root: &Path) -> Result<Chain, ArchiveFault> {
    if look_at(root)? == Found::Nothing {
        let shown = root.to_string_lossy().into_owned();
        return Err(match root.exists() {
            true => ArchiveFault::Foreign(shown),
            false => ArchiveFault::Missing(shown),
        });
    }
    // The seal first: whoever writes meanwhile makes the manifest longer, never shorter than a seal said.
    let seal = read_seal(root)?;
    let path = root.join(MANIFEST);
    let mut bytes = Vec::new();
    open_regular(&path)
        .and_then(|mut file| file.read_to_end(&mut bytes))
        .map_err(ArchiveFault::disk("can't read", &path))?;
    Ok(check_chain(&bytes, &seal))
}

fn read_seal(root: &Path) -> Result<FoundSeal, ArchiveFault> {
    let path = root.join(SEAL);
    let mut bytes = Vec::new();
    // A seal is far shorter.
    let read = open_regular(&path).and_then(|file| file.take(4096).read_to_end(&mut bytes));
    match read {
        Ok(_) => Ok(Seal::read(&bytes).map_or(FoundSeal::Changed, FoundSeal::Whole)),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(FoundSeal::Missing),
        Err(error) => Err(ArchiveFault::disk("can't read", &path)(error)),
    }
}
