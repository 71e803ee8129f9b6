//! Bigger drawn scenarios: every plan is valid, no bound is above its value, and the same scenario gives the same plan.

use std::time::{Duration, Instant};

use sashwright_solver::NoPlan;
use sashwright_solver::scenario::read;
use sashwright_tests::answer::{answer, flaws};
use sashwright_tests::generator::{Scale, scenario};

const LIMIT: Duration = Duration::from_millis(400);
const SEEDS: std::ops::Range<u64> = 10_000..10_220;

#[test]
fn every_plan_is_valid_and_repeatable() {
    let (mut planned, mut refused, mut repeated, mut proven) = (0, 0, 0, 0);
    let mut failures = Vec::new();
    for seed in SEEDS {
        let text = scenario(seed, Scale::Bigger);
        let scenario = read(text.as_bytes()).expect("a scenario without fault");
        let begun = Instant::now();
        let plan = match answer(&scenario, LIMIT) {
            Ok(plan) => plan,
            Err(NoPlan::CannotBeStitched(faults)) if !faults.is_empty() => {
                refused += 1;
                continue;
            }
            Err(error) => {
                failures.push(format!("seed {seed}: {error:?}\n{text}"));
                continue;
            }
        };
        let took = begun.elapsed();
        planned += 1;
        proven += u32::from(plan.objective.iter().all(|entry| entry.proven));
        let flaws = flaws(&scenario, &plan);
        if !flaws.is_empty() {
            failures.push(format!("seed {seed}: {flaws:?}\n{text}"));
        }
        // Only a run that the limit cut short may differ from another.
        if took < LIMIT / 2 {
            repeated += 1;
            let again =
                answer(&scenario, 20 * LIMIT).map(|plan| serde_json::json!(plan).to_string());
            if again.ok() != Some(serde_json::json!(plan).to_string()) {
                failures.push(format!("seed {seed}: another plan the second time\n{text}"));
            }
        }
    }
    println!("{planned} planned, {proven} proven, {repeated} repeated; {refused} refused");
    let shown: Vec<&str> = failures.iter().take(5).map(String::as_str).collect();
    let count = failures.len();
    assert!(
        failures.is_empty(),
        "{count} failures:\n{}",
        shown.join("\n\n")
    );
    assert!(planned >= 200, "only {planned} were planned");
    assert!(repeated >= 50, "only {repeated} were planned twice");
}
