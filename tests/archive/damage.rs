use super::{archive, json, new_folder, shown, strip, write};
use crate::commands::run;
use loadbook::archive::fault::ArchiveFault;
use loadbook::archive::verify::{Verified, verify};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// An archive with four files, one of which is replaced, and without tables: damage to those is in `tables.rs`.
fn whole(folder: &Path) -> PathBuf {
    let root = folder.join("archive");
    let path = write(folder, "in/strip.txt", strip(1));
    let other = write(folder, "in/other.txt", strip(3));
    let third = write(folder, "in/third.txt", strip(4));
    let paths = [shown(&path), shown(&other), shown(&third)];
    let added = archive("add", &root, &[&["--no-tables"], &paths[..]].concat());
    assert_eq!(added.code, 0);
    std::fs::write(&path, strip(1) + &strip(2)).unwrap();
    let added = archive("add", &root, &["--no-tables", shown(&path)]);
    assert_eq!(added.code, 0);
    assert_eq!(archive("verify", &root, &[]).code, 0);
    root
}

/// All files of an archive but the lock, which is empty.
fn files(root: &Path) -> BTreeMap<String, Vec<u8>> {
    walkdir::WalkDir::new(root)
        .into_iter()
        .map(Result::unwrap)
        .filter(|entry| entry.file_type().is_file() && entry.file_name() != "lock")
        .map(|entry| {
            let name = entry.path().strip_prefix(root).unwrap();
            (shown(name).to_owned(), std::fs::read(entry.path()).unwrap())
        })
        .collect()
}

fn damages(root: &Path) -> Vec<String> {
    match verify(root, None, |_| {}) {
        Ok(Verified { damages, .. }) | Err(ArchiveFault::Damaged { damages, .. }) => {
            damages.iter().map(ToString::to_string).collect()
        }
        Err(fault) => panic!("{fault}"),
    }
}

#[test]
fn every_flipped_byte_of_every_file_is_found_and_its_place_named() {
    let folder = new_folder();
    let root = whole(folder.path());
    let files = files(&root);
    // Manifest, seal, four objects.
    assert_eq!(files.len(), 6, "{:?}", files.keys());
    let mut n_flipped = 0;
    for (name, bytes) in &files {
        for at in 0..bytes.len() {
            let mut changed = bytes.clone();
            changed[at] ^= 0x10;
            std::fs::write(root.join(name), &changed).unwrap();
            let damages = damages(&root);
            let place = match name.as_str() {
                "manifest.jsonl" => "manifest, line ".to_owned(),
                name => format!("{name}: "),
            };
            let is_named = damages.iter().any(|damage| damage.starts_with(&place));
            assert!(is_named, "{name}, byte {at}: {damages:?}");
            n_flipped += 1;
        }
        std::fs::write(root.join(name), bytes).unwrap();
    }
    assert!(n_flipped > 3000, "{n_flipped}");
    assert_eq!(damages(&root), Vec::<String>::new());
}

#[test]
fn files_that_are_missing_longer_shorter_or_exchanged_are_named() {
    let folder = new_folder();
    let root = whole(folder.path());
    let files = files(&root);
    let objects: Vec<&String> = files
        .keys()
        .filter(|name| name.starts_with("objects"))
        .collect();
    for (name, bytes) in &files {
        let path = root.join(name);
        std::fs::remove_file(&path).unwrap();
        let said = damages(&root).join("\n");
        assert!(
            said.contains("missing") && said.contains(name),
            "{name}: {said}"
        );
        std::fs::write(&path, &bytes[..bytes.len() - 1]).unwrap();
        assert!(!damages(&root).is_empty(), "{name} is a byte shorter");
        let mut longer = bytes.clone();
        longer.push(b'x');
        std::fs::write(&path, longer).unwrap();
        // Bytes after the last acknowledged line of the manifest are what a crash leaves, and no damage.
        assert_eq!(
            damages(&root).is_empty(),
            name == "manifest.jsonl",
            "{name} is a byte longer"
        );
        std::fs::write(&path, bytes).unwrap();
    }
    std::fs::write(root.join(objects[0]), &files[objects[1]]).unwrap();
    std::fs::write(root.join(objects[1]), &files[objects[0]]).unwrap();
    let said = damages(&root).join("\n");
    assert!(
        said.contains(objects[0]) && said.contains(objects[1]),
        "{said}"
    );
}

#[test]
fn lines_of_the_manifest_that_are_missing_or_exchanged_are_named() {
    let folder = new_folder();
    let root = whole(folder.path());
    let manifest = std::fs::read_to_string(root.join("manifest.jsonl")).unwrap();
    let lines: Vec<&str> = manifest.lines().collect();
    assert_eq!(lines.len(), 5);
    let put = |lines: &[&str]| {
        std::fs::write(root.join("manifest.jsonl"), lines.join("\n") + "\n").unwrap();
        archive("verify", &root, &[])
    };
    for gone in 0..lines.len() {
        let mut fewer = lines.clone();
        fewer.remove(gone);
        let run = put(&fewer);
        assert_eq!(run.code, 1);
        assert!(
            run.out.contains(&format!("manifest, line {}", gone + 1)),
            "{}",
            run.out
        );
        assert!(run.out.starts_with("DAMAGED"), "{}", run.out);
    }
    for at in 0..lines.len() - 1 {
        let mut exchanged = lines.clone();
        exchanged.swap(at, at + 1);
        let run = put(&exchanged);
        assert_eq!(run.code, 1);
        assert!(
            run.out.contains("it stands in the wrong place"),
            "{}",
            run.out
        );
    }
    assert_eq!(put(&lines).code, 0);
}

/// Someone takes out the last file with all its traces, the seal put back as well: only a fingerprint that was noted
/// outside the archive can show that, and does.
#[test]
fn fingerprint_noted_elsewhere_shows_an_archive_that_was_set_back() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    let path = write(folder.path(), "in/strip.txt", strip(1));
    assert_eq!(
        archive("add", &root, &["--no-tables", shown(&path)]).code,
        0
    );
    let before = files(&root);
    let early = json("verify", &root)["fingerprint"]
        .as_str()
        .unwrap()
        .to_owned();
    let other = write(folder.path(), "in/other.txt", strip(2));
    assert_eq!(
        archive("add", &root, &["--no-tables", shown(&other)]).code,
        0
    );
    let late = json("verify", &root)["fingerprint"]
        .as_str()
        .unwrap()
        .to_owned();
    for fingerprint in [&early, &late] {
        let run = archive("verify", &root, &["--fingerprint", fingerprint]);
        assert_eq!(run.code, 0, "{}", run.out);
    }
    for name in ["manifest.jsonl", "seal"] {
        std::fs::write(root.join(name), &before[name]).unwrap();
    }
    assert_eq!(archive("verify", &root, &[]).code, 0);
    assert_eq!(archive("verify", &root, &["--fingerprint", &early]).code, 0);
    let run = archive("verify", &root, &["--fingerprint", &late]);
    assert_eq!(run.code, 1);
    assert!(
        run.out.contains("no line has the fingerprint"),
        "{}",
        run.out
    );
}

#[test]
fn damaged_archive_is_read_as_far_as_it_goes_with_an_error_and_nothing_is_added() {
    let folder = new_folder();
    let root = whole(folder.path());
    let files = files(&root);
    let rows = json("list", &root);
    let rows = rows["files"].as_array().unwrap();
    let of_other = rows
        .iter()
        .find(|row| row["file"].as_str().unwrap().ends_with("other.txt"));
    let sha256 = of_other.unwrap()["sha256"].as_str().unwrap();
    let object = format!("objects/{}/{}.gz", &sha256[..2], &sha256[2..]);
    let mut changed = files[&object].clone();
    let middle = changed.len() / 2;
    changed[middle] ^= 1;
    std::fs::write(root.join(&object), changed).unwrap();
    let read = run(&["show", "PL-1:4", "--archive", shown(&root)]);
    assert_eq!(read.code, 2);
    assert!(read.out.contains("PL-1:4"), "{}", read.out);
    assert!(
        read.err
            .contains("other.txt` is not in the archive as it was added"),
        "{}",
        read.err
    );
    std::fs::write(root.join(&object), &files[&object]).unwrap();

    std::fs::write(root.join("seal"), "0 0 0\n").unwrap();
    let read = run(&["show", "PL-1:4", "--archive", shown(&root)]);
    assert_eq!(read.code, 2);
    assert!(
        read.err.contains("damaged") && read.out.contains("PL-1:4"),
        "{}",
        read.err
    );
    let before = std::fs::read(root.join("manifest.jsonl")).unwrap();
    let added = archive("add", &root, &["day"]);
    assert_eq!(added.code, 2);
    assert!(
        added.err.contains("Nothing is added until then"),
        "{}",
        added.err
    );
    assert_eq!(std::fs::read(root.join("manifest.jsonl")).unwrap(), before);
}

#[test]
fn packed_file_that_unpacks_to_far_more_is_damage_and_ends_soon() {
    use std::io::Write;
    let folder = new_folder();
    let root = whole(folder.path());
    let object = files(&root)
        .into_keys()
        .find(|name| name.starts_with("objects"))
        .unwrap();
    let mut bomb = flate2_of_zeros(300 << 20);
    bomb.flush().unwrap();
    std::fs::write(root.join(&object), bomb).unwrap();
    let said = damages(&root);
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(said[0].contains(&object));
    let review = run(&["review", "--archive", shown(&root)]);
    assert_eq!(review.code, 2);
}

/// Zeros as gzip, packed by the system's program.
fn flate2_of_zeros(n_bytes: usize) -> Vec<u8> {
    use std::process::{Command, Stdio};
    let mut zeros = Command::new("head")
        .args(["-c", &n_bytes.to_string(), "/dev/zero"])
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let packed = Command::new("gzip")
        .args(["-1", "-c"])
        .stdin(zeros.stdout.take().unwrap())
        .output()
        .unwrap();
    zeros.wait().unwrap();
    packed.stdout
}

#[test]
fn folders_that_are_no_archives_are_refused_with_what_to_do() {
    let folder = new_folder();
    let missing = folder.path().join("missing");
    for action in ["list", "verify", "review", "reread", "tables"] {
        let run = archive(action, &missing, &[]);
        assert_eq!(run.code, 2);
        assert!(
            run.err.contains("there is no folder") && run.err.contains("archive add"),
            "{}",
            run.err
        );
    }
    assert!(!missing.exists(), "nothing is made by looking");
    let foreign = folder.path().join("foreign");
    write(&foreign, "letters.txt", "Dear all");
    for action in ["list", "verify", "review", "reread", "tables"] {
        let run = archive(action, &foreign, &[]);
        assert_eq!(run.code, 2);
        assert!(run.err.contains("is not an archive"), "{}", run.err);
    }
    let run = archive("add", &foreign, &["day"]);
    assert_eq!(run.code, 2);
    assert!(run.err.contains("a new or an empty folder"), "{}", run.err);
    assert_eq!(std::fs::read_dir(&foreign).unwrap().count(), 1);
    let file = write(folder.path(), "file", "");
    let run = archive("add", &file, &["day"]);
    assert_eq!(run.code, 2);
    assert!(run.err.contains("is not a folder"), "{}", run.err);
    let run = archive("add", &folder.path().join("no/such/parent"), &["day"]);
    assert_eq!(run.code, 2);
    assert!(run.err.contains("can't make the folder"), "{}", run.err);
}

#[test]
fn newer_archive_is_refused_and_left_as_it_is() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    let line = "{\"line\":1,\"previous\":\"0000000000000000000000000000000000000000000000000000000000000000\",\
                \"event\":\"made\",\"format\":2,\"loadbook\":\"9.0.0\"}\n";
    write(&root, "manifest.jsonl", line);
    for action in ["list", "review"] {
        let run = archive(action, &root, &[]);
        assert_eq!(run.code, 2);
        assert!(run.err.contains("a newer loadbook"), "{}", run.err);
    }
    assert_eq!(archive("add", &root, &["day"]).code, 2);
    assert_eq!(
        std::fs::read_to_string(root.join("manifest.jsonl")).unwrap(),
        line
    );
}

#[cfg(unix)]
#[test]
fn links_out_of_the_archive_are_not_followed() {
    use std::os::unix::fs::symlink;
    let folder = new_folder();
    let root = whole(folder.path());
    let outside = folder.path().join("outside");
    std::fs::create_dir(&outside).unwrap();
    for name in ["manifest.jsonl", "seal", "lock", "objects", "incoming"] {
        let path = root.join(name);
        let moved = outside.join(name);
        std::fs::rename(&path, &moved).unwrap();
        symlink(&moved, &path).unwrap();
        for action in ["add", "verify", "review"] {
            let more: &[&str] = if action == "add" { &["day"] } else { &[] };
            let run = archive(action, &root, more);
            assert_eq!(run.code, 2, "{action}, {name}: {}", run.out);
            assert!(
                run.err.contains("is a link"),
                "{action}, {name}: {}",
                run.err
            );
        }
        std::fs::remove_file(&path).unwrap();
        std::fs::rename(&moved, &path).unwrap();
    }
    // An object, and the folder of one.
    let object = files(&root)
        .into_keys()
        .find(|name| name.starts_with("objects"))
        .unwrap();
    let path = root.join(&object);
    for linked in [path.clone(), path.parent().unwrap().to_owned()] {
        let moved = outside.join("moved");
        std::fs::rename(&linked, &moved).unwrap();
        symlink(&moved, &linked).unwrap();
        let said = damages(&root).join("\n");
        assert!(said.contains("link"), "{said}");
        let read = run(&["read", "--archive", shown(&root)]);
        assert_eq!(read.code, 2, "{}", read.out);
        std::fs::remove_file(&linked).unwrap();
        std::fs::rename(&moved, &linked).unwrap();
    }
    assert_eq!(damages(&root), Vec::<String>::new());
}

#[test]
fn manifest_of_any_bytes_is_damage_and_never_a_panic() {
    use proptest::prelude::*;
    let folder = new_folder();
    let root = whole(folder.path());
    let manifest = std::fs::read(root.join("manifest.jsonl")).unwrap();
    let n = manifest.len();
    let mut runner = proptest::test_runner::TestRunner::new(crate::proptest_settings(300));
    let edits = (0..n, 0..n, prop::collection::vec(any::<u8>(), 0..40));
    runner
        .run(&edits, |(from, to, new)| {
            let (from, to) = (from.min(to), from.max(to));
            let changed = [&manifest[..from], &new[..], &manifest[to..]].concat();
            let is_same = changed == manifest;
            std::fs::write(root.join("manifest.jsonl"), &changed).unwrap();
            let is_damaged = match verify(&root, None, |_| {}) {
                Ok(verified) => !verified.damages.is_empty(),
                Err(_) => true,
            };
            // Bytes that only come after the last line are what a crash leaves.
            let only_after = changed.starts_with(&manifest);
            prop_assert!(is_same || only_after || is_damaged);
            Ok(())
        })
        .unwrap();
}
