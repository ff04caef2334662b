//! Parts of tables: what the archive knows of them, and where they lie.
//!
//! A part is the bytes of one file that others query: the rows of one table that belong to one unit and month, or to one
//! month, or to the site. What the bytes are, the archive does not know. Where they lie says what they are of, in the way
//! that Hive began and every engine reads: `cycles/site=fennmarsh/unit=PL-1/month=2026-03`. Read [`PartFolder::of`] first.

use super::fingerprint::Fingerprint;
use serde::{Deserialize, Serialize};

/// The folder of what is made from the originals and can be made again.
pub const TABLES: &str = "tables";
/// The value that stands for none, by which every engine knows a null.
const NONE: &str = "__HIVE_DEFAULT_PARTITION__";
/// The most bytes of a value in a folder's name: no file system takes more than 255 for a name.
const LONGEST_VALUE: usize = 180;
/// So many digits of its SHA-256 name a part.
const DIGITS: usize = 32;
/// The ending of a part's file.
const ENDING: &str = ".parquet";

/// The folder of a part, below [`TABLES`]: the table, then `key=value` for each key. Nothing else can be one, so that no
/// manifest names a path outside of the archive.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct PartFolder(String);

impl PartFolder {
    /// The folder of a table's rows that have these values; a key without a value is none.
    ///
    /// Whatever a value holds, it is one name of a folder: what could act there is written as `%` and two digits for each
    /// of its bytes (RFC 3986, 2.1), which readers turn back. A longer one than a file system takes is cut, and told apart
    /// by the SHA-256 of the whole.
    pub fn of(table: &str, keys: &[(&str, Option<&str>)]) -> Self {
        let mut folder = escape(table);
        for (key, value) in keys {
            folder.push('/');
            folder.push_str(&escape(key));
            folder.push('=');
            match value.filter(|value| !value.is_empty()) {
                None => folder.push_str(NONE),
                // A value that looks like none is not none.
                Some(NONE) => folder.push_str(&NONE.replacen('_', "%5F", 1)),
                Some(value) => folder.push_str(&escape(value)),
            }
        }
        PartFolder(folder)
    }

    /// As it is written, with `/` between folders.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// Reads one as it is written.
    fn read(text: &str) -> Option<Self> {
        let mut names = text.split('/');
        let is_name = |name: &str| !name.is_empty() && name.chars().all(is_written);
        let has_table = names.next().is_some_and(is_name);
        let mut keys = names.map(|name| name.split_once('='));
        let all_are_keys = keys.all(|key| {
            key.is_some_and(|(key, value)| is_name(key) && is_name(value) && value.len() <= 255)
        });
        (has_table && all_are_keys).then(|| PartFolder(text.to_owned()))
    }
}

impl TryFrom<String> for PartFolder {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        PartFolder::read(&text).ok_or_else(|| "no folder of a part is written so".to_owned())
    }
}

impl From<PartFolder> for String {
    fn from(folder: PartFolder) -> String {
        folder.0
    }
}

/// Whether a character stands for itself. A point does not: it would lead upwards, or be lost at a name's end.
fn is_plain(c: char) -> bool {
    c.is_alphanumeric() || c == '-' || c == '_'
}

/// Whether a character can stand in a folder's name as it is written.
fn is_written(c: char) -> bool {
    is_plain(c) || c == '%' || c == '~'
}

fn escape(text: &str) -> String {
    let mut escaped = String::new();
    for c in text.chars() {
        let whole = match is_plain(c) {
            true => c.to_string(),
            false => {
                let mut bytes = [0; 4];
                let bytes = c.encode_utf8(&mut bytes).as_bytes();
                bytes.iter().map(|byte| format!("%{byte:02X}")).collect()
            }
        };
        if escaped.len().saturating_add(whole.len()) > LONGEST_VALUE {
            let of_all = Fingerprint::of(text.as_bytes());
            return format!("{escaped}~{}", of_all.short());
        }
        escaped.push_str(&whole);
    }
    escaped
}

/// A part of a table.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Part {
    /// Where it lies.
    pub folder: PartFolder,
    /// The SHA-256 of its bytes, which names its file.
    pub sha256: Fingerprint,
    /// Their number.
    pub n_bytes: u64,
    /// The number of its rows.
    pub n_rows: u64,
}

impl Part {
    /// Where its file lies, below the archive's folder.
    pub fn name(&self) -> String {
        let digits = self.sha256.as_str().get(..DIGITS).unwrap_or_default();
        format!("{TABLES}/{}/{digits}{ENDING}", self.folder.as_str())
    }
}

/// Whether a file is named as parts are: one that no line of the manifest names may be removed.
pub(super) fn is_part_name(name: &str) -> bool {
    name.strip_suffix(ENDING).is_some_and(|digits| {
        digits.len() == DIGITS && digits.bytes().all(|byte| byte.is_ascii_hexdigit())
    })
}

/// What the tables were made from, and how.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TablesOrigin {
    /// The name of the site, inert.
    pub site: String,
    /// The last line of the manifest, at that time, that says what is read.
    pub from_line: u64,
    /// The version of loadbook that made them.
    pub loadbook: String,
    /// The version of its parsers.
    pub parser: u32,
    /// By what loads were judged.
    pub policy: PolicyMark,
    /// The zone of clocks for which the records name none, if one was told.
    pub zone: Option<String>,
}

/// By what loads were judged.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PolicyMark {
    /// Its name; of several that follow one another, all.
    pub name: String,
    /// Where it comes from.
    pub from: PolicyOrigin,
    /// The SHA-256 of all that it says.
    pub sha256: Fingerprint,
}

/// Where a policy comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PolicyOrigin {
    /// It comes with loadbook.
    Preset,
    /// A file.
    File,
}

/// The tables were brought up to date.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TablesMade {
    /// From what, and how.
    #[serde(flatten)]
    pub origin: TablesOrigin,
    /// Parts that are new, each in place of the one that its folder had.
    pub added: Vec<Part>,
    /// Folders that have no part any more.
    pub removed: Vec<PartFolder>,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Names of units that a strip could hold, to mislead.
    const HOSTILE: &[&str] = &[
        "..",
        ".",
        "../../etc/passwd",
        "a/b",
        "a\\b",
        "a=b",
        "unit=x",
        "a%2Fb",
        "C:",
        "con.",
        " ",
        "a\u{0}b",
        "a\u{202e}b",
        "a\nb",
        "*?[]{}<>|\"'",
        "~x",
        "__HIVE_DEFAULT_PARTITION__",
        "Autoklav Süd",
        "減菌器",
    ];

    fn unescape(text: &str) -> String {
        let mut bytes = Vec::new();
        let mut rest = text.as_bytes();
        while let Some((&first, after)) = rest.split_first() {
            if first == b'%' {
                let digits = std::str::from_utf8(&after[..2]).unwrap();
                bytes.push(u8::from_str_radix(digits, 16).unwrap());
                rest = &after[2..];
            } else {
                bytes.push(first);
                rest = after;
            }
        }
        String::from_utf8(bytes).unwrap()
    }

    #[test]
    fn whatever_a_unit_is_called_its_folder_is_one_name_and_says_that() {
        for name in HOSTILE {
            let keys = [("site", Some("fennmarsh")), ("unit", Some(*name))];
            let folder = PartFolder::of("cycles", &keys);
            let value = folder
                .as_str()
                .strip_prefix("cycles/site=fennmarsh/unit=")
                .unwrap();
            let active = ['/', '\\', '=', '.', ':', '*', '\0', '\n', '\u{202e}', '<'];
            assert!(!value.contains(active), "{value}");
            assert_ne!(value, NONE);
            assert_eq!(unescape(value), *name);
            assert_eq!(
                PartFolder::read(folder.as_str()).as_ref(),
                Some(&folder),
                "{name}"
            );
        }
    }

    #[test]
    fn none_is_written_as_engines_know_it() {
        let keys = [("site", Some("a")), ("unit", None), ("month", Some(""))];
        assert_eq!(
            PartFolder::of("cycles", &keys).as_str(),
            "cycles/site=a/unit=__HIVE_DEFAULT_PARTITION__/month=__HIVE_DEFAULT_PARTITION__"
        );
    }

    #[test]
    fn a_name_that_no_file_system_takes_is_cut_and_still_its_own() {
        let [one, other] = ["x", "y"].map(|end| "Ä".repeat(4000) + end);
        let [one, other] = [&one, &other].map(|unit| PartFolder::of("t", &[("unit", Some(unit))]));
        assert_ne!(one, other);
        for folder in [one, other] {
            assert!(folder.as_str().split('/').all(|name| name.len() <= 255));
            assert!(PartFolder::read(folder.as_str()).is_some());
        }
    }

    #[test]
    fn nothing_else_is_a_folder_of_a_part() {
        for text in [
            "",
            "/",
            "..",
            "../x=y",
            "cycles/..",
            "cycles/site=..",
            "cycles/site=a/../../x=y",
            "cycles//site=a",
            "cycles/site=",
            "cycles/=a",
            "cycles/site=a=b",
            "/cycles/site=a",
            "C:/site=a",
            "cycles/site=a\\b",
        ] {
            assert_eq!(PartFolder::read(text), None, "{text}");
            assert!(PartFolder::try_from(text.to_owned()).is_err(), "{text}");
        }
        assert!(PartFolder::read("inputs/site=a").is_some());
    }
}
