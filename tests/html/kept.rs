use super::{ROOT, report};
use std::path::Path;

/// The reports under `reports/`, each with the command that makes it. `reports/README.md` names the same commands.
pub(crate) const KEPT: &[(&str, &[&str])] = &[
    ("review.html", &["review", "samples/fennmarsh"]),
    (
        "investigation.html",
        &["investigation", "PL-1:1433", "samples/fennmarsh"],
    ),
    (
        "monthly.html",
        &["monthly", "samples/fennmarsh", "--month", "2026-03"],
    ),
    (
        "service.html",
        &["service", "samples/fennmarsh", "--unit", "PL-2"],
    ),
];

#[test]
fn reports_that_are_kept_are_those_that_the_commands_write() {
    let readme =
        std::fs::read_to_string(Path::new(ROOT).join("reports/README.md")).expect("the README");
    for (name, args) in KEPT {
        let written = report(args);
        let path = Path::new(ROOT).join("reports").join(name);
        if std::env::var_os("KEEP_REPORTS").is_some() {
            std::fs::write(&path, &*written).expect("the folder can be written");
        }
        let kept = std::fs::read_to_string(&path).expect("the report is there");
        assert!(
            *kept == *written,
            "reports/{name} is not what the command writes: run KEEP_REPORTS=1 cargo test kept"
        );
        let command = format!("loadbook report {} -o reports/{name}", args.join(" "));
        assert!(
            readme.contains(&command),
            "reports/README.md lacks `{command}`"
        );
    }
}
