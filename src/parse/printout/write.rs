//! Writes a cycle as a neutral printout.
