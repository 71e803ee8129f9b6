//! Plans that do not keep a wish.

use serde_json::{Value, json};

use super::by_hand::ByHand;
use super::plans::{stopping_early, two_lanes};

/// A plan of a scenario with one wish more.
fn wished(of: ByHand, wish: Value) -> ByHand {
    of.scenario("/wishes", json!([wish]))
}

/// Hoopings 1 to 3 hold the three runs of "long", hooping 4 the one of "short", each alone in the hoop "slim".
#[test]
fn wishes_about_one_run_a_hooping() {
    let early = |wish: Value| wished(stopping_early(), wish);
    early(json!({"wish": "only_in", "strips": ["long", "short"], "hoops": ["slim"]})).is_accepted();
    early(json!({"wish": "apart", "strips": ["long", "short"]})).is_accepted();
    early(json!({"wish": "at_most", "runs": 1})).is_accepted();
    early(json!({"wish": "one_size", "strips": ["long", "short"]})).is_accepted();
    early(json!({"wish": "first", "strips": ["long"]})).is_accepted();
    early(json!({"wish": "first", "strips": ["short"]}))
        .is_refused_for(&["wish-first at /hoopings/3"]);
    // "short" is where it should be; "long" is neither there nor in one run.
    early(json!({"wish": "together", "strips": ["long", "short"]}))
        .is_refused_for(&["wish-together at /strips/1/runs"]);
    let hoops = json!([{"id": "slim", "field": [100, 20], "turn": false},
        {"id": "other", "field": [100, 20], "turn": false}]);
    early(json!({"wish": "only_in", "strips": ["short"], "hoops": ["other"]}))
        .scenario("/hoops", hoops)
        .is_refused_for(&["wish-only-in at /hoopings/3/placements/0"]);
}

/// All four strips lie in one hooping.
#[test]
fn wishes_about_four_runs_in_a_hooping() {
    let lanes = |wish: Value| wished(two_lanes(), wish);
    lanes(json!({"wish": "together", "strips": ["a", "c"]})).is_accepted();
    lanes(json!({"wish": "at_most", "runs": 4})).is_accepted();
    lanes(json!({"wish": "at_most", "runs": 3}))
        .is_refused_for(&["wish-at-most at /hoopings/0/placements"]);
    lanes(json!({"wish": "apart", "strips": ["b", "c"]}))
        .is_refused_for(&["wish-apart at /hoopings/0/placements"]);
}

/// The runs of "long" are 100, 100 and 80 mm long, and the first begins 2.5 mm before its seam line.
#[test]
fn wishes_about_places_along_a_strip() {
    let early = |wish: Value| wished(stopping_early(), wish);
    let away = |spot: f64, distance: f64| {
        early(
            json!({"wish": "joints_away", "strips": ["long"], "spots": [spot], "distance": distance}),
        )
    };
    away(97.5, 0.5).is_refused_for(&["wish-joints-away at /strips/1/runs/0/to"]);
    away(98.5, 1.0).is_accepted();
    away(96.5, 1.01).is_refused_for(&["wish-joints-away at /strips/1/runs/0/to"]);
    away(197.5, 100.0).is_refused_for(&["wish-joints-away at /strips/1/runs/1/to"]);
    // The two ends of the strip are no joints.
    away(0.0, 97.5).is_accepted();
    away(275.0, 77.5).is_accepted();
    // The middle is 137.5 mm from either end.
    let middle = |distance: f64| {
        early(json!({"wish": "joints_away", "strips": ["long"], "distance": distance}))
    };
    middle(40.0).is_accepted();
    middle(40.01).is_refused_for(&["wish-joints-away at /strips/1/runs/0/to"]);
    early(json!({"wish": "symmetric", "strips": ["short"]})).is_accepted();
    early(json!({"wish": "symmetric", "strips": ["long"]}))
        .is_refused_for(&["wish-symmetric at /strips/1/runs/2"]);
}

/// A twin of "long", stitched in runs of 100, 80 and 100 mm.
#[test]
fn strips_wished_alike() {
    let segment = |repeats: u32| json!([{"size": "dots-10", "repeats": repeats}]);
    let hooping = |number: u32, run: u32, length: u32, open: Value| {
        json!({"number": number, "hoop": "slim", "turned": false, "stabilizer": [150, 70], "placements": [
            {"strip": "twin", "run": run, "lane": 1, "along": 0, "across": 10, "length": length, "width": 20, "open": open}]})
    };
    let twin = |middle: u32, last: u32| {
        let second = 97.5 + f64::from(middle) * 10.0;
        let mut of = stopping_early();
        of.scenario["strips"]
            .as_array_mut()
            .expect("a list")
            .push(json!({"id": "twin", "length": 275, "width": 20, "design": "dots"}));
        let entry = json!({"id": "twin", "length": 275, "width": 20, "design": "dots", "scale": 1, "overhang": 5,
            "trimmed": [285, 30], "cut": [300, 40],
            "runs": [{"hooping": 5, "from": -2.5, "to": 97.5, "segments": segment(10)},
                {"hooping": 6, "from": 97.5, "to": second, "segments": segment(middle)},
                {"hooping": 7, "from": second, "to": 277.5, "segments": segment(last)}]});
        let of = of
            .with("/strips", entry)
            .with("/hoopings", hooping(5, 1, 100, json!(["end"])))
            .with(
                "/hoopings",
                hooping(6, 2, middle * 10, json!(["start", "end"])),
            )
            .with("/hoopings", hooping(7, 3, last * 10, json!(["start"])));
        let values = [("0", 7), ("1", 4), ("3", 73_500), ("4", 10)];
        let of = values.into_iter().fold(of, |of, (term, value)| {
            of.plan(&format!("/objective/{term}/value"), json!(value))
                .plan(&format!("/objective/{term}/bound"), json!(value))
        });
        wished(
            of,
            json!({"wish": "alike", "strips": ["long", "twin", "short"]}),
        )
    };
    twin(10, 8).is_accepted();
    twin(8, 10).is_refused_for(&["wish-alike at /strips/2/runs"]);
}
