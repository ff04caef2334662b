//! Why an archive could not be used, and what to do about it.

use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

/// Something in an archive that is not as it was written.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Damage {
    /// Where: `manifest, line 12`, or a file's path below the archive's folder.
    pub place: String,
    /// What is wrong there.
    pub said: String,
}

impl Damage {
    /// A damage at a place.
    pub fn at(place: impl Into<String>, said: impl Into<String>) -> Self {
        Damage {
            place: place.into(),
            said: said.into(),
        }
    }
}

impl fmt::Display for Damage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.place, self.said)
    }
}

/// Why an archive could not be used.
#[derive(Debug, thiserror::Error)]
pub enum ArchiveFault {
    /// There is nothing.
    #[error("there is no folder `{0}`")]
    Missing(String),
    /// A folder for other things.
    #[error("`{0}` is not an archive: it has no manifest, and holds something else")]
    Foreign(String),
    /// The name of a file.
    #[error("`{0}` is not a folder")]
    NotAFolder(String),
    /// A link, or a device, or a folder, where the archive has files of its own.
    #[error("`{0}` is a link or of another kind than an archive has there")]
    NotOurs(String),
    /// Of a later format.
    #[error("a newer loadbook wrote in the archive `{0}`")]
    Newer(String),
    /// Not as it was written.
    #[error("the archive `{archive}` is damaged: {}", first_of(.damages))]
    Damaged {
        /// Its folder.
        archive: String,
        /// What is damaged.
        damages: Vec<Damage>,
    },
    /// The system refused.
    #[error("{doing} `{path}`: {}", in_words(.source))]
    Disk {
        /// What could not be done.
        doing: &'static str,
        /// To what.
        path: String,
        /// Why.
        source: io::Error,
    },
    /// An input could not be read to its end. The archive has nothing of it.
    #[error("`{name}` can't be read: {}", in_words(.source))]
    Input {
        /// Its name.
        name: String,
        /// Why.
        source: io::Error,
    },
    /// Writing failed before.
    #[error("nothing more can be added after what failed before")]
    Broken,
}

impl ArchiveFault {
    /// What to do next.
    pub fn help(&self) -> String {
        match self {
            ArchiveFault::Missing(archive) => {
                format!("make the archive by adding to it: loadbook archive add {archive} PATH")
            }
            ArchiveFault::Foreign(_) => {
                "name an archive, or for `archive add` a new or an empty folder".to_owned()
            }
            ArchiveFault::NotAFolder(_) => "name the archive's folder".to_owned(),
            ArchiveFault::NotOurs(_) => {
                "an archive is read in its own folder only; put the file itself in this place"
                    .to_owned()
            }
            ArchiveFault::Newer(_) => "use that loadbook, or a later one".to_owned(),
            ArchiveFault::Damaged { archive, .. } => format!(
                "`loadbook archive verify {archive}` names all that is damaged; put it back from a copy of the archive. \
                 Nothing is added until then"
            ),
            ArchiveFault::Disk { source, .. } => match source.kind() {
                io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
                    "make room and run the same command again: what was told as added is safe, and nothing is there by \
                     half"
                        .to_owned()
                }
                io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
                    "ask for the right to write in the archive's folder".to_owned()
                }
                _ => "run the same command again: what was told as added is safe, and nothing is there by half"
                    .to_owned(),
            },
            ArchiveFault::Input { .. } => {
                "check that the file exists and that you may read it".to_owned()
            }
            ArchiveFault::Broken => "run the same command again".to_owned(),
        }
    }

    /// Whether only one input is at fault, and the next may be added.
    pub fn is_of_input(&self) -> bool {
        matches!(self, ArchiveFault::Input { .. })
    }

    /// The system's refusal.
    pub(super) fn disk(doing: &'static str, path: &Path) -> impl FnOnce(io::Error) -> ArchiveFault {
        let path: PathBuf = path.to_owned();
        move |source| ArchiveFault::Disk {
            doing,
            path: path.to_string_lossy().into_owned(),
            source,
        }
    }
}

fn first_of(damages: &[Damage]) -> String {
    let first = damages.first().map(Damage::to_string).unwrap_or_default();
    match damages.len() {
        0 | 1 => first,
        n => format!("{first} (and {} more)", n.saturating_sub(1)),
    }
}

/// The system's words differ from system to system; the kinds' don't.
fn in_words(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "it is not there".to_owned(),
        io::ErrorKind::PermissionDenied => "you have no right to".to_owned(),
        io::ErrorKind::StorageFull => "the disk is full".to_owned(),
        io::ErrorKind::ReadOnlyFilesystem => "the disk can only be read".to_owned(),
        io::ErrorKind::Other => error.to_string(),
        kind => kind.to_string(),
    }
}
