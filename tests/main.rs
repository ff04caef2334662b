//! The one integration target. Each module says what belongs there.

use proptest::prelude::ProptestConfig;
use proptest::test_runner::RngSeed;

/// The store for years: nothing is lost, nothing is there by half, and every changed byte is named.
mod archive;
/// What the commands print, and their exit codes.
mod commands;
/// Every line is in exactly one thing, whatever the bytes; nothing panics.
mod conservation;
/// Strips with one fault each, against answers written by hand.
mod damaged;
/// What the records support: cases with answers worked out by hand, and what must hold of any records.
mod decisions;
/// Tables for other programs; check.py beside it reads them with libraries that know nothing of loadbook.
mod export;
/// Strips of known truth with a fault in one line of a hundred: which wrong values nothing tells of.
mod faults;
/// What is unusual in the samples, against their answer sheet.
mod findings;
/// Inputs that fuzzing began from and found, through the properties that the fuzz targets hold.
mod fuzz_corpus;
/// The grammars and the parsers agree.
mod grammar;
/// Texts made from the ABNF, and a recogniser for it.
mod grammar_text;
/// What harms readers of files: through the program itself, with a limit on its time.
mod hostile;
/// The reports for paper and screen.
mod html;
/// Who may import whom, and what the sources may not hold.
mod layers;
/// Strips of other printers, read by layouts.
mod layouts;
/// Which lines of a file became what, for whoever holds that each is in exactly one thing.
mod line_account;
/// Recall scopes against a brute-force oracle and hand-made cases.
mod recall;
/// What the installed program checks upon itself.
mod selftest;
/// Many departments side by side.
mod sites;
/// The statistics and what is published of them.
mod stats;
/// The same is read whatever the number of threads.
mod threads;

/// The settings of a property test: so many cases from a fixed seed, so that every run tests the same. Another seed can
/// be had with `PROPTEST_RNG_SEED`.
fn proptest_settings(n_cases: u32) -> ProptestConfig {
    let from_environment = ProptestConfig::default();
    ProptestConfig {
        cases: n_cases,
        failure_persistence: None,
        rng_seed: match from_environment.rng_seed {
            RngSeed::Random => RngSeed::Fixed(20_260_312),
            chosen => chosen,
        },
        ..from_environment
    }
}
