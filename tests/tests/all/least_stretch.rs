//! Of coverings that are equal in every term a strip in one run gets the least stretched.

use std::time::Duration;

use sashwright_solver::scenario::read;
use sashwright_tests::answer::answer;

/// 35, 36 and 37 repeats of 1 in all cover 36 in within 97 to 103 per cent; 36 need no stretching.
#[test]
fn whole_repeats_are_not_squeezed() {
    let document = serde_json::json!({
        "format": 1, "unit": "in",
        "strips": [{"id": "a", "length": 36, "width": 1, "design": "d"}],
        "hoops": [{"id": "h", "field": [40, 4]}],
        "designs": [{"id": "d", "sizes": [
            {"id": "s", "width": 1, "repeat": 1, "repeats": 10, "stop_early": true, "scale": [0.97, 1.03]}
        ]}]
    });
    let scenario = read(document.to_string().as_bytes()).expect("a scenario without fault");
    let plan = answer(&scenario, Duration::from_secs(10)).expect("a plan");
    assert_eq!(plan.strips[0].scale.to_string(), "1");
}
