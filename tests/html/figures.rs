use super::{ROOT, files_below, report, text_of};
use std::collections::BTreeMap;
use std::path::Path;

/// The lines of the sample files by name, read without our code.
fn sample_lines() -> BTreeMap<String, Vec<String>> {
    files_below("samples/fennmarsh")
        .into_iter()
        .map(|path| {
            let name = path
                .strip_prefix(Path::new(ROOT).join("samples/fennmarsh"))
                .expect("below the folder")
                .to_string_lossy()
                .replace('\\', "/");
            let text = std::fs::read_to_string(&path).expect("samples are UTF-8");
            (name, text.lines().map(str::to_owned).collect())
        })
        .collect()
}

/// The counts are those of the answer sheet, which the generator wrote without reading anything.
#[test]
fn figures_of_the_review_are_those_of_the_answer_sheet() {
    let sheet = std::fs::read_to_string(Path::new(ROOT).join("samples/answer-sheet.md"))
        .expect("the sheet");
    let mut by_outcome: BTreeMap<String, u64> = BTreeMap::new();
    let mut total = 0;
    for line in sheet.lines() {
        let cells: Vec<&str> = line.trim_matches('|').split('|').map(str::trim).collect();
        if let [_, purpose, outcome, n] = cells[..]
            && let Ok(n) = n.parse::<u64>()
            && ["completed", "aborted", "rejected", "passed"].contains(&outcome)
        {
            total += n;
            if purpose == "load" {
                *by_outcome.entry(outcome.to_owned()).or_default() += n;
            }
        }
    }
    assert_eq!(total, 1958, "the table of the sheet was found");
    let text = text_of(&report(&["review", "samples/fennmarsh"]));
    let load_cycles: u64 = by_outcome.values().sum();
    for words in [
        format!("{load_cycles} cycles with a load of {total} in all"),
        format!("{} aborted", by_outcome["aborted"]),
        format!("{} rejected", by_outcome["rejected"]),
        "11 printouts missing".to_owned(),
    ] {
        assert!(text.contains(&words), "{words}");
    }
}

/// Biological indicators of a month, counted by a plain search through the log's lines: each vial by load and role, read
/// or not, in the month in which its load stands. The sheet plants one growth and one dead control in March.
#[test]
fn indicators_of_the_month_are_those_that_the_log_has() {
    let mut vials: BTreeMap<String, &str> = BTreeMap::new();
    let lines = sample_lines();
    for (name, lines) in lines.iter().filter(|(name, _)| name.starts_with("logs/")) {
        for line in lines {
            let found = if name.ends_with(".csv") {
                let cells: Vec<&str> = line.split(',').collect();
                (cells.first() == Some(&"bi")).then(|| {
                    let load = cells.iter().find(|cell| cell.contains("-2603")).copied();
                    (
                        load,
                        line.contains(",test,"),
                        line.contains("no growth"),
                        line.contains(",growth,"),
                    )
                })
            } else {
                line.split_once(" bi: ").map(|(_, said)| {
                    let load = said.split(',').next().filter(|load| load.contains("-2603"));
                    (
                        load,
                        said.contains("role test"),
                        said.contains("result no growth"),
                        said.contains("result growth"),
                    )
                })
            };
            if let Some((Some(load), true, negative, positive)) = found {
                let result = match (negative, positive) {
                    (true, _) => "negative",
                    (_, true) => "positive",
                    _ => continue,
                };
                vials.insert(load.to_owned(), result);
            }
        }
    }
    let n_read = vials.len();
    let n_grew = vials
        .values()
        .filter(|result| **result == "positive")
        .count();
    assert_eq!(n_grew, 1, "the planted growth");
    let text = text_of(&report(&[
        "monthly",
        "samples/fennmarsh",
        "--month",
        "2026-03",
    ]));
    let words = format!("{n_grew} biological indicator grew, of {n_read} read.");
    assert!(text.contains(&words), "{words} in: {}", &text[..400]);
}

/// Every quoted line stands in its file under its number, and every link has its row.
#[test]
fn every_row_leads_to_its_line_as_it_stands_in_the_file() {
    let lines = sample_lines();
    for args in [
        &["review", "samples/fennmarsh"][..],
        &["investigation", "PL-1:1433", "samples/fennmarsh"],
    ] {
        let html = report(args);
        let mut n_quoted = 0;
        for table in html.split("<table class=\"quotes\">").skip(1) {
            let table = table.split("</table>").next().expect("a table ends");
            let caption = table
                .split("<caption>")
                .nth(1)
                .and_then(|rest| rest.split("</caption>").next());
            let name = caption
                .expect("a caption")
                .rsplit(", ")
                .next()
                .expect("a file")
                .to_owned();
            let file = &lines[&name];
            for row in table.split("<tr").skip(2) {
                let line: usize = row
                    .split("<th scope=\"row\" class=\"num\">")
                    .nth(1)
                    .and_then(|rest| rest.split('<').next())
                    .expect("a number")
                    .parse()
                    .expect("a number");
                let quoted = row
                    .split("<code>")
                    .nth(1)
                    .and_then(|rest| rest.split("</code>").next());
                assert_eq!(
                    text_of(quoted.expect("a quoted line")),
                    file[line - 1]
                        .split_whitespace()
                        .collect::<Vec<_>>()
                        .join(" "),
                    "{name}:{line}"
                );
                n_quoted += 1;
            }
        }
        assert!(n_quoted > 20, "{args:?}: {n_quoted} lines are quoted");
        for href in html
            .split("href=\"#")
            .skip(1)
            .filter_map(|rest| rest.split('"').next())
        {
            assert!(
                html.contains(&format!("id=\"{href}\"")),
                "{args:?}: #{href} leads nowhere"
            );
        }
    }
}

/// SHA-256 of each input as `sha256sum` of GNU coreutils gives it.
#[test]
fn inputs_stand_with_the_fingerprint_that_sha256sum_gives() {
    let html = report(&[
        "investigation",
        "PL-1:1433",
        "samples/fennmarsh/printouts/PL-1",
    ]);
    let output = std::process::Command::new("sha256sum")
        .args(files_below("samples/fennmarsh/printouts/PL-1"))
        .output()
        .expect("sha256sum is there");
    let sums = String::from_utf8(output.stdout).expect("plain text");
    assert_eq!(sums.lines().count(), 4);
    for sum in sums
        .lines()
        .filter_map(|line| line.split_whitespace().next())
    {
        assert!(html.contains(sum), "{sum}");
    }
}

#[test]
fn report_asks_for_nothing_and_runs_nothing() {
    for args in [
        &["review", "samples/fennmarsh"][..],
        &["review", "tests/browser/hostile"],
        &["investigation", "P9-<i>1</i>", "tests/browser/hostile"],
    ] {
        let html = report(args);
        assert!(html.contains("default-src 'none'; style-src 'sha256-"));
        for tag in [
            "<script",
            "<img",
            "<iframe",
            "<object",
            "<form",
            "<link rel=\"stylesheet\"",
            "@import",
            "http:",
            "https:",
        ] {
            let found = html
                .find(tag)
                .map(|at| &html[at.saturating_sub(40)..(at + 60).min(html.len())]);
            // What a hostile strip wrote may name an address; as text.
            let is_text = found.is_some_and(|found| found.contains("example.invalid"));
            assert!(found.is_none() || is_text, "{args:?}: {found:?}");
        }
        assert!(!html.contains('\u{1b}') && !html.contains('\u{202e}'));
    }
}
