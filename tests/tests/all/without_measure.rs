//! Documents with lengths that nobody has: they are answered in time all the same, and on an ordinary stack.

use std::time::{Duration, Instant};

use sashwright_solver::plan::Plan;
use sashwright_solver::scenario::read;
use sashwright_tests::answer::{answer, flaws};
use serde_json::{Value, json};

/// Generous, as the machine may be busy: this finds hangs, not delays.
const LONG: Duration = Duration::from_secs(30);

fn planned(document: &Value) -> Plan {
    let scenario = read(document.to_string().as_bytes()).expect("no fault");
    let begun = Instant::now();
    let plan = answer(&scenario, Duration::from_millis(500));
    assert!(begun.elapsed() < LONG, "{document}");
    let plan = plan.unwrap_or_else(|error| panic!("{error:?}\n{document}"));
    let flaws = flaws(&scenario, &plan);
    assert!(flaws.is_empty(), "{flaws:?}\n{document}");
    plan
}

/// Strips of three lengths, a millimetre wide, for a field of 99 × 99 m.
fn slim_strips(count: usize) -> Value {
    let length = |length: usize| json!({"id": format!("s{length}"), "length": length, "width": 1, "count": count, "design": "dots"});
    let size = |repeat: usize| json!({"id": format!("d{repeat}"), "width": 1, "repeat": repeat, "repeats": 1, "field": [repeat, 1]});
    json!({
        "format": 1, "unit": "mm",
        "strips": [length(2), length(3), length(5)],
        "hoops": [{"id": "meadow", "field": [99_000, 99_000], "frame": [99_100, 99_100]}],
        "designs": [{"id": "dots", "sizes": [size(2), size(3), size(5)]}],
    })
}

/// No row of lanes needs more places than there are runs.
#[test]
fn a_field_without_measure_takes_all_strips_at_once() {
    let plan = planned(&slim_strips(20));
    assert_eq!(plan.hoopings.len(), 1);
    assert!(plan.objective[0].proven);
}

/// Where there are runs without measure too, the first plan alone is long; the deadline ends it.
#[test]
fn strips_without_measure_are_planned_in_time() {
    let plan = planned(&slim_strips(10_000));
    assert_eq!(plan.strips.len(), 30_000);
}

/// A strip of nearly 100 m: its covers are too many to list, and one of them is found.
#[test]
fn the_longest_strip_has_a_cover() {
    let document = |repeats: [Value; 2]| {
        let size = |repeat: &Value| json!({"id": repeat.to_string(), "width": 20, "repeat": repeat, "repeats": 2, "stop_early": true});
        json!({
            "format": 1, "unit": "mm",
            "strips": [{"id": "endless", "length": 99_999, "width": 20, "design": "dots"}],
            "hoops": [{"id": "everyday", "field": [200, 60]}],
            "designs": [{"id": "dots", "sizes": [size(&repeats[0]), size(&repeats[1])]}],
            "rules": {"max_overhang": 40},
        })
    };
    let runs = |repeats: [Value; 2]| planned(&document(repeats)).strips[0].runs.len();
    // 200 mm a run at most.
    assert!(runs([json!(75), json!(100)]) >= 500);
    // Repeats without a common measure have more sums than can be listed.
    assert!(runs([json!("75.00317"), json!("97.11113")]) >= 500);
}
