//! A shop's work: hundreds of strips, no two of the same length.

use std::time::Duration;

use sashwright_solver::scenario::read;
use sashwright_tests::answer::{answer, flaws};
use sashwright_tests::lengths::lengths;
use serde_json::{Value, json};

/// Every term is proven, and the plan is without flaw.
#[track_caller]
fn proven(document: &Value) {
    let scenario = read(document.to_string().as_bytes()).expect("a scenario without fault");
    let plan = answer(&scenario, Duration::from_secs(120)).expect("a plan");
    assert_eq!(flaws(&scenario, &plan), Vec::<String>::new());
    let open: Vec<String> = (plan.objective.iter())
        .filter(|entry| !entry.proven)
        .map(|entry| format!("{:?} {} ({})", entry.term, entry.value, entry.bound))
        .collect();
    assert_eq!(open, Vec::<String>::new());
}

#[test]
fn three_hundred_strips_each_of_another_length() {
    proven(&lengths(300));
}

/// Then runs may not butt up to both ends of what is stitched, and each strip is begun at one of its ends.
#[test]
fn a_hundred_strips_that_grow_one_way() {
    let mut document = lengths(100);
    document["rules"] = json!({"growth": "one_way"});
    proven(&document);
}

/// Strips in one run need the places that are left beside those in several.
#[test]
fn short_strips_among_long_ones() {
    let mut document = lengths(100);
    let strips = document["strips"].as_array_mut().expect("strips");
    for number in 0..40_u32 {
        let length = format!("{}/8", 32 + number * 37 % 300);
        strips.push(json!({"id": format!("leaf-{number}"), "length": length, "width": 2.5, "design": "leaf", "count": 2}));
    }
    let designs = document["designs"].as_array_mut().expect("designs");
    designs.push(json!({"id": "leaf", "sizes": [
        {"id": "two", "width": 2.5, "repeat": "2 1/4", "repeats": 2},
        {"id": "three", "width": 2.5, "repeat": "2 1/4", "repeats": 3},
        {"id": "four", "width": 2.5, "repeat": "2 1/4", "repeats": 4}]}));
    proven(&document);
}
