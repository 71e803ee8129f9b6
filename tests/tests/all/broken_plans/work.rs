//! What a plan says of its time and thread.

use serde_json::{Value, json};

use super::by_hand::ByHand;
use super::plans::stopping_early;

/// The member of a plan that tells of its work.
const WORK: &str = "/work";

/// Four runs of 7 + 10 + 10 + 8 repeats in four hoopings of one hoop, 1000 stitches to ten repeats in three threads: 3500
/// stitches. A repeat takes 100 / 600 of a minute, which is kept as 0.1667, so all 35 take 5.8345. By hand: 4 · 5 minutes
/// to hoop, 4 · 4 to lay the runs, and 2 thread changes in each of 4 runs. Either thread: 3500 · (2.5 + 2) mm and a tenth more.
fn told() -> ByHand {
    let work = json!({
        "stitches": 3500, "machine_minutes": 5.8345, "hands_on_minutes": 44, "minutes": 49.8345,
        "thread_changes": 8, "thread": {"upper": 17325, "bobbin": 17325}
    });
    stopping_early()
        .scenario("/designs/0/sizes/0/stitches", json!(1000))
        .scenario("/designs/0/sizes/1/stitches", json!(2000))
        .scenario("/designs/0/threads", json!(["sand", "moss", "dusk"]))
        .plan("/work", work)
}

/// Where a plan says something of its work.
fn place(name: &str) -> String {
    format!("{WORK}/{name}")
}

#[test]
fn what_is_told_of_the_work_is_compared() {
    told().is_accepted();
    told().plan(&place("minutes"), json!(49.835)).is_accepted();
    for (name, wrong) in [
        ("stitches", json!(3501)),
        ("machine_minutes", json!(5.8333)),
        ("hands_on_minutes", json!(43)),
        ("minutes", json!(44)),
        ("thread_changes", json!(12)),
        ("thread/upper", json!(17325.01)),
        ("thread/bobbin", json!(1e300)),
    ] {
        let refused = format!("wrong-work at {}", place(name));
        told().plan(&place(name), wrong).is_refused_for(&[&refused]);
    }
    for name in ["stitches", "machine_minutes", "minutes"] {
        let silent = told().plan(&place(name), Value::Null);
        silent.is_refused_for(&["wrong-work at /work"]);
    }
}

/// Without the stitches of a size that is used, only the work by hand is known; other sizes are of no matter.
#[test]
fn without_stitches_no_time_at_the_machine_is_told() {
    let unknown = |size: usize| {
        let mut unknown = told();
        let size = &mut unknown.scenario["designs"][0]["sizes"][size];
        size.as_object_mut().expect("a size").remove("stitches");
        unknown
    };
    unknown(1).is_accepted();
    let by_hand = json!({"hands_on_minutes": 44, "thread_changes": 8});
    unknown(0).plan("/work", by_hand).is_accepted();
    let refused = [
        "stitches",
        "machine_minutes",
        "minutes",
        "thread/upper",
        "thread/bobbin",
    ];
    let refused = refused.map(|name| format!("wrong-work at /work/{name}"));
    unknown(0).is_refused_for(&refused.each_ref().map(String::as_str));
}

/// The rates decide: 250 stitches a minute are 0.4 for a repeat and 14 for all; 4 · 1.5 + 4 · 0.25 + 8 · 0.5 by hand.
#[test]
fn minutes_are_a_term_of_the_goal() {
    let entry =
        |value: Value| json!([{"term": "minutes", "value": value, "bound": value, "proven": true}]);
    let timed = told()
        .scenario(
            "/rates",
            json!({"stitches_per_minute": 250, "hooping": 1.5, "placement": "1/4", "thread_change": 0.5}),
        )
        .scenario("/goal", json!({"priorities": ["minutes"]}))
        .plan("/work/machine_minutes", json!(14))
        .plan("/work/hands_on_minutes", json!(11))
        .plan("/work/minutes", json!(25));
    timed
        .clone()
        .plan("/objective", entry(json!(25)))
        .is_accepted();
    timed
        .clone()
        .plan("/objective", entry(json!(25.0001)))
        .is_refused_for(&["wrong-objective-value at /objective/0/value"]);
    let cost = json!([{"term": "cost", "value": 58, "bound": 58, "proven": true}]);
    timed
        .scenario("/goal", json!({"prices": {"minutes": 2, "joints": 4}}))
        .plan("/objective", cost)
        .is_accepted();
}

/// Two hoops that take turns: three changes of 2 minutes each.
#[test]
fn fetching_another_hoop_takes_time() {
    let hoops = json!([{"id": "slim", "field": [100, 20], "turn": false},
        {"id": "other", "field": [100, 20], "turn": false}]);
    told()
        .scenario("/hoops", hoops)
        .plan("/hoopings/1/hoop", json!("other"))
        .plan("/hoopings/3/hoop", json!("other"))
        .plan("/objective/5/value", json!(3))
        .plan("/objective/5/bound", json!(3))
        .plan("/work/hands_on_minutes", json!(50))
        .plan("/work/minutes", json!(55.8345))
        .is_accepted();
}

/// Four pieces of 150 × 70 mm. On a roll 210 wide three lie beside each other in 150, and one across it in 70: 220 by hand. On one 160
/// wide one after the other, 280, is less than two times two in 150. Where they may not be turned, two levels of 150.
#[test]
fn the_length_of_roll_is_a_term_of_the_goal() {
    let entry = |value: u32| json!([{"term": "roll_length", "value": value, "bound": value, "proven": true}]);
    let rolled = |width: u32, lay: &str| {
        let stabilizer = json!({"margin": 25, "roll_width": width, "lay": lay});
        stopping_early()
            .scenario("/materials/stabilizer", stabilizer)
            .scenario("/goal", json!({"priorities": ["roll_length"]}))
    };
    for (width, lay, least) in [
        (210, "either", 220),
        (160, "either", 280),
        (210, "lengthwise", 300),
    ] {
        rolled(width, lay)
            .plan("/objective", entry(least))
            .is_accepted();
        for wrong in [least - 10, least + 10] {
            let refused = rolled(width, lay).plan("/objective", entry(wrong));
            refused.is_refused_for(&["wrong-objective-value at /objective/0/value"]);
        }
    }
    let cost = json!([{"term": "cost", "value": 118, "bound": 118, "proven": true}]);
    rolled(210, "either")
        .scenario(
            "/goal",
            json!({"prices": {"roll_length": 0.5, "joints": 4}}),
        )
        .plan("/objective", cost)
        .is_accepted();
}
