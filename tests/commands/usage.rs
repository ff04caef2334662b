use super::{run, run_with_input};

#[test]
fn help_of_every_command_has_examples_and_exit_codes() {
    for command in [
        "review", "read", "show", "release", "recall", "policy", "export", "archive", "follow",
        "sites", "selftest",
    ] {
        let help = run(&[command, "--help"]);
        assert_eq!(help.code, 0);
        assert!(
            help.out.contains("Examples:") && help.out.contains("Exit codes:"),
            "{}",
            help.out
        );
    }
    insta::assert_snapshot!(run(&["--help"]).out);
}

#[test]
fn misuse_ends_with_2() {
    for args in [
        &["review"][..],
        &["review", "day", "--width", "20"],
        &["review", "day", "--from", "12.3.2026"],
        &["review", "day", "--zone", "Europe/Lodnon"],
        &["review", "day", "--unit", "PL-9"],
        &["review", "day", "--program", "standrad"],
        &["show", "PL-1:1", "day"],
        &["read", "--explain", "nothing-of-the-kind"],
        &["man", "nothing"],
        &["frobnicate"],
    ] {
        assert_eq!(run(args).code, 2, "{args:?}");
    }
}

#[test]
fn an_unknown_unit_is_answered_with_those_that_there_are() {
    let run = run(&["review", "day", "--unit", "PL-9"]);
    assert!(
        run.err.contains("did you mean") && run.err.contains("EO-1, PL-1, PL-2, ST-1"),
        "{}",
        run.err
    );
}

#[test]
fn colour_is_off_in_a_pipe_and_changes_no_words() {
    let plain = run(&["review", "day"]).out;
    let colored = run(&["review", "day", "--color", "always"]).out;
    assert!(!plain.contains('\u{1b}') && colored.contains('\u{1b}'));
    let stripped = colored.replace("\u{1b}[1m", "").replace("\u{1b}[0m", "");
    assert_eq!(plain, stripped);
}

#[test]
fn completions_and_man_pages_name_the_commands() {
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        assert!(
            run(&["completions", shell]).out.contains("review"),
            "{shell}"
        );
    }
    assert!(run(&["man"]).out.contains(".TH loadbook"));
    assert!(run(&["man", "review"]).out.contains("as\\-of"));
}

#[test]
fn standard_input_is_read_by_its_name() {
    let strips = include_bytes!("day/strips.txt");
    let run = run_with_input(&["show", "PL-1:1042", "-"], strips);
    assert!(run.out.contains("-:1"), "{}", run.out);
    assert_eq!(run.code, 1);
}

#[test]
fn a_reader_that_stops_early_is_no_error() {
    use std::process::{Command, Stdio};
    let mut child = Command::new(env!("CARGO_BIN_EXE_loadbook"))
        .args(["review", "day", "--all"])
        .current_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/commands"))
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
}
