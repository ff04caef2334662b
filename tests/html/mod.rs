//! The reports for paper and screen, without a browser: their languages, figures, provenance and masks. What needs a
//! browser stands in `tests/browser/`.

/// What the reports of a small day say.
mod drawn;
/// The figures against counts made without our code, and every row against the line that it names.
mod figures;
/// The reports under `reports/` are what the commands write.
mod kept;
/// Both languages say everything, and the English says what the tables say.
mod languages;
/// Staff marks replaced.
mod masks;

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::process::Command;
use std::sync::{Arc, Mutex, OnceLock};

pub(crate) const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// A report of the records of a path below the root, as the command writes it to standard output. Each is written once
/// for all tests.
pub(crate) fn report(args: &[&str]) -> Arc<str> {
    type Written = BTreeMap<Vec<String>, Arc<OnceLock<Arc<str>>>>;
    static WRITTEN: Mutex<Written> = Mutex::new(BTreeMap::new());
    let key: Vec<String> = args.iter().map(|arg| (*arg).to_owned()).collect();
    // Tests that ask for different reports don't wait for one another.
    let cell = Arc::clone(
        WRITTEN
            .lock()
            .expect("no test panicked")
            .entry(key)
            .or_default(),
    );
    Arc::clone(cell.get_or_init(|| write_report(args).into()))
}

fn write_report(args: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_loadbook"))
        .arg("report")
        .args(args)
        .current_dir(ROOT)
        .output()
        .expect("the program starts");
    assert!(
        output.status.code().is_some_and(|code| code <= 1),
        "{args:?}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).expect("a report is UTF-8")
}

/// The text of a document: no tags, no style, character references resolved, white space made single.
pub(crate) fn text_of(html: &str) -> String {
    let body = html.split_once("<body>").map_or(html, |(_, body)| body);
    let mut out = String::new();
    let mut in_tag = false;
    for c in body.chars() {
        match c {
            '<' => in_tag = true,
            '>' => {
                in_tag = false;
                out.push(' ');
            }
            c if !in_tag => out.push(c),
            _ => {}
        }
    }
    let out = out
        .replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&quot;", "\"")
        .replace("&amp;", "&");
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The text of a document with a line for each block, and ` | ` between the cells of a row.
pub(crate) fn lines_of(html: &str) -> String {
    let body = html.split_once("<body>").map_or(html, |(_, body)| body);
    let mut marked = body.to_owned();
    for block in [
        "tr",
        "p",
        "h1",
        "h2",
        "h3",
        "li",
        "caption",
        "figcaption",
        "div",
        "table",
        "section",
        "br",
    ] {
        marked = marked
            .replace(&format!("<{block}>"), &format!("\u{1}<{block}>"))
            .replace(&format!("<{block} "), &format!("\u{1}<{block} "));
    }
    for cell in ["td", "th"] {
        marked = marked.replace(&format!("</{cell}>"), &format!(" |</{cell}>"));
    }
    marked
        .split('\u{1}')
        .map(text_of)
        .filter(|line| !line.is_empty())
        .collect::<Vec<_>>()
        .join("\n")
}

/// The files below a folder, sorted.
pub(crate) fn files_below(folder: &str) -> Vec<PathBuf> {
    let mut found: Vec<PathBuf> = walkdir::WalkDir::new(PathBuf::from(ROOT).join(folder))
        .into_iter()
        .map(|entry| entry.expect("a folder that can be read"))
        .filter(|entry| entry.file_type().is_file())
        .map(|entry| entry.into_path())
        .collect();
    found.sort();
    found
}
