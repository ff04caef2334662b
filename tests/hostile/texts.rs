//! What a strip or a log says, to harm whoever reads the reports.

use super::{HEALTHY, READING, assert_inert, folder_of, path_of, run, run_all, run_upon};
use std::ffi::OsStr;
use std::process::Stdio;

/// Texts that steer something somewhere: a terminal, a browser, a spreadsheet, a shell, a template, the reader's eye.
const HOSTILE: &[&str] = &[
    "\u{1b}[31mred\u{1b}[0m",
    "\u{1b}]0;title\u{7}",
    "\u{1b}]8;;http://example.invalid\u{7}link\u{1b}]8;;\u{7}",
    "\u{9b}31m",
    "a\u{8}\u{8}b",
    "<script>alert(1)</script>",
    "\"><img/src=x/onerror=alert(1)>",
    "&lt;b&gt;",
    "=cmd|'/C_calc'!A0",
    "@SUM(1+1)",
    "\u{202e}10-2130-1P",
    "\u{2066}x\u{2069}",
    "{{7*7}}",
    "../../../etc/passwd",
    "$(reboot)`reboot`",
    "a\u{0}b",
    "\u{feff}\u{200b}x",
];

/// Strip and log with a hostile text wherever free text or a name can stand.
fn hostile_records(text: &str) -> (String, String) {
    let name: String = text.chars().filter(|c| !" ,\":;".contains(*c)).collect();
    let strip = HEALTHY
        .replace(
            "unit: PL-1\n",
            &format!("unit: PL-1\nserial: {text}\nsoftware: {text}\nplace: {text}\n"),
        )
        .replace("program: standard", &format!("program: {text}"))
        .replace("P1-0312-01", &name)
        .replace("operator: HB", &format!("operator: {name}"))
        .replace(
            "ended:",
            &format!("event: 08:00:00, {text}\nalarm: 08:00:01, {name}, {text}\nended:"),
        )
        .replace(
            "outcome: completed",
            &format!("outcome: aborted, stage {name}, cause {name}"),
        );
    let log = format!(
        "loadbook log 1\ndate: 2026-03-12\n07:35 load: {name}, unit PL-1, counter 1042, by {name}, note \"{text}\"\n\
         07:36 content: {name}, set {text}, items 3, implant no\n08:00 remark: {text}\n{text}\n"
    );
    (strip, log)
}

#[test]
fn text_of_a_strip_or_log_steers_nothing() {
    for text in HOSTILE {
        let (strip, log) = hostile_records(text);
        let folder = folder_of(&[("strip.txt", strip.as_bytes()), ("log.txt", log.as_bytes())]);
        for run in run_all(folder.path()) {
            assert_inert(&run);
            let said = run.said();
            if run.args.contains(&"report".into()) {
                assert!(
                    !said.contains("<script>alert") && !said.contains("<img"),
                    "{said}"
                );
            }
        }
    }
}

#[test]
fn formulas_do_not_reach_a_spreadsheet() {
    for text in ["=1+1", "+1+1", "-1+1", "@SUM(1)", "\u{ff1d}1+1"] {
        let (strip, log) = hostile_records(text);
        let folder = folder_of(&[("strip.txt", strip.as_bytes()), ("log.txt", log.as_bytes())]);
        let run = run_upon(
            &["export", "PATH", "--as", "csv", "-o", "OUT"],
            folder.path(),
        );
        let said = String::from_utf8(run.out).unwrap();
        // OWASP, "CSV Injection": a cell that begins with one of these signs is a formula.
        assert!(
            said.contains(&format!("'{text}")),
            "{text} is exported, and as text"
        );
        assert!(!said.contains(&format!(",{text}")), "{text}");
        assert!(!said.contains(&format!("\n{text}")), "{text}");
        assert!(!said.contains(&format!("\"{text}")), "{text}");
    }
}

#[test]
fn load_numbers_that_only_look_alike_are_not_joined_and_are_told() {
    // Cyrillic ER, Greek capital RHO, full-width P, a zero-width space, a right-to-left override, an en dash.
    for number in [
        "\u{420}1-0312-01",
        "\u{3a1}1-0312-01",
        "\u{ff30}1-0312-01",
        "P1-0312-0\u{200b}1",
        "\u{202e}P1-0312-01",
        "P1\u{2013}0312-01",
    ] {
        let log = format!(
            "loadbook log 1\ndate: 2026-03-12\n07:35 load: {number}, unit PL-1, counter 1042, by HB\n\
             08:25 ci: {number}, position external, type 1, endpoint reached, by HB\n"
        );
        let folder = folder_of(&[
            ("strip.txt", HEALTHY.as_bytes()),
            ("log.txt", log.as_bytes()),
        ]);
        let run = run_upon(
            &["release", "PATH", "--all", "--format", "json"],
            folder.path(),
        );
        assert_inert(&run);
        let report: serde_json::Value = serde_json::from_slice(&run.out).unwrap();
        let loads = report["counts"].as_array().unwrap();
        let n = |decision: &str| {
            loads
                .iter()
                .find(|row| row["decision"] == decision)
                .unwrap()["n_loads"]
                .clone()
        };
        // Two loads, one on the strip and one in the log, and neither has what it needs.
        assert_eq!(
            (n("release"), n("hold")),
            (0.into(), 2.into()),
            "{number:?}"
        );
        let review = run_upon(&["read", "PATH", "--all"], folder.path());
        assert_inert(&review);
        let json = run_upon(&["review", "PATH", "--format", "json"], folder.path()).said();
        assert!(json.contains("near-miss"), "{number:?}: {json}");
    }
}

#[test]
fn dates_from_year_0_to_9999_are_read_or_refused_and_never_wrap() {
    for year in [
        "0000", "0001", "0226", "1582", "1899", "1900", "1969", "1970", "2000", "2038", "2099",
        "2100", "9999",
    ] {
        let strip = HEALTHY.replace("2026-03-12", &format!("{year}-03-12"));
        let log = format!(
            "loadbook log 1\ndate: {year}-03-12\n07:35 load: P1-0312-01, unit PL-1, counter 1042, by HB\n"
        );
        let folder = folder_of(&[("strip.txt", strip.as_bytes()), ("log.txt", log.as_bytes())]);
        run_all(folder.path()).iter().for_each(assert_inert);
        let read = run_upon(&["read", "PATH", "--all"], folder.path());
        // The rule `year` of grammars/cycle-printout.abnf: 1900 to 2099.
        let is_refused = read.said().contains("date-invalid");
        assert_eq!(
            is_refused,
            !("1900".."2100").contains(&year),
            "{year}: {}",
            read.said()
        );
    }
    for time in [
        "24:00:00", "23:59:60", "99:99:99", "00:00:00", "-1:00:00", "7:4:2",
    ] {
        let strip = HEALTHY.replace("07:42:30", time);
        let folder = folder_of(&[("strip.txt", strip.as_bytes())]);
        run_all(folder.path()).iter().for_each(assert_inert);
    }
}

#[test]
fn numbers_at_the_edges_of_a_double_are_refused_and_told() {
    let long = "9".repeat(400);
    let small = format!("0.{}1", "0".repeat(400));
    for number in [
        "1e308",
        "-1e308",
        "1e-320",
        "NaN",
        "nan",
        "inf",
        "-inf",
        "Infinity",
        "0x1p3",
        long.as_str(),
        small.as_str(),
        "1.7976931348623157",
        "-0",
        "00000000000000000000001",
        "1..2",
        "1.2.3",
        ".",
        "-",
        "--1",
        "+1",
        "\u{0663}\u{0664}",
    ] {
        let strip = HEALTHY
            .replace("pressure 8124.0 Pa", &format!("pressure {number} Pa"))
            .replace(
                "limit pressure 53 Pa",
                &format!("limit pressure {number} Pa"),
            )
            .replace("counter: 1042", &format!("counter: {number}"))
            .replace("readings 3", &format!("readings {number}"));
        let folder = folder_of(&[("strip.txt", strip.as_bytes())]);
        for run in run_all(folder.path()) {
            assert_inert(&run);
            let said = run.said();
            assert!(!said.contains("NaN") || number == "NaN", "{number}: {said}");
        }
        let read = run_upon(&["read", "PATH", "--all"], folder.path());
        assert_ne!(read.code, 0, "{number}: {}", read.said());
    }
}

#[test]
fn policies_and_layouts_of_any_text_are_refused_and_steer_nothing() {
    let deep = format!("a = {}1{}", "[".repeat(100_000), "]".repeat(100_000));
    let dotted = format!("a{} = 1", ".a".repeat(100_000));
    let many = "x = \"\u{1b}[31m\u{202e}\"\n".repeat(3_000);
    for text in [
        "",
        "\u{0}",
        "\u{1b}]0;x\u{7} = 1",
        "name = \"\u{202e}<script>\"",
        "[rules]\n\"\\u001b[31m\" = 1e400",
        "priority = 99999999999999999999",
        "x = nan\ny = inf\nz = 0001-01-01",
        deep.as_str(),
        dotted.as_str(),
        many.as_str(),
    ] {
        let folder = folder_of(&[
            ("hostile.toml", text.as_bytes()),
            ("strip.txt", HEALTHY.as_bytes()),
        ]);
        let toml = path_of(&folder, "hostile.toml");
        let strip = path_of(&folder, "strip.txt");
        for args in [
            &[OsStr::new("policy"), OsStr::new("check"), toml.as_os_str()][..],
            &[OsStr::new("layout"), OsStr::new("check"), toml.as_os_str()],
            &[
                OsStr::new("release"),
                strip.as_os_str(),
                OsStr::new("--policy"),
                toml.as_os_str(),
            ],
            &[
                OsStr::new("convert"),
                OsStr::new("--layout"),
                toml.as_os_str(),
                strip.as_os_str(),
            ],
        ] {
            let run = run(args, Stdio::null());
            assert_inert(&run);
            assert_ne!(run.code, 0, "{args:?} {}", run.said());
        }
    }
}

#[test]
fn hostile_texts_and_names_of_departments_steer_nothing() {
    for text in HOSTILE {
        let (strip, log) = hostile_records(text);
        let folder = folder_of(&[]);
        // A folder's name holds all but a slash and a NUL.
        let name = text.replace(['/', '\0'], "-");
        for site in [name.as_str(), "plain"] {
            let site = folder.path().join(site);
            std::fs::create_dir(&site).unwrap();
            std::fs::write(site.join("strip.txt"), &strip).unwrap();
            std::fs::write(site.join("log.txt"), &log).unwrap();
        }
        for format in ["text", "json"] {
            let args = [
                OsStr::new("sites"),
                folder.path().as_os_str(),
                OsStr::new("--format"),
                OsStr::new(format),
            ];
            let run = run(&args, Stdio::null());
            assert_inert(&run);
            assert!(run.said().contains("plain"), "{text:?} {}", run.said());
        }
    }
}

#[test]
fn every_reading_command_is_in_the_list() {
    // The names that `loadbook --help` shows, but for those that read no records. `archive` gathers as the others do; it has
    // a test of its own in `files`, and `sites`, which takes a folder of folders, above.
    let help = run(&[OsStr::new("--help")], Stdio::null()).said();
    let others = [
        "policy",
        "layout",
        "archive",
        "sites",
        "selftest",
        "simulate",
        "completions",
        "man",
        "help",
    ];
    let commands = help
        .lines()
        .skip_while(|line| !line.starts_with("Commands:"))
        .skip(1);
    for line in commands.take_while(|line| !line.is_empty()) {
        let name = line.split_whitespace().next().unwrap();
        let is_there = READING.iter().any(|command| command[0] == name);
        // A wrapped description goes on further in.
        let is_name = line.starts_with("  ") && !line.starts_with("   ");
        assert!(!is_name || is_there || others.contains(&name), "{name}");
    }
}

#[test]
fn remark_without_words_is_told_and_unread() {
    for log in [
        "loadbook log 1,date,time,about,by,note\nremark,2026-03-12,08:26,,HB,\n",
        "loadbook log 1\n2026-03-12 08:26 remark:\n",
    ] {
        let folder = folder_of(&[("log.csv", log.as_bytes())]);
        let read = run_upon(&["read", "PATH", "--format", "json"], folder.path());
        let report: serde_json::Value = serde_json::from_slice(&read.out).unwrap();
        assert_eq!(report["total"]["n_entries"], 0, "{log}");
        assert_eq!(report["total"]["n_unread_lines"], 1, "{log}");
        let told = run_upon(&["read", "PATH", "--all"], folder.path());
        let codes = ["value-missing", "line-cut"];
        assert!(codes.iter().any(|code| told.says(code)), "{}", told.said());
    }
}

#[test]
fn words_of_spaces_alone_are_told_and_name_nothing() {
    // A tab and the separator of elements within a scan become spaces in words.
    for blank in [
        "\"\"",
        "\" \"",
        "\"\t\"",
        "\"\u{1d}\"",
        "\u{a0}",
        "\"\u{2003}\u{a0}\"",
    ] {
        for entry in [
            "content: P4, set BLANK",
            "content: P4, packaging BLANK",
            "content: P4, to BLANK",
            "load: P4, unit PL-1, program BLANK",
            "ci: P4, position internal, set BLANK",
            "release: P4, note BLANK",
        ] {
            let log = format!("loadbook log 1\n2026-03-12 08:26 {entry}\n");
            let log = log.replace("BLANK", blank);
            let folder = folder_of(&[("log.txt", log.as_bytes())]);
            let read = run_upon(&["read", "PATH", "--format", "json"], folder.path());
            let report: serde_json::Value = serde_json::from_slice(&read.out).unwrap();
            assert_eq!(report["total"]["n_entries"], 0, "{log}");
            assert_eq!(report["total"]["n_unread_lines"], 1, "{log}");
            let told = run_upon(&["read", "PATH", "--all"], folder.path());
            assert!(told.says("value-missing"), "{}", told.said());
        }
    }
    // In a spreadsheet such a cell is one that nobody filled in.
    for blank in ["", " ", "\" \"", "\u{1d}", "\u{a0}", "\"\u{2003}\u{a0}\""] {
        let log = format!(
            "loadbook log 1,date,time,about,place,set\ncontent,2026-03-12,08:26,P4,{blank},{blank}\n"
        );
        let folder = folder_of(&[("log.csv", log.as_bytes())]);
        let read = run_upon(&["convert", "PATH"], folder.path());
        let line = "\n08:26 content: P4\n";
        assert!(read.said().contains(line), "{}", read.said());
        assert!(!read.says("place:"), "{}", read.said());
    }
}

#[test]
fn patient_data_as_a_place_of_a_spreadsheet_is_withheld() {
    let log = "loadbook log 1,date,time,about,place,by\nrelease,2026-03-12,08:26,P4,MRN 4711,HB\n";
    let folder = folder_of(&[("log.csv", log.as_bytes())]);
    let told = run_upon(&["read", "PATH", "--all"], folder.path());
    assert!(told.says("patient-data"), "{}", told.said());
    assert!(!told.says("4711"), "{}", told.said());
}
