//! What every answer of the planner has to keep to, whatever the scenario.

use std::time::Duration;

use sashwright_solver::check::check;
use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::plan::{ObjectiveEntry, Plan, Status};
use sashwright_solver::scenario::Scenario;
use sashwright_solver::{NoPlan, make_plan};

/// Plans the scenario within `limit` from now.
///
/// # Errors
/// As the planner's.
pub fn answer(scenario: &Scenario, limit: Duration) -> Result<Plan, NoPlan> {
    make_plan(scenario, &Deadline::after(limit, StopSignal::new()))
}

/// What is wrong with a plan by itself: broken rules, a bound above its value, a proof that is claimed without need of
/// the two being equal or not claimed where they are. Empty where nothing is.
pub fn flaws(scenario: &Scenario, plan: &Plan) -> Vec<String> {
    let violations = check(scenario, plan).into_iter();
    let mut flaws: Vec<String> = violations
        .map(|violation| {
            format!(
                "{} {}: {}",
                violation.pointer, violation.rule, violation.message
            )
        })
        .collect();
    flaws.extend(plan.objective.iter().filter_map(flaw_of_term));
    let all_proven = plan.objective.iter().all(|entry| entry.proven);
    if (plan.status == Status::Optimal) != all_proven {
        flaws.push(format!("status {:?}: {:?}", plan.status, plan.objective));
    }
    flaws
}

fn flaw_of_term(entry: &ObjectiveEntry) -> Option<String> {
    let (Ok(value), Ok(bound)) = (entry.value.exact(), entry.bound.exact()) else {
        return Some(format!("no numbers: {entry:?}"));
    };
    let fine = bound <= value && entry.proven == (bound == value);
    (!fine).then(|| format!("bound and value: {entry:?}"))
}
