//! The valid plans, each with the arithmetic behind it, and that they are accepted.

use serde_json::{Value, json};

use super::by_hand::ByHand;

/// A term whose bound is its value.
pub fn proven(term: &str, value: Value) -> Value {
    json!({"term": term, "value": value, "bound": value, "proven": true})
}

/// A design of two sizes for strips 20 mm wide: 60 mm long with margins of 4 mm both ways, and 90 mm long with
/// margins of 6 and 4 mm. The fabric reaches 10 mm past the stitching, so two fabrics keep 2·10 + 10 = 30 mm apart.
fn vine() -> Value {
    json!([{"id": "vine", "sizes": [
        {"id": "vine-60", "width": 20, "repeat": 30, "repeats": 2, "field": [64, 24]},
        {"id": "vine-90", "width": 20, "repeat": 30, "repeats": 3, "field": [96, 24]}
    ]}])
}

fn large_hoop() -> Value {
    json!([{"id": "large", "field": [200, 100], "frame": [240, 140]}])
}

/// Four strips of one run each in two lanes of one hooping.
///
/// Along each lane: 4/2 + 60 + max((4 + 6)/2, 30) + 90 + 6/2 = 185 ≤ 200 mm. Across: 4/2 + 20 + 30 + 20 + 4/2 = 74 ≤
/// 100 mm, the centre lines at 2 + 10 = 12 and 12 + 20 + 30 = 62 mm. The stabilizer is 240 + 50 by 140 + 50 mm.
pub fn two_lanes() -> ByHand {
    let strip = |id: &str, length: u32, size: &str, repeats: u32| {
        json!({"id": id, "length": length, "width": 20, "design": "vine", "scale": 1, "overhang": 0,
            "trimmed": [length + 10, 30], "cut": [length + 20, 40],
            "runs": [{"hooping": 1, "from": 0, "to": length, "segments": [{"size": size, "repeats": repeats}]}]})
    };
    let placement = |id: &str, lane: u32, along: u32, across: u32, length: u32| {
        json!({"strip": id, "run": 1, "lane": lane, "along": along, "across": across,
            "length": length, "width": 20, "open": []})
    };
    ByHand {
        scenario: json!({
            "format": 1, "name": "two lanes", "unit": "mm",
            "strips": [
                {"id": "a", "length": 60, "width": 20, "design": "vine"},
                {"id": "b", "length": 90, "width": 20, "design": "vine"},
                {"id": "c", "length": 60, "width": 20, "design": "vine"},
                {"id": "d", "length": 90, "width": 20, "design": "vine"}],
            "hoops": large_hoop(), "designs": vine(),
            "allowances": {"seam": 5, "trim": 5, "gap": 10},
            "materials": {"stabilizer": {"margin": 25}}
        }),
        plan: json!({
            "format": 1, "scenario": "two lanes", "unit": "mm", "status": "optimal",
            "objective": [
                proven("hoopings", json!(1)), proven("joints", json!(0)), proven("corner_mismatch", json!(0)),
                proven("stabilizer", json!(55_100)), proven("overhang", json!(0)), proven("hoop_changes", json!(0))],
            "strips": [
                strip("a", 60, "vine-60", 2), strip("b", 90, "vine-90", 3),
                strip("c", 60, "vine-60", 2), strip("d", 90, "vine-90", 3)],
            "hoopings": [{"number": 1, "hoop": "large", "turned": false, "stabilizer": [290, 190], "placements": [
                placement("a", 1, 2, 12, 60), placement("b", 1, 92, 12, 90),
                placement("c", 2, 2, 62, 60), placement("d", 2, 92, 62, 90)]}],
            "corners": [], "unplanned": [], "warnings": []
        }),
    }
}

/// A butted border around 200 × 180 mm: left and right 180 mm = 3 × 60, top and bottom 240 mm = 4 × 60.
///
/// The hoop takes 2 + 3·60 + 2 = 184 mm of a strip, so top and bottom are split into 180 and 60 mm. Two hoopings hold
/// 180 mm in each of two lanes; the third holds both rests in one lane, 2 + 60 + 30 + 60 + 2 = 154 mm, the open start
/// of each outward, for which the second one is reversed.
pub fn butted() -> ByHand {
    let segments = |count: usize| vec![json!({"size": "vine-60", "repeats": 2}); count];
    let side = |id: &str, hooping: u32| {
        json!({"id": id, "length": 180, "width": 20, "design": "vine", "scale": 1, "overhang": 0,
            "trimmed": [190, 30], "cut": [200, 40],
            "runs": [{"hooping": hooping, "from": 0, "to": 180, "segments": segments(3)}]})
    };
    let end = |id: &str, hooping: u32| {
        json!({"id": id, "length": 240, "width": 20, "design": "vine", "scale": 1, "overhang": 0,
            "trimmed": [250, 30], "cut": [260, 40],
            "runs": [
                {"hooping": hooping, "from": 0, "to": 180, "segments": segments(3)},
                {"hooping": 3, "from": 180, "to": 240, "segments": segments(1)}]})
    };
    let hooping = |number: u32, side: &str, end: &str| {
        json!({"number": number, "hoop": "large", "turned": false, "stabilizer": [290, 190], "placements": [
            {"strip": side, "run": 1, "lane": 1, "along": 2, "across": 12, "length": 180, "width": 20, "open": []},
            {"strip": end, "run": 1, "lane": 2, "along": 2, "across": 62, "length": 180, "width": 20,
                "open": ["end"]}]})
    };
    let corner = |name: &str, side: &str, end: &str| json!({"border": 1, "corner": name, "strips": [side, end], "mismatch": 0});
    ByHand {
        scenario: json!({
            "format": 1, "name": "butted", "unit": "mm",
            "quilt": {"centre": [200, 180], "borders": [{"width": 20, "design": "vine"}]},
            "hoops": large_hoop(), "designs": vine(),
            "allowances": {"seam": 5, "trim": 5, "gap": 10},
            "materials": {"stabilizer": {"margin": 25}}
        }),
        plan: json!({
            "format": 1, "scenario": "butted", "unit": "mm", "status": "optimal",
            "objective": [
                proven("hoopings", json!(3)), proven("joints", json!(2)), proven("corner_mismatch", json!(0)),
                proven("stabilizer", json!(165_300)), proven("overhang", json!(0)), proven("hoop_changes", json!(0))],
            "strips": [side("border-1-left", 1), side("border-1-right", 2),
                end("border-1-top", 1), end("border-1-bottom", 2)],
            "hoopings": [
                hooping(1, "border-1-left", "border-1-top"),
                hooping(2, "border-1-right", "border-1-bottom"),
                {"number": 3, "hoop": "large", "turned": false, "stabilizer": [290, 190], "placements": [
                    {"strip": "border-1-top", "run": 2, "lane": 1, "along": 2, "across": 12, "length": 60,
                        "width": 20, "open": ["start"]},
                    {"strip": "border-1-bottom", "run": 2, "lane": 1, "along": 92, "across": 12, "length": 60,
                        "width": 20, "open": ["start"], "reversed": true}]}],
            "corners": [
                corner("top-left", "border-1-left", "border-1-top"),
                corner("top-right", "border-1-right", "border-1-top"),
                corner("bottom-left", "border-1-left", "border-1-bottom"),
                corner("bottom-right", "border-1-right", "border-1-bottom")],
            "unplanned": [], "warnings": []
        }),
    }
}

/// A mitred border around 100 × 80 mm: left and right 120 mm, top and bottom 140 mm, each of three repeats of 50 mm.
///
/// The overhangs are 30 and 10 mm, half at each end, so the pattern starts 15 and 5 mm before the seams: at every
/// corner it misses itself by (15 − 5)/50 of a repeat, 10 mm.
pub fn mitred() -> ByHand {
    let strip = |id: &str, hooping: u32, length: u32, overhang: i32| {
        json!({"id": id, "length": length, "width": 20, "design": "wave", "scale": 1, "overhang": overhang,
            "trimmed": [length + 10, 30], "cut": [170, 40],
            "runs": [{"hooping": hooping, "from": -overhang / 2, "to": 150 - overhang / 2,
                "segments": [{"size": "wave-50", "repeats": 1}, {"size": "wave-50", "repeats": 1},
                    {"size": "wave-50", "repeats": 1}]}]})
    };
    let hooping = |number: u32, strip: &str| {
        json!({"number": number, "hoop": "long", "turned": false, "stabilizer": [200, 70], "placements": [
            {"strip": strip, "run": 1, "lane": 1, "along": 0, "across": 10, "length": 150, "width": 20, "open": []}]})
    };
    let corner = |name: &str, side: &str, end: &str| json!({"border": 1, "corner": name, "strips": [side, end], "mismatch": 10});
    ByHand {
        scenario: json!({
            "format": 1, "name": "mitred", "unit": "mm",
            "quilt": {"centre": [100, 80], "borders": [{"width": 20, "corner": "mitred", "design": "wave"}]},
            "hoops": [{"id": "long", "field": [150, 20], "turn": false}],
            "designs": [{"id": "wave", "sizes": [{"id": "wave-50", "width": 20, "repeat": 50, "repeats": 1}]}],
            "allowances": {"seam": 5, "trim": 5, "gap": 10},
            "materials": {"stabilizer": {"margin": 25}}
        }),
        plan: json!({
            "format": 1, "scenario": "mitred", "unit": "mm", "status": "feasible",
            "objective": [
                proven("hoopings", json!(4)), proven("joints", json!(0)),
                {"term": "corner_mismatch", "value": 40, "bound": 0, "proven": false},
                proven("stabilizer", json!(56_000)), proven("overhang", json!(80)), proven("hoop_changes", json!(0))],
            "strips": [strip("border-1-left", 1, 120, 30), strip("border-1-right", 2, 120, 30),
                strip("border-1-top", 3, 140, 10), strip("border-1-bottom", 4, 140, 10)],
            "hoopings": [hooping(1, "border-1-left"), hooping(2, "border-1-right"),
                hooping(3, "border-1-top"), hooping(4, "border-1-bottom")],
            "corners": [
                corner("top-left", "border-1-left", "border-1-top"),
                corner("top-right", "border-1-right", "border-1-top"),
                corner("bottom-left", "border-1-left", "border-1-bottom"),
                corner("bottom-right", "border-1-right", "border-1-bottom")],
            "unplanned": [], "warnings": []
        }),
    }
}

/// 14.2 in from two sizes of 7 in, stretched by 14.2/14 = 1.0142857… to 7.1 in each, in a hoop of 6 × 10 in.
///
/// One run needs 1/8 + 7.1 + 1/8 in along the turned hoop; both together would need 14.45 in. Across: 1/4 + 2 + 1/4.
/// The stabilizer is 8.5 + 2 by 13 + 2 in, 157.5 in² a piece, at 2 each; a hooping costs 1.5 and a joint 0.25.
pub fn scaled() -> ByHand {
    let run = |hooping: u32, from: f64, to: f64| json!({"hooping": hooping, "from": from, "to": to, "segments": [{"size": "vine-2-short", "repeats": 2}]});
    let hooping = |number: u32, open: &str| {
        json!({"number": number, "hoop": "medium", "turned": true, "stabilizer": [10.5, 15], "placements": [
            {"strip": "sash", "run": number, "lane": 1, "along": 0.125, "across": 1.25, "length": 7.1, "width": 2,
                "open": [open]}]})
    };
    ByHand {
        scenario: json!({
            "format": 1, "name": "scaled", "unit": "in",
            "strips": [{"id": "sash", "length": "14 1/5", "width": 2, "design": "vine"}],
            "hoops": [{"id": "medium", "field": [6, 10], "frame": [8.5, 13], "turn": true}],
            "designs": [{"id": "vine", "sizes": [{"id": "vine-2-short", "width": 2, "repeat": 3.5, "repeats": 2,
                "field": [7.25, 2.5], "scale": [0.97, 1.03]}]}],
            "goal": {"prices": {"hoopings": 1.5, "joints": "1/4", "stabilizer": 2}}
        }),
        plan: json!({
            "format": 1, "scenario": "scaled", "unit": "in", "status": "optimal",
            // 2 · 1.5 + 0.25 + 2 · 2 · 157.5
            "objective": [{"term": "cost", "value": 633.25, "bound": 633.25, "proven": true}],
            "strips": [{"id": "sash", "length": 14.2, "width": 2, "design": "vine", "scale": 1.014286, "overhang": 0,
                "trimmed": [14.7, 2.5], "cut": [15.2, 3], "runs": [run(1, 0.0, 7.1), run(2, 7.1, 14.2)]}],
            "hoopings": [hooping(1, "end"), hooping(2, "start")],
            "corners": [], "unplanned": [], "warnings": []
        }),
    }
}

/// Two strips of a size that may stop after every 10 mm, in a hoop that takes 100 mm: 70 mm of seven repeats in one
/// run, and 275 mm of 10 + 10 + 8 repeats, which reach 2.5 mm past both seams.
pub fn stopping_early() -> ByHand {
    let segment = |repeats: u32| json!([{"size": "dots-10", "repeats": repeats}]);
    let hooping = |number: u32, strip: &str, run: u32, length: u32, open: Value| {
        json!({"number": number, "hoop": "slim", "turned": false, "stabilizer": [150, 70], "placements": [
            {"strip": strip, "run": run, "lane": 1, "along": 0, "across": 10, "length": length, "width": 20,
                "open": open}]})
    };
    ByHand {
        scenario: json!({
            "format": 1, "name": "stopping early", "unit": "mm",
            "strips": [
                {"id": "short", "length": 70, "width": 20, "design": "dots"},
                {"id": "long", "length": 275, "width": 20, "design": "dots"}],
            "hoops": [{"id": "slim", "field": [100, 20], "turn": false}],
            "designs": [{"id": "dots", "sizes": [
                {"id": "dots-10", "width": 20, "repeat": 10, "repeats": 10, "stop_early": true},
                {"id": "dots-wide", "width": 30, "repeat": 10, "repeats": 10, "stop_early": true}]}],
            "allowances": {"seam": 5, "trim": 5, "gap": 10},
            "materials": {"stabilizer": {"margin": 25}}
        }),
        plan: json!({
            "format": 1, "scenario": "stopping early", "unit": "mm", "status": "optimal",
            "objective": [
                proven("hoopings", json!(4)), proven("joints", json!(2)), proven("corner_mismatch", json!(0)),
                proven("stabilizer", json!(42_000)), proven("overhang", json!(5)), proven("hoop_changes", json!(0))],
            "strips": [
                {"id": "short", "length": 70, "width": 20, "design": "dots", "scale": 1, "overhang": 0,
                    "trimmed": [80, 30], "cut": [90, 40],
                    "runs": [{"hooping": 4, "from": 0, "to": 70, "segments": segment(7)}]},
                {"id": "long", "length": 275, "width": 20, "design": "dots", "scale": 1, "overhang": 5,
                    "trimmed": [285, 30], "cut": [300, 40],
                    "runs": [{"hooping": 1, "from": -2.5, "to": 97.5, "segments": segment(10)},
                        {"hooping": 2, "from": 97.5, "to": 197.5, "segments": segment(10)},
                        {"hooping": 3, "from": 197.5, "to": 277.5, "segments": segment(8)}]}],
            "hoopings": [
                hooping(1, "long", 1, 100, json!(["end"])), hooping(2, "long", 2, 100, json!(["start", "end"])),
                hooping(3, "long", 3, 80, json!(["start"])), hooping(4, "short", 1, 70, json!([]))],
            "corners": [], "unplanned": [], "warnings": []
        }),
    }
}

#[test]
fn single_runs_share_a_hooping_in_two_lanes() {
    two_lanes().is_accepted();
}

#[test]
fn a_butted_border_with_open_ends_outward() {
    butted().is_accepted();
}

#[test]
fn a_mitred_border_with_overhang() {
    mitred().is_accepted();
}

#[test]
fn a_scaled_strip_in_a_turned_hoop() {
    scaled().is_accepted();
}

#[test]
fn a_size_that_stops_early() {
    stopping_early().is_accepted();
}
