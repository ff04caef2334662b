//! Hostile inputs: nothing panics, hangs, lies or escapes. Every case goes through the program itself, with a limit on
//! its time; the table of limits in grammars/limits.md names each test.

/// Kinds of files: pipes without a writer, devices, links, folders without rights, names that steer terminals, files
/// that change.
mod files;
/// Sizes: gigantic lines, many tiny records, a hundred thousand stages.
mod sizes;
/// Texts: escapes, markup, formulas, directions and look-alikes, dates and numbers at their edges.
mod texts;

use std::ffi::{OsStr, OsString};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// How long a command may take before it counts as hanging. The tests run unoptimised, several at once, on machines that
/// do other things too.
const PATIENCE: Duration = Duration::from_secs(240);

/// What a run printed, its exit code, and the most memory that it was seen with.
struct Run {
    args: Vec<OsString>,
    out: Vec<u8>,
    err: Vec<u8>,
    code: i32,
    /// In KiB; nothing where the system doesn't tell.
    peak: Option<u64>,
}

impl Run {
    fn said(&self) -> String {
        format!(
            "{}\n{}",
            String::from_utf8_lossy(&self.out),
            String::from_utf8_lossy(&self.err)
        )
    }

    /// Whether a sentence was printed, wherever its lines were broken.
    fn says(&self, sentence: &str) -> bool {
        self.words().contains(sentence)
    }

    /// What was printed, on one line.
    fn words(&self) -> String {
        let said = self.said();
        let words: Vec<&str> = said.split_whitespace().collect();
        words.join(" ")
    }
}

/// The largest resident memory of a process so far, in KiB, as Linux tells it (proc(5), VmHWM).
fn peak_of(process: u32) -> Option<u64> {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let line = status
        .lines()
        .find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.trim().strip_suffix(" kB")?.parse().ok()
}

/// Runs the program, and ends it when it hangs.
fn run(args: &[&OsStr], input: Stdio) -> Run {
    let mut child = Command::new(env!("CARGO_BIN_EXE_loadbook"))
        .args(args)
        .stdin(input)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    fn drain(mut pipe: impl Read + Send + 'static) -> std::thread::JoinHandle<Vec<u8>> {
        std::thread::spawn(move || {
            let mut bytes = Vec::new();
            pipe.read_to_end(&mut bytes).expect("the pipe can be read");
            bytes
        })
    }
    let out = drain(child.stdout.take().expect("a pipe"));
    let err = drain(child.stderr.take().expect("a pipe"));
    let began = Instant::now();
    let mut peak = None;
    let status = loop {
        peak = peak.max(peak_of(child.id()));
        if let Some(status) = child.try_wait().expect("the program can be waited for") {
            break status;
        }
        if began.elapsed() > PATIENCE {
            child.kill().expect("the program can be ended");
            panic!("{args:?} hangs");
        }
        std::thread::sleep(Duration::from_millis(10));
    };
    let run = Run {
        args: args.iter().map(|arg| (*arg).to_owned()).collect(),
        out: out.join().expect("the output is read"),
        err: err.join().expect("the errors are read"),
        code: status.code().unwrap_or(-1),
        peak,
    };
    assert!(
        !String::from_utf8_lossy(&run.err).contains("panicked"),
        "{:?} panicked: {}",
        run.args,
        run.said()
    );
    assert!(
        (0..=2).contains(&run.code),
        "{:?} ended with {}: {}",
        run.args,
        run.code,
        run.said()
    );
    run
}

/// Every command that reads records, with `PATH` where the records stand.
const READING: &[&[&str]] = &[
    &["read", "PATH", "--all"],
    &["review", "PATH"],
    &["review", "PATH", "--format", "json"],
    &["release", "PATH", "--all"],
    &["recall", "PATH"],
    &["show", "PL-1:1042", "PATH"],
    &["service", "PATH"],
    &["report", "review", "PATH", "-o", "OUT"],
    &["export", "PATH", "--as", "csv", "-o", "OUT"],
    &["convert", "PATH"],
    &["follow", "PATH", "--once"],
];

/// A command of the list upon a path. What it writes to a file or folder is added to what it printed.
fn run_upon(command: &[&str], path: &Path) -> Run {
    let folder = tempfile::tempdir().expect("a folder");
    let output = folder.path().join("out");
    let args: Vec<&OsStr> = command
        .iter()
        .map(|arg| match *arg {
            "PATH" => path.as_os_str(),
            "OUT" => output.as_os_str(),
            other => OsStr::new(other),
        })
        .collect();
    let mut run = run(&args, Stdio::null());
    let mut files = vec![output];
    while let Some(file) = files.pop() {
        if file.is_dir() {
            files.extend(
                std::fs::read_dir(&file)
                    .unwrap()
                    .map(|entry| entry.unwrap().path()),
            );
        } else if let Ok(bytes) = std::fs::read(&file) {
            run.out.extend(bytes);
        }
    }
    run
}

fn run_all(path: &Path) -> Vec<Run> {
    READING
        .iter()
        .map(|command| run_upon(command, path))
        .collect()
}

/// A new folder with files of these names and bytes.
fn folder_of(files: &[(&str, &[u8])]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    for (name, bytes) in files {
        let mut file = std::fs::File::create(folder.path().join(name)).expect("a file");
        file.write_all(bytes).expect("room");
    }
    folder
}

/// Nothing in the output can steer a terminal or turn the direction of text. Line ends alone are left.
fn assert_inert(run: &Run) {
    let text =
        std::str::from_utf8(&run.out).unwrap_or_else(|_| panic!("{:?}: not UTF-8", run.args));
    let errors =
        std::str::from_utf8(&run.err).unwrap_or_else(|_| panic!("{:?}: not UTF-8", run.args));
    // A copy says what the strip says, so `convert` keeps signs of direction; control characters it does not.
    let is_copy = run.args.contains(&"convert".into());
    // Rows of CSV end with CR LF (RFC 4180, section 2).
    let text = text.replace("\r\n", "\n");
    for c in text.chars().chain(errors.chars()) {
        // The control characters but LF; and those of the Unicode Bidirectional Algorithm (UAX #9, table 4).
        let steers = c.is_control() && c != '\n';
        let turns = matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
        assert!(
            !steers && (!turns || is_copy),
            "{:?}: U+{:04X} in {}",
            run.args,
            u32::from(c),
            run.said()
        );
    }
}

/// A strip that has nothing wrong.
const HEALTHY: &str = "\
loadbook printout 1
unit: PL-1
process: plasma
program: standard
counter: 1042
load: P1-0312-01
operator: HB
started: 2026-03-12 07:41:20
stage: evacuate, at 07:41:30, limit pressure 53 Pa max
07:42:30 pressure 8124.0 Pa, temperature 45.1 C
07:47:30 pressure 51.2 Pa, temperature 45.4 C
stage: plasma, at 07:50:10
07:51:10 pressure 65.0 Pa, temperature 46.0 C, power 402 W
ended: 08:22:05
total: 00:40:45, readings 3
outcome: completed
end
";

fn path_of(folder: &tempfile::TempDir, name: &str) -> PathBuf {
    folder.path().join(name)
}
