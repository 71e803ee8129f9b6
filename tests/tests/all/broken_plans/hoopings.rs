//! Hoopings that break a rule.

use serde_json::json;

use super::plans::{butted, mitred, scaled, two_lanes};

/// Both lanes need 185 mm and their rows 74 mm: a field of just that size fits, and none that is smaller.
#[test]
fn a_field_exactly_as_large_as_needed_fits() {
    let field =
        |along: f64, across: f64| two_lanes().scenario("/hoops/0/field", json!([along, across]));
    field(185.0, 74.0).is_accepted();
    field(184.999_999, 74.0).is_refused_for(&[
        "too-long-for-field at /hoopings/0/placements/0",
        "too-long-for-field at /hoopings/0/placements/2",
    ]);
    field(185.0, 73.999_999).is_refused_for(&["lanes-too-wide at /hoopings/0/placements"]);
}

#[test]
fn fabrics_keep_their_gap() {
    // The gap along is 30 mm; 5 µm of rounding are forgiven to each printed place.
    two_lanes()
        .plan("/hoopings/0/placements/1/along", json!(91.995))
        .is_accepted();
    two_lanes()
        .plan("/hoopings/0/placements/1/along", json!(91.98))
        .is_refused_for(&["gap-too-small at /hoopings/0/placements/1/along"]);
    two_lanes()
        .plan("/hoopings/0/placements/2/across", json!(61.9))
        .plan("/hoopings/0/placements/3/across", json!(61.9))
        .is_refused_for(&["gap-too-small at /hoopings/0/placements/2/across"]);
}

#[test]
fn stitching_and_margins_stay_inside_the_field() {
    let moved = |place: &str, value: f64| two_lanes().plan(place, json!(value));
    moved("/hoopings/0/placements/0/along", 1.9)
        .is_refused_for(&["outside-field at /hoopings/0/placements/0/along"]);
    moved("/hoopings/0/placements/1/along", 107.0).is_accepted();
    moved("/hoopings/0/placements/1/along", 107.1)
        .is_refused_for(&["outside-field at /hoopings/0/placements/1/along"]);
    let lane = |value: f64| {
        moved("/hoopings/0/placements/2/across", value)
            .plan("/hoopings/0/placements/3/across", json!(value))
    };
    lane(88.0).is_accepted();
    lane(88.1).is_refused_for(&["outside-field at /hoopings/0/placements/2/across"]);
}

#[test]
fn a_lane_has_one_centre_line() {
    two_lanes()
        .plan("/hoopings/0/placements/3/across", json!(62.5))
        .is_refused_for(&["lane-not-straight at /hoopings/0/placements/3/across"]);
}

#[test]
fn lanes_count_from_the_lowest() {
    let lanes = |numbers: [u32; 4]| {
        numbers
            .into_iter()
            .enumerate()
            .fold(two_lanes(), |plan, (place, number)| {
                plan.plan(
                    &format!("/hoopings/0/placements/{place}/lane"),
                    json!(number),
                )
            })
    };
    for numbers in [
        [2, 2, 1, 1],
        [1, 1, 3, 3],
        [0, 0, 1, 1],
        [1, 1, u32::MAX, u32::MAX],
    ] {
        lanes(numbers).is_refused_for(&["lane-number at /hoopings/0/placements"]);
    }
}

#[test]
fn open_ends_face_out_of_the_hoop() {
    butted()
        .plan("/hoopings/2/placements/1/reversed", json!(false))
        .is_refused_for(&["open-end-inward at /hoopings/2/placements/1"]);
    butted()
        .plan("/hoopings/2/placements/0/reversed", json!(true))
        .is_refused_for(&["open-end-inward at /hoopings/2/placements/0"]);
    // Alone in its lane a run may lie either way.
    butted()
        .plan("/hoopings/0/placements/1/reversed", json!(true))
        .is_accepted();
}

/// The top border as three runs, the middle one of which shares a lane with the bottom's last.
#[test]
fn a_run_with_two_open_ends_is_alone_in_its_lane() {
    let segments = |count: usize| vec![json!({"size": "vine-60", "repeats": 2}); count];
    butted()
        .plan(
            "/strips/2/runs",
            json!([{"hooping": 1, "from": 0, "to": 120, "segments": segments(2)},
                {"hooping": 3, "from": 120, "to": 180, "segments": segments(1)},
                {"hooping": 4, "from": 180, "to": 240, "segments": segments(1)}]),
        )
        .plan("/hoopings/0/placements/1/length", json!(120))
        .plan("/hoopings/2/placements/0/open", json!(["start", "end"]))
        .with(
            "/hoopings",
            json!({"number": 4, "hoop": "large", "turned": false, "stabilizer": [290, 190], "placements": [
                {"strip": "border-1-top", "run": 3, "lane": 1, "along": 2, "across": 12, "length": 60, "width": 20,
                    "open": ["start"]}]}),
        )
        .plan("/objective/0/value", json!(4))
        .plan("/objective/0/bound", json!(4))
        .plan("/objective/1/value", json!(3))
        .plan("/objective/1/bound", json!(3))
        .plan("/objective/3/value", json!(220_400))
        .plan("/objective/3/bound", json!(220_400))
        .is_refused_for(&["open-ends-share-lane at /hoopings/2/placements/0"]);
}

/// Both runs of the top border in the third hooping, its first one in a lane of its own.
#[test]
fn two_runs_of_a_strip_need_two_hoopings() {
    let placement = butted().at("/hoopings/0/placements/1");
    butted()
        .without("/hoopings/0/placements", 1)
        .plan("/strips/2/runs/0/hooping", json!(3))
        .with("/hoopings/2/placements", placement)
        .is_refused_for(&["strip-twice-in-hooping at /hoopings/2/placements/2"]);
}

#[test]
fn hoopings_are_shared_only_where_that_is_allowed() {
    two_lanes()
        .rule("share_hoopings", json!(false))
        .is_refused_for(&["shared-hooping at /hoopings/0/placements"]);
    mitred().rule("share_hoopings", json!(false)).is_accepted();
}

#[test]
fn hoops_are_turned_only_where_that_is_allowed() {
    scaled()
        .scenario("/hoops/0/turn", json!(false))
        .is_refused_for(&[
            "turned-hoop at /hoopings/0/turned",
            "turned-hoop at /hoopings/1/turned",
        ]);
    // Not turned, the field is 6 in long.
    scaled()
        .plan("/hoopings/0/turned", json!(false))
        .is_refused_for(&["too-long-for-field at /hoopings/0/placements/0"]);
}

#[test]
fn hoopings_hold_something_in_a_hoop_that_she_owns() {
    mitred()
        .with(
            "/hoopings",
            json!({"number": 5, "hoop": "long", "turned": false, "stabilizer": [200, 70], "placements": []}),
        )
        .is_refused_also_for("empty-hooping at /hoopings/4/placements");
    mitred()
        .plan("/hoopings/0/hoop", json!("longest"))
        .is_refused_also_for("unknown-hoop at /hoopings/0/hoop");
}

#[test]
fn hoopings_are_numbered_in_the_order_of_the_work() {
    mitred()
        .plan("/hoopings/1/number", json!(3))
        .is_refused_for(&["hooping-number at /hoopings/1/number"]);
}

#[test]
fn each_run_is_placed_once_in_the_hooping_that_it_names() {
    let placement = mitred().at("/hoopings/0/placements/0");
    mitred()
        .plan("/hoopings/1/placements/0", placement)
        .is_refused_for(&[
            "run-placed-twice at /hoopings/1/placements/0",
            "run-not-placed at /strips/1/runs/0",
        ]);
    mitred()
        .plan("/strips/0/runs/0/hooping", json!(2))
        .is_refused_for(&["run-in-other-hooping at /strips/0/runs/0/hooping"]);
    for number in [0_u32, 5, u32::MAX] {
        mitred()
            .plan("/strips/0/runs/0/hooping", json!(number))
            .is_refused_for(&["unknown-hooping at /strips/0/runs/0/hooping"]);
    }
    for number in [0_u32, 2, u32::MAX] {
        mitred()
            .plan("/hoopings/0/placements/0/run", json!(number))
            .is_refused_also_for("unknown-run at /hoopings/0/placements/0/run");
    }
    mitred()
        .plan("/hoopings/0/placements/0/strip", json!("border-2-left"))
        .is_refused_also_for("unknown-strip at /hoopings/0/placements/0/strip");
}
