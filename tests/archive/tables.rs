//! What is in the parts is held against the answer sheets, by other readers of Parquet, in tests/pooled/check.py; here is
//! which parts there are, when they change, and what becomes of damage.

use super::{archive, new_folder, shown, strip, write};
use crate::commands::{Run, run};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// The strip of a cycle of another unit and day.
fn strip_of(unit: &str, counter: u32, day: &str) -> String {
    strip(counter)
        .replace("unit: PL-1", &format!("unit: {unit}"))
        .replace("2026-03-12", day)
}

/// The files of the tables, below `tables/`.
fn files(root: &Path) -> BTreeMap<String, Vec<u8>> {
    let tables = root.join("tables");
    walkdir::WalkDir::new(&tables)
        .into_iter()
        .map(Result::unwrap)
        .filter(|entry| !entry.file_type().is_dir())
        .map(|entry| {
            let name = entry.path().strip_prefix(&tables).unwrap();
            (shown(name).to_owned(), std::fs::read(entry.path()).unwrap())
        })
        .collect()
}

/// The folders of a table's parts and their rows, as `archive tables --list` has them.
fn parts(root: &Path, table: &str) -> Vec<(String, u64)> {
    let listed = archive("tables", root, &["--list", "--format", "json"]);
    let listed: serde_json::Value = serde_json::from_str(&listed.out).unwrap();
    let rows = listed["parts"].as_array().unwrap().iter();
    rows.map(|part| {
        let folder = part["folder"].as_str().unwrap().to_owned();
        (folder, part["n_rows"].as_u64().unwrap())
    })
    .filter(|(folder, _)| folder.split('/').next() == Some(table))
    .collect()
}

fn add(root: &Path, path: &Path) -> Run {
    let added = archive("add", root, &[shown(path)]);
    assert_eq!(added.code, 0, "{}", added.err);
    added
}

fn verified(root: &Path) -> String {
    archive("verify", root, &["--all", "--width", "200"]).out
}

#[test]
fn rows_lie_by_site_unit_and_month_and_another_month_changes_no_part_of_those_before() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    let input = folder.path().join("in");
    write(&input, "a.txt", strip_of("PL-1", 1, "2026-03-12"));
    write(&input, "b.txt", strip_of("PL-2", 2, "2026-03-31"));
    // Over midnight into April: the cycle began in March, and stands there with its readings.
    let late = strip_of("PL-2", 3, "2026-03-31")
        .replace("07:41", "23:41")
        .replace("08:22:05", "00:22:05");
    write(&input, "c.txt", late);
    let added = archive(
        "add",
        &root,
        &["--site", "Fennmarsh General", shown(&input)],
    );
    assert_eq!(added.code, 0, "{}", added.err);
    assert!(
        added.out.contains("tables of site Fennmarsh General: "),
        "{}",
        added.out
    );
    for (table, rows) in [("cycles", [1, 2]), ("readings", [1, 2]), ("stages", [1, 2])] {
        let expected = [("PL-1", rows[0]), ("PL-2", rows[1])].map(|(unit, n)| {
            let folder = format!("{table}/site=Fennmarsh%20General/unit={unit}/month=2026-03");
            (folder, n)
        });
        assert_eq!(parts(&root, table), expected);
    }
    assert_eq!(
        parts(&root, "inputs"),
        [("inputs/site=Fennmarsh%20General".to_owned(), 3)]
    );
    let before = files(&root);
    write(&input, "d.txt", strip_of("PL-2", 4, "2026-04-01"));
    let added = add(&root, &input);
    assert!(added.out.contains(" new, "), "{}", added.out);
    let after = files(&root);
    for (name, bytes) in before
        .iter()
        .filter(|(name, _)| name.contains("month=2026-03"))
    {
        assert_eq!(after.get(name), Some(bytes), "{name}");
    }
    let n_new = after
        .keys()
        .filter(|name| name.contains("month=2026-04"))
        .count();
    assert!(n_new >= 5, "{:?}", after.keys());
    // Nothing new comes in: not a byte changes.
    let manifest = std::fs::read(root.join("manifest.jsonl")).unwrap();
    add(&root, &input);
    let made = archive("tables", &root, &[]);
    assert!(made.out.contains("none changed"), "{}", made.out);
    assert_eq!(files(&root), after);
    assert_eq!(
        std::fs::read(root.join("manifest.jsonl")).unwrap(),
        manifest
    );
}

#[test]
fn same_records_give_the_same_parts_whether_they_come_at_once_or_one_by_one() {
    let folder = new_folder();
    let (at_once, one_by_one) = (folder.path().join("a"), folder.path().join("b"));
    let day = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/commands/day");
    let added = archive("add", &at_once, &["--site", "x", shown(&day)]);
    assert_eq!(added.code, 0);
    for entry in walkdir::WalkDir::new(&day).sort_by_file_name() {
        let entry = entry.unwrap();
        if entry.file_type().is_file() {
            let path = shown(entry.path());
            archive("add", &one_by_one, &["--site", "x", path]);
        }
    }
    assert!(files(&at_once).len() > 20);
    assert_eq!(files(&at_once), files(&one_by_one));
}

#[test]
fn part_whose_rows_are_all_gone_is_removed() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    let path = write(folder.path(), "a.txt", strip_of("PL-1", 1, "2026-03-12"));
    add(&root, &path);
    // The date had been mistyped.
    std::fs::write(&path, strip_of("PL-1", 1, "2026-02-12")).unwrap();
    let added = archive("add", &root, &["--correction", shown(&path)]);
    assert!(added.out.contains(" removed"), "{}", added.out);
    assert_eq!(
        parts(&root, "cycles"),
        [("cycles/site=archive/unit=PL-1/month=2026-02".to_owned(), 1)]
    );
    assert!(files(&root).keys().all(|name| !name.contains("2026-03")));
    assert!(verified(&root).starts_with("WHOLE"));
}

#[test]
fn tables_that_were_left_are_told_as_older_and_can_be_made_at_any_time() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    let path = write(folder.path(), "a.txt", strip(1));
    let add_without = |path: &PathBuf| archive("add", &root, &["--no-tables", shown(path)]);
    assert_eq!(add_without(&path).code, 0);
    assert!(!root.join("tables").exists());
    assert!(!verified(&root).contains("tables"));
    let made = archive("tables", &root, &[]);
    assert!(
        made.out.starts_with("TABLES: of site archive: "),
        "{}",
        made.out
    );
    assert!(
        made.out
            .contains("cycles/site=archive/unit=PL-1/month=2026-03: new, 1 row")
    );
    assert!(!verified(&root).contains("older"), "{}", verified(&root));
    let other = write(folder.path(), "b.txt", strip(2));
    assert_eq!(add_without(&other).code, 0);
    let checked = archive("verify", &root, &["--width", "200"]);
    assert_eq!(checked.code, 0, "that is no damage");
    assert!(
        checked.out.contains("tables: they are older than the originals: made from what came in by line 2, and line 4"),
        "{}",
        checked.out
    );
    let made = archive("tables", &root, &[]);
    assert!(
        made.out.contains("month=2026-03: rewritten, 2 rows"),
        "{}",
        made.out
    );
    assert!(!verified(&root).contains("older"));
    let listed = archive("tables", &root, &["--list"]);
    let named: Vec<&str> = listed.out.lines().collect();
    assert_eq!(named.len(), files(&root).len());
    assert!(named.iter().all(|path| Path::new(path).is_file()));
}

/// Names of units that are paths, keys, or what stands for none.
#[test]
fn whatever_a_unit_is_called_its_rows_lie_in_the_tables_and_nowhere_else() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    let input = folder.path().join("in");
    let units = [
        "../../../outside",
        "..",
        "/etc/passwd",
        "a=b",
        "unit=PL-1",
        "C\\x",
        "*",
        "%2e%2e",
        "__HIVE_DEFAULT_PARTITION__",
        "Süd-1",
    ];
    for (n, unit) in (1..).zip(units) {
        write(&input, &format!("{n}.txt"), strip_of(unit, n, "2026-03-12"));
    }
    // One that names no unit.
    write(&input, "none.txt", strip(90).replace("unit: PL-1\n", ""));
    add(&root, &input);
    let cycles = parts(&root, "cycles");
    assert_eq!(cycles.len(), units.len() + 1, "{cycles:?}");
    let none = "cycles/site=archive/unit=__HIVE_DEFAULT_PARTITION__/month=2026-03";
    assert!(cycles.contains(&(none.to_owned(), 1)));
    for (folder, n_rows) in &cycles {
        let names: Vec<&str> = folder.split('/').collect();
        assert_eq!((names.len(), *n_rows), (4, 1), "{folder}");
        let unit = names[2].strip_prefix("unit=").unwrap();
        assert!(
            unit.len() < 255 && !unit.contains(['.', '=', '\\', ':', '*', ' ']),
            "{unit}"
        );
    }
    assert!(verified(&root).starts_with("WHOLE"));
    // What lies there is the archive, what was added, and nothing else.
    let mut there: Vec<_> = std::fs::read_dir(folder.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    there.sort();
    assert_eq!(there, ["archive", "in"]);
}

#[test]
fn site_is_kept_when_the_folder_gets_another_name_and_changes_when_it_is_told() {
    let folder = new_folder();
    let root = folder.path().join("north=wing");
    let path = write(folder.path(), "a.txt", strip(1));
    add(&root, &path);
    assert_eq!(parts(&root, "inputs")[0].0, "inputs/site=north%3Dwing");
    let moved = folder.path().join("moved");
    std::fs::rename(&root, &moved).unwrap();
    let other = write(folder.path(), "b.txt", strip(2));
    add(&moved, &other);
    assert_eq!(parts(&moved, "inputs")[0].0, "inputs/site=north%3Dwing");
    let made = archive("tables", &moved, &["--site", "annexe"]);
    assert_eq!(made.code, 0);
    assert!(
        files(&moved)
            .keys()
            .all(|name| name.contains("site=annexe/"))
    );
    assert!(verified(&moved).starts_with("WHOLE"));
    assert_eq!(archive("tables", &moved, &["--site", ""]).code, 2);
}

/// Decisions by another policy would not be told from those of the records.
#[test]
fn policy_of_a_file_is_not_exchanged_for_another_without_a_word() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    let path = write(folder.path(), "a.txt", strip(1));
    let policy = write(
        folder.path(),
        "ours.toml",
        "name = \"ours\"\npreset = \"every-load\"\n",
    );
    let added = archive("add", &root, &["--policy", shown(&policy), shown(&path)]);
    assert_eq!(added.code, 0, "{}", added.err);
    let before = files(&root);
    let other = write(folder.path(), "b.txt", strip(2));
    let added = archive("add", &root, &[shown(&other)]);
    assert_eq!(added.code, 0);
    assert!(
        added
            .err
            .contains("note: the tables were made by the policy `ours`, which is not at hand"),
        "{}",
        added.err
    );
    assert_eq!(files(&root), before);
    assert!(verified(&root).contains("older than the originals"));
    assert_eq!(archive("tables", &root, &[]).code, 2);
    let made = archive("tables", &root, &["--policy", shown(&policy)]);
    assert_eq!(made.code, 0, "{}", made.err);
    // A preset is at hand, and is taken again by itself.
    let made = archive("tables", &root, &["--preset", "every-load"]);
    assert_eq!(made.code, 0);
    let third = write(folder.path(), "c.txt", strip(3));
    assert_eq!(add(&root, &third).err, "");
    assert!(
        archive("tables", &root, &[])
            .out
            .contains("judged by every-load")
    );
    // A policy that can't be used is refused before anything is added.
    let fourth = write(folder.path(), "d.txt", strip(4));
    let added = archive("add", &root, &["--policy", "missing.toml", shown(&fourth)]);
    assert_eq!((added.code, added.out.as_str()), (2, ""));
}

#[test]
fn part_that_was_changed_or_is_missing_is_named_and_made_again() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    let path = write(folder.path(), "a.txt", strip(1));
    add(&root, &path);
    let whole = files(&root);
    let manifest = std::fs::read(root.join("manifest.jsonl")).unwrap();
    let mut n_changed = 0;
    for (name, bytes) in &whole {
        let path = root.join("tables").join(name);
        for at in (0..bytes.len()).step_by(997).chain([bytes.len() - 1]) {
            let mut changed = bytes.clone();
            changed[at] ^= 0x10;
            std::fs::write(&path, changed).unwrap();
            let checked = archive("verify", &root, &["--width", "200", "--format", "json"]);
            assert_eq!(checked.code, 1, "{name}, byte {at}");
            let checked: serde_json::Value = serde_json::from_str(&checked.out).unwrap();
            assert_eq!(checked["damages"][0]["place"], format!("tables/{name}"));
            assert_eq!(checked["damages"].as_array().unwrap().len(), 1);
            n_changed += 1;
        }
        std::fs::write(&path, bytes).unwrap();
    }
    assert!(n_changed > 50, "{n_changed}");
    // One is missing, one is longer, one is empty.
    let names: Vec<PathBuf> = whole
        .keys()
        .map(|name| root.join("tables").join(name))
        .collect();
    std::fs::remove_file(&names[0]).unwrap();
    std::fs::write(
        &names[1],
        [&whole.values().nth(1).unwrap()[..], b"x"].concat(),
    )
    .unwrap();
    std::fs::write(&names[2], "").unwrap();
    let said = verified(&root);
    assert!(
        said.starts_with("DAMAGED: 3 things are not as they were"),
        "{said}"
    );
    assert!(
        said.contains("it is missing; `loadbook archive tables` makes it again"),
        "{said}"
    );
    let made = archive("tables", &root, &[]);
    assert!(made.out.contains("3 mended"), "{}", made.out);
    assert_eq!(files(&root), whole);
    assert_eq!(
        std::fs::read(root.join("manifest.jsonl")).unwrap(),
        manifest
    );
    assert!(verified(&root).starts_with("WHOLE"));
}

#[test]
fn file_that_no_line_names_is_told_and_only_what_loadbook_left_is_removed() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    let path = write(folder.path(), "a.txt", strip(1));
    add(&root, &path);
    let whole = files(&root);
    let (name, bytes) = whole.first_key_value().unwrap();
    let part_folder = root.join("tables").join(name);
    let part_folder = part_folder.parent().unwrap();
    let left = write(part_folder, &format!("{}.parquet", "0".repeat(32)), bytes);
    let foreign = write(part_folder, "notes.parquet", "mine");
    let checked = archive("verify", &root, &["--width", "200"]);
    assert_eq!(checked.code, 0);
    for path in [&left, &foreign] {
        let name = path.strip_prefix(&root).unwrap();
        let said = format!("{}: no line of the manifest speaks of it", shown(name));
        assert!(checked.out.contains(&said), "{}", checked.out);
    }
    assert_eq!(archive("tables", &root, &[]).code, 0);
    assert!(!left.exists() && foreign.exists());
}

#[cfg(unix)]
#[test]
fn links_among_the_tables_are_not_followed() {
    use std::os::unix::fs::symlink;
    let folder = new_folder();
    let root = folder.path().join("archive");
    let path = write(folder.path(), "a.txt", strip(1));
    add(&root, &path);
    let moved = folder.path().join("moved");
    for name in ["tables", "tables/cycles", "tables/inputs/site=archive"] {
        let linked = root.join(name);
        std::fs::rename(&linked, &moved).unwrap();
        symlink(&moved, &linked).unwrap();
        let before: Vec<_> = walkdir::WalkDir::new(&moved).into_iter().collect();
        let checked = archive("verify", &root, &["--width", "200"]);
        let said = checked.out + &checked.err;
        assert!(
            checked.code != 0 && said.contains("is a link"),
            "{name}: {said}"
        );
        let made = archive("tables", &root, &[]);
        assert_eq!(made.code, 2, "{name}: {}", made.out);
        assert!(made.err.contains("is a link"), "{}", made.err);
        assert_eq!(
            walkdir::WalkDir::new(&moved).into_iter().count(),
            before.len()
        );
        std::fs::remove_file(&linked).unwrap();
        std::fs::rename(&moved, &linked).unwrap();
    }
    assert!(verified(&root).starts_with("WHOLE"));
}

/// Where an original can't be read, tables without it would be taken for the whole.
#[test]
fn tables_are_left_as_they_are_where_an_original_can_not_be_read() {
    let folder = new_folder();
    let root = folder.path().join("archive");
    let path = write(folder.path(), "a.txt", strip(1));
    add(&root, &path);
    let before = files(&root);
    let object = walkdir::WalkDir::new(root.join("objects"))
        .into_iter()
        .map(Result::unwrap)
        .find(|entry| entry.file_type().is_file())
        .unwrap();
    std::fs::write(object.path(), "").unwrap();
    let other = write(folder.path(), "b.txt", strip(2));
    let added = archive("add", &root, &[shown(&other)]);
    assert_eq!(added.code, 2);
    assert!(added.out.contains("1 added"), "{}", added.out);
    assert!(
        added.err.contains("the tables are as they were: "),
        "{}",
        added.err
    );
    assert_eq!(files(&root), before);
    assert_eq!(run(&["archive", "tables", shown(&root)]).code, 2);
}
