//! What is left of begun strips, measured strips, and take-up.

use serde_json::{Value, json};

use super::by_hand::ByHand;
use super::plans::{mitred, proven, stopping_early};

/// The long strip of 275 mm with 60 to 120 mm stitched. 60 mm are left before: 6 repeats of 10 mm. 155 mm are left after: 16
/// repeats, 10 and 6 of them in a hoop of 100 mm, which run 5 mm past the end.
///
/// Each part has one seam: it is squared up to its length and 5 mm, and as first cut it has 10 mm more than its stitching.
fn in_the_middle() -> ByHand {
    let segment = |repeats: u32| json!([{"size": "dots-10", "repeats": repeats}]);
    let hooping = |number: u32, strip: &str, run: u32, length: u32, open: Value| {
        json!({"number": number, "hoop": "slim", "turned": false, "stabilizer": [150, 70], "placements": [
            {"strip": strip, "run": run, "lane": 1, "along": 0, "across": 10, "length": length, "width": 20,
                "open": open}]})
    };
    stopping_early()
        .scenario("/begun", json!([{"strip": "long", "from": 60, "to": 120}]))
        .plan(
            "/objective",
            json!([
                proven("hoopings", json!(4)), proven("joints", json!(1)), proven("corner_mismatch", json!(0)),
                proven("stabilizer", json!(42_000)), proven("overhang", json!(5)), proven("hoop_changes", json!(0))]),
        )
        .without("/strips", 1)
        .with(
            "/strips",
            json!({"id": "long-start", "length": 60, "width": 20, "design": "dots", "scale": 1, "overhang": 0,
                "trimmed": [65, 30], "cut": [70, 40],
                "runs": [{"hooping": 3, "from": 0, "to": 60, "segments": segment(6)}]}),
        )
        .with(
            "/strips",
            json!({"id": "long-end", "length": 155, "width": 20, "design": "dots", "scale": 1, "overhang": 5,
                "trimmed": [160, 30], "cut": [170, 40],
                "runs": [{"hooping": 1, "from": 0, "to": 100, "segments": segment(10)},
                    {"hooping": 2, "from": 100, "to": 160, "segments": segment(6)}]}),
        )
        .plan(
            "/hoopings",
            json!([hooping(1, "long-end", 1, 100, json!(["start", "end"])), hooping(2, "long-end", 2, 60, json!(["start"])),
                hooping(3, "long-start", 1, 60, json!(["end"])), hooping(4, "short", 1, 70, json!([]))]),
        )
}

#[test]
fn what_is_left_on_both_sides() {
    in_the_middle().is_accepted();
}

#[test]
fn a_rest_is_stitched_outward() {
    let base = in_the_middle();
    let (first, second) = (base.at("/hoopings/0"), base.at("/hoopings/1"));
    base.plan("/hoopings/0", second)
        .plan("/hoopings/0/number", json!(1))
        .plan("/hoopings/1", first)
        .plan("/hoopings/1/number", json!(2))
        .plan("/strips/2/runs/0/hooping", json!(2))
        .plan("/strips/2/runs/1/hooping", json!(1))
        .is_refused_for(&["order-rest at /strips/2/runs/1"]);
}

/// The end that butts up is open, and everything past the seam line is at the other one.
#[test]
fn a_rest_butts_up() {
    let found = in_the_middle()
        .plan("/hoopings/2/placements/0/open", json!([]))
        .found();
    assert!(
        found
            .iter()
            .any(|found| found.ends_with("at /hoopings/2/placements/0/open")),
        "{found:?}"
    );
    in_the_middle()
        .plan("/strips/2/runs/0/from", json!(-2.5))
        .is_refused_for(&["wrong-from at /strips/2/runs/0/from"]);
}

/// A field of 100 × 100 mm takes lanes of 20 mm with 30 mm between them, but both parts are on one cloth.
#[test]
fn two_rests_of_a_strip_never_share_a_hooping() {
    let base = in_the_middle().scenario("/hoops/0/field", json!([100, 100]));
    let base = (0..4).fold(base, |base, hooping| {
        base.plan(
            &format!("/hoopings/{hooping}/stabilizer"),
            json!([150, 150]),
        )
    });
    // 4 × 150 × 150 mm².
    let base = base
        .plan("/objective/3/value", json!(90_000))
        .plan("/objective/3/bound", json!(90_000));
    base.is_accepted();
    let start = base.at("/hoopings/2/placements/0");
    let together = base
        .with("/hoopings/1/placements", start)
        .plan("/hoopings/1/placements/1/lane", json!(2))
        .plan("/hoopings/1/placements/1/across", json!(60))
        .without("/hoopings", 2)
        .plan("/hoopings/2/number", json!(3))
        .plan("/strips/1/runs/0/hooping", json!(2))
        .plan("/strips/0/runs/0/hooping", json!(3))
        .plan("/objective/0/value", json!(3))
        .plan("/objective/0/bound", json!(3))
        .plan("/objective/3/value", json!(67_500))
        .plan("/objective/3/bound", json!(67_500));
    together.is_refused_for(&["rests-share-hooping at /hoopings/1/placements/1"]);
}

/// From 0.9 to 1.1 the 160 mm could be stretched to 155, so that they have to be; unless the strip goes on unscaled.
#[test]
fn a_rest_ends_at_the_seam_line_where_a_scale_allows_it() {
    let scaling = in_the_middle().scenario("/designs/0/sizes/0/scale", json!([0.9, 1.1]));
    let found = scaling.found();
    assert!(
        found
            .iter()
            .any(|found| found == "wrong-overhang at /strips/2/overhang"),
        "{found:?}"
    );
    scaling
        .scenario("/begun/0/unscaled", json!(true))
        .is_accepted();
}

#[test]
fn a_rest_is_cut_with_one_seam() {
    in_the_middle()
        .plan("/strips/1/cut/0", json!(80))
        .is_refused_for(&["wrong-cut at /strips/1/cut/0"]);
    in_the_middle()
        .plan("/strips/1/trimmed/0", json!(70))
        .is_refused_for(&["wrong-trimmed at /strips/1/trimmed/0"]);
}

/// The left strip of the mitred border is done. Its pattern stands 15 mm past the seams, the others' 5 mm: as before the
/// pattern misses itself by 10 mm at each corner. Where it stands 5 mm past them it meets.
#[test]
fn a_corner_of_a_done_strip_counts() {
    let done = |past: u32| {
        let end = json!({"repeat": 50, "past": past});
        json!([{"strip": "border-1-left", "from": 0, "to": 120, "start": end, "end": end}])
    };
    let base = mitred();
    let hoopings: Vec<Value> = (1..4)
        .map(|hooping| base.at(&format!("/hoopings/{hooping}")))
        .collect();
    let base = base
        .scenario("/begun", done(15))
        .without("/strips", 0)
        .plan("/hoopings", json!(hoopings))
        .plan("/objective/0/value", json!(3))
        .plan("/objective/0/bound", json!(3))
        // 3 × 200 × 70 mm²; overhangs of 30, 10 and 10 mm.
        .plan("/objective/3/value", json!(42_000))
        .plan("/objective/3/bound", json!(42_000))
        .plan("/objective/4/value", json!(50))
        .plan("/objective/4/bound", json!(50));
    let base = (0..3).fold(base, |base, strip| {
        base.plan(&format!("/strips/{strip}/runs/0/hooping"), json!(strip + 1))
            .plan(&format!("/hoopings/{strip}/number"), json!(strip + 1))
    });
    base.is_accepted();
    let meets = base.scenario("/begun", done(5));
    let found = meets.found();
    assert!(
        found
            .iter()
            .any(|found| found.ends_with("at /corners/0/mismatch")),
        "{found:?}"
    );
}

/// What is measured replaces the length that was planned.
#[test]
fn a_measured_strip_has_that_length() {
    let measured = |length: u32| {
        stopping_early().scenario("/measured", json!([{"strip": "short", "length": length}]))
    };
    measured(70).is_accepted();
    let found = measured(80).found();
    assert!(
        found
            .iter()
            .any(|found| found == "wrong-length at /strips/0/length"),
        "{found:?}"
    );
}

/// 10 % of what is cut is lost: 90 mm are cut 100, and 300 mm are cut 333 1/3, rounded up to a nanometre.
#[test]
fn take_up_is_cut_longer() {
    let taken = stopping_early()
        .scenario("/allowances/take_up", json!(10))
        .plan("/strips/0/cut/0", json!(100))
        .plan("/strips/1/cut/0", json!(333.333_334));
    taken.is_accepted();
    taken
        .plan("/strips/0/cut/0", json!(90))
        .is_refused_for(&["wrong-cut at /strips/0/cut/0"]);
}
