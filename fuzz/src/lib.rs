//! The modules of loadbook that read, mounted without those that need polars, whose build takes longer than the fuzzing.

#![forbid(unsafe_code)]

#[path = "../../src/diagnose/mod.rs"]
pub mod diagnose;
#[path = "../../src/measure/mod.rs"]
pub mod measure;
#[path = "../../src/parallel.rs"]
pub mod parallel;
#[path = "../../src/source/mod.rs"]
pub mod source;
#[path = "../../src/record/mod.rs"]
pub mod record;
#[path = "../../src/parse/mod.rs"]
pub mod parse;
#[path = "../../src/reconcile/mod.rs"]
pub mod reconcile;
#[path = "../../src/judge/mod.rs"]
pub mod judge;

/// The manifest alone: what the archive keeps beside it needs polars.
#[path = "../../src/archive"]
pub mod archive {
    pub mod event;
    pub mod fault;
    pub mod fingerprint;
    pub mod manifest;
    pub mod part;
    pub mod reading;
}
