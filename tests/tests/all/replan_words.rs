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

/// 300 mm are three runs of 100 mm. After one that came out 97 mm long 203 mm are left, for which 2 · 100 and 100 + 102 mm are too
/// short: two runs of 102 mm.
#[test]
fn other_runs_of_the_same_number_are_told_as_such() {
    let size =
        |id: &str, repeat: f64| json!({"id": id, "width": 20, "repeat": repeat, "repeats": 10});
    let scenario = json!({
        "format": 1, "unit": "mm",
        "strips": [{"id": "long", "length": 300, "width": 20, "design": "dots"}],
        "hoops": [{"id": "slim", "field": [105, 20], "turn": false}],
        "designs": [{"id": "dots", "sizes": [size("dots-100", 10.0), size("dots-102", 10.2)]}],
        "rules": {"growth": "one_way"},
        "goal": {"priorities": ["hoopings", "joints", "overhang"]},
    });
    let plan = read(scenario.to_string().as_bytes()).expect("no fault");
    let plan = answer(&plan, PATIENCE).expect("a plan");
    let first = plan.strips[0].runs.iter().position(|run| run.hooping == 1);
    let run = first.expect("a first run") + 1;
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
