//! The cases that the installed program runs upon itself: all pass, each reference is used, and each can fail.

use loadbook::selftest::case::{Case, Cases};
use loadbook::selftest::reference::References;
use loadbook::selftest::{GROUPS, Group, decisions, written_case};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

fn group(name: &str) -> &'static Group {
    let found = GROUPS.iter().find(|group| group.name == name);
    found.unwrap_or_else(|| panic!("no group {name}"))
}

/// The failing cases, with what differs.
fn failures(cases: &[Case]) -> String {
    let mut said = String::new();
    for case in cases.iter().filter(|case| !case.passes()) {
        said += &format!("{} ({})\n", case.name, case.source);
        for check in case.checks.iter().filter(|check| !check.agrees) {
            said += &format!(
                "  {}: found {}, expected {} within {}\n",
                check.what, check.found, check.expected, check.within
            );
        }
    }
    said
}

#[test]
fn every_case_passes() {
    let references = References::embedded();
    let mut said = String::new();
    for group in GROUPS {
        let failing = failures(&group.run(&references));
        if !failing.is_empty() {
            said += &format!("\n{}\n{failing}", group.name);
        }
    }
    assert!(said.is_empty(), "{said}");
}

/// The numbers are counted in the reference files, so that no row is left out in silence.
#[test]
fn no_case_is_left_out() {
    let references = References::embedded();
    for (name, n_cases) in [
        ("Run rules", 20),
        ("Trends", 3 * 7),
        ("Tables and strata", 10 + 7 + 2 + 2 * 9 + 3),
        ("Posterior probabilities", 14 + 1),
        ("Many comparisons", 5 + 1),
        ("Location and spread", 6 + 1 + 8),
        ("Clusters in time", 2),
        ("F0", 8 + 4),
        ("Dates, times and zones", 5 + 4),
    ] {
        assert_eq!(group(name).run(&references).len(), n_cases, "{name}");
    }
    let zones = group("Dates, times and zones").run(&references);
    let n_times: usize = zones.iter().map(|case| case.checks.len()).sum();
    assert_eq!(n_times, 5 + 4 * 496 / 2);
    // Each row both ways.
    let steam = group("Saturated steam").run(&references);
    let n_rows = references.rows("steam_saturation.csv").iter().count();
    assert!(n_rows > 150);
    assert!(steam.iter().any(|case| case.checks.len() == 2 * n_rows));
}

/// A value of each reference, made wrong: file, text, what it becomes, the group that must notice, and a part of the
/// failing case's name.
const WRONG: &[(&str, &str, &str, &str, &str)] = &[
    (
        "reference/f0_traces.csv",
        "steam_121_30s,12.0,121.83",
        "steam_121_30s,12.0,122.83",
        "F0",
        "trace steam_121_30s",
    ),
    (
        "reference/f0_values.csv",
        "18.486279252847744",
        "18.486289252847744",
        "F0",
        "trace steam_121_30s, reference 121.1 C, trapezoid",
    ),
    (
        "reference/printout_answers.csv",
        "490 s pressure 51.2 Pa",
        "490 s pressure 51.3 Pa",
        "A printout, end to end",
        "every value",
    ),
    (
        "reference/rfc3339_examples.csv",
        "1996-12-20T00:39:57Z",
        "1996-12-20T01:39:57Z",
        "Dates, times and zones",
        "1996-12-19",
    ),
    (
        "reference/steam_saturation.csv",
        "6.0,935.3530603846316",
        "6.0,935.3540603846316",
        "Saturated steam",
        "the whole line",
    ),
    (
        "reference/zoneinfo_table.csv",
        "Europe/London,2024-03-30 23:00:00,0,0,1",
        "Europe/London,2024-03-30 23:00:00,0,3600,1",
        "Dates, times and zones",
        "Europe/London",
    ),
    (
        "reference/stats/01_individuals_expected.json",
        "55.80408983451537",
        "55.80418983451537",
        "Control charts",
        "tabled constants",
    ),
    (
        "reference/stats/01_individuals_nist_flowrate.csv",
        "1,49.6,",
        "1,49.7,",
        "Control charts",
        "flow rates, as printed",
    ),
    (
        "reference/stats/02_cchart_nist.csv",
        "\n1,16",
        "\n1,17",
        "Control charts",
        "c chart",
    ),
    (
        "reference/stats/02_cusum_ewma_attribute_expected.json",
        "\"pbar\": 0.2313,",
        "\"pbar\": 0.2413,",
        "Control charts",
        "samples of fifty, as printed",
    ),
    (
        "reference/stats/02_cusum_nist.csv",
        "2,324.675,0.0,0.0075",
        "2,324.675,0.0,0.0175",
        "Control charts",
        "CUSUM",
    ),
    (
        "reference/stats/02_ewma_nist.csv",
        "1,52.0,50.6,50.6",
        "1,52.0,50.6,50.7",
        "Control charts",
        "EWMA of twenty values, as printed",
    ),
    (
        "reference/stats/02_pchart_nist.csv",
        "\n1,12,50",
        "\n1,13,50",
        "Control charts",
        "p chart of thirty samples",
    ),
    (
        "reference/stats/02_uchart_pchart_varying_n.csv",
        "\n1,1,56,",
        "\n1,2,56,",
        "Control charts",
        "u chart",
    ),
    (
        "reference/stats/03_run_rules.json",
        "    3.2,",
        "    2.9,",
        "Run rules",
        "n1_fire",
    ),
    (
        "reference/stats/04_trend_expected.json",
        "\"mk_S\": 54.0",
        "\"mk_S\": 55.0",
        "Trends",
        "n12_monthly_minutes",
    ),
    (
        "reference/stats/04_trend_series.csv",
        "n12_monthly_minutes,0,58.2",
        "n12_monthly_minutes,0,59.2",
        "Trends",
        "n12_monthly_minutes",
    ),
    (
        "reference/stats/05_cmh_stratified.json",
        "0.9046968282586231",
        "0.9046978282586231",
        "Tables and strata",
        "ucb_admissions",
    ),
    (
        "reference/stats/05_fisher_2x2.json",
        "\"p_two_sided\": 0.48571428571428565",
        "\"p_two_sided\": 0.48571528571428565",
        "Tables and strata",
        "Fisher's exact test: tea",
    ),
    (
        "reference/stats/06_poisson_garwood.csv",
        "0.0,2.9957322735539895",
        "0.0,2.9957422735539895",
        "Shares and rates",
        "0 events at 0.9",
    ),
    (
        "reference/stats/06_proportion_ci95.csv",
        "0.2552885198782742",
        "0.2552895198782742",
        "Shares and rates",
        "81 of 263",
    ),
    (
        "reference/stats/06_two_poisson_rates.csv",
        "12,100,10,200,2.4,",
        "12,100,10,200,2.5,",
        "Shares and rates",
        "12 in 100",
    ),
    (
        "reference/stats/07_benjamini_hochberg.csv",
        "0.0001,0.0033333333333333335,0.0015,",
        "0.0001,0.0033333333333333335,0.0016,",
        "Many comparisons",
        "Benjamini–Hochberg",
    ),
    (
        "reference/stats/08_changepoint_expected.json",
        "\"U_signed\": 1617.0",
        "\"U_signed\": 1618.0",
        "Change points",
        "nile",
    ),
    (
        "reference/stats/08_nile.csv",
        "1871,1120.0",
        "1871,1125.0",
        "Change points",
        "nile",
    ),
    (
        "reference/stats/08_no_change.csv",
        "1,58.28",
        "1,59.28",
        "Change points",
        "no_change",
    ),
    (
        "reference/stats/08_three_segments.csv",
        "1,56.81",
        "1,57.81",
        "Change points",
        "three_segments",
    ),
    (
        "reference/stats/09_scan_events.csv",
        "clustered,202.79",
        "clustered,203.79",
        "Clusters in time",
        "clustered",
    ),
    (
        "reference/stats/09_scan_expected.json",
        "\"max_count\": 7",
        "\"max_count\": 8",
        "Clusters in time",
        "clustered",
    ),
    (
        "reference/stats/10_robust.json",
        "61.37142857142857",
        "61.38142857142857",
        "Location and spread",
        "odd7",
    ),
    (
        "reference/stats/10_strd_data.csv",
        "Michelso,1,299.85",
        "Michelso,1,299.95",
        "Location and spread",
        "Michelso",
    ),
    (
        "reference/stats/10_strd_univariate.csv",
        "Michelso,100,299.8524,",
        "Michelso,100,299.8525,",
        "Location and spread",
        "Michelso",
    ),
    (
        "reference/stats/12_beta_binomial.csv",
        "0.9999270073506563",
        "0.9999280073506563",
        "Posterior probabilities",
        "7 of 60",
    ),
    (
        "decisions/bases/eo.txt",
        "09:30:00 pressure 54.0 kPa, temperature 55.0 C, concentration 690 mg/L",
        "09:30:00 pressure 54.0 kPa, temperature 55.0 C, concentration 390 mg/L",
        "Decisions: ethylene oxide",
        "",
    ),
    (
        "decisions/bases/plasma.txt",
        "pressure 51.2 Pa",
        "pressure 512 Pa",
        "Decisions: peroxide plasma",
        "",
    ),
    (
        "decisions/bases/plasma_printout.txt",
        "pressure 51.2 Pa",
        "pressure 51.3 Pa",
        "A printout, end to end",
        "checksum",
    ),
    (
        "decisions/bases/steam.txt",
        "07:53:15 pressure 3.1300 bar, temperature 135.0 C",
        "07:53:15 pressure 3.1300 bar, temperature 125.0 C",
        "Decisions: steam",
        "",
    ),
];

#[test]
fn each_reference_made_wrong_is_noticed() {
    for (file, from, to, group_name, case) in WRONG {
        let altered = References::embedded().altered(file, from, to);
        let altered = altered.unwrap_or_else(|| panic!("{file} has no {from:?}"));
        let run = group(group_name).run(&altered);
        let is_noticed = |one: &Case| !one.passes() && one.name.contains(case);
        assert!(
            run.iter().any(is_noticed),
            "{file}: {from:?} made {to:?} fails no case {case:?}; failing: {}",
            failures(&run)
        );
    }
}

/// Files of cases and bases whose answers rest on nothing outside the project, so that they are for `decisions` alone.
const NOT_PUBLISHED: &[(&str, &str)] = &[
    (
        "decisions/bases/late_clock.txt",
        "clocks that disagree are common practice, no source",
    ),
    (
        "decisions/cases/policy.txt",
        "the answers rest on the case's own policy",
    ),
];

/// Every published case of a decision, given another decision, or one rule more, fails.
#[test]
fn each_decision_with_another_answer_fails() {
    let references = References::embedded();
    let fails = |case: &written_case::WrittenCase| {
        let mut cases = Cases::default();
        let known = case.known().unwrap();
        cases.add(case.name.as_str(), case.source.as_str(), known, |run| {
            decisions::check(run, case, &references)
        });
        !cases.run[0].passes()
    };
    for name in references.names() {
        let Some(file) = name.strip_prefix("decisions/cases/") else {
            continue;
        };
        let file = file.strip_suffix(".txt").unwrap();
        let cases = written_case::read_cases(&references, file).unwrap();
        let published: Vec<_> = cases.iter().filter(|case| case.known().is_some()).collect();
        let is_listed = NOT_PUBLISHED.iter().any(|(listed, _)| *listed == name);
        assert_eq!(published.is_empty(), is_listed, "{name}");
        for case in published {
            assert!(!fails(case), "{}", case.place);
            let mut other = case.clone();
            for (key, rest) in &mut other.lines {
                if key == "decision" {
                    *rest = match rest.as_str() {
                        "release" => "hold".to_owned(),
                        _ => "release".to_owned(),
                    };
                }
            }
            assert!(fails(&other), "{}: another decision", case.place);
            let mut more = case.clone();
            let rule = "no-such-rule".to_owned();
            more.lines.push(("rules".to_owned(), rule));
            assert!(fails(&more), "{}: another rule", case.place);
        }
    }
}

fn data_files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files.extend(data_files(&path));
        } else {
            files.push(path);
        }
    }
    files
}

/// Files beside the references that hold no expected value.
const NO_DATA: &[(&str, &str)] = &[
    ("README.md", "says where the values come from"),
    ("requirements.txt", "names the libraries of recompute.py"),
    ("recompute.py", "computes the values again"),
    ("steam_saturation.py", "made the file of the same name"),
    ("zoneinfo_table.py", "made the file of the same name"),
];

#[test]
fn every_reference_file_is_used_by_a_case_that_can_fail() {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests");
    let folders = ["reference", "decisions/cases", "decisions/bases"];
    let files = folders
        .iter()
        .flat_map(|folder| data_files(&tests.join(folder)));
    let on_disk: BTreeSet<String> = files
        .filter(|path| {
            let name = path.file_name().unwrap().to_str().unwrap();
            !NO_DATA.iter().any(|(listed, _)| *listed == name)
        })
        .map(|path| {
            let below = path.strip_prefix(&tests).unwrap();
            below.to_str().unwrap().replace('\\', "/")
        })
        .collect();
    let references = References::embedded();
    let embedded: BTreeSet<String> = references.names().map(str::to_owned).collect();
    assert_eq!(on_disk, embedded);
    // Cases of decisions have the test above.
    let made_wrong: BTreeSet<&str> = WRONG
        .iter()
        .map(|(file, ..)| *file)
        .chain(NOT_PUBLISHED.iter().map(|(file, _)| *file))
        .collect();
    for name in references.names() {
        assert!(
            name.starts_with("decisions/cases/") || made_wrong.contains(name),
            "{name} is in no case that is known to fail when it is wrong"
        );
    }
}
