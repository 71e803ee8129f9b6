//! Plans that do not keep a wish.

use serde_json::{Value, json};

use crate::by_hand::ByHand;
use crate::plans::{stopping_early, two_lanes};

/// A plan of a scenario with one wish more.
fn wished(of: ByHand, wish: Value) -> ByHand {
    of.scenario("/wishes", json!([wish]))
}

/// Hoopings 1 to 3 hold the three runs of "long", hooping 4 the one of "short", each alone in the hoop "slim".
#[test]
fn wishes_about_one_run_a_hooping() {
    let early = |wish: Value| wished(stopping_early(), wish);
    early(json!({"wish": "only_in", "strips": ["long", "short"], "hoops": ["slim"]})).is_accepted();
    early(json!({"wish": "apart", "strips": ["long", "short"]})).is_accepted();
    early(json!({"wish": "at_most", "runs": 1})).is_accepted();
    early(json!({"wish": "one_size", "strips": ["long", "short"]})).is_accepted();
    early(json!({"wish": "first", "strips": ["long"]})).is_accepted();
    early(json!({"wish": "first", "strips": ["short"]}))
        .is_refused_for(&["wish-first at /hoopings/3"]);
    // "short" is where it should be; "long" is neither there nor in one run.
    early(json!({"wish": "together", "strips": ["long", "short"]}))
        .is_refused_for(&["wish-together at /strips/1/runs"]);
    let hoops = json!([{"id": "slim", "field": [100, 20], "turn": false},
        {"id": "other", "field": [100, 20], "turn": false}]);
    early(json!({"wish": "only_in", "strips": ["short"], "hoops": ["other"]}))
        .scenario("/hoops", hoops)
        .is_refused_for(&["wish-only-in at /hoopings/3/placements/0"]);
}

/// All four strips lie in one hooping.
#[test]
fn wishes_about_four_runs_in_a_hooping() {
    let lanes = |wish: Value| wished(two_lanes(), wish);
    lanes(json!({"wish": "together", "strips": ["a", "c"]})).is_accepted();
    lanes(json!({"wish": "at_most", "runs": 4})).is_accepted();
    lanes(json!({"wish": "at_most", "runs": 3}))
        .is_refused_for(&["wish-at-most at /hoopings/0/placements"]);
    lanes(json!({"wish": "apart", "strips": ["b", "c"]}))
        .is_refused_for(&["wish-apart at /hoopings/0/placements"]);
}
