//! What `loadbook selftest` prints of a copy that passes. That a wrong answer is told, with its exit code, is tested
//! beside the command; that each reference can fail, in `tests/selftest.rs`.

use super::{json, run, widest};
use sha2::{Digest, Sha256};

/// The SHA-256 of the program, by the library and not by the program itself.
fn sha256_of_the_program() -> String {
    let bytes = std::fs::read(env!("CARGO_BIN_EXE_loadbook")).unwrap();
    let digest = Sha256::digest(bytes);
    digest.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[test]
fn copy_that_passes_says_what_it_is_and_what_a_pass_means() {
    let run = run(&["selftest", "--width", "80"]);
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    assert!(widest(&run.out) <= 80, "{}", run.out);
    assert!(run.out.contains("SELFTEST OF LOADBOOK 0.") && run.out.contains("PASS: all "));
    let sha256 = sha256_of_the_program();
    assert!(run.out.contains(&sha256), "{sha256}\n{}", run.out);
    let built = format!(
        "Built for {} on {}.",
        std::env::consts::OS,
        std::env::consts::ARCH
    );
    assert!(run.out.contains(&built), "{built}\n{}", run.out);
    // The wording; what differs from copy to copy is left out.
    let said = run
        .out
        .replace(&sha256, &"0".repeat(64))
        .replace(&built, "Built for THIS MACHINE.")
        .replace(env!("CARGO_PKG_VERSION"), "VERSION");
    insta::assert_snapshot!(said);
}

#[test]
fn every_case_is_listed_with_its_source_and_in_json_with_its_values() {
    let all = run(&["selftest", "--all"]);
    assert_eq!(all.code, 0);
    assert!(widest(&all.out) <= 80);
    let report = json(&["selftest"]);
    assert_eq!(report["passes"], true);
    let n_cases = report["n_cases"].as_u64().unwrap();
    assert_eq!(report["n_passed"].as_u64(), Some(n_cases));
    let n_listed = all.out.lines().filter(|line| line.starts_with("pass  "));
    assert_eq!(n_listed.count() as u64, n_cases);
    for group in report["groups"].as_array().unwrap() {
        for case in group["cases"].as_array().unwrap() {
            assert!(!case["checks"].as_array().unwrap().is_empty(), "{case}");
            assert!(!case["source"].as_str().unwrap().is_empty(), "{case}");
            let known = case["known"].as_str().unwrap();
            assert!(["seen", "calculated", "from memory"].contains(&known));
        }
    }
}
