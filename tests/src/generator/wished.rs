//! Drawn wishes.

use std::collections::BTreeMap;

use sashwright_solver::length::Length;
use sashwright_solver::scenario::{Scenario, read};
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
    let hoops: Vec<String> = scenario.hoops.iter().map(|hoop| hoop.id.clone()).collect();
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
    // A stream of its own, so that what was drawn before stays as it is.
    let mut random = SplitMix64::new(random.next_bits() ^ 0x0061_6c6f_6e67);
    along(&mut random, &scenario, &ids, &mut wishes);
    fields.insert("wishes".into(), Value::Array(wishes));
    // Strips that are to be alike must not be wished other things.
    let drawn = Value::Object(fields.clone()).to_string();
    if let Err(faults) = read(drawn.as_bytes())
        && let Some(Value::Array(wishes)) = fields.get_mut("wishes")
        && faults
            .iter()
            .all(|fault| fault.pointer.starts_with("/wishes/"))
    {
        wishes.retain(|wish| wish["wish"] != "alike");
    }
}

/// Sometimes adds wishes about where runs lie along their strips.
fn along(random: &mut SplitMix64, scenario: &Scenario, ids: &[String], wishes: &mut Vec<Value>) {
    let strips = strips::of(scenario).strips;
    let length_of = |id: &String| {
        let strip = strips.iter().find(|strip| strip.id == *id);
        strip.map_or(0, |strip| strip.length.nanometres())
    };
    if random.chance(30) {
        let id = random.pick(ids).clone();
        let length = length_of(&id);
        let part =
            |eighths: i64| Length::from_nanometres(length / 8 * eighths).in_unit(scenario.unit);
        let mut spots = Vec::new();
        for _ in 0..random.between(1, 2) {
            let eighths = random.between(0, 12);
            spots.push(if eighths > 8 {
                json!("middle")
            } else {
                json!(part(eighths))
            });
        }
        let distance = Length::from_nanometres((length / 24 * random.between(1, 6)).max(1));
        let distance = distance.in_unit(scenario.unit);
        wishes.push(
            json!({"wish": "joints_away", "strips": [id], "spots": spots, "distance": distance}),
        );
    }
    if random.chance(25) {
        wishes.push(json!({"wish": "symmetric", "strips": [random.pick(ids)]}));
    }
    if random.chance(35) {
        let mut groups: BTreeMap<_, Vec<&String>> = BTreeMap::new();
        for strip in strips.iter().filter(|strip| ids.contains(&strip.id)) {
            groups.entry(strip.shape()).or_default().push(&strip.id);
        }
        let groups: Vec<Vec<&String>> = groups.into_values().filter(|of| of.len() > 1).collect();
        if !groups.is_empty() {
            wishes.push(json!({"wish": "alike", "strips": random.pick(&groups)}));
        }
    }
}
