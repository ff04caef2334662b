//! The account of lines: each line of a file is in exactly one thing. Shared by the tests and by the fuzz targets, which
//! take this file by its path.

use loadbook::parse::Records;
use loadbook::record::line_set::LineSet;
use std::collections::BTreeMap;

/// How many lines bytes have. UTF-16 is known by its byte order mark.
pub fn count_lines(bytes: &[u8]) -> u32 {
    let is_end: fn(&[u8]) -> bool = match bytes {
        [0xFF, 0xFE, ..] => |unit| unit == [b'\n', 0],
        [0xFE, 0xFF, ..] => |unit| unit == [0, b'\n'],
        _ => |unit| unit == [b'\n'],
    };
    let width = if matches!(bytes, [0xFF, 0xFE, ..] | [0xFE, 0xFF, ..]) {
        2
    } else {
        1
    };
    let units: Vec<&[u8]> = bytes.chunks(width).collect();
    let n_ends = units.iter().filter(|unit| is_end(unit)).count();
    let has_rest = units.last().is_some_and(|unit| !is_end(unit));
    u32::try_from(n_ends).unwrap() + u32::from(has_rest)
}

/// What each line of each file became, or why that can't be said.
pub fn find_claims(records: &Records) -> Result<BTreeMap<(u32, u32), &'static str>, String> {
    let cycles = records.cycles.iter().map(|cycle| (&cycle.lines, "cycle"));
    let entries = records.entries.iter().map(|entry| (&entry.lines, "entry"));
    let unread = records
        .unread
        .iter()
        .map(|unread| (&unread.lines, "unread"));
    let idle = records.idle.iter().map(|lines| (lines, "idle"));
    let mut claims = BTreeMap::new();
    for (lines, what) in cycles.chain(entries).chain(unread).chain(idle) {
        let lines: &LineSet = lines;
        for run in lines.runs() {
            for line in run.first..=run.last {
                if let Some(other) = claims.insert((lines.file.0, line), what) {
                    return Err(format!("line {line} is {other} and {what}"));
                }
            }
        }
    }
    Ok(claims)
}

/// Why the lines of files with these sizes are not each claimed once, if they aren't.
pub fn find_breach(records: &Records, n_lines: &[u32]) -> Option<String> {
    let claims = match find_claims(records) {
        Ok(claims) => claims,
        Err(twice) => return Some(twice),
    };
    for (file, n_lines) in (0..).zip(n_lines) {
        for line in 1..=*n_lines {
            if !claims.contains_key(&(file, line)) {
                return Some(format!("line {line} of file {file} is in nothing"));
            }
        }
    }
    let n_all: usize = n_lines.iter().map(|n| *n as usize).sum();
    (claims.len() != n_all).then(|| format!("{} lines claimed of {n_all}", claims.len()))
}
