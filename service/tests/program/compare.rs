//! `compare` as a person at the command line sees it, for hoops whose plans are found by hand.

use std::time::{Duration, Instant};

use crate::call::run;
use serde_json::{Value, json};

/// Two strips of 8 in, a file of 4 in, and three hoops: "tiny" has no room for the file. "short" takes one file along and lanes of
/// 2 + 1 1/2 + 2 in across: each strip in two runs, two hoopings, each on 8 × 12 in. In "long" both strips lie whole, in one hooping.
fn scenario() -> Value {
    let hoop = |id: &str, field: [u32; 2]| json!({"id": id, "field": field, "turn": false});
    json!({
        "format": 1, "unit": "in",
        "strips": [{"id": "a", "length": 8, "width": 2, "count": 2, "design": "vine"}],
        "hoops": [hoop("tiny", [3, 3]), hoop("short", [6, 10])],
        "candidates": [hoop("long", [10, 6])],
        "designs": [{"id": "vine", "sizes": [{"id": "vine-4", "width": 2, "repeat": 2, "repeats": 2}]}],
    })
}

/// The comparison document.
fn compared(scenario: &Value, more: &[&str]) -> Value {
    let arguments = [&["compare", "-", "--format", "json"], more].concat();
    let (code, out, err) = run(&arguments, &scenario.to_string());
    assert_eq!((code, err.as_str()), (0, ""));
    serde_json::from_str(&out).expect("JSON")
}

/// For each row why it is there, its hoops, and the values of the goal's terms.
fn rows(comparison: &Value) -> Vec<(String, String, Vec<f64>)> {
    let rows = comparison["rows"].as_array().expect("rows").iter();
    let text = |value: &Value| value.as_str().expect("text").to_string();
    let row = |row: &Value| {
        let hoops = row["hoops"].as_array().expect("hoops").iter().map(text);
        let terms = row["objective"].as_array().expect("terms").iter();
        let values = terms.map(|entry| entry["value"].as_f64().expect("a number"));
        let hoops: Vec<String> = hoops.collect();
        (text(&row["reason"]), hoops.join(" "), values.collect())
    };
    rows.map(row).collect()
}

fn row(reason: &str, hoops: &str, values: &[f64]) -> (String, String, Vec<f64>) {
    (reason.into(), hoops.into(), values.to_vec())
}

/// Hoopings, joints, mismatch, stabilizer, overhang, changes of hoop.
const SHORT: [f64; 6] = [2.0, 2.0, 0.0, 192.0, 0.0, 0.0];
const LONG: [f64; 6] = [1.0, 0.0, 0.0, 96.0, 0.0, 0.0];

#[test]
fn each_hoop_alone_and_each_candidate_is_a_row() {
    let comparison = compared(&scenario(), &[]);
    let expected = [
        row("all_owned", "tiny short", &SHORT),
        row("one_alone", "tiny", &[]),
        row("one_alone", "short", &SHORT),
        row("with_candidate", "tiny short long", &LONG),
    ];
    assert_eq!(rows(&comparison), expected);
    assert_eq!(comparison["status"], "optimal");
    assert_eq!(comparison["rows"][3]["used"], json!(["long"]));
    let refused = &comparison["rows"][1]["refused"][0];
    assert_eq!(
        (&refused["count"], &refused["strips"]),
        (&json!(2), &json!(["a-1", "a-2"]))
    );
    let fewest = &comparison["verdict"]["fewest"];
    assert_eq!(
        (&fewest["hoops"], &fewest["proven"]),
        (&json!(["short"]), &json!(true))
    );
}

#[test]
fn every_set_is_a_row_where_it_is_asked_for() {
    let comparison = compared(&scenario(), &["--every-set"]);
    let expected = [
        row("all_owned", "tiny short", &SHORT),
        row("one_alone", "tiny", &[]),
        row("one_alone", "short", &SHORT),
        row("with_candidate", "tiny short long", &LONG),
        row("every_set", "long", &LONG),
        row("every_set", "tiny long", &LONG),
        row("every_set", "short long", &LONG),
    ];
    assert_eq!(rows(&comparison), expected);
}

#[test]
fn the_verdict_is_told_in_sentences() {
    let (code, text, err) = run(&["compare", "-"], &scenario().to_string());
    assert_eq!((code, err.as_str()), (0, ""));
    let sentences: Vec<&str> = text
        .lines()
        .filter(|line| line.starts_with("  - "))
        .collect();
    let expected = [
        "  - short alone is enough for 2 hoopings: no fewer hoops can do it.",
        "  - Without tiny nothing gets worse.",
        "  - Without short, 2 strips cannot be stitched.",
        "  - With long as well: 1 hooping less, 2 joints less, 96 in² of stabilizer less.",
    ];
    assert_eq!(sentences, expected);
    assert!(text.contains("cannot take a-1, a-2: "), "{text}");
}

/// What is planned with the candidate settles the owned hoops, for which there is nothing left to plan.
#[test]
fn a_candidate_of_no_use_brings_nothing() {
    let mut scenario = scenario();
    scenario["candidates"][0]["field"] = json!([3, 4]);
    let comparison = compared(&scenario, &[]);
    let expected = [
        row("all_owned", "tiny short", &SHORT),
        row("one_alone", "tiny", &[]),
        row("one_alone", "short", &SHORT),
        row("with_candidate", "tiny short long", &SHORT),
    ];
    assert_eq!(rows(&comparison), expected);
    let sentences = comparison["verdict"]["sentences"]
        .as_array()
        .expect("a list");
    let last = json!("With long as well nothing gets better.");
    assert_eq!(sentences.last(), Some(&last));
}

/// In "short" every strip has its joint in the middle.
#[test]
fn without_a_hoop_that_wishes_need_there_is_no_plan() {
    let mut scenario = scenario();
    let fields = scenario.as_object_mut().expect("fields");
    let candidates = fields.remove("candidates").expect("a hoop");
    scenario["hoops"][0] = candidates[0].clone();
    scenario["wishes"] = json!([{"wish": "joints_away", "strips": ["a"], "distance": 1}]);
    let comparison = compared(&scenario, &[]);
    let brings = &comparison["verdict"]["brings"][0];
    assert_eq!(brings["hoop"], "long");
    assert_eq!(
        (&brings["wishes_fail"], &brings["strips"]),
        (&json!(true), &json!(0))
    );
    let sentence = json!("Without long there is no plan: wishes cannot be kept.");
    let sentences = comparison["verdict"]["sentences"]
        .as_array()
        .expect("a list");
    assert!(sentences.contains(&sentence), "{sentences:?}");
    // Owning the short one alone, she is told the same.
    scenario["hoops"].as_array_mut().expect("hoops").remove(0);
    let comparison = compared(&scenario, &[]);
    assert_eq!(
        comparison["verdict"]["sentences"][0],
        "With the owned hoops wishes cannot be kept, so there is no plan."
    );
}

/// Nine hoops: all of them, each alone, and all but each.
#[test]
fn of_more_than_eight_hoops_not_every_set_is_compared_and_that_is_said() {
    let mut scenario = scenario();
    let hoop =
        |number: u32| json!({"id": format!("short-{number}"), "field": [6, 10], "turn": false});
    scenario["hoops"] = (1..=8).map(hoop).collect();
    scenario["candidates"] = json!([hoop(9)]);
    let said = |comparison: &Value| {
        let sentences = comparison["verdict"]["sentences"]
            .as_array()
            .expect("a list");
        let last = sentences
            .last()
            .and_then(Value::as_str)
            .expect("a sentence");
        last.starts_with("Not every set is compared: with the candidates there are 9 hoops")
    };
    let asked = compared(&scenario, &["--every-set"]);
    assert_eq!(rows(&asked).len(), 1 + 8 + 8 + 1);
    assert!(said(&asked), "{asked}");
    assert!(!said(&compared(&scenario, &[])));
}

/// All seven sets of the lap quilt's hoops within half a second: each has a plan, and what is not proven is said not to be.
#[test]
fn a_comparison_keeps_to_its_limit() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../scenarios/lap-quilt.json");
    let text = std::fs::read_to_string(path).expect("the scenario");
    let mut scenario: Value = serde_json::from_str(&text).expect("JSON");
    scenario["limits"] = json!({"seconds": 0.5});
    let begin = Instant::now();
    let comparison = compared(&scenario, &["--every-set"]);
    let taken = begin.elapsed();
    // Starting, reading and a busy machine come on top.
    assert!(taken < Duration::from_secs(5), "{taken:?}");
    let rows = comparison["rows"].as_array().expect("rows");
    assert_eq!(rows.len(), 7);
    let proven = |row: &Value| {
        let terms = row["objective"].as_array().expect("terms");
        assert_eq!(terms.len(), 6, "{row}");
        let proven = terms.iter().all(|entry| entry["proven"] == true);
        assert_eq!(row["status"] == "optimal", proven, "{row}");
        proven
    };
    let proven: Vec<bool> = rows.iter().map(proven).collect();
    assert!(!proven.contains(&false) || comparison["status"] == "feasible");
    // Whatever is stitched in one run anywhere is so in the large hoop: a plan for some hoops with it is one for all of them.
    let told = self::rows(&comparison);
    for (_, hoops, values) in told.iter().filter(|(_, hoops, _)| hoops.contains("large")) {
        assert!(told[0].2 <= *values, "{hoops} alone does better: {told:?}");
    }
}
