//! `loadbook selftest`: whether this copy gives the known answers on this machine.

use super::Printed;
use super::exit::Exit;
use super::options::{Format, SharedOptions};
use super::output::write_json;
use crate::archive::object::read_hash;
use crate::report::selftest::{CaseRow, CheckRow, GroupRow, SelftestReport};
use crate::report::terminal::selftest::draw_selftest;
use crate::report::terminal::{Extent, Terminal};
use crate::selftest::GROUPS;
use crate::selftest::case::Case;
use crate::selftest::reference::References;
use clap::Args;
use std::fs::File;

/// Checks this copy of loadbook on this machine, without any other file: cases whose answers are published, calculated by
/// other programs, or worked out by hand from published clauses are run again, from records to decisions and in the
/// statistics, and each is told as pass or fail with its source. To be printed and signed.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  loadbook selftest                    a line for each group of cases; failures in full
  loadbook selftest --all              every case with its source
  loadbook selftest --format json      with every value that was compared
  loadbook selftest | lp               on paper, to sign

Exit codes:
  0  every case passes
  2  a usage error
  3  a case fails, or stops the program: do not use this copy")]
pub struct SelftestCommand {
    /// List every case with its source
    #[arg(long)]
    pub all: bool,
    /// Text for people, or JSON for machines
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    /// Columns to draw in, 60 to 200
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(60..=200))]
    pub width: Option<u16>,
}

/// Runs the command.
///
/// # Errors
/// None of its own; a case that fails is no error of the command, and has an exit code.
pub fn run(command: &SelftestCommand) -> Printed {
    run_against(command, &References::embedded(), hash_program())
}

/// Runs the command against given references; `program` is the SHA-256 of the program's file, or why there is none.
fn run_against(
    command: &SelftestCommand,
    references: &References,
    program: Result<String, String>,
) -> Printed {
    let groups = GROUPS.iter().map(|group| {
        let cases = group.run(references).into_iter().map(case_row).collect();
        GroupRow::new(group.name, group.against, cases)
    });
    let target = format!("{} on {}", std::env::consts::OS, std::env::consts::ARCH);
    let version = env!("CARGO_PKG_VERSION");
    let report = SelftestReport::new(version, &target, program, groups.collect());
    let text = match command.format {
        Format::Json => write_json(&report)?,
        Format::Text => {
            let terminal = Terminal {
                extent: Extent::of_lists(command.all),
                ..SharedOptions::plain_terminal(command.width)
            };
            draw_selftest(&report, &terminal)
        }
    };
    let exit = match report.passes {
        true => Exit::Fine,
        false => Exit::Unsound,
    };
    Ok((text, exit))
}

fn case_row(case: Case) -> CaseRow {
    let passes = case.passes();
    let checks = case.checks.into_iter().map(|check| CheckRow {
        what: check.what,
        expected: check.expected,
        found: check.found,
        within: check.within,
        agrees: check.agrees,
    });
    CaseRow {
        name: case.name,
        source: case.source,
        known: case.known.said().to_owned(),
        passes,
        checks: checks.collect(),
    }
}

/// The SHA-256 of the file that this program runs from.
fn hash_program() -> Result<String, String> {
    match read_hash(|| File::open(std::env::current_exe()?)) {
        Ok((_, fingerprint)) => Ok(fingerprint.to_string()),
        Err(error) => Err(error.kind().to_string()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run_altered(all: bool, format: Format) -> (String, Exit) {
        let command = SelftestCommand {
            all,
            format,
            width: Some(80),
        };
        // NIST/SEMATECH e-Handbook 6.3.3.2 prints 0.2313.
        let altered = References::embedded().altered(
            "reference/stats/02_cusum_ewma_attribute_expected.json",
            "\"pbar\": 0.2313,",
            "\"pbar\": 0.2413,",
        );
        let program = Err("not found".to_owned());
        run_against(&command, &altered.unwrap(), program).unwrap()
    }

    #[test]
    fn wrong_answer_is_told_with_its_source_and_what_to_do_and_ends_with_3() {
        let (said, exit) = run_altered(false, Format::Text);
        assert_eq!(exit.code(), 3);
        let words = said.split_whitespace().collect::<Vec<_>>().join(" ");
        for part in [
            "FAIL: 1 of",
            "Do not use this copy.",
            "FAILED: Control charts: p chart of thirty samples of fifty, as printed",
            "centre: expected 0.2413, found 0.23133",
            "Source: NIST/SEMATECH e-Handbook 6.3.3.2 (seen in a copy)",
            "its SHA-256 is not known: not found.",
        ] {
            assert!(words.contains(part), "{part}: {said}");
        }
        assert!(!words.contains("PASS"), "{said}");
        assert_eq!(said.matches("FAILED").count(), 1, "{said}");
    }

    #[test]
    fn wrong_answer_is_marked_among_all_cases_and_in_json() {
        let (said, exit) = run_altered(true, Format::Text);
        assert_eq!(exit, Exit::Unsound);
        assert_eq!(said.matches("\nFAIL  ").count(), 1, "{said}");
        let (said, exit) = run_altered(false, Format::Json);
        assert_eq!(exit, Exit::Unsound);
        let report: serde_json::Value = serde_json::from_str(&said).unwrap();
        assert_eq!(report["passes"], false);
        let failing = report["groups"].as_array().unwrap().iter();
        let failing = failing.flat_map(|group| group["cases"].as_array().unwrap());
        let failing: Vec<_> = failing.filter(|case| case["passes"] == false).collect();
        assert_eq!(failing.len(), 1);
        let checks = failing[0]["checks"].as_array().unwrap();
        let wrong = checks.iter().find(|check| check["agrees"] == false);
        assert_eq!(wrong.unwrap()["expected"], "0.2413");
    }
}
