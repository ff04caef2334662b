//! The columns of a CSV log: one table for its reader and its writer.

/// The opening line of a log; in a CSV log the first cell of the header row, whose column holds the kind.
pub const OPENING: &str = "loadbook log 1";

/// The columns after the first, in the order in which they are written. A file may have them in any order, and not all.
pub const COLUMNS: [&str; 29] = [
    "date",
    "time",
    "about",
    "place",
    "zone",
    "unit",
    "counter",
    "program",
    "set",
    "items",
    "packages",
    "packaging",
    "lot",
    "expiry",
    "scan",
    "implant",
    "to",
    "position",
    "type",
    "endpoint",
    "role",
    "incubated",
    "read",
    "result",
    "population",
    "d-value",
    "action",
    "by",
    "note",
];
