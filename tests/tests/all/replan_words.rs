//! What an answer to "What now?" says in sentences, for scenarios whose answers are found by hand.

use std::time::Duration;

use sashwright_solver::NoPlan;
use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::replan::{Asked, Replan, replan};
use sashwright_solver::scenario::read;
use sashwright_tests::answer::answer;
use serde_json::{Value, json};

const PATIENCE: Duration = Duration::from_secs(20);

/// What is left of the best plan of a scenario after some work.
fn after(scenario: &Value, progress: &Value) -> Result<Replan, NoPlan> {
    let text = scenario.to_string();
    let scenario = read(text.as_bytes()).expect("no fault");
    let plan = json!(answer(&scenario, PATIENCE).expect("a plan")).to_string();
    let progress = progress.to_string();
    let asked = Asked::read([text.as_bytes(), plan.as_bytes(), progress.as_bytes()]);
    let deadline = Deadline::after(PATIENCE, StopSignal::new());
    replan(&asked.expect("no fault"), false, &deadline)
}

/// 300 mm are three runs of 100 mm.
fn three_runs() -> Value {
    let size =
        |id: &str, repeat: f64| json!({"id": id, "width": 20, "repeat": repeat, "repeats": 10});
    json!({
        "format": 1, "unit": "mm",
        "strips": [{"id": "long", "length": 300, "width": 20, "design": "dots"}],
        "hoops": [{"id": "slim", "field": [105, 20], "turn": false}],
        "designs": [{"id": "dots", "sizes": [size("dots-100", 10.0), size("dots-102", 10.2)]}],
        "rules": {"growth": "one_way"},
        "goal": {"priorities": ["hoopings", "joints", "overhang"]},
    })
}

/// The run that is stitched first, from 1.
fn first_run(scenario: &Value) -> usize {
    let scenario = read(scenario.to_string().as_bytes()).expect("no fault");
    let plan = answer(&scenario, PATIENCE).expect("a plan");
    let first = plan.strips[0].runs.iter().position(|run| run.hooping == 1);
    first.expect("a first run") + 1
}

/// What an answer warns of, but for where stitching misses a seam line.
fn doubts(scenario: &Value, progress: &Value) -> Vec<String> {
    let answer = after(scenario, progress).expect("a plan");
    let warnings = answer.warnings.into_iter();
    let doubts = warnings.filter(|warning| warning.by.is_none());
    doubts.map(|warning| warning.sentence).collect()
}

/// 70 of 100 mm are taken for what they are told to be, with a doubt; 97 without.
#[test]
fn a_length_that_is_hard_to_believe_is_doubted() {
    let scenario = three_runs();
    let run = first_run(&scenario);
    let measured = |length: u32| {
        let runs = json!([{"strip": "long", "run": run, "measured": length}]);
        doubts(&scenario, &json!({"format": 1, "done": 1, "runs": runs}))
    };
    let far = format!(
        "Run {run} of the strip long is planned 100 mm long, and 70 mm is 70 % of that: cloth hardly gives so much. Measure it again \
         before the next one is stitched."
    );
    assert_eq!(measured(70), [far]);
    assert_eq!(measured(97), [""; 0]);
}

/// A strip of so many mm in runs of 140 mm that nothing is scaled for, and half of that.
fn unscaled(length: u32) -> Value {
    let size =
        |id: &str, repeats: u32| json!({"id": id, "width": 40, "repeat": 70, "repeats": repeats});
    json!({
        "format": 1, "unit": "mm",
        "strips": [{"id": "s", "length": length, "width": 40, "design": "dots"}],
        "hoops": [{"id": "h", "field": [150, 60], "frame": [190, 100]}],
        "designs": [{"id": "dots", "sizes": [size("dots-70", 1), size("dots-140", 2)]}],
    })
}

/// A run that is 3 mm short leaves 3 mm too much for the others. Whoever eases them in, and says so as advised, keeps the runs that were
/// planned: of two runs, and of three with the first stitched in the middle or at an end.
#[test]
fn what_is_advised_against_a_drift_keeps_the_plan() {
    for length in [280, 420] {
        let scenario = unscaled(length);
        for run in 1..=length / 140 {
            let runs = json!([{"strip": "s", "run": run, "measured": 137}]);
            let told = doubts_and_drifts(&scenario, &json!({"format": 1, "runs": runs}));
            let advice = format!(
                "ask again with the \"length\" {} of the strip s in the same progress.",
                length - 3
            );
            assert!(
                !told.is_empty() && told.iter().all(|told| told.contains(&advice)),
                "{told:?}"
            );
            let eased = json!([{"strip": "s", "length": length - 3}]);
            let progress = json!({"format": 1, "runs": runs, "strips": eased});
            assert_eq!(doubts_and_drifts(&scenario, &progress), [""; 0]);
            let answer = after(&scenario, &progress).expect("a plan");
            assert_eq!(answer.hoopings_left, u64::from(length / 140 - 1));
        }
    }
}

/// What is left of a strip may end before a spot of the whole: the wish holds for it all the same.
#[test]
fn a_spot_beyond_what_is_left_is_no_fault() {
    let mut scenario = unscaled(420);
    scenario["wishes"] =
        json!([{"wish": "joints_away", "strips": ["s"], "spots": [10, 410], "distance": 20}]);
    for run in 1..=3 {
        let runs = json!([{"strip": "s", "run": run}]);
        let answer = after(&scenario, &json!({"format": 1, "runs": runs})).expect("a plan");
        assert_eq!(answer.hoopings_left, 2);
    }
}

/// All that an answer warns of.
fn doubts_and_drifts(scenario: &Value, progress: &Value) -> Vec<String> {
    let answer = after(scenario, progress).expect("a plan");
    let warnings = answer.warnings.into_iter();
    warnings.map(|warning| warning.sentence).collect()
}

/// Without the size of 70 mm what is left of 210 mm after a run of 140 mm has to be another one of 140 mm: nothing drifted.
#[test]
fn a_lost_size_is_no_drift() {
    let scenario = unscaled(210);
    let lost = json!([{"design": "dots", "size": "dots-70"}]);
    let scenario_text = read(scenario.to_string().as_bytes()).expect("no fault");
    let plan = answer(&scenario_text, PATIENCE).expect("a plan");
    let long = plan.strips[0]
        .runs
        .iter()
        .position(|run| run.segments[0].size == "dots-140");
    let run = long.expect("a run of 140 mm") + 1;
    let runs = json!([{"strip": "s", "run": run}]);
    let told = doubts_and_drifts(
        &scenario,
        &json!({"format": 1, "runs": runs, "lost_sizes": lost}),
    );
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(
        told[0].starts_with("Planned anew with what is left of hoops and sizes, the strip s-"),
        "{told:?}"
    );
    assert!(
        told[0].contains("runs 70 mm past its seam line, which its fabric was not cut for"),
        "{told:?}"
    );
}

/// 2800 mm for 280 are taken as told, with a doubt.
#[test]
fn a_strip_that_is_ten_times_as_long_is_doubted() {
    let length = |mm: u32| json!({"format": 1, "strips": [{"strip": "s", "length": mm}]});
    let told = doubts(&unscaled(280), &length(2800));
    let far = "The strip s was to be 280 mm long, and 2800 mm is 1000 % of that. Measure it again before anything is cut or stitched.";
    assert_eq!(told, [far]);
    assert_eq!(doubts(&unscaled(280), &length(277)), [""; 0]);
}

/// Three strips of 100 mm in one hooping: with one of them stitched, and with all of them, though the hooping is not told as done.
#[test]
fn a_hooping_that_was_forgotten_is_told_of() {
    let mut scenario = three_runs();
    scenario["strips"] =
        json!([{"id": "s", "length": 100, "width": 20, "count": 3, "design": "dots"}]);
    scenario["hoops"] =
        json!([{"id": "wide", "field": [150, 105]}, {"id": "huge", "field": [200, 300]}]);
    let stitched = |count: u32| {
        let runs: Vec<Value> = (1..=count)
            .map(|strip| json!({"strip": format!("s-{strip}"), "run": 1}))
            .collect();
        doubts(&scenario, &json!({"format": 1, "done": 0, "runs": runs}))
    };
    let told = "Hooping 1 is not told as done, though a run of it is told as stitched: run 1 of the strip s-2 and 1 more of it are taken as \
                still to be stitched.";
    assert_eq!(stitched(1), [told]);
    assert_eq!(stitched(3), [""; 0]);
}

/// After one that came out 97 mm long 203 mm are left, for which 2 · 100 and 100 + 102 mm are too
/// short: two runs of 102 mm.
#[test]
fn other_runs_of_the_same_number_are_told_as_such() {
    let scenario = three_runs();
    let run = first_run(&scenario);
    let progress =
        json!({"format": 1, "done": 1, "runs": [{"strip": "long", "run": run, "measured": 97}]});
    let answer = after(&scenario, &progress).expect("a plan");
    let told: Vec<&str> = (answer.changes.iter())
        .map(|change| change.sentence.as_str())
        .filter(|sentence| sentence.contains("stitched otherwise"))
        .collect();
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(
        told[0].ends_with("stitched otherwise, still in 2 runs."),
        "{told:?}"
    );
}

/// Two strips of two runs of 200 mm and one of 200 mm that may have no joint in its middle.
fn wished() -> Value {
    let size =
        |id: &str, repeats: u32| json!({"id": id, "width": 20, "repeat": 10, "repeats": repeats});
    json!({
        "format": 1, "unit": "mm",
        "strips": [{"id": "a", "length": 400, "width": 20, "count": 2, "design": "dots"},
            {"id": "b", "length": 200, "width": 20, "design": "dots"}],
        "hoops": [{"id": "long", "field": [200, 20], "turn": false}, {"id": "short", "field": [100, 20], "turn": false}],
        "designs": [{"id": "dots", "sizes": [size("dots-100", 10), size("dots-200", 20)]}],
        "wishes": [{"wish": "first", "strips": ["a"]}, {"wish": "alike", "strips": ["a"]},
            {"wish": "joints_away", "strips": ["b"], "distance": 10}],
    })
}

/// Without the long hoop "b" is two runs of 100 mm with a joint in its middle. The wish stands third in the scenario that was given,
/// and second in that of what is left, since two strips of which one is begun are alike no more.
#[test]
fn a_wish_that_cannot_be_kept_any_more_is_named_where_it_was_given() {
    let progress = json!({"format": 1, "done": 1, "broken_hoops": ["long"]});
    let Err(NoPlan::CannotBeStitched(faults)) = after(&wished(), &progress) else {
        panic!("a joint in the middle of b");
    };
    let told: Vec<(&str, &str)> = faults
        .iter()
        .map(|fault| (fault.pointer.as_str(), fault.code.name()))
        .collect();
    assert_eq!(told, [("/wishes/2", "contradicting-wishes")]);
}

#[test]
fn a_wish_that_is_left_out_is_named_until_all_that_it_asks_for_is_stitched() {
    let warned = |done: u32| -> Vec<String> {
        let answer = after(&wished(), &json!({"format": 1, "done": done})).expect("a plan");
        let warnings = answer.warnings.into_iter();
        warnings.map(|warning| warning.sentence).collect()
    };
    let told = warned(1);
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(
        told[0].starts_with("The wish alike at /wishes/1 asked"),
        "{told:?}"
    );
    // The hoopings of the strips "a" come first: four of them.
    assert_eq!(warned(4), Vec::<String>::new());
    assert_eq!(warned(5), Vec::<String>::new());
}
