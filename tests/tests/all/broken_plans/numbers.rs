//! Printed numbers and lists that are wrong.

use serde_json::{Value, json};

use super::plans::{butted, mitred, scaled, stopping_early, two_lanes};

#[test]
fn every_printed_length_is_compared() {
    let places = [
        ("/strips/1/length", "wrong-length"),
        ("/strips/1/width", "wrong-width"),
        ("/strips/1/overhang", "wrong-overhang"),
        ("/strips/1/trimmed/0", "wrong-trimmed"),
        ("/strips/1/trimmed/1", "wrong-trimmed"),
        ("/strips/1/cut/0", "wrong-cut"),
        ("/strips/1/cut/1", "wrong-cut"),
        ("/strips/1/runs/1/from", "wrong-from"),
        ("/strips/1/runs/2/to", "wrong-to"),
        ("/hoopings/1/stabilizer/0", "wrong-stabilizer"),
        ("/hoopings/1/stabilizer/1", "wrong-stabilizer"),
        ("/hoopings/1/placements/0/length", "wrong-run-length"),
        ("/hoopings/1/placements/0/width", "wrong-width"),
    ];
    for (place, rule) in places {
        let right = stopping_early().at(place).as_f64().expect("a number");
        let printed = |value: f64| stopping_early().plan(place, json!(value));
        printed(right + 0.005).is_accepted();
        printed(right - 0.005).is_accepted();
        let refused = format!("{rule} at {place}");
        for wrong in [right + 0.0051, right - 0.0051, -right - 1.0, 1e12, -1e12] {
            printed(wrong).is_refused_for(&[&refused]);
        }
        printed(1e300).is_refused_for(&[&format!("unreadable-number at {place}")]);
    }
}

#[test]
fn places_in_the_field_are_numbers_of_reason() {
    for place in ["along", "across"] {
        let pointer = format!("/hoopings/1/placements/0/{place}");
        stopping_early()
            .plan(&pointer, json!(-1e300))
            .is_refused_for(&[&format!("unreadable-number at {pointer}")]);
        for wrong in [9e12, -9e12] {
            stopping_early()
                .plan(&pointer, json!(wrong))
                .is_refused_for(&[&format!("outside-field at {pointer}")]);
        }
    }
}

#[test]
fn the_scale_is_compared_to_three_decimals() {
    scaled().plan("/strips/0/scale", json!(1.014)).is_accepted();
    scaled()
        .plan("/strips/0/scale", json!(1.0137))
        .is_refused_for(&["wrong-scale at /strips/0/scale"]);
}

#[test]
fn open_ends_are_listed() {
    let open = |ends: Value| stopping_early().plan("/hoopings/1/placements/0/open", ends);
    open(json!(["end", "start"])).is_accepted();
    for wrong in [json!([]), json!(["start"]), json!(["start", "end", "end"])] {
        open(wrong).is_refused_for(&["wrong-open-ends at /hoopings/1/placements/0/open"]);
    }
}

#[test]
fn the_head_names_the_scenario() {
    let head = |field: &str, value: Value| two_lanes().plan(&format!("/{field}"), value);
    head("format", json!(2)).is_refused_for(&["wrong-format at /format"]);
    head("scenario", json!("three lanes")).is_refused_for(&["wrong-scenario at /scenario"]);
    head("unit", json!("in")).is_refused_also_for("wrong-unit at /unit");
    two_lanes()
        .plan("/strips/0/design", json!("wave"))
        .is_refused_for(&["wrong-design at /strips/0/design"]);
}

#[test]
fn every_strip_is_listed_once() {
    let missing = two_lanes()
        .without("/strips", 2)
        .without("/hoopings/0/placements", 2);
    missing.is_refused_for(&["strip-missing at /strips"]);
    let again = two_lanes().at("/strips/2");
    two_lanes()
        .with("/strips", again)
        .is_refused_for(&["strip-listed-twice at /strips/4/id"]);
    two_lanes()
        .with(
            "/unplanned",
            json!({"strip": "c", "reason": "No hoop is long enough."}),
        )
        .is_refused_for(&["strip-listed-twice at /unplanned/0/strip"]);
    two_lanes()
        .plan("/strips/2/id", json!("e"))
        .is_refused_for(&[
            "unknown-strip at /strips/2/id",
            "strip-missing at /strips",
            "unknown-strip at /hoopings/0/placements/2/strip",
        ]);
}

#[test]
fn corners_miss_by_what_the_overhangs_say() {
    mitred()
        .plan("/corners/2/mismatch", json!(9.99))
        .is_refused_for(&["wrong-mismatch at /corners/2/mismatch"]);
    mitred()
        .without("/corners", 3)
        .is_refused_for(&["corner-missing at /corners"]);
    let again = mitred().at("/corners/0");
    mitred()
        .with("/corners", again)
        .is_refused_for(&["corner-listed-twice at /corners/4"]);
    mitred()
        .plan("/corners/0/corner", json!("top-middle"))
        .is_refused_for(&["unknown-corner at /corners/0", "corner-missing at /corners"]);
    mitred()
        .plan("/corners/0/strips/0", json!("border-1-right"))
        .is_refused_for(&["wrong-corner-strips at /corners/0/strips"]);
}

/// The left strip as 50 + 50 + 30 mm has an overhang of 10 mm, 5 at each end: at the top 5/50 of a repeat, as the top
/// strip has, at the bottom 5/30. There it misses the bottom strip's 5/50 by 1/15 of 40 mm. The right strip's corners
/// still miss by 10 mm each.
#[test]
fn the_repeat_at_each_end_counts() {
    let sizes = json!([{"id": "wave-50", "width": 20, "repeat": 50, "repeats": 1},
        {"id": "wave-30", "width": 20, "repeat": 30, "repeats": 1}]);
    let mixed = mitred()
        .scenario("/designs/0/sizes", sizes)
        .plan("/strips/0/runs/0/segments/2/size", json!("wave-30"))
        .plan("/strips/0/overhang", json!(10))
        .plan("/strips/0/cut/0", json!(150))
        .plan("/strips/0/runs/0/from", json!(-5))
        .plan("/strips/0/runs/0/to", json!(125))
        .plan("/hoopings/0/placements/0/length", json!(130))
        .plan("/corners/0/mismatch", json!(0))
        .plan("/corners/2/mismatch", json!(2.666667))
        .plan("/objective/2/value", json!(22.666667))
        .plan("/objective/4/value", json!(60))
        .plan("/objective/4/bound", json!(60));
    mixed.is_accepted();
    mixed
        .plan("/strips/0/runs/0/segments/2/size", json!("wave-50"))
        .plan("/strips/0/runs/0/segments/0/size", json!("wave-30"))
        .is_refused_for(&[
            "wrong-mismatch at /corners/0/mismatch",
            "wrong-mismatch at /corners/2/mismatch",
        ]);
}

/// With all overhang at the far end the left and right strips (30 mm) are 0 and 30/50 of a repeat out, top and bottom
/// (10 mm) 0 and 10/50: at the corners |0 − 0|, |0 − 1/5|, |3/5 − 0| → 2/5, and |3/5 − 1/5| of 50 mm.
#[test]
fn overhang_at_the_far_end_moves_the_corners() {
    let mut start = mitred().rule("align", json!("start"));
    for strip in 0..4 {
        start = start
            .plan(&format!("/strips/{strip}/runs/0/from"), json!(0))
            .plan(&format!("/strips/{strip}/runs/0/to"), json!(150));
    }
    for (corner, mismatch) in [0, 10, 20, 20].into_iter().enumerate() {
        start = start.plan(&format!("/corners/{corner}/mismatch"), json!(mismatch));
    }
    start.plan("/objective/2/value", json!(50)).is_accepted();
}

#[test]
fn values_of_the_terms_are_recomputed() {
    for (index, wrong) in [2, 1, 1, 55_101, 1, 1].into_iter().enumerate() {
        let term = format!("/objective/{index}");
        two_lanes()
            .plan(&format!("{term}/value"), json!(wrong))
            .plan(&format!("{term}/bound"), json!(wrong))
            .is_refused_for(&[&format!("wrong-objective-value at {term}/value")]);
    }
    let cost = |value: f64| {
        scaled()
            .plan("/objective/0/value", json!(value))
            .plan("/objective/0/bound", json!(value))
    };
    cost(633.250_001).is_accepted();
    cost(633.250_002).is_refused_for(&["wrong-objective-value at /objective/0/value"]);
    cost(-1e300).is_refused_for(&["wrong-objective-value at /objective/0/value"]);
}

/// Two hoops of one size, used in turn: three hoopings in two hoops change twice.
#[test]
fn changes_of_hoop_are_counted() {
    let twins = json!([{"id": "large", "field": [200, 100], "frame": [240, 140]},
        {"id": "twin", "field": [200, 100], "frame": [240, 140]}]);
    let changed = butted()
        .scenario("/hoops", twins)
        .plan("/hoopings/1/hoop", json!("twin"));
    changed.is_refused_for(&["wrong-objective-value at /objective/5/value"]);
    changed
        .plan("/objective/5/value", json!(2))
        .plan("/objective/5/bound", json!(2))
        .is_accepted();
}

#[test]
fn bounds_are_below_their_values_and_proven_where_equal() {
    two_lanes()
        .plan("/objective/0/bound", json!(2))
        .is_refused_for(&["bound-above-value at /objective/0/bound"]);
    two_lanes()
        .plan("/objective/0/bound", json!(0))
        .is_refused_for(&["wrongly-proven at /objective/0/proven"]);
    mitred()
        .plan("/objective/2/proven", json!(true))
        .plan("/status", json!("optimal"))
        .is_refused_for(&["wrongly-proven at /objective/2/proven"]);
    two_lanes()
        .plan("/objective/0/proven", json!(false))
        .plan("/status", json!("feasible"))
        .is_refused_for(&["wrongly-proven at /objective/0/proven"]);
}

#[test]
fn the_status_says_whether_all_is_proven() {
    mitred()
        .plan("/status", json!("optimal"))
        .is_refused_for(&["wrong-status at /status"]);
    two_lanes()
        .plan("/status", json!("feasible"))
        .is_refused_for(&["wrong-status at /status"]);
}

#[test]
fn terms_are_the_goals_in_its_order() {
    let (first, second) = (
        two_lanes().at("/objective/0"),
        two_lanes().at("/objective/1"),
    );
    two_lanes()
        .plan("/objective/0", second)
        .plan("/objective/1", first)
        .is_refused_for(&["objective-terms at /objective"]);
    two_lanes()
        .without("/objective", 5)
        .is_refused_for(&["objective-terms at /objective"]);
}
