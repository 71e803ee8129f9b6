//! A shop's work: strips of which no two have the same length.

use serde_json::{Value, json};

/// A size with a margin of half an inch across.
fn size(id: &str, repeat: f64, repeats: u32, along: f64) -> Value {
    json!({
        "id": id, "width": 2, "repeat": repeat, "repeats": repeats, "field": [along, 2.5], "scale": [0.97, 1.03]
    })
}

/// So many strips of 6 to 60 in, each of another length in 64ths of an inch (487 and 3456 have no common factor).
pub fn lengths(count: u32) -> Value {
    let strips = (0..count).map(|number| {
        let length = format!("{}/64", 384 + number * 487 % 3456);
        json!({"id": format!("strip-{number}"), "length": length, "width": 2, "design": "vine"})
    });
    json!({
        "format": 1, "unit": "in", "strips": strips.collect::<Vec<_>>(),
        "hoops": [
            {"id": "small", "field": [5, 7], "frame": [7, 9]},
            {"id": "large", "field": [9.5, 14], "frame": [12, 17]}],
        "designs": [{"id": "vine", "sizes": [
            size("short", 3.5, 1, 3.75), size("middle", 3.5, 2, 7.0), size("long", 3.25, 4, 13.25)]}]
    })
}
