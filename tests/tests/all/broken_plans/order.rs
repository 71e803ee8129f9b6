//! The order of the work, and strips that are split or left out.

use serde_json::json;

use super::by_hand::ByHand;
use super::plans::{butted, stopping_early, two_lanes};

/// The long strip's three runs in the given hoopings; the hoopings of both lists change places.
fn in_order(hoopings: [u32; 3]) -> ByHand {
    let base = stopping_early();
    let mut changed = base.clone();
    for (run, hooping) in hoopings.into_iter().enumerate() {
        let entry = base.at(&format!("/hoopings/{run}"));
        let place = format!("/hoopings/{}", hooping - 1);
        changed = changed
            .plan(&format!("/strips/1/runs/{run}/hooping"), json!(hooping))
            .plan(&place, entry)
            .plan(&format!("{place}/number"), json!(hooping));
    }
    changed
}

#[test]
fn either_way_fills_no_gap() {
    in_order([1, 2, 3]).is_accepted();
    in_order([3, 2, 1]).is_accepted();
    in_order([2, 1, 3]).is_accepted();
    in_order([3, 1, 2]).is_accepted();
    for gap in [[1, 3, 2], [2, 3, 1]] {
        in_order(gap).is_refused_for(&["order-gap at /strips/1/runs/1"]);
    }
}

#[test]
fn one_way_goes_from_end_to_end() {
    let one_way = |order| in_order(order).rule("growth", json!("one_way"));
    one_way([1, 2, 3]).is_accepted();
    one_way([3, 2, 1]).is_accepted();
    one_way([2, 1, 3]).is_refused_for(&["order-one-way at /strips/1/runs/2"]);
    one_way([1, 3, 2]).is_refused_for(&["order-one-way at /strips/1/runs/2"]);
}

/// The short strip's 70 mm as 40 + 30 mm.
fn short_split() -> ByHand {
    let segment = |repeats: u32| json!([{"size": "dots-10", "repeats": repeats}]);
    stopping_early()
        .plan(
            "/strips/0/runs",
            json!([{"hooping": 4, "from": 0, "to": 40, "segments": segment(4)},
                {"hooping": 5, "from": 40, "to": 70, "segments": segment(3)}]),
        )
        .plan("/hoopings/3/placements/0/length", json!(40))
        .plan("/hoopings/3/placements/0/open", json!(["end"]))
        .with(
            "/hoopings",
            json!({"number": 5, "hoop": "slim", "turned": false, "stabilizer": [150, 70], "placements": [
                {"strip": "short", "run": 2, "lane": 1, "along": 0, "across": 10, "length": 30, "width": 20,
                    "open": ["start"]}]}),
        )
        .plan("/objective/0/value", json!(5))
        .plan("/objective/0/bound", json!(5))
        .plan("/objective/1/value", json!(3))
        .plan("/objective/1/bound", json!(3))
        .plan("/objective/3/value", json!(52_500))
        .plan("/objective/3/bound", json!(52_500))
}

#[test]
fn short_strips_are_split_only_where_that_is_allowed() {
    short_split().is_refused_for(&["split-short at /strips/0/runs"]);
    short_split().rule("split_short", json!(true)).is_accepted();
}

/// With repeats of 30 mm in files of 60 and 90 mm, 240 mm need 2 + 240 + 2 mm or more, so no hoop of 200 mm takes them in one
/// run; a hoop of 244 mm just does.
#[test]
fn a_larger_hoop_makes_a_strip_short() {
    let with_hoop = |field| {
        let hoops = json!([{"id": "large", "field": [200, 100], "frame": [240, 140]},
            {"id": "larger", "field": [field, 24]}]);
        butted().scenario("/hoops", hoops)
    };
    with_hoop(243.9).is_accepted();
    with_hoop(244.0).is_refused_for(&[
        "split-short at /strips/2/runs",
        "split-short at /strips/3/runs",
    ]);
    // In one segment per run no file is long enough.
    let one_segment = with_hoop(244.0).rule("combine_sizes", json!(false));
    let found = one_segment.found();
    assert!(
        found
            .iter()
            .all(|shown| shown.starts_with("combined-sizes")),
        "{found:?}"
    );
}

/// Strip c is left out.
fn without_c() -> ByHand {
    two_lanes()
        .without("/strips", 2)
        .without("/hoopings/0/placements", 2)
        .with(
            "/unplanned",
            json!({"strip": "c", "reason": "No hoop is wide enough."}),
        )
}

#[test]
fn strips_are_left_out_only_where_nothing_else_would_do() {
    without_c().is_refused_for(&["unplanned-not-allowed at /unplanned/0"]);
    let partial = without_c().rule("allow_partial", json!(true));
    partial.is_refused_for(&["unplanned-but-stitchable at /unplanned/0"]);
    // No size is for strips 21 mm wide.
    let wide = partial.clone().scenario("/strips/2/width", json!(21));
    wide.is_accepted();
    wide.plan("/unplanned/0/reason", json!(" "))
        .is_refused_for(&["unplanned-without-reason at /unplanned/0/reason"]);
    // Sums of 60 and 90 mm reach no length from 61 to 85 mm, but 90 mm from 86 mm on with at most 4 mm of overhang.
    let tight = partial.rule("max_overhang", json!(4));
    for (length, accepted) in [
        (61, true),
        (85, true),
        (86, false),
        (57, false),
        (119, false),
        (122, true),
    ] {
        let tight = tight.clone().scenario("/strips/2/length", json!(length));
        if accepted {
            tight.is_accepted();
        } else {
            tight.is_refused_for(&["unplanned-but-stitchable at /unplanned/0"]);
        }
    }
}

/// 50 mm from a file of 60 mm shrunk to 5/6, 25/30 of it: the hoop has to hold 50 + 4 mm.
#[test]
fn shrinking_can_make_a_strip_fit() {
    let shrinkable = |hoop: f64, least: &str| {
        let sizes = json!([{"id": "vine-60", "width": 20, "repeat": 30, "repeats": 2, "field": [64, 24],
            "scale": [least, 1]}]);
        ByHand {
            scenario: json!({
                "format": 1, "unit": "mm",
                "strips": [{"id": "a", "length": 50, "width": 20, "design": "vine"}],
                "hoops": [{"id": "small", "field": [hoop, 24]}],
                "designs": [{"id": "vine", "sizes": sizes}],
                "goal": {"priorities": ["hoopings"]},
                "rules": {"allow_partial": true}
            }),
            plan: json!({
                "format": 1, "scenario": "", "unit": "mm", "status": "optimal",
                "objective": [{"term": "hoopings", "value": 0, "bound": 0, "proven": true}],
                "strips": [], "hoopings": [], "corners": [],
                "unplanned": [{"strip": "a", "reason": "No hoop is long enough."}], "warnings": []
            }),
        }
    };
    shrinkable(54.0, "5/6").is_refused_for(&["unplanned-but-stitchable at /unplanned/0"]);
    shrinkable(53.999, "5/6").is_accepted();
    shrinkable(54.0, "0.834").is_accepted();
}
