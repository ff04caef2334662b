//! Writes entries as a neutral log.
