//! Turns the result of the command into an exit code.

fn main() {}
