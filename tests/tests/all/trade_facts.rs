//! Facts that a quilter takes for granted. All are common practice of the trade; none has a published source.

use std::time::Duration;

use sashwright_solver::NoPlan;
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario::read;
use sashwright_tests::answer::{answer, flaws};
use serde_json::{Value, json};

fn plan(document: &Value) -> Plan {
    let scenario = read(document.to_string().as_bytes()).expect("no fault");
    let plan = answer(&scenario, Duration::from_secs(20)).expect("a plan");
    assert_eq!(flaws(&scenario, &plan), Vec::<String>::new());
    plan
}

/// One strip of width 2 with one size, in inches, with the usual allowances.
fn one_strip(length: Value, size: Value, hoops: Value) -> Value {
    json!({
        "format": 1,
        "unit": "in",
        "strips": [{"id": "border", "length": length, "width": 2, "design": "vine"}],
        "designs": [{"id": "vine", "sizes": [size]}],
        "hoops": hoops,
        "goal": {"priorities": ["hoopings", "stabilizer"]},
    })
}

/// A border that finishes at 2 in is trimmed to 2 1/2 in, a quarter for each seam, and first cut at 3.
#[test]
fn a_border_of_2_is_trimmed_to_2_and_a_half_and_cut_at_3() {
    let size = json!({"id": "v", "width": 2, "repeat": 7, "repeats": 1});
    let plan = plan(&one_strip(
        json!(7),
        size,
        json!([{"id": "h", "field": [8, 8]}]),
    ));
    let strip = &plan.strips[0];
    let shown =
        |pair: &[sashwright_solver::length::Measure; 2]| pair.clone().map(|side| side.to_string());
    assert_eq!(strip.width.to_string(), "2");
    assert_eq!(shown(&strip.trimmed), ["7.5", "2.5"]);
    assert_eq!(shown(&strip.cut), ["8", "3"]);
}

/// A design whose field is less than 5 × 7 fits that hoop; one 9.3 in long needs the 6 × 10.
#[test]
fn a_design_takes_the_hoop_that_its_field_asks_for() {
    let hoops = json!([{"id": "5x7", "field": [5, 7]}, {"id": "6x10", "field": [6, 10]}]);
    for (length, hoop) in [(json!(6.8), "5x7"), (json!(9.3), "6x10")] {
        let size = json!({"id": "v", "width": 2, "repeat": length, "repeats": 1});
        let plan = plan(&one_strip(length, size, hoops.clone()));
        let used: Vec<&str> = plan
            .hoopings
            .iter()
            .map(|hooping| hooping.hoop.as_str())
            .collect();
        assert_eq!(used, [hoop]);
        // Its long side lies along the second side of the field.
        assert!(plan.hoopings[0].turned);
    }
}

/// Who owns the 5 × 7 alone cannot stitch a design of 9.3 in.
#[test]
fn a_design_longer_than_every_hoop_cannot_be_stitched() {
    let size = json!({"id": "v", "width": 2, "repeat": 9.3, "repeats": 1});
    let document = one_strip(json!(9.3), size, json!([{"id": "5x7", "field": [5, 7]}]));
    let scenario = read(document.to_string().as_bytes()).expect("no fault");
    match answer(&scenario, Duration::from_secs(20)) {
        Err(NoPlan::CannotBeStitched(faults)) => {
            let pointers: Vec<&str> = faults.iter().map(|fault| fault.pointer.as_str()).collect();
            assert_eq!(pointers, ["/strips/0"]);
        }
        other => panic!("{other:?}"),
    }
}

/// A side of 60 in takes at least nine hoopings of 7 in: eight stretches are 56.
#[test]
fn a_side_of_60_takes_nine_hoopings_of_7() {
    let size = json!({"id": "v", "width": 2, "repeat": 7, "repeats": 1});
    let plan = plan(&one_strip(
        json!(60),
        size,
        json!([{"id": "h", "field": [8, 8]}]),
    ));
    let hoopings = &plan.objective[0];
    assert_eq!(hoopings.value.to_string(), "9");
    assert_eq!(hoopings.bound.to_string(), "9");
    assert_eq!(plan.hoopings.len(), 9);
}
