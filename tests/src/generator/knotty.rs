//! Drawn scenarios whose optimum hangs on what is easily missed: the order of work, and joints that save a hooping.

use serde_json::{Map, Value, json};

use super::grid::Grid;
use super::settings::goal;
use crate::random::SplitMix64;

/// Several strips of three runs or so. A hoop's lane takes two outer runs or one inner one, so which of them come together
/// depends on the order of work; a small hoop takes any one.
pub fn woven(random: &mut SplitMix64, grid: &Grid) -> Map<String, Value> {
    let (width, stretch) = (random.between(1, 2), random.between(3, 6));
    let lanes = random.pick(&[1, 2, 2, 2, 3]);
    let mut hoops = vec![json!({
        "id": "large",
        "field": [grid.length(random, 2 * stretch), grid.length(random, lanes * width)],
        "turn": false,
    })];
    if random.chance(60) {
        hoops.push(json!({
            "id": "small",
            "field": [grid.length(random, stretch), grid.length(random, width)],
        }));
    }
    if random.chance(30) {
        hoops.push(json!({
            "id": "broad",
            "field": [grid.length(random, stretch), grid.length(random, 2 * width)],
        }));
    }
    random.shuffle(&mut hoops);
    let runs = random.pick(&[
        &[3, 3, 3][..],
        &[3, 3, 3],
        &[3, 3],
        &[4, 3],
        &[4, 4],
        &[3, 3, 2],
        &[3, 3, 1],
        &[4, 3, 2],
    ]);
    let strips: Vec<Value> = runs
        .iter()
        .enumerate()
        .map(|(index, runs)| {
            let short = random.pick(&[0, 0, 1]);
            json!({
                "id": format!("strip-{}", index + 1),
                "length": grid.length(random, runs * stretch - short),
                "width": grid.length(random, width),
                "design": "vine",
            })
        })
        .collect();
    let mut fields = Map::new();
    fields.insert("hoops".into(), Value::Array(hoops));
    let size = json!({
        "id": "vine-1",
        "width": grid.length(random, width),
        "repeat": grid.length(random, stretch),
        "repeats": 1,
    });
    fields.insert("designs".into(), json!([{"id": "vine", "sizes": [size]}]));
    fields.insert("strips".into(), Value::Array(strips));
    let growth = random.pick(&["either_way", "one_way"]);
    fields.insert(
        "rules".into(),
        json!({"combine_sizes": false, "growth": growth}),
    );
    fields.insert("allowances".into(), json!({"seam": 0, "trim": 0, "gap": 0}));
    if random.chance(50) {
        let order = random.pick(&[
            ["hoopings", "stabilizer", "hoop_changes"],
            ["hoop_changes", "hoopings", "stabilizer"],
            ["stabilizer", "hoopings", "hoop_changes"],
        ]);
        fields.insert("goal".into(), json!({"priorities": order}));
    } else if let Some(goal) = goal(random) {
        fields.insert("goal".into(), goal);
    }
    fields
}

/// Strips that fill hoops badly unless one is cut in two.
pub fn packed(random: &mut SplitMix64, grid: &Grid) -> Map<String, Value> {
    let (repeat, repeats) = (random.between(1, 3), random.pick(&[3, 3, 3, 4, 6]));
    let mut hoop = json!({
        "id": "hoop",
        "field": [grid.length(random, repeat * repeats), grid.length(random, 2)],
    });
    if random.chance(80) {
        hoop["turn"] = json!(false);
    }
    let count = random.between(3, 4);
    let strips: Vec<Value> = (1..=count)
        .map(|number| {
            let length = if random.chance(75) {
                repeat * (repeats * 2 / 3)
            } else {
                repeat * random.between(repeats / 2 + 1, repeats)
            };
            json!({
                "id": format!("strip-{number}"),
                "length": grid.length(random, length),
                "width": grid.length(random, 2),
                "design": "vine",
            })
        })
        .collect();
    let size = json!({
        "id": "vine-1",
        "width": grid.length(random, 2),
        "repeat": grid.length(random, repeat),
        "repeats": repeats,
        "stop_early": true,
    });
    let gap = random.pick(&[0, 0, 1]);
    let mut fields = Map::new();
    fields.insert("hoops".into(), json!([hoop]));
    fields.insert("designs".into(), json!([{"id": "vine", "sizes": [size]}]));
    fields.insert("strips".into(), Value::Array(strips));
    fields.insert("rules".into(), json!({"split_short": random.chance(85)}));
    fields.insert(
        "allowances".into(),
        json!({"seam": 0, "trim": 0, "gap": grid.length(random, gap)}),
    );
    let order = random.pick(&[
        &["hoopings", "joints"][..],
        &["joints", "hoopings", "overhang"],
        &["hoopings"],
    ]);
    fields.insert("goal".into(), json!({"priorities": order}));
    fields
}
