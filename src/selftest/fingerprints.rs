//! CRC-32, by which a printout shows that it is as it was printed, and SHA-256, by which the archive does.

use super::case::Cases;
use super::reference::References;
use crate::archive::fingerprint::Fingerprint;
use crate::judge::rulebook::Known;

/// Runs the cases.
pub fn run(_: &References, cases: &mut Cases) {
    let source = "check value of CRC-32 (ISO/IEC/IEEE 8802-3, as in gzip and zlib)";
    let name = "CRC-32 of \"123456789\"";
    cases.add(name, source, Known::Calculated, |case| {
        let found = crc32fast::hash(b"123456789");
        case.same("CRC-32", format!("{found:08X}"), "CBF43926".to_owned());
        Some(())
    });
    let source =
        "FIPS 180-4, 2015, example computations of SHA-256; recomputed by Python's hashlib";
    for (name, message, expected) in [
        (
            "SHA-256 of \"abc\"",
            "abc".to_owned(),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
        ),
        (
            "SHA-256 of a message of two blocks",
            "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq".to_owned(),
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
        ),
        (
            "SHA-256 of a million times \"a\"",
            "a".repeat(1_000_000),
            "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0",
        ),
    ] {
        cases.add(name, source, Known::Calculated, |case| {
            let found = Fingerprint::of(message.as_bytes());
            case.same("SHA-256", found.as_str(), expected);
            Some(())
        });
    }
}
