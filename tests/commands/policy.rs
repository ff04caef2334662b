use super::{json, run, widest};

fn folder_with(files: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files {
        std::fs::write(folder.path().join(name), text).unwrap();
    }
    folder
}

fn path(folder: &tempfile::TempDir, name: &str) -> String {
    folder.path().join(name).to_str().unwrap().to_owned()
}

/// Each rule has a question, an effect and a source with how it is known, or says that it has none.
#[test]
fn every_rule_is_printed_with_its_question_and_source() {
    let run = run(&["policy"]);
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    assert!(widest(&run.out) <= 80, "{}", run.out);
    let rules = json(&["policy"])["policies"][0]["rules"]
        .as_array()
        .unwrap()
        .clone();
    assert!(rules.len() > 50, "{}", rules.len());
    for rule in rules {
        let id = rule["rule"].as_str().unwrap();
        assert!(run.out.contains(id), "{id}");
        assert!(rule["question"].as_str().unwrap().ends_with('?'), "{id}");
        let sources = rule["sources"].as_array().unwrap();
        assert!(!sources.is_empty(), "{id}");
        for source in sources {
            let source = source.as_str().unwrap();
            let says_how = ["[seen]", "[calculated]", "[from memory]"]
                .iter()
                .any(|how| source.ends_with(how));
            assert!(
                says_how || source == "common practice, no source",
                "{id}: {source}"
            );
        }
    }
}

#[test]
fn preset_every_load_is_stricter() {
    let frequency = |args: &[&str]| {
        json(args)["policies"][0]["schedules"][0]["frequency"]
            .as_str()
            .unwrap()
            .to_owned()
    };
    assert_eq!(frequency(&["policy"]), "weekly");
    assert_eq!(
        frequency(&["policy", "--preset", "every-load"]),
        "every-load"
    );
}

const SITE: &str = "preset = \"cdc-2008\"\nname = \"Fennmarsh\"\nbasis = [\"local\"]\n\
    [rules.bi-growth-in-unit]\nscope = [\"program\"]\n[rules]\nprintout-reprinted = \"hold\"\n";

#[test]
fn deviations_are_shown_by_policy_and_in_every_report() {
    let site = "preset = \"cdc-2008\"\nname = \"Fennmarsh\"\n[rules]\nprintout-reprinted = \"hold\"\n\
        [rules.bi-growth-in-unit]\nscope = [\"program\"]\n";
    let folder = folder_with(&[("site.toml", site)]);
    let file = path(&folder, "site.toml");
    for args in [
        vec!["policy", file.as_str()],
        vec!["release", "day", "--policy", file.as_str()],
        vec!["recall", "day", "--policy", file.as_str()],
        vec!["review", "day", "--policy", file.as_str()],
        vec!["show", "P1-0312-01", "day", "--policy", file.as_str()],
    ] {
        let out = run(&args).out;
        assert!(
            out.contains("Fennmarsh (preset cdc-2008), 2 deviations"),
            "{args:?}: {out}"
        );
        for word in ["printout-reprinted", "program", "hold"] {
            assert!(out.contains(word), "{args:?} {word}: {out}");
        }
    }
}

#[test]
fn check_names_line_and_column_of_every_error() {
    let wrong = "preset = \"cdc-2008\"\nname = \"X\"\n[rules]\nbi-grwth = \"note\"\nbi-growth = \"note\"\n\
        [rules.bi-growth-in-unit]\nscope = [\"room\"]\n";
    let folder = folder_with(&[("wrong.toml", wrong), ("broken.toml", SITE)]);
    let checked = run(&["policy", "check", &path(&folder, "wrong.toml")]);
    assert_eq!((checked.code, checked.out.as_str()), (2, ""));
    for at in [":4:1:", ":5:", ":7:"] {
        assert!(checked.err.contains(at), "{at} in {}", checked.err);
    }
    // A table that is opened again is an error of TOML 1.0.
    let broken = run(&["policy", "check", &path(&folder, "broken.toml")]);
    assert!(
        broken.code == 2 || broken.out.contains("can be used"),
        "{}",
        broken.err
    );
    let used = run(&["release", "day", "--policy", &path(&folder, "wrong.toml")]);
    assert_eq!((used.code, used.out.as_str()), (2, ""));
    assert_eq!(run(&["policy", "check", "no-such-file.toml"]).code, 2);
}

#[test]
fn policies_that_follow_one_another_are_used_each_in_its_time() {
    let old = "preset = \"cdc-2008\"\nname = \"old\"\nto = 2026-03-12\n";
    let new = "preset = \"every-load\"\nname = \"new\"\nfrom = 2026-03-12\n";
    let late = "preset = \"every-load\"\nname = \"late\"\nfrom = 2026-03-20\n";
    let folder = folder_with(&[("old.toml", old), ("new.toml", new), ("late.toml", late)]);
    let (old, new, late) = (
        path(&folder, "old.toml"),
        path(&folder, "new.toml"),
        path(&folder, "late.toml"),
    );
    let checked = run(&["policy", "check", &new, &old]);
    assert_eq!(checked.code, 0, "{}", checked.err);
    assert!(
        checked.out.contains("until before 2026-03-12"),
        "{}",
        checked.out
    );
    assert_eq!(run(&["policy", "check", &old, &late]).code, 2);
    // E1-0311-01 ran on the 11th, P1-0312-01 on the 12th.
    for (load, name) in [("E1-0311-01", "old"), ("P1-0312-01", "new")] {
        let shown = json(&["show", load, "day", "--policy", &old, "--policy", &new]);
        assert_eq!(shown["loads"][0]["decision"]["policy"]["name"], name);
    }
}

#[test]
fn preset_and_policy_exclude_one_another() {
    assert_eq!(
        run(&[
            "release", "day", "--preset", "cdc-2008", "--policy", "x.toml"
        ])
        .code,
        2
    );
    assert_eq!(run(&["release", "day", "--preset", "no-such"]).code, 2);
}
