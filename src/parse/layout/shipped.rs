//! The layouts that come with loadbook, for invented printers. Each stands in grammars/layouts/ with its samples in
//! samples/layouts/. Read [`shipped`] first.

use super::compile::{Layout, ScanRepair, compile_for};
use super::language::LayoutText;
use std::sync::{Arc, LazyLock};

macro_rules! texts {
    ($($name:literal)*) => {
        /// The names and texts of the shipped layouts.
        pub const TEXTS: &[(&str, &str)] = &[$((
            $name,
            include_str!(concat!("../../../grammars/layouts/", $name, ".toml")),
        ),)*];
    };
}

texts! {
    "steam-24-column"
    "plasma-40-column"
    "eo-wide-report"
    "steam-german"
    "steam-fahrenheit"
    "plasma-time-only"
    "logger-semicolon"
    "steam-paged"
}

/// The shipped layouts, compiled once.
pub fn shipped() -> &'static [Arc<Layout>] {
    static SHIPPED: LazyLock<Vec<Arc<Layout>>> = LazyLock::new(|| compile_all(ScanRepair::Leave));
    &SHIPPED
}

/// The shipped layouts for strips that were scanned, compiled once.
pub fn shipped_for_scans() -> &'static [Arc<Layout>] {
    static SHIPPED: LazyLock<Vec<Arc<Layout>>> = LazyLock::new(|| compile_all(ScanRepair::Repair));
    &SHIPPED
}

fn compile_all(scan: ScanRepair) -> Vec<Arc<Layout>> {
    let texts = TEXTS.iter().filter_map(|(name, _)| shipped_text(name));
    // A test holds that every one of them compiles.
    texts
        .filter_map(|text| compile_for(text, &shipped_text, scan).ok())
        .map(Arc::new)
        .collect()
}

/// The text of a shipped layout.
pub fn shipped_text(name: &str) -> Option<LayoutText> {
    let (name, text) = TEXTS.iter().find(|(known, _)| *known == name)?;
    Some(LayoutText {
        name: (*name).to_owned(),
        text: (*text).to_owned(),
    })
}
