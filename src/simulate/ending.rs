//! How a cycle is going to end, decided before it runs.

use crate::record::cause::Cause;
use crate::record::cycle::{Outcome, StageName};

/// How a cycle is going to end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Ending {
    /// All stages run.
    Completed,
    /// It stops in a stage.
    Aborted(StageName, Cause),
    /// The load is refused before the first exposure.
    Rejected(Cause),
}

impl Ending {
    /// The outcome as it is printed.
    pub fn outcome(&self) -> Outcome {
        match self {
            Ending::Completed => Outcome::Completed,
            Ending::Aborted(stage, cause) => Outcome::Aborted {
                stage: Some(stage.clone()),
                cause: Some(cause.clone()),
            },
            Ending::Rejected(cause) => Outcome::Rejected {
                cause: Some(cause.clone()),
            },
        }
    }

    /// The cause, if the cycle is going to stop in this stage.
    pub fn stops_in(&self, stage: &StageName) -> Option<&Cause> {
        match self {
            Ending::Aborted(at, cause) if at == stage => Some(cause),
            _ => None,
        }
    }
}
