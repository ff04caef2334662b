//! The commands `layout` and `convert`, run as the program runs them.

use super::{said, sample};
use clap::Parser;
use loadbook::cli::convert::{self, ConvertCommand};
use loadbook::cli::exit::Exit;
use loadbook::cli::layout::{self, LayoutCommand};
use loadbook::parse::{Strictness, read_bytes};
use std::path::PathBuf;

#[derive(Parser)]
struct Layout {
    #[command(flatten)]
    command: LayoutCommand,
}

#[derive(Parser)]
struct Convert {
    #[command(flatten)]
    command: ConvertCommand,
}

fn at(path: &str) -> String {
    let root = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    root.join(path).to_string_lossy().into_owned()
}

/// What a run of `layout` printed, its errors, its exit. A refusal is an error with the exit of the input.
fn run_layout(args: &[&str]) -> (String, String, Exit) {
    let mut err = Vec::new();
    let parsed = Layout::try_parse_from(["layout"].iter().chain(args)).unwrap();
    let (out, exit) = layout::run(&parsed.command, &mut err).unwrap_or_else(|refusal| {
        (
            format!("{}\n{}", refusal.said, refusal.more.join("\n")),
            Exit::Input,
        )
    });
    (out, String::from_utf8(err).unwrap(), exit)
}

fn run_convert(args: &[&str]) -> (String, String, Exit) {
    let mut err = Vec::new();
    let parsed = Convert::try_parse_from(["convert"].iter().chain(args)).unwrap();
    let (out, exit) = convert::run(&parsed.command, &mut err).unwrap_or_else(|refusal| {
        (
            format!("{}\n{}", refusal.said, refusal.more.join("\n")),
            Exit::Input,
        )
    });
    (out, String::from_utf8(err).unwrap(), exit)
}

/// A text in one line, so that it does not matter where it was broken.
fn unbroken(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn assert_narrow(text: &str) {
    for line in text.lines() {
        assert!(unicode_width::UnicodeWidthStr::width(line) <= 80, "{line}");
    }
}

#[test]
fn list_names_every_shipped_layout_with_what_it_is_for() {
    let (out, _, exit) = run_layout(&["list"]);
    assert_eq!(exit, Exit::Fine);
    assert_narrow(&out);
    for (name, _) in super::TEXTS {
        assert!(out.lines().any(|line| line.starts_with(name)), "{name}");
    }
}

#[test]
fn draft_then_try_leads_to_a_layout() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder
        .path()
        .join("ours.toml")
        .to_string_lossy()
        .into_owned();
    let strip = at("tests/layouts/unseen/strip.txt");
    let (out, _, exit) = run_layout(&["draft", &strip, "-o", &file]);
    assert_eq!(exit, Exit::Fine);
    assert!(
        out.contains("`sweep`") && out.contains("layout try"),
        "{out}"
    );
    let (out, _, exit) = run_layout(&["draft", &strip, "-o", &file]);
    assert_eq!(
        exit,
        Exit::Input,
        "an existing file is not overwritten: {out}"
    );
    let (out, _, exit) = run_layout(&["try", &file, &strip]);
    assert_narrow(&out);
    let out = unbroken(&out);
    assert!(out.contains("(100 %), in 4 cycles"), "{out}");
    // Every line is read, but words are left that only a person can give a meaning.
    assert_eq!(exit, Exit::Findings);
    assert!(out.contains("stage `sweep`"), "{out}");
    // What was understood can be compared with the strip.
    assert!(
        out.contains("start date = 12/03/2026, read as 2026-03-12"),
        "{out}"
    );
    assert!(out.contains("counter = 0412"), "{out}");
    let (out, _, exit) = run_layout(&["check", &file]);
    assert_eq!(exit, Exit::Fine, "{out}");
}

#[test]
fn try_shows_unread_lines_first_and_marks_fields_in_colour_where_asked() {
    let strip = at("samples/layouts/steam-german/strip.txt");
    let (out, _, exit) = run_layout(&["try", "steam-fahrenheit", &strip]);
    assert_eq!(exit, Exit::Findings);
    assert!(out.find("NOT READ").unwrap() < out.find("FORMS THAT FITTED NO LINE").unwrap());
    assert_narrow(&out);
    assert!(!out.contains('\u{1b}'));
    let (out, _, _) = run_layout(&["try", "steam-german", &strip, "--color", "always"]);
    assert!(out.contains("\u{1b}[36m2207\u{1b}[0m"), "{out}");
}

#[test]
fn check_draws_each_fault_at_its_place_like_other_diagnostics() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("wrong.toml");
    std::fs::write(
        &file,
        "layout = 1\nname = \"x\"\nbegin = \"RUN {countr}\"\n",
    )
    .unwrap();
    let file = file.to_string_lossy().into_owned();
    let (out, _, exit) = run_layout(&["check", &file]);
    assert_eq!(exit, Exit::Findings);
    for words in [
        "layout-invalid",
        "{countr}",
        "^^^^^^^^",
        "write {counter}",
        "1 fault",
    ] {
        assert!(out.contains(words), "{words}\n{out}");
    }
    let (out, _, exit) = run_layout(&["try", &file, &file]);
    assert_eq!(exit, Exit::Input);
    assert!(out.contains("line 3: there is no placeholder"), "{out}");
    let (out, _, exit) = run_layout(&["check", "no-such-layout"]);
    assert_eq!(exit, Exit::Input);
    assert!(out.contains("steam-24-column"), "{out}");
}

#[test]
fn a_layout_file_extends_another_beside_it() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
    write(
        "site.toml",
        "layout = 1\nname = \"site\"\nextends = \"ward.toml\"\n",
    );
    write(
        "ward.toml",
        "layout = 1\nname = \"ward\"\nextends = \"steam-german\"\n[always]\nplace = \"ward\"\n",
    );
    let file = folder
        .path()
        .join("site.toml")
        .to_string_lossy()
        .into_owned();
    let (out, _, exit) = run_layout(&["try", &file, &at("samples/layouts/steam-german/strip.txt")]);
    assert_eq!(exit, Exit::Fine, "{out}");
    let out = unbroken(&out);
    assert!(
        out.contains("read as 2026-03-12") && out.contains("read as -0.89 bar gauge"),
        "{out}"
    );
}

#[test]
fn convert_writes_any_strip_as_neutral_text_that_says_the_same() {
    for (name, _) in super::TEXTS {
        let (out, err, exit) = run_convert(&[&at(&format!("samples/layouts/{name}/strip.txt"))]);
        assert_eq!((err.as_str(), exit), ("", Exit::Fine), "{name}");
        assert!(out.contains(&format!(", by layout {name}\n")), "{name}");
        let converted = read_bytes(out.as_bytes(), Strictness::Infer);
        let same = read_bytes(&sample(name, "same.neutral.txt"), Strictness::Infer);
        assert!(converted.unread.is_empty());
        assert_eq!(said(&converted.cycles), said(&same.cycles), "{name}");
    }
}

#[test]
fn convert_says_what_it_left_out_and_overwrites_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let strip = folder.path().join("strip.txt");
    let text = String::from_utf8(sample("steam-24-column", "strip.txt")).unwrap();
    std::fs::write(&strip, text.replace("08:17:40    98.0", "08:17:40    9x.0")).unwrap();
    let strip = strip.to_string_lossy().into_owned();
    let file = folder.path().join("out.txt").to_string_lossy().into_owned();
    let (out, err, exit) = run_convert(&[&strip, "-o", &file]);
    assert_eq!((out.as_str(), exit), ("", Exit::Findings));
    assert!(err.contains("1 line could not be read"), "{err}");
    assert!(
        std::fs::read_to_string(&file)
            .unwrap()
            .contains("# of them not read: 1")
    );
    let (out, _, exit) = run_convert(&[&strip, "-o", &file]);
    assert_eq!(exit, Exit::Input, "{out}");
    let (_, err, exit) = run_convert(&[&at("Cargo.toml")]);
    assert_eq!(exit, Exit::Input);
    assert!(err.contains("nothing was read"), "{err}");
}
