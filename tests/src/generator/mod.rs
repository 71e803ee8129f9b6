//! Draws tiny scenarios, as JSON text, that turn every rule on and off.
//!
//! Lengths lie on a grid: halves or thirds of an inch, or millimetres. Thirds are no whole nanometres, so rounding
//! takes part.

mod begun;
mod grid;
mod hoops;
mod knotty;
mod layout;
mod materials;
mod rolled;
mod settings;
mod sizes;
mod timed;
mod wished;

use serde_json::{Map, Value, json};

use crate::random::SplitMix64;
use begun::begin;
use grid::Grid;
use hoops::hoops;
use knotty::{packed, woven};
use layout::Layout;
use materials::furnish;
use rolled::count_roll;
use settings::{allowances, goal, rules};
use sizes::DrawnSize;
use timed::count_minutes;
use wished::wish;

/// How big the drawn scenarios are.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Scale {
    /// About seven runs or fewer in all: small enough to try everything.
    Tiny,
    /// A dozen strips or so.
    Bigger,
}

/// The scenario that belongs to this seed, with wishes, as JSON text.
pub fn wished_scenario(seed: u64, scale: Scale) -> String {
    let plain = scenario(seed, scale);
    let mut fields: Map<String, Value> = serde_json::from_str(&plain).unwrap_or_default();
    wish(
        &mut SplitMix64::new(seed ^ 0x7769_7368_6573),
        &plain,
        &mut fields,
    );
    Value::Object(fields).to_string()
}

/// The scenario that belongs to this seed, with strips that are begun and sometimes with wishes, as JSON text.
pub fn begun_scenario(seed: u64, scale: Scale) -> String {
    let plain = scenario(seed, scale);
    let mut fields: Map<String, Value> = serde_json::from_str(&plain).unwrap_or_default();
    let mut random = SplitMix64::new(seed ^ 0x0062_6567_756e);
    begin(&mut random, &plain, &mut fields);
    if random.chance(25) {
        let begun = Value::Object(fields.clone()).to_string();
        wish(&mut random, &begun, &mut fields);
    }
    Value::Object(fields).to_string()
}

/// The scenario that belongs to this seed, with a roll of stabilizer whose length counts, as JSON text.
pub fn rolled_scenario(seed: u64, scale: Scale) -> String {
    let plain = scenario(seed, scale);
    let mut fields: Map<String, Value> = serde_json::from_str(&plain).unwrap_or_default();
    let mut random = SplitMix64::new(seed ^ 0x726f_6c6c);
    count_roll(&mut random, &plain, &mut fields);
    Value::Object(fields).to_string()
}

/// The scenario that belongs to this seed, with materials and sometimes with strips that are begun, as JSON text.
pub fn furnished_scenario(seed: u64, scale: Scale) -> String {
    let plain = if seed.is_multiple_of(4) {
        begun_scenario(seed, scale)
    } else {
        scenario(seed, scale)
    };
    let mut fields: Map<String, Value> = serde_json::from_str(&plain).unwrap_or_default();
    let mut random = SplitMix64::new(seed ^ 0x636c_6f74_6873);
    furnish(&mut random, &mut fields);
    Value::Object(fields).to_string()
}

/// The scenario that belongs to this seed, as JSON text.
pub fn scenario(seed: u64, scale: Scale) -> String {
    let mut random = SplitMix64::new(seed);
    let grid = Grid::draw(&mut random);
    let mut fields = match (scale, random.between(1, 100)) {
        (Scale::Tiny, 1..=15) => woven(&mut random, &grid),
        (Scale::Tiny, 16..=25) => packed(&mut random, &grid),
        _ => plain(&mut random, &grid, scale),
    };
    // A stream of its own, so that what was drawn before stays as it is.
    let mut random = SplitMix64::new(seed ^ 0x6d69_6e75_7465_7321);
    if random.chance(20) {
        count_minutes(&mut random, &mut fields);
    }
    fields.insert("format".into(), json!(1));
    fields.insert("name".into(), json!(format!("drawn {seed}")));
    fields.insert("unit".into(), json!(grid.unit()));
    Value::Object(fields).to_string()
}

fn plain(random: &mut SplitMix64, grid: &Grid, scale: Scale) -> Map<String, Value> {
    let width = random.between(1, 2);
    let main = sizes::design(random, width, scale);
    let other = random
        .chance(25)
        .then(|| sizes::design(random, width, scale));
    let (allowance_values, between) = allowances(random, grid);
    let mut all: Vec<DrawnSize> = main.clone();
    all.extend(other.iter().flatten().copied());
    let hoops = hoops(random, grid, &all, between, scale);
    let mut designs = vec![design_value(random, grid, "vine", &main)];
    if let Some(other) = &other {
        designs.push(design_value(random, grid, "feather", other));
    }
    let mut fields = Layout {
        grid,
        width,
        main: &main,
        other: other.as_deref(),
        scale,
    }
    .draw(random);
    fields.insert("hoops".into(), hoops);
    fields.insert("designs".into(), Value::Array(designs));
    if let Some(allowances) = allowance_values {
        fields.insert("allowances".into(), allowances);
    }
    if let Some(rules) = rules(random, grid) {
        fields.insert("rules".into(), rules);
    }
    if let Some(goal) = goal(random) {
        fields.insert("goal".into(), goal);
    }
    if random.chance(30) {
        let margin = random.between(0, 2);
        let margin = grid.length(random, margin);
        fields.insert(
            "materials".into(),
            json!({"stabilizer": {"margin": margin}}),
        );
    }
    fields
}

fn design_value(random: &mut SplitMix64, grid: &Grid, id: &str, sizes: &[DrawnSize]) -> Value {
    let sizes = sizes.iter().enumerate();
    let sizes: Vec<Value> = sizes
        .map(|(index, size)| size.value(random, grid, &format!("{id}-{}", index + 1)))
        .collect();
    json!({"id": id, "sizes": sizes})
}

#[cfg(test)]
mod tests {
    use super::*;
    use sashwright_solver::scenario::read;

    #[test]
    fn every_drawn_scenario_is_read() {
        for scale in [Scale::Tiny, Scale::Bigger] {
            for seed in 0..500 {
                for text in [scenario(seed, scale), furnished_scenario(seed, scale)] {
                    let read = read(text.as_bytes());
                    assert!(read.is_ok(), "seed {seed}: {read:?}\n{text}");
                }
            }
        }
    }

    #[test]
    fn a_seed_names_one_scenario() {
        assert_eq!(scenario(7, Scale::Tiny), scenario(7, Scale::Tiny));
        assert_ne!(scenario(7, Scale::Tiny), scenario(8, Scale::Tiny));
    }
}
