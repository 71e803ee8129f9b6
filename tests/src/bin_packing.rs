//! One-dimensional bin packing instances, written as scenarios.

use serde_json::json;

/// A bin packing instance.
#[derive(Clone, Debug)]
pub struct Instance {
    /// What its source calls it.
    pub name: String,
    /// Size of each bin.
    pub capacity: u64,
    /// Item sizes, each with how many there are.
    pub items: Vec<(u64, u64)>,
    /// The published least number of bins.
    pub optimum: u64,
}

/// The scenario whose least number of hoopings is the instance's least number of bins, as JSON text.
///
/// Every item is a strip of as many millimetres that has to be stitched in one run; a hoop is a bin: one lane, no
/// allowances, one size as long as the hoop that stops after any millimetre.
pub fn scenario(instance: &Instance) -> String {
    let strips: Vec<_> = instance
        .items
        .iter()
        .enumerate()
        .map(|(index, (size, count))| {
            json!({"id": format!("item-{index}-{size}"), "length": size, "width": 1, "count": count, "design": "line"})
        })
        .collect();
    json!({
        "format": 1,
        "name": instance.name,
        "unit": "mm",
        "strips": strips,
        "hoops": [{"id": "bin", "field": [instance.capacity, 1], "turn": false}],
        "designs": [{"id": "line", "sizes": [
            {"id": "line-1", "width": 1, "repeat": 1, "repeats": instance.capacity, "stop_early": true},
        ]}],
        "allowances": {"seam": 0, "trim": 0, "gap": 0},
        "rules": {"split_short": false},
        "goal": {"priorities": ["hoopings"]},
    })
    .to_string()
}
