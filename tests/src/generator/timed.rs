//! Drawn stitches, threads and rates, and goals that count minutes.

use serde_json::{Map, Value, json};

use crate::random::SplitMix64;

/// Lets a drawn scenario count minutes.
pub fn count_minutes(random: &mut SplitMix64, fields: &mut Map<String, Value>) {
    let designs = fields.get_mut("designs").and_then(Value::as_array_mut);
    for design in designs.into_iter().flatten() {
        if random.chance(40) {
            let threads = ["sand", "moss", "dusk"];
            let count = random.between(1, 3) as usize;
            design["threads"] = json!(threads[..count]);
        }
        for size in design["sizes"].as_array_mut().into_iter().flatten() {
            let repeats = size["repeats"].as_i64().unwrap_or(1);
            let each = random.between(3, 40) * 100;
            let more = random.between(0, 99);
            size["stitches"] = json!(each * repeats + more);
        }
    }
    if random.chance(70) {
        let mut rates = Map::new();
        let speeds = [json!(400), json!(650), json!("1000/3")];
        let minutes = [json!(0), json!(0.5), json!("1/3"), json!(2), json!(7)];
        if random.chance(50) {
            rates.insert("stitches_per_minute".into(), random.pick(&speeds).clone());
        }
        for step in ["hooping", "placement", "thread_change", "hoop_change"] {
            if random.chance(60) {
                rates.insert(step.into(), random.pick(&minutes).clone());
            }
        }
        fields.insert("rates".into(), Value::Object(rates));
    }
    let goals = [
        json!({"priorities": ["minutes"]}),
        json!({"priorities": ["minutes", "hoop_changes", "joints"]}),
        json!({"priorities": ["hoopings", "minutes", "stabilizer"]}),
        json!({"priorities": ["joints", "corner_mismatch", "minutes"]}),
        json!({"priorities": ["hoop_changes", "overhang", "minutes", "hoopings"]}),
        json!({"prices": {"minutes": 0.25, "stabilizer": 0.01}}),
        json!({"prices": {"minutes": 1, "joints": 3, "corner_mismatch": 2, "overhang": 0.5}}),
    ];
    fields.insert("goal".into(), random.pick(&goals).clone());
}
