//! simulate.
