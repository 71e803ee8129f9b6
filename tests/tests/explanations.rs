//! Explanations: bounds that no optimum goes below, room in which strips really lie, changes whose plans are what is said.

use std::collections::HashMap;
use std::time::Duration;

use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::explain::{Explanation, Fitting, Outcome, explain_plan, explanation_schema};
use sashwright_solver::plan::{HoopingEntry, Plan, SegmentEntry, Status};
use sashwright_solver::scenario::{Scenario, Size, read};
use sashwright_tests::answer::answer;
use sashwright_tests::generator::{Scale, wished_scenario};
use sashwright_tests::oracle::{Run, between, fits};
use serde_json::{Value, json};

const LIMIT: Duration = Duration::from_secs(30);
const SEEDS: std::ops::Range<u64> = 0..150;
/// Runs of which every order is tried.
const MOST_RUNS: usize = 7;

fn explained(scenario: &Scenario, plan: &Plan) -> Explanation {
    explain_plan(scenario, plan, &Deadline::after(LIMIT, StopSignal::new()))
        .expect("an explanation")
}

/// The margins of a run: along, both ends together, and across.
fn margins(sizes: &HashMap<&str, &Size>, segments: &[SegmentEntry]) -> (i128, i128) {
    let of = |margin: fn(&Size) -> i64| {
        let margins = segments
            .iter()
            .map(|segment| i128::from(margin(sizes[segment.size.as_str()])));
        margins.max().expect("a segment")
    };
    let along = |size: &Size| {
        let stitched = size.repeat.nanometres() * i64::from(size.repeats);
        let margin = size.field[0].nanometres() - stitched;
        if margin > 0 && margin <= i64::from(size.repeats) {
            0
        } else {
            margin
        }
    };
    let across = |size: &Size| size.field[1].nanometres() - size.width.nanometres();
    (of(along), of(across))
}

/// The runs that a hooping would hold with so many strips more.
fn runs_with(scenario: &Scenario, plan: &Plan, hooping: &HoopingEntry, more: &Fitting) -> Vec<Run> {
    let nanometres = |measure: &sashwright_solver::length::Measure| {
        i128::from(
            measure
                .length(scenario.unit)
                .expect("a length")
                .nanometres(),
        )
    };
    let sizes_of = |design: &str| -> HashMap<&str, &Size> {
        let design = scenario
            .designs
            .iter()
            .find(|of| of.id == design)
            .expect("a design");
        design
            .sizes
            .iter()
            .map(|size| (size.id.as_str(), size))
            .collect()
    };
    let strip = |id: &str| {
        plan.strips
            .iter()
            .find(|strip| strip.id == id)
            .expect("a strip")
    };
    let mut runs = Vec::new();
    for placement in &hooping.placements {
        let entry = strip(&placement.strip);
        let segments = &entry.runs[placement.run as usize - 1].segments;
        let (margin_along, margin_across) = margins(&sizes_of(&entry.design), segments);
        runs.push(Run {
            length: nanometres(&placement.length),
            width: nanometres(&placement.width),
            margin_along,
            margin_across,
            open_ends: placement.open.len() as u8,
            strip: 0,
        });
    }
    let (margin_along, margin_across) =
        margins(&sizes_of(&strip(&more.like).design), &more.segments);
    let run = Run {
        length: nanometres(&more.stitched),
        width: nanometres(&more.width),
        margin_along,
        margin_across,
        open_ends: 0,
        strip: 0,
    };
    runs.extend(vec![run; more.count]);
    runs
}

/// Writes a value into a document; objects on the way are made where they are absent.
fn write(document: &mut Value, pointer: &str, value: &Value) {
    let mut place = document;
    for step in pointer.split('/').skip(1) {
        place = match place {
            Value::Array(items) => &mut items[step.parse::<usize>().expect("an index")],
            Value::Object(fields) => fields.entry(step).or_insert_with(|| json!({})),
            other => panic!("{pointer}: no place in {other}"),
        };
    }
    *place = value.clone();
}

#[test]
fn what_is_explained_is_true() {
    let validator = jsonschema::draft202012::new(&explanation_schema()).expect("a schema");
    let (mut bounds, mut rooms, mut changes, mut better) = (0, 0, 0, 0);
    for seed in SEEDS {
        let text = wished_scenario(seed, Scale::Tiny);
        let scenario = read(text.as_bytes()).expect("no fault");
        let Ok(plan) = answer(&scenario, LIMIT) else {
            continue;
        };
        let explanation = explained(&scenario, &plan);
        assert!(validator.is_valid(&json!(explanation)), "seed {seed}");
        // The fewest hoopings and the fewest joints of any plan: the optimum where they count alone.
        let fewest = |term: &str| {
            let mut alone: Value = serde_json::from_str(&text).expect("JSON");
            alone["goal"] = json!({"priorities": [term]});
            let scenario = read(alone.to_string().as_bytes()).expect("no fault");
            let plan = answer(&scenario, LIMIT).expect("a plan");
            plan.objective[0]
                .value
                .to_string()
                .parse::<u64>()
                .expect("a count")
        };
        let hoopings = fewest("hoopings");
        for bound in &explanation.bounds {
            bounds += 1;
            if bound.term == "hoopings" {
                assert!(
                    bound.at_least <= hoopings,
                    "seed {seed}: {}\n{text}",
                    bound.sentence
                );
                assert_eq!(bound.reached, bound.at_least == plan.hoopings.len() as u64);
            } else {
                let strips = plan
                    .strips
                    .iter()
                    .filter(|strip| bound.strips.contains(&strip.id));
                let joints: usize = strips.map(|strip| strip.runs.len() - 1).sum();
                assert!(
                    bound.at_least <= joints as u64,
                    "seed {seed}: {}\n{text}",
                    bound.sentence
                );
                assert_eq!(bound.reached, bound.at_least == joints as u64);
            }
        }
        for room in &explanation.room {
            let hooping = &plan.hoopings[room.hooping as usize - 1];
            let hoop = scenario
                .hoops
                .iter()
                .find(|hoop| hoop.id == hooping.hoop)
                .expect("a hoop");
            for more in &room.fits {
                let runs = runs_with(&scenario, &plan, hooping, more);
                if runs.len() <= MOST_RUNS {
                    rooms += 1;
                    assert!(
                        fits(&runs, hoop, between(&scenario)),
                        "seed {seed}: {more:?}\n{text}"
                    );
                }
            }
        }
        for change in &explanation.changes {
            let mut changed: Value = serde_json::from_str(&text).expect("JSON");
            for setting in &change.set {
                write(&mut changed, &setting.pointer, &setting.value);
            }
            let scenario = read(changed.to_string().as_bytes()).expect("no fault");
            let Ok(other) = answer(&scenario, LIMIT) else {
                // A strip that could not be stitched before can now, and its wishes cannot be kept.
                assert_eq!(
                    (change.outcome, change.objective.len()),
                    (Outcome::Worse, 0),
                    "seed {seed}"
                );
                continue;
            };
            changes += 1;
            if change.objective.iter().all(|entry| entry.proven) && other.status == Status::Optimal
            {
                assert_eq!(
                    change.objective, other.objective,
                    "seed {seed}: {}\n{text}",
                    change.sentence
                );
            }
            let values = |plan: &Plan| -> Vec<_> {
                plan.objective
                    .iter()
                    .map(|entry| entry.value.exact().expect("a number"))
                    .collect()
            };
            let (now, then) = (values(&plan), values(&other));
            match change.outcome {
                Outcome::Better => {
                    better += 1;
                    assert!(
                        then < now || other.strips.len() > plan.strips.len(),
                        "seed {seed}: {}",
                        change.sentence
                    );
                }
                Outcome::Same => assert_eq!(then, now, "seed {seed}: {}", change.sentence),
                Outcome::Worse => assert!(then > now, "seed {seed}: {}", change.sentence),
                Outcome::Open => {}
            }
        }
    }
    println!("{bounds} bounds, {rooms} rooms, {changes} changes, {better} of which better");
    assert!(bounds >= 300 && rooms >= 50 && changes >= 400 && better >= 30);
}
