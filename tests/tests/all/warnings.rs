//! What a plan warns of, in a quilter's fractions.

use std::time::Duration;

use sashwright_solver::scenario::read;
use sashwright_tests::answer::answer;
use serde_json::json;

/// A hoop with a frame of 8 1/2 in takes 10 1/2 × 10 1/2 in of stabilizer, which a roll of 5 1/2 in has neither way.
#[test]
fn lengths_are_told_in_fractions() {
    let scenario = json!({
        "format": 1, "unit": "in",
        "strips": [{"id": "sash", "length": 6, "width": 2, "design": "leaf"}],
        "hoops": [{"id": "square", "field": [6, 6], "frame": [8.5, 8.5]}],
        "designs": [{"id": "leaf", "sizes": [{"id": "leaf", "width": 2, "repeat": 3, "repeats": 2}]}],
        "materials": {"stabilizer": {"roll_width": 5.5}}
    });
    let scenario = read(scenario.to_string().as_bytes()).expect("no fault");
    let plan = answer(&scenario, Duration::from_secs(20)).expect("a plan");
    let told = "The stabilizer for the hoop \"square\", 10 1/2 × 10 1/2 in, is wider both ways than the roll of 5 1/2 in.";
    assert_eq!(plan.warnings, [told]);
}

#[test]
fn a_hoop_whose_longer_side_is_never_along_is_told_of() {
    let hoops = |turn: bool, field: [u32; 2]| {
        let scenario = json!({
            "format": 1, "unit": "in",
            "strips": [{"id": "sash", "length": 6, "width": 2, "design": "leaf"}],
            "hoops": [{"id": "tall", "field": field, "turn": turn}],
            "designs": [{"id": "leaf", "sizes": [{"id": "leaf", "width": 2, "repeat": 3, "repeats": 2}]}]
        });
        let scenario = read(scenario.to_string().as_bytes()).expect("no fault");
        let plan = answer(&scenario, Duration::from_secs(20)).expect("a plan");
        plan.warnings
    };
    let told = "The hoop \"tall\" may not be turned, so strips lie along its 6 in; if they may lie along its 10 in as well, leave out \
                \"turn\": false.";
    assert_eq!(hoops(false, [6, 10]), [told]);
    assert_eq!(hoops(true, [6, 10]), [""; 0]);
    assert_eq!(hoops(false, [10, 6]), [""; 0]);
}
