//! Designs with short repeats that may stop early have many more covers than hoopings: few strips, and yet thousands of covers.

use std::time::Duration;

use sashwright_solver::scenario::read;
use sashwright_tests::answer::answer;
use serde_json::{Value, json};

/// A size with a margin of a quarter of an inch along and half an inch across, which may stop early.
fn stopping(id: &str, width: f64, repeat: f64, repeats: u32) -> Value {
    let field = [repeat * f64::from(repeats) + 0.25, width + 0.5];
    json!({
        "id": id, "width": width, "repeat": repeat, "repeats": repeats, "field": field,
        "scale": [0.97, 1.03], "stop_early": true
    })
}

/// A small quilt with sashes all around its blocks and one border.
fn quilt(columns: u32, rows: u32, block: [f64; 2], corner: &str) -> Value {
    json!({
        "format": 1, "unit": "in",
        "quilt": {
            "blocks": {"columns": columns, "rows": rows, "size": block},
            "sashing": {"width": 1.5, "cornerstones": true, "outer": true, "design": "path"},
            "borders": [{"width": 3, "corner": corner, "design": "walk"}]
        },
        "hoops": [
            {"id": "small", "field": [5, 7], "frame": [7, 9.5]},
            {"id": "medium", "field": [6, 10], "frame": [8.5, 13]},
            {"id": "large", "field": [9.5, 14], "frame": [12, 17]}
        ],
        "designs": [
            {"id": "path", "sizes": [stopping("path-6", 1.5, 0.25, 24), stopping("path-12", 1.5, 0.25, 48)]},
            {"id": "walk", "sizes": [stopping("walk-6", 3.0, 1.5, 4), stopping("walk-12", 3.0, 1.5, 8)]}
        ],
        "goal": {"priorities": ["hoopings", "joints", "stabilizer"]}
    })
}

/// Every term is proven, though the linear program is a hooping short of the optimum. What the values should be was found in two ways:
/// with all covers listed at once (13 000 of them), and with hoopings settled first.
#[track_caller]
fn proven(document: &Value, expected: [&str; 3]) {
    let scenario = read(document.to_string().as_bytes()).expect("a scenario without fault");
    let plan = answer(&scenario, Duration::from_secs(60)).expect("a plan");
    let values: Vec<String> = (plan.objective.iter())
        .map(|entry| entry.value.to_string())
        .collect();
    assert_eq!(values, expected);
    assert!(plan.objective.iter().all(|entry| entry.proven));
}

#[test]
fn seventeen_sashes_of_ten_inches_and_a_border_with_cornerstones() {
    let document = quilt(3, 2, [10.0, 10.0], "cornerstone");
    proven(&document, ["10", "6", "2551.5"]);
}

#[test]
fn blocks_that_are_not_square() {
    let document = quilt(3, 2, [9.25, 9.75], "cornerstone");
    proven(&document, ["9", "6", "2285.5"]);
}

#[test]
fn a_butted_border_with_ten_joints() {
    let document = quilt(2, 3, [11.5, 12.0], "butted");
    proven(&document, ["11", "10", "2763.5"]);
}
