//! What stands behind every answer: the planner, why there may be none, and a thread with the stack that a solve needs.

use std::io;
use std::sync::Arc;
use std::thread::{Builder, JoinHandle};

use sashwright_solver::NoPlan;
use sashwright_solver::check::Violation;
use sashwright_solver::deadline::Deadline;
use sashwright_solver::fault::Fault;
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario::Scenario;

/// Makes a plan of a scenario within a deadline; tests put another in its place.
pub type Planner = Arc<dyn Fn(&Scenario, &Deadline) -> Result<Plan, NoPlan> + Send + Sync>;

/// The planner of the solver crate.
pub fn planner() -> Planner {
    Arc::new(sashwright_solver::make_plan)
}

/// Why a document gets no answer.
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

/// Notes in the log which rules a plan broke: whoever asked for it can do nothing with that.
pub fn log_broken(violations: &[Violation]) {
    for violation in violations {
        tracing::error!(
            pointer = violation.pointer,
            rule = violation.rule,
            seen = violation.message,
            "a plan broke a rule"
        );
    }
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

/// Lets everything else go first on this thread and those that it starts: work that nobody waits for. Where the system does not
/// do so for single threads, it stays as it is. Between two looks at the clock see `Deadline::giving_way`.
pub fn give_way() {
    #[cfg(target_os = "linux")]
    {
        use rustix::process::setpriority_process;
        use rustix::thread::gettid;
        // Of a thread's own priority on Linux: setpriority(2), under "C library/kernel differences". Lowering it is always allowed.
        let _ = setpriority_process(Some(gettid()), LOWEST_PRIORITY);
    }
}

/// The lowest priority of all: nice(1) in POSIX.1-2017.
#[cfg(target_os = "linux")]
const LOWEST_PRIORITY: i32 = 19;

/// The cores that there are.
pub fn cores() -> usize {
    std::thread::available_parallelism().map_or(1, usize::from)
}

/// Work that nobody waits for and that may run at once beside what somebody waits for: a core is left free, where there are several. Work of
/// the lowest priority still holds a core for some milliseconds each time, which a short plan would notice.
pub fn workers() -> usize {
    cores().saturating_sub(1).max(1)
}
