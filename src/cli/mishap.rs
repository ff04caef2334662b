//! A defect of loadbook that shows while a command runs: told in plain words, with an exit code of its own.
//!
//! The lints of `lib.rs` and the checks of sums leave few ways to stop in the middle. Who meets one reads no program: what
//! they have to know is that the records are not at fault and that nothing printed so far counts. Read [`guard`] first.

use super::exit::Exit;
use crate::report::inert;
use std::io::Write;
use std::panic::{AssertUnwindSafe, PanicHookInfo, catch_unwind};
use std::sync::{Mutex, PoisonError};

/// Where the program first stopped. A thread that stops takes others with it, which say less.
static PLACE: Mutex<Option<String>> = Mutex::new(None);

/// From now on a stop is noted for [`guard`] and not printed as it is: its message may repeat what stands in the records.
/// Who looks for the defect sets `RUST_BACKTRACE`, and is shown it as well.
pub fn note_stops() {
    let shown = std::env::var_os("RUST_BACKTRACE").map(|_| std::panic::take_hook());
    std::panic::set_hook(Box::new(move |stop| {
        note(stop);
        if let Some(show) = &shown {
            show(stop);
        }
    }));
}

fn note(stop: &PanicHookInfo<'_>) {
    let place = stop.location().map(ToString::to_string);
    let mut first = PLACE.lock().unwrap_or_else(PoisonError::into_inner);
    if first.is_none() {
        *first = place;
    }
}

/// Runs a command. If it stops in the middle, that is told on `err`, and the exit is [`Exit::Defect`].
pub fn guard(run: impl FnOnce(&mut dyn Write) -> Exit, err: &mut dyn Write) -> Exit {
    // What the command was working on is not looked at again.
    match catch_unwind(AssertUnwindSafe(|| run(err))) {
        Ok(exit) => exit,
        Err(_) => {
            let place = PLACE.lock().unwrap_or_else(PoisonError::into_inner).take();
            // Nothing can be done where not even an error can be printed.
            let _ = tell(place.as_deref(), err);
            Exit::Defect
        }
    }
}

fn tell(place: Option<&str>, err: &mut dyn Write) -> std::io::Result<()> {
    let place = inert::text(place.unwrap_or("not known"));
    writeln!(
        err,
        "error: loadbook itself has failed: a defect of the program, not of your records\n  \
         Nothing that it printed counts; let no decision on a load rest on it.\n  \
         Your records are as they were; an archive has what it confirmed.\n  \
         Tell whoever looks after loadbook the command, what it read, and this:\n  \
         loadbook {}, at {place}",
        env!("CARGO_PKG_VERSION")
    )?;
    err.flush()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn defect_is_told_as_one_without_what_the_records_hold() {
        let mut err = Vec::new();
        let exit = guard(|_| panic!("MRN 4711"), &mut err);
        assert_eq!(exit, Exit::Defect);
        let said = String::from_utf8(err).unwrap();
        assert!(
            said.starts_with("error: loadbook itself has failed"),
            "{said}"
        );
        assert!(said.contains(env!("CARGO_PKG_VERSION")), "{said}");
        assert!(!said.contains("4711"), "{said}");
        assert!(said.lines().all(|line| line.len() <= 80), "{said}");
    }

    #[test]
    fn defect_within_a_thread_is_told_too() {
        let mut err = Vec::new();
        let exit = guard(
            |_| {
                std::thread::scope(|scope| {
                    scope.spawn(|| panic!("in a thread"));
                });
                Exit::Fine
            },
            &mut err,
        );
        assert_eq!(exit, Exit::Defect);
    }

    #[test]
    fn command_that_ends_keeps_its_exit() {
        let mut err = Vec::new();
        assert_eq!(guard(|_| Exit::Findings, &mut err), Exit::Findings);
        assert!(err.is_empty());
    }
}
