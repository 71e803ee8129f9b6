//! The planner against the exhaustive oracle: the same optimum, term by term, and proven.

use std::time::Duration;

use sashwright_solver::NoPlan;
use sashwright_solver::fault::Fault;
use sashwright_solver::length::Measure;
use sashwright_solver::plan::{ObjectiveEntry, Plan};
use sashwright_solver::scenario::{Scenario, read};
use sashwright_tests::answer::{answer, flaws};
use sashwright_tests::generator::{Scale, scenario};
use sashwright_tests::oracle::{Optimum, Outcome, Work, solve};

/// What the oracle may spend on one scenario; bigger ones are passed over.
const STEPS: u64 = 300_000;
/// How many may be answered with the optimum but without its proof: where corners have a price the search may end too soon to
/// prove in whole numbers what it found, and the planner says so.
const MOST_UNPROVEN: usize = 3;
/// Seeds drawn from.
const SEEDS: std::ops::Range<u64> = 0..6_000;

/// More than any of them should need, in an unoptimised build on a busy machine.
const LIMIT: Duration = Duration::from_secs(30);

/// What is wrong with the planner's answer; `None` where it agrees with the oracle.
fn disagreement(
    scenario: &Scenario,
    answer: &Result<Plan, NoPlan>,
    outcome: &Outcome,
) -> Option<String> {
    match (answer, outcome) {
        (Ok(plan), Outcome::Best(optimum)) => plan_disagreement(scenario, plan, optimum),
        (Err(NoPlan::CannotBeStitched(faults)), Outcome::CannotBeStitched(strips)) => {
            faults_disagreement(faults, strips)
        }
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
fn is_proven(answer: &Result<Plan, NoPlan>) -> bool {
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

#[test]
fn the_planner_finds_the_optimum_that_trying_everything_finds() {
    let (mut compared, mut refused, mut too_big) = (0, 0, 0);
    let (mut failures, mut unproven) = (Vec::new(), Vec::new());
    for seed in SEEDS {
        let text = scenario(seed, Scale::Tiny);
        let scenario = read(text.as_bytes()).expect("a scenario without fault");
        let Ok(outcome) = solve(&scenario, &mut Work::of(STEPS)) else {
            too_big += 1;
            continue;
        };
        compared += 1;
        if matches!(outcome, Outcome::CannotBeStitched(_)) {
            refused += 1;
        }
        let answer = answer(&scenario, LIMIT);
        if let Some(difference) = disagreement(&scenario, &answer, &outcome) {
            failures.push(format!("seed {seed}: {difference}\n{text}"));
        } else if !is_proven(&answer) {
            unproven.push(seed);
        }
    }
    println!("{compared} compared, of them {refused} refused; {too_big} too big to try everything");
    assert!(compared >= 3_000, "only {compared} scenarios were compared");
    assert!(
        compared - refused >= 3_000,
        "only {} had a plan",
        compared - refused
    );
    println!("without proof: seeds {unproven:?}");
    assert!(
        unproven.len() <= MOST_UNPROVEN,
        "{} not proven: seeds {unproven:?}",
        unproven.len()
    );
    let shown: Vec<&str> = failures.iter().take(5).map(String::as_str).collect();
    let count = failures.len();
    assert!(
        failures.is_empty(),
        "{count} of {compared} differ:\n{}",
        shown.join("\n\n")
    );
}
