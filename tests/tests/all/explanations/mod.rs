//! Explanations: bounds that no optimum goes below, by trying everything; room in which strips really lie; changes whose plans are
//! what is said.

mod bounds;
mod changes;
mod room;

use std::sync::LazyLock;
use std::time::{Duration, Instant};

use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::explain::{Explanation, explain, explain_plan, explanation_schema};
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario::{Scenario, read};
use sashwright_tests::answer::answer;
use sashwright_tests::generator::{Scale, wished_scenario};
use serde_json::{Value, json};

/// Long enough that no tiny scenario runs out of it.
const LIMIT: Duration = Duration::from_secs(30);
const SEEDS: std::ops::Range<u64> = 0..170;

/// A drawn scenario, its plan, and the plan's explanation.
struct Explained {
    seed: u64,
    text: String,
    scenario: Scenario,
    plan: Plan,
    explanation: Explanation,
}

/// The drawn scenarios that have a plan, explained once for all tests.
fn explained() -> &'static [Explained] {
    static EXPLAINED: LazyLock<Vec<Explained>> =
        LazyLock::new(|| SEEDS.filter_map(drawn).collect());
    &EXPLAINED
}

fn drawn(seed: u64) -> Option<Explained> {
    let text = wished_scenario(seed, Scale::Tiny);
    let scenario = read(text.as_bytes()).expect("no fault");
    let plan = answer(&scenario, LIMIT).ok()?;
    let deadline = Deadline::after(LIMIT, StopSignal::new());
    // As if the plan had taken that long: no change is given up.
    let explanation = explain_plan(&scenario, &plan, LIMIT, &deadline);
    Some(Explained {
        seed,
        text,
        scenario,
        plan,
        explanation: explanation.expect("an explanation"),
    })
}

#[test]
fn explanations_fulfil_their_schema() {
    let validator = jsonschema::draft202012::new(&explanation_schema()).expect("a schema");
    for Explained {
        seed, explanation, ..
    } in explained()
    {
        let document = json!(explanation);
        assert!(validator.is_valid(&document), "seed {seed}");
        let read: Explanation = serde_json::from_value(document).expect("an explanation");
        assert_eq!(read, *explanation, "seed {seed}");
    }
}

#[test]
fn the_same_scenario_gives_the_same_explanation() {
    for first in explained().iter().take(40) {
        let second = drawn(first.seed).expect("a plan");
        assert_eq!(first.explanation, second.explanation, "seed {}", first.seed);
    }
}

/// Thousands of lengths, each split: there is no time for anything but the plan, and the explanation comes all the same.
#[test]
fn the_explanation_of_very_many_lengths_comes_in_time() {
    let strips: Vec<Value> = (0..1500)
        .map(|place| json!({"id": format!("s{place}"), "length": 10.5 + f64::from(place) / 256.0, "width": 1, "design": "vine"}))
        .collect();
    let scenario = json!({
        "format": 1, "unit": "in", "strips": strips,
        "hoops": [{"id": "large", "field": [8, 12]}, {"id": "small", "field": [5, 7], "turn": false}],
        "designs": [{"id": "vine", "sizes": [
            {"id": "vine-1", "width": 1, "repeat": 0.5, "repeats": 20, "stop_early": true, "scale": [0.9, 1.1]}]}]
    });
    let scenario = read(scenario.to_string().as_bytes()).expect("no fault");
    let began = Instant::now();
    let limit = Duration::from_secs(4);
    let explanation = explain(&scenario, &Deadline::after(limit, StopSignal::new()));
    let explanation = explanation.expect("an explanation");
    assert!(
        began.elapsed() < limit * 3,
        "{:?} instead of {limit:?}",
        began.elapsed()
    );
    assert!(explanation.bounds.len() <= 40 && explanation.room.len() <= 20);
}
