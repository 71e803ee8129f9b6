//! The planner's answer beside what trying everything finds.

use sashwright_solver::NoPlan;
use sashwright_solver::fault::{Fault, FaultCode};
use sashwright_solver::length::Measure;
use sashwright_solver::plan::{ObjectiveEntry, Plan};
use sashwright_solver::scenario::Scenario;

use crate::answer::flaws;
use crate::oracle::{Optimum, Outcome};

/// What is wrong with the planner's answer; `None` where it agrees with the oracle.
pub fn disagreement(
    scenario: &Scenario,
    answer: &Result<Plan, NoPlan>,
    outcome: &Outcome,
) -> Option<String> {
    match (answer, outcome) {
        (Ok(plan), Outcome::Best(optimum)) => plan_disagreement(scenario, plan, optimum),
        (Err(NoPlan::CannotBeStitched(faults)), Outcome::CannotBeStitched(strips)) => {
            faults_disagreement(faults, strips)
        }
        (Err(NoPlan::CannotBeStitched(faults)), Outcome::WishesCannotBeKept) => {
            let contradicting = |fault: &Fault| fault.code == FaultCode::ContradictingWishes;
            let fine = !faults.is_empty() && faults.iter().all(contradicting);
            (!fine).then(|| format!("{faults:?} instead of wishes that contradict each other"))
        }
        (Ok(_), Outcome::WishesCannotBeKept) => Some("a plan, though wishes cannot be kept".into()),
        (Ok(_), Outcome::CannotBeStitched(strips)) => {
            Some(format!("a plan, though {strips:?} cannot be stitched"))
        }
        (Err(error), _) => Some(format!("{error:?} instead of {outcome:?}")),
    }
}

fn plan_disagreement(scenario: &Scenario, plan: &Plan, optimum: &Optimum) -> Option<String> {
    let flaws = flaws(scenario, plan);
    if !flaws.is_empty() {
        return Some(format!("flaws: {flaws:?}"));
    }
    let objective = plan.objective.iter();
    let objective: Vec<(String, Measure)> = objective
        .map(|entry| (entry.term.clone(), entry.value.clone()))
        .collect();
    if objective != optimum.objective {
        return Some(format!("{objective:?} instead of {:?}", optimum.objective));
    }
    let left_out = plan.unplanned.iter();
    let left_out: Vec<String> = left_out.map(|entry| entry.strip.clone()).collect();
    if left_out != optimum.unplanned {
        return Some(format!(
            "left out {left_out:?}, not {:?}",
            optimum.unplanned
        ));
    }
    None
}

/// Whether every entry of the planner's answer is proven.
pub fn is_proven(answer: &Result<Plan, NoPlan>) -> bool {
    let mut entries = answer.iter().flat_map(|plan| &plan.objective);
    entries.all(|entry| entry.proven || within_rounding(entry))
}

/// Whether value and bound differ by the rounding of lengths alone: thirds of an inch leave areas and costs that differ
/// in their seventh digit or later, where the solver's floating point cannot tell them apart, and the planner says so.
fn within_rounding(entry: &ObjectiveEntry) -> bool {
    let exact = |measure: &Measure| {
        measure
            .exact()
            .ok()
            .map(|exact| (exact.numerator(), exact.denominator()))
    };
    let (Some((value, lower)), Some((bound, bound_lower))) =
        (exact(&entry.value), exact(&entry.bound))
    else {
        return false;
    };
    (value * bound_lower - bound * lower) * 1_000_000 <= value * bound_lower
}

/// Each strip that cannot be stitched is named in a fault.
fn faults_disagreement(faults: &[Fault], strips: &[String]) -> Option<String> {
    let named = |strip: &String| faults.iter().any(|fault| fault.message.contains(strip));
    let missing: Vec<&String> = strips.iter().filter(|strip| !named(strip)).collect();
    let wrong = faults.is_empty() || !missing.is_empty();
    wrong.then(|| format!("{missing:?} are not among the faults {faults:?}"))
}
