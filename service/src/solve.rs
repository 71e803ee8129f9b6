//! The one way from a scenario document to a plan, on a thread with the stack that a solve needs.

use std::io;
use std::sync::Arc;
use std::thread::{Builder, JoinHandle};

use sashwright_solver::NoPlan;
use sashwright_solver::check::Violation;
use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::fault::Fault;
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario::{self, Scenario};

/// Makes a plan of a scenario within a deadline; tests put another in its place.
pub type Planner = Arc<dyn Fn(&Scenario, &Deadline) -> Result<Plan, NoPlan> + Send + Sync>;

/// The planner of the solver crate.
pub fn planner() -> Planner {
    Arc::new(sashwright_solver::make_plan)
}

/// Why a scenario document gets no plan.
#[derive(Debug)]
pub enum Refusal {
    /// The document is faulty: every fault of it, at least one.
    Faulty(Vec<Fault>),
    /// Strips that no covering and no hoop can take, each with the closest miss.
    CannotBeStitched(Vec<Fault>),
    /// The solve was told to stop.
    Stopped,
    /// The plan that was found broke a rule: an error of this program.
    Broken(Vec<Violation>),
}

impl From<NoPlan> for Refusal {
    fn from(reason: NoPlan) -> Refusal {
        match reason {
            NoPlan::CannotBeStitched(faults) => Refusal::CannotBeStitched(faults),
            NoPlan::Stopped => Refusal::Stopped,
            NoPlan::Broken(violations) => Refusal::Broken(violations),
        }
    }
}

/// Reads a scenario document and plans it. The scenario's time limit begins once it is read.
///
/// # Errors
/// See [`Refusal`].
pub fn plan_document(
    document: &[u8],
    planner: &Planner,
    stop: StopSignal,
) -> Result<(Scenario, Plan), Refusal> {
    let scenario = scenario::read(document).map_err(Refusal::Faulty)?;
    let deadline = Deadline::after(scenario.time_limit, stop);
    let plan = planner(&scenario, &deadline)?;
    Ok((scenario, plan))
}

/// The plan document as it is given out: indented JSON, and a line end.
///
/// # Errors
/// A plan that cannot be written as JSON, which would be an error of this program.
pub fn plan_as_json(plan: &Plan) -> Result<Vec<u8>, serde_json::Error> {
    let mut bytes = serde_json::to_vec_pretty(plan)?;
    bytes.push(b'\n');
    Ok(bytes)
}

/// The stack of a solve. The search goes as deep as a scenario has strips.
const STACK: usize = 64 << 20;

/// Runs `job` on a thread of its own with a stack of 64 MiB.
///
/// # Errors
/// The system has no room for another thread.
pub fn on_large_stack<T: Send + 'static>(
    job: impl FnOnce() -> T + Send + 'static,
) -> io::Result<JoinHandle<T>> {
    Builder::new()
        .name("solve".into())
        .stack_size(STACK)
        .spawn(job)
}
