//! What this copy answers to cases whose answers are published, calculated by other programs, or worked out by hand.
//!
//! The cases are data: their expected values stand in [`reference::References`], embedded, so that the installed program
//! needs nothing else. None of them is this program's own output. A [`Group`] is what a person checks in one go; one
//! file each. Read [`case::Case`] first, then [`charts`].

pub mod case;
pub mod changes;
pub mod charts;
pub mod dates;
pub mod decisions;
pub mod element_strings;
pub mod fingerprints;
pub mod lethality;
pub mod posterior;
pub mod printout;
pub mod rates;
pub mod reference;
pub mod robust;
pub mod run_rules;
pub mod scans;
pub mod several;
pub mod steam;
pub mod tables;
pub mod trends;
pub mod units;
pub mod written_case;

use case::{Case, Cases};
use reference::References;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Cases about one thing.
#[derive(Debug, Clone, Copy)]
pub struct Group {
    /// What they are about.
    pub name: &'static str,
    /// What they are held against, in short; each case names its source in full.
    pub against: &'static str,
    run: fn(&References, &mut Cases),
}

impl Group {
    /// Runs its cases. Were there none, or did the program stop between them, that would be one that fails.
    pub fn run(&self, references: &References) -> Vec<Case> {
        let mut cases = Cases::default();
        let ended = catch_unwind(AssertUnwindSafe(|| (self.run)(references, &mut cases)));
        if ended.is_err() || cases.run.is_empty() {
            let known = crate::judge::rulebook::Known::Calculated;
            cases.add(self.name, self.against, known, |_| None);
        }
        cases.run
    }
}

const CLAUSES: &str = "published clauses, worked by hand";

/// Every group, in the order in which they are told: what decides on loads first.
pub const GROUPS: &[Group] = &[
    Group {
        name: "A printout, end to end",
        against: "its text read by hand; Python's zlib",
        run: printout::run,
    },
    Group {
        name: "Decisions: biological indicators",
        against: CLAUSES,
        run: |references, cases| decisions::run("biological", references, cases),
    },
    Group {
        name: "Decisions: chemical indicators",
        against: CLAUSES,
        run: |references, cases| decisions::run("chemical", references, cases),
    },
    Group {
        name: "Decisions: steam",
        against: CLAUSES,
        run: |references, cases| decisions::run("steam", references, cases),
    },
    Group {
        name: "Decisions: peroxide plasma",
        against: CLAUSES,
        run: |references, cases| decisions::run("plasma", references, cases),
    },
    Group {
        name: "Decisions: ethylene oxide",
        against: CLAUSES,
        run: |references, cases| decisions::run("eo", references, cases),
    },
    Group {
        name: "Decisions: stages and limits",
        against: CLAUSES,
        run: |references, cases| decisions::run("stages", references, cases),
    },
    Group {
        name: "Decisions: lots and people",
        against: CLAUSES,
        run: |references, cases| {
            decisions::run("lots", references, cases);
            decisions::run("people", references, cases);
        },
    },
    Group {
        name: "Decisions: printouts, times",
        against: CLAUSES,
        run: |references, cases| {
            decisions::run("printout", references, cases);
            decisions::run("time", references, cases);
        },
    },
    Group {
        name: "Saturated steam",
        against: "IAPWS R7-97(2012); library iapws",
        run: steam::run,
    },
    Group {
        name: "F0",
        against: "formula of USP and Ph. Eur.; NumPy",
        run: lethality::run,
    },
    Group {
        name: "Units of measure",
        against: "NIST SP 811, 2008",
        run: units::run,
    },
    Group {
        name: "Dates, times and zones",
        against: "RFC 3339; Python's zoneinfo",
        run: dates::run,
    },
    Group {
        name: "GS1 element strings",
        against: "GS1 General Specifications",
        run: element_strings::run,
    },
    Group {
        name: "CRC-32 and SHA-256",
        against: "ISO/IEC/IEEE 8802-3; FIPS 180-4",
        run: fingerprints::run,
    },
    Group {
        name: "Control charts",
        against: "NIST/SEMATECH e-Handbook; scipy",
        run: charts::run,
    },
    Group {
        name: "Run rules",
        against: "Nelson 1984; Western Electric 1956",
        run: run_rules::run,
    },
    Group {
        name: "Trends",
        against: "pymannkendall; scipy",
        run: trends::run,
    },
    Group {
        name: "Change points",
        against: "Cobb 1978; ruptures; scipy",
        run: changes::run,
    },
    Group {
        name: "Clusters in time",
        against: "NumPy, 200 000 replicates",
        run: scans::run,
    },
    Group {
        name: "Tables and strata",
        against: "R and SAS examples; statsmodels",
        run: tables::run,
    },
    Group {
        name: "Shares and rates",
        against: "Newcombe 1998; scipy; statsmodels",
        run: rates::run,
    },
    Group {
        name: "Posterior probabilities",
        against: "scipy; mpmath",
        run: posterior::run,
    },
    Group {
        name: "Many comparisons",
        against: "Benjamini and Hochberg 1995",
        run: several::run,
    },
    Group {
        name: "Location and spread",
        against: "NIST StRD; scipy",
        run: robust::run,
    },
];
