use super::{archive, json, new_folder, shown, strip, write};
use crate::commands::{run, run_with_input};
use std::path::Path;
use std::process::{Command, Stdio};

fn samples() -> String {
    concat!(env!("CARGO_MANIFEST_DIR"), "/samples/fennmarsh").to_owned()
}

#[test]
fn every_reading_command_gives_from_the_archive_what_it_gives_from_the_files() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    let added = archive("add", &root, &["day"]);
    assert_eq!((added.code, added.err.as_str()), (0, ""), "{}", added.out);
    for command in [
        &["review"][..],
        &["read"],
        &["release"],
        &["recall"],
        &["show", "PL-1:1042"],
        &["service"],
        &["report", "review"],
        &["report", "investigation", "PL-1:1042"],
        &["report", "monthly"],
        &["report", "service"],
        &["convert"],
    ] {
        let of_files = run(&[command, &["day"]].concat());
        let of_archive = run(&[command, &["--archive", shown(&root)]].concat());
        assert_eq!(of_files.out, of_archive.out, "{command:?}");
        assert_eq!(of_files.err, of_archive.err, "{command:?}");
        assert_eq!(of_files.code, of_archive.code, "{command:?}");
    }
    let tables = ["files", "archive"].map(|name| folder.path().join(name.to_owned() + ".csv"));
    let of_files = run(&["export", "day", "--as", "csv", "-o", shown(&tables[0])]);
    let of_archive = [
        "--archive",
        shown(&root),
        "--as",
        "csv",
        "-o",
        shown(&tables[1]),
    ];
    assert_eq!(
        run(&[&["export"], &of_archive[..]].concat()).code,
        of_files.code
    );
    for entry in std::fs::read_dir(&tables[0]).unwrap() {
        let name = entry.unwrap().file_name();
        let [of_files, of_archive] =
            [0, 1].map(|at| std::fs::read(tables[at].join(&name)).unwrap());
        assert_eq!(of_files, of_archive, "{name:?}");
    }
    let within = root.join("tables");
    let refused = run(&[
        "export",
        "--archive",
        shown(&root),
        "--as",
        "csv",
        "-o",
        shown(&within),
    ]);
    assert_eq!(refused.code, 2);
    let review = archive("review", &root, &[]);
    assert_eq!(review.out, run(&["review", "day"]).out);
}

#[test]
fn three_months_of_the_samples_are_the_same_from_the_archive() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    assert_eq!(archive("add", &root, &[&samples()]).code, 0);
    let of_files = run(&["read", &samples(), "--all", "--format", "json"]);
    let of_archive = run(&[
        "read",
        "--archive",
        shown(&root),
        "--all",
        "--format",
        "json",
    ]);
    assert_eq!(of_files.out, of_archive.out);
    assert_eq!(archive("verify", &root, &[]).code, 0);
}

#[test]
fn paths_and_an_archive_together_are_misuse() {
    for args in [
        &["review", "day", "--archive", "somewhere"][..],
        &["review"],
        &["read", "day", "--archive", "somewhere"],
        &["archive", "add", "somewhere"],
        &["archive", "verify", "somewhere", "--fingerprint", "12ab"],
    ] {
        assert_eq!(run(args).code, 2, "{args:?}");
    }
}

/// The example of the documentation is what loadbook writes, but for what the packer's version decides.
#[test]
fn the_manifest_of_the_documentation_is_that_of_the_program() {
    let page = include_str!("../../grammars/archive.md");
    let (_, example) = page.split_once("```jsonl\n").unwrap();
    let (example, _) = example.split_once("```").unwrap();
    let folder = new_folder();
    let root = folder.path().join("archive");
    let added = run_with_input(
        &[
            "archive",
            "add",
            shown(&root),
            "-",
            "--at",
            "2026-03-12 16:00",
            "--site",
            "fennmarsh",
        ],
        strip(1042).as_bytes(),
    );
    assert_eq!(added.code, 0, "{}", added.err);
    let manifest = std::fs::read_to_string(root.join("manifest.jsonl")).unwrap();
    // What a later version of loadbook, of its records or of the packer may have otherwise.
    let varies = [
        "loadbook",
        "records_sha256",
        "packed_sha256",
        "n_packed_bytes",
        "previous",
        // Of the last line's tables the example shows one part.
        "policy",
        "added",
    ];
    fn blank(value: &mut serde_json::Value, fields: &[&str]) {
        for (name, value) in value.as_object_mut().into_iter().flatten() {
            match fields.contains(&name.as_str()) {
                true => *value = "varies".into(),
                false => blank(value, fields),
            }
        }
    }
    let read = |text: &str| -> Vec<serde_json::Value> {
        let lines = text.lines().map(|line| serde_json::from_str(line).unwrap());
        lines
            .map(|mut line| {
                blank(&mut line, &varies);
                line
            })
            .collect()
    };
    assert_eq!(read(example), read(&manifest), "\n{manifest}");
    let named: serde_json::Value = serde_json::from_str(manifest.lines().last().unwrap()).unwrap();
    let shown_part = serde_json::from_str::<serde_json::Value>(example.lines().last().unwrap());
    let shown_part = &shown_part.unwrap()["added"][0];
    let parts = named["added"].as_array().unwrap();
    let is_there = |part: &&serde_json::Value| {
        (&part["folder"], &part["n_rows"]) == (&shown_part["folder"], &shown_part["n_rows"])
    };
    assert_eq!(parts.iter().filter(is_there).count(), 1, "{shown_part}");
    let (first, second) = example.split_once('\n').unwrap();
    let sha256 = loadbook::archive::fingerprint::Fingerprint::of(first.as_bytes());
    assert!(second.contains(&format!("\"previous\":\"{sha256}\"")));
}

/// What was kept can be had back, and the manifest checked, without loadbook: by gzip and sha256sum, which are the outside
/// reference here (RFC 1952, FIPS 180-4).
#[test]
fn gzip_and_sha256sum_alone_give_back_every_file_and_check_the_chain() {
    fn sha256sum(bytes: &[u8]) -> String {
        use std::io::Write;
        let mut child = Command::new("sha256sum")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("sha256sum is there");
        child.stdin.take().unwrap().write_all(bytes).unwrap();
        let output = child.wait_with_output().unwrap();
        String::from_utf8(output.stdout).unwrap()[..64].to_owned()
    }
    let folder = new_folder();
    let root = folder.path().join("archive");
    assert_eq!(archive("add", &root, &["day", "recall"]).code, 0);
    let manifest = std::fs::read_to_string(root.join("manifest.jsonl")).unwrap();
    let mut previous = "0".repeat(64);
    let mut n_files = 0;
    for line in manifest.lines() {
        let said: serde_json::Value = serde_json::from_str(line).unwrap();
        assert_eq!(said["previous"], previous);
        previous = sha256sum(line.as_bytes());
        if said["event"] != "added" {
            continue;
        }
        n_files += 1;
        let sha256 = said["sha256"].as_str().unwrap();
        let object = root.join(format!("objects/{}/{}.gz", &sha256[..2], &sha256[2..]));
        let packed = std::fs::read(&object).unwrap();
        assert_eq!(said["packed_sha256"], sha256sum(&packed));
        let unpacked = Command::new("gzip")
            .arg("-dc")
            .arg(&object)
            .output()
            .unwrap();
        assert_eq!(sha256sum(&unpacked.stdout), sha256);
        let original = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/commands");
        let original = original.join(said["name"].as_str().unwrap());
        assert_eq!(unpacked.stdout, std::fs::read(original).unwrap());
    }
    assert_eq!(n_files, 3);
    assert_eq!(json("verify", &root)["fingerprint"], previous);
}

#[test]
fn standard_input_is_added_by_its_name() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    let added = run_with_input(
        &[
            "archive",
            "add",
            shown(&root),
            "-",
            "--at",
            "2026-03-12 16:00",
        ],
        strip(1042).as_bytes(),
    );
    assert_eq!(added.code, 0, "{}", added.err);
    let list = json("list", &root);
    let file = &list["files"][0];
    assert_eq!(file["file"], "-");
    assert_eq!(file["added"], "2026-03-12T16:00:00");
    // 07:41:20 to 08:22:05, as the strip says.
    assert_eq!(file["oldest"], "2026-03-12T07:41:20");
    assert_eq!(file["newest"], "2026-03-12T08:22:05");
    assert_eq!(
        [
            &file["n_cycles"],
            &file["n_readings"],
            &file["n_entries"],
            &file["n_unread_lines"]
        ],
        [1, 1, 0, 0]
    );
}

#[test]
fn list_fits_on_80_columns_and_says_what_came_in() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    let added = archive("add", &root, &["--no-tables", "day", "recall"]);
    assert_eq!(added.code, 0);
    let list = archive("list", &root, &[]);
    assert_eq!(list.code, 0);
    assert!(crate::commands::widest(&list.out) <= 80, "{}", list.out);
    let fingerprint = json("list", &root)["fingerprint"]
        .as_str()
        .unwrap()
        .to_owned();
    let text = list
        .out
        .replace(shown(&root), "ARCHIVE")
        .replace(&fingerprint, "FINGERPRINT");
    insta::assert_snapshot!("list_80_columns", text);
}

/// An own layout is kept with the file that was read by it, so that it is read alike when the layout's file is gone.
#[test]
fn own_layout_is_kept_and_read_by_later() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    let manifest = Path::new(env!("CARGO_MANIFEST_DIR"));
    let shipped = manifest.join("grammars/layouts/steam-24-column.toml");
    let own = std::fs::read_to_string(shipped)
        .unwrap()
        .replace("name = \"steam-24-column\"", "name = \"ours\"");
    let layout = write(folder.path(), "ours.toml", own);
    let strips = manifest.join("samples/layouts/steam-24-column");
    let added = archive("add", &root, &["--layout", shown(&layout), shown(&strips)]);
    assert_eq!(added.code, 0, "{}", added.err);
    let list = json("list", &root);
    assert!(
        list["files"]
            .as_array()
            .unwrap()
            .iter()
            .any(|file| file["layout"] == "ours")
    );
    let args = ["convert", "--archive", shown(&root)];
    let with_layout = run(&args);
    assert!(
        with_layout.out.contains("by layout ours"),
        "{}",
        with_layout.out
    );
    std::fs::remove_file(&layout).unwrap();
    assert_eq!(run(&args).out, with_layout.out);
    let reread = archive("reread", &root, &[]);
    assert_eq!(reread.code, 0, "{}{}", reread.out, reread.err);
    // Named on the command line, another layout is taken all the same, and what it reads otherwise is said.
    let reread = archive("reread", &root, &["--layout", "plasma-40-column"]);
    assert_eq!(reread.code, 1, "{}{}", reread.out, reread.err);
    assert!(reread.out.contains("cycles: ") && reread.out.contains("layout: ours"));
    assert_eq!(archive("verify", &root, &[]).code, 0);
}

/// A later loadbook that reads more: the archive here has a reading by an earlier one, which found no cycle.
#[test]
fn reread_says_what_is_read_otherwise_and_notes_it_once() {
    use loadbook::archive::add::{TakenIn, Writer};
    use loadbook::archive::disk::SystemDisk;
    use loadbook::archive::fingerprint::Fingerprint;
    use loadbook::archive::reading::{Reader, Reading, Scan};
    let folder = new_folder();
    let root = folder.path().join("archive");
    let earlier = Reading {
        by: Reader {
            loadbook: "0.0.9".to_owned(),
            parser: 0,
            layout: None,
            scan: Scan::Left,
        },
        n_lines: 13,
        n_cycles: 0,
        n_readings: 0,
        n_entries: 0,
        n_unread_lines: 13,
        oldest: None,
        newest: None,
        records_sha256: Fingerprint::of(b""),
    };
    {
        let mut writer = Writer::open(&root, &SystemDisk, "0.0.9", || {}).unwrap();
        let Ok(TakenIn::New(staged)) = writer.take_in("strip.txt", strip(7).as_bytes()) else {
            panic!("the strip is new");
        };
        writer.enter(staged, earlier, None, &[]).unwrap();
        writer.commit().unwrap();
    }
    let reread = archive("reread", &root, &["--at", "2026-04-01"]);
    assert_eq!(reread.code, 1, "{}", reread.err);
    for said in [
        "strip.txt",
        "cycles: 0 before, 1 now",
        "readings: 0 before, 1 now",
        "unread lines: 13 before, 0 now",
        "newest record: none before, 2026-03-12 08:22:05 now",
        "values of the records",
    ] {
        assert!(reread.out.contains(said), "{said}: {}", reread.out);
    }
    assert_eq!(json("list", &root)["files"][0]["n_cycles"], 1);
    // The archive, the strip, its reading, and the tables that are made of it.
    assert_eq!(json("list", &root)["n_lines"], 4);
    assert!(
        reread.out.contains("TABLES: of site archive"),
        "{}",
        reread.out
    );
    let again = archive("reread", &root, &[]);
    assert_eq!(again.code, 0);
    assert_eq!(json("list", &root)["n_lines"], 4);
    assert_eq!(archive("reread", &root, &["nothing.txt"]).code, 2);
    assert_eq!(archive("verify", &root, &[]).code, 0);
}
