//! From a scenario to a checked plan.

use crate::check::Violation;
use crate::deadline::Deadline;
use crate::fault::Fault;
use crate::plan::Plan;
use crate::scenario::Scenario;

/// Why there is no plan.
#[derive(Debug, thiserror::Error)]
pub enum NoPlan {
    /// Strips that no covering and no hoop can take, each with the closest miss.
    #[error("{} strips cannot be stitched", .0.len())]
    CannotBeStitched(Vec<Fault>),
    /// The solve was told to stop.
    #[error("the solve was told to stop")]
    Stopped,
    /// The plan that was found broke a rule: an error of this program, never an answer.
    #[error("the plan that was found broke {} rules", .0.len())]
    Broken(Vec<Violation>),
}

/// Plans a scenario within the deadline. The plan has passed [`check`](crate::check::check).
///
/// # Errors
/// See [`NoPlan`].
pub fn plan(_scenario: &Scenario, _deadline: &Deadline) -> Result<Plan, NoPlan> {
    Err(NoPlan::Stopped)
}
