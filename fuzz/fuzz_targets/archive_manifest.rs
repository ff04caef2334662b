#![no_main]

#[path = "../../tests/line_account.rs"]
#[allow(dead_code, reason = "each target uses a part of it")]
mod line_account;
#[path = "../properties.rs"]
#[allow(dead_code, reason = "each target uses one of the properties")]
mod properties;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| properties::manifest_is_whole_or_its_damage_is_named(bytes));
