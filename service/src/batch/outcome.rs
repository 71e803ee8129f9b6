//! How a question of a batch ended, in a few figures: the plan itself is fetched apart.

use sashwright_solver::fault::Fault;
use sashwright_solver::length::Measure;
use sashwright_solver::plan::{ObjectiveEntry, Plan, Status};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::solve::{Refusal, log_broken};

/// How it ended.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Ending {
    /// There is a plan, and every term of it is proven.
    Optimal,
    /// There is a plan, valid, not every term of it proven.
    Feasible,
    /// Strips cannot be stitched with these hoops.
    CannotBeStitched,
    /// The scenario cannot be read with these hoops: a wish names a hoop that is not among them.
    Faulty,
    /// The service failed.
    Failed,
}

impl Ending {
    /// Its name in documents.
    pub fn name(self) -> &'static str {
        match self {
            Ending::Optimal => "optimal",
            Ending::Feasible => "feasible",
            Ending::CannotBeStitched => "cannot_be_stitched",
            Ending::Faulty => "faulty",
            Ending::Failed => "failed",
        }
    }

    /// Whether there is a plan.
    pub fn has_plan(self) -> bool {
        matches!(self, Ending::Optimal | Ending::Feasible)
    }
}

/// How a question ended.
#[derive(Clone, Debug, Serialize, Deserialize, JsonSchema)]
pub struct Outcome {
    /// How it ended.
    pub status: Ending,
    /// The terms of the goal: value, bound, and whether it is proven; none where there is no plan.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub objective: Vec<ObjectiveEntry>,
    /// Hoopings of one copy.
    #[serde(default)]
    pub hoopings: u64,
    /// Joints of one copy.
    #[serde(default)]
    pub joints: u64,
    /// Hands-on minutes of one copy.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hands_on_minutes: Option<Measure>,
    /// Minutes at the machine of one copy; left out where stitches are not told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub machine_minutes: Option<Measure>,
    /// Strips that the plan leaves out.
    #[serde(default)]
    pub unplanned: u64,
    /// Why there is no plan: each strip that cannot be stitched with its closest miss, or each fault.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub faults: Vec<Fault>,
}

impl Outcome {
    /// What is told of a plan.
    pub fn of(plan: &Plan) -> Outcome {
        let joints = plan.strips.iter().map(|strip| {
            let joints = strip.runs.len().saturating_sub(1);
            u64::try_from(joints).unwrap_or(u64::MAX)
        });
        Outcome {
            status: match plan.status {
                Status::Optimal => Ending::Optimal,
                Status::Feasible => Ending::Feasible,
            },
            objective: plan.objective.clone(),
            hoopings: u64::try_from(plan.hoopings.len()).unwrap_or(u64::MAX),
            joints: joints.sum(),
            hands_on_minutes: plan.work.as_ref().map(|work| work.hands_on_minutes.clone()),
            machine_minutes: plan
                .work
                .as_ref()
                .and_then(|work| work.machine_minutes.clone()),
            unplanned: u64::try_from(plan.unplanned.len()).unwrap_or(u64::MAX),
            faults: Vec::new(),
        }
    }

    /// What is told where there is no plan.
    pub fn without_plan(status: Ending, faults: Vec<Fault>) -> Outcome {
        Outcome {
            status,
            objective: Vec::new(),
            hoopings: 0,
            joints: 0,
            hands_on_minutes: None,
            machine_minutes: None,
            unplanned: 0,
            faults,
        }
    }

    /// Why there is no plan; `None` where the work was only told to stop.
    pub fn refused(refusal: Refusal) -> Option<Outcome> {
        let (status, faults) = match refusal {
            Refusal::Faulty(faults) => (Ending::Faulty, faults),
            Refusal::CannotBeStitched(faults) => (Ending::CannotBeStitched, faults),
            Refusal::Stopped => return None,
            Refusal::Broken(violations) => {
                log_broken(&violations);
                (Ending::Failed, Vec::new())
            }
        };
        Some(Outcome::without_plan(status, faults))
    }
}
