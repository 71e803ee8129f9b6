//! What is said where something does not come out: of which wish, of which design.

use crate::call::run;
use serde_json::{Value, json};

/// A strip of 8 in, a file of 4 in, and a hoop for one of them: two runs, with a joint in the middle.
fn scenario(wishes: Value) -> Value {
    json!({
        "format": 1, "unit": "in",
        "strips": [{"id": "a", "length": 8, "width": 2, "design": "vine"}],
        "hoops": [{"id": "short", "field": [6, 3], "turn": false}],
        "designs": [{"id": "vine", "sizes": [{"id": "vine-4", "width": 2, "repeat": 2, "repeats": 2}]}],
        "wishes": wishes,
    })
}

#[test]
fn a_wish_that_cannot_be_kept_is_no_strip_that_cannot_be_stitched() {
    let away = json!({"wish": "joints_away", "strips": ["a"], "distance": 1});
    let (code, out, err) = run(&["plan", "-"], &scenario(json!([away])).to_string());
    assert_eq!((code, out.as_str()), (3, ""));
    assert!(
        err.starts_with("There is no plan: a wish cannot be kept.\n  /wishes/0: "),
        "{err}"
    );
    // With files of 2 in as well 2 | 4 | 2 has no joint near the middle, but both sizes; and a size alone, with one segment a run,
    // leaves 4 | 4 and 2 | 2 | 2 | 2.
    let wishes = json!([away, {"wish": "one_size", "strips": ["a"]}]);
    let mut scenario = scenario(wishes);
    let sizes = scenario["designs"][0]["sizes"].as_array_mut();
    let short = json!({"id": "vine-2", "width": 2, "repeat": 2, "repeats": 1});
    sizes.expect("sizes").push(short);
    scenario["rules"] = json!({"combine_sizes": false});
    let (code, _, err) = run(&["plan", "-"], &scenario.to_string());
    assert_eq!(code, 3);
    assert!(
        err.starts_with("There is no plan: 2 wishes cannot be kept together.\n  /wishes/0: "),
        "{err}"
    );
}

/// Nothing gets better without a wish that the plan keeps anyway.
#[test]
fn wishes_that_were_tried_without_are_named() {
    let wishes = json!([{"wish": "one_size", "strips": ["a"]}, {"wish": "at_most", "runs": 1}]);
    let (code, out, err) = run(&["explain", "-"], &scenario(wishes).to_string());
    assert_eq!((code, err.as_str()), (0, ""));
    let text = out.split_whitespace().collect::<Vec<&str>>().join(" ");
    assert!(
        text.contains(
            "without the wish one_size at /wishes/0, without the wish at_most at /wishes/1."
        ),
        "{text}"
    );
}

#[test]
fn a_design_that_is_not_there_is_told_with_those_that_are() {
    let mut scenario = scenario(json!([]));
    scenario["strips"][0]["design"] = json!("wine");
    let (code, _, err) = run(&["plan", "-"], &scenario.to_string());
    assert_eq!(code, 2);
    assert!(
        err.contains("in \"designs\", such as vine. [unknown-id]"),
        "{err}"
    );
    scenario.as_object_mut().expect("fields").remove("designs");
    let (code, _, err) = run(&["plan", "-"], &scenario.to_string());
    assert_eq!(code, 2);
    assert!(
        err.contains("Add it to \"designs\", which has none"),
        "{err}"
    );
}

#[test]
fn a_scale_is_told_as_people_write_it() {
    let mut scenario = scenario(json!([]));
    scenario["designs"][0]["sizes"][0]["scale"] = json!([1.01, 1.03]);
    let (code, _, err) = run(&["plan", "-"], &scenario.to_string());
    assert_eq!(code, 2);
    assert!(err.contains("may range from 1.01 to 1.03."), "{err}");
}
