//! A SHA-256 in hexadecimal, which names an object and ties the manifest's lines together.

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::fmt;

/// A SHA-256 (FIPS 180-4) as 64 digits in lower case. Nothing else can be one, so that a damaged manifest never names a
/// path outside the archive.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Fingerprint(String);

impl Fingerprint {
    /// That of bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self::of_hash(Sha256::new_with_prefix(bytes))
    }

    /// That of all that a hash was given.
    pub fn of_hash(hash: Sha256) -> Self {
        let digest = hash.finalize();
        Fingerprint(digest.iter().map(|byte| format!("{byte:02x}")).collect())
    }

    /// Reads one as it is written; digits in upper case are taken as well.
    pub fn read(text: &str) -> Option<Self> {
        let text = text.trim().to_ascii_lowercase();
        let is_one = text.len() == 64 && text.bytes().all(|byte| byte.is_ascii_hexdigit());
        is_one.then_some(Fingerprint(text))
    }

    /// What stands before the first line of a manifest.
    pub fn zero() -> Self {
        Fingerprint("0".repeat(64))
    }

    /// All its digits.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// Its first digits, enough to tell it from others on a screen.
    pub fn short(&self) -> &str {
        self.0.get(..12).unwrap_or(&self.0)
    }
}

impl TryFrom<String> for Fingerprint {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        match Fingerprint::read(&text) {
            Some(read) if read.0 == text => Ok(read),
            _ => Err("a SHA-256 has 64 hexadecimal digits".to_owned()),
        }
    }
}

impl From<Fingerprint> for String {
    fn from(fingerprint: Fingerprint) -> String {
        fingerprint.0
    }
}

impl fmt::Display for Fingerprint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_but_64_digits_is_one() {
        for text in [
            "",
            "ab",
            "../../../../etc/passwd",
            &"g".repeat(64),
            &"a".repeat(65),
        ] {
            assert_eq!(Fingerprint::read(text), None, "{text}");
            assert!(Fingerprint::try_from(text.to_owned()).is_err(), "{text}");
        }
        // In a file, only the form that is written there counts, so that every line has one form.
        assert!(Fingerprint::try_from("A".repeat(64)).is_err());
        assert!(Fingerprint::read(&"A".repeat(64)).is_some());
    }
}
