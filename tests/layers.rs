//! The layers hold: a module imports only what the table allows, files and clock are touched where they may be, and no
//! text for people claims more than records can show.
//!
//! The table is the project's own decision (its layout says who may import whom); there is no outside source for it.
//! Each check is also run on a planted fault, so that it is known to be able to fail. Test code below `#[cfg(test)]` is
//! left out: a test may reach anywhere.

use std::fs;
use std::path::{Path, PathBuf};

/// Who may import whom, beyond itself. `parse::write` stands for the writers `parse::printout::write` and
/// `parse::log::write`.
const MAY_IMPORT: &[(&str, &[&str])] = &[
    ("diagnose", &[]),
    ("measure", &[]),
    ("parallel", &[]),
    ("stats", &[]),
    ("source", &["diagnose"]),
    ("record", &["diagnose", "measure"]),
    (
        "parse",
        &["diagnose", "measure", "parallel", "source", "record"],
    ),
    ("reconcile", &["diagnose", "measure", "parallel", "record"]),
    (
        "judge",
        &["diagnose", "measure", "parallel", "record", "reconcile"],
    ),
    (
        "analyse",
        &[
            "diagnose",
            "measure",
            "parallel",
            "record",
            "reconcile",
            "judge",
            "stats",
        ],
    ),
    (
        "report",
        &[
            "diagnose",
            "measure",
            "record",
            "parse",
            "reconcile",
            "judge",
            "analyse",
        ],
    ),
    ("archive", &["diagnose", "measure", "source", "record"]),
    (
        "simulate",
        &["diagnose", "measure", "record", "parse::write"],
    ),
    (
        "selftest",
        &[
            "diagnose",
            "measure",
            "record",
            "parse",
            "reconcile",
            "judge",
            "stats",
            "archive",
        ],
    ),
    (
        "cli",
        &[
            "diagnose",
            "measure",
            "source",
            "record",
            "parallel",
            "parse",
            "reconcile",
            "judge",
            "stats",
            "analyse",
            "report",
            "archive",
            "simulate",
            "selftest",
        ],
    ),
    ("main", &["cli"]),
];

/// Single items that a module may import beyond that: plain data about a file, which a report shows as it is.
const MAY_IMPORT_ITEM: &[(&str, &str)] = &[("report", "source::gather::SourceFile")];

/// Where files may be touched.
const MAY_TOUCH_FILES: &[&str] = &["source", "archive", "cli", "simulate"];

/// Where the clock may be read: the progress display alone, whose output is no result.
const MAY_READ_THE_CLOCK: &[&str] = &["cli/progress.rs"];

/// Names that say nothing of what a module holds.
const EMPTY_NAMES: &[&str] = &[
    "utils", "util", "common", "helpers", "helper", "types", "misc",
];

/// A source file of the crate: its path below `src`, and its code.
struct SourceText {
    path: String,
    text: String,
}

impl SourceText {
    fn module(&self) -> &str {
        let first = self.path.split('/').next().unwrap_or_default();
        first.strip_suffix(".rs").unwrap_or(first)
    }

    /// How many modules deep it is: 1 for `parse/mod.rs`, 2 for `parse/gs1.rs`.
    fn depth(&self) -> usize {
        let n_names = self.path.split('/').count();
        match self.path.ends_with("/mod.rs") {
            true => n_names - 1,
            false => n_names,
        }
    }

    /// The lines before its test code that are not comments, with their numbers.
    fn code(&self) -> impl Iterator<Item = (usize, &str)> {
        self.lines_before_tests()
            .filter(|(_, line)| !line.trim_start().starts_with("//"))
    }

    fn lines_before_tests(&self) -> impl Iterator<Item = (usize, &str)> {
        let lines: Vec<&str> = self.text.lines().collect();
        let opens_tests = |pair: &[&str]| {
            pair[0] == "#[cfg(test)]" && pair[1].starts_with("mod ") && pair[1].ends_with('{')
        };
        let n_before = lines
            .windows(2)
            .position(opens_tests)
            .unwrap_or(lines.len());
        (1..).zip(lines.into_iter().take(n_before))
    }

    /// The paths, below `src` and without `.rs`, of modules that it declares for tests alone.
    fn test_modules(&self) -> Vec<String> {
        let folder = match self.path.strip_suffix("/mod.rs") {
            Some(folder) => format!("{folder}/"),
            None if self.path == "lib.rs" => String::new(),
            None => format!("{}/", self.path.trim_end_matches(".rs")),
        };
        let lines: Vec<&str> = self.text.lines().collect();
        lines
            .windows(2)
            .filter(|pair| pair[0] == "#[cfg(test)]")
            .filter_map(|pair| pair[1].rsplit_once("mod ")?.1.strip_suffix(';'))
            .map(|name| format!("{folder}{name}"))
            .collect()
    }
}

fn read_sources() -> Vec<SourceText> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut folders = vec![root.clone()];
    let mut files: Vec<PathBuf> = Vec::new();
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|ext| ext == "rs") {
                files.push(path);
            }
        }
    }
    files.sort();
    let sources: Vec<SourceText> = files
        .iter()
        .map(|path| SourceText {
            path: path
                .strip_prefix(&root)
                .unwrap()
                .to_str()
                .unwrap()
                .replace('\\', "/"),
            text: fs::read_to_string(path).unwrap(),
        })
        .collect();
    let for_tests: Vec<String> = sources.iter().flat_map(SourceText::test_modules).collect();
    let is_for_tests = |source: &SourceText| {
        for_tests.iter().any(|module| {
            source.path == format!("{module}.rs") || source.path.starts_with(&format!("{module}/"))
        })
    };
    sources
        .into_iter()
        .filter(|source| !is_for_tests(source))
        .collect()
}

fn planted(path: &str, text: &str) -> SourceText {
    SourceText {
        path: path.to_owned(),
        text: text.to_owned(),
    }
}

/// The name that a text begins with.
fn name_at(text: &str) -> &str {
    let end = text
        .find(|c: char| !(c.is_ascii_alphanumeric() || c == '_'))
        .unwrap_or(text.len());
    &text[..end]
}

fn is_word_at(text: &str, start: usize, len: usize) -> bool {
    let is_name = |c: char| c.is_ascii_alphanumeric() || c == '_';
    !text[..start].chars().next_back().is_some_and(is_name)
        && !text[start + len..].chars().next().is_some_and(is_name)
}

fn word_positions(text: &str, word: &str) -> Vec<usize> {
    text.match_indices(word)
        .map(|(start, _)| start)
        .filter(|start| is_word_at(text, *start, word.len()))
        .collect()
}

/// The items of a braced list, split at the commas that stand outside inner braces.
fn braced_items(text: &str) -> Vec<&str> {
    let mut items = Vec::new();
    let (mut depth, mut start) = (0_usize, 0);
    for (at, c) in text.char_indices() {
        match c {
            '{' => depth += 1,
            '}' if depth == 0 => {
                items.push(&text[start..at]);
                return items;
            }
            '}' => depth -= 1,
            ',' if depth == 0 => {
                items.push(&text[start..at]);
                start = at + 1;
            }
            _ => {}
        }
    }
    items
}

/// Every path that begins at the crate's root, as far as it is written there, with its line: by `crate::`, by enough
/// `super::`, and by `loadbook::` in the binary.
fn root_paths(source: &SourceText) -> Vec<(usize, String)> {
    // The code as one text, so that a braced list may go over several lines; comments become blank lines.
    let mut code = String::new();
    for (number, line) in source.lines_before_tests() {
        while code.matches('\n').count() + 1 < number {
            code.push('\n');
        }
        if !line.trim_start().starts_with("//") {
            code.push_str(line);
        }
        code.push('\n');
    }
    let mut found = Vec::new();
    let mut push = |at: usize, text: &str, code: &str| {
        let line = code[..at].matches('\n').count() + 1;
        let path: Vec<&str> = text.split("::").map(|part| name_at(part.trim())).collect();
        found.push((line, path.join("::")));
    };
    let root = if source.path == "main.rs" {
        "loadbook"
    } else {
        "crate"
    };
    let supers = "super::".repeat(source.depth());
    let starts = word_positions(&code, root)
        .into_iter()
        .map(|at| (at, at + root.len()))
        .chain(
            code.match_indices(&supers)
                .filter(|(at, _)| !code[..*at].ends_with("super::"))
                .map(|(at, _)| (at, at + supers.len() - 2)),
        );
    for (at, end) in starts.collect::<Vec<_>>() {
        let Some(rest) = code[end..].strip_prefix("::") else {
            continue;
        };
        if let Some(list) = rest.strip_prefix('{') {
            for item in braced_items(list) {
                push(at, item.trim(), &code);
            }
        } else {
            let end = rest
                .find(|c: char| !(c.is_ascii_alphanumeric() || c == '_' || c == ':'))
                .unwrap_or(rest.len());
            push(at, &rest[..end], &code);
        }
    }
    found
}

fn forbidden_imports(source: &SourceText) -> Vec<String> {
    let module = source.module();
    if module == "lib" {
        return Vec::new();
    }
    let Some((_, allowed)) = MAY_IMPORT.iter().find(|(name, _)| *name == module) else {
        return vec![format!(
            "src/{}: the table has no module {module}",
            source.path
        )];
    };
    root_paths(source)
        .into_iter()
        .filter(|(_, path)| {
            let top = path.split("::").next().unwrap_or_default();
            // A macro or a name of the crate's root is no module.
            let is_module = MAY_IMPORT.iter().any(|(name, _)| *name == top);
            let is_writer = ["parse::printout::write", "parse::log::write"]
                .iter()
                .any(|writer| path == writer || path.starts_with(&format!("{writer}::")));
            is_module
                && top != module
                && !allowed.contains(&top)
                && !MAY_IMPORT_ITEM.contains(&(module, path.as_str()))
                && !(is_writer && allowed.contains(&"parse::write"))
        })
        .map(|(line, path)| format!("src/{}:{line}: {module} may not import {path}", source.path))
        .collect()
}

fn files_touched(source: &SourceText) -> Vec<String> {
    if MAY_TOUCH_FILES.contains(&source.module()) {
        return Vec::new();
    }
    let words = [
        "std::fs",
        "fs",
        "File",
        "OpenOptions",
        "tempfile",
        "read_to_string",
        "walkdir",
    ];
    lines_with(source, &words)
}

fn clock_read(source: &SourceText) -> Vec<String> {
    if MAY_READ_THE_CLOCK.contains(&source.path.as_str()) {
        return Vec::new();
    }
    let mut found = lines_with(source, &["SystemTime", "Instant"]);
    let calls = |(_, line): &(usize, &str)| {
        let code = outside_strings(line);
        let is_call = |at: usize| code[..at].ends_with("::");
        word_positions(&code, "now").into_iter().any(is_call) || code.contains("Local::")
    };
    found.extend(
        source
            .code()
            .filter(calls)
            .map(|(number, line)| format!("src/{}:{number}: {}", source.path, line.trim())),
    );
    found.sort();
    found.dedup();
    found
}

fn lines_with(source: &SourceText, words: &[&str]) -> Vec<String> {
    source
        .code()
        .filter(|(_, line)| {
            let code = outside_strings(line);
            words
                .iter()
                .any(|word| !word_positions(&code, word).is_empty())
        })
        .map(|(number, line)| format!("src/{}:{number}: {}", source.path, line.trim()))
        .collect()
}

/// A line without what stands in its string literals and after `//`. Literals that go over several lines are not
/// followed; a word in one of those is found rather than missed.
fn outside_strings(line: &str) -> String {
    split_strings(line).0
}

/// A line's code and the text of its string literals.
fn split_strings(line: &str) -> (String, String) {
    let (mut code, mut literal) = (String::new(), String::new());
    let mut inside = false;
    let mut chars = line.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            '\\' if inside => {
                literal.push(' ');
                chars.next();
            }
            // The character literal '"' opens no string.
            '\'' if !inside && chars.peek() == Some(&'"') => {
                chars.next();
            }
            '"' => {
                inside = !inside;
                literal.push('\n');
            }
            '/' if !inside && chars.peek() == Some(&'/') => break,
            _ if inside => literal.push(c),
            _ => code.push(c),
        }
    }
    (code, literal)
}

/// Lines that say "sterile" or "sterility" to people, but for the trade's name "sterile processing". Documentation
/// comments of `cli` become help text and count too.
fn claims(source: &SourceText) -> Vec<String> {
    source
        .lines_before_tests()
        .filter(|(_, line)| {
            let trimmed = line.trim_start();
            let is_help = trimmed.starts_with("///") && source.module() == "cli";
            if trimmed.starts_with("//") && !is_help {
                return false;
            }
            let (_, literal) = split_strings(line);
            // A line without a quotation mark may lie within a literal of several lines, so all of it counts.
            let text = match is_help || !line.contains('"') {
                true => line.to_lowercase(),
                false => literal.to_lowercase(),
            };
            let is_claim = |at: usize| !text[at..].starts_with("sterile processing");
            word_positions(&text, "sterile").into_iter().any(is_claim)
                || !word_positions(&text, "sterility").is_empty()
        })
        .map(|(number, line)| format!("src/{}:{number}: {}", source.path, line.trim()))
        .collect()
}

fn empty_names(source: &SourceText) -> Vec<String> {
    source
        .path
        .split('/')
        .map(|name| name.strip_suffix(".rs").unwrap_or(name))
        .filter(|name| EMPTY_NAMES.contains(name))
        .map(|name| format!("src/{}: {name} says nothing of what it holds", source.path))
        .collect()
}

fn assert_none(check: fn(&SourceText) -> Vec<String>) {
    let sources = read_sources();
    assert!(sources.len() > 20, "the sources were found");
    let found: Vec<String> = sources.iter().flat_map(check).collect();
    assert!(found.is_empty(), "\n{}\n", found.join("\n"));
}

#[test]
fn modules_import_only_what_stands_above_them() {
    assert_none(forbidden_imports);
}

#[test]
fn every_module_of_the_crate_is_in_the_table() {
    let lib = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("src/lib.rs")).unwrap();
    let modules: Vec<&str> = lib
        .lines()
        .filter_map(|line| line.strip_prefix("pub mod ")?.strip_suffix(';'))
        .collect();
    assert!(modules.len() >= 8, "{modules:?}");
    for module in modules {
        assert!(
            MAY_IMPORT.iter().any(|(name, _)| *name == module),
            "{module}"
        );
    }
}

#[test]
fn forbidden_import_is_found() {
    for (path, text) in [
        ("reconcile/mod.rs", "use crate::parse::Records;\n"),
        (
            "reconcile/gaps.rs",
            "use crate::{\n    record::cycle::Cycle,\n    source::gather,\n};\n",
        ),
        (
            "measure/unit.rs",
            "fn f() {\n    crate::diagnose::codes::Code::ALL;\n}\n",
        ),
        ("record/cycle.rs", "use super::super::parse::Strictness;\n"),
        ("record/mod.rs", "use super::report::Table;\n"),
        ("judge/rules/bi.rs", "use crate::stats::median;\n"),
        ("simulate/mod.rs", "use crate::parse::Records;\n"),
        ("analyse/lots.rs", "use crate::report::table;\n"),
        ("main.rs", "use loadbook::parse;\n"),
        (
            "report/read.rs",
            "use crate::source::gather::{SourceFile, Sources};\n",
        ),
        (
            "record/mod.rs",
            "#[cfg(test)]\nmod practice;\nuse crate::parse::Records;\n",
        ),
    ] {
        assert_eq!(
            forbidden_imports(&planted(path, text)).len(),
            1,
            "{path}: {text}"
        );
    }
    for (path, text) in [
        (
            "reconcile/mod.rs",
            "//! See [`crate::parse`].\nuse crate::record::cycle::Cycle;\n",
        ),
        (
            "record/cycle.rs",
            "use super::Spanned;\nuse crate::diagnose::Span;\n",
        ),
        (
            "simulate/mod.rs",
            "use crate::parse::printout::write::write_cycle;\n",
        ),
        (
            "record/mod.rs",
            "#[cfg(test)]\nmod tests {\n    use crate::parse::Records;\n}\n",
        ),
        ("main.rs", "use loadbook::cli;\n"),
    ] {
        let found = forbidden_imports(&planted(path, text));
        assert!(found.is_empty(), "{found:?}");
    }
}

#[test]
fn files_are_touched_only_where_they_may_be() {
    assert_none(files_touched);
    let text = "fn f() {\n    std::fs::read(\"x\");\n}\n";
    assert_eq!(files_touched(&planted("report/mod.rs", text)).len(), 1);
    assert!(files_touched(&planted("source/gather.rs", text)).is_empty());
    assert!(files_touched(&planted("report/mod.rs", "let s = \"File\";\n")).is_empty());
}

#[test]
fn nobody_reads_the_clock() {
    assert_none(clock_read);
    for text in [
        "let t = std::time::Instant::now();\n",
        "use std::time::SystemTime;\n",
        "let today = chrono::Utc::now();\n",
    ] {
        assert_eq!(clock_read(&planted("cli/read.rs", text)).len(), 1, "{text}");
    }
    let harmless = "// Utc::now()\nlet now = strip::nowhere(strip.now) + s(\"Instant\");\n";
    assert!(clock_read(&planted("cli/read.rs", harmless)).is_empty());
}

#[test]
fn no_module_has_an_empty_name() {
    assert_none(empty_names);
    assert_eq!(empty_names(&planted("parse/utils.rs", "")).len(), 1);
    assert_eq!(empty_names(&planted("common/mod.rs", "")).len(), 1);
}

#[test]
fn nothing_calls_a_load_sterile() {
    assert_none(claims);
    for (path, text) in [
        ("report/review.rs", "let s = \"the load is sterile\";\n"),
        ("report/review.rs", "let s = \"\n  Sterile.\n\";\n"),
        ("cli/review.rs", "/// Shows the sterile loads.\n"),
        ("diagnose/codes.rs", "    \"Proof of sterility.\",\n"),
    ] {
        assert_eq!(claims(&planted(path, text)).len(), 1, "{text}");
    }
    for (path, text) in [
        (
            "report/review.rs",
            "let s = \"sterile processing department\";\n",
        ),
        (
            "report/review.rs",
            "// never sterile\nlet s = \"the sterilizer\";\n",
        ),
        ("record/cycle.rs", "/// Not sterile.\n"),
    ] {
        assert!(claims(&planted(path, text)).is_empty(), "{text}");
    }
}
