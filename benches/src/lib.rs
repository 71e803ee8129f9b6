//! Scenarios that the benchmarks measure, as JSON documents. All of them are invented.

use serde_json::{Value, json};

/// Three hoops as a quilter may own them.
fn three_hoops() -> Value {
    json!([
        {"id": "small", "field": [5, 7], "frame": [7, 9.5]},
        {"id": "medium", "field": [6, 10], "frame": [8.5, 13]},
        {"id": "large", "field": [9.5, 14], "frame": [12, 17]}
    ])
}

/// Eight sizes: four for sashing and four for borders.
fn eight_sizes(scale: [f64; 2]) -> Value {
    json!([
        {"id": "path", "sizes": [
            {"id": "path-3", "width": 1.5, "repeat": 1.5, "repeats": 2, "field": [3.25, 2], "scale": scale},
            {"id": "path-4", "width": 1.5, "repeat": 1.5, "repeats": 3, "field": [4.75, 2], "scale": scale},
            {"id": "path-6", "width": 1.5, "repeat": 1.5, "repeats": 4, "field": [6.25, 2], "scale": scale},
            {"id": "path-9", "width": 1.5, "repeat": 1.5, "repeats": 6, "field": [9.25, 2], "scale": scale}
        ]},
        {"id": "walk", "sizes": [
            {"id": "walk-3", "width": 3, "repeat": 3.5, "repeats": 1, "field": [4, 3.5], "scale": scale},
            {"id": "walk-7", "width": 3, "repeat": 3.5, "repeats": 2, "field": [7.25, 3.5], "scale": scale},
            {"id": "walk-10", "width": 3, "repeat": 3.5, "repeats": 3, "field": [10.75, 3.5], "scale": scale},
            {"id": "walk-14", "width": 3, "repeat": 3.5, "repeats": 4, "field": [14, 3.5], "scale": scale}
        ]}
    ])
}

/// A whole quilt: 40 sashes and a border of 4 strips, 3 hoops, 8 sizes, all six terms.
pub fn whole_quilt(corner: &str) -> Value {
    json!({
        "format": 1, "name": "whole quilt", "unit": "in",
        "quilt": {
            "blocks": {"columns": 5, "rows": 5, "size": [9, 9]},
            "sashing": {"width": 1.5, "cornerstones": true, "design": "path"},
            "borders": [{"width": 3, "corner": corner, "design": "walk"}]
        },
        "hoops": three_hoops(),
        "designs": eight_sizes([0.97, 1.03]),
        "limits": {"seconds": 10}
    })
}

/// A whole quilt in rows: 40 sashes of different lengths, and a border of 4 strips around a centre that is not square.
pub fn rectangular_quilt() -> Value {
    json!({
        "format": 1, "name": "rectangular quilt", "unit": "in",
        "quilt": {
            "blocks": {"columns": 4, "rows": 6, "size": [9, 10.5]},
            "sashing": {"width": 1.5, "cornerstones": true, "design": "path"},
            "borders": [{"width": 3, "corner": "butted", "design": "walk"}]
        },
        "strips": [{"id": "filler", "length": 9, "width": 1.5, "count": 2, "design": "path"}],
        "hoops": three_hoops(),
        "designs": eight_sizes([0.97, 1.03]),
        "limits": {"seconds": 10}
    })
}

/// A scenario of the project's `scenarios` folder.
pub fn demo(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or(Value::Null)
}
