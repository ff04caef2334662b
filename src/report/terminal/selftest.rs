//! What a copy of loadbook answered to cases with known answers, drawn to be printed and signed.

use super::prose::{count, draw_rest, paragraph};
use super::table::draw_table;
use super::{Extent, Terminal};
use crate::report::selftest::{CaseRow, CheckRow, GroupRow, SelftestReport};
use crate::report::table::{Column, Table};

/// Differences of a failing case in a short list.
const SHORT: usize = 8;

/// What to do with a copy that gives wrong answers.
const WHAT_TO_DO: &str = "Do not use this copy. Put it aside, get loadbook anew from where it is published, and run \
    `loadbook selftest` with it. If that fails too, send this page to whoever keeps loadbook. Have what this copy said of \
    records looked through again, by hand or with a copy that passes.";

/// What a pass says, and what it does not.
const MEANING: &str = "A pass means that the arithmetic and the rules of this copy give the published answers on this \
    machine. It says nothing of any sterilizer, of any record, or of a local policy. Instructions for use, local policy \
    and the judgement of those licensed to practise decide.";

/// Draws the report: a line for each group, and failures in full; where lists are drawn in full, every case.
pub fn draw_selftest(report: &SelftestReport, terminal: &Terminal) -> String {
    let mut out = terminal.heading(&format!("SELFTEST OF LOADBOOK {}", report.version));
    out.push('\n');
    let built = format!("Built for {}.", report.target);
    out.push_str(&paragraph("", &built, terminal.width));
    match (&report.sha256, &report.unreadable) {
        (Some(sha256), _) => {
            out.push_str("SHA-256 of the program's file:\n");
            out.push_str(&paragraph("  ", sha256, terminal.width));
        }
        (None, why) => {
            let why = why.as_deref().unwrap_or("no reason is known");
            let said =
                format!("The program's file can't be read, so its SHA-256 is not known: {why}.");
            out.push_str(&paragraph("", &said, terminal.width));
        }
    }
    out.push('\n');
    out.push_str(&draw_verdict(report, terminal));
    out.push('\n');
    out.push_str(&draw_groups(&report.groups, terminal));
    for group in &report.groups {
        for case in group.cases.iter().filter(|case| !case.passes) {
            out.push('\n');
            out.push_str(&draw_failure(group, case, terminal));
        }
    }
    if terminal.extent == Extent::All {
        out.push_str(&draw_cases(&report.groups, terminal));
    }
    out.push('\n');
    out.push_str(&terminal.lead("WHAT THIS MEANS", MEANING));
    out.push('\n');
    out.push_str(&draw_signature(terminal));
    out
}

fn draw_verdict(report: &SelftestReport, terminal: &Terminal) -> String {
    let n_cases = count(report.n_cases, "case", "cases");
    if report.passes {
        let checks = report.groups.iter().flat_map(|group| &group.cases);
        let n_values: usize = checks.map(|case| case.checks.len()).sum();
        let said = format!(
            "all {n_cases} pass, in which {} were compared with their sources.",
            count(n_values, "value", "values")
        );
        terminal.lead("PASS", &said)
    } else {
        let n_failing = report.n_cases.saturating_sub(report.n_passed);
        let said = format!("{n_failing} of {n_cases} do not give the known answer. {WHAT_TO_DO}");
        terminal.lead("FAIL", &said)
    }
}

fn draw_groups(groups: &[GroupRow], terminal: &Terminal) -> String {
    let mut table = Table::new([
        Column::words("Cases about").at_least(24),
        Column::name("Passed"),
        Column::words("Held against").at_least(20),
    ]);
    for group in groups {
        table.push([
            group.name.as_str().into(),
            format!("{} of {}", group.n_passed, group.n_cases).into(),
            group.against.as_str().into(),
        ]);
    }
    draw_table(&table, 0, terminal)
}

fn draw_failure(group: &GroupRow, case: &CaseRow, terminal: &Terminal) -> String {
    let said = format!("{}: {}", group.name, case.name);
    let mut out = terminal.lead("FAILED", &said);
    let wrong: Vec<&CheckRow> = case.checks.iter().filter(|check| !check.agrees).collect();
    let n_drawn = terminal.n_drawn(wrong.len(), SHORT);
    for check in wrong.iter().take(n_drawn) {
        let within = match check.within.as_str() {
            "" => String::new(),
            within => format!(", to within {within}"),
        };
        let said = format!(
            "{}: expected {}, found {}{within}",
            check.what, check.expected, check.found
        );
        out.push_str(&paragraph("  * ", &said, terminal.width));
    }
    out.push_str(&draw_rest(wrong.len().saturating_sub(n_drawn), terminal));
    out.push_str(&draw_source(case, terminal));
    out
}

fn draw_source(case: &CaseRow, terminal: &Terminal) -> String {
    paragraph("  Source: ", &say_source(case), terminal.width)
}

/// The source, and how it is known where it does not say so itself.
fn say_source(case: &CaseRow) -> String {
    if case.source.contains(&case.known) {
        case.source.clone()
    } else {
        format!("{} [{}]", case.source, case.known)
    }
}

fn draw_cases(groups: &[GroupRow], terminal: &Terminal) -> String {
    let mut out = String::from("\n");
    out.push_str(&terminal.heading("EVERY CASE"));
    out.push('\n');
    out.push_str(&paragraph(
        "",
        "Seen: the source's wording or number was read. Calculated: worked out by the named program or formula. From memory: \
         check it before quoting it.",
        terminal.width,
    ));
    for group in groups {
        out.push('\n');
        out.push_str(&terminal.heading(&group.name));
        out.push('\n');
        for case in &group.cases {
            let lead = if case.passes { "pass  " } else { "FAIL  " };
            let n = count(case.checks.len(), "value", "values");
            let said = format!("{} ({n})", case.name);
            out.push_str(&paragraph(lead, &said, terminal.width));
            out.push_str(&paragraph("        ", &say_source(case), terminal.width));
        }
    }
    out
}

fn draw_signature(terminal: &Terminal) -> String {
    let line = "_".repeat(terminal.width.min(80).saturating_sub(36) / 3);
    format!("Machine {line}  checked by {line}  on {line}\n")
}
