//! Turns the result of the command into an exit code.

// As in lib.rs.
#![cfg_attr(
    not(test),
    deny(
        clippy::arithmetic_side_effects,
        clippy::expect_used,
        clippy::indexing_slicing,
        clippy::panic,
        clippy::string_slice,
        clippy::todo,
        clippy::unreachable,
        clippy::unwrap_used
    )
)]

use std::process::ExitCode;

fn main() -> ExitCode {
    loadbook::cli::mishap::note_stops();
    let exit = loadbook::cli::run(
        std::env::args_os(),
        &mut std::io::stdout(),
        &mut std::io::stderr(),
    );
    ExitCode::from(exit.code())
}
