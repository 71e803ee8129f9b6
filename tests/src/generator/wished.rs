//! Drawn wishes.

use sashwright_solver::scenario::read;
use sashwright_solver::strips::{self, Stage};
use serde_json::{Map, Value, json};

use crate::random::SplitMix64;

/// Adds one to four wishes to a drawn scenario.
pub fn wish(random: &mut SplitMix64, plain: &str, fields: &mut Map<String, Value>) {
    let Ok(scenario) = read(plain.as_bytes()) else {
        return;
    };
    let ids: Vec<String> = strips::of(&scenario)
        .strips
        .into_iter()
        .filter(|strip| !matches!(strip.stage, Stage::Done { .. }))
        .map(|strip| strip.id)
        .collect();
    if ids.is_empty() {
        return;
    }
    let hoops: Vec<String> = scenario.hoops.into_iter().map(|hoop| hoop.id).collect();
    let mut wishes = Vec::new();
    let mut first = false;
    for _ in 0..random.between(1, 4) {
        let about = |random: &mut SplitMix64, least: usize, most: usize| {
            let mut left = ids.clone();
            let count = random.between(least as i64, most.min(ids.len()) as i64) as usize;
            let mut chosen = Vec::new();
            while chosen.len() < count {
                let at = random.between(0, left.len() as i64 - 1) as usize;
                chosen.push(left.swap_remove(at));
            }
            chosen
        };
        let several = ids.len() >= 2;
        wishes.push(match random.between(1, 12) {
            1..=3 => {
                let hoop = random.pick(&hoops);
                json!({"wish": "only_in", "strips": about(random, 1, 2), "hoops": [hoop]})
            }
            4..=5 if several => json!({"wish": "together", "strips": about(random, 2, 3)}),
            6..=7 if several => json!({"wish": "apart", "strips": about(random, 2, 4)}),
            8..=9 if !first => {
                first = true;
                json!({"wish": "first", "strips": about(random, 1, 2)})
            }
            10 => json!({"wish": "at_most", "runs": random.between(1, 3)}),
            _ => json!({"wish": "one_size", "strips": about(random, 1, 3)}),
        });
    }
    fields.insert("wishes".into(), Value::Array(wishes));
}
