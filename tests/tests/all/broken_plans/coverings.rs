//! Coverings that break a rule.

use serde_json::json;

use super::by_hand::ByHand;
use super::plans::{butted, mitred, scaled, stopping_early, two_lanes};

#[test]
fn sizes_have_to_be_the_designs_own_and_of_the_width() {
    two_lanes()
        .plan("/strips/0/runs/0/segments/0/size", json!("vine-70"))
        .is_refused_for(&["unknown-size at /strips/0/runs/0/segments/0/size"]);
    stopping_early()
        .plan("/strips/0/runs/0/segments/0/size", json!("dots-wide"))
        .is_refused_for(&["size-of-another-width at /strips/0/runs/0/segments/0/size"]);
}

#[test]
fn repeats_are_those_of_the_file() {
    for repeats in [0_u32, 11, u32::MAX] {
        stopping_early()
            .plan("/strips/0/runs/0/segments/0/repeats", json!(repeats))
            .is_refused_for(&["repeats-out-of-range at /strips/0/runs/0/segments/0/repeats"]);
    }
}

/// Without `stop_early` seven of ten repeats are no stitching; nor is the third run's eight.
#[test]
fn a_whole_file_does_not_stop() {
    stopping_early()
        .scenario("/designs/0/sizes/0/stop_early", json!(false))
        .is_refused_for(&[
            "stops-early at /strips/0/runs/0/segments/0/repeats",
            "stops-early at /strips/1/runs/2/segments/0/repeats",
        ]);
}

#[test]
fn no_segment_is_superfluous() {
    // 50 mm more than the 150 mm that cover 120 mm.
    let segments = "/strips/0/runs/0/segments";
    let more = mitred().with(segments, json!({"size": "wave-50", "repeats": 1}));
    for index in 0..4 {
        more.is_refused_also_for(&format!("superfluous-segment at {segments}/{index}"));
    }
    more.is_refused_also_for("too-long-for-field at /hoopings/0/placements/0");
}

/// Ten, ten and nine repeats are 290 mm, 15 mm more than the strip.
#[test]
fn stitching_stops_as_soon_as_the_strip_is_covered() {
    let late = ByHand::clone(&stopping_early())
        .plan("/strips/1/runs/2/segments/0/repeats", json!(9))
        .plan("/strips/1/runs/2/to", json!(282.5))
        .plan("/hoopings/2/placements/0/length", json!(90))
        .plan("/strips/1/overhang", json!(15))
        .plan("/strips/1/cut/0", json!(310))
        .plan("/strips/1/runs/0/from", json!(-7.5))
        .plan("/strips/1/runs/0/to", json!(92.5))
        .plan("/strips/1/runs/1/from", json!(92.5))
        .plan("/strips/1/runs/1/to", json!(192.5))
        .plan("/strips/1/runs/2/from", json!(192.5))
        .plan("/objective/4/value", json!(15))
        .plan("/objective/4/bound", json!(15));
    late.is_refused_for(&[
        "could-stop-sooner at /strips/1/runs/0/segments/0",
        "could-stop-sooner at /strips/1/runs/1/segments/0",
        "could-stop-sooner at /strips/1/runs/2/segments/0",
    ]);
}

#[test]
fn segments_reach_the_strips_length() {
    let short = stopping_early().plan("/strips/1/runs/2/segments/0/repeats", json!(7));
    short.is_refused_also_for("covering-too-short at /strips/1/runs");
}

#[test]
fn overhang_keeps_to_its_limit() {
    stopping_early()
        .rule("max_overhang", json!(5))
        .is_accepted();
    stopping_early()
        .rule("max_overhang", json!(4.999))
        .is_refused_for(&["overhang-too-large at /strips/1/runs"]);
}

/// 14.2/14 is 71/70: a scale of up to 71/70 will do, one of 1.0142 will not.
#[test]
fn scales_keep_to_their_range() {
    let up_to = |most: &str| scaled().scenario("/designs/0/sizes/0/scale/1", json!(most));
    up_to("71/70").is_accepted();
    up_to("1.0142").is_refused_also_for("scale-out-of-range at /strips/0/runs");
}

/// The border's longer runs are of three segments each.
#[test]
fn sizes_are_combined_only_where_that_is_allowed() {
    butted()
        .rule("combine_sizes", json!(false))
        .is_refused_for(&[
            "combined-sizes at /strips/0/runs/0/segments",
            "combined-sizes at /strips/1/runs/0/segments",
            "combined-sizes at /strips/2/runs/0/segments",
            "combined-sizes at /strips/3/runs/0/segments",
        ]);
}

#[test]
fn strips_have_runs_and_runs_have_segments() {
    two_lanes()
        .plan("/strips/0/runs/0/segments", json!([]))
        .is_refused_for(&["no-segments at /strips/0/runs/0/segments"]);
    let none = two_lanes().plan("/strips/0/runs", json!([]));
    none.is_refused_also_for("no-runs at /strips/0/runs");
    none.is_refused_also_for("unknown-run at /hoopings/0/placements/0/run");
}

/// One inch from three repeats of a third of an inch, which are 25 400 001 nm.
fn thirds() -> ByHand {
    ByHand {
        scenario: json!({
            "format": 1, "unit": "in",
            "strips": [{"id": "a", "length": 1, "width": 1, "design": "d"}],
            "hoops": [{"id": "h", "field": [1, 1]}],
            "designs": [{"id": "d", "sizes": [
                {"id": "s", "width": 1, "repeat": "1/3", "repeats": 3, "field": [1, 1]}]}],
            "goal": {"priorities": ["overhang"]},
            "rules": {"max_overhang": 0}
        }),
        plan: json!({
            "format": 1, "scenario": "", "unit": "in", "status": "optimal",
            "objective": [{"term": "overhang", "value": 0, "bound": 0, "proven": true}],
            "strips": [{"id": "a", "length": 1, "width": 1, "design": "d", "scale": 1, "overhang": 0,
                "trimmed": [1.5, 1.5], "cut": [2, 2],
                "runs": [{"hooping": 1, "from": 0, "to": 1, "segments": [{"size": "s", "repeats": 3}]}]}],
            "hoopings": [{"number": 1, "hoop": "h", "turned": false, "stabilizer": [3, 3], "placements": [
                {"strip": "a", "run": 1, "lane": 1, "along": 0, "across": 0.5, "length": 1, "width": 1}]}],
            "corners": [], "unplanned": [], "warnings": []
        }),
    }
}

#[test]
fn rounding_of_repeats_counts_as_none() {
    thirds().is_accepted();
    thirds()
        .scenario("/hoops/0/field/0", json!(0.9999))
        .is_refused_also_for("too-long-for-field at /hoopings/0/placements/0");
}

/// Three repeats of two thirds of an inch are 50 799 999 nm, which counts as two inches: a fourth is superfluous.
#[test]
fn what_rounding_makes_equal_needs_no_further_segment() {
    let segment = json!({"size": "s", "repeats": 1});
    let two_inches = |count: usize| {
        thirds()
            .scenario("/strips/0/length", json!(2))
            .scenario("/hoops/0/field/0", json!(3))
            .scenario("/designs/0/sizes/0/repeat", json!("2/3"))
            .scenario("/designs/0/sizes/0/repeats", json!(1))
            .rule("max_overhang", json!(null))
            .plan("/strips/0/length", json!(2))
            .plan("/strips/0/trimmed/0", json!(2.5))
            .plan("/strips/0/cut/0", json!(3))
            .plan("/strips/0/runs/0/to", json!(2))
            .plan(
                "/strips/0/runs/0/segments",
                json!(vec![segment.clone(); count]),
            )
            .plan("/hoopings/0/stabilizer/0", json!(5))
            .plan("/hoopings/0/placements/0/along", json!(0.2))
            .plan("/hoopings/0/placements/0/length", json!(2))
    };
    two_inches(3).is_accepted();
    for index in 0..4 {
        two_inches(4).is_refused_also_for(&format!(
            "superfluous-segment at /strips/0/runs/0/segments/{index}"
        ));
    }
}
