//! What stands where a file should be.
#![cfg(unix)]

use super::{HEALTHY, READING, assert_inert, folder_of, path_of, run, run_all, run_upon};
use std::ffi::OsStr;
use std::fs::{self, File, OpenOptions};
use std::io::Write;
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::{PermissionsExt, symlink};
use std::path::Path;
use std::process::{Command, Stdio};

fn make_pipe(path: &Path) {
    let status = Command::new("mkfifo")
        .arg(path)
        .status()
        .expect("mkfifo is there");
    assert!(status.success());
}

/// Commands that read one file of the site's own, beside the records.
fn run_site_files(path: &Path, strip: &Path) -> Vec<super::Run> {
    let path = path.as_os_str();
    [
        &[OsStr::new("policy"), OsStr::new("check"), path][..],
        &[OsStr::new("policy"), path],
        &[OsStr::new("layout"), OsStr::new("check"), path],
        &[OsStr::new("layout"), OsStr::new("draft"), path],
        &[
            OsStr::new("release"),
            strip.as_os_str(),
            OsStr::new("--policy"),
            path,
        ],
        &[
            OsStr::new("convert"),
            OsStr::new("--layout"),
            path,
            strip.as_os_str(),
        ],
    ]
    .into_iter()
    .map(|args| run(args, Stdio::null()))
    .collect()
}

#[test]
fn pipe_that_no_one_writes_to_is_given_up() {
    let folder = folder_of(&[("strip.txt", HEALTHY.as_bytes())]);
    let pipe = path_of(&folder, "pipe");
    make_pipe(&pipe);
    for run in run_all(&pipe) {
        assert_eq!(run.code, 2, "{}", run.said());
        assert!(run.says("no one writes to it"), "{}", run.said());
    }
    for run in run_site_files(&pipe, &path_of(&folder, "strip.txt")) {
        assert_eq!(run.code, 2, "{:?} {}", run.args, run.said());
    }
    // Within a folder it is passed over, and said.
    let read = run_upon(&["read", "PATH", "--all"], folder.path());
    assert!(read.says("not a regular file"), "{}", read.said());
    assert_eq!(read.code, 0, "the strip beside it is read: {}", read.said());
}

#[test]
fn pipe_with_a_writer_is_read_as_a_file_is() {
    let folder = folder_of(&[]);
    let pipe = path_of(&folder, "pipe");
    make_pipe(&pipe);
    let to = pipe.clone();
    let writer = std::thread::spawn(move || {
        let mut pipe = OpenOptions::new().write(true).open(to).unwrap();
        pipe.write_all(HEALTHY.as_bytes()).unwrap();
    });
    let show = run_upon(&["show", "PL-1:1042", "PATH"], &pipe);
    writer.join().unwrap();
    assert!(show.says("P1-0312-01"), "{}", show.said());
}

#[test]
fn devices_are_refused() {
    let folder = folder_of(&[("strip.txt", HEALTHY.as_bytes())]);
    for device in ["/dev/zero", "/dev/null", "/dev/urandom"] {
        let device = Path::new(device);
        for run in run_all(device) {
            assert_eq!(run.code, 2, "{}", run.said());
        }
        for run in run_site_files(device, &path_of(&folder, "strip.txt")) {
            assert_eq!(run.code, 2, "{:?} {}", run.args, run.said());
        }
        let input = File::open(device).unwrap();
        let run = run(&[OsStr::new("read"), OsStr::new("-")], Stdio::from(input));
        assert_eq!(run.code, 2, "{}", run.said());
    }
}

#[test]
fn archive_keeps_no_pipe_device_or_link() {
    let folder = folder_of(&[("strip.txt", HEALTHY.as_bytes())]);
    let pipe = path_of(&folder, "pipe");
    make_pipe(&pipe);
    symlink("/dev/zero", path_of(&folder, "device")).unwrap();
    symlink(folder.path(), path_of(&folder, "loop")).unwrap();
    let archives = folder_of(&[]);
    let archive = path_of(&archives, "archive");
    let add = |path: &Path| {
        let args = [
            "archive".as_ref(),
            "add".as_ref(),
            archive.as_os_str(),
            path.as_os_str(),
        ];
        run(&args, Stdio::null())
    };
    for path in [
        &pipe,
        Path::new("/dev/zero"),
        &path_of(&folder, "not-there"),
    ] {
        let run = add(path);
        assert_inert(&run);
        assert_eq!(run.code, 2, "{}", run.said());
    }
    let run = add(folder.path());
    assert_inert(&run);
    assert!(run.says("1 added"), "the strip alone: {}", run.said());
}

#[test]
fn links_inside_a_folder_lead_nowhere() {
    let outside = folder_of(&[(
        "secret.txt",
        HEALTHY.replace("P1-0312-01", "OUTSIDE").as_bytes(),
    )]);
    let folder = folder_of(&[("strip.txt", HEALTHY.as_bytes())]);
    symlink(folder.path(), path_of(&folder, "loop")).unwrap();
    symlink(path_of(&folder, "b"), path_of(&folder, "a")).unwrap();
    symlink(path_of(&folder, "a"), path_of(&folder, "b")).unwrap();
    symlink(outside.path(), path_of(&folder, "folder")).unwrap();
    symlink(
        path_of(&outside, "secret.txt"),
        path_of(&folder, "file.txt"),
    )
    .unwrap();
    symlink("/dev/zero", path_of(&folder, "device")).unwrap();
    for run in run_all(folder.path()) {
        assert_inert(&run);
        assert!(!run.says("OUTSIDE"), "{}", run.said());
    }
    let read = run_upon(&["read", "PATH", "--all"], folder.path());
    // Counted by hand: the six links above.
    assert!(read.says("file-skipped note 6"), "{}", read.said());
    // A loop that is named itself is refused.
    assert_eq!(run_upon(&["read", "PATH"], &path_of(&folder, "a")).code, 2);
}

#[test]
fn names_of_files_steer_nothing() {
    for name in [
        &b"line\nend.txt"[..],
        b"\x1b[31mred.txt",
        b"\x1b]0;title\x07.txt",
        b"invalid\xff\xfe.txt",
        "turned\u{202e}txt.exe".as_bytes(),
        b"<script>alert(1)<",
        b"=1+1",
        b"-rf",
        b"a*[?].txt",
        b"%s%n.txt",
    ] {
        let folder = folder_of(&[]);
        let path = folder.path().join(OsStr::from_bytes(name));
        fs::write(&path, HEALTHY.replace("ended:", "rubbish\nended:")).unwrap();
        for run in run_all(folder.path()) {
            assert_inert(&run);
            assert_ne!(run.code, 2, "{name:?}: {}", run.said());
            let is_html = run.args.contains(&"report".into());
            assert!(!(is_html && run.says("<script>alert")), "{}", run.said());
        }
        // Named itself, it is that file or a refusal, never another file.
        run_all(&path).iter().for_each(assert_inert);
    }
}

#[test]
fn empty_files_and_folders_are_told() {
    let folder = folder_of(&[
        ("empty.txt", b""),
        ("blank.txt", b"\n\n \n"),
        ("nul.txt", &[0; 4_096]),
    ]);
    for run in run_all(folder.path()) {
        assert_inert(&run);
        assert_eq!(run.code, 2, "{:?} {}", run.args, run.said());
    }
    let nothing = folder_of(&[]);
    for run in run_all(nothing.path()) {
        assert_eq!(run.code, 2, "{}", run.said());
        assert!(run.says("nothing was read"), "{}", run.said());
    }
    for run in run_all(&path_of(&nothing, "not-there")) {
        assert_eq!(run.code, 2, "{}", run.said());
    }
}

#[test]
fn folder_without_rights_is_told_and_the_rest_is_read() {
    let folder = folder_of(&[("strip.txt", HEALTHY.as_bytes())]);
    let closed = path_of(&folder, "closed");
    fs::create_dir(&closed).unwrap();
    fs::write(closed.join("inside.txt"), HEALTHY).unwrap();
    fs::write(path_of(&folder, "locked.txt"), HEALTHY).unwrap();
    for path in [&closed, &path_of(&folder, "locked.txt")] {
        fs::set_permissions(path, fs::Permissions::from_mode(0o000)).unwrap();
    }
    // Root may read everything, so there the rights hinder no one.
    let hinders = File::open(path_of(&folder, "locked.txt")).is_err();
    for command in READING {
        let run = run_upon(command, folder.path());
        assert_inert(&run);
        if hinders {
            assert_eq!(run.code, 2, "{:?} {}", run.args, run.said());
            assert!(run.says("you may not read it"), "{}", run.said());
        }
    }
    fs::set_permissions(&closed, fs::Permissions::from_mode(0o700)).unwrap();
}

#[test]
fn file_that_grows_and_shrinks_while_it_is_read_ends_all_the_same() {
    let folder = folder_of(&[]);
    let path = path_of(&folder, "strip.txt");
    fs::write(&path, HEALTHY.repeat(2_000)).unwrap();
    let stop = std::sync::Arc::new(std::sync::atomic::AtomicBool::new(false));
    let (at, seen) = (path.clone(), stop.clone());
    let writer = std::thread::spawn(move || {
        let mut n = 0_u64;
        while !seen.load(std::sync::atomic::Ordering::Relaxed) {
            n += 1;
            let file = OpenOptions::new().write(true).open(&at).unwrap();
            file.set_len(n * 7_919 % 400_000).unwrap();
            std::thread::yield_now();
        }
    });
    for command in [
        &["read", "PATH", "--all"][..],
        &["review", "PATH"],
        &["show", "PL-1:1042", "PATH"],
    ] {
        assert_inert(&run_upon(command, &path));
    }
    stop.store(true, std::sync::atomic::Ordering::Relaxed);
    writer.join().unwrap();
}

#[test]
fn compressed_files_are_told_and_not_read() {
    // First bytes: gzip RFC 1952 2.3.1; zip APPNOTE.TXT 4.3.7; xz file format 2.1.1.1; zstd RFC 8878 3.1.1; bzip2 from
    // memory.
    for (name, magic) in [
        ("gzip", &b"\x1f\x8b\x08\0\0\0\0\0\0\x03"[..]),
        ("zip", b"PK\x03\x04\x14\0\0\0\x08\0"),
        ("xz", b"\xfd7zXZ\0\0\x04\xe6\xd6"),
        ("zstd", b"\x28\xb5\x2f\xfd\x24\x10"),
        ("bzip2", b"BZh91AY&SY"),
    ] {
        let mut bytes = magic.to_vec();
        // Few enough control characters that it could pass for text.
        bytes.extend(HEALTHY.as_bytes());
        let folder = folder_of(&[("strip", &bytes)]);
        for run in run_all(folder.path()) {
            assert_inert(&run);
            assert_eq!(run.code, 2, "{:?} {}", run.args, run.said());
        }
        let read = run_upon(&["read", "PATH", "--all"], folder.path());
        assert!(
            read.says(&format!("compressed ({name})")),
            "{}",
            read.said()
        );
    }
}
