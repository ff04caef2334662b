//! The one place that decides the exit code.

/// What the exit codes mean, for help texts.
pub const EXIT_CODES: &str = "Exit codes:
  0  fine: nothing in the records needs a person
  1  findings that need a person
  2  an input or usage error: a path that can't be read, nothing read at all, an unknown unit, program, cycle or load.
     Where some files can't be read the others are reviewed all the same, the review says so, and 2 wins over 1.
  3  of selftest alone: this copy of loadbook does not give the known answers and must not be used
  4  loadbook itself has failed, which is a defect of the program: nothing that it printed counts";

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Exit {
    /// Nothing needs a person.
    Fine,
    /// Something needs a person.
    Findings,
    /// The input or the command line is at fault.
    Input,
    /// This copy of loadbook gives wrong answers; of `selftest` alone.
    Unsound,
    /// loadbook itself has failed.
    Defect,
}

impl Exit {
    /// The exit code.
    pub fn code(self) -> u8 {
        match self {
            Exit::Fine => 0,
            Exit::Findings => 1,
            Exit::Input => 2,
            Exit::Unsound => 3,
            Exit::Defect => 4,
        }
    }

    /// The code of a command that read its input, from whether all paths could be read and whether findings need a
    /// person. The higher code wins.
    pub fn of(intake: Exit, findings: Exit) -> Self {
        intake.max(findings)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_input_error_wins_over_findings() {
        assert_eq!(Exit::of(Exit::Input, Exit::Findings).code(), 2);
        assert_eq!(Exit::of(Exit::Fine, Exit::Findings).code(), 1);
        assert_eq!(Exit::of(Exit::Fine, Exit::Fine).code(), 0);
    }
}
