//! Files of the site's own beside the records: policies, layouts, strips that a layout is tried on. They are held in memory
//! whole, so they must be files and short. Knows nothing of what they hold. Read [`read_site_file`].

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

/// Reads a file of at most so many bytes.
///
/// # Errors
/// It can't be read, is no regular file (a pipe could wait and a device could give for ever), or is longer.
pub fn read_site_file(path: &Path, longest: u64) -> io::Result<Vec<u8>> {
    if !std::fs::metadata(path)?.is_file() {
        return Err(io::Error::other("it is not a regular file"));
    }
    let mut bytes = Vec::new();
    File::open(path)?
        .take(longest.saturating_add(1))
        .read_to_end(&mut bytes)?;
    if bytes.len() as u64 > longest {
        return Err(io::Error::other(format!(
            "it is longer than {} megabytes",
            longest >> 20
        )));
    }
    Ok(bytes)
}

/// Why a file can't be read, in words that are the same on every system.
pub fn say_cause(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::Other => error.to_string(),
        kind => kind.to_string(),
    }
}
