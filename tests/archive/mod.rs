//! The archive through the program. What each promise is and which test holds it stands in grammars/archive.md; each
//! failing operation and each loss of power are tested beside the code, in src/archive/trial.rs.

/// Every kind of change, each named.
mod damage;
/// Processes killed at any moment, and two at once.
mod processes;
/// What is read from an archive is what is read from the files.
mod reading;
/// Tables, in parts that change only when their rows do.
mod tables;
/// Longer and corrected versions, and bytes that are there already.
mod versions;

use crate::commands::{Run, run};
use std::path::{Path, PathBuf};

/// A folder for a test, in memory where the system has a place for that.
fn new_folder() -> tempfile::TempDir {
    let memory = Path::new("/dev/shm");
    match memory.is_dir() {
        true => tempfile::tempdir_in(memory).or_else(|_| tempfile::tempdir()),
        false => tempfile::tempdir(),
    }
    .unwrap()
}

fn shown(path: &Path) -> &str {
    path.to_str().unwrap()
}

/// Writes a file below a folder and gives its path.
fn write(folder: &Path, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
    let path = folder.join(name);
    std::fs::create_dir_all(path.parent().unwrap()).unwrap();
    std::fs::write(&path, bytes).unwrap();
    path
}

/// `loadbook archive ACTION DIR …`.
fn archive(action: &str, root: &Path, more: &[&str]) -> Run {
    let mut args = vec!["archive", action, shown(root)];
    args.extend_from_slice(more);
    run(&args)
}

/// What `loadbook archive ACTION DIR --format json` says.
fn json(action: &str, root: &Path) -> serde_json::Value {
    serde_json::from_str(&archive(action, root, &["--format", "json"]).out).unwrap()
}

/// A whole printout of a cycle.
fn strip(counter: u32) -> String {
    format!(
        "loadbook printout 1\nunit: PL-1\nprocess: plasma\nprogram: standard\ncounter: {counter}\nload: P1-{counter}\n\
         operator: HB\nstarted: 2026-03-12 07:41:20\nstage: evacuate, at 07:41:30\n07:41:40 pressure 60.5 Pa\n\
         ended: 08:22:05\noutcome: completed\nend\n"
    )
}
