//! Drawn rolls of stabilizer, and goals that count the length that is cut off them.

use sashwright_solver::length::Length;
use sashwright_solver::scenario::read;
use serde_json::{Map, Value, json};

use crate::random::SplitMix64;

/// Lets a drawn scenario count the length of roll: every piece fits across it, in one way at least.
pub fn count_roll(random: &mut SplitMix64, text: &str, fields: &mut Map<String, Value>) {
    let Ok(scenario) = read(text.as_bytes()) else {
        return;
    };
    let margin = scenario.materials.stabilizer.margin * 2;
    let pieces = scenario
        .hoops
        .iter()
        .map(|hoop| hoop.frame.map(|side| side + margin));
    let (lay, widest): (&str, fn([Length; 2]) -> Length) = match random.between(1, 10) {
        1 => ("lengthwise", |piece| piece[1]),
        2 => ("crosswise", |piece| piece[0]),
        _ => ("either", |piece| piece[0].min(piece[1])),
    };
    let least = pieces.map(widest).max().unwrap_or_default();
    let parts = random.pick(&[4, 5, 6, 8, 9, 12]);
    let width = Length::from_nanometres(least.nanometres() * parts / 4);
    let stabilizer = json!({
        "margin": scenario.materials.stabilizer.margin.in_unit(scenario.unit),
        "roll_width": width.in_unit(scenario.unit),
        "lay": lay,
    });
    fields.insert("materials".into(), json!({"stabilizer": stabilizer}));
    let goals = [
        json!({"priorities": ["hoopings", "roll_length"]}),
        json!({"priorities": ["hoopings", "joints", "roll_length", "overhang", "hoop_changes"]}),
        json!({"priorities": ["roll_length"]}),
        json!({"priorities": ["roll_length", "stabilizer", "hoopings"]}),
        json!({"priorities": ["joints", "stabilizer", "roll_length", "hoop_changes"]}),
        json!({"prices": {"roll_length": 0.25, "hoopings": 2, "joints": 0.5}}),
        json!({"prices": {"roll_length": 1, "stabilizer": 0.125, "overhang": 2}}),
    ];
    fields.insert("goal".into(), random.pick(&goals));
}
