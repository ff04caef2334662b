use super::{archive, json, new_folder, shown, strip, write};
use loadbook::archive::fingerprint::Fingerprint;
use loadbook::archive::store::Archive;
use loadbook::archive::verify::verify;
use rand::{RngExt, SeedableRng};
use std::collections::BTreeSet;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

/// Kills in a run of the test; `LOADBOOK_KILLS` asks for another number.
const N_KILLS: u32 = 200;
const N_FILES: u32 = 40;

fn start(root: &Path, input: &Path) -> Child {
    Command::new(env!("CARGO_BIN_EXE_loadbook"))
        .args(["archive", "add", shown(root), shown(input)])
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap()
}

/// The first digits of the SHA-256 of what a process said is safe: those of whole lines.
fn acknowledged(out: &str) -> BTreeSet<String> {
    let whole = &out[..out.rfind('\n').map_or(0, |end| end + 1)];
    whole
        .lines()
        .filter_map(|line| line.strip_prefix("added ").or(line.strip_prefix("known ")))
        .filter_map(|line| line.split(' ').next())
        .map(str::to_owned)
        .collect()
}

/// How many cycles the tables hold: each file is one cycle, so that it is the number of files that had come in by the line
/// that they were made from. Tables of which half is of before and half of after would have another.
fn assert_tables_are_of_one_moment(root: &Path) {
    let archive = Archive::open(root).unwrap();
    let Some(tables) = archive.tables() else {
        assert_eq!(archive.parts().count(), 0);
        return;
    };
    let files = archive.files().into_iter();
    let n_files = files.filter(|file| file.line <= tables.from_line).count() as u64;
    for table in [
        "cycles",
        "stages",
        "readings",
        "loads",
        "decisions",
        "inputs",
    ] {
        let of_table = archive.parts().filter(|part| {
            let folder = part.folder.as_str();
            folder.split('/').next() == Some(table)
        });
        assert_eq!(
            of_table.map(|part| part.n_rows).sum::<u64>(),
            n_files,
            "{table}"
        );
    }
}

/// Adds many files again and again to an archive that has some, and each time kills the program (SIGKILL) after a while
/// from a fixed seed. After each kill the archive is whole, holds all that was ever acknowledged, and has tables of one
/// moment.
#[test]
fn killed_at_any_moment_it_loses_nothing_and_leaves_nothing_by_half() {
    let n_kills = std::env::var("LOADBOOK_KILLS").ok();
    let n_kills = n_kills.and_then(|n| n.parse().ok()).unwrap_or(N_KILLS);
    let folder = new_folder();
    let input = folder.path().join("in");
    for n in 0..N_FILES {
        write(&input, &format!("{n}.txt"), strip(n));
    }
    // Some have come in before, and stand in the tables.
    let before = folder.path().join("before");
    let some: Vec<PathBuf> = (0..10).map(|n| input.join(format!("{n}.txt"))).collect();
    let some: Vec<&str> = some.iter().map(|path| shown(path)).collect();
    assert_eq!(archive("add", &before, &some).code, 0);
    let root = folder.path().join("archive");
    copy(&before, &root);
    // How long a whole run takes here, so that kills fall all over it.
    let began = std::time::Instant::now();
    let output = start(&root, &input).wait_with_output().unwrap();
    let whole = began.elapsed();
    let all = acknowledged(&String::from_utf8(output.stdout).unwrap());
    assert_eq!(all.len() as u32, N_FILES);
    std::fs::remove_dir_all(&root).unwrap();
    copy(&before, &root);

    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(20_260_312);
    let mut safe: BTreeSet<String> = BTreeSet::new();
    let (mut n_amid, mut n_complete) = (0, 0);
    for _ in 0..n_kills {
        let delay = whole.mul_f64(random.random_range(0.0..1.1));
        let mut child = start(&root, &input);
        std::thread::sleep(delay.min(Duration::from_secs(5)));
        child.kill().unwrap();
        let mut out = String::new();
        child
            .stdout
            .take()
            .unwrap()
            .read_to_string(&mut out)
            .unwrap();
        child.wait().unwrap();
        safe.extend(acknowledged(&out));
        let verified = verify(&root, None, |_| {}).unwrap();
        assert_eq!(verified.damages, []);
        assert_tables_are_of_one_moment(&root);
        let held = held(&root);
        assert!(safe.is_subset(&held), "{:?}", safe.difference(&held));
        n_amid += u32::from(held.len() < all.len());
        let are_tables_older = archive("tables", &root, &["--list"]).out.is_empty()
            || verified.notes.iter().any(|note| note.place == "tables");
        if held == all && !are_tables_older {
            n_complete += 1;
            std::fs::remove_dir_all(&root).unwrap();
            copy(&before, &root);
            safe.clear();
        }
    }
    // Kills fell where they hurt. How many additions came to their end all the same depends on the machine's other work; the
    // last one is let run, and completes whatever was cut short.
    assert!(n_amid > 0, "{n_kills} kills, {n_complete} times complete");
    assert!(start(&root, &input).wait().unwrap().success());
    assert_tables_are_of_one_moment(&root);
    let verified = verify(&root, None, |_| {}).unwrap();
    assert_eq!((verified.damages, verified.notes), (vec![], vec![]));
    assert_eq!(
        held(&root),
        held_by_one_run(&folder.path().join("again"), &input)
    );
}

/// Copies a folder.
fn copy(from: &Path, to: &Path) {
    for entry in walkdir::WalkDir::new(from) {
        let entry = entry.unwrap();
        let to = to.join(entry.path().strip_prefix(from).unwrap());
        if entry.file_type().is_dir() {
            std::fs::create_dir(&to).unwrap();
        } else {
            std::fs::copy(entry.path(), &to).unwrap();
        }
    }
}

/// What an archive holds to which all was added at once.
fn held_by_one_run(root: &Path, input: &Path) -> BTreeSet<String> {
    assert!(start(root, input).wait().unwrap().success());
    held(root)
}

fn held(root: &Path) -> BTreeSet<String> {
    Archive::open(root)
        .unwrap()
        .files()
        .iter()
        .map(|file| Fingerprint::short(&file.object.sha256).to_owned())
        .collect()
}

#[test]
fn two_processes_that_add_at_once_both_get_in_and_readers_meanwhile_see_a_whole_archive() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    let inputs = ["a", "b", "c"].map(|name| folder.path().join(name));
    for (at, input) in (0_u32..).zip(&inputs) {
        for n in 0..30 {
            // Some files are in two of the folders.
            write(input, &format!("{n}.txt"), strip(at * 20 + n));
        }
    }
    let mut children: Vec<Child> = inputs.iter().map(|input| start(&root, input)).collect();
    let mut n_seen = BTreeSet::new();
    while children
        .iter_mut()
        .any(|child| child.try_wait().unwrap().is_none())
    {
        if root.join("manifest.jsonl").exists() {
            let verified = verify(&root, None, |_| {}).unwrap();
            assert_eq!(verified.damages, []);
            n_seen.insert(verified.n_files);
        }
    }
    let mut n_added = 0;
    for child in children {
        let output = child.wait_with_output().unwrap();
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(0), "{said}");
        let out = String::from_utf8(output.stdout).unwrap();
        n_added += out
            .lines()
            .filter(|line| line.starts_with("added "))
            .count();
    }
    // 0 to 69, each once.
    assert_eq!(n_added, 70);
    assert_eq!(json("list", &root)["files"].as_array().unwrap().len(), 70);
    assert_eq!(archive("verify", &root, &[]).code, 0);
    assert_tables_are_of_one_moment(&root);
    assert!(!n_seen.is_empty());
}

#[test]
fn whoever_finds_another_adding_waits_and_says_so() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    assert_eq!(archive("add", &root, &["day"]).code, 0);
    let lock = std::fs::File::options()
        .write(true)
        .open(root.join("lock"))
        .unwrap();
    lock.lock().unwrap();
    let input = write(folder.path(), "strip.txt", strip(7));
    let mut child = start(&root, &input);
    let mut stderr = child.stderr.take().unwrap();
    let mut said = [0_u8; 28];
    stderr.read_exact(&mut said).unwrap();
    assert_eq!(&said, b"note: another loadbook is ad");
    assert!(child.try_wait().unwrap().is_none());
    // Readers need not wait.
    assert_eq!(json("list", &root)["files"].as_array().unwrap().len(), 2);
    lock.unlock().unwrap();
    assert_eq!(child.wait().unwrap().code(), Some(0));
    assert_eq!(json("list", &root)["files"].as_array().unwrap().len(), 3);
}
