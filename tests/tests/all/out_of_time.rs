//! Plans whose time is over before they begin: they are valid, their bounds hold, and what can be stitched is planned.

use std::time::{Duration, Instant};

use sashwright_solver::NoPlan;
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario::read;
use sashwright_tests::answer::{answer, flaws};
use sashwright_tests::failures::assert_none;
use sashwright_tests::generator::{Scale, scenario, wished_scenario};
use serde_json::{Value, json};

const LIMIT: Duration = Duration::from_secs(2);

/// Drawn scenarios without any time, against the same with time.
#[test]
fn what_is_planned_without_time_holds() {
    let mut failures = Vec::new();
    let (mut planned, mut refused, mut worse) = (0, 0, 0);
    let seeds = 40_000..40_600_u64;
    for seed in seeds.clone() {
        let scale = if seed % 4 == 0 {
            Scale::Bigger
        } else {
            Scale::Tiny
        };
        let text = scenario(seed, scale);
        let scenario = read(text.as_bytes()).expect("a scenario without fault");
        let hurried = answer(&scenario, Duration::ZERO);
        let limit = if scale == Scale::Tiny {
            LIMIT
        } else {
            LIMIT / 10
        };
        let calm = answer(&scenario, limit);
        let (hurried, calm) = match (hurried, calm) {
            (Ok(hurried), Ok(calm)) => (hurried, calm),
            (Err(NoPlan::CannotBeStitched(_)), Err(NoPlan::CannotBeStitched(_))) => {
                refused += 1;
                continue;
            }
            (hurried, calm) => {
                failures.push(format!(
                    "seed {seed}: without time {:?}, with time {:?}\n{text}",
                    hurried.err(),
                    calm.err()
                ));
                continue;
            }
        };
        planned += 1;
        let flaws = flaws(&scenario, &hurried);
        if !flaws.is_empty() {
            failures.push(format!("seed {seed}: {flaws:?}\n{text}"));
        }
        // Strips that no time was found for are told, and leave terms that cannot be compared.
        if hurried.unplanned.len() != calm.unplanned.len() {
            failures.push(format!("seed {seed}: {:?}\n{text}", hurried.unplanned));
            continue;
        }
        let figures = |plan: &Plan| {
            let first = json!(plan.objective[0]);
            ["value", "bound"].map(|field| first[field].as_f64().expect("a number"))
        };
        let ([value, bound], [least, proven]) = (figures(&hurried), figures(&calm));
        if value < proven || least < bound {
            failures.push(format!(
                "seed {seed}: {value} and at least {bound}, {least} and at least {proven}\n{text}"
            ));
        }
        worse += usize::from(value > least);
    }
    println!("{planned} planned, {worse} of them with a worse first term; {refused} refused");
    assert_none(&failures, seeds.count());
    assert!(planned > 500, "only {planned} were planned");
    assert!(0 < worse, "nothing was worse without time");
}

/// Drawn scenarios with wishes, without any time: a plan keeps them, and without a plan nobody but one who has none with time either is told
/// that wishes contradict each other, or that strips cannot be stitched.
#[test]
fn wishes_hold_without_time() {
    let mut failures = Vec::new();
    let (mut planned, mut refused, mut late) = (0, 0, 0);
    let seeds = 50_000..50_400_u64;
    for seed in seeds.clone() {
        let text = wished_scenario(seed, Scale::Tiny);
        let scenario = read(text.as_bytes()).expect("a scenario without fault");
        match (answer(&scenario, Duration::ZERO), answer(&scenario, LIMIT)) {
            (Ok(plan), Ok(_)) => {
                planned += 1;
                let flaws = flaws(&scenario, &plan);
                if !flaws.is_empty() {
                    failures.push(format!("seed {seed}: {flaws:?}\n{text}"));
                }
            }
            (Err(NoPlan::CannotBeStitched(_)), Err(NoPlan::CannotBeStitched(_))) => refused += 1,
            (Err(NoPlan::CannotBeStitched(faults)), Ok(_))
                if faults
                    .iter()
                    .all(|fault| fault.message.contains("The time was over")) =>
            {
                late += 1;
            }
            (hurried, calm) => failures.push(format!(
                "seed {seed}: without time {:?}, with time {:?}\n{text}",
                hurried.err(),
                calm.err()
            )),
        }
    }
    println!("{planned} planned, {refused} refused, {late} for want of time");
    assert_none(&failures, seeds.count());
    assert!(
        planned > 200 && refused > 10,
        "{planned} planned, {refused} refused"
    );
}

/// A size of half an inch that may stop after any of its 20 repeats, 10 in; strips of 27 in and more take three runs of it.
fn in_three_runs(strips: usize) -> Value {
    let strips: Vec<Value> = (0..strips)
        .map(|place| {
            let length = 27.0 + place as f64 / 1024.0;
            json!({"id": format!("s{place}"), "length": length, "width": 1, "design": "vine"})
        })
        .collect();
    json!({
        "format": 1, "unit": "in", "strips": strips,
        "hoops": [{"id": "large", "field": [10, 12], "turn": false}],
        "designs": [{"id": "vine", "sizes": [
            {"id": "vine-1", "width": 1, "repeat": 0.5, "repeats": 20, "stop_early": true}]}]
    })
}

/// Two thousand lengths: each is planned, in three runs as it must be, with bounds that say so.
#[test]
fn every_length_is_covered_without_time() {
    let scenario = read(in_three_runs(2000).to_string().as_bytes()).expect("no fault");
    let plan = answer(&scenario, Duration::ZERO).expect("a plan");
    assert_eq!(flaws(&scenario, &plan), Vec::<String>::new());
    assert!(plan.unplanned.is_empty());
    let joints = plan
        .objective
        .iter()
        .find(|entry| json!(entry.term) == "joints");
    let joints = json!(joints.expect("joints are counted"));
    assert_eq!(
        (&joints["value"], &joints["bound"]),
        (&json!(4000), &json!(4000))
    );
}

/// Strips that only both sizes in one run can cover within so small an overhang: nothing that is tried at once does, and they are planned all the
/// same, as what could be stitched may not be left out.
#[test]
fn what_is_not_found_at_once_is_planned_all_the_same() {
    // 2 a + 3 b is 12.55 in.
    let strips: Vec<Value> = (0..80)
        .map(|place| {
            let length = f64::from(2 * 2_000 + 3 * 2_850 + place) / 1000.0;
            json!({"id": format!("s{place}"), "length": length, "width": 1, "design": format!("vine-{place}")})
        })
        .collect();
    let designs: Vec<Value> = (0..80)
        .map(|place| {
            let short = 2.0 + f64::from(place) / 2000.0;
            json!({"id": format!("vine-{place}"), "sizes": [
                {"id": "a", "width": 1, "repeat": short, "repeats": 1},
                {"id": "b", "width": 1, "repeat": 2.85, "repeats": 1}]})
        })
        .collect();
    let scenario = json!({
        "format": 1, "unit": "in", "strips": strips, "designs": designs,
        "hoops": [{"id": "large", "field": [13, 14], "turn": false}],
        "rules": {"max_overhang": 0.01, "allow_partial": true}
    });
    let scenario = read(scenario.to_string().as_bytes()).expect("no fault");
    let plan = answer(&scenario, Duration::ZERO).expect("a plan");
    assert_eq!(flaws(&scenario, &plan), Vec::<String>::new());
    assert!(plan.unplanned.is_empty(), "{:?}", plan.unplanned);
}

/// Thirty sizes of whole tenths of an inch, of which more runs can be made than are listed, and two others: a strip of 12.68 in is 4 of 1.03
/// and 8 of 1.07. The search does not come so far. The strip may not be left out, as it can be stitched, and nobody says that it
/// cannot: there is no plan.
#[test]
fn what_the_search_does_not_find_is_not_left_out() {
    let tenths = (10..40).map(|tenths| format!("{}.{}", tenths / 10, tenths % 10));
    let repeats = tenths.chain(["1.03".into(), "1.07".into()]);
    let sizes: Vec<Value> = repeats
        .map(|repeat| json!({"id": repeat, "width": 1, "repeat": repeat, "repeats": 1}))
        .collect();
    let scenario = |last_first: bool| {
        let mut sizes = sizes.clone();
        if last_first {
            sizes.reverse();
        }
        let scenario = json!({
            "format": 1, "unit": "in",
            "strips": [
                {"id": "long", "length": 12.68, "width": 1, "design": "vine"},
                {"id": "short", "length": 3.9, "width": 1, "design": "vine"}],
            "hoops": [{"id": "large", "field": [14, 14]}],
            "designs": [{"id": "vine", "sizes": sizes}],
            "rules": {"max_overhang": 0, "allow_partial": true}
        });
        read(scenario.to_string().as_bytes()).expect("no fault")
    };
    let limit = Duration::from_secs(20);
    let Err(NoPlan::CannotBeStitched(faults)) = answer(&scenario(false), limit) else {
        panic!("a plan");
    };
    let [fault] = &faults[..] else {
        panic!("{faults:?}");
    };
    let beginning = "The strip long is not planned. No covering was found before";
    assert!(fault.message.starts_with(beginning), "{fault}");
    // With these two sizes first it is found among the first runs.
    let plan = answer(&scenario(true), limit).expect("a plan");
    assert!(plan.unplanned.is_empty(), "{:?}", plan.unplanned);
}

/// Strips whose runs are told how to follow each other, that grow one way, and are many: the orders of the work are too many to try in the
/// time. (Within 2 s it took 10, optimised; so much more than 2 is allowed for a busy machine.)
#[test]
fn orders_of_the_work_are_looked_for_until_the_time_is_over() {
    let borders = json!([{"width": 45, "corner": "mitred", "design": "reed"}, {"width": 20},
        {"width": 60, "corner": "cornerstone", "design": "tide"}]);
    let size = |id: &str, width: u32, repeat: u32, repeats: u32| {
        json!({
            "id": id, "width": width, "repeat": repeat, "repeats": repeats,
            "field": [repeat * repeats + 5, width + 10], "scale": [0.95, 1.05], "stop_early": id == "reed-l"
        })
    };
    let scenario = json!({
        "format": 1, "unit": "mm",
        "quilts": [{"id": "bay", "count": 2, "quilt": {"centre": [830, 410], "borders": borders}},
            {"id": "end", "quilt": {"centre": [415, 410], "borders": borders}}],
        "hoops": [{"id": "small", "field": [130, 180]}, {"id": "tall", "field": [160, 260], "turn": false}],
        "designs": [{"id": "reed", "sizes": [size("reed-s", 45, 40, 3), size("reed-l", 45, 40, 6)]},
            {"id": "tide", "sizes": [size("tide-s", 60, 55, 2), size("tide-l", 60, 55, 4)]}],
        "rules": {"growth": "one_way"},
        "wishes": [{"wish": "alike", "strips": ["bay-1-border-3-top", "bay-1-border-3-bottom"]},
            {"wish": "joints_away", "strips": ["end-border-1"], "distance": 30}]
    });
    let scenario = read(scenario.to_string().as_bytes()).expect("no fault");
    let begun = Instant::now();
    let plan = answer(&scenario, Duration::from_secs(2)).expect("a plan");
    assert!(begun.elapsed() < Duration::from_secs(30));
    assert!(!plan.hoopings.is_empty());
}
