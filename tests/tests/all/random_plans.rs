//! Bigger drawn scenarios: every plan is valid, no bound is above its value, and the same scenario gives the same plan.

use std::time::{Duration, Instant};

use sashwright_solver::NoPlan;
use sashwright_solver::scenario::read;
use sashwright_tests::answer::{answer, flaws};
use sashwright_tests::failures::assert_none;
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
    assert_none(&failures, SEEDS.count());
    assert!(planned >= 200, "only {planned} were planned");
    assert!(repeated >= 50, "only {repeated} were planned twice");
}

/// The same plans come of it when two threads plan at once as when one plans alone.
#[test]
fn threads_do_not_shape_plans() {
    let plan = |text: &String| {
        let scenario = read(text.as_bytes()).expect("a scenario without fault");
        let answer = answer(&scenario, 20 * LIMIT);
        answer.map_or_else(
            |none| none.to_string(),
            |plan| serde_json::json!(plan).to_string(),
        )
    };
    // Only a run that the limit cut short may differ from another.
    let texts = SEEDS
        .take(40)
        .map(|seed| scenario(seed, Scale::Bigger))
        .filter_map(|text| {
            let begun = Instant::now();
            let plan = plan(&text);
            (begun.elapsed() < LIMIT).then_some((text, plan))
        });
    let alone: Vec<(String, String)> = texts.collect();
    assert!(alone.len() >= 20, "only {} ended in time", alone.len());
    let plan_all = || {
        for (text, known) in &alone {
            assert_eq!(&plan(text), known);
        }
    };
    std::thread::scope(|scope| {
        scope.spawn(plan_all);
        scope.spawn(plan_all);
    });
}
