//! Turns the result of the command into an exit code.

use std::process::ExitCode;

fn main() -> ExitCode {
    let exit = loadbook::cli::run(
        std::env::args_os(),
        &mut std::io::stdout(),
        &mut std::io::stderr(),
    );
    ExitCode::from(exit.code())
}
