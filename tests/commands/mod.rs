//! What the commands print, and their exit codes. The records of `day/` are an invented day of Fennmarsh General; the
//! right answers are written by hand beside the snapshots, which guard the wording.

/// Strips as they are printed.
mod follow;
/// The policy in force, and files that are checked.
mod policy;
/// What was read and what was not.
mod read;
/// The sheet of packages to get back, and its CSV.
mod recall;
/// What the records of each load support, and in which order it is told.
mod release;
/// The main job: the first screen, the counts, the exit code.
mod review;
/// The samples against their answer sheet.
mod samples;
/// The program checks itself.
mod selftest;
/// The units ranked for service.
mod service;
/// One cycle or load in full.
mod show;
/// Help, exit codes of misuse, completions, man page, colour and pipes.
mod usage;

use std::io::Write;
use std::process::{Command, Stdio};

/// What a run of the program printed, and its exit code.
pub(crate) struct Run {
    pub out: String,
    pub err: String,
    pub code: i32,
}

/// Runs the program in the folder of these tests.
pub(crate) fn run(args: &[&str]) -> Run {
    run_with_input(args, b"")
}

/// Runs the program with something to read on standard input.
pub(crate) fn run_with_input(args: &[&str], input: &[u8]) -> Run {
    let mut child = Command::new(env!("CARGO_BIN_EXE_loadbook"))
        .args(args)
        .current_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/commands"))
        .env_remove("NO_COLOR")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    child
        .stdin
        .take()
        .expect("a pipe")
        .write_all(input)
        .expect("the program reads its input");
    let output = child.wait_with_output().expect("the program ends");
    Run {
        out: String::from_utf8(output.stdout).expect("the output is UTF-8"),
        err: String::from_utf8(output.stderr).expect("the errors are UTF-8"),
        code: output.status.code().expect("the program ends by itself"),
    }
}

/// The widest line of a text, in columns.
pub(crate) fn widest(text: &str) -> usize {
    text.lines()
        .map(unicode_width::UnicodeWidthStr::width)
        .max()
        .unwrap_or(0)
}

/// What is printed as JSON.
pub(crate) fn json(args: &[&str]) -> serde_json::Value {
    let mut args = args.to_vec();
    args.extend(["--format", "json"]);
    serde_json::from_str(&run(&args).out).expect("the output is JSON")
}
