//! The integer program over lists by itself, which is asked in earnest only where the decomposition does not end: no bound of it is above
//! the optimum, and what it calls the optimum is one.

use std::time::Duration;

use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::plan::{Plan, Status};
use sashwright_solver::plan_by_lists;
use sashwright_solver::scenario::read;
use sashwright_tests::answer::{answer, flaws};
use sashwright_tests::failures::assert_none;
use sashwright_tests::generator::{Scale, scenario};
use serde_json::json;

/// More than any of them should need, in an unoptimised build on a busy machine.
const LIMIT: Duration = Duration::from_secs(30);
/// Where the lists take longer than this, what they have proven by then is compared.
const LISTING: Duration = Duration::from_secs(3);
/// Seeds that no other sweep draws from.
const FIRST: u64 = 20_000;
const COUNT: u64 = 800;

/// Two sizes stitch the strip as it is, and the one that needs fewer stitches comes second. By hand, with the rates as stated: 1 minute for
/// each stitch that counts, so 10 of them and nothing else.
#[test]
fn of_runs_that_are_alike_but_for_their_time_the_quickest_is_taken() {
    let size = |id: &str, stitches: u32| json!({"id": id, "width": 1, "repeat": 4, "repeats": 1, "stitches": stitches});
    let rates = json!({"stitches_per_minute": 1, "hooping": 0, "placement": 0, "thread_change": 0, "hoop_change": 0});
    let text = json!({
        "format": 1, "name": "two of a size", "unit": "in",
        "strips": [{"id": "strip", "length": 4, "width": 1, "design": "vine"}],
        "hoops": [{"id": "hoop", "field": [5, 5]}],
        "designs": [{"id": "vine", "sizes": [size("dense", 500), size("open", 10)]}],
        "rates": rates,
        "goal": {"priorities": ["minutes"]},
    });
    let scenario = read(text.to_string().as_bytes()).expect("a scenario without fault");
    let plan = plan_by_lists(&scenario, &Deadline::after(LIMIT, StopSignal::new()));
    let plan = plan.expect("a plan");
    let [minutes] = &plan.objective[..] else {
        panic!("one term was asked for: {:?}", plan.objective);
    };
    let value = minutes.value.exact().expect("a number");
    assert_eq!((value.to_string().as_str(), minutes.proven), ("10", true));
}

#[test]
fn its_bounds_hold_and_its_proofs_are_right() {
    let (mut compared, mut proven, mut failures) = (0, 0, Vec::new());
    for seed in FIRST..FIRST + COUNT {
        let text = scenario(seed, Scale::Tiny);
        let scenario = read(text.as_bytes()).expect("a scenario without fault");
        let deadline = Deadline::after(LISTING, StopSignal::new());
        let (Ok(plan), Ok(best)) = (
            plan_by_lists(&scenario, &deadline),
            answer(&scenario, LIMIT),
        ) else {
            continue;
        };
        // The decomposition is compared with trying everything elsewhere.
        if best.status != Status::Optimal {
            continue;
        }
        compared += 1;
        proven += usize::from(plan.status == Status::Optimal);
        let mut wrong = flaws(&scenario, &plan);
        wrong.extend(contradiction(&plan, &best));
        if !wrong.is_empty() {
            failures.push(format!("seed {seed}: {wrong:?}\n{text}"));
        }
    }
    println!("{compared} compared, {proven} proven by lists");
    assert_none(&failures, compared);
    assert!(compared >= 600, "only {compared} were compared");
    assert!(proven >= 500, "only {proven} were proven");
}

/// What a plan says that the best one contradicts: of the first term in which they differ, or all of them.
fn contradiction(plan: &Plan, best: &Plan) -> Option<String> {
    for (said, least) in plan.objective.iter().zip(&best.objective) {
        let numbers = [&said.value, &said.bound, &least.value].map(|number| number.exact());
        let [Ok(value), Ok(bound), Ok(least)] = numbers else {
            return Some(format!("no numbers: {said:?}"));
        };
        if value < least || bound > least {
            return Some(format!("{said:?}, but the least is {least}"));
        }
        if value > least {
            return None;
        }
    }
    None
}
