//! placeholder

