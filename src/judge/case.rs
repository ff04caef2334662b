//! The case of one load: what a rule may look at. (Filled in next.)

/// What a rule may look at.
pub struct Case<'a> {
    /// The history.
    pub history: &'a crate::reconcile::history::History,
}
