//! Why so many? What binds a plan: what every plan needs, where there is room left, and what one change would save.
//!
//! `stock.rs` says what each class of strips can be stitched with, `groups.rs` which strips are planned by themselves,
//! `reasons.rs` what follows for every plan; `room.rs` finds the room in hoopings; `changes.rs` lists changes and `tried.rs`
//! plans them; `words.rs` says it all in sentences.

mod changes;
mod document;
mod groups;
mod reasons;
mod room;
mod stock;
mod tried;
mod words;

pub use document::{
    Because, Bound, Change, Explanation, Fitting, LaneRoom, LongestRun, Outcome, Room, Setting,
    explanation_schema,
};

use std::time::{Duration, Instant};

use crate::deadline::Deadline;
use crate::plan::Plan;
use crate::planner::{self, NoPlan};
use crate::scenario::Scenario;
use crate::several::solve_each;
use crate::strips;
use stock::Stock;

/// However fast the plan was, a change may take so long.
const PATIENCE: Duration = Duration::from_secs(1);
/// A change may take so many times as long as the plan. The search deals out its time step by step, so that one no harder than the plan is
/// settled without hurry only where it is given three or four times what it takes; nobody waits for much harder ones.
const TIMES_THE_PLAN: u32 = 6;

/// Plans a scenario in at most half of the time, and explains the plan in the rest.
///
/// # Errors
/// As the planner's: strips that cannot be stitched, a solve that was told to stop, a plan that broke a rule.
pub fn explain(scenario: &Scenario, deadline: &Deadline) -> Result<Explanation, NoPlan> {
    let began = Instant::now();
    let plan = planner::plan(scenario, &deadline.at_most(deadline.left() / 2))?;
    explain_plan(scenario, &plan, began.elapsed(), deadline)
}

/// Explains a valid plan of a scenario that `took` so long to make. Each change is tried for at most a few times as long, or a
/// second where that is more.
///
/// # Errors
/// The solve was told to stop, or a plan of a changed scenario broke a rule.
pub fn explain_plan(
    scenario: &Scenario,
    plan: &Plan,
    took: Duration,
    deadline: &Deadline,
) -> Result<Explanation, NoPlan> {
    let top = strips::of(scenario);
    let began = Instant::now();
    let stock = Stock::of(scenario, &top, plan, &deadline.at_most(deadline.left() / 4));
    // A solve begins with what took so long here: with less time than that it would only end too late.
    let least = began.elapsed();
    let room = room::of(
        scenario,
        &top,
        plan,
        &stock,
        &deadline.at_most(deadline.left() / 4),
    );
    let most = PATIENCE.max(took.saturating_mul(TIMES_THE_PLAN));
    let groups = groups::of(scenario, &top, &stock);
    let changes = changes::of(scenario, &top);
    // Groups first: they are the smaller ones.
    let jobs: Vec<Job<'_>> = (groups.iter().map(Job::Group))
        .chain(changes.iter().map(Job::Change))
        .collect();
    let done = solve_each(&jobs, 0, deadline, |job, share| {
        let share = match share.left() {
            left if left < least => share.at_most(Duration::ZERO),
            _ => share.at_most(most),
        };
        Ok(match job {
            Job::Group(group) => Done::Group(groups::fewest(scenario, &stock, group, &share)?),
            Job::Change(change) => Done::Change(tried::try_out(scenario, plan, change, &share)?),
        })
    })?;
    let (mut fewest, mut tried) = (Vec::new(), Vec::new());
    for done in done {
        match done {
            Done::Group(group) => fewest.push(group),
            Done::Change(change) => tried.push(change),
        }
    }
    if deadline.stopped() {
        return Err(NoPlan::Stopped);
    }
    Ok(Explanation {
        format: 1,
        scenario: scenario.name.clone(),
        unit: scenario.unit,
        status: plan.status,
        objective: plan.objective.clone(),
        bounds: reasons::of(scenario, &top, plan, &stock, &groups, &fewest),
        room,
        changes: tried::in_order(tried),
    })
}

/// What is planned beside the plan itself.
enum Job<'a> {
    Group(&'a groups::Group),
    Change(&'a changes::Tweak),
}

/// What came of it.
enum Done {
    Group(Option<groups::Fewest>),
    Change(Change),
}
