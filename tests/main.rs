//! The one integration target. Each module says what belongs there.

/// Who may import whom, and what the sources may not hold.
mod layers;
