//! What now? Answers against the plan they go on from, against fresh plans, and against trying everything.

use std::time::Duration;

use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::length::Measure;
use sashwright_solver::plan::{HoopingEntry, Plan};
use sashwright_solver::replan::{Asked, Replan, replan};
use sashwright_solver::scenario::{Scenario, read};
use sashwright_tests::agreement::disagreement;
use sashwright_tests::answer::{answer, flaws};
use sashwright_tests::failures::assert_none;
use sashwright_tests::generator::{Scale, scenario};
use sashwright_tests::oracle::{Outcome, Work, solve};
use sashwright_tests::random::SplitMix64;
use serde_json::{Value, json};

/// Long enough that no small scenario runs out of it.
const PATIENCE: Duration = Duration::from_secs(30);

/// What is kept does not depend on the time for its bounds.
const SHORT: Duration = Duration::from_millis(100);

/// What the oracle may spend on one scenario; bigger ones are passed over.
const STEPS: u64 = 300_000;

fn asked(scenario: &str, plan: &Plan, progress: &Value) -> Asked {
    let plan = serde_json::to_vec(plan).expect("a document");
    let progress = progress.to_string();
    Asked::read([scenario.as_bytes(), &plan, progress.as_bytes()])
        .unwrap_or_else(|faults| panic!("{faults:?}\n{scenario}\n{progress}"))
}

fn answered(scenario: &str, plan: &Plan, progress: &Value, limit: Duration) -> Replan {
    let deadline = Deadline::after(limit, StopSignal::new());
    replan(&asked(scenario, plan, progress), false, &deadline)
        .unwrap_or_else(|error| panic!("{error:?}\n{scenario}\n{progress}"))
}

/// The scenario and the plan that an answer gives.
fn rest(answer: &Replan) -> (String, Scenario, Plan) {
    let text = answer.scenario.clone().expect("a scenario").to_string();
    let scenario = read(text.as_bytes()).unwrap_or_else(|faults| panic!("{faults:?}\n{text}"));
    let plan = answer.plan.clone().expect("a plan");
    (text, scenario, *plan)
}

/// Where a run lies: lane, along, across, width, reversed.
type Lying = (u32, Measure, Measure, Measure, bool);

/// What lies where: hoop, turned, and each placement.
fn laid(hooping: &HoopingEntry) -> (String, bool, Vec<Lying>) {
    let placements = hooping.placements.iter().map(|of| {
        (
            of.lane,
            of.along.clone(),
            of.across.clone(),
            of.width.clone(),
            of.reversed,
        )
    });
    (hooping.hoop.clone(), hooping.turned, placements.collect())
}

/// Doing nothing wrong changes nothing: after any number of hoopings, in one step or hooping by hooping, what is left is the
/// rest of the same plan.
#[test]
fn exact_measures_leave_the_rest_of_the_same_plan() {
    let (mut plans, mut steps, mut begun) = (0, 0, 0);
    for (seed, scale) in (0..260)
        .map(|seed| (seed, Scale::Tiny))
        .chain((0..30).map(|seed| (seed, Scale::Bigger)))
    {
        let text = scenario(seed, scale);
        let drawn = read(text.as_bytes()).expect("no fault");
        let Ok(plan) = answer(&drawn, SHORT) else {
            continue;
        };
        plans += 1;
        let (mut chained, mut chained_plan) = (text.clone(), plan.clone());
        for done in 0..=plan.hoopings.len() {
            let answer = answered(&text, &plan, &json!({"format": 1, "done": done}), SHORT);
            assert!(
                answer.same,
                "{seed}, {done} done: {:?}\n{text}",
                answer.changes
            );
            assert!(
                answer.warnings.is_empty(),
                "{seed}, {done}: {:?}\n{text}",
                answer.warnings
            );
            let (_, scenario, left) = rest(&answer);
            let flaws = flaws(&scenario, &left);
            assert!(flaws.is_empty(), "{seed}, {done} done: {flaws:?}\n{text}");
            let old: Vec<_> = plan.hoopings[done..].iter().map(laid).collect();
            let new: Vec<_> = left.hoopings.iter().map(laid).collect();
            assert_eq!(new, old, "{seed}, {done} done\n{text}");
            begun += usize::from(!scenario.begun.is_empty());
            steps += 1;
            if done > 0 {
                let progress = json!({"format": 1, "done": 1});
                let answer = answered(&chained, &chained_plan, &progress, SHORT);
                assert!(
                    answer.same,
                    "{seed}, hooping {done}: {:?}\n{chained}",
                    answer.changes
                );
                let scenario;
                (chained, scenario, chained_plan) = rest(&answer);
                let new: Vec<_> = chained_plan.hoopings.iter().map(laid).collect();
                assert_eq!(new, old, "{seed}, hooping by hooping, {done} done\n{text}");
                assert!(sashwright_solver::check::check(&scenario, &chained_plan).is_empty());
            }
        }
    }
    println!("{plans} plans, {steps} steps, {begun} of them with strips that are begun");
    assert!(plans >= 200 && begun >= 300, "{plans} plans, {begun} begun");
}

/// Whatever is measured and whatever goes wrong, the plan of what is left is valid and as good as trying everything finds.
#[test]
fn drift_is_taken_up_at_the_optimum() {
    let (mut compared, mut drifted, mut warned) = (0, 0, 0);
    let mut failures = Vec::new();
    for seed in 0..700 {
        let text = scenario(seed, Scale::Tiny);
        let drawn = read(text.as_bytes()).expect("no fault");
        let Ok(plan) = answer(&drawn, PATIENCE) else {
            continue;
        };
        let mut random = SplitMix64::new(seed ^ 0x0072_6570_6c61_6e73);
        let done = random.between(1, plan.hoopings.len() as i64) as usize;
        let progress = went(&mut random, &plan, done);
        let Ok(scenario) = Asked::read([
            text.as_bytes(),
            &serde_json::to_vec(&plan).expect("a document"),
            progress.to_string().as_bytes(),
        ]) else {
            panic!("seed {seed}: {progress}\n{text}");
        };
        let deadline = Deadline::after(PATIENCE, StopSignal::new());
        let answer = match replan(&scenario, false, &deadline) {
            Ok(answer) => answer,
            // Nothing that is left can be stitched.
            Err(sashwright_solver::NoPlan::CannotBeStitched(_)) => continue,
            Err(other) => panic!("seed {seed}: {other:?}\n{text}\n{progress}"),
        };
        warned += usize::from(!answer.warnings.is_empty());
        let (rest_text, scenario, left) = rest(&answer);
        drifted += usize::from(!scenario.begun.is_empty());
        let Ok(outcome) = solve(&scenario, &mut Work::of(STEPS)) else {
            continue;
        };
        if let Outcome::CannotBeStitched(strips) = &outcome {
            assert!(strips.is_empty() || left.hoopings.is_empty(), "{strips:?}");
            continue;
        }
        compared += 1;
        if let Some(difference) = disagreement(&scenario, &Ok(left), &outcome) {
            failures.push(format!(
                "seed {seed}: {difference}\n{progress}\n{text}\n{rest_text}"
            ));
        }
    }
    println!("{compared} compared, {drifted} with strips that are begun, {warned} with warnings");
    assert_none(&failures, compared);
    assert!(compared >= 300 && drifted >= 150, "{compared}, {drifted}");
}

/// The first hoopings done, with runs that came out otherwise, and now and then a run ruined.
fn went(random: &mut SplitMix64, plan: &Plan, done: usize) -> Value {
    let mut runs = Vec::new();
    for placement in plan.hoopings[..done].iter().flat_map(|of| &of.placements) {
        let length = placement.length.exact().expect("a number");
        // Up to 2 % off.
        let off = random.between(-20, 20);
        let measured = Measure::from_ratio(
            length.numerator() * i128::from(1000 + off),
            length.denominator() * 1000,
        );
        runs.push(match random.between(1, 10) {
            1..=2 => json!({"strip": placement.strip, "run": placement.run}),
            3 => json!({"strip": placement.strip, "run": placement.run, "outcome": "ruined"}),
            _ => json!({"strip": placement.strip, "run": placement.run, "measured": measured}),
        });
    }
    json!({"format": 1, "done": done, "runs": runs})
}

/// A strip that is cut anew is planned with all strips that are not begun as if there had been nothing before.
#[test]
fn without_begun_strips_it_is_a_fresh_plan() {
    let mut compared = 0;
    for seed in 0..500 {
        let text = scenario(seed, Scale::Tiny);
        let mut fresh: Value = serde_json::from_str(&text).expect("JSON");
        let drawn = read(text.as_bytes()).expect("no fault");
        if fresh.get("quilt").is_some() || fresh.get("quilts").is_some() {
            continue;
        }
        let Ok(plan) = answer(&drawn, PATIENCE) else {
            continue;
        };
        // Up to a hooping after which no strip is half done.
        let whole = |done: usize| {
            plan.strips.iter().all(|strip| {
                let mut hoopings = strip.runs.iter().map(|run| run.hooping as usize <= done);
                hoopings.clone().all(|run| run) || !hoopings.any(|run| run)
            })
        };
        let Some(done) = (1..=plan.hoopings.len()).find(|done| whole(*done)) else {
            continue;
        };
        let is_done = |strip: &sashwright_solver::plan::StripEntry| {
            strip.runs.iter().all(|run| run.hooping as usize <= done)
        };
        let Some(again) = plan.strips.iter().find(|strip| is_done(strip)) else {
            continue;
        };
        let progress =
            json!({"format": 1, "done": done, "strips": [{"strip": again.id, "recut": true}]});
        let answer = answered(&text, &plan, &progress, PATIENCE);
        let left = plan
            .strips
            .iter()
            .filter(|strip| strip.id == again.id || !is_done(strip));
        let left: Vec<Value> = left
            .map(|strip| {
                let (id, design) = (&strip.id, &strip.design);
                let sides = [&strip.length, &strip.width];
                json!({"id": id, "design": design, "length": sides[0], "width": sides[1]})
            })
            .collect();
        let unplanned = plan.unplanned.len();
        fresh["strips"] = Value::Array(left);
        let fresh = read(fresh.to_string().as_bytes()).expect("no fault");
        let expected = sashwright_tests::answer::answer(&fresh, PATIENCE).expect("a plan");
        let (_, _, new) = rest(&answer);
        let values = |plan: &Plan| -> Vec<Measure> {
            plan.objective
                .iter()
                .map(|entry| entry.value.clone())
                .collect()
        };
        assert_eq!(
            values(&new),
            values(&expected),
            "{seed}\n{text}\n{progress}"
        );
        assert_eq!(new.unplanned.len(), unplanned, "{seed}");
        compared += 1;
    }
    println!("{compared} compared");
    assert!(compared >= 100, "{compared}");
}

/// Two runs of 4 in, in a field of 4 1/2 in with a margin of 1/2 in. At 9 3/4 in they would have to be scaled to 4.875 in each, which the
/// scale range allows and the hoop does not: three are needed.
#[test]
fn what_is_kept_of_the_old_plan_has_to_fit_its_hoop() {
    let scenario = json!({
        "format": 1, "unit": "in",
        "strips": [{"id": "long", "length": 8, "width": 0.5, "design": "vine"}],
        "hoops": [{"id": "slim", "field": [4.5, 3], "turn": false}],
        "designs": [{"id": "vine", "sizes": [
            {"id": "four", "width": 0.5, "repeat": 4, "repeats": 1, "field": [4.5, 0.5], "scale": [1, 1.25]}]}],
    });
    let text = scenario.to_string();
    let plan = answer(&read(text.as_bytes()).expect("no fault"), PATIENCE).expect("a plan");
    assert_eq!(plan.hoopings.len(), 2);
    let progress = json!({"format": 1, "done": 0, "strips": [{"strip": "long", "length": 9.75}]});
    let answer = answered(&text, &plan, &progress, PATIENCE);
    assert_eq!(answer.hoopings_left, 3);
    let (_, scenario, plan) = rest(&answer);
    assert_eq!(flaws(&scenario, &plan), Vec::<String>::new());
}
