//! Drawn strips that are begun, and measured ones.

use sashwright_solver::length::Length;
use sashwright_solver::scenario::{Scenario, read};
use sashwright_solver::strips::{self, Strip};
use serde_json::{Map, Value, json};

use crate::random::SplitMix64;

/// Begins one to three strips of a drawn scenario, and sometimes measures one.
pub fn begin(random: &mut SplitMix64, plain: &str, fields: &mut Map<String, Value>) {
    let Ok(scenario) = read(plain.as_bytes()) else {
        return;
    };
    let mut left = strips::of(&scenario).strips;
    let most = left.len().min(3) as i64;
    let mut begun = Vec::new();
    for _ in 0..random.between(1, most) {
        let at = random.between(0, left.len() as i64 - 1) as usize;
        begun.push(begin_one(random, &scenario, &left.swap_remove(at)));
    }
    fields.insert("begun".into(), Value::Array(begun));
    if !left.is_empty() && random.chance(20) {
        let strip = random.pick(&left.iter().collect::<Vec<_>>());
        let length = strip.length + drift(random, strip.length);
        fields.insert(
            "measured".into(),
            json!([{"strip": strip.id, "length": length.in_unit(scenario.unit)}]),
        );
    }
}

/// A stretch of the strip from quarter to quarter, as it should be or a little off.
fn begin_one(random: &mut SplitMix64, scenario: &Scenario, strip: &Strip) -> Value {
    let length = strip.length;
    let quarters = |count: i64| Length::from_nanometres(length.nanometres() * count / 4);
    let (from, to) = random.pick(&[
        (0, 1),
        (0, 2),
        (0, 3),
        (2, 4),
        (1, 4),
        (1, 2),
        (1, 3),
        (0, 4),
    ]);
    let off = if random.chance(50) {
        drift(random, length)
    } else {
        Length::ZERO
    };
    let (mut start, mut end) = (quarters(from), quarters(to));
    if to < 4 {
        end += off;
    } else if from > 0 {
        start += off;
    }
    let unit = scenario.unit;
    let mut begun =
        json!({"strip": strip.id, "from": start.in_unit(unit), "to": end.in_unit(unit)});
    let mut pattern = || {
        let sizes = &scenario.designs[strip.design].sizes;
        let repeat = sizes[random.between(0, sizes.len() as i64 - 1) as usize].repeat;
        let past = Length::from_nanometres(repeat.nanometres() * random.between(0, 3) / 4);
        json!({"repeat": repeat.in_unit(unit), "past": past.in_unit(unit)})
    };
    if from == 0 {
        begun["start"] = pattern();
    }
    if to == 4 {
        begun["end"] = pattern();
    }
    if random.chance(25) {
        begun["unscaled"] = json!(true);
    }
    begun
}

/// Up to a thirtieth of a length, either way, but not nothing.
fn drift(random: &mut SplitMix64, length: Length) -> Length {
    let most = length.nanometres() / 30;
    let drift = random.between(1, most.max(1));
    Length::from_nanometres(if random.chance(50) { drift } else { -drift })
}
