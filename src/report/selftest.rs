//! What a copy of loadbook answered to cases with known answers, as values.
//!
//! Knows nothing of how a case is run. Read [`SelftestReport`] first.

use serde::Serialize;

/// What a copy answered to every case.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SelftestReport {
    /// The version of these fields.
    pub format: u32,
    /// The version of the program.
    pub version: String,
    /// The kind of machine that it was built for.
    pub target: String,
    /// The SHA-256 of the program's file. `None` where it could not be read.
    pub sha256: Option<String>,
    /// Why it could not be read.
    pub unreadable: Option<String>,
    /// Whether every case passes.
    pub passes: bool,
    /// How many cases there are.
    pub n_cases: usize,
    /// How many of them pass.
    pub n_passed: usize,
    /// The cases by what they are about.
    pub groups: Vec<GroupRow>,
}

/// Cases about one thing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct GroupRow {
    /// What they are about.
    pub name: String,
    /// What they are held against, in short.
    pub against: String,
    /// How many there are.
    pub n_cases: usize,
    /// How many pass.
    pub n_passed: usize,
    /// The cases.
    pub cases: Vec<CaseRow>,
}

/// A case.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CaseRow {
    /// What it is.
    pub name: String,
    /// Where its expected values come from.
    pub source: String,
    /// How they are known: seen, calculated, from memory.
    pub known: String,
    /// Whether all that was compared agrees.
    pub passes: bool,
    /// What was compared.
    pub checks: Vec<CheckRow>,
}

/// One comparison.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CheckRow {
    /// What is compared.
    pub what: String,
    /// What the source says.
    pub expected: String,
    /// What this copy gives.
    pub found: String,
    /// How far they may lie apart; empty where they must be the same.
    pub within: String,
    /// Whether they lie no farther apart.
    pub agrees: bool,
}

impl GroupRow {
    /// A group from its cases.
    pub fn new(name: &str, against: &str, cases: Vec<CaseRow>) -> Self {
        GroupRow {
            name: name.to_owned(),
            against: against.to_owned(),
            n_cases: cases.len(),
            n_passed: cases.iter().filter(|case| case.passes).count(),
            cases,
        }
    }
}

impl SelftestReport {
    /// A report from its groups; `program` is the SHA-256 of the program's file, or why it could not be read.
    pub fn new(
        version: &str,
        target: &str,
        program: Result<String, String>,
        groups: Vec<GroupRow>,
    ) -> Self {
        let n_cases = groups.iter().map(|group| group.n_cases).sum();
        let n_passed = groups.iter().map(|group| group.n_passed).sum();
        let (sha256, unreadable) = match program {
            Ok(sha256) => (Some(sha256), None),
            Err(why) => (None, Some(why)),
        };
        SelftestReport {
            format: 1,
            version: version.to_owned(),
            target: target.to_owned(),
            sha256,
            unreadable,
            passes: n_cases > 0 && n_passed == n_cases,
            n_cases,
            n_passed,
            groups,
        }
    }
}
