//! A date and time as a printer or a person wrote it: local, with or without the offset from UTC.

use chrono::{DateTime, FixedOffset, NaiveDateTime};
use serde::Serialize;

/// A local date and time, with its offset from UTC where that was written.
///
/// Which instant it is without an offset is for `reconcile` to say, which knows the site's zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct Stamp {
    /// The date and time on the clock.
    pub local: NaiveDateTime,
    /// The offset from UTC in seconds east, if it was written.
    pub offset_seconds: Option<i32>,
}

impl Stamp {
    /// A stamp without an offset.
    pub fn local(local: NaiveDateTime) -> Self {
        Stamp {
            local,
            offset_seconds: None,
        }
    }

    /// The instant, if the offset was written.
    pub fn instant(&self) -> Option<DateTime<FixedOffset>> {
        let offset = FixedOffset::east_opt(self.offset_seconds?)?;
        self.local.and_local_timezone(offset).single()
    }
}
