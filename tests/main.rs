//! The one integration target. Each module says what belongs there.

/// What the commands print, and their exit codes.
mod commands;
/// Who may import whom, and what the sources may not hold.
mod layers;
