//! The planner's answer beside what trying everything finds.

use std::time::Duration;

use sashwright_solver::NoPlan;
use sashwright_solver::fault::{Fault, FaultCode};
use sashwright_solver::length::Measure;
use sashwright_solver::plan::{ObjectiveEntry, Plan};
use sashwright_solver::scenario::{Scenario, read};

use crate::answer::{answer, flaws};
use crate::failures::assert_none;
use crate::oracle::{Optimum, Outcome, Work, solve};

/// A drawn scenario that was compared.
pub struct Compared {
    /// The scenario.
    pub scenario: Scenario,
    /// What is true of it.
    pub outcome: Outcome,
    /// What the planner says.
    pub answer: Result<Plan, NoPlan>,
}

/// What came of comparing one drawn scenario after the other.
#[derive(Default, Debug)]
pub struct Sweep {
    /// How many were small enough to try everything.
    pub compared: usize,
    /// Those in which something is wrong, in words.
    pub failures: Vec<String>,
    /// The seeds of those that were answered with the optimum but without its proof.
    pub unproven: Vec<u64>,
}

impl Sweep {
    /// Compares the scenario of a seed, unless trying everything takes more than so many steps; `None` as well where the two
    /// disagree.
    ///
    /// # Panics
    /// Where the scenario is faulty.
    pub fn compare(
        &mut self,
        seed: u64,
        text: &str,
        steps: u64,
        limit: Duration,
    ) -> Option<Compared> {
        let scenario = read(text.as_bytes())
            .unwrap_or_else(|faults| panic!("seed {seed}: {faults:?}\n{text}"));
        let outcome = solve(&scenario, &mut Work::of(steps)).ok()?;
        self.compared += 1;
        let answer = answer(&scenario, limit);
        if let Some(difference) = disagreement(&scenario, &answer, &outcome) {
            self.failures
                .push(format!("seed {seed}: {difference}\n{text}"));
            return None;
        }
        if !is_proven(&answer) {
            self.unproven.push(seed);
        }
        Some(Compared {
            scenario,
            outcome,
            answer,
        })
    }

    /// Asserts that nothing was wrong, and that so many at most have no proof.
    ///
    /// # Panics
    /// Where that is not so.
    pub fn assert_agreement(&self, most_unproven: usize) {
        println!("without proof: seeds {:?}", self.unproven);
        assert_none(&self.failures, self.compared);
        assert!(
            self.unproven.len() <= most_unproven,
            "{} not proven: seeds {:?}",
            self.unproven.len(),
            self.unproven
        );
    }
}

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
