//! Cases worked by hand, so that the oracle itself is trusted.

use sashwright_solver::scenario::read;
use serde_json::{Value, json};

use super::covering::{Covering, coverings};
use super::{Outcome, Work, solve};

/// A scenario without allowances whose only design is "vine"; `fields` are added or put in place.
fn outcome(hoops: Value, sizes: Value, fields: Value) -> Outcome {
    let mut document = json!({
        "format": 1,
        "unit": "in",
        "hoops": hoops,
        "designs": [{"id": "vine", "sizes": sizes}],
        "allowances": {"seam": 0, "trim": 0, "gap": 0},
        "materials": {"stabilizer": {"margin": 0}},
    });
    for (name, value) in fields.as_object().expect("fields") {
        document[name] = value.clone();
    }
    let scenario = read(document.to_string().as_bytes()).expect("no fault");
    solve(&scenario, &mut Work::of(2_000_000)).expect("small enough")
}

/// The terms' values of the best plan, in the goal's order, as text.
fn best(hoops: Value, sizes: Value, fields: Value) -> Vec<String> {
    match outcome(hoops, sizes, fields) {
        Outcome::Best(optimum) => {
            let values = optimum.objective.iter();
            values.map(|(_, value)| value.to_string()).collect()
        }
        Outcome::CannotBeStitched(strips) => panic!("{strips:?} cannot be stitched"),
        Outcome::WishesCannotBeKept => panic!("nothing is wished"),
    }
}

fn strips(lengths: &[i64]) -> Value {
    let entries = lengths.iter().enumerate();
    let entry = |(index, length)| json!({"id": format!("s{index}"), "length": length, "width": 1, "design": "vine"});
    entries.map(entry).collect()
}

fn whole(repeat: i64) -> Value {
    json!([{"id": "v", "width": 1, "repeat": repeat, "repeats": 1}])
}

/// 8 stretches of 7 are 56, short of 60; 9 are 63.
#[test]
fn nine_stretches_cover_sixty() {
    let values = best(
        json!([{"id": "h", "field": [7, 1]}]),
        whole(7),
        json!({"strips": strips(&[60]), "goal": {"priorities": ["hoopings", "joints", "overhang"]}}),
    );
    assert_eq!(values, ["9", "8", "3"]);
}

/// Two lanes of two stretches. A lane holds one middle run or two outer ones, so the runs of three strips of three
/// would lie in three hoopings, each with one middle run. But the last hooping of three can hold no middle run: it
/// would fill a gap. Then one of the first two holds two middle runs, and no room is left for the third strip.
#[test]
fn the_order_of_work_binds() {
    for growth in ["either_way", "one_way"] {
        let values = best(
            json!([{"id": "h", "field": [8, 2], "turn": false}]),
            whole(4),
            json!({
                "strips": strips(&[12, 12, 12]),
                "rules": {"growth": growth, "combine_sizes": false},
                "goal": {"priorities": ["hoopings"]},
            }),
        );
        assert_eq!(values, ["4"], "{growth}");
    }
}

/// Middle runs lie alone in the small hoop, outer runs in pairs in the large one. From the middle outward the hoops are
/// small, small, large, large; from one end to the other large, small, small, large.
#[test]
fn starting_in_the_middle_saves_a_change() {
    for (growth, changes) in [("either_way", "1"), ("one_way", "2")] {
        let values = best(
            json!([{"id": "small", "field": [4, 1]}, {"id": "large", "field": [8, 1]}]),
            whole(4),
            json!({
                "strips": strips(&[12, 12]),
                "rules": {"growth": growth, "combine_sizes": false},
                "goal": {"priorities": ["hoopings", "stabilizer", "hoop_changes"]},
            }),
        );
        assert_eq!(values, ["4", "24", changes], "{growth}");
    }
}

/// Strips of 4, 4 and 4 in hoops of 6: whole, one to a hoop; with one of them cut in two, 12 in two hoops of 6.
#[test]
fn a_joint_may_save_a_hooping() {
    for (split, expected) in [(false, ["3", "0"]), (true, ["2", "1"])] {
        let values = best(
            json!([{"id": "h", "field": [6, 1], "turn": false}]),
            json!([{"id": "v", "width": 1, "repeat": 1, "repeats": 6, "stop_early": true}]),
            json!({
                "strips": strips(&[4, 4, 4]),
                "rules": {"split_short": split},
                "goal": {"priorities": ["hoopings", "joints"]},
            }),
        );
        assert_eq!(values, expected, "split_short {split}");
    }
}

/// Two stretches of 3 with margins of 1/2 and 1 1/2 from stitching to stitching: 1/4 + 3 + 1 1/2 + 3 + 1/4 = 8 along
/// one lane, or 1/4 + 1 + 1 1/2 + 1 + 1/4 = 4 across two.
#[test]
fn a_field_exactly_as_large_as_needed_fits() {
    let fields = [
        ([json!(8), json!(1.5)], "1"),
        ([json!("7 63/64"), json!(1.5)], "2"),
        ([json!(3.5), json!(4)], "1"),
        ([json!(3.5), json!("3 63/64")], "2"),
    ];
    for (field, hoopings) in fields {
        let shown = format!("{field:?}");
        let values = best(
            json!([{"id": "h", "field": field, "turn": false}]),
            json!([{"id": "v", "width": 1, "repeat": 3, "repeats": 1, "field": [3.5, 1.5]}]),
            json!({
                "strips": strips(&[3, 3]),
                "allowances": {"seam": 0.25, "trim": 0.25, "gap": 0.5},
                "goal": {"priorities": ["hoopings"]},
            }),
        );
        assert_eq!(values, [hoopings], "{shown}");
    }
}

/// The hoop is 2 along and 5 across unless it is turned.
#[test]
fn a_hoop_is_turned_only_where_it_may_be() {
    for (turn, expected) in [(true, ["1", "0"]), (false, ["2", "1"])] {
        let values = best(
            json!([{"id": "h", "field": [2, 5], "turn": turn}]),
            json!([{"id": "v", "width": 1, "repeat": 2, "repeats": 1}]),
            json!({"strips": strips(&[4]), "goal": {"priorities": ["hoopings", "joints"]}}),
        );
        assert_eq!(values, expected, "turn {turn}");
    }
}

/// Upright strips of 10 take three stretches of 4 and hang over by 2; lying ones of 12 end with the pattern. Centred: a
/// quarter of a repeat at all four corners; from the start: half a repeat at the two lower ones.
#[test]
fn corners_miss_by_the_overhang() {
    for align in ["centred", "start"] {
        let values = best(
            json!([{"id": "h", "field": [12, 1]}]),
            whole(4),
            json!({
                "quilt": {"centre": [10, 10], "borders": [{"width": 1, "design": "vine"}]},
                "rules": {"align": align},
                "goal": {"priorities": ["corner_mismatch", "overhang"]},
            }),
        );
        assert_eq!(values, ["4", "4"], "{align}");
    }
}

/// Four mitred strips of 7, each of a 3 and a 5: the pattern closes where threes meet threes and fives meet fives, so
/// two of the strips begin with the one and two with the other.
#[test]
fn the_order_of_segments_closes_the_corners() {
    let values = best(
        json!([{"id": "h", "field": [8, 1]}]),
        json!([
            {"id": "three", "width": 1, "repeat": 3, "repeats": 1},
            {"id": "five", "width": 1, "repeat": 5, "repeats": 1},
        ]),
        json!({
            "quilt": {"centre": [5, 5], "borders": [{"width": 1, "corner": "mitred", "design": "vine"}]},
            "goal": {"priorities": ["overhang", "corner_mismatch"]},
        }),
    );
    assert_eq!(values, ["4", "0"]);
}

/// 10 / 8 = 5/4 exactly; a hair less reach and it takes 12, which is then squeezed or hangs over.
#[test]
fn stretching_reaches_its_bounds() {
    for (scale, expected) in [
        (json!([1, 1.25]), ["0", "1"]),
        (json!([1, "1249999/1000000"]), ["2", "2"]),
        (json!(["5/6", 1]), ["0", "2"]),
        (json!(["833334/1000000", 1]), ["2", "2"]),
    ] {
        let shown = scale.to_string();
        let values = best(
            json!([{"id": "h", "field": [5, 1]}]),
            json!([{"id": "v", "width": 1, "repeat": 4, "repeats": 1, "scale": scale}]),
            json!({"strips": strips(&[10]), "goal": {"priorities": ["overhang", "joints"]}}),
        );
        assert_eq!(values, expected, "{shown}");
    }
}

/// Three repeats of 2/3 in are 2 in, though their nanometres are one short of it.
#[test]
fn thirds_of_an_inch_add_up() {
    let values = best(
        json!([{"id": "h", "field": [2, 1]}]),
        json!([{"id": "v", "width": 1, "repeat": "2/3", "repeats": 3, "stop_early": true}]),
        json!({"strips": strips(&[2]), "goal": {"priorities": ["hoopings", "overhang"]}}),
    );
    assert_eq!(values, ["1", "0"]);
}

/// A hooping and a square inch cost 1 each. Two strips of 3: in one hoop of 6 × 1, 1 + 6; in two of 3 × 1, 2 + 6. With a
/// frame of 6 × 2 around the large hoop, 1 + 12 against 2 + 6.
#[test]
fn prices_weigh_stabilizer_against_hoopings() {
    for (frame, cost) in [([6, 1], "7"), ([6, 2], "8")] {
        let values = best(
            json!([{"id": "small", "field": [3, 1]}, {"id": "large", "field": [6, 1], "frame": frame}]),
            whole(3),
            json!({"strips": strips(&[3, 3]), "goal": {"prices": {"hoopings": 1, "stabilizer": 1}}}),
        );
        assert_eq!(values, [cost]);
    }
}

/// An overhang of 1 is refused where none is allowed; the other strip is planned where that is asked for.
#[test]
fn what_cannot_be_stitched_is_named() {
    for partial in [false, true] {
        let outcome = outcome(
            json!([{"id": "h", "field": [3, 1]}]),
            whole(3),
            json!({
                "strips": strips(&[3, 5]),
                "rules": {"max_overhang": "63/64", "allow_partial": partial},
                "goal": {"priorities": ["hoopings"]},
            }),
        );
        match outcome {
            Outcome::WishesCannotBeKept => panic!("nothing is wished"),
            Outcome::CannotBeStitched(strips) => {
                assert!(!partial);
                assert_eq!(strips, ["s1"]);
            }
            Outcome::Best(optimum) => {
                assert!(partial);
                assert_eq!(optimum.unplanned, ["s1"]);
                assert_eq!(optimum.objective[0].1.to_string(), "1");
            }
        }
    }
}

/// To cover 5 by stretches of 3 and 2: exactly by both in either order; 3 + 3 and 2 + 2 + 2 hang over by 1. To any of these
/// a further stretch is superfluous, and so it is in 2 + 2 + 3.
#[test]
fn no_segment_is_superfluous() {
    let sizes = json!([
        {"id": "three", "width": 1, "repeat": 3, "repeats": 1},
        {"id": "two", "width": 1, "repeat": 2, "repeats": 1},
    ]);
    assert_eq!(
        coverings_of_5(sizes),
        [vec![2, 2, 2], vec![2, 3], vec![3, 2], vec![3, 3]]
    );
}

/// To cover 5 by stretches of one or two repeats of 2: two stretches of 4 could stop sooner.
#[test]
fn no_stretch_stops_later_than_it_must() {
    let sizes = json!([{"id": "v", "width": 1, "repeat": 2, "repeats": 2, "stop_early": true}]);
    assert_eq!(
        coverings_of_5(sizes),
        [vec![2, 2, 2], vec![2, 4], vec![4, 2]]
    );
}

/// The lengths of the segments of every covering of 5 mm.
fn coverings_of_5(sizes: Value) -> Vec<Vec<i128>> {
    let document = json!({
        "format": 1,
        "unit": "mm",
        "hoops": [{"id": "h", "field": [9, 9]}],
        "designs": [{"id": "vine", "sizes": sizes}],
        "strips": strips(&[5]),
    });
    let scenario = read(document.to_string().as_bytes()).expect("no fault");
    let sizes: Vec<_> = scenario.designs[0].sizes.iter().collect();
    let found = coverings(5_000_000, &sizes, true, None, &mut Work::of(1000)).expect("few");
    let lengths = |covering: &Covering<'_>| {
        let segments = covering.segments.iter();
        segments
            .map(|segment| segment.length() / 1_000_000)
            .collect()
    };
    let mut lengths: Vec<Vec<i128>> = found.iter().map(lengths).collect();
    lengths.sort();
    lengths
}

/// Runs of one segment each: three stretches of 2 in a hoop of 6 are three hoopings, as they are all of one strip.
#[test]
fn two_runs_of_a_strip_never_share_a_hooping() {
    for (combine, expected) in [(true, ["1", "0"]), (false, ["3", "2"])] {
        let values = best(
            json!([{"id": "h", "field": [6, 3]}]),
            whole(2),
            json!({
                "strips": strips(&[6]),
                "rules": {"combine_sizes": combine},
                "goal": {"priorities": ["hoopings", "joints"]},
            }),
        );
        assert_eq!(values, expected, "combine_sizes {combine}");
    }
}

/// Without sharing, one run to a hooping.
#[test]
fn hoopings_are_shared_only_where_they_may_be() {
    for (share, hoopings) in [(true, "1"), (false, "3")] {
        let values = best(
            json!([{"id": "h", "field": [9, 1]}]),
            whole(3),
            json!({
                "strips": strips(&[3, 3, 3]),
                "rules": {"share_hoopings": share},
                "goal": {"priorities": ["hoopings"]},
            }),
        );
        assert_eq!(values, [hoopings], "share_hoopings {share}");
    }
}
