//! Faulty progress documents: every fault in one pass, at its place and with its code.

use std::time::Duration;

use sashwright_solver::replan::Asked;
use sashwright_solver::scenario::read;
use sashwright_tests::answer::answer;
use serde_json::{Value, json};

/// A strip in three runs of 100 mm, and one in a single run, in a hoop for one run.
fn scenario() -> Value {
    json!({
        "format": 1, "unit": "mm",
        "strips": [{"id": "long", "length": 300, "width": 20, "design": "dots"},
            {"id": "short", "length": 70, "width": 20, "design": "dots"}],
        "hoops": [{"id": "slim", "field": [100, 20], "turn": false}],
        "designs": [{"id": "dots", "sizes": [
            {"id": "dots-10", "width": 20, "repeat": 10, "repeats": 10, "stop_early": true}]}],
    })
}

/// The faults of a progress: place, code.
fn faults(progress: &str) -> Vec<(String, &'static str)> {
    let text = scenario().to_string();
    let scenario = read(text.as_bytes()).expect("no fault");
    let plan = answer(&scenario, Duration::from_secs(10)).expect("a plan");
    let plan = json!(plan).to_string();
    match Asked::read([text.as_bytes(), plan.as_bytes(), progress.as_bytes()]) {
        Ok(_) => Vec::new(),
        Err(faults) => faults
            .into_iter()
            .map(|fault| {
                assert!(
                    !fault.message.is_empty() && !fault.mend.is_empty(),
                    "{fault:?}"
                );
                (fault.pointer, fault.code.name())
            })
            .collect(),
    }
}

/// Each progress and its one fault: `DOCUMENT => PLACE CODE`. Four hoopings, of which each holds a run.
const CASES: &str = r#"
{ => /progress json-syntax
[] => /progress wrong-kind
{} => /progress missing-field
{"format": 2} => /progress/format out-of-range
{"format": 1, "colour": 1} => /progress/colour unknown-field
{"format": 1, "unit": "cm"} => /progress/unit unknown-word
{"format": 1, "done": 5} => /progress/done out-of-range
{"format": 1, "done": -1} => /progress/done out-of-range
{"format": 1, "done": 2.5e-42} => /progress/done out-of-range
{"format": 1, "done": "all"} => /progress/done wrong-kind
{"format": 1, "done": [1, 5]} => /progress/done/1 out-of-range
{"format": 1, "done": [0]} => /progress/done/0 out-of-range
{"format": 1, "runs": {}} => /progress/runs wrong-kind
{"format": 1, "runs": [{"strip": "long"}]} => /progress/runs/0 missing-field
{"format": 1, "runs": [{"strip": "broad", "run": 1}]} => /progress/runs/0/strip unknown-id
{"format": 1, "runs": [{"strip": "long", "run": 4}]} => /progress/runs/0/run out-of-range
{"format": 1, "runs": [{"strip": "long", "run": 0}]} => /progress/runs/0/run out-of-range
{"format": 1, "runs": [{"strip": "long", "run": 1, "measured": 0}]} => /progress/runs/0/measured out-of-range
{"format": 1, "runs": [{"strip": "long", "run": 1, "measured": 201}]} => /progress/runs/0/measured out-of-range
{"format": 1, "runs": [{"strip": "long", "run": 1, "measured": 49}]} => /progress/runs/0/measured out-of-range
{"format": 1, "unit": "in", "runs": [{"strip": "long", "run": 1, "measured": 100}]} => /progress/runs/0/measured out-of-range
{"format": 1, "runs": [{"strip": "long", "run": 1, "outcome": "lost"}]} => /progress/runs/0/outcome unknown-word
{"format": 1, "runs": [{"strip": "long", "run": 1, "outcome": "ruined", "measured": 9}]} => /progress/runs/0 conflict
{"format": 1, "runs": [{"strip": "long", "run": 1}, {"strip": "long", "run": 1}]} => /progress/runs/1 duplicate-id
{"format": 1, "runs": [{"strip": "long", "run": 1}, {"strip": "long", "run": 3}]} => /progress/runs/0 conflict
{"format": 1, "strips": [{"strip": "long"}]} => /progress/strips/0 missing-field
{"format": 1, "strips": [{"strip": "broad", "recut": true}]} => /progress/strips/0/strip unknown-id
{"format": 1, "strips": [{"strip": "long", "length": "far"}]} => /progress/strips/0/length unreadable-number
{"format": 1, "strips": [{"strip": "long", "length": 9}, {"strip": "long", "recut": true}]} => /progress/strips/1 duplicate-id
{"format": 1, "broken_hoops": ["broad"]} => /progress/broken_hoops/0 unknown-id
{"format": 1, "broken_hoops": ["slim"]} => /progress/broken_hoops conflict
{"format": 1, "lost_sizes": [{"design": "dots"}]} => /progress/lost_sizes/0 missing-field
{"format": 1, "lost_sizes": [{"design": "dots", "size": "dots-9"}]} => /progress/lost_sizes/0 unknown-id
{"format": 1, "lost_sizes": [{"design": "dots", "size": "dots-10"}]} => /progress/lost_sizes conflict
"#;

#[test]
fn every_fault_is_found_at_its_place() {
    for case in CASES.lines().filter(|line| !line.is_empty()) {
        let (progress, expected) = case.split_once(" => ").expect("a place");
        let (place, code) = expected.split_once(' ').expect("a code");
        assert_eq!(faults(progress), [(place.to_string(), code)], "{case}");
    }
}

#[test]
fn faults_come_at_once() {
    let found = faults(
        r#"{"format": 1, "done": 9, "runs": [{"strip": "broad", "run": 1}], "broken_hoops": ["broad"]}"#,
    );
    let places: Vec<&str> = found.iter().map(|(place, _)| place.as_str()).collect();
    assert_eq!(
        places,
        [
            "/progress/done",
            "/progress/runs/0/strip",
            "/progress/broken_hoops/0"
        ]
    );
}

/// The parts of a strip "tie" would be called as another strip is.
#[test]
fn names_that_would_meet_are_told() {
    let mut scenario = scenario();
    scenario["strips"][1]["id"] = json!("long-end");
    let text = scenario.to_string();
    let read = read(text.as_bytes()).expect("no fault");
    let plan = json!(answer(&read, Duration::from_secs(10)).expect("a plan")).to_string();
    let progress = r#"{"format": 1, "runs": [{"strip": "long", "run": 1}]}"#;
    let faults =
        Asked::read([text.as_bytes(), plan.as_bytes(), progress.as_bytes()]).expect_err("a fault");
    let found: Vec<(&str, &str)> = faults
        .iter()
        .map(|fault| (fault.pointer.as_str(), fault.code.name()))
        .collect();
    assert_eq!(found, [("/scenario/strips/1", "duplicate-id")]);
}
